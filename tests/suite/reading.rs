//! From the text of a vehicle file to the checked tree.

use halfsplit::feeds::{self, Feeds, Named, PartId};
use halfsplit::quantity::{Milliamps, Millivolts, Minutes};
use halfsplit::vehicle::{FuseStyle, LoadKind, PartKind, Rest, TestKind, WireSize};
use std::fmt::Write as _;

/// The worked example of format 1, invented.
const QUARTO: &str = include_str!("../../sample-vehicles/quarto-van.ron");

fn good(text: &str) -> Feeds {
    let (feeds, problems) = feeds::load(text);
    let Some(feeds) = feeds else {
        panic!("{problems:#?}\n{text}")
    };
    assert!(problems.iter().all(|p| !p.is_error()), "{problems:#?}");
    feeds
}

fn part(feeds: &Feeds, name: &str) -> PartId {
    match feeds.find(name) {
        Some(Named::Part(id)) => *id,
        other => panic!("{name} is {other:?}"),
    }
}

#[test]
fn the_worked_example_is_read_whole() {
    let feeds = good(QUARTO);
    assert_eq!(feeds.len(), 14);
    let v = feeds.vehicle();
    assert_eq!(v.name, "Quarto delivery van (invented)");
    assert_eq!(v.year, Some(2016));
    assert_eq!(feeds.limit(), Some(Milliamps::of(50.0)));
    assert_eq!(feeds.settle(), Minutes::of(45.0));
    assert_eq!(feeds.volts(), Millivolts::of(12_000.0));
    let lamp = part(&feeds, "cargo lamp");
    let path: Vec<_> = feeds.path(lamp).iter().map(|p| feeds.id(*p)).collect();
    assert_eq!(
        path,
        ["battery", "box cable", "L1", "F3", "S11", "cargo lamp"]
    );
    assert_eq!(feeds.load_kind(lamp), Some(LoadKind::Lamp));
    assert_eq!(feeds.find("C114"), Some(&Named::Plug(vec![lamp])));
    let dash = feeds.find_place("behind dash").unwrap();
    let way: Vec<_> = feeds
        .way(dash)
        .iter()
        .map(|p| feeds.place_as_written(*p).id.value.as_str())
        .collect();
    assert_eq!(way, ["footwell box", "behind dash"]);
    let f3 = part(&feeds, "F3");
    assert_eq!(feeds.part(f3).style, Some(FuseStyle::Mini));
    assert_eq!(
        feeds.part(f3).rating.as_ref().map(|r| r.value),
        Some(Milliamps::of(20_000.0))
    );
    assert!(feeds.networked(f3) && !feeds.networked(part(&feeds, "K4")));
    assert_eq!(
        feeds.coils_of(part(&feeds, "K4")),
        [part(&feeds, "K4 coil")]
    );
    assert_eq!(feeds.part(part(&feeds, "K4")).rest, Some(Rest::Open));
    // The output below the module's feed inherits its place.
    assert_eq!(feeds.place(part(&feeds, "mirror output")), Some(dash));
    let body = part(&feeds, "body feed 1");
    assert_eq!(feeds.usual(body), (Milliamps::of(2.0), false));
    assert_eq!(feeds.at_most(body), Milliamps::of(5.0));
    assert_eq!(feeds.at_most(part(&feeds, "F7")), Milliamps::of(15.0));
    assert_eq!(feeds.at_most(f3), Milliamps::ZERO);
}

/// A vehicle whose battery feeds what is given.
fn with(parts: &str) -> String {
    format!("Vehicle(format: 1, name: \"x\", battery: Battery(id: \"battery\", feeds: [{parts}]))")
}

#[test]
fn every_field_arrives_with_its_unit() {
    let feeds = good(&with(
        r#"Fuse(id: "F1", name: "n", label: "l", sheet: "8", note: "t", odds: 2.5, plug: "C1", pin: "7",
            colour: "RD", holder: "H", can: [Clamp, Series], never: [Pull], fixed: true, caution: "hot",
            rating: A(7.5), style: LowMini, resistance: Ohm(0.0105),
            wire: Wire(size: awg(18), length: mm(500), metal: Aluminium), feeds: [
                Load(id: "a", kind: Audio, asleep: A(0.002), least: mA(1), at_most: mA(3), awake: A(2), holder: "H"),
            ]),"#,
    ));
    let f = feeds.part(part(&feeds, "F1"));
    assert_eq!(f.kind, PartKind::Fuse);
    let texts = [
        &f.name, &f.label, &f.sheet, &f.note, &f.pin, &f.colour, &f.holder, &f.caution,
    ];
    let texts: Vec<_> = texts.iter().map(|t| t.as_deref().unwrap_or("-")).collect();
    assert_eq!(texts, ["n", "l", "8", "t", "7", "RD", "H", "hot"]);
    assert_eq!(f.odds, Some(2.5));
    assert_eq!(f.can, [TestKind::Clamp, TestKind::Series]);
    assert_eq!(f.never, [TestKind::Pull]);
    assert!(f.fixed);
    assert!((f.resistance.unwrap().value() - 10.5).abs() < 1e-12);
    let wire = f.wire.unwrap();
    assert_eq!(wire.size, WireSize::Gauge(18.0));
    assert!((wire.length.unwrap().value() - 0.5).abs() < 1e-12);
    let a = part(&feeds, "a");
    assert_eq!(feeds.part(a).asleep, Some(Milliamps::of(2.0)));
    assert_eq!(feeds.least(a), Milliamps::of(1.0));
    assert_eq!(feeds.at_most(a), Milliamps::of(3.0));
    assert_eq!(feeds.part(a).awake, Some(Milliamps::of(2000.0)));
    assert_eq!(feeds.holder_mates(a).len(), 2);
}

#[test]
fn words_for_minutes() {
    for (written, minutes) in [
        ("minutes(90)", 90.0),
        ("min(90)", 90.0),
        ("h(1.5)", 90.0),
        ("Some(h(1.5))", 90.0),
    ] {
        let text = with("Fuse(id: \"F1\")").replace("name:", &format!("settle: {written}, name:"));
        assert_eq!(good(&text).settle(), Minutes::of(minutes), "{written}");
    }
}

#[test]
fn batteries_in_series_add_up() {
    let text = with("Battery(id: \"upper\", feeds: [Fuse(id: \"F1\")]), Fuse(id: \"radio tap\")");
    let (feeds, problems) = feeds::load(&text);
    let feeds = feeds.unwrap();
    assert_eq!(feeds.volts(), Millivolts::of(24_000.0));
    assert_eq!(feeds.limit(), None);
    let codes: Vec<_> = problems.iter().map(|p| p.code).collect();
    assert_eq!(codes, ["no-limit"]);
}

/// A chain of splices so many levels deep.
fn deep(levels: usize) -> String {
    let mut open = String::new();
    for n in 0..levels {
        write!(open, "Splice(id: \"s{n}\", feeds: [").unwrap();
    }
    with(&format!("{open}Load(id: \"x\"){}", "])".repeat(levels)))
}

fn codes(text: &str) -> Vec<&'static str> {
    let (_, problems) = feeds::load(text);
    problems.iter().map(|p| p.code).collect()
}

#[test]
fn forty_levels_are_read_and_no_more() {
    // The battery is the first level and the load the last.
    for (splices, expected) in [(38, vec![]), (39, vec!["too-deep"]), (46, vec!["too-deep"])] {
        assert_eq!(codes(&deep(splices)), expected, "{splices}");
    }
    assert_eq!(codes(&deep(100_000)), ["too-deep"]);
}

#[test]
fn hostile_texts_come_back_with_a_problem() {
    let long = "x".repeat(1 << 20);
    for text in [
        String::new(),
        "\0".repeat(1000),
        "(".repeat(100_000),
        "[".repeat(100_000),
        "Vehicle(note: ".to_owned() + &"Some(".repeat(100_000),
        format!("Vehicle(note: {}", "[".repeat(100_000)),
        "/*".repeat(100_000),
        "#![enable(".repeat(10_000),
        "#![".to_owned(),
        "Vehicle(\u{feff}".to_owned(),
        long.clone(),
        format!("Vehicle(format: 1, {long}: 1)"),
        with(&format!("Fuse(id: \"F1\", style: {long})")),
        with(&format!("Fuse(id: \"F1\", {long}: {long})")),
        with("Fuse(id: \"F\\u{0}\", at: \"\u{202e}\")"),
        with(&"Fuse(rating: 1),".repeat(20_000)),
        with(&"Fuse(id: \"F1\"),".repeat(20_000)),
        format!("\u{feff}{}", with("漢")),
        with("Load(id: \"é\", asleep: 12é)"),
        with("Load(id: \"a\", odds: 3,é5)"),
    ] {
        let (feeds, problems) = feeds::load(&text);
        assert!(feeds.is_none());
        assert!(!problems.is_empty());
        let look = halfsplit::problem::Look {
            width: 80,
            colour: false,
            unicode: true,
        };
        let shown = halfsplit::problem::show("x", &text, &problems, look);
        assert!(shown.len() < 60_000, "{} bytes", shown.len());
    }
}

#[test]
fn a_large_vehicle_is_read() {
    let mut parts = String::new();
    for fuse in 0..5_000 {
        let _ = write!(parts, "Fuse(id: \"F{fuse}\", rating: A(10), feeds: [");
        for load in 0..3 {
            let _ = write!(
                parts,
                "Load(id: \"L{fuse} {load}\", kind: Lamp, plug: \"C{fuse}\"),"
            );
        }
        parts.push_str("]),\n");
    }
    let feeds = good(&with(&parts));
    assert_eq!(feeds.len(), 20_001);
    assert_eq!(feeds.unplugged_with(part(&feeds, "L7 1")).len(), 3);
    a_checked_tree(&feeds);
}

/// What holds for every checked tree.
fn a_checked_tree(feeds: &Feeds) {
    assert!(feeds.up(PartId(0)).is_none());
    for id in feeds.parts() {
        assert_eq!(feeds.find(feeds.id(id)), Some(&Named::Part(id)));
        assert!(
            feeds
                .up(id)
                .is_none_or(|up| up < id && feeds.is_below(id, up))
        );
        assert!(feeds.children(id).all(|child| feeds.up(child) == Some(id)));
        assert!(feeds.least(id) <= feeds.at_most(id) && feeds.usual(id).0 <= feeds.at_most(id));
        assert!(feeds.unplugged_with(id).contains(&id) && feeds.holder_mates(id).contains(&id));
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(64))]

    /// Each mistake planted in a generated vehicle is found at its very line and column, all at
    /// once, and nothing else is found.
    #[test]
    fn planted_mistakes_are_found_at_their_place(
        ups in proptest::collection::vec((0usize..1000, 0usize..10, 0usize..6), 2..60)
    ) {
        // (what is typed in the part, the code, the text that must be pointed at)
        let mistakes = [
            ("odds: 1", "", ""),
            ("odds: 1", "", ""),
            ("rating: 10", "no-unit", "10"),
            ("ratng: A(10)", "unknown-field", "ratng"),
            ("rating: mA(3,5)", "decimal-comma", "mA(3,5)"),
            ("style: Minii", "unknown-word", "Minii"),
            ("name: é漢", "no-quotes", "é漢"),
            ("at: \"atic\"", "unknown-place", "\"atic\""),
            ("rating: A(-1)", "negative", "A(-1)"),
            ("asleep: mA(1)", "misplaced-field", "asleep"),
        ];
        // A random tree in which the parents of a part come before it, written out without recursion.
        let count = ups.len();
        let mut children = vec![Vec::new(); count + 1];
        let mut depth = vec![0; count + 1];
        for (n, (up, _, _)) in ups.iter().enumerate() {
            let up = up % (n + 1);
            let up = if depth[up] < 30 { up } else { 0 };
            depth[n + 1] = depth[up] + 1;
            children[up].push(n + 1);
        }
        let mut text = String::from("Vehicle(format: 1, name: \"漢é\", battery: Battery(id: \"b\", feeds: [\n");
        let mut planted = Vec::new();
        let mut stack = vec![(0, 0)];
        while let Some((node, next)) = stack.pop() {
            if let Some(child) = children[node].get(next) {
                stack.push((node, next + 1));
                let (_, mistake, gap) = ups[child - 1];
                let (typed, code, pointed) = mistakes[mistake];
                text.push_str(["", "\r\n", "\t", "/* 漢 */ ", "// é\n", "    "][gap]);
                write!(text, "Fuse(id: \"F{child}\", ").unwrap();
                if !code.is_empty() {
                    let start = text.len() + typed.find(pointed).unwrap();
                    planted.push((start..start + pointed.len(), code));
                }
                text.push_str(typed);
                text.push_str(", feeds: [");
                stack.push((*child, 0));
            } else if node != 0 {
                text.push_str("]),\n");
            }
        }
        text.push_str("]))\n");
        let (feeds, problems) = feeds::load(&text);
        proptest::prop_assert_eq!(feeds.is_none(), !planted.is_empty());
        let found: Vec<_> = problems.iter().map(|p| (p.at.clone(), p.code)).collect();
        proptest::prop_assert_eq!(&found, &planted);
        // Lines and columns counted in another way: by splitting.
        for (row, (at, _)) in halfsplit::problem::rows(&text, &problems).iter().zip(&planted) {
            let line = text.split('\n').nth(row.line - 1).unwrap();
            let from: String = line.chars().skip(row.column - 1).collect();
            proptest::prop_assert!(from.starts_with(&text[at.clone()]));
            proptest::prop_assert_eq!(row.line, row.line_end);
            proptest::prop_assert_eq!(row.column_end - row.column, text[at.clone()].chars().count());
        }
        if let Some(feeds) = feeds {
            a_checked_tree(&feeds);
        }
    }

    /// Any text at all comes back, and what is shown of it is harmless.
    #[test]
    fn any_text_comes_back(text in "(?s).{0,200}", cut in 0usize..3000) {
        let mut cut = cut.min(QUARTO.len());
        while !QUARTO.is_char_boundary(cut) {
            cut -= 1;
        }
        for text in [text.clone(), format!("{}{text}{}", &QUARTO[..cut], &QUARTO[cut..])] {
            let (_, problems) = feeds::load(&text);
            let look = halfsplit::problem::Look { width: 80, colour: false, unicode: false };
            let shown = halfsplit::problem::show(&text, &text, &problems, look);
            proptest::prop_assert!(!shown.chars().any(|c| c.is_control() && c != '\n'));
        }
    }
}

#[test]
fn a_checked_tree_holds_together() {
    a_checked_tree(&good(QUARTO));
}

#[test]
fn other_names_for_the_same_tree_change_nothing_else() {
    let renamed = QUARTO
        .replace("\"F3\"", "\"fuse three\"")
        .replace("\"S11\"", "\"splice\"");
    let (one, other) = (good(QUARTO), good(&renamed));
    for id in one.parts() {
        assert_eq!(one.up(id), other.up(id));
        assert_eq!(one.subtree(id), other.subtree(id));
        assert_eq!(one.place(id), other.place(id));
        assert_eq!(one.usual(id), other.usual(id));
    }
    assert_eq!(one.id(part(&one, "F3")), "F3");
    assert_eq!(part(&one, "F3"), part(&other, "fuse three"));
}
