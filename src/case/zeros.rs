//! Zeros that are checked before anything rests on them: a probe off its tab reads 0.0 as well, and so
//! does a clamp whose jaws are not shut.

use super::asked::TestPlan;
use super::facts::{Draw, Pulled, Question, Zero};
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::regions::is_wiring;
use super::table::{Doing, Plan, Reading as At};
use crate::feeds::PartId;
use crate::judgement::Judgement;
use crate::ledger::{Observation, Observed, Out};
use crate::measurement::{self, Method, Reading};
use crate::planner::Step;
use std::collections::BTreeSet;

/// That many drains at once below a part are likelier than a wrong zero (judgement).
const BELOW_ONE: usize = 2;
/// So many nothings are checked before what takes a settle or a panel off (judgement: a minute each).
const WORTH_CHECKING: usize = 6;

impl Now<'_> {
    /// A drop that says no more than nothing is evidence once the part was shown to be live and the drop
    /// was read again: a probe off its tab shows the same. So is a clamp once it was read again with the
    /// jaws shut anew; where it takes a loop, that would break the supply for a check.
    pub(super) fn weigh_zero(
        &mut self,
        (method, part): (Method, PartId),
        observed: Option<Observed>,
        reading: Reading,
    ) {
        let nothing = match observed {
            Some(Observed::Current(_, current)) => current.low() <= 0.0,
            _ => false,
        };
        match method {
            Method::Drop | Method::Clamp
                if nothing
                    && !self.zeros.contains_key(&part)
                    && !self.sure_zeros.contains(&part) =>
            {
                let live = false;
                self.zeros.insert(part, Zero { method, live });
            }
            Method::Drop | Method::Clamp => {
                self.zeros.remove(&part);
                if nothing {
                    self.sure_zeros.insert(part);
                } else {
                    self.sure_zeros.remove(&part);
                }
            }
            Method::Volts if reading.is_dead() => {
                self.zeros.remove(&part);
            }
            Method::Volts => {
                self.zeros.entry(part).and_modify(|zero| zero.live = true);
            }
            _ => {}
        }
    }

    /// How a reading of nothing is checked, first one that was out when the draw fell, then the one behind
    /// which a drain was likeliest before it was read: of a drop whether the part is live, then the drop once
    /// more; a clamp once more. `within` says below what; no verdict rests on the others then.
    pub(super) fn zero_to_check(&self, out: &Out, within: &[PartId]) -> Option<(Method, PartId)> {
        let feeds = &self.setting.feeds;
        // A zero further up speaks against a fall without what is below it.
        let near = |top: PartId, part| feeds.is_below(part, top) || feeds.is_below(top, part);
        let inside = |part: PartId| within.iter().any(|top| near(*top, part));
        if !self.zeros.keys().any(|part| inside(*part)) {
            return None;
        }
        // One that leaves room for all there is has cleared nobody.
        let judged = self.judged_base();
        let all = within == [PartId(0)];
        let clears = |part: PartId| all || judged.hides(part) < judged.needed();
        self.check_of(out, |part| inside(part) && clears(part))
    }

    /// The check of one of these zeros.
    pub(super) fn check_of(
        &self,
        out: &Out,
        counts: impl Fn(PartId) -> bool,
    ) -> Option<(Method, PartId)> {
        let feeds = &self.setting.feeds;
        let steering = self.steering();
        let likely = |part: PartId| -> f64 {
            let behind = self.setting.seated_below(part).iter();
            behind.map(|s| s.prior * steering.factor(feeds, s)).sum()
        };
        let volts = |part: PartId| {
            measurement::offered(feeds, part).contains(&Method::Volts)
                && !self.is_done(Method::Volts, part)
        };
        let checks = self.zeros.iter().filter_map(|(part, zero)| {
            let unshown = zero.method == Method::Drop && !zero.live && volts(*part);
            let method = if unshown { Method::Volts } else { zero.method };
            let skipped = self.is_skipped(method, feeds.id(*part));
            (!skipped && counts(*part) && !out.cuts(feeds, *part)).then_some((method, *part))
        });
        let weighed = checks.map(|check| {
            let calm = !self.went_with_a_fall(check.1);
            (check, calm, likely(check.1))
        });
        let first = weighed.min_by(|(_, calm, likely), (_, other_calm, other)| {
            calm.cmp(other_calm).then(other.total_cmp(likely))
        });
        first.map(|(check, ..)| check)
    }

    /// Nobody that is left could be the drain alone, and the next step takes something out: a zero that
    /// was wrong is likelier, and takes less time to see.
    pub(super) fn zeros_first(
        &self,
        plan: &Plan<'_>,
        step: Option<Step>,
        out: &Out,
    ) -> Option<Next> {
        let disturbs = match step? {
            Step::Test(test) => matches!(plan.tests[test], Doing::Out(_) | Doing::LetIn(_)),
            Step::Prove(_) => true,
        };
        let odds = &plan.odds;
        let rows = &plan.suspects.suspects;
        let enough = |index: &usize| odds.weights[*index].takes >= odds.region.needed;
        let feeds = &self.setting.feeds;
        let wiring = |index: &usize| is_wiring(feeds, &self.setting.suspects[*index]);
        if !disturbs || self.zeros.is_empty() || rows.iter().any(|i| enough(i) && !wiring(i)) {
            return None;
        }
        let check = self.zero_to_check(out, &[plan.focus().top])?;
        Some(self.check_because(check, Reason::NobodyAlone))
    }

    /// Before something dearer: the check of a nothing at a part with which, out among a few, as much fell as that
    /// nothing leaves no room for.
    pub(super) fn fell_though(
        &self,
        judged: &Judgement<'_>,
        plan: &Plan<'_>,
        step: Option<Step>,
        out: &Out,
    ) -> Option<Next> {
        if !self.step_is_dear(plan, step?) {
            return None;
        }
        let behind = |part: PartId| {
            let mut fell = self.pulls_here().filter(|pulled| !pulled.in_vain());
            fell.any(|pulled| {
                self.setting.takes_out(&pulled.parts, part)
                    && judged.hides(part) < pulled.fell.low()
            })
        };
        let zeros: Vec<PartId> = self.zeros.keys().copied().filter(|p| behind(*p)).collect();
        if zeros.is_empty() || zeros.len() > WORTH_CHECKING {
            return None;
        }
        let check = self.check_of(out, |part| zeros.contains(&part))?;
        Some(self.check_because(check, Reason::FellThough(check.1)))
    }

    /// Whether a step of the plan takes something out, or a reading where things are closed.
    pub(super) fn step_is_dear(&self, plan: &Plan<'_>, step: Step) -> bool {
        let Step::Test(test) = step else { return true };
        let quick = matches!(plan.tests[test], Doing::At(_) | Doing::Look(_));
        let place = plan.table.tests[test].place;
        !quick || place.is_some_and(|at| !self.open.contains(&plan.places[at]))
    }

    /// A part into which more flows than two drains below it and all that is healthy there could take by the
    /// zeros, and the zero that is checked first: else three drains are needed at once, or it leaks there.
    pub(super) fn goes_nowhere(&self, judged: &Judgement<'_>, out: &Out) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let zeros = self.zeros.keys();
        let above: BTreeSet<PartId> = zeros.filter_map(|part| feeds.up(*part)).collect();
        let view = judged.view();
        let (top, check) = above.into_iter().find_map(|top| {
            let (mut sum, mut beyond) = (0.0, Vec::new());
            for part in feeds.children(top) {
                let most = view.current(part).high();
                let usual = self.setting.healthy.draw(part).high().min(most);
                sum += usual;
                beyond.push(most - usual);
            }
            beyond.sort_unstable_by(|a, b| b.total_cmp(a));
            sum += beyond.iter().take(BELOW_ONE).sum::<f64>();
            let nowhere = view.current(top).low() - sum >= judged.matters();
            let check = || self.check_of(out, |part| feeds.up(part) == Some(top));
            nowhere.then(check)?.map(|check| (top, check))
        })?;
        Some(self.check_because(check, Reason::GoesNowhere(top)))
    }

    /// Whether the draw fell with a part out, and never stayed as it was with it out.
    fn went_with_a_fall(&self, part: PartId) -> bool {
        let with = |pulled: &&Pulled| self.setting.takes_out(&pulled.parts, part);
        let (mut fell, mut stayed) = (false, false);
        for pulled in self.pulls_here().filter(with) {
            fell |= !pulled.in_vain();
            stayed |= pulled.vain;
        }
        fell && !stayed
    }

    /// Where a draw cannot be with readings of nothing that nobody has checked, these count no longer: a
    /// probe off its tab is likelier than another fault. They are asked for again. `false`, and nothing is
    /// changed, where the draw does not fit without them either.
    pub(super) fn zeros_give_way(&mut self, draw: &Draw) -> bool {
        let mut without = self.clone();
        let (mut doubted, mut first) = (Vec::new(), None);
        loop {
            let clash = without.clash_with(draw);
            if clash.is_empty() {
                break;
            }
            let unchecked = |(method, old): &(Method, Observation)| match old.what {
                Observed::Current(part, current) => {
                    let zero = without.zeros.get(&part);
                    let nothing = current.low() <= 0.0 && clash.contains(&old.entry);
                    (nothing && zero.is_some_and(|zero| zero.method == *method))
                        .then_some((part, old.entry, *method))
                }
                Observed::Dead(_) => None,
            };
            let zeros: Vec<_> = without.readings.iter().filter_map(unchecked).collect();
            if zeros.is_empty() {
                return false;
            }
            for (part, entry, method) in zeros {
                without.zeros.remove(&part);
                first = first.or(Some((method, part)));
                let test = (method, without.setting.feeds.id(part).to_owned());
                without.taken.remove(&test);
                without.readings.retain(|(_, old)| old.entry != entry);
                doubted.push((part, entry));
            }
            without.bound_anew();
        }
        without.repeat = first;
        without.questions.push(Question::ZerosDoubted(doubted));
        *self = without;
        true
    }

    /// The check of a zero, for a reason that is said before its volts.
    pub(super) fn check_because(&self, check: (Method, PartId), reason: Reason) -> Next {
        self.asleep_first(|| {
            let mut next = self.check_zero(check);
            if next.reason == Reason::LiveThere {
                next.reason = reason;
            }
            next
        })
    }

    /// The check of a zero as a step.
    pub(super) fn check_zero(&self, (method, part): (Method, PartId)) -> Next {
        let reason = match method {
            Method::Volts => Reason::LiveThere,
            Method::Clamp => Reason::ShutAgain,
            _ => Reason::ZeroAgain,
        };
        let mut next = self.bare(State::Measure, reason);
        next.test = Some(TestPlan {
            way: At::of(method, part).way,
            ..self.at_part(method, part)
        });
        next
    }
}
