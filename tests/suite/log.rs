//! Current logs whose truth is known: what was put in is found, in any unit and any way of writing.

use halfsplit::log::{Findings, Gather, Pattern, Rows, Sample, Who, causes, find};
use halfsplit::quantity::Milliamps;
use std::fmt::Write as _;
use std::io::Write as _;
use std::process::{Command, Stdio};

/// A draw every two seconds for three hours: 5 A awake, asleep from 25 min at 30 mA; telematics +160 mA
/// for 45 s every 9.5 min (as makers' tables have it); from 120 min something takes 300 mA more.
fn night(with_step: bool) -> Vec<Sample> {
    (0..5400)
        .map(|at| {
            let min = f64::from(at) / 30.0;
            // Noise of a milliamp either way, the same every time.
            let noise = f64::from((at * 7919) % 21 - 10) / 10.0;
            let level = if min < 25.0 { 5000.0 } else { 30.0 };
            let burst = if min >= 25.0 && min % 9.5 < 0.75 {
                160.0
            } else {
                0.0
            };
            let step = if with_step && min >= 120.0 {
                300.0
            } else {
                0.0
            };
            let ma = level + burst + step + noise;
            Sample::at(min, ma)
        })
        .collect()
}

fn found(samples: Vec<Sample>) -> Findings {
    find(samples, Milliamps::of(50.0)).unwrap()
}

fn near(value: f64, truth: f64, off: f64) {
    assert!(
        (value - truth).abs() <= off,
        "{value}, truth {truth} ± {off}"
    );
}

#[test]
fn settle_plateau_bursts_and_a_step() {
    for with_step in [false, true] {
        let said = found(night(with_step));
        assert!(said.asleep, "{said:?}");
        near(said.settle_min.unwrap(), 25.0, 1.0);
        near(said.plateau_ma, 30.0, 1.0);
        assert_eq!(said.bursts.len(), 1, "{said:?}");
        let burst = &said.bursts[0];
        near(burst.period_min.unwrap(), 9.5, 0.1);
        near(burst.size_ma, 160.0, 3.0);
        near(burst.length_s, 45.0, 4.0);
        assert!((15..=17).contains(&burst.at_min.len()), "{said:?}");
        assert_eq!(said.steps.len(), usize::from(with_step), "{said:?}");
        for step in said.steps {
            near(step.at_min, 120.0, 1.0);
            near(step.change_ma, 300.0, 3.0);
        }
    }
}

#[test]
fn what_never_settles_is_not_called_asleep() {
    let flat = |ma: f64| (0..3600).map(move |at| Sample::at(f64::from(at) / 60.0, ma));
    assert!(found(flat(30.0).collect()).asleep);
    assert!(!found(flat(640.0).collect()).asleep);
    let awake: Vec<_> = night(false).into_iter().filter(|s| s.min < 20.0).collect();
    assert!(!found(awake).asleep);
    assert!(find(flat(30.0).take(9).collect(), Milliamps::of(50.0)).is_none());
}

#[test]
fn a_burst_that_comes_three_times_at_odd_times_has_no_period() {
    let at_odd = |min: f64| {
        [20.0, 31.0, 77.0]
            .iter()
            .any(|at| (*at..at + 2.0).contains(&min))
    };
    let samples = (0..3600).map(|at| {
        let min = f64::from(at) / 30.0;
        let ma = if at_odd(min) { 530.0 } else { 30.0 };
        Sample::at(min, ma)
    });
    let said = found(samples.collect());
    assert_eq!(said.bursts.len(), 1, "{said:?}");
    assert_eq!(
        (said.bursts[0].period_min, said.bursts[0].at_min.len()),
        (None, 3)
    );
    near(said.bursts[0].length_s, 120.0, 4.0);
    assert!(said.steps.is_empty(), "{said:?}");
}

/// The same two rows, 30 mA then 31 mA a minute later, as loggers write them.
#[test]
fn each_way_of_writing_is_read() {
    let table: [(&[&str], &[&str], &[&str]); 8] = [
        (&["time s", "current mA"], &["0", "30"], &["60", "31"]),
        (
            &["Time (min)", "I [A]"],
            &["0,0", "0,030"],
            &["1,0", "0,031"],
        ),
        (
            &["nr", "t [s]", "I (mA)"],
            &["1", "0", "30"],
            &["2", "60", "31"],
        ),
        (
            &["time", "draw"],
            &["23:59:30", "30 mA"],
            &["00:00:30", "0.031 A"],
        ),
        (
            &["stamp", "mA"],
            &["2026-02-28T23:59:30Z", "30"],
            &["2026-03-01T00:00:30Z", "31"],
        ),
        (
            &["Datum", "Zeit", "Strom mA"],
            &["31.12.2026", "23:59:30", "30"],
            &["01.01.2027", "00:00:30", "31"],
        ),
        (
            &["date time", "A"],
            &["12/31/2026 23:59:30", "3.0E-2"],
            &["01/01/2027 00:00:30", "3.1E-2"],
        ),
        (
            &["elapsed ms", "current uA"],
            &["0", "30000"],
            &["60000", "31000"],
        ),
    ];
    for (head, first, second) in table {
        let mut rows = Rows::new(None);
        assert_eq!(rows.row(head), Ok(None), "{head:?}");
        let one = rows
            .row(first)
            .unwrap()
            .unwrap_or_else(|| panic!("{first:?}"));
        let two = rows
            .row(second)
            .unwrap()
            .unwrap_or_else(|| panic!("{second:?}"));
        near(two.min - one.min, 1.0, 1e-6);
        near(one.ma, 30.0, 1e-9);
        near(two.ma, 31.0, 1e-9);
    }
    assert!(
        Rows::new(None).row(&["0", "30"]).is_err(),
        "a current without a unit"
    );
    assert!(Rows::new(Some(1000.0)).row(&["0", "0.03"]).is_ok());
}

fn run(input: &[u8], arguments: &[&str]) -> (Option<i32>, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A run that refuses early does not read to the end.
    let _ = child.stdin.take().unwrap().write_all(input);
    let done = child.wait_with_output().unwrap();
    (done.status.code(), String::from_utf8(done.stdout).unwrap())
}

#[test]
fn a_log_through_a_pipe_is_answered_as_the_schema_says() {
    let mut text = "logger 3\ntime s;current A\n".to_owned();
    for sample in night(true) {
        let row = format!("{:.0};{:.4}\n", sample.min * 60.0, sample.ma / 1000.0);
        text.push_str(&row.replace('.', ","));
    }
    text.push_str("OL;OL\n\"\n");
    let (code, out) = run(text.as_bytes(), &["log", "-", "--json"]);
    assert_eq!(code, Some(0));
    let late = late_relay();
    let (_, relay) = run(late.as_bytes(), &["log", "-", "--json"]);
    let read = |out: &str| serde_json::from_str(out).unwrap();
    crate::schemas::exact("log", &[read(&out), read(&relay)]);
    // What it says is taken by a case as it stands.
    let (_, entries) = run(text.as_bytes(), &["log", "-", "--entries"]);
    let setting = crate::driver::sample("large-van");
    let mut case = halfsplit::case::Case::new(&setting);
    for entry in entries.lines() {
        assert_eq!(case.record(entry).unwrap().entries[0].text, entry);
    }
    assert!(
        entries.starts_with("comes 160mA every 9.5min for 4"),
        "{entries}"
    );
    assert!(entries.contains("comes 300mA after 120min\n"), "{entries}");
    assert_eq!(case.comes().len(), 2);
    assert_eq!(case.logs().len(), 1);
    let van = "sample-vehicles/quarto-van.ron";
    let (code, out) = run(text.as_bytes(), &["log", "-", "--vehicle", van]);
    assert_eq!(code, Some(0));
    assert!(out.contains("every 9.5 min"), "{out}");
    for hostile in [
        &b""[..],
        b"\xff\xfe\x00;\x1b[2J",
        b"a,b\nc,d\n",
        b"1,2\n3,4\n",
        b";;;\n;;\n",
    ] {
        assert_eq!(run(hostile, &["log", "-"]).0, Some(1), "{hostile:?}");
    }
}

/// What is seen, on which sample vehicle, and who fits it best; `-` for nobody.
#[test]
fn who_fits_by_size_period_length_and_kind() {
    let pattern = |size, every, lasts| Pattern {
        size,
        every,
        lasts,
        after: None,
    };
    let table = [
        // The van's telematics module takes 220 mA awake, of which some asleep already.
        (
            "large-van",
            pattern(215.0, Some(9.5), Some(0.75)),
            "telematics module",
        ),
        // A coil of 150 mA by the file that stays on.
        ("quarto-van", pattern(150.0, None, None), "K4 coil"),
        // As large as the coil, but it comes for a second each: no relay.
        ("quarto-van", pattern(150.0, Some(5.0), Some(0.02)), "-"),
        ("quarto-van", pattern(0.5, Some(5.0), Some(0.02)), "-"),
    ];
    for (vehicle, seen, who) in table {
        let setting = crate::driver::sample(vehicle);
        let feeds = &setting.feeds;
        let found = causes(feeds, &seen);
        let name = found.first().map_or("-", |first| match first.who {
            Who::Part(part) => feeds.id(part),
            Who::Module(module) => &feeds.module(module).id.value,
            Who::Network(network) => feeds.network(network),
        });
        assert_eq!(name, who, "{vehicle} {seen:?}: {found:?}");
        for one in &found {
            assert!(one.factor > 1.0 && !one.fits.is_empty(), "{one:?}");
        }
    }
}

/// Every row many times over: longer than what is kept, and the same is found.
#[test]
fn a_long_log_says_the_same_as_a_short_one() {
    let short = found(night(true));
    let mut gather = Gather::default();
    let times = 240;
    for sample in night(true) {
        for part in 0..times {
            let later = f64::from(part) / f64::from(times) / 30.0;
            gather.add(Sample::at(sample.min + later, sample.ma));
        }
    }
    assert!(gather.rows_each() > 1, "it was long enough to be thinned");
    let samples = gather.samples();
    assert!(samples.len() <= 1 << 19);
    let long = found(samples);
    near(long.plateau_ma, short.plateau_ma, 0.5);
    near(long.mean_ma, short.mean_ma, 0.02 * short.mean_ma);
    near(long.settle_min.unwrap(), short.settle_min.unwrap(), 0.1);
    assert_eq!(long.bursts.len(), 1);
    assert_eq!(long.bursts[0].at_min.len(), short.bursts[0].at_min.len());
    near(long.bursts[0].length_s, short.bursts[0].length_s, 2.0);
    assert_eq!(long.steps.len(), 1);
}

/// A peak of one row among many keeps its height and its charge.
#[test]
fn a_short_peak_survives_in_a_long_log() {
    let mut gather = Gather::default();
    let rows = 3 << 19;
    for row in 0..rows {
        let peak = row % 200_000 == 100_000;
        gather.add(Sample::at(
            f64::from(row) / 600.0,
            if peak { 5030.0 } else { 30.0 },
        ));
    }
    assert_eq!(gather.rows_each(), 4);
    let said = found(gather.samples());
    near(said.plateau_ma, 30.0, 1.0);
    assert_eq!(said.bursts.len(), 1, "{:?}", said.bursts);
    let burst = &said.bursts[0];
    near(burst.size_ma, 5000.0, 1.0);
    near(burst.length_s, 0.1, 0.01);
    near(burst.period_min.unwrap(), 333.3, 0.1);
}

/// The drawing holds what was found, in words and inside the page.
#[test]
fn the_drawing_says_what_was_found() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("night <1>.csv");
    let mut text = "time s,current mA\n".to_owned();
    for sample in night(true) {
        writeln!(text, "{:.0},{:.2}", sample.min * 60.0, sample.ma).unwrap();
    }
    std::fs::write(&log, text).unwrap();
    let van = "sample-vehicles/large-van.ron";
    let log = log.to_str().unwrap();
    let (code, drawn) = run(b"", &["log", log, "--vehicle", van, "--out", "-"]);
    assert_eq!(code, Some(0));
    let document = roxmltree::Document::parse(&drawn).unwrap();
    let of = |name: &'static str| {
        document
            .descendants()
            .filter(move |node| node.has_tag_name(name))
    };
    let page: f64 = of("rect")
        .next()
        .unwrap()
        .attribute("width")
        .unwrap()
        .parse()
        .unwrap();
    let mut words = String::new();
    for node in of("text") {
        let text = node.text().unwrap_or_default();
        let x: f64 = node.attribute("x").unwrap().parse().unwrap();
        let wide = text.chars().count() as f64 * 0.605 * 3.5;
        if node.attribute("class") == Some("") {
            assert!(x + wide <= page, "{text:?} leaves the page");
        }
        words.push_str(text);
        words.push(' ');
    }
    for part in [
        "night <1>.csv",
        "every 9.5 min",
        "settle: 25 min",
        "(flag)",
        "a: up by 300 mA",
        "limit 50 mA",
    ] {
        assert!(words.contains(part), "{part:?} in {words}");
    }
    let page = folder.path().join("night.html");
    let (code, said) = run(b"", &["log", log, "--out", page.to_str().unwrap()]);
    assert_eq!(code, Some(0));
    assert!(said.contains("plateau"), "{said}");
    assert!(
        std::fs::read_to_string(page)
            .unwrap()
            .contains("<meta name=\"viewport\"")
    );
}

/// Awake for ten minutes, then 480 mA until 210 min, then 25 mA, with a comma and the unit in the cell.
fn late_relay() -> String {
    let mut text = "Zeit;Strom\n".to_owned();
    for at in 0..1440 {
        let level = match at {
            0..40 => "5,000",
            40..840 => "0,480",
            _ => "0,025",
        };
        writeln!(text, "{};{level} A", at * 15).unwrap();
    }
    text
}

/// What stays on long after the key is off, and an awake vehicle is no baseline.
#[test]
fn what_stays_on_before_the_settle_is_named() {
    let van = "sample-vehicles/quarto-van.ron";
    let (_, out) = run(late_relay().as_bytes(), &["log", "-", "--vehicle", van]);
    assert!(
        out.contains("before    480 mA stayed on until 3.5 h, then 455 mA less"),
        "{out}"
    );
    assert!(out.contains("draw 25mA"), "{out}");
    let whole = late_relay();
    let first: Vec<&str> = whole.lines().take(40).collect();
    let awake = first.join("\n");
    let (_, out) = run(awake.as_bytes(), &["log", "-"]);
    assert!(!out.contains("baseline"), "{out}");
}
