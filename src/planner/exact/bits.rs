//! A table of at most 64 suspects as bits, and the charges that bound its plans.

use crate::planner::charges::{Alone, Charges, Item, Parting, undominated};
use crate::planner::situation::Prepared;
use crate::planner::work::Budget;

/// A test as bits.
pub(super) struct BitTest {
    pub(super) number: usize,
    pub(super) minutes: f64,
    /// Places on its way that were closed at the start.
    pub(super) way: u64,
    /// The instrument that has to be moved, and to where.
    pub(super) needs: Option<(usize, u16)>,
    /// Suspects of each class.
    pub(super) shown: Vec<u64>,
    pub(super) harms: bool,
}

pub(super) fn suspects(mut alive: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (alive != 0).then(|| {
            let suspect = alive.trailing_zeros() as usize;
            alive &= alive - 1;
            suspect
        })
    })
}

pub(super) fn position_or_push<T: PartialEq>(list: &mut Vec<T>, item: T) -> usize {
    list.iter()
        .position(|other| *other == item)
        .unwrap_or_else(|| {
            list.push(item);
            list.len() - 1
        })
}

/// Suspects of each class that shows, the class of the first suspect first.
pub(super) fn masks(classes: &[u32]) -> Vec<u64> {
    let mut names: Vec<u32> = Vec::new();
    let mut masks: Vec<u64> = Vec::new();
    for (suspect, class) in classes.iter().enumerate() {
        let name = position_or_push(&mut names, *class);
        masks.resize(names.len(), 0);
        masks[name] |= 1 << suspect;
    }
    masks
}

/// Leaves out tests for which another does at least as well whatever has been done before.
pub(super) fn drop_dominated(tests: &mut Vec<BitTest>) {
    let beats = |a: &BitTest, b: &BitTest| {
        let instrument = a.needs.is_none() || a.needs == b.needs;
        let no_more = a.minutes <= b.minutes && a.way & !b.way == 0 && a.harms <= b.harms;
        a.shown == b.shown && instrument && no_more
    };
    let mut beaten = vec![false; tests.len()];
    for (at, test) in tests.iter().enumerate() {
        beaten[at] = tests.iter().enumerate().any(|(other_at, other)| {
            other_at != at && beats(other, test) && !(beats(test, other) && at < other_at)
        });
    }
    let mut beaten = beaten.into_iter();
    tests.retain(|_| !beaten.next().unwrap_or(false));
}

/// Charges of the whole table, and the moves among their places.
pub(super) fn charges(
    prepared: &Prepared<'_>,
    tests: &[BitTest],
    budget: &mut Budget,
) -> Option<(Charges, Vec<(usize, u16)>)> {
    const MOST_TERMS: usize = 2_000_000;
    let table = prepared.table;
    let mut step = prepared.step.clone();
    let mut moves: Vec<(usize, u16)> = Vec::new();
    let parting = |test: &BitTest| {
        let mut way = prepared.way(table.tests[test.number].place).to_vec();
        if let Some(needs) = test.needs {
            let known = position_or_push(&mut moves, needs);
            way.push(prepared.step.len() + known);
        }
        let class = |suspect: usize| {
            test.shown
                .iter()
                .position(|shown| shown >> suspect & 1 == 1)
        };
        let classes = (0..table.suspects.len()).map(|s| class(s).unwrap_or(0) as u32);
        Parting {
            minutes: test.minutes,
            way,
            told: classes.clone().collect(),
            shown: classes.collect(),
            last: test.harms,
        }
    };
    let parting: Vec<Parting> = tests.iter().map(parting).collect();
    step.resize(step.len() + moves.len(), prepared.move_minutes);
    let item = |suspect: usize| {
        let number = suspect as u32;
        let mut item = Item {
            chance: prepared.chance[suspect],
            held: Vec::new(),
            shared: Vec::new(),
            alone: Vec::new(),
        };
        if prepared.provable(number) {
            let way = prepared.proof_way(number).to_vec();
            item.held.clone_from(&way);
            item.alone.push(Alone {
                minutes: prepared.failed_proof(number),
                way,
                last: false,
            });
        }
        item
    };
    let items: Vec<Item> = (0..table.suspects.len()).map(item).collect();
    let parted = |i: usize, j: usize| {
        let same = |test: &BitTest| {
            test.shown
                .iter()
                .any(|s| s >> i & 1 == 1 && s >> j & 1 == 1)
        };
        !tests.iter().all(same)
    };
    let wanted = |i: usize, j: usize| {
        prepared.provable(i as u32) || prepared.provable(j as u32) || parted(i, j)
    };
    let parting = undominated(parting);
    let mut charges = Charges::new(&items, &parting, (&step, 1.0), wanted, MOST_TERMS)?;
    charges.best(budget);
    Some((charges, moves))
}
