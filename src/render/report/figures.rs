//! Currents as one tells them to the owner of the vehicle: in two digits, and as they were read.

use super::Page;
use crate::case::Found;
use crate::interval::Interval;
use crate::journal::Act;
use crate::measurement::{Method, Unit};
use crate::quantity::Milliamps;
use crate::render::answer::current;
use crate::render::words::plain;

/// Below so many mA a current is next to nothing to an owner (judgement).
const NEXT_TO_NOTHING: f64 = 1.0;

fn to_two_digits(value: f64) -> f64 {
    let digits = 10f64.powf(value.log10().floor() - 1.0);
    (value / digits).round() * digits
}

/// What is above ten, in two digits: "46", "1900".
pub(super) fn two_digits(value: f64) -> String {
    format!("{:.0}", to_two_digits(value))
}

/// A current as one tells it to an owner: about its middle, in two digits. The bounds are for the next
/// electrician.
pub(super) fn about(current: Interval<Milliamps>) -> String {
    let middle = f64::midpoint(current.low(), current.high());
    if !middle.is_finite() {
        return format!("more than {}", self::current(current.low()));
    }
    if middle < NEXT_TO_NOTHING {
        return "next to nothing".to_owned();
    }
    let rounded = to_two_digits(middle);
    if rounded >= 1000.0 {
        format!("about {} A", plain(rounded / 1000.0))
    } else {
        format!("about {} mA", plain(rounded))
    }
}

/// The same with amps behind milliamps that a meter shows in amps.
pub(super) fn in_amps_too(told: String) -> String {
    let milliamps = told
        .strip_prefix("about ")
        .and_then(|told| told.strip_suffix(" mA"));
    match milliamps.and_then(|digits| digits.parse::<f64>().ok()) {
        Some(milliamps) if milliamps >= 100.0 => format!("{told} ({:.2} A)", milliamps / 1000.0),
        _ => told,
    }
}

/// A draw that was typed as from one to another so many times as high did not stand still (judgement).
const JUMPS: f64 = 1.5;

impl Page<'_> {
    /// What the display showed at a draw, or the highest of a log, in mA: what a coarse one allows begins far below
    /// it.
    fn shown(&self, entry: u32) -> Option<f64> {
        let reading = match self.act(entry)? {
            Act::Read { reading, .. } => *reading,
            Act::Logged { most, .. } => (*most)?,
            _ => return None,
        };
        if reading.unit == Unit::Milliamps {
            // Of what jumps the highest is what is sought.
            let jumps = reading.high > JUMPS * reading.low;
            let shown = f64::midpoint(reading.low, reading.high);
            return (!reading.over).then_some(if jumps { reading.high } else { shown });
        }
        // A clamp that is read in mV.
        let mut readings = self.case.readings().iter();
        let read = readings.find(|read| read.entry == entry && read.method == Method::Draw)?;
        read.best.map(|(best, _)| best)
    }

    /// A draw as one tells it to an owner: as it was read, not the middle of all that it may be.
    pub(super) fn as_read(&self, entry: u32, current: Interval<Milliamps>) -> String {
        let exactly = |ma: f64| about(Interval::exactly(Milliamps::of(ma)));
        if let Some(Act::Read { reading, .. }) = self.act(entry)
            && reading.unit == Unit::Milliamps
            && !reading.over
            && reading.high > JUMPS * reading.low
        {
            let to = exactly(reading.high);
            return format!(
                "{}, up to {}",
                exactly(reading.low),
                to.trim_start_matches("about ")
            );
        }
        self.shown(entry).map_or_else(|| about(current), exactly)
    }

    /// By how much the draw fell for a proof, by what was read.
    pub(super) fn fell(&self, found: &Found) -> String {
        let [with, without, _] = found.draws;
        let fell = self.shown(with).zip(self.shown(without));
        let fell =
            fell.map(|(with, without)| (with - without).clamp(found.fell.low(), found.fell.high()));
        fell.map_or_else(
            || about(found.fell),
            |fell| about(Interval::exactly(Milliamps::of(fell))),
        )
    }
}
