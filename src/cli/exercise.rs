//! Exercise files with the files they name.

use crate::case::Setting;
use crate::cli::opening::{Given, setting_of};
use crate::cli::{Failure, files, report, sound};
use crate::drill::{self, Exercise, Task};
use crate::problem::Look;
use std::path::{Path, PathBuf};

/// An exercise with everything it rests on.
pub(super) struct Opened {
    /// What its author wrote.
    pub(super) task: Task,
    /// Its vehicle and instruments.
    pub(super) setting: Setting,
    name: String,
    text: String,
}

impl Opened {
    /// The exercise with this number; `None` where it names what the vehicle does not have, which
    /// standard error shows.
    pub(super) fn exercise(&self, number: u64, screen: Look) -> Result<Option<Exercise>, Failure> {
        match self.task.exercise(&self.setting, number) {
            Ok(exercise) => Ok(Some(exercise)),
            Err(problems) => {
                report(&self.name, &self.text, problems, screen)?;
                Ok(None)
            }
        }
    }
}

/// Opens an exercise and the files it names, which stand where it says, seen from its own folder. Other
/// instruments may be given instead. `None` where one of them has errors, which standard error shows.
pub(super) fn open(
    file: &Path,
    instruments: Option<&Path>,
    screen: Look,
) -> Result<Option<Opened>, Failure> {
    let (name, text) = files::read(file)?;
    let Some(task) = sound(&name, &text, drill::read(&text), screen)? else {
        return Ok(None);
    };
    let beside = |told: &str| files::folder_of(file).join(told);
    let own = task.instruments.as_ref().map(|told| beside(&told.value));
    let given = Given {
        vehicle: None,
        instruments: instruments.map(Path::to_owned).or(own),
    };
    let Some(setting) = setting_of(&beside(&task.vehicle.value), &given, screen)? else {
        return Ok(None);
    };
    let opened = Opened {
        task,
        setting,
        name,
        text,
    };
    // What it names is looked up before anybody plays it.
    Ok(opened.exercise(0, screen)?.map(|_| opened))
}

/// A file's name without its folder and ending.
pub(super) fn stem(file: &Path) -> String {
    let stem = file.file_stem().unwrap_or(file.as_os_str());
    stem.to_string_lossy().into_owned()
}

/// The files with this ending in a folder, in order of their names.
pub(super) fn listed(folder: &Path, ending: &str) -> Result<Vec<PathBuf>, Failure> {
    let failed = |error| Failure::Read(folder.display().to_string(), error);
    let entries = std::fs::read_dir(folder).map_err(failed)?;
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_some_and(|e| e == ending) && path.is_file() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}
