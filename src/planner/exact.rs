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
use super::situation::{Prepared, Situation};
use super::work::{Budget, Map};

mod bits;
mod states;

pub(crate) use states::State;

use states::States;

/// Values closer than this are the same.
const ROUNDING: f64 = 1e-12;
/// Share of the work spent on the charges of the whole table.
const ON_CHARGES: u64 = 5;
/// That work at most.
const MOST_ON_CHARGES: u64 = 10_000_000;

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
    states: States<'p, 't>,
    /// Working space of [`States::least`].
    scale: Vec<f64>,
    start: State,
    known: Map<State, Value>,
    budget: Budget,
}

impl<'p, 't> Search<'p, 't> {
    /// `None` when the table is too large for it.
    pub(crate) fn new(prepared: &'p Prepared<'t>, operations: u64) -> Option<Self> {
        let mut budget = Budget::new(operations);
        let on_charges = MOST_ON_CHARGES.min(operations / ON_CHARGES);
        let states = States::new(prepared, &mut Budget::new(on_charges))?;
        budget.spend(on_charges as usize);
        Some(Self {
            scale: vec![0.0; states.budgets()],
            start: states.start(),
            states,
            known: Map::default(),
            budget,
        })
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
        self.states.state_of(situation)
    }

    /// What begins the best plan from a state, and its minutes, where an earlier search settled it and
    /// some test parts its suspects.
    pub(crate) fn settled(&self, state: &State) -> Option<(Step, f64)> {
        let value = self.known.get(state).filter(|value| value.exact)?;
        Some((value.first?, value.minutes))
    }

    /// A bound from below on the minutes from a state, and whether they are those.
    fn bound(&mut self, state: &State) -> Value {
        if let Some(known) = self.known.get(state) {
            return *known;
        }
        let parted = !self.states.parting(state.alive).is_empty();
        self.budget.spend(4 * self.states.tests());
        let value = if parted {
            let (scale, budget) = (&mut self.scale, &mut self.budget);
            let least = self.states.least(state, scale, budget);
            Value {
                minutes: least * (1.0 - ROUNDING),
                exact: false,
                first: None,
            }
        } else {
            let (_, minutes) = self.states.in_turn(state);
            self.budget.spend(20 * state.alive.count_ones() as usize);
            Value {
                minutes,
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
            let (order, minutes) = self.states.in_turn(&state);
            open.best = minutes;
            open.first = order.first().map(|s| Step::Prove(*s as usize));
            return open;
        }
        let steps = self.states.steps(&state);
        let total = self.states.chance(state.alive);
        self.budget.spend(8 * steps.len() * self.states.tests());
        for (step, minutes, after) in steps {
            let outcome = |state: State| {
                let least = self.bound(&state).minutes;
                (self.states.chance(state.alive) / total, state, least)
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
