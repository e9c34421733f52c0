//! Several readings typed as one list, `drop F1 0.0mV, F2 0.0mV`: the line with `;` between that is taken.

use crate::case::Case;
use crate::journal::{Refusal, Wrong};

/// What may stand behind a reading in the same entry.
const OPTIONS: [&str; 7] = ["by", "turns", "jack", "with", "at", "sure", "reversed"];

/// What parts a list besides commas.
const BETWEEN: [&str; 3] = ["and", "&", "+"];

/// A refusal with the line that works for all of a list, where the refused line is one and such a line is taken;
/// else as it was. A wrong guess is refused by a copy of the case, so it does no harm.
pub(super) fn with_all(refusal: Refusal, line: &str, case: &Case<'_>) -> Refusal {
    let entry = refusal.entry.trim();
    let around = line.split_once(entry);
    let (Some((before, behind)), Some((word, rest))) =
        (around, entry.split_once(char::is_whitespace))
    else {
        return refusal;
    };
    let pieces = pieces(rest);
    let [_, others @ ..] = pieces.as_slice() else {
        return refusal;
    };
    let typed = others.join(", ");
    let each = one_reading_each(&pieces);
    let lines = [Some(pieces.clone()), each].into_iter().flatten();
    let mut works = lines.map(|pieces| {
        let entries = pieces.iter().map(|piece| match piece.strip_prefix(word) {
            Some(named) if named.starts_with(char::is_whitespace) => piece.clone(),
            _ => format!("{word} {piece}"),
        });
        let entries = entries.collect::<Vec<_>>().join("; ");
        format!("{before}{entries}{behind}")
    });
    match works.find(|works| case.clone().record(works).is_ok()) {
        Some(works) => Refusal {
            wrong: Wrong::Trailing { typed },
            works,
            ..refusal
        },
        None => refusal,
    }
}

/// The pieces of a list: between commas with a space behind, between words that join, and behind each reading.
fn pieces(list: &str) -> Vec<String> {
    let mut pieces = vec![Vec::new()];
    let mut words = list.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let next = words.peek().copied().unwrap_or_default();
        let option = OPTIONS.contains(&next.to_lowercase().as_str());
        let bare = word.trim_end_matches(',');
        let joins = BETWEEN.contains(&word.to_lowercase().as_str());
        if let Some(piece) = pieces.last_mut().filter(|_| !bare.is_empty() && !joins) {
            piece.push(bare);
        }
        let ends = bare != word || joins || (ends_in_unit(bare) && !option);
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
