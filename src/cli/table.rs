//! `halfsplit import` and `halfsplit export`: a vehicle's parts from a table and back.

use crate::advice;
use crate::cli::case_file::quoted;
use crate::cli::check::questions_left;
use crate::cli::{Failure, files, open_vehicle, say};
use crate::feeds::Feeds;
use crate::problem::{Fault, Look, show};
use crate::render::{self, commands};
use crate::table::{self, How, Read};
use crate::vehicle::{self, Comments, Vehicle};
use clap::Args;
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};

/// How a table is meant, where that is not plain from its cells.
#[derive(Args, Debug)]
pub(super) struct Meant {
    /// In the table, empty cells under place, fed by and sheet say what the nearest row above says: for
    /// cells that were merged in the spreadsheet
    #[arg(long)]
    fill_down: bool,
    /// Where several rows of the table have the same id, put the place of each in front of it, and the id
    /// under label: for boxes that each count from one
    #[arg(long)]
    place_in_id: bool,
}

impl Meant {
    pub(super) const fn how(&self) -> How {
        How {
            fill_down: self.fill_down,
            place_in_id: self.place_in_id,
        }
    }
}

/// What `import` is told.
#[derive(Args, Debug)]
pub(super) struct Import {
    /// The table, one row a part; `-` is standard input
    table: PathBuf,
    /// The vehicle file to write; `-` is standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// The vehicle's name; else that of the table's file
    #[arg(long, conflicts_with = "like")]
    name: Option<String>,
    /// A vehicle file whose name, limit, places, networks and modules are kept
    #[arg(long, value_name = "VEHICLE")]
    like: Option<PathBuf>,
    #[command(flatten)]
    meant: Meant,
    /// Write over a vehicle file that is there; what was put into it by hand is lost
    #[arg(long)]
    replace: bool,
}

/// What `export` is told.
#[derive(Args, Debug)]
pub(super) struct Export {
    /// The vehicle file
    vehicle: PathBuf,
    /// The table to write; `-` is standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

/// Writes the vehicle of a table; the exit code is 1 when the table has errors, and then nothing is
/// written. Everything doubtful is shown on standard error.
pub(super) fn import(told: &Import, screen: Look) -> Result<u8, Failure> {
    let start = match &told.like {
        Some(like) => match open_vehicle(like, screen)? {
            Some(feeds) => feeds.vehicle().clone(),
            None => return Ok(1),
        },
        None => Vehicle::named(told.name.clone().unwrap_or_else(|| stem(&told.table))),
    };
    let (name, text) = files::read_table(&told.table)?;
    let Read {
        feeds,
        problems,
        spare,
    } = table::read(&text, &start, told.meant.how());
    if !problems.is_empty() {
        let shown = show(&name, &text, &problems, screen);
        writeln!(anstream::stderr(), "{shown}")?;
    }
    let Some(feeds) = feeds else {
        return Ok(1);
    };
    let written = vehicle::write(&with_empty_holders(&feeds, &spare), &Comments::default());
    if !told.replace && holds_other(&told.out, &written) {
        let out = told.out.display().to_string();
        say(&commands::taken_name_or_replace(&out));
        return Ok(1);
    }
    files::write(&told.out, &written)?;
    if !files::is_stream(&told.out) {
        let name = quoted(&told.out.display().to_string());
        say(&render::imported(feeds.vehicle(), &name));
    }
    drop(feeds); // a million parts need the room
    questions_left(&written, &told.out);
    Ok(0)
}

/// The vehicle with its rows of fuses accepted where the table calls the missing holders empty.
fn with_empty_holders<'f>(feeds: &'f Feeds, spare: &[String]) -> Cow<'f, Vehicle> {
    if spare.is_empty() {
        return Cow::Borrowed(feeds.vehicle());
    }
    let mut vehicle = feeds.vehicle().clone();
    let spare: BTreeSet<&str> = spare.iter().map(String::as_str).collect();
    for missing in advice::missing_numbers(feeds) {
        if missing.iter().all(|name| spare.contains(name.as_str())) {
            vehicle.accept(Fault::NumberGap, &missing[0], commands::accepted_empty());
        }
    }
    Cow::Owned(vehicle)
}

/// Whether a file is there that says something else. One that cannot be read does.
fn holds_other(file: &Path, written: &str) -> bool {
    let there = !files::is_stream(file) && file.is_file();
    there && !std::fs::read(file).is_ok_and(|old| old.is_empty() || old == written.as_bytes())
}

/// A file's name without its folder and ending.
fn stem(file: &Path) -> String {
    let stem = file.file_stem().filter(|_| !files::is_stream(file));
    stem.map_or_else(commands::vehicle_of_a_table, |stem| {
        stem.to_string_lossy().into_owned()
    })
}

/// Writes the parts of a vehicle as a table; the exit code is 1 when the vehicle has errors.
pub(super) fn export(told: &Export, screen: Look) -> Result<u8, Failure> {
    let Some(feeds) = open_vehicle(&told.vehicle, screen)? else {
        return Ok(1);
    };
    files::write(&told.out, &table::write(feeds.vehicle()))?;
    writeln!(anstream::stderr(), "{}", commands::table_leaves_out())?;
    Ok(0)
}
