//! The write-up tells what was read and what was taken out, and not what a coarse display or a proof allows.

use crate::blind::screen;
use halfsplit::case::{Case, Setting};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::render::{When, report_text, why_draw};
use halfsplit::report::report;

const VAN: &str = r#"Vehicle(
    format: 1, name: "Teal van (invented)", year: 2012, limit: mA(50), settle: minutes(20),
    modules: {"amplifier": Module(held_by: ["turn-on line"])},
    battery: Battery(id: "battery", capacity: Ah(70), feeds: [
        Fuse(id: "F1", rating: A(10), style: Mini, feeds: [
            Load(id: "left lamp", kind: Lamp, plug: "C1"), Load(id: "right lamp", kind: Lamp, plug: "C2")]),
        Fuse(id: "F2", rating: A(15), style: Mini, feeds: [
            Relay(id: "K1", rest: Open, feeds: [Load(id: "cabin heater", kind: Heater, plug: "C3")])]),
        Fuse(id: "F4", rating: A(5), style: Mini, feeds: [Coil(id: "K1 coil", moves: "K1", draws: mA(150))]),
        Fuse(id: "F3", rating: A(15), style: Mini, feeds: [Load(id: "amplifier feed", of: "amplifier", kind: Audio, plug: "C4", asleep: mA(3))]),
    ]),
)"#;

fn van() -> Setting {
    let feeds = load(VAN).0.expect("a tree");
    Setting::new(feeds, Instruments::assumed_meter())
}

fn case<'s>(van: &'s Setting, lines: &str) -> Case<'s> {
    let mut case = Case::new(van);
    for line in lines.split("; ") {
        case.record(line).unwrap_or_else(|r| panic!("{line}: {r}"));
    }
    case
}

/// What was typed → what the owner reads of it.
#[test]
fn numbers_are_those_that_were_read() {
    let van = van();
    let rows = [
        (
            "prepared; asleep; draw 0.62A; unplug C1; asleep; draw 0.02A; refit C1; asleep; draw 0.62A; unplug C1; asleep; draw 0.02A",
            &[
                "about 620 mA (0.62 A)",
                "With it disconnected the vehicle took about 600 mA less",
                "With it disconnected the vehicle took about 20 mA",
            ][..],
        ),
        ("prepared; asleep; draw 345mA", &["about 350 mA (0.35 A)"]),
        (
            "prepared; asleep; draw 30..410mA by series jack A",
            &["about 30 mA, up to 410 mA"],
        ),
        (
            "told days 1; prepared; asleep; draw 0.18A",
            &["flat after only 1 day."],
        ),
        (
            "prepared; asleep; draw 18.0mA; comes 220mA every 4min for 90s",
            &["about 100 mA on average, with what flows all the time"],
        ),
    ];
    for (lines, wanted) in rows {
        let case = case(&van, lines);
        let text = report_text(&report(&case), &case, &When::default());
        for wanted in wanted {
            assert!(text.contains(wanted), "{lines}: {wanted}\n{text}");
        }
    }
}

/// Behind a contact it is the load that was unplugged, and neither its owner nor the next electrician reads that the
/// contact was.
#[test]
fn what_was_unplugged_is_named() {
    let van = van();
    let case = case(
        &van,
        "prepared; asleep; draw 1.40A; look K1 cold; volts K1 coil 0.0V; volts K1 12.3V; unplug C3; asleep; draw 4.0mA; draw 4.0mA; refit C3; asleep; draw 1.40A",
    );
    let text = report_text(&report(&case), &case, &When::default());
    let found = &report(&case).verdict.found;
    let contact = found
        .iter()
        .any(|found| found.out_in_its_place(&van.feeds).is_some());
    assert!(contact, "{text}");
    assert!(
        text.contains("With the cabin heater disconnected"),
        "{text}"
    );
    assert!(text.contains("Without C3 it fell"), "{text}");
    assert!(!text.contains("Without K1"), "{text}");
}

/// Draws that were read with something out are told, though none was with everything in.
#[test]
fn draws_with_something_out_are_no_lack_of_draws() {
    let van = van();
    let case = case(&van, "prepared; asleep; pull F3; asleep; draw 0.42A");
    let said = why_draw(&case, 200);
    assert!(said.contains("read with something out"), "{said}");
    assert!(said.contains("entry 5, F3 out"), "{said}");
    let none = why_draw(&Case::new(&van), 200);
    assert!(none.contains("No settled draw was read yet"), "{none}");
}

/// Volts at an input say whether it is on.
#[test]
fn volts_at_an_input_are_a_look() {
    let van = van();
    for (typed, works) in [
        ("volts turn-on line 12.3V", "look turn-on line yes"),
        ("volts turn-on line 0.0V", "look turn-on line no"),
    ] {
        let refusal = Case::new(&van).record(typed).unwrap_err();
        assert_eq!(refusal.works, works);
    }
}

/// What was read while a fault was there that has gone since is kept for when it comes back.
#[test]
fn what_was_read_while_it_was_there_is_told() {
    let van = van();
    let case = case(
        &van,
        "prepared; asleep; draw 1.40A; look cabin heater warm; drop F2 3.1mV; pull F4; asleep; draw 1.40A; refit F4; asleep; draw 12.0mA",
    );
    let text = report_text(&report(&case), &case, &When::default());
    let told = text
        .lines()
        .find(|line| line.contains("While it was there"));
    let told = told.unwrap_or_else(|| panic!("{text}"));
    for wanted in [
        "cabin heater was looked at: warm (entry 4)",
        "F2 carried",
        "with F4 out 1.36 A to 1.44 A flowed all the same (entry 8)",
    ] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
}

/// Two faults of one wire are told apart by following it, so neither alone is to be mended.
#[test]
fn both_faults_of_a_wire_are_to_be_looked_for() {
    let text = r#"Vehicle(format: 1, name: "Eider boat (invented)", limit: mA(5), settle: minutes(5),
        battery: Battery(id: "battery", feeds: [
            Fuse(id: "F1", rating: A(10), style: Regular, feeds: [
                Splice(id: "S1", feeds: [Switch(id: "float switch", rest: Open, feeds: [Load(id: "bilge pump", kind: Motor, asleep: mA(0))])])]),
            Fuse(id: "F2", rating: A(10), style: Regular, feeds: [Load(id: "radio", kind: Audio, plug: "C2", asleep: mA(0))]),
        ]))"#;
    let boat = Setting::new(load(text).0.expect("a tree"), Instruments::assumed_meter());
    let case = case(
        &boat,
        "prepared; asleep; draw 87.0mA; volts float switch 0.0V; volts float switch 0.0V; draw 87.0mA; pull F1; asleep; draw 2.1mA; refit F1; asleep; draw 87.0mA; pull F1; asleep; draw 2.1mA",
    );
    let text = report_text(&report(&case), &case, &When::default());
    let mend = text.lines().find(|line| line.contains("Follow the wiring"));
    let mend = mend.unwrap_or_else(|| panic!("{text}"));
    assert!(mend.contains("the wiring at F1 or S1: "), "{mend}");
    assert!(mend.contains("joints and plugs"), "{mend}");
    assert!(text.contains("Without F1 it fell"), "{text}");
}

/// What was typed → what the owner reads, and what the owner must not read.
#[test]
fn an_owner_reads_no_more_than_was_shown() {
    let van = van();
    let rows = [
        // Read before it was prepared: an awake vehicle, and no drain that went by itself.
        (
            "draw 0.31A; asleep; draw 0.31A; prepared; asleep; draw 14.0mA jack mA",
            "took about 14 mA from its battery, which is normal",
            "310 mA",
        ),
        // Nobody knows whether it went, or had not gone to sleep before.
        (
            "prepared; asleep; draw 0.92A; asleep; draw 22.0mA jack mA",
            "or the vehicle had not gone to sleep yet when we measured first",
            "by itself, with everything",
        ),
        // What jumps is told by its highest.
        (
            "prepared; asleep; draw 30..410mA by series jack A; pull F3; asleep; draw 24.0mA jack mA; refit F3; asleep; draw 30..410mA by series jack A",
            "about 30 mA, up to 410 mA",
            "570 mA",
        ),
        // Mended without a proof: the screen calls it done, and so does the page.
        (
            "prepared; asleep; draw 0.24A; pull F3; asleep; draw 20.0mA jack mA; repaired F3 new amplifier; refit F3; prepared; asleep; draw 20.0mA jack mA; draw 20.0mA jack mA",
            "normal since the repair",
            "The search is not finished",
        ),
        (
            "prepared; asleep; draw 0.24A; pull F3; asleep; draw 20.0mA jack mA; repaired F3 new amplifier; refit F3; prepared; asleep; draw 20.0mA jack mA; draw 20.0mA jack mA",
            "**Within the limit after a repair; the cause was not proven.**",
            "**Not finished",
        ),
        // A coil that nobody read while the fault was there says nothing of a stuck contact.
        (
            "prepared; asleep; draw 1.80A; look cabin heater yes; drop F2 8.3mV; pull K1; asleep; draw 30.0mA jack mA; refit K1; asleep; draw 28.0mA jack mA",
            "it stayed low when that was connected again",
            "stuck",
        ),
        // What was done says itself what it was done to.
        (
            "prepared; asleep; draw 0.62A; unplug C1; asleep; draw 0.02A; refit C1; asleep; draw 0.62A; unplug C1; asleep; draw 20.0mA jack mA; repaired C1 left lamp replaced",
            "Repaired: left lamp replaced.",
            "(left lamp replaced)",
        ),
    ];
    for (lines, said, never) in rows {
        let case = case(&van, lines);
        let text = report_text(&report(&case), &case, &When::default());
        let text = text.split("### Complaint").next().unwrap();
        let text = format!("{text}\n{}", screen(&case, 200));
        assert!(text.contains(said), "{said}\n{text}");
        assert!(!text.contains(never), "{never}\n{text}");
    }
}
