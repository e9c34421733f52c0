//! Which way a reading leans that could not tell.
//!
//! **Model.** A reading bounds the current, and within its bounds the value it says is likelier than the
//! ends: errors spread about it with its standard uncertainty (JCGM 100:2008, from memory). So where the
//! current with the drain and the one without it both lie within the bounds, the nearer is the likelier.
//! How much that moves the odds is held to [`MOST`]: the errors of one meter and of one make of fuse go
//! together, and what only leans must not become a verdict.

use super::fold::Now;
use super::regions::Region;
use crate::feeds::{Feeds, PartId};
use crate::interval::Interval;
use crate::suspects::{Because, Moved, Suspect};
use std::collections::BTreeMap;

/// How much a reading moves the odds at most (judgement).
const MOST: f64 = 3.0;
/// The same of a fall, of which both draws were read by one jack (judgement).
const MOST_BY_A_FALL: f64 = 20.0;
/// How likely a current far from what was read is, against one that was read (judgement: a wrong reading
/// now and then).
const FAR_OFF: f64 = 0.05;
/// A reading that moves the odds by no more than this share leans nowhere.
const SAID: f64 = 0.05;

/// By how much the last reading at a part moves the odds of what sits at it or below.
#[derive(Clone, Debug)]
pub(super) struct Leaning(BTreeMap<PartId, Moved>);

impl Leaning {
    /// O(readings).
    pub(super) fn of(now: &Now<'_>, region: &Region) -> Self {
        let mut by_part = BTreeMap::new();
        let most = now.total(&now.base()).map_or(region.needed, Interval::high);
        let mut lean = |part: PartId, (best, standard): (f64, f64), at_most: f64| {
            let healthy = now.setting.healthy.draw(part);
            let usual = f64::midpoint(healthy.low(), healthy.high());
            let likely = |current: f64| {
                let off = (current - best) / standard.max(1e-9);
                FAR_OFF + (-0.5 * off * off).exp()
            };
            // The drain takes what is needed at least, and all there is at most.
            let with_it = best.clamp(usual + region.needed, usual + most.max(region.needed));
            let by = likely(with_it) / likely(usual);
            by_part.insert(part, by.clamp(1.0 / at_most, at_most));
        };
        // What fell with it out flowed there; what was read there says it better.
        for (part, fell) in now.best_falls() {
            lean(part, fell, MOST_BY_A_FALL);
        }
        for (part, read) in now.best_values() {
            // The total is what is sought.
            if part != PartId(0) {
                lean(part, read, MOST);
            }
        }
        by_part.retain(|_, by| (*by - 1.0).abs() > SAID);
        let moved = by_part.into_iter().map(|(part, by)| {
            let because = Because::Leans(part);
            (part, Moved { by, because })
        });
        Self(moved.collect())
    }

    /// What moves a suspect: the nearest reading above it; nothing one that sits at no part. O(depth).
    pub(super) fn of_suspect(&self, feeds: &Feeds, suspect: &Suspect) -> Option<Moved> {
        if self.0.is_empty() {
            return None;
        }
        let mut upward = std::iter::successors(suspect.seat(), |part| feeds.up(*part));
        upward.find_map(|part| self.0.get(&part).copied())
    }
}
