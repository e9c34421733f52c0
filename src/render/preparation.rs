//! The list of the preparation.
//!
//! All of it is common practice of the trade, no source; the vehicle maker's procedure, local rules and
//! licensed practice come first.

use crate::case::{Next, Question, Reason, Setting};
use crate::feeds::PartId;
use crate::measurement::Method;
use crate::render::cautions::is_named;
use crate::render::words::listed;
use crate::vehicle::LoadKind;

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
        "Chocked, in park or neutral (afloat: moored), what is raised let down, one way in left open; latches of doors and lids turned shut by hand, so that they read shut (hands clear of fan and engine); key well away.",
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

/// Words by which what may charge the battery is known: what is covered, and what is switched off.
const COVERED: [&str; 2] = ["solar", "panel"];
const SWITCHED_OFF: [&str; 4] = ["charger", "shore", "mains", "keep-alive"];

/// What has to be covered or off before the draw is read once more, where it showed a minus.
pub(super) fn charges_it(next: &Next, setting: &Setting) -> Option<String> {
    let draws = next
        .test
        .as_ref()
        .is_some_and(|test| test.method == Method::Draw);
    let minus = |asked: &Question| match asked {
        Question::LeadsRound => true,
        Question::BackFed(part) => *part == PartId(0),
        _ => false,
    };
    if !draws || !next.questions.iter().any(minus) {
        return None;
    }
    let feeds = &setting.feeds;
    // A phone charger takes current, and gives none.
    let charges = |part: &PartId| feeds.load_kind(*part) == Some(LoadKind::Charging);
    let called = |words: &[&str]| -> Vec<String> {
        let parts = feeds.parts().filter(charges);
        let named = parts.filter(|part| is_named(*part, words, feeds));
        named.map(|part| feeds.id(part).to_owned()).collect()
    };
    let (covered, off) = (called(&COVERED), called(&SWITCHED_OFF));
    let mut said = Vec::new();
    if !covered.is_empty() {
        said.push(format!("cover the panel ({})", listed(&covered)));
    }
    if !off.is_empty() {
        said.push(format!("off and unplugged: {}", listed(&off)));
    }
    (!said.is_empty()).then(|| {
        format!(
            "A minus may be current into the battery: {}. Then read.",
            said.join("; ")
        )
    })
}
