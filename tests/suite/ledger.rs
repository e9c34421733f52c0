//! The ledger: truth stays inside, order does not matter, reasons suffice, clashes are smallest.

use crate::generated::{Dice, Recipe, vehicle};
use halfsplit::feeds::{Feeds, PartId, load};
use halfsplit::interval::Interval;
use halfsplit::ledger::{Because, End, Ledger, Observation, Observed, Out, Ties};
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::{Drain, Simulated};
use proptest::prelude::*;

fn feeds(text: &str) -> Feeds {
    load(text).0.expect("a tree")
}

/// Battery 0, box 1, F1 2, lamp 3, radio 4, F2 5, pump 6.
fn small() -> Feeds {
    feeds(
        r#"Vehicle(format: 1, name: "board (invented)", battery: Battery(id: "battery", feeds: [
            Cable(id: "box", feeds: [
                Fuse(id: "F1", feeds: [Load(id: "lamp"), Load(id: "radio")]),
                Fuse(id: "F2", feeds: [Load(id: "pump")]),
            ]),
        ]))"#,
    )
}

fn ma(low: f64, high: f64) -> Interval<Milliamps> {
    Interval::between(low, high)
}

fn read(entry: u32, out: &Out, part: u32, low: f64, high: f64) -> Observation {
    Observation {
        entry,
        out: out.clone(),
        what: Observed::Current(PartId(part), ma(low, high)),
    }
}

#[test]
fn sums_go_up_and_remainders_come_down() {
    let feeds = small();
    let ties = Ties::of(&feeds, false);
    let all_in = Out::default();
    let mut ledger = Ledger::new(&feeds, &ties);
    ledger.post(read(1, &all_in, 0, 600.0, 680.0));
    ledger.post(read(2, &all_in, 2, 560.0, 640.0));
    let view = ledger.view(&all_in);
    // part, low, high
    for (part, low, high) in [
        (0, 600.0, 680.0),
        (1, 560.0, 680.0),
        (2, 560.0, 640.0),
        (3, 0.0, 640.0),
        (5, 0.0, 120.0),
        (6, 0.0, 120.0),
    ] {
        assert_eq!(view.current(PartId(part)), ma(low, high), "part {part}");
    }
    assert_eq!(view.own(PartId(0)), ma(0.0, 120.0));
    // Why does the pump take at most 120 mA? From both readings, in three lines of arithmetic.
    let why = ledger.why(&all_in, PartId(6), End::High);
    let readings: Vec<_> = why
        .iter()
        .filter_map(|line| match line.because {
            Because::Reading(entry) => Some(entry),
            _ => None,
        })
        .collect();
    assert_eq!(readings, [1, 2]);
    assert_eq!(why.last().map(|line| line.value), Some(120.0));
}

#[test]
fn a_fall_is_a_current_only_where_nothing_outside_can_matter() {
    let feeds = small();
    let ties = Ties::of(&feeds, false);
    let (all_in, lamp_out) = (Out::default(), Out::of(&feeds, [PartId(3)]));
    let mut ledger = Ledger::new(&feeds, &ties);
    ledger.post(read(1, &all_in, 0, 600.0, 640.0));
    ledger.post(read(2, &lamp_out, 0, 20.0, 40.0));
    let view = ledger.view(&all_in);
    assert_eq!(view.current(PartId(3)), ma(560.0, 620.0));
    assert!((view.current(PartId(6)).high() - 40.0).abs() < 1e-9);

    // The same with the lamp being a module on a network: the fall says nothing about it.
    let networked = self::feeds(
        r#"Vehicle(format: 1, name: "board (invented)", networks: {"n": Network()},
            modules: {"m": Module(network: "n"), "o": Module(network: "n")},
            battery: Battery(id: "battery", feeds: [Cable(id: "box", feeds: [
                Fuse(id: "F1", feeds: [Load(id: "lamp", of: "m"), Load(id: "radio")]),
                Fuse(id: "F2", feeds: [Load(id: "pump", of: "o")]),
            ])]))"#,
    );
    let ties = Ties::of(&networked, false);
    let mut ledger = Ledger::new(&networked, &ties);
    ledger.post(read(1, &all_in, 0, 600.0, 640.0));
    ledger.post(read(2, &lamp_out, 0, 20.0, 40.0));
    assert_eq!(ledger.view(&all_in).current(PartId(3)), ma(0.0, 640.0));
    // The radio hangs on nothing else: what it takes with the lamp out it takes always.
    assert!((ledger.view(&all_in).current(PartId(4)).high() - 40.0).abs() < 1e-9);
    assert!((ledger.view(&all_in).current(PartId(6)).high() - 640.0).abs() < 1e-9);
}

/// Readings as entry, part, low, high; and the clash.
type ClashRow = (&'static [(u32, u32, f64, f64)], &'static [u32]);

#[test]
fn clashes_name_a_smallest_set() {
    let feeds = small();
    let ties = Ties::of(&feeds, false);
    let all_in = Out::default();
    let table: [ClashRow; 4] = [
        (&[(1, 0, 600.0, 640.0), (2, 2, 300.0, 320.0)], &[]),
        (&[(1, 0, 600.0, 640.0), (2, 2, 700.0, 720.0)], &[1, 2]),
        (
            &[
                (1, 0, 600.0, 640.0),
                (2, 3, 10.0, 20.0),
                (3, 2, 400.0, 420.0),
                (4, 5, 300.0, 310.0),
            ],
            &[1, 3, 4],
        ),
        // The same part read twice, far apart.
        (
            &[(1, 0, 600.0, 640.0), (5, 3, 10.0, 20.0), (9, 3, 40.0, 50.0)],
            &[5, 9],
        ),
    ];
    for (readings, clash) in table {
        let mut ledger = Ledger::new(&feeds, &ties);
        for (entry, part, low, high) in readings {
            ledger.post(read(*entry, &all_in, *part, *low, *high));
        }
        assert_eq!(ledger.clash(), clash);
        assert_eq!(ledger.holds_together(), clash.is_empty());
    }
}

/// Readings of a simulated vehicle in several states, each an interval around the truth.
fn truthful(feeds: &Feeds, dice: &mut Dice) -> (Vec<Observation>, Vec<(Out, Vec<f64>)>) {
    let loads: Vec<PartId> = feeds
        .parts()
        .filter(|p| feeds.load_kind(*p).is_some())
        .collect();
    let mut drains = vec![Drain::Takes(
        *dice.one_of(&loads),
        Milliamps::of(dice.between(60.0, 900.0)),
    )];
    if dice.chance(0.4) {
        drains.push(Drain::Takes(
            *dice.one_of(&loads),
            Milliamps::of(dice.between(60.0, 900.0)),
        ));
    }
    if let Some(module) = feeds.modules().next().filter(|_| dice.chance(0.5)) {
        drains.push(Drain::HeldBy(module));
    }
    let shares: Vec<f64> = feeds.parts().map(|_| dice.between(0.0, 1.0)).collect();
    let vehicle = Simulated::new(feeds, drains, |p| shares[p.index()]);
    let mut states = vec![(
        Out::default(),
        vehicle.currents(&Out::default().parts().collect()),
    )];
    for _ in 0..dice.below(5) {
        let mut out: Vec<PartId> = states[dice.below(states.len())].0.parts().collect();
        for _ in 0..=dice.below(2) {
            out.push(PartId(1 + dice.below(feeds.len() - 1) as u32));
        }
        let out = Out::of(feeds, out);
        let currents = vehicle.currents(&out.parts().collect());
        states.push((out, currents));
    }
    let mut readings = Vec::new();
    for entry in 1..=(4 + dice.below(20)) {
        let (out, currents) = &states[dice.below(states.len())];
        let part = PartId(dice.below(feeds.len()) as u32);
        let truth = currents[part.index()];
        readings.push(Observation {
            entry: entry as u32,
            out: out.clone(),
            what: if truth == 0.0 && dice.chance(0.3) {
                Observed::Dead(part)
            } else {
                Observed::Current(
                    part,
                    ma(
                        truth - dice.between(0.0, 40.0),
                        truth + dice.between(0.0, 40.0),
                    ),
                )
            },
        });
    }
    (readings, states)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn truth_is_never_excluded_and_order_does_not_matter(seed in any::<u64>(), modules in any::<bool>()) {
        let mut dice = Dice(seed);
        let loads = 4 + dice.below(30);
        let feeds = feeds(&vehicle(seed, Recipe { loads, modules }));
        let ties = Ties::of(&feeds, false);
        let (readings, states) = truthful(&feeds, &mut dice);
        let mut ledger = Ledger::new(&feeds, &ties);
        let mut widths: Vec<f64> = Vec::new();
        for reading in &readings {
            ledger.post(reading.clone());
            // Posting never widens.
            let now: Vec<f64> = {
                let view = ledger.view(&Out::default());
                feeds.parts().map(|p| view.current(p).width()).collect()
            };
            for (before, after) in widths.iter().zip(&now) {
                prop_assert!(*after <= before + 1e-6);
            }
            widths = now;
        }
        prop_assert!(ledger.holds_together(), "{:?}", ledger.clash());
        for (out, currents) in &states {
            let view = ledger.view(out);
            for part in feeds.parts() {
                let known = view.current(part).widened(1e-6);
                prop_assert!(known.holds(Milliamps::of(currents[part.index()])),
                    "{} is {} in {known:?} with {out:?} out", feeds.id(part), currents[part.index()]);
            }
        }
        // Another order, and the same reading twice.
        let mut again = readings.clone();
        again.reverse();
        again.push(readings[0].clone());
        let mut other = Ledger::new(&feeds, &ties);
        for reading in again {
            other.post(reading);
        }
        for (out, _) in &states {
            let (one, two) = (ledger.view(out), other.view(out));
            for part in feeds.parts() {
                let (a, b) = (one.current(part), two.current(part));
                prop_assert!((a.low() - b.low()).abs() < 1e-6, "{a:?} {b:?}");
                prop_assert!(a.high().is_infinite() == b.high().is_infinite() && (a.high().is_infinite() || (a.high() - b.high()).abs() < 1e-6), "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn the_readings_named_in_a_reason_suffice(seed in any::<u64>()) {
        let mut dice = Dice(seed);
        let feeds = feeds(&vehicle(seed, Recipe { loads: 12, modules: false }));
        let ties = Ties::of(&feeds, false);
        let (readings, _) = truthful(&feeds, &mut dice);
        let mut ledger = Ledger::new(&feeds, &ties);
        for reading in &readings {
            ledger.post(reading.clone());
        }
        let out = readings[0].out.clone();
        for part in feeds.parts() {
            for end in [End::Low, End::High] {
                let why = ledger.why(&out, part, end);
                let Some(last) = why.last() else { continue };
                let mut alone = Ledger::new(&feeds, &ties);
                for line in &why {
                    alone.visit(&line.out);
                }
                for reading in &readings {
                    if why.iter().any(|line| line.because == Because::Reading(reading.entry)) {
                        alone.post(reading.clone());
                    }
                }
                let known = alone.current(&out, part);
                let bound = if end == End::Low { known.low() } else { known.high() };
                prop_assert!((bound - last.value).abs() < 1e-6, "{} {end:?}: {bound} for {}", feeds.id(part), last.value);
            }
        }
    }

    #[test]
    fn a_wrong_reading_is_found_in_a_minimal_clash(seed in any::<u64>()) {
        let mut dice = Dice(seed);
        let feeds = feeds(&vehicle(seed, Recipe { loads: 10, modules: false }));
        let ties = Ties::of(&feeds, false);
        let (mut readings, _) = truthful(&feeds, &mut dice);
        readings.push(Observation { entry: 99, out: readings[0].out.clone(),
            what: Observed::Current(PartId(dice.below(feeds.len()) as u32), ma(5000.0, 5100.0)) });
        readings.push(Observation { entry: 100, out: readings[0].out.clone(),
            what: Observed::Current(PartId(0), ma(0.0, 2900.0)) });
        let mut ledger = Ledger::new(&feeds, &ties);
        for reading in &readings {
            ledger.post(reading.clone());
        }
        let clash = ledger.clash();
        prop_assert!(!clash.is_empty());
        // It clashes by itself, and without any one of its readings it does not.
        for leave in std::iter::once(None).chain(clash.iter().map(Some)) {
            let mut some = Ledger::new(&feeds, &ties);
            for reading in &readings {
                some.visit(&reading.out);
            }
            for reading in readings.iter().filter(|r| clash.contains(&r.entry) && Some(&r.entry) != leave) {
                some.post(reading.clone());
            }
            prop_assert_eq!(some.holds_together(), leave.is_some());
        }
    }
}
