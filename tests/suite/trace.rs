//! The dialogue at the vehicle through a pipe: whole sessions, slips, and runs that break off.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// A folder with the sample vehicles and instruments; gone at the end.
pub(crate) struct Bench(tempfile::TempDir);

impl Bench {
    pub(crate) fn new() -> Self {
        let bench = Self(tempfile::tempdir().unwrap());
        let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles");
        let instruments = fs::read_dir(samples.join("instruments")).unwrap();
        for file in fs::read_dir(samples).unwrap().chain(instruments) {
            let file = file.unwrap().path();
            if file.is_file() {
                fs::copy(
                    &file,
                    bench.path(file.file_name().unwrap().to_str().unwrap()),
                )
                .unwrap();
            }
        }
        bench
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub(crate) fn start(&self, arguments: &[&str], columns: usize, dumb: bool) -> Child {
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command
            .arg("trace")
            .args(arguments)
            .current_dir(self.0.path())
            .env("COLUMNS", columns.to_string())
            .env("NO_COLOR", "1")
            .env("TERM", if dumb { "dumb" } else { "xterm" })
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        command.spawn().unwrap()
    }

    pub(crate) fn piped(&self, arguments: &[&str], lines: &str, columns: usize) -> Run {
        Run::of(self.start(arguments, columns, false), lines)
    }

    /// On a fresh case of the sample van, 80 columns wide.
    pub(crate) fn van(&self, lines: &str) -> Run {
        let _ = fs::remove_file(self.path("van.case"));
        self.piped(&["quarto-van.ron", "--case", "van.case"], lines, 80)
    }

    /// The texts of the entries in a case file.
    pub(crate) fn entries(&self, name: &str) -> Vec<String> {
        let text = fs::read_to_string(self.path(name)).unwrap();
        let lines = text.lines().filter(|line| line.starts_with("Entry("));
        let texts = lines.map(|line| {
            let value: ron::Value = ron::from_str(line).unwrap();
            let value = serde_json::to_value(value).unwrap();
            value["text"].as_str().unwrap().to_owned()
        });
        texts.collect()
    }
}

/// What a run left behind.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Run {
    pub(crate) fn of(mut child: Child, lines: &str) -> Self {
        let mut input = child.stdin.take().unwrap();
        let lines = lines.to_owned();
        let typing = std::thread::spawn(move || {
            // The run may end before all was typed.
            let _ = input.write_all(lines.as_bytes());
        });
        let output: Output = child.wait_with_output().unwrap();
        typing.join().unwrap();
        Self {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// All that was said, as if on one line.
    pub(crate) fn flat(&self) -> String {
        flat(&self.out)
    }

    /// The headings of the screens, in order.
    pub(crate) fn headings(&self) -> Vec<&str> {
        let heads = self.out.lines().filter_map(|l| l.strip_prefix("── "));
        heads.filter_map(|l| l.split(" ─ ").next()).collect()
    }

    /// What stands between the last screen but `back` and the next.
    pub(crate) fn screen(&self, back: usize) -> &str {
        let screens: Vec<&str> = self.out.split("\n── ").collect();
        screens[screens.len() - 1 - back]
    }
}

/// A text without its line breaks and indents.
pub(crate) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A person with a plain meter, from nothing to a drain proven: the cargo lamp stays lit.
const SESSION: &str = "\
prepared
asleep
draw 640mA
2.3mV
lit
0.64A
done
asleep
0.03A
31.2mA
done
asleep
0.64A
done
";

/// The repair, and that it holds.
const REPAIR: &str = "\
repaired C114 lamp switch adjusted
done
prepared
asleep
0.03A
31.0mA
30.8mA
";

/// A script that sends lines is told by the exit code that one was refused; one that only asks is not.
#[test]
fn a_refused_line_shows_in_the_exit_code() {
    let bench = Bench::new();
    assert_eq!(bench.van("prepared\nasleep\ndrop F3\nquit\n").code, Some(0));
    let run = bench.van("prepared\ndrop F99 1.0mV\nasleep\nquit\n");
    assert_eq!(run.code, Some(1));
    assert_eq!(bench.entries("van.case"), ["prepared", "asleep"]);
}

#[test]
fn a_whole_session_is_looked_at() {
    for columns in [60, 100] {
        let bench = Bench::new();
        let run = bench.piped(&["quarto-van.ron"], &format!("{SESSION}{REPAIR}"), columns);
        assert_eq!((run.code, run.err.as_str()), (Some(0), ""), "{run:?}");
        insta::assert_snapshot!(format!("session_{columns}"), run.out);
    }
}

#[test]
fn the_drain_is_proven_and_still_out_at_the_end() {
    let bench = Bench::new();
    let run = bench.piped(&["quarto-van.ron"], SESSION, 80);
    assert_eq!(run.headings().last(), Some(&"PROVEN"), "{}", run.out);
    let end = run.screen(0);
    for said in [
        "cargo lamp",
        "still out C114",
        "STILL OUT unplugged: C114",
        "TO MEND cargo lamp: proven, and not mended yet by what was entered. Once it is: repaired C114",
        "bridge lead off",
        "latches and switches turned by hand free again",
        "go on halfsplit trace quarto-van.ron",
    ] {
        assert!(flat(end).contains(said), "{said}: {end}");
    }
}

/// What is taken out unasked has the cautions that it would have had if it had been asked for; and nobody is
/// sent behind the trim before anything was read.
#[test]
fn what_is_done_unasked_has_its_cautions() {
    let bench = Bench::new();
    let run = bench.piped(
        &["quarto-van.ron"],
        "prepared\nasleep\n0.64A\npull F7\nrefit F7\nasleep\nunplug C201\n",
        80,
    );
    let out = flat(&run.out);
    assert!(
        out.contains("pull F7 CAUTION What F7 feeds is not entered: find that out first"),
        "{out}"
    );
    assert!(out.contains("Panels or trim on the way: "), "{out}");
    let before = run.out.split("draw 0.64A").next().unwrap();
    assert!(!before.contains("behind dash"), "{before}");
    assert!(
        flat(before)
            .contains("nothing more opened that wakes it: bonnet box (1.5 min), roof (4 min)."),
        "{before}"
    );
}

/// Every slip is answered with what is wrong and a line that works, changes nothing, and ends
/// nothing; the line that works does.
#[test]
fn a_slip_costs_nothing() {
    let before = "prepared\nasleep\ndraw 640mA\n";
    let table = [
        ("23", "needs its unit", "drop F3 23mV"),
        ("0mV", "decimals", "drop F3 0.0mV"),
        ("640mA", "read in mV or V", "draw 640mA by series"), // no clamp is at hand
        ("2.1mA", "read in mV or V", "drop F3 2.1mV"),
        (
            "drop F33 2.3mV",
            "nothing in this vehicle's file",
            "drop F3 2.3mV",
        ),
        ("drp F3 2.3mV", "no entry starts with", "drop F3 2.3mV"),
        ("draw 640mA by clamp", "no clamp", "draw 640mA by series"),
        (
            "drw 640mA by clamp",
            "no entry starts with",
            "draw 640mA by series",
        ),
        (
            "drop F3 0.0mV, F9 0.0mV and F7 0.1mV",
            "`F9 0.0mV, F7 0.1mV` does not belong here",
            "drop F3 0.0mV; drop F9 0.0mV; drop F7 0.1mV",
        ),
        (
            "drop F3, F9 0,0mV",
            "does not belong here",
            "drop F3 0,0mV; drop F9 0,0mV",
        ),
        (
            "asleep; drop F3 0.0mV F9 0.1 mV",
            "does not belong here",
            "asleep; drop F3 0.0mV; drop F9 0.1 mV",
        ),
        ("done", "", ""),
        ("refit", "nothing is out", "asleep"),
        ("refit F3", "nothing is out", "asleep"),
        ("refit all", "nothing is out", "asleep"),
        (
            "withdraw 9 probe slipped",
            "no entry 9",
            "withdraw 3 probe slipped",
        ),
        ("why F33", "called F33", "why F3"),
        ("\u{1b}[A", "", ""),
    ];
    for (slip, wrong, works) in table {
        let bench = Bench::new();
        let run = bench.van(&format!("{before}{slip}\n"));
        // An entry that is refused shows in the exit code; a question about nothing does not.
        let asked = slip.starts_with("why") || slip.is_empty() || slip.starts_with('\u{1b}');
        assert!(
            run.code == Some(1) || asked && run.code == Some(0),
            "{run:?}"
        );
        assert_eq!(run.err, "", "{run:?}");
        let said = run.screen(0);
        let refusal = said
            .split("not taken ")
            .nth(1)
            .unwrap_or_else(|| panic!("{slip}: {said}"));
        assert!(flat(refusal).contains(wrong), "{slip}: {refusal}");
        let line = |said: &str| {
            let line = refusal.split(said).nth(1)?.lines().next()?;
            Some(line.to_owned())
        };
        // No reading is invented: where none was typed the line has a word in its place.
        let shape = line("type it as ").map(|shape| shape.replace("READING", "2.3mV"));
        let shown = shape.or_else(|| line("this works: ")).unwrap();
        if !works.is_empty() {
            assert_eq!(shown, works, "{slip}");
        }
        assert_eq!(bench.entries("van.case").len(), 3, "{slip}");
        let mended = bench.van(&format!("{before}{slip}\n{shown}\n"));
        assert_eq!(
            mended.out.matches("not taken").count(),
            1,
            "{slip}: {shown}"
        );
    }
}

#[test]
fn undo_goes_back_to_the_step_before() {
    let bench = Bench::new();
    let step = bench.van("prepared\nasleep\ndraw 640mA\n");
    let back = bench.van("prepared\nasleep\ndraw 640mA\n2.3mV\nundo\n");
    let above_the_end = |step: &str| step.split("\nkept ").next().unwrap().to_owned();
    assert_eq!(above_the_end(back.screen(0)), above_the_end(step.screen(0)));
    assert!(back.out.contains("entry 4 no longer counts: drop F3 2.3mV"));
    let list = bench.piped(&["van.case"], "list\n", 80);
    assert!(
        list.out
            .contains("4         drop F3 2.3mV  (does not count)\n"),
        "{}",
        list.out
    );
}

/// How an instrument is set up is said once, then what is another; an empty line says all of it again.
#[test]
fn a_set_up_is_said_once() {
    let bench = Bench::new();
    let before = "prepared\nasleep\ndraw 0.64A\ndrop F9 0.0mV\n";
    let run = bench.van(before);
    let step = run.screen(0);
    assert!(
        step.contains("with      meter, as before; 0.1 mV is"),
        "{step}"
    );
    assert!(!step.contains("first "), "{step}");
    assert!(!step.contains("CAUTION "), "{step}");
    let again = bench.van(&format!("{before}\n"));
    let step = again.screen(0);
    assert!(step.contains("red lead in the V jack"), "{step}");
    assert!(
        step.contains("Zero the leads: probe tips together, take off"),
        "{step}"
    );
    // The red lead went back to V, so the jack is said each time.
    let run = bench.van(&format!("{before}draw 0.64A\n"));
    assert!(
        run.screen(0).contains("red lead in the V jack"),
        "{}",
        run.out
    );
}

/// A repair that was not watched, or not read at all, is not called done: neither on the screen nor in
/// the write-up.
#[test]
fn a_repair_that_was_not_verified_is_not_called_done() {
    let table = [
        (
            "0.03A\n31.0mA\nskip draw no time\n",
            "was within the limit once",
        ),
        (
            "skip draw no time\n",
            "the draw was not read after the repair",
        ),
    ];
    for (after, said) in table {
        let bench = Bench::new();
        let run = bench.piped(
            &["quarto-van.ron"],
            &format!("{SESSION}repaired C114 switch adjusted\ndone\nprepared\nasleep\n{after}"),
            80,
        );
        let end = flat(run.screen(0));
        for words in ["NOT VERIFIED", said, "with the repair not verified"] {
            assert!(end.contains(words), "{words}: {end}");
        }
        assert!(!end.contains("Case done"), "{end}");
        let mut report = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        report.args(["report", "quarto-van.case"]);
        let report = report.current_dir(bench.0.path()).output().unwrap();
        let report = String::from_utf8(report.stdout).unwrap();
        assert!(
            report.contains("the repair is not verified")
                || report.contains("The repair is not verified"),
            "{report}"
        );
        assert!(report.contains("**not** verified"), "{report}");
    }
}

/// The battery's volts are taken with and without their unit, and kept with it.
#[test]
fn the_battery_at_rest_needs_no_unit() {
    let table = [
        ("told volts 12.4", "told volts 12.4V"),
        ("told volts 12,4 V at rest", "told volts 12,4 V at rest"),
        ("told volts 12400mV", "told volts 12.4V"),
        ("told 12.4V", "told volts 12.4V"),
        ("told battery 12.4v", "told volts 12.4v"),
        ("told battery old", "told battery old"),
        ("told 12 lamps added", "told 12 lamps added"),
    ];
    for (typed, kept) in table {
        let bench = Bench::new();
        bench.van(&format!("{typed}\n"));
        assert_eq!(bench.entries("van.case"), [kept], "{typed}");
    }
    let refused = Bench::new().van("told volts 124\n");
    assert!(
        refused.out.contains("this works: told volts 12.6V"),
        "{}",
        refused.out
    );
}

/// Looking round says something and changes nothing.
#[test]
fn words_that_only_show_change_nothing() {
    let bench = Bench::new();
    let before = "prepared\nasleep\ndraw 640mA\n";
    let table = [
        ("help", "help reading"),
        ("help wrong", "withdraw 7 probe slipped"),
        ("? withdraw", "withdraw 7 probe slipped"),
        ("help jack", "help reading"),
        ("why", "body feed 1"),
        ("why F3", "F3: not ruled out"),
        ("tree", "cargo lamp  lamp"),
        ("list", "3         draw 640mA by series jack A"),
        ("", "── SPLIT"),
        ("next", "── SPLIT"),
    ];
    for (word, shows) in table {
        let plain = bench.van(before);
        let run = bench.van(&format!("{before}{word}\n"));
        let said = &run.out[plain.out.find("\nkept ").unwrap() - 1..];
        assert!(said.contains(shows), "{word}: {said}");
        assert_eq!(bench.entries("van.case").len(), 3, "{word}");
    }
}

/// After a repair that holds the days told are of before it: the draw of now is no reason to suspect the battery.
#[test]
fn the_battery_is_not_blamed_after_a_repair() {
    let lines = "told days 5\nprepared; asleep\ndraw 0.64A; drop F3 2.3mV; look cargo lamp yes; draw 0.64A\n\
        unplug C114; asleep; draw 5.0mA jack mA\nrefit C114; asleep; draw 0.64A\n";
    let mended = "repaired C114 new switch\nprepared; asleep\ndraw 20.0mA jack mA\n";
    let bench = Bench::new();
    for (typed, repaired) in [
        (format!("{lines}intake\n"), false),
        (format!("{lines}{mended}intake\n"), true),
    ] {
        let run = bench.van(&typed);
        let said = flat(&run.out);
        assert!(!said.contains("not taken"), "{said}");
        assert!(said.contains("Flat after 5 days"), "{said}");
        assert!(!said.contains("its charging is at fault"), "{said}");
        for head in ["Before the repair:", "Now:", "The draw is within the limit"] {
            assert_eq!(said.contains(head), repaired, "{head}: {said}");
        }
    }
}

/// A test of the person's own choice is taken at any time, and `skip` brings another one.
#[test]
fn the_person_chooses() {
    let bench = Bench::new();
    let run = bench.van("prepared\nasleep\ndraw 640mA\ndrop F9 0.0mV\nskip no access\n");
    let entries = bench.entries("van.case");
    assert_eq!(entries[3..], ["drop F9 0.0mV", "skip drop F3 no access"]);
    assert!(!run.screen(0).contains("drop across F3"), "{}", run.out);
}

/// After the meter was in the circuit the red lead goes back to V, and a clamp needs no such words.
#[test]
fn the_red_lead_goes_back() {
    let bench = Bench::new();
    let words = "red lead back to V";
    let after = |run: &Run| run.screen(1).split("   3  draw").nth(1).map(str::to_owned);
    let run = bench.van("prepared\nasleep\n0.64A\n");
    assert!(after(&run).unwrap().contains(words), "{}", run.out);
    let run = bench.piped(
        &["quarto-van.ron", "--instruments", "meter-and-clamp.ron"],
        "prepared\nasleep\n640mA\n",
        80,
    );
    assert!(!after(&run).unwrap().contains(words), "{}", run.out);
}

/// Questions are shown once, with the entry that raised them.
#[test]
fn a_doubtful_draw_is_asked_about() {
    let bench = Bench::new();
    let run = bench.van("prepared\nasleep\ndraw 4mA\n");
    assert_eq!(
        run.flat().matches("bridge lead still on?").count(),
        1,
        "{}",
        run.out
    );
    assert_eq!(run.headings().last(), Some(&"SETTLED DRAW"));
    // Gone on with, it is asked again.
    let again = bench.piped(&["van.case"], "", 80);
    assert!(
        again.flat().contains("bridge lead still on?"),
        "{}",
        again.out
    );
}

/// Readings that cannot all be true: which, and how to go on; exit code 1.
#[test]
fn readings_that_clash_are_named() {
    let bench = Bench::new();
    let run = bench.van("prepared\nasleep\ndraw 100mA\ndrop F3 9.0mV\n");
    assert_eq!(run.code, Some(1), "{}", run.out);
    assert_eq!(run.headings().last(), Some(&"READINGS CLASH"));
    let end = run.screen(0);
    for said in ["3: draw 100mA", "4: drop F3 9.0mV", "withdraw 4 and why"] {
        assert!(end.contains(said), "{said}: {end}");
    }
    let mended = bench.piped(&["van.case"], "withdraw 4 probe slipped\n", 80);
    assert_eq!(mended.code, Some(0), "{}", mended.out);
}

/// The case file is named at once, and gone on with where there is one.
#[test]
fn a_case_is_gone_on_with() {
    let bench = Bench::new();
    let first = bench.piped(&["quarto-van.ron"], "prepared\nasleep\n", 80);
    assert!(first.out.contains("case      quarto-van.case, new\n"));
    for arguments in [&["quarto-van.ron"], &["quarto-van.case"]] {
        let run = bench.piped(arguments, "", 80);
        let opening = "case      quarto-van.case, going on after 2 entries\n";
        assert!(run.out.contains(opening), "{}", run.out);
        assert_eq!(run.headings(), ["SETTLED DRAW"]);
    }
    // What was entered by another command counts too.
    let mut record = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    record.args(["record", "quarto-van.case", "draw 640mA"]);
    let done = record.current_dir(bench.0.path()).output().unwrap();
    assert!(done.status.success(), "{done:?}");
    assert_eq!(
        bench.piped(&["quarto-van.ron"], "", 80).headings(),
        ["SPLIT"]
    );
}

/// Killed between two lines: what was answered is there, and the next run goes on from it.
#[test]
fn killed_no_reading_is_lost() {
    let typed: Vec<&str> = SESSION.lines().collect();
    for answered in [1, 3, 6, 9] {
        let bench = Bench::new();
        let mut child = bench.start(&["quarto-van.ron"], 80, false);
        let mut input = child.stdin.take().unwrap();
        let mut output = BufReader::new(child.stdout.take().unwrap()).lines();
        for (number, line) in typed.iter().take(answered).enumerate() {
            writeln!(input, "{line}").unwrap();
            let kept = format!("{:>4}  ", number + 1);
            // The entry is shown once it is on the disk.
            output
                .find(|line| line.as_ref().unwrap().starts_with(&kept))
                .unwrap()
                .unwrap();
        }
        child.kill().unwrap();
        child.wait().unwrap();
        assert_eq!(bench.entries("quarto-van.case").len(), answered);
        let rest = typed[answered..].join("\n");
        let run = bench.piped(&["quarto-van.ron"], &rest, 80);
        assert_eq!(run.headings().last(), Some(&"PROVEN"), "{}", run.out);
    }
}

/// While one run talks about a case, another may not change it.
#[test]
fn one_run_at_a_time() {
    let bench = Bench::new();
    let mut first = bench.start(&["quarto-van.ron"], 80, false);
    let mut output = BufReader::new(first.stdout.take().unwrap()).lines();
    output
        .find(|line| line.as_ref().unwrap().starts_with("type "))
        .unwrap()
        .unwrap();
    let second = bench.piped(&["quarto-van.ron"], "prepared\n", 80);
    assert_eq!(second.code, Some(4), "{second:?}");
    drop(first.stdin.take());
    first.wait().unwrap();
}

/// A reader that goes away ends the run quietly; what was typed before is kept.
#[test]
fn a_closed_pipe_ends_it_quietly() {
    let bench = Bench::new();
    let mut child = bench.start(&["quarto-van.ron"], 80, false);
    drop(child.stdout.take());
    let run = Run::of(child, "prepared\nasleep\n");
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""), "{run:?}");
}

/// The two steps that the README shows are what the program prints, but for what is typed.
#[test]
fn the_readme_shows_it_as_it_is() {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = fs::read_to_string(readme).unwrap();
    let block = readme.split("```text\n").nth(1).unwrap();
    let block = block.split("```").next().unwrap();
    let (typed, shown): (Vec<&str>, Vec<&str>) = block
        .lines()
        .partition(|line| line.contains("> ") && !line.contains(" > "));
    let answers: Vec<&str> = typed.iter().filter_map(|l| l.split("> ").nth(1)).collect();
    assert_eq!(answers.len(), 2, "{typed:?}");
    let lines = format!("prepared\nasleep\n{}\n", answers.join("\n"));
    let run = Bench::new().van(&lines);
    assert!(
        run.out.contains(&shown.join("\n")),
        "{}\n---\n{}",
        shown.join("\n"),
        run.out
    );
}
