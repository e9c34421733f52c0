//! The words of a drill: its opening, what each line is answered with, the debrief.

use crate::case::{Setting, State};
use crate::drill::{
    CHECK_SET_UP, Debrief, Exercise, GENERATOR, HINT_MINUTES, Judged, Misconception, Said, Step,
    Verdict,
};
use crate::feeds::PartId;
use crate::problem::clean;
use crate::render::answer::{cautions, number};
use crate::render::words::{count, under_heads};
use crate::simulation::{Cannot, Happened};
use serde_json::{Value, json};

/// Minutes for reading.
fn minutes(value: f64) -> String {
    format!("{value:.1} min")
}

/// What the learner is told at the beginning: the intake and what is at hand.
pub fn drill_opening(setting: &Setting, number: u64, width: usize) -> String {
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
    let mut lines = vec![
        ("drill", format!("{}; number {number}", feeds.vehicle().name)),
        (
            "intake",
            "It goes flat when it is left parked. Battery and charging were tested and are sound. \
             It has just been driven in and switched off, and nothing is prepared."
                .to_owned(),
        ),
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
    ];
    lines.push((
        "type",
        "entries without their readings; help; hint; answer PART at PLUG proven".to_owned(),
    ));
    under_heads(&lines, width)
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
    }
}

const fn misconception_id(what: Misconception) -> &'static str {
    match what {
        Misconception::JudgedAwake => "judged awake",
        Misconception::NotPrepared => "not prepared",
        Misconception::BadBaseline => "bad baseline",
        Misconception::ZeroBelieved => "zero believed",
        Misconception::BiggestConvicted => "biggest branch convicted",
        Misconception::ClaimedProof => "proof claimed",
        Misconception::ResetCalledProven => "reset called proven",
        Misconception::OneOfTwo => "one of two",
        Misconception::CautionIgnored => "caution ignored",
    }
}

const fn misconception_words(what: Misconception) -> &'static str {
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
    let named = if debrief.named.is_empty() {
        "nothing".to_owned()
    } else {
        debrief.named.join(" and ")
    };
    let verdict = if debrief.right { "right" } else { "not right" };
    let mut lines = vec![
        (
            "answer",
            format!(
                "{named}: {verdict}; hidden was {}",
                debrief.hidden.join(" and ")
            ),
        ),
        (
            "marks",
            format!(
                "{} of 100 (part 40, connector 10, proof 20, minutes 30)",
                debrief.marks
            ),
        ),
        (
            "minutes",
            format!(
                "{} used, {} by the best plan; {} lost by single steps",
                minutes(debrief.minutes),
                minutes(debrief.best.minutes),
                minutes(debrief.lost())
            ),
        ),
        (
            "proof",
            if debrief.proven {
                "taken, or none could be"
            } else {
                "not taken"
            }
            .to_owned(),
        ),
        (
            "wakes",
            format!(
                "{}; {}",
                debrief.wakes,
                count(debrief.hints as usize, "hint")
            ),
        ),
    ];
    if let Some(good) = debrief.connector {
        let plugs: Vec<&str> = debrief
            .hidden
            .iter()
            .filter_map(|id| match setting.feeds.find(id) {
                Some(crate::feeds::Named::Part(PartId(p))) => setting
                    .feeds
                    .part(PartId(*p))
                    .plug
                    .as_ref()
                    .map(|plug| plug.value.as_str()),
                _ => None,
            })
            .collect();
        let text = if good {
            "named"
        } else {
            "not named, or another"
        };
        lines.push(("plug", format!("{text}; {}", plugs.join(" and "))));
    }
    for what in &debrief.misconceptions {
        lines.push((
            "idea",
            format!(
                "{}: {}",
                misconception_id(*what),
                misconception_words(*what)
            ),
        ));
    }
    let steps = debrief.steps.iter().enumerate();
    lines.extend(steps.map(|(index, step)| ("steps", judged(index, step))));
    for (index, line) in debrief.best.lines.iter().enumerate() {
        lines.push(("best path", format!("{}. {line}", index + 1)));
    }
    under_heads(&lines, width)
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
        "number": exercise.number,
        "generator": GENERATOR,
    });
    if let Some(connector) = debrief.connector {
        object["connector"] = json!(connector);
    }
    object
}
