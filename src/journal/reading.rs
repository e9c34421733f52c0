//! Numbers as read off a display ↔ text.

use crate::journal::Wrong;
use crate::measurement::{Reading, Unit};

/// A number with the decimals it was typed with.
#[derive(Clone, Copy)]
struct Typed<'a> {
    negative: bool,
    whole: &'a str,
    decimals: &'a str,
}

impl Typed<'_> {
    /// The number times ten to the `shift`, correctly rounded: the shift happens in the text.
    fn shifted(self, shift: i32) -> Option<f64> {
        let sign = if self.negative { "-" } else { "" };
        let exponent = shift - i32::try_from(self.decimals.len()).ok()?;
        format!("{sign}{}{}e{exponent}", self.whole, self.decimals)
            .parse::<f64>()
            .ok()
            .filter(|v| v.abs() < 1e9)
    }

    /// One step of the last digit times ten to the `shift`.
    fn step(self, shift: i32) -> Option<f64> {
        let exponent = shift - i32::try_from(self.decimals.len()).ok()?;
        format!("1e{exponent}").parse().ok()
    }

    fn is_zero(self) -> bool {
        self.whole
            .chars()
            .chain(self.decimals.chars())
            .all(|c| c == '0')
    }

    fn text(self) -> String {
        let sign = if self.negative { "-" } else { "" };
        if self.decimals.is_empty() {
            format!("{sign}{}", self.whole)
        } else {
            format!("{sign}{}.{}", self.whole, self.decimals)
        }
    }
}

/// A number at the start, with the rest of the text.
fn number(text: &str) -> Option<(Typed<'_>, &str)> {
    let (negative, rest) = match text.chars().next()? {
        '-' | '−' | '–' => (true, &text[text.chars().next()?.len_utf8()..]),
        '+' => (false, &text[1..]),
        _ => (false, text),
    };
    let rest = rest.trim_start();
    let whole_end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let (whole, mut rest) = rest.split_at(whole_end);
    let mut decimals = "";
    if let Some(behind) = rest.strip_prefix(['.', ',']) {
        let end = behind
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(behind.len());
        if end > 0 {
            decimals = &behind[..end];
            rest = &behind[end..];
        }
    }
    if whole.is_empty() && decimals.is_empty() || decimals.len() > 12 {
        return None;
    }
    let whole = if whole.is_empty() { "0" } else { whole };
    Some((
        Typed {
            negative,
            whole,
            decimals,
        },
        rest,
    ))
}

/// A unit at the start: which, its power of ten against the small unit, and the rest.
fn unit(text: &str) -> Option<(Unit, i32, &str)> {
    let text = text.trim_start();
    let end = text
        .find(|c: char| !c.is_alphabetic())
        .unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    // A current in mega-amps makes no sense, so `MA` can only be milliamps.
    let (unit, shift) = match word.to_lowercase().as_str() {
        "ma" | "milliamp" | "milliamps" => (Unit::Milliamps, 0),
        "a" | "amp" | "amps" => (Unit::Milliamps, 3),
        "ua" | "µa" | "μa" => (Unit::Milliamps, -3),
        "mv" | "millivolt" | "millivolts" => (Unit::Millivolts, 0),
        "v" | "volt" | "volts" => (Unit::Millivolts, 3),
        "uv" | "µv" | "μv" => (Unit::Millivolts, -3),
        _ => return None,
    };
    Some((unit, shift, rest))
}

fn first_word(text: &str) -> &str {
    text.split_whitespace().next().unwrap_or("")
}

fn range_mark(text: &str) -> Option<&str> {
    let text = text.trim_start();
    for mark in ["...", "..", "…", "to ", "-", "–"] {
        if let Some(rest) = text.strip_prefix(mark) {
            return Some(rest.trim_start());
        }
    }
    None
}

/// What a reading may be: the unit wanted, for the lines shown when it is not given.
#[allow(clippy::too_many_lines)] // one grammar, read from left to right
pub(super) fn reading(text: &str, wanted: Unit) -> Result<(Reading, &str), Wrong> {
    let text = text.trim_start();
    let small = small_unit(wanted);
    if text.is_empty() {
        return Err(Wrong::NoReading { unit: small });
    }
    let lower = first_word(text).to_lowercase();
    for over in ["ol", "o.l", "o.l."] {
        if lower == over
            || lower
                .strip_prefix(over)
                .is_some_and(|u| unit(u).is_some_and(|u| u.2.is_empty()))
        {
            let rest = &text[over.len()..];
            let (unit, rest) = match unit(rest) {
                Some((unit, _, rest)) => (unit, rest),
                None => (wanted, rest),
            };
            return Ok((
                Reading {
                    low: 0.0,
                    high: 0.0,
                    unit,
                    step: 0.0,
                    over: true,
                },
                rest,
            ));
        }
    }
    let (over, text) = match text.strip_prefix('>') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text),
    };
    let Some((first, rest)) = number(text) else {
        return Err(Wrong::NotAReading {
            typed: first_word(text).to_owned(),
            unit: small,
        });
    };
    let first_unit = unit(rest);
    let behind = first_unit.map_or(rest, |(_, _, rest)| rest);
    let second = if over {
        None
    } else {
        range_mark(behind).and_then(number)
    };
    let (last_unit, rest) = match second {
        Some((_, rest)) => (unit(rest), rest),
        None => (first_unit, rest),
    };
    let Some((kind, shift, rest)) = last_unit else {
        let typed = match second {
            Some((high, _)) => format!("{}..{}", first.text(), high.text()),
            None => first.text(),
        };
        let other = first_word(rest);
        let stuck = rest.starts_with(char::is_alphabetic) && !other.is_empty();
        return Err(if stuck {
            Wrong::UnitUnknown {
                number: typed,
                typed: other.to_owned(),
                unit: small,
            }
        } else if second.is_none() && first.is_zero() {
            Wrong::ZeroWithoutUnit { unit: small }
        } else {
            Wrong::NoUnit {
                number: typed,
                unit: small,
            }
        });
    };
    if !(rest.is_empty() || rest.starts_with(char::is_whitespace)) {
        return Err(Wrong::NotAReading {
            typed: first_word(text).to_owned(),
            unit: small,
        });
    }
    let large = || Wrong::TooLarge {
        typed: first.text(),
        unit: small,
    };
    let first_shift = match first_unit {
        Some((other, _, _)) if other != kind => {
            return Err(Wrong::TwoUnits {
                unit: small_unit(kind),
            });
        }
        Some((_, shift, _)) => shift,
        None => shift,
    };
    let low = first.shifted(first_shift).ok_or_else(large)?;
    let mut step = first.step(first_shift).ok_or_else(large)?;
    let high = match second {
        None => low,
        Some((second, _)) => {
            // A trailing zero is easily left out, so the finer of the two is the display's step.
            step = step.min(second.step(shift).ok_or_else(large)?);
            second.shifted(shift).ok_or_else(large)?
        }
    };
    let reading = Reading {
        low: low.min(high),
        high: low.max(high),
        unit: kind,
        step,
        over,
    };
    if second.is_none() && !over && first.is_zero() && first.decimals.is_empty() {
        let sure = rest
            .split_whitespace()
            .any(|w| w.eq_ignore_ascii_case("sure"));
        if !sure {
            return Err(Wrong::ZeroWithoutDecimals {
                unit: small_unit(kind),
            });
        }
    }
    Ok((reading, rest))
}

/// A quantity in any of the units of a reading, with nothing behind it: for the command line, where
/// `12.5mV` or `40 mA` stands alone. `wanted` is the unit shown when none was typed.
pub fn read_quantity(text: &str, wanted: Unit) -> Result<Reading, Wrong> {
    let (reading, rest) = reading(text, wanted)?;
    if rest.trim().is_empty() {
        Ok(reading)
    } else {
        Err(Wrong::Trailing {
            typed: rest.trim().to_owned(),
        })
    }
}

pub(super) const fn small_unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Milliamps => "mA",
        Unit::Millivolts => "mV",
    }
}

/// The reading with exactly the decimals of its step: text that reads back as the same reading.
pub fn write_reading(reading: &Reading) -> String {
    let small = small_unit(reading.unit);
    if reading.over && reading.step <= 0.0 {
        return format!("OL {small}");
    }
    // Steps are powers of ten; a coarse one can only be shown in the large unit, and a plain zero
    // needs decimals.
    let power = reading.step.max(1e-9).log10().round() as i32;
    let zero = reading.low == 0.0 && reading.high == 0.0 && !reading.over;
    let (shift, unit) = if power > 0 || (zero && power == 0) {
        (
            3,
            match reading.unit {
                Unit::Milliamps => "A",
                Unit::Millivolts => "V",
            },
        )
    } else {
        (0, small)
    };
    let decimals = usize::try_from(shift - power).unwrap_or(0);
    let scale = f64::powi(10.0, shift);
    let show = |value: f64| format!("{:.decimals$}", value / scale);
    if reading.over {
        format!(">{}{unit}", show(reading.low))
    } else if reading.low < reading.high {
        format!("{}..{}{unit}", show(reading.low), show(reading.high))
    } else {
        format!("{}{unit}", show(reading.low))
    }
}
