//! What a plan may still depend on, what may be done there, and what that takes at least.

use super::bits::{BitTest, charges, drop_dominated, masks, position_or_push, suspects};
use crate::planner::Step;
use crate::planner::charges::Charges;
use crate::planner::left::Left;
use crate::planner::situation::{Prepared, Situation};
use crate::planner::turns::in_turn;
use crate::planner::work::Budget;

/// Suspects at most.
const MOST_SUSPECTS: usize = 64;
/// Instruments told apart at most.
const MOST_INSTRUMENTS: usize = 4;
/// Where an instrument is when that does not matter, or nowhere.
const NOWHERE: u16 = u16::MAX;

/// What a plan may still depend on.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct State {
    pub(super) alive: u64,
    closed: u64,
    at: [u16; MOST_INSTRUMENTS],
}

/// The states of one table, and the ways from one to another.
pub(super) struct States<'p, 't> {
    prepared: &'p Prepared<'t>,
    tests: Vec<BitTest>,
    /// Closed places by bit.
    places: Vec<usize>,
    /// And the bit of each place that may matter.
    bit_of: Vec<Option<u32>>,
    /// Closed places on the way to each suspect's proof.
    proof_way: Vec<u64>,
    charges: Charges,
    /// Numbers of the moves among the places of `charges`: instrument, station.
    moves: Vec<(usize, u16)>,
    /// The instruments and the stations they may be at, by number.
    instruments: Vec<u8>,
    stations: Vec<Option<usize>>,
}

impl<'p, 't> States<'p, 't> {
    /// `None` when the table is too large for it, or its charges for the budget.
    pub(super) fn new(prepared: &'p Prepared<'t>, budget: &mut Budget) -> Option<Self> {
        let table = prepared.table;
        let suspects = table.suspects.len();
        if suspects == 0 || suspects > MOST_SUSPECTS {
            return None;
        }
        let left = Left::all(table, |class| class.sure);
        let mut places: Vec<usize> = Vec::new();
        let mut bits = |way: &[usize]| {
            let mut mask = 0_u64;
            for place in way {
                let known = places.iter().position(|p| p == place);
                let bit = known.unwrap_or_else(|| {
                    places.push(*place);
                    places.len() - 1
                });
                mask |= 1_u64.checked_shl(bit as u32).unwrap_or(0);
            }
            mask
        };
        let proof_way: Vec<u64> = (0..suspects)
            .map(|s| {
                if prepared.provable(s as u32) {
                    bits(prepared.proof_way(s as u32))
                } else {
                    0
                }
            })
            .collect();
        let mut instruments: Vec<u8> = Vec::new();
        let mut stations: Vec<Option<usize>> = Vec::new();
        let mut tests: Vec<BitTest> = Vec::new();
        for at in 0..left.tests() {
            let number = left.number(at);
            let test = &table.tests[number];
            let needs = test
                .instrument
                .filter(|_| prepared.move_minutes > 0.0)
                .map(|instrument| {
                    (
                        position_or_push(&mut instruments, instrument),
                        position_or_push(&mut stations, test.place) as u16,
                    )
                });
            tests.push(BitTest {
                number,
                minutes: prepared.minutes[number],
                way: bits(prepared.way(test.place)),
                needs,
                shown: masks(&left.classes(at)),
                harms: test.harms,
            });
        }
        if places.len() > 64 || instruments.len() > MOST_INSTRUMENTS {
            return None;
        }
        let mut bit_of = vec![None; prepared.step.len()];
        for (bit, place) in places.iter().enumerate() {
            bit_of[*place] = Some(bit as u32);
        }
        drop_dominated(&mut tests);
        let (charges, moves) = charges(prepared, &tests, budget)?;
        Some(Self {
            prepared,
            tests,
            places,
            bit_of,
            proof_way,
            charges,
            moves,
            instruments,
            stations,
        })
    }

    /// Where the table begins.
    pub(super) fn start(&self) -> State {
        let all = |count: usize| match count {
            64 => u64::MAX,
            count => (1 << count) - 1,
        };
        let mut start = State {
            alive: all(self.prepared.table.suspects.len()),
            closed: all(self.places.len()),
            at: [NOWHERE; MOST_INSTRUMENTS],
        };
        for (instrument, place) in &self.prepared.table.instruments {
            self.put(&mut start.at, *instrument, *place);
        }
        self.plain(start)
    }

    /// How many tests there are.
    pub(super) fn tests(&self) -> usize {
        self.tests.len()
    }

    /// How many budgets the charges have.
    pub(super) fn budgets(&self) -> usize {
        self.charges.budgets()
    }

    /// The state that a situation is.
    pub(super) fn state_of(&self, situation: &Situation) -> State {
        let mut state = State {
            alive: 0,
            closed: 0,
            at: [NOWHERE; MOST_INSTRUMENTS],
        };
        for suspect in &situation.left.suspects {
            state.alive |= 1 << suspect;
        }
        for (bit, place) in self.places.iter().enumerate() {
            state.closed |= u64::from(!situation.is_open(*place)) << bit;
        }
        for (instrument, place) in situation.instruments() {
            self.put(&mut state.at, *instrument, *place);
        }
        self.plain(state)
    }

    /// Notes where an instrument is, as far as that may matter.
    fn put(&self, at: &mut [u16; MOST_INSTRUMENTS], instrument: u8, place: Option<usize>) {
        let slot = self.instruments.iter().position(|i| *i == instrument);
        let station = self.stations.iter().position(|s| *s == place);
        if let (Some(slot), Some(station)) = (slot, station) {
            at[slot] = station as u16;
        }
    }

    fn is_open(&self, state: &State, place: usize) -> bool {
        let bit = self.bit_of.get(place).copied().flatten();
        bit.is_none_or(|bit| state.closed >> bit & 1 == 0)
    }

    fn minutes_of(&self, mut closed: u64) -> f64 {
        let mut minutes = 0.0;
        while closed != 0 {
            minutes += self.prepared.step[self.places[closed.trailing_zeros() as usize]];
            closed &= closed - 1;
        }
        minutes
    }

    /// How likely it is one of these.
    pub(super) fn chance(&self, alive: u64) -> f64 {
        suspects(alive).map(|s| self.prepared.chance[s]).sum()
    }

    /// Tests that part the suspects and may be proposed.
    pub(super) fn parting(&self, alive: u64) -> Vec<&BitTest> {
        let parts = |test: &&BitTest| {
            let first = test.shown.iter().find(|shown| *shown & alive != 0);
            first.is_some_and(|shown| shown & alive != alive)
        };
        let all: Vec<&BitTest> = self.tests.iter().filter(parts).collect();
        let harmless = all.iter().any(|test| !test.harms);
        all.into_iter()
            .filter(|test| !harmless || !test.harms)
            .collect()
    }

    /// The state without what no longer matters.
    fn plain(&self, mut state: State) -> State {
        let mut matters = 0;
        let mut at = [NOWHERE; MOST_INSTRUMENTS];
        let parts = |test: &&BitTest| {
            let first = test.shown.iter().find(|shown| *shown & state.alive != 0);
            first.is_some_and(|shown| shown & state.alive != state.alive)
        };
        for test in self.tests.iter().filter(parts) {
            matters |= test.way;
            if let Some((instrument, station)) = test.needs
                && state.at[instrument] == station
            {
                at[instrument] = station;
            }
        }
        for suspect in suspects(state.alive) {
            matters |= self.proof_way[suspect];
        }
        state.closed &= matters;
        state.at = at;
        state
    }

    /// Expected minutes that no plan from a state can beat, by what is spent anyway and the charges of the pairs
    /// that are left. `scale` is all 0 before and after, one for each of [`States::budgets`].
    pub(super) fn least(&self, state: &State, scale: &mut [f64], budget: &mut Budget) -> f64 {
        let chance = self.chance(state.alive);
        let mut minutes = 0.0;
        for suspect in suspects(state.alive) {
            if self.prepared.provable(suspect as u32) {
                let reach = self.minutes_of(state.closed & self.proof_way[suspect]);
                let proof = self.prepared.proof(suspect as u32) + reach;
                minutes += self.prepared.chance[suspect] * proof;
            }
        }
        let places = self.prepared.step.len();
        let is_open = |place: usize| match place.checked_sub(places) {
            None => self.is_open(state, place),
            Some(moved) => {
                let (instrument, station) = self.moves[moved];
                state.at[instrument] == station
            }
        };
        let alive: Vec<usize> = suspects(state.alive).collect();
        minutes += self.charges.among(&alive, is_open, scale, budget);
        minutes / chance
    }

    /// Proofs one by one in the best order, and their expected minutes.
    pub(super) fn in_turn(&self, state: &State) -> (Vec<u32>, f64) {
        let left: Vec<u32> = suspects(state.alive).map(|s| s as u32).collect();
        in_turn(self.prepared, &left, |place| self.is_open(state, place))
    }

    /// What can be done in a state where some test parts the suspects: the step, its minutes, and the states
    /// after it.
    pub(super) fn steps(&self, state: &State) -> Vec<(Step, f64, Vec<State>)> {
        let mut steps: Vec<(Step, f64, Vec<State>)> = Vec::new();
        for test in self.parting(state.alive) {
            let mut there = *state;
            there.closed &= !test.way;
            let mut minutes = test.minutes + self.minutes_of(state.closed & test.way);
            if let Some((instrument, station)) = test.needs
                && state.at[instrument] != station
            {
                minutes += self.prepared.move_minutes;
                there.at[instrument] = station;
            }
            let shown = test.shown.iter().map(|shown| shown & state.alive);
            let after = shown.filter(|alive| *alive != 0);
            let after = after.map(|alive| {
                let mut next = there;
                next.alive = alive;
                self.plain(next)
            });
            steps.push((Step::Test(test.number), minutes, after.collect()));
        }
        let total = self.chance(state.alive);
        for suspect in suspects(state.alive) {
            let number = suspect as u32;
            if !self.prepared.provable(number) {
                continue;
            }
            let chance = self.prepared.chance[suspect] / total;
            let reach = self.minutes_of(state.closed & self.proof_way[suspect]);
            let proof = chance * self.prepared.proof(number);
            let failed = (1.0 - chance) * self.prepared.failed_proof(number);
            let after = self.plain(State {
                alive: state.alive & !(1 << suspect),
                closed: state.closed & !self.proof_way[suspect],
                at: state.at,
            });
            steps.push((Step::Prove(suspect), reach + proof + failed, vec![after]));
        }
        steps
    }
}
