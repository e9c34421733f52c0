//! What can be done at the vehicle now, and how a suspect can be proven.

use super::fold::Now;
use super::{Setting, taken_by};
use crate::feeds::{Feeds, ModuleId, PartId, PlaceId};
use crate::instruments::{Instruments, Range};
use crate::interval::Interval;
use crate::journal::Point;
use crate::measurement::{self, Jack, Method, Way};
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject, Suspect};
use crate::vehicle::PartKind;

/// Something to take out.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TakeOut {
    pub(crate) point: Point,
    pub(crate) unplugged: bool,
    pub(crate) parts: Vec<PartId>,
    pub(crate) place: Option<PlaceId>,
}

impl TakeOut {
    /// How it comes out.
    pub(super) const fn method(&self) -> Method {
        if self.unplugged {
            Method::Unplug
        } else {
            Method::Pull
        }
    }
}

/// How things come out of a vehicle, worked out once: it does not depend on what is read.
#[derive(Clone, Debug)]
pub(crate) struct TakingOut {
    parts: Vec<Option<TakeOut>>,
    modules: Vec<Option<TakeOut>>,
}

impl TakingOut {
    /// Linear in the parts and what comes out with each.
    pub(super) fn of(feeds: &Feeds) -> Self {
        let parts = feeds.parts().map(|part| part_out(feeds, part));
        let modules = feeds.modules().map(|module| module_out(feeds, module));
        Self {
            parts: parts.collect(),
            modules: modules.collect(),
        }
    }
}

/// Taking a part out by the way it offers; plugs before pulling.
fn part_out(feeds: &Feeds, part: PartId) -> Option<TakeOut> {
    // An output comes out with its module.
    if feeds.part(part).kind == PartKind::Output {
        return None;
    }
    let offered = measurement::offered(feeds, part);
    let unplugged = offered.contains(&Method::Unplug);
    if !unplugged && !offered.contains(&Method::Pull) {
        return None;
    }
    let point = match &feeds.part(part).plug {
        Some(plug) if unplugged => {
            let mates = feeds.unplugged_with(part);
            Point::Plug(plug.value.clone(), mates)
        }
        _ => Point::Part(part),
    };
    let parts = taken_by(feeds, &point, unplugged);
    Some(TakeOut {
        point,
        unplugged,
        parts,
        place: feeds.place(part),
    })
}

/// Taking a whole module out, where every plug of it may be parted.
fn module_out(feeds: &Feeds, module: ModuleId) -> Option<TakeOut> {
    let fixed = |feed: &PartId| !measurement::offered(feeds, *feed).contains(&Method::Unplug);
    if feeds.module_feeds(module).iter().any(fixed) {
        return None;
    }
    let point = Point::Module(module);
    let parts = taken_by(feeds, &point, true);
    let place = parts.first().and_then(|p| feeds.place(*p));
    Some(TakeOut {
        point,
        unplugged: true,
        parts,
        place,
    })
}

impl Setting {
    /// Taking a part out by the way it offers; plugs before pulling.
    pub(crate) fn ways_out_at(&self, part: PartId) -> Option<&TakeOut> {
        self.taking_out.parts[part.index()].as_ref()
    }

    /// The ways to take a suspect out, from the narrowest to the widest: at itself, then whatever
    /// comes out above it.
    pub(crate) fn ways_out(&self, suspect: &Suspect) -> Vec<&TakeOut> {
        let feeds = &self.feeds;
        let from = match (&suspect.subject, suspect.cause) {
            (Subject::Module(module), _) => {
                let way = &self.taking_out.modules[module.0 as usize];
                return way.iter().collect();
            }
            (Subject::Input(name), _) => match feeds.find(name) {
                Some(crate::feeds::Named::Part(part)) => {
                    return self.ways_out_at(*part).into_iter().collect();
                }
                _ => return Vec::new(),
            },
            // The relay of a coil takes the coil with it.
            (Subject::Part(part), Cause::CoilHeld) => {
                let relay = feeds.moved_by(*part);
                let own = relay.and_then(|relay| self.ways_out_at(relay));
                let above = feeds.path(*part).into_iter().rev();
                return own
                    .into_iter()
                    .chain(above.filter_map(|p| self.ways_out_at(p)))
                    .collect();
            }
            (Subject::Part(part) | Subject::Unlisted(part), _) => *part,
        };
        feeds
            .path(from)
            .into_iter()
            .rev()
            .filter_map(|part| self.ways_out_at(part))
            .collect()
    }

    /// Whether taking exactly these parts out is one of the ways to take a suspect out.
    pub(crate) fn comes_out_as(&self, suspect: &Suspect, parts: &[PartId]) -> bool {
        let sorted = |parts: &[PartId]| {
            let mut parts = parts.to_vec();
            parts.sort_unstable();
            parts.dedup();
            parts
        };
        let wanted = sorted(parts);
        self.silenced(suspect, parts)
            && self
                .ways_out(suspect)
                .iter()
                .any(|way| sorted(&way.parts) == wanted)
    }

    /// Whether a part has no feed with these out.
    pub(crate) fn takes_out(&self, parts: &[PartId], part: PartId) -> bool {
        parts.iter().any(|top| self.feeds.is_below(part, *top))
    }

    /// Those of the suspects `left`, ascending, that could fall silent without these parts, some of them
    /// twice: those that sit below, contacts above, and who lives on something below. O(log suspects)
    /// and what it finds.
    pub(crate) fn near<'a>(
        &'a self,
        parts: &'a [PartId],
        left: &'a [usize],
    ) -> impl Iterator<Item = usize> + 'a {
        let feeds = &self.feeds;
        // Suspects are in tree order; those that sit at no part are last.
        let seat = |index: usize| self.suspects[index].seat().map_or(u32::MAX, |p| p.0);
        let from = move |part: u32| left.partition_point(|index| seat(*index) < part);
        let below = parts.iter().flat_map(move |part| {
            let range = feeds.subtree(*part);
            left[from(range.start)..from(range.end)].iter().copied()
        });
        let contact = move |part: PartId| {
            let index = *left.get(from(part.0))?;
            let suspect = &self.suspects[index];
            let is = suspect.seat() == Some(part) && suspect.cause == Cause::ContactClosed;
            is.then_some(index)
        };
        let contacts = parts.iter().flat_map(move |part| {
            let above = std::iter::successors(feeds.up(*part), |part| feeds.up(*part));
            above.filter_map(contact)
        });
        let living = parts.iter().flat_map(move |part| {
            let range = feeds.subtree(*part);
            let from = self.living.partition_point(|(on, _)| on.0 < range.start);
            let to = self.living.partition_point(|(on, _)| on.0 < range.end);
            self.living[from..to].iter().map(|(_, index)| *index)
        });
        let living = living.filter(|index| left.binary_search(index).is_ok());
        below.chain(contacts).chain(living)
    }

    /// What one suspect does without these parts: nothing, if it has lost its feed or all it raises.
    pub(crate) fn silenced(&self, suspect: &Suspect, parts: &[PartId]) -> bool {
        let cut = |part: PartId| self.takes_out(parts, part);
        match suspect.cause {
            Cause::HoldsAwake => {
                let lives = crate::suspects::lives_on(&self.feeds, suspect);
                !lives.is_empty() && lives.into_iter().all(cut)
            }
            Cause::ContactClosed => {
                let seat = suspect.seat().is_some_and(cut);
                seat || suspect.raises.iter().all(|(part, _)| cut(*part))
            }
            _ => suspect.seat().is_some_and(cut),
        }
    }

    /// How the total is taken when the draw is somewhere in this interval: a clamp where there is one,
    /// else in series, and never the mA jack before the current is known to suit it.
    pub(crate) fn way_of_draw(
        &self,
        expected: Option<Interval<Milliamps>>,
        fine: bool,
    ) -> Option<Way> {
        let meter = self.instruments.meter;
        let small = meter.and_then(|m| m.milliamps);
        let fits = |most: Option<Milliamps>| {
            expected.is_some_and(|e| most.is_some_and(|most| e.high() < most.value()))
        };
        if fine && small.is_some_and(|s| fits(s.most)) {
            return Some(Way::Series(Jack::MilliA));
        }
        if self.instruments.clamp.is_some() {
            return Some(Way::Clamp { turns: 1 });
        }
        if meter.is_some_and(|m| m.amps.is_some()) {
            return Some(Way::Series(Jack::A));
        }
        small
            .is_some_and(|s| fits(s.most))
            .then_some(Way::Series(Jack::MilliA))
    }

    /// Whether the jaws close round what has to be clamped: a wire of known size must be no thicker
    /// than the opening (outer diameter about 1.6 times that of the copper; judgement).
    pub(crate) fn jaws_close(&self, part: PartId) -> bool {
        let Some(jaw) = self.instruments.clamp.and_then(|c| c.jaw) else {
            return true;
        };
        let written = self.feeds.part(part);
        let area = match written.wire.map(|w| w.size) {
            Some(crate::vehicle::WireSize::Area(area)) => area.value(),
            Some(crate::vehicle::WireSize::Gauge(gauge)) => crate::reference::gauge_area(gauge),
            None => return written.kind != PartKind::Battery,
        };
        1.6 * 2.0 * (area / std::f64::consts::PI).sqrt() <= jaw.value()
    }
}

impl Now<'_> {
    /// What the display of a test shows for any current in an interval; a clamp goes round the wire as it
    /// is where no other way is given.
    pub(super) fn shown(
        &self,
        method: Method,
        way: Option<Way>,
        part: PartId,
        current: Interval<Milliamps>,
    ) -> Option<(f64, f64)> {
        let instruments = &self.setting.instruments;
        match method {
            Method::Drop => {
                let feeds = &self.setting.feeds;
                let across = measurement::resistance_at(feeds, part, self.temperature)?;
                let shown = measurement::drop_shown(&across, current, instruments)?;
                Some((shown.low(), shown.high()))
            }
            Method::Clamp | Method::Series => {
                let way = way.unwrap_or(Way::Clamp { turns: 1 });
                let shown = measurement::current_shown(way, current, instruments)?;
                Some((shown.low(), shown.high()))
            }
            _ => None,
        }
    }

    /// What may be let in in the place of a fuse to read its current, the least harmful first: a loop
    /// lead for the clamp, else the meter, on its A jack before its mA jack. None takes more than it is
    /// made for, whatever the fuse may carry by what was read; what shares its holder stays in.
    pub(super) fn ways_in(&self, part: PartId, most: Milliamps) -> Vec<Way> {
        let setting = self.setting;
        let offered = measurement::offered(&setting.feeds, part);
        let alone = setting.feeds.holder_mates(part).len() <= 1;
        let fuse = setting.feeds.part(part).kind == PartKind::Fuse;
        if !fuse || !alone || !offered.contains(&Method::Series) {
            return Vec::new();
        }
        let takes = |limit: Option<Milliamps>, turns: f64| {
            limit.is_none_or(|limit| most.value() * turns < limit.value())
        };
        let Instruments {
            meter,
            clamp,
            turns,
            ..
        } = setting.instruments;
        let turns = turns.filter(|turns| *turns > 1);
        let looped = clamp.zip(turns).and_then(|(clamp, turns)| {
            let fits = takes(clamp.range.most, f64::from(turns));
            fits.then_some(Way::Clamp { turns })
        });
        let on = |range: Option<Range<Milliamps>>, jack: Jack| {
            let fits = range.is_some_and(|range| takes(range.most, 1.0));
            fits.then_some(Way::Series(jack))
        };
        let large = meter.and_then(|meter| on(meter.amps, Jack::A));
        // Never the mA jack before the current is known to suit it.
        let small = meter.and_then(|meter| on(meter.milliamps, Jack::MilliA));
        looped.into_iter().chain(large).chain(small).collect()
    }

    /// Whether a test at a point was taken in this spell, or cannot be taken.
    pub(super) fn is_done(&self, method: Method, part: PartId) -> bool {
        let id = self.setting.feeds.id(part);
        let taken = || self.taken.contains(&(method, id.to_owned()));
        (!self.taken.is_empty() && taken()) || self.is_skipped(method, id)
    }

    pub(super) fn is_skipped(&self, method: Method, name: &str) -> bool {
        !self.skipped.is_empty() && self.skipped.contains(&(method, name.to_owned()))
    }
}
