//! From a bound back to the readings it rests on.

use crate::feeds::PartId;
use crate::ledger::{End, Kind, Ledger, Out};
use std::collections::{BTreeMap, BTreeSet};

/// Why a line of a reason holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Because {
    /// A reading: its number in the journal.
    Reading(u32),
    /// The part is out.
    TakenOut,
    /// What it feeds takes at least this together.
    Sum,
    /// What is left of the current above it when everything beside it takes its least.
    Remainder,
    /// The same as in another state: what was taken out or put back cannot matter here.
    Same,
    /// The current in another state, with what was taken out added or taken off.
    With,
    /// The fall when it was taken out.
    Fall,
    /// No less flows with more in.
    NoLess,
}

/// One step of a reason: a bound, why it holds, and the earlier lines it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The part whose feed current is bounded.
    pub part: PartId,
    /// What was out.
    pub out: Out,
    /// Which end.
    pub end: End,
    /// Its value in mA.
    pub value: f64,
    /// Why.
    pub because: Because,
    /// Indices of the lines before it that it rests on.
    pub from: Vec<usize>,
}

impl Ledger<'_> {
    /// The latest derivation of a bound made before number `before`.
    fn latest(&self, state: usize, part: PartId, end: End, before: usize) -> Option<usize> {
        let by = match end {
            End::Low => &self.states[state].low_by,
            End::High => &self.states[state].high_by,
        };
        let mut at = by[part.index()];
        while let Some(number) = at.filter(|n| *n >= before) {
            at = self.derivations[number].previous;
        }
        at
    }

    /// The derivations one rests on.
    fn premises(&self, number: usize) -> Vec<usize> {
        let it = self.derivations[number];
        let (state, part) = (it.state, it.part);
        let mut wanted: Vec<(usize, PartId, End)> = Vec::new();
        let other = |end: End| match end {
            End::Low => End::High,
            End::High => End::Low,
        };
        let taken = |more: usize, less: usize, above: PartId| -> Vec<PartId> {
            let less = &self.states[less].out;
            self.states[more]
                .out
                .parts()
                .filter(|p| !less.cuts(self.feeds, *p) && self.feeds.is_below(*p, above))
                .collect()
        };
        match it.kind {
            Kind::Read(_) | Kind::TakenOut => {}
            Kind::Sum => {
                for child in self.feeds.children(part) {
                    wanted.push((state, child, End::Low));
                }
            }
            Kind::Remainder => {
                if let Some(up) = self.feeds.up(part) {
                    wanted.push((state, up, End::High));
                    for beside in self.feeds.children(up).filter(|c| *c != part) {
                        wanted.push((state, beside, End::Low));
                    }
                }
            }
            Kind::Same(there) | Kind::NoLess(there) => wanted.push((there, part, it.end)),
            Kind::With(there) => {
                wanted.push((there, part, it.end));
                let out_here = taken(there, state, part);
                let (within, ends) = if out_here.is_empty() {
                    (there, other(it.end))
                } else {
                    (state, it.end)
                };
                let beyond = if within == state { there } else { state };
                for part in taken(beyond, within, part) {
                    wanted.push((within, part, ends));
                }
            }
            Kind::Fall(beyond, above) => {
                wanted.push((state, above, it.end));
                wanted.push((beyond, above, other(it.end)));
                for beside in taken(beyond, state, above) {
                    if beside != part {
                        wanted.push((state, beside, other(it.end)));
                    }
                }
            }
        }
        wanted
            .into_iter()
            .filter_map(|(state, part, end)| self.latest(state, part, end, number))
            .collect()
    }

    /// Every derivation a bound rests on, itself included, earliest first.
    fn grounds(&self, roots: &[usize]) -> BTreeSet<usize> {
        let mut seen: BTreeSet<usize> = roots.iter().copied().collect();
        let mut left = roots.to_vec();
        while let Some(number) = left.pop() {
            for premise in self.premises(number) {
                if seen.insert(premise) {
                    left.push(premise);
                }
            }
        }
        seen
    }

    /// The indices of the readings that bounds rest on.
    pub(super) fn readings_behind(&self, state: usize, part: PartId) -> BTreeSet<usize> {
        let roots: Vec<usize> = [End::Low, End::High]
            .into_iter()
            .filter_map(|end| self.latest(state, part, end, usize::MAX))
            .collect();
        self.grounds(&roots)
            .into_iter()
            .filter_map(|number| match self.derivations[number].kind {
                Kind::Read(index) => Some(index),
                _ => None,
            })
            .collect()
    }

    /// The arithmetic behind one end of I(part) in a state: lines in order, each resting on earlier
    /// ones, the last being the bound itself. Empty where the bound is only "not negative" or "not
    /// bounded". A state that nothing was read in is joined first, on a copy.
    pub fn why(&self, out: &Out, part: PartId, end: End) -> Vec<Line> {
        if let Some(state) = self.states.iter().position(|s| s.out == *out) {
            return self.lines(state, part, end);
        }
        let mut copy = self.clone();
        let (state, stirred) = copy.state(out);
        copy.settle(stirred);
        copy.lines(state, part, end)
    }

    fn lines(&self, state: usize, part: PartId, end: End) -> Vec<Line> {
        let Some(root) = self.latest(state, part, end, usize::MAX) else {
            return Vec::new();
        };
        let numbers = self.grounds(&[root]);
        let line_of: BTreeMap<usize, usize> = numbers
            .iter()
            .enumerate()
            .map(|(line, number)| (*number, line))
            .collect();
        numbers
            .iter()
            .map(|number| {
                let it = self.derivations[*number];
                Line {
                    part: it.part,
                    out: self.states[it.state].out.clone(),
                    end: it.end,
                    value: it.value,
                    because: match it.kind {
                        Kind::Read(index) => Because::Reading(self.observations[index].entry),
                        Kind::TakenOut => Because::TakenOut,
                        Kind::Sum => Because::Sum,
                        Kind::Remainder => Because::Remainder,
                        Kind::Same(_) => Because::Same,
                        Kind::With(_) => Because::With,
                        Kind::Fall(..) => Because::Fall,
                        Kind::NoLess(_) => Because::NoLess,
                    },
                    from: self
                        .premises(*number)
                        .into_iter()
                        .filter_map(|premise| line_of.get(&premise).copied())
                        .collect(),
                }
            })
            .collect()
    }
}
