//! Exercise files with the files they name, and `halfsplit exercise`: checking, sealing, printing them.

use crate::case::Setting;
use crate::cli::opening::{Given, setting_of};
use crate::cli::seal::{self, Lock, Shut};
use crate::cli::{Failure, answer, files, ladder, plain, report, say, sound};
use crate::drill::{self, Chance, Exercise, Task, played};
use crate::problem::{Look, words};
use crate::render::{self, commands};
use clap::Args;
use std::io::Write;
use std::path::{Path, PathBuf};

/// What `exercise` is told.
#[derive(Args, Debug)]
pub(super) struct Told {
    /// The exercise file
    exercise: PathBuf,
    /// Writes a starter there, with every field explained, where no such file is yet
    #[arg(long, conflicts_with_all = ["seal", "passphrase_file", "worksheet", "answers"])]
    new: bool,
    /// Which fault is hidden, where the file hides none by name
    #[arg(long, value_name = "N", default_value_t = 1)]
    number: u64,
    /// Writes the exercise anew, with what is hidden sealed; `-` is standard output
    #[arg(long, value_name = "FILE")]
    seal: Option<PathBuf>,
    /// The first line of this file is the passphrase of the seal
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
    /// With the seal: learners play it without the passphrase; debrief, marks and answers want it
    #[arg(long, requires = "seal", requires = "passphrase_file")]
    learners_play: bool,
    /// Writes the worksheet as a page to print: the tree, an empty table of readings, room for reasons
    #[arg(long, value_name = "FILE")]
    worksheet: Option<PathBuf>,
    /// Writes the answer sheet as a page to print, for the instructor
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

/// An exercise with everything it rests on.
pub(super) struct Opened {
    /// What its author wrote; of a sealed one that does not open what stands outside the seal.
    pub(super) task: Task,
    /// Its vehicle and instruments.
    pub(super) setting: Setting,
    name: String,
    text: String,
    /// Of the file's text as it stands.
    pub(super) fingerprint: String,
    /// Nothing was opened to read it: who has the file sees what it hides.
    open_to_all: bool,
    /// It may be played, and what came of it is not told: its seal wants the passphrase for that.
    pub(super) withheld: bool,
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

/// The first line of a file.
pub(super) fn passphrase(file: Option<&Path>) -> Result<Option<String>, Failure> {
    let Some(file) = file else {
        return Ok(None);
    };
    let (name, text) = files::read(file)?;
    match text
        .lines()
        .next()
        .map(str::trim)
        .filter(|line| !line.is_empty())
    {
        Some(line) => Ok(Some(line.to_owned())),
        None => Err(Failure::Usage(commands::no_passphrase(&name))),
    }
}

/// Opens an exercise and the files it names, which stand where it says, seen from its own folder. Other
/// instruments may be given instead. `None` where one of them has errors, which standard error shows. A
/// seal that wants a passphrase stays shut without one; a wrong one is an error.
pub(super) fn open(
    file: &Path,
    instruments: Option<&Path>,
    passphrase: Option<&str>,
    screen: Look,
) -> Result<Option<Opened>, Failure> {
    let (mut name, mut text) = files::read(file)?;
    let fingerprint = drill::fingerprint(&text);
    let (mut open_to_all, mut withheld) = (true, false);
    let Some(mut task) = sound(&name, &text, drill::read(&text), screen)? else {
        return Ok(None);
    };
    if let Some(seal) = task.sealed.clone() {
        match seal::open(&seal.value, passphrase) {
            Ok(inside) => {
                (open_to_all, withheld) = (false, inside.withheld);
                (name, text) = (commands::inside_its_seal(&name), inside.text);
                let Some(inside) = sound(&name, &text, drill::read(&text), screen)? else {
                    return Ok(None);
                };
                // The sealed file may stand in another folder.
                let (vehicle, instruments) = (task.vehicle, task.instruments);
                task = inside;
                (task.vehicle, task.instruments) = (vehicle, instruments);
            }
            Err(Shut::Wants) => {}
            Err(shut) => {
                let problem = if shut == Shut::Wrong && passphrase.is_some() {
                    words::other_passphrase()
                } else {
                    words::no_seal()
                }
                .at(seal.at);
                report(&name, &text, vec![problem], screen)?;
                return Ok(None);
            }
        }
    }
    let beside = |told: &str| files::folder_of(file).join(told);
    let own = task.instruments.as_ref().map(|told| beside(&told.value));
    let given = Given {
        vehicle: None,
        instruments: instruments.map(Path::to_owned).or(own),
    };
    let Some(setting) = setting_of(&beside(&task.vehicle.value), &given, screen)? else {
        return Ok(None);
    };
    for earlier in &mut task.before {
        earlier.title = title(file, &earlier.file);
    }
    let opened = Opened {
        task,
        setting,
        name,
        text,
        fingerprint,
        open_to_all,
        withheld,
    };
    // What it names is looked up before anybody plays it.
    Ok(opened.exercise(0, screen)?.map(|_| opened))
}

/// What an exercise is called that stands beside this file, else on the ladder that comes with the program.
/// `None` where there is none, or it cannot be read: nothing rests on it.
fn title(file: &Path, earlier: &str) -> Option<String> {
    let folders = [files::folder_of(file), Path::new(ladder::EXERCISES)];
    folders.into_iter().find_map(|folder| {
        let (_, text) = files::read(&folder.join(format!("{earlier}.ron"))).ok()?;
        let (task, _) = drill::read(&text);
        Some(task?.name)
    })
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

/// Writes a starter where no such file is yet.
fn begin(file: &Path) -> Result<u8, Failure> {
    let name = file.display().to_string();
    if !files::is_stream(file) && file.exists() {
        say(&commands::taken_name(&name));
        return Ok(1);
    }
    files::write(file, drill::STARTER)?;
    if !files::is_stream(file) {
        say(&commands::exercise_begun(&name));
    }
    Ok(0)
}

/// Checks an exercise, and writes what is asked for; exit code 1 where it has errors.
pub(super) fn run(told: &Told, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let file = &told.exercise;
    if told.new {
        return begin(file);
    }
    let passphrase = passphrase(told.passphrase_file.as_deref())?;
    let Some(opened) = open(file, None, passphrase.as_deref(), screen)? else {
        return Ok(1);
    };
    let Some(exercise) = opened.exercise(told.number, screen)? else {
        return Ok(1);
    };
    let glance = !opened.open_to_all && passphrase.is_none();
    if glance && !exercise.sealed && !opened.withheld && told.answers.is_some() {
        return Err(Failure::Usage(commands::answers_of_the_open_file()));
    }
    let shut = exercise.sealed || opened.withheld;
    if shut && (told.seal.is_some() || told.answers.is_some()) {
        return Err(Failure::Usage(commands::seal_wants_passphrase()));
    }
    if let Some(to) = &told.seal {
        let lock = match passphrase.as_deref() {
            Some(passphrase) if told.learners_play => Lock::Played(passphrase),
            Some(passphrase) => Lock::Passphrase(passphrase),
            None => Lock::Eyes,
        };
        let sealed = seal::seal(&opened.text, lock);
        let sealed = sealed.ok_or_else(|| Failure::Usage(commands::no_random_numbers()))?;
        files::write(to, &opened.task.sealed_with(&sealed))?;
        say(match lock {
            Lock::Played(_) => commands::LEARNERS_PLAY,
            Lock::Passphrase(_) => commands::WITH_PASSPHRASE,
            Lock::Eyes => commands::AGAINST_A_GLANCE,
        });
    }
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let searched = exercise.hunt && !exercise.hidden.is_empty();
    let best = || searched.then(|| played(&opened.setting, &exercise, &choice));
    if let Some(to) = &told.worksheet {
        let steps = best().map_or(0, |best| best.lines.len());
        let sheet = render::worksheet(&opened.task, &opened.setting, &exercise, steps);
        files::write(to, &sheet)?;
    }
    if let Some(to) = &told.answers {
        let best = best();
        let sheet = render::answer_sheet(&opened.task, &opened.setting, &exercise, best.as_ref());
        files::write(to, &sheet)?;
    }
    if told.seal.is_none() && told.worksheet.is_none() && told.answers.is_none() {
        let text = render::exercise(&opened.task, &opened.setting, &exercise, screen.width);
        let text = if opened.open_to_all {
            let best = best();
            let setting = &opened.setting;
            let doubted = render::exercise_doubts(setting, &exercise, best.as_ref(), screen.width);
            format!("{text}{doubted}")
        } else {
            text
        };
        let text = plain(&text, screen);
        answer(&mut out, &text)?;
    }
    Ok(0)
}
