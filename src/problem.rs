//! Every fault a file can have, with its place and a line that would mend it.
//!
//! A fault of the file's author is a [`Problem`]; readings that cannot all be true are a
//! contradiction; a fault of the machine belongs to the command line.
//!
//! **Wording.** Whoever finds a fault says only what is wrong with which data; the sentence is made
//! in `words`, the one place where a [`Finding`] can be made, so that all of them can be read, reviewed
//! and translated together.
//!
//! **Invariants.** Every code that reading a file can give is in [`Fault::ALL`], and each has a
//! file that provokes it (test `every_fault_has_a_file`). Nothing that a file contains reaches the
//! terminal raw: [`clean`] stands between (test `nothing_hostile_is_shown`). No finder words anything
//! (test `sentences_of_problems_stand_in_one_room`).

use std::ops::Range;

#[cfg(feature = "cli")]
mod drawing;
mod show;
pub(crate) mod words;
pub use show::{Look, Row, clean, rows, show};
pub use words::{Finding, Form, Thing, nearest, short};

/// A byte range in the text it was read from.
pub type Span = Range<usize>;

/// A value and where it stands in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Its bytes in the file.
    pub at: Span,
}

/// How bad a [`Problem`] is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The file cannot be used.
    Error,
    /// The file can be used; this is most likely wrong.
    Warning,
    /// What a careful colleague would ask.
    Advice,
}

macro_rules! faults {
    ($($(#[doc = $doc:literal])+ $name:ident = $code:literal $severity:ident;)+) => {
        /// What can be wrong with a file, or is worth a question.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Fault {
            $($(#[doc = $doc])+ $name,)+
        }

        impl Fault {
            /// Every fault there is.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// Its stable short name.
            pub const fn code(self) -> &'static str {
                match self {
                    $(Self::$name => $code,)+
                }
            }

            /// How bad it is.
            pub const fn severity(self) -> Severity {
                match self {
                    $(Self::$name => Severity::$severity,)+
                }
            }

            /// What it means, in a sentence.
            pub const fn meaning(self) -> &'static str {
                match self {
                    $(Self::$name => concat!($($doc),+),)+
                }
            }

            /// The fault with that code.
            pub fn with_code(code: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|fault| fault.code() == code)
            }
        }
    };
}

faults! {
    /// Not RON; nothing behind it is read.
    Syntax = "syntax" Error;
    /// A byte order mark at the start.
    ByteOrderMark = "byte-order-mark" Warning;
    /// An `#![enable(…)]` other than `implicit_some`.
    Extension = "extension" Error;
    /// Another record than the one that belongs there.
    StructName = "struct-name" Error;
    /// Nested deeper than 40 levels of parts.
    TooDeep = "too-deep" Error;
    /// A value that is not the list, map or record that belongs there.
    Shape = "shape" Error;
    /// A number without a unit, or with it in the wrong place.
    NoUnit = "no-unit" Error;
    /// A unit of something else.
    Unit = "wrong-unit" Error;
    /// `3,5` for `3.5`.
    DecimalComma = "decimal-comma" Error;
    /// Not a number at all.
    Number = "not-a-number" Error;
    /// NaN, an infinity, or a number so large that it becomes one.
    NotFinite = "not-finite" Error;
    /// Below zero.
    Negative = "negative" Error;
    /// A number that no vehicle has.
    Range = "out-of-range" Error;
    /// A text without quotes.
    Quotes = "no-quotes" Error;
    /// A text with nothing in it.
    Empty = "empty" Error;
    /// Neither `true` nor `false`.
    YesNo = "not-true-or-false" Error;
    /// A word that is not in the list of words for this field.
    Word = "unknown-word" Error;
    /// A field that nothing has.
    UnknownField = "unknown-field" Error;
    /// A field of another kind of part.
    MisplacedField = "misplaced-field" Error;
    /// A field given twice.
    DuplicateField = "duplicate-field" Error;
    /// A key given twice in a map.
    DuplicateKey = "duplicate-key" Error;
    /// A kind of part that there is not.
    UnknownPart = "unknown-part" Error;
    /// No `format`.
    NoFormat = "no-format" Error;
    /// A format other than 1.
    Format = "wrong-format" Error;
    /// No `name`.
    NoName = "no-name" Error;
    /// No `battery`, or something else in its place.
    NoBattery = "no-battery" Error;
    /// A part without `id`.
    NoId = "no-id" Error;
    /// A wire without its size.
    NoSize = "no-size" Error;
    /// An id given twice.
    DuplicateId = "duplicate-id" Error;
    /// A name that means two different things.
    NameClash = "name-clash" Error;
    /// A place that is not in `places`.
    UnknownPlace = "unknown-place" Error;
    /// A module that is not in `modules`.
    UnknownModule = "unknown-module" Error;
    /// A network that is not in `networks`.
    UnknownNetwork = "unknown-network" Error;
    /// A coil that moves something that is no relay here.
    CoilTarget = "coil-target" Error;
    /// A coil commanded by something that is not in the file.
    CoilCommand = "coil-command" Error;
    /// Parts below something that feeds nothing.
    FeedsNothing = "feeds-not-allowed" Error;
    /// A battery where no battery can be in series.
    BatteryBelow = "battery-below" Error;
    /// Parts that feed each other in a ring.
    Ring = "ring" Error;
    /// Places within each other.
    PlaceRing = "place-ring" Error;
    /// The battery feeds nothing.
    NoFeeds = "no-feeds" Error;
    /// A fuse larger than what protects its feed.
    LargerThanAbove = "larger-than-above" Warning;
    /// `least`, `asleep` and `at_most` contradict each other.
    DrawOrder = "draw-order" Warning;
    /// A 24 V supply without a limit.
    NoLimit = "no-limit" Advice;
    /// An entry of `accept` whose code there is not, or is that of an error.
    UnknownCode = "unknown-code" Warning;
    /// An entry of `accept` that nothing is asked about any more.
    IdleAccept = "idle-accept" Advice;
    /// A fuse larger than the wire behind it allows.
    ThinWire = "thin-wire" Advice;
    /// A fuse without its rating.
    NoRating = "no-rating" Advice;
    /// A number that is missing in a row of fuses.
    NumberGap = "number-gap" Advice;
    /// Sheets of the manual that nothing was entered from.
    SheetGap = "sheet-gap" Advice;
    /// A load without the plug that would prove it.
    NoPlug = "no-plug" Advice;
    /// A load without a place of its own.
    NoPlace = "no-place" Advice;
    /// A module with one feed, of a kind that usually has more.
    LoneFeed = "lone-feed" Advice;
    /// A module that nothing feeds.
    UnfedModule = "unfed-module" Advice;
    /// A box whose fuses hang on a battery elsewhere, with no cable or link between.
    UnfedBox = "unfed-box" Advice;
    /// A place with nothing in it.
    EmptyPlace = "empty-place" Advice;
    /// A place that is hours away.
    FarPlace = "far-place" Advice;
    /// Draws asleep that are over the limit already.
    AsleepOverLimit = "asleep-over-limit" Advice;
    /// Two names that differ in capitals or blanks alone.
    NearTwins = "near-twins" Advice;
    /// Two parts in one place with one label.
    SameLabel = "same-label" Advice;
    /// A column of a table that nothing is read from.
    UnknownColumn = "unknown-column" Warning;
    /// A table without a column that it needs.
    NoColumn = "no-column" Error;
    /// A row of a table that is fed by nothing, or by what is in no row.
    UnknownFeed = "unknown-feed" Error;
    /// What a table leaves open, and how it was taken.
    Guessed = "guessed" Advice;
    /// A range of an instrument without the step of its last digit.
    NoStep = "no-step" Error;
    /// A range of an instrument without its accuracy.
    NoAccuracy = "no-accuracy" Error;
    /// A loop lead without the number of its turns.
    NoTurns = "no-turns" Error;
    /// A clamp that is read on a meter, without that meter.
    NoDisplay = "no-display" Error;
    /// Neither a meter nor a clamp.
    NothingToRead = "nothing-to-read" Warning;
    /// An exercise without something that it needs.
    NoField = "no-field" Error;
    /// A hidden cause that does not say what is wrong.
    NoCause = "no-cause" Error;
    /// A name that nothing in the exercise's vehicle has.
    UnknownName = "unknown-name" Error;
    /// A cause that cannot be hidden in that part.
    CannotHide = "cannot-hide" Error;
    /// A question of an exercise without its answer.
    NoReply = "no-reply" Error;
    /// A seal beside what it should hide, or one that holds nothing.
    Seal = "seal" Error;
}

/// One fault of a file: a [`Finding`] with the place where it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// A stable short name of the fault, for example `unknown-place`.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    message: String,
    help: String,
    /// Where it is.
    pub at: Span,
    /// A second place that belongs to it, with a word about it.
    pub also: Option<(Span, String)>,
    /// The name of what it is about, where `accept` can tell it from others of its code.
    pub about: Option<String>,
}

impl Problem {
    /// What is wrong, in one sentence.
    pub fn message(&self) -> &str {
        &self.message
    }

    /// What to type instead.
    pub fn help(&self) -> &str {
        &self.help
    }

    /// Whether it keeps the file from being used.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// Puts problems in the order of the file, each place and code once.
pub fn in_file_order(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by(|a, b| {
        (a.at.start, a.at.end, a.code, &a.message).cmp(&(b.at.start, b.at.end, b.code, &b.message))
    });
    problems.dedup_by(|b, a| a.at == b.at && a.code == b.code && a.message == b.message);
    problems
}
