//! The write-up as data.

use super::{Page, When};
use crate::battery::Comparison;
use crate::case::{Case, Left, Remainder};
use crate::feeds::PartId;
use crate::ledger::Out;
use crate::render::answer::{at_most, found_json, located_json, number, pair};
use crate::report::{Ending, Report, Settled, ToDo, Unexplained, Verified, Watched, Worth};
use serde_json::{Map, Value, json};

/// The object that `report --json` prints.
pub fn report_json(report: &Report, case: &Case<'_>, when: &When) -> Value {
    let page = Page { report, case, when };
    let setting = case.setting();
    let feeds = &setting.feeds;
    let verdict = &report.verdict;
    let ids = |out: &Out| -> Vec<String> {
        let parts = out.parts().map(|p| feeds.id(p));
        parts.chain(out.inputs()).map(str::to_owned).collect()
    };
    let settled = |draw: &Settled| json!({"entry": draw.entry, "out": ids(&draw.out), "ma": pair(draw.current)});
    let mut object = Map::new();
    let mut put = |key: &str, value: Value| object.insert(key.to_owned(), value);
    put("ending", json!(ending_word(verdict.ending)));
    put("limit_ma", number(setting.limit()));
    let told = report.told.iter();
    let told = told.map(|(key, text)| json!({"key": key, "text": text}));
    put("told", told.collect());
    if let Some(unexplained) = &report.unexplained {
        put("unexplained", unexplained_json(unexplained));
    }
    let draws = [
        ("before", &report.before),
        ("after", &report.after),
        ("rest", &report.rest),
    ];
    for (key, draw) in draws {
        if let Some(draw) = draw {
            put(key, settled(draw));
        }
    }
    let located = report.located.iter().map(|l| located_json(l, setting));
    put("located", located.collect());
    let found = verdict.found.iter().map(|f| {
        let mut one = found_json(f, setting);
        one["entries"] = json!(f.draws);
        one
    });
    put("found", found.collect());
    put("rests_on", json!(verdict.rests_on));
    put("clash", json!(verdict.clash));
    let text = |entry: u32| {
        let mut entries = case.entries().iter();
        let found = entries.find(|e| e.number == entry);
        found.map(|e| e.text.as_str()).unwrap_or_default()
    };
    let readings = report.rows.iter().map(|row| {
        json!({"entry": row.entry, "text": text(row.entry), "out": ids(&row.out),
               "ma": row.current.map(pair), "worth": worth_word(row.worth)})
    });
    put("readings", readings.collect());
    if let Some(cleared) = &report.cleared {
        let hides = |parts: &[(PartId, f64)]| -> Value {
            let rows = parts.iter();
            rows.map(|(p, hides)| json!({"part": feeds.id(*p), "hides_ma": at_most(*hides)}))
                .collect()
        };
        let dead: Vec<&str> = cleared.dead.iter().map(|p| feeds.id(*p)).collect();
        put(
            "ruled_out",
            json!({"matters_ma": number(cleared.matters), "together_ma": number(cleared.together),
                   "parts": hides(&cleared.parts), "not_alone": hides(&cleared.small), "dead": dead}),
        );
    }
    if let Some(remainder) = &report.remainder {
        put("remainder", remainder_json(remainder));
    }
    let possible = report
        .possible
        .iter()
        .map(|p| json!({"part": p.id, "cause": p.cause.words(), "hides_ma": at_most(p.hides)}));
    put("not_ruled_out", possible.collect());
    put("skipped", json!(report.skipped));
    let watched = page.watch();
    let repairs = report.repairs.iter().map(|repaired| {
        let draws: Value = repaired.draws.iter().map(settled).collect();
        let unmended: Vec<String> = repaired.unmended.iter().map(|s| s.id(feeds)).collect();
        let mut row = json!({"entries": repaired.entries, "draws": draws, "unmended": unmended,
                             "verified": verified_word(repaired.verified, watched)});
        if let Some(minutes) = watched_minutes(repaired.verified, watched) {
            row["watched_min"] = number(minutes);
        }
        if let Some(minutes) = repaired.logged {
            row["logged_min"] = number(minutes);
        }
        if let Some(minutes) = repaired.stays_away {
            row["stays_away_min"] = number(minutes);
        }
        row
    });
    put("repairs", repairs.collect());
    let out: Vec<&str> = report.out.iter().map(|t| t.name.as_str()).collect();
    put("out", json!(out));
    let to_do = report.to_do.iter().chain(page.still_to_watch());
    put("to_do", to_do.map(|t| json!(to_do_word(t))).collect());
    put("minutes", json!({"spent": number(report.spent)}));
    Value::Object(object)
}

/// Days told that the draw does not explain.
fn unexplained_json(unexplained: &Unexplained) -> Value {
    let Unexplained {
        told, lasts, how, ..
    } = unexplained;
    let how = match how {
        Comparison::More => "more",
        _ => "less",
    };
    json!({"days_told": number(told.value()), "draw": how,
           "days": [number(lasts.low()), number(lasts.high())]})
}

/// What the draw leaves.
fn remainder_json(remainder: &Remainder) -> Value {
    let (left, by) = match remainder.left {
        Left::Nothing => ("nothing", None),
        Left::MoreThanUsual(above) => ("more_than_usual", Some(above)),
        Left::Over(over) => ("over", Some(over)),
        Left::MayBeOver => ("may_be_over", None),
        Left::NoLimit => ("no_limit", None),
    };
    let mut object = json!({"left": left, "entry": remainder.entry, "out": remainder.out,
        "ma": pair(remainder.current), "usual_ma": number(remainder.usual),
        "usual_assumed": remainder.assumed});
    if let Some(by) = by {
        object["by_ma"] = number(by);
    }
    object
}

const fn ending_word(ending: Ending) -> &'static str {
    match ending {
        Ending::Confirmed => "confirmed",
        Ending::Located => "located",
        Ending::Gone => "gone",
        Ending::WithinLimit => "within_limit",
        Ending::Contradiction => "contradiction",
        Ending::NoSingleCause => "no_single_cause",
        Ending::TooCoarse => "too_coarse",
        Ending::NoLimit => "no_limit",
        Ending::Open => "open",
    }
}

const fn worth_word(worth: Worth) -> &'static str {
    match worth {
        Worth::Counts => "counts",
        Worth::Earlier => "superseded",
        Worth::Awake => "awake",
        Worth::Seen => "seen",
        Worth::NotTaken => "not_relied_on",
        Worth::Withdrawn => "withdrawn",
    }
}

/// What the readings after a repair come to, by the clock too: two minutes apart are no watch.
const fn verified_word(verified: Verified, watched: Watched) -> &'static str {
    match (verified, watched) {
        (Verified::NotRead, _) => "not_read",
        (Verified::Unwatched, _)
        | (Verified::Watched, Watched::Short(_) | Watched::LogTooSoon { .. }) => "not_watched",
        (Verified::Watched, Watched::Unknown) => "read_twice",
        (Verified::Watched, Watched::Long(_) | Watched::Logged | Watched::LoggedAsEntered) => {
            "watched"
        }
        (Verified::StillOver, _) => "still_over",
    }
}

/// How long it was watched after a repair, or is so far.
const fn watched_minutes(verified: Verified, watched: Watched) -> Option<f64> {
    match (verified, watched) {
        (
            Verified::Unwatched | Verified::Watched,
            Watched::Short(minutes) | Watched::Long(minutes),
        ) => Some(minutes),
        _ => None,
    }
}

/// What the readings after the latest repair come to, where that is judged; `watched` by the clock.
pub fn repair_json(case: &Case<'_>, watched: Watched) -> Option<Value> {
    let repair = case
        .repairs()
        .last()
        .filter(|repair| repair.over.is_none())?;
    let verified = Verified::of(repair);
    let mut object = json!({"verified": verified_word(verified, watched)});
    if let Some(minutes) = watched_minutes(verified, watched) {
        object["watched_min"] = number(minutes);
    }
    Some(object)
}

const fn to_do_word(to_do: &ToDo) -> &'static str {
    match to_do {
        ToDo::Repair(_) => "repair",
        ToDo::PutBack => "put_back",
        ToDo::Verify => "verify",
        ToDo::Watch => "watch",
        ToDo::ReadAgain(_) => "read_again",
        ToDo::GoOn => "go_on",
        ToDo::PartFurther => "part_further",
        ToDo::Log => "log",
        ToDo::SmallOnes => "small_ones",
        ToDo::FinerRange => "finer_range",
        ToDo::FindLimit => "find_limit",
        ToDo::TestBattery(_) => "test_battery",
    }
}
