//! What cannot be done at the vehicle: one test, or all of a place.

use crate::trace::Bench;
use halfsplit::case::{Case, Setting, State};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::measurement::Method;

fn van() -> Setting {
    let file = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-vehicles/quarto-van.ron"
    );
    let text = std::fs::read_to_string(file).unwrap();
    Setting::new(load(&text).0.unwrap(), Instruments::assumed_meter())
}

/// Whether the next step sends somebody to a place, or past it.
fn goes_to(case: &Case<'_>, name: &str) -> bool {
    let Some(test) = case.next().test else {
        return false;
    };
    // The draw is read at the battery, wherever that is.
    let moves = !matches!(test.method, Method::Draw | Method::Wait | Method::Refit);
    let feeds = &case.setting().feeds;
    let named = |place| feeds.place_as_written(place).id.value == name;
    let way = test.place.map(|place| feeds.way(place)).unwrap_or_default();
    moves && way.into_iter().any(named)
}

/// Nobody is sent to a place that was said to be out of reach, nor to what lies behind it, until something was
/// done there.
#[test]
fn nothing_at_a_place_that_is_left_out_is_asked_for() {
    let van = van();
    for place in ["footwell box", "bonnet box", "behind dash", "roof"] {
        let mut case = Case::new(&van);
        for entry in ["prepared", "asleep", "draw 640mA by series sure"] {
            case.record(entry).unwrap();
        }
        let mut steps = 0;
        let mut left_out = false;
        while let Some(test) = case.next().test {
            steps += 1;
            assert!(steps < 100, "{place}: {}", test.entry);
            if left_out {
                assert!(!goes_to(&case, place), "{place}: {}", test.entry);
            }
            let answer = match test.method {
                _ if goes_to(&case, place) => {
                    left_out = true;
                    format!("skip place {place} seized")
                }
                Method::Wait => "asleep".to_owned(),
                Method::Draw => "640mA by series sure".to_owned(),
                Method::Pull | Method::Unplug | Method::Refit | Method::Open => "done".to_owned(),
                Method::Look => "no".to_owned(),
                _ => "skip no leads".to_owned(),
            };
            case.record(&answer)
                .unwrap_or_else(|refusal| panic!("{refusal}"));
        }
        assert!(left_out, "{place}");
        assert!(matches!(
            case.next().state,
            State::Located | State::Undecidable
        ));
    }
    // Done after all.
    let mut case = Case::new(&van);
    for entry in ["prepared", "asleep", "draw 640mA by series sure"] {
        case.record(entry).unwrap();
    }
    assert!(goes_to(&case, "bonnet box"));
    case.record("skip place seized").unwrap();
    assert!(!goes_to(&case, "bonnet box"));
    case.record("drop F9 0.0mV").unwrap();
    assert!(goes_to(&case, "bonnet box"));
}

/// After a skip the line that leaves out the place is shown where the next test is there too; at the end what was
/// left out is named with its reason, and in the write-up.
#[test]
fn what_is_left_out_is_said_with_its_reason() {
    let bench = Bench::new();
    let run =
        bench.van("prepared\nasleep\ndraw 640mA\nskip lid is stuck\nskip place lid is stuck\n");
    let entries = bench.entries("van.case");
    assert_eq!(
        entries[3..],
        [
            "skip drop F3 lid is stuck",
            "skip place bonnet box lid is stuck"
        ]
    );
    for said in [
        "at bonnet box too. Nothing there can be got at? skip place lid is stuck",
        "everything at bonnet box from here on; instead: ",
    ] {
        assert!(run.flat().contains(said), "{said}: {}", run.out);
    }
    let lines = "skip place footwell box locked\nskip place roof locked\n";
    let end = bench.piped(&["van.case"], lines, 80);
    for said in [
        "everything at bonnet box: lid is stuck (entry 5); everything at footwell box: locked (entry 6)",
        "Can it be done after all? Type the test with what it shows, or withdraw 7 and it is asked for.",
    ] {
        assert!(end.flat().contains(said), "{said}: {}", end.out);
    }
    let wait = bench.piped(&["van.case"], "awake\nskip no time\n", 80);
    assert!(
        wait.flat().contains("a wait cannot be left out"),
        "{}",
        wait.out
    );
}
