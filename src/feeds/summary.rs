//! What `check` says about a file besides its problems.

use crate::feeds::Feeds;
use crate::problem::{Problem, Row, rows};
use crate::quantity::{Milliamps, Millivolts, Minutes};
use crate::vehicle::{LoadKind, PartKind};
use serde::Serialize;
use std::collections::BTreeMap;

/// The answer of `check FILE --json`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Checked {
    /// Every problem in the order of the file.
    pub problems: Vec<Row>,
    /// How many parts of each kind there are; empty when the file cannot be used.
    pub parts: BTreeMap<&'static str, usize>,
}

impl Checked {
    /// From what [`crate::feeds::load`] gave for the text.
    pub fn of(text: &str, problems: &[Problem], feeds: Option<&Feeds>) -> Self {
        Self {
            problems: rows(text, problems),
            parts: feeds.map(Feeds::count_by_kind).unwrap_or_default(),
        }
    }
}

/// A checked tree in numbers, with every default that is in force.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// The vehicle's name.
    pub name: String,
    /// Parts by kind, in the order of the format.
    pub parts: Vec<(PartKind, usize)>,
    /// Modules.
    pub modules: usize,
    /// Networks.
    pub networks: usize,
    /// Nominal voltage of the supply, and whether the file gives it.
    pub volts: (Millivolts, bool),
    /// The settled draw allowed (none: no verdict), and whether the file gives it.
    pub limit: (Option<Milliamps>, bool),
    /// Time to fall asleep, and whether the file gives it.
    pub settle: (Minutes, bool),
    /// Sum of the usual draws asleep, and how much of it is only defaults.
    pub asleep: (Milliamps, Milliamps),
    /// Loads by kind whose draw asleep is a default: kind, how many, usual of all, at most of all.
    pub assumed: Vec<(LoadKind, usize, Milliamps, Milliamps)>,
    /// Wiring parts below which nothing has been entered: each is a suspect itself.
    pub not_entered: Vec<String>,
    /// Parts without a place of their own or above them.
    pub nowhere: usize,
}

impl Feeds {
    /// Parts by the word for their kind.
    pub fn count_by_kind(&self) -> BTreeMap<&'static str, usize> {
        let mut parts = BTreeMap::new();
        for id in self.parts() {
            *parts.entry(self.part(id).kind.word()).or_default() += 1;
        }
        parts
    }

    /// The tree in numbers.
    pub fn summary(&self) -> Summary {
        let vehicle = self.vehicle();
        let mut parts: BTreeMap<PartKind, usize> = BTreeMap::new();
        let mut assumed: BTreeMap<LoadKind, (usize, Milliamps, Milliamps)> = BTreeMap::new();
        let mut asleep = (Milliamps::ZERO, Milliamps::ZERO);
        let mut not_entered = Vec::new();
        for id in self.parts() {
            let kind = self.part(id).kind;
            *parts.entry(kind).or_default() += 1;
            let (usual, default) = self.usual(id);
            asleep.0 += usual;
            if default {
                asleep.1 += usual;
            }
            if let Some(load) = self.load_kind(id).filter(|_| default) {
                let row = assumed.entry(load).or_default();
                *row = (row.0 + 1, row.1 + usual, row.2 + self.at_most(id));
            }
            if self.is_leaf(id) && !matches!(kind, PartKind::Load | PartKind::Coil) {
                not_entered.push(self.id(id).to_owned());
            }
        }
        let batteries = |p: &&crate::vehicle::Part| p.kind == PartKind::Battery;
        Summary {
            name: vehicle.name.clone(),
            parts: parts.into_iter().collect(),
            modules: vehicle.modules.len(),
            networks: vehicle.networks.len(),
            volts: (
                self.volts(),
                vehicle
                    .parts
                    .iter()
                    .filter(batteries)
                    .all(|b| b.volts.is_some()),
            ),
            limit: (self.limit(), vehicle.limit.is_some()),
            settle: (self.settle(), vehicle.settle.is_some()),
            asleep,
            assumed: assumed
                .into_iter()
                .map(|(kind, (count, usual, most))| (kind, count, usual, most))
                .collect(),
            not_entered,
            nowhere: self.parts().filter(|p| self.place(*p).is_none()).count(),
        }
    }
}
