//! Marks: any play near the best that proves its answer gets all of them, bad checks are named wherever
//! they are planted, and luck earns little.

use crate::drill_exercises::{Rung, best, debrief, exercise, ladder, replies, right};
use crate::driver::sample;
use halfsplit::case::Setting;
use halfsplit::drill::{
    CHECK_SET_UP, Chance, Drill, Exercise, FULL_WITHIN, Gap, Misconception, Said, Verdict, pick,
    played,
};
use halfsplit::feeds::PartId;
use halfsplit::judgement::Standing;
use halfsplit::measurement::{Method, offered};
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::{Drain, Hidden};

/// Random faults on two vehicles, and every search of the ladder.
fn searches() -> Vec<(String, Setting, Exercise)> {
    let rungs = ladder().into_iter().filter_map(|rung: Rung| {
        let exercise = exercise(&rung);
        let hunt = exercise.hunt;
        hunt.then_some((rung.name, rung.setting, exercise))
    });
    let random = (100..108).flat_map(|number| {
        ["teaching-board", "quarto-van"].map(|name| {
            let setting = sample(name);
            let exercise = Exercise {
                number,
                hidden: vec![pick(&setting, Chance(number))],
                ..Exercise::default()
            };
            (format!("{name} {number}"), setting, exercise)
        })
    });
    rungs.chain(random).collect()
}

fn path(setting: &Setting, exercise: &Exercise) -> Vec<String> {
    let chance = Chance(exercise.number);
    played(setting, exercise, &|question: &str| chance.at(question)).lines
}

/// The lines of a play in which, now and then, another test of the plan is done first.
fn wandering(setting: &Setting, exercise: &Exercise, seed: u64) -> Vec<String> {
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let dice = Chance(seed);
    let mut drill = Drill::new(setting, exercise, &choice);
    let mut lines = Vec::new();
    for step in 0..120 {
        let next = drill.case().next();
        // A draw of next to nothing on a vehicle that goes flat: the set-up is looked at, once.
        let next_to_nothing = next.state == halfsplit::case::State::WithinLimit
            || next.reason == halfsplit::case::Reason::Doubted;
        let looked = || lines.iter().any(|line: &String| line == CHECK_SET_UP);
        if next_to_nothing && exercise.traps.bridge_on && !looked() {
            for line in [CHECK_SET_UP, "draw"] {
                drill.take(line);
                lines.push(line.to_owned());
            }
            continue;
        }
        let Some(test) = &next.test else {
            if next.state == halfsplit::case::State::Prepare {
                drill.take("prepared");
                lines.push("prepared".to_owned());
                continue;
            }
            break;
        };
        let mut line = match test.method {
            Method::Wait => "asleep".to_owned(),
            _ => test.entry.clone(),
        };
        let other = drill
            .case()
            .plan()
            .filter(|_| dice.at(&format!("turn {step}")) < 0.3);
        if let Some(plan) = other.filter(|_| next.state == halfsplit::case::State::Measure) {
            let reads: Vec<_> = plan.tests.iter().filter(|t| t.disturbs == 0.0).collect();
            if !reads.is_empty() {
                let which = dice.one_of(&format!("which {step}"), reads.len());
                line.clone_from(&reads[which].entry);
            }
        }
        if matches!(drill.take(&line), Said::Done(_)) {
            lines.push(line);
        }
    }
    lines
}

#[test]
fn any_play_near_the_best_that_proves_its_answer_gets_full_marks() {
    let (mut near, mut far) = (0, 0);
    for (name, setting, exercise) in searches() {
        // The longest search of all once, the others a few times.
        let plays = if name.starts_with("10") { 1 } else { 4 };
        for seed in 0..plays {
            let mut lines = wandering(&setting, &exercise, seed);
            lines.extend(replies(&exercise));
            lines.push(right(&setting.feeds, &exercise));
            let debrief = debrief(&setting, &exercise, &lines);
            if !(debrief.right && debrief.proven) {
                continue;
            }
            if debrief.minutes <= (1.0 + FULL_WITHIN) * debrief.best.minutes {
                near += 1;
                assert_eq!(debrief.marks, 100, "{name} {seed}: {debrief:#?}");
            } else {
                far += 1;
                assert!(debrief.marks < 100, "{name} {seed}: {debrief:#?}");
            }
        }
    }
    assert!(near >= 30 && far >= 3, "{near} near, {far} far");
}

/// The best path a little otherwise: two readings the other way round, one check of the total less or more,
/// what was proven not left out at the end.
fn turned_about(path: &[String]) -> Vec<Vec<String>> {
    let reads = |line: &String| {
        ["drop ", "clamp ", "look ", "volts "]
            .iter()
            .any(|w| line.starts_with(w))
    };
    let with = |change: &dyn Fn(&mut Vec<String>)| {
        let mut lines = path.to_vec();
        change(&mut lines);
        lines
    };
    let mut plays = vec![with(&|lines| lines.truncate(lines.len() - 1))];
    for (at, pair) in path.windows(2).enumerate() {
        if pair.iter().all(reads) {
            plays.push(with(&|lines| lines.swap(at, at + 1)));
        }
        if reads(&pair[0]) && pair[1].starts_with("draw") {
            plays.push(with(&|lines| drop(lines.remove(at + 1))));
            plays.push(with(&|lines| lines.insert(at + 1, pair[1].clone())));
        }
    }
    plays
}

#[test]
fn the_best_path_a_little_otherwise_keeps_its_marks() {
    let (mut near, mut far) = (0, 0);
    for (name, setting, exercise) in searches() {
        let chance = Chance(exercise.number);
        let choice = |question: &str| chance.at(question);
        let plan = played(&setting, &exercise, &choice);
        // What the longest search takes is enough for a few of its plays.
        let most = if name.starts_with("10") { 3 } else { 8 };
        for lines in turned_about(&plan.lines).into_iter().take(most) {
            let mut drill = Drill::new(&setting, &exercise, &choice);
            for line in lines.iter().chain(&replies(&exercise)) {
                drill.take(line);
            }
            drill.take(&right(&setting.feeds, &exercise));
            let debrief = drill.debrief_against(plan.clone(), &choice);
            if !debrief.proven {
                // What could not be proven with it all cannot be with less.
                continue;
            }
            assert!(debrief.right, "{name}: {debrief:#?}");
            if debrief.minutes <= (1.0 + FULL_WITHIN) * plan.minutes {
                near += 1;
                assert_eq!(debrief.marks, 100, "{name}: {lines:?} {debrief:#?}");
            } else {
                far += 1;
                assert!(debrief.marks < 100, "{name}: {lines:?} {debrief:#?}");
            }
        }
    }
    assert!(near >= 60, "{near} near, {far} far");
}

/// What is planted into a best play, and what must be said of it, and of nothing else.
#[test]
fn a_bad_check_is_named_wherever_it_is_planted() {
    let (mut irrelevant, mut redundant) = (0, 0);
    for (name, setting, exercise) in searches() {
        let feeds = &setting.feeds;
        let chance = Chance(exercise.number);
        let choice = |question: &str| chance.at(question);
        let lines = path(&setting, &exercise);
        let mut drill = Drill::new(&setting, &exercise, &choice);
        let mut plants: Vec<(usize, String, Verdict)> = Vec::new();
        for (at, line) in lines.iter().enumerate() {
            drill.take(line);
            // While something is out a proof is under way, and the search stands still.
            if drill.case().plan().is_none()
                || !drill.parked().out().is_empty()
                || !drill.parked().is_asleep()
            {
                continue;
            }
            let judged = drill.case().judged();
            let read = |p: &PartId| {
                offered(feeds, *p).contains(&Method::Drop)
                    && feeds.place(*p) == feeds.place(PartId(0))
            };
            let mut out = feeds
                .parts()
                .filter(read)
                .filter(|p| judged.standing(*p) == Standing::RuledOut);
            if let Some(p) = out.next() {
                plants.push((at + 1, format!("drop {}", feeds.id(p)), Verdict::Irrelevant));
            }
            if line.starts_with("drop ") {
                plants.push((at + 1, line.clone(), Verdict::Redundant));
            }
        }
        for (at, planted, verdict) in plants.into_iter().take(3) {
            let mut all = lines[..at].to_vec();
            all.push(planted.clone());
            let debrief = debrief(&setting, &exercise, &all);
            let last = debrief.steps.last().unwrap();
            let ruled_out = verdict == Verdict::Redundant && last.verdict == Verdict::Irrelevant;
            assert!(
                last.verdict == verdict || ruled_out,
                "{name}: {planted} {last:#?}"
            );
            assert!(last.lost > 0.0, "{name}: {planted}");
            let others = &debrief.steps[..debrief.steps.len() - 1];
            assert!(
                others.iter().all(|s| s.verdict == Verdict::Good),
                "{name}: {debrief:#?}"
            );
            irrelevant += usize::from(verdict == Verdict::Irrelevant);
            redundant += usize::from(verdict == Verdict::Redundant);
        }
    }
    assert!(
        irrelevant >= 5 && redundant >= 10,
        "{irrelevant} {redundant}"
    );
}

/// Whatever comes to hand, wherever: every second of them prepares and reads the draw first, as who has been
/// told how to begin.
#[test]
fn random_play_scores_low() {
    for (vehicle, plays) in [("teaching-board", 40), ("quarto-van", 12), ("pickup", 12)] {
        let setting = sample(vehicle);
        let feeds = &setting.feeds;
        let names: Vec<&str> = feeds.parts().map(|p| feeds.id(p)).collect();
        let mut marks = 0;
        for number in 0..plays {
            let dice = Chance(number);
            let exercise = Exercise {
                number,
                hidden: vec![pick(&setting, dice)],
                ..Exercise::default()
            };
            let choice = |question: &str| dice.at(question);
            let mut drill = Drill::new(&setting, &exercise, &choice);
            let begun = ["prepared", "asleep", "draw"].iter();
            begun.filter(|_| number % 2 == 1).for_each(|line| {
                drill.take(line);
            });
            for step in 0..12 {
                let name = names[dice.one_of(&format!("random {step}"), names.len())];
                let words = ["drop", "pull", "unplug", "look", "volts", "clamp"];
                let word = words[dice.one_of(&format!("word {step}"), words.len())];
                drill.take(&format!("{word} {name}"));
            }
            drill.take(&format!(
                "answer {} proven",
                names[dice.one_of("random answer", names.len())]
            ));
            marks += drill.debrief(&choice).marks;
        }
        let mean = f64::from(marks) / plays as f64;
        assert!(mean < 10.0, "{vehicle}: {mean}");
    }
}

#[test]
fn a_quick_guess_earns_no_minutes() {
    for rung in ladder() {
        let exercise = exercise(&rung);
        if !exercise.hunt {
            continue;
        }
        let lines = [
            "prepared".to_owned(),
            "asleep".to_owned(),
            right(&rung.setting.feeds, &exercise),
        ];
        let guessed = debrief(&rung.setting, &exercise, &lines);
        let provable = guessed.best.proven.len() == exercise.hidden.len();
        assert!(
            !provable || guessed.marks <= 50,
            "{}: {}",
            rung.name,
            guessed.marks
        );
        assert_eq!(best(&rung, &exercise).last(), lines.last());
    }
}

/// What a play at a rung, or at a board with two drains, comes to.
fn played_at(rung: &str, typed: &str) -> halfsplit::drill::Debrief {
    let rung = ladder().into_iter().find(|r| r.name.starts_with(rung));
    let rung = rung.unwrap();
    let exercise = exercise(&rung);
    // A search is marked here by itself, so what is asked beside it is replied to.
    let mut lines = Vec::new();
    if exercise.hunt {
        lines = replies(&exercise);
    }
    lines.extend(typed.split("; ").map(str::to_owned));
    debrief(&rung.setting, &exercise, &lines)
}

#[test]
fn a_vehicle_that_did_not_wake_need_not_be_waited_for_and_a_shorter_play_is_the_best() {
    let play =
        "prepared; asleep; draw; drop F4; pull K1; draw; refit K1; draw; answer K1 coil proven";
    let debrief = played_at("06", play);
    assert!(debrief.proven && debrief.gaps.is_empty(), "{debrief:#?}");
    assert_eq!(debrief.marks, 100, "{debrief:#?}");
    assert_eq!(debrief.misconceptions, []);
    assert!(debrief.lost() == 0.0 && debrief.best.minutes <= debrief.minutes);
}

#[test]
fn what_is_missing_from_a_proof_is_named() {
    let others = |names: &[&str]| Gap::NotAlone(names.iter().map(|n| (*n).to_owned()).collect());
    let table = [
        (
            "08",
            "prepared; asleep; draw; pull F3 and F4; asleep; draw; refit all; asleep; draw; \
             answer door module at C4 proven",
            others(&["siren", "K1 coil"]),
        ),
        (
            "06",
            "prepared; asleep; draw; answer K1 coil proven",
            Gap::NeverOut,
        ),
        (
            "06",
            "prepared; asleep; draw; pull K1; answer K1 coil proven",
            Gap::NoDraw,
        ),
        (
            "06",
            "prepared; asleep; draw; drop F4; pull K1; draw; answer K1 coil proven",
            Gap::NotBack,
        ),
        (
            "06",
            "prepared; draw; pull K1; draw; answer K1 coil proven",
            Gap::Awake,
        ),
    ];
    for (rung, play, gap) in table {
        let debrief = played_at(rung, play);
        assert!(debrief.right && !debrief.proven, "{play}: {debrief:#?}");
        assert_eq!(debrief.gaps.len(), 1, "{play}: {debrief:#?}");
        assert_eq!(debrief.gaps[0].1, gap, "{play}");
        let claimed = debrief
            .misconceptions
            .contains(&Misconception::ClaimedProof);
        assert!(claimed && debrief.marks <= 60, "{play}: {debrief:#?}");
    }
}

#[test]
fn one_of_two_drains_that_is_proven_earns_its_share() {
    let setting = sample("teaching-board");
    let takes = |id: &str, ma| Hidden {
        drain: Drain::Takes(
            setting
                .feeds
                .parts()
                .find(|p| setting.feeds.id(*p) == id)
                .unwrap(),
            ma,
        ),
        lost_by_break: false,
    };
    let two = Exercise {
        number: 2,
        hidden: vec![
            takes("boot lamp", Milliamps::of(400.0)),
            takes("blower", Milliamps::of(300.0)),
        ],
        ..Exercise::default()
    };
    let play = "prepared; asleep; draw; unplug C9; asleep; draw; refit C9; asleep; draw; ";
    for (answer, marks) in [
        ("answer blower at C9 proven", 35),
        ("answer blower proven", 30),
        ("answer boot lamp at C1", 25),
        ("answer blower and siren proven", 0),
    ] {
        let lines: Vec<String> = format!("{play}{answer}")
            .split("; ")
            .map(str::to_owned)
            .collect();
        assert_eq!(debrief(&setting, &two, &lines).marks, marks, "{answer}");
    }
}

#[test]
fn what_told_nothing_is_named_with_its_minutes() {
    let idle = played_at("06", "prepared; asleep; wait 60 min");
    let last = idle.steps.last().unwrap();
    assert_eq!((last.verdict, last.lost), (Verdict::Spoilt, 60.0));
    let awake = played_at("06", "prepared; draw; drop F1");
    let told = |s: &halfsplit::drill::Judged| s.verdict == Verdict::Spoilt;
    assert_eq!(
        awake.steps.iter().filter(|s| told(s)).count(),
        2,
        "{awake:#?}"
    );
    // The settle that a needless pull makes necessary is charged to the pull.
    let woke = played_at("10", "prepared; asleep; draw; pull F22; asleep");
    assert!(
        woke.wakes > 0 && woke.steps[3].lost > 20.0,
        "{:#?}",
        woke.steps
    );
}

#[test]
fn who_believes_a_bridged_meter_can_say_that_nothing_is_wrong() {
    let believed = played_at("12", "prepared; asleep; draw; answer no fault");
    assert_eq!(believed.misconceptions, [Misconception::BadBaseline]);
    // The reply that is right beside it is a fifth.
    assert!(!believed.right && believed.marks <= 20);
}

#[test]
fn a_reply_is_taken_in_other_words_that_say_the_same() {
    let table = [
        ("reply 2 the siren and the door module feed 1", 1, true),
        ("reply 4 heater", 3, true),
        ("reply 4 the rear window heater", 3, true),
        ("reply 3 No, it is not sure", 2, true),
        ("reply 3 yes", 2, false),
        ("reply 4 lamp", 3, false),
        ("reply 5 it is F1", 4, true),
        ("reply 5 F1 or F2", 4, false),
    ];
    for (line, index, right) in table {
        let debrief = played_at("01", line);
        assert_eq!(debrief.replies[index].right, Some(right), "{line}");
    }
}
