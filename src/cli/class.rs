//! `halfsplit class`: the attempts of a class at one exercise, marked in one go.

use crate::cli::attempt::{self, Attempt};
use crate::cli::exercise::{Opened, listed, open, passphrase, stem};
use crate::cli::{Failure, answer, files, plain, say};
use crate::drill::{Chance, Drill, Marked, Played, best};
use crate::problem::Look;
use crate::render;
use clap::Args;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;

/// What `class` is told.
#[derive(Args, Debug)]
pub(super) struct Told {
    /// The exercise file
    exercise: PathBuf,
    /// The attempts, or folders of them (files that end in .drill)
    #[arg(required = true)]
    attempts: Vec<PathBuf>,
    /// Writes a row a learner as a table; `-` is standard output
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Writes the results as a page to print
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// The first line of this file is the passphrase of the exercise's seal
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
}

/// Marks every attempt; exit code 1 where one could not be marked.
pub(super) fn run(told: &Told, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let passphrase = passphrase(told.passphrase_file.as_deref())?;
    let Some(opened) = open(&told.exercise, None, passphrase.as_deref(), screen)? else {
        return Ok(1);
    };
    if opened.task.sealed.is_some() {
        let text = "the seal of this exercise wants its passphrase: --passphrase-file FILE";
        return Err(Failure::Usage(text.to_owned()));
    }
    let name = stem(&told.exercise);
    let mut plans: BTreeMap<u64, Played> = BTreeMap::new();
    let mut seen: BTreeMap<u64, String> = BTreeMap::new();
    let (mut marked, mut left_out) = (Vec::new(), 0);
    for (index, file) in files_of(told)?.iter().enumerate() {
        let shown = file.display();
        let attempt = match attempt::read(file) {
            Ok(attempt) => attempt,
            Err(failure) => {
                left_out += 1;
                say(&format!("left out: {failure}"));
                continue;
            }
        };
        if let Some(other) = attempt.exercise.as_ref().filter(|other| **other != name) {
            left_out += 1;
            say(&format!(
                "left out: {shown} is an attempt at {other}, and this is {name}: give the file under that name"
            ));
            continue;
        }
        let Some(one) = mark(&opened, &attempt, index as u64 + 1, &mut plans, screen)? else {
            return Ok(1);
        };
        if let Some(before) = seen.insert(one.learner, shown.to_string()) {
            let number = one.learner;
            say(&format!(
                "learner {number} stands in {before} and in {shown}: each counts for itself"
            ));
        }
        marked.push(one);
    }
    marked.sort_by_key(|one| one.learner);
    if let Some(to) = &told.csv {
        files::write(to, &render::class_table(&marked))?;
    }
    if let Some(to) = &told.page {
        files::write(to, &render::class_page(&opened.task, &marked))?;
    }
    if told.csv.is_none() && told.page.is_none() {
        let text = render::class(&opened.task, &marked, screen.width);
        let text = plain(&text, screen);
        answer(&mut out, &text)?;
    }
    Ok(u8::from(left_out > 0))
}

/// The attempts that were named, and those in the folders that were.
fn files_of(told: &Told) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in &told.attempts {
        if path.is_dir() {
            files.extend(listed(path, "drill")?);
        } else {
            files.push(path.clone());
        }
    }
    if files.is_empty() {
        let text = "no attempts there: an attempt's name ends in .drill, or is given itself";
        return Err(Failure::Usage(text.to_owned()));
    }
    Ok(files)
}

/// Plays an attempt again and judges it. The best plan of a number is worked out once. Lines that are
/// refused now, because a file was changed since, are left out and said.
fn mark(
    opened: &Opened,
    attempt: &Attempt,
    order: u64,
    plans: &mut BTreeMap<u64, Played>,
    screen: Look,
) -> Result<Option<Marked>, Failure> {
    let Some(exercise) = opened.exercise(attempt.number, screen)? else {
        return Ok(None);
    };
    let chance = Chance(exercise.number);
    let choice = move |question: &str| chance.at(question);
    let setting = &opened.setting;
    let plan = plans
        .entry(exercise.number)
        .or_insert_with(|| best(setting, &exercise, &choice));
    let drill = attempt.on(Drill::new(setting, &exercise, &choice));
    Ok(Some(Marked {
        learner: attempt.learner.unwrap_or(order),
        number: exercise.number,
        ended: drill.has_ended(),
        debrief: drill.debrief_against(plan.clone(), &choice),
    }))
}
