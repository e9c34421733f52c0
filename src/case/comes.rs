//! What was told at the intake, what comes and goes, and what to do while the fault is not there.
//!
//! A fault that comes and goes is not searched on a quiet vehicle: every fuse reads nothing then, the
//! guilty one too. What can be done is to say what to log, how long, at which trigger, and where to
//! leave the meter meanwhile, so that the night itself splits the vehicle.

use super::away::is_size_of;
use super::cannot_be::would_have_blown;
use super::facts::{Draw, Question};
use super::fold::Now;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::{Lasting, Options, Seen};
use crate::judgement::Judgement;
use crate::log::{Pattern, causes};
use crate::measurement::{self, Jack, Method, Reading, Way};
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Pointed, Steering, Suspect, Told, misspelt};

/// Keys that are about somebody; what they say should move somebody's odds.
const ABOUT_SOMEBODY: [&str; 3] = ["dead", "work", "odds"];
/// Keys behind which a number stands.
const NUMBERS: [&str; 3] = ["days", "volts", "celsius"];
/// Keys that tell how it stands while something is read.
const CONDITIONS: [&str; 4] = ["rain", "coverage", "parked", "network"];
/// Words that say of rain that it is not that.
const DRY: [&str; 6] = ["no", "none", "nothing", "never", "not", "dry"];
/// How often what comes and goes should be seen in a log (common practice, no source).
const TIMES: f64 = 3.0;
/// The shortest log worth the while, and one where nothing is known, in minutes (judgement: a minute; a
/// night).
const SHORTEST: f64 = 1.0;
const NIGHT: f64 = 720.0;
/// How much above the quiet draw the trigger stands where nothing is known of the size: clear of noise,
/// below what matters, in mA (judgement).
const ABOVE: f64 = 50.0;

/// Something that comes and goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comes {
    /// Its entry.
    pub entry: u32,
    /// How.
    pub pattern: Pattern,
}

/// A log that was kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Logged {
    /// Its entry.
    pub entry: u32,
    /// How long, in minutes.
    pub minutes: f64,
    /// The highest in it in mA, where that was entered.
    pub most: Option<f64>,
    /// What was out meanwhile, as it was named.
    pub out: Vec<String>,
    /// Whether what comes and goes came in it, where that is known.
    pub came: Option<bool>,
}

/// A condition that parts the draws: how it stood when the fault was there, and when it was not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GoesWith {
    /// Its key.
    pub key: String,
    /// When it was there.
    pub there: String,
    /// When it was not.
    pub gone: String,
}

/// Why an instrument is left somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leave {
    /// It flowed or fell there while the fault was there.
    Seen,
    /// It is tapped from the battery that is low by itself.
    Tap,
    /// By what is known it splits the causes best.
    Splits,
}

/// What to log.
#[derive(Clone, Debug, PartialEq)]
pub struct Watch {
    /// How long at least, in minutes.
    pub minutes: f64,
    /// The total at which something should note or call, in mA.
    pub trigger: f64,
    /// What is known of it, if anything.
    pub comes: Option<Comes>,
    /// What it adds to the draw on average, in mA, where it comes regularly.
    pub mean: Option<f64>,
    /// The quiet draw, in mA.
    pub quiet: f64,
    /// Where a second instrument left overnight tells most: where it flowed or fell while the fault was there, else
    /// where the odds by what was told alone are split best.
    pub at: Option<(Method, PartId)>,
    /// Why there.
    pub there: Leave,
    /// It was told to come in the wet.
    pub wet: bool,
    /// What was told that it seems to go with.
    pub goes_with: Vec<GoesWith>,
}

impl Now<'_> {
    /// Takes in what was told.
    pub(super) fn tell(&mut self, entry: u32, key: Option<String>, text: String) {
        let first = text.split_whitespace().next().unwrap_or_default();
        let nothing = ["no", "none", "nothing"].contains(&first.to_lowercase().as_str());
        let key_about = |key: &str| ABOUT_SOMEBODY.contains(&key);
        let about = key.as_deref().is_some_and(key_about) && !nothing;
        if let Some(key) = key
            .as_ref()
            .filter(|key| CONDITIONS.contains(&key.as_str()))
        {
            self.conditions.insert(key.clone(), text.clone());
        }
        let spelled = !key.as_deref().is_some_and(|key| NUMBERS.contains(&key));
        self.told.push(Told { entry, key, text });
        let told = self.told.last().filter(|_| spelled);
        let slip = told.and_then(|told| misspelt(&self.setting.feeds, &told.text));
        if let Some((typed, near)) = slip {
            self.questions.push(Question::Misspelt(typed, near));
        } else if about {
            let steering = self.steering();
            let setting = self.setting;
            if !steering.heeds(&setting.feeds, &setting.suspects, entry) {
                let text = self.told.last().map(|told| told.text.clone());
                self.questions.extend(text.map(Question::NobodyMeant));
            }
        }
    }

    /// Keeps what held at a settled draw with nothing out.
    pub(super) fn note_conditions(&mut self, draw: &Draw) {
        let limit = self.setting.healthy.limit();
        if draw.out.is_empty() && self.repair().is_none() {
            let there = draw.current.low() > limit;
            self.there.push((there, self.conditions.clone()));
        }
    }

    /// Whether it was told to come in the wet.
    fn comes_in_the_wet(&self) -> bool {
        let rain = |told: &&Told| told.key.as_deref() == Some("rain");
        let last = self.told.iter().rev().find(rain);
        last.is_some_and(|told| {
            let first = told.text.split_whitespace().next().unwrap_or_default();
            !DRY.contains(&first.to_lowercase().as_str())
        })
    }

    /// Conditions that were always one thing when the fault was there and another when it was not.
    fn goes_with(&self) -> Vec<GoesWith> {
        let told = |key: &str, there: bool| -> Vec<&String> {
            let draws = self.there.iter().filter(|(was, _)| *was == there);
            draws.filter_map(|(_, held)| held.get(key)).collect()
        };
        let keys = CONDITIONS.into_iter().filter_map(|key| {
            let (with, without) = (told(key, true), told(key, false));
            let parted = !with.iter().any(|text| without.contains(text));
            let (there, gone) = (*with.last()?, *without.last()?);
            parted.then(|| GoesWith {
                key: key.to_owned(),
                there: there.clone(),
                gone: gone.clone(),
            })
        });
        keys.collect()
    }

    /// Takes in what comes and goes.
    pub(super) fn comes_and_goes(
        &mut self,
        entry: u32,
        size: &Reading,
        times: [Option<Lasting>; 3],
    ) {
        let [every, lasts, after] = times.map(|time| time.map(Lasting::minutes));
        let size = f64::midpoint(size.low, size.high);
        // Said once more it is the same, by its latest times.
        let same = |comes: &Comes| is_size_of(size, comes.pattern.size);
        let again = self.comes.iter().any(same);
        self.comes.retain(|comes| !same(comes));
        self.comes.push(Comes {
            entry,
            pattern: Pattern {
                size,
                every,
                lasts,
                after,
            },
        });
        self.unprove_by_minutes();
        if again {
            self.came_again(entry, size);
        }
    }

    /// Takes in that it was logged; after a repair that is the watch.
    pub(super) fn was_logged(&mut self, entry: u32, long: Lasting, most: Option<&Reading>) {
        let kept = Logged {
            entry,
            minutes: long.minutes(),
            most: most.map(|most| most.high),
            out: self.out.iter().map(|taken| taken.name.clone()).collect(),
            came: None,
        };
        self.logs.push(kept.clone());
        let away = self.stays_away();
        let least = away.unwrap_or_else(|| self.setting.feeds.settle().value());
        let quiet = self.draws.last().map_or(0.0, |draw| draw.current.high());
        let came = |comes: &Comes| {
            kept.most
                .is_some_and(|most| most >= quiet + comes.pattern.size / 2.0)
        };
        let still = self.comes.iter().any(came);
        if self.repair().is_none() {
            self.log_tells(&kept, most);
            return;
        }
        if still {
            self.questions.extend(kept.most.map(Question::StillComes));
        } else if kept.minutes < least {
            self.questions
                .push(Question::LogTooShort(kept.minutes, away, least));
        }
        if let Some(repair) = self.repairs.last_mut() {
            repair.logs.push(entry);
            if !still && kept.minutes >= least {
                repair.enough.push(entry);
            }
        }
    }

    /// The longest that what comes and goes stays away, in minutes.
    pub(super) fn stays_away(&self) -> Option<f64> {
        let times = self.comes.iter().filter_map(|comes| {
            let Pattern { every, after, .. } = comes.pattern;
            every.or(after)
        });
        times.max_by(f64::total_cmp)
    }

    /// The total at the moment of a reading at a part: a draw of its own.
    pub(super) fn total_with(
        &mut self,
        entry: u32,
        method: Method,
        total: &Reading,
        options: &Options,
    ) {
        if method == Method::Draw || !self.asleep {
            return;
        }
        let Some(way) = self.draws.last().map(|draw| draw.way) else {
            return;
        };
        // What the jack of the last draw does not take was read on the other one.
        let beyond = self.jack_takes(way);
        let beyond = beyond.is_some_and(|most| total.low.abs() > most.value());
        let way = match way {
            Way::Series(Jack::MilliA) if beyond => Way::Series(Jack::A),
            way => way,
        };
        let spent = self.spent;
        self.draw(entry, *total, options, way);
        self.spent = spent;
    }

    /// What moves the odds beside readings, at the draw that is searched for; before there is one, at
    /// that which the days let expect.
    pub(super) fn steering(&self) -> Steering {
        let draw = self.draw_with(&self.base()).map(|draw| draw.current);
        let draw = draw.or_else(|| self.expected());
        let comes = self.comes.iter().map(|comes| Pointed {
            entry: comes.entry,
            by: causes(&self.setting.feeds, &comes.pattern),
        });
        Steering::of(&self.setting.feeds, &self.told, comes.collect(), draw)
    }

    /// Branches with an excess of their own and a module on a network below, where there are several: the
    /// lowest parts at which it is proven.
    pub(super) fn up_together(&self, judged: &Judgement<'_>) -> Vec<PartId> {
        let feeds = &self.setting.feeds;
        let carrying = |part: PartId| judged.excess(part).low() >= judged.matters();
        let mut lowest: Vec<PartId> = Vec::new();
        // In tree order backwards a part comes after all below it.
        for part in feeds.parts().rev().filter(|part| carrying(*part)) {
            // What is below it was met just before.
            if !lowest
                .last()
                .is_some_and(|below| feeds.is_below(*below, part))
            {
                lowest.push(part);
            }
        }
        lowest.retain(|part| feeds.networked(*part));
        lowest.reverse();
        if lowest.len() > 1 { lowest } else { Vec::new() }
    }

    /// What to log while the vehicle is quiet.
    pub(super) fn watch(&self) -> Watch {
        let last = || self.draws.last().map(|draw| draw.current.high());
        let quiet = self.quiet().or_else(last).unwrap_or_default();
        let rises = |a: &&Comes, b: &&Comes| a.pattern.size.total_cmp(&b.pattern.size);
        let comes = self.comes.iter().max_by(rises).copied();
        let expected = self.expected().map(|expected| expected.low() - quiet);
        let size = comes.map(|comes| comes.pattern.size);
        // What was searched for when it vanished.
        let size = size.or_else(|| self.over.as_ref().map(|over| over.current.low() - quiet));
        let above = size.map_or(ABOVE, |size| size / 2.0);
        let above = match (size, expected) {
            (None, Some(expected)) if expected / 2.0 > ABOVE => expected / 2.0,
            _ => above,
        };
        let minutes = self
            .stays_away()
            .map_or(NIGHT, |away| (TIMES * away).max(SHORTEST));
        let size_there = size.unwrap_or(above * 2.0);
        let seen = || Some((self.where_it_was_seen(size_there)?, Leave::Seen));
        let tap = || {
            let tap = self.tap_of_the_lower()?;
            let clamp = self.setting.instruments.clamp.map(|_| Method::Clamp);
            let method = self.leaves_an_instrument(tap, size_there).or(clamp)?;
            Some(((method, tap), Leave::Tap))
        };
        let splits = || Some((self.left_overnight(size_there)?, Leave::Splits));
        let at = seen().or_else(tap).or_else(splits);
        Watch {
            there: at.map_or(Leave::Splits, |(_, there)| there),
            minutes,
            trigger: quiet + above.max(10.0),
            comes,
            mean: comes.and_then(|comes| comes.pattern.mean()),
            quiet,
            wet: self.comes_in_the_wet(),
            goes_with: self.goes_with(),
            at: at.map(|(at, _)| at),
        }
    }

    /// The lowest place at which it was seen while the fault was there, and an instrument can be left: current that
    /// was read there, what was out when the draw fell, or what was seen on.
    fn where_it_was_seen(&self, size: f64) -> Option<(Method, PartId)> {
        let feeds = &self.setting.feeds;
        let carried = self.shown.iter().filter(|shown| {
            let read = matches!(shown.method, Method::Drop | Method::Clamp | Method::Series);
            let enough = shown
                .current
                .is_some_and(|current| current.low() >= size / 2.0);
            read && enough && shown.asleep && shown.taken
        });
        let carried = carried.map(|shown| shown.part);
        let on = self.looks.iter().filter(|(_, seen)| *seen == Seen::Yes);
        let on = on.map(|(part, _)| *part);
        let fell = self.fell_with.iter().copied();
        let base = self.base();
        let seats = carried.chain(on).chain(fell);
        let left = seats.filter(|part| !base.cuts(feeds, *part));
        let deepest = left.max_by_key(|part| feeds.path(*part).len())?;
        let mut way = std::iter::successors(Some(deepest), |part| feeds.up(*part));
        way.find_map(|part| Some((self.leaves_an_instrument(part, size)?, part)))
    }

    /// Where an instrument left overnight splits the odds best, readings left out: they were taken
    /// while the fault was not there. The instrument must be able to see a rise of that size.
    fn left_overnight(&self, size: f64) -> Option<(Method, PartId)> {
        let setting = self.setting;
        let feeds = &setting.feeds;
        let steering = self.steering();
        let weight = |suspect: &Suspect| {
            let wiring = suspect.cause == Cause::Leak
                || suspect.cause == Cause::NotOnSheet
                    && suspect.seat().is_some_and(|part| !feeds.is_leaf(part));
            // What comes must get through the fuses on the way.
            if wiring || would_have_blown(feeds, suspect, size) {
                0.0
            } else {
                suspect.prior * steering.factor(feeds, suspect)
            }
        };
        let mut at = vec![0.0; feeds.len()];
        for suspect in &setting.suspects {
            let seats: Vec<PartId> = match suspect.seat() {
                Some(seat) => vec![seat],
                None => suspect.raises.iter().map(|(part, _)| *part).collect(),
            };
            for seat in &seats {
                at[seat.index()] += weight(suspect) / seats.len() as f64;
            }
        }
        let whole: f64 = at.iter().sum();
        let sums = feeds.parts().skip(1).filter_map(|part| {
            let below: f64 = feeds.subtree(part).map(|p| at[PartId(p).index()]).sum();
            let method = self.leaves_an_instrument(part, size)?;
            let off = (below / whole - 0.5).abs();
            (below > 0.0 && off < 0.45).then_some((off, method, part))
        });
        let best = sums.min_by(|a, b| a.0.total_cmp(&b.0));
        best.map(|(_, method, part)| (method, part))
    }

    /// The instrument that can be left at a part and sees a rise of that size.
    fn leaves_an_instrument(&self, part: PartId, size: f64) -> Option<Method> {
        let setting = self.setting;
        let offered = measurement::offered(&setting.feeds, part);
        let sees = |method: Method| {
            let rise = Interval::exactly(Milliamps::of(size));
            let nothing = Interval::exactly(Milliamps::ZERO);
            let way = Some(Way::Clamp { turns: 1 }).filter(|_| method == Method::Clamp);
            let shown = |current| self.shown(method, way, part, current);
            match (shown(rise), shown(nothing)) {
                (Some(rise), Some(nothing)) => rise.0 > nothing.1,
                _ => false,
            }
        };
        [Method::Drop, Method::Clamp]
            .into_iter()
            .find(|method| offered.contains(method) && sees(*method))
    }
}
