//! What stands behind the point: the reading and its options ↔ text.

use crate::journal::line::free;
use crate::journal::reading::{Shown, reading, small_unit};
use crate::journal::{By, Options, Wrong, word, write_reading};
use crate::measurement::{Jack, Method, Reading, Unit};

/// A fault of what stands behind the point, and what would work there, with the method it is for.
pub(super) struct Instead {
    pub(super) wrong: Wrong,
    pub(super) method: Method,
    pub(super) text: String,
}

/// The unit a method is read in.
pub(super) const fn unit_of(method: Method) -> Unit {
    match method {
        Method::Drop | Method::Volts | Method::Zero => Unit::Millivolts,
        _ => Unit::Milliamps,
    }
}

/// The readings of the examples.
pub(super) const SAMPLES: [&str; 4] = ["2.1mV", "12.4V", "0.2mV", "0.64A"];

/// A reading of the method, as an example.
pub(super) const fn sample(method: Method) -> &'static str {
    match method {
        Method::Drop => SAMPLES[0],
        Method::Volts => SAMPLES[1],
        Method::Zero => SAMPLES[2],
        Method::Look => "yes",
        _ => SAMPLES[3],
    }
}

/// The reading with its options, which may also stand before it, and nothing else.
pub(super) fn behind_point(
    method: Method,
    text: &str,
    clamp_in_millivolts: bool,
) -> Result<(Reading, Options), Instead> {
    let wanted = unit_of(method);
    let instead = |wrong, text| Instead {
        wrong,
        method,
        text,
    };
    let example = |wrong| instead(wrong, sample(method).to_owned());
    let mut given = Given::default();
    let text = given.take(text).map_err(example)?;
    let shown = reading(text, wanted).map_err(|wrong| {
        let mended = mended(method, &wrong);
        instead(wrong, mended)
    })?;
    let Shown {
        reading,
        plain_zero,
        rest,
    } = shown;
    let behind_reading = rest;
    let by_clamp = method == Method::Clamp || method == Method::Draw;
    if reading.unit != wanted && !(by_clamp && clamp_in_millivolts) {
        return Err(of_other_unit(method, &reading));
    }
    let rest = given.take(rest);
    let kept = || format!("{}{}", write_reading(&reading), written(&given.options));
    let rest = rest.map_err(|wrong| match &wrong {
        // Only the sign is another one: the option stays.
        Wrong::LooksAlike { typed, meant, .. } => {
            let behind = behind_reading.replacen(typed.as_str(), meant, 1);
            let text = format!("{} {}", write_reading(&reading), free(&behind));
            instead(wrong, text)
        }
        _ => instead(wrong, kept()),
    })?;
    if !rest.is_empty() {
        let typed = free(option_word(rest).0);
        return Err(instead(Wrong::BadOption { typed }, kept()));
    }
    // A clamp's display shows whole milliamps: its zero has no decimals to write down.
    let clamped = method == Method::Clamp || given.options.by == Some(By::Clamp);
    let whole = clamped && reading.unit == Unit::Milliamps;
    if ((plain_zero && !whole) || given.plain_zero) && !given.options.sure {
        let unit = small_unit(reading.unit);
        let text = if plain_zero {
            zero_with_decimals(method, &reading)
        } else {
            format!("{} sure", kept())
        };
        return Err(instead(Wrong::ZeroWithoutDecimals { unit }, text));
    }
    let options = given.options.that_go_with(method);
    let options = options.map_err(|(wrong, kept)| {
        let text = format!("{}{}", write_reading(&reading), written(&kept));
        instead(wrong, text)
    })?;
    if reading.unit != wanted && options.by == Some(By::Series) {
        return Err(of_other_unit(method, &reading));
    }
    Ok((reading, options))
}

/// The test that is read in that unit.
fn of_other_unit(method: Method, reading: &Reading) -> Instead {
    let other = match reading.unit {
        Unit::Milliamps => Method::Clamp,
        Unit::Millivolts if reading.high.abs() >= 500.0 => Method::Volts,
        Unit::Millivolts => Method::Drop,
    };
    Instead {
        wrong: Wrong::WrongUnit {
            word: word(method),
            unit: small_unit(unit_of(method)),
            typed: small_unit(reading.unit),
        },
        method: other,
        text: write_reading(reading),
    }
}

/// The text that mends a fault of the reading, keeping the number typed where it can be kept.
pub(super) fn mended(method: Method, wrong: &Wrong) -> String {
    let decimals = |number: &str| number.rsplit_once('.').map_or(0, |(_, d)| d.len());
    let small = small_unit(unit_of(method));
    match wrong {
        Wrong::NoUnit { number, .. } | Wrong::UnitUnknown { number, .. } => {
            let value: f64 = number.parse().unwrap_or(0.0);
            let unit = match method {
                // A battery's voltage typed as `12.4` is no millivolts, and `0.61` is what a
                // display shows in amps.
                Method::Volts if value.abs() < 100.0 => "V",
                Method::Clamp | Method::Series | Method::Draw if decimals(number) > 1 => "A",
                _ => small,
            };
            if value == 0.0 && decimals(number) == 0 {
                return sample(method).to_owned();
            }
            format!("{number}{unit}")
        }
        Wrong::ZeroWithoutUnit { number, .. } => match (method, decimals(number)) {
            (Method::Volts, 0) => "0.0V".to_owned(),
            (Method::Volts, _) => format!("{number}V"),
            (Method::Drop | Method::Zero, 0) => "0.0mV".to_owned(),
            (Method::Drop | Method::Zero, _) => format!("{number}mV"),
            (_, 0) => "0mA sure".to_owned(),
            (_, 1) => format!("{number}mA"),
            _ => format!("{number}A"),
        },
        Wrong::CommaUnclear { number, unit } => format!("{}{unit}", number.replace('.', "")),
        Wrong::LooksAlike { meant, .. } => match reading(meant, unit_of(method)) {
            Ok(_) => meant.clone(),
            Err(wrong) => mended(method, &wrong),
        },
        _ => sample(method).to_owned(),
    }
}

/// A zero as the usual display of that test shows it.
pub(super) fn zero_with_decimals(method: Method, reading: &Reading) -> String {
    let large = reading.step >= 1000.0;
    match (method, reading.unit, large) {
        (Method::Volts, Unit::Millivolts, _) | (_, Unit::Millivolts, true) => "0.0V".to_owned(),
        (_, Unit::Millivolts, false) => "0.0mV".to_owned(),
        (_, Unit::Milliamps, true) => "0.00A".to_owned(),
        // Many a clamp shows whole milliamps.
        (_, Unit::Milliamps, false) => "0mA sure".to_owned(),
    }
}

/// The options in their canonical words and order, each with a blank before it.
pub(super) fn written(options: &Options) -> String {
    let by = options.by.map(|by| match by {
        By::Clamp => " by clamp".to_owned(),
        By::Series => " by series".to_owned(),
    });
    let turns = options.turns.map(|turns| format!(" turns {turns}"));
    let jack = options.jack.map(|jack| match jack {
        Jack::MilliA => " jack mA".to_owned(),
        Jack::A => " jack A".to_owned(),
        Jack::V => " jack V".to_owned(),
    });
    let with = options.with;
    let with = with.map(|total| format!(" with {}", write_reading(&total)));
    let at = options.at;
    let at = at.map(|at| format!(" at {}", clock(at)));
    let reversed = options.reversed;
    let reversed = reversed.map(|other| format!(" reversed {}", write_reading(&other)));
    let sure = options.sure.then(|| " sure".to_owned());
    [reversed, by, turns, jack, with, at, sure]
        .into_iter()
        .flatten()
        .collect()
}

/// Whether an option starts with this word.
pub(super) fn is_option(word: &str) -> bool {
    ["by", "turns", "jack", "with", "at", "reversed", "sure"]
        .contains(&word.to_lowercase().as_str())
}

/// The options met so far.
#[derive(Default)]
struct Given {
    options: Options,
    /// A reading behind `with` or `reversed` was a zero without decimals.
    plain_zero: bool,
}

impl Given {
    /// Takes the options at the start and returns what is behind them.
    fn take<'a>(&mut self, text: &'a str) -> Result<&'a str, Wrong> {
        let mut rest = past_commas(text);
        loop {
            let (option, behind) = option_word(rest);
            let (value, behind_value) = option_word(behind);
            let value = value.to_lowercase();
            let options = &mut self.options;
            rest = match option.to_lowercase().as_str() {
                "sure" => {
                    once("sure", std::mem::replace(&mut options.sure, true))?;
                    behind
                }
                "by" => {
                    let way = match value.as_str() {
                        "clamp" => By::Clamp,
                        "series" => By::Series,
                        _ => return Err(wants("by")),
                    };
                    once("by", options.by.replace(way).is_some())?;
                    behind_value
                }
                "turns" => {
                    let number = value.parse().ok().filter(|n| (1..=1000).contains(n));
                    let turns = number.ok_or(wants("turns"))?;
                    once("turns", options.turns.replace(turns).is_some())?;
                    behind_value
                }
                "jack" => {
                    let jack = match value.as_str() {
                        "ma" => Jack::MilliA,
                        "a" | "10a" => Jack::A,
                        "v" => Jack::V,
                        _ => {
                            return Err(wants("jack"));
                        }
                    };
                    once("jack", options.jack.replace(jack).is_some())?;
                    behind_value
                }
                "with" => {
                    let shown = reading(behind, Unit::Milliamps);
                    let shown = shown.map_err(|wrong| slip_or(wrong, "with"))?;
                    if shown.reading.unit != Unit::Milliamps {
                        return Err(wants("with"));
                    }
                    once("with", options.with.replace(shown.reading).is_some())?;
                    self.plain_zero |= shown.plain_zero;
                    past_commas(shown.rest)
                }
                "reversed" => {
                    let shown = reading(behind, Unit::Millivolts);
                    let shown = shown.map_err(|wrong| slip_or(wrong, "reversed"))?;
                    if shown.reading.unit != Unit::Millivolts {
                        return Err(wants("reversed"));
                    }
                    once(
                        "reversed",
                        options.reversed.replace(shown.reading).is_some(),
                    )?;
                    self.plain_zero |= shown.plain_zero;
                    past_commas(shown.rest)
                }
                "at" => {
                    let time = time(&value).ok_or(wants("at"))?;
                    once("at", options.at.replace(time).is_some())?;
                    behind_value
                }
                _ => return Ok(rest),
            };
        }
    }
}

impl Options {
    /// The options, if all of them go with a reading of that kind; else what does not, and the
    /// others. `by clamp` behind `clamp` says nothing new and is left out.
    pub(super) fn that_go_with(mut self, method: Method) -> Result<Self, (Wrong, Box<Self>)> {
        let draw = method == Method::Draw;
        let way = match method {
            Method::Clamp => Some(By::Clamp),
            Method::Series => Some(By::Series),
            _ => self.by.filter(|_| draw),
        };
        // Of a draw that does not say how it was taken, the options may tell.
        let may_be = |by| way == Some(by) || (draw && way.is_none());
        let jack_fits = match self.jack {
            None => true,
            Some(Jack::V) => way != Some(By::Series),
            Some(Jack::A | Jack::MilliA) => may_be(By::Series) && self.turns.is_none(),
        };
        let option = if self.by != way && self.by.is_some() {
            self.by = None;
            "by"
        } else if self.turns.is_some() && !may_be(By::Clamp) {
            self.turns = None;
            "turns"
        } else if self.reversed.is_some() && method != Method::Drop {
            self.reversed = None;
            "reversed"
        } else if self.with.is_some() && draw {
            self.with = None;
            "with"
        } else if !jack_fits {
            self.jack = None;
            "jack"
        } else {
            self.by = self.by.filter(|_| draw);
            return Ok(self);
        };
        let word = word(method);
        Err((Wrong::OptionElsewhere { option, word }, Box::new(self)))
    }
}

/// A sign that looks like another one, or else what an option wants.
fn slip_or(wrong: Wrong, option: &'static str) -> Wrong {
    match wrong {
        Wrong::LooksAlike { .. } => wrong,
        _ => wants(option),
    }
}

const fn wants(word: &'static str) -> Wrong {
    Wrong::OptionWants { word }
}

fn once(word: &'static str, before: bool) -> Result<(), Wrong> {
    if before {
        return Err(Wrong::OptionTwice { word });
    }
    Ok(())
}

fn past_commas(text: &str) -> &str {
    text.trim_start_matches(|c: char| c.is_whitespace() || c == ',')
}

/// The first word, which a comma may end, and the rest without what parts them.
fn option_word(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| c.is_whitespace() || c == ',')
        .unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    (word, past_commas(rest))
}

/// Minutes after midnight as `14:32`.
pub(super) fn clock(minutes: u16) -> String {
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// `14:32` as minutes after midnight.
pub(super) fn time(text: &str) -> Option<u16> {
    let (hours, minutes) = text.split_once([':', '.'])?;
    let digits = |s: &str| s.len() <= 2 && s.chars().all(|c| c.is_ascii_digit());
    if !digits(hours) || !digits(minutes) || minutes.len() != 2 {
        return None;
    }
    let (hours, minutes): (u16, u16) = (hours.parse().ok()?, minutes.parse().ok()?);
    (hours < 24 && minutes < 60).then_some(hours * 60 + minutes)
}
