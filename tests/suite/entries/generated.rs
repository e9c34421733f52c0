//! Typed entries that nobody would type: generated ones, hostile ones, long ones.

use super::{canonical, context, vehicle};
use halfsplit::feeds::{ModuleId, Named, NetworkId, PartId, PlaceId};
use halfsplit::journal::{
    Context, Names, parse, parse_with, read_quantity, write, write_reading, write_with,
};
use halfsplit::measurement::Unit;
use proptest::prelude::*;
use std::fmt::Write;

/// Names that look like other things, besides arbitrary ones.
fn a_name() -> impl Strategy<Value = String> {
    prop_oneof![
        "[A-Za-z0-9 ,;:=\"\\\\.é-]{1,12}",
        "\\PC{1,8}",
        "(F3|5A|volts|by|clamp|0\\.1mV|with|and|all|battery|not|sure)( (F3|5mA|by|clamp|sure|and|yes|with)){0,3}",
    ]
    .prop_map(|name| name.trim().to_owned())
    .prop_filter("a name has letters", |name| !name.is_empty())
}

/// Some names, each meaning one of the things a name can mean; the first is the battery.
fn some_names() -> impl Strategy<Value = (Vec<String>, Names)> {
    let kinds = proptest::collection::vec(0u32..7, 8);
    (proptest::collection::btree_set(a_name(), 3..8), kinds).prop_map(|(names, kinds)| {
        let named = |at: u32| match kinds[at as usize] {
            _ if at < 2 => Named::Part(PartId(at)),
            0 => Named::Plug(vec![PartId(1)]),
            1 => Named::Plug(vec![PartId(0), PartId(1)]),
            2 => Named::Module(ModuleId(at)),
            3 => Named::Network(NetworkId(at)),
            4 => Named::Input(Vec::new()),
            5 => Named::Place(PlaceId(at)),
            _ => Named::Part(PartId(at)),
        };
        let list: Vec<String> = names.into_iter().collect();
        let index = Names::from_list((0..).zip(&list).map(|(at, name)| (name.clone(), named(at))));
        (list, index)
    })
}

/// A reading as text, in every form.
fn a_reading() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => ">?-?[0-9]{1,5}([.,][0-9]{1,4})? ?(mA|A|ma|MA|mV|V|MV|uA|µV)",
        1 => "-?[0-9]{1,3}([.,][0-9]{1,3})?(mA)?(\\.\\.| to | - |-)-?[0-9]{1,3}([.,][0-9])? ?(mA|A|mV|V)",
        1 => "(OL|o\\.l)( ?(mV|A))?",
    ]
}

fn an_option() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("by clamp".to_owned()),
        Just("by series".to_owned()),
        Just("sure".to_owned()),
        "turns [1-9]{1,2}",
        "jack (mA|A|V)",
        "at [0-2][0-9]:[0-5][0-9]",
        a_reading().prop_map(|total| format!("with {total}")),
    ]
}

/// A line whose point is to be put in at `@`, right more often than not.
fn a_line() -> impl Strategy<Value = String> {
    let options = proptest::collection::vec(an_option(), 0..3);
    let answer = "(not )?(yes|No|warm|lit|dark|off|none|silent|5mA)";
    prop_oneof![
        (
            "(draw|drop @|clamp @|series @|volts @)",
            a_reading(),
            options
        )
            .prop_map(|(start, reading, options)| format!(
                "{start} {reading} {}",
                options.join(" ")
            )),
        answer.prop_map(|answer| format!("look @ {answer}")),
        "(pull|unplug|refit|open) @((,| and|) @){0,2}",
        ("skip (drop|look|pull|open|draw) @((,| and) @)? ?", a_text())
            .prop_map(|(start, reason)| format!("{start}{reason}")),
        a_text().prop_map(|text| format!("repaired @{text}")),
        a_text().prop_map(|text| format!("note {text}")),
        ("(told|told days 5|told rain:?|withdraw 3)", a_text())
            .prop_map(|(start, text)| format!("{start} {text}")),
        "(asleep|awake|prepared|undo|zero|refit all|refit everything|zero 0.3mV)",
        a_text(),
    ]
}

/// Free text, with what could be taken for something else.
fn a_text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[ -~é漢\u{1b}\u{a0}]{0,40}",
        "([,:=;\"\\\\ ]|@|and|5mA|sure|with|F3|\n){0,12}",
    ]
}

/// The line with the picked names, plain or quoted, at each `@`.
fn with_names(line: &str, names: &[String], pick: &[(usize, bool)]) -> String {
    let mut pieces = line.split('@');
    let mut text = pieces.next().unwrap_or("").to_owned();
    for (at, piece) in pieces.enumerate() {
        let (name, quoted) = pick[at % pick.len()];
        let name = &names[name % names.len()];
        if quoted {
            let escaped = name.replace('\\', "\\\\").replace('"', "\\\"");
            write!(text, "\"{escaped}\"{piece}").unwrap();
        } else {
            write!(text, "{name}{piece}").unwrap();
        }
    }
    text
}

/// What holds for any text: acts come back from their own words, words of acts are their own
/// canonical form, and a refusal says something short and shows a line that is taken.
fn holds_together(text: &str, names: &Names, context: &Context) -> Result<(), TestCaseError> {
    let none = Context {
        clamp_in_millivolts: context.clamp_in_millivolts,
        ..Context::default()
    };
    match parse_with(text, names, context) {
        Ok(acts) => {
            prop_assert!(!acts.is_empty());
            for act in acts {
                let canonical = write_with(&act, names);
                let again = parse_with(&canonical, names, &none);
                prop_assert_eq!(again, Ok(vec![act]), "{}", canonical);
            }
        }
        Err(refusal) => {
            let said = refusal.wrong.to_string();
            let quiet = !said.contains(char::is_control);
            prop_assert!(quiet, "{:?}", said);
            let works = parse_with(&refusal.works, names, context);
            prop_assert!(works.is_ok(), "{:?} {:?}", refusal, works);
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn acts_survive_being_written(
        (list, names) in some_names(), line in a_line(), more in a_line(),
        pick in proptest::collection::vec((any::<usize>(), any::<bool>()), 3),
        clamp_in_millivolts in any::<bool>(), pending in "(|drop @|look @|pull @, @|draw|open @|wait|skip)",
    ) {
        let pending = with_names(&pending, &list, &pick);
        let context = Context {
            pending: (!pending.is_empty()).then_some(pending),
            clamp_in_millivolts,
            ..Context::default()
        };
        let line = with_names(&line, &list, &pick);
        holds_together(&line, &names, &context)?;
        holds_together(&format!("{line};{more}"), &names, &context)?;
    }

    #[test]
    fn canonical_text_is_its_own_canonical_text(line in a_line(), pick in proptest::collection::vec((any::<usize>(), any::<bool>()), 3)) {
        let feeds = vehicle();
        let list: Vec<String> = feeds.names().map(|(name, _)| name.to_owned()).collect();
        for canonical in canonical("", &with_names(&line, &list, &pick), &feeds) {
            let acts = parse(&canonical, &feeds, &context("")).unwrap();
            prop_assert_eq!(acts.len(), 1);
            prop_assert_eq!(write(&acts[0], &feeds), canonical);
        }
    }

    #[test]
    fn no_text_is_too_strange(
        start in "(draw|drop|clamp F3|pull|look|skip|told|open|repaired|)", text in "\\PC{0,300}|(?s).{0,300}",
        pending in "(|drop F3|look cargo lamp|pull F12, F15)",
    ) {
        let feeds = vehicle();
        holds_together(&format!("{start} {text}"), &Names::of(&feeds), &context(&pending))?;
        let _ = read_quantity(&text, Unit::Milliamps);
    }

    #[test]
    fn readings_survive_being_written(text in a_reading()) {
        if let Ok(reading) = read_quantity(&text, Unit::Milliamps) {
            let written = write_reading(&reading);
            let again = read_quantity(&written, Unit::Millivolts);
            prop_assert_eq!(again, Ok(reading), "{}", written);
        }
    }
}

#[test]
fn long_lines_take_no_longer_than_their_length() {
    // No clock: time that grows with the square is felt. While one of these lines did that, it took
    // a minute; now all of them together take eight seconds without optimisation.
    const MANY: usize = 20_000;
    let feeds = vehicle();
    let names = Names::of(&feeds);
    let table = [
        ("pull ", "F12 ", ""),
        ("pull ", "lock and alarm and ", ""),
        ("pull ", "F12, F15, ", "F99"),
        ("pull ", "rear left door ", ""),
        ("drop ", "0mV ", "F3"),
        ("drop ", "x ", "2.1mV"),
        ("drop F3 2.1mV ", "with 640mA ", ""),
        ("drop ", "with 640mA sure ", ""),
        ("clamp F3 ", "5mA with ", "640mA"),
        ("drop F3 ", "9", "mV"),
        ("drop F3 0.", "0", "mV"),
        ("draw ", "-", "5mA"),
        ("draw ", "5mA..", "6mA"),
        ("draw ", "5mA - ", "6mA"),
        ("draw 5mA", " ", "sure"),
        ("look ", "cargo ", "lamp yes"),
        ("look cargo lamp ", "not ", "lit"),
        ("skip drop ", "F12, ", ""),
        ("skip drop F3 ", "no access ", ""),
        ("drop ", "\"", " 2.1mV"),
        ("pull ", "\"\\u{ ", ""),
        ("pull ", "\"F12\" ", ""),
        ("pull \"", "\\\" ", ""),
        ("pull \"\\u{", "0", "}\""),
        ("repaired ", "F12 ", ""),
        ("note ", "; ", ""),
        ("told ", "\" ", ""),
        ("", "asleep;", ""),
        ("", ";\n ", ""),
        ("", "x", ""),
        ("", "é ", ""),
        ("", "drop ", ""),
        ("withdraw ", "9", ""),
        ("open ", "bonnet box, ", ""),
        ("open ", "bonnet ", "box"),
    ];
    for (start, middle, end) in table {
        let text = format!("{start}{}{end}", middle.repeat(MANY));
        for pending in ["", "drop F3", "look cargo lamp"] {
            match parse_with(&text, &names, &context(pending)) {
                Ok(acts) => assert!(!acts.is_empty()),
                Err(refusal) => {
                    let said = refusal.wrong.to_string();
                    assert!(said.chars().count() < 400, "{start}{middle}: {said}");
                }
            }
        }
    }
}
