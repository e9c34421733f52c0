//! What was put into a case, in words.

use crate::case::{Entry, TakenFor, TakenOut};
use crate::measurement::Jack;
use crate::problem::clean;
use crate::render::words::{listed, plain};
use std::fmt::Write as _;

/// The entries as they are kept, a line each with its number, then those that no longer count.
pub fn recorded(entries: &[Entry], no_longer: &[&Entry]) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    for entry in entries {
        let _ = writeln!(out, "{:>4}  {}", entry.number, clean(&entry.text));
    }
    for entry in no_longer {
        let (number, text) = (entry.number, clean(&entry.text));
        let _ = writeln!(out, "      entry {number} no longer counts: {text}");
    }
    out
}

/// The same in lines of at most `width` columns; what goes on stands below its text.
pub(super) fn recorded_within(entries: &[Entry], no_longer: &[&Entry], width: usize) -> String {
    let look = textwrap::Options::new(width)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .subsequent_indent("      ");
    let mut out = String::new();
    for line in recorded(entries, no_longer).lines() {
        out.push_str(&textwrap::fill(line, &look));
        out.push('\n');
    }
    out
}

/// What was taken for granted of a reading that does not say it.
pub fn taken_for_words(taken: &TakenFor) -> String {
    match taken {
        TakenFor::Unit(number, unit) => format!(
            "{number} for {number} {unit}; if it was another unit: undo, and type it with that"
        ),
        TakenFor::Jack(Jack::MilliA) => {
            "as read on the mA jack, by its digits; if it was the A jack: undo, and add jack A"
                .into()
        }
        TakenFor::TooFine(step, amps) => format!(
            "as read on the mA jack, which shows steps of {} mA and not that many digits: was it amps? Then undo, and {amps}",
            plain(step.value())
        ),
        TakenFor::Jack(_) => {
            "as read on the A jack, by its digits; if it was the mA jack: undo, and add jack mA"
                .into()
        }
    }
}

/// What taking entries back has changed.
#[derive(Debug)]
pub struct Gone<'c> {
    /// The entries that count no more.
    pub entries: Vec<&'c Entry>,
    /// What was out, and is in by what is entered.
    pub in_again: Vec<TakenOut>,
    /// What was in, and is out by what is entered.
    pub out_again: Vec<TakenOut>,
}

/// That taking back an entry moves nothing at the vehicle.
pub fn by_hand(gone: &Gone<'_>) -> Option<String> {
    let names = |taken: &[TakenOut]| {
        let names: Vec<String> = taken.iter().map(|t| clean(&t.name)).collect();
        (listed(&names), names.join(", "))
    };
    let counts = |one: bool| if one { "counts" } else { "count" };
    let it = |one: bool| if one { "it" } else { "them" };
    let (one, other) = (gone.in_again.len() == 1, gone.out_again.len() == 1);
    let mut said = Vec::new();
    if let Some(first) = gone.in_again.first() {
        let (names, typed) = names(&gone.in_again);
        let word = if first.unplugged { "unplug" } else { "pull" };
        said.push(format!(
            "{names} {} as in again. At the vehicle put {} back by hand, and if that wakes it: awake; or, if {} to stay out, type {word} {typed}.",
            counts(one),
            it(one),
            if one { "it is" } else { "they are" },
        ));
    }
    if !gone.out_again.is_empty() {
        let (names, typed) = names(&gone.out_again);
        said.push(format!(
            "{names} {} as out again. At the vehicle take {} out, and if that wakes it: awake; or, if {} in, type refit {typed}.",
            counts(other),
            it(other),
            if other { "it is" } else { "they are" },
        ));
    }
    (!said.is_empty()).then(|| said.join(" "))
}
