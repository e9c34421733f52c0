//! Days to flat ↔ draw: the arithmetic of an intake.
//!
//! **Model.** A constant draw takes charge out of a full battery. At 25 °C the vehicle no longer starts
//! once about 40 % of the 20 h capacity is used (seen, a maker's bulletin); "flat" to an owner may be
//! that or wholly flat, so a draw and a number of days are each a range between the two.
//!
//! A battery that has rested shows its charge by its voltage, roughly; from there a draw leaves so many
//! days.
//!
//! **Invariants.** `draw_in` and `days_at` are each other's inverse, end by end (test
//! `days_and_draw_are_inverse`). From a full battery `days_left` is `days_at` (test
//! `a_full_battery_lasts_as_long_as_any`).
//!
//! **Cost.** Constant time.

use crate::feeds::{Feeds, LIMIT_AT_12_VOLTS, PartId};
use crate::interval::Interval;
use crate::quantity::{AmpHours, Days, Milliamps, Millivolts, Minutes};

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

/// Volts of a 12 V battery at rest and the share of its charge: flooded, rounded, 25 °C (seen).
pub const AT_REST: [(f64, f64); 4] = [(12.0, 0.25), (12.2, 0.5), (12.4, 0.75), (12.6, 1.0)];
/// By so many volts makers' tables differ (seen).
pub const MAKERS_DIFFER: f64 = 0.15;
/// Below so many volts at rest a 12 V battery is charged before a draw is measured on it (common
/// practice, no source).
pub const CHARGE_BELOW: f64 = 12.4;
/// Above so many volts a 12 V battery is not at rest: it is being charged, or was just before (common
/// practice, no source).
pub const NOT_AT_REST: f64 = 13.1;
/// From so many volts up two 12 V batteries in series are meant.
const TWO_FROM: f64 = 18.0;

/// A battery, or two of 12 V in series, that has rested.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rested {
    /// What was read across all of it.
    pub volts: Millivolts,
}

impl Rested {
    /// How many 12 V batteries in series were read.
    pub fn batteries(self) -> f64 {
        if self.volts.value() >= TWO_FROM * 1000.0 {
            2.0
        } else {
            1.0
        }
    }

    /// Volts of one 12 V battery; two in series are taken to share evenly.
    fn each(self) -> f64 {
        self.volts.value() / 1000.0 / self.batteries()
    }

    /// The share of its charge: by the table, and with the table as far off as makers' differ.
    pub fn charge(self) -> Charge {
        Charge {
            low: share(self.each() - MAKERS_DIFFER),
            best: share(self.each()),
            high: share(self.each() + MAKERS_DIFFER),
        }
    }

    /// Whether a draw measured on it says little.
    pub fn is_low(self) -> bool {
        // A display of whole hundredths is not below itself.
        self.each() < CHARGE_BELOW - 1e-9
    }

    /// Whether no battery at rest shows that much.
    pub fn is_charging(self) -> bool {
        self.each() > NOT_AT_REST
    }
}

/// What is left in a battery, as a share of its capacity.
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct Charge {
    pub low: f64,
    pub best: f64,
    pub high: f64,
}

/// The share of charge at so many volts: straight between the rows of the table, and straight on below
/// them (derived: nothing is left at 11.8 V).
fn share(volts: f64) -> f64 {
    let row = |rows: &[(f64, f64)]| {
        let ((low, from), (high, to)) = (rows[0], rows[1]);
        from + (volts - low) / (high - low) * (to - from)
    };
    let rows = AT_REST.windows(2).find(|rows| volts <= rows[1].0);
    rows.map_or(1.0, row).clamp(0.0, 1.0)
}

/// The settled draw that is allowed, and who says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Allowed {
    /// The vehicle file, where the maker's figure stands.
    File(Milliamps),
    /// Common practice on 12 V, no source.
    Usual(Milliamps),
    /// Nobody: on 24 V no figure is assumed.
    Nobody,
}

impl Allowed {
    /// Of a vehicle.
    pub fn of(feeds: &Feeds) -> Self {
        match (feeds.vehicle().limit.is_some(), feeds.limit()) {
            (true, Some(limit)) => Self::File(limit),
            (false, Some(limit)) => Self::Usual(limit),
            (_, None) => Self::Nobody,
        }
    }

    /// Where no vehicle is known: of a supply with that battery, else of 12 V.
    pub fn without_a_vehicle(rested: Option<Rested>) -> Self {
        if rested.is_some_and(|rested| rested.batteries() > 1.0) {
            Self::Nobody
        } else {
            Self::Usual(LIMIT_AT_12_VOLTS)
        }
    }

    /// The figure, where there is one.
    pub fn limit(self) -> Option<Milliamps> {
        match self {
            Self::File(limit) | Self::Usual(limit) => Some(limit),
            Self::Nobody => None,
        }
    }
}

/// How large a battery is, as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    /// Its 20 h capacity.
    Capacity(AmpHours),
    /// Its reserve.
    Reserve(Minutes),
}

impl Size {
    /// Of a vehicle's battery, as far as its file says.
    pub fn of(feeds: &Feeds) -> Option<Self> {
        let written = feeds.part(PartId(0));
        let capacity = written.capacity.map(Self::Capacity);
        capacity.or(written.reserve.map(Self::Reserve))
    }

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

/// Days are told roughly: they may have been so much longer, as a share and at least (judgement).
const TOLD_ROUGHLY: (f64, Days) = (0.25, Days::of(0.5));
/// A draw of so many times what the days let expect, and more, is too large for them (judgement): an owner
/// may have counted from another day.
const FAR_MORE: f64 = 2.0;

/// Whether a draw explains that a full battery was flat after so many days, as days are told.
pub fn explains(draw: Interval<Milliamps>, days: Days, capacity: AmpHours) -> Comparison {
    let (share, least) = TOLD_ROUGHLY;
    let longer = Days::of(days.value() + (days.value() * share).max(least.value()));
    let expected = Interval::between(
        draw_for(capacity * NO_START, longer),
        draw_for(capacity, days) * FAR_MORE,
    );
    compare(draw, expected)
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

/// How long a battery with so much charge lasts: from no-start at the upper end of the draw with the
/// least charge to wholly flat at its lower end with the most. Not bounded above where the draw may be
/// zero.
pub fn days_left(draw: Interval<Milliamps>, capacity: AmpHours, charge: Charge) -> Interval<Days> {
    let days = |share: f64, draw: f64| {
        capacity.value() * share.max(0.0) * 1000.0 / (draw.max(0.0) * HOURS)
    };
    let until_no_start = charge.low - (1.0 - NO_START);
    let most = if charge.high > 0.0 {
        days(charge.high, draw.low())
    } else {
        0.0
    };
    Interval::between(days(until_no_start, draw.high()), most)
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
    /// How large the battery is, where that is known.
    pub size: Option<Size>,
    /// What it showed at rest.
    pub rested: Option<Rested>,
    /// Days until it was flat.
    pub days: Option<Days>,
    /// The draw that was read, or is supposed.
    pub draw: Option<Interval<Milliamps>>,
    /// The draw that is allowed.
    pub allowed: Allowed,
}

impl Intake {
    /// The draw that the days let expect; `None` where no days or no size were given.
    pub fn expected(&self) -> Option<Interval<Milliamps>> {
        Some(draw_in(self.days?, self.size?.capacity()))
    }

    /// The days that the draw leaves from a full battery; `None` where no draw or no size was given.
    pub fn lasts(&self) -> Option<Interval<Days>> {
        Some(days_at(self.draw?, self.size?.capacity()))
    }

    /// The days that the draw leaves from the charge at rest; `None` where one of them was not given.
    pub fn left(&self) -> Option<Interval<Days>> {
        let charge = self.rested?.charge();
        Some(days_left(self.draw?, self.size?.capacity(), charge))
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

    /// 110 Ah and 0.57 A: 0.4 × 110 / 0.57 / 24 = 3.2 days to no-start, 8 days to wholly flat.
    #[test]
    fn days_are_explained_as_they_are_told() {
        let draw = Interval::between(534.0, 606.0);
        for (days, comparison) in [
            (2.0, Comparison::Less),
            (2.6, Comparison::Fits),
            (8.0, Comparison::Fits),
            (16.0, Comparison::Fits),
            (18.0, Comparison::More),
        ] {
            let found = explains(draw, Days::of(days), AmpHours::of(110.0));
            assert_eq!(found, comparison, "{days}");
        }
    }

    #[test]
    fn a_full_battery_lasts_as_long_as_any() {
        let (draw, capacity) = (Interval::between(40.0, 60.0), AmpHours::of(60.0));
        let full = Charge {
            low: 1.0,
            best: 1.0,
            high: 1.0,
        };
        let (left, lasts) = (days_left(draw, capacity, full), days_at(draw, capacity));
        assert!(
            (left.low() - lasts.low()).abs() < 1e-9,
            "{left:?} {lasts:?}"
        );
        assert!((left.high() - lasts.high()).abs() < 1e-9);
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
