//! What the place of a step calls for: a ladder at what is up on a roof, trim on the way to what is inside.

use crate::feeds::{Feeds, PartId, PlaceId};
use crate::measurement::Method;
use crate::render::words::holds;

/// A place that takes so many minutes to get at is behind panels or trim (judgement).
const BEHIND_TRIM: f64 = 10.0;

/// Words of a place, or of a note, that is up high; and those of one that only sounds so.
const UP_HIGH: [&str; 6] = ["roof", "rack", "ladder", "mast", "gantry", "headboard"];
const BELOW_A_ROOF: [&str; 5] = ["lining", "liner", "console", "inside", "trim"];

/// Words of a place that is outside or under a lid, where no trim has an airbag behind it.
const OUTSIDE: [&str; 14] = [
    "bonnet",
    "engine",
    "bay",
    "chassis",
    "frame",
    "underbody",
    "below",
    "under",
    "bumper",
    "tail",
    "outside",
    "trailer",
    "hull",
    "mast",
];

fn is_high(text: &str) -> bool {
    holds(text, &UP_HIGH) && !holds(text, &BELOW_A_ROOF)
}

/// A place and those on the way to it, by their names.
fn way_to(place: PlaceId, feeds: &Feeds) -> Vec<&str> {
    let way = feeds.way(place).into_iter();
    way.map(|at| feeds.place_as_written(at).id.value.as_str())
        .collect()
}

/// Whether a part is up high, by its place or by what the file notes of it.
pub(super) fn is_up_high(part: PartId, feeds: &Feeds) -> bool {
    let place = feeds.place(part);
    let there = place.is_some_and(|place| way_to(place, feeds).iter().any(|name| is_high(name)));
    there || feeds.part(part).note.as_deref().is_some_and(is_high)
}

/// What goes with work up high: common practice, no source.
pub(super) const UP_THERE: &str = "Work up high: a ladder that stands firm and is held, or a platform; never off a tyre, a bonnet or the ladder's top rung.";

/// The care that a place asks for at a step there; said once in a case.
pub(in crate::render) fn at_the_place(
    method: Method,
    place: Option<PlaceId>,
    parts: &[PartId],
    feeds: &Feeds,
) -> Vec<&'static str> {
    let by_hand = !matches!(
        method,
        Method::Draw | Method::Wait | Method::Log | Method::Zero
    );
    let there = place.is_some_and(|at| way_to(at, feeds).iter().any(|name| is_high(name)));
    let high = by_hand && (there || parts.iter().any(|part| is_up_high(*part, feeds)));
    if high {
        return vec![UP_THERE];
    }
    let trim = (method == Method::Unplug).then(|| behind_trim(place?, feeds));
    trim.flatten().into_iter().collect()
}

/// What goes with taking off panels to get at a plug.
fn behind_trim(place: PlaceId, feeds: &Feeds) -> Option<&'static str> {
    let far = feeds.place_as_written(place).reach.value() >= BEHIND_TRIM;
    let outside = holds(way_to(place, feeds).last()?, &OUTSIDE);
    (far && !outside).then_some(
        "Panels or trim on the way: the maker's way of taking them off, no force; airbags and their wires may be behind them.",
    )
}
