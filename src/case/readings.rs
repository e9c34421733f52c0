//! What a reading does to a case: whether it is believed, what it bounds, what it makes one ask.

use super::facts::{Draw, Found, Question, Shown, Zero};
use super::fold::Now;
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::{By, Options};
use crate::ledger::{Ledger, Observation, Observed};
use crate::measurement::{self, Jack, Method, Reading, Unit, Way};
use crate::quantity::{Milliamps, Millivolts};

/// A voltage below which a point is dead (common practice, no source: a meter of 10 MΩ shows ghost
/// volts on a floating wire).
const DEAD_BELOW: f64 = 500.0;

/// A point is live from this share of the nominal voltage (judgement: a flat battery still shows 10 V).
const LIVE_FROM: f64 = 0.8;
/// A fuse with more than this share of the nominal voltage across it is blown (judgement).
pub(super) const BLOWN_FROM: f64 = 0.5;
/// A first draw of no more than this, in mA, is questioned on a vehicle with modules (design, section 6).
const HARDLY_ANYTHING: f64 = 10.0;
/// Above these, in mA, it is an awake vehicle (design, section 6).
const AWAKE_AT_12_VOLTS: f64 = 3_000.0;
const AWAKE_AT_24_VOLTS: f64 = 1_500.0;

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

    /// A total at the battery.
    pub(super) fn draw(&mut self, entry: u32, reading: Reading, options: &Options, way: Way) {
        let setting = self.setting;
        self.spent += setting.minutes(Method::Draw);
        let Some(current) = measurement::current_by(way, reading, &setting.instruments) else {
            self.questions.push(Question::NoCurrent(PartId(0)));
            return;
        };
        if !self.asleep {
            self.questions.push(Question::NotAsleep);
            return;
        }
        if self.believed && !options.sure && self.is_over_jack(reading, way) {
            return;
        }
        let around = around_zero(current);
        if reading.low < 0.0 {
            self.below_zero(Method::Draw, PartId(0), around.is_some());
        }
        let Some(current) = around else {
            return;
        };
        let draw = Draw {
            entry,
            out: self.out_set(),
            current,
            way,
        };
        if !self.believed && !options.sure && !self.credible(&draw, reading) {
            return;
        }
        if self.believed && !options.sure && self.as_good_as_nothing(&draw, reading) {
            return;
        }
        if self.believed && !options.sure && self.has_woken(&draw) {
            return;
        }
        self.believed = true;
        self.doubted = None;
        self.risen = None;
        self.ledger.visit(&draw.out);
        let known = self.ledger.current(&draw.out, PartId(0));
        let same = self.draw_with(&draw.out).map(|d| d.current);
        let returning = self.trial.is_some() && draw.out == self.base();
        let lower = same.filter(|before| self.fresh && before.above(current));
        if let Some(before) = lower.filter(|_| draw.out != self.base()) {
            // With something out it had not settled: this takes the place of what was read before.
            self.questions.push(Question::Changed(before, current));
            (self.hasty, self.still) = (true, false);
            self.draws.retain(|other| other.out != draw.out);
        } else if let Some(before) = same.filter(|before| !before.touches(current)) {
            let stayed = self.stayed_down(&draw, before);
            self.stayed += usize::from(stayed);
            if returning {
                // The proof itself says that it was only reset.
            } else if stayed {
                let fell = before.low() - current.high();
                self.questions
                    .push(Question::FellAndStayed(fell, self.stayed));
            } else {
                self.questions.push(Question::Changed(before, current));
                if before.above(current) && !self.broken {
                    self.was_hasty();
                }
            }
            self.new_spell();
        } else if !known.touches(current)
            && self.ledger.holds_together()
            && !(same.is_none() && self.zeros_give_way(&draw))
        {
            let entries = self.clash_with(&draw);
            self.questions.push(Question::NoLongerFits(entries));
            self.new_spell();
        } else if same.is_some() && self.fresh {
            self.still = true;
            self.steady |= self.since_total > 0;
        }
        self.draws.push(draw.clone());
        self.fresh = true;
        self.since_total = 0;
        self.broken = false;
        self.post(
            Method::Draw,
            Observation {
                entry,
                out: draw.out.clone(),
                what: Observed::Current(PartId(0), current),
            },
        );
        if draw.out.is_empty() && current.low() > setting.healthy.limit() {
            self.over = Some(draw.clone());
        }
        self.note_conditions(&draw);
        if self.draws.len() == 1 && self.repair().is_none() {
            self.against_the_days(current, &draw.out);
        }
        if self.repair().is_some() {
            self.judge_repair(&draw);
        } else {
            let before = self.total(&self.base());
            self.judge_trial(&draw);
            self.did_not_fall(&draw, before);
        }
    }

    /// Whether more flows than a vehicle that slept then and sleeps now can take: with more out than
    /// before, or once something went out and back. It is read again before it counts; the same again
    /// is believed.
    fn has_woken(&mut self, draw: &Draw) -> bool {
        let feeds = &self.setting.feeds;
        let less = |other: &Draw| {
            let mut parts = other.out.parts();
            parts.all(|part| draw.out.cuts(feeds, part)) && (other.out != draw.out || !self.fresh)
        };
        let mut before = self.draws.iter().rev().filter(|other| less(other));
        let Some(before) = before.find(|other| draw.current.above(other.current)) else {
            return false;
        };
        let twice = |risen: &Draw| risen.out == draw.out && risen.current.touches(draw.current);
        if self.risen.as_ref().is_some_and(twice) {
            return false;
        }
        let question = Question::Rose(before.current, draw.current);
        self.questions.push(question);
        self.risen = Some(draw.clone());
        self.asleep = false;
        self.stirred = 1.0;
        self.was_hasty();
        true
    }

    /// A smallest set of entries before this draw that cannot all be true with it.
    fn clash_with(&self, draw: &Draw) -> Vec<u32> {
        let mut ledger = self.ledger.clone();
        ledger.post(Observation {
            entry: draw.entry,
            out: draw.out.clone(),
            what: Observed::Current(PartId(0), draw.current),
        });
        let mut entries = ledger.clash();
        entries.retain(|entry| *entry != draw.entry);
        entries
    }

    /// Where a draw cannot be with readings of nothing that nobody has checked, these count no longer: a
    /// probe off its tab is likelier than another fault. They are asked for again. `false`, and nothing is
    /// changed, where the draw does not fit without them either.
    fn zeros_give_way(&mut self, draw: &Draw) -> bool {
        let mut without = self.clone();
        let mut doubted = Vec::new();
        loop {
            let clash = without.clash_with(draw);
            if clash.is_empty() {
                break;
            }
            let unchecked = |(method, old): &(Method, Observation)| match old.what {
                Observed::Current(part, current) => {
                    let zero = without.zeros.get(&part);
                    let nothing = current.low() <= 0.0 && clash.contains(&old.entry);
                    (nothing && zero.is_some_and(|zero| zero.method == *method))
                        .then_some((part, old.entry, *method))
                }
                Observed::Dead(_) => None,
            };
            let zeros: Vec<_> = without.readings.iter().filter_map(unchecked).collect();
            if zeros.is_empty() {
                return false;
            }
            for (part, entry, method) in zeros {
                without.zeros.remove(&part);
                let test = (method, without.setting.feeds.id(part).to_owned());
                without.taken.remove(&test);
                without.readings.retain(|(_, old)| old.entry != entry);
                doubted.push((part, entry));
            }
            without.bound_anew();
        }
        without.questions.push(Question::ZerosDoubted(doubted));
        *self = without;
        true
    }

    /// `asleep` was said too early: a fall says nothing until the draw stands still, and a proof that was
    /// taken before of what falls asleep by itself is none.
    fn was_hasty(&mut self) {
        self.still = false;
        if std::mem::replace(&mut self.hasty, true) {
            return;
        }
        let known = |found: &Found| {
            let mut draws = self.draws.iter();
            draws.any(|draw| draw.entry == found.draws[0])
        };
        let mut unproven = Vec::new();
        let mut found = std::mem::take(&mut self.found);
        for one in found.iter_mut().filter(|one| one.returned) {
            if known(one) && self.setting.may_time_out(&one.subject) {
                one.returned = false;
                unproven.push(one.subject.clone());
            }
        }
        self.found = found;
        if !unproven.is_empty() {
            self.questions.push(Question::NotSettledThen(unproven));
        }
    }

    /// Whether a draw with less out than the last one is as low as that: what fell did not come back with
    /// what was put back.
    fn stayed_down(&self, draw: &Draw, before: Interval<Milliamps>) -> bool {
        let last = self.draws.last();
        last.is_some_and(|last| {
            last.out != draw.out && last.current.touches(draw.current) && before.above(draw.current)
        })
    }

    /// A current below zero: leads the wrong way once, fed from elsewhere when it is so again; `nothing`
    /// where it is zero within the accuracy.
    fn below_zero(&mut self, method: Method, part: PartId, nothing: bool) {
        let asked = if nothing {
            Question::NearZero
        } else if self.negative.insert((method, part)) {
            Question::LeadsRound
        } else {
            Question::BackFed(part)
        };
        self.questions.push(asked);
    }

    /// Whether a first draw can be right; asks once where it cannot.
    fn credible(&mut self, draw: &Draw, reading: Reading) -> bool {
        let feeds = &self.setting.feeds;
        let current = draw.current;
        let modules = feeds.modules().next().is_some();
        let high = if feeds.volts() > Millivolts::of(18_000.0) {
            AWAKE_AT_24_VOLTS
        } else {
            AWAKE_AT_12_VOLTS
        };
        // A clamp read on the meter shows millivolts: then the current it means is all there is.
        let in_amps = reading.unit == Unit::Milliamps;
        let shown = if in_amps { reading.high } else { 0.0 };
        let question = if let Some(most) = self.jack_takes(draw.way).filter(|m| shown > m.value()) {
            Question::MoreThanJack(most)
        } else if shown > high || current.low() > high {
            Question::Awake(current)
        } else if modules && in_amps && shown <= HARDLY_ANYTHING {
            Question::HardlyAnything(current)
        } else {
            return true;
        };
        if self
            .doubted
            .as_ref()
            .is_some_and(|before| before.current.touches(current))
        {
            return true;
        }
        self.questions.push(question);
        self.doubted = Some(draw.clone());
        false
    }

    /// Whether a later draw that is hardly possible is to be read again before it counts: as good as
    /// nothing proves whatever is out, so it is read twice, once in a case.
    fn as_good_as_nothing(&mut self, draw: &Draw, reading: Reading) -> bool {
        let current = draw.current;
        if current.high() >= self.questioned || !self.hardly_possible(draw) {
            return false;
        }
        self.questions.push(Question::HardlyAnything(current));
        let doubted = self.doubted.as_ref();
        let again = doubted.is_some_and(|d| d.out == draw.out && d.current.touches(current));
        let nothing = reading.unit == Unit::Milliamps && reading.high <= HARDLY_ANYTHING;
        if nothing && !again {
            self.doubted = Some(draw.clone());
            return true;
        }
        self.questioned = current.low();
        false
    }

    /// Whether a later draw is less than half of what the parts that are in usually take: as if the
    /// bridge had been left on (judgement: a healthy vehicle may take less than its file says).
    fn hardly_possible(&self, draw: &Draw) -> bool {
        let feeds = &self.setting.feeds;
        let modules = feeds.modules().next().is_some();
        let left = feeds.parts().filter(|part| !draw.out.cuts(feeds, *part));
        let usual: f64 = left.map(|part| feeds.usual(part).0.value()).sum();
        modules && draw.current.high() < 0.5 * usual
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
        let as_it_is = method == Method::Clamp && !measurement::lets_in(feeds, part, method, way);
        if as_it_is && setting.thickness(part).is_some() && !setting.jaws_close(part) {
            self.questions.push(Question::JawsTooSmall(part));
        }
        let observed = match method {
            // Something is there, and nothing says how much.
            Method::Volts if reading.over => None,
            Method::Volts => {
                if part == PartId(0) {
                    self.volts_at_battery(&reading);
                }
                let battery = feeds.volts_at(part).value();
                if reading.high.abs() < DEAD_BELOW {
                    Some(Observed::Dead(part))
                } else {
                    if reading.low < LIVE_FROM * battery {
                        self.questions.push(Question::Between(part));
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
        let test = (method, feeds.id(part).to_owned());
        let minus = reading.high < 0.0 && observed.is_none();
        if !(minus || over_volts) || !self.turned.insert(test.clone()) {
            self.taken.insert(test);
        }
        self.since_total += 1;
        // Until it was seen to stand still it is the next step by itself.
        let asked = self.steady || !self.may_draw();
        if asked && self.since_total.is_multiple_of(TOTAL_AGAIN) {
            self.questions.push(Question::TotalAgain);
        }
        let with_loop = method == Method::Clamp && !as_it_is;
        if !with_loop {
            self.weigh_zero((method, part), observed, reading);
        }
        if let Some(what) = observed {
            self.post(method, Observation { entry, out, what });
        }
    }

    /// A drop that says no more than nothing is evidence once the part was shown to be live and the drop
    /// was read again: a probe off its tab shows the same. So is a clamp once it was read again with the
    /// jaws shut anew; where it takes a loop, that would break the supply for a check.
    fn weigh_zero(
        &mut self,
        (method, part): (Method, PartId),
        observed: Option<Observed>,
        reading: Reading,
    ) {
        let nothing = match observed {
            Some(Observed::Current(_, current)) => current.low() <= 0.0,
            _ => false,
        };
        match method {
            Method::Drop | Method::Clamp
                if nothing
                    && !self.zeros.contains_key(&part)
                    && !self.sure_zeros.contains(&part) =>
            {
                let live = false;
                self.zeros.insert(part, Zero { method, live });
            }
            Method::Drop | Method::Clamp => {
                self.zeros.remove(&part);
                if nothing {
                    self.sure_zeros.insert(part);
                } else {
                    self.sure_zeros.remove(&part);
                }
            }
            Method::Volts if reading.high.abs() < DEAD_BELOW => {
                self.zeros.remove(&part);
            }
            Method::Volts => {
                self.zeros.entry(part).and_modify(|zero| zero.live = true);
            }
            _ => {}
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
            current: self
                .current_of(method, part, reading, way)
                .and_then(around_zero),
            asleep: self.asleep,
            taken: false,
        }
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
            _ => measurement::current_by(way, reading, instruments),
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
    fn post(&mut self, method: Method, observation: Observation) {
        // Nothing, and then more in the middle than that allowed: a probe was off its tab.
        let off_tab = |one: Interval<Milliamps>, two: Interval<Milliamps>| {
            let middle = f64::midpoint(two.low(), two.high());
            method == Method::Drop && one.low() <= 0.0 && middle > one.high()
        };
        let mut zero = None;
        let mut disagrees = |(way, old): &(Method, Observation)| match (old.what, observation.what)
        {
            (Observed::Current(a, one), Observed::Current(b, two)) => {
                let again = *way == method && a == b && old.out == observation.out;
                let none = again && off_tab(one, two);
                if none {
                    zero = Some(Question::ZeroBefore(a, old.entry));
                }
                none || again && !one.touches(two)
            }
            _ => false,
        };
        let before = self.readings.len();
        self.readings.retain(|reading| !disagrees(reading));
        self.questions.extend(zero);
        if self.readings.len() < before {
            self.bound_anew();
        }
        self.ledger.post(observation.clone());
        self.readings.push((method, observation));
    }

    /// The bounds by the readings that count.
    fn bound_anew(&mut self) {
        self.ledger = Ledger::new(&self.setting.feeds, &self.setting.ties);
        for (_, reading) in &self.readings {
            self.ledger.post(reading.clone());
        }
    }

    /// The draw is another one: earlier readings bound nothing any more.
    pub(super) fn new_spell(&mut self) {
        self.ledger = Ledger::new(&self.setting.feeds, &self.setting.ties);
        self.readings.clear();
        self.draws.clear();
        self.taken.clear();
        self.zeros.clear();
        self.sure_zeros.clear();
        self.pulls.clear();
        self.steady = false;
    }
}

/// What a reading says that may be negative: one that could be zero is taken for the accuracy of the
/// instrument, with leads either way round; one that is below zero for certain says nothing until it
/// is taken again.
fn around_zero(current: Interval<Milliamps>) -> Option<Interval<Milliamps>> {
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
