//! The words of a class's results: on the screen, as a table, as a page to print.

use crate::drill::{Marked, Misconception, Predicted, Task, Verdict, summary};
use crate::render::answer::number;
use crate::render::debrief::{misconception_id, misconception_words};
use crate::render::exercise::RUBRIC;
use crate::render::paper::Paper;
use crate::render::words::{count, under_heads};
use serde_json::{Value, json};

/// "3 attempts": a number with its word.
fn attempts(count_of: usize) -> String {
    count(count_of, "attempt")
}

fn learners(who: &[u64]) -> String {
    let who: Vec<String> = who.iter().map(u64::to_string).collect();
    who.join(", ")
}

/// What the class did in one sentence or two.
fn summed(marked: &[Marked]) -> Vec<(&'static str, String)> {
    let sum = summary(marked);
    vec![
        (
            "attempts",
            format!(
                "{}, {} brought to an end",
                attempts(sum.attempts),
                sum.ended
            ),
        ),
        (
            "right",
            format!("{}, of these {} proven", sum.right, sum.proven),
        ),
        ("marks", format!("{:.0} of 100 on average", sum.mean_marks)),
    ]
}

/// The results on the screen.
pub fn class(task: &Task, marked: &[Marked], width: usize) -> String {
    let sum = summary(marked);
    let mut lines = vec![("class", task.name.clone())];
    lines.extend(summed(marked));
    for (idea, who) in &sum.ideas {
        let text = format!(
            "{}: {} (learner {})",
            misconception_id(*idea),
            who.len(),
            learners(who)
        );
        lines.push(("ideas", text));
    }
    for (answer, times) in &sum.wrong {
        lines.push(("wrong", format!("{answer}: {times}")));
    }
    for one in marked {
        let ideas = ideas_of(one).join(", ");
        let ideas = if ideas.is_empty() {
            ideas
        } else {
            format!("; {ideas}")
        };
        let (result, d) = (result(one), &one.debrief);
        let text = format!(
            "{}: {} marks, {result}, {:.1} min{}{ideas}",
            one.learner,
            d.marks,
            d.minutes,
            if d.over_time { ", over the time" } else { "" }
        );
        lines.push(("learners", text));
    }
    under_heads(&lines, width)
}

fn ideas_of(one: &Marked) -> Vec<&'static str> {
    one.debrief
        .misconceptions
        .iter()
        .map(|m| misconception_id(*m))
        .collect()
}

fn result(one: &Marked) -> &'static str {
    match (
        one.ended,
        one.debrief.right,
        one.debrief.proven && one.debrief.hunt,
    ) {
        (false, _, _) => "no answer",
        (_, false, _) => "not right",
        (_, true, true) => "right and proven",
        (_, true, false) => "right",
    }
}

/// How many steps were of a kind.
fn steps(one: &Marked, verdict: Verdict) -> usize {
    one.debrief
        .steps
        .iter()
        .filter(|s| s.verdict == verdict)
        .count()
}

/// A row a learner, as a table that any spreadsheet reads: yes is 1, no is 0.
pub fn class_table(marked: &[Marked]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let plain = [
        "learner",
        "number",
        "ended",
        "right",
        "proven",
        "connector",
        "marks",
        "minutes",
        "best_minutes",
        "lost_minutes",
        "over_time",
        "wakes",
        "hints",
        "answer",
        "replies_right",
        "replies",
        "predictions_right",
        "predictions",
        "irrelevant",
        "redundant",
        "premature",
    ];
    let ideas = Misconception::ALL.map(|idea| misconception_id(idea).replace(' ', "_"));
    let heads = plain.into_iter().map(str::to_owned).chain(ideas);
    // Writing to memory does not fail.
    let _ = writer.write_record(heads);
    for one in marked {
        let d = &one.debrief;
        let yes = |is: bool| u8::from(is).to_string();
        let said: Vec<bool> = d
            .predictions
            .iter()
            .filter_map(Predicted::is_right)
            .collect();
        let replied = d.replies.iter().filter(|r| r.right == Some(true)).count();
        // Where no answer was given, or none was wanted, the cell stays empty.
        let answered = Some(d.answered()).filter(|_| one.ended && d.hunt);
        let mut row = vec![
            one.learner.to_string(),
            one.number.to_string(),
            yes(one.ended),
            yes(d.right),
            yes(d.proven),
            d.connector.map_or(String::new(), yes),
            d.marks.to_string(),
            format!("{:.1}", d.minutes),
            format!("{:.1}", d.best.minutes),
            format!("{:.1}", d.lost()),
            yes(d.over_time),
            d.wakes.to_string(),
            d.hints.to_string(),
            answered.unwrap_or_default(),
            replied.to_string(),
            d.replies.len().to_string(),
            said.iter().filter(|right| **right).count().to_string(),
            said.len().to_string(),
        ];
        let kinds = [Verdict::Irrelevant, Verdict::Redundant, Verdict::Premature];
        row.extend(kinds.map(|verdict| steps(one, verdict).to_string()));
        row.extend(Misconception::ALL.map(|idea| yes(d.misconceptions.contains(&idea))));
        let _ = writer.write_record(row);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The results as data.
pub fn class_json(exercise: &str, marked: &[Marked]) -> Value {
    let sum = summary(marked);
    let ideas = sum
        .ideas
        .iter()
        .map(|(idea, who)| json!({"idea": misconception_id(*idea), "learners": who}));
    let wrong = sum
        .wrong
        .iter()
        .map(|(answer, times)| json!({"answer": answer, "learners": times}));
    json!({
        "exercise": exercise,
        "attempts": sum.attempts,
        "ended": sum.ended,
        "right": sum.right,
        "proven": sum.proven,
        "mean_marks": number(sum.mean_marks),
        "misconceptions": ideas.collect::<Vec<_>>(),
        "wrong_answers": wrong.collect::<Vec<_>>(),
        "learners": marked.iter().map(learner_json).collect::<Vec<_>>(),
    })
}

fn learner_json(one: &Marked) -> Value {
    let d = &one.debrief;
    let mut row = json!({
        "learner": one.learner,
        "number": one.number,
        "ended": one.ended,
        "right": d.right,
        "proven": d.proven && d.hunt,
        "marks": d.marks,
        "minutes": number(d.minutes),
        "best_minutes": number(d.best.minutes),
        "lost_minutes": number(d.lost()),
        "over_time": d.over_time,
        "wakes": d.wakes,
        "hints": d.hints,
        "named": d.named,
        "irrelevant": steps(one, Verdict::Irrelevant),
        "redundant": steps(one, Verdict::Redundant),
        "premature": steps(one, Verdict::Premature),
        "replies": d.replies.len(),
        "replies_right": d.replies.iter().filter(|r| r.right == Some(true)).count(),
        "predictions": d.predictions.iter().filter_map(Predicted::is_right).count(),
        "predictions_right": d.predictions.iter().filter(|p| p.is_right() == Some(true)).count(),
        "misconceptions": ideas_of(one),
    });
    if let Some(connector) = d.connector {
        row["connector"] = json!(connector);
    }
    row
}

/// The results as a page to print: the class first, then a row a learner.
pub fn class_page(task: &Task, marked: &[Marked]) -> String {
    let sum = summary(marked);
    let mut paper = Paper::new(&format!("{}: results of a class", task.name));
    let mut pairs = vec![("goal", task.goal.clone())];
    pairs.extend(summed(marked));
    paper.pairs(&pairs);
    paper.head("Wrong ideas of the class");
    if sum.ideas.is_empty() {
        paper.text("None was seen.");
    } else {
        let rows = sum.ideas.iter().map(|(idea, who)| {
            vec![
                misconception_id(*idea).to_owned(),
                who.len().to_string(),
                learners(who),
                misconception_words(*idea).to_owned(),
            ]
        });
        let rows: Vec<_> = rows.collect();
        paper.table(&["Idea", "#Learners", "Which", "What to say"], &rows);
    }
    if !sum.wrong.is_empty() {
        paper.head("Wrong answers");
        let rows = sum
            .wrong
            .iter()
            .map(|(answer, times)| vec![answer.clone(), times.to_string()]);
        let rows: Vec<_> = rows.collect();
        paper.table(&["Answer", "#Learners"], &rows);
    }
    paper.head("Learners");
    let rows: Vec<_> = marked.iter().map(row).collect();
    let heads = [
        "#Learner",
        "#Marks",
        "Result",
        "#Minutes",
        "#Best",
        "#Wakes",
        "#Hints",
        "Bad checks",
        "Wrong ideas",
    ];
    paper.table(&heads, &rows);
    paper.text(RUBRIC);
    paper.end()
}

fn row(one: &Marked) -> Vec<String> {
    let d = &one.debrief;
    let kinds = [
        (Verdict::Irrelevant, "irrelevant"),
        (Verdict::Redundant, "redundant"),
        (Verdict::Premature, "premature"),
    ];
    let kinds = kinds
        .into_iter()
        .map(|(verdict, word)| (steps(one, verdict), word));
    let bad: Vec<String> = kinds
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}"))
        .collect();
    vec![
        one.learner.to_string(),
        d.marks.to_string(),
        result(one).to_owned(),
        format!("{:.1}", d.minutes),
        format!("{:.1}", d.best.minutes),
        d.wakes.to_string(),
        d.hints.to_string(),
        bad.join(", "),
        ideas_of(one).join(", "),
    ]
}
