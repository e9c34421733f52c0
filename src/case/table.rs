//! From a case to the planner's table: suspects left with their weights, tests that can tell them apart.

use super::falls::Falls;
use super::fold::Now;
use super::regions::{Region, is_wiring, touches};
use super::taking_out::{Sought, TakeOut};
use super::weights::{AT_ONCE, Odds};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::measurement::{Method, Way};
use crate::planner::Step;
use crate::planner::table::{Class, Place, Suspect as Row, Table, Test};
use crate::quantity::Milliamps;
use crate::suspects::shares;
use std::collections::BTreeMap;
use std::ops::Range;

mod classes;
mod pulls;
mod readings;

pub(super) use readings::{expected, may_tell, told_apart};

/// A step is taken when the chance is at least this that it shows anything but what is all but certain
/// (judgement: beyond it the settle it costs is never earned back).
const WORTH_A_STEP: f64 = 1e-4;

/// Where wiring that cannot be proven has this share of the odds, it is located, and what is less likely than the second is
/// not taken out one after the other before that is said (judgement).
const ALL_BUT_SURE: f64 = 0.97;
const WORTH_BESIDE_IT: f64 = 0.01;

/// What wakes the vehicle with more than this chance may lose the fault, and comes after and apart from what
/// does not (judgement).
const WAKES: f64 = 0.5;

/// What a row of the table stands for.
#[derive(Clone, Debug)]
pub(super) enum Doing<'s> {
    /// A reading or a look at a part.
    At(Reading),
    /// A look at an input, which is no part of the tree.
    Look(String),
    /// A reading of a fuse by something let in in its place.
    LetIn(Reading),
    /// Taking something out, or several things together, and reading the draw.
    Out(Vec<&'s TakeOut>),
}

/// A reading or a look, and what a part of the drain looks like in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reading {
    pub(super) method: Method,
    /// How a current is taken.
    pub(super) way: Option<Way>,
    pub(super) part: PartId,
    /// What is taken for a part of what is searched, beside what healthy parts take: outcome class 2.
    pub(super) some: Option<Interval<Milliamps>>,
}

impl Reading {
    /// By the method alone: a clamp goes round the wire as it is.
    pub(super) const fn of(method: Method, part: PartId) -> Self {
        let way = match method {
            Method::Clamp => Some(Way::Clamp { turns: 1 }),
            _ => None,
        };
        Self {
            method,
            way,
            part,
            some: None,
        }
    }
}

/// The table with what its numbers mean.
#[derive(Clone, Debug)]
pub(super) struct Plan<'s> {
    pub(super) table: Table,
    /// The suspect of each row, an index into the setting's.
    pub(super) suspects: Sought,
    /// What each test is.
    pub(super) tests: Vec<Doing<'s>>,
    /// How each suspect would be proven.
    pub(super) proofs: Vec<Option<&'s TakeOut>>,
    /// The places, by number in the table.
    pub(super) places: Vec<PlaceId>,
    /// How likely every suspect is, and the branch searched.
    pub(super) odds: Odds,
}

impl<'s> Plan<'s> {
    /// The branch searched.
    pub(super) fn focus(&self) -> &Region {
        &self.odds.region
    }

    /// The suspect, as the setting numbers it, and its way out, where a step is a proof that can be taken.
    pub(super) fn proof(&self, step: Step) -> Option<(usize, &'s TakeOut)> {
        let Step::Prove(row) = step else { return None };
        let way = self.proofs[row]?;
        Some((self.suspects.suspects[row], way))
    }

    /// Leaves out the tests that show only what is all but certain, and the proofs of suspects that are
    /// all but impossible; but not of one that could be what fell.
    fn keep_what_may_tell(&mut self, now: &Now<'_>) {
        let odds = self.shares();
        let falls = Falls::of(now);
        let wiring = |index: usize| is_wiring(&now.setting.feeds, &now.setting.suspects[index]);
        let rows = self.suspects.suspects.iter().zip(&odds).zip(&self.proofs);
        let without: f64 = rows
            .filter(|((index, _), way)| way.is_none() && wiring(**index))
            .map(|((_, odds), _)| odds)
            .sum();
        let worth = if without >= ALL_BUT_SURE {
            WORTH_BESIDE_IT
        } else {
            WORTH_A_STEP
        };
        for (row, index) in self.suspects.suspects.iter().enumerate() {
            let suspect = &now.setting.suspects[*index];
            let takes = self.odds.weights[*index].takes;
            if odds[row] < worth && !falls.may_be(suspect, takes) {
                self.table.suspects[row].provable = false;
                self.proofs[row] = None;
            }
        }
        let tests = std::mem::take(&mut self.table.tests).into_iter();
        let both = tests.zip(std::mem::take(&mut self.tests));
        (self.table.tests, self.tests) =
            both.filter(|(test, _)| parts(&odds, test) >= worth).unzip();
    }

    /// How likely it is that the cause sits at a part or below it.
    pub(super) fn share_below(&self, now: &Now<'_>, part: PartId) -> f64 {
        let rows = rows_below(now, self, part);
        self.shares()[rows.start as usize..rows.end as usize]
            .iter()
            .sum()
    }

    /// How likely each row is.
    fn shares(&self) -> Vec<f64> {
        let logs: Vec<f64> = self.table.suspects.iter().map(|row| row.log_odds).collect();
        shares(&logs)
    }
}

/// The chance that a test shows anything but its likeliest outcome.
fn parts(odds: &[f64], test: &Test) -> f64 {
    let rows = |rows: &Range<u32>| &odds[rows.start as usize..rows.end as usize];
    let class = |class: &Class| -> f64 { class.suspects.iter().flat_map(rows).sum() };
    let classes: Vec<f64> = test.classes.iter().map(class).collect();
    let rest = 1.0 - classes.iter().sum::<f64>();
    1.0 - classes.into_iter().fold(rest, f64::max)
}

/// Builds the table for the branch that is searched.
pub(super) fn plan<'s>(now: &Now<'s>, judged: &Judgement<'_>) -> Plan<'s> {
    let setting = now.setting;
    let odds = Odds::of(now, judged);
    let left = Sought::of(setting, worth_a_search(now, &odds));
    let places = Places::of(now);
    let mut proofs = Vec::new();
    let mut rows = Vec::new();
    let proof_shows = now.proof_shows(judged);
    for index in &left.suspects {
        let way = now.way_to_prove(*index, &left, judged, &odds);
        let way = way.filter(|_| proof_shows);
        let (proof, failed_proof) = way.map_or((0.0, 0.0), |way| proof_minutes(now, way));
        rows.push(Row {
            log_odds: odds.weights[*index].weight.ln(),
            proof,
            failed_proof,
            proof_place: way.and_then(|w| places.number(w.place)),
            provable: way.is_some(),
        });
        proofs.push(way);
    }
    let mut plan = Plan {
        table: Table {
            suspects: rows,
            tests: Vec::new(),
            places: places.rows.clone(),
            instruments: vec![
                (METER, places.number(now.meter_at)),
                (CLAMP, places.number(now.clamp_at)),
            ],
            move_minutes: setting.carry_minutes(),
        },
        suspects: left,
        tests: Vec::new(),
        proofs,
        places: places.order.clone(),
        odds,
    };
    let holders = classes::AllHolders::of(now, &plan);
    readings::add_readings(now, judged, (&places, &holders), &mut plan);
    readings::add_looks(now, &places, &mut plan);
    readings::add_looks_beside(now, &mut plan);
    pulls::add_pulls(now, judged, (&places, &holders), &mut plan);
    readings::add_lettings_in(now, judged, (&places, &holders), &mut plan);
    if now.fell() || now.pulls_here().any(|pulled| pulled.vain) {
        plan.keep_what_may_tell(now);
    }
    plan
}

/// Minutes of a proof that succeeds (out, settle, draw, in, settle, draw, and out again to stay so), and of
/// one that fails (out, settle, draw, in).
pub(super) fn proof_minutes(now: &Now<'_>, way: &TakeOut) -> (f64, f64) {
    let setting = now.setting;
    let out = setting.minutes(way.method());
    let settle = now.wakes(way) * setting.feeds.settle().value();
    let read = settle + setting.minutes(Method::Draw);
    let failed = out + read + setting.minutes(Method::Refit);
    (failed + read + out, failed)
}

/// How many causes could alone make up the draw by what was read, where the search is.
pub(super) fn alone(now: &Now<'_>, judged: &Judgement<'_>) -> usize {
    let odds = Odds::of(now, judged);
    let enough = |i: &&usize| odds.weights[**i].takes >= odds.region.needed;
    sought_in(now, &odds).iter().filter(enough).count()
}

/// The causes that are not ruled out, where the search is.
fn sought_in(now: &Now<'_>, odds: &Odds) -> Vec<usize> {
    let setting = now.setting;
    let touched = |i: usize| touches(&setting.feeds, &setting.suspects[i], &odds.region);
    (0..setting.suspects.len())
        .filter(|i| odds.weights[*i].weight > 0.0 && touched(*i))
        .collect()
}

/// Those among them that make up the draw alone or with one or two others; all of them where nothing
/// but wiring could.
fn worth_a_search(now: &Now<'_>, odds: &Odds) -> Vec<usize> {
    let feeds = &now.setting.feeds;
    let all = sought_in(now, odds);
    let enough = |i: &usize| AT_ONCE * odds.weights[*i].takes >= odds.region.needed;
    let able: Vec<usize> = all.iter().copied().filter(enough).collect();
    let only_wiring = able
        .iter()
        .all(|i| is_wiring(feeds, &now.setting.suspects[*i]));
    if only_wiring { all } else { able }
}

const METER: u8 = 0;
const CLAMP: u8 = 1;

/// The places as the planner numbers them: outer before inner.
struct Places {
    rows: Vec<Place>,
    order: Vec<PlaceId>,
    numbers: BTreeMap<PlaceId, usize>,
}

impl Places {
    fn of(now: &Now<'_>) -> Self {
        let feeds = &now.setting.feeds;
        let mut order: Vec<PlaceId> = feeds.places().collect();
        order.sort_by_key(|p| (feeds.way(*p).len(), p.0));
        let numbers: BTreeMap<PlaceId, usize> =
            order.iter().enumerate().map(|(at, p)| (*p, at)).collect();
        let rows = order
            .iter()
            .map(|place| {
                let written = feeds.place_as_written(*place);
                let closed = !now.open.contains(place);
                // Opening it now would wake the vehicle.
                let woken = if written.wakes {
                    feeds.settle().value()
                } else {
                    0.0
                };
                Place {
                    reach: if closed {
                        written.reach.value() + woken
                    } else {
                        0.0
                    },
                    within: feeds.within(*place).and_then(|p| numbers.get(&p).copied()),
                }
            })
            .collect();
        Self {
            rows,
            order,
            numbers,
        }
    }

    fn number(&self, place: Option<PlaceId>) -> Option<usize> {
        self.numbers.get(&place?).copied()
    }
}

/// The rows of the plan that sit in a range of parts; suspects are in tree order, so this is a range.
fn rows_below(now: &Now<'_>, plan: &Plan<'_>, part: PartId) -> Range<u32> {
    plan.suspects.below(&now.setting.feeds.subtree(part))
}

/// The rows of the plan that sit at or below any of these parts, ascending.
fn rows_below_any(now: &Now<'_>, plan: &Plan<'_>, parts: &[PartId]) -> Vec<Range<u32>> {
    let mut rows: Vec<_> = parts.iter().map(|p| rows_below(now, plan, *p)).collect();
    rows.retain(|rows| !rows.is_empty());
    rows.sort_unstable_by_key(|rows| (rows.start, std::cmp::Reverse(rows.end)));
    // Subtrees lie within each other or apart.
    let mut end = 0;
    rows.retain(|rows| {
        let apart = rows.start >= end;
        end = end.max(rows.end);
        apart
    });
    rows
}
