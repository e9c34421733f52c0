//! Why an entry was not taken, and a line that is.

use std::fmt;

/// What is wrong with an entry, as data; its `Display` is the wording.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Wrong {
    Empty,
    UnknownWord {
        typed: String,
        nearest: Option<String>,
    },
    /// A known name without a method before it.
    NoMethod {
        name: String,
    },
    NoPoint {
        word: &'static str,
    },
    UnknownName {
        typed: String,
        nearest: Option<String>,
    },
    SeveralNames {
        typed: String,
        names: Vec<String>,
    },
    /// A plug or module with several wires, where one has to be named.
    SeveralWires {
        name: String,
        wires: Vec<String>,
    },
    /// The name is known but this method does not apply to such a thing.
    NotForThis {
        word: &'static str,
        name: String,
        kind: &'static str,
    },
    NoReading {
        unit: &'static str,
    },
    NotAReading {
        typed: String,
        unit: &'static str,
    },
    NoUnit {
        number: String,
        unit: &'static str,
    },
    UnitUnknown {
        number: String,
        typed: String,
        unit: &'static str,
    },
    TwoUnits {
        unit: &'static str,
    },
    TooLarge {
        typed: String,
        unit: &'static str,
    },
    ZeroWithoutUnit {
        unit: &'static str,
    },
    ZeroWithoutDecimals {
        unit: &'static str,
    },
    WrongUnit {
        word: &'static str,
        unit: &'static str,
    },
    BadOption {
        typed: String,
    },
    OptionTwice {
        word: &'static str,
    },
    OptionWants {
        word: &'static str,
        wants: &'static str,
    },
    Trailing {
        typed: String,
    },
    NoAnswer,
    NoText {
        word: &'static str,
    },
    NoNumber {
        word: &'static str,
    },
    NothingPending,
    /// Said by the case: the entry is well formed and does not apply.
    Said(String),
}

impl Wrong {
    pub(super) fn unknown(typed: &str, nearest: Option<String>) -> Self {
        Self::UnknownName {
            typed: typed.trim().to_owned(),
            nearest,
        }
    }
}

fn or_list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => format!("`{one}`"),
        [rest @ .., last] => {
            let rest: Vec<_> = rest.iter().take(6).map(|n| format!("`{n}`")).collect();
            format!("{} or `{last}`", rest.join(", "))
        }
    }
}

fn kind_of_unit(unit: &str) -> &'static str {
    if unit == "mV" {
        "a voltage, in mV or V"
    } else {
        "a current, in mA or A"
    }
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "there is nothing to enter"),
            Self::UnknownWord { typed, nearest } => {
                write!(f, "no entry starts with `{typed}`")?;
                match nearest {
                    Some(word) => write!(f, "; did you mean `{word}`?"),
                    None => Ok(()),
                }
            }
            Self::NoMethod { name } => {
                write!(
                    f,
                    "say first what was done at `{name}`: drop, clamp, series, volts, look, pull, unplug"
                )
            }
            Self::NoPoint { word } => write!(f, "`{word}` needs to know where"),
            Self::UnknownName { typed, nearest } => {
                write!(f, "nothing in this vehicle's file is called `{typed}`")?;
                match nearest {
                    Some(name) => write!(f, "; the nearest name is `{name}`"),
                    None => Ok(()),
                }
            }
            Self::SeveralNames { typed, names } => {
                write!(
                    f,
                    "`{typed}` could be {}: type its capitals as they are",
                    or_list(names)
                )
            }
            Self::SeveralWires { name, wires } => {
                write!(
                    f,
                    "`{name}` has {} wires: say which, {}",
                    wires.len(),
                    or_list(wires)
                )
            }
            Self::NotForThis { word, name, kind } => {
                write!(f, "`{name}` is a {kind}: `{word}` does not apply to it")
            }
            Self::NoReading { unit } => write!(f, "the reading is missing: {}", kind_of_unit(unit)),
            Self::NotAReading { typed, unit } => {
                write!(
                    f,
                    "`{typed}` is not a reading; wanted is {}",
                    kind_of_unit(unit)
                )
            }
            Self::NoUnit { number, unit } => {
                write!(
                    f,
                    "`{number}` needs its unit; wanted is {}",
                    kind_of_unit(unit)
                )
            }
            Self::UnitUnknown {
                number,
                typed,
                unit,
            } => {
                write!(
                    f,
                    "`{typed}` behind {number} is no unit of a reading; wanted is {}",
                    kind_of_unit(unit)
                )
            }
            Self::TwoUnits { .. } => write!(f, "one reading cannot be a current and a voltage"),
            Self::TooLarge { typed, .. } => write!(f, "{typed} is more than any meter shows"),
            Self::ZeroWithoutUnit { .. } => {
                write!(
                    f,
                    "a zero needs its unit and its decimals: they say what the meter could have seen"
                )
            }
            Self::ZeroWithoutDecimals { .. } => {
                write!(
                    f,
                    "a zero needs the decimals of the display: they say what the meter could have seen (if it shows none, add `sure`)"
                )
            }
            Self::WrongUnit { word, unit } => write!(f, "`{word}` reads {}", kind_of_unit(unit)),
            Self::BadOption { typed } => {
                write!(
                    f,
                    "`{typed}` behind the reading is no option; there are by clamp, by series, turns 5, with 640mA, at 14:32, jack mA, sure"
                )
            }
            Self::OptionTwice { word } => write!(f, "`{word}` is given twice"),
            Self::OptionWants { word, wants } => write!(f, "`{word}` wants {wants}"),
            Self::Trailing { typed } => write!(f, "`{typed}` is too much here"),
            Self::NoAnswer => write!(
                f,
                "what was seen? yes or no, warm or cold, lit or dark, on or off, found or none"
            ),
            Self::NoText { word } => write!(f, "`{word}` needs some words behind it"),
            Self::NoNumber { word } => write!(f, "`{word}` needs a number"),
            Self::NothingPending => write!(f, "no test is pending, so say what the reading is of"),
            Self::Said(text) => f.write_str(text),
        }
    }
}

/// An entry that was not taken; nothing has changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// The entry as typed.
    pub entry: String,
    /// What is wrong with it.
    pub wrong: Wrong,
    /// A line that works.
    pub works: String,
}

impl Refusal {
    /// A refusal by the case: well formed, but it does not apply.
    pub fn said(entry: &str, what: impl Into<String>, works: impl Into<String>) -> Self {
        Self {
            entry: entry.to_owned(),
            wrong: Wrong::Said(what.into()),
            works: works.into(),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}. This works: {}", self.wrong, self.works)
    }
}

impl std::error::Error for Refusal {}
