//! What the plain habits of the trade are expected to take, for comparison with the plan.

use super::Step;
use super::follow::{Known, follow};
use super::rule::{allowed, level, proof_minutes};
use super::situation::{Prepared, Situation};
use super::table::Table;
use super::work::Budget;

/// A way to choose the next step without looking ahead. None takes a test that may lose the fault
/// while a harmless one parts the suspects.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Habit {
    /// One after another down the tree: the widest test that picks out the first suspect left (in the
    /// order of the table), so leg by leg, fuse by fuse, load by load.
    InOrder,
    /// The likeliest first, by chance to find it there per minute (Smith's rule 1956 for a row of
    /// single tests). A test finds it where it shows anything but class 0.
    ByWeight,
    /// The most even split, minutes ignored; of equal ones the first of the table.
    EvenSplit,
    /// Pairs of suspects parted per minute, reach included.
    PairsPerMinute,
}

impl Habit {
    /// All of them, the plainest first.
    pub const ALL: [Self; 4] = [
        Self::InOrder,
        Self::ByWeight,
        Self::EvenSplit,
        Self::PairsPerMinute,
    ];
}

/// Operations for all habits together.
const WORK: u64 = 40_000_000;

/// Expected minutes from here until the cause is proven, for each habit. Proofs are taken only where
/// nothing parts the suspects, but [`Habit::ByWeight`] and [`Habit::PairsPerMinute`] weigh them like
/// tests. A habit whose work runs out (tables of some thousand suspects) is left out.
pub fn habits(table: &Table) -> Vec<(Habit, f64)> {
    let prepared = Prepared::new(table);
    let of_each = WORK / Habit::ALL.len() as u64;
    let followed = Habit::ALL.into_iter().filter_map(|habit| {
        let rule = |situation: &Situation, budget: &mut Budget| {
            budget.spend(2 * situation.left.size());
            step(&prepared, situation, habit)
        };
        let mut budget = Budget::new(of_each);
        let start = prepared.start();
        let expected = follow(&prepared, &rule, start, &mut Known::default(), &mut budget);
        (!budget.is_spent()).then_some((habit, expected))
    });
    followed.collect()
}

/// What a habit does first; `None` where no suspect is left.
///
/// **Cost.** One look at each test.
pub fn first_step(table: &Table, habit: Habit) -> Option<Step> {
    let prepared = Prepared::new(table);
    step(&prepared, &prepared.start(), habit)
}

fn step(prepared: &Prepared<'_>, situation: &Situation, habit: Habit) -> Option<Step> {
    let left = &situation.left;
    let allowed = allowed(prepared, left);
    let tests = (0..left.tests()).filter(|at| allowed(*at));
    if habit == Habit::InOrder {
        let width = |at: &usize| {
            let first = left.stretches(*at).first().filter(|s| s.from == 0);
            let class = first.map(|s| s.class);
            let same = left
                .stretches(*at)
                .iter()
                .filter(|s| Some(s.class) == class);
            same.map(|s| s.to - s.from).sum::<u32>()
        };
        // Of equally wide ones the quickest, then the first.
        let widest = tests.max_by(|a, b| {
            let minutes = |at: usize| situation.test_minutes(prepared, left.number(at));
            let wide = width(a).cmp(&width(b));
            wide.then(minutes(*b).total_cmp(&minutes(*a)))
                .then(b.cmp(a))
        });
        return widest.map(|at| Step::Test(left.number(at)));
    }
    let sums = left.sums(&prepared.chance);
    let total = sums[sums.len() - 1];
    // Value and minutes of each step.
    let mut steps: Vec<(f64, f64, Step)> = Vec::new();
    for at in tests {
        let number = left.number(at);
        let minutes = match habit {
            Habit::EvenSplit => 0.0, // not looked at
            _ => situation.test_minutes(prepared, number),
        };
        let value = match habit {
            Habit::ByWeight => {
                let shown = left.stretches(at).iter();
                let shown = shown.map(|s| sums[s.to as usize] - sums[s.from as usize]);
                shown.sum::<f64>() / total / minutes.max(1e-9)
            }
            Habit::EvenSplit => left.pairs_parted(at, &sums) / (total * total),
            _ => left.pairs_parted(at, &sums) / (total * total) / minutes.max(1e-9),
        };
        steps.push((value, minutes, Step::Test(number)));
    }
    if habit != Habit::EvenSplit {
        let provable = left.suspects.iter().filter(|s| prepared.provable(**s));
        for suspect in provable {
            let chance = prepared.chance[*suspect as usize] / total;
            let minutes = proof_minutes(prepared, situation, *suspect, chance);
            let value = match habit {
                Habit::ByWeight => chance / minutes.max(1e-9),
                _ => chance * (1.0 - chance).max(0.0) / minutes.max(1e-9),
            };
            steps.push((value, minutes, Step::Prove(*suspect as usize)));
        }
    }
    let best = steps.into_iter().min_by(|a, b| {
        let order = level(b.0).total_cmp(&level(a.0)).then(a.1.total_cmp(&b.1));
        order.then(a.2.cmp(&b.2))
    });
    best.map(|(_, _, step)| step)
}
