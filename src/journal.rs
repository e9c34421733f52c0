//! Entries ↔ text: what was done and read at the vehicle, one a line.

use crate::feeds::{ModuleId, NetworkId, PartId, PlaceId};
use crate::measurement::{Jack, Method, Reading};

/// What an entry is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Point {
    /// A part.
    Part(PartId),
    /// A plug, by its name, with the parts in it.
    Plug(String, Vec<PartId>),
    /// A module.
    Module(ModuleId),
    /// A network.
    Network(NetworkId),
    /// An input that holds modules awake, by its name.
    Input(String),
    /// The battery as a whole (draws).
    Battery,
}

/// What was looked at and seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// yes, warm, lit, on, found
    Yes,
    /// no, cold, dark, off, none, silent
    No,
}

/// How a current was taken, as far as the entry says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum By {
    Clamp,
    Series,
}

/// Options behind a reading.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Options {
    /// `by clamp`, `by series`.
    pub by: Option<By>,
    /// `turns 5`.
    pub turns: Option<u32>,
    /// `jack mA`, `jack A`.
    pub jack: Option<Jack>,
    /// `with 640mA`: the total at that moment.
    pub with: Option<Reading>,
    /// `at 14:32`: minutes after midnight.
    pub at: Option<u16>,
    /// `sure`: do not question it.
    pub sure: bool,
}

/// One thing done or read.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Act {
    /// `draw`, `drop`, `clamp`, `series`, `volts` with a reading.
    Read {
        method: Method,
        point: Point,
        reading: Reading,
        options: Options,
    },
    Look {
        point: Point,
        seen: Seen,
        word: String,
    },
    Pull(Vec<Point>),
    Unplug(Vec<Point>),
    Refit(Vec<Point>),
    Open(PlaceId),
    Zero(Option<Reading>),
    Asleep,
    Awake,
    Prepared,
    Told {
        key: Option<String>,
        text: String,
    },
    Skip {
        method: Method,
        point: Point,
        reason: String,
    },
    /// Entry `entry` no longer counts.
    Withdraw {
        entry: u32,
        reason: String,
    },
    /// The latest entry that still counts no longer does.
    Undo,
    Repaired {
        point: Option<Point>,
        text: String,
    },
    Note(String),
}
