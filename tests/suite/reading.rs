//! From the text of a vehicle file to the checked tree.

use halfsplit::feeds::{self, Feeds, Named, PartId};
use halfsplit::quantity::{Milliamps, Millivolts, Minutes};
use halfsplit::vehicle::{FuseStyle, LoadKind, PartKind, Rest, TestKind, WireSize};

/// The worked example of format 1, invented.
const QUARTO: &str = include_str!("../quarto.ron");

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
