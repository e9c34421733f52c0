//! The decision chart: what to do first, and after each outcome, as a value without words.

use super::Step;
use super::choose;
use super::follow::take;
use super::situation::{Prepared, Situation};
use super::table::{Class, Place, Table, Test};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A decision chart. It is worked out where it is most likely to be needed first.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Chart {
    /// The first is where the chart begins; what follows a node has a higher number.
    pub nodes: Vec<Node>,
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
    depth: usize,
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

/// The chart of the plan, at most `steps` steps worked out (each costs about what [`choose`] costs
/// there), none more than `depth` steps down.
pub fn chart(table: &Table, steps: usize, depth: usize) -> Chart {
    let prepared = Prepared::new(table);
    let mut chart = Chart::default();
    let mut waiting = BinaryHeap::new();
    let start = prepared.start();
    if start.left.suspects.is_empty() {
        return chart;
    }
    chart.nodes.push(node(&start, 1.0));
    waiting.push(Waiting {
        chance: 1.0,
        node: 0,
        depth: 0,
        situation: start,
    });
    let mut worked_out = 0;
    while let Some(here) = waiting.pop() {
        let Some(choice) = choose(&rest(&prepared, &here.situation)) else {
            chart.nodes[here.node].next = Next::Located;
            continue;
        };
        chart.nodes[here.node].expected = choice.expected;
        if worked_out == steps || here.depth == depth {
            continue;
        }
        worked_out += 1;
        let left = &here.situation.left;
        let step = match choice.step {
            Step::Test(at) => Step::Test(left.number(at)),
            Step::Prove(at) => Step::Prove(left.suspects[at] as usize),
        };
        let Some(taken) = take(&prepared, &here.situation, step) else {
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
            chart.nodes.push(node(&situation, to_here));
            outcomes.push(Outcome {
                class,
                chance,
                node: Some(number),
            });
            waiting.push(Waiting {
                chance: to_here,
                node: number,
                depth: here.depth + 1,
                situation,
            });
        }
        chart.nodes[here.node].next = Next::Step {
            step,
            minutes: taken.minutes,
            outcomes,
        };
    }
    chart.add_up();
    chart
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

fn node(situation: &Situation, chance: f64) -> Node {
    Node {
        suspects: situation
            .left
            .suspects
            .iter()
            .map(|s| *s as usize)
            .collect(),
        chance,
        expected: 0.0,
        next: Next::Unfolded,
    }
}

/// The table that a situation is, with its suspects and tests numbered as they are listed there.
fn rest(prepared: &Prepared<'_>, situation: &Situation) -> Table {
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
            classes: (1..=classes)
                .map(class)
                .filter(|c| !c.suspects.is_empty())
                .collect(),
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
