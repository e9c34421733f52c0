//! Minutes of going down the tree branch by branch: for tables too large to follow a rule to the end.
//!
//! Where a reading shows one run of suspects, runs lie inside each other like the branches of the tree.
//! At each branch the readings of those inside it are taken one after another until one shows the drain,
//! by chance per minute (Smith's rule 1956); what is in none of them is proven one by one.

use super::left::Left;
use super::rule::allowed;
use super::situation::{Prepared, Situation};
use super::turns::in_turn;

/// A run of suspects, by position, that one reading tells from the rest.
struct Branch {
    from: u32,
    to: u32,
    /// Number of the reading in the table; `None` for all suspects.
    test: Option<usize>,
    /// The branch it is in.
    inside: usize,
    /// Behind it and all that are in it.
    end: usize,
    chance: f64,
    /// Expected minutes once it is known that the drain is in it, times its chance.
    after: f64,
}

/// Expected minutes of that plan: never fewer than the best plan takes, where all suspects can be proven
/// (`going_down_branch_by_branch_is_a_plan`). O(n log n), no recursion.
pub(crate) fn descent(prepared: &Prepared<'_>, situation: &Situation) -> f64 {
    let left = &situation.left;
    let sums = left.sums(&prepared.chance);
    let mut branches = branches(prepared, left, &sums);
    for at in (0..branches.len()).rev() {
        // Those inside it stand behind it, so their ends are known.
        let (inside, end) = (branches[at].inside, branches[at].end);
        branches[inside].end = branches[inside].end.max(end);
        branches[at].after = after(prepared, situation, &branches, at);
    }
    let whole = &branches[0];
    if whole.chance > 0.0 {
        whole.after / whole.chance
    } else {
        0.0
    }
}

/// The branches, each behind the one it is in; the first is all there is.
fn branches(prepared: &Prepared<'_>, left: &Left, sums: &[f64]) -> Vec<Branch> {
    let all = left.suspects.len() as u32;
    let allowed = allowed(prepared, left);
    let mut runs: Vec<(u32, u32, f64, usize)> = Vec::with_capacity(left.tests());
    for at in (0..left.tests()).filter(|at| allowed(*at)) {
        if let [run] = left.stretches(at) {
            let number = left.number(at);
            runs.push((run.from, all - run.to, prepared.minutes[number], number));
        }
    }
    runs.sort_unstable_by(|a, b| {
        let wide = (a.0, a.1).cmp(&(b.0, b.1));
        wide.then(a.2.total_cmp(&b.2)).then(a.3.cmp(&b.3))
    });
    runs.dedup_by_key(|run| (run.0, run.1));
    let branch = |at: usize, (from, to): (u32, u32), test, inside| Branch {
        from,
        to,
        test,
        inside,
        end: at + 1,
        chance: sums[to as usize] - sums[from as usize],
        after: 0.0,
    };
    let mut found = vec![branch(0, (0, all), None, 0)];
    let mut around = vec![0];
    for (from, short, _, number) in runs {
        let to = all - short;
        while let Some(last) = around.last()
            && found[*last].to <= from
        {
            around.pop();
        }
        let Some(inside) = around.last().copied() else {
            continue;
        };
        // Two that cross: the first counts.
        if to <= found[inside].to {
            around.push(found.len());
            found.push(branch(found.len(), (from, to), Some(number), inside));
        }
    }
    found
}

/// Expected minutes inside a branch, times its chance; those inside it are known.
fn after(prepared: &Prepared<'_>, situation: &Situation, branches: &[Branch], at: usize) -> f64 {
    let tests = &prepared.table.tests;
    let branch = &branches[at];
    let first = Some(at + 1).filter(|one| *one < branch.end);
    let inside = std::iter::successors(first, |one| {
        Some(branches[*one].end).filter(|next| *next < branch.end)
    });
    let place = |test: usize| prepared.way(tests[test].place);
    let mut open: Vec<usize> = branch.test.map_or(&[][..], place).to_vec();
    let reach = |test: usize, open: &[usize]| {
        let closed = place(test).iter();
        let closed = closed.filter(|p| !situation.is_open(**p) && !open.contains(p));
        closed.map(|p| prepared.step[*p]).sum::<f64>()
    };
    // What is in none of the branches inside comes last.
    let mut others: Vec<u32> = Vec::new();
    let suspect = |position: u32| situation.left.suspects[position as usize];
    let mut from = branch.from;
    for one in inside.clone() {
        others.extend((from..branches[one].from).map(suspect));
        from = branches[one].to;
    }
    others.extend((from..branch.to).map(suspect));
    let is_open = |place: usize| situation.is_open(place) || open.contains(&place);
    let mut sum = 0.0;
    if !others.is_empty() {
        let chance: f64 = others.iter().map(|s| prepared.chance[*s as usize]).sum();
        sum = chance * in_turn(prepared, &others, is_open).1;
    }
    // By chance per minute.
    let minutes = |one: usize| {
        let test = branches[one].test;
        test.map_or(0.0, |test| prepared.minutes[test] + reach(test, &open))
    };
    let mut order: Vec<(f64, usize)> = inside.map(|one| (minutes(one), one)).collect();
    order.sort_by(|a, b| {
        let own = branches[a.1].chance * b.0;
        let other = branches[b.1].chance * a.0;
        other.total_cmp(&own).then(a.1.cmp(&b.1))
    });
    let mut remaining = branch.chance;
    let mut last = branch
        .test
        .map(|test| (tests[test].instrument, tests[test].place));
    for (_, one) in order {
        let Some(test) = branches[one].test else {
            continue;
        };
        let here = (tests[test].instrument, tests[test].place);
        let carried = match last {
            None => situation.bring(prepared, test),
            Some(last) if last == here || here.0.is_none() => 0.0,
            Some(_) => prepared.move_minutes,
        };
        let minutes = prepared.minutes[test] + reach(test, &open) + carried;
        sum += remaining * minutes + branches[one].after;
        remaining = (remaining - branches[one].chance).max(0.0);
        open.extend_from_slice(place(test));
        if here.0.is_some() {
            last = Some(here);
        }
    }
    sum
}
