//! What may happen at the vehicle, on every sample vehicle: the drain found at once or late, points
//! skipped, tests of one's own choice, wrong entries, undo, a kill, two drains, a module that holds
//! others awake, a fault lost by pulling.

use crate::driver::{Driver, Manner, as_hidden, part, sample};
use halfsplit::case::{Setting, State};
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;

fn takes(setting: &Setting, id: &str, ma: f64) -> Drain {
    Drain::Takes(part(setting, id), Milliamps::of(ma))
}

/// A sample vehicle, what is hidden in it, how the person works, how it must end and with what.
type Row = (
    &'static str,
    &'static [(&'static str, f64)],
    Manner,
    State,
    &'static [&'static str],
);

fn every_row_ends_as_it_must(rows: &[Row]) {
    for (vehicle, hidden, manner, state, found) in rows {
        let setting = sample(vehicle);
        let drains = hidden.iter().map(|(id, ma)| takes(&setting, id, *ma));
        let outcome = Driver::new(&setting, drains.collect(), 11).run_as(*manner);
        let what = format!("{vehicle} {hidden:?} {manner:?}: {:#?}", outcome.log);
        assert_eq!(outcome.state, *state, "{what}");
        let ids: Vec<String> = hidden.iter().map(|(id, _)| (*id).to_owned()).collect();
        let seen = as_hidden(&setting, &outcome.found, &ids);
        let mut names: Vec<&str> = seen.iter().map(String::as_str).collect();
        names.sort_unstable();
        assert_eq!(names, *found, "{what}");
    }
}

#[test]
fn found_at_once_and_found_late() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("blower", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["blower"],
        ),
        (
            "teaching-board",
            &[("siren", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["siren"],
        ),
        (
            "quarto-van",
            &[("cargo lamp", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["cargo lamp"],
        ),
        (
            "quarto-van",
            &[("fan", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["fan"],
        ),
        (
            "hatchback",
            &[("radio memory feed", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["radio memory feed"],
        ),
        (
            "hatchback",
            &[("starter solenoid", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["starter solenoid"],
        ),
        (
            "pickup",
            &[("bonnet lamp", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["bonnet lamp"],
        ),
        (
            "pickup",
            &[("fuel pump", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["fuel pump"],
        ),
        (
            "coach",
            &[("screens", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["screens"],
        ),
        (
            "coach",
            &[("rear bay lamp", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["rear bay lamp"],
        ),
        (
            "large-van",
            &[("load tracker", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["load tracker"],
        ),
        (
            "large-van",
            &[("reversing sounder", 600.0)],
            Manner::Plain,
            State::Confirmed,
            &["reversing sounder"],
        ),
    ]);
}

#[test]
fn points_out_of_reach_are_gone_round() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("siren", 600.0)],
            Manner::Skips(2),
            State::Confirmed,
            &["siren"],
        ),
        (
            "quarto-van",
            &[("cargo lamp", 600.0)],
            Manner::Skips(2),
            State::Confirmed,
            &["cargo lamp"],
        ),
        (
            "hatchback",
            &[("radio memory feed", 600.0)],
            Manner::Skips(5),
            State::Confirmed,
            &["radio memory feed"],
        ),
        (
            "pickup",
            &[("bonnet lamp", 600.0)],
            Manner::Skips(5),
            State::Confirmed,
            &["bonnet lamp"],
        ),
        (
            "coach",
            &[("screens", 600.0)],
            Manner::Skips(5),
            State::Confirmed,
            &["screens"],
        ),
        (
            "large-van",
            &[("load tracker", 600.0)],
            Manner::Skips(5),
            State::Confirmed,
            &["load tracker"],
        ),
    ]);
}

#[test]
fn tests_of_ones_own_choice_count() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("siren", 600.0)],
            Manner::OwnChoice(&["F3", "F1"]),
            State::Confirmed,
            &["siren"],
        ),
        (
            "quarto-van",
            &[("fan", 600.0)],
            Manner::OwnChoice(&["F7", "F9"]),
            State::Confirmed,
            &["fan"],
        ),
        (
            "hatchback",
            &[("passenger window", 600.0)],
            Manner::OwnChoice(&["F20", "F31", "F3"]),
            State::Confirmed,
            &["passenger window"],
        ),
        (
            "pickup",
            &[("left tail lamp", 600.0)],
            Manner::OwnChoice(&["F4", "F3"]),
            State::Confirmed,
            &["left tail lamp"],
        ),
        (
            "coach",
            &[("guide microphone", 600.0)],
            Manner::OwnChoice(&["A4", "B8"]),
            State::Confirmed,
            &["guide microphone"],
        ),
        (
            "large-van",
            &[("left work lamp", 600.0)],
            Manner::OwnChoice(&["A7", "B8"]),
            State::Confirmed,
            &["left work lamp"],
        ),
    ]);
}

#[test]
fn slips_change_nothing() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("blower", 600.0)],
            Manner::Slips,
            State::Confirmed,
            &["blower"],
        ),
        (
            "quarto-van",
            &[("fan", 600.0)],
            Manner::Slips,
            State::Confirmed,
            &["fan"],
        ),
        (
            "hatchback",
            &[("radio memory feed", 600.0)],
            Manner::Slips,
            State::Confirmed,
            &["radio memory feed"],
        ),
        (
            "pickup",
            &[("bonnet lamp", 600.0)],
            Manner::Slips,
            State::Confirmed,
            &["bonnet lamp"],
        ),
        (
            "coach",
            &[("screens", 600.0)],
            Manner::Slips,
            State::Confirmed,
            &["screens"],
        ),
        (
            "large-van",
            &[("load tracker", 600.0)],
            Manner::Slips,
            State::Confirmed,
            &["load tracker"],
        ),
    ]);
}

#[test]
fn what_was_taken_back_is_as_if_it_had_never_been() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("radio memory", 600.0)],
            Manner::Undoes,
            State::Confirmed,
            &["radio memory"],
        ),
        (
            "quarto-van",
            &[("cargo lamp", 600.0)],
            Manner::Undoes,
            State::Confirmed,
            &["cargo lamp"],
        ),
        (
            "hatchback",
            &[("radio memory feed", 600.0)],
            Manner::Undoes,
            State::Confirmed,
            &["radio memory feed"],
        ),
        (
            "pickup",
            &[("bonnet lamp", 600.0)],
            Manner::Undoes,
            State::Confirmed,
            &["bonnet lamp"],
        ),
        (
            "coach",
            &[("screens", 600.0)],
            Manner::Undoes,
            State::Confirmed,
            &["screens"],
        ),
        (
            "large-van",
            &[("load tracker", 600.0)],
            Manner::Undoes,
            State::Confirmed,
            &["load tracker"],
        ),
    ]);
}

#[test]
fn a_case_that_is_broken_off_after_every_entry_goes_on() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("radio memory", 600.0)],
            Manner::BrokenOff,
            State::Confirmed,
            &["radio memory"],
        ),
        (
            "quarto-van",
            &[("cargo lamp", 600.0)],
            Manner::BrokenOff,
            State::Confirmed,
            &["cargo lamp"],
        ),
        (
            "hatchback",
            &[("passenger window", 600.0)],
            Manner::BrokenOff,
            State::Confirmed,
            &["passenger window"],
        ),
        (
            "pickup",
            &[("bonnet lamp", 600.0)],
            Manner::BrokenOff,
            State::Confirmed,
            &["bonnet lamp"],
        ),
        (
            "coach",
            &[("screens", 600.0)],
            Manner::BrokenOff,
            State::Confirmed,
            &["screens"],
        ),
        (
            "large-van",
            &[("load tracker", 600.0)],
            Manner::BrokenOff,
            State::Confirmed,
            &["load tracker"],
        ),
    ]);
}

#[test]
fn two_drains_are_found_one_after_the_other() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("blower", 600.0), ("siren", 300.0)],
            Manner::Plain,
            State::Confirmed,
            &["blower", "siren"],
        ),
        (
            "quarto-van",
            &[("cargo lamp", 600.0), ("fan", 250.0)],
            Manner::Plain,
            State::Confirmed,
            &["cargo lamp", "fan"],
        ),
        (
            "hatchback",
            &[("radio memory feed", 350.0), ("boot lamp", 420.0)],
            Manner::Plain,
            State::Confirmed,
            &["boot lamp", "radio memory feed"],
        ),
        (
            "pickup",
            &[("bonnet lamp", 800.0), ("fuel pump", 200.0)],
            Manner::Plain,
            State::Confirmed,
            &["bonnet lamp", "fuel pump"],
        ),
        (
            "coach",
            &[("screens", 600.0), ("rear bay lamp", 900.0)],
            Manner::Plain,
            State::Confirmed,
            &["rear bay lamp", "screens"],
        ),
        (
            "large-van",
            &[("load tracker", 300.0), ("reversing sounder", 450.0)],
            Manner::Plain,
            State::Confirmed,
            &["load tracker", "reversing sounder"],
        ),
    ]);
}

#[test]
fn a_fault_lost_by_pulling_is_gone_and_not_found() {
    every_row_ends_as_it_must(&[
        (
            "teaching-board",
            &[("blower", 600.0)],
            Manner::LosesIt,
            State::Gone,
            &[],
        ),
        (
            "quarto-van",
            &[("cargo lamp", 600.0)],
            Manner::LosesIt,
            State::Gone,
            &[],
        ),
        (
            "hatchback",
            &[("radio memory feed", 600.0)],
            Manner::LosesIt,
            State::Gone,
            &[],
        ),
        (
            "pickup",
            &[("bonnet lamp", 600.0)],
            Manner::LosesIt,
            State::Gone,
            &[],
        ),
        (
            "coach",
            &[("screens", 600.0)],
            Manner::LosesIt,
            State::Gone,
            &[],
        ),
        (
            "large-van",
            &[("load tracker", 600.0)],
            Manner::LosesIt,
            State::Gone,
            &[],
        ),
    ]);
}

#[test]
fn a_module_that_holds_others_awake_is_found_and_not_what_it_holds() {
    for vehicle in ["quarto-van", "hatchback", "pickup", "coach", "large-van"] {
        let setting = sample(vehicle);
        let feeds = &setting.feeds;
        let holders = feeds.modules().filter(|m| {
            let partners = |n| feeds.partners(n).count();
            feeds.network_of(*m).is_some_and(|n| partners(n) > 1)
        });
        for module in holders.take(2) {
            let id = feeds.module(module).id.value.clone();
            let outcome = Driver::new(&setting, vec![Drain::HeldBy(module)], 11).run();
            let what = format!("{vehicle} {id}: {:#?}", outcome.log);
            assert_eq!(outcome.state, State::Confirmed, "{what}");
            assert_eq!(outcome.found, [id], "{what}");
        }
    }
}
