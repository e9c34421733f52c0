//! What a reading will rule out: asked before it is taken, worked out on a copy of the case.
//!
//! **Model.** Two displays are supposed: all of the settled draw goes through the part, and nothing is
//! shown. For each the parts that would newly be ruled out stand below the part, beside it, in both, or
//! there are none; that is what the learner says. A zero that the meter could not have shown rules out
//! nothing, and that is the point.
//!
//! **Cost.** Two entries recorded and judged a question.

use super::{Drill, Said, typed_of};
use crate::case::Case;
use crate::feeds::PartId;
use crate::journal::{Act, Misfit, Point, Refusal};
use crate::judgement::Standing;
use crate::measurement::{Method, resistance};

/// Where the parts stand that a reading rules out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rules {
    /// None is ruled out.
    Nothing,
    /// The part itself, or some that it feeds.
    Below,
    /// Some elsewhere.
    Rest,
    /// Some of either.
    Both,
}

impl Rules {
    /// What is typed for it.
    pub const WORDS: [(&'static str, Self); 4] = [
        ("nothing", Self::Nothing),
        ("below", Self::Below),
        ("rest", Self::Rest),
        ("both", Self::Both),
    ];

    /// By its word; `None` within where it is passed over.
    pub fn typed(text: &str) -> Option<Option<Self>> {
        let text = text.trim().to_lowercase();
        if text == "skip" {
            return Some(None);
        }
        let found = Self::WORDS.iter().find(|(word, _)| *word == text);
        found.map(|(_, rules)| Some(*rules))
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        let found = Self::WORDS.iter().find(|(_, rules)| *rules == self);
        found.map_or("", |(word, _)| word)
    }
}

/// One supposed display and what it would rule out.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// What is supposed to be shown, with its unit.
    pub shown: String,
    /// It is what all of the draw would show; else nothing is shown.
    pub carrying: bool,
    /// Where the parts stand that it would rule out.
    pub rules: Rules,
    /// These parts.
    pub ruled_out: Vec<String>,
    /// Where a display of nothing rules out nothing: what it can hide and what the cause needs, in mA.
    pub hides: Option<(f64, f64)>,
    /// Where the parts stand that could then not be the one cause: those, and what is too small.
    pub alone: Rules,
}

/// A prediction with what holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Predicted {
    /// The test, without its reading.
    pub test: String,
    /// What was supposed, and what follows from it.
    pub outcome: Outcome,
    /// What was said; `None` where it was passed over.
    pub said: Option<Rules>,
}

impl Predicted {
    /// Whether it was right; `None` where it was passed over. Where all of the draw shows, what is elsewhere
    /// is right too where it is only too small to be the one cause; a display of nothing can hide a cause.
    pub fn is_right(&self) -> Option<bool> {
        let said = self.said?;
        Some(said == self.outcome.rules || self.is_too_small(said))
    }

    /// Whether all of the draw shows, and what was said is then too small to be the one cause.
    pub fn is_too_small(&self, said: Rules) -> bool {
        let Outcome {
            carrying,
            rules,
            alone,
            ..
        } = &self.outcome;
        *carrying && said == *alone && alone != rules
    }
}

/// What two cases rule out that follow each other: where the parts stand that were not ruled out before.
pub fn newly_ruled_out(before: &Case<'_>, after: &Case<'_>, part: PartId) -> (Rules, Vec<String>) {
    let out = |s: Standing| matches!(s, Standing::RuledOut | Standing::Dead);
    newly(before, after, part, &out)
}

/// The parts that newly fit, and where they stand.
fn newly(
    before: &Case<'_>,
    after: &Case<'_>,
    part: PartId,
    fits: &dyn Fn(Standing) -> bool,
) -> (Rules, Vec<String>) {
    let feeds = &before.setting().feeds;
    let (was, is) = (before.standing(), after.standing());
    let newly = was.iter().zip(&is).filter(|(w, i)| !fits(w.1) && fits(i.1));
    let newly: Vec<PartId> = newly.map(|(w, _)| w.0).collect();
    let below = newly.iter().any(|p| feeds.is_below(*p, part));
    let rest = newly.iter().any(|p| !feeds.is_below(*p, part));
    let rules = match (below, rest) {
        (false, false) => Rules::Nothing,
        (true, false) => Rules::Below,
        (false, true) => Rules::Rest,
        (true, true) => Rules::Both,
    };
    (
        rules,
        newly.iter().map(|p| feeds.id(*p).to_owned()).collect(),
    )
}

/// What each of two supposed displays of a test at a part would rule out; `None` where the test has no
/// such displays, or there is no settled draw to suppose.
pub fn outcomes(case: &Case<'_>, method: Method, part: PartId) -> Option<[Outcome; 2]> {
    let setting = case.setting();
    let id = setting.feeds.id(part);
    let draw = case.settled_draw()?.current;
    let middle = f64::midpoint(draw.low(), draw.high());
    let (word, all, none) = match method {
        Method::Drop => {
            let range = setting.instruments.meter?.millivolts?;
            let ohms = resistance(&setting.feeds, part)?.nominal.value();
            let decimals = if range.step.value() < 0.05 { 2 } else { 1 };
            let show = |ma: f64| format!("{:.decimals$}mV", ma * ohms / 1000.0);
            ("drop", show(middle), show(0.0))
        }
        Method::Clamp => {
            setting.instruments.clamp?;
            ("clamp", format!("{middle:.0}mA"), "0.0mA".to_owned())
        }
        Method::Look => ("look", "yes".to_owned(), "no".to_owned()),
        _ => return None,
    };
    let suppose = |shown: String, carrying: bool| {
        let mut after = case.clone();
        after
            .record(&format!("{word} {id} {shown} sure"))
            .or_else(|_| after.record(&format!("{word} {id} {shown}")))
            .ok()?;
        let (rules, ruled_out) = newly_ruled_out(case, &after, part);
        let small = |s: Standing| !matches!(s, Standing::InQuestion | Standing::Carrying);
        let (alone, _) = newly(case, &after, part, &small);
        let last = after.readings().last().and_then(|read| read.current);
        let zero = !carrying && method != Method::Look;
        let hides = last.filter(|_| zero && rules == Rules::Nothing);
        let matters = case.judged().matters();
        Some(Outcome {
            hides: hides
                .map(|current| (current.high(), matters))
                .filter(|(most, needs)| most >= needs),
            shown,
            carrying,
            rules,
            ruled_out,
            alone,
        })
    };
    Some([suppose(all, true)?, suppose(none, false)?])
}

/// A question that waits for its answers.
#[derive(Clone, Debug)]
pub(super) struct Asking {
    line: String,
    test: String,
    outcomes: [Outcome; 2],
    said: Vec<Option<Rules>>,
}

/// What is asked before a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The test.
    pub test: String,
    /// What is supposed to be shown.
    pub shown: String,
    /// It is what all of the draw would show.
    pub carrying: bool,
}

impl Drill<'_> {
    /// The same with predictions asked for before readings.
    pub fn predicting(mut self) -> Self {
        self.predicts = true;
        self
    }

    /// Every prediction so far.
    pub fn predicted(&self) -> &[Predicted] {
        &self.predicted
    }

    /// Asks what a reading will rule out; `None` where this line is none, or there is nothing to ask.
    pub(super) fn asks(&mut self, line: &str) -> Option<Said> {
        let asleep = self.board.unwrap_or_else(|| self.parked.is_asleep());
        if !self.predicts || !asleep {
            return None;
        }
        let (act, _) = self.completed(line)?;
        let (method, part) = match &act {
            Act::Read {
                method,
                point: Point::Part(part),
                ..
            } => (*method, *part),
            Act::Look {
                point: Point::Part(part),
                ..
            } => (Method::Look, *part),
            _ => return None,
        };
        let asking = Asking {
            line: line.to_owned(),
            test: typed_of(&act, &self.setting.names),
            outcomes: outcomes(&self.case, method, part)?,
            said: Vec::new(),
        };
        let asked = asking.next()?;
        self.asking = Some(asking);
        Some(Said::Asks(asked))
    }

    /// Takes an answer to what was asked; after the last one the reading is taken.
    pub(super) fn answers(&mut self, mut asking: Asking, line: &str) -> Said {
        let Some(said) = Rules::typed(line) else {
            let refusal = Refusal::misfit(line, Misfit::NoPrediction, "nothing");
            self.asking = Some(asking);
            return Said::Again(refusal);
        };
        asking.said.push(said);
        if let Some(asked) = asking.next() {
            self.asking = Some(asking);
            return Said::Asks(asked);
        }
        let taken = match self.board {
            Some(_) => Said::ReadNow(asking.test.clone()),
            None => self.entry(&asking.line),
        };
        let predicted = asking.outcomes.into_iter().zip(asking.said);
        let predicted: Vec<Predicted> = predicted
            .map(|(outcome, said)| Predicted {
                test: asking.test.clone(),
                outcome,
                said,
            })
            .collect();
        if !matches!(taken, Said::Done(_) | Said::ReadNow(_)) {
            return taken;
        }
        self.predicted.extend(predicted.iter().cloned());
        Said::Predicted(Box::new(taken), predicted)
    }
}

impl Asking {
    fn next(&self) -> Option<Asked> {
        let outcome = self.outcomes.get(self.said.len())?;
        Some(Asked {
            test: self.test.clone(),
            shown: outcome.shown.clone(),
            carrying: outcome.carrying,
        })
    }
}
