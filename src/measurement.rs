//! Tests, readings, and what a reading says about a current.

use crate::feeds::{Feeds, PartId};
use crate::instruments::Instruments;
use crate::interval::Interval;
use crate::quantity::{Milliamps, Milliohms, Millivolts};

/// What can be done at the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Method {
    Volts,
    Drop,
    Clamp,
    Series,
    Look,
    Draw,
    Pull,
    Unplug,
    Refit,
    Open,
    Zero,
    Wait,
}

/// The unit a reading was typed in, reduced to the small one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// Milliamps (amps are turned into these).
    Milliamps,
    /// Millivolts (volts are turned into these).
    Millivolts,
}

/// A number as read off an instrument.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Lowest value seen, in the small unit.
    pub low: f64,
    /// Highest value seen (the same unless it wanders).
    pub high: f64,
    /// Unit.
    pub unit: Unit,
    /// One step of the last decimal typed, in the small unit: `0.61A` has 10.
    pub step: f64,
    /// Above what the range can show (`OL`, `>400mV`): only `low` counts.
    pub over: bool,
}

/// The jack of the meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Jack {
    V,
    A,
    MilliA,
}

/// How a current is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// Clamp, wire led through the jaws this many times.
    Clamp {
        /// Turns, at least 1.
        turns: u32,
    },
    /// Meter in the circuit, on this jack.
    Series(Jack),
}

/// Resistance between the probes of a voltage drop, and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Resistance {
    /// Nominal.
    pub nominal: Milliohms,
    /// With its band.
    pub band: Interval<Milliohms>,
    /// Where the number comes from, with its mark.
    pub source: String,
}

/// The resistance a drop is read across, where the file lets it be known.
pub fn resistance(feeds: &Feeds, part: PartId) -> Option<Resistance> {
    let _ = (feeds, part);
    None
}

/// What a drop reading says about the current; `None` without a millivolt range.
pub fn current_by_drop(
    across: &Resistance,
    reading: Reading,
    instruments: &Instruments,
) -> Option<Interval<Milliamps>> {
    let _ = (across, reading, instruments);
    None
}

/// What a current reading says about the current; `None` without the instrument.
pub fn current_by(
    way: Way,
    reading: Reading,
    instruments: &Instruments,
) -> Option<Interval<Milliamps>> {
    let _ = (way, reading, instruments);
    None
}

/// What the display may show across the resistance for any current in the interval: accuracy, step
/// and resistance band included, cut at zero.
pub fn drop_shown(
    across: &Resistance,
    current: Interval<Milliamps>,
    instruments: &Instruments,
) -> Option<Interval<Millivolts>> {
    let _ = (across, current, instruments);
    None
}

/// What the display may show for any current in the interval; for a clamp with turns the shown
/// value (turns times the current).
pub fn current_shown(
    way: Way,
    current: Interval<Milliamps>,
    instruments: &Instruments,
) -> Option<Interval<Milliamps>> {
    let _ = (way, current, instruments);
    None
}

/// The tests a part offers (the table of the design, with `can`, `never`, `fixed`), whether or not
/// an instrument for them is at hand.
pub fn offered(feeds: &Feeds, part: PartId) -> Vec<Method> {
    let _ = (feeds, part);
    Vec::new()
}
