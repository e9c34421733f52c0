//! Proofs one by one: all that can be done where no test parts the suspects.
//!
//! Ordering them is scheduling with precedence: a suspect is a job with weight p and the minutes of
//! its failed proof, a closed place a job without weight that must come before everything in it. The
//! best order takes the job with the highest weight per minute and, when its place is not open yet,
//! joins it to that place (Horn 1972; without places Smith's rule 1956; both from memory).

use super::situation::Prepared;
use super::work::Map;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A job with everything joined to it, waiting for its place.
struct Joined {
    what: What,
    weight: f64,
    minutes: f64,
    /// The job that must come before, if any is still to be done.
    before: Option<usize>,
    /// The job done next after this one, where both are joined.
    next: Option<usize>,
    /// The last of those joined to it; itself to begin with.
    last: usize,
    /// Counts how often it grew, so that old entries of the heap can be told.
    version: u32,
}

/// What is done in a job.
#[derive(Clone, Copy)]
enum What {
    /// Opening a place.
    Place(usize),
    /// The proof of a suspect.
    Proof(u32),
}

#[derive(PartialEq)]
struct Ready {
    weight: f64,
    minutes: f64,
    job: usize,
    version: u32,
}

impl Eq for Ready {}

impl PartialOrd for Ready {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Ready {
    /// By weight per minute (by cross products, so that 0 minutes are no special case), then the
    /// earlier job.
    fn cmp(&self, other: &Self) -> Ordering {
        let own = self.weight * other.minutes;
        let others = other.weight * self.minutes;
        own.total_cmp(&others).then(other.job.cmp(&self.job))
    }
}

/// The best order of the proofs of these suspects, and its expected minutes; those that cannot be proven
/// come last and end the plan as located. O(n log n).
pub(crate) fn in_turn(
    prepared: &Prepared<'_>,
    suspects: &[u32],
    is_open: impl Fn(usize) -> bool,
) -> (Vec<u32>, f64) {
    if let [one] = suspects {
        return one_alone(prepared, *one, is_open);
    }
    let provable = suspects.iter().copied();
    let provable: Vec<u32> = provable.filter(|s| prepared.provable(*s)).collect();
    let total: f64 = suspects.iter().map(|s| prepared.chance[*s as usize]).sum();
    // Jobs: the closed places, each before what is in it.
    let mut number: Map<usize, usize> = Map::default();
    let mut joined: Vec<Joined> = Vec::with_capacity(provable.len());
    let mut add = |what, weight, minutes, before| {
        let last = joined.len();
        joined.push(Joined {
            what,
            weight,
            minutes,
            before,
            next: None,
            last,
            version: 0,
        });
        last
    };
    for suspect in provable {
        let mut before = None;
        for place in prepared.proof_way(suspect) {
            if !is_open(*place) {
                let step = prepared.step[*place];
                let job = number.entry(*place);
                before = Some(*job.or_insert_with(|| add(What::Place(*place), 0.0, step, before)));
            }
        }
        let weight = prepared.chance[suspect as usize];
        let failed = prepared.failed_proof(suspect);
        add(What::Proof(suspect), weight, failed, before);
    }
    let mut sequence = Vec::with_capacity(joined.len());
    let (mut spent, mut minutes, mut ended) = (0.0, 0.0, 0.0);
    for what in best_order(&mut joined) {
        match what {
            What::Proof(suspect) => {
                let chance = prepared.chance[suspect as usize];
                minutes += chance * (spent + prepared.proof(suspect));
                spent += prepared.failed_proof(suspect);
                ended += chance;
                sequence.push(suspect);
            }
            What::Place(place) => spent += prepared.step[place],
        }
    }
    minutes += spent * (total - ended).max(0.0);
    (sequence, if total > 0.0 { minutes / total } else { 0.0 })
}

/// The same for one suspect: there is nothing to order.
fn one_alone(
    prepared: &Prepared<'_>,
    suspect: u32,
    is_open: impl Fn(usize) -> bool,
) -> (Vec<u32>, f64) {
    if !prepared.provable(suspect) {
        return (Vec::new(), 0.0);
    }
    let closed = prepared.proof_way(suspect).iter();
    let closed = closed.filter(|place| !is_open(**place));
    let reach: f64 = closed.map(|place| prepared.step[*place]).sum();
    (vec![suspect], reach + prepared.proof(suspect))
}

/// The order of single jobs that minimises Σ weight × time done, each after the one `before` it.
fn best_order(joined: &mut [Joined]) -> Vec<What> {
    // Where a job has been joined to: follow until a job that is its own.
    let mut into: Vec<usize> = (0..joined.len()).collect();
    let mut done = vec![false; joined.len()];
    let ready = |job: usize, joined: &[Joined]| Ready {
        weight: joined[job].weight,
        minutes: joined[job].minutes,
        job,
        version: joined[job].version,
    };
    let mut heap: BinaryHeap<Ready> = (0..joined.len()).map(|job| ready(job, joined)).collect();
    let mut order = Vec::with_capacity(joined.len());
    while let Some(next) = heap.pop() {
        let job = next.job;
        if done[job] || into[job] != job || joined[job].version != next.version {
            continue;
        }
        let mut before_it = joined[job].before;
        while let Some(ahead) = before_it {
            if into[ahead] == ahead {
                break;
            }
            before_it = Some(into[ahead]);
        }
        match before_it {
            Some(place) if !done[place] => {
                let Joined {
                    weight,
                    minutes,
                    last,
                    ..
                } = joined[job];
                into[job] = place;
                let end = joined[place].last;
                joined[end].next = Some(job);
                let whole = &mut joined[place];
                whole.last = last;
                whole.weight += weight;
                whole.minutes += minutes;
                whole.version += 1;
                heap.push(ready(place, joined));
            }
            _ => {
                done[job] = true;
                let jobs = std::iter::successors(Some(job), |job| joined[*job].next);
                order.extend(jobs.map(|job| joined[job].what));
            }
        }
    }
    order
}
