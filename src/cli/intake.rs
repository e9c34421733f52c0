//! `halfsplit intake`: battery arithmetic before the first test.

use crate::battery::{Intake, Size};
use crate::cli::{Failure, answer, open_vehicle};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::read_quantity;
use crate::measurement::Unit;
use crate::notation::{from_to, typed};
use crate::problem::Look;
use crate::quantity::{AmpHours, Days, Milliamps, Minutes};
use crate::render;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `intake` is told.
#[derive(Args, Debug)]
pub(super) struct Told {
    /// Days until it was flat: gives the draw to expect
    #[arg(long, value_name = "DAYS", value_parser = days)]
    days: Option<Days>,
    /// The draw that was read, such as 50mA: gives the days it lasts
    #[arg(long, value_name = "CURRENT", value_parser = draw)]
    draw: Option<Interval<Milliamps>>,
    /// The battery's capacity at the 20 h rate, such as 60Ah
    #[arg(long, value_name = "CHARGE", value_parser = capacity)]
    capacity: Option<AmpHours>,
    /// The battery's reserve, such as 100min; counts where no capacity is given
    #[arg(long, value_name = "TIME", value_parser = reserve)]
    reserve: Option<Minutes>,
    /// A vehicle file, for the battery's capacity or reserve where none is given here
    #[arg(long, value_name = "FILE")]
    vehicle: Option<PathBuf>,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

fn days(text: &str) -> Result<Days, String> {
    let number = text.trim().trim_end_matches("days").trim_end();
    match number.replacen(',', ".", 1).parse::<f64>() {
        // A quarter of an hour to a working life (judgement).
        Ok(days) if (0.01..=10_000.0).contains(&days) => Ok(Days::of(days)),
        _ => Err("days are a number above 0; this works: --days 10".to_owned()),
    }
}

pub(super) fn draw(text: &str) -> Result<Interval<Milliamps>, String> {
    let works = "this works: --draw 50mA";
    match read_quantity(text, Unit::Milliamps) {
        Ok(read)
            if read.unit != Unit::Milliamps || read.over || read.low < 0.0 || read.high <= 0.0 =>
        {
            Err(format!("a draw is a current above 0, in mA or A; {works}"))
        }
        Ok(read) => Ok(Interval::between(read.low, read.high)),
        Err(wrong) => Err(format!("{wrong}; {works}")),
    }
}

fn capacity(text: &str) -> Result<AmpHours, String> {
    typed(text, from_to(1.0, 2000.0))
        .map_err(|wrong| format!("{}; this works: --capacity 60Ah", render::mistyped(&wrong)))
}

fn reserve(text: &str) -> Result<Minutes, String> {
    typed(text, from_to(1.0, 6000.0))
        .map_err(|wrong| format!("{}; this works: --reserve 100min", render::mistyped(&wrong)))
}

/// Prints the arithmetic; the exit code is 1 when the vehicle file has errors.
pub(super) fn run(told: &Told, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let mut size = told.capacity.map(Size::Capacity);
    size = size.or(told.reserve.map(Size::Reserve));
    if let (None, Some(file)) = (size, &told.vehicle) {
        let Some(feeds) = open_vehicle(file, screen)? else {
            return Ok(1);
        };
        let battery = feeds.part(PartId(0));
        size = battery.capacity.map(Size::Capacity);
        size = size.or(battery.reserve.map(Size::Reserve));
    }
    let Some(size) = size else {
        let lacks = match told.vehicle {
            Some(_) => "the vehicle file does not say how large the battery is",
            None => "this needs the size of the battery",
        };
        return Err(Failure::Usage(format!(
            "{lacks}\nthis works: halfsplit intake --days 10 --capacity 60Ah"
        )));
    };
    if told.days.is_none() && told.draw.is_none() {
        return Err(Failure::Usage(
            "this needs the days to flat, or a draw, or both\n\
             this works: halfsplit intake --draw 50mA --reserve 100min"
                .to_owned(),
        ));
    }
    let intake = Intake {
        size,
        days: told.days,
        draw: told.draw,
    };
    let text = if told.json {
        serde_json::to_string(&render::intake_json(&intake))? + "\n"
    } else {
        render::intake(&intake, screen.width)
    };
    answer(&mut out, &text)?;
    Ok(0)
}
