//! Whether the parts of a vehicle fit together.

use super::{FIRST, Finding, RING, meant, nearest, one};
use crate::problem::{Fault, Span};

/// `volts`: of the supply.
pub(crate) fn no_limit(volts: f64) -> Finding {
    Finding::new(
        Fault::NoLimit,
        format!("no limit for a {volts} V supply: there is no common figure, so no verdict"),
        "type limit: mA(…) with the maker's figure, and its source in note",
    )
}

// Names.

/// A part that is reached again on the way down from itself.
pub(crate) fn ring(id: &str, kind: &str, first: &Span) -> Finding {
    Finding::new(
        Fault::Ring,
        format!("\"{id}\" feeds itself: {RING}"),
        format!(
            "enter a ring cut open at its far side, and give this end a name of its own: {kind}(id: \"{id} far end\")"
        ),
    )
    .beside(first, FIRST)
}

pub(crate) fn id_twice(id: &str, first: &Span) -> Finding {
    Finding::new(
        Fault::DuplicateId,
        format!("two parts have the id \"{id}\""),
        format!(
            "type a new id, for example \"{id} b\"; a module with several feeds is several loads with the same `of`"
        ),
    )
    .beside(first, FIRST)
}

/// What a name means, where parts, plugs, modules and networks share their names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Bearer {
    Part,
    Plug,
    Module,
    Network,
}

impl Bearer {
    const fn word(self) -> &'static str {
        match self {
            Self::Part => "part",
            Self::Plug => "plug",
            Self::Module => "module",
            Self::Network => "network",
        }
    }
}

pub(crate) fn name_clash(name: &str, here: Bearer, other: Bearer, there: &Span) -> Finding {
    let (here, other) = (here.word(), other.word());
    Finding::new(
        Fault::NameClash,
        format!("\"{name}\" is a {here} here and a {other} elsewhere"),
        format!("type another name, for example \"{name} {here}\""),
    )
    .beside(there, format!("a {other} here"))
}

fn not_entered(fault: Fault, what: &str, name: &str, known: &[&str], how: &str) -> Finding {
    Finding::new(
        fault,
        format!("no {what} is called \"{name}\""),
        nearest(name, known.iter().copied()).map_or_else(
            || format!("add it: {how}"),
            |near| format!("type \"{near}\", or add it: {how}"),
        ),
    )
}

pub(crate) fn unknown_place(name: &str, known: &[&str]) -> Finding {
    let how = format!("places: {{ \"{name}\": Place(reach: minutes(2)) }}");
    not_entered(Fault::UnknownPlace, "place", name, known, &how)
}

fn module_entry(name: &str) -> String {
    format!("modules: {{ \"{name}\": Module() }}")
}

pub(crate) fn unknown_module(name: &str, known: &[&str]) -> Finding {
    let how = module_entry(name);
    not_entered(Fault::UnknownModule, "module", name, known, &how)
}

pub(crate) fn unknown_network(name: &str, known: &[&str]) -> Finding {
    let how = format!("networks: {{ \"{name}\": Network() }}");
    not_entered(Fault::UnknownNetwork, "network", name, known, &how)
}

/// `modules`: those that may command a coil.
pub(crate) fn unknown_command(name: &str, modules: &[&str]) -> Finding {
    let how = module_entry(name);
    not_entered(Fault::CoilCommand, "module or switch", name, modules, &how)
}

/// `kind`: of the part that has this name; `relays`: what a coil may move.
pub(crate) fn no_relay(name: &str, kind: Option<&str>, relays: &[&str]) -> Finding {
    let message = kind.map_or_else(
        || format!("no relay is called \"{name}\""),
        |kind| format!("\"{name}\" is {}; a coil moves a relay", one(kind)),
    );
    // A name that is taken already needs another for the contact.
    let contact = if kind.is_some() { " contact" } else { "" };
    let help = if relays.is_empty() {
        format!("enter its contact where it feeds: Relay(id: \"{name}{contact}\")")
    } else {
        meant(name, relays)
    };
    Finding::new(Fault::CoilTarget, message, help)
}

// Who feeds whom.

pub(crate) fn battery_feeds_nothing() -> Finding {
    Finding::new(
        Fault::NoFeeds,
        "the battery feeds nothing",
        "type feeds: [Fuse(id: \"F1\", rating: A(10))] behind its id",
    )
}

pub(crate) fn coil_feeds(coil: &str) -> Finding {
    Finding::new(
        Fault::FeedsNothing,
        "a coil feeds nothing",
        format!("put this under the relay that \"{coil}\" moves"),
    )
}

/// `fed` and its kind: the part that stands below the load.
pub(crate) fn load_feeds(load: &str, fed: &str, kind: &str) -> Finding {
    Finding::new(
        Fault::FeedsNothing,
        "a load feeds nothing but its own switched outputs",
        format!(
            "if the module switches it, type Output(id: \"{load} output\", feeds: [{kind}(id: \"{fed}\")])"
        ),
    )
}

/// `kind`: of the part above it.
pub(crate) fn battery_below(kind: &str) -> Finding {
    Finding::new(
        Fault::BatteryBelow,
        format!(
            "a battery in series is fed by the lower battery, not by {}",
            one(kind)
        ),
        "batteries in parallel are one battery: enter one, with both capacities added",
    )
}

/// `names`: of all places of the ring.
pub(crate) fn place_ring(names: &[&str]) -> Finding {
    let shown: Vec<_> = names
        .iter()
        .take(6)
        .map(|name| format!("\"{name}\""))
        .collect();
    Finding::new(
        Fault::PlaceRing,
        format!("places within each other: {}", shown.join(", ")),
        "take `within` out of the one that is reached from outside",
    )
}

// Numbers.

/// A rated part and the one above it, each with its rating in A.
pub(crate) fn larger_than_above(
    (name, amps): (&str, f64),
    (above, above_amps, at_above): (&str, f64, &Span),
) -> Finding {
    Finding::new(
        Fault::LargerThanAbove,
        format!("\"{name}\" is {amps} A, larger than \"{above}\" above it with {above_amps} A"),
        "look both up again, and whether this one is fed from there",
    )
    .about(name)
    .beside(at_above, "the smaller one above it")
}

/// Two fields that must not fall, each with its value in mA.
pub(crate) fn draw_order(name: &str, (low, a): (&str, f64), (high, b): (&str, f64)) -> Finding {
    Finding::new(
        Fault::DrawOrder,
        format!("\"{name}\": `{low}` is more than `{high}`"),
        format!("type {low}: mA({b}), {high}: mA({a})"),
    )
    .about(name)
}
