//! Days to flat that were told, held against the draw that was found.

use super::settled::before;
use crate::battery::{self, Comparison};
use crate::case::Case;
use crate::interval::Interval;
use crate::quantity::{Days, Milliamps};
use crate::report::Settled;

/// Days to flat that the draw does not explain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unexplained {
    /// The days that were told.
    pub told: Days,
    /// How long a full battery lasts with the draw that was found.
    pub lasts: Interval<Days>,
    /// The draw that was found.
    pub draw: Interval<Milliamps>,
    /// The draw is too small or too large for the days.
    pub how: Comparison,
}

/// The days told that the draw found does not explain. A complaint from before a repair is held against the
/// draw from before it.
pub fn unexplained(case: &Case<'_>) -> Option<Unexplained> {
    let search = case.before_repair();
    let search = search.as_ref().unwrap_or(case);
    days_unexplained(search, before(search).as_ref())
}

pub(super) fn days_unexplained(search: &Case<'_>, before: Option<&Settled>) -> Option<Unexplained> {
    let intake = search.intake();
    let (told, capacity) = (intake.days?, intake.size?.capacity());
    let draw = search.on_average(before?.current);
    let how = battery::explains(draw, told, capacity);
    (how != Comparison::Fits).then(|| Unexplained {
        told,
        lasts: battery::days_at(draw, capacity),
        draw,
        how,
    })
}
