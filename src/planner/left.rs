//! The suspects alive and the tests that still part them.

use super::table::{Class, Table};
use super::work::mix;

/// Neighbours (positions in [`Left::suspects`]) that go into one group when suspects are parted.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Run {
    pub(crate) from: u32,
    pub(crate) to: u32,
    pub(crate) group: u32,
}

/// A run of suspects (positions in [`Left::suspects`]) that shows one class, never class 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) from: u32,
    pub(crate) to: u32,
    pub(crate) class: u32,
}

/// What is left of a group that is being gathered, and how many suspects it is to have.
#[derive(Clone, Default)]
struct Growing {
    left: Left,
    size: u32,
    /// Of the test that is being listed.
    shown: Shown,
}

/// What a test that is being listed shows so far.
#[derive(Clone, Debug, Default)]
struct Shown {
    /// Its first stretch.
    first: usize,
    /// How many suspects its stretches cover.
    covered: u32,
    /// Whether they show more than one class.
    several: bool,
}

/// The suspects alive and the tests that still part them.
///
/// Stretches of a test are sorted, disjoint and not empty; every test listed parts at least two of
/// the suspects (checked in `tests/suite/planner.rs` through the plans it makes).
#[derive(Clone, Debug, Default)]
pub(crate) struct Left {
    /// Numbers in the table, ascending.
    pub(crate) suspects: Vec<u32>,
    /// Number in the table, ascending, and the end of its stretches in `stretches` (they start where the
    /// one before ends).
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
        let mut shown = self.begin();
        for stretch in stretches.filter(|s| s.from < s.to) {
            self.show(&mut shown, stretch);
        }
        self.list(number, &shown);
    }

    /// Before the first stretch of a test that is to be listed.
    fn begin(&self) -> Shown {
        Shown {
            first: self.stretches.len(),
            covered: 0,
            several: false,
        }
    }

    /// One more stretch of it, not empty and behind those before.
    fn show(&mut self, shown: &mut Shown, stretch: Stretch) {
        shown.covered += stretch.to - stretch.from;
        let own = &mut self.stretches[shown.first..];
        shown.several |= own.first().is_some_and(|s| s.class != stretch.class);
        match own.last_mut() {
            Some(last) if last.to == stretch.from && last.class == stretch.class => {
                last.to = stretch.to;
            }
            _ => self.stretches.push(stretch),
        }
    }

    /// Lists the test, unless it parts nothing.
    fn list(&mut self, number: u32, shown: &Shown) {
        let parts_some = shown.covered > 0 && (shown.covered as usize) < self.suspects.len();
        if shown.several || parts_some {
            self.tests.push((number, self.stretches.len() as u32));
        } else {
            self.stretches.truncate(shown.first);
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

    /// Where the test of that number is listed. O(log tests).
    pub(crate) fn listed(&self, number: usize) -> Option<usize> {
        let listed = self
            .tests
            .binary_search_by_key(&number, |test| test.0 as usize);
        listed.ok()
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

    /// What is left of each of so many groups, with the tests that part it. Runs are sorted and disjoint;
    /// whoever is in none of them is left out. All groups in one pass: O(suspects + tests × log runs), and one
    /// more for each run that a stretch covers.
    pub(crate) fn parted(&self, runs: &[Run], groups: usize) -> impl Iterator<Item = Self> {
        let mut parted: Vec<Growing> = vec![Growing::default(); groups];
        let mut ranks = Vec::with_capacity(runs.len());
        for run in runs {
            let group = &mut parted[run.group as usize];
            ranks.push(group.size);
            group.size += run.to - run.from;
        }
        for group in &mut parted {
            let size = group.size as usize;
            group.left.suspects.reserve_exact(size);
            if size > 1 {
                // Of runs that lie within each other or apart no more than twice as many differ.
                let (tests, stretches) = (self.tests.len(), self.stretches.len());
                group.left.tests.reserve_exact(tests.min(2 * size));
                group.left.stretches.reserve_exact(stretches.min(2 * size));
            }
        }
        for run in runs {
            let suspects = &self.suspects[run.from as usize..run.to as usize];
            let left = &mut parted[run.group as usize].left;
            left.suspects.extend_from_slice(suspects);
        }
        let mut touched: Vec<usize> = Vec::new();
        let first_run = |stretch: &Stretch| runs.partition_point(|run| run.to <= stretch.from);
        for (at, (number, _)) in self.tests.iter().enumerate() {
            let stretches = self.stretches(at);
            // Most tests are one stretch within one run.
            if let [stretch] = stretches
                && let first = first_run(stretch)
                && let Some(run) = runs.get(first).filter(|run| stretch.to <= run.to)
                && run.from <= stretch.from
            {
                let Growing { left, shown, size } = &mut parted[run.group as usize];
                if stretch.to - stretch.from < *size {
                    let from = stretch.from - run.from + ranks[first];
                    left.stretches.push(Stretch {
                        from,
                        to: from + stretch.to - stretch.from,
                        class: stretch.class,
                    });
                    left.tests.push((*number, left.stretches.len() as u32));
                    *shown = left.begin();
                }
                continue;
            }
            for stretch in stretches {
                let first = first_run(stretch);
                let ranked = runs[first..].iter().zip(&ranks[first..]);
                for (run, rank) in ranked.take_while(|(run, _)| run.from < stretch.to) {
                    let Growing { left, shown, size } = &mut parted[run.group as usize];
                    // Nothing parts one alone.
                    if *size < 2 {
                        continue;
                    }
                    if shown.covered == 0 {
                        touched.push(run.group as usize);
                    }
                    let piece = Stretch {
                        from: stretch.from.max(run.from) - run.from + rank,
                        to: stretch.to.min(run.to) - run.from + rank,
                        class: stretch.class,
                    };
                    left.show(shown, piece);
                }
            }
            for group in touched.drain(..) {
                let Growing { left, shown, .. } = &mut parted[group];
                left.list(*number, shown);
                *shown = left.begin();
            }
        }
        parted.into_iter().map(|group| group.left)
    }

    /// What is left without the suspect at a position.
    pub(crate) fn without(&self, position: usize) -> Self {
        let (at, all) = (position as u32, self.suspects.len() as u32);
        let run = |from, to| Run { from, to, group: 0 };
        let rest = [run(0, at), run(at + 1, all)];
        self.parted(&rest, 1).next().unwrap_or_default()
    }

    /// Only these tests (positions in the list), for suspects kept together that all of them show the
    /// same for: runs of neighbours, with the chance of each. `sums` from [`Left::sums`]; O(n log n) in
    /// the stretches of these tests.
    pub(crate) fn as_seen_by(&self, mut tests: Vec<usize>, sums: &[f64]) -> (Self, Vec<f64>) {
        tests.sort_unstable();
        tests.dedup();
        let mut ends: Vec<u32> = Vec::with_capacity(2 * tests.len() + 2);
        ends.extend([0, self.suspects.len() as u32]);
        for at in &tests {
            let stretches = self.stretches(*at).iter();
            ends.extend(stretches.flat_map(|stretch| [stretch.from, stretch.to]));
        }
        ends.sort_unstable();
        ends.dedup();
        let chance = |pair: &[u32]| sums[pair[1] as usize] - sums[pair[0] as usize];
        let chances: Vec<f64> = ends.windows(2).map(chance).collect();
        let mut seen = Self {
            suspects: (0..chances.len() as u32).collect(),
            tests: Vec::with_capacity(tests.len()),
            stretches: Vec::with_capacity(tests.len()),
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
    pub(crate) fn outcomes(&self, at: usize) -> Vec<(u32, Self)> {
        // First with the class in place of the group; class 0 between the stretches.
        let stretches = self.stretches(at);
        let mut runs: Vec<Run> = Vec::with_capacity(2 * stretches.len() + 1);
        let mut reached = 0;
        for stretch in stretches {
            let (from, to, group) = (stretch.from, stretch.to, stretch.class);
            let between = Run {
                from: reached,
                to: from,
                group: 0,
            };
            runs.extend([between, Run { from, to, group }]);
            reached = to;
        }
        runs.push(Run {
            from: reached,
            to: self.suspects.len() as u32,
            group: 0,
        });
        runs.retain(|run| run.from < run.to);
        let mut present: Vec<u32> = runs.iter().map(|run| run.group).collect();
        present.sort_unstable();
        present.dedup();
        for run in &mut runs {
            run.group = present.partition_point(|class| *class < run.group) as u32;
        }
        let lefts = self.parted(&runs, present.len());
        present.into_iter().zip(lefts).collect()
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
