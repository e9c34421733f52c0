//! What a burst or a step could be: by its size, how often it comes, how long it lasts, how long after
//! the vehicle was left, and the kind of load.
//!
//! **Model.** Each kind of load has habits; what was seen fits each trait of a habit or speaks against
//! it. The sizes that the file gives weigh more than what is usual for a kind. It orders what to look
//! at; it proves nothing.

use crate::feeds::{Feeds, ModuleId, NetworkId, PartId};
use crate::quantity::Milliamps;
use crate::vehicle::{LoadKind, PartKind};

/// Something that comes and goes, or comes and stays.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pattern {
    /// By how much the draw rises, in mA.
    pub size: f64,
    /// Start to start in minutes; `None` where it comes once, or at odd times.
    pub every: Option<f64>,
    /// For how many minutes; `None` where it stays, or nobody saw it end.
    pub lasts: Option<f64>,
    /// How many minutes after the vehicle was left it came first, where that is known.
    pub after: Option<f64>,
}

impl Pattern {
    /// What it adds to the draw on average, in mA; `None` where it does not come regularly.
    pub fn mean(&self) -> Option<f64> {
        let (every, lasts) = (self.every?, self.lasts?);
        (every > 0.0).then(|| self.size * (lasts / every).min(1.0))
    }
}

/// Who could be behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// A part.
    Part(PartId),
    /// A module, by what it takes awake.
    Module(ModuleId),
    /// All partners of a network together: one of them wakes the others.
    Network(NetworkId),
}

/// What fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trait {
    /// The file gives this size, in mA.
    Size(f64),
    /// Its kind takes about that.
    UsualSize,
    /// Its kind comes that often.
    Period,
    /// Its kind takes that long.
    Length,
    /// A relay's coil that is held on stays on.
    Stays,
}

/// Somebody who could be behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// Who.
    pub who: Who,
    /// The habit of its kind that fits, if one was held against it.
    pub habit: Option<&'static str>,
    /// What fits.
    pub fits: Vec<Trait>,
    /// How well; 1 says nothing either way.
    pub factor: f64,
}

/// What a kind of load does when parked: from, to; minutes and mA.
struct Habit {
    what: &'static str,
    kinds: &'static [LoadKind],
    size: (f64, f64),
    every: Option<(f64, f64)>,
    lasts: Option<(f64, f64)>,
}

/// Habits at 12 V. The first is seen in makers' tables, the second common practice; the rest is
/// judgement.
const HABITS: [Habit; 9] = [
    Habit {
        what: "reports to its maker",
        kinds: &[LoadKind::Telematics],
        size: (80.0, 240.0),
        every: Some((9.0, 10.0)),
        lasts: Some((0.5, 1.0)),
    },
    Habit {
        what: "tank-leak self-test",
        kinds: &[LoadKind::EngineModule],
        size: (600.0, 1500.0),
        every: None,
        lasts: Some((5.0, 45.0)),
    },
    Habit {
        what: "looks for its radio network",
        kinds: &[LoadKind::Telematics],
        size: (80.0, 600.0),
        every: Some((0.5, 30.0)),
        lasts: Some((0.1, 10.0)),
    },
    Habit {
        what: "listens for the key",
        kinds: &[LoadKind::BodyModule],
        size: (5.0, 100.0),
        every: Some((0.001, 0.5)),
        lasts: Some((0.0001, 0.05)),
    },
    Habit {
        what: "reports or records while parked",
        kinds: &[LoadKind::Added],
        size: (50.0, 1000.0),
        every: Some((1.0, 120.0)),
        lasts: Some((0.05, 5.0)),
    },
    Habit {
        what: "moves by itself now and then",
        kinds: &[LoadKind::Moves],
        size: (1000.0, 40_000.0),
        every: Some((60.0, 1440.0)),
        lasts: Some((0.02, 2.0)),
    },
    Habit {
        what: "runs on, or is switched by its relay",
        kinds: &[LoadKind::Motor],
        size: (1000.0, 40_000.0),
        every: None,
        lasts: Some((0.1, 20.0)),
    },
    Habit {
        what: "is lit",
        kinds: &[LoadKind::Lamp],
        size: (150.0, 2000.0),
        every: None,
        lasts: None,
    },
    Habit {
        what: "is not asleep",
        kinds: &[LoadKind::Audio, LoadKind::BodyModule, LoadKind::Other],
        size: (60.0, 1000.0),
        every: None,
        lasts: None,
    },
];

/// How much a trait moves the odds for and against (judgement).
const FITS: f64 = 3.0;
const SIZE_FITS: f64 = 6.0;
const SIZE_DIFFERS: f64 = 0.1;
const DIFFERS: f64 = 0.3;
/// A size is that of the file within this share of it (judgement).
const NEAR: f64 = 0.3;
/// What a relay's coil takes at 12 V (about 70 to 85 Ω, from memory), made wider for a cold or a weak
/// battery, in mA.
const COIL: (f64, f64) = (120.0, 200.0);
/// How long partners on a network stay up once one has woken them, in minutes (judgement).
const NETWORK_UP: (f64, f64) = (0.05, 20.0);

/// How well a value keeps to a range; as well as not at twice or half of it.
fn keeps(value: f64, (low, high): (f64, f64)) -> f64 {
    if (low..=high).contains(&value) {
        FITS
    } else if (low / 2.0..=high * 2.0).contains(&value) {
        1.0
    } else {
        DIFFERS
    }
}

impl Match {
    fn of(who: Who) -> Self {
        Self {
            who,
            habit: None,
            fits: Vec::new(),
            factor: 1.0,
        }
    }

    /// Holds a size of the file against what was seen.
    fn known_size(mut self, known: f64, seen: &Pattern) -> Self {
        if (seen.size.abs() - known).abs() <= NEAR * known {
            self.factor *= SIZE_FITS;
            self.fits.push(Trait::Size(known));
        } else {
            self.factor *= SIZE_DIFFERS;
        }
        self
    }

    fn add(&mut self, factor: f64, what: Trait) {
        self.factor *= factor;
        if factor > 1.0 {
            self.fits.push(what);
        }
    }

    /// Holds a habit against what was seen; the size only where the file gives none.
    fn habit(mut self, habit: &Habit, seen: &Pattern, volts: f64, size_known: bool) -> Self {
        if !size_known {
            // The same watts are half the current at 24 V.
            let at_12 = seen.size.abs() * volts / 12.0;
            self.add(keeps(at_12, habit.size), Trait::UsualSize);
        }
        match (habit.every, seen.every) {
            (Some(usual), Some(seen)) => self.add(keeps(seen, usual), Trait::Period),
            // What comes regularly is switched by something that counts.
            (None, Some(_)) => self.factor *= DIFFERS,
            _ => {}
        }
        match (habit.lasts, seen.lasts) {
            (Some(usual), Some(seen)) => self.add(keeps(seen, usual), Trait::Length),
            // A short one that goes by itself is not something left on.
            (None, Some(seen)) if seen < 5.0 => self.factor *= DIFFERS,
            (Some(_), None) => self.factor *= DIFFERS,
            _ => {}
        }
        self.habit = Some(habit.what);
        self
    }
}

/// Everybody who could be behind it, the best fit first; those that nothing speaks for are left out.
pub fn causes(feeds: &Feeds, seen: &Pattern) -> Vec<Match> {
    let volts = feeds.volts().value() / 1000.0;
    let mut all: Vec<Match> = Vec::new();
    for id in feeds.parts() {
        let part = feeds.part(id);
        if part.kind == PartKind::Coil {
            all.push(coil(feeds, id, seen, volts));
        } else if part.kind == PartKind::Load {
            all.push(load(feeds, id, seen, volts));
        }
    }
    for network in feeds.networks() {
        all.extend(woken(feeds, network, seen));
    }
    all.retain(|m| m.factor > 1.0 && !m.fits.is_empty());
    all.sort_by(|a, b| b.factor.total_cmp(&a.factor));
    all
}

fn load(feeds: &Feeds, id: PartId, seen: &Pattern, volts: f64) -> Match {
    let part = feeds.part(id);
    let kind = feeds.load_kind(id).unwrap_or(LoadKind::Other);
    let module = feeds.module_of(id);
    let one_feed = module.filter(|module| feeds.module_feeds(*module).len() == 1);
    let awake = part
        .awake
        .or_else(|| one_feed.and_then(|module| feeds.module(module).awake));
    let more = awake.map(|awake| awake.value() - part.asleep.map_or(0.0, Milliamps::value));
    let more = more.filter(|more| *more > 0.0);
    let who = one_feed.map_or(Who::Part(id), Who::Module);
    let plain = || {
        let plain = Match::of(who);
        match more {
            Some(more) => plain.known_size(more, seen),
            None => plain,
        }
    };
    let habits = HABITS.iter().filter(|habit| habit.kinds.contains(&kind));
    // Of habits that fit as well as each other the first is meant.
    habits
        .rev()
        .map(|habit| plain().habit(habit, seen, volts, more.is_some()))
        .max_by(|a, b| a.factor.total_cmp(&b.factor))
        .unwrap_or_else(plain)
}

fn coil(feeds: &Feeds, id: PartId, seen: &Pattern, volts: f64) -> Match {
    let mut coil = Match::of(Who::Part(id));
    match feeds.part(id).draws {
        Some(draws) => coil = coil.known_size(draws.value(), seen),
        None => coil.add(
            keeps(seen.size.abs() * volts / 12.0, COIL),
            Trait::UsualSize,
        ),
    }
    match seen.lasts {
        None => coil.add(FITS, Trait::Stays),
        Some(lasts) if lasts < 5.0 => coil.factor *= DIFFERS,
        Some(_) => {}
    }
    if seen.every.is_some() {
        coil.factor *= DIFFERS;
    }
    coil
}

/// All partners of a network awake together, where the file says what each takes.
fn woken(feeds: &Feeds, network: NetworkId, seen: &Pattern) -> Option<Match> {
    let awake: Vec<f64> = feeds
        .partners(network)
        .filter_map(|module| feeds.module(module).awake.map(Milliamps::value))
        .collect();
    if awake.len() < 2 {
        return None;
    }
    let mut all = Match::of(Who::Network(network)).known_size(awake.iter().sum(), seen);
    if let Some(lasts) = seen.lasts {
        all.add(keeps(lasts, NETWORK_UP), Trait::Length);
    }
    Some(all)
}
