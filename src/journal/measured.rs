//! Entries that end in a reading or an answer.

use crate::feeds::{Named, PartId};
use crate::journal::line::{fold, free, past_marks, unquote};
use crate::journal::names::Found;
use crate::journal::options::{Instead, behind_point, sample, written};
use crate::journal::parsing::{Fault, Parser, seen};
use crate::journal::{Act, By, Options, Point, Wrong, word, write_reading};
use crate::measurement::{Method, Reading};

/// Words for what a test lamp in the battery lead does.
const GLOWS: [&str; 7] = ["glow", "glows", "glowing", "bright", "dim", "lamp", "bulb"];

/// Below so many mV nothing is on at an input (judgement).
const DEAD: f64 = 1_000.0;

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
        let mut words = rest.split(|c: char| !c.is_alphanumeric());
        if words.any(|word| GLOWS.contains(&word.to_lowercase().as_str())) {
            let note = format!("note test lamp: {}", free(rest));
            return Err(Fault::new(Wrong::Glow, note));
        }
        let found = self.names.things_at(rest).unwrap_or_default();
        let battery = found.iter().find(|f| f.named == Named::Part(PartId(0)));
        if let Some(battery) = battery {
            let tail = past_marks(&rest[battery.length..]);
            return behind_point(Method::Draw, tail, self.clamp_in_millivolts)
                .map(taken)
                .map_err(|instead| self.draw_fault(instead));
        }
        let Some(found) = found.first() else {
            return Err(self.draw_fault(instead));
        };
        let tail = past_marks(&rest[found.length..]);
        let tail = match behind_point(Method::Clamp, tail, self.clamp_in_millivolts) {
            Ok(_) => tail,
            Err(_) => sample(Method::Clamp),
        };
        let wrong = Wrong::NotForThis {
            word: "draw",
            name: found.name.clone(),
            kind: kind(&found.named),
        };
        let wire = self.wire_of(found);
        Err(Fault {
            wrong,
            works: wire.map(|wire| format!("clamp {wire} {tail}")),
        })
    }

    /// The fault of a draw with a line that mends it; volts in its place are the battery's.
    fn draw_fault(&self, instead: Instead) -> Fault {
        let battery = self.plain(self.names.battery());
        let works = match instead.method {
            Method::Draw => format!("draw {}", instead.text),
            Method::Volts => format!("volts {battery} {}", instead.text),
            other => self.example(word(other)),
        };
        Fault::new(instead.wrong, works)
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
                            let works = wire.map(|wire| format!("{} {wire} {tail}", word(method)));
                            // What was read at an input says whether it is on.
                            let input = matches!(candidate.named, Named::Input(_));
                            let seen = if reading.high < DEAD { "no" } else { "yes" };
                            let look = || format!("look {} {seen}", self.spelled(candidate));
                            let works = works.or_else(|| input.then(look));
                            Fault { wrong, works }
                        })?;
                    return as_act(method, point, reading, options);
                }
                Err(instead) => {
                    // What is wrong behind the longest name is what is said.
                    if fault.is_none() {
                        let verb = word(instead.method);
                        let wire = self.wire_of(candidate);
                        fault = Some(Fault {
                            wrong: instead.wrong,
                            works: wire.map(|wire| format!("{verb} {wire} {}", instead.text)),
                        });
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
        let (point, near) = self.nearest(&point);
        // The nearest may be a network or an input, where nothing can be read.
        let wire = near.as_ref().and_then(|name| {
            let named = self.names.get(name)?.clone();
            let wires = matches!(named, Named::Part(_) | Named::Plug(_) | Named::Module(_));
            wires.then_some(())?;
            self.wire_of(&Found {
                name: name.clone(),
                named,
                length: 0,
            })
        });
        // A reading is not handed to a part that was not meant.
        let works = match wire {
            Some(wire) => format!("{verb} {wire} {tail}"),
            None => self.example(verb),
        };
        Fault::new(
            Wrong::UnknownName {
                typed: point,
                nearest: near,
            },
            works,
        )
    }

    /// What was meant for a name, and the known name most like it: the whole text, else its first
    /// word where that is like one.
    pub(super) fn nearest(&self, text: &str) -> (String, Option<String>) {
        let first = text.split_whitespace().next().unwrap_or("");
        let like = |text: &str| self.names.nearest(text).map(str::to_owned);
        match (like(text), like(first)) {
            (None, Some(name)) => (first.to_owned(), Some(name)),
            (near, _) => (free(text), near),
        }
    }

    /// The one wire a reading is of; else the fault, and a wire that could be meant.
    pub(super) fn wire(
        &self,
        word: &'static str,
        found: &Found,
    ) -> Result<Point, (Wrong, Option<String>)> {
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
        let (point, near) = self.nearest(&point);
        let works = near
            .as_ref()
            .map(|name| format!("look {} yes", self.plain(name)));
        let wrong = Wrong::UnknownName {
            typed: point,
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

/// The reading as an act. At the battery it is the total, whichever way it was taken: a draw.
fn as_act(method: Method, point: Point, reading: Reading, options: Options) -> Result<Act, Fault> {
    let by = match method {
        Method::Clamp => Some(By::Clamp),
        Method::Series => Some(By::Series),
        _ => None,
    };
    if by.is_none() || point != Point::Part(PartId(0)) {
        return Ok(Act::Read {
            method,
            point,
            reading,
            options,
        });
    }
    let options = Options { by, ..options };
    let options = options
        .that_go_with(Method::Draw)
        .map_err(|(wrong, kept)| {
            let text = format!("draw {}{}", write_reading(&reading), written(&kept));
            Fault::new(wrong, text)
        })?;
    Ok(Act::Read {
        method: Method::Draw,
        point: Point::Battery,
        reading,
        options,
    })
}
