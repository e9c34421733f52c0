//! The exercise file, format 1, from text to an exercise as written.

use super::{Asks, Cause, Earlier, Task, Wants, What};
use crate::notation::{Field, Reader, Sense, Source, Token, from_to, tokens};
use crate::problem::{Finding, Form, Located, Problem, Thing, in_file_order, words};
use crate::quantity::Milliamps;
use crate::simulation::Traps;

/// Every field of an exercise.
const FIELDS: [&str; 17] = [
    "format",
    "name",
    "rung",
    "goal",
    "before",
    "time",
    "vehicle",
    "instruments",
    "number",
    "hidden",
    "search",
    "traps",
    "hand_in",
    "questions",
    "wrong",
    "lesson",
    "sealed",
];
const CAUSE: &str = "Cause(part: \"boot lamp\", takes: mA(400))";
const CAUSES: [&str; 8] = [
    "part",
    "takes",
    "coil",
    "shorted_wire",
    "contact",
    "holds_awake",
    "blown",
    "lost_by_pull",
];
const QUESTION: &str = "Question(ask: \"Which fuse feeds the siren?\", parts: [\"F3\"])";
const WRONG: &str = "{\"F2\": \"F2 feeds three loads: go further down\"}";

/// From a module that hardly wakes to a starter that sticks (judgement).
const TAKES: Sense = from_to(0.1, 100_000.0);
/// A minute to a working week (judgement).
const TIME: Sense = from_to(1.0, 2400.0);
/// Numbers that any program keeps exactly as a float.
const NUMBER: Sense = from_to(0.0, 9_007_199_254_740_992.0);

/// Sets one trap.
type Set = fn(&mut Traps);

/// The traps by their words.
const TRAPS: [(&str, Set); 7] = [
    ("BridgeOn", |traps| traps.bridge_on = true),
    ("BlownMeterFuse", |traps| traps.blown_fuse = true),
    ("LeadsReversed", |traps| traps.leads_round = true),
    ("Bursts", |traps| traps.bursts = true),
    ("ClampDrift", |traps| traps.drift = true),
    ("Retries", |traps| traps.retries = true),
    ("BatteryLow", |traps| traps.battery_low = true),
];

/// Whether a text is an exercise file and no vehicle file, by its first word.
pub fn is_exercise(text: &str) -> bool {
    let first = tokens(text).find(|(token, _)| *token != Token::Comment);
    first.is_some_and(|(_, at)| text[at].trim() == Form::EXERCISE.name)
}

/// Reads an exercise file of format 1: the exercise, or `None` when a problem is an error.
///
/// Broken syntax is one problem, the first; everything else is found at once, in the order of the
/// file. What it names is not looked up yet. Time and memory are linear in the text.
pub fn read(text: &str) -> (Option<Task>, Vec<Problem>) {
    let source = Source::new(text, &Form::EXERCISE);
    let mut problems = source.problems().to_vec();
    let read = source.fields().map(|fields| {
        let reader = Reader::new(source.text());
        let fields = reader.known(fields, "Exercise", &FIELDS);
        let task = whole(&reader, &source, &fields);
        (task, reader.into_problems())
    });
    let task = match read {
        Ok((task, found)) => {
            problems.extend(found);
            task
        }
        Err(problem) => {
            problems.push(*problem);
            None
        }
    };
    let sound = !problems.iter().any(Problem::is_error);
    (task.filter(|_| sound), in_file_order(problems))
}

fn whole<'s>(reader: &Reader<'s>, source: &'s Source<'_>, fields: &[Field<'s>]) -> Option<Task> {
    let raw = |name: &str| {
        let found = fields.iter().find(|(field, _)| *field == name);
        found.map(|(_, raw)| *raw).filter(|raw| *raw != "None")
    };
    let text = |name: &str| raw(name).and_then(|raw| reader.text(raw));
    match raw("format") {
        Some(format) => reader.format(format),
        None => reader.no_format(source.head()),
    }
    let needed = |name: &str, example: &str| {
        if raw(name).is_none() {
            reader.note(words::no_field(name, example).at(source.head()));
        }
        text(name)
    };
    let name = needed("name", "\"One lamp\"");
    let goal = needed("goal", "\"Find the lamp that stays alight, and prove it\"");
    let vehicle = needed("vehicle", "\"../teaching-board.ron\"");
    let sealed = text("sealed");
    if let Some(seal) = &sealed {
        for open in ["hidden", "search", "traps", "wrong", "lesson"] {
            let field = fields.iter().find(|(field, _)| *field == open);
            if let Some((field, _)) = field {
                reader.fault(field, words::open_beside_seal(open, &seal.at));
            }
        }
    }
    let number = raw("number").and_then(|raw| whole_number(reader, raw, NUMBER));
    let rung = raw("rung").and_then(|raw| whole_number(reader, raw, from_to(1.0, 99.0)));
    let hidden = raw("hidden").map(|raw| {
        let items = reader.list(raw, &format!("[{CAUSE}]"));
        items
            .into_iter()
            .filter_map(|raw| cause(reader, raw))
            .collect()
    });
    let questions = raw("questions").map_or_else(Vec::new, |raw| {
        let items = reader.list(raw, &format!("[{QUESTION}]")).into_iter();
        items
            .filter_map(|raw| question(reader, raw, sealed.is_some()))
            .collect()
    });
    Some(Task {
        name: name?.value,
        rung: rung.map(|rung| rung as u32),
        goal: goal?.value,
        before: raw("before").map_or_else(Vec::new, |raw| {
            let items = reader.list(raw, "[\"03-live-and-dead\"]").into_iter();
            items
                .filter_map(|raw| {
                    Some(Earlier {
                        file: reader.text(raw)?.value,
                        title: None,
                    })
                })
                .collect()
        }),
        time: raw("time").and_then(|raw| Some(reader.quantity(raw, TIME)?.value)),
        vehicle: vehicle?,
        instruments: text("instruments"),
        number,
        hand_in: text("hand_in").map(|text| text.value),
        sealed,
        hidden,
        search: raw("search")
            .and_then(|raw| reader.flag(raw))
            .unwrap_or(true),
        traps: raw("traps").map_or_else(Traps::default, |raw| traps(reader, raw)),
        questions,
        lesson: text("lesson").map(|text| text.value),
        wrong: raw("wrong").map_or_else(Vec::new, |raw| says(reader, raw)),
    })
}

fn whole_number<'s>(reader: &Reader<'s>, raw: &'s str, sense: Sense) -> Option<u64> {
    let number = reader.number(raw, sense)?;
    if number.fract() == 0.0 {
        // Not negative and small enough by its range check.
        return Some(number as u64);
    }
    reader.fault(raw, words::not_whole(number));
    None
}

fn traps<'s>(reader: &Reader<'s>, raw: &'s str) -> Traps {
    let mut traps = Traps::default();
    for raw in reader.list(raw, "[BridgeOn]") {
        if let Some(set) = reader.word(raw, Thing::Trap, &TRAPS) {
            set(&mut traps);
        }
    }
    traps
}

/// Pairs of a wrong answer and what to say to it.
fn says<'s>(reader: &Reader<'s>, raw: &'s str) -> Vec<(Located<String>, String)> {
    let pairs = reader.map(raw, WRONG).into_iter();
    pairs
        .filter_map(|(name, raw)| Some((name, reader.text(raw)?.value)))
        .collect()
}

fn cause<'s>(reader: &Reader<'s>, raw: &'s str) -> Option<Cause> {
    let fields = reader.record(raw, "Cause", &CAUSES, CAUSE)?;
    let (mut named, mut takes, mut lost) = (Vec::new(), None, false);
    for (field, raw) in fields {
        match field {
            // Where it is there and wrong, that alone is said.
            "takes" => takes = Some(reader.quantity::<Milliamps>(raw, TAKES)?.value),
            "lost_by_pull" => lost = reader.flag(raw)?,
            _ => named.push((field, reader.text(raw)?)),
        }
    }
    let no_cause = |finding: Finding| {
        reader.fault(raw, finding);
        None
    };
    if named.len() > 1 {
        return no_cause(words::two_causes(CAUSE));
    }
    let Some((field, name)) = named.pop() else {
        return no_cause(words::empty_cause(CAUSE));
    };
    let what = match (field, takes) {
        ("part", Some(takes)) => What::Takes(name, takes),
        ("contact", Some(takes)) => What::Contact(name, takes),
        ("part" | "contact", None) => return no_cause(words::no_current(CAUSE)),
        ("coil", _) => What::CoilHeld(name),
        ("shorted_wire", _) => What::WireShorted(name),
        ("holds_awake", _) => What::HeldBy(name),
        _ => What::Blown(name),
    };
    Some(Cause { what, lost })
}

fn question<'s>(reader: &Reader<'s>, raw: &'s str, sealed: bool) -> Option<Asks> {
    let known = ["ask", "parts", "current", "words", "hint", "wrong"];
    let fields = reader.record(raw, "Question", &known, QUESTION)?;
    let (mut ask, mut wants, mut wrong) = (None, sealed.then_some(Wants::Sealed), Vec::new());
    let mut hint = None;
    for (field, raw) in fields {
        match field {
            "ask" => ask = reader.text(raw).map(|text| text.value),
            "hint" => hint = reader.text(raw).map(|text| text.value),
            "parts" => {
                let names = reader.list(raw, "[\"F3\"]").into_iter();
                wants = Some(Wants::Parts(
                    names.filter_map(|raw| reader.text(raw)).collect(),
                ));
            }
            "current" => wants = reader.text(raw).map(Wants::Current),
            "words" => {
                let words = reader.list(raw, "[\"nothing\"]").into_iter();
                let words = words.filter_map(|raw| Some(reader.text(raw)?.value));
                wants = Some(Wants::Words(words.collect()));
            }
            _ => {
                let pairs = says(reader, raw).into_iter();
                wrong = pairs.map(|(reply, say)| (reply.value, say)).collect();
            }
        }
    }
    let (Some(ask), Some(wants)) = (ask, wants) else {
        reader.fault(raw, words::no_reply(QUESTION));
        return None;
    };
    Some(Asks {
        ask,
        wants,
        hint,
        wrong,
    })
}
