//! Drains of every kind hidden in many vehicles: each must be proven, and nobody else.

use crate::driver::{Driver, Manner, Outcome, as_hidden, loads, part, sample, setting_for};
use crate::generated::Dice;
use halfsplit::case::{Case, Setting, State};
use halfsplit::feeds::{PartId, load};
use halfsplit::instruments::Instruments;
use halfsplit::measurement::{Method, Need, offered};
use halfsplit::planner::Habit;
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;
use halfsplit::vehicle::{PartKind, Rest};

/// Runs one hidden set of drains and demands that exactly it is proven.
pub(crate) fn must_confirm(setting: &Setting, drains: Vec<Drain>, seed: u64) -> Outcome {
    let mut hidden: Vec<String> = drains
        .iter()
        .map(|d| match d {
            Drain::Takes(p, _)
            | Drain::CoilHeld(p)
            | Drain::WireShorted(p)
            | Drain::Contact(p, _) => setting.feeds.id(*p).to_owned(),
            Drain::HeldBy(m) => setting.feeds.module(*m).id.value.clone(),
            Drain::Input(name) => name.clone(),
        })
        .collect();
    hidden.sort();
    let outcome = Driver::new(setting, drains, seed).run();
    let mut found: Vec<String> = as_hidden(setting, &outcome.found, &hidden);
    found.sort();
    assert_eq!(
        outcome.state,
        State::Confirmed,
        "hidden {hidden:?} {:#?}",
        outcome.log
    );
    assert_eq!(found, hidden, "{:#?}", outcome.log);
    outcome
}

/// How many tests a run takes, by its own counts.
#[derive(Debug, Default)]
struct Tally {
    runs: usize,
    steps: usize,
    minutes: f64,
}

impl Tally {
    fn add(&mut self, outcome: &Outcome) {
        self.runs += 1;
        self.steps += outcome.steps;
        self.minutes += outcome.minutes;
    }
}

/// A generated vehicle of a size in this range, with loads that draw.
fn with_drains(
    seed: u64,
    sizes: (usize, usize),
    drains: usize,
    modules: bool,
    clamp: bool,
) -> (Setting, Vec<Drain>) {
    let mut dice = Dice(seed ^ 0x4d);
    let size = sizes.0 + dice.below(sizes.1 - sizes.0);
    let setting = setting_for(seed, size, modules, clamp);
    let loads = loads(&setting.feeds);
    let mut hidden: Vec<PartId> = Vec::new();
    while hidden.len() < drains {
        let load = *dice.one_of(&loads);
        // Two loads that draw behind one contact that should be open are one fault, the contact.
        let contact = |p: PartId| {
            let rests = |p: &PartId| setting.feeds.part(*p).rest == Some(Rest::Open);
            setting.feeds.path(p).into_iter().find(rests)
        };
        let shared = |p: &PartId| contact(*p).is_some() && contact(*p) == contact(load);
        if !hidden.contains(&load) && !hidden.iter().any(shared) {
            hidden.push(load);
        }
    }
    let drains = hidden
        .into_iter()
        .map(|load| Drain::Takes(load, Milliamps::of(dice.between(80.0, 1200.0))))
        .collect();
    (setting, drains)
}

/// One or two drains hidden in vehicles of that size.
fn sweep(
    seeds: std::ops::Range<u64>,
    sizes: (usize, usize),
    drains: usize,
    modules: bool,
    clamp: bool,
) {
    let mut tally = Tally::default();
    for seed in seeds {
        let (setting, drains) = with_drains(seed, sizes, drains, modules, clamp);
        tally.add(&must_confirm(&setting, drains, seed));
    }
    assert!(
        tally.steps > 4 * tally.runs && tally.minutes > 0.0,
        "{tally:?}"
    );
}

#[test]
fn one_drain_in_plain_vehicles_is_always_proven() {
    sweep(0..20, (20, 80), 1, false, false);
    sweep(20..30, (20, 80), 1, false, true);
}

#[test]
fn two_drains_are_both_proven() {
    sweep(100..115, (20, 80), 2, false, false);
    sweep(115..125, (20, 80), 2, false, true);
}

#[test]
fn drains_among_networked_modules_are_proven() {
    sweep(200..215, (20, 80), 1, true, false);
    sweep(215..225, (20, 80), 2, true, true);
}

#[test]
fn drains_in_large_vehicles_are_proven() {
    sweep(300..303, (200, 600), 1, true, false);
    sweep(303..306, (200, 600), 2, true, true);
}

#[test]
fn every_load_of_a_small_sample_that_can_be_taken_out_is_proven() {
    for name in ["quarto-van", "teaching-board"] {
        let setting = sample(name);
        for load in loads(&setting.feeds) {
            if offered(&setting.feeds, load).contains(&Method::Unplug) {
                must_confirm(&setting, vec![Drain::Takes(load, Milliamps::of(600.0))], 5);
            }
        }
    }
}

#[test]
fn causes_beside_loads_are_proven() {
    let setting = sample("quarto-van");
    let at = |id| part(&setting, id);
    // What is hidden, and what must be found.
    let table = [
        (Drain::CoilHeld(at("K4 coil")), "K4 coil"),
        (
            Drain::Takes(at("F7"), Milliamps::of(300.0)),
            "unlisted at F7",
        ),
        // Behind the contact there is one load, but volts there showed that the contact is closed.
        (Drain::Contact(at("K4"), Milliamps::of(900.0)), "K4"),
    ];
    for (drain, found) in table {
        let outcome = Driver::new(&setting, vec![drain], 3).run();
        assert_eq!(outcome.state, State::Confirmed, "{:#?}", outcome.log);
        assert_eq!(outcome.found, [found], "{:#?}", outcome.log);
    }
}

/// Three modules on one network, each behind its own fuse.
const NETWORKED: &str = r#"Vehicle(format: 1, name: "Three modules (invented)", year: 2018, limit: mA(50), settle: minutes(20),
    places: {"box": Place(reach: minutes(1)), "dash": Place(reach: minutes(5))},
    networks: {"body network": Network()},
    modules: {
        "door module": Module(network: "body network", awake: mA(120)),
        "seat module": Module(network: "body network", awake: mA(200)),
        "tail module": Module(network: "body network", awake: mA(300)),
    },
    battery: Battery(id: "battery", at: "box", volts: V(12), feeds: [
        Fuse(id: "F1", rating: A(5), style: Regular, at: "box", feeds: [
            Load(id: "door feed", of: "door module", plug: "C1", at: "dash", asleep: mA(1), at_most: mA(2))]),
        Fuse(id: "F2", rating: A(5), style: Regular, at: "box", feeds: [
            Load(id: "seat feed", of: "seat module", plug: "C2", at: "dash", asleep: mA(1), at_most: mA(2))]),
        Fuse(id: "F3", rating: A(5), style: Regular, at: "box", feeds: [
            Load(id: "tail feed", of: "tail module", plug: "C3", at: "dash", asleep: mA(1), at_most: mA(2))]),
        Fuse(id: "F4", rating: A(10), style: Regular, at: "box", feeds: [
            Load(id: "radio", kind: Audio, plug: "C4", at: "dash", asleep: mA(1), at_most: mA(2))]),
    ]))"#;

#[test]
fn what_holds_its_partners_awake_is_proven_and_not_what_it_keeps_up() {
    let setting = Setting::new(
        load(NETWORKED).0.expect("a tree"),
        Instruments::assumed_meter(),
    );
    for module in setting.feeds.modules() {
        for seed in 0..6 {
            must_confirm(&setting, vec![Drain::HeldBy(module)], seed);
        }
    }
}

#[test]
fn partners_that_draw_by_themselves_are_both_proven() {
    let setting = Setting::new(
        load(NETWORKED).0.expect("a tree"),
        Instruments::assumed_meter(),
    );
    for (one, two) in [("door feed", "seat feed"), ("tail feed", "door feed")] {
        let takes = |id, ma| Drain::Takes(part(&setting, id), Milliamps::of(ma));
        must_confirm(&setting, vec![takes(one, 300.0), takes(two, 420.0)], 4);
    }
}

/// Many more vehicles than a test run has time for: `cargo test --release wide -- --ignored --nocapture`.
/// Minutes and steps of the same hidden drains, searched as the tool says and as a habit would.
fn beside(seed: u64, habit: Habit) -> [Outcome; 2] {
    let (drains, modules, clamp) = (1 + usize::from(seed % 3 == 2), seed % 2 == 1, seed % 4 > 1);
    let (setting, drains) = with_drains(seed, (20, 120), drains, modules, clamp);
    let habitual = Driver::new(&setting, drains.clone(), seed).run_as(Manner::ByHabit(habit));
    assert_eq!(habitual.state, State::Confirmed, "{:#?}", habitual.log);
    [must_confirm(&setting, drains, seed), habitual]
}

/// The measure is the project's own: pairs of suspects parted per minute, without looking ahead. A
/// single run may go either way; over the 60 runs of `habits_sweep` the tool takes less.
#[test]
fn hardly_more_minutes_go_than_by_pairs_per_minute() {
    let (mut ours, mut theirs) = (Tally::default(), Tally::default());
    for seed in 9_300..9_308 {
        let [own, habitual] = beside(seed, Habit::PairsPerMinute);
        ours.add(&own);
        theirs.add(&habitual);
    }
    assert!(ours.minutes <= 1.05 * theirs.minutes, "{ours:?} {theirs:?}");
}

/// Each run where they differ by much is printed.
#[test]
#[ignore = "takes minutes; run by hand"]
#[allow(clippy::print_stdout)]
fn habits_sweep() {
    let (first, count) = (number("FIRST", 9_400), number("COUNT", 60));
    for habit in Habit::ALL.into_iter().rev() {
        let (mut ours, mut theirs) = (Tally::default(), Tally::default());
        for seed in first..first + count {
            let [own, habitual] = beside(seed, habit);
            if (own.minutes - habitual.minutes).abs() > 8.0 {
                println!("{seed}: {} {}", own.minutes, habitual.minutes);
                if own.minutes > habitual.minutes + 12.0 {
                    println!("{:#?} {:#?}", own.log, habitual.log);
                }
            }
            ours.add(&own);
            theirs.add(&habitual);
        }
        println!("ours {ours:?}; {habit:?} {theirs:?}");
    }
}

/// A number from the environment.
fn number(name: &str, otherwise: u64) -> u64 {
    let text = std::env::var(name).ok();
    text.and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// Every failure is printed, with how long the slowest call took against the average.
#[test]
#[ignore = "takes minutes; run by hand"]
#[allow(clippy::print_stdout)]
fn wide_sweep() {
    let (first, count) = (number("FIRST", 1000), number("COUNT", 50));
    let largest = number("LARGEST", 120) as usize;
    std::panic::set_hook(Box::new(|_| {}));
    for (drains, modules, clamp) in [
        (1, false, false),
        (1, true, false),
        (1, true, true),
        (2, false, false),
        (2, true, false),
        (2, true, true),
    ] {
        let mut failures = Vec::new();
        for seed in first..first + count {
            let one = || sweep(seed..seed + 1, (20, largest), drains, modules, clamp);
            if let Err(why) = std::panic::catch_unwind(one) {
                let text = why
                    .downcast_ref::<String>()
                    .cloned()
                    .unwrap_or_else(|| "no words".to_owned());
                failures.push((seed, text));
            }
        }
        println!(
            "{drains} drains, modules {modules}, clamp {clamp}: {} of {count} failed",
            failures.len()
        );
        for (seed, text) in failures.iter().take(2) {
            println!("seed {seed}: {}", tail(text));
        }
    }
}

/// What kinds of hidden fault the sweep of causes plays.
#[derive(Clone, Copy, Debug)]
enum Kind {
    Holder,
    Coil,
    Contact,
    Splice,
    NotEntered,
}

const KINDS: [Kind; 5] = [
    Kind::Holder,
    Kind::Coil,
    Kind::Contact,
    Kind::Splice,
    Kind::NotEntered,
];

/// A fault of that kind in a vehicle, with what must be found; `None` where the vehicle has no place for it.
fn fault_of(kind: Kind, setting: &Setting, dice: &mut Dice) -> Option<(Drain, Vec<String>)> {
    let feeds = &setting.feeds;
    let id = |p: PartId| feeds.id(p).to_owned();
    let below = |p: PartId| {
        let all = feeds.subtree(p).map(PartId);
        all.filter(|l| feeds.load_kind(*l).is_some())
            .collect::<Vec<_>>()
    };
    let of_kind = |kind| {
        feeds
            .parts()
            .filter(move |p| feeds.part(*p).kind == kind)
            .collect::<Vec<_>>()
    };
    let some = |dice: &mut Dice, list: Vec<PartId>| (!list.is_empty()).then(|| *dice.one_of(&list));
    let current = Milliamps::of(dice.between(80.0, 1200.0));
    Some(match kind {
        Kind::Holder => {
            let holders: Vec<_> = feeds
                .modules()
                .filter(|m| {
                    feeds
                        .network_of(*m)
                        .is_some_and(|n| feeds.partners(n).count() > 1)
                })
                .collect();
            if holders.is_empty() {
                return None;
            }
            let module = *dice.one_of(&holders);
            (
                Drain::HeldBy(module),
                vec![feeds.module(module).id.value.clone()],
            )
        }
        Kind::Coil => {
            let coil = some(dice, of_kind(PartKind::Coil))?;
            (Drain::CoilHeld(coil), vec![id(coil)])
        }
        Kind::Contact => {
            let relay = some(dice, of_kind(PartKind::Relay))?;
            let loads = below(relay);
            // Where volts behind the contact cannot be read, or were not, its only load is what is proven.
            let alone = (loads.len() == 1).then(|| id(loads[0]));
            let found = alone.into_iter().chain([id(relay)]);
            (Drain::Contact(relay, current), found.collect())
        }
        Kind::Splice => {
            let splice = some(dice, of_kind(PartKind::Splice))?;
            // A leak in a splice and one in the fuse above it come out together.
            let fuse = feeds.up(splice).map(|up| format!("unlisted at {}", id(up)));
            (
                Drain::Takes(splice, current),
                [Some(id(splice)), fuse].into_iter().flatten().collect(),
            )
        }
        Kind::NotEntered => {
            let bare = of_kind(PartKind::Fuse)
                .into_iter()
                .filter(|f| feeds.is_leaf(*f))
                .collect();
            let fuse = some(dice, bare)?;
            (
                Drain::Takes(fuse, current),
                vec![format!("unlisted at {}", id(fuse))],
            )
        }
    })
}

/// One cause of a kind beside a load's own draw; confirmed with one of the ids that fit, nobody else.
fn cause_is_found(kind: Kind, seed: u64, clamp: bool) -> Option<Outcome> {
    let mut dice = Dice(seed ^ 0xCA);
    let setting = setting_for(seed, 20 + dice.below(80), true, clamp);
    let (drain, fits) = fault_of(kind, &setting, &mut dice)?;
    let outcome = Driver::new(&setting, vec![drain.clone()], seed).run();
    let right = outcome.state == State::Confirmed
        && outcome.found.len() == 1
        && fits.contains(&outcome.found[0]);
    assert!(right, "hidden {drain:?}, must be {fits:?}: {outcome:#?}");
    Some(outcome)
}

#[test]
fn causes_in_generated_vehicles_are_proven() {
    for kind in KINDS {
        let ran = (0..10).filter(|seed| cause_is_found(kind, *seed, seed % 2 == 0).is_some());
        assert!(ran.count() > 1, "{kind:?}");
    }
}

/// Causes beside loads in many vehicles: `cargo test --release causes_sweep -- --ignored --nocapture`.
#[test]
#[ignore = "takes minutes; run by hand"]
#[allow(clippy::print_stdout)]
fn causes_sweep() {
    std::panic::set_hook(Box::new(|_| {}));
    let (first, count) = (number("FIRST", 1000), number("COUNT", 50));
    for kind in KINDS {
        for clamp in [false, true] {
            let (mut runs, mut failures) = (0, Vec::new());
            for seed in first..first + count {
                match std::panic::catch_unwind(|| cause_is_found(kind, seed, clamp).is_some()) {
                    Ok(ran) => runs += usize::from(ran),
                    Err(why) => failures.push((
                        seed,
                        why.downcast_ref::<String>().cloned().unwrap_or_default(),
                    )),
                }
            }
            println!(
                "{kind:?}, clamp {clamp}: {} failed, {runs} right",
                failures.len()
            );
            for (seed, text) in failures.iter().take(2) {
                println!("seed {seed}: {}", tail(text));
            }
        }
    }
}

/// The end of a long text.
fn tail(text: &str) -> String {
    let lines: Vec<&str> = text.lines().collect();
    lines[lines.len().saturating_sub(120)..].join("\n")
}

/// Every load of every sample vehicle by hand: `cargo test --release samples_sweep -- --ignored --nocapture`,
/// of one vehicle with `VEHICLE=coach`, one load with `ONLY=alternator`.
#[test]
#[ignore = "takes minutes; run by hand"]
#[allow(clippy::print_stdout)]
fn samples_sweep() {
    std::panic::set_hook(Box::new(|_| {}));
    let only = std::env::var("ONLY").ok();
    let vehicle = std::env::var("VEHICLE").ok();
    for name in ["hatchback", "pickup", "coach", "large-van"] {
        if vehicle.as_deref().is_some_and(|v| v != name) {
            continue;
        }
        let setting = sample(name);
        let (mut runs, mut failures) = (0, Vec::new());
        for load in loads(&setting.feeds) {
            if only.as_deref().is_some_and(|o| o != setting.feeds.id(load)) {
                continue;
            }
            runs += 1;
            let hidden = || {
                let drain = vec![Drain::Takes(load, Milliamps::of(600.0))];
                // Loads that share a plug and a fuse fall silent together: they are named together.
                let is_fuse = |p: &PartId| setting.feeds.part(*p).kind == PartKind::Fuse;
                let fuse = |p: PartId| setting.feeds.path(p).into_iter().rev().find(is_fuse);
                let mates = setting.feeds.unplugged_with(load);
                let alone = !mates.iter().any(|m| *m != load && fuse(*m) == fuse(load));
                if alone && offered(&setting.feeds, load).contains(&Method::Unplug) {
                    must_confirm(&setting, drain, 5);
                    return;
                }
                // What cannot be taken out alone is named at best, and nobody else is convicted.
                let id = setting.feeds.id(load).to_owned();
                let outcome = Driver::new(&setting, drain, 5).run();
                let right = match outcome.state {
                    State::Confirmed => outcome.found == [id],
                    _ => outcome.found.is_empty() && outcome.located.contains(&id),
                };
                assert!(right, "{outcome:#?}");
            };
            if let Err(why) = std::panic::catch_unwind(hidden) {
                let text = why.downcast_ref::<String>().cloned().unwrap_or_default();
                failures.push((load, text));
            }
        }
        println!("{name}: {} of {runs} failed", failures.len());
        for (load, text) in failures.iter().take(4) {
            println!(
                "{} {:?}: {}",
                setting.feeds.id(*load),
                setting.feeds.load_kind(*load),
                tail(text)
            );
        }
        println!(
            "{:?}",
            failures
                .iter()
                .map(|(l, _)| setting.feeds.id(*l))
                .collect::<Vec<_>>()
        );
    }
}

#[test]
fn what_is_only_located_says_what_would_tell_and_with_it_it_is_told() {
    let mut setting = sample("hatchback");
    let starter = part(&setting, "starter");
    let drain = || vec![Drain::Takes(starter, Milliamps::of(600.0))];
    let outcome = Driver::new(&setting, drain(), 11).run();
    assert_eq!(outcome.state, State::Located, "{:#?}", outcome.log);
    let case = Case::reopen(&setting, outcome.entries).expect("the same case");
    let needs = case.would_tell(&case.next().located);
    let clamp = needs.iter().find_map(|(at, needs)| {
        needs.iter().find_map(|need| match need {
            Need::Clamp {
                clamp, turns: 1, ..
            } if *at == starter => Some(*clamp),
            _ => None,
        })
    });
    setting.instruments.clamp = Some(clamp.expect("a clamp at the starter"));
    let outcome = Driver::new(&setting, drain(), 11).run();
    assert_eq!(outcome.located, ["starter"], "{:#?}", outcome.log);
    let case = Case::reopen(&setting, outcome.entries).expect("the same case");
    let next = case.next();
    assert!(next.located[0].excess.low() > 500.0, "{:?}", next.located);
    assert_eq!(case.would_tell(&next.located), []);
}
