//! When what stands in a write-up was entered: the core has no clock, the case file keeps the minutes.

use super::Page;
use crate::case::Entry;
use crate::journal::Act;
use crate::render::words::{count, plain};
use crate::report::{Repaired, SETTLED_BY, Times, Watched, wait_began, watched};

/// When the entries of a case were entered, as far as that is known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct When {
    /// Minutes since the first that stands there, for each entry in order.
    pub minutes: Vec<Option<f64>>,
    /// The first and the last day, such as `2026-11-29`.
    pub days: Option<(String, String)>,
}

/// A length of time as far as the case file knows it, by the minute: "less than 1 min", "12 min", "3 h 5 min".
pub(in crate::render) fn lasting(minutes: f64) -> String {
    let whole = minutes.floor();
    if whole < 1.0 {
        "less than 1 min".to_owned()
    } else if whole < 120.0 {
        format!("{whole:.0} min")
    } else {
        format!("{:.0} h {:.0} min", (whole / 60.0).floor(), whole % 60.0)
    }
}

impl Page<'_> {
    fn times(&self) -> Times {
        Times::of(self.case, &self.when.minutes)
    }

    /// That the times are not those of the work.
    pub(super) fn typed_faster(&self) -> Option<&'static str> {
        let times = self.times();
        let words = if times.any_typed() {
            "The entries were typed faster than the work can be done, so only the times of day that were typed with them say how long it settled or was watched."
        } else {
            "The entries were typed faster than the work can be done, so the case file does not know how long it settled or was watched."
        };
        times.typed_faster().then_some(words)
    }

    /// What a workshop sheet begins with; what the case does not know is left to be filled in by hand.
    pub(super) fn to_fill_in(&self) -> String {
        let date = match &self.when.days {
            Some((first, last)) if first == last => format!(" {first}"),
            Some((first, last)) => format!(" {first} to {last}"),
            None => String::new(),
        };
        format!(
            "| Registration | Mileage | Date | Done by | Battery test |\n|---|---|---|---|---|\n| | |{date} | | |\n"
        )
    }

    /// How long it had been left alone when it was said to be asleep, before a draw; and that again where it was early.
    pub(super) fn asleep(&self, draw: u32) -> (String, Option<String>) {
        let counting = self.case.counting();
        let stands = |entry: &&Entry| counting.binary_search(&entry.number).is_ok();
        let mut entries = self.case.entries().iter().rev().filter(stands);
        let slept = entries.find(|entry| entry.number < draw && entry.act == Act::Asleep);
        let Some(slept) = slept.map(|entry| entry.number) else {
            return (String::new(), None);
        };
        let waited =
            wait_began(self.case, slept).and_then(|began| self.times().between(began, slept));
        let settle = self.feeds().settle().value();
        match waited {
            None => (format!("entry {slept}"), None),
            Some(waited) if waited < SETTLED_BY * settle => (
                format!("entry {slept}"),
                Some(format!("entry {slept} after {}", lasting(waited))),
            ),
            Some(waited) => (format!("entry {slept}, after {}", lasting(waited)), None),
        }
    }

    /// "prepared and settled anew", where nothing speaks against it.
    pub(super) fn settled_anew(&self, repaired: &Repaired) -> String {
        let first = repaired.draws.first();
        match first.and_then(|draw| self.asleep(draw.entry).1) {
            Some(early) => format!(
                "prepared anew, said to be asleep by {early} of {} min",
                plain(self.feeds().settle().value())
            ),
            None => "prepared and settled anew".to_owned(),
        }
    }

    /// How long the draw was watched after the last repair.
    pub(super) fn watch(&self) -> Watched {
        let repair = self.case.repairs().last();
        repair.map_or(Watched::Unknown, |repair| {
            watched(self.case, repair, &self.when.minutes)
        })
    }

    /// The same of this repair, in words.
    pub(super) fn watched(&self, repaired: &Repaired) -> String {
        let times = match repaired.draws.len() {
            // A log was the watch.
            1 => "when it was read".to_owned(),
            2 => "both times".to_owned(),
            more => format!("all {}", count(more, "time")),
        };
        // After a repair that did not hold there is another one.
        match self.watch() {
            Watched::Logged | Watched::LoggedAsEntered | Watched::LogTooSoon { .. } => times,
            Watched::Unknown => format!(
                "{times}; how far apart they were read is not known, and less than {} min is too short a watch",
                plain(self.feeds().settle().value())
            ),
            Watched::Short(minutes) => format!(
                "{times}, but only {} apart: too short a watch",
                lasting(minutes)
            ),
            Watched::Long(minutes) => format!("{times}, {} apart", lasting(minutes)),
        }
    }
}
