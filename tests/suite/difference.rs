//! What two vehicle files say differently.

use crate::table::any_vehicle;
use halfsplit::difference::Difference;
use halfsplit::{feeds, render};
use proptest::prelude::*;
use std::process::Command;

fn of(first: &str, second: &str) -> Difference {
    let read = |text: &str| feeds::load(text).0.unwrap();
    Difference::of(read(first).vehicle(), read(second).vehicle())
}

/// A body builder's work on the van: what is shown for it, line by line.
#[test]
fn before_and_after_a_body_builder() {
    let first = include_str!("../../sample-vehicles/quarto-van.ron");
    let second = first
        .replace("limit: mA(50)", "limit: mA(35)")
        .replace("\"roof\":", "\"attic\": Place(), \"roof\":")
        .replace(
            "Fuse(id: \"F7\", rating: A(10)",
            "Load(id: \"tracker\", kind: Added), Fuse(id: \"F7\", rating: A(15)",
        )
        .replace("Fuse(id: \"F9\"", "Fuse(id: \"F8\"");
    let found = of(first, &second);
    insta::assert_snapshot!(render::difference(&found, 60));
    let back = of(&second, first);
    assert_eq!((&back.added, &back.removed), (&found.removed, &found.added));
    assert_eq!(back.changed.len(), found.changed.len());
    assert!(of(first, first).is_empty());
}

#[test]
fn exit_codes_are_those_of_a_comparison() {
    let van = "sample-vehicles/quarto-van.ron";
    let board = "sample-vehicles/teaching-board.ron";
    let bad = "tests/problems/no-id.ron";
    for (first, second, code) in [
        (van, van, 0),
        (van, board, 1),
        (van, bad, 3),
        (van, "none.ron", 3),
    ] {
        for more in [&[][..], &["--json"][..]] {
            let output = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
                .args(["compare", first, second])
                .args(more)
                .current_dir(env!("CARGO_MANIFEST_DIR"))
                .output()
                .unwrap();
            assert_eq!(output.status.code(), Some(code), "{first} {second}");
            assert_eq!(output.stdout.is_empty(), code == 3);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Nothing differs from itself; turned round, what came went, and every part is counted once.
    #[test]
    fn turned_round_what_came_went(first in any_vehicle(), second in any_vehicle()) {
        prop_assert!(Difference::of(&first, &first).is_empty());
        let there = Difference::of(&first, &second);
        let back = Difference::of(&second, &first);
        prop_assert_eq!(&there.added, &back.removed);
        prop_assert_eq!(&there.removed, &back.added);
        prop_assert_eq!(there.refed.len(), back.refed.len());
        prop_assert_eq!(there.changed.len(), back.changed.len());
        prop_assert_eq!(there.same, back.same);
        prop_assert!(there.same + there.added.len() <= second.parts.len());
    }
}
