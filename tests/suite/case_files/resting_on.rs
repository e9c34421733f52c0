//! The files a case rests on: they move, grow, go missing.

use super::{Folder, VAN};
use std::fs;

#[test]
fn a_missing_vehicle_file_is_asked_for_and_its_new_place_remembered() {
    let folder = Folder::with_case();
    fs::create_dir(folder.path("sheets")).unwrap();
    fs::rename(folder.path("van.ron"), folder.path("sheets/v.ron")).unwrap();
    for arguments in [
        &["next", "a.case"][..],
        &["record", "a.case", "prepared"][..],
    ] {
        let run = folder.run(arguments);
        assert_eq!((run.code, run.out.as_str()), (3, ""));
        assert!(run.err.contains("--vehicle FILE"), "{run:?}");
    }
    // Looking remembers nothing, recording does.
    folder.done(&["next", "a.case", "--vehicle", "sheets/v.ron"]);
    assert_eq!(folder.run(&["next", "a.case"]).code, 3);
    folder.done(&["record", "a.case", "--vehicle", "sheets/v.ron", "prepared"]);
    folder.done(&["next", "a.case"]);
    assert_eq!(folder.entries("a.case"), ["prepared"]);
}

#[test]
fn a_case_moves_with_its_vehicle_file() {
    let folder = Folder::new();
    for name in ["jobs", "jobs/today"] {
        fs::create_dir(folder.path(name)).unwrap();
    }
    fs::rename(folder.path("van.ron"), folder.path("jobs/van.ron")).unwrap();
    folder.done(&["next", "jobs/today/a.case", "--vehicle", "jobs/van.ron"]);
    assert!(folder.text("jobs/today/a.case").contains("\"../van.ron\""));
    fs::rename(folder.path("jobs"), folder.path("old jobs")).unwrap();
    folder.done(&["record", "old jobs/today/a.case", "prepared"]);
    #[cfg(unix)]
    {
        // From anywhere, and through a link.
        let case = folder.path("old jobs/today/a.case");
        std::os::unix::fs::symlink(&case, folder.path("link.case")).unwrap();
        folder.done(&["record", "link.case", "asleep"]);
        folder.done(&["record", case.to_str().unwrap(), "note whole path"]);
    }
    let text = folder.text("old jobs/today/a.case");
    assert!(!text.contains("Files("), "nothing has changed: {text}");
}

#[test]
fn instruments_are_kept_with_the_case() {
    let folder = Folder::new();
    let meter = "meter: Meter(millivolts: Range(step: mV(0.1), percent: 0.5, counts: 2))";
    let clamp = "clamp: Clamp(step: mA(1), percent: 2, counts: 5)";
    let text = format!("Instruments(format: 1, {meter}, {clamp})");
    fs::write(folder.path("mine.ron"), text).unwrap();
    let open = [
        "next",
        "a.case",
        "--vehicle",
        "van.ron",
        "--instruments",
        "mine.ron",
    ];
    folder.done(&open);
    folder.done(&["record", "a.case", "prepared; asleep; draw 640mA"]);
    assert_eq!(folder.entries("a.case")[2], "draw 640mA by clamp");
    fs::remove_file(folder.path("mine.ron")).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!(run.code, 3);
    assert!(run.err.contains("--instruments FILE"), "{run:?}");
    // A case opened without may get them later.
    folder.done(&["next", "b.case", "--vehicle", "van.ron"]);
    fs::write(
        folder.path("new.ron"),
        format!("Instruments(format: 1, {clamp})"),
    )
    .unwrap();
    folder.done(&[
        "record",
        "b.case",
        "--instruments",
        "new.ron",
        "prepared; asleep; draw 1A",
    ]);
    assert_eq!(folder.entries("b.case")[2], "draw 1A by clamp");
    folder.done(&["record", "b.case", "draw 1A"]);
    assert_eq!(folder.text("b.case").matches("new.ron").count(), 1);
}

#[test]
fn the_vehicle_file_may_grow_in_the_middle_of_a_case() {
    let folder = Folder::with_case();
    folder.done(&[
        "record",
        "a.case",
        "prepared; asleep; draw 640mA; drop F2 2.1mV",
    ]);
    let load = "at: \"bonnet box\", feeds: [Load(id: \"dash camera\")]),\n    ]),";
    let grown = VAN.replace("at: \"bonnet box\"),\n    ]),", load);
    assert!(grown.contains("dash camera"));
    fs::write(folder.path("van.ron"), &grown).unwrap();
    let run = folder.run(&["record", "a.case", "look dash camera dark"]);
    assert_eq!(
        (run.code, run.out.as_str()),
        (0, "   5  look dash camera dark\n")
    );
    assert!(run.err.contains("van.ron has changed"), "{run:?}");
    // It is said once.
    let run = folder.run(&["record", "a.case", "note more"]);
    assert_eq!(run.err, "");
    // A name that entries use may not go: nothing is guessed.
    fs::write(folder.path("van.ron"), VAN).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!((run.code, run.out.as_str()), (1, ""));
    assert!(
        run.err
            .contains("entry 5 of a.case, `look dash camera dark`"),
        "{run:?}"
    );
    assert!(run.err.contains("van.ron"), "{run:?}");
    fs::write(folder.path("van.ron"), grown).unwrap();
    folder.done(&["next", "a.case"]);
}

#[test]
fn another_vehicle_is_asked_about() {
    let folder = Folder::with_case();
    folder.done(&["record", "a.case", "prepared"]);
    fs::write(folder.path("van.ron"), VAN.replace("Small", "Large")).unwrap();
    let run = folder.run(&["next", "a.case"]);
    assert_eq!(run.code, 0);
    assert!(run.err.contains("is it the same vehicle?"), "{run:?}");
}
