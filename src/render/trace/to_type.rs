//! What to type at a step, and how to get out of readings that clash.

use crate::case::{Case, Entry, Next, Setting, State, TestPlan};
use crate::instruments::Clamp;
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

/// A reading of a test, as an example.
pub(super) fn sample(test: &TestPlan, setting: &Setting) -> &'static str {
    let on_meter = |clamp: Clamp| clamp.scale.is_some();
    match (test.method, test.way) {
        (Method::Look, _) => "yes",
        (Method::Drop, _) if setup::is_fine(setting) => "0.42mV reversed -0.38mV",
        (Method::Drop, _) => "2.1mV",
        (Method::Volts, _) => "12.4V",
        (_, Some(Way::Series(Jack::MilliA))) => "43.2mA",
        (_, Some(Way::Series(_))) => "0.61A",
        _ if setting.instruments.clamp.is_some_and(on_meter) => "61.0mV",
        _ => "610mA",
    }
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
