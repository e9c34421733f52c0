//! A vehicle file in which one thing gets another name, everywhere it is named.
//!
//! **Invariants.** Outside the names the text stays byte for byte as it was; what comes back passes the
//! check and means the same but for the name; named back, it is the text that was (test room
//! `renaming`).
//!
//! **Cost.** Linear in the text.

use crate::feeds::{self, Feeds, Named};
use crate::problem::{Fault, Located, Problem, Span};
use crate::vehicle::{Patch, Vehicle, quoted};

/// What is to be called otherwise, and how.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wanted<'n> {
    /// Its name in the file.
    pub old: &'n str,
    /// The name it gets.
    pub new: &'n str,
    /// It is a place; places have names of their own.
    pub place: bool,
}

/// A vehicle file with the new name.
#[derive(Clone, Debug)]
pub struct Renamed {
    /// Its text.
    pub text: String,
    /// How often the name stood there.
    pub count: usize,
}

/// Why nothing is renamed.
#[derive(Clone, Debug)]
pub enum Refused {
    /// Nothing has the old name; the name most like it.
    Unknown(Option<String>),
    /// Something has the new name already: the word for what it is.
    Taken(&'static str),
    /// The new name is the old one, or none, or holds what cannot be typed.
    NoName,
    /// With the new name the file could not be used: the text as it would be, and what is wrong.
    Whole(String, Vec<Problem>),
}

/// The word for what a name means.
pub fn word(named: &Named) -> &'static str {
    match named {
        Named::Part(_) => "a part",
        Named::Plug(_) => "a plug",
        Named::Module(_) => "a module",
        Named::Network(_) => "a network",
        Named::Input(_) => "an input",
        Named::Place(_) => "a place",
    }
}

/// What a name means among places, or among all else.
pub fn meant(feeds: &Feeds, name: &str, place: bool) -> Option<Named> {
    if place {
        return feeds.find_place(name).map(Named::Place);
    }
    let found = feeds.find(name).cloned();
    found.filter(|named| !matches!(named, Named::Place(_)))
}

/// Gives a thing of the file another name; `text` is the file of `feeds`.
pub fn rename(text: &str, feeds: &Feeds, wanted: Wanted<'_>) -> Result<Renamed, Refused> {
    let Wanted { old, new, place } = wanted;
    if meant(feeds, old, place).is_none() {
        let names = feeds.names().map(|(name, _)| name);
        let near = crate::problem::nearest(old, names);
        return Err(Refused::Unknown(near.map(str::to_owned)));
    }
    if new == old || new.trim().is_empty() || new.contains(char::is_control) {
        return Err(Refused::NoName);
    }
    if let Some(taken) = meant(feeds, new, place) {
        return Err(Refused::Taken(word(&taken)));
    }
    let vehicle = feeds.vehicle();
    let mut patch = Patch::of(text);
    let spans = if place {
        places(vehicle, old)
    } else {
        things(vehicle, old)
    };
    let mut count = spans.len();
    for at in spans {
        patch.replace(at, quoted(new));
    }
    for entry in &vehicle.accept {
        let (code, name) = entry.code_and_name();
        if name == Some(old) && place == about_places(code) {
            patch.replace(entry.what.at.clone(), quoted(&format!("{code} {new}")));
            count += 1;
        }
    }
    let text = patch.finish();
    match feeds::load(&text) {
        (Some(_), _) => Ok(Renamed { text, count }),
        (None, problems) => Err(Refused::Whole(text, problems)),
    }
}

/// Whether what is asked under a code is about a place.
fn about_places(code: &str) -> bool {
    let codes = [Fault::EmptyPlace, Fault::FarPlace, Fault::UnfedBox];
    codes.iter().any(|fault| fault.code() == code)
}

fn spans<'v>(names: impl Iterator<Item = &'v Located<String>>, old: &str) -> Vec<Span> {
    names
        .filter(|name| name.value == old)
        .map(|name| name.at.clone())
        .collect()
}

fn places(vehicle: &Vehicle, old: &str) -> Vec<Span> {
    let own = vehicle.places.iter();
    let names = own.flat_map(|place| std::iter::once(&place.id).chain(&place.within));
    let at = vehicle.parts.iter().filter_map(|part| part.at.as_ref());
    spans(names.chain(at), old)
}

/// Parts, plugs, modules, networks and inputs share one name space, so that a name is one thing; an
/// input that bears the name of a part is that part.
fn things(vehicle: &Vehicle, old: &str) -> Vec<Span> {
    let parts = vehicle.parts.iter().flat_map(|part| {
        let others = [&part.plug, &part.of, &part.moves, &part.commanded_by];
        std::iter::once(&part.id).chain(others.into_iter().flatten())
    });
    let modules = vehicle.modules.iter().flat_map(|module| {
        let named = std::iter::once(&module.id).chain(&module.network);
        named.chain(&module.held_by)
    });
    spans(parts.chain(modules).chain(&vehicle.networks), old)
}
