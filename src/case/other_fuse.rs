//! A reading of one fuse put down for another: what can be noticed of it.
//!
//! A reading is a number and a name. Where both together are possible nobody can tell that the number
//! belongs to another name, but for two signs: the sums of the tree do not hold (a clash, the ledger's
//! business), or what was read there, or seen to be lit or warm, does not fall when it comes out. Then the
//! draw is read once more while it is out, which takes no settle, and what was read there once more when it
//! is back in, before anything else rests on it.

use super::facts::{Draw, Pulled, Question, Shown};
use super::fold::Now;
use super::next::{Next, Reason, State};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::Seen;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::quantity::Milliamps;

impl Now<'_> {
    /// Asks about the reading that says more flowed in what is out than fell with it.
    pub(super) fn did_not_fall(&mut self, draw: &Draw, before: Option<Interval<Milliamps>>) {
        let Some(before) = before.filter(|_| draw.out != self.base()) else {
            return;
        };
        let fell = (before.high() - draw.current.low()).max(0.0);
        let most = self.carried_more(&draw.out, fell);
        let most = most.map(|(shown, current)| (shown.part, shown.entry, current));
        self.questions.extend(
            most.map(|(part, entry, current)| Question::DidNotFall(part, entry, current, fell)),
        );
    }

    /// The reading that says the most flowed in something that is out, and more than fell with it.
    fn carried_more(&self, out: &Out, fell: f64) -> Option<(&Shown, Interval<Milliamps>)> {
        let (base, feeds) = (self.base(), &self.setting.feeds);
        let there = self.shown.iter().filter(|shown| {
            let cut = out.cuts(feeds, shown.part) && !base.cuts(feeds, shown.part);
            cut && shown.out == base && self.counts(shown.entry)
        });
        let more = there.filter_map(|shown| Some((shown, shown.current?)));
        more.filter(|(_, current)| current.low() > fell)
            .max_by(|a, b| a.1.low().total_cmp(&b.1.low()))
    }

    /// The draw once more, as it is, where what was read or seen at what is out says that it had to fall.
    pub(super) fn should_have_fallen(&self, out: &Out) -> Option<Next> {
        if self.still || !self.fresh || !self.may_draw() {
            return None;
        }
        let pulled = self.pulls_here().last().filter(|pulled| {
            pulled.vain && self.draw_with(out).map(|draw| draw.entry) == Some(pulled.draws[1])
        })?;
        let seen = || {
            let mut looks = self.looks.iter().filter(|(_, seen)| *seen == Seen::Yes);
            let part = looks.find(|(part, _)| self.setting.takes_out(&pulled.parts, *part));
            part.map(|(part, _)| *part)
        };
        let carried = self.carried_more(&self.out_with(pulled), pulled.most_fell.max(0.0));
        let part = carried.map(|(shown, _)| shown.part).or_else(seen)?;
        Some(self.asleep_first(|| Next {
            reason: Reason::ShouldHaveFallen(part),
            ..self.total_first(State::Measure)
        }))
    }

    /// What says that more flowed in something than fell without it, once that is back in: it is read again,
    /// before anything else rests on it.
    pub(super) fn carries_elsewhere(&self, out: &Out) -> Option<Next> {
        if *out != self.base() {
            return None;
        }
        let once = self.read_once();
        let more = self.pulls_here().filter(|pulled| pulled.vain);
        let mut more = more.filter_map(|pulled| {
            let (shown, _) =
                self.carried_more(&self.out_with(pulled), pulled.most_fell.max(0.0))?;
            let check = (shown.method, shown.part);
            once.contains(&check).then_some(check)
        });
        let check = more.next()?;
        Some(self.again_because(check, Reason::CarriesElsewhere(check.1)))
    }

    /// What says that less flowed in a part than was read below it since, with more out and no more drawn: it is
    /// read again, before anything else rests on it.
    pub(super) fn less_above(&self, judged: &Judgement<'_>) -> Option<Next> {
        let (base, feeds) = (self.base(), &self.setting.feeds);
        let total = self.total(&base)?;
        let with_more_out = |shown: &&Shown| {
            let covers = base.parts().all(|part| shown.out.cuts(feeds, part));
            let no_more = self
                .total(&shown.out)
                .is_some_and(|draw| !draw.above(total));
            shown.out != base && covers && no_more && self.counts(shown.entry)
        };
        let above = |part: PartId, least: f64| {
            let mut read = self.shown.iter().filter(|shown| {
                shown.out == base && self.counts(shown.entry) && feeds.is_below(part, shown.part)
            });
            read.find(|shown| {
                let most = shown.current.map_or(f64::INFINITY, Interval::high);
                most + judged.matters() <= least
            })
        };
        let once = self.read_once();
        let mut less = self.shown.iter().filter(with_more_out).filter_map(|shown| {
            let top = above(shown.part, shown.current?.low())?;
            let check = (top.method, top.part);
            once.contains(&check).then_some((check, shown.part))
        });
        let (check, below) = less.next()?;
        Some(self.again_because(check, Reason::LessAbove(check.1, below)))
    }

    /// What was out when something was pulled.
    fn out_with(&self, pulled: &Pulled) -> Out {
        let feeds = &self.setting.feeds;
        let parts = pulled.base.parts().chain(pulled.parts.iter().copied());
        Out::of(feeds, parts)
    }
}
