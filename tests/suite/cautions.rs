//! Cautions: which step carries which, each once, on the screen and in the data.

use crate::blind::screen;
use crate::driver::sample;
use crate::trace::{Bench, flat};
use halfsplit::case::{Case, Setting, TestPlan};
use halfsplit::feeds::{Named, load};
use halfsplit::instruments::Instruments;
use halfsplit::measurement::{Jack, Method, Way};
use halfsplit::render::{cautions, next_json};

fn bench(volts: u32) -> Setting {
    let text = format!(
        r#"Vehicle(format: 1, name: "Bench (invented)", limit: mA(50), battery: Battery(id: "battery", volts: V({volts}), feeds: [
            Fuse(id: "F1", rating: A(10), style: Mini, caution: "Its holder is cracked.", feeds: [
                Load(id: "lamp", kind: Lamp, plug: "C1"),
                Load(id: "lid", kind: Moves, plug: "C2", caution: "The lid falls shut."),
            ]),
            Fuse(id: "F2", rating: A(10), style: Mini, feeds: [Load(id: "restraints", kind: Airbag, plug: "C3")]),
            Fuse(id: "F3", rating: A(10), style: Mini, feeds: [
                Load(id: "brake pump", kind: Brake, plug: "C4"),
                Load(id: "recorder", kind: Protected, plug: "C5"),
                Load(id: "inverter", kind: HighVoltage),
            ]),
            Cable(id: "box cable", wire: Wire(size: mm2(16), length: m(1)), feeds: [
                Load(id: "radio", kind: Audio, plug: "C6"),
            ]),
        ]))"#
    );
    Setting::new(load(&text).0.expect("a tree"), Instruments::assumed_meter())
}

fn step(setting: &Setting, method: Method, way: Option<Way>, points: &[&str]) -> TestPlan {
    let part = points.first().map(|name| match setting.feeds.find(name) {
        Some(Named::Part(part)) => *part,
        Some(Named::Plug(parts)) => parts[0],
        other => panic!("{name} is {other:?}"),
    });
    TestPlan {
        method,
        points: points.iter().map(|name| (*name).to_owned()).collect(),
        part,
        place: None,
        minutes: 1.0,
        disturbs: 0.0,
        entry: String::new(),
        way,
        expect: None,
        flows: None,
    }
}

/// Kind of step → what is said at it.
#[test]
fn each_step_carries_its_cautions() {
    let series = |jack| Some(Way::Series(jack));
    let clamp = Some(Way::Clamp { turns: 1 });
    let rows: [(u32, Method, Option<Way>, &[&str]); 19] = [
        (12, Method::Draw, series(Jack::A), &["battery"]),
        (12, Method::Draw, series(Jack::MilliA), &["battery"]),
        (12, Method::Draw, clamp, &["battery"]),
        (12, Method::Clamp, clamp, &["box cable"]),
        (12, Method::Series, series(Jack::A), &["F1"]),
        (12, Method::Drop, None, &["F3"]),
        (12, Method::Drop, None, &["F1"]),
        (12, Method::Drop, None, &["box cable"]),
        (12, Method::Volts, None, &["F3"]),
        (12, Method::Look, None, &["lamp"]),
        (12, Method::Look, None, &["lid"]),
        (12, Method::Pull, None, &["F1"]),
        (12, Method::Pull, None, &["F2"]),
        (12, Method::Pull, None, &["F1", "F3"]),
        (12, Method::Unplug, None, &["C6"]),
        (12, Method::Refit, None, &["C2"]),
        (12, Method::Refit, None, &["C6"]),
        (12, Method::Wait, None, &[]),
        (48, Method::Unplug, None, &["C6"]),
    ];
    let mut text = String::new();
    for (volts, method, way, points) in rows {
        let setting = bench(volts);
        let said = cautions(&step(&setting, method, way, points), &setting);
        for (at, caution) in said.iter().enumerate() {
            assert!(!said[..at].contains(caution), "twice: {caution}");
            assert!(caution.chars().count() <= 140, "long: {caution}");
        }
        text = format!("{text}{volts} V {method:?} {way:?} {points:?}\n");
        for caution in said {
            text = format!("{text}    {caution}\n");
        }
    }
    insta::assert_snapshot!(text);
}

/// Each caution of the data stands on the screen of its step, or is said when the reading is in; on
/// either nothing is said twice.
#[test]
fn the_screen_says_what_the_data_carries() {
    let van = sample("quarto-van");
    let typed = [
        "prepared",
        "asleep",
        "draw 640mA",
        "drop F3 2.3mV",
        "look cargo lamp lit",
        "draw 0.64A",
        "unplug C114",
        "asleep",
        "draw 0.03A",
        "draw 31.2mA",
        "refit C114",
        "asleep",
        "draw 0.64A",
    ];
    let bench = Bench::new();
    let run = bench.piped(&["quarto-van.ron"], &typed.join("\n"), 60);
    // The first is the opening.
    let screens: Vec<String> = run.out.split("\n── ").skip(1).map(flat).collect();
    let mut case = Case::new(&van);
    let mut carried = 0;
    for (at, entry) in typed.iter().enumerate() {
        let json = next_json(&case.next(), &van);
        let list = json["test"]["cautions"]
            .as_array()
            .cloned()
            .unwrap_or_default();
        for caution in list {
            let caution = caution.as_str().unwrap();
            // What the reading calls for is said behind it, before the next screen; where the draw is read
            // again at once, all of it is said when that is in.
            let stays = "NOW METER STAYS IN: bridge on, and leave it for the next reading.";
            if caution.starts_with("Afterwards: ") && screens[at].contains(stays) {
                assert!(typed[at].starts_with("draw") && typed[at + 1].starts_with("draw"));
                continue;
            }
            let caution = match caution.strip_prefix("Afterwards: ") {
                Some(after) if after.starts_with("bridge on") => format!("NOW METER OUT: {after}"),
                Some(after) => format!("NOW {}{}", after[..1].to_uppercase(), &after[1..]),
                None => caution.to_owned(),
            };
            // In full at its first place, then short.
            let again = [
                (
                    "Negative lead, ",
                    "Bridge on before the meter, off only to read; nothing switched on.",
                ),
                (
                    "Change to the mA jack ",
                    "To the mA jack only with the bridge on.",
                ),
            ];
            let before = screens[..at].iter().any(|screen| screen.contains(&caution));
            // What a place asks for is said once in a case.
            if before && caution.starts_with("Work up high") {
                assert!(!screens[at].contains(&caution), "{}", screens[at]);
                continue;
            }
            let mut short = again
                .iter()
                .filter(|(full, _)| before && caution.starts_with(full));
            let caution = short
                .next()
                .map_or(caution.clone(), |(_, short)| (*short).to_owned());
            assert_eq!(
                screens[at].matches(&caution).count(),
                1,
                "{caution}: {}",
                screens[at]
            );
            carried += 1;
        }
        case.record(entry).unwrap_or_else(|r| panic!("{r}"));
    }
    assert!(carried > 10, "{carried}");
}

/// What must not be unplugged is named where the file has it in the same place; elsewhere the usual words are
/// said.
#[test]
fn airbags_are_named_where_the_file_has_them() {
    let text = r#"Vehicle(format: 1, name: "Bench (invented)", limit: mA(50), places: {
            "console": Place(reach: minutes(1)), "tail": Place(reach: minutes(1)),
        }, battery: Battery(id: "battery", volts: V(12), feeds: [
            Fuse(id: "F1", rating: A(10), style: Mini, feeds: [
                Load(id: "radio", kind: Audio, plug: "C1", at: "console"),
                Load(id: "restraints", kind: Airbag, plug: "C2", at: "console"),
                Load(id: "airbag warning lamp", kind: Lamp, plug: "C3", at: "tail"),
                Load(id: "tail lamp", kind: Lamp, plug: "C4", at: "tail"),
            ]),
        ]))"#;
    let setting = Setting::new(load(text).0.expect("a tree"), Instruments::assumed_meter());
    // Nothing is orange where the file has no high voltage.
    let usual = "Never unplug an airbag or pretensioner connector.";
    let named = "restraints (C2) here too: never unplug or probe that one.";
    for (plug, said, not) in [
        ("C1", named, usual),
        // By its kind, and not by a word in its name.
        ("C3", usual, named),
        ("C4", usual, named),
    ] {
        let list = cautions(&step(&setting, Method::Unplug, None, &[plug]), &setting);
        assert!(
            list.iter().any(|caution| caution == said),
            "{plug}: {list:?}"
        );
        assert!(
            !list.iter().any(|caution| caution == not),
            "{plug}: {list:?}"
        );
    }
    // On the screen too, of what nobody asked for.
    let bench = Bench::new();
    std::fs::write(bench.path("bench.ron"), text).unwrap();
    let run = bench.piped(
        &["bench.ron"],
        "prepared\nasleep\ndraw 0.64A\nunplug C1\n",
        100,
    );
    assert!(flat(&run.out).contains(named), "{}", run.out);
}

/// Where something is → the care that the place asks for; on a vehicle with high voltage orange is named, too.
#[test]
fn a_place_asks_for_its_own_care() {
    let text = r#"Vehicle(format: 1, name: "Bench (invented)", limit: mA(50), places: {
            "roof rack": Place(reach: minutes(10)), "roof console": Place(reach: minutes(12)),
            "engine bay": Place(reach: minutes(12)), "behind dash": Place(reach: minutes(20)),
            "box": Place(reach: minutes(1)),
        }, battery: Battery(id: "battery", volts: V(12), at: "box", feeds: [
            Fuse(id: "F1", rating: A(10), style: Mini, at: "box", feeds: [
                Load(id: "beacon", kind: Lamp, plug: "C1", at: "roof rack"),
                Load(id: "map lamp", kind: Lamp, plug: "C2", at: "roof console"),
                Load(id: "horn", kind: Other, plug: "C3", at: "engine bay"),
                Load(id: "radio", kind: Audio, plug: "C4", at: "behind dash"),
                Load(id: "horn 2", kind: Other, plug: "C5", at: "box", note: "from a ladder only"),
                Load(id: "pump", kind: Motor, plug: "C6", at: "box", name: "bilge pump"),
                Load(id: "heater", kind: Heater, plug: "C7", at: "box", name: "fuel heater"),
            ]),
            Cable(id: "rear lead", at: "box", feeds: [
                Relay(id: "K1", rest: Open, at: "box", feeds: [
                    Load(id: "second battery", kind: Other, at: "box"), Load(id: "fridge", kind: Motor, plug: "C8", at: "box")])]),
            Load(id: "charger", kind: HighVoltage, at: "box"),
        ]))"#;
    let setting = Setting::new(load(text).0.expect("a tree"), Instruments::assumed_meter());
    let (high, trim) = ("Work up high", "Panels or trim");
    let table: [(&str, &[&str], &[&str]); 8] = [
        ("C1", &[high, "nor anything orange"], &[trim]),
        ("C2", &[trim], &[high]),
        ("C3", &[], &[high, trim]),
        ("C4", &[trim], &[high]),
        ("C5", &[high], &[]),
        ("C6", &["keeps the boat dry"], &[]),
        ("C7", &["never cut off while it burns"], &[]),
        ("rear lead", &["the negatives of both"], &[high]),
    ];
    for (plug, said, never) in table {
        let mut unplugs = step(&setting, Method::Unplug, None, &[plug]);
        unplugs.place = unplugs.part.and_then(|part| setting.feeds.place(part));
        let list = cautions(&unplugs, &setting).join(" ");
        for said in said {
            assert!(list.contains(said), "{plug}: {said}: {list}");
        }
        for never in never {
            assert!(!list.contains(never), "{plug}: {never}: {list}");
        }
    }
}

/// At a repair: another battery stays live with this one's lead off.
#[test]
fn the_other_battery_stays_live_at_a_repair() {
    let text = r#"Vehicle(format: 1, name: "Bench (invented)", limit: mA(50), settle: minutes(10),
        battery: Battery(id: "battery", volts: V(12), feeds: [
            Fuse(id: "F1", rating: A(10), style: Mini, feeds: [Load(id: "horn", kind: Other, plug: "C1")]),
            Fuse(id: "F2", rating: A(10), style: Mini, feeds: [
                Relay(id: "K1", rest: Open, feeds: [
                    Load(id: "second battery", kind: Other), Load(id: "fridge", kind: Motor, plug: "C8")])]),
        ]))"#;
    let setting = Setting::new(load(text).0.expect("a tree"), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    for line in [
        "prepared; asleep; draw 640mA; drop F1 4.6mV",
        "unplug C1; asleep; draw 20.0mA jack mA",
        "refit C1; asleep; draw 640mA; unplug C1; asleep; draw 20.0mA jack mA",
    ] {
        case.record(line).unwrap_or_else(|r| panic!("{r}"));
    }
    let shown = screen(&case, 200);
    let live = "Second battery stays live with that lead off";
    assert!(shown.contains(live), "{shown}");
}
