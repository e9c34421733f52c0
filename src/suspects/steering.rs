//! What moves the odds beside the ledger: what was told, and the level of the draw.
//!
//! **Model.** Each thing told is read for names of the vehicle, for words of a kind of load, and for
//! what its key means in the trade. It multiplies the odds of those it speaks for, or of those it
//! speaks against; each factor keeps the entry it came from, so that it can be shown, withdrawn, or
//! answered with odds of one's own (`told odds radio 0.2`).
//!
//! **Invariants.** A factor is above 0 and finite: what is told never rules anybody out.
//!
//! **Cost.** Told texts times names once for all suspects, then a few look-ups a suspect.

use super::said::{LEVELS, NO, WORDS, by_key, is_outside, number_behind, speaks_of, words};
use crate::feeds::{Feeds, Named, PartId};
use crate::interval::Interval;
use crate::log::{Match, Who};
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Class, Subject, Suspect};
use crate::vehicle::{LoadKind, PartKind};
use std::collections::BTreeSet;

/// Something told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// Its entry.
    pub entry: u32,
    /// Its key, if it has one.
    pub key: Option<String>,
    /// The rest.
    pub text: String,
}

/// What comes and goes, with everybody whom it fits.
#[derive(Clone, Debug, PartialEq)]
pub struct Pointed {
    /// Its entry.
    pub entry: u32,
    /// Whom it fits, and how well.
    pub by: Vec<Match>,
}

/// Why odds moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Because {
    /// An entry speaks of it by name.
    Named(u32),
    /// An entry speaks of its kind.
    Kind(u32, Class),
    /// An entry speaks of the place it is at.
    Place(u32),
    /// An entry sets its odds.
    Set(u32),
    /// What comes and goes by an entry fits it.
    Comes(u32),
    /// A draw of about this level, in mA, is usual for its kind.
    Level(f64),
    /// What was read at a part lies nearer to the current with it, or without it.
    Leans(PartId),
}

/// One move of the odds of one suspect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moved {
    /// The factor.
    pub by: f64,
    /// Why.
    pub because: Because,
}

/// The key of what was mended before the search.
pub const REPAIRED: &str = "repaired";

// All factors are judgement.

/// Spoken of by name, by kind, by place.
const NAMED: f64 = 4.0;
const KIND: f64 = 3.0;
const PLACE: f64 = 2.0;
/// Named as fitted later: what no maker has tried out beside the rest is the first thing to look at.
const ADDED: f64 = 15.0;
/// How much what comes and goes may move somebody at most.
const COMES: f64 = 10.0;
/// How far odds can be set by hand.
const SET: (f64, f64) = (0.001, 1000.0);

/// What a text says of the odds.
#[derive(Clone, Debug, Default)]
struct Meant {
    entry: u32,
    parts: BTreeSet<PartId>,
    names: BTreeSet<String>,
    at: BTreeSet<PartId>,
    kinds: Vec<(Class, f64)>,
    /// The factor for what is named, and whether it was set by hand.
    named: f64,
    set: bool,
}

/// All that moves odds beside readings.
#[derive(Clone, Debug, Default)]
pub struct Steering {
    meant: Vec<Meant>,
    pointed: Vec<Pointed>,
    level: Option<f64>,
    volts: f64,
}

impl Meant {
    fn of(feeds: &Feeds, told: &Told) -> Self {
        let key = told.key.as_deref();
        let mut meant = Self {
            entry: told.entry,
            named: NAMED,
            ..Self::default()
        };
        let mut text = told.text.as_str();
        let set = (key == Some("odds")).then(|| number_behind(text)).flatten();
        if let Some((before, number)) = set {
            (text, meant.set) = (before, true);
            meant.named = number.clamp(SET.0, SET.1);
        }
        let said = words(text);
        let says = |list: &[&str]| said.iter().any(|word| list.contains(&word.as_str()));
        // A dead function is told with a no as often as not: only `nothing` means that there is none.
        let turned = if key == Some("dead") {
            &NO[..3]
        } else {
            &NO[..]
        };
        let no = said
            .first()
            .is_some_and(|word| turned.contains(&word.as_str()));
        meant.names_in(feeds, &said);
        if key == Some("added") {
            meant.named = ADDED;
        }
        if key == Some(REPAIRED) {
            // Only what is named was mended, and what is at the same place was not.
            meant.at.clear();
            meant.named = 1.0 / NAMED;
            return meant;
        }
        if key == Some("dead") && (no || said.is_empty()) || matches!(key, Some("days" | "volts")) {
            return Self::default();
        }
        // Lamps of a trailer are told by their plug, and not with those of the vehicle.
        let spoken_of = || WORDS.iter().filter(|(_, list)| says(list));
        let of_trailer = spoken_of().any(|(class, _)| *class == Class::Trailer);
        let kinds = spoken_of().filter(|(class, _)| !of_trailer || *class != Class::Lamp);
        let by = match (meant.set, no) {
            (true, _) => meant.named,
            (_, true) => 1.0 / KIND,
            _ => KIND,
        };
        if no && !meant.set {
            meant.named = 1.0 / NAMED;
        }
        // One that is named is meant, and not all of its kind.
        if meant.parts.is_empty() && meant.names.is_empty() {
            meant.kinds = kinds.map(|(class, _)| (*class, by)).collect();
        }
        meant.kinds.extend(by_key(key, no, &says));
        if key == Some("rain") && !no {
            meant
                .at
                .extend(feeds.parts().filter(|part| is_lamp_outside(feeds, *part)));
        }
        meant
            .kinds
            .sort_by(|one, other| one.0.cmp(&other.0).then(other.1.total_cmp(&one.1)));
        // A kind is meant once by an entry, whichever way it is said.
        meant.kinds.dedup_by_key(|(class, _)| *class);
        meant
    }

    fn names_in(&mut self, feeds: &Feeds, said: &[String]) {
        for (name, named) in feeds.names() {
            if !speaks_of(said, name) {
                continue;
            }
            match named {
                // The battery is spoken of in every case.
                Named::Part(PartId(0)) => {}
                Named::Part(part) => {
                    self.parts.insert(*part);
                }
                Named::Plug(parts) => self.parts.extend(parts),
                Named::Module(module) => {
                    self.parts.extend(feeds.module_feeds(*module));
                    self.names.insert(name.to_owned());
                }
                Named::Network(network) => {
                    let partners = feeds.partners(*network);
                    let names = partners.map(|module| feeds.module(module).id.value.clone());
                    self.names.extend(names);
                }
                Named::Input(_) => {
                    self.names.insert(name.to_owned());
                }
                Named::Place(place) => {
                    let there = feeds
                        .parts()
                        .filter(|part| feeds.place(*part) == Some(*place));
                    self.at.extend(there);
                }
            }
        }
        for part in feeds.parts().skip(1) {
            let written = feeds.part(part);
            let also = [&written.name, &written.label];
            if also.into_iter().flatten().any(|name| speaks_of(said, name)) {
                self.parts.insert(part);
            }
        }
        // Somebody named at a place is meant, and not the whole place.
        if !self.parts.is_empty() || !self.names.is_empty() {
            self.at.clear();
        }
    }

    fn of_suspect(&self, feeds: &Feeds, suspect: &Suspect, into: &mut Vec<Moved>) {
        let named = match &suspect.subject {
            Subject::Part(part) | Subject::Unlisted(part) => self.parts.contains(part),
            Subject::Module(module) => self.names.contains(&feeds.module(*module).id.value),
            Subject::Input(name) => self.names.contains(name),
        };
        let entry = self.entry;
        if named {
            let because = if self.set {
                Because::Set(entry)
            } else {
                Because::Named(entry)
            };
            into.push(Moved {
                by: self.named,
                because,
            });
            return;
        }
        if suspect.seat().is_some_and(|part| self.at.contains(&part)) {
            into.push(Moved {
                by: if self.set { self.named } else { PLACE },
                because: Because::Place(entry),
            });
        }
        let kind = self.kinds.iter().find(|(class, _)| *class == suspect.class);
        if let Some((class, by)) = kind {
            into.push(Moved {
                by: *by,
                because: Because::Kind(entry, *class),
            });
        }
    }
}

impl Steering {
    /// All that was told; the draw is that which is searched for, where it is known.
    pub fn of(
        feeds: &Feeds,
        told: &[Told],
        pointed: Vec<Pointed>,
        draw: Option<Interval<Milliamps>>,
    ) -> Self {
        let middle = |draw: Interval<Milliamps>| f64::midpoint(draw.low(), draw.high());
        Self {
            meant: told.iter().map(|told| Meant::of(feeds, told)).collect(),
            pointed,
            level: draw.map(middle).filter(|ma| ma.is_finite()),
            volts: feeds.volts().value() / 1000.0,
        }
    }

    /// What moves the odds of a suspect.
    pub fn moves(&self, feeds: &Feeds, suspect: &Suspect) -> Vec<Moved> {
        let mut moves = Vec::new();
        for meant in &self.meant {
            meant.of_suspect(feeds, suspect, &mut moves);
        }
        for Pointed { entry, by } in &self.pointed {
            let fits = by.iter().filter(|m| is_meant(feeds, suspect, m.who));
            if let Some(best) = fits.map(|m| m.factor).max_by(f64::total_cmp) {
                moves.push(Moved {
                    by: best.clamp(1.0, COMES),
                    because: Because::Comes(*entry),
                });
            }
        }
        moves.extend(self.by_level(feeds, suspect));
        moves
    }

    /// What the level of the draw says of a suspect.
    fn by_level(&self, feeds: &Feeds, suspect: &Suspect) -> Option<Moved> {
        let ma = self.level?;
        let at_12 = ma * self.volts / 12.0;
        let (_, kinds) = LEVELS.iter().find(|(most, _)| at_12 < *most)?;
        let (_, by) = kinds.iter().find(|(class, _)| *class == suspect.class)?;
        // A coil takes what a coil takes.
        let seat = suspect.seat();
        let coil = seat.is_some_and(|part| feeds.part(part).kind == PartKind::Coil);
        (!coil).then_some(Moved {
            by: *by,
            because: Because::Level(ma),
        })
    }

    /// The factor on the odds of a suspect.
    pub fn factor(&self, feeds: &Feeds, suspect: &Suspect) -> f64 {
        if self.meant.is_empty() && self.pointed.is_empty() {
            return self.by_level(feeds, suspect).map_or(1.0, |moved| moved.by);
        }
        let moves = self.moves(feeds, suspect);
        moves
            .iter()
            .map(|moved| moved.by)
            .product::<f64>()
            .clamp(1e-6, 1e6)
    }

    /// Whether an entry moves anybody's odds.
    pub fn heeds(&self, feeds: &Feeds, suspects: &[Suspect], entry: u32) -> bool {
        let of_entry = |moved: &Moved| match moved.because {
            Because::Named(e) | Because::Kind(e, _) | Because::Place(e) | Because::Set(e) => {
                e == entry
            }
            Because::Comes(_) | Because::Level(_) | Because::Leans(_) => false,
        };
        suspects
            .iter()
            .any(|s| self.moves(feeds, s).iter().any(of_entry))
    }
}

/// Whether a part is a lamp that rain gets at, by its name.
fn is_lamp_outside(feeds: &Feeds, part: PartId) -> bool {
    let written = feeds.part(part);
    let mut names = written.name.iter().chain([&written.id.value]);
    feeds.load_kind(part) == Some(LoadKind::Lamp) && names.any(|name| is_outside(name))
}

/// Whether a cause is who is meant: a module by its own draw or as one that holds others, a network by
/// each of its modules that may hold the others.
fn is_meant(feeds: &Feeds, suspect: &Suspect, who: Who) -> bool {
    match (who, &suspect.subject) {
        (Who::Part(one), Subject::Part(other)) => one == *other,
        (Who::Module(one), Subject::Module(other)) => one == *other,
        (Who::Module(one), Subject::Part(part)) => {
            suspect.cause == Cause::OwnDraw && feeds.module_of(*part) == Some(one)
        }
        (Who::Network(network), Subject::Module(module)) => {
            feeds.network_of(*module) == Some(network)
        }
        _ => false,
    }
}
