//! Falls of more than what came out took itself: what it lets draw elsewhere, or all of it is one thing.

use super::behind_contact::ON_AT_MOST;
use super::facts::Pulled;
use super::fold::Now;
use super::weights::Odds;
use crate::feeds::{Named, PartId};
use crate::journal::Seen;
use crate::judgement::Judgement;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Subject};

impl Now<'_> {
    /// Something plugged in without which more fell than flowed there: it kept others awake, though no network of
    /// the file has it.
    pub(super) fn calls(
        &self,
        pulled: &Pulled,
        judged: &Judgement<'_>,
    ) -> Option<(Cause, Subject)> {
        let [part] = pulled.parts[..] else {
            return None;
        };
        let own = self.carries_at_most(part, pulled, judged);
        let calls = self.setting.feeds.may_poll(part) && pulled.fell.low() >= own + pulled.matters;
        calls.then_some((Cause::HoldsAwake, Subject::Part(part)))
    }

    /// The coil that is held on by what commands it, which came out: without that more fell than flowed there, and the
    /// contact of the coil may be closed.
    pub(super) fn commands(
        &self,
        pulled: &Pulled,
        judged: &Judgement<'_>,
        odds: &Odds,
    ) -> Option<(Cause, Subject)> {
        let feeds = &self.setting.feeds;
        let taken = pulled.parts.iter();
        let own: f64 = taken
            .map(|part| self.takes_at_most(*part, pulled, judged))
            .sum();
        if pulled.fell.low() < own + pulled.matters {
            return None;
        }
        let gone = |part: &PartId| self.setting.takes_out(&pulled.parts, *part);
        let commanded = |coil: PartId| {
            let by = feeds.part(coil).commanded_by.as_ref();
            by.is_some_and(|by| match feeds.find(&by.value) {
                Some(Named::Part(part)) => gone(part),
                Some(Named::Module(module)) => feeds.module_feeds(*module).iter().all(gone),
                _ => false,
            })
        };
        let suspects = self.setting.suspects.iter().enumerate();
        let mut held = suspects.filter_map(|(index, suspect)| {
            let contact = suspect
                .seat()
                .filter(|_| suspect.cause == Cause::ContactClosed)?;
            let able = odds.weights[index].takes >= pulled.fell.low() - own;
            let mut coils = feeds.coils_of(contact).iter().copied();
            let coil = coils.find(|coil| commanded(*coil))?;
            (able && !gone(&contact)).then_some(coil)
        });
        let coil = held.next()?;
        // Of several that it commands none is told from the others.
        held.next()
            .is_none()
            .then_some((Cause::CoilHeld, Subject::Part(coil)))
    }

    /// What flows at most in something by the bounds, and no more than its file says it takes switched on.
    pub(super) fn takes_at_most(
        &self,
        part: PartId,
        pulled: &Pulled,
        judged: &Judgement<'_>,
    ) -> f64 {
        let own = self.carries_at_most(part, pulled, judged);
        let on = self.setting.feeds.part(part).awake.map(Milliamps::value);
        on.map_or(own, |on| own.min(ON_AT_MOST * on))
    }

    /// Whether what fell with these out and with others, one after the other, is more together than all there is:
    /// then one thing lets all of them draw, and none of them is it.
    pub(super) fn add_up_to_more(&self, pulled: &Pulled) -> bool {
        let feeds = &self.setting.feeds;
        let apart = |one: &[PartId], two: &[PartId]| {
            let near = |a: &PartId, b: &PartId| feeds.is_below(*a, *b) || feeds.is_below(*b, *a);
            !one.iter().any(|a| two.iter().any(|b| near(a, b)))
        };
        let mut counted: Vec<&Pulled> = vec![pulled];
        let others = self.pulls.iter().rev();
        for other in others.filter(|other| other.base == pulled.base && !other.in_vain()) {
            if counted.iter().all(|one| apart(&one.parts, &other.parts)) {
                counted.push(other);
            }
        }
        let fell: f64 = counted.iter().map(|one| one.fell.low()).sum();
        counted.len() > 1 && fell >= pulled.with.high() + pulled.matters
    }

    /// Whether a module of a network came out while something hangs in the diagnostic connector that was seen, or told
    /// to be there, and not out yet: through a gateway, or by itself, that may keep the module awake.
    pub(super) fn something_is_plugged_in(&self, parts: &[PartId]) -> bool {
        let feeds = &self.setting.feeds;
        if !parts.iter().any(|part| feeds.networked(*part)) {
            return false;
        }
        let mut sockets = self.sockets_to_try();
        sockets.any(|(socket, seen)| {
            let there = seen.map_or_else(|| self.is_told_at(socket), |seen| seen == Seen::Yes);
            there && !self.setting.takes_out(parts, socket)
        })
    }

    /// Whether a connector was told to be one that something hangs in.
    pub(super) fn is_told_at(&self, socket: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let steering = self.steering();
        let seated = self.setting.seated_below(socket).iter();
        let mut own = seated.filter(|suspect| suspect.cause == Cause::OwnDraw);
        own.any(|suspect| steering.factor(feeds, suspect) > 1.0)
    }

    /// Connectors in which something may hang that keeps a network awake and that were not out, each with what was
    /// last seen there; where modules may be kept up, also other sockets and what was added.
    pub(super) fn sockets_to_try(&self) -> impl Iterator<Item = (PartId, Option<Seen>)> {
        let feeds = &self.setting.feeds;
        let kept = self.modules_may_be_kept_up();
        let pollers = self.setting.pollers.iter().copied();
        let sockets = pollers.filter(move |part| kept || feeds.may_call(*part));
        let in_still = sockets.filter(|socket| {
            let mut pulls = self.pulls_here();
            !pulls.any(|pulled| {
                // With a module out as well it says nothing of what keeps that up.
                let module = pulled.parts.iter().any(|part| feeds.networked(*part));
                !module && self.setting.takes_out(&pulled.parts, *socket)
            })
        });
        in_still.map(|socket| {
            let mut looks = self.looks.iter().rev();
            let last = looks.find(|(part, _)| *part == socket);
            (socket, last.map(|(_, seen)| *seen))
        })
    }
}
