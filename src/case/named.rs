//! Whose proof a fall is: what fell silent, what could have taken that much, and what it shares its fall with.

use super::facts::Pulled;
use super::fold::Now;
use super::inputs::one_input_out;
use super::taking_out::Sought;
use super::weights::{Odds, fell_with};
use crate::feeds::{ModuleId, PartId};
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject, Suspect};

/// The share of all there is that partners must have been seen to carry before a module is taken to
/// hold them (judgement; a coarse jack shows some tenths of it for nothing).
const PARTNERS_SHARE: f64 = 0.25;

/// Which of two falls is part of the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Overlap {
    /// The partner's is part of this one.
    Holds,
    /// This one is part of the partner's.
    Held,
}

impl Now<'_> {
    /// Whose proof begins with a fall, if anyone's.
    pub(super) fn named_by(
        &self,
        pulled: &Pulled,
        judged: &Judgement<'_>,
        odds: &Odds,
    ) -> Option<(Cause, Subject)> {
        let Pulled { parts, fell, .. } = pulled;
        if fell.low() < pulled.matters {
            return None;
        }
        let commands = || self.commands(pulled, judged, odds);
        if self.something_is_plugged_in(&pulled.parts) {
            return None;
        }
        let Some(index) = self.proven_by(parts, judged, odds) else {
            let module = self.whole_module(pulled, odds);
            let module = module.filter(|_| !self.add_up_to_more(pulled));
            return module
                .or_else(|| self.calls(pulled, judged))
                .or_else(commands);
        };
        let suspect = &self.setting.suspects[index];
        // What healthy parts beside the suspect took is no proof against it, nor is what it takes itself as a rule.
        let beside = self.healthy_among(parts) - self.healthy_of(suspect, parts);
        let usual = self.usual_of(suspect, parts);
        if fell.low() - beside.max(0.0) - usual < pulled.matters {
            return None;
        }
        if suspect.cause == Cause::OwnDraw && self.add_up_to_more(pulled) {
            return None;
        }
        if let Some(coil) = commands().filter(|_| suspect.cause == Cause::OwnDraw) {
            return Some(coil);
        }
        // What would fall asleep by itself falls whatever is out: what flowed there is read first.
        let wider = self.setting.narrowest_out(suspect).as_ref() != Some(parts);
        let seat = suspect.seat().filter(|_| suspect.cause == Cause::OwnDraw);
        if wider
            && self.is_as_if_awake()
            && seat.is_some_and(|seat| self.can_still_be_read(&[seat]))
        {
            return None;
        }
        if self.may_be_shared(index, *fell, judged, odds) {
            return None;
        }
        self.held_or_own(suspect, pulled, judged, odds)
    }

    /// A module on no network that came out with all its feeds, where nothing else that is in question did:
    /// which of its feeds it was does not matter.
    fn whole_module(&self, pulled: &Pulled, odds: &Odds) -> Option<(Cause, Subject)> {
        let (setting, feeds) = (self.setting, &self.setting.feeds);
        let left = Sought::of(setting, odds.left());
        let fell = fell_with(self, &pulled.parts).max(pulled.matters);
        let mut able = setting.near(&pulled.parts, &left).filter(|index| {
            let suspect = &setting.suspects[*index];
            setting.silenced(suspect, &pulled.parts) && odds.weights[*index].takes >= fell
        });
        let module_of = |index: usize| {
            let suspect = &setting.suspects[index];
            let own = suspect.seat().filter(|_| suspect.cause == Cause::OwnDraw)?;
            feeds.module_of(own)
        };
        let module = module_of(able.next()?)?;
        let gone = |feed: &PartId| setting.takes_out(&pulled.parts, *feed);
        let own = feeds.module_feeds(module);
        let alone = own.len() > 1 && own.iter().all(gone) && feeds.network_of(module).is_none();
        let only = alone && able.all(|index| module_of(index) == Some(module));
        only.then_some((Cause::OwnDraw, Subject::Module(module)))
    }

    /// What healthy parts may take at most that have no feed with these out, in mA.
    pub(super) fn healthy_among(&self, parts: &[PartId]) -> f64 {
        let feeds = &self.setting.feeds;
        let within = |part: &PartId| {
            let mut others = parts.iter().filter(|p| *p != part);
            others.any(|p| feeds.is_below(*part, *p))
        };
        let healthy = &self.setting.healthy;
        let tops = parts.iter().filter(|p| !within(p));
        let sum: f64 = tops.map(|p| healthy.draw(*p).high()).sum();
        let least = parts.iter().map(|p| healthy.draw(*p).low()).sum();
        // All of a healthy vehicle together is within its limit.
        sum.min(healthy.limit()).max(least)
    }

    /// What of that the suspect itself takes when it is healthy.
    fn healthy_of(&self, suspect: &Suspect, parts: &[PartId]) -> f64 {
        let raised = suspect.raises.iter().map(|(part, _)| *part);
        let own = raised.filter(|part| self.setting.takes_out(parts, *part));
        own.map(|part| self.setting.feeds.at_most(part).value())
            .sum()
    }

    /// What the suspect itself takes as a rule, in mA, where that is entered.
    fn usual_of(&self, suspect: &Suspect, parts: &[PartId]) -> f64 {
        let feeds = &self.setting.feeds;
        let raised = suspect.raises.iter().map(|(part, _)| *part);
        let own = raised.filter(|part| self.setting.takes_out(parts, *part));
        own.filter_map(|part| feeds.part(part).asleep)
            .map(Milliamps::value)
            .sum()
    }

    /// Whose proof it is that what is out now is out, if anyone's.
    pub(super) fn proven_now(&self) -> Option<(Cause, Subject)> {
        let base = self.base();
        let beside = self.out_beside(&base);
        if let Some(input) = one_input_out(&beside) {
            return Some((Cause::HoldsAwake, input));
        }
        let parts: Vec<PartId> = beside.iter().flat_map(|t| t.parts.clone()).collect();
        let judged = self.judged_base();
        let odds = Odds::of(self, &judged);
        let suspect = &self.setting.suspects[self.proven_by(&parts, &judged, &odds)?];
        Some((suspect.cause, suspect.subject.clone()))
    }

    /// Whose proof it is when exactly these parts are out, as the setting numbers the suspects: the
    /// likeliest that one of its ways out takes so, with nothing else in question among them.
    fn proven_by(&self, parts: &[PartId], judged: &Judgement<'_>, odds: &Odds) -> Option<usize> {
        let setting = self.setting;
        // A module's own feed before the module as a holder: which it is shows by how much falls.
        let rank = |index: usize| {
            let holds = setting.suspects[index].cause == Cause::HoldsAwake;
            (!holds, odds.weights[index].weight)
        };
        // Nobody is named who could not take what fell.
        let fell = fell_with(self, parts);
        let left = Sought::of(setting, odds.left());
        let mut best: Option<usize> = None;
        for (index, suspect) in setting.suspects.iter().enumerate() {
            let chances = &odds.weights[index];
            if chances.weight <= 0.0
                || chances.takes < fell
                || self.stayed_without(suspect, parts)
                || !setting.comes_out_as(suspect, parts)
            {
                continue;
            }
            let alone = || {
                (0..odds.weights.len())
                    .all(|other| other == index || !odds.rivals(self, index, other, parts))
                    && !odds.others_do(self, judged, (index, &left), parts)
            };
            if best.is_none_or(|best| rank(index) > rank(best)) && alone() {
                best = Some(index);
            }
        }
        best
    }

    /// Whether something likelier, which would raise more than just fell, could be behind this and can
    /// be proven: a closed contact with more loads, somebody who holds several awake.
    fn may_be_shared(
        &self,
        index: usize,
        fell: Interval<Milliamps>,
        judged: &Judgement<'_>,
        odds: &Odds,
    ) -> bool {
        let setting = self.setting;
        let this = &setting.suspects[index];
        let Some(seat) = this.seat().filter(|_| this.cause == Cause::OwnDraw) else {
            return false;
        };
        // With its only feed out a module is out: which of the two it is shows by how much fell.
        let module = setting.feeds.module_of(seat);
        let whole = module.filter(|m| setting.feeds.module_feeds(*m).len() == 1);
        let whole = whole.map(Subject::Module);
        // As a cause of all there is, the load needs company for the rest.
        let all = |index: usize| odds.weight_of_all(index);
        let left = Sought::of(setting, odds.left());
        left.suspects.iter().any(|other| {
            let that = &setting.suspects[*other];
            matches!(that.cause, Cause::ContactClosed | Cause::HoldsAwake)
                && Some(&that.subject) != whole.as_ref()
                && that.raises.iter().any(|(part, _)| *part == seat)
                && all(*other) > all(index)
                && odds.weights[*other].takes >= fell.high() + judged.matters()
                && (self.way_to_prove(*other, &left, judged, odds).is_some()
                    || self.another_first(that, seat, &left, judged, odds))
        })
    }

    /// Whether another load behind a contact that could be the cause can still be taken out: where that
    /// falls, too, it is the contact.
    fn another_first(
        &self,
        contact: &Suspect,
        seat: PartId,
        left: &Sought,
        judged: &Judgement<'_>,
        odds: &Odds,
    ) -> bool {
        let setting = self.setting;
        contact.cause == Cause::ContactClosed
            && left.suspects.iter().any(|index| {
                let load = &setting.suspects[*index];
                let behind = |part: PartId| contact.raises.iter().any(|(p, _)| *p == part);
                load.cause == Cause::OwnDraw
                    && load.seat().is_some_and(|part| part != seat && behind(part))
                    && self.way_to_prove(*index, left, judged, odds).is_some()
            })
    }

    /// What the fall says of a module on a network: it holds others awake, it draws by itself, or
    /// neither is proven yet.
    ///
    /// | fall | result |
    /// | --- | --- |
    /// | more than flowed through its own feeds, or so much that what flowed elsewhere is gone too | it holds that |
    /// | what fell when a partner was out is part of it | it holds that partner |
    /// | all there is; none of its feeds alone can be it, and partners were seen to carry a share | it holds them: the other way there are several drains in one module |
    /// | it is part of what fell when a partner was out | nobody is named |
    /// | less, while one of them may hold it | nobody is named |
    /// | what partners may take, or what it takes awake while a partner is up | nobody is named |
    /// | less, and nobody may | its own draw |
    fn held_or_own(
        &self,
        suspect: &Suspect,
        pulled: &Pulled,
        judged: &Judgement<'_>,
        odds: &Odds,
    ) -> Option<(Cause, Subject)> {
        let feeds = &self.setting.feeds;
        let as_it_is = self.as_switched(suspect, pulled);
        let module = match (suspect.cause, &suspect.subject) {
            (Cause::OwnDraw, Subject::Part(part)) => feeds.module_of(*part),
            (Cause::HoldsAwake, Subject::Module(module)) => Some(*module),
            _ => None,
        };
        let Some(module) = module.filter(|m| feeds.network_of(*m).is_some()) else {
            return as_it_is;
        };
        let taken = pulled.parts.iter();
        let own: f64 = taken
            .map(|part| self.takes_at_most(*part, pulled, judged))
            .sum();
        let together = &odds.together;
        let overlap = self.overlap(module, pulled, judged);
        // What it takes awake by its file bounds it once its feed was read; until then more than that is neither.
        let most: f64 = pulled
            .parts
            .iter()
            .map(|part| self.carries_at_most(*part, pulled, judged))
            .sum();
        let unread = self.is_to_be_read(module);
        let beyond = pulled.fell.low() >= self.awake_at_most(module, own) + judged.matters();
        let own = if unread { most } else { own };
        let holds = pulled.fell.low() >= own + judged.matters()
            || pulled.most_left < self.outside_at_least(&pulled.parts, judged)
            || overlap == Some(Overlap::Holds)
            || (overlap.is_none() && self.explains_alone(suspect, module, pulled, judged));
        if holds {
            return Some((Cause::HoldsAwake, Subject::Module(module)));
        }
        if unread && beyond {
            return None;
        }
        let undecided = suspect.cause == Cause::HoldsAwake
            || overlap == Some(Overlap::Held)
            || together.is_open(feeds, module)
            || self.may_be_kept_up(module, pulled, judged);
        as_it_is.filter(|_| !undecided)
    }

    /// What flows at least outside these parts by the readings with them in, in mA.
    fn outside_at_least(&self, parts: &[PartId], judged: &Judgement<'_>) -> f64 {
        let feeds = &self.setting.feeds;
        let mut meets = vec![false; feeds.len()];
        for part in parts.iter().flat_map(|part| feeds.path(*part)) {
            meets[part.index()] = true;
        }
        let mut least = vec![0.0; feeds.len()];
        for part in feeds.parts().rev() {
            if !meets[part.index()] {
                least[part.index()] = judged.view().current(part).low();
            } else if self.setting.takes_out(parts, part) {
                least[part.index()] = 0.0;
            }
            if let Some(up) = feeds.up(part) {
                least[up.index()] += least[part.index()];
            }
        }
        least[0]
    }

    /// Whether all there is goes with a module out, while none of its feeds can be the whole of it and
    /// partners were seen to carry a share.
    fn explains_alone(
        &self,
        holder: &Suspect,
        module: ModuleId,
        pulled: &Pulled,
        judged: &Judgement<'_>,
    ) -> bool {
        let feeds = &self.setting.feeds;
        let own = feeds.module_feeds(module);
        let gone = |other: &Pulled, module: ModuleId| {
            let mut feeds = feeds.module_feeds(module).iter();
            feeds.all(|feed| self.setting.takes_out(&other.parts, *feed))
        };
        // What fell with a partner out, in the middle of what it may be; the module itself in.
        let with_partner = |partner: ModuleId| {
            let apart = |other: &&Pulled| {
                other.base == pulled.base && gone(other, partner) && !gone(other, module)
            };
            let last = self.pulls.iter().rev().find(apart);
            last.map_or(0.0, |other| {
                f64::midpoint(other.fell.low(), other.fell.high()).max(0.0)
            })
        };
        let partners = feeds.network_of(module).into_iter();
        let share: f64 = partners
            .flat_map(|network| feeds.partners(network))
            .filter(|partner| *partner != module)
            .map(with_partner)
            .sum();
        holder.cause == Cause::HoldsAwake
            && pulled.fell.low() >= judged.needed()
            && share >= PARTNERS_SHARE * pulled.fell.low()
            && own
                .iter()
                .all(|feed| self.carries_at_most(*feed, pulled, judged) < judged.needed())
    }

    /// What flowed at most in something taken out, by the bounds and by what fell when it was out and
    /// others of these were not.
    pub(super) fn carries_at_most(
        &self,
        part: PartId,
        but: &Pulled,
        judged: &Judgement<'_>,
    ) -> f64 {
        let setting = self.setting;
        let apart = self.pulls.iter().filter(|pulled| {
            pulled.base == but.base
                && pulled.parts != but.parts
                && setting.takes_out(&pulled.parts, part)
        });
        apart
            .map(|pulled| pulled.most_fell.max(0.0))
            .fold(judged.view().current(part).high(), f64::min)
    }

    /// Two falls that are more together than all there is: the smaller one is part of the larger.
    fn overlap(
        &self,
        module: ModuleId,
        pulled: &Pulled,
        judged: &Judgement<'_>,
    ) -> Option<Overlap> {
        let feeds = &self.setting.feeds;
        let base = self.base();
        let total = self.total(&base)?;
        let own = feeds.module_feeds(module);
        let partner = |part: PartId| {
            let of = feeds.module_of(part).filter(|m| *m != module);
            of.is_some_and(|m| feeds.network_of(m) == feeds.network_of(module))
        };
        let apart = |other: &&Pulled| {
            let meets = |a: PartId, b: PartId| feeds.is_below(a, b) || feeds.is_below(b, a);
            let mut parts = other.parts.iter();
            other.base == base
                && other.beyond >= judged.matters()
                && parts.clone().any(|p| partner(*p))
                && parts.all(|p| own.iter().all(|feed| !meets(*p, *feed)))
        };
        // Both falls are from the same total, so with `without` its accuracy counts once.
        let of_two = self.pulls.iter().filter(apart).find_map(|partner| {
            if total.low() <= partner.without.high() + pulled.without.high() {
                None
            } else if partner.without.above(pulled.without) {
                Some(Overlap::Holds)
            } else if pulled.without.above(partner.without) {
                Some(Overlap::Held)
            } else {
                None
            }
        });
        of_two.or_else(|| self.overlap_of_all(module, pulled, total))
    }

    /// The falls of all partners that were out one at a time, where they are more together than there is:
    /// the largest holds the others.
    fn overlap_of_all(
        &self,
        module: ModuleId,
        pulled: &Pulled,
        total: Interval<Milliamps>,
    ) -> Option<Overlap> {
        let feeds = &self.setting.feeds;
        let network = feeds.network_of(module)?;
        let fell_without = |partner: ModuleId| {
            let own: Vec<PartId> = feeds
                .module_feeds(partner)
                .iter()
                .flat_map(|feed| feeds.unplugged_with(*feed))
                .collect();
            let alone = |other: &&Pulled| {
                other.base == pulled.base
                    && own.iter().all(|p| self.setting.takes_out(&other.parts, *p))
                    && other.parts.iter().all(|p| own.contains(p))
            };
            self.pulls.iter().rev().find(alone).map(|other| other.fell)
        };
        let others: Vec<Interval<Milliamps>> = feeds
            .partners(network)
            .filter(|partner| *partner != module)
            .filter_map(fell_without)
            .collect();
        let least = |fell: &Interval<Milliamps>| fell.low().max(0.0);
        let sum = least(&pulled.fell) + others.iter().map(least).sum::<f64>();
        if others.is_empty() || sum <= total.high() {
            None
        } else if others.iter().all(|other| pulled.fell.above(*other)) {
            Some(Overlap::Holds)
        } else {
            Some(Overlap::Held)
        }
    }
}
