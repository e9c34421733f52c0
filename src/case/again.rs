//! Readings that clash, or that do not count: which of them to take again.

use super::asked::TestPlan;
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::table::{Plan, Reading as At};
use super::{Case, Entry, readings};
use crate::feeds::PartId;
use crate::journal::{self, Act, Point};
use crate::judgement::{Judgement, Standing};
use crate::ledger::Out;
use crate::measurement::{Method, Way};

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
        let (method, part) = self.repeat?;
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

impl Case<'_> {
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

    fn entry(&self, number: u32) -> Option<&Entry> {
        self.entries.get(number.checked_sub(1)? as usize)
    }
}
