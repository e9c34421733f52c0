//! `plan` as it is called: the whole chart, its words, its minutes against the floor, what it refuses.

use crate::picture::{overlaps, texts};
use halfsplit::case::{Case, Planned, Setting};
use halfsplit::planner;
use halfsplit::quantity::Milliamps;
use halfsplit::render::{self, Extent, PlanScene};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

const SAMPLES: [&str; 6] = [
    "coach",
    "hatchback",
    "large-van",
    "pickup",
    "quarto-van",
    "teaching-board",
];

fn halfsplit(arguments: &[&str], columns: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("COLUMNS", columns)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn sample(name: &str) -> String {
    format!("sample-vehicles/{name}.ron")
}

fn printed(arguments: &[&str], columns: &str) -> String {
    let output = halfsplit(arguments, columns);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {output:?}");
    String::from_utf8(output.stdout).unwrap()
}

fn data(arguments: &[&str]) -> Value {
    serde_json::from_str(&printed(arguments, "80")).unwrap()
}

/// The plan of every sample, worked out once: what is asked of its drawings is asked many times.
fn plans() -> &'static [(&'static str, Setting, Planned)] {
    static PLANS: OnceLock<Vec<(&str, Setting, Planned)>> = OnceLock::new();
    PLANS.get_or_init(|| {
        let plan = |name: &&'static str| {
            let setting = crate::driver::sample(name);
            let case = Case::new(&setting).supposing(Milliamps::of(640.0)).unwrap();
            let planned = case.plan().unwrap();
            (*name, setting, planned)
        };
        SAMPLES.iter().map(plan).collect()
    })
}

fn told(planned: &Planned, setting: &Setting, extent: Extent, width: usize) -> String {
    let habits = planned.habits();
    let scene = PlanScene {
        supposed: true,
        extent,
        habits: Some(&habits),
        width,
        unicode: true,
    };
    render::plan(planned, setting, scene)
}

#[test]
fn the_chart_adds_up_to_the_minutes_said() {
    for name in SAMPLES {
        let plan = data(&["plan", &sample(name), "--json"]);
        let chart = plan["chart"].as_array().unwrap();
        let number = |value: &Value| value.as_f64().unwrap();
        let spent: f64 = chart
            .iter()
            .filter_map(|node| Some(number(&node["chance"]) * node["step"]["minutes"].as_f64()?))
            .sum();
        let expected = number(&plan["minutes"]["expected"]);
        // Chances are printed to a millionth, minutes to a thousandth, a node each.
        let slack = 1e-3 + 1e-3 * chart.len() as f64;
        assert!(
            (spent - expected).abs() < slack,
            "{name}: {spent} {expected}"
        );
        let floor = number(&plan["minutes"]["at_least"]);
        assert!(
            floor <= expected && floor > 0.0,
            "{name}: {floor} {expected}"
        );
        assert_eq!(plan["first"], chart[0]["step"], "{name}");
        // Every cause ends in exactly one place: proven, or among what cannot be parted.
        let mut ended = Vec::new();
        for node in chart {
            assert_ne!(node["ends"], "unfolded", "{name}");
            if node["ends"] == "located" {
                ended.extend(node["suspects"].as_array().unwrap().iter().cloned());
            }
            let proven = node["outcomes"].as_array().into_iter().flatten();
            if proven.clone().any(|outcome| outcome["node"].is_null()) {
                ended.push(node["does"]["prove"].clone());
            }
        }
        let ended: Vec<u64> = ended.iter().map(|s| s.as_u64().unwrap()).collect();
        let apart: BTreeSet<_> = ended.iter().collect();
        assert_eq!(apart.len(), ended.len(), "{name}: a cause ends twice");
        let causes = plan["suspects"].as_array().unwrap();
        assert_eq!(ended.len(), causes.len(), "{name}: a cause ends nowhere");
    }
}

/// Minutes of getting at a place of the table, whatever is open on the way.
#[test]
fn what_the_plan_can_only_locate_is_said() {
    for (name, setting, planned) in plans() {
        let ends = planned.chart.nodes.iter();
        let located: f64 = ends
            .filter(|node| matches!(node.next, planner::Next::Located))
            .map(|node| node.chance)
            .sum();
        // No sample's chart is cut short, so what cannot be proven is what ends located.
        assert!((located - planned.unprovable()).abs() < 1e-9, "{name}");
        let told = told(planned, setting, Extent::Depth(1), 1000);
        let share = format!("(or, for {:.0} % of the odds, located:", located * 100.0);
        assert!(
            told.replace('\u{a0}', " ").contains(&share),
            "{name}: {told}"
        );
    }
}

fn reach(table: &Value, place: &Value, open: &mut BTreeSet<u64>) -> f64 {
    let (mut minutes, mut at) = (0.0, place.as_u64());
    while let Some(place) = at.filter(|place| open.insert(*place)) {
        let place = &table["places"][place as usize];
        minutes += place["reach"].as_f64().unwrap();
        at = place["within"].as_u64();
    }
    minutes
}

/// The class a cause shows in a test, by the table: the first that it surely shows, else 0.
fn class_in(test: &Value, cause: u64) -> u64 {
    let mut classes = test["classes"].as_array().unwrap().iter();
    let shows = |class: &Value| {
        let mut ranges = class["suspects"].as_array().unwrap().iter();
        let holds = |range: &Value| (range[0].as_u64()..range[1].as_u64()).contains(&Some(cause));
        class["sure"] == true && ranges.any(holds)
    };
    classes.position(shows).map_or(0, |at| at as u64 + 1)
}

#[test]
fn each_cause_goes_where_it_shows_and_takes_what_the_table_says() {
    for name in SAMPLES {
        let plan = data(&["plan", &sample(name), "--json", "--table"]);
        let (chart, table) = (&plan["chart"], &plan["table"]);
        let number = |value: &Value| value.as_f64().unwrap();
        let causes = table["suspects"].as_array().unwrap();
        let odds = plan["suspects"].as_array().unwrap().iter();
        let odds: Vec<f64> = odds.map(|cause| number(&cause["odds"])).collect();
        let mut expected = 0.0;
        for (cause, odds) in odds.iter().enumerate() {
            let (mut minutes, mut open) = (0.0, BTreeSet::new());
            let mut instruments: BTreeMap<u64, Value> = BTreeMap::new();
            for at in table["instruments"].as_array().unwrap() {
                let instrument = at["instrument"].as_u64().unwrap();
                instruments.insert(instrument, at["place"].clone());
            }
            let mut at = Some(0);
            while let Some(node) = at {
                let node = &chart[node as usize];
                let does = &node["does"];
                let class = if let Some(test) = does["test"].as_u64() {
                    let test = &table["tests"][test as usize];
                    minutes += number(&test["minutes"]) / (1.0 - number(&test["inconclusive"]));
                    minutes += reach(table, &test["place"], &mut open);
                    if let Some(instrument) = test["instrument"].as_u64() {
                        let there = instruments.insert(instrument, test["place"].clone());
                        if there.as_ref() != Some(&test["place"]) {
                            minutes += number(&table["move_minutes"]);
                        }
                    }
                    class_in(test, cause as u64)
                } else if let Some(proven) = does["prove"].as_u64() {
                    let own = &causes[proven as usize];
                    minutes += reach(table, &own["proof_place"], &mut open);
                    let is_it = proven == cause as u64;
                    minutes += number(&own[if is_it { "proof" } else { "failed_proof" }]);
                    u64::from(is_it)
                } else {
                    break;
                };
                let mut outcomes = node["outcomes"].as_array().unwrap().iter();
                let shown = outcomes.find(|outcome| outcome["class"] == class);
                let shown =
                    shown.unwrap_or_else(|| panic!("{name}: {cause} shows {class} at {node}"));
                at = shown["node"].as_u64();
            }
            expected += odds * minutes;
        }
        // Minutes and odds of the table are rounded.
        let said = number(&plan["minutes"]["expected"]);
        assert!(
            (expected - said).abs() < 2e-3 * said,
            "{name}: {expected}, said {said}"
        );
    }
}

#[test]
fn it_is_no_wider_than_the_window() {
    for (name, setting, planned) in plans() {
        for width in [60, 100] {
            let text = told(planned, setting, Extent::Depth(40), width);
            for line in text.lines() {
                let wide = textwrap::core::display_width(line);
                assert!(wide <= width, "{name}, {wide} columns: {line}");
            }
        }
    }
}

/// Every "go to N" leads to a later step that is shown, every shown step but the first is led to once.
#[test]
fn every_step_is_led_to_once() {
    for (name, setting, planned) in plans() {
        let likeliest = [1, 16, 50].map(Extent::Likeliest);
        for extent in likeliest.into_iter().chain([1, 3, 30].map(Extent::Depth)) {
            let text = told(planned, setting, extent, 120);
            let mut steps = 0;
            let mut led = Vec::new();
            for line in text.lines().map(|line| line.trim_start_matches("| ")) {
                let number = line.trim_start().split(' ').next().unwrap();
                if number.parse() == Ok(steps + 1) && line.contains(" min") {
                    steps += 1;
                }
                if let Some((_, to)) = line.split_once("go to ") {
                    led.push(to.parse::<usize>().unwrap());
                    assert!(led.last() > Some(&steps), "{name}: {line}");
                }
            }
            led.sort_unstable();
            let all: Vec<usize> = (2..=steps).collect();
            assert_eq!(led, all, "{name} {extent:?}\n{text}");
        }
    }
}

#[test]
fn a_vehicle_is_planned_for_the_draw_that_is_said() {
    let board = sample("teaching-board");
    let at = |draw: &str| {
        let plan = data(&["plan", &board, "--json", "--draw", draw]);
        assert_eq!(plan["supposed"], true);
        let (low, high) = (&plan["draw_ma"][0], &plan["draw_ma"][1]);
        (low.as_f64().unwrap(), high.as_f64().unwrap())
    };
    let (low, high) = at("2A");
    assert!(low < 2000.0 && 2000.0 < high, "{low} to {high}");
    // On the finest range that takes it.
    let (low, high) = at("120mA");
    assert!(low > 115.0 && high < 125.0, "{low} to {high}");
    // Within the limit there is nothing to find; and a meter of 10 A reads no 40 A.
    let within = printed(&["plan", &board, "--draw", "1mA"], "80");
    assert!(within.starts_with("No plan from here."), "{within}");
    let too_much = halfsplit(&["plan", &board, "--draw", "lots"], "80");
    assert_eq!(too_much.status.code(), Some(2));
}

/// Whoever is slower with a plug, or knows that nothing wakes, says so in the instruments file.
#[test]
fn what_each_thing_takes_is_said_by_the_instruments_file() {
    let folder = tempfile::tempdir().unwrap();
    let kit = folder.path().join("kit.ron");
    let text = "Instruments(format: 1, meter: Meter(
        millivolts: Range(step: mV(0.1), percent: 0.5, counts: 2),
        milliamps: Range(step: mA(0.1), percent: 0.5, counts: 2, most: A(1))),
        handling: Handling(drop: minutes(2), pull: minutes(4), unplug: minutes(6), refit: minutes(5),
        draw: minutes(7), carry: minutes(8), wakes_plain: 0, wakes_fuse: 0, wakes_network: 0))";
    std::fs::write(&kit, text).unwrap();
    let van = sample("quarto-van");
    let kit = kit.to_str().unwrap();
    let draw = ["--draw", "640mA", "--instruments", kit];
    let plan = data(&[&["plan", &van, "--json", "--table"][..], &draw[..]].concat());
    let table = &plan["table"];
    assert_eq!(table["move_minutes"], 8.0);
    let mut minutes: BTreeSet<(String, String)> = BTreeSet::new();
    for test in table["tests"].as_array().unwrap() {
        let entry = test["entry"].as_str().unwrap();
        let together = entry.split(',').count();
        if together > 1 {
            let each = 4.0 * together as f64;
            assert_eq!(
                test["minutes"],
                each + 7.0,
                "{entry}: all out, and the draw"
            );
            continue;
        }
        let word = entry.split(' ').next().unwrap();
        minutes.insert((word.to_owned(), test["minutes"].to_string()));
    }
    let of = |word: &str| {
        let found = minutes.iter().filter(|(of, _)| of == word);
        found
            .map(|(_, minutes)| minutes.as_str())
            .collect::<Vec<_>>()
    };
    assert_eq!(of("drop"), ["2.0"]);
    assert_eq!(of("pull"), ["11.0"], "out, and the draw");
    // Out, draw, in, draw, and out again to stay so; out, draw, in.
    let mut proofs: BTreeSet<(String, String)> = BTreeSet::new();
    for row in table["suspects"].as_array().unwrap() {
        if row["provable"] == true {
            proofs.insert((row["proof"].to_string(), row["failed_proof"].to_string()));
        }
    }
    let pulled = ("27.0".to_owned(), "16.0".to_owned());
    let unplugged = ("31.0".to_owned(), "18.0".to_owned());
    assert_eq!(proofs, BTreeSet::from([pulled, unplugged]));
}

#[test]
fn a_case_is_planned_from_where_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let case = folder.path().join("board.case");
    let case = case.to_str().unwrap();
    let board = sample("teaching-board");
    printed(&["next", case, "--vehicle", &board], "80");
    // Nothing read yet: the same as the vehicle by itself.
    let minutes = |plan: &Value| plan["minutes"]["expected"].as_f64().unwrap();
    let early = data(&["plan", case, "--json"]);
    assert_eq!(early, data(&["plan", &board, "--json"]));
    for entry in ["prepared", "asleep", "draw 500mA"] {
        printed(&["record", case, entry], "80");
    }
    // What `next` says of the minutes is an upper end of the whole plan's.
    for _ in 0..3 {
        let plan = data(&["plan", case, "--json"]);
        let next = data(&["next", case, "--json"]);
        assert_eq!(plan["supposed"], false);
        let said = next["minutes"]["expected"].as_f64().unwrap();
        assert!(minutes(&plan) <= said + 1e-3, "{} {said}", minutes(&plan));
        let first = &plan["first"];
        let entry = first["entry"].as_str().unwrap();
        let reads = if first["method"] == "look" {
            "no".to_owned()
        } else if first["method"] == "drop" {
            format!("{:.1}mV", first["expect"]["not"][0].as_f64().unwrap())
        } else {
            break;
        };
        printed(&["record", case, &format!("{entry} {reads}")], "80");
    }
    let again = halfsplit(&["plan", case, "--draw", "1A"], "80");
    assert_eq!(again.status.code(), Some(2), "the draw was read");
}

#[test]
fn the_drawing_goes_into_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let board = sample("teaching-board");
    let svg = printed(&["plan", &board, "--out", "-"], "80");
    assert!(svg.starts_with("<svg "), "{svg}");
    let file = folder.path().join("chart.html");
    printed(&["plan", &board, "--out", file.to_str().unwrap()], "60");
    let html = std::fs::read_to_string(&file).unwrap();
    assert_eq!(html.matches("<svg ").count(), 1, "one sheet");
    let both = halfsplit(&["plan", &board, "--out", "-", "--json"], "80");
    assert_eq!(both.status.code(), Some(2));
}

#[test]
fn without_a_limit_it_is_planned_and_the_limit_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("lorry.ron");
    let text = "Vehicle(format: 1, name: \"invented\", battery: Battery(id: \"battery\", volts: V(24), feeds: [Fuse(id: \"F1\", rating: A(10))]))";
    std::fs::write(&file, text).unwrap();
    let output = halfsplit(&["plan", Path::new(&file).to_str().unwrap()], "80");
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("no limit is known"), "{said}");
}

/// One page without a depth, as many as it takes with one; texts apart, on the paper and outside the
/// lines that lead from box to box.
#[test]
fn the_chart_is_drawn_to_be_read() {
    for (name, setting, planned) in plans() {
        for depth in [None, Some(4), Some(40)] {
            let svg = render::plan_drawing(planned, setting, true, depth);
            let (texts, (width, height)) = texts(&svg);
            assert!(
                (width, height) == (210.0, 297.0),
                "{name}: {width} x {height}"
            );
            let over = overlaps(&texts);
            assert!(over.is_empty(), "{name}: {:#?}", &over[..over.len().min(3)]);
            for text in &texts {
                let inside = text.left >= 9.9 && text.right <= width - 9.9;
                let inside = inside && text.top >= 9.0 && text.bottom <= height - 9.0;
                assert!(inside, "{name}: {text:#?}");
            }
            let pages = 1 + texts.iter().map(|text| text.page).max().unwrap();
            assert!(depth.is_some() || pages == 1, "{name}: {pages} pages");
            // Boxes are numbered without a gap, and no box is named that is not there.
            let mut boxes: Vec<usize> = texts.iter().filter_map(|t| t.said.parse().ok()).collect();
            boxes.sort_unstable();
            let all: Vec<usize> = (1..=boxes.len()).collect();
            assert_eq!(boxes, all, "{name}");
            let named = texts.iter().filter_map(|t| t.said.split_once("go to "));
            let mut named: Vec<usize> = named.map(|(_, to)| to.parse().unwrap()).collect();
            named.sort_unstable();
            assert_eq!(named, all[1..], "{name} {depth:?}");
            across(&svg, name);
        }
    }
}

/// No line that leads from a box to another crosses a text.
fn across(svg: &str, name: &str) {
    let document = roxmltree::Document::parse(svg).unwrap();
    let (texts, _) = texts(svg);
    let sheets = document.root_element().children();
    let sheets = sheets.filter(|node| node.has_tag_name("g"));
    let mut leads = 0;
    for (page, sheet) in sheets.enumerate() {
        for path in sheet.children().filter_map(|node| node.attribute("d")) {
            let Some((from, to)) = path.strip_prefix('M').and_then(|p| p.split_once('L')) else {
                continue; // a box, or the head of an arrow
            };
            let point =
                |text: &str| -> Vec<f64> { text.split(' ').map(|n| n.parse().unwrap()).collect() };
            let (from, to) = (point(from), point(to));
            leads += 1;
            for text in texts.iter().filter(|text| text.page == page) {
                let beside = text.right <= from[0] || from[0] <= text.left;
                let off = text.bottom <= from[1] || to[1] <= text.top;
                assert!(beside || off, "{name}: {path} through {text:?}");
            }
        }
    }
    assert!(leads > 0, "{name}: no box leads to another");
}
