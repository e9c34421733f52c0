//! A RON text as its smallest pieces, comments among them.

use crate::problem::Span;

/// What a piece of RON text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Token {
    /// `// …` to the end of its line, `/* … */`, or an attribute `#![…]`.
    Comment,
    /// A text in quotes, raw or not, or a character.
    Text,
    /// A name, a number or a word.
    Word,
    /// A bracket, comma or colon.
    Mark(char),
}

/// The pieces of a text in order; white space and a byte order mark are left out. Nothing is left out
/// of a text that is no RON either: what is unclosed ends with the text.
pub fn tokens(text: &str) -> impl Iterator<Item = (Token, Span)> + '_ {
    let mut at = 0;
    std::iter::from_fn(move || {
        let rest = text.get(at..)?;
        let skipped = rest.trim_start_matches(|c: char| c.is_whitespace() || c == '\u{feff}');
        let start = at + rest.len() - skipped.len();
        let (token, length) = first(skipped)?;
        at = start + length;
        Some((token, start..at))
    })
}

/// The first piece of a text that starts with one, and its length.
fn first(text: &str) -> Option<(Token, usize)> {
    let mut chars = text.chars();
    let (one, two) = (chars.next()?, chars.next());
    Some(match (one, two) {
        ('/', Some('/')) => (Token::Comment, text.find('\n').unwrap_or(text.len())),
        ('/', Some('*')) => (Token::Comment, block_comment(text)),
        ('#', Some('!')) => (Token::Comment, through(text, 2, "]")),
        ('"', _) => (Token::Text, quoted(text, '"')),
        ('\'', _) => (Token::Text, quoted(text, '\'')),
        ('r', Some('#' | '"')) => raw(text),
        ('(' | ')' | '[' | ']' | '{' | '}' | ',' | ':', _) => (Token::Mark(one), one.len_utf8()),
        _ => (Token::Word, word(text).max(one.len_utf8())),
    })
}

/// Up to and with `end`, looked for behind the first `from` bytes.
fn through(text: &str, from: usize, end: &str) -> usize {
    text[from..]
        .find(end)
        .map_or(text.len(), |at| from + at + end.len())
}

fn block_comment(text: &str) -> usize {
    let bytes = text.as_bytes();
    let (mut at, mut depth) = (0, 0);
    while at < bytes.len() {
        match bytes.get(at..at + 2) {
            Some(b"/*") => (depth, at) = (depth + 1, at + 2),
            Some(b"*/") => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
        if depth == 0 {
            return at;
        }
    }
    text.len()
}

fn quoted(text: &str, quote: char) -> usize {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        if escaped {
            escaped = false;
        } else if c == '\\' {
            escaped = true;
        } else if c == quote {
            return at + 1;
        }
    }
    text.len()
}

/// `r"…"`, `r#"…"#`; else the word it starts, such as `r#name`.
fn raw(text: &str) -> (Token, usize) {
    let hashes = text[1..].bytes().take_while(|b| *b == b'#').count();
    let open = 1 + hashes;
    if text[open..].starts_with('"') {
        let end = format!("\"{}", "#".repeat(hashes));
        (Token::Text, through(text, open + 1, &end))
    } else {
        (Token::Word, open + word(&text[open..]))
    }
}

fn word(text: &str) -> usize {
    text.find(|c: char| c.is_whitespace() || "()[]{},:\"'/#\u{feff}".contains(c))
        .unwrap_or(text.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces() {
        let text = "#![type = \"x\"]\n/* a /* b */ c */ Fuse(id: r#\"F\"1\"#, // (\n n: -1.5e3, \"a\\\"b\": ['c', r\"\\\"]) /x";
        let pieces: Vec<_> = tokens(text).map(|(t, at)| (t, &text[at])).collect();
        let mark = |c: &'static str| (Token::Mark(c.chars().next().unwrap_or(' ')), c);
        assert_eq!(
            pieces,
            [
                (Token::Comment, "#![type = \"x\"]"),
                (Token::Comment, "/* a /* b */ c */"),
                (Token::Word, "Fuse"),
                mark("("),
                (Token::Word, "id"),
                mark(":"),
                (Token::Text, "r#\"F\"1\"#"),
                mark(","),
                (Token::Comment, "// ("),
                (Token::Word, "n"),
                mark(":"),
                (Token::Word, "-1.5e3"),
                mark(","),
                (Token::Text, "\"a\\\"b\""),
                mark(":"),
                mark("["),
                (Token::Text, "'c'"),
                mark(","),
                (Token::Text, "r\"\\\""),
                mark("]"),
                mark(")"),
                (Token::Word, "/"),
                (Token::Word, "x"),
            ]
        );
    }
}
