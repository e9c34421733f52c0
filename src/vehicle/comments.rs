//! The comments of a vehicle file, each with the thing it stands at, so that a file can be written
//! anew without losing one.

use crate::notation::{Token, tokens};
use crate::problem::Span;
use std::collections::BTreeMap;

/// A thing of the file that a comment can stand at.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Thing {
    /// What stands before `Vehicle`, or behind its first bracket.
    Head,
    /// A field of the vehicle; its battery is [`Thing::Part`] 0.
    Top(String),
    /// An entry of `places`, `networks`, `modules` or `accept`: the field and the number in the file's order.
    Entry(String, usize),
    /// A part, by its number in tree order.
    Part(usize),
    /// What stands behind the vehicle.
    Tail,
}

/// The comments at one thing; an empty string is a blank line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Said {
    /// On lines of their own in front of it.
    pub(super) before: Vec<String>,
    /// Behind it on its line, or inside it.
    pub(super) behind: Vec<String>,
    /// On lines of their own before its closing bracket.
    pub(super) inside: Vec<String>,
    /// Behind its closing bracket.
    pub(super) after: Vec<String>,
}

/// All comments of a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comments {
    said: BTreeMap<Thing, Said>,
}

impl Comments {
    /// The comments of a text that [`fn@crate::vehicle::read`] finds no error in. Linear in the text.
    pub fn read(text: &str) -> Self {
        let mut walk = Walk {
            text,
            said: BTreeMap::new(),
            open: Vec::new(),
            field: "",
            top: "",
            parts: 0,
            entries: 0,
            at: (Thing::Head, false),
            waiting: Vec::new(),
            done: 0,
            before: Token::Mark(','),
        };
        for (token, span) in tokens(text) {
            walk.step(token, span);
        }
        let said = walk.said.entry(Thing::Tail).or_default();
        said.before.append(&mut walk.waiting);
        Self { said: walk.said }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        let all = self
            .said
            .values()
            .flat_map(|said| [&said.before, &said.behind, &said.inside, &said.after]);
        all.flatten().filter(|comment| !comment.is_empty()).count()
    }

    /// Those at one thing.
    pub(super) fn at(&self, thing: &Thing) -> Said {
        self.said.get(thing).cloned().unwrap_or_default()
    }
}

/// What an open bracket belongs to.
enum Inside {
    Vehicle,
    Part(usize),
    /// The list of what a part feeds.
    Feeds(usize),
    /// The map of a vehicle's field.
    Map,
    /// A value within one thing.
    Value,
}

struct Walk<'t> {
    text: &'t str,
    said: BTreeMap<Thing, Said>,
    open: Vec<Inside>,
    /// The last word, which a colon makes a field's name.
    field: &'t str,
    /// The vehicle's field that is being read.
    top: &'t str,
    parts: usize,
    entries: usize,
    /// The thing the last piece belongs to, and whether its list or map has been closed.
    at: (Thing, bool),
    /// Comments on lines of their own that wait for what comes next.
    waiting: Vec<String>,
    /// Where the last piece ended.
    done: usize,
    before: Token,
}

impl Walk<'_> {
    fn said(&mut self, thing: Thing) -> &mut Said {
        self.said.entry(thing).or_default()
    }

    fn step(&mut self, token: Token, span: Span) {
        let text = self.text;
        let gap = &text[self.done..span.start];
        let blank = gap.matches('\n').count() > 1 && self.done > 0;
        if blank && self.waiting.last().is_none_or(|last| !last.is_empty()) {
            self.waiting.push(String::new());
        }
        let own_line = gap.contains('\n') || self.done == 0;
        self.done = span.end;
        let piece = &text[span];
        if token == Token::Comment {
            let comment = piece.trim_end().to_owned();
            if own_line {
                self.waiting.push(comment);
            } else {
                let (thing, closed) = self.at.clone();
                let said = self.said(thing);
                if closed {
                    said.after.push(comment);
                } else {
                    said.behind.push(comment);
                }
            }
            return;
        }
        match token {
            Token::Mark('(' | '[' | '{') => self.open(token),
            Token::Mark(')' | ']' | '}') => self.close(),
            Token::Word | Token::Text => self.word(piece, token),
            _ => {}
        }
        // What waits in the middle of a thing goes in front of it.
        if !matches!(token, Token::Mark(',')) {
            let mut waiting = std::mem::take(&mut self.waiting);
            waiting.retain(|comment| !comment.is_empty());
            if !waiting.is_empty() {
                let thing = self.at.0.clone();
                self.said(thing).before.append(&mut waiting);
            }
        }
        self.before = token;
    }

    /// A new thing starts: what waited stands in front of it.
    fn start(&mut self, thing: Thing) {
        let waiting = std::mem::take(&mut self.waiting);
        self.said(thing.clone()).before.extend(waiting);
        self.at = (thing, false);
    }

    fn word(&mut self, piece: &str, token: Token) {
        match self.open.last() {
            // `Vehicle`; its bracket alone if it has no name.
            None if self.parts == 0 => self.start(Thing::Head),
            // The name of a field comes behind a bracket or a comma.
            Some(Inside::Vehicle) if matches!(self.before, Token::Mark('(' | ',')) => {
                self.top = Self::named(piece);
                if self.top == "battery" {
                    self.start(Thing::Part(0));
                } else {
                    self.start(Thing::Top(piece.to_owned()));
                }
                self.entries = 0;
            }
            Some(Inside::Feeds(_)) => self.start(Thing::Part(self.parts)),
            Some(Inside::Map) if token == Token::Text && self.before != Token::Mark(':') => {
                self.start(Thing::Entry(self.top.to_owned(), self.entries));
                self.entries += 1;
            }
            _ => {}
        }
        if token == Token::Word {
            self.field = Self::named(piece);
        }
    }

    /// The names that decide where comments belong.
    fn named(word: &str) -> &'static str {
        let known = [
            "battery", "places", "networks", "modules", "accept", "feeds",
        ];
        known.into_iter().find(|name| *name == word).unwrap_or("")
    }

    fn open(&mut self, token: Token) {
        let inside = match (self.open.last(), token) {
            (None, _) => {
                if self.before != Token::Word {
                    self.start(Thing::Head);
                }
                Inside::Vehicle
            }
            (Some(Inside::Vehicle), Token::Mark('(')) if self.top == "battery" => self.part(),
            (Some(Inside::Feeds(_)), Token::Mark('(')) => self.part(),
            (Some(Inside::Part(n)), Token::Mark('[')) if self.field == "feeds" => Inside::Feeds(*n),
            (Some(Inside::Vehicle | Inside::Value), Token::Mark('{')) if !self.top.is_empty() => {
                Inside::Map
            }
            _ => Inside::Value,
        };
        self.open.push(inside);
    }

    fn part(&mut self) -> Inside {
        self.parts += 1;
        Inside::Part(self.parts - 1)
    }

    fn close(&mut self) {
        let (thing, closed) = match self.open.pop() {
            Some(Inside::Feeds(n)) => (Thing::Part(n), true),
            Some(Inside::Part(n)) => {
                let closed = self.at == (Thing::Part(n), true);
                // Behind a part without a list, its one line goes on.
                (Thing::Part(n), closed)
            }
            Some(Inside::Map) => (Thing::Top(self.top.to_owned()), true),
            Some(Inside::Vehicle) => {
                // What stands below the battery stays inside the vehicle, the rest goes behind it.
                let waiting = std::mem::take(&mut self.waiting);
                self.said(Thing::Tail).inside.extend(waiting);
                self.at = (Thing::Tail, true);
                return;
            }
            _ => return,
        };
        let waiting = std::mem::take(&mut self.waiting);
        self.said(thing.clone()).inside.extend(waiting);
        self.at = (thing, closed);
    }
}
