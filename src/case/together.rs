//! Partners of a network that are up together: does one of them hold the others awake?
//!
//! Taking out a partner that is only kept up looks like a proof: its own current falls and returns. So
//! while several modules of a network carry an excess and somebody who may hold them has not been
//! taken out, a fall by no more than a module takes itself names nobody.

use super::Case;
use super::fold::Now;
use crate::feeds::{Feeds, ModuleId, NetworkId, PartId};
use crate::judgement::Judgement;
use crate::suspects::{Cause, Subject, Suspect, lives_on};

/// What is known of the networks with several carrying modules.
#[derive(Clone, Debug)]
pub(super) struct Together {
    /// By network: the carrying modules with the least excess of each in mA, where there are several.
    carrying: Vec<Vec<(ModuleId, f64)>>,
    /// By network: somebody may hold them and has not been taken out.
    left: Vec<bool>,
}

impl Together {
    /// Linear in the modules and suspects; networks with fewer than two carrying modules cost nothing
    /// more.
    pub(super) fn of(now: &Now<'_>, judged: &Judgement<'_>) -> Self {
        let setting = now.setting;
        let feeds = &setting.feeds;
        let mut carrying = Vec::new();
        for network in feeds.networks() {
            let up: Vec<(ModuleId, f64)> = feeds
                .partners(network)
                .map(|module| (module, excess_of(feeds, judged, module)))
                .filter(|(_, excess)| *excess >= judged.matters())
                .collect();
            carrying.push(if up.len() > 1 { up } else { Vec::new() });
        }
        let mut together = Self {
            left: vec![false; carrying.len()],
            carrying,
        };
        if together.carrying.iter().all(Vec::is_empty) {
            return together;
        }
        let base = now.base();
        for suspect in setting
            .suspects
            .iter()
            .filter(|s| s.cause == Cause::HoldsAwake)
        {
            let lives = lives_on(feeds, suspect);
            let gone = lives.iter().all(|p| base.cuts(feeds, *p));
            if gone || together.cleared(now, suspect) || setting.ways_out(suspect).next().is_none()
            {
                continue;
            }
            for network in networks_of(feeds, suspect) {
                let any = !together.carrying[network.0 as usize].is_empty();
                together.left[network.0 as usize] |= any;
            }
        }
        together
    }

    /// Whether a suspect was taken out and less fell than its partners carry together: then it does not
    /// hold them.
    pub(super) fn cleared(&self, now: &Now<'_>, suspect: &Suspect) -> bool {
        let feeds = &now.setting.feeds;
        let base = now.base();
        let silent = || {
            now.pulls
                .iter()
                .filter(|p| p.base == base && now.setting.silenced(suspect, &p.parts))
        };
        networks_of(feeds, suspect).iter().any(|network| {
            let up = &self.carrying[network.0 as usize];
            let all: f64 = up.iter().map(|(_, excess)| excess).sum();
            !up.is_empty() && silent().any(|pulled| pulled.most_fell < all)
        })
    }

    /// Whether somebody may hold this module, and it them.
    pub(super) fn is_open(&self, feeds: &Feeds, module: ModuleId) -> bool {
        feeds
            .network_of(module)
            .is_some_and(|network| self.left[network.0 as usize])
    }
}

/// The least excess through a module's own feeds, in mA.
fn excess_of(feeds: &Feeds, judged: &Judgement<'_>, module: ModuleId) -> f64 {
    let each = |feed: &PartId| excess_at(feeds, judged, *feed);
    feeds.module_feeds(module).iter().map(each).sum()
}

/// The least excess of one feed, leaks in its wiring apart: an excess proven further up is its own where
/// nothing else below that part could take it.
pub(super) fn excess_at(feeds: &Feeds, judged: &Judgement<'_>, feed: PartId) -> f64 {
    let mut least = judged.excess(feed).low();
    let mut above = feeds.up(feed);
    while let Some(part) = above {
        let others: f64 = feeds
            .subtree(part)
            .map(PartId)
            .filter(|p| !is_wire(feeds, *p) && !feeds.is_below(*p, feed))
            .map(|p| judged.own_hides(p))
            .sum();
        if others >= judged.matters() {
            break;
        }
        least = least.max(judged.excess(part).low() - others);
        above = feeds.up(part);
    }
    least
}

/// Whether a part takes nothing itself but by a leak.
fn is_wire(feeds: &Feeds, part: PartId) -> bool {
    feeds.load_kind(part).is_none() && !feeds.is_leaf(part)
}

fn networks_of(feeds: &Feeds, suspect: &Suspect) -> Vec<NetworkId> {
    let mut networks: Vec<NetworkId> = match &suspect.subject {
        Subject::Module(module) => feeds.network_of(*module).into_iter().collect(),
        _ => suspect
            .raises
            .iter()
            .filter_map(|(feed, _)| feeds.network_of(feeds.module_of(*feed)?))
            .collect(),
    };
    networks.sort_unstable();
    networks.dedup();
    networks
}

impl Case<'_> {
    /// Modules of one network that were proven each by its own draw, where there are several: something that the file
    /// does not have may keep all of them awake, and their falls add up just the same.
    pub fn of_one_network(&self) -> Vec<ModuleId> {
        let feeds = &self.setting.feeds;
        let proven = self.now.found.iter().filter(|found| found.returned);
        let mut modules: Vec<ModuleId> = proven
            .filter_map(|found| match (found.cause, &found.subject) {
                (Cause::OwnDraw, Subject::Part(part)) => feeds.module_of(*part),
                _ => None,
            })
            .collect();
        modules.sort_unstable();
        modules.dedup();
        let all = modules.clone();
        modules.retain(|one| {
            let network = feeds.network_of(*one);
            let mut others = all.iter().filter(|other| *other != one);
            network.is_some() && others.any(|other| feeds.network_of(*other) == network)
        });
        modules
    }
}
