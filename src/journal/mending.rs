//! A line that was not taken → what is wrong with it, and a line of the same kind that works.

use crate::feeds::Named;
use crate::journal::line::{first_entry, free, past_marks, quote, word_at};
use crate::journal::meant::meant;
use crate::journal::names::Found;
use crate::journal::options::{behind_point, sample};
use crate::journal::parsing::{Asks, Fault, Parser, Pending, WORDS, is_bare, parted, seen};
use crate::journal::reading::{Shown, reading};
use crate::journal::{Refusal, Wrong, word};
use crate::measurement::{Method, Unit};
use crate::problem::nearest;

impl Parser<'_> {
    pub(super) fn unknown_word(&self, line: &str, first: &str) -> Fault {
        if let Some(fault) = self.without_method(line) {
            return fault;
        }
        if is_bare(line) || first.eq_ignore_ascii_case("done") {
            if let Some(pending) = &self.pending {
                let entry = pending.entry.clone();
                return Fault::new(Wrong::NotDone { entry }, "done".to_owned());
            }
            let works = match reading(line, Unit::Milliamps) {
                Ok(shown) if shown.reading.unit == Unit::Milliamps => format!("draw {line}"),
                Ok(_) => self.example("drop"),
                Err(_) if seen(first).is_some() => self.example("look"),
                Err(_) => self.example("draw"),
            };
            return Fault::new(Wrong::NothingPending, works);
        }
        let (near, rest) = meant(line).map_or_else(
            || {
                let near = nearest(&first.to_lowercase(), WORDS.iter().copied());
                (near, &line[first.len()..])
            },
            |(word, rest)| (Some(word), rest),
        );
        let works = near.map(|near| {
            let mended = format!("{near}{rest}");
            let doing = self.pending.as_ref().filter(|p| p.asks() == Asks::Doing);
            let asked = doing.map(|pending| &pending.entry);
            let asked = asked.filter(|asked| word_at(asked).0 == near);
            match (self.acts(&mended), asked) {
                (Ok(_), _) => mended,
                (Err(_), Some(asked)) => asked.clone(),
                (Err(fault), None) => fault.works.unwrap_or_else(|| self.example(near)),
            }
        });
        // What is to be done next is no example for what was done.
        let asks_a_reading = self
            .pending
            .as_ref()
            .is_some_and(|p| p.asks() != Asks::Doing);
        // What was read or seen at a part that is named is kept.
        let (_, behind) = word_at(line);
        let said = behind.split_whitespace().next_back();
        let there = || self.without_method(behind).and_then(|fault| fault.works);
        let there = || there().filter(|works| said.is_some_and(|said| works.ends_with(said)));
        let note = || (!asks_a_reading).then(|| format!("note {}", free(line)));
        let works = works.or_else(there).or_else(note);
        Fault {
            wrong: Wrong::UnknownWord {
                typed: free(first),
                nearest: near.map(str::to_owned),
            },
            works,
        }
    }

    /// The fault of an entry that starts with a name.
    pub(super) fn without_method(&self, text: &str) -> Option<Fault> {
        let things = self.names.things_at(text).unwrap_or_default();
        let places = self.names.places_at(text).unwrap_or_default();
        let found = things.first().or(places.first())?;
        let name = self.spelled(found);
        let tail = past_marks(&text[found.length..]);
        let read = |method| behind_point(method, tail, self.clamp_in_millivolts).is_ok();
        let in_volts = |shown: Shown<'_>| shown.reading.high >= 500.0;
        let read_by = if read(Method::Clamp) {
            Some(Method::Clamp)
        } else if read(Method::Volts) && reading(tail, Unit::Millivolts).is_ok_and(in_volts) {
            Some(Method::Volts)
        } else {
            read(Method::Drop).then_some(Method::Drop)
        };
        let words: &[&str] = match &found.named {
            Named::Part(_) => &["drop", "clamp", "volts", "look", "pull"],
            Named::Plug(_) | Named::Module(_) => &["unplug", "look"],
            Named::Network(_) | Named::Input(_) => &["look"],
            Named::Place(_) => &["open"],
        };
        let line = match (self.wire_of(found), read_by, &found.named) {
            (_, _, Named::Place(_)) => format!("open {name}"),
            _ if seen(tail).is_some() => format!("look {name} {tail}"),
            (Some(wire), Some(method), _) => format!("{} {wire} {tail}", word(method)),
            (Some(wire), None, Named::Part(_)) => format!("drop {wire} {}", sample(Method::Drop)),
            (_, _, Named::Plug(_) | Named::Module(_)) => format!("unplug {name}"),
            _ => format!("look {name} no"),
        };
        let name = found.name.clone();
        Some(Fault::new(Wrong::NoMethod { name, words }, line))
    }

    /// The refusal, with a line that is sure to work.
    pub(super) fn refusal(&self, line: &str, fault: Fault) -> Refusal {
        let taken = |works: &String| {
            let (entry, behind) = first_entry(works, false);
            let completed = self.completed(entry);
            let first = self.acts(completed.as_deref().unwrap_or(entry));
            let mut others = parted(behind.unwrap_or_default(), false).into_iter();
            first.is_ok() && others.all(|entry| self.acts(entry).is_ok())
        };
        // Of several names meant, the first will do.
        let first = match &fault.wrong {
            Wrong::SeveralNames { typed, names } => names
                .first()
                .map(|name| line.replacen(typed, &self.plain(name), 1)),
            _ => None,
        };
        let works = fault
            .works
            .filter(taken)
            .or_else(|| first.filter(taken))
            .or_else(|| Some(self.example(word_at(line).0)).filter(taken))
            .unwrap_or_else(|| "draw 0.64A".to_owned());
        Refusal {
            entry: line.to_owned(),
            wrong: fault.wrong,
            works,
        }
    }

    /// A line of the same kind, else what the pending test waits for.
    pub(super) fn example(&self, first: &str) -> String {
        let some = self.some_part();
        let first = first.to_lowercase();
        match first.as_str() {
            "drop" => format!("drop {some} {}", sample(Method::Drop)),
            "clamp" => format!("clamp {some} {}", sample(Method::Clamp)),
            "series" => format!("series {some} {}", sample(Method::Series)),
            "volts" => format!("volts {some} {}", sample(Method::Volts)),
            "look" => format!("look {some} yes"),
            "pull" | "unplug" => format!("{first} {some}"),
            "refit" => "refit all".to_owned(),
            "open" => self.some_place(),
            "zero" => "zero 0.2mV".to_owned(),
            "asleep" | "awake" | "prepared" | "undo" => first,
            "told" => "told days 6".to_owned(),
            "skip" => format!("skip drop {some} no access"),
            "withdraw" => "withdraw 7 probe slipped".to_owned(),
            "repaired" => format!("repaired {some} chafed wire"),
            "note" => "note rain got in".to_owned(),
            "comes" => "comes 180mA every 20min for 30s".to_owned(),
            "logged" => "logged 8h most 45mA".to_owned(),
            "draw" => "draw 0.64A".to_owned(),
            _ => self
                .pending
                .as_ref()
                .map_or_else(|| "draw 0.64A".to_owned(), Pending::example),
        }
    }

    /// A part for examples.
    pub(super) fn some_part(&self) -> String {
        self.plain(self.names.example())
    }

    /// A place to open, for examples.
    pub(super) fn some_place(&self) -> String {
        match self.names.places().next() {
            Some(place) => format!("open {}", self.place_spelled(place)),
            None => "note a lid was open".to_owned(),
        }
    }

    /// The name of a part, plug, module, network or input as it can be typed.
    pub(super) fn plain(&self, name: &str) -> String {
        spell(name, self.names.things_at(name))
    }

    /// The name of a place as it can be typed where a place is meant.
    pub(super) fn place_spelled(&self, place: &str) -> String {
        spell(place, self.names.places_at(place))
    }

    /// The name found, as it can be typed.
    pub(super) fn spelled(&self, found: &Found) -> String {
        match found.named {
            Named::Place(_) => self.place_spelled(&found.name),
            _ => self.plain(&found.name),
        }
    }

    /// The name of a part that stands for what was found, as it can be typed.
    pub(super) fn wire_of(&self, found: &Found) -> Option<String> {
        let name = match &found.named {
            Named::Part(_) => Some(found.name.as_str()),
            Named::Plug(parts) => parts
                .first()
                .and_then(|part| self.names.name_of(&Named::Part(*part))),
            Named::Module(module) => self.names.feeds_of(*module).first().map(String::as_str),
            _ => None,
        };
        name.map(|name| self.plain(name))
    }
}

/// The name, in quotes where it is not found plain.
fn spell(name: &str, plain: Result<Vec<Found>, Wrong>) -> String {
    let found = plain.unwrap_or_default();
    let whole = |found: &Found| found.name == name && found.length == name.len();
    let marks = |c: char| matches!(c, ';' | '"' | ',') || c.is_control();
    if found.first().is_some_and(whole) && !name.contains(marks) {
        name.to_owned()
    } else {
        quote(name)
    }
}
