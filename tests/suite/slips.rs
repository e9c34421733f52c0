//! Slips at the vehicle: a typo, a wrong unit, a wrong fuse, a probe off the tab, leads the other way
//! round, the bridge left on. Each is refused, asked about, shown to clash, or taken back; none leads
//! to a wrong part being named.

use crate::driver::{Driver, Manner, OFF_THE_TAB, part, sample};
use crate::trace::{Bench, flat};
use halfsplit::case::{Case, Question, Reason, Setting, State};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::measurement::Method;
use halfsplit::quantity::Milliamps;
use halfsplit::report::report;
use halfsplit::simulation::Drain;

/// To the first test on the van: the drop across F3, where 640 mA flow to the cargo lamp.
const BEFORE: &str = "prepared\nasleep\ndraw 640mA\n";

/// From the drop across F3 to the proof.
const AFTER: &str = "lit\n0.64A\ndone\nasleep\n0.03A\n31.2mA\ndone\nasleep\n0.64A\ndone\n";

/// What is typed, what is said to it, how many entries are kept of it, what puts it right; then it goes
/// on to the proof as if nothing had been.
struct Slip {
    typed: &'static str,
    said: &'static str,
    kept: usize,
    right: &'static str,
}

const fn slip(typed: &'static str, said: &'static str, kept: usize, right: &'static str) -> Slip {
    Slip {
        typed,
        said,
        kept,
        right,
    }
}

#[test]
#[allow(clippy::too_many_lines)] // one slip a row
fn each_is_caught_or_taken_back() {
    let table = [
        // Typos: in the word, in the name, in the number.
        slip(
            "dorp F3 2.3mV",
            "no entry starts with `dorp`; the nearest is `drop`",
            0,
            "2.3mV",
        ),
        slip("dorp F9", "type it as drop F9 READING", 0, "2.3mV"),
        slip("2.3.1mV", "type it as drop F3 READING", 0, "2.3mV"),
        // A letter for a digit, as thumbs and seven segments make it: what was typed, mended.
        slip(
            "2.3OmV",
            "`2.3OmV` has the letter O for a zero this works: drop F3 2.30mV",
            0,
            "2.3mV",
        ),
        slip(
            "l.3mV",
            "`l.3mV` has the letter l or I for a 1 this works: drop F3 1.3mV",
            0,
            "2.3mV",
        ),
        slip(
            "drop F33 2.3mV",
            "nothing in this vehicle's file is called `F33`",
            0,
            "2.3mV",
        ),
        slip(
            "23mV",
            "These readings cannot all be true",
            1,
            "drop F3 2.3mV",
        ),
        // Where readings clash the one that is asked for again is taken alone.
        slip("23mV", "drop F3 once more, the reading alone", 1, "2.3mV"),
        slip(
            "23mV",
            "entry 4 (drop F3) 10 times less (the decimal point)",
            1,
            "2.3mV",
        ),
        slip(
            "23mV",
            "withdraw 4 and why",
            1,
            "withdraw 4 typed wrongly\n2.3mV",
        ),
        // The wrong unit, or none.
        slip("2.3mA", "`drop` is read in mV or V, not in mA", 0, "2.3mV"),
        slip("23", "`23` needs its unit, mV or V", 0, "2.3mV"),
        slip("2.3", "2.3 for 2.3 mV; if it was another unit: undo", 1, ""),
        slip("2.3V", "V typed for mV", 1, "undo\n2.3mV"),
        slip("2.3V", "more than its 20 A rating", 1, "2.3mV"),
        slip("0.1V", "it does not count", 1, "2.3mV"),
        slip("100mV", "it does not count", 1, "2.3mV"),
        // Another fuse than the one typed: it was read at F9, and is put down for it after all.
        slip("0.0mV", "F7", 1, "undo\ndrop F9 0.0mV\n2.3mV"),
        slip(
            "drop F9 2.3mV",
            "testing K4 coil",
            1,
            "withdraw 4 that was F3\ndrop F3 2.3mV",
        ),
        // The probes the other way round: asked again, with the question why.
        slip(
            "-2.3mV",
            "the leads or the clamp are the other way round",
            1,
            "2.3mV",
        ),
        // More than the range shows: a blown fuse, or a probe that touches nothing.
        slip("OL", "take a higher range and read again", 1, "2.3mV"),
        // Done in thought only, and a reading too soon.
        slip(
            "done",
            "the reading is missing: a voltage, in mV or V",
            0,
            "2.3mV",
        ),
    ];
    for Slip {
        typed,
        said,
        kept,
        right,
    } in table
    {
        let bench = Bench::new();
        let run = bench.van(&format!("{BEFORE}{typed}\n"));
        let plain = bench.van(BEFORE);
        let shown = run
            .out
            .strip_prefix(plain.out.split("\nkept ").next().unwrap().trim_end());
        let shown = flat(shown.unwrap_or_else(|| panic!("{typed}: {}", run.out)));
        assert!(shown.contains(said), "{typed}: {shown}");
        let run = bench.van(&format!("{BEFORE}{typed}\n"));
        assert_eq!(
            bench.entries("van.case").len(),
            3 + kept,
            "{typed}: {}",
            run.out
        );
        let run = bench.piped(&["van.case"], &format!("{right}\n{AFTER}"), 80);
        assert_eq!(
            run.headings().last(),
            Some(&"PROVEN"),
            "{typed}: {}",
            run.out
        );
        let end = flat(run.screen(0));
        assert!(end.contains("located cargo lamp;"), "{typed}: {end}");
    }
}

/// The bridge left on: at the first draw, where it is not believed, and at the draw of a proof, where
/// it would look as if the drain had gone.
#[test]
fn the_bridge_left_on_is_asked_about() {
    let asked = "is the bridge lead still on?";
    let bench = Bench::new();
    let run = bench.van("prepared\nasleep\n0.00A\n");
    assert!(flat(&run.out).contains(asked), "{}", run.out);
    assert_eq!(run.headings().last(), Some(&"SETTLED DRAW"), "{}", run.out);
    let run = bench.piped(&["van.case"], &format!("0.64A\n2.3mV\n{AFTER}"), 80);
    assert_eq!(run.headings().last(), Some(&"PROVEN"), "{}", run.out);

    let run = bench.van(&format!(
        "{BEFORE}2.3mV\nlit\n0.64A\ndone\nasleep\n0.00A\n0.0mA\n"
    ));
    let last = flat(run.out.split("0.0mA by series jack mA").nth(1).unwrap());
    assert!(last.contains(asked), "{}", run.out);
    // Taken back, and read with the bridge off.
    let rest = "undo\nundo\n0.03A\n31.2mA\ndone\nasleep\n0.64A\ndone\n";
    let run = bench.piped(&["van.case"], rest, 80);
    let after = flat(run.out.split("0.03A").nth(1).unwrap());
    assert!(!after.contains("asked"), "{}", run.out);
    assert_eq!(run.headings().last(), Some(&"PROVEN"), "{}", run.out);
}

/// `OL` is no zero: neither is a point dead by it, nor is a drop of nothing read.
#[test]
fn more_than_the_range_shows_is_no_zero() {
    let van = sample("quarto-van");
    let mut case = Case::new(&van);
    case.record("prepared; asleep; draw 640mA by series")
        .unwrap();
    let before = case.standing();
    for line in ["volts F3 OL", "drop F3 OL"] {
        let recorded = case.record(line).unwrap();
        assert!(
            matches!(recorded.questions[..], [Question::OverRange(_)]),
            "{line}"
        );
        assert_eq!(case.standing(), before, "{line}");
    }
}

/// On every sample vehicle the first probe that should show something is off its tab and reads 0.0.
/// Mostly later readings clash with it, it is read again, and the drain is found; a zero at a cable
/// that half the tree hangs on may end the search without a proof. Nobody else is named for it.
#[test]
fn a_probe_off_the_tab_names_nobody_else() {
    let rows = [
        ("teaching-board", "siren"),
        ("quarto-van", "cargo lamp"),
        ("hatchback", "glovebox lamp"),
        ("pickup", "bonnet lamp"),
        ("large-van", "load tracker"),
        ("coach", "screens"),
    ];
    let (mut slipped, mut confirmed) = (0, 0);
    for (vehicle, guilty) in rows {
        let setting = sample(vehicle);
        let drain = Drain::Takes(part(&setting, guilty), Milliamps::of(600.0));
        let outcome = Driver::new(&setting, vec![drain], 11).run_as(Manner::ProbeOff);
        let what = format!("{vehicle}: {:#?}", outcome.log);
        slipped += usize::from(outcome.log.iter().any(|line| line.starts_with(OFF_THE_TAB)));
        if outcome.state == State::Confirmed {
            assert_eq!(outcome.found, [guilty], "{what}");
            confirmed += 1;
        } else {
            assert!(outcome.found.is_empty(), "{what}");
        }
    }
    // What is seen at once needs no probe.
    assert!(slipped >= 4 && confirmed >= 3, "{slipped} {confirmed}");
}

/// A box cable with four fuses, and a fifth beside it.
const BOX: &str = r#"Vehicle(format: 1, name: "A box of four fuses (invented)", limit: mA(50), settle: minutes(20),
    places: {"box": Place(reach: minutes(1)), "floor": Place(reach: minutes(5))},
    battery: Battery(id: "battery", at: "box", feeds: [
        Cable(id: "box cable", at: "box", wire: Wire(size: mm2(6), length: m(3)), feeds: [
            Fuse(id: "F1", rating: A(10), style: Mini, at: "box", feeds: [
                Load(id: "radio", kind: Audio, plug: "C1", at: "floor"),
                Load(id: "roof lamp", kind: Lamp, plug: "C2", at: "floor")]),
            Fuse(id: "F2", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "heater", kind: Heater, plug: "C3", at: "floor")]),
            Fuse(id: "F3", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "pump", kind: Motor, plug: "C4", at: "floor")]),
            Fuse(id: "F4", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "socket", kind: Added, plug: "C5", at: "floor")]),
        ]),
        Fuse(id: "F5", rating: A(5), style: Mini, at: "box", feeds: [Load(id: "alarm", kind: Other, plug: "C6", at: "floor")]),
    ]))"#;

fn box_of_four() -> Setting {
    Setting::new(load(BOX).0.unwrap(), Instruments::assumed_meter())
}

/// Checks zeros as long as that is asked for with this reason: volts, then the drop once more, which at F3
/// shows what flows. Then the pump behind it is the likeliest.
fn check_zeros(case: &mut Case<'_>, reason: Reason, flows: &str) {
    let mut checked = Vec::new();
    while case.next().reason == reason {
        let test = case.next().test.unwrap();
        assert_eq!(test.method, Method::Volts, "{:?}", test.entry);
        // Neither dead nor live is no answer, and is asked for once more.
        let asked = case.record(&format!("{} 6.0V", test.entry)).unwrap();
        assert!(matches!(asked.questions[..], [Question::Between(_), ..]));
        assert_eq!(case.next().test.unwrap().entry, test.entry);
        case.record(&format!("{} 12.5V", test.entry)).unwrap();
        let again = case.next().test.unwrap();
        let point = &test.points[0];
        assert_eq!(again.entry, format!("drop {point}"));
        checked.push(point.clone());
        let shows = if point == "F3" { flows } else { "0.0mV" };
        case.record(&format!("{} {shows}", again.entry)).unwrap();
    }
    assert_eq!(
        checked.last().map(String::as_str),
        Some("F3"),
        "{checked:?}"
    );
    assert_eq!(case.next().suspects[0].id, "pump");
}

/// A box cable carries 460 mA and each of its fuses was read as nothing: the zeros are checked before
/// anything is taken out, and the fuse whose probe was off its tab is found in a minute.
#[test]
fn what_goes_in_and_does_not_come_out_is_remarked_on() {
    let setting = box_of_four();
    let mut case = Case::new(&setting);
    let cable = ["prepared", "asleep", "draw 0.46A", "drop box cable 4.1mV"];
    let zeros = [
        "drop F1 0.0mV",
        "drop F2 0.0mV",
        "drop F3 0.0mV",
        "drop F4 0.0mV",
    ];
    for line in cable.into_iter().chain(zeros).chain(["draw 0.46A"]) {
        case.record(line).unwrap();
    }
    check_zeros(
        &mut case,
        Reason::GoesNowhere(part(&setting, "box cable")),
        "3.4mV",
    );
}

/// Each of ten zeros leaves room for a little, all of them together for what the cable carries; but ten
/// drains at once are less likely than one probe off its tab.
#[test]
fn ten_zeros_behind_a_cable_are_checked() {
    let fuse = |n: u32| {
        format!(
            r#"Fuse(id: "B{n}", rating: A(20), style: Mini, at: "box", feeds: [Load(id: "load {n}", kind: Other, plug: "C{n}", at: "floor")]),"#
        )
    };
    let fuses: String = (1..=10).map(fuse).collect();
    let text = format!(
        r#"Vehicle(format: 1, name: "A box of ten fuses (invented)", limit: mA(50), settle: minutes(20),
            places: {{"box": Place(reach: minutes(1)), "floor": Place(reach: minutes(5))}},
            battery: Battery(id: "battery", at: "box", feeds: [
                Cable(id: "box cable", at: "box", wire: Wire(size: mm2(16), length: m(6)), feeds: [{fuses}]),
                Fuse(id: "F5", rating: A(5), style: Mini, at: "box", feeds: [Load(id: "alarm", kind: Other, plug: "C11", at: "floor")]),
            ]))"#
    );
    let setting = Setting::new(load(&text).0.unwrap(), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    for line in ["prepared", "asleep", "draw 0.46A", "drop box cable 3.2mV"] {
        case.record(line).unwrap();
    }
    for number in 1..=10 {
        case.record(&format!("drop B{number} 0.0mV")).unwrap();
        if number % 4 == 0 {
            case.record("draw 0.46A").unwrap();
        }
    }
    case.record("draw 0.46A").unwrap();
    let cable = part(&setting, "box cable");
    assert_eq!(case.next().reason, Reason::GoesNowhere(cable));
}

/// The box with two modules in it.
fn box_with_modules() -> String {
    let line = r#"networks: {"line": Network()}, modules: {
        "panel": Module(network: "line", awake: mA(180)), "alarm module": Module(network: "line", awake: mA(450))},
    places:"#;
    BOX.replacen("places:", line, 1)
        .replace(
            r#"id: "heater", kind: Heater"#,
            r#"id: "heater", of: "panel""#,
        )
        .replace(
            r#"id: "alarm", kind: Other"#,
            r#"id: "alarm", of: "alarm module""#,
        )
}

/// The draw fell with three fuses out and stays with two of them out: that cannot be with nothing at the
/// third, which counts no longer until it is read once more; what else was read still counts. With a module
/// among them the falls alone do not say how much flowed there.
#[test]
fn a_draw_that_cannot_be_with_a_zero_is_held_against_the_zero() {
    let modules = box_with_modules();
    let setting = Setting::new(load(&modules).0.unwrap(), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    for line in [
        "prepared",
        "asleep",
        "draw 0.46A",
        "skip drop box cable short leads",
        "drop F1 0.3mV",
        "drop F2 0.0mV",
        "drop F3 0.0mV",
        "drop F4 0.0mV",
        "draw 0.46A",
        "pull F2, F3, F4",
        "asleep",
        "draw 0.06A",
        "refit F3",
        "asleep",
    ] {
        case.record(line).unwrap();
    }
    let asked = case.record("draw 0.46A").unwrap().questions;
    let guilty = part(&setting, "F3");
    assert_eq!(asked, [Question::ZerosDoubted(vec![(guilty, 7)])]);
    assert!(case.counts(5), "the reading at F1");
    assert!(!case.counts(7), "the zero at F3");
    assert_eq!(case.next().suspects[0].id, "pump");
}

/// A drop that was typed for the wrong fuse, and a draw that cannot be with it: which entries do not go
/// together is said, and with the wrong one taken back the rest counts again.
#[test]
fn what_does_not_go_together_with_a_draw_is_named() {
    let setting = box_of_four();
    let mut case = Case::new(&setting);
    for line in [
        "prepared",
        "asleep",
        "draw 0.72A",
        "drop F3 1.8mV",
        "drop F5 0.0mV",
        "drop F4 1.8mV",
        "pull F2",
        "asleep",
    ] {
        case.record(line).unwrap();
    }
    let asked = case.record("draw 0.20A").unwrap().questions;
    assert!(
        asked.contains(&Question::NoLongerFits(vec![4, 6])),
        "{asked:?}"
    );
    assert!(!case.counts(4), "put aside");
    case.record("withdraw 6 read at the wrong fuse").unwrap();
    assert!(case.counts(4) && !case.counts(6));
}

/// The same with a clamp at the wires behind the cable: jaws that were not shut round one of them read
/// nothing, and are shut anew before anything is taken out.
#[test]
fn a_clamp_that_was_not_shut_is_shut_anew() {
    let wires = r#"Vehicle(format: 1, name: "A cable with three wires (invented)", limit: mA(50), settle: minutes(20),
        places: {"box": Place(reach: minutes(1)), "floor": Place(reach: minutes(5))},
        battery: Battery(id: "battery", at: "box", feeds: [
            Cable(id: "box cable", at: "box", wire: Wire(size: mm2(6), length: m(3)), feeds: [
                Load(id: "heater", kind: Heater, plug: "C3", at: "floor"),
                Load(id: "pump", kind: Motor, plug: "C4", at: "floor"),
                Load(id: "socket", kind: Added, plug: "C5", at: "floor"),
            ]),
        ]))"#;
    let at_hand = include_str!("../../sample-vehicles/instruments/meter-and-clamp.ron");
    let instruments = halfsplit::instruments::read(at_hand).0.unwrap();
    let setting = Setting::new(load(wires).0.unwrap(), instruments);
    let mut case = Case::new(&setting);
    for line in [
        "prepared",
        "asleep",
        "draw 0.46A",
        "clamp box cable 458mA",
        "clamp heater 0mA",
        "clamp pump 0mA",
        "clamp socket 0mA",
        "draw 0.46A",
    ] {
        case.record(line).unwrap();
    }
    let mut again = Vec::new();
    while case.next().reason == Reason::ShutAgain {
        let entry = case.next().test.unwrap().entry;
        let shows = if entry == "clamp pump" { 455 } else { 0 };
        case.record(&format!("{entry} {shows}mA")).unwrap();
        again.push(entry);
    }
    assert_eq!(again.last().map(String::as_str), Some("clamp pump"));
    assert_eq!(case.next().suspects[0].id, "pump");
}

/// Across large fuses a zero leaves room for a part of the drain, so two of them together could be it; but
/// before anything is pulled or unplugged for that the zeros are checked.
#[test]
fn before_the_unlikely_comes_out_the_zeros_are_checked() {
    let large = BOX.replace("A(10), style: Mini", "A(30), style: Maxi");
    let setting = Setting::new(load(&large).0.unwrap(), Instruments::assumed_meter());
    let mut case = Case::new(&setting);
    let first = [
        "prepared",
        "asleep",
        "draw 0.28A",
        "draw 280.0mA jack mA",
        "skip drop box cable short leads",
    ];
    let zeros = ["drop F1 0.0mV", "drop F2 0.0mV", "drop F3 0.0mV"];
    let rest = [
        "drop F4 0.0mV",
        "draw 280.0mA jack mA",
        "drop F5 0.0mV",
        "look roof lamp dark",
    ];
    for line in first.into_iter().chain(zeros).chain(rest) {
        case.record(line).unwrap();
    }
    check_zeros(&mut case, Reason::NobodyAlone, "0.5mV");
}

/// A draw that was read before the vehicle slept is not what the write-up tells the customer.
#[test]
fn the_draw_before_it_slept_is_not_what_is_written_up() {
    let setting = box_of_four();
    let mut case = Case::new(&setting);
    for line in [
        "prepared",
        "asleep",
        "draw 1.2A",
        "awake",
        "asleep",
        "draw 0.30A",
    ] {
        case.record(line).unwrap();
    }
    let before = report(&case).before.unwrap();
    assert_eq!(before.entry, 6);
}

/// What a meter shows with nothing there is asked about as a minus and never as back-feed.
#[test]
fn a_count_below_zero_twice_is_no_back_feed() {
    let setting = box_of_four();
    let mut case = Case::new(&setting);
    for line in ["prepared", "asleep", "draw 0.46A"] {
        case.record(line).unwrap();
    }
    // What it is, is said once.
    for said in [&[Question::NearZero][..], &[]] {
        let asked = case.record("drop F1 -0.1mV").unwrap().questions;
        assert_eq!(asked, said);
    }
    // Beyond the counts it is.
    assert_eq!(
        case.record("drop F2 -2.1mV").unwrap().questions,
        [Question::LeadsRound]
    );
    let again = case.record("drop F2 -2.1mV").unwrap().questions;
    assert!(
        again.contains(&Question::BackFed(part(&setting, "F2"))),
        "{again:?}"
    );
}

/// Proven by the fuse, and then parted at its plug with the fuse back in: what was proven is out all the
/// same, and nobody is sent back to the fuse.
#[test]
fn parted_nearer_than_for_the_proof_it_is_out_as_well() {
    let setting = box_of_four();
    let mut case = Case::new(&setting);
    let proof = [
        "prepared",
        "asleep",
        "draw 0.30A",
        "draw 300.0mA jack mA",
        "drop F3 2.2mV",
        "draw 300.0mA jack mA",
        "pull F3",
        "asleep",
        "draw 4.0mA jack mA sure",
        "refit F3",
        "asleep",
        "draw 300.0mA jack mA",
    ];
    for line in proof {
        case.record(line).unwrap();
    }
    let next = case.next();
    assert_eq!((next.found.len(), next.reason), (1, Reason::StaysOut));
    for line in ["unplug C4", "asleep", "draw 4.0mA jack mA sure"] {
        case.record(line).unwrap();
    }
    assert_eq!(case.next().state, State::Confirmed);
    let told = report(&case).verdict.found.len();
    assert_eq!(told, 1);
}

/// F3 was read, and F7 was typed: nothing in the sums speaks against it, but with F7 out nothing falls.
#[test]
fn a_reading_of_another_fuse_is_noticed_when_it_does_not_fall() {
    let setting = sample("quarto-van");
    let mut case = Case::new(&setting);
    for line in ["prepared", "asleep", "draw 0.64A", "drop F7 2.3mV"] {
        assert_eq!(case.record(line).unwrap().questions, [], "{line}");
    }
    case.record("pull F7; asleep").unwrap();
    let asked = case.record("draw 0.64A").unwrap().questions;
    let f7 = part(&setting, "F7");
    assert!(
        matches!(asked[..], [Question::DidNotFall(at, 4, _, _)] if at == f7),
        "{asked:?}"
    );
    // A reading of what did fall is not asked about.
    case.record("withdraw 4 that was F3; refit F7; asleep; drop F3 2.3mV")
        .unwrap();
    case.record("pull F3; asleep").unwrap();
    let asked = case.record("draw 0.03A").unwrap().questions;
    let noticed = |asked: &Question| matches!(asked, Question::DidNotFall(..));
    assert!(!asked.iter().any(noticed), "{asked:?}");
}

/// More than a jack takes was read on another one, at the first draw as at any later.
#[test]
fn a_jack_that_cannot_have_shown_it_is_asked_about() {
    let setting = sample("quarto-van");
    let mut case = Case::new(&setting);
    for line in ["prepared", "asleep", "draw 0.64A", "drop F7 0.0mV"] {
        case.record(line).unwrap();
    }
    let (before, draw) = (case.next().test, case.settled_draw().cloned());
    let asked = case
        .record("draw 640.0mA by series jack mA")
        .unwrap()
        .questions;
    assert!(
        matches!(asked[..], [Question::MoreThanJack(_)]),
        "{asked:?}"
    );
    // It changes nothing.
    assert_eq!(
        (case.next().test, case.settled_draw().cloned()),
        (before, draw)
    );
    // Said to be checked, it counts.
    let sure = case.record("draw 640.0mA by series jack mA sure").unwrap();
    assert!(sure.questions.is_empty(), "{:?}", sure.questions);
    // It is asked in the place of a fuse.
    let asked = case.record("series F3 600mA jack mA").unwrap().questions;
    assert!(
        matches!(asked[..], [Question::MoreThanJack(_)]),
        "{asked:?}"
    );
}

#[test]
fn a_zero_that_was_none_counts_no_longer() {
    let setting = sample("quarto-van");
    let mut case = Case::new(&setting);
    case.record("prepared; asleep; draw 640mA by series; drop F3 0.0mV; drop F3 0.5mV")
        .unwrap();
    let next = case.next();
    let zero =
        |q: &Question| matches!(q, Question::ZeroBefore(at, 4) if *at == part(&setting, "F3"));
    assert!(next.questions.iter().any(zero), "{:?}", next.questions);
    // By the zero it is 74 mA at most: what both allow is next to nothing, and would be wrong.
    let lamp = next.suspects.iter().find(|s| s.id == "cargo lamp").unwrap();
    assert!(lamp.hides > 150.0, "{lamp:?}");
}

/// A reading that does not count is asked for by the next step, whatever would have come next, once and as long
/// as it matters: a minus, more than could flow there, a range that is too small.
#[test]
fn what_does_not_count_is_asked_for_once_more() {
    let setting = sample("quarto-van");
    let asked = |lines: &[&str]| {
        let mut case = Case::new(&setting);
        for line in [&["prepared; asleep; draw 640mA"], lines].concat() {
            case.record(line)
                .unwrap_or_else(|refusal| panic!("{refusal}"));
        }
        let next = case.next();
        let entry = next.test.map(|test| test.entry).unwrap_or_default();
        (entry, next.reason == Reason::DoesNotCount)
    };
    let (usual, _) = asked(&[]);
    assert_eq!(usual, "drop F3");
    let elsewhere = ["drop F7 -2.3mV", "drop F7 2.3V", "drop F7 OL"];
    for wrong in elsewhere {
        assert_eq!(asked(&[wrong]), ("drop F7".to_owned(), true), "{wrong}");
        // Done, or passed over, it goes on.
        for then in [
            "drop F7 0.0mV",
            "skip drop F7 no access",
            wrong,
            "drop F9 0.0mV",
        ] {
            let (entry, again) = asked(&[wrong, then]);
            assert!(!again, "{wrong}, {then}: {entry}");
        }
    }
    // What is ruled out by another reading is not asked for.
    let (entry, again) = asked(&["drop F3 2.3mV", "drop F7 -2.3mV"]);
    assert!(!again, "{entry}");
}
