//! halfsplit finds what drains a parked vehicle's battery.
//!
//! The rooms, in reading order; each may name only rooms above it (enforced by a test):
#![forbid(unsafe_code)]

pub mod feeds;
pub mod instruments;
pub mod interval;
pub mod journal;
pub mod measurement;
pub mod notation;
pub mod planner;
pub mod problem;
pub mod quantity;
pub mod reference;
pub mod vehicle;
