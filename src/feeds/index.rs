//! The indexes of a tree in which every name exists.

use crate::feeds::{Feeds, ModuleId, Named, NetworkId, PartId, PlaceId};
use crate::problem::Located;
use crate::quantity::Millivolts;
use crate::vehicle::Vehicle;
use std::collections::BTreeMap;

/// Each name with its number in the file's order.
fn numbered<'v, T>(
    names: impl Iterator<Item = &'v Located<String>>,
    number: fn(u32) -> T,
) -> BTreeMap<String, T> {
    (0..)
        .zip(names)
        .map(|(n, name)| (name.value.clone(), number(n)))
        .collect()
}

/// The parts that share a word.
fn grouped<'v>(words: impl Iterator<Item = Option<&'v String>>) -> BTreeMap<String, Vec<PartId>> {
    let mut groups: BTreeMap<String, Vec<PartId>> = BTreeMap::new();
    for (id, word) in (0..).map(PartId).zip(words) {
        if let Some(word) = word {
            groups.entry(word.clone()).or_default().push(id);
        }
    }
    groups
}

/// Each input with the modules it holds awake.
fn inputs(vehicle: &Vehicle) -> BTreeMap<String, Vec<ModuleId>> {
    let mut inputs: BTreeMap<String, Vec<ModuleId>> = BTreeMap::new();
    for (id, module) in (0..).map(ModuleId).zip(&vehicle.modules) {
        for input in &module.held_by {
            let held = inputs.entry(input.value.clone()).or_default();
            if !held.contains(&id) {
                held.push(id);
            }
        }
    }
    inputs
}

/// The tree of a vehicle that has been checked; `end` is, for each part, the number behind the last
/// part below it.
pub(super) fn index(vehicle: Vehicle, end: Vec<u32>, volts: Millivolts) -> Feeds {
    let parts = &vehicle.parts;
    let places = numbered(vehicle.places.iter().map(|p| &p.id), PlaceId);
    let modules = numbered(vehicle.modules.iter().map(|m| &m.id), ModuleId);
    let networks = numbered(vehicle.networks.iter(), NetworkId);
    let ids = numbered(parts.iter().map(|p| &p.id), PartId);
    let plugs = grouped(
        parts
            .iter()
            .map(|p| p.plug.as_ref().map(|plug| &plug.value)),
    );
    let holders = grouped(parts.iter().map(|p| p.holder.as_ref()));

    let network_of: Vec<_> = vehicle
        .modules
        .iter()
        .map(|m| {
            m.network
                .as_ref()
                .and_then(|n| networks.get(&n.value).copied())
        })
        .collect();
    let inputs = inputs(&vehicle);

    let mut place: Vec<Option<PlaceId>> = Vec::with_capacity(parts.len());
    let mut module_of = Vec::with_capacity(parts.len());
    let mut loads_of = vec![Vec::new(); vehicle.modules.len()];
    let mut networked = vec![false; parts.len()];
    let mut coils_of: BTreeMap<PartId, Vec<PartId>> = BTreeMap::new();
    for (id, part) in (0..).map(PartId).zip(parts) {
        let own = part
            .at
            .as_ref()
            .and_then(|at| places.get(&at.value).copied());
        place.push(own.or_else(|| part.up.and_then(|up| place[up as usize])));
        let module = part
            .of
            .as_ref()
            .and_then(|of| modules.get(&of.value).copied());
        module_of.push(module);
        if let Some(module) = module {
            loads_of[module.0 as usize].push(id);
            networked[id.index()] = network_of[module.0 as usize].is_some();
        }
        if let Some(relay) = part.moves.as_ref().and_then(|relay| ids.get(&relay.value)) {
            coils_of.entry(*relay).or_default().push(id);
        }
    }
    for (number, part) in parts.iter().enumerate().rev() {
        if let Some(up) = part.up {
            networked[up as usize] |= networked[number];
        }
    }

    // The weaker meaning of a name first, so that the stronger one replaces it.
    let mut names: BTreeMap<String, Named> = BTreeMap::new();
    names.extend(
        places
            .iter()
            .map(|(name, id)| (name.clone(), Named::Place(*id))),
    );
    names.extend(
        inputs
            .iter()
            .map(|(name, held)| (name.clone(), Named::Input(held.clone()))),
    );
    names.extend(
        networks
            .into_iter()
            .map(|(name, id)| (name, Named::Network(id))),
    );
    names.extend(
        modules
            .into_iter()
            .map(|(name, id)| (name, Named::Module(id))),
    );
    names.extend(
        plugs
            .iter()
            .map(|(name, parts)| (name.clone(), Named::Plug(parts.clone()))),
    );
    names.extend(ids.into_iter().map(|(name, id)| (name, Named::Part(id))));
    Feeds {
        vehicle,
        end,
        place,
        names,
        module_of,
        loads_of,
        network_of,
        inputs,
        plugs,
        holders,
        coils_of,
        places,
        networked,
        volts,
    }
}
