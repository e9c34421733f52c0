//! What a careful colleague would ask about a vehicle file that has no errors.
//!
//! **Model.** Each question is a [`Problem`] that is advice, with a code. What is meant so is silenced
//! in the file by `accept`, with its reason: a code for all of its kind, a code and a name for one.
//!
//! **Invariants.** A file with errors is asked nothing: half of it would be a follow-up of the errors.
//! Every code that can be asked has a file in `tests/questions` (test `every_fault_has_a_file`), and
//! with all that is asked accepted nothing is asked (test `what_is_accepted_is_not_asked_again`).
//!
//! **Cost.** Linear in the parts, but for the names, which are sorted once.

use crate::feeds::{self, Feeds};
use crate::problem::{Fault, Problem, Severity, in_file_order, words};
use crate::vehicle::{Accepted, Vehicle};

mod boxes;
mod loads;
mod names;
mod numbers;
mod wires;

pub use numbers::missing_numbers;

/// Reads and checks a vehicle file as [`feeds::load`] does, and asks what a colleague would: every
/// problem that is not accepted, in the order of the file.
pub fn look_over(text: &str) -> (Option<Feeds>, Vec<Problem>) {
    let (feeds, mut found) = feeds::load(text);
    let Some(feeds) = feeds else {
        return (None, found);
    };
    found.extend(ask(&feeds));
    let found = without_accepted(feeds.vehicle(), found);
    (Some(feeds), in_file_order(found))
}

/// All there is to ask, accepted or not.
pub fn ask(feeds: &Feeds) -> Vec<Problem> {
    let mut asked = wires::ask(feeds);
    asked.extend(numbers::ask(feeds));
    asked.extend(loads::ask(feeds));
    asked.extend(boxes::ask(feeds));
    asked.extend(names::ask(feeds));
    asked
}

/// Without what the file accepts; what it accepts in vain is asked about instead.
fn without_accepted(vehicle: &Vehicle, mut found: Vec<Problem>) -> Vec<Problem> {
    let mut idle = vec![true; vehicle.accept.len()];
    found.retain(|problem| {
        let mut accepted = false;
        for (entry, idle) in vehicle.accept.iter().zip(&mut idle) {
            if !problem.is_error() && means(entry, problem) {
                (*idle, accepted) = (false, true);
            }
        }
        !accepted
    });
    let in_vain = vehicle.accept.iter().zip(idle).filter(|(_, idle)| *idle);
    for (entry, _) in in_vain {
        let (code, _) = entry.code_and_name();
        // Any other code has been noted by the reading.
        if Fault::with_code(code).is_some_and(|fault| fault.severity() != Severity::Error) {
            found.push(words::idle_accept(&entry.what.value).at(entry.what.at.clone()));
        }
    }
    found
}

/// Whether an entry of `accept` is about a problem.
fn means(entry: &Accepted, problem: &Problem) -> bool {
    let (code, name) = entry.code_and_name();
    code == problem.code && name.is_none_or(|name| problem.about.as_deref() == Some(name))
}
