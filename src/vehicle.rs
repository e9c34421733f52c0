//! The vehicle file as written: format 1 of RON, read into a flat list of parts.
//!
//! RON and serde stay in this room and in [`crate::notation`]. What leaves is plain values with their places; whether
//! they fit together is the business of [`crate::feeds`].

use crate::problem::{Fault, Located};
use crate::quantity::{
    AmpHours, Metres, Milliamps, Milliohms, Millivolts, Minutes, SquareMillimetres,
};

mod comments;
mod patch;
mod read;
mod sheet;
mod starter;
mod write;
pub use comments::Comments;
pub use patch::{Patch, lines_of};
pub use read::{DEEPEST, read};
pub use starter::Starter;
pub use write::write;
pub(crate) use write::{fields_of, module_entry, place_entry, quoted, vehicle_fields};

/// An enum whose variants are the very words of the file.
macro_rules! words {
    ($(#[$doc:meta])* pub enum $name:ident { $($word:ident,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs)]
        pub enum $name {
            $($word,)+
        }

        impl $name {
            /// Every one with the word the file uses for it.
            pub const TABLE: &[(&str, Self)] = &[$((stringify!($word), Self::$word),)+];

            /// The one a word of the file means.
            pub fn named(word: &str) -> Option<Self> {
                let found = Self::TABLE.iter().find(|(name, _)| *name == word);
                found.map(|(_, value)| *value)
            }

            /// The word the file uses for it.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$word => stringify!($word),)+
                }
            }
        }
    };
}

words! {
    /// What a part is.
    pub enum PartKind {
        Battery,
        Cable,
        Link,
        Fuse,
        Breaker,
        Relay,
        Switch,
        Coil,
        Splice,
        Connector,
        Output,
        Load,
    }
}

words! {
    /// Fuse body styles of format 1.
    pub enum FuseStyle {
        Mini,
        LowMini,
        Regular,
        Maxi,
        Micro2,
        Micro3,
        Cartridge,
        LowCartridge,
        Midi,
        Mega,
        Glass,
        Torpedo,
        Other,
    }
}

words! {
    /// What a load is, which decides its usual draw, its odds and its cautions.
    pub enum LoadKind {
        Lamp,
        Audio,
        Telematics,
        BodyModule,
        EngineModule,
        Motor,
        Heater,
        Charging,
        Starter,
        Trailer,
        Added,
        Other,
        Airbag,
        Brake,
        HighVoltage,
        Protected,
        Moves,
    }
}

words! {
    /// The position of a relay's contact or a switch when the vehicle is parked.
    pub enum Rest {
        Open,
        Closed,
    }
}

words! {
    /// Conductor metal.
    pub enum Metal {
        Copper,
        Aluminium,
    }
}

/// How thick a conductor is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WireSize {
    /// Cross-section.
    Area(SquareMillimetres),
    /// American wire gauge number.
    Gauge(f64),
}

/// A length of wire, for reading a voltage drop along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    /// Thickness.
    pub size: WireSize,
    /// Length between the probes.
    pub length: Option<Metres>,
    /// Metal; copper where the file does not say.
    pub metal: Metal,
}

words! {
    /// A kind of test, as `can` and `never` name it.
    pub enum TestKind {
        Volts,
        Drop,
        Clamp,
        Series,
        Pull,
        Unplug,
        Look,
    }
}

/// One part of the tree as written. Fields that do not belong to its kind are `None`.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What it is.
    pub kind: PartKind,
    /// The name everything else uses.
    pub id: Located<String>,
    /// The part that feeds it: an index into [`Vehicle::parts`], smaller than its own; the battery has none.
    pub up: Option<u32>,
    /// Where it is.
    pub at: Option<Located<String>>,
    /// A longer name.
    pub name: Option<String>,
    /// What the lid says, when the id must differ.
    pub label: Option<String>,
    /// The manual's sheet.
    pub sheet: Option<String>,
    /// Free text.
    pub note: Option<String>,
    /// Relative odds that this part is the cause.
    pub odds: Option<f64>,
    /// The wire that leads to it.
    pub wire: Option<Wire>,
    /// The plug at it; may be shared by several parts.
    pub plug: Option<Located<String>>,
    /// Terminal number in that plug.
    pub pin: Option<String>,
    /// Wire colour.
    pub colour: Option<String>,
    /// Parts with the same holder come out together.
    pub holder: Option<String>,
    /// Tests it offers besides the usual ones of its kind.
    pub can: Vec<TestKind>,
    /// Tests it must never be offered.
    pub never: Vec<TestKind>,
    /// It does not come out.
    pub fixed: bool,
    /// A caution of its own.
    pub caution: Option<String>,
    /// Fuse, link, breaker: rated current.
    pub rating: Option<Located<Milliamps>>,
    /// Fuse, link: body style.
    pub style: Option<FuseStyle>,
    /// Fuse, link, breaker: measured resistance.
    pub resistance: Option<Milliohms>,
    /// Relay, switch: position when parked.
    pub rest: Option<Rest>,
    /// Load: what it is; `Other` when the file does not say.
    pub load: Option<LoadKind>,
    /// Load: the module it is a feed of.
    pub of: Option<Located<String>>,
    /// Load: usual draw asleep.
    pub asleep: Option<Milliamps>,
    /// Load: the most it draws asleep when healthy.
    pub at_most: Option<Milliamps>,
    /// Load: the least it draws asleep.
    pub least: Option<Milliamps>,
    /// Load: its draw when held awake.
    pub awake: Option<Milliamps>,
    /// Coil: the relay whose contact it moves.
    pub moves: Option<Located<String>>,
    /// Coil: the module (or switch) that commands it.
    pub commanded_by: Option<Located<String>>,
    /// Coil: its draw when energised.
    pub draws: Option<Milliamps>,
    /// Battery: nominal voltage.
    pub volts: Option<Millivolts>,
    /// Battery: 20 h capacity.
    pub capacity: Option<AmpHours>,
    /// Battery: reserve capacity, minutes at 25 A.
    pub reserve: Option<Minutes>,
}

impl Part {
    /// A part with nothing but its id.
    pub fn new(kind: PartKind, id: Located<String>, up: Option<u32>) -> Self {
        Self {
            kind,
            id,
            up,
            at: None,
            name: None,
            label: None,
            sheet: None,
            note: None,
            odds: None,
            wire: None,
            plug: None,
            pin: None,
            colour: None,
            holder: None,
            can: Vec::new(),
            never: Vec::new(),
            fixed: false,
            caution: None,
            rating: None,
            style: None,
            resistance: None,
            rest: None,
            load: None,
            of: None,
            asleep: None,
            at_most: None,
            least: None,
            awake: None,
            moves: None,
            commanded_by: None,
            draws: None,
            volts: None,
            capacity: None,
            reserve: None,
        }
    }
}

/// A place where a person works.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its name.
    pub id: Located<String>,
    /// Minutes to get at it, from the place it is within.
    pub reach: Minutes,
    /// Whether the file says so; else it is [`Place::USUAL_REACH`].
    pub reach_given: bool,
    /// Whether opening it wakes the vehicle.
    pub wakes: bool,
    /// The place that must be opened before it.
    pub within: Option<Located<String>>,
}

impl Place {
    /// Minutes to get at a place whose file does not say (judgement).
    pub const USUAL_REACH: Minutes = Minutes::of(2.0);
}

/// A module: one electronic unit with one or more feeds.
#[derive(Clone, Debug, PartialEq)]
pub struct Module {
    /// Its name.
    pub id: Located<String>,
    /// The network it talks on.
    pub network: Option<Located<String>>,
    /// Its total draw when awake.
    pub awake: Option<Milliamps>,
    /// Inputs that hold it awake.
    pub held_by: Vec<Located<String>>,
}

/// Something that `check` would ask about and that is meant so.
#[derive(Clone, Debug, PartialEq)]
pub struct Accepted {
    /// The code, and behind a blank the name of what it is about where not all are meant.
    pub what: Located<String>,
    /// Why it is right.
    pub reason: String,
}

impl Accepted {
    /// The code, and the name of what it is about.
    pub fn code_and_name(&self) -> (&str, Option<&str>) {
        match self.what.value.split_once(' ') {
            Some((code, name)) => (code, Some(name)),
            None => (&self.what.value, None),
        }
    }
}

impl Vehicle {
    /// A vehicle with nothing but a name: no parts yet, so nothing to check.
    pub fn named(name: String) -> Self {
        Self {
            name,
            note: None,
            year: None,
            limit: None,
            settle: None,
            places: Vec::new(),
            networks: Vec::new(),
            modules: Vec::new(),
            accept: Vec::new(),
            parts: Vec::new(),
        }
    }

    /// Accepts a question about the thing of that name, unless it is accepted already.
    pub fn accept(&mut self, fault: Fault, name: &str, reason: &str) {
        let what = format!("{} {name}", fault.code());
        if self.accept.iter().all(|entry| entry.what.value != what) {
            let at = 0..0;
            self.accept.push(Accepted {
                what: Located { value: what, at },
                reason: reason.to_owned(),
            });
        }
    }
}

/// A vehicle file as written; references are names, not yet resolved.
#[derive(Clone, Debug, PartialEq)]
pub struct Vehicle {
    /// Its name.
    pub name: String,
    /// Free text, such as the source of the limit.
    pub note: Option<String>,
    /// Year of manufacture.
    pub year: Option<i32>,
    /// Settled draw allowed.
    pub limit: Option<Located<Milliamps>>,
    /// Time to fall asleep.
    pub settle: Option<Minutes>,
    /// Places, in the file's order.
    pub places: Vec<Place>,
    /// Network names, in the file's order.
    pub networks: Vec<Located<String>>,
    /// Modules, in the file's order.
    pub modules: Vec<Module>,
    /// What is meant so although `check` would ask, in the file's order.
    pub accept: Vec<Accepted>,
    /// Parts in tree order: the battery first, each part before what it feeds, and all that a part
    /// feeds directly behind it.
    pub parts: Vec<Part>,
}
