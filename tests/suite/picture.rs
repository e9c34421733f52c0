//! The feed tree as a drawing: read back as XML, its texts held against each other and the paper.

use crate::generated::{Recipe, vehicle};
use crate::tree::{deep, hostile, standing};
use halfsplit::case::{Case, Setting};
use halfsplit::feeds::{self, Feeds, PartId};
use halfsplit::instruments::Instruments;
use halfsplit::render::{self, Readings, Standings};
use std::collections::BTreeMap;

/// A text with the rectangle it takes, in mm of its page.
#[derive(Debug)]
pub(crate) struct Text {
    pub(crate) page: usize,
    class: String,
    pub(crate) said: String,
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
}

/// The moves and sizes of a `transform`, as far as the drawing uses them.
#[derive(Clone, Copy)]
struct Move {
    scale: f64,
    x: f64,
    y: f64,
}

impl Move {
    fn then(self, transform: &str) -> Self {
        let mut all = self;
        for step in transform.split(')').filter(|step| !step.trim().is_empty()) {
            let (word, numbers) = step.trim().split_once('(').unwrap();
            let numbers: Vec<f64> = numbers.split(' ').map(|n| n.parse().unwrap()).collect();
            match word {
                "translate" => {
                    all.x += all.scale * numbers[0];
                    all.y += all.scale * numbers[1];
                }
                "scale" => all.scale *= numbers[0],
                _ => panic!("{transform}"),
            }
        }
        all
    }
}

/// The texts of a drawing, and the size of its pages.
pub(crate) fn texts(svg: &str) -> (Vec<Text>, (f64, f64)) {
    let document = roxmltree::Document::parse(svg).unwrap();
    let number = |node: roxmltree::Node<'_, '_>, name| -> f64 {
        node.attribute(name).unwrap().parse().unwrap()
    };
    let mut size = (0.0, 0.0);
    let mut found = Vec::new();
    let sheets = document.root_element();
    let sheets = sheets.children().filter(|node| node.has_tag_name("g"));
    for (page, sheet) in sheets.enumerate() {
        let still = Move {
            scale: 1.0,
            x: 0.0,
            y: 0.0,
        };
        let mut open: Vec<_> = sheet.children().map(|node| (node, still)).collect();
        while let Some((node, moved)) = open.pop() {
            let moved = node.attribute("transform").map_or(moved, |t| moved.then(t));
            open.extend(node.children().map(|child| (child, moved)));
            if node.attribute("class") == Some("paper") {
                size = (number(node, "width"), number(node, "height"));
            }
            if !node.has_tag_name("text") {
                continue;
            }
            let class = node.attribute("class").unwrap();
            let said = node.text().unwrap_or_default().to_owned();
            let height = moved.scale
                * match class {
                    "id" => 2.5,
                    "head" => 3.4,
                    "small" | "place" | "mark" => 2.1,
                    _ => panic!("{class}"),
                };
            // Fonts of fixed width: 0.602 of their height (DejaVu Sans Mono, the widest met).
            let width = textwrap::core::display_width(&said) as f64 * 0.602 * height;
            let x = moved.x + moved.scale * number(node, "x");
            let y = moved.y + moved.scale * number(node, "y");
            let left = if class == "mark" { x - width / 2.0 } else { x };
            found.push(Text {
                page,
                class: class.to_owned(),
                said,
                left,
                right: left + width,
                // Letters reach 0.76 above their line and 0.24 below it (DejaVu Sans Mono).
                top: y - 0.76 * height,
                bottom: y + 0.24 * height,
            });
        }
    }
    (found, size)
}

/// Pairs of texts on one page that lie over each other by more than a twentieth of a millimetre.
pub(crate) fn overlaps(texts: &[Text]) -> Vec<(&Text, &Text)> {
    const SLACK: f64 = 0.05;
    let mut found = Vec::new();
    for (n, a) in texts.iter().enumerate() {
        for b in &texts[n + 1..] {
            let apart = a.page != b.page
                || a.right <= b.left + SLACK
                || b.right <= a.left + SLACK
                || a.bottom <= b.top + SLACK
                || b.bottom <= a.top + SLACK;
            if !apart {
                found.push((a, b));
            }
        }
    }
    found
}

/// How often each letter stands in some texts.
fn letters<'t>(texts: impl Iterator<Item = &'t str>) -> BTreeMap<char, usize> {
    let mut letters: BTreeMap<char, usize> = BTreeMap::new();
    for c in texts.flat_map(str::chars).filter(|c| !c.is_whitespace()) {
        *letters.entry(c).or_default() += 1;
    }
    letters
}

/// What holds for every drawing; returns how many pages it has.
fn check(what: &str, feeds: &Feeds, standings: Option<Standings<'_>>) -> usize {
    // In a case something was read at every third part, at some a lot.
    let read = feeds
        .parts()
        .filter(|part| standings.is_some() && part.0 % 3 == 0);
    let said = |part: &PartId| {
        let some = (0..=part.0 % 4).map(|n| format!("{n}: clamp 1234.5mA turns 10"));
        some.collect::<Vec<_>>()
    };
    let readings: Readings = read.map(|part| (part, said(&part))).collect();
    let svg = render::picture(feeds, standings, &readings);
    let (texts, (width, height)) = texts(&svg);
    let over = overlaps(&texts);
    assert!(over.is_empty(), "{what}: {:#?}", &over[..over.len().min(3)]);
    for text in &texts {
        let inside = text.left >= 0.0 && text.right <= width;
        let inside = inside && text.top >= 0.0 && text.bottom <= height;
        assert!(inside, "{what}, {width} x {height}: {text:#?}");
    }
    // Black and white, and nothing that needs another file or runs.
    for word in ["fill:#", "stroke:#"] {
        for (at, _) in svg.match_indices(word) {
            let colour = &svg[at + word.len()..][..3];
            assert!(["000", "fff"].contains(&colour), "{what}: {word}{colour}");
        }
    }
    for word in ["href", "url(", "<image", "<script", "rgb("] {
        assert!(!svg.contains(word), "{what}: {word}");
    }
    // Every letter of every id is there, and no other.
    let drawn = texts.iter().filter(|text| text.class == "id");
    let ids: Vec<_> = feeds
        .parts()
        .map(|id| halfsplit::problem::clean(feeds.id(id)))
        .collect();
    assert_eq!(
        letters(drawn.map(|text| text.said.as_str())),
        letters(ids.iter().map(String::as_str)),
        "{what}"
    );
    texts.iter().map(|text| text.page).max().unwrap() + 1
}

#[test]
fn no_two_texts_overlap() {
    let mut pages = BTreeMap::new();
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let name = file.file_name().unwrap().to_str().unwrap().to_owned();
        let text = std::fs::read_to_string(file).unwrap();
        let feeds = feeds::load(&text).0.unwrap();
        check(&format!("{name} with a case"), &feeds, Some(&standing));
        pages.insert(name.clone(), check(&name, &feeds, None));
    });
    // A small vehicle is one sheet; 342 parts are a booklet.
    assert_eq!(pages["quarto-van.ron"], 1);
    assert_eq!(pages["teaching-board.ron"], 1);
    assert!((5..=14).contains(&pages["large-van.ron"]), "{pages:?}");
    for seed in 0..8 {
        let recipe = Recipe {
            loads: 10 + 40 * seed as usize,
            modules: seed % 2 == 0,
        };
        let feeds = feeds::load(&vehicle(seed, recipe)).0.unwrap();
        check("generated", &feeds, None);
        check("generated with a case", &feeds, Some(&standing));
    }
    check("deep", &feeds::load(&deep(40)).0.unwrap(), None);
    check("hostile", &feeds::load(&hostile()).0.unwrap(), None);
}

#[test]
fn a_case_is_told_without_colour() {
    let text = include_str!("../../sample-vehicles/teaching-board.ron");
    let feeds = feeds::load(text).0.unwrap();
    let svg = render::picture(&feeds, Some(&standing), &Readings::new());
    let (texts, _) = texts(&svg);
    for word in [
        "carrying",
        "not all of it",
        "not ruled out",
        "ruled out",
        "dead",
    ] {
        let said = texts.iter().any(|text| text.said.starts_with(word));
        assert!(said, "{word}");
    }
    for state in ["carrying", "too_small", "ruled_out", "dead"] {
        assert!(svg.contains(&format!("class=\"thin {state}\"")), "{state}");
        assert!(svg.contains(&format!(".{state}{{stroke-")), "{state}");
    }
}

#[test]
fn as_a_page_it_has_a_sheet_for_each() {
    let text = include_str!("../../sample-vehicles/coach.ron");
    let feeds = feeds::load(text).0.unwrap();
    let svg = render::picture(&feeds, None, &Readings::new());
    let html = render::picture_html(&feeds, None, &Readings::new());
    let sheets = svg.matches("class=\"paper\"").count();
    assert!(sheets > 1);
    assert_eq!(html.matches("<svg ").count(), sheets);
    assert_eq!(html.matches("</svg>").count(), sheets);
    assert!(html.contains("@page{size:A4 portrait;margin:0}"));
    assert!(html.contains("<title>Folio touring coach, 24 V (invented)</title>"));
}

/// At its point, what still counts; the newest of many.
#[test]
fn readings_stand_at_their_points() {
    let text = include_str!("../../sample-vehicles/quarto-van.ron");
    let setting = Setting::new(feeds::load(text).0.unwrap(), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    for line in [
        "prepared; asleep; draw 640mA by series; drop F3 2.1mV",
        "drop F9 0.3mV; undo; look cargo lamp lit",
        "volts C114 12.1V; volts C114 12.2V; volts C114 12.3V; volts C114 12.4V; volts C114 12.5V",
    ] {
        case.record(line).unwrap();
    }
    let readings = render::readings(&case);
    let at = |id: &str| readings.get(&case.part(id).unwrap()).cloned();
    assert_eq!(at("battery").unwrap(), ["3: draw 640mA"]);
    assert_eq!(at("F3").unwrap(), ["4: drop 2.1mV"]);
    assert_eq!(at("F9"), None, "it was undone");
    let lamp = at("cargo lamp").unwrap();
    assert_eq!(lamp[..2], ["2 before", "9: volts 12.2V"]);
    assert_eq!(lamp[4], "12: volts 12.5V");
    let standings = render::standings(&case);
    let svg = render::picture(&setting.feeds, Some(&standings), &readings);
    assert!(svg.contains("4: drop 2.1mV") && svg.contains("3: draw 640mA"));
}
