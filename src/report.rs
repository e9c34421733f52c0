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

use crate::battery::{self, Comparison};
use crate::case::{Case, Entry, Located, OnePlug, Remainder, Repair, Shown, TakenOut};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::{Act, Point, Seen};
use crate::judgement::{Judgement, Standing};
use crate::ledger::Out;
use crate::measurement::Method;
use crate::quantity::{Days, Milliamps};
use crate::suspects::{Cause, Subject};

mod reasons;
mod verdict;

pub use reasons::{About, Reasons, Says, Step, is_reading, reasons};
pub use verdict::{Ending, Ground, Rival, Verdict, mate, verdict};

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
        rows,
        cleared,
        possible,
        groups,
        skipped: skipped(case),
        unexplained: days_unexplained(&search, before.as_ref()),
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

/// The days told that the draw found does not explain. A complaint from before a repair is held against the
/// draw from before it.
pub fn unexplained(case: &Case<'_>) -> Option<Unexplained> {
    let search = case.before_repair();
    let search = search.as_ref().unwrap_or(case);
    days_unexplained(search, before(search).as_ref())
}

fn days_unexplained(search: &Case<'_>, before: Option<&Settled>) -> Option<Unexplained> {
    let intake = search.intake();
    let (told, capacity) = (intake.days?, intake.size?.capacity());
    let draw = before?.current;
    let how = battery::explains(draw, told, capacity);
    (how != Comparison::Fits).then(|| Unexplained {
        told,
        lasts: battery::days_at(draw, capacity),
        draw,
        how,
    })
}

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

/// What was skipped and not done later, by entry.
fn skipped(case: &Case<'_>) -> Vec<u32> {
    let counting = case.counting();
    let stands = |entry: &&Entry| counting.binary_search(&entry.number).is_ok();
    let does = |act: &Act, wanted: Method, at: &Point| match act {
        Act::Read { method, point, .. } => *method == wanted && point == at,
        Act::Look { point, .. } => wanted == Method::Look && point == at,
        Act::Pull(points) => wanted == Method::Pull && points.contains(at),
        Act::Unplug(points) => wanted == Method::Unplug && points.contains(at),
        _ => false,
    };
    let entries: Vec<&Entry> = case.entries().iter().filter(stands).collect();
    let open = entries.iter().filter_map(|entry| {
        let Act::Skip { method, point, .. } = &entry.act else {
            return None;
        };
        let later = entries.iter().filter(|other| other.number > entry.number);
        let mut done = later.filter(|other| does(&other.act, *method, point));
        done.next().is_none().then_some(entry.number)
    });
    open.collect()
}

/// The parts that were taken out for a proof that held.
fn parts_of(found: &crate::case::Found) -> Vec<PartId> {
    let taken = found.taken.iter().filter(|_| found.returned);
    taken.flat_map(|t| t.parts.iter().copied()).collect()
}

/// The latest settled draw with all that was proven out and nothing else.
fn rest(case: &Case<'_>, verdict: &Verdict) -> Option<Settled> {
    let proven = verdict.found.iter().flat_map(parts_of);
    let out = Out::of(&case.setting().feeds, proven);
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
fn before(case: &Case<'_>) -> Option<Settled> {
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

/// What is known now, judged by the draw that was found before anything was proven.
fn against<'c>(case: &'c Case<'_>, before: Option<&Settled>) -> Option<Judgement<'c>> {
    let setting = case.setting();
    let view = case.judged().view().clone();
    let draw = before?.current;
    Some(Judgement::new(&setting.feeds, &setting.healthy, view, draw))
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
        verified: match repair {
            Repair { over: Some(_), .. } => Verified::StillOver,
            repair if repair.is_watched() => Verified::Watched,
            Repair { draws, .. } if draws.is_empty() => Verified::NotRead,
            _ => Verified::Unwatched,
        },
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

/// The topmost parts ruled out that hold none of these.
fn cleared(case: &Case<'_>, judged: &Judgement<'_>, held: &[PartId]) -> Cleared {
    let feeds = &case.setting().feeds;
    let mut parts = Vec::new();
    let (mut small, mut dead) = (Vec::new(), Vec::new());
    let mut until = 0;
    for part in feeds.parts() {
        // In tree order whatever is below a part follows it at once.
        let related = |h: &PartId| feeds.is_below(*h, part) || feeds.is_below(part, *h);
        if part.0 < until || held.iter().any(related) {
            continue;
        }
        match judged.standing(part) {
            Standing::RuledOut => parts.push((part, judged.hides(part))),
            Standing::TooSmall => small.push((part, judged.hides(part))),
            Standing::Dead => dead.push(part),
            _ => continue,
        }
        until = feeds.subtree(part).end;
    }
    let all: Vec<PartId> = parts.iter().map(|(part, _)| *part).collect();
    let sum = parts.iter().fold(0.0, |sum, (_, hides)| sum + hides);
    let common = judged.common(&all).map(|common| judged.hides(common));
    Cleared {
        matters: judged.matters(),
        together: common.map_or(sum, |common| sum.min(common)),
        parts,
        small,
        dead,
    }
}

/// The causes that matter still, but for what was proven and what fell silent with it.
fn possible(case: &Case<'_>, judged: &Judgement<'_>, verdict: &Verdict) -> Vec<Possible> {
    let setting = case.setting();
    let proven = |suspect: &crate::suspects::Suspect| {
        verdict.found.iter().any(|found| {
            found.returned
                && (found.subject == suspect.subject || setting.silenced(suspect, &parts_of(found)))
        })
    };
    let mut list: Vec<Possible> = setting
        .suspects
        .iter()
        .filter(|suspect| !proven(suspect))
        .map(|suspect| Possible {
            id: suspect.subject.id(&setting.feeds),
            cause: suspect.cause,
            seat: suspect.seat(),
            hides: suspect.hides(judged),
        })
        .filter(|possible| possible.hides >= judged.matters())
        .collect();
    list.sort_by(|a, b| b.hides.total_cmp(&a.hides).then_with(|| a.id.cmp(&b.id)));
    list
}

/// Causes by the branch they are in: those behind each part below the nearest one that all of them share, but
/// for those on the way to it, which stand by themselves.
fn grouped(case: &Case<'_>, judged: &Judgement<'_>, possible: &[Possible]) -> Vec<Group> {
    let feeds = &case.setting().feeds;
    let mut seats: Vec<PartId> = possible.iter().filter_map(|one| one.seat).collect();
    let mut shared = judged.common(&seats);
    while let Some(top) = shared {
        seats.retain(|seat| *seat != top);
        match judged.common(&seats) {
            Some(next) if next != top => shared = Some(next),
            _ => break,
        }
    }
    let branch = |seat: PartId| {
        let path = feeds.path(seat);
        let at = path.iter().position(|part| Some(*part) == shared);
        let below = at.and_then(|at| path.get(at + 1));
        below.copied().unwrap_or(seat)
    };
    let mut groups: Vec<Group> = Vec::new();
    for one in possible {
        let behind = one.seat.map(branch);
        let known = groups.iter().position(|group| group.behind == behind);
        let at = known.unwrap_or_else(|| {
            groups.push(Group {
                behind,
                causes: Vec::new(),
                together: 0.0,
            });
            groups.len() - 1
        });
        groups[at].causes.push(one.clone());
    }
    for group in &mut groups {
        let sum: f64 = group.causes.iter().map(|one| one.hides).sum();
        let whole = judged.hides(group.behind.unwrap_or(PartId(0)));
        group.together = sum.min(whole);
    }
    // Those at no one part last.
    groups.sort_by_key(|group| (group.behind.is_none(), group.behind));
    groups
}

fn to_do(case: &Case<'_>, verdict: &Verdict, repaired: Option<&Repaired>) -> Vec<ToDo> {
    let held = repaired.map(|r| r.verified);
    if let Some(held) = held.filter(|held| *held != Verified::StillOver) {
        let mut list = Vec::new();
        if !case.taken_out().is_empty() {
            list.push(ToDo::PutBack);
        }
        match held {
            Verified::NotRead => list.push(ToDo::Verify),
            Verified::Unwatched => list.push(ToDo::Watch),
            Verified::Watched | Verified::StillOver => {}
        }
        return list;
    }
    // What was entered as repaired is not asked for again, but where the draw shows that it is not.
    let proven = verdict.found.iter().filter(|f| f.returned);
    let proven: Vec<Subject> = proven
        .map(|f| f.subject.clone())
        .filter(|subject| repaired.is_none_or(|r| r.unmended.contains(subject)))
        .collect();
    let mut list = match verdict.ending {
        Ending::Confirmed => vec![ToDo::Repair(proven.clone())],
        Ending::Located => vec![ToDo::PartFurther],
        Ending::Gone | Ending::WithinLimit => vec![ToDo::Log],
        Ending::Contradiction => vec![ToDo::ReadAgain(verdict.clash.clone())],
        Ending::NoSingleCause => vec![ToDo::SmallOnes],
        Ending::TooCoarse => vec![ToDo::FinerRange],
        Ending::NoLimit => vec![ToDo::FindLimit],
        Ending::Open => vec![ToDo::GoOn],
    };
    if verdict.ending != Ending::Confirmed && !proven.is_empty() {
        list.insert(0, ToDo::Repair(proven));
    }
    if !case.taken_out().is_empty() {
        list.push(ToDo::PutBack);
    }
    if verdict.ending == Ending::Confirmed {
        list.push(ToDo::Verify);
    }
    list
}

/// Whether something was seen when it was looked at.
pub fn seen(act: &Act) -> Option<bool> {
    match act {
        Act::Look { seen, .. } => Some(*seen == Seen::Yes),
        _ => None,
    }
}
