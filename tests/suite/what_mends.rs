//! What a proof comes to for each kind of culprit: the verdict, what its owner reads, and what is left to do. Nobody is
//! sent to replace what is sound, and no more is said than was shown.

use halfsplit::case::{Case, Setting};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::render::{When, report_text};
use halfsplit::report::report;
use std::fmt::Write as _;

const BENCH: &str = r#"Vehicle(format: 1, name: "Bench of culprits (invented)", limit: mA(50), settle: minutes(20),
  places: {"box": Place(reach: minutes(1))},
  networks: {"body network": Network()},
  modules: { "engine module": Module(awake: mA(300)),
    "body module": Module(network: "body network", awake: mA(600), held_by: ["driver latch"]),
    "door module": Module(network: "body network", awake: mA(150)),
  },
  battery: Battery(id: "battery", at: "box", feeds: [
    Fuse(id: "F1", rating: A(20), style: Mini, at: "box", feeds: [
      Relay(id: "K1", rest: Open, at: "box", feeds: [Load(id: "fan", kind: Motor, plug: "C1")])]),
    Fuse(id: "F2", rating: A(10), style: Mini, at: "box", feeds: [ Load(id: "engine feed", of: "engine module", kind: EngineModule, plug: "C2", asleep: mA(2), at_most: mA(4)),
      Coil(id: "K1 coil", moves: "K1", commanded_by: "engine module", draws: mA(150))]),
    Fuse(id: "F3", rating: A(10), style: Mini, at: "box", feeds: [
      Switch(id: "ignition switch", rest: Open, plug: "D3", feeds: [Load(id: "gauges", kind: Other, plug: "C3")])]),
    Fuse(id: "F4", rating: A(20), style: Mini, at: "box", feeds: [
      Load(id: "body feed", of: "body module", kind: BodyModule, plug: "C40", asleep: mA(4), at_most: mA(8), awake: mA(600), feeds: [
        Output(id: "lamp output", feeds: [Load(id: "dome lamp", kind: Lamp, plug: "C4")])])]),
    Fuse(id: "F5", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "boot lamp", kind: Lamp, plug: "C5")]),
    Fuse(id: "F6", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "front socket", kind: Other, plug: "C6")]),
    Fuse(id: "F7", rating: A(10), style: Mini, at: "box", feeds: [Load(id: "heater", kind: Heater, plug: "C7")]),
    Fuse(id: "F8", rating: A(10), style: Mini, at: "box"),
    Fuse(id: "F9", rating: A(10), style: Mini, at: "box", feeds: [
      Splice(id: "S9", at: "box", feeds: [Load(id: "left pump", kind: Motor, plug: "C91"), Load(id: "right pump", kind: Motor, plug: "C92")])]),
    Fuse(id: "F10", rating: A(10), style: Mini, at: "box", feeds: [
      Load(id: "alarm", kind: Other, plug: "C10"), Load(id: "locker lamp", kind: Lamp, plug: "C11")]),
    Fuse(id: "F11", rating: A(10), style: Mini, at: "box", feeds: [
      Load(id: "door feed", of: "door module", kind: BodyModule, plug: "C12", asleep: mA(2), at_most: mA(4), awake: mA(150))]),
    Cable(id: "starter lead", at: "box", wire: Wire(size: mm2(35), length: m(1.4)), feeds: [Load(id: "starter", kind: Starter, plug: "C13")]),
  ]))"#;

fn bench() -> Setting {
    Setting::new(load(BENCH).0.expect("a tree"), Instruments::assumed_meter())
}

/// A case in which something falls with what is out and returns with it.
fn proven<'s>(bench: &'s Setting, told: &str, out: &str) -> Case<'s> {
    let (_, name) = out.split_once(' ').expect("what comes out");
    let mut case = Case::new(bench);
    let (before, told) = match told.strip_prefix("told rain yes; ") {
        Some(rest) => ("told rain yes; ", rest),
        None => ("", told),
    };
    for line in [
        format!("{before}prepared; asleep; draw 640mA; {told}"),
        format!("{out}; asleep; draw 20.0mA jack mA"),
        format!("refit {name}; asleep; draw 640mA"),
        format!("{out}; asleep; draw 20.0mA jack mA"),
    ] {
        case.record(&line).unwrap_or_else(|r| panic!("{r}"));
    }
    case
}

/// The line of a text that begins so, or holds it.
fn line<'t>(text: &'t str, wanted: &str) -> &'t str {
    let found = text.lines().find(|line| line.contains(wanted));
    found.unwrap_or_else(|| panic!("{wanted}: {text}"))
}

#[test]
fn what_was_proven_is_named_and_mended_as_far_as_it_was_shown() {
    let bench = bench();
    let table = [
        (
            "a heater, after rain",
            "told rain yes; drop F7 4.6mV",
            "unplug C7",
        ),
        ("a heater, by its fuse alone", "drop F7 4.6mV", "pull F7"),
        (
            "a lamp seen lit",
            "drop F5 4.6mV; look boot lamp yes",
            "unplug C5",
        ),
        (
            "a lamp seen dark",
            "drop F5 4.6mV; look boot lamp no",
            "unplug C5",
        ),
        (
            "a socket with something in it",
            "drop F6 4.6mV; look front socket yes",
            "unplug C6",
        ),
        (
            "a lamp on an output",
            "drop F4 2.1mV; look dome lamp yes",
            "unplug C4",
        ),
        (
            "a switch",
            "drop F3 4.6mV; volts ignition switch 12.4V",
            "unplug C3",
        ),
        (
            "a switch seen off",
            "drop F3 4.6mV; look ignition switch no; volts ignition switch 12.4V",
            "unplug C3",
        ),
        (
            "a relay with its coil dead",
            "drop F1 2.1mV; volts K1 12.4V; volts K1 coil 0.0V",
            "pull K1",
        ),
        (
            "a relay with its coil live",
            "drop F1 2.1mV; volts K1 12.4V; volts K1 coil 12.4V",
            "unplug C1",
        ),
        (
            "a relay, of its coil nothing read",
            "drop F1 2.1mV; volts K1 12.4V",
            "pull K1",
        ),
        (
            "an input",
            "look driver latch yes; drop F4 2.1mV",
            "unplug driver latch",
        ),
        (
            "a module of a network",
            "drop F11 4.6mV; look driver latch no",
            "unplug C12",
        ),
        ("a fuse with nothing entered", "drop F8 4.6mV", "pull F8"),
        (
            "a fuse with a splice, both loads sound",
            "drop F9 4.6mV; unplug C91; asleep; draw 640mA; refit C91; unplug C92; asleep; draw 640mA; refit C92; asleep; draw 640mA",
            "pull F9",
        ),
        (
            "a fuse with two loads, the other one dark",
            "drop F10 4.6mV; look locker lamp no",
            "pull F10",
        ),
        (
            "a cable, its load sound",
            "drop starter lead 0.5mV; unplug starter; asleep; draw 640mA; refit starter; asleep; draw 640mA",
            "pull starter lead",
        ),
    ];
    let mut text = String::new();
    for (name, told, out) in table {
        let case = proven(&bench, told, out);
        let page = report_text(&report(&case), &case, &When::default());
        let left = page.split("### Left to do").last().unwrap_or_default();
        let owner = line(&page, "Parked and switched off");
        let from = owner
            .find("We found")
            .unwrap_or_else(|| panic!("{name}: {owner}"));
        let sentence = owner[from..].split(". ").next().unwrap_or_default();
        let _ = write!(
            text,
            "{name}\n  {}\n  {sentence}.\n  {}\n",
            line(&page, "**Confirmed"),
            line(left, "1. ").trim_start_matches("1. ")
        );
    }
    insta::assert_snapshot!(text);
}
