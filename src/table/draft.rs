//! A table laid out as a text of format 1, with the cell behind each piece of that text.

use crate::feeds::{self, Feeds};
use crate::problem::{Fault, Located, Problem, Span, words};
use crate::table::hung::Hung;
use crate::table::notes::{Notes, Origin};
use crate::vehicle::{self, Comments, Module, PartKind, Place, Vehicle};
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// The draft being made.
#[derive(Default)]
pub(super) struct Draft {
    out: String,
    /// Where pieces of the draft start, with the cell behind each, in the draft's order.
    origins: Vec<(usize, Origin)>,
}

impl Draft {
    /// `start` has what stands beside the parts. `there`: ids of parts that are in no row.
    pub(super) fn of(hung: &Hung, start: &Vehicle, there: &BTreeSet<String>) -> Self {
        let mut draft = Self::default();
        draft.head(hung, start, there);
        draft.body(hung);
        draft
    }

    /// The new parts below stand-ins, with every problem at its cell but for those that only the
    /// whole vehicle can answer.
    pub(super) fn read_below(self, notes: &mut Notes) -> Option<Vehicle> {
        let (vehicle, mut found) = vehicle::read(&self.out);
        if let Some(vehicle) = &vehicle {
            let (_, mut more) = Feeds::check(vehicle.clone());
            let whole = [Fault::CoilTarget, Fault::CoilCommand, Fault::NoLimit];
            more.retain(|problem| whole.iter().all(|fault| fault.code() != problem.code));
            found.extend(more);
        }
        self.at_cells(found, notes);
        vehicle
    }

    /// The tree, with every problem at its cell.
    pub(super) fn read(self, notes: &mut Notes) -> Option<Feeds> {
        let (feeds, found) = feeds::load(&self.out);
        self.at_cells(found, notes);
        feeds
    }

    /// Notes what was found in the draft at the cells behind it.
    fn at_cells(self, found: Vec<Problem>, notes: &mut Notes) {
        // A piece of the draft that no cell stands behind belongs to the cell before it.
        let origin = |at: usize| {
            let behind = self.origins.partition_point(|(start, _)| *start <= at);
            self.origins
                .get(behind.saturating_sub(1))
                .map(|(_, origin)| origin.clone())
        };
        for mut problem in found {
            // The draft is in tree order; of two names alike the one further down is to be changed.
            if let Some((first, _)) = &mut problem.also
                && problem.code == Fault::DuplicateId.code()
                && let Some((a, b)) = origin(first.start).zip(origin(problem.at.start))
                && a.row > b.row
            {
                std::mem::swap(first, &mut problem.at);
            }
            let cell = origin(problem.at.start).unwrap_or_default();
            let second = |at: &Span| Some(origin(at.start)?.at);
            let problem = words::carried_to_cell(problem, cell.at.clone(), second);
            notes.add(cell, problem);
        }
    }

    /// The vehicle's own fields, with the places and modules that only the table names.
    fn head(&mut self, hung: &Hung, start: &Vehicle, there: &BTreeSet<String>) {
        let rows = &hung.rows;
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

    fn body(&mut self, hung: &Hung) {
        let Hung { rows, up, order } = hung;
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
            // What has no name is shown where the name would stand.
            let kind_origin = row.kind_origin.as_ref().filter(|_| !row.id.is_empty());
            self.piece(kind_origin.unwrap_or(&row.origin));
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
