//! (written by its owner)
