//! A drain that comes and goes, and is away for the moment: that less flows with something out then proves
//! nothing. A log proves that is long enough, with that out, in which it did not come, once it was seen to
//! come again with it back in.
//!
//! | read | what it says |
//! | --- | --- |
//! | less with something out, by no more than comes and goes | nothing: it may be away |
//! | a log with that out, in which it came | what is out is not needed for it |
//! | a log with that out, long enough, in which it did not come | the draw while it would have been there |

use super::comes::Logged;
use super::facts::{Draw, Found, Pulled, Question};
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::readings::around_zero;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::{Point, log_of};
use crate::ledger::{Observation, Observed, Out};
use crate::measurement::{self, InLine, Method, Reading};
use crate::quantity::Milliamps;
use crate::suspects::Subject;

/// What comes and goes is not of one size: by this share it may be larger, or smaller, than it was entered
/// (judgement).
const WANDERS: f64 = 0.25;

/// Whether what comes and goes is of about the size it was said to have.
pub(super) fn is_size_of(size: f64, said: f64) -> bool {
    (size - said).abs() <= WANDERS * said
}

impl Now<'_> {
    /// How much comes and goes by itself at most, in mA; `None` where nothing is known to.
    pub(super) fn comes_by(&self) -> Option<f64> {
        let told: f64 = self.comes.iter().map(|comes| comes.pattern.size).sum();
        let most = told.max(self.came_back) * (1.0 + WANDERS);
        (most > 0.0).then_some(most)
    }

    /// What has to be reckoned with where so much is expected: what comes and goes may come while the meter is in.
    pub(super) fn with_what_comes(
        &self,
        expected: Option<Interval<Milliamps>>,
    ) -> Option<Interval<Milliamps>> {
        let expected = expected?;
        let there = self
            .comes_by()
            .map(|most| self.quiet().unwrap_or_default() + most);
        let high = expected.high().max(there.unwrap_or_default());
        Some(Interval::between(expected.low(), high))
    }

    /// What fell and returned by single draws, by no more than comes and goes, proves nobody any more.
    pub(super) fn unprove_by_minutes(&mut self) {
        let Some(most) = self.comes_by() else {
            return;
        };
        let matters = self.setting.healthy.enough_alone();
        let logs: Vec<u32> = self.logs.iter().map(|log| log.entry).collect();
        let by_minutes = |fell: Interval<Milliamps>, without: u32| {
            fell.low() > 0.0 && fell.low() - most < matters && !logs.contains(&without)
        };
        let (fall, stand): (Vec<Found>, Vec<Found>) = self
            .found
            .drain(..)
            .partition(|found| found.returned && by_minutes(found.fell, found.draws[1]));
        self.found = stand;
        if self
            .trial
            .as_ref()
            .is_some_and(|trial| by_minutes(trial.fell, trial.draws[1]))
        {
            self.trial = None;
        }
        let (quiet, rest): (Vec<Pulled>, Vec<Pulled>) = self
            .pulls
            .drain(..)
            .partition(|pulled| !pulled.vain && by_minutes(pulled.fell, pulled.draws[1]));
        self.pulls = rest;
        let read = quiet.iter().map(|pulled| pulled.draws[1]);
        let read: Vec<u32> = read
            .chain(fall.iter().map(|found| found.draws[1]))
            .collect();
        self.draws.retain(|draw| !read.contains(&draw.entry));
        self.readings
            .retain(|(_, reading)| !read.contains(&reading.entry));
        if !read.is_empty() {
            self.bound_anew();
        }
        if !fall.is_empty() {
            let subjects = fall.into_iter().map(|found| found.subject).collect();
            self.questions.push(Question::ProvenByMinutes(subjects));
        }
    }

    /// Keeps that the draw went, and came again, with nothing done meanwhile.
    pub(super) fn moved_by_itself(
        &mut self,
        before: Interval<Milliamps>,
        now: Interval<Milliamps>,
    ) {
        let limit = self.setting.healthy.limit();
        if before.low() > limit && now.low() <= limit {
            self.went = Some(before.low() - now.high());
        } else if before.low() <= limit && now.low() > limit {
            let went = self.went.take();
            self.came_back = went.map_or(self.came_back, |went| went.max(self.came_back));
        }
    }

    /// Whether a settled draw is as low as this only because what comes and goes may be away.
    pub(super) fn may_be_away(&self, draw: &Draw) -> bool {
        let Some(most) = self.comes_by() else {
            return false;
        };
        let base = self.base();
        let limit = self.setting.healthy.limit();
        let over = |before: &&Draw| before.current.low() > limit;
        let same = self.draw_with(&draw.out).filter(over);
        let Some(before) = same.or_else(|| self.draw_with(&base)) else {
            return false;
        };
        let alike = before.out == draw.out;
        let (now, before) = draw.against(before);
        if before.low() <= limit {
            // It was not there before either.
            return draw.out != base && !now.above(before);
        }
        let fell = before.minus(now).low();
        let matters = self.setting.healthy.enough_alone();
        fell > 0.0 && fell - most < matters && (!alike || now.low() <= limit)
    }

    /// It may be away: nothing that was read while it was there is given up for it.
    pub(super) fn is_away_now(&mut self, draw: Draw) {
        if draw.out != self.base() && self.draw_with(&draw.out).is_none() {
            self.questions.push(Question::MayBeAway(draw.current));
        }
        self.away = Some(draw);
        self.keep_quiet();
        self.doubted = None;
        self.risen = None;
        self.fresh = true;
        self.since_total = 0;
        self.broken = false;
        self.was_awake = false;
        self.since.clear();
    }

    /// The least draw that was read while it was away, by its highest end, in mA.
    pub(super) fn quiet(&self) -> Option<f64> {
        let limit = self.setting.healthy.limit();
        let away = self.away.iter().map(|draw| self.quiet_of(draw));
        let base = self.draw_with(&self.base()).into_iter();
        let base = base.filter(|draw| draw.current.low() <= limit);
        let base = base.map(|draw| self.quiet_of(draw));
        let before = self.quiet_before.into_iter();
        away.chain(base).chain(before).reduce(f64::min)
    }

    /// How much flows while it is away by a draw, in mA: of one that was read as it jumped the lower end.
    fn quiet_of(&self, draw: &Draw) -> f64 {
        if self.holds_what_comes(draw.current) {
            draw.current.low()
        } else {
            draw.current.high()
        }
    }

    /// Whether a draw is as wide as what comes and goes: it was read while that came and went.
    fn holds_what_comes(&self, draw: Interval<Milliamps>) -> bool {
        let most = self.comes_by().map(|most| most / (1.0 + WANDERS));
        most.is_some_and(|most| draw.width() >= most / 2.0)
    }

    /// Keeps how much flows while it is away, before what was read then gives way to what is read while it is there.
    pub(super) fn keep_quiet(&mut self) {
        self.quiet_before = self.quiet();
    }

    /// A draw as it is on average, where what comes and goes does so regularly.
    pub(super) fn on_average(&self, draw: Interval<Milliamps>) -> Interval<Milliamps> {
        let means = self.comes.iter().filter_map(|comes| comes.pattern.mean());
        let mean: f64 = means.sum();
        if mean <= 0.0 {
            return draw;
        }
        let exactly = |ma: f64| Interval::exactly(Milliamps::of(ma));
        let is_there = draw.low() > self.setting.healthy.limit();
        let quiet = if is_there {
            exactly(self.quiet().unwrap_or_default())
        } else {
            draw
        };
        quiet.plus(exactly(mean))
    }

    /// The draw with just the proven drains out as it is while what comes and goes is there: as it was read, or by
    /// the quiet draw and what comes. Whether there is one.
    pub(super) fn as_it_is_there(&mut self) -> bool {
        let base = self.base();
        let limit = self.setting.healthy.limit();
        let Some(before) = self.draw_with(&base).cloned() else {
            return false;
        };
        if before.current.low() > limit {
            return true;
        }
        let largest =
            |a: &&super::Comes, b: &&super::Comes| a.pattern.size.total_cmp(&b.pattern.size);
        let Some(comes) = self.comes.iter().max_by(largest).copied() else {
            return false;
        };
        let size = comes.pattern.size;
        let more = Interval::between(size * (1.0 - WANDERS), size * (1.0 + WANDERS));
        let there = Draw {
            entry: comes.entry,
            current: before.current.plus(more),
            flows: before.flows.plus(more),
            ..before
        };
        if there.current.low() <= limit {
            return false;
        }
        self.keep_quiet();
        self.new_spell();
        self.ledger.visit(&there.out);
        self.draws.push(there.clone());
        self.post(
            Method::Draw,
            Observation {
                entry: there.entry,
                out: there.out.clone(),
                what: Observed::Current(PartId(0), there.flows),
            },
        );
        if there.out.is_empty() {
            self.over = Some(there);
        }
        true
    }

    /// What a log says of what was out during it, or of what is back in.
    pub(super) fn log_tells(&mut self, kept: &Logged, most: Option<&Reading>) {
        if self.comes_by().is_none() {
            return;
        }
        let base = self.base();
        let out = self.out_set();
        let known = self.trial.is_some() || out != base;
        if !known {
            return;
        }
        let Some(most) = most else {
            self.questions.push(Question::LogWithoutHighest);
            return;
        };
        let quiet = self.draws.last().map(|draw| draw.current);
        let Some(way) = self.way_of_draw(quiet, true) else {
            return;
        };
        let current = measurement::current_by(way, *most, &self.setting.instruments);
        let (Some(current), Some(quiet)) = (current.and_then(around_zero), self.quiet()) else {
            return;
        };
        let size = self.comes_by().unwrap_or_default() / (1.0 + WANDERS);
        let came = current.high() >= quiet + size / 2.0;
        let least = self.log_at_least();
        if !came && kept.minutes < least {
            let short = Question::LogTooShort(kept.minutes, self.stays_away(), least);
            self.questions.push(short);
            return;
        }
        if came && !self.asleep {
            // Its highest may be from before it slept.
            self.questions.push(Question::NotAsleep);
            return;
        }
        if !self.as_it_is_there() {
            return;
        }
        if !self.asleep {
            (self.asleep, self.stirred) = (true, 0.0);
        }
        let in_line = InLine::of(way, self.setting.feeds.volts(), &self.setting.instruments);
        let draw = Draw {
            entry: kept.entry,
            out: out.clone(),
            current,
            flows: in_line.without(current),
            way,
        };
        (self.hasty, self.still) = (false, true);
        self.believe(&draw, false);
        if let Some(log) = self.logs.last_mut() {
            log.came = Some(came);
        }
        if out != base {
            let beside = self
                .out
                .iter()
                .filter(|taken| !taken.is_out_in(&self.setting.feeds, &base));
            let names = beside.map(|taken| taken.name.clone()).collect();
            self.questions
                .push(Question::LoggedWithout(names, kept.minutes, came));
        }
    }

    /// What did not come with something out is said to come, with that back in: as if the draw had been read while it
    /// was there.
    pub(super) fn came_again(&mut self, entry: u32, size: f64) {
        let base = self.base();
        if self.trial.is_none() || self.out_set() != base {
            return;
        }
        if !self.asleep {
            self.questions.push(Question::NotAsleep);
            return;
        }
        let (Some(before), Some(quiet)) = (self.draw_with(&base).cloned(), self.quiet()) else {
            return;
        };
        let current = Interval::between(size * (1.0 - WANDERS), quiet + size * (1.0 + WANDERS));
        let there = Draw {
            entry,
            current,
            flows: current,
            ..before
        };
        self.believe(&there, true);
    }

    /// Whether the draw rose by what was said to come.
    pub(super) fn has_come(&self, draw: &Draw) -> bool {
        let told: f64 = self.comes.iter().map(|comes| comes.pattern.size).sum();
        let Some(before) = self.draw_with(&self.base()).filter(|_| told > 0.0) else {
            return false;
        };
        let limit = self.setting.healthy.limit();
        let (now, before) = draw.against(before);
        let rose = now.minus(before);
        before.low() <= limit && rose.high() >= told / 2.0 && rose.low() <= told * (1.0 + WANDERS)
    }

    /// How long a log has to be that says that it does not come any more, in minutes.
    pub(super) fn log_at_least(&self) -> f64 {
        self.watch().minutes
    }

    /// Whether a draw was not read as such: it is the highest of a log, or follows from what was said to come.
    pub(super) fn is_of_a_log(&self, draw: &Draw) -> bool {
        !self.shown.iter().any(|shown| shown.entry == draw.entry)
    }

    /// The step while what comes and goes is, or may be, away: what is out is left out and logged; what is back in
    /// is seen to come.
    pub(super) fn while_it_is_away(&self, out: &Out, base: &Out) -> Option<Next> {
        self.comes_by()?;
        if out == base {
            let known = self.draw_with(base)?;
            let is_there = known.current.low() > self.setting.healthy.limit();
            if self.away.is_some() {
                let mut next = self.bare(State::Gone, Reason::Vanished);
                next.watch = Some(self.watch());
                return Some(next);
            }
            let moved = is_there && !self.fresh && self.may_draw();
            return moved.then(|| {
                self.asleep_first(|| Next {
                    reason: Reason::IsItThere,
                    ..self.total_first(State::Measure)
                })
            });
        }
        let away = self.away.as_ref()?;
        if self.draw_with(out).is_some() {
            return None;
        }
        let minutes = self.log_at_least();
        let mut next = self.bare(State::Confirm, Reason::LogWithout(minutes));
        next.test = self.log_test(away.current, minutes);
        Some(next)
    }

    /// What comes and goes is away, and the draw too coarse to say that nothing else is over the limit: nothing is
    /// searched on a quiet vehicle.
    pub(super) fn quiet_now(&self, base: &Out, total: Interval<Milliamps>) -> Option<Next> {
        self.comes_by()?;
        let is_there = total.low() > self.setting.healthy.limit() || self.holds_what_comes(total);
        let mut next = self.bare(State::Gone, Reason::QuietNow);
        next.watch = Some(self.watch());
        (base.is_empty() && !is_there).then_some(next)
    }

    /// What is back in is seen to come again, or not.
    pub(super) fn see_it_come(&self, subject: &Subject) -> Next {
        let mut next = self.bare(State::Confirm, Reason::SeeItCome(self.log_at_least()));
        next.test = self.draw_test(self.total(&self.base()), true);
        next.located = vec![self.located(subject, &self.judged_in())];
        next
    }

    fn log_test(&self, quiet: Interval<Milliamps>, minutes: f64) -> Option<super::TestPlan> {
        let test = self.draw_test(Some(quiet), true)?;
        Some(super::TestPlan {
            method: Method::Log,
            minutes,
            points: vec![self.name(&Point::Battery)],
            entry: log_of(minutes),
            ..test
        })
    }
}
