//! For the instructor: seals, sheets to print, real boards, a class marked in one go; and what is asked
//! before a reading, in a drill and in `trace`.

use crate::drill_exercises::{exercise, folder, ladder, run};
use halfsplit::drill::{Chance, Drill, Predicted, Rules, Said};
use halfsplit::render;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Output;

fn file(name: &str) -> String {
    folder()
        .join(format!("{name}.ron"))
        .to_str()
        .unwrap()
        .to_owned()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

const LAMP: &str = "prepared\nasleep\ndraw\ndrop F1\ndrop F2\nunplug C2\nasleep\ndraw\nrefit C2\nasleep\n\
                    draw\nanswer glovebox lamp at C2 proven\n";

/// Everything of a page that a reader sees, once it is found to be well-formed.
fn seen(page: &str) -> String {
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        ..roxmltree::ParsingOptions::default()
    };
    let page = page.replace("<!DOCTYPE html>", "");
    let document = roxmltree::Document::parse_with_options(&page, options).unwrap();
    document
        .descendants()
        .filter_map(|n| n.text())
        .collect::<Vec<_>>()
        .join(" ")
}

#[test]
fn a_sealed_exercise_tells_nothing_and_plays_the_same() {
    let bench = tempfile::tempdir().unwrap();
    let lamp = file("04-one-lamp");
    // Beside the samples, so that its vehicle stands where it says.
    let place = bench.path().join("exercises");
    std::fs::create_dir(&place).unwrap();
    for name in ["teaching-board.ron", "instruments"] {
        let from = folder().parent().unwrap().join(name);
        if from.is_dir() {
            std::fs::create_dir(bench.path().join(name)).unwrap();
            let plain = "instruments/plain-meter.ron";
            std::fs::copy(
                folder().parent().unwrap().join(plain),
                bench.path().join(plain),
            )
            .unwrap();
        } else {
            std::fs::copy(from, bench.path().join(name)).unwrap();
        }
    }
    let here = |arguments: &[&str], lines: &str| run(arguments, lines, bench.path());
    let sealed = here(
        &["exercise", &lamp, "--seal", "exercises/04-one-lamp.ron"],
        "",
    );
    assert_eq!(sealed.status.code(), Some(0), "{sealed:?}");
    assert!(
        text(&sealed.stderr).contains("against a glance only"),
        "{sealed:?}"
    );
    let written = std::fs::read_to_string(place.join("04-one-lamp.ron")).unwrap();
    for secret in ["glovebox", "Cause(", "takes", "boot lamp", "search"] {
        assert!(!written.contains(secret), "{secret}: {written}");
    }
    let open = here(&["drill", &lamp, "--json"], LAMP);
    let shut = here(&["drill", "exercises/04-one-lamp.ron", "--json"], LAMP);
    assert_eq!(open.status.code(), Some(0), "{open:?}");
    assert_eq!(text(&open.stdout), text(&shut.stdout));
    // One letter of the seal changed.
    let bent = written.replacen("eyes:", "eyes:AAAA", 1);
    std::fs::write(place.join("bent.ron"), bent).unwrap();
    let refused = here(&["drill", "exercises/bent.ron"], "");
    assert_eq!(refused.status.code(), Some(1));
    assert!(
        text(&refused.stderr).contains("it was changed"),
        "{refused:?}"
    );
}

#[test]
fn a_passphrase_keeps_the_answer_and_a_board_needs_none() {
    let bench = tempfile::tempdir().unwrap();
    let place = bench.path();
    let inside = std::fs::read_to_string(file("04-one-lamp")).unwrap();
    let samples = folder().parent().unwrap().to_owned();
    let inside = inside.replace("\"../", &format!("\"{}/", samples.display()));
    std::fs::write(place.join("lamp.ron"), inside).unwrap();
    std::fs::write(place.join("secret"), "blue door 17\n").unwrap();
    std::fs::write(place.join("wrong"), "green door 17\n").unwrap();
    std::fs::write(place.join("none"), "\n").unwrap();
    let code = |arguments: &[&str], lines: &str| -> (i32, Output) {
        let output = run(arguments, lines, place);
        (output.status.code().unwrap(), output)
    };
    let seal = [
        "exercise",
        "lamp.ron",
        "--passphrase-file",
        "secret",
        "--seal",
        "locked.ron",
    ];
    assert_eq!(code(&seal, "").0, 0);
    assert_eq!(
        code(&["drill", "locked.ron"], LAMP).0,
        2,
        "at the simulated vehicle it is needed"
    );
    assert_eq!(
        code(&["drill", "locked.ron", "--passphrase-file", "wrong"], LAMP).0,
        1
    );
    assert_eq!(
        code(&["drill", "locked.ron", "--passphrase-file", "none"], LAMP).0,
        2
    );
    assert_eq!(
        code(
            &["drill", "locked.ron", "--passphrase-file", "secret"],
            LAMP
        )
        .0,
        0
    );
    // At a real board: typed readings, no debrief, the instructor marks it.
    let typed = "prepared\nasleep\ndraw 440mA by series\ndrop F1 0.8mV\ndrop F2 3.4mV\nunplug C2\nasleep\n\
                 draw 20.4mA by series jack mA\nrefit C2\nasleep\ndraw 0.44A by series\n\
                 unplug C2\nanswer glovebox lamp at C2 proven\n";
    let told = [
        "drill",
        "locked.ron",
        "--board",
        "--attempt",
        "3.drill",
        "--learner",
        "3",
    ];
    let (ended, output) = code(&told, typed);
    assert_eq!(ended, 0, "{output:?}");
    assert!(
        text(&output.stderr).contains("hand in 3.drill"),
        "{output:?}"
    );
    assert!(!text(&output.stdout).contains("right"), "{output:?}");
    assert_eq!(code(&["class", "locked.ron", "3.drill"], "").0, 2);
    let (marked, output) = code(
        &[
            "class",
            "locked.ron",
            "3.drill",
            "--passphrase-file",
            "secret",
            "--csv",
            "-",
        ],
        "",
    );
    assert_eq!(marked, 0, "{output:?}");
    let table = text(&output.stdout);
    let row: Vec<&str> = table.lines().nth(1).unwrap().split(',').collect();
    // learner, number, ended, right, proven, connector
    assert_eq!(row[..6], ["3", "4", "1", "1", "1", "1"], "{table}");
}

/// A board that is real is judged like the simulated one: the same entries give the same steps.
#[test]
fn readings_typed_at_a_board_are_judged_like_those_of_the_vehicle() {
    let bench = tempfile::tempdir().unwrap();
    let lamp = file("04-one-lamp");
    let simulated = run(&["drill", &lamp, "--json"], LAMP, bench.path());
    let entries: Vec<String> = text(&simulated.stdout)
        .lines()
        .filter_map(|line| line.split_once("  [").map(|(entry, _)| entry.to_owned()))
        .collect();
    let typed = format!(
        "{}\nanswer glovebox lamp at C2 proven\n",
        entries.join("\n")
    );
    let board = run(&["drill", &lamp, "--json", "--board"], &typed, bench.path());
    let last = |output: &Output| -> serde_json::Value {
        serde_json::from_str(text(&output.stdout).lines().last().unwrap()).unwrap()
    };
    let (one, other) = (last(&simulated), last(&board));
    for field in [
        "right",
        "proven",
        "connector",
        "named",
        "marks",
        "misconceptions",
    ] {
        assert_eq!(one[field], other[field], "{field}\n{one:#}\n{other:#}");
    }
    let steps = |debrief: &serde_json::Value| -> Vec<(String, String)> {
        let steps = debrief["steps"].as_array().unwrap().iter();
        let pair = |s: &serde_json::Value| (s["entry"].to_string(), s["verdict"].to_string());
        steps.map(pair).collect()
    };
    assert_eq!(steps(&one), steps(&other));
}

/// Thirty learners of three kinds at one exercise.
#[test]
fn a_class_of_thirty_is_marked_in_one_go() {
    let bench = tempfile::tempdir().unwrap();
    let place = bench.path().join("attempts");
    std::fs::create_dir(&place).unwrap();
    let lamp = file("04-one-lamp");
    let kinds = [
        LAMP,
        "draw\ndrop F5\nanswer boot lamp\n",
        "prepared\nasleep\ndraw\ndrop F1\ndrop F5\nhint\ndrop F2\nanswer F2 proven\n",
    ];
    for learner in 1..=30 {
        let mut attempt = String::from("# halfsplit drill, format 1; number 4; ");
        let _ = write!(
            attempt,
            "learner {learner}; exercise 04-one-lamp\n{}",
            kinds[learner % 3]
        );
        std::fs::write(place.join(format!("{learner:02}.drill")), attempt).unwrap();
    }
    let told = [
        "class",
        &lamp,
        "attempts",
        "--csv",
        "class.csv",
        "--page",
        "class.html",
    ];
    let marked = run(&told, "", bench.path());
    assert_eq!(marked.status.code(), Some(0), "{marked:?}");
    let table = std::fs::read_to_string(bench.path().join("class.csv")).unwrap();
    assert_eq!(table.lines().count(), 31, "{table}");
    let mut reader = csv_rows(&table);
    let heads = reader.remove(0);
    let at = |name: &str| {
        heads
            .iter()
            .position(|head| head == name)
            .unwrap_or_else(|| panic!("{name}"))
    };
    for (index, row) in reader.iter().enumerate() {
        let learner = index + 1;
        assert_eq!(row[at("learner")], learner.to_string());
        let kind = learner % 3;
        // What this learner's own debrief says.
        let own = run(&["drill", &lamp, "--json"], kinds[kind], bench.path());
        if learner <= 3 {
            let debrief: serde_json::Value =
                serde_json::from_str(text(&own.stdout).lines().last().unwrap()).unwrap();
            assert_eq!(debrief["marks"].to_string(), row[at("marks")], "{learner}");
        }
        let wrong = [0, 1, 1][kind].to_string();
        assert_eq!(row[at("judged_awake")], u8::from(kind == 1).to_string());
        assert_eq!(row[at("right")] == "0", wrong == "1", "{row:?}");
    }
    let page = std::fs::read_to_string(bench.path().join("class.html")).unwrap();
    let seen = seen(&page);
    for wanted in [
        "30 attempts, 30 brought to an end",
        "judged awake",
        "1, 4, 7, 10, 13, 16, 19, 22, 25, 28",
        "not prepared",
    ] {
        assert!(seen.contains(wanted), "{wanted}: {seen}");
    }
    // Who hands in that nothing is wrong has given an answer.
    std::fs::write(
        place.join("30.drill"),
        "# halfsplit drill, format 1; number 4; learner 30; exercise 04-one-lamp\nprepared\nanswer no fault\n",
    )
    .unwrap();
    let none = run(
        &["class", &lamp, "attempts", "--csv", "-"],
        "",
        bench.path(),
    );
    let row = csv_rows(&text(&none.stdout)).remove(30);
    assert_eq!(row[at("answer")], "no fault", "{row:?}");
    let told = run(&["class", &lamp, "attempts"], "", bench.path());
    assert!(text(&told.stdout).contains("no fault: 1"), "{told:?}");
    // An attempt at something else is left out, and said.
    std::fs::write(
        place.join("31.drill"),
        "# halfsplit drill, format 1; number 5; exercise 05-x\ndraw\n",
    )
    .unwrap();
    std::fs::write(place.join("32.drill"), "nonsense\n").unwrap();
    let some = run(&["class", &lamp, "attempts"], "", bench.path());
    assert_eq!(some.status.code(), Some(1));
    assert_eq!(
        text(&some.stderr).matches("left out").count(),
        2,
        "{some:?}"
    );
}

fn csv_rows(table: &str) -> Vec<Vec<String>> {
    table
        .lines()
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect()
}

#[test]
fn a_worksheet_says_nothing_of_what_is_hidden_and_the_answer_sheet_all() {
    for rung in ladder() {
        let exercise = exercise(&rung);
        let sheet = render::worksheet(&rung.task, &rung.setting, &exercise, 0);
        // With something else hidden, and nothing expected, it is the same sheet.
        let mut other = exercise.clone();
        (other.hidden, other.wrong, other.blown) = (Vec::new(), Vec::new(), Vec::new());
        assert_eq!(
            sheet,
            render::worksheet(&rung.task, &rung.setting, &other, 0),
            "{}",
            rung.name
        );
        let sheet = seen(&sheet);
        for (_, say) in exercise
            .wrong
            .iter()
            .chain(exercise.questions.iter().flat_map(|q| &q.wrong))
        {
            assert!(!sheet.contains(say.as_str()), "{}: {say}", rung.name);
        }
        let best = halfsplit::drill::best(&rung.setting, &exercise, &|question: &str| {
            halfsplit::drill::Chance(exercise.number).at(question)
        });
        let answers = seen(&render::answer_sheet(
            &rung.task,
            &rung.setting,
            &exercise,
            Some(&best),
        ));
        // A reason of its own for a draw, for the first split and for what comes out; one row a step.
        assert_eq!(best.asked.len(), best.lines.len(), "{}", rung.name);
        for (line, reasons) in [
            ("draw", &["The settled total comes first"][..]),
            (
                "drop",
                &[
                    "most likely gets to the end soonest",
                    "One reading here tells of all",
                    "carries too much: this parts",
                ],
            ),
            ("unplug", &["Taking it out proves it"]),
        ] {
            if exercise.hunt && best.lines.iter().any(|typed| typed.starts_with(line)) {
                let given = reasons.iter().any(|reason| answers.contains(reason));
                assert!(given, "{}: {reasons:?}", rung.name);
            }
        }
        for (name, say) in &exercise.wrong {
            assert!(
                answers.contains(name.as_str()) && answers.contains(say.as_str()),
                "{}",
                rung.name
            );
        }
        for hidden in &exercise.hidden {
            let name = &halfsplit::drill::answers_to(&rung.setting.feeds, &hidden.drain)[0];
            assert!(answers.contains(name.as_str()), "{}: {name}", rung.name);
        }
    }
}

/// A small zero rules out what it feeds; one across a large fuse rules out nothing.
#[test]
fn predictions_are_asked_for_and_marked() {
    let rung = ladder().remove(3);
    let exercise = exercise(&rung);
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let mut drill = Drill::new(&rung.setting, &exercise, &choice).predicting();
    for line in ["prepared", "drop F1", "asleep", "draw"] {
        assert!(
            matches!(drill.take(line), Said::Done(_)),
            "{line}: nothing can be predicted yet"
        );
    }
    let before = drill.steps().len();
    for (line, first, second) in [("drop F1", "rest", "nothing"), ("drop F2", "rest", "below")] {
        assert!(matches!(drill.take(line), Said::Asks(_)), "{line}");
        assert!(matches!(drill.take("perhaps"), Said::Again(_)));
        assert!(matches!(drill.take(first), Said::Asks(_)));
        assert!(matches!(drill.take(second), Said::Predicted(..)));
    }
    assert_eq!(drill.steps().len(), before + 2, "a question is no step");
    let said: Vec<_> = drill
        .predicted()
        .iter()
        .map(|p| (p.outcome.rules, p.is_right()))
        .collect();
    assert_eq!(
        said[1],
        (Rules::Nothing, Some(true)),
        "{:#?}",
        drill.predicted()
    );
    assert_eq!(
        said[3],
        (Rules::Below, Some(true)),
        "{:#?}",
        drill.predicted()
    );
    // All of the draw at F2 leaves the rest too small for the one cause, and clears none of it for sure: who
    // says either is right.
    let all = &drill.predicted()[2];
    assert!(all.outcome.carrying && all.outcome.rules == Rules::Nothing);
    assert_eq!(all.outcome.alone, Rules::Rest);
    let said = |rules| {
        let said = Some(rules);
        Predicted {
            said,
            ..all.clone()
        }
        .is_right()
    };
    let right = Rules::WORDS.map(|(_, rules)| said(rules) == Some(true));
    assert_eq!(right, [true, false, true, false], "{all:#?}");
    let debrief = drill.debrief(&choice);
    assert_eq!(debrief.predictions.len(), 4);
    // As it is said: what is too small is named where something is.
    let bench = tempfile::tempdir().unwrap();
    let lines = "prepared\nasleep\ndraw\ndrop F2\nrest\nbelow\ndrop F4\nboth\nnothing\n";
    let told = ["drill", &file("04-one-lamp"), "--predict"];
    let out = text(&run(&told, lines, bench.path()).stdout);
    for wanted in [
        "3.4mV leaves rest too small to be the one cause: as you said (ruled out for sure: nothing)",
        "0.0mV rules out below (F4, K1 coil), not nothing\n",
    ] {
        assert!(out.contains(wanted), "{out}");
    }
}

/// Teach mode: asked before the step, compared after it, with the arithmetic.
#[test]
fn trace_teaches() {
    let bench = tempfile::tempdir().unwrap();
    let board = folder().parent().unwrap().join("teaching-board.ron");
    let told = [
        "trace",
        board.to_str().unwrap(),
        "--case",
        "mine.case",
        "--teach",
    ];
    let typed = "prepared\nasleep\ndraw 440mA sure\nnothing\nnothing\n0.8mV\nquit\n";
    let output = run(&told, typed, Path::new(bench.path()));
    let said = text(&output.stdout);
    for wanted in [
        "think ",
        "is ruled out by it?",
        "Now read drop",
        "learnt ",
        "Its arithmetic",
        "--teach",
    ] {
        assert!(
            said.contains(wanted),
            "{wanted}\n{said}\n{}",
            text(&output.stderr)
        );
    }
    // Whoever types the reading at once is not held up, and the case is the same.
    let again = ["trace", board.to_str().unwrap(), "--case", "plain.case"];
    run(
        &again,
        "prepared\nasleep\ndraw 440mA sure\n0.8mV\nquit\n",
        bench.path(),
    );
    let kept = |name: &str| std::fs::read_to_string(bench.path().join(name)).unwrap();
    let entries = |text: String| text.lines().filter(|l| l.contains("drop")).count();
    assert_eq!(entries(kept("mine.case")), entries(kept("plain.case")));
}
