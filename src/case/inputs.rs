//! Inputs that hold modules awake: a latch that says open, a switch that sticks. No current flows at one, so no
//! reading parts it from the module that reads it: it is looked at, and proven by its own connector.
//!
//! One that is a part of the tree comes out, and is proven, as that.

use super::facts::{Draw, TakenOut, Trial};
use super::fold::Now;
use super::weights::Odds;
use crate::feeds::{Feeds, Named, PartId};
use crate::journal::{Point, Seen};
use crate::ledger::Out;
use crate::measurement::Method;
use crate::suspects::{Cause, Subject, Suspect};

impl TakenOut {
    /// The name of an input that is no part of the tree, and so carries nothing.
    pub(super) fn input(&self) -> Option<&str> {
        match &self.point {
            Point::Input(name) if self.parts.is_empty() => Some(name),
            _ => None,
        }
    }

    /// Whether it is out in that state, by itself or with what feeds it.
    pub(super) fn is_out_in(&self, feeds: &Feeds, out: &Out) -> bool {
        match self.input() {
            Some(name) => out.inputs().any(|input| input == name),
            None => self.parts.iter().all(|part| out.cuts(feeds, *part)),
        }
    }
}

/// All these out.
pub(crate) fn all_out<'a>(feeds: &Feeds, taken: impl Iterator<Item = &'a TakenOut>) -> Out {
    let (mut parts, mut inputs) = (Vec::new(), Vec::new());
    for one in taken {
        parts.extend_from_slice(&one.parts);
        inputs.extend(one.input().map(str::to_owned));
    }
    Out::of(feeds, parts).with_inputs(inputs)
}

/// The input that a suspect is, where it is no part of the tree.
pub(super) fn bare_input<'a>(feeds: &Feeds, suspect: &'a Suspect) -> Option<&'a str> {
    match &suspect.subject {
        Subject::Input(name) if !matches!(feeds.find(name), Some(Named::Part(_))) => Some(name),
        _ => None,
    }
}

impl Now<'_> {
    /// Something beside the tree was looked at: an input, or whether a network is busy.
    pub(super) fn looked_beside(&mut self, point: &Point, seen: Seen) {
        if matches!(point, Point::Input(_) | Point::Network(_)) {
            let name = self.name(point);
            self.taken.insert((Method::Look, name.clone()));
            self.seen_beside.insert(name, seen);
        }
    }

    /// Whether an input was seen to be sound, or was out and nothing fell.
    pub(super) fn is_input_cleared(&self, name: &str) -> bool {
        self.inputs_cleared.contains(name) || self.seen_beside.get(name) == Some(&Seen::No)
    }

    /// Whether a suspect is an input that can be looked at and was not.
    pub(super) fn is_to_be_looked_at(&self, index: usize) -> bool {
        let feeds = &self.setting.feeds;
        bare_input(feeds, &self.setting.suspects[index]).is_some_and(|name| {
            let test = (Method::Look, name.to_owned());
            !self.taken.contains(&test) && !self.is_skipped(Method::Look, name)
        })
    }

    /// The input to look at before a suspect is taken out in this way, which would silence it too.
    pub(super) fn input_before(&self, odds: &Odds, index: usize, parts: &[PartId]) -> Option<&str> {
        let suspects = self.setting.suspects.iter().enumerate();
        let mut rivals = suspects.filter(|(other, _)| {
            *other != index
                && self.is_to_be_looked_at(*other)
                && odds.rivals(self, index, *other, parts)
        });
        rivals.find_map(|(_, input)| bare_input(&self.setting.feeds, input))
    }

    /// What was seen beside the tree that speaks for a suspect, or against it: at the input itself, or that
    /// the network of all that it holds up is silent.
    pub(super) fn seen_of(&self, suspect: &Suspect) -> Option<Seen> {
        let feeds = &self.setting.feeds;
        if let Some(seen) = bare_input(feeds, suspect).and_then(|name| self.seen_beside.get(name)) {
            return Some(*seen);
        }
        if suspect.cause != Cause::HoldsAwake {
            return None;
        }
        let raised = suspect.raises.iter().map(|(part, _)| *part);
        let networks = raised.map(|part| feeds.network_of(feeds.module_of(part)?));
        let silent = |network| self.seen_beside.get(feeds.network(network)) == Some(&Seen::No);
        let mut networks = networks.peekable();
        let known = networks.peek().is_some();
        (known && networks.all(|network| network.is_some_and(silent))).then_some(Seen::No)
    }

    /// The draw with just one input out beside what is proven: it fell, and its proof begins, or it did not.
    /// `false` where it is not just one input.
    pub(super) fn judge_input(&mut self, draw: &Draw, extra: &[TakenOut], first: u32) -> bool {
        let [taken] = extra else { return false };
        let Some(name) = taken.input().map(str::to_owned) else {
            return false;
        };
        let base = self.base();
        let both = self.total(&base).zip(self.total(&draw.out));
        let Some((before, without)) = both else {
            return true;
        };
        let fell = before.minus(without);
        if fell.low() < self.judged_base().matters() {
            self.inputs_cleared.insert(name);
            return true;
        }
        self.trial = Some(Trial {
            cause: Cause::HoldsAwake,
            subject: Subject::Input(name),
            taken: extra.to_vec(),
            before,
            without,
            fell,
            draws: [first, draw.entry],
        });
        true
    }

    /// Whether an input that is out beside what is proven may be why the draw fell, and not the parts.
    pub(super) fn an_input_may_be_it(&self, extra: &[TakenOut]) -> bool {
        let mut inputs = extra.iter().filter_map(TakenOut::input);
        inputs.any(|name| !self.is_input_cleared(name))
    }
}

/// The input that is out, where nothing else is.
pub(super) fn one_input_out(beside: &[&TakenOut]) -> Option<Subject> {
    let [one] = beside else { return None };
    one.input().map(|name| Subject::Input(name.to_owned()))
}

/// The parts of what is taken out, of which there are none for an input.
pub(super) fn parts_of(taken: &[TakenOut]) -> Vec<PartId> {
    taken.iter().flat_map(|one| one.parts.clone()).collect()
}
