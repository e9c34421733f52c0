//! What each answer to a test would mean.

use crate::case::{Expect, Meaning, Outlook, Setting, TestPlan};
use crate::feeds::{Feeds, PartId};
use crate::judgement::Standing;
use crate::render::answer::{current, span};
use crate::render::setup;
use crate::render::trace::Lines;
use crate::render::words::shown_range;
use crate::vehicle::PartKind;

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
                let there = std::ptr::eq(then, carrying);
                let meaning = meaning(then, there, partly, part, setting);
                let left = if there && then.standing != Standing::Carrying {
                    String::new()
                } else {
                    left(then.alone, *alone, there)
                };
                say(format!("{shown}: {meaning}{left}"));
            }
            if !partly && expect.carrying.0 > WIDE_GAP * expect.not.1.max(0.0) {
                say("in between: a part of it here, the rest elsewhere".to_owned());
            }
        }
        Outlook::First(limit) => say(format!(
            "up to {}: in order; above it: to be found",
            current(*limit)
        )),
        Outlook::Repaired(limit) => {
            say(format!("up to {}: in order again", current(*limit)));
            say("above it: not mended, or another drain".to_owned());
        }
        Outlook::Fall(before, matters) => {
            say(format!(
                "lower by {} or more (was {}): it is in what is out",
                current(*matters),
                span(*before)
            ));
            say("less of a fall, or none: it is not".to_owned());
        }
        Outlook::Instead(before, matters) => {
            say(format!("still {}: it is in what is out now", span(*before)));
            say(format!(
                "higher by {} or more: it is in what went back in",
                current(*matters)
            ));
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

/// "behind F3", and "in cargo lamp" for what has nothing behind it.
pub(super) fn behind(part: PartId, feeds: &Feeds) -> String {
    let id = feeds.id(part);
    let leaf = matches!(feeds.part(part).kind, PartKind::Load | PartKind::Coil);
    let word = if leaf { "in" } else { "behind" };
    format!("{word} {id}")
}

/// What a display means for the part: `there` says that it is the one with the drain there; `partly` that it may
/// be there in part alone.
fn meaning(then: &Meaning, there: bool, partly: bool, part: PartId, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let id = feeds.id(part);
    let behind = behind(part, feeds);
    let hides = current(then.hides);
    match then.standing {
        Standing::Carrying if !partly => format!("the drain is {behind}"),
        Standing::Carrying if there => format!("all or most of it is {behind}"),
        Standing::Carrying => format!("a part of it is {behind}"),
        // That it is there is shown by how much it shows.
        _ if there => format!("something flows {behind}; the more, the likelier the drain"),
        Standing::RuledOut => format!("{id} is ruled out (at most {hides} could still flow there)"),
        Standing::Dead => format!("{id} is dead"),
        Standing::TooSmall => format!("not all of it is {behind} (up to {hides})"),
        Standing::InQuestion => format!("{id} is not ruled out (up to {hides} could flow there)"),
    }
}

/// "; 16 of 147 possible causes are left": how many could be the whole drain then, where that is fewer; how many
/// it is now is said once.
fn left(then: usize, now: usize, first: bool) -> String {
    match then {
        1 if now > 1 => "; one possible cause is left".to_owned(),
        more if (2..now).contains(&more) && first => {
            format!("; {more} of {now} possible causes are left")
        }
        more if (2..now).contains(&more) => format!("; {more} are left"),
        _ => String::new(),
    }
}
