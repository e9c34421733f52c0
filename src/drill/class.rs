//! The results of a class: who did what, and which wrong ideas are common.

use super::{Debrief, Misconception};

/// One learner's attempt, marked.
#[derive(Clone, Debug, PartialEq)]
pub struct Marked {
    /// Who: a number, never a name.
    pub learner: u64,
    /// The number of the drill.
    pub number: u64,
    /// The answer, or the last reply, is in.
    pub ended: bool,
    /// What came of it.
    pub debrief: Debrief,
}

/// What a class did.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// Attempts.
    pub attempts: usize,
    /// Of these brought to an end.
    pub ended: usize,
    /// Of these right.
    pub right: usize,
    /// Of these proven as well.
    pub proven: usize,
    /// Mean of the marks; 0 where there are none.
    pub mean_marks: f64,
    /// Each wrong idea that was seen with the learners who had it, the commonest first.
    pub ideas: Vec<(Misconception, Vec<u64>)>,
    /// Wrong answers that were given, with how often, the commonest first.
    pub wrong: Vec<(String, usize)>,
}

/// Sums up a class.
pub fn summary(marked: &[Marked]) -> Summary {
    let with = |idea: Misconception| {
        let had = marked
            .iter()
            .filter(|m| m.debrief.misconceptions.contains(&idea));
        had.map(|m| m.learner).collect::<Vec<u64>>()
    };
    let ideas = Misconception::ALL
        .into_iter()
        .map(|idea| (idea, with(idea)));
    let mut ideas: Vec<_> = ideas.filter(|(_, who)| !who.is_empty()).collect();
    ideas.sort_by_key(|(_, who)| std::cmp::Reverse(who.len()));
    let mut wrong: Vec<(String, usize)> = Vec::new();
    for one in marked
        .iter()
        .filter(|m| m.ended && m.debrief.hunt && !m.debrief.right)
    {
        let named = one.debrief.answered();
        match wrong.iter_mut().find(|(name, _)| *name == named) {
            Some((_, count)) => *count += 1,
            None => wrong.push((named, 1)),
        }
    }
    wrong.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let count = |fits: &dyn Fn(&Marked) -> bool| marked.iter().filter(|m| fits(m)).count();
    let marks: u32 = marked.iter().map(|m| m.debrief.marks).sum();
    Summary {
        attempts: marked.len(),
        ended: count(&|m| m.ended),
        right: count(&|m| m.debrief.right),
        proven: count(&|m| m.debrief.right && m.debrief.proven),
        mean_marks: f64::from(marks) / marked.len().max(1) as f64,
        ideas,
        wrong,
    }
}
