//! `halfsplit drill`: a vehicle with a hidden fault that answers.
//!
//! **Invariants.** An attempt file holds the number and every line that was typed; the same file gives
//! the same drill again, so going on is playing it from the start.

use crate::cli::opening::{Given, setting_of};
use crate::cli::trace::Input;
use crate::cli::{Failure, answer, files};
use crate::drill::{Chance, Drill, Exercise, GENERATOR, Said, pick};
use crate::problem::{Look, clean};
use crate::render;
use crate::simulation::Traps;
use clap::Args;
use std::io::{IsTerminal as _, Write};
use std::path::{Path, PathBuf};

/// What `drill` is told.
#[derive(Args, Debug)]
pub(super) struct Told {
    /// The vehicle file
    vehicle: PathBuf,
    /// Which fault is hidden and how the meter errs; without it one is drawn and printed
    #[arg(long, value_name = "N")]
    number: Option<u64>,
    /// The instruments file; without one a plain meter is assumed
    #[arg(long, value_name = "FILE")]
    instruments: Option<PathBuf>,
    /// Keeps each line in this file, and goes on with it where it is there
    #[arg(long, value_name = "FILE")]
    attempt: Option<PathBuf>,
    /// Print the debrief as one JSON object, last
    #[arg(long)]
    json: bool,
}

/// The head of an attempt file, before its number.
const HEAD: &str = "# halfsplit drill, format 1; number ";

/// Plays to the answer or the end of the lines.
pub(super) fn run(told: &Told, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let given = Given {
        vehicle: None,
        instruments: told.instruments.clone(),
    };
    let Some(setting) = setting_of(&told.vehicle, &given, screen)? else {
        return Ok(1);
    };
    let kept = told.attempt.as_deref().map_or(Ok(None), kept)?;
    let number = match (told.number, &kept) {
        (Some(number), Some((old, _))) if number != *old => {
            let text = format!("the attempt is of number {old}; leave --number out");
            return Err(Failure::Usage(text));
        }
        (_, Some((old, _))) => *old,
        (Some(number), None) => number,
        (None, None) => drawn(),
    };
    let chance = Chance(number);
    let choice = move |question: &str| chance.at(question);
    let exercise = Exercise {
        number,
        hidden: vec![pick(&setting, chance)],
        traps: Traps::default(),
    };
    let mut drill = Drill::new(&setting, &exercise, &choice);
    let terminal = std::io::stdin().is_terminal();
    let mut aside = anstream::stderr();
    let opening = render::drill_opening(&setting, number, screen.width);
    if terminal {
        answer(&mut out, &opening)?;
    } else {
        // Standard output carries the answers alone, a line each.
        let _ = aside.write_all(opening.as_bytes());
    }
    let mut lines: Vec<String> = Vec::new();
    for line in kept.iter().flat_map(|(_, lines)| lines) {
        let said = drill.take(line);
        lines.push(line.clone());
        answer(
            &mut out,
            &plain(&render::drill_said(&said, &setting), screen),
        )?;
    }
    let mut input = Input::new();
    while drill.answer().is_none() {
        let prompt = format!("{:.1} min > ", drill.parked().minutes());
        let Some(line) = input.line(&prompt, &mut out)? else {
            break;
        };
        let said = match line.to_lowercase().as_str() {
            "" => continue,
            "quit" | "exit" => break,
            "help" | "?" => render::drill_help(screen.width),
            "list" => render::trace_list(drill.case(), screen.width),
            "tree" => {
                let standings = render::standings(drill.case());
                render::tree(
                    &setting.feeds,
                    screen.width,
                    screen.unicode,
                    Some(&standings),
                )
            }
            _ => {
                let said = drill.take(&line);
                if !matches!(said, Said::Refused(_)) {
                    lines.push(line);
                    if let Some(file) = &told.attempt {
                        keep(file, number, &lines)?;
                    }
                }
                render::drill_said(&said, &setting)
            }
        };
        answer(&mut out, &plain(&said, screen))?;
    }
    let debrief = drill.debrief(&choice);
    let ended = drill.answer().is_some();
    if told.json && (ended || told.attempt.is_none()) {
        let row = serde_json::to_string(&render::debrief_json(&debrief, &exercise))?;
        answer(&mut out, &format!("{row}\n"))?;
    } else if ended {
        let text = render::debrief(&debrief, &setting, screen.width);
        answer(&mut out, &plain(&text, screen))?;
    } else {
        let again = told.attempt.as_ref().map_or_else(
            || format!("no answer given; the same fault again: --number {number}"),
            |file| format!("no answer yet; goes on with --attempt {}", file.display()),
        );
        let _ = writeln!(aside, "halfsplit: {}", clean(&again));
    }
    Ok(u8::from(!debrief.right))
}

fn plain(text: &str, screen: Look) -> String {
    if screen.unicode {
        text.to_owned()
    } else {
        render::spelled_plainly(text)
    }
}

/// A number of up to six digits from the clock, easy to pass on.
fn drawn() -> u64 {
    let now = jiff::Timestamp::now().as_nanosecond();
    (now / 1000).rem_euclid(1_000_000) as u64
}

/// An attempt that is there: its number and lines.
fn kept(file: &Path) -> Result<Option<(u64, Vec<String>)>, Failure> {
    if files::is_stream(file) {
        let text = "an attempt is a file that stays: give its name, not -";
        return Err(Failure::Usage(text.to_owned()));
    }
    if !file.exists() {
        return Ok(None);
    }
    let (name, text) = files::read(file)?;
    let mut lines = text.lines();
    let number = lines
        .next()
        .and_then(|head| head.strip_prefix(HEAD))
        .and_then(|rest| rest.split(';').next()?.trim().parse().ok());
    let Some(number) = number else {
        return Err(Failure::Usage(format!("{name} is no attempt at a drill")));
    };
    let lines = lines.filter(|l| !l.is_empty()).map(str::to_owned).collect();
    Ok(Some((number, lines)))
}

fn keep(file: &Path, number: u64, lines: &[String]) -> Result<(), Failure> {
    let text = format!("{HEAD}{number}; {GENERATOR}\n{}\n", lines.join("\n"));
    files::write(file, &text)
}
