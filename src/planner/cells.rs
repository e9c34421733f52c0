//! Suspects kept together where there are too many to look at one by one.

use super::left::Left;
use super::work::Map;

/// A partition of suspects (by position).
pub(crate) struct Cells {
    /// The cell of each suspect.
    pub(crate) of: Vec<usize>,
    /// How many are in each cell.
    pub(crate) size: Vec<usize>,
}

impl Cells {
    pub(crate) fn new(suspects: usize) -> Self {
        Self {
            of: vec![0; suspects],
            size: vec![suspects],
        }
    }

    /// How many suspects of a cell show a class other than 0.
    pub(crate) fn touched(&self, left: &Left, at: usize) -> Vec<((usize, u32), usize)> {
        // Neighbours are mostly in one cell, so runs of one are counted.
        let mut counts: Vec<((usize, u32), usize)> = Vec::new();
        for stretch in left.stretches(at) {
            let cells = &self.of[stretch.from as usize..stretch.to as usize];
            for run in cells.chunk_by(|a, b| a == b) {
                counts.push(((run[0], stretch.class), run.len()));
            }
        }
        counts.sort_unstable();
        counts.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            kept.1 += if same { next.1 } else { 0 };
            same
        });
        counts
    }

    /// Whether a test that touches the cells so shows the same within every one.
    pub(crate) fn kept_whole(&self, touched: &[((usize, u32), usize)]) -> bool {
        let whole = |((cell, _), count): &((usize, u32), usize)| *count == self.size[*cell];
        touched.iter().all(whole)
    }

    /// Splits the cells by a test, unless there would be more than `most`.
    pub(crate) fn split(&mut self, left: &Left, at: usize, most: usize) {
        let touched = self.touched(left, at).into_iter();
        let torn: Vec<_> = touched
            .filter(|((cell, _), count)| *count < self.size[*cell])
            .collect();
        // A cell wholly covered by several classes keeps its number without members: rare, harmless
        // to the count, and taken out in `members`.
        if self.size.len() + torn.len() > most {
            return;
        }
        let mut new: Map<(usize, u32), usize> = Map::default();
        for (key, count) in torn {
            new.insert(key, self.size.len());
            self.size[key.0] -= count;
            self.size.push(count);
        }
        for stretch in left.stretches(at) {
            for suspect in stretch.from..stretch.to {
                let cell = &mut self.of[suspect as usize];
                *cell = new.get(&(*cell, stretch.class)).copied().unwrap_or(*cell);
            }
        }
    }

    /// Splits the cells by what holds for some of their members, unless there would be more than `most`.
    pub(crate) fn split_by(&mut self, holds: impl Fn(usize) -> bool, most: usize) {
        let mut counts: Map<usize, usize> = Map::default();
        for (suspect, cell) in self.of.iter().enumerate() {
            if holds(suspect) {
                *counts.entry(*cell).or_default() += 1;
            }
        }
        let mut torn: Vec<(usize, usize)> = counts
            .into_iter()
            .filter(|(cell, count)| *count < self.size[*cell])
            .collect();
        torn.sort_unstable();
        if self.size.len() + torn.len() > most {
            return;
        }
        let mut new: Map<usize, usize> = Map::default();
        for (cell, count) in torn {
            new.insert(cell, self.size.len());
            self.size[cell] -= count;
            self.size.push(count);
        }
        for (suspect, cell) in self.of.iter_mut().enumerate() {
            if holds(suspect) {
                *cell = new.get(cell).copied().unwrap_or(*cell);
            }
        }
    }

    /// The members of each cell that has any, by position.
    pub(crate) fn members(&self) -> Vec<Vec<usize>> {
        let mut members = vec![Vec::new(); self.size.len()];
        for (suspect, cell) in self.of.iter().enumerate() {
            members[*cell].push(suspect);
        }
        members.retain(|cell| !cell.is_empty());
        members
    }
}
