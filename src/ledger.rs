//! The ledger: what must be true of every current, and which readings say so.
//!
//! **Model.** I(p) is the current in the feed conductor of part p, x(p) what p itself takes, and
//! I(p) = x(p) + Σ I(child) with x ≥ 0 (design, section 3). A *state* of the vehicle is the set of
//! parts that are out. For each state every I(p) has a lower and an upper end. Lower ends go up the
//! tree as sums, upper ends come down as remainders; on a tree those two sweeps are exact. States
//! are joined by what cannot differ between them (room `links`).
//!
//! **Invariants.** A bound only ever narrows. Each narrowing is a derivation appended to one
//! list, and a derivation rests on earlier ones only, so reasons have no rings. Nothing here is a
//! guess: no odds, no resting positions, no usual draws.
//!
//! **Cost.** A reading costs a few sweeps of each state that it moves, linear in the parts; between two
//! states only the bounds are compared that moved since they were compared last.

use crate::feeds::{Feeds, PartId};
use crate::interval::Interval;
use crate::quantity::Milliamps;
use std::collections::BTreeSet;

mod clash;
mod links;
mod reasons;
pub use links::Ties;
pub use reasons::{Because, Line};

/// Differences below this are rounding, in mA.
const ROUNDING: f64 = 1e-9;

/// The parts that are out, in tree order, none below another, and the inputs that are unplugged.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Out {
    parts: Vec<PartId>,
    /// By name, in order. No current flows at one, but what it holds awake sleeps without it.
    inputs: Vec<String>,
}

impl Out {
    /// The set without parts that are below others of it.
    pub fn of(feeds: &Feeds, parts: impl IntoIterator<Item = PartId>) -> Self {
        let mut kept = Vec::new();
        let mut until = 0;
        // In tree order whatever is below a part follows it at once.
        for part in parts.into_iter().collect::<BTreeSet<_>>() {
            if part.0 >= until {
                until = feeds.subtree(part).end;
                kept.push(part);
            }
        }
        Self {
            parts: kept,
            inputs: Vec::new(),
        }
    }

    /// The same with these inputs unplugged.
    pub fn with_inputs(mut self, inputs: impl IntoIterator<Item = String>) -> Self {
        self.inputs.extend(inputs);
        self.inputs.sort_unstable();
        self.inputs.dedup();
        self
    }

    /// The inputs that are unplugged, by name.
    pub fn inputs(&self) -> impl Iterator<Item = &str> {
        self.inputs.iter().map(String::as_str)
    }

    /// Whether no input is unplugged that is not in the other state too.
    pub fn has_no_more_inputs(&self, other: &Self) -> bool {
        self.inputs.iter().all(|input| other.inputs.contains(input))
    }

    /// Whether all that is out in the other state is out in this one too.
    pub fn covers(&self, feeds: &Feeds, other: &Self) -> bool {
        let mut parts = other.parts();
        parts.all(|part| self.cuts(feeds, part)) && other.has_no_more_inputs(self)
    }

    /// The parts, in tree order.
    pub fn parts(&self) -> impl Iterator<Item = PartId> + '_ {
        self.parts.iter().copied()
    }

    /// Nothing is out.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty() && self.inputs.is_empty()
    }

    /// Whether the part has lost its feed: it, or a part above it, is out.
    pub fn cuts(&self, feeds: &Feeds, part: PartId) -> bool {
        let until = self.parts.partition_point(|out| *out <= part);
        let before = until.checked_sub(1).map(|last| self.parts[last]);
        before.is_some_and(|out| feeds.is_below(part, out))
    }
}

/// What a reading says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Observed {
    /// The current in the feed conductor of a part.
    Current(PartId, Interval<Milliamps>),
    /// No voltage there: nothing passes to it or below it.
    Dead(PartId),
}

/// One reading in the state it was taken in.
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// Its number in the journal.
    pub entry: u32,
    /// What was out.
    pub out: Out,
    /// What it says.
    pub what: Observed,
}

impl Observation {
    /// Where it was read.
    pub const fn part(&self) -> PartId {
        match self.what {
            Observed::Current(part, _) | Observed::Dead(part) => part,
        }
    }
}

/// Which end of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The lower.
    Low,
    /// The upper.
    High,
}

/// Why a bound is what it is.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    /// A reading (index of the observation).
    Read(usize),
    /// The part is out in this state.
    TakenOut,
    /// Lower end: the sum of the lower ends of what it feeds.
    Sum,
    /// Upper end: what is left of the upper end above when the others have their least.
    Remainder,
    /// The same end in another state, which cannot differ.
    Same(usize),
    /// Another state's end, and what was taken out between the two (lower ends add up, upper ends
    /// add up).
    With(usize),
    /// The fall between two states at this part above, less the others that went with it.
    Fall(usize, PartId),
    /// More is out in the other state, and less cannot flow with more in.
    NoLess(usize),
}

/// One narrowing of one bound.
#[derive(Clone, Copy, Debug)]
struct Derivation {
    state: usize,
    part: PartId,
    end: End,
    value: f64,
    previous: Option<usize>,
    kind: Kind,
}

/// Lower ends, upper ends and the latest derivation of each, in one state.
#[derive(Clone, Debug)]
struct State {
    out: Out,
    low: Vec<f64>,
    high: Vec<f64>,
    low_by: Vec<Option<usize>>,
    high_by: Vec<Option<usize>>,
    /// Sum of the lower ends of what a part feeds.
    below: Vec<f64>,
    /// The parts whose bounds moved, as they moved.
    moved: Vec<PartId>,
    /// How many of these moves were swept through the state.
    swept: usize,
    /// For each other state that it was joined with, how many of these moves that one has seen.
    carried: Vec<usize>,
}

/// Bounds on every current in every state, with their reasons.
#[derive(Clone, Debug)]
pub struct Ledger<'f> {
    feeds: &'f Feeds,
    ties: &'f Ties,
    states: Vec<State>,
    derivations: Vec<Derivation>,
    observations: Vec<Observation>,
    crossed: Option<(usize, PartId)>,
}

impl<'f> Ledger<'f> {
    /// Nothing read: every current is somewhere from 0 up.
    pub fn new(feeds: &'f Feeds, ties: &'f Ties) -> Self {
        Self {
            feeds,
            ties,
            states: Vec::new(),
            derivations: Vec::new(),
            observations: Vec::new(),
            crossed: None,
        }
    }

    /// The readings posted so far.
    pub fn observations(&self) -> &[Observation] {
        &self.observations
    }

    /// Enters a reading and draws every conclusion from it.
    pub fn post(&mut self, observation: Observation) {
        let (state, mut stirred) = self.state(&observation.out);
        let index = self.observations.len();
        let what = observation.what;
        self.observations.push(observation);
        if self.crossed.is_some() {
            return;
        }
        match what {
            Observed::Current(part, current) => {
                self.narrow(state, part, End::Low, current.low(), Kind::Read(index));
                self.narrow(state, part, End::High, current.high(), Kind::Read(index));
            }
            Observed::Dead(part) => {
                self.narrow(state, part, End::High, 0.0, Kind::Read(index));
            }
        }
        stirred.insert(state);
        self.settle(stirred);
    }

    /// The vehicle was in this state, whether or not anything was read in it: what two other states
    /// share may be seen only through it.
    pub fn visit(&mut self, out: &Out) {
        let (_, stirred) = self.state(out);
        if self.crossed.is_none() {
            self.settle(stirred);
        }
    }

    /// Where the state with exactly these parts out is kept; made when it is new. With it the states
    /// whose bounds moved by that, for `settle`.
    fn state(&mut self, out: &Out) -> (usize, BTreeSet<usize>) {
        if let Some(known) = self.states.iter().position(|s| s.out == *out) {
            return (known, BTreeSet::new());
        }
        let parts = self.feeds.len();
        self.states.push(State {
            out: out.clone(),
            low: vec![0.0; parts],
            high: vec![f64::INFINITY; parts],
            low_by: vec![None; parts],
            high_by: vec![None; parts],
            below: vec![0.0; parts],
            moved: Vec::new(),
            swept: 0,
            carried: Vec::new(),
        });
        let state = self.states.len() - 1;
        for part in out.parts() {
            self.narrow(state, part, End::High, 0.0, Kind::TakenOut);
        }
        self.sweep(state);
        let mut stirred = BTreeSet::from([state]);
        for other in 0..state {
            if self.join(other, state).0 {
                stirred.insert(other);
            }
        }
        self.sweep(state);
        (state, stirred)
    }

    /// Moves a bound inwards; `true` when it moved. Nearly always it does not.
    #[inline]
    fn narrow(&mut self, state: usize, part: PartId, end: End, value: f64, kind: Kind) -> bool {
        let at = part.index();
        let bounds = &self.states[state];
        let inwards = match end {
            End::Low => value > bounds.low[at] + ROUNDING,
            End::High => value < bounds.high[at] - ROUNDING,
        };
        if inwards {
            self.set(state, part, end, value, kind);
        }
        inwards
    }

    /// A bound that moves inwards, with its reason.
    fn set(&mut self, state: usize, part: PartId, end: End, value: f64, kind: Kind) {
        let at = part.index();
        let bounds = &mut self.states[state];
        let (slot, by) = match end {
            End::Low => (&mut bounds.low[at], &mut bounds.low_by[at]),
            End::High => (&mut bounds.high[at], &mut bounds.high_by[at]),
        };
        *slot = value;
        bounds.moved.push(part);
        let previous = by.replace(self.derivations.len());
        if bounds.low[at] > bounds.high[at] + 1e-6 && self.crossed.is_none() {
            self.crossed = Some((state, part));
        }
        self.derivations.push(Derivation {
            state,
            part,
            end,
            value,
            previous,
            kind,
        });
    }

    /// The two sweeps that make one state exact: of what moved since the last ones, and what hangs on it.
    fn sweep(&mut self, state: usize) {
        let feeds = self.feeds;
        let bounds = &self.states[state];
        let mut moved = vec![false; feeds.len()];
        for part in &bounds.moved[bounds.swept..] {
            moved[part.index()] = true;
        }
        // Parts that feed something that moved.
        let mut feeding = vec![false; feeds.len()];
        for part in feeds.parts().rev() {
            let at = part.index();
            if feeding[at] {
                let low = &self.states[state].low;
                let sum = feeds.children(part).map(|child| low[child.index()]).sum();
                self.states[state].below[at] = sum;
                moved[at] |= self.narrow(state, part, End::Low, sum, Kind::Sum);
            }
            if moved[at]
                && let Some(up) = feeds.up(part)
            {
                feeding[up.index()] = true;
            }
        }
        for part in feeds.parts() {
            if let Some(up) = feeds.up(part)
                && (moved[up.index()] || feeding[up.index()])
            {
                let bounds = &self.states[state];
                let others = bounds.below[up.index()] - bounds.low[part.index()];
                let left = bounds.high[up.index()] - others.max(0.0);
                moved[part.index()] |=
                    self.narrow(state, part, End::High, left.max(0.0), Kind::Remainder);
            }
        }
        let bounds = &mut self.states[state];
        bounds.swept = bounds.moved.len();
    }

    /// Sweeps and joins until nothing moves any more (or the ends cross).
    fn settle(&mut self, mut dirty: BTreeSet<usize>) {
        // Every round narrows something; the cap only guards against creeping by rounding.
        for _ in 0..20 * self.states.len().max(1) {
            let Some(state) = dirty.pop_first() else {
                break;
            };
            self.sweep(state);
            if self.crossed.is_some() {
                break;
            }
            for other in 0..self.states.len() {
                if other == state {
                    continue;
                }
                let (here, there) = self.join(state, other);
                if there {
                    dirty.insert(other);
                }
                if here {
                    dirty.insert(state);
                }
            }
        }
    }

    /// The current in a part's feed conductor in a state. A state that nothing was read in is joined
    /// first, on a copy.
    ///
    /// Where readings clash the interval is whatever is left between the ends, in either order.
    pub fn current(&self, out: &Out, part: PartId) -> Interval<Milliamps> {
        self.view(out).current(part)
    }

    /// All currents in one state.
    pub fn view(&self, out: &Out) -> View {
        if let Some(state) = self.states.iter().find(|s| s.out == *out) {
            return View::of(state);
        }
        let mut copy = self.clone();
        let (state, stirred) = copy.state(out);
        copy.settle(stirred);
        View::of(&copy.states[state])
    }
}

/// The bounds of every current in one state.
#[derive(Clone, Debug)]
pub struct View {
    low: Vec<f64>,
    high: Vec<f64>,
    below: Vec<f64>,
}

impl View {
    fn of(state: &State) -> Self {
        Self {
            low: state.low.clone(),
            high: state.high.clone(),
            below: state.below.clone(),
        }
    }

    /// I(p).
    pub fn current(&self, part: PartId) -> Interval<Milliamps> {
        Interval::between(self.low[part.index()], self.high[part.index()])
    }

    /// x(p): what the part itself takes, beside what it feeds.
    pub fn own(&self, part: PartId) -> Interval<Milliamps> {
        let at = part.index();
        Interval::between(0.0, (self.high[at] - self.below[at]).max(0.0))
    }

    /// Takes over the bounds of a part and all below it from another state, for parts that are out
    /// here and were in there.
    pub fn take_over(&mut self, feeds: &Feeds, part: PartId, from: &Self) {
        for at in feeds.subtree(part) {
            let at = at as usize;
            self.low[at] = from.low[at];
            self.high[at] = from.high[at];
            self.below[at] = from.below[at];
        }
    }
}
