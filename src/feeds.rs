//! The checked feed tree: every name resolved, every relation indexed.
//!
//! **Model.** Parts are numbered in tree order, so the subtree of part `p` is the range
//! `p .. end(p)`, a parent has a smaller number than its children, and every walk is a loop.

use crate::quantity::{Milliamps, Millivolts, Minutes};
use crate::vehicle::{Part, Vehicle};
use std::collections::BTreeMap;
use std::ops::Range;

/// A part's number in tree order; the battery is 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(pub u32);

/// A place's number in the file's order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlaceId(pub u32);

/// A module's number in the file's order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ModuleId(pub u32);

/// A network's number in the file's order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NetworkId(pub u32);

/// What a name that a person types can mean.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Named {
    /// A part.
    Part(PartId),
    /// A plug with all parts in it.
    Plug(Vec<PartId>),
    /// A module.
    Module(ModuleId),
    /// A network.
    Network(NetworkId),
    /// An input that holds the listed modules awake.
    Input(Vec<ModuleId>),
    /// A place.
    Place(PlaceId),
}

impl PartId {
    /// As an index.
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// The checked feed tree of one vehicle.
#[derive(Clone, Debug)]
pub struct Feeds {
    vehicle: Vehicle,
    end: Vec<u32>,
    place: Vec<Option<PlaceId>>,
    names: BTreeMap<String, Named>,
    module_of: Vec<Option<ModuleId>>,
    module_feeds: Vec<Vec<PartId>>,
    network_of: Vec<Option<NetworkId>>,
    holders: BTreeMap<String, Vec<PartId>>,
    coils_of: BTreeMap<PartId, Vec<PartId>>,
}

impl Feeds {
    /// The file this tree was made from.
    pub fn vehicle(&self) -> &Vehicle {
        &self.vehicle
    }

    /// How many parts there are.
    pub fn len(&self) -> usize {
        self.vehicle.parts.len()
    }

    /// Never: there is always a battery.
    pub fn is_empty(&self) -> bool {
        self.vehicle.parts.is_empty()
    }

    /// All parts in tree order.
    pub fn parts(&self) -> impl DoubleEndedIterator<Item = PartId> + '_ {
        (0..self.len() as u32).map(PartId)
    }

    /// The part as written.
    pub fn part(&self, id: PartId) -> &Part {
        &self.vehicle.parts[id.index()]
    }

    /// Its id as written.
    pub fn id(&self, id: PartId) -> &str {
        &self.part(id).id.value
    }

    /// The part that feeds it.
    pub fn up(&self, id: PartId) -> Option<PartId> {
        self.part(id).up.map(PartId)
    }

    /// The numbers of the part and everything below it.
    pub fn subtree(&self, id: PartId) -> Range<u32> {
        id.0..self.end[id.index()]
    }

    /// Whether `part` is `top` or anywhere below it.
    pub fn is_below(&self, part: PartId, top: PartId) -> bool {
        self.subtree(top).contains(&part.0)
    }

    /// The parts it feeds directly, in the file's order.
    pub fn children(&self, id: PartId) -> impl Iterator<Item = PartId> + '_ {
        let end = self.end[id.index()];
        let mut next = id.0 + 1;
        std::iter::from_fn(move || {
            (next < end).then(|| {
                let child = PartId(next);
                next = self.end[child.index()];
                child
            })
        })
    }

    /// Whether it feeds nothing.
    pub fn is_leaf(&self, id: PartId) -> bool {
        self.end[id.index()] == id.0 + 1
    }

    /// From the battery down to the part, both included.
    pub fn path(&self, id: PartId) -> Vec<PartId> {
        let mut path: Vec<_> = std::iter::successors(Some(id), |p| self.up(*p)).collect();
        path.reverse();
        path
    }

    /// Where it is: its own place, else that of the nearest part above it that has one.
    pub fn place(&self, id: PartId) -> Option<PlaceId> {
        self.place[id.index()]
    }

    /// What a name means.
    pub fn find(&self, name: &str) -> Option<&Named> {
        self.names.get(name)
    }

    /// All names, in order.
    pub fn names(&self) -> impl Iterator<Item = (&str, &Named)> {
        self.names
            .iter()
            .map(|(name, named)| (name.as_str(), named))
    }

    /// The module a load is a feed of.
    pub fn module_of(&self, id: PartId) -> Option<ModuleId> {
        self.module_of[id.index()]
    }

    /// The feeds of a module.
    pub fn module_feeds(&self, module: ModuleId) -> &[PartId] {
        &self.module_feeds[module.0 as usize]
    }

    /// The network of a module.
    pub fn network_of(&self, module: ModuleId) -> Option<NetworkId> {
        self.network_of[module.0 as usize]
    }

    /// Parts that come out together with this one because they share its holder, itself included.
    pub fn holder_mates(&self, id: PartId) -> Vec<PartId> {
        match &self.part(id).holder {
            Some(holder) => self.holders.get(holder).cloned().unwrap_or_default(),
            None => vec![id],
        }
    }

    /// The coils that move a relay's contact.
    pub fn coils_of(&self, relay: PartId) -> &[PartId] {
        self.coils_of.get(&relay).map_or(&[], Vec::as_slice)
    }

    /// The settled draw allowed: the file's, else 50 mA on 12 V (common practice), else none.
    pub fn limit(&self) -> Option<Milliamps> {
        self.vehicle
            .limit
            .as_ref()
            .map(|l| l.value)
            .or_else(|| (self.volts() < Millivolts::of(18_000.0)).then(|| Milliamps::of(50.0)))
    }

    /// Time to fall asleep: the file's, else 45 min (from memory; makers' texts say 3 to 90).
    pub fn settle(&self) -> Minutes {
        self.vehicle.settle.unwrap_or(Minutes::of(45.0))
    }

    /// Nominal voltage of the whole supply (batteries in series add up), 12 V unless the file says.
    pub fn volts(&self) -> Millivolts {
        self.vehicle
            .parts
            .first()
            .and_then(|b| b.volts)
            .unwrap_or(Millivolts::of(12_000.0))
    }
}
