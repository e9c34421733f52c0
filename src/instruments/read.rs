//! The instruments file, format 1, from text to what is at hand.

use crate::instruments::{Clamp, Handling, Instruments, Meter, Range};
use crate::notation::{Reader, Sense, Source, Spelled, from_to};
use crate::problem::{Form, Problem, in_file_order, words};
use crate::quantity::{Milliamps, Milliohms, Millivolts};

/// What a range may say, and how it is written in a help line.
struct Limits {
    example: &'static str,
    step: Sense,
    most: Sense,
    /// Whether the current passes through it, so that it has a burden.
    in_line: bool,
}

/// From finer than any handheld meter to coarser than any of use here (judgement).
const MILLIVOLTS: Limits = Limits {
    example: "Range(step: mV(0.1), percent: 0.5, counts: 2)",
    step: from_to(0.000_01, 1000.0),
    most: from_to(0.001, 1_000_000.0),
    in_line: false,
};
const AMPS: Limits = Limits {
    example: "Range(step: mA(10), percent: 1, counts: 3, most: A(10), burden: mOhm(20))",
    step: from_to(0.000_01, 1000.0),
    most: from_to(0.001, 100_000.0),
    in_line: true,
};
const MILLIAMPS: Limits = Limits {
    example: "Range(step: mA(0.1), percent: 0.5, counts: 2, most: mA(400), burden: Ohm(1.8))",
    ..AMPS
};
const CLAMP: Limits = Limits {
    example: "Clamp(step: mA(1), percent: 2, counts: 5)",
    most: from_to(0.001, 10_000_000.0),
    in_line: false,
    ..AMPS
};

const PERCENT: Sense = from_to(0.0, 50.0);
const COUNTS: Sense = from_to(0.0, 1000.0);
/// A floor or a drift: a clamp for welders has amps of it.
const STAYS: Sense = from_to(0.0, 10_000.0);
/// Percent for a wire at the edge of the jaws; 1 to 2 are usual (seen).
const OFF_CENTRE: Sense = from_to(0.0, 20.0);
/// A jack of 20 mΩ to a microamp range of 100 Ω (from memory), with room on both sides.
const BURDEN: Sense = from_to(0.01, 1_000_000.0);

/// Reads an instruments file of format 1: what is at hand, or `None` when a problem is an error.
///
/// Broken syntax is one problem, the first; everything else is found at once, in the order of the
/// file. Time and memory are linear in the text.
pub fn read(text: &str) -> (Option<Instruments>, Vec<Problem>) {
    let source = Source::new(text, &Form::INSTRUMENTS);
    let mut problems = source.problems().to_vec();
    let read = source.fields().map(|fields| {
        let reader = Reader::new(source.text());
        let known = ["format", "meter", "clamp", "loop", "handling"];
        let fields = reader.known(fields, "Instruments", &known);
        let instruments = whole(&reader, &source, &fields);
        (instruments, reader.into_problems())
    });
    let instruments = match read {
        Ok((instruments, found)) => {
            problems.extend(found);
            Some(instruments)
        }
        Err(problem) => {
            problems.push(*problem);
            None
        }
    };
    let sound = !problems.iter().any(Problem::is_error);
    (instruments.filter(|_| sound), in_file_order(problems))
}

fn whole<'s>(
    reader: &Reader<'s>,
    source: &'s Source<'_>,
    fields: &[(&'s str, &'s str)],
) -> Instruments {
    let mut instruments = Instruments {
        meter: None,
        clamp: None,
        turns: None,
        handling: Handling::USUAL,
        assumed: false,
    };
    // Last, because the clamp may be read on the meter.
    let mut clamp_written = None;
    for &(field, raw) in fields {
        match field {
            "format" => reader.format(raw),
            "meter" => instruments.meter = meter(reader, raw),
            "clamp" => clamp_written = Some(raw),
            "handling" => instruments.handling = handling(reader, raw),
            _ => instruments.turns = turns(reader, raw),
        }
    }
    instruments.clamp = clamp_written.and_then(|raw| clamp(reader, raw, instruments.meter));
    let written = |name| {
        fields
            .iter()
            .any(|(field, raw)| *field == name && *raw != "None")
    };
    if !fields.iter().any(|(field, _)| *field == "format") {
        reader.no_format(source.head());
    }
    if !written("meter") && !written("clamp") {
        reader.note(words::nothing_to_read(MILLIVOLTS.example).at(source.head()));
    }
    instruments
}

fn meter<'s>(reader: &Reader<'s>, raw: &'s str) -> Option<Meter> {
    let example = format!("Meter(millivolts: {})", MILLIVOLTS.example);
    let known = ["millivolts", "amps", "milliamps"];
    let mut meter = Meter {
        millivolts: None,
        amps: None,
        milliamps: None,
    };
    for (field, raw) in reader.record(raw, "Meter", &known, &example)? {
        match field {
            "millivolts" => meter.millivolts = jack(reader, raw, &MILLIVOLTS),
            "amps" => meter.amps = jack(reader, raw, &AMPS),
            _ => meter.milliamps = jack(reader, raw, &MILLIAMPS),
        }
    }
    Some(meter)
}

const RANGE: [&str; 5] = ["step", "percent", "counts", "most", "burden"];

fn jack<'s, Q: Spelled>(reader: &Reader<'s>, raw: &'s str, limits: &Limits) -> Option<Range<Q>> {
    let fields = reader.record(raw, "Range", &RANGE, limits.example)?;
    let written = Written::read(reader, &fields, limits);
    written.accurate(reader, raw, limits, written.step)
}

/// A range's fields as far as they were given.
struct Written<Q> {
    step: Option<Q>,
    step_given: bool,
    percent: Option<f64>,
    percent_given: bool,
    counts: Option<f64>,
    counts_given: bool,
    most: Option<Q>,
    burden: Option<Milliohms>,
}

impl<Q: Spelled> Written<Q> {
    fn read<'s>(reader: &Reader<'s>, fields: &[(&'s str, &'s str)], limits: &Limits) -> Self {
        let given = |name| fields.iter().any(|(field, _)| *field == name);
        let mut written = Self {
            step: None,
            step_given: given("step"),
            percent: None,
            percent_given: given("percent"),
            counts: None,
            counts_given: given("counts"),
            most: None,
            burden: None,
        };
        for &(field, raw) in fields {
            match field {
                "step" => written.step = reader.quantity(raw, limits.step).map(|q| q.value),
                "percent" => written.percent = reader.number(raw, PERCENT),
                "counts" => written.counts = reader.number(raw, COUNTS),
                "most" => written.most = reader.quantity(raw, limits.most).map(|q| q.value),
                "burden" if limits.in_line => {
                    written.burden = reader.quantity(raw, BURDEN).map(|q| q.value);
                }
                "burden" => reader.fault(field, words::misplaced_burden()),
                _ => {}
            }
        }
        written
    }

    /// The range, with its step found; what is missing is noted at `raw`.
    fn accurate<'s>(
        &self,
        reader: &Reader<'s>,
        raw: &'s str,
        limits: &Limits,
        step: Option<Q>,
    ) -> Option<Range<Q>> {
        let lacking = [
            ("percent", self.percent_given),
            ("counts", self.counts_given),
        ];
        let lacking = lacking.into_iter().filter(|(_, given)| !given);
        let lacking: Vec<_> = lacking.map(|(field, _)| field).collect();
        if !self.step_given && step.is_none() {
            reader.fault(raw, words::no_step(limits.example));
        }
        if !lacking.is_empty() {
            reader.fault(raw, words::no_accuracy(&lacking, limits.example));
        }
        let step = step?;
        if let Some(most) = self.most.filter(|most| *most < step) {
            let (most, step) = (most.value(), step.value());
            let finding = words::most_below_step(most, step, Q::UNIT, limits.example);
            reader.fault(raw, finding);
        }
        Some(Range {
            step,
            percent: self.percent?,
            counts: self.counts?,
            most: self.most,
            burden: self.burden,
        })
    }
}

fn clamp<'s>(reader: &Reader<'s>, raw: &'s str, meter: Option<Meter>) -> Option<Clamp> {
    let known = [
        "step",
        "percent",
        "counts",
        "floor",
        "drift",
        "off_centre",
        "most",
        "jaw",
        "scale",
    ];
    let fields = reader.record(raw, "Clamp", &known, CLAMP.example)?;
    let mut written = Written::<Milliamps>::read(reader, &fields, &CLAMP);
    let (mut jaw, mut scale_of, mut scale_wrong) = (None, None, false);
    let nothing = Milliamps::of(0.0);
    let (mut floor, mut drift, mut off_centre) = (nothing, nothing, 0.0);
    let milliamps = |raw| reader.quantity(raw, STAYS).map(|q| q.value);
    for (field, raw) in fields {
        match field {
            "floor" => {
                floor = milliamps(raw).unwrap_or(nothing);
                // A manual may give one in the place of counts.
                if !written.counts_given {
                    (written.counts_given, written.counts) = (true, Some(0.0));
                }
            }
            "drift" => drift = milliamps(raw).unwrap_or(nothing),
            "off_centre" => off_centre = reader.number(raw, OFF_CENTRE).unwrap_or(0.0),
            "jaw" => jaw = reader.quantity(raw, from_to(1.0, 1000.0)).map(|q| q.value),
            "scale" => {
                scale_of = scale(reader, raw);
                scale_wrong = scale_of.is_none() && raw != "None";
            }
            _ => {}
        }
    }
    if scale_wrong {
        return None;
    }
    let mut step = written.step;
    if let Some((millivolts, milliamps)) = scale_of {
        let Some(display) = meter.and_then(|meter| meter.millivolts) else {
            reader.fault(raw, words::no_display(MILLIVOLTS.example));
            return None;
        };
        // Without a step of its own, a count is one of the display it is read on.
        let of_the_display = milliamps * (display.step / millivolts);
        step = step.or((!written.step_given).then_some(of_the_display));
    }
    Some(Clamp {
        range: written.accurate(reader, raw, &CLAMP, step)?,
        floor,
        drift,
        off_centre,
        jaw,
        scale: scale_of,
    })
}

fn scale<'s>(reader: &Reader<'s>, raw: &'s str) -> Option<(Millivolts, Milliamps)> {
    if raw == "None" {
        return None;
    }
    let [millivolts, milliamps] = reader.pair(raw, "Scale", "Scale(mV(1), mA(10))")?;
    let is_a = |raw: &str, units: &[(&str, f64)]| {
        let unit = raw.split('(').next().unwrap_or_default().trim();
        units.iter().any(|(word, _)| *word == unit)
    };
    if is_a(millivolts, Milliamps::UNITS) && is_a(milliamps, Millivolts::UNITS) {
        reader.fault(raw, words::scale_turned_round(milliamps, millivolts));
        return None;
    }
    let millivolts = reader.quantity(millivolts, from_to(0.001, 10_000.0));
    let milliamps = reader.quantity(milliamps, from_to(0.001, 1_000_000.0));
    Some((millivolts?.value, milliamps?.value))
}

/// What is not written is as usual.
fn handling<'s>(reader: &Reader<'s>, raw: &'s str) -> Handling {
    const EXAMPLE: &str = "Handling(drop: minutes(0.3), pull: minutes(1), wakes_network: 0.9)";
    const KNOWN: [&str; 13] = [
        "look",
        "volts",
        "drop",
        "clamp",
        "draw",
        "series",
        "pull",
        "unplug",
        "refit",
        "carry",
        "wakes_plain",
        "wakes_fuse",
        "wakes_network",
    ];
    /// From nothing to two hours for one step (judgement).
    const MINUTES: Sense = from_to(0.0, 120.0);
    const CHANCE: Sense = from_to(0.0, 1.0);
    let mut handling = Handling::USUAL;
    let fields = reader.record(raw, "Handling", &KNOWN, EXAMPLE);
    for (field, raw) in fields.unwrap_or_default() {
        let minutes = match field {
            "look" => &mut handling.look,
            "volts" => &mut handling.volts,
            "drop" => &mut handling.drop,
            "clamp" => &mut handling.clamp,
            "draw" => &mut handling.draw,
            "series" => &mut handling.series,
            "pull" => &mut handling.pull,
            "unplug" => &mut handling.unplug,
            "refit" => &mut handling.refit,
            "carry" => &mut handling.carry,
            _ => {
                let chance = match field {
                    "wakes_plain" => &mut handling.wakes_plain,
                    "wakes_fuse" => &mut handling.wakes_fuse,
                    _ => &mut handling.wakes_network,
                };
                *chance = reader.number(raw, CHANCE).unwrap_or(*chance);
                continue;
            }
        };
        *minutes = reader.quantity(raw, MINUTES).map_or(*minutes, |q| q.value);
    }
    handling
}

fn turns<'s>(reader: &Reader<'s>, raw: &'s str) -> Option<u32> {
    const EXAMPLE: &str = "Loop(turns: 10)";
    let fields = reader.record(raw, "Loop", &["turns"], EXAMPLE)?;
    let Some((_, raw)) = fields.first() else {
        reader.fault(raw, words::no_turns(EXAMPLE));
        return None;
    };
    // A hundred turns of the thinnest wire fill any jaw (judgement).
    let turns = reader.number(raw, from_to(1.0, 100.0))?;
    if turns.fract() != 0.0 {
        reader.fault(raw, words::part_of_a_turn(turns));
    }
    // From 1 to 100 by its range check.
    Some(turns.round() as u32)
}
