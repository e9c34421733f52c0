//! The linear programme behind the floor: charges on pairs within budgets, raised by exponentiated
//! gradient. Argument: [`super::floor()`].

use super::work::{Budget, Map};

mod building;

/// No pair: it carries no charge.
const NO_PAIR: u32 = u32::MAX;
/// Rounds at most: the last of a doubling.
const ROUNDS: u32 = 511;
/// Rounds end when the last doubling of them raised the sum by less than this share.
const SETTLED: f64 = 2e-5;
/// Slopes below count as none.
const NO_RISE: f64 = 1e-6;
/// A share shrinks in one round to no less than this, before roots.
const LEAST_SHIFT: f64 = 0.01;

/// A suspect, or suspects kept together.
pub(crate) struct Item {
    pub(crate) chance: f64,
    /// Places it has no budget for.
    pub(crate) held: Vec<usize>,
    /// Places of whose budget it keeps a share for itself.
    pub(crate) shared: Vec<usize>,
    /// What parts it from others apart from the tests listed.
    pub(crate) alone: Vec<Alone>,
}

/// Something that parts an item from others, paid by whichever other is the cause.
pub(crate) struct Alone {
    /// Minutes for each unit of the other's chance.
    pub(crate) minutes: f64,
    /// Places on the way to it.
    pub(crate) way: Vec<usize>,
    /// Done only for pairs that no other test parts.
    pub(crate) last: bool,
}

/// A test that parts items.
pub(crate) struct Parting {
    pub(crate) minutes: f64,
    /// Places not open on its way, outermost first.
    pub(crate) way: Vec<usize>,
    /// Each item's class.
    pub(crate) shown: Vec<u32>,
    /// The same as far as it is told apart for sure.
    pub(crate) told: Vec<u32>,
    /// Taken only for pairs that no other test parts.
    pub(crate) last: bool,
}

/// Leaves out tests that show the same as another that takes no longer and lies on their way.
pub(crate) fn undominated(tests: Vec<Parting>) -> Vec<Parting> {
    let mut alike: Map<Vec<u32>, Vec<usize>> = Map::default();
    for (at, test) in tests.iter().enumerate() {
        let mut names: Vec<u32> = Vec::new();
        let shown = test.shown.iter().map(|class| {
            let known = names.iter().position(|n| n == class);
            known.unwrap_or_else(|| {
                names.push(*class);
                names.len() - 1
            }) as u32
        });
        alike.entry(shown.collect()).or_default().push(at);
    }
    let mut beaten = vec![false; tests.len()];
    for group in alike.into_values() {
        for at in &group {
            let test = &tests[*at];
            beaten[*at] = group.iter().any(|other| {
                let (other_at, other) = (*other, &tests[*other]);
                let no_more = other.minutes <= test.minutes && test.way.starts_with(&other.way);
                let no_more = no_more && other.last <= test.last;
                let same = other.minutes >= test.minutes && test.way == other.way;
                let same = same && other.last == test.last;
                other_at != *at && no_more && (!same || other_at < *at)
            });
        }
    }
    let kept = tests.into_iter().zip(beaten);
    kept.filter(|(_, beaten)| !beaten)
        .map(|(test, _)| test)
        .collect()
}

/// The programme, sparse.
#[derive(Default)]
pub(crate) struct Charges {
    /// Each share, and the budget it is a share of. Half as long as other numbers, for half the memory;
    /// what that rounds is taken off the floor.
    share: Vec<f32>,
    of: Vec<u32>,
    budgets: Vec<f64>,
    /// The place each budget is for; `None` for a test.
    place: Vec<Option<usize>>,
    /// For each limit of a charge: what it has apart from shares, and the end of its shares in `members`.
    limits: Vec<(f64, u32)>,
    members: Vec<u32>,
    /// For each pair the end of its limits.
    pairs: Vec<u32>,
    /// And the end of its shares.
    shares: Vec<u32>,
    /// The pair of the items i < j at j (j − 1) / 2 + i, or [`NO_PAIR`].
    pair_at: Vec<u32>,
}

impl Charges {
    /// Scales the shares so that every budget is spent.
    fn fill_budgets(&mut self) {
        let mut sums = vec![0.0; self.budgets.len()];
        for (share, of) in self.share.iter().zip(&self.of) {
            sums[*of as usize] += f64::from(*share);
        }
        self.scale_to_budgets(&mut sums);
    }

    /// The same where the sum of the shares of each budget is known.
    fn scale_to_budgets(&mut self, sums: &mut [f64]) {
        for (sum, budget) in sums.iter_mut().zip(&self.budgets) {
            *sum = if *sum > 0.0 { budget / *sum } else { 0.0 };
        }
        for (share, of) in self.share.iter_mut().zip(&self.of) {
            *share = (f64::from(*share) * sums[*of as usize]) as f32;
        }
    }

    /// Sum of the charges, and for each share how much raising it would raise that sum; a pair whose
    /// limits are nearly level counts for all of them, the more sharply the more `doublings`: each by
    /// its lowness to the power of 2 to that.
    fn sum(&self, slope: &mut [f32], doublings: u32) -> f64 {
        slope.fill(0.0);
        let (mut sum, mut limit, mut member) = (0.0, 0, 0);
        let mut heights: Vec<f64> = Vec::new();
        for end in &self.pairs {
            let limits = &self.limits[limit..*end as usize];
            limit = *end as usize;
            let first = member;
            heights.resize(limits.len(), 0.0);
            let mut least = f64::INFINITY;
            for (height, (apart, to)) in heights.iter_mut().zip(limits) {
                let shares = self.members[member..*to as usize].iter();
                let share = |m: &u32| f64::from(self.share[*m as usize]);
                *height = apart + shares.map(share).sum::<f64>();
                least = least.min(*height);
                member = *to as usize;
            }
            if !least.is_finite() {
                continue;
            }
            sum += least;
            if least <= 0.0 {
                continue;
            }
            for height in &mut heights {
                *height = least / *height;
            }
            for _ in 0..doublings {
                for height in &mut heights {
                    *height *= *height;
                }
            }
            let total: f64 = heights.iter().sum();
            let mut from = first;
            for ((_, to), height) in limits.iter().zip(&heights) {
                // The lowest counts 1, so the total is no less, and most need not be divided by it.
                if *height > NO_RISE {
                    let rise = height / total;
                    if rise > NO_RISE {
                        for m in &self.members[from..*to as usize] {
                            slope[*m as usize] += rise as f32;
                        }
                    }
                }
                from = *to as usize;
            }
        }
        sum
    }

    /// Moves each budget towards the shares that raise the sum most: each by its slope over the mean
    /// slope of its budget, after `roots` square roots.
    fn shift(&mut self, slope: &[f32], roots: u32) {
        let root = |mut value: f64| {
            for _ in 0..roots {
                value = value.sqrt();
            }
            value
        };
        let mut mean = vec![0.0; self.budgets.len()];
        let shares = self.share.iter().zip(&self.of).zip(slope);
        for ((share, of), slope) in shares {
            mean[*of as usize] += f64::from(share * slope);
        }
        for (mean, budget) in mean.iter_mut().zip(&self.budgets) {
            *mean = if *mean > 0.0 { budget / *mean } else { 0.0 };
        }
        let least = root(LEAST_SHIFT);
        let mut sums = vec![0.0; self.budgets.len()];
        let shares = self.share.iter_mut().zip(&self.of).zip(slope);
        for ((share, of), slope) in shares {
            let of = *of as usize;
            if mean[of] > 0.0 {
                let by = f64::from(*slope) * mean[of];
                let by = if by > LEAST_SHIFT { root(by) } else { least };
                *share = (f64::from(*share) * by) as f32;
            }
            sums[of] += f64::from(*share);
        }
        self.scale_to_budgets(&mut sums);
    }

    /// Sum of the charges of the pairs of the items `alive`, ascending, where the places that `is_open`
    /// holds for are open already: the shares of those pairs fill the budgets. `scale` is all 0 before
    /// and after, one for each of [`Charges::budgets`]. O(terms of those pairs).
    pub(crate) fn among(
        &self,
        alive: &[usize],
        is_open: impl Fn(usize) -> bool,
        scale: &mut [f64],
        budget: &mut Budget,
    ) -> f64 {
        let from = |ends: &[u32], at: usize| at.checked_sub(1).map_or(0, |before| ends[before]);
        let mut pairs: Vec<usize> = Vec::new();
        for (at, j) in alive.iter().enumerate() {
            let of_j = &self.pair_at[j * j.saturating_sub(1) / 2..];
            let wanted = alive[..at].iter().map(|i| of_j[*i]);
            pairs.extend(
                wanted
                    .filter(|pair| *pair != NO_PAIR)
                    .map(|pair| pair as usize),
            );
        }
        let mut touched: Vec<u32> = Vec::new();
        for pair in &pairs {
            for share in from(&self.shares, *pair)..self.shares[*pair] {
                let (share, of) = (self.share[share as usize], self.of[share as usize]);
                if scale[of as usize] == 0.0 {
                    touched.push(of);
                }
                scale[of as usize] += f64::from(share).max(f64::MIN_POSITIVE);
            }
        }
        for of in &touched {
            let of = *of as usize;
            let open = self.place[of].is_some_and(&is_open);
            scale[of] = if open {
                0.0
            } else {
                self.budgets[of] / scale[of]
            };
        }
        let (mut sum, mut terms) = (0.0, 2 * pairs.len() + 3 * touched.len());
        for pair in pairs {
            let mut least = f64::INFINITY;
            for limit in from(&self.pairs, pair)..self.pairs[pair] {
                let limit = limit as usize;
                let (apart, to) = self.limits[limit];
                let from = limit.checked_sub(1).map_or(0, |l| self.limits[l].1);
                let members = &self.members[from as usize..to as usize];
                terms += 2 * members.len() + 1;
                let shares = members.iter().map(|m| {
                    let share = *m as usize;
                    f64::from(self.share[share]) * scale[self.of[share] as usize]
                });
                least = least.min(apart + shares.sum::<f64>());
            }
            if least.is_finite() {
                sum += least;
            }
        }
        for of in touched {
            scale[of as usize] = 0.0;
        }
        budget.spend(terms);
        sum
    }

    /// How many budgets there are.
    pub(crate) fn budgets(&self) -> usize {
        self.budgets.len()
    }

    /// The highest sum of charges found within the budget; its shares are kept. How sharply level limits
    /// are told apart doubles with the rounds, while the steps get shorter by as much (tried out on
    /// invented vehicles of 10 to 800 loads; every choice is valid).
    pub(crate) fn best(&mut self, budget: &mut Budget) -> f64 {
        let mut slope = vec![0.0_f32; self.share.len()];
        let (mut best, mut before): (f64, f64) = (0.0, 0.0);
        let mut kept = self.share.clone();
        for round in 0..ROUNDS {
            let doublings = (round + 2).ilog2();
            let sum = self.sum(&mut slope, doublings);
            if sum > best {
                best = sum;
                kept.clone_from(&self.share);
            }
            if (round + 2).is_power_of_two() {
                if best - before < SETTLED * best {
                    break;
                }
                before = best;
            }
            budget.spend(4 * self.members.len() + 8 * self.share.len() + self.limits.len());
            if budget.is_spent() {
                break;
            }
            self.shift(&slope, doublings - 1);
        }
        self.share = kept;
        best
    }
}
