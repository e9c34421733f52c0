//! Inputs that hold modules awake (a latch, a switch): looked at before anything is taken out that silences
//! such a module, and proven like any part, by their own connector.
//!
//! **Why here.** No current is lost at an input, so the search has no test of its own for it and would end
//! at the module that reads it. Whoever follows the hints of a drill must not be wrong for that.
//!
//! **Cost.** One pass over the entries a question.

use super::Drill;
use crate::case::{Entry, Shown, TestPlan};
use crate::feeds::{ModuleId, Named, PartId};
use crate::journal::{Act, Point, Seen};
use crate::measurement::Method;

/// What an input asks for next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum InputStep {
    /// To be looked at, before what it may hold awake is silenced.
    Look(String),
    /// It is on: its connector comes out.
    Unplug(String),
    /// Until the draw falls no further.
    Wait,
    /// The draw, with it out or back in.
    Draw,
    /// Its connector goes back in.
    Refit(String),
    /// It was on, without it the draw fell, with it it returned.
    Proven(String),
}

impl InputStep {
    /// What is typed for it; nothing where it is the answer that is due.
    pub fn typed(&self) -> Option<String> {
        match self {
            Self::Look(input) => Some(format!("look {input}")),
            Self::Unplug(input) => Some(format!("unplug {input}")),
            Self::Wait => Some("asleep".to_owned()),
            Self::Draw => Some("draw".to_owned()),
            Self::Refit(input) => Some(format!("refit {input}")),
            Self::Proven(_) => None,
        }
    }
}

impl Drill<'_> {
    /// What the inputs ask for before the step of the plan, if anything.
    pub(super) fn input_step(&self, planned: Option<&TestPlan>) -> Option<InputStep> {
        let seen = |input: &str| self.looked_at(input);
        let feeds = &self.setting.feeds;
        // One that is a part of the tree comes out, and is proven, as that.
        let is_bare = |input: &str| !matches!(feeds.find(input), Some(Named::Part(_)));
        let bare = || feeds.inputs().filter(|(input, _)| is_bare(input));
        let mut inputs = bare().map(|(name, _)| name);
        if let Some(on) = inputs.find(|input| seen(input) == Some(Seen::Yes)) {
            return self.proof_step(on);
        }
        let modules = self.silenced_by(planned?);
        let mut unseen = bare().filter(|(input, held)| {
            seen(input).is_none() && held.iter().any(|module| modules.contains(module))
        });
        unseen
            .next()
            .map(|(input, _)| InputStep::Look(input.to_owned()))
    }

    /// The next step of the proof that an input which is on is the cause; `None` where it failed.
    fn proof_step(&self, input: &str) -> Option<InputStep> {
        if self.input_proven(input).is_ok() {
            return Some(InputStep::Proven(input.to_owned()));
        }
        let entries = self.case.entries();
        let moved =
            |entry: &Entry| matches!(&entry.act, Act::Unplug(_) | Act::Pull(_) | Act::Refit(_));
        let last_moved = entries
            .iter()
            .rev()
            .find(|e| moved(e))
            .map_or(0, |e| e.number);
        let is_out = self.input_is_out(input, u32::MAX);
        let was_out = entries.iter().any(|e| takes_out(&e.act, input));
        let settled = self.case.is_asleep();
        let read = self
            .draws()
            .any(|draw| draw.entry > last_moved && draw.asleep);
        match (is_out, was_out) {
            (false, false) => Some(InputStep::Unplug(input.to_owned())),
            (_, true) if !read && !settled => Some(InputStep::Wait),
            (_, true) if !read => Some(InputStep::Draw),
            (true, _) => Some(InputStep::Refit(input.to_owned())),
            (false, true) => None,
        }
    }

    /// Every total that was read.
    fn draws(&self) -> impl Iterator<Item = &Shown> {
        let shown = self.case.readings().iter();
        shown.filter(|shown| shown.method == Method::Draw)
    }

    /// What was last seen at an input.
    fn looked_at(&self, input: &str) -> Option<Seen> {
        let entries = self.case.entries().iter().rev();
        let mut looks = entries.filter_map(|entry| match &entry.act {
            Act::Look {
                point: Point::Input(name),
                seen,
                ..
            } if name == input => Some(*seen),
            _ => None,
        });
        looks.next()
    }

    /// Whether an input was out when this entry was made.
    pub(super) fn input_is_out(&self, input: &str, entry: u32) -> bool {
        let before = self.case.entries().iter().take_while(|e| e.number < entry);
        before.fold(false, |out, entry| match &entry.act {
            act if takes_out(act, input) => true,
            Act::Refit(points) if points.is_empty() || names(points, input) => false,
            _ => out,
        })
    }

    /// The modules that lose a feed by a step, and their partners: one of them may be held awake.
    fn silenced_by(&self, step: &TestPlan) -> Vec<ModuleId> {
        let feeds = &self.setting.feeds;
        if !matches!(step.method, Method::Pull | Method::Unplug) {
            return Vec::new();
        }
        let of = |name: &String| match feeds.find(name) {
            Some(Named::Module(module)) => feeds.module_feeds(*module).to_vec(),
            Some(Named::Part(part)) => vec![*part],
            Some(Named::Plug(parts)) => parts.clone(),
            _ => Vec::new(),
        };
        let taken = step.points.iter().flat_map(of);
        let cut = taken.flat_map(|part| feeds.subtree(part).map(PartId));
        let own = cut.filter_map(|part| feeds.module_of(part));
        let with_partners = own.flat_map(|module| match feeds.network_of(module) {
            Some(network) => feeds.partners(network).collect(),
            None => vec![module],
        });
        with_partners.collect()
    }
}

fn names(points: &[Point], input: &str) -> bool {
    let is_it = |point: &Point| matches!(point, Point::Input(name) if name == input);
    points.iter().any(is_it)
}

fn takes_out(act: &Act, input: &str) -> bool {
    matches!(act, Act::Unplug(points) | Act::Pull(points) if names(points, input))
}
