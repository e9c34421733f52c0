//! A reading of one fuse put down for another: what can be noticed of it.
//!
//! A reading is a number and a name. Where both together are possible nobody can tell that the number
//! belongs to another name, but for two signs: the sums of the tree do not hold (a clash, the ledger's
//! business), or what was read there, or seen to be lit or warm, does not fall when it comes out. Then the
//! draw is read once more while it is out, which takes no settle, and what was read there once more when it
//! is back in, before anything else rests on it.

use super::adds_up::{SHARED, rectangular};
use super::facts::{Draw, Pulled, Question, Shown};
use super::fold::Now;
use super::next::{Next, Reason, State};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::Seen;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::measurement::Method;
use crate::quantity::Milliamps;
use crate::vehicle::PartKind;

/// So many standard uncertainties of both apart, a reading and a fall cannot both be (judgement: by chance one in
/// twenty, and a reading again costs a third of a minute).
const APART: f64 = 2.0;

impl Now<'_> {
    /// Asks about the reading that says more flowed in what is out than fell with it.
    pub(super) fn did_not_fall(&mut self, draw: &Draw, before: Option<Interval<Milliamps>>) {
        let Some(before) = before.filter(|_| draw.out != self.base()) else {
            return;
        };
        let fell = (before.high() - draw.current.low()).max(0.0);
        let most = self.carried_more(&draw.out, before.minus(draw.current), fell);
        let most = most.map(|(shown, current)| (shown.part, shown.entry, current));
        self.questions.extend(
            most.map(|(part, entry, current)| Question::DidNotFall(part, entry, current, fell)),
        );
    }

    /// The reading that says the most flowed in something that is out, and more than fell with it, at most or by the
    /// best values of both.
    fn carried_more(
        &self,
        out: &Out,
        fell: Interval<Milliamps>,
        most: f64,
    ) -> Option<(&Shown, Interval<Milliamps>)> {
        let (base, feeds) = (self.base(), &self.setting.feeds);
        let there = self.shown.iter().filter(|shown| {
            let cut = out.cuts(feeds, shown.part) && !base.cuts(feeds, shown.part);
            cut && shown.out == base && self.counts(shown.entry)
        });
        let more = there.filter_map(|shown| Some((shown, shown.current?)));
        let likely = f64::midpoint(fell.low(), fell.high()).max(0.0);
        let matters = self.setting.healthy.enough_alone();
        let apart = |(best, standard): (f64, f64)| {
            let both = standard.hypot(SHARED * rectangular(fell));
            best - likely >= matters.max(APART * both)
        };
        let cannot_be = |shown: &Shown| shown.best.is_some_and(apart);
        more.filter(|(shown, current)| current.low() > most || cannot_be(shown))
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
        let carried = self.carried_in(pulled);
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
            let (shown, _) = self.carried_in(pulled)?;
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

    /// The reading that says more flowed in what came out then than fell with it.
    fn carried_in(&self, pulled: &Pulled) -> Option<(&Shown, Interval<Milliamps>)> {
        let most = pulled.most_fell.max(0.0);
        self.carried_more(&self.out_with(pulled), self.shown_fall(pulled), most)
    }

    /// What fell by the two displays alone.
    fn shown_fall(&self, pulled: &Pulled) -> Interval<Milliamps> {
        let [with, without] = pulled.draws.map(|entry| {
            let mut draws = self.draws.iter();
            draws.find(|draw| draw.entry == entry)
        });
        with.zip(without).map_or(pulled.fell, |(with, without)| {
            let (now, before) = without.against(with);
            before.minus(now)
        })
    }

    /// The fuses of the same box at which just the same was read as at this part, the latest of each: the probes may
    /// have been there.
    pub(super) fn read_alike(&self, part: PartId) -> Option<Question> {
        let feeds = &self.setting.feeds;
        let latest = |at: PartId| {
            let mut read = self.shown.iter().rev();
            let here = |shown: &&Shown| shown.method == Method::Drop && shown.part == at;
            read.find(|shown| here(shown) && self.counts(shown.entry))
        };
        let this = latest(part)?;
        let alike = |at: &PartId| {
            let fuse = feeds.part(*at).kind == PartKind::Fuse;
            let near = *at != part && fuse && feeds.place(*at) == feeds.place(part);
            let same = |other: &Shown| {
                let apart = (other.reading.low - this.reading.low).abs();
                apart < this.reading.step / 2.0 && other.current.is_some_and(|c| c.low() > 0.0)
            };
            near && latest(*at).is_some_and(same)
        };
        let alike: Vec<PartId> = feeds.parts().filter(alike).collect();
        (!alike.is_empty()).then_some(Question::ReadAlike(part, this.entry, alike))
    }

    /// What was out when something was pulled.
    fn out_with(&self, pulled: &Pulled) -> Out {
        let feeds = &self.setting.feeds;
        let parts = pulled.base.parts().chain(pulled.parts.iter().copied());
        Out::of(feeds, parts)
    }
}
