//! House rules that a compiler does not check, each with a planted offence that it must catch.

use std::fs;
use std::path::{Path, PathBuf};

/// The text of one file taken apart: both halves keep the line breaks, so that lines can be counted.
struct Source {
    /// The file with comments and the insides of literals blanked.
    code: String,
    /// Line and content of each string literal.
    strings: Vec<(usize, String)>,
}

impl Source {
    /// Scans Rust text: line and nested block comments, strings, raw strings, characters, lifetimes.
    fn scan(text: &str) -> Self {
        let chars: Vec<char> = text.chars().collect();
        let (mut code, mut strings) = (String::new(), Vec::new());
        let (mut at, mut line) = (0, 1);
        let next = |i: usize| chars.get(i).copied().unwrap_or('\0');
        while at < chars.len() {
            let start = at;
            let mut literal = None;
            match chars[at] {
                '/' if next(at + 1) == '/' => {
                    while at < chars.len() && chars[at] != '\n' {
                        at += 1;
                    }
                }
                '/' if next(at + 1) == '*' => {
                    let mut depth = 0;
                    loop {
                        match (next(at), next(at + 1)) {
                            ('/', '*') => (depth, at) = (depth + 1, at + 2),
                            ('*', '/') => (depth, at) = (depth - 1, at + 2),
                            _ => at += 1,
                        }
                        if depth == 0 || at >= chars.len() {
                            break;
                        }
                    }
                }
                'r' if matches!(next(at + 1), '"' | '#') && !is_word(before(&code)) => {
                    let hashes = chars[at + 1..].iter().take_while(|c| **c == '#').count();
                    if next(at + 1 + hashes) == '"' {
                        let end: Vec<char> = format!("\"{}", "#".repeat(hashes)).chars().collect();
                        let from = at + 2 + hashes;
                        let length = chars[from..]
                            .windows(end.len())
                            .position(|w| w == end)
                            .unwrap_or(chars.len() - from);
                        literal = Some(chars[from..from + length].iter().collect::<String>());
                        at = from + length + end.len();
                    } else {
                        at += 1; // a raw identifier
                    }
                }
                '"' => {
                    at += 1;
                    while at < chars.len() && chars[at] != '"' {
                        at += if chars[at] == '\\' { 2 } else { 1 };
                    }
                    let end = at.min(chars.len());
                    // A string of bytes is data, and no text.
                    let is_text = before(&code) != 'b';
                    literal = is_text.then(|| chars[start + 1..end].iter().collect());
                    at += 1;
                }
                '\'' if next(at + 1) == '\\' => {
                    at += 3; // past the escaped character, which may itself be a quote
                    while at < chars.len() && chars[at] != '\'' {
                        at += 1;
                    }
                    at += 1;
                }
                '\'' if next(at + 2) == '\'' => at += 3,
                _ => at += 1,
            }
            let end = at.min(chars.len());
            if let Some(content) = literal {
                strings.push((line, content));
            }
            let plain = end == start + 1;
            for c in &chars[start..end] {
                line += usize::from(*c == '\n');
                code.push(if plain || *c == '\n' { *c } else { ' ' });
            }
        }
        Self { code, strings }
    }

    /// Lines of code with their numbers, up to the file's own tests.
    fn lines_before_tests(&self) -> impl Iterator<Item = (usize, &str)> {
        let lines = self.code.lines().enumerate();
        lines
            .take_while(|(_, line)| !line.contains("#[cfg(test)]"))
            .map(|(number, line)| (number + 1, line))
    }
}

fn before(code: &str) -> char {
    code.chars().next_back().unwrap_or(' ')
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// Where `word` stands in `line` with no letter or digit touching it.
fn has_word(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let ends = |c: Option<char>| !c.is_some_and(is_word);
        ends(line[..at].chars().next_back()) && ends(line[at + word.len()..].chars().next())
    })
}

/// The rooms in the order of the `mod` lines.
fn rooms(lib: &str) -> Vec<String> {
    let names = Source::scan(lib).code;
    names
        .lines()
        .filter_map(|line| line.trim().strip_suffix(';'))
        .filter_map(|line| {
            line.strip_prefix("pub ")
                .unwrap_or(line)
                .strip_prefix("mod ")
        })
        .map(str::to_owned)
        .collect()
}

/// The room a file under `src/` belongs to.
fn room_of(path: &str) -> &str {
    let inside = path.strip_prefix("src/").unwrap_or(path);
    let first = inside.split('/').next().unwrap_or(inside);
    first.strip_suffix(".rs").unwrap_or(first)
}

/// Whether `super` in this file is the top of the crate.
fn is_room_root(path: &str) -> bool {
    let inside = path.strip_prefix("src/").unwrap_or(path);
    !inside.contains('/') || (inside.matches('/').count() == 1 && inside.ends_with("/mod.rs"))
}

/// A room names only rooms listed above it.
fn upward_names(path: &str, text: &str, rooms: &[String]) -> Vec<String> {
    let place = |name: &str| rooms.iter().position(|r| r == name);
    let Some(own) = place(room_of(path)) else {
        return Vec::new();
    };
    let source = Source::scan(text);
    let mut found = Vec::new();
    for (number, line) in source.code.lines().enumerate() {
        for (at, mark) in line.match_indices("crate::") {
            if before(&line[..at]) == '$' || is_word(before(&line[..at])) {
                continue;
            }
            let name: String = line[at + mark.len()..]
                .chars()
                .take_while(|c| is_word(*c))
                .collect();
            if place(&name).is_some_and(|other| other > own) {
                found.push(format!(
                    "{path}:{}: names the later room {name}",
                    number + 1
                ));
            }
        }
    }
    found
}

/// Only the command line talks to the world.
fn doors_to_the_world(path: &str, text: &str) -> Vec<String> {
    if path.starts_with("src/cli") || path == "src/main.rs" {
        return Vec::new();
    }
    let doors = ["fs", "io", "env", "time", "process", "net", "thread"];
    let prints = ["print", "println", "eprint", "eprintln", "dbg"];
    let source = Source::scan(text);
    let mut found = Vec::new();
    for (number, line) in source.code.lines().enumerate() {
        let door = doors
            .iter()
            .any(|door| has_word(line, &format!("std::{door}")));
        let group = line.contains("std::{");
        let print = prints
            .iter()
            .any(|print| has_word(line, print) && line.contains(&format!("{print}!")));
        if door || group || print {
            found.push(format!("{path}:{}: {}", number + 1, line.trim()));
        }
    }
    found
}

/// Paths between rooms are spelled `crate::room::…`, so that the order of rooms can be checked.
fn hidden_paths(path: &str, text: &str) -> Vec<String> {
    let source = Source::scan(text);
    let mut found = Vec::new();
    for (number, line) in source.code.lines().enumerate() {
        if line.contains("crate::{") || line.contains("crate::*") || line.contains("super::super") {
            found.push(format!("{path}:{}: {}", number + 1, line.trim()));
        }
    }
    if is_room_root(path) {
        for (number, line) in source.lines_before_tests() {
            if has_word(line, "super") && line.contains("super::") && !line.contains("super::super")
            {
                found.push(format!("{path}:{number}: {}", line.trim()));
            }
        }
    }
    found
}

/// Nothing unfinished is called done.
fn unfinished(path: &str, text: &str) -> Vec<String> {
    let words = [
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
        concat!("XX", "X"),
        concat!("HA", "CK"),
    ];
    let macros = [concat!("to", "do!"), concat!("unimple", "mented!")];
    text.lines()
        .enumerate()
        .filter(|(_, line)| {
            words.iter().any(|word| has_word(line, word))
                || macros.iter().any(|word| line.contains(word))
        })
        .map(|(number, line)| format!("{path}:{}: {}", number + 1, line.trim()))
        .collect()
}

/// A file's name says what is in it.
fn says_nothing(path: &str) -> bool {
    let stem = Path::new(path).file_stem().and_then(|s| s.to_str());
    let parts = Path::new(path)
        .components()
        .filter_map(|c| c.as_os_str().to_str());
    let names = ["util", "utils", "helper", "helpers", "common", "misc"];
    parts.chain(stem).any(|part| names.contains(&part))
}

/// Words that stay inside the code, and one that the trade does not use for this.
fn words_off_the_screen(path: &str, text: &str) -> Vec<String> {
    if !(path.starts_with("src/render") || path.starts_with("src/cli")) {
        return Vec::new();
    }
    let banned = [
        "ledger",
        "journal",
        "posterior",
        "rollout",
        "bus",
        "isolated",
    ];
    let mut found = Vec::new();
    for (line, content) in Source::scan(text).strings {
        let lower = content.to_lowercase();
        for word in banned.iter().filter(|word| has_word(&lower, word)) {
            found.push(format!("{path}:{line}: {word:?} in {content:?}"));
        }
    }
    found
}

/// A fault is found where the rules are; its sentence is made in `problem::words`, from data. (That
/// nothing else makes a finding, the compiler sees to.)
fn sentences_of_problems(path: &str, text: &str) -> Vec<String> {
    // The drawings have words of their own.
    if path.starts_with("src/problem") || path.starts_with("src/render") {
        return Vec::new();
    }
    let source = Source::scan(text);
    let code = &source.code;
    let mut found = Vec::new();
    for (at, _) in code.match_indices("words::") {
        let line_of = |at: usize| code[..at].matches('\n').count() + 1;
        let mut depth = 0;
        let end = code[at..].find(|c: char| {
            depth += i32::from(c == '(') - i32::from(c == ')');
            c == ';' || (c == ')' && depth <= 0)
        });
        let lines = line_of(at)..=line_of(at + end.unwrap_or(0));
        let of_call = source.strings.iter().filter(|(n, _)| lines.contains(n));
        let sentences = of_call.filter(|(_, content)| content.contains(' '));
        found.extend(sentences.map(|(line, content)| format!("{path}:{line}: {content:?}")));
    }
    found
}

/// What a command says is worded in `render`: in `cli` no text holds two plain words in a row. A command
/// to copy is none; what clap shows of the arguments are doc comments.
fn sentences_of_commands(path: &str, text: &str) -> Vec<String> {
    if !path.starts_with("src/cli/") {
        return Vec::new();
    }
    let plain = |word: &str| word.len() > 1 && word.chars().all(|c| c.is_ascii_lowercase());
    let sentence = |content: &str| {
        let words: Vec<&str> = content.split(' ').collect();
        words
            .windows(2)
            .any(|two| two.iter().all(|word| plain(word)))
    };
    let source = Source::scan(text);
    let own_tests = source.lines_before_tests().count();
    let strings = source.strings.into_iter();
    let worded = strings.filter(|(line, said)| {
        *line <= own_tests && sentence(said) && !said.starts_with("halfsplit ")
    });
    worded
        .map(|(line, said)| format!("{path}:{line}: {said:?}"))
        .collect()
}

/// All Rust files under the given top folders, as paths from the project's root with their text.
fn files(tops: &[&str]) -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut open: Vec<PathBuf> = tops.iter().map(|top| root.join(top)).collect();
    let mut found = Vec::new();
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let name = path
                    .strip_prefix(root)
                    .unwrap()
                    .to_str()
                    .unwrap()
                    .replace('\\', "/");
                found.push((name, fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    assert!(found.len() > 3, "the sources are where this test looks");
    found
}

fn offences(tops: &[&str], rule: impl Fn(&str, &str) -> Vec<String>) -> String {
    let found: Vec<String> = files(tops)
        .iter()
        .flat_map(|(path, text)| rule(path, text))
        .collect();
    found.join("\n")
}

#[test]
fn rooms_name_only_rooms_above_them() {
    let lib = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let rooms = rooms(&lib);
    assert!(rooms.len() > 5, "the mod lines were read: {rooms:?}");
    assert_eq!(
        offences(&["src"], |path, text| upward_names(path, text, &rooms)),
        ""
    );
}

#[test]
fn only_the_command_line_talks_to_the_world() {
    assert_eq!(offences(&["src"], doors_to_the_world), "");
}

#[test]
fn paths_between_rooms_can_be_seen() {
    assert_eq!(offences(&["src"], hidden_paths), "");
}

#[test]
fn nothing_unfinished_is_left() {
    assert_eq!(offences(&["src", "tests"], unfinished), "");
}

#[test]
fn file_names_say_what_is_inside() {
    let found: Vec<_> = files(&["src", "tests"])
        .into_iter()
        .map(|(path, _)| path)
        .filter(|path| says_nothing(path))
        .collect();
    assert_eq!(found, Vec::<String>::new());
}

#[test]
fn inner_words_stay_off_the_screen() {
    assert_eq!(offences(&["src"], words_off_the_screen), "");
}

#[test]
fn sentences_of_problems_stand_in_one_room() {
    assert_eq!(offences(&["src"], sentences_of_problems), "");
}

#[test]
fn what_commands_say_is_worded_in_one_room() {
    assert_eq!(offences(&["src/cli"], sentences_of_commands), "");
}

/// A rule: path and text of a file in, offences out.
type Rule<'a> = Box<dyn Fn(&str, &str) -> Vec<String> + 'a>;

/// Each rule against planted offences, and beside them what looks alike and is allowed.
#[test]
#[allow(clippy::too_many_lines)] // one table reads better whole
fn every_rule_catches_its_offence() {
    let lib = "//! mod not_me;\npub mod units;\n\nmod feeds;\n\npub mod cli;\n";
    let rooms = rooms(lib);
    assert_eq!(rooms, ["units", "feeds", "cli"]);
    let upward: Rule<'_> = Box::new(|p, t| upward_names(p, t, &rooms));
    let doors: Rule<'_> = Box::new(doors_to_the_world);
    let hidden: Rule<'_> = Box::new(hidden_paths);
    let unfinished: Rule<'_> = Box::new(unfinished);
    let words: Rule<'_> = Box::new(words_off_the_screen);
    let sentences: Rule<'_> = Box::new(sentences_of_problems);
    let commands: Rule<'_> = Box::new(sentences_of_commands);
    let todo = concat!("// TO", "DO later");
    let todo_macro = concat!("fn f() { to", "do!() }");
    let table: [(&Rule<'_>, &str, &str, usize); 46] = [
        (
            &commands,
            "src/cli/mod.rs",
            "say(\"nothing was added\");",
            1,
        ),
        (
            &commands,
            "src/cli/mod.rs",
            "#[error(\"cannot read {0}\")]",
            1,
        ),
        (
            &commands,
            "src/cli/mod.rs",
            "/// Says what to do\nsay(&commands::added(x));",
            0,
        ),
        (
            &commands,
            "src/cli/mod.rs",
            "format!(\"halfsplit trace {}\", x)",
            0,
        ),
        (&commands, "src/render/trace.rs", "\"nothing was added\"", 0),
        (
            &commands,
            "src/cli/seal.rs",
            "const KEY: [u8; 11] = *b\"a blue door\";",
            0,
        ),
        (
            &commands,
            "src/cli/drill.rs",
            "say(\"nothing was added\");\n#[cfg(test)]\nlet text = \"a blue door\";",
            1,
        ),
        (&upward, "src/units.rs", "use crate::feeds::Feeds;", 1),
        (
            &upward,
            "src/feeds.rs",
            "fn f() -> crate::cli::Exit { x }",
            1,
        ),
        (&upward, "src/feeds/walk.rs", "use crate::cli;", 1),
        (&upward, "src/feeds.rs", "use crate::units::Amps;", 0),
        (
            &upward,
            "src/feeds.rs",
            "//! see [`crate::cli`]\nuse crate::feeds::walk;",
            0,
        ),
        (&upward, "src/units.rs", "pub(crate) fn feeds() {}", 0),
        (
            &upward,
            "src/units.rs",
            "let a = \"// no comment\"; use crate::feeds;",
            1,
        ),
        (&doors, "src/units.rs", "use std::fs;", 1),
        (
            &doors,
            "src/units.rs",
            "let t = std::time::Instant::now();",
            1,
        ),
        (&doors, "src/units.rs", "use std::{fs, fmt};", 1),
        (&doors, "src/units.rs", "fn f() { println!(\"x\") }", 1),
        (&doors, "src/units.rs", "fn f() { dbg!(x) }", 1),
        (
            &doors,
            "src/units.rs",
            "use std::fmt; // std::fs, println!",
            0,
        ),
        (
            &doors,
            "src/units.rs",
            "let s = r#\"a \" std::fs\"#; /* std::io /* x */ std::env */",
            0,
        ),
        (&doors, "src/cli/mod.rs", "use std::fs;", 0),
        (&doors, "src/main.rs", "use std::process::ExitCode;", 0),
        (&hidden, "src/units.rs", "use crate::{feeds, cli};", 1),
        (&hidden, "src/units.rs", "use super::feeds;", 1),
        (&hidden, "src/feeds/mod.rs", "use super::units;", 1),
        (&hidden, "src/feeds/walk.rs", "use super::super::units;", 1),
        (&hidden, "src/feeds/walk.rs", "use super::Feeds;", 0),
        (
            &hidden,
            "src/units.rs",
            "#[cfg(test)]\nmod tests {\n use super::*;\n}",
            0,
        ),
        (&hidden, "src/units.rs", "pub(super) fn f() {}", 0),
        (&unfinished, "src/units.rs", todo, 1),
        (&unfinished, "tests/suite/a.rs", todo_macro, 1),
        (
            &unfinished,
            "src/units.rs",
            "// what todo with a hacksaw",
            0,
        ),
        (
            &words,
            "src/render/words.rs",
            "let s = \"the Ledger says\";",
            1,
        ),
        (
            &words,
            "src/render/words.rs",
            "let s = r\"a bus asleep\";",
            1,
        ),
        (
            &words,
            "src/cli/mod.rs",
            "let (q, s) = ('\\'', \"written to the journal\");",
            1,
        ),
        (
            &words,
            "src/cli/mod.rs",
            "let (q, s) = ('\"', \"journal\");",
            1,
        ),
        (
            &words,
            "src/cli/mod.rs",
            "fn f<'a>(journal: &'a str) { \"a busy day\" }",
            0,
        ),
        (
            &words,
            "src/cli/mod.rs",
            "// the journal\nuse crate::journal::Entry;",
            0,
        ),
        (&words, "src/ledger.rs", "let s = \"ledger\";", 0),
        (
            &words,
            "src/cli/mod.rs",
            "let s = \"a \\\" b\"; let journal = 'b'; let t = \"c\";",
            0,
        ),
        (
            &sentences,
            "src/feeds/check.rs",
            "let f = words::no_place(name, \"no place here\");",
            1,
        ),
        (
            &sentences,
            "src/feeds/check.rs",
            "words::no_place(\n    f(name),\n    \"no place here\",\n)",
            1,
        ),
        (
            &sentences,
            "src/feeds/check.rs",
            "words::no_place(\"place\", f(name));\nlet s = \"a text\";",
            0,
        ),
        (
            &sentences,
            "src/problem/words/feeds.rs",
            "words::no_place(\"no place here\")",
            0,
        ),
        (
            &sentences,
            "src/render/tree.rs",
            "words::capital(\"a place\")",
            0,
        ),
    ];
    for (rule, path, text, expected) in table {
        assert_eq!(rule(path, text).len(), expected, "{path}: {text}");
    }
    for (path, expected) in [
        ("src/util.rs", true),
        ("src/cli/helpers.rs", true),
        ("tests/suite/common/mod.rs", true),
        ("src/feeds.rs", false),
        ("src/utility_lamps.rs", false),
    ] {
        assert_eq!(says_nothing(path), expected, "{path}");
    }
}
