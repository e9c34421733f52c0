//! A write that broke off, and a line that is not what was written.

use super::Folder;
use std::fs;
use std::io::{BufRead, BufReader, Write};

/// Some entries of many shapes, none of which needs a plan, so that hundreds of runs take no time.
const ENTRIES: [&str; 6] = [
    "note a \"quoted\" word; a tab\there, a \\ and é漢",
    "told days 6",
    "prepared",
    "open bonnet box",
    "undo",
    "asleep",
];

fn with_entries() -> Folder {
    let folder = Folder::with_case();
    for entry in ENTRIES {
        folder.done(&["record", "a.case", entry]);
    }
    folder
}

/// Where a write may end: at every byte. What stands before it whole is kept, nothing else is, and
/// the file goes on from there.
#[test]
fn cut_off_at_any_byte_no_entry_before_it_is_lost() {
    let folder = with_entries();
    let whole = fs::read(folder.path("a.case")).unwrap();
    // Where each line ends without its line break.
    let ends: Vec<usize> = (0..whole.len()).filter(|i| whole[*i] == b'\n').collect();
    assert_eq!(ends.len(), 1 + ENTRIES.len());
    for cut in 0..=whole.len() {
        fs::write(folder.path("a.case"), &whole[..cut]).unwrap();
        let lines = ends.iter().filter(|end| **end <= cut).count();
        let run = folder.run(&["record", "a.case", "note z"]);
        let after = fs::read(folder.path("a.case")).unwrap();
        if lines == 0 {
            // The first line is written in one stroke; without it there is no case.
            assert_eq!(run.code, 3, "{cut}: {run:?}");
            assert_eq!(after, whole[..cut], "{cut}");
            continue;
        }
        assert_eq!(run.out, format!("{lines:>4}  note z\n"), "{cut}: {run:?}");
        let torn = cut > ends[lines - 1] + 1;
        assert_eq!(run.err.contains("cut off"), torn, "{cut}: {run:?}");
        let kept = ends[lines - 1] + 1;
        assert_eq!(after[..kept], whole[..kept], "{cut}");
        assert!(after[kept..].starts_with(b"Entry("), "{cut}");
        assert_eq!(folder.entries("a.case").len(), lines, "{cut}");
    }
}

/// Looking at a case that was cut off says so and changes nothing.
#[test]
fn looking_mends_nothing() {
    let folder = with_entries();
    let whole = fs::read(folder.path("a.case")).unwrap();
    let torn = &whole[..whole.len() - 9];
    fs::write(folder.path("a.case"), torn).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!(run.code, 0, "{run:?}");
    assert!(run.err.contains("entries kept: 5"), "{run:?}");
    assert_eq!(fs::read(folder.path("a.case")).unwrap(), torn);
}

/// Killed while it records: what was answered is there.
#[test]
fn killed_at_any_moment_what_was_answered_is_kept() {
    for answered in [1, 3, 10, 25] {
        let folder = Folder::with_case();
        let mut child = folder.streaming(&["record", "a.case", "-"]);
        let mut lines = child.stdin.take().unwrap();
        for number in 1..=200 {
            writeln!(lines, "note number {number}").unwrap();
        }
        let mut answers = BufReader::new(child.stdout.take().unwrap());
        let mut answer = String::new();
        for _ in 0..answered {
            answer.clear();
            answers.read_line(&mut answer).unwrap();
        }
        assert_eq!(answer.trim(), format!("{answered}  note number {answered}"));
        child.kill().unwrap();
        child.wait().unwrap();
        folder.done(&["record", "a.case", "note after"]);
        let entries = folder.entries("a.case");
        let (last, before) = entries.split_last().unwrap();
        assert_eq!(last, "note after");
        assert!(before.len() >= answered);
        for (index, entry) in before.iter().enumerate() {
            assert_eq!(*entry, format!("note number {}", index + 1));
        }
    }
}

/// A disk that is full in the middle of a line: exit code 3, and the file is as it was.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_case_as_it_was() {
    let folder = Folder::with_case();
    let mut full = 0;
    for round in 0..12 {
        let before = folder.text("a.case");
        let line = format!(
            "trap '' XFSZ; ulimit -f 2; exec halfsplit record a.case note round {round} of some length"
        );
        let run = folder.shell(&line);
        if run.code == 0 {
            continue;
        }
        full += 1;
        assert_eq!((run.code, run.out.as_str()), (3, ""), "{run:?}");
        assert!(run.err.contains("cannot write a.case"), "{run:?}");
        assert_eq!(folder.text("a.case"), before);
    }
    assert!((1..12).contains(&full), "some fit, some do not: {full}");
    folder.done(&["record", "a.case", "note there is room again"]);
}

/// A single bit that turned over anywhere in a line is found, and nothing is changed.
#[test]
fn a_damaged_line_is_named() {
    let folder = with_entries();
    let whole = fs::read(folder.path("a.case")).unwrap();
    let starts: Vec<usize> = std::iter::once(0)
        .chain(
            (0..whole.len())
                .filter(|i| whole[*i] == b'\n')
                .map(|i| i + 1),
        )
        .collect();
    for line in [3, 7] {
        for at in starts[line - 1]..starts[line] - 1 {
            let mut damaged = whole.clone();
            damaged[at] ^= 0x01;
            fs::write(folder.path("a.case"), &damaged).unwrap();
            let run = folder.run(&["record", "a.case", "note z"]);
            assert_eq!(run.code, 3, "{at}: {run:?}");
            let says = format!("line {line} of a.case is damaged");
            assert!(run.err.contains(&says), "{at}: {run:?}");
            assert_eq!(fs::read(folder.path("a.case")).unwrap(), damaged);
        }
    }
    // A line that is missing, or there twice, is damage too.
    let text = String::from_utf8(whole).unwrap();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    for (order, line) in [(&[0, 1, 3][..], 3), (&[0, 1, 1][..], 3), (&[1, 2][..], 0)] {
        let text: String = order.iter().map(|i| lines[*i]).collect();
        fs::write(folder.path("a.case"), text).unwrap();
        let run = folder.run(&["next", "a.case"]);
        let says = match line {
            0 => "not a case file".to_owned(),
            _ => format!("line {line} of a.case is damaged"),
        };
        assert_eq!(run.code, 3, "{order:?}: {run:?}");
        assert!(run.err.contains(&says), "{order:?}: {run:?}");
    }
}

/// The way out that the message shows.
#[cfg(unix)]
#[test]
fn what_stands_before_a_damaged_line_can_be_saved() {
    let folder = with_entries();
    let text = folder.text("a.case");
    let damaged = text.replace("open bonnet box", "open bonnet fox");
    fs::write(folder.path("a.case"), damaged).unwrap();
    let run = folder.run(&["next", "a.case"]);
    let (_, line) = run.err.trim().rsplit_once("before it: ").unwrap();
    assert_eq!(folder.shell(&line.replace("NEW-FILE", "b.case")).code, 0);
    folder.done(&["record", "b.case", "note saved"]);
    assert_eq!(folder.entries("b.case").len(), 4);
}

/// A person may read the file and mend it in an editor.
#[test]
fn a_line_written_by_hand_is_taken() {
    let folder = with_entries();
    let text = folder.text("a.case");
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines[2] = "Entry(number: 2, text: \"told days 8\")".to_owned();
    lines.insert(2, "// it was eight".to_owned());
    lines.insert(1, String::new());
    for (end, last) in [("\n", "\n"), ("\r\n", "\r\n"), ("\n", "")] {
        let text = lines.join(end) + last;
        fs::write(folder.path("a.case"), format!("\u{feff}{text}")).unwrap();
        assert_eq!(
            folder.done(&["record", "a.case", "note z"]),
            "   7  note z\n"
        );
        assert_eq!(folder.entries("a.case").len(), 7);
    }
    // A hand-changed last line is not taken for one that was cut off.
    let text = text.replace("\"asleep\"", "\"awake\"");
    fs::write(folder.path("a.case"), text.trim_end()).unwrap();
    let run = folder.run(&["record", "a.case", "note z"]);
    assert_eq!(run.code, 3, "{run:?}");
    assert!(run.err.contains("takes `sum` out"), "{run:?}");
}
