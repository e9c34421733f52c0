//! Places: boxes nobody feeds, places with nothing in them, places hours away.

use crate::feeds::{Feeds, PartId, PlaceId};
use crate::problem::{Problem, words};
use crate::quantity::Minutes;
use crate::vehicle::PartKind;
use std::collections::{BTreeMap, BTreeSet};

/// A place further away than this is hardly ever worth going to (judgement).
const FAR: Minutes = Minutes::of(120.0);

pub(super) fn ask(feeds: &Feeds) -> Vec<Problem> {
    let mut asked = unfed(feeds);
    let mut used: BTreeSet<PlaceId> = feeds.parts().filter_map(|id| feeds.place(id)).collect();
    let ways: Vec<_> = used.iter().flat_map(|place| feeds.way(*place)).collect();
    used.extend(ways);
    for id in feeds.places() {
        let place = feeds.place_as_written(id);
        let name = &place.id.value;
        if !used.contains(&id) {
            asked.push(words::empty_place(name).at(place.id.at.clone()));
            continue;
        }
        let steps = feeds.way(id).into_iter();
        let far = steps.fold(Minutes::ZERO, |sum, step| {
            sum + feeds.place_as_written(step).reach
        });
        if far > FAR {
            asked.push(words::far_place(name, far.value()).at(place.id.at.clone()));
        }
    }
    asked
}

/// Fuses in a box that hang straight on a battery elsewhere.
fn unfed(feeds: &Feeds) -> Vec<Problem> {
    let mut boxes: BTreeMap<PlaceId, Vec<PartId>> = BTreeMap::new();
    for id in feeds.parts() {
        let Some(up) = feeds
            .up(id)
            .filter(|up| feeds.part(*up).kind == PartKind::Battery)
        else {
            continue;
        };
        let guard = matches!(feeds.part(id).kind, PartKind::Fuse | PartKind::Breaker);
        if let (true, Some(here), Some(there)) = (guard, feeds.place(id), feeds.place(up))
            && here != there
        {
            boxes.entry(here).or_default().push(id);
        }
    }
    // One alone is a fuse in its own line.
    let several = boxes.into_iter().filter(|(_, fuses)| fuses.len() > 1);
    several
        .map(|(place, fuses)| {
            let name = &feeds.place_as_written(place).id.value;
            let first = feeds.part(fuses[0]);
            words::unfed_box(name, fuses.len()).at(first.id.at.clone())
        })
        .collect()
}
