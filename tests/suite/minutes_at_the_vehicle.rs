//! How long a search takes at a parked vehicle, for who makes no slip and for who makes one: a measure of the order of
//! the steps, to be held against that of another version.

use crate::driver::with;
use crate::parked::{Person, guilty, play};
use halfsplit::case::{Setting, State};
use halfsplit::drill::{Chance, pick};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::simulation::Traps;

/// Minutes, proofs, and innocent parts among these, of so many searches.
#[derive(Debug, Default)]
struct Sum {
    minutes: f64,
    searches: usize,
    proven: usize,
    innocent: usize,
}

impl Sum {
    fn add(&mut self, setting: &Setting, person: Person, number: u64) {
        let hidden = [pick(setting, Chance(number))];
        let ended = play(setting, &hidden, Traps::default(), person, number);
        let guilty = guilty(setting, &hidden);
        self.minutes += ended.minutes;
        self.searches += 1;
        self.proven += usize::from(ended.state == State::Confirmed);
        self.innocent += ended
            .proven
            .iter()
            .filter(|id| !guilty.contains(id))
            .count();
    }
}

/// `cargo test minutes_sweep -- --ignored --nocapture`, `FIRST` and `COUNT` faults in each vehicle, of one vehicle file
/// with `VEHICLE=path`.
#[test]
#[ignore = "takes minutes; run by hand"]
#[allow(clippy::print_stdout)]
fn minutes_sweep() {
    let number = |name: &str, other: u64| {
        let text = std::env::var(name).ok();
        text.and_then(|text| text.parse().ok()).unwrap_or(other)
    };
    let (first, count) = (number("FIRST", 0), number("COUNT", 12));
    let slips = [
        ("no slip", Person::CAREFUL),
        (
            "probe off the tab",
            Person {
                off: Some(0),
                ..Person::CAREFUL
            },
        ),
        (
            "a tenth at the first",
            Person {
                wrong: Some((0, 0.1)),
                ..Person::CAREFUL
            },
        ),
        (
            "a tenth at the third",
            Person {
                wrong: Some((2, 0.1)),
                ..Person::CAREFUL
            },
        ),
    ];
    let mut vehicles: Vec<(String, Setting)> = Vec::new();
    if let Ok(path) = std::env::var("VEHICLE") {
        let text = std::fs::read_to_string(&path).expect("a file");
        let feeds = load(&text).0.expect("a tree");
        vehicles.push((path, Setting::new(feeds, Instruments::assumed_meter())));
    } else {
        for name in ["hatchback", "pickup", "coach", "large-van"] {
            for kit in ["plain-meter", "meter-and-clamp"] {
                vehicles.push((format!("{name}, {kit}"), with(name, kit)));
            }
        }
    }
    for (what, person) in slips {
        let mut all = Sum::default();
        for (name, setting) in &vehicles {
            let mut here = Sum::default();
            for one in first..first + count {
                here.add(setting, person, one);
            }
            println!(
                "{what}: {name}: {:.1} min, {here:?}",
                here.minutes / count as f64
            );
            all.minutes += here.minutes;
            all.searches += here.searches;
            all.proven += here.proven;
            all.innocent += here.innocent;
        }
        println!(
            "{what}: {:.2} min, {all:?}",
            all.minutes / all.searches as f64
        );
    }
}
