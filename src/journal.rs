//! Entries ↔ text: what was done and read at the vehicle, one a line.
//!
//! **Model.** A line holds one or more entries separated by `;` (`note` takes the rest of its line, `told` all
//! but further entries). An entry is METHOD POINT READING OPTIONS. [`parse`] turns text into [`Act`]s and [`write()`] gives the text that [`parse`] reads back
//! as the same act. Neither knows what the acts mean for the vehicle: that is the case's business.
//!
//! **Which name is meant.** The point is the longest known name behind which a reading with its
//! options stands, so ids with spaces, numbers and units need no quotes. Where no reading follows
//! (`skip`, `repaired`) it is the longest that fits. Capitals may be left out, and what the lid says
//! (`label`) may be typed, where only one part can be meant. A name may be put in double quotes
//! (`\"`, `\\`, `\u{…}` inside); [`write()`] does so only where the plain text would be read as
//! something else.
//!
//! **Invariants.** A line that is refused changes nothing, and every [`Refusal`] shows a line that
//! would have been taken. Every act that [`parse`] gives comes back from its own text (both are
//! properties in room `entries` of the test suite).
//!
//! **Cost.** Linear in the length of the text (`long_lines_take_no_longer_than_their_length`);
//! [`parse`] and [`write()`] index the names on each call, [`parse_with`] and [`write_with`] do not.

mod done;
mod line;
mod meant;
mod measured;
mod mending;
mod names;
mod options;
mod parsing;
mod passing;
mod reading;
mod refusal;
mod renamed;
mod several;
mod skip;
mod timed;
mod writing;

pub use done::volts_of;
pub use names::Names;
pub use parsing::{entries, parse, parse_timed, parse_with, test_named};
pub use reading::{in_amps, read_quantity, write_reading};
pub use refusal::{Misfit, Passing, Refusal, Unfit, Wrong};
pub use renamed::{Renaming, with_names_of_today};
pub use several::{List, as_list};
pub use timed::Timed;
pub use writing::{log_of, write, write_timed, write_with};

use crate::feeds::{ModuleId, NetworkId, PartId, PlaceId};
use crate::measurement::{Jack, Method, Reading};
use crate::quantity::{Celsius, Days, Millivolts};

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
    /// A place; only `open …` and `skip place …` are about one.
    Place(PlaceId),
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

/// A length of time as it was typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lasting {
    /// In its unit.
    pub amount: f64,
    /// Seconds in one of its unit: 1, 60, 3600 or 86 400.
    pub seconds: u32,
}

impl Lasting {
    /// In minutes.
    pub fn minutes(self) -> f64 {
        self.amount * f64::from(self.seconds) / 60.0
    }
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
    /// `reversed -0.39mV`: what a drop showed with the probes turned round.
    pub reversed: Option<Reading>,
    /// `sure`: do not question it.
    pub sure: bool,
}

/// One thing done or read. Several places opened or points skipped in one entry are an act each.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Act {
    /// `draw`, `drop`, `clamp`, `series`, `volts` with a reading. `clamp battery …` and
    /// `series battery …` arrive as `Draw` at [`Point::Battery`] with `by` set; every other method
    /// at the battery as [`Point::Part`] 0.
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
    /// Put back in; no points at all means everything that is out (`refit all`).
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
    /// A test that is not possible; `Open` at a place: nothing there is, nor behind it.
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
    /// The draw rises by so much, now and then.
    Comes {
        size: Reading,
        every: Option<Lasting>,
        lasts: Option<Lasting>,
        after: Option<Lasting>,
    },
    /// The draw was logged so long, and this was the highest.
    Logged {
        long: Lasting,
        most: Option<Reading>,
    },
    Note(String),
}

/// What the moment adds to the text of an entry.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Context {
    /// The entry that the pending test asks for, without its reading (`drop F3`): then the reading
    /// alone will do, or the answer to a `look`; `done` stands for a pending action, and `skip` needs
    /// no point. Counts for the first entry of the line.
    pub pending: Option<String>,
    /// The clamp is read on the meter, so a clamp reading, or a draw not by series, may be in
    /// millivolts.
    pub clamp_in_millivolts: bool,
    /// Where the pending test is: `skip place` needs no name of it.
    pub place: Option<String>,
    /// What is out: a plain `refit` means it where it is one thing.
    pub out: Vec<String>,
    /// The text was kept as one entry: a `;` in what is told parts nothing.
    pub kept: bool,
}

impl Context {
    /// What an entry that was kept is read with.
    pub fn of_kept() -> Self {
        Self {
            clamp_in_millivolts: true,
            kept: true,
            ..Self::default()
        }
    }
}

/// The word an entry of this method starts with.
pub const fn word(method: Method) -> &'static str {
    match method {
        Method::Volts => "volts",
        Method::Drop => "drop",
        Method::Clamp => "clamp",
        Method::Series => "series",
        Method::Look => "look",
        Method::Draw => "draw",
        Method::Pull => "pull",
        Method::Unplug => "unplug",
        Method::Refit => "refit",
        Method::Open => "open",
        Method::Zero => "zero",
        Method::Wait => "wait",
        Method::Log => "logged",
    }
}

/// The keys that `told` knows; anything else is free text.
pub const TOLD_KEYS: [&str; 11] = [
    "days", "volts", "added", "work", "dead", "parked", "rain", "coverage", "network", "odds",
    "celsius",
];

/// The number that a text begins with; a comma may stand for its point.
fn first_number(text: &str) -> Option<f64> {
    let word = text.split_whitespace().next()?.replace(',', ".");
    word.parse().ok()
}

/// The days behind `told days`: above 0, below 10 000.
pub fn days(text: &str) -> Option<Days> {
    let days = first_number(text)?;
    (days > 0.0 && days < 10_000.0).then(|| Days::of(days))
}

/// The volts of the rested battery behind `told volts`, of one of 12 V or of two in series: 1 to 32.
pub fn rested_volts(text: &str) -> Option<Millivolts> {
    let word = text.split_whitespace().next()?;
    let volts = first_number(word.trim_end_matches(['V', 'v']))?;
    (1.0..=32.0)
        .contains(&volts)
        .then(|| Millivolts::of(volts * 1000.0))
}

/// The temperature behind `told celsius`, where the resistance tables hold: -40 to 120.
pub fn celsius(text: &str) -> Option<Celsius> {
    let number = text.split_whitespace().next()?.trim_end_matches("°C");
    let number = number.trim_end_matches(['C', 'c', '°']).replace(',', ".");
    let celsius = number.replace('−', "-").parse::<f64>().ok()?;
    (-40.0..=120.0)
        .contains(&celsius)
        .then(|| Celsius::of(celsius))
}
