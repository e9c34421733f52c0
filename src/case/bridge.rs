//! A bridge lead that was left on while the meter is in line: it takes most of the draw, and the meter shows the rest.

use super::asked::TestPlan;
use super::draws::TWICE;
use super::facts::{Draw, Question};
use super::fold::Now;
use super::next::{Next, Reason, State};
use crate::interval::Interval;
use crate::measurement::Way;
use crate::quantity::Milliamps;

impl Now<'_> {
    /// Whether a draw in line is less than half of what it was by the same jack, with nothing done since: a bridge that was
    /// left on takes most of it, so it is read once more before it counts; the same again is believed.
    pub(super) fn is_bridged(&mut self, draw: &Draw) -> bool {
        let twice = |lower: &Draw| lower.out == draw.out && lower.current.touches(draw.current);
        if self.lower.as_ref().is_some_and(twice) {
            return false;
        }
        self.is_back(draw);
        let alone = self.since.is_empty() && !self.was_awake && self.trial.is_none();
        let known = self.comes_by().is_some();
        let same = |before: &&Draw| before.out == draw.out && before.way == draw.way;
        let before = self.draws.last().filter(same).map(|before| before.current);
        let half = |before: &Interval<Milliamps>| TWICE * draw.current.high() < before.low();
        let in_line = matches!(draw.way, Way::Series(_)) && draw.out == self.base();
        let in_line = in_line && self.believed && !self.broken;
        let Some(before) = before.filter(half).filter(|_| alone && in_line && !known) else {
            return false;
        };
        self.questions
            .push(Question::BridgeOn(before, draw.current));
        self.lower = Some(draw.clone());
        true
    }

    /// Far less was shown in between, and the draw is what it was: the bridge was on, or it went and came by itself.
    fn is_back(&mut self, draw: &Draw) {
        let before = self.draws.last().map(|before| before.current);
        let before = before.filter(|before| before.touches(draw.current));
        if let Some((before, lower)) = before.zip(self.lower.take()) {
            self.moved_by_itself(before, lower.current);
            self.moved_by_itself(lower.current, draw.current);
            self.questions
                .push(Question::WasItBridged(lower.entry, lower.current));
        }
    }

    /// The draw once more by the same jack, where it is far less than it was and nothing was done: never on a smaller one,
    /// which would take all of it if the bridge was on.
    pub(super) fn bridge_off_first(&self) -> Option<Next> {
        let lower = self.lower.as_ref().filter(|_| self.may_draw())?;
        Some(self.asleep_first(|| {
            let again = self.total_first(State::Measure);
            Next {
                reason: Reason::BridgeOff,
                test: again.test.map(|test| TestPlan {
                    way: Some(lower.way),
                    ..test
                }),
                ..again
            }
        }))
    }
}
