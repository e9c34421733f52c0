//! What the hands do at a step: place, point, how, with what, and how long it takes.

use crate::case::{Setting, TestPlan};
use crate::feeds::{Feeds, Named, PartId, PlaceId};
use crate::measurement::{Method, Way};
use crate::render::answer::current;
use crate::render::cautions::{is_named, touched};
use crate::render::setup::{self, Earlier};
use crate::render::trace::Lines;
use crate::render::words::{number, plug, what};
use crate::vehicle::{LoadKind, PartKind, Rest};
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// Names listed before the rest is only counted.
const NAMED: usize = 4;

/// Place, point, how, with what.
pub(super) fn to_do(
    test: &TestPlan,
    setting: &Setting,
    earlier: &Earlier,
    until: Option<&str>,
    lines: &mut Lines,
) {
    let feeds = &setting.feeds;
    let place_name = |place: PlaceId| feeds.place_as_written(place).id.value.as_str();
    if let Some(place) = test.place {
        let way: Vec<_> = feeds.way(place).into_iter().map(place_name).collect();
        // Who stands there knows the way.
        let at = if earlier.was_at(place) {
            place_name(place).to_owned()
        } else {
            way.join(", then ")
        };
        lines.push(("at", at));
    }
    // What goes back in together may be in several places.
    let elsewhere = |name: &str| {
        let place = place_of(name, feeds).filter(|place| Some(*place) != test.place)?;
        Some(format!(" [{}]", place_name(place)))
    };
    let points = test.points.iter();
    let points = points.map(|p| {
        let several = test.points.len() > 1;
        let elsewhere = elsewhere(p).filter(|_| several).unwrap_or_default();
        format!("{}{elsewhere}", point(p, setting))
    });
    let points: Vec<_> = points.collect();
    lines.push(("do", how(test, &points.join(", "), setting, earlier)));
    if let Some(with) = setup::with(test, setting, earlier) {
        lines.push(("with", with));
    }
    let first = setup::first(test, setting, earlier).into_iter();
    lines.extend(first.map(|first| ("first", first)));
    lines.extend(beyond_the_jacks(test).map(|lacking| ("lacking", lacking)));
    lines.push(("takes", takes(test, setting, until)));
    let notes = notes(test, setting).into_iter();
    lines.extend(notes.map(|note| ("note", note)));
}

/// Where more loses its feed than this, notes of all of it would bury those of what is in hand (judgement).
const NOTED: usize = 5;

/// What the file notes of what is taken in hand here, and of what loses its feed by that.
pub(super) fn notes(test: &TestPlan, setting: &Setting) -> Vec<String> {
    let feeds = &setting.feeds;
    let touched = touched(test, feeds);
    let cut = matches!(test.method, Method::Pull | Method::Unplug);
    if !cut && !matches!(test.method, Method::Look | Method::Series) {
        return Vec::new();
    }
    let below = touched
        .iter()
        .flat_map(|part| feeds.subtree(*part))
        .map(PartId);
    let below: BTreeSet<PartId> = below.collect();
    let mut parts = BTreeSet::from_iter(touched);
    if cut && below.len() <= NOTED {
        let load = |part: &PartId| feeds.part(*part).kind == PartKind::Load;
        parts.extend(below.into_iter().filter(load));
    }
    parts.remove(&PartId(0));
    let mut noted: Vec<(&str, Vec<&str>)> = Vec::new();
    for part in parts {
        let Some(note) = &feeds.part(part).note else {
            continue;
        };
        match noted.iter_mut().find(|(other, _)| other == note) {
            Some((_, ids)) => ids.push(feeds.id(part)),
            None => noted.push((note, vec![feeds.id(part)])),
        }
    }
    let noted = noted.into_iter().take(NAMED);
    noted
        .map(|(note, ids)| format!("{}: {note}", ids.join(", ")))
        .collect()
}

/// Where a part or plug is.
fn place_of(name: &str, feeds: &Feeds) -> Option<PlaceId> {
    match feeds.find(name)? {
        Named::Part(part) => feeds.place(*part),
        Named::Plug(parts) => feeds.place(*parts.first()?),
        _ => None,
    }
}

/// A point as a person finds it: what it is, what the lid says, plug and pin, wire colour.
fn point(name: &str, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let listed = |parts: &[PartId]| {
        let ids: Vec<_> = parts.iter().take(NAMED).map(|p| feeds.id(*p)).collect();
        let more = parts.len().saturating_sub(NAMED);
        let rest = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        format!("{}{rest}", ids.join(", "))
    };
    match feeds.find(name) {
        Some(Named::Part(part)) if part.0 != 0 => {
            let written = feeds.part(*part);
            let mut said = vec![what(written)];
            said.extend(written.label.as_ref().map(|l| format!("lid says {l}")));
            said.extend(plug(written));
            said.extend(written.colour.clone());
            format!("{name} ({})", said.join(", "))
        }
        Some(Named::Plug(parts)) => format!("{name} ({})", listed(parts)),
        Some(Named::Module(module)) => {
            let plugs = feeds.module_feeds(*module);
            format!("{name} (all its feeds: {})", listed(plugs))
        }
        _ => name.to_owned(),
    }
}

/// What the hands do.
fn how(test: &TestPlan, point: &str, setting: &Setting, earlier: &Earlier) -> String {
    let kind = test.part.map(|part| setting.feeds.part(part).kind);
    match (test.method, test.way) {
        (Method::Volts, _) => format!(
            "Volts at {point}: black probe on a sound earth, red {}.",
            red_probe(test.part, setting)
        ),
        (Method::Drop, _) => match kind {
            Some(PartKind::Fuse | PartKind::Link | PartKind::Breaker) => {
                format!("Voltage drop across {point}: a probe on each side; it stays in.")
            }
            _ => format!(
                "Voltage drop along the wire of {point}: {}.",
                test.part.map_or_else(|| BOTH_ENDS.to_owned(), |part| ends(part, setting))
            ),
        },
        (Method::Clamp, Some(way)) if setup::let_in(test, way, setting) => {
            format!("Clamp on a loop lead in the place of {point}.")
        }
        (Method::Clamp, _) => format!("Clamp the feed wire of {point}."),
        (Method::Series, _) => format!("Meter in series in the place of {point}."),
        (Method::Draw, Some(Way::Clamp { .. })) if earlier.has_drawn(test) => {
            "Read the draw again, clamp round the same leads.".to_owned()
        }
        (Method::Draw, Some(Way::Clamp { .. })) => {
            "Read the draw: clamp round all leads of one battery post.".to_owned()
        }
        (Method::Draw, None) => {
            "Read the draw by a clamp round all leads of one battery post.".to_owned()
        }
        (Method::Draw, _) if earlier.has_drawn(test) => {
            "Read the draw again as before: bridge off only while you read.".to_owned()
        }
        (Method::Draw, _) => {
            "Read the draw: meter in the negative lead, over the bridge.".to_owned()
        }
        (Method::Look, _) => match kind {
            Some(PartKind::Relay) => format!("Feel {point}: is it warm?"),
            Some(PartKind::Coil) => {
                format!("Feel the relay of {point}: is it warm?")
            }
            Some(PartKind::Switch) => format!("Look at {point}: is it on?"),
            None => format!(
                "Look at {point}: does it read as if open or pressed, with all shut and off? The dash, a lamp it switches or a tester shows it."
            ),
            _ if test.part.is_some_and(|part| is_charging(part, setting)) => format!(
                "Feel {point}: is it warm though the engine is cold? After a drive it is warm anyway: then skip this."
            ),
            _ if test.part.is_some_and(|part| under_lid(part, setting)) => format!(
                "Look at {point}: is it lit with the lid or door shut? Let a phone film inside, or turn the latch shut by hand."
            ),
            _ if test.part.is_some_and(|part| setting.feeds.is_socket(part)) => {
                format!("Look at {point}: is anything plugged in there?")
            }
            _ => format!("Look at {point}: is it lit, warm or running?"),
        },
        (Method::Pull, _) if test.points.len() > 1 => format!("Pull together: {point}."),
        (Method::Pull, _) => format!("Pull {point}."),
        (Method::Unplug, _) => format!("Unplug {point}."),
        (Method::Refit, _) => format!("Put back {point}."),
        (Method::Open, _) => format!("Open {point} and leave it open."),
        (Method::Log, None) => "Leave everything as it is now and log the total by a clamp that notes it, or keeps its highest.".to_owned(),
        (Method::Log, _) => "Leave everything as it is now and log the total, or leave a meter that keeps its highest.".to_owned(),
        (Method::Zero, _) => "Zero the clamp where it will be read.".to_owned(),
        (Method::Wait, _) if earlier.has_slept() => {
            "Leave everything alone until the draw no longer falls.".to_owned()
        }
        (Method::Wait, _) => {
            "Switch nothing on, and leave doors, lids, levers and key alone until the draw no longer falls; what is open stays open.".to_owned()
        }
    }
}

/// Words in the name of a lamp that is behind a lid or door, so that nobody sees it shut.
const UNDER_A_LID: [&str; 9] = [
    "glove", "boot", "bonnet", "bay", "locker", "luggage", "vanity", "cargo", "cubby",
];

/// Whether it is an alternator, or what goes with one.
fn is_charging(part: PartId, setting: &Setting) -> bool {
    setting.feeds.load_kind(part) == Some(LoadKind::Charging)
}

/// Whether a lamp cannot be seen where it matters.
fn under_lid(part: PartId, setting: &Setting) -> bool {
    let feeds = &setting.feeds;
    feeds.load_kind(part) == Some(LoadKind::Lamp) && is_named(part, &UNDER_A_LID, feeds)
}

/// Where the red probe goes for the volts behind a part. Terminals by DIN 72552 (30 feed, 87 output of a contact
/// open at rest, 87a of one closed at rest, 86 feed of the coil; from memory), as they stand on plug-in relays.
fn red_probe(part: Option<PartId>, setting: &Setting) -> &'static str {
    let written = part.map(|part| setting.feeds.part(part));
    match written.map(|written| (written.kind, written.rest)) {
        Some((PartKind::Relay, Some(Rest::Closed))) => {
            "on its output, terminal 87a (30 is its feed)"
        }
        Some((PartKind::Relay, _)) => "on its output, terminal 87 (30 is its feed)",
        Some((PartKind::Coil, _)) => "on terminal 86 of its relay",
        Some((PartKind::Fuse | PartKind::Link | PartKind::Breaker, _)) => {
            "on one side, then the other; type the lower"
        }
        Some((PartKind::Switch, _)) => "on its output, behind the contact",
        Some((PartKind::Load | PartKind::Output | PartKind::Connector, _)) => {
            "back-probed on its feed wire"
        }
        Some((PartKind::Cable, _)) => "at its far end",
        _ => "on it",
    }
}

/// Longer than this, in m, the leads of a meter do not reach (judgement).
const LEADS_REACH: f64 = 1.5;

/// Where the probes go at a wire.
const BOTH_ENDS: &str = "a probe at each end of it";

/// The same, with the lead that reaches the far end where those of the meter do not.
fn ends(part: PartId, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let length = feeds.part(part).wire.as_ref().and_then(|wire| wire.length);
    let Some(length) = length.filter(|length| length.value() > LEADS_REACH) else {
        return BOTH_ENDS.to_owned();
    };
    let up = feeds.up(part);
    let far = up.map_or("", |up| feeds.id(up));
    let lead = format!(
        "by a test lead of {} m (thin wire will do); without one: skip no lead",
        number(length.value())
    );
    if up.is_some_and(|up| feeds.place(up) == feeds.place(part)) {
        return format!("one probe at {far}, the other at its far end {lead}");
    }
    format!("one probe at its end here, the other at {far} {lead}")
}

/// Where more may come than any jack takes.
fn beyond_the_jacks(test: &TestPlan) -> Option<String> {
    let total = matches!(test.method, Method::Draw | Method::Log) && test.way.is_none();
    let flows = test.flows.filter(|_| total)?;
    Some(format!(
        "Up to {} may come, more than a jack at hand takes: never the meter in line. It takes a clamp, in the instruments file, or a meter in mV left across a fuse that carries it.",
        current(flows)
    ))
}

/// Minutes, and the chance to wake the vehicle.
fn takes(test: &TestPlan, setting: &Setting, until: Option<&str>) -> String {
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    if test.method == Method::Wait {
        let settle = setting.feeds.settle().value();
        let chance = test.minutes / settle.max(1e-9);
        let until = until.map_or_else(String::new, |until| format!(", until {until}"));
        let whole = format!("{} min{until}", number(settle));
        return if chance < 0.99 {
            let likely = chance > 0.5;
            let chance = percent(chance);
            let counted = duration(test.minutes);
            if likely {
                format!(
                    "{whole}, as that most likely woke it ({chance}); nothing if it still sleeps: counted as {counted}"
                )
            } else {
                format!(
                    "nothing if it still sleeps; {whole} if that woke it ({chance} likely): counted as {counted}"
                )
            }
        } else {
            format!("about {whole}")
        };
    }
    let mut said = format!("about {}", duration(test.minutes));
    if needs_lead_off(test, setting) {
        said.push_str(", and some 5 min for the battery's negative lead; it wakes the vehicle");
    } else if test.disturbs > 0.99 {
        said.push_str("; it wakes the vehicle");
    } else if test.disturbs > 0.0 {
        let _ = write!(said, "; may wake the vehicle ({})", percent(test.disturbs));
    }
    said
}

/// Whether the battery's negative lead has to come off for it.
fn needs_lead_off(test: &TestPlan, setting: &Setting) -> bool {
    let moves = matches!(test.method, Method::Pull | Method::Unplug | Method::Refit);
    let feeds = &setting.feeds;
    moves
        && touched(test, feeds)
            .iter()
            .any(|part| feeds.needs_lead_off(*part))
}

/// Minutes of a step, as a person would say them.
fn duration(minutes: f64) -> String {
    if minutes < 0.95 {
        format!("{:.0} s", (minutes * 6.0).round().max(1.0) * 10.0)
    } else if minutes < 9.75 {
        format!("{} min", number((minutes * 2.0).round() / 2.0))
    } else {
        format!("{minutes:.0} min")
    }
}
