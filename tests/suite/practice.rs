//! What a screen says at single steps, as practitioners read it: notes of the file, care for what is in hand, what is
//! out in vain, and what a second battery needs.

use crate::blind::screen;
use crate::trace::flat;
use halfsplit::case::{Case, Setting};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::render::{
    When, question, report_json, report_text, taken_for_words, trace_cautions, trace_chosen,
};
use halfsplit::report::report;

/// A vehicle with a second battery behind a relay (invented).
const PILOT: &str = r#"Vehicle(format: 1, name: "Pilot (invented)", limit: mA(50), settle: minutes(30),
    places: { "box": Place(reach: minutes(1)), "roof": Place(reach: minutes(6)) },
    battery: Battery(id: "battery", volts: V(12), at: "box", feeds: [
        Relay(id: "K1", name: "split charge relay", rest: Open, at: "box", feeds: [
            Load(id: "second battery", kind: Other, at_most: mA(1)),
        ]),
        Fuse(id: "F1", rating: A(10), style: Mini, at: "box", feeds: [
            Load(id: "beacon", kind: Lamp, plug: "C1", at: "roof", at_most: mA(1)),
        ]),
        Fuse(id: "F2", rating: A(10), style: Mini, at: "box", note: "tell the port office before it is pulled", feeds: [
            Load(id: "tracker", kind: Telematics, plug: "C2", at: "box", at_most: mA(5), note: "on the bulkhead"),
        ]),
        Fuse(id: "F3", rating: A(10), style: Mini, at: "box", feeds: [
            Load(id: "battery sensor", kind: Other, plug: "C3", at: "box", at_most: mA(1)),
        ]),
    ]))"#;

fn pilot() -> Setting {
    let (feeds, problems) = load(PILOT);
    let feeds = feeds.unwrap_or_else(|| panic!("{problems:?}"));
    Setting::new(feeds, Instruments::assumed_meter())
}

fn case<'s>(setting: &'s Setting, lines: &[&str]) -> Case<'s> {
    let mut case = Case::new(setting);
    for line in ["prepared", "asleep", "draw 0.53A by series"]
        .iter()
        .chain(lines)
    {
        case.record(line)
            .unwrap_or_else(|refusal| panic!("{line}: {refusal}"));
    }
    case
}

/// A glow plug relay under its load (invented).
const GLOW: &str = r#"Vehicle(format: 1, name: "Corncrake tractor (invented)", limit: mA(20), settle: minutes(5),
    battery: Battery(id: "battery", feeds: [
        Link(id: "L1", rating: A(60), style: Midi, feeds: [
            Relay(id: "K1", name: "glow relay", rest: Open, feeds: [Load(id: "glow plugs", kind: Heater, plug: "C1", awake: A(12))]),
        ]),
        Fuse(id: "F2", rating: A(10), style: Mini, feeds: [Load(id: "clock", kind: Other)]),
    ]))"#;

/// Whoever pulls unasked what flows heavily reads that it arcs, from what was read while it was in.
#[test]
fn what_is_pulled_unasked_under_load_arcs() {
    let (feeds, problems) = load(GLOW);
    let feeds = feeds.unwrap_or_else(|| panic!("{problems:?}"));
    let setting = Setting::new(feeds, Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    case.record("prepared; asleep; draw 9.60A by series sure; volts F2 12.5V; drop F2 0.0mV")
        .unwrap();
    for (line, arcs) in [("pull K1", true), ("pull F2", false)] {
        let said = said_of(&case, line);
        assert_eq!(
            said.contains("under load it arcs and burns"),
            arcs,
            "{line}: {said}"
        );
    }
}

/// What is said of a test that is named without its reading, or of what was taken out unasked.
fn said_of(case: &Case<'_>, line: &str) -> String {
    if let Some(chosen) = case
        .chosen(line)
        .unwrap_or_else(|refusal| panic!("{refusal}"))
    {
        return flat(&trace_chosen(case, &chosen, 400));
    }
    let mut case = case.clone();
    let done = case.record(line).unwrap();
    flat(&trace_cautions(&done, None, &case, 400))
}

/// What the file notes of a part stands where that is touched, and of what loses its feed where that is taken.
#[test]
fn notes_of_the_file_stand_at_the_step() {
    let setting = pilot();
    let case = case(&setting, &[]);
    let office = "note F2: tell the port office before it is pulled";
    let table = [
        ("pull F2", &[office, "tracker: on the bulkhead"][..], ""),
        ("drop F2", &[], "note"),
        (
            "unplug C2",
            &["note tracker: on the bulkhead"],
            "port office",
        ),
        ("pull F1", &[], "note"),
    ];
    for (test, said, not) in table {
        let text = said_of(&case, test);
        for one in said {
            assert!(text.contains(one), "{test}: {one}: {text}");
        }
        assert!(
            not.is_empty() || !text.contains(not),
            "{test}: {not}: {text}"
        );
    }
}

/// What holds a charge hurts who has it in hand, and nobody at its fuse; what is live from two batteries is said of
/// the relay between them, and of no sensor on the battery.
#[test]
fn care_is_asked_for_where_it_is_in_hand() {
    let setting = pilot();
    let case = case(&setting, &[]);
    let charge = "may hold a dangerous charge";
    let both = "from two batteries";
    for (test, said, expected) in [
        ("unplug C1", charge, true),
        ("pull F1", charge, false),
        ("pull K1", both, true),
        ("pull F3", both, false),
        ("pull F1", both, false),
    ] {
        let text = said_of(&case, test);
        assert_eq!(text.contains(said), expected, "{test}: {said}: {text}");
    }
}

/// A stuck relay between two batteries: what hurts stands on the screen that says what to mend, and the owner is told
/// of the other battery, with one name for the relay.
#[test]
fn a_relay_between_two_batteries() {
    let setting = pilot();
    let case = case(
        &setting,
        &[
            "look K1 cold",
            "pull K1",
            "asleep",
            "draw 26.7mA by series",
            "draw 26.7mA by series",
            "refit K1",
            "asleep",
            "draw 0.53A by series",
            "pull K1",
            "asleep",
            "draw 26.7mA by series",
        ],
    );
    let shown = flat(&screen(&case, 400));
    assert!(shown.contains(" PROVEN "), "{shown}");
    assert!(
        shown.contains("CAUTION Live on both sides, from two batteries"),
        "{shown}"
    );
    let told = report(&case);
    let page = report_text(&told, &case, &When::default());
    for said in [
        "K1 tied the second battery to this one while the vehicle was parked: that battery may be flat or harmed too",
        "Charge and test second battery by itself",
    ] {
        assert!(page.contains(said), "{said}: {page}");
    }
    let owner = page.split("## For the next electrician").next().unwrap();
    assert!(!owner.contains("split charge relay"), "{owner}");
    let to_do = &report_json(&told, &case, &When::default())["to_do"];
    assert!(
        to_do.as_array().unwrap().contains(&"test_battery".into()),
        "{to_do}"
    );
}

/// What is to be mended on one battery alone: its negative lead off before a wire is cut.
#[test]
fn care_is_asked_for_before_the_repair() {
    let setting = pilot();
    let case = case(
        &setting,
        &[
            "drop F2 4.0mV",
            "unplug C2",
            "asleep",
            "draw 26.7mA by series",
            "draw 26.7mA by series",
            "refit C2",
            "asleep",
            "draw 0.53A by series",
            "unplug C2",
            "asleep",
            "draw 26.7mA by series",
        ],
    );
    let shown = flat(&screen(&case, 400));
    assert!(shown.contains(" PROVEN "), "{shown}");
    assert!(
        shown.contains("CAUTION Negative lead off before you cut or unbolt."),
        "{shown}"
    );
}

/// What was pulled and changed nothing may go back in, which the next screen says, once.
#[test]
fn what_came_out_in_vain_may_go_back_in() {
    let setting = pilot();
    let mut case = case(&setting, &["pull F1", "asleep", "draw 0.53A by series"]);
    let shown = flat(&screen(&case, 400));
    let offers =
        "still out F1; nothing that matters fell without F1. May stay out; back in now: refit F1";
    assert!(shown.contains(offers), "{shown}");
    case.record("drop F2 0.0mV").unwrap();
    let shown = flat(&screen(&case, 400));
    assert!(!shown.contains("Nothing that matters fell"), "{shown}");
}

/// Digits that no jack shows are said to be that, with the same in amps.
#[test]
fn digits_that_no_jack_shows_are_no_reading_of_one() {
    let setting = pilot();
    let mut case = Case::new(&setting);
    case.record("prepared; asleep").unwrap();
    for (typed, said) in [
        (
            "0.53mA",
            "which shows steps of 0.1 mA and not that many digits: was it amps? Then undo, and 0.53A",
        ),
        ("43.2mA", "as read on the mA jack, by its digits"),
    ] {
        let done = case.clone().record(typed).unwrap();
        let taken = taken_for_words(&done.taken_for.expect(typed));
        assert!(taken.contains(said), "{typed}: {taken}");
    }
}

/// A reading that could not tell is answered in few rows; how it could be told stands where the test is named.
#[test]
fn a_blind_reading_is_answered_in_few_rows() {
    let setting = Setting::new(
        load(&PILOT.replace(
            "A(10), style: Mini, at: \"box\", feeds: [\n            Load(id: \"beacon\"",
            "A(30), style: Mini, at: \"box\", feeds: [\n            Load(id: \"beacon\"",
        ))
        .0
        .unwrap(),
        Instruments::assumed_meter(),
    );
    let mut case = Case::new(&setting);
    for line in ["prepared", "asleep", "draw 70.0mA by series sure"] {
        case.record(line).unwrap();
    }
    let done = case.record("drop F1 0.0mV").unwrap();
    let asked: Vec<String> = done
        .questions
        .iter()
        .map(|asked| question(asked, &setting))
        .collect();
    let blind = asked
        .iter()
        .find(|asked| asked.contains("cannot tell"))
        .expect("asked");
    assert!(blind.contains("; how: drop F1"), "{blind}");
    assert!(textwrap::wrap(blind, 50).len() <= 6, "{blind}");
    let whole = said_of(&case, "drop F1");
    assert!(whole.contains("BLIND"), "{whole}");
}
