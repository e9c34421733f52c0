//! What holds others awake: what it raises, and how well that fits what was read.

use super::{Cause, Class, Subject, Suspect};
use crate::feeds::{Feeds, ModuleId, PartId};
use crate::judgement::Judgement;
use crate::vehicle::Rest;
use std::collections::BTreeMap;

/// What a module takes more awake than asleep, in mA, below which it says nothing of a holder
/// (judgement).
const WORTH_TELLING: f64 = 10.0;

/// Factor on a holder for each module that takes not what it would if it were kept awake.
const UNLIKE_AWAKE: f64 = 0.05;

/// What a module's feed takes more when awake than asleep: the feed's own `awake`, else its equal
/// share of the module's where it is the only feed, else not known.
fn raised(feeds: &Feeds, module: ModuleId, feed: PartId) -> Option<f64> {
    let awake = feeds.part(feed).awake.or_else(|| {
        (feeds.module_feeds(module).len() == 1)
            .then(|| feeds.module(module).awake)
            .flatten()
    })?;
    Some((awake.value() - feeds.usual(feed).0.value()).max(0.0))
}

/// Something that a holder keeps awake, with what that takes more than asleep, in mA.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kept {
    what: What,
    raised: f64,
}

/// A feed, or the feeds of a module of which the file gives the whole only.
#[derive(Clone, Copy, Debug, PartialEq)]
enum What {
    Feed(PartId),
    Module(ModuleId),
}

impl Kept {
    fn feeds<'a>(&'a self, feeds: &'a Feeds) -> &'a [PartId] {
        match &self.what {
            What::Feed(feed) => std::slice::from_ref(feed),
            What::Module(module) => feeds.module_feeds(*module),
        }
    }
}

/// What a holder keeps awake, as far as the file says what that takes, the least first. The holder itself may
/// take little.
fn kept_awake(subject: &Subject, raises: &[(PartId, Option<f64>)], feeds: &Feeds) -> Vec<Kept> {
    let mut kept = Vec::new();
    let mut whole = None;
    for (feed, raised) in raises {
        let module = feeds.module_of(*feed);
        if module.is_some_and(|module| *subject == Subject::Module(module)) {
            continue;
        }
        // A feed behind a contact that rests open has no current to be kept awake by.
        let mut up = std::iter::successors(Some(*feed), |part| feeds.up(*part));
        if up.any(|part| feeds.part(part).rest == Some(Rest::Open)) {
            continue;
        }
        if let Some(raised) = *raised {
            let what = What::Feed(*feed);
            kept.push(Kept { what, raised });
        } else if let Some(module) = module.filter(|module| whole.replace(*module) != Some(*module))
        {
            let all = feeds.module_feeds(module);
            let known = all.iter().all(|feed| feeds.part(*feed).awake.is_none());
            let usual: f64 = all.iter().map(|feed| feeds.usual(*feed).0.value()).sum();
            if let Some(awake) = feeds.module(module).awake.filter(|_| known) {
                kept.push(Kept {
                    what: What::Module(module),
                    raised: awake.value() - usual,
                });
            }
        }
    }
    kept.retain(|kept| kept.raised > WORTH_TELLING);
    kept.sort_by(|a, b| a.raised.total_cmp(&b.raised));
    kept
}

/// Something that keeps modules awake.
pub(super) fn holder(feeds: &Feeds, subject: Subject, kept: &[ModuleId]) -> (Class, f64, Suspect) {
    let raises: Vec<_> = kept
        .iter()
        .flat_map(|module| {
            let feeds_of = feeds.module_feeds(*module).iter();
            feeds_of.map(|feed| (*feed, raised(feeds, *module, *feed)))
        })
        .collect();
    let keeps = kept_awake(&subject, &raises, feeds);
    let suspect = Suspect {
        cause: Cause::HoldsAwake,
        keeps,
        subject,
        raises,
        prior: 0.0,
        class: Class::HeldAwake,
    };
    (Class::HeldAwake, 1.0, suspect)
}

/// What these feeds may take together, in mA.
fn may_take(kept: &[PartId], judged: &Judgement<'_>) -> f64 {
    kept.iter().map(|feed| judged.own_hides(*feed)).sum()
}

/// Where a drain is proven, and the least excess of each module's feed, in mA.
#[derive(Clone, Debug)]
pub struct Carried {
    /// The branch with a proven excess that is searched; `None` where there is none.
    pub branch: Option<PartId>,
    /// By feed.
    pub excess: BTreeMap<PartId, f64>,
}

/// What the modules that a holder raises take awake by the file, of those with a feed among `these`, in
/// mA, its own module included; `None` where the file does not say it of each.
pub fn raised_among(
    holder: &Suspect,
    feeds: &Feeds,
    these: impl Fn(PartId) -> bool,
) -> Option<f64> {
    // The feeds of one module stand together.
    let mut last = None;
    let mut sum = 0.0;
    for (feed, raised) in holder.raises.iter().filter(|(feed, _)| these(*feed)) {
        match (raised, feeds.module_of(*feed)) {
            (Some(raised), _) => sum += raised,
            (None, Some(module)) if last.replace(module) == Some(module) => {}
            (None, Some(module)) => sum += feeds.module(module).awake?.value(),
            (None, None) => return None,
        }
    }
    Some(sum)
}

/// What the bounds say of something that may be kept awake, whoever does it.
#[derive(Clone, Copy, Debug)]
enum Taking {
    /// It may take less than half of what it takes awake.
    TooLittle,
    /// It may take it: whether it takes at least half of it for sure.
    Enough { surely: bool },
}

/// How well what holders keep awake fits the bounds. Many keep the same awake, so what the bounds say of each is
/// worked out once.
#[derive(Debug)]
pub struct Fitting<'j, 'f> {
    judged: &'j Judgement<'f>,
    carried: Carried,
    /// By the first feed of what is kept awake (a feed counts by itself or with its whole module, whoever the
    /// holder is): what it takes, whether it is fed below the branch that is searched, and whether it must take
    /// more than twice as much.
    known: Vec<Option<(Taking, bool, bool)>>,
}

impl<'j, 'f> Fitting<'j, 'f> {
    /// By what is judged, and proven to flow.
    pub fn new(judged: &'j Judgement<'f>, carried: Carried) -> Self {
        Self {
            judged,
            carried,
            known: vec![None; judged.feeds().len()],
        }
    }

    pub(super) const fn judged(&self) -> &'j Judgement<'f> {
        self.judged
    }

    fn of_one(&mut self, one: &Kept) -> (Taking, bool, bool) {
        let (judged, carried) = (self.judged, &self.carried);
        let feeds = judged.feeds();
        let (kept, raised) = (one.feeds(feeds), one.raised);
        let first = kept.first().map_or(0, |feed| feed.index());
        *self.known[first].get_or_insert_with(|| {
            let least = |feed: &PartId| judged.view().current(*feed).low();
            let taking = if may_take(kept, judged) < 0.5 * raised {
                Taking::TooLittle
            } else {
                let surely = kept.iter().map(least).sum::<f64>() > 0.5 * raised;
                Taking::Enough { surely }
            };
            let below = |top| kept.iter().any(|feed| feeds.is_below(*feed, top));
            let excess = kept.iter().filter_map(|feed| carried.excess.get(feed));
            let more = excess.sum::<f64>() > 2.0 * raised;
            (taking, carried.branch.is_some_and(below), more)
        })
    }

    /// A module that may take less than half of what it takes awake, or must take more than twice as much,
    /// speaks against its holder; one that takes at least half of it speaks for it; where all of them together
    /// take less than half of what is needed, or of what flows in the branch, another drain is needed beside it
    /// (judgement). What is left has to flow beside the branch: for each module that must be asleep for that, the
    /// largest taken first, it fits less.
    pub(super) fn of(&mut self, holder: &Suspect) -> f64 {
        let judged = self.judged;
        let view = judged.view();
        let mut fit = 1.0;
        let feeds = judged.feeds();
        let branch = self.carried.branch;
        let excess = branch.map(|top| (top, judged.excess(top).low()));
        for (top, excess) in excess.into_iter().chain([(PartId(0), judged.needed())]) {
            let most = raised_among(holder, feeds, |feed| feeds.is_below(feed, top));
            if most.is_some_and(|most| 2.0 * most < excess) {
                fit *= UNLIKE_AWAKE;
            }
        }
        let mut beside = Vec::with_capacity(holder.keeps.len());
        for one in &holder.keeps {
            let (taking, below, more) = self.of_one(one);
            match taking {
                Taking::TooLittle => fit *= UNLIKE_AWAKE,
                Taking::Enough { surely } => {
                    if surely {
                        fit *= 4.0;
                    }
                    if !below {
                        beside.push(one.raised);
                    }
                }
            }
            if more {
                fit *= UNLIKE_AWAKE;
            }
        }
        let inside = branch.map_or(0.0, |top| view.current(top).low());
        let room = view.current(PartId(0)).high() - inside;
        // The largest is the last.
        let mut sum: f64 = beside.iter().sum();
        while 0.5 * sum > room
            && let Some(largest) = beside.pop()
        {
            sum -= largest;
            fit *= UNLIKE_AWAKE;
        }
        fit
    }
}
