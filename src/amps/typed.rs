//! What is typed behind `amps`, read into a question.

use crate::amps::{Across, Dropped, Measured, Question, Scale};
use crate::journal::{self, read_quantity};
use crate::measurement::{Jack, Reading, Unit, Way};
use crate::notation::{Mistyped, from_to, typed};
use crate::quantity::{Milliamps, Millivolts};

mod across;
use across::across;

/// What is wrong with a question.
#[derive(Clone, Debug, PartialEq)]
pub enum Wrong {
    /// Nothing was typed.
    Empty,
    /// A first word that is neither a method nor a reading.
    FirstWord(String),
    /// The reading is wrong.
    Reading(journal::Wrong),
    /// A reading of the other unit than this word takes.
    OtherUnit {
        /// `drop`, `clamp` …
        word: &'static str,
    },
    /// Nothing says what it is read across.
    NoAcross,
    /// A style of fuse that there is not.
    Style {
        /// As typed.
        typed: String,
        /// The nearest there is.
        nearest: Option<String>,
    },
    /// A fuse without its rating.
    NoRating,
    /// A rating without the style of the fuse.
    NoStyle,
    /// A wire without one of the two.
    Wire(&'static str),
    /// A quantity is wrong.
    Quantity(Mistyped),
    /// Words that belong to nothing.
    Trailing(String),
    /// Turns that are no whole number from 1 to 100.
    Turns,
    /// A scale that is not like `1mV/10mA`.
    Scale,
    /// A scale for a reading that is a current already.
    ScaleOfCurrent,
    /// A jack other than A and mA.
    Jack,
    /// A current that cannot be asked about: none, or not a number of mA.
    Current,
}

/// A question that was not taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// What is wrong with it.
    pub wrong: Wrong,
    /// What works in its place, behind `amps`.
    pub works: String,
}

const DROP: &str = "1.0mV";
const CURRENT: &str = "40mA";
const FUSE: &str = "Regular 10A";

/// Reads a question:
///
/// | typed | asks |
/// | --- | --- |
/// | `drop READING [reversed READING] across WHAT` | the current |
/// | `clamp READING [turns N] [scale 1mV/10mA]` | the current |
/// | `series READING [jack mA]` | the current |
/// | `CURRENT across WHAT` | what the meter will show |
/// | `resistance` | how one is measured |
/// | `resistance DROP [reversed DROP] with CURRENT [across FUSE] [jack mA] [by clamp] [turns N]` | a resistance |
///
/// WHAT is a fuse (`Regular 10A`), a length of wire (`wire 0.5mm2 1m`, `wire 18awg 0.5m aluminium`, `wire 1.5mm2 2m solid`) or
/// a resistance (`4.8mOhm`). Units may stand apart from their numbers; capitals do not matter.
pub fn parse(text: &str) -> Result<Question, Refused> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let Some((first, rest)) = words.split_first() else {
        return Err(Refused {
            wrong: Wrong::Empty,
            works: format!("drop {DROP} across {FUSE}"),
        });
    };
    match first.to_lowercase().as_str() {
        "drop" => drop(rest),
        "clamp" => clamp(rest),
        "series" => series(rest),
        "resistance" => resistance(rest),
        _ => expect(&words),
    }
}

/// The words before and behind a word.
fn cut<'a, 'w>(words: &'a [&'w str], at: &str) -> Option<(&'a [&'w str], &'a [&'w str])> {
    let place = words
        .iter()
        .position(|word| word.eq_ignore_ascii_case(at))?;
    Some((&words[..place], &words[place + 1..]))
}

/// The reading, or what is wrong with it and one that works.
fn reading(words: &[&str], wanted: Unit, sample: &str) -> Result<Reading, (Wrong, String)> {
    read_quantity(&words.join(" "), wanted).map_err(|wrong| {
        let mended = match &wrong {
            journal::Wrong::NoUnit { number, unit }
            | journal::Wrong::ZeroWithoutUnit { number, unit }
            | journal::Wrong::UnitUnknown { number, unit, .. } => format!("{number}{unit}"),
            _ => String::new(),
        };
        let mended = match read_quantity(&mended, wanted) {
            Ok(_) => mended,
            Err(_) => sample.to_owned(),
        };
        (Wrong::Reading(wrong), mended)
    })
}

/// What a piece of the line is, or what is wrong with it, with the text that keeps or mends it.
struct Piece<T> {
    value: Result<T, Wrong>,
    text: String,
}

impl<T> Piece<T> {
    fn of(words: &[&str], read: Result<T, (Wrong, String)>) -> Self {
        match read {
            Ok(value) => Self {
                value: Ok(value),
                text: words.join(" "),
            },
            Err((wrong, text)) => Self {
                value: Err(wrong),
                text,
            },
        }
    }
}

/// The piece of what was read with the probes turned round: behind `reversed`, in mV.
fn turned(words: &[&str], shown: &Piece<Reading>) -> Piece<Reading> {
    // Turned round it shows the same with the other sign.
    let sample = match &shown.value {
        Ok(reading) if reading.unit == Unit::Millivolts && !reading.over => {
            journal::write_reading(&Reading {
                low: 0.0 - reading.high,
                high: 0.0 - reading.low,
                ..*reading
            })
        }
        _ => format!("-{DROP}"),
    };
    let read = reading(words, Unit::Millivolts, &sample);
    Piece::of(
        words,
        match read {
            Ok(reading) if reading.unit != Unit::Millivolts => {
                Err((Wrong::OtherUnit { word: "reversed" }, sample))
            }
            Err((wrong, text)) if !in_millivolts(&text) => Err((wrong, sample)),
            read => read,
        },
    )
}

fn in_millivolts(text: &str) -> bool {
    read_quantity(text, Unit::Millivolts).is_ok_and(|reading| reading.unit == Unit::Millivolts)
}

fn drop(words: &[&str]) -> Result<Question, Refused> {
    let (words, other_way) = option(words, "reversed");
    let (shown, across) = pieces(&words, Unit::Millivolts, DROP);
    let other_way = other_way.map(|words| turned(&words, &shown));
    let kept = if in_millivolts(&shown.text) {
        &shown.text
    } else {
        DROP
    };
    let reversed = other_way.as_ref();
    let reversed = reversed.map_or_else(String::new, |piece| format!(" reversed {}", piece.text));
    let mended = format!("drop {kept}{reversed} across {}", across.text);
    let refused = |wrong| Refused {
        wrong,
        works: mended.clone(),
    };
    let reading = shown.value.map_err(refused)?;
    if reading.unit != Unit::Millivolts {
        return Err(Refused {
            wrong: Wrong::OtherUnit { word: "drop" },
            works: mended.clone(),
        });
    }
    let dropped = Dropped {
        shown: reading,
        turned: other_way
            .map(|piece| piece.value)
            .transpose()
            .map_err(refused)?,
    };
    Ok(Question::Drop(dropped, across.value.map_err(refused)?))
}

fn expect(words: &[&str]) -> Result<Question, Refused> {
    let first = words.first().copied().unwrap_or_default();
    if !first.starts_with(|c: char| c.is_ascii_digit() || "+-−–.,>".contains(c)) {
        return Err(Refused {
            wrong: Wrong::FirstWord(first.to_owned()),
            works: format!("drop {DROP} across {FUSE}"),
        });
    }
    let (shown, across) = pieces(words, Unit::Milliamps, CURRENT);
    let (shown_text, across_text) = (shown.text, across.text);
    let refused = |wrong| Refused {
        wrong,
        works: format!("{shown_text} across {across_text}"),
    };
    let current = shown.value.map_err(refused)?;
    if current.unit != Unit::Milliamps {
        // A voltage here is a drop that was read.
        return Err(Refused {
            wrong: Wrong::OtherUnit { word: "across" },
            works: format!("drop {shown_text} across {across_text}"),
        });
    }
    if current.over || current.low < 0.0 {
        return Err(Refused {
            wrong: Wrong::Current,
            works: format!("{CURRENT} across {across_text}"),
        });
    }
    Ok(Question::Expect(current, across.value.map_err(refused)?))
}

/// `READING across WHAT`, each with the text that keeps or mends it.
fn pieces(words: &[&str], wanted: Unit, sample: &str) -> (Piece<Reading>, Piece<Across>) {
    let Some((before, behind)) = cut(words, "across") else {
        // What stands behind the reading is what it was read across, where that can be.
        let is_reading = |end: &usize| read_quantity(&words[..*end].join(" "), wanted).is_ok();
        let end = (1..=words.len()).rev().find(is_reading);
        let (before, behind) = words.split_at(end.unwrap_or(words.len()));
        let meant = if across(behind).is_ok() {
            behind.join(" ")
        } else {
            FUSE.to_owned()
        };
        return (
            Piece::of(before, reading(before, wanted, sample)),
            Piece::of(&[], Err((Wrong::NoAcross, meant))),
        );
    };
    (
        Piece::of(before, reading(before, wanted, sample)),
        Piece::of(behind, across(behind)),
    )
}

/// The words of an option behind a reading, and the words without it.
fn option<'w>(words: &[&'w str], name: &str) -> (Vec<&'w str>, Option<Vec<&'w str>>) {
    const NAMES: [&str; 7] = ["turns", "scale", "jack", "by", "across", "with", "reversed"];
    let Some((before, behind)) = cut(words, name) else {
        return (words.to_vec(), None);
    };
    let is_name = |word: &&str| NAMES.iter().any(|name| word.eq_ignore_ascii_case(name));
    let end = behind.iter().position(is_name);
    let (own, others) = behind.split_at(end.unwrap_or(behind.len()));
    let kept = before.iter().chain(others).copied().collect();
    (kept, Some(own.to_vec()))
}

fn clamp(words: &[&str]) -> Result<Question, Refused> {
    let (words, turns) = option(words, "turns");
    let (words, scale) = option(&words, "scale");
    let (wanted, sample) = match scale {
        Some(_) => (Unit::Millivolts, "42mV"),
        None => (Unit::Milliamps, "3.05A"),
    };
    let shown = Piece::of(&words, reading(&words, wanted, sample));
    let turns = turns.map(|words| {
        let count = match words.as_slice() {
            [number] => number.parse().ok().filter(|n| (1..=100).contains(n)),
            _ => None,
        };
        Piece::of(&words, count.ok_or((Wrong::Turns, "5".to_owned())))
    });
    let scale = scale.map(|words| {
        let scale = voltage_and_current(&words.concat());
        Piece::of(&words, scale.ok_or((Wrong::Scale, "1mV/10mA".to_owned())))
    });
    // The line as far as it will do, mended where it will not.
    let is_current = matches!(&shown.value, Ok(reading) if reading.unit == Unit::Milliamps);
    let mut mended = format!("clamp {}", shown.text);
    if let Some(scale) = scale.as_ref().filter(|_| !is_current) {
        mended.push_str(" scale ");
        mended.push_str(&scale.text);
    }
    if let Some(turns) = &turns {
        mended.push_str(" turns ");
        mended.push_str(&turns.text);
    }
    let refused = |wrong| Refused {
        wrong,
        works: mended.clone(),
    };
    let reading = shown.value.map_err(refused)?;
    if is_current && scale.is_some() {
        return Err(refused(Wrong::ScaleOfCurrent));
    }
    let turns = turns.map(|piece| piece.value).transpose();
    let scale = scale.map(|piece| piece.value).transpose();
    Ok(Question::Clamp(
        reading,
        turns.map_err(refused)?.unwrap_or(1),
        scale.map_err(refused)?,
    ))
}

/// `1mV/10mA`, or the other way round.
fn voltage_and_current(text: &str) -> Option<Scale> {
    let (left, right) = text.split_once('/')?;
    let millivolts = |text| typed::<Millivolts>(text, from_to(0.001, 10_000.0)).ok();
    let milliamps = |text| typed::<Milliamps>(text, from_to(0.001, 1_000_000.0)).ok();
    match (millivolts(left), milliamps(right)) {
        (Some(voltage), Some(current)) => Some((voltage, current)),
        _ => Some((millivolts(right)?, milliamps(left)?)),
    }
}

fn series(words: &[&str]) -> Result<Question, Refused> {
    let (words, jack) = option(words, "jack");
    let shown = Piece::of(&words, reading(&words, Unit::Milliamps, "0.61A"));
    let shown_text = shown.text;
    let refused = |wrong| Refused {
        wrong,
        works: format!("series {shown_text}"),
    };
    let reading = shown.value.map_err(refused)?;
    if reading.unit != Unit::Milliamps {
        return Err(Refused {
            wrong: Wrong::OtherUnit { word: "series" },
            works: "series 0.61A".to_owned(),
        });
    }
    let jack = match jack.as_deref() {
        // Tenths of a milliamp are shown on the mA jack alone.
        None if reading.step < 1.0 => Jack::MilliA,
        None => Jack::A,
        Some([word]) if word.eq_ignore_ascii_case("a") => Jack::A,
        Some([word]) if word.eq_ignore_ascii_case("ma") => Jack::MilliA,
        Some(_) => {
            return Err(Refused {
                wrong: Wrong::Jack,
                works: format!("series {shown_text} jack mA"),
            });
        }
    };
    Ok(Question::Series(reading, jack))
}

/// `19.2mV with 2.50A across Regular 10A`.
fn resistance(words: &[&str]) -> Result<Question, Refused> {
    if words.is_empty() {
        return Ok(Question::HowToMeasure);
    }
    let (words, across_words) = option(words, "across");
    let (words, jack) = option(&words, "jack");
    let (words, by) = option(&words, "by");
    let (words, turns) = option(&words, "turns");
    let (words, with) = option(&words, "with");
    let (words, other_way) = option(&words, "reversed");
    let drop = Piece::of(&words, reading(&words, Unit::Millivolts, "19.2mV"));
    let other_way = other_way.map(|words| turned(&words, &drop));
    let with = with.unwrap_or_default();
    let through = Piece::of(&with, reading(&with, Unit::Milliamps, "2.50A"));
    let fuse = across_words.map(|words| {
        Piece::of(
            &words,
            match across(&words) {
                Ok(Across::Fuse(style, rating)) => Ok((style, rating)),
                Ok(_) => Err((Wrong::NoRating, FUSE.to_owned())),
                Err(wrong) => Err(wrong),
            },
        )
    });
    let of = fuse.as_ref();
    let of = of.map_or_else(String::new, |fuse| {
        let words: Vec<&str> = fuse.text.split_whitespace().collect();
        let fits = matches!(across(&words), Ok(Across::Fuse(..)));
        format!(" across {}", if fits { &fuse.text } else { FUSE })
    });
    let kept = |text: &str, unit: Unit, sample: &str| {
        let fits = read_quantity(text, unit).is_ok_and(|reading| reading.unit == unit);
        if fits { text } else { sample }.to_owned()
    };
    let mended = format!(
        "resistance {}{} with {}{of}",
        kept(&drop.text, Unit::Millivolts, "19.2mV"),
        other_way
            .as_ref()
            .map_or_else(String::new, |piece| format!(" reversed {}", piece.text)),
        kept(&through.text, Unit::Milliamps, "2.50A")
    );
    let refused = |wrong| Refused {
        wrong,
        works: mended.clone(),
    };
    let (voltage, current) = (
        drop.value.map_err(refused)?,
        through.value.map_err(refused)?,
    );
    if voltage.unit != Unit::Millivolts || current.unit != Unit::Milliamps {
        return Err(Refused {
            wrong: Wrong::OtherUnit { word: "resistance" },
            works: mended.clone(),
        });
    }
    let other_way = other_way.map(|piece| piece.value).transpose();
    let voltage = Dropped {
        shown: voltage,
        turned: other_way.map_err(refused)?,
    };
    let way = match (by.as_deref(), jack.as_deref(), turns) {
        (None, None, None) => Way::Series(Jack::A),
        (None, Some([word]), None) if word.eq_ignore_ascii_case("a") => Way::Series(Jack::A),
        (None, Some([word]), None) if word.eq_ignore_ascii_case("ma") => Way::Series(Jack::MilliA),
        (Some([word]), None, turns) if word.eq_ignore_ascii_case("clamp") => {
            let number = turns.as_deref().map_or(Some("1"), |words| match words {
                [number] => Some(*number),
                _ => None,
            });
            let turns = number.and_then(|number| number.parse().ok());
            let turns = turns.filter(|turns| (1..=100).contains(turns));
            Way::Clamp {
                turns: turns.ok_or_else(|| refused(Wrong::Turns))?,
            }
        }
        _ => return Err(refused(Wrong::Jack)),
    };
    Ok(Question::Resistance(Measured {
        voltage,
        current,
        way,
        fuse: fuse.map(|piece| piece.value).transpose().map_err(refused)?,
    }))
}
