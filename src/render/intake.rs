//! The battery arithmetic of an intake, in words and as data.

use crate::battery::{self, Allowed, Charge, Comparison, Intake, NO_START, Rested, Size};
use crate::interval::Interval;
use crate::quantity::{AmpHours, Days, Milliamps};
use crate::render::amps::{figures, numbered};
use crate::render::answer;
use crate::report::Unexplained;
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

/// "12.2 V", of two in series "24.4 V".
fn at_rest(rested: Rested) -> String {
    let volts = rested.volts.value() / 1000.0;
    let two = if rested.batteries() > 1.0 {
        ", two in series"
    } else {
        ""
    };
    format!("{} V at rest{two}", figures(volts))
}

/// "1 day", "2.5 days".
pub(super) fn day_count(days: Days) -> String {
    match figures(days.value()).as_str() {
        "1" => "1 day".to_owned(),
        more => format!("{more} days"),
    }
}

/// That the draw does not explain the days told, and what to look at then.
pub(super) fn unexplained_words(unexplained: &Unexplained) -> String {
    let Unexplained {
        told,
        lasts,
        draw,
        how,
    } = unexplained;
    let told = day_count(*told);
    let said = format!(
        "Flat after {told} was told; {} empties a full battery in {}",
        answer::span(*draw),
        days_span(*lasts)
    );
    match how {
        Comparison::More => format!(
            "{said}, so what was measured does not explain it: it is not there all the time, or the vehicle was left otherwise."
        ),
        _ => format!(
            "{said}, so what was measured does not explain it. Check the charging, the battery itself, and whether it draws more at times (warm, wet, locked, just driven)."
        ),
    }
}

/// "about 50 % charged, 31 to 69 %".
pub(super) fn charged(charge: Charge) -> String {
    let percent = |share: f64| format!("{:.0}", share * 100.0);
    let (low, best, high) = (
        percent(charge.low),
        percent(charge.best),
        percent(charge.high),
    );
    format!("about {best} % charged, {low} to {high} %")
}

/// What a battery too low asks for.
pub(super) fn battery_low(rested: Rested) -> String {
    let each = if rested.batteries() > 1.0 {
        " each"
    } else {
        ""
    };
    format!(
        "{}: {}. Below {} V{each} modules may behave otherwise, and a draw measured on it says little (common practice, no source): charge it first, let it rest some hours, and read it again.",
        at_rest(rested),
        charged(rested.charge()),
        battery::CHARGE_BELOW
    )
}

/// What a battery that has not rested asks for.
pub(super) fn battery_charging(rested: Rested) -> String {
    format!(
        "{}: no battery shows that much; a charger is on, or was just before (common practice, no source). Off with it, let it rest some hours, and read it again.",
        at_rest(rested)
    )
}

fn headlines(intake: &Intake) -> Vec<String> {
    let expected = intake.days.zip(intake.expected()).map(|(after, draw)| {
        format!(
            "Flat after {}: a draw of {}",
            day_count(after),
            answer::span(draw)
        )
    });
    let charge = intake.rested.map(|rested| {
        if rested.is_low() {
            battery_low(rested)
        } else if rested.is_charging() {
            battery_charging(rested)
        } else {
            format!("{}: {}", at_rest(rested), charged(rested.charge()))
        }
    });
    let full = if intake.rested.is_some() {
        ", from full,"
    } else {
        ":"
    };
    let lasts = intake
        .draw
        .zip(intake.lasts())
        .map(|(draw, lasts)| format!("At {}{full} flat after {}", ends(draw), days_span(lasts)));
    let left = intake.draw.zip(intake.left()).map(|(draw, left)| {
        format!(
            "At {}, as it is, flat after {}",
            ends(draw),
            days_span(left)
        )
    });
    let over = intake
        .draw
        .zip(intake.allowed.limit())
        .map(|(draw, limit)| against(draw, limit));
    let comparison = intake.comparison().map(compared);
    let lines = [expected, charge, lasts, left, over, comparison];
    lines.into_iter().flatten().collect()
}

/// A draw held against the limit.
fn against(draw: Interval<Milliamps>, limit: Milliamps) -> String {
    let allowed = figures(limit.value());
    if draw.low() > limit.value() {
        format!("The draw is over the limit of {allowed} mA")
    } else if draw.high() <= limit.value() {
        format!("The draw is within the limit of {allowed} mA")
    } else {
        format!("The draw may be over the limit of {allowed} mA: read it more finely")
    }
}

fn compared(comparison: Comparison) -> String {
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

/// How the charge follows from the volts at rest.
fn charge_lines(rested: Rested) -> Vec<String> {
    let rows: Vec<String> = battery::AT_REST
        .iter()
        .rev()
        .map(|(volts, share)| format!("{volts:.1} V {:.0} %", share * 100.0))
        .collect();
    let each = if rested.batteries() > 1.0 {
        "; of two in series each is taken to have half the volts"
    } else {
        ""
    };
    vec![format!(
        "At rest a 12 V battery shows {} (flooded, rounded, 25 °C, seen; straight between, and on below; makers differ by {} V, seen){each}: {}",
        rows.join(", "),
        battery::MAKERS_DIFFER,
        charged(rested.charge())
    )]
}

/// The days a draw leaves, from full and from the charge at rest.
fn lasting(intake: &Intake, capacity: AmpHours) -> Vec<String> {
    let mut lines = Vec::new();
    let whole = figures(capacity.value());
    let part = figures((capacity * NO_START).value());
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
    if let (Some(draw), Some(left), Some(rested)) = (intake.draw, intake.left(), intake.rested) {
        let charge = rested.charge();
        let above = (charge.low - (1.0 - NO_START)).max(0.0);
        let most = if left.high().is_infinite() {
            "and no end at the lower end of the draw".to_owned()
        } else {
            format!(
                "{:.0} % of it / {} mA = {} days at most",
                charge.high * 100.0,
                figures(draw.low()),
                figures(left.high())
            )
        };
        lines.push(format!(
            "As it is: {:.0} % of {whole} Ah above no-start / {} mA = {} days at least, {most}",
            above * 100.0,
            figures(draw.high()),
            figures(left.low())
        ));
    }
    lines
}

/// Who allows how much.
fn allowed(intake: &Intake) -> String {
    let mut text = match intake.allowed {
        Allowed::File(limit) => {
            format!(
                "Allowed: {} mA, by the vehicle file",
                figures(limit.value())
            )
        }
        Allowed::Usual(limit) => format!(
            "Allowed on 12 V: the maker's figure; where that is not known {} mA (common practice, no source; most makers say 25 to 50 mA, seen in service texts)",
            figures(limit.value())
        ),
        Allowed::Nobody => "Allowed on 24 V: no figure is assumed, ask the maker".to_owned(),
    };
    if let (Some(Size::Reserve(reserve)), false) = (intake.size, intake.allowed == Allowed::Nobody)
    {
        let quarter = figures(battery::one_makers_limit(reserve).value());
        text = format!(
            "{text}; one maker allows a quarter of the reserve minutes in mA, {quarter} mA here (seen), which would convict healthy vehicles of others"
        );
    }
    text
}

fn working(intake: &Intake) -> Vec<String> {
    let mut lines = Vec::new();
    lines.extend(intake.rested.map(charge_lines).into_iter().flatten());
    if let Some(given) = intake.size {
        let capacity = given.capacity();
        let used = capacity * NO_START;
        let (whole, part) = (figures(capacity.value()), figures(used.value()));
        lines.extend(size(given, capacity));
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
        lines.extend(lasting(intake, capacity));
        let own = battery::self_discharge(capacity);
        lines.push(format!(
            "The battery's own loss has a part in it, as {:.1} mA (glass mat, 2 % a month, seen) to {:.1} mA would (flooded, about 5 % a month, seen)",
            own.low(),
            own.high()
        ));
    }
    lines.push(allowed(intake));
    lines.push(
        "All this from a sound battery: an old or cold one is flat sooner, and so is one that was not full when it was left (common practice, no source)"
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

/// The same after a repair that holds: what was told is of before it, and the draw after it says how long the
/// battery lasts now.
pub fn intake_of_repaired(before: &Intake, now: &Intake, width: usize) -> String {
    // What the battery showed at rest was before it too.
    let now = Intake {
        days: None,
        rested: None,
        ..*now
    };
    let mut out = String::new();
    let parts = [("Before the repair:", before), ("Now:", &now)];
    for (head, intake) in parts {
        out.push_str(head);
        out.push('\n');
        for line in headlines(intake) {
            let look = textwrap::Options::new(width)
                .initial_indent("  ")
                .subsequent_indent("  ");
            out.push_str(&textwrap::fill(&line, look));
            out.push('\n');
        }
    }
    out + &numbered(&working(before), width)
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
    if let Some(rested) = intake.rested {
        let charge = rested.charge();
        let percent = json!([
            answer::number(charge.low * 100.0),
            answer::number(charge.high * 100.0)
        ]);
        object.insert("charge_percent".to_owned(), percent);
        object.insert("too_low".to_owned(), json!(rested.is_low()));
    }
    if let Some(left) = intake.left() {
        object.insert("days_left".to_owned(), pair(left.low(), left.high()));
    }
    if let Some(limit) = intake.allowed.limit() {
        object.insert("limit_ma".to_owned(), answer::number(limit.value()));
        let from = match intake.allowed {
            Allowed::File(_) => "vehicle file",
            _ => "common practice",
        };
        object.insert("limit_from".to_owned(), json!(from));
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
