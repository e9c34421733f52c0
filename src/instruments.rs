//! Meters, clamps and loops, with their accuracy: what the person owns.
//!
//! **Model.** A range is right to ±(percent of what it shows + counts of its last digit). A count is
//! one step, and the step is the coarser of the range's own and the last decimal that was written
//! down: who writes 2 mV for 2.1 has thrown a digit away. No display is better than half its step.
//!
//! **Invariants.** A range that is finer in every number never has a wider accuracy, as long as the
//! digits written down are those shown or ten times coarser (test
//! `a_finer_instrument_is_never_wider`).
//!
//! **Cost.** Constant time.

use crate::quantity::{Milliamps, Millimetres, Milliohms, Millivolts, Quantity};

mod handling;
mod read;
pub use handling::Handling;
pub use read::read;

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
    /// One step, percent, counts.
    pub range: Range<Milliamps>,
    /// What stays whatever is shown, beside the counts or in their place.
    pub floor: Milliamps,
    /// By how much its zero may move, with warmth and position, from zeroing to reading.
    pub drift: Milliamps,
    /// Percent of the reading for a wire that is not in the middle of its jaws.
    pub off_centre: f64,
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
    /// What each thing takes that is done with them, or by hand.
    pub handling: Handling,
    /// No file was given: one plain meter is assumed and the person is asked what else there is.
    pub assumed: bool,
}

/// The accuracy of a range for a number it shows with all its digits, in the range's unit.
pub fn accuracy<Q: Quantity>(range: &Range<Q>, shown: f64) -> f64 {
    range.accuracy(0.0).margin(shown)
}

impl<Q: Quantity> Range<Q> {
    /// Its accuracy where the last decimal written down is worth `typed` (0: all its digits were).
    pub fn accuracy(&self, typed: f64) -> Accuracy {
        let share = self.percent / 100.0;
        let counts = self.counts.max(0.5);
        let own = self.step.value();
        // With hardly a count to spare, rounding to the decimals written down is a fault of its own.
        let rounded = if typed > own {
            counts * own + typed / 2.0 * (1.0 + share)
        } else {
            0.0
        };
        let step = own.max(typed);
        Accuracy {
            share,
            floor: (counts * step).max(rounded),
            step,
        }
    }
}

/// How far what is shown may be from what is there, in the unit of what is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy {
    /// The part that grows with what is shown, as a fraction of it.
    pub share: f64,
    /// The part that stays.
    pub floor: f64,
    /// The steps in which it is shown.
    pub step: f64,
}

impl Accuracy {
    /// ± at a number that is shown.
    pub fn margin(&self, shown: f64) -> f64 {
        self.share * shown.abs() + self.floor
    }

    /// The same in another unit, of which one of this one is `factor`.
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            share: self.share,
            floor: self.floor * factor,
            step: self.step * factor,
        }
    }

    /// Of a pick-up read on a display, such as a clamp on a meter: both errors count in full, and the
    /// pick-up's share is one of what it gave, which the display shows only within its own margin. The
    /// steps are the display's.
    pub fn read_on(&self, display: &Self) -> Self {
        Self {
            share: self.share + display.share * (1.0 + self.share),
            floor: self.floor + display.floor * (1.0 + self.share),
            step: display.step,
        }
    }

    /// What is there while `low` to `high` is shown; cut at zero from below unless it was negative.
    pub fn truth(&self, low: f64, high: f64) -> (f64, f64) {
        let (below, above) = (low - self.margin(low), high + self.margin(high));
        if low >= 0.0 {
            (below.max(0.0), above)
        } else {
            (below, above)
        }
    }

    /// What may be shown, in whole steps, while something from `low` to `high` (not negative) is there:
    /// every s ≥ 0 with |s − truth| ≤ [`margin`](Self::margin)(s).
    pub fn shown(&self, low: f64, high: f64) -> (f64, f64) {
        let least = ((low - self.floor) / (1.0 + self.share)).max(0.0);
        let most = if self.share < 1.0 {
            (high.max(0.0) + self.floor) / (1.0 - self.share)
        } else {
            f64::INFINITY
        };
        let (lowest, highest) = (
            self.whole_step(least, f64::ceil),
            self.whole_step(most, f64::floor),
        );
        (lowest.min(highest), highest)
    }

    /// The number of steps round a number, back in its unit without the noise of binary fractions.
    fn whole_step(&self, number: f64, round: fn(f64) -> f64) -> f64 {
        if self.step <= 0.0 || !number.is_finite() {
            return number;
        }
        let steps = number / self.step;
        let near = steps.round();
        let steps = if (steps - near).abs() < 1e-6 {
            near
        } else {
            round(steps)
        };
        (steps * self.step * 1e9).round() / 1e9
    }
}

impl Clamp {
    /// One that reads single milliamps, as they are sold: 1 mA step, ±(2 % + 5 counts) (typical, from
    /// memory).
    pub fn typical() -> Self {
        Self {
            range: Range {
                step: Milliamps::of(1.0),
                percent: 2.0,
                counts: 5.0,
                most: None,
                burden: None,
            },
            floor: Milliamps::of(0.0),
            drift: Milliamps::of(0.0),
            off_centre: 0.0,
            jaw: None,
            scale: None,
        }
    }

    /// One that gives a voltage for the meter to show, as they are sold: ±(2 % + 5 counts of what the
    /// meter shows) (from memory). `None` without a meter to show it.
    pub fn typical_on(meter: Option<&Meter>, scale: (Millivolts, Milliamps)) -> Option<Self> {
        let display = meter?.millivolts?;
        let typical = Self::typical();
        Some(Self {
            range: Range {
                step: scale.1 * (display.step / scale.0),
                ..typical.range
            },
            scale: Some(scale),
            ..typical
        })
    }

    /// Its own accuracy in mA, without that of a meter it is read on: what its manual says, and what its
    /// zero may have moved and a wire off centre adds to that.
    pub fn own_accuracy(&self, typed: f64) -> Accuracy {
        let counted = self.range.accuracy(typed);
        let floor = self.floor.value();
        // A floor in the place of counts has in it the half step that no display is better than.
        let in_place = self.range.counts < 0.5 && typed <= self.range.step.value();
        Accuracy {
            share: counted.share + self.off_centre / 100.0,
            floor: self.drift.value()
                + if in_place {
                    counted.floor.max(floor)
                } else {
                    counted.floor + floor
                },
            ..counted
        }
    }

    /// Whether something beside percent and counts is known of it.
    pub fn has_more(&self) -> bool {
        self.floor.value() + self.drift.value() + self.off_centre > 0.0
    }

    /// Its accuracy in mA where the last decimal written down is worth `typed` mA; for one that is
    /// read on the meter that of the meter is added. `None` where that meter is not at hand.
    pub fn accuracy(&self, meter: Option<&Meter>, typed: f64) -> Option<Accuracy> {
        let Some(scale) = self.milliamps_per_millivolt() else {
            return Some(self.own_accuracy(typed));
        };
        let display = meter?.millivolts?.accuracy(typed / scale).scaled(scale);
        Some(self.own_accuracy(0.0).read_on(&display))
    }

    /// For one that is read on the meter: the current that one millivolt means.
    pub fn milliamps_per_millivolt(&self) -> Option<f64> {
        self.scale
            .map(|(millivolts, milliamps)| milliamps.value() / millivolts.value())
    }
}

impl Instruments {
    /// What is assumed without an instruments file: one plain meter (6000 counts; from memory), no
    /// clamp, no loop.
    pub fn assumed_meter() -> Self {
        Self {
            meter: Some(Meter {
                millivolts: Some(Range {
                    step: Millivolts::of(0.1),
                    percent: 0.5,
                    counts: 2.0,
                    most: None,
                    burden: None,
                }),
                amps: Some(Range {
                    step: Milliamps::of(10.0),
                    percent: 1.0,
                    counts: 3.0,
                    most: Some(Milliamps::of(10_000.0)),
                    burden: Some(Milliohms::of(20.0)),
                }),
                milliamps: Some(Range {
                    step: Milliamps::of(0.1),
                    percent: 0.5,
                    counts: 2.0,
                    most: Some(Milliamps::of(400.0)),
                    burden: Some(Milliohms::of(1800.0)),
                }),
            }),
            clamp: None,
            turns: None,
            handling: Handling::USUAL,
            assumed: true,
        }
    }
}
