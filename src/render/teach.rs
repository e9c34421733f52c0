//! The words of teach mode: what is asked before a step, and what came of it.

use crate::drill::{Asked, Predicted};
use crate::render::debrief::{prediction_asked, prediction_words, some_of};
use crate::render::words::under_heads;

/// A question before a reading.
pub fn lesson_question(asked: &Asked, width: usize) -> String {
    let text = prediction_asked(&asked.test, &asked.shown, asked.carrying);
    under_heads(&[("think", text)], width)
}

/// Both questions are answered.
pub fn lesson_read(test: &str, width: usize) -> String {
    under_heads(&[("think", format!("Now read {test}."))], width)
}

/// What was said against what holds, and what the reading has ruled out.
pub fn lesson_learnt(predicted: &[Predicted], ruled_out: &[String], width: usize) -> String {
    let said = predicted.iter().map(|p| ("learnt", prediction_words(p)));
    let mut lines: Vec<_> = said.collect();
    let now = if ruled_out.is_empty() {
        "The reading ruled out nothing new.".to_owned()
    } else {
        format!("The reading ruled out {}.", some_of(ruled_out))
    };
    lines.push(("learnt", now));
    lines.push(("learnt", "Its arithmetic:".to_owned()));
    under_heads(&lines, width)
}
