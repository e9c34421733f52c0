//! The most even split against what a general-purpose program finds on the same tree.

use super::{table, test};
use crate::invented_tables::Dice;
use halfsplit::planner::{Step, candidates};

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
