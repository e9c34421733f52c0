//! What instrument could tell, where the one at hand cannot.

use crate::feeds::{Feeds, PartId};
use crate::instruments::{Clamp, Instruments, Meter, Range};
use crate::interval::Interval;
use crate::measurement::{
    Method, Resistance, Way, current_shown, drop_shown, offered, resistance_at,
};
use crate::quantity::{Celsius, Metres, Milliamps, Millivolts, Quantity, SquareMillimetres};
use crate::reference;
use crate::vehicle::{Metal, PartKind, Wire, WireSize};

/// Something that would tell whether a part carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Need {
    /// A meter with this millivolt range, across the part. Below 0.1 mV warm joints count too: turn
    /// the probes round, too.
    Meter(Range<Millivolts>),
    /// A clamp on the part's wire.
    Clamp {
        /// The clamp.
        clamp: Clamp,
        /// It is the one at hand.
        owned: bool,
        /// Times the wire must go through its jaws; above 1 that takes a loop lead let in, which
        /// breaks the supply.
        turns: u32,
        /// The wire is a loop in the fuse's holder, not one that can be clamped as it is: letting it in
        /// breaks the supply even with one turn.
        in_holder: bool,
    },
    /// The meter at hand along a length of wire that carries what the part carries and nothing else:
    /// this one is enough, and so is any other with as much resistance.
    AlongWire(Wire),
}

/// Millivolt ranges as meters have them, the coarsest first (from memory): 6000 counts, 20 000 counts,
/// 50 000 counts.
const METERS: [(f64, f64, f64); 3] = [(0.1, 0.5, 2.0), (0.01, 0.3, 1.0), (0.001, 0.05, 20.0)];

/// More turns than this fill any jaw, or the patience (judgement).
const MOST_TURNS: u32 = 20;

/// Thin wire as vehicles have it, mm², the thickest first: a length of a thick one needs no search
/// for a thin one.
const THIN: [f64; 5] = [2.5, 1.5, 1.0, 0.75, 0.5];
/// The current that a square millimetre is fused for: thin-wall vehicle cable of 2.5 mm² carries 29 A
/// (from memory). A thinner wire than that is not looked for behind a fuse.
const AMPS_PER_AREA: f64 = 12.0;
/// Lengths that can be had between two points of one wire, in decimetres: up to 2 m (judgement).
const DECIMETRES: std::ops::RangeInclusive<u32> = 1..=20;

/// Whether two things that a display may show can be told apart.
fn apart<Q: Quantity>(carrying: Option<Interval<Q>>, not: Option<Interval<Q>>) -> bool {
    carrying
        .zip(not)
        .is_some_and(|(carrying, not)| carrying.above(not))
}

fn by_drop(
    across: &Resistance,
    (carrying, not): (Interval<Milliamps>, Interval<Milliamps>),
    instruments: &Instruments,
) -> bool {
    let shown = |current| drop_shown(across, current, instruments);
    apart(shown(carrying), shown(not))
}

fn by_clamp(
    turns: u32,
    (carrying, not): (Interval<Milliamps>, Interval<Milliamps>),
    instruments: &Instruments,
) -> bool {
    let shown = |current| current_shown(Way::Clamp { turns }, current, instruments);
    apart(shown(carrying), shown(not))
}

/// Whether a drop across the part or a clamp on it tells, with what is at hand, whether it carries
/// (a current in `carrying`) or not (one in `not`): no reading can mean both.
pub fn tells(
    feeds: &Feeds,
    part: PartId,
    carrying: Interval<Milliamps>,
    not: Interval<Milliamps>,
    (instruments, temperature): (&Instruments, Option<Celsius>),
) -> bool {
    let both = (carrying, not);
    let offers = offered(feeds, part);
    let across = resistance_at(feeds, part, temperature).filter(|_| offers.contains(&Method::Drop));
    across.is_some_and(|across| by_drop(&across, both, instruments))
        || (offers.contains(&Method::Clamp) && by_clamp(1, both, instruments))
}

/// What would tell whether the part carries, where nothing at hand does: the coarsest meter, the fewest
/// turns, the shortest length of the thickest wire; each kind at most once, the least disturbing first.
/// Resistances are those at the temperature of the bay, or at 20 °C. Empty where what is at hand tells already, and where nothing can: the two currents meet, or nothing
/// may be done there.
///
/// Cost: some hundred trials.
pub fn would_need(
    feeds: &Feeds,
    part: PartId,
    carrying: Interval<Milliamps>,
    not: Interval<Milliamps>,
    (instruments, temperature): (&Instruments, Option<Celsius>),
) -> Vec<Need> {
    let both = (carrying.cut_at_zero(), not.cut_at_zero());
    if !both.0.above(both.1) || tells(feeds, part, carrying, not, (instruments, temperature)) {
        return Vec::new();
    }
    let offers = offered(feeds, part);
    let mut needs = Vec::new();
    if offers.contains(&Method::Drop) {
        let across = resistance_at(feeds, part, temperature);
        needs.extend(across.and_then(|across| finer(&across, both, instruments)));
    }
    let wire = offers.contains(&Method::Clamp);
    let holder =
        !wire && feeds.part(part).kind == PartKind::Fuse && offers.contains(&Method::Series);
    if wire || holder {
        needs.extend(clamp(both, holder, instruments));
    }
    // Whoever may be read at all has a wire on one of its sides.
    if !offers.is_empty() && feeds.part(part).kind != PartKind::Battery {
        needs.extend(along(feeds, part, both, instruments));
    }
    let rank = |need: &Need| match need {
        Need::Meter(_) => 0,
        Need::Clamp {
            turns: 1,
            in_holder: false,
            ..
        } => 1,
        Need::AlongWire(_) => 2,
        Need::Clamp { .. } => 3,
    };
    needs.sort_by_key(rank);
    needs
}

/// The coarsest meter that tells; one at least as coarse as that at hand is no answer.
fn finer(
    across: &Resistance,
    both: (Interval<Milliamps>, Interval<Milliamps>),
    instruments: &Instruments,
) -> Option<Need> {
    METERS.into_iter().find_map(|(step, percent, counts)| {
        let range = Range {
            step: Millivolts::of(step),
            percent,
            counts,
            most: None,
            burden: None,
        };
        let meter = Meter {
            millivolts: Some(range),
            amps: None,
            milliamps: None,
        };
        let with_it = Instruments {
            meter: Some(meter),
            ..instruments.clone()
        };
        by_drop(across, both, &with_it).then_some(Need::Meter(range))
    })
}

/// The clamp at hand with the fewest turns that tell, else one that reads milliamps.
fn clamp(
    both: (Interval<Milliamps>, Interval<Milliamps>),
    in_holder: bool,
    instruments: &Instruments,
) -> Option<Need> {
    let choices = [(instruments.clamp, true), (Some(Clamp::typical()), false)];
    choices.into_iter().find_map(|(clamp, owned)| {
        let clamp = clamp?;
        let with_it = Instruments {
            clamp: Some(clamp),
            ..instruments.clone()
        };
        let turns = (1..=MOST_TURNS).find(|turns| by_clamp(*turns, both, &with_it))?;
        Some(Need::Clamp {
            clamp,
            owned,
            turns,
            in_holder,
        })
    })
}

/// The shortest length of wire along which the meter at hand tells: of the part's own wire where its
/// size is known, else of the thickest thin wire that will do and that its fuse, or the nearest one
/// above, protects.
fn along(
    feeds: &Feeds,
    part: PartId,
    both: (Interval<Milliamps>, Interval<Milliamps>),
    instruments: &Instruments,
) -> Option<Need> {
    let thin = |mm2: &f64| (WireSize::Area(SquareMillimetres::of(*mm2)), Metal::Copper);
    let sizes: Vec<_> = if let Some(own) = feeds.part(part).wire {
        vec![(own.size, own.metal)]
    } else {
        let path = std::iter::successors(Some(part), |part| feeds.up(*part));
        let mut parts = path.map(|part| feeds.part(part));
        let rating = parts.find_map(|part| part.rating.as_ref())?.value;
        let thinnest = rating.value() / 1000.0 / AMPS_PER_AREA;
        let sizes = THIN.iter().filter(|area| **area >= thinnest);
        sizes.map(thin).collect()
    };
    sizes.into_iter().find_map(|(size, metal)| {
        DECIMETRES.into_iter().find_map(|decimetres| {
            let wire = Wire {
                size,
                length: Some(Metres::of(f64::from(decimetres) / 10.0)),
                metal,
            };
            let across = Resistance::from(reference::wire(wire)?);
            by_drop(&across, both, instruments).then_some(Need::AlongWire(wire))
        })
    })
}
