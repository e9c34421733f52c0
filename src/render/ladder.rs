//! The words of a ladder: its exercises in order, and how far a learner has come.

use crate::drill::Task;
use crate::render::words::{count, under_heads};

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

/// Marks from which an exercise counts as passed (judgement).
const PASSED: u32 = 70;

impl Climbed {
    /// Whether it counts as passed.
    pub const fn is_passed(self) -> bool {
        self.tries > 0 && self.marks >= PASSED
    }
}

/// The exercises of a ladder with the learner's progress, which is kept in the file named.
pub fn ladder(rungs: &[Rung], folder: &str, progress: &str, width: usize) -> String {
    let passed = rungs.iter().filter(|rung| rung.climbed.is_passed()).count();
    let mut lines = vec![
        (
            "ladder".to_owned(),
            format!(
                "{}, {passed} passed; {folder}",
                count(rungs.len(), "exercise")
            ),
        ),
        ("progress".to_owned(), progress.to_owned()),
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
        lines.push(("next".to_owned(), format!("halfsplit drill {file}")));
    }
    let lines: Vec<(&str, String)> = lines
        .iter()
        .map(|(head, text)| (head.as_str(), text.clone()))
        .collect();
    under_heads(&lines, width)
}

fn times(tries: u32) -> String {
    match tries {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{more} times"),
    }
}
