//! The feed tree drawn for a terminal: looked at for every sample vehicle, and read back from the
//! drawing for invented ones.

use crate::generated::{Recipe, vehicle};
use halfsplit::feeds::{self, Feeds, PartId};
use halfsplit::render::{self, Standing};
use std::fmt::Write as _;

fn widest(drawn: &str) -> usize {
    drawn
        .lines()
        .map(textwrap::core::display_width)
        .max()
        .unwrap()
}

/// An invented standing for each part: all states, bounds with and without an end.
pub(crate) fn standing(id: PartId) -> Option<Standing> {
    let (state, low, high, hides) = match id.0 % 6 {
        0 => ("carrying", 604.0, 676.0, 660.0),
        1 => ("in_question", 0.0, 610.0, 610.0),
        2 => ("too_small", 1.25, 9.5, 8.0),
        3 => ("ruled_out", 0.0, 0.4, 0.4),
        4 => ("dead", 0.0, 0.0, 0.0),
        _ => ("in_question", 12_000.0, f64::INFINITY, f64::INFINITY),
    };
    (id.0 != 3).then_some(Standing {
        state,
        low,
        high,
        hides,
    })
}

#[test]
fn each_sample_vehicle_is_looked_at() {
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let feeds = feeds::load(&std::fs::read_to_string(file).unwrap())
            .0
            .unwrap();
        let narrow = render::tree(&feeds, 60, true, None);
        let wide = render::tree(&feeds, 100, true, None);
        insta::assert_snapshot!(format!("{narrow}\n{}\n{wide}", "=".repeat(100)));
    });
}

#[test]
fn standings_stand_in_a_column_of_their_own() {
    let text = include_str!("../../sample-vehicles/teaching-board.ron");
    let feeds = feeds::load(text).0.unwrap();
    insta::assert_snapshot!(render::tree(&feeds, 80, true, Some(&standing)));
}

/// Branches inside branches, to the deepest level of the format.
pub(crate) fn deep(levels: usize) -> String {
    let mut text =
        String::from("Vehicle(format: 1, name: \"deep\", battery: Battery(id: \"b\", feeds: [");
    for n in 2..levels {
        let _ = write!(
            text,
            "Splice(id: \"S{n}\", feeds: [Load(id: \"side {n}\"), "
        );
    }
    text.push_str("Load(id: \"last\", plug: \"C1\", colour: \"RD\")");
    text.push_str(&"])".repeat(levels - 2));
    text.push_str("]))");
    text
}

/// A vehicle whose names are long, wide, and not what a terminal or a page expects.
pub(crate) fn hostile() -> String {
    let long = "漢".repeat(90);
    format!(
        "Vehicle(format: 1, name: \"{long}\", battery: Battery(id: \"a\\n\\tb\\u{{1b}}[31m\", feeds: [
            Fuse(id: \"{long}\", name: \"two words\\nand a line\", note: \"x\", caution: \"{}\", feeds: [Load(id: \"x\u{a0}y\")]),
        ]))",
        "hands off ".repeat(30)
    )
}

fn check_widths(what: &str, feeds: &Feeds) {
    for width in [40, 60, 80, 120] {
        for unicode in [true, false] {
            for case in [None, Some(&standing as render::Standings<'_>)] {
                let drawn = render::tree(feeds, width, unicode, case);
                assert!(widest(&drawn) <= width, "{what} at {width}:\n{drawn}");
                assert!(unicode || drawn.is_ascii(), "{what}:\n{drawn}");
                assert!(!drawn.lines().any(|line| line.ends_with(' ')), "{what}");
            }
        }
    }
}

#[test]
fn no_line_is_too_wide() {
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let text = std::fs::read_to_string(file).unwrap();
        check_widths(&file.display().to_string(), &feeds::load(&text).0.unwrap());
    });
    for seed in 0..4 {
        let recipe = Recipe {
            loads: 100,
            modules: true,
        };
        check_widths("generated", &feeds::load(&vehicle(seed, recipe)).0.unwrap());
    }
    let feeds = feeds::load(&hostile()).0.unwrap();
    check_widths("hostile", &feeds);
    assert!(!render::tree(&feeds, 60, true, None).contains('\u{1b}'));
    let feeds = feeds::load(&deep(40)).0.unwrap();
    check_widths("deep", &feeds);
    let drawn = render::tree(&feeds, 60, true, None);
    let last = drawn.lines().last().unwrap();
    assert!(
        last.starts_with('»') && last.contains("└── last  load, C1 RD"),
        "{last}"
    );
}

/// Who feeds whom, read from a drawing in which every part has one line.
fn read_back(drawn: &str) -> Vec<(String, Option<String>)> {
    let mut last: Vec<String> = Vec::new(); // the part seen last at each column
    let mut above: Option<String> = None;
    let mut read = Vec::new();
    for line in drawn.lines().skip(1) {
        let chars: Vec<char> = line.chars().collect();
        let text = chars.iter().position(|c| !"│├└─┬ ".contains(*c)).unwrap();
        let (mark, column) = (text - 2, (text - 2) / 2);
        let id = chars[text..].iter().collect::<String>();
        let id = id.split("  ").next().unwrap().to_owned();
        let branch = mark > 0 && chars[mark - 1] == '─';
        let up = if branch {
            Some(last[column - 1].clone())
        } else {
            above.clone()
        };
        last.truncate(column);
        last.push(id.clone());
        above = Some(id.clone());
        read.push((id, up));
    }
    read
}

#[test]
fn each_part_has_its_line() {
    let mut depths = 0;
    for seed in 0..12 {
        let text = vehicle(
            seed,
            Recipe {
                loads: 20 + 40 * seed as usize,
                modules: true,
            },
        );
        let feeds = feeds::load(&text).0.unwrap();
        let expected: Vec<_> = feeds
            .parts()
            .map(|p| {
                let up = feeds.up(p).map(|up| feeds.id(up).to_owned());
                (feeds.id(p).to_owned(), up)
            })
            .collect();
        assert_eq!(read_back(&render::tree(&feeds, 1000, true, None)), expected);
        depths = depths.max(feeds.parts().map(|p| feeds.path(p).len()).max().unwrap());
    }
    assert!(depths >= 6, "the trees are deep: {depths}");
}
