//! `asleep` that comes sooner than the vehicle can have settled, and a reading of a time that is still to come.

use crate::case::{Case, Entry};
use crate::cli::case_file::CaseFile;
use crate::journal::Act;
use crate::report::{SETTLED_BY, typed_faster, wait_began};

/// How long it was waited so far and how long the settle may take, in minutes, where `asleep` would come
/// early now; by the times in the case file, where those are of the work.
pub(super) fn early(case: &Case<'_>, file: &CaseFile) -> Option<(f64, f64)> {
    if typed_faster(case, &file.when().minutes) {
        return None;
    }
    let began = wait_began(case, u32::MAX)?;
    let waited = file.minutes_since(began)?;
    let settle = case.setting().feeds.settle().value();
    (waited < SETTLED_BY * settle).then_some((waited, settle))
}

/// The same, where nothing in the case was taken to be asleep before: to lines of a script it is said once.
pub(super) fn first_early(case: &Case<'_>, file: &CaseFile) -> Option<(f64, f64)> {
    let slept = case.entries().iter().any(|e| e.act == Act::Asleep);
    early(case, file).filter(|_| !slept)
}

/// The latest time of day that these entries say and that is still to come by the clock, and what that shows, both
/// as minutes after midnight.
pub(super) fn still_to_come(entries: &[Entry]) -> Option<(u16, u16)> {
    /// What is further ahead, in minutes, was yesterday.
    const YESTERDAY: u16 = 12 * 60;
    let now = jiff::ZonedDateTime::now();
    let now = u16::from(now.hour().unsigned_abs()) * 60 + u16::from(now.minute().unsigned_abs());
    let times = entries.iter().filter_map(|entry| match &entry.act {
        Act::Read { options, .. } => options.at,
        _ => None,
    });
    let ahead = times.filter(|at| *at > now && *at - now < YESTERDAY);
    Some((ahead.max()?, now))
}
