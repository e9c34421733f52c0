//! A case with everything it rests on: its file, the vehicle file and the instruments file.

use crate::case::Setting;
use crate::cli::case_file::{Access, Basis, CaseFile, Trouble, quoted};
use crate::cli::{Failure, files, say, sound};
use crate::feeds;
use crate::instruments::{self, Instruments};
use crate::problem::Look;
use crate::render::commands;
use clap::Args;
use std::path::{Path, PathBuf};

/// Where the files of a case are, as far as the person says.
#[derive(Args, Debug)]
pub(super) struct Given {
    /// The vehicle file; for a case that is there: where it has moved to
    #[arg(long, value_name = "FILE")]
    pub(super) vehicle: Option<PathBuf>,
    /// The instruments file; without one a plain meter is assumed
    #[arg(long, value_name = "FILE")]
    pub(super) instruments: Option<PathBuf>,
}

impl Given {
    /// Whether the person said anything.
    pub(super) fn is_some(&self) -> bool {
        self.vehicle.is_some() || self.instruments.is_some()
    }
}

/// A case with everything it rests on.
#[derive(Debug)]
pub(super) struct Opened {
    /// Its file, locked when it is open to record.
    pub(super) file: CaseFile,
    /// What it rests on.
    pub(super) basis: Basis,
    /// The same, read and checked.
    pub(super) setting: Setting,
}

/// A file that was read.
type Text = (PathBuf, String);

/// Opens a case that is there; `None` when a file it rests on has errors, which standard error shows.
pub(super) fn open(
    case: &Path,
    given: &Given,
    access: Access,
    screen: Look,
) -> Result<Option<Opened>, Failure> {
    let file = CaseFile::open(case, access)?;
    let vehicle = match &given.vehicle {
        Some(said) => text_of(said)?,
        None => kept_text("vehicle", file.vehicle())?,
    };
    let instruments = match (&given.instruments, file.instruments()) {
        (Some(said), _) => Some(text_of(said)?),
        (None, Some(kept)) => Some(kept_text("instruments", kept)?),
        (None, None) => None,
    };
    let resting = rest_on(vehicle, instruments, screen)?;
    Ok(resting.map(|(basis, setting)| Opened {
        file,
        basis,
        setting,
    }))
}

/// Opens a case, and before that writes it where it is not there and the vehicle is given; says
/// whether this run has written it.
pub(super) fn open_or_create(
    case: &Path,
    given: &Given,
    access: Access,
    screen: Look,
) -> Result<Option<(Opened, bool)>, Failure> {
    let mut new = false;
    if let Some(vehicle) = &given.vehicle
        && !case.exists()
    {
        let instruments = given.instruments.as_deref().map(text_of).transpose()?;
        let Some((basis, _)) = rest_on(text_of(vehicle)?, instruments, screen)? else {
            return Ok(None);
        };
        // Where another run was quicker, its case is taken.
        new = CaseFile::create(case, &basis)?;
    }
    let opened = open(case, given, access, screen)?;
    Ok(opened.map(|opened| (opened, new)))
}

/// The setting of a vehicle file by itself; `None` when it or the instruments file has errors, which
/// standard error shows.
pub(super) fn setting_of(
    vehicle: &Path,
    given: &Given,
    screen: Look,
) -> Result<Option<Setting>, Failure> {
    if given.vehicle.is_some() {
        return Err(Failure::Usage(commands::vehicle_with_a_case()));
    }
    let instruments = given.instruments.as_deref().map(text_of).transpose()?;
    let read = files::read(vehicle)?;
    let resting = rest_on((PathBuf::from(read.0), read.1), instruments, screen)?;
    Ok(resting.map(|(_, setting)| setting))
}

fn text_of(path: &Path) -> Result<Text, Failure> {
    if files::is_stream(path) {
        return Err(Failure::Usage(commands::standard_files()));
    }
    let (_, text) = files::read(path)?;
    Ok((path.to_owned(), text))
}

fn kept_text(what: &'static str, path: PathBuf) -> Result<Text, Failure> {
    match std::fs::read_to_string(&path) {
        Ok(text) => Ok((path, text)),
        Err(error) => {
            let path = path.display().to_string();
            Err(Trouble::Gone { what, path, error }.into())
        }
    }
}

fn rest_on(
    (vehicle, vehicle_text): Text,
    instruments: Option<Text>,
    screen: Look,
) -> Result<Option<(Basis, Setting)>, Failure> {
    let name = vehicle.display().to_string();
    let Some(feeds) = sound(&name, &vehicle_text, feeds::load(&vehicle_text), screen)? else {
        say(&commands::no_case_on_errors(&quoted(&name)));
        return Ok(None);
    };
    let mut at_hand = Instruments::assumed_meter();
    if let Some((path, text)) = &instruments {
        let name = path.display().to_string();
        let Some(read) = sound(&name, text, instruments::read(text), screen)? else {
            return Ok(None);
        };
        at_hand = read;
    }
    let basis = Basis {
        vehicle,
        vehicle_text,
        name: feeds.vehicle().name.clone(),
        instruments: instruments.map(|(path, _)| path),
    };
    Ok(Some((basis, Setting::new(feeds, at_hand))))
}
