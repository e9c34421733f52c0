//! `halfsplit amps`: one reading to a current, or a current to what the meter will show.

use crate::amps;
use crate::cli::{Failure, answer, open_instruments, say};
use crate::instruments::Instruments;
use crate::problem::Look;
use crate::quantity::Celsius;
use crate::render;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `amps` is told.
#[derive(Args, Debug)]
pub(super) struct Amps {
    /// drop READING across WHAT, clamp READING [turns N] [scale 1mV/10mA], series READING [jack mA],
    /// or CURRENT across WHAT
    #[arg(required = true)]
    question: Vec<String>,
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

/// Where the resistance tables hold.
fn temperature(text: &str) -> Result<f64, String> {
    let wrong = || "the tables hold from -40 to 120 °C; this works: --celsius 20".to_owned();
    let celsius = text.parse().map_err(|_| wrong())?;
    if (-40.0..=120.0).contains(&celsius) {
        Ok(celsius)
    } else {
        Err(wrong())
    }
}

/// Prints the answer; the exit code is 2 for a question that is not understood and 1 where there is
/// no answer.
pub(super) fn run(told: &Amps, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
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
