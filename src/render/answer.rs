//! What `next` says, as data with its sentences.

use crate::case::{Found, Located, Next, Question, Reason, Setting, State, TestPlan};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::measurement::{Jack, Method, Reading, Unit, Way};
use crate::quantity::{Milliamps, Millivolts};
use crate::render::amps::figures;
use crate::render::cautions::{cautions, preparation};
use crate::render::comes::{up_together, watch_json};
use crate::render::intake::{battery_charging, battery_low};
use crate::render::log::duration;
use crate::render::need::blind_words;
use crate::render::odds::moved_words;
use crate::render::setup;
use crate::render::words::number as number_words;
use serde_json::{Map, Value, json};

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
    if !next.suspects.is_empty() {
        let list: Vec<_> = next
            .suspects
            .iter()
            .map(|s| {
                let because: Vec<_> = s.moved.iter().map(moved_words).collect();
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
    if !next.located.is_empty() {
        let list: Vec<_> = next
            .located
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

/// That a wire is too thick for the clamp at hand.
pub(super) fn jaws_too_small(part: PartId, setting: &Setting) -> String {
    let jaw = setting.instruments.clamp.and_then(|clamp| clamp.jaw);
    format!(
        "The clamp opens {:.0} mm and {} is about {:.0} mm thick (1.6 times its copper, judgement): jaws that are not shut read too little. Did they shut?",
        jaw.map_or(0.0, crate::quantity::Millimetres::value),
        setting.feeds.id(part),
        setting.thickness(part).unwrap_or_default()
    )
}

/// Places to lay open that are named.
const NAMED: usize = 4;

/// "driver footwell (4 min), load area (3 min)".
fn with_minutes(places: &[PlaceId], setting: &Setting) -> String {
    let named = places.iter().map(|at| {
        let minutes = number_words(setting.feeds.place_as_written(*at).reach.value());
        format!("{} ({minutes} min)", place(*at, setting))
    });
    named.collect::<Vec<String>>().join(", ")
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

/// One sentence: why this step.
pub fn because(next: &Next, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    match next.reason {
        Reason::Prepare => "Nothing is read before the vehicle is prepared and everything needed is open.".into(),
        Reason::Settle => {
            let text = "Readings count only while the vehicle is asleep.";
            // Once a proof runs, or a repair is judged, nothing more needs to be got at.
            let searching = next.state == State::Wait && next.located.is_empty();
            let quiet = |place: &PlaceId| !feeds.place_as_written(*place).wakes;
            // What is open when the settle is over was free.
            let mut left = next.test.as_ref().map_or(0.0, |test| test.minutes);
            let mut fits = |place: &PlaceId| {
                let reach = feeds.place_as_written(*place).reach.value();
                let fits = reach <= left;
                left -= if fits { reach } else { 0.0 };
                fits
            };
            let closed = next.open.iter().copied().filter(|_| searching);
            let places: Vec<_> = closed
                .filter(quiet)
                .filter(|place| fits(place))
                .take(NAMED)
                .collect();
            if places.is_empty() {
                text.to_owned()
            } else {
                format!(
                    "{text} Meanwhile lay open what is likeliest to be needed and does not wake it: {}.",
                    with_minutes(&places, setting)
                )
            }
        }
        Reason::FirstDraw => "The settled total comes first: everything else is measured against it.".into(),
        Reason::Doubted => "That draw can hardly be right; check the set-up and read it again.".into(),
        Reason::Finer => "That reading is too coarse to judge by; the finer range can take this current.".into(),
        Reason::Parts(1, _) => "One possible cause is left; this shows whether it is the one.".into(),
        Reason::Parts(_, PartId(0)) => {
            "This parts the possible causes best for the minutes it takes.".into()
        }
        Reason::Parts(_, focus) => format!(
            "This parts the possible causes below {} best for the minutes it takes.",
            feeds.id(focus)
        ),
        Reason::Together(several) => format!(
            "One settle tells of all {several}: each holds too little of the odds to be worth one of its own. Note where each goes."
        ),
        Reason::PartBack => "It fell with more out; with these back in the draw says which of it the drain needs.".into(),
        Reason::Prove => "Taking it out proves it: the draw must fall, and return when it is back in.".into(),
        Reason::DrawWithout => "Only the draw says whether the drain needs what is out.".into(),
        Reason::StillFalling => "Asleep was said too early once in this case: the draw fell by itself. From there on a draw counts when it reads the same twice, some minutes apart.".into(),
        Reason::TotalFirst if next.state != State::Confirm => "Some readings were taken since the draw: had it changed meanwhile, their zeros would say nothing.".into(),
        Reason::TotalFirst => "The proof compares with this draw, so it is read once more: while it falls by itself, a fall proves nothing.".into(),
        Reason::StillThere => "That broke the supply twice: the reading counts only if the draw is still what it was.".into(),
        Reason::BackFirst => "Everything else goes back in first, so that one thing alone is out.".into(),
        Reason::Returns => "It fell. Only if the draw returns with it is it proven and not merely reset.".into(),
        Reason::StaysOut => "It is proven; it comes out again and stays out while the rest is judged.".into(),
        Reason::OpenFirst(at) => format!(
            "Opening {} wakes the vehicle, so it is opened now and left open.",
            place(at, setting)
        ),
        Reason::LiveThere => "A drop of 0.0 counts only where the part is live: a probe off the tab reads 0.0 as well.".into(),
        Reason::NobodyAlone => "Nothing that is left could be the drain by itself: a zero may be wrong, a probe off its tab reads 0.0 too. The zeros are checked before anything comes out.".into(),
        Reason::GoesNowhere(top) => format!(
            "More goes into {0} than all that it feeds can take by what was read: a probe was off its tab at one of them, or {0} itself leaks, or feeds something on no sheet. The zeros there are checked first.",
            feeds.id(top)
        ),
        Reason::ZeroAgain => "A verdict rests on that zero, and one reading may be wrong: read it once more, with the probes where they showed volts.".into(),
        Reason::Proven => "With what was proven out, the draw is within the limit.".into(),
        Reason::Within => "The settled draw is within the limit: there is no drain now. Does it come and go?".into(),
        Reason::Vanished => "The draw is within the limit with nothing out: the fault has gone, and readings from here prove nothing about it.".into(),
        Reason::Clash => "These readings cannot all be true; take one of them again.".into(),
        Reason::NoSingleCause => "Nothing left could take that much by itself: there is no single cause, or a reading is wrong.".into(),
        Reason::CannotPart => "What is left cannot be parted further, and no proof can be taken; it is still live.".into(),
        Reason::RepairedBackIn => "The repair is judged with everything back in, as the owner leaves the vehicle.".into(),
        Reason::PrepareAgain => "After a repair everything is prepared anew and settles in full; nothing read before says how it draws now.".into(),
        Reason::AfterRepair => "The settled draw with everything in shows whether the repair holds.".into(),
        Reason::Watch => "It is within the limit: so far the repair holds. A second reading after a watch closes the case; one alone says nothing of a drain that comes and goes.".into(),
        Reason::Mended => "With everything in the draw is within the limit, and still was when it had been watched.".into(),
        Reason::MendedUnread => "NOT VERIFIED: the draw was not read after the repair, so nothing says that it is mended.".into(),
        Reason::MendedUnwatched => "NOT VERIFIED: with everything in the draw was within the limit once, and it was not watched. A drain that comes and goes, or takes its time, would show like this too.".into(),
        Reason::TooCoarse(left) => format!(
            "The draw that is left, {}, may be over the limit of {} or not, and with what is at hand no fall would show in it: read it on a finer range, such as an mA jack or a clamp that reads single milliamps.",
            span(left),
            current(setting.limit())
        ),
        Reason::NoLimit => "Without the maker's limit for this vehicle there is no verdict; enter it as limit: mA(…).".into(),
    }
}

/// What to do with a zero that is none.
fn take_off(zero: &Reading) -> String {
    let shown = figures(f64::midpoint(zero.low, zero.high));
    match zero.unit {
        Unit::Millivolts => format!(
            "{shown} mV with the probes together is the leads' own: take it off every drop before you type it, or let the meter's zero key do it. More than about 0.5 mV is a bad lead or a dirty plug (judgement)."
        ),
        Unit::Milliamps => format!(
            "{shown} mA with nothing in the jaws is the clamp's own: zero it where it reads, or take it off before you type. Where it comes back, open and shut the jaws."
        ),
    }
}

/// A question in words.
#[allow(clippy::too_many_lines)] // one sentence a question
pub fn question(question: &Question, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    match question {
        Question::HardlyAnything(at) => format!(
            "Only {} on a vehicle with modules: is the bridge lead still on? A keep-alive supply or charger? The meter's fuse, the right jack? A clamp not shut round all leads? Read again, or add `sure`.",
            span(*at)
        ),
        Question::Awake(at) => format!(
            "{} is an awake vehicle: is a door latch, key or switch keeping it up? Wait and read again, or add `sure`.",
            span(*at)
        ),
        Question::MoreThanJack(most) => format!(
            "That is more than this jack takes ({}): which jack was it? Type it again with jack A or jack mA; use the clamp or the higher jack.",
            current(most.value())
        ),
        Question::LeadsRound => "A minus: the leads or the clamp are the other way round, or something charges: cover it or switch it off. It does not count: read it again.".into(),
        Question::DidNotFall(part, entry, current, fell) => format!(
            "By entry {entry} {} flowed in {}, and with it out the draw fell by {} at most. Was that read at another fuse? Then: withdraw {entry} and why. Or do others take over what it did?",
            span(*current),
            feeds.id(*part),
            self::current(*fell)
        ),
        Question::NearZero => "A minus this near zero is the instrument's own: it counts as zero.".into(),
        Question::NotAsleep => "The vehicle was not asleep, so this rules nothing out; enter `asleep` once it has settled.".into(),
        Question::Changed(before, now) => format!(
            "The draw was {}, now it is {}, and nothing was done: earlier readings no longer count. Did it wake?",
            span(*before),
            span(*now)
        ),
        Question::Rose(before, now) => format!(
            "{} is more than before ({}), with nothing added: it woke, or partners call what is out. Wait the full settle and read again; the same once more is believed.",
            span(*now),
            span(*before)
        ),
        Question::NotSettledThen(subjects) => {
            let ids: Vec<String> = subjects.iter().map(|s| s.id(feeds)).collect();
            format!(
                "The draw fell by itself, so it was still settling when {} was taken out: that proof counts no longer, and it stays in question.",
                ids.join(", ")
            )
        }
        Question::NotMended(now) => format!(
            "{} with everything in, after the repair: that is still over the limit, so the search goes on; what was mended is looked at again first. Not mended yet, a second drain, or not the cause? If the vehicle woke, undo and let it settle.",
            span(*now)
        ),
        Question::Blown(part) => format!(
            "Near battery volts across {}: it is blown, nothing passes.",
            feeds.id(*part)
        ),
        Question::OverRange(part) => format!(
            "More than the range shows at {}: take a higher range and read again. Near battery volts across a fuse: it is blown.",
            feeds.id(*part)
        ),
        Question::NoCurrent(part) => format!(
            "This says nothing about a current at {}: no instrument or resistance for it is entered.",
            feeds.id(*part)
        ),
        Question::WhatElse => "One plain meter is assumed: is there a clamp, a finer meter, a loop? Give them with --instruments.".into(),
        Question::BackFed(part) => format!(
            "Below zero at {} again: something feeds back there or charges. Solar, a mains charger, a DC/DC converter or a second battery: off or covered first, then read again.",
            feeds.id(*part)
        ),
        Question::FellAndStayed(fell, 1) => format!(
            "It fell by at least {} with that out and stayed down with it back in: it was reset, or it timed out meanwhile. The fall says nothing about what was out.",
            current(*fell)
        ),
        Question::FellAndStayed(_, times) => format!(
            "For the {times}th time it fell and stayed down whatever was out: modules are going to sleep one by one, and pulling only passes the time. Leave everything in, wait until the draw no longer moves (log it), and only then go on."
        ),
        Question::TotalAgain => "Several readings since the total: read it with the next one where you can (… with 640mA), or `draw` in between; once it has changed, a zero says nothing.".into(),
        Question::LogTooShort(minutes, least) => format!(
            "A log of {} says nothing yet: the fault stays away for up to {}; log at least that long, better three times.",
            duration(*minutes),
            duration(*least)
        ),
        Question::StillComes(most) => format!(
            "The log went up to {}: what comes and goes still does, so the repair was not it, or not all of it.",
            current(*most)
        ),
        Question::NobodyMeant(text) => format!(
            "“{text}” names no part, place or kind of load of this vehicle, so it moves no odds; name one as the file does, such as told odds {} 3.",
            feeds.parts().nth(1).map_or("radio", |part| feeds.id(part))
        ),
        Question::Blind(blind) => blind_words(blind, true, setting),
        Question::TakeOff(zero) => take_off(zero),
        Question::FewerDigits(part, step) => format!(
            "This meter shows steps of {} mV: type all its digits at {}, also zeros; with fewer the reading is taken for as coarse as it was typed.",
            figures(*step),
            feeds.id(*part)
        ),
        Question::JawsTooSmall(part) => jaws_too_small(*part, setting),
        Question::SameBothWays(part) => format!(
            "Turned round, the probes at {} showed nearly the same and no minus: was the minus left out, or did a probe slip? Read both ways again.",
            feeds.id(*part)
        ),
        Question::BatteryLow(rested) => battery_low(*rested),
        Question::BatteryCharging(rested) => battery_charging(*rested),
        Question::DaysDiffer(draw, expected) => {
            let less = draw.high() < expected.low();
            let means = if less {
                "it comes and goes, or the battery itself is weak or not charged"
            } else {
                "it is not there all the time, or this is not how the owner leaves it"
            };
            format!(
                "The days told point to {}, the draw is {}: {means}. Log it overnight as the owner leaves it before you trust one number.",
                span(*expected),
                span(*draw)
            )
        }
        Question::Between(part) => {
            let volts: Millivolts = feeds.volts_at(*part);
            format!(
                "Between dead and live at {} (fed with {:.0} V): no answer; probe again.",
                feeds.id(*part),
                volts.value() / 1000.0
            )
        }
    }
}
