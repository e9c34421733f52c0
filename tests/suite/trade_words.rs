//! What the screens and the write-up say to a person with a meter in one hand, each in a short session.

use crate::sessions::is_command;
use crate::trace::{Bench, flat};
use halfsplit::render::spelled_plainly;
use std::process::Command;

/// The cargo lamp of the van, found, proven and out; the fuse above it came out on the way.
const LAMP: &str = "\
prepared
asleep; draw 0.64A
drop F3 2.3mV
look cargo lamp lit
draw 0.64A
unplug C114; asleep; draw 0.03A
draw 31.2mA
refit C114; asleep; draw 0.64A
unplug C114; asleep; draw 31.2mA jack mA
";

fn run(bench: &Bench, arguments: &[&str]) -> (String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .current_dir(bench.path(""))
        .env("COLUMNS", "80")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr))
}

fn report(lines: &str) -> String {
    let bench = Bench::new();
    bench.van(lines);
    run(&bench, &["report", "van.case"]).0
}

/// What was skipped is said, with what is done in its place; and again where a step comes back to it.
#[test]
fn a_skip_is_answered_and_remembered() {
    let bench = Bench::new();
    let before = "prepared\nasleep; draw 0.64A\ndrop F3 2.3mV\n";
    let skips = format!("{before}skip liner not to be taken down\n");
    let said = flat(&bench.van(&skips).out);
    assert!(
        said.contains("skipped look cargo lamp from here on; instead: look mirror lamp"),
        "{said}"
    );
    // Until the lamp itself is asked for.
    let said = flat(
        &bench
            .van(&format!("{skips}skip\ndrop F9 0.0mV\nskip\nskip\nskip\n"))
            .out,
    );
    let again = "look cargo lamp was skipped in entry 5: liner not to be taken down. Of what is left this tells most";
    assert!(said.contains(again), "{said}");
    assert_eq!(
        said.matches("Unplug C114").count(),
        said.matches(again).count()
    );
}

/// The wait shows that the draw may be typed with it, and it is taken so.
#[test]
fn the_draw_is_typed_with_the_wait() {
    let run = Bench::new().van("prepared\nasleep; draw 0.64A\n");
    let said = flat(&run.out);
    assert!(
        said.contains(
            "type asleep, once it has settled; with what it draws then: asleep; draw 0.61A"
        ),
        "{said}"
    );
    assert!(run.headings().ends_with(&["SPLIT"]), "{said}");
}

/// mA typed for A is named as what it is, with the line that mends it; a small draw on a fine display is not.
#[test]
fn milliamps_typed_for_amps_are_named() {
    let table = [
        (
            "0.85mA",
            Some("was 0.85 A meant, mA typed for A? Then: draw 0.85A."),
        ),
        ("0.00A", None),
    ];
    for (typed, expected) in table {
        let said = flat(
            &Bench::new()
                .van(&format!("prepared\nasleep\n{typed}\n"))
                .out,
        );
        assert!(said.contains("Only "), "{typed}: {said}");
        assert_eq!(
            said.contains(" meant, mA typed for A?"),
            expected.is_some(),
            "{said}"
        );
        if let Some(expected) = expected {
            assert!(said.contains(expected), "{said}");
        }
        // Nor is the bridge said to be on where that is what is asked about.
        assert!(!said.contains("NOW Bridge on"), "{typed}: {said}");
    }
    // With the lamp out 31 mA are right, and nothing is asked.
    let said = flat(&Bench::new().van(LAMP).out);
    assert!(!said.contains("mA typed for A"), "{said}");
}

/// What a minus next to zero is, is said once in a case.
#[test]
fn a_minus_near_zero_is_explained_once() {
    let lines = "prepared\nasleep; draw 0.64A\ndrop F3 -0.1mV\ndrop F7 -0.1mV\ndrop F9 -0.1mV\n";
    let said = flat(&Bench::new().van(lines).out);
    assert_eq!(said.matches("A minus this near zero").count(), 1, "{said}");
}

/// Slips of the hand, and the line that is shown for each.
#[test]
fn slips_are_shown_mended() {
    let table = [
        (
            "draw 0.64A, drop F3 2.3mV",
            "this works: draw 0.64A; drop F3 2.3mV",
        ),
        (
            "drop F3 2.3mV, F9 0.0mV",
            "this works: drop F3 2.3mV; drop F9 0.0mV",
        ),
        (
            "0..66A",
            "`0..66A` has two points for one this works: draw 0.66A",
        ),
        (
            "drop F3 2.3mV with O.66A",
            "`O.66A` has the letter O for a zero",
        ),
    ];
    for (typed, shown) in table {
        let said = flat(
            &Bench::new()
                .van(&format!("prepared\nasleep\n{typed}\n"))
                .out,
        );
        assert!(said.contains(shown), "{typed}: {said}");
        let works = said.split("this works: ").nth(1).unwrap_or_default();
        assert!(!works.contains("O.66A"), "{typed}: {said}");
    }
    // A display that wanders is told with its decimals.
    let said = flat(&Bench::new().van("prepared\nasleep\n0.00..0.66A\n").out);
    assert!(!said.contains("two points"), "{said}");
}

/// The list says what no longer counts: what was taken back, and what another reading took the place of.
#[test]
fn the_list_marks_what_is_no_longer_used() {
    let lines =
        "prepared\nasleep\ndraw 0.64A\ndrop F3 0.0mV\ndrop F3 2.3mV\ndrop F9 0.1mV\nundo\nlist\n";
    let run = Bench::new().van(lines);
    let line = |number: &str| {
        let mut lines = run.out.lines().rev();
        let found = lines.find(|line| line.starts_with(number));
        found.unwrap_or_else(|| panic!("{}", run.out)).to_owned()
    };
    assert!(line("4 ").contains("(from before"), "{}", run.out);
    assert!(!line("5 ").contains('('), "{}", run.out);
    assert!(line("6 ").contains("(does not count)"), "{}", run.out);
}

/// The preparation fits a window of 60 columns and 24 rows with what stands above it, and every line one of 60.
#[test]
fn the_preparation_fits_a_low_window() {
    for vehicle in [
        "quarto-van",
        "teaching-board",
        "hatchback",
        "pickup",
        "large-van",
        "coach",
    ] {
        let bench = Bench::new();
        let file = format!("{vehicle}.ron");
        let run = bench.piped(&[&file, "--instruments", "meter-and-clamp.ron"], "", 60);
        let (first, end) = run.out.split_once("\n\nkept").unwrap_or((&run.out, ""));
        let first = first.split("\n\ngo on").next().unwrap();
        assert!(end.is_empty(), "{end}");
        assert!(first.lines().count() <= 23, "{vehicle}: {first}");
        for line in run.out.lines() {
            assert!(line.chars().count() <= 60, "{vehicle}: {line}");
        }
    }
}

/// The line that goes on fits the window: a case keeps what it was begun with.
#[test]
fn the_line_that_goes_on_fits_a_narrow_window() {
    let bench = Bench::new();
    let begun = ["quarto-van.ron", "--instruments", "meter-and-clamp.ron"];
    let run = bench.piped(
        &begun,
        "prepared\nskip asleep the owner comes for it in five minutes and waits\n",
        60,
    );
    let commands: Vec<&str> = run.out.lines().filter(|line| is_command(line)).collect();
    assert_eq!(
        commands,
        ["go on     halfsplit trace quarto-van.case"],
        "{}",
        run.out
    );
    for line in run.out.lines() {
        assert!(line.chars().count() <= 60, "{line}");
    }
    let again = bench.piped(&["quarto-van.case"], "", 60);
    assert!(
        again.out.contains("going on after 2 entries"),
        "{}",
        again.out
    );
}

/// On a terminal of plain characters the signs of the workings stay signs.
#[test]
fn signs_survive_a_plain_terminal() {
    assert_eq!(spelled_plainly("2 × 3 Ω ± 1 − 0.5"), "2 x 3 Ohm +- 1 - 0.5");
    assert_eq!(spelled_plainly("25 °C, 80 µV"), "25 deg C, 80 uV");
}

/// What hangs on a part is said when it is pulled unasked, also where lines are recorded one by one.
#[test]
fn record_cautions_what_nobody_asked_for() {
    let bench = Bench::new();
    bench.van("prepared\nasleep; draw 0.64A\n");
    let (out, err) = run(&bench, &["record", "van.case", "pull F7"]);
    assert_eq!(out, "   4  pull F7\n");
    assert!(err.contains("CAUTION"), "{err}");
    let (_, err) = run(&bench, &["record", "van.case", "refit F7"]);
    assert!(!err.contains("CAUTION"), "{err}");
}

/// The write-up lists what came out and went back, why readings were taken back, and what a lamp's proof leaves open.
#[test]
fn the_write_up_says_what_was_moved_and_why_readings_went() {
    let slipped = LAMP.replace(
        "drop F3 2.3mV\n",
        "drop F9 1.9mV\nwithdraw 4 probe was on the neighbour\npull F7\nrefit F7\nasleep\ndrop F3 2.3mV\n",
    );
    let said = report(&slipped);
    assert!(
        said.contains("(drop F9 1.9mV: probe was on the neighbour)"),
        "{said}"
    );
    let moved = said.split("### Taken out on the way").nth(1).unwrap();
    let moved = moved.split("###").next().unwrap();
    let lines: Vec<&str> = moved
        .lines()
        .filter(|line| line.starts_with("- "))
        .collect();
    assert_eq!(lines.len(), 2, "{moved}");
    assert!(
        lines[0].starts_with("- F7, pulled: out in entry 6, back in 7"),
        "{moved}"
    );
    assert!(
        lines[1].starts_with("- C114, unplugged: out in entry"),
        "{moved}"
    );
    assert!(lines[1].ends_with("**still out**"), "{moved}");
    let to_do = said.split("### Left to do").nth(1).unwrap();
    assert!(to_do.contains("Find what holds it on"), "{to_do}");
    // F7 feeds nothing that forgets; F3 does.
    assert!(!said.contains("may need to be entered again"), "{said}");
    let pulled = report(&LAMP.replace(
        "look cargo lamp lit\n",
        "look cargo lamp lit\npull F3\nrefit F3\nasleep\n",
    ));
    let owner = pulled.split("## For the next").next().unwrap();
    assert!(owner.contains("may need to be entered again"), "{owner}");
}

/// Who stands at a box is not told the way there again.
#[test]
fn the_way_is_told_once() {
    let bench = Bench::new();
    let lines = "prepared\nasleep; draw 448mA\n0.0mV\n";
    let run = bench.piped(&["large-van.ron"], lines, 80);
    let ways: Vec<&str> = run
        .out
        .lines()
        .filter(|line| line.starts_with("at "))
        .collect();
    let [.., first, second] = ways.as_slice() else {
        panic!("{}", run.out);
    };
    assert_eq!(*first, "at        driver footwell, then dash box");
    assert_eq!(*second, "at        dash box");
}

/// With the plug out in the place of the fuse that proved it the draw need not fall: that it stays low tells.
#[test]
fn another_way_out_is_judged_by_what_stays() {
    let bench = Bench::new();
    let proof = "\
prepared
asleep; draw 0.64A by series
drop F6 2.2mV
draw 0.64A by series
pull F6; asleep; draw 31.2mA by series jack mA
refit F6; asleep; draw 0.64A by series jack A
pull F6; asleep; draw 31.2mA by series jack mA
unplug C9; refit F6; asleep
";
    let run = bench.piped(&["teaching-board.ron"], &format!("{proof}draw\n"), 80);
    let said = flat(&run.out);
    assert!(
        said.contains("still 31 mA to 32 mA: it is in what is out now higher by"),
        "{said}"
    );
    assert!(said.contains("it is in what went back in"), "{said}");
}

/// What goes back in together may be in several places: each that is elsewhere says where.
#[test]
fn each_place_is_named() {
    let lines = format!("{LAMP}pull F7\nrepaired C114 new switch\n");
    let said = flat(&Bench::new().van(&lines).out);
    let step = said.rsplit("AFTER THE REPAIR").next().unwrap();
    let back = "do Put back C114 (cargo lamp) [roof], F7 (fuse 10 A Mini) [bonnet box].";
    assert!(step.contains(back), "{step}");
}

/// The owner is told of a cause that was added to the vehicle.
#[test]
fn added_equipment_is_called_so() {
    let bench = Bench::new();
    let lines = "\
prepared
asleep; draw 0.64A by series
drop F5 5.0mV
draw 0.64A by series
unplug C7; asleep; draw 11.2mA by series jack mA
refit C7; asleep; draw 0.64A by series jack A
unplug C7; asleep; draw 11.2mA by series jack mA
";
    bench.piped(&["teaching-board.ron"], lines, 80);
    let (report, _) = run(&bench, &["report", "teaching-board.case"]);
    let owner = report.split("## For the next").next().unwrap();
    assert!(owner.contains("The tracker is added equipment."), "{owner}");
}
