//! A real training board: the best path there wakes only where the learner's entries show that the board does.

use crate::drill_exercises::{Rung, exercise, ladder};
use halfsplit::drill::{Chance, Debrief, Drill, Misconception, Said, best, best_where};

/// What comes of these lines typed at a board; each must be taken.
fn at_the_board(rung: &Rung, lines: &[&str]) -> Debrief {
    let exercise = exercise(rung);
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let mut drill = Drill::new(&rung.setting, &exercise, &choice).on_a_board();
    for line in lines {
        let said = drill.take(line);
        assert!(
            matches!(said, Said::Done(_) | Said::Ended),
            "{}: {line}: {said:?}",
            rung.name
        );
    }
    drill.debrief(&choice)
}

const START: [&str; 5] = [
    "prepared",
    "asleep",
    "draw 440mA by series",
    "drop F1 0.8mV",
    "drop F2 3.4mV",
];
const PROOF: [&str; 8] = [
    "unplug C2",
    "asleep",
    "draw 20.4mA by series jack mA",
    "refit C2",
    "asleep",
    "draw 0.44A by series",
    "unplug C2",
    "answer glovebox lamp at C2 proven",
];

#[test]
fn a_board_wakes_where_its_entries_show_it() {
    let rung = ladder().remove(3);
    let aside = ["unplug C9", "asleep", "draw 0.44A by series"];
    for (shows, between, wakes) in [
        ("nothing", vec![], false),
        ("the draw stayed", aside.to_vec(), false),
        (
            "awake, typed before anything moved",
            vec!["awake", "asleep"],
            false,
        ),
        (
            "awake, typed after something moved",
            vec!["unplug C9", "awake", "asleep"],
            true,
        ),
        (
            "awake, taken back",
            vec!["unplug C9", "awake", "undo", "asleep"],
            false,
        ),
        (
            "the draw rose with less in",
            vec!["unplug C9", "draw 1.9A by series", "asleep"],
            true,
        ),
        (
            "the draw rose with nothing moved",
            vec!["draw 1.9A by series"],
            false,
        ),
    ] {
        let lines = [&START[..], &between, &PROOF].concat();
        let debrief = at_the_board(&rung, &lines);
        assert_eq!(debrief.board_wakes, Some(wakes), "{shows}");
        assert_eq!(debrief.best.wakes > 0, wakes, "{shows}");
        if !wakes {
            let ideas = &debrief.misconceptions;
            assert!(
                !ideas.contains(&Misconception::WokeIt),
                "{shows}: {ideas:?}"
            );
        }
    }
}

/// The fourth rung wakes by its number. At a board that sleeps on, a play that takes as long as that is slow.
#[test]
fn a_slow_play_at_a_board_that_does_not_wake_is_no_best_one() {
    let rung = ladder().remove(3);
    let exercise = exercise(&rung);
    let chance = Chance(exercise.number);
    let woken = best(&rung.setting, &exercise, &|question: &str| {
        chance.at(question)
    });
    assert!(woken.wakes > 0, "{woken:#?}");
    let quick = at_the_board(&rung, &[&START[..], &PROOF].concat());
    assert_eq!(quick.marks, 100, "{quick:#?}");
    let slow = ["wait 5"];
    let slow = at_the_board(&rung, &[&START[..], &slow, &PROOF].concat());
    assert!(slow.right && slow.proven, "{slow:#?}");
    assert!(
        slow.minutes < woken.minutes,
        "{} {}",
        slow.minutes,
        woken.minutes
    );
    assert!(
        slow.best.minutes < slow.minutes && slow.marks < 100,
        "{slow:#?}"
    );
}

/// Whoever types the best path at a board, with what was seen of its sleep, needs its minutes and no others.
#[test]
fn the_best_path_at_a_board_is_reckoned_like_the_learners() {
    let (mut hunts, mut shorter) = (0, 0);
    for rung in ladder() {
        let exercise = exercise(&rung);
        let chance = Chance(exercise.number);
        let choice = |question: &str| chance.at(question);
        if !exercise.hunt {
            continue;
        }
        hunts += 1;
        let still = best_where(&rung.setting, &exercise, Some(false), &choice);
        let woken = best_where(&rung.setting, &exercise, Some(true), &choice);
        assert_eq!(still.wakes, 0, "{}", rung.name);
        shorter += usize::from(still.minutes < woken.minutes);
        let mut drill = Drill::new(&rung.setting, &exercise, &choice).on_a_board();
        let mut slept = false;
        for (index, line) in still.read.iter().enumerate() {
            let said = drill.take(line);
            assert!(
                matches!(said, Said::Done(_)),
                "{}: {line}: {said:?}",
                rung.name
            );
            slept |= line == "asleep";
            let words = ["pull ", "unplug ", "refit "];
            let moved = words.iter().any(|word| line.starts_with(word));
            let says = still
                .read
                .get(index + 1)
                .is_some_and(|next| next == "asleep");
            if moved && slept && !says {
                drill.take("asleep");
            }
        }
        let (own, best) = (drill.parked().minutes(), still.minutes);
        assert!((own - best).abs() < 1e-6, "{}: {own} {best}", rung.name);
    }
    assert!(hunts >= 8 && shorter >= 2, "{hunts} {shorter}");
}
