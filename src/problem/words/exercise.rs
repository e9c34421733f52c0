//! An exercise file, and what it names at its vehicle.

use super::{Finding, meant};
use crate::problem::{Fault, Span};

pub(crate) fn no_field(field: &str, example: &str) -> Finding {
    Finding::new(
        Fault::NoField,
        format!("the exercise has no `{field}`"),
        format!("type {field}: {example},"),
    )
}

pub(crate) fn not_whole(number: f64) -> Finding {
    Finding::new(
        Fault::Number,
        format!("`{number}` is not a whole number"),
        format!("type {}", number.round()),
    )
}

// The seal.

pub(crate) fn open_beside_seal(field: &str, seal: &Span) -> Finding {
    Finding::new(
        Fault::Seal,
        format!("`{field}` stands open beside the seal that should hide it"),
        format!("take `{field}` out, or take `sealed` out"),
    )
    .beside(seal, "the seal")
}

#[cfg(feature = "cli")]
pub(crate) fn other_passphrase() -> Finding {
    Finding::new(
        Fault::Seal,
        "this seal does not open with this passphrase",
        "give the one it was sealed with",
    )
}

#[cfg(feature = "cli")]
pub(crate) fn no_seal() -> Finding {
    Finding::new(
        Fault::Seal,
        "this is no seal, or it was changed",
        "seal the exercise anew: halfsplit exercise FILE --seal OUT",
    )
}

// Causes and questions. Every `example` is a whole one as it might be written.

fn no_cause(message: &str, example: &str) -> Finding {
    Finding::new(Fault::NoCause, message, format!("type {example}"))
}

pub(crate) fn two_causes(example: &str) -> Finding {
    no_cause(
        "two causes in one: each stands in a `Cause` of its own",
        example,
    )
}

pub(crate) fn empty_cause(example: &str) -> Finding {
    no_cause(
        "this cause says neither part, coil, contact, holds_awake nor blown",
        example,
    )
}

pub(crate) fn no_current(example: &str) -> Finding {
    no_cause("what it takes is missing", example)
}

pub(crate) fn no_reply(example: &str) -> Finding {
    Finding::new(
        Fault::NoReply,
        "a question needs `ask` and its answer: `parts`, `current` or `words`",
        format!("type {example}"),
    )
}

// What is named at the vehicle.

pub(crate) fn unknown_name(name: &str, known: &[&str]) -> Finding {
    Finding::new(
        Fault::UnknownName,
        format!("nothing in the vehicle is called `{name}`"),
        meant(name, known),
    )
}

/// What a part must be for a cause to be hidden in it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum HidesIn {
    /// It may take too much.
    Taker,
    /// It may be held on.
    Coil,
    /// It may stick or leak.
    Contact,
    /// It may be blown.
    Guard,
}

impl HidesIn {
    const fn word(self) -> &'static str {
        match self {
            Self::Taker => "part that takes a current of its own",
            Self::Coil => "coil",
            Self::Contact => "relay or switch",
            Self::Guard => "fuse, link or breaker",
        }
    }
}

/// `fitting`: the id of a part in which it can be hidden.
pub(crate) fn cannot_hide(name: &str, place: HidesIn, fitting: Option<&str>) -> Finding {
    let what = place.word();
    Finding::new(
        Fault::CannotHide,
        format!("{name} is no {what}"),
        fitting.map_or_else(
            || format!("this vehicle has no {what}: hide something else"),
            |id| format!("type the id of a {what}, for example \"{id}\""),
        ),
    )
}

/// `fitting`: a module of the vehicle.
pub(crate) fn holds_nothing_awake(name: &str, fitting: Option<&str>) -> Finding {
    Finding::new(
        Fault::CannotHide,
        format!("{name} is no module"),
        fitting.map_or_else(
            || "this vehicle has no modules: hide something else".to_owned(),
            |id| format!("type the name of a module, for example \"{id}\""),
        ),
    )
}

pub(crate) fn has_no_current(name: &str) -> Finding {
    Finding::new(
        Fault::CannotHide,
        format!("{name} is no part"),
        "type the id of the part whose current is asked for",
    )
}
