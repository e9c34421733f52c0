//! Commented starter files: a small vehicle that passes the check, to be overwritten from the manual.

use crate::quantity::{AmpHours, Milliamps};
use crate::vehicle::write::{capacity, draw, quoted};

/// What a starter file is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Starter {
    /// A 12 V car or van.
    Car,
    /// A 24 V truck or coach, with two batteries in series.
    Truck,
    /// A teaching board.
    Board,
}

impl Starter {
    /// Every one with the word that a person types for it.
    pub const TABLE: &[(&str, Self)] = &[
        ("car", Self::Car),
        ("truck", Self::Truck),
        ("board", Self::Board),
    ];

    /// The text of the file. Without a capacity or limit it does not say one; where there is a common
    /// figure for the limit, a comment does.
    pub fn text(self, name: &str, size: Option<AmpHours>, limit: Option<Milliamps>) -> String {
        let (text, unknown) = match self {
            Self::Car => (include_str!("starter/car.ron"), TWELVE_VOLTS),
            Self::Truck => (include_str!("starter/truck.ron"), TWENTY_FOUR_VOLTS),
            Self::Board => (include_str!("starter/board.ron"), TWELVE_VOLTS),
        };
        let limit = limit.map_or_else(
            || unknown.to_owned(),
            |limit| format!("limit: {},  // settled draw allowed", draw(limit)),
        );
        let size = size.map(|size| format!("capacity: {}, ", capacity(size)));
        // The name last: it may hold anything.
        text.replace("LIMIT", &limit)
            .replace("CAPACITY", &size.unwrap_or_default())
            .replacen("NAME", &quoted(name), 1)
    }
}

const TWELVE_VOLTS: &str =
    "// limit: mA(50),  // the maker's settled draw; else 50 mA (common practice, no source)";
const TWENTY_FOUR_VOLTS: &str =
    "// limit: mA(…),  // the maker's settled draw; without it no verdict on 24 V";
