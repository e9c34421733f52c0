//! A vehicle file that grows: nothing but the new lines changes, and an open case goes on.

use halfsplit::feeds::{self, Feeds};
use halfsplit::growth::{self, Grown, Refused};
use halfsplit::quantity::{AmpHours, Milliamps};
use halfsplit::table::How;
use halfsplit::vehicle::{self, Comments, Part, Starter, Vehicle};
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn load(text: &str) -> Feeds {
    feeds::load(text).0.unwrap()
}

fn part<'f>(feeds: &'f Feeds, id: &str) -> &'f Part {
    let mut parts = feeds.vehicle().parts.iter();
    parts.find(|part| part.id.value == id).unwrap()
}

fn typed(text: &str, under: &str, given: &str) -> Result<Grown, Refused> {
    let feeds = load(text);
    growth::typed(text, &feeds, part(&feeds, under), given)
}

/// The vehicle without one leaf.
fn without(mut vehicle: Vehicle, id: &str) -> Vehicle {
    let mut parts = vehicle.parts.iter();
    let leaf = parts.position(|part| part.id.value == id).unwrap();
    vehicle.parts.remove(leaf);
    for part in &mut vehicle.parts {
        part.up = part.up.map(|up| up - u32::from(up as usize > leaf));
    }
    vehicle
}

/// Under every part of every sample: a new leaf, or a refusal because that part feeds nothing.
#[test]
fn nothing_else_changes() {
    let (mut grew, mut refused) = (0, 0);
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let written = std::fs::read_to_string(file).unwrap();
        for text in [written.clone(), written.replace('\n', "\r\n")] {
            let feeds = load(&text);
            let plain = vehicle::write(feeds.vehicle(), &Comments::default());
            let comments = Comments::read(&text).count();
            // Two small samples at every part, the others here and there.
            let step = 1 + feeds.len() / 20;
            for under in feeds.vehicle().parts.iter().step_by(step) {
                let grown =
                    growth::typed(&text, &feeds, under, "Load(id: \"brand new\", kind: Lamp)");
                let Ok(grown) = grown else {
                    refused += 1;
                    continue;
                };
                grew += 1;
                let whole = load(&grown.text);
                let rest = without(whole.vehicle().clone(), "brand new");
                assert_eq!(vehicle::write(&rest, &Comments::default()), plain);
                assert_eq!(Comments::read(&grown.text).count(), comments);
                let new = part(&whole, "brand new").up.unwrap() as usize;
                assert_eq!(whole.vehicle().parts[new].id.value, under.id.value);

                let (old, new): (Vec<_>, Vec<_>) = (
                    text.split_inclusive('\n').collect(),
                    grown.text.split_inclusive('\n').collect(),
                );
                let same = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
                let pairs = old[same..].iter().rev().zip(new[same..].iter().rev());
                let behind = pairs.take_while(|(a, b)| a == b).count();
                let changed = &old[same..old.len() - behind];
                // The line of the last part gets a comma, or that of the feeding part a list.
                assert!(changed.len() <= 2, "{under:?}: {changed:#?}");
                assert_eq!(grown.text.contains("\r\n"), text.contains("\r\n"));
                let bare = grown.text.replace("\r\n", "");
                assert!(!text.contains("\r\n") || !bare.contains('\n'), "{file:?}");
            }
        }
    });
    assert!(grew > 100 && refused > 20, "{grew} grew, {refused} refused");
}

/// A new part as it is laid out.
const NEW: &str = "Load(id: \"new\", kind: Lamp),";

/// As people lay lists out: before, the new part, after.
#[test]
fn every_layout_takes_it() {
    let table = [
        ("Fuse(id: \"F\")", "Fuse(id: \"F\", feeds: [\n    NEW\n])"),
        ("Fuse(id: \"F\",)", "Fuse(id: \"F\", feeds: [\n    NEW\n])"),
        (
            "Fuse(id: \"F\", feeds: [ ])",
            "Fuse(id: \"F\", feeds: [\n    NEW\n])",
        ),
        (
            "Fuse(feeds: [], id: \"F\")",
            "Fuse(feeds: [\n    NEW\n], id: \"F\")",
        ),
        (
            "Fuse(id: \"F\", feeds: [Load(id: \"a\")])",
            "Fuse(id: \"F\", feeds: [Load(id: \"a\"),\n    NEW\n])",
        ),
        (
            "Fuse(id: \"F\", feeds: [\n  Load(id: \"a\") // last\n  // end\n])",
            "Fuse(id: \"F\", feeds: [\n  Load(id: \"a\"), // last\n  // end\n    NEW\n])",
        ),
        (
            "Fuse(\n  id: \"F\" // the name: feeds: [ ]\n)",
            "Fuse(\n  id: \"F\", // the name: feeds: [ ]\nfeeds: [\n    NEW\n])",
        ),
        (
            "Fuse(id: \"F\", note: \"feeds: [ ) ]\")",
            "Fuse(id: \"F\", note: \"feeds: [ ) ]\", feeds: [\n    NEW\n])",
        ),
    ];
    let whole = |fuse: &str| {
        format!(
            "Vehicle(format: 1, name: \"x\", battery: Battery(id: \"b\", feeds: [\n{fuse},\n]))\n"
        )
    };
    for (before, after) in table {
        let grown = typed(&whole(before), "F", "Load(kind: Lamp, id: \"new\")").unwrap();
        assert_eq!(grown.text, whole(&after.replace("NEW", NEW)), "{before}");
    }
}

#[test]
fn what_is_no_part_is_refused_at_its_place() {
    let text = include_str!("../../sample-vehicles/quarto-van.ron");
    let table = [
        ("", "no-feeds"),
        ("Load(id: \"a\"", "syntax"),
        ("Load(id: \"a\")]), Load(", "syntax"),
        ("Load(id: \"a\", asleep: 3)", "no-unit"),
        ("Laod(id: \"a\")", "unknown-part"),
    ];
    for (given, code) in table {
        let Err(Refused::Given(problems)) = typed(text, "F7", given) else {
            panic!("{given}");
        };
        assert_eq!(problems[0].code, code, "{given}");
        assert!(problems[0].at.end <= given.len(), "{given}");
    }
    let given = "Load(id: \"a\", asleep: 3)";
    let Err(Refused::Given(problems)) = typed(text, "F7", given) else {
        panic!();
    };
    assert_eq!(&given[problems[0].at.clone()], "3");
    for given in ["Load(id: \"F3\")", "Load(id: \"a\", at: \"attic\")"] {
        let refused = typed(text, "F7", given);
        assert!(matches!(refused, Err(Refused::Whole(..))), "{given}");
    }
}

#[test]
fn a_table_says_itself_what_feeds_a_row() {
    let text = include_str!("../../sample-vehicles/quarto-van.ron");
    let feeds = load(text);
    let table = "id,fed by,kind,place,moves\nF20,L1,Fuse,rear box,\nlamp2,F20,Lamp,rear box,\n\
                 lamp3,F9,Lamp,roof,\nK4 second coil,F20,Coil,,K4\n";
    let grown = growth::tabled(text, &feeds, None, table, How::default()).unwrap();
    assert_eq!(grown.parts, ["lamp3", "F20", "lamp2", "K4 second coil"]);
    assert_eq!(grown.places, ["rear box"]);
    let whole = load(&grown.text);
    let fed_by = |id: &str| {
        let up = part(&whole, id).up.unwrap() as usize;
        whole.vehicle().parts[up].id.value.clone()
    };
    for (id, above) in [("F20", "L1"), ("lamp2", "F20"), ("lamp3", "F9")] {
        assert_eq!(fed_by(id), above);
    }
    // Row and code of what is refused, named as a spreadsheet names it.
    for (row, cell, code) in [
        ("F3,L1,Fuse,", "A2", "duplicate-id"),
        ("F20,,Fuse,", "A2", "unknown-feed"),
        ("F20,F99,Fuse,", "B2", "unknown-feed"),
    ] {
        let table = format!("id,fed by,kind,place\n{row}\n");
        let Err(Refused::Given(problems)) =
            growth::tabled(text, &feeds, None, &table, How::default())
        else {
            panic!("{row}");
        };
        let found = problems.iter().find(|p| p.code == code).unwrap();
        assert!(
            found.message().starts_with(cell),
            "{row}: {}",
            found.message()
        );
    }
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

/// The fuses first, the loads of the branch that matters when it matters.
#[test]
fn an_open_case_goes_on_with_all_its_readings() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let van = folder.join("van.ron");
    std::fs::copy(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles/quarto-van.ron"),
        &van,
    )
    .unwrap();
    let json = |arguments: &[&str]| -> serde_json::Value {
        serde_json::from_slice(&run(folder, arguments).stdout).unwrap()
    };
    json(&["next", "van.case", "--vehicle", "van.ron", "--json"]);
    let entries = "prepared; asleep; draw 640mA by series; drop F3 0.0mV; drop F9 0.0mV";
    assert_eq!(
        run(folder, &["record", "van.case", entries]).status.code(),
        Some(0)
    );
    let spent = |value: &serde_json::Value| value["minutes"]["spent"].clone();
    let before = json(&["next", "van.case", "--json"]);
    let states = json(&["tree", "van.case", "--json"]);

    // What is refused changes nothing.
    let text = std::fs::read_to_string(&van).unwrap();
    let bad = run(
        folder,
        &["add", "van.ron", "--under", "F7", "Load(id: \"F3\")"],
    );
    assert_eq!(bad.status.code(), Some(1));
    assert_eq!(std::fs::read_to_string(&van).unwrap(), text);

    let good = [
        "add",
        "van.ron",
        "--under",
        "F7",
        "Load(id: \"clock\", plug: \"C7\", at: \"behind dash\")",
        "Load(id: \"tail lift\", kind: Added, plug: \"C8\", at: \"roof\")",
    ];
    let done = run(folder, &good);
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    let after = json(&["next", "van.case", "--json"]);
    assert_eq!(spent(&after), spent(&before));
    let suspects = after["suspects"].as_array().unwrap();
    assert!(suspects.iter().any(|s| s["part"] == "tail lift"), "{after}");
    // What was ruled out by a reading still is.
    let now = json(&["tree", "van.case", "--json"]);
    for old in states.as_array().unwrap() {
        if old["id"] != "F7" {
            let mut rows = now.as_array().unwrap().iter();
            let new = rows.find(|row| row["id"] == old["id"]).unwrap();
            assert_eq!(new["state"], old["state"], "{old} {new}");
        }
    }
}

/// What `new` writes passes the check, says what was given, and keeps a name that is no plain word.
#[test]
fn every_starter_is_sound() {
    for (word, starter) in Starter::TABLE {
        let name = "a \"LIMIT\" NAME \\ CAPACITY";
        for (size, limit) in [(None, None), (Some(70.0), Some(35.0))] {
            let (size, limit) = (size.map(AmpHours::of), limit.map(Milliamps::of));
            let text = starter.text(name, size, limit);
            let (read, problems) = feeds::load(&text);
            let feeds = read.unwrap();
            // Without a figure for 24 V the check asks for one.
            let codes: Vec<_> = problems.iter().map(|p| p.code).collect();
            let asks = *word == "truck" && limit.is_none();
            assert_eq!(codes, if asks { vec!["no-limit"] } else { vec![] });
            let there = feeds.vehicle();
            assert_eq!(there.name, name);
            assert_eq!(there.limit.as_ref().map(|l| l.value), limit);
            assert_eq!(there.parts[0].capacity, size);
            assert!(Comments::read(&text).count() > 5, "{word}");
        }
    }
}

#[test]
fn new_overwrites_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let new = ["new", "van.ron", "--for", "car", "--limit", "30mA"];
    assert_eq!(run(folder, &new).status.code(), Some(0));
    assert_eq!(run(folder, &["check", "van.ron"]).status.code(), Some(0));
    let text = std::fs::read_to_string(folder.join("van.ron")).unwrap();
    let again = ["new", "van.ron", "--for", "truck"];
    assert_eq!(run(folder, &again).status.code(), Some(1));
    assert_eq!(
        std::fs::read_to_string(folder.join("van.ron")).unwrap(),
        text
    );
    // No terminal to ask at, no such kind, no unit, no folder.
    for (arguments, code) in [
        (vec!["new", "b.ron"], 2),
        (vec!["new", "b.ron", "--for", "boat"], 2),
        (vec!["new", "b.ron", "--for", "car", "--limit", "30"], 2),
        (vec!["new", "no/b.ron", "--for", "car"], 3),
    ] {
        assert_eq!(run(folder, &arguments).status.code(), Some(code));
    }
    assert!(!folder.join("b.ron").exists());
}

#[test]
fn a_table_of_new_parts_may_have_merged_cells_and_boxes_that_count_from_one() {
    let text = "\
Vehicle(format: 1, name: \"van\", battery: Battery(id: \"battery\", feeds: [
    Fuse(id: \"F7\", rating: A(40)), // mine
]))
";
    let feeds = feeds::load(text).0.unwrap();
    let table = "fuse,amps,box,feed\n1,10,left,F7\n2,15,,\n1,5,right,\n";
    let refused = growth::tabled(text, &feeds, None, table, How::default());
    assert!(matches!(refused, Err(Refused::Given(_))));
    let how = How {
        fill_down: true,
        place_in_id: true,
    };
    let grown = growth::tabled(text, &feeds, None, table, how).unwrap();
    assert_eq!(grown.parts, ["left 1", "2", "right 1"]);
    assert!(grown.text.contains("// mine"), "{}", grown.text);
}
