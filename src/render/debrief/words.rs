//! What a step, a prediction, a proof and a wrong idea are called in a debrief.

use crate::drill::{Gap, Misconception, Predicted, Right, Rules, Verdict};

pub(super) const fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Good => "good",
        Verdict::Irrelevant => "irrelevant",
        Verdict::Redundant => "redundant",
        Verdict::Premature => "premature",
        Verdict::Unproven => "unproven",
        Verdict::Spoilt => "told nothing",
        Verdict::Stopped => "caution ignored",
        Verdict::Asked => "asked",
    }
}

/// What is asked before a reading.
pub(in crate::render) fn prediction_asked(test: &str, shown: &str, carrying: bool) -> String {
    let all = if carrying {
        "all of the draw"
    } else {
        "nothing"
    };
    if test.starts_with("look ") {
        let seen = if carrying {
            "on, lit or warm"
        } else {
            "off, dark and cold"
        };
        return format!(
            "before {test}: if it is {seen}, what is ruled out by it? below (what it feeds), rest \
             (elsewhere), both, nothing, or skip"
        );
    }
    format!(
        "before {test}: if it shows {shown}, which is {all}, what is ruled out by it? below (what it \
         feeds), rest (elsewhere), both, nothing, or skip"
    )
}

/// Whether what was said holds.
pub(in crate::render) fn prediction_words(predicted: &Predicted) -> String {
    let (outcome, holds) = (&predicted.outcome, predicted.outcome.rules.word());
    let parts = some_of(&outcome.ruled_out);
    let parts = if parts.is_empty() {
        parts
    } else {
        format!(" ({parts})")
    };
    let shown = &outcome.shown;
    // A coarse reading may rule nothing out, and yet part what could be the one cause.
    let alone = if outcome.alone == outcome.rules || outcome.alone == Rules::Nothing {
        String::new()
    } else {
        let place = outcome.alone.word();
        format!(" ({place} then too small to be the one cause)")
    };
    let hides = outcome.hides.map_or(String::new(), |(most, needs)| {
        format!(" ({shown} can hide {most:.0} mA; the cause needs {needs:.0} mA)")
    });
    let alone = format!("{hides}{alone}");
    match (predicted.said, predicted.is_right()) {
        (Some(said), _) if predicted.is_too_small(said) => {
            let said = said.word();
            format!(
                "{shown} leaves {said} too small to be the one cause: as you said (ruled out for sure: \
                 {holds}{parts})"
            )
        }
        (Some(_), Some(true)) => format!("{shown} rules out {holds}{parts}: as you said{alone}"),
        (Some(said), _) => {
            format!(
                "{shown} rules out {holds}{parts}, not {}{alone}",
                said.word()
            )
        }
        (None, _) => format!("{shown} rules out {holds}{parts}{alone}"),
    }
}

/// The first four, and how many more.
pub(in crate::render) fn some_of(names: &[String]) -> String {
    let some: Vec<&str> = names.iter().take(4).map(String::as_str).collect();
    match names.len().saturating_sub(4) {
        0 => some.join(", "),
        more => format!("{} and {more} more", some.join(", ")),
    }
}

pub(in crate::render) const fn misconception_id(what: Misconception) -> &'static str {
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
        Misconception::LostByPulling => "lost by pulling",
        Misconception::OneOfTwo => "one of two",
        Misconception::LeftOut => "left out",
        Misconception::CautionIgnored => "caution ignored",
    }
}

pub(in crate::render) const fn misconception_words(what: Misconception) -> &'static str {
    match what {
        Misconception::JudgedAwake => {
            "read before the vehicle slept: such a reading rules nothing out"
        }
        Misconception::NotPrepared => {
            "measured before the preparation: a place opened later wakes it"
        }
        Misconception::BadBaseline => {
            "the first draw was spoilt by the battery, bridge, leads or the meter's fuse, and was not checked"
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
            "proven means: it alone out, the draw falls; back in, it returns. What was missing stands at proof"
        }
        Misconception::ResetCalledProven => "it fell and did not return: reset, not proven",
        Misconception::LostByPulling => {
            "what was taken out took the fault away for good: read with everything in place first"
        }
        Misconception::OneOfTwo => "there was another drain: look again when the first is out",
        Misconception::LeftOut => {
            "something healthy was still out at the end: put back what came out, and list what stays out"
        }
        Misconception::CautionIgnored => {
            "you tried to take out or probe what nobody may touch (airbag, high voltage, protected): no marks"
        }
    }
}

/// What was missing from a proof.
pub(super) fn gap_words(name: &str, gap: &Gap) -> String {
    match gap {
        Gap::NeverOut => format!("{name} was never taken out"),
        Gap::NoDraw => format!("with {name} out the draw was not read"),
        Gap::NoDrawBefore => format!("no draw was read before {name} came out"),
        Gap::Awake => {
            format!("{name}: a draw before it or with it out was read while the vehicle was awake")
        }
        Gap::NotAlone(others) => format!(
            "with {name} out {} fell silent too: rule that out first, or take out {name} alone",
            some_of(others)
        ),
        Gap::TooCoarse {
            may_be,
            falls_below,
        } => format!(
            "with {name} out the draw may still be {may_be:.0} mA, and only below {falls_below:.0} mA is \
             it a fall: read both draws on a finer jack, asleep"
        ),
        Gap::NotBack => {
            format!("with {name} back in, and the vehicle asleep, the draw was not read")
        }
        Gap::NoReturn => format!("with {name} back in, the draw did not return"),
    }
}

/// What is right, in one text.
pub(super) fn right_words(right: &Right) -> String {
    match right {
        Right::Sealed => "sealed".to_owned(),
        Right::Text(text) => text.clone(),
        Right::Parts(parts) => parts.join(", "),
        Right::Between(low, high) => format!("{low:.0} to {high:.0} mA"),
    }
}
