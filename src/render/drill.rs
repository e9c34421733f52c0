//! The words of a drill: its opening, and what each line is answered with.

use crate::case::{Setting, State};
use crate::drill::{CHECK_SET_UP, Exercise, HINT_MINUTES, Said, Step, Task};
use crate::problem::clean;
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
        lines.push(("before", task.before.join(", ")));
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
    let after: Vec<&str> = step.happened.iter().map(|h| happened(*h)).collect();
    let mut text = format!("{said}  [{}]", minutes(step.minutes));
    if !after.is_empty() {
        text = format!("{text}: {}", after.join("; "));
    }
    text
}

/// What a line is answered with, on one line.
pub fn drill_said(said: &Said, setting: &Setting) -> String {
    let text = match said {
        Said::Done(step) => done(step),
        Said::Hint(Some(test), _) => {
            let caution = cautions(test, setting).into_iter().next();
            let caution = caution.map_or(String::new(), |c| format!(" Caution: {c}"));
            format!(
                "hint: {}  [{}].{caution}",
                test.entry,
                minutes(HINT_MINUTES)
            )
        }
        Said::Hint(None, State::Prepare) => {
            "hint: prepare the vehicle, then type prepared".to_owned()
        }
        Said::Hint(None, _) => "hint: nothing more to measure; give your answer".to_owned(),
        Said::Asks(asked) => prediction_asked(&asked.test, &asked.shown, asked.carrying),
        Said::Predicted(done, predicted) => {
            let done = drill_said(done, setting);
            let held: Vec<String> = predicted.iter().map(prediction_words).collect();
            format!("{}; {}", done.trim_end(), held.join("; "))
        }
        Said::Again(refusal) | Said::Refused(refusal) => format!("not taken: {refusal}"),
        Said::Cannot(what) => format!("not done: {}", cannot(*what)),
        Said::Ended => "the answer is in".to_owned(),
    };
    format!("{}\n", clean(&text).replace('\n', " "))
}
