//! Each step of a drill: the minutes it lost against the best step of its moment, and which bad check it was.
//!
//! **Cost.** A case reopened for each entry, and the plan of its moment.

use super::faults::seats;
use super::misconception::is_reading;
use super::together::{silenced, takes_out, unplugging};
use super::{Drill, FULL_WITHIN, HINT_MINUTES, Judged, Played, Step, Verdict};
use crate::case::{Case, Planned};
use crate::feeds::{ModuleId, PartId};
use crate::judgement::Standing;
use crate::measurement::Method;
use crate::planner;
use crate::simulation::Happened;

/// What tells something new and loses less than the shortest step, a draw, is no bad check (judgement): near
/// the end 5 % are seconds.
const SHORTEST: f64 = 0.5;

impl Drill<'_> {
    /// Each step against the best step of its moment.
    pub(super) fn judged(&self, best: &Played) -> Vec<Judged> {
        let feeds = &self.setting.feeds;
        let texts: Vec<String> = self.case.entries().iter().map(|e| e.text.clone()).collect();
        let at = |count: usize| Case::reopen(self.setting, texts[..count].iter().cloned()).ok();
        let until = |index: usize| self.steps.get(index + 1).map_or(texts.len(), |s| s.before);
        // What stood after a step mostly stands before the next one.
        let mut reached: Option<(usize, Case<'_>)> = None;
        let proven = self.proven_parts();
        let mut list = Vec::new();
        for (index, step) in self.steps.iter().enumerate() {
            let Some(entry) = &step.entry else {
                list.push(self.judged_apart(step));
                continue;
            };
            let run = self.run_of(index);
            let count = self.steps[run.start].before;
            let known = reached.take().filter(|(reached, _)| *reached == count);
            let before = known.map(|(_, case)| case).or_else(|| at(count));
            let (Some(before), Some(after)) = (before, at(until(run.end - 1))) else {
                continue;
            };
            let one = (run.len() > 1).then(|| self.as_one(&run, &before, &after));
            let mut judged = match one.flatten() {
                // The act is judged where it is complete.
                Some(_) if index + 1 < run.end => Judged::good(step, entry),
                Some(one) => self.held_against(&one, index, (&before, &after), best, &list),
                None if run.len() > 1 => {
                    let (Some(before), Some(after)) = (at(step.before), at(until(index))) else {
                        continue;
                    };
                    self.held_against(step, index, (&before, &after), best, &list)
                }
                None => self.held_against(step, index, (&before, &after), best, &list),
            };
            let comes_out = |own: &Vec<PartId>| {
                let cut = |case: &Case<'_>, part: PartId| case.out_now().cuts(feeds, part);
                own.iter().all(|p| cut(&after, *p) && !cut(&before, *p))
            };
            if proven
                .iter()
                .any(|(own, by)| *by <= step.before && comes_out(own))
            {
                // It stays out while the rest is judged, or for the night.
                judged.lose_nothing();
            }
            reached = Some((until(run.end - 1), after));
            list.push(judged);
        }
        list
    }

    /// The parts of each hidden fault that was proven, and how many entries that took.
    fn proven_parts(&self) -> Vec<(Vec<PartId>, usize)> {
        let hidden = self.exercise.hidden.iter().zip(self.proofs());
        let closed = hidden.filter_map(|(hidden, proof)| {
            let own = seats(&self.setting.feeds, &hidden.drain);
            Some((own, proof.ok()? as usize))
        });
        closed.filter(|(own, _)| !own.is_empty()).collect()
    }

    /// A step between two cases; what came before it is judged in `list`.
    fn held_against(
        &self,
        step: &Step,
        index: usize,
        (before, after): (&Case<'_>, &Case<'_>),
        best: &Played,
        list: &[Judged],
    ) -> Judged {
        let feeds = &self.setting.feeds;
        let mut judged = judge(step, before, after);
        // What was to be done sooner or later, and is done for the first time, is no bad check: it is
        // on the best path, or was called the better step before.
        let silenced = silenced(feeds, &before.out_now(), &after.out_now());
        let same = silenced.map_or_else(Vec::new, |module| unplugging(feeds, module));
        let is_it = |line: &String| {
            let line = line.split(" by ").next().unwrap_or(line);
            line == step.typed || takes_out(step) && same.iter().any(|same| same == line)
        };
        let earlier = &self.steps[..index];
        let first = earlier.iter().all(|s| s.typed != step.typed);
        let called = list.iter().filter_map(|s| s.better.as_ref());
        if first && best.lines.iter().chain(called).any(is_it) {
            judged.lose_nothing();
        } else {
            // Who wakes it for nothing loses the settle that follows as well.
            let woke = judged.lost > 0.0 && step.happened.contains(&Happened::Woke);
            let settles = self.steps.get(index + 1).map_or(0.0, |s| s.settles);
            judged.lost += if woke { settles } else { 0.0 };
        }
        if is_reading(step) && tells_nothing(step, earlier) {
            judged.verdict = Verdict::Spoilt;
            judged.lost = step.minutes;
            judged.better = None;
        }
        if !self.exercise.hunt {
            // Where nothing is searched for no step is better than another.
            judged.lose_nothing();
        }
        judged
    }

    /// A step that is no entry of a session.
    fn judged_apart(&self, step: &Step) -> Judged {
        let hint = step.typed == "hint";
        let stopped = step.happened.contains(&Happened::Stopped);
        // Longer than the vehicle needs to sleep, with nothing that calls in between.
        let idle = if step.typed.starts_with("wait ") && !self.exercise.traps.bursts {
            (step.minutes - step.settles).max(0.0)
        } else {
            0.0
        };
        let (verdict, lost) = match () {
            () if hint => (Verdict::Asked, HINT_MINUTES),
            () if stopped => (Verdict::Stopped, 0.0),
            () if idle > 0.0 && self.exercise.hunt => (Verdict::Spoilt, idle),
            () => (Verdict::Good, 0.0),
        };
        Judged {
            verdict,
            lost,
            ..Judged::good(step, &step.typed)
        }
    }
}

/// Whether a reading could tell nothing: the vehicle was awake, the meter's fuse went by it, or had gone
/// by an earlier one.
fn tells_nothing(step: &Step, earlier: &[Step]) -> bool {
    let last = earlier.iter().flat_map(|s| &s.happened);
    let mut last = last.filter(|h| matches!(h, Happened::FuseWent | Happened::PutRight));
    let dead = last.next_back() == Some(&Happened::FuseWent);
    let small = step.entry.as_ref().is_some_and(|e| e.ends_with("jack mA"));
    !step.asleep || step.happened.contains(&Happened::FuseWent) || dead && small
}

/// One step: its minutes lost, and only where some were lost, which bad check it was.
fn judge(step: &Step, before: &Case<'_>, after: &Case<'_>) -> Judged {
    let feeds = &before.setting().feeds;
    let out = |s: Standing| matches!(s, Standing::RuledOut | Standing::Dead);
    let (was, is) = (before.standing(), after.standing());
    let ruled_out = was.iter().zip(&is).filter(|(w, i)| !out(w.1) && out(i.1));
    let ruled_out = ruled_out.map(|(w, _)| feeds.id(w.0).to_owned()).collect();
    let mut judged = Judged {
        ruled_out,
        ..Judged::good(step, step.entry.as_ref().unwrap_or(&step.typed))
    };
    let word = step.typed.split(' ').next().unwrap_or("");
    let splits = takes_out(step) || matches!(word, "drop" | "clamp" | "series" | "look");
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
    let pulled = (word == "pull").then(|| silenced(feeds, &before.out_now(), &after.out_now()));
    let unplugged = pulled
        .flatten()
        .and_then(|module| minutes_unplugging(step, before, &plan, module));
    let with = with.min(unplugged.unwrap_or(f64::INFINITY));
    let known = known_before(step, before, judged.ruled_out.len());
    let known = known.filter(|_| unplugged.is_none());
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

/// Expected minutes when this module is silenced first, not at its plug but where its feeds were taken out;
/// `None` where the plan has no use for that.
fn minutes_unplugging(
    step: &Step,
    before: &Case<'_>,
    plan: &Planned,
    module: ModuleId,
) -> Option<f64> {
    let feeds = &before.setting().feeds;
    let names = unplugging(feeds, module);
    let taken = step.typed.split_once(' ').map_or("", |(_, names)| names);
    let first = taken.split(", ").next().and_then(|name| before.part(name));
    let place = first.and_then(|part| feeds.place(part));
    let place = plan.places.iter().position(|p| Some(*p) == place);
    let ways = names.iter().flat_map(|name| plan.steps_of(name));
    let with = ways.filter_map(|way| {
        let mut there = plan.clone();
        match way {
            planner::Step::Test(test) => there.table.tests.get_mut(test)?.place = place,
            planner::Step::Prove(suspect) => {
                there.table.suspects.get_mut(suspect)?.proof_place = place;
            }
        }
        there.minutes_with(way)
    });
    with.reduce(f64::min)
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
