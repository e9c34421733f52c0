//! `halfsplit compare`: what two vehicle files say differently.

use crate::cli::{Failure, answer, open_vehicle};
use crate::difference::Difference;
use crate::problem::Look;
use crate::render;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `compare` is told.
#[derive(Args, Debug)]
pub(super) struct Compare {
    /// The first vehicle file
    first: PathBuf,
    /// The second
    second: PathBuf,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

/// Shows what differs; the exit code is 0 when nothing does, 1 when something does, and 3 when one
/// of the files has errors.
pub(super) fn run(told: &Compare, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let (Some(first), Some(second)) = (
        open_vehicle(&told.first, screen)?,
        open_vehicle(&told.second, screen)?,
    ) else {
        return Ok(3);
    };
    let difference = Difference::of(first.vehicle(), second.vehicle());
    let text = if told.json {
        format!("{}\n", serde_json::to_string(&difference)?)
    } else {
        render::difference(&difference, screen.width)
    };
    answer(&mut out, &text)?;
    Ok(u8::from(!difference.is_empty()))
}
