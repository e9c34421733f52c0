//! What is shown to a person: all wording lives here.

mod check;
mod tree;
mod words;

pub use check::check;
pub use tree::{Branch, Standing, StandingRow, Standings, tree, tree_rows};
