//! What was proven, by a name that a person knows, and no more than was proven.

use crate::case::{Case, Found};
use crate::feeds::{Feeds, PartId};
use crate::journal::{Act, Point, Seen};
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
        return plain + &either.collect::<String>();
    };
    let either = mate(case, found).is_some();
    match (either, switches) {
        (true, Some(of)) => format!("{id}, {of} (its contact, or what holds it on)"),
        (true, None) => format!("{id} (its contact, or what holds it on)"),
        (false, Some(of)) => format!("{plain} ({id} is {of})"),
        (false, None) => plain,
    }
}

/// What came out for a proof, where that was not what is proven.
pub(super) fn what_was_out(found: &Found, feeds: &Feeds) -> Option<String> {
    let taken = found.out_in_its_place(feeds)?;
    let names: Vec<String> = taken.iter().map(|taken| taken.name.clone()).collect();
    Some(listed(&names))
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
