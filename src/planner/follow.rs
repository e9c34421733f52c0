//! Expected minutes of following a rule to the end, and one step looked ahead over the plain rule.

use super::Step;
use super::descent::descent;
use super::rule::{self, Candidate};
use super::situation::{Key, Prepared, Situation};
use super::work::{Budget, Map};

/// What following the rule is expected to take from each situation met.
pub(crate) type Known = Map<Key, f64>;

/// A step taken in a situation: its minutes, and what may follow with which chance.
pub(crate) struct Taken {
    pub(crate) minutes: f64,
    pub(crate) after: Vec<(u32, f64, Situation)>,
}

/// Takes `step`; `None` when it is not listed there.
pub(crate) fn take(prepared: &Prepared<'_>, situation: &Situation, step: Step) -> Option<Taken> {
    let left = &situation.left;
    let total = left.weight(&prepared.chance);
    match step {
        Step::Test(number) => {
            let at = left.listed(number)?;
            let there = situation.at_test(prepared, number);
            let outcomes = left.outcomes(at).into_iter();
            let after = outcomes.map(|(class, left)| {
                let chance = left.weight(&prepared.chance) / total;
                (class, chance, there.with(left))
            });
            Some(Taken {
                minutes: situation.test_minutes(prepared, number),
                after: after.collect(),
            })
        }
        Step::Prove(suspect) => {
            let suspect = u32::try_from(suspect).ok()?;
            let at = left.suspects.binary_search(&suspect).ok()?;
            let chance = prepared.chance[suspect as usize] / total;
            let rest = left.without(at);
            let after = if rest.suspects.is_empty() {
                Vec::new()
            } else {
                let there = situation.opened(prepared.proof_way(suspect));
                vec![(0, (1.0 - chance).max(0.0), there.with(rest))]
            };
            let minutes = if after.is_empty() {
                rule::proof_minutes(prepared, situation, suspect, 1.0)
            } else {
                rule::proof_minutes(prepared, situation, suspect, chance)
            };
            Some(Taken { minutes, after })
        }
    }
}

/// A situation whose value is being worked out.
struct Open {
    key: Key,
    minutes: f64,
    /// What may follow and is not worked out yet.
    after: Vec<(u32, f64, Situation)>,
    /// Chance of the branch being worked out.
    chance: f64,
}

/// A rule: what to do in a situation where some test still parts the suspects.
pub(crate) type Rule<'r> = dyn Fn(&Situation, &mut Budget) -> Option<Step> + 'r;

/// The plain rule.
pub(crate) fn plain_rule(
    prepared: &Prepared<'_>,
) -> impl Fn(&Situation, &mut Budget) -> Option<Step> {
    move |situation, budget| rule::best(prepared, situation, budget)
}

/// Expected minutes from `situation` when a rule is followed to the end; what no test parts is proven
/// one by one. Where the budget runs out, the rest of a branch is searched one after another: still a
/// plan, only a poorer one.
pub(crate) fn follow(
    prepared: &Prepared<'_>,
    rule: &Rule<'_>,
    situation: Situation,
    known: &mut Known,
    budget: &mut Budget,
) -> f64 {
    let mut open: Vec<Open> = Vec::new();
    let mut next = Some(situation);
    let mut value = 0.0;
    loop {
        if let Some(situation) = next.take() {
            budget.spend(situation.left.suspects.len());
            let key = situation.key();
            if let Some(worked_out) = known.get(&key) {
                value = *worked_out;
            } else if situation.left.tests() == 0 || budget.is_spent() {
                budget.spend(8 * situation.left.suspects.len());
                value = situation.in_turn(prepared).1;
                if situation.left.tests() > 0 {
                    value = value.min(descent(prepared, &situation));
                }
                known.insert(key, value);
            } else {
                let step = rule(&situation, budget);
                budget.spend(4 * situation.left.size());
                let taken = step.and_then(|step| take(prepared, &situation, step));
                let Taken { minutes, after } = taken.unwrap_or(Taken {
                    minutes: 0.0,
                    after: Vec::new(),
                });
                open.push(Open {
                    key,
                    minutes,
                    after,
                    chance: 0.0,
                });
                value = 0.0;
            }
        }
        // Hand the value to the situation that waits for it, and go on with its next branch.
        let Some(waiting) = open.last_mut() else {
            return value;
        };
        waiting.minutes += waiting.chance * value;
        waiting.chance = 0.0;
        if let Some((_, chance, situation)) = waiting.after.pop() {
            waiting.chance = chance;
            next = Some(situation);
        } else if let Some(done) = open.pop() {
            value = done.minutes;
            known.insert(done.key, value);
        }
    }
}

/// Expected minutes when `candidate` is taken and the plain rule followed after it.
pub(crate) fn ahead(
    prepared: &Prepared<'_>,
    situation: &Situation,
    candidate: &Candidate,
    known: &mut Known,
    budget: &mut Budget,
) -> Option<f64> {
    let taken = take(prepared, situation, candidate.step)?;
    let rule = plain_rule(prepared);
    budget.spend(4 * situation.left.size());
    let mut expected = taken.minutes;
    for (_, chance, after) in taken.after {
        expected += chance * follow(prepared, &rule, after, known, budget);
    }
    Some(expected)
}
