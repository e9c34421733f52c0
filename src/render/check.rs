//! The summary behind `check`, in words.

use crate::feeds::Feeds;
use crate::problem::clean;
use std::fmt::Write as _;

/// "1 fuse", "2 fuses", "3 switches".
fn count(number: usize, word: &str) -> String {
    let plural = if word.ends_with("ch") {
        "es"
    } else if number == 1 {
        ""
    } else {
        "s"
    };
    let plural = if number == 1 { "" } else { plural };
    match word.strip_suffix('y') {
        Some(stem) if number != 1 => format!("{number} {stem}ies"),
        _ => format!("{number} {word}{plural}"),
    }
}

/// A number without a needless fraction.
fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn source(given: bool) -> &'static str {
    if given {
        "from the file"
    } else {
        "assumed: the file does not say"
    }
}

/// What a sound vehicle file holds and what is assumed where it is silent. Cost: linear in parts.
pub fn check(feeds: &Feeds) -> String {
    let summary = feeds.summary();
    let mut out = String::new();
    let parts: Vec<_> = summary
        .parts
        .iter()
        .map(|(kind, n)| count(*n, &kind.word().to_lowercase()))
        .collect();
    let _ = writeln!(out, "{}", clean(&summary.name));
    let _ = writeln!(out, "  parts    {}", parts.join(", "));
    let _ = writeln!(
        out,
        "  modules  {} on {}",
        count(summary.modules, "module"),
        count(summary.networks, "network")
    );
    for (place, reach, given) in &summary.places {
        let note = if *given { "" } else { " (assumed)" };
        let _ = writeln!(
            out,
            "  place    {}: {} min to reach{note}",
            clean(place),
            number(reach.value())
        );
    }
    let _ = writeln!(
        out,
        "  supply   {} V, {}",
        number(summary.volts.0.value() / 1000.0),
        source(summary.volts.1)
    );
    let _ = match summary.limit {
        (Some(limit), true) => writeln!(
            out,
            "  limit    {} mA settled, from the file",
            number(limit.value())
        ),
        (Some(limit), false) => writeln!(
            out,
            "  limit    {} mA settled, assumed (common practice, no source): look up the maker's",
            number(limit.value())
        ),
        (None, _) => writeln!(out, "  limit    none: no verdict without it; ask the maker"),
    };
    let _ = writeln!(
        out,
        "  settle   {} min to fall asleep, {}",
        number(summary.settle.0.value()),
        source(summary.settle.1)
    );
    let _ = writeln!(
        out,
        "  asleep   {} mA usual in all, of which {} mA are defaults by kind",
        number(summary.asleep.0.value()),
        number(summary.asleep.1.value())
    );
    if !summary.not_entered.is_empty() {
        let names: Vec<_> = summary.not_entered.iter().map(|n| clean(n)).collect();
        let _ = writeln!(
            out,
            "  not entered yet below {} (each is a suspect itself)",
            names.join(", ")
        );
    }
    if summary.nowhere > 0 {
        let _ = writeln!(out, "  {} without a place", count(summary.nowhere, "part"));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_and_numbers_read_right() {
        let counted: Vec<_> = [
            (1, "fuse"),
            (2, "fuse"),
            (1, "switch"),
            (2, "switch"),
            (1, "battery"),
            (2, "battery"),
        ]
        .iter()
        .map(|(n, word)| count(*n, word))
        .collect();
        assert_eq!(
            counted,
            [
                "1 fuse",
                "2 fuses",
                "1 switch",
                "2 switches",
                "1 battery",
                "2 batteries"
            ]
        );
        assert_eq!(
            (number(45.0), number(1.5)),
            ("45".to_owned(), "1.5".to_owned())
        );
    }
}
