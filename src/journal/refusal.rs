//! Why an entry was not taken, and a line that is: as data, worded in `render`.

use crate::journal::options::SAMPLES;

/// What is wrong with an entry.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Wrong {
    Empty,
    UnknownWord {
        typed: String,
        nearest: Option<String>,
    },
    /// A known name without a method before it, and the words that could stand there.
    NoMethod {
        name: String,
        words: &'static [&'static str],
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
    /// The name is known, but the word does not apply to what it means.
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
    /// A reading but for signs that look like those of a number: the first of them, and what was meant.
    LooksAlike {
        typed: String,
        meant: String,
        sign: char,
    },
    /// A reading behind an action.
    ActionWithReading {
        word: &'static str,
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
    TwoUnits,
    /// `1,200mA`.
    CommaUnclear {
        number: String,
        unit: &'static str,
    },
    TooLarge {
        typed: String,
    },
    TooFine {
        typed: String,
    },
    ZeroWithoutUnit {
        number: String,
        unit: &'static str,
    },
    ZeroWithoutDecimals {
        unit: &'static str,
    },
    WrongUnit {
        word: &'static str,
        unit: &'static str,
        typed: &'static str,
    },
    BadOption {
        typed: String,
    },
    OptionTwice {
        word: &'static str,
    },
    /// An option without what belongs behind its word.
    OptionWants {
        word: &'static str,
    },
    /// An option that goes with other readings.
    OptionElsewhere {
        option: &'static str,
        word: &'static str,
    },
    Trailing {
        typed: String,
    },
    /// What a test lamp in the lead did, which is no number.
    Glow,
    NoAnswer,
    NoText {
        word: &'static str,
    },
    NoNumber {
        word: &'static str,
    },
    /// A word and a number behind `told`, and the word is none of its keys.
    NotTold {
        typed: String,
    },
    /// A reading, an answer or `done` alone, and nothing was asked.
    NothingPending,
    /// Something to do was asked for, and the answer says neither that it is done nor anything else.
    NotDone {
        entry: String,
    },
    /// What comes and goes, or was logged, is not told as it should be.
    Passing(Passing),
    /// Said by the case: the entry is well formed, but it does not fit what was entered before.
    Unfit(Unfit),
    /// Said by a drill: it does not fit the exercise, or the vehicle of which the drill keeps the clock.
    Drill(Misfit),
}

/// What is wrong with `comes` and `logged`.
#[derive(Clone, Debug, PartialEq)]
pub enum Passing {
    /// No current above zero.
    NoCurrent,
    /// Neither `every`, `for` nor `after`.
    NotThere(String),
    /// No time where one belongs.
    NoTime,
    /// The same twice.
    Twice,
    /// Not how long it was logged.
    HowLong,
    /// More behind the time than its highest current.
    TooMuch,
}

/// What does not fit what was entered before.
#[derive(Clone, Debug, PartialEq)]
pub enum Unfit {
    /// Everything that was entered has been taken back, or nothing was.
    NothingToUndo,
    /// No entry of this number, or one that no longer counts.
    NoSuchEntry(u32),
    /// A reading by clamp, and the person has none.
    NoClamp,
    /// Either unit can be meant: the number, and the two.
    UnitUnclear(String, [&'static str; 2]),
    /// Nothing is out that could go back in.
    NothingOut,
    /// Something is out, but not this.
    NotOut,
    /// Several entries on one line of a case file.
    SeveralEntries,
}

/// What does not fit a drill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Misfit {
    /// The answer is in.
    Over,
    /// `wait` without its minutes.
    NoMinutes,
    /// A reading, which the simulated vehicle gives.
    Reading,
    /// Several entries on a line, each of which has minutes of its own.
    SeveralEntries,
    /// Taking back what was done at the vehicle.
    TakenBack,
    /// No answer to what a reading would rule out.
    NoPrediction,
    /// An answer names what is not in the vehicle.
    UnknownName(String),
    /// A reason, and nothing was done yet.
    NoStep,
    /// A reply, and nothing is asked.
    NoQuestion,
    /// A reply without its number, or without words; so many questions are asked.
    NoReply(usize),
    /// A reply to a question that wants a current.
    NoCurrent,
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
    /// A refusal by the case: the entry is well formed, but it does not apply.
    pub fn unfit(entry: &str, unfit: Unfit, works: impl Into<String>) -> Self {
        Self {
            entry: entry.to_owned(),
            wrong: Wrong::Unfit(unfit),
            works: works.into(),
        }
    }

    /// The line that works with READING where its reading is an example and nobody's, `draw READING`, and with both
    /// answers where one stands for them, `look F3 yes or no`. `None` where it holds nothing but what was typed or is
    /// called so.
    pub fn shape(&self) -> Option<String> {
        if let Some(look) = self.works.strip_suffix(" yes")
            && look
                .rsplit("; ")
                .next()
                .is_some_and(|entry| entry.starts_with("look "))
            && !self.entry.trim_end().to_lowercase().ends_with("yes")
        {
            return Some(format!("{look} yes or no"));
        }
        let invented = |word: &&str| {
            let digits = word.trim_end_matches(char::is_alphabetic);
            SAMPLES.contains(word) && !self.entry.contains(digits)
        };
        let mut words: Vec<&str> = self.works.split(' ').collect();
        let sample = words
            .iter()
            .position(|word| invented(&word.trim_end_matches(';')))?;
        let mark = if words[sample].ends_with(';') {
            "READING;"
        } else {
            "READING"
        };
        words[sample] = mark;
        Some(words.join(" "))
    }

    /// A refusal by a drill.
    pub fn misfit(entry: &str, misfit: Misfit, works: impl Into<String>) -> Self {
        Self {
            entry: entry.to_owned(),
            wrong: Wrong::Drill(misfit),
            works: works.into(),
        }
    }
}
