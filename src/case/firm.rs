//! Readings that one mistake could undo: before wiring is named, whatever hangs on it is cleared by more than
//! one reading.
//!
//! A leak in a splice or something on no sheet is named when all that is entered below it is cleared. One
//! reading of those that is wrong, by a decimal point or at another fuse, would convict the wire for it. So
//! what is read only once there is read once more before, and after the fall nobody is named while that is
//! not done. The same goes for the one reading that says the drain is behind that wire at all.

use super::asked::TestPlan;
use super::facts::Shown;
use super::falls::Falls;
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::regions::is_wiring;
use super::table::Reading;
use super::weights::Odds;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::ledger::{Ledger, Observation};
use crate::measurement::Method;

impl Now<'_> {
    /// A reading at a part where another one stands, with or without other things out, is no single one.
    pub(super) fn weigh_again(&mut self, method: Method, observation: &Observation) {
        let part = observation.part();
        let same =
            |(_, old): &(Method, Observation)| old.part() == part && old.entry != observation.entry;
        if method == Method::Draw {
            return;
        }
        if self.readings.iter().any(same) {
            self.firm.insert(part);
        } else {
            self.firm.remove(&part);
        }
    }

    /// How a reading is checked that alone clears somebody who falls silent, or may, with these out, where
    /// wiring is to be named for them.
    pub(super) fn cleared_by_one(
        &self,
        index: usize,
        parts: &[PartId],
        odds: &Odds,
    ) -> Option<(Method, PartId)> {
        let (setting, feeds) = (self.setting, &self.setting.feeds);
        if !is_wiring(feeds, &setting.suspects[index]) {
            return None;
        }
        let once = self.read_once();
        if once.is_empty() {
            return None;
        }
        let base = self.base();
        let mut ledger = Ledger::new(feeds, self.ties());
        for (method, reading) in &self.readings {
            if *method == Method::Draw || self.firm.contains(&reading.part()) {
                ledger.post(reading.clone());
            }
        }
        let sure = self.judge(&base, ledger.view(&base));
        let falls = Falls::of(self);
        let needed = odds.region.needed;
        let unsure = setting
            .suspects
            .iter()
            .enumerate()
            .filter(|(other, suspect)| {
                let weighs = odds.weights[*other].takes >= needed;
                *other != index
                    && !weighs
                    && !is_wiring(feeds, suspect)
                    && (setting.silenced(suspect, parts) || setting.leans_on(suspect, parts))
                    && falls.could_take(&sure, suspect, suspect.hides(&sure)) >= needed
            });
        let mut checks = unsure.filter_map(|(_, suspect)| {
            let own = suspect.raises.iter().map(|(part, _)| *part);
            let own: Vec<PartId> = own.collect();
            let clears = |part: PartId| own.iter().any(|p| feeds.is_below(*p, part));
            once.iter().find(|(_, part)| clears(*part)).copied()
        });
        checks
            .next()
            .or_else(|| self.leads_to(index, &once, needed))
    }

    /// The one reading, at the wire itself or above it, that says the drain is behind it: as wrong, it would
    /// convict it.
    fn leads_to(
        &self,
        index: usize,
        once: &[(Method, PartId)],
        needed: f64,
    ) -> Option<(Method, PartId)> {
        let (feeds, base) = (&self.setting.feeds, self.base());
        let seat = self.setting.suspects[index].seat()?;
        let carrying = |shown: &&Shown| {
            let here = feeds.is_below(seat, shown.part) && shown.out == base;
            let least = shown.current.map_or(0.0, Interval::low);
            here && shown.method != Method::Draw && least >= needed && self.counts(shown.entry)
        };
        let carrying: Vec<&Shown> = self.shown.iter().filter(carrying).collect();
        let alone = carrying.first().filter(|_| carrying.len() == 1)?;
        let check = (alone.method, alone.part);
        once.contains(&check).then_some(check)
    }

    /// How and where something was read that no second reading bears out, and that can be read again.
    pub(super) fn read_once(&self) -> Vec<(Method, PartId)> {
        let (base, out) = (self.base(), self.out_set());
        let once = self.readings.iter().filter(|(method, reading)| {
            let part = reading.part();
            *method != Method::Draw
                && !out.cuts(&self.setting.feeds, part)
                && base.covers(&self.setting.feeds, &reading.out)
                && !self.firm.contains(&part)
                && !self.is_skipped(*method, self.setting.feeds.id(part))
        });
        once.map(|(method, reading)| (*method, reading.part()))
            .collect()
    }

    /// The check of such a reading for a reason of its own, once it sleeps.
    pub(super) fn again_because(&self, check: (Method, PartId), reason: Reason) -> Next {
        self.asleep_first(|| Next {
            reason,
            ..self.read_again(check)
        })
    }

    /// The check of such a reading as a step.
    pub(super) fn read_again(&self, (method, part): (Method, PartId)) -> Next {
        let mut next = self.bare(State::Measure, Reason::ReadAgain);
        next.test = Some(TestPlan {
            way: Reading::of(method, part).way,
            ..self.at_part(method, part)
        });
        next
    }
}
