//! Whether a draw itself says that the vehicle sleeps, where nobody said so.
//!
//! Whoever pulls a fuse with the meter in line reads the draw at once. What was woken by that takes more than it did
//! asleep. So where no more is left than the limit, or exactly what flowed asleep with as much in, it sleeps, and the
//! reading counts. What lies between may be a part of the drain, or something awake: that waits for the settle, but
//! where what was moved wakes hardly anything.

use super::facts::{Draw, Question};
use super::fold::Now;

/// What wakes the vehicle with more than this chance may have woken to just what had gone (judgement).
const WAKES: f64 = 0.5;

impl Now<'_> {
    /// Takes the vehicle to sleep where the draw says so and nothing since the last settled draw speaks against it.
    pub(super) fn sleeps_by(&mut self, draw: &Draw) {
        let moved_alone =
            !self.asleep && self.believed && !self.was_awake && !self.moved.is_empty();
        if !moved_alone || self.hasty || self.comes_by().is_some() {
            return;
        }
        let feeds = &self.setting.feeds;
        let as_much_in = |other: &Draw| draw.out.covers(feeds, &other.out);
        let before: Vec<&Draw> = self
            .draws
            .iter()
            .filter(|other| as_much_in(other))
            .collect();
        let more = |other: &&Draw| {
            let (now, other) = draw.against(other);
            now.above(other)
        };
        if before.is_empty() || before.iter().any(more) {
            return;
        }
        // A coarse jack may show a little more than there is.
        let middle = f64::midpoint(draw.current.low(), draw.current.high());
        let in_order = !draw.out.is_empty() && middle <= self.setting.healthy.limit();
        let same = |other: &&Draw| {
            let (now, before) = draw.against(other);
            now.touches(before)
        };
        let mut returned = before.iter().filter(|other| other.out == draw.out);
        let returned = returned.next_back().is_some_and(same);
        let calm = self.setting.chance_of_waking(&self.moved) <= WAKES;
        let last = before.last();
        let fell = |other: &&Draw| {
            let (now, other) = draw.against(other);
            other.above(now)
        };
        // What fell with a proven drain in is no plain fall.
        let proven_in = self.found.iter().any(|found| {
            let mut taken = found.taken.iter();
            found.returned && taken.any(|taken| !taken.is_out_in(feeds, &draw.out))
        });
        let plainly = last.is_some_and(fell) && !proven_in;
        // Where no network is entered nothing is known that would wake to just what had gone.
        let alone = feeds.networks().next().is_none();
        let calmly = (calm || alone) && last.is_some_and(same) || calm && plainly;
        if in_order || returned || calmly {
            (self.asleep, self.stirred) = (true, 0.0);
            self.questions.push(Question::SleepsByThis);
        }
    }
}
