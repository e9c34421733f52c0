//! The likeliest causes, by what the step at hand parts: those it is about, and those elsewhere.

use crate::case::{Case, Next, Setting, TestPlan, Weighed};
use crate::feeds::PartId;
use crate::measurement::Method;
use crate::render::answer::current;
use crate::render::cautions::touched;
use crate::render::odds::moved_briefly;
use crate::render::trace::Lines;
use crate::render::trace::means::behind;
use crate::render::words::{named_cause, named_causes};
use crate::suspects::{Cause, Subject, Suspect};
use std::collections::BTreeMap;

/// Named of those the step is about, and of the others.
const THERE: usize = 3;
const ELSEWHERE: usize = 1;

/// Less than this share is not worth its words.
const WORTH_NAMING: f64 = 0.01;

/// From here up a share is as good as all of it: what moved it is no news beside that (judgement).
const NEARLY_ALL: f64 = 0.985;

/// What a step with something out is about.
const OUT: &str = "what is out";

/// A share of the odds.
fn percent(share: f64) -> String {
    if share < WORTH_NAMING {
        "below 1 %".to_owned()
    } else {
        format!("{:.0} %", share * 100.0)
    }
}

/// The likeliest of all, each with what it could hide; behind the first none that is all but impossible.
pub(super) fn likeliest(
    next: &Next,
    most: usize,
) -> impl Iterator<Item = (&'static str, String)> + '_ {
    let worth = |(at, suspect): &(usize, &Weighed)| *at == 0 || suspect.odds >= WORTH_NAMING;
    let suspects = next.suspects.iter().take(most).enumerate();
    suspects.filter(worth).map(|(_, suspect)| {
        let cause = named_cause(&suspect.id, suspect.cause);
        let share = percent(suspect.odds);
        let hides = match suspect.hides {
            hides if hides.is_finite() => format!("could account for up to {}", current(hides)),
            _ => "no reading limits it yet".to_owned(),
        };
        let moved = moved_briefly(&suspect.moved);
        let text = format!("{cause}: {share}, {hides}{moved}");
        ("likely", text)
    })
}

/// Those that the step at hand is about and those elsewhere, each with their share; the likeliest of all
/// where the step parts nobody.
pub(super) fn likely(case: &Case<'_>, next: &Next) -> Lines {
    let setting = case.setting();
    let parted = next
        .test
        .as_ref()
        .and_then(|test| parted_by(test, case, setting));
    let Some((name, parts, out)) = parted else {
        return in_all(next);
    };
    let known: BTreeMap<(Cause, &Subject), &Suspect> = setting
        .suspects
        .iter()
        .map(|one| ((one.cause, &one.subject), one))
        .collect();
    let (there, elsewhere): (Vec<&Weighed>, Vec<&Weighed>) =
        next.suspects.iter().partition(|suspect| {
            let Some(known) = known.get(&(suspect.cause, &suspect.subject)) else {
                return false;
            };
            if out {
                setting.silenced(known, &parts)
            } else {
                shows_at(known, &parts, setting)
            }
        });
    if there.is_empty() {
        return in_all(next);
    }
    let share = |some: &[&Weighed]| -> f64 { some.iter().map(|suspect| suspect.odds).sum() };
    // A reading where nobody is worth a word checks the one that says so.
    let rest = if share(&there) < WORTH_NAMING {
        "elsewhere, unless a reading is wrong"
    } else {
        "elsewhere"
    };
    // A contact that is closed shows at the load, and is not in it.
    let own = |one: &&Weighed| match &one.subject {
        Subject::Part(part) | Subject::Unlisted(part) => parts.contains(part),
        Subject::Module(_) | Subject::Input(_) => false,
    };
    let named_there = || there.iter().filter(|one| one.odds >= WORTH_NAMING);
    let name = match name.strip_prefix("in ") {
        Some(load) if load != OUT && !named_there().all(own) => {
            format!("in {load} or what feeds it")
        }
        _ => name,
    };
    let groups = [
        (name.as_str(), &there, THERE),
        (rest, &elsewhere, ELSEWHERE),
    ];
    let groups = groups
        .into_iter()
        .filter(|(_, some, _)| share(some) >= WORTH_NAMING);
    groups
        .map(|(name, some, most)| ("likely", group(name, some, most)))
        .collect()
}

/// What a step is about: how that is called, its parts, and whether they lose their feed. `None` where it
/// is about the whole vehicle.
fn parted_by(
    test: &TestPlan,
    case: &Case<'_>,
    setting: &Setting,
) -> Option<(String, Vec<PartId>, bool)> {
    let out: Vec<PartId> = case.out_now().parts().collect();
    let cut = matches!(test.method, Method::Draw | Method::Pull | Method::Unplug);
    let (name, parts) = match test.method {
        Method::Draw if !out.is_empty() => (format!("in {OUT}"), out),
        Method::Draw | Method::Wait | Method::Refit | Method::Open | Method::Zero | Method::Log => {
            return None;
        }
        _ => {
            let name = match test.points.as_slice() {
                [one] => match test.part.filter(|part| setting.feeds.id(*part) == one) {
                    Some(part) => behind(part, &setting.feeds),
                    None => format!("behind {one}"),
                },
                _ => "behind these".to_owned(),
            };
            (name, touched(test, &setting.feeds))
        }
    };
    let whole = parts.is_empty() || parts.contains(&PartId(0));
    (!whole).then_some((name, parts, cut))
}

/// Whether what a suspect takes would flow there.
fn shows_at(suspect: &Suspect, parts: &[PartId], setting: &Setting) -> bool {
    let feeds = &setting.feeds;
    let below = |one: PartId| parts.iter().any(|part| feeds.is_below(one, *part));
    suspect.seat().is_some_and(below) || suspect.raises.iter().any(|(part, _)| below(*part))
}

/// The likeliest of all, in one text.
fn in_all(next: &Next) -> Lines {
    let suspects: Vec<&Weighed> = next.suspects.iter().collect();
    if suspects.is_empty() {
        return Vec::new();
    }
    vec![("likely", named(&suspects, THERE))]
}

/// "behind F3, 74 %: body feed 1 (49 %); cargo lamp (10 %)".
fn group(name: &str, suspects: &[&Weighed], most: usize) -> String {
    let all: f64 = suspects.iter().map(|suspect| suspect.odds).sum();
    let head = match suspects.first() {
        // Nobody else there is worth a word.
        Some(first) if all - first.odds < WORTH_NAMING => {
            if name.strip_prefix("in ") == Some(&first.id) {
                String::new()
            } else {
                format!("{name}: ")
            }
        }
        // All of it is no share.
        _ if all > NEARLY_ALL => format!("{name}: "),
        _ => format!("{name}, {}: ", percent(all)),
    };
    format!("{head}{}", named(suspects, most))
}

/// The likeliest, each with its share, those of one kind and share together: "radio (14 %); body module or
/// cluster, which keeps the others awake (12 % each)". How many more there are says little, for most are all but impossible.
fn named(suspects: &[&Weighed], most: usize) -> String {
    // The likeliest first; what is all but impossible is not worth its words.
    let worth = |(at, suspect): &(usize, &&Weighed)| *at == 0 || suspect.odds >= WORTH_NAMING;
    let all = suspects.iter().enumerate().filter(worth).take(most);
    let all: Vec<&Weighed> = all.map(|(_, suspect)| *suspect).collect();
    let alike = |one: &&Weighed, other: &&Weighed| {
        let plain = one.moved.is_empty() && other.moved.is_empty();
        plain && one.cause == other.cause && percent(one.odds) == percent(other.odds)
    };
    let mut said = Vec::new();
    for same in all.chunk_by(alike) {
        let share = percent(same[0].odds);
        let ids: Vec<String> = same.iter().map(|one| one.id.clone()).collect();
        if let [one] = same {
            let moved = moved_briefly(&one.moved).replace("; ", ", ");
            let cause = named_cause(&one.id, one.cause);
            said.push(if one.odds > NEARLY_ALL {
                cause
            } else {
                format!("{cause} ({share}{moved})")
            });
        } else {
            let each = named_causes(&ids, same[0].cause);
            said.push(format!("{each} ({share} each)"));
        }
    }
    said.join("; ")
}
