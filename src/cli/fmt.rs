//! `halfsplit fmt`: a vehicle file laid out anew.

use crate::cli::{Failure, files, report};
use crate::problem::{Look, Problem};
use crate::vehicle::{self, Comments};
use clap::Args;
use std::path::PathBuf;

/// What `fmt` is told.
#[derive(Args, Debug)]
pub(super) struct Fmt {
    /// The vehicle file; `-` is standard input, laid out on standard output
    vehicle: PathBuf,
    /// Write there instead of over the file; `-` is standard output
    #[arg(long, value_name = "FILE", conflicts_with = "check")]
    out: Option<PathBuf>,
    /// Write nothing; exit with 1 when the file is laid out otherwise
    #[arg(long)]
    check: bool,
}

/// Lays the file out; the exit code is 1 when it has errors, or is found otherwise by `--check`.
pub(super) fn run(told: &Fmt, screen: Look) -> Result<u8, Failure> {
    let (name, text) = files::read(&told.vehicle)?;
    let (read, problems) = vehicle::read(&text);
    let (Some(read), false) = (read, problems.iter().any(Problem::is_error)) else {
        report(&name, &text, problems, screen)?;
        return Ok(1);
    };
    let laid_out = vehicle::write(&read, &Comments::read(&text));
    if told.check {
        return Ok(u8::from(laid_out != text));
    }
    let to = told.out.as_deref().unwrap_or(&told.vehicle);
    if to != told.vehicle || laid_out != text || files::is_stream(to) {
        files::write(to, &laid_out)?;
    }
    Ok(0)
}
