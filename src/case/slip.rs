//! A reading that is wrong by a power of ten: the unit, the range of the meter, or the decimal point.
//!
//! **Model.** What was meant is what was typed times or divided by ten, a hundred or a thousand. A single
//! reading never shows it; it shows where readings cannot all be true and one of them, taken so many times
//! larger or smaller, would let all of them be. A draw with something out that is, but for such a factor,
//! the draw with it in is read once more before it proves anything; so is one that may be nothing.

use super::facts::{Draw, Question};
use super::fold::Now;
use super::next::Reason;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::ledger::{Ledger, Observation, Observed};
use crate::measurement::Method;
use crate::quantity::Milliamps;

/// What a slip multiplies a reading by, the commonest first (judgement).
const FACTORS: [f64; 6] = [10.0, 0.1, 1000.0, 0.001, 100.0, 0.01];

/// Two readings of one current are no further apart than that (judgement: it wanders, and is rounded).
const SAME_DIGITS: f64 = 1.1;

/// No more slips are named at once.
const NAMED_AT_MOST: usize = 2;

/// A reading that would go together with the others but for a power of ten.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slip {
    /// Its entry.
    pub entry: u32,
    /// How it was read.
    pub method: Method,
    /// Where.
    pub part: PartId,
    /// What it is to be taken times.
    pub times: f64,
    /// The current it would say then.
    pub meant: Interval<Milliamps>,
}

impl Now<'_> {
    /// Where readings cannot all be true: which of them would be, but for a power of ten; the latest first.
    /// Costs a few ledgers anew for each reading that clashes.
    pub(super) fn slips(&self) -> Vec<Slip> {
        let clash = self.ledger.clash();
        let mut slips = Vec::new();
        for (at, (method, reading)) in self.readings.iter().enumerate().rev() {
            let Observed::Current(part, current) = reading.what else {
                continue;
            };
            if !clash.contains(&reading.entry) || self.shows_nothing(reading.entry) {
                continue;
            }
            let fits = |times: &&f64| {
                let meant = current.times(**times);
                self.could_flow(part, meant) && self.goes_together(at, part, meant)
            };
            slips.extend(FACTORS.iter().find(fits).map(|times| Slip {
                entry: reading.entry,
                method: *method,
                part,
                times: *times,
                meant: current.times(*times),
            }));
        }
        slips.truncate(NAMED_AT_MOST);
        slips
    }

    /// Whether a display showed nothing at all: ten times that is nothing too.
    fn shows_nothing(&self, entry: u32) -> bool {
        let mut shown = self.shown.iter().rev();
        let best = shown.find(|s| s.entry == entry).and_then(|s| s.best);
        best.is_some_and(|(best, _)| best.abs() < f64::EPSILON)
    }

    /// The same as a question, where there is any.
    pub(super) fn slipped(&self) -> Option<Question> {
        if self.ledger.holds_together() {
            return None;
        }
        let slips = self.slips();
        (!slips.is_empty()).then_some(Question::Slipped(slips))
    }

    /// Whether a current may flow in a part: no more than its fuse carries, or than a vehicle that sleeps.
    fn could_flow(&self, part: PartId, current: Interval<Milliamps>) -> bool {
        let rating = self.setting.feeds.part(part).rating.as_ref();
        let most = rating.map_or(f64::INFINITY, |rating| rating.value.value());
        current.low() <= most.min(self.awake_from())
    }

    /// Whether all readings can be true with this one, by its place among them, saying another current.
    fn goes_together(&self, at: usize, part: PartId, current: Interval<Milliamps>) -> bool {
        let mut ledger = Ledger::new(&self.setting.feeds, self.ties());
        for (index, (_, reading)) in self.readings.iter().enumerate() {
            let mut reading: Observation = reading.clone();
            if index == at {
                reading.what = Observed::Current(part, current);
            }
            ledger.post(reading);
            if !ledger.holds_together() {
                return false;
            }
        }
        true
    }

    /// Where the draw with something out, but for a power of ten, is that with it in, or may be nothing, and was
    /// not read twice: why it is read once more before it proves anything.
    pub(super) fn may_have_slipped(&self) -> Option<Reason> {
        if self.still || !self.fresh {
            return None;
        }
        let with = self.total(&self.base())?;
        let without = self.total(&self.out_set())?;
        if without.low() <= 0.0 {
            return Some(Reason::HardlyLeft);
        }
        is_slip(with, without).then_some(Reason::OnceMore)
    }

    /// Whether a draw, read again with the same out and nothing done meanwhile, is another one by a power of
    /// ten: the earlier one was a slip, and what followed from it is taken back.
    pub(super) fn takes_a_slip_back(&mut self, draw: &Draw) {
        let before = self.draw_with(&draw.out).map(|before| before.current);
        let slip = |before: &Interval<Milliamps>| {
            let slips = before.low() <= 0.0 || is_slip(*before, draw.current);
            !before.touches(draw.current) && slips
        };
        let base = self.base();
        let counts = self.fresh && draw.out != base;
        let Some(before) = before.filter(slip).filter(|_| counts) else {
            return;
        };
        let beside = self.out_beside(&base);
        let parts: Vec<PartId> = beside.iter().flat_map(|t| t.parts.clone()).collect();
        self.pulls
            .retain(|pulled| pulled.base != base || pulled.parts != parts);
        self.trial = None;
        self.draws.retain(|other| other.out != draw.out);
        self.questions
            .push(Question::ReadWrong(before, draw.current));
        self.bound_without(&draw.out);
    }
}

/// Whether two currents are the same but for a power of ten.
pub(super) fn is_slip(one: Interval<Milliamps>, two: Interval<Milliamps>) -> bool {
    // One that may be nothing is like all others.
    let says = one.low() > 0.0 && two.low() > 0.0;
    let middle = |current: Interval<Milliamps>| f64::midpoint(current.low(), current.high());
    let digits = |times: &f64| {
        let ratio = middle(two) * times / middle(one);
        (1.0 / SAME_DIGITS..SAME_DIGITS).contains(&ratio)
    };
    says && FACTORS
        .iter()
        .any(|times| two.times(*times).touches(one) && digits(times))
}
