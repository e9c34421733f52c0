//! What people ran into who tried it at a vehicle: each a short session.

use crate::trace::{Bench, flat};

/// The line that goes on with a case holds all that it was begun with, and pasting it works.
#[test]
fn the_line_that_goes_on_can_be_pasted() {
    let bench = Bench::new();
    let begun = ["quarto-van.ron", "--instruments", "meter-and-clamp.ron"];
    let run = bench.piped(&begun, "prepared\nasleep\n", 80);
    let line = |out: &str| {
        let line = out.lines().find_map(|line| line.strip_prefix("go on     "));
        line.unwrap_or_else(|| panic!("{out}")).to_owned()
    };
    let pasted = line(&run.out);
    assert_eq!(
        pasted,
        "halfsplit trace quarto-van.ron --instruments meter-and-clamp.ron"
    );
    let words: Vec<&str> = pasted.split(' ').skip(2).collect();
    let again = bench.piped(&words, "640mA\n", 80);
    assert_eq!(again.code, Some(0), "{again:?}");
    assert!(again.out.contains("draw 640mA by clamp"), "{}", again.out);
    assert_eq!(line(&again.out), pasted);
    // The vehicle file alone goes on with it too, and says the same.
    let short = bench.piped(&["quarto-van.ron"], "", 80);
    assert_eq!(line(&short.out), pasted);
}

/// `asleep` that was said too early is taken back with `awake`: one settle is counted, and not two.
#[test]
fn a_settle_that_was_said_too_early_is_counted_once() {
    let bench = Bench::new();
    let spent = |lines: &str| {
        let run = bench.van(lines);
        let step = run.screen(0);
        let minutes = step.split(" min spent").next().unwrap();
        let minutes = minutes.rsplit(' ').next().unwrap();
        minutes.parse::<f64>().unwrap_or_else(|_| panic!("{step}"))
    };
    let once = spent("prepared\nasleep\n");
    for early in [
        "prepared\nasleep\nawake\nasleep\n",
        "prepared\nasleep\nnote door was open\nawake\nasleep\n",
        "prepared\nasleep\ntold dead the radio\nawake\nasleep\n",
        "prepared\nasleep\nundo\nasleep\n",
    ] {
        assert!((spent(early) - once).abs() < 0.01, "{early}");
    }
    // It slept, and was woken after a reading: that is another settle.
    let twice = spent("prepared\nasleep\ndraw 640mA\nawake\nasleep\n");
    assert!(twice > 1.9 * once, "{twice}");
}

/// The bridge goes on after each reading of the draw; the meter comes out when no other one follows.
#[test]
fn the_meter_stays_in_for_the_next_reading() {
    let bench = Bench::new();
    let now = |lines: &str| {
        let run = bench.van(lines);
        let said = run.out.split("\nNOW ").last().unwrap().to_owned();
        flat(said.split("\n──").next().unwrap())
    };
    let before = "prepared\nasleep\ndraw 640mA\n";
    let out = "METER OUT: bridge on, meter out of the circuit, red lead back to V.";
    assert_eq!(now(before), out);
    let proof = format!("{before}2.3mV\nlit\n0.64A\ndone\nasleep\n0.03A\n");
    assert_eq!(
        now(&proof),
        "METER STAYS IN: bridge on, and leave it for the next reading."
    );
    assert_eq!(now(&format!("{proof}31.2mA\n")), out);
}

/// A case that is gone on with, and one that was taken back, show the step as the run without a break did,
/// but for what is said once: the set-up of an instrument, how the draw is read, and the care it takes.
#[test]
fn the_same_case_shows_the_same_screen() {
    let bench = Bench::new();
    let step = |out: &str| {
        let step = out.rsplit("\n── ").next().unwrap();
        let step = step.split("\n\n").next().unwrap();
        let mut setup = false;
        let lines = step.lines().filter(|line| {
            if !line.starts_with(' ') {
                let heads = ["with ", "first ", "CAUTION ", "do        Read the draw"];
                setup = heads.iter().any(|head| line.starts_with(head));
            }
            !setup
        });
        lines.collect::<Vec<_>>().join("\n")
    };
    for lines in [
        "prepared\nasleep\ndraw 640mA\n",
        "prepared\nasleep\ndraw 4mA\n",
        "prepared\nasleep\ndraw 640mA\n-2.3mV\n",
        "prepared\nasleep\ndraw 640mA\n2.3mV\nlit\n0.64A\ndone\nasleep\n0.03A\n",
    ] {
        let straight = step(&bench.van(lines).out);
        let again = step(&bench.piped(&["van.case"], "", 80).out);
        assert_eq!(again, straight, "{lines}");
        let back = step(&bench.van(&format!("{lines}awake\nundo\n")).out);
        assert_eq!(back, straight, "{lines}");
    }
}

/// A name with a letter wrong is asked about, whichever way it is told; other words stand as they are.
#[test]
fn a_misspelt_name_is_asked_about() {
    let table = [
        ("told added raido", Some("is it radio?")),
        ("told carg lamp stays on", None),
        ("told cargo lapm", None),
        ("told work lapm", Some("is it lamp?")),
        ("told miror dead", Some("is it mirror?")),
        ("told dead locknig", Some("is it locking?")),
        ("told added dash camera", None),
        ("told added winch", None),
        ("told parked in a barn", None),
        ("told days 6", None),
        ("told work new battery", None),
    ];
    for (told, asked) in table {
        let run = Bench::new().van(&format!("prepared\n{told}\n"));
        let said = flat(&run.out);
        assert_eq!(
            said.contains(": is it "),
            asked.is_some(),
            "{told}: {}",
            run.out
        );
        if let Some(asked) = asked {
            assert!(said.contains(asked), "{told}: {}", run.out);
        }
    }
}

/// One slip is asked about once; a name with two letters that changed places is found before another one
/// that is as near.
#[test]
fn a_slip_is_answered_once_and_by_the_nearest_name() {
    let before = "prepared\nasleep\n0.28A\n";
    let said = |typed: &str| {
        let bench = Bench::new();
        let run = bench.piped(&["hatchback.ron"], &format!("{before}{typed}\n"), 80);
        let said = run.out.split("draw 0.28A").last().unwrap().to_owned();
        flat(&said)
    };
    let asked = said("drop F29 0.2V");
    assert!(asked.contains("more than its 5 A rating"), "{asked}");
    assert!(!asked.contains("type all its digits"), "{asked}");
    for (typed, near) in [
        ("drop F92 0.2mV", "drop F29 0.2mV"),
        ("drop f92 0.2mV", "drop F29 0.2mV"),
        ("drop F222 0.2mV", "drop F22 0.2mV"),
    ] {
        let refused = said(typed);
        assert!(
            refused.contains(&format!("this works: {near}")),
            "{typed}: {refused}"
        );
    }
}

/// Each entry of a line is held against what those before it have made of the case; a plain `refit` means
/// what is out there.
#[test]
fn entries_of_one_line_are_held_in_their_order() {
    let taken = [
        ("pull F3; asleep; draw 0.03A; refit", "refit F3"),
        ("pull F3\nrefit", "refit F3"),
        ("pull F3; asleep; draw 0.64A; refit; asleep", "asleep"),
        ("told days 4; told lamp flickers", "told lamp flickers"),
    ];
    let before = "prepared\nasleep\ndraw 640mA\n";
    for (typed, last) in taken {
        let bench = Bench::new();
        let run = bench.van(&format!("{before}{typed}\n"));
        assert!(!run.out.contains("not taken"), "{typed}: {}", run.out);
        let entries = bench.entries("van.case");
        assert_eq!(entries.last().unwrap(), last, "{typed}");
    }
    let refused = [
        ("refit", "nothing is out", "asleep"),
        (
            "pull F3, F9; refit",
            "say what went back in",
            "pull F3, F9; refit all",
        ),
        ("pull F3; refit F9", "is not out", "pull F3; refit F3"),
        (
            "pull F3; drow 0.03A",
            "no entry starts with `drow`",
            "pull F3; draw 0.03A",
        ),
    ];
    for (typed, said, works) in refused {
        let bench = Bench::new();
        let run = bench.van(&format!("{before}{typed}\n"));
        let answer = flat(&run.out);
        assert!(answer.contains(said), "{typed}: {answer}");
        assert!(
            answer.contains(&format!("this works: {works}")),
            "{typed}: {answer}"
        );
        assert_eq!(bench.entries("van.case").len(), 3, "{typed}");
        let run = bench.piped(&["van.case"], &format!("{works}\n"), 80);
        assert!(!run.out.contains("not taken"), "{works}: {}", run.out);
    }
}

/// Taking an entry back moves nothing at the vehicle, and that is said.
#[test]
fn what_was_taken_out_is_still_out_when_its_entry_is_taken_back() {
    let before = "prepared\nasleep\ndraw 640mA\n";
    let table = [
        (
            "pull F3\nundo",
            Some(
                "F3 counts as in again. At the vehicle put it back by hand, and if that wakes it: awake; or, if it is to stay out, type pull F3.",
            ),
        ),
        (
            "unplug C114, C201\nwithdraw 4 not done yet",
            Some(
                "C114, C201 count as in again. At the vehicle put them back by hand, and if that wakes it: awake; or, if they are to stay out, type unplug C114, C201.",
            ),
        ),
        (
            "pull F3\nrefit F3\nundo",
            Some(
                "F3 counts as out again. At the vehicle take it out, and if that wakes it: awake; or, if it is in, type refit F3.",
            ),
        ),
        // It went back in before.
        ("pull F3\nrefit F3\nwithdraw 4 not done", None),
        ("2.3mV\nundo", None),
    ];
    for (typed, said) in table {
        let run = Bench::new().van(&format!("{before}{typed}\n"));
        let answer = flat(&run.out).replace("C114 and C201", "C114, C201");
        match said {
            Some(said) => assert!(answer.contains(said), "{typed}: {answer}"),
            None => assert!(!answer.contains("At the vehicle"), "{typed}: {answer}"),
        }
    }
}

/// What looks alike on a lid is the first thing that is thought of.
#[test]
fn signs_that_look_alike_are_tried_first() {
    let table = [
        ("B1O", ["B1", "B10"], "B10"),
        ("b1o", ["B1", "B10"], "B10"),
        ("FI2", ["F2", "F12"], "F12"),
        ("Fl2", ["F2", "F12"], "F12"),
        ("5I1", ["S1", "S11"], "S11"),
        ("C80", ["C0", "CB0"], "CB0"),
        ("F33", ["F3", "K33"], "F3"),
    ];
    for (typed, known, meant) in table {
        let near = halfsplit::problem::nearest(typed, known.into_iter());
        assert_eq!(near, Some(meant), "{typed}");
    }
    let run = Bench::new().van("prepared\nasleep\ndraw 640mA\nunplug C1I4\n");
    assert!(
        flat(&run.out).contains("if that was meant: unplug C114"),
        "{}",
        run.out
    );
}

/// `asleep` that comes sooner than the vehicle can have settled is remarked on once, also to lines of a script.
#[test]
fn asleep_too_soon_is_remarked_on_once() {
    let early = "asleep after less than a minute; it may take 45 min.";
    let bench = Bench::new();
    let run = bench.van("prepared\nasleep\ndraw 640mA\npull F3\nasleep\n");
    assert_eq!(flat(&run.out).matches(early).count(), 1, "{}", run.out);
    // How long it was between entries of one line is not known.
    let run = bench.van("prepared; asleep\n");
    assert!(!flat(&run.out).contains("asleep after"), "{}", run.out);
    // Half an hour by the times in the case file.
    bench.van("prepared\n");
    let text = std::fs::read_to_string(bench.path("van.case")).unwrap();
    let (head, entry) = text.split_once('\n').unwrap();
    let day_before = entry.replace("at: \"20", "at: \"19");
    let unsealed = day_before.split(", sum: ").next().unwrap();
    std::fs::write(bench.path("van.case"), format!("{head}\n{unsealed})\n")).unwrap();
    let run = bench.piped(&["van.case"], "asleep\n", 80);
    assert!(!flat(&run.out).contains("asleep after"), "{}", run.out);
}

/// A number alone is taken in the unit that the step asks for where it can be no other, and that is said.
#[test]
fn a_number_alone_has_the_only_unit_it_can_have() {
    let (jack, clamp) = ("plain-meter.ron", "meter-and-clamp.ron");
    let (draw, drop) = (
        "prepared\nasleep\n",
        "prepared\nasleep\ndraw 640mA by series\n",
    );
    let table = [
        // A jack with steps of 10 mA shows no hundredths of a milliamp, and nobody draws 640 A.
        (jack, draw, "0.64", Ok("draw 0.64A by series jack A")),
        (jack, draw, "640", Ok("draw 640mA by series jack A")),
        (jack, draw, "0.00", Err("a zero needs its unit")),
        // A clamp with steps of 1 mA may show both.
        (clamp, draw, "0.7", Err("0.7 mA or 0.7 A? Both can be here")),
        (clamp, draw, "640", Ok("draw 640mA by clamp")),
        // Volts across a fuse would be hundreds of amps.
        (jack, drop, "2.3", Ok("drop F3 2.3mV")),
        (jack, drop, "2,3", Ok("drop F3 2.3mV")),
        (jack, drop, "-2.3", Ok("drop F3 -2.3mV")),
        (jack, drop, "1.9..2.4", Ok("drop F3 1.9..2.4mV")),
        (jack, drop, "2.3 sure", Ok("drop F3 2.3mV sure")),
        (jack, drop, "23", Err("needs its unit")),
        (jack, drop, "0.0", Err("a zero needs its unit")),
        // Nothing asks for it.
        (jack, drop, "drop F9 0.4", Err("needs its unit")),
    ];
    for (instruments, before, typed, expected) in table {
        let bench = Bench::new();
        let vehicle = ["quarto-van.ron", "--instruments", instruments];
        let run = bench.piped(&vehicle, &format!("{before}{typed}\n"), 80);
        let said = flat(&run.out);
        let entries = bench.entries("quarto-van.case");
        match expected {
            Ok(entry) => {
                assert_eq!(entries.last().unwrap(), entry, "{typed}: {}", run.out);
                assert!(
                    said.contains("if it was another unit: undo"),
                    "{typed}: {said}"
                );
            }
            Err(why) => {
                assert_eq!(entries.len(), before.lines().count(), "{typed}");
                assert!(said.contains(why), "{typed}: {said}");
            }
        }
    }
}

/// Of readings that clash the slip that would explain them is named as a question, and what is asked for
/// again is taken alone.
#[test]
fn a_slip_behind_a_clash_is_named() {
    let before = "prepared\nasleep\ndraw 640mA by clamp\ndrop F3 2.3mV\n";
    let table = [
        (
            "clamp box cable 0.6mA",
            "entry 5 (clamp box cable) 1000 times more (mA typed for A)",
            "612mA",
        ),
        (
            "clamp box cable 61mA",
            "entry 5 (clamp box cable) 10 times more (the decimal point)",
            "612mA",
        ),
        (
            "drop F3 23mV",
            "entry 5 (drop F3) 10 times less (the decimal point)",
            "2.3mV",
        ),
    ];
    for (typed, asked, right) in table {
        let bench = Bench::new();
        let vehicle = ["quarto-van.ron", "--instruments", "meter-and-clamp.ron"];
        let run = bench.piped(&vehicle, &format!("{before}{typed}\n"), 80);
        assert_eq!(run.headings().last(), Some(&"READINGS CLASH"), "{typed}");
        let said = flat(run.screen(0));
        assert!(said.contains(asked), "{typed}: {said}");
        let run = bench.piped(&vehicle, &format!("{right}\n"), 80);
        assert_ne!(
            run.headings().last(),
            Some(&"READINGS CLASH"),
            "{}",
            run.out
        );
    }
}

/// What is usual at a way of measuring is said once at a place; what is special to a part each time.
#[test]
fn a_usual_caution_is_said_once_at_a_place() {
    let usual = "Slim probes on the fuse's own test points";
    let before = "prepared\nasleep\ndraw 640mA\n";
    let asked = |lines: &str| {
        let run = Bench::new().van(&format!("{before}{lines}drop F9\n"));
        let step = run.out.rsplit("Voltage drop across F9").next().unwrap();
        flat(step)
    };
    assert!(asked("").contains(usual));
    assert!(!asked("2.3mV\n").contains(usual));
    // The whole step says all of it.
    let run = Bench::new().van(&format!("{before}drop F9 0.0mV\nnext\n"));
    assert!(flat(run.screen(0)).contains(usual), "{}", run.out);
}
