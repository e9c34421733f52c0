//! The program as it is called: exit codes, streams, data.

use std::process::{Command, Output, Stdio};

fn halfsplit(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    command
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("COLUMNS", "80")
        .stdin(Stdio::null());
    command
}

fn run(arguments: &[&str]) -> Output {
    halfsplit(arguments).output().unwrap()
}

#[test]
fn exit_codes() {
    let table: &[(&[&str], i32)] = &[
        (&["check", "sample-vehicles/teaching-board.ron"], 0),
        (&["check", "tests/problems/larger-than-above.ron"], 0), // a warning only
        (&["check", "tests/problems/duplicate-id.ron"], 1),
        (&["check", "tests/problems/duplicate-id.ron", "--json"], 1),
        (&["tree", "sample-vehicles/teaching-board.ron"], 0),
        (&["tree", "tests/problems/larger-than-above.ron"], 0),
        (&["tree", "tests/problems/duplicate-id.ron"], 1),
        (&["tree", "no-such-file.ron"], 3),
        (&["fmt", "--check", "sample-vehicles/teaching-board.ron"], 1),
        (
            &["fmt", "--check", "--out", "-", "tests/problems/shape.ron"],
            2,
        ),
        (&["fmt", "tests/problems/syntax.ron"], 1),
        (
            &[
                "fmt",
                "--out",
                "no-such-folder/a.ron",
                "sample-vehicles/teaching-board.ron",
            ],
            3,
        ),
        (&["amps", "drop", "1.0mV", "across", "Regular", "10A"], 0),
        (&["amps", "drop 1.0mV across Regular 10A", "--json"], 0),
        (&["amps"], 2),
        (&["amps", "drop", "1.0", "across", "Regular", "10A"], 2),
        (&["amps", "drop 1.0mV across Glass 10A"], 1), // nothing is known about it
        (
            &[
                "amps",
                "clamp 1A",
                "--instruments",
                "tests/instrument-problems/no-step.ron",
            ],
            1,
        ),
        (
            &["amps", "clamp 1A", "--instruments", "no-such-file.ron"],
            3,
        ),
        (&["intake", "--days", "10", "--capacity", "60Ah"], 0),
        (&["intake", "--draw", "50mA", "--reserve", "100min"], 0),
        (&["intake", "--volts", "12.2V"], 0),
        (&["intake", "--case", "no-such.case"], 3),
        (&["intake", "--capacity", "60Ah"], 2),
        (&["intake", "--days", "10"], 2),
        (&["intake", "--days", "10", "--capacity", "60"], 2),
        (&["intake", "--draw", "0mA", "--capacity", "60Ah"], 2),
        (
            &[
                "intake",
                "--days",
                "10",
                "--vehicle",
                "tests/problems/no-id.ron",
            ],
            1,
        ),
        (
            &["export", "sample-vehicles/teaching-board.ron", "--out", "-"],
            0,
        ),
        (&["export", "sample-vehicles/teaching-board.ron"], 2),
        (
            &["import", "tests/table-problems/guessed.csv", "--out", "-"],
            0,
        ),
        (
            &["import", "tests/table-problems/ring.csv", "--out", "-"],
            1,
        ),
        (&["import", "no-such-table.csv", "--out", "-"], 3),
        (&["picture", "sample-vehicles/coach.ron", "--out", "-"], 0),
        (
            &["picture", "tests/problems/duplicate-id.ron", "--out", "-"],
            1,
        ),
        (&["picture", "sample-vehicles/coach.ron"], 2),
        (
            &[
                "picture",
                "sample-vehicles/coach.ron",
                "--out",
                "no-such-folder/a.svg",
            ],
            3,
        ),
        (&["chekc"], 2),
        (&["--help"], 0),
        (&["check", "no-such-file.ron"], 3),
    ];
    for (arguments, expected) in table {
        assert_eq!(
            run(arguments).status.code(),
            Some(*expected),
            "{arguments:?}"
        );
    }
}

#[test]
fn a_missing_file_is_named_on_standard_error_only() {
    let output = run(&["check", "no-such\u{1b}[31m-file.ron"]);
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(output.stdout.is_empty());
    assert!(error.contains("cannot read no-such"), "{error}");
    assert!(!error.contains('\u{1b}'), "{error}");
}

#[test]
fn json_counts_parts_and_places_problems() {
    let output = run(&["check", "tests/problems/no-unit.ron", "--json"]);
    let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let first = &value["problems"][0];
    // Where `12` stands in tests/problems/no-unit.ron.
    assert_eq!(
        (&first["line"], &first["column"], &first["column_end"]),
        (&5.into(), &35.into(), &37.into())
    );
    assert_eq!(first["severity"], "error");
    let sound = run(&["check", "sample-vehicles/quarto-van.ron", "--json"]);
    let value: serde_json::Value = serde_json::from_slice(&sound.stdout).unwrap();
    assert_eq!(value["parts"]["Fuse"], 3);
    assert_eq!(value["problems"].as_array().unwrap().len(), 0);
}

#[test]
fn the_tree_of_a_broken_file_is_no_answer() {
    for arguments in [
        &["tree", "tests/problems/duplicate-id.ron"][..],
        &["tree", "tests/problems/duplicate-id.ron", "--json"],
    ] {
        let output = run(arguments);
        assert!(output.stdout.is_empty());
        let error = String::from_utf8(output.stderr).unwrap();
        assert!(
            error.contains("duplicate-id") && error.contains("help: "),
            "{error}"
        );
    }
}

#[test]
fn the_tree_as_data_is_in_tree_order() {
    let output = run(&["tree", "sample-vehicles/quarto-van.ron", "--json"]);
    let rows: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let rows = rows.as_array().unwrap();
    let id = |n: usize| rows[n]["id"].as_str().unwrap();
    assert_eq!(
        (rows.len(), id(0), id(1), id(2)),
        (14, "battery", "box cable", "L1")
    );
    let lamp = rows.iter().find(|row| row["id"] == "cargo lamp").unwrap();
    let expected = serde_json::json!(
        {"id": "cargo lamp", "kind": "Load", "fed_by": "S11", "place": "roof", "plug": "C114"});
    assert_eq!(*lamp, expected);
}

#[test]
fn fmt_lays_a_file_out_where_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("van.ron");
    std::fs::copy("sample-vehicles/quarto-van.ron", &file).unwrap();
    let name = file.to_str().unwrap();
    let codes = [
        run(&["fmt", "--check", name]),
        run(&["fmt", name]),
        run(&["fmt", "--check", name]),
    ]
    .map(|output| output.status.code());
    assert_eq!(codes, [Some(1), Some(0), Some(0)]);
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(
        text.contains("  // loads not entered yet: itself a suspect\n"),
        "{text}"
    );
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "{left:?}");
    let shown = run(&["fmt", "--out", "-", "sample-vehicles/quarto-van.ron"]);
    assert_eq!(String::from_utf8(shown.stdout).unwrap(), text);
}

#[test]
fn fmt_reads_standard_input() {
    let piped = halfsplit(&["fmt", "-"])
        .stdin(std::fs::File::open("sample-vehicles/teaching-board.ron").unwrap())
        .output()
        .unwrap();
    let named = run(&["fmt", "--out", "-", "sample-vehicles/teaching-board.ron"]);
    assert_eq!(piped.stdout, named.stdout);
    assert!(piped.stdout.starts_with(b"// Invented: "));
}

#[test]
fn a_vehicle_goes_out_as_a_table_and_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("van.csv");
    let table = table.to_str().unwrap();
    let van = "sample-vehicles/large-van.ron";
    let output = run(&["export", van, "--out", table]);
    assert!(output.stdout.is_empty() && output.status.success());
    let back = run(&["import", table, "--like", van, "--out", "-"]);
    assert!(
        back.stderr.is_empty(),
        "{:?}",
        String::from_utf8(back.stderr)
    );
    let back = String::from_utf8(back.stdout).unwrap();
    // The same as the van laid out anew, but for its comments and blank lines.
    let laid_out = run(&["fmt", "--out", "-", van]).stdout;
    let code = |text: &str| {
        let lines = text
            .lines()
            .map(|line| line.split(" // ").next().unwrap().trim_end());
        let lines = lines.filter(|line| !line.is_empty() && !line.trim_start().starts_with("//"));
        lines.map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(code(&back), code(&String::from_utf8(laid_out).unwrap()));
    let alone = run(&["import", table, "--out", "-"]);
    let alone = String::from_utf8(alone.stdout).unwrap();
    assert!(alone.contains("name: \"van\""), "{alone}");
}

#[test]
fn a_table_is_read_in_the_letters_it_was_saved_in() {
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("van.csv");
    let text = "id;kind;fed by;place\nbattery;Battery;;bay\nF1;Fuse;battery;Fußraum é\n";
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    let mut wide = vec![0xff, 0xfe];
    wide.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
    for (bytes, called) in [(latin, "windows-1252"), (wide, "UTF-16LE")] {
        std::fs::write(&table, bytes).unwrap();
        let done = run(&["import", table.to_str().unwrap(), "--out", "-"]);
        let told = String::from_utf8(done.stderr).unwrap();
        assert!(
            told.contains(&format!("not UTF-8; read as {called}")),
            "{told}"
        );
        let file = String::from_utf8(done.stdout).unwrap();
        assert!(file.contains("at: \"Fußraum é\""), "{file}");
    }
    let vehicle = folder.path().join("van.ron");
    std::fs::write(&vehicle, b"Vehicle(\n  name: \"caf\xe9\"").unwrap();
    let told = run(&["check", vehicle.to_str().unwrap()]).stderr;
    let told = String::from_utf8(told).unwrap();
    assert!(
        told.ends_with("line 2 is not UTF-8; save the file as UTF-8\n"),
        "{told}"
    );
}

#[test]
fn an_import_says_what_it_wrote_and_writes_over_nothing_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (table, vehicle) = (at("van.csv"), at("van.ron"));
    let import = |more: &[&str]| {
        let told = run(&[&["import", &table, "--out", &vehicle], more].concat());
        let text = String::from_utf8(told.stderr).unwrap();
        (told.status.code().unwrap(), text)
    };
    let rows = "id,kind,fed by,place\nbattery,Battery,,bay\nF1,Fuse,battery,bay\n";
    std::fs::write(&table, rows).unwrap();
    let (code, told) = import(&[]);
    assert_eq!(code, 0, "{told}");
    assert!(told.contains("2 parts in 1 place; "), "{told}");
    assert!(told.contains("Minutes to bay are taken to be "), "{told}");
    assert_eq!(import(&[]).0, 0, "the same again loses nothing");
    let mended = std::fs::read_to_string(&vehicle).unwrap() + "// by hand\n";
    std::fs::write(&vehicle, &mended).unwrap();
    let (code, told) = import(&[]);
    assert_eq!(code, 1);
    assert!(told.contains("or --replace to write over it"), "{told}");
    assert_eq!(std::fs::read_to_string(&vehicle).unwrap(), mended);
    assert_eq!(import(&["--replace"]).0, 0);
    assert_ne!(std::fs::read_to_string(&vehicle).unwrap(), mended);
}

#[test]
fn a_refused_table_leaves_the_file_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("van.ron");
    std::fs::write(&file, "mine").unwrap();
    let output = run(&[
        "import",
        "tests/table-problems/ring.csv",
        "--out",
        file.to_str().unwrap(),
    ]);
    assert_eq!(output.status.code(), Some(1));
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains("C4: S1, F2 feed each other"), "{error}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn a_dumb_terminal_gets_plain_characters() {
    let output = halfsplit(&["check", "tests/problems/no-unit.ron"])
        .env("TERM", "dumb")
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("type mA(12)"), "{text}");
    assert!(text.is_ascii(), "{text}");
    let output = halfsplit(&["tree", "sample-vehicles/quarto-van.ron"])
        .env("TERM", "dumb")
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("+-- cargo lamp  lamp [roof], C114"), "{text}");
    assert!(text.is_ascii(), "{text}");
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let output = halfsplit(&["check", "tests/problems/no-unit.ron"])
        .stdout(writer)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
        .wait_with_output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty());
}

#[test]
fn a_current_as_data_with_its_working() {
    let fine = "sample-vehicles/instruments/fine-meter-clamp-loop.ron";
    let ask = |question: &str| {
        let output = run(&["amps", question, "--instruments", fine, "--json"]);
        let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert!(!value["working"].as_array().unwrap().is_empty());
        value
    };
    // 0.40 mV / 7.70 mΩ; the interval: 0.3888 / 8.855 and 0.4112 / 6.545.
    let current = ask("drop 0.40mV across Regular 10A");
    let of = |end: &str| current["ma"][end].as_f64().unwrap();
    assert!((of("best") - 51.948).abs() < 0.001);
    assert!((of("low") - 43.907).abs() < 0.001, "{current}");
    assert!((of("high") - 62.827).abs() < 0.001, "{current}");
    assert!(ask("40mA across Regular 10A")["mv"]["best"].is_number());
    let refused = run(&["amps", "drop 1.0 across Regular 10A", "--json"]);
    assert!(refused.stdout.is_empty());
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(said.contains("halfsplit amps drop 1.0mV across Regular 10A"));
}

/// A minus in front of a reading is no option, and an option behind the reading is no part of it.
#[test]
fn a_negative_reading_needs_no_dashes() {
    let ask = |arguments: &[&str]| {
        let output = run(&[&["amps"], arguments].concat());
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let expected = ask(&["drop -2.1mV across Regular 10A"]);
    assert!(expected.starts_with("-353 mA to -213 mA"), "{expected}");
    let typed: [&[&str]; 4] = [
        &["drop", "-2.1mV", "across", "Regular", "10A"],
        &["drop", "-2.1", "mV", "across", "Regular", "10A"],
        &["drop", "-2,1mV", "across", "Regular", "10A"],
        &["--", "drop", "-2.1mV", "across", "Regular", "10A"],
    ];
    for typed in typed {
        assert_eq!(ask(typed), expected, "{typed:?}");
    }
    let data = ask(&["drop", "-2.1mV", "across", "Regular", "10A", "--json"]);
    let data: serde_json::Value = serde_json::from_str(&data).unwrap();
    assert_eq!(data["ma"]["best"], -272.727);
    // As in a cold bay: the option's own minus stays what it is.
    let wrong: [&[&str]; 2] = [
        &["drop", "-2.1mV", "across", "Regular", "10A", "--jsn"],
        &["--tables", "drop", "-2.1mV", "across", "Regular", "10A"],
    ];
    for typed in wrong {
        let output = run(&[&["amps"], typed].concat());
        assert_eq!(output.status.code(), Some(2), "{typed:?}");
    }
    let cold = [
        "drop",
        "-2.1mV",
        "across",
        "Regular",
        "10A",
        "--celsius",
        "-10",
    ];
    assert!(ask(&cold).contains("At -10 °C"));
}

#[test]
fn days_and_draws_as_data() {
    let ask = |arguments: &[&str]| {
        let output = run(&[&["intake", "--json"], arguments].concat());
        serde_json::from_slice::<serde_json::Value>(&output.stdout).unwrap()
    };
    let expected = ask(&["--days", "10", "--capacity", "60Ah"]);
    assert_eq!(expected["expected_ma"], serde_json::json!([100.0, 250.0]));
    assert!(expected["days"].is_null() && expected["draw"].is_null());
    let lasts = ask(&["--draw", "50mA", "--reserve", "100min"]);
    assert_eq!(lasts["days"], serde_json::json!([20.0, 50.0]));
    assert!(lasts["working"].as_array().unwrap().len() > 3);
    // 70 Ah, from the file: 28 Ah in 6 days are 194 mA.
    let van = ["--vehicle", "sample-vehicles/quarto-van.ron"];
    let both = ask(&[&["--days", "6", "--draw", "40mA"], &van[..]].concat());
    assert_eq!(both["draw"], "less");
    assert_eq!(both["expected_ma"][0], 194.444);
    assert_eq!(
        (&both["limit_ma"], &both["limit_from"]),
        (&50.0.into(), &"vehicle file".into())
    );
    let rested = ask(&["--volts", "12.2V", "--draw", "50mA", "--capacity", "60Ah"]);
    assert_eq!(rested["charge_percent"], serde_json::json!([31.25, 68.75]));
    assert_eq!(rested["days_left"], serde_json::json!([0.0, 34.375]));
    assert_eq!(rested["too_low"], true);
    // What was told and read in a case stands for what is not given.
    let (_folder, case) = board_case();
    for told in ["told days 4", "told volts 12.7V"] {
        assert!(run(&["record", &case, told]).status.success());
    }
    let kept = ask(&["--case", &case]);
    assert!(
        kept["days_left"].is_array() && kept["expected_ma"].is_array(),
        "{kept}"
    );
}

/// A case in a folder of its own: the board with a settled draw and one reading.
fn board_case() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let case = folder.path().join("board.case").display().to_string();
    let board = "sample-vehicles/teaching-board.ron";
    let opened = run(&["next", &case, "--vehicle", board]);
    assert_eq!(opened.status.code(), Some(0), "{opened:?}");
    let read = "asleep; draw 640mA by series; drop F1 0.0mV";
    let recorded = run(&["record", &case, read]);
    assert_eq!(recorded.status.code(), Some(0), "{recorded:?}");
    (folder, case)
}

#[test]
fn the_tree_of_a_case_has_the_state_of_each_part() {
    let (_folder, case) = board_case();
    let drawn = String::from_utf8(run(&["tree", &case]).stdout).unwrap();
    let head: Vec<&str> = drawn.lines().take(4).collect();
    assert_eq!(
        head,
        [
            "Teaching board of the travelling library (invented)",
            "state                mA",
            "carrying       603..677  ┬ battery  12 V 7 Ah [board]",
            "not all of it    0..119  ├─┬ F1  fuse 30 A Regular",
        ]
    );
    let output = run(&["tree", &case, "--json"]);
    let rows: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let rows = rows.as_array().unwrap();
    let f6 = rows.iter().find(|row| row["id"] == "F6").unwrap();
    assert_eq!(
        (&f6["kind"], &f6["state"]),
        (&"Fuse".into(), &"in_question".into())
    );
    // 676.4 mA through 20 mΩ at 0.95 times 12 V: by Ohm's law a plain resistance takes 677.2 without.
    let most = 676.4 / (1.0 - 0.6764 * 0.02 / 11.4);
    assert_eq!(f6["ma"], serde_json::json!([0.0, most]));
    assert_eq!(f6["hides_ma"], most);
    // Before anything is read nothing is bounded.
    let undone = run(&["record", &case, "withdraw 2; withdraw 3"]);
    assert_eq!(undone.status.code(), Some(0), "{undone:?}");
    let output = run(&["tree", &case, "--json"]);
    let rows: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(
        (&rows[0]["ma"], &rows[0]["hides_ma"]),
        (&serde_json::json!([0.0, null]), &serde_json::Value::Null)
    );
}

#[test]
fn a_vehicle_file_and_a_case_are_told_apart_by_what_they_hold() {
    let (folder, case) = board_case();
    let under = |name: &str, text: String| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    };
    let text = std::fs::read_to_string(&case).unwrap();
    let van = std::fs::read_to_string("sample-vehicles/quarto-van.ron").unwrap();
    let table = [
        (under("a.ron", format!("// The board.\n\n{text}")), true),
        (under("van.case", van), false),
        (under("empty.case", String::new()), false),
    ];
    for (file, is_case) in table {
        let drawn = String::from_utf8(run(&["tree", &file]).stdout).unwrap();
        assert_eq!(drawn.contains("carrying"), is_case, "{file}: {drawn}");
    }
    let said = run(&["tree", "sample-vehicles/quarto-van.ron", "--vehicle", "x"]);
    assert_eq!(said.status.code(), Some(2), "{said:?}");
}

#[test]
fn why_says_so_when_it_knows_no_such_part() {
    let (_folder, case) = board_case();
    let table: [(&[&str], i32, &str); 5] = [
        (&["why", &case, "boot", "lamp", "--json"], 0, ""),
        (&["why", &case, "--json", "F1"], 0, ""),
        (&["why", &case, "F9"], 2, "this works: halfsplit why "),
        (&["why", &case], 2, "required"),
        (&["why", "no-such.case", "F1"], 3, "there is no case"),
    ];
    for (arguments, code, said) in table {
        let output = run(arguments);
        let error = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(code), "{arguments:?} {error}");
        assert!(error.contains(said), "{arguments:?} {error}");
        if code == 0 {
            let object: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
            assert_eq!(object["state"], "too_small");
            assert_eq!(object["readings"][0]["entry"], 2);
        } else {
            assert!(output.stdout.is_empty());
        }
    }
}

#[test]
fn the_write_up_says_by_its_exit_code_when_nothing_can_be_said() {
    let (_folder, case) = board_case();
    let open = run(&["report", &case]);
    let text = String::from_utf8(open.stdout).unwrap();
    assert_eq!(open.status.code(), Some(0));
    assert!(
        text.starts_with("# Battery drain: Teaching board"),
        "{text}"
    );
    assert!(text.contains("**Not finished.**"), "{text}");
    run(&["record", &case, "drop F5 50.0mV"]);
    let clash = run(&["report", &case]);
    let text = String::from_utf8(clash.stdout).unwrap();
    assert_eq!(clash.status.code(), Some(1));
    assert!(text.contains("These cannot all be true: entry 2"), "{text}");
    assert_eq!(run(&["report", "no-such.case"]).status.code(), Some(3));
}

/// Made from the arguments themselves: every command is in both.
#[test]
fn completions_and_manual_know_every_command() {
    let help = String::from_utf8(run(&["--help"]).stdout).unwrap();
    let commands = help.split("Commands:").nth(1).unwrap();
    let commands = commands.split("Options:").next().unwrap().lines();
    let names: Vec<_> = commands
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .collect();
    assert!(names.len() > 15 && names.contains(&"check"), "{names:?}");
    let folder = tempfile::tempdir().unwrap();
    let pages = folder.path().join("pages/man1");
    assert!(run(&["manual", pages.to_str().unwrap()]).status.success());
    for shell in ["bash", "zsh", "fish"] {
        let script = String::from_utf8(run(&["completions", shell]).stdout).unwrap();
        for name in &names {
            assert!(script.contains(name), "{shell}: {name}");
        }
    }
    for name in &names {
        let page = pages.join(format!("halfsplit-{name}.1"));
        let page = std::fs::read_to_string(&page).unwrap_or_default();
        assert!(page.contains("NAME") && page.contains(name), "{name}");
    }
    assert_eq!(run(&["completions", "abacus"]).status.code(), Some(2));
    assert_eq!(run(&["manual", "Cargo.toml"]).status.code(), Some(3));
}

#[test]
fn exit_codes_of_add() {
    let new = "Load(id: \"a\")";
    let table: &[(&[&str], i32)] = &[
        (&["add", "sample-vehicles/teaching-board.ron"], 2),
        (&["add", "sample-vehicles/teaching-board.ron", new], 2),
        (&["add", "-", "--under", "F1", new], 2),
        (&["add", "no-such-file.ron", "--under", "F1", new], 3),
        (
            &["add", "tests/problems/no-id.ron", "--under", "F1", new],
            1,
        ),
        (
            &["add", "sample-vehicles/quarto-van.ron", "--under", "X", new],
            1,
        ),
        (
            &[
                "add",
                "sample-vehicles/quarto-van.ron",
                "--under",
                "F7",
                new,
                "--out",
                "-",
            ],
            0,
        ),
    ];
    for (arguments, expected) in table {
        let code = run(arguments).status.code();
        assert_eq!(code, Some(*expected), "{arguments:?}");
    }
}
