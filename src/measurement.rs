//! Tests, readings, and what a reading says about a current.
//!
//! **Model.** A reading is what a display showed; what is there lies within the instrument's accuracy
//! of it. A drop of V across R is a current V / R, each end with the worse end of the resistance's
//! band. A clamp with n turns through its jaws shows n times the current.
//!
//! **Invariants.** The interval of a reading holds the true current whenever the reading is within
//! the instrument's accuracy and the resistance in its band; what may be shown for an interval of
//! current holds every reading that can come of it (tests in `tests/suite/physics.rs`).
//!
//! **Cost.** Constant time, but for a connector's tests, which look at all below it.

use crate::feeds::{Feeds, PartId};
use crate::instruments::{Accuracy, Instruments, Range};
use crate::interval::Interval;
use crate::quantity::{Celsius, Milliamps, Milliohms, Millivolts};
use crate::reference::{self, Figure, Mark};
use crate::vehicle::{FuseStyle, LoadKind, PartKind, TestKind};
use std::borrow::Cow;

mod in_line;
mod needs;
pub use in_line::InLine;
pub use needs::{Need, tells, would_need};

/// What can be done at the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Method {
    Volts,
    Drop,
    Clamp,
    Series,
    Look,
    Draw,
    Pull,
    Unplug,
    Refit,
    Open,
    Zero,
    Wait,
    Log,
}

/// The unit a reading was typed in, reduced to the small one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// Milliamps (amps are turned into these).
    Milliamps,
    /// Millivolts (volts are turned into these).
    Millivolts,
}

/// A number as read off an instrument.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Lowest value seen, in the small unit.
    pub low: f64,
    /// Highest value seen (the same unless it wanders).
    pub high: f64,
    /// Unit.
    pub unit: Unit,
    /// One step of the last decimal typed, in the small unit: `0.61A` has 10.
    pub step: f64,
    /// Above what the range can show (`OL`, `>400mV`): only `low` counts.
    pub over: bool,
}

/// A voltage below which a point is dead, in mV (common practice, no source: a meter of 10 MΩ shows ghost volts on
/// a floating wire).
const DEAD_BELOW: f64 = 500.0;

impl Reading {
    /// Whether volts read at a point say that it has no feed.
    pub fn is_dead(&self) -> bool {
        self.high.abs() < DEAD_BELOW
    }

    /// Half the difference of this reading and another with the probes turned round, in which what the
    /// joints of unlike metals give, and any other offset, is gone.
    pub fn half_difference(self, other: Self) -> Self {
        Self {
            low: (self.low - other.high) / 2.0,
            high: (self.high - other.low) / 2.0,
            unit: self.unit,
            step: self.step.max(other.step),
            over: self.over || other.over,
        }
    }

    /// What is the same both ways round: half the sum.
    pub fn offset(self, other: Self) -> f64 {
        let middle = |reading: Self| f64::midpoint(reading.low, reading.high);
        f64::midpoint(middle(self), middle(other))
    }

    /// The reading that stands for this one and another with the probes turned round: half their
    /// difference. The counts of both stay in it as those of one. So do their percents, which are those of
    /// what was shown: where the offset is larger than the half, by what is missing at the half's own.
    pub fn with_probes_turned(self, other: Self, instruments: &Instruments) -> Self {
        let half = self.half_difference(other);
        let range = instruments.meter.and_then(|meter| meter.millivolts);
        let share = range.map_or(0.0, |range| range.percent / 100.0);
        let larger = |end: f64| (self.offset(other).abs() - end.abs()).max(0.0);
        // Moved by this, an end has the percent of the offset in it: its own grows or shrinks with it.
        let missing = |end: f64, grows: bool| {
            larger(end) * share / if grows { 1.0 + share } else { 1.0 - share }
        };
        let low = half.low - missing(half.low, half.low < 0.0);
        Self {
            // A zero is not turned into a minus.
            low: if half.low >= 0.0 { low.max(0.0) } else { low },
            high: half.high + missing(half.high, half.high >= 0.0),
            ..half
        }
    }
}

/// The jack of the meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Jack {
    V,
    A,
    MilliA,
}

/// How a current is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// Clamp, wire led through the jaws this many times.
    Clamp {
        /// Turns, at least 1.
        turns: u32,
    },
    /// Meter in the circuit, on this jack.
    Series(Jack),
}

/// Resistance between the probes of a voltage drop, and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Resistance {
    /// Nominal.
    pub nominal: Milliohms,
    /// With its band.
    pub band: Interval<Milliohms>,
    /// Where the number comes from.
    pub source: Cow<'static, str>,
    /// How far it can be trusted.
    pub mark: Mark,
}

impl From<Figure> for Resistance {
    fn from(figure: Figure) -> Self {
        Self {
            nominal: figure.nominal,
            band: figure.band,
            source: figure.source,
            mark: figure.mark,
        }
    }
}

/// The resistance a drop is read across, where the file lets it be known:
///
/// | part | resistance |
/// | --- | --- |
/// | fuse | its own `resistance`, else the table of its style at its rating |
/// | link | its own, else its wire (a fusible link), else the table where it has a style |
/// | breaker | its own |
/// | anything else | that of its wire |
///
/// A fuse's wire is never taken for the fuse: the probes stand on the fuse's own test points, for a
/// contact of its holder has as much resistance as a large fuse (ISO 8820 fixtures: 0.5 to 1.0 mΩ).
pub fn resistance(feeds: &Feeds, part: PartId) -> Option<Resistance> {
    figure(feeds, part).map(Resistance::from)
}

/// The same at the temperature of the bay it stands in; at 20 °C where that is not known.
pub fn resistance_at(
    feeds: &Feeds,
    part: PartId,
    temperature: Option<Celsius>,
) -> Option<Resistance> {
    let cold = figure(feeds, part)?;
    Some(match temperature {
        Some(there) => cold.at(there).into(),
        None => cold.into(),
    })
}

fn figure(feeds: &Feeds, part: PartId) -> Option<Figure> {
    let part = feeds.part(part);
    let own = || part.resistance.map(reference::own);
    let wire = || part.wire.and_then(reference::wire);
    let rated = |style: Option<FuseStyle>| reference::fuse(style, part.rating.as_ref()?.value);
    match part.kind {
        PartKind::Fuse => own().or_else(|| rated(part.style)),
        PartKind::Link => own()
            .or_else(wire)
            .or_else(|| part.style.and_then(|style| rated(Some(style)))),
        PartKind::Breaker => own(),
        _ => wire(),
    }
}

/// Whether a reading at a part takes a lead or a meter let in there, which breaks the supply of what is
/// below it twice: one with several turns through the jaws, one round a fuse, which has no wire to clamp
/// but a loop in its holder, and one in series. Without a loop at hand a fuse was clamped at its own wire.
pub fn lets_in(
    feeds: &Feeds,
    instruments: &Instruments,
    part: PartId,
    method: Method,
    way: Way,
) -> bool {
    let no_wire = || {
        let looped = instruments.turns.is_some() && feeds.part(part).kind == PartKind::Fuse;
        looped && !offered(feeds, part).contains(&Method::Clamp)
    };
    match way {
        Way::Clamp { turns } => method == Method::Clamp && (turns > 1 || no_wire()),
        Way::Series(_) => method == Method::Series,
    }
}

/// More than this, in mV, the same both ways round is no offset of joints and leads: a minus was left out,
/// or the probes slipped (judgement: 3 microvolts a kelvin, from memory, and 30 K).
pub const LARGE_OFFSET: f64 = 0.1;

/// What is there, in the reading's unit.
fn truth(accuracy: &Accuracy, reading: Reading) -> (f64, f64) {
    if reading.over {
        let (low, _) = accuracy.truth(reading.low, reading.low);
        return (low, f64::INFINITY);
    }
    accuracy.truth(reading.low.min(reading.high), reading.high.max(reading.low))
}

/// The voltage that a reading on the millivolt range says; `None` without that range or for a reading
/// in amps.
pub fn voltage(reading: Reading, instruments: &Instruments) -> Option<Interval<Millivolts>> {
    let range = instruments.meter?.millivolts?;
    if reading.unit != Unit::Millivolts {
        return None;
    }
    let (low, high) = truth(&range.accuracy(reading.step), reading);
    Interval::new(low, high)
}

/// Every current that drops a voltage here across a resistance there: each end with the end of the
/// band that moves it outwards.
fn current_of(voltage: Interval<Millivolts>, band: Interval<Milliohms>) -> Interval<Milliamps> {
    let outwards = |volts: f64, for_negative: f64, for_positive: f64| {
        let ohms = if volts < 0.0 {
            for_negative
        } else {
            for_positive
        };
        volts / ohms * 1000.0
    };
    Interval::between(
        outwards(voltage.low(), band.low(), band.high()),
        outwards(voltage.high(), band.high(), band.low()),
    )
}

/// What a drop reading says about the current; `None` without a millivolt range, or for a reading in
/// amps.
pub fn current_by_drop(
    across: &Resistance,
    reading: Reading,
    instruments: &Instruments,
) -> Option<Interval<Milliamps>> {
    Some(current_of(voltage(reading, instruments)?, across.band))
}

/// The range of a jack that a current passes through; `None` where the meter has none there.
pub fn range_of(jack: Jack, instruments: &Instruments) -> Option<Range<Milliamps>> {
    let meter = instruments.meter?;
    match jack {
        Jack::V => None,
        Jack::A => meter.amps,
        Jack::MilliA => meter.milliamps,
    }
}

/// Accuracy of a way of taking a current, in mA as shown, and by how much the shown value is larger
/// than the current. `typed` is the worth of the last decimal in the unit that is shown; `unit` that
/// unit, `None` where it is the instrument's own.
fn accuracy_of(
    way: Way,
    typed: f64,
    unit: Option<Unit>,
    instruments: &Instruments,
) -> Option<(Accuracy, f64)> {
    match way {
        Way::Clamp { turns } => {
            let clamp = instruments.clamp?;
            let scale = match unit {
                Some(Unit::Millivolts) => clamp.milliamps_per_millivolt()?,
                _ => 1.0,
            };
            let accuracy = clamp.accuracy(instruments.meter.as_ref(), typed * scale)?;
            Some((accuracy, f64::from(turns.max(1))))
        }
        Way::Series(jack) => {
            (unit != Some(Unit::Millivolts)).then_some(())?;
            Some((range_of(jack, instruments)?.accuracy(typed), 1.0))
        }
    }
}

/// What a current reading says about the current; `None` without the instrument, or where it does not
/// show that unit. A reading in mV is one of a clamp with a scale, read on the meter.
pub fn current_by(
    way: Way,
    reading: Reading,
    instruments: &Instruments,
) -> Option<Interval<Milliamps>> {
    let (accuracy, turns) = accuracy_of(way, reading.step, Some(reading.unit), instruments)?;
    let scale = match reading.unit {
        Unit::Milliamps => 1.0,
        Unit::Millivolts => instruments.clamp?.milliamps_per_millivolt()?,
    };
    let shown = Reading {
        low: reading.low * scale,
        high: reading.high * scale,
        ..reading
    };
    let (low, high) = truth(&accuracy, shown);
    Interval::new(low / turns, high / turns)
}

/// What the display may show across the resistance for any current in the interval, in whole steps:
/// accuracy, step and resistance band included, cut at zero.
pub fn drop_shown(
    across: &Resistance,
    current: Interval<Milliamps>,
    instruments: &Instruments,
) -> Option<Interval<Millivolts>> {
    let accuracy = instruments.meter?.millivolts?.accuracy(0.0);
    let current = current.cut_at_zero();
    let (low, high) = accuracy.shown(
        current.low() * across.band.low() / 1000.0,
        current.high() * across.band.high() / 1000.0,
    );
    Interval::new(low, high)
}

/// What the display may show for any current in the interval, in whole steps, cut at zero; for a
/// clamp with turns the shown value (turns times the current), for one read on the meter what its
/// millivolts mean.
pub fn current_shown(
    way: Way,
    current: Interval<Milliamps>,
    instruments: &Instruments,
) -> Option<Interval<Milliamps>> {
    let (accuracy, turns) = accuracy_of(way, 0.0, None, instruments)?;
    let current = current.cut_at_zero();
    let (low, high) = accuracy.shown(current.low() * turns, current.high() * turns);
    Interval::new(low, high)
}

/// The most current that a displayed 0.0 across the resistance can hide; `None` without a millivolt
/// range.
pub fn hides(across: &Resistance, instruments: &Instruments) -> Option<Milliamps> {
    let nothing = Reading {
        low: 0.0,
        high: 0.0,
        unit: Unit::Millivolts,
        step: 0.0,
        over: false,
    };
    current_by_drop(across, nothing, instruments).map(|current| Milliamps::of(current.high()))
}

/// The current that would flow without the meter in the circuit, were the load a plain resistance:
/// its burden b takes b / (R + b) of the current off. Electronics may take more instead of less, so
/// this is for judging the meter, not for mending the reading. Not more than the supply would drive
/// through the burden alone.
pub fn without_burden(read: Milliamps, supply: Millivolts, burden: Milliohms) -> Milliamps {
    let left = 1.0 - (read * burden) / supply;
    if left > 0.0 { read / left } else { read }
}

/// A current with its uncertainty as metrology states it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// Best value.
    pub best: Milliamps,
    /// Standard uncertainty u.
    pub standard: Milliamps,
    /// Expanded uncertainty U = 2 u, which covers about 95 %.
    pub expanded: Milliamps,
}

/// The uncertainty of a drop reading: limits without a stated distribution are rectangular,
/// u = a / √3, and independent ones add as squares (JCGM 100:2008 4.3.7 and 5.1, from memory). It
/// says how far off a reading usually is; what a reading can rule out is [`current_by_drop`]'s
/// business. `None` without a millivolt range, for a reading in amps, off scale, or negative.
pub fn uncertainty(
    across: &Resistance,
    reading: Reading,
    instruments: &Instruments,
) -> Option<Uncertainty> {
    let range = instruments.meter?.millivolts?;
    if reading.unit != Unit::Millivolts || reading.over || reading.low < 0.0 {
        return None;
    }
    let rectangular = 3.0_f64.sqrt();
    let shown = Millivolts::of(f64::midpoint(reading.low, reading.high));
    let wander = (reading.high - reading.low).abs() / 2.0;
    let margin = range.accuracy(reading.step).margin(shown.value());
    let by_voltage = Millivolts::of(margin.hypot(wander) / rectangular) / across.nominal;
    let best = shown / across.nominal;
    let by_resistance = best * (across.band.width() / 2.0 / rectangular / across.nominal.value());
    let standard = Milliamps::of(by_voltage.value().hypot(by_resistance.value()));
    Some(Uncertainty {
        best,
        standard,
        expanded: standard * 2.0,
    })
}

/// From so many mA an alternator that has stood for hours is felt to be warm: some watts in its diodes (judgement).
pub const FELT_FROM: f64 = 300.0;

/// The tests a kind of part offers where the file says nothing, in the order of [`Method`].
fn usual_tests(feeds: &Feeds, id: PartId) -> &'static [TestKind] {
    use TestKind::{Clamp, Drop, Look, Pull, Series, Unplug, Volts};
    let part = feeds.part(id);
    match part.kind {
        PartKind::Battery => &[Volts, Clamp, Series],
        PartKind::Cable => &[Drop, Clamp],
        PartKind::Fuse => &[Volts, Drop, Series, Pull],
        // One that stands in a holder or has a plug plugs in.
        PartKind::Breaker if part.plug.is_some() || part.holder.is_some() => &[Volts, Drop, Pull],
        PartKind::Link | PartKind::Breaker => &[Volts, Drop],
        PartKind::Relay => &[Volts, Look, Pull],
        PartKind::Switch => &[Volts, Look, Unplug],
        PartKind::Coil => &[Volts, Look],
        PartKind::Splice => &[Volts],
        PartKind::Connector | PartKind::Output => &[Volts, Clamp, Unplug],
        PartKind::Load => match part.load.unwrap_or(LoadKind::Other) {
            LoadKind::Airbag | LoadKind::HighVoltage | LoadKind::Protected => &[],
            // A regulator has a plug, an alternator a live stud.
            LoadKind::Charging if part.plug.is_some() => &[Clamp, Look, Unplug],
            LoadKind::Charging => &[Clamp, Look],
            LoadKind::Starter => &[Clamp],
            // Something is to be seen: alight, warm, turning, plugged in.
            LoadKind::Lamp
            | LoadKind::Audio
            | LoadKind::Motor
            | LoadKind::Heater
            | LoadKind::Trailer
            | LoadKind::Added
            | LoadKind::Moves => &[Volts, Clamp, Look, Unplug],
            LoadKind::Other if feeds.is_socket(id) => &[Volts, Clamp, Look, Unplug],
            LoadKind::Telematics
            | LoadKind::BodyModule
            | LoadKind::EngineModule
            | LoadKind::Brake
            | LoadKind::Other => &[Volts, Clamp, Unplug],
        },
    }
}

/// Whether the plug at the part, or a connector with all it feeds, holds an airbag or high-voltage
/// circuit: those are not for unplugging, whoever else is in the plug.
fn plug_is_dangerous(feeds: &Feeds, id: PartId) -> bool {
    let dangerous = |part: PartId| {
        matches!(
            feeds.load_kind(part),
            Some(LoadKind::Airbag | LoadKind::HighVoltage)
        )
    };
    let below = feeds.part(id).kind == PartKind::Connector;
    feeds.unplugged_with(id).into_iter().any(dangerous)
        || below && feeds.subtree(id).map(PartId).any(dangerous)
}

/// The tests a part offers, whether or not an instrument for them is at hand, in the order of
/// [`Method`]: volts, drop, clamp, series, look, pull, unplug.
///
/// | part | tests |
/// | --- | --- |
/// | battery | volts, clamp, series |
/// | cable | clamp, drop |
/// | link | volts, drop |
/// | fuse | volts, drop, series, pull |
/// | breaker | volts, drop, pull where it has a `plug` or `holder` |
/// | relay | volts, look, pull |
/// | switch | volts, look, unplug |
/// | coil | volts, look |
/// | splice | volts |
/// | connector, output | volts, clamp, unplug |
/// | load | volts, clamp, look where something is to be seen, unplug |
/// | charging | clamp, look, unplug where it has a `plug` |
/// | starter | clamp |
/// | airbag, high voltage, protected | none, whatever the file says |
///
/// `can` adds, `never` takes away; `fixed` takes away all that needs the part out: pull, unplug and
/// a fuse's series (which also goes with `never: [Pull]`, unless `can` names it). Drop only where
/// [`resistance`] is known. Nothing is unplugged that takes an airbag or high-voltage circuit along.
pub fn offered(feeds: &Feeds, part: PartId) -> Vec<Method> {
    const ALL: [(TestKind, Method); 7] = [
        (TestKind::Volts, Method::Volts),
        (TestKind::Drop, Method::Drop),
        (TestKind::Clamp, Method::Clamp),
        (TestKind::Series, Method::Series),
        (TestKind::Look, Method::Look),
        (TestKind::Pull, Method::Pull),
        (TestKind::Unplug, Method::Unplug),
    ];
    if matches!(
        feeds.load_kind(part),
        Some(LoadKind::Airbag | LoadKind::HighVoltage | LoadKind::Protected)
    ) {
        return Vec::new();
    }
    let written = feeds.part(part);
    let usual = usual_tests(feeds, part);
    let possible = |test: TestKind| match test {
        TestKind::Drop => resistance(feeds, part).is_some(),
        TestKind::Pull => !written.fixed,
        TestKind::Unplug => !written.fixed && !plug_is_dangerous(feeds, part),
        TestKind::Series if written.kind == PartKind::Fuse => {
            !written.fixed
                && (!written.never.contains(&TestKind::Pull)
                    || written.can.contains(&TestKind::Series))
        }
        _ => true,
    };
    ALL.into_iter()
        .filter(|(test, _)| usual.contains(test) || written.can.contains(test))
        .filter(|(test, _)| !written.never.contains(test) && possible(*test))
        .map(|(_, method)| method)
        .collect()
}
