//! What holds for every table: against a plain reference that tries everything, against renaming,
//! against the chart.

use crate::invented_tables;
use crate::reference_planner::{self, AS_PLANNED, Terms};
use halfsplit::planner::table::Table;
use halfsplit::planner::{
    Effort, Habit, Next, Step, branch_by_branch, chart, choose, exact, floor, floor_with, habits,
    minutes_with, quick_floor,
};
use proptest::prelude::*;

/// Plans that see every difference, for sure or not.
const SEES_ALL: Terms = Terms {
    unsure_counts: true,
    harm_allowed: false,
};

/// Expected minutes of asking [`choose`] at every step, step by step on tables of their own.
fn walk(table: &Table) -> f64 {
    let Some(choice) = choose(table) else {
        return 0.0;
    };
    let rest = reference_planner::after(table, choice.step).into_iter();
    let rest: f64 = rest.map(|(chance, table)| chance * walk(&table)).sum();
    reference_planner::minutes(table, choice.step) + rest
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Looking ahead at every step is never worse than said at the first, and nothing beats the best.
    #[test]
    fn expected_minutes_hold(table in invented_tables::small()) {
        let best = reference_planner::optimum(&table, AS_PLANNED);
        let expected = choose(&table).map_or(0.0, |choice| choice.expected);
        let walked = walk(&table);
        prop_assert!(best <= walked * (1.0 + 1e-9) + 1e-9, "best {best}, walked {walked}");
        prop_assert!(walked <= expected * (1.0 + 1e-9) + 1e-9, "walked {walked}, said {expected}");
        // The first candidate is what the plain rule would take where something parts the suspects;
        // looking ahead never takes longer.
        if let Some(choice) = choose(&table) {
            let by_rule = choice.candidates[0].expected.unwrap_or(f64::INFINITY);
            prop_assert!(choice.expected <= by_rule * (1.0 + 1e-9), "{choice:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    /// No plan beats the floor, not even one that sees every difference.
    #[test]
    fn the_floor_is_never_above_the_best_plan(table in invented_tables::small()) {
        let floor = floor(&table);
        prop_assert!(floor <= reference_planner::optimum(&table, AS_PLANNED) + 1e-9);
        let best = reference_planner::optimum(&table, SEES_ALL);
        prop_assert!(floor <= best, "floor {floor}, best {best}");
        let quick = quick_floor(&table);
        prop_assert!(quick <= best, "quick floor {quick}, best {best}");
    }

    /// Nor the floor worked out with suspects kept together, as in large tables.
    #[test]
    fn the_floor_holds_for_suspects_kept_together(table in invented_tables::small()) {
        let best = reference_planner::optimum(&table, SEES_ALL);
        for single in [2, 3, 4] {
            let floor = floor_with(&table, Effort { single, work: 10_000_000 });
            prop_assert!(floor <= best, "{single} at once: floor {floor}, best {best}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// The search finds the minutes of the plain reference, and a first step that leads to them.
    #[test]
    fn nothing_beats_the_best_plan(table in invented_tables::small()) {
        let best = reference_planner::optimum(&table, AS_PLANNED);
        let Some((step, expected)) = exact(&table, 100_000_000) else {
            prop_assert!(choose(&table).is_none(), "small tables are searched to the end");
            return Ok(());
        };
        prop_assert!((expected - best).abs() <= 1e-7 * best, "said {expected}, best {best}");
        let rest = reference_planner::after(&table, step).into_iter();
        let rest: f64 = rest.map(|(chance, table)| chance * reference_planner::optimum(&table, AS_PLANNED)).sum();
        let by_step = reference_planner::minutes(&table, step) + rest;
        prop_assert!((by_step - best).abs() <= 1e-7 * best, "{step:?} leads to {by_step}, best {best}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// What suspects and tests are called makes no difference.
    #[test]
    fn renaming_changes_nothing(
        (table, suspects, tests) in invented_tables::small().prop_flat_map(|table| {
            let suspects: Vec<u32> = (0..table.suspects.len() as u32).collect();
            let tests: Vec<usize> = (0..table.tests.len()).collect();
            (Just(table), Just(suspects).prop_shuffle(), Just(tests).prop_shuffle())
        })
    ) {
        let mut renamed = reference_planner::renumbered(&table, &suspects);
        renamed.tests = tests.iter().map(|t| renamed.tests[*t].clone()).collect();
        let same = |a: f64, b: f64| (a - b).abs() <= 1e-7 * a.abs().max(1.0);
        let (old, new) = (choose(&table), choose(&renamed));
        prop_assert_eq!(old.is_some(), new.is_some());
        if let (Some(old), Some(new)) = (old, new) {
            prop_assert!(same(old.expected, new.expected), "{} then {}", old.expected, new.expected);
            for (a, b) in old.candidates.iter().zip(&new.candidates) {
                prop_assert!(same(a.score, b.score) && same(a.minutes, b.minutes), "{a:?} then {b:?}");
            }
        }
        let (a, b) = (floor(&table), floor(&renamed));
        prop_assert!((a - b).abs() <= 1e-3 * a, "floors {a} and {b}");
    }

    /// The chart is the plan: chances add up, minutes follow from one another, and it takes no longer
    /// than said.
    #[test]
    fn the_chart_is_the_plan(table in invented_tables::small()) {
        let whole = chart(&table, 1_000);
        let Some(choice) = choose(&table) else {
            prop_assert!(whole.nodes.iter().all(|node| node.next == Next::Located));
            return Ok(());
        };
        prop_assert!(whole.nodes[0].expected <= choice.expected * (1.0 + 1e-9));
        let best = reference_planner::optimum(&table, AS_PLANNED);
        prop_assert!(whole.nodes[0].expected >= best * (1.0 - 1e-9));
        prop_assert!(whole.proven && whole.nodes[0].expected <= best * (1.0 + 1e-6));
        let mut spent = 0.0;
        for node in &whole.nodes {
            prop_assert!(node.next != Next::Unfolded, "there is room for all of it");
            if let Next::Step { minutes, outcomes, .. } = &node.next {
                spent += node.chance * minutes;
                let sum: f64 = outcomes.iter().map(|outcome| outcome.chance).sum();
                prop_assert!((sum - 1.0).abs() < 1e-9);
                let after: usize = outcomes.iter().filter_map(|o| o.node).map(|n| whole.nodes[n].suspects.len()).sum();
                let proven = outcomes.iter().filter(|o| o.node.is_none()).count();
                prop_assert_eq!(after + proven, node.suspects.len());
            }
        }
        prop_assert!((spent - whole.nodes[0].expected).abs() <= 1e-9 * spent.max(1.0));
        let first = chart(&table, 1);
        let steps = first.nodes.iter().filter(|node| matches!(node.next, Next::Step { .. }));
        prop_assert_eq!(steps.count(), 1, "no more room than for one step");
    }

    /// What another first step takes is its minutes and the best plans after it; a step that parts
    /// nothing takes no minutes at all.
    #[test]
    fn another_first_step_takes_what_follows_it(table in invented_tables::small()) {
        let tests = (0..table.tests.len()).map(Step::Test);
        let proofs = (0..table.suspects.len()).map(Step::Prove);
        for step in tests.chain(proofs) {
            let Some(said) = minutes_with(&table, step) else {
                prop_assert!(matches!(step, Step::Test(_)), "every suspect can be taken out");
                prop_assert!(reference_planner::after(&table, step).len() < 2, "{step:?}");
                continue;
            };
            let rest = reference_planner::after(&table, step).into_iter();
            let rest: f64 = rest
                .map(|(chance, table)| chance * reference_planner::optimum(&table, AS_PLANNED))
                .sum();
            let best = reference_planner::minutes(&table, step) + rest;
            prop_assert!((said - best).abs() <= 1e-6 * best.max(1.0), "{step:?}: {said} {best}");
        }
    }

    /// Going down the tree branch by branch, what large tables are judged by, is a plan like any other.
    #[test]
    fn going_down_branch_by_branch_is_a_plan(table in invented_tables::small()) {
        let mut table = table;
        table.suspects.iter_mut().for_each(|suspect| suspect.provable = true);
        let best = reference_planner::optimum(&table, AS_PLANNED);
        let said = branch_by_branch(&table);
        prop_assert!(said >= best * (1.0 - 1e-9), "said {said}, best {best}");
    }

    /// Looking ahead never loses against the habits it could fall back on.
    #[test]
    fn no_habit_beats_the_best_plan(table in invented_tables::small()) {
        let best = reference_planner::optimum(&table, AS_PLANNED);
        let all = habits(&table);
        prop_assert_eq!(all.len(), Habit::ALL.len());
        for (habit, expected) in all {
            prop_assert!(expected >= best * (1.0 - 1e-9), "{habit:?} {expected}, best {best}");
        }
    }
}
