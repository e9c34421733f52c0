//! With what a current is read at the vehicle now: how the total is taken, what a display shows, what may
//! be let in.

use super::Setting;
use super::fold::Now;
use super::taking_out::TakeOut;
use crate::feeds::{Named, PartId, PlaceId};
use crate::instruments::{Instruments, Range};
use crate::interval::Interval;
use crate::measurement::{self, InLine, Jack, Method, Way};
use crate::quantity::Milliamps;
use crate::vehicle::PartKind;

impl Setting {
    /// How the total is taken when the draw is somewhere in this interval: a clamp where there is one,
    /// else in series, and never the mA jack before the current is known to suit it.
    pub(crate) fn way_of_draw(
        &self,
        expected: Option<Interval<Milliamps>>,
        fine: bool,
    ) -> Option<Way> {
        let meter = self.instruments.meter;
        let small = meter.and_then(|m| m.milliamps);
        let fits = |most: Option<Milliamps>| {
            expected.is_some_and(|e| most.is_some_and(|most| e.high() < most.value()))
        };
        if fine && small.is_some_and(|s| fits(s.most)) {
            return Some(Way::Series(Jack::MilliA));
        }
        if self.instruments.clamp.is_some() {
            return Some(Way::Clamp { turns: 1 });
        }
        if meter.is_some_and(|m| m.amps.is_some()) {
            return Some(Way::Series(Jack::A));
        }
        small
            .is_some_and(|s| fits(s.most))
            .then_some(Way::Series(Jack::MilliA))
    }

    /// Whether the jaws close round what has to be clamped: a wire of known size must be no thicker
    /// than the opening.
    pub(crate) fn jaws_close(&self, part: PartId) -> bool {
        let Some(jaw) = self.instruments.clamp.and_then(|c| c.jaw) else {
            return true;
        };
        match self.thickness(part) {
            Some(outer) => outer <= jaw.value(),
            None => self.feeds.part(part).kind != PartKind::Battery,
        }
    }

    /// How thick a part's own wire is with its insulation, in mm: about 1.6 times the copper (judgement);
    /// `None` where its size is not known.
    pub(crate) fn thickness(&self, part: PartId) -> Option<f64> {
        let area = match self.feeds.part(part).wire?.size {
            crate::vehicle::WireSize::Area(area) => area.value(),
            crate::vehicle::WireSize::Gauge(gauge) => crate::reference::gauge_area(gauge),
        };
        Some(1.6 * 2.0 * (area / std::f64::consts::PI).sqrt())
    }
}

impl Now<'_> {
    /// What the display of a test shows for any current in an interval; a clamp goes round the wire as it
    /// is where no other way is given.
    pub(super) fn shown(
        &self,
        method: Method,
        way: Option<Way>,
        part: PartId,
        current: Interval<Milliamps>,
    ) -> Option<(f64, f64)> {
        let instruments = &self.setting.instruments;
        match method {
            Method::Drop => {
                let feeds = &self.setting.feeds;
                let across = measurement::resistance_at(feeds, part, self.temperature)?;
                let shown = measurement::drop_shown(&across, current, instruments)?;
                Some((shown.low(), shown.high()))
            }
            Method::Clamp | Method::Series => {
                let way = way.unwrap_or(Way::Clamp { turns: 1 });
                let supply = self.setting.feeds.volts_at(part);
                let current = InLine::of(way, supply, instruments).with(current);
                let shown = measurement::current_shown(way, current, instruments)?;
                Some((shown.low(), shown.high()))
            }
            _ => None,
        }
    }

    /// What may be let in in the place of a fuse to read its current, the least harmful first: a loop
    /// lead for the clamp, else the meter, on its A jack before its mA jack. None takes more than it is
    /// made for, whatever the fuse may carry by what was read; what shares its holder stays in.
    pub(super) fn ways_in(&self, part: PartId, most: Milliamps) -> Vec<Way> {
        let setting = self.setting;
        let alone = setting.feeds.holder_mates(part).len() <= 1;
        let fuse = setting.feeds.part(part).kind == PartKind::Fuse;
        if !fuse || !alone || !setting.offers(part, Method::Series) {
            return Vec::new();
        }
        let most = self.with_what_comes(Some(Interval::between(0.0, most.value())));
        let most = most.map_or(Milliamps::ZERO, |most| Milliamps::of(most.high()));
        let takes = |limit: Option<Milliamps>, turns: f64| {
            limit.is_none_or(|limit| most.value() * turns < limit.value())
        };
        let Instruments {
            meter,
            clamp,
            turns,
            ..
        } = setting.instruments;
        // One turn is worth its place only where there is no wire to clamp.
        let wire = setting.offers(part, Method::Clamp);
        let turns = turns.filter(|turns| *turns > 1 || !wire);
        let looped = clamp.zip(turns).and_then(|(clamp, turns)| {
            let fits = takes(clamp.range.most, f64::from(turns));
            fits.then_some(Way::Clamp { turns })
        });
        let on = |range: Option<Range<Milliamps>>, jack: Jack| {
            let fits = range.is_some_and(|range| takes(range.most, 1.0));
            fits.then_some(Way::Series(jack))
        };
        let large = meter.and_then(|meter| on(meter.amps, Jack::A));
        // Never the mA jack before the current is known to suit it.
        let small = meter.and_then(|meter| on(meter.milliamps, Jack::MilliA));
        looped.into_iter().chain(large).chain(small).collect()
    }

    /// Whether a test at a point was taken in this spell, or cannot be taken.
    pub(super) fn is_done(&self, method: Method, part: PartId) -> bool {
        let id = self.setting.feeds.id(part);
        let taken = || self.taken.contains(&(method, id.to_owned()));
        (!self.taken.is_empty() && taken()) || self.is_skipped(method, id)
    }

    pub(super) fn is_skipped(&self, method: Method, name: &str) -> bool {
        let skipped = || self.skipped.contains(&(method, name.to_owned()));
        // The draw is read at the battery, wherever that is.
        let place = || match self
            .setting
            .feeds
            .find(name)
            .filter(|_| method != Method::Draw)?
        {
            Named::Part(part) => self.setting.feeds.place(*part),
            Named::Plug(parts) => self.setting.feeds.place(*parts.first()?),
            _ => None,
        };
        let reached = || self.out_of_reach.is_empty() || self.is_in_reach(place());
        (!self.skipped.is_empty() && skipped()) || !reached()
    }

    /// Whether taking something out is.
    pub(super) fn is_way_skipped(&self, way: &TakeOut) -> bool {
        if !self.is_in_reach(way.place) {
            return true;
        }
        !self.skipped.is_empty() && self.is_skipped(way.method(), &self.name(&way.point))
    }

    /// Whether a place, and the way to it, was not said to be out of reach.
    pub(super) fn is_in_reach(&self, place: Option<PlaceId>) -> bool {
        let way = || place.map(|place| self.setting.feeds.way(place));
        let out = |place: &PlaceId| self.out_of_reach.contains(place);
        self.out_of_reach.is_empty() || !way().unwrap_or_default().iter().any(out)
    }
}
