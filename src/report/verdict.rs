//! What a case ends with, why, and the readings it rests on.

use crate::case::{Case, Found, Next, Reason, State};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::quantity::Milliamps;
use crate::report::Settled;
use crate::report::reasons::{About, is_reading, reasons};
use crate::suspects::{Cause, Subject, Suspect};

/// How a case ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Proven, and within the limit without it.
    Confirmed,
    /// The branch cannot be parted further and no proof can be taken.
    Located,
    /// Back within the limit with nothing out.
    Gone,
    /// Within the limit from the start.
    WithinLimit,
    /// Readings that cannot all be true.
    Contradiction,
    /// Nothing left could take that much by itself.
    NoSingleCause,
    /// What is left may be over the limit or not: the instrument at hand is too coarse to tell.
    TooCoarse,
    /// No limit is known for the vehicle.
    NoLimit,
    /// It does not: there is something to do next.
    Open,
}

/// Something that fell silent with what was proven.
#[derive(Clone, Debug, PartialEq)]
pub struct Rival {
    /// Its id in the data.
    pub id: String,
    /// What would have gone wrong.
    pub cause: Cause,
    /// What it could have taken by all that was read before, in mA.
    pub hides: f64,
    /// The readings that bound it.
    pub entries: Vec<u32>,
}

/// One numbered reason of a verdict.
#[derive(Clone, Debug, PartialEq)]
pub enum Ground {
    /// The limit, in mA.
    Limit(f64),
    /// The settled draw found lies above the limit, or not.
    Found(Settled),
    /// Without what was taken out the draw fell, by at least what matters.
    Fell {
        /// Index in [`Verdict::found`].
        found: usize,
        /// The draws before and without it.
        draws: [u32; 2],
        /// By how much.
        fell: Interval<Milliamps>,
    },
    /// Of what fell silent with it nothing else could take as much, but for what is left.
    Alone {
        /// Index in [`Verdict::found`].
        found: usize,
        /// Those that could not.
        ruled_out: Vec<Rival>,
        /// Those that could, and are less likely.
        left: Vec<Rival>,
    },
    /// Back in, the draw returned, or it did not.
    Returned {
        /// Index in [`Verdict::found`].
        found: usize,
        /// The draw.
        draw: u32,
        /// Whether it did.
        returned: bool,
    },
    /// The last settled draw is within the limit.
    Within(Settled),
    /// The last settled draw is still over the limit, or may be.
    StillOver(Settled),
    /// These cannot all be true.
    Clash(Vec<u32>),
    /// The largest that are left, each with less than a single cause takes.
    Largest(Vec<Rival>),
    /// What is left and cannot be parted, with the readings that bound it, and the nearest part on the
    /// way to it in which an excess is proven: the part, at least how much in mA, the readings.
    Left(Rival, Option<(PartId, f64, Vec<u32>)>),
}

impl Ground {
    /// The readings it cites.
    pub fn entries(&self) -> Vec<u32> {
        let of = |rivals: &[Rival]| -> Vec<u32> {
            rivals.iter().flat_map(|r| r.entries.clone()).collect()
        };
        match self {
            Self::Limit(_) => Vec::new(),
            Self::Found(draw) | Self::Within(draw) | Self::StillOver(draw) => vec![draw.entry],
            Self::Fell { draws, .. } => draws.to_vec(),
            Self::Alone { ruled_out, .. } => of(ruled_out),
            Self::Returned { draw, .. } => vec![*draw],
            Self::Clash(entries) => entries.clone(),
            Self::Largest(rivals) => of(rivals),
            Self::Left(rival, carrying) => {
                let carrying = carrying.iter().flat_map(|(_, _, entries)| entries);
                rival.entries.iter().chain(carrying).copied().collect()
            }
        }
    }
}

/// What a case ends with.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// How it ends.
    pub ending: Ending,
    /// The proofs taken, also those that only reset something.
    pub found: Vec<Found>,
    /// The ids of what was located.
    pub located: Vec<String>,
    /// The entries that clash.
    pub clash: Vec<u32>,
    /// The numbered reasons.
    pub grounds: Vec<Ground>,
    /// The readings it rests on, in order: with these alone it ends the same way.
    pub rests_on: Vec<u32>,
}

/// What two verdicts must share to be the same.
#[derive(Debug, PartialEq)]
struct Outcome {
    ending: Ending,
    found: Vec<(Cause, String, bool)>,
    located: Vec<String>,
    clash: Vec<u32>,
}

impl Outcome {
    fn of(next: &Next, case: &Case<'_>) -> Self {
        let feeds = &case.setting().feeds;
        let id = |found: &Found| {
            let suspects = &case.setting().suspects;
            let suspect = suspects.iter().find(|s| s.subject == found.subject);
            suspect.map(|s| s.subject.id(feeds)).unwrap_or_default()
        };
        let ending = ending(next);
        let found = next.found.iter().map(|f| (f.cause, id(f), f.returned));
        // What a case would go on with is no verdict.
        let located = next.located.iter().filter(|_| ending != Ending::Open);
        Self {
            ending,
            found: found.collect(),
            located: located.map(|l| l.id.clone()).collect(),
            clash: next.clash.clone(),
        }
    }
}

fn ending(next: &Next) -> Ending {
    match (next.state, next.reason) {
        (State::Confirmed, _) => Ending::Confirmed,
        (State::Located, _) => Ending::Located,
        (State::Gone, _) => Ending::Gone,
        (State::WithinLimit, _) => Ending::WithinLimit,
        (State::Contradiction, _) => Ending::Contradiction,
        (State::Undecidable, Reason::NoLimit) => Ending::NoLimit,
        (State::Undecidable, Reason::TooCoarse(_)) => Ending::TooCoarse,
        (State::Undecidable, _) => Ending::NoSingleCause,
        _ => Ending::Open,
    }
}

/// The largest that are left are listed up to this many.
const LARGEST: usize = 5;

/// What a case ends with by what comes next, and why.
pub fn verdict(case: &Case<'_>, next: &Next, before: Option<&Settled>) -> Verdict {
    let outcome = Outcome::of(next, case);
    let grounds = grounds(case, next, before, outcome.ending);
    let rests_on = rests_on(case, &outcome, &grounds);
    Verdict {
        ending: outcome.ending,
        found: next.found.clone(),
        located: outcome.located,
        clash: outcome.clash,
        grounds,
        rests_on,
    }
}

/// The readings behind the reasons where these alone give the same verdict; else as few more as there
/// must be, found by leaving out one after the other.
fn rests_on(case: &Case<'_>, outcome: &Outcome, grounds: &[Ground]) -> Vec<u32> {
    let mut cited: Vec<u32> = grounds.iter().flat_map(Ground::entries).collect();
    cited.sort_unstable();
    cited.dedup();
    let counting = case.counting();
    let mut others: Vec<u32> = case
        .entries()
        .iter()
        .filter(|e| is_reading(&e.act) && counting.binary_search(&e.number).is_ok())
        .map(|e| e.number)
        .filter(|number| cited.binary_search(number).is_err())
        .collect();
    let same = |dropped: &[u32]| {
        let fewer = case.without(dropped);
        Outcome::of(&fewer.next(), &fewer) == *outcome
    };
    if same(&others) {
        return cited;
    }
    let mut dropped = Vec::new();
    for number in std::mem::take(&mut others) {
        dropped.push(number);
        if !same(&dropped) {
            dropped.pop();
            cited.push(number);
        }
    }
    cited.sort_unstable();
    cited
}

fn grounds(case: &Case<'_>, next: &Next, before: Option<&Settled>, ending: Ending) -> Vec<Ground> {
    let mut grounds = Vec::new();
    if ending == Ending::Contradiction {
        return vec![Ground::Clash(next.clash.clone())];
    }
    let limit = case.setting().limit();
    if limit.is_finite() {
        grounds.push(Ground::Limit(limit));
    }
    if let Some(before) = before {
        grounds.push(Ground::Found(before.clone()));
    }
    for (index, found) in next.found.iter().enumerate() {
        grounds.extend(proof(case, index, found));
    }
    let last = case.settled_draw().map(|draw| Settled {
        entry: draw.entry,
        out: draw.out.clone(),
        current: draw.current,
    });
    if let Some(last) = last.filter(|last| limit.is_finite() && Some(last) != before) {
        grounds.push(if last.current.high() <= limit {
            Ground::Within(last)
        } else {
            Ground::StillOver(last)
        });
    }
    match ending {
        Ending::Located => {
            for located in &next.located {
                let suspects = &case.setting().suspects;
                let feeds = &case.setting().feeds;
                let suspect = suspects.iter().find(|s| s.subject.id(feeds) == located.id);
                let carrying = carrying(case, &located.path);
                grounds.extend(suspect.map(|s| Ground::Left(rival(case, s), carrying)));
            }
        }
        Ending::NoSingleCause => {
            let mut rivals: Vec<Rival> = case
                .setting()
                .suspects
                .iter()
                .map(|suspect| rival(case, suspect))
                .collect();
            rivals.sort_by(|a, b| b.hides.total_cmp(&a.hides).then_with(|| a.id.cmp(&b.id)));
            rivals.truncate(LARGEST);
            grounds.push(Ground::Largest(rivals));
        }
        _ => {}
    }
    grounds
}

/// The lowest part of a path in which an excess is proven, how much at least, and by which readings.
fn carrying(case: &Case<'_>, path: &[PartId]) -> Option<(PartId, f64, Vec<u32>)> {
    let judged = case.judged();
    let proven = |part: &&PartId| judged.excess(**part).low() >= judged.matters();
    let part = *path.iter().rev().find(proven)?;
    let why = reasons(case, About::Part(part));
    Some((part, judged.excess(part).low(), why.entries()))
}

/// A suspect with what bounds it.
fn rival(case: &Case<'_>, suspect: &Suspect) -> Rival {
    let setting = case.setting();
    let about = About::subject(setting, &suspect.subject);
    let why = about.map(|about| reasons(case, about));
    Rival {
        id: suspect.subject.id(&setting.feeds),
        cause: suspect.cause,
        hides: suspect.hides(&case.judged()),
        entries: why.map(|why| why.entries()).unwrap_or_default(),
    }
}

/// A coil that takes less, in W, is not held on: those of relays take 1 to 2.4 (from memory; 80 to 200 mA at
/// 12 V).
const HELD_COIL: f64 = 0.7;

/// Below so many mA a coil of this supply is not held on.
fn held_coil(case: &Case<'_>) -> f64 {
    let volts = case.setting().feeds.volts().value() / 1000.0;
    HELD_COIL / volts.max(1.0) * 1000.0
}

/// What fell silent with what was proven: what could have taken what fell, and what could not.
struct Silent {
    left: Vec<(Rival, Subject)>,
    ruled_out: Vec<(Rival, Subject)>,
}

impl Silent {
    fn of(case: &Case<'_>, found: &Found) -> Self {
        let setting = case.setting();
        let [first, without, _] = found.draws;
        let counting = case.counting().into_iter();
        let later: Vec<u32> = counting.filter(|n| *n >= without).collect();
        let then = case.without(&later);
        let matters = then.judged().matters();
        let parts: Vec<_> = found.taken.iter().flat_map(|t| t.parts.clone()).collect();
        let feeds = &setting.feeds;
        // The feeds of a module that was named as a whole are that module.
        let is_its_feed = |s: &&Suspect| match (&found.subject, s.seat()) {
            (Subject::Module(module), Some(seat)) => {
                s.cause == Cause::OwnDraw && feeds.module_of(seat) == Some(*module)
            }
            _ => false,
        };
        let silent = |s: &&Suspect| {
            s.subject != found.subject && !is_its_feed(s) && setting.silenced(s, &parts)
        };
        let rivals = setting.suspects.iter().filter(silent);
        let bounded = rivals.map(|suspect| {
            let mut rival = rival(&then, suspect);
            // No more than what fell with all of it out, less what others among it take.
            let (beside, by) = taken_beside(&then, suspect, &parts);
            let most = (found.fell.high() - beside).max(0.0);
            if rival.hides > most {
                rival.hides = most;
                rival.entries = [vec![first, without], by].concat();
            }
            // Nor more than fell with it out and less beside it.
            if let Some((fell, draws)) = then.fell_without(suspect)
                && rival.hides > fell
            {
                rival.hides = fell;
                rival.entries = draws.to_vec();
            }
            (rival, suspect.subject.clone())
        });
        // What could not have taken what fell is no other explanation of it; a coil that is held on need not
        // take all of it, for its contact lets the rest flow.
        let closed = found.cause == Cause::ContactClosed;
        let (left, ruled_out) = bounded.partition(|(rival, _)| {
            let enough = if closed && rival.cause == Cause::CoilHeld {
                held_coil(case)
            } else {
                matters.max(found.fell.low())
            };
            rival.hides >= enough
        });
        Self { left, ruled_out }
    }
}

/// What other loads among these parts take too much at least, in mA, where the suspect is one of them or a coil, and
/// the readings that say so.
fn taken_beside(case: &Case<'_>, suspect: &Suspect, parts: &[PartId]) -> (f64, Vec<u32>) {
    let feeds = &case.setting().feeds;
    let (Cause::OwnDraw | Cause::CoilHeld, Subject::Part(own)) = (suspect.cause, &suspect.subject)
    else {
        return (0.0, Vec::new());
    };
    let judged = case.judged();
    let below = parts.iter().flat_map(|part| feeds.subtree(*part));
    let loads = below
        .map(PartId)
        .filter(|load| feeds.is_leaf(*load) && load != own);
    let (mut least, mut by) = (0.0, Vec::new());
    for load in loads.collect::<std::collections::BTreeSet<PartId>>() {
        let low = judged.excess(load).low();
        if low > 0.0 {
            least += low;
            by.extend(reasons(case, About::Part(load)).entries());
        }
    }
    (least, by)
}

/// Other faults of the wiring that came out with one that was proven and fit as well: nothing but following the wire
/// tells them apart. None where what was proven is no wiring.
pub fn wiring_too(case: &Case<'_>, found: &Found) -> Vec<(String, Cause)> {
    let of_wire = |cause| matches!(cause, Cause::Leak | Cause::NotOnSheet);
    if !of_wire(found.cause) {
        return Vec::new();
    }
    let left = Silent::of(case, found).left.into_iter();
    left.filter(|(rival, _)| of_wire(rival.cause))
        .map(|(rival, _)| (rival.id, rival.cause))
        .collect()
}

/// The coil of a contact that was proven, or the contact of a coil, where it came out with it and no reading
/// bounds it below what fell: which of the two it is was not told apart.
pub fn mate(case: &Case<'_>, found: &Found) -> Option<PartId> {
    let feeds = &case.setting().feeds;
    let Subject::Part(part) = found.subject else {
        return None;
    };
    let mates: Vec<PartId> = match found.cause {
        Cause::ContactClosed => feeds.coils_of(part).to_vec(),
        Cause::CoilHeld => feeds.moved_by(part).into_iter().collect(),
        _ => return None,
    };
    let left = Silent::of(case, found).left;
    mates.into_iter().find(|mate| {
        let is_it = |(rival, subject): &(Rival, Subject)| {
            let by_relay = matches!(rival.cause, Cause::ContactClosed | Cause::CoilHeld);
            by_relay && *subject == Subject::Part(*mate)
        };
        left.iter().any(is_it)
    })
}

/// The reasons of one proof.
fn proof(case: &Case<'_>, index: usize, found: &Found) -> Vec<Ground> {
    let [first, without, back] = found.draws;
    let silent = Silent::of(case, found);
    let alone = |list: Vec<(Rival, Subject)>| list.into_iter().map(|(rival, _)| rival).collect();
    let (left, ruled_out): (Vec<Rival>, Vec<Rival>) = (alone(silent.left), alone(silent.ruled_out));
    let mut grounds = vec![Ground::Fell {
        found: index,
        draws: [first, without],
        fell: found.fell,
    }];
    if !(ruled_out.is_empty() && left.is_empty()) {
        grounds.push(Ground::Alone {
            found: index,
            ruled_out,
            left,
        });
    }
    grounds.push(Ground::Returned {
        found: index,
        draw: back,
        returned: found.returned,
    });
    grounds
}
