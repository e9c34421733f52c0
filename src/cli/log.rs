//! `halfsplit log`: what a current log says.

use crate::cli::case_file::quoted;
use crate::cli::{Failure, answer, files, open_vehicle, say};
use crate::log::{Gather, Rows, Wrong, find};
use crate::problem::Look;
use crate::quantity::Milliamps;
use crate::render::{self, commands};
use clap::Args;
use std::io::{BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

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
    /// Also draw it in this file: SVG, or HTML by its ending; `-` is standard output, and then the
    /// drawing alone is printed
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Print only what a case is told of it, an entry a line: halfsplit log night.csv --entries |
    /// halfsplit record van.case -
    #[arg(long, conflicts_with = "json")]
    entries: bool,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

/// What a parked vehicle may draw where nothing is known about it, in mA (common practice).
const LIMIT: f64 = 50.0;
/// Rows between two words on how far it is.
const PROGRESS: usize = 250_000;

/// How far the reading is, on one line of a terminal; nothing where nobody looks.
struct Progress {
    /// Bytes in all, where that is known.
    whole: Option<u64>,
    shown: bool,
}

impl Progress {
    fn new(whole: Option<u64>) -> Self {
        Self {
            whole,
            shown: false,
        }
    }

    fn at(&mut self, rows: usize, bytes: u64) {
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        if !rows.is_multiple_of(PROGRESS) || dumb || !std::io::stderr().is_terminal() {
            return;
        }
        let whole = self.whole.filter(|whole| *whole > 0);
        let share = whole.map(|whole| (bytes * 100 / whole).min(100));
        self.shown = true;
        // Nobody to tell is no failure.
        let said = commands::rows_read(rows, share);
        let _ = write!(std::io::stderr(), "\r{said}   ");
    }

    /// The line is made free for what comes next.
    fn done(&self) {
        if self.shown {
            let _ = write!(std::io::stderr(), "\r{:40}\r", "");
        }
    }
}

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
    whole: Option<u64>,
) -> Result<(Result<Gather, Wrong>, usize), Failure> {
    let failed = |error: std::io::Error| Failure::Read(name.to_owned(), error);
    let separator = separator(input.fill_buf().map_err(failed)?);
    let mut table = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(input);
    let (mut rows, mut samples) = (Rows::new(told), Gather::default());
    let mut progress = Progress::new(whole);
    let mut record = csv::ByteRecord::new();
    let mut count = 0;
    while table
        .read_byte_record(&mut record)
        .map_err(|error| failed(error.into()))?
    {
        count += 1;
        progress.at(count, table.position().byte());
        let cells: Vec<_> = record.iter().map(String::from_utf8_lossy).collect();
        let cells: Vec<&str> = cells
            .iter()
            .map(|cell| cell.trim_start_matches('\u{feff}'))
            .collect();
        match rows.row(&cells) {
            Ok(Some(sample)) => samples.add(sample),
            Ok(None) => {}
            Err(wrong) => {
                progress.done();
                return Ok((Err(wrong), rows.skipped));
            }
        }
    }
    progress.done();
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
        read(
            std::io::stdin().lock(),
            unit,
            commands::STANDARD_INPUT,
            None,
        )?
    } else {
        let file =
            std::fs::File::open(&told.file).map_err(|error| Failure::Read(name.clone(), error))?;
        let whole = file.metadata().ok().map(|about| about.len());
        let input = std::io::BufReader::with_capacity(1 << 16, file);
        read(input, unit, &name, whole)?
    };
    let Ok(samples) = read else {
        say(&commands::log_lacks_unit(&quoted(&name)));
        return Ok(1);
    };
    let limit = feeds.as_ref().and_then(crate::feeds::Feeds::limit);
    let limit = limit.unwrap_or(Milliamps::of(LIMIT));
    let rows_each = samples.rows_each();
    let Some(found) = find(samples.samples(), limit) else {
        say(&commands::log_too_short());
        return Ok(1);
    };
    let scene = render::LogScene {
        found: &found,
        feeds: feeds.as_ref(),
        limit,
        skipped,
        rows_each,
    };
    if let Some(file) = &told.out {
        draw(file, scene, &name)?;
        if files::is_stream(file) {
            return Ok(0);
        }
    }
    let text = if told.entries {
        render::log_entries(&found).join("\n") + "\n"
    } else if told.json {
        serde_json::to_string(&render::log_json(scene))? + "\n"
    } else {
        render::log_text(scene, screen.width, screen.unicode)
    };
    answer(&mut out, &text)?;
    Ok(0)
}

/// Writes the drawing, named after the log without its folders.
fn draw(file: &Path, scene: render::LogScene<'_>, log: &str) -> Result<(), Failure> {
    let name = Path::new(log)
        .file_name()
        .map_or(log.into(), |name| name.to_string_lossy());
    let drawing = if files::is_page(file) {
        render::log_drawing_html(scene, &name)
    } else {
        render::log_drawing(scene, &name)
    };
    files::write(file, &drawing)
}
