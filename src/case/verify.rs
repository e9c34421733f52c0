//! After the repair: everything back in, prepared and settled anew, the draw read, and watched.

use super::asked::TestPlan;
use super::facts::{Draw, Question};
use super::fold::Now;
use super::next::{Next, Reason, State};
use crate::journal::Point;
use crate::measurement::{Jack, Method, Way};

/// A repair, and what the draw was after it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Repair {
    /// What was done, by entry.
    pub entries: Vec<u32>,
    /// Settled draws within the limit after it, with everything in, by entry: the first, and those
    /// read while it was watched.
    pub draws: Vec<u32>,
    /// The settled draw that was still over the limit after it, by entry.
    pub over: Option<u32>,
    /// Logs after it, by entry.
    pub logs: Vec<u32>,
    /// A log after it was as long as the fault stays away, and it did not come.
    pub logged: bool,
    /// How long the fault stays away is known, so that two readings are no watch.
    pub comes: bool,
}

impl Repair {
    /// The draw was within the limit, and still was when it had been watched.
    pub fn is_watched(&self) -> bool {
        self.over.is_none()
            && !self.draws.is_empty()
            && (self.logged || self.draws.len() > 1 && !self.comes)
    }
}

impl Now<'_> {
    /// The repair that is verified now, or was last and held.
    pub(super) fn repair(&self) -> Option<&Repair> {
        self.repairs.last().filter(|repair| repair.over.is_none())
    }

    /// Something was mended: what was read before says nothing about the draw from here on. Where no
    /// draw over the limit was found there is nothing to verify.
    pub(super) fn repaired(&mut self, entry: u32) {
        let again = self.repair().is_some();
        if self.over.is_none() && !again {
            return;
        }
        match self.repairs.last_mut().filter(|_| again) {
            Some(repair) => {
                repair.entries.push(entry);
                repair.draws.clear();
                repair.logs.clear();
                repair.logged = false;
            }
            None => self.repairs.push(Repair {
                entries: vec![entry],
                draws: Vec::new(),
                over: None,
                logs: Vec::new(),
                logged: false,
                comes: !self.comes.is_empty(),
            }),
        }
        self.mended.append(&mut self.found);
        self.trial = None;
        self.new_spell();
        self.logs.clear();
        self.looks.clear();
        self.skipped.clear();
        self.open.clear();
        self.prepared = false;
        self.believed = false;
        self.doubted = None;
        self.asleep = false;
        self.stirred = 1.0;
    }

    /// What a settled draw says of the repair.
    pub(super) fn judge_repair(&mut self, draw: &Draw) {
        let limit = self.setting.healthy.limit();
        let Some(repair) = self.repairs.last_mut() else {
            return;
        };
        if !draw.out.is_empty() {
            return;
        }
        if draw.current.low() > limit {
            repair.over = Some(draw.entry);
            self.questions.push(Question::NotMended(draw.current));
        } else if draw.current.high() <= limit {
            repair.draws.push(draw.entry);
        }
    }

    /// The step that a repair calls for; `None` where there is none to verify.
    pub(super) fn verify(&self) -> Option<Next> {
        let repair = self.repair()?;
        if !self.out.is_empty() {
            let mut next = self.bare(State::Verify, Reason::RepairedBackIn);
            next.test = Some(self.refit_test(&self.out.iter().collect::<Vec<_>>()));
            return Some(next);
        }
        let watched = repair.is_watched();
        let battery = self.name(&Point::Battery);
        let unwatched = self.skipped.contains(&(Method::Draw, battery));
        if watched || unwatched {
            let reason = match (watched, repair.draws.is_empty()) {
                (true, _) => Reason::Mended,
                (false, false) => Reason::MendedUnwatched,
                (false, true) => Reason::MendedUnread,
            };
            return Some(self.bare(State::Verify, reason));
        }
        if !self.asleep {
            let reason = if self.prepared {
                Reason::Settle
            } else {
                Reason::PrepareAgain
            };
            let mut next = self.bare(State::Verify, reason);
            next.test = Some(TestPlan {
                minutes: self.stirred * self.setting.feeds.settle().value(),
                ..TestPlan::new(Method::Wait, "asleep".to_owned())
            });
            return Some(next);
        }
        let last = self.draws.last().filter(|draw| draw.out.is_empty());
        // Neither within the limit nor over it for certain.
        let coarse = last.is_some_and(|draw| !repair.draws.contains(&draw.entry));
        let reason = match (coarse, repair.draws.is_empty()) {
            (true, _) => Reason::Finer,
            (false, false) => Reason::Watch,
            (false, true) if self.doubted.is_some() => Reason::Doubted,
            (false, true) => Reason::AfterRepair,
        };
        let small = last.is_some_and(|draw| matches!(draw.way, Way::Series(Jack::MilliA)));
        let mut next = self.bare(State::Verify, reason);
        next.test = self.draw_test(last.map(|draw| draw.current), coarse || small);
        Some(next)
    }
}
