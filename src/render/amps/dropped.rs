//! The words of a voltage drop: read both ways round, divided by the resistance, and what that is worth.

use super::{figures, one_or_ends, shown};
use crate::amps::Step;
use crate::interval::Interval;
use crate::quantity::{Milliamps, Milliohms, Millivolts};
use crate::render::answer;

/// A step of a drop; nothing for another step.
pub(super) fn sentence(step: &Step) -> String {
    match step {
        Step::Turned(reading) => {
            shown(*reading).replacen("The display", "With the probes turned round it", 1)
        }
        Step::Half {
            half,
            offset,
            large,
        } => half_words(*half, offset.value(), *large),
        Step::WarmFuse { share, more, least } => format!(
            "That is cold resistance. A fuse that carries much of its rating is warm and has more, at {:.0} % of it up to {:.0} % (derived): then it is less, {} at least",
            share * 100.0,
            more * 100.0,
            answer::current(least.value())
        ),
        Step::AboveRating(rating) => format!(
            "That is more than the fuse's {}: was it mV? Battery volts across a fuse mean that it is blown, and then nothing passes",
            answer::current(rating.value())
        ),
        Step::Quotient {
            voltage,
            band,
            current,
        } => quotient(*voltage, *band, *current),
        Step::Hides(most) => format!(
            "A zero on this display can hide up to {} here",
            answer::current(most.value())
        ),
        Step::Usual(usual) => format!(
            "Mostly it is nearer: within ±{} mA of {} mA in 95 of 100 cases (limits taken as rectangular, k = 2; JCGM 100:2008 4.3.7, from memory)",
            figures_short(usual.expanded.value()),
            figures_short(usual.best.value())
        ),
        _ => String::new(),
    }
}

/// Half the difference of a drop read both ways round.
fn half_words(half: Interval<Millivolts>, offset: f64, large: bool) -> String {
    let middle = f64::midpoint(half.low(), half.high());
    let half = one_or_ends(half);
    let same = figures(offset);
    let percent = if offset.abs() > middle.abs() {
        " (the percent below is of that)"
    } else {
        ""
    };
    if large {
        format!(
            "Half the difference is {half}; {same} mV is the same both ways{percent}, more than joints and leads give: was a minus left out, or did a probe slip? Read both ways again"
        )
    } else {
        format!(
            "Half the difference is {half}; {same} mV is the same both ways{percent}: joints and leads give that, and it drops out"
        )
    }
}

/// To two significant digits from 10 up, else to one decimal: an uncertainty needs no more.
fn figures_short(value: f64) -> String {
    if value.abs() >= 10.0 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}

fn quotient(
    voltage: Interval<Millivolts>,
    band: Interval<Milliohms>,
    current: Interval<Milliamps>,
) -> String {
    // The end of the band that moves each end of the current outwards.
    let under = |volts: f64, for_positive: f64, for_negative: f64| {
        figures(if volts < 0.0 {
            for_negative
        } else {
            for_positive
        })
    };
    let least = format!(
        "{} mV / {} mΩ = {} mA at least",
        figures(voltage.low()),
        under(voltage.low(), band.high(), band.low()),
        figures(current.low())
    );
    if voltage.high().is_infinite() {
        return format!("Voltage / resistance: {least}");
    }
    format!(
        "Voltage / resistance: {least}, {} mV / {} mΩ = {} mA at most",
        figures(voltage.high()),
        under(voltage.high(), band.low(), band.high()),
        figures(current.high())
    )
}
