//! Problems as text for a person and as rows of data; text in, text out.
//!
//! Nothing leaves this file before [`clean`] has seen it.

use crate::problem::{Problem, Severity, Span};
use serde::Serialize;
use std::fmt::Write as _;

#[cfg(feature = "cli")]
use crate::problem::drawing::draw;

/// At most this many problems are drawn; of the next each has a line.
const SHOWN: usize = 20;
/// At most this many have a line; the rest are counted.
const LISTED: usize = 200;

/// How problems are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Columns to wrap at.
    pub width: usize,
    /// With colours; nothing depends on them.
    pub colour: bool,
    /// Line-drawing characters; plain ASCII otherwise.
    pub unicode: bool,
}

/// The text with every character replaced that could act on a terminal or hide what is there:
/// controls (line feed and tab stay), text-direction marks, odd line ends, invisible characters.
///
/// Each is replaced by one of the same length in bytes, so places stay true.
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let hostile = (c.is_control() && c != '\n' && c != '\t')
            || matches!(c,
                '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
                | '\u{e0000}'..='\u{e007f}');
        if !hostile {
            out.push(c);
            continue;
        }
        out.push(match c.len_utf8() {
            1 if c == '\r' => ' ',
            1 => '?',
            2 => '\u{a4}',
            3 => '\u{fffd}',
            _ => '\u{1f7a8}',
        });
    }
    out
}

/// The same on one line: for messages, names and file names.
pub(super) fn clean_line(text: &str) -> String {
    clean(text).replace(['\n', '\t'], " ")
}

/// Where lines start, and columns in characters; both count from 1. A byte order mark is no column.
pub(super) struct Lines<'t> {
    text: &'t str,
    /// The byte at which each line starts.
    pub(super) starts: Vec<usize>,
    /// A byte and its column, the last that was asked for.
    counted: (usize, usize),
}

impl<'t> Lines<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
        Self {
            text,
            counted: (0, 1),
            starts: std::iter::once(0).chain(ends.map(|(i, _)| i + 1)).collect(),
        }
    }

    /// The line of a byte, from 0.
    fn line(&self, byte: usize) -> usize {
        self.starts.partition_point(|start| *start <= byte) - 1
    }

    /// Line and column of a byte. Problems come in the order of the file, so a column is counted on
    /// from the last one on the same line; a line of a megabyte is not counted over and over.
    fn line_and_column(&mut self, byte: usize) -> (usize, usize) {
        let line = self.line(byte);
        let start = self.starts[line];
        let mark = self.text[start..].starts_with('\u{feff}');
        let first = if mark { start + 3 } else { start };
        if self.counted.0 < first || self.counted.0 > byte {
            self.counted = (first.min(byte), 1);
        }
        let (from, column) = self.counted;
        self.counted = (byte, column + self.text[from..byte].chars().count());
        (line + 1, self.counted.1)
    }
}

/// The place moved inside the text and onto whole characters.
pub(super) fn inside(text: &str, span: &Span) -> Span {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// One problem as data.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Row {
    /// Its stable short name.
    pub code: &'static str,
    /// `error`, `warning` or `advice`.
    pub severity: &'static str,
    /// What is wrong.
    pub message: String,
    /// What to type instead.
    pub help: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Line of the first character behind it, from 1.
    pub line_end: usize,
    /// Column of the first character behind it, from 1.
    pub column_end: usize,
    /// What it is about, as `accept` names it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
}

const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Advice => "advice",
    }
}

/// The problems as data, in the given order, with lines and columns.
pub fn rows(text: &str, problems: &[Problem]) -> Vec<Row> {
    let mut lines = Lines::new(text);
    problems
        .iter()
        .map(|problem| {
            let at = inside(text, &problem.at);
            let (line, column) = lines.line_and_column(at.start);
            let (line_end, column_end) = lines.line_and_column(at.end);
            Row {
                code: problem.code,
                severity: severity(problem.severity),
                message: clean_line(&problem.message),
                help: clean_line(&problem.help),
                line,
                column,
                line_end,
                column_end,
                about: problem.about.as_deref().map(clean_line),
            }
        })
        .collect()
}

/// The problems drawn with their place in the text, 20 at most; of the next 200 place and fault in a
/// line, then how many more there are.
///
/// Empty when there are none.
pub fn show(file: &str, text: &str, problems: &[Problem], look: Look) -> String {
    if problems.is_empty() {
        return String::new();
    }
    let shown = &problems[..problems.len().min(SHOWN)];
    let mut out = draw(&clean_line(file), &clean(text), shown, look);
    let beyond = &problems[shown.len()..];
    let listed = &beyond[..beyond.len().min(LISTED)];
    for row in rows(text, listed) {
        let Row {
            line,
            column,
            code,
            message,
            ..
        } = row;
        let _ = writeln!(
            out,
            "{}:{line}:{column}: {code}: {message}",
            clean_line(file)
        );
    }
    if beyond.len() > LISTED {
        let _ = writeln!(out, "and {} more", beyond.len() - LISTED);
    }
    out
}

/// Without the command line's drawing: place, fault and help in two lines.
#[cfg(not(feature = "cli"))]
fn draw(file: &str, text: &str, problems: &[Problem], _: Look) -> String {
    let mut out = String::new();
    for row in rows(text, problems) {
        let Row {
            line,
            column,
            severity,
            message,
            help,
            ..
        } = row;
        let _ = writeln!(
            out,
            "{file}:{line}:{column}: {severity}: {message}\n  help: {help}"
        );
    }
    out
}
