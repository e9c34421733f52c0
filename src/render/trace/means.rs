//! What each answer to a test would mean.

use crate::case::{Expect, Meaning, Outlook, Setting, TestPlan};
use crate::feeds::PartId;
use crate::judgement::Standing;
use crate::render::answer::{current, span};
use crate::render::setup;
use crate::render::trace::Lines;
use crate::render::words::{count, shown_range};
use std::fmt::Write as _;

/// From so many times the most that nothing shows on, a display between both answers is worth a line
/// (judgement).
const WIDE_GAP: f64 = 2.0;

/// A line an answer: what the display shows, and what follows from it.
pub(in crate::render) fn means(
    test: &TestPlan,
    outlook: &Outlook,
    setting: &Setting,
    lines: &mut Lines,
) {
    let mut say = |text: String| lines.push(("means", text));
    match outlook {
        Outlook::At {
            carrying,
            not,
            alone,
        } => {
            let (Some(expect), Some(part)) = (test.expect, test.part) else {
                return;
            };
            let Expect { millivolts, .. } = expect;
            let partly = not.standing == Standing::Carrying;
            for (range, then) in [(expect.carrying, carrying), (expect.not, not)] {
                // A clamp read on the meter shows millivolts.
                let on_meter = |shown| setup::on_display(test, setting, shown);
                let shown = match on_meter(range.0).zip(on_meter(range.1)) {
                    Some(volts) => shown_range(volts, true),
                    None => shown_range(range, millivolts),
                };
                let whole = match (partly, std::ptr::eq(then, carrying)) {
                    (false, _) => "",
                    (true, true) => " with all of it or most",
                    (true, false) => " with a part of it",
                };
                let least = std::ptr::eq(then, carrying) && then.standing != Standing::Carrying;
                let meaning = if least {
                    some_flows(then, part, setting)
                } else {
                    meaning(then, whole, *alone, part, setting)
                };
                say(format!("{shown}: {meaning}"));
            }
            if !partly && expect.carrying.0 > WIDE_GAP * expect.not.1.max(0.0) {
                say("in between: a part of it flows here, the rest elsewhere".to_owned());
            }
        }
        Outlook::First(limit) => say(format!(
            "up to {} is within the limit; what is above it has to be found",
            current(*limit)
        )),
        Outlook::Repaired(limit) => {
            say(format!(
                "up to {}: the draw is in order again",
                current(*limit)
            ));
            say("above it: not mended, or another drain; the search goes on".to_owned());
        }
        Outlook::Fall(before, matters) => {
            say(format!(
                "lower by {} or more (it was {}): the drain goes with what is out",
                current(*matters),
                span(*before)
            ));
            say("less of a fall, or none: it does not".to_owned());
        }
        Outlook::Return(before, without) => {
            say(format!("back at {}: proven", span(*before)));
            say(format!(
                "still at {}: only reset, not proven",
                span(*without)
            ));
        }
    }
}

/// What the least of a range means that shows the drain, where that alone does not prove it yet.
fn some_flows(then: &Meaning, part: PartId, setting: &Setting) -> String {
    let id = setting.feeds.id(part);
    let hides = current(then.hides);
    format!(
        "something flows in {id}, at the low end up to {hides} too much and not the drain by itself; the more it shows, the likelier it is there"
    )
}

fn meaning(then: &Meaning, whole: &str, alone: usize, part: PartId, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let id = feeds.id(part);
    let hides = current(then.hides);
    let mut said = match then.standing {
        Standing::Carrying if whole.is_empty() => format!("carrying, the drain is on {id}"),
        Standing::Carrying => format!("{id} is carrying{whole}"),
        Standing::RuledOut => {
            format!("{id} is ruled out: no more than {hides} could still flow there unseen")
        }
        Standing::Dead => format!("{id} is dead"),
        Standing::TooSmall => {
            format!(
                "up to {hides} could still flow in {id} unseen, not enough to be the drain by itself"
            )
        }
        Standing::InQuestion => {
            format!("{id} stays in question: up to {hides} could still flow there unseen")
        }
    };
    if then.ruled_out > 1 {
        let _ = write!(said, "; {} ruled out", count(then.ruled_out, "part"));
    }
    if (1..alone).contains(&then.alone) {
        let all = count(alone, "suspect");
        let _ = write!(said, "; leaves {} of {all}", then.alone);
    }
    said
}
