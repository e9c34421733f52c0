//! The simulated vehicle obeys Ohm and Kirchhoff before the instrument's error, and each trap does what
//! it does at a vehicle.

use crate::driver::{part, sample};
use halfsplit::case::Setting;
use halfsplit::drill::{Chance, pick};
use halfsplit::feeds::{Feeds, PartId, load};
use halfsplit::instruments::{Clamp, Instruments, Meter, Range};
use halfsplit::journal::{Act, Point};
use halfsplit::measurement::{Jack, Method, Reading, Unit, Way, current_by, offered};
use halfsplit::quantity::{Milliamps, Milliohms, Millivolts, Quantity};
use halfsplit::simulation::{
    Drain, Happened, Hidden, Parked, Traps, is_plain_resistance, shown as on_display,
};
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

/// The same where the mA jack takes its part of the supply.
fn with_burden(name: &str) -> Setting {
    let mut setting = exact(name);
    let meter = setting.instruments.meter.as_mut();
    let range = meter.and_then(|meter| meter.milliamps.as_mut()).unwrap();
    range.burden = Some(Milliohms::of(BURDEN));
    setting
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

/// A meter of so many Ω in a circuit of one plain resistance: 10 V, 10 Ω and 0.5 Ω give 0.952381 A (GW
/// Instek GDM-9060 manual, p. 77); 0.01 Ω in 1 Ω take 1 % off (Sefram 7314 manual). Here the same
/// proportions: a lamp of 12.48 V through a jack of a twentieth, and a hundredth, of its resistance.
#[test]
fn a_burden_takes_its_share_of_what_a_plain_resistance_draws_and_none_of_a_module() {
    for (share, of_it) in [(0.05, 0.952_381), (0.01, 0.990_099)] {
        let through = |id: &str, fuse: &str| {
            let mut setting = exact("teaching-board");
            let lamp_ohms = RESTED / 0.4; // 400 mA
            let meter = setting.instruments.meter.as_mut();
            let range = meter.and_then(|meter| meter.milliamps.as_mut()).unwrap();
            range.burden = Some(Milliohms::of(1000.0 * lamp_ohms * share));
            let choice = |_: &str| 0.0;
            let mut parked = asleep(
                &setting,
                takes(&setting, id, 400.0),
                Traps::default(),
                &choice,
            );
            let all = parked.currents();
            let fuse = part(&setting, fuse);
            let way = Some(Way::Series(Jack::MilliA));
            let text = parked.read(Method::Series, &Point::Part(fuse), way);
            (shown(&text.unwrap().0, "mA"), all[fuse.index()])
        };
        let (read, flows) = through("boot lamp", "F2");
        // Beside the lamp the radio takes a few mA.
        assert!((read - of_it * flows).abs() <= 0.3, "{read} of {flows}");
        let (read, flows) = through("siren", "F3");
        assert!((read - flows).abs() <= 0.05 + 1e-9, "{read} of {flows}");
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

/// Volts of the rested battery of the simulated vehicle.
const RESTED: f64 = 12.48;
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

/// The burden of the plain meter's mA jack, in mΩ.
const BURDEN: f64 = 1800.0;

/// The simulated vehicle as a circuit: its own resistances, a resistance for each load that is one and a
/// current source for each other, then the same with the mA jack in the negative lead and in the place of
/// each fuse.
fn circuit(name: &str, parked: &Parked<'_>, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let (current, out) = (parked.currents(), parked.out());
    let fed = |p: PartId| feeds.path(p).iter().all(|q| !out.contains(q));
    let ohms = |p: PartId| parked.milliohms(p).unwrap_or(CONTACT) / 1000.0;
    let mut text = format!("* {name}: invented, the simulated vehicle of the drill\n");
    for p in feeds.parts().filter(|p| fed(*p)) {
        let at = p.index();
        let below: f64 = feeds.children(p).map(|c| current[c.index()]).sum();
        let own = current[at] - below;
        let _ = match feeds.up(p) {
            None => writeln!(text, "V{at} post 0 {RESTED}\nR{at} post n{at} 1e-9"),
            Some(up) => writeln!(text, "R{at} n{} n{at} {:.12e}", up.index(), ohms(p)),
        };
        if own > 1e-9 && is_plain_resistance(feeds, p) {
            // What is lost on the way there is a part of it.
            let lost: f64 = feeds.path(p)[1..]
                .iter()
                .map(|q| current[q.index()] / 1000.0 * ohms(*q))
                .sum();
            let _ = writeln!(
                text,
                "RL{at} n{at} 0 {:.12e}",
                1000.0 * (RESTED - lost) / own
            );
        } else if own > 1e-9 {
            let _ = writeln!(text, "I{at} n{at} 0 {:.12e}", own / 1000.0);
        }
    }
    text.push_str(".control\nset numdgt=15\nop\nprint allv\n");
    for p in in_line(feeds).filter(|p| fed(*p)) {
        let at = p.index();
        let was = feeds.up(p).map_or(1e-9, |_| ohms(p));
        let _ = writeln!(
            text,
            "alter r{at} = {:.12e}\nop\nlet ser{at} = @r{at}[i]\nprint ser{at}\nalter r{at} = {was:.12e}",
            BURDEN / 1000.0
        );
    }
    text.push_str("quit\n.endc\n.end\n");
    text
}

/// Where a meter may stand in line: the negative lead, and in the place of each fuse.
fn in_line(feeds: &Feeds) -> impl Iterator<Item = PartId> + '_ {
    let fuse = |p: &PartId| offered(feeds, *p).contains(&Method::Series);
    std::iter::once(PartId(0)).chain(feeds.parts().filter(|p| *p != PartId(0)).filter(fuse))
}

/// The drops that the simulated vehicle's meter shows are those between the nodes that a circuit
/// simulator finds: for each kind of fault, also with a fuse out. `tests/referee/make` makes its values.
#[test]
fn netlists_are_of_the_simulated_vehicle_and_their_drops_are_read() {
    let settings = [
        with_burden("teaching-board"),
        with_burden("hatchback"),
        with_burden("pickup"),
    ];
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/referee/drill");
    let write = std::env::var_os("REFEREE").is_some();
    let (mut read, mut in_series) = (0, 0);
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
        in_series += series_reads_what_flows_there(&parked, setting, &golden);
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
    assert!(write || read > 80 && in_series > 60, "{read} {in_series}");
}

/// The mA jack shows what the circuit simulator finds with its burden in the circuit; how often it was read.
fn series_reads_what_flows_there(parked: &Parked<'_>, setting: &Setting, golden: &str) -> u32 {
    let mut read = 0;
    for p in in_line(&setting.feeds) {
        let name = format!("ser{} = ", p.index());
        let found = golden.lines().find_map(|line| line.strip_prefix(&name));
        let Some(found) = found else { continue };
        let through = 1000.0 * found.trim().parse::<f64>().unwrap();
        // Read on a copy: it stands in line there alone.
        let mut parked = parked.clone();
        let (method, point) = if p == PartId(0) {
            (Method::Draw, Point::Battery)
        } else {
            (Method::Series, Point::Part(p))
        };
        let way = Some(Way::Series(Jack::MilliA));
        let there = parked.read(method, &point, way).unwrap().0;
        let off = (shown(&there, "mA") - through).abs();
        // Fuses and wires have their part in the circuit too.
        let room = 0.05 + 1e-6 + 2e-4 * through;
        assert!(
            off <= room,
            "{}: {there}, not {through}",
            setting.feeds.id(p)
        );
        // And with a meter that errs, what is said of its display holds what flows.
        let meter = Instruments::assumed_meter();
        for place in [-1.0, -0.3, 0.0, 0.6, 1.0] {
            let display = on_display(through, 0.1, 0.5, 2.0, place);
            let reading = Reading {
                low: display,
                high: display,
                unit: Unit::Milliamps,
                step: 0.1,
                over: false,
            };
            let said = current_by(Way::Series(Jack::MilliA), reading, &meter).unwrap();
            let holds = said.widened(1e-6).holds(Milliamps::of(through));
            assert!(holds, "{said:?} {through}");
        }
        read += 1;
    }
    read
}
