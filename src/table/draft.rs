//! A table laid out as a text of format 1, with the cell behind each piece of that text.

use crate::feeds::{self, Feeds};
use crate::problem::words::{self, TakenFor};
use crate::problem::{Fault, Finding, Located, Problem, Span};
use crate::table::cells;
use crate::table::columns::{Content, Heading, KINDS, body, cell_name, plain};
use crate::table::rows::{Cell, Table};
use crate::vehicle::{
    self, Comments, FuseStyle, LoadKind, Module, PartKind, Place, Vehicle, quoted,
};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

/// A cell of the table, to show problems at.
#[derive(Clone, Default)]
struct Origin {
    at: Span,
    /// As a spreadsheet names it.
    name: String,
}

/// A field as it will stand in the draft.
struct Field {
    name: &'static str,
    value: String,
    /// What the cell says.
    text: String,
    origin: Origin,
}

/// One row as it will stand in the draft.
#[derive(Default)]
struct Row {
    /// Its id, else its first cell.
    origin: Origin,
    id: String,
    kind: Option<PartKind>,
    kind_origin: Option<Origin>,
    fed_by: Option<(String, Origin)>,
    fields: Vec<Field>,
    /// Not in the table, but entered for it.
    invented: bool,
}

impl Row {
    fn is_battery(&self) -> bool {
        self.kind == Some(PartKind::Battery)
    }
}

/// Unknown feeds for which the nearest id is looked for; each costs a walk over all ids.
const NEAREST: usize = 50;

/// The draft being made.
pub(super) struct Draft {
    out: String,
    /// Where pieces of the draft start, with the cell behind each, in the draft's order.
    origins: Vec<(usize, Origin)>,
    problems: Vec<Problem>,
    /// That a column of kinds holds bodies was said.
    bodies_said: bool,
}

impl Draft {
    pub(super) fn of(table: &Table, columns: &[Heading], start: &Vehicle) -> Self {
        let mut draft = Self {
            out: String::new(),
            origins: Vec::new(),
            problems: Vec::new(),
            bodies_said: false,
        };
        let rows = table.rows.iter().skip(1);
        let mut rows: Vec<_> = rows
            .map(|(number, cells)| draft.row(*number, cells, columns))
            .collect();
        draft.battery(&mut rows);
        draft.lay_out(rows, start, &BTreeSet::new());
        draft
    }

    /// For rows that a vehicle is to get besides its own parts.
    pub(super) fn below(
        table: &Table,
        columns: &[Heading],
        vehicle: &Vehicle,
        under: Option<&str>,
    ) -> Self {
        let mut draft = Self {
            out: String::new(),
            origins: Vec::new(),
            problems: Vec::new(),
            bodies_said: false,
        };
        let rows = table.rows.iter().skip(1);
        let mut rows: Vec<_> = rows
            .map(|(number, cells)| draft.row(*number, cells, columns))
            .collect();
        draft.stand_ins(&mut rows, vehicle, under);
        let there = vehicle.parts.iter().map(|part| part.id.value.clone());
        draft.lay_out(rows, vehicle, &there.collect());
        draft
    }

    /// `there`: ids of parts that are in no row.
    fn lay_out(&mut self, mut rows: Vec<Row>, start: &Vehicle, there: &BTreeSet<String>) {
        let (up, order) = self.tree(&rows);
        self.kinds(&mut rows, &up);
        self.head(&rows, start, there);
        self.body(&rows, &up, &order);
    }

    /// Rows for the parts of a vehicle that feed what is in the table: its battery, and below that
    /// all others.
    fn stand_ins(&mut self, rows: &mut Vec<Row>, vehicle: &Vehicle, under: Option<&str>) {
        let Some((battery, first)) = vehicle.parts.first().zip(rows.first()) else {
            return;
        };
        let first = first.origin.clone();
        let there = vehicle.parts.iter().map(|part| part.id.value.as_str());
        let there: BTreeSet<&str> = there.collect();
        let mut needed: BTreeSet<String> = BTreeSet::new();
        for row in rows.iter_mut() {
            if there.contains(row.id.as_str()) {
                self.note(&row.origin, words::there_already(&row.id));
            }
            match (&row.fed_by, under) {
                (None, Some(under)) => {
                    row.fed_by = Some((under.to_owned(), row.origin.clone()));
                }
                (None, None) => self.note(&row.origin, words::new_part_not_fed(&row.id)),
                _ => {}
            }
            let fed_by = row.fed_by.iter().map(|(id, _)| id.clone());
            needed.extend(fed_by.filter(|id| there.contains(id.as_str())));
        }
        let top = battery.id.value.clone();
        needed.remove(&top);
        let mut invented = vec![(top.clone(), PartKind::Battery, None)];
        let others = needed.into_iter();
        invented.extend(others.map(|id| (id, PartKind::Splice, Some(top.clone()))));
        for (id, kind, fed_by) in invented {
            rows.push(Row {
                origin: first.clone(),
                kind: Some(kind),
                fed_by: fed_by.map(|id| (id, first.clone())),
                fields: vec![Field {
                    name: "id",
                    value: quoted(&id),
                    text: id.clone(),
                    origin: first.clone(),
                }],
                id,
                invented: true,
                ..Row::default()
            });
        }
    }

    /// The new parts below stand-ins, with every problem at its cell but for those that only the
    /// whole vehicle can answer.
    pub(super) fn read_below(self) -> (Option<Vehicle>, Vec<Problem>) {
        let (vehicle, mut found) = vehicle::read(&self.out);
        if let Some(vehicle) = &vehicle {
            let (_, mut more) = Feeds::check(vehicle.clone());
            let whole = [Fault::CoilTarget, Fault::CoilCommand, Fault::NoLimit];
            more.retain(|problem| whole.iter().all(|fault| fault.code() != problem.code));
            found.extend(more);
        }
        (vehicle, self.at_cells(found))
    }

    /// The tree, with every problem at its cell.
    pub(super) fn read(self) -> (Option<Feeds>, Vec<Problem>) {
        let (feeds, found) = feeds::load(&self.out);
        (feeds, self.at_cells(found))
    }

    /// All problems, those found in the draft at the cells behind them.
    fn at_cells(self, found: Vec<Problem>) -> Vec<Problem> {
        // A piece of the draft that no cell stands behind belongs to the cell before it.
        let origin = |at: usize| {
            let behind = self.origins.partition_point(|(start, _)| *start <= at);
            self.origins
                .get(behind.saturating_sub(1))
                .map(|(_, origin)| origin.clone())
        };
        let mut problems = self.problems;
        problems.extend(found.into_iter().map(|problem| {
            let Origin { at, name } = origin(problem.at.start).unwrap_or_default();
            let second = |at: &Span| Some(origin(at.start)?.at);
            words::carried_to_cell(problem, (&name, at), second)
        }));
        problems
    }

    fn note(&mut self, cell: &Origin, finding: Finding) {
        let problem = finding.at_cell(&cell.name, cell.at.clone());
        self.problems.push(problem);
    }

    fn row(&mut self, number: usize, cells: &[Cell], columns: &[Heading]) -> Row {
        let mut row = Row::default();
        row.origin.name = cell_name(number, 0);
        row.origin.at = cells.first().map_or(0..0, |cell| cell.at.clone());
        for (column, cell) in cells.iter().enumerate().filter(|(_, c)| !c.text.is_empty()) {
            let origin = Origin {
                at: cell.at.clone(),
                name: cell_name(number, column),
            };
            let Some((heading, unit)) = columns.get(column).copied().flatten() else {
                if column >= columns.len() {
                    self.note(&origin, words::no_heading(&cell.text));
                }
                continue;
            };
            match heading.content {
                Content::Kind => self.kind(&mut row, &cell.text, origin),
                Content::FedBy => row.fed_by = Some((cell.text.clone(), origin)),
                _ if heading.field == "style" && body(&cell.text).is_some() => {
                    Self::style(&mut row, &cell.text, origin);
                }
                content => match cells::value(&cell.text, content, unit) {
                    Ok(Some(value)) => {
                        if heading.field == "id" {
                            row.origin = origin.clone();
                            row.id.clone_from(&cell.text);
                        }
                        // The kind of part may have said what kind of load it is.
                        let mut said = row.fields.iter();
                        if !said.any(|f| f.name == heading.field && f.value == value) {
                            row.fields.push(Field {
                                name: heading.field,
                                value,
                                text: cell.text.clone(),
                                origin,
                            });
                        }
                    }
                    Ok(None) => {}
                    Err(finding) => self.note(&origin, finding),
                },
            }
        }
        row
    }

    /// A fuse's style by any of its names. A style that the kind has said already gives way.
    fn style(row: &mut Row, text: &str, origin: Origin) {
        let Some(style) = body(text) else { return };
        row.fields.retain(|field| field.name != "style");
        row.fields.push(Field {
            name: "style",
            value: style.word().to_owned(),
            text: text.to_owned(),
            origin,
        });
    }

    /// The kind of part that a cell names: a word of the format or of the trade, or a kind of load.
    fn kind(&mut self, row: &mut Row, text: &str, origin: Origin) {
        let letters = |text: &str| plain(text).replace(' ', "");
        let meant = letters(text);
        let mut parts = PartKind::TABLE.iter().chain(KINDS);
        let mut loads = LoadKind::TABLE.iter();
        if let Some((_, kind)) = parts.find(|(word, _)| letters(word) == meant) {
            row.kind = Some(*kind);
        } else if let Some((word, _)) = loads.find(|(word, _)| letters(word) == meant) {
            row.kind = Some(PartKind::Load);
            let mut said = row.fields.iter();
            if !said.any(|f| f.name == "kind" && f.value == *word) {
                row.fields.push(Field {
                    name: "kind",
                    value: (*word).to_owned(),
                    text: text.to_owned(),
                    origin: origin.clone(),
                });
            }
        } else if let Some(style) = body(text) {
            self.body_for_kind(row, style, text, &origin);
        } else {
            let words = PartKind::TABLE.iter().map(|(word, _)| *word);
            let finding = words::unknown_part(text, &words.collect::<Vec<_>>());
            self.note(&origin, finding);
        }
        row.kind_origin = Some(origin);
    }

    /// A fuse's body where a kind belongs: the part is a fuse, or a link where it is bolted, and the body
    /// is its style. Said once for the whole column.
    fn body_for_kind(&mut self, row: &mut Row, style: FuseStyle, text: &str, origin: &Origin) {
        let bolted = matches!(style, FuseStyle::Midi | FuseStyle::Mega);
        let kind = if bolted {
            PartKind::Link
        } else {
            PartKind::Fuse
        };
        row.kind = Some(kind);
        let value = style.word().to_owned();
        let mut said = row.fields.iter();
        if !said.any(|f| f.name == "style") {
            row.fields.push(Field {
                name: "style",
                value,
                text: text.to_owned(),
                origin: origin.clone(),
            });
        }
        if !std::mem::replace(&mut self.bodies_said, true) {
            let finding = words::bodies_for_kinds(text, kind.word(), style.word());
            self.note(origin, finding);
        }
    }

    /// A table of a fuse box alone has no row for the battery: it gets one.
    fn battery(&mut self, rows: &mut Vec<Row>) {
        let Some(first) = rows.first() else { return };
        let mut all = rows.iter();
        if all.any(|row| row.is_battery() || plain(&row.id) == "battery") {
            return;
        }
        let origin = first.origin.clone();
        self.note(&origin, words::battery_entered());
        rows.push(Row {
            origin: origin.clone(),
            id: "battery".to_owned(),
            kind: Some(PartKind::Battery),
            fields: vec![Field {
                name: "id",
                value: quoted("battery"),
                text: "battery".to_owned(),
                origin,
            }],
            invented: true,
            ..Row::default()
        });
    }

    /// Which row feeds which, and the rows in tree order. Rows whose feed cannot be found are put
    /// below the battery, so that their other cells are looked at too.
    fn tree(&mut self, rows: &[Row]) -> (Vec<Option<usize>>, Vec<usize>) {
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
        let mut up: Vec<Option<usize>> = Vec::with_capacity(rows.len());
        let mut unknown = 0;
        for (number, row) in rows.iter().enumerate() {
            let above = match &row.fed_by {
                Some((id, origin)) if number == top => {
                    self.note(origin, words::battery_is_fed(id));
                    None
                }
                None if number == top => None,
                None => {
                    if !rows[top].invented {
                        self.note(&row.origin, words::row_not_fed(&row.id, &rows[top].id));
                    }
                    Some(top)
                }
                Some((id, origin)) => by_id.get(id.as_str()).copied().or_else(|| {
                    unknown += 1;
                    let ids = by_id.keys().copied().filter(|_| unknown <= NEAREST);
                    let ids: Vec<_> = ids.collect();
                    self.note(origin, words::unknown_feed(id, &ids, &rows[top].id));
                    Some(top)
                }),
            };
            up.push(above);
        }
        self.cut_rings(rows, &mut up, top);
        let mut fed: Vec<Vec<usize>> = vec![Vec::new(); rows.len()];
        for (number, up) in up.iter().enumerate() {
            if let Some(up) = up {
                fed[*up].push(number);
            }
        }
        let mut order = Vec::with_capacity(rows.len());
        let mut waiting = vec![top];
        while let Some(next) = waiting.pop() {
            order.push(next);
            waiting.extend(fed[next].iter().rev());
        }
        (up, order)
    }

    /// Rows that feed each other in a ring are noted once and put below the battery.
    fn cut_rings(&mut self, rows: &[Row], up: &mut [Option<usize>], top: usize) {
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
            while let Some(above) = up[*members.last().unwrap_or(&at)].filter(|above| *above != at)
            {
                members.push(above);
            }
            members.sort_unstable();
            let first = members[0];
            let ids: Vec<_> = members.iter().map(|m| rows[*m].id.as_str()).collect();
            if let Some((_, origin)) = &rows[first].fed_by {
                self.note(origin, words::rows_in_a_ring(&ids));
            }
            up[first] = Some(top);
        }
    }

    /// Rows without a kind get the one that their other cells speak for.
    fn kinds(&mut self, rows: &mut [Row], up: &[Option<usize>]) {
        let mut feeds = vec![false; rows.len()];
        for above in up.iter().flatten() {
            feeds[*above] = true;
        }
        for (row, feeds) in rows.iter_mut().zip(feeds) {
            if row.kind.is_some() {
                continue;
            }
            let has = |field| row.fields.iter().any(|f| f.name == field);
            let (kind, because) = if has("rating") || has("style") {
                (PartKind::Fuse, TakenFor::Rated)
            } else if feeds {
                (PartKind::Splice, TakenFor::Feeds)
            } else {
                (PartKind::Load, TakenFor::FeedsNothing)
            };
            row.kind = Some(kind);
            // A kind that is no word has been noted.
            if row.kind_origin.is_none() {
                self.note(&row.origin, words::kind_guessed(kind.word(), because));
            }
        }
    }

    /// The vehicle's own fields, with the places and modules that only the table names.
    fn head(&mut self, rows: &[Row], start: &Vehicle, there: &BTreeSet<String>) {
        let mut head = Vehicle {
            parts: Vec::new(),
            ..start.clone()
        };
        let names = |names: &mut dyn Iterator<Item = &Located<String>>| -> BTreeSet<String> {
            names.map(|name| name.value.clone()).collect()
        };
        let mut places = names(&mut head.places.iter().map(|place| &place.id));
        let mut modules = names(&mut head.modules.iter().map(|module| &module.id));
        let mut commands = names(&mut head.modules.iter().flat_map(|m| &m.held_by));
        commands.extend(rows.iter().map(|row| row.id.clone()));
        commands.extend(there.iter().cloned());
        // The number of each new entry of its map, with the cell that names it first.
        let (mut new_places, mut new_modules) = (Vec::new(), Vec::new());
        for field in rows.iter().flat_map(|row| &row.fields) {
            let id = Located {
                value: field.text.clone(),
                at: 0..0,
            };
            match field.name {
                "at" if places.insert(field.text.clone()) => {
                    new_places.push((head.places.len(), &field.origin));
                    head.places.push(Place {
                        id,
                        reach: Place::USUAL_REACH,
                        reach_given: false,
                        wakes: false,
                        within: None,
                    });
                }
                "commanded_by" if commands.contains(&field.text) => {}
                "of" | "commanded_by" if modules.insert(field.text.clone()) => {
                    new_modules.push((head.modules.len(), &field.origin));
                    head.modules.push(Module {
                        id,
                        network: None,
                        awake: None,
                        held_by: Vec::new(),
                    });
                }
                _ => {}
            }
        }
        self.out = vehicle::write(&head, &Comments::default());
        // Each entry of a map stands on its own line, places first, modules last.
        let lines = self.out.match_indices("\n        \"");
        let lines: Vec<usize> = lines.map(|(at, _)| at + 1).collect();
        let before = head.places.len() + head.networks.len();
        let new_modules = new_modules.iter().map(|(n, origin)| (before + n, *origin));
        for (number, origin) in new_places.into_iter().chain(new_modules) {
            if let Some(start) = lines.get(number) {
                self.origins.push((*start, origin.clone()));
            }
        }
        // The battery goes before the vehicle's closing bracket.
        let end = self.out.trim_end().len().saturating_sub(1);
        self.out.truncate(end);
    }

    fn body(&mut self, rows: &[Row], up: &[Option<usize>], order: &[usize]) {
        let mut open: Vec<usize> = Vec::new();
        for (n, number) in order.iter().enumerate() {
            let row = &rows[*number];
            while let Some(last) = open.last()
                && Some(*last) != up[*number]
            {
                open.pop();
                self.out.push_str("]),\n");
            }
            self.out.push_str(if n == 0 { "battery: " } else { "" });
            self.piece(row.kind_origin.as_ref().unwrap_or(&row.origin));
            let kind = row.kind.map_or("Load", PartKind::word);
            self.out.push_str(kind);
            self.out.push('(');
            for field in &row.fields {
                self.piece(&field.origin);
                let _ = write!(self.out, "{}: {}, ", field.name, field.value);
            }
            self.piece(&row.origin);
            let next = order.get(n + 1);
            let feeds = next.is_some_and(|next| up[*next] == Some(*number));
            self.out.push_str(if feeds { "feeds: [\n" } else { "),\n" });
            if feeds {
                open.push(*number);
            }
        }
        self.out.push_str(&"]),\n".repeat(open.len()));
        self.out.push_str(")\n");
    }

    /// What is written next stands for a cell.
    fn piece(&mut self, origin: &Origin) {
        self.origins.push((self.out.len(), origin.clone()));
    }
}
