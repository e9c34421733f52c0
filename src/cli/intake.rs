//! `halfsplit intake`: battery arithmetic before the first test.

use crate::battery::{Allowed, Intake, Rested, Size};
use crate::cli::case_file::Access;
use crate::cli::opening::{Given, open};
use crate::cli::{Failure, answer, open_vehicle};
use crate::interval::Interval;
use crate::journal::{read_quantity, rested_volts};
use crate::measurement::Unit;
use crate::notation::{from_to, typed};
use crate::problem::Look;
use crate::quantity::{AmpHours, Days, Milliamps, Millivolts, Minutes};
use crate::render::{self, commands};
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
    /// The battery's volts at rest, such as 12.4V: gives its charge, and with a draw the days left
    #[arg(long, value_name = "VOLTS", value_parser = volts)]
    volts: Option<Millivolts>,
    /// A vehicle file, for the limit and for the battery's capacity or reserve where none is given here
    #[arg(long, value_name = "FILE")]
    vehicle: Option<PathBuf>,
    /// A case: its vehicle, and the days, volts and settled draw entered there
    #[arg(long, value_name = "FILE")]
    case: Option<PathBuf>,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

fn days(text: &str) -> Result<Days, String> {
    let number = text.trim().trim_end_matches("days").trim_end();
    match number.replacen(',', ".", 1).parse::<f64>() {
        // A quarter of an hour to a working life (judgement).
        Ok(days) if (0.01..=10_000.0).contains(&days) => Ok(Days::of(days)),
        _ => Err(commands::days_above_zero()),
    }
}

pub(super) fn draw(text: &str) -> Result<Interval<Milliamps>, String> {
    let works = "--draw 50mA";
    match read_quantity(text, Unit::Milliamps) {
        Ok(read)
            if read.unit != Unit::Milliamps || read.over || read.low < 0.0 || read.high <= 0.0 =>
        {
            Err(commands::draw_above_zero(works))
        }
        Ok(read) => Ok(Interval::between(read.low, read.high)),
        Err(wrong) => Err(commands::this_works(&wrong.to_string(), works)),
    }
}

fn capacity(text: &str) -> Result<AmpHours, String> {
    typed(text, from_to(1.0, 2000.0))
        .map_err(|wrong| commands::this_works(&render::mistyped(&wrong), "--capacity 60Ah"))
}

fn reserve(text: &str) -> Result<Minutes, String> {
    typed(text, from_to(1.0, 6000.0))
        .map_err(|wrong| commands::this_works(&render::mistyped(&wrong), "--reserve 100min"))
}

fn volts(text: &str) -> Result<Millivolts, String> {
    rested_volts(text).ok_or_else(commands::volts_at_rest)
}

/// What a vehicle file or a case says of itself; `None` where it has errors, which are then shown.
fn kept(told: &Told, screen: Look) -> Result<Option<Intake>, Failure> {
    if let Some(path) = &told.case {
        let given = Given {
            vehicle: told.vehicle.clone(),
            instruments: None,
        };
        let Some(opened) = open(path, &given, Access::Look, screen)? else {
            return Ok(None);
        };
        return Ok(Some(opened.file.case(&opened.setting)?.intake()));
    }
    let rested = told.volts.map(|volts| Rested { volts });
    let nothing = Intake {
        size: None,
        rested: None,
        days: None,
        draw: None,
        allowed: Allowed::without_a_vehicle(rested),
    };
    let Some(file) = &told.vehicle else {
        return Ok(Some(nothing));
    };
    let feeds = open_vehicle(file, screen)?;
    Ok(feeds.map(|feeds| Intake {
        size: Size::of(&feeds),
        allowed: Allowed::of(&feeds),
        ..nothing
    }))
}

/// Prints the arithmetic; the exit code is 1 when the vehicle file has errors.
pub(super) fn run(told: &Told, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let Some(kept) = kept(told, screen)? else {
        return Ok(1);
    };
    let size = told.capacity.map(Size::Capacity);
    let intake = Intake {
        size: size.or(told.reserve.map(Size::Reserve)).or(kept.size),
        rested: told.volts.map(|volts| Rested { volts }).or(kept.rested),
        days: told.days.or(kept.days),
        draw: told.draw.or(kept.draw),
        allowed: kept.allowed,
    };
    lacks(told, &intake)?;
    let text = if told.json {
        serde_json::to_string(&render::intake_json(&intake))? + "\n"
    } else {
        render::intake(&intake, screen.width)
    };
    answer(&mut out, &text)?;
    Ok(0)
}

/// Refuses what there is nothing to compute from.
fn lacks(told: &Told, intake: &Intake) -> Result<(), Failure> {
    if intake.days.is_none() && intake.draw.is_none() && intake.rested.is_none() {
        let text = commands::intake_lacks_all(told.case.is_some());
        return Err(Failure::Usage(text));
    }
    if intake.size.is_none() && intake.rested.is_none() {
        let in_file = told.vehicle.is_some() || told.case.is_some();
        return Err(Failure::Usage(commands::intake_lacks_size(in_file)));
    }
    Ok(())
}
