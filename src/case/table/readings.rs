//! The readings of a table: what can be read or seen, where, and what it shows for whom.

use super::classes::{AllHolders, Classes, classes};
use super::{CLAMP, Doing, METER, Places, Plan, Reading, WAKES, rows_below};
use crate::case::fold::Now;
use crate::case::inputs::bare_input;
use crate::case::regions::Region;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::measurement::{FELT_FROM, Method, Way};
use crate::planner::table::{Class, Test};
use crate::quantity::Milliamps;
use crate::suspects::Cause;
use crate::vehicle::{LoadKind, PartKind};

/// The currents at a part if the cause is below it, and if it is not.
pub(in crate::case) fn expected(
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

/// What the instrument shows of the currents at a part.
struct Shown<'n, 's> {
    now: &'n Now<'s>,
    reading: Reading,
    healthy: Interval<Milliamps>,
    /// From and to if the cause is below it, and if it is not.
    carrying: (f64, f64),
    not: (f64, f64),
}

impl<'n, 's> Shown<'n, 's> {
    /// `None` where the two look the same.
    fn of(
        now: &'n Now<'s>,
        judged: &Judgement<'_>,
        reading: Reading,
        region: &Region,
    ) -> Option<Self> {
        let (carrying, healthy) = expected(now, judged, reading.part, region);
        let shown = |current| now.shown(reading.method, reading.way, reading.part, current);
        let (carrying, not) = (shown(carrying)?, shown(healthy)?);
        (carrying.0 > not.1).then_some(Self {
            now,
            reading,
            healthy,
            carrying,
            not,
        })
    }

    /// Whether a part of what is searched looks different from nothing and from all.
    fn tells(&self, some: Interval<Milliamps>) -> bool {
        let Reading {
            method, way, part, ..
        } = self.reading;
        let shown = self.now.shown(method, way, part, self.healthy.plus(some));
        shown.is_some_and(|shown| shown.0 > self.not.1 && shown.1 < self.carrying.0)
    }
}

/// Whether the two answers look different on the instrument.
pub(in crate::case) fn told_apart(
    now: &Now<'_>,
    judged: &Judgement<'_>,
    reading: Reading,
    region: &Region,
) -> bool {
    Shown::of(now, judged, reading, region).is_some()
}

/// Whether the least that the cause would take shows more in the middle of what the part's resistance allows than
/// anything does without it: then it will likely be told, though not for sure.
pub(in crate::case) fn may_tell(
    now: &Now<'_>,
    judged: &Judgement<'_>,
    reading: Reading,
    region: &Region,
) -> bool {
    let (carrying, healthy) = expected(now, judged, reading.part, region);
    let shown = |current| now.shown(reading.method, reading.way, reading.part, current);
    let least = Interval::between(carrying.low(), carrying.low());
    let (Some(least), Some(not)) = (shown(least), shown(healthy)) else {
        return false;
    };
    f64::midpoint(least.0, least.1) > not.1
}

/// Readings that disturb nothing.
pub(super) fn add_readings<'s>(
    now: &Now<'s>,
    judged: &Judgement<'_>,
    (places, holders): (&Places, &AllHolders),
    plan: &mut Plan<'s>,
) {
    let setting = now.setting;
    let feeds = &setting.feeds;
    let out = now.out_set();
    let all = plan.suspects.len() as u32;
    for part in feeds.subtree(plan.focus().top).map(PartId).skip(1) {
        let below = rows_below(now, plan, part);
        if below.is_empty() || out.cuts(feeds, part) || !plan.focus().holds(feeds, part) {
            continue;
        }
        for method in [Method::Drop, Method::Clamp] {
            let usable = setting.offers(part, method)
                && !now.is_done(method, part)
                && (method != Method::Clamp
                    || (setting.instruments.clamp.is_some() && setting.jaws_close(part)));
            let reading = Reading::of(method, part);
            let shown = usable.then(|| Shown::of(now, judged, reading, plan.focus()));
            let Some(shown) = shown.flatten() else {
                continue;
            };
            let tells = |some| shown.tells(some);
            let Classes { classes, some } = classes(now, plan, holders, part, tells);
            let counted: u32 = classes
                .iter()
                .flat_map(|c| &c.suspects)
                .map(|r| r.end - r.start)
                .sum();
            if classes.len() == 1 && counted == all {
                continue;
            }
            plan.table.tests.push(Test {
                minutes: setting.minutes(method),
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
            plan.tests.push(Doing::At(Reading { some, ..reading }));
        }
    }
}

/// A lamp that is alight, a relay that is warm, a switch that is on and an alternator that is warm though the
/// engine is cold can be seen or felt.
pub(super) fn add_looks<'s>(now: &Now<'s>, places: &Places, plan: &mut Plan<'s>) {
    let feeds = &now.setting.feeds;
    let looked_at = |row: usize| {
        let suspect = &now.setting.suspects[plan.suspects.suspects[row]];
        let seat = suspect.seat()?;
        let shows = match suspect.cause {
            Cause::OwnDraw => match feeds.load_kind(seat) {
                Some(LoadKind::Lamp) => now.look_may_show(seat),
                Some(LoadKind::Charging) => plan.odds.region.needed >= FELT_FROM,
                _ => false,
            },
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
        let place = places.number(feeds.place(part));
        plan.table.tests.push(look(now, row, place));
        plan.tests.push(Doing::At(Reading::of(Method::Look, part)));
    }
}

/// A look at what tells one row from all others.
fn look(now: &Now<'_>, row: u32, place: Option<usize>) -> Test {
    Test {
        minutes: now.setting.minutes(Method::Look),
        place,
        instrument: None,
        classes: vec![Class {
            suspects: std::iter::once(row..row + 1).collect(),
            sure: true,
        }],
        inconclusive: 0.0,
        harms: false,
    }
}

/// What an input says can be seen: a warning in the dash, a lamp, a tester.
pub(super) fn add_looks_beside(now: &Now<'_>, plan: &mut Plan<'_>) {
    for row in plan.suspects.seatless()..plan.suspects.len() {
        let suspect = &now.setting.suspects[plan.suspects.suspects[row]];
        let Some(name) = bare_input(&now.setting.feeds, suspect) else {
            continue;
        };
        if !now.is_to_be_looked_at(plan.suspects.suspects[row]) {
            continue;
        }
        plan.table.tests.push(look(now, row as u32, None));
        plan.tests.push(Doing::Look(name.to_owned()));
    }
}

/// A loop lead or the meter in the place of a fuse, where nothing else tells there: no drop, no clamp on
/// a wire, and it cannot come out, its fall would not show, or it was out already. It breaks the supply
/// twice and takes longer than any of these.
pub(super) fn add_lettings_in<'s>(
    now: &Now<'s>,
    judged: &Judgement<'_>,
    (places, holders): (&Places, &AllHolders),
    plan: &mut Plan<'s>,
) {
    let feeds = &now.setting.feeds;
    let out = now.out_set();
    let all = plan.suspects.len() as u32;
    let mut at_hand = vec![false; feeds.len()];
    for doing in &plan.tests {
        match doing {
            Doing::At(read) | Doing::LetIn(read) => at_hand[read.part.index()] = true,
            Doing::Look(_) => {}
            Doing::Out(ways) => {
                for part in ways.iter().flat_map(|way| &way.parts) {
                    at_hand[part.index()] = true;
                }
            }
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
            let tells = || Shown::of(now, judged, Reading::of(method, part), plan.focus());
            now.setting.offers(part, method) && closes && tells().is_some()
        };
        let let_in = [Method::Clamp, Method::Series].map(|method| now.is_done(method, part));
        if told(Method::Drop) || told(Method::Clamp) || let_in.contains(&true) {
            continue;
        }
        let most = Milliamps::of(judged.view().current(part).high());
        let tells = |way: Way| {
            let method = match way {
                Way::Clamp { .. } => Method::Clamp,
                Way::Series(_) => Method::Series,
            };
            let way = Some(way);
            let reading = Reading {
                way,
                ..Reading::of(method, part)
            };
            Shown::of(now, judged, reading, plan.focus())
        };
        let Some(shown) = now.ways_in(part, most).into_iter().find_map(tells) else {
            continue;
        };
        let tells = |some| shown.tells(some);
        let Classes { classes, some } = classes(now, plan, holders, part, tells);
        let reading = Reading {
            some,
            ..shown.reading
        };
        let chance = now.setting.chance_of_waking(&[part]);
        let settles = 2.0 * chance * feeds.settle().value();
        plan.table.tests.push(Test {
            minutes: now.setting.minutes(Method::Series)
                + settles
                + now.setting.minutes(Method::Draw),
            place: places.number(feeds.place(part)),
            instrument: Some(if reading.method == Method::Clamp {
                CLAMP
            } else {
                METER
            }),
            classes,
            inconclusive: 0.0,
            harms: chance > WAKES,
        });
        plan.tests.push(Doing::LetIn(reading));
    }
}
