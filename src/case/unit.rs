//! A number typed without its unit: taken in the unit that the step asks for where it can be no other; and
//! which of the meter's jacks a number was read on.

use super::asked::TestPlan;
use super::fold::Now;
use super::readings;
use crate::feeds::PartId;
use crate::instruments::Instruments;
use crate::journal::{Act, Context, Point, Refusal, Timed, Unfit, Wrong, in_amps, parse_timed};
use crate::measurement::{self, Jack, Method, Reading, Unit, Way};
use crate::quantity::{Milliamps, Quantity};

/// No settled or waking vehicle draws more than this through a meter, in mA (judgement).
const MOST_DRAWN: f64 = 30_000.0;
/// A part of the draw is no more than so many times the draw that was read (judgement).
const TIMES_THE_DRAW: f64 = 3.0;
/// Around this share of the nominal voltage a number without its unit is in volts (judgement: a battery from
/// flat to charging).
const NEAR_BATTERY: std::ops::RangeInclusive<f64> = 0.75..=1.25;
/// Digits finer by more than this than what the instrument shows were not read on it: the file may be of a
/// coarser one (judgement).
const FINER: f64 = 10.5;

/// What was taken for granted of a reading that does not say it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TakenFor {
    /// A number, as it was typed, in this unit.
    Unit(String, &'static str),
    /// Read on this jack and not on the one that was asked for, by its digits.
    Jack(Jack),
    /// Read on the mA jack, though it has more digits than the steps of that show: these, and the same digits in A.
    TooFine(Milliamps, String),
}

/// That a reading was taken for one of another jack than the one that was asked for, where the entry does
/// not say which.
pub(super) fn other_jack(
    act: &Act,
    asked: Option<(Method, Way)>,
    entry: &str,
    instruments: &Instruments,
) -> Option<TakenFor> {
    let Act::Read {
        options, reading, ..
    } = act
    else {
        return None;
    };
    let Some((_, Way::Series(wanted))) = asked else {
        return None;
    };
    let said = entry
        .split_whitespace()
        .any(|word| word.eq_ignore_ascii_case("jack"));
    let jack = options.jack.filter(|jack| *jack != wanted && !said)?;
    let small = instruments.meter.and_then(|meter| meter.milliamps);
    let too_fine = small
        .filter(|small| jack == Jack::MilliA && reading.step < small.step.value() * (1.0 - 1e-9));
    Some(match too_fine {
        Some(small) => {
            let shown = entry.split_whitespace().find(|word| word.ends_with("mA"));
            let amps = shown.map_or("READING", |shown| shown.trim_end_matches("mA"));
            TakenFor::TooFine(small.step, format!("{amps}A"))
        }
        None => TakenFor::Jack(jack),
    })
}

impl Now<'_> {
    /// The acts of a line that lacks only the unit of its reading, with what that was taken for.
    ///
    /// | of the two units | result |
    /// | --- | --- |
    /// | one can be, by what the display shows and what can flow there | the acts |
    /// | both can be | [`Unfit::UnitUnclear`] |
    /// | neither, or nothing with a reading is asked for | the refusal as it was |
    pub(super) fn with_its_unit(
        &self,
        line: &str,
        pending: &TestPlan,
        context: &Context,
        refusal: Refusal,
    ) -> Result<(Vec<Timed>, TakenFor), Refusal> {
        let Wrong::NoUnit { number, unit } = &refusal.wrong else {
            return Err(refusal);
        };
        let digits = |c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',' | '-' | '+' | '−');
        let end = line.find(digits).unwrap_or(line.len());
        if end == 0 || context.clamp_in_millivolts {
            return Err(refusal);
        }
        let units: [&'static str; 2] = if *unit == "mV" {
            ["mV", "V"]
        } else {
            ["mA", "A"]
        };
        let read = |unit: &'static str| {
            let whole = format!("{}{unit}{}", &line[..end], &line[end..]);
            let acts = parse_timed(&whole, &self.setting.names, context).ok()?;
            let can_be = acts
                .first()
                .is_some_and(|(act, _)| self.can_be(act, pending));
            can_be.then_some((acts, unit))
        };
        let taken_for = |unit| TakenFor::Unit(line[..end].to_owned(), unit);
        match units.map(read) {
            [Some((acts, unit)), None] | [None, Some((acts, unit))] => Ok((acts, taken_for(unit))),
            [None, None] => Err(refusal),
            [Some(_), Some(_)] => {
                let [small, large] = units;
                Err(Refusal {
                    wrong: Wrong::Unfit(Unfit::UnitUnclear(number.clone(), [small, large])),
                    works: format!("{} {}{large}{}", pending.entry, &line[..end], &line[end..]),
                    entry: refusal.entry,
                })
            }
        }
    }

    /// Whether the display that is asked for can show this reading, and that much can be there.
    fn can_be(&self, act: &Act, pending: &TestPlan) -> bool {
        let Act::Read {
            method,
            point,
            reading,
            options,
        } = act
        else {
            return false;
        };
        if *method != pending.method {
            return false;
        }
        let part = match point {
            Point::Part(part) => *part,
            _ => PartId(0),
        };
        let asked = pending
            .way
            .filter(|_| options.by.is_none() && options.jack.is_none());
        let way = asked.unwrap_or_else(|| readings::way(*method, options));
        self.can_show(*method, way, reading)
            && self.can_flow(*method, part, way, reading)
            && self.cannot_flow(*method, part, *reading).is_none()
    }

    /// Whether a display with the steps of the instrument at hand can show this.
    fn can_show(&self, method: Method, way: Way, reading: &Reading) -> bool {
        let at_hand = &self.setting.instruments;
        let meter = at_hand.meter.as_ref();
        let (step, most) = match (method, way) {
            (Method::Volts, _) => return true,
            (Method::Drop, _) => {
                let range = meter.and_then(|meter| meter.millivolts);
                (range.map(|range| range.step.value()), None)
            }
            (_, Way::Clamp { .. }) => (at_hand.clamp.map(|clamp| clamp.range.step.value()), None),
            (_, Way::Series(jack)) => {
                let range = measurement::range_of(jack, at_hand);
                let most = range.and_then(|range| range.most).map(Quantity::value);
                (range.map(|range| range.step.value()), most)
            }
        };
        let fine = step.is_some_and(|step| reading.step * FINER < step);
        !fine && most.is_none_or(|most| reading.high.abs() <= most)
    }

    /// The jack a series reading was taken on, by what the display shows:
    ///
    /// | the reading | jack |
    /// | --- | --- |
    /// | above what the mA jack takes | A |
    /// | finer than the A jack's steps | mA |
    /// | typed in amps, in steps of the A jack or coarser | A |
    /// | else | the one asked for, else A |
    pub(super) fn jack_for(
        &self,
        reading: &Reading,
        asked: Option<(Method, Way)>,
        entry: &str,
    ) -> Jack {
        let meter = self.setting.instruments.meter;
        let Some(small) = meter.and_then(|m| m.milliamps) else {
            return Jack::A;
        };
        let Some(large) = meter.and_then(|m| m.amps) else {
            return Jack::MilliA;
        };
        let beyond = small.most.map(Quantity::value);
        if beyond.is_some_and(|most| reading.low.abs() > most) {
            return Jack::A;
        }
        let steps = reading.low / large.step.value();
        if (steps - steps.round()).abs() > 1e-6 || reading.step < 1.0 {
            return Jack::MilliA;
        }
        let as_amps = small.step < large.step && reading.step >= large.step.value();
        match asked {
            Some((_, Way::Series(Jack::MilliA))) if !(as_amps && in_amps(entry)) => Jack::MilliA,
            _ => Jack::A,
        }
    }

    /// Whether so much can be there, by what is known of the draw.
    fn can_flow(&self, method: Method, part: PartId, way: Way, reading: &Reading) -> bool {
        if method == Method::Volts {
            let share = reading.high / self.setting.feeds.volts_at(part).value();
            return NEAR_BATTERY.contains(&share) || reading.is_dead();
        }
        let total = self.total(&self.out_set());
        let most = match (method, total) {
            (Method::Draw, _) | (_, None) => MOST_DRAWN,
            (_, Some(total)) => TIMES_THE_DRAW * total.high(),
        };
        let current = self.current_of(method, part, *reading, way);
        match current {
            Some(current) => current.low().max(-current.high()) <= most,
            None => reading.unit == Unit::Milliamps && reading.low.abs() <= most,
        }
    }
}
