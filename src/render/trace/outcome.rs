//! What a search has come to: readings that clash, the branch, its proof, and what comes after the last step.

use crate::case::{Case, Found, Located, Next, Reason, State};
use crate::feeds::{Named, PartId};
use crate::interval::Interval;
use crate::measurement::Method;
use crate::render::answer::{current, span};
use crate::render::cautions::beside;
use crate::render::culprit::{culprit, what_was_out, wiring};
use crate::render::log::duration;
use crate::render::mending::{before_mending, is_told_wet};
use crate::render::report::lasting;
use crate::render::trace::Lines;
use crate::render::words::{in_words, listed, number, spoken, spoken_branch};
use crate::report::Watched;
use crate::suspects::{Cause, Subject};
use std::fmt::Write as _;

/// Loads that are named before the rest is only counted.
const NAMED: usize = 4;

/// The entries that clash.
pub(super) fn clash(case: &Case<'_>, next: &Next, lines: &mut Lines) {
    for number in &next.clash {
        if let Some(entry) = case.entries().iter().find(|e| e.number == *number) {
            lines.push(("clash", format!("{number}: {}", entry.text)));
        }
    }
    if let Some(clash) = case.clash().filter(|_| !next.clash.is_empty()) {
        let id = case.setting().feeds.id(clash.part);
        lines.push((
            "clash",
            format!("They cannot all be right about {id} (why {id} says more)."),
        ));
    }
}

/// A branch that is suspected or located: in full where it is parted and at the end, else by name.
pub(super) fn branch(
    next: &Next,
    one: &Located,
    case: &Case<'_>,
) -> Option<(&'static str, String)> {
    let setting = case.setting();
    let mut found = next.found.iter();
    let found = found.find(|f| f.returned && f.subject.id(&setting.feeds) == one.id);
    match &next.test {
        None if found.is_some() => {
            // How much is said by its proof.
            let whole = Located {
                excess: Interval::not_negative(),
                id: found
                    .and_then(|found| wiring(found, case))
                    .unwrap_or_else(|| one.id.clone()),
                ..one.clone()
            };
            Some(("located", located(&whole, case)))
        }
        None => Some(("located", located(one, case))),
        // The proof says it.
        _ if next.reason == Reason::StaysOut => None,
        Some(test) if matches!(test.method, Method::Pull | Method::Unplug) => {
            Some(("testing", located(one, case)))
        }
        Some(_) => Some(("testing", spoken(&one.id))),
    }
}

/// A located branch: what, how much, the way there, where it comes out.
fn located(one: &Located, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let (low, high) = (one.excess.low(), one.excess.high());
    let mut text = spoken_branch(&one.id, feeds, is_told_wet(case));
    // An input is sought for what it keeps awake, and not for what it takes.
    let input = feeds.inputs().any(|(name, _)| name == one.id);
    if input {
        text.push_str(", for what it keeps awake");
    } else if low > 0.0 {
        let _ = write!(text, ", {} too much", span(one.excess));
    } else if high.is_finite() {
        let _ = write!(text, ", up to {} too much", current(high));
    }
    if !one.path.is_empty() {
        let path: Vec<_> = one.path.iter().map(|p| feeds.id(*p)).collect();
        let _ = write!(text, "; the way there: {}", path.join(" > "));
    }
    let nearest = one.unplug.first();
    if let Some(nearest) = nearest.filter(|nearest| **nearest != one.id) {
        let plug = matches!(feeds.find(nearest), Some(Named::Plug(_)));
        let word = if plug { "plug " } else { "comes out at " };
        let _ = write!(text, "; {word}{nearest}");
    }
    text
}

/// What a proof leaves open that was taken further up than at the part itself, and what would tell.
fn wire_beside(found: &Found, case: &Case<'_>) -> String {
    let setting = case.setting();
    let (Subject::Part(part), Cause::OwnDraw) = (&found.subject, found.cause) else {
        return String::new();
    };
    let tried = case.fell_nearer(found).unwrap_or_default();
    let at_it = |parts: &[PartId]| parts.contains(part);
    let nearer = at_it(&tried) || found.taken.iter().any(|taken| at_it(&taken.parts));
    let Some(taken) = found.taken.first().filter(|_| !nearer) else {
        return String::new();
    };
    let plug = &setting.feeds.part(*part).plug;
    let tells = plug.as_ref().map_or_else(String::new, |plug| {
        let plug = &plug.value;
        let careful = beside(&[*part], &setting.feeds);
        let careful = careful.map_or_else(String::new, |careful| {
            format!(" ({})", careful.trim_end_matches('.'))
        });
        format!(
            ": unplug {plug} and put {} back, and the draw tells which{careful}",
            taken.name
        )
    });
    format!(
        "; {} was out, so it or its wire from there on{tells}",
        taken.name
    )
}

/// What came out with it and is not told apart from it, and how to.
fn not_told_apart(found: &Found, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let others = case.not_told_apart(found);
    let Some(taken) = found.taken.first().filter(|_| !others.is_empty()) else {
        return String::new();
    };
    let first = others
        .iter()
        .take(NAMED)
        .map(|part| feeds.id(*part).to_owned());
    let mut names: Vec<String> = first.collect();
    let more = others.len().saturating_sub(NAMED);
    if more > 0 {
        names.push(format!("{more} more"));
    }
    let on = if taken.unplugged {
        "hang on"
    } else {
        "are fed by"
    };
    let hang = if others.len() == 1 {
        on.replacen("hang", "hangs", 1).replacen("are", "is", 1)
    } else {
        on.to_owned()
    };
    format!(
        "; {} {hang} {} too and could be it as well: look at each, or disconnect one at a time",
        listed(&names),
        taken.name
    )
}

/// What became of a proof.
pub(in crate::render) fn proof(found: &Found, case: &Case<'_>) -> String {
    let what = culprit(found, case);
    let fell = span(found.fell);
    if found.returned {
        let wire = wire_beside(found, case);
        let beside = not_told_apart(found, case);
        let it = what_was_out(found, &case.setting().feeds).unwrap_or_else(|| "it".to_owned());
        format!(
            "{what}: without {it} the draw fell by {fell}, with {it} the draw returned{wire}{beside}"
        )
    } else {
        format!("{what}: the draw fell by {fell} and has not returned: only reset, not proven")
    }
}

/// What is to be mended, and how that is entered: all that was proven.
fn to_mend(next: &Next, case: &Case<'_>) -> String {
    let setting = case.setting();
    let proven: Vec<&Found> = next.found.iter().filter(|found| found.returned).collect();
    let out_as = |found: &&Found| {
        let id = spoken(&found.subject.id(&setting.feeds));
        let taken = found.taken.iter().map(|taken| taken.name.clone());
        let taken = listed(&taken.collect::<Vec<_>>());
        (id, taken)
    };
    let taken_out: Vec<(String, String)> = proven.iter().map(out_as).collect();
    let (what, how) = match taken_out.as_slice() {
        [] => {
            return "Mend it. Then enter what was done, such as: repaired C114 chafed wire."
                .to_owned();
        }
        [(_, taken)] => {
            let relay =
                |found: &Found| matches!(found.cause, Cause::ContactClosed | Cause::CoilHeld);
            let done = if proven.iter().any(|found| relay(found)) {
                "new relay"
            } else {
                "chafed wire"
            };
            ("Mend it".to_owned(), format!("repaired {taken} {done}"))
        }
        several => {
            let names = several.iter().map(|(id, taken)| {
                if id == taken {
                    id.clone()
                } else {
                    format!("{id} ({taken})")
                }
            });
            let lines = several
                .iter()
                .map(|(_, taken)| format!("repaired {taken} and what was done"));
            let all = match several.len() {
                2 => "both".to_owned(),
                more => format!("all {}", in_words(more)),
            };
            let names = listed(&names.collect::<Vec<_>>());
            (
                format!("Mend {all}: {names}"),
                lines.collect::<Vec<_>>().join("; "),
            )
        }
    };
    let each = proven.iter().filter_map(|found| {
        let called = spoken(&found.subject.id(&setting.feeds));
        before_mending(found, &called, case)
    });
    let all: Vec<String> = std::iter::once(format!("{what}.")).chain(each).collect();
    format!(
        "{} Then enter what was done, such as: {how}. The draw is verified after that, with everything back in.",
        all.join(" ")
    )
}

/// What comes after the last step.
pub(super) fn afterwards(next: &Next, case: &Case<'_>, watched: Watched) -> Option<String> {
    let setting = case.setting();
    let text = match next.state {
        State::Confirmed => return Some(to_mend(next, case)),
        State::Located => {
            "Look closer there: its plugs, splices, damp, what is wired in; at a lead without a fuse only with the battery's negative lead off. Or hand over with what is not proven."
        }
        State::Verify if next.test.is_none() && next.reason == Reason::Mended => {
            let settle = number(setting.feeds.settle().value());
            match watched {
                Watched::Short(minutes) => {
                    let apart = lasting(minutes);
                    return Some(format!(
                        "NOT VERIFIED: the two readings are only {apart} apart, and less than {settle} min is too short; the write-up says so. Leave it as it is, as long as the fault took to show, and read it once more: draw and its reading. No time for that: put everything back as it was and write it up (report says how)."
                    ));
                }
                Watched::LogTooSoon { long, since } => {
                    return Some(log_too_soon(long, since));
                }
                Watched::Unknown => {
                    return Some(format!(
                        "How far apart the readings were is not known, and less than {settle} min is too short; the write-up says so. Were they further apart: case done, put everything back as it was and write it up (report says how). Else leave it, as long as the fault took to show, and read it once more: draw and its reading."
                    ));
                }
                Watched::LoggedAsEntered => {
                    "The log is taken as entered, not by this program's clock. Case done. Put everything back as it was and write it up (report says how)."
                }
                Watched::Long(_) | Watched::Logged => {
                    "Case done. Put everything back as it was and write it up (report says how)."
                }
            }
        }
        State::Verify if next.test.is_none() => {
            "The case stops here, with the repair not verified; the write-up says so. A draw read later still counts: draw and its reading. Put everything back as it was and write it up (report says how)."
        }
        State::Gone => {
            "Put the vehicle back into the state in which it goes flat, and read the draw over a longer time."
        }
        State::WithinLimit => {
            "Ask when it goes flat, and leave it as the owner does: told parked, told days, told dead."
        }
        _ => return None,
    };
    Some(text.to_owned())
}

/// That a log cannot have run since the repair, and what is typed once one has.
fn log_too_soon(long: f64, since: f64) -> String {
    let long = duration(long);
    format!(
        "NOT VERIFIED: a log of {long} was entered {} after the last thing that was done, so it cannot have run since; the write-up says so. Leave it as it is and log it from now on. Once it is over: logged {} most and the highest in it. No time for that: put everything back as it was and write it up (report says how).",
        lasting(since),
        long.replace(' ', "")
    )
}
