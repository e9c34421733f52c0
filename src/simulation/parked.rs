//! A parked vehicle with a clock: it falls asleep module by module, wakes when it is disturbed, and is
//! read through the instruments at hand.
//!
//! **Model.** Modules fall asleep one after another in the file's order, the last when the file's
//! settle is over (the spread is judgement). Taking something out or putting it back wakes the vehicle
//! with the usual chance, whatever the learner's instruments file says of hands, so that a number is one
//! vehicle for all; a place that wakes and was not opened before does so always.
//!
//! A meter in line takes its burden off the supply. Lamps, heaters, motors, coils and leaks are taken for
//! plain resistances, that draw less behind it; modules and what else has electronics for draws that stay
//! the same whatever the supply, as a regulator's do (some take more instead: not modelled). The resistance
//! of a load is that with which it draws its current from the rested battery.
//!
//! Where partners retry ([`Traps::retries`]), those on the network of a module that has lost all its feeds
//! call it for half a settle longer than they would be up otherwise (judgement).
//!
//! **Invariants.** Before the instrument's error the currents add up at every part, and a drop is that
//! current times a resistance inside its band. Whatever needs a choice is asked of `choice` by a name
//! that does not depend on what was done before, so that the same test gives the same error on every
//! way through the vehicle.

use super::{Drain, Simulated, held_by};
use crate::case::{Setting, chance_of_waking, taken_by};
use crate::feeds::{Feeds, ModuleId, PartId, PlaceId};
use crate::instruments::Handling;
use crate::journal::{Act, Point};
use crate::measurement::{Method, offered};
use crate::vehicle::LoadKind;
use std::collections::BTreeSet;

mod reading;
pub use reading::is_plain_resistance;

/// A hidden fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Hidden {
    /// What it does.
    pub drain: Drain,
    /// It is gone for good once it has lost its feed.
    pub lost_by_break: bool,
}

/// What else is wrong with the set-up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[allow(clippy::struct_excessive_bools)] // independent traps
pub struct Traps {
    /// The bridge lead was left on: in series the meter shows a hundredth of the draw.
    pub bridge_on: bool,
    /// The fuse of the meter's mA jack is blown: that jack shows nothing.
    pub blown_fuse: bool,
    /// The leads are the wrong way round in series.
    pub leads_round: bool,
    /// Telematics call home for 45 s every 10 min and take 160 mA more (a maker's service text: 80 to
    /// 240 mA for 45 s every 9 to 10 min).
    pub bursts: bool,
    /// The clamp drifts by 0.4 mA a minute since it was last zeroed (judgement).
    pub drift: bool,
    /// Partners of a module that has lost its feeds call it before they sleep.
    pub retries: bool,
    /// The battery rests at 11.9 V: too low for a draw measured on it to say much. What modules do on it
    /// is not modelled; it is asked whether anyone looked.
    pub battery_low: bool,
}

/// What came of something that was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Happened {
    /// The vehicle woke up.
    Woke,
    /// The mA jack's fuse went.
    FuseWent,
    /// Something was wrong with the set-up, and is put right.
    PutRight,
    /// Nothing was wrong with the set-up.
    SetUpSound,
    /// Nobody touches that: it was not done.
    Stopped,
    /// The battery showed itself too low to measure a draw on.
    BatteryReadLow,
}

/// Why a test gives no reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cannot {
    /// The part does not offer that test.
    NotOffered,
    /// Nobody may touch that: airbag, high voltage, protected.
    Forbidden,
    /// The instrument is not at hand.
    NoInstrument,
    /// Only a part can be read so.
    NoPart,
}

/// A parked vehicle.
#[derive(Clone)]
pub struct Parked<'s> {
    setting: &'s Setting,
    vehicle: Simulated<'s>,
    hidden: Vec<Hidden>,
    traps: Traps,
    blown: BTreeSet<PartId>,
    choice: &'s dyn Fn(&str) -> f64,
    minutes: f64,
    calling: f64,
    stirred: f64,
    zeroed: f64,
    open: BTreeSet<PlaceId>,
    prepared: bool,
    out: Vec<(Point, Vec<PartId>)>,
    wakes: u32,
    undisturbed: bool,
}

/// The share of the settle after which the first module sleeps (judgement).
const FIRST_SLEEPS: f64 = 0.5;
/// How long partners call a module that has gone off the network, in settles (judgement).
const RETRY_SETTLES: f64 = 1.5;

impl<'s> Parked<'s> {
    /// A vehicle just left, all its modules awake. `choice` gives from 0 to 1 for each name.
    pub fn new(
        setting: &'s Setting,
        hidden: Vec<Hidden>,
        traps: Traps,
        choice: &'s dyn Fn(&str) -> f64,
    ) -> Self {
        let mut parked = Self {
            setting,
            vehicle: Simulated::new(&setting.feeds, Vec::new(), |_| 0.0),
            hidden,
            traps,
            blown: BTreeSet::new(),
            choice,
            minutes: 0.0,
            calling: 0.0,
            stirred: 0.0,
            zeroed: 0.0,
            open: BTreeSet::new(),
            prepared: false,
            out: Vec::new(),
            wakes: 0,
            undisturbed: false,
        };
        parked.hide();
        parked
    }

    /// The same with these fuses, links or breakers blown from the start.
    pub fn with_blown(mut self, blown: &[PartId]) -> Self {
        self.blown.extend(blown);
        self
    }

    /// The same where nothing that is opened, taken out or put back wakes it.
    pub fn undisturbed(mut self) -> Self {
        self.undisturbed = true;
        self
    }

    /// The loads as they sleep, all together at most four fifths of the limit, and what is hidden.
    fn hide(&mut self) {
        let feeds = &self.setting.feeds;
        let share = |part: PartId| (self.choice)(&format!("asleep {}", feeds.id(part)));
        let sum = |factor: f64| {
            let healthy = Simulated::new(feeds, Vec::new(), |p| factor * share(p));
            healthy.currents(&BTreeSet::new())[0]
        };
        let (least, most, room) = (sum(0.0), sum(1.0), 0.8 * self.setting.limit());
        let factor = if most > room && most > least {
            ((room - least) / (most - least)).max(0.0)
        } else {
            1.0
        };
        let drains = self.hidden.iter().map(|h| h.drain.clone()).collect();
        self.vehicle = Simulated::new(feeds, drains, |p| factor * share(p));
    }

    /// Minutes since the vehicle was left.
    pub fn minutes(&self) -> f64 {
        self.minutes
    }

    /// How often it was woken.
    pub fn wakes(&self) -> u32 {
        self.wakes
    }

    /// Whether every module that can sleep is asleep.
    pub fn is_asleep(&self) -> bool {
        self.minutes + 1e-9 >= self.sleeps_at()
    }

    /// Minutes until every module that can sleep is asleep.
    pub fn until_asleep(&self) -> f64 {
        (self.sleeps_at() - self.minutes).max(0.0)
    }

    /// When the last module falls asleep.
    fn sleeps_at(&self) -> f64 {
        let settled = self.stirred + self.setting.feeds.settle().value();
        settled.max(self.calling)
    }

    /// Time passes.
    pub fn pass(&mut self, minutes: f64) {
        self.minutes += minutes.max(0.0);
    }

    /// Waits until the settle is over; the minutes it took.
    pub fn settle(&mut self) -> f64 {
        let took = self.until_asleep();
        self.minutes += took;
        took
    }

    /// Battery, bridge, leads and the meter's fuse are looked at and put right; a battery that is low is
    /// charged meanwhile, which takes no minutes at the vehicle.
    pub fn check_set_up(&mut self) -> Happened {
        let traps = self.traps;
        let wrong = traps.bridge_on || traps.blown_fuse || traps.leads_round || traps.battery_low;
        self.traps = Traps {
            bridge_on: false,
            blown_fuse: false,
            leads_round: false,
            battery_low: false,
            ..traps
        };
        if wrong {
            Happened::PutRight
        } else {
            Happened::SetUpSound
        }
    }

    /// What is out now.
    pub fn out(&self) -> BTreeSet<PartId> {
        self.out
            .iter()
            .flat_map(|(_, parts)| parts.clone())
            .collect()
    }

    /// What passes nothing on: it is out, or blown.
    fn dead(&self) -> BTreeSet<PartId> {
        let mut dead = self.out();
        dead.extend(&self.blown);
        dead
    }

    /// Whether each part passes its feed on now.
    pub fn fed(&self) -> Vec<bool> {
        self.vehicle.fed(&self.dead())
    }

    /// Whether a module is up now: not asleep yet, calling, or kept awake.
    fn is_up(&self, module: ModuleId) -> bool {
        let fed = self.fed();
        let mut hidden = self.vehicle.drains.iter();
        let falls = self.falls_asleep(module);
        let settling = self.minutes - self.stirred + 1e-9 < falls || self.is_calling(module);
        let alive = |m: ModuleId| {
            let own = self.setting.feeds.module_feeds(m);
            own.iter().any(|f| fed[f.index()])
        };
        alive(module)
            && (settling || hidden.any(|d| self.vehicle.kept_up(d, &fed).contains(&module)))
    }

    /// Minutes after the last disturbance at which a module falls asleep.
    fn falls_asleep(&self, module: ModuleId) -> f64 {
        let feeds = &self.setting.feeds;
        let turn = (f64::from(module.0) + 1.0) / feeds.modules().count() as f64;
        feeds.settle().value() * (FIRST_SLEEPS + (1.0 - FIRST_SLEEPS) * turn)
    }

    /// The true current at every part now, in mA.
    pub fn currents(&self) -> Vec<f64> {
        let feeds = &self.setting.feeds;
        let since = self.minutes - self.stirred;
        let up = |module| since + 1e-9 < self.falls_asleep(module) || self.is_calling(module);
        let mut vehicle = self.vehicle.clone();
        if self.traps.bursts && (self.minutes + 10.0 * (self.choice)("burst")) % 10.0 < 0.75 {
            let phone = |p: &PartId| feeds.load_kind(*p) == Some(LoadKind::Telematics);
            let phones = feeds.parts().filter(phone);
            let more = crate::quantity::Milliamps::of(160.0);
            vehicle.drains.extend(phones.map(|p| Drain::Takes(p, more)));
        }
        vehicle.currents_while(&self.dead(), up)
    }

    /// The true current at every part once it sleeps, with nothing but what is blown out, in mA.
    pub fn settled(&self) -> Vec<f64> {
        self.vehicle.currents(&self.blown)
    }

    /// Whether a module has lost all its feeds.
    fn is_gone(&self, module: ModuleId, dead: &BTreeSet<PartId>) -> bool {
        let feeds = &self.setting.feeds;
        let own = feeds.module_feeds(module);
        let lost = |feed: &PartId| feeds.path(*feed).iter().any(|p| dead.contains(p));
        !own.is_empty() && own.iter().all(lost)
    }

    /// Whether a module is up because it calls a partner that does not answer.
    fn is_calling(&self, module: ModuleId) -> bool {
        let feeds = &self.setting.feeds;
        let dead = self.dead();
        let waits = self.minutes + 1e-9 < self.calling && !self.is_gone(module, &dead);
        let network = feeds.network_of(module).filter(|_| waits);
        network.is_some_and(|n| feeds.partners(n).any(|other| self.is_gone(other, &dead)))
    }

    /// Where partners retry, whatever has just gone off its network keeps the others up for a while.
    fn call_the_lost(&mut self, before: &BTreeSet<PartId>) {
        let feeds = &self.setting.feeds;
        let dead = self.dead();
        let newly = |m: &ModuleId| self.is_gone(*m, &dead) && !self.is_gone(*m, before);
        let missed = |m: ModuleId| {
            let network = feeds.network_of(m);
            network.is_some_and(|n| feeds.partners(n).any(|o| !self.is_gone(o, &dead)))
        };
        if self.traps.retries && feeds.modules().filter(newly).any(missed) {
            self.calling = self.minutes + RETRY_SETTLES * feeds.settle().value();
        }
    }

    /// What was done last woke it at its end, so that its settle begins only now.
    pub fn settles_from_now(&mut self) {
        self.stirred = self.minutes;
    }

    /// Somebody saw that it woke, and says so.
    pub fn was_seen_awake(&mut self) {
        self.wake();
    }

    fn wake(&mut self) -> Happened {
        self.stirred = self.minutes;
        self.wakes += 1;
        Happened::Woke
    }

    /// Gets at a place; opening one that wakes after the preparation wakes the vehicle.
    fn reach(&mut self, place: Option<PlaceId>) -> Option<Happened> {
        let mut woke = None;
        let asleep = self.is_asleep();
        for place in place.map_or_else(Vec::new, |p| self.setting.feeds.way(p)) {
            let wakes = self.setting.feeds.place_as_written(place).wakes;
            if self.open.insert(place) && wakes && asleep && !self.undisturbed {
                woke = Some(self.wake());
            }
        }
        woke
    }

    /// Does what an act says, as far as the vehicle feels it.
    ///
    /// # Errors
    /// Where it must not or cannot be done; then nothing has changed.
    pub fn act(&mut self, act: &Act) -> Result<Vec<Happened>, Cannot> {
        let feeds = &self.setting.feeds;
        let mut happened = Vec::new();
        match act {
            Act::Prepared => {
                self.prepared = true;
                for place in feeds.places() {
                    if feeds.place_as_written(place).wakes {
                        self.open.extend(feeds.way(place));
                    }
                }
            }
            Act::Open(place) => happened.extend(self.reach(Some(*place))),
            Act::Zero(_) => self.zeroed = self.minutes,
            Act::Pull(points) | Act::Unplug(points) => {
                let unplugged = matches!(act, Act::Unplug(_));
                let taken: Vec<_> = points
                    .iter()
                    .map(|point| (point.clone(), taken_by(feeds, point, unplugged)))
                    .collect();
                for (point, parts) in &taken {
                    if !(unplugged && is_bare_input(point, parts)) {
                        may_come_out(feeds, parts, unplugged)?;
                    }
                }
                let before = self.dead();
                for (point, parts) in taken {
                    self.let_go(&point);
                    happened.extend(self.reach(parts.first().and_then(|p| feeds.place(*p))));
                    happened.extend(self.stir(&parts, "out"));
                    self.out.push((point, parts));
                }
                self.call_the_lost(&before);
                self.lose();
            }
            Act::Refit(points) => {
                let (back, stay) = self.out.clone().into_iter().partition(|(point, parts)| {
                    let same = |p: &Point| {
                        p == point
                            || [true, false].iter().any(|u| {
                                let taken = taken_by(feeds, p, *u);
                                !taken.is_empty() && taken.iter().all(|t| parts.contains(t))
                            })
                    };
                    points.is_empty() || points.iter().any(same)
                });
                self.out = stay;
                let back: Vec<(Point, Vec<PartId>)> = back;
                for (point, parts) in back {
                    self.let_go(&point);
                    happened.extend(self.stir(&parts, "in"));
                }
                self.vehicle.drains = self.at_work();
            }
            _ => {}
        }
        // Several things taken out in one go wake it once.
        let woke = happened.iter().filter(|h| **h == Happened::Woke).count();
        self.wakes -= woke.saturating_sub(1) as u32;
        let mut seen = false;
        happened.retain(|h| *h != Happened::Woke || !std::mem::replace(&mut seen, true));
        Ok(happened)
    }

    /// What an input held awake has a settle before it when its connector comes out, and is up again when
    /// it goes back in.
    fn let_go(&mut self, point: &Point) {
        let Point::Input(name) = point else { return };
        let holds = |hidden: &Hidden| hidden.drain == Drain::Input(name.clone());
        if self.hidden.iter().any(holds) {
            self.stirred = self.minutes;
        }
    }

    /// What is hidden, without the inputs whose connectors are out.
    fn at_work(&self) -> Vec<Drain> {
        let out = |drain: &&Drain| {
            let Drain::Input(name) = drain else {
                return false;
            };
            let is_it = |(point, _): &(Point, Vec<PartId>)| *point == Point::Input(name.clone());
            self.out.iter().any(is_it)
        };
        let drains = self.hidden.iter().map(|hidden| &hidden.drain);
        drains.filter(|drain| !out(drain)).cloned().collect()
    }

    fn stir(&mut self, parts: &[PartId], way: &str) -> Option<Happened> {
        let feeds = &self.setting.feeds;
        let name = parts.first().map_or("", |p| feeds.id(*p));
        let roll = (self.choice)(&format!("wake {way} {name}"));
        let chance = chance_of_waking(&Handling::USUAL, feeds, parts);
        (roll < chance && !self.undisturbed).then(|| self.wake())
    }

    /// Faults that do not survive the loss of their feed.
    fn lose(&mut self) {
        self.lose_without(None);
    }

    /// The same with this part out for a moment besides.
    fn lose_without(&mut self, part: Option<PartId>) {
        let feeds = &self.setting.feeds;
        let mut out = self.dead();
        out.extend(part);
        let dead = |part: PartId| feeds.path(part).iter().any(|p| out.contains(p));
        let gone = |hidden: &Hidden| {
            hidden.lost_by_break
                && match &hidden.drain {
                    Drain::Takes(part, _)
                    | Drain::CoilHeld(part)
                    | Drain::WireShorted(part)
                    | Drain::Contact(part, _) => dead(*part),
                    Drain::HeldBy(module) => feeds.module_feeds(*module).iter().all(|f| dead(*f)),
                    Drain::Input(name) => held_by(feeds, name)
                        .iter()
                        .all(|m| feeds.module_feeds(*m).iter().all(|f| dead(*f))),
                }
        };
        self.hidden.retain(|hidden| !gone(hidden));
        self.vehicle.drains = self.at_work();
    }

    /// What is still hidden in it.
    pub fn hidden(&self) -> &[Hidden] {
        &self.hidden
    }
}

/// An input that is no part of the tree: it has a connector of its own.
fn is_bare_input(point: &Point, parts: &[PartId]) -> bool {
    matches!(point, Point::Input(_)) && parts.is_empty()
}

/// Nobody touches these at the load.
fn forbidden(feeds: &Feeds, part: PartId) -> bool {
    use LoadKind::{Airbag, HighVoltage, Protected};
    matches!(
        feeds.load_kind(part),
        Some(Airbag | HighVoltage | Protected)
    )
}

fn may_come_out(feeds: &Feeds, parts: &[PartId], unplugged: bool) -> Result<(), Cannot> {
    if parts.iter().any(|p| forbidden(feeds, *p)) {
        return Err(Cannot::Forbidden);
    }
    let way = if unplugged {
        Method::Unplug
    } else {
        Method::Pull
    };
    let comes = parts.iter().any(|p| offered(feeds, *p).contains(&way));
    if comes {
        Ok(())
    } else {
        Err(Cannot::NotOffered)
    }
}
