//! The summary behind `check`, in words.

use crate::feeds::Feeds;
use crate::problem::clean;
use crate::render::words::{TOGETHER, count, number};
use crate::vehicle::Place;

fn source(given: bool) -> &'static str {
    if given { "from the file" } else { "assumed" }
}

/// Places named before the rest is only counted.
const NAMED: usize = 5;

/// What has to be opened before the vehicle sleeps, and what takes longest to get at; the rest counted.
fn places(feeds: &Feeds) -> Vec<(&'static str, String)> {
    let written = || feeds.places().map(|place| feeds.place_as_written(place));
    let named = |place: &Place| {
        let minutes = number(place.reach.value());
        format!("{} {minutes} min", place.id.value).replace(' ', TOGETHER)
    };
    let mut lines = Vec::new();
    let wakes: Vec<_> = written().filter(|place| place.wakes).map(named).collect();
    if !wakes.is_empty() {
        let text = format!(
            "to open before it falls asleep, else getting there wakes it: {}",
            wakes.join(", ")
        );
        lines.push(("places", text));
    }
    let mut others: Vec<&Place> = written().filter(|place| !place.wakes).collect();
    // The order of the file where they take as long.
    others.sort_by(|a, b| b.reach.value().total_cmp(&a.reach.value()));
    if !others.is_empty() {
        let head = if wakes.is_empty() { "" } else { "others: " };
        let shown: Vec<_> = others.iter().take(NAMED).map(|p| named(p)).collect();
        let rest = match others.get(NAMED) {
            Some(next) => format!(
                ", and {} more of {} min at most",
                others.len() - NAMED,
                number(next.reach.value())
            ),
            None => String::new(),
        };
        let text = format!("{head}{}{rest}", shown.join(", "));
        lines.push((if head.is_empty() { "places" } else { "" }, text));
    }
    let assumed = written().filter(|place| !place.reach_given).count();
    if assumed > 0 {
        let minutes = number(Place::USUAL_REACH.value());
        let text = format!(
            "{}: {minutes} min to reach, assumed (judgement)",
            count(assumed, "place")
        );
        lines.push(("assumed", text));
    }
    lines
}

/// What a sound vehicle file holds and what is assumed where it is silent, in lines of at most
/// `width` columns (a longer single word apart). Cost: linear in parts.
pub fn check(feeds: &Feeds, width: usize) -> String {
    let summary = feeds.summary();
    let parts: Vec<_> = summary
        .parts
        .iter()
        .map(|(kind, n)| count(*n, &kind.word().to_lowercase()).replace(' ', TOGETHER))
        .collect();
    let mut lines = vec![
        ("parts", parts.join(", ")),
        (
            "modules",
            format!(
                "{} on {}",
                count(summary.modules, "module"),
                count(summary.networks, "network")
            ),
        ),
    ];
    lines.extend(places(feeds));
    let volts = number(summary.volts.0.value() / 1000.0);
    lines.push(("supply", format!("{volts} V, {}", source(summary.volts.1))));
    let limit = match summary.limit {
        (Some(limit), true) => format!("{} mA settled, from the file", number(limit.value())),
        (Some(limit), false) => format!(
            "{} mA settled, assumed (common practice, no source): look up the maker's",
            number(limit.value())
        ),
        (None, _) => "none, so no verdict: ask the maker".to_owned(),
    };
    lines.push(("limit", limit));
    let settle = number(summary.settle.0.value());
    lines.push((
        "settle",
        if summary.settle.1 {
            format!("{settle} min to fall asleep, from the file")
        } else {
            format!("{settle} min to fall asleep, assumed (from memory): look up the maker's")
        },
    ));
    let usual = summary.asleep.0;
    lines.push((
        "asleep",
        match summary.limit.0.filter(|limit| usual > *limit) {
            Some(limit) => format!(
                "{} mA usual in all, over the limit of {} mA: as entered a healthy vehicle would fail, so too little gets ruled out. Look up the limit, and whether the largest asleep values are in mA and taken asleep; correct what is wrong in the file",
                number(usual.value()),
                number(limit.value())
            ),
            None => format!("{} mA usual in all", number(usual.value())),
        },
    ));
    for (kind, loads, usual, most) in &summary.assumed {
        lines.push((
            "assumed",
            format!(
                "{} of kind {}: {} mA usual, at most {} mA in all",
                count(*loads, "load"),
                kind.word(),
                number(usual.value()),
                number(most.value())
            ),
        ));
    }
    if !summary.not_entered.is_empty() {
        let names = summary.not_entered.join(", ");
        lines.push((
            "unknown",
            format!("nothing entered yet below {names}: each is a suspect itself"),
        ));
    }
    if summary.nowhere > 0 {
        lines.push((
            "nowhere",
            format!("{} without a place", count(summary.nowhere, "part")),
        ));
    }
    let mut out = textwrap::fill(&clean(&summary.name), width);
    out.push('\n');
    for (head, text) in lines {
        let head = format!("  {head:<9}");
        let look = textwrap::Options::new(width)
            .initial_indent(&head)
            .subsequent_indent("           ");
        out.push_str(&textwrap::fill(&clean(&text), look).replace(TOGETHER, " "));
        out.push('\n');
    }
    out
}
