//! `halfsplit new`: a commented starter file, from flags or from a few questions at a terminal.

use crate::cli::{Failure, answer, files, say};
use crate::notation::{Mistyped, from_to, typed};
use crate::quantity::{AmpHours, Milliamps};
use crate::render;
use crate::vehicle::Starter;
use clap::Args;
use std::io::{BufRead, IsTerminal, Write};
use std::path::PathBuf;

/// What `new` is told.
#[derive(Args, Debug)]
pub(super) struct New {
    /// The vehicle file to write; `-` is standard output
    file: PathBuf,
    /// car (12 V car or van), truck (24 V truck or coach) or board (teaching board)
    #[arg(long = "for", value_name = "WHAT", value_parser = what)]
    what: Option<Starter>,
    /// The vehicle's name; else that of the file
    #[arg(long)]
    name: Option<String>,
    /// The battery's 20 h capacity, for example 70Ah
    #[arg(long, value_name = "AH", value_parser = capacity)]
    capacity: Option<AmpHours>,
    /// The settled draw that the maker allows, for example 50mA
    #[arg(long, value_name = "CURRENT", value_parser = limit)]
    limit: Option<Milliamps>,
}

fn what(text: &str) -> Result<Starter, String> {
    // Vehicles of the same supply by their own names.
    let word = match text.trim().to_ascii_lowercase().as_str() {
        "van" => "car".to_owned(),
        "coach" | "lorry" => "truck".to_owned(),
        word => word.to_owned(),
    };
    let mut words = Starter::TABLE.iter();
    let found = words.find(|(starter, _)| *starter == word);
    found
        .map(|(_, starter)| *starter)
        .ok_or_else(|| "type car, truck or board".to_owned())
}

fn capacity(text: &str) -> Result<AmpHours, String> {
    typed(text, from_to(1.0, 2000.0)).map_err(|wrong| works(&wrong, "70Ah"))
}

fn limit(text: &str) -> Result<Milliamps, String> {
    typed(text, from_to(0.001, 100_000.0)).map_err(|wrong| works(&wrong, "50mA"))
}

fn works(wrong: &Mistyped, example: &str) -> String {
    format!("{}; this works: {example}", render::mistyped(wrong))
}

/// Writes the file where there is none; the exit code is 1 when the name is taken.
pub(super) fn run(told: &New, mut out: impl Write) -> Result<u8, Failure> {
    let stream = files::is_stream(&told.file);
    let name = told.file.display().to_string();
    if !stream && told.file.exists() {
        say(&format!(
            "{name} is there already; nothing was written: give another name"
        ));
        return Ok(1);
    }
    let (starter, size, limit) = match told.what {
        Some(what) => (what, told.capacity, told.limit),
        None if std::io::stdin().is_terminal() => (
            asked("car, truck or board?", None, what)?,
            or_asked(
                told.capacity,
                "battery, such as 70Ah (Enter: not known)?",
                capacity,
            )?,
            or_asked(
                told.limit,
                "draw the maker allows, such as 50mA (Enter: not known)?",
                limit,
            )?,
        ),
        None => {
            let text = "say what it is for: --for car, --for truck or --for board";
            return Err(Failure::Usage(text.to_owned()));
        }
    };
    let called = told.name.clone().unwrap_or_else(|| {
        let stem = told.file.file_stem().filter(|_| !stream);
        stem.map_or_else(
            || "new vehicle".to_owned(),
            |stem| stem.to_string_lossy().into_owned(),
        )
    });
    let text = starter.text(&called, size, limit);
    if stream {
        answer(&mut out, &text)?;
    } else if !files::create(&told.file, &text).map_err(|e| Failure::WriteTo(name.clone(), e))? {
        say(&format!(
            "{name} is there already; nothing was written: give another name"
        ));
        return Ok(1);
    } else {
        say(&format!(
            "{name} is a start that passes the check; overwrite its parts from the manual"
        ));
    }
    Ok(0)
}

fn or_asked<T: Copy>(
    given: Option<T>,
    question: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<Option<T>, Failure> {
    if given.is_some() {
        return Ok(given);
    }
    asked(question, Some(None), |text| read(text).map(Some))
}

/// Asks until the answer can be read; an empty one is `silent` where that is given.
fn asked<T: Copy>(
    question: &str,
    silent: Option<T>,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<T, Failure> {
    loop {
        write!(anstream::stderr(), "{question} ")?;
        let mut line = String::new();
        if std::io::stdin().lock().read_line(&mut line)? == 0 {
            return Err(Failure::Usage(
                "no answer came; nothing was written".to_owned(),
            ));
        }
        let line = line.trim();
        if let (true, Some(silent)) = (line.is_empty(), silent) {
            return Ok(silent);
        }
        match read(line) {
            Ok(value) => return Ok(value),
            Err(wrong) => say(&wrong),
        }
    }
}
