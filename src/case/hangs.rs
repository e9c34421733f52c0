//! Readings on which much hangs: before something dearer is done elsewhere, the one that alone cleared most is read
//! once more.
//!
//! **Model.** One reading of so many is wrong: a probe off its tab, a decimal point, the neighbouring fuse. Where it is
//! this one, what it cleared is still as likely as it was before, and all that is done from here on is in vain. So it
//! is read again where that is worth its minutes: the chance that it is wrong, by Bayes' rule from what it cleared
//! and from all that is left, times the minutes that are expected to go, against those of the reading.

use super::cost;
use super::facts::Shown;
use super::falls::Falls;
use super::fold::Now;
use super::next::{Next, Reason};
use super::regions::touches;
use super::table::Plan;
use crate::feeds::PartId;
use crate::judgement::Judgement;
use crate::ledger::{Ledger, Out};
use crate::measurement::Method;
use std::collections::BTreeMap;

/// How likely one reading is to be wrong altogether (judgement).
const WRONG: f64 = 0.02;
/// By how much the minutes that it may save are more than those it takes (judgement).
pub(super) const WORTH_TWICE: f64 = 2.0;
/// Minutes to go where no plan says how many (judgement).
const TO_GO: f64 = 60.0;

impl Now<'_> {
    /// Whether a step is dearer than a reading where things are open.
    pub(super) fn is_dear(&self, next: &Next) -> bool {
        let Some(test) = &next.test else { return false };
        let moves = matches!(
            test.method,
            Method::Pull | Method::Unplug | Method::Series | Method::Open
        );
        let closed = test.place.is_some_and(|place| !self.open.contains(&place));
        // What is only read again at the battery is what a check is held against.
        moves || closed && test.method != Method::Draw
    }

    /// Before a dear step: the check of the one reading on which most hangs, where it is worth its minutes.
    /// O(suspects × depth).
    pub(super) fn much_hangs(
        &self,
        judged: &Judgement<'_>,
        plan: &Plan<'_>,
        to_go: Option<f64>,
        out: &Out,
    ) -> Option<Next> {
        let mut once = self.read_once();
        once.retain(|check| !self.was_read_twice(*check));
        let cleared = self.cleared_alone(judged, plan, &once);
        let left: f64 = plan.odds.weights.iter().map(|one| one.weight).sum();
        let worth = |(method, part): &(Method, PartId)| {
            let by_it = WRONG * cleared.get(part).copied().unwrap_or_default();
            let at = self.setting.feeds.place(*part);
            let minutes =
                self.setting.minutes(*method) + cost::reach(&self.setting.feeds, at, &self.open);
            by_it / (by_it + left) * to_go.unwrap_or(TO_GO) - WORTH_TWICE * minutes
        };
        let most = once.iter().max_by(|a, b| worth(a).total_cmp(&worth(b)))?;
        if worth(most) <= 0.0 {
            return None;
        }
        let reason = Reason::MuchHangs(most.1);
        let zero = self.check_of(out, |part| part == most.1);
        Some(match zero {
            Some(check) => self.check_because(check, reason),
            None => self.again_because(*most, reason),
        })
    }

    /// Whether something was read there more than once with just proven drains out, be it that the first counts no
    /// longer.
    fn was_read_twice(&self, (method, part): (Method, PartId)) -> bool {
        let (base, feeds) = (self.base(), &self.setting.feeds);
        let here = |shown: &&Shown| {
            shown.method == method && shown.part == part && base.covers(feeds, &shown.out)
        };
        self.shown.iter().filter(here).count() > 1
    }

    /// How likely what each of these readings cleared was without it, where no other reading clears it as well.
    fn cleared_alone(
        &self,
        judged: &Judgement<'_>,
        plan: &Plan<'_>,
        once: &[(Method, PartId)],
    ) -> BTreeMap<PartId, f64> {
        let (setting, feeds) = (self.setting, &self.setting.feeds);
        let (base, needed) = (self.base(), plan.odds.region.needed);
        let mut cleared = BTreeMap::new();
        if once.is_empty() {
            return cleared;
        }
        let mut ledger = Ledger::new(feeds, self.ties());
        for (method, reading) in &self.readings {
            if *method == Method::Draw {
                ledger.post(reading.clone());
            }
        }
        let free = self.judge(&base, ledger.view(&base));
        let (falls, steering) = (Falls::of(self), self.steering());
        let says = |part: PartId| {
            let mut readings = self.readings.iter();
            let here = readings.any(|(method, reading)| {
                *method != Method::Draw
                    && base.covers(feeds, &reading.out)
                    && reading.part() == part
            });
            here && judged.hides(part) < needed
        };
        for (index, suspect) in setting.suspects.iter().enumerate() {
            // What is behind a branch that is shown to carry is sought there.
            let Some(seat) = suspect
                .seat()
                .filter(|_| touches(feeds, suspect, plan.focus()))
            else {
                continue;
            };
            let mut by = feeds.path(seat).into_iter().filter(|part| says(*part));
            let (Some(by), None) = (by.next(), by.next()) else {
                continue;
            };
            let alone = once.iter().any(|(_, part)| *part == by);
            if alone
                && plan.odds.weights[index].takes < needed
                && falls.could_take(&free, suspect, suspect.hides(&free)) >= needed
            {
                *cleared.entry(by).or_default() += suspect.prior * steering.factor(feeds, suspect);
            }
        }
        cleared
    }
}
