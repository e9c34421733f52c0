//! A repair after which the draw is what it was: it was not the cause, or not all of it.
//!
//! The spell goes on then: the same flows by the same parts, so what was read and pulled before still holds, but for
//! what was read at what is new. What was proven is so no longer: it was only shown that the draw needs it, and a
//! new part in its place draws the same by what commands it or keeps it awake.

use super::facts::{Draw, Found, Pulled, Zero};
use super::fold::Now;
use super::taken_by;
use crate::feeds::{PartId, PlaceId};
use crate::journal::{Point, Seen};
use crate::ledger::Observation;
use crate::measurement::Method;
use crate::suspects::{REPAIRED, Subject, Told};
use std::collections::{BTreeMap, BTreeSet};

/// What was known before a repair, as long as no draw has said what it did.
#[derive(Clone, Debug)]
pub(super) struct Before {
    over: Draw,
    draws: Vec<Draw>,
    readings: Vec<(Method, Observation)>,
    taken: BTreeSet<(Method, String)>,
    zeros: BTreeMap<PartId, Zero>,
    sure_zeros: BTreeSet<PartId>,
    firm: BTreeSet<PartId>,
    live: BTreeSet<PartId>,
    inputs_cleared: BTreeSet<String>,
    pulls: Vec<Pulled>,
    looks: Vec<(PartId, Seen)>,
    seen_beside: BTreeMap<String, Seen>,
    skipped: BTreeSet<(Method, String)>,
    out_of_reach: BTreeSet<PlaceId>,
    /// What was said to be mended, by entry.
    said: Vec<(u32, String)>,
    /// The parts that are new.
    renewed: BTreeSet<PartId>,
    /// What of all that was proven is meant.
    meant: Vec<Subject>,
}

impl Now<'_> {
    /// Keeps what is known before a repair of these, of what was proven; a further one is added to it.
    pub(super) fn keep_from_before(
        &mut self,
        entry: u32,
        (point, text): (Option<&Point>, &str),
        meant: &[&Found],
    ) {
        let feeds = &self.setting.feeds;
        let mut parts = point.map_or_else(Vec::new, |point| taken_by(feeds, point, false));
        // A module is new with all of its feeds.
        let modules = parts.iter().filter_map(|part| feeds.module_of(*part));
        let modules = modules.map(|module| feeds.module(module).id.value.as_str());
        let at = point.map(|point| self.name(point)).unwrap_or_default();
        let words: Vec<&str> = [at.as_str(), text].into_iter().chain(modules).collect();
        let words = words.join(" ").trim().to_owned();
        parts.extend(meant.iter().filter_map(|found| match found.subject {
            Subject::Part(part) => Some(part),
            _ => None,
        }));
        let meant: Vec<Subject> = meant.iter().map(|found| found.subject.clone()).collect();
        if self.repair().is_none() {
            self.before_mending = self.over.clone().map(|over| {
                Box::new(Before {
                    over,
                    draws: self.draws.clone(),
                    readings: self.readings.clone(),
                    taken: self.taken.clone(),
                    zeros: self.zeros.clone(),
                    sure_zeros: self.sure_zeros.clone(),
                    firm: self.firm.clone(),
                    live: self.live.clone(),
                    inputs_cleared: self.inputs_cleared.clone(),
                    pulls: self.pulls.clone(),
                    looks: self.looks.clone(),
                    seen_beside: self.seen_beside.clone(),
                    skipped: self.skipped.clone(),
                    out_of_reach: self.out_of_reach.clone(),
                    said: Vec::new(),
                    renewed: BTreeSet::new(),
                    meant: Vec::new(),
                })
            });
        }
        if let Some(before) = &mut self.before_mending {
            before.said.push((entry, words));
            before.renewed.extend(parts);
            before.meant.extend(meant);
        }
    }

    /// Whether a draw with everything in is what it was before the repair.
    pub(super) fn is_as_before_mending(&self, draw: &Draw) -> bool {
        let before = self.before_mending.as_ref();
        before.is_some_and(|before| {
            let (now, then) = draw.against(&before.over);
            draw.out.is_empty() && now.touches(then)
        })
    }

    /// Where the draw is what it was before the repair what was known then is known still. Where it may as well be
    /// less by what one of several drains took nothing is known.
    pub(super) fn was_mended_in_vain(&mut self, draw: &Draw) -> bool {
        if !self.is_as_before_mending(draw) {
            return false;
        }
        let Some(before) = self.before_mending.take() else {
            return false;
        };
        let before = *before;
        let one_of_several = self.mended.len() > 1;
        let less = |found: &Found| {
            let less = before.over.current.minus(found.fell);
            before.meant.contains(&found.subject) && draw.current.touches(less)
        };
        if one_of_several && self.mended.iter().any(less) {
            return false;
        }
        let feeds = &self.setting.feeds;
        let renewed = before.renewed;
        let is_new = |part: &PartId| renewed.contains(part);
        self.readings = before.readings;
        self.readings
            .retain(|(_, reading)| !is_new(&reading.part()));
        self.bound_anew();
        self.draws = before.draws;
        self.draws.push(draw.clone());
        self.taken = before.taken;
        let named = |name: &str| renewed.iter().any(|part| feeds.id(*part) == name);
        self.taken.retain(|(_, name)| !named(name));
        self.zeros = before.zeros;
        self.sure_zeros = before.sure_zeros;
        self.firm = before.firm;
        self.live = before.live;
        self.inputs_cleared = before.inputs_cleared;
        self.looks = before.looks;
        self.looks.retain(|(part, _)| !is_new(part));
        self.seen_beside = before.seen_beside;
        self.skipped = before.skipped;
        self.out_of_reach = before.out_of_reach;
        self.pulls = before.pulls;
        for pulled in &mut self.pulls {
            let over = |new: &PartId| pulled.parts.iter().any(|part| feeds.is_below(*new, *part));
            // What returned with the old part in is no proof of the new one.
            if renewed.iter().any(over) {
                pulled.returned = None;
            }
        }
        self.mended
            .retain(|found| !before.meant.contains(&found.subject));
        for (entry, text) in before.said {
            self.told.push(Told {
                entry,
                key: Some(REPAIRED.to_owned()),
                text,
            });
        }
        self.post_draw(draw);
        true
    }
}
