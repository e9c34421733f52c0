//! What wrong readings do to a plan: some readings show another outcome than the true one.
//!
//! The plan trusts each reading. Where the last suspect's proof fails, every reading is forgotten but
//! the failed proofs, and the search begins anew; proofs do not err. Beside it stands a person who
//! names the last suspect without a proof.

use crate::invented_tables::{self, Dice};
use halfsplit::planner::table::Table;
use halfsplit::planner::{Chart, Next, Step, chart};

/// How a search ended.
struct Ended {
    minutes: f64,
    /// What was named was not the cause: with the proof, and by a person without one.
    wrong: bool,
    wrong_without: bool,
}

/// Follows a plan on a vehicle with one cause; each reading is wrong with this chance.
fn follow(table: &Table, plan: &Chart, cause: usize, wrong: f64, dice: &mut Dice) -> Ended {
    let mut ended = Ended {
        minutes: 0.0,
        wrong: false,
        wrong_without: false,
    };
    let mut gone = vec![false; table.suspects.len()];
    for round in 0..20 {
        let mut node = Some(0);
        let mut last = None;
        while let Some(here) = node.map(|node| &plan.nodes[node]) {
            let Next::Step {
                step,
                minutes,
                outcomes,
            } = &here.next
            else {
                // Located: one of these.
                let named = here.suspects.contains(&cause);
                ended.wrong = !named;
                ended.wrong_without |= round == 0 && !named;
                return ended;
            };
            let class = match step {
                Step::Test(test) => {
                    ended.minutes += minutes;
                    let classes = table.tests[*test].classes.iter();
                    let shown = classes.filter(|class| class.sure).position(|class| {
                        class.suspects.iter().any(|r| r.contains(&(cause as u32)))
                    });
                    let true_class = shown.map_or(0, |class| class as u32 + 1);
                    if dice.share() < wrong {
                        u32::from(true_class == 0)
                    } else {
                        true_class
                    }
                }
                Step::Prove(suspect) => {
                    if last.is_none() && here.suspects.len() == 1 {
                        last = Some(*suspect);
                        ended.wrong_without |= round == 0 && *suspect != cause;
                    }
                    if !gone[*suspect] {
                        let own = &table.suspects[*suspect];
                        ended.minutes += if *suspect == cause {
                            own.proof
                        } else {
                            own.failed_proof
                        };
                    }
                    gone[*suspect] |= *suspect != cause;
                    u32::from(*suspect == cause)
                }
            };
            let Some(outcome) = outcomes.iter().find(|outcome| outcome.class == class) else {
                break; // the last one's proof failed, or nobody left shows that
            };
            if outcome.node.is_none() {
                return ended; // proven, and proofs do not err
            }
            node = outcome.node;
        }
    }
    ended.wrong = true; // given up
    ended
}

/// Prints wrong answers and minutes.
pub(crate) fn print() {
    const RUNS: usize = 4_000;
    println!("== wrong readings, 12 vehicles of 40 loads, {RUNS} searches each");
    println!("wrong    wrong answers: with the proof   without   minutes");
    for wrong in [0.0, 0.01, 0.03, 0.05] {
        let (mut with, mut without, mut minutes) = (0, 0, 0.0);
        for seed in 0..12 {
            let mut table = invented_tables::vehicle(40, 4_000 + seed);
            for suspect in &mut table.suspects {
                suspect.provable = true;
            }
            let plan = chart(&table, usize::MAX);
            let odds: Vec<f64> = table.suspects.iter().map(|s| s.log_odds.exp()).collect();
            let total: f64 = odds.iter().sum();
            let mut dice = Dice::new(99 + seed);
            for _ in 0..RUNS {
                let mut at = dice.share() * total;
                let cause = odds.iter().position(|odds| {
                    at -= odds;
                    at <= 0.0
                });
                let cause = cause.unwrap_or(odds.len() - 1);
                let ended = follow(&table, &plan, cause, wrong, &mut dice);
                with += usize::from(ended.wrong);
                without += usize::from(ended.wrong_without);
                minutes += ended.minutes;
            }
        }
        let runs = (12 * RUNS) as f64;
        println!(
            "{:>4.0} %  {:>29.2} % {:>7.2} % {:>9.1}",
            100.0 * wrong,
            100.0 * with as f64 / runs,
            100.0 * without as f64 / runs,
            minutes / runs
        );
    }
}
