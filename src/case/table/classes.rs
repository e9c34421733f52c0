//! What a reading shows for each suspect: nothing of the drain, a part of it, or all of it.
//!
//! **Model.** A suspect that sits at a part raises the current there and above, by all that is searched.
//! Who holds modules awake raises each of their feeds: by what the file says of the feed; else by an
//! equal share of what it says of the module; else by an equal share of what is left of all that is
//! searched. That is a prediction, to plan by; no reading is judged by it. Where something of that flows
//! below a part, but not all, the reading shows a part of it: half as much or half as much again
//! (judgement: what a file says of a current is seldom closer). Only where the instrument shows that as
//! something else than nothing and than all, is it a sure outcome; else it counts for the floor alone.
//!
//! How large the part is, tells nothing more: one outcome for all who raise a part.

use super::{Plan, rows_below};
use crate::case::fold::Now;
use crate::case::taking_out::among;
use crate::feeds::{Feeds, ModuleId, PartId};
use crate::interval::Interval;
use crate::planner::table::Class;
use crate::quantity::Milliamps;
use std::ops::Range;

/// Suspects of the plan that sit at no part and raise the same: who holds the modules of one network.
#[derive(Clone, Debug)]
pub(super) struct Holders {
    /// Their rows, ascending.
    rows: Vec<u32>,
    /// What they raise, in tree order.
    raised: Vec<PartId>,
    /// Up to each of these: by how much together, in mA.
    sums: Vec<f64>,
}

/// How a reading shows what several suspects raise.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shows {
    All,
    /// So much of it, in mA.
    Some(f64),
    Nothing,
}

/// All of them in a plan.
#[derive(Clone, Debug)]
pub(super) struct AllHolders {
    alike: Vec<Holders>,
    /// What they raise, in tree order, with their number in that list.
    raised: Vec<(PartId, usize)>,
}

impl AllHolders {
    /// Those of a plan: they come last in it.
    pub(super) fn of(now: &Now<'_>, plan: &Plan<'_>) -> Self {
        let feeds = &now.setting.feeds;
        let suspects = &now.setting.suspects;
        // One of them, and the rows of all.
        let mut found: Vec<(usize, Vec<u32>)> = Vec::new();
        let rows = plan.suspects.suspects.iter().enumerate();
        for (row, index) in rows.skip(plan.suspects.seatless()) {
            let alike = |one: usize| suspects[one].raises == suspects[*index].raises;
            match found.iter_mut().find(|(one, _)| alike(*one)) {
                Some((_, rows)) => rows.push(row as u32),
                None => found.push((*index, vec![row as u32])),
            }
        }
        let holders = found.into_iter().map(|(one, rows)| {
            let mut shares = shares(feeds, &suspects[one].raises, plan.focus().needed);
            shares.sort_unstable_by_key(|(part, _)| *part);
            let raised = shares.iter().map(|(part, _)| *part).collect();
            let mut sums = vec![0.0];
            sums.extend(shares.iter().scan(0.0, |sum, (_, by)| {
                *sum += by;
                Some(*sum)
            }));
            Holders { rows, raised, sums }
        });
        let alike: Vec<Holders> = holders.collect();
        let raised = alike.iter().enumerate();
        let raised = raised.flat_map(|(at, one)| one.raised.iter().map(move |part| (*part, at)));
        let mut raised: Vec<(PartId, usize)> = raised.collect();
        raised.sort_unstable();
        Self { alike, raised }
    }

    /// The rows of those that have half of what they raise below these parts, or more. O(log n) for each part
    /// and what is raised below it.
    pub(super) fn half_below(&self, feeds: &Feeds, parts: &[PartId]) -> Vec<u32> {
        let below = parts
            .iter()
            .flat_map(|part| among(&self.raised, &feeds.subtree(*part)));
        let mut below: Vec<(usize, PartId)> = below.map(|(part, at)| (*at, *part)).collect();
        below.sort_unstable();
        below.dedup();
        let each = below.chunk_by(|a, b| a.0 == b.0);
        let half = each.filter(|raised| 2 * raised.len() >= self.alike[raised[0].0].raised.len());
        half.flat_map(|raised| self.alike[raised[0].0].rows.iter().copied())
            .collect()
    }
}

impl Holders {
    /// What of it flows in the current of a subtree, where so much is searched. O(log feeds).
    fn shows(&self, subtree: &Range<u32>, needed: f64) -> Shows {
        let from = self.raised.partition_point(|part| part.0 < subtree.start);
        let to = self.raised.partition_point(|part| part.0 < subtree.end);
        let flows = self.sums[to] - self.sums[from];
        if from == to {
            Shows::Nothing
        } else if to - from == self.raised.len() || flows >= needed {
            Shows::All
        } else if flows > 0.0 {
            Shows::Some(flows)
        } else {
            Shows::Nothing
        }
    }
}

/// By how much each feed is raised, in mA, where so much is searched.
fn shares(feeds: &Feeds, raises: &[(PartId, Option<f64>)], needed: f64) -> Vec<(PartId, f64)> {
    let of_module = |part: PartId| {
        let module = feeds.module_of(part)?;
        let undivided = undivided(feeds, module)?;
        let all = feeds.module_feeds(module).iter();
        let others = all.filter(|feed| feeds.part(**feed).awake.is_none());
        Some(undivided / others.count().max(1) as f64)
    };
    let said = raises.iter();
    let said = said.map(|(part, by)| (*part, by.or_else(|| of_module(*part))));
    let said: Vec<(PartId, Option<f64>)> = said.collect();
    let known: f64 = said.iter().filter_map(|(_, by)| *by).sum();
    let unknown = said.iter().filter(|(_, by)| by.is_none()).count();
    let share = (needed - known).max(0.0) / unknown.max(1) as f64;
    let each = said.into_iter();
    each.map(|(part, by)| (part, by.unwrap_or(share))).collect()
}

/// What the feeds of a module take more when it is awake, beside those of which that is known, in mA;
/// `None` where the file does not say what it takes awake.
fn undivided(feeds: &Feeds, module: ModuleId) -> Option<f64> {
    let awake = feeds.module(module).awake?.value();
    let taken = |feed: &PartId| {
        let usual = feeds.usual(*feed).0;
        feeds.part(*feed).awake.unwrap_or(usual).value()
    };
    let known: f64 = feeds.module_feeds(module).iter().map(taken).sum();
    Some((awake - known).max(0.0))
}

/// The outcomes of a reading, and from where to where a part of what is searched is taken for that.
pub(super) struct Classes {
    pub(super) classes: Vec<Class>,
    /// Beside what healthy parts take; `None` where nobody surely shows a part.
    pub(super) some: Option<Interval<Milliamps>>,
}

/// The classes of a reading of the current at a part; `told_apart` says whether the instrument shows such
/// a part of it as something else than nothing and than all.
pub(super) fn classes(
    now: &Now<'_>,
    plan: &Plan<'_>,
    holders: &AllHolders,
    part: PartId,
    told_apart: impl Fn(Interval<Milliamps>) -> bool,
) -> Classes {
    let needed = plan.focus().needed;
    let subtree = now.setting.feeds.subtree(part);
    let mut carrying = vec![rows_below(now, plan, part)];
    let (mut partly, mut perhaps) = (Vec::new(), Vec::new());
    let mut some: Option<Interval<Milliamps>> = None;
    for held in &holders.alike {
        let rows = held.rows.iter().map(|row| *row..*row + 1);
        match held.shows(&subtree, needed) {
            Shows::All => carrying.extend(rows),
            Shows::Some(flows) => {
                let taken = Interval::between(flows / 2.0, (1.5 * flows).min(needed));
                if told_apart(taken) {
                    partly.extend(rows);
                    some = Some(some.map_or(taken, |some| some.hull(taken)));
                } else {
                    perhaps.extend(rows);
                }
            }
            Shows::Nothing => {}
        }
    }
    let class = |rows: Vec<Range<u32>>, sure: bool| {
        let suspects = joined(rows);
        (!suspects.is_empty()).then_some(Class { suspects, sure })
    };
    let classes = [
        class(carrying, true),
        class(partly, true),
        class(perhaps, false),
    ];
    Classes {
        classes: classes.into_iter().flatten().collect(),
        some,
    }
}

/// Disjoint rows in order, neighbours in one range, without empty ranges.
fn joined(mut rows: Vec<Range<u32>>) -> Vec<Range<u32>> {
    rows.retain(|rows| !rows.is_empty());
    rows.sort_unstable_by_key(|rows| rows.start);
    rows.dedup_by(|next, kept| {
        let touches = kept.end == next.start;
        kept.end = if touches { next.end } else { kept.end };
        touches
    });
    rows
}
