//! Why the end is further off than it looked.
//!
//! The minutes to go are an average over all that could be, weighed by the odds. A likely answer that
//! leaves the slower side raises them, though the search went as it should; that is said, and not
//! smoothed away.

use super::next::Next;

/// Rises below this share of the whole, or below so many minutes, are not worth a word (judgement).
const SHARE: f64 = 0.1;
const MINUTES: f64 = 5.0;

/// What a step looked like: minutes until the end from the very beginning, and those of the proof in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Looked {
    total: f64,
    proof: f64,
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
    /// What is left takes longer to prove, rather than to part.
    pub by_proof: bool,
}

impl Next {
    /// How far off the end looks; `None` where no minutes to go are known.
    pub fn looks(&self) -> Option<Looked> {
        Some(Looked {
            total: self.spent + self.expected?,
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
            by_proof: self.proof - before.proof >= rise / 2.0,
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
        let looked = |total, proof| Looked { total, proof };
        let before = looked(100.0, 40.0);
        let said = |now: Looked| now.longer_than(&before).map(|longer| longer.by_proof);
        let table = [
            (looked(90.0, 40.0), None),
            (looked(109.0, 49.0), None),
            (looked(110.0, 40.0), Some(false)),
            (looked(120.0, 50.0), Some(true)),
            (looked(120.0, 49.0), Some(false)),
        ];
        for (now, expected) in table {
            assert_eq!(said(now), expected, "{now:?}");
        }
        assert_eq!(before.nearer(looked(99.0, 60.0)), looked(99.0, 60.0));
        assert_eq!(before.nearer(looked(101.0, 20.0)), before);
    }
}
