//! What instrument could tell where the one at hand cannot, in words.

use crate::case::{Blind, Setting};
use crate::journal::word;
use crate::measurement::{Method, Need};
use crate::render::amps::{figures, wire_words};
use crate::render::answer::current;
use crate::vehicle::Wire;

/// What letting something in does to what is below.
const BRIDGED: &str = "bridge the gap while it goes in and comes out, else what is below loses its supply and may wake or reset";

fn along(wire: Wire, given: bool) -> String {
    let words = wire_words(wire);
    if given {
        format!("this meter along {words}: its own wire, or a longer piece of it")
    } else {
        format!(
            "this meter along {words} that carries this current and nothing else, or a longer or thinner piece"
        )
    }
}

/// One thing that could tell, with what to mind; `wire_given` says that the vehicle file gives the
/// part's own wire.
pub fn need(need: &Need, wire_given: bool) -> String {
    match need {
        Need::Meter(range) => format!(
            "a meter with {} mV steps, across the same, read with the probes both ways round: joints of unlike metals give microvolts of their own",
            figures(range.step.value())
        ),
        Need::AlongWire(wire) => along(*wire, wire_given),
        Need::Clamp {
            clamp,
            owned,
            turns,
            in_holder,
        } => {
            let which = if *owned {
                "the clamp at hand".to_owned()
            } else {
                format!(
                    "a clamp with {} mA steps",
                    figures(clamp.range.step.value())
                )
            };
            let lead = match turns {
                1 => "a loop lead of one turn".to_owned(),
                more => format!("a loop lead of {more} turns"),
            };
            match (in_holder, turns) {
                (false, 1) => {
                    format!("{which} round the wire, zeroed in place before the reading")
                }
                (false, _) => format!("{which} round {lead} let in, zeroed first: {BRIDGED}"),
                (true, _) => format!("{which} round {lead} in the holder, zeroed first: {BRIDGED}"),
            }
        }
    }
}

/// The same in a few words, without how.
fn need_briefly(need: &Need) -> String {
    match need {
        Need::Meter(range) => format!("a meter with {} mV steps", figures(range.step.value())),
        Need::AlongWire(wire) => format!("this meter along {}", wire_words(*wire)),
        Need::Clamp { owned: true, .. } => "the clamp at hand".to_owned(),
        Need::Clamp { clamp, .. } => format!(
            "a clamp with {} mA steps",
            figures(clamp.range.step.value())
        ),
    }
}

/// That a test cannot tell, and what would; of one that was `read` already in brief, how is said where it is named
/// without its reading.
pub fn blind_words(blind: &Blind, read: bool, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let id = feeds.id(blind.part);
    let how = match blind.method {
        Method::Drop => "a drop",
        Method::Clamp => "a clamp",
        _ => "the meter in series",
    };
    let same = if read { "showed" } else { "would show" };
    let hides = current(blind.hides);
    let first = format!(
        "With what is at hand {how} at {id} cannot tell: it {same} the same whether the drain is there or not, and up to {hides} could flow there unseen."
    );
    let given = feeds.part(blind.part).wire.is_some();
    let needs: Vec<String> = blind.needs.iter().map(|one| need(one, given)).collect();
    let then = match (blind.at_hand, needs.as_slice()) {
        (Some(method), _) => format!("At hand and able to: {} {id}.", word(method)),
        (None, []) => "Nothing would there: read or part what is below it.".to_owned(),
        (None, _) if read => {
            let mut briefly: Vec<String> = blind.needs.iter().map(need_briefly).collect();
            briefly.dedup();
            let test = word(blind.method);
            format!("It would take {}; how: {test} {id}", briefly.join(", or "))
        }
        (None, needs) => format!("It would take {}.", needs.join("; or ")),
    };
    format!("{first} {then}")
}
