//! What `next` says, as data with its sentences.

use crate::case::{Found, Located, Next, Reason, Setting, State, TestPlan};
use crate::feeds::PlaceId;
use crate::interval::Interval;
use crate::measurement::{Jack, Method, Way};
use crate::quantity::Milliamps;
use crate::render::cautions::cautions;
use crate::render::comes::{up_together, watch_json};
use crate::render::odds::moved_words;
use crate::render::preparation::preparation;
use crate::render::setup;
use serde_json::{Map, Value, json};

mod because;
mod question;

pub(super) use because::ASLEEP;
pub use because::because;
pub(super) use because::parting;
pub(super) use question::jaws_too_small;
pub use question::question;
pub(super) use question::repaired_lines;

/// A number for the data: rounded to a thousandth, `null` where it is not bounded.
pub(super) fn number(value: f64) -> Value {
    if value.is_finite() {
        json!((value * 1000.0).round() / 1000.0)
    } else {
        Value::Null
    }
}

/// A thousandth of what is rounded to thousandths: noise of binary fractions, which does not count.
const NOISE: f64 = 1e-6;

/// The lower end of what holds the truth: never rounded up.
pub(super) fn at_least(value: f64) -> Value {
    number((value * 1000.0 + NOISE).floor() / 1000.0)
}

/// The upper end: never rounded down.
pub(super) fn at_most(value: f64) -> Value {
    number((value * 1000.0 - NOISE).ceil() / 1000.0)
}

/// An interval, outwards to the thousandth.
pub(super) fn pair(current: Interval<Milliamps>) -> Value {
    json!([at_least(current.low()), at_most(current.high())])
}

/// The word for a state in the data.
pub const fn state_word(state: State) -> &'static str {
    match state {
        State::Prepare => "prepare",
        State::Baseline => "baseline",
        State::Wait => "wait",
        State::Measure => "measure",
        State::Confirm => "confirm",
        State::Confirmed => "confirmed",
        State::Located => "located",
        State::Gone => "gone",
        State::WithinLimit => "within_limit",
        State::Verify => "verify",
        State::Contradiction => "contradiction",
        State::Undecidable => "undecidable",
    }
}

/// A current for reading: tenths of a milliamp below 10 mA, whole ones below 1 A, then amps to three digits.
pub fn current(ma: f64) -> String {
    if ma.is_infinite() {
        "any current".to_owned()
    } else if ma.abs() >= 9_995.0 {
        format!("{:.1} A", ma / 1000.0)
    } else if ma.abs() >= 999.5 {
        format!("{:.2} A", ma / 1000.0)
    } else if ma.abs() >= 10.0 {
        format!("{ma:.0} mA")
    } else {
        format!("{ma:.1} mA")
    }
}

/// An interval of current for reading.
pub fn span(interval: Interval<Milliamps>) -> String {
    let (low, high) = (current(interval.low()), current(interval.high()));
    if interval.high().is_infinite() {
        format!("{low} or more")
    } else if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// The object that `next --json` prints.
pub fn next_json(next: &Next, setting: &Setting) -> Value {
    let feeds = &setting.feeds;
    let mut object = Map::new();
    let mut put = |key: &str, value: Value| {
        object.insert(key.to_owned(), value);
    };
    put("state", json!(state_word(next.state)));
    if let Some(test) = &next.test {
        put("test", test_json(test, setting));
    }
    put("because", json!(because(next, setting)));
    let mut questions: Vec<String> = next
        .questions
        .iter()
        .map(|q| question(q, setting))
        .collect();
    if next.state == State::Prepare || next.reason == Reason::PrepareAgain {
        let mut list = preparation(next, setting);
        list.append(&mut questions);
        questions = list;
    }
    if !next.together.is_empty() {
        questions.push(up_together(&next.together, feeds));
    }
    put("questions", json!(questions));
    if !next.open.is_empty() {
        let names: Vec<_> = next.open.iter().map(|p| place(*p, setting)).collect();
        put("open", json!(names));
    }
    let suspects = match &next.suspects[..] {
        [] => &next.in_question,
        suspects => suspects,
    };
    if !suspects.is_empty() {
        let list: Vec<_> = suspects
            .iter()
            .map(|s| {
                let moved = s.moved.iter();
                let because: Vec<_> = moved.map(|m| moved_words(&setting.feeds, m)).collect();
                let mut row = json!({"part": s.id, "cause": s.cause.words(),
                       "odds": number_fine(s.odds), "hides_ma": at_most(s.hides)});
                if !because.is_empty() {
                    row["because"] = json!(because);
                }
                row
            })
            .collect();
        put("suspects", json!(list));
    }
    if !next.shown.is_empty() {
        let list: Vec<_> = next
            .shown
            .iter()
            .map(|l| located_json(l, setting))
            .collect();
        put("located", json!(list));
    }
    if !next.found.is_empty() {
        let list: Vec<_> = next.found.iter().map(|f| found_json(f, setting)).collect();
        put("found", json!(list));
    }
    if let Some(watch) = &next.watch {
        put("watch", watch_json(watch, setting));
    }
    if !next.out.is_empty() {
        put("out", json!(next.out));
    }
    if !next.clash.is_empty() {
        put("clash", json!(next.clash));
    }
    let mut minutes = Map::new();
    minutes.insert("spent".into(), number(next.spent));
    if let Some(expected) = next.expected {
        minutes.insert("expected".into(), number(expected));
    }
    if let Some(least) = next.at_least {
        minutes.insert("at_least".into(), number(least));
    }
    put("minutes", Value::Object(minutes));
    let _ = feeds;
    Value::Object(object)
}

/// Small odds keep their digits.
pub(super) fn number_fine(value: f64) -> Value {
    json!((value * 1e6).round() / 1e6)
}

fn place(place: PlaceId, setting: &Setting) -> String {
    setting.feeds.place_as_written(place).id.value.clone()
}

pub(super) fn located_json(located: &Located, setting: &Setting) -> Value {
    let path: Vec<_> = located.path.iter().map(|p| setting.feeds.id(*p)).collect();
    json!({"part": located.id, "path": path, "excess_ma": pair(located.excess), "unplug": located.unplug})
}

pub(super) fn found_json(found: &Found, setting: &Setting) -> Value {
    json!({"part": found.subject.id(&setting.feeds), "cause": found.cause.words(),
           "fell_ma": pair(found.fell), "returned": found.returned})
}

const fn method_word(method: Method) -> &'static str {
    crate::journal::word(method)
}

pub(super) fn test_json(test: &TestPlan, setting: &Setting) -> Value {
    let mut object = Map::new();
    let mut put = |key: &str, value: Value| {
        object.insert(key.to_owned(), value);
    };
    put("method", json!(method_word(test.method)));
    match test.points.as_slice() {
        [] => {}
        [one] => put("point", json!(one)),
        several => put("points", json!(several)),
    }
    if let Some(at) = test.place {
        put("place", json!(place(at, setting)));
    }
    put("minutes", number(test.minutes));
    put("disturbs", number(test.disturbs));
    put("entry", json!(test.entry));
    let (instrument, jack, range) = instrument(test);
    put("instrument", json!(instrument));
    if let Some(jack) = jack {
        put("jack", json!(jack));
    }
    if let Some(range) = range {
        put("range", json!(range));
    }
    let first = setup::first(test, setting, &setup::Earlier::default());
    if !first.is_empty() {
        put("first", json!(first));
    }
    if let Some(expect) = test.expect {
        let two = |(low, high): (f64, f64)| json!([number(low), number(high)]);
        let unit = if expect.millivolts { "mV" } else { "mA" };
        let mut shown = Map::new();
        shown.insert("carrying".into(), two(expect.carrying));
        if let Some(some) = expect.some {
            shown.insert("some".into(), two(some));
        }
        shown.insert("not".into(), two(expect.not));
        shown.insert("unit".into(), json!(unit));
        put("expect", Value::Object(shown));
    }
    let cautions = cautions(test, setting);
    if !cautions.is_empty() {
        put("cautions", json!(cautions));
    }
    Value::Object(object)
}

/// Instrument, jack and range of a test.
pub(super) fn instrument(
    test: &TestPlan,
) -> (&'static str, Option<&'static str>, Option<&'static str>) {
    match (test.method, test.way) {
        (_, Some(Way::Clamp { .. })) => ("clamp", None, None),
        (_, Some(Way::Series(Jack::MilliA))) => ("meter", Some("mA"), Some("mA")),
        (_, Some(Way::Series(_))) => ("meter", Some("A"), Some("A")),
        (Method::Drop, _) => ("meter", Some("V"), Some("mV")),
        (Method::Volts, _) => ("meter", Some("V"), Some("V")),
        _ => ("none", None, None),
    }
}
