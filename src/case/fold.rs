//! The fold: from one entry to the next state.

use super::comes::{Comes, Logged};
use super::facts::{Done, Draw, Found, Pulled, Question, Shown, TakenOut, Trial, Zero};
use super::inputs::all_out;
use super::mended_in_vain::Before;
use super::verify::Repair;
use super::{Entry, Setting, readings};
use crate::battery::Rested;
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::{self, Act, Point, Seen};
use crate::ledger::{Ledger, Observation, Out, View};
use crate::measurement::{self, Method, Reading, Way};
use crate::quantity::{Celsius, Milliamps};
use crate::suspects::Told;
use std::collections::{BTreeMap, BTreeSet};

/// The state after the entries so far.
#[derive(Clone, Debug)]
#[allow(clippy::struct_excessive_bools)] // independent facts, each asked for by itself
pub(super) struct Now<'s> {
    pub(super) setting: &'s Setting,
    pub(super) prepared: bool,
    /// It was entered that the list of the preparation was done, or asked about that it was not.
    pub(super) said_prepared: bool,
    /// The first entry that says that the list was done.
    pub(super) first_prepared: Option<u32>,
    /// What was done since the draw was read last.
    pub(super) since: Vec<Done>,
    pub(super) asleep: bool,
    pub(super) out: Vec<TakenOut>,
    /// It fell with something of a network out that was not named: something else may hold that awake.
    pub(super) polling: bool,
    /// All that came out so far, each as it came out last.
    pub(super) been_out: Vec<TakenOut>,
    pub(super) open: BTreeSet<PlaceId>,
    pub(super) meter_at: Option<PlaceId>,
    pub(super) clamp_at: Option<PlaceId>,
    pub(super) ledger: Ledger<'s>,
    pub(super) draws: Vec<Draw>,
    pub(super) taken: BTreeSet<(Method, String)>,
    /// Where what was read was no answer (a minus that is no zero, more than the range shows, volts between
    /// dead and live): it is asked for once more.
    pub(super) turned: BTreeSet<(Method, String)>,
    pub(super) skipped: BTreeSet<(Method, String)>,
    /// Places that cannot be got at, by what was entered, and where nothing was done since.
    pub(super) out_of_reach: BTreeSet<PlaceId>,
    pub(super) looks: Vec<(PartId, Seen)>,
    pub(super) pulls: Vec<Pulled>,
    /// What was out alone when the draw fell by more than healthy parts take, in every spell.
    pub(super) fell_with: Vec<PartId>,
    pub(super) told: Vec<Told>,
    /// What comes and goes, by what was entered.
    pub(super) comes: Vec<Comes>,
    /// By how much the draw went with nothing out or done, and by how much it came again so, in mA.
    pub(super) went: Option<f64>,
    pub(super) came_back: f64,
    /// The latest draw, where what comes and goes may have been away.
    pub(super) away: Option<Draw>,
    /// How much flowed at most while it was away, in mA.
    pub(super) quiet_before: Option<f64>,
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
    /// The least draw in mA that was asked about as too little: the same is not asked again.
    pub(super) questioned: f64,
    /// The entry of a draw of next to nothing that was believed because it was read twice.
    pub(super) nothing_twice: Option<u32>,
    /// A draw that is higher than a sleeping vehicle's can be: it is read again before it counts.
    pub(super) risen: Option<Draw>,
    /// A draw that is far lower than the one before it though nothing was done: it is read again before it counts.
    pub(super) lower: Option<Draw>,
    /// `asleep` was said of a vehicle that had not settled: from then on a draw counts for a proof once
    /// it was read twice the same.
    pub(super) hasty: bool,
    /// The draw was read twice the same since something last came out or went back in.
    pub(super) still: bool,
    /// The draw was read again in this spell after readings at parts, and was what it had been.
    pub(super) steady: bool,
    pub(super) questions: Vec<Question>,
    /// It was said once what a minus next to zero is.
    pub(super) near_zero_told: bool,
    pub(super) trial: Option<Trial>,
    pub(super) found: Vec<Found>,
    /// Proofs from before the latest repair.
    pub(super) mended: Vec<Found>,
    pub(super) repairs: Vec<Repair>,
    /// What was known before a repair that no draw has judged.
    pub(super) before_mending: Option<Box<Before>>,
    pub(super) spent: f64,
    /// The chance that what was done since the last settle has woken the vehicle.
    pub(super) stirred: f64,
    /// It was said to be awake since the last draw, which was perhaps read awake.
    pub(super) was_awake: bool,
    /// What was moved since it slept last, or before it did, and what was seen to wake it when it was moved.
    pub(super) moved: Vec<PartId>,
    pub(super) woke: BTreeSet<PartId>,
    pub(super) readings: Vec<(Method, Observation)>,
    /// Readings of nothing that nobody has checked.
    pub(super) zeros: BTreeMap<PartId, Zero>,
    /// Parts at which nothing was read once more: a drop with the part live, a clamp shut anew.
    pub(super) sure_zeros: BTreeSet<PartId>,
    /// Parts at which a second reading in the same state agreed with the first.
    pub(super) firm: BTreeSet<PartId>,
    /// Parts with the battery's volts behind them.
    pub(super) live: BTreeSet<PartId>,
    /// What was seen at inputs, and whether networks are busy, by name.
    pub(super) seen_beside: BTreeMap<String, Seen>,
    /// Inputs that were out when nothing fell.
    pub(super) inputs_cleared: BTreeSet<String>,
    /// Every reading as it was when it was taken.
    pub(super) shown: Vec<Shown>,
    /// The total was read since something last came out or went back in.
    pub(super) fresh: bool,
    /// Something was let in for a reading, and the total was not read since.
    pub(super) broken: bool,
    /// The temperature of the bay, where it was told.
    pub(super) temperature: Option<Celsius>,
    /// What single batteries of several in series showed at rest, in V.
    pub(super) batteries: BTreeMap<PartId, f64>,
    /// What the battery showed at rest, where that was told or read.
    pub(super) rested: Option<Rested>,
    /// The minutes of the settle that was said to be over, as long as nothing was done or read since.
    pub(super) settled: Option<f64>,
    /// The latest reading, where it does not count and is taken once more: how, and where.
    pub(super) repeat: Option<(Method, PartId)>,
    /// What was withdrawn last, with nothing entered since.
    pub(super) withdrawn: Option<(Method, PartId)>,
    /// Points that were asked for once more in this spell.
    pub(super) repeated: BTreeSet<(Method, PartId)>,
    /// The latest entry, where it is a reading that nobody has checked: how, where, and what its last digit
    /// is worth.
    pub(super) latest: Option<(Method, Way, PartId, f64)>,
}

impl<'s> Now<'s> {
    pub(super) fn new(setting: &'s Setting) -> Self {
        Self {
            setting,
            prepared: false,
            said_prepared: false,
            first_prepared: None,
            since: Vec::new(),
            asleep: setting.nothing_sleeps,
            out: Vec::new(),
            polling: false,
            been_out: Vec::new(),
            open: BTreeSet::new(),
            meter_at: None,
            clamp_at: None,
            ledger: Ledger::new(&setting.feeds, &setting.ties),
            draws: Vec::new(),
            taken: BTreeSet::new(),
            turned: BTreeSet::new(),
            skipped: BTreeSet::new(),
            out_of_reach: BTreeSet::new(),
            looks: Vec::new(),
            pulls: Vec::new(),
            fell_with: Vec::new(),
            told: Vec::new(),
            comes: Vec::new(),
            went: None,
            came_back: 0.0,
            away: None,
            quiet_before: None,
            conditions: BTreeMap::new(),
            there: Vec::new(),
            logs: Vec::new(),
            since_total: 0,
            negative: BTreeSet::new(),
            stayed: 0,
            believed: false,
            over: None,
            doubted: None,
            questioned: f64::INFINITY,
            nothing_twice: None,
            risen: None,
            lower: None,
            hasty: false,
            still: false,
            steady: false,
            questions: Vec::new(),
            near_zero_told: false,
            trial: None,
            found: Vec::new(),
            mended: Vec::new(),
            repairs: Vec::new(),
            before_mending: None,
            spent: 0.0,
            stirred: 1.0,
            was_awake: false,
            moved: Vec::new(),
            woke: BTreeSet::new(),
            readings: Vec::new(),
            zeros: BTreeMap::new(),
            sure_zeros: BTreeSet::new(),
            firm: BTreeSet::new(),
            live: BTreeSet::new(),
            seen_beside: BTreeMap::new(),
            inputs_cleared: BTreeSet::new(),
            shown: Vec::new(),
            fresh: false,
            broken: false,
            temperature: None,
            batteries: BTreeMap::new(),
            rested: None,
            settled: None,
            repeat: None,
            withdrawn: None,
            repeated: BTreeSet::new(),
            latest: None,
        }
    }

    /// What is out now.
    pub(super) fn out_set(&self) -> Out {
        all_out(&self.setting.feeds, self.out.iter())
    }

    /// What is out when only proven drains are.
    pub(super) fn base(&self) -> Out {
        let proven = self.found.iter().filter(|f| f.returned);
        all_out(&self.setting.feeds, proven.flat_map(|f| f.taken.iter()))
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
            .filter(|t| !t.is_out_in(feeds, base))
            .collect()
    }

    /// The latest settled draw of this spell with exactly this out.
    pub(super) fn draw_with(&self, out: &Out) -> Option<&Draw> {
        self.draws.iter().rev().find(|draw| draw.out == *out)
    }

    /// The total in a state by all that was read, where a draw was taken in it: as the meter in line lets it
    /// flow, so that two by the same jack differ by what fell.
    pub(super) fn total(&self, out: &Out) -> Option<Interval<Milliamps>> {
        let draw = self.draw_with(out)?;
        let known = self.ledger.current(out, PartId(0));
        Some(known.meet(draw.current).unwrap_or(known))
    }

    /// The currents with this out; a part that is out keeps those of the latest state it was in.
    pub(super) fn view(&self, out: &Out) -> View {
        self.ledger.view(out)
    }

    /// Takes one entry into account.
    pub(super) fn apply(&mut self, entry: &Entry) {
        self.latest = None;
        let settled = self.settled.take();
        if matches!(entry.act, Act::Note(_) | Act::Told { .. }) {
            // What is only said ends no settle.
            self.settled = settled;
        } else {
            (self.repeat, self.withdrawn) = (None, None);
        }
        let setting = self.setting;
        let feeds = &setting.feeds;
        self.note_done(entry);
        match &entry.act {
            Act::Prepared => {
                self.said_prepared = true;
                self.first_prepared.get_or_insert(entry.number);
                self.prepare();
            }
            Act::Asleep => {
                self.prepare();
                let minutes = self.stirred * feeds.settle().value();
                self.settled = Some(minutes);
                self.spent += minutes;
                self.stirred = 0.0;
                self.asleep = true;
            }
            Act::Awake => {
                // Said too early: the same settle goes on, and is counted when it is over.
                self.spent -= settled.unwrap_or(0.0);
                self.asleep = false;
                self.has_stirred();
                self.was_awake = true;
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
                self.latest = (!options.sure).then_some((*method, way, part, reading.step));
                if let Some(total) = &options.with {
                    self.total_with(entry.number, *method, total, options);
                }
                let mut shown = self.shows(entry.number, *method, part, reading, way);
                if *method == Method::Draw {
                    self.draw(entry.number, reading, options, way);
                } else if let Point::Part(part) = point {
                    self.read_there(entry.number, (*method, *part), reading, way, options.sure);
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
                self.looked_beside(point, *seen);
                self.use_earlier_proof();
                self.spent += self.setting.minutes(Method::Look);
            }
            Act::Zero(reading) => {
                self.spent += self.setting.minutes(Method::Zero);
                let off = reading.filter(|zero| zero.low != 0.0 || zero.high != 0.0);
                self.questions.extend(off.map(Question::TakeOff));
            }
            Act::Skip {
                point: Point::Place(place),
                ..
            } => {
                self.out_of_reach.insert(*place);
            }
            Act::Skip { method, point, .. } => {
                let name = self.name(point);
                self.skipped.insert((*method, name));
            }
            Act::Told { key, text } => self.is_told(entry.number, key.as_deref(), text),
            Act::Repaired { point, text } => self.repaired(entry.number, point.as_ref(), text),
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

    /// Keeps what was done since the draw was read last.
    fn note_done(&mut self, entry: &Entry) {
        if matches!(
            entry.act,
            Act::Prepared
                | Act::Awake
                | Act::Open(_)
                | Act::Pull(_)
                | Act::Unplug(_)
                | Act::Refit(_)
        ) {
            self.since.push(Done::Entry(entry.text.clone()));
        }
    }

    /// What was told, with the numbers in it.
    fn is_told(&mut self, entry: u32, key: Option<&str>, text: &str) {
        if key == Some("celsius") {
            self.temperature = journal::celsius(text);
        }
        if key == Some("volts") {
            if let Some(volts) = journal::rested_volts(text) {
                self.rests_at(volts);
            } else if let Some((name, volts)) = journal::volts_of(text) {
                self.battery_rests_at(name, volts);
            }
        }
        self.tell(entry, key.map(str::to_owned), text.to_owned());
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

    /// A reading at a part, where it can be right or was checked.
    fn read_there(
        &mut self,
        entry: u32,
        (method, part): (Method, PartId),
        reading: Reading,
        way: Way,
        sure: bool,
    ) {
        // No jack shows more than it takes: which one it was has to be said.
        let asked =
            !sure && (self.is_over_jack(reading, way) || self.cannot_be(method, part, reading));
        if asked {
            // One question for one slip.
            self.latest = None;
            self.ask_again(method, part);
        } else {
            self.read(entry, method, part, reading, way);
            self.use_earlier_proof();
        }
        if measurement::lets_in(
            &self.setting.feeds,
            &self.setting.instruments,
            part,
            method,
            way,
        ) {
            self.let_in(part);
        }
    }
}
