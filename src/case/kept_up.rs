//! A module of a network that fell silent with a fall: does it draw by itself, or is it only kept up?
//!
//! Without a module that others need the whole network sleeps, so a fall says that the draw needs the module and not
//! that the current flowed there. And a module that a partner, or something that is in no file, keeps awake falls by
//! what it takes awake, and returns. So its own draw is named only
//!
//! 1. where its own feed was read, or could not be, or what fell could not have flowed in its partners;
//! 2. and where, with it out, no partner is up still by what the file says that each takes awake: two that are up have
//!    one cause until something else is shown. A module that takes quite another current is up by itself.

use super::Case;
use super::facts::Pulled;
use super::fold::Now;
use super::together::excess_at;
use crate::feeds::{ModuleId, PartId};
use crate::judgement::Judgement;
use crate::ledger::Ties;
use crate::measurement::Method;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Suspect};
use crate::vehicle::PartKind;

/// A module takes awake between these shares of what its file says (judgement).
const AWAKE_AT_LEAST: f64 = 0.5;
const AWAKE_AT_MOST: f64 = 1.5;
/// What a module takes more awake than asleep, in mA, below which nothing shows that it is up (judgement).
const SHOWS_FROM: f64 = 10.0;
/// The share of a fall that is most of it.
const MOST: f64 = 0.5;

impl<'s> Now<'s> {
    /// Whether the fall with a module of a network out may be that of others which it keeps up, or of itself, kept up
    /// with others. O(parts).
    pub(super) fn may_be_kept_up(
        &self,
        module: ModuleId,
        pulled: &Pulled,
        judged: &Judgement<'_>,
    ) -> bool {
        let feeds = &self.setting.feeds;
        let partners: Vec<ModuleId> = feeds
            .network_of(module)
            .into_iter()
            .flat_map(|network| feeds.partners(network))
            .filter(|partner| *partner != module && self.is_fed(*partner, pulled))
            .collect();
        let own = feeds.module_feeds(module).iter();
        let own: f64 = own.map(|feed| excess_at(feeds, judged, *feed)).sum();
        let fell = pulled.fell.low();
        let could = |partner: &ModuleId| self.could_take_awake(*partner, pulled, judged);
        let elsewhere: f64 = partners.iter().map(could).sum();
        if self.is_to_be_read(module) && own < MOST * fell && elsewhere >= MOST * fell {
            return true;
        }
        let left = pulled.without.low() - self.usual_beside(pulled);
        let up = |partner: &ModuleId| {
            let raised = self.raised(*partner);
            raised.is_some_and(|raised| {
                let least = AWAKE_AT_LEAST * raised.max(SHOWS_FROM);
                left >= least && could(partner) >= least
            })
        };
        self.fell_as_awake(module, pulled) && partners.iter().any(up)
    }

    /// Whether what flows in a feed of a module can be read, and was not.
    pub(super) fn is_to_be_read(&self, module: ModuleId) -> bool {
        self.can_still_be_read(self.setting.feeds.module_feeds(module))
    }

    /// Whether what flows in one of these can be read, there or in the fuse before it, and was in none. What comes and
    /// goes is seen by its logs alone.
    pub(super) fn can_still_be_read(&self, seats: &[PartId]) -> bool {
        let feeds = &self.setting.feeds;
        let methods = [Method::Drop, Method::Clamp, Method::Series];
        let guard = |feed: PartId| {
            let mut way = feeds.path(feed).into_iter().rev();
            way.find(|part| matches!(feeds.part(*part).kind, PartKind::Fuse | PartKind::Link))
        };
        let own = seats.iter();
        let points: Vec<PartId> = own
            .flat_map(|feed| [Some(*feed), guard(*feed)])
            .flatten()
            .collect();
        let read = |part: &PartId| methods.iter().any(|way| self.is_done(*way, *part));
        let can = |part: &PartId| {
            let offered = self.setting.offers(*part, Method::Drop);
            offered && !self.is_skipped(Method::Drop, feeds.id(*part))
        };
        self.comes_by().is_none() && points.iter().any(can) && !points.iter().any(read)
    }

    /// Whether it fell with something of a network out, and that is not proven: something else may keep it up.
    pub(super) fn modules_may_be_kept_up(&self) -> bool {
        let feeds = &self.setting.feeds;
        self.pulls_here().any(|pulled| {
            let of_network = pulled.parts.iter().any(|part| feeds.networked(*part));
            of_network && !pulled.vain && pulled.beyond >= pulled.matters
        })
    }

    /// What holds for the currents now: once modules may be kept up, what is plugged in or was added may do it.
    pub(super) fn ties(&self) -> &'s Ties {
        if self.polling {
            &self.setting.polled
        } else {
            &self.setting.ties
        }
    }

    /// It fell with something out, and named nobody: where that is of a network the bounds are worked out anew with what
    /// may hold it awake.
    pub(super) fn mind_what_polls(&mut self) {
        if !self.polling && self.modules_may_be_kept_up() {
            self.polling = true;
            self.bound_anew();
        }
    }

    /// The modules that fell silent with a fall, one at a time, and may be kept up all the same.
    pub(super) fn kept_up(&self, judged: &Judgement<'_>) -> Vec<ModuleId> {
        let feeds = &self.setting.feeds;
        let alone = |module: &ModuleId, pulled: &&Pulled| {
            let mut own = feeds.module_feeds(*module).iter();
            let all = own.all(|feed| self.setting.takes_out(&pulled.parts, *feed));
            let of_it = |part: &PartId| {
                let mut below = feeds.subtree(*part).map(PartId);
                below.all(|p| feeds.module_of(p).is_none_or(|of| of == *module))
            };
            all && pulled.parts.iter().all(of_it) && pulled.beyond >= pulled.matters
        };
        let networked = feeds.modules().filter(|m| feeds.network_of(*m).is_some());
        networked
            .filter(|module| {
                let mut fell = self.pulls_here().filter(|pulled| alone(module, pulled));
                fell.any(|pulled| self.may_be_kept_up(*module, pulled, judged))
            })
            .collect()
    }

    /// What came of a module of a network that was out, if much fell: taken out elsewhere it shows no more.
    pub(super) fn fell_kept_up(&self, suspect: &Suspect) -> Option<&Pulled> {
        let own = suspect.seat().filter(|_| suspect.cause == Cause::OwnDraw)?;
        let narrowest = self.setting.narrowest_out(suspect);
        let networked = self.setting.feeds.networked(own);
        let mut pulls = self.pulls_here().filter(|_| networked);
        pulls.find(|pulled| {
            !pulled.vain
                && pulled.fell.low() >= pulled.matters
                && narrowest.as_ref() == Some(&pulled.parts)
        })
    }

    /// Whether a module has a feed with these out.
    fn is_fed(&self, module: ModuleId, pulled: &Pulled) -> bool {
        let feeds = &self.setting.feeds;
        let mut own = feeds.module_feeds(module).iter();
        own.any(|feed| {
            !pulled.base.cuts(feeds, *feed) && !self.setting.takes_out(&pulled.parts, *feed)
        })
    }

    /// Whether about as much fell as the module takes awake by the file.
    fn fell_as_awake(&self, module: ModuleId, pulled: &Pulled) -> bool {
        self.raised(module).is_some_and(|raised| {
            pulled.fell.high() >= AWAKE_AT_LEAST * raised
                && pulled.fell.low() <= AWAKE_AT_MOST * raised
        })
    }

    /// What a module takes more awake than asleep, in mA, where the file says it.
    fn raised(&self, module: ModuleId) -> Option<f64> {
        let feeds = &self.setting.feeds;
        let own = feeds.module_feeds(module);
        let each = own.iter().map(|feed| feeds.part(*feed).awake);
        let awake = each.map(|awake| awake.map(Milliamps::value)).sum();
        let whole = feeds.module(module).awake.map(Milliamps::value);
        let usual: f64 = own.iter().map(|feed| feeds.usual(*feed).0.value()).sum();
        whole.or(awake).map(|awake| (awake - usual).max(0.0))
    }

    /// What a module takes awake at most by its file, in mA, and no more than `most`.
    pub(super) fn awake_at_most(&self, module: ModuleId, most: f64) -> f64 {
        let raised = self.raised(module);
        raised.map_or(most, |raised| most.min(AWAKE_AT_MOST * raised))
    }

    /// What may flow in a module beyond what is healthy, in mA, by the bounds, by what fell without it, and no more than
    /// it takes awake.
    fn could_take_awake(&self, module: ModuleId, pulled: &Pulled, judged: &Judgement<'_>) -> f64 {
        let own = self.setting.feeds.module_feeds(module).iter();
        let each = own.map(|feed| self.carries_at_most(*feed, pulled, judged));
        let most = judged.module_hides(module).min(each.sum());
        self.awake_at_most(module, most)
    }

    /// What the loads that are in take as a rule with these out, in mA.
    fn usual_beside(&self, pulled: &Pulled) -> f64 {
        let feeds = &self.setting.feeds;
        let is_in = |part: &PartId| {
            feeds.part(*part).kind == PartKind::Load
                && !pulled.base.cuts(feeds, *part)
                && !self.setting.takes_out(&pulled.parts, *part)
        };
        let loads = feeds.parts().filter(is_in);
        loads.map(|load| feeds.usual(load).0.value()).sum()
    }
}

impl Case<'_> {
    /// The modules that stay awake together without one being shown to keep the others so.
    pub fn kept_up(&self) -> Vec<ModuleId> {
        self.now.kept_up(&self.now.judged_base())
    }
}
