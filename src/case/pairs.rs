//! Proofs with other things out: two draws that differ in one thing alone say what that takes, whatever else is out.
//!
//! Whoever pulls fuse after fuse and leaves them out, and puts them back one by one, has read each of several drains
//! twice: the draw fell when its fuse came out, and rose by as much when it went back in, with other fuses out each
//! time. That is the two-sided proof, where nothing that was out otherwise feeds, commands or holds what came out, and
//! that holds nothing in its turn.

use super::facts::{Draw, Found, Pulled, TakenOut};
use super::fold::Now;
use super::inputs::all_out;
use super::proof::Surely;
use super::weights::Odds;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::ledger::Out;
use crate::quantity::Milliamps;

/// The draws with something in and out, by their entries in order, and by how much they differ.
struct Pair {
    with: u32,
    without: u32,
    differs: Interval<Milliamps>,
    /// What was out otherwise.
    beside: Out,
}

impl Now<'_> {
    /// Takes what fell, and rose, with one thing alone between two draws for what it is with just the proven drains
    /// out, and proves by it whoever both name. O(draws² × what was out).
    pub(super) fn by_itself_with_more_out(&mut self) {
        let base = self.base();
        let before = self.total(&base).or_else(|| self.less_what_is_proven());
        let Some(before) = before.filter(|_| self.trial.is_none()) else {
            return;
        };
        let mut rose = Vec::new();
        for taken in self.been_out.clone() {
            let Some(pulled) = self.fell_alone_with_more_out(&taken, &base, before) else {
                continue;
            };
            let back = pulled.returned.is_some();
            let same = |p: &Pulled| p.parts == pulled.parts && (p.returned.is_some() || !back);
            if self.pulls_here().any(same) {
                continue;
            }
            if back {
                rose.push(pulled.clone());
            }
            self.pulls.push(pulled);
        }
        let mut proven: Vec<Found> = Vec::new();
        for found in rose.iter().filter_map(|pulled| self.proven_by_pair(pulled)) {
            // By its fuse and by its plug it is one.
            if !proven.iter().any(|other| other.subject == found.subject) {
                proven.push(found);
            }
        }
        if !proven.is_empty() {
            self.found.extend(proven);
            self.carry_pulls_over();
        }
    }

    /// What flows with what was proven out, where that was not read: what flowed with all in, less what fell with it.
    pub(super) fn less_what_is_proven(&self) -> Option<Interval<Milliamps>> {
        let all = self.total(&Out::default())?;
        let proven = self.found.iter().filter(|found| found.returned);
        let left = proven.fold(all, |left, found| left.minus(found.fell));
        Some(Interval::between(left.low().max(0.0), left.high().max(0.0)))
    }

    /// What fell without one thing, by two draws that differ in that alone with other things out, as it is with
    /// `base` out, and the draw by which it rose again.
    fn fell_alone_with_more_out(
        &self,
        taken: &TakenOut,
        base: &Out,
        before: Interval<Milliamps>,
    ) -> Option<Pulled> {
        let feeds = &self.setting.feeds;
        let own = all_out(feeds, std::iter::once(taken));
        // What is on the way to a proven drain, or behind it, would count that once more.
        let elsewhere = self.apart(&taken.parts, base);
        if taken.parts.is_empty() || taken.is_out_in(feeds, base) || !elsewhere {
            return None;
        }
        let pairs = self.pairs(taken, &own, base);
        let fall = pairs.iter().find(|pair| pair.without > pair.with)?;
        let rise = pairs
            .iter()
            .find(|pair| pair.with > pair.without && pair.differs.touches(fall.differs));
        // With just the proven drains out each time it is a proof like any other.
        let as_ever = fall.beside == *base && rise.is_none_or(|rise| rise.beside == *base);
        if as_ever {
            return None;
        }
        let matters = self.judged_base().matters();
        let pulled = Pulled {
            base: fall.beside.clone(),
            parts: taken.parts.clone(),
            fell: fall.differs,
            most_fell: fall.differs.high(),
            most_left: 0.0,
            with: before,
            without: before,
            taken: vec![taken.clone()],
            draws: [fall.with, fall.without],
            returned: rise.map(|rise| rise.with),
            beyond: fall.differs.low() - self.healthy_among(&taken.parts),
            matters,
            vain: false,
        };
        let enough = pulled.fell.low() >= matters;
        enough.then(|| self.pulled_at(&pulled, base, before, matters))
    }

    /// The pairs of draws that differ in one thing alone, with nothing out beside it that it may lean on.
    fn pairs(&self, taken: &TakenOut, own: &Out, base: &Out) -> Vec<Pair> {
        let feeds = &self.setting.feeds;
        let plain = |part: PartId| self.falls_alone(part);
        let is_plain = taken.parts.iter().all(|part| plain(*part));
        let other = |out: &Out| {
            let beside = out.parts().filter(|part| !base.cuts(feeds, *part));
            let back = base.parts().filter(|part| !out.cuts(feeds, *part));
            let inputs = out.has_no_more_inputs(base) && base.has_no_more_inputs(out);
            let mut parts = beside.chain(back);
            inputs && (is_plain || parts.all(plain)) && self.apart(&taken.parts, out)
        };
        let mut pairs = Vec::new();
        for with in self.draws.iter().filter(|draw| other(&draw.out)) {
            let both = with.out.parts().chain(own.parts());
            let inputs = with.out.inputs().map(str::to_owned);
            let both = Out::of(feeds, both).with_inputs(inputs);
            let lower = |without: &&Draw| without.out == both;
            for without in self.draws.iter().filter(lower) {
                let (high, low) = with.against(without);
                if high.above(low) {
                    pairs.push(Pair {
                        with: with.entry,
                        without: without.entry,
                        differs: high.minus(low),
                        beside: with.out.clone(),
                    });
                }
            }
        }
        pairs
    }

    /// Whoever a fall and a rise prove that is not proven yet.
    fn proven_by_pair(&self, pulled: &Pulled) -> Option<Found> {
        let judged = self.judged_base();
        let odds = Odds::of(self, &judged);
        let named = self.surely_named_by(pulled, &judged, &odds)?;
        let Surely::Named(cause, subject) = named else {
            return None;
        };
        let new = !self.found.iter().any(|found| found.subject == subject);
        let [before, without] = pulled.draws;
        Some(Found {
            cause,
            subject,
            fell: pulled.fell,
            returned: true,
            taken: pulled.taken.clone(),
            draws: [before, without, pulled.returned?],
        })
        .filter(|_| new)
    }
}
