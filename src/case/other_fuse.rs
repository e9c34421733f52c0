//! A reading of one fuse put down for another: what can be noticed of it.
//!
//! A reading is a number and a name. Where both together are possible nobody can tell that the number
//! belongs to another name, but for two signs: the sums of the tree do not hold (a clash, the ledger's
//! business), or what was read there does not fall when it comes out.

use super::facts::{Draw, Question};
use super::fold::Now;
use crate::interval::Interval;
use crate::quantity::Milliamps;

impl Now<'_> {
    /// Asks about the reading that says more flowed in what is out than fell with it.
    pub(super) fn did_not_fall(&mut self, draw: &Draw, before: Option<Interval<Milliamps>>) {
        let (base, feeds) = (self.base(), &self.setting.feeds);
        let Some(before) = before.filter(|_| draw.out != base) else {
            return;
        };
        let fell = before.high() - draw.current.low();
        let there = self.shown.iter().filter(|shown| {
            let out = draw.out.cuts(feeds, shown.part) && !base.cuts(feeds, shown.part);
            out && shown.out == base && self.counts(shown.entry)
        });
        let more = there.filter_map(|shown| {
            let current = shown.current?;
            (current.low() > fell.max(0.0)).then_some((shown.part, shown.entry, current))
        });
        let most = more.max_by(|a, b| a.2.low().total_cmp(&b.2.low()));
        self.questions.extend(most.map(|(part, entry, current)| {
            Question::DidNotFall(part, entry, current, fell.max(0.0))
        }));
    }
}
