//! What to type at a step, and how to get out of readings that clash.

use crate::case::{Case, Entry, Next, State};
use crate::journal::Act;
use crate::measurement::{Jack, Method, Way};

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
            (Method::Drop, _) => "the reading alone, such as 2.1mV".to_owned(),
            (Method::Volts, _) => "the reading alone, such as 12.4V".to_owned(),
            (_, Some(Way::Series(Jack::MilliA))) => "the reading alone, such as 43.2mA".to_owned(),
            (_, Some(Way::Series(_))) => "the reading alone, such as 0.61A".to_owned(),
            (Method::Clamp | Method::Series | Method::Draw, _) => {
                "the reading alone, such as 610mA".to_owned()
            }
        },
        (State::Confirmed, None) => "repaired and what was mended; or quit".to_owned(),
        _ => "any other entry, or quit".to_owned(),
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
