//! What is opened, comes out and goes back in, and whether that wakes the vehicle.

use super::facts::{Question, TakenOut};
use super::fold::Now;
use super::inputs::all_out;
use super::{cost, taken_by};
use crate::feeds::{PartId, PlaceId};
use crate::journal::Point;
use crate::measurement::Method;

impl Now<'_> {
    /// Opens what is closed on the way to a place.
    pub(super) fn get_at(&mut self, place: Option<PlaceId>) {
        let feeds = &self.setting.feeds;
        self.spent += cost::reach(feeds, place, &self.open);
        let Some(place) = place else { return };
        for place in feeds.way(place) {
            self.out_of_reach.remove(&place);
            let written = feeds.place_as_written(place);
            if self.open.insert(place) && written.wakes && self.asleep {
                self.asleep = false;
                self.stirred = 1.0;
            }
        }
    }

    pub(super) fn take_out(&mut self, points: &[Point], unplugged: bool) {
        let feeds = &self.setting.feeds;
        let passed_over = self.to_go_back_first();
        for point in points {
            let parts = taken_by(feeds, point, unplugged);
            self.get_at(parts.first().and_then(|p| feeds.place(*p)));
            self.stir(&parts);
            if parts.is_empty() {
                self.let_go();
            }
            let name = self.name(point);
            self.spent += self.setting.minutes(Method::Pull);
            self.out.retain(|t| t.name != name);
            let taken = TakenOut {
                name,
                point: point.clone(),
                unplugged,
                parts,
            };
            self.been_out.retain(|other| other.name != taken.name);
            self.been_out.push(taken.clone());
            self.out.push(taken);
        }
        self.out_changed();
        let names = self.out.iter().map(|taken| &taken.name);
        let left: Vec<String> = names
            .filter(|name| passed_over.contains(name))
            .cloned()
            .collect();
        if !left.is_empty() {
            self.questions.push(Question::StillOut(left));
        }
    }

    /// What is to go back in by the step at hand.
    fn to_go_back_first(&self) -> Vec<String> {
        if !self.fresh || self.out_beside(&self.base()).is_empty() {
            return Vec::new();
        }
        let test = self.decide(false).test;
        test.filter(|test| test.method == Method::Refit)
            .map_or_else(Vec::new, |test| test.points)
    }

    pub(super) fn put_back(&mut self, points: &[Point]) {
        let back: Vec<TakenOut> = self.going_back(points).into_iter().cloned().collect();
        for taken in &back {
            self.stir(&taken.parts);
            if taken.input().is_some() {
                self.let_go();
            }
            self.spent += self.setting.minutes(Method::Refit);
        }
        self.out.retain(|t| !back.contains(t));
        self.out_changed();
    }

    /// What is out of these; of none, all that is.
    pub(super) fn going_back(&self, points: &[Point]) -> Vec<&TakenOut> {
        let named = |taken: &&TakenOut| {
            points.is_empty() || points.iter().any(|point| self.same_point(taken, point))
        };
        self.out.iter().filter(named).collect()
    }

    /// Something was let in at a part for a reading and is out again: it settled in between, and may
    /// have woken again.
    pub(super) fn let_in(&mut self, part: PartId) {
        if self.asleep {
            let chance = self.setting.chance_of_waking(&[part]);
            self.spent += chance * self.setting.feeds.settle().value();
        }
        self.stir(&[part]);
        self.broken = true;
    }

    /// These were moved: whether that woke it is not known yet.
    fn stir(&mut self, parts: &[PartId]) {
        if self.asleep {
            self.moved.clear();
        }
        self.moved.extend_from_slice(parts);
        let known = parts.iter().any(|part| self.woke.contains(part));
        let chance = if known {
            1.0
        } else {
            self.setting.chance_of_waking(parts)
        };
        self.stir_by(chance);
        self.asleep = self.setting.nothing_sleeps;
    }

    fn stir_by(&mut self, chance: f64) {
        self.stirred = self.stirred.max(chance);
    }

    /// It woke: what was moved last did it, and will again.
    pub(super) fn has_stirred(&mut self) {
        self.stirred = 1.0;
        self.woke.extend(std::mem::take(&mut self.moved));
    }

    /// An input is out, and what it held awake goes to sleep; or back in, and wakes it.
    fn let_go(&mut self) {
        self.stir_by(self.setting.instruments.handling.wakes_network);
    }

    fn out_changed(&mut self) {
        (self.fresh, self.still) = (false, false);
        (self.away, self.went) = (None, None);
        let out = self.out_set();
        if let Some(trial) = &self.trial {
            let proven = self.found.iter().filter(|f| f.returned);
            let taken = proven.flat_map(|f| f.taken.iter()).chain(&trial.taken);
            let with = all_out(&self.setting.feeds, taken);
            if out != with && out != self.base() && !self.is_back_in(trial, &out) {
                self.trial = None;
            }
        }
    }
}
