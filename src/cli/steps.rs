//! `halfsplit next`, `record`, `undo`: a case one step a call, for scripts.

use crate::case::{Case, Entry, Reason, State, TakenOut};
use crate::cli::case_file::{Access, quoted};
use crate::cli::early::first_early;
use crate::cli::opening::{Given, Opened, open, open_or_create};
use crate::cli::{Failure, answer, say};
use crate::journal::{Act, Refusal, Wrong};
use crate::problem::Look;
use crate::render::{self, commands};
use clap::Args;
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

/// What `next` is told.
#[derive(Args, Debug)]
pub(super) struct Next {
    /// The case file
    case: PathBuf,
    #[command(flatten)]
    given: Given,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

/// What `record` is told.
#[derive(Args, Debug)]
pub(super) struct Record {
    /// The case file
    case: PathBuf,
    #[command(flatten)]
    given: Given,
    /// What was done or read, in its own words; `-`, or nothing on a pipe: a line each from standard input
    #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
    entry: Vec<String>,
}

/// What `undo` is told.
#[derive(Args, Debug)]
pub(super) struct Undo {
    /// The case file
    case: PathBuf,
    #[command(flatten)]
    given: Given,
}

/// Says what to do next; exit code 1 when the readings contradict each other or decide nothing.
pub(super) fn next(told: &Next, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let Some((opened, new)) = open_or_create(&told.case, &told.given, Access::Look, screen)? else {
        return Ok(1);
    };
    let Opened {
        file,
        basis,
        setting,
    } = opened;
    if new {
        let case = told.case.display().to_string();
        say(&commands::opened(&case, &basis.name));
    }
    let case = file.case(&setting)?;
    file.notes(&basis).iter().for_each(|note| say(note));
    let next = case.next();
    let watched = file.watched(&case, next.reason == Reason::Watch);
    let text = if told.json {
        let mut object = render::next_json(&next, &setting);
        if let Some(repair) = render::repair_json(&case, watched) {
            object["repair"] = repair;
        }
        format!("{}\n", serde_json::to_string(&object)?)
    } else {
        let all = commands::next_paged(&quoted(&told.case.display().to_string()));
        let scene = render::Scene {
            said: &[],
            until: None,
            watched,
            longer: None,
            asks_first: false,
            rows: super::rows().map(|rows| rows.saturating_sub(1)),
            all: &all,
            together: &[],
            width: screen.width,
            unicode: screen.unicode,
        };
        render::trace_screen(&case, &next, scene).anew
    };
    answer(&mut out, &text)?;
    let negative = matches!(next.state, State::Contradiction | State::Undecidable);
    Ok(u8::from(negative))
}

/// Records entries; exit code 1 when one is refused.
pub(super) fn record(told: &Record, screen: Look, out: impl Write) -> Result<u8, Failure> {
    let words = told.entry.join(" ");
    let piped = words.is_empty() || words == "-";
    if !piped {
        return take(&told.case, &told.given, screen, out, [Ok(words)], false);
    }
    let input = std::io::stdin();
    if words.is_empty() && input.is_terminal() {
        return Err(Failure::Usage(nothing_said(&told.case)));
    }
    let told_lines = input.lines().filter(|line| match line {
        Ok(line) => !line.trim().is_empty(),
        Err(_) => true,
    });
    // The case stays free until there is something to record: who writes the lines may look at it.
    let mut told_lines = told_lines.peekable();
    if told_lines.peek().is_none() {
        return Err(Failure::Usage(nothing_said(&told.case)));
    }
    take(&told.case, &told.given, screen, out, told_lines, true)
}

/// Makes the last entry that still counts not count.
pub(super) fn undo(told: &Undo, screen: Look, out: impl Write) -> Result<u8, Failure> {
    let entry = [Ok("undo".to_owned())];
    take(&told.case, &told.given, screen, out, entry, false)
}

fn nothing_said(case: &Path) -> String {
    commands::nothing_said(&quoted(&case.display().to_string()))
}

/// Records line after line until one is refused.
fn take(
    path: &Path,
    given: &Given,
    screen: Look,
    mut out: impl Write,
    lines: impl IntoIterator<Item = std::io::Result<String>>,
    piped: bool,
) -> Result<u8, Failure> {
    let Some(Opened {
        mut file,
        basis,
        setting,
    }) = open(path, given, Access::Record, screen)?
    else {
        return Ok(1);
    };
    let mut case = file.case(&setting)?;
    file.notes(&basis).iter().for_each(|note| say(note));
    for line in lines {
        let line =
            line.map_err(|error| Failure::Read(commands::STANDARD_INPUT.to_owned(), error))?;
        let before = Before::of(&case);
        let early = first_early(&case, &file);
        let was = case.clone();
        let recorded = match case.record(&line) {
            Ok(recorded) => recorded,
            Err(refusal) => {
                say(&refused(path, &refusal, piped));
                let missing = matches!(refusal.wrong, Wrong::NoReading { .. });
                let chosen = missing.then(|| case.chosen(&line).ok().flatten()).flatten();
                if let Some(blind) = chosen.and_then(|chosen| chosen.blind) {
                    say(&render::blind_words(&blind, false, &setting));
                }
                return Ok(1);
            }
        };
        file.keep(&recorded.entries, &basis)?;
        let gone = before.gone(&case);
        let text = render::recorded(&recorded.entries, &gone.entries);
        // It is in the case, whatever becomes of the answer.
        if let Err(failure) = answer(&mut out, &text) {
            say(&failure.to_string());
        }
        if let Some(taken_for) = &recorded.taken_for {
            say(&render::taken_for_words(taken_for));
        }
        if let Some(by_hand) = render::by_hand(&gone) {
            say(&by_hand);
        }
        let moved = |e: &Entry| matches!(e.act, Act::Pull(_) | Act::Unplug(_) | Act::Refit(_));
        if recorded.entries.iter().any(moved) {
            let asked = was.next().test.map(|test| test.entry);
            let careful = render::trace_cautions(&recorded, asked.as_deref(), &case, screen.width);
            careful.lines().for_each(say);
        }
        let slept = recorded
            .entries
            .first()
            .is_some_and(|e| e.act == Act::Asleep);
        if let Some((waited, settle)) = early.filter(|_| slept) {
            say(&render::early_words(waited, settle));
        }
        for question in &recorded.questions {
            say(&render::question(question, &setting));
        }
    }
    Ok(0)
}

/// What counted, and what was out, before a line.
pub(super) struct Before {
    counting: Vec<u32>,
    out: Vec<TakenOut>,
}

impl Before {
    pub(super) fn of(case: &Case<'_>) -> Self {
        Self {
            counting: case.counting(),
            out: case.taken_out().to_vec(),
        }
    }

    /// What counts no more after it, and what is in or out again only by what is entered.
    pub(super) fn gone<'c>(&self, case: &'c Case<'_>) -> render::Gone<'c> {
        let counting = case.counting();
        let gone = |entry: &&Entry| {
            let counted = self.counting.binary_search(&entry.number).is_ok();
            counted && counting.binary_search(&entry.number).is_err()
        };
        let entries: Vec<&Entry> = case.entries().iter().filter(gone).collect();
        let beyond = |some: &[TakenOut], others: &[TakenOut]| {
            let missing = |taken: &&TakenOut| !others.iter().any(|o| o.name == taken.name);
            let handled = entries
                .iter()
                .any(|entry| matches!(entry.act, Act::Pull(_) | Act::Unplug(_) | Act::Refit(_)));
            let some = some.iter().filter(|_| handled).filter(missing);
            some.cloned().collect()
        };
        render::Gone {
            in_again: beyond(&self.out, case.taken_out()),
            out_again: beyond(case.taken_out(), &self.out),
            entries,
        }
    }
}

/// What is wrong with an entry, and a line that works where it was typed.
fn refused(path: &Path, refusal: &Refusal, piped: bool) -> String {
    if piped {
        return commands::refused_behind(refusal);
    }
    let case = quoted(&path.display().to_string());
    commands::record_refused(refusal, &case, quoted)
}
