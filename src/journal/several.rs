//! Several readings typed as one list, `drop F1 0.0mV, F2 0.0mV`: the line with `;` between that is meant.

use crate::journal::options::is_option;
use crate::journal::parsing::method;

/// What parts a list besides commas.
const BETWEEN: [&str; 3] = ["and", "&", "+"];

/// A list of readings in one entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct List {
    /// What stands behind the first, as it was typed.
    pub others: String,
    /// The lines that it may stand for, likeliest first: each reading an entry of its own; the one at the end
    /// behind each.
    pub lines: Vec<String>,
}

/// An entry that is refused, read as a list; `None` where it is none. What it makes of it is a guess, which the
/// case takes or does not.
pub fn as_list(entry: &str) -> Option<List> {
    let (word, rest) = entry.trim().split_once(char::is_whitespace)?;
    let pieces = pieces(rest);
    let [_, others @ ..] = pieces.as_slice() else {
        return None;
    };
    if others.is_empty() {
        return None;
    }
    let line = |pieces: &[String]| {
        // A piece may say its own test, also another one: `draw 0.6A, drop F3 1mV`.
        let says = |piece: &str| {
            let (first, behind) = piece.split_once(' ').unwrap_or((piece, ""));
            method(&first.to_lowercase()).is_some() && !behind.is_empty()
        };
        let entries = pieces.iter().map(|piece| {
            if says(piece) {
                piece.clone()
            } else {
                format!("{word} {piece}")
            }
        });
        entries.collect::<Vec<_>>().join("; ")
    };
    let each = one_reading_each(&pieces);
    let lines = std::iter::once(line(&pieces)).chain(each.map(|each| line(&each)));
    Some(List {
        others: others.join(", "),
        lines: lines.collect(),
    })
}

/// The pieces of a list: between commas with a space behind, between words that join, and behind each reading.
fn pieces(list: &str) -> Vec<String> {
    let mut pieces = vec![Vec::new()];
    let mut words = list.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let next = words.peek().copied().unwrap_or_default();
        let bare = word.trim_end_matches(',');
        let joins = BETWEEN.contains(&word.to_lowercase().as_str());
        if let Some(piece) = pieces.last_mut().filter(|_| !bare.is_empty() && !joins) {
            piece.push(bare);
        }
        let ends = bare != word || joins || (ends_in_unit(bare) && !is_option(next));
        if ends && pieces.last().is_some_and(|piece| !piece.is_empty()) {
            pieces.push(Vec::new());
        }
    }
    let whole = pieces.into_iter().filter(|piece| !piece.is_empty());
    whole.map(|piece| piece.join(" ")).collect()
}

fn ends_in_unit(word: &str) -> bool {
    let number = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let unit = word[number.len()..].to_lowercase();
    matches!(unit.as_str(), "mv" | "v" | "ma" | "a") && (number.is_empty() || is_number(number))
}

fn is_number(text: &str) -> bool {
    text.ends_with(|c: char| c.is_ascii_digit())
}

/// `F1, F2 0.0mV`: the reading that stands behind the last, behind each.
fn one_reading_each(pieces: &[String]) -> Option<Vec<String>> {
    let (last, others) = pieces.split_last()?;
    let (_, reading) = last.rsplit_once(' ')?;
    let each = others.iter().map(|piece| format!("{piece} {reading}"));
    Some(each.chain([last.clone()]).collect())
}
