//! A vehicle file that grows: new parts below those that are there, put into its text.
//!
//! **Invariants.** Outside the new lines the text stays byte for byte as it was; what comes back
//! passes the check, and every part that was there is as it was (test room `growth`).
//!
//! **Cost.** Linear in the text, but for the names, which are sorted once.

use crate::feeds::{self, Feeds};
use crate::notation::{Token, tokens};
use crate::problem::{Problem, words};
use crate::table::{self, How};
use crate::vehicle::{self, Comments, Part, Patch, Vehicle, lines_of, module_entry, place_entry};
use std::collections::BTreeMap;

/// A vehicle file with new parts in it.
#[derive(Clone, Debug)]
pub struct Grown {
    /// Its text.
    pub text: String,
    /// Ids of the new parts.
    pub parts: Vec<String>,
    /// Places that are new with them.
    pub places: Vec<String>,
    /// Modules that are new with them.
    pub modules: Vec<String>,
    /// What is doubtful about the new parts as they were given.
    pub doubts: Vec<Problem>,
    /// Warnings and advice that the file did not have before, at their places in [`Grown::text`].
    pub warnings: Vec<Problem>,
}

/// Why a file does not grow.
#[derive(Clone, Debug)]
pub enum Refused {
    /// What was given cannot be used; places are those in its text.
    Given(Vec<Problem>),
    /// With the new parts the file could not be used: the text as it would be, and what is wrong.
    Whole(String, Vec<Problem>),
}

/// Adds parts that are written as in a vehicle file, separated by commas.
///
/// `text` is the file of `feeds`, `under` the part that is to feed them.
pub fn typed(text: &str, feeds: &Feeds, under: &Part, given: &str) -> Result<Grown, Refused> {
    const HEAD: &str = "Vehicle(format: 1, name: \"new\", battery: Battery(id: \"new\", feeds: [\n";
    if let Some(problem) = stray_end(given) {
        return Err(Refused::Given(vec![problem]));
    }
    let whole = format!("{HEAD}{given}\n]))");
    let (read, found) = vehicle::read(&whole);
    let found = found.into_iter().map(|mut problem| {
        let within = |at: usize| at.saturating_sub(HEAD.len()).min(given.len());
        problem.at = within(problem.at.start)..within(problem.at.end);
        problem.also = problem
            .also
            .map(|(at, word)| (within(at.start)..within(at.end), word));
        problem
    });
    let doubts: Vec<_> = found.collect();
    let Some(new) = read.filter(|_| !doubts.iter().any(Problem::is_error)) else {
        return Err(Refused::Given(doubts));
    };
    if new.parts.len() < 2 {
        let problem = words::no_new_part().at(0..given.len());
        return Err(Refused::Given(vec![problem]));
    }
    let mut patch = Patch::of(text);
    patch.below(under, &lines_of(&new, &Comments::read(&whole)));
    let ids = new.parts.iter().skip(1).map(|part| part.id.value.clone());
    let grown = Grown {
        text: patch.finish(),
        parts: ids.collect(),
        places: Vec::new(),
        modules: Vec::new(),
        doubts,
        warnings: Vec::new(),
    };
    checked(text, feeds, grown)
}

/// Adds parts from a table; see [`table::read_below`].
pub fn tabled(
    text: &str,
    feeds: &Feeds,
    under: Option<&Part>,
    given: &str,
    how: How,
) -> Result<Grown, Refused> {
    let there = feeds.vehicle();
    let under = under.map(|part| part.id.value.as_str());
    let (new, doubts) = table::read_below(given, there, under, how);
    let Some(new) = new else {
        return Err(Refused::Given(doubts));
    };
    let by_id: BTreeMap<&str, &Part> = there
        .parts
        .iter()
        .map(|part| (part.id.value.as_str(), part))
        .collect();
    let mut patch = Patch::of(text);
    let places = new.places.iter().skip(there.places.len());
    patch.entries(
        "places",
        &places.clone().map(place_entry).collect::<Vec<_>>(),
    );
    let modules = new.modules.iter().skip(there.modules.len());
    patch.entries(
        "modules",
        &modules.clone().map(module_entry).collect::<Vec<_>>(),
    );
    for (feeder, part) in new.parts.iter().enumerate() {
        if let Some(old) = by_id.get(part.id.value.as_str()) {
            let branch = fed_by(&new, feeder, &by_id);
            if branch.parts.len() > 1 {
                patch.below(old, &lines_of(&branch, &Comments::default()));
            }
        }
    }
    let ids = new.parts.iter().map(|part| part.id.value.clone());
    let grown = Grown {
        text: patch.finish(),
        parts: ids.filter(|id| !by_id.contains_key(id.as_str())).collect(),
        places: places.map(|place| place.id.value.clone()).collect(),
        modules: modules.map(|module| module.id.value.clone()).collect(),
        doubts,
        warnings: Vec::new(),
    };
    checked(text, feeds, grown)
}

/// What a stand-in feeds, other stand-ins apart, as a vehicle of its own.
fn fed_by(new: &Vehicle, feeder: usize, there: &BTreeMap<&str, &Part>) -> Vehicle {
    let mut branch = Vehicle::named("new".to_owned());
    // The number in the branch of each part of the table.
    let mut number: Vec<Option<u32>> = vec![None; new.parts.len()];
    for (index, part) in new.parts.iter().enumerate().skip(feeder) {
        let above = part.up.and_then(|up| number[up as usize]);
        let stands_in = there.contains_key(part.id.value.as_str());
        if index == feeder || (above.is_some() && !stands_in) {
            number[index] = Some(branch.parts.len() as u32);
            branch.parts.push(Part {
                up: above,
                ..part.clone()
            });
        }
    }
    branch
}

/// A bracket that closes what was not opened would end the list that the new parts go into.
fn stray_end(given: &str) -> Option<Problem> {
    let mut depth = 0usize;
    for (token, at) in tokens(given) {
        match token {
            Token::Mark('(' | '[' | '{') => depth += 1,
            Token::Mark(mark @ (')' | ']' | '}')) => {
                if depth == 0 {
                    return Some(words::closes_nothing(mark).at(at));
                }
                depth -= 1;
            }
            _ => {}
        }
    }
    None
}

/// What has grown, when the whole passes the check.
fn checked(text: &str, feeds: &Feeds, mut grown: Grown) -> Result<Grown, Refused> {
    let (whole, found) = feeds::load(&grown.text);
    let Some(whole) = whole else {
        return Err(Refused::Whole(grown.text, found));
    };
    debug_assert_eq!(whole.len(), feeds.len() + grown.parts.len());
    let (_, before) = feeds::load(text);
    let new = |problem: &Problem| {
        let same = |old: &Problem| old.code == problem.code && old.message() == problem.message();
        !before.iter().any(same)
    };
    grown.warnings = found.into_iter().filter(new).collect();
    Ok(grown)
}
