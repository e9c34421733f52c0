//! Every sentence about a file: what is wrong with it, and what to type instead.
//!
//! One function a sentence, in the order of the rooms that find the faults. Each takes data (names as
//! written, numbers, a second place) and gives a [`Finding`]; none looks anything up. Whatever two
//! finders say alike is one function.

use crate::problem::{Fault, Problem, Span};
use std::fmt;

mod advice;
mod exercise;
mod feeds;
mod instruments;
mod spelling;
mod syntax;
mod table;
mod vehicle;
pub(crate) use advice::*;
pub(crate) use exercise::*;
pub(crate) use feeds::*;
pub(crate) use instruments::*;
pub(crate) use spelling::*;
pub use syntax::Form;
pub(crate) use syntax::*;
pub(crate) use table::*;
pub(crate) use vehicle::*;

/// What is wrong and what mends it, in words, wherever it stands. It is made in this room alone.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    fault: Fault,
    message: String,
    help: String,
    also: Option<(Span, String)>,
    about: Option<String>,
}

impl Finding {
    fn new(fault: Fault, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            fault,
            message: brief(message.into()),
            help: brief(help.into()),
            also: None,
            about: None,
        }
    }

    /// The same about the thing of that name.
    fn about(mut self, name: &str) -> Self {
        self.about = Some(name.to_owned());
        self
    }

    /// The same with a second place that belongs to it.
    fn beside(mut self, at: &Span, word: impl Into<String>) -> Self {
        self.also = Some((at.clone(), word.into()));
        self
    }

    /// What to type instead.
    pub fn help(&self) -> &str {
        &self.help
    }

    /// The problem of this place.
    pub fn at(self, at: Span) -> Problem {
        Problem {
            code: self.fault.code(),
            severity: self.fault.severity(),
            message: self.message,
            help: self.help,
            at,
            also: self.also,
            about: self.about,
        }
    }
}

/// Names in a file may be a megabyte long; a message that quotes one is not.
fn brief(text: String) -> String {
    const MOST: usize = 400;
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text,
    }
}

/// A value short enough for a message.
pub fn short(raw: &str) -> String {
    const MOST: usize = 40;
    let line = raw.split('\n').next().unwrap_or_default().trim_end();
    if line.len() == raw.len() && line.chars().count() <= MOST {
        return line.to_owned();
    }
    line.chars()
        .take(MOST)
        .chain(std::iter::once('…'))
        .collect()
}

/// The nearest of the known names, when one is near enough to be meant.
pub fn nearest<'a>(written: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    // Long hostile words would cost their square; no name of ours or of a person is that long.
    if written.len() > 200 {
        return None;
    }
    let lower = written.to_lowercase();
    let alike = look_alike(&lower);
    known
        .filter(|name| name.len() <= 200)
        .map(|name| {
            let known = name.to_lowercase();
            // `B1O` is B10 and not B1, however few letters are missing to that.
            let score = if look_alike(&known) == alike {
                2.0
            } else {
                strsim::normalized_damerau_levenshtein(&lower, &known)
            };
            (score, name)
        })
        .filter(|(score, _)| *score >= 0.5)
        .max_by(|a, b| {
            // Of names that are as near letters that changed places are the likelier slip, then one that
            // begins alike.
            let slip = |name: &str| (same_letters(&lower, name), begins_alike(&lower, name));
            let slips = slip(a.1).cmp(&slip(b.1));
            a.0.total_cmp(&b.0).then(slips).then_with(|| b.1.cmp(a.1))
        })
        .map(|(_, name)| name)
}

/// A word in lower case with one sign for those that look alike on a lid or a sheet: O and 0, I, l and 1, S
/// and 5, B and 8, Z and 2.
fn look_alike(lower: &str) -> String {
    let sign = |c: char| match c {
        'o' => '0',
        'i' | 'l' => '1',
        's' => '5',
        'b' => '8',
        'z' => '2',
        other => other,
    };
    lower.chars().map(sign).collect()
}

/// Whether two words have the same letters in another order.
fn same_letters(one: &str, other: &str) -> bool {
    let sorted = |word: &str| {
        let mut letters: Vec<char> = word.to_lowercase().chars().collect();
        letters.sort_unstable();
        letters
    };
    sorted(one) == sorted(other)
}

/// Whether two words begin with the same letter.
fn begins_alike(one: &str, other: &str) -> bool {
    let first = |word: &str| word.to_lowercase().chars().next();
    first(one) == first(other)
}

/// The nearest of the known names, as a help line; all of them when none is near, if there are any.
fn meant(written: &str, known: &[&str]) -> String {
    match nearest(written, known.iter().copied()) {
        Some(name) => format!("did you mean {name}?"),
        None if known.is_empty() => "take it out".to_owned(),
        None => format!("one of: {}", known.join(", ")),
    }
}

/// A help line with all that may be typed.
fn typed(ways: &[String]) -> String {
    format!("type {}", ways.join(" or "))
}

/// What a feed tree has not.
const RING: &str = "a ring, and a feed tree has none";

/// Of the first of two where one belongs.
const FIRST: &str = "first given here";

/// What something in a file is called in a sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Thing {
    Current,
    Voltage,
    Resistance,
    Capacity,
    Time,
    Length,
    Width,
    CrossSection,
    Gauge,
    FuseStyle,
    PositionAtRest,
    KindOfLoad,
    Test,
    Metal,
    Trap,
}

/// One of them: "a current".
impl fmt::Display for Thing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Current => "a current",
            Self::Voltage => "a voltage",
            Self::Resistance => "a resistance",
            Self::Capacity => "a capacity",
            Self::Time => "a time",
            Self::Length => "a length",
            Self::Width => "a width",
            Self::CrossSection => "a cross-section",
            Self::Gauge => "a wire gauge",
            Self::FuseStyle => "a fuse style",
            Self::PositionAtRest => "a position at rest",
            Self::KindOfLoad => "a kind of load",
            Self::Test => "a test",
            Self::Metal => "a metal",
            Self::Trap => "a trap",
        })
    }
}

/// A kind of part with its article.
fn one(kind: &str) -> String {
    let vowel = kind.starts_with(['A', 'E', 'I', 'O', 'a', 'e', 'i', 'o']);
    format!("{} {kind}", if vowel { "an" } else { "a" })
}
