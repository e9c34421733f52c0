//! Where the search is: with several drains each proven excess is a search of its own.

use super::falls::Falls;
use super::fold::Now;
use super::weights::in_vain;
use crate::feeds::{Feeds, PartId};
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Suspect};

/// A part of the tree with an excess of its own: all below one part, without branches below it whose
/// own excess is proven.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Region {
    /// Its top.
    pub(super) top: PartId,
    /// The branches that are another region's business.
    holes: Vec<PartId>,
    /// What a single cause in it takes at least, in mA.
    pub(super) needed: f64,
}

impl Region {
    pub(super) fn holds(&self, feeds: &Feeds, part: PartId) -> bool {
        feeds.is_below(part, self.top) && !self.holes.iter().any(|h| feeds.is_below(part, *h))
    }

    /// The currents of the holes below a part together.
    pub(super) fn through(
        &self,
        feeds: &Feeds,
        judged: &Judgement<'_>,
        part: PartId,
    ) -> Interval<Milliamps> {
        self.holes
            .iter()
            .filter(|h| feeds.is_below(**h, part))
            .map(|h| judged.view().current(*h))
            .fold(Interval::exactly(Milliamps::ZERO), Interval::plus)
    }
}

/// The region to search: the one with the largest proven excess among those in which a suspect is left
/// to prove, wiring where all else there is cleared; the whole vehicle where there is none. With several
/// drains each is a search of its own.
pub(super) fn focus(now: &Now<'_>, judged: &Judgement<'_>) -> Region {
    let feeds = &now.setting.feeds;
    let whole = Region {
        top: PartId(0),
        holes: Vec::new(),
        needed: judged.needed().max(judged.matters()),
    };
    let mut regions = regions(now, judged);
    regions.sort_by(|a, b| b.needed.total_cmp(&a.needed));
    let base = now.base();
    let here = now.pulls.iter().any(|pulled| pulled.base == base);
    let falls = Falls::of(now);
    let alive = |region: &Region| {
        now.setting.suspects.iter().any(|suspect| {
            touches(feeds, suspect, region)
                && (region.top != PartId(0) || !is_wiring(feeds, suspect))
                && falls.could_take(judged, suspect, suspect.hides(judged)) >= judged.matters()
                && (!here
                    || now
                        .setting
                        .ways_out(suspect)
                        .any(|way| !in_vain(now, &way.parts)))
        })
    };
    regions.into_iter().find(alive).unwrap_or(whole)
}

/// Whether a suspect is wiring with loads entered below it: possible, but never worth a proof before them.
pub(super) fn is_wiring(feeds: &Feeds, suspect: &Suspect) -> bool {
    suspect.cause == Cause::Leak
        || (suspect.cause == Cause::NotOnSheet
            && suspect.seat().is_some_and(|part| !feeds.is_leaf(part)))
}

/// Every region with an excess that matters.
fn regions(now: &Now<'_>, judged: &Judgement<'_>) -> Vec<Region> {
    let feeds = &now.setting.feeds;
    let healthy = &now.setting.healthy;
    let matters = judged.matters();
    let carrying = |part: PartId| judged.excess(part).low() >= matters;
    let contacts = open_contacts(now, judged);
    // What hangs on a contact that may be closed is searched together with the contact.
    let hangs = |part: PartId| contacts.iter().any(|c| feeds.is_below(part, *c));
    let mut found = Vec::new();
    // The nearest carrying branches below each part, handed upwards.
    let mut below: Vec<Vec<PartId>> = vec![Vec::new(); feeds.len()];
    for part in feeds.parts().rev() {
        let holes = std::mem::take(&mut below[part.index()]);
        let mut is_region = false;
        if (carrying(part) && !hangs(part)) || part == PartId(0) {
            let current = judged.view().current(part);
            let elsewhere: f64 = holes.iter().map(|h| judged.view().current(*h).high()).sum();
            let own = current.low() - elsewhere - healthy.draw(part).high();
            if holes.is_empty() || own >= matters {
                let single = if holes.is_empty() && part == PartId(0) {
                    judged.needed()
                } else {
                    own
                };
                is_region = true;
                found.push(Region {
                    top: part,
                    holes: holes.clone(),
                    needed: single.max(matters),
                });
            }
        }
        if let Some(up) = feeds.up(part) {
            // An excess proven above a region may be that region's, so only regions are left out.
            if is_region {
                below[up.index()].push(part);
            } else {
                below[up.index()].extend(holes);
            }
        }
    }
    found
}

/// Contacts that should be open, may be closed with several loads behind them, and were not found sound.
fn open_contacts(now: &Now<'_>, judged: &Judgement<'_>) -> Vec<PartId> {
    let setting = now.setting;
    let several = |suspect: &&Suspect| {
        let could =
            |(part, _): &&(PartId, Option<f64>)| judged.own_hides(*part) >= judged.matters();
        suspect.cause == Cause::ContactClosed && suspect.raises.iter().filter(could).count() > 1
    };
    let open = |suspect: &&Suspect| {
        let mut ways = setting.ways_out(suspect);
        ways.next().is_some_and(|way| !in_vain(now, &way.parts))
    };
    let contacts = setting.suspects.iter().filter(several).filter(open);
    contacts.filter_map(Suspect::seat).collect()
}

/// Whether a suspect could raise anything in a region.
pub(super) fn touches(feeds: &Feeds, suspect: &Suspect, region: &Region) -> bool {
    suspect.seat().is_some_and(|seat| region.holds(feeds, seat))
        || suspect
            .raises
            .iter()
            .any(|(part, _)| region.holds(feeds, *part))
}
