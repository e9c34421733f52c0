//! The list of the preparation.
//!
//! All of it is common practice of the trade, no source; the vehicle maker's procedure, local rules and
//! licensed practice come first.

use crate::case::{Next, Reason, Setting};

/// The list of the preparation; after a repair what its verification needs.
pub fn preparation(next: &Next, setting: &Setting) -> Vec<String> {
    let again = next.reason == Reason::PrepareAgain;
    let mut list: Vec<String> = Vec::new();
    let mut say = |text: &str| list.push(text.to_owned());
    if again {
        say("Battery charged again? No flames or sparks, ventilate, rings off.");
        say(
            "Everything as the owner leaves it: all fuses and plugs in, what was added plugged in, faults stored by the work cleared.",
        );
        say("Drive it or go through a full key cycle, as the fault needed it; then all off.");
    } else {
        // The whole supply is read: two batteries in series are told as one.
        let rested = if setting.feeds.volts().value() > 18_000.0 {
            "25.2V"
        } else {
            "12.6V"
        };
        say(&format!(
            "Battery first: charged, tested, lid clean? No flames or sparks, ventilate, rings off. Enter its volts at rest: told volts {rested}.",
        ));
        say("Stored faults read out, before anything comes off?");
        say(
            "Look round: a lamp alight, a relay warm, something added? Enter it: told added tracker.",
        );
    }
    say(
        "Chocked or moored, what is lifted let down, a way in left open; catches of doors and lids closed by hand, so that they count as shut (hands clear of fan and engine); key well away.",
    );
    let places = || next.open.iter().filter(|_| !again);
    let wakes: Vec<_> = places()
        .copied()
        .filter(|place| setting.feeds.place_as_written(*place).wakes)
        .collect();
    if !wakes.is_empty() {
        let names: Vec<&str> = wakes
            .iter()
            .map(|place| setting.feeds.place_as_written(*place).id.value.as_str())
            .collect();
        say(&format!(
            "Open now, it would wake the vehicle later: {}.",
            names.join(", ")
        ));
    }
    say(if setting.instruments.clamp.is_some() {
        "Charger and keep-alive supply off. Clamp round all leads of one battery post."
    } else {
        "Charger and keep-alive supply off. Meter in the negative lead over a bridge, so that the supply is never broken: 10 A jack first."
    });
    say("The maker's procedure and local rules come first.");
    list
}
