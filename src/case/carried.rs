//! What came of taking things out, carried over to another state: to what is left once a drain is proven, and from
//! draws with more out.

use super::facts::Pulled;
use super::fold::Now;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::quantity::Milliamps;

impl Now<'_> {
    /// What was out with the drain that is proven now, and more, is what came of the rest with that drain
    /// out.
    pub(super) fn carry_pulls_over(&mut self) {
        let feeds = &self.setting.feeds;
        let base = self.base();
        let known = self.total(&base).zip(self.draw_with(&base));
        let known = known.or_else(|| {
            let less = self.less_what_is_proven()?;
            Some((less, self.draw_with(&Out::default())?))
        });
        let Some((before, first)) = known.map(|(total, draw)| (total, draw.entry)) else {
            return;
        };
        let judged = Judgement::new(feeds, &self.setting.healthy, self.view(&base), before);
        let matters = judged.matters();
        let mut carried = Vec::new();
        for pulled in &self.pulls {
            let all = pulled.base.parts().chain(pulled.parts.iter().copied());
            let out = Out::of(feeds, all);
            let mut parts = pulled.parts.clone();
            parts.retain(|part| !base.cuts(feeds, *part));
            if let Some(same) = self.falls_alike(pulled, &base, before, matters) {
                carried.push(same);
                continue;
            }
            let covers = base.parts().all(|part| out.cuts(feeds, part))
                && base.has_no_more_inputs(&pulled.base);
            if pulled.base == base || parts.is_empty() || !covers {
                continue;
            }
            let both = (before, pulled.without);
            let taken = pulled.taken.iter().filter(|t| !t.is_out_in(feeds, &base));
            carried.push(Pulled {
                taken: taken.cloned().collect(),
                draws: [first, pulled.draws[1]],
                ..self.pulled((base.clone(), &out), parts, both, matters)
            });
        }
        self.pulls.extend(carried);
    }

    /// What came out apart from the drain that is proven now, and holds, feeds or commands nothing else: as much falls
    /// with it whether that drain is in or out.
    fn falls_alike(
        &self,
        pulled: &Pulled,
        base: &Out,
        before: Interval<Milliamps>,
        matters: f64,
    ) -> Option<Pulled> {
        let feeds = &self.setting.feeds;
        let fewer = pulled.base.parts().all(|part| base.cuts(feeds, part));
        let plain = |part: &PartId| self.falls_alone(*part);
        let same = pulled.base != *base
            && fewer
            && pulled.fell.low() >= matters
            && !pulled.parts.is_empty()
            && self.apart(&pulled.parts, base)
            && pulled.parts.iter().all(plain);
        same.then(|| self.pulled_at(pulled, base, before, matters))
    }

    /// The same fall, with this out and so much flowing before.
    pub(super) fn pulled_at(
        &self,
        pulled: &Pulled,
        base: &Out,
        before: Interval<Milliamps>,
        matters: f64,
    ) -> Pulled {
        let without = before.minus(pulled.fell);
        let left = self.ledger.current(base, PartId(0));
        Pulled {
            base: base.clone(),
            most_left: left.minus(pulled.fell).high().max(0.0),
            with: before,
            without: Interval::between(without.low().max(0.0), without.high().max(0.0)),
            matters,
            vain: false,
            ..pulled.clone()
        }
    }

    /// Whether none of these is on the way to what is out there, nor behind it.
    pub(super) fn apart(&self, parts: &[PartId], out: &Out) -> bool {
        let feeds = &self.setting.feeds;
        let near = |a: PartId, b: PartId| feeds.is_below(a, b) || feeds.is_below(b, a);
        let mut parts = parts.iter();
        parts.all(|part| out.parts().all(|out| !near(out, *part)))
    }

    /// Whether what falls with a part out is what flowed there, whatever else is out.
    pub(super) fn falls_alone(&self, part: PartId) -> bool {
        let ties = self.ties();
        ties.innocent(part) && !ties.swayed(part)
    }

    /// Whether a part feeds nothing of a network, and nothing that commands, so that it can at most keep others awake
    /// from where it hangs: where nothing fell without it, it does not.
    pub(super) fn only_polls(&self, part: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let mut loads = feeds
            .subtree(part)
            .map(PartId)
            .filter(|p| feeds.is_leaf(*p));
        let plain = |load: PartId| feeds.may_poll(load) || self.falls_alone(load);
        !self.ties().swayed(part) && !feeds.networked(part) && loads.all(plain)
    }
}
