//! What came of a drill: each step by the minutes it lost, the misconceptions by name, the best path.
//!
//! **The rubric.** The three bad checks (irrelevant, redundant, premature) are those of the classical
//! texts on bracketing, here counted in minutes and not in checks. The marks are judgement: 40 for the
//! part, 10 for the connector, 20 for the proof, 30 for the minutes.

use super::faults::seats;
use super::{Drill, Played, Step, answers_to, played};
use crate::case::Case;
use crate::judgement::Standing;
use crate::simulation::{Drain, Happened};

/// What a step was worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Within 5 % of the best step.
    Good,
    /// Outside what could still be the cause.
    Irrelevant,
    /// What it told was known.
    Redundant,
    /// Dear before cheap, or specific before general.
    Premature,
    /// The answer was given without its proof.
    Unproven,
}

/// A step with its judgement.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// What was typed, and what was read.
    pub entry: String,
    /// What it was worth.
    pub verdict: Verdict,
    /// Minutes lost against the best step there.
    pub lost: f64,
    /// The parts it ruled out.
    pub ruled_out: Vec<String>,
    /// The best step there, where minutes were lost.
    pub better: Option<String>,
}

/// A wrong idea that a drill shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Misconception {
    /// Readings were taken before the vehicle slept.
    JudgedAwake,
    /// Began without the preparation.
    NotPrepared,
    /// A draw was believed that the set-up had spoilt.
    BadBaseline,
    /// 0.0 was believed where the meter could not have shown the drain.
    ZeroBelieved,
    /// The healthy part that carried most was convicted.
    BiggestConvicted,
    /// Proof was claimed that was not taken.
    ClaimedProof,
    /// The fault was reset by taking it out, and called proven.
    ResetCalledProven,
    /// One of two drains was named.
    OneOfTwo,
    /// What nobody may touch was to be unplugged or pulled.
    CautionIgnored,
}

/// What came of a drill.
#[derive(Clone, Debug, PartialEq)]
pub struct Debrief {
    /// Every hidden fault was named, and nothing else.
    pub right: bool,
    /// What was named.
    pub named: Vec<String>,
    /// What was hidden, by its best name.
    pub hidden: Vec<String>,
    /// A connector was named and is the fault's; `None` where the fault has none.
    pub connector: Option<bool>,
    /// The proof was taken for all that was hidden, or the best plan could take none either.
    pub proven: bool,
    /// Minutes used.
    pub minutes: f64,
    /// What the best plan took at the same vehicle.
    pub best: Played,
    /// Wakes caused.
    pub wakes: u32,
    /// Hints asked for.
    pub hints: u32,
    /// The steps.
    pub steps: Vec<Judged>,
    /// The misconceptions, each once.
    pub misconceptions: Vec<Misconception>,
    /// Out of 100; 0 where a serious caution was ignored.
    pub marks: u32,
}

/// A step, and a whole play, is as good as the best within this share of its minutes.
pub const FULL_WITHIN: f64 = 0.05;

impl Drill<'_> {
    /// Judges a drill, ended or not, step by step. `choice` must be the one it was played with.
    pub fn debrief(&self, choice: &dyn Fn(&str) -> f64) -> Debrief {
        let feeds = &self.setting.feeds;
        let best = played(self.setting, self.exercise, choice);
        let drains: Vec<&Drain> = self.exercise.hidden.iter().map(|h| &h.drain).collect();
        let fits: Vec<Vec<String>> = drains.iter().map(|d| answers_to(feeds, d)).collect();
        let named = self
            .answer
            .as_ref()
            .map_or_else(Vec::new, |a| a.parts.clone());
        let hit = |fit: &Vec<String>| named.iter().any(|n| fit.contains(n));
        let astray = named
            .iter()
            .any(|n| !fits.iter().any(|fit| fit.contains(n)));
        let right = !fits.is_empty() && fits.iter().all(hit) && !astray;
        let next = self.case.next();
        let found: Vec<(String, bool)> = next
            .found
            .iter()
            .map(|f| (f.subject.id(feeds), f.returned))
            .collect();
        let proof_of = |fit: &Vec<String>| found.iter().any(|(id, back)| *back && fit.contains(id));
        let best_proves = |fit: &Vec<String>| best.proven.iter().any(|id| fit.contains(id));
        let proven = fits.iter().all(|fit| proof_of(fit) || !best_proves(fit));
        let mut steps = self.judged();
        if self.answer.is_some() && !proven {
            steps.push(Judged {
                entry: format!("answer {}", named.join(" and ")),
                verdict: Verdict::Unproven,
                lost: 0.0,
                ruled_out: Vec::new(),
                better: next.test.map(|test| test.entry),
            });
        }
        let mut debrief = Debrief {
            right,
            hidden: fits.iter().filter_map(|f| f.first().cloned()).collect(),
            connector: self.connector(&drains),
            proven,
            minutes: self.parked.minutes(),
            wakes: self.parked.wakes(),
            hints: self.hints,
            steps,
            misconceptions: Vec::new(),
            marks: 0,
            named,
            best,
        };
        debrief.misconceptions = self.misconceptions(&debrief, &fits, &found);
        debrief.marks = debrief.worth();
        debrief
    }

    /// Whether a named connector is the fault's.
    fn connector(&self, drains: &[&Drain]) -> Option<bool> {
        let feeds = &self.setting.feeds;
        let plugs: Vec<&str> = drains
            .iter()
            .flat_map(|d| seats(feeds, d))
            .filter_map(|p| feeds.part(p).plug.as_ref().map(|plug| plug.value.as_str()))
            .collect();
        if plugs.is_empty() {
            return None;
        }
        let said = self.answer.as_ref().map_or(&[][..], |a| a.plugs.as_slice());
        Some(!said.is_empty() && said.iter().all(|plug| plugs.contains(&plug.as_str())))
    }

    /// Each step against the best step of its moment.
    fn judged(&self) -> Vec<Judged> {
        let texts: Vec<String> = self.case.entries().iter().map(|e| e.text.clone()).collect();
        let at = |count: usize| Case::reopen(self.setting, texts[..count].iter().cloned()).ok();
        let mut list = Vec::new();
        for (index, step) in self.steps.iter().enumerate() {
            let Some(entry) = &step.entry else {
                list.push(Judged {
                    entry: step.typed.clone(),
                    verdict: Verdict::Good,
                    lost: 0.0,
                    ruled_out: Vec::new(),
                    better: None,
                });
                continue;
            };
            let after = self.steps.get(index + 1).map_or(texts.len(), |s| s.before);
            let (Some(before), Some(after)) = (at(step.before), at(after)) else {
                continue;
            };
            list.push(judge(step, entry, &before, &after));
        }
        list
    }

    fn misconceptions(
        &self,
        debrief: &Debrief,
        fits: &[Vec<String>],
        found: &[(String, bool)],
    ) -> Vec<Misconception> {
        let feeds = &self.setting.feeds;
        let mut list = Vec::new();
        let is_reading = |s: &Step| {
            ["draw", "drop ", "clamp ", "series "]
                .iter()
                .any(|w| s.typed.starts_with(w))
        };
        let first = self.steps.iter().position(is_reading);
        if self.steps.iter().any(|s| is_reading(s) && !s.asleep) {
            list.push(Misconception::JudgedAwake);
        }
        let prepared = self.steps.iter().position(|s| s.typed == "prepared");
        if first.is_some_and(|first| prepared.is_none_or(|p| p > first)) {
            list.push(Misconception::NotPrepared);
        }
        let traps = self.exercise.traps;
        let spoilt = traps.bridge_on || traps.blown_fuse || traps.leads_round;
        let put_right = self
            .steps
            .iter()
            .any(|s| s.happened.contains(&Happened::PutRight));
        if spoilt && !put_right && self.answer.is_some() {
            list.push(Misconception::BadBaseline);
        }
        let answered = self.answer.is_some();
        if answered && !debrief.right {
            let carries = self
                .exercise
                .hidden
                .iter()
                .flat_map(|h| seats(feeds, &h.drain));
            let seats: Vec<_> = carries.collect();
            let matters = self.case.judged().matters();
            let zero_above = self.case.readings().iter().any(|r| {
                r.method == crate::measurement::Method::Drop
                    && r.current
                        .is_some_and(|c| c.low() <= 0.0 && c.high() >= matters)
                    && seats.iter().any(|seat| feeds.is_below(*seat, r.part))
            });
            if zero_above {
                list.push(Misconception::ZeroBelieved);
            }
            let held = self
                .exercise
                .hidden
                .iter()
                .any(|h| matches!(h.drain, Drain::HeldBy(_)));
            if held
                && debrief
                    .named
                    .iter()
                    .any(|n| !fits.iter().any(|f| f.contains(n)))
            {
                list.push(Misconception::BiggestConvicted);
            }
            let hits = fits
                .iter()
                .filter(|f| debrief.named.iter().any(|n| f.contains(n)))
                .count();
            if hits > 0 && hits < fits.len() {
                list.push(Misconception::OneOfTwo);
            }
        }
        if self.answer.as_ref().is_some_and(|a| a.claims_proof) {
            let every = debrief
                .named
                .iter()
                .all(|n| found.iter().any(|(id, back)| *back && id == n));
            let reset = debrief
                .named
                .iter()
                .any(|n| found.iter().any(|(id, back)| !back && id == n));
            if reset {
                list.push(Misconception::ResetCalledProven);
            } else if !every {
                list.push(Misconception::ClaimedProof);
            }
        }
        if !self.touched.is_empty() {
            list.push(Misconception::CautionIgnored);
        }
        list
    }
}

impl Debrief {
    /// Minutes lost in all.
    pub fn lost(&self) -> f64 {
        self.steps.iter().map(|s| s.lost).sum()
    }

    fn worth(&self) -> u32 {
        if self.misconceptions.contains(&Misconception::CautionIgnored) {
            return 0;
        }
        let mut marks = 0.0;
        if self.right {
            let best = self.best.minutes;
            let share = if self.minutes <= (1.0 + FULL_WITHIN) * best {
                1.0
            } else {
                best / self.minutes
            };
            marks += 40.0 + 30.0 * share;
            marks += if self.connector.unwrap_or(true) {
                10.0
            } else {
                0.0
            };
            marks += if self.proven { 20.0 } else { 0.0 };
        }
        f64::round(marks) as u32
    }
}

/// One step: its minutes lost, and only where some were lost, which bad check it was.
fn judge(step: &Step, entry: &str, before: &Case<'_>, after: &Case<'_>) -> Judged {
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
    };
    let word = step.typed.split(' ').next().unwrap_or("");
    let takes_out = matches!(word, "pull" | "unplug");
    let splits = takes_out || matches!(word, "drop" | "clamp" | "series" | "look");
    // What prepares, waits, proves or puts back is never a bad check.
    if !splits {
        return judged;
    }
    let next = before.next();
    let asked = next.test.as_ref().map(|t| t.entry.clone());
    if asked.as_deref() == Some(step.typed.as_str()) {
        return judged;
    }
    let better = asked.filter(|_| next.test.is_some());
    let Some(plan) = before.plan() else {
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
    let known = known_before(step, before);
    judged.lost = if with.is_finite() {
        (with - plan.expected).max(0.0)
    } else {
        step.minutes
    };
    if judged.lost <= FULL_WITHIN * plan.expected && with.is_finite() {
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
fn known_before(step: &Step, before: &Case<'_>) -> Option<Verdict> {
    let name = step.typed.split_once(' ').map_or("", |(_, name)| name);
    let part = before.part(name)?;
    let judged = before.judged();
    Some(match judged.standing(part) {
        Standing::RuledOut | Standing::Dead | Standing::TooSmall => Verdict::Irrelevant,
        Standing::Carrying => Verdict::Redundant,
        Standing::InQuestion => {
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
