//! One reading to a current, or a current to what the display will show, step by step.
//!
//! **Model.** A question is a drop across something, a clamp or series reading, a current whose drop is
//! asked for, or a drop at a known current whose resistance is. The answer is worked by [`crate::measurement`]; what this room adds is the list
//! of [`Step`]s that lead there, each with the numbers it used and where they come from, so that a
//! person can check it with pencil and paper.
//!
//! **Invariants.** The answer is the one that a reading in a case would give (test
//! `a_single_reading_is_worked_as_in_a_case`).
//!
//! **Cost.** Linear in what was typed.

use crate::instruments::{Clamp, Instruments, Range};
use crate::interval::Interval;
use crate::measurement::{self, Jack, Reading, Resistance, Uncertainty, Unit, Way};
use crate::quantity::{Celsius, Milliamps, Milliohms, Millivolts, Quantity};
use crate::reference::{self, Figure, Strands};
use crate::vehicle::{FuseStyle, Wire};

mod resistance;
mod step;
mod typed;
pub use resistance::{Measured, SHARE, Use};
pub use step::{Step, Used};
pub use typed::{Refused, Wrong, parse};

/// What a voltage drop is read across.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Across {
    /// A fuse of this style and rating.
    Fuse(FuseStyle, Milliamps),
    /// A length of wire, and how it is made up.
    Wire(Wire, Strands),
    /// Something of known resistance.
    Resistance(Milliohms),
}

impl Across {
    /// Its resistance at 20 °C; `None` where nothing is known about it.
    pub fn figure(self) -> Option<Figure> {
        match self {
            Self::Fuse(style, rating) => reference::fuse(Some(style), rating),
            Self::Wire(wire, strands) => reference::made_up(wire, strands),
            Self::Resistance(resistance) => Some(reference::own(resistance)),
        }
    }
}

/// A drop as it was read: once, or with the probes both ways round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dropped {
    /// What the display showed.
    pub shown: Reading,
    /// What it showed with the probes turned round.
    pub turned: Option<Reading>,
}

impl From<Reading> for Dropped {
    fn from(shown: Reading) -> Self {
        Self {
            shown,
            turned: None,
        }
    }
}

impl Dropped {
    /// The reading that counts: half the difference where it was read both ways round.
    pub fn reading(self, instruments: &Instruments) -> Reading {
        match self.turned {
            Some(turned) => self.shown.with_probes_turned(turned, instruments),
            None => self.shown,
        }
    }

    /// Its best value; `None` where the display showed that its range is exceeded.
    fn best(self) -> Option<f64> {
        middle(match self.turned {
            Some(turned) => self.shown.half_difference(turned),
            None => self.shown,
        })
    }
}

/// The voltage that a clamp with a voltage output gives, and the current it means.
pub type Scale = (Millivolts, Milliamps);

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Question {
    /// The current behind a voltage drop.
    Drop(Dropped, Across),
    /// The current behind a clamp reading, with the turns through its jaws and, for one that is read
    /// on the meter, its scale.
    Clamp(Reading, u32, Option<Scale>),
    /// The current through the meter.
    Series(Reading, Jack),
    /// What the meter will show across this for a current.
    Expect(Reading, Across),
    /// The resistance behind a drop at a known current.
    Resistance(Measured),
    /// How a resistance is measured.
    HowToMeasure,
}

/// Ends and best value of a result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds<Q: Quantity> {
    /// Every value that is possible.
    pub range: Interval<Q>,
    /// The likeliest; `None` for a reading above the range.
    pub best: Option<Q>,
}

/// The result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Answer {
    /// A current.
    Current(Bounds<Milliamps>),
    /// What the meter will show.
    Voltage(Bounds<Millivolts>),
    /// A resistance.
    Resistance(Bounds<Milliohms>),
    /// Something to do.
    How,
}

/// A question with its answer and the way there.
#[derive(Clone, Debug, PartialEq)]
pub struct Worked {
    /// The result.
    pub answer: Answer,
    /// The steps, in order.
    pub steps: Vec<Step>,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum NoAnswer {
    /// Nothing is known about a fuse of this style.
    Style(FuseStyle),
    /// Nothing is known about this style at this rating.
    Rating(FuseStyle, Milliamps),
    /// The instruments file has no such range or instrument.
    NotAtHand(Used),
    /// A clamp reading in mV without the scale, and its turns.
    NoScale(Reading, u32),
    /// A reading above what the jack takes.
    TooMuch(Reading, Jack, Milliamps),
    /// A drop or a current that may be nothing gives no resistance.
    Nothing,
    /// So much of its rating makes a fuse too warm; the most that may go through it.
    TooWarm(Box<Measured>, Milliamps),
}

/// Steps of how a resistance is measured.
pub const HOW_STEPS: usize = 7;

/// The supply for which the effect of a meter in line is told.
const SUPPLY: Millivolts = Millivolts::of(12_000.0);

/// Answers a question with these instruments; resistances are those at `temperature`, or at 20 °C
/// where none is given.
pub fn work(
    question: Question,
    instruments: &Instruments,
    temperature: Option<Celsius>,
) -> Result<Worked, NoAnswer> {
    let mut working = Working {
        instruments: instruments.clone(),
        temperature,
        steps: Vec::new(),
    };
    let answer = match question {
        Question::Drop(dropped, across) => working.drop(dropped, across),
        Question::Clamp(reading, turns, scale) => working.clamp(reading, turns, scale),
        Question::Series(reading, jack) => working.series(reading, jack),
        Question::Expect(current, across) => working.expect(current, across),
        Question::Resistance(asked) => working.measured(asked),
        Question::HowToMeasure => {
            working.steps.extend((0..HOW_STEPS).map(Step::How));
            Ok(Answer::How)
        }
    }?;
    let steps = working.steps;
    Ok(Worked { answer, steps })
}

/// The middle of what a display shows; `None` where it shows that its range is exceeded.
fn middle(reading: Reading) -> Option<f64> {
    (!reading.over).then_some(f64::midpoint(reading.low, reading.high))
}

struct Working {
    instruments: Instruments,
    temperature: Option<Celsius>,
    steps: Vec<Step>,
}

impl Working {
    fn shown(&mut self, reading: Reading) {
        self.steps.push(Step::Shown(reading));
        if reading.low < 0.0 {
            self.steps.push(Step::Negative);
        }
    }

    /// The voltage that was read across something, with the steps that tell of it.
    fn voltage(&mut self, dropped: Dropped) -> Result<Interval<Millivolts>, NoAnswer> {
        let missing = NoAnswer::NotAtHand(Used::Millivolts);
        let range = self.instruments.meter.and_then(|meter| meter.millivolts);
        let range = range.ok_or(missing.clone())?;
        let reading = dropped.reading(&self.instruments);
        match dropped.turned {
            None => self.shown(reading),
            Some(turned) => {
                self.steps.push(Step::Shown(dropped.shown));
                self.steps.push(Step::Turned(turned));
                if !reading.over {
                    let half = dropped.shown.half_difference(turned);
                    let offset = dropped.shown.offset(turned);
                    self.steps.push(Step::Half {
                        half: Interval::between(half.low, half.high),
                        offset: Millivolts::of(offset),
                        large: offset.abs() > measurement::LARGE_OFFSET,
                    });
                }
                if reading.low < 0.0 {
                    self.steps.push(Step::Negative);
                }
            }
        }
        self.accuracy(Used::Millivolts, &range, reading.step);
        let voltage = measurement::voltage(reading, &self.instruments).ok_or(missing)?;
        self.steps.push(Step::Voltage(voltage));
        Ok(voltage)
    }

    fn accuracy<Q: Quantity>(&mut self, used: Used, range: &Range<Q>, typed: f64) {
        self.steps.push(Step::Accuracy {
            used,
            percent: range.percent,
            counts: range.counts.max(0.5),
            step: range.step.value().max(typed),
            floor: range.accuracy(typed).floor,
            unit: if used == Used::Millivolts {
                Unit::Millivolts
            } else {
                Unit::Milliamps
            },
            assumed: self.instruments.assumed,
        });
    }

    /// The resistance, with the steps that tell of it.
    fn resistance(&mut self, across: Across) -> Result<Figure, NoAnswer> {
        let cold = across.figure().ok_or(match across {
            Across::Fuse(style, rating) if reference::ratings(style).is_some() => {
                NoAnswer::Rating(style, rating)
            }
            Across::Fuse(style, _) => NoAnswer::Style(style),
            // A wire or a resistance that was parsed has a figure.
            _ => NoAnswer::Style(FuseStyle::Other),
        })?;
        self.steps.push(Step::Resistance(across, cold.clone()));
        let Some(temperature) = self.temperature else {
            return Ok(cold);
        };
        let warm = cold.at(temperature);
        self.steps
            .push(Step::Temperature(temperature, warm.clone()));
        Ok(warm)
    }

    fn drop(&mut self, dropped: Dropped, across: Across) -> Result<Answer, NoAnswer> {
        let voltage = self.voltage(dropped)?;
        let reading = dropped.reading(&self.instruments);
        let resistance = Resistance::from(self.resistance(across)?);
        let current = measurement::current_by_drop(&resistance, reading, &self.instruments);
        let current = current.ok_or(NoAnswer::NotAtHand(Used::Millivolts))?;
        self.steps.push(Step::Quotient {
            voltage,
            band: resistance.band,
            current,
        });
        if let Across::Fuse(_, rating) = across
            && current.low() > resistance::WARM_FROM * rating.value()
            && current.low() <= rating.value()
        {
            self.steps.push(resistance::if_warm(current, rating));
        }
        if let Across::Fuse(_, rating) = across
            && current.low() > rating.value()
        {
            self.steps.push(Step::AboveRating(rating));
        } else if reading.low == 0.0 && reading.high == 0.0 && !reading.over {
            self.steps.push(Step::Hides(Milliamps::of(current.high())));
        } else {
            let usual = measurement::uncertainty(&resistance, reading, &self.instruments);
            // Near zero the squares add up to more than the ends allow: then the ends say it all.
            let nearer = |usual: &Uncertainty| usual.expanded.value() < current.width() / 2.0;
            self.steps.extend(usual.filter(nearer).map(Step::Usual));
        }
        let best = dropped.best();
        let best = best.map(|volts| Millivolts::of(volts) / resistance.nominal);
        Ok(Answer::Current(Bounds {
            range: current,
            best,
        }))
    }

    fn more(&mut self, clamp: &Clamp, typed: f64) {
        if clamp.has_more() {
            let all = clamp.own_accuracy(typed);
            self.steps.push(Step::More {
                clamp: *clamp,
                percent: all.share * 100.0,
                floor: all.floor,
            });
        }
    }

    /// The clamp that is used: the one at hand with the scale that was typed, or a typical one where
    /// the instruments are assumed.
    fn clamp_used(
        &self,
        reading: Reading,
        turns: u32,
        scale: Option<Scale>,
    ) -> Result<Clamp, NoAnswer> {
        let clamp = match (self.instruments.clamp, scale) {
            (Some(clamp), Some(_)) => Some(Clamp { scale, ..clamp }),
            (Some(clamp), None) => Some(clamp),
            (None, Some(scale)) if self.instruments.assumed => {
                Clamp::typical_on(self.instruments.meter.as_ref(), scale)
            }
            (None, None) if self.instruments.assumed => Some(Clamp::typical()),
            (None, _) => None,
        };
        let clamp = clamp.ok_or(NoAnswer::NotAtHand(Used::Clamp))?;
        if reading.unit == Unit::Millivolts && clamp.scale.is_none() {
            return Err(NoAnswer::NoScale(reading, turns));
        }
        Ok(clamp)
    }

    fn clamp(
        &mut self,
        reading: Reading,
        turns: u32,
        scale: Option<Scale>,
    ) -> Result<Answer, NoAnswer> {
        let clamp = self.clamp_used(reading, turns, scale)?;
        self.instruments.clamp = Some(clamp);
        self.shown(reading);
        let mut means = 1.0;
        if let Some(scale) = clamp.scale {
            let display = self.instruments.meter.and_then(|meter| meter.millivolts);
            let display = display.ok_or(NoAnswer::NotAtHand(Used::Millivolts))?;
            let per_millivolt = scale.1.value() / scale.0.value();
            let mut typed = reading.step / per_millivolt;
            if reading.unit == Unit::Millivolts {
                means = per_millivolt;
                typed = reading.step;
                self.steps.push(Step::Scaled {
                    scale,
                    means: Interval::between(reading.low, reading.high).times(means),
                });
            }
            self.accuracy(Used::Clamp, &clamp.range, 0.0);
            self.more(&clamp, 0.0);
            self.accuracy(Used::Millivolts, &display, typed);
        } else {
            self.accuracy(Used::Clamp, &clamp.range, reading.step);
            self.more(&clamp, reading.step);
        }
        let way = |turns| Way::Clamp { turns };
        let missing = NoAnswer::NotAtHand(Used::Clamp);
        let through = measurement::current_by(way(1), reading, &self.instruments);
        self.steps.push(Step::Jaws(
            through.ok_or(missing.clone())?,
            clamp.scale.is_some(),
        ));
        if turns > 1 {
            self.steps.push(Step::Turns(turns));
        }
        let range = measurement::current_by(way(turns), reading, &self.instruments);
        let best = middle(reading).map(|shown| Milliamps::of(shown * means / f64::from(turns)));
        Ok(Answer::Current(Bounds {
            range: range.ok_or(missing)?,
            best,
        }))
    }

    fn series(&mut self, reading: Reading, jack: Jack) -> Result<Answer, NoAnswer> {
        let used = if jack == Jack::MilliA {
            Used::Milliamps
        } else {
            Used::Amps
        };
        let missing = NoAnswer::NotAtHand(used);
        let range = measurement::range_of(jack, &self.instruments);
        let range = range.ok_or(missing.clone())?;
        if let Some(most) = range.most.filter(|most| reading.high > most.value()) {
            return Err(NoAnswer::TooMuch(reading, jack, most));
        }
        self.shown(reading);
        self.accuracy(used, &range, reading.step);
        let current = measurement::current_by(Way::Series(jack), reading, &self.instruments);
        let current = current.ok_or(missing)?;
        self.steps.push(Step::Meter(current));
        let best = middle(reading).map(Milliamps::of);
        if let (Some(burden), Some(best)) = (range.burden, best.filter(|best| best.value() > 0.0)) {
            self.steps.push(Step::Burden {
                burden,
                drop: best * burden,
                without: measurement::without_burden(best, SUPPLY, burden),
            });
        }
        self.steps.push(Step::InLine);
        Ok(Answer::Current(Bounds {
            range: current,
            best,
        }))
    }

    fn expect(&mut self, asked: Reading, across: Across) -> Result<Answer, NoAnswer> {
        let missing = NoAnswer::NotAtHand(Used::Millivolts);
        let range = self.instruments.meter.and_then(|meter| meter.millivolts);
        let range = range.ok_or(missing.clone())?;
        let current = Interval::between(asked.low, asked.high).cut_at_zero();
        self.steps.push(Step::Asked(current));
        let resistance = Resistance::from(self.resistance(across)?);
        let band = resistance.band;
        self.steps.push(Step::Product {
            current,
            band,
            drop: Interval::between(
                current.low() * band.low() / 1000.0,
                current.high() * band.high() / 1000.0,
            ),
        });
        self.accuracy(Used::Millivolts, &range, 0.0);
        let shown = measurement::drop_shown(&resistance, current, &self.instruments);
        let shown = shown.ok_or(missing)?;
        self.steps.push(Step::Display(shown));
        let best = Milliamps::of(f64::midpoint(current.low(), current.high()));
        Ok(Answer::Voltage(Bounds {
            range: shown,
            best: Some(best * resistance.nominal),
        }))
    }
}
