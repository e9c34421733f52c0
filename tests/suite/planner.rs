//! What to do next, checked against published and computed values and a slow, plain reference.

use crate::invented_tables::{self, Dice};
use crate::reference_planner::{self, AS_PLANNED, Terms};
use halfsplit::planner::table::{Class, Place, Suspect, Table, Test};
use halfsplit::planner::{
    Effort, Grounds, Habit, Next, Step, candidates, chart, choose, exact, floor, floor_with,
    habits, quick_floor,
};
use proptest::prelude::*;

/// Plans that see every difference, for sure or not.
const SEES_ALL: Terms = Terms {
    unsure_counts: true,
    harm_allowed: false,
};

/// Suspects with these weights, proven anywhere in no time: what remains is finding them.
fn suspects(weights: &[f64]) -> Vec<Suspect> {
    let suspect = |weight: &f64| Suspect {
        log_odds: weight.ln(),
        proof: 0.0,
        failed_proof: 0.0,
        proof_place: None,
        provable: false,
    };
    weights.iter().map(suspect).collect()
}

/// A test at no place that shows class 1 for these suspects.
#[allow(clippy::single_range_in_vec_init)] // a class is a list of ranges
fn test(minutes: f64, shown: &[u32]) -> Test {
    Test {
        minutes,
        place: None,
        instrument: None,
        classes: vec![Class {
            suspects: shown.iter().map(|s| *s..*s + 1).collect(),
            sure: true,
        }],
        inconclusive: 0.0,
        harms: false,
    }
}

fn table(weights: &[f64], tests: Vec<Test>) -> Table {
    Table {
        suspects: suspects(weights),
        tests,
        ..Table::default()
    }
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

/// Pattipati & Alexandridis 1990; data from memory, values computed.
fn six_states() -> Table {
    let rows = ["00000", "01001", "00110", "10011", "11000", "11110"];
    let tests = (0..5).map(|t| {
        let shown = (0..6).filter(|s| rows[*s as usize].as_bytes()[t] == b'1');
        test(1.0, &shown.collect::<Vec<u32>>())
    });
    table(&[0.70, 0.01, 0.02, 0.10, 0.05, 0.12], tests.collect())
}

#[test]
fn the_best_plan_for_six_states_is_found() {
    let choice = choose(&six_states()).unwrap();
    assert!(close(choice.expected, 2.18), "{}", choice.expected);
    assert_eq!(choice.grounds, Grounds::Best);
    // Greedy by pairs or by most even split, computed.
    assert!(close(habit(&six_states(), Habit::PairsPerMinute), 2.86));
    assert!(close(habit(&six_states(), Habit::EvenSplit), 2.86));
}

fn habit(table: &Table, wanted: Habit) -> f64 {
    let all = habits(table);
    all.iter().find(|(habit, _)| *habit == wanted).unwrap().1
}

/// A chain of suspects whose joints can all be read in a minute.
fn chain(weights: &[f64]) -> Table {
    let all = weights.len() as u32;
    let joints = (1..all).map(|joint| test(1.0, &(joint..all).collect::<Vec<u32>>()));
    table(weights, joints.collect())
}

fn star(weights: &[f64]) -> Table {
    table(
        weights,
        (0..weights.len() as u32).map(|s| test(1.0, &[s])).collect(),
    )
}

fn optimum(table: &Table) -> f64 {
    exact(table, 2_000_000_000).unwrap().1
}

#[test]
fn a_chain_of_letters_takes_what_an_alphabetic_tree_takes() {
    // Gilbert & Moore 1959: space and A to Z by frequency; data from memory, value computed.
    let letters = [
        1859.0, 642.0, 127.0, 218.0, 317.0, 1031.0, 208.0, 152.0, 467.0, 575.0, 8.0, 49.0, 321.0,
        198.0, 574.0, 632.0, 152.0, 8.0, 484.0, 514.0, 796.0, 228.0, 83.0, 175.0, 13.0, 164.0, 5.0,
    ];
    let chain = chain(&letters);
    let expected = choose(&chain).unwrap().expected;
    assert!(
        (optimum(&chain) - 4.1978).abs() < 1e-4,
        "{}",
        optimum(&chain)
    );
    assert!(
        (4.1978 - 1e-4..4.1978 * 1.01).contains(&expected),
        "{expected}"
    );
    assert!(
        floor(&chain) <= 4.1978 && floor(&chain) > 3.9,
        "{}",
        floor(&chain)
    );
}

#[test]
fn chains_and_stars_follow_their_formulas() {
    // Search in trees at unit cost, equal weights; formulas known, computed.
    for parts in [2_u32, 3, 5, 8, 13, 16, 21] {
        let weights = vec![1.0; parts as usize];
        let halvings = parts.ilog2();
        let depths = f64::from(parts * halvings + 2 * (parts - (1 << halvings)));
        let expected = choose(&chain(&weights)).unwrap().expected;
        assert!(
            close(expected, depths / f64::from(parts)),
            "chain of {parts}: {expected}"
        );
        let depths = f64::from(parts * (parts + 1)) / 2.0 - 1.0;
        let expected = choose(&star(&weights)).unwrap().expected;
        assert!(
            close(expected, depths / f64::from(parts)),
            "star of {parts}: {expected}"
        );
    }
}

#[test]
fn a_row_of_tests_goes_by_weight_per_minute() {
    // Smith 1956; values computed: 3.50 when the last is inferred.
    let minutes = [8.0, 3.0, 1.0, 0.5];
    let tests = (0..4).map(|s| test(minutes[s as usize], &[s])).collect();
    let row = table(&[0.4, 0.3, 0.2, 0.1], tests);
    assert!(close(optimum(&row), 3.5));
    assert!(close(choose(&row).unwrap().expected, 3.5));
    assert!(close(habit(&row, Habit::ByWeight), 3.5));
}

#[test]
fn small_trees_take_their_proved_minutes() {
    // V1, own small tree, computed: a star, one minute each.
    let v1 = star(&[0.4, 0.3, 0.2, 0.1]);
    assert!(close(choose(&v1).unwrap().expected, 1.9));
    // V2, own small tree, computed: a chain of eight equal segments, its joints read in a minute.
    let choice = choose(&chain(&[1.0; 8])).unwrap();
    assert!(close(choice.expected, 3.0), "{}", choice.expected);
    assert_eq!(choice.step, Step::Test(3), "the middle joint");
}

#[test]
fn harm_comes_last() {
    let mut harmful = table(&[0.5, 0.3, 0.2], vec![test(1.0, &[0]), test(50.0, &[1])]);
    harmful.tests[0].harms = true;
    let choice = choose(&harmful).unwrap();
    assert_eq!(choice.step, Step::Test(1));
    assert!(
        close(choice.expected, 50.0 + 0.7),
        "then only the harmful one parts 0 and 2"
    );
    harmful.tests.remove(1);
    assert_eq!(choose(&harmful).unwrap().step, Step::Test(0));
}

#[test]
fn what_no_test_parts_is_proven_one_by_one() {
    // Smith's rule (1956): by weight per minute of a failed proof.
    let mut alone = table(&[0.4, 0.3, 0.2, 0.1], Vec::new());
    for (suspect, minutes) in alone.suspects.iter_mut().zip([8.0, 3.0, 1.0, 0.5]) {
        suspect.provable = true;
        suspect.failed_proof = minutes;
        suspect.proof = minutes;
    }
    // Computed: 6.70 if every one is tested; the third (1 min) and fourth (0.5 min) are level.
    let choice = choose(&alone).unwrap();
    assert!(matches!(choice.step, Step::Prove(2 | 3)), "{choice:?}");
    assert!(close(choice.expected, 6.70), "{}", choice.expected);
}

#[test]
fn nothing_left_to_do_is_no_step() {
    assert_eq!(choose(&Table::default()), None);
    let located = table(&[0.5, 0.5], Vec::new());
    assert_eq!(choose(&located), None, "neither parted nor provable");
    assert!(candidates(&located).is_empty());
}

#[test]
fn a_closed_place_is_judged_by_its_run() {
    // Eight fuses behind one lid: one reading alone is not worth the way, all together are.
    let mut lid = table(&[1.0; 9], (0..8).map(|s| test(0.3, &[s])).collect());
    lid.places.push(Place {
        reach: 5.0,
        within: None,
    });
    lid.tests.iter_mut().for_each(|t| t.place = Some(0));
    let listed = candidates(&lid);
    let single = (1.0 / 9.0) * (8.0 / 9.0) / 5.3;
    assert!(listed[0].score > 3.0 * single, "{listed:?}");
    assert!(close(listed[1].score, single));
    assert!(close(listed[0].minutes, 5.3));
}

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

/// V3, own small tree, computed: two legs, six fuses in two boxes, ten loads behind two panels.
fn v3() -> Table {
    let fuses = [
        &[(0.20, 3), (0.10, 3)][..],
        &[(0.15, 4)],
        &[(0.05, 3), (0.05, 4), (0.10, 4)],
        &[(0.05, 3)],
        &[(0.15, 4)],
        &[(0.10, 3), (0.05, 4)],
    ];
    let loads: Vec<(f64, usize)> = fuses.concat();
    let mut tests = Vec::new();
    let mut add = |minutes: f64, place: usize, shown: std::ops::Range<u32>| {
        let mut added = test(minutes, &shown.collect::<Vec<u32>>());
        added.place = Some(place);
        tests.push(added);
    };
    add(0.5, 0, 0..7);
    add(0.5, 0, 7..10);
    let mut from = 0;
    for (fuse, loads) in fuses.iter().enumerate() {
        let to = from + loads.len() as u32;
        add(0.3, if fuse < 4 { 1 } else { 2 }, from..to);
        from = to;
    }
    for (load, (_, panel)) in loads.iter().enumerate() {
        add(20.5, *panel, load as u32..load as u32 + 1);
    }
    let weights: Vec<f64> = loads.iter().map(|(weight, _)| *weight).collect();
    let mut table = table(&weights, tests);
    table.places = [1.0, 5.0, 10.0, 4.0, 8.0]
        .map(|reach| Place {
            reach,
            within: None,
        })
        .to_vec();
    table
}

#[test]
fn floors_come_out_as_computed() {
    // Pair bounds computed for the six states and for V3, where it is the optimum itself.
    let six = floor(&six_states());
    assert!(six > 2.10 && six <= 2.1121, "{six}");
    let three = floor(&v3());
    assert!(three > 27.2 && three <= 27.255, "{three}");
    let choice = choose(&v3()).unwrap();
    assert!(close(choice.expected, 27.255), "{}", choice.expected);
    let even = habit(&v3(), Habit::EvenSplit);
    assert!(close(even, 27.655), "most even split: {even}");
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

/// Invented vehicles too large for the reference: floor, best plan and choice in their order, and near
/// each other.
#[test]
fn floor_best_plan_and_choice_lie_close_together() {
    let mut proved = 0;
    for seed in 0..6 {
        let vehicle = invented_tables::vehicle(12, seed);
        let (floor, choice) = (floor(&vehicle), choose(&vehicle).unwrap());
        let Some((_, best)) = exact(&vehicle, 60_000_000) else {
            continue;
        };
        proved += 1;
        assert!(
            floor <= best && best <= choice.expected * (1.0 + 1e-9),
            "{floor} {best} {choice:?}"
        );
        // No proof, a guard: measured 0.97 for the floor and less than 1.01 for the choice.
        assert!(
            floor > 0.9 * best && choice.expected < 1.03 * best,
            "{floor} {best} {choice:?}"
        );
    }
    assert!(proved >= 4, "most can be searched to the end: {proved}");
}

/// Values that make no sense are made to, and never stop the planner.
#[test]
fn odd_values_are_taken_as_the_table_says() {
    let odd = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -3.0, 0.0, 1e300];
    for value in odd {
        let mut table = v3();
        for suspect in &mut table.suspects[..3] {
            (suspect.log_odds, suspect.proof, suspect.failed_proof) = (value, value, value);
            (suspect.provable, suspect.proof_place) = (true, Some(99));
        }
        for test in &mut table.tests[2..5] {
            (test.minutes, test.inconclusive, test.place) = (value, value, Some(77));
            test.classes[0].suspects.push(3..400);
        }
        table.places[1].reach = value;
        table.places[2].within = Some(2);
        let choice = choose(&table).unwrap();
        let (floor, best) = (floor(&table), choice.expected);
        assert!(
            best.is_finite() && floor.is_finite(),
            "{value}: {floor} {best}"
        );
        assert!(floor <= best * (1.0 + 1e-9), "{value}: {floor} {best}");
        assert_eq!(choice, choose(&table).unwrap(), "the same again");
        assert!(!chart(&table, 50).nodes.is_empty());
        assert_eq!(habits(&table).len(), Habit::ALL.len());
    }
}

/// The parts of the best-split set over random trees, as git finds it: the tree drawn as commits, the
/// children of a part as the parents of its commit, the root as the bad one.
#[test]
fn the_most_even_split_is_where_git_bisect_looks() {
    if std::process::Command::new("git")
        .arg("--version")
        .output()
        .is_err()
    {
        return; // without git there is nothing to compare with
    }
    let mut dice = Dice::new(7);
    for parts in [4, 9, 23, 60] {
        let above: Vec<usize> = (1..parts)
            .map(|part: usize| dice.between(part.saturating_sub(4), part - 1))
            .collect();
        let below = |part: usize| {
            let mut inside = vec![false; parts];
            inside[part] = true;
            for later in part + 1..parts {
                inside[later] = inside[above[later - 1]];
            }
            (0..parts as u32)
                .filter(move |p| inside[*p as usize])
                .collect::<Vec<u32>>()
        };
        let tests = (1..parts).map(|part| test(1.0, &below(part))).collect();
        let listed = candidates(&table(&vec![1.0; parts], tests));
        let top = listed
            .iter()
            .filter(|c| c.score > listed[0].score * (1.0 - 1e-9));
        let mut ours: Vec<usize> = top
            .map(|c| match c.step {
                Step::Test(number) => number + 1,
                Step::Prove(_) => panic!("nothing can be proven here"),
            })
            .collect();
        ours.sort_unstable();
        assert_eq!(ours, most_even_by_git(&above), "{above:?}");
    }
}

/// The parts with the highest distance in `git rev-list --bisect-all`.
fn most_even_by_git(above: &[usize]) -> Vec<usize> {
    use std::io::Write as _;
    use std::process::{Command, Stdio};
    let parts = above.len() + 1;
    let folder =
        std::env::temp_dir().join(format!("halfsplit-bisect-{}-{parts}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let git = |arguments: &[&str]| {
        let mut command = Command::new("git");
        command
            .arg("--git-dir")
            .arg(folder.join(".git"))
            .args(arguments);
        command.stderr(Stdio::null());
        command
    };
    assert!(git(&["init", "--quiet"]).status().unwrap().success());
    // Children first, so that the parents of a commit are there already.
    let mut stream = String::new();
    for part in (0..parts).rev() {
        let children: Vec<usize> = (part + 1..parts).filter(|c| above[c - 1] == part).collect();
        let mark = part + 1;
        let length = part.to_string().len();
        let head = format!(
            "commit refs/heads/p{part}\nmark :{mark}\n\
             committer part <part> 0 +0000\ndata {length}\n{part}\n"
        );
        stream.push_str(&head);
        for (at, child) in children.iter().enumerate() {
            let word = if at == 0 { "from" } else { "merge" };
            let parent = format!("{word} :{}\n", child + 1);
            stream.push_str(&parent);
        }
        stream.push('\n');
    }
    let mut import = git(&["fast-import", "--quiet"])
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    import
        .stdin
        .take()
        .unwrap()
        .write_all(stream.as_bytes())
        .unwrap();
    assert!(import.wait().unwrap().success());
    let said =
        |arguments: &[&str]| String::from_utf8(git(arguments).output().unwrap().stdout).unwrap();
    let list = said(&["rev-list", "--bisect-all", "refs/heads/p0"]);
    let names = said(&["for-each-ref", "--format=%(objectname) %(refname)"]);
    std::fs::remove_dir_all(&folder).unwrap();
    let part_of = |commit: &str| {
        let line = names.lines().find(|line| line.starts_with(commit)).unwrap();
        line.split("refs/heads/p")
            .nth(1)
            .unwrap()
            .parse::<usize>()
            .unwrap()
    };
    let mut found: Vec<(usize, usize)> = Vec::new();
    for line in list.lines() {
        // "<commit> (…, dist=2)"
        let commit = line.split(' ').next().unwrap();
        let distance = line.split("dist=").nth(1).unwrap().trim_end_matches(')');
        found.push((distance.parse().unwrap(), part_of(commit)));
    }
    assert_eq!(found.len(), parts, "{list}");
    let most = found.iter().map(|(distance, _)| *distance).max().unwrap();
    let mut top: Vec<usize> = found
        .iter()
        .filter(|(d, _)| *d == most)
        .map(|(_, part)| *part)
        .collect();
    top.sort_unstable();
    top
}

/// Prints how near the plans come to the floor and how long they take; asserts nothing about time.
#[test]
#[ignore = "a measurement, not a check: run with --ignored --nocapture, in an optimised build"]
#[allow(clippy::print_stdout)]
fn measure_plans() {
    println!(
        "| loads | tests | expected / floor | habits / floor | grounds | choose ms | floor ms |"
    );
    for loads in [10, 20, 50, 100, 200, 400, 600, 1500, 5000, 10000] {
        for seed in 0..3 {
            let table = invented_tables::vehicle(loads, seed);
            let start = std::time::Instant::now();
            let choice = choose(&table).unwrap();
            let chosen = start.elapsed().as_secs_f64() * 1e3;
            let start = std::time::Instant::now();
            let floor = quick_floor(&table);
            let floored = start.elapsed().as_secs_f64() * 1e3;
            let habits: Vec<String> = habits(&table)
                .iter()
                .map(|(_, expected)| format!("{:.2}", expected / floor))
                .collect();
            println!(
                "| {loads} | {} | {:.4} | {} | {:?} | {chosen:.1} | {floored:.1} |",
                table.tests.len(),
                choice.expected / floor,
                habits.join(" "),
                choice.grounds,
            );
        }
    }
}
