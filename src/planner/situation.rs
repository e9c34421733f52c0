//! A table made ready, and a point of a plan: what is left, which places are open, where the instruments are.

use super::left::Left;
use super::table::Table;
use super::turns::in_turn;
use super::work::mix;
use std::cell::OnceCell;

/// Suspects less likely than this share of the likeliest count as that likely.
const LEAST_SHARE: f64 = 1e-12;
/// A test is never taken to be less conclusive than this.
const MOST_INCONCLUSIVE: f64 = 0.95;

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
    by_place: OnceCell<Vec<u32>>,
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
            by_place: OnceCell::new(),
            minutes: minutes.collect(),
            step,
            ways,
            move_minutes: sound(table.move_minutes),
        }
    }

    /// Where each test stands when they are sorted by place, then by instrument, then by number; worked out when
    /// it is first asked for. O(tests × log tests).
    pub(crate) fn by_place(&self) -> &[u32] {
        self.by_place.get_or_init(|| {
            let tests = &self.table.tests;
            let mut sorted: Vec<usize> = (0..tests.len()).collect();
            sorted.sort_by_key(|number| (tests[*number].place, tests[*number].instrument));
            let mut by_place = vec![0; sorted.len()];
            for (at, number) in sorted.into_iter().enumerate() {
                by_place[number] = at as u32;
            }
            by_place
        })
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

    /// Where `suspect` is proven.
    pub(crate) fn proof_place(&self, suspect: u32) -> Option<usize> {
        let place = self.table.suspects[suspect as usize].proof_place;
        place.filter(|place| *place < self.step.len())
    }

    /// The way there.
    pub(crate) fn proof_way(&self, suspect: u32) -> &[usize] {
        self.way(self.proof_place(suspect))
    }

    /// The place that must be open before this one.
    pub(crate) fn within(&self, place: usize) -> Option<usize> {
        self.table.places[place]
            .within
            .filter(|outer| *outer < place)
    }

    /// Minutes to bring the instrument of `test` to it, from where the instruments are.
    fn bring_from(&self, instruments: &[(u8, Option<usize>)], test: usize) -> f64 {
        let test = &self.table.tests[test];
        let Some(needed) = test.instrument else {
            return 0.0;
        };
        let at_hand = instruments
            .iter()
            .any(|(instrument, place)| *instrument == needed && *place == test.place);
        if at_hand { 0.0 } else { self.move_minutes }
    }

    /// The same at the start.
    pub(crate) fn bring_at_start(&self, test: usize) -> f64 {
        self.bring_from(&self.table.instruments, test)
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
        prepared.bring_from(&self.instruments, test)
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
            left: Left::default(),
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
