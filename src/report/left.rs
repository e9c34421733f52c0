//! What is ruled out, what may still be, what was skipped and what is left to do.

use super::parts_of;
use crate::case::{Case, Entry, Found};
use crate::feeds::PartId;
use crate::journal::{Act, Point};
use crate::judgement::{Judgement, Standing};
use crate::measurement::Method;
use crate::report::{Cleared, Ending, Group, Possible, Repaired, ToDo, Verdict, Verified};
use crate::suspects::{Cause, Subject};

/// The topmost parts ruled out that hold none of these.
pub(super) fn cleared(case: &Case<'_>, judged: &Judgement<'_>, held: &[PartId]) -> Cleared {
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
pub(super) fn possible(
    case: &Case<'_>,
    judged: &Judgement<'_>,
    verdict: &Verdict,
) -> Vec<Possible> {
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
pub(super) fn grouped(
    case: &Case<'_>,
    judged: &Judgement<'_>,
    possible: &[Possible],
) -> Vec<Group> {
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

/// Another battery that a proven contact tied to this one while the vehicle was parked: it gave or took what flowed
/// there, so it may be flat or harmed.
pub fn tied_battery(case: &Case<'_>, found: &Found) -> Option<PartId> {
    let feeds = &case.setting().feeds;
    let contact = match (found.cause, &found.subject) {
        (Cause::ContactClosed, Subject::Part(part)) => *part,
        (Cause::CoilHeld, Subject::Part(part)) => feeds.moved_by(*part)?,
        _ => return None,
    };
    feeds.battery_behind(contact).filter(|_| found.returned)
}

/// What is left to do, in order.
pub(super) fn to_do(case: &Case<'_>, verdict: &Verdict, repaired: Option<&Repaired>) -> Vec<ToDo> {
    let mut list = still_to_do(case, verdict, repaired);
    let tied = verdict
        .found
        .iter()
        .filter_map(|found| tied_battery(case, found));
    list.extend(tied.map(ToDo::TestBattery));
    list.dedup();
    list
}

fn still_to_do(case: &Case<'_>, verdict: &Verdict, repaired: Option<&Repaired>) -> Vec<ToDo> {
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

/// What was skipped and not done later, by entry.
pub fn skipped(case: &Case<'_>) -> Vec<u32> {
    let feeds = &case.setting().feeds;
    let place_of = |point: &Point| match point {
        Point::Part(part) => feeds.place(*part),
        Point::Plug(_, parts) => feeds.place(*parts.first()?),
        Point::Place(place) => Some(*place),
        _ => None,
    };
    let at = |point: &Point, wanted: &Point| {
        let way = place_of(point).map(|place| feeds.way(place));
        let place = place_of(wanted);
        place.is_some_and(|place| way.unwrap_or_default().contains(&place))
    };
    // Whoever did something there got there.
    let was_there = |act: &Act, wanted: &Point| match act {
        Act::Read { point, .. } | Act::Look { point, .. } => at(point, wanted),
        Act::Pull(points) | Act::Unplug(points) => points.iter().any(|one| at(one, wanted)),
        Act::Open(place) => at(&Point::Place(*place), wanted),
        _ => false,
    };
    let counting = case.counting();
    let stands = |entry: &&Entry| counting.binary_search(&entry.number).is_ok();
    let does = |act: &Act, wanted: Method, at: &Point| match act {
        _ if wanted == Method::Open => was_there(act, at),
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
