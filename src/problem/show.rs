//! Problems as text for a person and as rows of data; text in, text out.
//!
//! The drawing is miette's. Three things it leaves to its caller are done here: long lines are
//! clipped round the fault (it cannot label beyond column 65,535), control and text-direction
//! characters are replaced, and lines are indexed once (it would scan from the start each time).

use crate::problem::{Problem, Severity, Span};
use serde::Serialize;
use std::fmt::{self, Write as _};
use std::sync::Arc;

/// At most this many problems are drawn; the rest are counted.
const SHOWN: usize = 20;

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
fn clean_line(text: &str) -> String {
    clean(text).replace(['\n', '\t'], " ")
}

/// Where lines start, and columns in characters; both count from 1. A byte order mark is no column.
struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
        Self {
            text,
            starts: std::iter::once(0).chain(ends.map(|(i, _)| i + 1)).collect(),
        }
    }

    /// The line of a byte, from 0.
    fn line(&self, byte: usize) -> usize {
        self.starts.partition_point(|start| *start <= byte) - 1
    }

    fn line_and_column(&self, byte: usize) -> (usize, usize) {
        let line = self.line(byte);
        let before = &self.text[self.starts[line]..byte];
        let before = before.strip_prefix('\u{feff}').unwrap_or(before);
        (line + 1, before.chars().count() + 1)
    }
}

/// The place moved inside the text and onto whole characters.
fn inside(text: &str, span: &Span) -> Span {
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
    let lines = Lines::new(text);
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
            }
        })
        .collect()
}

/// The problems drawn with their place in the text, 20 at most, then how many more there are.
///
/// Empty when there are none.
pub fn show(file: &str, text: &str, problems: &[Problem], look: Look) -> String {
    if problems.is_empty() {
        return String::new();
    }
    let cleaned = clean(text);
    let source = Arc::new(Shown {
        name: clean_line(file),
        starts: Lines::new(&cleaned).starts,
        text: cleaned,
    });
    let mut out = String::new();
    for problem in problems.iter().take(SHOWN) {
        draw(&mut out, &source, problem, look);
    }
    if problems.len() > SHOWN {
        let _ = writeln!(out, "and {} more", problems.len() - SHOWN);
    }
    out
}

#[cfg(feature = "cli")]
fn draw(out: &mut String, source: &Arc<Shown>, problem: &Problem, look: Look) {
    let theme = match (look.unicode, look.colour) {
        (true, true) => miette::GraphicalTheme::unicode(),
        (true, false) => miette::GraphicalTheme::unicode_nocolor(),
        (false, true) => miette::GraphicalTheme {
            characters: miette::ThemeCharacters::ascii(),
            styles: miette::ThemeStyles::ansi(),
        },
        (false, false) => miette::GraphicalTheme::none(),
    };
    let handler = miette::GraphicalReportHandler::new_themed(theme)
        .with_width(look.width.clamp(30, 400))
        .with_links(false)
        .with_context_lines(1);
    let drawn = Drawn {
        source: Arc::clone(source),
        message: clean_line(&problem.message),
        help: clean_line(&problem.help),
        code: problem.code,
        severity: problem.severity,
        at: inside(&source.text, &problem.at),
        also: problem
            .also
            .as_ref()
            .map(|(at, word)| (inside(&source.text, at), clean_line(word))),
    };
    // Writing to a String cannot fail; what it wrote so far is shown in any case.
    let _ = handler.render_report(out, &drawn);
}

#[cfg(not(feature = "cli"))]
fn draw(out: &mut String, source: &Arc<Shown>, problem: &Problem, _: Look) {
    if let [row] = rows(&source.text, std::slice::from_ref(problem)).as_slice() {
        let _ = writeln!(
            out,
            "{}:{}:{}: {}: {}\n  {}",
            source.name, row.line, row.column, row.severity, row.message, row.help
        );
    }
}

/// The cleaned text with its line index.
#[derive(Debug)]
struct Shown {
    name: String,
    text: String,
    starts: Vec<usize>,
}

/// Bytes of one line shown on each side of a fault.
#[cfg(feature = "cli")]
const BESIDE: usize = 120;

#[cfg(feature = "cli")]
impl miette::SourceCode for Shown {
    fn read_span<'a>(
        &'a self,
        span: &miette::SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn miette::SpanContents<'a> + 'a>, miette::MietteError> {
        let text = &self.text;
        let (from, to) = (span.offset(), span.offset() + span.len());
        if to > text.len() {
            return Err(miette::MietteError::OutOfBounds);
        }
        let line = |byte: usize| self.starts.partition_point(|start| *start <= byte) - 1;
        let (first, last) = (line(from), line(to));
        let ends = |line: usize| self.starts.get(line + 1).copied().unwrap_or(text.len());
        let contents = |start: usize, end: usize, line: usize, column: usize| {
            Ok(Box::new(miette::MietteSpanContents::new_named(
                self.name.clone(),
                &text.as_bytes()[start..end],
                (start, end - start).into(),
                line,
                column,
                last - line + 1,
            )) as Box<dyn miette::SpanContents<'a> + 'a>)
        };
        // miette asks like this for the line and column of the fault itself.
        if before == 0 {
            let column = text[self.starts[first]..from].chars().count();
            return contents(from, to, first, column);
        }
        let top = first.saturating_sub(before);
        let bottom = (last + after).min(self.starts.len() - 1);
        let (start, end) = (self.starts[top], ends(bottom));
        if from - start <= BESIDE && end - to <= BESIDE {
            return contents(start, end, top, 0);
        }
        // Long lines: only those of the fault itself, cut round it on whole characters.
        let (mut start, mut end) = (self.starts[first], ends(last));
        if from - start > BESIDE {
            start = from - BESIDE;
            while !text.is_char_boundary(start) {
                start += 1;
            }
        }
        if end - to > BESIDE {
            end = to + BESIDE;
            while !text.is_char_boundary(end) {
                end -= 1;
            }
        }
        contents(start, end, first, start - self.starts[first])
    }
}

/// A problem as miette wants it.
#[cfg(feature = "cli")]
#[derive(Debug)]
struct Drawn {
    source: Arc<Shown>,
    message: String,
    help: String,
    code: &'static str,
    severity: Severity,
    at: Span,
    also: Option<(Span, String)>,
}

#[cfg(feature = "cli")]
impl fmt::Display for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

#[cfg(feature = "cli")]
impl std::error::Error for Drawn {}

#[cfg(feature = "cli")]
impl miette::Diagnostic for Drawn {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.code))
    }
    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
            Severity::Advice => miette::Severity::Advice,
        })
    }
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(&self.help))
    }
    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        Some(&*self.source)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = miette::LabeledSpan> + '_>> {
        // A fault that covers many lines is marked where it starts.
        let whole = self.at.clone();
        let line = self.source.text[whole.clone()].find('\n');
        let end = line.map_or(whole.end, |length| whole.start + length);
        // A label far from the fault would draw everything between the two.
        let also = self.also.as_ref().filter(|(at, _)| {
            at.start.abs_diff(whole.start) < 400 && at.end.abs_diff(whole.start) < 400
        });
        let also = also.map(|(at, word)| {
            miette::LabeledSpan::new_with_span(Some(word.clone()), (at.start, at.len()))
        });
        let here = miette::LabeledSpan::new_primary_with_span(
            Some("here".to_owned()),
            (whole.start, end.min(whole.start + 400) - whole.start),
        );
        Some(Box::new(std::iter::once(here).chain(also)))
    }
}
