//! What a case holds to be so: draws, readings as they were shown, what is out, proofs, and what was asked.

use super::blind::Blind;
use super::slip::Slip;
use crate::battery::Rested;
use crate::feeds::{Feeds, PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::Point;
use crate::ledger::Out;
use crate::measurement::{Method, Reading, Way};
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject};

/// A settled total at the battery.
#[derive(Clone, Debug, PartialEq)]
pub struct Draw {
    /// Its entry.
    pub entry: u32,
    /// What was out.
    pub out: Out,
    /// What it says.
    pub current: Interval<Milliamps>,
    /// What flows without the meter that it was taken with in line.
    pub flows: Interval<Milliamps>,
    /// How it was taken.
    pub way: Way,
}

impl Draw {
    /// This and another as they compare: by the same jack as read, else as either flows without the meter.
    pub(super) fn against(&self, other: &Self) -> (Interval<Milliamps>, Interval<Milliamps>) {
        if self.way == other.way {
            (self.current, other.current)
        } else {
            (self.flows, other.flows)
        }
    }
}

/// What one reading showed when it was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// Its entry.
    pub entry: u32,
    /// How.
    pub method: Method,
    /// Where.
    pub part: PartId,
    /// What was out.
    pub out: Out,
    /// What the display showed.
    pub reading: Reading,
    /// The current it says, where it says one that is not below zero.
    pub current: Option<Interval<Milliamps>>,
    /// The current that it says best, and the standard uncertainty of that, in mA; where it says one.
    pub best: Option<(f64, f64)>,
    /// The vehicle was asleep.
    pub asleep: bool,
    /// It was taken to be true then; a later one may have taken its place, or ended its spell.
    pub taken: bool,
}

/// A reading of nothing that nobody has checked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Zero {
    /// A drop, which a probe off its tab shows too, or a clamp, whose jaws may not have shut.
    pub(super) method: Method,
    /// The part was shown to be live since.
    pub(super) live: bool,
}

/// Something taken out by one entry.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenOut {
    /// As it was named.
    pub name: String,
    /// What it was.
    pub point: Point,
    /// It was unplugged, not pulled.
    pub unplugged: bool,
    /// The parts without feed because of it.
    pub parts: Vec<PartId>,
}

/// A cause whose proof was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// What has gone wrong.
    pub cause: Cause,
    /// In what.
    pub subject: Subject,
    /// The fall when it was taken out.
    pub fell: Interval<Milliamps>,
    /// The draw came back with it.
    pub returned: bool,
    /// What was taken out.
    pub taken: Vec<TakenOut>,
    /// The draws before, without and after it, by their entries.
    pub draws: [u32; 3],
}

impl Found {
    /// What came out for the proof, as it was named, where what was found kept its feed meanwhile: of a contact what
    /// hangs behind it.
    pub fn out_in_its_place(&self, feeds: &Feeds) -> Option<Vec<&TakenOut>> {
        let Subject::Part(seat) = self.subject else {
            return None;
        };
        let cuts = |taken: &TakenOut| taken.parts.iter().any(|part| feeds.is_below(seat, *part));
        (!self.taken.iter().any(cuts)).then(|| self.taken.iter().collect())
    }
}

/// A proof under way: the draw fell, and it is not known yet whether it returns.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Trial {
    pub(super) cause: Cause,
    pub(super) subject: Subject,
    pub(super) taken: Vec<TakenOut>,
    pub(super) before: Interval<Milliamps>,
    pub(super) without: Interval<Milliamps>,
    pub(super) fell: Interval<Milliamps>,
    /// The entries of the draws before and without it.
    pub(super) draws: [u32; 2],
}

/// What came of taking something out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pulled {
    /// What was out beside it.
    pub(super) base: Out,
    pub(super) parts: Vec<PartId>,
    pub(super) fell: Interval<Milliamps>,
    /// What fell at most, and was left at most, without the meter in line, in mA: by how much less a plain
    /// resistance takes with it there.
    pub(super) most_fell: f64,
    pub(super) most_left: f64,
    /// The draws with them, and without them.
    pub(super) with: Interval<Milliamps>,
    pub(super) without: Interval<Milliamps>,
    /// What was taken out, and the entries of the draws before, without and after: it returned then, with
    /// just the proven drains out.
    pub(super) taken: Vec<TakenOut>,
    pub(super) draws: [u32; 2],
    pub(super) returned: Option<u32>,
    /// What fell at least beside all that healthy parts among them may take, in mA.
    pub(super) beyond: f64,
    /// The excess that mattered then, in mA.
    pub(super) matters: f64,
    /// Nothing that matters fell, or no more than healthy parts among them may take and nobody's proof
    /// began.
    pub(super) vain: bool,
}

/// What was done between two draws.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Done {
    /// As it was entered.
    Entry(String),
    /// The first was read by a clamp, and the second with the meter in the lead, which was lifted for it.
    MeterInLine,
}

/// What a reading makes one ask.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// A drop that would be a current which cannot flow there: the reading, that current in mA, and the
    /// rating in mA where it is more than that.
    CannotBe(PartId, Reading, f64, Option<f64>),
    /// What was proven is in, something else is out, and less flows than fell with it: it draws only while that
    /// is in, so its proof counts no longer.
    ProvenNeeds(Vec<Subject>),
    /// What fell with one thing and another out, one after the other, is more together than flows at all: these
    /// proofs count no longer.
    AddUpToMore(Vec<Subject>),
    /// A first draw of about what the modules take awake by the file: the draw, and that, in mA.
    AsIfAwake(Interval<Milliamps>, f64),
    /// The draw is over the limit, and so is what the vehicle takes as a rule by its file: that, and the limit, in mA.
    UsualOverLimit(f64, f64),
    /// Readings that cannot all be true, of which these would be but for a power of ten.
    Slipped(Vec<Slip>),
    /// The draw read again with nothing done is another one by a power of ten: then, and now.
    ReadWrong(Interval<Milliamps>, Interval<Milliamps>),
    /// A repair from before anything was found over the limit, and whether anything of this vehicle is named
    /// by it.
    MendedBefore(bool),
    /// What was told names nobody, but for a letter: the word as it was typed, and the one it is like.
    Misspelt(String, String),
    /// Nothing was read at this part, and that was wrong: these were proven while it counted, and are no longer.
    RestedOnZero(PartId, Vec<Subject>),
    /// A drop showed nothing before, in that entry, and shows a current now: the zero counts no longer.
    ZeroBefore(PartId, u32),
    /// What was read at a part in the same way is another current than in that entry, which counts no longer:
    /// then, and now.
    ReadOtherwise(PartId, u32, Interval<Milliamps>, Interval<Milliamps>),
    /// What was proven is silent with these out in the place of what proved it, and the draw is back: it is not
    /// the cause.
    DrawsWithout(Subject, Vec<String>, Interval<Milliamps>),
    /// By what was read since, no more than so much, in mA, can flow in what was proven, and more fell with it: it
    /// is not the cause.
    ClearedSince(Subject, f64, Interval<Milliamps>),
    /// The draw is what it was with these in, which were said to be out.
    StillIn(Vec<String>),
    /// Almost nothing flows on a vehicle with modules; what was typed in mA, where A may have been meant, and its
    /// decimals.
    HardlyAnything(Interval<Milliamps>, Option<(Milliamps, usize)>),
    /// Far too much for a sleeping vehicle.
    Awake(Interval<Milliamps>),
    /// More than the jack takes.
    MoreThanJack(Milliamps),
    /// A negative current.
    LeadsRound,
    /// A minus within the accuracy of zero: it counts as zero.
    NearZero,
    /// More than the range shows, in volts.
    OverRange(PartId),
    /// A negative current once more at the same point.
    BackFed(PartId),
    /// It fell when something came out, and stayed down with it back in: the fall in mA, and how often
    /// that was so.
    FellAndStayed(f64, usize),
    /// More flows than with less out, or than before: the draw then, and now.
    Rose(Interval<Milliamps>, Interval<Milliamps>),
    /// The draw fell by itself, so proofs taken just before may have been of parts that were falling
    /// asleep: they count no longer.
    NotSettledThen(Vec<Subject>),
    /// More was read in a part than fell with it out: the part, the reading's entry, what it said, and
    /// what fell at most, in mA.
    DidNotFall(PartId, u32, Interval<Milliamps>, f64),
    /// What was read at the first, in that entry, was read at these beside it just the same.
    ReadAlike(PartId, u32, Vec<PartId>),
    /// Something else came out where these were to go back in: by what was entered they are out still.
    StillOut(Vec<String>),
    /// With nothing done the draw is far less than it was, and not believed before it is read once more: then, and now.
    BridgeOn(Interval<Milliamps>, Interval<Milliamps>),
    /// A draw, in that entry, was far less than before it and after it, with nothing done: that, in mA.
    WasItBridged(u32, Interval<Milliamps>),
    /// The vehicle was not asleep.
    NotAsleep,
    /// Nobody said that it sleeps; by this draw it does.
    SleepsByThis,
    /// The draw is still over the limit after the repair, and of what was proven that which took about as
    /// much as it is over what was left with all of it out.
    NotMended(Interval<Milliamps>, Vec<Subject>),
    /// The draw after the repair is what it was before it, so what was known then is known still: the draw.
    MendedInVain(Interval<Milliamps>),
    /// Several drains were proven, and these are not named by what was mended.
    MendedToo(Vec<Subject>),
    /// The vehicle was awake when the draw was read before; what it was then, and asleep.
    FellAsleep(Interval<Milliamps>, Interval<Milliamps>),
    /// The draw changed though nothing was done.
    Changed(Interval<Milliamps>, Interval<Milliamps>),
    /// By what was read before more, or less, should flow now with this out: which entries do not go together
    /// with the draw.
    NoLongerFits(Vec<u32>),
    /// A draw cannot be with nothing at these, in these entries, which nobody has checked: they count no longer.
    ZerosDoubted(Vec<(PartId, u32)>),
    /// Near battery volts across a fuse: it is blown.
    Blown(PartId),
    /// Nothing is known of the resistance or the instrument, so it says nothing about the current.
    NoCurrent(PartId),
    /// No instruments file was given.
    WhatElse,
    /// The voltage says neither dead nor live.
    Between(PartId),
    /// A draw that was typed as from one to another far above it: whether it jumps, and how often.
    Jumps(Interval<Milliamps>),
    /// The total was not read for a while: it may have changed meanwhile.
    TotalAgain,
    /// Less flows with something out, and that says nothing: it comes and goes. The draw.
    MayBeAway(Interval<Milliamps>),
    /// What was announced as coming and going is there: the draw before, and now.
    Came(Interval<Milliamps>, Interval<Milliamps>),
    /// Readings clash, and this one, taken again, comes in the place of these entries.
    InThePlaceOf(Vec<u32>),
    /// The clamp showed nearly the same whatever was in its jaws: these entries, and that, in mA.
    NotZeroed(Vec<u32>, f64),
    /// No limit is known for this vehicle: it is searched all the same.
    NoLimit,
    /// What the clamp showed in several branches is together more than the draw, and each may be too much by the
    /// same: these entries, what they come to at least in mA, and the draw.
    ClampAddsUp {
        /// The clamp's readings.
        entries: Vec<u32>,
        /// What the branches come to at least, in mA.
        together: f64,
        /// The draw.
        draw: Interval<Milliamps>,
    },
    /// The draw was read and the preparation was not entered; the places that should be open then.
    NotPrepared(Vec<PlaceId>),
    /// The draw changed after these were done: then, and now.
    ChangedAfter(Interval<Milliamps>, Interval<Milliamps>, Vec<Done>),
    /// Of two batteries in series one is lower: it and its volts, the other one and its, and what hangs on the lower
    /// one alone.
    OneBatteryLower((PartId, f64), (PartId, f64), Vec<PartId>),
    /// It comes and goes, so that these, proven by single draws, are proven no longer.
    ProvenByMinutes(Vec<Subject>),
    /// A current was read there while what comes and goes is away.
    NotThere(PartId),
    /// A log was entered without its highest.
    LogWithoutHighest,
    /// What was out while it was logged for so many minutes, and whether it came.
    LoggedWithout(Vec<String>, f64, bool),
    /// A log that was too short, also for a settle where nothing is known to come and go: its minutes, how long the
    /// fault stays away where that is known, and the least that will do.
    LogTooShort(f64, Option<f64>, f64),
    /// What comes and goes was still there in a log: its highest, in mA.
    StillComes(f64),
    /// What was told speaks of nothing in this vehicle, so it moves no odds.
    NobodyMeant(String),
    /// A zero that is none: what is shown with nothing there.
    TakeOff(Reading),
    /// With the probes turned round it showed nearly the same, and no minus.
    SameBothWays(PartId),
    /// The clamp's jaws do not shut round that wire.
    JawsTooSmall(PartId),
    /// What was read there could not tell.
    Blind(Blind),
    /// It was typed with fewer digits than the meter shows; its step in mV.
    FewerDigits(PartId, f64),
    /// The battery is too low for a draw measured on it to say much.
    BatteryLow(Rested),
    /// The battery is being charged, or was just before.
    BatteryCharging(Rested),
    /// The draw does not explain the days that were told: the draw, and what the days let expect.
    DaysDiffer(Interval<Milliamps>, Interval<Milliamps>),
}
