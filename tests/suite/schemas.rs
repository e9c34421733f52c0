//! The descriptions in `schemas/`, held against what the program prints and what it reads: neither
//! says more than the other.

use crate::table::any_vehicle;
use halfsplit::notation::{Token, tokens};
use halfsplit::problem::Problem;
use halfsplit::vehicle::{self, Comments, FuseStyle, LoadKind, Metal, PartKind, Rest, TestKind};
use halfsplit::{feeds, instruments};
use proptest::prelude::*;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The schema of that name as it stands in the file.
fn schema(name: &str) -> Value {
    let file = root().join(format!("schemas/{name}.schema.json"));
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

/// A schema ready to be held against values.
struct Checker {
    schemas: boon::Schemas,
    index: boon::SchemaIndex,
}

impl Checker {
    /// Checks the schema itself too, against the one of JSON Schema 2020-12.
    fn of(name: &str) -> Self {
        let mut schemas = boon::Schemas::new();
        let mut compiler = boon::Compiler::new();
        let url = format!("http://schemas.invalid/{name}");
        compiler.add_resource(&url, schema(name)).unwrap();
        let index = compiler.compile(&url, &mut schemas).unwrap();
        Self { schemas, index }
    }

    fn why_not(&self, value: &Value) -> Option<String> {
        let found = self.schemas.validate(value, self.index).err();
        found.map(|wrong| format!("{wrong:#}"))
    }

    fn takes(&self, what: &str, value: &Value) {
        if let Some(wrong) = self.why_not(value) {
            panic!("{what}: {wrong}\n{value:#}");
        }
    }
}

/// The names of all fields, each with the way to it, that a schema without references describes.
fn described(schema: &Value, way: &str, found: &mut BTreeSet<String>) {
    for (name, inner) in schema["properties"].as_object().into_iter().flatten() {
        let way = format!("{way}/{name}");
        described(inner, &way, found);
        found.insert(way);
    }
    described_inside(&schema["items"], &format!("{way}/*"), found);
    for inner in schema["oneOf"].as_array().into_iter().flatten() {
        described_inside(inner, way, found);
    }
}

fn described_inside(schema: &Value, way: &str, found: &mut BTreeSet<String>) {
    if schema.is_object() {
        described(schema, way, found);
    }
}

/// The names of all fields, each with the way to it, that a value has.
fn printed(value: &Value, way: &str, found: &mut BTreeSet<String>) {
    for (name, inner) in value.as_object().into_iter().flatten() {
        let way = format!("{way}/{name}");
        printed(inner, &way, found);
        found.insert(way);
    }
    for inner in value.as_array().into_iter().flatten() {
        printed(inner, &format!("{way}/*"), found);
    }
}

/// What the program prints.
fn out(folder: &Path, arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(
        matches!(output.status.code(), Some(0 | 1)),
        "{arguments:?}: {output:?}"
    );
    String::from_utf8(output.stdout).unwrap()
}

/// What the program prints, as JSON; `None` where it prints nothing.
fn run(folder: &Path, arguments: &[&str]) -> Option<Value> {
    let text = out(folder, arguments);
    (!text.is_empty()).then(|| serde_json::from_str(&text).unwrap())
}

/// Holds every value against the schema, and all of them together against all it describes.
pub(crate) fn exact(name: &str, values: &[Value]) {
    let checker = Checker::of(name);
    let mut seen = BTreeSet::new();
    for value in values {
        checker.takes(name, value);
        printed(value, "", &mut seen);
    }
    let mut told = BTreeSet::new();
    described(&schema(name), "", &mut told);
    assert!(told.len() > 3, "{name}: {told:?}");
    let never: Vec<_> = told.difference(&seen).collect();
    assert!(never.is_empty(), "{name}: never printed: {never:?}");
    // A schema that takes anything would have passed all this.
    for wrong in [
        json!(null),
        json!(7),
        json!({"surprise": 1}),
        json!([{"id": 1}]),
    ] {
        assert!(checker.why_not(&wrong).is_some(), "{name} takes {wrong}");
    }
}

#[test]
fn compare_prints_what_is_described() {
    let van = "sample-vehicles/quarto-van.ron";
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(root().join(van)).unwrap();
    // A splice comes between L1 and K4.
    let moved = text.replace(
        "Relay(id: \"K4\"",
        "Splice(id: \"S4\", feeds: [Relay(id: \"K4\"",
    );
    let moved = moved.replace("at: \"bonnet box\")]),", "at: \"bonnet box\")])]),");
    assert_ne!(moved, text);
    let file = folder.path().join("moved.ron");
    std::fs::write(&file, moved).unwrap();
    let pairs = [
        (van, van),
        (van, "sample-vehicles/teaching-board.ron"),
        (van, file.to_str().unwrap()),
    ];
    let found = pairs.map(|(a, b)| run(root(), &["compare", a, b, "--json"]).unwrap());
    assert_eq!(found[2]["refed"][0]["id"], "K4");
    exact("compare", &found);
}

#[test]
fn check_amps_and_intake_print_what_is_described() {
    let files = |folder: &str| {
        let files = std::fs::read_dir(root().join(folder)).unwrap();
        let files = files.map(|file| file.unwrap().path());
        files.filter(|file| file.extension().is_some_and(|e| e == "ron"))
    };
    let mut checked = Vec::new();
    for file in files("sample-vehicles")
        .chain(files("tests/problems"))
        .chain(files("tests/questions"))
        .chain(files("schemas"))
    {
        let file = file.to_str().unwrap().to_owned();
        checked.extend(run(root(), &["check", &file, "--json"]));
    }
    assert!(checked.len() > 50);
    exact("check", &checked);
    let asked = [
        "drop 1.0mV across Regular 10A",
        "drop 1.9mV across wire 0.5mm2 1m",
        "drop 0.2mV across 4.8mOhm",
        "clamp 3.05A turns 5",
        "clamp OL",
        "clamp 42mV scale 1mV/10mA turns 5",
        "series 0.61A",
        "40mA across Regular 10A",
        "resistance",
        "resistance 19.8mV with 2.50A across Regular 10A",
        "resistance 7.8mV with 1.00A",
    ];
    let amps = asked.map(|asked| run(root(), &["amps", asked, "--json"]));
    exact("amps", &amps.into_iter().flatten().collect::<Vec<_>>());
    let tables = [
        &["amps", "--tables", "--json"][..],
        &["amps", "--tables", "--json", "--celsius", "-10"],
    ];
    let tables = tables.map(|asked| run(root(), asked).unwrap());
    exact("reference", &tables);
    let intake = [
        &["--days", "10", "--capacity", "60Ah"][..],
        &["--draw", "50mA", "--reserve", "100min"],
        &[
            "--days",
            "6",
            "--draw",
            "640mA",
            "--vehicle",
            "sample-vehicles/quarto-van.ron",
        ],
        &["--volts", "12.2V", "--draw", "0.2A", "--capacity", "60Ah"],
        &["--volts", "25.2V"],
    ];
    let intake = intake.map(|asked| run(root(), &[&["intake", "--json"][..], asked].concat()));
    exact("intake", &intake.into_iter().flatten().collect::<Vec<_>>());
}

/// Cases as they go: the vehicle, the instruments, the entries, and what is asked about at the end.
const CASES: &[(&str, &str, &[&str], &[&str])] = &[
    (
        "quarto-van",
        "plain-meter",
        &[
            "prepared",
            "asleep",
            "draw 640mA by series",
            "drop F3 2.1mV",
            "unplug C114",
            "asleep",
            "draw 30.1mA by series",
            "refit C114",
            "asleep",
            "draw 640mA by series",
            "unplug C114",
        ],
        &["cargo lamp", "F3", "L1"],
    ),
    (
        "quarto-van",
        "plain-meter",
        &[
            "asleep",
            "draw 640mA by series",
            "drop F7 0.0mV",
            "drop F3 4.9mV",
        ],
        &["F3", "F7", "body module", "S11"],
    ),
    (
        "large-van",
        "fine-meter-clamp-loop",
        &[
            "prepared",
            "asleep",
            "draw 640mA by clamp",
            "drop A6 0.00mV",
            "drop A7 0.35mV",
        ],
        &["A6", "A7", "body module"],
    ),
    (
        "hatchback",
        "meter-and-clamp",
        &["prepared", "asleep", "draw 4A by series"],
        &["F3"],
    ),
    (
        "hatchback",
        "plain-meter",
        &["asleep", "draw 0.93A by series"],
        &["F3"],
    ),
    (
        "teaching-board",
        "plain-meter",
        &[
            "asleep",
            "told rain no",
            "draw 20.0mA by series",
            "comes 640mA every 3h for 20min",
            "told rain yes",
            "draw 640mA by series",
            "told rain no more",
            "draw 20.1mA by series",
        ],
        &["F1"],
    ),
    (
        "teaching-board",
        "plain-meter",
        &[
            "asleep",
            "draw 640mA by series",
            "drop F2 5.0mV",
            "pull F3, F4, F6",
            "unplug C1",
            "asleep",
            "draw 11mA by series",
        ],
        &["F3"],
    ),
];

#[test]
fn next_why_tree_and_report_print_what_is_described() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (mut next, mut why, mut tree) = (Vec::new(), Vec::new(), Vec::new());
    let mut reports = Vec::new();
    for (number, (vehicle, kit, entries, asked)) in CASES.iter().enumerate() {
        let vehicle = root().join(format!("sample-vehicles/{vehicle}.ron"));
        let kit = root().join(format!("sample-vehicles/instruments/{kit}.ron"));
        let (vehicle, kit) = (vehicle.to_str().unwrap(), kit.to_str().unwrap());
        let case = format!("{number}.case");
        let opened = [
            "next",
            &case,
            "--vehicle",
            vehicle,
            "--instruments",
            kit,
            "--json",
        ];
        next.extend(run(folder, &opened));
        for entry in *entries {
            out(folder, &["record", &case, entry]);
            next.extend(run(folder, &["next", &case, "--json"]));
            tree.extend(run(folder, &["tree", &case, "--json"]));
        }
        for part in *asked {
            why.extend(run(folder, &["why", &case, part, "--json"]));
        }
        tree.extend(run(folder, &["tree", vehicle, "--json"]));
        reports.extend(run(folder, &["report", &case, "--json"]));
        // Told, mended, read again: what only some cases have.
        for entry in [
            "told days 6",
            "comes 640mA every 3h for 20min",
            "repaired F3 chafed wire",
            "refit all",
            "asleep",
            // The lines come faster than the work can be done: only a time that is typed says how long it was.
            &jiff::ZonedDateTime::now()
                .strftime("draw 21.0mA by series at %H:%M")
                .to_string(),
            "note read once",
            "logged 4h",
        ] {
            // Not every case has something out.
            let mut record = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
            record
                .args(["record", &case, entry])
                .current_dir(folder)
                .output()
                .unwrap();
            next.extend(run(folder, &["next", &case, "--json"]));
            if entry.starts_with("note") {
                reports.extend(run(folder, &["report", &case, "--json"]));
            }
        }
        reports.extend(run(folder, &["report", &case, "--json"]));
    }
    exact("report", &reports);
    exact("next", &next);
    exact("why", &why);
    exact("tree", &tree);
}

#[test]
fn plan_prints_what_is_described() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut plans = Vec::new();
    for (number, (vehicle, kit, entries, _)) in CASES.iter().enumerate() {
        let vehicle = root().join(format!("sample-vehicles/{vehicle}.ron"));
        let kit = root().join(format!("sample-vehicles/instruments/{kit}.ron"));
        let (vehicle, kit) = (vehicle.to_str().unwrap(), kit.to_str().unwrap());
        let whole = ["--json", "--compare", "--table", "--instruments", kit];
        plans.extend(run(folder, &[&["plan", vehicle][..], &whole].concat()));
        let case = format!("{number}.case");
        out(
            folder,
            &["next", &case, "--vehicle", vehicle, "--instruments", kit],
        );
        for entry in *entries {
            out(folder, &["record", &case, entry]);
            plans.extend(run(folder, &["plan", &case, "--json"]));
        }
    }
    // Several things pulled together come first.
    std::fs::write(folder.join("box.ron"), crate::out_together::vehicle()).unwrap();
    plans.extend(run(
        folder,
        &["plan", "box.ron", "--json", "--draw", "80mA"],
    ));
    exact("plan", &plans);
}

#[test]
fn drill_prints_what_is_described() {
    let folder = tempfile::tempdir().unwrap();
    let play_so = |how: &str, vehicle: &str, number: &str, lines: &str| {
        let vehicle = root().join(format!("sample-vehicles/{vehicle}.ron"));
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command.args([
            "drill",
            vehicle.to_str().unwrap(),
            "--number",
            number,
            "--json",
            how,
        ]);
        command.current_dir(folder.path());
        command.env("XDG_DATA_HOME", folder.path());
        command.stdin(std::process::Stdio::piped());
        command.stdout(std::process::Stdio::piped());
        command.stderr(std::process::Stdio::null());
        let mut child = command.spawn().unwrap();
        std::io::Write::write_all(&mut child.stdin.take().unwrap(), lines.as_bytes()).unwrap();
        let out = String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap();
        serde_json::from_str(out.lines().last().unwrap()).unwrap()
    };
    let play =
        |vehicle: &str, number: &str, lines: &str| play_so("--predict", vehicle, number, lines);
    let values: [Value; 6] = [
        play_so(
            "--board",
            "exercises/04-one-lamp",
            "4",
            "prepared\nasleep\ndraw 0.42A\nanswer glovebox lamp at C2\n",
        ),
        play(
            "exercises/04-one-lamp",
            "4",
            "prepared\nasleep\ndraw\ndrop F1\nnothing\nskip\ndrop F2\nskip\nskip\nunplug C2\nasleep\n\
             draw\nrefit C2\nasleep\ndraw\nanswer glovebox lamp at C2 proven\n",
        ),
        play("exercises/02-a-drop-to-milliamps", "2", "reply 3 no\n"),
        play(
            "teaching-board",
            "7",
            "prepared\nasleep\ndraw\ndrop F5\nnothing\nbelow\npull F6\nanswer blower at C9\n",
        ),
        play(
            "teaching-board",
            "7",
            "drop F2\nbecause it is near\nhint\nanswer siren at C5 proven\n",
        ),
        play("quarto-van", "3", "prepared\n"),
    ];
    exact("drill", &values);
}

#[test]
fn ladders_and_classes_print_what_is_described() {
    let folder = tempfile::tempdir().unwrap();
    let exercises = root().join("sample-vehicles/exercises");
    let run = |told: &[&str], lines: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command.args(told).current_dir(folder.path());
        command.env("XDG_DATA_HOME", folder.path());
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        // One that takes no lines may have ended.
        let _ = std::io::Write::write_all(&mut child.stdin.take().unwrap(), lines.as_bytes());
        String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap()
    };
    let lamp = exercises.join("04-one-lamp.ron");
    let lamp = lamp.to_str().unwrap();
    for (learner, answer) in [
        ("1", "glovebox lamp at C2"),
        ("2", "F2"),
        ("3", "boot lamp proven"),
    ] {
        let attempt = format!("{learner}.drill");
        let told = [
            "drill",
            lamp,
            "--predict",
            "--learner",
            learner,
            "--attempt",
            &attempt,
        ];
        run(
            &told,
            &format!("prepared\nasleep\ndraw\ndrop F2\nrest\nnothing\nanswer {answer}\n"),
        );
    }
    let read = |text: String| -> Value { serde_json::from_str(&text).unwrap() };
    let ladder = exercises.to_str().unwrap();
    let of = |learner: &[&str]| {
        let told = [&["drill", "--ladder", ladder, "--json"], learner].concat();
        read(run(&told, ""))
    };
    let (first, nobody) = (of(&["--learner", "1"]), of(&[]));
    let tried = |listed: &Value| listed["exercises"][3]["tries"].clone();
    assert_eq!(
        (tried(&first), tried(&nobody)),
        (json!(1), json!(0)),
        "each their own"
    );
    exact("ladder", &[first, nobody]);
    let class = read(run(&["class", lamp, ".", "--json"], ""));
    assert_eq!(class["learners"].as_array().unwrap().len(), 3);
    exact("class", &[class]);
}

/// RON in the form that the schemas of files describe. Only for texts that are RON.
fn as_json(text: &str) -> Option<Value> {
    let mut pieces = tokens(text)
        .filter(|(token, _)| *token != Token::Comment)
        .map(|(token, at)| (token, &text[at]))
        .collect::<Vec<_>>();
    pieces.reverse();
    let value = value(&mut pieces)?;
    pieces.is_empty().then_some(value)
}

fn value(rest: &mut Vec<(Token, &str)>) -> Option<Value> {
    match rest.pop()? {
        (Token::Text, text) => Some(json!(ron::from_str::<String>(text).ok()?)),
        (Token::Mark('['), _) => inside(rest, ']').map(|(items, _)| Value::Array(items)),
        (Token::Mark('{'), _) => inside(rest, '}').map(|(_, fields)| Value::Object(fields)),
        (Token::Mark('('), _) => inside(rest, ')').map(|(_, fields)| Value::Object(fields)),
        (Token::Word, word) => {
            if rest.last() != Some(&(Token::Mark('('), "(")) {
                return Some(match word.parse::<f64>() {
                    Ok(number) => json!(number),
                    Err(_) if word == "true" || word == "false" => json!(word == "true"),
                    Err(_) => json!(word),
                });
            }
            rest.pop();
            let (mut items, fields) = inside(rest, ')')?;
            let inner = match items.len() {
                0 => Value::Object(fields),
                1 => items.remove(0),
                _ => Value::Array(items),
            };
            Some(json!({ word: inner }))
        }
        _ => None,
    }
}

/// What stands before a closing bracket: values, and values with a key.
fn inside(rest: &mut Vec<(Token, &str)>, close: char) -> Option<(Vec<Value>, Map<String, Value>)> {
    let (mut items, mut fields) = (Vec::new(), Map::new());
    while rest.last()?.0 != Token::Mark(close) {
        let first = value(rest)?;
        if rest.last()?.0 == Token::Mark(':') {
            rest.pop();
            fields.insert(first.as_str()?.to_owned(), value(rest)?);
        } else {
            items.push(first);
        }
        if rest.last()?.0 == Token::Mark(',') {
            rest.pop();
        }
    }
    rest.pop();
    Some((items, fields))
}

fn ron_files(folder: &str) -> Vec<PathBuf> {
    let files = std::fs::read_dir(root().join(folder)).unwrap();
    let mut files: Vec<_> = files
        .map(|file| file.unwrap().path())
        .filter(|file| file.extension().is_some_and(|e| e == "ron"))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "{folder}");
    files
}

#[test]
fn what_can_be_read_is_described() {
    let vehicles = Checker::of("vehicle");
    for file in [ron_files("sample-vehicles"), ron_files("schemas")].concat() {
        let text = std::fs::read_to_string(&file).unwrap();
        vehicles.takes(file.to_str().unwrap(), &as_json(&text).unwrap());
    }
    let exercises = Checker::of("exercise");
    for file in ron_files("sample-vehicles/exercises") {
        let text = std::fs::read_to_string(&file).unwrap();
        exercises.takes(file.to_str().unwrap(), &as_json(&text).unwrap());
    }
    let kits = Checker::of("instruments");
    for file in ron_files("sample-vehicles/instruments") {
        let text = std::fs::read_to_string(&file).unwrap();
        kits.takes(file.to_str().unwrap(), &as_json(&text).unwrap());
    }
}

/// The form of a file tells a schema these faults; names that do not resolve, and the like, it
/// cannot see.
const OF_THE_FORM: &[&str] = &[
    "empty",
    "feeds-not-allowed",
    "misplaced-field",
    "negative",
    "no-accuracy",
    "no-battery",
    "no-field",
    "no-format",
    "no-id",
    "no-name",
    "no-size",
    "no-step",
    "no-turns",
    "no-unit",
    "not-a-number",
    "not-true-or-false",
    "out-of-range",
    "shape",
    "struct-name",
    "unknown-field",
    "unknown-part",
    "unknown-word",
    "wrong-format",
    "wrong-unit",
];

/// Holds a folder of files with planted faults against a schema; returns the codes it refused.
fn refused(folder: &str, name: &str, read: impl Fn(&str) -> Vec<Problem>) -> BTreeSet<String> {
    let checker = Checker::of(name);
    let mut codes = BTreeSet::new();
    for file in ron_files(folder) {
        let text = std::fs::read_to_string(&file).unwrap();
        let Some(value) = as_json(&text) else {
            continue;
        };
        let errors: Vec<_> = read(&text).into_iter().filter(Problem::is_error).collect();
        let of_the_form = errors.iter().find(|p| OF_THE_FORM.contains(&p.code));
        let wrong = checker.why_not(&value);
        if errors.is_empty() {
            assert_eq!(wrong, None, "{}", file.display());
        } else if let Some(problem) = of_the_form {
            let name = file.display();
            assert!(wrong.is_some(), "{name} passes, but: {problem:?}");
            let stem = file.file_stem().unwrap().to_str().unwrap();
            codes.insert(stem.split("--").next().unwrap().to_owned());
        }
    }
    codes
}

#[test]
fn what_is_refused_for_its_form_is_not_described() {
    let mut codes = refused("tests/problems", "vehicle", |text| feeds::load(text).1);
    codes.extend(refused(
        "tests/instrument-problems",
        "instruments",
        |text| instruments::read(text).1,
    ));
    codes.extend(refused("tests/exercise-problems", "exercise", |text| {
        halfsplit::drill::read(text).1
    }));
    let lacking: Vec<_> = OF_THE_FORM
        .iter()
        .filter(|c| !codes.contains(**c))
        .collect();
    assert!(
        lacking.is_empty(),
        "never held against a schema: {lacking:?}"
    );
}

/// The words of a table of the format.
fn table<T>(table: &[(&str, T)]) -> Vec<String> {
    table.iter().map(|(word, _)| (*word).to_owned()).collect()
}

#[test]
fn the_words_are_those_of_the_format() {
    let vehicle = schema("vehicle");
    let words = |pointer: &str| -> Vec<String> {
        let words = vehicle.pointer(pointer).unwrap();
        let words: Vec<_> = match words {
            Value::Array(words) => words
                .iter()
                .map(|w| w.as_str().unwrap().to_owned())
                .collect(),
            Value::Object(words) => words.keys().cloned().collect(),
            other => panic!("{other}"),
        };
        words
    };
    let sorted = |mut words: Vec<String>| {
        words.sort();
        words
    };
    let rows = [
        ("/$defs/part/properties", table(PartKind::TABLE)),
        ("/$defs/style/enum", table(FuseStyle::TABLE)),
        ("/$defs/test/enum", table(TestKind::TABLE)),
        ("/$defs/rest/enum", table(Rest::TABLE)),
        ("/$defs/Load/properties/kind/enum", table(LoadKind::TABLE)),
        (
            "/$defs/wire/properties/Wire/properties/metal/enum",
            table(Metal::TABLE),
        ),
    ];
    for (pointer, expected) in rows {
        assert_eq!(sorted(words(pointer)), sorted(expected), "{pointer}");
    }
}

/// All names of fields that a schema describes, wherever.
fn field_names(schema: &Value, found: &mut BTreeSet<String>) {
    for (name, inner) in schema.as_object().into_iter().flatten() {
        if name == "properties" {
            found.extend(inner.as_object().unwrap().keys().cloned());
        }
        field_names(inner, found);
    }
    for inner in schema.as_array().into_iter().flatten() {
        field_names(inner, found);
    }
}

#[test]
fn the_commented_vehicle_has_every_field() {
    let (mut told, mut used) = (BTreeSet::new(), BTreeSet::new());
    field_names(&schema("vehicle"), &mut told);
    let text = include_str!("../../schemas/vehicle.ron");
    printed(&as_json(text).unwrap(), "", &mut used);
    let used: BTreeSet<_> = used
        .iter()
        .map(|way| way.rsplit('/').next().unwrap())
        .collect();
    // A quantity needs one of its units only.
    let units = [
        "A", "mA", "V", "mV", "Ohm", "mOhm", "Ah", "minutes", "min", "h", "m", "mm",
    ];
    let lacking: Vec<_> = told
        .iter()
        .filter(|name| !used.contains(name.as_str()) && !units.contains(&name.as_str()))
        .collect();
    assert!(lacking.is_empty(), "{lacking:?}");
    assert!(feeds::load(text).1.is_empty());
    let read = vehicle::read(text).0.unwrap();
    let anew = vehicle::write(&read, &Comments::read(text));
    assert_eq!(anew, text, "laid out as fmt does");
}

#[test]
fn each_schema_is_held_against_something() {
    let files = std::fs::read_dir(root().join("schemas")).unwrap();
    let mut names: Vec<_> = files
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let held = [
        "amps",
        "check",
        "class",
        "drill",
        "exercise",
        "compare",
        "instruments",
        "intake",
        "ladder",
        "log",
        "next",
        "plan",
        "reference",
        "report",
        "tree",
        "vehicle",
        "why",
    ];
    let mut held: Vec<_> = held.map(|name| format!("{name}.schema.json")).to_vec();
    held.push("vehicle.ron".to_owned());
    held.sort();
    assert_eq!(names, held);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn whatever_is_written_is_described(vehicle in any_vehicle()) {
        let text = vehicle::write(&vehicle, &Comments::default());
        let value = as_json(&text).unwrap();
        let wrong = Checker::of("vehicle").why_not(&value);
        prop_assert!(wrong.is_none(), "{:?}\n{}", wrong, text);
    }
}
