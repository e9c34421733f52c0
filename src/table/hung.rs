//! The rows of a table hung up as a tree: which row feeds which, and what a row is whose kind is not
//! said.

use crate::problem::words::{self, TakenFor};
use crate::table::columns::plain;
use crate::table::listed::{Row, guard_of};
use crate::table::notes::{Notes, Origin};
use crate::vehicle::{FuseStyle, PartKind, Vehicle};
use std::collections::{BTreeMap, BTreeSet};

/// Unknown feeds for which the nearest id is looked for; each costs a walk over all ids.
const NEAREST: usize = 50;

/// What people write for the battery as a feed, beside its id. Terminal 30 is the battery direct (DIN
/// 72552); the rest from memory.
const BATTERY: &[&str] = &[
    "b+",
    "b +",
    "bat",
    "batt",
    "bat+",
    "batt+",
    "battery+",
    "battery +",
    "battery +ve",
    "battery plus",
    "battery positive",
    "terminal 30",
    "term 30",
    "term. 30",
    "kl 30",
    "kl. 30",
    "kl30",
    "30",
];

/// Names that differ in capitals and blanks alone, by what they have in common; `None` where several do.
struct Alike<'n>(BTreeMap<String, Option<&'n str>>);

impl<'n> Alike<'n> {
    fn of(names: impl Iterator<Item = &'n str>) -> Self {
        let mut alike = BTreeMap::new();
        for name in names.filter(|name| !name.is_empty()) {
            let same = alike.entry(plain(name)).or_insert(Some(name));
            if *same != Some(name) {
                *same = None;
            }
        }
        Self(alike)
    }

    fn find(&self, name: &str) -> Option<&'n str> {
        self.0.get(&plain(name)).copied().flatten()
    }
}

/// Rows in a tree.
pub(super) struct Hung {
    pub(super) rows: Vec<Row>,
    /// The row that feeds each.
    pub(super) up: Vec<Option<usize>>,
    /// The rows in tree order.
    pub(super) order: Vec<usize>,
}

impl Hung {
    /// The rows as a tree of their own.
    pub(super) fn of(mut rows: Vec<Row>, notes: &mut Notes) -> Self {
        enter_battery(&mut rows, notes);
        Self::up(rows, notes)
    }

    /// The rows below stand-ins for the parts of a vehicle that feed them.
    pub(super) fn below(
        mut rows: Vec<Row>,
        vehicle: &Vehicle,
        under: Option<&str>,
        notes: &mut Notes,
    ) -> Self {
        enter_stand_ins(&mut rows, vehicle, under, notes);
        Self::up(rows, notes)
    }

    fn up(rows: Vec<Row>, notes: &mut Notes) -> Self {
        let (up, order) = tree(&rows, notes);
        let mut hung = Self { rows, up, order };
        hung.kinds(notes);
        hung.places(notes);
        hung
    }

    /// Rows without a kind get the one that their other cells speak for.
    fn kinds(&mut self, notes: &mut Notes) {
        let mut feeds = vec![false; self.rows.len()];
        for above in self.up.iter().flatten() {
            feeds[*above] = true;
        }
        let top = self.order.first().copied();
        for (number, (row, feeds)) in self.rows.iter_mut().zip(feeds).enumerate() {
            if row.kind.is_some() {
                continue;
            }
            let says = |field: &str| row.field(field).map(|field| field.value.as_str());
            let style = says("style").and_then(|word| {
                let mut known = FuseStyle::TABLE.iter();
                known.find(|(name, _)| *name == word)
            });
            let bolted = style.is_some_and(|(_, style)| guard_of(*style) == PartKind::Link);
            let called = |word| {
                let mut names = [says("name"), Some(row.id.as_str())].into_iter().flatten();
                names.any(|name| {
                    plain(name)
                        .split(|c: char| !c.is_alphanumeric())
                        .any(|w| w == word)
                })
            };
            let (kind, because) = if Some(number) == top && plain(&row.id) == "battery" {
                row.kind = Some(PartKind::Battery);
                continue;
            } else if bolted {
                (PartKind::Link, TakenFor::Bolted)
            } else if says("rating").is_some() || style.is_some() {
                (PartKind::Fuse, TakenFor::Rated)
            } else if feeds && called("relay") {
                (PartKind::Relay, TakenFor::CalledRelay)
            } else if feeds {
                (PartKind::Splice, TakenFor::Feeds)
            } else {
                (PartKind::Load, TakenFor::FeedsNothing)
            };
            row.kind = Some(kind);
            // A kind that is no word has been noted.
            if row.kind_origin.is_none() {
                notes.note(&row.origin, words::kind_guessed(kind.word(), because));
            }
        }
    }

    /// Fuses whose cell for the place is empty below one that names a place other than that of their
    /// feed: cells that were merged look like that.
    fn places(&self, notes: &mut Notes) {
        let own = |row: &Row| row.field("at").map(|field| field.text.clone());
        let mut places: Vec<Option<String>> = vec![None; self.rows.len()];
        for number in &self.order {
            let up = self.up[*number];
            places[*number] =
                own(&self.rows[*number]).or_else(|| up.and_then(|up| places[up].clone()));
        }
        let mut above = None;
        for (row, place) in self.rows.iter().zip(&places) {
            let guards = [PartKind::Fuse, PartKind::Link, PartKind::Breaker];
            if row.kind.is_none_or(|kind| !guards.contains(&kind)) {
                continue;
            }
            let Some(cell) = &row.no_place else {
                above = own(row);
                continue;
            };
            if let Some(above) = above
                .as_ref()
                .filter(|above| Some(*above) != place.as_ref())
            {
                notes.note(cell, words::place_as_feed(above));
            }
        }
    }
}

/// A table of a fuse box alone has no row for the battery: it gets one.
fn enter_battery(rows: &mut Vec<Row>, notes: &mut Notes) {
    let Some(first) = rows.first() else { return };
    let mut all = rows.iter();
    if all.any(|row| row.is_battery() || plain(&row.id) == "battery") {
        return;
    }
    let origin = first.origin.clone();
    notes.note(&origin, words::battery_entered());
    rows.push(Row::entered("battery", PartKind::Battery, &origin));
}

/// Rows for the parts of a vehicle that feed what is in the table: its battery, and below that all
/// others.
fn enter_stand_ins(rows: &mut Vec<Row>, vehicle: &Vehicle, under: Option<&str>, notes: &mut Notes) {
    let Some((battery, first)) = vehicle.parts.first().zip(rows.first()) else {
        return;
    };
    let first = first.origin.clone();
    let there = || vehicle.parts.iter().map(|part| part.id.value.as_str());
    let known: BTreeSet<&str> = there().collect();
    let alike = Alike::of(there());
    let own: BTreeSet<String> = rows.iter().map(|row| plain(&row.id)).collect();
    let top = battery.id.value.clone();
    let mut needed: BTreeSet<String> = BTreeSet::new();
    for row in rows.iter_mut() {
        if known.contains(row.id.as_str()) {
            notes.note(&row.origin, words::there_already(&row.id));
        }
        match (&mut row.fed_by, under) {
            (None, Some(under)) => row.fed_by = Some((under.to_owned(), row.origin.clone())),
            (None, None) => notes.note(&row.origin, words::new_part_not_fed(&row.id)),
            (Some((id, origin)), _)
                if !known.contains(id.as_str()) && !own.contains(&plain(id)) =>
            {
                if let Some(meant) = alike.find(id) {
                    notes.note(origin, words::feed_taken_for(id, meant));
                    meant.clone_into(id);
                } else if BATTERY.contains(&plain(id).as_str()) {
                    notes.note(origin, words::feed_taken_for(id, &top));
                    id.clone_from(&top);
                }
            }
            _ => {}
        }
        let fed_by = row.fed_by.iter().map(|(id, _)| id.clone());
        needed.extend(fed_by.filter(|id| known.contains(id.as_str())));
    }
    needed.remove(&top);
    rows.push(Row::entered(&top, PartKind::Battery, &first));
    for id in needed {
        let mut row = Row::entered(&id, PartKind::Splice, &first);
        row.fed_by = Some((top.clone(), first.clone()));
        rows.push(row);
    }
}

/// Which row feeds which, and the rows in tree order. Rows whose feed cannot be found are put below the
/// battery, so that their other cells are looked at too.
fn tree(rows: &[Row], notes: &mut Notes) -> (Vec<Option<usize>>, Vec<usize>) {
    let mut by_id: BTreeMap<&str, usize> = BTreeMap::new();
    for (number, row) in rows.iter().enumerate().rev() {
        by_id.insert(&row.id, number);
    }
    let find = |is: &dyn Fn(&Row) -> bool| rows.iter().position(is);
    let Some(top) = find(&|row| row.is_battery() && row.invented)
        .or_else(|| find(&|row| row.is_battery() && row.fed_by.is_none()))
        .or_else(|| find(&|row| plain(&row.id) == "battery"))
        .or_else(|| find(&Row::is_battery))
    else {
        return (Vec::new(), Vec::new());
    };
    let battery = rows[top].id.as_str();
    let alike = Alike::of(by_id.keys().copied());
    let mut unknown = 0;
    let mut feeder = |id: &str, origin: &Origin| {
        if let Some(number) = by_id.get(id) {
            return Some(*number);
        }
        let called = BATTERY.contains(&plain(id).as_str());
        if let Some(meant) = alike.find(id).or(called.then_some(battery)) {
            notes.note(origin, words::feed_taken_for(id, meant));
            return by_id.get(meant).copied();
        }
        unknown += 1;
        let looked_through = if unknown <= NEAREST { by_id.len() } else { 0 };
        let ids: Vec<_> = by_id.keys().copied().take(looked_through).collect();
        notes.note(origin, words::unknown_feed(id, &ids, battery));
        Some(top)
    };
    let mut up: Vec<Option<usize>> = Vec::with_capacity(rows.len());
    let mut unfed = Vec::new();
    for (number, row) in rows.iter().enumerate() {
        up.push(match &row.fed_by {
            Some((id, origin)) if number == top => {
                unfed.push((origin, words::battery_is_fed(id)));
                None
            }
            None if number == top => None,
            None => {
                if !rows[top].invented {
                    unfed.push((&row.origin, words::row_not_fed(&row.id, battery)));
                }
                Some(top)
            }
            Some((id, origin)) => feeder(id, origin),
        });
    }
    for (origin, finding) in unfed {
        notes.note(origin, finding);
    }
    cut_rings(rows, &mut up, top, notes);
    let order = in_order(&up, top);
    (up, order)
}

/// The rows in tree order, those of one feed as the table has them.
fn in_order(up: &[Option<usize>], top: usize) -> Vec<usize> {
    let mut fed: Vec<Vec<usize>> = vec![Vec::new(); up.len()];
    for (number, up) in up.iter().enumerate() {
        if let Some(up) = up {
            fed[*up].push(number);
        }
    }
    let mut order = Vec::with_capacity(up.len());
    let mut waiting = vec![top];
    while let Some(next) = waiting.pop() {
        order.push(next);
        waiting.extend(fed[next].iter().rev());
    }
    order
}

/// Rows that feed each other in a ring are noted once and put below the battery.
fn cut_rings(rows: &[Row], up: &mut [Option<usize>], top: usize, notes: &mut Notes) {
    // From which row a row was first passed on the way up.
    let mut passed: Vec<Option<usize>> = vec![None; rows.len()];
    for from in 0..rows.len() {
        let mut at = from;
        while passed[at].is_none() {
            passed[at] = Some(from);
            match up[at] {
                Some(above) => at = above,
                None => break,
            }
        }
        if up[at].is_none() || passed[at] != Some(from) {
            continue;
        }
        let mut members = vec![at];
        while let Some(above) = up[*members.last().unwrap_or(&at)].filter(|above| *above != at) {
            members.push(above);
        }
        members.sort_unstable();
        let first = members[0];
        let ids: Vec<_> = members.iter().map(|m| rows[*m].id.as_str()).collect();
        if let Some((_, origin)) = &rows[first].fed_by {
            notes.note(origin, words::rows_in_a_ring(&ids));
        }
        up[first] = Some(top);
    }
}
