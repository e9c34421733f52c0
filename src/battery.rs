//! Days to flat ↔ draw: the arithmetic of an intake.
//!
//! **Model.** A constant draw takes charge out of a full battery. At 25 °C the vehicle no longer starts
//! once about 40 % of the 20 h capacity is used (seen, a maker's bulletin); "flat" to an owner may be
//! that or wholly flat, so a draw and a number of days are each a range between the two.
//!
//! **Invariants.** `draw_in` and `days_at` are each other's inverse, end by end (test
//! `days_and_draw_are_inverse`).
//!
//! **Cost.** Constant time.

use crate::interval::Interval;
use crate::quantity::{AmpHours, Days, Milliamps, Minutes};

/// The share of the 20 h capacity that is used when the vehicle no longer starts, at 25 °C (seen, a
/// maker's bulletin).
pub const NO_START: f64 = 0.4;
/// 20 h capacity in Ah per minute of reserve (seen, the same bulletin). Against RC = 0.7732 ×
/// C20^1.1828 (EN 50342-1, from memory) it is within 2 % near 100 minutes only: −13 % at 45, +8 % at
/// 180 (derived).
pub const CAPACITY_PER_RESERVE: f64 = 0.6;
/// The current of the reserve test in A: minutes at 25 A, 27 °C, to 10.5 V (SAE J537 quantity, seen in
/// a maker's service text).
pub const RESERVE_AMPS: f64 = 25.0;
/// What a battery loses by itself in a month, as shares of its capacity: absorbed glass mat, flooded
/// (seen; the flooded one is "about").
pub const SELF_DISCHARGE: (f64, f64) = (0.02, 0.05);

/// How large a battery is, as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    /// Its 20 h capacity.
    Capacity(AmpHours),
    /// Its reserve.
    Reserve(Minutes),
}

impl Size {
    /// Its 20 h capacity.
    pub fn capacity(self) -> AmpHours {
        match self {
            Self::Capacity(capacity) => capacity,
            Self::Reserve(reserve) => capacity_of_reserve(reserve),
        }
    }
}

/// How a draw that was read compares with the one that the days to flat let expect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Comparison {
    /// It explains the days.
    Fits,
    /// It is less than would have flattened the battery.
    Less,
    /// It would have flattened the battery sooner.
    More,
}

/// Compares a draw that was read with the expected one.
pub fn compare(read: Interval<Milliamps>, expected: Interval<Milliamps>) -> Comparison {
    if read.touches(expected) {
        Comparison::Fits
    } else if expected.above(read) {
        Comparison::Less
    } else {
        Comparison::More
    }
}

const HOURS: f64 = 24.0;
const MONTH: f64 = 30.0;

/// The charge that the reserve test takes out: 100 minutes are 41.67 Ah.
pub fn charge_of_reserve(reserve: Minutes) -> AmpHours {
    AmpHours::of(reserve.value() * RESERVE_AMPS / 60.0)
}

/// The 20 h capacity that belongs to a reserve, roughly: 100 minutes are 60 Ah.
pub fn capacity_of_reserve(reserve: Minutes) -> AmpHours {
    AmpHours::of(reserve.value() * CAPACITY_PER_RESERVE)
}

/// What one maker allows a parked vehicle: a quarter of the reserve minutes, in mA. It would convict
/// healthy vehicles of others, most of whom allow 25 to 50 mA (all seen, makers' service texts).
pub fn one_makers_limit(reserve: Minutes) -> Milliamps {
    Milliamps::of(reserve.value() / 4.0)
}

/// The constant draw that uses a charge up in so many days.
fn draw_for(charge: AmpHours, days: Days) -> f64 {
    charge.value() * 1000.0 / (days.value() * HOURS)
}

/// The draw to expect behind "flat after so many days": from no-start to wholly flat. Not bounded
/// above where `days` is zero.
pub fn draw_in(days: Days, capacity: AmpHours) -> Interval<Milliamps> {
    Interval::between(
        draw_for(capacity * NO_START, days),
        draw_for(capacity, days),
    )
}

/// How long a full battery lasts: from no-start at the upper end of the draw to wholly flat at its
/// lower end. Not bounded above where the draw may be zero.
pub fn days_at(draw: Interval<Milliamps>, capacity: AmpHours) -> Interval<Days> {
    let days = |charge: AmpHours, draw: f64| charge.value() * 1000.0 / (draw.max(0.0) * HOURS);
    Interval::between(
        days(capacity * NO_START, draw.high()),
        days(capacity, draw.low()),
    )
}

/// The draw that would have the same effect as the battery's own loss: absorbed glass mat to flooded.
pub fn self_discharge(capacity: AmpHours) -> Interval<Milliamps> {
    let month = Days::of(MONTH);
    let (glass_mat, flooded) = SELF_DISCHARGE;
    Interval::between(
        draw_for(capacity * glass_mat, month),
        draw_for(capacity * flooded, month),
    )
}

/// What was asked: the battery, the days to flat, the draw that was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Intake {
    /// The battery.
    pub size: Size,
    /// Days until it was flat.
    pub days: Option<Days>,
    /// The draw that was read, or is supposed.
    pub draw: Option<Interval<Milliamps>>,
}

impl Intake {
    /// The draw that the days let expect; `None` where no days were given.
    pub fn expected(&self) -> Option<Interval<Milliamps>> {
        let capacity = self.size.capacity();
        self.days.map(|days| draw_in(days, capacity))
    }

    /// The days that the draw leaves; `None` where no draw was given.
    pub fn lasts(&self) -> Option<Interval<Days>> {
        let capacity = self.size.capacity();
        self.draw.map(|draw| days_at(draw, capacity))
    }

    /// How the draw that was read compares with the expected one, where both are known.
    pub fn comparison(&self) -> Option<Comparison> {
        Some(compare(self.draw?, self.expected()?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_fits_or_is_less_or_more() {
        let expected = draw_in(Days::of(10.0), AmpHours::of(60.0));
        for (low, high, comparison) in [
            (20.0, 30.0, Comparison::Less),
            (90.0, 110.0, Comparison::Fits),
            (150.0, 150.0, Comparison::Fits),
            (251.0, 300.0, Comparison::More),
        ] {
            let read = Interval::between(low, high);
            assert_eq!(compare(read, expected), comparison, "{read:?}");
        }
    }

    #[test]
    fn days_and_draw_are_inverse() {
        for (days, capacity) in [(0.5, 40.0), (6.0, 60.0), (10.0, 60.0), (40.0, 225.0)] {
            let draw = draw_in(Days::of(days), AmpHours::of(capacity));
            for (end, low) in [(draw.low(), true), (draw.high(), false)] {
                let back = days_at(
                    Interval::exactly(Milliamps::of(end)),
                    AmpHours::of(capacity),
                );
                let day = if low { back.low() } else { back.high() };
                assert!((day - days).abs() < 1e-9, "{days} {capacity}: {back:?}");
            }
        }
    }
}
