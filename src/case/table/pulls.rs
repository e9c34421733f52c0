//! Taking things out and reading the draw: one by itself, or several of one place together.
//!
//! **Why together.** A plain meter cannot show a small drain across a large fuse. Pulled one by one each
//! of those fuses costs a settle; half of what is left of the drain in one box, pulled together, costs one.
//! The draw that falls then says as much as a reading above them all would, less what healthy parts among
//! them may take.

use super::classes::AllHolders;
use super::{Doing, Places, Plan, WAKES, rows_below_any};
use crate::case::facts::{Pulled, TakenOut};
use crate::case::fold::Now;
use crate::case::taking_out::{TakeOut, among};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::Point;
use crate::judgement::Judgement;
use crate::measurement::{self, Method};
use crate::planner::table::{Class, Test};
use crate::quantity::Milliamps;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// No more are pulled together than one can keep in order on the bench (judgement).
const MOST_TOGETHER: usize = 12;

/// One thing that could be pulled, and how likely the drain is in it.
struct Candidate<'s> {
    way: &'s TakeOut,
    share: f64,
}

/// Taking a branch out, or several together, and reading the draw.
pub(super) fn add_pulls<'s>(
    now: &Now<'s>,
    judged: &Judgement<'_>,
    (places, holders): (&Places, &AllHolders),
    plan: &mut Plan<'s>,
) {
    let needed = plan.focus().needed;
    if !now.fall_shows(judged, needed) {
        return;
    }
    let tried = Tried::of(now, plan);
    let alone = alone(now, plan, &tried);
    let odds = plan.shares();
    for group in together(now, plan, &alone, (&odds, &tried)) {
        let beside = now.healthy_among(&parts_of(&group));
        if now.fall_shows(judged, needed - beside) {
            add(now, (places, holders), plan, group);
        }
    }
    for way in alone {
        add(now, (places, holders), plan, vec![way]);
    }
}

/// What can come out by itself and would tell something.
fn alone<'s>(now: &Now<'s>, plan: &Plan<'_>, tried: &Tried<'_>) -> Vec<&'s TakeOut> {
    let setting = now.setting;
    let feeds = &setting.feeds;
    let out = now.out_set();
    let base = now.base();
    let mut names = BTreeSet::new();
    let mut found = Vec::new();
    for part in feeds.subtree(plan.focus().top).map(PartId).skip(1) {
        let Some(way) = setting.ways_out_at(part) else {
            continue;
        };
        // A load with a plug of its own comes out for a proof only.
        if feeds.is_leaf(part) && way.parts.len() == 1 {
            continue;
        }
        if base.cuts(feeds, part) || out.cuts(feeds, part) && !now.is_out(way) {
            continue;
        }
        // What shares a plug comes out once.
        if let Point::Plug(plug, _) = &way.point
            && !names.insert(plug.as_str())
        {
            continue;
        }
        if tried.tell(now, plan, &way.parts)
            || now.is_way_skipped(way)
            || now.is_skipped(way.method(), feeds.id(part))
        {
            continue;
        }
        found.push(way);
    }
    found
}

/// Several of one place that could be pulled together: the likeliest of them, up to half of all there is
/// and fewer; what may wake the vehicle apart from what does not.
fn together<'s>(
    now: &Now<'s>,
    plan: &Plan<'_>,
    alone: &[&'s TakeOut],
    (odds, tried): (&[f64], &Tried<'_>),
) -> Vec<Vec<&'s TakeOut>> {
    let mut boxes: BTreeMap<PlaceId, Vec<Candidate<'s>>> = BTreeMap::new();
    let feeds = &now.setting.feeds;
    let mut until = 0;
    for way in alone {
        let Some(place) = way.place.filter(|_| way.method() == Method::Pull) else {
            continue;
        };
        let rows = |rows: Range<u32>| &odds[rows.start as usize..rows.end as usize];
        let silenced = rows_below_any(now, plan, &way.parts);
        let share: f64 = silenced.into_iter().flat_map(rows).sum();
        let Some(first) = way.parts.first() else {
            continue;
        };
        // A circuit with a waiting time of its own is not pulled by the way.
        if now.setting.is_careful(*first) {
            continue;
        }
        // With the larger part of it behind one thing, what comes out below that parts it better.
        if first.0 < until || share > 0.5 {
            continue;
        }
        until = feeds.subtree(*first).end;
        let candidates = boxes.entry(place).or_default();
        candidates.push(Candidate { way, share });
    }
    let mut groups = Vec::new();
    for mut candidates in boxes.into_values() {
        candidates.sort_by(|a, b| b.share.total_cmp(&a.share));
        let quiet = |one: &&Candidate<'_>| now.setting.chance_of_waking(&one.way.parts) <= WAKES;
        let calm: Vec<&Candidate<'_>> = candidates.iter().filter(quiet).collect();
        let all: Vec<&Candidate<'_>> = candidates.iter().collect();
        if calm.len() < all.len() {
            groups.extend(sizes(&calm));
        }
        groups.extend(sizes(&all));
    }
    for group in &mut groups {
        group.sort_by_key(|way| way.parts.first().copied());
    }
    groups.retain(|group| !tried.tell(now, plan, &parts_of(group)));
    groups
}

/// The first of them, likeliest first: two, four and so on, and as many as hold half of all there is.
fn sizes<'s>(candidates: &[&Candidate<'s>]) -> Vec<Vec<&'s TakeOut>> {
    let most = candidates.len().min(MOST_TOGETHER);
    let half = candidates.iter().scan(0.0, |sum, one| {
        *sum += one.share;
        Some(*sum)
    });
    let half = 1 + half.take_while(|sum| *sum < 0.5).count();
    let powers = std::iter::successors(Some(2), |size| Some(size * 2));
    let mut sizes: BTreeSet<usize> = powers.take_while(|size| *size < most).collect();
    sizes.extend([half.min(most), most]);
    let taken = sizes.into_iter().filter(|size| *size > 1);
    taken
        .map(|size| candidates[..size].iter().map(|one| one.way).collect())
        .collect()
}

/// What was taken out with just the proven drains out.
struct Tried<'a> {
    needed: f64,
    pulls: Vec<Try<'a>>,
}

/// One of them.
struct Try<'a> {
    pulled: &'a Pulled,
    /// Those of its parts that are in question still, and the rows below them.
    open: Vec<PartId>,
    rows: Vec<Range<u32>>,
}

impl<'a> Tried<'a> {
    fn of(now: &'a Now<'_>, plan: &Plan<'_>) -> Self {
        let here: Vec<&Pulled> = now.pulls_here().collect();
        let vain = here.iter().filter(|pulled| pulled.in_vain());
        let cleared: BTreeSet<PartId> = vain.flat_map(|pulled| pulled.parts.clone()).collect();
        let pulls = here.into_iter().map(|pulled| {
            let mut open = pulled.parts.clone();
            open.retain(|part| !cleared.contains(part));
            Try {
                pulled,
                rows: rows_below_any(now, plan, &open),
                open,
            }
        });
        Self {
            needed: plan.focus().needed,
            pulls: pulls.collect(),
        }
    }

    /// Whether they tell what the draw does without these: taken out with them, perhaps with more, nothing
    /// that matters fell; or it fell, and nothing else that is in question was out; or without some of
    /// them too little was left to be what is searched.
    fn tell(&self, now: &Now<'_>, plan: &Plan<'_>, parts: &[PartId]) -> bool {
        if self.pulls.is_empty() {
            return false;
        }
        let rows = rows_below_any(now, plan, parts);
        self.pulls.iter().any(|one| {
            let pulled = one.pulled;
            let covers = || parts.iter().all(|part| pulled.parts.contains(part));
            let covered = || one.open.iter().all(|part| parts.contains(part));
            (pulled.in_vain() || one.rows == rows) && covers()
                || !pulled.in_vain() && pulled.without.high() < self.needed && covered()
        })
    }
}

/// A test of the table: these out, the draw read.
fn add<'s>(
    now: &Now<'s>,
    (places, holders): (&Places, &AllHolders),
    plan: &mut Plan<'s>,
    ways: Vec<&'s TakeOut>,
) {
    let setting = now.setting;
    let parts = parts_of(&ways);
    let mut silenced = rows_below_any(now, plan, &parts);
    // One thing alone leaves a holder the feeds it has elsewhere.
    if ways.len() > 1 {
        silenced.extend(holders_gone(now, plan, holders, &parts));
    }
    let counted: u32 = silenced.iter().map(|rows| rows.end - rows.start).sum();
    if counted == 0 || counted == plan.suspects.len() as u32 {
        return;
    }
    let chance = now.one_wakes(ways.iter().copied());
    let pulled = now.not_out_yet(&ways).len() as f64 * setting.minutes(ways[0].method());
    let back = now.to_go_back(&ways).len() as f64 * setting.minutes(Method::Refit);
    plan.table.tests.push(Test {
        minutes: pulled
            + back
            + chance * setting.feeds.settle().value()
            + setting.minutes(Method::Draw),
        place: places.number(ways[0].place),
        instrument: None,
        classes: vec![Class {
            suspects: silenced,
            sure: true,
        }],
        inconclusive: 0.0,
        harms: setting.chance_of_waking(&parts) > WAKES,
    });
    plan.tests.push(Doing::Out(ways));
}

/// The rows of those that sit at no part and show by a fall when these are out: they have lost their feed,
/// or half of what they raise or more has.
fn holders_gone(
    now: &Now<'_>,
    plan: &Plan<'_>,
    holders: &AllHolders,
    parts: &[PartId],
) -> Vec<Range<u32>> {
    let setting = now.setting;
    let left = &plan.suspects;
    let below = parts.iter().map(|part| setting.feeds.subtree(*part));
    let live = below.flat_map(|below| among(&setting.living, &below));
    let gone = live.filter(|(_, holder)| setting.silenced(&setting.suspects[*holder], parts));
    let gone = gone.filter_map(|(_, holder)| left.suspects.binary_search(holder).ok());
    let mut rows = holders.half_below(&setting.feeds, parts);
    rows.extend(gone.map(|row| row as u32));
    rows.sort_unstable();
    rows.dedup();
    rows.into_iter().map(|row| row..row + 1).collect()
}

fn parts_of(ways: &[&TakeOut]) -> Vec<PartId> {
    ways.iter().flat_map(|way| &way.parts).copied().collect()
}

impl Pulled {
    /// Nothing that matters fell beside what healthy parts may take.
    pub(in crate::case) fn in_vain(&self) -> bool {
        self.vain || self.beyond < self.matters
    }
}

impl<'s> Now<'s> {
    /// Whether just this is out now.
    fn is_out(&self, way: &TakeOut) -> bool {
        self.out.iter().any(|taken| taken.parts == way.parts)
    }

    /// Whether these were out, perhaps with more, and nothing that matters fell.
    fn is_cleared(&self, parts: &[PartId]) -> bool {
        let covers = |pulled: &Pulled| parts.iter().all(|part| pulled.parts.contains(part));
        self.pulls_here()
            .any(|pulled| pulled.in_vain() && covers(pulled))
    }

    /// Those that have still to come out for such a test.
    pub(in crate::case) fn not_out_yet(&self, ways: &[&'s TakeOut]) -> Vec<&'s TakeOut> {
        let mut ways = ways.to_vec();
        ways.retain(|way| !self.is_out(way));
        ways
    }

    /// With all of them out: what else has to go back in before the draw tells, where the drain may be in
    /// it. What was cleared stays out.
    pub(in crate::case) fn to_go_back(&self, ways: &[&TakeOut]) -> Vec<&TakenOut> {
        if !ways.iter().all(|way| self.is_out(way)) {
            return Vec::new();
        }
        let wanted = |taken: &TakenOut| ways.iter().any(|way| way.parts == taken.parts);
        let mut back = self.out_beside(&self.base());
        back.retain(|taken| !wanted(taken) && !self.is_cleared(&taken.parts));
        back
    }

    /// What is out beside proven drains and was not cleared, where that is more than one thing.
    pub(in crate::case) fn several_in_question(&self) -> Vec<PartId> {
        let mut beside = self.out_beside(&self.base());
        beside.retain(|taken| !self.is_cleared(&taken.parts));
        if beside.len() < 2 {
            return Vec::new();
        }
        beside
            .iter()
            .flat_map(|taken| taken.parts.clone())
            .collect()
    }

    /// Whether any fall could be proven: from the least that is drawn now to the most that a display of
    /// nothing can hide.
    pub(in crate::case) fn proof_shows(&self, judged: &Judgement<'_>) -> bool {
        let before = judged.view().current(PartId(0));
        let Some(way) = self.way_of_draw(Some(before), true) else {
            return true;
        };
        let nothing = measurement::Reading {
            low: 0.0,
            high: 0.0,
            unit: measurement::Unit::Milliamps,
            step: 0.0,
            over: false,
        };
        let hidden = measurement::current_by(way, nothing, &self.setting.instruments);
        let hidden = hidden.map_or(0.0, Interval::high);
        before.low() - hidden >= judged.matters()
    }

    /// Whether a fall by that much would show on the instrument that takes the draw.
    pub(in crate::case) fn fall_shows(&self, judged: &Judgement<'_>, needed: f64) -> bool {
        let before = judged.view().current(PartId(0));
        let Some(way) = self.way_of_draw(Some(before), true) else {
            return false;
        };
        let half = |current: f64| {
            let exactly = Interval::exactly(Milliamps::of(current.max(0.0)));
            let shown = measurement::current_shown(way, exactly, &self.setting.instruments);
            shown.map_or(f64::INFINITY, |shown| shown.width() / 2.0)
        };
        // Each reading may be off by its accuracy, and is then taken for anything within it.
        let before = before.high().min(1e5);
        needed > 2.0 * (half(before) + half(before - needed))
    }
}
