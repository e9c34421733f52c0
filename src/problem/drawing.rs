//! Problems drawn with miette.
//!
//! Three things it leaves to its caller are done here: long lines are clipped round the fault (it
//! cannot label beyond column 65,535), the text it gets is clean, and lines are indexed once (it
//! would scan from the start for each label).

use crate::problem::show::{Lines, Look, clean_line, inside};
use crate::problem::{Problem, Severity, Span};
use std::fmt;
use std::sync::Arc;

/// The problems one below the other; `file` and `text` are clean.
pub(super) fn draw(file: &str, text: &str, problems: &[Problem], look: Look) -> String {
    let starts = Lines::new(text).starts;
    let source = Arc::new(Shown {
        name: file.to_owned(),
        starts,
        text: text.to_owned(),
    });
    let mut out = String::new();
    for problem in problems {
        draw_one(&mut out, &source, problem, look);
    }
    out
}

fn draw_one(out: &mut String, source: &Arc<Shown>, problem: &Problem, look: Look) {
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

/// The cleaned text with its line index.
#[derive(Debug)]
struct Shown {
    name: String,
    text: String,
    starts: Vec<usize>,
}

/// Bytes of one line shown on each side of a fault.
const BESIDE: usize = 120;

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

impl fmt::Display for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Drawn {}

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
