//! halfsplit finds what drains a parked vehicle's battery.
//!
//! The rooms, in reading order; each may name only rooms above it (enforced by a test, which reads
//! this file; the blank lines keep rustfmt from sorting it):
#![forbid(unsafe_code)]

pub mod quantity;

pub mod interval;

pub mod problem;

pub mod notation;

pub mod vehicle;

pub mod feeds;

pub mod table;

pub mod growth;

pub mod renaming;

pub mod difference;

pub mod reference;

pub mod advice;

pub mod instruments;

pub mod measurement;

pub mod battery;

pub mod log;

pub mod ledger;

pub mod judgement;

pub mod suspects;

pub mod planner;

pub mod journal;

pub mod amps;

pub mod case;

pub mod report;

pub mod simulation;

pub mod drill;

pub mod render;

#[cfg(feature = "cli")]
pub mod cli;
