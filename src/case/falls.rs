//! What fell when things came out, and what that says of each suspect.

use super::facts::{Pulled, TakenOut};
use super::fold::Now;
use super::{Case, Setting};
use crate::feeds::PartId;
use crate::judgement::Judgement;
use crate::suspects::{Cause, Suspect, raised_among};
use crate::vehicle::Rest;

/// The falls that speak of suspects now.
#[derive(Clone, Debug)]
pub(super) struct Falls<'a> {
    setting: &'a Setting,
    /// What came of taking things out with just the proven drains out.
    here: Vec<&'a Pulled>,
    /// What came of it before one of them was proven, where nothing fell that matters.
    in_vain_before: Vec<&'a Pulled>,
    /// Where more fell than healthy parts take and no drain proven since explains it.
    unexplained: Vec<&'a Pulled>,
}

impl<'a> Falls<'a> {
    /// O(pulls × proven drains).
    pub(super) fn of(now: &'a Now<'_>) -> Self {
        let setting = now.setting;
        let explained = |parts: &[PartId]| {
            let gone = |part: &PartId| setting.takes_out(parts, *part);
            // An input has no parts: what comes out in the tree takes none with it.
            let all_gone =
                |taken: &TakenOut| !taken.parts.is_empty() && taken.parts.iter().all(gone);
            let mut proven = now.found.iter().filter(|found| found.returned);
            proven.any(|found| found.taken.iter().any(all_gone))
        };
        let fell = |pulled: &&Pulled| pulled.beyond >= pulled.matters && !explained(&pulled.parts);
        let base = now.base();
        // What is nothing against all there was may be all of what is left.
        let least = now.setting.healthy.enough_alone();
        let before = |pulled: &&Pulled| {
            pulled.base != base && pulled.in_vain() && pulled.fell.high() < least
        };
        Self {
            setting,
            in_vain_before: now.pulls.iter().filter(before).collect(),
            here: now.pulls_here().collect(),
            unexplained: now.pulls.iter().filter(fell).collect(),
        }
    }

    /// When the draw fell without a suspect and not by what it keeps up; of a holder, by more than twice
    /// what that takes awake.
    pub(super) fn without<'b>(
        &'b self,
        suspect: &'b Suspect,
    ) -> impl Iterator<Item = &'a Pulled> + 'b {
        let setting = self.setting;
        self.unexplained.iter().copied().filter(move |pulled| {
            let gone = |part: PartId| setting.takes_out(&pulled.parts, part);
            let raised = || match suspect.cause {
                Cause::HoldsAwake => raised_among(suspect, &setting.feeds, gone),
                _ => suspect
                    .raises
                    .iter()
                    .all(|(part, _)| !gone(*part))
                    .then_some(0.0),
            };
            !setting.silenced(suspect, &pulled.parts)
                && raised().is_some_and(|raised| 2.0 * raised < pulled.beyond)
        })
    }

    /// What a suspect could take by the bounds, by which it hides so much, and by the falls when it was
    /// silent, in mA; a contact no more than the loads behind it.
    pub(super) fn could_take(&self, judged: &Judgement<'_>, suspect: &Suspect, hides: f64) -> f64 {
        let setting = self.setting;
        let silent = |pulled: &Pulled| {
            setting.silenced(suspect, &pulled.parts) && !is_fed_still(setting, suspect, pulled)
        };
        let contact = suspect.cause == Cause::ContactClosed;
        let moved = if contact {
            self.moved(judged, suspect)
        } else {
            0.0
        };
        let mut own = self.least_fall(&silent, hides + moved);
        for pulled in self.without(suspect) {
            // What was still in, and leans on nothing that was out, flowed on: no more than was left.
            let left = pulled.most_left.max(0.0);
            if left < own && !setting.leans_on(suspect, &pulled.parts) {
                own = left;
            }
        }
        if !contact {
            return own;
        }
        let each = |part: PartId| {
            let gone = |pulled: &Pulled| setting.takes_out(&pulled.parts, part);
            self.least_fall(&gone, judged.own_hides(part))
        };
        let behind: f64 = suspect.raises.iter().map(|(part, _)| each(*part)).sum();
        own.min(behind + moved)
    }

    /// What the relays let through whose coils are behind a contact, in mA: they drop out with it.
    fn moved(&self, judged: &Judgement<'_>, contact: &Suspect) -> f64 {
        let feeds = &self.setting.feeds;
        let relays = contact.raises.iter();
        let relays = relays.filter_map(|(coil, _)| feeds.moved_by(*coil));
        let open = relays.filter(|relay| feeds.part(*relay).rest == Some(Rest::Open));
        open.map(|relay| judged.hides(relay)).sum()
    }

    /// Whether a feed was out, and nothing fell, while its module was fed by another one.
    pub(super) fn took_the_other_way(&self, suspect: &Suspect) -> bool {
        self.here.iter().any(|pulled| {
            pulled.vain
                && self.setting.silenced(suspect, &pulled.parts)
                && is_fed_still(self.setting, suspect, pulled)
        })
    }

    /// The least fall, in mA, of those where something was silent; `most` where there is none below it.
    fn least_fall(&self, is_silent: &dyn Fn(&Pulled) -> bool, most: f64) -> f64 {
        let mut least = most;
        for pulled in &self.here {
            let fell = pulled.most_fell.max(0.0);
            if fell < least && is_silent(pulled) {
                least = fell;
            }
        }
        least
    }

    /// Whether a suspect was silent before the last drain was proven, and nothing fell that matters.
    pub(super) fn in_vain_before(&self, suspect: &Suspect) -> bool {
        let mut before = self.in_vain_before.iter();
        before.any(|pulled| self.setting.silenced(suspect, &pulled.parts))
    }

    /// Whether a suspect that could take so much could be what fell with something out.
    pub(super) fn may_be(&self, suspect: &Suspect, takes: f64) -> bool {
        self.here.iter().any(|pulled| {
            pulled.beyond >= pulled.matters
                && takes >= pulled.beyond
                && self.setting.silenced(suspect, &pulled.parts)
        })
    }
}

/// Whether a suspect is a feed of a module that was still fed by another one: what it took may have come
/// that way.
fn is_fed_still(setting: &Setting, suspect: &Suspect, pulled: &Pulled) -> bool {
    let feeds = &setting.feeds;
    let own = suspect.seat().filter(|_| suspect.cause == Cause::OwnDraw);
    let Some(module) = own.and_then(|seat| feeds.module_of(seat)) else {
        return false;
    };
    // One on a network wakes, or calls for, others: what falls with each of its feeds is weighed there.
    feeds.network_of(module).is_none()
        && feeds
            .module_feeds(module)
            .iter()
            .any(|feed| !setting.takes_out(&pulled.parts, *feed))
}

impl Case<'_> {
    /// What a suspect takes at most by what fell when it was silent, in mA, and the two draws that say so; `None`
    /// where it never was.
    pub fn fell_without(&self, suspect: &Suspect) -> Option<(f64, [u32; 2])> {
        let setting = self.setting;
        let pulls = self.now.pulls_here();
        let silent = pulls.filter(|pulled| {
            setting.silenced(suspect, &pulled.parts) && !is_fed_still(setting, suspect, pulled)
        });
        let least = silent.min_by(|one, other| one.most_fell.total_cmp(&other.most_fell))?;
        Some((least.most_fell.max(0.0), least.draws))
    }
}

impl Now<'_> {
    /// Whether nothing fell with just those feeds of its module out that these take out as well: then what falls
    /// with these is not what a suspect took.
    pub(super) fn stayed_without(&self, suspect: &Suspect, parts: &[PartId]) -> bool {
        let (setting, feeds) = (self.setting, &self.setting.feeds);
        self.pulls_here().any(|pulled| {
            let own = suspect.seat().and_then(|seat| feeds.module_of(seat));
            let gone = |feed: &PartId| setting.takes_out(parts, *feed);
            let was = |feed: &PartId| setting.takes_out(&pulled.parts, *feed);
            let same = |module| {
                feeds
                    .module_feeds(module)
                    .iter()
                    .all(|feed| !gone(feed) || was(feed))
            };
            pulled.vain
                && setting.silenced(suspect, &pulled.parts)
                && is_fed_still(setting, suspect, pulled)
                && own.is_some_and(same)
        })
    }
}
