//! `halfsplit amps`: one reading to a current, or a current to what the meter will show.

use crate::amps;
use crate::cli::{Failure, answer, open_instruments, say};
use crate::instruments::Instruments;
use crate::problem::Look;
use crate::quantity::Celsius;
use crate::reference;
use crate::render::{self, commands};
use clap::Args;
use std::ffi::OsString;
use std::io::Write;
use std::path::PathBuf;

/// What `amps` is told.
#[derive(Args, Debug)]
pub(super) struct Amps {
    /// drop READING [reversed READING] across WHAT, clamp READING [turns N] [scale 1mV/10mA], series READING [jack mA],
    /// CURRENT across WHAT, or resistance DROP with CURRENT across FUSE (resistance alone says how)
    #[arg(required_unless_present = "tables", allow_negative_numbers = true)]
    question: Vec<String>,
    /// The reference numbers instead: fuses, links and wires, each with its band, mark and source
    #[arg(long, conflicts_with_all = ["question", "instruments"])]
    tables: bool,
    /// What is at hand; without it one plain meter of 6000 counts, and a clamp where one is asked about
    #[arg(long, value_name = "FILE")]
    instruments: Option<PathBuf>,
    /// Temperature of the fuse or wire; without it 20
    #[arg(long, value_name = "T", allow_negative_numbers = true, value_parser = temperature)]
    celsius: Option<f64>,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

/// What was typed behind `amps`, with a minus in front of a reading written so that it is not taken for
/// the beginning of an option: `-2.1mV` is a reading, `-x` and `--json` are not. Other commands are left
/// as they were typed.
pub(super) fn minus_kept(arguments: impl Iterator<Item = OsString>) -> Vec<OsString> {
    let is_reading = |typed: &str| {
        let number = typed.strip_prefix('-').unwrap_or_default();
        let ends_in_unit = number.ends_with(char::is_alphabetic);
        ends_in_unit && number.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',')
    };
    let mut arguments: Vec<OsString> = arguments.collect();
    if arguments.get(1).is_some_and(|command| command == "amps") {
        for argument in arguments.iter_mut().skip(2) {
            if let Some(typed) = argument.to_str().filter(|typed| is_reading(typed)) {
                *argument = format!("−{}", &typed[1..]).into();
            }
        }
    }
    arguments
}

/// Where the resistance tables hold.
fn temperature(text: &str) -> Result<f64, String> {
    let celsius = text.parse().map_err(|_| commands::celsius_range())?;
    if (-40.0..=120.0).contains(&celsius) {
        Ok(celsius)
    } else {
        Err(commands::celsius_range())
    }
}

/// Prints the answer; the exit code is 2 for a question that is not understood and 1 where there is
/// no answer.
pub(super) fn run(told: &Amps, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    if told.tables {
        return tables(told, screen, out);
    }
    let instruments = match &told.instruments {
        None => Instruments::assumed_meter(),
        Some(file) => match open_instruments(file, screen)? {
            Some(instruments) => instruments,
            None => return Ok(1),
        },
    };
    let question = match amps::parse(&told.question.join(" ")) {
        Ok(question) => question,
        Err(refused) => {
            say(&render::amps_refused(&refused));
            return Ok(2);
        }
    };
    let worked = match amps::work(question, &instruments, told.celsius.map(Celsius::of)) {
        Ok(worked) => worked,
        Err(why) => {
            say(&render::amps_unanswered(&why));
            return Ok(1);
        }
    };
    let text = if told.json {
        serde_json::to_string(&render::amps_json(&worked))? + "\n"
    } else {
        render::amps(&worked, screen.width)
    };
    answer(&mut out, &text)?;
    Ok(0)
}

fn tables(told: &Amps, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let temperature = told.celsius.map(Celsius::of);
    let list = reference::listed();
    let text = if told.json {
        serde_json::to_string(&render::reference_json(&list, temperature))? + "\n"
    } else {
        render::reference(&list, temperature, screen.width)
    };
    answer(&mut out, &text)?;
    Ok(0)
}
