//! What comes of a proof: everything proven is to be mended, whether something is left, what a proof does
//! not tell apart, and how it is written up.

use crate::blind::screen;
use crate::driver::{Driver, part};
use halfsplit::case::{Case, Left, Question, Reason, Setting, State};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::quantity::Milliamps;
use halfsplit::render::{When, question, report_json, report_text, why_draw};
use halfsplit::report::report;
use halfsplit::simulation::Drain;

/// A box with five fuses, all it feeds far behind a panel, but for an alarm in the box.
const BOX: &str = r#"Vehicle(format: 1, name: "A box of five fuses (invented)", limit: mA(50), settle: minutes(20),
    places: {"box": Place(reach: minutes(1)), "panel": Place(reach: minutes(12))},
    battery: Battery(id: "battery", at: "box", feeds: [
        Fuse(id: "F1", rating: A(10), style: Mini, at: "box", feeds: [
            Load(id: "radio", kind: Audio, plug: "C1", at: "panel", asleep: mA(2)),
            Load(id: "roof lamp", kind: Lamp, plug: "C2", at: "panel")]),
        Fuse(id: "F2", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "heater", kind: Heater, plug: "C3", at: "panel")]),
        Fuse(id: "F3", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "pump", kind: Motor, plug: "C4", at: "panel")]),
        Fuse(id: "F4", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "socket", kind: Added, plug: "C5", at: "panel")]),
        Fuse(id: "F5", rating: A(5), style: Mini, at: "box", feeds: [Load(id: "alarm", kind: Other, plug: "C6", at: "box", asleep: mA(3))]),
    ]))"#;

fn setting(text: &str) -> Setting {
    Setting::new(load(text).0.unwrap(), Instruments::assumed_meter())
}

/// A case in which these drains were proven, as the truthful driver gets there.
fn proven<'s>(setting: &'s Setting, drains: &[(&str, f64)]) -> Case<'s> {
    let hidden = drains
        .iter()
        .map(|(name, ma)| Drain::Takes(part(setting, name), Milliamps::of(*ma)));
    let outcome = Driver::new(setting, hidden.collect(), 5).run();
    let mut names: Vec<&str> = drains.iter().map(|(name, _)| *name).collect();
    let mut found = outcome.found.clone();
    names.sort_unstable();
    found.sort();
    assert_eq!(
        (outcome.state, found),
        (
            State::Confirmed,
            names.iter().map(ToString::to_string).collect()
        ),
        "{:#?}",
        outcome.log
    );
    let mut case = Case::new(setting);
    for entry in &outcome.entries {
        case.record(entry).unwrap();
    }
    case
}

/// The heater is proven by its fuse; later its plug is out in the fuse's place, and the draw is as low.
#[test]
fn a_plug_in_its_fuses_place_takes_its_place_in_the_proof() {
    let setting = setting(BOX);
    let mut case = Case::new(&setting);
    for line in [
        "prepared; asleep; draw 640mA; drop F2 4.8mV",
        "pull F2; asleep; draw 5.2mA jack mA",
        "refit F2; asleep; draw 640mA; pull F2",
    ] {
        case.record(line).unwrap();
    }
    let proven_by = |case: &Case<'_>| -> Vec<(String, u32)> {
        let found = case.next().found.into_iter();
        let taken = found.flat_map(|found| {
            let without = found.draws[1];
            let taken = found.taken.into_iter();
            taken.map(move |taken| (taken.name, without))
        });
        taken.collect()
    };
    assert_eq!(proven_by(&case), [("F2".to_owned(), 7)]);
    case.record("unplug C3; refit F2; asleep; draw 5.1mA jack mA")
        .unwrap();
    assert_eq!(proven_by(&case), [("C3".to_owned(), 15)]);
    assert_eq!(case.next().state, State::Confirmed);
}

/// Puts all back and lets it settle after a repair.
fn settled_after(case: &mut Case<'_>, repaired: &[&str]) {
    for line in repaired {
        case.record(line).unwrap();
    }
    case.record("refit all; prepared; asleep").unwrap();
}

/// Two drains were proven: both are to be mended, and one that the repair does not name is asked about
/// until it is named; so is one that the draw after the repair still shows.
#[test]
fn two_drains_are_both_to_be_mended() {
    let setting = setting(BOX);
    let before = proven(&setting, &[("radio", 400.0), ("pump", 200.0)]);
    let end = screen(&before, 400);
    for said in [
        "Mend both",
        "radio (C1)",
        "pump (C4)",
        "repaired C1 and what was done",
        "repaired C4 and what was done",
    ] {
        assert!(end.contains(said), "{said}: {end}");
    }
    // What is entered, and which of the two is asked about then.
    let rows: [(&[&str], &[&str]); 9] = [
        (&["repaired C1 new radio"], &["pump"]),
        (&["repaired C4 seized"], &["radio"]),
        (&["repaired F3 contact"], &["radio"]),
        (&["repaired pump seized"], &["radio"]),
        (&["repaired wire to the radio"], &["pump"]),
        (&["repaired earth strap"], &["radio", "pump"]),
        (&["repaired both at their plugs"], &[]),
        (&["repaired C1 new radio", "repaired C4 seized"], &[]),
        (
            &["repaired C1 new radio", "repaired earth strap"],
            &["pump"],
        ),
    ];
    for (repaired, asked) in rows {
        let mut case = before.clone();
        for line in repaired {
            case.record(line).unwrap();
        }
        let mut found: Vec<String> = Vec::new();
        for one in case.next().questions {
            if let Question::MendedToo(subjects) = one {
                found.extend(subjects.iter().map(|s| s.id(&setting.feeds)));
            }
        }
        found.sort();
        let mut asked: Vec<&str> = asked.to_vec();
        asked.sort_unstable();
        assert_eq!(found, asked, "{repaired:?}");
        // The screen asks until the draw is read.
        assert_eq!(
            screen(&case, 400).contains("Was it mended too?"),
            !asked.is_empty(),
            "{repaired:?}"
        );
    }
}

/// The draw after a repair that is too high by what one of them took is said so by its name.
#[test]
fn what_was_not_mended_is_named_by_what_it_took() {
    let setting = setting(BOX);
    let before = proven(&setting, &[("radio", 400.0), ("pump", 200.0)]);
    let rows: [(&[&str], &str, Option<&str>); 6] = [
        (
            &["repaired C1 new radio"],
            "draw 0.21A",
            Some("by about what pump took: was it mended too?"),
        ),
        (
            &["repaired C4 seized"],
            "draw 0.41A",
            Some("by about what radio took: was it mended too?"),
        ),
        // Named and not mended after all.
        (
            &["repaired both"],
            "draw 0.21A",
            Some("by about what pump took"),
        ),
        (
            &["repaired both"],
            "draw 0.61A",
            Some("by about what radio or pump took: was each mended?"),
        ),
        // Something else.
        (&["repaired both"], "draw 1.20A", None),
        (&["repaired both"], "draw 0.09A", None),
    ];
    for (repaired, draw, said) in rows {
        let mut case = before.clone();
        settled_after(&mut case, repaired);
        let asked = case.record(draw).unwrap().questions;
        let words: Vec<String> = asked.iter().map(|one| question(one, &setting)).collect();
        let words = words.join(" ");
        assert!(words.contains("still over the limit"), "{draw}: {words}");
        // Who is named is also looked at first.
        let likeliest = case.suspects().remove(0).id;
        if let Some(name) = ["pump", "radio"].iter().find(|name| {
            let alone = format!("by about what {name} took:");
            words.contains(&alone)
        }) {
            assert_eq!(likeliest, **name, "{draw}: {words}");
        }
        match said {
            Some(said) => assert!(words.contains(said), "{draw}: {words}"),
            None => assert!(!words.contains("by about what"), "{draw}: {words}"),
        }
    }
    // Mended one after the other, it ends verified.
    let mut case = before.clone();
    settled_after(&mut case, &["repaired C1 new radio"]);
    case.record("draw 0.21A").unwrap();
    case.record("repaired C4 seized; prepared; asleep; draw 5.1mA jack mA; draw 5.1mA jack mA")
        .unwrap();
    let next = case.next();
    assert_eq!(
        (next.state, next.reason, next.questions.len()),
        (State::Verify, Reason::Mended, 0)
    );
}

/// A load whose own fuse is at hand is proven by that fuse where its plug takes longer to get at; one that
/// shares its fuse, and one whose plug is nearer, by the plug. The plug that tells it from its wire is named.
#[test]
fn a_load_is_proven_by_its_own_fuse_where_that_is_quicker() {
    let near = BOX.replace("minutes(12)", "minutes(0)");
    let rows = [
        (
            BOX,
            "pump",
            "F3",
            "it or its wire from there on: unplug C4 and put F3 back",
        ),
        (BOX, "roof lamp", "C2", ""),
        (BOX, "alarm", "C6", ""),
        (&near, "pump", "C4", ""),
    ];
    for (text, drain, taken, said) in rows {
        let setting = setting(text);
        let case = proven(&setting, &[(drain, 300.0)]);
        let next = case.next();
        assert_eq!(next.found[0].taken[0].name, taken, "{drain}");
        let end = screen(&case, 400);
        assert_eq!(
            end.contains("its wire from there on"),
            !said.is_empty(),
            "{end}"
        );
        assert!(end.contains(said), "{drain}: {end}");
    }
}

/// Whether anything is left is said at the end, in the write-up and on `why draw`: the draw that is left,
/// against the limit and what is usual.
#[test]
fn whether_anything_is_left_is_said() {
    let setting = setting(BOX);
    let before = proven(&setting, &[("pump", 300.0)]);
    assert_eq!(before.remainder().map(|r| r.left), Some(Left::Nothing));
    let rows = [
        (
            "draw 5.0mA jack mA sure",
            Left::Nothing,
            "with everything in is no more than the 10 mA that is usual",
        ),
        (
            "draw 45.0mA jack mA",
            Left::MoreThanUsual(0.0),
            "a small drain may be in it, and was not looked for",
        ),
        ("draw 0.05A", Left::MayBeOver, "Read it on a finer range"),
        ("draw 0.12A", Left::Over(0.0), "over the limit of 50 mA"),
    ];
    for (draw, left, said) in rows {
        let mut case = before.clone();
        settled_after(&mut case, &["repaired C4 seized"]);
        case.record(draw).unwrap();
        let found = case.remainder().unwrap().left;
        assert_eq!(
            std::mem::discriminant(&found),
            std::mem::discriminant(&left),
            "{draw}: {found:?}"
        );
        let why = why_draw(&case, 400);
        assert!(why.contains(said), "{draw}: {why}");
        let written = report_text(&report(&case), &case, &When::default());
        assert!(written.contains(said), "{draw}: {written}");
    }
    // At the end of the search, too.
    let end = screen(&before, 400);
    assert!(end.contains("left      Nothing: "), "{end}");
    assert!(why_draw(&Case::new(&setting), 80).contains("No settled draw was read yet."));
}

/// The owner's paragraph has no word of the trade in it, and the readings that were taken back or read again
/// stand below the table.
#[test]
fn the_write_up_is_plain_and_its_table_short() {
    let setting = setting(BOX);
    let mut case = proven(&setting, &[("radio", 400.0), ("pump", 200.0)]);
    settled_after(&mut case, &["repaired C1 new radio", "repaired C4 seized"]);
    for line in [
        "drop F1 0.2V",
        "undo",
        "draw 5.1mA jack mA sure",
        "draw 5.2mA jack mA sure",
    ] {
        case.record(line).unwrap();
    }
    let text = report_text(&report(&case), &case, &When::default());
    let customer = text.split("\n## ").nth(1).unwrap();
    for word in [
        "draw",
        "settle",
        "asleep",
        "unplugged",
        "pulled",
        "limit",
        "prepared",
        "with everything in,",
        "fell",
        "returned",
        "C1",
        "entry",
    ] {
        assert!(
            !customer.to_lowercase().contains(&word.to_lowercase()),
            "{word}: {customer}"
        );
    }
    assert!(
        customer.contains("Repaired: the radio (new radio); the pump (seized)."),
        "{customer}"
    );
    let readings = text.split("\n### Readings").nth(1).unwrap();
    let readings = readings.split("\n### ").next().unwrap();
    let below = |head: &str| readings.contains(head);
    assert!(below("\nTaken back: "), "{readings}");
    assert!(below("\nRead again later: "), "{readings}");
    let (table, _) = readings.split_once("\n\nRead again").unwrap();
    for word in ["not relied on", "awake", "withdrawn", "0.2V", "214.1mA"] {
        assert!(!table.contains(word), "{word}: {readings}");
    }
}

/// Two lamps on one plug: with it out the draw falls, and nothing tells which of them it is. That is said,
/// with how to, at the end and in the write-up.
#[test]
fn what_hangs_on_one_plug_is_said_to_be_looked_at_by_itself() {
    let text = BOX.replace(
        r#"Load(id: "roof lamp", kind: Lamp, plug: "C2", at: "panel")"#,
        r#"Load(id: "left lamp", kind: Lamp, plug: "C2", at: "panel"), Load(id: "right lamp", kind: Lamp, plug: "C2", at: "panel")"#,
    );
    let setting = setting(&text);
    let mut case = Case::new(&setting);
    let lines = [
        "prepared; asleep; draw 0.64A; drop F1 4.9mV; skip look left lamp no access",
        "skip look right lamp no access; draw 0.64A; unplug C1; asleep; draw 0.64A; refit C1; asleep",
        "draw 0.64A; unplug C2; asleep; draw 0.00A sure; draw 5.0mA jack mA sure; refit C2; asleep; draw 0.64A",
    ];
    for line in lines {
        case.record(line).unwrap();
    }
    assert_eq!(case.next().state, State::Located);
    let written = report_text(&report(&case), &case, &When::default());
    for text in [screen(&case, 400), written.clone()] {
        for said in [
            "With C2 out the draw fell by",
            "left lamp and right lamp both hang on C2, so unplugging does not tell which: look at each",
        ] {
            assert!(text.contains(said), "{said}: {text}");
        }
    }
    assert!(
        written.contains("it is at the left lamp or the right lamp, which share a connector."),
        "{written}"
    );
}

/// A fuse was out for the proof, and other loads with it; but with the pump alone out as much had fallen
/// before, so that it is behind the pump's plug, and neither those loads nor the wire are open.
#[test]
fn what_fell_with_less_out_is_not_open_any_more() {
    let text = include_str!("../../sample-vehicles/large-van.ron");
    // The relay of that fuse is no contact here.
    let text = text.replace(
        r#"Relay(id: "KB1", name: "engine main relay", rest: Open,"#,
        r#"Fuse(id: "KB1", rating: A(40), style: Maxi,"#,
    );
    let text = text.replace(r#"moves: "KB1","#, r#"moves: "KB10","#);
    let at_hand = include_str!("../../sample-vehicles/instruments/meter-and-clamp.ron");
    let at_hand = halfsplit::instruments::read(at_hand).0.unwrap();
    let setting = Setting::new(load(&text).0.unwrap(), at_hand);
    let mut case = Case::new(&setting);
    let lines = [
        "prepared; asleep; draw 772mA by clamp; drop dash box cable 0.5mV",
        "clamp rear box cable 9mA; draw 772mA by clamp",
        "unplug C136; asleep; draw 348mA by clamp; refit C136; asleep",
        "clamp thermostat heater 3mA",
        "pull KB1; asleep; draw 345mA by clamp; refit KB1; asleep; draw 772mA by clamp",
    ];
    for line in lines {
        case.record(line).unwrap();
    }
    let next = case.next();
    let [found] = &next.found[..] else {
        panic!("{:?}", next.found);
    };
    assert_eq!(found.subject.id(&setting.feeds), "second coolant pump");
    assert_eq!(found.taken[0].name, "KB1");
    assert_eq!(
        case.fell_nearer(found),
        Some(vec![part(&setting, "second coolant pump")])
    );
    assert!(case.not_told_apart(found).is_empty());
    let told = screen(&case, 400);
    assert!(told.contains("with it the draw returned"), "{told}");
    assert!(!told.contains("its wire from there on"), "{told}");
    assert!(!told.contains("could be it as well"), "{told}");
}

/// Two drains were proven and one was mended: the write-up says what both took together, that the draw with
/// both out is in order, and which of them is left to be mended, and asks for no repair that was entered.
#[test]
fn a_repair_of_one_of_two_is_written_up_as_that() {
    let setting = setting(BOX);
    let before = proven(&setting, &[("radio", 400.0), ("pump", 200.0)]);
    let rest = report(&before).rest.expect("a draw with both out");
    assert_eq!(rest.current, report(&before).after.unwrap().current);
    let mut case = before.clone();
    settled_after(&mut case, &["repaired C1 new radio"]);
    case.record("draw 206.0mA by series jack mA sure").unwrap();
    let found = report(&case);
    assert_eq!(found.rest, Some(rest));
    let text = report_text(&found, &case, &When::default());
    let customer = text.split("\n## ").nth(1).unwrap();
    for said in [
        "We found two causes and proved each: the radio and the pump.",
        "With both disconnected the vehicle took",
        "which is normal.",
        "Repaired: the radio (new radio).",
        "which is too much: the pump is not repaired yet.",
    ] {
        assert!(customer.contains(said), "{said}: {customer}");
    }
    for said in [
        "**Found, not all mended:",
        "no other drain has to be looked for",
        "Repair or replace: pump.",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let json = report_json(&found, &case, &When::default());
    assert_eq!(json["remainder"]["left"], "over");
    assert_eq!(json["repairs"][0]["unmended"], serde_json::json!(["pump"]));
    // No draw stands twice in the table.
    let table = text.split("### Before and after").nth(1).unwrap();
    let table = table.split("\n###").next().unwrap();
    let mut rows: Vec<&str> = table
        .lines()
        .filter_map(|line| line.split('|').nth(5))
        .collect();
    rows.retain(|entry| entry.trim().parse::<u32>().is_ok());
    let all = rows.len();
    rows.sort_unstable();
    rows.dedup();
    assert_eq!((rows.len(), all), (3, 3), "{table}");
}

/// What is not ruled out is told by branch, with how many there are and what they could take together.
#[test]
fn what_is_left_in_question_is_told_by_branch() {
    let setting = setting(BOX);
    let mut case = Case::new(&setting);
    for line in ["asleep; draw 640mA by series", "drop F2 0.0mV"] {
        case.record(line).unwrap();
    }
    let found = report(&case);
    let told: usize = found.groups.iter().map(|group| group.causes.len()).sum();
    assert_eq!(told, found.possible.len());
    for group in &found.groups {
        let sum: f64 = group.causes.iter().map(|one| one.hides).sum();
        assert!(group.together <= sum + 1e-9, "{group:?}");
    }
    let text = report_text(&found, &case, &When::default());
    let open = text.split("### Not proven").nth(1).unwrap();
    assert!(open.contains("behind F1, together up to"), "{open}");
}
