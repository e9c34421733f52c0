//! Whether what was read below a part adds up to what was read in it.
//!
//! **Model.** A bound says what could be; what was read says what is likely. Each reading has a best value
//! and a standard uncertainty, which add up as squares (JCGM 100:2008 5.1, from memory). Where the best
//! values below a part, and what is usual in all that was not read, leave more than that uncertainty of what
//! flows into it, something is missing there: a wrong zero, or something that was not read. Before
//! anything elsewhere is taken out, which wakes the vehicle, the zeros there are read once more.

use super::facts::Shown;
use super::fold::Now;
use super::next::{Next, Reason};
use super::table::{Doing, Plan};
use crate::feeds::PartId;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::planner::Step;
use std::collections::BTreeMap;

/// So many standard uncertainties are taken off (judgement: in one of six cases nothing is missing then, and a
/// check takes a minute, what it may save a settle).
const BEYOND: f64 = 1.0;

impl Now<'_> {
    /// The best value and its standard uncertainty of the last reading at each part that counts, with nothing
    /// out but proven drains; what a drain took that was proven since is taken off.
    fn best_values(&self) -> BTreeMap<PartId, (f64, f64)> {
        let base = self.base();
        let counted = self.ledger.observations().iter();
        let counted: Vec<u32> = counted.map(|observation| observation.entry).collect();
        let mut values = BTreeMap::new();
        let counts = |shown: &&Shown| {
            let none = shown.out == Out::default();
            (shown.out == base || none) && counted.contains(&shown.entry)
        };
        for shown in self.shown.iter().filter(counts) {
            let Some((mut best, mut standard)) = shown.best else {
                continue;
            };
            let since = self.found.iter().filter(|f| f.returned);
            for found in since.filter(|_| shown.out != base) {
                let mut parts = found.taken.iter().flat_map(|taken| &taken.parts);
                if parts.any(|part| self.setting.feeds.is_below(*part, shown.part)) {
                    best -= f64::midpoint(found.fell.low(), found.fell.high());
                    standard = standard.hypot(found.fell.width() / 2.0 / 3.0_f64.sqrt());
                }
            }
            values.insert(shown.part, (best, standard));
        }
        values
    }

    /// What flows into a part beyond all that is likely below it, in mA: its standard uncertainty taken off.
    fn missing_below(&self, top: PartId, values: &BTreeMap<PartId, (f64, f64)>) -> Option<f64> {
        let (mut left, mut standard) = values.get(&top).copied()?;
        for part in self.setting.feeds.children(top) {
            if let Some((best, own)) = values.get(&part) {
                left -= best.max(0.0);
                standard = standard.hypot(*own);
            } else {
                let healthy = self.setting.healthy.draw(part);
                left -= f64::midpoint(healthy.low(), healthy.high());
                standard = standard.hypot(healthy.width() / 2.0 / 3.0_f64.sqrt());
            }
        }
        Some(left - BEYOND * standard)
    }

    /// Before something is taken out elsewhere: the check of a zero below the part into which the most goes
    /// that does not come out again.
    pub(super) fn adds_up_first(
        &self,
        judged: &Judgement<'_>,
        plan: &Plan<'_>,
        step: Option<Step>,
        out: &Out,
    ) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let way = match step? {
            Step::Test(test) => match &plan.tests[test] {
                Doing::Out(ways) => ways.iter().flat_map(|way| way.parts.clone()).collect(),
                Doing::LetIn(reading) => vec![reading.part],
                Doing::At(_) | Doing::Look(_) => return None,
            },
            step @ Step::Prove(_) => plan.proof(step)?.1.parts.clone(),
        };
        let values = self.best_values();
        let elsewhere = |top: &PartId| !way.iter().any(|part| feeds.is_below(*part, *top));
        let tops = values.keys().copied().filter(elsewhere);
        let short = tops.filter_map(|top| {
            let missing = self.missing_below(top, &values)?;
            (missing >= judged.matters()).then_some((top, missing))
        });
        let mut short: Vec<(PartId, f64)> = short.collect();
        short.sort_by(|a, b| b.1.total_cmp(&a.1));
        let (top, check) = short.into_iter().find_map(|(top, _)| {
            let check = self.check_of(out, |part| feeds.up(part) == Some(top))?;
            Some((top, check))
        })?;
        Some(self.asleep_first(|| {
            let mut next = self.check_zero(check);
            if next.reason == Reason::LiveThere {
                next.reason = Reason::DoesNotAddUp(top);
            }
            next
        }))
    }
}
