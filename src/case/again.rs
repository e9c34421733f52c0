//! Readings that clash: which of them to take again.

use super::asked::TestPlan;
use super::{Case, Entry, readings};
use crate::feeds::PartId;
use crate::journal::{self, Act, Point};
use crate::measurement::{Method, Way};

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
