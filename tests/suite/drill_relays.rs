//! Relays, control wires and inputs of the simulated vehicle, as a tradesman would find them.

use crate::driver::{part, sample};
use halfsplit::case::Setting;
use halfsplit::drill::Chance;
use halfsplit::journal::{Act, Point};
use halfsplit::measurement::Method;
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::{Drain, Hidden, Parked, Traps};

fn parked<'s>(setting: &'s Setting, drain: Drain, choice: &'s dyn Fn(&str) -> f64) -> Parked<'s> {
    let hidden = vec![Hidden {
        drain,
        lost_by_break: false,
    }];
    let mut parked = Parked::new(setting, hidden, Traps::default(), choice);
    parked.act(&Act::Prepared).unwrap();
    parked.settle();
    parked
}

fn reads(parked: &mut Parked<'_>, method: Method, point: &Point) -> String {
    parked.read(method, point, None).unwrap().0
}

/// What is hidden, what is done, and what is then read at a relay: volts behind it, look at it, and
/// whether the draw is above 100 mA.
#[test]
fn a_contact_passes_current_only_where_it_is_closed() {
    let setting = sample("teaching-board");
    let choice = |question: &str| Chance(3).at(question);
    let at = |id: &str| part(&setting, id);
    let (coil, contact) = (at("K1 coil"), at("K1"));
    let ma = Milliamps::of;
    let take_out = |id: &str| Some(Act::Unplug(vec![Point::Part(at(id))]));
    let table = [
        (
            Drain::Takes(at("boot lamp"), ma(400.0)),
            None,
            "0.0V",
            "cold",
            true,
        ),
        // Held on by the door module, and let go when that is unplugged (C4 holds both its feeds).
        (Drain::CoilHeld(coil), None, "12.5V", "warm", true),
        (
            Drain::CoilHeld(coil),
            take_out("door module feed 1"),
            "0.0V",
            "cold",
            false,
        ),
        // Its control wire touches earth: nothing at the module lets it go.
        (Drain::WireShorted(coil), None, "12.5V", "warm", true),
        (
            Drain::WireShorted(coil),
            take_out("door module feed 1"),
            "12.5V",
            "warm",
            true,
        ),
        // A welded contact: live behind it, and cold.
        (
            Drain::Contact(contact, ma(500.0)),
            None,
            "12.5V",
            "cold",
            true,
        ),
        (
            Drain::Takes(at("rear window heater"), ma(500.0)),
            None,
            "12.5V",
            "cold",
            true,
        ),
    ];
    for (drain, act, volts, look, draws) in table {
        let mut parked = parked(&setting, drain.clone(), &choice);
        if let Some(act) = &act {
            parked.act(act).unwrap();
            parked.settle();
        }
        let relay = || Point::Part(contact);
        assert_eq!(
            reads(&mut parked, Method::Volts, &relay()),
            volts,
            "{drain:?} {act:?}"
        );
        assert_eq!(
            reads(&mut parked, Method::Look, &relay()),
            look,
            "{drain:?} {act:?}"
        );
        let current = parked.currents()[0];
        assert_eq!(current > 100.0, draws, "{drain:?} {act:?}: {current}");
    }
}

/// Behind an ignition relay at rest nothing is live, also where a network is held awake.
#[test]
fn a_network_held_awake_draws_nothing_through_an_open_relay() {
    let setting = sample("hatchback");
    let feeds = &setting.feeds;
    let choice = |question: &str| Chance(10).at(question);
    let Some(halfsplit::feeds::Named::Module(cluster)) = feeds.find("cluster") else {
        panic!("no cluster");
    };
    let mut parked = parked(&setting, Drain::HeldBy(*cluster), &choice);
    let current = parked.currents();
    let behind = feeds
        .subtree(part(&setting, "K12"))
        .map(halfsplit::feeds::PartId);
    assert!(behind.into_iter().all(|p| current[p.index()].abs() < 1e-12));
    assert!(current[part(&setting, "F23").index()] > 50.0);
    let network = || Point::Network(feeds.network_of(*cluster).unwrap());
    assert_eq!(reads(&mut parked, Method::Look, &network()), "busy");
    // Its memory feed out it is gone, and the others sleep.
    parked
        .act(&Act::Pull(vec![Point::Part(part(&setting, "F23"))]))
        .unwrap();
    parked.settle();
    assert_eq!(reads(&mut parked, Method::Look, &network()), "silent");
    assert!(parked.currents()[0] < 50.0);
}

/// A latch that says open keeps awake whoever reads it, and all of its network, until that is gone.
#[test]
fn an_input_holds_awake_whoever_reads_it() {
    for (name, latch, reader, size) in [
        ("teaching-board", "door switch", "door module feed 1", 190.0),
        ("hatchback", "driver door latch", "body feed 1", 1000.0),
    ] {
        let setting = sample(name);
        let choice = |question: &str| Chance(5).at(question);
        let mut parked = parked(&setting, Drain::Input(latch.to_owned()), &choice);
        assert!(
            parked.currents()[0] > size,
            "{name}: {}",
            parked.currents()[0]
        );
        let input = || Point::Input(latch.to_owned());
        assert_eq!(reads(&mut parked, Method::Look, &input()), "on", "{name}");
        let module = setting.feeds.module_of(part(&setting, reader)).unwrap();
        let feeds = setting.feeds.module_feeds(module).iter();
        let plugs = feeds.map(|feed| Point::Part(*feed)).collect();
        parked.act(&Act::Unplug(plugs)).unwrap();
        parked.settle();
        assert!(parked.currents()[0] < 50.0, "{name}");
    }
}
