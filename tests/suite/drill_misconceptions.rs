//! Every wrong idea that a debrief can name, each planted into a play, and named alone.

use crate::drill;
use crate::drill_exercises::{exercise, ladder};
use crate::driver::{part, sample};
use halfsplit::case::Setting;
use halfsplit::drill::{Chance, Debrief, Drill, Exercise, Misconception};
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;
use std::collections::BTreeSet;

/// A rung, what is typed there, and what it shows.
const PLAYS: [(&str, &str, &[Misconception]); 14] = [
    (
        "04",
        "prepared; draw; asleep; draw; drop F2; look glovebox lamp; answer glovebox lamp at C2",
        &[Misconception::JudgedAwake],
    ),
    (
        "04",
        "asleep; draw; drop F2; look glovebox lamp; answer glovebox lamp at C2",
        &[Misconception::NotPrepared],
    ),
    (
        "12",
        "prepared; asleep; draw; answer no fault",
        &[Misconception::BadBaseline],
    ),
    (
        "10",
        "prepared; asleep; draw; answer radio",
        &[Misconception::BiggestConvicted],
    ),
    (
        "08",
        "prepared; asleep; draw; pull F4; asleep; draw; refit F4; answer K1 coil",
        &[Misconception::PullForFlow],
    ),
    (
        "10",
        "prepared; asleep; draw; pull F22; asleep; draw; refit F22; asleep; draw; pull F3; asleep; draw; \
         refit F3; asleep; draw; answer cluster at C64",
        &[Misconception::WokeIt],
    ),
    (
        "10",
        "prepared; asleep; draw by series jack mA; answer cluster at C64",
        &[Misconception::JackTooSmall],
    ),
    (
        "04",
        "prepared; asleep; draw; drop F2; look glovebox lamp; answer glovebox lamp at C2 proven",
        &[Misconception::ClaimedProof],
    ),
    (
        "11",
        "prepared; asleep; draw; drop F2; unplug C3; asleep; draw; refit C3; asleep; draw; answer radio memory \
         at C3 proven",
        &[Misconception::ResetCalledProven],
    ),
    (
        "11",
        "prepared; asleep; draw; pull F2; answer F2",
        &[Misconception::LostByPulling],
    ),
    (
        "09",
        "prepared; asleep; draw; drop F2; look boot lamp; answer boot lamp at C1",
        &[Misconception::OneOfTwo],
    ),
    (
        "04",
        "prepared; asleep; draw; unplug C9; drop F2; answer glovebox lamp at C2",
        &[Misconception::LeftOut],
    ),
    (
        "10",
        "prepared; asleep; draw; unplug airbag module; answer cluster at C64",
        &[Misconception::CautionIgnored],
    ),
    // Nothing is wrong with a play that is only slow, or stops before its proof and says so.
    (
        "04",
        "prepared; asleep; draw; drop F6; drop F6; drop F2; look glovebox lamp; answer glovebox lamp at C2",
        &[],
    ),
];

fn played(setting: &Setting, exercise: &Exercise, typed: &str) -> Debrief {
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let mut drill = Drill::new(setting, exercise, &choice);
    for line in typed.split("; ") {
        drill.take(line);
    }
    drill.debrief(&choice)
}

#[test]
fn each_wrong_idea_is_named_where_it_is_planted_and_alone() {
    let mut named: BTreeSet<Misconception> = BTreeSet::new();
    for (rung, typed, wanted) in PLAYS {
        let rung = ladder().into_iter().find(|r| r.name.starts_with(rung));
        let rung = rung.unwrap();
        let seen = played(&rung.setting, &exercise(&rung), typed);
        assert_eq!(seen.misconceptions, wanted, "{}: {typed}", rung.name);
        // A serious caution fails, whatever else is right; nothing else does.
        let ignored = wanted.contains(&Misconception::CautionIgnored);
        assert!(
            !ignored || seen.right && seen.marks == 0,
            "{typed}: {seen:#?}"
        );
        assert!(
            ignored || !seen.right || seen.marks > 0,
            "{typed}: {seen:#?}"
        );
        named.extend(wanted);
    }
    // 0.0 across a fuse of 30 A, where 0.1 mV is some 60 mA: with this number the display shows it.
    let board = sample("teaching-board");
    let lamp = Drain::Takes(part(&board, "boot lamp"), Milliamps::of(70.0));
    let typed = "prepared; asleep; draw; drop F1; answer blower";
    let zero = played(&board, &drill::exercise(5, vec![lamp]), typed);
    assert!(zero.steps[3].entry.contains(" 0.0mV"), "{zero:#?}");
    assert_eq!(zero.misconceptions, [Misconception::ZeroBelieved]);
    named.extend(&zero.misconceptions);
    assert!(
        named.into_iter().eq(Misconception::ALL),
        "each is planted somewhere"
    );
}
