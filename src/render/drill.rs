//! The words of a drill: its opening, what each line is answered with, the debrief.

use crate::case::{Setting, State};
use crate::drill::{
    CHECK_SET_UP, Debrief, Exercise, GENERATOR, HINT_MINUTES, Judged, Misconception, Replied, Said,
    Step, Task, Verdict,
};
use crate::feeds::Named;
use crate::problem::clean;
use crate::render::answer::number;
use crate::render::cautions::cautions;
use crate::render::words::{count, under_heads};
use crate::simulation::{Cannot, Happened};
use serde_json::{Value, json};

/// Minutes for reading.
fn minutes(value: f64) -> String {
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
    let instruments = &setting.instruments;
    let mut at_hand = Vec::new();
    if instruments.meter.is_some() {
        at_hand.push("a meter");
    }
    if instruments.clamp.is_some() {
        at_hand.push("a clamp");
    }
    let limit = setting.limit();
    let mut lines = vec![(
        "drill",
        format!("{}; number {number}", feeds.vehicle().name),
    )];
    if let Some(task) = scene.task {
        lines.extend(task_lines(task));
    }
    if exercise.hunt {
        let text = "It goes flat when it is left parked. Battery and charging were tested and are sound. \
             It has just been driven in and switched off, and nothing is prepared.";
        lines.push(("intake", text.to_owned()));
    }
    lines.extend([
        (
            "known",
            format!(
                "settle {:.0} min; limit {}; {}; at hand: {}",
                feeds.settle().value(),
                if limit.is_finite() { format!("{limit:.0} mA") } else { "not given".to_owned() },
                count(feeds.len(), "part"),
                at_hand.join(" and ")
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
            ("set-up", format!("{CHECK_SET_UP} (bridge, leads, the meter's fuse) · zero 0mA")),
            ("look back", "tree · list".to_owned()),
            ("ask", format!("hint (costs {})", minutes(HINT_MINUTES))),
            ("reply", "reply 1 F1 and F3 · reply 2 130mA (where questions are asked)".to_owned()),
            ("end", "answer PART [and PART] [at PLUG] [proven] · quit".to_owned()),
        ],
        width,
    )
}

fn happened(what: Happened) -> &'static str {
    match what {
        Happened::Woke => "the vehicle woke up",
        Happened::FuseWent => "the meter's mA jack shows nothing any more",
        Happened::PutRight => "something was wrong with it, and is put right: read the draw again",
        Happened::SetUpSound => "the set-up is sound",
    }
}

fn cannot(what: Cannot) -> &'static str {
    match what {
        Cannot::NotOffered => "that cannot be done there; at the next part above or below it may",
        Cannot::Forbidden => {
            "STOP: nobody takes out or probes that (airbag, high voltage, protected). This counts as a caution ignored"
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
        Said::Refused(refusal) => format!("not taken: {refusal}"),
        Said::Cannot(what) => format!("not done: {}", cannot(*what)),
        Said::Ended => "the answer is in".to_owned(),
    };
    format!("{}\n", clean(&text).replace('\n', " "))
}

const fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Good => "good",
        Verdict::Irrelevant => "irrelevant",
        Verdict::Redundant => "redundant",
        Verdict::Premature => "premature",
        Verdict::Unproven => "unproven",
        Verdict::Asked => "asked",
    }
}

pub(super) const fn misconception_id(what: Misconception) -> &'static str {
    match what {
        Misconception::JudgedAwake => "judged awake",
        Misconception::NotPrepared => "not prepared",
        Misconception::BadBaseline => "bad baseline",
        Misconception::ZeroBelieved => "zero believed",
        Misconception::BiggestConvicted => "biggest branch convicted",
        Misconception::PullForFlow => "pull taken for a flow",
        Misconception::WokeIt => "woken needlessly",
        Misconception::JackTooSmall => "jack too small",
        Misconception::ClaimedProof => "proof claimed",
        Misconception::ResetCalledProven => "reset called proven",
        Misconception::OneOfTwo => "one of two",
        Misconception::CautionIgnored => "caution ignored",
    }
}

pub(super) const fn misconception_words(what: Misconception) -> &'static str {
    match what {
        Misconception::JudgedAwake => {
            "read before the vehicle slept: such a reading rules nothing out"
        }
        Misconception::NotPrepared => {
            "measured before the preparation: a place opened later wakes it"
        }
        Misconception::BadBaseline => {
            "the first draw was spoilt by bridge, leads or the meter's fuse, and was not checked"
        }
        Misconception::ZeroBelieved => {
            "0.0 across a large fuse can hide the drain: read further down, or finer"
        }
        Misconception::BiggestConvicted => {
            "what carried most was healthy and held awake by another"
        }
        Misconception::PullForFlow => {
            "the draw fell when it came out: that shows a need, not that the drain's current flows there"
        }
        Misconception::WokeIt => {
            "each wake costs a settle: read with things in place, open before the settle, pull late"
        }
        Misconception::JackTooSmall => {
            "the meter's mA fuse went: the highest jack first, down only when the reading fits"
        }
        Misconception::ClaimedProof => {
            "proven means: it alone out, the draw falls; back in, it returns"
        }
        Misconception::ResetCalledProven => "it fell and did not return: reset, not proven",
        Misconception::OneOfTwo => "there was another drain: look again when the first is out",
        Misconception::CautionIgnored => "what nobody may touch was to be taken out: no marks",
    }
}

/// A step with its judgement.
fn judged(index: usize, step: &Judged) -> String {
    let mut text = format!(
        "{}. {}: {}",
        index + 1,
        step.entry,
        verdict_word(step.verdict)
    );
    if step.lost > 0.0 {
        text = format!("{text}, {} lost", minutes(step.lost));
    }
    if let (Some(better), true) = (&step.better, step.verdict != Verdict::Good) {
        text = format!("{text}; better {better}");
    }
    if !step.ruled_out.is_empty() {
        let some: Vec<&str> = step.ruled_out.iter().take(4).map(String::as_str).collect();
        let more = step.ruled_out.len().saturating_sub(4);
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        text = format!("{text}; ruled out {}{more}", some.join(", "));
    }
    text
}

/// The debrief in words.
pub fn debrief(debrief: &Debrief, setting: &Setting, width: usize) -> String {
    under_heads(&debrief_lines(debrief, setting), width)
}

/// The debrief, text by text.
pub(super) fn debrief_lines(debrief: &Debrief, setting: &Setting) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    for (index, replied) in debrief.replies.iter().enumerate() {
        lines.push(("replies", reply_words(index, replied)));
    }
    if debrief.hunt {
        lines.extend(search_lines(debrief, setting));
    } else {
        lines.push((
            "marks",
            format!("{} of 100, for the replies", debrief.marks),
        ));
    }
    for (name, say) in &debrief.said {
        lines.push(("said", format!("{name}: {say}")));
    }
    for what in &debrief.misconceptions {
        let (id, words) = (misconception_id(*what), misconception_words(*what));
        lines.push(("idea", format!("{id}: {words}")));
    }
    let steps = debrief.steps.iter().enumerate();
    let steps = steps.filter(|(_, step)| debrief.hunt || step.verdict == Verdict::Asked);
    lines.extend(steps.map(|(index, step)| ("steps", judged(index, step))));
    for (index, line) in debrief.best.lines.iter().enumerate() {
        lines.push(("best path", format!("{}. {line}", index + 1)));
    }
    lines
}

fn reply_words(index: usize, replied: &Replied) -> String {
    let given = replied.given.as_deref().unwrap_or("no reply");
    let verdict = match replied.right {
        Some(true) => "right".to_owned(),
        Some(false) => format!("not right; it is {}", replied.wanted),
        None => "not marked here".to_owned(),
    };
    let say = replied
        .say
        .as_ref()
        .map_or(String::new(), |say| format!(". {say}"));
    format!("{}. {given}: {verdict}{say}", index + 1)
}

/// What came of a search.
fn search_lines(debrief: &Debrief, setting: &Setting) -> Vec<(&'static str, String)> {
    let named = if debrief.named.is_empty() {
        "nothing".to_owned()
    } else {
        debrief.named.join(" and ")
    };
    let verdict = if debrief.right { "right" } else { "not right" };
    let hidden = debrief.hidden.join(" and ");
    let over = if debrief.over_time {
        "; over the time"
    } else {
        ""
    };
    let proof = if debrief.proven {
        "taken, or none could be"
    } else {
        "not taken"
    };
    let hints = count(debrief.hints as usize, "hint");
    let mut lines = vec![
        ("answer", format!("{named}: {verdict}; hidden was {hidden}")),
        (
            "marks",
            format!(
                "{} of 100 (part 40, connector 10, proof 20, minutes of a proven answer 30; judgement)",
                debrief.marks
            ),
        ),
        (
            "minutes",
            format!(
                "{} used, {} by the best plan; {} lost by single steps{over}",
                minutes(debrief.minutes),
                minutes(debrief.best.minutes),
                minutes(debrief.lost())
            ),
        ),
        ("proof", proof.to_owned()),
        ("wakes", format!("{}; {hints}", debrief.wakes)),
    ];
    if let Some(good) = debrief.connector {
        let text = if good {
            "named"
        } else {
            "not named, or another"
        };
        let plugs = plugs_of(debrief, setting).join(" and ");
        lines.push(("plug", format!("{text}; {plugs}")));
    }
    lines
}

/// The connectors of what was hidden.
fn plugs_of<'s>(debrief: &Debrief, setting: &'s Setting) -> Vec<&'s str> {
    let feeds = &setting.feeds;
    let parts = debrief.hidden.iter().flat_map(|id| match feeds.find(id) {
        Some(Named::Part(part)) => vec![*part],
        Some(Named::Module(module)) => feeds.module_feeds(*module).to_vec(),
        _ => Vec::new(),
    });
    let plugs = parts.filter_map(|part| feeds.part(part).plug.as_ref());
    let mut plugs: Vec<&str> = plugs.map(|plug| plug.value.as_str()).collect();
    plugs.dedup();
    plugs
}

/// The debrief as data.
pub fn debrief_json(debrief: &Debrief, exercise: &Exercise) -> Value {
    let step = |s: &Judged| {
        let mut object = json!({
            "entry": s.entry,
            "verdict": verdict_word(s.verdict),
            "lost_minutes": number(s.lost),
            "ruled_out": s.ruled_out,
        });
        if let Some(better) = &s.better {
            object["better"] = json!(better);
        }
        object
    };
    let mut object = json!({
        "right": debrief.right,
        "marks": debrief.marks,
        "minutes": number(debrief.minutes),
        "best_minutes": number(debrief.best.minutes),
        "wakes": debrief.wakes,
        "hints": debrief.hints,
        "named": debrief.named,
        "hidden": debrief.hidden,
        "proven": debrief.proven,
        "misconceptions": debrief.misconceptions.iter().map(|m| misconception_id(*m)).collect::<Vec<_>>(),
        "steps": debrief.steps.iter().map(step).collect::<Vec<_>>(),
        "best_path": debrief.best.lines,
        "over_time": debrief.over_time,
        "number": exercise.number,
        "generator": GENERATOR,
    });
    if let Some(connector) = debrief.connector {
        object["connector"] = json!(connector);
    }
    if !debrief.replies.is_empty() {
        let replies = debrief.replies.iter().map(|r| {
            let mut row =
                json!({"asked": r.ask, "right": r.right == Some(true), "wanted": r.wanted});
            if let Some(given) = &r.given {
                row["given"] = json!(given);
            }
            row
        });
        object["replies"] = replies.collect();
    }
    object
}
