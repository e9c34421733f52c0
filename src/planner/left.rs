//! The suspects alive and the tests that still part them.

use super::table::{Class, Table};
use super::work::mix;

/// A run of suspects (positions in [`Left::suspects`]) that shows one class, never class 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) from: u32,
    pub(crate) to: u32,
    pub(crate) class: u32,
}

/// The suspects alive and the tests that still part them.
///
/// Stretches of a test are sorted, disjoint and not empty; every test listed parts at least two of
/// the suspects (checked in `tests/suite/planner.rs` through the plans it makes).
#[derive(Clone, Debug, Default)]
pub(crate) struct Left {
    /// Numbers in the table, ascending.
    pub(crate) suspects: Vec<u32>,
    /// Number in the table, and the end of its stretches in `stretches` (they start where the one
    /// before ends).
    tests: Vec<(u32, u32)>,
    stretches: Vec<Stretch>,
}

impl Left {
    /// Everything in the table, with the classes that `counts` accepts.
    pub(crate) fn all(table: &Table, counts: impl Fn(&Class) -> bool) -> Self {
        let suspects = table.suspects.len() as u32;
        let mut left = Self {
            suspects: (0..suspects).collect(),
            tests: Vec::with_capacity(table.tests.len()),
            stretches: Vec::new(),
        };
        let mut stretches: Vec<Stretch> = Vec::new();
        for (number, test) in table.tests.iter().enumerate() {
            for (class, described) in test.classes.iter().enumerate() {
                if counts(described) {
                    stretches.extend(described.suspects.iter().map(|range| Stretch {
                        from: range.start.min(suspects),
                        to: range.end.min(suspects),
                        class: class as u32 + 1,
                    }));
                }
            }
            stretches.sort_by_key(|s| (s.from, s.class));
            let mut reached = 0;
            for stretch in &mut stretches {
                stretch.from = stretch.from.max(reached);
                reached = reached.max(stretch.to);
            }
            left.push_test(number as u32, stretches.drain(..));
        }
        left
    }

    /// Adds a test unless it parts nothing.
    fn push_test(&mut self, number: u32, stretches: impl Iterator<Item = Stretch>) {
        let first = self.stretches.len();
        let (mut covered, mut several) = (0, false);
        for stretch in stretches.filter(|s| s.from < s.to) {
            covered += stretch.to - stretch.from;
            several |= self.stretches[first..]
                .first()
                .is_some_and(|s| s.class != stretch.class);
            match self.stretches[first..].last_mut() {
                Some(last) if last.to == stretch.from && last.class == stretch.class => {
                    last.to = stretch.to;
                }
                _ => self.stretches.push(stretch),
            }
        }
        if several || (covered > 0 && (covered as usize) < self.suspects.len()) {
            self.tests.push((number, self.stretches.len() as u32));
        } else {
            self.stretches.truncate(first);
        }
    }

    /// How many tests are listed.
    pub(crate) fn tests(&self) -> usize {
        self.tests.len()
    }

    /// The number in the table of the test listed at `at`.
    pub(crate) fn number(&self, at: usize) -> usize {
        self.tests[at].0 as usize
    }

    /// Its stretches.
    pub(crate) fn stretches(&self, at: usize) -> &[Stretch] {
        let from = at.checked_sub(1).map_or(0, |before| self.tests[before].1);
        &self.stretches[from as usize..self.tests[at].1 as usize]
    }

    /// A number for each suspect that two share when no test listed parts them; two that are parted may
    /// share one, but not before 2⁶⁴ pairs make that likely. O(suspects + stretches).
    pub(crate) fn signatures(&self) -> Vec<u64> {
        // What begins and what ends at each position.
        let mut change = vec![0_u64; self.suspects.len() + 1];
        for at in 0..self.tests() {
            for stretch in self.stretches(at) {
                let shown = mix(mix(at as u64) ^ u64::from(stretch.class));
                let (from, to) = (stretch.from as usize, stretch.to as usize);
                change[from] = change[from].wrapping_add(shown);
                change[to] = change[to].wrapping_sub(shown);
            }
        }
        let mut sum = 0_u64;
        let each = change.iter().take(self.suspects.len());
        each.map(|change| {
            sum = sum.wrapping_add(*change);
            sum
        })
        .collect()
    }

    /// Chances up to each suspect: one more than there are suspects.
    pub(crate) fn sums(&self, chance: &[f64]) -> Vec<f64> {
        let mut sums = Vec::with_capacity(self.suspects.len() + 1);
        let mut sum = 0.0;
        sums.push(sum);
        for suspect in &self.suspects {
            sum += chance[*suspect as usize];
            sums.push(sum);
        }
        sums
    }

    /// Weight of the pairs the test listed at `at` parts: Σ over pairs of classes of the products of
    /// their chances. `sums` from [`Left::sums`].
    pub(crate) fn pairs_parted(&self, at: usize, sums: &[f64]) -> f64 {
        let stretches = self.stretches(at);
        let total = sums[sums.len() - 1];
        let weight = |s: &Stretch| sums[s.to as usize] - sums[s.from as usize];
        let first = stretches[0].class;
        if stretches.iter().all(|s| s.class == first) {
            let shown: f64 = stretches.iter().map(weight).sum();
            return shown * (total - shown).max(0.0);
        }
        let mut classes: Vec<(u32, f64)> = stretches.iter().map(|s| (s.class, weight(s))).collect();
        classes.sort_by_key(|(class, _)| *class);
        classes.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            kept.1 += if same { next.1 } else { 0.0 };
            same
        });
        let (mut before, mut pairs) = (0.0, 0.0);
        for (_, shown) in classes {
            pairs += before * shown;
            before += shown;
        }
        pairs + before * (total - before).max(0.0)
    }

    /// Each suspect's class in the test listed at `at`.
    pub(crate) fn classes(&self, at: usize) -> Vec<u32> {
        let mut classes = vec![0; self.suspects.len()];
        for stretch in self.stretches(at) {
            classes[stretch.from as usize..stretch.to as usize].fill(stretch.class);
        }
        classes
    }

    /// The class that the suspect at a position shows in the test listed at `at`. O(log stretches).
    pub(crate) fn class_of(&self, at: usize, position: u32) -> u32 {
        let stretches = self.stretches(at);
        let before = stretches.partition_point(|s| s.from <= position);
        let last = before.checked_sub(1).map(|last| stretches[last]);
        last.filter(|s| position < s.to).map_or(0, |s| s.class)
    }

    /// Only the suspects at the positions where `keep` holds, and of the tests accepted by `counts`
    /// (position in the list) those that still part them. O(suspects + stretches).
    pub(crate) fn only(&self, keep: &[bool], counts: impl Fn(usize) -> bool) -> Self {
        let mut rank = Vec::with_capacity(keep.len() + 1);
        let mut kept = Vec::with_capacity(keep.len());
        rank.push(0);
        for (suspect, keep) in self.suspects.iter().zip(keep) {
            if *keep {
                kept.push(*suspect);
            }
            rank.push(kept.len() as u32);
        }
        kept.shrink_to_fit();
        let most = kept.len() * 2 >= keep.len();
        let mut left = Self {
            suspects: kept,
            tests: Vec::new(),
            stretches: Vec::new(),
        };
        if left.suspects.len() < 2 {
            return left;
        }
        if most {
            left.tests.reserve_exact(self.tests.len());
            left.stretches.reserve_exact(self.stretches.len());
        }
        for at in (0..self.tests()).filter(|at| counts(*at)) {
            let moved = self.stretches(at).iter().map(|s| Stretch {
                from: rank[s.from as usize],
                to: rank[s.to as usize],
                class: s.class,
            });
            left.push_test(self.tests[at].0, moved);
        }
        left
    }

    /// Only these tests (positions in the list), for suspects kept together that all of them show the
    /// same for: runs of neighbours, with the chance of each. `sums` from [`Left::sums`]; O(n log n) in
    /// the stretches of these tests.
    pub(crate) fn as_seen_by(&self, mut tests: Vec<usize>, sums: &[f64]) -> (Self, Vec<f64>) {
        tests.sort_unstable();
        tests.dedup();
        let stretches = tests.iter().flat_map(|at| self.stretches(*at));
        let ends = stretches.flat_map(|stretch| [stretch.from, stretch.to]);
        let mut ends: Vec<u32> = ends.chain([0, self.suspects.len() as u32]).collect();
        ends.sort_unstable();
        ends.dedup();
        let chance = |pair: &[u32]| sums[pair[1] as usize] - sums[pair[0] as usize];
        let chances: Vec<f64> = ends.windows(2).map(chance).collect();
        let mut seen = Self {
            suspects: (0..chances.len() as u32).collect(),
            tests: Vec::with_capacity(tests.len()),
            stretches: Vec::new(),
        };
        let run = |position: u32| ends.partition_point(|end| *end < position) as u32;
        for at in tests {
            let moved = self.stretches(at).iter().map(|s| Stretch {
                from: run(s.from),
                to: run(s.to),
                class: s.class,
            });
            seen.push_test(self.tests[at].0, moved);
        }
        (seen, chances)
    }

    /// What is left after each outcome of the test listed at `at`, by class.
    pub(crate) fn outcomes(&self, at: usize, counts: impl Fn(usize) -> bool) -> Vec<(u32, Self)> {
        let shown = self.classes(at);
        let mut present = shown.clone();
        present.sort_unstable();
        present.dedup();
        let after = |class: u32| {
            let keep: Vec<bool> = shown.iter().map(|c| *c == class).collect();
            (class, self.only(&keep, &counts))
        };
        present.into_iter().map(after).collect()
    }

    /// Chance of the suspects left, of all suspects in the table.
    pub(crate) fn weight(&self, chance: &[f64]) -> f64 {
        self.suspects.iter().map(|s| chance[*s as usize]).sum()
    }

    /// Roughly the operations of one pass over it.
    pub(crate) fn size(&self) -> usize {
        16 + self.suspects.len() + 2 * self.tests.len() + self.stretches.len()
    }
}
