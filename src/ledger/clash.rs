//! Readings that cannot all be true, and which few of them already clash.

use crate::feeds::PartId;
use crate::ledger::{Ledger, Observation, Out};

/// Sets up to this size are searched through for a smallest one.
const SEARCHED: usize = 14;

impl Ledger<'_> {
    /// Whether the readings posted so far can all be true.
    pub fn holds_together(&self) -> bool {
        self.crossed.is_none()
    }

    /// Where the ends cross when the readings clash: what was out, and the part.
    pub fn crossing(&self) -> Option<(Out, PartId)> {
        let (state, part) = self.crossed?;
        Some((self.states[state].out.clone(), part))
    }

    /// Whether these readings alone clash.
    fn clashing(&self, readings: &[&Observation]) -> bool {
        let mut alone = Ledger::new(self.feeds, self.ties);
        for state in &self.states {
            alone.visit(&state.out);
        }
        for reading in readings {
            alone.post((*reading).clone());
        }
        !alone.holds_together()
    }

    /// A smallest set of readings that cannot all be true: their numbers in the journal, in order.
    /// Empty when there is no clash.
    ///
    /// The readings behind the two crossed ends clash for certain; leaving out one at a time makes
    /// the set minimal, and among up to 14 readings every pair and every three are tried first, which makes it
    /// smallest for the sizes that occur in practice.
    pub fn clash(&self) -> Vec<u32> {
        let Some((state, part)) = self.crossed else {
            return Vec::new();
        };
        let behind = self.readings_behind(state, part);
        let mut kept: Vec<&Observation> = self
            .observations
            .iter()
            .enumerate()
            .filter(|(index, _)| behind.contains(index))
            .map(|(_, reading)| reading)
            .collect();
        if kept.len() <= SEARCHED
            && let Some(small) = self.smallest(&kept)
        {
            kept = small;
        } else {
            let mut at = 0;
            while at < kept.len() {
                let mut fewer = kept.clone();
                fewer.remove(at);
                if self.clashing(&fewer) {
                    kept = fewer;
                } else {
                    at += 1;
                }
            }
        }
        let mut entries: Vec<u32> = kept.iter().map(|reading| reading.entry).collect();
        entries.sort_unstable();
        entries.dedup();
        entries
    }

    fn smallest<'o>(&self, among: &[&'o Observation]) -> Option<Vec<&'o Observation>> {
        for (i, one) in among.iter().enumerate() {
            for two in &among[i + 1..] {
                if self.clashing(&[one, two]) {
                    return Some(vec![*one, *two]);
                }
            }
        }
        for (i, one) in among.iter().enumerate() {
            for (j, two) in among.iter().enumerate().skip(i + 1) {
                for three in &among[j + 1..] {
                    if self.clashing(&[one, two, three]) {
                        return Some(vec![*one, *two, *three]);
                    }
                }
            }
        }
        None
    }
}
