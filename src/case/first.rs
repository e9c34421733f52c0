//! What is read before something comes out for its proof, because a minute of it may spare two settles.
//!
//! The plan parts suspects; once one is left, or proving it is quicker, it takes nothing more to tell it from
//! the others. But a proof that fails costs a settle, and one of the wrong thing names a load for a relay.

use super::asked::TestPlan;
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::table::{Doing, Plan, Reading, may_tell, told_apart};
use super::taking_out::TakeOut;
use crate::feeds::{PartId, PlaceId};
use crate::journal::Seen;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::measurement::Method;
use crate::planner::Step;
use crate::suspects::{Cause, Suspect};
use crate::vehicle::{LoadKind, PartKind, Rest};

impl Now<'_> {
    /// The reading before a proof: volts behind a contact that should be open, or the drop across the fuse
    /// that would be pulled.
    pub(super) fn read_before(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        index: usize,
        way: &TakeOut,
    ) -> Option<Next> {
        let suspect = &self.setting.suspects[index];
        let (reason, test) = if let Some(input) = self.input_before(&plan.odds, index, &way.parts) {
            (Reason::InputFirst, self.look_at(input))
        } else if let Some(lamp) = self.lamp_to_look_at(suspect) {
            (Reason::LookFirst, self.at_part(Method::Look, lamp))
        } else if let Some(contact) = self.contact_to_check(suspect) {
            (
                Reason::ContactFirst(contact),
                self.at_part(Method::Volts, contact),
            )
        } else if let Some(relay) = self.relay_to_feel(suspect, way) {
            (Reason::FeelFirst(relay), self.at_part(Method::Look, relay))
        } else {
            let fuse = self.fuse_to_read(plan, judged, way)?;
            let drop = Reading::of(Method::Drop, fuse);
            (
                Reason::ReadFirst(fuse),
                self.reading_test(plan, judged, drop),
            )
        };
        Some(self.asleep_first(|| Next {
            test: Some(test.clone()),
            ..self.bare(State::Measure, reason)
        }))
    }

    /// Before something of a network comes out: what hangs in the diagnostic connector, which may keep all of it awake.
    /// It is looked at, and comes out first where something is there.
    pub(super) fn plugged_in_first(
        &self,
        plan: &Plan<'_>,
        step: Option<Step>,
        out: &Out,
    ) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let ways: Vec<&TakeOut> = match step? {
            Step::Test(test) => match &plan.tests[test] {
                Doing::Out(ways) => ways.clone(),
                Doing::Look(_) => return None,
                _ => return self.told_plugged_in(out),
            },
            step @ Step::Prove(_) => vec![plan.proof(step)?.1],
        };
        let mut parts = ways.iter().flat_map(|way| &way.parts);
        parts
            .any(|part| feeds.networked(*part))
            .then(|| self.try_what_polls(out))?
    }

    /// What may keep a network awake from its connector: whether it is there, then without it. What was added is there.
    pub(super) fn try_what_polls(&self, out: &Out) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let mut sockets = self
            .sockets_to_try()
            .filter(|(socket, _)| !out.cuts(feeds, *socket));
        let step = |(socket, seen)| {
            let way = self.setting.ways_out_at(socket);
            let there = seen == Some(Seen::Yes) || !feeds.is_socket(socket);
            let test = match seen {
                _ if there => self.out_test(&[way.filter(|way| !self.is_way_skipped(way))?]),
                None if self.may_read(Method::Look, socket) => self.at_part(Method::Look, socket),
                _ => return None,
            };
            Some((socket, test))
        };
        let (socket, test) = sockets.find_map(step)?;
        Some(self.asleep_first(|| Next {
            test: Some(test.clone()),
            ..self.bare(State::Measure, Reason::PluggedIn(socket))
        }))
    }

    /// The look at a connector in which, by what was told, something hangs that may keep a network awake: it comes
    /// before any reading.
    fn told_plugged_in(&self, out: &Out) -> Option<Next> {
        let mut sockets = self.sockets_to_try();
        let (socket, _) = sockets.find(|(socket, seen)| {
            seen.is_none()
                && !out.cuts(&self.setting.feeds, *socket)
                && self.is_told_at(*socket)
                && self.may_read(Method::Look, *socket)
        })?;
        Some(self.asleep_first(|| Next {
            test: Some(self.at_part(Method::Look, socket)),
            ..self.bare(State::Measure, Reason::PluggedIn(socket))
        }))
    }

    /// Volts behind the contact that rests open, before what hangs on it is taken out to part it: behind an open
    /// one nothing flows, and a look at that costs no settle.
    pub(super) fn contact_before(&self, parts: &[PartId]) -> Option<Next> {
        let [part] = parts else { return None };
        let contact = self.contact_above(*part)?;
        Some(self.asleep_first(|| Next {
            test: Some(self.at_part(Method::Volts, contact)),
            ..self.bare(State::Measure, Reason::ContactFirst(contact))
        }))
    }

    /// The suspect itself, where it shows when it draws: a lamp, or something that was added.
    fn lamp_to_look_at(&self, suspect: &Suspect) -> Option<PartId> {
        let seat = suspect.seat().filter(|_| suspect.cause == Cause::OwnDraw)?;
        let kind = self.setting.feeds.load_kind(seat);
        let shows = matches!(kind, Some(LoadKind::Lamp | LoadKind::Added))
            || self.setting.feeds.is_socket(seat);
        let shows = shows && self.look_may_show(seat);
        (shows && self.may_read(Method::Look, seat)).then_some(seat)
    }

    /// The contact that rests open, with a suspect behind it or as the suspect, where volts behind it have
    /// not told yet whether it is closed.
    fn contact_to_check(&self, suspect: &Suspect) -> Option<PartId> {
        let seat = suspect.seat()?;
        if !matches!(suspect.cause, Cause::OwnDraw | Cause::ContactClosed) {
            return None;
        }
        self.contact_above(seat)
    }

    /// The contact that rests open, here or above, where volts behind it have not told yet whether it is closed.
    fn contact_above(&self, seat: PartId) -> Option<PartId> {
        let feeds = &self.setting.feeds;
        let rests_open = |part: &PartId| feeds.part(*part).rest == Some(Rest::Open);
        let contact = feeds.path(seat).into_iter().rev().find(rests_open)?;
        // What was seen lit behind it says so already.
        let lit = |(part, seen): &(PartId, Seen)| {
            *seen == Seen::Yes && feeds.is_below(*part, contact) && *part != contact
        };
        let known = self.looks.iter().any(lit) || feeds.is_fed_behind(contact);
        (!known && self.may_read(Method::Volts, contact)).then_some(contact)
    }

    /// The relay that would be pulled with its coil: whether that holds it is felt while it is in.
    fn relay_to_feel(&self, suspect: &Suspect, way: &TakeOut) -> Option<PartId> {
        let relay = suspect
            .seat()
            .filter(|_| suspect.cause == Cause::ContactClosed)?;
        let feeds = &self.setting.feeds;
        let coils = feeds.coils_of(relay);
        let with_it = way.parts.contains(&relay) && !coils.is_empty();
        // Without its feed a coil is cold, whatever held it.
        let out = self.out_set();
        let fed = !coils.iter().any(|coil| out.cuts(feeds, *coil));
        (with_it && fed && self.may_read(Method::Look, relay)).then_some(relay)
    }

    /// The fuse that would be pulled, where the drop across it tells and was not read.
    fn fuse_to_read(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        way: &TakeOut,
    ) -> Option<PartId> {
        let [fuse] = way.parts[..] else { return None };
        let is_fuse = self.setting.feeds.part(fuse).kind == PartKind::Fuse;
        let reading = Reading::of(Method::Drop, fuse);
        let tells = || told_apart(self, judged, reading, plan.focus());
        (is_fuse && self.may_read(Method::Drop, fuse) && tells()).then_some(fuse)
    }

    /// The drop across one of the fuses that would be pulled, where it may tell and was not read: a drain of more than
    /// the least shows, and half a minute is cheaper than a settle.
    pub(super) fn drop_before(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        ways: &[&TakeOut],
    ) -> Option<Next> {
        let tells = |fuse: &PartId| {
            let reading = Reading::of(Method::Drop, *fuse);
            self.setting.feeds.part(*fuse).kind == PartKind::Fuse
                && self.may_read(Method::Drop, *fuse)
                && may_tell(self, judged, reading, plan.focus())
        };
        let mut fuses = ways.iter().flat_map(|way| way.parts.iter().copied());
        let fuse = fuses.find(tells)?;
        Some(self.asleep_first(|| Next {
            test: Some(TestPlan {
                way: Reading::of(Method::Drop, fuse).way,
                ..self.at_part(Method::Drop, fuse)
            }),
            ..self.bare(State::Measure, Reason::MayTell(fuse))
        }))
    }

    /// Whether something can be read at a part now, was not, and nothing is woken by getting there.
    pub(super) fn may_read(&self, method: Method, part: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let way = feeds.place(part).map(|place| feeds.way(place));
        let wakes =
            |place: &PlaceId| feeds.place_as_written(*place).wakes && !self.open.contains(place);
        self.setting.offers(part, method)
            && !self.is_done(method, part)
            && !self.is_skipped(method, feeds.id(part))
            && !self.out_set().cuts(feeds, part)
            && !way.unwrap_or_default().iter().any(wakes)
    }

    /// Whether a load was last seen to be off.
    pub(super) fn was_seen_dark(&self, suspect: &Suspect) -> bool {
        self.last_seen(suspect) == Some(Seen::No)
    }

    /// Whether a load was last seen to be on.
    pub(super) fn was_seen_lit(&self, suspect: &Suspect) -> bool {
        self.last_seen(suspect) == Some(Seen::Yes)
    }

    /// What the last look at a load showed.
    fn last_seen(&self, suspect: &Suspect) -> Option<Seen> {
        let seat = suspect.seat().filter(|_| suspect.cause == Cause::OwnDraw)?;
        let mut looks = self.looks.iter().rev();
        let last = looks.find(|(part, _)| *part == seat)?;
        Some(last.1)
    }

    /// Whether volts behind a contact that rests open showed it closed.
    pub(super) fn is_shown_closed(&self, suspect: &Suspect) -> bool {
        let feeds = &self.setting.feeds;
        let open = |part: PartId| feeds.part(part).rest == Some(Rest::Open);
        suspect.cause == Cause::ContactClosed
            && suspect
                .seat()
                .is_some_and(|seat| open(seat) && self.live.contains(&seat))
    }

    /// Whether a load draws only because a contact above it, shown so, is closed.
    pub(super) fn is_fed_by_a_stuck_contact(&self, suspect: &Suspect) -> bool {
        let feeds = &self.setting.feeds;
        let stuck =
            |part: &PartId| feeds.part(*part).rest == Some(Rest::Open) && self.live.contains(part);
        let above = |seat| std::iter::successors(Some(seat), |part| feeds.up(*part));
        suspect.cause == Cause::OwnDraw
            && !self.live.is_empty()
            && suspect
                .seat()
                .is_some_and(|seat| above(seat).any(|part| stuck(&part)))
    }
}
