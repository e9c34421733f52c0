//! The case file on the disk: opened by one run at a time, and only ever added to.
//!
//! **Model.** Which vehicle and instruments, then what was done and read, a line each (see `lines`).
//! Nothing that follows from the entries is kept; it is worked out again from the files as they are
//! now, so that the vehicle file may grow in the middle of a case.
//!
//! **Invariants.** An entry is on the disk before [`CaseFile::keep`] returns. A run that is killed
//! while it writes leaves at most one line cut off, which the next one takes away; every part of the
//! file that ends with a line is a case (test room `case_files`). Looking changes nothing.
//!
//! **Cost.** Opening is linear in the file, keeping in the new entries.

use crate::case::{Case, Entry, Setting};
use crate::cli::{Failure, files};
use crate::journal::{Refusal, Renaming, with_names_of_today};
use crate::renaming::Wanted;
use crate::render::{When, commands};
use crate::report::{Watched, typed_faster, watched};
use jiff::civil::DateTime;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, BufRead as _, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Component, Path, PathBuf};

mod lines;
use lines::Files;

/// Why a case file cannot be used.
#[derive(Debug)]
pub(super) enum Fault {
    NotACase,
    Damaged { line: usize, why: String },
}

/// What goes wrong with a case, in a sentence with a line that works.
#[derive(Debug, thiserror::Error)]
pub(super) enum Trouble {
    #[error("{}", commands::case_is_missing(.0, &quoted(.0)))]
    Missing(String),
    #[error("{}", commands::case_in_use(.0))]
    InUse(String),
    #[error("{}", commands::not_a_case(.0))]
    NotACase(String),
    #[error("{}", commands::damaged(path, &quoted(path), *line, why))]
    Damaged {
        path: String,
        line: usize,
        why: String,
    },
    #[error("{}", commands::file_is_gone(what, path, &error.to_string()))]
    Gone {
        what: &'static str,
        path: String,
        error: io::Error,
    },
    #[error("{}", commands::no_longer_fits(*number, path, refusal, vehicle, case))]
    NoLongerFits {
        path: String,
        number: u32,
        refusal: Box<Refusal>,
        vehicle: String,
        case: String,
    },
}

impl Trouble {
    /// The program's exit code for it.
    pub(super) const fn code(&self) -> u8 {
        match self {
            Self::NoLongerFits { .. } => 1,
            Self::InUse(_) => 4,
            _ => 3,
        }
    }
}

/// A word as a shell takes it.
pub(super) fn quoted(word: &str) -> String {
    shlex::try_quote(word).map_or_else(|_| word.to_owned(), std::borrow::Cow::into_owned)
}

/// Whether a file is meant as a case, by what it starts with; `false` where it cannot be read.
pub(super) fn is_case(path: &Path) -> bool {
    // A pipe would be read empty by looking.
    if !path.metadata().is_ok_and(|about| about.is_file()) {
        return false;
    }
    let Ok(file) = File::open(path) else {
        return false;
    };
    let mut lines = io::BufReader::new(file).lines().map_while(Result::ok);
    let first = lines.find_map(|line| {
        let line = line.trim_start_matches('\u{feff}').trim();
        let says = !line.is_empty() && !line.starts_with("//");
        says.then(|| line.starts_with("Case"))
    });
    first.unwrap_or(false)
}

/// What a case file is opened for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Access {
    /// To show what was done: also while another run records. Each line is whole once it counts.
    Show,
    /// To say what is next: others may look too, and nothing is held once it is read.
    Look,
    /// To record: nobody else may use it until it is closed.
    Record,
}

/// What a case rests on, as it is found now.
#[derive(Debug)]
pub(super) struct Basis {
    /// The vehicle file.
    pub(super) vehicle: PathBuf,
    /// Its text.
    pub(super) vehicle_text: String,
    /// The vehicle's name.
    pub(super) name: String,
    /// The instruments file, if one was given.
    pub(super) instruments: Option<PathBuf>,
}

impl Basis {
    fn seen_from(&self, folder: &Path) -> io::Result<Files> {
        let instruments = self.instruments.as_deref();
        Ok(Files {
            vehicle: seen_from(folder, &self.vehicle)?,
            name: self.name.clone(),
            fingerprint: lines::sum(self.vehicle_text.as_bytes()),
            instruments: instruments.map(|i| seen_from(folder, i)).transpose()?,
        })
    }
}

/// An open case file.
#[derive(Debug)]
pub(super) struct CaseFile {
    path: PathBuf,
    /// Where paths in it start: whole, and as it is shown.
    folder: PathBuf,
    folder_shown: PathBuf,
    /// Locked as long as it is there.
    file: Option<File>,
    files: Files,
    kept: Vec<String>,
    /// When each was entered: to the minute as it stands there, exactly in this run.
    times: Vec<Option<DateTime>>,
    renamings: Vec<Renaming>,
    end: u64,
    ended: bool,
    torn: usize,
}

impl CaseFile {
    /// Writes a new case file in one stroke; `false` when the name is taken.
    pub(super) fn create(path: &Path, basis: &Basis) -> Result<bool, Failure> {
        let write = || -> io::Result<bool> {
            let folder = files::folder_of(path).canonicalize()?;
            let line = lines::case(&basis.seen_from(&folder)?, &now());
            files::create(path, &line)
        };
        write().map_err(|error| Failure::WriteTo(path.display().to_string(), error))
    }

    /// Opens and reads a case file. To record, a last line that was cut off is taken away.
    pub(super) fn open(path: &Path, access: Access) -> Result<Self, Failure> {
        let name = path.display().to_string();
        let cannot_read = |error| Failure::Read(name.clone(), error);
        let cannot_write = |error| Failure::WriteTo(name.clone(), error);
        let record = access == Access::Record;
        let mut file = match OpenOptions::new().read(true).write(record).open(path) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(Trouble::Missing(name).into());
            }
            Err(error) if record => return Err(cannot_write(error)),
            Err(error) => return Err(cannot_read(error)),
        };
        let locked = match access {
            Access::Record => file.try_lock(),
            Access::Look => file.try_lock_shared(),
            Access::Show => Ok(()),
        };
        match locked {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(Trouble::InUse(name).into()),
            // A disk that knows no locks: one person at one vehicle can still work.
            Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => {}
            Err(TryLockError::Error(error)) => return Err(cannot_read(error)),
        }
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(cannot_read)?;
        let whole = lines::read(&bytes).map_err(|fault| match fault {
            Fault::NotACase => Trouble::NotACase(name.clone()),
            Fault::Damaged { line, why } => Trouble::Damaged {
                path: name.clone(),
                line,
                why,
            },
        })?;
        let end = whole.end as u64;
        if record && whole.torn > 0 {
            let cut = file.set_len(end).and_then(|()| file.sync_data());
            cut.map_err(cannot_write)?;
        }
        let whole_path = path.canonicalize().map_err(cannot_read)?;
        let folder = files::folder_of(&whole_path).to_owned();
        let folder_shown = if path.is_symlink() {
            folder.clone()
        } else {
            files::folder_of(path).to_owned()
        };
        Ok(Self {
            path: path.to_owned(),
            folder,
            folder_shown,
            file: record.then_some(file),
            files: whole.files,
            kept: whole.kept,
            times: whole
                .times
                .iter()
                .map(|at| at.as_ref()?.parse().ok())
                .collect(),
            renamings: whole.renamings,
            end,
            ended: whole.ended,
            torn: whole.torn,
        })
    }

    /// What a person should know about how it was found, and what it rests on now.
    pub(super) fn notes(&self, basis: &Basis) -> Vec<String> {
        let mut notes = Vec::new();
        let kept = self.kept.len();
        if self.torn > 0 {
            notes.push(commands::cut_off(&self.path.display().to_string(), kept));
        }
        if basis.name != self.files.name {
            let file = basis.vehicle.display().to_string();
            let note = commands::another_vehicle(&self.files.name, &file, &basis.name);
            notes.push(note);
        } else if kept > 0 && lines::sum(basis.vehicle_text.as_bytes()) != self.files.fingerprint {
            let file = basis.vehicle.display().to_string();
            notes.push(commands::changed_meanwhile(&file));
        }
        notes
    }

    /// The vehicle file, as it can be opened from here.
    pub(super) fn vehicle(&self) -> PathBuf {
        self.reached(&self.files.vehicle)
    }

    /// The instruments file, as it can be opened from here.
    pub(super) fn instruments(&self) -> Option<PathBuf> {
        let instruments = self.files.instruments.as_deref();
        instruments.map(|path| self.reached(path))
    }

    fn reached(&self, path: &str) -> PathBuf {
        if self.folder_shown == Path::new(".") {
            PathBuf::from(path)
        } else {
            self.folder_shown.join(path)
        }
    }

    /// The case that the entries make.
    pub(super) fn case<'s>(&self, setting: &'s Setting) -> Result<Case<'s>, Trouble> {
        let texts = with_names_of_today(&self.kept, &self.renamings, setting.names());
        self.reopened(setting, texts)
    }

    fn reopened<'s>(&self, setting: &'s Setting, texts: Vec<String>) -> Result<Case<'s>, Trouble> {
        Case::reopen(setting, texts).map_err(|(number, refusal)| Trouble::NoLongerFits {
            path: self.path.display().to_string(),
            number,
            refusal: Box::new(refusal),
            case: quoted(&self.path.display().to_string()),
            vehicle: self.vehicle().display().to_string(),
        })
    }

    /// Puts entries on the disk, with what they rest on where that has changed; when it returns they
    /// are there.
    pub(super) fn keep(&mut self, entries: &[Entry], basis: &Basis) -> Result<(), Failure> {
        let files = basis
            .seen_from(&self.folder)
            .map_err(|error| self.cannot_write(error))?;
        let mut text = String::new();
        if files != self.files {
            text = lines::moved(&files);
        }
        let at = now();
        for entry in entries {
            text.push_str(&lines::entry(entry, &at));
        }
        self.add(&text)?;
        self.files = files;
        self.kept.extend(entries.iter().map(|e| e.text.clone()));
        let exactly = jiff::ZonedDateTime::now().datetime();
        self.times.extend(entries.iter().map(|_| Some(exactly)));
        Ok(())
    }

    /// Minutes since an entry was entered; `None` where that does not stand there, or cannot be.
    pub(super) fn minutes_since(&self, number: u32) -> Option<f64> {
        let then = (*self.times.get(number.checked_sub(1)? as usize)?)?;
        let now = jiff::ZonedDateTime::now().datetime();
        let minutes = now.duration_since(then).as_secs_f64() / 60.0;
        // A clock that was put back tells nothing.
        (minutes >= 0.0).then_some(minutes)
    }

    /// When its first entry was entered, in minutes after midnight; `None` where that was on another day, or nobody
    /// knows.
    pub(super) fn begun_today(&self) -> Option<u16> {
        let began = (*self.times.first()?)?;
        let minutes = |at: DateTime| {
            u16::from(at.hour().unsigned_abs()) * 60 + u16::from(at.minute().unsigned_abs())
        };
        let today = jiff::ZonedDateTime::now().date();
        (began.date() == today).then(|| minutes(began))
    }

    /// When its entries were entered.
    pub(super) fn when(&self) -> When {
        let known: Vec<DateTime> = self.times.iter().flatten().copied().collect();
        let minutes = |at: &DateTime| {
            let first = known.first()?;
            Some(at.duration_since(*first).as_secs_f64() / 60.0)
        };
        let day = |at: &DateTime| at.date().to_string();
        let (first, last) = (known.iter().min(), known.iter().max());
        When {
            minutes: self.times.iter().map(|at| minutes(at.as_ref()?)).collect(),
            days: first.zip(last).map(|(first, last)| (day(first), day(last))),
        }
    }

    /// How long the draw was watched after the last repair; while it still is, till now.
    pub(super) fn watched(&self, case: &Case<'_>, still: bool) -> Watched {
        let Some(repair) = case.repairs().last() else {
            return Watched::Unknown;
        };
        let minutes = self.when().minutes;
        if !still {
            return watched(case, repair, &minutes);
        }
        let Some(first) = repair.draws.first() else {
            return Watched::Unknown;
        };
        let faster = typed_faster(case, &minutes);
        let entered = || self.minutes_since(*first).filter(|_| !faster);
        let typed = case.entries().get(*first as usize - 1);
        let typed = typed.and_then(|draw| since_time(draw.at?));
        let settle = case.setting().feeds.settle().value();
        typed
            .or_else(entered)
            .map_or(Watched::Unknown, |since| Watched::of(since, settle))
    }

    /// Puts on the disk what got another name, with the vehicle file that has it, before that is
    /// written: a run that breaks off between leaves a line that says nothing.
    pub(super) fn rename(&mut self, wanted: Wanted<'_>, basis: &Basis) -> Result<(), Failure> {
        let files = basis
            .seen_from(&self.folder)
            .map_err(|error| self.cannot_write(error))?;
        let renaming = self.renaming(wanted);
        let text = lines::renamed(&renaming, &now()) + &lines::moved(&files);
        self.add(&text)?;
        self.files = files;
        self.renamings.push(renaming);
        Ok(())
    }

    /// Whether every entry would fit a vehicle in which something has another name.
    pub(super) fn fits(&self, wanted: Wanted<'_>, setting: &Setting) -> Result<(), Trouble> {
        let renamings = [&self.renamings[..], &[self.renaming(wanted)]].concat();
        let texts = with_names_of_today(&self.kept, &renamings, setting.names());
        self.reopened(setting, texts).map(|_| ())
    }

    fn renaming(&self, wanted: Wanted<'_>) -> Renaming {
        Renaming {
            behind: self.kept.len(),
            old: wanted.old.to_owned(),
            new: wanted.new.to_owned(),
            place: wanted.place,
        }
    }

    fn add(&mut self, text: &str) -> Result<(), Failure> {
        let text = if self.ended {
            text.to_owned()
        } else {
            format!("\n{text}")
        };
        let end = self.end;
        let Some(file) = &mut self.file else {
            let error = io::Error::other(commands::opened_to_look());
            return Err(self.cannot_write(error));
        };
        let write = |file: &mut File| {
            file.seek(SeekFrom::Start(end))?;
            file.write_all(text.as_bytes())?;
            file.sync_data()
        };
        if let Err(error) = write(file) {
            // What did not arrive whole is not left behind; if that fails too, the next run does it.
            let _ = file.set_len(end);
            return Err(self.cannot_write(error));
        }
        self.end += text.len() as u64;
        self.ended = true;
        Ok(())
    }

    fn cannot_write(&self, error: io::Error) -> Failure {
        Failure::WriteTo(self.path.display().to_string(), error)
    }
}

/// The path of a file as seen from a folder (whole, links resolved) where they share more than the
/// root, else the whole path; parted by `/`, so that the case can move between systems.
fn seen_from(folder: &Path, file: &Path) -> io::Result<String> {
    let name = file.file_name().unwrap_or_default();
    let whole = files::folder_of(file).canonicalize()?.join(name);
    let own: Vec<Component<'_>> = folder.components().collect();
    let to: Vec<Component<'_>> = whole.components().collect();
    let shared = own.iter().zip(&to).take_while(|(a, b)| a == b).count();
    let readable = |text: Option<&str>| {
        text.map(str::to_owned)
            .ok_or_else(|| io::Error::other(commands::path_not_utf8(&whole.display().to_string())))
    };
    let more_than_root = own[..shared]
        .iter()
        .any(|c| matches!(c, Component::Normal(_)));
    if !more_than_root {
        return readable(whole.to_str());
    }
    let mut steps = vec!["..".to_owned(); own.len() - shared];
    for component in &to[shared..] {
        steps.push(readable(component.as_os_str().to_str())?);
    }
    Ok(steps.join("/"))
}

/// The local time of day, in minutes after midnight.
pub(super) fn time_of_day() -> u16 {
    let now = jiff::ZonedDateTime::now();
    u16::from(now.hour().unsigned_abs()) * 60 + u16::from(now.minute().unsigned_abs())
}

/// Minutes since a time of day, today or in the night before; `None` for one that is rather to come.
fn since_time(at: u16) -> Option<f64> {
    const DAY: u16 = 24 * 60;
    let since = (time_of_day() + DAY - at) % DAY;
    (since < DAY / 2).then_some(f64::from(since))
}

/// The local time to the minute, such as `2026-11-25T14:32`.
fn now() -> String {
    jiff::ZonedDateTime::now()
        .strftime("%Y-%m-%dT%H:%M")
        .to_string()
}
