//! The battery arithmetic of an intake, in words and as data.

use crate::battery::{self, Comparison, Intake, NO_START, Size};
use crate::interval::Interval;
use crate::quantity::{AmpHours, Days, Milliamps};
use crate::render::amps::{figures, numbered};
use crate::render::answer;
use serde_json::{Map, Value, json};

/// Days for reading: whole ones from 10 up, tenths below.
fn days(value: f64) -> String {
    if value >= 10.0 {
        format!("{value:.0}")
    } else {
        let text = format!("{value:.1}");
        text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
    }
}

fn days_span(span: Interval<Days>) -> String {
    match (days(span.low()), days(span.high())) {
        (low, _) if span.high().is_infinite() => format!("{low} days or more"),
        (low, high) => format!("{low} to {high} days"),
    }
}

fn ends(current: Interval<Milliamps>) -> String {
    let (low, high) = (figures(current.low()), figures(current.high()));
    if current.width() > 0.0 {
        format!("{low} to {high} mA")
    } else {
        format!("{low} mA")
    }
}

fn headlines(intake: &Intake) -> Vec<String> {
    let expected = intake.days.zip(intake.expected()).map(|(after, draw)| {
        format!(
            "Flat after {} days: a draw of {}",
            figures(after.value()),
            answer::span(draw)
        )
    });
    let lasts = intake
        .draw
        .zip(intake.lasts())
        .map(|(draw, lasts)| format!("At {}: flat after {}", ends(draw), days_span(lasts)));
    let comparison = intake.comparison().map(|comparison| {
        match comparison {
            Comparison::Fits => "The draw fits the days",
            Comparison::Less => {
                "The draw is too small for the days: the drain comes and goes, the battery or its \
                 charging is at fault, or the vehicle is left in another state than it was \
                 measured in"
            }
            Comparison::More => {
                "The draw is too large for the days: ask again how long it stood, or it was not \
                 asleep when measured"
            }
        }
        .to_owned()
    });
    expected
        .into_iter()
        .chain(lasts)
        .chain(comparison)
        .collect()
}

fn size(size: Size, capacity: AmpHours) -> Vec<String> {
    let Size::Reserve(reserve) = size else {
        let given = figures(capacity.value());
        return vec![format!("Capacity: {given} Ah at the 20 h rate, as given")];
    };
    let minutes = figures(reserve.value());
    vec![
        format!(
            "Reserve: {minutes} min at 25 A are {} Ah (SAE J537 quantity, seen in a maker's service text)",
            figures(battery::charge_of_reserve(reserve).value())
        ),
        format!(
            "Capacity at the 20 h rate: 0.6 × {minutes} = {} Ah (a maker's bulletin, seen; against EN 50342-1, from memory, 13 % low at 45 min and 8 % high at 180 min, derived)",
            figures(capacity.value())
        ),
    ]
}

fn working(intake: &Intake) -> Vec<String> {
    let capacity = intake.size.capacity();
    let used = capacity * NO_START;
    let (whole, part) = (figures(capacity.value()), figures(used.value()));
    let mut lines = size(intake.size, capacity);
    lines.push(format!(
        "It no longer starts when about 40 % is used, {part} Ah, at 25 °C (a maker's bulletin, seen); wholly flat is all {whole} Ah"
    ));
    if let Some((after, draw)) = intake.days.zip(intake.expected()) {
        let hours = format!("({} × 24 h)", figures(after.value()));
        lines.push(format!(
            "{part} Ah / {hours} = {} mA at least, {whole} Ah / {hours} = {} mA at most",
            figures(draw.low()),
            figures(draw.high())
        ));
    }
    if let Some((draw, lasts)) = intake.draw.zip(intake.lasts()) {
        let most = if lasts.high().is_infinite() {
            "and no end at the lower end of the draw".to_owned()
        } else {
            format!(
                "{whole} Ah / {} mA = {} days at most",
                figures(draw.low()),
                figures(lasts.high())
            )
        };
        lines.push(format!(
            "{part} Ah / {} mA = {} days at least, {most}",
            figures(draw.high()),
            figures(lasts.low())
        ));
    }
    let own = battery::self_discharge(capacity);
    lines.push(format!(
        "The battery's own loss has a part in it, as {:.1} mA (glass mat, 2 % a month, seen) to {:.1} mA would (flooded, about 5 % a month, seen)",
        own.low(),
        own.high()
    ));
    if let Size::Reserve(reserve) = intake.size {
        lines.push(format!(
            "Allowed on 12 V: by one maker a quarter of the reserve minutes in mA, {} mA; by most 25 to 50 mA (seen, makers' service texts): look up this vehicle's",
            figures(battery::one_makers_limit(reserve).value())
        ));
    }
    lines.push(
        "All this from a full, sound battery: an old, cold or half-charged one is flat sooner (common practice, no source)"
            .to_owned(),
    );
    lines
}

/// The result and its numbered working, in lines of at most `width` columns.
pub fn intake(intake: &Intake, width: usize) -> String {
    let mut out = String::new();
    for line in headlines(intake) {
        out.push_str(&textwrap::fill(&line, width));
        out.push('\n');
    }
    out + &numbered(&working(intake), width)
}

/// The same as data.
pub fn intake_json(intake: &Intake) -> Value {
    let mut object = Map::new();
    let pair = |low, high| json!([answer::number(low), answer::number(high)]);
    if let Some(draw) = intake.expected() {
        object.insert("expected_ma".to_owned(), pair(draw.low(), draw.high()));
    }
    if let Some(lasts) = intake.lasts() {
        object.insert("days".to_owned(), pair(lasts.low(), lasts.high()));
    }
    if let Some(comparison) = intake.comparison() {
        let word = match comparison {
            Comparison::Fits => "fits",
            Comparison::Less => "less",
            Comparison::More => "more",
        };
        object.insert("draw".to_owned(), json!(word));
    }
    object.insert("working".to_owned(), json!(working(intake)));
    Value::Object(object)
}
