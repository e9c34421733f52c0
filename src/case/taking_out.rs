//! What comes out of a vehicle and how, who falls silent without it, and how a suspect is taken out.

use super::facts::TakenOut;
use super::{Setting, taken_by};
use crate::feeds::{Feeds, ModuleId, Named, PartId, PlaceId};
use crate::journal::Point;
use crate::measurement::Method;
use crate::suspects::{Cause, Subject, Suspect};
use crate::vehicle::{LoadKind, PartKind};
use std::collections::BTreeMap;
use std::ops::Range;

/// Something to take out.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TakeOut {
    pub(crate) point: Point,
    pub(crate) unplugged: bool,
    pub(crate) parts: Vec<PartId>,
    pub(crate) place: Option<PlaceId>,
}

impl TakeOut {
    /// As it was taken out once.
    pub(super) fn again(feeds: &Feeds, taken: &TakenOut) -> Self {
        Self {
            point: taken.point.clone(),
            unplugged: taken.unplugged,
            parts: taken.parts.clone(),
            place: taken.parts.first().and_then(|part| feeds.place(*part)),
        }
    }

    /// How it comes out.
    pub(super) const fn method(&self) -> Method {
        if self.unplugged {
            Method::Unplug
        } else {
            Method::Pull
        }
    }
}

/// Suspects that are sought, and which of them sit where.
#[derive(Clone, Debug)]
pub(crate) struct Sought {
    /// As the setting numbers them, ascending: in tree order, those that sit at no part last.
    pub(crate) suspects: Vec<usize>,
    /// For each part, and behind the last one, how many of them sit before it.
    before: Vec<u32>,
}

impl Sought {
    /// O(parts).
    pub(super) fn of(setting: &Setting, suspects: Vec<usize>) -> Self {
        let mut before = Vec::with_capacity(setting.feeds.len() + 1);
        let mut row = 0;
        for part in 0..=setting.feeds.len() as u32 {
            let seat = |index: usize| setting.suspects[index].seat();
            let ahead = |index: &usize| seat(*index).is_some_and(|seat| seat.0 < part);
            while suspects.get(row).is_some_and(ahead) {
                row += 1;
            }
            before.push(row as u32);
        }
        Self { suspects, before }
    }

    /// The rows of those that sit in a range of parts.
    pub(super) fn below(&self, parts: &Range<u32>) -> Range<u32> {
        self.before[parts.start as usize]..self.before[parts.end as usize]
    }

    /// The first row of those that sit at no part.
    pub(super) fn seatless(&self) -> usize {
        self.before.last().map_or(0, |row| *row as usize)
    }

    pub(super) fn len(&self) -> usize {
        self.suspects.len()
    }
}

/// How things come out of a vehicle, worked out once: it does not depend on what is read.
#[derive(Clone, Debug)]
pub(crate) struct TakingOut {
    parts: Vec<Option<TakeOut>>,
    modules: Vec<Option<TakeOut>>,
    /// Inputs that are no parts of the tree, by name.
    inputs: BTreeMap<String, TakeOut>,
}

impl TakingOut {
    /// Linear in the parts and what comes out with each.
    pub(super) fn of(feeds: &Feeds, offered: &[Vec<Method>]) -> Self {
        let parts = feeds.parts().map(|part| part_out(feeds, offered, part));
        let modules = feeds
            .modules()
            .map(|module| module_out(feeds, offered, module));
        let bare = |(name, _): &(&str, _)| !matches!(feeds.find(name), Some(Named::Part(_)));
        let inputs = feeds.inputs().filter(bare).map(|(name, _)| {
            let way = TakeOut {
                point: Point::Input(name.to_owned()),
                unplugged: true,
                parts: Vec::new(),
                place: None,
            };
            (name.to_owned(), way)
        });
        Self {
            parts: parts.collect(),
            modules: modules.collect(),
            inputs: inputs.collect(),
        }
    }
}

/// Taking a part out by the way it offers; plugs before pulling.
fn part_out(feeds: &Feeds, offered: &[Vec<Method>], part: PartId) -> Option<TakeOut> {
    // An output comes out with its module.
    if feeds.part(part).kind == PartKind::Output {
        return None;
    }
    let offered = &offered[part.index()];
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
fn module_out(feeds: &Feeds, offered: &[Vec<Method>], module: ModuleId) -> Option<TakeOut> {
    let fixed = |feed: &PartId| !offered[feed.index()].contains(&Method::Unplug);
    let own = feeds.module_feeds(module);
    // One that no feed is entered of has no plug either.
    if own.is_empty() || own.iter().any(fixed) {
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

/// Those that have to do with a range of parts, of a list in tree order. O(log n).
pub(super) fn among<'a>(
    listed: &'a [(PartId, usize)],
    parts: &Range<u32>,
) -> &'a [(PartId, usize)] {
    let from = listed.partition_point(|(part, _)| part.0 < parts.start);
    let to = listed.partition_point(|(part, _)| part.0 < parts.end);
    &listed[from..to]
}

impl Setting {
    /// Whether a part offers a test.
    pub(crate) fn offers(&self, part: PartId, method: Method) -> bool {
        self.offered[part.index()].contains(&method)
    }

    /// Taking a part out by the way it offers; plugs before pulling.
    pub(crate) fn ways_out_at(&self, part: PartId) -> Option<&TakeOut> {
        self.taking_out.parts[part.index()].as_ref()
    }

    /// The ways to take a suspect out, from the narrowest to the widest: at itself, then whatever
    /// comes out above it.
    pub(crate) fn ways_out<'a>(
        &'a self,
        suspect: &Suspect,
    ) -> impl Iterator<Item = &'a TakeOut> + 'a {
        let feeds = &self.feeds;
        // One way of its own, and the part from which the others go up.
        let (own, from) = match (&suspect.subject, suspect.cause) {
            (Subject::Module(module), _) => {
                (self.taking_out.modules[module.0 as usize].as_ref(), None)
            }
            (Subject::Input(name), _) => match feeds.find(name) {
                Some(Named::Part(part)) => (self.ways_out_at(*part), None),
                _ => (self.taking_out.inputs.get(name), None),
            },
            // The relay of a coil takes the coil with it.
            (Subject::Part(part), Cause::CoilHeld) => {
                let relay = feeds.moved_by(*part);
                (relay.and_then(|r| self.ways_out_at(r)), Some(*part))
            }
            (Subject::Part(part) | Subject::Unlisted(part), _) => (None, Some(*part)),
        };
        let upward = std::iter::successors(from, |part| feeds.up(*part));
        let upward = upward.filter_map(|part| self.ways_out_at(part));
        own.into_iter().chain(upward)
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
        // What is not offered to be taken out may have been, by hand.
        let itself = suspect.seat().is_some_and(|seat| wanted == [seat]);
        self.silenced(suspect, parts)
            && (itself
                || self
                    .ways_out(suspect)
                    .any(|way| sorted(&way.parts) == wanted))
    }

    /// What comes out with the narrowest way of a suspect; where none is offered, itself by hand.
    pub(crate) fn narrowest_out(&self, suspect: &Suspect) -> Option<Vec<PartId>> {
        let offered = self.ways_out(suspect).next();
        let offered = offered.map(|way| way.parts.clone());
        offered.or_else(|| Some(vec![suspect.seat()?]))
    }

    /// Whether a cause may show because the vehicle has not settled: a module, what one feeds, commands
    /// or is held by, a relay's contact.
    pub(crate) fn may_time_out(&self, subject: &Subject) -> bool {
        let feeds = &self.feeds;
        let Subject::Part(part) = subject else {
            return !matches!(subject, Subject::Unlisted(_));
        };
        let fed = |above: PartId| {
            let kind = feeds.part(above).kind;
            feeds.module_of(above).is_some() || matches!(kind, PartKind::Output | PartKind::Relay)
        };
        feeds.part(*part).kind == PartKind::Coil || feeds.path(*part).into_iter().any(fed)
    }

    /// Whether a part has no feed with these out.
    pub(crate) fn takes_out(&self, parts: &[PartId], part: PartId) -> bool {
        parts.iter().any(|top| self.feeds.is_below(part, *top))
    }

    /// All suspects that sit at a part or below it. O(log suspects).
    pub(crate) fn seated_below(&self, part: PartId) -> &[Suspect] {
        let parts = self.feeds.subtree(part);
        // Those that sit at no part are the last.
        let before = |end: u32| {
            let ahead = |suspect: &Suspect| suspect.seat().is_some_and(|seat| seat.0 < end);
            self.suspects.partition_point(ahead)
        };
        &self.suspects[before(parts.start)..before(parts.end)]
    }

    /// Those of the suspects `left`, ascending, that could fall silent without these parts, some of them
    /// twice: those that sit below, contacts above, and who lives on something below. O(depth) for
    /// each part and what it finds.
    pub(crate) fn near<'a>(
        &'a self,
        parts: &'a [PartId],
        left: &'a Sought,
    ) -> impl Iterator<Item = usize> + 'a {
        let feeds = &self.feeds;
        let below = parts.iter().flat_map(move |part| {
            let rows = left.below(&feeds.subtree(*part));
            left.suspects[rows.start as usize..rows.end as usize]
                .iter()
                .copied()
        });
        let contact = move |part: PartId| {
            let rows = left.below(&(part.0..part.0 + 1));
            let mut there = left.suspects[rows.start as usize..rows.end as usize].iter();
            let contact = |index: &&usize| self.suspects[**index].cause == Cause::ContactClosed;
            there.find(contact).copied()
        };
        let contacts = parts.iter().flat_map(move |part| {
            let above = std::iter::successors(feeds.up(*part), |part| feeds.up(*part));
            above.filter_map(contact)
        });
        let living = parts.iter().flat_map(move |part| {
            let here = among(&self.living, &feeds.subtree(*part));
            here.iter().map(|(_, index)| *index)
        });
        let living = living.filter(|index| left.suspects.binary_search(index).is_ok());
        below.chain(contacts).chain(living)
    }

    /// Whether anything below a part is handled by its maker's rules alone.
    pub(crate) fn is_careful(&self, part: PartId) -> bool {
        let kind = |part| self.feeds.load_kind(PartId(part));
        self.feeds.subtree(part).any(|below| {
            matches!(
                kind(below),
                Some(LoadKind::Airbag | LoadKind::HighVoltage | LoadKind::Protected)
            )
        })
    }

    /// Whether a suspect that is still in could fall silent because these have no feed: its module, or one
    /// that feeds, commands or holds what it needs, lost a feed; or a coil or an input of these did.
    pub(crate) fn leans_on(&self, suspect: &Suspect, parts: &[PartId]) -> bool {
        let feeds = &self.feeds;
        let gone = |part: PartId| self.takes_out(parts, part);
        let module_gone = |module: ModuleId| feeds.module_feeds(module).iter().any(|p| gone(*p));
        let named_gone = |name: &str| match feeds.find(name) {
            Some(Named::Part(part)) => gone(*part),
            Some(Named::Module(module)) => module_gone(*module),
            _ => false,
        };
        let commanded = |part: PartId| {
            let by = feeds.part(part).commanded_by.as_ref();
            by.is_some_and(|by| named_gone(&by.value))
        };
        let mut needed = crate::suspects::lives_on(feeds, suspect).into_owned();
        needed.extend(suspect.raises.iter().map(|(part, _)| *part));
        needed
            .into_iter()
            .flat_map(|part| feeds.path(part))
            .any(|part| {
                let module = feeds.module_of(part);
                let mut held = module.into_iter().flat_map(|m| &feeds.module(m).held_by);
                module.is_some_and(module_gone)
                    || held.any(|input| named_gone(&input.value))
                    || commanded(part)
                    || feeds
                        .coils_of(part)
                        .iter()
                        .any(|coil| gone(*coil) || commanded(*coil))
            })
    }

    /// What one suspect does without these parts: nothing, if it has lost its feed or all it raises.
    pub(crate) fn silenced(&self, suspect: &Suspect, parts: &[PartId]) -> bool {
        let cut = |part: PartId| self.takes_out(parts, part);
        match suspect.cause {
            Cause::HoldsAwake => {
                let lives = crate::suspects::lives_on(&self.feeds, suspect);
                !lives.is_empty() && lives.iter().all(|part| cut(*part))
            }
            Cause::ContactClosed => {
                let seat = suspect.seat().is_some_and(cut);
                seat || suspect.raises.iter().all(|(part, _)| cut(*part))
            }
            _ => suspect.seat().is_some_and(cut),
        }
    }
}
