//! The two-sided proof: out, the draw falls; back in, it returns.

use super::fold::{Draw, Found, Now, Pulled, Trial};
use super::together::Together;
use super::weights::Odds;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject, Suspect};

impl Now<'_> {
    /// What a settled draw means for a proof under way, or begins one.
    pub(super) fn judge_trial(&mut self, draw: &Draw) {
        let base = self.base();
        if draw.out == base {
            self.judge_return(draw);
            return;
        }
        let feeds = &self.setting.feeds;
        let extra: Vec<_> = self.out_beside(&base).into_iter().cloned().collect();
        let parts: Vec<PartId> = extra.iter().flat_map(|t| t.parts.clone()).collect();
        let Some(first) = self.draw_with(&base).map(|draw| draw.entry) else {
            return;
        };
        let Some(before) = self.total(&base) else {
            return;
        };
        let Some(without) = self.total(&draw.out) else {
            return;
        };
        let fell = before.minus(without);
        let judged = Judgement::new(feeds, &self.setting.healthy, self.view(&base), before);
        let matters = judged.matters();
        let healthy = self.healthy_among(&parts);
        let beyond = fell.low() - healthy;
        self.pulls.push(Pulled {
            base: base.clone(),
            parts: parts.clone(),
            fell,
            beyond,
            matters,
            vain: fell.low() < matters,
        });
        if fell.low() < matters {
            return;
        }
        let named = self.proven_by(&parts, &judged);
        // What healthy parts beside the suspect took is no proof against it.
        let named = named.filter(|(_, subject)| {
            let own = self.healthy_of(subject, &parts);
            fell.low() - (healthy - own).max(0.0) >= matters
        });
        let named = named.and_then(|named| self.held_or_own(named, fell, without, &judged));
        let Some((cause, subject)) = named else {
            if let Some(pulled) = self.pulls.last_mut() {
                pulled.vain = beyond < matters;
            }
            return;
        };
        self.trial = Some(Trial {
            cause,
            subject,
            taken: extra,
            before,
            without,
            fell,
            draws: [first, draw.entry],
        });
    }

    /// What healthy parts may take at most that have no feed with these out, in mA.
    fn healthy_among(&self, parts: &[PartId]) -> f64 {
        let feeds = &self.setting.feeds;
        let within = |part: &PartId| {
            let mut others = parts.iter().filter(|p| *p != part);
            others.any(|p| feeds.is_below(*part, *p))
        };
        let tops = parts.iter().filter(|p| !within(p));
        tops.map(|p| self.setting.healthy.draw(*p).high()).sum()
    }

    /// What of that the suspect itself takes when it is healthy.
    fn healthy_of(&self, subject: &Subject, parts: &[PartId]) -> f64 {
        let feeds = &self.setting.feeds;
        let of = |s: &&Suspect| s.subject == *subject;
        let raises = self.setting.suspects.iter().find(of).map(|s| &s.raises);
        let out = |part: PartId| parts.iter().any(|p| feeds.is_below(part, *p));
        let own = raises.into_iter().flatten().filter(|(p, _)| out(*p));
        own.map(|(p, _)| feeds.at_most(*p).value()).sum()
    }

    /// Whose proof it is that what is out now is out, if anyone's.
    pub(super) fn proven_now(&self) -> Option<(Cause, Subject)> {
        let base = self.base();
        let beside = self.out_beside(&base);
        let parts: Vec<PartId> = beside.iter().flat_map(|t| t.parts.clone()).collect();
        self.proven_by(&parts, &self.judged_base())
    }

    /// Whose proof it is when exactly these parts are out: the likeliest suspect that one of its ways
    /// out takes so, with nothing else in question among them.
    pub(super) fn proven_by(
        &self,
        parts: &[PartId],
        judged: &Judgement<'_>,
    ) -> Option<(Cause, Subject)> {
        let setting = self.setting;
        let odds = Odds::of(self, judged);
        // A module's own feed before the module as a holder: which it is shows by how much falls.
        let rank = |index: usize| {
            let holds = setting.suspects[index].cause == Cause::HoldsAwake;
            (!holds, odds.weights[index].weight)
        };
        let mut best: Option<usize> = None;
        for (index, suspect) in setting.suspects.iter().enumerate() {
            if odds.weights[index].weight <= 0.0 || !setting.comes_out_as(suspect, parts) {
                continue;
            }
            let alone = || {
                (0..odds.weights.len())
                    .all(|other| other == index || !odds.rivals(self, index, other, parts))
            };
            if best.is_none_or(|best| rank(index) > rank(best)) && alone() {
                best = Some(index);
            }
        }
        best.map(|index| {
            let suspect = &setting.suspects[index];
            (suspect.cause, suspect.subject.clone())
        })
    }

    /// What the fall says of a module on a network: it holds others awake, it draws by itself, or
    /// neither is proven yet.
    ///
    /// | fall | result |
    /// | --- | --- |
    /// | more than flowed through its own feeds, or so much that its partners can no longer be up | it holds them |
    /// | less, while one of them may hold it | nobody is named |
    /// | less, and nobody may | its own draw |
    fn held_or_own(
        &self,
        (cause, subject): (Cause, Subject),
        fell: Interval<Milliamps>,
        without: Interval<Milliamps>,
        judged: &Judgement<'_>,
    ) -> Option<(Cause, Subject)> {
        let feeds = &self.setting.feeds;
        let module = match (cause, &subject) {
            (Cause::OwnDraw, Subject::Part(part)) => feeds.module_of(*part),
            (Cause::HoldsAwake, Subject::Module(module)) => Some(*module),
            _ => None,
        };
        let Some(module) = module.filter(|m| feeds.network_of(*m).is_some()) else {
            return Some((cause, subject));
        };
        let own: f64 = feeds
            .module_feeds(module)
            .iter()
            .map(|feed| judged.view().current(*feed).high())
            .sum();
        let together = Together::of(self, judged);
        let partners = together.partners_carry(feeds, module);
        if fell.low() >= own + judged.matters() || without.high() < partners {
            return Some((Cause::HoldsAwake, Subject::Module(module)));
        }
        let undecided = cause == Cause::HoldsAwake || together.is_open(feeds, module);
        (!undecided).then_some((cause, subject))
    }

    fn judge_return(&mut self, draw: &Draw) {
        let Some(trial) = self.trial.take() else {
            return;
        };
        let current = draw.current;
        let returned = current.touches(trial.before) && current.above(trial.without);
        self.found.retain(|f| f.subject != trial.subject);
        self.found.push(Found {
            cause: trial.cause,
            subject: trial.subject,
            fell: trial.fell,
            returned,
            taken: trial.taken,
            draws: [trial.draws[0], trial.draws[1], draw.entry],
        });
    }
}
