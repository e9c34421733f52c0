//! Teach mode of `trace`: before a step it asks what the reading will rule out, after it compares.

use crate::case::{Case, Next, State};
use crate::drill::{Asked, Outcome, Predicted, Rules, newly_ruled_out, outcomes};
use crate::feeds::PartId;
use crate::render;
use crate::report::{About, reasons};

/// What is asked before one step.
pub(super) struct Lesson {
    test: String,
    part: PartId,
    outcomes: [Outcome; 2],
    said: Vec<Option<Rules>>,
}

impl Lesson {
    /// What to ask before the step asked for; `None` where its reading rules nothing in or out.
    pub(super) fn before(case: &Case<'_>, next: &Next) -> Option<Self> {
        let test = next
            .test
            .as_ref()
            .filter(|_| next.state == State::Measure)?;
        let part = test.part?;
        Some(Self {
            test: test.entry.clone(),
            part,
            outcomes: outcomes(case, test.method, part)?,
            said: Vec::new(),
        })
    }

    /// The question that waits for an answer, if one does.
    pub(super) fn question(&self, width: usize) -> Option<String> {
        let outcome = self.outcomes.get(self.said.len())?;
        let asked = Asked {
            test: self.test.clone(),
            shown: outcome.shown.clone(),
            carrying: outcome.carrying,
        };
        Some(render::lesson_question(&asked, width))
    }

    /// Whether an answer is waited for.
    pub(super) fn asks(&self) -> bool {
        self.said.len() < self.outcomes.len()
    }

    /// Takes an answer, and after the last one says what holds; `None` where the line is none, or nothing
    /// waits for one.
    pub(super) fn take(&mut self, line: &str, case: &Case<'_>, width: usize) -> Option<String> {
        if !self.asks() {
            return None;
        }
        self.said.push(Rules::typed(line)?);
        if let Some(question) = self.question(width) {
            return Some(question);
        }
        let said = self.outcomes.iter().zip(&self.said);
        let predicted = said.map(|(outcome, said)| Predicted {
            test: self.test.clone(),
            outcome: outcome.clone(),
            said: *said,
        });
        let predicted: Vec<Predicted> = predicted.collect();
        Some(render::lesson_holds(&predicted, &self.test, case, width))
    }

    /// What the reading did rule out, and its arithmetic.
    pub(super) fn after(&self, before: &Case<'_>, after: &Case<'_>, width: usize) -> String {
        let (_, ruled_out) = newly_ruled_out(before, after, self.part);
        let whole = render::why_text(&reasons(after, About::Part(self.part)), after, width);
        // The sums alone: odds and cited readings would push them off the screen, and `why` has them.
        let sums = whole.split("\nOdds ").next().unwrap_or(&whole);
        let arithmetic = sums.split("\nReadings cited").next().unwrap_or(sums);
        let learnt = render::lesson_learnt(&ruled_out, width);
        format!("{learnt}{arithmetic}")
    }

    /// Whether an entry is the reading that was asked about.
    pub(super) fn is_about(&self, entry: &str) -> bool {
        entry
            .strip_prefix(&self.test)
            .is_some_and(|rest| rest.starts_with(' '))
    }
}
