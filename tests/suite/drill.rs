//! Drills: the simulated vehicle keeps its laws, the best play gets full marks, planted bad checks are
//! named, and guessing earns little.

use crate::driver::{part, sample};
use halfsplit::case::Setting;
use halfsplit::drill::{
    Chance, Debrief, Drill, Exercise, Misconception, Question, Said, Verdict, Wanted, answers_to,
    pick, played,
};
use halfsplit::feeds::PartId;
use halfsplit::interval::Interval;
use halfsplit::journal::Wrong;
use halfsplit::measurement::without_burden;
use halfsplit::quantity::{Milliamps, Milliohms, Millivolts};
use halfsplit::simulation::{Drain, Hidden};
use std::fmt::Write as _;

/// An exercise in which these are hidden.
pub(crate) fn exercise(number: u64, drains: Vec<Drain>) -> Exercise {
    let hidden = drains.into_iter().map(|drain| Hidden {
        drain,
        lost_by_break: false,
    });
    Exercise {
        number,
        hidden: hidden.collect(),
        ..Exercise::default()
    }
}

fn debrief_of(setting: &Setting, exercise: &Exercise, lines: &[String]) -> Debrief {
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let mut drill = Drill::new(setting, exercise, &choice);
    for line in lines {
        let said = drill.take(line);
        assert!(
            matches!(said, Said::Done(_) | Said::Ended | Said::Hint(..)),
            "{line}: {said:?}"
        );
    }
    drill.debrief(&choice)
}

fn lines(text: &str) -> Vec<String> {
    text.split("; ").map(str::to_owned).collect()
}

fn verdicts(debrief: &Debrief) -> Vec<(&str, Verdict)> {
    let bad = debrief.steps.iter().filter(|s| s.verdict != Verdict::Good);
    bad.map(|s| (s.entry.as_str(), s.verdict)).collect()
}

#[test]
fn currents_add_up_and_every_reading_agrees_with_what_is_concluded() {
    for name in ["teaching-board", "quarto-van"] {
        let setting = sample(name);
        let feeds = &setting.feeds;
        for number in 0..6 {
            let chance = Chance(number);
            let choice = |question: &str| chance.at(question);
            let exercise = exercise(number, vec![pick(&setting, chance).drain]);
            let best = played(&setting, &exercise, &choice);
            let mut drill = Drill::new(&setting, &exercise, &choice);
            for line in &best.lines {
                drill.take(line);
                let current = drill.parked().currents();
                for p in feeds.parts() {
                    let below: f64 = feeds.children(p).map(|c| current[c.index()]).sum();
                    let own = current[p.index()] - below;
                    assert!(own > -1e-9, "{name} {number}: {} takes {own}", feeds.id(p));
                    if p == PartId(0) {
                        assert!(own.abs() < 1e-9, "the battery takes nothing itself");
                    }
                }
                // Once a drain is proven the case speaks of the vehicle without it.
                if drill.case().has_draw()
                    && drill.case().next().found.is_empty()
                    && drill.parked().out().is_empty()
                    && drill.parked().is_asleep()
                {
                    for (p, _, known, _) in drill.case().standing() {
                        let truth = Milliamps::of(current[p.index()]);
                        // A draw on the mA jack is what flows with the meter in line: its 1.8 Ω take their
                        // part of what is a plain resistance, on a battery that is not full.
                        let (supply, burden) = (Millivolts::of(11_400.0), Milliohms::of(1800.0));
                        let most = without_burden(Milliamps::of(known.high()), supply, burden);
                        let known = Interval::between(known.low(), most.value());
                        assert!(
                            known.widened(1e-6).holds(truth),
                            "{name} {number} {line}: {} {truth:?} {known:?}",
                            feeds.id(p)
                        );
                    }
                    assert!(drill.case().clash().is_none(), "{name} {number} {line}");
                }
            }
        }
    }
}

#[test]
fn the_best_play_gets_full_marks() {
    for name in ["teaching-board", "quarto-van"] {
        let setting = sample(name);
        for number in 0..8 {
            let chance = Chance(number);
            let hidden = pick(&setting, chance);
            let exercise = exercise(number, vec![hidden.drain.clone()]);
            let choice = |question: &str| chance.at(question);
            let mut best = played(&setting, &exercise, &choice);
            let answer = answers_to(&setting.feeds, &hidden.drain).remove(0);
            let seat = match setting.feeds.find(&answer) {
                Some(halfsplit::feeds::Named::Part(p)) => Some(*p),
                Some(halfsplit::feeds::Named::Module(m)) => {
                    setting.feeds.module_feeds(*m).first().copied()
                }
                _ => None,
            };
            let plug = seat.and_then(|p| setting.feeds.part(p).plug.as_ref());
            let at = plug.map_or(String::new(), |plug| format!(" at {}", plug.value));
            best.lines.push(format!("answer {answer}{at}"));
            let debrief = debrief_of(&setting, &exercise, &best.lines);
            assert_eq!(debrief.marks, 100, "{name} {number}: {debrief:#?}");
            assert_eq!(verdicts(&debrief), [], "{name} {number}");
        }
    }
}

#[test]
fn planted_bad_checks_are_named() {
    let setting = sample("teaching-board");
    let lamp = exercise(
        1,
        vec![Drain::Takes(
            part(&setting, "boot lamp"),
            Milliamps::of(400.0),
        )],
    );
    // What is typed after the settled draw, and what must be said of its last step.
    let table = [
        (
            "drop F1; drop F2; unplug C7",
            "unplug C7",
            Verdict::Irrelevant,
        ),
        ("drop F1; drop F2; drop F1", "drop F1", Verdict::Redundant),
        ("unplug C9", "unplug C9", Verdict::Premature),
    ];
    for (typed, bad, verdict) in table {
        let all = lines(&format!("prepared; asleep; draw; {typed}"));
        let debrief = debrief_of(&setting, &lamp, &all);
        let last = debrief.steps.last().unwrap();
        assert!(last.entry.starts_with(bad), "{debrief:#?}");
        assert_eq!(last.verdict, verdict, "{typed}: {debrief:#?}");
        assert!(last.lost > 0.0, "{typed}");
    }
    let all = lines("prepared; asleep; draw; drop F1; drop F2; answer boot lamp at C1 proven");
    let debrief = debrief_of(&setting, &lamp, &all);
    assert!(debrief.right && !debrief.proven);
    assert_eq!(debrief.steps.last().unwrap().verdict, Verdict::Unproven);
    assert_eq!(debrief.misconceptions, [Misconception::ClaimedProof]);
}

#[test]
fn misconceptions_are_named() {
    let setting = sample("teaching-board");
    let takes = |id, ma| Drain::Takes(part(&setting, id), Milliamps::of(ma));
    let two = exercise(2, vec![takes("boot lamp", 400.0), takes("blower", 300.0)]);
    let table = [
        (
            "draw; answer boot lamp and blower",
            vec![Misconception::JudgedAwake, Misconception::NotPrepared],
        ),
        (
            "prepared; asleep; draw; answer boot lamp",
            vec![Misconception::OneOfTwo],
        ),
    ];
    for (typed, wanted) in table {
        assert_eq!(
            debrief_of(&setting, &two, &lines(typed)).misconceptions,
            wanted,
            "{typed}"
        );
    }
    let mut bridged = exercise(3, vec![takes("boot lamp", 400.0)]);
    bridged.traps.bridge_on = true;
    let fooled = debrief_of(
        &setting,
        &bridged,
        &lines("prepared; asleep; draw; answer siren"),
    );
    assert_eq!(fooled.misconceptions, [Misconception::BadBaseline]);
    let mut flat = exercise(3, vec![takes("boot lamp", 400.0)]);
    flat.traps.battery_low = true;
    let hasty = debrief_of(
        &setting,
        &flat,
        &lines("prepared; asleep; draw; answer boot lamp"),
    );
    assert_eq!(hasty.misconceptions, [Misconception::BadBaseline]);
    // The best play looks at the battery, charges it, and looks again before the first draw.
    let begins = [
        "volts battery",
        "check set-up",
        "volts battery",
        "prepared",
        "asleep",
    ];
    assert_eq!(hasty.best.lines[..5], begins);
    let steps = lines("volts battery; check set-up; prepared; asleep; draw; answer boot lamp");
    let looked = debrief_of(&setting, &flat, &steps);
    assert!(
        looked.misconceptions.is_empty(),
        "{:?}",
        looked.misconceptions
    );
    let careful = lines("prepared; asleep; draw; check set-up; draw; answer boot lamp");
    assert!(
        debrief_of(&setting, &bridged, &careful)
            .misconceptions
            .is_empty()
    );
}

#[test]
fn guessing_earns_little() {
    let setting = sample("teaching-board");
    let loads: Vec<PartId> = setting
        .feeds
        .parts()
        .filter(|p| setting.feeds.load_kind(*p).is_some())
        .collect();
    let mut marks = 0;
    for number in 0..30 {
        let chance = Chance(number);
        let exercise = exercise(number, vec![pick(&setting, chance).drain]);
        let guess = setting.feeds.id(loads[chance.one_of("guess", loads.len())]);
        let all = lines(&format!("prepared; asleep; draw; answer {guess}"));
        marks += debrief_of(&setting, &exercise, &all).marks;
    }
    assert!(marks < 30 * 25, "{marks} of 3000");
}

#[test]
fn a_line_that_is_refused_changes_nothing() {
    let setting = sample("teaching-board");
    let exercise = exercise(4, vec![pick(&setting, Chance(4)).drain]);
    let choice = |question: &str| Chance(4).at(question);
    let mut drill = Drill::new(&setting, &exercise, &choice);
    for line in [
        "drop F1 2.1mV",
        "nonsense",
        "drop nothing",
        "wait long",
        "answer nobody",
        "series F1 by clamp now",
        "undo",
    ] {
        let said = drill.take(line);
        assert!(matches!(said, Said::Refused(_)), "{line}: {said:?}");
    }
    assert!(drill.steps().is_empty() && drill.case().entries().is_empty());
    assert!(drill.parked().minutes() == 0.0);
}

/// What an exercise or the simulated vehicle does not take, what is said, and the line that works; each
/// such line is taken, but for `quit`, which is the command's.
#[test]
fn what_does_not_fit_a_drill_is_said_with_a_line_that_works() {
    let setting = sample("teaching-board");
    let plain = exercise(4, vec![pick(&setting, Chance(4)).drain]);
    let asking = |wants: Wanted| Question {
        ask: "How much?".to_owned(),
        wants,
        hint: None,
        wrong: Vec::new(),
    };
    let current = asking(Wanted::Current(part(&setting, "F1")));
    let asks = Exercise {
        questions: vec![current, asking(Wanted::Words(vec!["none".to_owned()]))],
        ..plain.clone()
    };
    let choice = |question: &str| Chance(4).at(question);
    let begun = |exercise| Drill::new(&setting, exercise, &choice);
    let mut over = begun(&plain);
    assert_eq!(over.take("answer F1"), Said::Ended);
    let mut predicting = begun(&plain).predicting();
    for line in ["prepared", "asleep", "draw"] {
        assert!(matches!(predicting.take(line), Said::Done(_)), "{line}");
    }
    assert!(matches!(predicting.take("drop F1"), Said::Asks(_)));
    let table = vec![
        (over, "draw"),
        (predicting, "perhaps"),
        (begun(&plain), "wait long"),
        (begun(&plain), "drop F1 2.1mV"),
        (begun(&plain), "drop F1 2.1mV; drop F2 0.0mV"),
        (begun(&plain), "prepared; asleep"),
        (begun(&plain), "undo"),
        (begun(&plain), "answer nobody"),
        (begun(&plain), "reply 1 F1"),
        (begun(&asks), "reply F1"),
        (begun(&asks), "reply 1 dark"),
    ];
    let mut said = String::new();
    for (mut drill, line) in table {
        let refusal = match drill.take(line) {
            Said::Refused(refusal) | Said::Again(refusal) => refusal,
            other => panic!("{line}: {other:?}"),
        };
        assert!(matches!(refusal.wrong, Wrong::Drill(_)), "{line}");
        let works = refusal.works;
        writeln!(said, "{line}\n    {}\n    > {works}", refusal.wrong).unwrap();
        let taken = drill.take(&works);
        let refused = matches!(taken, Said::Refused(_) | Said::Again(_) | Said::Cannot(_));
        assert!(works == "quit" || !refused, "{works}: {taken:?}");
    }
    insta::assert_snapshot!(said);
}

/// The same number must give the same vehicle on every build. Values by a second implementation, of
/// `ChaCha` with 8 rounds (D. J. Bernstein, "`ChaCha`, a variant of Salsa20", 2008) and FNV-1a, written apart.
#[test]
fn a_number_gives_the_same_choices_on_every_build() {
    let table = [
        (0, "", 0.073_889_279_667_687_44),
        (7, "drop F3", 0.842_427_716_235_861_9),
        (1_000_000_007, "draw", 0.685_553_824_247_314_8),
    ];
    for (number, question, value) in table {
        let chance = Chance(number).at(question);
        assert!(
            (chance - value).abs() < 1e-15,
            "{number} {question}: {chance}"
        );
    }
}
