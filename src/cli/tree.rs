//! `halfsplit tree`: the feed tree in the terminal, or as data; of a case with the state of each part.

use crate::case::Case;
use crate::cli::case_file::{self, Access};
use crate::cli::opening::{Given, Opened, open};
use crate::cli::{Failure, answer, open_vehicle, say};
use crate::feeds::Feeds;
use crate::problem::Look;
use crate::render::commands;
use crate::render::{self, Standings};
use clap::Args;
use std::io::Write;
use std::path::{Path, PathBuf};

/// What `tree` is told.
#[derive(Args, Debug)]
pub(super) struct Tree {
    /// The vehicle file, or a case file: then each part has its state
    #[arg(value_name = "VEHICLE|CASE")]
    file: PathBuf,
    #[command(flatten)]
    given: Given,
    /// Print one JSON array instead, a row for each part
    #[arg(long)]
    json: bool,
}

/// Draws the tree; the exit code is 1 when the file has errors.
pub(super) fn run(told: &Tree, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    of(&told.file, &told.given, screen, |feeds, case| {
        let Some(case) = case else {
            return show(told, feeds, None, screen, &mut out);
        };
        let standings = render::standings(case);
        show(told, feeds, Some(&standings), screen, &mut out)
    })
}

/// Does something with the tree of a vehicle file, or of a case; the exit
/// code is 1 when the file has errors.
pub(super) fn of(
    file: &Path,
    given: &Given,
    screen: Look,
    show: impl FnOnce(&Feeds, Option<&Case<'_>>) -> Result<u8, Failure>,
) -> Result<u8, Failure> {
    if !case_file::is_case(file) {
        if given.is_some() {
            return Err(Failure::Usage(commands::given_with_a_case()));
        }
        let Some(feeds) = open_vehicle(file, screen)? else {
            return Ok(1);
        };
        return show(&feeds, None);
    }
    let Some(Opened {
        file,
        basis,
        setting,
    }) = open(file, given, Access::Show, screen)?
    else {
        return Ok(1);
    };
    let case = file.case(&setting)?;
    file.notes(&basis).iter().for_each(|note| say(note));
    let mended = case.before_repair();
    if mended.is_some() {
        say(render::AS_BEFORE_REPAIR);
    }
    show(&setting.feeds, Some(&mended.unwrap_or(case)))
}

fn show(
    told: &Tree,
    feeds: &Feeds,
    standings: Option<Standings<'_>>,
    screen: Look,
    out: &mut impl Write,
) -> Result<u8, Failure> {
    let text = if told.json {
        let rows = render::tree_rows(feeds, standings);
        format!("{}\n", serde_json::to_string(&rows)?)
    } else {
        render::tree(feeds, screen.width, screen.unicode, standings)
    };
    answer(out, &text)?;
    Ok(0)
}
