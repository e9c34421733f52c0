//! `asleep` that comes sooner than the vehicle can have settled.

use crate::case::Case;
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
