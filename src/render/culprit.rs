//! What was proven, by a name that a person knows, and no more than was proven.

use crate::case::{Case, Found};
use crate::feeds::{Feeds, PartId};
use crate::journal::{Act, Point, Seen};
use crate::measurement::Method;
use crate::render::words::{listed, named_cause};
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
fn contact(found: &Found, feeds: &Feeds) -> Option<PartId> {
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

/// Other faults of the wire that are named before the rest is only counted.
const OF_THE_WIRE: usize = 2;

/// "R5, the relay of the awning lamps and sign lamp (its contact, or what holds it on)", "cargo lamp", "something extra
/// wired to A6, or a leak in the wiring at S1".
pub(super) fn culprit(found: &Found, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let plain = named_cause(&found.subject.id(feeds), found.cause);
    let Some((id, switches)) = switch_words(found, feeds) else {
        let others = wiring_too(case, found);
        let few = others.iter().take(OF_THE_WIRE);
        let mut names: Vec<String> = few.map(|(id, cause)| named_cause(id, *cause)).collect();
        if others.len() > OF_THE_WIRE {
            names.push("elsewhere on that wire".to_owned());
        }
        let either = names.iter().map(|name| format!(", or {name}"));
        let either = either.collect::<String>();
        let output = switched_on_by(found, feeds).unwrap_or_default();
        return format!("{plain}{either}{output}");
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

/// " (or what keeps dome output on: lamp delay unit)": a load on an output draws because that is on, unless its own
/// wire leaks. `None` for what hangs on none.
pub(super) fn switched_on_by(found: &Found, feeds: &Feeds) -> Option<String> {
    let Subject::Part(load) = found.subject else {
        return None;
    };
    let mut above = std::iter::successors(feeds.up(load), |part| feeds.up(*part));
    let output = above.find(|part| feeds.part(*part).kind == PartKind::Output)?;
    let module = above.find_map(|part| feeds.module_of(part));
    let by = module.map_or_else(
        || feeds.up(output).map_or("", |up| feeds.id(up)),
        |module| feeds.module(module).id.value.as_str(),
    );
    let own = found.cause == Cause::OwnDraw;
    own.then(|| format!(" (or what keeps {} on: {by})", feeds.id(output)))
}

/// A coil with less than this share of its draw is off, with more than that it is on (judgement).
const COIL_OFF: f64 = 0.3;
const COIL_ON: f64 = 0.5;

/// What is wrong at a contact that should be open, as far as was shown: a coil that is on closes it as it should.
fn contact_fault(found: &Found, case: &Case<'_>) -> &'static str {
    let feeds = &case.setting().feeds;
    let coils = contact(found, feeds).map_or(&[][..], |contact| feeds.coils_of(contact));
    let passed = may_be_passed(found, case);
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
    coils.iter().find_map(|coil| is_on(*coil, case))
}

/// Whether a coil is on, by the last volts at it, else by what flows in it; `None` where neither tells.
fn is_on(coil: PartId, case: &Case<'_>) -> Option<bool> {
    let counting = case.counting();
    let stands = |number: u32| counting.binary_search(&number).is_ok();
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
    volts.or_else(current)
}

/// Whether the relay of a proven contact or coil felt warm when it was last looked at, and the entry.
pub(super) fn felt(found: &Found, case: &Case<'_>) -> Option<(bool, u32)> {
    let feeds = &case.setting().feeds;
    let contact = contact(found, feeds)?;
    let counting = case.counting();
    let stands = |number: u32| counting.binary_search(&number).is_ok();
    let entries = case.entries().iter().rev();
    let mut looks = entries.filter(|entry| stands(entry.number));
    looks.find_map(|entry| match &entry.act {
        Act::Look {
            point: Point::Part(part),
            seen,
            ..
        } if *part == contact || feeds.coils_of(contact).contains(part) => {
            Some((*seen == Seen::Yes, entry.number))
        }
        _ => None,
    })
}
