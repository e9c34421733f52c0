//! The settled draws of a case: as it was found, with all that was proven out, and how long it was waited for them
//! and watched after them.

use crate::case::{Case, Repair, all_out};
use crate::interval::Interval;
use crate::journal::Act;
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

/// Below this share of a settle `asleep` was said early (judgement).
pub const SETTLED_BY: f64 = 0.8;

/// The entry with which the wait began that stood before this one: the last that was not only said, nor done
/// while it settles.
pub fn wait_began(case: &Case<'_>, before: u32) -> Option<u32> {
    let begins = |act: &Act| {
        !matches!(
            act,
            Act::Note(_) | Act::Told { .. } | Act::Skip { .. } | Act::Open(_) | Act::Zero(_)
        )
    };
    let counting = case.counting().into_iter().rev();
    counting.filter(|number| *number < before).find(|number| {
        let act = case.entries().get(*number as usize - 1).map(|e| &e.act);
        act.is_some_and(begins)
    })
}

/// Faster than so many times the tool's own count of the hands' work nobody works (judgement).
const FASTEST: f64 = 4.0;

/// Less work than this, in minutes, tells nothing of how fast it was done (judgement).
const LEAST_WORK: f64 = 3.0;

/// Whether the lines were typed faster than what they tell of can be done: then the clock of the case file, in
/// minutes for each entry, is not that of the work. Only the hands' work is counted, no wait and no way, so that
/// a wait that was cut short does not make the clock a wrong one. Linear in the entries.
pub fn typed_faster(case: &Case<'_>, minutes: &[Option<f64>]) -> bool {
    let known: Vec<f64> = minutes.iter().flatten().copied().collect();
    let (Some(first), Some(last)) = (known.first(), known.last()) else {
        return false;
    };
    let counting = case.counting();
    let stands = |number: u32| counting.binary_search(&number).is_ok();
    let entries = case.entries().iter().filter(|entry| stands(entry.number));
    let work: f64 = entries.map(|entry| hands(&entry.act, case)).sum();
    work >= LEAST_WORK && last - first < work / FASTEST
}

/// Minutes that the hands need for an entry.
fn hands(act: &Act, case: &Case<'_>) -> f64 {
    let method = match act {
        Act::Read { method, .. } => *method,
        Act::Look { .. } => Method::Look,
        Act::Pull(_) => Method::Pull,
        Act::Unplug(_) => Method::Unplug,
        Act::Refit(_) => Method::Refit,
        _ => return 0.0,
    };
    case.setting().minutes(method)
}

/// How long a draw was watched after a repair, by the clock of the case file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Watched {
    /// Nobody knows: no times, a clock that was put back, or lines that were typed faster than the work.
    Unknown,
    /// By a log as long as the fault stays away, which may have run since.
    Logged,
    /// A log of so many minutes was entered so few minutes after the last thing that was done: no watch.
    LogTooSoon {
        /// How long it is said to be.
        long: f64,
        /// What there was of time.
        since: f64,
    },
    /// So many minutes, which is less than a settle: no watch.
    Short(f64),
    /// So many minutes.
    Long(f64),
}

impl Watched {
    /// From one reading of the draw to a later one, in minutes, held against the settle.
    pub fn of(minutes: f64, settle: f64) -> Self {
        if minutes < 0.0 {
            Self::Unknown
        } else if minutes < settle {
            Self::Short(minutes)
        } else {
            Self::Long(minutes)
        }
    }

    /// Whether by the clock it was no watch.
    pub const fn is_none(self) -> bool {
        matches!(self, Self::Short(_) | Self::LogTooSoon { .. })
    }
}

/// How long the draw was watched after a repair: from its first reading to its last, or by a log that was long
/// enough and fits in since.
pub fn watched(case: &Case<'_>, repair: &Repair, minutes: &[Option<f64>]) -> Watched {
    if !repair.enough.is_empty() {
        return logged(case, repair, minutes);
    }
    let at = |entry: u32| *minutes.get(entry.checked_sub(1)? as usize)?;
    let ends = repair.draws.first().zip(repair.draws.last());
    let span = ends.and_then(|(first, last)| Some(at(*last)? - at(*first)?));
    match span {
        Some(span) if !typed_faster(case, minutes) => {
            Watched::of(span, case.setting().feeds.settle().value())
        }
        _ => Watched::Unknown,
    }
}

/// Whether the logs after a repair fit in between the last thing that was done before them and their entry. The
/// case file keeps whole minutes.
fn logged(case: &Case<'_>, repair: &Repair, minutes: &[Option<f64>]) -> Watched {
    let at = |entry: u32| *minutes.get(entry.checked_sub(1)? as usize)?;
    let moves = |act: &Act| {
        matches!(
            act,
            Act::Repaired { .. }
                | Act::Refit(_)
                | Act::Pull(_)
                | Act::Unplug(_)
                | Act::Prepared
                | Act::Awake
        )
    };
    let counting = case.counting();
    let act = |number: u32| case.entries().get(number as usize - 1).map(|e| &e.act);
    let span = |log: u32| {
        let Act::Logged { long, .. } = act(log)? else {
            return None;
        };
        let mut before = counting.iter().rev().filter(|number| **number < log);
        let began = before.find(|number| act(**number).is_some_and(moves))?;
        let since = at(log)? - at(*began)?;
        // A clock that was put back tells nothing.
        (since >= 0.0).then_some((long.minutes(), since))
    };
    let too_soon = |span: &(f64, f64)| span.1 + 1.0 < span.0;
    let spans: Vec<Option<(f64, f64)>> = repair.enough.iter().map(|log| span(*log)).collect();
    let fits = |span: &Option<(f64, f64)>| span.as_ref().is_none_or(|span| !too_soon(span));
    match spans.last() {
        Some(Some((long, since))) if !typed_faster(case, minutes) && !spans.iter().any(fits) => {
            Watched::LogTooSoon {
                long: *long,
                since: *since,
            }
        }
        _ => Watched::Logged,
    }
}
