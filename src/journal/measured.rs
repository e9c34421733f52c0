//! Entries that end in a reading or an answer.

use crate::feeds::{Named, PartId};
use crate::journal::line::{fold, free, past_marks, unquote};
use crate::journal::names::Found;
use crate::journal::options::{Instead, behind_point, sample};
use crate::journal::parsing::{Fault, Parser, seen};
use crate::journal::{Act, By, Options, Point, Wrong, word};
use crate::measurement::{Method, Reading};

impl Parser<'_> {
    /// `draw 640mA`, `draw battery 640mA`.
    pub(super) fn draw(&self, rest: &str) -> Result<Act, Fault> {
        let taken = |(reading, options)| Act::Read {
            method: Method::Draw,
            point: Point::Battery,
            reading,
            options,
        };
        let instead = match behind_point(Method::Draw, rest, self.clamp_in_millivolts) {
            Ok(behind) => return Ok(taken(behind)),
            Err(instead) => instead,
        };
        let found = self.names.things_at(rest).unwrap_or_default();
        let battery = found.iter().find(|f| f.named == Named::Part(PartId(0)));
        if let Some(battery) = battery {
            let tail = past_marks(&rest[battery.length..]);
            return behind_point(Method::Draw, tail, self.clamp_in_millivolts)
                .map(taken)
                .map_err(|instead| self.mended(instead, ""));
        }
        let Some(found) = found.first() else {
            return Err(self.mended(instead, ""));
        };
        let tail = past_marks(&rest[found.length..]);
        let tail = match behind_point(Method::Clamp, tail, self.clamp_in_millivolts) {
            Ok(_) => tail,
            Err(_) => sample(Method::Clamp),
        };
        Err(Fault::new(
            Wrong::NotForThis {
                word: "draw",
                name: found.name.clone(),
                kind: kind(&found.named),
            },
            format!("clamp {} {tail}", self.wire_of(found)),
        ))
    }

    /// The fault with its line made whole; a draw has no point.
    fn mended(&self, instead: Instead, point: &str) -> Fault {
        let Instead {
            wrong,
            method,
            text,
        } = instead;
        let verb = word(method);
        let works = match (method, point) {
            (Method::Draw, _) => format!("{verb} {text}"),
            (_, "") => format!("{verb} {} {text}", self.some_part()),
            (_, point) => format!("{verb} {point} {text}"),
        };
        Fault::new(wrong, works)
    }

    /// `METHOD POINT READING OPTIONS`: the longest name behind which a reading stands.
    pub(super) fn read(&self, method: Method, rest: &str) -> Result<Act, Fault> {
        let found = self.names.things_at(rest)?;
        let mut fault = None;
        for candidate in &found {
            let tail = past_marks(&rest[candidate.length..]);
            match behind_point(method, tail, self.clamp_in_millivolts) {
                Ok((reading, options)) => {
                    let point = self
                        .wire(word(method), candidate)
                        .map_err(|(wrong, wire)| {
                            Fault::new(wrong, format!("{} {wire} {tail}", word(method)))
                        })?;
                    return Ok(at_battery(method, point, reading, options));
                }
                Err(instead) => {
                    // What is wrong behind the longest name is what is said.
                    if fault.is_none() {
                        fault = Some(self.mended(instead, &self.wire_of(candidate)));
                    }
                }
            }
        }
        Err(fault.unwrap_or_else(|| self.no_such_point(method, rest)))
    }

    /// The fault of a point that is no known name: what stands before the reading.
    fn no_such_point(&self, method: Method, rest: &str) -> Fault {
        let verb = word(method);
        let reads = |text: &str| behind_point(method, text, self.clamp_in_millivolts).is_ok();
        if let Some(place) = self.names.places_at(rest).unwrap_or_default().first() {
            let wrong = Wrong::NotForThis {
                word: verb,
                name: place.name.clone(),
                kind: "place",
            };
            return Fault::new(wrong, format!("open {}", self.spelled(place)));
        }
        let (point, tail) = if let Some((name, length)) = unquote(rest) {
            (name, rest[length..].trim_start())
        } else {
            let mut words = rest.char_indices().filter(|(at, c)| {
                let first = *at == 0 || rest[..*at].ends_with(char::is_whitespace);
                first && !c.is_whitespace()
            });
            let start = words.find(|(at, _)| reads(&rest[*at..]));
            let at = start.map_or(rest.len(), |(at, _)| at);
            (rest[..at].trim().to_owned(), &rest[at..])
        };
        let tail = if reads(tail) { tail } else { sample(method) };
        if point.is_empty() {
            let works = format!("{verb} {} {tail}", self.some_part());
            return Fault::new(Wrong::NoPoint { word: verb }, works);
        }
        let near = self.nearest(&point);
        // The nearest may be a network or an input, where nothing can be read.
        let wire = near.as_ref().and_then(|name| {
            let named = self.names.get(name)?.clone();
            let wires = matches!(named, Named::Part(_) | Named::Plug(_) | Named::Module(_));
            wires.then(|| {
                self.wire_of(&Found {
                    name: name.clone(),
                    named,
                    length: 0,
                })
            })
        });
        let wire = wire.unwrap_or_else(|| self.some_part());
        Fault::new(
            Wrong::UnknownName {
                typed: free(&point),
                nearest: near,
            },
            format!("{verb} {wire} {tail}"),
        )
    }

    /// The known name most like the text, else like its first word.
    pub(super) fn nearest(&self, text: &str) -> Option<String> {
        let first = text.split_whitespace().next().unwrap_or("");
        let near = self.names.nearest(text);
        near.or_else(|| self.names.nearest(first))
            .map(str::to_owned)
    }

    /// The one wire a reading is of; else the fault, and a wire that could be meant.
    pub(super) fn wire(&self, word: &'static str, found: &Found) -> Result<Point, (Wrong, String)> {
        let wires: Vec<String> = match &found.named {
            Named::Part(part) => return Ok(Point::Part(*part)),
            Named::Plug(parts) => {
                if let [part] = parts.as_slice() {
                    return Ok(Point::Part(*part));
                }
                let names = parts
                    .iter()
                    .filter_map(|part| self.names.name_of(&Named::Part(*part)));
                names.map(str::to_owned).collect()
            }
            Named::Module(module) => self.names.feeds_of(*module).to_vec(),
            _ => Vec::new(),
        };
        if let [wire] = wires.as_slice()
            && let Some(Named::Part(part)) = self.names.get(wire)
        {
            return Ok(Point::Part(*part));
        }
        let name = found.name.clone();
        let wrong = if wires.is_empty() {
            let kind = kind(&found.named);
            Wrong::NotForThis { word, name, kind }
        } else {
            Wrong::SeveralWires { name, wires }
        };
        Err((wrong, self.wire_of(found)))
    }

    /// `look POINT ANSWER`.
    pub(super) fn look(&self, rest: &str) -> Result<Act, Fault> {
        let found = self.names.things_at(rest)?;
        for candidate in &found {
            let answer = past_marks(&rest[candidate.length..]);
            if let Some(seen) = seen(answer) {
                return Ok(Act::Look {
                    point: thing(candidate),
                    seen,
                    word: fold(answer),
                });
            }
        }
        let Some(longest) = found.first() else {
            return Err(self.nothing_to_look_at(rest));
        };
        let tail = past_marks(&rest[longest.length..]);
        let (answer, behind) = tail.split_once(char::is_whitespace).unwrap_or((tail, ""));
        let name = self.spelled(longest);
        Err(if seen(answer).is_some() {
            let typed = free(behind);
            Fault::new(Wrong::Trailing { typed }, format!("look {name} {answer}"))
        } else {
            Fault::new(Wrong::NoAnswer, format!("look {name} yes"))
        })
    }

    fn nothing_to_look_at(&self, rest: &str) -> Fault {
        if let Some(place) = self.names.places_at(rest).unwrap_or_default().first() {
            let wrong = Wrong::NotForThis {
                word: "look",
                name: place.name.clone(),
                kind: "place",
            };
            return Fault::new(wrong, format!("open {}", self.spelled(place)));
        }
        let point = match unquote(rest) {
            Some((name, _)) => name,
            None => match rest.rsplit_once(char::is_whitespace) {
                Some((point, answer)) if seen(answer).is_some() => point.trim().to_owned(),
                _ => rest.to_owned(),
            },
        };
        if point.is_empty() || seen(&point).is_some() {
            return Wrong::NoPoint { word: "look" }.into();
        }
        let near = self.nearest(&point);
        let works = near
            .as_ref()
            .map(|name| format!("look {} yes", self.plain(name)));
        let wrong = Wrong::UnknownName {
            typed: free(&point),
            nearest: near,
        };
        Fault { wrong, works }
    }
}

/// What was found, as a point.
pub(super) fn thing(found: &Found) -> Point {
    match &found.named {
        Named::Part(part) => Point::Part(*part),
        Named::Plug(parts) => Point::Plug(found.name.clone(), parts.clone()),
        Named::Module(module) => Point::Module(*module),
        Named::Network(network) => Point::Network(*network),
        Named::Input(_) => Point::Input(found.name.clone()),
        Named::Place(place) => Point::Place(*place),
    }
}

/// What was found, in a word.
pub(super) const fn kind(named: &Named) -> &'static str {
    match named {
        Named::Part(_) => "part",
        Named::Plug(_) => "plug",
        Named::Module(_) => "module",
        Named::Network(_) => "network",
        Named::Input(_) => "input",
        Named::Place(_) => "place",
    }
}

/// The total is a draw, whichever way it was taken.
fn at_battery(method: Method, point: Point, reading: Reading, options: Options) -> Act {
    let by = match method {
        Method::Clamp => Some(By::Clamp),
        Method::Series => Some(By::Series),
        _ => None,
    };
    if by.is_some() && point == Point::Part(PartId(0)) {
        return Act::Read {
            method: Method::Draw,
            point: Point::Battery,
            reading,
            options: Options { by, ..options },
        };
    }
    Act::Read {
        method,
        point,
        reading,
        options,
    }
}
