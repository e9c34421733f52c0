//! What to do next, as a value without wording.

use super::fold::{Draw, Found, Now, Question, Shown};
use super::table::{self, Doing, Plan};
use super::{Case, cost};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::{self, Point};
use crate::judgement::{Judgement, Standing};
use crate::ledger::{End, Line, Out};
use crate::measurement::{self, Jack, Method, Way};
use crate::planner::{self, Step};
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject, shares};
use crate::vehicle::PartKind;

/// Where a case stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum State {
    Prepare,
    Baseline,
    Wait,
    Measure,
    Confirm,
    Confirmed,
    Located,
    Gone,
    WithinLimit,
    Verify,
    Contradiction,
    Undecidable,
}

/// Why this is what to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// Before anything is read.
    Prepare,
    /// The vehicle has to fall asleep.
    Settle,
    /// The settled total comes first.
    FirstDraw,
    /// The first draw cannot be believed yet.
    Doubted,
    /// The draw straddles the limit, or is too coarse for what is sought.
    Finer,
    /// It parts the suspects best for its minutes; how many suspects are left, in which part.
    Parts(usize, PartId),
    /// One suspect is left, or proving it is quicker than parting more.
    Prove,
    /// The draw with something out.
    DrawWithout,
    /// Other things go back in before the proof.
    BackFirst,
    /// It fell: whether it returns.
    Returns,
    /// It is proven and comes out again.
    StaysOut,
    /// A place that wakes the vehicle is opened before the settle.
    OpenFirst(PlaceId),
    /// A zero that a verdict rests on is checked.
    LiveThere,
    /// Proven, and within the limit.
    Proven,
    /// Within the limit from the start.
    Within,
    /// Within the limit with nothing out: the fault has gone.
    Vanished,
    /// Readings that cannot all be true.
    Clash,
    /// Nothing could take that much any more.
    NoSingleCause,
    /// It cannot be parted further, and no proof can be taken.
    CannotPart,
    /// No limit is known.
    NoLimit,
}

/// What a display shows if the drain is there, and if it is not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expect {
    /// From and to, if it is.
    pub carrying: (f64, f64),
    /// From and to, if it is not.
    pub not: (f64, f64),
    /// In mV; else in mA.
    pub millivolts: bool,
}

/// What a person does next.
#[derive(Clone, Debug, PartialEq)]
pub struct TestPlan {
    /// How.
    pub method: Method,
    /// Where, as it is typed; several go together.
    pub points: Vec<String>,
    /// The part it is about, if one.
    pub part: Option<PartId>,
    /// Where one stands.
    pub place: Option<PlaceId>,
    /// Minutes of this step with reach.
    pub minutes: f64,
    /// The chance that it wakes the vehicle.
    pub disturbs: f64,
    /// What to type before the reading.
    pub entry: String,
    /// How a current is taken.
    pub way: Option<Way>,
    /// What the display shows if the drain is there, and if not; `true`: in mV.
    pub expect: Option<Expect>,
}

/// A suspect with its share of the odds.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// What has gone wrong.
    pub cause: Cause,
    /// In what.
    pub subject: Subject,
    /// Its id in the data.
    pub id: String,
    /// Share of the odds.
    pub odds: f64,
    /// What it could take, in mA.
    pub hides: f64,
}

/// A located branch.
#[derive(Clone, Debug, PartialEq)]
pub struct Located {
    /// Its id.
    pub id: String,
    /// From the battery down.
    pub path: Vec<PartId>,
    /// Its excess.
    pub excess: Interval<Milliamps>,
    /// Plugs to part, at the load first, then upward.
    pub unplug: Vec<String>,
}

/// Readings that cannot all be true.
#[derive(Clone, Debug, PartialEq)]
pub struct Clash {
    /// The entries of a smallest few that clash.
    pub entries: Vec<u32>,
    /// What was out where the two ends cross.
    pub out: Out,
    /// The part at which they cross.
    pub part: PartId,
}

/// What [`Case::next`] says.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// Where the case stands.
    pub state: State,
    /// What to do, if anything.
    pub test: Option<TestPlan>,
    /// Why.
    pub reason: Reason,
    /// What is asked.
    pub questions: Vec<Question>,
    /// Places to open during the preparation or the settle at hand.
    pub open: Vec<PlaceId>,
    /// All suspects that are not ruled out, likeliest first.
    pub suspects: Vec<Weighed>,
    /// The branch or branches.
    pub located: Vec<Located>,
    /// Proofs taken.
    pub found: Vec<Found>,
    /// What is out, as it was named.
    pub out: Vec<String>,
    /// Entries that clash.
    pub clash: Vec<u32>,
    /// Minutes spent.
    pub spent: f64,
    /// Minutes from here to a proof.
    pub expected: Option<f64>,
    /// Minutes that no plan can beat.
    pub at_least: Option<f64>,
}

/// A draw is taken more finely when its half-width is more than this share of what is sought.
const TOO_COARSE: f64 = 0.2;

impl Case<'_> {
    /// What to do next, and all that is known. Changes nothing.
    pub fn next(&self) -> Next {
        self.now.next()
    }

    /// The entry that the pending test asks for, and the jack proposed.
    pub(super) fn pending(&self) -> Option<(String, Option<Jack>)> {
        let test = self.now.decide(false).test?;
        let jack = match test.way {
            Some(Way::Series(jack)) => Some(jack),
            _ => None,
        };
        let entry = if test.method == Method::Wait {
            "asleep".to_owned()
        } else {
            test.entry
        };
        Some((entry, jack))
    }

    /// The state and current of every part: a part that is out keeps those it had when it was in.
    pub fn standing(&self) -> Vec<(PartId, Standing, Interval<Milliamps>, f64)> {
        let now = &self.now;
        let feeds = &now.setting.feeds;
        let judged = now.judged_in();
        feeds
            .parts()
            .map(|part| {
                let standing = judged.standing(part);
                (
                    part,
                    standing,
                    judged.view().current(part),
                    judged.hides(part),
                )
            })
            .collect()
    }

    /// The arithmetic behind the two ends of a part's current in the state judged.
    pub fn why(&self, part: PartId, end: End) -> Vec<Line> {
        let base = self.now.base();
        let out = if base.cuts(&self.now.setting.feeds, part) {
            Out::default()
        } else {
            base
        };
        self.now.ledger.why(&out, part, end)
    }

    /// The same in another state.
    pub fn why_in(&self, out: &Out, part: PartId, end: End) -> Vec<Line> {
        self.now.ledger.why(out, part, end)
    }

    /// The branch of a cause: the path down to it, its excess, and the plugs to part.
    pub fn branch(&self, subject: &Subject) -> Located {
        self.now.located(subject, &self.now.judged_in())
    }

    /// Readings that cannot all be true, if there are any.
    pub fn clash(&self) -> Option<Clash> {
        let ledger = &self.now.ledger;
        let (out, part) = ledger.crossing()?;
        Some(Clash {
            entries: ledger.clash(),
            out,
            part,
        })
    }

    /// Every reading that was not withdrawn, as it was when it was taken, in order.
    pub fn readings(&self) -> &[Shown] {
        &self.now.shown
    }

    /// Whether a reading bounds currents now: it was believed, and none has taken its place.
    pub fn counts(&self, entry: u32) -> bool {
        self.now.counts(entry)
    }

    /// What is out now.
    pub fn out_now(&self) -> Out {
        self.now.out_set()
    }

    /// What is out in the state that is judged: proven drains alone.
    pub fn base(&self) -> Out {
        self.now.base()
    }

    /// The settled draw that everything is judged against: the latest with proven drains alone out;
    /// `None` before there is one.
    pub fn settled_draw(&self) -> Option<&Draw> {
        self.now.draw_with(&self.now.base())
    }

    /// The judgement of the state the search is in.
    pub fn judged(&self) -> Judgement<'_> {
        self.now.judged_in()
    }
}

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
        let draw = self.total(&base).unwrap_or_else(Interval::not_negative);
        Judgement::new(feeds, &self.setting.healthy, view, draw)
    }

    fn bare(&self, state: State, reason: Reason) -> Next {
        Next {
            state,
            test: None,
            reason,
            questions: self.questions.clone(),
            open: Vec::new(),
            suspects: Vec::new(),
            located: Vec::new(),
            found: self.found.clone(),
            out: self.out.iter().map(|t| t.name.clone()).collect(),
            clash: Vec::new(),
            spent: self.spent,
            expected: None,
            at_least: None,
        }
    }

    pub(super) fn next(&self) -> Next {
        let mut next = self.decide(true);
        if next.test.as_ref().is_some_and(|t| t.method == Method::Wait) {
            next.open = self.to_open();
        }
        next
    }

    /// Closed places that would cost a settle, or time, later.
    fn to_open(&self) -> Vec<PlaceId> {
        let feeds = &self.setting.feeds;
        feeds.places().filter(|p| !self.open.contains(p)).collect()
    }

    /// The step; with `whole` also the suspects and the floor.
    fn decide(&self, whole: bool) -> Next {
        let clash = self.ledger.clash();
        if !clash.is_empty() {
            let mut next = self.bare(State::Contradiction, Reason::Clash);
            next.clash = clash;
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
            let missing = found
                .taken
                .iter()
                .find(|t| !t.parts.iter().all(|p| out.cuts(feeds, *p)));
            if let Some(taken) = missing {
                let mut next = self.bare(State::Confirm, Reason::StaysOut);
                next.test = Some(self.out_test(&taken.point, taken.unplugged, &taken.parts));
                next.located = vec![self.located(&found.subject, &self.judged_in())];
                return next;
            }
        }
        // With proven drains out alone an earlier draw will do.
        if self.draw_with(&out).is_none() || (!self.fresh && out != base) {
            let confirming = !self.out_beside(&base).is_empty();
            return self.asleep_first(|| {
                let mut next = self.bare(
                    if confirming && self.proves_now() {
                        State::Confirm
                    } else {
                        State::Measure
                    },
                    Reason::DrawWithout,
                );
                // With less in, no more flows than before, so the range of the last draw will do.
                let known = self.total(&base).map(|t| Interval::between(0.0, t.high()));
                let small = self
                    .draws
                    .last()
                    .is_some_and(|draw| matches!(draw.way, Way::Series(Jack::MilliA)));
                next.test = self.draw_test(known, small);
                if next.state == State::Confirm {
                    next.located = self.located_out();
                }
                next
            });
        }
        if let Some(next) = self.finer(&out, &base) {
            return next;
        }
        let Some(total) = self.total(&base) else {
            return self.all_back(&base, State::Measure);
        };
        let limit = self.setting.healthy.limit();
        if !limit.is_finite() {
            return self.bare(State::Undecidable, Reason::NoLimit);
        }
        if total.high() <= limit {
            return self.within(&base);
        }
        self.search(total, &base, &out, whole)
    }

    /// The draw is within the limit.
    fn within(&self, base: &Out) -> Next {
        if !base.is_empty() {
            let mut next = self.bare(State::Confirmed, Reason::Proven);
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
        if self.was_over {
            self.bare(State::Gone, Reason::Vanished)
        } else {
            self.bare(State::WithinLimit, Reason::Within)
        }
    }

    /// A second half of a proof.
    fn go_on(&self, trial: &super::fold::Trial, out: &Out, base: &Out) -> Next {
        let located = || vec![self.located(&trial.subject, &self.judged_in())];
        if out != base {
            if let Some(mut next) = self.finer(out, base) {
                next.state = State::Confirm;
                next.located = located();
                return next;
            }
            let mut next = self.bare(State::Confirm, Reason::Returns);
            next.test = Some(self.refit_test(&trial.taken.iter().collect::<Vec<_>>()));
            next.located = located();
            return next;
        }
        self.asleep_first(|| {
            let mut next = self.bare(State::Confirm, Reason::Returns);
            next.test = self.draw_test(Some(trial.before), true);
            next.located = located();
            next
        })
    }

    /// A finer draw where the last one straddles the limit or is too coarse, and the instrument allows.
    fn finer(&self, out: &Out, base: &Out) -> Option<Next> {
        let draw: &Draw = self.draw_with(out)?;
        let total = self.total(out)?;
        let limit = self.setting.healthy.limit();
        let straddles = total.low() <= limit && limit < total.high();
        let sought = (total.low() - limit)
            .max(self.setting.healthy.enough_alone() / 2.0)
            .max(5.0);
        let coarse = total.width() / 2.0 > TOO_COARSE * sought;
        if !(straddles || coarse) || matches!(draw.way, Way::Series(Jack::MilliA)) {
            return None;
        }
        let way = self.setting.way_of_draw(Some(total), true)?;
        if way == draw.way
            || self
                .skipped
                .contains(&(Method::Draw, self.name(&Point::Battery)))
        {
            return None;
        }
        let first =
            base.is_empty() && out.is_empty() && self.found.is_empty() && self.pulls.is_empty();
        Some(self.asleep_first(|| {
            let state = if first {
                State::Baseline
            } else {
                State::Measure
            };
            let mut next = self.bare(state, Reason::Finer);
            next.test = self.draw_test(Some(total), true);
            next
        }))
    }

    /// Whether what is out now is the proof of a suspect.
    fn proves_now(&self) -> bool {
        let base = self.base();
        let parts: Vec<PartId> = self
            .out_beside(&base)
            .iter()
            .flat_map(|t| t.parts.clone())
            .collect();
        self.proven_by(&parts, &self.judged_base()).is_some()
    }

    fn located_out(&self) -> Vec<Located> {
        let base = self.base();
        let parts: Vec<PartId> = self
            .out_beside(&base)
            .iter()
            .flat_map(|t| t.parts.clone())
            .collect();
        let judged = self.judged_base();
        let subject = self.proven_by(&parts, &judged);
        subject
            .map(|(_, subject)| self.located(&subject, &judged))
            .into_iter()
            .collect()
    }

    fn judged_base(&self) -> Judgement<'_> {
        let base = self.base();
        let draw = self.total(&base).unwrap_or_else(Interval::not_negative);
        Judgement::new(
            &self.setting.feeds,
            &self.setting.healthy,
            self.view(&base),
            draw,
        )
    }

    /// Everything beside proven drains goes back in.
    fn all_back(&self, base: &Out, state: State) -> Next {
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

    fn search(&self, total: Interval<Milliamps>, base: &Out, out: &Out, whole: bool) -> Next {
        let feeds = &self.setting.feeds;
        let judged = Judgement::new(feeds, &self.setting.healthy, self.view(base), total);
        let plan = table::plan(self, &judged);
        let suspects = self.weighed(&judged);
        let choice = planner::choose(&plan.table);
        let mut next = match choice.as_ref().map(|c| c.step) {
            Some(Step::Test(test)) => self.take_test(&plan, &judged, test, out, base),
            Some(Step::Prove(row)) => self.prove(&plan, &judged, row, out, base),
            None => {
                if let Some(part) = self.zero_to_check(out) {
                    self.asleep_first(|| self.check_live(part))
                } else if plan.suspects.is_empty() {
                    self.bare(State::Undecidable, Reason::NoSingleCause)
                } else {
                    let mut next = self.bare(State::Located, Reason::CannotPart);
                    next.located = suspects
                        .iter()
                        .take(1)
                        .map(|s| self.located(&s.subject, &judged))
                        .collect();
                    next
                }
            }
        };
        next.suspects = suspects;
        next.expected = choice.map(|c| c.expected);
        next.at_least = next
            .expected
            .filter(|_| whole)
            .map(|_| planner::floor(&plan.table));
        next
    }

    /// A part whose drop read nothing, the one that hides the most by it, not known yet to be live: a
    /// probe off the tab reads 0.0 as well, so no verdict rests on it before.
    fn zero_to_check(&self, out: &Out) -> Option<PartId> {
        let feeds = &self.setting.feeds;
        let across =
            |part: PartId| measurement::resistance(feeds, part).map_or(0.0, |r| r.band.low());
        self.zeros
            .iter()
            .copied()
            .filter(|part| {
                measurement::offered(feeds, *part).contains(&Method::Volts)
                    && !self.is_done(Method::Volts, *part)
                    && !out.cuts(feeds, *part)
            })
            .min_by(|a, b| across(*a).total_cmp(&across(*b)))
    }

    fn check_live(&self, part: PartId) -> Next {
        let feeds = &self.setting.feeds;
        let place = feeds.place(part);
        let mut next = self.bare(State::Measure, Reason::LiveThere);
        next.test = Some(TestPlan {
            method: Method::Volts,
            points: vec![feeds.id(part).to_owned()],
            part: Some(part),
            place,
            minutes: cost::minutes(Method::Volts) + cost::reach(feeds, place, &self.open),
            disturbs: 0.0,
            entry: format!("{} {}", journal::word(Method::Volts), feeds.id(part)),
            way: None,
            expect: None,
        });
        next
    }

    /// All suspects not ruled out, likeliest first.
    fn weighed(&self, judged: &Judgement<'_>) -> Vec<Weighed> {
        let weights = table::weigh(self, judged);
        let left: Vec<usize> = (0..weights.len())
            .filter(|i| weights[*i].weight > 0.0)
            .collect();
        let logs: Vec<f64> = left.iter().map(|i| weights[*i].weight.ln()).collect();
        let odds = shares(&logs);
        let mut list: Vec<Weighed> = left
            .iter()
            .zip(odds)
            .map(|(index, odds)| {
                let suspect = &self.setting.suspects[*index];
                Weighed {
                    cause: suspect.cause,
                    subject: suspect.subject.clone(),
                    id: suspect.id(&self.setting.feeds),
                    odds,
                    hides: weights[*index].hides,
                }
            })
            .collect();
        list.sort_by(|a, b| b.odds.total_cmp(&a.odds));
        list
    }

    fn take_test(
        &self,
        plan: &Plan,
        judged: &Judgement<'_>,
        test: usize,
        out: &Out,
        base: &Out,
    ) -> Next {
        let feeds = &self.setting.feeds;
        let left = plan.suspects.len();
        let reason = Reason::Parts(left, plan.focus.top);
        match &plan.tests[test] {
            Doing::Out(way) => {
                let mut next = self.bare(State::Measure, reason);
                next.test = Some(self.out_test(&way.point, way.unplugged, &way.parts));
                next
            }
            Doing::At(method, part) => {
                // What is searched has been taken out: it goes back first.
                if out.cuts(feeds, *part) && out != base {
                    return self.all_back(base, State::Measure);
                }
                let place = feeds.place(*part);
                if let Some(next) = self.open_first(place) {
                    return next;
                }
                self.asleep_first(|| {
                    let mut next = self.bare(State::Measure, reason);
                    next.test = Some(self.reading_test(plan, judged, *method, *part));
                    next
                })
            }
        }
    }

    /// A place that wakes the vehicle is opened in a step of its own, so that it can settle after.
    fn open_first(&self, place: Option<PlaceId>) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let way = place.map(|p| feeds.way(p)).unwrap_or_default();
        let wakes = way
            .into_iter()
            .find(|p| !self.open.contains(p) && feeds.place_as_written(*p).wakes)?;
        let mut next = self.bare(State::Measure, Reason::OpenFirst(wakes));
        let name = &feeds.place_as_written(wakes).id.value;
        next.test = Some(TestPlan {
            method: Method::Open,
            points: vec![name.clone()],
            part: None,
            place: Some(wakes),
            minutes: cost::reach(feeds, Some(wakes), &self.open),
            disturbs: 1.0,
            entry: format!("open {name}"),
            way: None,
            expect: None,
        });
        Some(next)
    }

    fn prove(
        &self,
        plan: &Plan,
        judged: &Judgement<'_>,
        row: usize,
        out: &Out,
        base: &Out,
    ) -> Next {
        let suspect = &self.setting.suspects[plan.suspects[row]];
        let located = vec![self.located(&suspect.subject, judged)];
        let Some(way) = &plan.proofs[row] else {
            let mut next = self.bare(State::Located, Reason::CannotPart);
            next.located = located;
            return next;
        };
        if out != base {
            let mut next = self.all_back(base, State::Confirm);
            next.located = located;
            return next;
        }
        let mut next = self.bare(State::Confirm, Reason::Prove);
        next.test = Some(self.out_test(&way.point, way.unplugged, &way.parts));
        next.located = located;
        next
    }

    /// The step itself when the vehicle sleeps, else the wait before it.
    fn asleep_first(&self, step: impl Fn() -> Next) -> Next {
        let mut next = step();
        if self.asleep {
            return next;
        }
        next.state = State::Wait;
        next.reason = Reason::Settle;
        next.test = Some(TestPlan {
            method: Method::Wait,
            points: Vec::new(),
            part: None,
            place: None,
            minutes: self.stirred * self.setting.feeds.settle().value(),
            disturbs: 0.0,
            entry: "asleep".to_owned(),
            way: None,
            expect: None,
        });
        next
    }

    fn draw_test(&self, expected: Option<Interval<Milliamps>>, fine: bool) -> Option<TestPlan> {
        let way = self.setting.way_of_draw(expected, fine)?;
        Some(TestPlan {
            method: Method::Draw,
            points: vec![self.name(&Point::Battery)],
            part: Some(PartId(0)),
            place: self.setting.feeds.place(PartId(0)),
            minutes: cost::minutes(Method::Draw),
            disturbs: 0.0,
            entry: "draw".to_owned(),
            way: Some(way),
            expect: None,
        })
    }

    fn reading_test(
        &self,
        plan: &Plan,
        judged: &Judgement<'_>,
        method: Method,
        part: PartId,
    ) -> TestPlan {
        let feeds = &self.setting.feeds;
        let place = feeds.place(part);
        let (carrying, not) = table::expected(self, judged, part, &plan.focus);
        let shown = |current| self.setting.shown(method, part, current);
        let expect = match (shown(carrying), shown(not)) {
            (Some(carrying), Some(not)) => Some(Expect {
                carrying,
                not,
                millivolts: method == Method::Drop,
            }),
            _ => None,
        };
        TestPlan {
            method,
            points: vec![feeds.id(part).to_owned()],
            part: Some(part),
            place,
            minutes: cost::minutes(method) + cost::reach(feeds, place, &self.open),
            disturbs: 0.0,
            entry: format!("{} {}", journal::word(method), feeds.id(part)),
            way: (method == Method::Clamp).then_some(Way::Clamp { turns: 1 }),
            expect,
        }
    }

    fn out_test(&self, point: &Point, unplugged: bool, parts: &[PartId]) -> TestPlan {
        let feeds = &self.setting.feeds;
        let method = if unplugged {
            Method::Unplug
        } else {
            Method::Pull
        };
        let place = parts.first().and_then(|p| feeds.place(*p));
        let name = self.name(point);
        TestPlan {
            method,
            part: parts.first().copied(),
            place,
            minutes: cost::minutes(method) + cost::reach(feeds, place, &self.open),
            disturbs: cost::chance_of_waking(feeds, parts),
            entry: format!("{} {name}", journal::word(method)),
            points: vec![name],
            way: None,
            expect: None,
        }
    }

    fn refit_test(&self, taken: &[&super::TakenOut]) -> TestPlan {
        let feeds = &self.setting.feeds;
        let names: Vec<String> = taken.iter().map(|t| t.name.clone()).collect();
        let parts: Vec<PartId> = taken.iter().flat_map(|t| t.parts.clone()).collect();
        TestPlan {
            method: Method::Refit,
            part: parts.first().copied(),
            place: parts.first().and_then(|p| feeds.place(*p)),
            minutes: cost::minutes(Method::Refit) * taken.len() as f64,
            disturbs: cost::chance_of_waking(feeds, &parts),
            entry: format!("refit {}", names.join(", ")),
            points: names,
            way: None,
            expect: None,
        }
    }

    /// The branch of a suspect: the path down to it, its excess, and the plugs to part.
    fn located(&self, subject: &Subject, judged: &Judgement<'_>) -> Located {
        let feeds = &self.setting.feeds;
        let seat = match subject {
            Subject::Part(part) | Subject::Unlisted(part) => Some(*part),
            Subject::Module(module) => feeds.module_feeds(*module).first().copied(),
            Subject::Input(name) => match feeds.find(name) {
                Some(crate::feeds::Named::Part(part)) => Some(*part),
                _ => None,
            },
        };
        let id = match subject {
            Subject::Part(part) => feeds.id(*part).to_owned(),
            Subject::Unlisted(part) => format!("unlisted at {}", feeds.id(*part)),
            Subject::Module(module) => feeds.module(*module).id.value.clone(),
            Subject::Input(name) => name.clone(),
        };
        let path = seat.map(|p| feeds.path(p)).unwrap_or_default();
        let mut unplug = Vec::new();
        for part in path.iter().rev() {
            let written = feeds.part(*part);
            let offered = measurement::offered(feeds, *part);
            if !offered.contains(&Method::Unplug) {
                continue;
            }
            let name = match &written.plug {
                Some(plug) => plug.value.clone(),
                None if written.kind == PartKind::Output => continue,
                None => written.id.value.clone(),
            };
            if !unplug.contains(&name) {
                unplug.push(name);
            }
        }
        let excess = seat.map_or_else(Interval::not_negative, |p| judged.excess(p));
        Located {
            id,
            path,
            excess,
            unplug,
        }
    }
}
