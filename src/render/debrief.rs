//! A debrief: on the screen and as a page to print; its words, and the same as data, in rooms of their own.

use crate::case::Setting;
use crate::drill::{Debrief, Exercise, Judged, Misconception, Predicted, Replied, Task, Verdict};
use crate::feeds::Named;
use crate::render::drill::{minutes, task_lines};
use crate::render::exercise::RUBRIC;
use crate::render::paper::Paper;
use crate::render::words::{count, under_heads};

mod data;
mod words;
pub use data::debrief_json;
use words::{gap_words, right_words, verdict_word};
pub(super) use words::{
    misconception_id, misconception_words, prediction_asked, prediction_words, some_of,
};

/// A step with its judgement.
fn judged(index: usize, step: &Judged) -> String {
    let mut text = format!(
        "{}. {}: {}",
        index + 1,
        step.entry,
        verdict_word(step.verdict)
    );
    if step.lost > 0.0 {
        text = format!("{text}, {} lost", minutes(step.lost));
    }
    if let (Some(better), true) = (&step.better, step.verdict != Verdict::Good) {
        text = format!("{text}; better {better}");
    }
    if !step.ruled_out.is_empty() {
        text = format!("{text}; ruled out {}", some_of(&step.ruled_out));
    }
    if let Some(reason) = &step.reason {
        text = format!("{text}; you said: {reason}");
    }
    text
}

/// The debrief in words.
pub fn debrief(debrief: &Debrief, setting: &Setting, width: usize) -> String {
    under_heads(&debrief_lines(debrief, setting), width)
}

/// Whose debrief it is, and of which exercise.
#[derive(Clone, Copy, Debug)]
pub struct Pupil<'t> {
    /// The learner's number.
    pub learner: Option<u64>,
    /// The exercise, where there is one.
    pub task: Option<&'t Task>,
}

/// The debrief as a page to print: what came of it, each step beside the better one, the best path.
pub fn debrief_page(
    debrief: &Debrief,
    setting: &Setting,
    exercise: &Exercise,
    pupil: Pupil<'_>,
) -> String {
    let task = pupil.task;
    let vehicle = &setting.feeds.vehicle().name;
    let name = task.map_or(vehicle, |task| &task.name);
    let mut paper = Paper::new(&format!("{name}: debrief"));
    let mut pairs = vec![
        ("vehicle", vehicle.clone()),
        ("number", exercise.number.to_string()),
    ];
    let learner = pupil.learner;
    pairs.extend(learner.map(|number| ("learner", number.to_string())));
    pairs.extend(task.map_or_else(Vec::new, |task| {
        task_lines(task).into_iter().skip(1).collect()
    }));
    let whole = debrief_lines(debrief, setting).into_iter();
    pairs.extend(
        whole.filter(|(head, _)| !["steps", "best path", "idea", "predicted"].contains(head)),
    );
    paper.pairs(&pairs);
    if !debrief.misconceptions.is_empty() {
        paper.head("Wrong ideas it showed");
        let row = |m: &Misconception| {
            vec![
                misconception_id(*m).to_owned(),
                misconception_words(*m).to_owned(),
            ]
        };
        let rows: Vec<_> = debrief.misconceptions.iter().map(row).collect();
        paper.table(&["Idea", "What holds"], &rows);
    }
    if !debrief.predictions.is_empty() {
        paper.head(&format!("Predictions: {}", predictions_summed(debrief)));
        let rows = debrief
            .predictions
            .iter()
            .map(|p| vec![p.test.clone(), prediction_words(p)]);
        let rows: Vec<_> = rows.collect();
        paper.table(&["Before", "What each display rules out"], &rows);
    }
    if debrief.hunt {
        paper.head("Steps");
        let mut rows: Vec<_> = debrief.steps.iter().enumerate().map(step_row).collect();
        let mut heads = vec![
            "#No.",
            "Step",
            "Verdict",
            "#Minutes lost",
            "Ruled out",
            "Better",
        ];
        if debrief.steps.iter().any(|step| step.reason.is_some()) {
            heads.push("Reason given");
            for (row, step) in rows.iter_mut().zip(&debrief.steps) {
                row.push(step.reason.clone().unwrap_or_default());
            }
        }
        paper.table(&heads, &rows);
        let as_went = if debrief.beaten.is_some() {
            ", as you went"
        } else {
            ""
        };
        paper.head(&format!(
            "Best path, {}{as_went}",
            minutes(debrief.best.minutes)
        ));
        let rows = debrief.best.lines.iter().enumerate();
        let rows: Vec<_> = rows
            .map(|(at, line)| vec![(at + 1).to_string(), line.clone()])
            .collect();
        paper.table(&["#No.", "Typed"], &rows);
    }
    paper.text(RUBRIC);
    paper.end()
}

fn step_row((index, step): (usize, &Judged)) -> Vec<String> {
    let lost = if step.lost > 0.0 {
        format!("{:.1}", step.lost)
    } else {
        String::new()
    };
    vec![
        (index + 1).to_string(),
        step.entry.clone(),
        verdict_word(step.verdict).to_owned(),
        lost,
        some_of(&step.ruled_out),
        step.better
            .clone()
            .filter(|_| step.verdict != Verdict::Good)
            .unwrap_or_default(),
    ]
}

/// The debrief, text by text.
///
/// What was done comes first and what came of it last: on a screen the end stays in sight.
fn debrief_lines(debrief: &Debrief, setting: &Setting) -> Vec<(&'static str, String)> {
    let steps = debrief.steps.iter().enumerate();
    let steps = steps.filter(|(_, step)| debrief.hunt || step.verdict == Verdict::Asked);
    let mut lines: Vec<_> = steps
        .map(|(index, step)| ("steps", judged(index, step)))
        .collect();
    if debrief.beaten.is_some() {
        lines.push(("best path", "as you went".to_owned()));
    } else {
        let path = debrief.best.lines.iter().enumerate();
        lines.extend(path.map(|(index, line)| ("best path", format!("{}. {line}", index + 1))));
    }
    if !debrief.predictions.is_empty() {
        lines.push(("predicted", predictions_summed(debrief)));
        let wrong = debrief
            .predictions
            .iter()
            .filter(|p| p.is_right() == Some(false));
        lines.extend(wrong.map(|p| ("predicted", format!("{}: {}", p.test, prediction_words(p)))));
    }
    for (index, replied) in debrief.replies.iter().enumerate() {
        lines.push(("replies", reply_words(index, replied)));
    }
    if debrief.hunt {
        lines.extend(search_lines(debrief, setting));
    } else {
        lines.push((
            "marks",
            format!("{} of 100, for the replies", debrief.marks),
        ));
    }
    for (name, say) in &debrief.said {
        lines.push(("said", format!("{name}: {say}")));
    }
    for what in &debrief.misconceptions {
        let (id, words) = (misconception_id(*what), misconception_words(*what));
        lines.push(("idea", format!("{id}: {words}")));
    }
    lines
}

fn predictions_summed(debrief: &Debrief) -> String {
    let said = debrief.predictions.iter().filter_map(Predicted::is_right);
    let (right, all) = said.fold((0, 0), |(right, all), is| {
        (right + usize::from(is), all + 1)
    });
    format!("{right} of {all} right")
}

fn reply_words(index: usize, replied: &Replied) -> String {
    let given = replied.given.as_deref().unwrap_or("no reply");
    let verdict = match replied.right {
        Some(true) => "right".to_owned(),
        Some(false) => format!("not right; it is {}", right_words(&replied.wanted)),
        None => "not marked here".to_owned(),
    };
    let say = replied
        .say
        .as_ref()
        .map_or(String::new(), |say| format!(". {say}"));
    format!("{}. {given}: {verdict}{say}", index + 1)
}

/// What came of a search.
fn search_lines(debrief: &Debrief, setting: &Setting) -> Vec<(&'static str, String)> {
    let named = if debrief.named.is_empty() {
        "no fault".to_owned()
    } else {
        debrief.named.join(" and ")
    };
    let verdict = if debrief.right { "right" } else { "not right" };
    let hidden = debrief.hidden.join(" and ");
    let over = if debrief.over_time {
        "; over the time"
    } else {
        ""
    };
    let proof = match (debrief.right, debrief.proven) {
        (false, _) => "the answer is not right",
        (true, true) if !debrief.gaps.is_empty() => {
            "not taken, and the best plan could take none either"
        }
        (true, true) => "taken",
        (true, false) => "not taken",
    };
    let gaps = debrief.gaps.iter();
    let gaps = gaps.map(|(name, gap)| format!("; {}", gap_words(name, gap)));
    let proof = format!("{proof}{}", gaps.collect::<String>());
    let hints = count(debrief.hints as usize, "hint");
    let board = board_words(debrief);
    let mut lines = vec![
        ("answer", format!("{named}: {verdict}; hidden was {hidden}")),
        (
            "marks",
            format!(
                "{} of 100 (judgement: 40 for the part, 10 for its connector, 20 for the proof, 30 for the \
                 minutes where it is proven{})",
                debrief.marks,
                if debrief.replies.is_empty() {
                    ""
                } else {
                    "; a fifth of it all for the replies"
                }
            ),
        ),
        (
            "minutes",
            match debrief.beaten {
                Some(plan) => format!(
                    "{} used, fewer than the {} of the plan: yours counts as the best{over}{board}",
                    minutes(debrief.minutes),
                    minutes(plan)
                ),
                None => format!(
                    "{} used, {} by the best plan; {} lost by single steps{over}{board}",
                    minutes(debrief.minutes),
                    minutes(debrief.best.minutes),
                    minutes(debrief.lost())
                ),
            },
        ),
        ("proof", proof),
        ("wakes", format!("{}; {hints}", debrief.wakes)),
    ];
    if let Some(good) = debrief.connector {
        let plugs = plugs_of(debrief, setting).join(" and ");
        let text = if good {
            format!("{plugs}: named")
        } else {
            format!("it is {plugs}; you named none, or another")
        };
        lines.push(("plug", text));
    }
    lines
}

/// Whether the minutes of the plan hold wakes, where it was a real board.
const fn board_words(debrief: &Debrief) -> &'static str {
    match debrief.board_wakes {
        None => "",
        Some(true) => "; what you typed shows that this board wakes, so the plan counts its wakes",
        Some(false) => {
            "; nothing you typed shows that moving something woke this board, so the plan counts no wakes"
        }
    }
}

/// The connectors of what was hidden.
fn plugs_of<'s>(debrief: &Debrief, setting: &'s Setting) -> Vec<&'s str> {
    let feeds = &setting.feeds;
    let parts = debrief.hidden.iter().flat_map(|id| match feeds.find(id) {
        Some(Named::Part(part)) => vec![*part],
        Some(Named::Module(module)) => feeds.module_feeds(*module).to_vec(),
        _ => Vec::new(),
    });
    let plugs = parts.filter_map(|part| feeds.part(part).plug.as_ref());
    let mut plugs: Vec<&str> = plugs.map(|plug| plug.value.as_str()).collect();
    plugs.dedup();
    plugs
}
