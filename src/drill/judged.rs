//! One step of a drill by itself: the minutes it lost against the best step of its moment, and which bad
//! check it was.

use super::{FULL_WITHIN, Judged, Step, Verdict};
use crate::case::{Case, Planned};
use crate::judgement::Standing;
use crate::measurement::Method;
use crate::simulation::Happened;

/// What tells something new and loses less than the shortest step, a draw, is no bad check (judgement): near
/// the end 5 % are seconds.
const SHORTEST: f64 = 0.5;

/// Whether a reading could tell nothing: the vehicle was awake, the meter's fuse went by it, or had gone
/// by an earlier one.
pub(super) fn tells_nothing(step: &Step, earlier: &[Step]) -> bool {
    let last = earlier.iter().flat_map(|s| &s.happened);
    let mut last = last.filter(|h| matches!(h, Happened::FuseWent | Happened::PutRight));
    let dead = last.next_back() == Some(&Happened::FuseWent);
    let small = step.entry.as_ref().is_some_and(|e| e.ends_with("jack mA"));
    !step.asleep || step.happened.contains(&Happened::FuseWent) || dead && small
}

/// One step: its minutes lost, and only where some were lost, which bad check it was.
pub(super) fn judge(step: &Step, entry: &str, before: &Case<'_>, after: &Case<'_>) -> Judged {
    let feeds = &before.setting().feeds;
    let out = |s: Standing| matches!(s, Standing::RuledOut | Standing::Dead);
    let (was, is) = (before.standing(), after.standing());
    let ruled_out = was.iter().zip(&is).filter(|(w, i)| !out(w.1) && out(i.1));
    let ruled_out = ruled_out.map(|(w, _)| feeds.id(w.0).to_owned()).collect();
    let mut judged = Judged {
        entry: entry.to_owned(),
        verdict: Verdict::Good,
        lost: 0.0,
        ruled_out,
        better: None,
        reason: step.reason.clone(),
    };
    let word = step.typed.split(' ').next().unwrap_or("");
    let takes_out = matches!(word, "pull" | "unplug");
    let splits = takes_out || matches!(word, "drop" | "clamp" | "series" | "look");
    // What prepares, waits, proves or puts back is never a bad check.
    // A look at an input or a network costs next to nothing, and no plan has it.
    let name = step.typed.split_once(' ').map_or("", |(_, name)| name);
    if !splits || word == "look" && before.part(name).is_none() {
        return judged;
    }
    let next = before.step();
    let asked = next.test.as_ref().map(|t| t.entry.clone());
    if asked.as_deref() == Some(step.typed.as_str()) {
        return judged;
    }
    let better = asked.filter(|_| next.test.is_some());
    let Some(plan) = before.plan_alone() else {
        // Nothing can be split before the draw is known, nor while a proof is under way.
        judged.verdict = Verdict::Premature;
        judged.lost = step.minutes;
        judged.better = better;
        return judged;
    };
    let with = plan
        .steps_of(&step.typed)
        .filter_map(|s| plan.minutes_with(s));
    let with = with.fold(f64::INFINITY, f64::min);
    let known = known_before(step, before, judged.ruled_out.len());
    judged.lost = if with.is_finite() {
        (with - plan.expected).max(0.0)
    } else {
        minutes_in_vain(step, before, &plan)
    };
    let near = judged.lost <= FULL_WITHIN * plan.expected;
    let little = known.is_none() && judged.lost < SHORTEST;
    if (near || little) && with.is_finite() {
        judged.lost = 0.0;
        return judged;
    }
    judged.verdict = match known {
        Some(verdict) if !with.is_finite() || verdict == Verdict::Irrelevant => verdict,
        _ => Verdict::Premature,
    };
    judged.better = better;
    judged
}

/// Whether what a step asks was known: outside what could be, or certain already.
fn known_before(step: &Step, before: &Case<'_>, ruled_out: usize) -> Option<Verdict> {
    let name = step.typed.split_once(' ').map_or("", |(_, name)| name);
    let part = before.part(name)?;
    let judged = before.judged();
    Some(match judged.standing(part) {
        Standing::RuledOut | Standing::Dead | Standing::TooSmall if ruled_out == 0 => {
            Verdict::Irrelevant
        }
        Standing::Carrying => Verdict::Redundant,
        _ => {
            let again = before
                .entries()
                .iter()
                .any(|e| e.text.starts_with(&step.typed));
            if again {
                Verdict::Redundant
            } else {
                return None;
            }
        }
    })
}

/// Minutes of a step that no plan has a use for: those of the way there only where nothing that could be
/// the cause is reached by it.
fn minutes_in_vain(step: &Step, before: &Case<'_>, plan: &Planned) -> f64 {
    let (word, name) = step.typed.split_once(' ').unwrap_or((&step.typed, ""));
    let method = match word {
        "drop" => Method::Drop,
        "clamp" => Method::Clamp,
        "look" => Method::Look,
        _ => return step.minutes,
    };
    let place = before
        .part(name)
        .and_then(|p| before.setting().feeds.place(p));
    if place.is_some_and(|place| plan.places.contains(&place)) {
        step.minutes.min(before.setting().minutes(method))
    } else {
        step.minutes
    }
}
