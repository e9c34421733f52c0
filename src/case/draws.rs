//! What a total at the battery does to a case: whether it is believed, whether it begins a new spell, and
//! what it says of a proof or a repair.

use super::facts::{Done, Draw, Found, Question, TakenOut};
use super::fold::Now;
use super::inputs::all_out;
use super::readings::around_zero;
use super::slip::is_slip;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::Options;
use crate::ledger::{Observation, Observed, Out};
use crate::measurement::{self, InLine, Method, Reading, Unit, Way};
use crate::quantity::{Milliamps, Millivolts};
use std::collections::BTreeSet;

/// A first draw of no more than this, in mA, is questioned on a vehicle with modules (design, section 6).
const HARDLY_ANYTHING: f64 = 10.0;
/// This share of what fell, back again, is a return (judgement: a wet joint wanders by some per cent).
const BACK_AGAIN: f64 = 0.9;
/// A draw that goes this many times as high does not only wander (judgement).
pub(super) const TWICE: f64 = 2.0;
/// Above these, in mA, it is an awake vehicle (design, section 6).
const AWAKE_AT_12_VOLTS: f64 = 3_000.0;
const AWAKE_AT_24_VOLTS: f64 = 1_500.0;

/// The entry by which the preparation is said to be done.
const PREPARED: &str = "prepared";

/// That the draw is another one, with what was done since it was read.
fn changed(before: Interval<Milliamps>, now: Interval<Milliamps>, done: Vec<Done>) -> Question {
    if done.is_empty() {
        Question::Changed(before, now)
    } else {
        Question::ChangedAfter(before, now, done)
    }
}

impl Now<'_> {
    /// A total at the battery.
    pub(super) fn draw(&mut self, entry: u32, reading: Reading, options: &Options, way: Way) {
        let setting = self.setting;
        self.spent += setting.minutes(Method::Draw);
        let Some(current) = measurement::current_by(way, reading, &setting.instruments) else {
            self.questions.push(Question::NoCurrent(PartId(0)));
            return;
        };
        self.was_it_prepared();
        let around = around_zero(current);
        let in_line = InLine::of(way, setting.feeds.volts(), &setting.instruments);
        let draw = around.map(|current| Draw {
            entry,
            out: self.out_set(),
            current,
            flows: in_line.without(current),
            way,
        });
        if let Some(draw) = &draw {
            self.sleeps_by(draw);
        }
        if !self.asleep {
            // Current goes into the battery whether it sleeps or not.
            if around.is_none() {
                self.below_zero(Method::Draw, PartId(0), false);
            }
            self.questions.push(Question::NotAsleep);
            return;
        }
        if self.believed && !options.sure && self.is_over_jack(reading, way) {
            return;
        }
        if reading.low < 0.0 {
            self.below_zero(Method::Draw, PartId(0), around.is_some());
        }
        let Some(draw) = draw else {
            return;
        };
        if !self.believed && !options.sure && !self.credible(&draw, reading) {
            return;
        }
        if self.believed && !options.sure && self.as_good_as_nothing(&draw, reading) {
            return;
        }
        self.questions
            .extend(self.jumps(reading).filter(|_| !options.sure));
        if !options.sure && options.with.is_none() && self.is_bridged(&draw) {
            return;
        }
        let draw = self.wanders(draw);
        let announced = self.has_come(&draw);
        if self.believed && !options.sure && !announced && self.has_woken(&draw) {
            return;
        }
        if self.may_be_away(&draw) {
            self.is_away_now(draw);
            return;
        }
        if announced && draw.out != self.base() {
            self.as_it_is_there();
        }
        self.believe(&draw, announced);
    }

    /// What was typed as from one draw to another that is twice as high, or on the other side of the limit: asked
    /// about as long as nothing is known to come and go.
    fn jumps(&self, reading: Reading) -> Option<Question> {
        let limit = self.setting.healthy.limit();
        let (low, high) = (reading.low, reading.high);
        let apart = high >= TWICE * low || low <= limit && high > limit;
        let typed_so = high > low && !reading.over && reading.unit == Unit::Milliamps;
        let known = self.comes_by().is_some();
        (typed_so && apart && !known).then(|| Question::Jumps(Interval::between(low, high)))
    }

    /// A draw that is believed; `announced` where it was said before that it comes by so much.
    pub(super) fn believe(&mut self, draw: &Draw, announced: bool) {
        self.away = None;
        self.believed = true;
        let was_awake = std::mem::take(&mut self.was_awake);
        let mut done = std::mem::take(&mut self.since);
        let by_clamp = |before: &Draw| matches!(before.way, Way::Clamp { .. });
        if matches!(draw.way, Way::Series(_)) && self.draws.last().is_some_and(by_clamp) {
            done.push(Done::MeterInLine);
        }
        let prepared = done.contains(&Done::Entry(PREPARED.to_owned()));
        self.doubted = None;
        (self.risen, self.lower) = (None, None);
        self.ledger.visit(&draw.out);
        self.takes_a_slip_back(draw);
        let known = self.ledger.current(&draw.out, PartId(0));
        let both = self.draw_with(&draw.out).map(|other| draw.against(other));
        let (now, same) = both.map_or((draw.current, None), |(now, same)| (now, Some(same)));
        let returning = self.trial.is_some() && draw.out == self.base();
        let lower = same.filter(|before| self.fresh && before.above(now));
        if let Some(before) = lower.filter(|_| draw.out != self.base()) {
            // With something out it had not settled: this takes the place of what was read before.
            self.questions.push(changed(before, now, done));
            (self.hasty, self.still) = (true, false);
            self.draws.retain(|other| other.out != draw.out);
            // Nor did something come out in vain by what was read too early.
            let known: BTreeSet<u32> = self.draws.iter().map(|other| other.entry).collect();
            self.pulls
                .retain(|pulled| known.contains(&pulled.draws[1]) || !pulled.vain);
        } else if let Some(before) = same.filter(|before| !before.touches(now)) {
            let stayed = self.stayed_down(draw, before);
            self.stayed += usize::from(stayed);
            if returning {
                // The proof itself says that it was only reset.
            } else if stayed {
                let fell = before.low() - now.high();
                self.questions
                    .push(Question::FellAndStayed(fell, self.stayed));
            } else if was_awake && before.above(now) {
                // It was said so: nobody was in a hurry.
                self.questions.push(Question::FellAsleep(before, now));
            } else if announced {
                self.keep_quiet();
                self.questions.push(Question::Came(before, now));
            } else {
                self.unprove_what_is_out(draw);
                if done.is_empty() && !self.broken && draw.out == self.base() {
                    self.moved_by_itself(before, now);
                }
                self.questions.push(changed(before, now, done));
                if before.above(now) && !self.broken && !prepared {
                    self.was_hasty();
                }
                if before.above(now) && prepared {
                    self.was_awake_unprepared();
                }
            }
            self.new_spell();
        } else if !known.touches(draw.flows)
            && self.ledger.holds_together()
            && !(same.is_none() && self.zeros_give_way(draw))
        {
            let entries = self.clash_with(draw);
            self.unprove_what_clashes(&entries);
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
        self.post_draw(draw);
        self.means(draw);
    }

    /// What a draw says of the bounds.
    pub(super) fn post_draw(&mut self, draw: &Draw) {
        let observation = Observation {
            entry: draw.entry,
            out: draw.out.clone(),
            what: Observed::Current(PartId(0), draw.flows),
        };
        self.post(Method::Draw, observation);
    }

    /// A draw that came back but for a little, with what was out back in, is the same one, as wide as both: what
    /// leaks through water, or warms up, wanders.
    fn wanders(&mut self, draw: Draw) -> Draw {
        let last = self.draws.last().filter(|last| last.out != draw.out);
        let before = self.draw_with(&draw.out);
        let (Some(without), Some(before)) = (last, before) else {
            return draw;
        };
        let (now, then) = draw.against(before);
        let back = draw.way == before.way
            && !now.touches(then)
            && nearly_back(draw.current, before.current, without.current);
        if !back || draw.out != self.base() {
            return draw;
        }
        let wide = Draw {
            current: draw.current.hull(before.current),
            flows: draw.flows.hull(before.flows),
            ..draw
        };
        self.draws.retain(|other| other.out != wide.out);
        self.bound_without(&wide.out);
        wide
    }

    /// What a draw that is believed says of the limit, of a proof or of a repair.
    fn means(&mut self, draw: &Draw) {
        if draw.out.is_empty() && draw.current.low() > self.setting.healthy.limit() {
            self.over = Some(draw.clone());
        }
        self.note_conditions(draw);
        if self.draws.len() == 1 && self.repair().is_none() {
            self.against_the_file(draw.current, &draw.out);
        }
        if self.repair().is_some() {
            self.judge_repair(draw);
        } else {
            let before = self.total(&self.base());
            self.judge_trial(draw);
            self.did_not_fall(draw, before);
        }
    }

    /// The draw in mA above which a vehicle is awake.
    pub(super) fn awake_from(&self) -> f64 {
        if self.setting.feeds.volts() > Millivolts::of(18_000.0) {
            AWAKE_AT_24_VOLTS
        } else {
            AWAKE_AT_12_VOLTS
        }
    }

    /// Whether a first draw can be right; asks once where it cannot.
    fn credible(&mut self, draw: &Draw, reading: Reading) -> bool {
        let feeds = &self.setting.feeds;
        let current = draw.current;
        let modules = feeds.modules().next().is_some();
        let high = self.awake_from();
        // A clamp read on the meter shows millivolts: then the current it means is all there is.
        let in_amps = reading.unit == Unit::Milliamps;
        let shown = if in_amps { reading.high } else { 0.0 };
        let question = if let Some(most) = self.jack_takes(draw.way).filter(|m| shown > m.value()) {
            Question::MoreThanJack(most)
        } else if shown > high || current.low() > high {
            Question::Awake(current)
        } else if modules && in_amps && shown <= HARDLY_ANYTHING {
            Question::HardlyAnything(current, self.typed_for_amps(reading, true))
        } else {
            return true;
        };
        // A meter whose fuse is blown shows nothing however often it is asked.
        let nothing = modules && reading.high == 0.0;
        let as_doubted = |before: &Draw| before.out == draw.out && before.current.touches(current);
        let again = !nothing && self.doubted.as_ref().is_some_and(as_doubted);
        // It was believed before a repair that changed nothing.
        if again || self.is_as_before_mending(draw) {
            return true;
        }
        // Where no module is to fall asleep, a heater or lamps may take that much.
        let believed = !modules && matches!(question, Question::Awake(_));
        self.questions.push(question);
        if !believed {
            self.doubted = Some(draw.clone());
        }
        believed
    }

    /// What was typed in mA where A may have been meant: as many amps could flow, and it is the first draw or has
    /// more digits than any display at hand shows in mA.
    fn typed_for_amps(&self, reading: Reading, first: bool) -> Option<(Milliamps, usize)> {
        let shown = f64::midpoint(reading.low, reading.high);
        let in_milliamps = reading.unit == Unit::Milliamps && shown > 0.0;
        let flows = shown * 1000.0 <= self.awake_from();
        let at_hand = &self.setting.instruments;
        let meter = at_hand.meter.and_then(|meter| meter.milliamps);
        let clamp = at_hand.clamp.map(|clamp| clamp.range);
        let finest = meter.into_iter().chain(clamp);
        let finest = finest
            .map(|range| range.step.value())
            .fold(f64::INFINITY, f64::min);
        let finer = reading.step < finest * (1.0 - 1e-9);
        // The last digit says how finely it was read, a nought too.
        let decimals = (-reading.step.log10()).round().clamp(0.0, 6.0) as usize;
        (in_milliamps && flows && (first || finer)).then(|| (Milliamps::of(shown), decimals))
    }

    /// Whether a later draw that is hardly possible is to be read again before it counts: as good as
    /// nothing proves whatever is out, so it is read twice, once in a case.
    fn as_good_as_nothing(&mut self, draw: &Draw, reading: Reading) -> bool {
        let current = draw.current;
        if current.high() >= self.questioned || !self.hardly_possible(draw, reading) {
            return false;
        }
        let amps = self.typed_for_amps(reading, false);
        self.questions.push(Question::HardlyAnything(current, amps));
        let doubted = self.doubted.as_ref();
        let again = doubted.is_some_and(|d| d.out == draw.out && d.current.touches(current));
        let nothing = reading.unit == Unit::Milliamps && reading.high <= HARDLY_ANYTHING;
        // Where what was read further down has to flow, saying it twice makes it no truer.
        let in_line = matches!(draw.way, Way::Series(_));
        let flows = self.ledger.current(&draw.out, PartId(0));
        let cannot_be = in_line && flows.low() > current.high();
        if nothing && (!again || cannot_be) {
            self.doubted = Some(draw.clone());
            return true;
        }
        self.questioned = current.low();
        self.nothing_twice = (again && in_line).then_some(draw.entry);
        false
    }

    /// Whether a later draw is less than half of what the parts that are in usually take, or a meter in line
    /// shows nothing where that is more than a step of its display: as if the bridge had been left on
    /// (judgement: a healthy vehicle may take less than its file says).
    fn hardly_possible(&self, draw: &Draw, reading: Reading) -> bool {
        let feeds = &self.setting.feeds;
        let modules = feeds.modules().next().is_some();
        let left = feeds.parts().filter(|part| !draw.out.cuts(feeds, *part));
        let usual: f64 = left.map(|part| feeds.usual(part).0.value()).sum();
        let in_line = matches!(draw.way, Way::Series(_));
        let nothing = in_line && reading.low == 0.0 && reading.high == 0.0;
        modules && (draw.current.high() < 0.5 * usual || nothing && usual > reading.step)
    }

    /// Whether more flows than a vehicle that slept then and sleeps now can take: with more out than
    /// before, or once something went out and back. It is read again before it counts; the same again
    /// is believed.
    fn has_woken(&mut self, draw: &Draw) -> bool {
        let feeds = &self.setting.feeds;
        // Read twice with nothing done meanwhile: what was said to be out is in, or the first was a slip.
        let slipped = self.draw_with(&draw.out);
        let slipped = slipped.is_some_and(|before| is_slip(before.current, draw.current));
        let still_in = self.still_in(draw);
        let is_in = still_in.is_some() && !slipped;
        let less = |other: &Draw| {
            draw.out.covers(feeds, &other.out) && (other.out != draw.out || !self.fresh || is_in)
        };
        let mut before = self.draws.iter().rev().filter(|other| less(other));
        let Some(before) = before.find(|other| {
            let (now, other) = draw.against(other);
            now.above(other)
        }) else {
            return false;
        };
        let twice = |risen: &Draw| risen.out == draw.out && risen.current.touches(draw.current);
        if self.risen.as_ref().is_some_and(twice) {
            return false;
        }
        let question = Question::Rose(before.current, draw.current);
        self.questions.push(question);
        self.questions.extend(still_in);
        self.risen = Some(draw.clone());
        if !(is_in && self.fresh) {
            self.asleep = false;
            self.has_stirred();
            self.was_hasty();
        }
        true
    }

    /// What was said to be out and, by the draw, is back in: it is what flowed with that in.
    fn still_in(&self, draw: &Draw) -> Option<Question> {
        let feeds = &self.setting.feeds;
        let as_with = |out: &Out| {
            let known = self.draw_with(out);
            known.is_some_and(|known| {
                let (now, known) = draw.against(known);
                now.touches(known)
            })
        };
        let in_again = |taken: &&TakenOut| {
            let others = self.out.iter().filter(|other| other != taken);
            as_with(&all_out(feeds, others))
        };
        let one = self.out.iter().rev().find(in_again);
        // All that is out beside proven drains.
        let base = self.base();
        let beside = self.out_beside(&base);
        let beside = (beside.len() > 1 && as_with(&base)).then_some(beside);
        // With all of it in: what is proven to have taken it.
        let proven = self.out.iter().filter(|t| t.is_out_in(feeds, &base));
        let all = || as_with(&Out::default()).then(|| proven.collect());
        let taken: Vec<&TakenOut> = one.map(|one| vec![one]).or(beside).or_else(all)?;
        let names: Vec<String> = taken.iter().map(|taken| taken.name.clone()).collect();
        (!names.is_empty()).then_some(Question::StillIn(names))
    }

    /// Whether a draw with less out than the last one is as low as that: what fell did not come back with
    /// what was put back.
    fn stayed_down(&self, draw: &Draw, before: Interval<Milliamps>) -> bool {
        let last = self.draws.last();
        last.is_some_and(|last| {
            let (now, last_read) = draw.against(last);
            last.out != draw.out && last_read.touches(now) && before.above(now)
        })
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

    /// A smallest set of entries before this draw that cannot all be true with it.
    pub(super) fn clash_with(&self, draw: &Draw) -> Vec<u32> {
        let mut ledger = self.ledger.clone();
        ledger.post(Observation {
            entry: draw.entry,
            out: draw.out.clone(),
            what: Observed::Current(PartId(0), draw.flows),
        });
        let mut entries = ledger.clash();
        entries.retain(|entry| *entry != draw.entry);
        entries
    }
}

/// Whether nearly all that fell has come back.
pub(super) fn nearly_back(
    now: Interval<Milliamps>,
    before: Interval<Milliamps>,
    without: Interval<Milliamps>,
) -> bool {
    let fell = before.minus(without);
    let back = now.minus(without).low();
    fell.low() > 0.0 && back >= BACK_AGAIN * fell.low() && back * BACK_AGAIN <= fell.high()
}
