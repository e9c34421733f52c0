//! `halfsplit tree`: the feed tree in the terminal, or as data.

use crate::cli::{Failure, open_vehicle};
use crate::problem::Look;
use crate::render;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `tree` is told.
#[derive(Args, Debug)]
pub(super) struct Tree {
    /// The vehicle file
    vehicle: PathBuf,
    /// Print one JSON array instead, a row for each part
    #[arg(long)]
    json: bool,
}

/// Draws the tree; the exit code is 1 when the file has errors.
pub(super) fn run(told: &Tree, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let Some(feeds) = open_vehicle(&told.vehicle, screen)? else {
        return Ok(1);
    };
    if told.json {
        let rows = serde_json::to_string(&render::tree_rows(&feeds, None))?;
        writeln!(out, "{rows}")?;
    } else {
        let drawn = render::tree(&feeds, screen.width, screen.unicode, None);
        write!(out, "{drawn}")?;
    }
    out.flush()?;
    Ok(0)
}
