//! A drill at a real training board: the learner types what was read there.
//!
//! **Model.** The lines are entries with their readings, as in a session. Nobody here sees the board:
//! whether it sleeps is what was typed, and the minutes are those the tool reckons for each step.

use super::{Drill, Said, Step, typed_here};
use crate::case::Entry;
use crate::journal::Act;
use crate::simulation::Happened;

impl Drill<'_> {
    /// The same at a real board, awake at the beginning.
    pub fn on_a_board(mut self) -> Self {
        self.board = Some(false);
        self
    }

    /// Takes entries with their readings.
    pub(super) fn at_the_board(&mut self, line: &str) -> Said {
        let (before, spent) = (self.case.entries().len(), self.case.spent());
        let mut case = self.case.clone();
        let recorded = match case.record(line) {
            Ok(recorded) => recorded,
            Err(refusal) => return Said::Refused(refusal),
        };
        let took = (case.spent() - spent).max(0.0);
        let mut said = Said::Ended;
        for (index, entry) in recorded.entries.iter().enumerate() {
            let first = index == 0;
            let mut step = self.board_step(entry, before + index);
            if entry.act == Act::Awake {
                self.parked.was_seen_awake();
                step.happened.push(Happened::Woke);
            }
            self.board = Some(match &entry.act {
                Act::Asleep => true,
                Act::Awake | Act::Pull(_) | Act::Unplug(_) | Act::Refit(_) => false,
                _ => step.asleep,
            });
            self.parked.pass(if first { took } else { 0.0 });
            said = self.keep(step);
        }
        self.case = case;
        said
    }

    fn board_step(&self, entry: &Entry, before: usize) -> Step {
        let undone = matches!(entry.act, Act::Undo | Act::Withdraw { .. });
        Step {
            typed: typed_here(&entry.act, &self.setting.names),
            // What was a slip of the pen is no step to be judged.
            entry: (!undone).then(|| entry.text.clone()),
            before,
            minutes: self.parked.minutes(),
            happened: Vec::new(),
            asleep: self.board == Some(true),
            settles: 0.0,
            reason: None,
        }
    }
}
