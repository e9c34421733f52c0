//! Why an entry was not taken, in words.

use crate::journal::{Misfit, Passing, Refusal, Unfit, Wrong};
use crate::problem::{clean, short};
use crate::render::words::capital;
use std::fmt;

/// What was typed, fit for a message: on one line, not too long.
pub(super) fn quoted(typed: &str) -> String {
    format!("`{}`", short(&clean(typed).replace(['\n', '\t'], " ")))
}

/// Names to choose from; of many, some.
fn choice(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => quoted(one),
        [rest @ .., last] => {
            let shown: Vec<_> = rest.iter().take(6).map(|name| quoted(name)).collect();
            let last = match names.len() - shown.len() {
                1 => quoted(last),
                more => format!("one of {more} more"),
            };
            format!("{} or {last}", shown.join(", "))
        }
    }
}

fn units(unit: &str) -> &'static str {
    if unit == "mV" { "mV or V" } else { "mA or A" }
}

fn wanted(unit: &str) -> &'static str {
    if unit == "mV" {
        "a voltage, in mV or V"
    } else {
        "a current, in mA or A"
    }
}

/// What a sign in a number was typed for.
const fn stands_for(sign: char) -> &'static str {
    match sign {
        'O' | 'o' => "the letter O for a zero",
        'l' | 'I' => "the letter l or I for a 1",
        '|' => "a stroke for a 1",
        '.' => "two points for one",
        _ => "a colon for a point",
    }
}

/// The line that works, behind what is said of it; its shape where its reading is nobody's.
pub(super) fn way_out(refusal: &Refusal) -> (&'static str, String) {
    let takes_out = ["pull ", "unplug "]
        .iter()
        .any(|word| refusal.works.starts_with(word));
    match refusal.shape() {
        Some(shape) => ("type it as", shape),
        // Another part than was meant would come out.
        None if takes_out && matches!(refusal.wrong, Wrong::UnknownName { .. }) => {
            ("if that was meant:", refusal.works.clone())
        }
        None => ("this works:", refusal.works.clone()),
    }
}

/// What belongs behind the word of an option.
fn behind(option: &str) -> &'static str {
    match option {
        "by" => "clamp or series, as in by clamp",
        "turns" => "a number from 1, as in turns 5",
        "jack" => "the jack the red lead is in, as in jack A",
        "with" => "the total at that moment, as in with 640mA",
        "reversed" => "what it shows with the probes turned round, as in reversed -0.39mV",
        _ => "a time of day, as in at 14:32",
    }
}

/// Words of entries to choose from.
fn any_of(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

fn article(kind: &str) -> &'static str {
    if kind == "input" { "an" } else { "a" }
}

fn not_for_this(f: &mut fmt::Formatter<'_>, word: &str, name: &str, kind: &str) -> fmt::Result {
    let name = quoted(name);
    match (word, kind) {
        ("draw", _) => write!(f, "a draw is the total at the battery, not at {name}"),
        ("open", _) => write!(
            f,
            "{name} is {} {kind}: only places are opened",
            article(kind)
        ),
        (_, "place") => write!(
            f,
            "{name} is a place: it can be opened, not read or taken out"
        ),
        (_, "module") => write!(
            f,
            "{name} is a module with no feed entered, so there is no wire to read"
        ),
        ("pull" | "unplug" | "refit", _) => {
            write!(
                f,
                "{name} is {} {kind}: there is nothing to take out",
                article(kind)
            )
        }
        _ => write!(
            f,
            "{name} is {} {kind}: it can be looked at, not read with a meter",
            article(kind)
        ),
    }
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownWord { .. }
            | Self::NoMethod { .. }
            | Self::NoPoint { .. }
            | Self::UnknownName { .. }
            | Self::SeveralNames { .. }
            | Self::SeveralWires { .. }
            | Self::NotForThis { .. } => self.fmt_of_word_or_name(f),
            Self::BadOption { .. }
            | Self::OptionTwice { .. }
            | Self::OptionWants { .. }
            | Self::OptionElsewhere { .. } => self.fmt_of_option(f),
            Self::Empty => write!(f, "nothing was typed"),
            Self::Glow => write!(
                f,
                "a test lamp says that something flows, and not how much: keep what it did as a note, and read the draw with a clamp, or the meter where the lamp is (10 A jack first)"
            ),
            Self::Trailing { typed } => write!(f, "{} does not belong here", quoted(typed)),
            Self::NoAnswer => write!(
                f,
                "say what was seen: yes or no, warm or cold, lit or dark, on or off, found or none"
            ),
            Self::NoText { word } => write!(f, "`{word}` needs some words behind it"),
            Self::NoNumber { word: "withdraw" } => {
                write!(f, "`withdraw` needs the number of the entry")
            }
            Self::NoNumber { word: "told volts" } => {
                write!(
                    f,
                    "`told volts` needs the volts of the battery at rest, 1 to 32"
                )
            }
            Self::NoNumber { word } => write!(f, "`{word}` needs a number"),
            Self::NotTold { typed } => write!(
                f,
                "{} with a number is nothing that can be told; told days, volts, celsius, odds and a name, added, work, dead, parked, rain, coverage, network, or in free words what the owner says; what is for the write-up alone: note",
                quoted(typed)
            ),
            Self::NothingPending => write!(
                f,
                "no test is waiting for an answer, so say what was done and where"
            ),
            Self::NotDone { entry } => write!(
                f,
                "still waiting for {}: type `done` when it is done, or `skip` and why not",
                quoted(entry)
            ),
            Self::Unfit(unfit) => unfit.fmt(f),
            Self::Passing(wrong) => f.write_str(&passing(wrong)),
            Self::Drill(misfit) => f.write_str(&drill(misfit)),
            _ => self.fmt_of_reading(f),
        }
    }
}

impl Wrong {
    fn fmt_of_word_or_name(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownWord { typed, nearest } => {
                write!(f, "no entry starts with {}", quoted(typed))?;
                match nearest {
                    Some(word) => write!(f, "; the nearest is {}", quoted(word)),
                    None => write!(
                        f,
                        "; say first what was done, such as draw, drop, clamp, volts or pull"
                    ),
                }
            }
            Self::NoMethod { name, words } => write!(
                f,
                "say what was done at {}: put a word before it, such as {}",
                quoted(name),
                any_of(words)
            ),
            Self::NoPoint { word } => f.write_str(&match *word {
                "skip" => "say which test to skip, and where".to_owned(),
                "open" => "say which place was opened".to_owned(),
                "look" => "say what was looked at: it comes right after `look`".to_owned(),
                "refit" => "say what went back in: it comes right after `refit`".to_owned(),
                "pull" | "unplug" => {
                    format!("say what was taken out: it comes right after `{word}`")
                }
                _ => format!("say where it was read: the part comes right after `{word}`"),
            }),
            Self::UnknownName { typed, nearest } => {
                write!(
                    f,
                    "nothing in this vehicle's file is called {}",
                    quoted(typed)
                )?;
                match nearest {
                    Some(name) => write!(f, "; the nearest name is {}", quoted(name)),
                    None => Ok(()),
                }
            }
            Self::SeveralNames { typed, names } => {
                write!(f, "{} could be {}: say which", quoted(typed), choice(names))
            }
            Self::SeveralWires { name, wires } => write!(
                f,
                "{} has {} wires: say which one, {}",
                quoted(name),
                wires.len(),
                choice(wires)
            ),
            Self::NotForThis { word, name, kind } => not_for_this(f, word, name, kind),
            _ => Ok(()),
        }
    }

    fn fmt_of_option(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BadOption { typed } => write!(
                f,
                "{} is not an option; after a reading there may be by clamp, by series, turns 5, jack mA, with 640mA, at 14:32 or sure, and another entry only behind a ;",
                quoted(typed)
            ),
            Self::OptionTwice { word } => write!(f, "`{word}` is there twice"),
            Self::OptionWants { word } => write!(f, "after `{word}` comes {}", behind(word)),
            Self::OptionElsewhere { option, word } => {
                write!(f, "`{option}` does not belong to this {word} reading")
            }
            _ => Ok(()),
        }
    }

    fn fmt_of_reading(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoReading { unit } => write!(f, "the reading is missing: {}", wanted(unit)),
            Self::NotAReading { typed, unit } => {
                write!(
                    f,
                    "{} is not a reading: type {}",
                    quoted(typed),
                    wanted(unit)
                )
            }
            Self::ActionWithReading { word } => write!(
                f,
                "no reading belongs behind `{word}`: type the draw once it has settled, on a line of its own"
            ),
            Self::LooksAlike { typed, sign, .. } => {
                write!(f, "{} has {}", quoted(typed), stands_for(*sign))
            }
            Self::NoUnit { number, unit } => {
                write!(f, "{} needs its unit, {}", quoted(number), units(unit))
            }
            Self::UnitUnknown { typed, unit, .. } => {
                write!(
                    f,
                    "{} is not a unit for this: type {}",
                    quoted(typed),
                    units(unit)
                )
            }
            Self::TwoUnits => write!(f, "one reading cannot be both a current and a voltage"),
            Self::CommaUnclear { number, unit } => write!(
                f,
                "with its comma this could be {} {unit} or {} {unit}: type a point, or no comma",
                short(number),
                short(&number.replace('.', ""))
            ),
            Self::TooLarge { typed } => write!(f, "{} is more than any meter shows", quoted(typed)),
            Self::TooFine { typed } => write!(
                f,
                "{} has more decimals than any meter shows",
                quoted(typed)
            ),
            Self::ZeroWithoutUnit { unit, .. } => write!(
                f,
                "a zero needs its unit, {}, and the decimals of the display: they say how much the meter could have missed",
                units(unit)
            ),
            Self::ZeroWithoutDecimals { .. } => write!(
                f,
                "a zero needs the decimals of the display: they say how much the meter could have missed (if it shows none, add `sure`)"
            ),
            Self::WrongUnit { word, unit, typed } => {
                write!(f, "`{word}` is read in {}, not in {typed}", units(unit))?;
                if (*word, *typed) == ("drop", "mA") {
                    write!(
                        f,
                        "; of a current that a chart gives, type the millivolts it was looked up by"
                    )?;
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NothingToUndo => write!(f, "there is nothing to undo"),
            Self::NoSuchEntry(number) => {
                write!(f, "there is no entry {number} that still counts")
            }
            Self::NoClamp => write!(f, "there is no clamp among the instruments"),
            Self::UnitUnclear(number, [small, large]) => {
                let number = short(number);
                write!(
                    f,
                    "{number} {small} or {number} {large}? Both can be here: type the unit"
                )
            }
            Self::NothingOut => write!(f, "nothing is out"),
            Self::NotOut => write!(f, "that is not out"),
            Self::SeveralEntries => write!(f, "a line of a case holds one entry"),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (says, line) = way_out(self);
        write!(f, "{}. {} {line}", self.wrong, capital(says))
    }
}

impl std::error::Error for Refusal {}

/// What is wrong with `comes` and `logged`.
fn passing(wrong: &Passing) -> String {
    match wrong {
        Passing::NoCurrent => "this needs a current above zero, in mA or A".to_owned(),
        Passing::NotThere(word) if word.is_empty() => "say how often and how long".to_owned(),
        Passing::NotThere(word) => {
            format!(
                "behind the size come every, for or after, not {}",
                quoted(word)
            )
        }
        Passing::NoTime => {
            "behind every, for and after comes a time such as 30s, 20min or 8h".to_owned()
        }
        Passing::Twice => "the same is there twice".to_owned(),
        Passing::HowLong => "say how long it was logged, such as 8h".to_owned(),
        Passing::TooMuch => {
            "behind the time may stand the highest current, and nothing else".to_owned()
        }
    }
}

/// What does not fit a drill.
fn drill(misfit: &Misfit) -> String {
    let text = match misfit {
        Misfit::Over => "the answer is in",
        Misfit::NoMinutes => "this needs minutes; to wait until it sleeps type asleep",
        Misfit::Reading => "the vehicle gives the reading",
        Misfit::SeveralEntries => "one entry a line here, so that each has its minutes",
        Misfit::TakenBack => "what was done at the vehicle stays done",
        Misfit::NoPrediction => {
            "first say what that would rule out: nothing, below, rest, both, or skip"
        }
        Misfit::UnknownName(name) => return format!("nothing is called {name}"),
        Misfit::NoStep => "a reason stands behind a step, and there is none yet",
        Misfit::NoQuestion => "there is no question to reply to",
        Misfit::NoReply(count) => {
            return format!(
                "a reply needs the number of its question, 1 to {count}, and the reply"
            );
        }
        Misfit::NoCurrent => "this question wants a current",
    };
    text.to_owned()
}
