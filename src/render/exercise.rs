//! The words of an exercise: what it holds, its worksheet, its answer sheet.

use crate::case::Setting;
use crate::drill::{CHECK_SET_UP, Doubt, Exercise, Played, Task, Wanted, answers_to, doubts};
use crate::feeds::Feeds;
use crate::render::answer::because;
use crate::render::drill::{instruments, task_lines};
use crate::render::paper::Paper;
use crate::render::words::{count, under_heads};
use crate::simulation::Drain;

/// Rows of an empty table of readings: at least so many, and as many more in each step of them as the best
/// plan takes half as much again of; lines for reasons.
const READINGS: usize = 16;
const REASONS: usize = 6;

/// What an exercise holds, without what it hides.
pub fn exercise(task: &Task, setting: &Setting, exercise: &Exercise, width: usize) -> String {
    let mut lines = task_lines(task);
    lines.extend(at_hand(setting));
    for (index, question) in exercise.questions.iter().enumerate() {
        lines.push(("asked", format!("{}. {}", index + 1, question.ask)));
    }
    let hides = if exercise.sealed {
        "sealed with a passphrase".to_owned()
    } else {
        let same = if task.is_same_for_all() {
            "the same for all"
        } else {
            "by each learner's number"
        };
        let things = [
            (exercise.hidden.len(), "fault"),
            (exercise.blown.len(), "blown part"),
            (exercise.questions.len(), "question"),
            (exercise.wrong.len(), "expected wrong answer"),
        ];
        let things = things.into_iter().filter(|(number, _)| *number > 0);
        let things: Vec<String> = things.map(|(number, word)| count(number, word)).collect();
        format!("{}; {same}", things.join(", "))
    };
    lines.push(("hides", hides));
    under_heads(&lines, width)
}

/// What is to be asked about an exercise as it is written, and its traps: both tell what it hides, so
/// it is shown only where the file itself is open to read. Empty where there is nothing to say.
pub fn exercise_doubts(
    setting: &Setting,
    exercise: &Exercise,
    best: Option<&Played>,
    width: usize,
) -> String {
    let mut lines = Vec::new();
    if let Some(best) = best {
        let text = format!(
            "{:.1} min in {} with number {}",
            best.minutes,
            count(best.lines.len(), "step"),
            exercise.number
        );
        lines.push(("best plan", text));
        if let Some(time) = exercise.time.filter(|time| *time < best.minutes) {
            let text = format!(
                "the time is {time:.0} min, and the best plan takes {:.1} min: nobody can keep it",
                best.minutes
            );
            lines.push(("is it so", text));
        }
    }
    if let Some(traps) = traps_words(exercise) {
        lines.push(("traps", traps));
    }
    let asked = doubts(setting, exercise).into_iter();
    lines.extend(asked.map(|doubt| ("is it so", doubt_words(&doubt, setting))));
    if lines.is_empty() {
        return String::new();
    }
    under_heads(&lines, width)
}

/// What else is wrong with the set-up; `None` where nothing is.
fn traps_words(exercise: &Exercise) -> Option<String> {
    let traps = exercise.traps;
    let all = [
        (traps.bridge_on, "the bridge lead was left on"),
        (traps.blown_fuse, "the fuse of the meter's mA jack is blown"),
        (traps.leads_round, "the leads are the wrong way round"),
        (traps.bursts, "telematics call home for 45 s every 10 min"),
        (traps.drift, "the clamp drifts until it is zeroed"),
        (
            traps.retries,
            "partners call a module that has lost its feeds",
        ),
        (traps.battery_low, "the battery is too low to measure on"),
    ];
    let set = all.into_iter().filter(|(is, _)| *is).map(|(_, word)| word);
    let set: Vec<&str> = set.collect();
    (!set.is_empty()).then(|| set.join("; "))
}

fn doubt_words(doubt: &Doubt, setting: &Setting) -> String {
    match doubt {
        Doubt::Small(name, takes) => format!(
            "{name} takes {takes:.0} mA, below the limit of {:.0} mA: it may not show",
            setting.limit()
        ),
        Doubt::Twice(name) => format!("{name} is hidden more than once"),
        Doubt::Untouchable(name) => {
            format!("nobody may take out {name}, so nobody can prove it at its connector")
        }
        Doubt::BehindOpen(name, contact) => format!(
            "{name} is fed through {contact}, which rests open: it draws as if {contact} were welded. \
             Cause(contact: \"{contact}\", takes: ...) says so"
        ),
    }
}

/// What a hidden fault takes, where it has a figure.
fn takes_words(drain: &Drain) -> String {
    match drain {
        Drain::Takes(_, takes) => format!("; takes {:.0} mA", takes.value()),
        Drain::Contact(_, takes) => {
            format!(
                "; closed, each load behind it takes {:.0} mA",
                takes.value()
            )
        }
        Drain::CoilHeld(_) => "; held on by what commands it".to_owned(),
        Drain::WireShorted(_) => "; its control wire touches earth".to_owned(),
        Drain::HeldBy(_) | Drain::Input(_) => "; keeps others awake".to_owned(),
    }
}

fn at_hand(setting: &Setting) -> Vec<(&'static str, String)> {
    vec![
        ("vehicle", setting.feeds.vehicle().name.clone()),
        ("with", instruments(setting)),
    ]
}

/// The worksheet as a page to print: what is to be done, the tree, an empty table of readings, room for
/// reasons and the answer. Nothing on it tells what is hidden.
/// `steps` is what the best plan takes, which only makes room.
pub fn worksheet(task: &Task, setting: &Setting, exercise: &Exercise, steps: usize) -> String {
    let mut paper = Paper::new(&task.name);
    let mut pairs = vec![(
        "learner's number",
        "____________     date ____________".to_owned(),
    )];
    pairs.extend(task_lines(task).into_iter().skip(1));
    pairs.extend(at_hand(setting));
    let limit = setting.limit();
    if limit.is_finite() {
        let settle = setting.feeds.settle().value();
        pairs.push((
            "limit",
            format!("{limit:.0} mA settled; it sleeps after {settle:.0} min"),
        ));
    }
    paper.pairs(&pairs);
    for (index, question) in exercise.questions.iter().enumerate() {
        paper.text(&format!("{}. {}", index + 1, question.ask));
        paper.lines(1);
    }
    paper.head("Feeds");
    paper.text("Read it downwards: a part straight below another is all that it feeds; where a conductor divides, its branches leave to the right.");
    let tree = crate::render::tree(&setting.feeds, 100, true, None);
    let inputs = crate::render::drill_inputs(&setting.feeds, 100);
    paper.drawing(&format!("{tree}{inputs}"));
    paper.head("Readings");
    let heads = [
        "#No.",
        "Minutes",
        "Test and point",
        "Reading with unit",
        "What it rules out",
        "Why this one",
    ];
    let rows = (steps + steps / 2).div_ceil(READINGS).max(1) * READINGS;
    paper.blank(&heads, rows);
    paper.head("Reasons");
    paper.lines(REASONS);
    paper.head("Answer");
    let blank = "____________________________".to_owned();
    paper.pairs(&[
        ("1st part", blank.clone()),
        ("connector", blank.clone()),
        ("what commands or feeds it", blank.clone()),
        ("proven", format!("yes / no, because {blank}")),
        ("2nd part, if any", blank.clone()),
        ("connector", blank.clone()),
        ("proven", format!("yes / no, because {blank}")),
        ("not proven", blank.clone()),
        ("draw at the end", blank.clone()),
        ("still out", blank),
    ]);
    paper.end()
}

/// The answer sheet as a page to print, for the instructor: what is hidden, the best path, right replies,
/// expected wrong answers and what to say to them.
pub fn answer_sheet(
    task: &Task,
    setting: &Setting,
    exercise: &Exercise,
    best: Option<&Played>,
) -> String {
    let feeds = &setting.feeds;
    let mut paper = Paper::new(&format!("{}: answers, for the instructor", task.name));
    let mut pairs: Vec<_> = task_lines(task).into_iter().skip(1).collect();
    pairs.extend(at_hand(setting));
    pairs.push(("number", exercise.number.to_string()));
    for hidden in &exercise.hidden {
        let names = answers_to(feeds, &hidden.drain);
        let lost = if hidden.lost_by_break {
            "; gone once it has lost its feed"
        } else {
            ""
        };
        pairs.push((
            "hidden",
            format!(
                "{}{}{lost}",
                names.join(", or "),
                takes_words(&hidden.drain)
            ),
        ));
    }
    if let Some(traps) = traps_words(exercise) {
        pairs.push(("traps", traps));
    }
    if !exercise.blown.is_empty() {
        let blown: Vec<&str> = exercise.blown.iter().map(|p| feeds.id(*p)).collect();
        pairs.push(("blown", blown.join(" and ")));
    }
    paper.pairs(&pairs);
    if !exercise.questions.is_empty() {
        paper.head("Replies");
        let mut rows = Vec::new();
        for (index, question) in exercise.questions.iter().enumerate() {
            rows.push(vec![
                (index + 1).to_string(),
                question.ask.clone(),
                wanted(feeds, &question.wants),
            ]);
            let wrong = question.wrong.iter();
            rows.extend(wrong.map(|(reply, say)| {
                vec![
                    String::new(),
                    format!("to {reply}: {say}"),
                    "wrong".to_owned(),
                ]
            }));
        }
        paper.table(
            &[
                "#No.",
                "Question, and what to say to expected wrong replies",
                "Right",
            ],
            &rows,
        );
    }
    if let Some(lesson) = &task.lesson {
        paper.head("Lesson");
        paper.text(lesson);
    }
    if let Some(best) = best {
        paper.head("Best path");
        paper.text(&format!(
            "{:.1} min on the vehicle's clock with number {}; any play within 5 % of it that proves its answer gets full marks.",
            best.minutes, exercise.number
        ));
        let heads = ["#No.", "Typed", "Reads, with this number", "Why this one"];
        paper.table(&heads, &path(best, setting));
    }
    if !exercise.wrong.is_empty() {
        paper.head("Expected wrong answers");
        let rows: Vec<_> = exercise
            .wrong
            .iter()
            .map(|(name, say)| vec![name.clone(), say.clone()])
            .collect();
        paper.table(&["Answer", "What to say"], &rows);
    }
    paper.text(RUBRIC);
    paper.end()
}

/// The best path, a step a row.
fn path(best: &Played, setting: &Setting) -> Vec<Vec<String>> {
    let lines = best.lines.iter().zip(&best.read);
    let steps = lines.zip(&best.asked).enumerate();
    steps
        .map(|(at, ((line, read), asked))| {
            let why = match asked {
                _ if line == CHECK_SET_UP => {
                    "Something is not as it should be: leads, jack, bridge, battery.".to_owned()
                }
                Some(next) => because(next, setting),
                None => "It can hold modules awake, and shows in half a minute whether it does."
                    .to_owned(),
            };
            vec![
                (at + 1).to_string(),
                line.clone(),
                read_words(line, read),
                why,
            ]
        })
        .collect()
}

/// What is read by a line; nothing where it is none that is read.
fn read_words(line: &str, read: &str) -> String {
    let typed = line.split(" by ").next().unwrap_or(line);
    let shown = read.strip_prefix(typed).unwrap_or_default().trim();
    shown.split(" by ").next().unwrap_or_default().to_owned()
}

/// Where the marks come from.
pub(super) const RUBRIC: &str = "Marks: part 40, connector 10, proof 20, minutes of a proven answer 30 (judgement, no source). \
    Irrelevant, redundant and premature checks are those of the classical texts on bracketing (from memory), counted in minutes.";

fn wanted(feeds: &Feeds, wants: &Wanted) -> String {
    match wants {
        Wanted::Parts(parts) => parts.join(", "),
        Wanted::Current(part) => format!(
            "the current at {}, as its reading tells it",
            feeds.id(*part)
        ),
        Wanted::Words(words) => words.first().cloned().unwrap_or_default(),
        Wanted::Sealed => "sealed".to_owned(),
    }
}
