//! The gallery of everything that can be wrong with a file: one small file each, and how it is
//! shown; vehicles in `tests/problems`, what a colleague would ask in `tests/questions`, instruments in
//! `tests/instrument-problems`, exercises in `tests/exercise-problems`, tables (`.csv`) in
//! `tests/table-problems`. `CODE.ron`
//! provokes that code first of all; `CODE--VARIANT.ron` another way to it.

use halfsplit::feeds::{self, Checked};
use halfsplit::problem::{self, Fault, Located, Look, Problem};
use halfsplit::vehicle::{self, Accepted, Comments, Starter};
use halfsplit::{advice, instruments};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::Path;

const PLAIN: Look = Look {
    width: 100,
    colour: false,
    unicode: true,
};

/// Characters that could act on a terminal or hide what is there.
fn hostile(text: &str) -> Option<char> {
    text.chars().find(|c| {
        (c.is_control() && *c != '\n')
            || matches!(*c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    })
}

/// How a file of the gallery is shown, after what holds for every one: `read` gives whether it can be
/// used, and its problems.
pub(crate) fn gallery(path: &Path, read: impl Fn(&str) -> (bool, Vec<Problem>)) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    let stem = path.file_stem().unwrap().to_str().unwrap();
    let code = stem.split("--").next().unwrap();
    let (usable, problems) = read(&text);
    assert!(
        problems.iter().any(|p| p.code == code),
        "{stem}: {problems:#?}"
    );
    assert_eq!(usable, !problems.iter().any(Problem::is_error), "{stem}");
    for p in &problems {
        assert!(
            !p.message().is_empty() && !p.help().is_empty(),
            "{stem}: {p:?}"
        );
    }
    let name = path.file_name().unwrap().to_str().unwrap();
    let shown = problem::show(name, &text, &problems, PLAIN);
    assert_eq!(hostile(&shown), None, "{stem}");
    shown
}

#[test]
fn each_is_shown_at_its_place_with_a_line_to_type() {
    insta::glob!("../problems", "*.ron", |path| {
        let shown = gallery(path, |text| {
            let (feeds, problems) = feeds::load(text);
            (feeds.is_some(), problems)
        });
        insta::assert_snapshot!(shown);
    });
}

#[test]
fn each_question_is_shown_at_its_place() {
    insta::glob!("../questions", "*.ron", |path| {
        let shown = gallery(path, |text| {
            let (feeds, problems) = advice::look_over(text);
            (feeds.is_some(), problems)
        });
        insta::assert_snapshot!(shown);
    });
}

/// The vehicle with all accepted that is asked, by code and name or by code alone, as text.
fn all_accepted(text: &str, by_name: bool) -> String {
    let feeds = feeds::load(text).0.unwrap();
    let mut vehicle = feeds.vehicle().clone();
    vehicle.accept.clear();
    let plain = vehicle::write(&vehicle, &Comments::default());
    let mut met = BTreeSet::new();
    for problem in advice::look_over(&plain).1 {
        let about = problem.about.filter(|_| by_name);
        let about = about.map_or_else(String::new, |name| format!(" {name}"));
        met.insert(format!("{}{about}", problem.code));
    }
    vehicle.accept = met
        .into_iter()
        .map(|what| Accepted {
            what: Located {
                value: what,
                at: 0..0,
            },
            reason: "meant so".to_owned(),
        })
        .collect();
    vehicle::write(&vehicle, &Comments::default())
}

#[test]
fn what_is_accepted_is_not_asked_again() {
    let mut accepted = 0;
    for folder in ["../questions", "../../sample-vehicles"] {
        insta::glob!(folder, "*.ron", |path| {
            let text = std::fs::read_to_string(path).unwrap();
            for by_name in [true, false] {
                let text = all_accepted(&text, by_name);
                let (feeds, found) = advice::look_over(&text);
                assert_eq!(found, [], "{path:?} {text}");
                accepted += feeds.unwrap().vehicle().accept.len();
            }
        });
    }
    assert!(accepted > 40, "{accepted}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the names are.
    #[test]
    fn odd_names_can_be_accepted(vehicle in crate::table::any_vehicle()) {
        let text = vehicle::write(&vehicle, &Comments::default());
        let accepted = all_accepted(&text, true);
        prop_assert_eq!(advice::look_over(&accepted).1, [], "{}", accepted);
    }
}

/// What is shipped is asked nothing; but a limit for 24 V has to be given.
#[test]
fn samples_and_starters_are_asked_nothing() {
    insta::glob!("../../sample-vehicles", "*.ron", |path| {
        let text = std::fs::read_to_string(path).unwrap();
        assert_eq!(advice::look_over(&text).1, [], "{path:?}");
    });
    for (word, starter) in Starter::TABLE {
        let found = advice::look_over(&starter.text("x", None, None)).1;
        let codes: Vec<_> = found.iter().map(|problem| problem.code).collect();
        let expected = if *word == "truck" {
            vec!["no-limit"]
        } else {
            vec![]
        };
        assert_eq!(codes, expected, "{word}: {found:#?}");
    }
}

#[test]
fn each_of_the_instruments_too() {
    insta::glob!("../instrument-problems", "*.ron", |path| {
        let shown = gallery(path, |text| {
            let (instruments, problems) = instruments::read(text);
            (instruments.is_some(), problems)
        });
        insta::assert_snapshot!(shown);
    });
}

#[test]
fn each_of_an_exercise_too() {
    let setting = crate::driver::sample("teaching-board");
    insta::glob!("../exercise-problems", "*.ron", |path| {
        let shown = gallery(path, |text| {
            let (task, mut problems) = halfsplit::drill::read(text);
            let named = task.as_ref().map(|task| task.exercise(&setting, 1));
            let sound = matches!(named, Some(Ok(_)));
            problems.extend(named.and_then(Result::err).unwrap_or_default());
            (sound, problems)
        });
        insta::assert_snapshot!(shown);
    });
}

#[test]
fn every_fault_has_a_file() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let has_a_file = |code: &str| {
        let folders = [
            "problems",
            "questions",
            "instrument-problems",
            "exercise-problems",
        ];
        let mut files = folders
            .map(|folder| tests.join(folder).join(format!("{code}.ron")))
            .into_iter();
        files.any(|file| file.exists()) || tests.join(format!("table-problems/{code}.csv")).exists()
    };
    let lacking: Vec<_> = Fault::ALL
        .iter()
        .map(|fault| fault.code())
        .filter(|code| !has_a_file(code))
        .collect();
    assert_eq!(lacking, [""; 0]);
    let codes: BTreeSet<_> = Fault::ALL.iter().map(|fault| fault.code()).collect();
    assert_eq!(codes.len(), Fault::ALL.len(), "a code is used twice");
}

#[test]
fn many_are_drawn_then_listed_then_counted() {
    let parts = "Fuse(rating: A(10)),\n".repeat(500);
    let text =
        format!("Vehicle(format: 1, name: \"x\", battery: Battery(id: \"b\", feeds: [\n{parts}]))");
    let (_, problems) = feeds::load(&text);
    assert_eq!(problems.len(), 500);
    let shown = problem::show("many.ron", &text, &problems, PLAIN);
    assert_eq!(shown.matches("╭─[many.ron:").count(), 20);
    assert_eq!(shown.matches("\nmany.ron:").count(), 200);
    assert!(shown.ends_with("and 280 more\n"), "{shown}");
}

#[test]
fn nothing_hostile_is_shown() {
    let bad: String = (0..0x20u8)
        .map(char::from)
        .chain("\u{7f}\u{9b}\u{61c}\u{200b}\u{202e}\u{2066}\u{feff}\u{e0041}é漢".chars())
        .collect();
    let clean = problem::clean(&bad);
    assert_eq!(clean.len(), bad.len(), "places stay true");
    assert_eq!(hostile(&clean.replace('\t', "")), None, "{clean:?}");
    assert!(clean.ends_with("é漢"));
    let text = format!("Vehicle({bad}");
    let (_, problems) = feeds::load(&text);
    for look in [
        PLAIN,
        Look {
            unicode: false,
            ..PLAIN
        },
    ] {
        let shown = problem::show(&format!("a{bad}b"), &text, &problems, look);
        assert_eq!(hostile(&shown), None, "{shown:?}");
    }
}

#[test]
fn ascii_is_ascii_and_colour_is_asked_for() {
    let text = include_str!("../problems/no-unit.ron");
    let (_, problems) = feeds::load(text);
    let ascii = problem::show(
        "a.ron",
        text,
        &problems,
        Look {
            unicode: false,
            ..PLAIN
        },
    );
    assert!(ascii.is_ascii(), "{ascii}");
    let coloured = problem::show(
        "a.ron",
        text,
        &problems,
        Look {
            colour: true,
            ..PLAIN
        },
    );
    assert!(coloured.contains("\u{1b}["));
}

#[test]
fn as_data_with_lines_and_columns() {
    let text = include_str!("../problems/no-unit.ron");
    let (feeds, problems) = feeds::load(text);
    let checked = Checked::of(text, &problems, feeds.as_ref());
    insta::assert_snapshot!(serde_json::to_string_pretty(&checked).unwrap());
}

#[test]
fn a_byte_order_mark_is_no_column() {
    let line = "Vehicle(format: 2, name: 3)\n";
    let place = |text: &str| {
        let (_, problems) = feeds::load(text);
        let rows = problem::rows(text, &problems);
        let row = rows.iter().find(|r| r.code == "wrong-format").unwrap();
        (row.line, row.column, row.column_end)
    };
    assert_eq!(place(line), (1, 17, 18));
    assert_eq!(place(&format!("\u{feff}{line}")), (1, 17, 18));
}

/// Whatever is typed in the wrong place is answered in our words, not in those of the library that reads
/// the file.
#[test]
fn odd_syntax_is_answered_in_plain_words() {
    let text = include_str!("../../sample-vehicles/quarto-van.ron");
    let odd = [
        "/*",
        "#!",
        "@",
        "\\",
        "'",
        "\"",
        "r#",
        "b\"",
        "{",
        "(",
        "[",
        "Some(",
        "..",
        "=",
        ";",
        "é",
        "0xZZ",
        "1_",
        "--1",
        "\u{0}",
        "“",
        ",,",
        "1.2.3",
        "(1,2)",
        "{1:2}",
        "99999999999999999999",
        "nan",
        "unit",
    ];
    // At the edges of words all over the file.
    let edges: Vec<usize> = text
        .match_indices(|c: char| "(:,[\"".contains(c))
        .map(|(at, _)| at + 1)
        .step_by(11)
        .collect();
    let theirs = ["xpected", "nvalid", "serde", "variant", "struct ", "enum "];
    let mut said = BTreeSet::new();
    for piece in odd {
        for at in &edges {
            let typed = format!("{}{piece}{}", &text[..*at], &text[*at..]);
            for problem in feeds::load(&typed).1 {
                let words = format!("{} / {}", problem.message(), problem.help());
                let bad = theirs.iter().find(|word| words.contains(**word));
                assert_eq!(bad, None, "{piece}: {words}");
                said.insert(problem.message().to_owned());
            }
        }
    }
    assert!(said.len() > 20, "they differ: {said:?}");
}
