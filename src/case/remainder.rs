//! What is left of the draw with everything out that was proven, and which loads a proof does not tell apart.

use super::Case;
use super::facts::{Found, Pulled};
use super::next::Located;
use crate::feeds::{Named, PartId};
use crate::interval::Interval;
use crate::journal::Seen;
use crate::judgement::LEAST_SOUGHT;
use crate::quantity::Milliamps;
use crate::suspects::Subject;
use crate::vehicle::PartKind;

/// Whether something is left that should not flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Left {
    /// No more than is usual asleep, to what is ever looked for.
    Nothing,
    /// Within the limit, and at least so much above what is usual, in mA.
    MoreThanUsual(f64),
    /// At least so much over the limit, in mA.
    Over(f64),
    /// It may be over the limit or not.
    MayBeOver,
    /// No limit is known.
    NoLimit,
}

/// The settled draw that is left.
#[derive(Clone, Debug, PartialEq)]
pub struct Remainder {
    /// The entry it was read in.
    pub entry: u32,
    /// What was proven and is out, as it was named.
    pub out: Vec<String>,
    /// What flows.
    pub current: Interval<Milliamps>,
    /// What usually flows asleep with that out, in mA.
    pub usual: f64,
    /// Some of that is a default and not in the vehicle file.
    pub assumed: bool,
    /// What is left.
    pub left: Left,
}

/// Several that come out with one plug only, so that no proof tells them apart.
#[derive(Clone, Debug, PartialEq)]
pub struct OnePlug {
    /// Its name.
    pub plug: String,
    /// Who hangs on it, by id.
    pub ids: Vec<String>,
    /// What fell with it out, where it was tried and something did.
    pub fell: Option<Interval<Milliamps>>,
}

impl Case<'_> {
    /// Those of what was located that come out with one and the same plug only.
    pub fn on_one_plug(&self, located: &[Located]) -> Vec<OnePlug> {
        let now = &self.now;
        let mut plugs: Vec<OnePlug> = Vec::new();
        for one in located {
            let Some(name) = one.unplug.first() else {
                continue;
            };
            match plugs.iter_mut().find(|plug| plug.plug == *name) {
                Some(plug) => plug.ids.push(one.id.clone()),
                None => plugs.push(OnePlug {
                    plug: name.clone(),
                    ids: vec![one.id.clone()],
                    fell: None,
                }),
            }
        }
        plugs.retain(|plug| plug.ids.len() > 1);
        for plug in &mut plugs {
            let Some(Named::Plug(parts)) = now.setting.feeds.find(&plug.plug) else {
                continue;
            };
            let out =
                |pulled: &&Pulled| pulled.parts == *parts && pulled.fell.low() >= pulled.matters;
            plug.fell = now
                .pulls_here()
                .filter(out)
                .last()
                .map(|pulled| pulled.fell);
        }
        plugs
    }

    /// What the latest settled draw leaves; `None` before there is one.
    pub fn remainder(&self) -> Option<Remainder> {
        let now = &self.now;
        let base = now.base();
        let draw = self.settled_draw()?;
        let current = if now.away.as_ref() == Some(draw) {
            draw.current
        } else {
            now.total(&base)?
        };
        let feeds = &now.setting.feeds;
        let limit = now.setting.limit();
        let cut: f64 = feeds
            .parts()
            .filter(|part| base.cuts(feeds, *part))
            .map(|part| feeds.usual(part).0.value())
            .sum();
        let usual = (now.setting.healthy.usual() - cut).max(0.0);
        let is_default = |part: PartId| {
            let (usual, assumed) = feeds.usual(part);
            assumed && usual.value() > 0.0 && !base.cuts(feeds, part)
        };
        let proven = now.found.iter().filter(|found| found.returned);
        let out = proven.flat_map(|found| found.taken.iter().map(|taken| taken.name.clone()));
        let above = current.low() - usual;
        let left = if !limit.is_finite() {
            Left::NoLimit
        } else if current.low() > limit {
            Left::Over(current.low() - limit)
        } else if current.high() > limit {
            Left::MayBeOver
        } else if above >= LEAST_SOUGHT {
            Left::MoreThanUsual(above)
        } else {
            Left::Nothing
        };
        Some(Remainder {
            entry: draw.entry,
            out: out.collect(),
            current,
            usual,
            assumed: feeds.parts().any(is_default),
            left,
        })
    }

    /// The fewest parts that were out by themselves, what was proven among them, when about as much fell as
    /// for its proof; `None` where that was never tried with less than for the proof.
    pub fn fell_nearer(&self, found: &Found) -> Option<Vec<PartId>> {
        let now = &self.now;
        let Subject::Part(seat) = found.subject else {
            return None;
        };
        let feeds = &now.setting.feeds;
        let size = |parts: &[PartId]| -> usize {
            let sizes = parts.iter().map(|part| feeds.subtree(*part).len());
            sizes.sum()
        };
        let taken = found
            .taken
            .iter()
            .flat_map(|taken| taken.parts.iter().copied());
        let all: Vec<PartId> = taken.collect();
        let tried = now.pulls.iter().filter(|pulled| {
            now.setting.takes_out(&pulled.parts, seat)
                && pulled.fell.low() >= pulled.matters
                && pulled.fell.touches(found.fell)
                && size(&pulled.parts) < size(&all)
        });
        let nearest = tried.min_by_key(|pulled| size(&pulled.parts));
        nearest.map(|pulled| pulled.parts.clone())
    }

    /// Loads that came out with what was proven and that nothing tells apart from it: they could take what
    /// matters by what was read, and were not seen dark or cold. In tree order.
    pub fn not_told_apart(&self, found: &Found) -> Vec<PartId> {
        self.out_with_it(found, false)
    }

    /// Loads that came out with what was proven and that only a look speaks against: dark is not without current. In
    /// tree order.
    pub fn only_seen_dark(&self, found: &Found) -> Vec<PartId> {
        self.out_with_it(found, true)
    }

    fn out_with_it(&self, found: &Found, seen_dark: bool) -> Vec<PartId> {
        let now = &self.now;
        let feeds = &now.setting.feeds;
        if !now.found.contains(found) {
            // What is read after a repair says nothing of it.
            let before = self.before_repair();
            return before.map_or_else(Vec::new, |before| before.out_with_it(found, seen_dark));
        }
        let Subject::Part(seat) = found.subject else {
            return Vec::new();
        };
        // With less of it out as much fell: then it is behind that.
        let nearer = self.fell_nearer(found);
        let behind = |part: PartId| {
            let nearer = nearer.as_ref();
            nearer.is_none_or(|parts| now.setting.takes_out(parts, part))
        };
        let judged = now.judged_in();
        let module = feeds.module_of(seat);
        let dark = |part: PartId| {
            let mut looks = now.looks.iter();
            looks.any(|(at, seen)| *at == part && *seen == Seen::No)
        };
        let taken = found.taken.iter().flat_map(|taken| taken.parts.iter());
        let is_out = |contact| {
            let mut taken = found.taken.iter().flat_map(|taken| &taken.parts);
            taken.any(|part| *part == contact)
        };
        let mut others: Vec<PartId> = taken
            .flat_map(|part| feeds.subtree(*part).map(PartId))
            .filter(|part| feeds.part(*part).kind == PartKind::Load)
            .filter(|part| !feeds.is_below(*part, seat) && !feeds.is_below(seat, *part))
            .filter(|part| module.is_none() || feeds.module_of(*part) != module)
            .filter(|part| behind(*part))
            // What a contact that came out lets draw does as it is told.
            .filter(|part| !feeds.open_above(*part).is_some_and(is_out))
            .filter(|part| judged.hides(*part) >= judged.matters() && dark(*part) == seen_dark)
            .collect();
        others.sort_unstable();
        others.dedup();
        others
    }
}
