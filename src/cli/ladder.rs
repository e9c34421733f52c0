//! The ladder of exercises and the learner's progress on it.
//!
//! **Invariants.** Progress is a table that any spreadsheet reads, a row an exercise played to its end;
//! rows are only ever added.

use crate::cli::exercise::{listed, stem};
use crate::cli::{Failure, answer, files, plain, sound};
use crate::drill::{self, Debrief};
use crate::problem::Look;
use crate::render::{self, Climbed, Rung, commands};
use serde::{Deserialize, Serialize};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Where the exercises that come with the program are, seen from its folder.
pub(super) const EXERCISES: &str = "sample-vehicles/exercises";

/// A row of the table.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Row {
    /// Empty where one person alone keeps the table.
    #[serde(default)]
    learner: Option<u64>,
    exercise: String,
    number: u64,
    marks: u32,
    minutes: f64,
    best_minutes: f64,
    when: String,
}

/// The file that was named, else one in the folder where programs keep what belongs to a person.
pub(super) fn file(told: Option<&Path>) -> Result<PathBuf, Failure> {
    if let Some(told) = told {
        return Ok(told.to_owned());
    }
    dirs::data_dir()
        .map(|folder| folder.join("halfsplit/ladder.csv"))
        .ok_or_else(|| Failure::Usage(commands::no_data_folder()))
}

fn rows(file: &Path) -> Result<Vec<Row>, Failure> {
    if !file.exists() {
        return Ok(Vec::new());
    }
    let (name, text) = files::read(file)?;
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Result<_, csv::Error> = reader.deserialize().collect();
    rows.map_err(|error| Failure::Usage(commands::no_progress(&name, &error.to_string())))
}

/// Adds what came of an exercise.
pub(super) fn keep(
    file: &Path,
    learner: Option<u64>,
    exercise: &str,
    number: u64,
    debrief: &Debrief,
) -> Result<(), Failure> {
    let mut rows = rows(file)?;
    rows.push(Row {
        learner,
        exercise: exercise.to_owned(),
        number,
        marks: debrief.marks,
        minutes: (debrief.minutes * 10.0).round() / 10.0,
        best_minutes: (debrief.best.minutes * 10.0).round() / 10.0,
        when: jiff::ZonedDateTime::now()
            .strftime("%Y-%m-%d %H:%M")
            .to_string(),
    });
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::fmt::Display| {
        let error = std::io::Error::other(error.to_string());
        Failure::WriteTo(file.display().to_string(), error)
    };
    for row in rows {
        writer.serialize(row).map_err(|error| failed(&error))?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(&error))?;
    let folder = files::folder_of(file);
    std::fs::create_dir_all(folder)
        .map_err(|error| Failure::WriteTo(folder.display().to_string(), error))?;
    files::write(file, &String::from_utf8_lossy(&bytes))
}

/// What is to be listed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Listing<'t> {
    /// The folder of the exercises.
    pub(super) folder: &'t Path,
    /// The table of progress, where it was named.
    pub(super) progress: Option<&'t Path>,
    /// Whose progress.
    pub(super) learner: Option<u64>,
    /// As one JSON object.
    pub(super) json: bool,
}

/// Lists the exercises of a folder, and how far the learner has come.
pub(super) fn run(listing: Listing<'_>, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let folder = listing.folder;
    let progress = file(listing.progress)?;
    let done = rows(&progress)?;
    let mut rungs = Vec::new();
    for path in listed(folder, "ron")? {
        let (name, text) = files::read(&path)?;
        if !drill::is_exercise(&text) {
            continue;
        }
        let Some(task) = sound(&name, &text, drill::read(&text), screen)? else {
            return Ok(1);
        };
        let file = stem(&path);
        let is_own = |row: &&Row| row.exercise == file && row.learner == listing.learner;
        let own = || done.iter().filter(is_own);
        let climbed = Climbed {
            tries: own().count() as u32,
            marks: own().map(|row| row.marks).max().unwrap_or(0),
        };
        rungs.push(Rung {
            file,
            task,
            climbed,
        });
    }
    if rungs.is_empty() {
        let folder = folder.display().to_string();
        return Err(Failure::Usage(commands::no_exercises(&folder)));
    }
    rungs.sort_by_key(|rung| (rung.task.rung.unwrap_or(u32::MAX), rung.file.clone()));
    let (folder, progress) = (folder.display().to_string(), progress.display().to_string());
    let of = render::Whose {
        learner: listing.learner,
        folder,
        progress,
    };
    if listing.json {
        let row = serde_json::to_string(&render::ladder_json(&rungs, &of))?;
        answer(&mut out, &format!("{row}\n"))?;
    } else {
        let text = plain(&render::ladder(&rungs, &of, screen.width), screen);
        answer(&mut out, &text)?;
    }
    Ok(0)
}
