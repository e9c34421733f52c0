//! What is wrong with a text that is not RON, said to a person who types it.

use crate::notation::{Field, options, shapes::Unnamed};
use crate::problem::{Finding, Form, Problem, Span, words};
use ron::error::{Position, SpannedError};
use serde::de::DeserializeSeed;
use std::borrow::Cow;

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
            problems.push(words::byte_order_mark().at(0..3));
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
                        problems.push(words::extension(word).at(at..at + word.len()));
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

/// What word processors make of quotes.
const CURLY: &[char] = &[
    '\u{201c}', '\u{201d}', '\u{201e}', '\u{2018}', '\u{2019}', '\u{ab}', '\u{bb}',
];

/// The first row of a text that looks like a table: several cells and no bracket.
fn a_table(text: &str) -> Option<Span> {
    let start = text.len()
        - text
            .trim_start_matches(['\u{feff}', ' ', '\t', '\r', '\n'])
            .len();
    let row = text[start..].lines().next()?.trim_end();
    let parted = [';', '\t', ','].iter().any(|parts| row.contains(*parts));
    let told = row.starts_with("sep=");
    let plain = !row.contains(['(', '[', '{', ':']) && !row.starts_with(['#', '/']);
    ((parted && plain) || told).then(|| start..start + row.len())
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
        return words::decimal_comma(&[number]).at(at);
    }
    if text.trim().is_empty() {
        return words::empty_file(form).at(0..0);
    }
    if word.starts_with(CURLY) {
        let inner = word.trim_start_matches(CURLY);
        let ends = |c: char| CURLY.contains(&c) || matches!(c, '"' | '\n' | ',');
        let inner = &inner[..inner.find(ends).unwrap_or(inner.len())];
        return words::curly_quotes(inner).at(at);
    }
    if let Some(at) = a_table(text).filter(|_| form.name == Form::VEHICLE.name) {
        return words::a_table().at(at);
    }
    match &error.code {
        E::ExpectedStringEnd => words::text_not_closed().at(at),
        E::ExceededRecursionLimit => words::far_too_deep().at(at),
        E::ExpectedDifferentStructName { expected, found } => {
            words::other_name(found, expected).at(named_near(text, start, found).unwrap_or(at))
        }
        _ if unclosed_at_end(text, start).is_some() => {
            let open = unclosed_at_end(text, start).unwrap_or(0);
            let bracket = &text[open..=open];
            let close = match bracket {
                "(" => ")",
                "[" => "]",
                _ => "}",
            };
            let end = text.trim_end().len();
            words::still_open(bracket, close, &(open..open + 1))
                .at(end.saturating_sub(1).max(open)..end)
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
                return words::unit_behind_number(number, unit).at(from..start + token);
            }
            words::no_comma(form).at(at)
        }
        other => plain(other, form).at(at),
    }
}

/// ron's other findings, for a person; none of its own words is shown.
fn plain(error: &ron::Error, form: &Form) -> Finding {
    use ron::Error as E;
    match error {
        E::InvalidIdentifier(_)
        | E::SuggestRawIdentifier(_)
        | E::ExpectedIdentifier
        | E::ExpectedRawValue => words::no_piece(form),
        E::ExpectedArray => words::no_list_of_parts(),
        E::ExpectedMapColon => words::no_colon(form),
        E::ExpectedStructLike | E::ExpectedNamedStructLike(_) => words::no_fields(form),
        E::TrailingCharacters => words::goes_on(form),
        E::InvalidEscape(_) => words::backslash(),
        E::Eof => words::ends_in_the_middle(),
        E::ExpectedAttribute | E::ExpectedAttributeEnd | E::NoSuchExtension(_) => {
            words::attribute()
        }
        E::UnclosedBlockComment => words::comment_not_closed(),
        E::UnclosedLineComment => words::line_not_closed(),
        E::UnexpectedChar(sign) => words::odd_sign(*sign),
        E::ExpectedMap => words::no_names(),
        E::ExpectedString | E::ExpectedByteString | E::ExpectedChar => words::no_text(),
        E::ExpectedBoolean => words::true_or_false_here(),
        E::ExpectedInteger
        | E::ExpectedFloat
        | E::FloatUnderscore
        | E::UnderscoreAtBeginning
        | E::IntegerOutOfBounds
        | E::InvalidIntegerDigit { .. } => words::no_digits(),
        _ => words::unreadable(form),
    }
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
