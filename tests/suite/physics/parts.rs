//! What the parts of a vehicle file offer, and the resistance each is read across.

use super::about;
use halfsplit::feeds::{self, Feeds, Named, PartId};
use halfsplit::interval::Interval;
use halfsplit::measurement::{Method, offered, resistance};

pub(super) fn good(parts: &str) -> Feeds {
    let text = format!(
        "Vehicle(format: 1, name: \"invented\", battery: Battery(id: \"battery\", feeds: [{parts}]))"
    );
    let (feeds, problems) = feeds::load(&text);
    feeds.unwrap_or_else(|| panic!("{problems:#?}"))
}

pub(super) fn part(feeds: &Feeds, name: &str) -> PartId {
    match feeds.find(name) {
        Some(Named::Part(id)) => *id,
        other => panic!("{name} is {other:?}"),
    }
}

/// Where a part's resistance comes from, mΩ; the order of the doc table.
#[test]
fn which_resistance_a_part_has() {
    for (written, milliohms) in [
        (
            r#"Fuse(id: "p", rating: A(10), style: Regular)"#,
            Some(7.70),
        ),
        (
            r#"Fuse(id: "p", rating: A(10), style: Regular, resistance: mOhm(7.1))"#,
            Some(7.1),
        ),
        (
            r#"Fuse(id: "p", style: Glass, resistance: mOhm(30))"#,
            Some(30.0),
        ),
        (r#"Fuse(id: "p", rating: A(10), style: Glass)"#, None),
        (r#"Fuse(id: "p", style: Regular)"#, None),
        // No style: an estimate as a blade.
        (r#"Fuse(id: "p", rating: A(10))"#, Some(7.70)),
        // The wire that leads to a fuse is not the fuse.
        (
            r#"Fuse(id: "p", rating: A(10), style: Glass, wire: Wire(size: mm2(1), length: m(1)))"#,
            None,
        ),
        (r#"Link(id: "p", rating: A(100), style: Mega)"#, Some(0.55)),
        (r#"Link(id: "p", rating: A(100))"#, None),
        (
            r#"Link(id: "p", rating: A(40), wire: Wire(size: awg(18), length: m(0.1524)))"#,
            Some(3.19),
        ),
        (
            r#"Link(id: "p", rating: A(100), style: Mega, resistance: mOhm(0.6))"#,
            Some(0.6),
        ),
        (r#"Breaker(id: "p", rating: A(20))"#, None),
        (
            r#"Breaker(id: "p", rating: A(20), resistance: mOhm(5))"#,
            Some(5.0),
        ),
        (
            r#"Cable(id: "p", wire: Wire(size: mm2(0.5), length: m(1)))"#,
            Some(37.1),
        ),
        (r#"Cable(id: "p", wire: Wire(size: mm2(0.5)))"#, None),
        (
            r#"Splice(id: "p", wire: Wire(size: awg(14), length: m(1)))"#,
            Some(8.285),
        ),
        (r#"Load(id: "p")"#, None),
    ] {
        let feeds = good(written);
        let found = resistance(&feeds, part(&feeds, "p")).map(|r| r.nominal.value());
        match (found, milliohms) {
            (Some(found), Some(expected)) => about(found, expected, 0.02, written),
            (found, expected) => assert_eq!(found, expected, "{written}"),
        }
    }
    // What the person measured is ± 5 % (judgement).
    let feeds = good(r#"Fuse(id: "p", resistance: mOhm(10))"#);
    let own = resistance(&feeds, part(&feeds, "p")).unwrap();
    assert_eq!(own.band, Interval::between(9.5, 10.5));
    assert!(own.source.contains("measured"), "{}", own.source);
}

/// The tests each part offers, in the order volts, drop, clamp, series, look, pull, unplug: V D C S L
/// P U.
#[test]
fn what_each_part_offers() {
    for (written, expected) in [
        (r#"Cable(id: "p")"#, "C"),
        (
            r#"Cable(id: "p", wire: Wire(size: mm2(16), length: m(1)))"#,
            "DC",
        ),
        (r#"Cable(id: "p", can: [Pull])"#, "CP"),
        (r#"Link(id: "p", rating: A(80), style: Midi)"#, "VD"),
        (r#"Link(id: "p", rating: A(80))"#, "V"),
        (
            r#"Link(id: "p", rating: A(80), style: Midi, can: [Pull, Clamp])"#,
            "VDCP",
        ),
        (r#"Fuse(id: "p", rating: A(10), style: Mini)"#, "VDSP"),
        (r#"Fuse(id: "p", rating: A(10), style: Glass)"#, "VSP"),
        (
            r#"Fuse(id: "p", rating: A(10), style: Mini, can: [Clamp])"#,
            "VDCSP",
        ),
        (
            r#"Fuse(id: "p", rating: A(10), style: Mini, never: [Pull])"#,
            "VD",
        ),
        (
            r#"Fuse(id: "p", rating: A(10), style: Mini, never: [Pull], can: [Series])"#,
            "VDS",
        ),
        (
            r#"Fuse(id: "p", rating: A(10), style: Mini, never: [Volts, Series])"#,
            "DP",
        ),
        (
            r#"Fuse(id: "p", rating: A(10), style: Mini, fixed: true)"#,
            "VD",
        ),
        (r#"Fuse(id: "p", can: [Drop])"#, "VSP"),
        (r#"Breaker(id: "p", rating: A(20))"#, "V"),
        (
            r#"Breaker(id: "p", rating: A(20), resistance: mOhm(4), holder: "H")"#,
            "VDP",
        ),
        (r#"Relay(id: "p")"#, "VLP"),
        (r#"Relay(id: "p", fixed: true)"#, "VL"),
        (r#"Switch(id: "p")"#, "VLU"),
        (r#"Relay(id: "K"), Coil(id: "p", moves: "K")"#, "VL"),
        (r#"Splice(id: "p")"#, "V"),
        (r#"Connector(id: "p")"#, "VCU"),
        (r#"Load(id: "m", feeds: [Output(id: "p")])"#, "VCU"),
        (r#"Load(id: "p", kind: Lamp)"#, "VCLU"),
        (r#"Load(id: "p", kind: BodyModule)"#, "VCU"),
        (r#"Load(id: "p", kind: Brake)"#, "VCU"),
        (r#"Load(id: "p", kind: Moves)"#, "VCLU"),
        (r#"Load(id: "p", kind: Lamp, fixed: true)"#, "VCL"),
        (r#"Load(id: "p", kind: Charging)"#, "CL"),
        (r#"Load(id: "p", kind: Charging, plug: "X")"#, "CLU"),
        (r#"Load(id: "p", kind: Starter)"#, "C"),
        (r#"Load(id: "p", kind: Airbag)"#, ""),
        (r#"Load(id: "p", kind: HighVoltage)"#, ""),
        (r#"Load(id: "p", kind: Protected)"#, ""),
        // Whatever the file says.
        (r#"Load(id: "p", kind: Airbag, can: [Unplug, Volts])"#, ""),
        // An airbag circuit in the same plug, or below the same connector.
        (
            r#"Load(id: "p", kind: Lamp, plug: "C1"), Load(id: "bag", kind: Airbag, plug: "C1")"#,
            "VCL",
        ),
        (
            r#"Connector(id: "p", feeds: [Fuse(id: "F", feeds: [Load(id: "bag", kind: Airbag)])])"#,
            "VC",
        ),
    ] {
        let feeds = good(written);
        assert_eq!(
            letters(&offered(&feeds, part(&feeds, "p"))),
            expected,
            "{written}"
        );
        assert_eq!(letters(&offered(&feeds, part(&feeds, "battery"))), "VCS");
    }
}

fn letters(methods: &[Method]) -> String {
    let letter = |method: &Method| match method {
        Method::Volts => 'V',
        Method::Drop => 'D',
        Method::Clamp => 'C',
        Method::Series => 'S',
        Method::Look => 'L',
        Method::Pull => 'P',
        Method::Unplug => 'U',
        other => panic!("{other:?} is no test of a part"),
    };
    methods.iter().map(letter).collect()
}
