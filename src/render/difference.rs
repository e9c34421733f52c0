//! What two vehicle files say differently, in words.

use crate::difference::{Difference, Lone};
use crate::problem::clean;
use crate::render::words::count;
use std::fmt::Write as _;

/// The difference in lines of at most `width` columns (a longer single word apart), each kind of
/// difference under its own head.
pub fn difference(difference: &Difference, width: usize) -> String {
    let said = |value: &Option<String>| value.clone().unwrap_or_else(|| "not given".to_owned());
    let lone = |part: &Lone| {
        let kind = part.kind.to_lowercase();
        match &part.fed_by {
            Some(above) => format!("{}: {kind}, fed by {above}", part.id),
            None => format!("{}: {kind}", part.id),
        }
    };
    let refed = difference.refed.iter().map(|part| {
        let nothing = "nothing".to_owned();
        let from = part.from.as_ref().unwrap_or(&nothing);
        let to = part.to.as_ref().unwrap_or(&nothing);
        format!("{}: was fed by {from}, now by {to}", part.id)
    });
    let changed = difference.changed.iter().map(|change| {
        let of = change.id.as_deref().unwrap_or("the vehicle");
        let (from, to) = (said(&change.from), said(&change.to));
        format!("{of}: {} was {from}, now {to}", change.field)
    });
    let sections = [
        (
            "added",
            difference.added.iter().map(lone).collect::<Vec<_>>(),
        ),
        ("removed", difference.removed.iter().map(lone).collect()),
        ("fed from elsewhere", refed.collect()),
        ("changed", changed.collect()),
    ];
    let mut out = String::new();
    for (head, lines) in sections.iter().filter(|(_, lines)| !lines.is_empty()) {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{head} ({})", lines.len());
        for line in lines {
            let look = textwrap::Options::new(width)
                .initial_indent("  ")
                .subsequent_indent("      ");
            out.push_str(&textwrap::fill(&clean(line), look));
            out.push('\n');
        }
    }
    let _ = writeln!(out, "same in both: {}", count(difference.same, "part"));
    out
}
