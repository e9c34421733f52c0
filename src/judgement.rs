//! What the bounds mean for each part: how much it could still hide, and which of the five states it is in.
//!
//! **Model.** Design, section 3. For a subtree S the healthy draw lies between A⁻ (Σ `least`) and A⁺
//! (the smaller of Σ `at_most` and the vehicle's limit); its excess lies in [I⁻ − A⁺, I⁺ − A⁻], cut at
//! 0, and the upper end is what it can hide.
//!
//! **Cost.** Two backward loops over the parts once; constant time a question after that.

use crate::feeds::{Feeds, ModuleId, PartId};
use crate::interval::Interval;
use crate::ledger::View;
use crate::quantity::Milliamps;

/// The smallest excess that is ever looked for, in mA (design, section 3).
pub const LEAST_SOUGHT: f64 = 5.0;
/// What is searched from where no limit is known, in mA: the general figure of 12 V vehicles (common practice). It
/// orders the search of a 24 V vehicle; nothing is judged to be in order by it.
const SEARCHED_FROM: f64 = 50.0;
/// Usual values that are only defaults count for at most this share of the limit.
const TRUSTED_DEFAULTS: f64 = 0.6;

/// The five states of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// It hides less than matters: neither enough alone nor today's single cause.
    RuledOut,
    /// It hides less than a single cause of today's draw takes, but more than matters.
    TooSmall,
    /// Nothing is known yet, or not enough.
    InQuestion,
    /// An excess that matters is proven.
    Carrying,
    /// No current can pass.
    Dead,
}

impl Standing {
    /// The word in the data.
    pub const fn word(self) -> &'static str {
        match self {
            Self::RuledOut => "ruled_out",
            Self::TooSmall => "too_small",
            Self::InQuestion => "in_question",
            Self::Carrying => "carrying",
            Self::Dead => "dead",
        }
    }
}

/// Healthy draws summed over every subtree, in mA.
#[derive(Clone, Debug)]
pub struct Healthy {
    at_most: Vec<f64>,
    least: Vec<f64>,
    enough_alone: f64,
    usual: f64,
    limit: f64,
    knows_limit: bool,
}

impl Healthy {
    /// Sums the file's values and defaults. Without a limit it is searched from the general figure.
    pub fn of(feeds: &Feeds) -> Self {
        let mut at_most: Vec<f64> = feeds.parts().map(|p| feeds.at_most(p).value()).collect();
        let mut least: Vec<f64> = feeds.parts().map(|p| feeds.least(p).value()).collect();
        for part in feeds.parts().rev() {
            if let Some(up) = feeds.up(part) {
                at_most[up.index()] += at_most[part.index()];
                least[up.index()] += least[part.index()];
            }
        }
        let knows_limit = feeds.limit().is_some();
        let limit = feeds.limit().map_or(SEARCHED_FROM, Milliamps::value);
        let (mut known, mut assumed) = (0.0, 0.0);
        for part in feeds.parts() {
            match feeds.usual(part) {
                (usual, false) => known += usual.value(),
                (usual, true) => assumed += usual.value(),
            }
        }
        let usual = known + f64::min(assumed, TRUSTED_DEFAULTS * limit);
        Self {
            at_most,
            least,
            enough_alone: (limit - usual).max(0.0),
            usual,
            limit,
            knows_limit,
        }
    }

    /// What one part must take to keep the vehicle over its limit.
    pub fn enough_alone(&self) -> f64 {
        self.enough_alone
    }

    /// What the whole vehicle usually takes asleep, in mA: values that are only defaults count for at
    /// most 0.6 of the limit.
    pub fn usual(&self) -> f64 {
        self.usual
    }

    /// The limit in mA; where none is known what is searched from.
    pub fn limit(&self) -> f64 {
        self.limit
    }

    /// Whether a limit is known, so that a draw can be called in order.
    pub fn knows_limit(&self) -> bool {
        self.knows_limit
    }

    /// What a healthy subtree takes: A⁻ to A⁺.
    pub fn draw(&self, part: PartId) -> Interval<Milliamps> {
        let least = self.least[part.index()];
        Interval::between(least, self.at_most[part.index()].min(self.limit).max(least))
    }
}

/// The bounds of one state of the vehicle, judged against a settled draw.
#[derive(Clone, Debug)]
pub struct Judgement<'f> {
    feeds: &'f Feeds,
    healthy: &'f Healthy,
    view: View,
    needed: f64,
    matters: f64,
}

impl<'f> Judgement<'f> {
    /// With the currents of a state and the settled draw of that state.
    pub fn new(
        feeds: &'f Feeds,
        healthy: &'f Healthy,
        view: View,
        draw: Interval<Milliamps>,
    ) -> Self {
        let needed = (draw.low() - healthy.limit).max(0.0);
        let matters = needed.min(healthy.enough_alone).max(LEAST_SOUGHT);
        Self {
            feeds,
            healthy,
            view,
            needed,
            matters,
        }
    }

    /// The tree that is judged.
    pub fn feeds(&self) -> &'f Feeds {
        self.feeds
    }

    /// What a single cause of today's draw must take at least, in mA.
    pub fn needed(&self) -> f64 {
        self.needed
    }

    /// The excess from which on a part matters (θ), in mA.
    pub fn matters(&self) -> f64 {
        self.matters
    }

    /// The currents judged.
    pub fn view(&self) -> &View {
        &self.view
    }

    /// Excess of a part with all below it.
    pub fn excess(&self, part: PartId) -> Interval<Milliamps> {
        self.view
            .current(part)
            .minus(self.healthy.draw(part))
            .cut_at_zero()
    }

    /// What a part with all below it could still hide, in mA.
    pub fn hides(&self, part: PartId) -> f64 {
        self.excess(part).high()
    }

    /// What the part itself could hide, beside what it feeds, in mA.
    pub fn own_hides(&self, part: PartId) -> f64 {
        (self.view.own(part).high() - self.feeds.least(part).value()).max(0.0)
    }

    /// What parts could hide together: their sum, at most what the nearest part above all could.
    pub fn hide_together(&self, parts: &[PartId]) -> f64 {
        let sum: f64 = parts.iter().map(|p| self.own_hides(*p)).sum();
        self.common(parts)
            .map_or(sum, |common| sum.min(self.hides(common)))
    }

    /// What a module could hide over all its feeds.
    pub fn module_hides(&self, module: ModuleId) -> f64 {
        self.hide_together(self.feeds.module_feeds(module))
    }

    /// The nearest part that several are below, or that they are.
    pub fn common(&self, parts: &[PartId]) -> Option<PartId> {
        let (first, rest) = parts.split_first()?;
        self.feeds
            .path(*first)
            .into_iter()
            .rev()
            .find(|above| rest.iter().all(|p| self.feeds.is_below(*p, *above)))
    }

    /// The state of parts as one (a module's feeds, what is in a plug): carrying where one of them is,
    /// dead where all are, else by what they could hide together.
    pub fn standing_together(&self, parts: &[PartId]) -> Standing {
        if parts.iter().all(|p| self.view.current(*p).high() <= 0.0) {
            return Standing::Dead;
        }
        let carrying = |p: &PartId| self.excess(*p).low() >= self.matters;
        if parts.iter().any(carrying) {
            return Standing::Carrying;
        }
        self.standing_of(self.hide_together(parts))
    }

    /// Which state an amount that could be hidden stands for.
    pub fn standing_of(&self, hides: f64) -> Standing {
        if hides < self.matters {
            Standing::RuledOut
        } else if hides < self.needed {
            Standing::TooSmall
        } else {
            Standing::InQuestion
        }
    }

    /// The state of a part. A feed of a module is not ruled out before the whole module is.
    pub fn standing(&self, part: PartId) -> Standing {
        if self.view.current(part).high() <= 0.0 {
            return Standing::Dead;
        }
        if self.excess(part).low() >= self.matters {
            return Standing::Carrying;
        }
        let alone = self.hides(part);
        let hides = match self.feeds.module_of(part) {
            Some(module) => alone.max(self.module_hides(module)),
            None => alone,
        };
        self.standing_of(hides)
    }
}
