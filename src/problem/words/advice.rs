//! What a careful colleague would ask.

use super::Finding;
use crate::problem::{Fault, Span};

/// `what`: a code, or a code and a name.
pub(crate) fn idle_accept(what: &str) -> Finding {
    Finding::new(
        Fault::IdleAccept,
        format!("nothing is asked about \"{what}\" any more"),
        "take it out, or type the code and the name as check shows them",
    )
}

// Fuses and their wires.

pub(crate) fn no_rating(fuse: &str) -> Finding {
    Finding::new(
        Fault::NoRating,
        format!("what rating is {fuse}? without it a drop across it gives no current"),
        "type rating: A(10) with the number on the fuse, and its style",
    )
    .about(fuse)
}

/// `amps`: the fuse's rating; `carries`: of the wire to `name`, in A.
pub(crate) fn thin_wire(
    (fuse, amps, at_rating): (&str, f64, &Span),
    (name, size, carries): (&str, &str, f64),
) -> Finding {
    Finding::new(
        Fault::ThinWire,
        format!(
            "{fuse} is {amps} A, and the wire to {name} behind it, {size}, carries about {carries} A"
        ),
        "look up both again: the fuse as fitted, the wire as drawn",
    )
    .about(name)
    .beside(at_rating, "this fuse protects it")
}

// Rows of numbers.

/// `missing`: at least one; `place`: of the row; `first` and `next`: the parts at both ends of the gap.
pub(crate) fn number_gap(
    missing: &[String],
    place: Option<&str>,
    first: &str,
    next: &str,
) -> Finding {
    let is = if missing.len() == 1 { "is" } else { "are" };
    let whose = place.map_or(String::new(), |place| format!(" of {place}"));
    let name = missing.first().map_or("", String::as_str);
    Finding::new(
        Fault::NumberGap,
        format!(
            "what {is} {}{whose}? between {first} and {next} nothing was entered",
            missing.join(" and ")
        ),
        format!("enter it, or accept: {{ \"number-gap {name}\": \"an empty holder\" }}"),
    )
    .about(name)
}

/// `missing`: at least one.
pub(crate) fn sheet_gap(missing: &[String], before: &str, behind: &str) -> Finding {
    let s = if missing.len() == 1 { "" } else { "s" };
    let name = missing.first().map_or("", String::as_str);
    Finding::new(
        Fault::SheetGap,
        format!(
            "what is on sheet{s} {}? nothing was entered from there, but from {before} and {behind}",
            missing.join(" and ")
        ),
        format!("enter what it feeds, or accept: {{ \"sheet-gap {name}\": \"no feeds there\" }}"),
    )
    .about(name)
}

// Loads and modules.

pub(crate) fn no_plug(load: &str) -> Finding {
    Finding::new(
        Fault::NoPlug,
        format!("which plug is {load} on? unplugging it alone is what would prove it"),
        "type plug: \"C1\" with the connector's number, or never: [Unplug]",
    )
    .about(load)
}

/// `looked_for`: the place where it would be looked for, and the part that is there.
pub(crate) fn no_place(load: &str, looked_for: Option<(&str, &str)>) -> Finding {
    Finding::new(
        Fault::NoPlace,
        looked_for.map_or_else(
            || format!("where is {load}? nothing above it has a place either"),
            |(place, part)| {
                format!("where is {load}? it would be looked for in {place}, where {part} is")
            },
        ),
        "type at: \"roof\", and the place with its minutes in places",
    )
    .about(load)
}

pub(crate) fn unfed_module(module: &str) -> Finding {
    Finding::new(
        Fault::UnfedModule,
        format!("what feeds {module}? no load is a feed of it"),
        format!("type of: \"{module}\" in each load that is one of its feeds"),
    )
    .about(module)
}

pub(crate) fn lone_feed(module: &str, feed: &str, at_feed: &Span) -> Finding {
    Finding::new(
        Fault::LoneFeed,
        format!("is {feed} the only feed of {module}? such modules often have two or more"),
        "look on its own sheet for further supply pins, or accept it with the reason",
    )
    .about(module)
    .beside(at_feed, "its one feed")
}

/// All in mA; `assumed`: of the draws asleep, from defaults.
pub(crate) fn asleep_over_limit(all: f64, assumed: f64, limit: f64) -> Finding {
    let rounded = |milliamps: f64| (milliamps * 10.0).round() / 10.0;
    let of_it = if assumed > 0.0 {
        format!(", {} mA of them assumed", rounded(assumed))
    } else {
        String::new()
    };
    Finding::new(
        Fault::AsleepOverLimit,
        format!(
            "the usual draws asleep are {} mA in all{of_it}: more than the limit of {} mA",
            rounded(all),
            rounded(limit)
        ),
        "look up the limit, and `asleep` of the largest loads, again",
    )
}

// Places.

/// `fuses`: how many hang on a battery elsewhere.
pub(crate) fn unfed_box(place: &str, fuses: usize) -> Finding {
    Finding::new(
        Fault::UnfedBox,
        format!(
            "what feeds {place}? {fuses} of its fuses hang straight on the battery, with no cable or link between"
        ),
        "put them inside the feeds of a Link or Cable with its rating or wire",
    )
    .about(place)
}

pub(crate) fn empty_place(place: &str) -> Finding {
    Finding::new(
        Fault::EmptyPlace,
        format!("what is in {place}? no part is there, nor further in"),
        format!("type at: \"{place}\" in the parts that are, or take the place out"),
    )
    .about(place)
}

pub(crate) fn far_place(place: &str, minutes: f64) -> Finding {
    Finding::new(
        Fault::FarPlace,
        format!(
            "does it take {} min to get at {place}? no plan would ever go there",
            minutes.round()
        ),
        "type reach: minutes(20): from the place it is within to both hands on it",
    )
    .about(place)
}

// Names and labels.

pub(crate) fn near_twins(name: &str, other: &str, at_other: &Span) -> Finding {
    Finding::new(
        Fault::NearTwins,
        format!(
            "\"{name}\" and \"{other}\" differ in capitals or blanks alone: are they two things?"
        ),
        "type the same where they are one; else a name that can be told apart aloud",
    )
    .about(name)
    .beside(at_other, OTHER)
}

const OTHER: &str = "the other one";

pub(crate) fn same_label(label: &str, name: &str, other: &str, at_other: &Span) -> Finding {
    Finding::new(
        Fault::SameLabel,
        format!(
            "{other} and {name} are both \"{label}\" on the lid, and in one box for all that is entered"
        ),
        "type at: with its own box in each; place first, then number",
    )
    .about(name)
    .beside(at_other, OTHER)
}
