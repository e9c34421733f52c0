//! The fold: from one entry to the next state.

use super::blind::Blind;
use super::comes::{Comes, Logged};
use super::verify::Repair;
use super::{Entry, Setting, cost, readings, taken_by};
use crate::battery::Rested;
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::{self, Act, By, Point, Refusal, Seen, Unfit};
use crate::ledger::{Ledger, Observation, Out, View};
use crate::measurement::{self, Jack, Method, Reading, Way};
use crate::quantity::{Celsius, Milliamps};
use crate::suspects::{Cause, Subject, Told};
use std::collections::{BTreeMap, BTreeSet};

/// A settled total at the battery.
#[derive(Clone, Debug, PartialEq)]
pub struct Draw {
    /// Its entry.
    pub entry: u32,
    /// What was out.
    pub out: Out,
    /// What it says.
    pub current: Interval<Milliamps>,
    /// How it was taken.
    pub way: Way,
}

/// What one reading showed when it was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// Its entry.
    pub entry: u32,
    /// How.
    pub method: Method,
    /// Where.
    pub part: PartId,
    /// What was out.
    pub out: Out,
    /// The current it says, where it says one that is not below zero.
    pub current: Option<Interval<Milliamps>>,
    /// The vehicle was asleep.
    pub asleep: bool,
    /// It was taken to be true then; a later one may have taken its place, or ended its spell.
    pub taken: bool,
}

/// Something taken out by one entry.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenOut {
    /// As it was named.
    pub name: String,
    /// What it was.
    pub point: Point,
    /// It was unplugged, not pulled.
    pub unplugged: bool,
    /// The parts without feed because of it.
    pub parts: Vec<PartId>,
}

/// A cause whose proof was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// What has gone wrong.
    pub cause: Cause,
    /// In what.
    pub subject: Subject,
    /// The fall when it was taken out.
    pub fell: Interval<Milliamps>,
    /// The draw came back with it.
    pub returned: bool,
    /// What was taken out.
    pub taken: Vec<TakenOut>,
    /// The draws before, without and after it, by their entries.
    pub draws: [u32; 3],
}

/// A proof under way: the draw fell, and it is not known yet whether it returns.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Trial {
    pub(super) cause: Cause,
    pub(super) subject: Subject,
    pub(super) taken: Vec<TakenOut>,
    pub(super) before: Interval<Milliamps>,
    pub(super) without: Interval<Milliamps>,
    pub(super) fell: Interval<Milliamps>,
    /// The entries of the draws before and without it.
    pub(super) draws: [u32; 2],
}

/// What came of taking something out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pulled {
    /// What was out beside it.
    pub(super) base: Out,
    pub(super) parts: Vec<PartId>,
    pub(super) fell: Interval<Milliamps>,
    /// The draw without them.
    pub(super) without: Interval<Milliamps>,
    /// What fell at least beside all that healthy parts among them may take, in mA.
    pub(super) beyond: f64,
    /// The excess that mattered then, in mA.
    pub(super) matters: f64,
    /// Nothing that matters fell, or no more than healthy parts among them may take and nobody's proof
    /// began.
    pub(super) vain: bool,
}

/// What a reading makes one ask.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// Almost nothing flows on a vehicle with modules.
    HardlyAnything(Interval<Milliamps>),
    /// Far too much for a sleeping vehicle.
    Awake(Interval<Milliamps>),
    /// More than the jack takes.
    MoreThanJack(Milliamps),
    /// A negative current.
    LeadsRound,
    /// More than the range shows, in volts.
    OverRange(PartId),
    /// A negative current once more at the same point.
    BackFed(PartId),
    /// It fell when something came out, and stayed down with it back in: the fall in mA, and how often
    /// that was so.
    FellAndStayed(f64, usize),
    /// The vehicle was not asleep.
    NotAsleep,
    /// The draw is still over the limit after the repair.
    NotMended(Interval<Milliamps>),
    /// The draw changed though nothing was done.
    Changed(Interval<Milliamps>, Interval<Milliamps>),
    /// Near battery volts across a fuse: it is blown.
    Blown(PartId),
    /// Nothing is known of the resistance or the instrument, so it says nothing about the current.
    NoCurrent(PartId),
    /// No instruments file was given.
    WhatElse,
    /// The voltage says neither dead nor live.
    Between(PartId),
    /// The total was not read for a while: it may have changed meanwhile.
    TotalAgain,
    /// A log that was shorter than the fault stays away: its minutes, and the least that will do.
    LogTooShort(f64, f64),
    /// What comes and goes was still there in a log: its highest, in mA.
    StillComes(f64),
    /// What was told speaks of nothing in this vehicle, so it moves no odds.
    NobodyMeant(String),
    /// A zero that is none: what is shown with nothing there.
    TakeOff(Reading),
    /// With the probes turned round it showed nearly the same, and no minus.
    SameBothWays(PartId),
    /// What was read there could not tell.
    Blind(Blind),
    /// It was typed with fewer digits than the meter shows; its step in mV.
    FewerDigits(PartId, f64),
    /// The battery is too low for a draw measured on it to say much.
    BatteryLow(Rested),
    /// The battery is being charged, or was just before.
    BatteryCharging(Rested),
    /// The draw does not explain the days that were told: the draw, and what the days let expect.
    DaysDiffer(Interval<Milliamps>, Interval<Milliamps>),
}

/// The state after the entries so far.
#[derive(Clone, Debug)]
#[allow(clippy::struct_excessive_bools)] // independent facts, each asked for by itself
pub(super) struct Now<'s> {
    pub(super) setting: &'s Setting,
    pub(super) prepared: bool,
    pub(super) asleep: bool,
    pub(super) out: Vec<TakenOut>,
    pub(super) open: BTreeSet<PlaceId>,
    pub(super) meter_at: Option<PlaceId>,
    pub(super) clamp_at: Option<PlaceId>,
    pub(super) ledger: Ledger<'s>,
    pub(super) draws: Vec<Draw>,
    pub(super) taken: BTreeSet<(Method, String)>,
    /// Where a minus was read that is no zero: it is asked for once more.
    pub(super) turned: BTreeSet<(Method, String)>,
    pub(super) skipped: BTreeSet<(Method, String)>,
    pub(super) looks: Vec<(PartId, Seen)>,
    pub(super) pulls: Vec<Pulled>,
    pub(super) told: Vec<Told>,
    /// What comes and goes, by what was entered.
    pub(super) comes: Vec<Comes>,
    /// What holds now, by its key: rain, coverage, where it stands.
    pub(super) conditions: BTreeMap<String, String>,
    /// Of each settled draw with nothing out: whether the fault was there, and what held.
    pub(super) there: Vec<(bool, BTreeMap<String, String>)>,
    /// Logs since the latest repair.
    pub(super) logs: Vec<Logged>,
    /// Readings at parts since the total was last read.
    pub(super) since_total: usize,
    /// Points at which a current below zero was read.
    pub(super) negative: BTreeSet<(Method, PartId)>,
    /// How often the draw fell with something out and stayed down with it back in.
    pub(super) stayed: usize,
    pub(super) believed: bool,
    /// The latest settled draw over the limit with nothing out: what the search is for.
    pub(super) over: Option<Draw>,
    pub(super) doubted: Option<Draw>,
    /// A draw of next to nothing was read twice in this case.
    pub(super) nearly_nothing: bool,
    pub(super) questions: Vec<Question>,
    pub(super) trial: Option<Trial>,
    pub(super) found: Vec<Found>,
    /// Proofs from before the latest repair.
    pub(super) mended: Vec<Found>,
    pub(super) repairs: Vec<Repair>,
    pub(super) spent: f64,
    /// The chance that what was done since the last settle has woken the vehicle.
    pub(super) stirred: f64,
    pub(super) readings: Vec<(Method, Observation)>,
    /// Drops that read nothing, where it is not known yet that the part is live.
    pub(super) zeros: BTreeSet<PartId>,
    /// Every reading as it was when it was taken.
    pub(super) shown: Vec<Shown>,
    /// The total was read since something last came out or went back in.
    pub(super) fresh: bool,
    /// Something was let in for a reading, and the total was not read since.
    pub(super) broken: bool,
    /// The temperature of the bay, where it was told.
    pub(super) temperature: Option<Celsius>,
    /// What the battery showed at rest, where that was told or read.
    pub(super) rested: Option<Rested>,
    /// The latest entry, where it is a reading: how, where, and what its last digit is worth.
    pub(super) latest: Option<(Method, Way, PartId, f64)>,
}

impl<'s> Now<'s> {
    pub(super) fn new(setting: &'s Setting) -> Self {
        Self {
            setting,
            prepared: false,
            asleep: false,
            out: Vec::new(),
            open: BTreeSet::new(),
            meter_at: None,
            clamp_at: None,
            ledger: Ledger::new(&setting.feeds, &setting.ties),
            draws: Vec::new(),
            taken: BTreeSet::new(),
            turned: BTreeSet::new(),
            skipped: BTreeSet::new(),
            looks: Vec::new(),
            pulls: Vec::new(),
            told: Vec::new(),
            comes: Vec::new(),
            conditions: BTreeMap::new(),
            there: Vec::new(),
            logs: Vec::new(),
            since_total: 0,
            negative: BTreeSet::new(),
            stayed: 0,
            believed: false,
            over: None,
            doubted: None,
            nearly_nothing: false,
            questions: Vec::new(),
            trial: None,
            found: Vec::new(),
            mended: Vec::new(),
            repairs: Vec::new(),
            spent: 0.0,
            stirred: 1.0,
            readings: Vec::new(),
            zeros: BTreeSet::new(),
            shown: Vec::new(),
            fresh: false,
            broken: false,
            temperature: None,
            rested: None,
            latest: None,
        }
    }

    /// What is out now.
    pub(super) fn out_set(&self) -> Out {
        let parts = self.out.iter().flat_map(|t| t.parts.iter().copied());
        Out::of(&self.setting.feeds, parts)
    }

    /// What is out when only proven drains are.
    pub(super) fn base(&self) -> Out {
        let proven = self.found.iter().filter(|f| f.returned);
        let parts = proven.flat_map(|f| f.taken.iter().flat_map(|t| t.parts.iter().copied()));
        Out::of(&self.setting.feeds, parts)
    }

    /// What came of taking things out with just the proven drains out, in order.
    pub(super) fn pulls_here(&self) -> impl Iterator<Item = &Pulled> {
        let base = (!self.pulls.is_empty()).then(|| self.base());
        let here = move |pulled: &&Pulled| base.as_ref() == Some(&pulled.base);
        self.pulls.iter().filter(here)
    }

    /// What is out beside proven drains.
    pub(super) fn out_beside(&self, base: &Out) -> Vec<&TakenOut> {
        let feeds = &self.setting.feeds;
        self.out
            .iter()
            .filter(|t| !t.parts.iter().all(|p| base.cuts(feeds, *p)))
            .collect()
    }

    /// The latest settled draw of this spell with exactly this out.
    pub(super) fn draw_with(&self, out: &Out) -> Option<&Draw> {
        self.draws.iter().rev().find(|draw| draw.out == *out)
    }

    /// The total in a state by all that was read, where a draw was taken in it.
    pub(super) fn total(&self, out: &Out) -> Option<Interval<Milliamps>> {
        self.draw_with(out)?;
        Some(self.ledger.current(out, PartId(0)))
    }

    /// The currents with this out; a part that is out keeps those of the latest state it was in.
    pub(super) fn view(&self, out: &Out) -> View {
        self.ledger.view(out)
    }

    /// Fills in what an act leaves open, and refuses what cannot be.
    pub(super) fn complete(
        &self,
        act: Act,
        jack: Option<Jack>,
        line: &str,
    ) -> Result<Act, Refusal> {
        match act {
            Act::Read {
                method,
                point,
                reading,
                mut options,
            } => {
                let taken_as_current =
                    matches!(method, Method::Draw | Method::Clamp | Method::Series);
                if taken_as_current {
                    let by = match method {
                        Method::Clamp => By::Clamp,
                        Method::Series => By::Series,
                        _ => options.by.unwrap_or_else(|| self.usual_way()),
                    };
                    if by == By::Clamp && self.setting.instruments.clamp.is_none() {
                        let works = line.replace("by clamp", "by series");
                        let works = if works == line {
                            "draw 640mA by series".to_owned()
                        } else {
                            works
                        };
                        return Err(Refusal::unfit(line, Unfit::NoClamp, works));
                    }
                    if method == Method::Draw {
                        options.by = Some(by);
                    }
                    if by == By::Series && options.jack.is_none() {
                        options.jack = Some(self.jack_for(&reading, jack));
                    }
                }
                Ok(Act::Read {
                    method,
                    point,
                    reading,
                    options,
                })
            }
            Act::Refit(_) if self.out.is_empty() => {
                Err(Refusal::unfit(line, Unfit::NothingOut, "asleep"))
            }
            Act::Refit(points) => {
                for point in &points {
                    let known = self.out.iter().any(|t| self.same_point(t, point));
                    if !known {
                        let works = self
                            .out
                            .first()
                            .map_or_else(|| "asleep".to_owned(), |t| format!("refit {}", t.name));
                        return Err(Refusal::unfit(line, Unfit::NotOut, works));
                    }
                }
                Ok(Act::Refit(points))
            }
            other => Ok(other),
        }
    }

    fn same_point(&self, taken: &TakenOut, point: &Point) -> bool {
        if taken.point == *point {
            return true;
        }
        let feeds = &self.setting.feeds;
        let parts = taken_by(feeds, point, taken.unplugged);
        !parts.is_empty() && parts.iter().all(|p| taken.parts.contains(p))
    }

    fn usual_way(&self) -> By {
        match self.draws.last().map(|d| d.way) {
            Some(Way::Clamp { .. }) => By::Clamp,
            None if self.setting.instruments.clamp.is_some() => By::Clamp,
            Some(Way::Series(_)) | None => By::Series,
        }
    }

    /// The jack a series reading was taken on: above what the mA jack takes it was the A jack; a number
    /// the A jack cannot show was the mA jack; else the one proposed, else A.
    fn jack_for(&self, reading: &Reading, proposed: Option<Jack>) -> Jack {
        let meter = self.setting.instruments.meter;
        let Some(small) = meter.and_then(|m| m.milliamps) else {
            return Jack::A;
        };
        let Some(large) = meter.and_then(|m| m.amps) else {
            return Jack::MilliA;
        };
        if small
            .most
            .is_some_and(|most| reading.low.abs() > most.value())
        {
            return Jack::A;
        }
        let steps = reading.low / large.step.value();
        if (steps - steps.round()).abs() > 1e-6 || reading.step < 1.0 {
            return Jack::MilliA;
        }
        match proposed {
            Some(Jack::MilliA) => Jack::MilliA,
            _ => Jack::A,
        }
    }

    /// Takes one entry into account.
    pub(super) fn apply(&mut self, entry: &Entry) {
        self.latest = None;
        let setting = self.setting;
        let feeds = &setting.feeds;
        match &entry.act {
            Act::Prepared => self.prepare(),
            Act::Asleep => {
                self.prepare();
                self.spent += self.stirred * feeds.settle().value();
                self.stirred = 0.0;
                self.asleep = true;
            }
            Act::Awake => {
                self.asleep = false;
                self.stirred = 1.0;
            }
            Act::Open(place) => self.get_at(Some(*place)),
            Act::Pull(points) | Act::Unplug(points) => {
                let unplugged = matches!(entry.act, Act::Unplug(_));
                self.take_out(points, unplugged);
            }
            Act::Refit(points) => self.put_back(points),
            Act::Read {
                method,
                point,
                reading,
                options,
            } => {
                let way = readings::way(*method, options);
                let part = match point {
                    Point::Part(part) => *part,
                    _ => PartId(0),
                };
                // What a battery shows at rest is read before anything is prepared.
                self.prepared |= (*method, part) != (Method::Volts, PartId(0));
                let reading = self.with_both_ways(*method, part, *reading, options);
                self.latest = Some((*method, way, part, reading.step));
                if let Some(total) = &options.with {
                    self.total_with(entry.number, *method, total, options);
                }
                let mut shown = self.shows(entry.number, *method, part, reading, way);
                if *method == Method::Draw {
                    self.draw(entry.number, reading, options, way);
                } else if let Point::Part(part) = point {
                    self.read(entry.number, *method, *part, reading, way);
                    if measurement::lets_in(feeds, *part, *method, way) {
                        self.let_in(*part);
                    }
                }
                shown.taken = self.counts(entry.number);
                self.shown.push(shown);
            }
            Act::Look { point, seen, .. } => {
                if let Point::Part(part) = point {
                    self.get_at(feeds.place(*part));
                    self.taken
                        .insert((Method::Look, feeds.id(*part).to_owned()));
                    self.looks.push((*part, *seen));
                }
                self.spent += self.setting.minutes(Method::Look);
            }
            Act::Zero(reading) => {
                self.spent += self.setting.minutes(Method::Zero);
                let off = reading.filter(|zero| zero.low != 0.0 || zero.high != 0.0);
                self.questions.extend(off.map(Question::TakeOff));
            }
            Act::Skip { method, point, .. } => {
                let name = self.name(point);
                self.skipped.insert((*method, name));
            }
            Act::Told { key, text } => {
                if key.as_deref() == Some("celsius") {
                    self.temperature = journal::celsius(text);
                }
                let volts = journal::rested_volts(text).filter(|_| key.as_deref() == Some("volts"));
                if let Some(volts) = volts {
                    self.rests_at(volts);
                }
                self.tell(entry.number, key.clone(), text.clone());
            }
            Act::Repaired { .. } => self.repaired(entry.number),
            Act::Comes {
                size,
                every,
                lasts,
                after,
            } => self.comes_and_goes(entry.number, size, [*every, *lasts, *after]),
            Act::Logged { long, most } => self.was_logged(entry.number, *long, most.as_ref()),
            // Kept for the write-up; they say nothing about a current.
            Act::Note(_) | Act::Undo | Act::Withdraw { .. } => {}
        }
    }

    pub(super) fn name(&self, point: &Point) -> String {
        let feeds = &self.setting.feeds;
        match point {
            Point::Part(part) => feeds.id(*part).to_owned(),
            Point::Plug(name, _) | Point::Input(name) => name.clone(),
            Point::Module(module) => feeds.module(*module).id.value.clone(),
            Point::Network(network) => feeds.network(*network).to_owned(),
            Point::Place(place) => feeds.place_as_written(*place).id.value.clone(),
            Point::Battery => feeds.id(PartId(0)).to_owned(),
        }
    }

    /// The list of the preparation was done: places that wake the vehicle are open from here on.
    fn prepare(&mut self) {
        if self.prepared {
            return;
        }
        self.prepared = true;
        let feeds = &self.setting.feeds;
        for place in feeds.places() {
            if feeds.place_as_written(place).wakes {
                self.open.extend(feeds.way(place));
            }
        }
    }

    /// Opens what is closed on the way to a place.
    pub(super) fn get_at(&mut self, place: Option<PlaceId>) {
        let feeds = &self.setting.feeds;
        self.spent += cost::reach(feeds, place, &self.open);
        let Some(place) = place else { return };
        for place in feeds.way(place) {
            let written = feeds.place_as_written(place);
            if self.open.insert(place) && written.wakes && self.asleep {
                self.asleep = false;
                self.stirred = 1.0;
            }
        }
    }

    fn take_out(&mut self, points: &[Point], unplugged: bool) {
        let feeds = &self.setting.feeds;
        for point in points {
            let parts = taken_by(feeds, point, unplugged);
            self.get_at(parts.first().and_then(|p| feeds.place(*p)));
            self.stir(&parts);
            let name = self.name(point);
            self.spent += self.setting.minutes(Method::Pull);
            self.out.retain(|t| t.name != name);
            self.out.push(TakenOut {
                name,
                point: point.clone(),
                unplugged,
                parts,
            });
        }
        self.out_changed();
    }

    fn put_back(&mut self, points: &[Point]) {
        let back: Vec<TakenOut> = self
            .out
            .iter()
            .filter(|t| points.is_empty() || points.iter().any(|p| self.same_point(t, p)))
            .cloned()
            .collect();
        for taken in &back {
            self.stir(&taken.parts);
            self.spent += self.setting.minutes(Method::Refit);
        }
        self.out.retain(|t| !back.contains(t));
        self.out_changed();
    }

    /// Something was let in at a part for a reading and is out again: it settled in between, and may
    /// have woken again.
    fn let_in(&mut self, part: PartId) {
        if self.asleep {
            let chance = self.setting.chance_of_waking(&[part]);
            self.spent += chance * self.setting.feeds.settle().value();
        }
        self.stir(&[part]);
        self.broken = true;
    }

    fn stir(&mut self, parts: &[PartId]) {
        let chance = self.setting.chance_of_waking(parts);
        self.stirred = self.stirred.max(chance);
        self.asleep = false;
    }

    fn out_changed(&mut self) {
        self.fresh = false;
        let out = self.out_set();
        if let Some(trial) = &self.trial {
            let parts = trial.taken.iter().flat_map(|t| t.parts.iter().copied());
            let with: Vec<PartId> = self.base().parts().chain(parts).collect();
            let with = Out::of(&self.setting.feeds, with);
            if out != with && out != self.base() {
                self.trial = None;
            }
        }
    }
}
