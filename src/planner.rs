//! What to do next: the planner sees a table, never the tree.
//!
//! [`candidates`] lists every step that makes sense with its pairs parted per minute; [`choose`] takes
//! the one that begins the best plan, or with many suspects the one that looks best one step ahead
//! over that rule; [`floor()`] says what no plan can beat, [`habits()`] what the usual ways take;
//! [`chart()`] unfolds the plan. Model and odd values: [`table`].

pub mod table;

mod cells;
mod charges;
mod chart;
mod descent;
mod exact;
mod floor;
mod follow;
mod habits;
mod left;
mod rule;
mod situation;
mod turns;
mod work;

pub use chart::{Chart, Next, Node, Outcome, chart, expected, minutes_with};
pub use floor::{Effort, beside_a_step, floor, floor_with, proof_minutes, quick_floor};
pub use habits::{Habit, first_step, habits};
pub use rule::Candidate;

use situation::{Prepared, Situation};
use table::Table;
use work::Budget;

/// Something to do, by number in the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// Take this test.
    Test(usize),
    /// Prove this suspect: take it out, see the draw fall, put it back, see it return.
    Prove(usize),
}

/// How well a choice is founded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grounds {
    /// The best of all plans is known, and this begins it.
    Best,
    /// The best candidates were each followed to the end by the plain rule.
    Ahead,
    /// The table is so large that the work ran out on the way: the best found so far, and an upper end
    /// of its minutes.
    Cut,
}

/// What to do next.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The step.
    pub step: Step,
    /// Expected minutes from here until the cause is proven, the proof included.
    pub expected: f64,
    /// How well it is founded.
    pub grounds: Grounds,
    /// Everything that could be done instead, best first by [`Candidate::score`].
    pub candidates: Vec<Candidate>,
}

/// Candidates followed to the end; with more than [`MANY`] suspects none is.
const LOOKED_AT: usize = 8;
/// Suspects beyond which a step would take too long otherwise: more than any vehicle has.
const MANY: usize = 1_500;
/// Of these at most so many that begin in the same place.
const LOOKED_AT_IN_A_PLACE: usize = 3;
/// Suspects up to which the best of all plans is looked for.
const SEARCHED: usize = 64;
/// Operations of that search.
const SEARCH_WORK: u64 = 16_000_000;
/// Expected minutes closer than this share count as the same.
const ALIKE: f64 = 1e-9;
/// Operations of a choice. In cases with some 580 loads, where the last candidates are not followed to the end
/// any more, ten times as much took up to 90 ms and brought the expected minutes down by 0.2 % (mean of six
/// steps).
const WORK: u64 = 6_000_000;
/// The same with more than [`MANY`] suspects: enough for the rule, which is not followed then.
const WORK_OF_MANY: u64 = 4_000_000;

fn work(table: &Table) -> Budget {
    Budget::new(if table.suspects.len() > MANY {
        WORK_OF_MANY
    } else {
        WORK
    })
}

/// All tests that still part suspects and the proof of each, best first. Empty when nothing is left
/// to do.
pub fn candidates(table: &Table) -> Vec<Candidate> {
    let prepared = Prepared::new(table);
    let mut budget = work(table);
    rule::steps(&prepared, &prepared.start(), &mut budget)
}

/// The next step. With few suspects (nearly always with 20, seldom with 60) it begins the best of all
/// plans; otherwise it is the candidate with the fewest expected minutes when the plain rule is
/// followed after it. `None` when nothing is left
/// to do: no suspect, or none that can be proven and none parted by any test.
///
/// Bounded work: about 15 ms for 1,000 suspects and 700 tests (measured in an optimised build). With more
/// than 1,500 suspects the step is the plain rule's, in O(n log n), 10 ms for 9,000; `expected` is then
/// what that step and after it one branch after another takes, some hundredths more than following the
/// rule.
pub fn choose(table: &Table) -> Option<Choice> {
    let prepared = Prepared::new(table);
    let mut choice = look_ahead(&prepared)?;
    if table.suspects.len() <= SEARCHED
        && let Some(mut search) = exact::Search::new(&prepared, SEARCH_WORK)
    {
        let found = match search.best(choice.expected * (1.0 - ALIKE)) {
            exact::Found::Better(step, expected) => {
                choice.grounds = Grounds::Best;
                Some((step, expected))
            }
            exact::Found::NothingBetter => {
                choice.grounds = Grounds::Best;
                None
            }
            exact::Found::Unknown(found) => found,
        };
        if let Some((step, expected)) = found {
            choice.step = step;
            choice.expected = expected;
            let mut listed = choice.candidates.iter_mut();
            if let Some(first) = listed.find(|candidate| candidate.step == step) {
                first.expected = Some(expected);
            }
        }
    }
    Some(choice)
}

/// One step looked ahead over the plain rule.
fn look_ahead(prepared: &Prepared<'_>) -> Option<Choice> {
    let table = prepared.table;
    let start = prepared.start();
    let mut budget = work(table);
    let mut candidates = rule::steps(prepared, &start, &mut budget);
    let mut known = follow::Known::default();
    if start.left.tests() == 0 {
        // Nothing parts them: the best order is known.
        let (order, expected) = start.in_turn(prepared);
        let step = Step::Prove(*order.first()? as usize);
        if let Some(first) = candidates.iter_mut().find(|c| c.step == step) {
            first.expected = Some(expected);
        }
        let grounds = Grounds::Best;
        return Some(Choice {
            step,
            expected,
            grounds,
            candidates,
        });
    }
    if table.suspects.len() > MANY {
        return by_rule(prepared, &start, candidates);
    }
    let mut grounds = Grounds::Ahead;
    for (looked_at, at) in worth_a_look(table, &candidates).into_iter().enumerate() {
        // The first is always worked out, however poorly.
        if budget.is_spent() && looked_at > 0 {
            break;
        }
        let candidate = &mut candidates[at];
        let expected = follow::ahead(prepared, &start, candidate, &mut known, &mut budget);
        candidate.expected = expected;
        if budget.is_spent() {
            grounds = Grounds::Cut;
        }
    }
    let mut best: Option<(&Candidate, f64)> = None;
    for candidate in &candidates {
        let Some(expected) = candidate.expected else {
            continue;
        };
        // Equal but for rounding: the shorter step, then the lower number.
        let wins = best.is_none_or(|(other, least)| {
            let same = (expected - least).abs() <= ALIKE * least;
            let shorter = candidate.minutes.total_cmp(&other.minutes);
            let earlier = shorter.then(candidate.step.cmp(&other.step)).is_lt();
            if same { earlier } else { expected < least }
        });
        if wins {
            best = Some((candidate, expected));
        }
    }
    let (step, expected) = best.map(|(candidate, expected)| (candidate.step, expected))?;
    Some(Choice {
        step,
        expected,
        grounds,
        candidates,
    })
}

/// Expected minutes of going down the tree branch by branch: how that is checked on small tables.
#[doc(hidden)]
pub fn branch_by_branch(table: &Table) -> f64 {
    let prepared = Prepared::new(table);
    descent::descent(&prepared, &prepared.start())
}

/// What the plain rule takes first, and after it one branch after another.
fn by_rule(
    prepared: &Prepared<'_>,
    start: &Situation,
    mut candidates: Vec<Candidate>,
) -> Option<Choice> {
    let first = candidates.first_mut()?;
    let step = first.step;
    let taken = follow::take(prepared, start, step)?;
    let after = taken.after.iter();
    let after = after.map(|(_, chance, after)| chance * descent::descent(prepared, after));
    let expected = taken.minutes + after.sum::<f64>();
    first.expected = Some(expected);
    Some(Choice {
        step,
        expected,
        grounds: Grounds::Cut,
        candidates,
    })
}

/// The candidates to follow to the end: the best ones, but not all in one place.
fn worth_a_look(table: &Table, candidates: &[Candidate]) -> Vec<usize> {
    let place = |candidate: &Candidate| match candidate.step {
        Step::Test(number) => (0, table.tests[number].place),
        Step::Prove(number) => (1, table.suspects[number].proof_place),
    };
    let mut chosen: Vec<usize> = Vec::new();
    for (at, candidate) in candidates.iter().enumerate() {
        let here = |other: &&usize| place(&candidates[**other]) == place(candidate);
        if chosen.iter().filter(here).count() < LOOKED_AT_IN_A_PLACE {
            chosen.push(at);
        }
        if chosen.len() == LOOKED_AT {
            return chosen;
        }
    }
    let rest: Vec<usize> = (0..candidates.len())
        .filter(|at| !chosen.contains(at))
        .collect();
    chosen.extend(rest.into_iter().take(LOOKED_AT - chosen.len()));
    chosen
}

/// The best first step and the fewest expected minutes of all plans, among those that take a test that
/// may lose the fault only when no harmless one parts the suspects. `None` when nothing is left to do,
/// when there are more than 64 suspects (64 places, 4 instruments), or when the count of `operations`
/// (a few nanoseconds each) runs out first: 20 suspects take about 10⁷, 50 several times that.
pub fn exact(table: &Table, operations: u64) -> Option<(Step, f64)> {
    let prepared = Prepared::new(table);
    let ahead = look_ahead(&prepared)?;
    let mut search = exact::Search::new(&prepared, operations)?;
    match search.best(ahead.expected * (1.0 - ALIKE)) {
        exact::Found::Better(step, expected) => Some((step, expected)),
        exact::Found::NothingBetter => Some((ahead.step, ahead.expected)),
        exact::Found::Unknown(_) => None,
    }
}
