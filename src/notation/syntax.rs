//! What is wrong with a text that is not RON, said to a person who types it.

use crate::notation::{Field, options, shapes::Unnamed};
use crate::problem::{Fault, Problem, Span};
use ron::error::{Position, SpannedError};
use serde::de::DeserializeSeed;
use std::borrow::Cow;

/// What a kind of file is called and looks like: for what is said about broken syntax.
#[derive(Debug)]
pub struct Form {
    /// The record that the whole file is, for example `Vehicle`.
    pub name: &'static str,
    /// That record in a sentence, for example "the vehicle".
    pub called: &'static str,
    /// The smallest file of this kind.
    pub smallest: &'static str,
    /// What belongs in a list of fields, for example "a part or the name of a field".
    pub belongs: &'static str,
    /// How a piece of it is written.
    pub piece: &'static str,
    /// What stands between commas, with an example.
    pub fields: &'static str,
    /// One field with its value.
    pub field: &'static str,
}

/// A text made ready for ron: what ron would stumble over or be told to do (a byte order mark,
/// `#![enable(…)]`) is noted and blanked, byte for byte, so that all places stay true.
pub struct Source<'t> {
    text: Cow<'t, str>,
    form: &'static Form,
    problems: Vec<Problem>,
}

impl<'t> Source<'t> {
    /// Looks at the head of the text, which is a file of this kind.
    pub fn new(text: &'t str, form: &'static Form) -> Self {
        let mut problems = Vec::new();
        let mut blank: Vec<Span> = Vec::new();
        if text.starts_with('\u{feff}') {
            blank.push(0..3);
            problems.push(Problem::new(
                Fault::ByteOrderMark,
                0..3,
                "the file starts with a byte order mark",
                "save it as UTF-8 without a byte order mark (BOM)",
            ));
        }
        let mut from = blank.first().map_or(0, |b| b.end);
        loop {
            let start = from + gap(&text[from..]);
            if !text[start..].starts_with("#!") {
                break;
            }
            let Some(length) = text[start..].find(']') else {
                break;
            };
            let end = start + length + 1;
            let attribute = &text[start..end];
            if attribute.contains("enable") {
                let words = attribute
                    .find('(')
                    .map_or("", |open| &attribute[open + 1..]);
                for word in words.split(|c: char| !(c.is_alphanumeric() || c == '_')) {
                    if !word.is_empty() && word != "implicit_some" {
                        let at = word.as_ptr() as usize - text.as_ptr() as usize;
                        problems.push(Problem::new(
                            Fault::Extension,
                            at..at + word.len(),
                            format!("the RON extension `{word}` changes how the file is read"),
                            "take this line out; `implicit_some` is always on",
                        ));
                    }
                }
                blank.push(start..end);
            }
            from = end;
        }
        let text = if blank.is_empty() {
            Cow::Borrowed(text)
        } else {
            let mut copy = String::with_capacity(text.len());
            let mut done = 0;
            for span in blank {
                copy.push_str(&text[done..span.start]);
                copy.extend(
                    text[span.clone()]
                        .bytes()
                        .map(|b| if b == b'\n' { '\n' } else { ' ' }),
                );
                done = span.end;
            }
            copy.push_str(&text[done..]);
            Cow::Owned(copy)
        };
        Self {
            text,
            form,
            problems,
        }
    }

    /// The text to read, as long as the original.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What was noted at its head.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Reads the whole text; broken syntax is one problem, at the first place where it shows.
    pub fn read<'s, S: DeserializeSeed<'s>>(&'s self, seed: S) -> Result<S::Value, Box<Problem>> {
        options()
            .from_str_seed(&self.text, seed)
            .map_err(|error| Box::new(explain(&self.text, self.form, &error)))
    }

    /// The fields of the one record that the whole text is; its name may be left out.
    pub fn fields(&self) -> Result<Vec<Field<'_>>, Box<Problem>> {
        self.read(Unnamed(self.form.name))
    }

    /// Where something is reported that the whole file lacks: its first word.
    pub fn head(&self) -> Span {
        let text = self.text();
        let start = text
            .find(self.form.name)
            .or_else(|| text.find('('))
            .unwrap_or(0);
        let word = text[start..].find('(').unwrap_or(0).max(1);
        start..(start + word).min(text.len())
    }
}

/// The bytes of white space and comments at the start of a text.
fn gap(text: &str) -> usize {
    let mut rest = text;
    loop {
        rest = rest.trim_start();
        if let Some(comment) = rest.strip_prefix("//") {
            rest = comment.find('\n').map_or("", |end| &comment[end..]);
        } else if let Some(comment) = rest.strip_prefix("/*") {
            // Nested comments are rare enough in a head to be left to ron's own message.
            rest = comment.find("*/").map_or("", |end| &comment[end + 2..]);
        } else {
            return text.len() - rest.len();
        }
    }
}

/// ron counts lines and characters from 1; a span counts bytes from 0.
fn byte_of(text: &str, position: Position) -> usize {
    let start: usize = text
        .split_inclusive('\n')
        .take(position.line.saturating_sub(1))
        .map(str::len)
        .sum();
    let line = &text[start..];
    start
        + line
            .char_indices()
            .nth(position.col.saturating_sub(1))
            .map_or(line.len(), |(byte, _)| byte)
}

fn explain(text: &str, form: &Form, error: &SpannedError) -> Problem {
    use ron::Error as E;
    let start = byte_of(text, error.span.start).min(text.len());
    let end = byte_of(text, error.span.end).clamp(start, text.len());
    let word = &text[start..];
    let token: usize = word
        .char_indices()
        .take_while(|(_, c)| c.is_alphanumeric() || *c == '_')
        .last()
        .map_or(0, |(i, c)| i + c.len_utf8());
    let next = word.chars().next().map_or(0, char::len_utf8);
    let at = start..end.max(start + token.max(next)).min(text.len());
    if let Some((number, at)) = comma_near(text, start) {
        return Problem::new(
            Fault::DecimalComma,
            at,
            "a decimal comma; RON has a decimal point",
            format!("type {number}"),
        );
    }
    if text.trim().is_empty() {
        return Problem::new(
            Fault::Syntax,
            0..0,
            "the file is empty",
            format!("type {}", form.smallest),
        );
    }
    match &error.code {
        E::ExpectedStringEnd => Problem::new(
            Fault::Syntax,
            at,
            "this text is not closed",
            "type the closing quote \" where the text ends",
        ),
        E::ExceededRecursionLimit => Problem::new(
            Fault::TooDeep,
            at,
            "nested far too deep; 40 levels of parts are read",
            "check the brackets, or leave out splices and connectors that feed one thing only",
        ),
        E::ExpectedDifferentStructName { expected, found } => Problem::new(
            Fault::StructName,
            named_near(text, start, found).unwrap_or(at),
            format!("`{found}` where {expected} belongs"),
            format!("type {expected}(…)"),
        ),
        _ if unclosed_at_end(text, start).is_some() => {
            let open = unclosed_at_end(text, start).unwrap_or(0);
            let bracket = &text[open..=open];
            let close = match bracket {
                "(" => ")",
                "[" => "]",
                _ => "}",
            };
            Problem::new(
                Fault::Syntax,
                text.trim_end().len().saturating_sub(1).max(open)..text.trim_end().len(),
                format!("the file ends, but this `{bracket}` is still open"),
                format!("type {close} where it should end"),
            )
            .beside(open..open + 1, "opened here")
        }
        E::ExpectedComma | E::ExpectedStructLikeEnd | E::ExpectedMapEnd | E::ExpectedArrayEnd => {
            let before = text[..start].trim_end();
            let from = before
                .rfind(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
                .map_or(0, |i| {
                    i + before[i..].chars().next().map_or(1, char::len_utf8)
                });
            let number = &before[from..];
            let unit = &word[..token];
            if !number.is_empty() && !unit.is_empty() && before.len() == start {
                return Problem::new(
                    Fault::NoUnit,
                    from..start + token,
                    "the unit goes in front of the number, which goes in brackets",
                    format!("type {unit}({number})"),
                );
            }
            Problem::new(
                Fault::Syntax,
                at,
                "a comma is missing before this, or a bracket does not match",
                format!("type a comma between two {}", form.fields),
            )
        }
        other => {
            let (message, help) = plain(other, form);
            Problem::new(Fault::Syntax, at, message, help)
        }
    }
}

/// ron's other findings, for a person: what is wrong and what to type.
fn plain(error: &ron::Error, form: &Form) -> (String, String) {
    use ron::Error as E;
    let (message, help) = match error {
        E::InvalidIdentifier(_)
        | E::SuggestRawIdentifier(_)
        | E::ExpectedIdentifier
        | E::ExpectedRawValue => (format!("{} belongs here", form.belongs), form.piece),
        E::ExpectedArray => (
            "a list of parts belongs here".to_owned(),
            "type [ ] with the parts between, or leave `feeds` out",
        ),
        E::ExpectedMapColon => {
            let message = "a colon belongs between a field and its value".to_owned();
            return (message, format!("type it like {}", form.field));
        }
        E::ExpectedStructLike | E::ExpectedNamedStructLike(_) => {
            ("fields in brackets belong here".to_owned(), form.piece)
        }
        E::TrailingCharacters => (
            format!("{} ended, but the file goes on", form.called),
            "take this out, or a closing bracket before it",
        ),
        E::InvalidEscape(_) => (
            "a backslash in a text means something else".to_owned(),
            "type two: \\\\",
        ),
        other => (
            format!("this cannot be read: {}", lower_first(&other.to_string())),
            form.piece,
        ),
    };
    (message, help.to_owned())
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|c| c.to_lowercase().chain(chars).collect())
        .unwrap_or_default()
}

/// Where the word stands at or before a place.
fn named_near(text: &str, near: usize, word: &str) -> Option<Span> {
    if text[near..].starts_with(word) {
        return Some(near..near + word.len());
    }
    text[..near]
        .rfind(word)
        .map(|start| start..start + word.len())
}

/// `3,5` round a place where ron gave up: the number meant and where it stands.
fn comma_near(text: &str, near: usize) -> Option<(String, Span)> {
    let bytes = text.as_bytes();
    let digits_end = near
        + bytes[near..]
            .iter()
            .take_while(|b| b.is_ascii_digit())
            .count();
    let before = text[..near].trim_end_matches(|c: char| c.is_ascii_digit());
    let whole = before.strip_suffix(',')?;
    let from = whole.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let decimals = &text[before.len()..digits_end];
    if from == whole.len() || decimals.is_empty() {
        return None;
    }
    Some((format!("{}.{decimals}", &whole[from..]), from..digits_end))
}

/// The innermost bracket that is open at the end of the text, when the text was broken there.
fn unclosed_at_end(text: &str, near: usize) -> Option<usize> {
    if near < text.trim_end().len() {
        return None;
    }
    let bytes = text.as_bytes();
    let mut open = Vec::new();
    let mut i = 0;
    while i < bytes.len() {
        match bytes[i] {
            b'"' => {
                i += 1;
                while i < bytes.len() && bytes[i] != b'"' {
                    i += if bytes[i] == b'\\' { 2 } else { 1 };
                }
            }
            b'/' if bytes.get(i + 1) == Some(&b'/') => {
                while i < bytes.len() && bytes[i] != b'\n' {
                    i += 1;
                }
            }
            b'/' if bytes.get(i + 1) == Some(&b'*') => {
                i += text[i..].find("*/").unwrap_or(text.len());
            }
            b'(' | b'[' | b'{' => open.push(i),
            b')' | b']' | b'}' => {
                open.pop();
            }
            _ => {}
        }
        i += 1;
    }
    open.pop()
}

/// The number meant by `A(3,5)` or `"3,5"`.
pub(crate) fn decimal_comma(raw: &str) -> Option<f64> {
    let inner = raw
        .rsplit('(')
        .next()?
        .trim_end_matches(')')
        .trim_matches('"')
        .trim();
    let (whole, decimals) = inner.split_once(',')?;
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let decimals = decimals.trim();
    if !digits(whole.trim_start_matches(['-', '+'])) || !digits(decimals) {
        return None;
    }
    format!("{whole}.{decimals}").parse().ok()
}

/// The word in front of the bracket.
pub(crate) fn unit_word(raw: &str) -> Option<&str> {
    let (word, _) = raw.split_once('(')?;
    let word = word.trim();
    (!word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || c == '_')).then_some(word)
}

/// `12mA`, `12 mA`.
pub(crate) fn number_then_unit(plain: &str) -> Option<(f64, &str)> {
    let split = plain.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))?;
    let number = plain[..split].parse().ok()?;
    let unit = plain[split..].trim();
    (!unit.is_empty() && unit.chars().all(char::is_alphanumeric)).then_some((number, unit))
}

/// The first number in a text.
pub(crate) fn first_number(raw: &str) -> Option<f64> {
    let start = raw.find(|c: char| c.is_ascii_digit())?;
    let rest = &raw[start..];
    let end = rest
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(rest.len());
    rest[..end].parse().ok()
}
