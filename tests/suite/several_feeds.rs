//! A drain at one of a module's several feeds: the module out names nobody, the feed alone does.

use crate::driver::loads;
use crate::hidden::must_confirm;
use halfsplit::case::Setting;
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;

/// Two modules with several feeds each on one network, lamps beside them; a third module of which no
/// feed is entered.
const VEHICLE: &str = r#"Vehicle(format: 1, name: "Modules with several feeds (invented)", year: 2018, limit: mA(50), settle: minutes(20),
    places: {"box": Place(reach: minutes(1)), "dash": Place(reach: minutes(5)), "boot": Place(reach: minutes(4))},
    networks: {"body network": Network()},
    modules: {
        "door module": Module(network: "body network", awake: mA(150)),
        "seat module": Module(network: "body network", awake: mA(300)),
        "forgotten module": Module(network: "body network", awake: mA(80)),
    },
    battery: Battery(id: "battery", at: "box", volts: V(12), feeds: [
        Fuse(id: "F1", rating: A(30), style: Regular, at: "box", feeds: [
            Load(id: "door feed 1", of: "door module", plug: "C1", at: "dash", asleep: mA(1), at_most: mA(2)),
            Load(id: "lamp 1", kind: Lamp, plug: "C2", at: "dash")]),
        Fuse(id: "F2", rating: A(30), style: Regular, at: "box", feeds: [
            Load(id: "door feed 2", of: "door module", plug: "C3", at: "dash", asleep: mA(1), at_most: mA(2)),
            Load(id: "seat feed 1", of: "seat module", plug: "C4", at: "boot", asleep: mA(1), at_most: mA(2))]),
        Fuse(id: "F3", rating: A(30), style: Regular, at: "box", feeds: [
            Load(id: "door feed 3", of: "door module", plug: "C5", at: "dash", asleep: mA(1), at_most: mA(2)),
            Load(id: "seat feed 2", of: "seat module", plug: "C6", at: "boot", asleep: mA(1), at_most: mA(2)),
            Load(id: "lamp 2", kind: Lamp, plug: "C7", at: "boot")]),
        Fuse(id: "F4", rating: A(15), style: Regular, at: "box", feeds: [
            Load(id: "radio", kind: Audio, plug: "C8", at: "dash", asleep: mA(1), at_most: mA(2))]),
    ]))"#;

fn setting() -> Setting {
    Setting::new(
        load(VEHICLE).0.expect("a tree"),
        Instruments::assumed_meter(),
    )
}

/// The drains are proven, and what has no feed in the file, so no plug and no place, was left alone.
fn must_confirm_without_the_forgotten(setting: &Setting, drains: Vec<Drain>, seed: usize) {
    let outcome = must_confirm(setting, drains, seed as u64);
    let touched = |entry: &&String| entry.contains("forgotten module");
    assert_eq!(outcome.entries.iter().find(touched), None);
}

#[test]
fn each_feed_is_proven_alone() {
    let setting = setting();
    for (seed, load) in loads(&setting.feeds).into_iter().enumerate() {
        // Just over the limit, where one reading of 0.1 mV decides little, and far above it.
        for takes in [90.0, 600.0] {
            let drains = vec![Drain::Takes(load, Milliamps::of(takes))];
            must_confirm_without_the_forgotten(&setting, drains, seed);
        }
    }
}

#[test]
fn feeds_of_two_modules_are_both_proven() {
    let setting = setting();
    let feeds: Vec<_> = loads(&setting.feeds)
        .into_iter()
        .filter(|load| setting.feeds.module_of(*load).is_some())
        .collect();
    for (seed, first) in feeds.iter().enumerate() {
        for second in &feeds[seed + 1..] {
            if setting.feeds.module_of(*first) == setting.feeds.module_of(*second) {
                continue;
            }
            let takes = |load, by| Drain::Takes(load, Milliamps::of(by));
            let drains = vec![takes(*first, 620.0), takes(*second, 250.0)];
            must_confirm_without_the_forgotten(&setting, drains, seed);
        }
    }
}
