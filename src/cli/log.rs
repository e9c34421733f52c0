//! `halfsplit log`: what a current log says.

use crate::cli::{Failure, answer, files, open_vehicle, say};
use crate::log::{Rows, Sample, Wrong, find};
use crate::problem::Look;
use crate::quantity::Milliamps;
use crate::render;
use clap::Args;
use std::io::{BufRead, IsTerminal, Write};
use std::path::PathBuf;

/// What `log` is told.
#[derive(Args, Debug)]
pub(super) struct Log {
    /// The log, a table of times and currents; `-` is standard input
    file: PathBuf,
    /// The vehicle, for its limit and for what a burst or a step could be
    #[arg(long, value_name = "FILE")]
    vehicle: Option<PathBuf>,
    /// Unit of the current column, where the log does not say
    #[arg(long, value_name = "UNIT", value_parser = ["mA", "A"])]
    unit: Option<String>,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

/// What a parked vehicle may draw where nothing is known about it, in mA (common practice).
const LIMIT: f64 = 50.0;
/// Rows between two words on how far it is.
const PROGRESS: usize = 500_000;

/// The sign between the cells, from the first lines: tab, semicolon, comma, whichever comes first.
fn separator(text: &[u8]) -> u8 {
    let stands = |sign: &u8| text.contains(sign);
    [b'\t', b';', b','].into_iter().find(stands).unwrap_or(b' ')
}

/// The samples of a stream, and how many rows were left out.
fn read(
    mut input: impl BufRead,
    told: Option<f64>,
    name: &str,
) -> Result<(Result<Vec<Sample>, Wrong>, usize), Failure> {
    let failed = |error: std::io::Error| Failure::Read(name.to_owned(), error);
    let separator = separator(input.fill_buf().map_err(failed)?);
    let mut table = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(input);
    let (mut rows, mut samples) = (Rows::new(told), Vec::new());
    let mut record = csv::ByteRecord::new();
    let mut count = 0;
    while table
        .read_byte_record(&mut record)
        .map_err(|error| failed(error.into()))?
    {
        count += 1;
        if count % PROGRESS == 0 && std::io::stderr().is_terminal() {
            say(&format!("{count} rows read"));
        }
        let cells: Vec<_> = record.iter().map(String::from_utf8_lossy).collect();
        let cells: Vec<&str> = cells
            .iter()
            .map(|cell| cell.trim_start_matches('\u{feff}'))
            .collect();
        match rows.row(&cells) {
            Ok(sample) => samples.extend(sample),
            Err(wrong) => return Ok((Err(wrong), rows.skipped)),
        }
    }
    Ok((Ok(samples), rows.skipped))
}

/// Prints what it says; the exit code is 1 where it says nothing.
pub(super) fn run(told: &Log, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let feeds = match &told.vehicle {
        None => None,
        Some(file) => match open_vehicle(file, screen)? {
            Some(feeds) => Some(feeds),
            None => return Ok(1),
        },
    };
    let unit = told
        .unit
        .as_deref()
        .map(|unit| if unit == "A" { 1000.0 } else { 1.0 });
    let name = told.file.display().to_string();
    let (read, skipped) = if files::is_stream(&told.file) {
        read(std::io::stdin().lock(), unit, "standard input")?
    } else {
        let file =
            std::fs::File::open(&told.file).map_err(|error| Failure::Read(name.clone(), error))?;
        read(std::io::BufReader::new(file), unit, &name)?
    };
    let Ok(samples) = read else {
        say(&format!(
            "the log does not say whether its currents are mA or A\nthis works: halfsplit log {name} --unit mA"
        ));
        return Ok(1);
    };
    let limit = feeds.as_ref().and_then(crate::feeds::Feeds::limit);
    let Some(found) = find(samples.clone(), limit.unwrap_or(Milliamps::of(LIMIT))) else {
        say(
            "no ten rows of a time and a current, so nothing can be said; the first row may name the columns: time s,current mA",
        );
        return Ok(1);
    };
    let text = if told.json {
        serde_json::to_string(&render::log_json(&found))? + "\n"
    } else {
        render::log_text(
            &found,
            &samples,
            skipped,
            feeds.as_ref(),
            screen.width,
            screen.unicode,
        )
    };
    answer(&mut out, &text)?;
    Ok(0)
}
