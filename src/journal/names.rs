//! The names a person may type, found at the start of a text.

use crate::feeds::{Feeds, Named, PartId};
use crate::journal::Wrong;
use std::collections::BTreeMap;

/// An index of all names of a vehicle.
#[derive(Clone, Debug, Default)]
pub struct Names {
    exact: BTreeMap<String, Named>,
    /// Lower case with single spaces → the names written like that.
    folded: BTreeMap<String, Vec<String>>,
    longest: usize,
}

/// One way to read the start of a text as a name.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    /// The name as the file has it.
    pub(super) name: String,
    /// What it means.
    pub(super) named: Named,
    /// Bytes of the text it takes.
    pub(super) length: usize,
}

fn fold(text: &str) -> String {
    text.split_whitespace()
        .map(str::to_lowercase)
        .collect::<Vec<_>>()
        .join(" ")
}

impl Names {
    /// All names of a vehicle; what the lid says (`label`) counts where it names one part alone.
    pub fn of(feeds: &Feeds) -> Self {
        let mut names = Self::from_list(
            feeds
                .names()
                .map(|(name, named)| (name.to_owned(), named.clone())),
        );
        for part in feeds.parts() {
            if let Some(label) = &feeds.part(part).label {
                let id = feeds.id(part).to_owned();
                let folded = fold(label);
                if !folded.is_empty() {
                    names.longest = names.longest.max(label.chars().count());
                    let list = names.folded.entry(folded).or_default();
                    // An id beats a label: an id is unique.
                    let taken_by_id = list.iter().any(|n| fold(n) == fold(label));
                    if !taken_by_id && !list.contains(&id) {
                        list.push(id);
                    }
                }
            }
        }
        names
    }

    /// An index of the names listed.
    pub fn from_list(list: impl IntoIterator<Item = (String, Named)>) -> Self {
        let mut names = Self::default();
        for (name, named) in list {
            names.longest = names.longest.max(name.chars().count());
            names
                .folded
                .entry(fold(&name))
                .or_default()
                .push(name.clone());
            names.exact.insert(name, named);
        }
        names
    }

    /// The battery's id.
    pub fn battery(&self) -> &str {
        self.name_of(&Named::Part(PartId(0))).unwrap_or("battery")
    }

    /// The name of what is meant.
    pub fn name_of(&self, wanted: &Named) -> Option<&str> {
        self.exact
            .iter()
            .find(|(_, named)| *named == wanted)
            .map(|(name, _)| name.as_str())
    }

    /// The names of all places.
    pub(super) fn places(&self) -> impl Iterator<Item = &str> {
        self.exact
            .iter()
            .filter(|(_, named)| matches!(named, Named::Place(_)))
            .map(|(name, _)| name.as_str())
    }

    /// What a name means, exactly as written in the file.
    pub fn get(&self, name: &str) -> Option<&Named> {
        self.exact.get(name)
    }

    /// | written | result |
    /// | --- | --- |
    /// | exactly as in the file | it |
    /// | with other capitals or spacing, one name fits | it |
    /// | the same, several fit | [`Wrong::SeveralNames`] |
    /// | otherwise | `None` |
    fn look_up(&self, text: &str) -> Result<Option<(String, Named)>, Wrong> {
        if let Some(named) = self.exact.get(text) {
            return Ok(Some((text.to_owned(), named.clone())));
        }
        let Some(list) = self.folded.get(&fold(text)) else {
            return Ok(None);
        };
        match list.as_slice() {
            [name] => Ok(self
                .exact
                .get(name)
                .map(|named| (name.clone(), named.clone()))),
            several => Err(Wrong::SeveralNames {
                typed: text.to_owned(),
                names: several.to_vec(),
            }),
        }
    }

    /// Every name the text starts with, the longest first, each followed by white space, `,`, `:`,
    /// `=` or the end. A text in quotes has one reading only.
    pub(super) fn at_start(&self, text: &str) -> Result<Vec<Found>, Wrong> {
        if let Some((name, length)) = unquote(text) {
            return match self.exact.get(&name) {
                Some(named) => Ok(vec![Found {
                    named: named.clone(),
                    name,
                    length,
                }]),
                None => Err(Wrong::unknown(&name, self.nearest(&name))),
            };
        }
        let mut found = Vec::new();
        let mut unclear = None;
        // White space may be doubled, so allow some more than the longest name.
        let reach = self.longest * 2 + 2;
        let mut before = ' ';
        for (count, (at, c)) in text
            .char_indices()
            .chain(std::iter::once((text.len(), ' ')))
            .enumerate()
        {
            if count > reach {
                break;
            }
            let boundary = c.is_whitespace() || matches!(c, ',' | ':' | '=');
            if boundary && at > 0 && !before.is_whitespace() {
                match self.look_up(&text[..at]) {
                    Ok(Some((name, named))) => found.push(Found {
                        name,
                        named,
                        length: at,
                    }),
                    Ok(None) => {}
                    Err(wrong) => unclear = Some(wrong),
                }
            }
            before = c;
        }
        found.reverse();
        match unclear {
            Some(wrong) if found.is_empty() => Err(wrong),
            _ => Ok(found),
        }
    }

    /// The known name most like the text, if any is like it.
    pub fn nearest(&self, text: &str) -> Option<String> {
        let wanted = fold(text);
        nearest(&wanted, self.exact.keys().map(String::as_str))
    }
}

/// The word of the list most like the one typed, where one is like it at all.
pub(super) fn nearest<'a>(typed: &str, list: impl Iterator<Item = &'a str>) -> Option<String> {
    let typed = typed.to_lowercase();
    let allowed = (typed.chars().count() / 3).max(1);
    list.map(|word| {
        (
            strsim::damerau_levenshtein(&typed, &word.to_lowercase()),
            word,
        )
    })
    .filter(|(distance, _)| *distance <= allowed)
    .min_by_key(|(distance, word)| (*distance, word.len()))
    .map(|(_, word)| word.to_owned())
}

/// A text in double quotes at the start, and the bytes it takes; the closing quote must be followed
/// by a boundary, so that an inch sign is not one.
pub(super) fn unquote(text: &str) -> Option<(String, usize)> {
    let mut characters = text.char_indices();
    if characters.next()?.1 != '"' {
        return None;
    }
    let mut name = String::new();
    while let Some((at, c)) = characters.next() {
        match c {
            '"' => {
                let rest = &text[at + 1..];
                let boundary = rest.is_empty()
                    || rest.starts_with(|c: char| {
                        c.is_whitespace() || matches!(c, ',' | ':' | '=' | ';')
                    });
                return boundary.then_some((name, at + 1));
            }
            '\\' => match characters.next()?.1 {
                'u' => {
                    let digits: String = characters
                        .by_ref()
                        .map(|(_, c)| c)
                        .skip_while(|c| *c == '{')
                        .take_while(|c| *c != '}')
                        .collect();
                    name.push(char::from_u32(u32::from_str_radix(&digits, 16).ok()?)?);
                }
                other => name.push(other),
            },
            other => name.push(other),
        }
    }
    None
}

/// The text in double quotes, as [`unquote`] reads it.
pub(super) fn quote(name: &str) -> String {
    let mut text = String::from("\"");
    for c in name.chars() {
        match c {
            '"' | '\\' => {
                text.push('\\');
                text.push(c);
            }
            c if c.is_control() => text.extend(c.escape_unicode()),
            c => text.push(c),
        }
    }
    text.push('"');
    text
}
