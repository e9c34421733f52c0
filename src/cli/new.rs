//! `halfsplit new`: a commented starter file, from flags or from a few questions at a terminal.

use crate::cli::{Failure, answer, files, say};
use crate::notation::{Mistyped, from_to, typed};
use crate::quantity::{AmpHours, Milliamps};
use crate::render::{self, commands};
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
        .ok_or_else(commands::car_truck_or_board)
}

fn capacity(text: &str) -> Result<AmpHours, String> {
    typed(text, from_to(1.0, 2000.0)).map_err(|wrong| works(&wrong, "70Ah"))
}

fn limit(text: &str) -> Result<Milliamps, String> {
    typed(text, from_to(0.001, 100_000.0)).map_err(|wrong| works(&wrong, "50mA"))
}

fn works(wrong: &Mistyped, example: &str) -> String {
    commands::this_works(&render::mistyped(wrong), example)
}

/// Writes the file where there is none; the exit code is 1 when the name is taken.
pub(super) fn run(told: &New, mut out: impl Write) -> Result<u8, Failure> {
    let stream = files::is_stream(&told.file);
    let name = told.file.display().to_string();
    if !stream && told.file.exists() {
        say(&commands::taken_name(&name));
        return Ok(1);
    }
    let (starter, size, limit) = match told.what {
        Some(what) => (what, told.capacity, told.limit),
        None if std::io::stdin().is_terminal() => (
            asked(commands::new_asks(), None, what)?,
            or_asked(told.capacity, commands::new_size_asked(), capacity)?,
            or_asked(told.limit, commands::new_draw_asked(), limit)?,
        ),
        None => {
            return Err(Failure::Usage(commands::say_what_it_is_for()));
        }
    };
    let called = told.name.clone().unwrap_or_else(|| {
        let stem = told.file.file_stem().filter(|_| !stream);
        stem.map_or_else(commands::new_vehicle, |stem| {
            stem.to_string_lossy().into_owned()
        })
    });
    let text = starter.text(&called, size, limit);
    if stream {
        answer(&mut out, &text)?;
    } else if !files::create(&told.file, &text).map_err(|e| Failure::WriteTo(name.clone(), e))? {
        say(&commands::taken_name(&name));
        return Ok(1);
    } else {
        say(&commands::started(&name));
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
            return Err(Failure::Usage(commands::no_answer_came()));
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
