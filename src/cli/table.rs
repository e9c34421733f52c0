//! `halfsplit import` and `halfsplit export`: a vehicle's parts from a table and back.

use crate::cli::check::questions_left;
use crate::cli::{Failure, files, open_vehicle};
use crate::problem::{Look, show};
use crate::table;
use crate::vehicle::{self, Comments, Vehicle};
use clap::Args;
use std::io::Write;
use std::path::{Path, PathBuf};

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
    let (name, text) = files::read(&told.table)?;
    let (feeds, problems) = table::read(&text, &start);
    if !problems.is_empty() {
        let shown = show(&name, &text, &problems, screen);
        writeln!(anstream::stderr(), "{shown}")?;
    }
    let Some(feeds) = feeds else {
        return Ok(1);
    };
    let written = vehicle::write(feeds.vehicle(), &Comments::default());
    files::write(&told.out, &written)?;
    questions_left(&written, &told.out);
    Ok(0)
}

/// A file's name without its folder and ending.
fn stem(file: &Path) -> String {
    let stem = file.file_stem().filter(|_| !files::is_stream(file));
    stem.map_or_else(
        || "from a table".to_owned(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}

/// Writes the parts of a vehicle as a table; the exit code is 1 when the vehicle has errors.
pub(super) fn export(told: &Export, screen: Look) -> Result<u8, Failure> {
    let Some(feeds) = open_vehicle(&told.vehicle, screen)? else {
        return Ok(1);
    };
    files::write(&told.out, &table::write(feeds.vehicle()))?;
    writeln!(
        anstream::stderr(),
        "Not in the table: the limit, the settle time, minutes to places, networks, what modules \
         are on and held by, comments.\nTo keep them: halfsplit import TABLE --like VEHICLE --out FILE"
    )?;
    Ok(0)
}
