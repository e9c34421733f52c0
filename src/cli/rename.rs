//! `halfsplit rename`: another name for a thing of a vehicle file, and for its cases.

use crate::case::Setting;
use crate::cli::case_file::{Access, Basis, CaseFile, is_case};
use crate::cli::{Failure, files, report, say};
use crate::feeds::{self, Feeds};
use crate::instruments::Instruments;
use crate::problem::Look;
use crate::renaming::{self, Refused, Wanted};
use crate::render::commands::{self, Undone};
use clap::Args;
use std::path::{Path, PathBuf};

/// What `rename` is told.
#[derive(Args, Debug)]
pub(super) struct Rename {
    /// The vehicle file
    vehicle: PathBuf,
    /// The name as it stands in the file: of a part, plug, module, network, input or place
    old: String,
    /// The name it gets
    new: String,
    /// Cases of this vehicle that go along; the one beside the vehicle file, of the same name, always
    /// does
    #[arg(long = "case", value_name = "CASE", num_args = 1..)]
    cases: Vec<PathBuf>,
    /// The place of that name is meant, where something else is called so too
    #[arg(long)]
    place: bool,
}

/// Renames; the exit code is 1 when that cannot be done, and then nothing is written.
pub(super) fn run(told: &Rename, screen: Look) -> Result<u8, Failure> {
    let (name, text) = files::read_to_change(&told.vehicle)?;
    let (feeds, problems) = feeds::load(&text);
    let Some(feeds) = feeds else {
        report(&name, &text, problems, screen)?;
        say(&commands::mend_first(Undone::Renamed));
        return Ok(1);
    };
    let among = |name: &str, place| renaming::meant(&feeds, name, place).is_some();
    let wanted = Wanted {
        old: &told.old,
        new: &told.new,
        place: told.place || !among(&told.old, false) && among(&told.old, true),
    };
    let cases = cases_of(told);
    // An editor has been at the file already: then only the cases are told.
    let by_hand = !among(&told.old, wanted.place);
    let there = [false, true].into_iter().find(|p| among(&told.new, *p));
    let (wanted, after) = match there.filter(|_| by_hand && !cases.is_empty()) {
        Some(place) => (Wanted { place, ..wanted }, text.clone()),
        None => match renaming::rename(&text, &feeds, wanted) {
            Ok(renamed) => (wanted, renamed.text),
            Err(refused) => return refuse(&name, wanted, refused, screen),
        },
    };
    let (Some(feeds), _) = feeds::load(&after) else {
        return Ok(1);
    };
    let basis = Basis {
        vehicle: told.vehicle.clone(),
        name: feeds.vehicle().name.clone(),
        vehicle_text: after,
        instruments: None,
    };
    carry(wanted, &basis, feeds, &cases, (text, told))
}

/// The cases that go along: those given, and the one that `trace` keeps beside the vehicle file.
fn cases_of(told: &Rename) -> Vec<PathBuf> {
    let mut cases = told.cases.clone();
    let beside = told.vehicle.with_extension("case");
    let same = |case: &PathBuf| is_same(case, &beside);
    if is_case(&beside) && !cases.iter().any(same) {
        cases.push(beside);
    }
    cases
}

fn is_same(one: &Path, other: &Path) -> bool {
    one.canonicalize().ok() == other.canonicalize().ok()
}

/// Opens every case and sees that it fits, then writes them, then the vehicle file.
fn carry(
    wanted: Wanted<'_>,
    basis: &Basis,
    feeds: Feeds,
    cases: &[PathBuf],
    (before, told): (String, &Rename),
) -> Result<u8, Failure> {
    let setting = Setting::new(feeds, Instruments::assumed_meter());
    let mut open = Vec::new();
    for path in cases {
        let file = CaseFile::open(path, Access::Record)?;
        if !is_same(&file.vehicle(), &told.vehicle) {
            // The one beside the file goes along only where it is of this vehicle.
            if !told.cases.contains(path) {
                continue;
            }
            say(&commands::wrong_vehicle(
                &path.display().to_string(),
                &file.vehicle().display().to_string(),
                &told.vehicle.display().to_string(),
            ));
            return Ok(1);
        }
        file.fits(wanted, &setting)?;
        open.push((path, file));
    }
    for (_, file) in &mut open {
        let instruments = file.instruments();
        let basis = Basis {
            vehicle: basis.vehicle.clone(),
            vehicle_text: basis.vehicle_text.clone(),
            name: basis.name.clone(),
            instruments,
        };
        file.rename(wanted, &basis)?;
    }
    if basis.vehicle_text != before {
        files::write(&told.vehicle, &basis.vehicle_text)?;
    }
    let carried = open.iter().map(|(path, _)| path.display().to_string());
    let carried: Vec<_> = carried.collect();
    say(&commands::renamed(wanted, &carried));
    Ok(0)
}

fn refuse(name: &str, wanted: Wanted<'_>, refused: Refused, screen: Look) -> Result<u8, Failure> {
    if let Some(said) = commands::rename_refused(name, wanted, &refused) {
        say(&said);
    }
    if let Refused::Whole(text, problems) = refused {
        report(&commands::with_new_name(name), &text, problems, screen)?;
        say(&commands::nothing_done(Undone::Renamed));
    }
    Ok(1)
}
