//! Numbers as read off a display ↔ text.

use crate::journal::Wrong;
use crate::measurement::{Reading, Unit};

/// The smallest step a reading may have, in the small unit: finer than any display, coarse enough
/// that every reading survives being written and read back.
const FINEST: f64 = 1e-9;

/// What no reading reaches, in the small unit.
const MOST: f64 = 1e9;

/// A number with the decimals it was typed with.
#[derive(Clone, Copy)]
struct Typed<'a> {
    negative: bool,
    whole: &'a str,
    decimals: &'a str,
    /// The decimals stood behind a comma.
    comma: bool,
}

impl Typed<'_> {
    /// The number times ten to the `shift`, correctly rounded: the shift happens in the text.
    fn shifted(self, shift: i32) -> Option<f64> {
        let sign = if self.negative { "-" } else { "" };
        let exponent = shift - i32::try_from(self.decimals.len()).ok()?;
        let text = format!("{sign}{}{}e{exponent}", self.whole, self.decimals);
        let value: f64 = text.parse().ok()?;
        // A display may show -0.0; that is no other zero.
        (value.abs() < MOST).then_some(value + 0.0)
    }

    /// One step of the last digit times ten to the `shift`.
    fn step(self, shift: i32) -> Option<f64> {
        let exponent = shift - i32::try_from(self.decimals.len()).ok()?;
        let step: f64 = format!("1e{exponent}").parse().ok()?;
        (step >= FINEST).then_some(step)
    }

    fn text(self) -> String {
        let sign = if self.negative { "-" } else { "" };
        let point = if self.decimals.is_empty() { "" } else { "." };
        format!("{sign}{}{point}{}", self.whole, self.decimals)
    }

    /// `1,200` in a small unit: 1.2 to some, 1200 to others.
    fn may_be_thousands(self) -> bool {
        let whole = self.whole.len() <= 3 && !self.whole.starts_with('0');
        self.comma && self.decimals.len() == 3 && whole
    }
}

/// A number at the start, with the rest of the text.
fn number(text: &str) -> Option<(Typed<'_>, &str)> {
    let digits = |text: &str| {
        text.find(|c: char| !c.is_ascii_digit())
            .unwrap_or(text.len())
    };
    let unsigned = text.trim_start_matches('+');
    let positive = unsigned.trim_start_matches(['-', '−', '–']);
    let negative = positive.len() < unsigned.len();
    let rest = positive.trim_start();
    let (whole, rest) = rest.split_at(digits(rest));
    let comma = rest.starts_with(',');
    let (decimals, rest) = match rest.strip_prefix(['.', ',']) {
        Some(behind) if digits(behind) > 0 => behind.split_at(digits(behind)),
        _ => ("", rest),
    };
    if whole.is_empty() && decimals.is_empty() {
        return None;
    }
    let typed = Typed {
        negative,
        whole: if whole.is_empty() { "0" } else { whole },
        decimals,
        comma,
    };
    Some((typed, rest))
}

/// A unit at the start: which, its power of ten against the small unit, and the rest.
fn unit(text: &str) -> Option<(Unit, i32, &str)> {
    let (word, rest) = letters(text);
    // A current in mega-amps makes no sense, so `MA` can only be milliamps.
    let (unit, shift) = match word.to_lowercase().as_str() {
        "ma" | "milliamp" | "milliamps" => (Unit::Milliamps, 0),
        "a" | "amp" | "amps" => (Unit::Milliamps, 3),
        "ua" | "µa" | "μa" | "microamp" | "microamps" => (Unit::Milliamps, -3),
        "mv" | "millivolt" | "millivolts" => (Unit::Millivolts, 0),
        "v" | "volt" | "volts" => (Unit::Millivolts, 3),
        "uv" | "µv" | "μv" | "microvolt" | "microvolts" => (Unit::Millivolts, -3),
        _ => return None,
    };
    Some((unit, shift, rest))
}

/// The letters behind white space at the start, and the rest.
fn letters(text: &str) -> (&str, &str) {
    let text = text.trim_start();
    text.split_at(
        text.find(|c: char| !c.is_alphabetic())
            .unwrap_or(text.len()),
    )
}

fn first_word(text: &str) -> &str {
    text.split_whitespace().next().unwrap_or("")
}

/// What is behind a mark between the ends of a range.
fn past_range_mark(text: &str) -> Option<&str> {
    let text = text.trim_start();
    let marks = ["...", "..", "…", "to ", "-", "–", "−"];
    marks.iter().find_map(|mark| text.strip_prefix(mark))
}

/// Whether nothing, or nothing of the same word, follows.
fn ends_word(text: &str) -> bool {
    text.is_empty() || text.starts_with(|c: char| c.is_whitespace() || c == ',')
}

/// `OL` as the display shows it, also with the zero that seven segments make of the O.
fn overload(text: &str, wanted: Unit) -> Option<(Reading, &str)> {
    let forms = ["O.L.", "O.L", "OL", "0.L", "0L"];
    let rest = forms.iter().find_map(|form| {
        let (start, rest) = text.split_at_checked(form.len())?;
        start.eq_ignore_ascii_case(form).then_some(rest)
    })?;
    let (unit, rest) = match unit(rest) {
        Some((unit, _, rest)) => (unit, rest),
        None => (wanted, rest),
    };
    let reading = Reading {
        low: 0.0,
        high: 0.0,
        unit,
        step: 0.0,
        over: true,
    };
    ends_word(rest).then_some((reading, rest))
}

/// A reading at the start of a text.
pub(super) struct Shown<'a> {
    pub(super) reading: Reading,
    /// A zero without decimals, which says nothing of what the meter could have seen.
    pub(super) plain_zero: bool,
    pub(super) rest: &'a str,
}

/// The reading at the start. `wanted` is the unit to name where none was typed.
pub(super) fn reading(text: &str, wanted: Unit) -> Result<Shown<'_>, Wrong> {
    if let Some(slip) = two_points(text) {
        return Err(slip);
    }
    as_it_stands(text, wanted).map_err(|wrong| match wrong {
        Wrong::NotAReading { .. } | Wrong::UnitUnknown { .. } => looks_alike(text).unwrap_or(wrong),
        wrong => wrong,
    })
}

/// `0..66A`, with two points typed for one: a display that wanders shows amps and volts with decimals. What is
/// meant so all the same is written with `to`.
fn two_points(text: &str) -> Option<Wrong> {
    let typed = first_word(text).trim_end_matches(',');
    let behind = typed.strip_prefix("0..")?;
    let digits = behind.trim_end_matches(|c: char| c.is_alphabetic());
    let unit = &behind[digits.len()..];
    let large = unit.eq_ignore_ascii_case("A") || unit.eq_ignore_ascii_case("V");
    let slip = large && digits.len() > 1 && digits.chars().all(|c| c.is_ascii_digit());
    slip.then(|| Wrong::LooksAlike {
        typed: typed.to_owned(),
        meant: format!("0.{behind}"),
        sign: '.',
    })
}

/// What is meant by a first word that is a reading but for signs that look like those of a number:
///
/// | typed | meant |
/// | --- | --- |
/// | the letter O | 0 |
/// | the letter l or I, an upright stroke | 1 |
/// | a colon | a point |
pub(super) fn looks_alike(text: &str) -> Option<Wrong> {
    let typed = first_word(text).trim_end_matches(',');
    let units = ["mA", "mV", "uA", "µA", "uV", "µV", "A", "V"];
    let lower = typed.to_lowercase();
    let unit = units
        .into_iter()
        .find(|unit| lower.ends_with(&unit.to_lowercase()));
    let unit = unit.map_or("", |unit| {
        typed.get(typed.len() - unit.len()..).unwrap_or_default()
    });
    let number = typed.strip_suffix(unit)?;
    let mut sign = None;
    let mut meant = String::new();
    for c in number.chars() {
        let stands_for = match c {
            'O' | 'o' => '0',
            'l' | 'I' | '|' => '1',
            ':' => '.',
            _ => c,
        };
        if stands_for != c {
            sign = sign.or(Some(c));
        }
        meant.push(stands_for);
    }
    meant.push_str(unit);
    let digits = number.contains(|c: char| c.is_ascii_digit()) || !unit.is_empty();
    let understood = match as_it_stands(&meant, Unit::Milliamps) {
        Ok(shown) => shown.rest.is_empty() && !shown.reading.over,
        Err(Wrong::NoUnit { .. }) => true,
        Err(_) => false,
    };
    sign.filter(|_| digits && understood)
        .map(|sign| Wrong::LooksAlike {
            typed: typed.to_owned(),
            meant,
            sign,
        })
}

fn as_it_stands(text: &str, wanted: Unit) -> Result<Shown<'_>, Wrong> {
    let text = text.trim_start();
    let small = small_unit(wanted);
    if text.is_empty() {
        return Err(Wrong::NoReading { unit: small });
    }
    if let Some((reading, rest)) = overload(text, wanted) {
        return Ok(Shown {
            reading,
            plain_zero: false,
            rest,
        });
    }
    let no_reading = || Wrong::NotAReading {
        typed: first_word(text).to_owned(),
        unit: small,
    };
    let bare = text.trim_start_matches(['>', ' ']);
    let over = bare.len() < text.len();
    let (first, behind) = number(bare).ok_or_else(no_reading)?;
    let first_unit = unit(behind);
    let behind_first = first_unit.map_or(behind, |(_, _, rest)| rest);
    let second = past_range_mark(behind_first)
        .filter(|_| !over)
        .and_then(|text| number(text.trim_start()));
    let (last_unit, rest) = match second {
        Some((_, rest)) => (unit(rest), rest),
        None => (first_unit, behind),
    };
    let typed = match second {
        Some((high, _)) => format!("{}..{}", first.text(), high.text()),
        None => first.text(),
    };
    let Some((kind, shift, rest)) = last_unit else {
        return Err(without_unit(typed, rest, small).unwrap_or_else(no_reading));
    };
    if !ends_word(rest) {
        return Err(no_reading());
    }
    let first_shift = match first_unit {
        Some((other, _, _)) if other != kind => return Err(Wrong::TwoUnits),
        Some((_, shift, _)) => shift,
        None => shift,
    };
    let last = second.map_or(first, |(number, _)| number);
    if (first_shift == 0 && first.may_be_thousands()) || (shift == 0 && last.may_be_thousands()) {
        return Err(Wrong::CommaUnclear {
            number: typed,
            unit: small_unit(kind),
        });
    }
    let too_large = || Wrong::TooLarge {
        typed: typed.clone(),
    };
    let too_fine = || Wrong::TooFine {
        typed: typed.clone(),
    };
    let one_end = first.shifted(first_shift).ok_or_else(too_large)?;
    let other_end = last.shifted(shift).ok_or_else(too_large)?;
    // A trailing zero is easily left out, so the finer of the two is the display's step.
    let step = first.step(first_shift).ok_or_else(too_fine)?;
    let step = step.min(last.step(shift).ok_or_else(too_fine)?);
    let decimals = first.decimals.len().max(last.decimals.len());
    Ok(Shown {
        reading: Reading {
            low: one_end.min(other_end),
            high: one_end.max(other_end),
            unit: kind,
            step,
            over,
        },
        plain_zero: one_end == 0.0 && other_end == 0.0 && decimals == 0 && !over,
        rest,
    })
}

/// What is wrong with a number that no unit follows; `None` where it is not even a number.
fn without_unit(number: String, rest: &str, unit: &'static str) -> Option<Wrong> {
    let (word, behind) = letters(rest);
    let zero = number.chars().all(|c| matches!(c, '0' | '.' | '-'));
    if rest.starts_with(char::is_alphabetic) && ends_word(behind) {
        return Some(Wrong::UnitUnknown {
            typed: word.to_owned(),
            number,
            unit,
        });
    }
    ends_word(rest).then_some(if zero {
        Wrong::ZeroWithoutUnit { number, unit }
    } else {
        Wrong::NoUnit { number, unit }
    })
}

/// A quantity in any of the units of a reading, with nothing behind it: for the command line, where
/// `12.5mV` or `40 mA` stands alone. `wanted` is the unit named when none was typed. A zero may do
/// without decimals here: its step is then the whole unit.
pub fn read_quantity(text: &str, wanted: Unit) -> Result<Reading, Wrong> {
    let shown = reading(text, wanted)?;
    match shown.rest.trim() {
        "" => Ok(shown.reading),
        rest => Err(Wrong::Trailing {
            typed: rest.to_owned(),
        }),
    }
}

/// Whether the first reading of an entry was typed in amps.
pub fn in_amps(entry: &str) -> bool {
    let mut words = entry.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let Some((_, behind)) = number(word) else {
            continue;
        };
        let letters = behind.trim_end_matches(',');
        let letters = letters.rsplit(|c: char| !c.is_alphabetic()).next();
        let word = letters.filter(|letters| !letters.is_empty());
        if let Some((kind, shift, _)) = word.or(words.peek().copied()).and_then(unit) {
            return kind == Unit::Milliamps && shift == 3;
        }
    }
    false
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
    // Steps are powers of ten. A coarse one can only be shown in the large unit, which also gives a
    // plain zero its decimals.
    let power = reading.step.max(FINEST).log10().round() as i32;
    let zero = reading.low == 0.0 && reading.high == 0.0;
    let (shift, unit) = match reading.unit {
        _ if power <= 0 && !(zero && power == 0) => (0, small),
        Unit::Milliamps => (3, "A"),
        Unit::Millivolts => (3, "V"),
    };
    let decimals = usize::try_from(shift - power).unwrap_or(0);
    let scale = f64::powi(10.0, shift);
    let show = |value: f64| format!("{:.decimals$}", value / scale);
    if reading.over {
        format!(">{}{unit}", show(reading.low))
    } else if reading.low < reading.high {
        let (low, high) = (show(reading.low), show(reading.high));
        // Two points behind a bare zero are taken for a slip.
        let bare = low == "0" && shift == 3;
        let mark = if bare { " to " } else { ".." };
        format!("{low}{mark}{high}{unit}")
    } else {
        format!("{}{unit}", show(reading.low))
    }
}
