//! The decision chart: what to do first, and after each outcome, as a value without words.

use super::exact::{Found, Search};
use super::follow::take;
use super::situation::{Prepared, Situation};
use super::table::{Class, Place, Table, Test};
use super::{SEARCH_WORK, SEARCHED, Step, choose, look_ahead};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A decision chart: a flat list of nodes that name each other by number.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Chart {
    /// The first is where the chart begins; what follows a node has a higher number.
    pub nodes: Vec<Node>,
    /// It is known to be the best of all plans: the search came to its end.
    pub proven: bool,
}

/// A point of the chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// The suspects left, by number in the table.
    pub suspects: Vec<usize>,
    /// The chance to get here.
    pub chance: f64,
    /// Expected minutes from here until the cause is proven, by this chart where it goes on.
    pub expected: f64,
    /// What to do here.
    pub next: Next,
}

/// What to do at a node.
#[derive(Clone, Debug, PartialEq)]
pub enum Next {
    /// Take a step.
    Step {
        /// The step.
        step: Step,
        /// Its minutes, reach and the move of an instrument included; for a proof weighted with its
        /// chance to succeed.
        minutes: f64,
        /// What may follow.
        outcomes: Vec<Outcome>,
    },
    /// Nothing parts these suspects and none can be proven.
    Located,
    /// The chart ends here for want of room, not the plan.
    Unfolded,
}

/// One outcome of a step.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The class a test shows; 1 for a proof that succeeds, 0 for one that fails.
    pub class: u32,
    /// Its chance at that node.
    pub chance: f64,
    /// The node that follows; `None` where the plan ends with a proof.
    pub node: Option<usize>,
}

/// A node still to be worked out.
struct Waiting {
    chance: f64,
    node: usize,
    situation: Situation,
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Waiting {}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Waiting {
    /// The likeliest first, then the earlier node.
    fn cmp(&self, other: &Self) -> Ordering {
        let chance = self.chance.total_cmp(&other.chance);
        chance.then(other.node.cmp(&self.node))
    }
}

/// Operations of the search for the best of all plans from the start of a chart.
const SEARCH_WORK_OF_PLAN: u64 = 300_000_000;

/// A table whose plan is unfolded: the whole one, or what is left of it somewhere, with the numbers its
/// suspects and tests have in the whole one.
struct Ground {
    table: Table,
    suspects: Vec<usize>,
    tests: Vec<usize>,
}

/// The chart of the plan, at most `steps` steps worked out, the likeliest first. As long as there are
/// many suspects each costs what [`choose`] costs there; few suspects are searched once for all that
/// follows.
pub fn chart(table: &Table, steps: usize) -> Chart {
    let mut chart = Chart::default();
    let mut left = steps;
    if table.suspects.is_empty() {
        return chart;
    }
    let whole = Ground {
        table: table.clone(),
        suspects: (0..table.suspects.len()).collect(),
        tests: (0..table.tests.len()).collect(),
    };
    chart.nodes.push(Node {
        suspects: whole.suspects.clone(),
        chance: 1.0,
        expected: 0.0,
        next: Next::Unfolded,
    });
    // Grounds of few suspects are unfolded after the one they were met in.
    let mut grounds = vec![(0, whole)];
    while let Some((root, ground)) = grounds.pop() {
        unfold(&ground, root, &mut chart, &mut grounds, &mut left);
    }
    chart.add_up();
    chart
}

/// Expected minutes from here: of the best plan where [`choose`] finds it, else of the step it takes and
/// the plain rule after it, a few thousandths more than the chart.
pub fn expected(table: &Table) -> f64 {
    choose(table).map_or(0.0, |choice| choice.expected)
}

/// Expected minutes when `step` is taken first, allowed or not, and after it what [`expected()`] counts;
/// `None` where the step parts nothing. Costs a choice for each of its outcomes.
pub fn minutes_with(table: &Table, step: Step) -> Option<f64> {
    let prepared = Prepared::new(table);
    let start = prepared.start();
    let taken = take(&prepared, &start, step)?;
    let mut minutes = taken.minutes;
    for (_, chance, after) in &taken.after {
        minutes += chance * expected(&left_over(&prepared, after));
    }
    Some(minutes)
}

/// Unfolds the plan of a ground below the node `root`.
fn unfold(
    ground: &Ground,
    root: usize,
    chart: &mut Chart,
    grounds: &mut Vec<(usize, Ground)>,
    steps: &mut usize,
) {
    let prepared = Prepared::new(&ground.table);
    let work = if root == 0 {
        SEARCH_WORK_OF_PLAN
    } else {
        SEARCH_WORK
    };
    let search = searched(&prepared, work);
    chart.proven |= root == 0 && search.is_some();
    let mut waiting = BinaryHeap::new();
    waiting.push(Waiting {
        chance: chart.nodes[root].chance,
        node: root,
        situation: prepared.start(),
    });
    while let Some(here) = waiting.pop() {
        let situation = &here.situation;
        let few = situation.left.suspects.len() <= SEARCHED;
        if few && here.node != root && search.is_none() {
            grounds.push((here.node, rest(&prepared, situation, ground)));
            continue;
        }
        let settled = search
            .as_ref()
            .and_then(|search| search.settled(&search.state_of(situation)));
        let next = settled.or_else(|| next(&prepared, situation));
        let Some((step, expected)) = next else {
            chart.nodes[here.node].next = Next::Located;
            continue;
        };
        chart.nodes[here.node].expected = expected;
        if *steps == 0 {
            continue;
        }
        *steps -= 1;
        let Some(taken) = take(&prepared, situation, step) else {
            continue;
        };
        let mut outcomes = Vec::new();
        if let Step::Prove(_) = step {
            let failed: f64 = taken.after.iter().map(|(_, chance, _)| chance).sum();
            outcomes.push(Outcome {
                class: 1,
                chance: 1.0 - failed,
                node: None,
            });
        }
        for (class, chance, situation) in taken.after {
            let number = chart.nodes.len();
            let to_here = here.chance * chance;
            let suspects = situation.left.suspects.iter();
            chart.nodes.push(Node {
                suspects: suspects.map(|s| ground.suspects[*s as usize]).collect(),
                chance: to_here,
                expected: 0.0,
                next: Next::Unfolded,
            });
            outcomes.push(Outcome {
                class,
                chance,
                node: Some(number),
            });
            waiting.push(Waiting {
                chance: to_here,
                node: number,
                situation,
            });
        }
        chart.nodes[here.node].next = Next::Step {
            step: match step {
                Step::Test(test) => Step::Test(ground.tests[test]),
                Step::Prove(suspect) => Step::Prove(ground.suspects[suspect]),
            },
            minutes: taken.minutes,
            outcomes,
        };
    }
}

/// The search of a table, where it ends with the best plan.
fn searched<'p, 't>(prepared: &'p Prepared<'t>, work: u64) -> Option<Search<'p, 't>> {
    if prepared.table.suspects.len() > SEARCHED {
        return None;
    }
    let ahead = look_ahead(prepared)?.expected;
    let mut search = Search::new(prepared, work)?;
    // A little more than what is known to do, so that a plan is found even if that is the best.
    match search.best(ahead * (1.0 + 1e-6) + 1e-9) {
        Found::Better(..) => Some(search),
        Found::NothingBetter | Found::Unknown(_) => None,
    }
}

/// The next step in a situation by itself.
fn next(prepared: &Prepared<'_>, situation: &Situation) -> Option<(Step, f64)> {
    let left = &situation.left;
    let here = left_over(prepared, situation);
    let choice = choose(&here)?;
    let step = match choice.step {
        Step::Test(at) => Step::Test(left.number(at)),
        Step::Prove(at) => Step::Prove(left.suspects[at] as usize),
    };
    Some((step, choice.expected))
}

/// What is left in a situation of a ground, as a ground.
fn rest(prepared: &Prepared<'_>, situation: &Situation, ground: &Ground) -> Ground {
    let left = &situation.left;
    let suspects = left.suspects.iter();
    let tests = 0..left.tests();
    Ground {
        table: left_over(prepared, situation),
        suspects: suspects.map(|s| ground.suspects[*s as usize]).collect(),
        tests: tests.map(|at| ground.tests[left.number(at)]).collect(),
    }
}

impl Node {
    /// The step taken here, if any.
    pub fn step(&self) -> Option<Step> {
        match &self.next {
            Next::Step { step, .. } => Some(*step),
            Next::Located | Next::Unfolded => None,
        }
    }
}

impl Chart {
    /// Expected minutes of nodes that go on, from those of what follows.
    fn add_up(&mut self) {
        for at in (0..self.nodes.len()).rev() {
            if let Next::Step {
                minutes, outcomes, ..
            } = &self.nodes[at].next
            {
                let after = outcomes.iter().map(|outcome| {
                    let node = outcome.node.and_then(|node| self.nodes.get(node));
                    outcome.chance * node.map_or(0.0, |node| node.expected)
                });
                self.nodes[at].expected = minutes + after.sum::<f64>();
            }
        }
    }
}

/// The table that a situation is, with its suspects and tests numbered as they are listed there.
fn left_over(prepared: &Prepared<'_>, situation: &Situation) -> Table {
    let (table, left) = (prepared.table, &situation.left);
    let test = |at: usize| {
        let old = &table.tests[left.number(at)];
        let classes = left.classes(at).into_iter().max().unwrap_or(0);
        let class = |class: u32| {
            let shown = left.stretches(at).iter().filter(|s| s.class == class);
            Class {
                suspects: shown.map(|s| s.from..s.to).collect(),
                sure: true,
            }
        };
        Test {
            // One that nobody shows any more stays, so that the others keep their numbers.
            classes: (1..=classes).map(class).collect(),
            ..old.clone()
        }
    };
    let place = |(number, place): (usize, &Place)| Place {
        reach: if situation.is_open(number) {
            0.0
        } else {
            place.reach
        },
        within: place.within,
    };
    Table {
        suspects: left
            .suspects
            .iter()
            .map(|s| table.suspects[*s as usize].clone())
            .collect(),
        tests: (0..left.tests()).map(test).collect(),
        places: table.places.iter().enumerate().map(place).collect(),
        instruments: situation.instruments().to_vec(),
        move_minutes: table.move_minutes,
    }
}
