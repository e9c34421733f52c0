//! The words of a drill: its opening, and what each line is answered with.

use crate::case::{Setting, State};
use crate::drill::{
    CHECK_SET_UP, Drill, Earlier, Exercise, HINT_MINUTES, Hint, InputStep, Question, Said, Step,
    Task, Wanted,
};
use crate::feeds::Feeds;
use crate::measurement::Method;
use crate::problem::clean;
use crate::render::answer::because;
use crate::render::cautions::cautions;
use crate::render::debrief::{prediction_asked, prediction_words};
use crate::render::words::{count, under_heads};
use crate::simulation::{Cannot, Happened};

/// Minutes for reading.
pub(super) fn minutes(value: f64) -> String {
    format!("{value:.1} min")
}

/// How a drill is done, as far as the opening says so.
#[derive(Clone, Copy, Debug)]
pub struct DrillScene<'t> {
    /// The exercise, where there is one.
    pub task: Option<&'t Task>,
    /// It is a real board: readings are typed.
    pub board: bool,
    /// Columns.
    pub width: usize,
}

/// What the learner is told at the beginning: the intake and what is at hand.
pub fn drill_opening(setting: &Setting, exercise: &Exercise, scene: DrillScene<'_>) -> String {
    let (number, width) = (exercise.number, scene.width);
    let feeds = &setting.feeds;
    let limit = setting.limit();
    let mut lines = vec![(
        "drill",
        format!("{}; number {number}", feeds.vehicle().name),
    )];
    if let Some(task) = scene.task {
        lines.extend(task_lines(task));
    }
    if exercise.hunt {
        let battery = if exercise.traps.battery_low {
            "Charging was tested and is sound. It was started with jump leads, has been driven in"
        } else {
            "Battery and charging were tested and are sound. It has just been driven in"
        };
        let text = format!(
            "It goes flat when it is left parked. {battery} and switched off, and nothing is prepared."
        );
        lines.push(("intake", text));
    }
    lines.extend([
        (
            "known",
            format!(
                "settle {:.0} min; limit {}; {}; at hand: {}",
                feeds.settle().value(),
                if limit.is_finite() { format!("{limit:.0} mA") } else { "not given".to_owned() },
                count(feeds.len(), "part"),
                instruments(setting)
            ),
        ),
        (
            "caution",
            "At a real vehicle: ventilate, rings off, negative side, never an airbag circuit, nothing \
             orange. The vehicle maker's procedure and local rules come first."
                .to_owned(),
        ),
    ]);
    for (index, question) in exercise.questions.iter().enumerate() {
        lines.push(("asked", format!("{}. {}", index + 1, question.ask)));
    }
    let entries = if scene.board {
        "entries with their readings, as you read them: drop F3 2.1mV"
    } else {
        "entries without their readings: drop F3"
    };
    let mut kinds = vec![entries, "help", "hint"];
    if !exercise.questions.is_empty() {
        kinds.push("reply 1 and what you say to question 1");
    }
    if exercise.hunt {
        kinds.push("answer PART at PLUG proven");
    }
    lines.push(("type", kinds.join("; ")));
    under_heads(&lines, width)
}

/// The inputs that may hold modules awake, and which: no tree of feeds shows them.
pub fn drill_inputs(feeds: &Feeds, width: usize) -> String {
    let lines: Vec<_> = feeds
        .inputs()
        .map(|(input, held)| {
            let held = held.iter().map(|m| feeds.module(*m).id.value.as_str());
            let held: Vec<&str> = held.collect();
            (
                "input",
                format!("{input} may hold {} awake", held.join(" and ")),
            )
        })
        .collect();
    under_heads(&lines, width)
}

/// What is at hand to measure with.
pub(super) fn instruments(setting: &Setting) -> String {
    let at_hand = &setting.instruments;
    let loop_lead = at_hand
        .turns
        .map(|turns| format!("a loop of {}", count(turns as usize, "turn")));
    let all = [
        at_hand.meter.map(|_| "a meter".to_owned()),
        at_hand.clamp.map(|_| "a clamp".to_owned()),
        loop_lead,
    ];
    let all: Vec<String> = all.into_iter().flatten().collect();
    all.join(" and ")
}

/// What an exercise says of itself.
pub(super) fn task_lines(task: &Task) -> Vec<(&'static str, String)> {
    let rung = task.rung.map_or(String::new(), |rung| format!("{rung}. "));
    let mut lines = vec![
        ("exercise", format!("{rung}{}", task.name)),
        ("goal", task.goal.clone()),
    ];
    if !task.before.is_empty() {
        let shown: Vec<&str> = task.before.iter().map(Earlier::shown).collect();
        lines.push(("before", shown.join(", ")));
    }
    if let Some(time) = task.time {
        lines.push(("time", format!("{:.0} min", time.value())));
    }
    if let Some(hand_in) = &task.hand_in {
        lines.push(("hand in", hand_in.clone()));
    }
    lines
}

/// What can be typed.
pub fn drill_help(width: usize) -> String {
    under_heads(
        &[
            ("prepare", "prepared · open footwell box".to_owned()),
            ("wait", "asleep (until it sleeps) · wait 10 min".to_owned()),
            ("read", "draw · draw by clamp · draw by series jack mA · drop F3 · clamp F3 · volts F3 · look K4".to_owned()),
            ("take out", "pull F3 · unplug C114 · refit C114 · refit all".to_owned()),
            ("set-up", format!("{CHECK_SET_UP} (battery, bridge, leads, the meter's fuse) · zero 0mA")),
            ("look back", "tree · list".to_owned()),
            ("ask", format!("hint (costs {})", minutes(HINT_MINUTES))),
            ("reply", "reply 1 F1 and F3 · reply 2 130mA (where questions are asked)".to_owned()),
            ("reason", "because it splits what is left (kept with the step before it)".to_owned()),
            ("end", "answer PART [and PART] [at PLUG] [proven] · answer no fault · quit".to_owned()),
        ],
        width,
    )
}

fn happened(what: Happened) -> &'static str {
    match what {
        Happened::Woke => "the vehicle woke up",
        Happened::FuseWent => "the meter's mA jack shows nothing any more",
        Happened::PutRight => "something was wrong with it, and is put right: read the draw again",
        Happened::Stopped => "not done",
        Happened::SetUpSound => "the set-up is sound",
        Happened::BatteryReadLow => {
            "too low: a draw measured on it says little; check set-up charges it"
        }
    }
}

fn cannot(what: Cannot) -> &'static str {
    match what {
        Cannot::NotOffered => {
            "that part does not offer it (soldered in, or nothing to probe); the part right above or below it may"
        }
        Cannot::Forbidden => {
            "STOP: nobody takes out or probes that (airbag, high voltage, protected). That you tried to counts as a caution ignored: no marks"
        }
        Cannot::NoInstrument => "the instrument for that is not at hand",
        Cannot::NoPart => "that can be read at a part only",
    }
}

fn done(step: &Step) -> String {
    let said = step.entry.as_deref().unwrap_or(&step.typed);
    let mut after: Vec<&str> = step.happened.iter().map(|h| happened(*h)).collect();
    if step.typed == "asleep" && step.minutes > 0.0 {
        after.push("waited until the draw fell no further; what it shows now says whether all of it sleeps");
    }
    let mut text = format!("{said}  [{}]", minutes(step.minutes));
    if !after.is_empty() {
        text = format!("{text}: {}", after.join("; "));
    }
    text
}

/// What a hint says: what to do, why, and with which caution.
fn hinted(hint: &Hint, setting: &Setting, exercise: &Exercise) -> String {
    let next = match hint {
        Hint::Step(next) => next,
        Hint::SetUp => {
            return format!(
                "{CHECK_SET_UP}. Why: it goes flat and shows next to nothing; doubt the battery, the \
                 bridge lead, the jack and the meter's fuse before the vehicle"
            );
        }
        Hint::Input(step) => return input_hint(step),
        Hint::Question(at) => {
            let asked = exercise.questions.get(*at);
            let told = asked.map_or(String::new(), |asked| question_hint(asked, setting));
            return format!("question {}: {told}", at + 1);
        }
        Hint::Replied => return "every question has a reply".to_owned(),
    };
    let why = because(next, setting);
    let why = why.trim_end_matches('.');
    match (&next.test, next.state) {
        (Some(test), _) => {
            let caution = cautions(test, setting).into_iter().next();
            let caution = caution.map_or(String::new(), |c| format!(". Caution: {c}"));
            let typed = if test.method == Method::Wait {
                "asleep"
            } else {
                &test.entry
            };
            format!("{typed}. Why: {why}{caution}")
        }
        (None, State::Prepare) => format!("prepare the vehicle, then type prepared. Why: {why}"),
        (None, _) => format!("nothing more to measure; give your answer. Why: {why}"),
    }
}

/// What to do about an input, and why.
fn input_hint(step: &InputStep) -> String {
    let why = match step {
        InputStep::Look(input) => {
            format!("{input} may hold awake what would come out next, and a look costs least")
        }
        InputStep::Unplug(input) => {
            format!("{input} is on: with its connector out, what it holds awake falls asleep")
        }
        InputStep::Wait => "the draw counts once it falls no further".to_owned(),
        InputStep::Draw => {
            "a fall with it out and the same again with it back in prove it".to_owned()
        }
        InputStep::Refit(_) => {
            "with it back in the draw must return, else it proves nothing".to_owned()
        }
        InputStep::Proven(input) => {
            return format!(
                "nothing more to measure; give your answer. Why: {input} was on; without it the draw fell, \
                 with it it returned"
            );
        }
    };
    format!("{}. Why: {why}", step.typed().unwrap_or_default())
}

/// What helps with a question without answering it: its author's words, else how such a reply is found.
fn question_hint(asked: &Question, setting: &Setting) -> String {
    if let Some(hint) = &asked.hint {
        return hint.clone();
    }
    match &asked.wants {
        Wanted::Parts(_) => {
            "type tree. What feeds a part stands above it up to the battery; what a \
                             part feeds stands below it; a part named twice has two feeds"
                .to_owned()
        }
        Wanted::Current(part) => {
            let id = setting.feeds.id(*part);
            format!(
                "type drop {id} once it sleeps. The current in mA is the drop in mV times 1000, divided \
                 by the resistance in mΩ"
            )
        }
        Wanted::Words(_) | Wanted::Sealed => {
            "what is the most that could be there and still show that reading?".to_owned()
        }
    }
}

/// What is handed in by an answer, or by the last reply, read back before it counts.
pub fn drill_handed_in(after: &Drill<'_>) -> String {
    let said = match after.answer() {
        Some(answer) if answer.parts.is_empty() => "no fault".to_owned(),
        Some(answer) => {
            let plugs = if answer.plugs.is_empty() {
                "no connector named".to_owned()
            } else {
                format!("at {}", answer.plugs.join(" and "))
            };
            let proof = if answer.claims_proof {
                "proven"
            } else {
                "not said to be proven"
            };
            format!("{}; {plugs}; {proof}", answer.parts.join(" and "))
        }
        None => {
            let replies = after.replies().iter().enumerate();
            let replies = replies.filter_map(|(at, reply)| Some((at, reply.as_ref()?)));
            let replies: Vec<String> = replies.map(|(at, r)| format!("{}. {r}", at + 1)).collect();
            replies.join("; ")
        }
    };
    format!("You hand in: {said}. Type yes to hand it in; anything else goes on without it.\n")
}

/// What a line is answered with, on one line.
pub fn drill_said(said: &Said, setting: &Setting, exercise: &Exercise) -> String {
    let text = match said {
        Said::Done(step) => done(step),
        Said::Hint(hint) => format!(
            "hint: {}  [{}]",
            hinted(hint, setting, exercise),
            minutes(HINT_MINUTES)
        ),
        Said::Asks(asked) => prediction_asked(&asked.test, &asked.shown, asked.carrying),
        Said::Predicted(done, predicted) => {
            let done = drill_said(done, setting, exercise);
            let held: Vec<String> = predicted.iter().map(prediction_words).collect();
            format!("{}; {}", done.trim_end(), held.join("; "))
        }
        Said::ReadNow(test) => format!("now read it, and type it with its reading: {test} ..."),
        Said::Noted => "noted with that step".to_owned(),
        Said::Again(refusal) | Said::Refused(refusal) => format!("not taken: {refusal}"),
        Said::Cannot(what) => format!("not done: {}", cannot(*what)),
        Said::Ended => "the answer is in".to_owned(),
    };
    format!("{}\n", clean(&text).replace('\n', " "))
}
