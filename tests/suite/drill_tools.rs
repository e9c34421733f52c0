//! What helps a learner and an instructor beside the marks: reasons, going back to a step, predictions at a
//! real board, what is left out, and seals that learners play.

use crate::drill;
use crate::drill_exercises::{debrief, exercise, folder, ladder, run};
use crate::driver::{part, sample};
use halfsplit::case::State;
use halfsplit::drill::{Chance, Drill, Hint, Misconception, Rules, Said, Verdict, best};
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;
use std::path::Path;
use std::process::Output;

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn played_at(rung: &str, typed: &str) -> halfsplit::drill::Debrief {
    let rung = ladder().into_iter().find(|r| r.name.starts_with(rung));
    let rung = rung.unwrap();
    let lines: Vec<String> = typed.split("; ").map(str::to_owned).collect();
    debrief(&rung.setting, &exercise(&rung), &lines)
}

#[test]
fn a_reason_stands_with_its_step_and_costs_nothing() {
    let play = "prepared; asleep; draw; because the total comes first; drop F2; because it splits the board";
    let with = played_at("04", play);
    let without = played_at("04", "prepared; asleep; draw; drop F2");
    let reasons: Vec<Option<&str>> = with.steps.iter().map(|s| s.reason.as_deref()).collect();
    let wanted = [
        None,
        None,
        Some("the total comes first"),
        Some("it splits the board"),
    ];
    assert_eq!(reasons, wanted);
    assert!((with.minutes - without.minutes).abs() < 1e-9);
    assert_eq!(with.marks, without.marks);
}

/// The switch that holds a module awake is found by looking at it, which is no bad check.
#[test]
fn a_look_at_an_input_or_a_network_is_never_a_bad_check() {
    let rung = ladder().remove(3);
    let drain = halfsplit::simulation::Drain::Input("door switch".to_owned());
    let mut exercise = exercise(&rung);
    exercise.hidden[0].drain = drain;
    let lines = "prepared; asleep; draw; look board network; look door switch; answer door switch";
    let lines: Vec<String> = lines.split("; ").map(str::to_owned).collect();
    let debrief = debrief(&rung.setting, &exercise, &lines);
    assert!(debrief.right && debrief.lost() == 0.0, "{debrief:#?}");
    assert_eq!(debrief.steps[4].entry, "look door switch on");
}

/// A slip in the connector does not lead to another part.
#[test]
fn an_answer_with_an_unknown_connector_is_given_back_without_it() {
    let rung = ladder().remove(3);
    let exercise = exercise(&rung);
    let choice = |question: &str| Chance(exercise.number).at(question);
    let mut drill = Drill::new(&rung.setting, &exercise, &choice);
    let Said::Refused(refusal) = drill.take("answer glovebox lamp at C99 proven") else {
        panic!("taken");
    };
    assert_eq!(refusal.works, "answer glovebox lamp");
    assert!(!drill.has_ended());
}

#[test]
fn what_is_still_out_at_the_end_is_named_but_for_the_drain_itself() {
    let proof = "unplug C2; asleep; draw; refit C2; asleep; draw; unplug C2; answer glovebox lamp at C2 proven";
    let tidy = played_at("04", &format!("prepared; asleep; draw; drop F2; {proof}"));
    assert_eq!(tidy.misconceptions, [], "{tidy:#?}");
    let left = played_at(
        "04",
        &format!("prepared; asleep; draw; drop F2; unplug C9; asleep; draw; {proof}"),
    );
    assert!(
        left.misconceptions.contains(&Misconception::LeftOut),
        "{left:#?}"
    );
}

/// At a real board the test is named first, what it would rule out is said, and then it is read.
#[test]
fn at_a_board_a_test_named_without_its_reading_is_predicted() {
    let rung = ladder().remove(3);
    let exercise = exercise(&rung);
    let choice = |question: &str| Chance(exercise.number).at(question);
    let mut drill = Drill::new(&rung.setting, &exercise, &choice)
        .on_a_board()
        .predicting();
    for line in ["prepared", "asleep", "draw 0.43A by series jack A"] {
        assert!(matches!(drill.take(line), Said::Done(_)), "{line}");
    }
    assert!(matches!(drill.take("drop F2"), Said::Asks(_)));
    assert!(matches!(drill.take("rest"), Said::Asks(_)));
    let Said::Predicted(then, predicted) = drill.take("nothing") else {
        panic!("not predicted");
    };
    assert!(matches!(*then, Said::ReadNow(_)), "{then:?}");
    assert_eq!(predicted[0].said, Some(Rules::Rest));
    assert!(matches!(drill.take("drop F2 3.2mV"), Said::Done(_)));
    assert_eq!(drill.predicted().len(), 2);
    drill.take("answer glovebox lamp at C2");
    assert_eq!(drill.debrief(&choice).predictions.len(), 2);
}

fn here(folder: &Path, told: &[&str], lines: &str) -> Output {
    run(told, lines, folder)
}

#[test]
fn going_back_to_a_step_keeps_the_attempt_and_is_not_marked() {
    let bench = tempfile::tempdir().unwrap();
    let lamp = folder().join("04-one-lamp.ron");
    let lamp = lamp.to_str().unwrap();
    let told = ["drill", lamp, "--attempt", "7.drill", "--learner", "7"];
    here(
        bench.path(),
        &told,
        "prepared\nasleep\nlook nobody\ndraw\npull F1\nanswer siren\n",
    );
    let first = std::fs::read_to_string(bench.path().join("7.drill")).unwrap();
    let again = [&told[..], &["--again", "4"]].concat();
    let second = here(
        bench.path(),
        &again,
        "drop F2\nanswer glovebox lamp at C2\n",
    );
    let said = text(&second.stderr);
    assert!(said.contains("7-again.drill"), "{said}");
    assert_eq!(
        std::fs::read_to_string(bench.path().join("7.drill")).unwrap(),
        first
    );
    let kept = std::fs::read_to_string(bench.path().join("7-again.drill")).unwrap();
    let lines: Vec<&str> = kept.lines().skip(1).collect();
    assert_eq!(
        lines,
        [
            "prepared",
            "asleep",
            "draw",
            "drop F2",
            "answer glovebox lamp at C2"
        ]
    );
    let class = here(bench.path(), &["class", lamp, ".", "--json"], "");
    let class: serde_json::Value = serde_json::from_slice(&class.stdout).unwrap();
    assert_eq!(class["attempts"], 1, "{class}");
    let none = here(bench.path(), &[&told[..], &["--again", "40"]].concat(), "");
    assert_eq!(none.status.code(), Some(2));
}

#[test]
fn learners_play_a_seal_and_are_told_nothing() {
    let bench = tempfile::tempdir().unwrap();
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles");
    let board = samples.join("teaching-board.ron");
    let own = format!(
        "Exercise(format: 1, name: \"Monday\", goal: \"Find it\", vehicle: {board:?}, number: 3,\n\
         hidden: [Cause(part: \"blower\", takes: mA(300))], lesson: \"say nothing\")\n"
    );
    std::fs::write(bench.path().join("own.ron"), own).unwrap();
    std::fs::write(bench.path().join("word.txt"), "blue door\n").unwrap();
    std::fs::write(bench.path().join("wrong.txt"), "red door\n").unwrap();
    let go = |told: &[&str], lines: &str| here(bench.path(), told, lines);
    let word = ["--passphrase-file", "word.txt"];
    let sealing = [
        "exercise",
        "own.ron",
        "--seal",
        "monday.ron",
        "--learners-play",
    ];
    let sealed = go(&[&sealing[..], &word].concat(), "");
    assert_eq!(sealed.status.code(), Some(0), "{sealed:?}");
    let file = std::fs::read_to_string(bench.path().join("monday.ron")).unwrap();
    assert!(
        !file.contains("blower") && !file.contains("say nothing"),
        "{file}"
    );
    // The learner plays it, and hears nothing of what came of it.
    let told = [
        "drill",
        "monday.ron",
        "--attempt",
        "1.drill",
        "--learner",
        "1",
        "--json",
    ];
    let play = go(&told, "prepared\nasleep\ndraw\nanswer siren\n");
    let shown = format!("{}{}", text(&play.stdout), text(&play.stderr));
    assert!(
        shown.contains("draw 0.3") && !shown.contains("blower"),
        "{shown}"
    );
    assert!(shown.contains("your instructor marks it"), "{shown}");
    for told in [
        &["exercise", "monday.ron", "--answers", "a.html"][..],
        &["class", "monday.ron", "1.drill"],
        &[
            "class",
            "monday.ron",
            "1.drill",
            "--passphrase-file",
            "wrong.txt",
        ],
    ] {
        let out = go(told, "");
        assert_ne!(out.status.code(), Some(0), "{told:?}");
        assert!(!text(&out.stdout).contains("blower"), "{told:?}");
    }
    // Who knows the passphrase marks it.
    let class = go(
        &[&["class", "monday.ron", "1.drill", "--json"][..], &word].concat(),
        "",
    );
    let class: serde_json::Value = serde_json::from_slice(&class.stdout).unwrap();
    assert_eq!(class["learners"][0]["named"][0], "siren", "{class}");
    // Sealed for eyes alone: no answer sheet of the sealed file.
    go(&["exercise", "own.ron", "--seal", "eyes.ron"], "");
    let sheet = go(&["exercise", "eyes.ron", "--answers", "a.html"], "");
    assert_eq!(sheet.status.code(), Some(2), "{sheet:?}");
    assert!(!bench.path().join("a.html").exists());
}

/// Pulling every feed of a module is unplugging it by other means, in one line or two, and no worse a check
/// than that; one of its feeds, or another module's beside it, is no such thing.
#[test]
fn the_feeds_of_a_module_that_come_out_together_are_one_act() {
    let setting = sample("hatchback");
    let cluster = setting
        .feeds
        .modules()
        .find(|m| setting.feeds.module(*m).id.value == "cluster");
    let held = drill::exercise(10, vec![Drain::HeldBy(cluster.unwrap())]);
    let judged = |out: &str| {
        let typed = format!(
            "prepared; asleep; draw; drop F20; drop F21; drop F22; drop F23; {out}; asleep; draw; refit all; \
             asleep; draw"
        );
        let lines: Vec<String> = typed.split("; ").map(str::to_owned).collect();
        debrief(&setting, &held, &lines).steps
    };
    let lost = |out: &str| judged(out).iter().map(|step| step.lost).sum::<f64>();
    for (pulled, unplugged) in [
        ("pull F23 and F29", "unplug cluster"),
        ("pull F23; pull F29", "unplug cluster"),
        ("pull F29; pull F23", "unplug C64"),
        ("pull F20 and F21", "unplug body module"),
        ("pull F20; pull F21", "unplug body module"),
        ("pull F22", "unplug radio"),
    ] {
        let (pulled_lost, unplugged_lost) = (lost(pulled), lost(unplugged));
        assert!(
            pulled_lost <= unplugged_lost + 1e-9,
            "{pulled}: {pulled_lost}, {unplugged}: {unplugged_lost}"
        );
    }
    // The wrong one goes back in as the next comes out, without a settle between: the first draw was with both in.
    let typed = "prepared; asleep; draw; drop F29; pull F22; asleep; draw; refit F22; pull F23 and F29; asleep; \
                 draw; refit all; asleep; draw; answer cluster at C64 proven";
    let lines: Vec<String> = typed.split("; ").map(str::to_owned).collect();
    let proven = debrief(&setting, &held, &lines);
    assert!(proven.proven && proven.gaps.is_empty(), "{proven:#?}");
    for (out, at, verdict) in [
        ("pull F23; pull F29", 7, Verdict::Good),
        ("pull F23; pull F29", 8, Verdict::Good),
        ("pull F22", 7, Verdict::Premature),
        ("pull F21", 7, Verdict::Irrelevant),
        ("pull F20; pull F22", 7, Verdict::Redundant),
    ] {
        let steps = judged(out);
        assert_eq!(steps[at].verdict, verdict, "{out}: {:#?}", steps[at]);
    }
}

/// With all of the van's draw out a meter shows next to nothing, as a bridge left on does: a minute for the
/// set-up tells which, and no settle is spent on it. What was proven may stay out at the end.
#[test]
fn a_draw_of_nothing_costs_a_look_at_the_set_up_and_no_settle() {
    let setting = sample("quarto-van");
    let of = |name: &str| Drain::Takes(part(&setting, name), Milliamps::of(560.0));
    let exercise = drill::exercise(3, vec![of("body feed 1")]);
    let choice = |question: &str| Chance(3).at(question);
    let path = best(&setting, &exercise, &choice);
    let last: Vec<&str> = path.lines[path.lines.len() - 3..]
        .iter()
        .map(String::as_str)
        .collect();
    assert_eq!(
        last,
        ["draw by series jack A", "unplug C201", "check set-up"]
    );
    assert_eq!(path.state, State::Confirmed);
    // The hints end there too.
    let mut drill = Drill::new(&setting, &exercise, &choice);
    for line in &path.lines[..path.lines.len() - 1] {
        drill.take(line);
    }
    let hint = |drill: &mut Drill<'_>| match drill.take("hint") {
        Said::Hint(hint) => *hint,
        other => panic!("{other:?}"),
    };
    assert_eq!(hint(&mut drill), Hint::SetUp);
    drill.take("check set-up");
    assert!(matches!(hint(&mut drill), Hint::Step(next) if next.test.is_none()));
    let short = "prepared; asleep; draw; drop F3; unplug C201; asleep; draw; refit C201; asleep; draw; \
                 unplug C201; answer body feed 1 at C201 proven";
    let lines: Vec<String> = short.split("; ").map(str::to_owned).collect();
    let debrief = debrief(&setting, &exercise, &lines);
    assert!(debrief.proven && debrief.lost() <= 0.0, "{debrief:#?}");
}
