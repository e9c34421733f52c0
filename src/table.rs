//! A vehicle's parts as a table, one row a part: what a spreadsheet gives and takes.
//!
//! **Model.** A row says in `fed by` which row feeds it; rows may come in any order and columns too,
//! named by the first row. Reading turns each cell into the value format 1 has for it, lays the rows
//! out as a text of format 1, and reads that: so a table is checked by the very rules of a vehicle
//! file, and each problem is carried back to its cell.
//!
//! **Invariants.** What [`fn@write`] gives, [`read`] takes back: each part as it was, in tree order, but
//! for white space at the ends of a text, and for a dash alone, which people type for nothing (test
//! `a_table_gives_the_parts_back`). What is left out or guessed is said. What stands beside the
//! parts, such as the limit, the minutes of places and the networks of modules, is in no table; it
//! comes from the vehicle that reading starts from.
//!
//! **Cost.** Linear in the cells, but for the names, which are sorted once.

use crate::feeds::Feeds;
use crate::problem::Problem;
use crate::vehicle::Vehicle;
use std::collections::BTreeSet;

mod cells;
mod columns;
mod draft;
mod hung;
mod listed;
mod notes;
mod rows;

use columns::{COLUMNS, Headings};
use draft::Draft;
use hung::Hung;
pub use listed::How;
use listed::Listed;
use notes::Notes;

/// What a table says.
#[derive(Debug)]
pub struct Read {
    /// The tree; none where a problem is an error.
    pub feeds: Option<Feeds>,
    /// All problems in the order of the table, with their places in its text; each names its cells as
    /// a spreadsheet does.
    pub problems: Vec<Problem>,
    /// The holders that it calls empty, and that are no parts of the tree.
    pub spare: Vec<String>,
}

/// Reads a table: comma, semicolon or tab, with units or without. `start` is the vehicle whose name,
/// limit, places, networks and modules it gets, and whose parts it does not get; places and modules
/// that only the table names are added.
pub fn read(text: &str, start: &Vehicle, how: How) -> Read {
    let table = rows::Table::read(text);
    let mut notes = Notes::default();
    let headings = Headings::of(&table, &["id", "fed by"], &mut notes);
    let (mut feeds, mut spare) = (None, Vec::new());
    if !notes.any_error() {
        let listed = Listed::of(&table, &headings, how, &mut notes);
        drop(table); // a million rows need the room
        spare = listed.spare;
        let hung = Hung::of(listed.rows, &mut notes);
        let draft = Draft::of(&hung, start, &BTreeSet::new());
        drop(hung);
        feeds = draft.read(&mut notes);
    }
    Read {
        feeds: feeds.filter(|_| !notes.any_error()),
        problems: notes.finish(),
        spare,
    }
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
    how: How,
) -> (Option<Vehicle>, Vec<Problem>) {
    let table = rows::Table::read(text);
    let mut notes = Notes::default();
    // Where all are fed by one part, no column need say so.
    let needed: &[&str] = if under.is_some() {
        &["id"]
    } else {
        &["id", "fed by"]
    };
    let headings = Headings::of(&table, needed, &mut notes);
    let mut read = None;
    if !notes.any_error() {
        let listed = Listed::of(&table, &headings, how, &mut notes);
        let hung = Hung::below(listed.rows, vehicle, under, &mut notes);
        let there = vehicle.parts.iter().map(|part| part.id.value.clone());
        read = Draft::of(&hung, vehicle, &there.collect()).read_below(&mut notes);
    }
    (read.filter(|_| !notes.any_error()), notes.finish())
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
        out.row(cells.map(|cell| listed::marked(cell.unwrap_or_default())));
    }
    out.finish()
}
