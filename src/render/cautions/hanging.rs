//! What hangs on a part and calls for care: what moves, brakes, burns, holds a charge or is needed meanwhile.

use crate::case::TestPlan;
use crate::feeds::{Feeds, PartId};
use crate::measurement::Method;
use crate::problem::clean;
use crate::render::words::{capital, listed};
use crate::vehicle::{LoadKind, PartKind};

/// What holds a charge when its feed is gone: the words in its name by which it is known, and the care. It hurts who
/// has it in hand, and nobody at its fuse.
const CHARGED: [(&[&str], &str); 2] = [
    (
        &["inverter", "voltage converter"],
        "holds a charge for minutes: never touch or bridge its pins.",
    ),
    (
        &["beacon", "strobe", "flash lamp", "xenon"],
        "may hold a dangerous charge for minutes: do not open it.",
    ),
];

/// What others depend on while its feed is off: the words in its name by which it is known, and the care.
const NEEDED: [(&[&str], &str); 2] = [
    (
        &["bilge"],
        "keeps the boat dry: watch the water as long as it is off.",
    ),
    (
        &[
            "fuel heater",
            "parking heater",
            "air heater",
            "night heater",
        ],
        "never cut off while it burns: switch it off and let it run down first.",
    ),
];

/// What must not get its feed back at once, wherever that was taken off.
const RESTS: (&[&str], &str) = (
    &["cooler", "fridge", "freezer", "refrigerator", "compressor"],
    "with a compressor, back in only after some 5 min: it stalls against the pressure left, and blows the fuse.",
);

/// Loads that are named before the rest is only counted.
const NAMED: usize = 4;

/// "lamp, lid and 3 more": the loads below these that this holds for.
fn loads_below(parts: &[PartId], feeds: &Feeds, wanted: impl Fn(PartId) -> bool) -> Option<String> {
    let below = parts
        .iter()
        .flat_map(|part| feeds.subtree(*part))
        .map(PartId);
    let loads: Vec<PartId> = below
        .filter(|part| feeds.part(*part).kind == PartKind::Load && wanted(*part))
        .collect();
    let mut names: Vec<String> = loads
        .iter()
        .take(NAMED)
        .map(|part| feeds.id(*part).to_owned())
        .collect();
    if loads.len() > NAMED {
        names.push(format!("{} more", loads.len() - NAMED));
    }
    (!names.is_empty()).then(|| listed(&names))
}

/// What goes with taking a feed away: what it is taken from, but for lamps, heaters and audio, which just go off.
pub(super) fn loses_its_feed(parts: &[PartId], feeds: &Feeds) -> Option<String> {
    let goes_off = |part: PartId| {
        let kind = feeds.load_kind(part);
        matches!(
            kind,
            Some(LoadKind::Lamp | LoadKind::Audio | LoadKind::Heater)
        )
    };
    if loads_below(parts, feeds, |_| true).is_some() {
        let names = loads_below(parts, feeds, |part| !goes_off(part))?;
        return Some(format!(
            "Takes the feed off {names}: be sure nothing moves, drops, floods or stops recording by that."
        ));
    }
    let ids: Vec<String> = parts
        .iter()
        .map(|part| feeds.id(*part).to_owned())
        .collect();
    Some(format!(
        "What {} feeds is not entered: find that out first; it may move, drop or stop recording.",
        listed(&ids)
    ))
}

/// Whether one of these words stands in a part's id or name.
pub(in crate::render) fn is_named(part: PartId, words: &[&str], feeds: &Feeds) -> bool {
    let written = feeds.part(part);
    let id = written.id.value.to_lowercase();
    let name = written.name.as_deref().unwrap_or_default().to_lowercase();
    let mut words = words.iter();
    words.any(|word| id.contains(word) || name.contains(word))
}

/// What is fed from behind too.
pub(super) const BOTH_SIDES: &str = "Live on both sides, from two batteries: the negatives of both off before a spanner goes to it, ends insulated.";

/// What may move when an input is looked at, parted or put back: a load that moves and whose name the input bears, as
/// the side step does in `side step switch`.
pub(super) fn moved_by_input(test: &TestPlan, feeds: &Feeds) -> Option<String> {
    let near = matches!(test.method, Method::Look | Method::Unplug | Method::Refit);
    let is_input = |point: &&String| feeds.inputs().any(|(name, _)| name == point.as_str());
    let input = test.points.iter().find(is_input).filter(|_| near)?;
    let moves = |part: PartId| {
        let moves = feeds.load_kind(part) == Some(LoadKind::Moves);
        let name = input.to_lowercase();
        moves && name.contains(&feeds.id(part).to_lowercase())
    };
    let load = feeds.parts().find(|part| moves(*part))?;
    Some(format!(
        "This can move by itself ({}): hands clear.",
        clean(feeds.id(load))
    ))
}

/// What hangs on the parts and calls for care at this step, by its names.
pub(super) fn hanging(method: Method, parts: &[PartId], feeds: &Feeds) -> Vec<String> {
    let parted = matches!(method, Method::Pull | Method::Unplug | Method::Refit);
    let near = parted || matches!(method, Method::Clamp | Method::Look);
    let arcs = parts
        .iter()
        .any(|part| feeds.volts_at(*part).value() >= ARCS_MV);
    let table = [
        (
            near,
            LoadKind::Airbag,
            "Airbag circuits hang on this",
            "the maker's waiting time and procedure, never a probe at the plug.",
        ),
        (
            parted,
            LoadKind::Brake,
            "Brakes hang on this",
            "chock the wheels first; a pump's accumulator stays under pressure: open no brake pipe.",
        ),
        (
            near,
            LoadKind::Moves,
            "This can move by itself",
            "hands clear.",
        ),
        (
            near,
            LoadKind::HighVoltage,
            "High voltage hangs on this",
            "out of this tool's scope, trained people only.",
        ),
        (
            parted,
            LoadKind::Protected,
            "This must not lose its feed unasked",
            "the maker's procedure first.",
        ),
    ];
    let mut said: Vec<String> = table
        .into_iter()
        .filter(|(applies, ..)| *applies)
        .filter_map(|(_, kind, what, care)| {
            let names = loads_below(parts, feeds, |part| feeds.load_kind(part) == Some(kind))?;
            Some(format!("{what} ({names}): {care}"))
        })
        .collect();
    let held = CHARGED.iter().filter(|_| method == Method::Unplug);
    said.extend(held.filter_map(|(words, care)| {
        let in_hand = |part: PartId| parts.contains(&part) && is_named(part, words, feeds);
        let names = loads_below(parts, feeds, in_hand)?;
        Some(format!("{}: {care}", capital(&names)))
    }));
    if matches!(method, Method::Pull | Method::Unplug) {
        said.extend(NEEDED.iter().filter_map(|(words, care)| {
            let names = loads_below(parts, feeds, |part| is_named(part, words, feeds))?;
            Some(format!("{}: {care}", capital(&names)))
        }));
    }
    if parted {
        let (words, care) = RESTS;
        let names = loads_below(parts, feeds, |part| is_named(part, words, feeds));
        said.extend(names.map(|names| format!("{}: {care}", capital(&names))));
    }
    if parted && parts.iter().any(|part| feeds.is_fed_behind(*part)) {
        said.push(BOTH_SIDES.to_owned());
    }
    if parted && arcs {
        said.push(
            "More than 24 V: it arcs when pulled under load; switch off what it feeds first."
                .to_owned(),
        );
    }
    said
}

/// From here up a feed that is parted under load draws an arc that stands: 48 V systems, not 24 V ones
/// on charge. Judgement; no source.
const ARCS_MV: f64 = 32_000.0;
