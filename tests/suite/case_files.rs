//! A case on the disk, through the program itself: what was recorded stays, whatever breaks off.

mod broken_off;
mod resting_on;
mod together;

use std::fs;
use std::io::Write;
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
            "halfsplit record a.case draw 0.64A",
        ),
        (
            &["record", "a.case", "-"],
            2,
            "halfsplit record a.case draw 0.64A",
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

/// Readings that cannot all be true, and a small draw of a vehicle without a limit: negative answers of `next` alone.
/// A large one is searched, and the limit asked for.
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
    assert_eq!((&value["state"], run.code), (&"measure".into(), 0));
    assert!(value["questions"].to_string().contains("No limit is known"));
    folder.done(&["record", "b.case", "undo; draw 21.0mA jack mA"]);
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
        let (_, line) = line.split_once(" halfsplit ").unwrap();
        let line = line.replace(
            "READING",
            if line.contains("draw") {
                "0.64A"
            } else {
                "2.1mV"
            },
        );
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
