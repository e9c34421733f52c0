//! Text → acts.

use crate::feeds::{Feeds, Named, PartId};
use crate::journal::names::{Found, nearest, quote, unquote};
use crate::journal::reading::{reading, small_unit};
use crate::journal::{Act, By, Context, Names, Options, Point, Refusal, Seen, TOLD_KEYS, Wrong};
use crate::measurement::{Jack, Method, Reading, Unit};

/// Every word an entry can start with.
const WORDS: [&str; 20] = [
    "draw", "drop", "clamp", "series", "volts", "look", "pull", "unplug", "refit", "open", "zero",
    "asleep", "awake", "prepared", "told", "skip", "withdraw", "undo", "repaired", "note",
];

const YES: [&str; 14] = [
    "yes",
    "y",
    "warm",
    "hot",
    "lit",
    "alight",
    "on",
    "found",
    "there",
    "active",
    "talking",
    "busy",
    "energised",
    "true",
];
const NO: [&str; 13] = [
    "no", "n", "cold", "cool", "dark", "unlit", "off", "none", "nothing", "absent", "silent",
    "quiet", "false",
];

/// The acts in a line, in order; either all of them or the first fault.
pub fn parse(text: &str, feeds: &Feeds, context: &Context) -> Result<Vec<Act>, Refusal> {
    parse_with(text, &Names::of(feeds), context)
}

/// [`parse`] with names that were indexed before.
pub fn parse_with(text: &str, names: &Names, context: &Context) -> Result<Vec<Act>, Refusal> {
    let mut acts = Vec::new();
    let mut rest: &str = text;
    loop {
        let (piece, behind) = split(rest);
        let line = piece.trim();
        // A line end may carry a stray `;`.
        if !line.is_empty() {
            let pending = if acts.is_empty() {
                context.pending.as_deref()
            } else {
                None
            };
            let parser = Parser {
                names,
                context,
                pending,
            };
            acts.push(parser.piece(line)?);
        }
        match behind {
            Some(behind) => rest = behind,
            None => break,
        }
    }
    if acts.is_empty() {
        return Err(Refusal {
            entry: text.trim().to_owned(),
            wrong: Wrong::Empty,
            works: context
                .pending
                .as_deref()
                .map_or_else(|| "draw 640mA".to_owned(), with_sample_reading),
        });
    }
    Ok(acts)
}

/// The first entry of a text and what is behind its `;`. `note` and `told` reach to the end of the
/// line; a `;` in quotes does not part entries.
fn split(text: &str) -> (&str, Option<&str>) {
    let start = text.trim_start();
    let first = word_at(start).0.to_lowercase();
    let to_line_end = first == "note" || first == "told";
    let mut at = 0;
    let mut before = ' ';
    while let Some(c) = text[at..].chars().next() {
        if c == '\n' || c == '\r' || (c == ';' && !to_line_end) {
            return (&text[..at], Some(&text[at + 1..]));
        }
        if c == '"'
            && !to_line_end
            && (before.is_whitespace() || before == ',')
            && let Some((_, length)) = unquote(&text[at..])
        {
            at += length;
            before = '"';
            continue;
        }
        at += c.len_utf8();
        before = c;
    }
    (text, None)
}

/// The first word and the rest without the white space between.
fn word_at(text: &str) -> (&str, &str) {
    let text = text.trim_start();
    let end = text
        .find(|c: char| c.is_whitespace() || c == ':')
        .unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    (word, rest.trim_start_matches(':').trim())
}

fn cut(text: &str) -> &str {
    text.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, ':' | '='))
}

/// Free text: control characters become blanks, ends are trimmed.
fn free(text: &str) -> String {
    let text: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    text.trim().to_owned()
}

fn method(word: &str) -> Option<Method> {
    Some(match word {
        "volts" => Method::Volts,
        "drop" => Method::Drop,
        "clamp" => Method::Clamp,
        "series" => Method::Series,
        "look" => Method::Look,
        "draw" => Method::Draw,
        "pull" => Method::Pull,
        "unplug" => Method::Unplug,
        "refit" => Method::Refit,
        "open" => Method::Open,
        "zero" => Method::Zero,
        "wait" => Method::Wait,
        _ => return None,
    })
}

/// The pending entry with a reading of the right kind, as an example.
fn with_sample_reading(entry: &str) -> String {
    match word_at(entry).0 {
        "drop" => format!("{entry} 2.1mV"),
        "volts" => format!("{entry} 12.4V"),
        "draw" | "clamp" | "series" => format!("{entry} 640mA"),
        "look" => format!("{entry} yes"),
        _ => entry.to_owned(),
    }
}

const fn unit_of(method: Method) -> Unit {
    match method {
        Method::Drop | Method::Volts => Unit::Millivolts,
        _ => Unit::Milliamps,
    }
}

const fn sample(method: Method) -> &'static str {
    match method {
        Method::Drop => "2.1mV",
        Method::Volts => "12.4V",
        _ => "640mA",
    }
}

struct Parser<'a> {
    names: &'a Names,
    context: &'a Context,
    pending: Option<&'a str>,
}

/// A fault and, where it is known, a line that works.
struct Fault(Wrong, Option<String>);

impl From<Wrong> for Fault {
    fn from(wrong: Wrong) -> Self {
        Self(wrong, None)
    }
}

impl Parser<'_> {
    fn piece(&self, line: &str) -> Result<Act, Refusal> {
        let entry = self.completed(line);
        self.act(entry.as_deref().unwrap_or(line))
            .map_err(|Fault(wrong, works)| Refusal {
                entry: line.to_owned(),
                works: works.unwrap_or_else(|| self.example(line)),
                wrong,
            })
    }

    /// A line that works whatever was typed: the pending test's, else one of the same method.
    fn example(&self, line: &str) -> String {
        let first = word_at(line).0.to_lowercase();
        let some = self.some_part();
        match first.as_str() {
            "drop" => format!("drop {some} 2.1mV"),
            "clamp" | "series" => format!("{first} {some} 640mA"),
            "volts" => format!("volts {some} 12.4V"),
            "look" => format!("look {some} yes"),
            "pull" | "unplug" => format!("{first} {some}"),
            "refit" => "refit all".to_owned(),
            "zero" => "zero 0.2mV".to_owned(),
            "asleep" | "awake" | "prepared" | "undo" => first,
            "told" => "told days 6".to_owned(),
            "skip" => format!("skip drop {some} no access"),
            "withdraw" => "withdraw 7 probe slipped".to_owned(),
            "repaired" => format!("repaired {some} chafed wire"),
            "note" => "note rain in the boot".to_owned(),
            _ => self
                .pending
                .map_or_else(|| "draw 640mA".to_owned(), with_sample_reading),
        }
    }

    /// A part's name for examples: the first below the battery.
    fn some_part(&self) -> String {
        let named = Named::Part(PartId(1));
        let name = self
            .names
            .name_of(&named)
            .unwrap_or_else(|| self.names.battery());
        self.spelled(name)
    }

    /// The name as it can be typed.
    fn spelled(&self, name: &str) -> String {
        match self.names.at_start(name) {
            Ok(found)
                if found
                    .first()
                    .is_some_and(|f| f.name == name && f.length == name.len())
                    && !name.contains([';', '"', ',']) =>
            {
                name.to_owned()
            }
            _ => quote(name),
        }
    }

    /// The entry that a bare reading or answer stands for.
    fn completed(&self, line: &str) -> Option<String> {
        let pending = self.pending?;
        let (first, rest) = word_at(line);
        let lower = first.to_lowercase();
        let bare = line.starts_with(|c: char| {
            c.is_ascii_digit() || matches!(c, '-' | '+' | '−' | '>' | '.' | ',')
        }) || matches!(lower.as_str(), "ol" | "o.l" | "o.l.")
            || YES.contains(&lower.as_str())
            || NO.contains(&lower.as_str());
        if bare {
            return Some(format!("{pending} {line}"));
        }
        if lower == "done" && rest.is_empty() {
            return Some(pending.to_owned());
        }
        if lower == "skip" && (rest.is_empty() || method(&word_at(rest).0.to_lowercase()).is_none())
        {
            return Some(format!("skip {pending} {rest}"));
        }
        None
    }

    fn act(&self, line: &str) -> Result<Act, Fault> {
        let (first, rest) = word_at(line);
        let word = first.to_lowercase();
        match word.as_str() {
            "draw" => self.draw(rest),
            "drop" => self.read(Method::Drop, rest),
            "clamp" => self.read(Method::Clamp, rest),
            "series" => self.read(Method::Series, rest),
            "volts" => self.read(Method::Volts, rest),
            "look" => self.look(rest),
            "pull" => Ok(Act::Pull(self.points("pull", rest)?)),
            "unplug" => Ok(Act::Unplug(self.points("unplug", rest)?)),
            "refit" => self.refit(rest),
            "open" => self.open(rest),
            "zero" => Self::zero(rest),
            "asleep" => alone(Act::Asleep, rest, "asleep"),
            "awake" => alone(Act::Awake, rest, "awake"),
            "prepared" => alone(Act::Prepared, rest, "prepared"),
            "undo" => alone(Act::Undo, rest, "undo"),
            "told" => told(rest),
            "skip" => self.skip(rest),
            "withdraw" => withdraw(rest),
            "repaired" => self.repaired(rest),
            "note" if free(rest).is_empty() => Err(Wrong::NoText { word: "note" }.into()),
            "note" => Ok(Act::Note(free(rest))),
            _ => Err(self.unknown_word(line, first)),
        }
    }

    fn unknown_word(&self, line: &str, first: &str) -> Fault {
        if line.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '−' | '>'))
            && let Ok((reading, _)) = reading(line, Unit::Milliamps)
        {
            let works = match reading.unit {
                Unit::Milliamps => format!("draw {line}"),
                Unit::Millivolts => format!("drop {} {line}", self.some_part()),
            };
            return Fault(Wrong::NothingPending, Some(works));
        }
        if let Ok(found) = self.names.at_start(line)
            && let Some(found) = found.first()
        {
            let tail = cut(&line[found.length..]);
            let name = self.spelled(&found.name);
            let works = match (reading(tail, Unit::Millivolts), &found.named) {
                (_, Named::Place(_)) => format!("open {name}"),
                (Ok((read, rest)), Named::Part(_)) if rest.trim().is_empty() => {
                    let method = match read.unit {
                        Unit::Milliamps => "clamp",
                        Unit::Millivolts if read.low.abs() >= 500.0 => "volts",
                        Unit::Millivolts => "drop",
                    };
                    format!("{method} {name} {tail}")
                }
                (_, Named::Part(_)) => format!("drop {name} 2.1mV"),
                (_, Named::Plug(_) | Named::Module(_)) => format!("unplug {name}"),
                (_, Named::Network(_) | Named::Input(_)) => format!("look {name} no"),
            };
            return Fault(
                Wrong::NoMethod {
                    name: found.name.clone(),
                },
                Some(works),
            );
        }
        let near = nearest(first, WORDS.iter().copied());
        let works = near.as_deref().map(|near| {
            let mended = format!("{near}{}", &line[first.len()..]);
            if self.act(&mended).is_ok() {
                mended
            } else {
                self.example(near)
            }
        });
        Fault(
            Wrong::UnknownWord {
                typed: free(first),
                nearest: near,
            },
            works,
        )
    }

    /// `draw 640mA`, `draw battery 640mA`.
    fn draw(&self, rest: &str) -> Result<Act, Fault> {
        let plain = self.reading_and_options(Method::Draw, rest);
        let plain = match plain {
            Ok((reading, options)) => {
                return Ok(Act::Read {
                    method: Method::Draw,
                    point: Point::Battery,
                    reading,
                    options,
                });
            }
            Err(fault) => fault,
        };
        if let Ok(found) = self.names_or_battery(rest)
            && let Some(found) = found.first()
        {
            let tail = cut(&rest[found.length..]);
            if found.named == Named::Part(PartId(0)) {
                let (reading, options) = self.reading_and_options(Method::Draw, tail)?;
                return Ok(Act::Read {
                    method: Method::Draw,
                    point: Point::Battery,
                    reading,
                    options,
                });
            }
            let tail = if reading(tail, Unit::Milliamps)
                .is_ok_and(|(r, rest)| r.unit == Unit::Milliamps && rest.trim().is_empty())
            {
                tail
            } else {
                "640mA"
            };
            return Err(Fault(
                Wrong::NotForThis {
                    word: "draw",
                    name: found.name.clone(),
                    kind: "part, and a draw is the total at the battery",
                },
                Some(format!(
                    "clamp {} {tail}",
                    self.spelled(&self.wire_of(found))
                )),
            ));
        }
        Err(Fault(
            plain.0,
            Some(plain.1.unwrap_or_else(|| "draw 640mA".to_owned())),
        ))
    }

    /// The name of one part that stands for what was found.
    fn wire_of(&self, found: &Found) -> String {
        let part = match &found.named {
            Named::Part(part) => Some(*part),
            Named::Plug(parts) => parts.first().copied(),
            _ => None,
        };
        part.and_then(|p| self.names.name_of(&Named::Part(p)))
            .map_or_else(|| self.some_part(), str::to_owned)
    }

    /// Names at the start; the word `battery` stands for the total where the file gives the
    /// battery another id.
    fn names_or_battery(&self, rest: &str) -> Result<Vec<Found>, Wrong> {
        let mut found = self.names.at_start(rest)?;
        let (first, _) = word_at(rest);
        if found.is_empty() && first.eq_ignore_ascii_case("battery") {
            found.push(Found {
                name: self.names.battery().to_owned(),
                named: Named::Part(PartId(0)),
                length: first.len(),
            });
        }
        Ok(found)
    }

    fn read(&self, method: Method, rest: &str) -> Result<Act, Fault> {
        let word = super::word(method);
        let found = self.names_or_battery(rest)?;
        if found.is_empty() {
            return Err(self.no_such_point(method, rest));
        }
        let mut first_fault = None;
        for candidate in &found {
            let tail = cut(&rest[candidate.length..]);
            match self.reading_and_options(method, tail) {
                Ok((reading, options)) => {
                    let point = self.wire(word, candidate, tail)?;
                    return Ok(at_battery(method, point, reading, options));
                }
                Err(Fault(wrong, works)) => {
                    let name = self.spelled(&self.wire_of(candidate));
                    let works = works.unwrap_or_else(|| sample(method).to_owned());
                    let works = if works.starts_with("clamp ") || works.starts_with("drop ") {
                        works
                    } else {
                        format!("{word} {works}")
                    };
                    // The reading's fault knows the reading; here the name goes in between.
                    let (verb, tail) = works.split_once(' ').unwrap_or((word, sample(method)));
                    let fault = Fault(wrong, Some(format!("{verb} {name} {tail}")));
                    first_fault.get_or_insert(fault);
                }
            }
        }
        Err(first_fault.unwrap_or_else(|| Wrong::NoPoint { word }.into()))
    }

    /// The fault of a point that is no known name: what stands before the last reading.
    fn no_such_point(&self, method: Method, rest: &str) -> Fault {
        let word = super::word(method);
        let starts = rest
            .char_indices()
            .filter(|(at, c)| {
                !c.is_whitespace() && (*at == 0 || rest[..*at].ends_with(char::is_whitespace))
            })
            .map(|(at, _)| at);
        let mut point = rest.trim();
        let mut tail = sample(method);
        for at in starts {
            if self.reading_and_options(method, &rest[at..]).is_ok() {
                point = rest[..at].trim();
                tail = rest[at..].trim();
                break;
            }
        }
        if point.is_empty() {
            return Fault(
                Wrong::NoPoint { word },
                Some(format!("{word} {} {tail}", self.some_part())),
            );
        }
        let near = self
            .names
            .nearest(point)
            .or_else(|| self.names.nearest(word_at(point).0));
        // The nearest name may be a place or a network, where nothing can be read.
        let usable = near.as_deref().and_then(|name| match self.names.get(name) {
            Some(Named::Part(_)) => Some(name.to_owned()),
            Some(Named::Plug(parts)) => parts
                .first()
                .and_then(|p| self.names.name_of(&Named::Part(*p)))
                .map(str::to_owned),
            _ => None,
        });
        let name = usable.unwrap_or_else(|| self.some_part());
        Fault(
            Wrong::unknown(&free(point), near),
            Some(format!("{word} {} {tail}", self.spelled(&name))),
        )
    }

    /// The one wire a reading is of.
    fn wire(&self, word: &'static str, found: &Found, tail: &str) -> Result<Point, Fault> {
        let wrong = |kind| {
            Fault(
                Wrong::NotForThis {
                    word,
                    name: found.name.clone(),
                    kind,
                },
                Some(format!("{word} {} {tail}", self.some_part())),
            )
        };
        match &found.named {
            Named::Part(part) => Ok(Point::Part(*part)),
            Named::Plug(parts) => match parts.as_slice() {
                [part] => Ok(Point::Part(*part)),
                several => {
                    let wires: Vec<String> = several
                        .iter()
                        .filter_map(|p| self.names.name_of(&Named::Part(*p)))
                        .map(str::to_owned)
                        .collect();
                    let first = wires
                        .first()
                        .map_or_else(|| self.some_part(), |w| self.spelled(w));
                    Err(Fault(
                        Wrong::SeveralWires {
                            name: found.name.clone(),
                            wires,
                        },
                        Some(format!("{word} {first} {tail}")),
                    ))
                }
            },
            Named::Module(_) => Err(wrong("module: name the one of its feeds that was read")),
            Named::Network(_) => Err(wrong("network")),
            Named::Input(_) => Err(wrong("input")),
            Named::Place(_) => Err(wrong("place")),
        }
    }

    fn reading_and_options(&self, method: Method, text: &str) -> Result<(Reading, Options), Fault> {
        let wanted = unit_of(method);
        let word = super::word(method);
        let (reading, rest) = reading(text, wanted).map_err(|wrong| mended(method, text, wrong))?;
        let clamp_on_meter = method == Method::Clamp && self.context.clamp_in_millivolts;
        if reading.unit != wanted && !clamp_on_meter {
            let number = super::write_reading(&reading);
            let works = match method {
                Method::Drop => format!("clamp {number}"),
                Method::Clamp | Method::Series => format!("drop {number}"),
                _ => format!("{word} {}", sample(method)),
            };
            return Err(Fault(
                Wrong::WrongUnit {
                    word,
                    unit: small_unit(wanted),
                },
                Some(
                    if matches!(method, Method::Drop | Method::Clamp | Method::Series) {
                        works
                    } else {
                        sample(method).to_owned()
                    },
                ),
            ));
        }
        let options = options(rest).map_err(|wrong| {
            let kept = text[..text.len() - rest.len()].trim();
            Fault(wrong, Some(kept.to_owned()))
        })?;
        Ok((reading, options))
    }

    fn look(&self, rest: &str) -> Result<Act, Fault> {
        let found = self.names_or_battery(rest)?;
        let Some(longest) = found.first() else {
            let point = rest
                .rsplit_once(char::is_whitespace)
                .filter(|(_, last)| seen(last).is_some())
                .map_or(rest, |(point, _)| point)
                .trim();
            if point.is_empty() {
                return Err(Wrong::NoPoint { word: "look" }.into());
            }
            let near = self.names.nearest(point);
            let works = near
                .as_deref()
                .filter(|name| !matches!(self.names.get(name), Some(Named::Place(_))))
                .map(|name| format!("look {} yes", self.spelled(name)));
            return Err(Fault(Wrong::unknown(&free(point), near), works));
        };
        for candidate in &found {
            let tail = cut(&rest[candidate.length..]).trim().to_lowercase();
            if let Some(seen) = seen(&tail) {
                return Ok(Act::Look {
                    point: self.thing("look", candidate)?,
                    seen,
                    word: tail,
                });
            }
        }
        let tail = cut(&rest[longest.length..]).trim();
        let works = Some(format!("look {} yes", self.spelled(&longest.name)));
        self.thing("look", longest)?;
        Err(Fault(
            if tail.is_empty() {
                Wrong::NoAnswer
            } else {
                Wrong::Trailing { typed: free(tail) }
            },
            works,
        ))
    }

    /// Anything but a place.
    fn thing(&self, word: &'static str, found: &Found) -> Result<Point, Fault> {
        Ok(match &found.named {
            Named::Part(part) => Point::Part(*part),
            Named::Plug(parts) => Point::Plug(found.name.clone(), parts.clone()),
            Named::Module(module) => Point::Module(*module),
            Named::Network(network) => Point::Network(*network),
            Named::Input(_) => Point::Input(found.name.clone()),
            Named::Place(_) => {
                return Err(Fault(
                    Wrong::NotForThis {
                        word,
                        name: found.name.clone(),
                        kind: "place",
                    },
                    Some(format!("open {}", self.spelled(&found.name))),
                ));
            }
        })
    }

    /// Points parted by commas, `and`, or blanks. Names may hold any of these themselves, so every
    /// way to read the start is tried, the longest first; a start that failed is not tried again.
    fn points(&self, word: &'static str, text: &str) -> Result<Vec<Point>, Fault> {
        if text.trim().is_empty() {
            return Err(Wrong::NoPoint { word }.into());
        }
        let mut furthest = 0;
        let mut tried = std::collections::BTreeSet::new();
        // Each level: what could stand at this position, and which is being tried.
        let mut stack: Vec<(usize, Vec<Found>, usize)> = Vec::new();
        let mut position = 0;
        loop {
            if tried.insert(position) {
                furthest = furthest.max(position);
                let found = match self.names_or_battery(&text[position..]) {
                    Ok(found) => found,
                    Err(wrong) if stack.is_empty() => return Err(wrong.into()),
                    Err(_) => Vec::new(),
                };
                stack.push((position, found, 0));
            }
            // Advance to the next candidate that is left.
            let next = loop {
                let Some((at, found, next)) = stack.last_mut() else {
                    break None;
                };
                if let Some(candidate) = found.get(*next) {
                    *next += 1;
                    break Some(*at + candidate.length);
                }
                stack.pop();
            };
            let Some(end) = next else {
                let point = text[furthest..].split(',').next().unwrap_or("").trim();
                let near = self
                    .names
                    .nearest(point)
                    .or_else(|| self.names.nearest(word_at(point).0));
                let works = near
                    .as_deref()
                    .filter(|n| matches!(self.names.get(n), Some(Named::Part(_) | Named::Plug(_))))
                    .map(|n| format!("{word} {}", self.spelled(n)));
                return Err(Fault(Wrong::unknown(&free(point), near), works));
            };
            let behind = &text[end..];
            let rest = past_separator(behind);
            if rest.is_empty() {
                break;
            }
            position = text.len() - rest.len();
        }
        stack
            .iter()
            .filter_map(|(_, found, next)| found.get(next.checked_sub(1)?))
            .map(|found| match &found.named {
                Named::Network(_) => Err(Fault(
                    Wrong::NotForThis {
                        word,
                        name: found.name.clone(),
                        kind: "network",
                    },
                    None,
                )),
                _ => self.thing(word, found),
            })
            .collect()
    }

    fn refit(&self, rest: &str) -> Result<Act, Fault> {
        let everything =
            rest.eq_ignore_ascii_case("all") || rest.eq_ignore_ascii_case("everything");
        if everything && self.names.get(rest).is_none() {
            return Ok(Act::Refit(Vec::new()));
        }
        Ok(Act::Refit(self.points("refit", rest)?))
    }

    fn open(&self, rest: &str) -> Result<Act, Fault> {
        let place = |name: &str| Some(format!("open {}", self.spelled(name)));
        let some_place = || {
            self.names.places().next().map_or_else(
                || "note bonnet open".to_owned(),
                |p| format!("open {}", self.spelled(p)),
            )
        };
        if rest.is_empty() {
            return Err(Fault(Wrong::NoPoint { word: "open" }, Some(some_place())));
        }
        let found = self.names.at_start(rest)?;
        match found.iter().find(|f| f.length == rest.len()) {
            Some(Found {
                named: Named::Place(place),
                ..
            }) => Ok(Act::Open(*place)),
            Some(other) => Err(Fault(
                Wrong::NotForThis {
                    word: "open",
                    name: other.name.clone(),
                    kind: "part, and places are opened",
                },
                Some(some_place()),
            )),
            None => {
                let near = nearest(rest, self.names.places());
                let works = near.as_deref().and_then(place).unwrap_or_else(some_place);
                Err(Fault(Wrong::unknown(&free(rest), near), Some(works)))
            }
        }
    }

    fn zero(rest: &str) -> Result<Act, Fault> {
        if rest.is_empty() {
            return Ok(Act::Zero(None));
        }
        let works = || Some("zero 0.2mV".to_owned());
        let (reading, tail) =
            reading(rest, Unit::Millivolts).map_err(|wrong| Fault(wrong, works()))?;
        if reading.over {
            return Err(Fault(
                Wrong::NotAReading {
                    typed: free(rest),
                    unit: "mV",
                },
                works(),
            ));
        }
        if tail.trim().is_empty() {
            Ok(Act::Zero(Some(reading)))
        } else {
            Err(Fault(Wrong::Trailing { typed: free(tail) }, works()))
        }
    }

    fn skip(&self, rest: &str) -> Result<Act, Fault> {
        let (first, rest) = word_at(rest);
        let lower = first.to_lowercase();
        let Some(method) = method(&lower) else {
            return Err(if first.is_empty() {
                Wrong::NoPoint { word: "skip" }.into()
            } else {
                Wrong::UnknownWord {
                    typed: free(first),
                    nearest: nearest(&lower, WORDS.iter().copied()),
                }
                .into()
            });
        };
        if matches!(method, Method::Draw | Method::Zero | Method::Wait) {
            return Ok(Act::Skip {
                method,
                point: Point::Battery,
                reason: free(rest),
            });
        }
        let found = self.names_or_battery(rest)?;
        let Some(longest) = found.first() else {
            if rest.is_empty() {
                return Err(Wrong::NoPoint { word: "skip" }.into());
            }
            let near = self
                .names
                .nearest(rest)
                .or_else(|| self.names.nearest(word_at(rest).0));
            return Err(Wrong::unknown(&free(rest), near).into());
        };
        let reason = free(cut(&rest[longest.length..]).trim_start_matches(','));
        let point = match (method, &longest.named) {
            (Method::Open, Named::Place(place)) => Point::Place(*place),
            (Method::Clamp | Method::Series, Named::Part(PartId(0))) => {
                return Ok(Act::Skip {
                    method: Method::Draw,
                    point: Point::Battery,
                    reason,
                });
            }
            (Method::Drop | Method::Clamp | Method::Series | Method::Volts, _) => {
                self.wire("skip", longest, "")?
            }
            _ => self.thing("skip", longest)?,
        };
        Ok(Act::Skip {
            method,
            point,
            reason,
        })
    }

    fn repaired(&self, rest: &str) -> Result<Act, Fault> {
        if free(rest).is_empty() {
            return Err(Wrong::NoText { word: "repaired" }.into());
        }
        let found = self.names.at_start(rest)?;
        Ok(match found.first() {
            Some(longest) if !matches!(longest.named, Named::Place(_)) => Act::Repaired {
                point: Some(self.thing("repaired", longest)?),
                text: free(cut(&rest[longest.length..]).trim_start_matches(',')),
            },
            _ => Act::Repaired {
                point: None,
                text: free(rest),
            },
        })
    }
}

fn past_separator(text: &str) -> &str {
    let text = text.trim_start();
    if let Some(rest) = text.strip_prefix([',', '&']) {
        return rest.trim_start();
    }
    if let Some(rest) = text
        .get(..3)
        .filter(|w| w.eq_ignore_ascii_case("and"))
        .map(|_| &text[3..])
        && rest.starts_with(char::is_whitespace)
    {
        return rest.trim_start();
    }
    text
}

/// The total is a draw, whichever way it was taken.
fn at_battery(method: Method, point: Point, reading: Reading, options: Options) -> Act {
    match (method, &point) {
        (Method::Clamp | Method::Series, Point::Part(PartId(0))) => Act::Read {
            method: Method::Draw,
            point: Point::Battery,
            reading,
            options: Options {
                by: Some(if method == Method::Clamp {
                    By::Clamp
                } else {
                    By::Series
                }),
                ..options
            },
        },
        _ => Act::Read {
            method,
            point,
            reading,
            options,
        },
    }
}

/// The line that mends a fault of the reading, keeping the number typed.
fn mended(method: Method, text: &str, wrong: Wrong) -> Fault {
    let unit = small_unit(unit_of(method));
    let number = match &wrong {
        Wrong::NoUnit { number, .. } => {
            // A battery voltage typed as `12.4` is volts, not millivolts.
            let volts =
                method == Method::Volts && number.parse::<f64>().is_ok_and(|n| n.abs() < 100.0);
            Some(format!("{number}{}", if volts { "V" } else { unit }))
        }
        Wrong::ZeroWithoutUnit { .. } | Wrong::ZeroWithoutDecimals { .. } => {
            let decimals = text.chars().filter(char::is_ascii_digit).count();
            Some(match method {
                Method::Volts => "0.0V".to_owned(),
                _ if decimals > 2 => format!("0.00{unit}"),
                _ => format!("0.0{unit}"),
            })
        }
        _ => None,
    };
    Fault(wrong, number)
}

fn alone(act: Act, rest: &str, word: &str) -> Result<Act, Fault> {
    if rest.trim().is_empty() {
        Ok(act)
    } else {
        Err(Fault(
            Wrong::Trailing { typed: free(rest) },
            Some(word.to_owned()),
        ))
    }
}

fn seen(word: &str) -> Option<Seen> {
    let lower = word.to_lowercase();
    if YES.contains(&lower.as_str()) {
        Some(Seen::Yes)
    } else if NO.contains(&lower.as_str()) {
        Some(Seen::No)
    } else {
        None
    }
}

fn told(rest: &str) -> Result<Act, Fault> {
    let text = free(rest);
    if text.is_empty() {
        return Err(Wrong::NoText { word: "told" }.into());
    }
    let (first, behind) = word_at(&text);
    let key = first.to_lowercase();
    if !TOLD_KEYS.contains(&key.as_str()) {
        return Ok(Act::Told { key: None, text });
    }
    if key == "days" {
        let number = word_at(behind).0.replace(',', ".");
        if !number.parse::<f64>().is_ok_and(|n| n > 0.0 && n < 10_000.0) {
            return Err(Wrong::NoNumber { word: "told days" }.into());
        }
    }
    Ok(Act::Told {
        key: Some(key),
        text: behind.to_owned(),
    })
}

fn withdraw(rest: &str) -> Result<Act, Fault> {
    let (first, reason) = word_at(rest);
    match first.trim_start_matches('#').parse::<u32>() {
        Ok(entry) if entry > 0 => Ok(Act::Withdraw {
            entry,
            reason: free(reason),
        }),
        _ => Err(Wrong::NoNumber { word: "withdraw" }.into()),
    }
}

fn options(text: &str) -> Result<Options, Wrong> {
    let mut options = Options::default();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let (word, behind) = word_at(rest);
        rest = behind;
        match word.to_lowercase().as_str() {
            "sure" if options.sure => return Err(Wrong::OptionTwice { word: "sure" }),
            "sure" => options.sure = true,
            "by" => {
                let (way, behind) = word_at(rest);
                rest = behind;
                let way = match way.to_lowercase().as_str() {
                    "clamp" => By::Clamp,
                    "series" => By::Series,
                    _ => {
                        return Err(Wrong::OptionWants {
                            word: "by",
                            wants: "clamp or series",
                        });
                    }
                };
                once("by", &mut options.by, way)?;
            }
            "turns" => {
                let (number, behind) = word_at(rest);
                rest = behind;
                let turns = number.parse().ok().filter(|n| (1..=1000).contains(n));
                let turns = turns.ok_or(Wrong::OptionWants {
                    word: "turns",
                    wants: "a number from 1, as in turns 5",
                })?;
                once("turns", &mut options.turns, turns)?;
            }
            "jack" => {
                let (jack, behind) = word_at(rest);
                rest = behind;
                let jack = match jack.to_lowercase().as_str() {
                    "ma" => Jack::MilliA,
                    "a" | "10a" => Jack::A,
                    "v" | "mv" => Jack::V,
                    _ => {
                        return Err(Wrong::OptionWants {
                            word: "jack",
                            wants: "mA or A",
                        });
                    }
                };
                once("jack", &mut options.jack, jack)?;
            }
            "with" => {
                let (with, behind) = reading(rest, Unit::Milliamps)?;
                if with.unit != Unit::Milliamps {
                    return Err(Wrong::OptionWants {
                        word: "with",
                        wants: "the total at that moment, as in with 640mA",
                    });
                }
                rest = behind.trim();
                once("with", &mut options.with, with)?;
            }
            "at" => {
                let (time, behind) = time_at(rest).ok_or(Wrong::OptionWants {
                    word: "at",
                    wants: "a time of day, as in at 14:32",
                })?;
                rest = behind;
                once("at", &mut options.at, time)?;
            }
            _ => return Err(Wrong::BadOption { typed: free(word) }),
        }
    }
    Ok(options)
}

fn once<T>(word: &'static str, slot: &mut Option<T>, value: T) -> Result<(), Wrong> {
    if slot.replace(value).is_some() {
        return Err(Wrong::OptionTwice { word });
    }
    Ok(())
}

/// `14:32` as minutes after midnight, and the rest.
fn time_at(text: &str) -> Option<(u16, &str)> {
    let text = text.trim_start();
    let end = text.find(char::is_whitespace).unwrap_or(text.len());
    let (hours, minutes) = text[..end].split_once(':')?;
    let digits = |s: &str| s.len() <= 2 && s.chars().all(|c| c.is_ascii_digit());
    if !digits(hours) || !digits(minutes) || minutes.len() != 2 {
        return None;
    }
    let (hours, minutes): (u16, u16) = (hours.parse().ok()?, minutes.parse().ok()?);
    (hours < 24 && minutes < 60).then(|| (hours * 60 + minutes, text[end..].trim()))
}
