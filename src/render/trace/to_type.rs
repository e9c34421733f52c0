//! What to type at a step, and how to get out of readings that clash.

use crate::case::{Case, Next, Setting, State, TestPlan};
use crate::measurement::{Jack, Method, Way, range_of};
use crate::render::setup;

/// What to type now.
pub(super) fn to_type(case: &Case<'_>, next: &Next) -> String {
    match (next.state, &next.test) {
        (State::Prepare, _) => "prepared, when all of it is done".to_owned(),
        (State::Contradiction, _) => again(case, next),
        (_, Some(test)) => match (test.method, test.way) {
            (Method::Wait, _) => format!(
                "asleep, once it has settled; with what it draws then: asleep; draw {}",
                of_draw(case.setting())
            ),
            (Method::Pull | Method::Unplug | Method::Refit | Method::Open | Method::Zero, _) => {
                "done, once it is".to_owned()
            }
            (Method::Look, _) => "yes or no".to_owned(),
            (Method::Log, _) => format!(
                "the highest in it alone, such as {}; or logged, for how long, most and the highest",
                sample(test, case.setting())
            ),
            _ => format!(
                "the reading alone, such as {}",
                sample(test, case.setting())
            ),
        },
        (State::Confirmed, None) => "repaired and what was mended; or quit".to_owned(),
        _ => "any other entry, or quit".to_owned(),
    }
}

/// A reading of the draw, as an example.
fn of_draw(setting: &Setting) -> String {
    let way = match setting.instruments.clamp {
        Some(_) => Way::Clamp { turns: 1 },
        None => Way::Series(Jack::A),
    };
    reading_by(Method::Draw, Some(way), setting)
}

/// A reading of a test, as an example that the display at hand could show.
pub(super) fn sample(test: &TestPlan, setting: &Setting) -> String {
    reading_by(test.method, test.way, setting)
}

fn reading_by(method: Method, way: Option<Way>, setting: &Setting) -> String {
    let meter = setting.instruments.meter;
    let millivolts = meter.and_then(|meter| meter.millivolts);
    match (method, way) {
        (Method::Look, _) => "yes".to_owned(),
        (Method::Drop, _) if setup::is_fine(setting) => "0.42mV reversed -0.38mV".to_owned(),
        (Method::Drop, _) => {
            let step = millivolts.map_or(0.1, |range| range.step.value());
            format!("{}mV", in_steps(2.1, step))
        }
        (Method::Volts, _) => "12.4V".to_owned(),
        (_, Some(Way::Series(jack))) => {
            let step = range_of(jack, &setting.instruments).map(|range| range.step.value());
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

/// How to get out of readings that clash.
fn again(case: &Case<'_>, next: &Next) -> String {
    let Some(number) = case.doubtful(&next.clash) else {
        return "any other entry, or quit".to_owned();
    };
    let withdraw = format!("or withdraw {number} and why, if that one was wrong");
    match case.again(&next.clash) {
        Some(test) => format!(
            "{} once more, the reading alone such as {}; another of these in full; {withdraw}",
            test.entry,
            sample(&test, case.setting())
        ),
        None => format!("one of these readings, taken again; {withdraw}"),
    }
}
