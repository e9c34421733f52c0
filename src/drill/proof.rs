//! Whether a play proved what is named, by its own draws, and if not what was missing.
//!
//! **Method.** It alone out, the settled draw falls; back in, it returns. The case names who is proven
//! where that follows from the readings alone; whoever names the part has said which of the things on
//! one connector it is, so here it is enough that nothing else in question fell silent with it.
//!
//! **Cost.** One case reopened for each draw that was read with it out.

use super::Drill;
use super::faults::{answers_to, seats};
use crate::case::{Case, Shown};
use crate::feeds::{Feeds, PartId};
use crate::interval::Interval;
use crate::judgement::Standing;
use crate::measurement::Method;
use crate::quantity::Milliamps;
use crate::simulation::Drain;
use crate::vehicle::PartKind;

/// What is missing from a proof, in the order in which a proof is taken.
#[derive(Clone, Debug, PartialEq)]
pub enum Gap {
    /// It was never taken out.
    NeverOut,
    /// With it out the draw was not read.
    NoDraw,
    /// No draw was read before it was taken out.
    NoDrawBefore,
    /// One of the two draws was read before the vehicle slept.
    Awake,
    /// What the draw may be with it out, in mA, and below what it must be seen to be.
    TooCoarse {
        /// The draw with it out may be as high as this.
        may_be: f64,
        /// It would show a fall below this.
        falls_below: f64,
    },
    /// With it back in the draw was not read, with the vehicle asleep.
    NotBack,
    /// Others that could be it fell silent with it.
    NotAlone(Vec<String>),
    /// With it back in the draw did not return.
    NoReturn,
}

impl Gap {
    /// How far the proof had come.
    pub(super) const fn rank(&self) -> u8 {
        match self {
            Self::NeverOut => 0,
            Self::NoDraw => 1,
            Self::NoDrawBefore => 2,
            Self::Awake => 3,
            Self::TooCoarse { .. } => 4,
            Self::NotBack => 5,
            Self::NotAlone(_) => 6,
            Self::NoReturn => 7,
        }
    }
}

impl Drill<'_> {
    /// For each hidden fault the entry that closed its proof, or what was missing.
    pub(super) fn proofs(&self) -> Vec<Result<u32, Gap>> {
        let hidden = self.exercise.hidden.iter();
        hidden.map(|hidden| self.proof_of(&hidden.drain)).collect()
    }

    fn proof_of(&self, drain: &Drain) -> Result<u32, Gap> {
        let feeds = &self.setting.feeds;
        if let Drain::Input(input) = drain
            && seats(feeds, drain).is_empty()
        {
            return self.input_proven(input);
        }
        let fit = answers_to(feeds, drain);
        let found = self.case.step().found;
        let named = found
            .iter()
            .find(|f| f.returned && fit.contains(&f.subject.id(feeds)));
        let own = match drain {
            // The contact itself comes out with the relay.
            Drain::Contact(relay, _) => vec![*relay],
            _ => seats(feeds, drain),
        };
        match (named, self.shown_alone(&own)) {
            (Some(named), Ok(entry)) => Ok(entry.min(named.draws[2])),
            (Some(named), Err(_)) => Ok(named.draws[2]),
            (None, shown) => shown,
        }
    }

    /// The entry of the draw that closed the proof that these parts, which are one thing, take it.
    pub(super) fn shown_alone(&self, own: &[PartId]) -> Result<u32, Gap> {
        let feeds = &self.setting.feeds;
        let without =
            |shown: &Shown| !own.is_empty() && own.iter().all(|p| shown.out.cuts(feeds, *p));
        let with = |shown: &Shown| own.iter().all(|p| !shown.out.cuts(feeds, *p));
        let shown = self.best_proof(own, &without, &with);
        shown.unwrap_or_else(|| {
            Err(if self.was_out(own) {
                Gap::NoDraw
            } else {
                Gap::NeverOut
            })
        })
    }

    /// The same of an input that is no part of the tree: with its connector out what it holds awake sleeps.
    pub(super) fn input_proven(&self, input: &str) -> Result<u32, Gap> {
        let without = |shown: &Shown| self.input_is_out(input, shown.entry);
        let with = |shown: &Shown| !without(shown);
        let shown = self.best_proof(&[], &without, &with);
        shown.unwrap_or_else(|| {
            Err(if self.input_is_out(input, u32::MAX) {
                Gap::NoDraw
            } else {
                Gap::NeverOut
            })
        })
    }

    /// Of all draws that were read without it the one that comes nearest to a proof; `None` without one.
    fn best_proof(
        &self,
        own: &[PartId],
        without: &dyn Fn(&Shown) -> bool,
        with: &dyn Fn(&Shown) -> bool,
    ) -> Option<Result<u32, Gap>> {
        let draws = self.case.readings().iter();
        let draws: Vec<&Shown> = draws.filter(|r| r.method == Method::Draw).collect();
        let middles = (0..draws.len()).filter(|at| without(draws[*at]));
        let tried = middles.map(|at| self.closed(own, with, &draws, at));
        tried.reduce(nearer)
    }

    /// Whether the draw `at`, read without it, is the middle of a proof, from any draw that was read before.
    fn closed(
        &self,
        own: &[PartId],
        with: &dyn Fn(&Shown) -> bool,
        draws: &[&Shown],
        at: usize,
    ) -> Result<u32, Gap> {
        // An input is no part: with it out all else must be as before.
        let same = |d: &Shown| !own.is_empty() || d.out.parts().eq(draws[at].out.parts());
        let befores = draws[..at].iter().rev().filter(|d| with(d) && same(d));
        let case = self.case_before(draws[at].entry);
        let tried = befores.map(|before| closed_from(&case, before, own, with, &draws[at..]));
        tried.reduce(nearer).unwrap_or(Err(Gap::NoDrawBefore))
    }

    /// The case as it was before an entry.
    fn case_before(&self, entry: u32) -> Case<'_> {
        let texts = self.case.entries().iter().take_while(|e| e.number < entry);
        let texts: Vec<String> = texts.map(|e| e.text.clone()).collect();
        Case::reopen(self.setting, texts).unwrap_or_else(|_| self.case.clone())
    }

    /// Whether all of these lost their feed at some time.
    fn was_out(&self, own: &[PartId]) -> bool {
        let feeds = &self.setting.feeds;
        let all = |case: &Case<'_>| own.iter().all(|p| case.out_now().cuts(feeds, *p));
        let entries = self.case.entries().iter();
        let takes = entries.filter(|e| e.text.starts_with("pull") || e.text.starts_with("unplug"));
        !own.is_empty()
            && takes
                .into_iter()
                .any(|e| all(&self.case_before(e.number + 1)))
    }
}

/// Whether a draw before, the first of these, which was read without it, and a later one are a proof; `case`
/// is as it was before the middle one.
fn closed_from(
    case: &Case<'_>,
    before: &Shown,
    own: &[PartId],
    with: &dyn Fn(&Shown) -> bool,
    draws: &[&Shown],
) -> Result<u32, Gap> {
    let without = draws[0];
    let (Some(high), Some(low)) = (before.current, without.current) else {
        return Err(Gap::NoDraw);
    };
    if !(before.asleep && without.asleep) {
        return Err(Gap::Awake);
    }
    let matters = case.judged().matters();
    if low.high() > high.low() - matters {
        return Err(Gap::TooCoarse {
            may_be: low.high(),
            falls_below: high.low() - matters,
        });
    }
    let back = draws[1..]
        .iter()
        .filter(|d| d.out == before.out && with(d) && d.asleep);
    let back: Vec<(u32, Interval<Milliamps>)> =
        back.filter_map(|d| Some((d.entry, d.current?))).collect();
    if back.is_empty() {
        return Err(Gap::NotBack);
    }
    let others = others(case, own, before, without);
    // What they could take at most leaves too little of the fall for it.
    let fall = high.low() - low.high();
    let others = if fall - others.most < matters {
        others.all
    } else {
        others.silenced
    };
    if !others.is_empty() {
        return Err(Gap::NotAlone(others));
    }
    let returned = back.iter().find(|(_, c)| c.touches(high) && c.above(low));
    returned.map(|(entry, _)| *entry).ok_or(Gap::NoReturn)
}

/// The one of two proofs that came nearer to its end; of equal ones the first.
fn nearer(one: Result<u32, Gap>, other: Result<u32, Gap>) -> Result<u32, Gap> {
    match (&one, &other) {
        (Ok(_), _) => one,
        (Err(a), Err(b)) if a.rank() >= b.rank() => one,
        _ => other,
    }
}

/// What else in question lost its feed between two draws.
struct Others {
    /// By name.
    all: Vec<String>,
    /// Those of them whose module lost every feed: it may have held others awake, whatever it takes itself.
    silenced: Vec<String>,
    /// What the rest could take at most together, in mA.
    most: f64,
}

fn others(case: &Case<'_>, own: &[PartId], before: &Shown, without: &Shown) -> Others {
    let feeds = &case.setting().feeds;
    let judged = case.judged();
    let part_of = |p: PartId| {
        let module = feeds.module_of(p);
        own.iter()
            .any(|o| feeds.is_below(p, *o) || module.is_some() && module == feeds.module_of(*o))
    };
    let takes = |p: &PartId| is_taker(feeds, *p);
    let newly = |p: &PartId| without.out.cuts(feeds, *p) && !before.out.cuts(feeds, *p);
    let open = |p: &PartId| {
        matches!(
            judged.standing(*p),
            Standing::InQuestion | Standing::Carrying
        )
    };
    let parts = feeds.parts().filter(takes).filter(newly);
    let parts = parts.filter(|p| !part_of(*p)).filter(open);
    let is_silenced = |p: &PartId| {
        let module = feeds.module_of(*p);
        module.is_some_and(|m| {
            feeds
                .module_feeds(m)
                .iter()
                .all(|f| without.out.cuts(feeds, *f))
        })
    };
    let parts: Vec<PartId> = parts.collect();
    let most = parts.iter().map(|p| judged.view().current(*p).high());
    let names = |parts: &mut dyn Iterator<Item = &PartId>| {
        parts
            .map(|p| feeds.id(*p).to_owned())
            .collect::<Vec<String>>()
    };
    Others {
        all: names(&mut parts.iter()),
        silenced: names(&mut parts.iter().filter(|p| is_silenced(p))),
        most: most.sum(),
    }
}

fn is_taker(feeds: &Feeds, part: PartId) -> bool {
    matches!(feeds.part(part).kind, PartKind::Load | PartKind::Coil)
}
