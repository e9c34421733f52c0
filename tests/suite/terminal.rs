//! The dialogue at a real terminal: a person types at the prompt, breaks off, and goes on.

use crate::sessions::STORIES;
use crate::trace::{Bench, flat};
use rexpect::session::{PtySession, spawn_command};
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::Command;

/// Longer than any plan takes, so that only a dialogue that hangs fails by it.
const PATIENCE: u64 = 120_000;

/// What a terminal shows, and how.
#[derive(Clone, Copy)]
struct Window {
    columns: usize,
    rows: usize,
    dumb: bool,
    colour: bool,
}

/// A dialogue on a terminal of its own, with all that was shown so far.
struct Terminal {
    session: PtySession,
    shown: String,
}

impl Terminal {
    fn open(bench: &Bench, arguments: &[&str], columns: usize, dumb: bool) -> Self {
        let window = Window {
            columns,
            rows: 1_000,
            dumb,
            colour: false,
        };
        Self::open_in(bench, arguments, window)
    }

    fn open_in(bench: &Bench, arguments: &[&str], window: Window) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command
            .arg("trace")
            .args(arguments)
            .current_dir(bench.path("."))
            .env("COLUMNS", window.columns.to_string())
            .env("LINES", window.rows.to_string())
            .env("TERM", if window.dumb { "dumb" } else { "xterm" });
        if window.colour {
            command.env_remove("NO_COLOR");
        } else {
            command.env("NO_COLOR", "1");
        }
        Self {
            session: spawn_command(command, Some(PATIENCE)).unwrap(),
            shown: String::new(),
        }
    }

    /// Waits until this is shown.
    fn until(&mut self, text: &str) {
        let before = self.session.exp_string(text);
        let before = before.unwrap_or_else(|e| panic!("{text:?}: {e}\n{}", self.shown));
        self.shown = format!("{}{before}{text}", self.shown);
    }

    /// Types a line and waits until its entry is shown as kept, under this number.
    fn enter(&mut self, line: &str, number: usize) {
        self.session.send_line(line).unwrap();
        self.until(&format!("{number:>4}  "));
    }

    /// Breaks it off, and gives what was shown till then.
    fn broken_off(mut self, by: Break) -> String {
        match by {
            Break::Interrupt => self.session.send_control('c').unwrap(),
            Break::Kill => {
                let process = self.session.process_mut();
                process.kill(rexpect::process::Signal::SIGKILL).unwrap();
            }
        }
        self.session.exp_eof().unwrap();
        said(&self.shown)
    }

    /// Types the last line, and gives all that was shown.
    fn closed(mut self, line: &str) -> String {
        self.session.send_line(line).unwrap();
        let rest = self.session.exp_eof().unwrap();
        said(&format!("{}{rest}", self.shown))
    }
}

/// What was shown, without the prompts; what was typed is not echoed, so an answer stands behind its
/// prompt.
fn said(shown: &str) -> String {
    // The session hands on each byte as a character.
    let bytes = shown.chars().map(|c| u8::try_from(c).unwrap()).collect();
    let text = String::from_utf8(bytes).unwrap().replace('\r', "");
    let lines = text.lines().map(|line| match line.split_once("> ") {
        // A way in the tree has spaces on both sides of it.
        Some((prompt, answer)) if !prompt.ends_with(' ') => answer,
        _ => line,
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// As if on one line, without what only a terminal shows: times of day, and that no settle takes a second;
/// and without what only a run that was not broken off knows: how near the end looked before, and what was
/// told of branches that are up together.
fn timeless(text: &str) -> String {
    let mut text = flat(text);
    let passing = [
        (
            " early asleep after less than a minute;",
            &["says nothing."][..],
        ),
        (
            " longer It will likely",
            &[
                "has become unlikely.",
                "with its settles).",
                "ruled out little.",
            ],
        ),
        (" longer One drain", &["more is to go."]),
        (
            " together ",
            &["or held by something else.", ": still up together."],
        ),
    ];
    for (begin, ends) in passing {
        while let Some(from) = text.find(begin) {
            let ends = ends.iter();
            let until = ends.filter_map(|end| Some(text[from..].find(end)? + end.len()));
            let until = from + until.min().unwrap();
            text.replace_range(from..until, "");
        }
    }
    let mut pieces = text.split(", until ");
    let mut out = pieces.next().unwrap().to_owned();
    for piece in pieces {
        out.push_str(piece.get("00:00".len()..).unwrap());
    }
    out
}

#[derive(Clone, Copy)]
enum Break {
    Interrupt,
    Kill,
}

/// On every sample vehicle: half way to the proof, then Ctrl-C or a kill, then on to the proof. What a
/// terminal shows is what a pipe gets, but for the prompts and the time of day.
#[test]
fn broken_off_at_the_prompt_and_gone_on_with() {
    for (at, story) in STORIES.iter().enumerate() {
        let (bench, name) = (Bench::new(), story.name());
        let (columns, dumb) = ([60, 100][at % 2], at % 3 == 2);
        let typed = story.typed();
        let piped = timeless(&story.played(&typed, columns, dumb).out);
        let lines: Vec<&str> = typed.lines().collect();
        let (first, rest) = lines.split_at(lines.len() / 2);
        let arguments = story.arguments();

        let mut terminal = Terminal::open(&bench, &arguments, columns, dumb);
        terminal.until("prepared> ");
        for (number, line) in first.iter().enumerate() {
            terminal.enter(line, number + 1);
        }
        let shown = terminal.broken_off([Break::Kill, Break::Interrupt][at % 2]);
        assert!(shown.contains("early"), "{name}: {shown}");
        let shown = timeless(&shown);
        assert!(piped.starts_with(&shown), "{name}: {shown}\n---\n{piped}");
        // All that was shown as kept is there.
        let kept = bench.entries(&format!("{name}.case"));
        assert_eq!(kept, first, "{name}");

        let mut terminal = Terminal::open(&bench, &arguments, columns, dumb);
        terminal.until("going on after");
        for (number, line) in rest.iter().enumerate() {
            terminal.enter(line, first.len() + number + 1);
        }
        let shown = terminal.closed("quit");
        assert!(!shown.contains('\u{1b}'), "{name}: {shown}");
        assert!(!dumb || shown.is_ascii(), "{name}: {shown}");
        for line in shown
            .lines()
            .filter(|line| !crate::sessions::is_command(line))
        {
            assert!(line.chars().count() <= columns, "{name}: {line}");
        }
        let anew = format!("{:>4}  {}", first.len() + 1, rest[0]);
        let gone_on = timeless(&shown[shown.find(&anew).expect(&anew)..]);
        assert!(piped.ends_with(&gone_on), "{name}: {gone_on}\n---\n{piped}");
    }
}

/// Every sample vehicle, by the names of their files.
fn sample_vehicles() -> Vec<String> {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles");
    let files = std::fs::read_dir(samples).unwrap();
    let names = files.map(|file| file.unwrap().file_name().into_string().unwrap());
    let mut vehicles: Vec<String> = names
        .filter(|name| Path::new(name).extension().is_some_and(|end| end == "ron"))
        .collect();
    vehicles.sort();
    assert!(vehicles.len() > 5, "{vehicles:?}");
    vehicles
}

/// On every sample vehicle a run ends each of these ways after the second entry: nobody reads any more, an
/// interrupt at a terminal, a kill in a pipe. No entry is lost and none is made up, the case is free for the
/// next run, and that shows the step which a run without a break is at.
#[test]
fn every_way_to_end_loses_nothing_on_every_sample_vehicle() {
    let lines = ["prepared", "asleep"];
    let last_step = |out: &str| {
        let step = out.rsplit("\n── ").next().unwrap();
        step.split("\n\n").next().unwrap().to_owned()
    };
    for vehicle in sample_vehicles() {
        let bench = Bench::new();
        let start = |case: &str| bench.start(&[&vehicle, "--case", case], 80, false);
        let straight = bench.piped(
            &[&vehicle, "--case", "straight.case"],
            "prepared\nasleep\n",
            80,
        );
        let step = last_step(&straight.out);
        assert!(step.starts_with("SETTLED DRAW"), "{vehicle}: {step}");

        // In a pipe: each entry is shown once it is on the disk.
        let after_two = |case: &str| {
            let mut child = start(case);
            let mut input = child.stdin.take().unwrap();
            let mut output = BufReader::new(child.stdout.take().unwrap()).lines();
            for (number, line) in lines.iter().enumerate() {
                writeln!(input, "{line}").unwrap();
                let kept = format!("{:>4}  ", number + 1);
                let mut shown = output.by_ref().map(Result::unwrap);
                assert!(shown.any(|line| line.starts_with(&kept)), "{vehicle}");
            }
            (child, input, output)
        };
        // Its input stays open, so it is the kill that ends it.
        let (mut child, _input, _output) = after_two("killed.case");
        child.kill().unwrap();
        assert!(!child.wait().unwrap().success(), "{vehicle}");
        let (mut child, mut input, output) = after_two("closed.case");
        drop(output);
        // What is typed while nobody reads is kept still; then the run ends.
        let _ = writeln!(input, "note nobody reads this");
        drop(input);
        assert!(child.wait().unwrap().success(), "{vehicle}");

        let arguments = [vehicle.as_str(), "--case", "interrupted.case"];
        let mut terminal = Terminal::open(&bench, &arguments, 80, false);
        terminal.until("prepared> ");
        for (number, line) in lines.iter().enumerate() {
            terminal.enter(line, number + 1);
        }
        terminal.until("draw> ");
        terminal.session.send_control('c').unwrap();
        let farewell = terminal.session.exp_eof().unwrap();
        for said in [
            "kept      2 entries; nothing that was read is lost",
            "the meter may be in line now: bridge on first.",
            "go on     halfsplit trace",
        ] {
            assert!(farewell.contains(said), "{farewell}");
        }

        for case in ["killed.case", "closed.case", "interrupted.case"] {
            let mut kept = bench.entries(case);
            if case == "closed.case" && kept.len() > lines.len() {
                assert_eq!(kept.pop().unwrap(), "note nobody reads this", "{vehicle}");
            }
            assert_eq!(kept, lines, "{vehicle} {case}");
            let again = bench.piped(&[case], "", 80);
            assert_eq!((again.code, again.err.as_str()), (Some(0), ""), "{again:?}");
            assert_eq!(last_step(&again.out), step, "{vehicle} {case}");
        }
    }
}

/// In a window of 24 rows what to do, its cautions and what to type stay in sight at every step of every
/// sample vehicle, below what was said of the entry before.
#[test]
fn what_to_do_stays_in_sight() {
    const ROWS: usize = 24;
    for columns in [60, 80] {
        for story in &STORIES {
            let (bench, name) = (Bench::new(), story.name());
            let window = Window {
                columns,
                rows: ROWS,
                dumb: false,
                colour: columns == 80,
            };
            let mut terminal = Terminal::open_in(&bench, &story.arguments(), window);
            terminal.until("prepared> ");
            let typed = story.typed();
            for (number, line) in typed.lines().enumerate() {
                terminal.enter(line, number + 1);
            }
            let shown = terminal.closed("quit");
            // Nothing is said by colour, also where NO_COLOR is not set.
            assert!(!shown.contains('\u{1b}'), "{name}: {shown}");
            // Each piece from a typed line to the next prompt.
            let mut pieces = shown.split("\n── ");
            pieces.next();
            for step in pieces {
                let rows: Vec<&str> = step.lines().collect();
                let begins = |heads: &[&str]| {
                    rows.iter().position(|row| {
                        let head = row.split(' ').next().unwrap_or_default();
                        heads.contains(&head)
                    })
                };
                let first = begins(&["at", "do"]);
                let last = begins(&["type"]).unwrap_or_else(|| panic!("{name}: {step}"));
                let wrapped = rows[last + 1..].iter();
                let wrapped = wrapped.take_while(|row| row.starts_with(&" ".repeat(10)));
                let last = last + wrapped.count();
                assert!(begins(&["CAUTION"]) >= first || begins(&["CAUTION"]).is_none());
                if let Some(first) = first {
                    // With the row of the prompt.
                    assert!(last - first + 2 <= ROWS, "{name} {columns}: {step}");
                }
            }
        }
    }
}

/// What is asked beside the steps fits a window of 24 rows and 60 columns: what is higher is shown piece by piece.
#[test]
fn an_answer_fits_the_window() {
    const ROWS: usize = 24;
    let bench = Bench::new();
    let window = Window {
        columns: 60,
        rows: ROWS,
        dumb: false,
        colour: false,
    };
    let mut terminal = Terminal::open_in(&bench, &["quarto-van.ron"], window);
    terminal.until("prepared> ");
    let notes = (1..30).map(|number| format!("note shelf {number}"));
    let typed = [
        "prepared".to_owned(),
        "told days 6".to_owned(),
        "asleep".to_owned(),
        "draw 0.64A".to_owned(),
    ];
    let typed: Vec<String> = typed.into_iter().chain(notes).collect();
    for (number, line) in typed.iter().enumerate() {
        terminal.enter(line, number + 1);
    }
    terminal.until("drop F3> ");
    // Each with what ends it: `more` of what does not fit, or the end of the whole.
    let (mut pieces, mut held_back) = (0, 0);
    for word in [
        "tree", "more", "list", "list all", "more", "intake", "why F3", "why draw", "help",
    ] {
        let from = terminal.shown.len();
        terminal.session.send_line(word).unwrap();
        terminal.until("drop F3> ");
        let shown = said(&terminal.shown[from..]);
        let rows = shown.lines().count();
        assert!((2..=ROWS).contains(&rows), "{word}: {rows}\n{shown}");
        pieces += 1;
        held_back += usize::from(shown.contains(": type more"));
        if word == "list" {
            assert!(shown.contains("before this: list all"), "{shown}");
            assert!(shown.contains("note shelf 29"), "{shown}");
        }
    }
    assert!(
        held_back >= 2 && pieces > held_back,
        "{held_back} of {pieces}"
    );
}

/// The end of the input, as Ctrl-D gives it, stops like `quit`: with what is left to put right.
#[test]
fn the_end_of_the_input_stops_it() {
    let bench = Bench::new();
    let mut terminal = Terminal::open(&bench, &["quarto-van.ron"], 60, false);
    terminal.until("prepared> ");
    terminal.enter("prepared", 1);
    terminal.until("asleep> ");
    terminal.session.send_control('d').unwrap();
    let rest = terminal.session.exp_eof().unwrap();
    assert!(rest.contains("leave") && rest.contains("go on"), "{rest}");
    // At a terminal the settle has a time of day.
    assert!(terminal.shown.contains(", until "), "{}", terminal.shown);
}
