//! The two-sided proof: out, the draw falls; back in, it returns.

use super::fold::{Draw, Found, Now, Pulled, Trial};
use super::regions::focus;
use super::weights::{rivals, weigh};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject};

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
        self.pulls.push(Pulled {
            base: base.clone(),
            parts: parts.clone(),
            fell,
            matters,
        });
        let subject = self.proven_by(&parts, &judged);
        if fell.low() >= matters
            && let Some((cause, subject)) = self.more_than_itself(subject, fell, &judged)
        {
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
        let weighed = weigh(self, judged);
        let sought = (judged.matters(), focus(self, judged).needed);
        let mut best: Option<(f64, usize)> = None;
        for (index, suspect) in setting.suspects.iter().enumerate() {
            let weight = weighed[index].weight;
            if weight <= 0.0 || !setting.silenced(suspect, parts) {
                continue;
            }
            let exact = setting.comes_out_as(suspect, parts);
            let alone = || {
                (0..weighed.len()).all(|other| {
                    other == index || !rivals(self, index, other, &weighed, sought, parts)
                })
            };
            if exact && best.is_none_or(|(most, _)| weight > most) && alone() {
                best = Some((weight, index));
            }
        }
        best.map(|(_, index)| {
            let suspect = &setting.suspects[index];
            (suspect.cause, suspect.subject.clone())
        })
    }

    /// A module of which more fell than flowed through its own feeds holds others awake.
    fn more_than_itself(
        &self,
        subject: Option<(Cause, Subject)>,
        fell: Interval<Milliamps>,
        judged: &Judgement<'_>,
    ) -> Option<(Cause, Subject)> {
        let feeds = &self.setting.feeds;
        let (cause, subject) = subject?;
        let Subject::Part(part) = subject else {
            return Some((cause, subject));
        };
        let module = feeds
            .module_of(part)
            .filter(|module| feeds.network_of(*module).is_some());
        let Some(module) = module.filter(|_| cause == Cause::OwnDraw) else {
            return Some((cause, subject));
        };
        let own: f64 = feeds
            .module_feeds(module)
            .iter()
            .map(|feed| judged.view().current(*feed).high())
            .sum();
        Some(if fell.low() >= own + judged.matters() {
            (Cause::HoldsAwake, Subject::Module(module))
        } else {
            (cause, Subject::Part(part))
        })
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
