//! A vehicle's parts as a table, one row a part: what a spreadsheet gives and takes.
//!
//! **Model.** A row says in `fed by` which row feeds it; rows may come in any order and columns too,
//! named by the first row. Reading turns each cell into the value format 1 has for it, lays the rows
//! out as a text of format 1, and reads that: so a table is checked by the very rules of a vehicle
//! file, and each problem is carried back to its cell.
//!
//! **Invariants.** What [`fn@write`] gives, [`read`] takes back: each part as it was, in tree order, but
//! for white space at the ends of a text (test `a_table_gives_the_parts_back`). What stands beside the
//! parts, such as the limit, the minutes of places and the networks of modules, is in no table; it
//! comes from the vehicle that reading starts from.
//!
//! **Cost.** Linear in the cells, but for the names, which are sorted once.

use crate::feeds::Feeds;
use crate::problem::{Problem, in_file_order};
use crate::vehicle::Vehicle;

mod cells;
mod columns;
mod draft;
mod rows;

use columns::COLUMNS;

/// Reads a table: comma, semicolon or tab, with units or without. `start` is the vehicle whose name,
/// limit, places, networks and modules it gets, and whose parts it does not get; places and modules
/// that only the table names are added.
///
/// The tree comes back when no problem is an error. Problems have their places in the text of the
/// table, and name the cell as a spreadsheet does.
pub fn read(text: &str, start: &Vehicle) -> (Option<Feeds>, Vec<Problem>) {
    let table = rows::Table::read(text);
    let mut problems = Vec::new();
    let columns = columns::headings(&table, &["id", "fed by"], &mut problems);
    if !problems.iter().any(Problem::is_error) {
        let (feeds, found) = draft::Draft::of(&table, &columns, start).read();
        problems.extend(found);
        let usable = !problems.iter().any(Problem::is_error);
        return (feeds.filter(|_| usable), in_file_order(problems));
    }
    (None, in_file_order(problems))
}

/// Reads a table of parts that a vehicle is to get besides its own: a row may be fed by a part of the
/// vehicle, and a row that says nothing is fed by `under`.
///
/// What comes back holds the new parts below stand-ins for those that feed them (in tree order, each
/// with the id of the part it stands for), and all places and modules of the vehicle, the new ones
/// last. A coil may be about what the vehicle has, so that is left to a check of the whole.
pub fn read_below(
    text: &str,
    vehicle: &Vehicle,
    under: Option<&str>,
) -> (Option<Vehicle>, Vec<Problem>) {
    let table = rows::Table::read(text);
    let mut problems = Vec::new();
    // Where all are fed by one part, no column need say so.
    let needed: &[&str] = if under.is_some() {
        &["id"]
    } else {
        &["id", "fed by"]
    };
    let columns = columns::headings(&table, needed, &mut problems);
    let mut read = None;
    if !problems.iter().any(Problem::is_error) {
        let (new, found) = draft::Draft::below(&table, &columns, vehicle, under).read_below();
        problems.extend(found);
        read = new.filter(|_| !problems.iter().any(Problem::is_error));
    }
    (read, in_file_order(problems))
}

/// The parts of a vehicle as a table with commas, a heading first, in tree order.
pub fn write(vehicle: &Vehicle) -> String {
    let used = |column: &&columns::Column| {
        let mut parts = vehicle.parts.iter();
        column.always || parts.any(|part| (column.show)(vehicle, part).is_some())
    };
    let columns: Vec<_> = COLUMNS.iter().filter(used).collect();
    let mut out = rows::Writer::default();
    out.row(columns.iter().map(|column| column.name.to_owned()));
    for part in &vehicle.parts {
        let cells = columns.iter().map(|column| (column.show)(vehicle, part));
        out.row(cells.map(Option::unwrap_or_default));
    }
    out.finish()
}
