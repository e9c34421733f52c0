//! A meter in line: by how much what flows through it differs from what flows without it.

use super::{Way, range_of};
use crate::instruments::Instruments;
use crate::interval::Interval;
use crate::quantity::{Milliamps, Millivolts};

/// Share of the nominal voltage that a rested battery has at least, for what a burden takes off it (judgement:
/// half flat it has all of it and more, and one that is lower is charged first).
const LOWEST_SUPPLY: f64 = 0.95;

/// What is left at least of the supply, for a current that no jack takes.
const LEAST_LEFT: f64 = 0.5;

/// A way of taking a current, by what its burden takes off the supply. A plain resistance draws less by that
/// share, a regulated supply more (it takes the same watts), and whatever there is of both lies between
/// (Ohm's law).
#[derive(Clone, Copy, Debug)]
pub struct InLine {
    /// Share of the supply that each mA takes off it; 0 where the current does not pass through the meter, or
    /// its burden is not stated.
    share: f64,
}

impl InLine {
    /// Of a way, on a supply of this nominal voltage.
    pub fn of(way: Way, supply: Millivolts, instruments: &Instruments) -> Self {
        let range = match way {
            Way::Series(jack) => range_of(jack, instruments),
            Way::Clamp { .. } => None,
        };
        let burden = range.and_then(|range| range.burden);
        let drop = burden.map(|burden| Milliamps::of(1.0) * burden);
        Self {
            share: drop.map_or(0.0, |drop| drop / (supply * LOWEST_SUPPLY)),
        }
    }

    /// What flows without the meter where that was read with it.
    pub fn without(self, read: Interval<Milliamps>) -> Interval<Milliamps> {
        let left = |current: f64| (1.0 - self.share * current.max(0.0)).max(LEAST_LEFT);
        Interval::between(
            read.low() * left(read.low()),
            read.high() / left(read.high()),
        )
    }

    /// The other way round: what may flow with the meter where that flows without it.
    pub fn with(self, flows: Interval<Milliamps>) -> Interval<Milliamps> {
        let less = |current: f64| current / (1.0 + self.share * current.max(0.0));
        // The current c for which c (1 − share × c) is what flows.
        let more = |current: f64| {
            let under = 1.0 - 4.0 * self.share * current.max(0.0);
            2.0 * current / (1.0 + under.max(0.0).sqrt())
        };
        Interval::between(less(flows.low()), more(flows.high()))
    }
}
