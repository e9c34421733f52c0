//! Fuses against their wires, and what no drop can be read without.

use crate::feeds::{Feeds, PartId};
use crate::problem::{Problem, words};
use crate::quantity::Milliamps;
use crate::reference::carries;
use crate::vehicle::{PartKind, Wire, WireSize};

/// A fuse may be this much above what its wire carries before anyone asks: suppliers' tables differ by
/// as much, and fuses come in steps (judgement).
const LEEWAY: f64 = 1.2;

pub(super) fn ask(feeds: &Feeds) -> Vec<Problem> {
    let mut asked = Vec::new();
    // For each part, what protects the wire that leads to it: the nearest rated part above.
    let mut guard: Vec<Option<PartId>> = Vec::with_capacity(feeds.len());
    for id in feeds.parts() {
        let part = feeds.part(id);
        let above = feeds.up(id).and_then(|up| guard[up.index()]);
        if let (Some(fuse), Some(wire)) = (above, part.wire) {
            asked.extend(thin(feeds, fuse, id, wire));
        }
        guard.push(match part.kind {
            _ if part.rating.is_some() => Some(id),
            // A module protects its own outputs; what a fuse or breaker without rating does, nobody knows.
            PartKind::Output | PartKind::Fuse | PartKind::Link | PartKind::Breaker => None,
            _ => above,
        });
        if part.kind == PartKind::Fuse && part.rating.is_none() && part.resistance.is_none() {
            asked.push(words::no_rating(&part.id.value).at(part.id.at.clone()));
        }
    }
    asked
}

fn thin(feeds: &Feeds, fuse: PartId, wired: PartId, wire: Wire) -> Option<Problem> {
    let (part, fuse) = (feeds.part(wired), feeds.part(fuse));
    let rating = fuse.rating.as_ref()?;
    let most = carries(wire).filter(|most| rating.value > *most * LEEWAY)?;
    let amps = |current: Milliamps| current.value() / 1000.0;
    let size = match wire.size {
        WireSize::Area(area) => format!("{} mm²", area.value()),
        WireSize::Gauge(gauge) => format!("AWG {gauge}"),
    };
    let finding = words::thin_wire(
        (&fuse.id.value, amps(rating.value), &rating.at),
        (&part.id.value, &size, amps(most).round()),
    );
    Some(finding.at(part.id.at.clone()))
}
