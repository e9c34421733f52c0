//! Faults that come and go, and what is told about them: what is told steers and rules nobody out; a
//! quiet vehicle is not searched but watched; a repair is watched as long as the fault stays away.

use crate::driver::sample;
use halfsplit::case::{Case, Question, Reason, Setting, State};
use halfsplit::render::next_json;

fn case<'s>(setting: &'s Setting, entries: &[&str]) -> Case<'s> {
    let mut case = Case::new(setting);
    for entry in entries {
        case.record(entry).unwrap_or_else(|r| panic!("{r}"));
    }
    case
}

/// The odds of a suspect by its id and cause, 0 where it is ruled out.
fn odds(case: &Case<'_>, id: &str) -> f64 {
    let all = case.suspects().into_iter();
    all.filter(|s| s.id == id).map(|s| s.odds).sum()
}

/// On which vehicle, what is told, whose odds must rise, whose must fall.
#[test]
fn what_is_told_moves_odds() {
    let table = [
        (
            "quarto-van",
            "told dead the cargo lamp",
            "cargo lamp",
            "fan",
        ),
        (
            "quarto-van",
            "told dead a lamp that never goes out",
            "mirror lamp",
            "fan",
        ),
        (
            "quarto-van",
            "told dead the fan does not run",
            "fan",
            "cargo lamp",
        ),
        (
            "quarto-van",
            "told added dash camera",
            "unlisted at F7",
            "fan",
        ),
        (
            "quarto-van",
            "told work on C114",
            "cargo lamp",
            "mirror lamp",
        ),
        ("quarto-van", "told work at the roof", "mirror lamp", "fan"),
        ("quarto-van", "told odds fan 5", "fan", "cargo lamp"),
        (
            "quarto-van",
            "told odds cargo lamp 0,2",
            "fan",
            "cargo lamp",
        ),
        ("quarto-van", "told odds relays 4", "K4 coil", "cargo lamp"),
        (
            "quarto-van",
            "told the relay clicks at night",
            "K4 coil",
            "cargo lamp",
        ),
        ("quarto-van", "comes 150mA", "K4 coil", "fan"),
        (
            "large-van",
            "told coverage none",
            "telematics module",
            "KB1 coil",
        ),
        (
            "large-van",
            "told parked underground",
            "telematics module",
            "KB1 coil",
        ),
        (
            "large-van",
            "told network never silent",
            "telematics module",
            "KB1 coil",
        ),
        (
            "large-van",
            "comes 215mA every 9.5min for 45s",
            "telematics module",
            "KB1 coil",
        ),
    ];
    for (vehicle, told, up, down) in table {
        let setting = sample(vehicle);
        let known = |id: &str| setting.feeds.find(id).is_some() || id.starts_with("unlisted");
        let down = if known(down) { down } else { "body module" };
        let before = case(&setting, &["asleep", "draw 640mA"]);
        let after = case(&setting, &["asleep", "draw 640mA", told]);
        assert!(odds(&after, up) > odds(&before, up), "{told}: {up}");
        assert!(odds(&after, down) < odds(&before, down), "{told}: {down}");
        let sum: f64 = after.suspects().iter().map(|s| s.odds).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{told}");
        // Nobody comes or goes by it, and taking it back is as if it had never been.
        assert_eq!(after.suspects().len(), before.suspects().len(), "{told}");
        let mut again = after.clone();
        again.record("undo").unwrap();
        assert_eq!(again.suspects(), before.suspects(), "{told}");
        // It is shown where it came from.
        let json = next_json(&after.next(), &setting).to_string();
        assert!(json.contains("entry 3"), "{told}: {json}");
    }
}

#[test]
fn what_speaks_of_nobody_is_asked_about() {
    let van = sample("quarto-van");
    for (told, asked) in [
        ("told odds jukebox 3", true),
        ("told dead the samovar", true),
        ("told dead nothing", false),
        ("told odds fan 3", false),
        ("told work new battery", true),
        ("told added dash camera", false),
        ("told days 3", false),
    ] {
        let mut one = case(&van, &["asleep"]);
        let recorded = one.record(told).unwrap();
        let nobody = |q: &Question| matches!(q, Question::NobodyMeant(_));
        assert_eq!(recorded.questions.iter().any(nobody), asked, "{told}");
    }
    for refused in [
        "told odds",
        "told odds fan",
        "told odds 3",
        "told odds fan -1",
    ] {
        let refusal = case(&van, &["asleep"]).record(refused).unwrap_err();
        case(&van, &["asleep"]).record(&refusal.works).unwrap();
    }
}

/// The van's battery holds 70 Ah: flat in so many days, at such a draw, and whether that is asked about.
#[test]
fn a_draw_that_the_days_do_not_explain_is_asked_about() {
    let van = sample("quarto-van");
    for (days, draw, asked) in [
        // 70 Ah: 28 to 70 Ah in 6 days is 194 to 486 mA.
        ("6", "draw 30.0mA", true),
        ("6", "draw 300mA", false),
        ("6", "draw 640mA", false),
        ("40", "draw 640mA", true),
    ] {
        let mut one = case(&van, &[&format!("told days {days}"), "asleep"]);
        let recorded = one.record(draw).unwrap();
        let differ = |q: &Question| matches!(q, Question::DaysDiffer(..));
        assert_eq!(
            recorded.questions.iter().any(differ),
            asked,
            "{days} {draw}"
        );
    }
}

/// Below 12.4 V at rest, and above 13.1 V, it is asked about at every step until a draw is believed.
#[test]
fn a_battery_unfit_for_a_draw_is_said_before_the_first() {
    let van = sample("quarto-van");
    let low = |q: &Question| matches!(q, Question::BatteryLow(_));
    let charging = |q: &Question| matches!(q, Question::BatteryCharging(_));
    for (entry, is_low, is_charging) in [
        ("told volts 12.39V", true, false),
        ("told volts 12,4 V", false, false),
        ("volts battery 11.9V", true, false),
        ("volts battery 13.0V", false, false),
        ("told volts 13.8", false, true),
        ("told volts 24.7V", true, false),
        ("told volts 25.2V", false, false),
    ] {
        let mut one = Case::new(&van);
        let recorded = one.record(entry).unwrap();
        for (asked, unfit) in [
            (is_low, low as fn(&Question) -> bool),
            (is_charging, charging),
        ] {
            assert_eq!(recorded.questions.iter().any(unfit), asked, "{entry}");
            assert_eq!(one.next().state, State::Prepare, "{entry}");
            for step in ["prepared", "asleep", "note nothing else"] {
                one.record(step).unwrap();
                assert_eq!(one.next().questions.iter().any(unfit), asked, "{entry}");
            }
            one.record("undo; undo; undo").unwrap();
        }
        one.record("asleep; draw 640mA").unwrap();
        assert!(!one.next().questions.iter().any(low), "{entry}");
        // What is read later is no battery at rest.
        let late = one.record("volts battery 11.0V").unwrap();
        assert!(!late.questions.iter().any(low), "{entry}");
    }
    let charged = case(&van, &["told volts 12.0V", "told volts 12.7V", "asleep"]);
    assert!(charged.next().questions.is_empty());
    let intake = case(
        &van,
        &["told days 6", "told volts 12.5V", "asleep", "draw 640mA"],
    )
    .intake();
    let left = intake.left().unwrap();
    // 70 Ah, 69 to 100 % charged: from 6.1 Ah above no-start to all of it, at 604 to 676 mA.
    assert!((left.low() - 0.377).abs() < 0.01, "{left:?}");
    assert!((left.high() - 4.83).abs() < 0.01, "{left:?}");
}

/// Quiet: no search, but what to log, how long, at which trigger, and where to leave the meter.
#[test]
fn a_quiet_vehicle_is_watched_and_not_searched() {
    let van = sample("quarto-van");
    let quiet = ["prepared", "asleep", "draw 20.0mA by series"];
    let unknown = case(&van, &quiet).next();
    assert_eq!(unknown.state, State::WithinLimit);
    assert!(unknown.test.is_none());
    let watch = unknown.watch.unwrap();
    assert!(watch.minutes >= 720.0 && watch.trigger > 50.0, "{watch:?}");
    let mut one = case(&van, &quiet);
    one.record("comes 600mA every 3h for 20min").unwrap();
    let watch = one.next().watch.unwrap();
    assert!(
        (watch.minutes - 540.0).abs() < 1e-9,
        "three times: {watch:?}"
    );
    assert!(
        (watch.trigger - 320.0).abs() < 5.0,
        "half its height: {watch:?}"
    );
    assert!((watch.mean.unwrap() - 600.0 / 9.0).abs() < 0.1, "{watch:?}");
    assert!(watch.at.is_some(), "{watch:?}");
    // With that it is over the limit on average, so nobody calls it in order. A walk over quiet fuses moves nothing,
    // and when it is there the search begins.
    for entry in ["drop F3 0.0mV", "drop F7 0.0mV", "drop F9 0.0mV"] {
        one.record(entry).unwrap();
        assert_eq!(one.next().state, State::Gone);
    }
    one.record("draw 640mA by series").unwrap();
    let next = one.next();
    assert_eq!(next.state, State::Measure, "{:?}", next.reason);
    let lamp = odds(&one, "cargo lamp");
    assert!(
        lamp > 0.05,
        "what was read while it was quiet rules nobody out: {lamp}"
    );
    assert!(odds(&one, "unlisted at F7") > 0.01);
}

/// The total typed with a reading is a total: one that has changed ends what was known before.
#[test]
fn a_total_beside_a_reading_counts() {
    let van = sample("quarto-van");
    let start = ["prepared", "asleep", "draw 640mA by series"];
    let mut one = case(&van, &start);
    one.record("drop F3 0.0mV with 640mA").unwrap();
    assert!(odds(&one, "cargo lamp") < 0.01, "F3 carries nothing");
    // The fault went while the probes were moved: that zero says nothing about it.
    let mut two = case(&van, &start);
    let recorded = two.record("drop F3 0.0mV with 20mA").unwrap();
    let changed = |q: &Question| matches!(q, Question::Changed(..));
    assert!(
        recorded.questions.iter().any(changed),
        "{:?}",
        recorded.questions
    );
    // On that jack it may still be over the limit.
    assert_eq!(two.next().reason, Reason::Finer);
    two.record("draw 20.0mA by series").unwrap();
    assert_eq!(two.next().state, State::Gone);
    two.record("draw 640mA by series").unwrap();
    assert!(odds(&two, "cargo lamp") > 0.05);
    // Every few readings the total is asked for.
    let readings = [
        "drop F3 2.1mV",
        "drop F7 0.0mV",
        "drop F9 0.0mV",
        "volts F3 12.4V",
        "volts F9 12.4V",
    ];
    for (number, entry) in readings.into_iter().enumerate() {
        two.record(entry).unwrap();
        let total_first = two.next().reason == Reason::TotalFirst;
        assert_eq!(total_first, number >= 3, "{entry}");
    }
    // Once it was seen to stand still it is only asked about.
    two.record("draw 640mA by series").unwrap();
    for (number, entry) in readings.into_iter().enumerate() {
        let asked = two.record(entry).unwrap().questions;
        assert_eq!(
            asked.contains(&Question::TotalAgain),
            number == 3,
            "{entry}"
        );
    }
}

/// After the repair: what is logged, and whether that is watch enough.
#[test]
fn a_repair_is_watched_as_long_as_the_fault_stays_away() {
    let van = sample("quarto-van");
    let proven = [
        "prepared",
        "asleep",
        "draw 640mA by series",
        "comes 600mA every 3h for 20min",
        "unplug C114",
        "asleep",
        "draw 30.0mA by series",
        "refit C114",
        "asleep",
        "draw 640mA by series",
        "repaired C114 new lamp switch",
        "asleep",
        "draw 30.0mA by series",
    ];
    for (after, reason, asked) in [
        (&[][..], Reason::Watch, 0),
        // Two readings say nothing of what comes every three hours.
        (&["draw 30.1mA by series"][..], Reason::Watch, 0),
        (&["logged 1h most 35mA"][..], Reason::Watch, 1),
        (&["logged 9h most 610mA"][..], Reason::Watch, 1),
        (&["logged 9h most 35mA"][..], Reason::Mended, 0),
        (&["logged 9h"][..], Reason::Mended, 0),
        (&["skip draw no time"][..], Reason::MendedUnwatched, 0),
    ] {
        let mut one = case(&van, &proven);
        let mut questions = Vec::new();
        for entry in after {
            questions.extend(one.record(entry).unwrap().questions);
        }
        assert_eq!(one.next().reason, reason, "{after:?}");
        assert_eq!(questions.len(), asked, "{after:?}: {questions:?}");
        let page = halfsplit::render::report_text(
            &halfsplit::report::report(&one),
            &one,
            &halfsplit::render::When::default(),
        );
        let says = match after {
            ["logged 1h most 35mA"] => "which is **shorter** than the 3 h",
            ["logged 9h", ..] | ["logged 9h most 35mA"] => "at least as long as the 3 h",
            _ => "3 h",
        };
        assert!(
            page.contains(says) || after == ["logged 9h most 610mA"],
            "{after:?}: {page}"
        );
    }
}

/// The owner reads what it takes on average, the next electrician what was out during a log and whether it came.
#[test]
fn a_log_is_written_up_with_what_was_out_and_the_mean() {
    let van = sample("quarto-van");
    let quiet = ["prepared", "asleep", "draw 20.0mA by series"];
    let logged = |entries: &[&str]| {
        let one = case(&van, &[&quiet[..], entries].concat());
        halfsplit::render::report_text(
            &halfsplit::report::report(&one),
            &one,
            &halfsplit::render::When::default(),
        )
    };
    // 1.2 A for 12 of 40 minutes is 0.36 A, on some 20 mA that flow all the time.
    let comes = "comes 1.2A every 40min for 12min";
    let out = [comes, "pull F3", "asleep", "draw 18.0mA by series"];
    let table = [
        (
            "logged 12h most 19.0mA",
            "Logged 12h most 19.0mA, with F3 out; it did not come",
        ),
        (
            "logged 12h most 1.2A",
            "Logged 12h most 1.2A, with F3 out; it came all the same",
        ),
        (
            "logged 30min most 19.0mA",
            "Logged 30min most 19.0mA, with F3 out\n",
        ),
    ];
    for (log, said) in table {
        let page = logged(&[&out[..], &[log]].concat());
        assert!(page.contains(said), "{log}: {page}");
        assert!(
            page.contains("12 min of every 40 min, which is about 380 mA on average"),
            "{page}"
        );
    }
}

/// What held whenever it was there and never when it was not is named as the way to bring it back.
#[test]
fn a_condition_that_parts_the_draws_is_named() {
    let van = sample("quarto-van");
    let mut one = case(
        &van,
        &[
            "told rain dry",
            "told coverage good",
            "asleep",
            "draw 20.0mA by series",
        ],
    );
    assert!(one.next().watch.unwrap().goes_with.is_empty());
    for entry in [
        "told rain heavy",
        "draw 640mA by series",
        "told rain dry",
        "draw 20.0mA by series",
    ] {
        one.record(entry).unwrap();
    }
    let with = one.next().watch.unwrap().goes_with;
    assert_eq!(with.len(), 1, "{with:?}");
    assert_eq!(
        (&*with[0].key, &*with[0].there, &*with[0].gone),
        ("rain", "heavy", "dry")
    );
    // Once more in the dry with the fault there, and the rain is no longer it.
    for entry in ["draw 640mA by series", "draw 20.0mA by series"] {
        one.record(entry).unwrap();
    }
    assert!(one.next().watch.unwrap().goes_with.is_empty());
}
