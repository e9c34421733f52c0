//! The dialogue at a real terminal: a person types at the prompt, breaks off, and goes on.

use crate::trace::{Bench, truthful};
use rexpect::session::{PtySession, spawn_command};
use std::process::Command;

/// Longer than any plan takes, so that only a dialogue that hangs fails by it.
const PATIENCE: u64 = 120_000;

/// A dialogue on a terminal of its own, with all that was shown so far.
struct Terminal {
    session: PtySession,
    shown: String,
}

impl Terminal {
    fn open(bench: &Bench, file: &str, columns: usize, dumb: bool) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command
            .args(["trace", file])
            .current_dir(bench.path("."))
            .env("COLUMNS", columns.to_string())
            .env("TERM", if dumb { "dumb" } else { "xterm" })
            .env("NO_COLOR", "1");
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

    fn close(mut self, line: &str) -> String {
        self.session.send_line(line).unwrap();
        let rest = self.session.exp_eof().unwrap();
        // It hands on each byte as a character.
        let bytes: Vec<u8> = format!("{}{rest}", self.shown)
            .chars()
            .map(|c| u8::try_from(c).unwrap())
            .collect();
        String::from_utf8(bytes).unwrap().replace('\r', "")
    }
}

/// On every sample vehicle: half way to the proof, then Ctrl-C or a kill, then on to the proof.
#[test]
fn broken_off_at_the_prompt_and_gone_on_with() {
    let samples = [
        ("quarto-van", 60),
        ("teaching-board", 100),
        ("hatchback", 60),
        ("pickup", 100),
        ("large-van", 60),
        ("coach", 100),
    ];
    for (at, (name, columns)) in samples.into_iter().enumerate() {
        let (bench, file, dumb) = (Bench::new(), format!("{name}.ron"), at % 2 == 1);
        let typed = truthful(name);
        let lines: Vec<&str> = typed.lines().collect();
        let (first, rest) = lines.split_at(lines.len() / 2);
        let mut terminal = Terminal::open(&bench, &file, columns, dumb);
        terminal.until("prepared> ");
        for (number, line) in first.iter().enumerate() {
            terminal.enter(line, number + 1);
        }
        if at % 3 == 0 {
            terminal
                .session
                .process_mut()
                .kill(rexpect::process::Signal::SIGKILL)
                .unwrap();
        } else {
            terminal.session.send_control('c').unwrap();
        }
        terminal.session.exp_eof().unwrap();
        // All that was shown as kept is there.
        let kept = bench.entries(&format!("{name}.case"));
        assert_eq!(kept.len(), first.len(), "{name}: {kept:#?}");

        let mut terminal = Terminal::open(&bench, &file, columns, dumb);
        terminal.until("going on after");
        for (number, line) in rest.iter().enumerate() {
            terminal.enter(line, first.len() + number + 1);
        }
        let shown = terminal.close("quit");
        assert!(shown.contains(" PROVEN "), "{name}: {shown}");
        assert!(!shown.contains("not taken"), "{name}: {shown}");
        assert!(shown.contains("STILL OUT"), "{name}: {shown}");
        assert!(!shown.contains('\u{1b}'), "{name}: {shown}");
        assert!(!dumb || shown.is_ascii(), "{name}: {shown}");
        for line in shown.lines().filter(|line| !line.starts_with("go on ")) {
            // What was typed is not echoed, so an answer stands behind its prompt.
            let line = line.rsplit("> ").next().unwrap_or(line);
            assert!(line.chars().count() <= columns, "{name}: {line}");
        }
    }
}

/// The end of the input, as Ctrl-D gives it, stops like `quit`: with what is left to put right.
#[test]
fn the_end_of_the_input_stops_it() {
    let bench = Bench::new();
    let mut terminal = Terminal::open(&bench, "quarto-van.ron", 60, false);
    terminal.until("prepared> ");
    terminal.enter("prepared", 1);
    terminal.until("asleep> ");
    terminal.session.send_control('d').unwrap();
    let rest = terminal.session.exp_eof().unwrap();
    assert!(rest.contains("leave") && rest.contains("go on"), "{rest}");
    // At a terminal the settle has a time of day.
    assert!(terminal.shown.contains(", until "), "{}", terminal.shown);
}
