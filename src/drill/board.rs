//! A drill at a real training board: the learner types what was read there.
//!
//! **Model.** The lines are entries with their readings, as in a session. Nobody here sees the board:
//! whether it sleeps is what was typed, and the minutes are those the tool reckons for each step.
//! Whether it wakes at all when something is moved is what was typed too ([`Drill::board_wakes`]).

use super::{Drill, Said, Step, typed_here};
use crate::case::{Entry, Shown};
use crate::journal::Act;
use crate::measurement::Method;
use crate::simulation::Happened;

impl Drill<'_> {
    /// The same at a real board, awake at the beginning.
    pub fn on_a_board(mut self) -> Self {
        self.board = Some(false);
        self
    }

    /// Whether something that was moved woke the board, by what was typed: it was `awake` after something was
    /// opened, taken out or put back, or the draw rose with no more in than before. `None` where it is no
    /// board.
    pub fn board_wakes(&self) -> Option<bool> {
        self.board?;
        let counting = self.case.counting();
        let counts = |entry: &&Entry| counting.contains(&entry.number);
        let entries = || self.case.entries().iter().filter(counts);
        let is_move = |act: &Act| {
            matches!(
                act,
                Act::Open(_) | Act::Pull(_) | Act::Unplug(_) | Act::Refit(_)
            )
        };
        let moved: Vec<u32> = entries()
            .filter(|entry| is_move(&entry.act))
            .map(|entry| entry.number)
            .collect();
        let after_a_move = |entry: &Entry| moved.first().is_some_and(|first| *first < entry.number);
        let said = entries().any(|entry| entry.act == Act::Awake && after_a_move(entry));
        let draws = self.case.readings().iter();
        let draws: Vec<&Shown> = draws.filter(|shown| shown.method == Method::Draw).collect();
        let rose = draws.iter().enumerate().any(|(index, later)| {
            draws[..index].iter().any(|earlier| {
                let between = earlier.entry..later.entry;
                moved.iter().any(|entry| between.contains(entry)) && self.rose(earlier, later)
            })
        });
        Some(said || rose)
    }

    /// Whether a draw is more than an earlier one, though all that was out then is out now.
    fn rose(&self, earlier: &Shown, later: &Shown) -> bool {
        let feeds = &self.setting.feeds;
        let still_out = later.out.covers(feeds, &earlier.out);
        let currents = earlier.current.zip(later.current);
        still_out && currents.is_some_and(|(before, now)| now.low() > before.high())
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
