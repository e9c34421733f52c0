//! Exercise files: each rung of the ladder is sound and can be climbed, wrong answers are answered, and
//! an attempt that was broken off goes on as if it had not been.

use halfsplit::case::Setting;
use halfsplit::drill::{
    self, Chance, Debrief, Drill, Exercise, Misconception, Said, Task, Verdict, Wanted, answers_to,
    played,
};
use halfsplit::feeds::{Feeds, Named, PartId, load};
use halfsplit::instruments;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles/exercises")
}

/// A rung with everything it rests on.
pub(crate) struct Rung {
    pub(crate) name: String,
    pub(crate) task: Task,
    pub(crate) setting: Setting,
}

fn rung(path: &Path) -> Rung {
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.starts_with("// Invented: "), "{}", path.display());
    let (task, problems) = drill::read(&text);
    assert!(problems.is_empty(), "{}: {problems:#?}", path.display());
    let task = task.unwrap();
    let beside = |file: &str| std::fs::read_to_string(path.with_file_name("").join(file)).unwrap();
    let feeds = load(&beside(&task.vehicle.value)).0.unwrap();
    let file = &task.instruments.as_ref().expect("instruments").value;
    let instruments = instruments::read(&beside(file)).0.unwrap();
    Rung {
        name: path.file_stem().unwrap().to_str().unwrap().to_owned(),
        setting: Setting::new(feeds, instruments),
        task,
    }
}

pub(crate) fn ladder() -> Vec<Rung> {
    let files = std::fs::read_dir(folder()).unwrap();
    let mut files: Vec<_> = files.map(|f| f.unwrap().path()).collect();
    files.sort();
    files.iter().map(|path| rung(path)).collect()
}

pub(crate) fn exercise(rung: &Rung) -> Exercise {
    let exercise = rung.task.exercise(&rung.setting, 1);
    exercise.unwrap_or_else(|problems| panic!("{}: {problems:#?}", rung.name))
}

pub(crate) fn debrief(setting: &Setting, exercise: &Exercise, lines: &[String]) -> Debrief {
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let mut drill = Drill::new(setting, exercise, &choice);
    for line in lines {
        let said = drill.take(line);
        assert!(
            matches!(
                said,
                Said::Done(_) | Said::Ended | Said::Hint(..) | Said::Noted
            ),
            "{line}: {said:?}"
        );
    }
    drill.debrief(&choice)
}

/// The right answer with its connectors.
pub(crate) fn right(feeds: &Feeds, exercise: &Exercise) -> String {
    let names = exercise.hidden.iter();
    let names: Vec<String> = names
        .map(|h| answers_to(feeds, &h.drain).remove(0))
        .collect();
    let plugs: Vec<&str> = names
        .iter()
        .filter_map(|name| {
            let part: PartId = match feeds.find(name)? {
                Named::Part(part) => *part,
                Named::Module(module) => *feeds.module_feeds(*module).first()?,
                _ => return None,
            };
            Some(feeds.part(part).plug.as_ref()?.value.as_str())
        })
        .collect();
    let at = if plugs.is_empty() {
        String::new()
    } else {
        format!(" at {}", plugs.join(" and "))
    };
    format!("answer {}{at}", names.join(" and "))
}

/// The right replies to what is asked beside a search.
pub(crate) fn replies(exercise: &Exercise) -> Vec<String> {
    let asked = exercise.questions.iter().enumerate();
    let replies = asked.filter_map(|(index, question)| {
        let reply = match &question.wants {
            Wanted::Parts(parts) => parts.join(" and "),
            Wanted::Words(words) => words[0].clone(),
            Wanted::Current(_) | Wanted::Sealed => return None,
        };
        Some(format!("reply {} {reply}", index + 1))
    });
    replies.collect()
}

/// What a learner types who knows the way: the best plan and the right replies and answer.
pub(crate) fn best(rung: &Rung, exercise: &Exercise) -> Vec<String> {
    let feeds = &rung.setting.feeds;
    let chance = Chance(exercise.number);
    let choice = |question: &str| chance.at(question);
    let mut lines = if exercise.hunt {
        played(&rung.setting, exercise, &choice).lines
    } else {
        vec!["prepared".to_owned(), "asleep".to_owned()]
    };
    for (index, question) in exercise.questions.iter().enumerate() {
        let reply = match &question.wants {
            Wanted::Parts(parts) => parts.join(" and "),
            Wanted::Words(words) => words[0].clone(),
            Wanted::Current(part) => {
                lines.push(format!("drop {}", feeds.id(*part)));
                let mut drill = Drill::new(&rung.setting, exercise, &choice);
                for line in &lines {
                    drill.take(line);
                }
                format!("{:.0}mA", drill.parked().currents()[part.index()])
            }
            Wanted::Sealed => panic!("{} is sealed", rung.name),
        };
        lines.push(format!("reply {} {reply}", index + 1));
    }
    if exercise.hunt {
        lines.push(right(feeds, exercise));
    }
    lines
}

#[test]
fn the_ladder_has_twelve_rungs_that_build_on_each_other() {
    let ladder = ladder();
    let themes = [
        "tree",
        "drop",
        "live",
        "lamp",
        "many",
        "coil",
        "unfused",
        "two-feeds",
        "two-drains",
        "awake",
        "lost",
        "baseline",
    ];
    assert_eq!(ladder.len(), themes.len());
    for (index, (rung, theme)) in ladder.iter().zip(themes).enumerate() {
        let task = &rung.task;
        assert!(rung.name.contains(theme), "{}", rung.name);
        assert_eq!(task.rung, Some(index as u32 + 1), "{}", rung.name);
        let before: Vec<String> = index
            .checked_sub(1)
            .map(|below| ladder[below].name.clone())
            .into_iter()
            .collect();
        let files: Vec<&String> = task.before.iter().map(|earlier| &earlier.file).collect();
        assert_eq!(files, Vec::from_iter(&before), "{}", rung.name);
        let exercise = exercise(rung);
        let wrong = exercise.wrong.len()
            + exercise
                .questions
                .iter()
                .map(|q| q.wrong.len())
                .sum::<usize>();
        assert!(wrong > 0, "{}: no wrong answer is expected", rung.name);
        assert!(
            task.time.is_some() && task.hand_in.is_some(),
            "{}",
            rung.name
        );
    }
}

#[test]
fn the_best_play_of_each_rung_gets_full_marks_in_its_time() {
    for rung in ladder() {
        let exercise = exercise(&rung);
        let lines = best(&rung, &exercise);
        let debrief = debrief(&rung.setting, &exercise, &lines);
        assert_eq!(
            debrief.marks, 100,
            "{}: {lines:#?}\n{debrief:#?}",
            rung.name
        );
        // Half as much again is left for who is good and errs once (judgement).
        let time = exercise.time.unwrap();
        assert!(
            1.5 * debrief.minutes <= time,
            "{}: {} of {time} min",
            rung.name,
            debrief.minutes
        );
        let bad: Vec<_> = debrief
            .steps
            .iter()
            .filter(|s| s.verdict != Verdict::Good)
            .collect();
        assert!(bad.is_empty(), "{}: {bad:#?}", rung.name);
        assert_eq!(debrief.misconceptions, [], "{}", rung.name);
    }
}

#[test]
fn each_expected_wrong_answer_is_wrong_and_answered() {
    for rung in ladder() {
        let exercise = exercise(&rung);
        for (name, say) in &exercise.wrong {
            let lines = ["prepared", "asleep", "draw"].map(str::to_owned);
            let lines = [&lines[..], &[format!("answer {name}")]].concat();
            let debrief = debrief(&rung.setting, &exercise, &lines);
            assert!(!debrief.right, "{}: {name}", rung.name);
            assert_eq!(debrief.said, [(name.clone(), say.clone())], "{}", rung.name);
        }
        for (index, question) in exercise.questions.iter().enumerate() {
            for (reply, say) in &question.wrong {
                let chance = Chance(exercise.number);
                let choice = |question: &str| chance.at(question);
                let mut drill = Drill::new(&rung.setting, &exercise, &choice);
                drill.take(&format!("reply {} {reply}", index + 1));
                let replied = drill.debrief(&choice).replies.remove(index);
                assert_eq!(replied.right, Some(false), "{}: {reply}", rung.name);
                assert_eq!(replied.say.as_ref(), Some(say), "{}: {reply}", rung.name);
            }
        }
    }
}

#[test]
fn a_hint_costs_its_minutes_and_is_no_good_step() {
    let rung = rung(&folder().join("04-one-lamp.ron"));
    let lines = ["prepared", "hint", "asleep", "draw"].map(str::to_owned);
    let debrief = debrief(&rung.setting, &exercise(&rung), &lines);
    let hint = &debrief.steps[1];
    assert_eq!(hint.verdict, Verdict::Asked);
    assert!(
        (hint.lost - drill::HINT_MINUTES).abs() < 1e-9 && (debrief.lost() - hint.lost).abs() < 1e-9
    );
}

#[test]
fn a_healthy_module_that_is_held_up_is_the_biggest_branch_and_a_pull_shows_a_need() {
    let rung = rung(&folder().join("10-held-awake.ron"));
    let exercise = exercise(&rung);
    let lines = |text: &str| text.split("; ").map(str::to_owned).collect::<Vec<_>>();
    let convicted = debrief(
        &rung.setting,
        &exercise,
        &lines("prepared; asleep; draw; answer radio"),
    );
    assert_eq!(convicted.misconceptions, [Misconception::BiggestConvicted]);
    let pulled = debrief(
        &rung.setting,
        &exercise,
        &lines("prepared; asleep; draw; pull F22; asleep; draw; answer radio"),
    );
    assert!(
        pulled.misconceptions.contains(&Misconception::PullForFlow),
        "{pulled:#?}"
    );
}

#[test]
fn a_fault_that_goes_with_what_is_pulled_is_said_to_be_lost() {
    let rung = rung(&folder().join("11-lost-by-pulling.ron"));
    let lines = [
        "prepared",
        "asleep",
        "draw",
        "pull F2",
        "asleep",
        "draw",
        "answer F2",
    ];
    let debrief = debrief(&rung.setting, &exercise(&rung), &lines.map(str::to_owned));
    let lost = debrief
        .misconceptions
        .contains(&Misconception::LostByPulling);
    assert!(lost, "{:?}", debrief.misconceptions);
}

#[test]
fn a_starter_is_sound_names_every_field_and_is_not_written_over_another_file() {
    let (task, problems) = drill::read(drill::STARTER);
    assert!(problems.is_empty(), "{problems:#?}");
    let exercise = task
        .unwrap()
        .exercise(&crate::driver::sample("teaching-board"), 1);
    assert_eq!(exercise.unwrap().hidden.len(), 1);
    for word in [
        "rung",
        "before",
        "time",
        "instruments",
        "number",
        "search",
        "hand_in",
        "sealed",
        "part",
        "takes",
        "coil",
        "contact",
        "holds_awake",
        "blown",
        "lost_by_pull",
        "BridgeOn",
        "BlownMeterFuse",
        "LeadsReversed",
        "Bursts",
        "ClampDrift",
        "Retries",
        "BatteryLow",
    ] {
        assert!(drill::STARTER.contains(word), "{word}");
    }
    let bench = tempfile::tempdir().unwrap();
    for code in [0, 1] {
        let written = run(&["exercise", "new.ron", "--new"], "", bench.path());
        assert_eq!(written.status.code(), Some(code), "{written:?}");
    }
    let text = std::fs::read_to_string(bench.path().join("new.ron")).unwrap();
    assert_eq!(text, drill::STARTER);
}

/// What the program does with these lines typed.
pub(crate) fn run(arguments: &[&str], lines: &str, folder: &Path) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .current_dir(folder)
        .env("XDG_DATA_HOME", folder)
        .env("COLUMNS", "80")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The program may have ended before it reads them all.
    let _ = child.stdin.take().unwrap().write_all(lines.as_bytes());
    child.wait_with_output().unwrap()
}

#[test]
fn an_attempt_that_was_broken_off_goes_on() {
    let bench = tempfile::tempdir().unwrap();
    let file = folder().join("04-one-lamp.ron");
    let file = file.to_str().unwrap();
    let whole = "prepared\nasleep\ndraw\ndrop F2\nunplug C2\nasleep\ndraw\nrefit C2\nasleep\ndraw\n\
                 answer glovebox lamp at C2 proven\n";
    let once = run(
        &["drill", file, "--json", "--attempt", "once"],
        whole,
        bench.path(),
    );
    assert_eq!(once.status.code(), Some(0), "{once:?}");
    let lines: Vec<&str> = whole.lines().collect();
    let mut last = None;
    for (index, line) in lines.iter().enumerate() {
        let learner = format!("{index}");
        let mut told = vec!["drill", file, "--json", "--attempt", "parts"];
        if index == 0 {
            told.extend(["--learner", &learner]);
        }
        let part = run(&told, &format!("{line}\n"), bench.path());
        let said = String::from_utf8(part.stderr.clone()).unwrap();
        if index + 1 < lines.len() {
            assert!(
                said.contains("no answer yet; goes on with --attempt parts"),
                "{said}"
            );
        }
        last = Some(part);
    }
    assert_eq!(last.unwrap().stdout, once.stdout);
    let kept = std::fs::read_to_string(bench.path().join("parts")).unwrap();
    assert!(
        kept.starts_with(
            "# halfsplit drill, format 1; number 4; learner 0; exercise 04-one-lamp; "
        ),
        "{kept}"
    );
    // Another exercise, another number and what is no attempt are refused.
    let other = folder().join("05-many-loads-on-one-fuse.ron");
    for told in [
        vec!["drill", other.to_str().unwrap(), "--attempt", "parts"],
        vec!["drill", file, "--number", "5", "--attempt", "parts"],
        vec!["drill", file, "--attempt", file],
        vec!["drill", file, "--attempt", "-"],
    ] {
        let refused = run(&told, "", bench.path());
        assert_eq!(refused.status.code(), Some(2), "{told:?} {refused:?}");
    }
}

/// A learner knows the exercise that comes before by its title; where there is no such file, as it is written.
#[test]
fn what_comes_before_is_shown_by_its_title() {
    let bench = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(folder().join("04-one-lamp.ron")).unwrap();
    let samples = folder().parent().unwrap().display().to_string();
    let own = text.replace("\"../", &format!("\"{samples}/"));
    let shown = |file: &Path| {
        let told = ["exercise", file.to_str().unwrap()];
        let said = run(&told, "", bench.path());
        let said = String::from_utf8(said.stdout).unwrap();
        let line = said.lines().find_map(|line| line.strip_prefix("before "));
        line.map_or(String::new(), |line| line.trim().to_owned())
    };
    let alone = bench.path().join("alone.ron");
    std::fs::write(&alone, &own).unwrap();
    let earlier = ladder().remove(2);
    for (file, before) in [
        (
            &folder().join("04-one-lamp.ron"),
            earlier.task.name.as_str(),
        ),
        (&alone, earlier.name.as_str()),
    ] {
        assert_eq!(shown(file), before, "{}", file.display());
    }
    // One of that name beside it.
    let beside = text.replace("The first drain", "A lamp of our own");
    std::fs::write(bench.path().join("03-live-and-dead.ron"), beside).unwrap();
    assert_eq!(shown(&alone), "A lamp of our own");
}

#[test]
fn progress_is_kept_where_it_is_said() {
    let bench = tempfile::tempdir().unwrap();
    let ladder = folder();
    let first = ladder.join("01-reading-a-feed-tree.ron");
    let replies = "reply 1 F1, F2\nreply 2 siren and door module feed 1\nreply 3 no\n\
                   reply 4 rear window heater\nreply 5 F1\n";
    let told = ["drill", first.to_str().unwrap()];
    let played = run(&told, replies, bench.path());
    assert_eq!(played.status.code(), Some(0), "{played:?}");
    let said = String::from_utf8(played.stderr).unwrap();
    assert!(said.contains("progress kept in "), "{said}");
    let told = ["drill", "--ladder", ladder.to_str().unwrap()];
    let listed = String::from_utf8(run(&told, "", bench.path()).stdout).unwrap();
    for wanted in [
        "12 exercises, 1 passed",
        "passed with 100 marks",
        "NEXT, not tried",
    ] {
        assert!(listed.contains(wanted), "{listed}");
    }
    let kept = std::fs::read_to_string(bench.path().join("halfsplit/ladder.csv")).unwrap();
    assert_eq!(kept.lines().count(), 2, "{kept}");
    let told = [
        "drill",
        "--ladder",
        ladder.to_str().unwrap(),
        "--progress",
        "mine.csv",
    ];
    let fresh = String::from_utf8(run(&told, "", bench.path()).stdout).unwrap();
    assert!(fresh.contains("12 exercises, 0 passed"), "{fresh}");
}
