//! Which draw at the battery is read next, and how finely: once more, a while later, or on a smaller jack.

use super::Setting;
use super::asked::TestPlan;
use super::facts::Draw;
use super::fold::Now;
use super::next::{Next, Reason, State};
use crate::interval::Interval;
use crate::journal::Point;
use crate::ledger::Out;
use crate::measurement::{Jack, Method, Way};
use crate::quantity::Milliamps;

/// A draw is taken more finely when its half-width is more than this share of what is sought.
const TOO_COARSE: f64 = 0.2;

/// So many times the limit is over it, however coarse the clamp (judgement).
const PLAINLY_OVER: f64 = 3.0;

/// A fall is plain when the half of what it may be is no more than this share of what it is at least (judgement).
const PLAIN_FALL: f64 = 0.4;

/// The share of the settle after which a draw that fell by itself is read again (judgement).
const STANDS_STILL: f64 = 0.25;

impl Setting {
    /// Minutes until a draw that fell by itself is read again.
    pub(crate) fn stands_still(&self) -> f64 {
        STANDS_STILL * self.feeds.settle().value()
    }
}

impl Now<'_> {
    /// Whether the draw can be read.
    pub(super) fn may_draw(&self) -> bool {
        !self.is_skipped(Method::Draw, &self.name(&Point::Battery))
    }

    /// The draw once more in the state at hand, to see whether it is still what it was.
    pub(super) fn total_first(&self, state: State) -> Next {
        let mut next = self.bare(state, Reason::TotalFirst);
        next.test = self.draw_test(self.total(&self.out_set()), true);
        next
    }

    /// Once it was seen that `asleep` was said too early: the draw once more, a while later, with
    /// nothing beside proven drains out or in the middle of a proof.
    pub(super) fn stands_still(&self, out: &Out, base: &Out) -> Option<Next> {
        let asked = out == base || self.trial.is_some();
        let moves = self.hasty && self.fresh && !self.still && asked && self.may_draw();
        moves.then(|| self.asleep_first(|| self.draw_later()))
    }

    /// The draw once more where it is, but for a power of ten, what it was: a decimal point proves nothing.
    pub(super) fn not_a_slip(&self) -> Option<Next> {
        let reason = self.may_have_slipped().filter(|_| self.may_draw())?;
        let by = self.draw_with(&self.out_set())?.way;
        Some(self.asleep_first(|| {
            let again = self.total_first(State::Confirm);
            // The same instrument, which is in place.
            let test = again.test.map(|test| TestPlan {
                way: Some(by),
                ..test
            });
            Next {
                test,
                reason,
                ..again
            }
        }))
    }

    /// The draw a while after it fell by itself.
    fn draw_later(&self) -> Next {
        let mut next = self.bare(State::Measure, Reason::StillFalling);
        let known = self.total(&self.out_set());
        next.test = self.draw_test(known, true).map(|test| TestPlan {
            minutes: test.minutes + self.setting.stands_still(),
            ..test
        });
        next
    }

    /// The draw with what is out now: a proof's where it is one.
    pub(super) fn draw_without(&self, base: &Out) -> Next {
        let doubted = self
            .doubted
            .as_ref()
            .is_some_and(|d| d.out == self.out_set());
        let reason = if doubted {
            Reason::Doubted
        } else {
            Reason::DrawWithout
        };
        let mut next = self.bare(State::Measure, reason);
        // With less in, no more flows than before, so the range of the last draw will do.
        let known = self.total(base).map(|t| Interval::between(0.0, t.high()));
        let small = self
            .draws
            .last()
            .is_some_and(|draw| matches!(draw.way, Way::Series(Jack::MilliA)));
        next.test = self.draw_test(known, small);
        if !self.out_beside(base).is_empty()
            && let Some((_, subject)) = self.proven_now()
        {
            next.state = State::Confirm;
            next.located = vec![self.located(&subject, &self.judged_base())];
        }
        next
    }

    /// A finer draw where the last one straddles the limit or is too coarse, and the instrument allows.
    pub(super) fn finer(&self, out: &Out, base: &Out) -> Option<Next> {
        if let Some(next) = self.bridge_off_first() {
            return Some(next);
        }
        let draw: &Draw = self.draw_with(out).filter(|draw| !self.is_of_a_log(draw))?;
        let total = self.total(out)?;
        let limit = self.setting.healthy.limit();
        // Where nobody is to be proven by it, it is the fall that tells, and not what is left.
        let plain = self.fell_plainly(out, base, total);
        if plain && self.trial.is_none() {
            return None;
        }
        let straddles = total.low() <= limit && limit < total.high();
        let sought = (total.low() - limit)
            .max(self.setting.healthy.enough_alone() / 2.0)
            .max(5.0);
        let in_order = out == base && total.high() <= limit;
        let last = total.low() <= limit;
        let coarse = total.width() / 2.0 > TOO_COARSE * sought && !in_order && (last || !plain);
        // A meter let in line for more than a verdict breaks the supply of a vehicle that a clamp left alone.
        let by_clamp = matches!(draw.way, Way::Clamp { .. });
        let known = plain && !straddles || total.low() >= PLAINLY_OVER * limit;
        let fine = matches!(draw.way, Way::Series(Jack::MilliA)) || by_clamp && known;
        if !(straddles || coarse) || fine {
            return None;
        }
        let way = self.way_of_draw(Some(total), true)?;
        if way == draw.way
            || self
                .skipped
                .contains(&(Method::Draw, self.name(&Point::Battery)))
        {
            return None;
        }
        // Whoever went on without it goes on with what there is.
        let passed = out == base
            && !straddles
            && (self.since_total > 0 || self.pulls_here().next().is_some());
        if passed {
            return None;
        }
        let first =
            base.is_empty() && out.is_empty() && self.found.is_empty() && self.pulls.is_empty();
        Some(self.asleep_first(|| {
            let state = if first {
                State::Baseline
            } else {
                State::Measure
            };
            let reason = if plain {
                Reason::WhatIsLeft
            } else {
                Reason::Finer
            };
            let mut next = self.bare(state, reason);
            next.test = self.draw_test(Some(total), true);
            next
        }))
    }

    /// Whether what fell with this out is known well enough as it is: then only that it fell is asked. The last
    /// remainder is read finely while the drain is out, once.
    fn fell_plainly(&self, out: &Out, base: &Out, left: Interval<Milliamps>) -> bool {
        let Some(before) = self.total(base).filter(|_| out != base) else {
            return false;
        };
        let fell = before.minus(left);
        fell.low() >= self.setting.healthy.enough_alone()
            && fell.width() / 2.0 <= PLAIN_FALL * fell.low()
    }
}
