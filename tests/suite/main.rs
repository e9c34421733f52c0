//! The whole test suite in one binary; a sentence above each room.

// What a vehicle file says arrives, with its unit and its place.
mod reading;
