//! Where the meter at hand cannot tell: what could.

use super::parts::{good, part};
use super::{range, with_clamp, with_millivolts};
use halfsplit::instruments::Instruments;
use halfsplit::interval::Interval;
use halfsplit::measurement::{
    Need, Resistance, Way, current_shown, drop_shown, resistance, tells, would_need,
};
use halfsplit::quantity::{Milliamps, Millivolts};
use halfsplit::reference;
use halfsplit::render;
use proptest::prelude::*;
use std::fmt::Write as _;

type Current = Interval<Milliamps>;

/// In words: the step of a meter, turns with whose clamp and where, mm² and dm of a wire.
fn said(need: &Need) -> String {
    match need {
        Need::Meter(range) => format!("meter {}", range.step.value()),
        Need::Clamp {
            owned,
            turns,
            in_holder,
            ..
        } => format!(
            "{} clamp x{turns}{}",
            if *owned { "own" } else { "a" },
            if *in_holder { " in holder" } else { "" }
        ),
        Need::AlongWire(wire) => {
            let ohms = reference::wire(*wire).unwrap();
            let length = wire.length.unwrap().value();
            format!("{length} m of {:.1} mOhm/m", ohms.nominal.value() / length)
        }
    }
}

/// The part, what is at hand, at least so many mA or at most so many, and what would tell.
type Row<'a> = (&'a str, &'a Instruments, (f64, f64), &'a [&'a str]);

/// A drain of 60 mA or more against 5 mA or less, unless the row says otherwise.
#[test]
fn what_would_tell() {
    let plain = Instruments::assumed_meter();
    let coarse_clamp = with_clamp(range(10.0, 2.0, 5.0), None);
    let fine_clamp = with_clamp(range(1.0, 2.0, 5.0), None);
    let fine = with_millivolts(range(0.01, 0.3, 1.0));
    let none = Instruments {
        meter: None,
        ..plain.clone()
    };
    let few = (60.0, 5.0);
    let table: &[Row<'_>] = &[
        // 60 mA across a 5 A blade is 1.07 mV: the plain meter tells.
        (
            r#"Fuse(id: "p", rating: A(5), style: Regular)"#,
            &plain,
            few,
            &[],
        ),
        // Across a 30 A blade 0.118 mV against 0.01: a finer meter. Along 1.1 m of
        // 2.5 mm² at least 0.42 mV, shown as 0.3 or more, against 0.05, shown as 0.2 or less (derived).
        (
            r#"Fuse(id: "p", rating: A(30), style: Regular)"#,
            &plain,
            few,
            &["meter 0.01", "1.1 m of 7.5 mOhm/m", "a clamp x1 in holder"],
        ),
        (
            r#"Fuse(id: "p", rating: A(30), style: Regular)"#,
            &fine,
            few,
            &[],
        ),
        // Nothing is known of the fuse, so no meter across it; never pull, so no loop.
        (
            r#"Fuse(id: "p", rating: A(30), style: Glass, never: [Pull])"#,
            &plain,
            few,
            &["1.1 m of 7.5 mOhm/m"],
        ),
        // No thin wire behind a large fuse; with nothing above, none is supposed.
        (
            r#"Fuse(id: "p", rating: A(250), style: Mega, fixed: true)"#,
            &plain,
            few,
            &[],
        ),
        (r#"Splice(id: "p")"#, &plain, few, &[]),
        (
            r#"Fuse(id: "f", rating: A(15), feeds: [Splice(id: "p")])"#,
            &plain,
            few,
            &["1.1 m of 7.5 mOhm/m"],
        ),
        // A cable can be clamped as it is; its own wire is thick. Two turns: 120 mA ± 50 in 10 mA steps is
        // shown as 70 or more, 10 mA as 60 or less (derived).
        (r#"Cable(id: "p")"#, &fine_clamp, few, &[]),
        (
            r#"Cable(id: "p", wire: Wire(size: mm2(16)))"#,
            &coarse_clamp,
            few,
            &["own clamp x2"],
        ),
        (
            r#"Cable(id: "p", wire: Wire(size: mm2(16)))"#,
            &plain,
            few,
            &["a clamp x1"],
        ),
        (r#"Splice(id: "p")"#, &none, few, &[]),
        // An airbag circuit is left alone, whatever could tell.
        (r#"Load(id: "p", kind: Airbag)"#, &plain, few, &[]),
        // The two currents meet: nothing tells.
        (
            r#"Fuse(id: "p", rating: A(30), style: Regular)"#,
            &plain,
            (5.0, 5.0),
            &[],
        ),
    ];
    for (written, instruments, (carrying, not), expected) in table {
        let feeds = good(written);
        let carrying = Current::between(*carrying, f64::INFINITY);
        let not = Current::between(0.0, *not);
        let found = would_need(
            &feeds,
            part(&feeds, "p"),
            carrying,
            not,
            (instruments, None),
        );
        let found: Vec<_> = found.iter().map(said).collect();
        assert_eq!(found, *expected, "{written}");
    }
}

#[test]
fn in_words() {
    let plain = Instruments::assumed_meter();
    let coarse_clamp = with_clamp(range(10.0, 2.0, 5.0), None);
    let mut gallery = String::new();
    for (written, instruments, wire_given) in [
        (
            r#"Fuse(id: "p", rating: A(30), style: Regular)"#,
            &plain,
            false,
        ),
        (
            r#"Fuse(id: "p", rating: A(30), style: Maxi, wire: Wire(size: mm2(2.5)))"#,
            &coarse_clamp,
            true,
        ),
        (r#"Cable(id: "p")"#, &plain, false),
        (r#"Cable(id: "p")"#, &coarse_clamp, false),
    ] {
        let feeds = good(written);
        let (carrying, not) = (
            Current::between(60.0, f64::INFINITY),
            Current::between(0.0, 5.0),
        );
        let _ = writeln!(gallery, "{written}");
        for need in would_need(
            &feeds,
            part(&feeds, "p"),
            carrying,
            not,
            (instruments, None),
        ) {
            let _ = writeln!(gallery, "- {}", render::need(&need, wire_given));
        }
    }
    insta::assert_snapshot!(gallery);
}

proptest! {
    /// What is named tells, and a step less of it does not.
    #[test]
    fn it_is_enough_and_no_more(
        part_of in prop::sample::select(vec![
            r#"Fuse(id: "p", rating: A(10), style: Mini, can: [Clamp])"#,
            r#"Fuse(id: "p", rating: A(30), style: Regular)"#,
            r#"Fuse(id: "p", rating: A(60), style: Maxi)"#,
            r#"Link(id: "p", rating: A(100), style: Midi)"#,
            r#"Cable(id: "p", wire: Wire(size: mm2(6)))"#,
            r#"Connector(id: "p")"#,
        ]),
        not in 0.0..50.0_f64,
        more in 0.1..300.0_f64,
        clamp_step in prop::sample::select(vec![None, Some(1.0), Some(10.0), Some(100.0)]),
    ) {
        let feeds = good(part_of);
        let p = part(&feeds, "p");
        let (carrying, not) = (Current::between(not + more, f64::INFINITY), Current::between(0.0, not));
        let at_hand = match clamp_step {
            Some(step) => with_clamp(range(step, 2.0, 5.0), None),
            None => Instruments::assumed_meter(),
        };
        let needs = would_need(&feeds, p, carrying, not, (&at_hand, None));
        if tells(&feeds, p, carrying, not, (&at_hand, None)) {
            prop_assert!(needs.is_empty());
        }
        let drop = |across: &Resistance, with: &Instruments| {
            let shown = |current| drop_shown(across, current, with).unwrap();
            shown(carrying).above(shown(not))
        };
        for need in needs {
            match need {
                Need::Meter(finer) => {
                    let across = resistance(&feeds, p).unwrap();
                    prop_assert!(drop(&across, &with_millivolts(finer)));
                    prop_assert!(finer.step < Millivolts::of(0.1));
                }
                Need::Clamp { clamp, owned, turns, .. } => {
                    prop_assert_eq!(owned, at_hand.clamp == Some(clamp));
                    let with = Instruments { clamp: Some(clamp), ..at_hand.clone() };
                    let by = |turns| {
                        let way = Way::Clamp { turns };
                        let shown = |current| current_shown(way, current, &with).unwrap();
                        shown(carrying).above(shown(not))
                    };
                    prop_assert!(by(turns));
                    prop_assert!(turns == 1 || !by(turns - 1));
                }
                Need::AlongWire(wire) => {
                    let across = Resistance::from(reference::wire(wire).unwrap());
                    prop_assert!(drop(&across, &at_hand));
                }
            }
        }
    }
}
