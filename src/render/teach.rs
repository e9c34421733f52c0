//! The words of teach mode: what is asked before a step, and what came of it.

use crate::case::Case;
use crate::drill::{Asked, Predicted};
use crate::render::debrief::{prediction_asked, prediction_words, some_of};
use crate::render::trace::{Lines, means};
use crate::render::words::under_heads;

/// A question before a reading.
pub fn lesson_question(asked: &Asked, width: usize) -> String {
    let text = prediction_asked(&asked.test, &asked.shown, asked.carrying);
    under_heads(&[("think", text)], width)
}

/// Both questions are answered: what was said against what holds, and what each display would mean.
pub fn lesson_holds(predicted: &[Predicted], test: &str, case: &Case<'_>, width: usize) -> String {
    let said = predicted.iter().map(|p| ("learnt", prediction_words(p)));
    let mut lines: Lines = said.collect();
    let next = case.next();
    if let Some(step) = &next.test
        && let Some(outlook) = case.outlook(step)
    {
        means(step, &outlook, case.setting(), &mut lines);
    }
    lines.push(("think", format!("Now read {test}.")));
    under_heads(&lines, width)
}

/// What the reading has ruled out; its arithmetic comes behind.
pub fn lesson_learnt(ruled_out: &[String], width: usize) -> String {
    let now = if ruled_out.is_empty() {
        "The reading ruled out nothing new. Its arithmetic:".to_owned()
    } else {
        format!(
            "The reading ruled out {}. Its arithmetic:",
            some_of(ruled_out)
        )
    };
    under_heads(&[("learnt", now)], width)
}

/// The step waits, so that what was learnt stays in sight.
pub fn lesson_goes_on(width: usize) -> String {
    let text = "nothing, just Enter: the next step".to_owned();
    under_heads(&[("type", text)], width)
}
