//! Why the end is further off than it looked.
//!
//! The minutes to go are an average over all that could be, weighed by the odds. A likely answer that
//! leaves the slower side raises them, though the search went as it should; that is said, and not
//! smoothed away. It is said of a jump from one step to the next alone: an average creeps, and a person who is
//! told so at every step takes it for a mistake of theirs.

use super::next::Next;

/// Rises below this share of the whole, or below so many minutes, are not worth a word (judgement).
const SHARE: f64 = 0.25;
const MINUTES: f64 = 10.0;

/// What a step looked like: minutes until the end from the very beginning, those of them still to go, and
/// those of the proof in these.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Looked {
    total: f64,
    to_go: f64,
    proof: f64,
    /// Drains that were proven by then.
    proven: usize,
}

/// Why it takes longer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LongerBecause {
    /// A drain was proven, and another one is left.
    Another,
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
            proven: self.found.iter().filter(|found| found.returned).count(),
        })
    }
}

impl Looked {
    /// What to say where the end was nearer at the step before.
    pub fn longer_than(&self, before: &Self) -> Option<Longer> {
        let rise = self.total - before.total;
        (rise >= MINUTES.max(SHARE * before.total)).then(|| Longer {
            proof: self.proof,
            because: if self.proven > before.proven {
                LongerBecause::Another
            } else if self.proof - before.proof >= rise / 2.0 {
                LongerBecause::Proof
            } else if self.to_go - before.to_go < rise / 2.0 {
                LongerBecause::Spent
            } else {
                LongerBecause::Tests
            },
        })
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
            proven: 0,
        };
        let before = looked(100.0, 60.0, 40.0);
        let said = |now: Looked| now.longer_than(&before).map(|longer| longer.because);
        let table = [
            (looked(90.0, 50.0, 40.0), None),
            (looked(124.0, 80.0, 64.0), None),
            (looked(125.0, 81.0, 40.0), Some(LongerBecause::Tests)),
            (looked(130.0, 85.0, 55.0), Some(LongerBecause::Proof)),
            (looked(130.0, 85.0, 54.0), Some(LongerBecause::Tests)),
            (looked(130.0, 65.0, 41.0), Some(LongerBecause::Spent)),
        ];
        for (now, expected) in table {
            assert_eq!(said(now), expected, "{now:?}");
        }
        let another = Looked {
            proven: 1,
            ..looked(130.0, 85.0, 55.0)
        };
        assert_eq!(said(another), Some(LongerBecause::Another));
    }
}
