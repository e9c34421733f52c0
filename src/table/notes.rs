//! What is to be said about the cells of a table; the same of many cells is said once.

use crate::problem::{Finding, Problem, Span, in_file_order, words};
use std::collections::BTreeMap;

/// A cell of the table, to show problems at. The default is no cell.
#[derive(Clone, Debug, Default)]
pub(super) struct Origin {
    pub(super) at: Span,
    /// As a spreadsheet counts it, from 1; 0 is no cell.
    pub(super) row: usize,
    /// From 0.
    pub(super) column: usize,
}

/// What is to be said, each with the cells it is said of.
#[derive(Default)]
pub(super) struct Notes {
    said: Vec<(Problem, Vec<Origin>)>,
    /// Where in `said` its kin stands.
    kin: BTreeMap<String, usize>,
}

impl Notes {
    pub(super) fn note(&mut self, cell: &Origin, finding: Finding) {
        self.add(cell.clone(), finding.at(cell.at.clone()));
    }

    pub(super) fn add(&mut self, cell: Origin, problem: Problem) {
        let new = self.said.len();
        let kin = words::kin(&problem).filter(|_| cell.row > 0);
        let number = kin.map_or(new, |kin| *self.kin.entry(kin).or_insert(new));
        match self.said.get_mut(number) {
            Some((_, cells)) => cells.push(cell),
            None => self.said.push((problem, vec![cell])),
        }
    }

    pub(super) fn any_error(&self) -> bool {
        self.said.iter().any(|(problem, _)| problem.is_error())
    }

    /// All problems in the order of the table, each at the first of its cells and with the names of
    /// all.
    pub(super) fn finish(self) -> Vec<Problem> {
        let named = self.said.into_iter().map(|(mut problem, mut cells)| {
            cells.sort_by_key(|cell| (cell.row, cell.column));
            cells.dedup_by_key(|cell| (cell.row, cell.column));
            let Some((first, others)) = cells.split_first() else {
                return problem;
            };
            problem.at = first.at.clone();
            words::of_cells(problem, &name(first.row, first.column), &ranges(others))
        });
        in_file_order(named.collect())
    }
}

/// `A`, `B` … `Z`, `AA` …, as a spreadsheet names its columns.
fn letters(mut number: usize) -> String {
    let mut name = Vec::new();
    loop {
        name.push(char::from(b'A' + (number % 26) as u8));
        if number < 26 {
            break;
        }
        number = number / 26 - 1;
    }
    name.iter().rev().collect()
}

/// A cell as a spreadsheet names it: `D5`; nothing for no cell.
fn name(row: usize, column: usize) -> String {
    if row == 0 {
        return String::new();
    }
    format!("{}{row}", letters(column))
}

/// The names of cells, those below each other together: `C6 to C9`, `C12`.
fn ranges(cells: &[Origin]) -> Vec<String> {
    let mut cells: Vec<_> = cells.iter().map(|cell| (cell.column, cell.row)).collect();
    cells.sort_unstable();
    let below = |a: &(usize, usize), b: &(usize, usize)| a.0 == b.0 && a.1 + 1 == b.1;
    let runs = cells.chunk_by(below).map(|run| {
        let ((column, from), (_, to)) = (run[0], run[run.len() - 1]);
        match run.len() {
            1 => name(from, column),
            2 => format!("{}, {}", name(from, column), name(to, column)),
            _ => format!("{} to {}", name(from, column), name(to, column)),
        }
    });
    runs.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_named_as_a_spreadsheet_names_them() {
        let table = [
            (1, 0, "A1"),
            (5, 25, "Z5"),
            (2, 26, "AA2"),
            (9, 27, "AB9"),
            (1, 702, "AAA1"),
            (0, 3, ""),
        ];
        for (row, column, expected) in table {
            assert_eq!(name(row, column), expected);
        }
    }

    #[test]
    fn cells_below_each_other_are_named_together() {
        let cells = [(2, 1), (4, 1), (5, 1), (6, 1), (6, 0), (8, 1), (9, 1)];
        let cells = cells.map(|(row, column)| Origin {
            row,
            column,
            at: 0..0,
        });
        assert_eq!(ranges(&cells), ["A6", "B2", "B4 to B6", "B8, B9"]);
    }
}
