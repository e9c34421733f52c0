//! `halfsplit picture`: the feed tree as a drawing in a file; of a case with the state of each part and what was read there.

use crate::cli::opening::Given;
use crate::cli::{Failure, files, tree};
use crate::problem::Look;
use crate::render;
use clap::Args;
use std::path::PathBuf;

/// What `picture` is told.
#[derive(Args, Debug)]
pub(super) struct Picture {
    /// The vehicle file, or a case file: then each part has its state and what was read there
    #[arg(value_name = "VEHICLE|CASE")]
    file: PathBuf,
    #[command(flatten)]
    given: Given,
    /// The drawing to write: SVG, or HTML by its ending; `-` is standard output
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

/// Writes the drawing; the exit code is 1 when the vehicle has errors.
pub(super) fn run(told: &Picture, screen: Look) -> Result<u8, Failure> {
    tree::of(&told.file, &told.given, screen, |feeds, case| {
        let standings = case.map(render::standings);
        let standings: Option<render::Standings<'_>> = match &standings {
            Some(standings) => Some(standings),
            None => None,
        };
        let readings = case.map(render::readings).unwrap_or_default();
        let drawing = if files::is_page(&told.out) {
            render::picture_html(feeds, standings, &readings)
        } else {
            render::picture(feeds, standings, &readings)
        };
        files::write(&told.out, &drawing)?;
        Ok(0)
    })
}
