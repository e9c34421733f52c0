//! The resistance of a fuse, from a known current through a spare one.
//!
//! **Model.** Voltage over current, each end with the ends that move it outwards. A fuse that carries a
//! good part of its rating is warm: at its rated current it has 1.34 to 1.67 times its cold resistance
//! (derived from quoted drops). The warmth goes with the square of the current, so at a share s of the
//! rating it has 1 + 0.34 s² to 1 + 0.67 s² times as much (derived); this is taken off. The vehicle file
//! takes what a person measured for right to ± 5 %, so only what is at least that good is to be written
//! there.
//!
//! **Invariants.** The interval holds the cold resistance; the number that is to be written holds the
//! whole interval in its band (test `a_spare_fuse_is_measured`).

use super::{Across, Answer, Bounds, Dropped, NoAnswer, Step, Working, middle};
use crate::instruments::Instruments;
use crate::interval::Interval;
use crate::measurement::{self, Reading, Way};
use crate::quantity::{Milliamps, Milliohms, Millivolts};
use crate::reference;
use crate::vehicle::FuseStyle;

/// By how much more than cold a fuse has at its rated current, at least and at most.
const WARM: (f64, f64) = (0.34, 0.67);
/// Above this share of its rating the warmth of a fuse is more than a meter's own fault (judgement).
pub const SHARE: f64 = 0.4;

/// From this share of its rating on the warmth of a fuse is told of: it has up to 4 % more than cold there.
pub(super) const WARM_FROM: f64 = 0.25;

/// What the warmth of a fuse does to a current that was worked out by its cold resistance: as warm as such a
/// fuse may be, I (1 + 0.67 (I / rating)²) is the least by the cold one.
pub(super) fn if_warm(cold: Interval<Milliamps>, rating: Milliamps) -> Step {
    let wanted = cold.low() / rating.value();
    // By Newton from above, where the curve bends away from the root.
    let step = |share: f64| {
        let value = share + WARM.1 * share.powi(3) - wanted;
        share - value / (1.0 + 3.0 * WARM.1 * share * share)
    };
    let least = (0..20).fold(wanted, |share, _| step(share));
    let share = (cold.high() / rating.value()).min(1.0);
    Step::WarmFuse {
        share,
        more: WARM.1 * share * share,
        least: rating * least,
    }
}

/// A resistance that was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The drop across the fuse.
    pub voltage: Dropped,
    /// The current through it.
    pub current: Reading,
    /// How that was taken.
    pub way: Way,
    /// Which fuse it is, where that was said.
    pub fuse: Option<(FuseStyle, Milliamps)>,
}

/// What becomes of a measured resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Use {
    /// Good enough for the vehicle file: the number to write.
    Write(Milliohms),
    /// Coarser than the vehicle file takes it for: by how much it may be off, as a share, and the
    /// current with which these instruments would do, where there is one.
    Coarse(f64, Option<Milliamps>),
}

/// A drop and a current as far as their instruments let them be known.
#[derive(Clone, Copy)]
struct Known {
    voltage: Interval<Millivolts>,
    current: Interval<Milliamps>,
}

impl Known {
    /// `None` without the instruments, or where one of the two may be nothing.
    fn of(asked: &Measured, instruments: &Instruments) -> Option<Self> {
        let voltage = measurement::voltage(asked.voltage.reading(instruments), instruments)?;
        let current = measurement::current_by(asked.way, asked.current, instruments)?;
        let sound = voltage.low() > 0.0 && current.low() > 0.0 && current.high().is_finite();
        sound.then_some(Self { voltage, current })
    }

    /// The resistance while the current flows.
    fn warm(self) -> Interval<Milliohms> {
        Interval::between(
            self.voltage.low() / self.current.high() * 1000.0,
            self.voltage.high() / self.current.low() * 1000.0,
        )
    }
}

impl Measured {
    /// The share of the rating that flows.
    fn share(&self) -> Option<f64> {
        self.fuse
            .map(|(_, rating)| self.current.high / rating.value())
    }

    /// The factors, at least and at most, by which it has more than cold with this current; a fuse whose
    /// rating was not said may carry up to a quarter of it.
    fn warmth(&self, current: Interval<Milliamps>) -> (f64, f64) {
        let at = |current: f64, warm: f64| {
            let share = self.fuse.map(|(_, rating)| current / rating.value());
            share.map(|share| 1.0 + warm * share * share)
        };
        let least = at(current.low(), WARM.0).unwrap_or(1.0);
        let most = at(current.high(), WARM.1).unwrap_or(1.0 + WARM.1 / 16.0);
        (least, most)
    }

    /// The cold resistance.
    fn cold(&self, known: Known) -> Interval<Milliohms> {
        let (least, most) = self.warmth(known.current);
        let warm = known.warm();
        Interval::between(warm.low() / most, warm.high() / least)
    }

    /// The least current, in tenths of an amp, with which these instruments would do.
    fn current_that_does(&self, about: Milliohms, instruments: &Instruments) -> Option<Milliamps> {
        let (_, rating) = self.fuse?;
        let jack = match self.way {
            Way::Series(_) => instruments.meter?.amps?.most,
            Way::Clamp { .. } => None,
        };
        let most = jack.map_or(f64::INFINITY, Milliamps::value);
        let most = (rating.value() * SHARE).min(most);
        let tenths = (1..=1000).map(|tenth| f64::from(tenth) * 100.0);
        let does = |current: &f64| {
            let exactly = |reading: Reading, value: f64| Reading {
                low: value,
                high: value,
                ..reading
            };
            let again = Self {
                voltage: Dropped {
                    shown: exactly(
                        self.voltage.shown,
                        (Milliamps::of(*current) * about).value(),
                    ),
                    turned: None,
                },
                current: exactly(self.current, *current),
                ..*self
            };
            let known = Known::of(&again, instruments);
            known.is_some_and(|known| to_write(again.cold(known)).is_some())
        };
        let mut tenths = tenths.take_while(|current| *current <= most);
        tenths.find(does).map(Milliamps::of)
    }
}

/// The number for the vehicle file, to four digits, whose band holds the interval; `None` where none
/// does.
fn to_write(cold: Interval<Milliohms>) -> Option<Milliohms> {
    let middle = f64::midpoint(cold.low(), cold.high());
    let digits = 10_f64.powf(3.0 - middle.log10().floor());
    let middle = Milliohms::of((middle * digits).round() / digits);
    let band = reference::own(middle).band;
    (band.low() <= cold.low() && cold.high() <= band.high()).then_some(middle)
}

impl Working {
    /// The resistance behind a drop at a known current.
    pub(super) fn measured(&mut self, asked: Measured) -> Result<Answer, NoAnswer> {
        let instruments = self.instruments.clone();
        self.voltage(asked.voltage)?;
        self.known_current(&asked)?;
        let known = Known::of(&asked, &instruments).ok_or(NoAnswer::Nothing)?;
        if let (Some(share), Some((_, rating))) = (asked.share(), asked.fuse)
            && share > SHARE
        {
            return Err(NoAnswer::TooWarm(Box::new(asked), rating * SHARE));
        }
        self.steps.push(Step::Ratio {
            voltage: known.voltage,
            current: known.current,
            resistance: known.warm(),
        });
        let (least, most) = asked.warmth(known.current);
        let mut cold = asked.cold(known);
        self.steps.push(Step::Warm {
            share: asked.share(),
            by: (least, most),
            cold,
        });
        let both = asked.voltage.best().zip(middle(asked.current));
        let (voltage, current) = both.ok_or(NoAnswer::Nothing)?;
        let mut best = voltage / current * 1000.0;
        best /= f64::midpoint(least, most);
        if let Some(there) = self.temperature {
            let factor = 1.0 + reference::ZINC_PER_KELVIN * (there.value() - 20.0);
            cold = cold.times(1.0 / factor);
            best /= factor;
            self.steps.push(Step::AtTwenty(there, cold));
        }
        if let Some((style, rating)) = asked.fuse
            && let Some(figure) = reference::fuse(Some(style), rating)
        {
            let fits = figure.band.touches(cold);
            let across = Across::Fuse(style, rating);
            self.steps.push(Step::Listed(across, figure, fits));
        }
        self.steps.push(Step::Use(match to_write(cold) {
            Some(number) => Use::Write(number),
            None => Use::Coarse(
                cold.width() / 2.0 / f64::midpoint(cold.low(), cold.high()),
                asked.current_that_does(Milliohms::of(best), &instruments),
            ),
        }));
        Ok(Answer::Resistance(Bounds {
            range: cold,
            best: Some(Milliohms::of(best)),
        }))
    }

    /// The steps of the current; those that mind a vehicle do not belong to a bench.
    fn known_current(&mut self, asked: &Measured) -> Result<(), NoAnswer> {
        match asked.way {
            Way::Clamp { turns } => self.clamp(asked.current, turns, None)?,
            Way::Series(jack) => self.series(asked.current, jack)?,
        };
        let of_a_vehicle = |step: &Step| matches!(step, Step::Burden { .. } | Step::InLine);
        self.steps.retain(|step| !of_a_vehicle(step));
        Ok(())
    }
}
