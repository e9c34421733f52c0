//! The debrief as data.

use super::words::{misconception_id, right_words, verdict_word};
use crate::drill::{Debrief, Exercise, GENERATOR, Judged};
use crate::render::answer::number;
use serde_json::{Value, json};

/// The debrief as data.
pub fn debrief_json(debrief: &Debrief, exercise: &Exercise) -> Value {
    let step = |s: &Judged| {
        let mut object = json!({
            "entry": s.entry,
            "verdict": verdict_word(s.verdict),
            "lost_minutes": number(s.lost),
            "ruled_out": s.ruled_out,
        });
        if let Some(better) = &s.better {
            object["better"] = json!(better);
        }
        if let Some(reason) = &s.reason {
            object["reason"] = json!(reason);
        }
        object
    };
    let mut object = json!({
        "right": debrief.right,
        "marks": debrief.marks,
        "minutes": number(debrief.minutes),
        "best_minutes": number(debrief.best.minutes),
        "wakes": debrief.wakes,
        "hints": debrief.hints,
        "named": debrief.named,
        "hidden": debrief.hidden,
        "proven": debrief.proven,
        "misconceptions": debrief.misconceptions.iter().map(|m| misconception_id(*m)).collect::<Vec<_>>(),
        "steps": debrief.steps.iter().map(step).collect::<Vec<_>>(),
        "best_path": debrief.best.lines,
        "over_time": debrief.over_time,
        "number": exercise.number,
        "generator": GENERATOR,
    });
    if let Some(connector) = debrief.connector {
        object["connector"] = json!(connector);
    }
    if let Some(wakes) = debrief.board_wakes {
        object["board_wakes"] = json!(wakes);
    }
    if let Some(plan) = debrief.beaten {
        object["plan_minutes"] = json!(number(plan));
    }
    if !debrief.predictions.is_empty() {
        let predictions = debrief.predictions.iter().map(|p| {
            let mut row = json!({
                "test": p.test, "shown": p.outcome.shown, "rules_out": p.outcome.rules.word(),
            });
            if let Some(said) = p.said {
                row["said"] = json!(said.word());
            }
            row
        });
        object["predictions"] = predictions.collect();
    }
    if !debrief.replies.is_empty() {
        let replies = debrief.replies.iter().map(|r| {
            let mut row =
                json!({"asked": r.ask, "right": r.right == Some(true), "wanted": right_words(&r.wanted)});
            if let Some(given) = &r.given {
                row["given"] = json!(given);
            }
            row
        });
        object["replies"] = replies.collect();
    }
    object
}
