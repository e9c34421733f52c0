//! Units as types: a milliamp is not a millivolt, and none of them is ever NaN or infinite.
//!
//! **Model.** Each quantity is one finite `f64` in the unit its name says. Only the operators that
//! make physical sense exist: sums of like with like, scaling by a number, the ratio of like to
//! like, and Ohm's law (mV / mΩ, mA × mΩ).
//!
//! **Invariants.** The field is private and finite; [`of`](Milliamps::of) saturates instead of
//! storing NaN or infinity (test `quantities_stay_finite`).
//!
//! **Cost.** A `f64` each; every operation is constant time.

/// What all quantities share, so that an interval can be made of any of them.
pub trait Quantity: Copy + PartialOrd + std::fmt::Debug {
    /// The unit as it is written on paper, for example `mA`.
    const UNIT: &'static str;
    /// The value in [`Self::UNIT`]; NaN becomes 0 and infinities the largest number.
    fn of(value: f64) -> Self;
    /// The number in [`Self::UNIT`].
    fn value(self) -> f64;
}

const fn finite(value: f64) -> f64 {
    if value.is_nan() {
        0.0
    } else {
        value.clamp(f64::MIN, f64::MAX)
    }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);

            /// The quantity; NaN becomes 0 and infinities the largest number.
            pub const fn of(value: f64) -> Self {
                Self(finite(value))
            }

            /// The number in the unit of the type's name.
            pub const fn value(self) -> f64 {
                self.0
            }

            /// The larger of the two.
            pub fn max(self, other: Self) -> Self {
                if other > self { other } else { self }
            }

            /// The smaller of the two.
            pub fn min(self, other: Self) -> Self {
                if other < self { other } else { self }
            }

            /// Without its sign.
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }

        impl Quantity for $name {
            const UNIT: &'static str = $unit;
            fn of(value: f64) -> Self {
                Self::of(value)
            }
            fn value(self) -> f64 {
                self.0
            }
        }

        impl Eq for $name {}
        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
                Some(self.cmp(other))
            }
        }
        impl Ord for $name {
            fn cmp(&self, other: &Self) -> std::cmp::Ordering {
                self.0.total_cmp(&other.0)
            }
        }
        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self::of(self.0 + other.0)
            }
        }
        impl std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }
        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self::of(self.0 - other.0)
            }
        }
        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self::of(self.0 * factor)
            }
        }
        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self::of(self.0 / divisor)
            }
        }
        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::ZERO, std::ops::Add::add)
            }
        }
    };
}

quantity!(
    /// A current in milliamps.
    Milliamps, "mA"
);
quantity!(
    /// A voltage in millivolts.
    Millivolts, "mV"
);
quantity!(
    /// A resistance in milliohms.
    Milliohms, "mΩ"
);
quantity!(
    /// A length of time in minutes.
    Minutes, "min"
);
quantity!(
    /// A length of time in days.
    Days, "days"
);
quantity!(
    /// A charge in ampere hours.
    AmpHours, "Ah"
);
quantity!(
    /// A length of conductor in metres.
    Metres, "m"
);
quantity!(
    /// A width in millimetres.
    Millimetres, "mm"
);
quantity!(
    /// A conductor's cross-section in square millimetres.
    SquareMillimetres, "mm²"
);
quantity!(
    /// A temperature in degrees Celsius.
    Celsius, "°C"
);

impl std::ops::Div<Milliohms> for Millivolts {
    type Output = Milliamps;
    /// Ohm's law: 1 mV across 1 mΩ is 1 A.
    fn div(self, resistance: Milliohms) -> Milliamps {
        Milliamps::of(self.0 / resistance.0 * 1000.0)
    }
}

impl std::ops::Mul<Milliohms> for Milliamps {
    type Output = Millivolts;
    /// Ohm's law: 1 A through 1 mΩ drops 1 mV.
    fn mul(self, resistance: Milliohms) -> Millivolts {
        Millivolts::of(self.0 * resistance.0 / 1000.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_stay_finite() {
        assert_eq!(Milliamps::of(f64::NAN), Milliamps::ZERO);
        let most = Milliamps::of(f64::MAX);
        assert_eq!(Milliamps::of(f64::INFINITY), most);
        assert_eq!(most + most, most);
    }

    #[test]
    fn ohms_law_in_the_small_units() {
        // 7.70 mΩ: regular 10 A blade, quoted from the Littelfuse ATOF 287 data sheet.
        let drop = Milliamps::of(130.0) * Milliohms::of(7.70);
        assert!((drop.value() - 1.001).abs() < 1e-9);
        assert!(((drop / Milliohms::of(7.70)).value() - 130.0).abs() < 1e-9);
    }
}
