//! Every fault a file can have, with its place and a line that would mend it.
//!
//! A fault of the file's author is a [`Problem`]; readings that cannot all be true are a
//! contradiction (see the ledger); a fault of the machine belongs to the command line.

use std::ops::Range;

/// A byte range in the text it was read from.
pub type Span = Range<usize>;

/// A value and where it stands in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Its bytes in the file.
    pub at: Span,
}

/// How bad a [`Problem`] is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The file cannot be used.
    Error,
    /// The file can be used; this is most likely wrong.
    Warning,
    /// What a careful colleague would ask.
    Advice,
}

/// One fault of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// A stable short name of the fault, for example `unknown-place`.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, in one sentence.
    pub message: String,
    /// What to type instead.
    pub help: String,
    /// Where it is.
    pub at: Span,
    /// A second place that belongs to it, with a word about it.
    pub also: Option<(Span, String)>,
}
