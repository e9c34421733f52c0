//! Names and labels that are easily taken for each other.

use crate::feeds::{Feeds, PartId, PlaceId};
use crate::problem::{Located, Problem, words};
use crate::vehicle::Part;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn ask(feeds: &Feeds) -> Vec<Problem> {
    let vehicle = feeds.vehicle();
    let inputs = vehicle.modules.iter().flat_map(|module| &module.held_by);
    let parts = vehicle.parts.iter();
    let things = parts
        .clone()
        .map(|part| &part.id)
        .chain(parts.filter_map(|part| part.plug.as_ref()))
        .chain(vehicle.modules.iter().map(|module| &module.id))
        .chain(&vehicle.networks)
        .chain(inputs);
    let mut asked = twins(things);
    // A place may bear the name of something else.
    asked.extend(twins(vehicle.places.iter().map(|place| &place.id)));
    asked.extend(labels(feeds));
    asked
}

/// As names are compared where capitals and blanks do not count.
fn folded(name: &str) -> String {
    let words: Vec<_> = name.split_whitespace().collect();
    words.join(" ").to_lowercase()
}

fn twins<'v>(names: impl Iterator<Item = &'v Located<String>>) -> Vec<Problem> {
    // By what does not count: the first name, and all that were met.
    let mut seen: BTreeMap<String, (&Located<String>, BTreeSet<&str>)> = BTreeMap::new();
    let mut asked = Vec::new();
    for name in names {
        let alike = seen.entry(folded(&name.value));
        let (first, known) = alike.or_insert((name, BTreeSet::new()));
        if known.insert(&name.value) && known.len() > 1 {
            let finding = words::near_twins(&name.value, &first.value, &first.at);
            asked.push(finding.at(name.at.clone()));
        }
    }
    asked
}

/// Labels that are on two parts of one place, or where a place is not known.
fn labels(feeds: &Feeds) -> Vec<Problem> {
    // By lid and place the first part, and by lid alone the first of any place.
    let mut there: BTreeMap<(String, Option<PlaceId>), PartId> = BTreeMap::new();
    let mut anywhere: BTreeMap<String, PartId> = BTreeMap::new();
    let mut asked = Vec::new();
    for id in feeds.parts() {
        let part = feeds.part(id);
        let place = feeds.place(id);
        let lid = part.label.as_ref().unwrap_or(&part.id.value);
        let name = folded(lid);
        let nowhere = there.get(&(name.clone(), None));
        let other = match place {
            Some(_) => there.get(&(name.clone(), place)).or(nowhere),
            None => anywhere.get(&name),
        };
        let other = other.map(|other| feeds.part(*other));
        // Ids that differ in capitals alone are twins already; what comes out together may be called so.
        let another = |other: &&Part| {
            let labelled = part.label.is_some() || other.label.is_some();
            labelled && (part.holder.is_none() || part.holder != other.holder)
        };
        if let Some(other) = other.filter(another) {
            let finding = words::same_label(lid, &part.id.value, &other.id.value, &other.id.at);
            asked.push(finding.at(part.id.at.clone()));
        }
        there.entry((name.clone(), place)).or_insert(id);
        anywhere.entry(name).or_insert(id);
    }
    asked
}
