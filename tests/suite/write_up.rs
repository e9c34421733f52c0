//! The write-up: looked at for whole sessions, and what it cites suffices for its verdict.

use crate::blind::{screen, screen_watched};
use crate::driver::{Driver, loads, part, sample, setting_for};
use crate::generated::Dice;
use halfsplit::case::{Case, Question, Setting};
use halfsplit::quantity::Milliamps;
use halfsplit::render::{When, repair_json, report_json, report_text};
use halfsplit::report::{Ending, Verified, Watched, is_reading, report, watched};
use halfsplit::simulation::Drain;

fn case<'s>(setting: &'s Setting, lines: &[String]) -> Case<'s> {
    let mut case = Case::new(setting);
    for line in lines {
        case.record(line).unwrap_or_else(|r| panic!("{r}"));
    }
    case
}

fn typed(lines: &[&str]) -> Vec<String> {
    lines.iter().map(|line| (*line).to_owned()).collect()
}

/// What was typed in a session that the driver went through.
fn driven(setting: &Setting, drains: &[(&str, f64)], seed: u64) -> Vec<String> {
    let drains = drains
        .iter()
        .map(|(id, ma)| Drain::Takes(part(setting, id), Milliamps::of(*ma)));
    Driver::new(setting, drains.collect(), seed).run().entries
}

#[test]
fn one_drain_in_the_van() {
    let setting = sample("quarto-van");
    let mut lines = typed(&[
        "told days 6",
        "told added dash camera; it blinks | and <glows>",
        "told parked outside, key in the office",
    ]);
    lines.extend(driven(&setting, &[("cargo lamp", 600.0)], 5));
    let case = case(&setting, &lines);
    let found = report(&case);
    assert_eq!(found.verdict.ending, Ending::Confirmed);
    insta::assert_snapshot!(report_text(&found, &case, &When::default()));
}

#[test]
fn two_drains_in_the_hatchback() {
    let setting = sample("hatchback");
    let lines = driven(
        &setting,
        &[("glovebox lamp", 410.0), ("front socket", 260.0)],
        7,
    );
    let case = case(&setting, &lines);
    let found = report(&case);
    assert_eq!(found.verdict.ending, Ending::Confirmed);
    assert_eq!(found.verdict.found.len(), 2);
    insta::assert_snapshot!(report_text(&found, &case, &When::default()));
}

/// Other endings, each as it is typed.
#[test]
fn other_endings() {
    let setting = sample("teaching-board");
    let table: [(&str, &[&str], Ending); 6] = [
        (
            "within the limit",
            &["asleep; draw 30mA by series jack mA"],
            Ending::WithinLimit,
        ),
        (
            "gone",
            &[
                "asleep",
                "draw 640mA by series",
                "drop F5 2.9mV",
                "draw 20.0mA by series jack mA",
            ],
            Ending::Gone,
        ),
        (
            "contradiction",
            &[
                "asleep; draw 640mA by series",
                "drop F1 10.0mV",
                "drop F5 0.0mV",
            ],
            Ending::Contradiction,
        ),
        (
            "reset, then gone",
            &[
                "asleep; draw 640mA by series",
                "unplug C7; asleep; draw 20.0mA by series jack mA",
                "refit C7; asleep; draw 20.0mA by series jack mA",
            ],
            Ending::Gone,
        ),
        ("nothing read", &["told days 3"], Ending::Open),
        (
            "not finished, one reading awake, one withdrawn",
            &[
                "drop F1 9.0mV",
                "asleep; draw 640mA by series",
                "drop F6 3.0mV",
                "withdraw 4 probe slipped",
                "skip drop F5 no access",
                "note the owner leaves a telephone in the socket",
                "pull F6",
            ],
            Ending::Open,
        ),
    ];
    let mut text = String::new();
    for (name, lines, ending) in table {
        let case = case(&setting, &typed(lines));
        let found = report(&case);
        assert_eq!(found.verdict.ending, ending, "{name} {:#?}", case.next());
        text = format!(
            "{text}===== {name}\n\n{}\n",
            report_text(&found, &case, &When::default())
        );
    }
    insta::assert_snapshot!(text);
}

/// After a proof: what was mended, and whether the draw was measured again and watched.
#[test]
fn a_repair_is_written_up_by_what_was_read_after_it() {
    let setting = sample("teaching-board");
    let mut proven = driven(&setting, &[("boot lamp", 600.0)], 3);
    assert_eq!(
        report(&case(&setting, &proven)).verdict.ending,
        Ending::Confirmed
    );
    let out = report(&case(&setting, &proven)).out[0].name.clone();
    proven.push(format!("repaired {out} wire no longer chafes"));
    let back = format!("refit {out}");
    let table: [(&str, Verified, &[&str]); 4] = [
        ("not read", Verified::NotRead, &[]),
        (
            "not watched",
            Verified::Unwatched,
            &[&back, "prepared", "asleep", "draw 21.0mA by series jack mA"],
        ),
        (
            "watched",
            Verified::Watched,
            &[
                &back,
                "prepared",
                "asleep",
                "draw 21.0mA by series jack mA",
                "draw 20.8mA by series jack mA",
            ],
        ),
        (
            "still over",
            Verified::StillOver,
            &[&back, "prepared", "asleep", "draw 0.28A by series"],
        ),
    ];
    let mut text = String::new();
    for (name, verified, lines) in table {
        let mut all = proven.clone();
        all.extend(typed(lines));
        let case = case(&setting, &all);
        let found = report(&case);
        assert_eq!(found.repairs.len(), 1, "{name}");
        assert_eq!(found.repairs[0].verified, verified, "{name}");
        // A repair takes nothing from the proof before it.
        let over = verified == Verified::StillOver;
        assert_eq!(found.verdict.ending == Ending::Confirmed, !over, "{name}");
        assert_eq!(found.verdict.found.len(), 1, "{name}");
        assert_eq!(
            found.to_do.is_empty(),
            verified == Verified::Watched,
            "{name}"
        );
        let whole = report_text(&found, &case, &When::default());
        let parts = whole.split("\n#").filter(|part| {
            let head = ["# For the customer", "## After", "## Left", "## Before"];
            head.iter().any(|head| part.starts_with(head))
        });
        text = format!(
            "{text}===== {name}\n\n#{}\n",
            parts.collect::<Vec<_>>().join("\n#")
        );
    }
    insta::assert_snapshot!(text);
}

/// A lamp that cannot be taken out is located at best.
#[test]
fn what_cannot_be_taken_out_is_located() {
    let text = r#"Vehicle(format: 1, name: "Bench (invented)", limit: mA(50), settle: minutes(3),
        battery: Battery(id: "battery", volts: V(12), feeds: [
            Fuse(id: "F1", rating: A(10), style: Mini, never: [Pull], feeds: [
                Load(id: "sign", kind: Lamp, plug: "C1", never: [Unplug, Look]),
            ]),
            Fuse(id: "F2", rating: A(10), style: Mini, feeds: [Load(id: "horn", kind: Other, plug: "C2")]),
        ]))"#;
    let feeds = halfsplit::feeds::load(text).0.expect("a tree");
    let setting = Setting::new(feeds, halfsplit::instruments::Instruments::assumed_meter());
    let lines = driven(&setting, &[("sign", 500.0)], 1);
    let case = case(&setting, &lines);
    let found = report(&case);
    assert_eq!(found.verdict.ending, Ending::Located, "{lines:#?}");
    insta::assert_snapshot!(report_text(&found, &case, &When::default()));
}

const LAMPS: &str = r#"Vehicle(format: 1, name: "Stall (invented)", limit: mA(50), settle: minutes(20),
    battery: Battery(id: "battery", volts: V(12), capacity: Ah(110), feeds: [
        Fuse(id: "F1", rating: A(15), style: Mini, feeds: [
            Relay(id: "R5", rest: Open, feeds: [
                Load(id: "awning lamp", kind: Lamp, plug: "C1"),
                Load(id: "sign lamp", kind: Lamp, plug: "C2"),
            ]),
            Coil(id: "R5 coil", moves: "R5"),
        ]),
        Fuse(id: "F2", rating: A(10), style: Mini, feeds: [Load(id: "horn", kind: Other, plug: "C3")]),
    ]))"#;

const TWO_MODULES: &str = r#"Vehicle(format: 1, name: "Brambling hatch (invented)", limit: mA(50), settle: minutes(20),
    networks: {"car network": Network()},
    modules: {"radio": Module(network: "car network"), "body module": Module(network: "car network")},
    battery: Battery(id: "battery", feeds: [
        Fuse(id: "F1", rating: A(15), style: Mini, feeds: [Load(id: "radio feed", kind: Audio, of: "radio", plug: "C1", asleep: mA(4))]),
        Fuse(id: "F2", rating: A(15), style: Mini, feeds: [Load(id: "body feed", kind: BodyModule, of: "body module", plug: "C2", asleep: mA(6))]),
        Fuse(id: "F3", rating: A(10), style: Mini, feeds: [
            Output(id: "dome output", feeds: [Load(id: "dome lamp", kind: Lamp, plug: "C3")]),
        ]),
        Switch(id: "main switch", rest: Open, feeds: [
            Fuse(id: "F4", rating: A(10), style: Mini, feeds: [Load(id: "pump", kind: Motor, plug: "C4")]),
        ]),
    ]))"#;

/// What may have another reason than the part that fell is written up with that reason: two modules of one network,
/// a lamp on an output, what hangs behind a switch that should be open.
#[test]
fn what_may_lie_behind_it_is_written_up() {
    let feeds = halfsplit::feeds::load(TWO_MODULES).0.expect("a tree");
    let setting = Setting::new(feeds, halfsplit::instruments::Instruments::assumed_meter());
    let one = |plug: &str| {
        typed(&[
            "prepared; asleep; draw 0.41A by series jack A",
            &format!("unplug {plug}; asleep; draw 25.0mA by series jack mA"),
            &format!("refit {plug}; asleep; draw 0.41A by series jack A"),
        ])
    };
    let modules = typed(&[
        "prepared; asleep; draw 0.52A by series jack A; look dome lamp no",
        "drop F1 1.4mV; drop F2 2.1mV; draw 0.52A by series jack A",
        "unplug C2; asleep; draw 0.22A by series jack A",
        "refit C2; asleep; draw 0.52A by series jack A",
        "unplug C1; asleep; draw 0.32A by series jack A",
        "refit C1; asleep; draw 0.52A by series jack A",
        "unplug C1; asleep; draw 0.32A by series jack A",
        "unplug C2; asleep; draw 20.0mA by series jack mA",
        "refit C2; asleep; draw 0.32A by series jack A",
        "unplug C2; asleep; draw 20.0mA by series jack mA",
    ]);
    let table = [
        (
            one("C3"),
            vec![
                "the dome lamp or what keeps it on (",
                "(or what keeps dome output on",
            ],
        ),
        (
            one("C4"),
            vec!["or a wire past it", "(on, or a wire past it)"],
        ),
        (
            modules,
            vec![
                "though one thing may be keeping them awake",
                "are of one network",
            ],
        ),
    ];
    for (lines, said) in table {
        let case = case(&setting, &lines);
        let text = report_text(&report(&case), &case, &When::default());
        for said in said {
            assert!(text.contains(said), "{said}: {text}");
        }
    }
}

/// Two modules that are up together, by what the file says that each takes awake, are no cause: the write-up says that
/// they stay awake, and sends nobody to replace one.
#[test]
fn modules_that_are_kept_up_are_no_cause() {
    let modules = TWO_MODULES
        .replace(
            "\"radio\": Module(network: \"car network\")",
            "\"radio\": Module(network: \"car network\", awake: mA(200))",
        )
        .replace(
            "\"body module\": Module(network: \"car network\")",
            "\"body module\": Module(network: \"car network\", awake: mA(300))",
        );
    let feeds = halfsplit::feeds::load(&modules).0.expect("a tree");
    let setting = Setting::new(feeds, halfsplit::instruments::Instruments::assumed_meter());
    let lines = typed(&[
        "prepared; asleep; draw 0.52A by series jack A; look dome lamp no; volts main switch 0.0V; volts main switch 0.0V",
        "drop F1 1.0mV; drop F2 1.5mV; drop F3 0.0mV; volts F3 12.5V; drop F3 0.0mV; draw 0.52A by series jack A",
        "unplug C2; asleep; draw 0.22A by series jack A",
        "refit C2; asleep; draw 0.52A by series jack A",
        "unplug C1; asleep; draw 0.32A by series jack A",
        "refit C1; asleep; draw 0.52A by series jack A",
    ]);
    let case = case(&setting, &lines);
    let text = report_text(&report(&case), &case, &When::default());
    for said in [
        "**Located, not proven: radio; body module.**",
        "The radio and the body module stay awake though everything is switched off.",
        "before a module is replaced",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    for never in ["Repair or replace", "We found"] {
        assert!(!text.contains(never), "{never}: {text}");
    }
}

/// A relay is proven as a whole: what it switches is said, and no more of it than was told apart.
#[test]
fn a_relay_is_named_by_what_it_switches() {
    let feeds = halfsplit::feeds::load(LAMPS).0.expect("a tree");
    let setting = Setting::new(feeds, halfsplit::instruments::Instruments::assumed_meter());
    // Each lamp out takes half of it: the coil has nothing left.
    let fine = typed(&[
        "prepared; asleep; draw 308.0mA by series jack mA",
        "drop F1 1.3mV; look R5 cold; draw 308.0mA by series jack mA",
        "unplug C1; asleep; draw 159.0mA by series jack mA",
        "refit C1; unplug C2; asleep; draw 159.2mA by series jack mA",
        "refit C2; pull R5; asleep; draw 8.7mA by series jack mA",
        "refit R5; asleep; draw 308.2mA by series jack mA",
        "pull R5",
    ]);
    let coarse = typed(&[
        "prepared; asleep; draw 0.31A by series jack A",
        "drop F1 1.3mV; look R5 cold; draw 0.31A by series jack A",
        "unplug C1; asleep; draw 0.16A by series jack A",
        "refit C1; unplug C2; asleep; draw 0.16A by series jack A",
        "refit C2; pull R5; asleep; draw 0.01A by series jack A; draw 8.7mA by series jack mA",
        "refit R5; asleep; draw 0.31A by series jack A",
        "pull R5",
    ]);
    let table = [
        (
            fine,
            "**Confirmed: R5, the relay of the awning lamp and sign lamp (stuck).**",
            "We found the cause and proved it: R5 (the relay of the awning lamp and sign lamp), which sticks.",
        ),
        (
            coarse,
            "**Confirmed: R5, the relay of the awning lamp and sign lamp (its contact, or what holds it on).**",
            "We found where it goes and proved it: R5 (the relay of the awning lamp and sign lamp), which sticks or is kept switched on.",
        ),
    ];
    for (lines, head, owner) in table {
        let case = case(&setting, &lines);
        let found = report(&case);
        assert_eq!(found.verdict.ending, Ending::Confirmed, "{lines:#?}");
        let text = report_text(&found, &case, &When::default());
        for said in [head, owner, "with R5 out"] {
            assert!(text.contains(said), "{said}: {text}");
        }
        let open = "in place of R5: R5 coil held on. The relay felt cold (entry";
        assert_eq!(
            text.contains(open),
            head.contains("or what holds"),
            "{text}"
        );
    }
}

/// 110 Ah and some 0.6 A: no less than 3 days.
#[test]
fn days_that_the_draw_does_not_explain_are_written_up() {
    let feeds = halfsplit::feeds::load(LAMPS).0.expect("a tree");
    let setting = Setting::new(feeds, halfsplit::instruments::Instruments::assumed_meter());
    let horn = Drain::Takes(part(&setting, "horn"), Milliamps::of(560.0));
    let driven = Driver::new(&setting, vec![horn], 3).run().entries;
    let mended = [
        "repaired C3 new horn",
        "refit all",
        "prepared; asleep",
        "draw 21.0mA by series jack mA",
        "draw 21.0mA by series jack mA",
    ];
    for (days, said) in [(2, true), (5, false), (30, true)] {
        let mut lines = typed(&[&format!("told days {days}")]);
        lines.extend(driven.clone());
        for after in [&[][..], &mended[..]] {
            lines.extend(typed(after));
            let case = case(&setting, &lines);
            let found = report(&case);
            assert_eq!(found.unexplained.is_some(), said, "{days}");
            let text = report_text(&found, &case, &When::default());
            let words = format!("Flat after {days} days was told; ");
            for shown in [text, screen(&case, 400)] {
                assert_eq!(shown.contains(&words), said, "{days}: {shown}");
            }
            // The old complaint is held against the old draw alone.
            let asked = |q: &Question| matches!(q, Question::DaysDiffer(..));
            let asks = case.next().questions.iter().any(asked);
            assert!(!asks, "{days} {after:?}");
        }
    }
}

/// What was proven was put back in before it was mended, so that the search had not ended: with the draw in order
/// after the repair nothing is left to mend.
#[test]
fn what_was_mended_and_verified_is_not_said_to_be_left() {
    let feeds = halfsplit::feeds::load(LAMPS).0.expect("a tree");
    let setting = Setting::new(feeds, halfsplit::instruments::Instruments::assumed_meter());
    let mut lines = typed(&[
        "prepared; asleep; draw 0.57A by series jack A",
        "drop F2 4.2mV; draw 0.57A by series jack A",
        "unplug C3; asleep; draw 21.0mA by series jack mA",
        "refit C3; asleep; draw 0.57A by series jack A",
        "repaired C3 new horn",
    ]);
    for (draw, head) in [
        (
            "draw 0.57A by series jack A",
            // It draws what it drew: the new horn, or the old one, was not the cause.
            "**Not finished.**",
        ),
        (
            "draw 21.0mA by series jack mA",
            "**Found and mended: horn.**",
        ),
    ] {
        let mut after = lines.clone();
        after.extend(typed(&["prepared; asleep", draw]));
        let case = case(&setting, &after);
        let found = report(&case);
        assert_eq!(found.verdict.ending, Ending::Open);
        let text = report_text(&found, &case, &When::default());
        assert!(text.contains(head), "{head}: {text}");
    }
    // Nor before anything was read after it.
    lines.push("prepared".to_owned());
    let case = case(&setting, &lines);
    let text = report_text(&report(&case), &case, &When::default());
    assert!(text.contains("**Found, not all mended: horn.**"), "{text}");
}

/// What a customer reads.
fn for_the_customer(text: &str) -> &str {
    let from = text.split("## For the customer").nth(1).unwrap();
    from.split("\n## ").next().unwrap()
}

/// Who owns the vehicle reads names: no plug, whatever was unplugged or repaired.
#[test]
fn a_customer_reads_no_plug() {
    let setting = sample("hatchback");
    let feeds = &setting.feeds;
    let plugs: Vec<&str> = feeds
        .parts()
        .filter_map(|part| Some(feeds.part(part).plug.as_ref()?.value.as_str()))
        .collect();
    assert!(plugs.len() > 20, "{plugs:?}");
    let mut named = 0;
    for hidden in ["glovebox lamp", "front socket", "radio memory feed"] {
        let mut lines = driven(&setting, &[(hidden, 410.0)], 7);
        let proven = lines.len();
        // Another plug was opened on the way, and mended.
        lines.extend(typed(&["unplug C68", "repaired C68 pin cleaned"]));
        for until in [proven, proven + 1, proven + 2] {
            let case = case(&setting, &lines[..until]);
            let text = report_text(&report(&case), &case, &When::default());
            let words = for_the_customer(&text).split(|c: char| !c.is_alphanumeric());
            let plug = words.into_iter().find(|word| plugs.contains(word));
            assert_eq!(plug, None, "{text}");
            named += usize::from(text.contains("Repaired: the brake lamp switch (pin cleaned)"));
        }
    }
    assert_eq!(named, 3);
}

/// What was skipped and done later was done.
#[test]
fn what_was_skipped_and_done_later_is_not_said_to_be_open() {
    let setting = sample("teaching-board");
    let lines = typed(&[
        "asleep; draw 640mA by series",
        "skip drop F1 no access",
        "skip drop F5 no access",
        "drop F5 0.0mV",
    ]);
    let case = case(&setting, &lines);
    let text = report_text(&report(&case), &case, &When::default());
    assert!(
        text.contains("- Not done: drop F1: no access (entry 3)."),
        "{text}"
    );
    assert!(!text.contains("drop F5: no access"), "{text}");
}

/// What was told anew stands once, and what the electrician thinks is no part of the complaint.
#[test]
fn what_was_told_stands_once_and_no_opinion_is_the_complaint() {
    let setting = sample("teaching-board");
    let lines = typed(&[
        "told volts 12.1V; told volts 12.6V; told days 6",
        "told odds boot lamp 3",
        "told dead boot lamp dim; told dead radio loses its time",
    ]);
    let case = case(&setting, &lines);
    let text = report_text(&report(&case), &case, &When::default());
    let complaint = text.split("### Complaint").nth(1).unwrap();
    let complaint = complaint.split("\n###").next().unwrap();
    for (said, times) in [
        ("Battery at rest: ", 1),
        ("12.6V", 1),
        ("Dead or odd besides: ", 2),
        ("- odds", 0),
        (
            "Odds set by hand, which order the search and rule nobody out: boot lamp 3 times",
            1,
        ),
    ] {
        assert_eq!(
            complaint.matches(said).count(),
            times,
            "{said}: {complaint}"
        );
    }
}

/// Once something is proven, what is not ruled out is told as what it is: another drain to be found, or in a line
/// what could be left.
#[test]
fn what_is_not_ruled_out_beside_a_proof_is_told_by_what_it_comes_to() {
    let setting = sample("quarto-van");
    for (before, rest, said, branches) in [
        (
            "0.94A",
            "0.30A",
            "Another drain is left beside cargo lamp: 13 suspects could be it",
            7,
        ),
        (
            "0.69A",
            "0.05A",
            "Whether anything beside cargo lamp drains it too: 13 suspects could still take enough",
            4,
        ),
    ] {
        let lines = [
            format!("prepared; asleep; draw {before}"),
            format!("unplug C114; asleep; draw {rest} jack A"),
            format!("refit C114; asleep; draw {before} jack A"),
            format!("unplug C114; asleep; draw {rest} jack A"),
        ];
        let case = case(&setting, &lines);
        let text = report_text(&report(&case), &case, &When::default());
        let open = text.split("### Not proven").nth(1).unwrap();
        let open = open.split("\n###").next().unwrap();
        assert!(open.contains(said), "{said}: {open}");
        assert_eq!(open.matches("\n  - ").count(), branches, "{open}");
    }
}

/// The case file knows when each line was entered.
#[test]
fn how_long_it_was_left_alone_is_written_up() {
    let setting = sample("teaching-board");
    let lines = typed(&["prepared", "asleep", "draw 640mA by series"]);
    let case = case(&setting, &lines);
    for (minutes, said) in [
        ([0.0, 3.0, 4.0], "| entry 2, after 3 min | 3 |"),
        ([0.0, 0.4, 4.0], "| entry 2 \\* | 3 |"),
    ] {
        let when = When {
            minutes: minutes.map(Some).to_vec(),
            days: Some(("2026-03-01".to_owned(), "2026-03-02".to_owned())),
        };
        let text = report_text(&report(&case), &case, &when);
        assert!(text.contains(said), "{said}: {text}");
        assert!(
            text.contains("| | | 2026-03-01 to 2026-03-02 | | |"),
            "{text}"
        );
    }
}

/// A log after a repair is believed where it fits in between the last thing that was done and its entry.
#[test]
fn a_log_after_a_repair_has_to_fit_in() {
    let setting = sample("teaching-board");
    let settle = setting.feeds.settle().value();
    let mut lines = driven(&setting, &[("boot lamp", 600.0)], 3);
    lines.extend(typed(&[
        "repaired C1 new switch; refit C1",
        "prepared; asleep",
        "draw 21.0mA by series jack mA",
        "logged 30min most 22mA",
    ]));
    let case = case(&setting, &lines);
    let repair = &case.repairs()[0];
    let number = case.entries().len();
    // Minutes to each entry, and from `prepared` to the log.
    let table = [
        (1.0, 40.0, false),
        // The case file keeps whole minutes.
        (1.0, 29.5, false),
        (1.0, 3.0, true),
        (0.01, 0.02, false),
    ];
    for (each, since, too_soon) in table {
        let prepared = number - 4;
        let at = |n: usize| match n {
            n if n < number - 1 => n as f64 * each,
            _ => prepared as f64 * each + since,
        };
        let minutes: Vec<Option<f64>> = (0..number).map(|n| Some(at(n))).collect();
        let found = watched(&case, repair, &minutes);
        assert_eq!(found.is_none(), too_soon, "{each} {since}: {found:?}");
        let when = When {
            minutes,
            days: None,
        };
        let text = report_text(&report(&case), &case, &when);
        let shown = screen_watched(&case, 400, found);
        for (text, said, expected) in [
            (
                &shown,
                "NOT VERIFIED: a log of 30 min was entered 3 min after the last thing",
                too_soon,
            ),
            (&shown, "Once it is over: logged 30min most", too_soon),
            (&shown, "Case done.", !too_soon),
            (&text, "it **cannot** have run since", too_soon),
            (&text, "within the limit when it was read", true),
            (&text, "so the repair is not verified.", too_soon),
        ] {
            assert_eq!(text.contains(said), expected, "{said}: {text}");
        }
        let told = repair_json(&case, found).unwrap();
        let word = if too_soon { "not_watched" } else { "watched" };
        assert_eq!(told["verified"], word);
    }
    assert_eq!(watched(&case, repair, &[]), Watched::LoggedAsEntered);
    // What is shorter than a settle is none, whatever the clock says.
    let mut case = case.clone();
    case.record("undo").unwrap();
    let short = format!("logged {}min", settle / 2.0);
    assert_eq!(case.record(&short).unwrap().questions.len(), 1);
    assert!(!case.repairs()[0].is_watched());
}

/// Two readings of the draw after a repair, by the clock of the case file: the screen and the write-up say the same
/// of them. Lines that were typed faster than the work can be done tell nothing of how long it took.
#[test]
fn a_repair_is_watched_by_the_clock() {
    let setting = sample("teaching-board");
    let mut lines = driven(&setting, &[("boot lamp", 600.0)], 3);
    let draws = [
        "repaired C1 new switch; refit C1",
        "prepared; asleep",
        "draw 21.0mA by series jack mA",
        "draw 21.0mA by series jack mA",
    ];
    lines.extend(typed(&draws));
    let case = case(&setting, &lines);
    let number = case.entries().len();
    let table = [
        // A minute to each entry, and so long between the last two.
        (1.0, 0.2, Watched::Short(0.2)),
        (1.0, 10.0, Watched::Long(10.0)),
        (0.01, 0.01, Watched::Unknown),
    ];
    for (each, apart, expected) in table {
        let mut minutes: Vec<Option<f64>> =
            (0..number - 1).map(|n| Some(n as f64 * each)).collect();
        minutes.push(minutes.last().unwrap().map(|last| last + apart));
        let found = watched(&case, &case.repairs()[0], &minutes);
        let about = |watched: Watched| match watched {
            Watched::Short(minutes) => (1, (minutes * 100.0).round()),
            Watched::Long(minutes) => (2, (minutes * 100.0).round()),
            Watched::Unknown => (0, 0.0),
            Watched::Logged | Watched::LoggedAsEntered | Watched::LogTooSoon { .. } => (3, 0.0),
        };
        assert_eq!(about(found), about(expected), "{found:?}");
        let when = When {
            minutes,
            days: None,
        };
        let (text, data) = {
            let report = report(&case);
            let text = report_text(&report, &case, &when);
            (text, report_json(&report, &case, &when))
        };
        let shown = screen_watched(&case, 400, found);
        // The data says the same, of the report as of the next step.
        let (verified, minutes) = match expected {
            Watched::Short(minutes) => ("not_watched", Some(minutes)),
            Watched::Long(minutes) => ("watched", Some(minutes)),
            _ => ("read_twice", None),
        };
        let step = repair_json(&case, found).unwrap();
        for told in [&data["repairs"][0], &step] {
            assert_eq!(told["verified"], verified);
            assert_eq!(told["watched_min"].as_f64(), minutes, "{told}");
        }
        let watch = data["to_do"].as_array().unwrap();
        assert_eq!(watch.contains(&"watch".into()), verified == "not_watched");
        let short = matches!(expected, Watched::Short(_));
        let says = |text: &str, said: &str, expected: bool| {
            assert_eq!(text.contains(said), expected, "{said}: {text}");
        };
        says(
            &shown,
            "NOT VERIFIED: the two readings are only less than 1 min apart",
            short,
        );
        says(&shown, "Case done.", matches!(expected, Watched::Long(_)));
        says(
            &shown,
            "How far apart the readings were is not known",
            expected == Watched::Unknown,
        );
        says(
            &text,
            "We measured that twice; how long it was watched was not noted.",
            expected == Watched::Unknown,
        );
        says(
            &text,
            "| after the watch |",
            matches!(expected, Watched::Long(_)),
        );
        says(
            &text,
            "but only less than 1 min apart: too short a watch",
            short,
        );
        says(&text, "so the repair is not verified.", short);
        says(&text, "Watch the draw with everything in", short);
        says(
            &text,
            "both times, 10 min apart",
            expected == Watched::Long(10.0),
        );
        says(
            &text,
            "typed faster than the work",
            expected == Watched::Unknown,
        );
        says(&text, "after less than 1 of", false);
    }
}

/// Times of day that were typed count for the watch after a repair, also the day after, however fast the lines were
/// entered. A log of a case that was entered at once is taken as it was entered, and the write-up says so.
#[test]
fn a_repair_is_watched_by_the_times_that_were_typed() {
    let setting = sample("teaching-board");
    let searched = driven(&setting, &[("boot lamp", 600.0)], 3);
    let settle = setting.feeds.settle().value();
    assert!(settle < 30.0);
    let too_soon = Watched::LogTooSoon {
        long: 30.0,
        since: 10.0,
    };
    let as_entered = "(as entered, not by this program's clock)";
    let apart = "both times, 14 h 0 min apart";
    let table = [
        (
            " at 17:00",
            " at 18:00",
            "draw 21.0mA by series jack mA at 8:00",
            Watched::Long(840.0),
            apart,
        ),
        (
            "",
            " at 18:00",
            "draw 21.0mA by series jack mA at 18:01",
            Watched::Short(1.0),
            "too short a watch",
        ),
        // Lines out of their order are no next day.
        (
            "",
            " at 18:00",
            "draw 21.0mA by series jack mA at 17:50",
            Watched::Unknown,
            "not known",
        ),
        (
            "",
            "",
            "draw 21.0mA by series jack mA at 8:00",
            Watched::Unknown,
            "not known",
        ),
        (
            " at 17:00",
            " at 18:00",
            "logged 30min most 22mA at 8:00",
            Watched::Logged,
            "logged for 30 min.",
        ),
        (
            " at 23:55",
            "",
            "logged 30min most 22mA at 0:05",
            too_soon,
            "**cannot** have run",
        ),
        (
            "",
            "",
            "logged 30min most 22mA",
            Watched::LoggedAsEntered,
            as_entered,
        ),
        (
            " at 17:00",
            "",
            "logged 30min most 22mA",
            Watched::LoggedAsEntered,
            as_entered,
        ),
    ];
    for (mended, first, last, expected, said) in table {
        let mut lines = searched.clone();
        lines.extend(typed(&[
            &format!("refit all; repaired C1 new switch{mended}"),
            "prepared; asleep",
            &format!("draw 21.0mA by series jack mA{first}"),
            last,
        ]));
        let case = case(&setting, &lines);
        let minutes = vec![Some(0.0); case.entries().len()];
        let found = watched(&case, &case.repairs()[0], &minutes);
        assert_eq!(found, expected, "{last}");
        let when = When {
            minutes,
            days: None,
        };
        let text = report_text(&report(&case), &case, &when);
        assert!(text.contains(said), "{last}: {text}");
        let shown = screen_watched(&case, 400, found);
        let done = matches!(
            expected,
            Watched::Long(_) | Watched::Logged | Watched::LoggedAsEntered
        );
        assert_eq!(shown.contains("Case done."), done, "{last}: {shown}");
    }
}

#[test]
fn the_readings_cited_suffice_for_the_verdict() {
    let (mut fewer, mut confirmed) = (0, 0);
    for seed in 0..24 {
        let mut dice = Dice(seed ^ 0x99);
        let size = 8 + dice.below(40);
        let setting = setting_for(seed, size, seed % 2 == 0, seed % 3 == 0);
        let loads = loads(&setting.feeds);
        let mut drains = Vec::new();
        for _ in 0..=dice.below(2) {
            let load = *dice.one_of(&loads);
            drains.push(Drain::Takes(load, Milliamps::of(dice.between(80.0, 900.0))));
        }
        let lines = Driver::new(&setting, drains, seed).run().entries;
        let whole = case(&setting, &lines);
        let found = report(&whole);
        let dropped: Vec<u32> = whole
            .entries()
            .iter()
            .filter(|e| is_reading(&e.act) && !found.verdict.rests_on.contains(&e.number))
            .map(|e| e.number)
            .collect();
        // Typed anew, as a person would withdraw them.
        let mut alone = whole.clone();
        for number in &dropped {
            alone
                .record(&format!("withdraw {number}"))
                .expect("withdrawn");
        }
        let again = report(&alone);
        assert_eq!(again.verdict.ending, found.verdict.ending, "{lines:#?}");
        assert_eq!(again.verdict.located, found.verdict.located, "{lines:#?}");
        let proofs = |r: &halfsplit::report::Report| -> Vec<_> {
            let found = r.verdict.found.iter();
            found
                .map(|f| (f.cause, f.subject.clone(), f.returned))
                .collect()
        };
        assert_eq!(proofs(&again), proofs(&found), "{lines:#?}");
        fewer += usize::from(!dropped.is_empty());
        confirmed += usize::from(found.verdict.ending == Ending::Confirmed);
    }
    // It would be no use if a verdict rested on everything.
    assert!(confirmed > 20 && fewer > 10, "{confirmed} {fewer}");
}
