//! A simulated vehicle: it hides a fault and answers what is asked, nothing else.
//!
//! **Model.** Every load takes its sleeping draw; faults add to that. Whatever needs a choice (how
//! much each load takes, how far a fuse is off its nominal, where within its accuracy the meter
//! shows) is given by the caller as numbers, so that this room has no randomness. [`Simulated`] has no clock; [`Parked`] stands round it with one.
//!
//! A contact that rests open passes nothing on, unless its coil is energised, or it is welded: it is
//! where something hidden behind it draws and its coil is dead. One that rests closed opens when its coil
//! is energised. Where the file gives no rest the contact is taken for closed. What stands behind a
//! contact that a held coil closes is taken to be off by its own switch: what it would take running the
//! file does not say. A module behind a closed contact is not woken by it.
//!
//! **Cost.** The currents of one state are one backward loop over the parts, and a forward one for each
//! relay that is fed through another.

use crate::feeds::{Feeds, ModuleId, Named, PartId};
use crate::quantity::Milliamps;
use crate::vehicle::{PartKind, Rest};
use std::collections::BTreeSet;

mod parked;
pub use parked::{Cannot, Happened, Hidden, Parked, Traps, is_plain_resistance};

/// One hidden fault.
#[derive(Clone, Debug, PartialEq)]
pub enum Drain {
    /// A part takes this much: a load by itself, a leak in a splice, something on no sheet.
    Takes(PartId, Milliamps),
    /// A coil is held on by what commands it and takes what the file says, else 160 mA (from memory: 150
    /// to 180 at 12 V). It lets go where that has lost its feeds or is out.
    CoilHeld(PartId),
    /// The control wire of a coil touches earth: it stays on whatever has become of what commands it.
    WireShorted(PartId),
    /// A relay's contact is closed: each load below it takes this much.
    Contact(PartId, Milliamps),
    /// A module does not sleep and holds every partner on its network awake while it has a feed.
    HeldBy(ModuleId),
    /// An input, by its name, holds the modules awake that it wakes, and with each its partners, while
    /// that module has a feed: a latch that says open, a switch that sticks.
    Input(String),
}

impl Drain {
    /// The part that takes current by itself, or through which others do.
    fn seat(&self) -> Option<PartId> {
        match self {
            Self::Takes(part, _)
            | Self::CoilHeld(part)
            | Self::WireShorted(part)
            | Self::Contact(part, _) => Some(*part),
            Self::HeldBy(_) | Self::Input(_) => None,
        }
    }
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

    /// The modules that a drain keeps up, itself included, where these parts have their feed.
    fn kept_up(&self, drain: &Drain, fed: &[bool]) -> Vec<ModuleId> {
        let feeds = self.feeds;
        let alive = |m: &ModuleId| feeds.module_feeds(*m).iter().any(|f| fed[f.index()]);
        let holders: Vec<ModuleId> = match drain {
            Drain::HeldBy(module) => vec![*module],
            Drain::Input(name) => held_by(feeds, name),
            _ => Vec::new(),
        };
        let holders = holders.into_iter().filter(alive);
        let kept = holders.flat_map(|holder| match feeds.network_of(holder) {
            Some(network) => feeds.partners(network).collect(),
            None => vec![holder],
        });
        kept.collect()
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

    /// Whether each part passes its feed on, with these parts out.
    pub fn fed(&self, out: &BTreeSet<PartId>) -> Vec<bool> {
        let feeds = self.feeds;
        let mut energised = BTreeSet::new();
        // A relay may feed the coil of another: each round settles one more of them.
        loop {
            let mut fed = vec![true; feeds.len()];
            for part in feeds.parts() {
                let above = feeds.up(part).is_none_or(|up| fed[up.index()]);
                let passes = !out.contains(&part) && self.is_closed(part, &energised);
                fed[part.index()] = above && passes;
            }
            let coils = self.drains.iter().filter_map(|drain| match drain {
                Drain::CoilHeld(coil) | Drain::WireShorted(coil) => Some(*coil),
                _ => None,
            });
            let now: BTreeSet<PartId> = coils
                .filter(|coil| self.is_energised(*coil, &fed, out))
                .collect();
            // Two relays that switch each other off never settle: what was found first stands.
            if now == energised || now.len() < energised.len() {
                return fed;
            }
            energised = now;
        }
    }

    /// Whether a contact is closed; every other part is.
    fn is_closed(&self, part: PartId, energised: &BTreeSet<PartId>) -> bool {
        let feeds = self.feeds;
        let pulled = feeds.coils_of(part).iter().any(|c| energised.contains(c));
        match feeds.part(part).rest {
            Some(Rest::Open) => {
                let behind = |seat: PartId| feeds.is_below(seat, part);
                pulled || self.drains.iter().filter_map(Drain::seat).any(behind)
            }
            Some(Rest::Closed) => !pulled,
            None => true,
        }
    }

    /// Whether a coil that is held on, or whose wire is shorted, has its feed and its command.
    pub fn is_energised(&self, coil: PartId, fed: &[bool], out: &BTreeSet<PartId>) -> bool {
        let feeds = self.feeds;
        let commanded = || {
            let by = feeds.part(coil).commanded_by.as_ref();
            match by.and_then(|by| feeds.find(&by.value)) {
                Some(Named::Module(module)) => {
                    feeds.module_feeds(*module).iter().any(|f| fed[f.index()])
                }
                Some(Named::Part(part)) => !out.contains(part),
                _ => true,
            }
        };
        fed[coil.index()]
            && self.drains.iter().any(|drain| match drain {
                Drain::CoilHeld(held) => *held == coil && commanded(),
                Drain::WireShorted(shorted) => *shorted == coil,
                _ => false,
            })
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
        let fed = self.fed(out);
        let mut own = self.asleep.clone();
        for module in feeds.modules().filter(|module| up(*module)) {
            for feed in feeds.module_feeds(module) {
                own[feed.index()] = self.awake(module, *feed);
            }
        }
        for drain in &self.drains {
            match drain {
                Drain::Takes(part, current) => own[part.index()] += current.value(),
                Drain::CoilHeld(coil) | Drain::WireShorted(coil) => {
                    if self.is_energised(*coil, &fed, out) {
                        own[coil.index()] +=
                            feeds.part(*coil).draws.map_or(160.0, Milliamps::value);
                    }
                }
                Drain::Contact(relay, current) => {
                    for below in feeds.subtree(*relay).map(PartId) {
                        if feeds.part(below).kind == PartKind::Load {
                            own[below.index()] += current.value();
                        }
                    }
                }
                Drain::HeldBy(_) | Drain::Input(_) => {
                    let out_of_it = |name: &str| {
                        let found = feeds.find(name);
                        matches!(found, Some(Named::Part(part)) if out.contains(part))
                    };
                    if matches!(drain, Drain::Input(name) if out_of_it(name)) {
                        continue; // its own switch is unplugged
                    }
                    for module in self.kept_up(drain, &fed) {
                        for feed in feeds.module_feeds(module) {
                            own[feed.index()] = self.awake(module, *feed);
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

/// The modules that an input holds awake.
pub(crate) fn held_by(feeds: &Feeds, input: &str) -> Vec<ModuleId> {
    let mut found = feeds.inputs().filter(|(name, _)| *name == input);
    found
        .next()
        .map_or_else(Vec::new, |(_, held)| held.to_vec())
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
