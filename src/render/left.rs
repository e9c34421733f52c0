//! Whether anything is left, in plain words: at the end, in the write-up, and on `why draw`.

use crate::case::{Case, Left, OnePlug, Remainder};
use crate::measurement::Method;
use crate::render::answer::{current, span};
use crate::render::culprit::{coil_of, contact};
use crate::render::trace::proof;
use crate::render::words::{listed, under_heads};

/// Whether anything is left, in a sentence or two.
pub(super) fn left_words(remainder: &Remainder, case: &Case<'_>) -> String {
    let setting = case.setting();
    let flows = span(remainder.current);
    let out = listed(&remainder.out);
    let with = if remainder.out.is_empty() {
        "with everything in".to_owned()
    } else {
        format!("with {out} out")
    };
    let limit = current(setting.limit());
    let assumed = if remainder.assumed {
        " (in part a usual figure, not in the file)"
    } else {
        ""
    };
    let usual = format!("{} that is usual asleep{assumed}", current(remainder.usual));
    match remainder.left {
        Left::Nothing if remainder.current.high() <= remainder.usual => {
            format!("Nothing: {flows} {with} is no more than the {usual}; the limit is {limit}.")
        }
        Left::Nothing => {
            format!(
                "Nothing: {flows} {with} is hardly more than the {usual}; the limit is {limit}."
            )
        }
        Left::MoreThanUsual(above) => format!(
            "Nothing over the limit of {limit}: {flows} {with}. But that is at least {} more than the {usual}: a small drain may be in it, and was not looked for.",
            current(above)
        ),
        Left::Over(over) if remainder.out.is_empty() => {
            format!(
                "Yes: {flows} {with}, at least {} over the limit of {limit}.",
                current(over)
            )
        }
        Left::Over(over) => format!(
            "Yes: {flows} {with}, at least {} over the limit of {limit}. {}",
            current(over),
            coil_left(over, case).unwrap_or_else(|| "There is another drain.".to_owned())
        ),
        Left::MayBeOver => format!(
            "Not known yet: {flows} {with}, and the limit is {limit}. Read it on a finer range."
        ),
        Left::NoLimit => format!("Not known: {flows} {with}, and no limit is known."),
    }
}

/// A coil takes no more than so many times what is told of it (judgement).
const SPREAD: f64 = 1.3;

/// That what is left may be the coil of a proven relay, which is on: with its load out that still takes its own.
fn coil_left(over: f64, case: &Case<'_>) -> Option<String> {
    let feeds = &case.setting().feeds;
    let next = case.next();
    let mut proven = next.found.iter().filter(|found| found.returned);
    proven.find_map(|found| {
        let relay = contact(found, feeds).filter(|_| coil_of(found, case) == Some(true))?;
        let coils = feeds.coils_of(relay).iter();
        let takes: f64 = coils.map(|coil| feeds.coil_takes(*coil).value()).sum();
        (over <= SPREAD * takes).then(|| {
            format!(
                "That may be the coil of {}, which is on and takes about {} by itself: mend what holds it on first.",
                feeds.id(relay),
                current(takes)
            )
        })
    })
}

/// That several hang on one plug, what fell with it out, and how to tell them apart.
pub(super) fn one_plug_words(one: &OnePlug) -> String {
    let OnePlug { plug, ids, fell } = one;
    let fell = fell.map_or_else(String::new, |fell| {
        format!(
            "With {plug} out the draw fell by {}: it is behind that. ",
            span(fell)
        )
    });
    let hang = match ids.len() {
        2 => "both hang",
        _ => "all hang",
    };
    format!(
        "{fell}{} {hang} on {plug}, so unplugging does not tell which: look at each, or disconnect one at a time behind the plug.",
        listed(ids)
    )
}

/// The answer to `why draw`: what is left, the settled draws, and what was proven.
pub fn why_draw(case: &Case<'_>, width: usize) -> String {
    let setting = case.setting();
    let draws = || {
        let readings = case.readings().iter();
        readings.filter(|shown| shown.method == Method::Draw && shown.taken)
    };
    let left = match case.remainder() {
        Some(remainder) => left_words(&remainder, case),
        None if draws().next().is_some() => {
            "Not known yet: the draw was read with something out, and not with everything in."
                .to_owned()
        }
        None => "No settled draw was read yet.".to_owned(),
    };
    let mut lines = vec![("left", left)];
    let feeds = &setting.feeds;
    lines.extend(draws().filter_map(|shown| {
        let parts = shown.out.parts().map(|p| feeds.id(p));
        let out = parts.chain(shown.out.inputs()).map(str::to_owned);
        let out: Vec<String> = out.collect();
        let state = if out.is_empty() {
            "everything in".to_owned()
        } else {
            format!("{} out", listed(&out))
        };
        let text = format!("{}: entry {}, {state}", span(shown.current?), shown.entry);
        Some(("draw", text))
    }));
    let found = case.next().found;
    lines.extend(found.iter().map(|found| ("proof", proof(found, case))));
    under_heads(&lines, width)
}
