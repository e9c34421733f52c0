//! What takes a proof away again: a draw, or a reading, with which it cannot be.

use super::facts::{Draw, Found, Pulled, Question, TakenOut};
use super::fold::Now;
use super::inputs::{all_out, parts_of};
use crate::feeds::PartId;
use crate::suspects::{Cause, Subject};

impl Now<'_> {
    /// What was proven and is in while something else is out draws only with that, where less flows now than
    /// fell with it: others hold it awake, so it is not the cause.
    pub(super) fn unprove_what_needs(&mut self, draw: &Draw) {
        let feeds = &self.setting.feeds;
        let base = self.base();
        let more = self.out.iter().any(|taken| !taken.is_out_in(feeds, &base));
        let needs = |found: &Found| {
            let mut taken = found.taken.iter();
            found.returned
                && !taken.any(|taken| taken.is_out_in(feeds, &draw.out))
                && !self.is_silenced(found, &draw.out)
                && draw.current.high() < found.fell.low()
        };
        let needing: Vec<Subject> = self
            .found
            .iter()
            .filter(|found| more && needs(found))
            .map(|found| found.subject.clone())
            .collect();
        if needing.is_empty() {
            return;
        }
        self.found.retain(|found| !needing.contains(&found.subject));
        self.questions.push(Question::ProvenNeeds(needing));
    }

    /// What was proven is out, and as much flows as before it came out: it is not the cause.
    pub(super) fn unprove_what_is_out(&mut self, draw: &Draw) {
        let feeds = &self.setting.feeds;
        let refuted = |found: &&Found| {
            let mut taken = found.taken.iter();
            found.returned
                && taken.all(|taken| taken.is_out_in(feeds, &draw.out))
                && self.is_as_before(found, draw)
        };
        let refuted: Vec<Found> = self.found.iter().filter(refuted).cloned().collect();
        for found in refuted {
            self.refute(&found, &found.taken, draw);
        }
    }

    /// A nothing that was read at a part was none: who was named when something near it came out was named by that
    /// zero too, and is proven anew.
    pub(super) fn unprove_near(&mut self, part: PartId) {
        let feeds = &self.setting.feeds;
        let rests = |found: &Found| {
            let mut taken = found.taken.iter().flat_map(|taken| &taken.parts);
            let near = |out: &PartId| feeds.is_below(*out, part) || feeds.is_below(part, *out);
            found.returned && taken.any(near)
        };
        let (rest, stand): (Vec<Found>, Vec<Found>) = self.found.drain(..).partition(rests);
        self.found = stand;
        if !rest.is_empty() {
            let subjects = rest.into_iter().map(|found| found.subject).collect();
            self.questions.push(Question::RestedOnZero(part, subjects));
        }
    }

    /// With what came out now and what came out before, one after the other, more fell together than flows at all:
    /// what was proven of it by itself was not it.
    pub(super) fn unprove_what_adds_up(&mut self, pulled: &Pulled) {
        if !self.add_up_to_more(pulled) {
            return;
        }
        let part_of_it = |found: &Found| {
            let parts = parts_of(&found.taken);
            let mut pulls = self.pulls.iter();
            found.returned
                && found.cause == Cause::OwnDraw
                && pulls.any(|other| other.base == pulled.base && other.parts == parts)
        };
        let fall: Vec<Subject> = self
            .found
            .iter()
            .filter(|found| part_of_it(found))
            .map(|found| found.subject.clone())
            .collect();
        self.found.retain(|found| !fall.contains(&found.subject));
        self.questions.push(Question::AddUpToMore(fall));
    }

    /// Draws with one thing and another out cannot all be: what was proven by one of them was not it.
    pub(super) fn unprove_what_clashes(&mut self, entries: &[u32]) {
        let is_draw = |entry: &u32| self.draws.iter().any(|draw| draw.entry == *entry);
        if entries.is_empty() || !entries.iter().all(is_draw) {
            return;
        }
        let fall: Vec<Subject> = self
            .found
            .iter()
            .filter(|found| found.returned && found.cause == Cause::OwnDraw)
            .filter(|found| entries.contains(&found.draws[1]))
            .map(|found| found.subject.clone())
            .collect();
        self.found.retain(|found| !fall.contains(&found.subject));
        self.questions.push(Question::AddUpToMore(fall));
    }

    /// Whether as much flows as before what proved somebody came out.
    pub(super) fn is_as_before(&self, found: &Found, draw: &Draw) -> bool {
        let mut draws = self.draws.iter();
        let before = draws.find(|before| before.entry == found.draws[0]);
        before.is_some_and(|before| {
            let (now, before) = draw.against(before);
            now.touches(before)
        })
    }

    /// A proof that falls, since so much flows with these out, without which it cannot draw.
    pub(super) fn refute(&mut self, found: &Found, out: &[TakenOut], draw: &Draw) {
        self.found.retain(|other| other != found);
        let names = out.iter().map(|taken| taken.name.clone()).collect();
        let subject = found.subject.clone();
        let question = Question::DrawsWithout(subject, names, draw.current);
        self.questions.push(question);
    }

    /// What was read since says that less can flow in what was proven than fell with it: it is not the cause.
    pub(super) fn unprove_what_is_clear(&mut self) {
        let feeds = &self.setting.feeds;
        let most = |found: &Found| {
            let (Subject::Part(part) | Subject::Unlisted(part)) = found.subject else {
                return f64::INFINITY;
            };
            // With a relay its coil came out, too.
            if matches!(
                found.cause,
                Cause::HoldsAwake | Cause::CoilHeld | Cause::ContactClosed
            ) {
                return f64::INFINITY;
            }
            let others = self.found.iter().filter(|f| f.returned && *f != found);
            let with = all_out(feeds, others.flat_map(|other| other.taken.iter()));
            self.view(&with).current(part).high()
        };
        let cleared = |found: &&Found| {
            let healthy = self.healthy_among(&parts_of(&found.taken));
            found.returned && most(found) < found.fell.low() - healthy
        };
        let cleared = self.found.iter().filter(cleared);
        let cleared: Vec<(Found, f64)> = cleared.map(|f| (f.clone(), most(f))).collect();
        for (found, most) in cleared {
            self.found.retain(|other| *other != found);
            self.questions
                .push(Question::ClearedSince(found.subject, most, found.fell));
        }
    }
}
