//! What a reading at a part does to a case: what it bounds, and what it makes one ask.

use super::adds_up::rectangular;
use super::facts::{Question, Shown};
use super::fold::Now;
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::{By, Options};
use crate::ledger::{Ledger, Observation, Observed, Out};
use crate::measurement::{self, InLine, Jack, Method, Reading, Way};
use crate::quantity::Milliamps;

/// A point is live from this share of the nominal voltage (judgement: a flat battery still shows 10 V).
const LIVE_FROM: f64 = 0.8;
/// A fuse with more than this share of the nominal voltage across it is blown (judgement).
pub(super) const BLOWN_FROM: f64 = 0.5;

/// After so many readings at parts the total is asked for again (judgement).
pub(super) const TOTAL_AGAIN: usize = 4;

impl Now<'_> {
    /// What a reading says by itself; of a drop with the probes both ways round half the difference.
    pub(super) fn with_both_ways(
        &mut self,
        method: Method,
        part: PartId,
        reading: Reading,
        options: &Options,
    ) -> Reading {
        let Some(other) = options.reversed.filter(|_| method == Method::Drop) else {
            return reading;
        };
        if reading.offset(other).abs() > measurement::LARGE_OFFSET {
            self.questions.push(Question::SameBothWays(part));
        }
        reading.with_probes_turned(other, &self.setting.instruments)
    }

    /// A current below zero: leads the wrong way once, fed from elsewhere when it is so again; `nothing`
    /// where it is zero within the accuracy.
    pub(super) fn below_zero(&mut self, method: Method, part: PartId, nothing: bool) {
        let asked = if nothing {
            // Once is enough.
            if std::mem::replace(&mut self.near_zero_told, true) {
                return;
            }
            Question::NearZero
        } else if self.negative.insert((method, part)) {
            Question::LeadsRound
        } else {
            Question::BackFed(part)
        };
        self.questions.push(asked);
    }

    /// A reading at a part.
    pub(super) fn read(
        &mut self,
        entry: u32,
        method: Method,
        part: PartId,
        reading: Reading,
        way: Way,
    ) {
        let setting = self.setting;
        let feeds = &setting.feeds;
        self.get_at(feeds.place(part));
        self.spent += setting.minutes(method);
        self.carry(method, feeds.place(part));
        let out = self.out_set();
        let over_volts = reading.over && matches!(method, Method::Drop | Method::Volts);
        if over_volts {
            self.questions.push(Question::OverRange(part));
        }
        let as_it_is = method == Method::Clamp
            && !measurement::lets_in(feeds, &setting.instruments, part, method, way);
        if as_it_is && setting.thickness(part).is_some() && !setting.jaws_close(part) {
            self.questions.push(Question::JawsTooSmall(part));
        }
        // Neither dead nor live, or below zero: no answer.
        let mut between = false;
        let observed = match method {
            // Something is there, and nothing says how much.
            Method::Volts if reading.over => None,
            Method::Volts => {
                if part == PartId(0) {
                    self.volts_at_battery(&reading);
                }
                let battery = feeds.volts_at(part).value();
                if reading.is_dead() {
                    Some(Observed::Dead(part))
                } else {
                    if reading.high <= -LIVE_FROM * battery {
                        between = true;
                        self.questions.push(Question::LeadsRound);
                    } else if reading.low < LIVE_FROM * battery {
                        between = true;
                        self.questions.push(Question::Between(part));
                    } else if self.asleep && !feeds.is_fed_behind(part) {
                        self.live.insert(part);
                    }
                    None
                }
            }
            Method::Drop => {
                // Battery volts across a fuse: it is blown and nothing passes.
                if reading.low > BLOWN_FROM * feeds.volts_at(part).value() {
                    self.questions.push(Question::Blown(part));
                    Some(Observed::Dead(part))
                } else {
                    self.as_observed(part, method, reading, way)
                }
            }
            _ => self.as_observed(part, method, reading, way),
        };
        if !self.asleep {
            // What a battery shows at rest is read before anything is prepared.
            if (method, part) != (Method::Volts, PartId(0)) {
                self.questions.push(Question::NotAsleep);
            }
            return;
        }
        if self.away.is_some() && matches!(observed, Some(Observed::Current(..))) {
            self.questions.push(Question::NotThere(part));
            return;
        }
        let test = (method, feeds.id(part).to_owned());
        let minus = reading.high < 0.0 && observed.is_none();
        let no_answer = minus || over_volts || between;
        if minus {
            self.no_zero_there(method, part);
        }
        if !no_answer || !self.turned.insert(test.clone()) {
            self.taken.insert(test);
        } else if method != Method::Clamp || as_it_is {
            self.ask_again(method, part);
        }
        self.since_total += 1;
        // Until it was seen to stand still it is the next step by itself.
        let asked = self.steady || !self.may_draw();
        if asked && self.since_total.is_multiple_of(TOTAL_AGAIN) {
            self.questions.push(Question::TotalAgain);
        }
        let with_loop = method == Method::Clamp && !as_it_is;
        if !(with_loop || between || minus) {
            self.weigh_zero((method, part), observed, reading);
        }
        if let Some(what) = observed {
            if method == Method::Drop {
                self.drop_what_was_other_volts(part, reading);
            }
            self.post(method, Observation { entry, out, what });
            self.unprove_what_is_clear();
        }
    }

    /// What a reading says by itself.
    pub(super) fn shows(
        &self,
        entry: u32,
        method: Method,
        part: PartId,
        reading: Reading,
        way: Way,
    ) -> Shown {
        Shown {
            entry,
            method,
            part,
            out: self.out_set(),
            reading,
            current: self
                .current_of(method, part, reading, way)
                .and_then(around_zero),
            best: self.best(method, part, reading, way),
            asleep: self.asleep,
            taken: false,
        }
    }

    /// The current that a reading says best, and the standard uncertainty of that, in mA.
    fn best(&self, method: Method, part: PartId, reading: Reading, way: Way) -> Option<(f64, f64)> {
        let instruments = &self.setting.instruments;
        if method == Method::Drop {
            let across = measurement::resistance_at(&self.setting.feeds, part, self.temperature)?;
            let usual = measurement::uncertainty(&across, reading, instruments)?;
            return Some((usual.best.value(), usual.standard.value()));
        }
        let current = self.current_of(method, part, reading, way)?;
        let middle = f64::midpoint(current.low(), current.high());
        Some((middle, rectangular(current)))
    }

    /// The current that a reading says, where it says one.
    pub(super) fn current_of(
        &self,
        method: Method,
        part: PartId,
        reading: Reading,
        way: Way,
    ) -> Option<Interval<Milliamps>> {
        let instruments = &self.setting.instruments;
        match method {
            Method::Volts => None,
            Method::Drop => {
                let feeds = &self.setting.feeds;
                let across = measurement::resistance_at(feeds, part, self.temperature)?;
                measurement::current_by_drop(&across, reading, instruments)
            }
            Method::Draw => measurement::current_by(way, reading, instruments),
            _ => {
                let read = measurement::current_by(way, reading, instruments)?;
                let supply = self.setting.feeds.volts_at(part);
                Some(InLine::of(way, supply, instruments).without(read))
            }
        }
    }

    /// Whether a reading bounds currents now.
    pub(super) fn counts(&self, entry: u32) -> bool {
        let mut posted = self.ledger.observations().iter();
        posted.any(|observation| observation.entry == entry)
    }

    fn as_observed(
        &mut self,
        part: PartId,
        method: Method,
        reading: Reading,
        way: Way,
    ) -> Option<Observed> {
        let Some(current) = self.current_of(method, part, reading, way) else {
            self.questions.push(Question::NoCurrent(part));
            return None;
        };
        let around = around_zero(current);
        if reading.low < 0.0 {
            self.below_zero(method, part, around.is_some());
        }
        around.map(|current| Observed::Current(part, current))
    }

    fn carry(&mut self, method: Method, place: Option<PlaceId>) {
        let at = match method {
            Method::Clamp => &mut self.clamp_at,
            Method::Drop | Method::Volts => &mut self.meter_at,
            _ => return,
        };
        if *at != place {
            *at = place;
            self.spent += self.setting.carry_minutes();
        }
    }

    /// Enters a reading; one taken again at the same point in the same way takes the place of an
    /// earlier one that it contradicts, and of a zero that it says was none.
    pub(super) fn post(&mut self, method: Method, observation: Observation) {
        let feeds = &self.setting.feeds;
        // Nothing, and then more in the middle than that allowed: a probe was off its tab.
        let off_tab = |one: Interval<Milliamps>, two: Interval<Milliamps>| {
            let middle = f64::midpoint(two.low(), two.high());
            method == Method::Drop && one.low() <= 0.0 && middle > one.high()
        };
        let mut asked = None;
        let mut disagrees = |(way, old): &(Method, Observation)| match (old.what, observation.what)
        {
            (Observed::Current(a, one), Observed::Current(b, two)) => {
                let there = *way == method && a == b;
                let again = there && old.out == observation.out;
                // With more out no more flows: more than nothing was there before, too.
                let less_in = || observation.out.covers(feeds, &old.out);
                let none = (again || there && less_in()) && off_tab(one, two);
                let more = there && method != Method::Draw && less_in() && two.above(one);
                let otherwise = !none && (again && !one.touches(two) || more);
                if none {
                    asked = Some(Question::ZeroBefore(a, old.entry));
                } else if otherwise && method != Method::Draw {
                    asked = Some(Question::ReadOtherwise(a, old.entry, one, two));
                }
                none || otherwise
            }
            _ => false,
        };
        let before = self.readings.len();
        self.readings.retain(|reading| !disagrees(reading));
        let refuted = match &asked {
            Some(Question::ZeroBefore(part, _)) => Some(*part),
            _ => None,
        };
        self.questions.extend(asked);
        if let Some(part) = refuted {
            self.unprove_near(part);
        }
        if self.readings.len() < before {
            self.bound_anew();
        }
        self.weigh_again(method, &observation);
        self.ledger.post(observation.clone());
        self.readings.push((method, observation));
    }

    /// A drop that showed a current counts no longer where another voltage is shown there now: whatever the resistance
    /// may be, it is the same both times.
    fn drop_what_was_other_volts(&mut self, part: PartId, reading: Reading) {
        let (setting, out) = (self.setting, self.out_set());
        let volts = |reading| measurement::voltage(reading, &setting.instruments);
        let other = |shown: &&Shown| {
            let here = shown.method == Method::Drop && shown.part == part && shown.out == out;
            let apart = || Some(!volts(shown.reading)?.touches(volts(reading)?));
            let flows = shown.current.is_some_and(|current| current.low() > 0.0);
            here && flows && apart() == Some(true) && self.counts(shown.entry)
        };
        let Some((entry, then)) = self
            .shown
            .iter()
            .rev()
            .find(other)
            .and_then(|shown| Some((shown.entry, shown.current?)))
        else {
            return;
        };
        let now = self.current_of(Method::Drop, part, reading, Way::Series(Jack::V));
        let Some(now) = now.and_then(around_zero) else {
            return;
        };
        self.readings.retain(|(_, old)| old.entry != entry);
        self.bound_anew();
        self.questions
            .push(Question::ReadOtherwise(part, entry, then, now));
    }

    /// The leads were the wrong way round and more was shown than nothing: a nothing that was read there before counts
    /// no longer.
    fn no_zero_there(&mut self, method: Method, part: PartId) {
        self.zeros.remove(&part);
        self.sure_zeros.remove(&part);
        let nothing = |(way, old): &(Method, Observation)| {
            let here =
                matches!(old.what, Observed::Current(at, now) if at == part && now.low() <= 0.0);
            here && *way == method
        };
        let before = self.readings.len();
        self.readings.retain(|reading| !nothing(reading));
        if self.readings.len() < before {
            self.taken
                .remove(&(method, self.setting.feeds.id(part).to_owned()));
            self.firm.remove(&part);
            self.bound_anew();
        }
    }

    /// The bounds by the readings that count.
    pub(super) fn bound_anew(&mut self) {
        self.ledger = Ledger::new(&self.setting.feeds, self.ties());
        for (_, reading) in &self.readings {
            self.ledger.post(reading.clone());
        }
    }

    /// The bounds without the totals that were read with these out.
    pub(super) fn bound_without(&mut self, out: &Out) {
        self.readings
            .retain(|(method, reading)| *method != Method::Draw || reading.out != *out);
        self.bound_anew();
    }

    /// The draw is another one: earlier readings bound nothing any more.
    pub(super) fn new_spell(&mut self) {
        self.ledger = Ledger::new(&self.setting.feeds, self.ties());
        self.readings.clear();
        self.draws.clear();
        self.taken.clear();
        self.zeros.clear();
        self.sure_zeros.clear();
        self.firm.clear();
        self.inputs_cleared.clear();
        self.live.clear();
        self.pulls.clear();
        self.repeated.clear();
        self.away = None;
        self.steady = false;
    }
}

/// What a reading says that may be negative: one that could be zero is taken for the accuracy of the
/// instrument, with leads either way round; one that is below zero for certain says nothing until it
/// is taken again.
pub(super) fn around_zero(current: Interval<Milliamps>) -> Option<Interval<Milliamps>> {
    if current.low() >= 0.0 {
        return Some(current);
    }
    (current.high() >= 0.0).then(|| Interval::between(0.0, current.high().max(-current.low())))
}

/// How a current was taken.
pub(super) fn way(method: Method, options: &Options) -> Way {
    let clamp = match method {
        Method::Clamp => true,
        Method::Series => false,
        _ => options.by == Some(By::Clamp),
    };
    if clamp {
        Way::Clamp {
            turns: options.turns.unwrap_or(1),
        }
    } else {
        Way::Series(options.jack.unwrap_or(Jack::A))
    }
}
