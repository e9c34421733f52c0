//! What hangs behind a contact that should be open: drawing, it says that the contact is closed.
//!
//! A load behind a relay or switch that rests open gets no feed while that is open. So what falls with such a
//! load is no fault of the load: the contact is closed, stuck or commanded, or something feeds the load past it.
//! With the load or the contact itself out that is a proof against the contact. With more out, a fuse above both,
//! whatever else hangs there falls silent too: then it takes a sign that the contact is closed. A lamp behind a
//! switch of its own is named by its own name: whoever mends it looks at both.

use super::facts::Pulled;
use super::fold::Now;
use super::next::Weighed;
use crate::feeds::PartId;
use crate::journal::Seen;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject, Suspect};
use crate::vehicle::{LoadKind, PartKind};
use std::collections::BTreeMap;

/// What is switched on takes at least this share of what the file says it takes then, and at most so many times
/// that (judgement: a lamp of several bulbs with some of them dead; a supply that is full).
const ON_AT_LEAST: f64 = 0.25;
pub(super) const ON_AT_MOST: f64 = 1.25;

/// The share of the odds of a load behind a contact that rests open which are the contact's (judgement: else it is
/// fed past it).
const BY_THE_CONTACT: f64 = 0.95;

impl Now<'_> {
    /// Whose fault it is that a load drew, where a fall seems to name that load: the contact above it that
    /// rests open, or its own; `None` where such a fall proves neither.
    pub(super) fn as_switched(
        &self,
        suspect: &Suspect,
        pulled: &Pulled,
    ) -> Option<(Cause, Subject)> {
        let feeds = &self.setting.feeds;
        let as_it_is = Some((suspect.cause, suspect.subject.clone()));
        let own = suspect.seat().filter(|_| suspect.cause == Cause::OwnDraw);
        let Some(load) = own else {
            let contact = self.moved_contact(suspect);
            return contact
                .and_then(|contact| self.feeds_the_coil(contact))
                .or(as_it_is);
        };
        let plain = feeds.module_of(load).is_none();
        let on = feeds.part(load).awake.map(Milliamps::value);
        let on = on.filter(|_| plain);
        let alone = self.fell_alone(suspect, pulled);
        // All that hangs on a fuse may be more than one load takes, switched on.
        let too_much = on.is_some_and(|on| pulled.beyond > ON_AT_MOST * on);
        if too_much && !alone {
            return None;
        }
        let Some(contact) = feeds.open_above(load) else {
            return as_it_is;
        };
        // Electronics may idle on little; a lamp, a motor or a heater does not.
        let idles = !matches!(
            feeds.load_kind(load),
            Some(LoadKind::Lamp | LoadKind::Motor | LoadKind::Heater | LoadKind::Moves)
        );
        let too_little = on.is_some_and(|on| pulled.fell.high() < ON_AT_LEAST * on) && !idles;
        let closed = |s: &&Suspect| s.cause == Cause::ContactClosed && s.seat() == Some(contact);
        let contact_alone = || {
            let suspect = self.setting.suspects.iter().find(closed);
            suspect.is_some_and(|suspect| self.fell_alone(suspect, pulled))
        };
        let shown = || {
            let mut looks = self.looks.iter();
            self.live.contains(&contact)
                || looks
                    .any(|(part, seen)| (*part == load || *part == contact) && *seen == Seen::Yes)
        };
        if too_little {
            // Switched on it would take more: what flows there flows past the contact.
            return as_it_is.filter(|_| alone);
        }
        if !(alone || contact_alone() || shown()) {
            return None;
        }
        if self.is_one_with(contact, load) {
            return as_it_is;
        }
        let closed = Some((Cause::ContactClosed, Subject::Part(contact)));
        self.feeds_the_coil(contact).or(closed)
    }

    /// The contact that a suspect says is closed, by itself or by its coil.
    fn moved_contact(&self, relay: &Suspect) -> Option<PartId> {
        match relay.cause {
            Cause::ContactClosed => relay.seat(),
            Cause::CoilHeld => self.setting.feeds.moved_by(relay.seat()?),
            _ => None,
        }
    }

    /// The contact that rests open and feeds the coil of another one, where that coil was shown to be on: closed, it
    /// holds the relay, which does as it is told.
    fn feeds_the_coil(&self, contact: PartId) -> Option<(Cause, Subject)> {
        let feeds = &self.setting.feeds;
        let warm = |part: PartId| {
            let mut looks = self.looks.iter().rev();
            let last = looks.find(|(looked, _)| *looked == part);
            last.is_some_and(|(_, seen)| *seen == Seen::Yes)
        };
        let on = |coil: &PartId| warm(contact) || warm(*coil) || self.live.contains(coil);
        let mut coils = feeds.coils_of(contact).iter();
        let above = feeds.open_above(*coils.find(|coil| on(coil))?)?;
        Some((Cause::ContactClosed, Subject::Part(above)))
    }

    /// A lamp and its own switch are one thing, where that feeds nothing else.
    fn is_one_with(&self, contact: PartId, load: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let mut loads = feeds.subtree(contact).map(PartId);
        let switch = feeds.part(contact).kind == PartKind::Switch;
        let other = |part| matches!(feeds.part(part).kind, PartKind::Load | PartKind::Coil);
        let one = loads.all(|part| part == load || !other(part));
        switch && one && feeds.load_kind(load) == Some(LoadKind::Lamp)
    }

    /// Lays to a contact that rests open most of the odds of what hangs behind it: drawing, it says that the contact
    /// is closed.
    pub(super) fn blame_contacts(&self, suspects: &mut [Weighed]) {
        let feeds = &self.setting.feeds;
        let mut contacts = BTreeMap::new();
        for (index, one) in suspects.iter().enumerate() {
            if let (Cause::ContactClosed, Subject::Part(contact)) = (one.cause, &one.subject) {
                contacts.insert(*contact, index);
            }
        }
        for index in 0..suspects.len() {
            let Subject::Part(load) = suspects[index].subject else {
                continue;
            };
            let own = suspects[index].cause == Cause::OwnDraw;
            let contact = feeds
                .open_above(load)
                .filter(|contact| own && !self.is_one_with(*contact, load));
            if let Some(to) = contact.and_then(|contact| contacts.get(&contact)) {
                let moved = BY_THE_CONTACT * suspects[index].odds;
                suspects[index].odds -= moved;
                suspects[*to].odds += moved;
            }
        }
    }

    /// Whether it fell with the narrowest way of a suspect out, now or before.
    fn fell_alone(&self, suspect: &Suspect, pulled: &Pulled) -> bool {
        let Some(narrowest) = self.setting.narrowest_out(suspect) else {
            return false;
        };
        let fell = |other: &Pulled| other.parts == narrowest && other.beyond >= other.matters;
        narrowest == pulled.parts || self.pulls_here().any(fell)
    }
}
