//! `halfsplit report`: the write-up of a case.

use crate::cli::case_file::Access;
use crate::cli::opening::{Given, Opened, open};
use crate::cli::{Failure, answer, say};
use crate::problem::Look;
use crate::render;
use crate::report::{Ending, report};
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `report` is told.
#[derive(Args, Debug)]
pub(super) struct Report {
    /// The case file
    case: PathBuf,
    #[command(flatten)]
    given: Given,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

/// Writes up a case; exit code 1 when its readings contradict each other or decide nothing.
pub(super) fn run(told: &Report, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let Some(Opened {
        file,
        basis,
        setting,
    }) = open(&told.case, &told.given, Access::Show, screen)?
    else {
        return Ok(1);
    };
    let case = file.case(&setting)?;
    file.notes(&basis).iter().for_each(|note| say(note));
    let found = report(&case);
    let text = if told.json {
        format!(
            "{}\n",
            serde_json::to_string(&render::report_json(&found, &case, &file.when()))?
        )
    } else {
        render::report_text(&found, &case, &file.when())
    };
    answer(&mut out, &text)?;
    let negative = matches!(
        found.verdict.ending,
        Ending::Contradiction | Ending::NoSingleCause | Ending::TooCoarse | Ending::NoLimit
    );
    Ok(u8::from(negative))
}
