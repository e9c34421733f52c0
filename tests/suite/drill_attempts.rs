//! Attempts that were written by an earlier text come to the same debrief today; one of another version of
//! the simulated vehicle is said to be so; and an attempt belongs to what its exercise says, whatever the
//! file is called.

use crate::drill_exercises::{folder, run};
use std::path::{Path, PathBuf};

/// The attempts as they were written, each at the rung that it names.
const KEPT: [&str; 3] = [
    "09-two-drains",
    "10-held-awake",
    "12-refusing-a-bad-baseline",
];

fn attempts() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/attempts")
}

fn kept(name: &str) -> String {
    std::fs::read_to_string(attempts().join(format!("{name}.drill"))).unwrap()
}

/// The exercise of an attempt: as it was then, where the rung is another one today.
fn exercise_of(rung: &str) -> PathBuf {
    let file = format!("{rung}.ron");
    let then = attempts().join(&file);
    if then.exists() {
        then
    } else {
        folder().join(file)
    }
}

/// What `drill` prints for an attempt that is complete.
fn again(bench: &Path, rung: &str, attempt: &str) -> (serde_json::Value, String) {
    std::fs::write(bench.join("kept.drill"), attempt).unwrap();
    let exercise = exercise_of(rung);
    let exercise = exercise.to_str().unwrap();
    let told = [
        "drill",
        exercise,
        "--attempt",
        "kept.drill",
        "--json",
        "--progress",
        "p.csv",
    ];
    let output = run(&told, "", bench);
    let out = String::from_utf8(output.stdout).unwrap();
    let debrief = serde_json::from_str(out.lines().last().unwrap()).unwrap();
    (debrief, String::from_utf8(output.stderr).unwrap())
}

/// What of a debrief rests on the lines and the vehicle alone: what was read, and whether it was right. A
/// better plan changes what was lost against it.
fn of_the_vehicle(debrief: serde_json::Value) -> serde_json::Value {
    let serde_json::Value::Object(mut debrief) = debrief else {
        panic!("{debrief}");
    };
    for rests_on_the_plan in ["best_path", "best_minutes", "plan_minutes", "marks"] {
        debrief.remove(rests_on_the_plan);
    }
    let list = |value: Option<serde_json::Value>| value.unwrap().as_array().unwrap().clone();
    let steps = list(debrief.remove("steps"));
    let read = steps.iter().map(|step| step["entry"].clone());
    debrief.insert("read".to_owned(), read.collect());
    let ideas = list(debrief.remove("misconceptions")).into_iter();
    let ideas = ideas.filter(|idea| idea != "woken needlessly");
    debrief.insert("misconceptions".to_owned(), ideas.collect());
    debrief.into()
}

#[test]
fn a_kept_attempt_comes_to_the_same_debrief() {
    let bench = tempfile::tempdir().unwrap();
    for rung in KEPT {
        let attempt = kept(rung);
        let (debrief, said) = again(bench.path(), rung, &attempt);
        assert!(!said.contains("another version"), "{rung}: {said}");
        let text = serde_json::to_string_pretty(&of_the_vehicle(debrief)).unwrap();
        insta::assert_snapshot!(format!("kept_{rung}"), format!("{attempt}\n{text}"));
    }
}

#[test]
fn another_version_is_said_plainly_and_stays_in_the_file() {
    let bench = tempfile::tempdir().unwrap();
    let older = kept("12-of-version-3");
    let (debrief, said) = again(bench.path(), "12-refusing-a-bad-baseline", &older);
    assert!(
        said.contains("another version of the simulated vehicle") && said.contains("version 3"),
        "{said}"
    );
    // Nothing of that attempt rests on what has changed since.
    assert_eq!(debrief["right"], true, "{debrief}");
    assert_eq!(debrief["proven"], true, "{debrief}");
    // Gone on with it is still an attempt of that version.
    let open: Vec<&str> = older
        .lines()
        .filter(|line| !line.starts_with("answer"))
        .collect();
    std::fs::write(bench.path().join("open.drill"), open.join("\n")).unwrap();
    let exercise = folder().join("12-refusing-a-bad-baseline.ron");
    let told = [
        "drill",
        exercise.to_str().unwrap(),
        "--attempt",
        "open.drill",
    ];
    run(&told, "wait 1\n", bench.path());
    let text = std::fs::read_to_string(bench.path().join("open.drill")).unwrap();
    assert!(
        text.contains("version 3") && text.contains("wait 1"),
        "{text}"
    );
}

#[test]
fn an_attempt_belongs_to_what_its_exercise_says() {
    let bench = tempfile::tempdir().unwrap();
    let samples = folder().parent().unwrap().display().to_string();
    let text = |rung: &str| {
        let text = std::fs::read_to_string(folder().join(format!("{rung}.ron"))).unwrap();
        text.replace("\"../", &format!("\"{samples}/"))
    };
    let put = |name: &str, text: &str| std::fs::write(bench.path().join(name), text).unwrap();
    put("lamp.ron", &text("04-one-lamp"));
    // The same under another name, with the line ends of another system.
    put("renamed.ron", &text("04-one-lamp").replace('\n', "\r\n"));
    put("other.ron", &text("05-many-loads-on-one-fuse"));
    let lines = "prepared\nasleep\ndraw\nanswer glovebox lamp at C2\n";
    let here = |told: &[&str], lines: &str| {
        let output = run(told, lines, bench.path());
        let said = String::from_utf8(output.stderr).unwrap();
        (output.status.code().unwrap(), said)
    };
    here(
        &[
            "drill",
            "lamp.ron",
            "--attempt",
            "7.drill",
            "--learner",
            "7",
            "--progress",
            "p",
        ],
        lines,
    );
    // In a class and going on, the renamed file is the same exercise.
    assert_eq!(
        here(&["class", "renamed.ron", "7.drill"], ""),
        (0, String::new())
    );
    let (_, said) = here(
        &[
            "drill",
            "renamed.ron",
            "--attempt",
            "7.drill",
            "--progress",
            "p",
        ],
        "",
    );
    assert!(
        !said.contains("another text") && !said.contains("attempt is at"),
        "{said}"
    );
    // Another exercise is none, neither under its own name nor under that of the first.
    let (code, said) = here(&["class", "other.ron", "7.drill"], "");
    assert!(code == 1 && said.contains("left out"), "{said}");
    let (code, said) = here(&["drill", "other.ron", "--attempt", "7.drill"], "");
    assert!(
        code == 2 && said.contains("the attempt is at lamp"),
        "{said}"
    );
    // What was changed under its name is marked by what it says now, and that is said.
    put(
        "lamp.ron",
        &text("04-one-lamp").replace("mA(420)", "mA(430)"),
    );
    let (code, said) = here(&["class", "lamp.ron", "7.drill"], "");
    assert!(code == 0 && said.contains("another text"), "{said}");
}
