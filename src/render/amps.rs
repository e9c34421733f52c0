//! The working behind `amps`, in words and as data.

use crate::amps::{Across, Answer, Bounds, Scale, Step, Used, Worked};
use crate::instruments::Clamp;
use crate::interval::Interval;
use crate::measurement::{Reading, Unit};
use crate::problem::clean;
use crate::quantity::Quantity;
use crate::reference::{Figure, Strands};
use crate::render::answer;
use crate::render::words::{TOGETHER, plain};
use crate::vehicle::{Metal, Wire, WireSize};
use serde_json::{Value, json};

mod dropped;
mod measured;
mod refused;

pub use refused::{amps_refused, amps_unanswered, mistyped};

/// A number to four significant digits, without trailing zeros.
pub(super) fn figures(value: f64) -> String {
    if !value.is_finite() {
        return "any number".to_owned();
    }
    let before = if value == 0.0 {
        1
    } else {
        value.abs().log10().floor() as i32 + 1
    };
    let decimals = usize::try_from((4 - before).clamp(0, 6)).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn ends<Q: Quantity>(range: Interval<Q>) -> String {
    if range.high().is_infinite() {
        format!("{} {} or more", figures(range.low()), Q::UNIT)
    } else {
        let (low, high) = (figures(range.low()), figures(range.high()));
        format!("{low} to {high} {}", Q::UNIT)
    }
}

const fn unit_word(unit: Unit) -> &'static str {
    match unit {
        Unit::Milliamps => "mA",
        Unit::Millivolts => "mV",
    }
}

const fn used_word(used: Used) -> &'static str {
    match used {
        Used::Millivolts => "the meter's millivolt range",
        Used::Amps => "the meter's A jack",
        Used::Milliamps => "the meter's mA jack",
        Used::Clamp => "the clamp",
    }
}

fn scale_words((voltage, current): Scale) -> String {
    let (voltage, current) = (plain(voltage.value()), plain(current.value()));
    format!("{voltage} mV for {current} mA")
}

/// A length of wire: "1 m of 0.5 mm² copper".
pub(super) fn wire_words(wire: Wire) -> String {
    let metal = match wire.metal {
        Metal::Copper => "copper",
        Metal::Aluminium => "aluminium",
    };
    let size = match wire.size {
        WireSize::Area(area) => format!("{} mm²", plain(area.value())),
        WireSize::Gauge(gauge) if gauge <= 0.0 => format!("AWG {}/0", plain(1.0 - gauge)),
        WireSize::Gauge(gauge) => format!("AWG {}", plain(gauge)),
    };
    let length = wire.length.map_or(0.0, Quantity::value);
    format!("{} m of {size} {metal}", plain(length))
}

fn across_words(across: Across) -> String {
    match across {
        Across::Fuse(style, rating) => {
            format!("{} {} A", style.word(), plain(rating.value() / 1000.0))
        }
        Across::Wire(wire, Strands::Flexible) => wire_words(wire),
        Across::Wire(wire, strands) => {
            wire_words(wire).replacen(" of ", &format!(" of {} ", strands.word()), 1)
        }
        Across::Resistance(_) => "what is between the probes".to_owned(),
    }
}

/// A resistance with its band: "7.7 mΩ, between 6.545 and 8.855 mΩ".
fn resistance_words(figure: &Figure) -> String {
    let (low, high) = (figures(figure.band.low()), figures(figure.band.high()));
    let nominal = figures(figure.nominal.value());
    format!("{nominal} mΩ, between {low} and {high} mΩ")
}

/// Where the band comes from.
fn band_words(across: Across, figure: &Figure) -> String {
    if matches!(across, Across::Wire(..)) {
        return "a tenth of doubt about the length, judgement".to_owned();
    }
    let share = (figure.band.high() / figure.nominal.value() - 1.0) * 100.0;
    format!("band ±{share:.0} %, judgement")
}

fn shown(reading: Reading) -> String {
    let unit = unit_word(reading.unit);
    if reading.over {
        if reading.step <= 0.0 {
            "The display is over its range".to_owned()
        } else {
            format!(
                "The display is over its range, {} {unit}",
                figures(reading.low)
            )
        }
    } else if reading.low < reading.high {
        let (low, high) = (figures(reading.low), figures(reading.high));
        format!("The display wanders from {low} to {high} {unit}")
    } else {
        // With the decimals that were typed: they are the step.
        let decimals = usize::try_from(-reading.step.log10().round() as i32).unwrap_or(0);
        format!("The display shows {:.decimals$} {unit}", reading.low)
    }
}

/// The accuracy of an instrument; nothing for another step.
fn accuracy(step: &Step) -> String {
    let Step::Accuracy {
        used,
        percent,
        counts,
        step,
        floor,
        unit,
        assumed,
    } = step
    else {
        return String::new();
    };
    let unit = unit_word(*unit);
    let source = if *assumed {
        "assumed, typical, from memory: give your own with --instruments FILE"
    } else {
        "from the instruments file"
    };
    let percent = plain(*percent);
    let counted = match plain(*counts).as_str() {
        "1" => "1 count".to_owned(),
        many => format!("{many} counts"),
    };
    let margin = if *floor > counts * step * (1.0 + 1e-9) {
        let floor = figures(*floor);
        format!(
            "±({percent} % + {floor} {unit}): {counted}, and half of the last decimal written down"
        )
    } else {
        let step = plain(*step);
        format!("±({percent} % + {counted}), a count is {step} {unit}")
    };
    format!("Accuracy of {}: {margin} ({source})", used_word(*used))
}

/// What is known of a clamp beside percent and counts.
pub(super) fn clamp_more(clamp: &Clamp) -> String {
    let (floor, drift) = (clamp.floor.value(), clamp.drift.value());
    let pieces = [
        (floor > 0.0).then(|| format!("a floor of {} mA", plain(floor))),
        (drift > 0.0).then(|| format!("up to {} mA that its zero has moved", plain(drift))),
        (clamp.off_centre > 0.0)
            .then(|| format!("{} % for a wire off centre", plain(clamp.off_centre))),
    ];
    let pieces: Vec<String> = pieces.into_iter().flatten().collect();
    pieces.join(" and ")
}

/// One step of the working, as a sentence.
fn sentence(step: &Step) -> String {
    match step {
        Step::Shown(reading) => shown(*reading),
        Step::Negative => "The minus says that the leads are the other way round, or that current flows back: turn them round and read again".to_owned(),
        Step::Scaled { scale, means } => format!(
            "The clamp gives {}, so that means {}",
            scale_words(*scale),
            one_or_ends(*means)
        ),
        Step::Accuracy { .. } => accuracy(step),
        Step::More {
            clamp,
            percent,
            floor,
        } => format!(
            "With {}: ±({} % + {} mA)",
            clamp_more(clamp),
            figures(*percent),
            figures(*floor)
        ),
        Step::Voltage(voltage) => format!("So {} are there", ends(*voltage)),
        Step::Jaws(current, false) => format!("So {} go through the jaws", ends(*current)),
        Step::Jaws(current, true) => format!(
            "Both add up, and the clamp's percentage counts on the meter's margin too: {} go through the jaws",
            ends(*current)
        ),
        Step::Meter(current) => format!("So {} go through the meter", ends(*current)),
        Step::InLine => "While the meter is in line switch nothing on and open nothing; red lead back to V before the next reading".to_owned(),
        Step::Turns(turns) => {
            format!("The wire goes {turns} times through the jaws: divide by {turns} (common practice)")
        }
        Step::Resistance(across, figure) => format!(
            "Resistance of {} at 20 °C: {} ({}; {}; {})",
            across_words(*across),
            resistance_words(figure),
            figure.source,
            figure.mark.word(),
            band_words(*across, figure)
        ),
        Step::Temperature(celsius, figure) => match figure.per_kelvin {
            Some(per_kelvin) => format!(
                "At {} °C: {} ({} per kelvin)",
                plain(celsius.value()),
                resistance_words(figure),
                percent_words(per_kelvin)
            ),
            None => format!(
                "At {} °C: {}, as it may have been measured there, or at 20 °C",
                plain(celsius.value()),
                resistance_words(figure)
            ),
        },
        Step::Burden {
            burden,
            drop,
            without,
        } => burden_words(burden.value(), drop.value(), without.value()),
        Step::Asked(current) => format!("The current is {}", one_or_ends(*current)),
        Step::Product {
            current,
            band,
            drop,
        } => format!(
            "Current × resistance: {} mA × {} mΩ = {} mV at least, {} mA × {} mΩ = {} mV at most",
            figures(current.low()),
            figures(band.low()),
            figures(drop.low()),
            figures(current.high()),
            figures(band.high()),
            figures(drop.high())
        ),
        Step::Display(display) => format!(
            "So the display, in whole steps, may show {}",
            ends(*display)
        ),
        Step::Turned(_)
        | Step::Half { .. }
        | Step::WarmFuse { .. }
        | Step::AboveRating(_)
        | Step::Quotient { .. }
        | Step::Hides(_)
        | Step::Usual(_) => dropped::sentence(step),
        Step::Ratio { .. }
        | Step::Warm { .. }
        | Step::AtTwenty(..)
        | Step::Listed(..)
        | Step::Use(_)
        | Step::How(_) => measured::sentence(step),
    }
}

/// What a jack's resistance does: mΩ, mV, and mA without it.
fn burden_words(burden: f64, drop: f64, without: f64) -> String {
    format!(
        "The jack's {} mΩ take {} mV of the supply: from 12 V a plain resistance would draw {} mA without the meter",
        plain(burden),
        figures(drop),
        figures(without)
    )
}

fn percent_words(fraction: f64) -> String {
    format!("+{} %", plain(fraction * 100.0))
}

fn one_or_ends<Q: Quantity>(range: Interval<Q>) -> String {
    if range.width() > 0.0 {
        ends(range)
    } else {
        format!("{} {}", figures(range.low()), Q::UNIT)
    }
}

/// The result in one line.
fn headline(answer: &Answer) -> String {
    match answer {
        Answer::Current(Bounds { range, best }) => {
            let best = best.map(|best| format!(", best {}", answer::current(best.value())));
            answer::span(*range) + &best.unwrap_or_default()
        }
        Answer::Voltage(Bounds { range, best }) => {
            let best = best.map(|best| format!(", best {} mV", figures(best.value())));
            format!(
                "The meter will show {}{}",
                ends(*range),
                best.unwrap_or_default()
            )
        }
        Answer::Resistance(Bounds { range, best }) => {
            let best = best.map(|best| format!(", best {} mΩ", figures(best.value())));
            format!("{}{}", ends(*range), best.unwrap_or_default())
        }
        Answer::How => "How the resistance of a fuse is measured".to_owned(),
    }
}

/// Lines numbered from 1, wrapped to a width with the text in one column.
pub(super) fn numbered(lines: &[String], width: usize) -> String {
    let mut out = String::new();
    for (index, line) in lines.iter().enumerate() {
        let head = format!("{:>3}  ", index + 1);
        let look = textwrap::Options::new(width)
            .initial_indent(&head)
            .subsequent_indent("     ");
        let kept = clean(line)
            .replace(" mA", "\u{a0}mA")
            .replace(" mV", "\u{a0}mV");
        let kept = kept.replace(" mΩ", "\u{a0}mΩ").replace(" %", "\u{a0}%");
        out.push_str(&textwrap::fill(&kept, look).replace(TOGETHER, " "));
        out.push('\n');
    }
    out
}

fn sentences(worked: &Worked) -> Vec<String> {
    worked.steps.iter().map(sentence).collect()
}

/// The result and its numbered working, in lines of at most `width` columns.
pub fn amps(worked: &Worked, width: usize) -> String {
    let working = numbered(&sentences(worked), width);
    format!("{}\n{working}", headline(&worked.answer))
}

fn bounds<Q: Quantity>(bounds: &Bounds<Q>) -> Value {
    json!({
        "low": answer::at_least(bounds.range.low()),
        "best": bounds.best.map_or(Value::Null, |best| answer::number(best.value())),
        "high": answer::at_most(bounds.range.high()),
    })
}

/// The same as data.
pub fn amps_json(worked: &Worked) -> Value {
    let working = sentences(worked);
    match &worked.answer {
        Answer::Current(current) => json!({"ma": bounds(current), "working": working}),
        Answer::Voltage(voltage) => json!({"mv": bounds(voltage), "working": working}),
        Answer::Resistance(resistance) => {
            let mut object = json!({"mohm": bounds(resistance), "working": working});
            if let Some(line) = measured::line_to_write(worked) {
                object["write"] = json!(line);
            }
            object
        }
        Answer::How => json!({"working": working}),
    }
}
