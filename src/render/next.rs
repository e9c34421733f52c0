//! What `next` says to a person: one screen a step.

use crate::case::{Expect, Next, Setting, State, TestPlan};
use crate::measurement::Method;
use crate::render::answer::{
    because, cautions, current, instrument, preparation, question, span, state_word,
};
use crate::render::words::{number, under_heads};

/// The next step in lines of at most `width` columns (a longer single word apart): where the case
/// stands, what to do and how, what the answer would mean, why, and what it takes.
pub fn next_text(next: &Next, setting: &Setting, width: usize) -> String {
    let mut lines: Vec<(&str, String)> = vec![("state", state_word(next.state).replace('_', " "))];
    let feeds = &setting.feeds;
    if let Some(test) = &next.test {
        if let Some(place) = test.place {
            let place = &feeds.place_as_written(place).id.value;
            lines.push(("at", place.clone()));
        }
        lines.push(("do", how(test)));
        if let Some(expect) = test.expect {
            lines.push(("expect", expected(expect)));
        }
        for caution in cautions(test, setting) {
            lines.push(("caution", caution));
        }
    }
    if next.state == State::Prepare {
        for item in preparation(next, setting) {
            lines.push(("prepare", item));
        }
        lines.push(("type", "prepared".to_owned()));
    }
    lines.push(("why", because(next, setting)));
    for asked in &next.questions {
        lines.push(("asked", question(asked, setting)));
    }
    if !next.clash.is_empty() {
        let entries: Vec<_> = next.clash.iter().map(u32::to_string).collect();
        lines.push(("clash", format!("entries {}", entries.join(", "))));
    }
    for located in &next.located {
        let path: Vec<_> = located.path.iter().map(|p| feeds.id(*p)).collect();
        let mut text = format!("{}, {} too much", located.id, span(located.excess));
        if !path.is_empty() {
            text = format!("{text}; on the way {}", path.join(" > "));
        }
        if !located.unplug.is_empty() {
            text = format!("{text}; plugs: {}", located.unplug.join(", "));
        }
        lines.push(("located", text));
    }
    for found in &next.found {
        let returned = if found.returned {
            "and returned"
        } else {
            "and has not returned: only reset"
        };
        let (id, cause) = (found.subject.id(&setting.feeds), found.cause.words());
        let fell = span(found.fell);
        lines.push(("proof", format!("{id}, {cause}: fell by {fell} {returned}")));
    }
    for suspect in next.suspects.iter().take(3) {
        let share = number(suspect.odds * 100.0);
        let hides = current(suspect.hides);
        let (id, cause) = (&suspect.id, suspect.cause.words());
        lines.push((
            "suspect",
            format!("{id}, {cause}: {share} %, could hide {hides}"),
        ));
    }
    if let more @ 1.. = next.suspects.len().saturating_sub(3) {
        lines.push(("", format!("and {more} more")));
    }
    if !next.out.is_empty() {
        lines.push(("out", next.out.join(", ")));
    }
    let mut minutes = format!("{} min spent", number(next.spent));
    if let Some(expected) = next.expected {
        minutes = format!("{minutes}, about {} to go", number(expected));
    }
    if let Some(least) = next.at_least {
        minutes = format!("{minutes} ({} at least)", number(least));
    }
    lines.push(("minutes", minutes));
    under_heads(&lines, width)
}

/// What to type, and with which instrument.
fn how(test: &TestPlan) -> String {
    let (tool, jack, range) = instrument(test);
    let mut line = test.entry.clone();
    if test.method == Method::Wait {
        line = format!("let it settle, then type {line}");
    }
    if tool != "none" {
        line = format!("{line}, with the {tool}");
    }
    if let Some(jack) = jack {
        line = format!("{line}, jack {jack}");
    }
    if let Some(range) = range {
        line = format!("{line}, range {range}");
    }
    line = format!("{line}; {} min", number(test.minutes));
    if test.disturbs > 0.0 {
        let chance = number(test.disturbs * 100.0);
        line = format!("{line}; may wake the vehicle ({chance} %)");
    }
    line
}

/// What the display shows if the drain is there, and if it is not.
fn expected(expect: Expect) -> String {
    format!(
        "{} if the drain is here, {} if not",
        expected_range(expect.carrying, expect.millivolts),
        expected_range(expect.not, expect.millivolts)
    )
}

/// From and to on the display.
pub(super) fn expected_range((low, high): (f64, f64), millivolts: bool) -> String {
    let unit = if millivolts { "mV" } else { "mA" };
    // A display of millivolts shows one decimal at least.
    let show = |value: f64| match format!("{}", (value * 100.0).round() / 100.0) {
        whole if millivolts && !whole.contains('.') => format!("{whole}.0"),
        shown => shown,
    };
    if high.is_finite() {
        format!("{} to {} {unit}", show(low), show(high))
    } else {
        format!("{} {unit} or more", show(low))
    }
}
