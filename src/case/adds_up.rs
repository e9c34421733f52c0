//! Whether what was read below a part adds up to what was read in it.
//!
//! **Model.** A bound says what could be; what was read says what is likely. Each reading has a best value
//! and a standard uncertainty, which add up as squares (JCGM 100:2008 5.1, from memory). Where the best
//! values below a part, and what is usual in all that was not read, leave more than that uncertainty of what
//! flows into it, something is missing there: a wrong zero, or something that was not read. Before
//! anything elsewhere is taken out, which wakes the vehicle, the zeros there are read once more; where all
//! below was read also the part itself, and what else was read there once.

use super::facts::{Found, Shown};
use super::fold::Now;
use super::next::{Next, Reason};
use super::table::{Doing, Plan};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::planner::Step;
use crate::quantity::Milliamps;
use crate::suspects::Cause;
use std::collections::{BTreeMap, BTreeSet};

/// So many standard uncertainties are taken off (judgement: in one of six cases nothing is missing then, and a
/// check takes a minute, what it may save a settle).
const BEYOND: f64 = 1.0;

/// The share of the error of a draw that is left in the difference of two by one jack (judgement: its steps).
pub(super) const SHARED: f64 = 0.3;

/// With less of the odds what comes out is not taken for what is missing (judgement: a wrong zero is as likely).
const LIKELY_ENOUGH: f64 = 0.1;

/// What flows into a part and is not accounted for below it.
struct Missing {
    top: PartId,
    /// What flows in beyond all that is likely below, in mA, its standard uncertainty taken off; but for that where
    /// all below was read and shows nothing: several nothings are not all short by what each may be.
    current: f64,
    /// The nearest parts below where something was read.
    read: Vec<PartId>,
    /// Something below was not read that could take a part of it that matters.
    open: bool,
}

impl Now<'_> {
    /// The best value and its standard uncertainty, in mA, of each reading that bounds a current now and was
    /// taken in such a state; the latest last. O(readings).
    pub(super) fn best_read(
        &self,
        state: impl Fn(&Out) -> bool,
    ) -> impl Iterator<Item = (&Shown, (f64, f64))> {
        let counted = self.ledger.observations().iter();
        let counted: BTreeSet<u32> = counted.map(|observation| observation.entry).collect();
        let counts = move |shown: &&Shown| state(&shown.out) && counted.contains(&shown.entry);
        let shown = self.shown.iter().filter(counts);
        shown.filter_map(|shown| Some((shown, shown.best?)))
    }

    /// The same of the last reading at each part with nothing out but proven drains; what a drain took that
    /// was proven since is taken off.
    pub(super) fn best_values(&self) -> BTreeMap<PartId, (f64, f64)> {
        let base = self.base();
        let mut values = BTreeMap::new();
        // What a drain held awake elsewhere fell asleep when that came out.
        let held = |found: &Found| matches!(found.cause, Cause::HoldsAwake | Cause::CoilHeld);
        let alone = !self.found.iter().any(|found| found.returned && held(found));
        let state = |out: &Out| *out == base || alone && *out == Out::default();
        for (shown, (mut best, mut standard)) in self.best_read(state) {
            let since = self.found.iter().filter(|f| f.returned);
            for found in since.filter(|_| shown.out != base) {
                let mut parts = found.taken.iter().flat_map(|taken| &taken.parts);
                if parts.any(|part| self.setting.feeds.is_below(*part, shown.part)) {
                    best -= f64::midpoint(found.fell.low(), found.fell.high());
                    standard = standard.hypot(rectangular(found.fell));
                }
            }
            values.insert(shown.part, (best, standard));
        }
        values
    }

    /// The best value and its standard uncertainty, in mA, of what fell with a part out from which nothing else hangs,
    /// the latest last. O(falls).
    pub(super) fn best_falls(&self) -> impl Iterator<Item = (PartId, (f64, f64))> {
        let base = self.base();
        let feeds = &self.setting.feeds;
        let fewer = move |out: &Out| out.parts().all(|part| base.cuts(feeds, part));
        self.pulls.iter().filter_map(move |pulled| {
            let [part] = pulled.parts[..] else {
                return None;
            };
            let best = f64::midpoint(pulled.fell.low(), pulled.fell.high());
            let alone = fewer(&pulled.base) && self.falls_alone(part);
            // Two draws by one jack have most of its error in common.
            let standard = SHARED * rectangular(pulled.fell);
            alone.then_some((part, (best, standard)))
        })
    }

    /// What is missing below a part where something was read. O(what is below).
    fn missing_below(
        &self,
        top: PartId,
        values: &BTreeMap<PartId, (f64, f64)>,
        judged: &Judgement<'_>,
    ) -> Option<Missing> {
        let feeds = &self.setting.feeds;
        let (mut left, mut standard) = values.get(&top).copied()?;
        let (mut read, mut open) = (Vec::new(), false);
        let below = feeds.subtree(top);
        let mut at = below.start + 1;
        while at < below.end {
            let part = PartId(at);
            at += 1;
            if let Some((best, own)) = values.get(&part) {
                left -= best.max(0.0);
                standard = standard.hypot(*own);
                read.push(part);
                at = feeds.subtree(part).end;
            } else if feeds.is_leaf(part) {
                open |= judged.own_hides(part) >= judged.matters();
                let healthy = self.setting.healthy.draw(part);
                left -= f64::midpoint(healthy.low(), healthy.high());
                standard = standard.hypot(rectangular(healthy));
            }
        }
        let nothing = |part: &PartId| judged.view().current(*part).low() <= 0.0;
        if open || read.is_empty() || !read.iter().all(nothing) {
            left -= BEYOND * standard;
        }
        Some(Missing {
            top,
            current: left,
            read,
            open,
        })
    }

    /// Before something is taken out elsewhere, or, where all below was read, before the probes leave: the check of a zero
    /// below the part into which the most goes that does not come out again.
    pub(super) fn adds_up_first(
        &self,
        judged: &Judgement<'_>,
        plan: &Plan<'_>,
        (step, leaves): (Option<Step>, bool),
        out: &Out,
    ) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let way = match step {
            Some(Step::Test(test)) => match &plan.tests[test] {
                Doing::Out(ways) => ways.iter().flat_map(|way| way.parts.clone()).collect(),
                Doing::LetIn(reading) => vec![reading.part],
                Doing::At(_) | Doing::Look(_) => Vec::new(),
            },
            Some(step @ Step::Prove(_)) => plan.proof(step)?.1.parts.clone(),
            None => Vec::new(),
        };
        let disturbs = !way.is_empty();
        if !disturbs && !leaves {
            return None;
        }
        let values = self.best_values();
        let weights = &plan.odds.weights;
        let suspects = self.setting.suspects.iter().zip(weights);
        let silenced = suspects.filter(|(suspect, _)| self.setting.silenced(suspect, &way));
        let out_with_it: f64 = silenced.map(|(_, one)| one.weight).sum();
        let all: f64 = weights.iter().map(|one| one.weight).sum();
        let likely = out_with_it >= LIKELY_ENOUGH * all;
        // What comes out is below it, and below no zero there: it may be what is missing.
        let may_be = |missing: &Missing| {
            let zeros = || {
                missing
                    .read
                    .iter()
                    .filter(|read| self.zeros.contains_key(read))
            };
            let below = |part: &PartId| feeds.is_below(*part, missing.top);
            let cleared = |part: &PartId| zeros().any(|zero| feeds.is_below(*part, *zero));
            likely && missing.open && way.iter().any(|part| below(part) && !cleared(part))
        };
        let below = values.keys().copied();
        let below = below.filter_map(|top| self.missing_below(top, &values, judged));
        let mut short: Vec<Missing> = below
            .filter(|missing| missing.current >= judged.matters())
            .filter(|missing| !may_be(missing) && (disturbs || !missing.open))
            .collect();
        short.sort_by(|a, b| b.current.total_cmp(&a.current));
        short.into_iter().find_map(|missing| {
            let reason = Reason::DoesNotAddUp(missing.top);
            let zero = || {
                let check = self.check_of(out, |part| missing.read.contains(&part))?;
                Some(self.check_because(check, reason))
            };
            // Where nothing below is left to read, a number may be wrong, and the one that goes in is one.
            let read = !missing.open && !missing.read.is_empty();
            let number = || {
                let top = self.once_more(|part| part == missing.top, reason);
                top.or_else(|| self.once_more(|part| missing.read.contains(&part), reason))
            };
            zero().or_else(|| read.then(number)?)
        })
    }

    /// The check of one of these parts, where one was read once.
    fn once_more(&self, of: impl Fn(PartId) -> bool, reason: Reason) -> Option<Next> {
        let check = self.read_once().into_iter().find(|(_, part)| of(*part))?;
        Some(self.again_because(check, reason))
    }
}

/// The standard uncertainty of a current of which only the limits are known, in mA: a / √3 (JCGM 100:2008
/// 4.3.7, from memory).
pub(super) fn rectangular(current: Interval<Milliamps>) -> f64 {
    current.width() / 2.0 / 3.0_f64.sqrt()
}
