//! The whole test suite in one binary; a sentence above each room.
