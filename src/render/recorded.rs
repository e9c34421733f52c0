//! What was put into a case, in words.

use crate::case::Entry;
use crate::problem::clean;
use std::fmt::Write as _;

/// The entries as they are kept, a line each with its number, then those that no longer count.
pub fn recorded(entries: &[Entry], no_longer: &[&Entry]) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    for entry in entries {
        let _ = writeln!(out, "{:>4}  {}", entry.number, clean(&entry.text));
    }
    for entry in no_longer {
        let (number, text) = (entry.number, clean(&entry.text));
        let _ = writeln!(out, "      entry {number} no longer counts: {text}");
    }
    out
}
