//! Several fuses pulled together: where a plain meter sees nothing across any of them, one settle tells of
//! half of them, what was cleared stays out, and half of what fell goes back in.

use crate::driver::loads;
use crate::hidden::must_confirm;
use halfsplit::case::{Case, Reason, Setting, State};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::measurement::Method;
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;
use std::fmt::Write;

/// Fuses of 30 A in one box, a plain load behind each: 80 mA across one is below two steps of 0.1 mV.
const FUSES: usize = 16;

pub(crate) fn vehicle() -> String {
    let mut text = "Vehicle(format: 1, name: \"A box of large fuses (invented)\", limit: mA(50), settle: minutes(20),
        places: {\"box\": Place(reach: minutes(1)), \"floor\": Place(reach: minutes(5))},
        battery: Battery(id: \"battery\", at: \"box\", feeds: ["
        .to_owned();
    for n in 1..=FUSES {
        let _ = write!(
            text,
            "Fuse(id: \"F{n}\", rating: A(30), style: Maxi, at: \"box\", feeds: [
                Load(id: \"heater {n}\", kind: Heater, plug: \"C{n}\", at: \"floor\")]),"
        );
    }
    text += "]))";
    text
}

fn setting() -> Setting {
    Setting::new(
        load(&vehicle()).0.expect("a tree"),
        Instruments::assumed_meter(),
    )
}

#[test]
fn each_drain_is_proven_in_a_few_settles() {
    let setting = setting();
    for (seed, load) in loads(&setting.feeds).into_iter().enumerate() {
        let drains = vec![Drain::Takes(load, Milliamps::of(80.0))];
        let outcome = must_confirm(&setting, drains, seed as u64);
        let settles = outcome.entries.iter().filter(|e| *e == "asleep").count();
        // Four halvings, the proof with its two sides, and what goes back in between: not one a fuse.
        assert!(settles <= 11, "{settles} settles: {:?}", outcome.entries);
    }
}

#[test]
fn two_drains_in_one_box_are_both_proven() {
    let setting = setting();
    let all = loads(&setting.feeds);
    for (seed, pair) in [(0, 1), (0, 15), (3, 8), (7, 12)].into_iter().enumerate() {
        let takes = |at: usize, ma: f64| Drain::Takes(all[at], Milliamps::of(ma));
        let drains = vec![takes(pair.0, 90.0), takes(pair.1, 75.0)];
        must_confirm(&setting, drains, seed as u64);
    }
}

/// The steps by hand: together out, the draw, half of it back in.
#[test]
fn half_of_what_fell_goes_back_in() {
    let setting = setting();
    let mut case = Case::new(&setting);
    for line in ["prepared", "asleep", "draw 0.08A", "draw 80.0mA jack mA"] {
        case.record(line).unwrap();
    }
    let next = case.next();
    let test = next.test.unwrap();
    assert_eq!((test.method, next.state), (Method::Pull, State::Measure));
    assert_eq!(next.reason, Reason::Together(test.points.len()));
    assert!((6..=9).contains(&test.points.len()), "{:?}", test.points);
    // All of it is said: what it takes, and what may wake.
    let each = setting.minutes(Method::Pull) * test.points.len() as f64;
    assert!(test.minutes >= each, "{} for {each}", test.minutes);
    let first = test.points;
    for line in [&test.entry, "asleep", "draw 0.4mA jack mA"] {
        case.record(line).unwrap();
    }
    let next = case.next();
    let test = next.test.unwrap();
    assert_eq!(next.reason, Reason::PartBack);
    assert_eq!(test.method, Method::Refit);
    assert!(test.points.iter().all(|point| first.contains(point)));
    assert!(test.points.len() < first.len(), "{:?}", test.points);
    let back = test.points;
    // It stays down: what went back in is cleared, and is not asked for again.
    for line in [&test.entry, "asleep", "draw 0.4mA jack mA"] {
        case.record(line).unwrap();
    }
    let next = case.next();
    let asked = next.test.unwrap();
    let again = asked.points.iter().find(|point| back.contains(point));
    assert_eq!((asked.method, again), (Method::Refit, None));
    // What is left in question is behind what is still out.
    let still = first.iter().filter(|point| !back.contains(point));
    let heaters: Vec<String> = still.map(|f| f.replace('F', "heater ")).collect();
    let likely = next.suspects.iter().take(heaters.len());
    for suspect in likely {
        assert!(
            heaters.contains(&suspect.id),
            "{} of {heaters:?}",
            suspect.id
        );
    }
}

/// What hangs on an airbag is not pulled along with the rest.
#[test]
fn careful_circuits_stay_out_of_it() {
    let text = vehicle().replace(
        "id: \"heater 3\", kind: Heater",
        "id: \"heater 3\", kind: Airbag",
    );
    let setting = Setting::new(load(&text).0.expect("a tree"), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    for line in ["prepared", "asleep", "draw 0.08A", "draw 80.0mA jack mA"] {
        case.record(line).unwrap();
    }
    let plan = case.plan().unwrap();
    let together: Vec<_> = plan.tests.iter().filter(|t| t.points.len() > 1).collect();
    assert!(!together.is_empty());
    for test in together {
        assert!(!test.points.contains(&"F3".to_owned()), "{:?}", test.points);
    }
}
