//! A table as rows of cells, each with its place in the text.

use crate::problem::Span;

/// One cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    /// Its text without white space at the ends.
    pub(super) text: String,
    /// Its bytes in the table, quotes included.
    pub(super) at: Span,
}

/// A table: the headings and the rows below them, blank rows left out.
pub(super) struct Table {
    /// The rows with their numbers as a spreadsheet counts them; the first is the headings.
    pub(super) rows: Vec<(usize, Vec<Cell>)>,
    /// What parts its cells.
    pub(super) separator: char,
}

impl Table {
    /// Takes any text apart; a byte order mark, and a first line `sep=;` as some spreadsheets write
    /// it, are passed over.
    pub(super) fn read(text: &str) -> Self {
        let mut from = if text.starts_with('\u{feff}') { 3 } else { 0 };
        let mut number = 0;
        let line = text[from..].lines().next().unwrap_or_default();
        let told = line.strip_prefix("sep=").and_then(|d| d.chars().next());
        if told.is_some() {
            from = (from + line.len() + 1).min(text.len());
            from += usize::from(text[from..].starts_with('\n') && text[..from].ends_with('\r'));
            number = 1;
        }
        let delimiter = told
            .filter(char::is_ascii)
            .unwrap_or_else(|| guess(&text[from..]));
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter as u8)
            .has_headers(false)
            .flexible(true)
            .from_reader(&text.as_bytes()[from..]);
        let mut rows = Vec::new();
        let mut end = from;
        let mut record = csv::StringRecord::new();
        // Text in memory that is UTF-8 cannot fail to be read.
        while let Ok(true) = reader.read_record(&mut record) {
            let start = end;
            end = from + reader.position().byte() as usize;
            let row = start + text[start..end].len()
                - text[start..end].trim_start_matches(['\r', '\n']).len();
            // The reader passes over blank lines, which a spreadsheet counts, and over the second
            // half of the line end before.
            let half = text[..start].ends_with('\r') && text[start..].starts_with('\n');
            number += 1 + text[start..row].matches('\n').count() - usize::from(half);
            let spans = spans(text, row..end, delimiter);
            let cells = record.iter().enumerate().map(|(n, cell)| Cell {
                text: cell.trim().to_owned(),
                at: spans.get(n).cloned().unwrap_or(row..end),
            });
            let cells: Vec<_> = cells.collect();
            if cells.iter().any(|cell| !cell.text.is_empty()) {
                rows.push((number, cells));
            }
        }
        Self {
            rows,
            separator: delimiter,
        }
    }
}

/// What stands most often in the headings, outside quotes; of equals the one that is rarer in texts.
fn guess(text: &str) -> char {
    let mut counts = [('\t', 0), (';', 0), (',', 0)];
    let (mut quoted, mut before) = (false, ',');
    for c in text.trim_start_matches(['\r', '\n']).chars() {
        let opens = counts.iter().any(|(delimiter, _)| *delimiter == before);
        before = c;
        match c {
            // A quote counts at the start of a cell only.
            '"' if quoted || opens => quoted = !quoted,
            '\n' if !quoted => break,
            _ if quoted => {}
            _ => {
                for (delimiter, count) in &mut counts {
                    *count += usize::from(c == *delimiter);
                }
            }
        }
    }
    let most = counts.iter().map(|(_, count)| *count).max().unwrap_or(0);
    let found = counts.iter().find(|(_, count)| *count == most);
    found.map_or(',', |(delimiter, _)| *delimiter)
}

/// Where the cells of one row stand: without the white space round them, with their quotes.
fn spans(text: &str, row: Span, delimiter: char) -> Vec<Span> {
    let mut spans = Vec::new();
    let (mut start, mut quoted, mut fresh) = (row.start, false, true);
    let mut push = |from: usize, to: usize| {
        let cell = &text[from..to];
        let from = from + cell.len() - cell.trim_start().len();
        spans.push(from..(from + cell.trim().len()));
    };
    for (at, c) in text[row.clone()].char_indices() {
        let at = row.start + at;
        match c {
            '"' if quoted || fresh => quoted = !quoted,
            _ if c == delimiter && !quoted => {
                push(start, at);
                start = at + c.len_utf8();
            }
            _ => {}
        }
        fresh = start == at + c.len_utf8() || (c == '"' && !quoted);
    }
    push(start, row.end);
    spans
}

/// Writes rows with commas between the cells.
#[derive(Default)]
pub(super) struct Writer {
    rows: Vec<Vec<String>>,
}

impl Writer {
    pub(super) fn row(&mut self, cells: impl Iterator<Item = String>) {
        self.rows.push(cells.collect());
    }

    pub(super) fn finish(self) -> String {
        let mut out = csv::WriterBuilder::new().from_writer(Vec::new());
        for row in &self.rows {
            // Writing to memory cannot fail, and all rows are of one length.
            let _ = out.write_record(row);
        }
        let bytes = out.into_inner().unwrap_or_default();
        String::from_utf8(bytes).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_and_their_places() {
        // text, rows with the slices that their cells stand for
        type Rows = &'static [(usize, &'static [(&'static str, &'static str)])];
        let table: [(&str, Rows); 6] = [
            (
                "id,pin\nF1,7\n",
                &[
                    (1, &[("id", "id"), ("pin", "pin")]),
                    (2, &[("F1", "F1"), ("7", "7")]),
                ],
            ),
            (
                "\u{feff}id;\"a,b\"\r\n\r\n;\r\nx; 7 ",
                &[
                    (1, &[("id", "id"), ("a,b", "\"a,b\"")]),
                    (4, &[("x", "x"), ("7", "7")]),
                ],
            ),
            ("sep=;\nid,x\n", &[(2, &[("id,x", "id,x")])]),
            (
                "a\tb,c\n1\t\"2\n3\"\n4\t5",
                &[
                    (1, &[("a", "a"), ("b,c", "b,c")]),
                    (2, &[("1", "1"), ("2\n3", "\"2\n3\"")]),
                    (3, &[("4", "4"), ("5", "5")]),
                ],
            ),
            ("a\"b,c\"d\n", &[(1, &[("a\"b", "a\"b"), ("c\"d", "c\"d")])]),
            (
                "\"say \"\"x, y\"\"\",2",
                &[(1, &[("say \"x, y\"", "\"say \"\"x, y\"\"\""), ("2", "2")])],
            ),
        ];
        for (text, expected) in table {
            let read = Table::read(text);
            let rows: Vec<_> = read
                .rows
                .iter()
                .map(|(n, cells)| {
                    let cells: Vec<_> = cells
                        .iter()
                        .map(|c| (c.text.as_str(), &text[c.at.clone()]))
                        .collect();
                    (*n, cells)
                })
                .collect();
            let expected: Vec<_> = expected
                .iter()
                .map(|(n, cells)| (*n, cells.to_vec()))
                .collect();
            assert_eq!(rows, expected, "{text:?}");
        }
    }
}
