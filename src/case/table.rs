//! From a case to the planner's table: suspects left with their weights, tests that can tell them apart.

use super::cost;
use super::fold::{Found, Now, Pulled};
use super::options::TakeOut;
use crate::feeds::{Feeds, PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::Seen;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::measurement::{self, Method};
use crate::planner::table::{Class, Place, Suspect as Row, Table, Test};
use crate::quantity::Milliamps;
use crate::suspects::{self, Cause, Suspect};
use crate::vehicle::LoadKind;

/// Factor on the odds of a suspect that cannot be the one cause of today's draw.
const NOT_ALONE: f64 = 0.02;
/// Factor on those outside the branch in which an excess is proven.
const ELSEWHERE: f64 = 0.05;
/// Factors on what was seen and what was not.
const SEEN: f64 = 50.0;
const NOT_SEEN: f64 = 0.05;
/// Factor on what was told of by name.
const TOLD: f64 = 4.0;
/// Factor on a suspect that was taken out and nothing fell that matters.
const NOTHING_FELL: f64 = 1e-4;
/// Factor on one that fell and did not return.
const ONLY_RESET: f64 = 0.1;
/// Factor on a suspect that a fall without it speaks against.
const SPOKEN_AGAINST: f64 = 0.05;

/// A suspect with its weight; 0 when it is ruled out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chances {
    pub(super) weight: f64,
    pub(super) hides: f64,
    takes: f64,
}

/// The weight of every suspect by what was read.
pub(super) fn weigh(now: &Now<'_>, judged: &Judgement<'_>) -> Vec<Chances> {
    let setting = now.setting;
    let base = now.base();
    let focus = focus(now, judged);
    let needed = focus.needed;
    let proven: Vec<_> = now.found.iter().filter(|f| f.returned).collect();
    setting
        .suspects
        .iter()
        .map(|suspect| {
            let hides = suspect.hides(judged);
            let lives = suspects::lives_on(&setting.feeds, suspect);
            let gone = !lives.is_empty() && lives.iter().all(|p| base.cuts(&setting.feeds, *p));
            let known = proven.iter().any(|f| f.subject == suspect.subject);
            if hides < judged.matters() || gone || known {
                return Chances {
                    weight: 0.0,
                    hides,
                    takes: 0.0,
                };
            }
            let mut weight = suspect.prior * suspects::fit(suspect, judged);
            let takes = could_take(now, &base, suspect, hides);
            if takes < judged.matters() {
                weight *= NOTHING_FELL;
            } else if takes < needed {
                weight *= NOT_ALONE;
            }
            if !touches(&setting.feeds, suspect, &focus) {
                weight *= ELSEWHERE;
            }
            weight *= seen(now, suspect) * told(now, suspect) * pulled(now, suspect);
            let reset = |f: &Found| !f.returned && f.subject == suspect.subject;
            if now.found.iter().any(reset) {
                weight *= ONLY_RESET;
            }
            Chances {
                weight: weight.max(1e-12),
                hides,
                takes,
            }
        })
        .collect()
}

/// Whether a suspect could raise anything in a region.
fn touches(feeds: &Feeds, suspect: &Suspect, region: &Region) -> bool {
    suspect.seat().is_some_and(|seat| region.holds(feeds, seat))
        || suspect
            .raises
            .iter()
            .any(|(part, _)| region.holds(feeds, *part))
}

fn seen(now: &Now<'_>, suspect: &Suspect) -> f64 {
    let feeds = &now.setting.feeds;
    let mut factor = 1.0;
    for (part, seen) in &now.looks {
        let coil_of = || {
            suspect.seat().is_some_and(|seat| {
                feeds.coils_of(*part).contains(&seat) && suspect.cause == Cause::CoilHeld
            })
        };
        if suspect.seat() == Some(*part) && suspect.cause != Cause::ContactClosed || coil_of() {
            factor *= if *seen == Seen::Yes { SEEN } else { NOT_SEEN };
        }
    }
    factor
}

fn told(now: &Now<'_>, suspect: &Suspect) -> f64 {
    let id = suspect.id(&now.setting.feeds);
    let named = now.told.iter().any(|text| text.contains(&id));
    if named { TOLD } else { 1.0 }
}

/// What falls, or their absence, after taking things out say.
fn pulled(now: &Now<'_>, suspect: &Suspect) -> f64 {
    let setting = now.setting;
    let mut factor: f64 = 1.0;
    for Pulled {
        parts,
        fell,
        matters,
        ..
    } in &now.pulls
    {
        let silent = setting.silenced(suspect, parts);
        let partly = suspect
            .raises
            .iter()
            .any(|(part, _)| parts.iter().any(|top| setting.feeds.is_below(*part, *top)));
        if fell.low() >= *matters && !silent && !partly {
            factor *= SPOKEN_AGAINST;
        }
    }
    factor
}

/// A part of the tree with an excess of its own: all below one part, without branches below it whose
/// own excess is proven.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Region {
    /// Its top.
    pub(super) top: PartId,
    /// The branches that are another region's business.
    holes: Vec<PartId>,
    /// What a single cause in it takes at least, in mA.
    pub(super) needed: f64,
}

impl Region {
    fn holds(&self, feeds: &Feeds, part: PartId) -> bool {
        feeds.is_below(part, self.top) && !self.holes.iter().any(|h| feeds.is_below(part, *h))
    }

    /// The currents of the holes below a part together.
    fn through(&self, feeds: &Feeds, judged: &Judgement<'_>, part: PartId) -> Interval<Milliamps> {
        self.holes
            .iter()
            .filter(|h| feeds.is_below(**h, part))
            .map(|h| judged.view().current(*h))
            .fold(Interval::exactly(Milliamps::ZERO), Interval::plus)
    }
}

/// The region to search: the one with the largest proven excess among those in which a suspect is left
/// to prove; the whole vehicle where there is none. With several drains each is a search of its own.
pub(super) fn focus(now: &Now<'_>, judged: &Judgement<'_>) -> Region {
    let feeds = &now.setting.feeds;
    let whole = Region {
        top: PartId(0),
        holes: Vec::new(),
        needed: judged.needed().max(judged.matters()),
    };
    let mut regions = regions(now, judged);
    regions.sort_by(|a, b| b.needed.total_cmp(&a.needed));
    let base = now.base();
    let here = now.pulls.iter().any(|pulled| pulled.base == base);
    let alive = |region: &Region| {
        now.setting.suspects.iter().any(|suspect| {
            touches(feeds, suspect, region)
                && !is_wiring(feeds, suspect)
                && could_take(now, &base, suspect, suspect.hides(judged)) >= judged.matters()
                && (!here
                    || now
                        .setting
                        .ways_out(suspect)
                        .iter()
                        .any(|way| !in_vain(now, &way.parts)))
        })
    };
    regions.into_iter().find(alive).unwrap_or(whole)
}

/// Whether a suspect is wiring with loads entered below it: possible, but never worth a proof before them.
fn is_wiring(feeds: &Feeds, suspect: &Suspect) -> bool {
    suspect.cause == Cause::Leak
        || (suspect.cause == Cause::NotOnSheet
            && suspect.seat().is_some_and(|part| !feeds.is_leaf(part)))
}

/// Every region with an excess that matters.
fn regions(now: &Now<'_>, judged: &Judgement<'_>) -> Vec<Region> {
    let feeds = &now.setting.feeds;
    let healthy = &now.setting.healthy;
    let matters = judged.matters();
    let carrying = |part: PartId| judged.excess(part).low() >= matters;
    let mut found = Vec::new();
    // The nearest carrying branches below each part, handed upwards.
    let mut below: Vec<Vec<PartId>> = vec![Vec::new(); feeds.len()];
    for part in feeds.parts().rev() {
        let holes = std::mem::take(&mut below[part.index()]);
        let mut is_region = false;
        if carrying(part) || part == PartId(0) {
            let current = judged.view().current(part);
            let elsewhere: f64 = holes.iter().map(|h| judged.view().current(*h).high()).sum();
            let own = current.low() - elsewhere - healthy.draw(part).high();
            if holes.is_empty() || own >= matters {
                let single = if holes.is_empty() && part == PartId(0) {
                    judged.needed()
                } else {
                    own
                };
                is_region = true;
                found.push(Region {
                    top: part,
                    holes: holes.clone(),
                    needed: single.max(matters),
                });
            }
        }
        if let Some(up) = feeds.up(part) {
            // An excess proven above a region may be that region's, so only regions are left out.
            if is_region {
                below[up.index()].push(part);
            } else {
                below[up.index()].extend(holes);
            }
        }
    }
    found
}

/// What a row of the table stands for.
#[derive(Clone, Debug)]
pub(super) enum Doing {
    /// A reading or a look at a part.
    At(Method, PartId),
    /// Taking something out and reading the draw.
    Out(TakeOut),
}

/// The table with what its numbers mean.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) table: Table,
    /// The suspect of each row, an index into the setting's.
    pub(super) suspects: Vec<usize>,
    /// What each test is.
    pub(super) tests: Vec<Doing>,
    /// How each suspect would be proven.
    pub(super) proofs: Vec<Option<TakeOut>>,
    /// The branch searched.
    pub(super) focus: Region,
}

/// Builds the table for the branch that is searched.
pub(super) fn plan(now: &Now<'_>, judged: &Judgement<'_>) -> Plan {
    let setting = now.setting;
    let feeds = &setting.feeds;
    let focus = focus(now, judged);
    let weights = weigh(now, judged);
    let needed = focus.needed;
    let left = sought_in(now, &weights, &focus);
    let places = Places::of(now);
    let settle = feeds.settle().value();
    let mut proofs = Vec::new();
    let mut rows = Vec::new();
    for index in &left {
        let way = proof_of(now, (judged.matters(), needed), *index, &weights, &left);
        let chance = way
            .as_ref()
            .map_or(0.0, |w| cost::chance_of_waking(feeds, &w.parts));
        let settled = chance * settle + cost::minutes(Method::Draw);
        let handled = cost::minutes(Method::Pull);
        rows.push(Row {
            log_odds: weights[*index].weight.ln(),
            proof: 2.0 * (handled + settled) + handled,
            failed_proof: 2.0 * handled + settled,
            proof_place: way.as_ref().and_then(|w| places.number(w.place)),
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
        focus,
    };
    add_readings(now, judged, &places, needed, &mut plan);
    add_looks(now, &places, &mut plan);
    add_pulls(now, judged, &places, needed, &mut plan);
    plan
}

/// How many causes could alone make up the draw by what was read, where the search is.
pub(super) fn alone(now: &Now<'_>, judged: &Judgement<'_>) -> usize {
    let (weights, focus) = (weigh(now, judged), focus(now, judged));
    let sought = sought_in(now, &weights, &focus);
    let enough = |i: &&usize| weights[**i].takes >= focus.needed;
    sought.iter().filter(enough).count()
}

/// The causes that are not ruled out, where the search is.
fn sought_in(now: &Now<'_>, weights: &[Chances], focus: &Region) -> Vec<usize> {
    let setting = now.setting;
    let touched = |i: usize| touches(&setting.feeds, &setting.suspects[i], focus);
    (0..setting.suspects.len())
        .filter(|i| weights[*i].weight > 0.0 && touched(*i))
        .collect()
}

/// Whether taking exactly these parts out was tried with just the proven drains out, and would tell no
/// more: nothing fell for certain, or it fell again and again without naming anyone.
fn in_vain(now: &Now<'_>, parts: &[PartId]) -> bool {
    let base = now.base();
    let tries: Vec<&Pulled> = now
        .pulls
        .iter()
        .filter(|pulled| pulled.base == base && pulled.parts == parts)
        .collect();
    tries.len() > 2
        || tries
            .iter()
            .any(|pulled| pulled.fell.low() < pulled.matters)
}

/// What a suspect could take by the bounds and by the falls when it was silent, in mA.
fn could_take(now: &Now<'_>, base: &Out, suspect: &Suspect, hides: f64) -> f64 {
    now.pulls
        .iter()
        .filter(|pulled| pulled.base == *base && now.setting.silenced(suspect, &pulled.parts))
        .map(|pulled| pulled.fell.high().max(0.0))
        .fold(hides, f64::min)
}

const METER: u8 = 0;
const CLAMP: u8 = 1;

/// The narrowest way to take a suspect out with which no other suspect of weight falls silent.
fn proof_of(
    now: &Now<'_>,
    sought: (f64, f64),
    index: usize,
    weights: &[Chances],
    left: &[usize],
) -> Option<TakeOut> {
    let setting = now.setting;
    let suspect = &setting.suspects[index];
    let ways = setting.ways_out(suspect);
    ways.into_iter().find(|way| {
        let name = now.name(&way.point);
        let method = if way.unplugged {
            Method::Unplug
        } else {
            Method::Pull
        };
        let mut others = left.iter().filter(|i| **i != index);
        !now.is_skipped(method, &name)
            && !in_vain(now, &way.parts)
            && !others.any(|i| rivals(now, index, *i, weights, sought, &way.parts))
    })
}

/// Whether another suspect keeps a proof from naming this one: it falls silent too, is in question
/// itself, and is not the less likely explanation of the same thing.
pub(super) fn rivals(
    now: &Now<'_>,
    index: usize,
    other: usize,
    weights: &[Chances],
    (matters, needed): (f64, f64),
    parts: &[PartId],
) -> bool {
    let setting = now.setting;
    let (this, that) = (&setting.suspects[index], &setting.suspects[other]);
    if weights[other].weight <= 0.0 || !setting.silenced(that, parts) {
        return false;
    }
    // A lamp that was seen dark takes nothing that matters.
    let dark = |s: &Suspect| {
        let seen = now
            .looks
            .iter()
            .rev()
            .find(|(part, _)| s.seat() == Some(*part));
        s.cause == Cause::OwnDraw && seen.is_some_and(|(_, seen)| *seen == Seen::No)
    };
    if dark(that) && !dark(this) {
        return false;
    }
    // What hangs on a contact is the narrower explanation.
    if that.cause == Cause::ContactClosed && this.cause == Cause::OwnDraw {
        return false;
    }
    // Of a load and the wiring on the way to it the likelier is named.
    let feeds = &setting.feeds;
    let wiring = |s: &Suspect| is_wiring(feeds, s);
    let same = |a: &Suspect, b: &Suspect| {
        let seats = suspects::lives_on(feeds, a);
        b.cause == Cause::HoldsAwake
            && a.cause == Cause::OwnDraw
            && suspects::lives_on(feeds, b)
                .iter()
                .any(|p| seats.contains(p))
    };
    if wiring(that) && !wiring(this) {
        return weights[other].weight > weights[index].weight;
    }
    if wiring(this) && wiring(that) {
        return weights[other].weight > weights[index].weight;
    }
    // That it holds others awake is seen by more falling than it takes itself.
    if same(this, that) {
        return false;
    }
    // A module's own feed is the narrower explanation as long as it could be one at all.
    if same(that, this) {
        return weights[other].takes >= matters;
    }
    weights[other].takes >= needed
}

/// The places as the planner numbers them: outer before inner.
struct Places {
    rows: Vec<Place>,
    order: Vec<PlaceId>,
}

impl Places {
    fn of(now: &Now<'_>) -> Self {
        let feeds = &now.setting.feeds;
        let mut order: Vec<PlaceId> = feeds.places().collect();
        order.sort_by_key(|p| (feeds.way(*p).len(), p.0));
        let number = |place: PlaceId| order.iter().position(|p| *p == place);
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
                    within: feeds.within(*place).and_then(number),
                }
            })
            .collect();
        Self { rows, order }
    }

    fn number(&self, place: Option<PlaceId>) -> Option<usize> {
        self.order.iter().position(|p| Some(*p) == place)
    }
}

/// The rows of the plan that sit in a range of parts; suspects are in tree order, so this is a range.
fn rows_below(now: &Now<'_>, plan: &Plan, part: PartId) -> std::ops::Range<u32> {
    let suspects = &now.setting.suspects;
    let range = now.setting.feeds.subtree(part);
    // Those without a seat come last and count as beyond every part.
    let seat = |row: &usize| suspects[*row].seat().map_or(u32::MAX, |p| p.0);
    let from = plan.suspects.partition_point(|row| seat(row) < range.start);
    let to = plan.suspects.partition_point(|row| seat(row) < range.end);
    from as u32..to as u32
}

/// The classes of a reading of the current at a part.
fn classes(now: &Now<'_>, plan: &Plan, part: PartId, needed: f64) -> Vec<Class> {
    let feeds = &now.setting.feeds;
    let mut carrying = Vec::new();
    let below = rows_below(now, plan, part);
    if !below.is_empty() {
        carrying.push(below);
    }
    let mut perhaps = Vec::new();
    for (row, index) in plan.suspects.iter().enumerate() {
        let suspect = &now.setting.suspects[*index];
        if suspect.seat().is_some() {
            continue;
        }
        let row = row as u32..row as u32 + 1;
        let inside = |p: &PartId| feeds.is_below(*p, part);
        let here: Vec<_> = suspect.raises.iter().filter(|(p, _)| inside(p)).collect();
        if here.is_empty() {
            continue;
        }
        let known: Option<f64> = here.iter().map(|(_, raised)| *raised).sum();
        if here.len() == suspect.raises.len() || known.is_some_and(|k| k >= needed) {
            carrying.push(row);
        } else if known.is_none_or(|k| k > 0.0) {
            perhaps.push(row);
        }
    }
    let mut classes = Vec::new();
    if !carrying.is_empty() {
        classes.push(Class {
            suspects: carrying,
            sure: true,
        });
    }
    if !perhaps.is_empty() {
        classes.push(Class {
            suspects: perhaps,
            sure: false,
        });
    }
    classes
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
    method: Method,
    part: PartId,
    region: &Region,
) -> bool {
    let (carrying, not) = expected(now, judged, part, region);
    let shown = |current| now.setting.shown(method, part, current);
    match (shown(carrying), shown(not)) {
        (Some((least, _)), Some((_, most))) => least > most,
        _ => false,
    }
}

fn add_readings(
    now: &Now<'_>,
    judged: &Judgement<'_>,
    places: &Places,
    needed: f64,
    plan: &mut Plan,
) {
    let setting = now.setting;
    let feeds = &setting.feeds;
    let out = now.out_set();
    let all = plan.suspects.len() as u32;
    for part in feeds.subtree(plan.focus.top).map(PartId).skip(1) {
        let below = rows_below(now, plan, part);
        if below.is_empty() || out.cuts(feeds, part) || !plan.focus.holds(feeds, part) {
            continue;
        }
        let offered = measurement::offered(feeds, part);
        for method in [Method::Drop, Method::Clamp] {
            let usable = offered.contains(&method)
                && !now.is_done(method, part)
                && (method != Method::Clamp
                    || (setting.instruments.clamp.is_some() && setting.jaws_close(part)))
                && told_apart(now, judged, method, part, &plan.focus);
            if !usable {
                continue;
            }
            let classes = classes(now, plan, part, needed);
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

/// A lamp that is alight and a relay that is warm can be seen.
fn add_looks(now: &Now<'_>, places: &Places, plan: &mut Plan) {
    let feeds = &now.setting.feeds;
    let rows: Vec<(u32, PartId)> = plan
        .suspects
        .iter()
        .enumerate()
        .filter_map(|(row, index)| Some((row as u32, now.setting.suspects[*index].seat()?)))
        .collect();
    for (row, seat) in rows {
        let lamp = feeds.load_kind(seat) == Some(LoadKind::Lamp);
        if !lamp || now.is_done(Method::Look, seat) || now.out_set().cuts(feeds, seat) {
            continue;
        }
        plan.table.tests.push(Test {
            minutes: cost::minutes(Method::Look),
            place: places.number(feeds.place(seat)),
            instrument: None,
            classes: vec![Class {
                suspects: std::iter::once(row..row + 1).collect(),
                sure: true,
            }],
            inconclusive: 0.0,
            harms: false,
        });
        plan.tests.push(Doing::At(Method::Look, seat));
    }
}

/// Taking a branch out and reading the draw.
fn add_pulls(now: &Now<'_>, judged: &Judgement<'_>, places: &Places, needed: f64, plan: &mut Plan) {
    let setting = now.setting;
    let feeds = &setting.feeds;
    let out = now.out_set();
    let fall_shows = now.fall_shows(judged, needed);
    if !fall_shows {
        return;
    }
    for part in feeds.subtree(plan.focus.top).map(PartId).skip(1) {
        if feeds.is_leaf(part) || out.cuts(feeds, part) {
            continue;
        }
        let Some(way) = setting.ways_out_at(part) else {
            continue;
        };
        let method = if way.unplugged {
            Method::Unplug
        } else {
            Method::Pull
        };
        let name = now.name(&way.point);
        // Also where it was taken out together with more.
        let base = now.base();
        let tried = now.pulls.iter().any(|pulled| {
            pulled.base == base && way.parts.iter().all(|p| pulled.parts.contains(p))
        });
        if tried || now.is_skipped(method, &name) || now.is_skipped(method, feeds.id(part)) {
            continue;
        }
        let below = rows_below(now, plan, part);
        if below.is_empty() || below.end - below.start == plan.suspects.len() as u32 {
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
                suspects: std::iter::once(below).collect(),
                sure: true,
            }],
            inconclusive: 0.0,
            harms: chance > 0.5,
        });
        plan.tests.push(Doing::Out(way));
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

    /// What is out beside proven drains.
    pub(super) fn out_beside(&self, base: &Out) -> Vec<&super::TakenOut> {
        let feeds = &self.setting.feeds;
        self.out
            .iter()
            .filter(|t| !t.parts.iter().all(|p| base.cuts(feeds, *p)))
            .collect()
    }
}
