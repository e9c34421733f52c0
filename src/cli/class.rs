//! `halfsplit class`: the attempts of a class at one exercise, marked in one go.

use crate::case::Setting;
use crate::cli::attempt::{self, Attempt, Fits};
use crate::cli::exercise::{listed, open, passphrase, stem};
use crate::cli::{Failure, answer, files, plain, say};
use crate::drill::{Chance, Drill, Exercise, Marked, Played, best_where};
use crate::problem::Look;
use crate::render;
use crate::render::commands::{self, Work};
use clap::Args;
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

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
    /// Print the results as one JSON object
    #[arg(long)]
    json: bool,
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
    if opened.task.sealed.is_some() || opened.withheld {
        return Err(Failure::Usage(commands::seal_wants_passphrase()));
    }
    let name = stem(&told.exercise);
    let mut exercises: BTreeMap<u64, Exercise> = BTreeMap::new();
    let mut seen: BTreeMap<u64, String> = BTreeMap::new();
    let (mut attempts, mut left_out, mut changed) = (Vec::new(), 0, Vec::new());
    for (index, file) in files_of(told)?.iter().enumerate() {
        let shown = file.display().to_string();
        let attempt = match attempt::read(file) {
            Ok(attempt) => attempt,
            Err(failure) => {
                left_out += 1;
                say(&commands::left_out(&failure.to_string()));
                continue;
            }
        };
        match attempt.fits(Some(&name), &opened.fingerprint) {
            Fits::Yes => {}
            Fits::Changed => changed.push(shown.clone()),
            Fits::No => {
                left_out += 1;
                let other = attempt.exercise.as_deref();
                say(&commands::left_out_other(&shown, other, &name));
                continue;
            }
        }
        if let Some(step) = attempt.again {
            say(&commands::left_out_again(&shown, step));
            continue;
        }
        let number = attempt.number;
        if let Entry::Vacant(vacant) = exercises.entry(number) {
            let Some(exercise) = opened.exercise(number, screen)? else {
                return Ok(1);
            };
            vacant.insert(exercise);
        }
        let learner = attempt.learner.unwrap_or(index as u64 + 1);
        if let Some(before) = seen.insert(learner, shown.clone()) {
            say(&commands::learner_twice(learner, &before, &shown));
        }
        attempts.push((learner, attempt));
    }
    if !changed.is_empty() {
        say(&commands::changed_for(&name, &changed));
    }
    attempts.sort_by_key(|(learner, _)| *learner);
    alike(&attempts);
    let marked = marked(&opened.setting, &exercises, &attempts);
    if let Some(to) = &told.csv {
        files::write(to, &render::class_table(&marked))?;
    }
    if let Some(to) = &told.page {
        files::write(to, &render::class_page(&opened.task, &marked))?;
    }
    if told.json {
        let row = serde_json::to_string(&render::class_json(&name, &marked))?;
        answer(&mut out, &format!("{row}\n"))?;
    } else if told.csv.is_none() && told.page.is_none() {
        let text = render::class(&opened.task, &marked, screen.width);
        let text = plain(&text, screen);
        answer(&mut out, &text)?;
    }
    Ok(u8::from(left_out > 0))
}

/// Says which learners typed the very same, line for line: they may have worked at one screen.
fn alike(attempts: &[(u64, Attempt)]) {
    let mut same: BTreeMap<&[String], Vec<String>> = BTreeMap::new();
    for (learner, attempt) in attempts {
        same.entry(&attempt.lines)
            .or_default()
            .push(learner.to_string());
    }
    for learners in same.values().filter(|learners| learners.len() > 1) {
        say(&commands::typed_the_same(learners));
    }
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
        return Err(Failure::Usage(commands::no_attempts()));
    }
    Ok(files)
}

/// Plays each attempt again and judges it. The best plan of a number is worked out once. Lines that are
/// refused now, because a file was changed since, are left out and said.
fn marked(
    setting: &Setting,
    exercises: &BTreeMap<u64, Exercise>,
    attempts: &[(u64, Attempt)],
) -> Vec<Marked> {
    let of = |number: u64| move |question: &str| Chance(number).at(question);
    // Whether a board wakes is known once its lines are taken.
    let wakes = |attempt: &Attempt| {
        if attempt.board {
            vec![Some(false), Some(true)]
        } else {
            vec![None]
        }
    };
    let wanted = attempts.iter().flat_map(|(_, attempt)| {
        let each = wakes(attempt).into_iter();
        each.map(|wakes| (attempt.number, wakes))
    });
    let wanted: Vec<_> = wanted.collect::<BTreeSet<_>>().into_iter().collect();
    let plans = side_by_side(Work::Plans, &wanted, |(number, wakes)| {
        best_where(setting, &exercises[number], *wakes, &of(*number))
    });
    let plans: BTreeMap<_, Played> = wanted.into_iter().zip(plans).collect();
    side_by_side(Work::Marks, attempts, |(learner, attempt)| {
        let exercise = &exercises[&attempt.number];
        let choice = of(exercise.number);
        let drill = attempt.on(Drill::new(setting, exercise, &choice));
        Marked {
            learner: *learner,
            number: exercise.number,
            ended: drill.is_complete(),
            debrief: {
                let plan = &plans[&(attempt.number, drill.board_wakes())];
                drill.debrief_against(plan.clone(), &choice)
            },
        }
    })
}

/// How long it may take before it says how far it has come, and how often then.
const SAYS: Duration = Duration::from_secs(3);

/// Does the same with each of these on all processors; what comes out stands in their order.
fn side_by_side<T: Sync, R: Send>(kind: Work, list: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    let began = Mutex::new(Instant::now());
    let results: Mutex<Vec<(usize, R)>> = Mutex::new(Vec::new());
    let take = || {
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(one) = list.get(at) else { return };
            let result = work(one);
            // Whoever panicked with it held has ended the program.
            let (Ok(mut results), Ok(mut began)) = (results.lock(), began.lock()) else {
                return;
            };
            results.push((at, result));
            if began.elapsed() > SAYS && results.len() < list.len() {
                say(&commands::so_far(results.len(), list.len(), kind));
                *began = Instant::now();
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..threads.min(list.len()) {
            scope.spawn(take);
        }
    });
    let mut results = results.into_inner().unwrap_or_default();
    results.sort_by_key(|(at, _)| *at);
    results.into_iter().map(|(_, result)| result).collect()
}
