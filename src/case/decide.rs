//! The next step: what the state of a case asks for, from the preparation to the proof.

use super::asked::TestPlan;
use super::cost;
use super::facts::{Draw, Found, Question, Trial};
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::readings::TOTAL_AGAIN;
use super::taking_out::TakeOut;
use super::weights::Odds;
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::ledger::{Out, View};
use crate::measurement::{Method, Way};
use crate::suspects::{Cause, Subject, Suspect};
use std::collections::BTreeSet;

/// A place that is got at in so many minutes is named before anything is read; another one where that share of
/// the odds sits there (judgement).
const CHEAP_TO_OPEN: f64 = 5.0;
const LIKELY_TO_NEED: f64 = 0.5;

impl Now<'_> {
    /// The state searched, with the parts that are out as they were when they were in.
    pub(super) fn judged_in(&self) -> Judgement<'_> {
        let feeds = &self.setting.feeds;
        let base = self.base();
        let mut view = self.view(&base);
        let mut less: Vec<Out> = self.draws.iter().map(|d| d.out.clone()).collect();
        less.push(Out::default());
        for part in base.parts() {
            if let Some(out) = less.iter().rev().find(|out| !out.cuts(feeds, part)) {
                view.take_over(feeds, part, &self.view(out));
            }
        }
        self.judge(&base, view)
    }

    pub(super) fn judge(&self, base: &Out, view: View) -> Judgement<'_> {
        let draw = self.total(base).unwrap_or_else(Interval::not_negative);
        let draw = self.sought().map_or(draw, |sought| sought.current);
        Judgement::new(&self.setting.feeds, &self.setting.healthy, view, draw)
    }

    /// The draw that was searched for, once that is over: what could not have been the drain stays so
    /// when the drain is out, or mended.
    pub(super) fn sought(&self) -> Option<&Draw> {
        let base = self.base();
        let limit = self.setting.healthy.limit();
        let without = !base.is_empty() && self.total(&base).is_some_and(|t| t.high() <= limit);
        let over = without || self.repair().is_some();
        self.over.as_ref().filter(|_| over)
    }

    pub(super) fn bare(&self, state: State, reason: Reason) -> Next {
        Next {
            state,
            test: None,
            reason,
            questions: self.questions.clone(),
            open: Vec::new(),
            suspects: Vec::new(),
            located: Vec::new(),
            branches: Vec::new(),
            shown: Vec::new(),
            in_question: Vec::new(),
            found: self.mended_and_found().cloned().collect(),
            out: self.out.iter().map(|t| t.name.clone()).collect(),
            clash: Vec::new(),
            watch: None,
            together: Vec::new(),
            spent: self.spent,
            expected: None,
            proving: None,
            at_least: None,
        }
    }

    /// Proofs from before the latest repair, but for those that were taken anew since, and those since.
    fn mended_and_found(&self) -> impl Iterator<Item = &Found> {
        let anew = |old: &&Found| {
            let mut found = self.found.iter();
            found.any(|found| found.returned && found.subject == old.subject)
        };
        self.mended
            .iter()
            .filter(move |old| !anew(old))
            .chain(&self.found)
    }

    pub(super) fn next(&self) -> Next {
        self.next_with(true)
    }

    /// The step; with `whole` also the suspects and the floor.
    pub(super) fn next_with(&self, whole: bool) -> Next {
        let mut next = self.decide(whole);
        if next.test.as_ref().is_some_and(|t| t.method == Method::Wait) {
            next.open = self.to_open();
        }
        // The step itself reads it.
        if next.test.as_ref().is_some_and(|t| t.method == Method::Draw) {
            next.questions
                .retain(|asked| *asked != Question::TotalAgain);
        }
        if let Reason::CarriesElsewhere(part) | Reason::ShouldHaveFallen(part) = next.reason {
            next.questions.extend(self.read_alike(part));
        }
        let slipped = self.why_they_clash();
        let slipped = slipped.filter(|asked| !next.questions.contains(asked));
        next.questions.extend(slipped);
        let blind = self.blind_reading();
        let blind = blind.filter(|asked| !next.questions.contains(asked));
        next.questions.extend(blind);
        if let Some(asked) = self.before_the_baseline() {
            next.questions.insert(0, asked);
        }
        if self.over.is_some() && !self.setting.healthy.knows_limit() {
            next.questions.push(Question::NoLimit);
        }
        if whole && next.suspects.is_empty() && self.is_searched(next.state) {
            next.in_question = self.weighed(&Odds::of(self, &self.judged_base()));
        }
        next.branches = self.branches_that_fell(&next);
        next.shown = self.located_by_readings(&next);
        next
    }

    /// Closed places that would cost a settle, or time, later: first those that wake the vehicle, then
    /// those that the search is likeliest to lead to, by the starting weights and what was told.
    fn to_open(&self) -> Vec<PlaceId> {
        let feeds = &self.setting.feeds;
        let mut needed = vec![0.0; feeds.places().count()];
        let (mut there, mut all) = (needed.clone(), 0.0);
        let steering = self.steering();
        for suspect in &self.setting.suspects {
            let odds = suspect.prior * steering.factor(feeds, suspect);
            all += odds;
            let raised = || suspect.raises.first().map(|(part, _)| *part);
            let Some(seat) = suspect.seat().or_else(raised) else {
                continue;
            };
            for place in feeds
                .place(seat)
                .map(|at| feeds.way(at))
                .unwrap_or_default()
            {
                there[place.0 as usize] += odds;
            }
            let way = feeds.path(seat).into_iter();
            let places: BTreeSet<PlaceId> = way
                .filter_map(|part| feeds.place(part))
                .flat_map(|place| feeds.way(place))
                .collect();
            for place in places {
                needed[place.0 as usize] += odds;
            }
        }
        let mut closed: Vec<PlaceId> = feeds.places().collect();
        // Before anything is read nobody takes the trim off on a guess.
        let worth = |place: &PlaceId| {
            let written = feeds.place_as_written(*place);
            let cheap = written.wakes || written.reach.value() <= CHEAP_TO_OPEN;
            self.believed || cheap || there[place.0 as usize] >= LIKELY_TO_NEED * all
        };
        closed.retain(|place| !self.open.contains(place) && worth(place));
        closed.sort_by(|a, b| {
            let wakes = |place: &PlaceId| feeds.place_as_written(*place).wakes;
            let needed = |place: &PlaceId| needed[place.0 as usize];
            wakes(b)
                .cmp(&wakes(a))
                .then(needed(b).total_cmp(&needed(a)))
                .then(a.cmp(b))
        });
        closed
    }

    /// The step; with `whole` also the suspects and the floor.
    pub(super) fn decide(&self, whole: bool) -> Next {
        let clash = self.ledger.clash();
        if !clash.is_empty() {
            let mut next = self.bare(State::Contradiction, Reason::Clash);
            next.clash = clash;
            return next;
        }
        if let Some(next) = self.verify() {
            return next;
        }
        if !self.prepared {
            let mut next = self.bare(State::Prepare, Reason::Prepare);
            next.open = self.to_open();
            if self.setting.instruments.assumed {
                next.questions.push(Question::WhatElse);
            }
            return next;
        }
        if !self.believed {
            let reason = if self.doubted.is_some() {
                Reason::Doubted
            } else {
                Reason::FirstDraw
            };
            return self.asleep_first(|| {
                let mut next = self.bare(State::Baseline, reason);
                next.test = self.draw_test(None, false);
                next
            });
        }
        let feeds = &self.setting.feeds;
        let base = self.base();
        let out = self.out_set();
        if let Some(trial) = &self.trial {
            return self.go_on(trial, &out, &base);
        }
        for found in self.found.iter().filter(|f| f.returned) {
            // Parted nearer to it than it was for its proof it is out as well.
            if self.is_silenced(found, &out) {
                continue;
            }
            // All that came out for it, for with a part of it in it draws by that.
            let missing = found.taken.iter().filter(|t| !t.is_out_in(feeds, &out));
            let missing: Vec<TakeOut> = missing.map(|t| TakeOut::again(feeds, t)).collect();
            if let Some(first) = missing.first() {
                let alike = |way: &&TakeOut| way.method() == first.method();
                let missing: Vec<&TakeOut> = missing.iter().filter(alike).collect();
                let mut next = self.bare(State::Confirm, Reason::StaysOut);
                next.test = Some(self.out_test(&missing));
                next.located = vec![self.located(&found.subject, &self.judged_in())];
                return next;
            }
        }
        if let Some(next) = self.while_it_is_away(&out, &base) {
            return next;
        }
        // With proven drains out alone an earlier draw will do.
        if self.draw_with(&out).is_none() || (!self.fresh && out != base) {
            return self.asleep_first(|| self.draw_without(&base));
        }
        if out == base
            && !self.fresh
            && let Some(next) = self.still_nothing(&base)
        {
            return next;
        }
        if out != base
            && let Some(next) = self.should_have_fallen(&out)
        {
            return next;
        }
        if self.was_awake && self.may_draw() {
            return self.asleep_first(|| Next {
                reason: Reason::AfterAwake,
                ..self.total_first(State::Measure)
            });
        }
        if self.broken {
            return self.asleep_first(|| Next {
                reason: Reason::StillThere,
                ..self.draw_without(&base)
            });
        }
        if let Some(next) = self.finer(&out, &base) {
            return next;
        }
        let Some(total) = self.total(&base) else {
            return self.all_back(&base, State::Measure);
        };
        let limit = self.setting.healthy.limit();
        if total.high() <= limit {
            return self.within(&base);
        }
        if let Some(next) = self.quiet_now(&base, total) {
            return next;
        }
        if let Some(next) = self.stands_still(&out, &base) {
            return next;
        }
        if !self.steady && self.since_total >= TOTAL_AGAIN && self.may_draw() {
            return self.asleep_first(|| self.total_first(State::Measure));
        }
        self.search(&base, &out, whole)
    }

    /// The draw once more where next to nothing was shown twice in line: whoever was told twice may have left the
    /// bridge on twice.
    fn still_nothing(&self, out: &Out) -> Option<Next> {
        let nothing = self.draw_with(out).map(|draw| draw.entry);
        (nothing.is_some() && nothing == self.nothing_twice).then(|| {
            self.asleep_first(|| Next {
                state: State::Confirm,
                reason: Reason::StillNothing,
                ..self.draw_without(&self.base())
            })
        })
    }

    /// Whether what was proven has no feed with this out.
    pub(super) fn is_silenced(&self, found: &Found, out: &Out) -> bool {
        if let Subject::Input(name) = &found.subject
            && out.inputs().any(|input| input == name)
        {
            return true;
        }
        let parts: Vec<PartId> = out.parts().collect();
        // A whole module is no suspect by its own draw: its feeds are.
        if let (Subject::Module(module), Cause::OwnDraw) = (&found.subject, found.cause) {
            let mut feeds = self.setting.feeds.module_feeds(*module).iter();
            return feeds.all(|feed| self.setting.takes_out(&parts, *feed));
        }
        let mut suspects = self.setting.suspects.iter();
        let this = |s: &&Suspect| s.subject == found.subject && s.cause == found.cause;
        suspects
            .find(this)
            .is_some_and(|suspect| self.setting.silenced(suspect, &parts))
    }

    /// The draw is within the limit.
    fn within(&self, base: &Out) -> Next {
        let known = self.setting.healthy.knows_limit();
        if !base.is_empty() {
            let reason = if known {
                Reason::Proven
            } else {
                Reason::ProvenWithoutLimit
            };
            let mut next = self.bare(State::Confirmed, reason);
            let judged = self.judged_in();
            next.located = self
                .found
                .iter()
                .filter(|f| f.returned)
                .map(|f| self.located(&f.subject, &judged))
                .collect();
            return next;
        }
        if !self.out_beside(base).is_empty() {
            return self.all_back(base, State::Measure);
        }
        if !known {
            return self.bare(State::Undecidable, Reason::NoLimit);
        }
        if let Some(next) = self.at_the_lower_battery() {
            return next;
        }
        let limit = self.setting.healthy.limit();
        let mean = self.total(base).map(|quiet| self.on_average(quiet).low());
        let over = mean.filter(|mean| *mean > limit);
        let mut next = match (self.over.is_some(), self.lower_battery()) {
            (true, _) => self.bare(State::Gone, Reason::Vanished),
            (false, None) if over.is_some() => {
                self.bare(State::Gone, Reason::OverOnAverage(over.unwrap_or(limit)))
            }
            (_, Some((low, _))) => self.bare(State::WithinLimit, Reason::WithinAt(low.0)),
            _ => self.bare(State::WithinLimit, Reason::Within),
        };
        next.watch = Some(self.watch());
        next
    }

    /// A second half of a proof.
    fn go_on(&self, trial: &Trial, out: &Out, base: &Out) -> Next {
        let located = || vec![self.located(&trial.subject, &self.judged_in())];
        if out != base && !self.is_back_in(trial, out) {
            let draw = self.draw_with(out);
            let logged = draw.is_some_and(|d| self.is_of_a_log(d));
            // A clamp that shows a slip is no reason to let all of it flow through a small jack.
            let by_clamp = draw.is_some_and(|d| matches!(d.way, Way::Clamp { .. }));
            let slip = || self.not_a_slip();
            let first = || {
                let again = self.still_nothing(out).filter(|_| self.fresh);
                let again = again.or_else(|| by_clamp.then(slip)?);
                again.or_else(|| self.finer(out, base)).or_else(slip)
            };
            let first = (!logged).then(first).flatten();
            if let Some(next) = first.or_else(|| self.stands_still(out, base)) {
                return Next {
                    state: if next.state == State::Wait {
                        State::Wait
                    } else {
                        State::Confirm
                    },
                    located: located(),
                    ..next
                };
            }
            let mut next = self.bare(State::Confirm, Reason::Returns);
            next.test = Some(self.refit_test(&trial.taken.iter().collect::<Vec<_>>()));
            next.located = located();
            return next;
        }
        if self.comes_by().is_some() {
            return self.asleep_first(|| self.see_it_come(&trial.subject));
        }
        self.asleep_first(|| {
            let mut next = self.bare(State::Confirm, Reason::Returns);
            next.test = self.draw_test(Some(trial.before), true);
            next.located = located();
            next
        })
    }

    /// The state searched, with nothing assumed of what is out.
    pub(super) fn judged_base(&self) -> Judgement<'_> {
        let base = self.base();
        self.judge(&base, self.view(&base))
    }

    /// Everything beside proven drains goes back in.
    pub(super) fn all_back(&self, base: &Out, state: State) -> Next {
        let beside = self.out_beside(base);
        if beside.is_empty() {
            return self.asleep_first(|| {
                let mut next = self.bare(State::Measure, Reason::DrawWithout);
                next.test = self.draw_test(None, false);
                next
            });
        }
        let mut next = self.bare(state, Reason::BackFirst);
        next.test = Some(self.refit_test(&beside));
        next
    }

    /// A place that wakes the vehicle is opened in a step of its own, so that it can settle after.
    pub(super) fn open_first(&self, place: Option<PlaceId>) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let way = place.map(|p| feeds.way(p)).unwrap_or_default();
        let wakes = way
            .into_iter()
            .find(|p| !self.open.contains(p) && feeds.place_as_written(*p).wakes)?;
        let mut next = self.bare(State::Measure, Reason::OpenFirst(wakes));
        let name = &feeds.place_as_written(wakes).id.value;
        next.test = Some(TestPlan {
            points: vec![name.clone()],
            place: Some(wakes),
            minutes: cost::reach(feeds, Some(wakes), &self.open),
            disturbs: 1.0,
            ..TestPlan::new(Method::Open, format!("open {name}"))
        });
        Some(next)
    }

    /// The step itself when the vehicle sleeps, else the wait before it.
    pub(super) fn asleep_first(&self, step: impl Fn() -> Next) -> Next {
        let mut next = step();
        if self.asleep {
            return next;
        }
        next.state = State::Wait;
        next.reason = Reason::Settle;
        next.test = Some(TestPlan {
            minutes: self.stirred * self.setting.feeds.settle().value(),
            ..TestPlan::new(Method::Wait, "asleep".to_owned())
        });
        next
    }
}
