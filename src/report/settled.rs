//! The settled draws of a case: as it was found, and with all that was proven out.

use crate::case::{Case, all_out};
use crate::interval::Interval;
use crate::ledger::Out;
use crate::measurement::Method;
use crate::quantity::Milliamps;
use crate::report::Verdict;

/// A settled total.
#[derive(Clone, Debug, PartialEq)]
pub struct Settled {
    /// Its entry.
    pub entry: u32,
    /// What was out.
    pub out: Out,
    /// What it says.
    pub current: Interval<Milliamps>,
}

/// The latest settled draw with all that was proven out and nothing else.
pub(super) fn rest(case: &Case<'_>, verdict: &Verdict) -> Option<Settled> {
    let proven = verdict.found.iter().filter(|found| found.returned);
    let taken = proven.flat_map(|found| &found.taken);
    let out = all_out(&case.setting().feeds, taken);
    let draws = case.readings().iter().rev();
    let mut draws = draws.filter(|s| s.method == Method::Draw && s.taken && s.asleep);
    let last = draws.find(|shown| !out.is_empty() && shown.out == out)?;
    Some(Settled {
        entry: last.entry,
        out,
        current: last.current?,
    })
}

/// The settled draw over the limit with nothing out as it was last read before anything came out, the
/// finest of those that agree with it; else the first over the limit, or the first with nothing out.
pub(super) fn before(case: &Case<'_>) -> Option<Settled> {
    let limit = case.setting().healthy.limit();
    let settled = || {
        let taken = case
            .readings()
            .iter()
            .filter(|shown| shown.method == Method::Draw && shown.taken && shown.out.is_empty());
        taken.filter_map(|shown| {
            Some(Settled {
                entry: shown.entry,
                out: shown.out.clone(),
                current: shown.current?,
            })
        })
    };
    let mut draws = case.readings().iter().filter(|s| s.method == Method::Draw);
    let disturbed = draws.find(|shown| !shown.out.is_empty());
    let disturbed = disturbed.map_or(u32::MAX, |shown| shown.entry);
    // One that another took the place of before anything came out was read too early.
    let first = settled()
        .rfind(|draw| draw.current.low() > limit && draw.entry < disturbed)
        .or_else(|| settled().find(|draw| draw.current.low() > limit))
        .or_else(|| settled().next())?;
    let width = |draw: &Settled| draw.current.high() - draw.current.low();
    settled()
        .filter(|draw| draw.entry < disturbed || draw.entry == first.entry)
        .filter(|draw| draw.current.touches(first.current))
        .min_by(|one, two| width(one).total_cmp(&width(two)))
        .or(Some(first))
}
