//! What to type at a step, and how to get out of readings that clash.

use crate::case::{Case, Entry, Next, Setting, State, TestPlan};
use crate::journal::Act;
use crate::measurement::{Jack, Method, Way};
use crate::render::setup;

/// What to type now.
pub(super) fn to_type(case: &Case<'_>, next: &Next) -> String {
    match (next.state, &next.test) {
        (State::Prepare, _) => "prepared, when all of it is done".to_owned(),
        (State::Contradiction, _) => again(case, next),
        (_, Some(test)) => match (test.method, test.way) {
            (Method::Wait, _) => "asleep, once it has settled".to_owned(),
            (Method::Pull | Method::Unplug | Method::Refit | Method::Open | Method::Zero, _) => {
                "done, once it is".to_owned()
            }
            (Method::Look, _) => "yes or no".to_owned(),
            _ => format!(
                "the reading alone, such as {}",
                sample(test, case.setting())
            ),
        },
        (State::Confirmed, None) => "repaired and what was mended; or quit".to_owned(),
        _ => "any other entry, or quit".to_owned(),
    }
}

/// A reading of a test, as an example that the display at hand could show.
pub(super) fn sample(test: &TestPlan, setting: &Setting) -> String {
    let meter = setting.instruments.meter;
    let millivolts = meter.and_then(|meter| meter.millivolts);
    match (test.method, test.way) {
        (Method::Look, _) => "yes".to_owned(),
        (Method::Drop, _) if setup::is_fine(setting) => "0.42mV reversed -0.38mV".to_owned(),
        (Method::Drop, _) => {
            let step = millivolts.map_or(0.1, |range| range.step.value());
            format!("{}mV", in_steps(2.1, step))
        }
        (Method::Volts, _) => "12.4V".to_owned(),
        (_, Some(Way::Series(jack))) => {
            let step = setup::range_of(jack, setting).map(|range| range.step.value());
            match jack {
                Jack::MilliA => format!("{}mA", in_steps(43.2, step.unwrap_or(0.1))),
                _ => format!("{}A", in_steps(0.61, step.unwrap_or(10.0) / 1000.0)),
            }
        }
        _ => match setting.instruments.clamp {
            Some(clamp) if clamp.scale.is_some() => {
                let step = millivolts.map_or(0.1, |range| range.step.value());
                format!("{}mV", in_steps(61.0, step))
            }
            Some(clamp) if clamp.range.step.value() >= 10.0 => {
                format!("{}A", in_steps(0.61, clamp.range.step.value() / 1000.0))
            }
            _ => "610mA".to_owned(),
        },
    }
}

/// A number as a display with this step shows it.
fn in_steps(value: f64, step: f64) -> String {
    let decimals = (0..6).find(|places| {
        let scaled = step * 10f64.powi(*places);
        scaled > 0.0 && (scaled - scaled.round()).abs() < 1e-6
    });
    let decimals = decimals.unwrap_or(1) as usize;
    format!("{:.decimals$}", (value / step).round() * step)
}

/// Of readings that clash, the first of two taken alike: it was read again, and is the doubtful one.
fn read_twice(case: &Case<'_>, next: &Next) -> Option<u32> {
    let clashing = |entry: &&Entry| next.clash.contains(&entry.number);
    let entries: Vec<&Entry> = case.entries().iter().filter(clashing).collect();
    let alike = |one: &Entry, two: &Entry| match (&one.act, &two.act) {
        (
            Act::Read { method, point, .. },
            Act::Read {
                method: other,
                point: there,
                ..
            },
        ) => method == other && point == there && *method != Method::Draw,
        _ => false,
    };
    let first = entries.iter().enumerate().find(|(at, one)| {
        let mut later = entries[at + 1..].iter();
        later.any(|two| alike(one, two))
    });
    first.map(|(_, entry)| entry.number)
}

/// How to get out of readings that clash.
fn again(case: &Case<'_>, next: &Next) -> String {
    let readings = case.entries().iter().rev().filter_map(|entry| {
        let read = matches!(entry.act, Act::Read { .. });
        (read && next.clash.contains(&entry.number)).then_some(entry.number)
    });
    let last = readings.max().or(next.clash.last().copied());
    let last = read_twice(case, next).or(last);
    match last {
        Some(number) => format!(
            "one of these readings, taken again; or withdraw {number} and why, if that one was wrong"
        ),
        None => "any other entry, or quit".to_owned(),
    }
}
