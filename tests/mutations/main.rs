//! Files and lines as no person writes them: the samples and the galleries, cut, doubled and mixed for
//! a bounded time, and a few that are large in one way. Nothing may panic or hang.
//!
//! What is mutated next is led by what the program says: a text that brings up a set of codes, or a kind
//! of answer, that none before did joins the texts that are mutated, up to a few hundred of them, in
//! memory alone. (Leading it by the branches that are taken needs a compiler that is not the stable
//! one.) Vehicles, tables, new parts, instruments and entries are read in this process; case files and
//! logs by the program, a run each. What fails is kept in `target/mutations`.
//! `tests/mutations/run MINUTES SEED`.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use halfsplit::case::{Case, Setting};
use halfsplit::feeds::Named;
use halfsplit::growth::{self, Refused};
use halfsplit::instruments::{self, Instruments};
use halfsplit::problem::{self, Look, Problem};
use halfsplit::table::How;
use halfsplit::vehicle::{self, Comments, Vehicle};
use halfsplit::{advice, feeds, render, table};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::collections::HashSet;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// No input of the mutations may take longer, on a machine that does other things too.
const HANGS: Duration = Duration::from_secs(20);

/// Texts that join those that are mutated, and how long they may be.
const MOST_KEPT: usize = 300;
const SHORT: usize = 10_000;

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

/// What a text brings up, without its names and numbers: the codes, each once.
fn codes(problems: &[Problem]) -> String {
    let mut codes: Vec<_> = problems.iter().map(|problem| problem.code).collect();
    codes.sort_unstable();
    codes.dedup();
    codes.join(" ")
}

fn shown(text: &str, problems: &[Problem]) -> String {
    let look = Look {
        width: 80,
        colour: false,
        unicode: true,
    };
    problem::show("x", text, problems, look);
    for row in problem::rows(text, problems) {
        assert!(row.line > 0 && row.column > 0);
    }
    codes(problems)
}

fn read_vehicle(text: &str) -> String {
    let (feeds, problems) = advice::look_over(text);
    let mut said = shown(text, &problems);
    if let Some(feeds) = feeds {
        let written = vehicle::write(feeds.vehicle(), &Comments::read(text));
        let again = feeds::load(&written).0;
        assert_eq!(again.map(|again| again.len()), Some(feeds.len()));
        render::check(&feeds, 80);
        render::tree(&feeds, 80, true, None);
        table::write(feeds.vehicle());
        said.push_str(" read");
    }
    said
}

fn read_table(text: &str) -> String {
    let read = |how| {
        let read = table::read(text, &Vehicle::named("x".to_owned()), how);
        let said = shown(text, &read.problems);
        let (parts, spare) = (read.feeds.is_some(), !read.spare.is_empty());
        format!("{said} {parts} {spare}")
    };
    let filled = How {
        fill_down: true,
        place_in_id: true,
    };
    read(How::default()) + &read(filled)
}

/// New parts for a vehicle, as a table and as they are typed.
fn read_parts(text: &str) -> String {
    let van = include_str!("../../sample-vehicles/quarto-van.ron");
    let feeds = feeds::load(van).0.unwrap();
    let named = feeds.find("F7");
    let part = named.and_then(|named| match named {
        Named::Part(part) => Some(*part),
        _ => None,
    });
    let under = feeds.part(part.unwrap());
    let tabled = growth::tabled(van, &feeds, Some(under), text, How::default());
    let typed = growth::typed(van, &feeds, under, text);
    let said = [tabled, typed].map(|grown| match grown {
        Ok(grown) => {
            // One that feeds the new parts, and one each of places and modules.
            let gone = van.lines().filter(|line| !grown.text.contains(line));
            assert!(gone.count() <= 3, "lines of the van are gone");
            shown(text, &grown.doubts)
        }
        Err(Refused::Given(problems)) => shown(text, &problems),
        Err(Refused::Whole(whole, problems)) => shown(&whole, &problems),
    });
    said.join("; ")
}

fn read_instruments(text: &str) -> String {
    let (_, problems) = instruments::read(text);
    shown(text, &problems)
}

fn take_entries(text: &str) -> String {
    let van = include_str!("../../sample-vehicles/quarto-van.ron");
    let setting = Setting::new(feeds::load(van).0.unwrap(), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    let mut said = String::new();
    for line in text.lines().take(12) {
        match case.record(line) {
            Ok(_) => {
                case.next();
                said.push('t');
            }
            Err(refusal) => {
                let refused = refusal.to_string();
                assert!(!refused.is_empty());
                // How it begins, before it comes to what was typed.
                let kind = refused.split(['`', '0', '1', '2']).next();
                said.push_str(kind.unwrap_or_default());
            }
        }
    }
    said
}

/// Runs the program on a file; its exit code is one of its own. What comes back is that code, and how
/// what it says begins.
fn run(arguments: &[&str], name: &str, text: &str) -> String {
    let folder = root().join("target/mutations");
    let file = folder.join(name);
    std::fs::write(&file, text).unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .arg(&file)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let code = done.status.code();
    assert!(matches!(code, Some(0..=4)), "{done:?}");
    let said = String::from_utf8_lossy(&done.stdout) + String::from_utf8_lossy(&done.stderr);
    let words = said.split_whitespace().filter(|word| {
        let plain = |c: char| c.is_ascii_alphabetic();
        word.chars().all(plain)
    });
    let words: Vec<_> = words.take(12).collect();
    format!("{code:?} {}", words.join(" "))
}

fn read_case(text: &str) -> String {
    run(&["next"], "input.case", text)
}

fn read_log(text: &str) -> String {
    run(&["log"], "input.csv", text)
}

struct Target {
    name: &'static str,
    /// Reads a text; what comes back says what kind of answer it got.
    read: fn(&str) -> String,
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
            name: "parts",
            read: read_parts,
            corpus: [
                texts("tests/table-problems", "csv"),
                vec![
                    "Load(id: \"clock\", kind: Other, plug: \"C7\")".to_owned(),
                    "id,kind\nclock,Load\nF8,Fuse\n".to_owned(),
                ],
            ]
            .concat(),
            large: Vec::new(),
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

/// Reads one text, and gives back what kind of answer it got; nothing when it panicked or took too long,
/// and then it is kept.
fn holds(target: &Target, text: &str, most: Duration, number: usize) -> Option<String> {
    let started = Instant::now();
    let read = target.read;
    let said = catch_unwind(|| read(text)).ok();
    let took = started.elapsed();
    if said.is_some() && took < most {
        return said;
    }
    let file = format!("target/mutations/{}-{number}.txt", target.name);
    std::fs::write(root().join(&file), text).unwrap();
    println!("{}: {took:.1?}, kept as {file}", target.name);
    None
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
            failed += usize::from(holds(target, text, 6 * HANGS, number).is_none());
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
        let mut known = HashSet::new();
        for text in &target.corpus {
            known.extend(holds(target, text, HANGS, 0));
        }
        let (started, mut count, mut kept) = (Instant::now(), 0, 0);
        while started.elapsed() < each && failed < 20 {
            count += 1;
            let text = mutator.mutated();
            let Some(said) = holds(target, &text, HANGS, 1000 + count) else {
                failed += 1;
                continue;
            };
            if known.insert(said) && kept < MOST_KEPT && text.len() < SHORT {
                kept += 1;
                mutator.corpus.push(text);
            }
        }
        println!(
            "{}: {count} mutations, {} kinds of answer, {kept} texts joined",
            target.name,
            known.len()
        );
    }
    println!("{failed} failed (seed {seed})");
    if failed > 0 {
        std::process::exit(1);
    }
}
