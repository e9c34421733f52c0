//! A line taken apart: entries, words, names in quotes, free text.

use crate::journal::parsing::WORDS;

/// The first entry of a text and what is behind its `;`. `note` reaches to the end of the line, `told` to
/// a `;` behind which the next entry or nothing stands, or to the end as well where the text was `kept` as
/// one entry; a `;` inside a quoted name does not part entries.
pub(super) fn first_entry(text: &str, kept: bool) -> (&str, Option<&str>) {
    let told = starts_with_word(text, "told");
    let whole_line = starts_with_word(text, "note") || (told && kept);
    let parts = |behind: &str| {
        let next = behind.split([';', '\n', '\r']).next().unwrap_or("");
        let entry = || WORDS.iter().any(|word| starts_with_word(next, word));
        !told || next.trim().is_empty() || entry()
    };
    let mut at = 0;
    let mut before = ' ';
    while let Some(c) = text[at..].chars().next() {
        if matches!(c, '\n' | '\r') || (c == ';' && !whole_line && parts(&text[at + 1..])) {
            return (&text[..at], Some(&text[at + 1..]));
        }
        if !(whole_line || told)
            && starts_quotes(before, c)
            && let Some((_, length)) = unquote(&text[at..])
        {
            at += length;
        } else {
            at += c.len_utf8();
        }
        before = c;
    }
    (text, None)
}

/// Whether a text begins with this word, in any capitals. Not by [`word_at`]: a line of many entries without
/// blanks is one long word to it.
fn starts_with_word(text: &str, word: &str) -> bool {
    let start = text.trim_start().split_at_checked(word.len());
    start.is_some_and(|(start, rest)| {
        let ends = rest.is_empty() || rest.starts_with(|c: char| c.is_whitespace() || c == ':');
        ends && start.eq_ignore_ascii_case(word)
    })
}

/// The first word, which a `:` may end, and the rest without the white space around it.
pub(super) fn word_at(text: &str) -> (&str, &str) {
    let text = text.trim_start();
    let end = text
        .find(|c: char| c.is_whitespace() || c == ':')
        .unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    (word, rest.trim_start_matches(':').trim())
}

/// Without the marks that may stand between a name and what is said of it.
pub(super) fn past_marks(text: &str) -> &str {
    text.trim_start_matches(ends_name)
}

/// What is behind a comma, `and`, `&` or `, and` between two names; `None` where there is none.
pub(super) fn past_separator(text: &str) -> Option<&str> {
    let text = text.trim_start();
    let behind = text.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, ',' | '&'));
    if let Some((word, rest)) = behind.split_at_checked(3)
        && word.eq_ignore_ascii_case("and")
        && rest.starts_with(char::is_whitespace)
    {
        return Some(rest.trim_start());
    }
    (behind.len() < text.len()).then_some(behind)
}

/// The text with a blank for every control character but line ends, which part entries.
pub(super) fn without_controls(text: &str) -> String {
    let blank = |c: char| c.is_control() && !matches!(c, '\n' | '\r');
    text.chars()
        .map(|c| if blank(c) { ' ' } else { c })
        .collect()
}

/// What stands for itself: a reason, a remark, a word to echo.
pub(super) fn free(text: &str) -> String {
    text.trim().to_owned()
}

/// Words parted by single blanks, in lower case.
pub(super) fn fold(text: &str) -> String {
    let words: Vec<_> = text.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}

/// Whether a name can end before this character.
pub(super) fn ends_name(c: char) -> bool {
    c.is_whitespace() || matches!(c, ',' | ':' | '=')
}

/// Whether words in quotes may start here; an inch sign stands behind its number.
pub(super) fn starts_quotes(before: char, c: char) -> bool {
    c == '"' && ends_name(before)
}

/// A text in double quotes at the start, and the bytes it takes; the closing quote must end a word,
/// so that an inch sign is not one.
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
                let ends = rest.is_empty() || rest.starts_with(|c: char| ends_name(c) || c == ';');
                return ends.then_some((name, at + 1));
            }
            '\\' => match characters.next()?.1 {
                'u' => {
                    characters.next().filter(|(_, c)| *c == '{')?;
                    let mut number = 0;
                    loop {
                        match characters.next()?.1 {
                            '}' => break,
                            c => number = number * 16 + c.to_digit(16)?,
                        }
                        if number > u32::from(char::MAX) {
                            return None;
                        }
                    }
                    name.push(char::from_u32(number)?);
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
            '"' | '\\' => text.extend(['\\', c]),
            c if c.is_control() => text.extend(c.escape_unicode()),
            c => text.push(c),
        }
    }
    text.push('"');
    text
}
