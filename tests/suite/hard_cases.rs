//! The hard cases as they go at the vehicle, each a session by hand: readings that prove nothing convict
//! nobody, and what is asked next is what a practitioner would ask.

use crate::driver::{part, sample, with};
use halfsplit::case::{Case, Next, Question, Setting, State};
use halfsplit::judgement::Standing;
use halfsplit::suspects::Because;

/// The case after these entries, and all that was asked on the way.
fn after<'s>(setting: &'s Setting, entries: &[&str]) -> (Case<'s>, Vec<Question>) {
    let mut case = Case::new(setting);
    let mut asked = Vec::new();
    for entry in entries {
        asked.extend(
            case.record(entry)
                .unwrap_or_else(|r| panic!("{r:?}"))
                .questions,
        );
    }
    (case, asked)
}

fn convicts_nobody(next: &Next) {
    assert!(
        !next.found.iter().any(|found| found.returned),
        "{:?}",
        next.found
    );
    assert!(
        !matches!(next.state, State::Confirmed | State::Located),
        "{:?}",
        next.state
    );
}

const START: [&str; 2] = ["prepared", "asleep"];

fn started<'e>(entries: &[&'e str]) -> Vec<&'e str> {
    START
        .iter()
        .copied()
        .chain(entries.iter().copied())
        .collect()
}

/// The draw falls with each fuse and does not come back: modules time out one by one.
#[test]
fn a_fall_that_is_the_same_whatever_is_out_is_no_fuse() {
    let hatchback = with("hatchback", "meter-and-clamp");
    let steps = started(&[
        "draw 640mA",
        "pull F20",
        "asleep",
        "draw 440mA",
        "refit F20",
        "asleep",
        "draw 440mA",
        "pull F21",
        "asleep",
        "draw 240mA",
        "refit F21",
        "asleep",
        "draw 240mA",
    ]);
    let (case, asked) = after(&hatchback, &steps);
    let times: Vec<usize> = asked
        .iter()
        .filter_map(|q| match q {
            Question::FellAndStayed(fell, times) => {
                assert!((150.0..=200.0).contains(fell), "{fell}");
                Some(*times)
            }
            _ => None,
        })
        .collect();
    assert_eq!(times, [1, 2], "{asked:?}");
    let next = case.next();
    convicts_nobody(&next);
    // Both are as much in question as anybody.
    for id in ["body feed 1", "body feed 2"] {
        assert!(
            next.suspects.iter().any(|s| s.id == id && s.odds > 0.01),
            "{id}"
        );
    }
}

/// Two branches with modules up together: the common cause is named, and what decides.
#[test]
fn branches_up_together_are_one_cause_until_shown_otherwise() {
    let hatchback = with("hatchback", "meter-and-clamp");
    let steps = ["draw 900mA", "drop ML4 0.8mV", "drop F20 1.0mV"];
    let (one, _) = after(&hatchback, &started(&steps));
    assert!(one.next().together.is_empty(), "one branch is not several");
    let (mut two, _) = after(&hatchback, &started(&steps));
    let before = holders(&two);
    two.record("drop F23 1.6mV").unwrap();
    let next = two.next();
    let up = [part(&hatchback, "F20"), part(&hatchback, "F23")];
    assert_eq!(next.together, up);
    assert!(holders(&two) > before, "{} {before}", holders(&two));
    convicts_nobody(&next);
}

/// The odds of all that may hold others awake.
fn holders(case: &Case<'_>) -> f64 {
    let all = case.suspects().into_iter();
    let holds = all.filter(|s| s.cause.words() == "holds others awake");
    holds.map(|s| s.odds).sum()
}

/// One feed of a module out, and nothing changes: the other feeds it still, and both together matter.
#[test]
fn one_feed_of_two_out_proves_nothing_against_the_module() {
    let hatchback = with("hatchback", "meter-and-clamp");
    let (case, _) = after(
        &hatchback,
        &started(&["draw 500mA", "pull F20", "asleep", "draw 495mA"]),
    );
    let next = case.next();
    convicts_nobody(&next);
    assert!(next.suspects.iter().any(|s| s.id == "body feed 2"));
    let standing = case.standing();
    let state = |id: &str| {
        standing
            .iter()
            .find(|row| row.0 == part(&hatchback, id))
            .unwrap()
            .1
    };
    assert_ne!(state("body feed 2"), Standing::RuledOut);
}

/// Every fuse out and it still draws: what is left is a path without a fuse.
#[test]
fn all_fuses_out_and_it_still_draws_is_an_unfused_path() {
    let van = with("quarto-van", "meter-and-clamp");
    let (case, _) = after(
        &van,
        &started(&["draw 350mA", "pull F3, F9, F7", "asleep", "draw 348mA"]),
    );
    let next = case.next();
    convicts_nobody(&next);
    let odds = |id: &str| {
        let of: Vec<f64> = next
            .suspects
            .iter()
            .filter(|s| s.id == id)
            .map(|s| s.odds)
            .collect();
        of.iter().sum::<f64>()
    };
    let behind = odds("cargo lamp") + odds("body feed 1") + odds("unlisted at F7");
    assert!(behind < 0.01, "{behind}");
    // What hangs on a contact that should be open draws by that.
    assert!(odds("fan") + odds("K4") > 0.3, "{:?}", next.suspects);
}

/// A drop that may be the drain or nothing: the nearer it is to one of the two, the likelier that one, nobody is
/// ruled out, and taken back it is as if it had not been. Held against no source: the current it says best
/// and its uncertainty are (`physics`).
#[test]
fn a_reading_that_cannot_tell_leans_the_way_it_is_nearer_to() {
    let van = with("large-van", "plain-meter");
    let (before, _) = after(&van, &started(&["draw 320mA"]));
    let of = |case: &Case<'_>, id: &str| {
        let one = case.suspects().into_iter().find(|s| s.id == id).unwrap();
        let reasons = one.moved.iter().map(|moved| moved.because);
        (one.odds, reasons.collect::<Vec<_>>())
    };
    // Under B3, which takes up to 320 mA at 1.4 mΩ: 0.4 mV.
    let below = |case: &Case<'_>| of(case, "dosing module feed");
    let at_first = below(&before).0;
    let mut last = 0.0;
    for (reading, way) in [("0.0mV", -1), ("0.1mV", -1), ("0.3mV", 1), ("0.4mV", 1)] {
        let mut case = before.clone();
        case.record(&format!("drop B3 {reading} sure")).unwrap();
        let (odds, because) = below(&case);
        let rises = odds > at_first;
        assert_eq!(rises, way > 0, "{reading}: {at_first} {odds}");
        assert!(odds >= last, "{reading}: {last} {odds}");
        assert!(
            because.contains(&Because::Leans(part(&van, "B3"))),
            "{because:?}"
        );
        assert_eq!(of(&case, "load tracker").1, of(&before, "load tracker").1);
        if way < 0 {
            assert_eq!(case.suspects().len(), before.suspects().len(), "{reading}");
        }
        case.record("undo").unwrap();
        assert_eq!(below(&case), below(&before), "{reading}");
        last = odds;
    }
}

/// A big fuse that shows 0.0 hides a drain; a small one does not.
#[test]
fn a_zero_on_a_big_fuse_rules_nobody_out() {
    let hatchback = sample("hatchback");
    let zeros = [
        "draw 0.35A",
        "drop ML1 0.0mV",
        "drop ML2 0.0mV",
        "drop ML3 0.0mV",
        "drop ML4 0.0mV",
    ];
    let (case, _) = after(&hatchback, &started(&zeros[..1]));
    let all = case.suspects().len();
    let (case, _) = after(&hatchback, &started(&zeros));
    assert_eq!(case.suspects().len(), all);
    convicts_nobody(&case.next());
}

/// A fuse with the battery's volts across it is blown: what is behind it is not the drain.
#[test]
fn a_blown_fuse_carries_nothing() {
    let hatchback = with("hatchback", "meter-and-clamp");
    let (case, asked) = after(&hatchback, &started(&["draw 640mA", "drop F22 12.4V"]));
    assert!(asked.iter().any(|q| matches!(q, Question::Blown(_))));
    assert!(!case.suspects().iter().any(|s| s.id == "radio memory feed"));
}

/// Below zero once is asked about as leads the wrong way; again at the same point it is fed back.
#[test]
fn below_zero_twice_is_fed_back() {
    let hatchback = with("hatchback", "meter-and-clamp");
    for (entries, first) in [
        (["draw 640mA", "drop F20 -0.6mV", "drop F20 -0.6mV"], "F20"),
        (["note solar on", "draw -120mA", "draw -120mA"], "battery"),
    ] {
        let (case, asked) = after(&hatchback, &started(&entries));
        let fed = part(&hatchback, first);
        assert!(asked.contains(&Question::LeadsRound), "{asked:?}");
        assert!(asked.contains(&Question::BackFed(fed)), "{asked:?}");
        convicts_nobody(&case.next());
    }
    // Turned round, it is a reading like any other.
    let (case, _) = after(
        &hatchback,
        &started(&["draw 640mA", "drop F20 -0.6mV", "drop F20 0.6mV"]),
    );
    assert_eq!(case.next().state, State::Measure);
}

/// Millivolts that need more current than there is.
#[test]
fn a_drop_that_needs_more_than_the_total_clashes_and_one_is_taken_again() {
    let hatchback = with("hatchback", "meter-and-clamp");
    let (mut case, _) = after(&hatchback, &started(&["draw 90mA", "drop F20 3.0mV"]));
    let next = case.next();
    assert_eq!((next.state, next.clash), (State::Contradiction, vec![3, 4]));
    // Taken back with its reason, the case goes on and the reason is kept.
    case.record("withdraw 4 wrong fuse").unwrap();
    assert_ne!(case.next().state, State::Contradiction);
    assert!(
        case.entries()
            .iter()
            .any(|e| e.text == "withdraw 4 wrong fuse")
    );
}

/// A coil held on: its current alone decides, without touching the relay.
#[test]
fn a_warm_relay_and_its_coils_current_point_at_the_coil() {
    let hatchback = with("hatchback", "fine-meter-clamp-loop");
    let (case, _) = after(
        &hatchback,
        &started(&["draw 200mA", "drop F25 0.43mV", "look K10 warm"]),
    );
    let next = case.next();
    assert_eq!(next.suspects[0].id, "K10 coil");
    assert!(next.suspects[0].odds > 0.9);
    convicts_nobody(&next);
}

/// A relay and the fuse before it read as one current: no second fall, no second drain.
#[test]
fn a_fuse_and_its_relay_in_line_are_one_fall() {
    let hatchback = with("hatchback", "fine-meter-clamp-loop");
    let steps = [
        "draw 4.5A sure",
        "drop F6 19.5mV",
        "pull K3",
        "asleep",
        "draw 20.0mA by series",
    ];
    let (case, _) = after(&hatchback, &started(&steps));
    let next = case.next();
    convicts_nobody(&next);
    let heavy = next.suspects.iter().filter(|s| s.odds > 0.05);
    for suspect in heavy {
        assert!(
            ["K3", "fuel pump", "K3 coil"].contains(&suspect.id.as_str()),
            "{suspect:?}"
        );
    }
}

/// The fault goes when the supply is broken: gone, not found, and how it may be brought back.
#[test]
fn a_fault_lost_by_pulling_is_gone() {
    let hatchback = with("hatchback", "meter-and-clamp");
    let steps = started(&[
        "draw 640mA",
        "pull F22",
        "asleep",
        "draw 20.0mA by series",
        "refit F22",
        "asleep",
        "draw 20.0mA by series",
    ]);
    let (case, _) = after(&hatchback, &steps);
    let next = case.next();
    assert_eq!(next.state, State::Gone);
    convicts_nobody(&next);
    let watch = next.watch.unwrap();
    assert!(watch.trigger > 50.0 && watch.trigger < 640.0, "{watch:?}");
}

/// Read while the vehicle was awake: nobody is ruled out by it.
#[test]
fn what_was_read_awake_rules_nobody_out() {
    let van = sample("quarto-van");
    let (asleep, _) = after(&van, &started(&["draw 640mA"]));
    let (awake, _) = after(
        &van,
        &started(&[
            "draw 640mA",
            "awake",
            "drop F3 0.0mV",
            "drop F7 0.0mV",
            "asleep",
        ]),
    );
    assert_eq!(awake.suspects().len(), asleep.suspects().len());
    assert!(
        awake
            .suspects()
            .iter()
            .any(|s| s.id == "cargo lamp" && s.odds > 0.05)
    );
}
