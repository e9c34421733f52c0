//! Minutes to go, as the screens say them, against those that were needed: causes drawn by their odds, one at a time.

use crate::driver::{Driver, sample};
use halfsplit::case::{Case, State, Weighed};
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;
use halfsplit::suspects::{Cause, Subject};

/// How a suspect is hidden in a vehicle that answers; `None` for what is on no sheet.
fn hidden(weighed: &Weighed) -> Option<Drain> {
    let takes = Milliamps::of(600.0);
    match (weighed.cause, &weighed.subject) {
        (Cause::OwnDraw, Subject::Part(part)) => Some(Drain::Takes(*part, takes)),
        (Cause::ContactClosed, Subject::Part(part)) => Some(Drain::Contact(*part, takes)),
        (Cause::CoilHeld, Subject::Part(part)) => Some(Drain::CoilHeld(*part)),
        (Cause::HoldsAwake, Subject::Module(module)) => Some(Drain::HeldBy(*module)),
        _ => None,
    }
}

/// `cargo test --release to_go_sweep -- --ignored --nocapture`: the share of the steps at which the search then took
/// between the two ends that its screen said, and what was said at the first over what was needed from there.
#[test]
#[ignore = "takes minutes; run by hand"]
#[allow(clippy::print_stdout)]
fn to_go_sweep() {
    const ODDS: f64 = 0.004;
    const SPAN: [f64; 2] = [0.3, 2.5];
    std::panic::set_hook(Box::new(|_| {}));
    for name in ["teaching-board", "quarto-van", "hatchback", "pickup"] {
        let setting = sample(name);
        let mut first = Case::new(&setting);
        for entry in ["prepared", "asleep", "draw 0.63A by series sure"] {
            first.record(entry).unwrap();
        }
        let (mut weight, mut said, mut needed) = (0.0, 0.0, 0.0);
        let mut shares = [0.0; 3];
        for weighed in first.next().suspects {
            let Some(drain) = hidden(&weighed).filter(|_| weighed.odds >= ODDS) else {
                continue;
            };
            let run = std::panic::catch_unwind(|| Driver::quiet(&setting, vec![drain], 7).run());
            let Some(run) = run.ok().filter(|run| run.state == State::Confirmed) else {
                println!("{name}: {} was not proven", weighed.id);
                continue;
            };
            let mut case = Case::new(&setting);
            let mut looks = Vec::new();
            for entry in &run.entries {
                case.record(entry).unwrap();
                let next = case.next();
                if let Some(expected) = next.expected.filter(|_| next.state == State::Measure) {
                    looks.push((expected, run.minutes - next.spent));
                }
            }
            let Some((expected, took)) = looks.first() else {
                continue;
            };
            weight += weighed.odds;
            said += weighed.odds * expected;
            needed += weighed.odds * took;
            for (expected, took) in &looks {
                let at = SPAN
                    .iter()
                    .filter(|times| took > &(**times * expected))
                    .count();
                shares[at] += weighed.odds / looks.len() as f64;
            }
        }
        println!(
            "{name}: sooner {:.2}, within {:.2}, later {:.2}; at the first step {:.2} of what was needed",
            shares[0] / weight,
            shares[1] / weight,
            shares[2] / weight,
            said / needed
        );
    }
}
