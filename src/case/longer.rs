//! Why the end is further off than it looked.
//!
//! The minutes to go are an average over all that could be, weighed by the odds. A likely answer that
//! leaves the slower side raises them, though the search went as it should; that is said, and not
//! smoothed away.

use super::next::Next;

/// Rises below this share of the whole, or below so many minutes, are not worth a word (judgement).
const SHARE: f64 = 0.1;
const MINUTES: f64 = 5.0;

/// What a step looked like: minutes until the end from the very beginning, those of them still to go, and
/// those of the proof in these.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Looked {
    total: f64,
    to_go: f64,
    proof: f64,
}

/// Why it takes longer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LongerBecause {
    /// What is left takes longer to prove.
    Proof,
    /// What is left takes longer to part.
    Tests,
    /// What was done since took its minutes and the end is no nearer.
    Spent,
}

/// The end is further off than it looked; all in minutes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Longer {
    /// From the beginning to the end, as it looks now.
    pub total: f64,
    /// The same as it looked.
    pub looked: f64,
    /// The proof in it, settles and ways included.
    pub proof: f64,
    /// Why.
    pub because: LongerBecause,
}

impl Next {
    /// How far off the end looks; `None` where no minutes to go are known.
    pub fn looks(&self) -> Option<Looked> {
        let to_go = self.expected?;
        Some(Looked {
            total: self.spent + to_go,
            to_go,
            proof: self.proving?,
        })
    }
}

impl Looked {
    /// What to say where the end was nearer before.
    pub fn longer_than(&self, before: &Self) -> Option<Longer> {
        let rise = self.total - before.total;
        (rise >= MINUTES.max(SHARE * before.total)).then(|| Longer {
            total: self.total,
            looked: before.total,
            proof: self.proof,
            because: if self.proof - before.proof >= rise / 2.0 {
                LongerBecause::Proof
            } else if self.to_go - before.to_go < rise / 2.0 {
                LongerBecause::Spent
            } else {
                LongerBecause::Tests
            },
        })
    }

    /// The nearer of the two ends: what was hoped for stands until it is said that it is later.
    #[must_use]
    pub fn nearer(self, other: Self) -> Self {
        if other.total < self.total {
            other
        } else {
            self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_moves_the_end_is_worth_a_word() {
        let looked = |total, to_go, proof| Looked {
            total,
            to_go,
            proof,
        };
        let before = looked(100.0, 60.0, 40.0);
        let said = |now: Looked| now.longer_than(&before).map(|longer| longer.because);
        let table = [
            (looked(90.0, 50.0, 40.0), None),
            (looked(109.0, 65.0, 49.0), None),
            (looked(110.0, 66.0, 40.0), Some(LongerBecause::Tests)),
            (looked(120.0, 75.0, 50.0), Some(LongerBecause::Proof)),
            (looked(120.0, 75.0, 49.0), Some(LongerBecause::Tests)),
            (looked(120.0, 55.0, 41.0), Some(LongerBecause::Spent)),
        ];
        for (now, expected) in table {
            assert_eq!(said(now), expected, "{now:?}");
        }
        let sooner = looked(99.0, 60.0, 60.0);
        assert_eq!(before.nearer(sooner), sooner);
        assert_eq!(before.nearer(looked(101.0, 60.0, 20.0)), before);
    }
}
