//! `asleep` that comes sooner than the vehicle can have settled, and a reading of a time that is still to come, or from
//! before the case was begun.

use crate::case::{Case, Entry};
use crate::cli::case_file::{CaseFile, time_of_day};
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

/// What is further off than this, in minutes, was yesterday, or before midnight.
const YESTERDAY: u16 = 12 * 60;

/// The times of day that entries say, in minutes after midnight.
fn times(entries: &[Entry]) -> impl Iterator<Item = u16> {
    entries.iter().filter_map(|entry| entry.at)
}

/// The first time of day that a case says, where these entries say it and it is before the case was begun, and when
/// that was, both as minutes after midnight.
pub(super) fn before_it_began(
    entries: &[Entry],
    case: &Case<'_>,
    file: &CaseFile,
) -> Option<(u16, u16)> {
    let before = case.entries().len().checked_sub(entries.len())?;
    if times(&case.entries()[..before]).next().is_some() {
        return None;
    }
    let began = file.begun_today()?;
    let first = times(entries).next()?;
    (first < began && began - first < YESTERDAY).then_some((first, began))
}

/// The latest time of day that these entries say and that is still to come by the clock, and what that shows, both
/// as minutes after midnight.
pub(super) fn still_to_come(entries: &[Entry]) -> Option<(u16, u16)> {
    let now = time_of_day();
    let ahead = times(entries).filter(|at| *at > now && *at - now < YESTERDAY);
    Some((ahead.max()?, now))
}
