//! The checked feed tree: every name resolved, every relation indexed.
//!
//! **Model.** Parts are numbered in tree order, so the subtree of part `p` is the range
//! `p .. end(p)`, a parent has a smaller number than its children, and every walk is a loop.
//!
//! **Invariants.** There is a battery and it is part 0; every name that a part, place or module
//! refers to exists; no two things share a name (test `a_checked_tree_holds_together`). The graph
//! library is used here alone, to look for rings.
//!
//! **Cost.** Checking is linear in the parts but for the names, which are sorted once.

use crate::problem::{Problem, in_file_order};
use crate::quantity::{Milliamps, Millivolts, Minutes};
use crate::vehicle::{self, LoadKind, Module, Part, PartKind, Place, Rest, Vehicle};
use std::collections::BTreeMap;
use std::ops::Range;

mod check;
mod index;
mod summary;
mod usual;
pub use summary::{Checked, Summary};

/// Reads a vehicle file and checks it: the tree when it can be used, and every problem in the order
/// of the file (broken syntax: the first one).
pub fn load(text: &str) -> (Option<Feeds>, Vec<Problem>) {
    let (vehicle, mut problems) = vehicle::read(text);
    let mut feeds = None;
    if let Some(vehicle) = vehicle {
        let (checked, more) = Feeds::check(vehicle);
        feeds = checked;
        problems.extend(more);
    }
    let problems = in_file_order(problems);
    let usable = !problems.iter().any(Problem::is_error);
    (feeds.filter(|_| usable), problems)
}

/// The settled draw allowed on 12 V where the file says nothing: 50 mA (common practice, no source).
pub const LIMIT_AT_12_VOLTS: Milliamps = Milliamps::of(50.0);

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
    loads_of: Vec<Vec<PartId>>,
    network_of: Vec<Option<NetworkId>>,
    inputs: BTreeMap<String, Vec<ModuleId>>,
    plugs: BTreeMap<String, Vec<PartId>>,
    holders: BTreeMap<String, Vec<PartId>>,
    coils_of: BTreeMap<PartId, Vec<PartId>>,
    places: BTreeMap<String, PlaceId>,
    networked: Vec<bool>,
    volts: Millivolts,
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

    /// Its longer name where it has one, else its id.
    pub fn name(&self, id: PartId) -> &str {
        let written = self.part(id);
        written.name.as_deref().unwrap_or(&written.id.value)
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
        &self.loads_of[module.0 as usize]
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

    /// The relay whose contact a coil moves.
    pub fn moved_by(&self, coil: PartId) -> Option<PartId> {
        match self.find(&self.part(coil).moves.as_ref()?.value) {
            Some(Named::Part(relay)) => Some(*relay),
            _ => None,
        }
    }

    /// The settled draw allowed: the file's, else 50 mA on 12 V (common practice), else none.
    pub fn limit(&self) -> Option<Milliamps> {
        self.vehicle
            .limit
            .as_ref()
            .map(|l| l.value)
            .or_else(|| (self.volts() < Millivolts::of(18_000.0)).then_some(LIMIT_AT_12_VOLTS))
    }

    /// Time to fall asleep: the file's, else 45 min (from memory; makers' texts say 3 to 90).
    pub fn settle(&self) -> Minutes {
        self.vehicle.settle.unwrap_or(Minutes::of(45.0))
    }

    /// Whether nothing of this vehicle has to fall asleep, by its file: it gives no settle, no module, and nothing that is
    /// fed while parked is electronics of a kind that stays up for a while, or not entered. O(parts × depth).
    pub fn nothing_sleeps(&self) -> bool {
        use LoadKind::{
            Airbag, BodyModule, Brake, EngineModule, HighVoltage, Protected, Telematics,
        };
        let stays_up = |part: PartId| match self.load_kind(part) {
            Some(
                BodyModule | EngineModule | Telematics | Airbag | Brake | HighVoltage | Protected,
            ) => true,
            Some(_) => false,
            None => self.is_leaf(part) && self.part(part).kind != PartKind::Coil,
        };
        let fed = |part: &PartId| self.open_above(*part).is_none();
        self.vehicle.settle.is_none()
            && self.vehicle.modules.is_empty()
            && !self.parts().filter(fed).any(stays_up)
    }

    /// Nominal voltage of the whole supply: 12 V a battery unless the file says; batteries in series
    /// (one fed by the other) add up.
    pub fn volts(&self) -> Millivolts {
        self.volts
    }

    /// Nominal voltage that feeds a part: of the batteries on the way to it, so that what is tapped
    /// between two in series has less than the whole.
    pub fn volts_at(&self, part: PartId) -> Millivolts {
        let way = self.path(part).into_iter().map(|p| self.part(p));
        way.filter(|p| p.kind == PartKind::Battery)
            .map(|p| p.volts.unwrap_or(Millivolts::of(12_000.0)))
            .fold(Millivolts::ZERO, |sum, volts| sum + volts)
    }

    /// All places in the file's order.
    pub fn places(&self) -> impl DoubleEndedIterator<Item = PlaceId> + '_ {
        (0..self.vehicle.places.len() as u32).map(PlaceId)
    }

    /// The place as written.
    pub fn place_as_written(&self, id: PlaceId) -> &Place {
        &self.vehicle.places[id.0 as usize]
    }

    /// The place of that name, also where a part has the same name.
    pub fn find_place(&self, name: &str) -> Option<PlaceId> {
        self.places.get(name).copied()
    }

    /// The place that must be open before this one.
    pub fn within(&self, id: PlaceId) -> Option<PlaceId> {
        let outer = self.place_as_written(id).within.as_ref()?;
        self.find_place(&outer.value)
    }

    /// The places that must be open to work at this one, outermost first, itself last.
    pub fn way(&self, id: PlaceId) -> Vec<PlaceId> {
        let mut way: Vec<_> = std::iter::successors(Some(id), |p| self.within(*p)).collect();
        way.reverse();
        way
    }

    /// All modules in the file's order.
    pub fn modules(&self) -> impl DoubleEndedIterator<Item = ModuleId> + '_ {
        (0..self.vehicle.modules.len() as u32).map(ModuleId)
    }

    /// The module as written.
    pub fn module(&self, id: ModuleId) -> &Module {
        &self.vehicle.modules[id.0 as usize]
    }

    /// All networks in the file's order.
    pub fn networks(&self) -> impl DoubleEndedIterator<Item = NetworkId> + '_ {
        (0..self.vehicle.networks.len() as u32).map(NetworkId)
    }

    /// The network's name.
    pub fn network(&self, id: NetworkId) -> &str {
        &self.vehicle.networks[id.0 as usize].value
    }

    /// The modules on a network.
    pub fn partners(&self, network: NetworkId) -> impl Iterator<Item = ModuleId> + '_ {
        self.modules()
            .filter(move |m| self.network_of(*m) == Some(network))
    }

    /// The inputs that hold modules awake, in order of name. One may bear the name of a part (its
    /// switch): then [`Feeds::find`] gives the part.
    pub fn inputs(&self) -> impl Iterator<Item = (&str, &[ModuleId])> {
        self.inputs
            .iter()
            .map(|(name, modules)| (name.as_str(), modules.as_slice()))
    }

    /// All plugs in order of name, with the parts in each.
    pub fn plugs(&self) -> impl Iterator<Item = (&str, &[PartId])> {
        self.plugs
            .iter()
            .map(|(name, parts)| (name.as_str(), parts.as_slice()))
    }

    /// The parts that lose their feed together when this one is unplugged, itself included.
    pub fn unplugged_with(&self, id: PartId) -> Vec<PartId> {
        match &self.part(id).plug {
            Some(plug) => self.plugs.get(&plug.value).cloned().unwrap_or_default(),
            None => vec![id],
        }
    }

    /// Whether the part or anything below it is a feed of a module on a network: taking it out, or
    /// putting it back, nearly always wakes the vehicle.
    pub fn networked(&self, id: PartId) -> bool {
        self.networked[id.index()]
    }

    /// The nearest contact above a part that rests open. O(depth).
    pub fn open_above(&self, id: PartId) -> Option<PartId> {
        let mut above = std::iter::successors(self.up(id), |part| self.up(*part));
        above.find(|part| self.part(*part).rest == Some(Rest::Open))
    }

    /// Whether a part is parted and fitted only with the battery's negative lead off: no fuse, link or breaker stands
    /// between it and the battery's post. A fuse or a relay comes out of a holder, which keeps what is live covered.
    /// O(depth).
    pub fn needs_lead_off(&self, id: PartId) -> bool {
        use PartKind::{Battery, Breaker, Fuse, Link, Relay};
        let kind = |part: PartId| self.part(part).kind;
        let mut above = std::iter::successors(self.up(id), |part| self.up(*part));
        let guard = above.find(|part| matches!(kind(*part), Battery | Breaker | Fuse | Link));
        let held = matches!(kind(id), Fuse | Relay);
        !held && guard.is_some_and(|guard| kind(guard) == Battery)
    }

    /// Whether something behind a part feeds it from there: another battery. Volts behind a contact tell nothing
    /// of it then.
    pub fn is_fed_behind(&self, id: PartId) -> bool {
        self.battery_behind(id).is_some()
    }

    /// That battery, by its name: one behind a contact is entered as a load. A battery sensor is none.
    pub fn battery_behind(&self, id: PartId) -> Option<PartId> {
        let battery = |name: &str| {
            let name = name.to_lowercase();
            // "battery 2", "battery B".
            let numbered = name.rsplit_once(' ').filter(|(_, last)| last.len() < 3);
            numbered
                .map_or(name.as_str(), |(before, _)| before)
                .ends_with("battery")
        };
        self.subtree(id).map(PartId).find(|part| {
            let written = self.part(*part);
            let named = battery(&written.id.value) || written.name.as_deref().is_some_and(battery);
            written.kind == PartKind::Load && named
        })
    }

    /// Whether a load that is no module of the file may keep a network awake: what hangs in the diagnostic
    /// connector, by its name.
    pub fn may_call(&self, id: PartId) -> bool {
        let written = self.part(id);
        let diagnostic = |name: &str| name.to_lowercase().contains("diagnos");
        let named =
            diagnostic(&written.id.value) || written.name.as_deref().is_some_and(diagnostic);
        let load = written.kind == PartKind::Load && self.module_of(id).is_none();
        self.networks().next().is_some() && load && named
    }

    /// Whether something may hang on a load, or was fitted there, that keeps the modules of a network awake: whatever is
    /// in a socket, and what was added, but behind a contact that rests open.
    pub fn may_poll(&self, id: PartId) -> bool {
        let added = self.load_kind(id) == Some(LoadKind::Added);
        let apart = self.module_of(id).is_none() && self.open_above(id).is_none();
        self.networks().next().is_some() && apart && (added || self.is_socket(id))
    }

    /// Whether a load is a socket, by its name: what matters there is whether something is plugged in.
    pub fn is_socket(&self, id: PartId) -> bool {
        let written = self.part(id);
        let socket = |name: &str| name.to_lowercase().contains("socket");
        let named = socket(&written.id.value) || written.name.as_deref().is_some_and(socket);
        written.kind == PartKind::Load && (named || self.may_call(id))
    }

    /// What a load is: the file's word, else `Other`; `None` for anything but a load.
    pub fn load_kind(&self, id: PartId) -> Option<LoadKind> {
        let part = self.part(id);
        (part.kind == PartKind::Load).then(|| part.load.unwrap_or(LoadKind::Other))
    }
}
