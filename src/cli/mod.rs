//! The command line: the only room with files and a terminal.
//!
//! Exit codes: 0 done; 1 problems found; 2 wrong usage; 3 a file could not be read or written.
//! A closed pipe ends the run quietly.

use crate::feeds::{self, Checked, Feeds};
use crate::problem::{Look, Problem, clean, show};
use crate::render;
use clap::{Parser, Subcommand};
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

mod files;
mod fmt;
mod tree;

const EXIT_CODES: &str =
    "Exit codes: 0 done, 1 problems found, 2 wrong usage, 3 a file could not be read or written.";

/// Finds what drains a parked vehicle's battery.
///
/// So far: reads a vehicle's power feeds, entered from the wiring manual, and checks them.
#[derive(Parser, Debug)]
#[command(name = "halfsplit", version, after_help = EXIT_CODES)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Every problem of a vehicle file at its place, then a summary of what it holds
    ///
    /// Example: halfsplit check sample-vehicles/quarto-van.ron
    Check {
        /// The vehicle file
        vehicle: PathBuf,
        /// Print one JSON object instead
        #[arg(long)]
        json: bool,
    },
    /// The feed tree, drawn for the terminal
    ///
    /// Read it downwards: a part straight below another is all that it feeds; where a conductor
    /// divides, its branches leave to the right. A place stands where it changes.
    ///
    /// Example: halfsplit tree sample-vehicles/quarto-van.ron
    Tree(tree::Tree),
    /// A vehicle file laid out anew: one order of fields, a part a line; comments stay
    ///
    /// Example: halfsplit fmt blue-van.ron
    Fmt(fmt::Fmt),
}

/// A fault of the machine, not of the file's author.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error("cannot read {0}: {1}")]
    Read(String, std::io::Error),
    #[error("cannot write {0}: {1}")]
    WriteTo(String, std::io::Error),
    #[error("cannot write: {0}")]
    Write(#[from] std::io::Error),
    #[error("cannot write as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

/// Runs the program on the process's own arguments, input and output; returns the exit code.
pub fn run() -> u8 {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // Nothing is left to tell it to when even this cannot be written.
            let _ = error.print();
            return u8::from(error.use_stderr()) * 2;
        }
    };
    let screen = screen();
    let out = anstream::AutoStream::auto(std::io::stdout());
    let done = match &arguments.command {
        Command::Check { vehicle, json } => check(vehicle, *json, screen, out),
        Command::Tree(told) => tree::run(told, screen, out),
        Command::Fmt(told) => fmt::run(told, screen),
    };
    match done {
        Ok(code) => code,
        Err(Failure::Write(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => 0,
        Err(failure) => {
            let _ = writeln!(
                anstream::stderr(),
                "halfsplit: {}",
                clean(&failure.to_string())
            );
            3
        }
    }
}

fn check(file: &Path, json: bool, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let (name, text) = files::read(file)?;
    let (feeds, problems) = feeds::load(&text);
    if json {
        let row = serde_json::to_string(&Checked::of(&text, &problems, feeds.as_ref()))?;
        writeln!(out, "{row}")?;
    } else {
        if !problems.is_empty() {
            writeln!(out, "{}", show(&name, &text, &problems, screen))?;
        }
        if let Some(feeds) = &feeds {
            write!(out, "{}", render::check(feeds, screen.width))?;
        }
    }
    out.flush()?;
    Ok(u8::from(problems.iter().any(Problem::is_error)))
}

/// The tree of a vehicle file; `None` when it has errors, which are then shown on standard error.
fn open_vehicle(file: &Path, screen: Look) -> Result<Option<Feeds>, Failure> {
    let (name, text) = files::read(file)?;
    let (feeds, problems) = feeds::load(&text);
    if feeds.is_none() {
        report(&name, &text, problems, screen)?;
    }
    Ok(feeds)
}

/// Shows the errors among the problems on standard error.
fn report(name: &str, text: &str, mut problems: Vec<Problem>, screen: Look) -> Result<(), Failure> {
    problems.retain(Problem::is_error);
    let shown = show(name, text, &problems, screen);
    writeln!(anstream::stderr(), "{shown}")?;
    Ok(())
}

/// How things are drawn here: a dumb terminal gets plain characters; `NO_COLOR` is heeded.
fn screen() -> Look {
    let plain = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    let terminal = std::io::stdout().is_terminal();
    Look {
        width: columns(),
        colour: terminal && !plain && std::env::var_os("NO_COLOR").is_none(),
        unicode: !plain,
    }
}

/// The window's width, else what the shell says in COLUMNS, else 80; 40 to 120.
fn columns() -> usize {
    terminal_size::terminal_size()
        .map(|(width, _)| usize::from(width.0))
        .or_else(|| std::env::var("COLUMNS").ok()?.parse().ok())
        .unwrap_or(80)
        .clamp(40, 120)
}
