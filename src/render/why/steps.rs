//! The numbered steps of a reason, a sentence each.

use super::{entry_text, standing_word};
use crate::case::Case;
use crate::feeds::PartId;
use crate::judgement::{LEAST_SOUGHT, Standing};
use crate::ledger::{Because, End, Out};
use crate::measurement::Method;
use crate::render::words::{TOGETHER, capital, count, number, plain};
use crate::report::{Reasons, Says, Step};

/// A current with tenths, so that the sums can be followed.
pub(super) fn ma(value: f64) -> String {
    if value.is_infinite() {
        return "any current".to_owned();
    }
    format!("{}{TOGETHER}mA", number(value))
}

/// Two currents that are compared: with more digits where tenths would make them look the same.
fn compared(one: f64, two: f64) -> (String, String) {
    let (short, other) = (ma(one), ma(two));
    if short == other && one.is_finite() && two.is_finite() {
        let long = |value: f64| format!("{}{TOGETHER}mA", plain(value));
        return (long(one), long(two));
    }
    (short, other)
}

pub(super) fn amount(says: &Says) -> Option<f64> {
    match says {
        Says::Flows { ma, .. }
        | Says::Healthy { ma, .. }
        | Says::TooMuch { ma, .. }
        | Says::Own { ma, .. }
        | Says::Together { ma }
        | Says::EnoughAlone { ma, .. }
        | Says::NeededNow { ma, .. }
        | Says::Matters { ma } => Some(*ma),
        Says::Settled { low, .. } => Some(*low),
        Says::NotBounded { .. } | Says::Stands(_) | Says::Clash(_) => None,
    }
}

/// "with F3, C114": the parts and inputs as they are named; at most four.
pub(super) fn with_out(out: &Out, case: &Case<'_>) -> Option<String> {
    let feeds = &case.setting().feeds;
    let parts = out.parts().map(|p| feeds.id(p));
    let parts: Vec<&str> = parts.chain(out.inputs()).collect();
    let shown = parts.iter().take(4).copied().collect::<Vec<_>>().join(", ");
    match parts.len() {
        0 => None,
        1..=4 => Some(format!("with {shown}")),
        more => Some(format!("with {shown} and {} more", more - 4)),
    }
}

/// "the draw", "the current in F3".
fn current_in(part: PartId, case: &Case<'_>) -> String {
    if part == PartId(0) {
        "the draw".to_owned()
    } else {
        format!("the current in {}", case.setting().feeds.id(part))
    }
}

/// "F3", "F3 and all it feeds".
fn with_all(part: PartId, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let id = feeds.id(part);
    if part == PartId(0) {
        "the whole vehicle".to_owned()
    } else if feeds.is_leaf(part) {
        id.to_owned()
    } else {
        format!("{id} with all it feeds")
    }
}

/// "(3)", the number of an earlier line.
fn line(index: usize) -> String {
    format!("({})", index + 1)
}

/// "(1) (4)", all that a line rests on.
fn lines(step: &Step) -> String {
    let lines: Vec<String> = step.from.iter().map(|from| line(*from)).collect();
    lines.join(" ")
}

fn joined(list: &[String]) -> String {
    list.join(" and ")
}

/// A current of an earlier line, "556.2 mA (3)".
fn earlier(index: usize, reasons: &Reasons) -> Option<String> {
    let amount = amount(&reasons.steps[index].says)?;
    Some(format!("{}{TOGETHER}{}", ma(amount), line(index)))
}

/// "676 mA (1) less 556.2 mA (2)": what counts for it, then what counts against it.
fn sum(step: &Step, end: End, reasons: &Reasons) -> String {
    let side = |same: bool| -> Vec<String> {
        step.from
            .iter()
            .filter(|from| {
                let at = match reasons.steps[**from].says {
                    Says::Flows { end, .. } | Says::TooMuch { end, .. } => end,
                    Says::Settled { .. } => End::Low,
                    _ => End::High,
                };
                (at == end) == same
            })
            .filter_map(|from| earlier(*from, reasons))
            .collect()
    };
    let (plus, less) = (side(true), side(false));
    match (plus.is_empty(), less.is_empty()) {
        (_, true) => joined(&plus),
        (true, false) => format!("less {}", joined(&less)),
        (false, false) => format!("{} less {}", joined(&plus), joined(&less)),
    }
}

/// Behind a reading with the meter in line whose bound is not what it shows.
const ALLOWING: &str = ", allowing for the meter in line";

/// Whether a draw bounds what flows by more than it shows: by what its meter takes off the supply.
fn allows_for_the_meter(case: &Case<'_>, entry: u32, end: End, bound: f64) -> bool {
    let mut readings = case.readings().iter();
    let shown = readings.find(|shown| shown.entry == entry && shown.method == Method::Draw);
    let read = shown.and_then(|shown| shown.current).map(|read| match end {
        End::Low => read.low(),
        End::High => read.high(),
    });
    // What tenths do not show needs no word.
    read.is_some_and(|read| number(read) != number(bound))
}

fn flows(step: &Step, reasons: &Reasons, case: &Case<'_>) -> String {
    let Says::Flows {
        part,
        out,
        end,
        ma: value,
        because,
    } = &step.says
    else {
        return String::new();
    };
    let taken = with_out(out, case).map(|taken| format!("{taken} out, "));
    let most = match end {
        End::High if *value <= 0.0 => "nothing".to_owned(),
        End::High => format!("at most {}", ma(*value)),
        End::Low => format!("at least {}", ma(*value)),
    };
    let flows = if *part == PartId(0) {
        format!("the draw is {most}")
    } else {
        format!("{most} flows in {}", case.setting().feeds.id(*part))
    };
    let only = step
        .from
        .first()
        .map(|from| line(*from))
        .unwrap_or_default();
    let sum = sum(step, *end, reasons);
    let why = match because {
        Because::Reading(entry) => {
            let allowing = allows_for_the_meter(case, *entry, *end, *value);
            let allowing = if allowing { ALLOWING } else { "" };
            format!("entry {entry}, {}{allowing}", entry_text(case, *entry))
        }
        Because::TakenOut => "it is out".to_owned(),
        Because::Sum if step.from.len() == 1 => format!("what it feeds takes that much {only}"),
        Because::Sum => format!("what it feeds takes together {sum}"),
        Because::Remainder if step.from.len() == 1 => format!("no more flows above it {only}"),
        Because::Remainder => format!("what is left there, {sum}"),
        Because::Same => format!("what was taken out or put back does not touch it {only}"),
        Because::With => format!("with and without what was taken out, {sum}"),
        Because::Fall => format!("the fall when it was taken out, {sum}"),
        Because::NoLess => format!("no more flows with more taken out {only}"),
    };
    let taken = taken.unwrap_or_default();
    capital(&format!("{taken}{flows}: {why}."))
}

/// One line as a sentence.
pub(super) fn sentence(step: &Step, reasons: &Reasons, case: &Case<'_>) -> String {
    match &step.says {
        Says::Flows { .. } => flows(step, reasons, case),
        Says::NotBounded { part } => {
            let what = current_in(*part, case);
            capital(&format!("nothing read so far limits {what}."))
        }
        Says::Healthy { part, end, ma } => healthy(*part, *end, *ma, case),
        Says::TooMuch { part, end, ma } => too_much(step, *part, *end, *ma, reasons, case),
        Says::Own { part, ma } => own(step, *part, *ma, reasons, case),
        Says::Together { ma } => together(step, *ma, reasons, case),
        Says::Settled { entry, low, high } => format!(
            "The settled draw is {} to {}: entry {entry}, {}.",
            ma(*low),
            ma(*high),
            entry_text(case, *entry)
        ),
        Says::EnoughAlone { .. } | Says::NeededNow { .. } | Says::Matters { .. } => {
            threshold(step, reasons)
        }
        Says::Stands(standing) => stands(*standing, step, reasons),
        Says::Clash(entries) => {
            let entries: Vec<String> = entries.iter().map(u32::to_string).collect();
            format!(
                "Both cannot be true {}: entries {} clash. Nothing is judged until one of them is taken again or withdrawn.",
                lines(step),
                joined(&entries)
            )
        }
    }
}

fn healthy(part: PartId, end: End, value: f64, case: &Case<'_>) -> String {
    let what = with_all(part, case);
    let most = match end {
        End::High if value <= 0.0 => {
            return format!("Healthy and asleep, {what} need not take anything.");
        }
        End::High => "at least",
        End::Low => "at most",
    };
    let (value, assumed) = (ma(value), assumed(part, case));
    format!("Healthy and asleep, {what} takes {most} {value}{assumed}.")
}

fn own(step: &Step, part: PartId, value: f64, reasons: &Reasons, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let id = feeds.id(part);
    if value.is_infinite() {
        let lines = lines(step);
        return format!("So nothing limits what {id} alone could take too much {lines}.");
    }
    let least = feeds.least(part).value();
    let mut text = sum(step, End::High, reasons);
    if least > 0.0 {
        text = format!("{text}, less the {} it takes when healthy", ma(least));
    }
    let value = ma(value);
    format!("So {id} alone could take up to {value} too much: {text}.")
}

fn together(step: &Step, value: f64, reasons: &Reasons, case: &Case<'_>) -> String {
    if value.is_infinite() {
        return format!("So nothing limits them together {}.", lines(step));
    }
    let value = ma(value);
    let cut = step
        .from
        .iter()
        .find_map(|from| match reasons.steps[*from].says {
            Says::TooMuch { part, .. } => Some((part, line(*from))),
            _ => None,
        });
    let own = |from: &&usize| matches!(reasons.steps[**from].says, Says::Own { .. });
    let parts: Vec<String> = step
        .from
        .iter()
        .filter(own)
        .map(|from| line(*from))
        .collect();
    let parts = parts.join(" ");
    match cut {
        Some((part, at)) => {
            let what = with_all(part, case);
            format!("Together {parts} they could take more, but no more than {what}: {value} {at}.")
        }
        None => format!("Together they could take up to {value} too much {parts}."),
    }
}

fn threshold(step: &Step, reasons: &Reasons) -> String {
    match &step.says {
        Says::EnoughAlone { limit, .. } if limit.is_infinite() => {
            "No limit is given for this vehicle.".to_owned()
        }
        Says::EnoughAlone {
            ma: value,
            limit,
            usual,
        } if *value <= 0.0 => format!(
            "Usual when all is well are {}, which fills the limit of {} already: whatever takes too much keeps the vehicle over it.",
            ma(*usual),
            ma(*limit)
        ),
        Says::EnoughAlone {
            ma: value,
            limit,
            usual,
        } => format!(
            "One part that takes {} too much is enough alone to keep the vehicle over its limit: {} less the {} usual when all is well.",
            ma(*value),
            ma(*limit),
            ma(*usual)
        ),
        Says::NeededNow { limit, .. } if limit.is_infinite() => {
            "So no draw is too much by it.".to_owned()
        }
        Says::NeededNow { ma: value, .. } if *value <= 0.0 => {
            "No settled draw is proven to be over the limit, so today's draw asks for nothing."
                .to_owned()
        }
        Says::NeededNow { ma: value, limit } => format!(
            "A single cause of today's draw takes at least {}: {} less the limit of {}.",
            ma(*value),
            sum(step, End::Low, reasons),
            ma(*limit)
        ),
        Says::Matters { ma: value } => format!(
            "What matters is the smaller of the two {}, and nothing below {}: {}.",
            lines(step),
            ma(LEAST_SOUGHT),
            ma(*value)
        ),
        _ => String::new(),
    }
}

/// " (assumed for 3 loads)": how much of a healthy draw the file leaves open.
fn assumed(part: PartId, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    let assumed = feeds
        .subtree(part)
        .map(PartId)
        .filter(|p| feeds.at_most(*p).value() > 0.0)
        .filter(|p| feeds.part(*p).at_most.is_none() && feeds.usual(*p).1)
        .count();
    if assumed == 0 {
        " by the vehicle file".to_owned()
    } else {
        format!(" (assumed for {})", count(assumed, "part"))
    }
}

fn too_much(
    step: &Step,
    part: PartId,
    end: End,
    value: f64,
    reasons: &Reasons,
    case: &Case<'_>,
) -> String {
    let what = with_all(part, case);
    let mut flows = None;
    let mut healthy = None;
    for from in &step.from {
        match reasons.steps[*from].says {
            Says::Healthy { ma, .. } => healthy = Some((ma, line(*from))),
            _ => flows = earlier(*from, reasons).or_else(|| Some(line(*from))),
        }
    }
    let flows = flows.unwrap_or_else(|| ma(0.0));
    let healthy = match healthy {
        Some((value, line)) if value > 0.0 => format!(" less {}{TOGETHER}{line}", ma(value)),
        Some((_, line)) => format!(" less nothing {line}"),
        None => String::new(),
    };
    match end {
        End::High if value.is_infinite() => {
            format!(
                "So nothing limits what could flow in {what} {}.",
                lines(step)
            )
        }
        End::High => format!(
            "So up to {} too much could flow in {what}: {flows}{healthy}.",
            ma(value)
        ),
        End::Low => format!(
            "So {what} takes at least {} too much: {flows}{healthy}.",
            ma(value)
        ),
    }
}

fn stands(standing: Standing, step: &Step, reasons: &Reasons) -> String {
    let word = standing_word(standing);
    let found = |wanted: fn(&Says) -> bool| {
        let at = step
            .from
            .iter()
            .find(|from| wanted(&reasons.steps[**from].says));
        at.map(|from| line(*from)).unwrap_or_default()
    };
    let matters_at = found(|says| matches!(says, Says::Matters { .. }));
    let needed_at = found(|says| matches!(says, Says::NeededNow { .. }));
    match standing {
        Standing::Dead => format!("So it is {word}: no current can pass."),
        Standing::RuledOut => {
            let (hides, matters) = compared(reasons.hides, reasons.matters);
            format!(
                "So it is {word}: {hides} is less than the {matters} from which it matters {matters_at}."
            )
        }
        Standing::TooSmall => {
            let (hides, needed) = compared(reasons.hides, reasons.needed);
            let matters = ma(reasons.matters);
            format!(
                "So it is {word}: {hides} matters, being no less than {matters} {matters_at}, but is less than the {needed} a single cause takes {needed_at}."
            )
        }
        Standing::InQuestion if reasons.hides.is_infinite() => {
            format!("So it is {word}: nothing read speaks against it.")
        }
        Standing::InQuestion if reasons.needed < reasons.matters => {
            let (hides, matters) = compared(reasons.hides, reasons.matters);
            format!(
                "So it is {word}: {hides} is no less than the {matters} from which it matters {matters_at}."
            )
        }
        Standing::InQuestion => {
            let (hides, needed) = compared(reasons.hides, reasons.needed);
            format!(
                "So it is {word}: {hides} is no less than the {needed} a single cause takes {needed_at}."
            )
        }
        Standing::Carrying => {
            format!(
                "So it is {word}: that is no less than the {} from which it matters {matters_at}.",
                ma(reasons.matters)
            )
        }
    }
}
