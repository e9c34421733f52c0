//! Rows of numbers with holes in them: fuses of a box, sheets of the manual.

use crate::feeds::{Feeds, PartId, PlaceId};
use crate::problem::{Problem, words};
use crate::vehicle::PartKind;
use std::collections::{BTreeMap, BTreeSet};

/// As many numbers may be missing in a row between two that are there; more of them part two rows.
const WIDEST: u32 = 3;
/// A row has at least as many numbers.
const SHORTEST: usize = 4;

/// A name that ends in a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Numbered<'n> {
    before: &'n str,
    number: u32,
    /// Digits, with leading zeros.
    digits: usize,
}

impl<'n> Numbered<'n> {
    fn of(name: &'n str) -> Option<Self> {
        let before = name.trim_end_matches(|c: char| c.is_ascii_digit());
        let digits = name.len() - before.len();
        let number = name[before.len()..].parse().ok().filter(|_| digits < 7)?;
        Some(Self {
            before,
            number,
            digits,
        })
    }

    fn with(&self, number: u32) -> String {
        let padded = self.digits > self.number.to_string().len();
        let digits = if padded { self.digits } else { 0 };
        format!("{}{number:0digits$}", self.before)
    }
}

/// The holes of a row: the numbers that are missing, and the one that comes before and behind them.
fn holes(row: &BTreeSet<u32>) -> Vec<(Vec<u32>, u32, u32)> {
    let numbers: Vec<u32> = row.iter().copied().collect();
    let apart = |pair: &u32, next: &u32| next - pair <= WIDEST + 1;
    let mut found = Vec::new();
    for row in numbers.chunk_by(apart) {
        if row.len() < SHORTEST {
            continue;
        }
        let span = (row[row.len() - 1] - row[0]) as usize + 1;
        // Where more is missing than there, nobody has entered the box yet.
        if span > 2 * row.len() {
            continue;
        }
        for pair in row.windows(2) {
            let missing: Vec<u32> = (pair[0] + 1..pair[1]).collect();
            if !missing.is_empty() {
                found.push((missing, pair[0], pair[1]));
            }
        }
    }
    found
}

pub(super) fn ask(feeds: &Feeds) -> Vec<Problem> {
    let mut asked = fuses(feeds);
    asked.extend(sheets(feeds));
    asked
}

/// What the lid calls a part.
fn lid(feeds: &Feeds, id: PartId) -> &str {
    let part = feeds.part(id);
    part.label.as_deref().unwrap_or(&part.id.value)
}

/// A hole in a row of fuses.
struct Gap {
    /// The names that are missing; at least one.
    missing: Vec<String>,
    place: Option<PlaceId>,
    before: PartId,
    behind: PartId,
}

/// The fuses that are missing in rows of fuses, those that are missing together at a time, each with at
/// least one name.
pub fn missing_numbers(feeds: &Feeds) -> Vec<Vec<String>> {
    gaps(feeds).into_iter().map(|gap| gap.missing).collect()
}

fn fuses(feeds: &Feeds) -> Vec<Problem> {
    let asked = gaps(feeds).into_iter().map(|gap| {
        let place = gap.place.map(|id| feeds.place_as_written(id));
        let place = place.map(|place| place.id.value.as_str());
        let (before, behind) = (lid(feeds, gap.before), lid(feeds, gap.behind));
        let finding = words::number_gap(&gap.missing, place, before, behind);
        finding.at(feeds.part(gap.behind).id.at.clone())
    });
    asked.collect()
}

fn gaps(feeds: &Feeds) -> Vec<Gap> {
    type Row<'n> = (Option<PlaceId>, &'n str);
    let mut rows: BTreeMap<Row<'_>, BTreeMap<u32, PartId>> = BTreeMap::new();
    let guards = [PartKind::Fuse, PartKind::Breaker, PartKind::Link];
    for id in feeds.parts() {
        if guards.contains(&feeds.part(id).kind)
            && let Some(name) = Numbered::of(lid(feeds, id))
        {
            let row = rows.entry((feeds.place(id), name.before)).or_default();
            row.entry(name.number).or_insert(id);
        }
    }
    // Anything by that number in the same place, or by that name anywhere, fills a hole.
    let lids: BTreeSet<_> = feeds
        .parts()
        .map(|id| (feeds.place(id), lid(feeds, id)))
        .collect();
    let mut gaps = Vec::new();
    for ((place, _), row) in &rows {
        for (missing, before, behind) in holes(&row.keys().copied().collect()) {
            let (before, behind) = (row[&before], row[&behind]);
            let Some(like) = Numbered::of(lid(feeds, before)) else {
                continue;
            };
            // A builder's lid repeats the chassis maker's numbers: they fill no hole of his.
            let labelled = feeds.part(before).label.is_some();
            let entered = |name: &String| {
                lids.contains(&(*place, name)) || (!labelled && feeds.find(name).is_some())
            };
            let names = missing.iter().map(|number| like.with(*number));
            let missing: Vec<_> = names.filter(|name| !entered(name)).collect();
            if !missing.is_empty() {
                gaps.push(Gap {
                    missing,
                    place: *place,
                    before,
                    behind,
                });
            }
        }
    }
    gaps
}

fn sheets(feeds: &Feeds) -> Vec<Problem> {
    let mut rows: BTreeMap<&str, BTreeMap<u32, PartId>> = BTreeMap::new();
    for id in feeds.parts() {
        if let Some(name) = feeds.part(id).sheet.as_deref().and_then(Numbered::of) {
            let row = rows.entry(name.before).or_default();
            row.entry(name.number).or_insert(id);
        }
    }
    let mut asked = Vec::new();
    for row in rows.values() {
        for (missing, before, behind) in holes(&row.keys().copied().collect()) {
            let sheet = feeds.part(row[&before]).sheet.as_deref();
            let Some(like) = sheet.and_then(Numbered::of) else {
                continue;
            };
            let names: Vec<_> = missing.iter().map(|number| like.with(*number)).collect();
            let finding = words::sheet_gap(&names, &like.with(before), &like.with(behind));
            asked.push(finding.at(feeds.part(row[&behind]).id.at.clone()));
        }
    }
    asked
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn holes_of_rows() {
        let table: [(&[u32], &[&[u32]]); 7] = [
            (&[1, 2, 3, 4], &[]),
            (&[1, 2, 4, 5], &[&[3]]),
            (&[1, 2, 5, 6, 8], &[&[3, 4], &[7]]),
            // Two rows, of which only the second is long enough.
            (&[1, 2, 9, 10, 12, 13], &[&[11]]),
            // Hardly anything entered yet.
            (&[3, 7, 9], &[]),
            (&[1, 5, 9, 13], &[]),
            (&[], &[]),
        ];
        for (row, expected) in table {
            let found = holes(&row.iter().copied().collect());
            let missing: Vec<_> = found.iter().map(|(missing, ..)| &missing[..]).collect();
            assert_eq!(missing, expected, "{row:?}");
        }
    }

    #[test]
    fn names_keep_their_zeros() {
        for (name, next) in [
            ("F9", "F10"),
            ("F09", "F10"),
            ("8-001", "8-002"),
            ("7", "8"),
        ] {
            let like = Numbered::of(name).unwrap();
            assert_eq!(like.with(like.number + 1), next);
        }
        for name in ["F", "", "F3a", "F12345678"] {
            assert_eq!(Numbered::of(name), None);
        }
    }
}
