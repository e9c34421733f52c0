//! Charges of the pairs of some suspects: all of them, or those kept together in a cell.

use super::{Effort, Given};
use crate::planner::cells::Cells;
use crate::planner::charges::{Alone, Charges, Item, Parting, undominated};
use crate::planner::left::{Left, Run};
use crate::planner::work::{Budget, Map};

/// Shares kept for the inside of cells: of the budgets of a place, of a test that splits one cell (where
/// partners in other cells have nothing to keep), of a test that splits several. Tried out on invented
/// vehicles of 100 to 1,500 loads; every choice between 0 and 1 is valid.
const OF_PLACE: f64 = 0.98;
const OF_ONE: f64 = 0.98;
const OF_SEVERAL: f64 = 0.5;

/// Suspects whose pairs are still to be charged.
pub(super) struct Part {
    pub(super) left: Left,
    /// How often its places gave a share of their budgets away.
    pub(super) depth: i32,
    /// What is left of the budget of each test listed.
    pub(super) kept: Vec<f64>,
}

impl Part {
    /// Charges of its pairs; pairs inside cells are left to further parts.
    pub(super) fn charge(
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
        given.prepared.minutes[number] * self.kept[at]
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
            if cells.size.len() >= most {
                return cells.members();
            }
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
        let mut kept = self.kept.clone();
        // By cell, way and whether it comes last: the lowest of what splits it.
        let mut splitting: Map<(usize, u32, bool), f64> = Map::default();
        for (at, kept) in kept.iter_mut().enumerate() {
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
                *kept *= keeps;
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
        let tests = undominated(tests);
        let free: Vec<Vec<u64>> = cells
            .iter()
            .map(|cell| self.unprovable(given, cell))
            .collect();
        let wanted = |i: usize, j: usize| !share_one(&free[i], &free[j]);
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
        for left in self.inside(&partition) {
            let listed = (0..left.tests()).filter_map(|at| self.left.listed(left.number(at)));
            parts.push(Part {
                kept: listed.map(|at| kept[at]).collect(),
                left,
                depth: self.depth + 1,
            });
        }
        Some(charges.best(budget))
    }

    /// What is left of each cell of several.
    fn inside(&self, partition: &Cells) -> Vec<Left> {
        if partition.size.iter().all(|size| *size < 2) {
            return Vec::new();
        }
        let mut from = 0;
        let runs = partition.of.chunk_by(|a, b| a == b).map(|run| {
            let (start, cell) = (from, run[0]);
            from += run.len() as u32;
            Run {
                from: start,
                to: from,
                group: cell as u32,
            }
        });
        let runs: Vec<Run> = runs.collect();
        let lefts = self.left.parted(&runs, partition.size.len());
        lefts.filter(|left| left.suspects.len() > 1).collect()
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

    /// The numbers by which those of a cell are alike that cannot be proven, ascending, each once.
    fn unprovable(&self, given: &Given<'_>, cell: &[usize]) -> Vec<u64> {
        let members = cell.iter().map(|member| self.left.suspects[*member]);
        let unprovable = members.filter(|suspect| !given.prepared.provable(*suspect));
        let mut alike: Vec<u64> = unprovable.map(|s| given.alike[s as usize]).collect();
        alike.sort_unstable();
        alike.dedup();
        alike
    }

    /// What a test that splits cells keeps for their inside, and the least that a minute of it gives to
    /// a pair it parts between cells, per product of their chances, when the rest is divided by the
    /// chances of the partners. Whoever is in a cell it splits keeps a share; when that is only one
    /// cell, partners elsewhere have nothing to keep.
    fn least_share(&self, at: usize, sums: &[f64], one_cell: bool) -> (f64, f64) {
        let total = sums[sums.len() - 1];
        // By class, in the order in which they are met: seldom more than one.
        let mut shown: Vec<(u32, f64)> = Vec::with_capacity(1);
        for stretch in self.left.stretches(at) {
            let weight = sums[stretch.to as usize] - sums[stretch.from as usize];
            match shown.iter_mut().find(|(class, _)| *class == stretch.class) {
                Some((_, sum)) => *sum += weight,
                None => shown.push((stretch.class, weight)),
            }
        }
        let mut weights: Vec<f64> = shown.into_iter().map(|(_, weight)| weight).collect();
        let covered: f64 = weights.iter().sum();
        let rest = (total - covered).max(0.0);
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

/// Whether two ascending lists have a number in common.
fn share_one(a: &[u64], b: &[u64]) -> bool {
    let (short, long) = if a.len() < b.len() { (a, b) } else { (b, a) };
    short.iter().any(|one| long.binary_search(one).is_ok())
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
