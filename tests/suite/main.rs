//! The whole test suite in one binary; a sentence above each room.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // a test may fail loudly
#![allow(missing_docs)]

// What a vehicle file says arrives, with its unit and its place.
mod reading;

// Everything that can be wrong with a vehicle file, one small file each.
mod problems;

// Every sample vehicle is sound.
mod samples;

// House rules that a compiler does not check: order of rooms, one door to the world, nothing unfinished.
mod tidy;
