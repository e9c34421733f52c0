//! One step of a working, with the numbers it used.

use super::{Across, Scale, Use};
use crate::instruments::Clamp;
use crate::interval::Interval;
use crate::measurement::{Reading, Uncertainty, Unit};
use crate::quantity::{Celsius, Milliamps, Milliohms, Millivolts};
use crate::reference::Figure;

/// The instrument whose accuracy counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Used {
    Millivolts,
    Amps,
    Milliamps,
    Clamp,
}

/// One step of the working.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// What the display shows.
    Shown(Reading),
    /// What it shows with the probes turned round.
    Turned(Reading),
    /// Half the difference of the two, in mV, and what is the same both ways round.
    Half {
        /// The half.
        half: Interval<Millivolts>,
        /// What is the same.
        offset: Millivolts,
        /// That is more than joints and leads give.
        large: bool,
    },
    /// A minus on the display.
    Negative,
    /// What a clamp's voltage means.
    Scaled {
        /// The scale.
        scale: Scale,
        /// What the display's ends mean.
        means: Interval<Milliamps>,
    },
    /// The accuracy of an instrument; `step` is the coarser of its own and the decimals typed.
    Accuracy {
        /// Which.
        used: Used,
        /// Percent of what it shows.
        percent: f64,
        /// Counts of the last digit.
        counts: f64,
        /// What a count is worth here, in the small unit.
        step: f64,
        /// The part that does not grow with what is shown, in the same unit: counts times steps, or
        /// more where digits were not written down.
        floor: f64,
        /// That unit.
        unit: Unit,
        /// It is a typical one, from memory, not from a file.
        assumed: bool,
    },
    /// What is known of the clamp beside percent and counts, and what it comes to with them: percent and
    /// mA.
    More {
        /// The clamp.
        clamp: Clamp,
        /// Percent, all together.
        percent: f64,
        /// What does not grow with what is shown, in mA.
        floor: f64,
    },
    /// The voltage that is there.
    Voltage(Interval<Millivolts>),
    /// The current that goes through the jaws, all turns together, and whether the clamp is read on
    /// the meter, so that two accuracies count.
    Jaws(Interval<Milliamps>, bool),
    /// The current that goes through the meter.
    Meter(Interval<Milliamps>),
    /// Divided by the turns through the jaws.
    Turns(u32),
    /// A resistance at 20 °C, with its band and source.
    Resistance(Across, Figure),
    /// The same at the temperature that was given.
    Temperature(Celsius, Figure),
    /// Ohm's law, each end with the worse end of the band.
    Quotient {
        /// The voltage.
        voltage: Interval<Millivolts>,
        /// The resistance.
        band: Interval<Milliohms>,
        /// The current.
        current: Interval<Milliamps>,
    },
    /// At least this is more than the fuse is rated for.
    AboveRating(Milliamps),
    /// So large a share of its rating warms a fuse.
    WarmFuse {
        /// The share, at most.
        share: f64,
        /// How much more than cold it has there, at most, as a share.
        more: f64,
        /// The least current if it is that warm.
        least: Milliamps,
    },
    /// The zero on the display can hide this.
    Hides(Milliamps),
    /// How far off such a reading usually is.
    Usual(Uncertainty),
    /// What the meter in line does to the circuit.
    Burden {
        /// Resistance of the jack.
        burden: Milliohms,
        /// What it drops at this reading.
        drop: Millivolts,
        /// What a plain resistance would draw without it, from 12 V.
        without: Milliamps,
    },
    /// What to mind while a meter is in line.
    InLine,
    /// The current that was asked about.
    Asked(Interval<Milliamps>),
    /// Ohm's law: the drop, each end with that end of the band.
    Product {
        /// The current.
        current: Interval<Milliamps>,
        /// The resistance.
        band: Interval<Milliohms>,
        /// The drop.
        drop: Interval<Millivolts>,
    },
    /// What the display may show, in whole steps.
    Display(Interval<Millivolts>),
    /// Ohm's law: the resistance while the current flows.
    Ratio {
        /// The voltage.
        voltage: Interval<Millivolts>,
        /// The current.
        current: Interval<Milliamps>,
        /// The resistance.
        resistance: Interval<Milliohms>,
    },
    /// The warmth of a fuse that carries a share of its rating, taken off.
    Warm {
        /// The share; `None` where its rating was not said.
        share: Option<f64>,
        /// The factors, at least and at most.
        by: (f64, f64),
        /// What it has cold.
        cold: Interval<Milliohms>,
    },
    /// What zinc of that temperature has at 20 °C.
    AtTwenty(Celsius, Interval<Milliohms>),
    /// What the tables have for it, and whether that and what was measured can both be right.
    Listed(Across, Figure, bool),
    /// What becomes of the result.
    Use(Use),
    /// A step of how a resistance is measured, from 0.
    How(usize),
}
