//! Whether the parts of a file fit together, and the indexes of the tree when they do.

use crate::feeds::Feeds;
use crate::feeds::index::index;
use crate::problem::words::{self, Bearer};
use crate::problem::{Fault, Finding, Problem, Span, in_file_order};
use crate::quantity::{Milliamps, Millivolts};
use crate::vehicle::{Part, PartKind, Vehicle};
use petgraph::algo::kosaraju_scc;
use petgraph::graph::DiGraph;
use std::collections::BTreeMap;

impl Feeds {
    /// Checks a vehicle as written: the tree when nothing is an error, and every problem found.
    pub fn check(vehicle: Vehicle) -> (Option<Self>, Vec<Problem>) {
        let mut check = Check {
            vehicle: &vehicle,
            problems: Vec::new(),
        };
        if vehicle.parts.is_empty() {
            check.problems.push(words::no_battery().at(0..0));
            return (None, check.problems);
        }
        let end = ends(&vehicle.parts);
        let by_id = check.ids(&end);
        check.clashes(&by_id);
        check.references(&by_id);
        check.who_feeds_whom(&end);
        check.places();
        check.ratings();
        check.draws();
        let volts = supply(&vehicle.parts);
        let sure = !check
            .problems
            .iter()
            .any(|p| p.code == Fault::BatteryBelow.code());
        if sure && vehicle.limit.is_none() && volts >= Millivolts::of(18_000.0) {
            check.fault(
                &vehicle.parts[0].id.at,
                words::no_limit(volts.value() / 1000.0),
            );
        }
        let problems = in_file_order(check.problems);
        if problems.iter().any(Problem::is_error) {
            return (None, problems);
        }
        (Some(index(vehicle, end, volts)), problems)
    }
}

/// For each part, the number behind the last part below it.
fn ends(parts: &[Part]) -> Vec<u32> {
    let mut end: Vec<u32> = (1..=parts.len() as u32).collect();
    for (number, part) in parts.iter().enumerate().rev() {
        if let Some(up) = part.up {
            let up = up as usize;
            end[up] = end[up].max(end[number]);
        }
    }
    end
}

/// The voltage of the largest stack of batteries.
fn supply(parts: &[Part]) -> Millivolts {
    let mut sum: Vec<Millivolts> = Vec::with_capacity(parts.len());
    for part in parts {
        let below = part.up.map_or(Millivolts::ZERO, |up| sum[up as usize]);
        let own = match part.kind {
            PartKind::Battery => part.volts.unwrap_or(Millivolts::of(12_000.0)),
            _ => Millivolts::ZERO,
        };
        sum.push(below + own);
    }
    sum.into_iter().fold(Millivolts::ZERO, Millivolts::max)
}

struct Check<'v> {
    vehicle: &'v Vehicle,
    problems: Vec<Problem>,
}

impl<'v> Check<'v> {
    fn fault(&mut self, at: &Span, finding: Finding) {
        self.problems.push(finding.at(at.clone()));
    }

    /// Every id with its first part; an id given twice is a ring where it feeds itself, else a
    /// duplicate.
    fn ids(&mut self, end: &[u32]) -> BTreeMap<&'v str, usize> {
        let mut by_id: BTreeMap<&'v str, usize> = BTreeMap::new();
        let mut again = Vec::new();
        for (number, part) in self.vehicle.parts.iter().enumerate() {
            // A part without id has been reported by the reading.
            if part.id.value.is_empty() {
                continue;
            }
            if let Some(first) = by_id.get(part.id.value.as_str()) {
                again.push((number, *first));
            } else {
                by_id.insert(&part.id.value, number);
            }
        }
        if again.is_empty() {
            return by_id;
        }
        let ring = self.rings(&by_id);
        for (number, first) in again {
            let parts = &self.vehicle.parts;
            let part = &parts[number];
            let id = &part.id.value;
            let up = part.up.map_or(number, |up| {
                let up = up as usize;
                by_id
                    .get(parts[up].id.value.as_str())
                    .copied()
                    .unwrap_or(up)
            });
            let below_itself = (first as u32) < number as u32 && (number as u32) < end[first];
            let first_at = &parts[first].id.at;
            let ring = below_itself || (ring[first].is_some() && ring[first] == ring[up]);
            let finding = if ring {
                words::ring(id, part.kind.word(), first_at)
            } else {
                words::id_twice(id, first_at)
            };
            self.fault(&part.id.at, finding);
        }
        by_id
    }

    /// For each part that is the first of its name, the ring of names it is in.
    fn rings(&self, by_id: &BTreeMap<&str, usize>) -> Vec<Option<usize>> {
        let parts = &self.vehicle.parts;
        let mut graph = DiGraph::<usize, ()>::new();
        let nodes: Vec<_> = (0..parts.len()).map(|n| graph.add_node(n)).collect();
        let first = |n: usize| by_id.get(parts[n].id.value.as_str()).copied().unwrap_or(n);
        for (number, part) in parts.iter().enumerate() {
            if let Some(up) = part.up {
                graph.add_edge(nodes[first(up as usize)], nodes[first(number)], ());
            }
        }
        let mut ring = vec![None; parts.len()];
        for (number, members) in kosaraju_scc(&graph).into_iter().enumerate() {
            if members.len() > 1 {
                for member in members {
                    ring[graph[member]] = Some(number);
                }
            }
        }
        ring
    }

    /// Parts, plugs, modules and networks share one name space.
    fn clashes(&mut self, by_id: &BTreeMap<&'v str, usize>) {
        let vehicle = self.vehicle;
        let mut names: BTreeMap<&'v str, (Bearer, &'v Span)> = by_id
            .iter()
            .map(|(name, number)| (*name, (Bearer::Part, &vehicle.parts[*number].id.at)))
            .collect();
        let plugs = vehicle.parts.iter().filter_map(|part| part.plug.as_ref());
        let all = plugs
            .map(|name| (Bearer::Plug, name))
            .chain(vehicle.modules.iter().map(|m| (Bearer::Module, &m.id)))
            .chain(vehicle.networks.iter().map(|n| (Bearer::Network, n)));
        for (what, name) in all {
            match names.get(name.value.as_str()) {
                Some((other, first)) if *other != what => {
                    let finding = words::name_clash(&name.value, what, *other, first);
                    self.fault(&name.at, finding);
                }
                Some(_) => {}
                None => {
                    names.insert(&name.value, (what, &name.at));
                }
            }
        }
    }

    fn references(&mut self, by_id: &BTreeMap<&'v str, usize>) {
        let vehicle = self.vehicle;
        let places: Vec<&str> = vehicle.places.iter().map(|p| p.id.value.as_str()).collect();
        let modules: Vec<&str> = vehicle
            .modules
            .iter()
            .map(|m| m.id.value.as_str())
            .collect();
        let networks: Vec<&str> = vehicle.networks.iter().map(|n| n.value.as_str()).collect();
        let known = |names: &[&str]| -> std::collections::BTreeSet<String> {
            names.iter().map(|n| (*n).to_owned()).collect()
        };
        let (place_set, module_set) = (known(&places), known(&modules));
        let place_of = vehicle.parts.iter().filter_map(|part| part.at.as_ref());
        let outer = vehicle
            .places
            .iter()
            .filter_map(|place| place.within.as_ref());
        for name in place_of
            .chain(outer)
            .filter(|n| !place_set.contains(&n.value))
        {
            self.fault(&name.at, words::unknown_place(&name.value, &places));
        }
        let named = vehicle.parts.iter().filter_map(|part| part.of.as_ref());
        for name in named.filter(|n| !module_set.contains(&n.value)) {
            self.fault(&name.at, words::unknown_module(&name.value, &modules));
        }
        let named = vehicle.modules.iter().filter_map(|m| m.network.as_ref());
        for name in named.filter(|n| !networks.contains(&n.value.as_str())) {
            self.fault(&name.at, words::unknown_network(&name.value, &networks));
        }
        let mut relays: Option<Vec<&str>> = None;
        for part in &vehicle.parts {
            if let Some(target) = &part.moves {
                let kind = by_id
                    .get(target.value.as_str())
                    .map(|n| vehicle.parts[*n].kind);
                if kind != Some(PartKind::Relay) {
                    let relays = relays.get_or_insert_with(|| {
                        let relays = vehicle.parts.iter().filter(|p| p.kind == PartKind::Relay);
                        relays.map(|p| p.id.value.as_str()).collect()
                    });
                    let kind = kind.map(PartKind::word);
                    let finding = words::no_relay(&target.value, kind, relays);
                    self.fault(&target.at, finding);
                }
            }
            if let Some(name) = &part.commanded_by {
                let exists = module_set.contains(&name.value)
                    || by_id.contains_key(name.value.as_str())
                    || vehicle
                        .modules
                        .iter()
                        .any(|m| m.held_by.iter().any(|input| input.value == name.value));
                if !exists {
                    self.fault(&name.at, words::unknown_command(&name.value, &modules));
                }
            }
        }
    }

    fn who_feeds_whom(&mut self, end: &[u32]) {
        let parts = &self.vehicle.parts;
        if end[0] == 1 {
            self.fault(&parts[0].id.at, words::battery_feeds_nothing());
        }
        for part in parts {
            let Some(up) = part.up.map(|up| &parts[up as usize]) else {
                continue;
            };
            let finding = match up.kind {
                PartKind::Coil => words::coil_feeds(&up.id.value),
                PartKind::Load if part.kind != PartKind::Output => {
                    words::load_feeds(&up.id.value, &part.id.value, part.kind.word())
                }
                PartKind::Battery | PartKind::Cable | PartKind::Link | PartKind::Fuse => continue,
                _ if part.kind == PartKind::Battery => words::battery_below(up.kind.word()),
                _ => continue,
            };
            self.fault(&part.id.at, finding);
        }
    }

    /// Places within each other would never be reached.
    fn places(&mut self) {
        let places = &self.vehicle.places;
        let number: BTreeMap<&str, usize> = (0..places.len())
            .map(|n| (places[n].id.value.as_str(), n))
            .collect();
        let mut graph = DiGraph::<usize, ()>::new();
        let nodes: Vec<_> = (0..places.len()).map(|n| graph.add_node(n)).collect();
        for (inner, place) in places.iter().enumerate() {
            let outer = place
                .within
                .as_ref()
                .and_then(|w| number.get(w.value.as_str()));
            if let Some(outer) = outer {
                graph.add_edge(nodes[inner], nodes[*outer], ());
            }
        }
        for ring in kosaraju_scc(&graph) {
            let itself = ring.len() == 1 && graph.contains_edge(ring[0], ring[0]);
            if ring.len() < 2 && !itself {
                continue;
            }
            let mut members: Vec<_> = ring.iter().map(|node| graph[*node]).collect();
            members.sort_unstable();
            let names = members.iter().map(|n| places[*n].id.value.as_str());
            let names: Vec<_> = names.collect();
            let Some(within) = places[members[0]].within.clone() else {
                continue;
            };
            self.fault(&within.at, words::place_ring(&names));
        }
    }

    /// A fuse should not be larger than what protects its feed.
    fn ratings(&mut self) {
        let parts = &self.vehicle.parts;
        // For each part, the nearest rated part from the battery down to itself.
        let mut rated: Vec<Option<usize>> = Vec::with_capacity(parts.len());
        for (number, part) in parts.iter().enumerate() {
            let above = part.up.and_then(|up| rated[up as usize]);
            let Some(own) = &part.rating else {
                rated.push(above);
                continue;
            };
            rated.push(Some(number));
            let Some(upper) = above.map(|n| &parts[n]) else {
                continue;
            };
            let Some(limit) = upper.rating.as_ref().filter(|l| own.value > l.value) else {
                continue;
            };
            let amps = |current: Milliamps| current.value() / 1000.0;
            let finding = words::larger_than_above(
                (&part.id.value, amps(own.value)),
                (&upper.id.value, amps(limit.value), &limit.at),
            );
            self.fault(&own.at, finding);
        }
    }

    fn draws(&mut self) {
        for part in &self.vehicle.parts {
            let steps = [
                ("least", part.least),
                ("asleep", part.asleep),
                ("at_most", part.at_most),
            ];
            let given: Vec<_> = steps
                .iter()
                .filter_map(|(n, v)| v.map(|v| (*n, v)))
                .collect();
            for pair in given.windows(2) {
                if let [(low, a), (high, b)] = pair
                    && a > b
                {
                    let (a, b) = (a.value(), b.value());
                    let finding = words::draw_order(&part.id.value, (low, a), (high, b));
                    self.fault(&part.id.at, finding);
                }
            }
        }
    }
}
