//! What a proof comes to: how its owner hears of it, and what is to be mended. A part that only does as it is told
//! is sound, and nobody is sent to replace it.
//!
//! One table of kinds serves the screen, the write-up and the customer's paragraph, so that they speak with one voice.

use crate::case::{Case, Found};
use crate::feeds::PartId;
use crate::journal::{Act, Point, Seen};
use crate::render::culprit::{coil_of, contact, either, may_be_passed, on_the_wire};
use crate::render::words::{capital, holds, listed};
use crate::suspects::{Cause, Subject};
use crate::vehicle::{LoadKind, PartKind};

/// What was proven, by what is to be done about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// A wire, or what is added to it.
    Wiring,
    /// A relay whose coil is on: it does as it is told.
    Commanded,
    /// A relay of whose coil nothing was read.
    Relay,
    /// A relay whose coil is off.
    Stuck,
    /// A switch that lets through though it rests open.
    Switch,
    /// What a module listens to.
    Input,
    /// What hangs on an output.
    OnOutput,
    /// A socket.
    Socket,
    /// A lamp.
    Lamp,
    /// A module that others may wake, or that wakes others.
    Module,
    /// A part that takes by itself what it should not.
    Part,
}

/// The table: what a proof is of.
fn kind(found: &Found, case: &Case<'_>) -> Kind {
    let feeds = &case.setting().feeds;
    match (found.cause, &found.subject) {
        (Cause::Leak | Cause::NotOnSheet, _) => Kind::Wiring,
        // By its own plug it is the coil: out of it nothing flows there any more.
        (Cause::CoilHeld, _) if crate::report::mate(case, found).is_none() => Kind::Commanded,
        (Cause::CoilHeld, _) => match coil_of(found, case) {
            Some(false) => Kind::Stuck,
            Some(true) => Kind::Commanded,
            None => Kind::Relay,
        },
        (Cause::ContactClosed, Subject::Part(part))
            if feeds.part(*part).kind == PartKind::Switch =>
        {
            Kind::Switch
        }
        (Cause::ContactClosed, _) => match coil_of(found, case) {
            Some(true) => Kind::Commanded,
            Some(false) => Kind::Stuck,
            None => Kind::Relay,
        },
        (_, Subject::Input(_)) => Kind::Input,
        (_, Subject::Module(_)) => Kind::Module,
        (_, Subject::Part(part)) if feeds.is_socket(*part) || feeds.may_call(*part) => Kind::Socket,
        (_, Subject::Part(part)) if output_above(*part, case).is_some() => Kind::OnOutput,
        (_, Subject::Part(part)) if feeds.load_kind(*part) == Some(LoadKind::Lamp) => Kind::Lamp,
        (_, Subject::Part(part)) if feeds.networked(*part) || found.cause == Cause::HoldsAwake => {
            Kind::Module
        }
        _ => Kind::Part,
    }
}

/// The output that a load hangs on, and what switches it: the module, else the part above.
fn output_above(load: PartId, case: &Case<'_>) -> Option<(PartId, String)> {
    let feeds = &case.setting().feeds;
    let mut above = std::iter::successors(feeds.up(load), |part| feeds.up(*part));
    let output = above.find(|part| feeds.part(*part).kind == PartKind::Output)?;
    let module = above.find_map(|part| feeds.module_of(part));
    let by = module.map_or_else(
        || feeds.up(output).map_or("", |up| feeds.id(up)),
        |module| feeds.module(module).id.value.as_str(),
    );
    Some((output, by.to_owned()))
}

/// The part that was proven, where it is one.
const fn part_of(found: &Found) -> Option<PartId> {
    match found.subject {
        Subject::Part(part) => Some(part),
        _ => None,
    }
}

/// What was last seen where one looked at a part, and the entry.
pub(super) fn seen(part: PartId, case: &Case<'_>) -> Option<(bool, u32)> {
    let counting = case.counting();
    let entries = case.entries().iter().rev();
    let mut counts = entries.filter(|entry| counting.binary_search(&entry.number).is_ok());
    counts.find_map(|entry| match &entry.act {
        Act::Look {
            point: Point::Part(at),
            seen,
            ..
        } if *at == part => Some((*seen == Seen::Yes, entry.number)),
        _ => None,
    })
}

/// Words by which water is known in what was told and noted.
const WET: [&str; 5] = ["wet", "water", "damp", "rain", "flood"];

/// Words of a place where water stands or comes.
const WET_PLACES: [&str; 7] = [
    "bilge",
    "underbody",
    "arch",
    "scuttle",
    "sill",
    "sump",
    "plenum",
];

/// Whether water may be behind it: it was told to come after rain, something was wet, or it sits where water stands.
pub(super) fn is_wet(found: &Found, case: &Case<'_>) -> bool {
    let feeds = &case.setting().feeds;
    let seat = match found.subject {
        Subject::Part(part) | Subject::Unlisted(part) => feeds.place(part),
        _ => None,
    };
    let way = seat.map_or_else(Vec::new, |place| feeds.way(place));
    let stands = way
        .into_iter()
        .any(|place| holds(&feeds.place_as_written(place).id.value, &WET_PLACES));
    stands || is_told_wet(case)
}

/// Whether water was told of.
pub(super) fn is_told_wet(case: &Case<'_>) -> bool {
    let counting = case.counting();
    let mut counts = case
        .entries()
        .iter()
        .filter(|entry| counting.binary_search(&entry.number).is_ok());
    let speaks = |text: &str| {
        let text = text.to_lowercase();
        WET.iter().any(|word| text.contains(word))
    };
    let none = |text: &str| {
        let text = text.trim().trim_end_matches('.').to_lowercase();
        ["no", "none", "never", "nil", "not"].contains(&text.as_str())
    };
    counts.any(|entry| match &entry.act {
        Act::Told {
            key: Some(key),
            text,
        } if key == "rain" => !none(text),
        Act::Told { text, .. } | Act::Note(text) => speaks(text),
        _ => false,
    })
}

/// Whether only what stands above the part was out, so that its wire is as likely as itself.
fn wire_too(found: &Found, case: &Case<'_>) -> bool {
    let (Some(part), Cause::OwnDraw) = (part_of(found), found.cause) else {
        return false;
    };
    let nearer = case.fell_nearer(found).unwrap_or_default();
    let mut taken = found.taken.iter().flat_map(|taken| &taken.parts);
    !nearer.contains(&part) && !taken.any(|one| *one == part)
}

/// Whether more than what was named may be at fault: what tells it to draw, or its wire.
pub(super) fn is_hedged(found: &Found, case: &Case<'_>) -> bool {
    let kind = kind(found, case);
    matches!(kind, Kind::Wiring | Kind::Commanded | Kind::Relay)
        || !beside_it(found, kind, case).is_empty()
}

/// What the owner hears of what was proven, by the name that stands for it, so that no more is said than was shown:
/// "K3 (the relay of the blower), which sticks", "the boot lamp or what keeps it on". `written` is how a name of the
/// file is put on the page.
pub(super) fn for_the_owner(
    found: &Found,
    called: &str,
    case: &Case<'_>,
    written: impl Fn(&str) -> String,
) -> String {
    let kind = kind(found, case);
    let others = beside_it(found, kind, case);
    let others: Vec<String> = others.iter().map(|other| written(other)).collect();
    let how = match kind {
        Kind::Commanded => "which something keeps switched on",
        Kind::Relay => "which sticks or is kept switched on",
        Kind::Stuck => "which sticks",
        Kind::Switch if seen_off(found, case).is_none() => "which is on when it should be off",
        _ => {
            let all: Vec<String> = std::iter::once(called.to_owned()).chain(others).collect();
            return either(&all);
        }
    };
    let others = others.iter().map(|other| format!(", or {other}"));
    format!("{called}, {how}{}", others.collect::<String>())
}

/// What the same proof would fit as well, beside the part itself.
fn beside_it(found: &Found, kind: Kind, case: &Case<'_>) -> Vec<String> {
    let past = may_be_passed(found, case) || seen_off(found, case).is_some();
    let mut list = Vec::new();
    if past {
        list.push("a wire past it".to_owned());
    }
    if wire_too(found, case) {
        list.push("its wire".to_owned());
    }
    let output = part_of(found).and_then(|part| output_above(part, case));
    match kind {
        Kind::Input => list.push("what holds it on".to_owned()),
        Kind::Socket => list.push("what is plugged in there".to_owned()),
        Kind::Lamp if !was_dark(found, case) => list.push("what keeps it on".to_owned()),
        Kind::Module => list.push("what keeps it awake".to_owned()),
        _ => {}
    }
    if let Some((_, by)) = output {
        list.push(format!("what keeps it on ({by})"));
    }
    list
}

/// The entry in which a proven switch was seen off.
fn seen_off(found: &Found, case: &Case<'_>) -> Option<u32> {
    let feeds = &case.setting().feeds;
    let at = contact(found, feeds).filter(|at| feeds.part(*at).kind == PartKind::Switch)?;
    let (on, entry) = seen(at, case)?;
    (!on).then_some(entry)
}

/// What stands behind the name of a load in the verdict, where something else may keep it on.
pub(super) fn beside(found: &Found, case: &Case<'_>) -> String {
    let output = part_of(found).and_then(|part| output_above(part, case));
    let output = output.map_or_else(String::new, |(output, by)| {
        let output = case.setting().feeds.id(output);
        format!("or what keeps {output} on: {by}")
    });
    match kind(found, case) {
        Kind::OnOutput => format!(" ({output})"),
        Kind::Socket if output.is_empty() => " (what is plugged in, or the socket)".to_owned(),
        Kind::Socket => format!(" (what is plugged in, the socket, {output})"),
        Kind::Input => " (held on, or stays on by itself)".to_owned(),
        Kind::Lamp if !was_dark(found, case) => " (or what keeps it on)".to_owned(),
        _ => {
            let others = fed_by_it_too(found, case);
            let feeds = &case.setting().feeds;
            let taken = found.taken.first().filter(|_| !others.is_empty());
            taken.map_or_else(String::new, |taken| {
                let ids: Vec<String> = others
                    .iter()
                    .map(|part| feeds.id(*part).to_owned())
                    .collect();
                format!(" (or {}, dark but on {} too)", listed(&ids), taken.name)
            })
        }
    }
}

/// Loads on the fuse that alone was out, against which only a look speaks.
pub(super) fn fed_by_it_too(found: &Found, case: &Case<'_>) -> Vec<PartId> {
    if wire_too(found, case) {
        case.only_seen_dark(found)
    } else {
        Vec::new()
    }
}

/// Whether it was seen dark.
fn was_dark(found: &Found, case: &Case<'_>) -> bool {
    let seen = part_of(found).and_then(|part| seen(part, case));
    matches!(seen, Some((false, _)))
}

/// What is to be minded before something is mended, where that is more than to repair or replace it.
pub(super) fn before_mending(found: &Found, called: &str, case: &Case<'_>) -> Option<String> {
    (kind(found, case) != Kind::Part).then(|| what_mends(found, called, case))
}

/// What is left to do about what was proven, in a sentence or two; `called` is its name.
pub(super) fn what_mends(found: &Found, called: &str, case: &Case<'_>) -> String {
    let name = capital(called);
    let wire = if wire_too(found, case) {
        wire_beside(found, called, case)
    } else {
        String::new()
    };
    match kind(found, case) {
        Kind::Wiring => along_the_wire(found, case),
        Kind::Commanded => {
            let by = told_by(found, case).map_or_else(String::new, |by| format!(": {by}"));
            format!(
                "Find what holds the coil of {called} on{by}. The relay does as it is told: a new one changes nothing."
            )
        }
        Kind::Relay => {
            let by = told_by(found, case).map_or_else(String::new, |by| format!(": {by}"));
            let past = past(found, case);
            let feeds = &case.setting().feeds;
            if contact(found, feeds).is_none_or(|at| feeds.coils_of(at).is_empty()) {
                return format!(
                    "{name}: look first for what holds it on; its coil is not in this file. Nothing there: its contact sticks{past}."
                );
            }
            format!(
                "{name}: volts at its coil (86 against 85) before anything is replaced. Live: find what holds it on{by}. Dead: its contact sticks, a new relay{past}."
            )
        }
        Kind::Stuck => format!(
            "Replace {called}: its coil is off and it is closed all the same{}.",
            past(found, case)
        ),
        Kind::Switch => at_the_switch(found, &name, case),
        Kind::Input => format!(
            "{name}: see first what holds it on, its stop, its setting and its wire. Replace it only if it stays on by itself."
        ),
        Kind::OnOutput => {
            let above = part_of(found).and_then(|part| output_above(part, case));
            let (output, by) = above.map_or_else(
                || ("its output".to_owned(), String::new()),
                |(output, by)| {
                    (
                        case.setting().feeds.id(output).to_owned(),
                        format!(": {by}, and what tells it to"),
                    )
                },
            );
            format!(
                "Find what keeps {output} on{by}. {name} does as it is told: only where {output} is dead with it unplugged is it at fault, or its wire."
            )
        }
        Kind::Socket => {
            let there = part_of(found).and_then(|part| seen(part, case));
            let there = match there {
                Some((true, entry)) => format!("what was seen in {called} (entry {entry})"),
                _ => format!("what is plugged into {called} or wired to it behind"),
            };
            let output = part_of(found).and_then(|part| output_above(part, case));
            let output = output.map_or_else(String::new, |(output, by)| {
                let output = case.setting().feeds.id(output);
                format!(" Should {output} be off when parked: find what keeps it on, {by}.")
            });
            format!(
                "Take out {there}: mend it, or leave it out. The socket itself only if it draws with nothing in it.{output}{wire}"
            )
        }
        Kind::Lamp => format!("{}{}{wire}", lit(found, &name, case), water(found, case)),
        Kind::Module => format!(
            "{name}: before it is replaced, look at what may wake it: latches, switches and aerials on it, what is plugged in or was added, also where this file does not have it.{}{wire}",
            water(found, case)
        ),
        Kind::Part if !wire.is_empty() => format!(
            "{name}:{wire} Then repair or replace what it was.{}{}",
            switched_by(found, case),
            water(found, case)
        ),
        Kind::Part => format!(
            "Repair or replace: {called}.{}{}",
            switched_by(found, case),
            water(found, case)
        ),
    }
}

/// What is done first at a lamp.
fn lit(found: &Found, name: &str, case: &Case<'_>) -> String {
    match part_of(found).and_then(|part| seen(part, case)) {
        Some((false, entry)) => format!(
            "{name} was dark (entry {entry}) and draws: look for damp and green metal in its holder and plug, then at its wire."
        ),
        _ => format!(
            "{name}: a lamp that stays lit is no fault of the lamp. Find what holds it on: a latch, a switch, an output or a wire.{}",
            switched_by(found, case)
        ),
    }
}

/// What should be open above a part that draws: it may be the fault behind it.
fn switched_by(found: &Found, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let above = part_of(found).and_then(|part| feeds.open_above(part));
    above.map_or_else(String::new, |above| {
        format!(" Look first at what switches it on: {}.", feeds.id(above))
    })
}

/// Where to look where water was told of.
fn water(found: &Found, case: &Case<'_>) -> &'static str {
    if is_wet(found, case) {
        " It is told, or likely, that water gets there: look for it in its plug and holder first."
    } else {
        ""
    }
}

/// What else to do where a good relay changes nothing.
fn past(found: &Found, case: &Case<'_>) -> &'static str {
    if may_be_passed(found, case) {
        ". The same with a good one in, or with none: a wire goes past it"
    } else {
        ""
    }
}

/// What is to be done at a switch.
fn at_the_switch(found: &Found, name: &str, case: &Case<'_>) -> String {
    match seen_off(found, case) {
        Some(entry) => format!(
            "{name} was seen off (entry {entry}): look first for a wire that goes past it, then measure through the switch with its wires off."
        ),
        None => format!(
            "{name}: a switch that is on need not be broken. See first what presses or turns it, its stop and its setting, and whether a wire goes past it."
        ),
    }
}

/// What tells a coil to be on, by the file: never a part above it that only feeds it.
fn told_by(found: &Found, case: &Case<'_>) -> Option<String> {
    let feeds = &case.setting().feeds;
    let contact = contact(found, feeds)?;
    let mut commands: Vec<String> = feeds
        .coils_of(contact)
        .iter()
        .filter_map(|coil| feeds.part(*coil).commanded_by.as_ref())
        .map(|command| command.value.clone())
        .collect();
    commands.dedup();
    (!commands.is_empty()).then(|| listed(&commands))
}

/// How to tell a part from its wire, where its fuse alone was out.
fn wire_beside(found: &Found, called: &str, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let plug = part_of(found).and_then(|part| feeds.part(part).plug.as_ref());
    let Some(taken) = found.taken.first() else {
        return String::new();
    };
    let mut others = vec![format!("the wire to {called}")];
    let dark = fed_by_it_too(found, case).into_iter();
    others.extend(dark.map(|part| feeds.id(part).to_owned()));
    let tells = plug.map_or_else(String::new, |plug| {
        format!(
            ": unplug {} with {} in, and the draw tells",
            plug.value, taken.name
        )
    });
    format!(
        " {} alone was out, so it may be {} too{tells}.",
        taken.name,
        either(&others)
    )
}

/// What is to be done where a wire, or what hangs on it, is at fault.
fn along_the_wire(found: &Found, case: &Case<'_>) -> String {
    let places = on_the_wire(found, case).unwrap_or_default();
    if let (true, Subject::Unlisted(at)) = (places.is_empty(), &found.subject) {
        let at = case.setting().feeds.id(*at);
        return format!(
            "Find what is on {at}: this file names nothing for it. Then mend it, or leave it off."
        );
    }
    let first = if is_wet(found, case) {
        "where water gets in and stands, "
    } else {
        ""
    };
    format!(
        "Follow the wiring at {}: {first}joints and plugs, where it rubs, is pinched or gnawed, and anything added on the way.",
        either(&places)
    )
}
