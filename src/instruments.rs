//! Meters, clamps and loops, with their accuracy: what the person owns.

use crate::quantity::{Milliamps, Millimetres, Milliohms, Millivolts, Quantity};

/// One range of a meter: ±(percent of reading + counts of the last digit).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range<Q> {
    /// One step of the last digit.
    pub step: Q,
    /// Percent of the reading.
    pub percent: f64,
    /// Counts of the last digit.
    pub counts: f64,
    /// The most it can carry or show.
    pub most: Option<Q>,
    /// Its resistance in line, for a current range.
    pub burden: Option<Milliohms>,
}

/// A multimeter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    /// Voltage drop range.
    pub millivolts: Option<Range<Millivolts>>,
    /// The high current jack.
    pub amps: Option<Range<Milliamps>>,
    /// The low current jack.
    pub milliamps: Option<Range<Milliamps>>,
}

/// A current clamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clamp {
    /// One step, percent, counts (a floor is given as counts).
    pub range: Range<Milliamps>,
    /// Jaw opening.
    pub jaw: Option<Millimetres>,
    /// For one that is read on the meter: this many millivolts …
    pub scale: Option<(Millivolts, Milliamps)>,
}

/// Everything that is at hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Instruments {
    /// The meter.
    pub meter: Option<Meter>,
    /// The clamp.
    pub clamp: Option<Clamp>,
    /// Turns of the loop lead.
    pub turns: Option<u32>,
    /// No file was given: one plain meter is assumed and the person is asked what else there is.
    pub assumed: bool,
}

/// The accuracy of a range for a number it shows, in the range's unit.
pub fn accuracy<Q: Quantity>(range: &Range<Q>, shown: f64) -> f64 {
    range.percent / 100.0 * shown.abs() + range.counts * range.step.value()
}
