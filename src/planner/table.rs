//! The table a plan is made from.
//!
//! **Model.** Exactly one of the suspects is the cause; its odds are the only thing known about it.
//! A test shows, for each suspect, one of a few outcome classes, and nothing else depends on the
//! suspect: the chance of an inconclusive reading is the same for all. A test has minutes of its
//! own, an instrument that may have to be moved, and a place that is reached once, together with
//! every closed place on the way to it. A plan ends when the true suspect has been proven; a set of
//! suspects of which none can be proven and which no test parts any more ends it as *located*.
//!
//! **Minutes.** A step costs its own minutes, with the expected settle after it (chance to wake × settle);
//! each place on the way that is not open, once in a plan; the move of its instrument where that is
//! elsewhere. What is taken out by a test stays out: nothing is paid for refitting it. A plan ends with
//! a proof: out, settle, draw, in, settle, draw; one that fails ends after the first draw and the
//! refitting. All of it stands in the table (`plan --json --table`). What it is worked out from can be
//! edited: minutes of handling and chances to wake the vehicle in the instruments file
//! ([`crate::instruments::Handling`]); `reach`, `wakes` and `settle` in the vehicle file.
//!
//! **A small tree worked.** Suspects a .5, b .3, c .2. A box takes 4 min to open; in it `drop F1` (0.3 min)
//! shows a or b, and there all three are proven (5 min; 3 when it fails). `look a` (2 min) needs no box.
//!
//! | first step | expected minutes |
//! | --- | --- |
//! | `drop F1`, then prove a before b | 4 + 0.3 + 0.8 × (0.625 × 5 + 0.375 × (3 + 5)) + 0.2 × 5 = **10.2** |
//! | prove a, then `drop F1` | 4 + 0.5 × 5 + 0.5 × (3 + 0.3 + 5) = 10.65 |
//! | `look a`, then `drop F1` | 2 + 0.5 × (4 + 5) + 0.5 × (4 + 0.3 + 5) = 11.15 |
//!
//! Of the 10.2, the proof of the true suspect and the box it is behind are 9, whatever is done first;
//! choosing well decides over the other 1.2. *Tempting and wrong:* finding the cause takes 4.15 at best
//! (`look a`, then `drop F1`), the proof 9, so every plan takes 13.15. The box is counted twice, and a
//! failed proof finds, too. (`the_worked_tree_takes_what_is_said`)
//!
//! **What the planner does with odd values.** Minutes below 0 or not finite count as 0; odds more
//! than 10¹² times below the largest count as that; a chance of an inconclusive reading above 0.95
//! counts as that; where two classes of a test overlap the first one holds; numbers of suspects,
//! places and outer places that do not exist are left out.
//!
//! **Inconclusive readings** are taken again until they show something: a test with chance r of
//! showing nothing counts minutes / (1 − r), its reach and move once.

use std::ops::Range;

/// One possible cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// Natural logarithm of its odds, up to a common constant.
    pub log_odds: f64,
    /// Minutes of a proof that succeeds (out, settle, draw, in, settle, draw), its reach not included.
    pub proof: f64,
    /// Minutes of a proof that fails (out, settle, draw, in), its reach not included.
    pub failed_proof: f64,
    /// Where the proof is taken.
    pub proof_place: Option<usize>,
    /// Whether it can be proven at all; where not, its proof costs nothing and ends the plan as
    /// located. Such a suspect is never itself a step; it is parted from others like any suspect.
    pub provable: bool,
}

/// What is seen for a set of suspects.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// The suspects that show this, as sorted, disjoint, non-empty ranges of their numbers.
    pub suspects: Vec<Range<u32>>,
    /// Whether this outcome is told apart from class 0 for sure (`expected`) or only perhaps (then it
    /// parts them for the floor alone, and counts as class 0 for everything else).
    pub sure: bool,
}

/// One test that can be taken now.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// Its own minutes: the reading, the expected settle after it; no reach, no move of an instrument.
    pub minutes: f64,
    /// Where it is taken; `None` needs no reach.
    pub place: Option<usize>,
    /// The instrument it needs (number of the caller's choice). It stays where it was last used.
    pub instrument: Option<u8>,
    /// Outcome classes 1, 2, …; every suspect in none of them shows class 0.
    pub classes: Vec<Class>,
    /// Chance that it shows nothing usable, whatever the cause.
    pub inconclusive: f64,
    /// It may lose the fault: proposed only when no harmless test still parts the suspects.
    pub harms: bool,
}

/// A place to be reached once.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Minutes from the place it is within; 0 when it is already open.
    pub reach: f64,
    /// The place that must be open first: always a smaller number.
    pub within: Option<usize>,
}

/// Suspects, tests and places: all a planner may see.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Table {
    /// Possible causes; suspects near each other in the feed tree have near numbers.
    pub suspects: Vec<Suspect>,
    /// Tests that can be taken.
    pub tests: Vec<Test>,
    /// Places, outer before inner.
    pub places: Vec<Place>,
    /// Where each instrument is now, by its number; one that is not listed has to be moved first.
    pub instruments: Vec<(u8, Option<usize>)>,
    /// Minutes to move an instrument to another place.
    pub move_minutes: f64,
}
