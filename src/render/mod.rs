//! What is shown to a person: all wording lives here.

mod check;

pub use check::check;
