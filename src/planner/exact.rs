//! The best plan of all, for few suspects: depth first, branch and bound.
//!
//! What is known of a situation (suspects alive, places closed that still matter, where instruments
//! are as far as that matters) is kept. The bound is that of the floor, worked out for the tests that
//! may be proposed, with the first move of an instrument to a place as one more step on the way there,
//! and with the shares of the whole table filled up for the suspects that are left. The search starts
//! from the minutes of the plan that looks one step ahead: only better ones are followed.
//!
//! **Invariants.** The value returned is the optimum (`nothing_beats_the_best_plan` against a plain
//! reference). No recursion; work is counted, not timed.

use super::Step;
use super::charges::Charges;
use super::left::Left;
use super::situation::{Prepared, Situation};
use super::turns::in_turn;
use super::work::{Budget, Map};

mod bits;

use bits::{BitTest, charges, drop_dominated, masks, position_or_push, suspects};

/// Suspects at most.
pub(crate) const MOST_SUSPECTS: usize = 64;
/// Instruments told apart at most.
const MOST_INSTRUMENTS: usize = 4;
/// Where an instrument is when that does not matter, or nowhere.
const NOWHERE: u16 = u16::MAX;
/// Values closer than this are the same.
const ROUNDING: f64 = 1e-12;
/// Share of the work spent on the charges of the whole table.
const ON_CHARGES: u64 = 5;
/// That work at most.
const MOST_ON_CHARGES: u64 = 10_000_000;

/// What a plan may still depend on.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct State {
    alive: u64,
    closed: u64,
    at: [u16; MOST_INSTRUMENTS],
}

/// A step that could be taken in a state.
struct Branch {
    step: Step,
    /// Its minutes, and those its outcomes are bounded by.
    minutes: f64,
    least: f64,
    after: Vec<(f64, State, f64)>,
}

/// A state being worked out.
struct Open {
    state: State,
    /// Only plans of fewer minutes matter.
    limit: f64,
    least: f64,
    branches: Vec<Branch>,
    best: f64,
    first: Option<Step>,
    /// Branch and outcome being worked out, and the minutes of that branch so far.
    branch: usize,
    outcome: usize,
    minutes: f64,
}

/// What is known of a state.
#[derive(Clone, Copy)]
struct Value {
    minutes: f64,
    /// Whether no fewer minutes are possible and these are; else they are only a bound from below.
    exact: bool,
    /// What begins the best plan, where it is known and something parts the suspects.
    first: Option<Step>,
}

/// How a search ended.
pub(crate) enum Found {
    /// The best plan: its first step and its minutes.
    Better(Step, f64),
    /// No plan takes fewer minutes than asked for.
    NothingBetter,
    /// The work ran out; the best plan met so far, if any takes fewer minutes than asked for.
    Unknown(Option<(Step, f64)>),
}

/// The search through the plans of one table.
pub(crate) struct Search<'p, 't> {
    prepared: &'p Prepared<'t>,
    tests: Vec<BitTest>,
    /// Closed places by bit.
    places: Vec<usize>,
    /// And the bit of each place that may matter.
    bit_of: Vec<Option<u32>>,
    /// Closed places on the way to each suspect's proof.
    proof_way: Vec<u64>,
    charges: Charges,
    /// Working space of [`Charges::among`].
    scale: Vec<f64>,
    /// Numbers of the moves among the places of `charges`: instrument, station.
    moves: Vec<(usize, u16)>,
    /// The instruments and the stations they may be at, by number.
    instruments: Vec<u8>,
    stations: Vec<Option<usize>>,
    start: State,
    known: Map<State, Value>,
    budget: Budget,
}

impl<'p, 't> Search<'p, 't> {
    /// `None` when the table is too large for it.
    pub(crate) fn new(prepared: &'p Prepared<'t>, operations: u64) -> Option<Self> {
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
        let closed = if places.len() == 64 {
            u64::MAX
        } else {
            (1 << places.len()) - 1
        };
        let alive = if suspects == 64 {
            u64::MAX
        } else {
            (1 << suspects) - 1
        };
        let mut budget = Budget::new(operations);
        let on_charges = MOST_ON_CHARGES.min(operations / ON_CHARGES);
        let (charges, moves) = charges(prepared, &tests, &mut Budget::new(on_charges))?;
        budget.spend(on_charges as usize);
        let mut search = Self {
            prepared,
            tests,
            bit_of,
            places,
            proof_way,
            scale: vec![0.0; charges.budgets()],
            charges,
            moves,
            instruments,
            stations,
            start: State {
                alive,
                closed,
                at: [NOWHERE; MOST_INSTRUMENTS],
            },
            known: Map::default(),
            budget,
        };
        let mut at = search.start.at;
        for (instrument, place) in &table.instruments {
            search.put(&mut at, *instrument, *place);
        }
        search.start.at = at;
        search.start = search.plain(search.start);
        Some(search)
    }

    /// The best first step and the fewest expected minutes, if any plan takes fewer than `limit`.
    pub(crate) fn best(&mut self, limit: f64) -> Found {
        let mut open: Vec<Open> = vec![self.open(self.start, limit)];
        loop {
            if self.budget.is_spent() {
                let root = open.first();
                return Found::Unknown(root.and_then(|root| Some((root.first?, root.best))));
            }
            let Some(top) = open.last_mut() else {
                return Found::NothingBetter;
            };
            // Settle the branch at hand, or go to the next.
            let Some(branch) = top.branches.get(top.branch) else {
                let Some(done) = open.pop() else {
                    return Found::NothingBetter;
                };
                let exact = done.best < done.limit;
                let minutes = if exact {
                    done.best
                } else {
                    done.limit.max(done.least)
                };
                let first = done.first.filter(|_| exact);
                let value = Value {
                    minutes,
                    exact,
                    first,
                };
                self.known.insert(done.state, value);
                let Some(waiting) = open.last_mut() else {
                    return match done.first {
                        Some(step) if exact => Found::Better(step, done.best),
                        _ => Found::NothingBetter,
                    };
                };
                waiting.receive(minutes);
                continue;
            };
            if branch.least >= top.best {
                top.branch = top.branches.len();
            } else if top.minutes >= top.best * (1.0 - ROUNDING) {
                top.next_branch();
            } else if let Some((chance, state, least)) = branch.after.get(top.outcome) {
                let limit = least + (top.best - top.minutes) / chance;
                let (state, known) = (*state, self.known.get(state).copied());
                match known {
                    Some(value) if value.exact || value.minutes >= limit => {
                        top.receive(value.minutes);
                    }
                    _ => {
                        let next = self.open(state, limit);
                        open.push(next);
                    }
                }
            } else {
                top.best = top.minutes;
                top.first = Some(branch.step);
                top.next_branch();
            }
        }
    }

    /// The state that a situation is.
    pub(crate) fn state_of(&self, situation: &Situation) -> State {
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

    /// What begins the best plan from a state, and its minutes, where an earlier search settled it and
    /// some test parts its suspects.
    pub(crate) fn settled(&self, state: &State) -> Option<(Step, f64)> {
        let value = self.known.get(state).filter(|value| value.exact)?;
        Some((value.first?, value.minutes))
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

    fn chance(&self, alive: u64) -> f64 {
        suspects(alive).map(|s| self.prepared.chance[s]).sum()
    }

    /// Tests that part the suspects and may be proposed.
    fn parting(&self, alive: u64) -> Vec<&BitTest> {
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

    /// A bound from below on the minutes from a state, and whether they are those.
    fn bound(&mut self, state: &State) -> Value {
        if let Some(known) = self.known.get(state) {
            return *known;
        }
        let parted = !self.parting(state.alive).is_empty();
        self.budget.spend(4 * self.tests.len());
        let value = if parted {
            let chance = self.chance(state.alive);
            let mut minutes = 0.0;
            for suspect in suspects(state.alive) {
                if self.prepared.provable(suspect as u32) {
                    let reach = self.minutes_of(state.closed & self.proof_way[suspect]);
                    let proof = self.prepared.proof(suspect as u32) + reach;
                    minutes += self.prepared.chance[suspect] * proof;
                }
            }
            let (mut scale, mut budget) = (std::mem::take(&mut self.scale), self.budget);
            let places = self.prepared.step.len();
            let is_open = |place: usize| match place.checked_sub(places) {
                None => self.is_open(state, place),
                Some(moved) => {
                    let (instrument, station) = self.moves[moved];
                    state.at[instrument] == station
                }
            };
            let alive: Vec<usize> = suspects(state.alive).collect();
            minutes += self.charges.among(&alive, is_open, &mut scale, &mut budget);
            (self.scale, self.budget) = (scale, budget);
            Value {
                minutes: minutes / chance * (1.0 - ROUNDING),
                exact: false,
                first: None,
            }
        } else {
            let left: Vec<u32> = suspects(state.alive).map(|s| s as u32).collect();
            self.budget.spend(20 * left.len());
            let is_open = |place| self.is_open(state, place);
            Value {
                minutes: in_turn(self.prepared, &left, is_open).1,
                exact: true,
                first: None,
            }
        };
        self.known.insert(*state, value);
        value
    }

    /// A state to be worked out, its branches by what they take at least.
    fn open(&mut self, state: State, limit: f64) -> Open {
        let least = self.bound(&state);
        let mut open = Open {
            state,
            limit,
            least: least.minutes,
            branches: Vec::new(),
            best: limit,
            first: None,
            branch: 0,
            outcome: 0,
            minutes: 0.0,
        };
        if least.minutes >= limit {
            return open;
        }
        if least.exact {
            // No test parts them: the first proof begins the best order.
            let left: Vec<u32> = suspects(state.alive).map(|s| s as u32).collect();
            let (order, minutes) =
                in_turn(self.prepared, &left, |place| self.is_open(&state, place));
            open.best = minutes;
            open.first = order.first().map(|s| Step::Prove(*s as usize));
            return open;
        }
        let mut steps: Vec<(Step, f64, Vec<State>)> = Vec::new();
        for test in self.parting(state.alive) {
            let mut there = state;
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
        self.budget.spend(8 * steps.len() * self.tests.len());
        for (step, minutes, after) in steps {
            let outcome = |state: State| {
                let least = self.bound(&state).minutes;
                (self.chance(state.alive) / total, state, least)
            };
            let mut after: Vec<(f64, State, f64)> = after.into_iter().map(outcome).collect();
            after.sort_by(|a, b| b.0.total_cmp(&a.0));
            let least = minutes
                + after
                    .iter()
                    .map(|(chance, _, least)| chance * least)
                    .sum::<f64>();
            if least < limit {
                open.branches.push(Branch {
                    step,
                    minutes,
                    least,
                    after,
                });
            }
        }
        let order = |a: &Branch, b: &Branch| {
            let least = a.least.total_cmp(&b.least);
            least
                .then(a.minutes.total_cmp(&b.minutes))
                .then(a.step.cmp(&b.step))
        };
        open.branches.sort_by(order);
        open.begin_branch();
        open
    }
}

impl Open {
    fn begin_branch(&mut self) {
        self.outcome = 0;
        self.minutes = self
            .branches
            .get(self.branch)
            .map_or(0.0, |branch| branch.least);
    }

    fn next_branch(&mut self) {
        self.branch += 1;
        self.begin_branch();
    }

    /// Takes the minutes of the outcome at hand.
    fn receive(&mut self, minutes: f64) {
        if let Some((chance, _, least)) = self
            .branches
            .get(self.branch)
            .and_then(|branch| branch.after.get(self.outcome))
        {
            self.minutes += chance * (minutes - least);
            self.outcome += 1;
        }
    }
}
