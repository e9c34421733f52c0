//! What was proven, by a name that a person knows, and no more than was proven.

use crate::case::{Case, Found};
use crate::feeds::{Feeds, PartId};
use crate::journal::{Act, Point};
use crate::measurement::Method;
use crate::render::mending::{beside, is_wet, seen};
use crate::render::words::{damage, listed, named_cause, nothing_named};
use crate::report::{mate, wiring_too};
use crate::suspects::{Cause, Subject};
use crate::vehicle::PartKind;

/// Loads that are named before the rest is only counted.
const NAMED: usize = 4;

/// "the relay of the awning lamps, step lamp and sign lamp": what a contact switches. `None` where nothing is
/// entered below it.
fn switches(contact: PartId, feeds: &Feeds) -> Option<String> {
    let below = feeds.subtree(contact).skip(1).map(PartId);
    let loads: Vec<PartId> = below
        .filter(|part| feeds.part(*part).kind == PartKind::Load)
        .collect();
    let called = |part: &PartId| {
        let written = feeds.part(*part);
        let name = written.name.as_deref();
        name.unwrap_or(&written.id.value).to_owned()
    };
    let mut names: Vec<String> = loads.iter().take(NAMED).map(called).collect();
    if loads.len() > NAMED {
        names.push(format!("{} more", loads.len() - NAMED));
    }
    let kind = feeds.part(contact).kind.word().to_lowercase();
    (!names.is_empty()).then(|| format!("the {kind} of the {}", listed(&names)))
}

/// The contact behind a cause: itself, or the one that a coil moves.
pub(super) fn contact(found: &Found, feeds: &Feeds) -> Option<PartId> {
    match (found.cause, &found.subject) {
        (Cause::ContactClosed, Subject::Part(part)) => Some(*part),
        (Cause::CoilHeld, Subject::Part(part)) => feeds.moved_by(*part),
        _ => None,
    }
}

/// A contact by its id with what it switches: `("R5", "the relay of the awning lamps")`; `None` for another
/// cause.
pub(super) fn switch_words(found: &Found, feeds: &Feeds) -> Option<(String, Option<String>)> {
    let contact = contact(found, feeds)?;
    Some((feeds.id(contact).to_owned(), switches(contact, feeds)))
}

/// Places of a wire that are named before the rest is only counted.
const OF_THE_WIRE: usize = 3;

/// The places of a wire at which a proven fault of it may be; `None` for what is no wire, and empty for a fuse or plug
/// behind which the file names nothing.
pub(super) fn on_the_wire(found: &Found, case: &Case<'_>) -> Option<Vec<String>> {
    let feeds = &case.setting().feeds;
    let at = match (found.cause, &found.subject) {
        (Cause::Leak, Subject::Part(at)) | (Cause::NotOnSheet, Subject::Unlisted(at)) => *at,
        _ => return None,
    };
    let others = wiring_too(case, found);
    if found.cause == Cause::NotOnSheet && feeds.is_leaf(at) && others.is_empty() {
        return Some(Vec::new());
    }
    let mut places = vec![feeds.id(at).to_owned()];
    for (id, _) in &others {
        let place = id.strip_prefix("unlisted at ").unwrap_or(id);
        if !places.iter().any(|other| other == place) {
            places.push(place.to_owned());
        }
    }
    if places.len() > OF_THE_WIRE {
        places.truncate(OF_THE_WIRE);
        places.push("elsewhere on that wire".to_owned());
    }
    Some(places)
}

/// Whether something that is on no sheet would have fallen and returned as well.
pub(super) fn may_be_extra(found: &Found, case: &Case<'_>) -> bool {
    let extra = |cause| cause == Cause::NotOnSheet;
    extra(found.cause)
        || wiring_too(case, found)
            .iter()
            .any(|(_, cause)| extra(*cause))
}

/// What was proven of a wire, without saying more than was read: "the wiring at A6 or S1 (chafed or damp), or something
/// extra wired to it"; "something on F22, for which this file names nothing". `None` for what is no wire.
pub(super) fn wiring(found: &Found, case: &Case<'_>) -> Option<String> {
    let places = on_the_wire(found, case)?;
    if let (true, Subject::Unlisted(at)) = (places.is_empty(), &found.subject) {
        let at = case.setting().feeds.id(*at);
        return Some(nothing_named(at));
    }
    let how = damage(is_wet(found, case));
    // A wire that no leak is reckoned with may leak as well as the next.
    let extra = if may_be_extra(found, case) {
        ", or something extra wired to it"
    } else {
        ""
    };
    Some(format!("the wiring at {} ({how}){extra}", either(&places)))
}

/// "a", "a or b", "a, b or c".
pub(super) fn either(names: &[String]) -> String {
    match names {
        [others @ .., last] if !others.is_empty() => format!("{} or {last}", others.join(", ")),
        _ => names.concat(),
    }
}

/// "R5, the relay of the awning lamps and sign lamp (its contact, or what holds it on)", "cargo lamp", "the wiring at S1
/// (chafed or damp)".
pub(super) fn culprit(found: &Found, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    if let Some(wiring) = wiring(found, case) {
        return wiring;
    }
    let plain = named_cause(&found.subject.id(feeds), found.cause);
    let Some((id, switches)) = switch_words(found, feeds) else {
        return format!("{plain}{}", beside(found, case));
    };
    let fault = contact_fault(found, case);
    match switches {
        Some(of) => format!("{id}, {of} ({fault})"),
        None => format!("{id} ({fault})"),
    }
}

/// What came out for a proof, where that was not what is proven: a wire's fault is behind it somewhere.
pub(super) fn what_was_out(found: &Found, feeds: &Feeds) -> Option<String> {
    let wiring = matches!(found.cause, Cause::Leak | Cause::NotOnSheet);
    let taken = match found.out_in_its_place(feeds) {
        None if wiring => found.taken.iter().collect(),
        instead => instead?,
    };
    let names: Vec<String> = taken.iter().map(|taken| taken.name.clone()).collect();
    Some(listed(&names))
}

/// A coil with less than this share of its draw is off, with more than that it is on (judgement).
const COIL_OFF: f64 = 0.3;
const COIL_ON: f64 = 0.5;

/// What is wrong at a contact that should be open, as far as was shown: a coil that is on closes it as it should.
fn contact_fault(found: &Found, case: &Case<'_>) -> &'static str {
    let feeds = &case.setting().feeds;
    let coils = contact(found, feeds).map_or(&[][..], |contact| feeds.coils_of(contact));
    let passed = may_be_passed(found, case);
    let switch = contact(found, feeds).filter(|at| feeds.part(*at).kind == PartKind::Switch);
    if let Some(switch) = switch {
        return match seen(switch, case) {
            Some((false, _)) => "seen off: a wire past it, or it is closed inside",
            _ if passed => "on, or a wire past it",
            _ => "on though it should be off",
        };
    }
    match (coil_of(found, case), coils.is_empty()) {
        (Some(true), _) => "held on by its coil",
        _ if found.cause == Cause::CoilHeld && mate(case, found).is_none() => "held on by its coil",
        (Some(false), _) if passed => "stuck, or a wire past it",
        (Some(false), _) => "stuck",
        (None, true) if passed => "closed, or a wire past it",
        (None, true) => "closed though it should be open",
        (None, false) if passed => "its contact, a wire past it, or what holds it on",
        (None, false) => "its contact, or what holds it on",
    }
}

/// Whether a wire past a contact would have read like the contact closed: with the contact itself out it would feed
/// on, and a coil that is on closes it anyway.
pub(super) fn may_be_passed(found: &Found, case: &Case<'_>) -> bool {
    let contact = contact(found, &case.setting().feeds);
    let mut taken = found.taken.iter().flat_map(|taken| &taken.parts);
    let by_itself = taken.any(|part| Some(*part) == contact);
    contact.is_some()
        && found.cause == Cause::ContactClosed
        && !by_itself
        && coil_of(found, case) != Some(true)
}

/// Whether the coil of a contact is on, where anything tells.
pub(super) fn coil_of(found: &Found, case: &Case<'_>) -> Option<bool> {
    let feeds = &case.setting().feeds;
    let coils = contact(found, feeds).map_or(&[][..], |contact| feeds.coils_of(contact));
    // What is read once the fault has gone says nothing of how it was.
    let until = if found.returned {
        u32::MAX
    } else {
        found.draws[1]
    };
    coils.iter().find_map(|coil| is_on(*coil, until, case))
}

/// Whether a coil is on, by the last volts at it before an entry, else by what flows in it now; `None` where neither
/// tells.
fn is_on(coil: PartId, until: u32, case: &Case<'_>) -> Option<bool> {
    let counting = case.counting();
    let stands = |number: u32| number < until && counting.binary_search(&number).is_ok();
    let mut entries = case.entries().iter().rev();
    let volts = entries.find_map(|entry| match &entry.act {
        Act::Read {
            method: Method::Volts,
            point: Point::Part(part),
            reading,
            ..
        } if *part == coil && stands(entry.number) => Some(!reading.is_dead()),
        _ => None,
    });
    let takes = case.setting().feeds.coil_takes(coil).value();
    let flows = case.judged().view().current(coil);
    let current = || {
        let on = flows.low() >= COIL_ON * takes;
        (on || flows.high() <= COIL_OFF * takes).then_some(on)
    };
    volts.or_else(|| (until == u32::MAX).then(current).flatten())
}

/// What the relay of a proven contact or coil, or a proven switch, speaks for by how it was when it was last looked at,
/// as a sentence.
pub(super) fn felt(found: &Found, case: &Case<'_>) -> Option<String> {
    let feeds = &case.setting().feeds;
    let contact = contact(found, feeds)?;
    let at = std::iter::once(contact).chain(feeds.coils_of(contact).iter().copied());
    let (yes, entry) = at
        .filter_map(|part| seen(part, case))
        .max_by_key(|(_, entry)| *entry)?;
    let relay = feeds.part(contact).kind == PartKind::Relay;
    Some(match (relay, yes) {
        (true, true) => {
            format!("The relay felt warm (entry {entry}), which speaks for what holds it on.")
        }
        (true, false) => {
            format!("The relay felt cold (entry {entry}), which speaks for its contact.")
        }
        (false, true) => format!("The switch was seen on (entry {entry})."),
        (false, false) => format!(
            "The switch was seen off (entry {entry}), which speaks for a wire past it, or for its contacts inside."
        ),
    })
}
