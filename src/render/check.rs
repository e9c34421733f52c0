//! The summary behind `check`, in words.

use crate::feeds::Feeds;
use crate::problem::clean;
use crate::render::words::{TOGETHER, count, number};

fn source(given: bool) -> &'static str {
    if given { "from the file" } else { "assumed" }
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
    for (place, reach, given) in &summary.places {
        let note = if *given { "" } else { ", assumed (judgement)" };
        let minutes = number(reach.value());
        lines.push(("place", format!("{place}: {minutes} min to reach{note}")));
    }
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
    lines.push((
        "asleep",
        format!("{} mA usual in all", number(summary.asleep.0.value())),
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
