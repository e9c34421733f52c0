//! The two-sided proof: out, the draw falls; back in, it returns.

use super::cost;
use super::draws::nearly_back;
use super::facts::{Draw, Found, Pulled, TakenOut, Trial};
use super::fold::Now;
use super::inputs::{all_out, bare_input, parts_of};
use super::regions::is_wiring;
use super::table::proof_minutes;
use super::taking_out::{Sought, TakeOut};
use super::weights::{Odds, in_vain, is_shown};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject, Suspect};

/// Whom a fall names, or that a reading has to be checked first.
pub(super) enum Surely {
    Named(Cause, Subject),
    Doubted,
}

impl<'s> Now<'s> {
    /// What a settled draw means for a proof under way, or begins one.
    pub(super) fn judge_trial(&mut self, draw: &Draw) {
        self.unprove_what_needs(draw);
        self.narrows(draw);
        self.with_proven_in(draw);
        self.by_itself_with_more_out();
        let base = self.base();
        let back_in = |trial: &Trial| self.is_back_in(trial, &draw.out);
        if draw.out == base || self.trial.as_ref().is_some_and(back_in) {
            self.judge_return(draw);
            return;
        }
        let feeds = &self.setting.feeds;
        let extra: Vec<_> = self.out_beside(&base).into_iter().cloned().collect();
        let (extra, beside) = self.beside_idle(extra, &base);
        let parts = parts_of(&extra);
        let Some(first) = self.draw_with(&beside).map(|draw| draw.entry) else {
            return;
        };
        if self.judge_input(draw, &extra, first) || self.an_input_may_be_it(&extra) {
            return;
        }
        let Some(before) = self.total(&beside) else {
            return;
        };
        let Some(without) = self.total(&draw.out) else {
            return;
        };
        let judged = Judgement::new(feeds, &self.setting.healthy, self.view(&base), before);
        let matters = judged.matters();
        let mut pulled = self.pulled((base, &draw.out), parts, (before, without), matters);
        if self.shows_no_fall(&beside, draw, pulled.fell) {
            pulled.vain = true;
        }
        let fell = pulled.fell;
        (pulled.taken, pulled.draws) = (extra.clone(), [first, draw.entry]);
        self.pulls.push(pulled.clone());
        if let ([_], Some(part), false) = (&extra[..], pulled.parts.first(), pulled.vain) {
            self.fell_with.push(*part);
        }
        self.unprove_what_adds_up(&pulled);
        let odds = || Odds::of(self, &judged);
        // A fall that does not matter names nobody.
        let named = (!pulled.vain)
            .then(|| self.surely_named_by(&pulled, &judged, &odds()))
            .flatten();
        let (cause, subject) = match named {
            Some(Surely::Doubted) => return,
            Some(Surely::Named(cause, subject)) => (cause, subject),
            None => {
                pulled.vain |= pulled.beyond < matters;
                self.pulls.pop();
                self.pulls.push(pulled);
                self.mind_what_polls();
                return;
            }
        };
        self.trial = Some(Trial {
            cause,
            subject,
            taken: extra,
            before,
            without,
            fell,
            draws: [first, draw.entry],
        });
    }

    /// What is out of these but for what changes nothing, with the state before it: all but one of them were out
    /// without a fall, and hold, feed and command nothing else.
    fn beside_idle(&self, extra: Vec<TakenOut>, base: &Out) -> (Vec<TakenOut>, Out) {
        let one = |one: &TakenOut| {
            let rest: Vec<&TakenOut> = extra.iter().filter(|other| *other != one).collect();
            Some((vec![one.clone()], self.idle(&rest, base)?))
        };
        let alone = extra.iter().rev().find_map(one);
        alone.unwrap_or_else(|| (extra, base.clone()))
    }

    /// The state with just these out beside proven drains, where nothing fell then and they hold, feed and command
    /// nothing else: with them out all is as if they were in.
    fn idle(&self, taken: &[&TakenOut], base: &Out) -> Option<Out> {
        let parts: Vec<PartId> = taken.iter().flat_map(|one| one.parts.clone()).collect();
        let out = Out::of(
            &self.setting.feeds,
            base.parts().chain(parts.iter().copied()),
        );
        let known = |pulled: &Pulled| {
            pulled.vain
                && pulled.parts.len() == parts.len()
                && parts.iter().all(|part| pulled.parts.contains(part))
        };
        let nothing_else = taken.iter().all(|one| one.input().is_none())
            && base.inputs().next().is_none()
            && parts
                .iter()
                .all(|part| self.falls_alone(*part) || self.only_polls(*part));
        let idle = !parts.is_empty() && nothing_else && self.pulls_here().any(known);
        (idle && self.draw_with(&out).is_some()).then_some(out)
    }

    /// Whether what a proof is taken with is back in, and nothing is out but what changes nothing.
    pub(super) fn is_back_in(&self, trial: &Trial, out: &Out) -> bool {
        let (base, feeds) = (self.base(), &self.setting.feeds);
        let still_out = trial.taken.iter().any(|taken| taken.is_out_in(feeds, out));
        !still_out && self.idle(&self.out_beside(&base), &base).is_some()
    }

    /// Whether two displays show nothing of the fall that the bounds ask for: then a reading behind the bounds is wrong.
    fn shows_no_fall(&self, before: &Out, draw: &Draw, fell: Interval<Milliamps>) -> bool {
        let shown = self.draw_with(before).map(|before| {
            let (now, before) = draw.against(before);
            f64::midpoint(before.low(), before.high()) - f64::midpoint(now.low(), now.high())
        });
        fell.low() > 0.0 && shown.is_some_and(|shown| shown < fell.low() / 2.0)
    }

    /// Whose proof a fall is, where nothing that was read once speaks against naming it.
    pub(super) fn surely_named_by(
        &self,
        pulled: &Pulled,
        judged: &Judgement<'_>,
        odds: &Odds,
    ) -> Option<Surely> {
        let named = self.named_by(pulled, judged, odds)?;
        let is = |s: &Suspect| s.cause == named.0 && s.subject == named.1;
        let index = self.setting.suspects.iter().position(is);
        // A zero that was read once clears nobody who fell silent too: it is checked first.
        let shown = index.is_some_and(|i| draws_there(&self.setting.suspects[i], judged));
        let doubtful = || self.zero_to_check(&Out::default(), &pulled.parts).is_some();
        // Nor is wiring named for what one reading clears.
        let by_one = || index.and_then(|index| self.cleared_by_one(index, &pulled.parts, odds));
        if !shown && doubtful() || by_one().is_some() {
            return Some(Surely::Doubted);
        }
        Some(Surely::Named(named.0, named.1))
    }

    /// Something is out while what was proven is in: what fell with it, against the draw with all that in, may show
    /// that both are one.
    fn with_proven_in(&mut self, draw: &Draw) {
        let feeds = &self.setting.feeds;
        let base = self.base();
        let proven_out = self
            .out
            .iter()
            .filter(|taken| taken.is_out_in(feeds, &base));
        let there = all_out(feeds, proven_out);
        let beside: Vec<_> = self.out_beside(&base).into_iter().cloned().collect();
        let parts = parts_of(&beside);
        let both = self.total(&there).zip(self.total(&draw.out));
        let Some((with, without)) = both.filter(|_| there != base && !parts.is_empty()) else {
            return;
        };
        let matters = self.setting.healthy.enough_alone();
        let pulled = self.pulled((there, &draw.out), parts, (with, without), matters);
        self.pulls.push(pulled.clone());
        self.unprove_what_adds_up(&pulled);
    }

    /// What came of taking these out beside `base`, by the draws with them in and out.
    pub(super) fn pulled(
        &self,
        (base, out): (Out, &Out),
        parts: Vec<PartId>,
        (with, without): (Interval<Milliamps>, Interval<Milliamps>),
        matters: f64,
    ) -> Pulled {
        let fell = with.minus(without);
        let flowed = self.ledger.current(&base, PartId(0));
        let left = self.ledger.current(out, PartId(0));
        Pulled {
            base,
            beyond: fell.low() - self.healthy_among(&parts),
            most_fell: flowed.minus(left).high(),
            most_left: left.high(),
            parts,
            fell,
            with,
            without,
            taken: Vec::new(),
            draws: [0; 2],
            returned: None,
            matters,
            vain: fell.low() < matters,
        }
    }

    /// What came of taking exactly these parts out, the last time, with just the proven drains out.
    fn was_out(&self, parts: &[PartId]) -> Option<&Pulled> {
        self.pulls_here()
            .filter(|pulled| pulled.parts == parts)
            .last()
    }

    /// The way to take a suspect out with which no other suspect of these falls silent, and that may still
    /// name somebody: the narrowest, or its own fuse where that takes fewer minutes.
    pub(super) fn way_to_prove(
        &self,
        index: usize,
        left: &Sought,
        judged: &Judgement<'_>,
        odds: &Odds,
    ) -> Option<&'s TakeOut> {
        let setting = self.setting;
        let mut ways = setting.ways_out(&setting.suspects[index]);
        let fits = |way: &&TakeOut| {
            let mut others = setting.near(&way.parts, left).filter(|i| *i != index);
            // An input that nobody has looked at is looked at first.
            let rivals =
                |i: usize| odds.rivals(self, index, i, &way.parts) && !self.is_to_be_looked_at(i);
            let alone = !others.any(rivals);
            if self.stayed_without(&setting.suspects[index], &way.parts)
                || !alone
                || odds.others_do(self, judged, (index, left), &way.parts)
            {
                return false;
            }
            // What was out and named nobody is taken out again only if it would name somebody by now.
            let suspect = &setting.suspects[index];
            let names = |b: &Pulled| self.named_by(b, judged, odds).is_some();
            let before = self.was_out(&way.parts);
            let known = before.is_some_and(|b| !names(b))
                || self.fell_kept_up(suspect).is_some_and(|b| !names(b))
                || bare_input(&setting.feeds, &setting.suspects[index])
                    .is_some_and(|name| self.is_input_cleared(name));
            !known && !in_vain(self, &way.parts) && !self.is_way_skipped(way)
        };
        let narrowest = ways.find(fits)?;
        let minutes = |way: &TakeOut| self.minutes_of_proof(way);
        let mut best = narrowest;
        if setting.suspects[index].cause != Cause::OwnDraw {
            return Some(best);
        }
        // What is taken out further up feeds more.
        for way in ways.take_while(|way| self.feeds_nothing_else(&way.parts, &narrowest.parts)) {
            if minutes(way) < minutes(best) && fits(&way) {
                best = way;
            }
        }
        Some(best)
    }

    /// Minutes of a proof by this way, with getting there.
    fn minutes_of_proof(&self, way: &TakeOut) -> f64 {
        let feeds = &self.setting.feeds;
        let closed = way.place.into_iter().flat_map(|place| feeds.way(place));
        let wakes =
            |place: PlaceId| !self.open.contains(&place) && feeds.place_as_written(place).wakes;
        let woken = if closed.into_iter().any(wakes) {
            feeds.settle().value()
        } else {
            0.0
        };
        proof_minutes(self, way).0 + cost::reach(feeds, way.place, &self.open) + woken
    }

    /// Whether what loses its feed with this are these parts alone: a splice or connector on the way may leak
    /// itself, and is told from them by parting them.
    fn feeds_nothing_else(&self, taken: &[PartId], parts: &[PartId]) -> bool {
        let feeds = &self.setting.feeds;
        let below = taken.iter().flat_map(|part| feeds.subtree(*part));
        below
            .map(PartId)
            .all(|part| taken.contains(&part) || parts.iter().any(|own| feeds.is_below(part, *own)))
    }

    fn judge_return(&mut self, draw: &Draw) {
        let Some(trial) = self.trial.take() else {
            self.note_return(draw);
            self.use_earlier_proof();
            return;
        };
        let wanders = self.comes_by().is_some()
            && draw.current.low() - trial.without.high() >= trial.fell.low() / 2.0;
        let same = wanders
            || self.comes_back(draw, trial.draws[0], trial.before)
            || nearly_back(draw.current, trial.before, trial.without);
        let returned = same && draw.current.above(trial.without);
        let mut found = Found {
            cause: trial.cause,
            subject: trial.subject,
            fell: trial.fell,
            returned,
            taken: trial.taken,
            draws: [trial.draws[0], trial.draws[1], draw.entry],
        };
        let same = |f: &&Found| f.subject == found.subject;
        let before = self.found.iter().find(same).cloned();
        // One that feeds several ways is proven by each of them, one after the other.
        let another_way = |f: &Found| !f.taken.iter().any(|taken| found.taken.contains(taken));
        let stands = |f: &Found| f.returned && returned && f.cause == found.cause;
        if let Some(before) = before.filter(|f| stands(f) && another_way(f)) {
            found.fell = found.fell.plus(before.fell);
            found.taken = [before.taken, found.taken].concat();
            found.draws[0] = before.draws[0];
        }
        self.found.retain(|f| f.subject != found.subject);
        self.found.push(found);
        if returned {
            self.carry_pulls_over();
        }
    }

    /// What was out last, and named nobody, is back in, and the draw with it.
    fn note_return(&mut self, draw: &Draw) {
        let base = self.base();
        let Some(last) = self.pulls.last().filter(|last| last.base == base) else {
            return;
        };
        let same = self.comes_back(draw, last.draws[0], last.with)
            || nearly_back(draw.current, last.with, last.without);
        let returned = same && draw.current.above(last.without);
        if let Some(last) = self.pulls.last_mut() {
            last.returned = returned.then_some(draw.entry);
        }
    }

    /// Whether a draw is what there was before, by its entry.
    fn comes_back(&self, draw: &Draw, entry: u32, before: Interval<Milliamps>) -> bool {
        let by_another_way = |other: &Draw| {
            let (now, other) = draw.against(other);
            now.touches(other)
        };
        let mut draws = self.draws.iter();
        let other = draws.find(|other| other.entry == entry && other.way != draw.way);
        draw.current.touches(before) || other.is_some_and(by_another_way)
    }

    /// Somebody who was out alone, with a fall and a return in this spell, and whom nothing that fell silent
    /// with it rivals any more, is proven by that: it need not be taken out once more.
    pub(super) fn use_earlier_proof(&mut self) {
        let returned = |pulled: &&Pulled| pulled.returned.is_some();
        let settled = self.asleep && self.fresh && self.out_beside(&self.base()).is_empty();
        if !settled || self.trial.is_some() || !self.pulls_here().any(|pulled| returned(&pulled)) {
            return;
        }
        let judged = self.judged_base();
        let odds = Odds::of(self, &judged);
        let setting = self.setting;
        let proven = self.pulls_here().filter(returned).find_map(|pulled| {
            let (cause, subject) = self.named_by(pulled, &judged, &odds)?;
            let is = |s: &&Suspect| s.cause == cause && s.subject == subject;
            let suspect = setting.suspects.iter().find(is)?;
            let narrowest = setting.narrowest_out(suspect)?;
            let doubtful = self.zero_to_check(&Out::default(), &pulled.parts).is_some();
            let sure = (narrowest == pulled.parts
                || self.feeds_nothing_else(&pulled.parts, &narrowest))
                && !is_wiring(&setting.feeds, suspect)
                && (draws_there(suspect, &judged) || !doubtful);
            let [before, without] = pulled.draws;
            sure.then(|| Found {
                cause,
                subject,
                fell: pulled.fell,
                returned: true,
                taken: pulled.taken.clone(),
                draws: [before, without, pulled.returned.unwrap_or(without)],
            })
        });
        if let Some(found) =
            proven.filter(|one| !self.found.iter().any(|f| f.subject == one.subject))
        {
            self.found.push(found);
            self.carry_pulls_over();
        }
    }
}

/// Whether an excess is shown in what a suspect itself takes, or in what hangs on a contact.
fn draws_there(suspect: &Suspect, judged: &Judgement<'_>) -> bool {
    let behind = |(part, _): &(PartId, _)| judged.excess(*part).low() >= judged.matters();
    is_shown(suspect, judged)
        || suspect.cause == Cause::ContactClosed && suspect.raises.iter().any(behind)
}
