//! Another name for a thing: nothing else of the file changes, and a case keeps all it holds.

use crate::layout::placeless;
use halfsplit::feeds::{self, Feeds};
use halfsplit::renaming::{self, Refused, Wanted};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn load(text: &str) -> Feeds {
    feeds::load(text).0.unwrap()
}

fn renamed(text: &str, wanted: Wanted<'_>) -> String {
    renaming::rename(text, &load(text), wanted).unwrap().text
}

/// Every name that is meant in a file, and whether it is a place.
fn names(feeds: &Feeds) -> BTreeSet<(String, bool)> {
    let places = feeds.places();
    let places = places.map(|place| (feeds.place_as_written(place).id.value.clone(), true));
    let others = feeds.names().map(|(name, _)| (name.to_owned(), false));
    let meant = |(name, place): &(String, bool)| renaming::meant(feeds, name, *place).is_some();
    others.chain(places).filter(meant).collect()
}

/// Every name of the smaller samples and here and there one of the others, there and back.
#[test]
fn named_back_it_is_the_text_that_was() {
    let mut count = 0;
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let text = std::fs::read_to_string(file).unwrap();
        let feeds = load(&text);
        let names = names(&feeds);
        for (old, place) in names.iter().step_by(1 + names.len() / 40) {
            for new in ["brand new", "a \"quoted\" one \\ with é"] {
                let place = *place;
                let there = Wanted { old, new, place };
                let after = renamed(&text, there);
                assert!(renaming::meant(&load(&after), new, place).is_some());
                assert!(renaming::meant(&load(&after), old, place).is_none());
                let back = renamed(
                    &after,
                    Wanted {
                        old: new,
                        new: old,
                        place,
                    },
                );
                assert_eq!(back, text, "{old}");
                // What differs is the name alone.
                let quoted = format!("{new:?}");
                let bare = after.replace(&quoted, &format!("{old:?}"));
                let bare = bare.replace(&quoted[1..], &format!("{old}\""));
                let same = placeless(load(&bare).vehicle().clone());
                assert_eq!(same, placeless(feeds.vehicle().clone()), "{old}");
                count += 1;
            }
        }
    });
    assert!(count > 200, "{count}");
}

#[test]
fn wherever_it_is_named() {
    let text = "Vehicle(format: 1, name: \"a\", /* \"a\" */ places: { \"a\": Place(), \"b\": Place(within: \"a\") },\n\
        networks: { \"n\": Network() }, modules: { /* m */ \"m\": Module(network: \"n\", held_by: [\"i\", \"S\"]) },\n\
        accept: { \"no-plug a\": \"a\", \"empty-place a\": \"a\", \"far-place\": \"a\" },\n\
        battery: Battery(id: \"bat\", feeds: [ Switch(id: \"S\", at: \"a\", feeds: [\n\
        Relay(id: \"K\"), Coil(id: Some(\"a\"), moves: \"K\", commanded_by: \"m\"), Load(id: \"l\", of: \"m\", plug: \"p\", note: \"a\"),\n\
        Load(id: \"l2\", plug: \"p\" /* p */), Coil(id: \"c2\", moves: \"K\", commanded_by: \"S\")])]))";
    let table = [
        ("a", false, 2),
        ("a", true, 4),
        ("n", false, 2),
        ("m", false, 3),
        ("i", false, 1),
        ("S", false, 3),
        ("K", false, 3),
        ("p", false, 2),
        ("bat", false, 1),
    ];
    for (old, place, count) in table {
        let new = "new name";
        let done = renaming::rename(text, &load(text), Wanted { old, new, place }).unwrap();
        assert_eq!(done.count, count, "{old}");
        assert_eq!(done.text.matches("new name").count(), count, "{old}");
        assert_eq!(done.text.matches("/*").count(), 3, "{}", done.text);
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let text = include_str!("../../sample-vehicles/quarto-van.ron");
    let refused = |old: &str, new: &str, place: bool| {
        let wanted = Wanted { old, new, place };
        renaming::rename(text, &load(text), wanted).unwrap_err()
    };
    assert!(matches!(refused("F33", "x", false), Refused::Unknown(Some(near)) if near == "F3"));
    assert!(matches!(refused("roof", "x", false), Refused::Unknown(_)));
    for taken in ["F9", "C114", "body module", "body network"] {
        assert!(matches!(refused("F3", taken, false), Refused::Taken(_)));
    }
    assert!(matches!(
        refused("roof", "behind dash", true),
        Refused::Taken("a place")
    ));
    for new in ["F3", "", "  ", "a\nb"] {
        assert!(
            matches!(refused("F3", new, false), Refused::NoName),
            "{new}"
        );
    }
}

struct Workshop(tempfile::TempDir);

impl Workshop {
    /// A van and a case of it, half-way.
    fn new(entries: &[&str]) -> Self {
        let workshop = Self(tempfile::tempdir().unwrap());
        let van = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles/quarto-van.ron");
        std::fs::copy(van, workshop.at("van.ron")).unwrap();
        workshop.good(&["next", "blue.case", "--vehicle", "van.ron"]);
        workshop.record(entries);
        workshop
    }

    fn at(&self, file: &str) -> PathBuf {
        self.0.path().join(file)
    }

    fn text(&self, file: &str) -> String {
        std::fs::read_to_string(self.at(file)).unwrap()
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .args(arguments)
            .current_dir(self.0.path())
            .stdin(Stdio::null())
            .output()
            .unwrap()
    }

    fn good(&self, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {output:?}");
        String::from_utf8(output.stdout).unwrap()
    }

    fn refused(&self, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        assert_eq!(output.status.code(), Some(1), "{arguments:?}: {output:?}");
        String::from_utf8(output.stderr).unwrap()
    }

    fn record(&self, entries: &[&str]) {
        for entry in entries {
            self.good(&["record", "blue.case", entry]);
        }
    }

    fn next(&self) -> serde_json::Value {
        serde_json::from_str(&self.good(&["next", "blue.case", "--json"])).unwrap()
    }
}

const HALF_WAY: [&str; 6] = [
    "prepared",
    "asleep; open roof",
    "draw 640mA by series",
    "drop F3 2.1mV; skip drop F9 no access",
    "unplug C114; note C114 sits behind the F3 cover",
    "asleep",
];

/// Parts, a plug and a place get other names half-way, one of them twice; the case goes on to its end.
#[test]
fn a_case_goes_on_under_the_new_names() {
    let plain = Workshop::new(&HALF_WAY);
    let van = Workshop::new(&HALF_WAY);
    let before = van.next();
    for (old, new) in [
        ("F3", "F9 of the lid"),
        ("C114", "C900"),
        ("cargo lamp", "load lamp 1"),
        ("roof", "roof lining"),
        ("load lamp 1", "load lamp 640mA"),
    ] {
        van.good(&["rename", "van.ron", old, new, "--case", "blue.case"]);
    }
    let after = van.next();
    for same in ["state", "minutes"] {
        assert_eq!(after[same], before[same]);
    }
    assert_eq!(after["out"][0], "C900");
    // A new part takes the name that has become free.
    let part = "Load(id: \"cargo lamp\", plug: \"C114\", at: \"roof lining\")";
    van.good(&["add", "van.ron", "--under", "F7", part]);
    van.record(&[
        "draw 0.03A by series",
        "draw 30.1mA by series",
        "refit C900",
    ]);
    // Back again: the old entries are still about the same fuse.
    van.good(&[
        "rename",
        "van.ron",
        "F9 of the lid",
        "F3",
        "--case",
        "blue.case",
    ]);
    van.record(&["asleep", "draw 640mA by series", "unplug C900"]);
    let end = van.next();
    assert_eq!(end["state"], "confirmed", "{end}");
    assert_eq!(end["found"][0]["part"], "load lamp 640mA");
    let report = van.good(&["report", "blue.case"]);
    for (there, name) in [
        (true, "load lamp 640mA"),
        (true, "C900"),
        (true, "C114 sits behind the F3 cover"),
        (false, "unplug C114"),
        (false, "F9 of the lid"),
    ] {
        assert_eq!(report.contains(name), there, "{name}\n{report}");
    }

    // All along it is the same case as without the new names.
    plain.record(&[
        "draw 0.03A by series",
        "draw 30.1mA by series",
        "refit C114",
    ]);
    plain.record(&["asleep", "draw 640mA by series", "unplug C114"]);
    let same = plain.next();
    assert_eq!(end["found"][0]["fell_ma"], same["found"][0]["fell_ma"]);
    assert_eq!(end["minutes"]["spent"], same["minutes"]["spent"]);
}

/// A run that breaks off, or an editor, leaves one of the two files behind: the case holds.
#[test]
fn every_half_of_it_is_a_case() {
    let van = Workshop::new(&HALF_WAY);
    let (text, before) = (van.text("van.ron"), van.next());
    let rename = ["rename", "van.ron", "F3", "F30", "--case", "blue.case"];
    van.good(&rename);
    let (new_text, case) = (van.text("van.ron"), van.text("blue.case"));
    let renamed = van.next();
    assert_eq!(renamed["state"], before["state"]);
    // The case was written, the vehicle file not yet; then the same line is typed again.
    std::fs::write(van.at("van.ron"), &text).unwrap();
    assert_eq!(van.next(), before);
    van.good(&rename);
    assert_eq!(van.text("van.ron"), new_text);
    assert_eq!(van.next(), renamed);
    // The line was cut off in the middle.
    std::fs::write(van.at("van.ron"), &text).unwrap();
    let at = case.find("Renamed(").unwrap();
    for cut in [at, at + 3, at + 30] {
        std::fs::write(van.at("blue.case"), &case[..cut]).unwrap();
        assert_eq!(van.next(), before, "{cut}");
    }
    // An editor renamed it: the case is told by the same line.
    std::fs::write(van.at("blue.case"), &case[..at]).unwrap();
    std::fs::write(van.at("van.ron"), &new_text).unwrap();
    let told = van.refused(&["next", "blue.case"]);
    assert!(told.contains("halfsplit rename van.ron"), "{told}");
    van.good(&rename);
    assert_eq!((van.next(), van.text("van.ron")), (renamed, new_text));
}

#[test]
fn what_is_refused_changes_nothing() {
    let van = Workshop::new(&HALF_WAY);
    let before = (van.text("van.ron"), van.text("blue.case"));
    std::fs::copy(van.at("van.ron"), van.at("other.ron")).unwrap();
    for arguments in [
        ["rename", "van.ron", "F3", "F9", "--case", "blue.case"],
        ["rename", "van.ron", "F33", "F34", "--case", "blue.case"],
        ["rename", "other.ron", "F3", "F30", "--case", "blue.case"],
    ] {
        van.refused(&arguments);
        assert_eq!((van.text("van.ron"), van.text("blue.case")), before);
    }
    // The case beside the vehicle file goes along unasked.
    std::fs::copy(van.at("blue.case"), van.at("van.case")).unwrap();
    van.good(&["rename", "van.ron", "F3", "F30"]);
    van.good(&["next", "van.case"]);
}
