//! What an import wrote, where to look at it, and what no table can say.

use crate::render::words::{count, number};
use crate::vehicle::{Place, Vehicle};
use std::fmt::Write as _;

/// What stands in a vehicle file that was just written; `file` as it is typed on a command line.
pub fn imported(vehicle: &Vehicle, file: &str) -> String {
    let parts = count(vehicle.parts.len(), "part");
    let places = count(vehicle.places.len(), "place");
    let mut text =
        format!("{parts} in {places}; to hold them against the manual: halfsplit tree {file}");
    let mut unsaid = vehicle.places.iter().filter(|place| !place.reach_given);
    if let Some(place) = unsaid.next() {
        let minutes = number(Place::USUAL_REACH.value());
        let more = match unsaid.count() {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let _ = write!(
            text,
            "\nMinutes to {}{more} are taken to be {minutes}; say what they are under places in the \
             file: Place(reach: minutes(6), wakes: true, within: \"…\")",
            place.id.value
        );
    }
    text
}
