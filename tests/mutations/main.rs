//! Files and lines as no person writes them: the samples and the galleries, cut, doubled and mixed for
//! a bounded time, and a few that are large in one way. Nothing may panic or hang.
//!
//! Not guided by coverage: that needs a compiler that is not the stable one. Vehicle, table,
//! instruments and entries are read in this process; case files and logs by the program, a run each.
//! What fails is kept in `target/mutations`. `tests/mutations/run MINUTES SEED`.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use halfsplit::case::{Case, Setting};
use halfsplit::instruments::{self, Instruments};
use halfsplit::problem::{self, Look, Problem};
use halfsplit::vehicle::{self, Comments, Vehicle};
use halfsplit::{advice, feeds, render, table};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// No input of the mutations may take longer, on a machine that does other things too.
const HANGS: Duration = Duration::from_secs(20);

/// Pieces that matter to one reader or another.
const PIECES: &[&str] = &[
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    "\"",
    ",",
    ";",
    ":",
    "\\",
    "//",
    "/*",
    "*/",
    "#",
    "r#\"",
    "'",
    "\n",
    "\r\n",
    "\t",
    "\u{feff}",
    "\u{202e}",
    "é",
    "漢",
    "\0",
    "\u{1b}[2J",
    "None",
    "Some(",
    "NaN",
    "inf",
    "-",
    "1e999",
    "1e-320",
    "0",
    "99999999999999999999",
    "0.1",
    "1,5",
    ">",
    "..",
    "OL",
    "mA(",
    "A(",
    "mm2(",
    "feeds: [",
    "battery: ",
    "Load(id: \"x\"",
    "id: \"battery\"",
    "at: \"roof\"",
    "within: ",
    "accept: {",
    "draw 640mA",
    "drop ",
    " by series",
    "undo",
    "withdraw 1",
    "refit all",
    "pull F3, F9",
    "unplug C114",
    "asleep",
    "turns 0",
    "sure",
    "Entry(number: 1, text: \"asleep\")\n",
    "Renamed(old: \"F3\", new: \"F9\")\n",
    "Files(",
    "2026-02-30T24:61",
    "12:00",
    "id;kind;fed by\n",
];

struct Mutator {
    random: ChaCha8Rng,
    corpus: Vec<String>,
}

impl Mutator {
    fn below(&mut self, count: usize) -> usize {
        (self.random.next_u64() % count.max(1) as u64) as usize
    }

    /// A place in a text between two characters.
    fn place(&mut self, text: &str) -> usize {
        let mut at = self.below(text.len() + 1);
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }

    fn slice(&mut self, text: &str) -> (usize, usize) {
        let (a, b) = (self.place(text), self.place(text));
        // Mostly short.
        let (from, to) = (a.min(b), a.max(b));
        if self.below(4) == 0 {
            return (from, to);
        }
        let mut near = to.min(from + 40);
        while !text.is_char_boundary(near) {
            near -= 1;
        }
        (from, near)
    }

    fn mutated(&mut self) -> String {
        const LONGEST: usize = 100_000;
        let chosen = self.below(self.corpus.len());
        let mut text = self.corpus[chosen].clone();
        for _ in 0..=self.below(6) {
            let (from, to) = self.slice(&text);
            match self.below(6) {
                0 => text.replace_range(from..to, ""),
                1 => {
                    let piece = PIECES[self.below(PIECES.len())];
                    text.insert_str(from, piece);
                }
                2 => {
                    let piece = PIECES[self.below(PIECES.len())];
                    text.replace_range(from..to, piece);
                }
                3 => {
                    let again = text[from..to].repeat(1 + self.below(3));
                    text.insert_str(to, &again);
                }
                4 => {
                    let other = self.below(self.corpus.len());
                    let other = self.corpus[other].clone();
                    let (a, b) = self.slice(&other);
                    text.insert_str(from, &other[a..b]);
                }
                _ => {
                    let moved = text[from..to].to_owned();
                    text.replace_range(from..to, "");
                    let at = self.place(&text);
                    text.insert_str(at, &moved);
                }
            }
            if text.len() > LONGEST {
                let mut end = LONGEST;
                while !text.is_char_boundary(end) {
                    end -= 1;
                }
                text.truncate(end);
            }
        }
        text
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The texts of a folder's files with that ending.
fn texts(folder: &str, ending: &str) -> Vec<String> {
    let files = std::fs::read_dir(root().join(folder)).unwrap();
    let mut files: Vec<PathBuf> = files.map(|file| file.unwrap().path()).collect();
    files.sort();
    let wanted = files
        .iter()
        .filter(|f| f.extension().is_some_and(|e| e == ending));
    wanted
        .filter_map(|f| std::fs::read_to_string(f).ok())
        .collect()
}

fn shown(text: &str, problems: &[Problem]) {
    let look = Look {
        width: 80,
        colour: false,
        unicode: true,
    };
    problem::show("x", text, problems, look);
    for row in problem::rows(text, problems) {
        assert!(row.line > 0 && row.column > 0);
    }
}

fn read_vehicle(text: &str) {
    let (feeds, problems) = advice::look_over(text);
    shown(text, &problems);
    if let Some(feeds) = feeds {
        let written = vehicle::write(feeds.vehicle(), &Comments::read(text));
        let again = feeds::load(&written).0;
        assert_eq!(again.map(|again| again.len()), Some(feeds.len()));
        render::check(&feeds, 80);
        render::tree(&feeds, 80, true, None);
        table::write(feeds.vehicle());
    }
}

fn read_table(text: &str) {
    for blanks in [table::Blanks::Empty, table::Blanks::AsAbove] {
        let read = table::read(text, &Vehicle::named("x".to_owned()), blanks);
        shown(text, &read.problems);
    }
}

fn read_instruments(text: &str) {
    let (_, problems) = instruments::read(text);
    shown(text, &problems);
}

fn take_entries(text: &str) {
    let van = include_str!("../../sample-vehicles/quarto-van.ron");
    let setting = Setting::new(feeds::load(van).0.unwrap(), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    for line in text.lines().take(12) {
        match case.record(line) {
            Ok(_) => _ = case.next(),
            Err(refusal) => assert!(!refusal.to_string().is_empty()),
        }
    }
}

/// Runs the program on a file; its exit code is one of its own.
fn run(arguments: &[&str], name: &str, text: &str) {
    let folder = root().join("target/mutations");
    let file = folder.join(name);
    std::fs::write(&file, text).unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .arg(&file)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert!(matches!(done.code(), Some(0..=4)), "{done:?}");
}

fn read_case(text: &str) {
    run(&["next"], "input.case", text);
}

fn read_log(text: &str) {
    run(&["log"], "input.csv", text);
}

struct Target {
    name: &'static str,
    read: fn(&str),
    corpus: Vec<String>,
    /// Texts that are large in one way.
    large: Vec<String>,
}

fn targets() -> Vec<Target> {
    let nested = |open: &str| open.repeat(100_000);
    let line = "x".repeat(1_000_000);
    let large = |before: &str| {
        let brackets = [
            "(",
            "[",
            "{",
            "feeds: [Fuse(id: \"a\", ",
            "/*",
            "Some(",
            "\"",
        ];
        let mut large: Vec<String> = brackets.iter().map(|open| nested(open)).collect();
        large.extend(
            brackets
                .iter()
                .map(|open| format!("{before}{}", nested(open))),
        );
        large.extend([
            line.clone(),
            format!("{before}\"{line}\""),
            format!("{before}{line}"),
        ]);
        large
    };
    let vehicle = "Vehicle(format: 1, name: \"x\", battery: Battery(id: \"b\", feeds: [\n";
    let mut vehicles = large(vehicle);
    let parts: Vec<_> = (0..1_000_000)
        .map(|n| format!("Fuse(id: \"{n}\"),\n"))
        .collect();
    vehicles.push(format!("{vehicle}{}]))", parts.concat()));
    let mut tables = large("id,kind,fed by\n");
    let rows: Vec<_> = (0..1_000_000)
        .map(|n| format!("F{n},Fuse,battery\n"))
        .collect();
    tables.push(format!("id,kind,fed by\n{}", rows.concat()));
    let head = "Case(format: 1, vehicle: \"../../sample-vehicles/quarto-van.ron\", name: \"x\", fingerprint: \"\")\n";
    let entries = [
        "prepared",
        "asleep",
        "draw 640mA by series jack A",
        "drop F3 2.1mV",
        "unplug C114",
        "asleep",
        "draw 30mA by series jack mA",
        "refit C114",
        "look cargo lamp lit",
        "told days 6",
        "undo",
    ];
    let lines = entries.iter().enumerate();
    let lines = lines.map(|(n, entry)| format!("Entry(number: {}, text: {entry:?})\n", n + 1));
    let case = format!("{head}{}", lines.collect::<Vec<_>>().concat());
    let log: Vec<_> = (0..200)
        .map(|n| format!("{};{},{}\n", n * 5, 300 - n, n % 10))
        .collect();
    let log = log.concat();
    let many: Vec<_> = (0..1_000_000)
        .map(|n| format!("{n},{}\n", n % 50))
        .collect();
    let many = many.concat();
    let mut logs = large("time s;current mA\n");
    logs.push(format!("time s,current mA\n{many}"));
    vec![
        Target {
            name: "vehicle",
            read: read_vehicle,
            corpus: [
                texts("sample-vehicles", "ron"),
                texts("tests/problems", "ron"),
                texts("tests/questions", "ron"),
                texts("schemas", "ron"),
            ]
            .concat(),
            large: vehicles,
        },
        Target {
            name: "table",
            read: read_table,
            corpus: texts("tests/table-problems", "csv"),
            large: tables,
        },
        Target {
            name: "instruments",
            read: read_instruments,
            corpus: [
                texts("sample-vehicles/instruments", "ron"),
                texts("tests/instrument-problems", "ron"),
            ]
            .concat(),
            large: large("Instruments(format: 1, meter: "),
        },
        Target {
            name: "entries",
            read: take_entries,
            corpus: vec![entries.join("\n")],
            large: large("draw "),
        },
        Target {
            name: "case",
            read: read_case,
            corpus: vec![case, head.to_owned()],
            large: large(head),
        },
        Target {
            name: "log",
            read: read_log,
            corpus: vec![
                format!("time s;current mA\n{log}"),
                format!("clock,A\n12:00,0.5\n12:01,0.04\n"),
            ],
            large: logs,
        },
    ]
}

/// Reads one text; `false` when it panicked or took too long, and then it is kept.
fn holds(target: &Target, text: &str, most: Duration, number: usize) -> bool {
    let started = Instant::now();
    let read = target.read;
    let done = catch_unwind(|| read(text)).is_ok();
    let took = started.elapsed();
    if done && took < most {
        return true;
    }
    let file = format!("target/mutations/{}-{number}.txt", target.name);
    std::fs::write(root().join(&file), text).unwrap();
    println!("{}: {took:.1?}, kept as {file}", target.name);
    false
}

fn main() {
    // Cargo hands on `--bench`.
    let told: Vec<u64> = std::env::args()
        .filter_map(|word| word.parse().ok())
        .collect();
    let minutes = told.first().copied().unwrap_or(1);
    let seed = told.get(1).copied().unwrap_or(1);
    std::fs::create_dir_all(root().join("target/mutations")).unwrap();
    let targets = targets();
    let each = Duration::from_secs(minutes * 60) / targets.len() as u32;
    let mut failed = 0;
    for target in &targets {
        let started = Instant::now();
        for (number, text) in target.large.iter().enumerate() {
            failed += usize::from(!holds(target, text, 6 * HANGS, number));
        }
        println!(
            "{}: {} large ones, {:.0?}",
            target.name,
            target.large.len(),
            started.elapsed()
        );
        let mut mutator = Mutator {
            random: ChaCha8Rng::seed_from_u64(seed),
            corpus: target.corpus.clone(),
        };
        let (started, mut count) = (Instant::now(), 0);
        while started.elapsed() < each && failed < 20 {
            count += 1;
            let text = mutator.mutated();
            failed += usize::from(!holds(target, &text, HANGS, 1000 + count));
        }
        println!("{}: {count} mutations", target.name);
    }
    println!("{failed} failed (seed {seed})");
    if failed > 0 {
        std::process::exit(1);
    }
}
