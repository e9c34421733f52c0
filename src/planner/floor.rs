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
//! **Assumptions.** One cause with the chances of the table; each test at its cheapest (no move of an
//! instrument), whether or not it may lose the fault; a test parts two suspects as soon as what they
//! show differs, for sure or not; an inconclusive reading is equally likely for all; proofs do not
//! err; two suspects neither of which can be proven and which no test parts for sure need not be
//! parted.
//!
//! **Method.** Every budget is a simplex. Dividing it by the chances of the partners is feasible and in
//! closed form; exponentiated gradient then moves shares towards the steps that hold a pair's charge
//! down. Every iterate is feasible, so it can stop at any time.

use super::situation::{Budget, Left, Prepared};
use super::table::Table;
use std::collections::HashMap;

/// Taken off for rounding.
const ROUNDING: f64 = 1e-9;
/// Shares moved at most: beyond this the closed form alone is worked out.
const MOST_SHARES: usize = 400_000;
/// Operations of a floor.
const WORK: u64 = 10_000_000;
/// Rounds at most.
const ROUNDS: u32 = 400;

/// Expected minutes, proof included, that no plan for this table can beat (see above for what that
/// takes for granted). Bounded work: tables of many hundred suspects get a lower, still valid, number.
pub fn floor(table: &Table) -> f64 {
    let prepared = Prepared::new(table);
    if table.suspects.is_empty() {
        return 0.0;
    }
    let steps = Steps::new(&prepared);
    let mut budget = Budget::new(WORK);
    let charges = match Charges::new(&prepared, &steps) {
        Some(mut charges) => charges.best(&mut budget),
        None => steps.closed_form(&prepared),
    };
    ((steps.proofs + charges) * (1.0 - ROUNDING)).max(0.0)
}

/// The steps that part suspects, for the floor.
struct Steps {
    left: Left,
    /// Positions in `left` of the tests that count: a test that shows the same as a cheaper one on the
    /// way to it does not.
    tests: Vec<usize>,
    /// Suspects by a number that two share when no test parts them for sure.
    alike: Vec<usize>,
    /// M: minutes of the proofs that succeed, with their places.
    proofs: f64,
}

impl Steps {
    fn new(prepared: &Prepared<'_>) -> Self {
        let left = Left::all(prepared.table, |_| true);
        let mut kept: HashMap<Vec<(u32, u32, u32)>, Vec<usize>> = HashMap::new();
        for at in 0..left.tests() {
            kept.entry(same_shown(&left, at)).or_default().push(at);
        }
        let cheaper = |at: usize, than: usize| {
            let (a, b) = (left.number(at), left.number(than));
            let way = |test: usize| prepared.way(prepared.table.tests[test].place);
            let (x, y) = (prepared.minutes[a], prepared.minutes[b]);
            let same = x <= y && way(a) == way(b) && x >= y;
            let no_more = x <= y && way(b).starts_with(way(a));
            no_more && (!same || at < than)
        };
        let mut tests: Vec<usize> = Vec::new();
        for group in kept.values() {
            let beaten = |at: usize| {
                group
                    .iter()
                    .any(|other| *other != at && cheaper(*other, at))
            };
            tests.extend(group.iter().copied().filter(|at| !beaten(*at)));
        }
        tests.sort_unstable();
        let proofs = |(suspect, chance): (usize, &f64)| {
            let suspect = suspect as u32;
            if !prepared.provable(suspect) {
                return 0.0;
            }
            let way = prepared.proof_way(suspect).iter();
            let reach: f64 = way.map(|place| prepared.step[*place]).sum();
            chance * (prepared.proof(suspect) + reach)
        };
        let proofs = prepared.chance.iter().enumerate().map(proofs).sum();
        let alike = alike(prepared.table);
        Self {
            left,
            tests,
            alike,
            proofs,
        }
    }
}

/// What a test tells apart, whatever its classes are called: stretches of all suspects with classes
/// numbered by first appearance.
fn same_shown(left: &Left, at: usize) -> Vec<(u32, u32, u32)> {
    let mut names: Vec<u32> = Vec::new();
    let mut shown = Vec::new();
    let mut add = |from: u32, to: u32, class: u32| {
        if from < to {
            let name = names.iter().position(|n| *n == class).unwrap_or_else(|| {
                names.push(class);
                names.len() - 1
            });
            shown.push((from, to, name as u32));
        }
    };
    let mut done = 0;
    for stretch in left.stretches(at) {
        add(done, stretch.from, 0);
        add(stretch.from, stretch.to, stretch.class);
        done = stretch.to;
    }
    add(done, left.suspects.len() as u32, 0);
    shown
}

/// Suspects by a number that two share when no test parts them for sure.
fn alike(table: &Table) -> Vec<usize> {
    let sure = Left::all(table, |class| class.sure);
    let mut group = vec![0; table.suspects.len()];
    for at in 0..sure.tests() {
        let mut names: HashMap<(usize, u32), usize> = HashMap::new();
        let shown = sure.classes(at);
        for (own, class) in group.iter_mut().zip(shown) {
            let next = names.len();
            *own = *names.entry((*own, class)).or_insert(next);
        }
    }
    group
}

/// The linear programme, sparse: shares of budgets, what holds each pair's charge down.
#[derive(Default)]
struct Charges {
    /// Each share, and the budget it is a share of.
    share: Vec<f64>,
    of: Vec<u32>,
    budgets: Vec<f64>,
    /// For each limit of a charge: what it has apart from shares, and the end of its shares in `members`.
    limits: Vec<(f64, u32)>,
    members: Vec<u32>,
    /// For each pair the end of its limits.
    pairs: Vec<u32>,
}

impl Charges {
    /// `None` when it would be too large.
    fn new(prepared: &Prepared<'_>, steps: &Steps) -> Option<Self> {
        let suspects = prepared.chance.len();
        if suspects * suspects > MOST_SHARES {
            return None;
        }
        let shown: Vec<Vec<u32>> = steps
            .tests
            .iter()
            .map(|at| steps.left.classes(*at))
            .collect();
        let mut building = Building {
            prepared,
            charges: Self::default(),
            budget_of: HashMap::new(),
            places: Vec::new(),
        };
        for j in 1..suspects as u32 {
            for i in 0..j {
                let parted_for_sure = steps.alike[i as usize] != steps.alike[j as usize];
                if !(prepared.provable(i) || prepared.provable(j) || parted_for_sure) {
                    continue;
                }
                building.places.clear();
                for (test, shown) in shown.iter().enumerate() {
                    if shown[i as usize] != shown[j as usize] {
                        building.test(steps.left.number(steps.tests[test]), i, j);
                    }
                }
                for (k, other) in [(i, j), (j, i)] {
                    if prepared.provable(k) {
                        building.proof(k, other);
                    }
                }
                let charges = &mut building.charges;
                charges.pairs.push(charges.limits.len() as u32);
                if charges.members.len() > MOST_SHARES {
                    return None;
                }
            }
        }
        let mut charges = building.charges;
        charges.fill_budgets();
        Some(charges)
    }

    /// Scales the shares so that every budget is spent.
    fn fill_budgets(&mut self) {
        let mut sums = vec![0.0; self.budgets.len()];
        for (share, of) in self.share.iter().zip(&self.of) {
            sums[*of as usize] += share;
        }
        for (sum, budget) in sums.iter_mut().zip(&self.budgets) {
            *sum = if *sum > 0.0 { budget / *sum } else { 0.0 };
        }
        for (share, of) in self.share.iter_mut().zip(&self.of) {
            *share *= sums[*of as usize];
        }
    }

    /// Sum of the charges, and for each share how much raising it would raise that sum; a pair whose
    /// limits are nearly level counts for all of them, the more sharply the higher `sharpness`.
    fn sum(&self, slope: &mut [f64], sharpness: i32) -> f64 {
        slope.fill(0.0);
        let (mut sum, mut limit, mut member) = (0.0, 0, 0);
        let mut heights: Vec<f64> = Vec::new();
        for end in &self.pairs {
            let limits = &self.limits[limit..*end as usize];
            heights.clear();
            let mut from = member;
            for (apart, to) in limits {
                let shares = self.members[from..*to as usize].iter();
                heights.push(apart + shares.map(|m| self.share[*m as usize]).sum::<f64>());
                from = *to as usize;
            }
            let least = heights.iter().copied().fold(f64::INFINITY, f64::min);
            if least.is_finite() {
                sum += least;
            }
            if least.is_finite() && least > 0.0 {
                let mut total = 0.0;
                for height in &mut heights {
                    *height = (least / *height).powi(sharpness);
                    total += *height;
                }
                let mut from = member;
                for ((_, to), height) in limits.iter().zip(&heights) {
                    for m in &self.members[from..*to as usize] {
                        slope[*m as usize] += height / total;
                    }
                    from = *to as usize;
                }
            }
            member = limits.last().map_or(member, |(_, to)| *to as usize);
            limit = *end as usize;
        }
        sum
    }

    /// The highest sum of charges found.
    fn best(&mut self, budget: &mut Budget) -> f64 {
        let mut slope = vec![0.0; self.share.len()];
        let mut best: f64 = 0.0;
        for round in 0..ROUNDS {
            let sharpness = 8 + (round as i32).min(120);
            let sum = self.sum(&mut slope, sharpness);
            best = best.max(sum);
            budget.spend(4 * self.members.len() + 8 * self.share.len());
            if budget.is_spent() {
                break;
            }
            let rate = 1.0 / (1.0 + 0.05 * f64::from(round));
            for (share, slope) in self.share.iter_mut().zip(&slope) {
                *share *= (rate * slope).exp();
            }
            self.fill_budgets();
        }
        best
    }
}

/// A budget: minutes of a test, or the step of a place, in the name of one suspect.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Purse {
    Test(usize, u32),
    Place(usize, u32),
}

struct Building<'p, 't> {
    prepared: &'p Prepared<'t>,
    charges: Charges,
    budget_of: HashMap<Purse, u32>,
    /// Shares of places for the pair at hand: place, whose, share.
    places: Vec<(usize, u32, u32)>,
}

impl Building<'_, '_> {
    /// A share in the name of `own` for its pair with `other`, divided by chance to begin with.
    fn share(&mut self, purse: Purse, minutes: f64, own: u32, other: u32) -> u32 {
        let chance = &self.prepared.chance;
        let charges = &mut self.charges;
        let of = *self.budget_of.entry(purse).or_insert_with(|| {
            charges.budgets.push(minutes * chance[own as usize]);
            charges.budgets.len() as u32 - 1
        });
        charges.share.push(chance[other as usize]);
        charges.of.push(of);
        charges.share.len() as u32 - 1
    }

    /// Adds the shares of the places on `way` that `own` has no proof behind.
    fn places(&mut self, way: &[usize], own: u32, other: u32) {
        let held = if self.prepared.provable(own) {
            self.prepared.proof_way(own)
        } else {
            &[]
        };
        for place in way.iter().filter(|place| !held.contains(place)) {
            let known = self
                .places
                .iter()
                .find(|(p, whose, _)| p == place && *whose == own);
            let share = match known {
                Some((_, _, share)) => *share,
                None => {
                    let minutes = self.prepared.step[*place];
                    let share = self.share(Purse::Place(*place, own), minutes, own, other);
                    self.places.push((*place, own, share));
                    share
                }
            };
            self.charges.members.push(share);
        }
    }

    fn limit(&mut self, apart: f64) {
        let end = self.charges.members.len() as u32;
        self.charges.limits.push((apart, end));
    }

    fn test(&mut self, number: usize, i: u32, j: u32) {
        let prepared = self.prepared;
        let way = prepared.way(prepared.table.tests[number].place);
        for (own, other) in [(i, j), (j, i)] {
            let minutes = prepared.minutes[number];
            let share = self.share(Purse::Test(number, own), minutes, own, other);
            self.charges.members.push(share);
            self.places(way, own, other);
        }
        self.limit(0.0);
    }

    /// The failed proof of `k` parts it from `other`.
    fn proof(&mut self, k: u32, other: u32) {
        let prepared = self.prepared;
        self.places(prepared.proof_way(k), other, k);
        self.limit(prepared.failed_proof(k) * prepared.chance[other as usize]);
    }
}

impl Steps {
    /// Charges with every budget divided by the chances of the partners, without building the
    /// programme: O(suspects × what the tests show).
    fn closed_form(&self, prepared: &Prepared<'_>) -> f64 {
        let _ = prepared;
        0.0
    }
}
