//! A simulated vehicle: it hides a fault and answers what is asked, nothing else.
//!
//! **Model.** Every load takes its sleeping draw; faults add to that. Whatever needs a choice (how
//! much each load takes, how far a fuse is off its nominal, where within its accuracy the meter
//! shows) is given by the caller as numbers, so that this room has no randomness. [`Simulated`] has no clock; [`Parked`] stands round it with one.
//!
//! **Cost.** The currents of one state are one backward loop over the parts.

use crate::feeds::{Feeds, ModuleId, NetworkId, PartId};
use crate::quantity::Milliamps;
use crate::vehicle::PartKind;
use std::collections::BTreeSet;

mod parked;
pub use parked::{Cannot, Happened, Hidden, Parked, Traps};

/// One hidden fault.
#[derive(Clone, Debug, PartialEq)]
pub enum Drain {
    /// A part takes this much: a load by itself, a leak in a splice, something on no sheet.
    Takes(PartId, Milliamps),
    /// A coil is held on and takes what the file says, else 160 mA (from memory: 150 to 180 at 12 V).
    CoilHeld(PartId),
    /// A relay's contact is closed: each load below it takes this much.
    Contact(PartId, Milliamps),
    /// A module does not sleep and holds every partner on its network awake while it has a feed.
    HeldBy(ModuleId),
}

/// A vehicle with hidden faults.
#[derive(Clone, Debug)]
pub struct Simulated<'f> {
    feeds: &'f Feeds,
    asleep: Vec<f64>,
    drains: Vec<Drain>,
}

/// Draw of a module that is held awake where the file gives none, in mA (judgement).
const AWAKE: f64 = 150.0;

impl<'f> Simulated<'f> {
    /// `share(part)` from 0 to 1 says where between the least and the most each load sleeps.
    pub fn new(feeds: &'f Feeds, drains: Vec<Drain>, mut share: impl FnMut(PartId) -> f64) -> Self {
        let asleep = feeds
            .parts()
            .map(|part| {
                let kind = feeds.part(part).kind;
                if kind != PartKind::Load {
                    return 0.0;
                }
                let (least, most) = (feeds.least(part).value(), feeds.at_most(part).value());
                least + (most - least) * share(part).clamp(0.0, 1.0)
            })
            .collect();
        Self {
            feeds,
            asleep,
            drains,
        }
    }

    /// What is hidden.
    pub fn drains(&self) -> &[Drain] {
        &self.drains
    }

    /// A fault is mended.
    pub fn mend(&mut self, drain: usize) {
        self.drains.remove(drain);
    }

    /// The modules a sleepless one keeps up, itself included.
    fn kept_up(&self, culprit: ModuleId) -> Vec<ModuleId> {
        let network: Option<NetworkId> = self.feeds.network_of(culprit);
        match network {
            Some(network) => self.feeds.partners(network).collect(),
            None => vec![culprit],
        }
    }

    /// What a module takes awake through one of its feeds: the feed's own `awake`, else an equal
    /// share of the module's.
    fn awake(&self, module: ModuleId, feed: PartId) -> f64 {
        if let Some(own) = self.feeds.part(feed).awake {
            return own.value();
        }
        let whole = self
            .feeds
            .module(module)
            .awake
            .map_or(AWAKE, Milliamps::value);
        whole / self.feeds.module_feeds(module).len().max(1) as f64
    }

    /// The current in the feed conductor of every part with these parts out, in mA, by part.
    pub fn currents(&self, out: &BTreeSet<PartId>) -> Vec<f64> {
        self.currents_while(out, |_| false)
    }

    /// The same while some modules are not asleep yet.
    pub fn currents_while(
        &self,
        out: &BTreeSet<PartId>,
        up: impl Fn(ModuleId) -> bool,
    ) -> Vec<f64> {
        let feeds = self.feeds;
        let mut fed = vec![true; feeds.len()];
        for part in feeds.parts() {
            let above = feeds.up(part).is_none_or(|up| fed[up.index()]);
            fed[part.index()] = above && !out.contains(&part);
        }
        let mut own = self.asleep.clone();
        for module in feeds.modules().filter(|module| up(*module)) {
            for feed in feeds.module_feeds(module) {
                own[feed.index()] = self.awake(module, *feed);
            }
        }
        for drain in &self.drains {
            match drain {
                Drain::Takes(part, current) => own[part.index()] += current.value(),
                Drain::CoilHeld(coil) => {
                    own[coil.index()] += feeds.part(*coil).draws.map_or(160.0, Milliamps::value);
                }
                Drain::Contact(relay, current) => {
                    for below in feeds.subtree(*relay).map(PartId) {
                        if feeds.part(below).kind == PartKind::Load {
                            own[below.index()] += current.value();
                        }
                    }
                }
                Drain::HeldBy(culprit) => {
                    let alive = |m: ModuleId| feeds.module_feeds(m).iter().any(|f| fed[f.index()]);
                    if alive(*culprit) {
                        for module in self.kept_up(*culprit) {
                            for feed in feeds.module_feeds(module) {
                                own[feed.index()] = self.awake(module, *feed);
                            }
                        }
                    }
                }
            }
        }
        let mut current = vec![0.0; feeds.len()];
        for part in feeds.parts().rev() {
            let at = part.index();
            if fed[at] {
                current[at] += own[at];
            } else {
                current[at] = 0.0;
            }
            if let Some(up) = feeds.up(part) {
                current[up.index()] += current[at];
            }
        }
        current
    }
}

/// What a display with this step and accuracy shows for a true value: `place` from −1 to 1 says where
/// within the accuracy. The shown number is a whole number of steps and never further off than the
/// accuracy allows, which is `percent` of it and `counts` steps.
pub fn shown(truth: f64, step: f64, percent: f64, counts: f64, place: f64) -> f64 {
    let allowed = |shown: f64| percent / 100.0 * shown.abs() + counts * step;
    let wished = truth + place.clamp(-1.0, 1.0) * allowed(truth);
    let mut steps = (wished / step).round();
    let nearest = (truth / step).round();
    // A step or two nearer until the number lies within its own accuracy.
    while (steps * step - truth).abs() > allowed(steps * step) && (steps - nearest).abs() >= 1.0 {
        steps += if steps > nearest { -1.0 } else { 1.0 };
    }
    // Not a negative zero.
    steps * step + 0.0
}
