//! A fault that follows from a number, and the names by which a hidden fault may be called.

use super::{Chance, Exercise};
use crate::case::Setting;
use crate::feeds::{Feeds, ModuleId, Named, PartId};
use crate::measurement::{Method, offered};
use crate::quantity::Milliamps;
use crate::simulation::{Drain, Hidden};
use crate::vehicle::{LoadKind, PartKind};

/// One fault: mostly a load of its own, a contact where one alone feeds it, else a coil, something on no
/// sheet, or what holds modules awake, as far as the vehicle has them (shares are judgement). 80 to 1000 mA.
pub fn pick(setting: &Setting, chance: Chance) -> Hidden {
    let feeds = &setting.feeds;
    let of = |fits: &dyn Fn(PartId) -> bool| feeds.parts().filter(|p| fits(*p)).collect::<Vec<_>>();
    let loads =
        of(&|p| feeds.load_kind(p).is_some() && offered(feeds, p).contains(&Method::Unplug));
    let coils = of(&|p| feeds.part(p).kind == PartKind::Coil);
    let bare = of(&|p| feeds.part(p).kind == PartKind::Fuse && feeds.is_leaf(p));
    let has_partners = |m: &ModuleId| {
        let network = feeds.network_of(*m);
        network.is_some_and(|n| feeds.partners(n).count() > 1)
    };
    let modules = feeds.modules().filter(has_partners).map(Drain::HeldBy);
    let inputs = feeds
        .inputs()
        .map(|(name, _)| Drain::Input(name.to_owned()));
    let holders: Vec<Drain> = modules.chain(inputs).collect();
    // Three figures at most: nobody reads more off a sheet.
    let current = Milliamps::of((80.0 + 920.0 * chance.at("fault current")).round());
    let kind = chance.at("fault kind");
    let drain = if kind > 0.9 && !holders.is_empty() {
        holders[chance.one_of("fault", holders.len())].clone()
    } else if kind > 0.8 && !bare.is_empty() {
        Drain::Takes(bare[chance.one_of("fault", bare.len())], current)
    } else if kind > 0.7 && !coils.is_empty() {
        let coil = coils[chance.one_of("fault", coils.len())];
        if chance.at("fault wire") < 0.5 {
            Drain::CoilHeld(coil)
        } else {
            Drain::WireShorted(coil)
        }
    } else {
        let from = if loads.is_empty() {
            of(&|p| p != PartId(0))
        } else {
            loads
        };
        let part = from.get(chance.one_of("fault", from.len()));
        let part = part.copied().unwrap_or(PartId(0));
        // What stands behind an open contact draws where that contact is welded.
        match feeds.open_above(part) {
            Some(contact) if loads_below(feeds, contact).len() == 1 => {
                Drain::Contact(contact, current)
            }
            _ => Drain::Takes(part, current),
        }
    };
    Hidden {
        drain,
        lost_by_break: false,
    }
}

fn loads_below(feeds: &Feeds, part: PartId) -> Vec<PartId> {
    let below = feeds.subtree(part).map(PartId);
    below.filter(|p| feeds.load_kind(*p).is_some()).collect()
}

/// The names that are right for a hidden fault, the best first.
pub fn answers_to(feeds: &Feeds, drain: &Drain) -> Vec<String> {
    let id = |p: PartId| feeds.id(p).to_owned();
    match drain {
        // Behind a contact that rests open it draws because that contact is welded: both are right.
        Drain::Takes(part, _) if feeds.load_kind(*part).is_some() => {
            let contact = feeds.open_above(*part);
            std::iter::once(*part).chain(contact).map(id).collect()
        }
        Drain::Takes(part, _) => {
            let mut names = vec![format!("unlisted at {}", id(*part)), id(*part)];
            // A leak in a splice and one in the fuse right above it come out together.
            if feeds.part(*part).kind == PartKind::Splice {
                names.reverse();
                names.extend(feeds.up(*part).map(|up| format!("unlisted at {}", id(up))));
            }
            names
        }
        // A switch that rests open and feeds it is what holds it on: both are right.
        Drain::CoilHeld(coil) => {
            let switch = feeds.open_above(*coil);
            std::iter::once(*coil).chain(switch).map(id).collect()
        }
        Drain::WireShorted(coil) => vec![id(*coil)],
        Drain::Contact(relay, _) => {
            let loads = loads_below(feeds, *relay);
            let mut names = vec![id(*relay)];
            // Behind the contact one load: it is what can be taken out alone.
            names.extend(loads.first().filter(|_| loads.len() == 1).map(|p| id(*p)));
            names
        }
        Drain::HeldBy(module) => vec![feeds.module(*module).id.value.clone()],
        Drain::Input(name) => vec![name.clone()],
    }
}

/// What an instructor may not have meant in an exercise.
#[derive(Clone, Debug, PartialEq)]
pub enum Doubt {
    /// It takes this much, in mA, and the vehicle may take that much by itself.
    Small(String, f64),
    /// It is hidden more than once.
    Twice(String),
    /// Nobody may take it out, so nobody can prove it.
    Untouchable(String),
    /// It stands behind this contact, which rests open: it can draw only where that is welded.
    BehindOpen(String, String),
}

/// What is to be asked about an exercise as it is written.
pub fn doubts(setting: &Setting, exercise: &Exercise) -> Vec<Doubt> {
    let feeds = &setting.feeds;
    let mut list = Vec::new();
    let mut seen = Vec::new();
    for hidden in &exercise.hidden {
        let name = answers_to(feeds, &hidden.drain).remove(0);
        if let Drain::Takes(_, takes) | Drain::Contact(_, takes) = &hidden.drain
            && setting.limit().is_finite()
            && takes.value() < setting.limit()
        {
            list.push(Doubt::Small(name.clone(), takes.value()));
        }
        let own = seats(feeds, &hidden.drain);
        let held = |p: &PartId| {
            use LoadKind::{Airbag, HighVoltage, Protected};
            matches!(feeds.load_kind(*p), Some(Airbag | HighVoltage | Protected))
        };
        if own.iter().any(held) {
            list.push(Doubt::Untouchable(name.clone()));
        }
        if let Drain::Takes(part, _) = &hidden.drain
            && let Some(contact) = feeds.open_above(*part)
        {
            list.push(Doubt::BehindOpen(
                name.clone(),
                feeds.id(contact).to_owned(),
            ));
        }
        if seen.contains(&name) {
            list.push(Doubt::Twice(name));
        } else {
            seen.push(name);
        }
    }
    list
}

/// The parts whose connectors are a fault's.
pub(super) fn seats(feeds: &Feeds, drain: &Drain) -> Vec<PartId> {
    match drain {
        Drain::Takes(part, _) | Drain::CoilHeld(part) | Drain::WireShorted(part) => vec![*part],
        Drain::Contact(relay, _) => feeds.subtree(*relay).map(PartId).collect(),
        Drain::HeldBy(module) => feeds.module_feeds(*module).to_vec(),
        Drain::Input(name) => match feeds.find(name) {
            Some(Named::Part(part)) => vec![*part],
            _ => Vec::new(),
        },
    }
}
