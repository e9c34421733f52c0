//! What is left at some point of a plan: suspects alive, tests that still part them, places open.

use super::table::Table;
use super::turns::in_turn;
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// Suspects less likely than this share of the likeliest count as that likely.
const LEAST_SHARE: f64 = 1e-12;
/// A test is never taken to be less conclusive than this.
const MOST_INCONCLUSIVE: f64 = 0.95;

/// A map with a fixed hash: no randomness, the same order every time.
pub(crate) type Map<K, V> = HashMap<K, V, BuildHasherDefault<Mixing>>;

/// The hash of [`Map`]: quick, for keys of a few numbers that nobody chooses to clash.
#[derive(Default)]
pub(crate) struct Mixing(u64);

impl Hasher for Mixing {
    fn finish(&self) -> u64 {
        mix(self.0)
    }

    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..chunk.len()].copy_from_slice(chunk);
            self.write_u64(u64::from_le_bytes(word));
        }
    }

    fn write_u64(&mut self, word: u64) {
        // An odd multiplier: no two words after the same ones become one.
        self.0 = (self.0.rotate_left(5) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }

    fn write_u8(&mut self, word: u8) {
        self.write_u64(u64::from(word));
    }

    fn write_u16(&mut self, word: u16) {
        self.write_u64(u64::from(word));
    }

    fn write_u32(&mut self, word: u32) {
        self.write_u64(u64::from(word));
    }

    fn write_usize(&mut self, word: usize) {
        self.write_u64(word as u64);
    }
}

/// A count of elementary operations, in place of a clock: the same table always gets the same plan.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Budget {
    all: u64,
    left: u64,
}

impl Budget {
    /// About a nanosecond or two each in an optimised build.
    pub(crate) fn new(operations: u64) -> Self {
        Self {
            all: operations,
            left: operations,
        }
    }

    pub(crate) fn spend(&mut self, operations: usize) {
        self.left = self.left.saturating_sub(operations as u64);
    }

    /// Whether less than a third is left.
    pub(crate) fn is_low(self) -> bool {
        self.left < self.all / 3
    }

    pub(crate) fn is_spent(self) -> bool {
        self.left == 0
    }
}

/// The table made ready: odds as chances, ways to places as lists, minutes made sound.
pub(crate) struct Prepared<'t> {
    pub(crate) table: &'t Table,
    /// Chances of the suspects, sum 1.
    pub(crate) chance: Vec<f64>,
    /// Minutes of each test until it shows something.
    pub(crate) minutes: Vec<f64>,
    /// Minutes of each place's own step.
    pub(crate) step: Vec<f64>,
    /// Places with a step on the way to each place, itself included, outermost first.
    ways: Vec<Vec<usize>>,
    pub(crate) move_minutes: f64,
}

fn sound(minutes: f64) -> f64 {
    if minutes.is_finite() {
        minutes.max(0.0)
    } else {
        0.0
    }
}

impl<'t> Prepared<'t> {
    /// O(suspects + tests + places × nesting).
    pub(crate) fn new(table: &'t Table) -> Self {
        let highest = table.suspects.iter().map(|s| s.log_odds);
        let highest = highest
            .filter(|odds| odds.is_finite())
            .fold(f64::MIN, f64::max);
        let mut chance: Vec<f64> = table
            .suspects
            .iter()
            .map(|s| {
                if s.log_odds == f64::INFINITY {
                    1.0
                } else {
                    (s.log_odds - highest).exp().max(LEAST_SHARE) // NaN becomes the least
                }
            })
            .collect();
        let total: f64 = chance.iter().sum();
        for p in &mut chance {
            *p /= total;
        }
        let minutes = table.tests.iter().map(|test| {
            let shows_nothing = test.inconclusive.clamp(0.0, MOST_INCONCLUSIVE);
            let shows_nothing = if shows_nothing.is_nan() {
                0.0
            } else {
                shows_nothing
            };
            sound(test.minutes) / (1.0 - shows_nothing)
        });
        let step: Vec<f64> = table.places.iter().map(|p| sound(p.reach)).collect();
        let mut ways: Vec<Vec<usize>> = Vec::with_capacity(step.len());
        for (place, described) in table.places.iter().enumerate() {
            let outer = described.within.and_then(|outer| ways.get(outer));
            let mut way = outer.cloned().unwrap_or_default();
            if step[place] > 0.0 {
                way.push(place);
            }
            ways.push(way);
        }
        Self {
            table,
            chance,
            minutes: minutes.collect(),
            step,
            ways,
            move_minutes: sound(table.move_minutes),
        }
    }

    /// Places with a step on the way to `place`, outermost first.
    pub(crate) fn way(&self, place: Option<usize>) -> &[usize] {
        place
            .and_then(|place| self.ways.get(place))
            .map_or(&[], Vec::as_slice)
    }

    /// Minutes of a proof of `suspect` that succeeds, without its reach.
    pub(crate) fn proof(&self, suspect: u32) -> f64 {
        sound(self.table.suspects[suspect as usize].proof)
    }

    /// Minutes of a proof of `suspect` that fails, without its reach.
    pub(crate) fn failed_proof(&self, suspect: u32) -> f64 {
        sound(self.table.suspects[suspect as usize].failed_proof)
    }

    pub(crate) fn provable(&self, suspect: u32) -> bool {
        self.table.suspects[suspect as usize].provable
    }

    /// The way to where `suspect` is proven.
    pub(crate) fn proof_way(&self, suspect: u32) -> &[usize] {
        self.way(self.table.suspects[suspect as usize].proof_place)
    }

    /// The situation the table describes, with the tests that part suspects for sure.
    pub(crate) fn start(&self) -> Situation {
        Situation {
            left: Left::all(self.table, |class| class.sure),
            open: vec![0; self.step.len().div_ceil(64)],
            instruments: self.table.instruments.clone(),
        }
    }
}

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
#[derive(Clone, Debug)]
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
    pub(crate) fn all(table: &Table, counts: impl Fn(&super::table::Class) -> bool) -> Self {
        let suspects = table.suspects.len() as u32;
        let mut left = Self {
            suspects: (0..suspects).collect(),
            tests: Vec::with_capacity(table.tests.len()),
            stretches: Vec::new(),
        };
        for (number, test) in table.tests.iter().enumerate() {
            let mut stretches: Vec<Stretch> = Vec::new();
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
            left.push_test(number as u32, stretches.into_iter());
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
        let mut kept = Vec::new();
        rank.push(0);
        for (suspect, keep) in self.suspects.iter().zip(keep) {
            if *keep {
                kept.push(*suspect);
            }
            rank.push(kept.len() as u32);
        }
        let mut left = Self {
            suspects: kept,
            tests: Vec::new(),
            stretches: Vec::new(),
        };
        if left.suspects.len() < 2 {
            return left;
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

/// A point of a plan.
#[derive(Clone, Debug)]
pub(crate) struct Situation {
    pub(crate) left: Left,
    /// Bits of the places opened since the start.
    open: Vec<u64>,
    /// Where each instrument is.
    instruments: Vec<(u8, Option<usize>)>,
}

/// What makes two situations of one table the same, in 128 bits (mixed sums; a clash of two different
/// situations is not to be expected within any budget).
pub(crate) type Key = (u64, u64);

fn mix(value: u64) -> u64 {
    // The finaliser of SplitMix64 (Steele, Lea & Flood 2014), from memory.
    let mut z = value.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

impl Situation {
    pub(crate) fn is_open(&self, place: usize) -> bool {
        self.open[place / 64] >> (place % 64) & 1 == 1
    }

    /// Where the instruments are.
    pub(crate) fn instruments(&self) -> &[(u8, Option<usize>)] {
        &self.instruments
    }

    /// Minutes to get to the end of `way` from here.
    pub(crate) fn reach(&self, prepared: &Prepared<'_>, way: &[usize]) -> f64 {
        let closed = way.iter().filter(|place| !self.is_open(**place));
        closed.map(|place| prepared.step[*place]).sum()
    }

    /// Minutes to bring the instrument of `test` (number in the table) to it.
    pub(crate) fn bring(&self, prepared: &Prepared<'_>, test: usize) -> f64 {
        let test = &prepared.table.tests[test];
        let Some(needed) = test.instrument else {
            return 0.0;
        };
        let at_hand = self
            .instruments
            .iter()
            .any(|(instrument, place)| *instrument == needed && *place == test.place);
        if at_hand { 0.0 } else { prepared.move_minutes }
    }

    /// Minutes of a test (number in the table) taken now: its own, reach, and bringing the instrument.
    pub(crate) fn test_minutes(&self, prepared: &Prepared<'_>, test: usize) -> f64 {
        let way = prepared.way(prepared.table.tests[test].place);
        prepared.minutes[test] + self.reach(prepared, way) + self.bring(prepared, test)
    }

    /// With the places on the way of `test` open and its instrument there.
    pub(crate) fn at_test(&self, prepared: &Prepared<'_>, test: usize) -> Self {
        let test = &prepared.table.tests[test];
        let mut there = self.opened(prepared.way(test.place));
        if let Some(needed) = test.instrument {
            let at = (needed, test.place);
            match there.instruments.iter_mut().find(|(i, _)| *i == needed) {
                Some(entry) => *entry = at,
                None => there.instruments.push(at),
            }
            there.instruments.sort_unstable();
        }
        there
    }

    /// With the places on `way` open.
    pub(crate) fn opened(&self, way: &[usize]) -> Self {
        let mut there = Self {
            left: Left {
                suspects: Vec::new(),
                tests: Vec::new(),
                stretches: Vec::new(),
            },
            open: self.open.clone(),
            instruments: self.instruments.clone(),
        };
        for place in way {
            there.open[place / 64] |= 1 << (place % 64);
        }
        there
    }

    /// The same places and instruments with other suspects.
    pub(crate) fn with(&self, left: Left) -> Self {
        Self {
            left,
            open: self.open.clone(),
            instruments: self.instruments.clone(),
        }
    }

    /// Proofs one by one, in the best order, and their expected minutes.
    pub(crate) fn in_turn(&self, prepared: &Prepared<'_>) -> (Vec<u32>, f64) {
        in_turn(prepared, &self.left.suspects, |place| self.is_open(place))
    }

    pub(crate) fn key(&self) -> Key {
        let mut key = (0_u64, 0_u64);
        let mut add = |value: u64| {
            let mixed = mix(value);
            key.0 = key.0.wrapping_add(mixed);
            key.1 = key.1.wrapping_add(mix(mixed ^ 0x5851_f42d_4c95_7f2d));
        };
        for suspect in &self.left.suspects {
            add(u64::from(*suspect));
        }
        for (word, bits) in self.open.iter().enumerate() {
            if *bits != 0 {
                add(mix(*bits) ^ ((word as u64 + 1) << 40));
            }
        }
        for (instrument, place) in &self.instruments {
            let place = place.map_or(0, |place| place as u64 + 1);
            add((1 << 60) | (u64::from(*instrument) << 40) | place);
        }
        key
    }
}
