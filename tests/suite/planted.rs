//! Mistakes planted in a sound vehicle file and a sound table, one at a time: each is found at its very
//! place, and nothing else is found.

use halfsplit::problem::{Problem, rows};
use halfsplit::table::{self, How};
use halfsplit::vehicle::Vehicle;
use halfsplit::{advice, feeds};

const SOUND: &str = r#"Vehicle(
    format: 1,
    name: "Planted (invented)",
    year: 2014,
    limit: mA(30),
    places: {
        "bonnet box": Place(reach: minutes(1.5)),
        "dash box": Place(reach: minutes(5), wakes: true),
        "behind dash": Place(reach: minutes(20), within: "dash box"),
    },
    networks: { "body network": Network() },
    modules: { "body module": Module(network: "body network", held_by: ["bonnet switch"]) },
    battery: Battery(id: "battery", at: "bonnet box", capacity: Ah(70), feeds: [
        Link(id: "L1", rating: A(40), style: Midi, at: "bonnet box", feeds: [
            Fuse(id: "F1", rating: A(20), style: Mini, at: "dash box", wire: Wire(size: mm2(6.5)), feeds: [
                Load(id: "radio", kind: Audio, plug: "C1", at: "behind dash", asleep: mA(3)),
                Load(id: "body feed 1", of: "body module", plug: "C2", at: "behind dash"),
            ]),
            Fuse(id: "F2", rating: A(10), style: Mini, at: "dash box", feeds: [
                Coil(id: "K1 coil", moves: "K1", commanded_by: "body module"),
                Load(id: "body feed 2", of: "body module", plug: "C2", at: "behind dash"),
            ]),
            Relay(id: "K1", rest: Open, at: "bonnet box", feeds: [
                Load(id: "fan", kind: Motor, plug: "C3", at: "bonnet box"),
            ]),
        ]),
    ]),
)
"#;

/// Code; what stands there; what is typed instead; where it is found.
const IN_A_FILE: &[(&str, &str, &str, &str)] = &[
    ("no-unit", "mA(30)", "30", "30,"),
    ("wrong-unit", "mA(30)", "ma(30)", "ma(30)"),
    ("wrong-unit", "Ah(70)", "A(70)", "A(70)"),
    ("decimal-comma", "mm2(6.5)", "mm2(6,5)", "mm2(6,5)"),
    ("no-unit", "A(20)", "20A", "20A"),
    ("unknown-word", "Midi", "Middi", "Middi"),
    ("unknown-field", "year: 2014", "yaer: 2014", "yaer"),
    ("not-a-number", "2014", "\"2014\"", "\"2014\""),
    (
        "duplicate-field",
        "year: 2014",
        "year: 2014, year: 2015",
        "year: 2015",
    ),
    (
        "misplaced-field",
        "rest: Open",
        "rating: A(30), rest: Open",
        "rating: A(30)",
    ),
    ("duplicate-id", "\"F2\"", "\"F1\"", "\"F1\", rating: A(10)"),
    ("name-clash", "\"C3\"", "\"F2\"", "\"F2\", at: \"bonnet"),
    (
        "duplicate-key",
        "\"behind dash\": Place(",
        "\"dash box\": Place(),\n\"behind dash\": Place(",
        "\"dash box\": Place(),",
    ),
    (
        "unknown-place",
        "\"C3\", at: \"bonnet box\"",
        "\"C3\", at: \"bonet box\"",
        "\"bonet box\"",
    ),
    (
        "unknown-module",
        "2\", of: \"body module\"",
        "2\", of: \"bodymodule\"",
        "\"bodymodule\"",
    ),
    (
        "unknown-network",
        "Module(network: \"body",
        "Module(network: \"bodi",
        "\"bodi",
    ),
    ("coil-target", "moves: \"K1\"", "moves: \"K2\"", "\"K2\""),
    (
        "coil-command",
        "commanded_by: \"body module\"",
        "commanded_by: \"body\"",
        "\"body\"",
    ),
    (
        "feeds-not-allowed",
        "\"C3\", at: \"bonnet box\"",
        "\"C3\", feeds: [Load(id: \"x\")]",
        "\"x\"",
    ),
    (
        "place-ring",
        "wakes: true",
        "within: \"behind dash\"",
        "\"behind dash\"),\n        \"behind",
    ),
    ("no-quotes", "\"C3\"", "C3", "C3"),
    ("not-true-or-false", "wakes: true", "wakes: yes", "yes"),
    ("negative", "mA(3)", "mA(-3)", "mA(-3)"),
    ("not-finite", "mA(3)", "mA(1e999)", "mA(1e999)"),
    ("out-of-range", "A(10)", "A(10000)", "A(10000)"),
    (
        "syntax",
        "rest: Open,",
        "rest: Open",
        "at: \"bonnet box\", feeds: [\n                Load(id: \"fan\"",
    ),
    ("syntax", "2014,", "2014;", ";"),
    ("syntax", "\"radio\"", "“radio”", "“radio”"),
    ("unknown-part", "Fuse(id: \"F2\"", "Fuze(id: \"F2\"", "Fuze"),
    ("empty", "id: \"fan\"", "id: \"\"", "\"\""),
    ("no-id", "id: \"fan\", ", "", "Load(kind"),
    ("wrong-format", "format: 1", "format: 2", "2,\n"),
    (
        "shape",
        "[\"bonnet switch\"]",
        "\"bonnet switch\"",
        "\"bonnet switch\"",
    ),
    ("draw-order", "mA(3)", "mA(3), at_most: mA(1)", "\"radio\""),
    ("larger-than-above", "A(20)", "A(60)", "A(60)"),
    ("thin-wire", "mm2(6.5)", "mm2(2.5)", "\"F1\""),
    ("no-rating", "rating: A(10), ", "", "\"F2\""),
    ("no-plug", "plug: \"C1\", ", "", "\"radio\""),
    ("asleep-over-limit", "mA(3)", "mA(300)", "mA(30),"),
];

/// The text with `old` made `new`, and the line and column of the first `at` in it.
fn planted(old: &str, new: &str, at: &str) -> (String, (usize, usize)) {
    assert_eq!(SOUND.matches(old).count(), 1, "{old}");
    let text = SOUND.replace(old, new);
    let byte = text.find(at).unwrap();
    let before = &text[..byte];
    let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
    (text.clone(), (before.matches('\n').count() + 1, column))
}

#[test]
fn each_mistake_in_a_file_is_found_at_its_place() {
    assert_eq!(advice::look_over(SOUND).1, [], "the file is sound");
    for (code, old, new, at) in IN_A_FILE {
        let (text, place) = planted(old, new, at);
        let (_, problems) = advice::look_over(&text);
        let found: Vec<_> = rows(&text, &problems)
            .into_iter()
            .map(|row| (row.code, row.help.is_empty(), (row.line, row.column)))
            .collect();
        assert!(
            found.contains(&(*code, false, place)),
            "{new}: {found:?}, not {place:?}"
        );
        // What follows from it may be asked about, and nothing else is an error.
        let errors = problems.iter().filter(|p| p.is_error()).count();
        assert!(errors <= 1, "{new}: {problems:#?}");
    }
}

#[test]
fn each_mistake_in_a_table_is_found_at_its_cell() {
    let sound = "\
Part,Kind,Fed by,Rating (A),Style,Place,Plug,Asleep (mA),Load kind,Moves,Wire
battery,Battery,,,,bay,,,,,
L1,Link,battery,80,midi,bay,,,,,16 mm2 0.5 m
F1,Fuse,L1,20,Mini,dash box,,,,,
F2,Fuse,L1,7.5,Mini,dash box,,,,,
radio,Load,F1,,,dash,C1,2.5,Audio,,
K1 coil,Coil,F2,,,,,,,K1,
K1,Relay,L1,,,dash box,,,,,
fan,Load,K1,,,bay,C3,,Motor,,
";
    let read = |text: &str| {
        let start = Vehicle::named("x".to_owned());
        table::read(text, &start, How::default()).problems
    };
    assert_eq!(read(sound), []);
    // code; the cell; what stands there, with its neighbours; what is typed instead
    let planted = [
        ("wrong-unit", "D4", "L1,20,", "L1,20 V,"),
        ("not-a-number", "D4", "L1,20,", "L1,ten,"),
        ("not-a-number", "D4", "L1,20,", "L1,\"1,500\","),
        ("negative", "D4", "L1,20,", "L1,-20,"),
        ("out-of-range", "D4", "L1,20,", "L1,20000,"),
        ("larger-than-above", "D4", "L1,20,", "L1,200,"),
        ("unknown-word", "E5", "7.5,Mini", "7.5,Minni"),
        ("unknown-part", "B5", "F2,Fuse", "F2,Fuze"),
        ("unknown-feed", "C6", "Load,F1", "Load,F9"),
        ("unknown-feed", "A6", "Load,F1", "Load,"),
        ("ring", "C4", "F1,Fuse,L1", "F1,Fuse,radio"),
        ("duplicate-id", "A6", "radio,Load", "F2,Load"),
        ("no-id", "A9", "fan,Load", ",Load"),
        ("name-clash", "G9", "bay,C3", "bay,F2"),
        ("unknown-word", "I6", "Audio", "Adio"),
        ("coil-target", "J7", ",K1,\nK1", ",K9,\nK1"),
        ("misplaced-field", "D8", "Relay,L1,,", "Relay,L1,30,"),
        ("feeds-not-allowed", "A9", "Load,K1", "Load,radio"),
        ("not-a-number", "K3", "16 mm2 0.5 m", "16 0.5 m"),
        ("unknown-column", "F1", "Style,Place", "Style,Price"),
        ("no-column", "", "Fed by", "Price"),
    ];
    for (code, cell, old, new) in planted {
        assert_eq!(sound.matches(old).count(), 1, "{old}");
        let problems = read(&sound.replace(old, new));
        let found = |p: &&Problem| p.code == code && p.message().starts_with(cell);
        let named = problems.iter().find(found);
        assert!(
            named.is_some_and(|p| !p.help().is_empty()),
            "{new}: {problems:#?}"
        );
        let errors = problems.iter().filter(|p| p.is_error()).count();
        assert!(errors <= 1 || code == "ring", "{new}: {problems:#?}");
    }
    assert!(feeds::load(SOUND).0.is_some());
}
