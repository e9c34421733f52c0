//! From a case to the planner's table: suspects left with their weights, tests that can tell them apart.

use super::cost;
use super::fold::Now;
use super::regions::{Region, is_wiring, touches};
use super::taking_out::{Sought, TakeOut};
use super::weights::{AT_ONCE, Odds, may_have_fallen};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::Point;
use crate::judgement::Judgement;
use crate::measurement::{self, Method, Way};
use crate::planner::Step;
use crate::planner::table::{Class, Place, Suspect as Row, Table, Test};
use crate::quantity::Milliamps;
use crate::suspects::{Cause, shares};
use crate::vehicle::{LoadKind, PartKind};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// A step is taken when the chance is at least this that it shows anything but what is all but certain
/// (judgement: beyond it the settle it costs is never earned back).
const WORTH_A_STEP: f64 = 1e-4;

/// What a row of the table stands for.
#[derive(Clone, Debug)]
pub(super) enum Doing<'s> {
    /// A reading or a look at a part.
    At(Method, PartId),
    /// A reading of a fuse by something let in in its place.
    LetIn(PartId, Way),
    /// Taking something out and reading the draw.
    Out(&'s TakeOut),
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
        for (row, index) in self.suspects.suspects.iter().enumerate() {
            let suspect = &now.setting.suspects[*index];
            let takes = self.odds.weights[*index].takes;
            if odds[row] < WORTH_A_STEP && !may_have_fallen(now, suspect, takes) {
                self.table.suspects[row].provable = false;
                self.proofs[row] = None;
            }
        }
        let tests = std::mem::take(&mut self.table.tests).into_iter();
        let both = tests.zip(std::mem::take(&mut self.tests));
        (self.table.tests, self.tests) = both
            .filter(|(test, _)| parts(&odds, test) >= WORTH_A_STEP)
            .unzip();
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
    let feeds = &setting.feeds;
    let odds = Odds::of(now, judged);
    let needed = odds.region.needed;
    let left = Sought::of(setting, worth_a_search(now, &odds));
    let places = Places::of(now);
    let settle = feeds.settle().value();
    let mut proofs = Vec::new();
    let mut rows = Vec::new();
    for index in &left.suspects {
        let way = now.way_to_prove(*index, &left, judged, &odds);
        let chance = way.map_or(0.0, |w| cost::chance_of_waking(feeds, &w.parts));
        let settled = chance * settle + cost::minutes(Method::Draw);
        let handled = cost::minutes(Method::Pull);
        rows.push(Row {
            log_odds: odds.weights[*index].weight.ln(),
            proof: 2.0 * (handled + settled) + handled,
            failed_proof: 2.0 * handled + settled,
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
            move_minutes: cost::MOVE,
        },
        suspects: left,
        tests: Vec::new(),
        proofs,
        places: places.order.clone(),
        odds,
    };
    add_readings(now, judged, &places, needed, &mut plan);
    add_looks(now, &places, &mut plan);
    add_pulls(now, judged, &places, needed, &mut plan);
    add_lettings_in(now, judged, &places, &mut plan);
    if now.fell() {
        plan.keep_what_may_tell(now);
    }
    plan
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

/// Suspects of the plan that sit at no part and raise the same: who holds the modules of one network.
struct Holders {
    /// Their rows, ascending.
    rows: Vec<u32>,
    /// What they raise, in tree order.
    raised: Vec<PartId>,
    /// Up to each of these: by how much in mA as far as it is known, and how many are not known.
    sums: Vec<(f64, usize)>,
}

/// How a reading shows what several suspects raise.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shows {
    Surely,
    Perhaps,
    Not,
}

impl Holders {
    /// The suspects without a seat, which come last in a plan.
    fn of(now: &Now<'_>, plan: &Plan<'_>) -> Vec<Self> {
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
            let mut parts = suspects[one].raises.clone();
            parts.sort_unstable_by_key(|(part, _)| *part);
            let mut sums = vec![(0.0, 0)];
            for (_, by) in &parts {
                let (known, unknown) = sums[sums.len() - 1];
                let unknown = unknown + usize::from(by.is_none());
                sums.push((known + by.unwrap_or(0.0), unknown));
            }
            let raised = parts.iter().map(|(part, _)| *part).collect();
            Self { rows, raised, sums }
        });
        holders.collect()
    }

    /// What of it shows in the current of a subtree, where so much is searched.
    fn shows(&self, subtree: &Range<u32>, needed: f64) -> Shows {
        let from = self.raised.partition_point(|p| p.0 < subtree.start);
        let to = self.raised.partition_point(|p| p.0 < subtree.end);
        let (known, unknown) = (
            self.sums[to].0 - self.sums[from].0,
            self.sums[to].1 - self.sums[from].1,
        );
        if from == to {
            Shows::Not
        } else if to - from == self.raised.len() || (unknown == 0 && known >= needed) {
            Shows::Surely
        } else if unknown > 0 || known > 0.0 {
            Shows::Perhaps
        } else {
            Shows::Not
        }
    }
}

/// The classes of a reading of the current at a part.
fn classes(
    now: &Now<'_>,
    plan: &Plan<'_>,
    holders: &[Holders],
    part: PartId,
    needed: f64,
) -> Vec<Class> {
    let subtree = now.setting.feeds.subtree(part);
    let mut carrying = vec![rows_below(now, plan, part)];
    let mut perhaps = Vec::new();
    for some in holders {
        let rows = some.rows.iter().map(|row| *row..*row + 1);
        match some.shows(&subtree, needed) {
            Shows::Surely => carrying.extend(rows),
            Shows::Perhaps => perhaps.extend(rows),
            Shows::Not => {}
        }
    }
    let class = |rows: Vec<Range<u32>>, sure: bool| {
        let suspects = joined(rows);
        (!suspects.is_empty()).then_some(Class { suspects, sure })
    };
    let classes = [class(carrying, true), class(perhaps, false)];
    classes.into_iter().flatten().collect()
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

/// The currents at a part if the cause is below it, and if it is not.
pub(super) fn expected(
    now: &Now<'_>,
    judged: &Judgement<'_>,
    part: PartId,
    region: &Region,
) -> (Interval<Milliamps>, Interval<Milliamps>) {
    let through = region.through(&now.setting.feeds, judged, part);
    let healthy = now.setting.healthy.draw(part).plus(through);
    let most = judged.view().current(part).high();
    let least = healthy.low() + region.needed;
    let most = if most.is_finite() {
        most.max(least)
    } else {
        4.0 * least
    };
    (Interval::between(least, most), healthy)
}

/// Whether the two answers look different on the instrument.
pub(super) fn told_apart(
    now: &Now<'_>,
    judged: &Judgement<'_>,
    (method, way): (Method, Option<Way>),
    part: PartId,
    region: &Region,
) -> bool {
    let (carrying, not) = expected(now, judged, part, region);
    let shown = |current| now.shown(method, way, part, current);
    match (shown(carrying), shown(not)) {
        (Some((least, _)), Some((_, most))) => least > most,
        _ => false,
    }
}

fn add_readings<'s>(
    now: &Now<'s>,
    judged: &Judgement<'_>,
    places: &Places,
    needed: f64,
    plan: &mut Plan<'s>,
) {
    let setting = now.setting;
    let feeds = &setting.feeds;
    let out = now.out_set();
    let all = plan.suspects.len() as u32;
    let holders = Holders::of(now, plan);
    for part in feeds.subtree(plan.focus().top).map(PartId).skip(1) {
        let below = rows_below(now, plan, part);
        if below.is_empty() || out.cuts(feeds, part) || !plan.focus().holds(feeds, part) {
            continue;
        }
        for method in [Method::Drop, Method::Clamp] {
            let usable = setting.offers(part, method)
                && !now.is_done(method, part)
                && (method != Method::Clamp
                    || (setting.instruments.clamp.is_some() && setting.jaws_close(part)))
                && told_apart(now, judged, (method, None), part, plan.focus());
            if !usable {
                continue;
            }
            let classes = classes(now, plan, &holders, part, needed);
            let counted: u32 = classes
                .iter()
                .flat_map(|c| &c.suspects)
                .map(|r| r.end - r.start)
                .sum();
            if counted == 0 || (classes.len() == 1 && counted == all) {
                continue;
            }
            plan.table.tests.push(Test {
                minutes: cost::minutes(method),
                place: places.number(feeds.place(part)),
                instrument: Some(if method == Method::Clamp {
                    CLAMP
                } else {
                    METER
                }),
                classes,
                inconclusive: 0.0,
                harms: false,
            });
            plan.tests.push(Doing::At(method, part));
        }
    }
}

/// A lamp that is alight, a relay that is warm and a switch that is on can be seen.
fn add_looks<'s>(now: &Now<'s>, places: &Places, plan: &mut Plan<'s>) {
    let feeds = &now.setting.feeds;
    let looked_at = |row: usize| {
        let suspect = &now.setting.suspects[plan.suspects.suspects[row]];
        let seat = suspect.seat()?;
        let shows = match suspect.cause {
            Cause::OwnDraw => feeds.load_kind(seat) == Some(LoadKind::Lamp),
            Cause::CoilHeld => return feeds.moved_by(seat),
            Cause::ContactClosed => feeds.part(seat).kind == PartKind::Switch,
            _ => false,
        };
        shows.then_some(seat)
    };
    let rows: Vec<(u32, PartId)> = (0..plan.suspects.len())
        .filter_map(|row| Some((row as u32, looked_at(row)?)))
        .collect();
    for (row, part) in rows {
        let offered = now.setting.offers(part, Method::Look);
        if !offered || now.is_done(Method::Look, part) || now.out_set().cuts(feeds, part) {
            continue;
        }
        plan.table.tests.push(Test {
            minutes: cost::minutes(Method::Look),
            place: places.number(feeds.place(part)),
            instrument: None,
            classes: vec![Class {
                suspects: std::iter::once(row..row + 1).collect(),
                sure: true,
            }],
            inconclusive: 0.0,
            harms: false,
        });
        plan.tests.push(Doing::At(Method::Look, part));
    }
}

/// Taking a branch out and reading the draw.
fn add_pulls<'s>(
    now: &Now<'s>,
    judged: &Judgement<'_>,
    places: &Places,
    needed: f64,
    plan: &mut Plan<'s>,
) {
    let setting = now.setting;
    let feeds = &setting.feeds;
    let out = now.out_set();
    let fall_shows = now.fall_shows(judged, needed);
    if !fall_shows {
        return;
    }
    let mut names = BTreeSet::new();
    for part in feeds.subtree(plan.focus().top).map(PartId).skip(1) {
        if out.cuts(feeds, part) {
            continue;
        }
        let Some(way) = setting.ways_out_at(part) else {
            continue;
        };
        // A load with a plug of its own comes out for a proof only.
        if feeds.is_leaf(part) && way.parts.len() == 1 {
            continue;
        }
        let method = way.method();
        let name = now.name(&way.point);
        // What shares a plug comes out once.
        if matches!(way.point, Point::Plug(..)) && !names.insert(name.clone()) {
            continue;
        }
        // Also where it was taken out together with more.
        let tried = now
            .pulls_here()
            .any(|pulled| way.parts.iter().all(|p| pulled.parts.contains(p)));
        if tried || now.is_skipped(method, &name) || now.is_skipped(method, feeds.id(part)) {
            continue;
        }
        let silenced = rows_below_any(now, plan, &way.parts);
        let counted: u32 = silenced.iter().map(|rows| rows.end - rows.start).sum();
        if counted == 0 || counted == plan.suspects.len() as u32 {
            continue;
        }
        let chance = cost::chance_of_waking(feeds, &way.parts);
        plan.table.tests.push(Test {
            minutes: cost::minutes(method)
                + chance * feeds.settle().value()
                + cost::minutes(Method::Draw),
            place: places.number(way.place),
            instrument: None,
            classes: vec![Class {
                suspects: silenced,
                sure: true,
            }],
            inconclusive: 0.0,
            harms: chance > 0.5,
        });
        plan.tests.push(Doing::Out(way));
    }
}

/// A loop lead or the meter in the place of a fuse, where nothing else tells there: no drop, no clamp on
/// a wire, and it cannot come out, its fall would not show, or it was out already. It breaks the supply
/// twice and takes longer than any of these.
fn add_lettings_in<'s>(
    now: &Now<'s>,
    judged: &Judgement<'_>,
    places: &Places,
    plan: &mut Plan<'s>,
) {
    let feeds = &now.setting.feeds;
    let out = now.out_set();
    let all = plan.suspects.len() as u32;
    let mut at_hand = vec![false; feeds.len()];
    for doing in &plan.tests {
        let parts = match doing {
            Doing::At(_, at) | Doing::LetIn(at, _) => std::slice::from_ref(at),
            Doing::Out(way) => &way.parts,
        };
        for part in parts {
            at_hand[part.index()] = true;
        }
    }
    for part in feeds.subtree(plan.focus().top).map(PartId).skip(1) {
        let below = rows_below(now, plan, part);
        if feeds.part(part).kind != PartKind::Fuse
            || below.is_empty()
            || below.end - below.start == all
            || out.cuts(feeds, part)
            || !plan.focus().holds(feeds, part)
            || at_hand[part.index()]
        {
            continue;
        }
        // A drop or clamp that tells has been read, or cannot be got at; then neither can its holder.
        let told = |method| {
            let closes = method != Method::Clamp || now.setting.jaws_close(part);
            now.setting.offers(part, method)
                && closes
                && told_apart(now, judged, (method, None), part, plan.focus())
        };
        let let_in = [Method::Clamp, Method::Series].map(|method| now.is_done(method, part));
        if told(Method::Drop) || told(Method::Clamp) || let_in.contains(&true) {
            continue;
        }
        let most = Milliamps::of(judged.view().current(part).high());
        let tells = |way: &Way| {
            let method = match way {
                Way::Clamp { .. } => Method::Clamp,
                Way::Series(_) => Method::Series,
            };
            told_apart(now, judged, (method, Some(*way)), part, plan.focus())
        };
        let Some(way) = now.ways_in(part, most).into_iter().find(tells) else {
            continue;
        };
        let chance = cost::chance_of_waking(feeds, &[part]);
        let settles = 2.0 * chance * feeds.settle().value();
        let classes = vec![Class {
            suspects: std::iter::once(below).collect(),
            sure: true,
        }];
        plan.table.tests.push(Test {
            minutes: cost::minutes(Method::Series) + settles + cost::minutes(Method::Draw),
            place: places.number(feeds.place(part)),
            instrument: Some(if matches!(way, Way::Clamp { .. }) {
                CLAMP
            } else {
                METER
            }),
            classes,
            inconclusive: 0.0,
            harms: chance > 0.5,
        });
        plan.tests.push(Doing::LetIn(part, way));
    }
}

impl Now<'_> {
    /// Whether a fall by that much would show on the instrument that takes the draw.
    pub(super) fn fall_shows(&self, judged: &Judgement<'_>, needed: f64) -> bool {
        let before = judged.view().current(PartId(0));
        let Some(way) = self.setting.way_of_draw(Some(before), true) else {
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
