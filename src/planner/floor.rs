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

use super::charges::{Alone, Charges, Item, Parting, undominated};
use super::situation::{Budget, Left, Map, Prepared};
use super::table::Table;
use std::rc::Rc;

/// Taken off for rounding.
const ROUNDING: f64 = 1e-9;
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
            0..=600 => Self {
                single: 100,
                work: 12_000_000,
            },
            601..=1_000 => Self {
                single: 40,
                work: 6_000_000,
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

    /// For a plan: a fifth of a second for 100 suspects, two seconds for 600 and more.
    fn whole(suspects: usize) -> Self {
        let suspects = suspects as u64;
        Self {
            single: 640,
            work: (8_000 * suspects * suspects).clamp(400_000_000, 3_200_000_000),
        }
    }

    /// Terms of one programme at most.
    const fn terms(self) -> usize {
        let terms = self.work / 8;
        if terms > 20_000_000 {
            20_000_000
        } else {
            terms as usize
        }
    }
}

/// Shares kept for the inside of cells: of the budgets of a place, of a test that splits one cell (where
/// partners in other cells have nothing to keep), of a test that splits several. Tried out on invented
/// vehicles of 100 to 1,500 loads; every choice between 0 and 1 is valid.
const OF_PLACE: f64 = 0.98;
const OF_ONE: f64 = 0.98;
const OF_SEVERAL: f64 = 0.5;

/// Expected minutes, proof included, that no plan for this table can beat (see above for what that
/// takes for granted). Bounded work, a third of a second for 100 suspects and two seconds
/// for 800 in an optimised build: beyond that a lower, still valid, number.
pub fn floor(table: &Table) -> f64 {
    floor_with(table, Effort::whole(table.suspects.len()))
}

/// The same in at most 30 ms, to stand beside a step: up to 100 suspects hardly lower, beyond that by 2
/// to 4 % on invented vehicles.
pub fn quick_floor(table: &Table) -> f64 {
    floor_with(table, Effort::quick(table.suspects.len()))
}

/// The same with a chosen effort: how the method for large tables is checked on small ones.
#[doc(hidden)]
pub fn floor_with(table: &Table, effort: Effort) -> f64 {
    let given = Given::new(table);
    let proofs = proof_minutes_of(&given.prepared);
    let whole = Part {
        left: Left::all(table, |_| true),
        depth: 0,
        kept: Rc::new(vec![1.0; table.tests.len()]),
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
    ((proofs + charges) * (1.0 - ROUNDING)).max(0.0)
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
        let start = prepared.start();
        let mut step = prepared.step.clone();
        let mut known: Map<(Option<u8>, Option<usize>), u32> = Map::default();
        let mut ways = Vec::new();
        let mut way_of = Vec::with_capacity(table.tests.len());
        for (number, test) in table.tests.iter().enumerate() {
            let moved = test.instrument;
            let moved = moved.filter(|_| start.bring(&prepared, number) > 0.0);
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

/// A partition of suspects (by position).
struct Cells {
    of: Vec<usize>,
    size: Vec<usize>,
}

impl Cells {
    fn new(suspects: usize) -> Self {
        Self {
            of: vec![0; suspects],
            size: vec![suspects],
        }
    }

    /// How many suspects of a cell show a class other than 0.
    fn touched(&self, left: &Left, at: usize) -> Vec<((usize, u32), usize)> {
        // Neighbours are mostly in one cell, so runs of one are counted.
        let mut counts: Vec<((usize, u32), usize)> = Vec::new();
        for stretch in left.stretches(at) {
            let cells = &self.of[stretch.from as usize..stretch.to as usize];
            for run in cells.chunk_by(|a, b| a == b) {
                counts.push(((run[0], stretch.class), run.len()));
            }
        }
        counts.sort_unstable();
        counts.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            kept.1 += if same { next.1 } else { 0 };
            same
        });
        counts
    }

    /// Whether a test that touches the cells so shows the same within every one.
    fn kept_whole(&self, touched: &[((usize, u32), usize)]) -> bool {
        let whole = |((cell, _), count): &((usize, u32), usize)| *count == self.size[*cell];
        touched.iter().all(whole)
    }

    /// Splits the cells by a test, unless there would be more than `most`.
    fn split(&mut self, left: &Left, at: usize, most: usize) {
        let touched = self.touched(left, at).into_iter();
        let torn: Vec<_> = touched
            .filter(|((cell, _), count)| *count < self.size[*cell])
            .collect();
        // A cell wholly covered by several classes keeps its number without members: rare, harmless
        // to the count, and taken out in `members`.
        if self.size.len() + torn.len() > most {
            return;
        }
        let mut new: Map<(usize, u32), usize> = Map::default();
        for (key, count) in torn {
            new.insert(key, self.size.len());
            self.size[key.0] -= count;
            self.size.push(count);
        }
        for stretch in left.stretches(at) {
            for suspect in stretch.from..stretch.to {
                let cell = &mut self.of[suspect as usize];
                *cell = new.get(&(*cell, stretch.class)).copied().unwrap_or(*cell);
            }
        }
    }

    /// Splits the cells by what holds for some of their members, unless there would be more than `most`.
    fn split_by(&mut self, holds: impl Fn(usize) -> bool, most: usize) {
        let mut counts: Map<usize, usize> = Map::default();
        for (suspect, cell) in self.of.iter().enumerate() {
            if holds(suspect) {
                *counts.entry(*cell).or_default() += 1;
            }
        }
        let mut torn: Vec<(usize, usize)> = counts
            .into_iter()
            .filter(|(cell, count)| *count < self.size[*cell])
            .collect();
        torn.sort_unstable();
        if self.size.len() + torn.len() > most {
            return;
        }
        let mut new: Map<usize, usize> = Map::default();
        for (cell, count) in torn {
            new.insert(cell, self.size.len());
            self.size[cell] -= count;
            self.size.push(count);
        }
        for (suspect, cell) in self.of.iter_mut().enumerate() {
            if holds(suspect) {
                *cell = new.get(cell).copied().unwrap_or(*cell);
            }
        }
    }

    /// The members of each cell that has any, by position.
    fn members(&self) -> Vec<Vec<usize>> {
        let mut members = vec![Vec::new(); self.size.len()];
        for (suspect, cell) in self.of.iter().enumerate() {
            members[*cell].push(suspect);
        }
        members.retain(|cell| !cell.is_empty());
        members
    }
}

/// Suspects whose pairs are still to be charged.
struct Part {
    left: Left,
    /// How often its places gave a share of their budgets away.
    depth: i32,
    /// What is left of the budget of each test in the table.
    kept: Rc<Vec<f64>>,
}

impl Part {
    /// Charges of its pairs; pairs inside cells are left to further parts.
    fn charge(
        &self,
        given: &Given<'_>,
        effort: Effort,
        budget: &mut Budget,
        parts: &mut Vec<Part>,
    ) -> f64 {
        if self.left.suspects.len() < 2 {
            return 0.0;
        }
        let mut most = effort.single.max(2);
        while most >= 2 {
            let cells = if self.left.suspects.len() <= most {
                (0..self.left.suspects.len()).map(|s| vec![s]).collect()
            } else {
                self.cells(given, most)
            };
            if cells.len() < 2 {
                break;
            }
            if let Some(charges) = self.between(given, &cells, effort, budget, parts) {
                return charges;
            }
            most /= 2;
        }
        self.by_proofs_alone(given)
    }

    /// Minutes of a listed test as far as its budget is not given away.
    fn minutes(&self, given: &Given<'_>, at: usize) -> f64 {
        let number = self.left.number(at);
        given.prepared.minutes[number] * self.kept[number]
    }

    fn test_way<'g>(&self, given: &'g Given<'_>, at: usize) -> &'g [usize] {
        &given.ways[given.way_of[self.left.number(at)] as usize]
    }

    /// Whether a listed test may lose the fault, so that it is taken last.
    fn is_last(&self, given: &Given<'_>, at: usize) -> bool {
        given.prepared.table.tests[self.left.number(at)].harms
    }

    /// Cells by the tests that part most per minute.
    fn cells(&self, given: &Given<'_>, most: usize) -> Vec<Vec<usize>> {
        let sums = self.left.sums(&given.prepared.chance);
        let mut order: Vec<(f64, usize)> = (0..self.left.tests())
            .map(|at| {
                let reach: f64 = self
                    .test_way(given, at)
                    .iter()
                    .map(|h| given.step[*h])
                    .sum();
                let minutes = self.minutes(given, at) + reach;
                (self.left.pairs_parted(at, &sums) / minutes.max(1e-9), at)
            })
            .collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut cells = Cells::new(self.left.suspects.len());
        for (_, at) in order {
            cells.split(&self.left, at, most);
        }
        if cells.size.len() >= most {
            return cells.members();
        }
        // Members of a cell differ in the places their proofs are behind.
        let mut places: Vec<usize> = (0..self.left.tests())
            .flat_map(|at| self.test_way(given, at))
            .copied()
            .collect();
        places.sort_unstable();
        places.dedup();
        for place in places {
            let holds = |s: usize| {
                let suspect = self.left.suspects[s];
                given.prepared.provable(suspect)
                    && given.prepared.proof_way(suspect).contains(&place)
            };
            cells.split_by(holds, most);
        }
        cells.members()
    }

    /// Charges of the pairs between cells; `None` when the programme would be too large.
    fn between(
        &self,
        given: &Given<'_>,
        cells: &[Vec<usize>],
        effort: Effort,
        budget: &mut Budget,
        parts: &mut Vec<Part>,
    ) -> Option<f64> {
        let left = &self.left;
        let mut partition = Cells {
            of: vec![0; left.suspects.len()],
            size: cells.iter().map(Vec::len).collect(),
        };
        for (cell, members) in cells.iter().enumerate() {
            for member in members {
                partition.of[*member] = cell;
            }
        }
        let mut items: Vec<Item> = cells.iter().map(|cell| self.item(given, cell)).collect();
        let sums = left.sums(&given.prepared.chance);
        let mut tests = Vec::new();
        let mut kept = self.kept.to_vec();
        // By cell, way and whether it comes last: the lowest of what splits it.
        let mut splitting: Map<(usize, u32, bool), f64> = Map::default();
        for at in 0..left.tests() {
            let touched = partition.touched(left, at);
            if partition.kept_whole(&touched) {
                tests.push(Parting {
                    minutes: self.minutes(given, at),
                    way: self.test_way(given, at).to_vec(),
                    shown: cells
                        .iter()
                        .map(|cell| left.class_of(at, cell[0] as u32))
                        .collect(),
                    told: cells
                        .iter()
                        .map(|cell| given.told(left.number(at), left.suspects[cell[0]]))
                        .collect(),
                    last: self.is_last(given, at),
                });
            } else {
                let (keeps, least) = self.least_share(at, &sums, touched.len() == 1);
                kept[left.number(at)] *= keeps;
                let least = self.minutes(given, at) * least;
                let way = given.way_of[left.number(at)];
                for ((cell, _), _) in touched {
                    let key = (cell, way, self.is_last(given, at));
                    let lowest = splitting.entry(key).or_insert(f64::INFINITY);
                    *lowest = lowest.min(least * items[cell].chance);
                }
            }
        }
        for ((cell, way, last), minutes) in splitting {
            items[cell].alone.push(Alone {
                minutes,
                way: given.ways[way as usize].clone(),
                last,
            });
        }
        let kept = Rc::new(kept);
        let tests = undominated(tests);
        let free: Vec<Vec<usize>> = cells
            .iter()
            .map(|cell| self.unprovable(given, cell))
            .collect();
        let wanted = |i: usize, j: usize| {
            let alike = |s: usize| given.alike[left.suspects[s] as usize];
            !free[i]
                .iter()
                .any(|a| free[j].iter().any(|b| alike(*a) == alike(*b)))
        };
        for (item, cell) in items.iter_mut().zip(cells) {
            if cell.len() > 1 {
                let inside = item.alone.iter().flat_map(|alone| &alone.way);
                item.shared = inside.copied().collect();
            }
            lowest_only(&mut item.alone);
        }
        let step = given.step.iter();
        let step: Vec<f64> = step.map(|step| step * OF_PLACE.powi(self.depth)).collect();
        let mut charges = Charges::new(
            &items,
            &tests,
            (&step, 1.0 - OF_PLACE),
            wanted,
            effort.terms(),
        )?;
        for cell in cells.iter().filter(|cell| cell.len() > 1) {
            let mut keep = vec![false; left.suspects.len()];
            for member in cell {
                keep[*member] = true;
            }
            parts.push(Part {
                left: left.only(&keep, |_| true),
                depth: self.depth + 1,
                kept: Rc::clone(&kept),
            });
        }
        Some(charges.best(budget))
    }

    /// A cell as one item: what one member lacks the whole cell lacks.
    fn item(&self, given: &Given<'_>, cell: &[usize]) -> Item {
        let members = || cell.iter().map(|member| self.left.suspects[*member]);
        let prepared = &given.prepared;
        let chance: f64 = members().map(|s| prepared.chance[s as usize]).sum();
        // By place: the lowest of the failed proofs there.
        let mut failed: Map<Option<usize>, f64> = Map::default();
        for suspect in members().filter(|s| prepared.provable(*s)) {
            let place = prepared.table.suspects[suspect as usize].proof_place;
            let own = prepared.failed_proof(suspect) / prepared.chance[suspect as usize];
            let lowest = failed.entry(place).or_insert(f64::INFINITY);
            *lowest = lowest.min(own * chance);
        }
        let (mut held, mut alone) = (Vec::new(), Vec::new());
        for (place, minutes) in failed {
            let way = prepared.way(place).to_vec();
            held.extend_from_slice(&way);
            alone.push(Alone {
                minutes,
                way,
                last: false,
            });
        }
        held.sort_unstable();
        held.dedup();
        Item {
            chance,
            held,
            shared: Vec::new(),
            alone,
        }
    }

    fn unprovable(&self, given: &Given<'_>, cell: &[usize]) -> Vec<usize> {
        let provable = |member: &usize| given.prepared.provable(self.left.suspects[*member]);
        cell.iter()
            .copied()
            .filter(|member| !provable(member))
            .collect()
    }

    /// What a test that splits cells keeps for their inside, and the least that a minute of it gives to
    /// a pair it parts between cells, per product of their chances, when the rest is divided by the
    /// chances of the partners. Whoever is in a cell it splits keeps a share; when that is only one
    /// cell, partners elsewhere have nothing to keep.
    fn least_share(&self, at: usize, sums: &[f64], one_cell: bool) -> (f64, f64) {
        let total = sums[sums.len() - 1];
        let mut shown: Map<u32, f64> = Map::default();
        for stretch in self.left.stretches(at) {
            let weight = sums[stretch.to as usize] - sums[stretch.from as usize];
            *shown.entry(stretch.class).or_default() += weight;
        }
        let covered: f64 = shown.values().sum();
        let rest = (total - covered).max(0.0);
        let mut weights: Vec<f64> = shown.into_values().collect();
        if one_cell && weights.len() == 1 {
            let inner = (1.0 - OF_ONE) / rest.max(f64::MIN_POSITIVE);
            return (OF_ONE, inner + 1.0 / covered.max(f64::MIN_POSITIVE));
        }
        weights.push(rest);
        weights.sort_by(f64::total_cmp);
        let share = |weight: &f64| 1.0 / (total - weight).max(f64::MIN_POSITIVE);
        let both: f64 = weights.iter().take(2).map(share).sum();
        (OF_SEVERAL, (1.0 - OF_SEVERAL) * both)
    }

    /// Charges that hold against failed proofs where no test parts the suspects; 0 where one does.
    fn by_proofs_alone(&self, given: &Given<'_>) -> f64 {
        const MOST: usize = 3_000;
        if self.left.tests() > 0 || self.left.suspects.len() > MOST {
            return 0.0;
        }
        let prepared = &given.prepared;
        let suspects = &self.left.suspects;
        let paid = |k: u32, other: u32| {
            if prepared.provable(k) {
                prepared.failed_proof(k) * prepared.chance[other as usize]
            } else {
                f64::INFINITY
            }
        };
        let mut sum = 0.0;
        for (at, i) in suspects.iter().enumerate() {
            for j in &suspects[..at] {
                let charge = paid(*i, *j).min(paid(*j, *i));
                sum += if charge.is_finite() { charge } else { 0.0 };
            }
        }
        sum
    }
}

/// Leaves out limits that are no lower than another whose places are on their way.
fn lowest_only(alone: &mut Vec<Alone>) {
    alone.sort_by(|a, b| {
        let minutes = a.minutes.total_cmp(&b.minutes);
        minutes
            .then(a.way.len().cmp(&b.way.len()))
            .then(a.last.cmp(&b.last))
            .then(a.way.cmp(&b.way))
    });
    let mut kept: Vec<Alone> = Vec::new();
    for one in alone.drain(..) {
        let beaten = |other: &Alone| one.way.starts_with(&other.way) && other.last <= one.last;
        if !kept.iter().any(beaten) {
            kept.push(one);
        }
    }
    *alone = kept;
}
