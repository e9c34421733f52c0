//! `halfsplit trace`: the dialogue at the vehicle.
//!
//! **Invariants.** An entry is on the disk before anything is said about it, so that whatever ends the
//! run loses no reading. A line that is refused changes nothing and ends nothing.

use crate::case::{Next, State};
use crate::cli::case_file::{Access, quoted};
use crate::cli::opening::{Given, Opened, open_or_create};
use crate::cli::steps::no_longer;
use crate::cli::{Failure, files, say};
use crate::problem::Look;
use crate::render;
use crate::report::{About, reasons};
use clap::Args;
use std::io::{BufRead as _, IsTerminal as _, Write};
use std::path::PathBuf;

/// What `trace` is told.
#[derive(Args, Debug)]
pub(super) struct Trace {
    /// The vehicle file
    vehicle: PathBuf,
    /// The case file; without it the vehicle file's name with `.case`, beside it
    #[arg(long, value_name = "FILE")]
    case: Option<PathBuf>,
    /// The instruments file; without one a plain meter is assumed
    #[arg(long, value_name = "FILE")]
    instruments: Option<PathBuf>,
}

/// Runs the dialogue to its end; exit code 1 when it ends in readings that contradict each other or
/// decide nothing.
pub(super) fn run(told: &Trace, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    if files::is_stream(&told.vehicle) {
        let message = "a case rests on files that stay: give the vehicle file's name, not -";
        return Err(Failure::Usage(message.to_owned()));
    }
    let path = match &told.case {
        Some(path) => path.clone(),
        None => told.vehicle.with_extension("case"),
    };
    let new = !path.exists();
    let given = Given {
        vehicle: Some(told.vehicle.clone()),
        instruments: told.instruments.clone(),
    };
    let Some(Opened {
        mut file,
        basis,
        setting,
    }) = open_or_create(&path, &given, Access::Record, screen)?
    else {
        return Ok(1);
    };
    let mut case = file.case(&setting)?;
    let width = screen.width;
    let name = path.display().to_string();
    let kept = case.entries().len();
    write!(
        out,
        "{}",
        render::trace_opening(&basis.name, &name, kept, new, width)
    )?;
    file.notes(&basis).iter().for_each(|note| say(note));
    let again = again(told);
    let mut lines = Lines::new();
    let mut next = case.next();
    write!(
        out,
        "{}",
        render::trace_screen(&case, &next, width, screen.unicode)
    )?;
    while let Some(line) = lines.next(&render::trace_prompt(&next), &mut out)? {
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((&line, ""));
        let said = match word.to_lowercase().as_str() {
            "quit" | "exit" => break,
            "" | "next" => render::trace_screen(&case, &next, width, screen.unicode),
            "help" | "?" => render::trace_help(width),
            "why" if rest.is_empty() => render::trace_because(&case, &next, width),
            "why" => match About::named(&setting, rest.trim()) {
                Some(about) => render::why_text(&reasons(&case, about), &case, width),
                None => render::trace_unknown(&case, rest.trim(), width),
            },
            "tree" => render::trace_tree(&case, width, screen.unicode),
            "list" => render::trace_list(&case, width),
            _ => {
                let before = case.counting();
                match case.record(&line) {
                    Err(refusal) => render::trace_refused(&refusal, width),
                    Ok(recorded) => {
                        file.keep(&recorded.entries, &basis)?;
                        let gone = no_longer(&case, &before);
                        let mut said = render::recorded(&recorded.entries, &gone);
                        said.push_str(&render::trace_after(&recorded.entries, width));
                        next = case.next();
                        said.push_str(&render::trace_screen(&case, &next, width, screen.unicode));
                        said
                    }
                }
            }
        };
        write!(out, "{said}")?;
        out.flush()?;
    }
    write!(out, "{}", render::trace_end(&case, &again, width))?;
    out.flush()?;
    Ok(code(&next))
}

fn code(next: &Next) -> u8 {
    u8::from(matches!(
        next.state,
        State::Contradiction | State::Undecidable
    ))
}

/// The command that goes on with this case.
fn again(told: &Trace) -> String {
    let word = |path: &PathBuf| quoted(&path.display().to_string());
    let mut again = format!("halfsplit trace {}", word(&told.vehicle));
    if let Some(case) = &told.case {
        again = format!("{again} --case {}", word(case));
    }
    again
}

/// What is typed, line by line.
struct Lines {
    input: std::io::StdinLock<'static>,
    terminal: bool,
}

impl Lines {
    fn new() -> Self {
        let input = std::io::stdin();
        let terminal = input.is_terminal();
        Self {
            input: input.lock(),
            terminal,
        }
    }

    /// The next line without the spaces round it; at a terminal asked for with a prompt. `None` at the
    /// end.
    fn next(&mut self, prompt: &str, out: &mut impl Write) -> Result<Option<String>, Failure> {
        if self.terminal {
            write!(out, "{prompt}")?;
        }
        out.flush()?;
        let mut bytes = Vec::new();
        let read = self.input.read_until(b'\n', &mut bytes);
        let read = read.map_err(|error| Failure::Read("standard input".to_owned(), error))?;
        if read == 0 {
            return Ok(None);
        }
        Ok(Some(String::from_utf8_lossy(&bytes).trim().to_owned()))
    }
}
