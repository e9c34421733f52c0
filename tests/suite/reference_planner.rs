//! The best plan by trying everything: slow, plain, written to be read, sharing no code with the
//! planner. For tables of up to about eight suspects.

use halfsplit::planner::Step;
use halfsplit::planner::table::{Place, Suspect, Table, Test};
use std::collections::{BTreeMap, HashMap};

/// What the reference takes for granted.
#[derive(Clone, Copy)]
pub(crate) struct Terms {
    /// Outcomes told apart only perhaps count as told apart.
    pub(crate) unsure_counts: bool,
    /// Tests that may lose the fault may be taken at any time.
    pub(crate) harm_allowed: bool,
}

/// The terms of `expected`.
pub(crate) const AS_PLANNED: Terms = Terms {
    unsure_counts: false,
    harm_allowed: false,
};

#[derive(Clone, PartialEq, Eq, Hash)]
struct State {
    alive: Vec<bool>,
    open: Vec<bool>,
    instruments: Vec<(u8, Option<usize>)>,
}

/// Fewest expected minutes until the cause is proven, over every plan there is.
pub(crate) fn optimum(table: &Table, terms: Terms) -> f64 {
    let mut oracle = Oracle {
        table,
        terms,
        memo: HashMap::new(),
    };
    let start = State {
        alive: vec![true; table.suspects.len()],
        open: table.places.iter().map(|p| p.reach == 0.0).collect(),
        instruments: table.instruments.clone(),
    };
    oracle.value(&start)
}

struct Oracle<'t> {
    table: &'t Table,
    terms: Terms,
    memo: HashMap<State, f64>,
}

impl Oracle<'_> {
    fn weight(&self, alive: &[bool]) -> f64 {
        let weights = self.table.suspects.iter().zip(alive);
        weights
            .filter(|(_, a)| **a)
            .map(|(s, _)| s.log_odds.exp())
            .sum()
    }

    /// The alive suspects by what they show.
    fn outcomes(&self, test: &Test, alive: &[bool]) -> Vec<Vec<bool>> {
        let mut shown: BTreeMap<usize, Vec<bool>> = BTreeMap::new();
        for suspect in (0..alive.len()).filter(|s| alive[*s]) {
            let class = test.classes.iter().position(|class| {
                (class.sure || self.terms.unsure_counts)
                    && class.suspects.iter().any(|r| r.contains(&(suspect as u32)))
            });
            let class = class.map_or(0, |class| class + 1);
            shown
                .entry(class)
                .or_insert_with(|| vec![false; alive.len()])[suspect] = true;
        }
        shown.into_values().collect()
    }

    /// Opens the way to a place; the minutes it takes.
    fn reach(&self, place: Option<usize>, open: &mut [bool]) -> f64 {
        let (mut minutes, mut at) = (0.0, place);
        while let Some(place) = at {
            if !open[place] {
                minutes += self.table.places[place].reach;
                open[place] = true;
            }
            at = self.table.places[place].within;
        }
        minutes
    }

    fn value(&mut self, state: &State) -> f64 {
        if let Some(known) = self.memo.get(state) {
            return *known;
        }
        let mut best = f64::INFINITY;
        let harmless = self
            .table
            .tests
            .iter()
            .any(|test| !test.harms && self.outcomes(test, &state.alive).len() > 1);
        for test in &self.table.tests {
            let outcomes = self.outcomes(test, &state.alive);
            let permitted = self.terms.harm_allowed || !test.harms || !harmless;
            if outcomes.len() > 1 && permitted {
                best = best.min(self.test(state, test, &outcomes));
            }
        }
        for suspect in 0..state.alive.len() {
            if state.alive[suspect] && self.table.suspects[suspect].provable {
                best = best.min(self.proof(state, suspect));
            }
        }
        let value = if best.is_finite() { best } else { 0.0 }; // located
        self.memo.insert(state.clone(), value);
        value
    }

    fn test(&mut self, state: &State, test: &Test, outcomes: &[Vec<bool>]) -> f64 {
        let mut there = state.clone();
        let mut minutes = self.reach(test.place, &mut there.open);
        if let Some(instrument) = test.instrument {
            let at = (instrument, test.place);
            if !there.instruments.contains(&at) {
                minutes += self.table.move_minutes;
                there.instruments.retain(|(other, _)| *other != instrument);
                there.instruments.push(at);
                there.instruments.sort_unstable();
            }
        }
        let total = self.weight(&state.alive);
        let mut after = 0.0;
        for alive in outcomes {
            let chance = self.weight(alive) / total;
            after += chance
                * self.value(&State {
                    alive: alive.clone(),
                    ..there.clone()
                });
        }
        let poor = test.inconclusive;
        if poor > 0.0 && there.open != state.open {
            // Nothing learnt, but the way is open: go on from there in whatever way is best.
            return minutes + test.minutes + poor * self.value(&there) + (1.0 - poor) * after;
        }
        // Taking it again until it shows something.
        minutes + test.minutes / (1.0 - poor) + after
    }

    fn proof(&mut self, state: &State, suspect: usize) -> f64 {
        let Suspect {
            proof,
            failed_proof,
            proof_place,
            ..
        } = self.table.suspects[suspect];
        let mut there = state.clone();
        let minutes = self.reach(proof_place, &mut there.open);
        let mut rest = state.alive.clone();
        rest[suspect] = false;
        let failed = self.weight(&rest) / self.weight(&state.alive);
        if rest.contains(&true) {
            there.alive = rest;
            minutes + (1.0 - failed) * proof + failed * (failed_proof + self.value(&there))
        } else {
            minutes + proof
        }
    }
}

/// The tables that may be met after a step, each with its chance; empty when the step proves the last
/// suspect. Suspects keep their order but not their numbers.
pub(crate) fn after(table: &Table, step: Step) -> Vec<(f64, Table)> {
    let everyone = vec![true; table.suspects.len()];
    let oracle = Oracle {
        table,
        terms: AS_PLANNED,
        memo: HashMap::new(),
    };
    let mut open: Vec<bool> = table.places.iter().map(|p| p.reach == 0.0).collect();
    let mut there = table.clone();
    let outcomes = match step {
        Step::Test(number) => {
            let test = &table.tests[number];
            oracle.reach(test.place, &mut open);
            if let Some(instrument) = test.instrument {
                there.instruments.retain(|(other, _)| *other != instrument);
                there.instruments.push((instrument, test.place));
            }
            oracle.outcomes(test, &everyone)
        }
        Step::Prove(suspect) => {
            oracle.reach(table.suspects[suspect].proof_place, &mut open);
            let mut rest = everyone.clone();
            rest[suspect] = false;
            if rest.contains(&true) {
                vec![rest]
            } else {
                Vec::new()
            }
        }
    };
    there.places = table
        .places
        .iter()
        .zip(&open)
        .map(|(place, open)| Place {
            reach: if *open { 0.0 } else { place.reach },
            within: place.within,
        })
        .collect();
    let total = oracle.weight(&everyone);
    let only = |alive: Vec<bool>| (oracle.weight(&alive) / total, only(&there, &alive));
    outcomes.into_iter().map(only).collect()
}

/// The table with some of its suspects, renumbered.
pub(crate) fn only(table: &Table, alive: &[bool]) -> Table {
    let kept: Vec<u32> = (0..alive.len() as u32)
        .filter(|s| alive[*s as usize])
        .collect();
    renumbered(table, &kept)
}

/// The table with these suspects in this order.
pub(crate) fn renumbered(table: &Table, order: &[u32]) -> Table {
    let mut new = table.clone();
    new.suspects = order
        .iter()
        .map(|s| table.suspects[*s as usize].clone())
        .collect();
    for class in new.tests.iter_mut().flat_map(|test| &mut test.classes) {
        let old = std::mem::take(&mut class.suspects);
        let shows = |s: &u32| old.iter().any(|range| range.contains(s));
        for (number, suspect) in order.iter().enumerate() {
            let number = number as u32;
            if shows(suspect) {
                match class.suspects.last_mut() {
                    Some(range) if range.end == number => range.end += 1,
                    _ => class.suspects.push(number..number + 1),
                }
            }
        }
    }
    new
}

/// Minutes of a step taken now, from its definition.
pub(crate) fn minutes(table: &Table, step: Step) -> f64 {
    let oracle = Oracle {
        table,
        terms: AS_PLANNED,
        memo: HashMap::new(),
    };
    let mut open: Vec<bool> = table.places.iter().map(|p| p.reach == 0.0).collect();
    match step {
        Step::Test(number) => {
            let test = &table.tests[number];
            let at_hand = test
                .instrument
                .is_none_or(|i| table.instruments.contains(&(i, test.place)));
            let bring = if at_hand { 0.0 } else { table.move_minutes };
            oracle.reach(test.place, &mut open) + bring + test.minutes / (1.0 - test.inconclusive)
        }
        Step::Prove(number) => {
            let suspect = &table.suspects[number];
            let mut rest = vec![true; table.suspects.len()];
            rest[number] = false;
            let failed = oracle.weight(&rest) / oracle.weight(&vec![true; rest.len()]);
            let reach = oracle.reach(suspect.proof_place, &mut open);
            reach + (1.0 - failed) * suspect.proof + failed * suspect.failed_proof
        }
    }
}
