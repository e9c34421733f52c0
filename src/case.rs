//! A case: what was done and read at one vehicle, and what follows from it.
//!
//! **Model.** A list of entries, each an act in its own words. Everything else is a fold over vehicle,
//! instruments and entries: the same three give the same state, every prefix is a case, and undo is
//! one more entry that makes an earlier one not count.
//!
//! **Invariants.** [`Case::record`] either takes a whole line or changes nothing. An entry that is kept
//! is complete in itself: how a current was taken, and on which jack, is written into it.
//!
//! **Cost.** Recording folds the new entry only, undo folds all; [`Case::next`] judges every part and
//! plans over all suspects left.

use crate::feeds::{Feeds, Named, PartId};
use crate::instruments::Instruments;
use crate::journal::{self, Act, Context, Names, Point, Refusal, Timed, Unfit, Wrong};
use crate::judgement::Healthy;
use crate::ledger::Ties;
use crate::measurement::{self, Method};
use crate::suspects::{Suspect, lives_on, suspects};

mod adds_up;
mod again;
mod asked;
mod away;
mod behind_contact;
mod beyond;
mod blind;
mod bridge;
mod cannot_be;
mod carried;
mod comes;
mod complete;
mod cost;
mod decide;
mod draws;
mod facts;
mod falls;
mod firm;
mod first;
mod fold;
mod hangs;
mod here;
mod inputs;
mod intake;
mod kept_up;
mod leaning;
mod longer;
mod looks;
mod mended_in_vain;
mod moving;
mod named;
mod narrower;
mod next;
mod options;
mod other_fuse;
mod outlook;
mod pairs;
mod planned;
mod proof;
mod readings;
mod regions;
mod remainder;
mod search;
mod sleeps;
mod slip;
mod step;
mod table;
mod taking_out;
mod together;
mod totals;
mod unit;
mod unproven;
mod verify;
mod weights;
mod zeros;

pub use asked::{Expect, TestPlan};
pub use blind::{Blind, Chosen};
pub use comes::{Comes, GoesWith, Leave, Logged, Watch};
pub use cost::chance_of_waking;
pub use facts::{Done, Draw, Found, Question, Shown, TakenOut};
pub(crate) use inputs::all_out;
pub use longer::{Longer, LongerBecause, Looked};
pub use next::{Clash, Located, Next, Reason, State, Weighed};
pub use outlook::{Meaning, Outlook};
pub use planned::{MOST_STEPS, Planned};
pub use remainder::{Left, OnePlug, Remainder};
pub use slip::Slip;
pub use unit::TakenFor;
pub use verify::Repair;

/// Everything about a vehicle and its instruments that a case needs at hand.
#[derive(Clone, Debug)]
pub struct Setting {
    /// The tree.
    pub feeds: Feeds,
    /// What is at hand to measure with.
    pub instruments: Instruments,
    pub(crate) ties: Ties,
    /// The same where what is plugged in or was added may hold modules awake.
    pub(crate) polled: Ties,
    /// What may keep modules awake from a connector, or was added there, in tree order.
    pub(crate) pollers: Vec<PartId>,
    /// Whether nothing of the vehicle has to fall asleep.
    pub(crate) nothing_sleeps: bool,
    pub(crate) healthy: Healthy,
    pub(crate) suspects: Vec<Suspect>,
    /// What those that sit at no part need their feed at to do anything, in tree order, with their number.
    pub(crate) living: Vec<(PartId, usize)>,
    pub(crate) taking_out: taking_out::TakingOut,
    /// The tests each part offers.
    pub(crate) offered: Vec<Vec<Method>>,
    pub(crate) names: Names,
}

impl Setting {
    /// The names of its vehicle.
    pub fn names(&self) -> &Names {
        &self.names
    }

    /// Works out once what depends on the vehicle alone.
    pub fn new(feeds: Feeds, instruments: Instruments) -> Self {
        let suspects = suspects(&feeds);
        let offered = feeds.parts().map(|part| measurement::offered(&feeds, part));
        let offered: Vec<Vec<Method>> = offered.collect();
        let seatless = suspects.iter().enumerate();
        let mut living: Vec<(PartId, usize)> = seatless
            .filter(|(_, suspect)| suspect.seat().is_none())
            .flat_map(|(index, suspect)| {
                let parts = lives_on(&feeds, suspect).into_owned().into_iter();
                parts.map(move |part| (part, index))
            })
            .collect();
        living.sort_unstable();
        Self {
            ties: Ties::of(&feeds, false),
            polled: Ties::of(&feeds, true),
            pollers: feeds
                .parts()
                .filter(|part| feeds.may_call(*part) || feeds.may_poll(*part))
                .collect(),
            nothing_sleeps: feeds.nothing_sleeps(),
            taking_out: taking_out::TakingOut::of(&feeds, &offered),
            offered,
            healthy: Healthy::of(&feeds),
            living,
            suspects,
            names: Names::of(&feeds),
            instruments,
            feeds,
        }
    }

    /// The most that the vehicle may draw at rest, in mA; infinite where it is not known.
    pub fn limit(&self) -> f64 {
        let limit = self.healthy.limit();
        if self.healthy.knows_limit() {
            limit
        } else {
            f64::INFINITY
        }
    }

    /// The known name most like one that is not known; the battery's where none is like it.
    pub fn nearest_name(&self, unknown: &str) -> &str {
        let near = self.names.nearest(unknown);
        near.unwrap_or_else(|| self.names.battery())
    }
}

/// One entry of a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// From 1, in the order of entering.
    pub number: u32,
    /// In canonical words.
    pub text: String,
    /// What it says.
    pub act: Act,
    /// The time of day that was typed with it, in minutes after midnight.
    pub at: Option<u16>,
}

/// What was done and read, and the state that follows.
#[derive(Clone, Debug)]
pub struct Case<'s> {
    setting: &'s Setting,
    entries: Vec<Entry>,
    now: fold::Now<'s>,
}

/// What recording a line gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recorded {
    /// The entries as they are kept.
    pub entries: Vec<Entry>,
    /// What is asked about them.
    pub questions: Vec<Question>,
    /// What was taken for granted of a reading that does not say it.
    pub taken_for: Option<TakenFor>,
}

impl<'s> Case<'s> {
    /// A case with nothing entered.
    pub fn new(setting: &'s Setting) -> Self {
        Self {
            setting,
            entries: Vec::new(),
            now: fold::Now::new(setting),
        }
    }

    /// The setting it is in.
    pub fn setting(&self) -> &'s Setting {
        self.setting
    }

    /// All entries, also those that no longer count.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Takes a line typed at the vehicle.
    ///
    /// # Errors
    /// A [`Refusal`] with a line that works; then nothing has changed.
    pub fn record(&mut self, line: &str) -> Result<Recorded, Refusal> {
        let pending = self.pending();
        let taken = self.take(line, pending);
        taken.map_err(|refusal| self.mended(refusal, line))
    }

    /// The same for a line that says all of itself, its way and its point, so that the test that is asked
    /// for need not be worked out.
    ///
    /// # Errors
    /// As in [`Case::record`].
    pub fn record_whole(&mut self, line: &str) -> Result<Recorded, Refusal> {
        let taken = self.take(line, None);
        taken.map_err(|refusal| self.mended(refusal, line))
    }

    /// A refusal whose line works in this case too: what the grammar proposes may not apply here.
    fn mended(&self, mut refusal: Refusal, line: &str) -> Refusal {
        if let Some(list) = self.as_list(&refusal, line) {
            return list;
        }
        if let Some(works) = self.at_that_part(&refusal, line) {
            return Refusal { works, ..refusal };
        }
        // Each refusal leads nearer to a line that works; a few are enough.
        for _ in 0..3 {
            match self.clone().take(&refusal.works, self.pending()) {
                Ok(_) => break,
                Err(again) => refusal.works = again.works,
            }
        }
        refusal
    }

    /// A refusal of a list of readings, with the line that is taken for all of it.
    fn as_list(&self, refusal: &Refusal, line: &str) -> Option<Refusal> {
        let entry = refusal.entry.trim();
        let list = journal::as_list(entry)?;
        let (before, behind) = line.split_once(entry)?;
        let lines = list.lines.iter();
        let mut lines = lines.map(|entries| format!("{before}{entries}{behind}"));
        let works = lines.find(|line| self.clone().take(line, self.pending()).is_ok())?;
        Some(Refusal {
            wrong: Wrong::Trailing { typed: list.others },
            works,
            ..refusal.clone()
        })
    }

    /// Each entry of a line is held against what the entries before it have made of the case.
    fn take(&mut self, line: &str, mut pending: Option<TestPlan>) -> Result<Recorded, Refusal> {
        let mut after = self.clone();
        let mut recorded = Recorded::default();
        let entries = journal::entries(line);
        if entries.is_empty() {
            after.take_entry(line, pending.take(), &mut recorded)?;
        }
        for (at, entry) in entries.iter().enumerate() {
            let taken = after.take_entry(entry, pending.take(), &mut recorded);
            taken.map_err(|refusal| Refusal {
                // With what goes before it, so that the line works as it stands.
                works: [&entries[..at], &[&refusal.works]].concat().join("; "),
                ..refusal
            })?;
        }
        *self = after;
        Ok(recorded)
    }

    fn take_entry(
        &mut self,
        line: &str,
        pending: Option<TestPlan>,
        recorded: &mut Recorded,
    ) -> Result<(), Refusal> {
        let clamp = self.setting.instruments.clamp;
        let context = Context {
            pending: pending.as_ref().map(|test| test.entry.clone()),
            place: pending
                .as_ref()
                .and_then(|test| Some(self.now.name(&Point::Place(test.place?)))),
            clamp_in_millivolts: clamp.is_some_and(|clamp| clamp.scale.is_some()),
            out: self
                .now
                .out
                .iter()
                .map(|taken| taken.name.clone())
                .collect(),
            kept: false,
        };
        let parsed = journal::parse_timed(line, &self.setting.names, &context);
        let parsed = parsed.map_err(|mut refusal| {
            if refusal.wrong == (Wrong::NoPoint { word: "refit" }) && self.now.out.is_empty() {
                refusal.wrong = Wrong::Unfit(Unfit::NothingOut);
            }
            refusal
        });
        let acts = match (parsed, &pending) {
            (Err(refusal), Some(asked)) => {
                let (acts, taken_for) = self.now.with_its_unit(line, asked, &context, refusal)?;
                recorded.taken_for = Some(taken_for);
                acts
            }
            (parsed, _) => parsed?,
        };
        let mut asked = pending.and_then(|test| Some((test.method, test.way?)));
        for (act, at) in acts {
            let asked = asked.take();
            let act = self.now.complete(act, asked, line)?;
            let other_jack = unit::other_jack(&act, asked, line, &self.setting.instruments);
            recorded.taken_for = recorded.taken_for.take().or(other_jack);
            let replaced = self.replace(&act, recorded)?;
            self.now.questions.clear();
            let entry = self.keep((act, at), line)?;
            self.now.questions.extend(replaced);
            self.now.questions.extend(self.now.blind_reading());
            if matches!(entry.act, Act::Read { .. }) {
                self.now.questions.extend(self.now.why_they_clash());
            }
            recorded.questions.append(&mut self.now.questions.clone());
            recorded.entries.push(entry);
        }
        Ok(())
    }

    /// Adds an act and what follows from it.
    fn keep(&mut self, (act, at): Timed, line: &str) -> Result<Entry, Refusal> {
        let number = self.entries.len() as u32 + 1;
        let text = journal::write_timed(&act, at, &self.setting.names);
        let entry = Entry {
            number,
            text,
            act,
            at,
        };
        let fold_again = match &entry.act {
            Act::Undo => {
                if self.last_counting().is_none() {
                    return Err(Refusal::unfit(line, Unfit::NothingToUndo, "draw 0.64A"));
                }
                true
            }
            Act::Withdraw { entry: wanted, .. } => {
                let counts = self.counting().iter().any(|n| n == wanted);
                if !counts {
                    let works = self.last_counting().map_or_else(
                        || "note nothing entered yet".to_owned(),
                        |last| format!("withdraw {last} probe slipped"),
                    );
                    let wrong = Unfit::NoSuchEntry(*wanted);
                    return Err(Refusal::unfit(line, wrong, works));
                }
                true
            }
            _ => false,
        };
        self.entries.push(entry.clone());
        if fold_again {
            self.fold();
        } else {
            self.now.apply(&entry);
        }
        Ok(entry)
    }

    /// The numbers of the entries that count, `undo` and `withdraw` themselves left out.
    pub fn counting(&self) -> Vec<u32> {
        let mut counts: Vec<u32> = Vec::new();
        for entry in &self.entries {
            match &entry.act {
                Act::Undo => {
                    counts.pop();
                }
                Act::Withdraw { entry, .. } => counts.retain(|n| n != entry),
                _ => counts.push(entry.number),
            }
        }
        counts
    }

    /// The case if these entries did not count either.
    pub fn without(&self, entries: &[u32]) -> Self {
        let mut case = self.clone();
        for entry in entries {
            let act = Act::Withdraw {
                entry: *entry,
                reason: String::new(),
            };
            let number = case.entries.len() as u32 + 1;
            let text = journal::write_with(&act, &case.setting.names);
            case.entries.push(Entry {
                number,
                text,
                act,
                at: None,
            });
        }
        case.fold();
        case
    }

    /// The case as it was when it was mended, where that repair holds so far: what is read after it says
    /// nothing of where the fault was. `None` where there is no such repair.
    pub fn before_repair(&self) -> Option<Self> {
        let repair = self
            .repairs()
            .last()
            .filter(|repair| repair.over.is_none())?;
        let until = *repair.entries.first()?;
        let later: Vec<u32> = self
            .counting()
            .into_iter()
            .filter(|n| *n >= until)
            .collect();
        Some(self.without(&later))
    }

    fn last_counting(&self) -> Option<u32> {
        self.counting().last().copied()
    }

    fn fold(&mut self) {
        let counts = self.counting();
        let mut now = fold::Now::new(self.setting);
        for entry in &self.entries {
            if counts.binary_search(&entry.number).is_ok() {
                now.questions.clear();
                now.apply(entry);
            }
        }
        self.now = now;
        self.ask_in_its_place();
    }

    /// A reading that was just withdrawn is taken again before anything dearer, where no other of its kind stands
    /// there.
    fn ask_in_its_place(&mut self) {
        let Some(Act::Withdraw { entry, .. }) = self.entries.last().map(|entry| &entry.act) else {
            return;
        };
        let withdrawn = self.entry(*entry);
        if let Some(Act::Read {
            method,
            point: Point::Part(part),
            ..
        }) = withdrawn.map(|entry| &entry.act)
            && !self.now.is_done(*method, *part)
        {
            self.now.withdrawn = Some((*method, *part));
        }
    }

    /// Rebuilds a case from the texts of its entries, as they were kept.
    ///
    /// # Errors
    /// The first text that no longer reads, with its number.
    pub fn reopen(
        setting: &'s Setting,
        texts: impl IntoIterator<Item = String>,
    ) -> Result<Self, (u32, Refusal)> {
        let mut case = Self::new(setting);
        let context = Context::of_kept();
        for (index, text) in texts.into_iter().enumerate() {
            let number = index as u32 + 1;
            let mut acts = journal::parse_timed(&text, &setting.names, &context)
                .map_err(|refusal| (number, refusal))?;
            if acts.len() != 1 {
                let refusal = Refusal::unfit(&text, Unfit::SeveralEntries, "asleep");
                return Err((number, refusal));
            }
            let (act, at) = acts.remove(0);
            case.entries.push(Entry {
                number,
                text,
                act,
                at,
            });
        }
        case.fold();
        Ok(case)
    }

    /// What a point is called.
    pub fn name(&self, point: &Point) -> String {
        self.now.name(point)
    }

    /// A part by the name a person types.
    pub fn part(&self, name: &str) -> Option<PartId> {
        match self.setting.feeds.find(name)? {
            Named::Part(part) => Some(*part),
            Named::Plug(parts) => parts.first().copied(),
            _ => None,
        }
    }
}

/// The parts that lose their feed when this is taken out.
pub(crate) fn taken_by(feeds: &Feeds, point: &Point, unplugged: bool) -> Vec<PartId> {
    match point {
        Point::Part(part) if unplugged => feeds.unplugged_with(*part),
        Point::Part(part) => {
            let mut taken = feeds.holder_mates(*part);
            // A relay comes out with its coil.
            for mate in taken.clone() {
                taken.extend(feeds.coils_of(mate));
            }
            taken.sort_unstable();
            taken.dedup();
            taken
        }
        Point::Plug(_, parts) => parts.clone(),
        Point::Module(module) => feeds
            .module_feeds(*module)
            .iter()
            .flat_map(|feed| feeds.unplugged_with(*feed))
            .collect(),
        Point::Input(name) => match feeds.find(name) {
            Some(Named::Part(part)) => feeds.unplugged_with(*part),
            _ => Vec::new(),
        },
        Point::Network(_) | Point::Place(_) | Point::Battery => Vec::new(),
    }
}
