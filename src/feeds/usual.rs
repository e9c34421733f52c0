//! What a healthy part takes with the vehicle asleep, where the file does not say.
//!
//! "Seen" means seen in makers' tables of asleep draws, which spread by model: radio 1 to 8 mA,
//! body module 2 to 12, engine computer 1 to 10, voltage regulator 1.4 to 2, telematics below 40
//! (its bursts apart), anti-theft 0.4 to 1. All others are judgement.

use crate::feeds::{Feeds, PartId};
use crate::quantity::Milliamps;
use crate::vehicle::{LoadKind, PartKind};

/// Usual draw and the most of a healthy load, in mA.
const fn by_kind(kind: LoadKind) -> (f64, f64) {
    match kind {
        // Seen.
        LoadKind::Audio => (3.0, 8.0),
        LoadKind::Telematics => (10.0, 40.0),
        LoadKind::BodyModule => (5.0, 12.0),
        LoadKind::EngineModule => (3.0, 10.0),
        LoadKind::Charging => (1.7, 2.0),
        // Judgement: nothing inside that could draw; the half milliamp is damp and dirt.
        LoadKind::Lamp
        | LoadKind::Motor
        | LoadKind::Heater
        | LoadKind::Starter
        | LoadKind::Moves => (0.0, 0.5),
        // Judgement: electronics that sleep or are switched off with the ignition.
        LoadKind::Airbag => (0.0, 1.0),
        LoadKind::Brake => (0.5, 3.0),
        LoadKind::Trailer => (1.0, 5.0),
        LoadKind::HighVoltage => (2.0, 10.0),
        // Judgement: it keeps time or watch; anti-theft alone is seen at 0.4 to 1.
        LoadKind::Protected => (3.0, 15.0),
        LoadKind::Added => (5.0, 20.0),
        LoadKind::Other => (1.0, 10.0),
    }
}

/// What a coil takes while it is on, in mA, where the file does not say (from memory: 150 to 180 at 12 V).
const COIL: f64 = 180.0;

/// A wiring part below which nothing has been entered: it may stand for sleeping loads.
/// Usual 1 mA, at most 15 mA (judgement).
const NOT_ENTERED: (f64, f64) = (1.0, 15.0);

/// The most of a healthy load whose usual draw alone is given: half as much again and half a
/// milliamp (judgement: the spread of one model is far smaller than that of all models).
fn most_from_usual(usual: Milliamps) -> Milliamps {
    usual * 1.5 + Milliamps::of(0.5)
}

impl Feeds {
    fn default_draw(&self, id: PartId) -> (Milliamps, Milliamps) {
        let part = self.part(id);
        let (usual, most) = match part.kind {
            // A feed of a module that does not say what it is counts as a body module.
            PartKind::Load => match (part.load, self.module_of(id)) {
                (None, Some(_)) => by_kind(LoadKind::BodyModule),
                (kind, _) => by_kind(kind.unwrap_or(LoadKind::Other)),
            },
            // A coil draws only while it is held on, which is a fault of its own.
            PartKind::Coil => (0.0, 0.5),
            PartKind::Battery => (0.0, 0.0),
            _ if self.is_leaf(id) => NOT_ENTERED,
            _ => (0.0, 0.0),
        };
        (Milliamps::of(usual), Milliamps::of(most))
    }

    /// What a coil takes while it is on: the file's `draws`, else a usual one.
    pub fn coil_takes(&self, coil: PartId) -> Milliamps {
        self.part(coil).draws.unwrap_or(Milliamps::of(COIL))
    }

    /// What the part itself usually takes asleep, and whether that is only a default: the file's
    /// `asleep`, else by kind (never outside the file's own `least` and `at_most`). 0 for wiring
    /// with something below it.
    pub fn usual(&self, id: PartId) -> (Milliamps, bool) {
        let part = self.part(id);
        if let Some(asleep) = part.asleep {
            return (asleep, false);
        }
        let usual = self.default_draw(id).0;
        let usual = part.at_most.map_or(usual, |most| usual.min(most));
        (usual.max(self.least(id)), true)
    }

    /// The most the part itself takes asleep when healthy: the file's `at_most`, else from its
    /// `asleep`, else by kind; never below its `least` or `asleep`.
    pub fn at_most(&self, id: PartId) -> Milliamps {
        let part = self.part(id);
        let most = part.at_most.unwrap_or_else(|| {
            part.asleep
                .map_or_else(|| self.default_draw(id).1, most_from_usual)
        });
        most.max(self.least(id)).max(self.usual(id).0)
    }

    /// The least the part itself takes asleep: the file's `least`, else 0.
    pub fn least(&self, id: PartId) -> Milliamps {
        self.part(id).least.unwrap_or(Milliamps::ZERO)
    }
}
