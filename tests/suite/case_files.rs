//! A case on the disk, through the program itself: what was recorded stays, whatever breaks off.

use std::fs::{self, File};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// An invented vehicle, small enough that a step takes no time.
const VAN: &str = r#"Vehicle(
    format: 1,
    name: "Small van (invented)",
    limit: mA(50),
    settle: minutes(30),
    places: { "bonnet box": Place(reach: minutes(1)) },
    battery: Battery(id: "battery", at: "bonnet box", feeds: [
        Fuse(id: "F1", rating: A(10), style: Mini, at: "bonnet box", feeds: [
            Load(id: "radio", kind: Audio, plug: "C1", at: "bonnet box"),
        ]),
        Fuse(id: "F2", rating: A(10), style: Mini, at: "bonnet box"),
    ]),
)
"#;

/// A folder with a vehicle file `van.ron`; gone at the end.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        let folder = Self(tempfile::tempdir().unwrap());
        fs::write(folder.path("van.ron"), VAN).unwrap();
        folder
    }

    /// With a case `a.case` for it.
    fn with_case() -> Self {
        let folder = Self::new();
        folder.done(&["next", "a.case", "--vehicle", "van.ron"]);
        folder
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command
            .args(arguments)
            .current_dir(self.0.path())
            .env("COLUMNS", "80")
            .stdin(Stdio::null());
        command
    }

    fn run(&self, arguments: &[&str]) -> Run {
        Run::of(self.command(arguments).output().unwrap())
    }

    /// Runs it, expecting exit code 0; gives what it prints.
    fn done(&self, arguments: &[&str]) -> String {
        let run = self.run(arguments);
        assert_eq!(run.code, 0, "{arguments:?}: {run:?}");
        run.out
    }

    /// Runs it with these lines on standard input.
    fn piped(&self, arguments: &[&str], lines: &str) -> Run {
        let mut child = self.streaming(arguments);
        child
            .stdin
            .take()
            .unwrap()
            .write_all(lines.as_bytes())
            .unwrap();
        Run::of(child.wait_with_output().unwrap())
    }

    fn streaming(&self, arguments: &[&str]) -> Child {
        self.command(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    }

    /// Runs a line as a shell does, with the program on its path.
    #[cfg(unix)]
    fn shell(&self, line: &str) -> Run {
        let program = Path::new(env!("CARGO_BIN_EXE_halfsplit")).parent().unwrap();
        let others = std::env::var("PATH").unwrap_or_default();
        let mut shell = Command::new("sh");
        shell
            .args(["-c", line])
            .current_dir(self.0.path())
            .env("PATH", format!("{}:{others}", program.display()))
            .stdin(Stdio::null());
        Run::of(shell.output().unwrap())
    }

    /// The texts of the entries in a case file, read as the RON that each line is.
    fn entries(&self, name: &str) -> Vec<String> {
        let text = self.text(name);
        let lines = text.lines().filter(|line| line.starts_with("Entry("));
        let texts = lines.enumerate().map(|(index, line)| {
            let value: ron::Value = ron::from_str(line).unwrap();
            let value = serde_json::to_value(value).unwrap();
            assert_eq!(value["number"], index + 1, "{line}");
            // `2026-11-25T14:32`; a line written by hand may lack it.
            let at = value["at"].as_str().unwrap_or("0000-00-00T00:00");
            assert_eq!((at.len(), at.find('T')), (16, Some(10)), "{line}");
            value["text"].as_str().unwrap().to_owned()
        });
        texts.collect()
    }
}

/// What a run left behind.
#[derive(Debug)]
struct Run {
    code: i32,
    out: String,
    err: String,
}

impl Run {
    fn of(output: Output) -> Self {
        Self {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

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

#[test]
fn what_is_recorded_is_kept_a_line_each() {
    let folder = Folder::with_case();
    let printed = folder.done(&["record", "a.case", "prepared;", "asleep"]);
    assert_eq!(printed, "   1  prepared\n   2  asleep\n");
    let printed = folder.done(&["record", "a.case", "draw", "640mA"]);
    assert_eq!(printed, "   3  draw 640mA by series jack A\n");
    let before = folder.done(&["next", "a.case", "--json"]);
    folder.done(&["record", "a.case", "note wrong fuse"]);
    let printed = folder.done(&["undo", "a.case"]);
    assert_eq!(
        printed,
        "   5  undo\n      entry 4 no longer counts: note wrong fuse\n"
    );
    assert_eq!(
        folder.entries("a.case"),
        [
            "prepared",
            "asleep",
            "draw 640mA by series jack A",
            "note wrong fuse",
            "undo"
        ]
    );
    assert_eq!(folder.done(&["next", "a.case", "--json"]), before);
    // Every line, also the first, is RON by itself.
    for line in folder.text("a.case").lines() {
        ron::from_str::<ron::Value>(line).unwrap();
    }
}

#[test]
fn the_words_of_an_entry_need_no_quotes() {
    // what is typed behind `record a.case`, the entry that is kept
    let table: [(&[&str], &str); 6] = [
        (&["draw", "0,64", "A"], "draw 0.64A by series jack A"),
        (&["draw", "-640mA"], "draw -640mA by series jack A"),
        (&["--", "draw", "-640mA"], "draw -640mA by series jack A"),
        (&["drop F1", "2.1mV"], "drop F1 2.1mV"),
        (
            &["--vehicle", "van.ron", "note", "--json", "- and", "more"],
            "note --json - and more",
        ),
        (&["note", "-"], "note -"),
    ];
    for (words, kept) in table {
        let folder = Folder::with_case();
        folder.done(&[&["record", "a.case"], words].concat());
        assert_eq!(folder.entries("a.case"), [kept], "{words:?}");
    }
}

#[test]
fn lines_from_standard_input_are_taken_up_to_the_first_that_is_refused() {
    for arguments in [&["record", "a.case", "-"][..], &["record", "a.case"][..]] {
        let folder = Folder::with_case();
        let run = folder.piped(arguments, "prepared\n\nnote a; b\r\nasleep; note c");
        assert_eq!(run.code, 0, "{run:?}");
        let run = folder.piped(arguments, "note d\nhammer F1\nnote e\n");
        assert_eq!((run.code, run.out.as_str()), (1, "   5  note d\n"));
        assert!(run.err.contains("`hammer F1`"), "{run:?}");
        let entries = folder.entries("a.case");
        assert_eq!(
            entries,
            ["prepared", "note a; b", "asleep", "note c", "note d"]
        );
    }
}

#[test]
fn exit_codes() {
    let folder = Folder::with_case();
    fs::write(folder.path("bad.ron"), VAN.replace("A(10)", "10")).unwrap();
    fs::write(folder.path("text.case"), "Dear reader\n").unwrap();
    fs::write(folder.path("empty.case"), "").unwrap();
    let instruments = "Instruments(format: 1, meter: Meter(millivolts: Range(step: 0.1)))";
    fs::write(folder.path("bad-meter.ron"), instruments).unwrap();
    // arguments, exit code, a piece of what standard error says
    let table: [(&[&str], i32, &str); 22] = [
        (&["next", "a.case"], 0, ""),
        (&["record", "a.case", "prepared"], 0, ""),
        (&["undo", "a.case"], 0, ""),
        (&["undo", "a.case"], 1, "nothing to undo"),
        (
            &["record", "a.case", "hammer F1"],
            1,
            "this works: halfsplit record a.case",
        ),
        (&["record", "a.case", "withdraw 9 slipped"], 1, "no entry 9"),
        (
            &["record", "a.case"],
            2,
            "halfsplit record a.case draw 640mA",
        ),
        (
            &["record", "a.case", "-"],
            2,
            "halfsplit record a.case draw 640mA",
        ),
        (&["record"], 2, "<CASE>"),
        (&["next", "a.case", "--jsno"], 2, "--json"),
        (&["next", "b.case", "--vehicle", "-"], 2, "give their names"),
        (
            &["next", "no.case"],
            3,
            "halfsplit next no.case --vehicle VEHICLE",
        ),
        (
            &["record", "no.case", "asleep"],
            3,
            "there is no case no.case",
        ),
        (&["undo", "no.case"], 3, "there is no case no.case"),
        (&["next", "text.case"], 3, "not a case file"),
        (&["next", "empty.case"], 3, "not a case file"),
        (&["next", "van.ron"], 3, "not a case file"),
        (&["next", "."], 3, "cannot read ."),
        (
            &["next", "b.case", "--vehicle", "no.ron"],
            3,
            "cannot read no.ron",
        ),
        (
            &["next", "no/b.case", "--vehicle", "van.ron"],
            3,
            "cannot write no/b.case",
        ),
        (
            &["next", "b.case", "--vehicle", "bad.ron"],
            1,
            "halfsplit check bad.ron",
        ),
        (
            &[
                "next",
                "b.case",
                "--vehicle",
                "van.ron",
                "--instruments",
                "bad-meter.ron",
            ],
            1,
            "bad-meter.ron",
        ),
    ];
    for (arguments, code, piece) in table {
        let run = folder.run(arguments);
        assert_eq!(run.code, code, "{arguments:?}: {run:?}");
        assert!(run.err.contains(piece), "{arguments:?}: {run:?}");
        assert_eq!(code == 0, !run.out.is_empty(), "{arguments:?}: {run:?}");
    }
    assert!(!folder.path("b.case").exists());
}

/// Readings that cannot all be true, and a vehicle without a limit: negative answers of `next` alone.
#[test]
fn next_ends_with_one_where_nothing_can_be_decided() {
    let folder = Folder::with_case();
    // 640 mA at the battery; through one fuse of 7.5 mΩ more than 10 A at once.
    let clash = "prepared; asleep; draw 640mA; drop F1 99.9mV sure";
    folder.done(&["record", "a.case", clash]);
    let run = folder.run(&["next", "a.case", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!((&value["state"], run.code), (&"contradiction".into(), 1));

    let no_limit = VAN.replace("    limit: mA(50),\n", "");
    let no_limit = no_limit.replace("id: \"battery\",", "id: \"battery\", volts: V(24),");
    fs::write(folder.path("coach.ron"), no_limit).unwrap();
    folder.done(&["next", "b.case", "--vehicle", "coach.ron"]);
    folder.done(&["record", "b.case", "prepared; asleep; draw 640mA"]);
    let run = folder.run(&["next", "b.case", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!((&value["state"], run.code), (&"undecidable".into(), 1));
    // With and without --json alike.
    assert_eq!(folder.run(&["next", "b.case"]).code, 1);
}

#[test]
fn the_answer_alone_is_on_standard_output() {
    let folder = Folder::new();
    let opened = folder.run(&["next", "a.case", "--vehicle", "van.ron", "--json"]);
    assert!(opened.err.contains("opened a.case"), "{opened:?}");
    let value: serde_json::Value = serde_json::from_str(&opened.out).unwrap();
    assert_eq!(value["state"], "prepare");
    folder.done(&["record", "a.case", "prepared; asleep"]);
    // A questioned reading is kept.
    let asked = folder.run(&["record", "a.case", "draw 8A"]);
    assert_eq!(
        (asked.code, asked.out.as_str()),
        (0, "   3  draw 8A by series jack A\n")
    );
    assert!(asked.err.contains("awake"), "{asked:?}");
}

/// What an error tells a person to type does the job, also where names need quotes.
#[cfg(unix)]
#[test]
fn the_lines_that_errors_show_work() {
    let folder = Folder::new();
    let case = "Tom's van; blue.case";
    let missing = folder.run(&["next", case]);
    let (_, line) = missing.err.trim().rsplit_once("opens one: ").unwrap();
    let opened = folder.shell(&line.replace("VEHICLE", "van.ron"));
    assert_eq!(opened.code, 0, "{line}: {opened:?}");
    for wrong in [
        "hammer F1",
        "drop F3 2.1mV",
        "drop F1 > 400",
        "pull",
        "drop F1 2,1",
        "",
    ] {
        let refused = folder.run(&["record", case, wrong]);
        let (_, line) = refused
            .err
            .trim()
            .rsplit_once('\n')
            .unwrap_or(("", &refused.err));
        let (_, line) = line.split_once(": halfsplit ").unwrap();
        let taken = folder.shell(&format!("halfsplit {line}"));
        assert_eq!(taken.code, 0, "{wrong}: {line}: {taken:?}");
    }
}

#[test]
fn each_command_shows_an_example() {
    for command in ["next", "record", "undo"] {
        let help = Folder::new().done(&[command, "--help"]);
        let example = help.lines().find(|l| l.trim().starts_with("halfsplit "));
        assert!(example.is_some(), "{help}");
    }
}

#[test]
fn a_closed_pipe_ends_quietly_and_the_entry_is_kept() {
    let folder = Folder::with_case();
    for arguments in [&["next", "a.case"][..], &["record", "a.case", "note a"][..]] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let mut command = folder.command(arguments);
        command.stdout(writer).stderr(Stdio::piped());
        let child = command.spawn().unwrap();
        let run = Run::of(child.wait_with_output().unwrap());
        assert_eq!((run.code, run.err.as_str()), (0, ""));
    }
    assert_eq!(folder.entries("a.case"), ["note a"]);
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

#[test]
fn a_missing_vehicle_file_is_asked_for_and_its_new_place_remembered() {
    let folder = Folder::with_case();
    fs::create_dir(folder.path("sheets")).unwrap();
    fs::rename(folder.path("van.ron"), folder.path("sheets/v.ron")).unwrap();
    for arguments in [
        &["next", "a.case"][..],
        &["record", "a.case", "prepared"][..],
    ] {
        let run = folder.run(arguments);
        assert_eq!((run.code, run.out.as_str()), (3, ""));
        assert!(run.err.contains("--vehicle FILE"), "{run:?}");
    }
    // Looking remembers nothing, recording does.
    folder.done(&["next", "a.case", "--vehicle", "sheets/v.ron"]);
    assert_eq!(folder.run(&["next", "a.case"]).code, 3);
    folder.done(&["record", "a.case", "--vehicle", "sheets/v.ron", "prepared"]);
    folder.done(&["next", "a.case"]);
    assert_eq!(folder.entries("a.case"), ["prepared"]);
}

#[test]
fn a_case_moves_with_its_vehicle_file() {
    let folder = Folder::new();
    for name in ["jobs", "jobs/today"] {
        fs::create_dir(folder.path(name)).unwrap();
    }
    fs::rename(folder.path("van.ron"), folder.path("jobs/van.ron")).unwrap();
    folder.done(&["next", "jobs/today/a.case", "--vehicle", "jobs/van.ron"]);
    assert!(folder.text("jobs/today/a.case").contains("\"../van.ron\""));
    fs::rename(folder.path("jobs"), folder.path("old jobs")).unwrap();
    folder.done(&["record", "old jobs/today/a.case", "prepared"]);
    #[cfg(unix)]
    {
        // From anywhere, and through a link.
        let case = folder.path("old jobs/today/a.case");
        std::os::unix::fs::symlink(&case, folder.path("link.case")).unwrap();
        folder.done(&["record", "link.case", "asleep"]);
        folder.done(&["record", case.to_str().unwrap(), "note whole path"]);
    }
    let text = folder.text("old jobs/today/a.case");
    assert!(!text.contains("Files("), "nothing has changed: {text}");
}

#[test]
fn instruments_are_kept_with_the_case() {
    let folder = Folder::new();
    let meter = "meter: Meter(millivolts: Range(step: mV(0.1), percent: 0.5, counts: 2))";
    let clamp = "clamp: Clamp(step: mA(1), percent: 2, counts: 5)";
    let text = format!("Instruments(format: 1, {meter}, {clamp})");
    fs::write(folder.path("mine.ron"), text).unwrap();
    let open = [
        "next",
        "a.case",
        "--vehicle",
        "van.ron",
        "--instruments",
        "mine.ron",
    ];
    folder.done(&open);
    folder.done(&["record", "a.case", "prepared; asleep; draw 640mA"]);
    assert_eq!(folder.entries("a.case")[2], "draw 640mA by clamp");
    fs::remove_file(folder.path("mine.ron")).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!(run.code, 3);
    assert!(run.err.contains("--instruments FILE"), "{run:?}");
    // A case opened without may get them later.
    folder.done(&["next", "b.case", "--vehicle", "van.ron"]);
    fs::write(
        folder.path("new.ron"),
        format!("Instruments(format: 1, {clamp})"),
    )
    .unwrap();
    folder.done(&[
        "record",
        "b.case",
        "--instruments",
        "new.ron",
        "prepared; asleep; draw 1A",
    ]);
    assert_eq!(folder.entries("b.case")[2], "draw 1A by clamp");
    folder.done(&["record", "b.case", "draw 1A"]);
    assert_eq!(folder.text("b.case").matches("new.ron").count(), 1);
}

#[test]
fn the_vehicle_file_may_grow_in_the_middle_of_a_case() {
    let folder = Folder::with_case();
    folder.done(&[
        "record",
        "a.case",
        "prepared; asleep; draw 640mA; drop F2 2.1mV",
    ]);
    let load = "at: \"bonnet box\", feeds: [Load(id: \"dash camera\")]),\n    ]),";
    let grown = VAN.replace("at: \"bonnet box\"),\n    ]),", load);
    assert!(grown.contains("dash camera"));
    fs::write(folder.path("van.ron"), &grown).unwrap();
    let run = folder.run(&["record", "a.case", "look dash camera dark"]);
    assert_eq!(
        (run.code, run.out.as_str()),
        (0, "   5  look dash camera dark\n")
    );
    assert!(run.err.contains("van.ron has changed"), "{run:?}");
    // It is said once.
    let run = folder.run(&["record", "a.case", "note more"]);
    assert_eq!(run.err, "");
    // A name that entries use may not go: nothing is guessed.
    fs::write(folder.path("van.ron"), VAN).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!((run.code, run.out.as_str()), (1, ""));
    assert!(
        run.err
            .contains("entry 5 of a.case, `look dash camera dark`"),
        "{run:?}"
    );
    assert!(run.err.contains("van.ron"), "{run:?}");
    fs::write(folder.path("van.ron"), grown).unwrap();
    folder.done(&["next", "a.case"]);
}

#[test]
fn another_vehicle_is_asked_about() {
    let folder = Folder::with_case();
    folder.done(&["record", "a.case", "prepared"]);
    fs::write(folder.path("van.ron"), VAN.replace("Small", "Large")).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!(run.code, 0);
    assert!(run.err.contains("is it the same vehicle?"), "{run:?}");
}

/// Nothing that a file contains acts on the terminal.
#[test]
fn nothing_hostile_reaches_the_terminal() {
    let folder = Folder::with_case();
    folder.done(&["record", "a.case", "note plain"]);
    let text = folder.text("a.case");
    let hostile = "Entry(number: 2, text: \"drop \\u{1b}[31mF9\\u{202e} 2.1mV\")\n";
    fs::write(folder.path("a.case"), text + hostile).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!(run.code, 1, "{run:?}");
    let acts = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
    assert!(!run.err.contains(acts), "{run:?}");
}
