//! A name of the vehicle that was told with a letter wrong.

use super::said::{NO, WORDS, words};
use crate::feeds::Feeds;
use std::collections::BTreeSet;

/// From so many letters on a word with one of them wrong is taken for another word's slip; a shorter one
/// only where two letters changed places (judgement: short words are too much alike).
const LONG_ENOUGH: usize = 5;

/// Shorter words are left alone.
const SHORTEST: usize = 4;

/// Letters that changed places, or else one that is wrong, missing or too many.
fn is_slip_of(typed: &str, known: &str) -> bool {
    let sorted = |word: &str| {
        let mut letters: Vec<char> = word.chars().collect();
        letters.sort_unstable();
        letters
    };
    let long = typed.chars().count();
    strsim::damerau_levenshtein(typed, known) == 1
        && (long >= LONG_ENOUGH || long >= SHORTEST && sorted(typed) == sorted(known))
}

/// The first word of a text that is none of the vehicle's and none of the trade's, but for one letter, with
/// the word that it is like; `None` where another word of the text is known. O(words of the text times
/// words of all names).
pub fn misspelt(feeds: &Feeds, text: &str) -> Option<(String, String)> {
    let mut known: BTreeSet<String> = BTreeSet::new();
    for (name, _) in feeds.names() {
        known.extend(words(name));
    }
    for part in feeds.parts() {
        let written = feeds.part(part);
        let also = [&written.name, &written.label];
        known.extend(also.into_iter().flatten().flat_map(|name| words(name)));
    }
    known.extend(
        WORDS
            .iter()
            .flat_map(|(_, list)| list.iter().map(|word| (*word).to_owned())),
    );
    let said = words(text);
    if said.iter().any(|word| known.contains(word)) {
        return None;
    }
    let said = said.into_iter().filter(|word| !NO.contains(&word.as_str()));
    said.filter(|word| word.chars().count() >= SHORTEST)
        .find_map(|word| {
            let near = known.iter().find(|known| is_slip_of(&word, known))?.clone();
            Some((word, near))
        })
}
