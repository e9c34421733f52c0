//! What was read in a case, at the point where it was read.

use crate::case::Case;
use crate::feeds::{Feeds, PartId};
use crate::journal::{Act, Point, word, write_reading};
use std::collections::BTreeMap;

/// The newest readings of a part, each in a few words with the number of its entry.
pub type Readings = BTreeMap<PartId, Vec<String>>;

/// So many stand at one part; how many more there are is said.
const SHOWN: usize = 4;

/// Every reading and look of a case that still counts, at its point: draws at the battery, what was
/// read at a plug or a module at the first of its parts. Linear in the entries.
pub fn readings(case: &Case<'_>) -> Readings {
    let feeds = &case.setting().feeds;
    let mut counting = case.counting().into_iter().peekable();
    let mut readings = Readings::new();
    for entry in case.entries() {
        if counting.next_if_eq(&entry.number).is_none() {
            continue;
        }
        let (point, said) = match &entry.act {
            Act::Read {
                method,
                point,
                reading,
                options,
            } => {
                let turns = options
                    .turns
                    .map_or(String::new(), |n| format!(" turns {n}"));
                let reading = write_reading(reading);
                (point, format!("{} {reading}{turns}", word(*method)))
            }
            Act::Look { point, word, .. } => (point, format!("look {word}")),
            _ => continue,
        };
        if let Some(part) = part_of(feeds, point) {
            let said = format!("{}: {said}", entry.number);
            readings.entry(part).or_default().push(said);
        }
    }
    for said in readings.values_mut() {
        let more = said.len().saturating_sub(SHOWN);
        if more > 0 {
            said.drain(..more);
            said.insert(0, format!("{more} before"));
        }
    }
    readings
}

fn part_of(feeds: &Feeds, point: &Point) -> Option<PartId> {
    match point {
        Point::Part(part) => Some(*part),
        Point::Plug(_, parts) => parts.first().copied(),
        Point::Module(module) => feeds.module_feeds(*module).first().copied(),
        Point::Battery => Some(PartId(0)),
        Point::Network(_) | Point::Input(_) | Point::Place(_) => None,
    }
}
