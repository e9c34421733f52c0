//! The chart of a plan cut to what is shown, in reading order: what was found goes deeper, what was not
//! found goes on straight below.

use crate::planner::{Chart, Next, Step};
use std::collections::BinaryHeap;

/// How much of a chart is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// Every step that is at most so many steps from the start.
    Depth(usize),
    /// So many steps, the likeliest to be needed.
    Likeliest(usize),
}

/// What is shown of a chart.
pub(super) struct Outline {
    /// The steps, in reading order; each is numbered by its place here, from 1.
    pub(super) steps: Vec<Shown>,
    /// How many steps the whole chart has; the proof of a suspect that is left alone is none of them.
    pub(super) of: usize,
}

/// A step that is shown.
pub(super) struct Shown {
    pub(super) step: Step,
    pub(super) minutes: f64,
    /// How many findings lie before it: how far in it stands.
    pub(super) indent: usize,
    pub(super) exits: Vec<Exit>,
}

/// One outcome of a step.
pub(super) struct Exit {
    /// The class it shows; of a proof 1 where it succeeds.
    pub(super) class: u32,
    /// Its chance there.
    pub(super) chance: f64,
    pub(super) then: Then,
}

/// What an outcome leads to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Then {
    /// To the step shown under this number.
    Go(usize),
    /// To the end: it is proven.
    Proven,
    /// To the proof of the one suspect left; number in the table.
    Prove(usize),
    /// To suspects that can neither be parted nor proven; the node.
    Located(usize),
    /// To more steps than are shown; the node.
    Rest(usize),
}

/// The suspect of a node where only its proof is left.
fn only_proof(chart: &Chart, node: usize) -> Option<usize> {
    let node = &chart.nodes[node];
    match (node.suspects.as_slice(), node.step()) {
        ([_], Some(Step::Prove(suspect))) => Some(suspect),
        _ => None,
    }
}

/// The numbers of the nodes that may follow a node, by class.
fn after(chart: &Chart, node: usize) -> Vec<usize> {
    match &chart.nodes[node].next {
        Next::Step { outcomes, .. } => outcomes.iter().filter_map(|o| o.node).collect(),
        Next::Located | Next::Unfolded => Vec::new(),
    }
}

impl Outline {
    /// O(nodes × log nodes).
    pub(super) fn of(chart: &Chart, extent: Extent) -> Self {
        let nodes = chart.nodes.len();
        let is_step = |node: usize| {
            let alone = only_proof(chart, node).is_some() && node > 0;
            chart.nodes[node].step().is_some() && !alone
        };
        let mut shown = vec![false; nodes];
        match extent {
            Extent::Depth(most) => {
                let mut depth = vec![1_usize; nodes];
                for node in 0..nodes {
                    shown[node] = is_step(node) && depth[node] <= most;
                    for next in after(chart, node) {
                        depth[next] = depth[node] + 1;
                    }
                }
            }
            Extent::Likeliest(most) => {
                // What follows a node is no likelier, so the shown ones hang together.
                let bits = |node: usize| chart.nodes[node].chance.max(0.0).to_bits();
                let rank = |node: usize| (bits(node), std::cmp::Reverse(node));
                let mut waiting: BinaryHeap<_> = (0..nodes.min(1)).map(rank).collect();
                let mut count = 0;
                while let Some((_, std::cmp::Reverse(node))) = waiting.pop() {
                    if count == most {
                        break;
                    }
                    if is_step(node) {
                        shown[node] = true;
                        count += 1;
                        waiting.extend(after(chart, node).into_iter().map(rank));
                    }
                }
            }
        }
        Self {
            steps: in_order(chart, &shown),
            of: (0..nodes).filter(|node| is_step(*node)).count(),
        }
    }
}

/// The shown steps in reading order, and where their outcomes lead.
fn in_order(chart: &Chart, shown: &[bool]) -> Vec<Shown> {
    let mut steps: Vec<Shown> = Vec::new();
    let mut number = vec![0; shown.len()];
    let mut waiting: Vec<(usize, usize)> = Vec::new();
    if shown.first() == Some(&true) {
        waiting.push((0, 0));
    }
    while let Some((node, indent)) = waiting.pop() {
        let Next::Step {
            step,
            minutes,
            outcomes,
        } = &chart.nodes[node].next
        else {
            continue;
        };
        // What was found is read first, so it is put away last; what goes on straight below is read
        // after all of that.
        let mut outcomes = outcomes.clone();
        outcomes.sort_by_key(|outcome| (outcome.class == 0, outcome.class));
        for outcome in outcomes.iter().rev() {
            if let Some(next) = outcome.node.filter(|next| shown[*next]) {
                waiting.push((next, indent + usize::from(outcome.class != 0)));
            }
        }
        let exits = outcomes.iter().map(|outcome| Exit {
            class: outcome.class,
            chance: outcome.chance,
            then: match outcome.node {
                None => Then::Proven,
                Some(next) if shown[next] => Then::Go(next),
                Some(next) => match (only_proof(chart, next), &chart.nodes[next].next) {
                    (Some(suspect), _) => Then::Prove(suspect),
                    (None, Next::Located) => Then::Located(next),
                    (None, _) => Then::Rest(next),
                },
            },
        });
        steps.push(Shown {
            step: *step,
            minutes: *minutes,
            indent,
            exits: exits.collect(),
        });
        number[node] = steps.len();
    }
    // Now that every step has its number.
    for exit in steps.iter_mut().flat_map(|step| &mut step.exits) {
        if let Then::Go(node) = exit.then {
            exit.then = Then::Go(number[node]);
        }
    }
    steps
}
