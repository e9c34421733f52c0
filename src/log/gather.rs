//! A log of any length in bounded memory: when too much is kept, neighbours are laid together.
//!
//! **Invariants.** What is kept has the mean, the lowest and the highest of all rows that it stands for,
//! so neither charge nor a peak is lost, whatever the length.
//!
//! **Cost.** At most [`MOST`] samples are held; each row is laid together once per doubling.

use crate::log::Sample;

/// Samples held at most, about 17 MB. At a row a second that is six days before the first two rows are
/// laid together.
const MOST: usize = 1 << 19;

/// Takes rows one by one.
#[derive(Clone, Debug)]
pub struct Gather {
    kept: Vec<Sample>,
    /// Rows that each kept sample stands for.
    each: usize,
    /// The sample being filled, and how many rows are in it.
    filling: Option<(Sample, usize)>,
}

impl Default for Gather {
    fn default() -> Self {
        Self {
            kept: Vec::new(),
            each: 1,
            filling: None,
        }
    }
}

/// Two neighbours as one, with how many rows each stands for.
fn together(one: Sample, rows: usize, two: Sample, more: usize) -> Sample {
    let share = more as f64 / (rows + more) as f64;
    Sample {
        min: one.min,
        ma: one.ma + (two.ma - one.ma) * share,
        low: one.low.min(two.low),
        high: one.high.max(two.high),
    }
}

impl Gather {
    /// One row more.
    pub fn add(&mut self, sample: Sample) {
        let (filling, rows) = match self.filling.take() {
            Some((filling, rows)) => (together(filling, rows, sample, 1), rows + 1),
            None => (sample, 1),
        };
        if rows < self.each {
            self.filling = Some((filling, rows));
            return;
        }
        self.kept.push(filling);
        if self.kept.len() >= MOST {
            let pairs = self.kept.chunks(2).map(|pair| match *pair {
                [one, two] => together(one, 1, two, 1),
                _ => pair[0],
            });
            self.kept = pairs.collect();
            self.each *= 2;
        }
    }

    /// All that was taken, in the order of the rows.
    pub fn samples(mut self) -> Vec<Sample> {
        self.kept.extend(self.filling.map(|(sample, _)| sample));
        self.kept
    }

    /// How many rows a sample stands for.
    pub const fn rows_each(&self) -> usize {
        self.each
    }
}
