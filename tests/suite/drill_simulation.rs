//! The simulated vehicle obeys Ohm and Kirchhoff before the instrument's error, and each trap does what
//! it does at a vehicle.

use crate::driver::{part, sample};
use halfsplit::case::Setting;
use halfsplit::drill::{Chance, pick};
use halfsplit::feeds::{PartId, load};
use halfsplit::instruments::{Clamp, Instruments, Meter, Range};
use halfsplit::journal::{Act, Point};
use halfsplit::measurement::{Jack, Method, Way, offered};
use halfsplit::quantity::{Milliamps, Millivolts, Quantity};
use halfsplit::simulation::{Drain, Happened, Hidden, Parked, Traps};
use std::fmt::Write as _;

fn perfect<Q: Quantity>(step: f64) -> Range<Q> {
    Range {
        step: Q::of(step),
        percent: 0.0,
        counts: 0.0,
        most: None,
        burden: None,
    }
}

/// Instruments whose only error is their last digit.
fn exact(name: &str) -> Setting {
    let file = format!("{}/sample-vehicles/{name}.ron", env!("CARGO_MANIFEST_DIR"));
    let feeds = load(&std::fs::read_to_string(file).unwrap()).0.unwrap();
    let instruments = Instruments {
        meter: Some(Meter {
            millivolts: Some(perfect::<Millivolts>(0.01)),
            amps: Some(perfect::<Milliamps>(1.0)),
            milliamps: Some(perfect::<Milliamps>(0.1)),
        }),
        clamp: Some(Clamp {
            range: perfect::<Milliamps>(0.1),
            jaw: None,
            scale: None,
            ..Clamp::typical()
        }),
        turns: None,
        handling: halfsplit::instruments::Handling::USUAL,
        assumed: false,
    };
    Setting::new(feeds, instruments)
}

fn asleep<'s>(
    setting: &'s Setting,
    hidden: Vec<Hidden>,
    traps: Traps,
    choice: &'s dyn Fn(&str) -> f64,
) -> Parked<'s> {
    let mut parked = Parked::new(setting, hidden, traps, choice);
    parked.act(&Act::Prepared).unwrap();
    parked.settle();
    parked
}

fn takes(setting: &Setting, id: &str, ma: f64) -> Vec<Hidden> {
    vec![Hidden {
        drain: Drain::Takes(part(setting, id), Milliamps::of(ma)),
        lost_by_break: false,
    }]
}

/// The number in front of a unit.
fn shown(text: &str, unit: &str) -> f64 {
    let number = text.split(unit).next().unwrap();
    number.parse().unwrap_or_else(|_| panic!("{text}"))
}

/// V = R I (Ohm) with the current of the branch, which is the sum of those below it (Kirchhoff).
#[test]
fn readings_are_those_of_the_circuit_to_the_last_digit() {
    let mut read = 0;
    for name in ["teaching-board", "hatchback", "pickup", "coach"] {
        let setting = exact(name);
        let feeds = &setting.feeds;
        for number in 0..4 {
            let chance = Chance(number);
            let choice = |question: &str| chance.at(question);
            let mut parked = asleep(
                &setting,
                vec![pick(&setting, chance)],
                Traps::default(),
                &choice,
            );
            let current = parked.currents();
            for p in feeds.parts() {
                let below: f64 = feeds.children(p).map(|c| current[c.index()]).sum();
                assert!(
                    current[p.index()] - below > -1e-9,
                    "{name}: {}",
                    feeds.id(p)
                );
                let point = Point::Part(p);
                if offered(feeds, p).contains(&Method::Drop) {
                    let text = parked.read(Method::Drop, &point, None).unwrap().0;
                    let volts = current[p.index()] * parked.milliohms(p).unwrap() / 1000.0;
                    let off = (shown(&text, "mV") - volts).abs();
                    assert!(
                        off <= 0.005 + 1e-9,
                        "{name} {}: {text} for {volts}",
                        feeds.id(p)
                    );
                    read += 1;
                }
                if offered(feeds, p).contains(&Method::Clamp) {
                    let way = Some(Way::Clamp { turns: 1 });
                    let text = parked.read(Method::Clamp, &point, way).unwrap().0;
                    let off = (shown(&text, "mA") - current[p.index()]).abs();
                    assert!(off <= 0.05 + 1e-9, "{name} {}: {text}", feeds.id(p));
                }
            }
            let way = Some(Way::Series(Jack::MilliA));
            let total = parked.read(Method::Draw, &Point::Battery, way).unwrap().0;
            assert!(
                (shown(&total, "mA") - current[0]).abs() <= 0.05 + 1e-9,
                "{total}"
            );
        }
    }
    assert!(read > 200, "{read}");
}

#[test]
fn each_trap_spoils_what_it_spoils_at_a_vehicle() {
    let setting = exact("teaching-board");
    let choice = |_: &str| 0.5;
    let draw = |traps: Traps, jack: Jack| {
        let mut parked = asleep(
            &setting,
            takes(&setting, "boot lamp", 400.0),
            traps,
            &choice,
        );
        let way = Some(Way::Series(jack));
        let (text, happened) = parked.read(Method::Draw, &Point::Battery, way).unwrap();
        let unit = if jack == Jack::A { "A" } else { "mA" };
        let factor = if jack == Jack::A { 1000.0 } else { 1.0 };
        (factor * shown(&text, unit), happened, parked)
    };
    let (sound, _, _) = draw(Traps::default(), Jack::A);
    assert!(sound > 400.0, "{sound}");
    // A bridge of a hundredth of the meter's burden takes nearly all of the current past it.
    let bridged = Traps {
        bridge_on: true,
        ..Traps::default()
    };
    assert!((draw(bridged, Jack::MilliA).0 - sound / 100.0).abs() < 0.2);
    let reversed = Traps {
        leads_round: true,
        ..Traps::default()
    };
    assert!((draw(reversed, Jack::A).0 + sound).abs() < 1.5);
    let blown = Traps {
        blown_fuse: true,
        ..Traps::default()
    };
    assert!(draw(blown, Jack::MilliA).0.abs() < 1e-9);
    assert!(
        (draw(blown, Jack::A).0 - sound).abs() < 1e-9,
        "the other jack has a fuse of its own"
    );
    for traps in [bridged, reversed, blown] {
        let (_, _, mut parked) = draw(traps, Jack::A);
        assert_eq!(parked.check_set_up(), Happened::PutRight);
        assert_eq!(parked.check_set_up(), Happened::SetUpSound);
    }
}

#[test]
fn more_than_a_jack_takes_blows_its_fuse() {
    let setting = sample("teaching-board");
    let choice = |_: &str| 0.5;
    let mut parked = asleep(
        &setting,
        takes(&setting, "blower", 900.0),
        Traps::default(),
        &choice,
    );
    let way = Some(Way::Series(Jack::MilliA));
    let (text, happened) = parked.read(Method::Draw, &Point::Battery, way).unwrap();
    assert_eq!(happened, [Happened::FuseWent]);
    assert!(text.starts_with("0.0mA"), "{text}");
}

#[test]
fn a_clamp_drifts_until_it_is_zeroed_and_telematics_call_home() {
    let setting = exact("large-van");
    let choice = |_: &str| 0.5;
    let drift = Traps {
        drift: true,
        ..Traps::default()
    };
    let mut parked = asleep(&setting, Vec::new(), drift, &choice);
    let clamp = Some(Way::Clamp { turns: 1 });
    let read = |parked: &mut Parked<'_>| {
        shown(
            &parked.read(Method::Draw, &Point::Battery, clamp).unwrap().0,
            "mA",
        )
    };
    let true_draw = parked.currents()[0];
    assert!(
        read(&mut parked) - true_draw > 1.0,
        "it has drifted through the settle"
    );
    let reading =
        halfsplit::journal::read_quantity("0.0mA", halfsplit::measurement::Unit::Milliamps);
    parked.act(&Act::Zero(reading.ok())).unwrap();
    assert!((read(&mut parked) - true_draw).abs() <= 0.06);
    let bursts = Traps {
        bursts: true,
        ..Traps::default()
    };
    let mut parked = asleep(&setting, Vec::new(), bursts, &choice);
    let mut draws = Vec::new();
    for _ in 0..400 {
        parked.pass(0.05);
        draws.push(parked.currents()[0]);
    }
    let (low, high) = draws
        .iter()
        .fold((f64::MAX, 0.0_f64), |(l, h), d| (l.min(*d), h.max(*d)));
    let up = draws.iter().filter(|d| **d > low + 1.0).count();
    assert!(high - low >= 159.0, "{low} {high}");
    // 45 s of every 10 min, in 20 min of twentieths.
    assert!((28..=32).contains(&up), "{up}");
}

#[test]
fn partners_retry_a_module_that_is_gone_and_then_sleep() {
    let setting = exact("hatchback");
    let choice = |_: &str| 0.999;
    let plug = |id: &str| Point::Part(part(&setting, id));
    let retries = Traps {
        retries: true,
        ..Traps::default()
    };
    let settle = setting.feeds.settle().value();
    let waited = |traps: Traps, minutes: f64| {
        let mut parked = asleep(&setting, Vec::new(), traps, &choice);
        let before = parked.currents()[0];
        parked
            .act(&Act::Unplug(vec![plug("radio memory feed")]))
            .unwrap();
        parked.pass(minutes);
        (parked.currents()[0] - before, parked.is_asleep())
    };
    let (more, slept) = waited(retries, 1.2 * settle);
    assert!(more > 100.0 && !slept, "they still call: {more}");
    let (more, slept) = waited(retries, 1.6 * settle);
    assert!(more <= 0.0 && slept, "they have given up: {more}");
    let (more, slept) = waited(Traps::default(), 1.2 * settle);
    assert!(
        more <= 0.0 && slept,
        "without the trap nobody calls: {more}"
    );
}

#[test]
fn a_blown_fuse_is_dead_below_and_has_the_supply_across_it() {
    let setting = exact("teaching-board");
    let choice = |_: &str| 0.5;
    let fuse = part(&setting, "F4");
    let parked = Parked::new(
        &setting,
        takes(&setting, "door module feed 2", 200.0),
        Traps::default(),
        &choice,
    );
    let mut parked = parked.with_blown(&[fuse]);
    parked.settle();
    let current = parked.currents();
    let below = setting.feeds.subtree(fuse).map(PartId);
    assert!(below.into_iter().all(|p| current[p.index()].abs() < 1e-12));
    let volts = |parked: &mut Parked<'_>, id: &str| {
        let point = Point::Part(part(&setting, id));
        shown(&parked.read(Method::Volts, &point, None).unwrap().0, "V")
    };
    assert!(volts(&mut parked, "F4").abs() < 1e-9 && volts(&mut parked, "F1") > 12.0);
    let across = parked
        .read(Method::Drop, &Point::Part(fuse), None)
        .unwrap()
        .0;
    assert!(
        across.ends_with('V') && !across.ends_with("mV") && shown(&across, "V") > 12.0,
        "{across}"
    );
}

/// What stands for contacts, splices and plugs in the netlists, in mΩ (as in the referee's others).
const CONTACT: f64 = 0.8;

/// A name, a vehicle, what is hidden in it and what is out.
type Sample<'s> = (
    &'static str,
    &'s Setting,
    Vec<Hidden>,
    &'static [&'static str],
);

/// Sample faults of every kind, each with what is out.
fn refereed(settings: &[Setting; 3]) -> Vec<Sample<'_>> {
    let [board, hatchback, pickup] = settings;
    let hidden = |drain: Drain| {
        vec![Hidden {
            drain,
            lost_by_break: false,
        }]
    };
    let held = |setting: &Setting, name: &str| match setting.feeds.find(name) {
        Some(halfsplit::feeds::Named::Module(module)) => hidden(Drain::HeldBy(*module)),
        other => panic!("{name} is {other:?}"),
    };
    let contact = Drain::Contact(part(board, "K1"), Milliamps::of(620.0));
    let lamp = takes(hatchback, "boot lamp", 410.0);
    let two = [lamp, takes(hatchback, "fuel pump", 95.0)].concat();
    vec![
        ("board-contact", board, hidden(contact), &[]),
        ("board-held", board, held(board, "door module"), &["F3"]),
        (
            "board-coil",
            board,
            hidden(Drain::CoilHeld(part(board, "K1 coil"))),
            &[],
        ),
        (
            "hatchback-held",
            hatchback,
            held(hatchback, "cluster"),
            &["F22"],
        ),
        ("hatchback-two", hatchback, two, &[]),
        (
            "pickup-alternator",
            pickup,
            takes(pickup, "alternator", 340.0),
            &["F2"],
        ),
    ]
}

/// The simulated vehicle as a circuit: its own resistances, and a current source for each load.
fn circuit(name: &str, parked: &Parked<'_>, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let (current, out) = (parked.currents(), parked.out());
    let fed = |p: PartId| feeds.path(p).iter().all(|q| !out.contains(q));
    let mut text = format!("* {name}: invented, the simulated vehicle of the drill\n");
    for p in feeds.parts().filter(|p| fed(*p)) {
        let at = p.index();
        let below: f64 = feeds.children(p).map(|c| current[c.index()]).sum();
        let own = current[at] - below;
        let _ = match feeds.up(p) {
            None => writeln!(text, "V{at} n{at} 0 12.48"),
            Some(up) => {
                let ohms = parked.milliohms(p).unwrap_or(CONTACT) / 1000.0;
                writeln!(text, "R{at} n{} n{at} {ohms:.12e}", up.index())
            }
        };
        if own > 1e-9 {
            let _ = writeln!(text, "I{at} n{at} 0 {:.12e}", own / 1000.0);
        }
    }
    text.push_str(".control\nset numdgt=15\nop\nprint allv\nquit\n.endc\n.end\n");
    text
}

/// The drops that the simulated vehicle's meter shows are those between the nodes that a circuit
/// simulator finds: for each kind of fault, also with a fuse out. `tests/referee/make` makes its values.
#[test]
fn netlists_are_of_the_simulated_vehicle_and_their_drops_are_read() {
    let settings = [exact("teaching-board"), exact("hatchback"), exact("pickup")];
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/referee/drill");
    let write = std::env::var_os("REFEREE").is_some();
    let mut read = 0;
    for (name, setting, hidden, out) in refereed(&settings) {
        let feeds = &setting.feeds;
        let choice = |question: &str| Chance(11).at(question);
        let mut parked = asleep(setting, hidden, Traps::default(), &choice);
        let points: Vec<Point> = out
            .iter()
            .map(|id| Point::Part(part(setting, id)))
            .collect();
        if !points.is_empty() {
            parked.act(&Act::Pull(points)).unwrap();
            parked.settle();
        }
        let text = circuit(name, &parked, setting);
        let file = folder.join(format!("{name}.cir"));
        if write {
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(&file, text).unwrap();
            continue;
        }
        let kept = std::fs::read_to_string(&file).unwrap_or_default();
        assert!(kept == text, "{name}: run tests/referee/make");
        let golden = std::fs::read_to_string(folder.join(format!("{name}.volts"))).unwrap();
        assert!(golden.starts_with("* ngspice-"), "{name}: no version");
        let volts = |p: PartId| -> Option<f64> {
            let node = format!("n{} = ", p.index());
            let line = golden.lines().find_map(|line| line.strip_prefix(&node))?;
            line.trim().parse().ok()
        };
        for p in feeds
            .parts()
            .filter(|p| offered(feeds, *p).contains(&Method::Drop))
        {
            let (Some(up), Some(here)) = (feeds.up(p).and_then(volts), volts(p)) else {
                continue; // it is out
            };
            let there = parked.read(Method::Drop, &Point::Part(p), None).unwrap().0;
            let off = (shown(&there, "mV") - 1000.0 * (up - here)).abs();
            assert!(
                off <= 0.005 + 1e-6,
                "{name} {}: {there}, {up} {here}",
                feeds.id(p)
            );
            read += 1;
        }
    }
    assert!(write || read > 80, "{read}");
}
