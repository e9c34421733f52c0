//! Closed intervals of a quantity: what a reading says, never more.
//!
//! **Model.** `low ≤ value ≤ high`; either end may be infinite, which reads "not bounded". There is
//! no empty interval: an operation that could give one returns `None`, and that is a finding, not
//! an error.
//!
//! **Invariants.** `low ≤ high`, neither is NaN (test `ends_never_cross`).
//!
//! **Cost.** Two `f64`; constant time.

use crate::quantity::Quantity;
use std::marker::PhantomData;

/// All values from `low` to `high`, both included.
#[derive(Clone, Copy, PartialEq)]
pub struct Interval<Q> {
    low: f64,
    high: f64,
    unit: PhantomData<Q>,
}

impl<Q: Quantity> std::fmt::Debug for Interval<Q> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}..{} {}", self.low, self.high, Q::UNIT)
    }
}

impl<Q: Quantity> Interval<Q> {
    /// The interval between two numbers in the quantity's unit, in either order; NaN counts as not
    /// bounded on both sides.
    pub fn between(a: f64, b: f64) -> Self {
        if a.is_nan() || b.is_nan() {
            return Self::everything();
        }
        Self {
            low: a.min(b),
            high: a.max(b),
            unit: PhantomData,
        }
    }

    /// | low ≤ high | result |
    /// | --- | --- |
    /// | yes | the interval |
    /// | no, or a NaN | `None` |
    pub fn new(low: f64, high: f64) -> Option<Self> {
        (low <= high).then_some(Self {
            low,
            high,
            unit: PhantomData,
        })
    }

    /// Just this value.
    pub fn exactly(value: Q) -> Self {
        Self::between(value.value(), value.value())
    }

    /// Not bounded on either side.
    pub fn everything() -> Self {
        Self {
            low: f64::NEG_INFINITY,
            high: f64::INFINITY,
            unit: PhantomData,
        }
    }

    /// Zero and all above.
    pub fn not_negative() -> Self {
        Self {
            low: 0.0,
            high: f64::INFINITY,
            unit: PhantomData,
        }
    }

    /// The lower end; −∞ where there is none.
    pub fn low(self) -> f64 {
        self.low
    }

    /// The upper end; +∞ where there is none.
    pub fn high(self) -> f64 {
        self.high
    }

    /// high − low.
    pub fn width(self) -> f64 {
        self.high - self.low
    }

    /// Whether the value lies inside, ends included.
    pub fn holds(self, value: Q) -> bool {
        self.low <= value.value() && value.value() <= self.high
    }

    /// | position | result |
    /// | --- | --- |
    /// | they share at least a point | the shared part |
    /// | apart | `None` |
    pub fn meet(self, other: Self) -> Option<Self> {
        Self::new(self.low.max(other.low), self.high.min(other.high))
    }

    /// The smallest interval that holds both.
    pub fn hull(self, other: Self) -> Self {
        Self {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
            unit: PhantomData,
        }
    }

    /// Whether the two share a point.
    pub fn touches(self, other: Self) -> bool {
        self.meet(other).is_some()
    }

    /// Whether every value here is above every value there.
    pub fn above(self, other: Self) -> bool {
        self.low > other.high
    }

    /// Every sum of a value here and a value there.
    pub fn plus(self, other: Self) -> Self {
        Self::between(self.low + other.low, self.high + other.high)
    }

    /// Every difference of a value here and a value there.
    pub fn minus(self, other: Self) -> Self {
        Self::between(self.low - other.high, self.high - other.low)
    }

    /// Every value times a number; a negative number turns it round.
    pub fn times(self, factor: f64) -> Self {
        Self::between(self.low * factor, self.high * factor)
    }

    /// Both ends moved outwards by `margin` (taken without its sign).
    pub fn widened(self, margin: f64) -> Self {
        Self::between(self.low - margin.abs(), self.high + margin.abs())
    }

    /// The part that is not negative; all of it negative gives exactly zero.
    pub fn cut_at_zero(self) -> Self {
        Self {
            low: self.low.max(0.0),
            high: self.high.max(0.0),
            unit: PhantomData,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Milliamps;
    type Current = Interval<Milliamps>;

    #[test]
    fn ends_never_cross() {
        assert!(Current::new(2.0, 1.0).is_none());
        assert!(Current::new(f64::NAN, 1.0).is_none());
        let turned = Current::between(3.0, -1.0);
        assert!(turned.low() <= turned.high());
        assert_eq!(
            Current::between(1.0, 2.0).times(-2.0),
            Current::between(-4.0, -2.0)
        );
    }

    #[test]
    fn a_difference_is_as_wide_as_both() {
        let fall = Current::between(604.0, 676.0).minus(Current::between(10.0, 70.0));
        assert_eq!(fall, Current::between(534.0, 666.0));
    }
}
