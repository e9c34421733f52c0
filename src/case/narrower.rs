//! A proof by a fuse made narrower by a plug: the plug out, the fuse back in, and the draw as low as before.
//!
//! A load whose plug takes long to get at is proven by its own fuse, which leaves the wire between them open.
//! Later, with the trim off, the plug tells: where the draw stays low it was the load, and where it is back
//! the load never was.

use super::facts::{Draw, Found, TakenOut};
use super::fold::Now;
use super::inputs::{all_out, parts_of};
use crate::suspects::Suspect;

impl Now<'_> {
    /// What a draw says of a proof, where only something below what proved it is out in its place: the same
    /// low draw puts that in its place; the draw back again takes the proof away.
    pub(super) fn narrows(&mut self, draw: &Draw) {
        self.returns_narrower(draw);
        let found = self.found.iter().enumerate().filter(|(_, f)| f.returned);
        let mut narrower = found
            .rev()
            .filter_map(|(at, found)| Some((at, self.in_its_place(found)?)));
        let Some((at, taken)) = narrower.next() else {
            return;
        };
        let Some(low) = self.draw_with(&self.base()) else {
            return;
        };
        let (now, without) = draw.against(low);
        let proven = self.found[at].clone();
        if self.is_as_before(&proven, draw) {
            self.refute(&proven, &taken, draw);
            return;
        }
        if now.above(without) {
            // It woke, or something else draws now: that says nothing of the proof.
            return;
        }
        let mut draws = self.draws.iter();
        let with = draws.find(|other| other.entry == proven.draws[0]);
        let fell = with.map(|with| {
            let (now, with) = draw.against(with);
            with.minus(now)
        });
        let found = &mut self.found[at];
        found.fell = fell.unwrap_or(found.fell);
        found.draws[1] = draw.entry;
        found.taken = taken;
        self.carry_pulls_over();
    }

    /// What was parted nearer to it for its proof is back in, and the draw with it: that is the return now.
    fn returns_narrower(&mut self, draw: &Draw) {
        let feeds = &self.setting.feeds;
        let back = |found: &Found| {
            let mut taken = found.taken.iter();
            let is_in = taken.all(|taken| !taken.is_out_in(feeds, &draw.out));
            let [with, without, returned] = found.draws;
            let narrowed = found.returned && returned < without;
            let mut draws = self.draws.iter();
            let before = draws.find(|other| other.entry == with);
            let same = before.is_some_and(|before| {
                let (now, before) = draw.against(before);
                now.touches(before)
            });
            narrowed && is_in && same
        };
        let again: Vec<bool> = self.found.iter().map(back).collect();
        for (found, again) in self.found.iter_mut().zip(again) {
            if again {
                found.draws[2] = draw.entry;
            }
        }
    }

    /// What is out in the place of what proved somebody: all of it below that, and it silences the same one.
    fn in_its_place(&self, found: &Found) -> Option<Vec<TakenOut>> {
        let (setting, feeds) = (self.setting, &self.setting.feeds);
        let others = self.found.iter().filter(|f| f.returned && *f != found);
        let others = all_out(feeds, others.flat_map(|other| other.taken.iter()));
        let beside: Vec<TakenOut> = self.out_beside(&others).into_iter().cloned().collect();
        let parts = parts_of(&beside);
        let proven = parts_of(&found.taken);
        let below = |part| {
            let mut tops = proven.iter();
            tops.any(|top| *top != part && feeds.is_below(part, *top))
        };
        let this = |s: &&Suspect| s.subject == found.subject && s.cause == found.cause;
        let silent = || {
            let mut suspects = setting.suspects.iter();
            let suspect = suspects.find(this);
            suspect.is_some_and(|suspect| setting.silenced(suspect, &parts))
        };
        let in_place = !parts.is_empty()
            && beside.iter().all(|taken| taken.input().is_none())
            && parts.iter().copied().all(below)
            && silent();
        in_place.then_some(beside)
    }
}
