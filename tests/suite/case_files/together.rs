//! Several runs on one case.

use super::{Folder, Run};
use std::fs::{self, File};
use std::io::{BufRead, BufReader, Write};
use std::process::Child;

#[test]
fn one_run_at_a_time() {
    let folder = Folder::with_case();
    let file = File::open(folder.path("a.case")).unwrap();
    let (next, record, undo) = (
        &["next", "a.case"][..],
        &["record", "a.case", "note a"][..],
        &["undo", "a.case"][..],
    );
    file.lock().unwrap();
    for arguments in [next, record, undo] {
        let run = folder.run(arguments);
        assert_eq!((run.code, run.out.as_str()), (4, ""), "{arguments:?}");
        assert!(
            run.err.contains("a.case is in use by another run"),
            "{run:?}"
        );
    }
    // What was done may be shown meanwhile.
    folder.done(&["tree", "a.case"]);
    folder.done(&["report", "a.case"]);
    file.unlock().unwrap();
    // Two may look at once.
    file.lock_shared().unwrap();
    assert_eq!(folder.run(next).code, 0);
    assert_eq!(folder.run(record).code, 4);
    file.unlock().unwrap();
    folder.done(record);
    assert_eq!(folder.entries("a.case"), ["note a"]);
}

/// Who records lines as they come holds the case from the first one on: before that, what writes the
/// lines may look at it.
#[test]
fn a_run_that_takes_lines_holds_the_case() {
    let folder = Folder::with_case();
    let mut child = folder.streaming(&["record", "a.case", "-"]);
    let mut lines = child.stdin.take().unwrap();
    let mut answers = BufReader::new(child.stdout.take().unwrap());
    folder.done(&["next", "a.case"]);
    lines.write_all(b"note a\n").unwrap();
    let mut answer = String::new();
    answers.read_line(&mut answer).unwrap();
    assert_eq!(answer, "   1  note a\n");
    // Answered is kept, though the run goes on.
    assert_eq!(folder.entries("a.case"), ["note a"]);
    assert_eq!(folder.run(&["next", "a.case"]).code, 4);
    assert_eq!(folder.run(&["record", "a.case", "note b"]).code, 4);
    drop(lines);
    assert_eq!(child.wait().unwrap().code(), Some(0));
    folder.done(&["record", "a.case", "note b"]);
}

/// Many runs at once: each entry is in the case once, or its run says that it is not.
#[test]
fn many_at_once_lose_nothing() {
    let folder = Folder::with_case();
    let texts: Vec<String> = (0..24).map(|n| format!("note run {n}")).collect();
    let children: Vec<Child> = texts
        .iter()
        .map(|text| folder.streaming(&["record", "a.case", text]))
        .collect();
    let mut taken = Vec::new();
    for (child, text) in children.into_iter().zip(texts) {
        match child.wait_with_output().unwrap().status.code() {
            Some(0) => taken.push(text),
            code => assert_eq!(code, Some(4), "{text}"),
        }
    }
    let mut entries = folder.entries("a.case");
    assert!(!taken.is_empty());
    entries.sort();
    taken.sort();
    assert_eq!(entries, taken);
}

/// Two that open the same case at once: one writes it, both look at it.
#[test]
fn two_may_open_the_same_case() {
    let folder = Folder::new();
    let open = ["next", "a.case", "--vehicle", "van.ron"];
    let children: Vec<Child> = (0..8).map(|_| folder.streaming(&open)).collect();
    let mut opened = 0;
    for child in children {
        let run = Run::of(child.wait_with_output().unwrap());
        assert_eq!(run.code, 0, "{run:?}");
        opened += usize::from(run.err.contains("opened"));
    }
    assert_eq!(opened, 1);
    let names: Vec<_> = fs::read_dir(folder.0.path()).unwrap().collect();
    assert_eq!(names.len(), 2, "nothing else is left behind: {names:?}");
}
