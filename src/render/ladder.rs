//! The words of a ladder: its exercises in order, and how far a learner has come.

use crate::drill::Task;
use crate::render::words::{count, under_heads};
use serde_json::{Value, json};

/// An exercise of a ladder with what the learner has done of it.
#[derive(Clone, Debug)]
pub struct Rung {
    /// The name of its file, without folder and ending.
    pub file: String,
    /// What it says.
    pub task: Task,
    /// What came of it so far.
    pub climbed: Climbed,
}

/// What a learner has done of an exercise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Climbed {
    /// How often it was played to its end.
    pub tries: u32,
    /// The best marks.
    pub marks: u32,
}

/// Whose progress it is, and where things are.
#[derive(Clone, Debug)]
pub struct Whose {
    /// The learner's number, where several keep one table.
    pub learner: Option<u64>,
    /// The folder of the exercises.
    pub folder: String,
    /// The table of progress.
    pub progress: String,
}

/// Marks from which an exercise counts as passed (judgement).
const PASSED: u32 = 70;

impl Climbed {
    /// Whether it counts as passed.
    pub const fn is_passed(self) -> bool {
        self.tries > 0 && self.marks >= PASSED
    }
}

/// The exercises of a ladder with the learner's progress.
pub fn ladder(rungs: &[Rung], of: &Whose, width: usize) -> String {
    let (folder, progress) = (&of.folder, &of.progress);
    let who = of
        .learner
        .map_or(String::new(), |n| format!("; learner {n}"));
    let passed = rungs.iter().filter(|rung| rung.climbed.is_passed()).count();
    let mut lines = vec![
        (
            "ladder".to_owned(),
            format!(
                "{}, {passed} passed; {folder}",
                count(rungs.len(), "exercise")
            ),
        ),
        ("progress".to_owned(), format!("{progress}{who}")),
    ];
    let next = rungs.iter().position(|rung| !rung.climbed.is_passed());
    for (index, rung) in rungs.iter().enumerate() {
        let Climbed { tries, marks } = rung.climbed;
        let mut state = match (tries, rung.climbed.is_passed()) {
            (0, _) => "not tried".to_owned(),
            (_, true) => format!("passed with {marks} marks"),
            _ => format!("tried {}, best {marks} marks; {PASSED} pass", times(tries)),
        };
        if next == Some(index) {
            state = format!("NEXT, {state}");
        }
        let time = rung.task.time;
        let time = time.map_or(String::new(), |t| format!(", {:.0} min", t.value()));
        let number = rung
            .task
            .rung
            .map_or("-".to_owned(), |rung| rung.to_string());
        lines.push((number, format!("{}{time}: {state}", rung.task.name)));
        lines.push((String::new(), rung.task.goal.clone()));
    }
    if let Some(rung) = next.map(|index| &rungs[index]) {
        let file = format!("{folder}/{}.ron", rung.file);
        let learner = of
            .learner
            .map_or(String::new(), |n| format!(" --learner {n}"));
        lines.push((
            "next".to_owned(),
            format!("halfsplit drill {file}{learner}"),
        ));
    }
    let lines: Vec<(&str, String)> = lines
        .iter()
        .map(|(head, text)| (head.as_str(), text.clone()))
        .collect();
    under_heads(&lines, width)
}

/// The same as data.
pub fn ladder_json(rungs: &[Rung], of: &Whose) -> Value {
    let next = rungs.iter().find(|rung| !rung.climbed.is_passed());
    let rows = rungs.iter().map(|rung| {
        let mut row = json!({
            "exercise": rung.file,
            "name": rung.task.name,
            "goal": rung.task.goal,
            "before": rung.task.before.iter().map(|earlier| &earlier.file).collect::<Vec<_>>(),
            "tries": rung.climbed.tries,
            "marks": rung.climbed.marks,
            "passed": rung.climbed.is_passed(),
        });
        if let Some(number) = rung.task.rung {
            row["rung"] = json!(number);
        }
        if let Some(time) = rung.task.time {
            row["minutes"] = json!(time.value());
        }
        row
    });
    let mut object = json!({
        "folder": of.folder,
        "progress": of.progress,
        "pass_marks": PASSED,
        "exercises": rows.collect::<Vec<_>>(),
    });
    if let Some(learner) = of.learner {
        object["learner"] = json!(learner);
    }
    if let Some(rung) = next {
        object["next"] = json!(rung.file);
    }
    object
}

fn times(tries: u32) -> String {
    match tries {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{more} times"),
    }
}
