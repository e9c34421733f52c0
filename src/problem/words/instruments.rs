//! An instruments file. Every `example` is the instrument or range as it might be written.

use super::Finding;
use crate::problem::Fault;

pub(crate) fn nothing_to_read(example: &str) -> Finding {
    Finding::new(
        Fault::NothingToRead,
        "neither a meter nor a clamp: nothing can be read",
        format!("type meter: Meter(millivolts: {example})"),
    )
}

pub(crate) fn misplaced_burden() -> Finding {
    Finding::new(
        Fault::MisplacedField,
        "`burden` belongs to amps and milliamps: only there does the current pass through",
        "take `burden` out",
    )
}

pub(crate) fn no_step(example: &str) -> Finding {
    Finding::new(
        Fault::NoStep,
        "no `step`: what one step of the last digit is worth",
        format!("type {example}"),
    )
}

/// `lacking`: fields, at least one.
pub(crate) fn no_accuracy(lacking: &[&str], example: &str) -> Finding {
    let lacking: Vec<_> = lacking.iter().map(|field| format!("`{field}`")).collect();
    Finding::new(
        Fault::NoAccuracy,
        format!(
            "the accuracy lacks {}, as its manual gives them: ±(0.5 % + 2 counts)",
            lacking.join(" and ")
        ),
        format!("type {example}"),
    )
}

pub(crate) fn most_below_step(most: f64, step: f64, unit: &str, example: &str) -> Finding {
    Finding::new(
        Fault::Range,
        format!("the most it takes, {most} {unit}, is less than one step, {step} {unit}"),
        format!("type {example}"),
    )
}

pub(crate) fn no_display(example: &str) -> Finding {
    Finding::new(
        Fault::NoDisplay,
        "a clamp with a `scale` is read on the meter's millivolt range, which is not given",
        format!("type meter: Meter(millivolts: {example}),"),
    )
}

pub(crate) fn scale_turned_round(millivolts: &str, milliamps: &str) -> Finding {
    Finding::new(
        Fault::Unit,
        "the voltage it gives comes first, then the current that it means",
        format!("type Scale({millivolts}, {milliamps})"),
    )
}

pub(crate) fn no_turns(example: &str) -> Finding {
    Finding::new(
        Fault::NoTurns,
        "this loop has no `turns`: how often its wire goes round",
        format!("type {example}"),
    )
}

pub(crate) fn part_of_a_turn(turns: f64) -> Finding {
    Finding::new(
        Fault::Number,
        format!("`{turns}` is not a whole number of turns"),
        format!("type a whole number, for example {}", turns.round()),
    )
}
