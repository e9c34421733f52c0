//! How long it was waited for a settled draw, and watched after a repair.
//!
//! The core has no clock: the case file keeps the minute at which each entry was entered, and a time of day may have
//! been typed with it. What was typed is of the work; when it was entered need not be.

use crate::case::{Case, Repair};
use crate::journal::Act;
use crate::measurement::Method;

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

/// Nothing is mended in less, in minutes (judgement).
const MENDED_IN: f64 = 5.0;

/// Minutes that the hands need for an entry.
fn hands(act: &Act, case: &Case<'_>) -> f64 {
    let method = match act {
        Act::Repaired { .. } => return MENDED_IN,
        Act::Read { method, .. } => *method,
        Act::Look { .. } => Method::Look,
        Act::Pull(_) => Method::Pull,
        Act::Unplug(_) => Method::Unplug,
        Act::Refit(_) => Method::Refit,
        _ => return 0.0,
    };
    case.setting().minutes(method)
}

/// When what was entered was done, as far as it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Times {
    /// Minutes at which each was entered; none where the lines were typed faster than the work can be done.
    entered: Vec<Option<f64>>,
    /// Minutes by the times of day that were typed, and which run of them it is.
    typed: Vec<Option<(u32, f64)>>,
    faster: bool,
}

impl Times {
    /// The times of a case whose entries were entered at these minutes. Linear in the entries.
    pub fn of(case: &Case<'_>, minutes: &[Option<f64>]) -> Self {
        let faster = typed_faster(case, minutes);
        Self {
            entered: if faster { Vec::new() } else { minutes.to_vec() },
            typed: typed(case),
            faster,
        }
    }

    /// Minutes from one entry to a later one, by what was typed with both, else by when they were entered. A clock
    /// that was put back tells nothing.
    pub fn between(&self, first: u32, later: u32) -> Option<f64> {
        let index = |entry: u32| Some(entry.checked_sub(1)? as usize);
        let typed = |entry: u32| *self.typed.get(index(entry)?)?;
        let entered = |entry: u32| *self.entered.get(index(entry)?)?;
        let by_typed = typed(first).zip(typed(later));
        let by_typed = by_typed.filter(|(one, other)| one.0 == other.0);
        let minutes = match by_typed {
            Some((one, other)) => other.1 - one.1,
            None => entered(later)? - entered(first)?,
        };
        (minutes >= 0.0).then_some(minutes)
    }

    /// Whether the lines were typed faster than what they tell of can be done.
    pub const fn typed_faster(&self) -> bool {
        self.faster
    }

    /// Whether any time of day was typed.
    pub fn any_typed(&self) -> bool {
        self.typed.iter().any(Option::is_some)
    }
}

/// Less than so many minutes back is no next day, but lines out of their order (judgement).
const OUT_OF_ORDER: f64 = 60.0;

/// The times of day that were typed, one after the other: one that is earlier than the one before it is of the next
/// day. A new run begins where that cannot be.
fn typed(case: &Case<'_>) -> Vec<Option<(u32, f64)>> {
    const DAY: f64 = 24.0 * 60.0;
    let counting = case.counting();
    let (mut run, mut last) = (0, None::<f64>);
    let entries = case.entries().iter().map(|entry| {
        counting.binary_search(&entry.number).ok()?;
        let of_day = f64::from(entry.at?);
        let mut at = last.map_or(of_day, |last| last - last.rem_euclid(DAY) + of_day);
        if let Some(last) = last.filter(|last| at < *last) {
            if last - at < OUT_OF_ORDER {
                run += 1;
            } else {
                at += DAY;
            }
        }
        last = Some(at);
        Some((run, at))
    });
    entries.collect()
}

/// How long a draw was watched after a repair, by what was typed or by the clock of the case file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Watched {
    /// Nobody knows: no times, a clock that was put back, or lines that were typed faster than the work.
    Unknown,
    /// By a log as long as the fault stays away, which fits in since.
    Logged,
    /// By such a log as it was entered; nobody knows whether it fits in since.
    LoggedAsEntered,
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
    let times = Times::of(case, minutes);
    if !repair.enough.is_empty() {
        return logged(case, repair, &times);
    }
    let ends = repair.draws.first().zip(repair.draws.last());
    let span = ends.and_then(|(first, last)| times.between(*first, *last));
    let settle = case.setting().feeds.settle().value();
    span.map_or(Watched::Unknown, |span| Watched::of(span, settle))
}

/// Whether the logs after a repair fit in between the last thing that was done before them and their entry. The
/// case file keeps whole minutes.
fn logged(case: &Case<'_>, repair: &Repair, times: &Times) -> Watched {
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
    // How long it is, and what there was of time: at least, by the first that is timed after what began it, and at
    // most, by the last before that.
    let span = |log: u32| {
        let Act::Logged { long, .. } = act(log)? else {
            return None;
        };
        let before = counting.partition_point(|number| *number < log);
        let before = &counting[..before];
        let began = before
            .iter()
            .rposition(|number| act(*number).is_some_and(moves))?;
        let since = |number: &u32| times.between(*number, log);
        let least = before[began..].iter().find_map(since);
        let most = before[..=began].iter().rev().find_map(since);
        Some((long.minutes(), least, most))
    };
    let spans: Vec<(f64, Option<f64>, Option<f64>)> =
        repair.enough.iter().filter_map(|log| span(*log)).collect();
    let fits = |long: f64, since: f64| long <= since + 1.0;
    if spans
        .iter()
        .any(|(long, least, _)| least.is_some_and(|least| fits(*long, least)))
    {
        return Watched::Logged;
    }
    let too_soon =
        |(long, _, most): &(f64, _, Option<f64>)| most.is_some_and(|most| !fits(*long, most));
    match spans.last() {
        Some((long, _, Some(since))) if spans.iter().all(too_soon) => Watched::LogTooSoon {
            long: *long,
            since: *since,
        },
        _ => Watched::LoggedAsEntered,
    }
}
