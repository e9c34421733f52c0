//! Changes to the text of a vehicle file that leave every byte outside them as it was.

use crate::notation::{Token, tokens};
use crate::problem::Span;
use crate::vehicle::{Comments, Part, Vehicle, write};

/// A bracket of the text with what stands in it.
struct Bracket {
    /// The bracket it stands in.
    outer: Option<usize>,
    mark: char,
    /// The field whose value it is, where it is one.
    field: String,
    open: usize,
    close: usize,
    /// Where the last piece before the closing bracket ends, comments apart.
    last: usize,
    /// Whether something may follow that piece: it is a comma or the opening bracket.
    free: bool,
}

/// A text with the changes that are to be made in it.
pub struct Patch<'t> {
    text: &'t str,
    brackets: Vec<Bracket>,
    /// Where `battery` stands.
    battery: Option<usize>,
    edits: Vec<(Span, String)>,
}

impl<'t> Patch<'t> {
    /// For a text that [`fn@crate::vehicle::read`] finds no error in. Linear in the text.
    pub fn of(text: &'t str) -> Self {
        let mut brackets: Vec<Bracket> = Vec::new();
        // Brackets that are open, each with the field that is being read in it.
        let mut open: Vec<(usize, &str)> = Vec::new();
        let (mut word, mut last, mut free, mut battery) = ("", 0, true, None);
        for (token, at) in tokens(text) {
            match token {
                Token::Comment => continue,
                Token::Mark(mark @ ('(' | '[' | '{')) => {
                    let (outer, field) = open.last().copied().unzip();
                    open.push((brackets.len(), ""));
                    brackets.push(Bracket {
                        outer,
                        mark,
                        field: field.unwrap_or_default().to_owned(),
                        open: at.start,
                        close: text.len(),
                        last: at.end,
                        free: true,
                    });
                }
                Token::Mark(')' | ']' | '}') => {
                    if let Some((number, _)) = open.pop() {
                        let bracket = &mut brackets[number];
                        (bracket.close, bracket.last, bracket.free) = (at.start, last, free);
                    }
                }
                Token::Mark(mark) => {
                    if let Some((_, field)) = open.last_mut() {
                        *field = if mark == ':' { word } else { "" };
                    }
                }
                Token::Word | Token::Text => {
                    word = &text[at.clone()];
                    if word == "battery" && open.len() == 1 && battery.is_none() {
                        battery = Some(at.start);
                    }
                }
            }
            free = matches!(token, Token::Mark(',' | '(' | '[' | '{'));
            last = at.end;
        }
        Self {
            text,
            brackets,
            battery,
            edits: Vec::new(),
        }
    }

    /// Puts lines, laid out by [`lines_of`], at the end of what a part feeds.
    pub fn below(&mut self, part: &Part, lines: &[String]) {
        let id = part.id.at.start;
        let around = |bracket: &Bracket| bracket.open < id && id < bracket.close;
        // Brackets stand in the order of the text, so the last one around a place is the innermost.
        let Some(own) = self.brackets.iter().rposition(around) else {
            return;
        };
        let mut inside = self.brackets[own..].iter();
        let feeds = inside.find(|b| b.outer == Some(own) && b.field == "feeds" && b.mark == '[');
        if let Some(list) = feeds {
            let (last, free, close) = (list.last, list.free, list.close);
            return self.append((last, free), close, lines);
        }
        let Bracket {
            close, last, free, ..
        } = self.brackets[own];
        let indent = self.indent(self.brackets[own].open).to_owned();
        let inner = Self::indented(lines, &format!("{indent}    "));
        let end = self.line_end();
        let list = format!("feeds: [{end}{}{end}{indent}]", inner.join(end));
        let comma = if free { "" } else { "," };
        // Nothing but white space between: the list follows at once.
        if self.text[last..close].trim().is_empty() {
            let blank = if self.text[..last].ends_with('(') {
                ""
            } else {
                " "
            };
            self.edits
                .push((last..close, format!("{comma}{blank}{list}")));
        } else {
            self.edits.push((last..last, comma.to_owned()));
            self.edits.push((close..close, list));
        }
    }

    /// Puts entries at the end of `places` or `modules`, which comes anew where there is none.
    pub fn entries(&mut self, field: &str, lines: &[String]) {
        if lines.is_empty() {
            return;
        }
        let mut maps = self.brackets.iter();
        let map = maps.find(|b| b.outer == Some(0) && b.field == field && b.mark == '{');
        if let Some(Bracket {
            close, last, free, ..
        }) = map
        {
            self.append((*last, *free), *close, lines);
        } else if let Some(battery) = self.battery {
            let (indent, end) = (self.indent(battery).to_owned(), self.line_end());
            let inner = Self::indented(lines, &format!("{indent}    "));
            let map = format!(
                "{field}: {{{end}{}{end}{indent}}},{end}{indent}",
                inner.join(end)
            );
            self.edits.push((battery..battery, map));
        }
    }

    /// Puts another text in the place of one.
    pub fn replace(&mut self, at: Span, with: impl Into<String>) {
        self.edits.push((at, with.into()));
    }

    /// Lines at the end of a list or map that is there.
    fn append(&mut self, (last, free): (usize, bool), close: usize, lines: &[String]) {
        let end = self.line_end();
        let line = self.text[..close].rfind('\n').map_or(0, |at| at + 1);
        let own_line = self.text[line..close].trim().is_empty() && line >= last;
        let indent = self.indent(close).to_owned();
        let inner = Self::indented(lines, &format!("{indent}    ")).join(end);
        if !free {
            self.edits.push((last..last, ",".to_owned()));
        }
        if own_line {
            self.edits.push((line..line, format!("{inner}{end}")));
        } else {
            // Blanks before the bracket would be left at the end of a line.
            let from = self.text[..close].trim_end_matches([' ', '\t']).len();
            self.edits
                .push((from..close, format!("{end}{inner}{end}{indent}")));
        }
    }

    fn indented(lines: &[String], indent: &str) -> Vec<String> {
        let line = |line: &String| match line.as_str() {
            "" => String::new(),
            line => format!("{indent}{line}"),
        };
        lines.iter().map(line).collect()
    }

    /// The white space that the line of a place starts with.
    fn indent(&self, at: usize) -> &'t str {
        let line = self.text[..at].rfind('\n').map_or(0, |at| at + 1);
        let rest = &self.text[line..at];
        &rest[..rest.len() - rest.trim_start_matches([' ', '\t']).len()]
    }

    /// How lines end here.
    fn line_end(&self) -> &'static str {
        if self.text.contains("\r\n") {
            "\r\n"
        } else {
            "\n"
        }
    }

    /// The changed text.
    pub fn finish(mut self) -> String {
        self.edits.sort_by_key(|(at, _)| (at.start, at.end));
        let mut out = String::with_capacity(self.text.len());
        let mut done = 0;
        for (at, with) in &self.edits {
            out.push_str(&self.text[done..at.start.max(done)]);
            out.push_str(with);
            done = at.end.max(done);
        }
        out.push_str(&self.text[done..]);
        out
    }
}

/// What a vehicle's battery feeds, laid out as [`fn@write`] does: a line each, as far in as if the
/// battery were at the start of a line.
pub fn lines_of(vehicle: &Vehicle, comments: &Comments) -> Vec<String> {
    let text = write(vehicle, comments);
    let patch = Patch::of(&text);
    let mut brackets = patch.brackets.iter();
    // The first list of the text that is what something feeds is the battery's.
    let Some(feeds) = brackets.find(|b| b.field == "feeds") else {
        return Vec::new();
    };
    let indent = patch.indent(feeds.close).len() + 4;
    let inner = text[feeds.open + 1..feeds.close].trim_end();
    let lines = inner.split('\n').skip(1);
    lines
        .map(|line| {
            let blanks = line.len() - line.trim_start_matches(' ').len();
            line[blanks.min(indent)..].to_owned()
        })
        .collect()
}
