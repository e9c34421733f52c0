//! Causes and their odds: what is likely. Odds steer; they never overrule the ledger.
//!
//! **Model.** A cause is one thing gone wrong; it predicts where an excess flows. Prior odds come from
//! the class of the cause and the year of the vehicle (starting weights, judgement), from the file's
//! own `odds`, and from what was told. The weight of a class is shared by its members as weight / √n:
//! a class with many members is likelier as a whole, each member less (judgement).
//!
//! **Order.** Suspects are in tree order of the part they sit at, those that sit at none are last, so
//! that those below a part are neighbours.
//!
//! **Cost.** Linear in the parts and relations.

use crate::feeds::{Feeds, ModuleId, Named, PartId};
use crate::judgement::Judgement;
use crate::vehicle::{LoadKind, PartKind, Rest};
use std::borrow::Cow;
use std::collections::BTreeMap;

mod holders;
mod said;
mod spelling;
mod steering;
pub use holders::{Carried, Fitting, Kept, raised_among};
pub use spelling::misspelt;
pub use steering::{Because, Moved, Pointed, REPAIRED, Steering, Told};

/// What has gone wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// A load takes too much by itself.
    OwnDraw,
    /// A relay's coil is held on.
    CoilHeld,
    /// A relay's or switch's contact is closed that should be open.
    ContactClosed,
    /// It holds others awake.
    HoldsAwake,
    /// A leak in wiring.
    Leak,
    /// Something that is on no sheet.
    NotOnSheet,
}

impl Cause {
    /// In trade words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::OwnDraw => "own draw",
            Self::CoilHeld => "coil held on",
            Self::ContactClosed => "contact closed",
            Self::HoldsAwake => "holds others awake",
            Self::Leak => "leak in the wiring",
            Self::NotOnSheet => "on no sheet",
        }
    }
}

/// What a cause sits in.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// A part.
    Part(PartId),
    /// Something on no sheet under a part.
    Unlisted(PartId),
    /// A module.
    Module(ModuleId),
    /// An input that holds modules awake.
    Input(String),
}

/// A possible cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// What has gone wrong.
    pub cause: Cause,
    /// In what.
    pub subject: Subject,
    /// The parts whose own draw it raises. For something that holds others awake: their feeds, with
    /// the excess where the file lets it be known, in mA.
    pub raises: Vec<(PartId, Option<f64>)>,
    /// What it keeps awake besides itself, as far as the file says what that takes.
    pub keeps: Vec<Kept>,
    /// Relative odds before any reading.
    pub prior: f64,
    /// What kind of cause it is, for its starting weight.
    pub class: Class,
}

impl Subject {
    /// Its id in the data: a part's, module's or input's, or `unlisted at F7`.
    pub fn id(&self, feeds: &Feeds) -> String {
        match self {
            Self::Part(part) => feeds.id(*part).to_owned(),
            Self::Unlisted(part) => format!("unlisted at {}", feeds.id(*part)),
            Self::Module(module) => feeds.module(*module).id.value.clone(),
            Self::Input(name) => name.clone(),
        }
    }
}

impl Suspect {
    /// Where it sits in the tree, if anywhere.
    pub fn seat(&self) -> Option<PartId> {
        match self.subject {
            Subject::Part(part) | Subject::Unlisted(part) => Some(part),
            Subject::Module(_) | Subject::Input(_) => None,
        }
    }

    /// What it could take at most by the bounds, in mA.
    pub fn hides(&self, judged: &Judgement<'_>) -> f64 {
        if let (Cause::ContactClosed, Subject::Part(relay)) = (self.cause, &self.subject) {
            return judged.hides(*relay);
        }
        if let [(part, _)] = self.raises[..] {
            return judged.own_hides(part).min(judged.hides(part));
        }
        let parts: Vec<PartId> = self.raises.iter().map(|(part, _)| *part).collect();
        judged.hide_together(&parts)
    }
}

/// The classes of cause with their starting weights before 2000, to 2012, from 2013 (judgement;
/// relative).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Class {
    Added,
    Lamp,
    Audio,
    Telematics,
    Body,
    HeldAwake,
    Relay,
    Charging,
    Power,
    Trailer,
    Wiring,
    Switch,
    Starter,
    Other,
    NotEntered,
}

impl Class {
    /// In trade words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Added => "added equipment",
            Self::Lamp => "lamps",
            Self::Audio => "radio and amplifiers",
            Self::Telematics => "phone, telematics, camera",
            Self::Body => "body, keyless, door and cluster modules",
            Self::HeldAwake => "what holds others awake",
            Self::Relay => "relays",
            Self::Charging => "alternator and regulator",
            Self::Power => "motors and power features",
            Self::Trailer => "trailer wiring and modules",
            Self::Wiring => "wiring, water, connectors",
            Self::Switch => "switches",
            Self::Starter => "starter and its cable",
            Self::Other => "other loads",
            Self::NotEntered => "what is not entered yet",
        }
    }

    const fn weights(self) -> [f64; 3] {
        match self {
            Self::Added => [20.0, 20.0, 20.0],
            Self::Lamp => [20.0, 10.0, 4.0],
            Self::Audio => [10.0, 14.0, 10.0],
            Self::Telematics => [1.0, 8.0, 14.0],
            Self::Body => [5.0, 14.0, 18.0],
            Self::HeldAwake => [3.0, 10.0, 16.0],
            Self::Relay => [12.0, 8.0, 5.0],
            Self::Charging => [12.0, 6.0, 4.0],
            Self::Power => [3.0, 5.0, 4.0],
            Self::Trailer => [3.0, 4.0, 4.0],
            Self::Wiring => [8.0, 6.0, 6.0],
            Self::Switch => [6.0, 3.0, 2.0],
            Self::Starter => [4.0, 2.0, 1.0],
            // The table ends above; the rest of a vehicle and what is not entered yet are judgement.
            Self::Other => [6.0, 6.0, 6.0],
            Self::NotEntered => [8.0, 8.0, 8.0],
        }
    }
}

/// Wiring with loads entered below it, against wiring that ends in nothing.
const PLAIN_WIRE: f64 = 0.05;
/// A contact as the cause where only one of its loads can be drawing: taking out that load alone is the
/// proof then, and taking out the relay would prove no more than the branch.
const ONE_LOAD: f64 = 0.02;
/// The same where several of its loads are seen to draw.
const SEVERAL_LOADS: f64 = 20.0;

const fn class_of(kind: LoadKind, module: bool) -> Class {
    match kind {
        LoadKind::Added => Class::Added,
        LoadKind::Lamp => Class::Lamp,
        LoadKind::Audio => Class::Audio,
        LoadKind::Telematics => Class::Telematics,
        LoadKind::BodyModule => Class::Body,
        LoadKind::Charging => Class::Charging,
        LoadKind::Motor | LoadKind::Moves => Class::Power,
        LoadKind::Trailer => Class::Trailer,
        LoadKind::Starter => Class::Starter,
        LoadKind::Other if module => Class::Body,
        _ => Class::Other,
    }
}

/// Every possible cause in a vehicle, with its odds before any reading.
pub fn suspects(feeds: &Feeds) -> Vec<Suspect> {
    let mut found: Vec<(Class, f64, Suspect)> = Vec::new();
    for part in feeds.parts() {
        found.push(at_part(feeds, part));
    }
    for module in feeds.modules() {
        if let Some(network) = feeds.network_of(module) {
            let kept: Vec<ModuleId> = feeds.partners(network).collect();
            if kept.len() > 1 {
                found.push(holders::holder(feeds, Subject::Module(module), &kept));
            }
        }
    }
    for (input, held) in feeds.inputs() {
        let mut kept = held.to_vec();
        for module in held {
            if let Some(network) = feeds.network_of(*module) {
                kept.extend(feeds.partners(network));
            }
        }
        kept.sort_unstable();
        kept.dedup();
        found.push(holders::holder(
            feeds,
            Subject::Input(input.to_owned()),
            &kept,
        ));
    }
    let year = feeds.vehicle().year.unwrap_or(2013);
    let era = usize::from(year >= 2000) + usize::from(year >= 2013);
    let mut count: BTreeMap<Class, f64> = BTreeMap::new();
    for (class, ..) in &found {
        *count.entry(*class).or_default() += 1.0;
    }
    let weight: Vec<f64> = found
        .iter()
        .map(|(class, factor, suspect)| {
            let own = suspect.seat().and_then(|part| feeds.part(part).odds);
            let class = own.unwrap_or_else(|| class.weights()[era] / count[class].sqrt());
            (class * factor).max(1e-6)
        })
        .collect();
    found
        .into_iter()
        .zip(weight)
        .map(|((class, _, mut suspect), prior)| {
            (suspect.prior, suspect.class) = (prior, class);
            suspect
        })
        .collect()
}

/// The cause that sits at a part, its class, and a factor on its odds.
fn at_part(feeds: &Feeds, part: PartId) -> (Class, f64, Suspect) {
    let written = feeds.part(part);
    let bare = feeds.is_leaf(part);
    let is_module = feeds.module_of(part).is_some();
    let (class, cause, factor) = match written.kind {
        PartKind::Load => {
            let kind = written.load.unwrap_or(LoadKind::Other);
            (class_of(kind, is_module), Cause::OwnDraw, 1.0)
        }
        PartKind::Coil => (Class::Relay, Cause::CoilHeld, 1.0),
        PartKind::Relay if !bare => (Class::Relay, Cause::ContactClosed, 1.0),
        PartKind::Switch if !bare && written.rest == Some(Rest::Open) => {
            (Class::Switch, Cause::ContactClosed, 1.0)
        }
        PartKind::Splice | PartKind::Connector | PartKind::Output if !bare => {
            (Class::Wiring, Cause::Leak, PLAIN_WIRE)
        }
        _ if bare => (Class::NotEntered, Cause::NotOnSheet, 1.0),
        _ => (Class::Wiring, Cause::NotOnSheet, PLAIN_WIRE),
    };
    let subject = if cause == Cause::NotOnSheet {
        Subject::Unlisted(part)
    } else {
        Subject::Part(part)
    };
    let raises = if cause == Cause::ContactClosed {
        feeds
            .subtree(part)
            .map(PartId)
            .filter(|p| feeds.is_leaf(*p))
            .map(|p| (p, None))
            .collect()
    } else {
        vec![(part, None)]
    };
    let suspect = Suspect {
        cause,
        subject,
        raises,
        keeps: Vec::new(),
        prior: 0.0,
        class,
    };
    (class, factor, suspect)
}

/// The parts that must have their feed for this suspect to do anything.
pub fn lives_on<'a>(feeds: &'a Feeds, suspect: &'a Suspect) -> Cow<'a, [PartId]> {
    match &suspect.subject {
        Subject::Part(part) | Subject::Unlisted(part) => Cow::Borrowed(std::slice::from_ref(part)),
        Subject::Module(module) => Cow::Borrowed(feeds.module_feeds(*module)),
        Subject::Input(name) => {
            if let Some(Named::Part(part)) = feeds.find(name) {
                return Cow::Borrowed(std::slice::from_ref(part));
            }
            // Nobody reads it without the modules that do.
            let mut read = feeds.inputs().filter(|(input, _)| input == name);
            let modules = read.next().map_or(&[][..], |(_, modules)| modules);
            let own = modules
                .iter()
                .flat_map(|module| feeds.module_feeds(*module));
            own.copied().collect()
        }
    }
}

/// Odds as shares of 1 from logarithms, the largest first by index order kept.
pub fn shares(log_odds: &[f64]) -> Vec<f64> {
    let most = log_odds.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = log_odds.iter().map(|l| (l - most).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|w| w / sum).collect()
}

/// How well what a suspect raises fits the bounds: 1 where it may be.
pub fn fit(suspect: &Suspect, holders: &mut Fitting<'_, '_>) -> f64 {
    let judged = holders.judged();
    let mut fit = 1.0;
    if suspect.cause == Cause::HoldsAwake {
        fit = holders.of(suspect);
    }
    if suspect.cause == Cause::ContactClosed {
        let matters = judged.matters();
        let possible = |(part, _): &&(PartId, Option<f64>)| judged.own_hides(*part) >= matters;
        let drawing = |(part, _): &&(PartId, Option<f64>)| judged.excess(*part).low() >= matters;
        if suspect.raises.iter().filter(possible).count() < 2 {
            fit *= ONE_LOAD;
        } else if suspect.raises.iter().filter(drawing).count() > 1 {
            fit *= SEVERAL_LOADS;
        }
    }
    f64::clamp(fit, 1e-9, 1e3)
}
