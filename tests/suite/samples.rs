//! Every sample vehicle is read without an error, says that it is invented, is of the size it claims,
//! and its summary is looked at.

use halfsplit::feeds::{self, Feeds};
use halfsplit::instruments::{self, Instruments};
use halfsplit::render;
use halfsplit::vehicle::PartKind;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;
use std::path::Path;

#[test]
fn each_is_sound() {
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let text = std::fs::read_to_string(file).unwrap();
        let (feeds, problems) = feeds::load(&text);
        assert!(problems.is_empty(), "{file:?}: {problems:#?}");
        let feeds = feeds.unwrap();

        let first = text.lines().next().unwrap();
        assert!(first.starts_with("// Invented: "), "{file:?}: {first}");
        assert!(feeds.vehicle().name.ends_with("(invented)"), "{file:?}");

        let (asleep, limit) = (feeds.summary().asleep.0, feeds.limit().unwrap());
        assert!(
            asleep < limit,
            "{file:?}: {asleep:?} asleep, {limit:?} allowed"
        );

        let summary = render::check(&feeds, 60);
        let widest = summary.lines().map(|line| line.chars().count()).max();
        assert!(widest <= Some(60), "{file:?}: {summary}");
        insta::assert_snapshot!(summary);
    });
}

/// What a sample has to hold to be the vehicle it claims to be.
struct Size {
    fuses: RangeInclusive<usize>,
    loads: RangeInclusive<usize>,
    /// Places where there are fuses.
    boxes: usize,
    modules: usize,
    networks: usize,
}

/// The fleet: each sample file with its size.
fn fleet() -> BTreeMap<&'static str, Size> {
    let row = |file, fuses, loads, boxes, modules, networks| {
        let size = Size {
            fuses,
            loads,
            boxes,
            modules,
            networks,
        };
        (file, size)
    };
    [
        //   file                  fuses      loads     boxes modules networks
        row("coach.ron", 32..=40, 60..=75, 4, 9, 2),
        row("hatchback.ron", 23..=28, 55..=65, 2, 6, 1),
        row("large-van.ron", 85..=95, 210..=230, 3, 20, 2),
        row("pickup.ron", 18..=24, 45..=55, 4, 2, 0),
        row("quarto-van.ron", 3..=3, 4..=4, 1, 1, 1),
        row("teaching-board.ron", 6..=6, 10..=10, 1, 1, 1),
    ]
    .into()
}

fn sample(file: &str) -> Feeds {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-vehicles")
        .join(file);
    feeds::load(&std::fs::read_to_string(path).unwrap())
        .0
        .unwrap()
}

#[test]
fn each_is_of_the_size_it_claims() {
    for (file, size) in fleet() {
        let feeds = sample(file);
        let count = |kind| {
            feeds
                .parts()
                .filter(|p| feeds.part(*p).kind == kind)
                .count()
        };
        let boxes: BTreeSet<_> = feeds
            .parts()
            .filter(|p| feeds.part(*p).kind == PartKind::Fuse)
            .map(|p| feeds.place(p))
            .collect();
        let (fuses, loads) = (count(PartKind::Fuse), count(PartKind::Load));
        assert!(size.fuses.contains(&fuses), "{file}: {fuses} fuses");
        assert!(size.loads.contains(&loads), "{file}: {loads} loads");
        assert_eq!(boxes.len(), size.boxes, "{file}: places with fuses");
        assert_eq!(feeds.modules().count(), size.modules, "{file}: modules");
        assert_eq!(feeds.networks().count(), size.networks, "{file}: networks");
    }
}

#[test]
fn each_has_its_size_in_the_table() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles");
    let files: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_file())
        .map(|path| path.file_name().unwrap().to_str().unwrap().to_owned())
        .collect();
    let rows: BTreeSet<String> = fleet().into_keys().map(str::to_owned).collect();
    assert_eq!(files, rows);
}

#[test]
fn each_set_of_instruments_is_what_its_name_says() {
    // file, clamp, turns of the loop, millivolts a step
    let table = [
        ("clamp-on-the-meter.ron", true, Some(1), 0.01),
        ("clamp-that-drifts.ron", true, None, 0.1),
        ("fine-meter-clamp-loop.ron", true, Some(10), 0.01),
        ("meter-and-clamp.ron", true, None, 0.1),
        ("plain-meter.ron", false, None, 0.1),
    ];
    let mut seen = Vec::new();
    insta::glob!("../../sample-vehicles/instruments", "*.ron", |path| {
        let text = std::fs::read_to_string(path).unwrap();
        assert!(text.starts_with("// Invented: "), "{path:?}");
        let (instruments, problems) = instruments::read(&text);
        assert!(problems.is_empty(), "{path:?}: {problems:#?}");
        let set = instruments.unwrap();
        let file = path.file_name().unwrap().to_str().unwrap().to_owned();
        let step = set.meter.unwrap().millivolts.unwrap().step.value();
        seen.push((file, set.clamp.is_some(), set.turns, step));
    });
    let table = table.map(|(file, clamp, turns, step)| (file.to_owned(), clamp, turns, step));
    assert_eq!(seen, table);
}

/// Without a file the plain meter is assumed: the sample that describes it says the same.
#[test]
fn the_plain_meter_is_the_one_assumed() {
    let text = include_str!("../../sample-vehicles/instruments/plain-meter.ron");
    let assumed = Instruments {
        assumed: false,
        ..Instruments::assumed_meter()
    };
    assert_eq!(instruments::read(text).0, Some(assumed));
}

/// What the README shows is what the program prints.
#[test]
fn the_readme_tells_the_truth() {
    trycmd::TestCases::new()
        .env("TERM", "xterm")
        .env("COLUMNS", "80")
        .case("README.md");
}
