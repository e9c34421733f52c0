//! The feeds of one module that come out together, in one line or one after another: the same act as
//! unplugging the module, by other means, and judged as that.
//!
//! **Why.** A module sleeps, and lets others sleep, only with every feed out. Where its fuses share a box that
//! is mostly quicker than the way to its plug. The plan goes to the plug, because more falls silent with the
//! fuses and the proof is weaker; but each pull held against the plan by itself would be a bad check, the
//! first as what is known already, the last as what cannot be.
//!
//! **Cost.** One case reopened for each end of a run of steps that take out.

use super::{Drill, Step};
use crate::case::Case;
use crate::feeds::{Feeds, ModuleId};
use crate::ledger::Out;
use std::ops::Range;

/// Whether a step takes something out.
pub(super) fn takes_out(step: &Step) -> bool {
    let word = step.typed.split(' ').next();
    step.entry.is_some() && matches!(word, Some("pull" | "unplug"))
}

/// The one module that lost its last feed between two states, where nothing came out but on the way to it.
pub(super) fn silenced(feeds: &Feeds, before: &Out, after: &Out) -> Option<ModuleId> {
    let dead = |m: ModuleId, out: &Out| feeds.module_feeds(m).iter().all(|f| out.cuts(feeds, *f));
    let mut newly = feeds
        .modules()
        .filter(|m| dead(*m, after) && !dead(*m, before));
    let (module, None) = (newly.next()?, newly.next()) else {
        return None;
    };
    let own = feeds.module_feeds(module);
    let mut came_out = after.parts().filter(|p| !before.cuts(feeds, *p));
    came_out
        .all(|p| own.iter().any(|f| feeds.is_below(*f, p)))
        .then_some(module)
}

/// How unplugging a module is typed: by its name, and by its plug where it has one alone.
pub(super) fn unplugging(feeds: &Feeds, module: ModuleId) -> Vec<String> {
    let mut plugs = feeds.module_feeds(module).iter();
    let mut plugs: Vec<&str> = plugs
        .try_fold(Vec::new(), |mut list, feed| {
            list.push(feeds.part(*feed).plug.as_ref()?.value.as_str());
            Some(list)
        })
        .unwrap_or_default();
    plugs.dedup();
    let by_plug = plugs.first().filter(|_| plugs.len() == 1).copied();
    let names = std::iter::once(feeds.module(module).id.value.as_str()).chain(by_plug);
    names.map(|name| format!("unplug {name}")).collect()
}

impl Drill<'_> {
    /// The steps that take out one after another, with nothing read between them, around this one.
    pub(super) fn run_of(&self, index: usize) -> Range<usize> {
        let out = |step: &Step| takes_out(step);
        let before = self.steps[..index].iter().rev().take_while(|s| out(s));
        let after = self.steps[index..].iter().take_while(|s| out(s));
        index - before.count()..index + after.count().max(1)
    }

    /// A run of steps as one, where it silences one module; else `None`.
    pub(super) fn as_one(
        &self,
        run: &Range<usize>,
        before: &Case<'_>,
        after: &Case<'_>,
    ) -> Option<Step> {
        silenced(&self.setting.feeds, &before.out_now(), &after.out_now())?;
        let steps = &self.steps[run.clone()];
        let happened = steps.iter().flat_map(|s| s.happened.clone());
        Some(Step {
            minutes: steps.iter().map(|s| s.minutes).sum(),
            happened: happened.collect(),
            ..steps.last()?.clone()
        })
    }
}
