//! What readings in one state say about another: only where nothing that changed can matter.

use crate::feeds::{Feeds, PartId};
use crate::ledger::{End, Kind, Ledger, Out, ROUNDING};
use crate::vehicle::PartKind;

/// What each part is tied to beside the tree.
///
/// A part is *innocent* when nothing below it can wake, hold, feed or command anything outside: no
/// network, coil, input or output, no module with other feeds, nothing in a diagnostic connector,
/// all loads entered (design, section 3, "What a pull proves"). It is *swayed* when something elsewhere may change what flows there.
#[derive(Clone, Debug)]
pub struct Ties {
    innocent: Vec<bool>,
    swayed: Vec<bool>,
}

impl Ties {
    /// Finds the ties of every part; with `polls`, what hangs in a socket or was added may hold modules awake as well.
    /// Linear in the parts and relations.
    pub fn of(feeds: &Feeds, polls: bool) -> Self {
        let mut innocent = vec![true; feeds.len()];
        let mut swayed = vec![false; feeds.len()];
        let mut commands = vec![false; feeds.len()];
        for part in feeds.parts() {
            if let Some(by) = &feeds.part(part).commanded_by {
                match feeds.find(&by.value) {
                    Some(crate::feeds::Named::Module(module)) => {
                        for feed in feeds.module_feeds(*module) {
                            commands[feed.index()] = true;
                        }
                    }
                    Some(crate::feeds::Named::Part(other)) => commands[other.index()] = true,
                    _ => {}
                }
            }
        }
        let holds: Vec<&str> = feeds.inputs().map(|(name, _)| name).collect();
        for part in feeds.parts() {
            let at = part.index();
            let kind = feeds.part(part).kind;
            let bare = kind != PartKind::Load && kind != PartKind::Coil && feeds.is_leaf(part);
            let module = feeds.module_of(part);
            let tied_module = module.is_some_and(|m| {
                feeds.network_of(m).is_some()
                    || !feeds.module(m).held_by.is_empty()
                    || feeds.module_feeds(m).len() > 1
            });
            let commanded = matches!(kind, PartKind::Coil | PartKind::Output)
                || !feeds.coils_of(part).is_empty();
            innocent[at] = !(bare
                || tied_module
                || feeds.may_call(part)
                || polls && feeds.may_poll(part)
                || commands[at]
                || matches!(kind, PartKind::Coil | PartKind::Output)
                || holds.contains(&feeds.id(part)));
            swayed[at] = bare || tied_module || commanded;
            // What hangs on a commanded contact or output is commanded too.
            if let Some(up) = feeds.up(part)
                && swayed[up.index()]
                && feeds.part(up).kind != PartKind::Load
            {
                swayed[at] = true;
            }
        }
        for part in feeds.parts().rev() {
            if let Some(up) = feeds.up(part) {
                innocent[up.index()] &= innocent[part.index()];
            }
        }
        // A part with anything swayed below it is swayed; found apart so that only what hangs on a
        // commanded part inherits downwards.
        let mut all = swayed.clone();
        for part in feeds.parts().rev() {
            if let Some(up) = feeds.up(part) {
                all[up.index()] |= all[part.index()];
            }
        }
        Self {
            innocent,
            swayed: all,
        }
    }

    /// Taking it out changes nothing elsewhere, so the fall is the current that flowed there.
    pub fn innocent(&self, part: PartId) -> bool {
        self.innocent[part.index()]
    }

    /// Something elsewhere may change what flows there.
    pub fn swayed(&self, part: PartId) -> bool {
        self.swayed[part.index()]
    }
}

/// Whose bounds moved.
enum News {
    /// Those of these parts, in tree order.
    Of(Vec<PartId>),
    /// Those of most.
    OfAll,
}

/// Parts of `more` that are still in with `less` out.
fn beyond(ledger: &Ledger<'_>, more: &Out, less: &Out) -> Vec<PartId> {
    more.parts()
        .filter(|part| !less.cuts(ledger.feeds, *part))
        .collect()
}

impl Ledger<'_> {
    /// Carries bounds between two states; says which of the two moved.
    ///
    /// | what differs | for parts neither above nor below it | for parts above it |
    /// | --- | --- | --- |
    /// | innocent parts, out in one state only | the same current | I in = I out + what was taken out |
    /// | innocent parts, on both sides | the same current | nothing |
    /// | anything else | the same current where nothing elsewhere sways it | nothing |
    pub(super) fn join(&mut self, one: usize, two: usize) -> (bool, bool) {
        let news = self.news(one, two);
        if matches!(&news, News::Of(parts) if parts.is_empty()) {
            return (false, false);
        }
        let only_one = beyond(self, &self.states[one].out, &self.states[two].out);
        let only_two = beyond(self, &self.states[two].out, &self.states[one].out);
        let changed: Vec<_> = only_one.iter().chain(&only_two).copied().collect();
        // An input that is unplugged lets whatever it held awake go to sleep.
        let inputs = |state: usize| &self.states[state].out.inputs;
        let innocent =
            inputs(one) == inputs(two) && changed.iter().all(|part| self.ties.innocent(*part));
        let (mut first, mut second) = self.share(one, two, &changed, innocent, &news);
        if innocent {
            // `within` has less out than `beyond`.
            if only_one.is_empty() && !only_two.is_empty() {
                let (within, beyond) = self.balance(one, two, &only_two);
                first |= within;
                second |= beyond;
            } else if only_two.is_empty() && !only_one.is_empty() {
                let (within, beyond) = self.balance(two, one, &only_one);
                second |= within;
                first |= beyond;
            }
        }
        (first, second)
    }

    /// The parts whose bounds moved in either state since the two were joined last.
    fn news(&mut self, one: usize, two: usize) -> News {
        let mut parts = Vec::new();
        for (from, to) in [(one, two), (two, one)] {
            let state = &mut self.states[from];
            if state.carried.len() <= to {
                state.carried.resize(to + 1, 0);
            }
            let seen = std::mem::replace(&mut state.carried[to], state.moved.len());
            parts.extend_from_slice(&state.moved[seen..]);
        }
        if parts.len() >= self.feeds.len() {
            return News::OfAll;
        }
        parts.sort_unstable();
        parts.dedup();
        News::Of(parts)
    }

    /// Those of them, in tree order, whose bounds differ between the two.
    fn differing(&self, one: usize, two: usize, news: &News) -> Vec<PartId> {
        let (one, two) = (&self.states[one], &self.states[two]);
        // Two infinite ends are the same.
        let apart = |one: f64, two: f64| (one - two).abs() > ROUNDING;
        match news {
            News::Of(parts) => {
                let differs = |part: &PartId| {
                    let at = part.index();
                    apart(one.low[at], two.low[at]) || apart(one.high[at], two.high[at])
                };
                parts.iter().copied().filter(differs).collect()
            }
            News::OfAll => {
                let lows = one.low.iter().zip(&two.low);
                let ends = lows.zip(one.high.iter().zip(&two.high));
                let differ = ends.zip(self.feeds.parts());
                let differ = differ
                    .filter(|((low, high), _)| apart(*low.0, *low.1) || apart(*high.0, *high.1));
                differ.map(|(_, part)| part).collect()
            }
        }
    }

    /// Copies what cannot differ, both ways, for the parts that moved.
    fn share(
        &mut self,
        one: usize,
        two: usize,
        changed: &[PartId],
        innocent: bool,
        news: &News,
    ) -> (bool, bool) {
        let (mut first, mut second) = (false, false);
        // None of what changed is below another, so in tree order its neighbours alone can be on one path.
        let mut changed = changed.to_vec();
        changed.sort_unstable();
        let on_one_path = |feeds: &Feeds, part: PartId| {
            let after = changed.partition_point(|other| *other <= part);
            let above = after.checked_sub(1).map(|before| changed[before]);
            above.is_some_and(|other| feeds.is_below(part, other))
                || changed
                    .get(after)
                    .is_some_and(|other| feeds.is_below(*other, part))
        };
        for part in self.differing(one, two, news) {
            if (!innocent && self.ties.swayed(part)) || on_one_path(self.feeds, part) {
                continue;
            }
            let at = part.index();
            let (low_one, low_two) = (self.states[one].low[at], self.states[two].low[at]);
            let (high_one, high_two) = (self.states[one].high[at], self.states[two].high[at]);
            first |= self.narrow(one, part, End::Low, low_two, Kind::Same(two));
            first |= self.narrow(one, part, End::High, high_two, Kind::Same(two));
            second |= self.narrow(two, part, End::Low, low_one, Kind::Same(one));
            second |= self.narrow(two, part, End::High, high_one, Kind::Same(one));
        }
        (first, second)
    }

    /// I in = I out + Σ I in (taken out), for every part from those taken out up to the battery.
    fn balance(&mut self, within: usize, beyond: usize, taken: &[PartId]) -> (bool, bool) {
        let (mut moved_in, mut moved_out) = (false, false);
        let mut above: Vec<PartId> = taken
            .iter()
            .flat_map(|part| self.feeds.path(*part))
            .filter(|part| !taken.contains(part))
            .collect();
        above.sort_unstable();
        above.dedup();
        for part in above {
            let at = part.index();
            let below: Vec<PartId> = taken
                .iter()
                .copied()
                .filter(|t| self.feeds.is_below(*t, part))
                .collect();
            let bounds = &self.states[within];
            let least: f64 = below.iter().map(|t| bounds.low[t.index()]).sum();
            let most: f64 = below.iter().map(|t| bounds.high[t.index()]).sum();
            let (low_out, high_out) = (self.states[beyond].low[at], self.states[beyond].high[at]);
            let with = Kind::With(beyond);
            moved_in |= self.narrow(within, part, End::Low, low_out + least, with);
            moved_in |= self.narrow(within, part, End::High, high_out + most, with);
            let (low_in, high_in) = (self.states[within].low[at], self.states[within].high[at]);
            let with = Kind::With(within);
            moved_out |= self.narrow(beyond, part, End::Low, low_in - most, with);
            moved_out |= self.narrow(beyond, part, End::High, high_in - least, with);
            moved_out |= self.narrow(beyond, part, End::High, high_in, Kind::NoLess(within));
            for one in below.iter().copied() {
                let bounds = &self.states[within];
                let others = || below.iter().filter(|other| **other != one);
                let others_least: f64 = others().map(|t| bounds.low[t.index()]).sum();
                let others_most: f64 = others().map(|t| bounds.high[t.index()]).sum();
                let fall = Kind::Fall(beyond, part);
                let low = low_in - high_out - others_most;
                moved_in |= self.narrow(within, one, End::Low, low, fall);
                let high = high_in - low_out - others_least;
                moved_in |= self.narrow(within, one, End::High, high.max(0.0), fall);
            }
        }
        (moved_in, moved_out)
    }
}
