//! Readings that cannot be: more than the jack takes, or than could flow there. A slip of the unit is behind
//! most of them, so they are asked about and do not count.

use super::facts::Question;
use super::fold::Now;
use super::readings::BLOWN_FROM;
use crate::feeds::{Feeds, PartId};
use crate::measurement::{Jack, Method, Reading, Unit, Way, range_of};
use crate::quantity::Milliamps;
use crate::suspects::Suspect;
use crate::vehicle::PartKind;

/// A drop that was typed so many times as coarse as the meter shows, and that would be so many times the
/// draw, is a slip of the unit and no reading of a part of it (judgement).
const COARSER: f64 = 10.0;
const TIMES_THE_DRAW: f64 = 10.0;
/// A blade fuse opens within half an hour at so many times its rating (ISO 8820-3, from memory).
const OPENS_FROM: f64 = 1.35;

impl Now<'_> {
    /// Whether a jack cannot have shown this: asks about it then.
    pub(super) fn is_over_jack(&mut self, reading: Reading, way: Way) -> bool {
        let most = self.jack_takes(way);
        let over =
            most.filter(|most| reading.unit == Unit::Milliamps && reading.low.abs() > most.value());
        self.questions.extend(over.map(Question::MoreThanJack));
        over.is_some()
    }

    /// Whether a drop says a current that cannot flow there: more than the fuse carries at all, or, where
    /// it was read too coarsely to clash with the draw, many times the draw. Asks about it then.
    pub(super) fn cannot_be(&mut self, method: Method, part: PartId, reading: Reading) -> bool {
        let asked = self.cannot_flow(method, part, reading);
        let cannot = asked.is_some();
        self.questions.extend(asked);
        cannot
    }

    /// What is asked about a drop that says a current that cannot flow there.
    pub(super) fn cannot_flow(
        &self,
        method: Method,
        part: PartId,
        reading: Reading,
    ) -> Option<Question> {
        let feeds = &self.setting.feeds;
        let blown = reading.low > BLOWN_FROM * feeds.volts_at(part).value();
        if method != Method::Drop || reading.over || blown {
            return None;
        }
        let current = self.current_of(method, part, reading, Way::Series(Jack::A))?;
        let middle = f64::midpoint(current.low(), current.high()).abs();
        let rating = feeds.part(part).rating.as_ref();
        let rating = rating.map(|rating| rating.value.value());
        let burns = rating.is_some_and(|rating| middle > rating);
        let meter = self.setting.instruments.meter;
        let finest = meter.and_then(|meter| meter.millivolts);
        let finest = finest.map_or(0.0, |range| range.step.value());
        let coarse = reading.step > COARSER * finest;
        let total = self
            .total(&self.out_set())
            .filter(|_| self.asleep && coarse);
        let too_much = total.is_some_and(|total| {
            current.low() <= total.high() && middle > TIMES_THE_DRAW * total.high()
        });
        let rating = rating.filter(|_| burns);
        (burns || too_much).then_some(Question::CannotBe(part, reading, middle, rating))
    }

    /// What the jack takes that a current was read on.
    pub(super) fn jack_takes(&self, way: Way) -> Option<Milliamps> {
        match way {
            Way::Series(jack) => range_of(jack, &self.setting.instruments)?.most,
            Way::Clamp { .. } => None,
        }
    }
}

/// Whether what is sought would have blown a fuse on the way to the suspect.
pub(super) fn would_have_blown(feeds: &Feeds, suspect: &Suspect, needed: f64) -> bool {
    let Some(seat) = suspect.seat() else {
        return false;
    };
    let way = feeds.path(seat).into_iter();
    let mut fuses = way.filter(|part| *part != seat && feeds.part(*part).kind == PartKind::Fuse);
    fuses.any(|fuse| {
        let rating = feeds.part(fuse).rating.as_ref();
        rating.is_some_and(|rating| needed > OPENS_FROM * rating.value.value())
    })
}
