//! What a case comes to, as values without wording: why a part is in its state, and the write-up.
//!
//! **Model.** A reason is a list of numbered steps; each rests on earlier ones, the first on readings
//! or on what the vehicle file says. A verdict is what [`Case::next`] ends with, with its own reasons and
//! the readings it rests on: with those alone the verdict is the same, which is tried each time.
//!
//! **Invariants.** A step names only steps before it. The arithmetic of every step holds, and the
//! readings cited suffice, for a state as for a verdict (test rooms `reasons` and `write_up`).
//!
//! **Cost.** The write-up plans at most a few times, and judges every suspect once for each proof.

use crate::case::{Case, Entry, Located, OnePlug, Remainder, Repair, Shown, TakenOut};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::{Act, Seen};
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::measurement::Method;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject};

mod days;
mod left;
mod reasons;
mod settled;
mod verdict;
mod watch;

use left::{cleared, grouped, possible, to_do};
use settled::{before, rest};

pub use days::{Unexplained, unexplained};
pub use left::{skipped, tied_battery};
pub use reasons::{About, Reasons, Says, Step, is_reading, reasons};
pub use settled::Settled;
pub use verdict::{Ending, Ground, Rival, Verdict, mate, verdict, wiring_too};
pub use watch::{SETTLED_BY, Times, Watched, typed_faster, wait_began, watched};

/// What has become of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worth {
    /// It bounds currents now.
    Counts,
    /// It was true in its time: the draw has changed since, or it was taken again.
    Earlier,
    /// The vehicle was awake, so it bounds nothing.
    Awake,
    /// It was looked at, or says nothing about an amount.
    Seen,
    /// It could not be believed, or no resistance or instrument is known for it.
    NotTaken,
    /// It no longer counts.
    Withdrawn,
}

/// One reading of the case.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its entry.
    pub entry: u32,
    /// What was out.
    pub out: Out,
    /// The current it says.
    pub current: Option<Interval<Milliamps>>,
    /// What has become of it.
    pub worth: Worth,
}

/// A suspect that could not be told apart, or was not looked for further.
#[derive(Clone, Debug, PartialEq)]
pub struct Possible {
    /// Its id in the data.
    pub id: String,
    /// What would have gone wrong.
    pub cause: Cause,
    /// Where it sits, if at one part.
    pub seat: Option<PartId>,
    /// What it could take, in mA.
    pub hides: f64,
}

/// Causes that are not ruled out, of one branch.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The part that all of them hang behind, or sit at; `None` for those that sit at no one part.
    pub behind: Option<PartId>,
    /// The largest first.
    pub causes: Vec<Possible>,
    /// What they could take together, in mA.
    pub together: f64,
}

/// What was ruled out as the cause of the draw before.
#[derive(Clone, Debug, PartialEq)]
pub struct Cleared {
    /// What a part must take to matter, in mA.
    pub matters: f64,
    /// The topmost parts that could hide less, with what they could hide in mA, in tree order.
    pub parts: Vec<(PartId, f64)>,
    /// What they could hide together, in mA.
    pub together: f64,
    /// The topmost other parts that could not hide today's drain by themselves, likewise.
    pub small: Vec<(PartId, f64)>,
    /// The topmost parts to which nothing passes.
    pub dead: Vec<PartId>,
}

/// A repair, and what was read after it.
#[derive(Clone, Debug, PartialEq)]
pub struct Repaired {
    /// What was done, by entry.
    pub entries: Vec<u32>,
    /// Settled draws after it with everything in: within the limit, or the one that was not.
    pub draws: Vec<Settled>,
    /// What they say.
    pub verified: Verified,
    /// What was proven and is not mended yet, as far as the draw after it shows or what was entered says.
    pub unmended: Vec<Subject>,
    /// How long it was logged after it, in minutes: the longest.
    pub logged: Option<f64>,
    /// How long the fault stays away, in minutes, where that was entered.
    pub stays_away: Option<f64>,
}

/// Whether a repair was verified.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verified {
    /// No settled draw was read with everything in that says so.
    NotRead,
    /// It is within the limit; it was not watched.
    Unwatched,
    /// It is within the limit, and still was after it had been watched.
    Watched,
    /// It is still over the limit.
    StillOver,
}

impl Verified {
    /// By the readings alone, whatever the time between them.
    pub fn of(repair: &Repair) -> Self {
        match repair {
            Repair { over: Some(_), .. } => Self::StillOver,
            repair if repair.is_watched() => Self::Watched,
            Repair { draws, .. } if draws.is_empty() => Self::NotRead,
            _ => Self::Unwatched,
        }
    }
}

/// What is left to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ToDo {
    /// Repair or replace what was proven.
    Repair(Vec<Subject>),
    /// Put back in what is out.
    PutBack,
    /// Prepare, settle and read again after the repair, as long as the fault's interval.
    Verify,
    /// Watch the draw after the repair, as long as the fault's interval.
    Watch,
    /// Take one of the readings again.
    ReadAgain(Vec<u32>),
    /// Go on with the case: it is not finished.
    GoOn,
    /// Part what is located by other means: the sheet, a finer meter, replacing.
    PartFurther,
    /// Log the draw until the fault shows again.
    Log,
    /// Look for several small ones, from the largest down.
    SmallOnes,
    /// Read the draw on a finer range.
    FinerRange,
    /// Find the limit of this vehicle.
    FindLimit,
    /// Test another battery, which was tied to this one by what was proven.
    TestBattery(PartId),
}

/// The write-up as a value.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// What it ends with, and why.
    pub verdict: Verdict,
    /// What was told, as it was entered: key, text.
    pub told: Vec<(Option<String>, String)>,
    /// The days that were told, where the draw that was found does not explain them.
    pub unexplained: Option<Unexplained>,
    /// The settled draw found, with nothing out.
    pub before: Option<Settled>,
    /// The latest settled draw with nothing out but what was proven, if it is another one.
    pub after: Option<Settled>,
    /// The latest settled draw with all that was proven out and nothing else.
    pub rest: Option<Settled>,
    /// What the latest settled draw of the search leaves, or of the repair that holds; none where it was not
    /// searched in, or readings contradict each other.
    pub remainder: Option<Remainder>,
    /// The branch or branches found, with the path down and the plugs on it.
    pub located: Vec<Located>,
    /// While it is not finished: what came out and made the draw fall, with nobody proven by it.
    pub branches: Vec<Located>,
    /// Those of them that come out with one plug only.
    pub one_plug: Vec<OnePlug>,
    /// Every reading.
    pub rows: Vec<Row>,
    /// What was ruled out; none where the readings say nothing of a fault.
    pub cleared: Option<Cleared>,
    /// Causes that are not ruled out and not proven either, the largest first.
    pub possible: Vec<Possible>,
    /// The same by the branch they are in, in tree order.
    pub groups: Vec<Group>,
    /// What could not be done, and was not done later, by entry.
    pub skipped: Vec<u32>,
    /// What was repaired and what was noted, by entry.
    pub notes: Vec<u32>,
    /// What was mended, in order, and what became of the draw.
    pub repairs: Vec<Repaired>,
    /// What is out now.
    pub out: Vec<TakenOut>,
    /// What is left to do, in order.
    pub to_do: Vec<ToDo>,
    /// Minutes at the vehicle, by the tool's own count.
    pub spent: f64,
}

/// Writes up a case. What was read after a repair that holds says nothing of the fault: the verdict is
/// that of the search before it.
pub fn report(case: &Case<'_>) -> Report {
    let counting = case.counting();
    let holds = case.repairs().last().filter(|r| r.over.is_none());
    let until = holds.and_then(|repair| repair.entries.first().copied());
    let later = |n: &u32| until.is_some_and(|until| *n >= until);
    let search = case.before_repair().unwrap_or_else(|| case.clone());
    let next = search.next();
    let before = before(&search);
    let verdict = verdict(&search, &next, before.as_ref());
    let judged = against(&search, before.as_ref());
    let located: Vec<Located> = if verdict.ending == Ending::Located {
        next.located.clone()
    } else {
        let proven = verdict.found.iter().filter(|f| f.returned);
        proven.map(|f| search.branch(&f.subject)).collect()
    };
    let proven = verdict.found.iter().flat_map(parts_of);
    let seats = located.iter().filter_map(|l| l.path.last().copied());
    let held: Vec<PartId> = proven.chain(seats).collect();
    // Readings of a draw that is in order, or that cannot be true, say nothing of a fault.
    let quiet = matches!(
        verdict.ending,
        Ending::Gone | Ending::WithinLimit | Ending::Contradiction
    );
    let judged = judged.filter(|_| !quiet);
    let counted = || {
        let counts = |e: &&Entry| counting.binary_search(&e.number).is_ok();
        case.entries().iter().filter(counts)
    };
    let told = counted().filter_map(|e| match &e.act {
        Act::Told { key, text } => Some((key.clone(), text.clone())),
        _ => None,
    });
    let numbers = |wanted: fn(&Act) -> bool| -> Vec<u32> {
        let found = counted().filter(|e| wanted(&e.act));
        found.map(|e| e.number).collect()
    };
    let after = search.settled_draw().map(|draw| Settled {
        entry: draw.entry,
        out: draw.out.clone(),
        current: draw.current,
    });
    let mut rows: Vec<Row> = rows(&search);
    rows.retain(|row| !later(&row.entry));
    rows.extend(self::rows(case).into_iter().filter(|row| later(&row.entry)));
    let repairs: Vec<Repaired> = case.repairs().iter().map(|r| repaired(case, r)).collect();
    let rest = rest(case, &verdict);
    // A repair that does not hold ends the spell, and takes nothing from what was ruled out before it.
    let over = case.repairs().last().filter(|repair| repair.over.is_some());
    let until = over.and_then(|repair| repair.entries.first().copied());
    let earlier = until.map(|until| {
        let later = |n: &u32| *n >= until;
        let later: Vec<u32> = counting.iter().copied().filter(later).collect();
        case.without(&later)
    });
    let searched = earlier.as_ref().unwrap_or(&search);
    let cleared = against(searched, before.as_ref())
        .filter(|_| !quiet)
        .map(|judged| cleared(searched, &judged, &held));
    let possible = judged
        .as_ref()
        .map_or_else(Vec::new, |j| possible(&search, j, &verdict));
    let groups = judged.map_or_else(Vec::new, |j| grouped(&search, &j, &possible));
    let remainder = case.remainder().or_else(|| search.remainder());
    Report {
        told: told.collect(),
        after: after.filter(|a| before.as_ref().is_some_and(|b| b.entry != a.entry)),
        one_plug: search.on_one_plug(&located),
        rest,
        remainder: remainder.filter(|_| !quiet),
        located,
        branches: next.branches.clone(),
        rows,
        cleared,
        possible,
        groups,
        skipped: skipped(case),
        unexplained: days::days_unexplained(&search, before.as_ref()),
        notes: numbers(|act| {
            matches!(
                act,
                Act::Repaired { .. } | Act::Note(_) | Act::Comes { .. } | Act::Logged { .. }
            )
        }),
        out: case.taken_out().to_vec(),
        to_do: to_do(case, &verdict, repairs.last()),
        repairs,
        spent: case.spent(),
        before,
        verdict,
    }
}

/// The parts that were taken out for a proof that held.
fn parts_of(found: &crate::case::Found) -> Vec<PartId> {
    let taken = found.taken.iter().filter(|_| found.returned);
    taken.flat_map(|t| t.parts.iter().copied()).collect()
}

/// What is known now, judged by the draw that was found before anything was proven.
fn against<'c>(case: &'c Case<'_>, before: Option<&Settled>) -> Option<Judgement<'c>> {
    let setting = case.setting();
    let view = case.judged().view().clone();
    let draw = before?.current;
    Some(Judgement::new(&setting.feeds, &setting.healthy, view, draw))
}

/// What has become of each reading so far, by its entry.
pub fn read_so_far(case: &Case<'_>) -> impl Iterator<Item = (u32, Worth)> {
    rows(case).into_iter().map(|row| (row.entry, row.worth))
}

fn rows(case: &Case<'_>) -> Vec<Row> {
    let counting = case.counting();
    let shown = |number: u32| case.readings().iter().find(|s| s.entry == number);
    let readings = case.entries().iter().filter(|e| is_reading(&e.act));
    readings
        .map(|entry| {
            let number = entry.number;
            let worth = if counting.binary_search(&number).is_err() {
                Worth::Withdrawn
            } else if case.counts(number) {
                Worth::Counts
            } else {
                shown(number).map_or(Worth::Seen, worth)
            };
            let shown = shown(number);
            Row {
                entry: number,
                out: shown.map(|s| s.out.clone()).unwrap_or_default(),
                current: shown.and_then(|s| s.current),
                worth,
            }
        })
        .collect()
}

/// A repair with the draws read after it.
fn repaired(case: &Case<'_>, repair: &Repair) -> Repaired {
    let draws = repair.draws.iter().chain(&repair.over);
    let settled = draws.filter_map(|entry| {
        let shown = case.readings().iter().find(|s| s.entry == *entry)?;
        Some(Settled {
            entry: *entry,
            out: shown.out.clone(),
            current: shown.current?,
        })
    });
    let minutes = |entry: &u32| match case.entries().iter().find(|e| e.number == *entry)?.act {
        Act::Logged { long, .. } => Some(long.minutes()),
        _ => None,
    };
    Repaired {
        logged: repair
            .logs
            .iter()
            .filter_map(minutes)
            .max_by(f64::total_cmp),
        stays_away: case.stays_away(),
        entries: repair.entries.clone(),
        draws: settled.collect(),
        unmended: if repair.unmended.is_empty() {
            repair.unnamed.clone()
        } else {
            repair.unmended.clone()
        },
        verified: Verified::of(repair),
    }
}

/// What has become of a reading that bounds nothing now.
fn worth(shown: &Shown) -> Worth {
    if !shown.asleep {
        Worth::Awake
    } else if shown.taken {
        Worth::Earlier
    } else if shown.method == Method::Volts {
        Worth::Seen
    } else {
        Worth::NotTaken
    }
}

/// Whether something was seen when it was looked at.
pub fn seen(act: &Act) -> Option<bool> {
    match act {
        Act::Look { seen, .. } => Some(*seen == Seen::Yes),
        _ => None,
    }
}
