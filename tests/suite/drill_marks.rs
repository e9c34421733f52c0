//! Marks: any play near the best that proves its answer gets all of them, bad checks are named wherever
//! they are planted, and luck earns little.

use crate::drill_exercises::{Rung, best, debrief, exercise, ladder, right};
use crate::driver::sample;
use halfsplit::case::Setting;
use halfsplit::drill::{Chance, Drill, Exercise, FULL_WITHIN, Said, Verdict, pick, played};
use halfsplit::feeds::PartId;
use halfsplit::judgement::Standing;
use halfsplit::measurement::{Method, offered};

/// Random faults on two vehicles, and every search of the ladder.
fn searches() -> Vec<(String, Setting, Exercise)> {
    let rungs = ladder().into_iter().filter_map(|rung: Rung| {
        let exercise = exercise(&rung);
        let hunt = exercise.hunt && exercise.traps == halfsplit::simulation::Traps::default();
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
        if name.contains("hatchback") || name.starts_with("10") {
            continue; // a minute of planning a play
        }
        for seed in 0..4 {
            let mut lines = wandering(&setting, &exercise, seed);
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

#[test]
fn random_play_scores_low() {
    let setting = sample("teaching-board");
    let feeds = &setting.feeds;
    let names: Vec<&str> = feeds.parts().map(|p| feeds.id(p)).collect();
    let (mut marks, plays) = (0, 40);
    for number in 0..plays {
        let dice = Chance(number);
        let exercise = Exercise {
            number,
            hidden: vec![pick(&setting, dice)],
            ..Exercise::default()
        };
        let choice = |question: &str| dice.at(question);
        let mut drill = Drill::new(&setting, &exercise, &choice);
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
    assert!(mean < 10.0, "{mean}");
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
