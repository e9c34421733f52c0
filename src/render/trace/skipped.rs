//! What was skipped: what is done in its place, and how it is taken up again.

use crate::case::{Case, Entry, Next, Recorded, State};
use crate::feeds::{Feeds, Named, PartId, PlaceId};
use crate::journal::{Act, Point, word};
use crate::measurement::Method;
use crate::render::cautions::touched;
use crate::render::words::listed;
use crate::report;

/// What is left out from here on, what is done in its place, and how all of a place is left out where that is
/// there too.
pub(super) fn skipped(done: &Recorded, case: &Case<'_>, next: &Next) -> Option<String> {
    let feeds = &case.setting().feeds;
    let skips = done.entries.iter().filter_map(|entry| match &entry.act {
        Act::Skip { method, point, .. } => Some(skipped_test(*method, &case.name(point), case)),
        _ => None,
    });
    let skips: Vec<String> = skips.collect();
    let wait = |entry: &Entry| {
        matches!(
            entry.act,
            Act::Skip {
                method: Method::Wait,
                ..
            }
        )
    };
    if done.entries.iter().any(wait) {
        return Some("a wait cannot be left out: what is read awake rules nothing out".to_owned());
    }
    let instead = match &next.test {
        Some(test) => format!("instead: {}", test.entry),
        None => "nothing else is left to do for it".to_owned(),
    };
    let next_at = next.test.as_ref().and_then(|test| test.place);
    let there = done.entries.iter().find_map(|entry| {
        let Act::Skip { point, reason, .. } = &entry.act else {
            return None;
        };
        let place = place_of(point, feeds).filter(|at| next_at == Some(*at))?;
        let reason = if reason.is_empty() {
            "no access"
        } else {
            reason
        };
        let name = case.name(&Point::Place(place));
        Some(format!(
            ", at {name} too. Nothing there can be got at? skip place {reason}"
        ))
    });
    let there = there.unwrap_or_default();
    (!skips.is_empty()).then(|| format!("{} from here on; {instead}{there}", listed(&skips)))
}

/// "look cargo lamp"; of what is read of all of it, or waited for, its word alone; of a place all of it.
fn skipped_test(method: Method, name: &str, case: &Case<'_>) -> String {
    if method == Method::Open {
        return everything_at(name);
    }
    let word = word(method);
    let whole = name == case.setting().feeds.id(PartId(0));
    if whole {
        word.to_owned()
    } else {
        format!("{word} {name}")
    }
}

/// "everything at bonnet box", "everything behind dash".
pub(in crate::render) fn everything_at(place: &str) -> String {
    const SAYS_WHERE: [&str; 9] = [
        "behind", "under", "below", "in", "on", "inside", "beside", "near", "above",
    ];
    let first = place.split(' ').next().unwrap_or_default();
    if SAYS_WHERE.contains(&first) {
        format!("everything {place}")
    } else {
        format!("everything at {place}")
    }
}

/// That something else was skipped at what this step is about.
pub(super) fn skipped_there(case: &Case<'_>, next: &Next) -> Option<String> {
    let test = next.test.as_ref()?;
    if matches!(test.method, Method::Draw | Method::Refit | Method::Wait) {
        return None;
    }
    let feeds = &case.setting().feeds;
    let about = touched(test, feeds);
    let counting = case.counting();
    let mut entries = case.entries().iter().rev();
    entries.find_map(|entry| {
        let Act::Skip { method, point, reason } = &entry.act else {
            return None;
        };
        let name = case.name(point);
        let there = match feeds.find(&name)? {
            Named::Part(part) => part.0 != 0 && about.contains(part),
            Named::Plug(parts) => parts.iter().any(|part| about.contains(part)),
            _ => false,
        };
        let stands = counting.binary_search(&entry.number).is_ok();
        let reason = if reason.is_empty() { String::new() } else { format!(": {reason}") };
        (there && stands).then(|| {
            format!(
                "{} {name} was skipped in entry {}{reason}. Of what is left this tells most; where it cannot be done either: skip and why.",
                word(*method),
                entry.number
            )
        })
    })
}

/// At an end without a proof: what was skipped and may still tell, each with its reason, and how it is taken up.
pub(super) fn left_out(case: &Case<'_>, next: &Next) -> Option<String> {
    let open = next.test.is_none() && matches!(next.state, State::Located | State::Undecidable);
    let numbers = open.then(|| report::skipped(case))?;
    let said = numbers.iter().filter_map(|number| {
        let Act::Skip {
            method,
            point,
            reason,
        } = &case.entries().get(*number as usize - 1)?.act
        else {
            return None;
        };
        let test = skipped_test(*method, &case.name(point), case);
        let colon = if reason.is_empty() { "" } else { ": " };
        Some(format!("{test}{colon}{reason} (entry {number})"))
    });
    let said: Vec<String> = said.collect();
    let last = numbers.last()?;
    Some(format!(
        "{}. Can it be done after all? Type the test with what it shows, or withdraw {last} and it is asked for.",
        said.join("; ")
    ))
}

fn place_of(point: &Point, feeds: &Feeds) -> Option<PlaceId> {
    match point {
        Point::Part(part) => feeds.place(*part),
        Point::Plug(_, parts) => feeds.place(*parts.first()?),
        Point::Module(module) => feeds.place(*feeds.module_feeds(*module).first()?),
        _ => None,
    }
}
