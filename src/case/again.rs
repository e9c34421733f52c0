//! Readings that clash, or that do not count: which of them to take again.

use super::asked::TestPlan;
use super::facts::{Draw, Question};
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::table::{Plan, Reading as At};
use super::{Case, Entry, Recorded, readings};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::{self, Act, Point, Refusal};
use crate::judgement::{Judgement, Standing};
use crate::ledger::{Observed, Out};
use crate::measurement::{self, Method, Way};
use crate::planner::Step;
use crate::quantity::Milliamps;

/// Why a draw was taken back in whose place another one came.
const TAKEN_AGAIN: &str = "taken again";

impl Now<'_> {
    /// A reading at a part that does not count is asked for by the next step, once; not where it takes something
    /// let in, which would break the supply again for a slip.
    pub(super) fn ask_again(&mut self, method: Method, part: PartId) {
        let as_it_is = matches!(method, Method::Drop | Method::Clamp);
        if as_it_is && self.repeated.insert((method, part)) {
            self.repeat = Some((method, part));
        }
    }

    /// The step that takes the latest reading once more, where it does not count and could still tell of the
    /// drain.
    pub(super) fn reading_once_more(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        out: &Out,
    ) -> Option<Next> {
        self.take_again(self.repeat?, plan, judged, out)
    }

    /// The same of the reading that was withdrawn last, before a step that is dearer.
    pub(super) fn withdrawn_once_more(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        step: Option<Step>,
        out: &Out,
    ) -> Option<Next> {
        let dear = step.is_none_or(|step| self.step_is_dear(plan, step));
        let withdrawn = self.withdrawn.filter(|_| dear)?;
        self.take_again(withdrawn, plan, judged, out)
    }

    fn take_again(
        &self,
        (method, part): (Method, PartId),
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        out: &Out,
    ) -> Option<Next> {
        let feeds = &self.setting.feeds;
        if out.cuts(feeds, part) || self.is_skipped(method, feeds.id(part)) {
            return None;
        }
        let standing = judged.standing(part);
        if !matches!(standing, Standing::InQuestion | Standing::Carrying) {
            return None;
        }
        Some(self.asleep_first(|| {
            let mut next = self.bare(State::Measure, Reason::DoesNotCount);
            next.test = Some(self.reading_test(plan, judged, At::of(method, part)));
            next
        }))
    }
}

/// So many clamp readings of nearly the same current, wherever the jaws were, are of a clamp that is not zeroed
/// (judgement), and how near the largest the least of them is then (judgement).
const ALL_ALIKE: usize = 3;
const ALIKE_TO: f64 = 0.85;

impl Now<'_> {
    /// The draws, by their entries, in whose place this one comes: readings clash, and it is one of them, taken again
    /// with the same out.
    pub(super) fn taken_again(&self, act: &Act) -> Vec<u32> {
        let Act::Read {
            method: Method::Draw,
            reading,
            options,
            ..
        } = act
        else {
            return Vec::new();
        };
        let way = readings::way(Method::Draw, options);
        let current = measurement::current_by(way, *reading, &self.setting.instruments);
        let Some(current) = current.and_then(readings::around_zero) else {
            return Vec::new();
        };
        let (clash, out) = (self.ledger.clash(), self.out_set());
        let other = |draw: &&Draw| draw.out == out && !draw.current.touches(current);
        let others: Vec<u32> = self.draws.iter().filter(other).map(|d| d.entry).collect();
        let clashes = self.asleep && others.iter().any(|entry| clash.contains(entry));
        if clashes { others } else { Vec::new() }
    }

    /// What readings that clash make one ask: whether the clamp is zeroed, else which of them is a slip.
    pub(super) fn why_they_clash(&self) -> Option<Question> {
        if self.ledger.holds_together() {
            return None;
        }
        self.not_zeroed()
            .or_else(|| self.adds_up_by_clamp())
            .or_else(|| self.slipped())
    }

    /// Whether what the clamp showed in several branches is together more than the draw, and each of them could be
    /// too much by the same: its zero.
    fn adds_up_by_clamp(&self) -> Option<Question> {
        let feeds = &self.setting.feeds;
        let clash = self.ledger.clash();
        let out = self.out_set();
        let draw = self.draw_with(&out)?;
        let clamped = self.readings.iter().filter_map(|(method, reading)| {
            let counts = *method == Method::Clamp && reading.out == out;
            match reading.what {
                Observed::Current(part, current) if counts => Some((reading.entry, part, current)),
                _ => None,
            }
        });
        let clamped: Vec<(u32, PartId, Interval<Milliamps>)> = clamped.collect();
        let top = |part: PartId| {
            let mut others = clamped.iter();
            !others.any(|(_, other, _)| *other != part && feeds.is_below(part, *other))
        };
        let branches = || clamped.iter().filter(|(_, part, _)| top(*part));
        let (least, together) = branches().fold((f64::INFINITY, 0.0), |(least, sum), branch| {
            (branch.2.high().min(least), sum + branch.2.low())
        });
        // The draw by the same clamp has the same in it once.
        let by_clamp = matches!(draw.way, Way::Clamp { .. });
        let times = branches().count() as f64 - f64::from(u8::from(by_clamp));
        let beyond = together - draw.current.high();
        let clashes = branches().any(|(entry, ..)| clash.contains(entry));
        let its_zero = times >= 1.0 && beyond > 0.0 && beyond / times <= least;
        (branches().count() > 1 && clashes && its_zero).then(|| Question::ClampAddsUp {
            entries: clamped.iter().map(|(entry, ..)| *entry).collect(),
            together,
            draw: draw.current,
        })
    }

    /// Whether the clamp showed nearly the same whatever was in its jaws, in some of the readings that clash.
    fn not_zeroed(&self) -> Option<Question> {
        let clash = self.ledger.clash();
        let by_clamp = |entry: u32| {
            let mut draws = self.draws.iter();
            draws.any(|d| d.entry == entry && matches!(d.way, Way::Clamp { .. }))
        };
        let shown = self.readings.iter().filter_map(|(method, reading)| {
            let Observed::Current(part, current) = reading.what else {
                return None;
            };
            let clamped =
                *method == Method::Clamp || *method == Method::Draw && by_clamp(reading.entry);
            let middle = f64::midpoint(current.low(), current.high());
            clamped.then_some((reading.entry, part, middle))
        });
        let shown: Vec<(u32, PartId, f64)> = shown.collect();
        let clashing = || shown.iter().filter(|(entry, ..)| clash.contains(entry));
        let most = clashing().map(|(.., middle)| *middle).fold(0.0, f64::max);
        let alike = || {
            shown
                .iter()
                .filter(|(.., middle)| *middle >= ALIKE_TO * most)
        };
        let mut parts: Vec<PartId> = alike().map(|(_, part, _)| *part).collect();
        parts.sort_unstable();
        parts.dedup();
        let of_the_clash = alike().filter(|(entry, ..)| clash.contains(entry)).count();
        (parts.len() >= ALL_ALIKE && of_the_clash > 1)
            .then(|| Question::NotZeroed(alike().map(|(entry, ..)| *entry).collect(), most))
    }
}

impl Case<'_> {
    /// Where readings clash, takes back those draws in whose place this one comes.
    pub(super) fn replace(
        &mut self,
        act: &Act,
        recorded: &mut Recorded,
    ) -> Result<Option<Question>, Refusal> {
        let mut replaced = self.now.taken_again(act);
        // The total of a reading at a part goes with that reading.
        replaced.retain(|number| {
            let entry = self.entry(*number).map(|entry| &entry.act);
            matches!(
                entry,
                Some(Act::Read {
                    method: Method::Draw,
                    ..
                })
            )
        });
        if !replaced.is_empty()
            && let Some(Question::NotZeroed(others, _)) = self.now.not_zeroed()
        {
            // What the same clamp showed too much elsewhere goes as well.
            replaced.extend(others);
            replaced.sort_unstable();
            replaced.dedup();
        }
        for number in &replaced {
            let back = Act::Withdraw {
                entry: *number,
                reason: TAKEN_AGAIN.to_owned(),
            };
            recorded.entries.push(self.keep((back, None), "withdraw")?);
        }
        Ok((!replaced.is_empty()).then_some(Question::InThePlaceOf(replaced)))
    }

    /// Of readings that clash the doubtful one: the first of two taken alike, for it was read again, else
    /// the latest.
    pub fn doubtful(&self, clash: &[u32]) -> Option<u32> {
        let clashing = |entry: &&Entry| clash.contains(&entry.number);
        let entries: Vec<&Entry> = self.entries.iter().filter(clashing).collect();
        let alike = |one: &Entry, two: &Entry| match (&one.act, &two.act) {
            (
                Act::Read { method, point, .. },
                Act::Read {
                    method: other,
                    point: there,
                    ..
                },
            ) => method == other && point == there && *method != Method::Draw,
            _ => false,
        };
        let twice = entries.iter().enumerate().find(|(at, one)| {
            let mut later = entries[at + 1..].iter();
            later.any(|two| alike(one, two))
        });
        let read = |entry: &&&Entry| matches!(entry.act, Act::Read { .. });
        let last = entries.iter().rev().find(read).or(entries.last());
        let doubtful = twice.map(|(_, entry)| entry).or(last);
        doubtful.map(|entry| entry.number)
    }

    /// The doubtful one of readings that clash, to be taken again.
    pub fn again(&self, clash: &[u32]) -> Option<TestPlan> {
        let entry = self.entry(self.doubtful(clash)?)?;
        let Act::Read {
            method,
            point,
            options,
            ..
        } = &entry.act
        else {
            return None;
        };
        let way = readings::way(*method, options);
        let turned = match way {
            Way::Clamp { turns } if turns > 1 => format!(" turns {turns}"),
            _ => String::new(),
        };
        let (part, text) = match point {
            Point::Part(part) => {
                let name = self.name(point);
                (*part, format!("{} {name}{turned}", journal::word(*method)))
            }
            _ => (PartId(0), "draw".to_owned()),
        };
        Some(TestPlan {
            points: vec![self.name(point)],
            part: Some(part),
            way: Some(way),
            ..TestPlan::new(*method, text)
        })
    }

    pub(super) fn entry(&self, number: u32) -> Option<&Entry> {
        self.entries.get(number.checked_sub(1)? as usize)
    }
}
