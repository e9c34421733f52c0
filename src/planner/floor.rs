//! The floor: expected minutes that no plan can beat.
//!
//! **Argument.** In any plan each pair of suspects {i, j} is parted at exactly one step, and a place is
//! reached before every step in it. Give each pair a charge `y` such that for *every* step e that
//! parts it, y ≤ U(e, i→j) + U(e, j→i) + Σ (B(h, i→j) + B(h, j→i)) over every place h on its way that is
//! not open, within the budgets Σ over j of U(e, i→j) ≤ minutes(e) × p(i) and of B(h, i→j) ≤ step(h) ×
//! p(i). At a step taken with the suspects S alive the charges of the pairs it parts then add up to at
//! most its minutes × p(S), and so at a place reached; hence Σ y is at most the expected minutes of
//! every plan.
//!
//! **The proof in the goal.** A plan ends when the true suspect i has been proven: the minutes of that
//! proof and of every place on its way are taken out first (M), and i then has no budget for them. The
//! failed proof of k parts k from the rest: a budget of its minutes × p(i) for {i, k} alone.
//!
//! **Moves and harm.** An instrument that is not at a place is brought there before its first reading
//! there: one more place on the way of those readings. A test that may lose the fault is taken only
//! when no harmless one tells what is left apart, so it never parts a pair that a harmless one tells
//! apart for sure, and holds no charge of such a pair down.
//!
//! **Assumptions.** One cause with the chances of the table; each test at its cheapest (an instrument
//! is brought to a place once); harm comes last; a test parts two suspects as soon as what they show
//! differs, for sure or not; an inconclusive reading is equally likely for all; proofs do not err; two
//! suspects neither of which can be proven and which no test parts for sure need not be parted.
//! (`the_floor_is_never_above_the_best_plan`)
//!
//! **Method.** Every budget is a simplex. Dividing it by the chances of the partners is feasible and in
//! closed form; exponentiated gradient then moves shares towards the steps that hold a pair's charge
//! down. Every iterate is feasible, so it can stop at any time.
//!
//! **Many suspects** are kept together in cells: charges between two cells are spread by chance, so
//! that a test that splits no cell has one budget for a whole cell. A test that splits cells gives part
//! of its budget to pairs between cells, in closed form, and keeps the rest for pairs inside them,
//! where the same begins again; so does a place of use inside cells.
//! (`the_floor_holds_for_suspects_kept_together`)

use super::left::Left;
use super::situation::Prepared;
use super::table::Table;
use super::work::{Budget, Map};

mod part;

use part::Part;

/// Taken off for rounding: shares are kept to seven digits.
const ROUNDING: f64 = 2e-7;
/// How much is done for a floor.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Suspects looked at one by one; more are kept together in at most so many cells.
    pub single: usize,
    /// Operations, a nanosecond or two each in an optimised build.
    pub work: u64,
}

impl Effort {
    /// Beside a step: at most 30 ms. Fewer cells where building them would take that long.
    const fn quick(suspects: usize) -> Self {
        match suspects {
            0..=200 => Self {
                single: 100,
                work: 12_000_000,
            },
            201..=700 => Self {
                single: 40,
                work: 5_000_000,
            },
            // With 40 cells and twice the work it is hardly higher: 0.951 of the whole floor in place of 0.949,
            // mean of twelve invented vehicles.
            701..=1_000 => Self {
                single: 16,
                work: 2_500_000,
            },
            1_001..=1_500 => Self {
                single: 12,
                work: 4_000_000,
            },
            1_501..=4_000 => Self {
                single: 12,
                work: 1_000_000,
            },
            _ => Self {
                single: 12,
                work: 400_000,
            },
        }
    }

    /// For a plan: a fifth of a second for 100 suspects, two for 600, six for 1,250, which take 0.8 GB;
    /// with more than any vehicle has, two seconds again.
    fn whole(suspects: usize) -> Self {
        let single = if suspects > 1_500 { 640 } else { 1_500 };
        let most = if suspects > 1_500 {
            3_200_000_000
        } else {
            16_000_000_000
        };
        let suspects = suspects as u64;
        Self {
            single,
            work: (8_000 * suspects * suspects).clamp(400_000_000, most),
        }
    }

    /// Terms of one programme at most.
    fn terms(self) -> usize {
        // What was tried out with many suspects fits in a gigabyte.
        let most = if self.single > 640 {
            80_000_000
        } else {
            20_000_000
        };
        (self.work / 8).min(most) as usize
    }
}

/// Expected minutes, proof included, that no plan for this table can beat (see above for what that
/// takes for granted). Bounded work, a third of a second for 100 suspects, six seconds for 1,250 in an
/// optimised build: beyond 1,500 in two seconds a lower, still valid, number.
pub fn floor(table: &Table) -> f64 {
    floor_with(table, Effort::whole(table.suspects.len()))
}

/// The same in some 30 ms, to stand beside a step: up to 100 suspects hardly lower, beyond that by 1 to 3 %
/// on invented tables, and by 2 to 10 % on written vehicles with modules (100 to 600 loads).
pub fn quick_floor(table: &Table) -> f64 {
    beside_a_step(table).1
}

/// What stands beside a step: [`proof_minutes`] and [`quick_floor`].
pub fn beside_a_step(table: &Table) -> (f64, f64) {
    least(table, Effort::quick(table.suspects.len()))
}

/// The same with a chosen effort: how the method for large tables is checked on small ones.
#[doc(hidden)]
pub fn floor_with(table: &Table, effort: Effort) -> f64 {
    least(table, effort).1
}

/// Minutes of the proof, and of all.
fn least(table: &Table, effort: Effort) -> (f64, f64) {
    let given = Given::new(table);
    let proofs = proof_minutes_of(&given.prepared);
    let left = Left::all(table, |_| true);
    let whole = Part {
        kept: vec![1.0; left.tests()],
        left,
        depth: 0,
    };
    let suspects = table.suspects.len().max(1) as u64;
    let mut charges = 0.0;
    let mut parts = vec![whole];
    // Pairs that are left out carry no charge: still a floor.
    let mut all = Budget::new(4 * effort.work);
    while let Some(part) = parts.pop() {
        all.spend(50 * part.left.size());
        if all.is_spent() {
            break;
        }
        let share = if part.depth == 0 {
            effort.work / 2
        } else {
            effort.work / 2 * part.left.suspects.len() as u64 / suspects
        };
        let mut budget = Budget::new(share);
        charges += part.charge(&given, effort, &mut budget, &mut parts);
    }
    let all = ((proofs + charges) * (1.0 - ROUNDING)).max(0.0);
    (proofs, all)
}

/// The part of every plan's minutes that no choice changes: the proof of the true suspect, with the
/// places on its way.
pub fn proof_minutes(table: &Table) -> f64 {
    proof_minutes_of(&Prepared::new(table))
}

/// M: expected minutes of the proof of the true suspect, with the places on its way.
fn proof_minutes_of(prepared: &Prepared<'_>) -> f64 {
    let proof = |(suspect, chance): (usize, &f64)| {
        let suspect = suspect as u32;
        if !prepared.provable(suspect) {
            return 0.0;
        }
        let way = prepared.proof_way(suspect).iter();
        let reach: f64 = way.map(|place| prepared.step[*place]).sum();
        chance * (prepared.proof(suspect) + reach)
    };
    prepared.chance.iter().enumerate().map(proof).sum()
}

/// What is the same in every part.
struct Given<'t> {
    prepared: Prepared<'t>,
    /// Ways: the places with a step, and behind them the first move of an instrument to there, as one
    /// more place.
    ways: Vec<Vec<usize>>,
    /// The way of each test, as an index into them.
    way_of: Vec<u32>,
    /// Minutes of each place's own step and of each such move.
    step: Vec<f64>,
    /// What is told apart for sure, and where each test is listed there.
    sure: Left,
    listed: Vec<Option<usize>>,
    /// Suspects by a number that two share when no test parts them for sure.
    alike: Vec<u64>,
}

impl<'t> Given<'t> {
    fn new(table: &'t Table) -> Self {
        let prepared = Prepared::new(table);
        let sure = Left::all(table, |class| class.sure);
        let mut listed = vec![None; table.tests.len()];
        for at in 0..sure.tests() {
            listed[sure.number(at)] = Some(at);
        }
        let mut step = prepared.step.clone();
        let mut known: Map<(Option<u8>, Option<usize>), u32> = Map::default();
        let mut ways = Vec::new();
        let mut way_of = Vec::with_capacity(table.tests.len());
        for (number, test) in table.tests.iter().enumerate() {
            let moved = test.instrument;
            let moved = moved.filter(|_| prepared.bring_at_start(number) > 0.0);
            way_of.push(*known.entry((moved, test.place)).or_insert_with(|| {
                let mut way = prepared.way(test.place).to_vec();
                if moved.is_some() {
                    way.push(step.len());
                    step.push(prepared.move_minutes);
                }
                ways.push(way);
                ways.len() as u32 - 1
            }));
        }
        Self {
            alike: sure.signatures(),
            prepared,
            ways,
            way_of,
            step,
            sure,
            listed,
        }
    }

    /// What a suspect shows for sure in a test (both by number in the table).
    fn told(&self, test: usize, suspect: u32) -> u32 {
        // Nothing is left out of the list of suspects, so positions are numbers.
        self.listed[test].map_or(0, |at| self.sure.class_of(at, suspect))
    }
}
