//! What came of a drill: each step by the minutes it lost, the misconceptions by name, the best path.
//!
//! **The rubric.** The three bad checks (irrelevant, redundant, premature) are those of the classical
//! texts on bracketing (from memory), here counted in minutes and not in checks. The marks are judgement,
//! no source: 40 for the part, 10 for the connector, 20 for the proof (of several hidden parts each by
//! its share), 30 for the minutes of an answer that is proven for all; where questions
//! are asked as well they are a fifth of it all.

use super::answer::NO_FAULT;
use super::faults::seats;
use super::misconception::{Found, misconceptions, parts_of};
use super::{Drill, Gap, Misconception, Played, Predicted, Replied, Step, answers_to, best_where};
use crate::feeds::Named;
use crate::measurement::{Method, offered};
use crate::simulation::Drain;

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
    /// It told nothing: the vehicle was awake, the meter's fuse went or was gone, or no need to wait.
    Spoilt,
    /// What nobody may touch was to be taken out or probed.
    Stopped,
    /// No step at the vehicle: a hint was asked for.
    Asked,
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
    /// Why it was done, as the learner said.
    pub reason: Option<String>,
}

/// What came of a drill.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::struct_excessive_bools)] // independent findings
pub struct Debrief {
    /// Every hidden fault was named, and nothing else; where there is none, every reply is right.
    pub right: bool,
    /// What was named.
    pub named: Vec<String>,
    /// What was hidden, by its best name.
    pub hidden: Vec<String>,
    /// A connector was named and is the fault's; `None` where the fault has none.
    pub connector: Option<bool>,
    /// The proof was taken for all that was hidden, or came as far as that of a best plan that could take
    /// none.
    pub proven: bool,
    /// What was named and not proven, with what was missing.
    pub gaps: Vec<(String, Gap)>,
    /// Minutes used.
    pub minutes: f64,
    /// The best path known at the same vehicle: the plan's, or this play where it was proven sooner.
    pub best: Played,
    /// The minutes of the plan where this play was proven sooner.
    pub beaten: Option<f64>,
    /// Wakes caused.
    pub wakes: u32,
    /// At a real board, whether what was typed shows that it wakes: else the best path has no wakes.
    pub board_wakes: Option<bool>,
    /// Hints asked for.
    pub hints: u32,
    /// The steps.
    pub steps: Vec<Judged>,
    /// The misconceptions, each once.
    pub misconceptions: Vec<Misconception>,
    /// The questions with what was said to them.
    pub replies: Vec<Replied>,
    /// What the author says to each expected wrong answer that was given.
    pub said: Vec<(String, String)>,
    /// What was predicted before readings, where that was asked.
    pub predictions: Vec<Predicted>,
    /// It took longer than it may.
    pub over_time: bool,
    /// There was something to find.
    pub hunt: bool,
    /// Out of 100; 0 where a serious caution was ignored.
    pub marks: u32,
}

/// A step, and a whole play, is as good as the best within this share of its minutes.
pub const FULL_WITHIN: f64 = 0.05;

impl Drill<'_> {
    /// Judges a drill, ended or not, step by step. `choice` must be the one it was played with.
    pub fn debrief(&self, choice: &dyn Fn(&str) -> f64) -> Debrief {
        let best = best_where(self.setting, self.exercise, self.board_wakes(), choice);
        self.debrief_against(best, choice)
    }

    /// Whether it took longer than the exercise gives.
    fn is_over_time(&self) -> bool {
        let most = self.exercise.time;
        most.is_some_and(|most| self.parked.minutes() > most)
    }

    /// The same where the best plan of this exercise and number is known; at a board, of one that wakes as
    /// this one does ([`Drill::board_wakes`]).
    pub fn debrief_against(&self, best: Played, choice: &dyn Fn(&str) -> f64) -> Debrief {
        let feeds = &self.setting.feeds;
        let hunt = self.exercise.hunt;
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
        let replies = self.replied();
        let found_all = !fits.is_empty() && fits.iter().all(hit) && !astray;
        let right = if hunt {
            found_all
        } else {
            replies.iter().all(|r| r.right == Some(true))
        };
        let next = self.case.step();
        let proofs = self.proofs();
        let found: Vec<(String, bool)> = next
            .found
            .iter()
            .map(|f| (f.subject.id(feeds), f.returned))
            .collect();
        let lower = |text: &str| text.to_lowercase();
        let said = self.exercise.wrong.iter();
        let said = said.filter(|(name, _)| named.iter().any(|n| lower(n) == lower(name)));
        let said = said.cloned().collect();
        let sound_proofs = as_far_as(&best, &fits, &proofs);
        let proof_of = |fit: &Vec<String>| {
            let mut each = fits.iter().zip(&sound_proofs);
            each.any(|(other, sound)| other == fit && *sound)
        };
        let proven = fits.iter().all(proof_of);
        // A sound part of the answer counts by its share, beside nothing wrong.
        let shares = |sound: &dyn Fn(&Vec<String>) -> bool| {
            let sound = fits.iter().filter(|fit| hit(fit) && sound(fit)).count();
            sound as f64 / fits.len().max(1) as f64
        };
        let sound = Sound {
            parts: if astray { 0.0 } else { shares(&|_| true) },
            proofs: shares(&proof_of),
        };
        // Who got there sooner than the plan, and proved it, has shown the better plan.
        let beats = hunt && self.beats(&best, right && proven);
        let beaten = beats.then_some(best.minutes);
        let best = if beats {
            self.as_played(&found, &proofs)
        } else {
            best
        };
        let mut steps = self.judged(&best);
        if beats {
            // What told nothing, or must not be done, stays what it is.
            let held = |s: &&mut Judged| !matches!(s.verdict, Verdict::Spoilt | Verdict::Stopped);
            steps.iter_mut().filter(held).for_each(Judged::lose_nothing);
        }
        if hunt && self.answer.is_some() && !proven {
            steps.push(Judged {
                entry: format!("answer {}", answer_words(&named)),
                verdict: Verdict::Unproven,
                lost: 0.0,
                ruled_out: Vec::new(),
                better: next.test.map(|test| test.entry),
                reason: None,
            });
        }
        let mut debrief = Debrief {
            right,
            hidden: fits.iter().filter_map(|f| f.first().cloned()).collect(),
            connector: self.connector(&drains),
            proven,
            minutes: self.parked.minutes(),
            wakes: self.parked.wakes(),
            board_wakes: self.board_wakes(),
            hints: self.hints,
            steps,
            misconceptions: Vec::new(),
            replies,
            said,
            predictions: self.predicted().to_vec(),
            over_time: self.is_over_time(),
            hunt,
            marks: 0,
            gaps: Vec::new(),
            named,
            best,
            beaten,
        };
        let gaps = self.gaps(&fits, &proofs, &found);
        debrief.gaps.clone_from(&gaps);
        let seen = Found {
            fits,
            taken: found,
            gaps,
        };
        debrief.misconceptions = misconceptions(self, &debrief, &seen, choice);
        debrief.marks = debrief.worth(sound);
        debrief
    }

    /// What is named and not proven, with what was missing.
    fn gaps(
        &self,
        fits: &[Vec<String>],
        proofs: &[Result<u32, Gap>],
        found: &[(String, bool)],
    ) -> Vec<(String, Gap)> {
        let named = self.answer.iter().flat_map(|answer| &answer.parts);
        let missing = |name: &String| {
            let fit = fits.iter().position(|fit| fit.contains(name));
            let returned = || found.iter().any(|(id, back)| *back && id == name);
            match fit {
                Some(fit) => proofs[fit].clone().err(),
                None if returned() => None,
                None => match self.setting.feeds.find(name) {
                    Some(Named::Input(_)) => self.input_proven(name).err(),
                    _ => self.shown_alone(&parts_of(&self.setting.feeds, name)).err(),
                },
            }
        };
        named
            .filter_map(|name| Some((name.clone(), missing(name)?)))
            .collect()
    }

    /// Whether a named connector is the fault's.
    fn connector(&self, drains: &[&Drain]) -> Option<bool> {
        let feeds = &self.setting.feeds;
        let plugs: Vec<&str> = drains
            .iter()
            .flat_map(|d| seats(feeds, d))
            // One that nobody can part is none to name.
            .filter(|p| offered(feeds, *p).contains(&Method::Unplug))
            .filter_map(|p| feeds.part(p).plug.as_ref().map(|plug| plug.value.as_str()))
            .collect();
        if plugs.is_empty() {
            return None;
        }
        let said = self.answer.as_ref().map_or(&[][..], |a| a.plugs.as_slice());
        // A relay that is named has no connector, though what it feeds may have one.
        let named = self.answer.iter().flat_map(|a| &a.parts);
        let mut named = named.flat_map(|name| parts_of(feeds, name)).peekable();
        let bare = named.peek().is_some() && named.all(|p| feeds.part(p).plug.is_none());
        if bare && said.is_empty() {
            return None;
        }
        Some(!said.is_empty() && said.iter().all(|plug| plugs.contains(&plug.as_str())))
    }

    /// Whether this play is a shorter one than the best plan.
    fn beats(&self, best: &Played, proven: bool) -> bool {
        let sooner = self.parked.minutes() < best.minutes - 1e-9;
        proven && sooner && self.touched.is_empty()
    }

    /// This play as a plan.
    fn as_played(&self, found: &[(String, bool)], proofs: &[Result<u32, Gap>]) -> Played {
        let steps: Vec<&Step> = self.steps.iter().filter(|s| s.typed != "hint").collect();
        let read = |step: &&Step| step.entry.clone().unwrap_or_else(|| step.typed.clone());
        let proven = found.iter().filter(|(_, returned)| *returned);
        Played {
            lines: steps.iter().map(|step| step.typed.clone()).collect(),
            read: steps.iter().map(read).collect(),
            asked: Vec::new(),
            minutes: self.parked.minutes(),
            state: self.case.step().state,
            proven: proven.map(|(id, _)| id.clone()).collect(),
            gaps: proofs.iter().map(|proof| proof.clone().err()).collect(),
            wakes: self.parked.wakes(),
        }
    }
}

impl Judged {
    /// A step with nothing against it.
    pub(super) fn good(step: &Step, entry: &str) -> Self {
        Self {
            entry: entry.to_owned(),
            verdict: Verdict::Good,
            lost: 0.0,
            ruled_out: Vec::new(),
            better: None,
            reason: step.reason.clone(),
        }
    }

    /// It is as good as the best step. A hint stays one that was asked for.
    pub(super) fn lose_nothing(&mut self) {
        if self.verdict != Verdict::Asked {
            (self.verdict, self.lost, self.better) = (Verdict::Good, 0.0, None);
        }
    }
}

impl Debrief {
    /// Minutes lost in all.
    pub fn lost(&self) -> f64 {
        self.steps.iter().map(|s| s.lost).sum()
    }

    /// What is named, as it is typed.
    pub fn answered(&self) -> String {
        answer_words(&self.named)
    }

    fn worth(&self, sound: Sound) -> u32 {
        if self.misconceptions.contains(&Misconception::CautionIgnored) {
            return 0;
        }
        let right = self
            .replies
            .iter()
            .filter(|r| r.right == Some(true))
            .count();
        let replied = right as f64 / self.replies.len().max(1) as f64;
        let marks = match (self.hunt, self.replies.is_empty()) {
            (true, true) => self.hunted(sound),
            (true, false) => 0.8 * self.hunted(sound) + 20.0 * replied,
            (false, _) => 100.0 * replied,
        };
        f64::round(marks) as u32
    }

    /// Marks for the search: each part that is right by its share, none for the rest where all is wrong.
    fn hunted(&self, sound: Sound) -> f64 {
        if sound.parts <= 0.0 {
            return 0.0;
        }
        let best = self.best.minutes;
        // A quick guess is no quick work.
        let share = if !self.proven || sound.parts < 1.0 {
            0.0
        } else if self.minutes <= (1.0 + FULL_WITHIN) * best {
            1.0
        } else if self.over_time {
            0.0
        } else {
            best / self.minutes
        };
        let connector = if self.connector.unwrap_or(true) {
            10.0
        } else {
            0.0
        };
        // A connector, and a proof, count with the part that they belong to.
        40.0 * sound.parts + 30.0 * share + connector * sound.parts + 20.0 * sound.proofs
    }
}

/// For each hidden fault whether its proof was taken; where the best plan could take none either, whether it
/// came as far as that.
fn as_far_as(best: &Played, fits: &[Vec<String>], proofs: &[Result<u32, Gap>]) -> Vec<bool> {
    let best_proves = |fit: &Vec<String>| best.proven.iter().any(|id| fit.contains(id));
    let of_best = best.gaps.iter().map(Option::as_ref);
    let of_best = of_best.chain(std::iter::repeat(None));
    let each = fits.iter().zip(proofs).zip(of_best);
    each.map(|((fit, own), of_best)| match (own, of_best) {
        (Ok(_), _) => true,
        (Err(own), Some(of_best)) => own.rank() >= of_best.rank(),
        (Err(_), None) => !best_proves(fit),
    })
    .collect()
}

/// What is named, for a line.
fn answer_words(named: &[String]) -> String {
    if named.is_empty() {
        NO_FAULT.to_owned()
    } else {
        named.join(" and ")
    }
}

/// How much of the answer is sound, as shares of what was hidden.
#[derive(Clone, Copy, Debug)]
struct Sound {
    /// Named, with nothing wrong beside it.
    parts: f64,
    /// Named and proven.
    proofs: f64,
}
