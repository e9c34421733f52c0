//! When what stands in a write-up was entered: the core has no clock, the case file keeps the minutes.

use super::Page;
use crate::case::Entry;
use crate::journal::Act;
use crate::render::words::{count, plain};
use crate::report::{Repaired, SETTLED_BY, Watched, typed_faster, wait_began, watched};

/// Before the minutes after which `asleep` came early.
const TYPED_AFTER: &str = "typed after";

/// When the entries of a case were entered, as far as that is known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct When {
    /// Minutes since the first that stands there, for each entry in order.
    pub minutes: Vec<Option<f64>>,
    /// The first and the last day, such as `2026-11-29`.
    pub days: Option<(String, String)>,
}

impl When {
    fn at(&self, entry: u32) -> Option<f64> {
        *self.minutes.get(entry.checked_sub(1)? as usize)?
    }

    /// Minutes from one entry to a later one; a clock that was put back tells nothing.
    fn between(&self, first: u32, later: u32) -> Option<f64> {
        let minutes = self.at(later)? - self.at(first)?;
        (minutes >= 0.0).then_some(minutes)
    }
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
    /// The times, where they are those of the work.
    fn times(&self) -> Option<&When> {
        (!typed_faster(self.case, &self.when.minutes)).then_some(self.when)
    }

    /// That the times are not those of the work.
    pub(super) fn typed_faster(&self) -> Option<&'static str> {
        self.times().is_none().then_some(
            "The entries were typed faster than the work can be done, so the case file does not know how long it settled or was watched.",
        )
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

    /// How long it had been left alone when it was said to be asleep, before a draw.
    pub(super) fn asleep(&self, draw: u32) -> String {
        let counting = self.case.counting();
        let stands = |entry: &&Entry| counting.binary_search(&entry.number).is_ok();
        let mut entries = self.case.entries().iter().rev().filter(stands);
        let slept = entries.find(|entry| entry.number < draw && entry.act == Act::Asleep);
        let Some(slept) = slept.map(|entry| entry.number) else {
            return String::new();
        };
        let waited =
            wait_began(self.case, slept).and_then(|began| self.times()?.between(began, slept));
        let settle = self.feeds().settle().value();
        match waited {
            None => format!("entry {slept}"),
            Some(waited) if waited < SETTLED_BY * settle => format!(
                "entry {slept}, {TYPED_AFTER} {} of {} min",
                lasting(waited).trim_end_matches(" min"),
                plain(settle)
            ),
            Some(waited) => format!("entry {slept}, after {}", lasting(waited)),
        }
    }

    /// "prepared and settled anew", where nothing speaks against it.
    pub(super) fn settled_anew(&self, repaired: &Repaired) -> String {
        let asleep = repaired.draws.first().map(|draw| self.asleep(draw.entry));
        match asleep.filter(|asleep| asleep.contains(TYPED_AFTER)) {
            Some(asleep) => format!("prepared anew, said to be asleep by {asleep}"),
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
            Watched::Logged | Watched::LogTooSoon { .. } => times,
            Watched::Unknown => format!(
                "{times}; how far apart they were read is not known, and less than {} min is no watch",
                plain(self.feeds().settle().value())
            ),
            Watched::Short(minutes) => {
                format!(
                    "{times}, but only {} apart: that is no watch",
                    lasting(minutes)
                )
            }
            Watched::Long(minutes) => format!("{times}, {} apart", lasting(minutes)),
        }
    }
}
