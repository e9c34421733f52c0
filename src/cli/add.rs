//! `halfsplit add`: new parts in a vehicle file, whose text stays as it is around them.

use crate::cli::check::questions_left;
use crate::cli::table::Meant;
use crate::cli::{Failure, files, report, say};
use crate::feeds::{self, Named};
use crate::growth::{self, Refused};
use crate::problem::{Look, Problem, nearest, show};
use crate::render::commands::{self, Undone};
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `add` is told.
#[derive(Args, Debug)]
pub(super) struct Add {
    /// The vehicle file
    vehicle: PathBuf,
    /// New parts as they are written in a vehicle file; `-` is standard input
    #[arg(
        value_name = "PART",
        required_unless_present = "table",
        conflicts_with = "table"
    )]
    parts: Vec<String>,
    /// The part that feeds them; rows of a table may name their own
    #[arg(long, value_name = "PART", required_unless_present = "table")]
    under: Option<String>,
    /// A table of new parts instead, a row each, as `import` takes it; `-` is standard input
    #[arg(long, value_name = "TABLE")]
    table: Option<PathBuf>,
    #[command(flatten)]
    meant: Meant,
    /// Write there instead of into the file; `-` is standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Adds the parts; the exit code is 1 when they, or the vehicle with them, have errors, and then
/// nothing is written.
pub(super) fn run(told: &Add, screen: Look) -> Result<u8, Failure> {
    let (name, text) = files::read_to_change(&told.vehicle)?;
    let (feeds, problems) = feeds::load(&text);
    let Some(feeds) = feeds else {
        report(&name, &text, problems, screen)?;
        say(&commands::mend_first(Undone::Added));
        return Ok(1);
    };
    let mut under = None;
    if let Some(id) = &told.under {
        let Some(Named::Part(part)) = feeds.find(id) else {
            unknown(&feeds, id);
            return Ok(1);
        };
        under = Some(feeds.part(*part));
    }
    let (given_name, given) = match &told.table {
        Some(table) => files::read_table(table)?,
        None => typed(&told.parts)?,
    };
    let grown = match (&told.table, under) {
        (None, Some(under)) => growth::typed(&text, &feeds, under, &given),
        _ => growth::tabled(&text, &feeds, under, &given, told.meant.how()),
    };
    let draw = |name: &str, text: &str, problems: &[Problem]| -> Result<(), Failure> {
        if !problems.is_empty() {
            writeln!(anstream::stderr(), "{}", show(name, text, problems, screen))?;
        }
        Ok(())
    };
    let grown = match grown {
        Ok(grown) => grown,
        Err(Refused::Given(problems)) => {
            draw(&given_name, &given, &problems)?;
            say(&commands::nothing_done(Undone::Added));
            return Ok(1);
        }
        Err(Refused::Whole(whole, problems)) => {
            report(&commands::with_new_parts(&name), &whole, problems, screen)?;
            say(&commands::nothing_done(Undone::Added));
            return Ok(1);
        }
    };
    draw(&given_name, &given, &grown.doubts)?;
    draw(
        &commands::with_new_parts(&name),
        &grown.text,
        &grown.warnings,
    )?;
    files::write(told.out.as_deref().unwrap_or(&told.vehicle), &grown.text)?;
    let under = under.map(|part| part.id.value.as_str());
    say(&commands::added(&grown, under));
    questions_left(&grown.text, told.out.as_deref().unwrap_or(&told.vehicle));
    Ok(0)
}

/// The parts given as arguments, or on standard input.
fn typed(parts: &[String]) -> Result<(String, String), Failure> {
    if let [only] = parts
        && only == "-"
    {
        return files::read(&PathBuf::from("-"));
    }
    let parts = parts.iter().map(|part| part.trim().trim_end_matches(','));
    Ok((
        commands::typed_parts(),
        parts.collect::<Vec<_>>().join(",\n"),
    ))
}

fn unknown(feeds: &feeds::Feeds, id: &str) {
    let ids = feeds.parts().map(|part| feeds.id(part));
    say(&commands::no_part_called(id, nearest(id, ids)));
}
