//! What things cost in minutes at the vehicle (judgement; the values of the planning experiments).

use crate::feeds::{Feeds, PartId, PlaceId};
use crate::measurement::Method;
use crate::vehicle::{LoadKind, PartKind};
use std::collections::BTreeSet;

/// Minutes of one step by itself.
pub(super) const fn minutes(method: Method) -> f64 {
    match method {
        Method::Look | Method::Clamp | Method::Draw | Method::Zero => 0.5,
        Method::Volts | Method::Drop => 0.3,
        Method::Series => 3.0,
        Method::Pull | Method::Unplug | Method::Refit => 1.0,
        Method::Open | Method::Wait => 0.0,
    }
}

/// Minutes to carry an instrument to another place.
pub(super) const MOVE: f64 = 1.0;

/// The chance that taking these out, or putting them back, wakes the vehicle.
pub fn chance_of_waking(feeds: &Feeds, parts: &[PartId]) -> f64 {
    let mut chance: f64 = 0.0;
    for part in parts {
        let below = || feeds.subtree(*part).map(PartId);
        let unknown = below().any(|p| {
            feeds.is_leaf(p) && !matches!(feeds.part(p).kind, PartKind::Load | PartKind::Coil)
        });
        let one = if feeds.networked(*part) || unknown {
            0.9
        } else if feeds.is_leaf(*part) {
            match feeds.load_kind(*part) {
                Some(LoadKind::Lamp | LoadKind::Motor | LoadKind::Heater) => 0.05,
                _ => 0.1,
            }
        } else {
            0.1
        };
        chance = chance.max(one);
    }
    chance
}

/// Minutes to get at a place from where things are open, each place on the way once.
pub(super) fn reach(feeds: &Feeds, place: Option<PlaceId>, open: &BTreeSet<PlaceId>) -> f64 {
    place.map_or(0.0, |place| {
        feeds
            .way(place)
            .into_iter()
            .filter(|p| !open.contains(p))
            .map(|p| feeds.place_as_written(p).reach.value())
            .sum()
    })
}
