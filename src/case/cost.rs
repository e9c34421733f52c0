//! What things cost in minutes at the vehicle: handling as the instruments file says it, reach and settle
//! as the vehicle file does. How they add up to a plan: [`crate::planner::table`].

use super::Setting;
use super::fold::Now;
use super::taking_out::TakeOut;
use crate::feeds::{Feeds, PartId, PlaceId};
use crate::instruments::Handling;
use crate::measurement::Method;
use crate::vehicle::{LoadKind, PartKind};
use std::collections::BTreeSet;

impl Setting {
    /// Minutes of one step by itself.
    pub fn minutes(&self, method: Method) -> f64 {
        let handling = &self.instruments.handling;
        let minutes = match method {
            Method::Look => handling.look,
            Method::Volts => handling.volts,
            Method::Drop => handling.drop,
            // Zeroing a clamp is one reading of it.
            Method::Clamp | Method::Zero => handling.clamp,
            Method::Draw => handling.draw,
            Method::Series => handling.series,
            Method::Pull => handling.pull,
            Method::Unplug => handling.unplug,
            Method::Refit => handling.refit,
            Method::Open | Method::Wait | Method::Log => return 0.0,
        };
        minutes.value()
    }

    /// Minutes to carry an instrument to another place.
    pub(super) fn carry_minutes(&self) -> f64 {
        self.instruments.handling.carry.value()
    }

    /// The same of something to take out: an input lets go, or wakes, what it holds.
    pub(super) fn chance_with(&self, way: &TakeOut) -> f64 {
        if way.parts.is_empty() {
            return self.instruments.handling.wakes_network;
        }
        self.chance_of_waking(&way.parts)
    }

    /// The chance that taking these out, or putting them back, wakes the vehicle.
    pub(super) fn chance_of_waking(&self, parts: &[PartId]) -> f64 {
        chance_of_waking(&self.instruments.handling, &self.feeds, parts)
    }
}

impl Now<'_> {
    /// The chance that something to take out, or to put back, wakes this vehicle: certain where it was seen to.
    pub(super) fn wakes(&self, way: &TakeOut) -> f64 {
        if way.parts.iter().any(|part| self.woke.contains(part)) {
            1.0
        } else {
            self.setting.chance_with(way)
        }
    }

    /// The chance that one of several does: that of the worst of them.
    pub(super) fn one_wakes<'a>(&self, ways: impl IntoIterator<Item = &'a TakeOut>) -> f64 {
        ways.into_iter()
            .map(|way| self.wakes(way))
            .fold(0.0, f64::max)
    }
}

/// The chance that taking these out, or putting them back, wakes the vehicle.
pub fn chance_of_waking(handling: &Handling, feeds: &Feeds, parts: &[PartId]) -> f64 {
    let mut chance: f64 = 0.0;
    for part in parts {
        let below = || feeds.subtree(*part).map(PartId);
        let unknown = below().any(|p| {
            feeds.is_leaf(p) && !matches!(feeds.part(p).kind, PartKind::Load | PartKind::Coil)
        });
        let plain = matches!(
            feeds.load_kind(*part),
            Some(LoadKind::Lamp | LoadKind::Motor | LoadKind::Heater)
        );
        let one = if feeds.needs_lead_off(*part) {
            // All of it loses its supply, and starts anew.
            1.0
        } else if feeds.networked(*part) || unknown {
            handling.wakes_network
        } else if feeds.is_leaf(*part) && plain {
            handling.wakes_plain
        } else {
            handling.wakes_fuse
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
