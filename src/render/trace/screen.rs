//! One screen: the step asked for, with what its answers would mean.

use crate::case::{Case, Chosen, Found, Located, Next, Question, Reason, Setting, State, TestPlan};
use crate::feeds::{Named, PartId, PlaceId};
use crate::interval::Interval;
use crate::measurement::{Method, Way};
use crate::render::answer::{because, current, jaws_too_small, question, span};
use crate::render::cautions::{AFTERWARDS, cautions, preparation};
use crate::render::comes::{up_together, watch_lines};
use crate::render::need::{blind_words, need};
use crate::render::odds::moved_briefly;
use crate::render::setup;
use crate::render::trace::Lines;
use crate::render::trace::means::means;
use crate::render::trace::to_type::{sample, to_type};
use crate::render::words::{number, plug, under_heads, what};
use crate::suspects::{Cause, Subject};
use crate::vehicle::PartKind;
use std::fmt::Write as _;

/// Names listed before the rest is only counted.
const NAMED: usize = 4;

/// Where and when a screen is shown.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// Questions that were just shown; they are not asked again.
    pub said: &'a [Question],
    /// When a settle that begins now is over, such as `15:42`; `None` without a clock.
    pub until: Option<&'a str>,
    /// Columns.
    pub width: usize,
    /// Line-drawing characters; plain ones otherwise.
    pub unicode: bool,
}

/// The next step as one screen.
pub fn trace_screen(case: &Case<'_>, next: &Next, scene: Scene<'_>) -> String {
    let setting = case.setting();
    let mut lines: Lines = Vec::new();
    if next.state == State::Prepare || next.reason == Reason::PrepareAgain {
        let items = preparation(next, setting);
        lines.extend(items.into_iter().map(|item| ("do", item)));
    }
    if next.reason == Reason::Watch {
        let watch = "Leave everything as it is, overnight or as long as the fault took to show. No time for that: skip draw closes the case as not watched. Then:";
        lines.push(("do", watch.to_owned()));
    }
    if let Some(test) = &next.test {
        to_do(test, setting, scene.until, &mut lines);
        // What comes after the reading is said when the reading is in.
        let list = cautions(test, setting).into_iter();
        let list = list.filter(|caution| !caution.starts_with(AFTERWARDS));
        lines.extend(list.map(|caution| ("CAUTION", caution)));
        if let Some(outlook) = case.outlook(test) {
            means(test, &outlook, setting, &mut lines);
        }
    }
    clash(case, next, &mut lines);
    lines.extend(
        next.located
            .iter()
            .filter_map(|one| branch(next, one, setting)),
    );
    if next.state == State::Located {
        for (part, needs) in case.would_tell(&next.located) {
            let given = setting.feeds.part(part).wire.is_some();
            let all: Vec<String> = needs.iter().map(|one| need(one, given)).collect();
            let id = setting.feeds.id(part);
            lines.push(("lacking", format!("To read {id}: {}.", all.join("; or "))));
        }
    }
    // A proof is told when it is news, and at the end.
    if next.test.is_none() || next.reason == Reason::StaysOut {
        let found = next.found.iter();
        lines.extend(found.map(|found| ("proof", proof(found, setting))));
    }
    if next.state != State::Prepare {
        lines.extend(likely(next, 3));
    }
    lines.push(("why", because(next, setting)));
    lines.extend(watch_lines(next, setting));
    if !next.together.is_empty() {
        lines.push(("together", up_together(&next.together, &setting.feeds)));
    }
    let new = next
        .questions
        .iter()
        .filter(|asked| !scene.said.contains(asked));
    lines.extend(new.map(|asked| ("asked", question(asked, setting))));
    if !next.out.is_empty() {
        lines.push(("still out", next.out.join(", ")));
    }
    if let Some(then) = afterwards(next) {
        lines.push(("then", then));
    }
    lines.push(("type", to_type(case, next)));
    let head = header(next, scene.width, scene.unicode);
    format!("\n{head}{}", under_heads(&lines, scene.width))
}

/// A test that was named without its reading: how, what its answers would mean, and what it lacks.
pub fn trace_chosen(case: &Case<'_>, chosen: &Chosen, width: usize) -> String {
    let (test, setting) = (&chosen.test, case.setting());
    let mut lines: Lines = Vec::new();
    to_do(test, setting, None, &mut lines);
    let list = cautions(test, setting).into_iter();
    let list = list.filter(|caution| !caution.starts_with(AFTERWARDS));
    lines.extend(list.map(|caution| ("CAUTION", caution)));
    if let Some(outlook) = case.outlook(test) {
        means(test, &outlook, setting, &mut lines);
    }
    let blind = chosen.blind.as_ref();
    lines.extend(blind.map(|blind| ("BLIND", blind_words(blind, false, setting))));
    let thick = test.part.filter(|_| chosen.too_thick);
    lines.extend(thick.map(|part| ("lacking", jaws_too_small(part, setting))));
    if chosen.lacking {
        let takes = match test.method {
            Method::Drop => "a meter with a millivolt range",
            Method::Series => "a meter with an A jack",
            _ => "a clamp",
        };
        lines.push((
            "lacking",
            format!("Nothing at hand reads that: it would take {takes}, in the instruments file."),
        ));
    }
    let shows = sample(test, setting);
    lines.push((
        "type",
        format!("it with its reading: {} {shows}", test.entry),
    ));
    under_heads(&lines, width)
}

/// Where we are: the step, minutes spent and to go.
fn header(next: &Next, width: usize, unicode: bool) -> String {
    // Writing to a string cannot fail, here and below.
    let mut minutes = format!("{:.0} min spent", next.spent);
    if let Some(expected) = next.expected {
        let _ = write!(minutes, ", about {expected:.0} to go");
    }
    let dash = if unicode { "─" } else { "-" };
    let text = format!("{dash}{dash} {} {dash} {minutes} ", heading(next.state));
    let room = width.saturating_sub(textwrap::core::display_width(&text));
    let line = format!("{text}{}", dash.repeat(room));
    format!("{}\n", textwrap::fill(line.trim_end(), width))
}

/// What a state is called on a screen.
const fn heading(state: State) -> &'static str {
    match state {
        State::Prepare => "PREPARE",
        State::Baseline => "SETTLED DRAW",
        State::Wait => "WAIT FOR SLEEP",
        State::Measure => "SPLIT",
        State::Confirm => "PROVE IT",
        State::Confirmed => "PROVEN",
        State::Located => "LOCATED, STILL LIVE",
        State::Gone => "GONE FOR NOW",
        State::WithinLimit => "WITHIN THE LIMIT",
        State::Verify => "AFTER THE REPAIR",
        State::Contradiction => "READINGS CLASH",
        State::Undecidable => "UNDECIDED",
    }
}

/// Place, point, how, with what.
fn to_do(test: &TestPlan, setting: &Setting, until: Option<&str>, lines: &mut Lines) {
    let feeds = &setting.feeds;
    let place_name = |place: PlaceId| feeds.place_as_written(place).id.value.as_str();
    if let Some(place) = test.place {
        let way: Vec<_> = feeds.way(place).into_iter().map(place_name).collect();
        lines.push(("at", way.join(", then ")));
    }
    let points: Vec<_> = test.points.iter().map(|p| point(p, setting)).collect();
    lines.push(("do", how(test, &points.join(", "), setting)));
    if let Some(with) = setup::with(test, setting) {
        lines.push(("with", with));
    }
    let first = setup::first(test, setting).into_iter();
    lines.extend(first.map(|first| ("first", first)));
    lines.push(("takes", takes(test, setting, until)));
}

/// A point as a person finds it: what it is, what the lid says, plug and pin, wire colour.
fn point(name: &str, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let listed = |parts: &[PartId]| {
        let ids: Vec<_> = parts.iter().take(NAMED).map(|p| feeds.id(*p)).collect();
        let more = parts.len().saturating_sub(NAMED);
        let rest = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        format!("{}{rest}", ids.join(", "))
    };
    match feeds.find(name) {
        Some(Named::Part(part)) if part.0 != 0 => {
            let written = feeds.part(*part);
            let mut said = vec![what(written)];
            said.extend(written.label.as_ref().map(|l| format!("lid says {l}")));
            said.extend(plug(written));
            said.extend(written.colour.clone());
            format!("{name} ({})", said.join(", "))
        }
        Some(Named::Plug(parts)) => format!("{name} ({})", listed(parts)),
        Some(Named::Module(module)) => {
            let plugs = feeds.module_feeds(*module);
            format!("{name} (all its feeds: {})", listed(plugs))
        }
        _ => name.to_owned(),
    }
}

/// What the hands do.
fn how(test: &TestPlan, point: &str, setting: &Setting) -> String {
    let kind = test.part.map(|part| setting.feeds.part(part).kind);
    match (test.method, test.way) {
        (Method::Volts, _) => {
            format!("Volts at {point}: black probe on a sound earth, red on the feed.")
        }
        (Method::Drop, _) => match kind {
            Some(PartKind::Fuse | PartKind::Link | PartKind::Breaker) => {
                format!("Voltage drop across {point}: a probe on each side; it stays in.")
            }
            _ => format!(
                "Voltage drop along the wire of {point}: a probe at each end of it{}.",
                test.part.map_or_else(String::new, |part| apart(part, setting))
            ),
        },
        (Method::Clamp, Some(way)) if setup::let_in(test, way, setting) => {
            format!("Clamp on a loop lead in the place of {point}.")
        }
        (Method::Clamp, _) => format!("Clamp the feed wire of {point}."),
        (Method::Series, _) => format!("Meter in series in the place of {point}."),
        (Method::Draw, Some(Way::Clamp { .. })) => {
            "Read the draw: clamp round all leads of one battery post.".to_owned()
        }
        (Method::Draw, _) => {
            "Read the draw: meter in the negative lead, over the bridge.".to_owned()
        }
        (Method::Look, _) => match kind {
            Some(PartKind::Relay) => format!("Feel {point}: is it warm?"),
            Some(PartKind::Coil) => {
                format!("Feel the relay of {point}: is it warm?")
            }
            Some(PartKind::Switch) => format!("Look at {point}: is it on?"),
            _ => format!("Look at {point}: is it lit, warm or running?"),
        },
        (Method::Pull, _) if test.points.len() > 1 => format!("Pull together: {point}."),
        (Method::Pull, _) => format!("Pull {point}."),
        (Method::Unplug, _) => format!("Unplug {point}."),
        (Method::Refit, _) => format!("Put back {point}."),
        (Method::Open, _) => format!("Open {point} and leave it open."),
        (Method::Zero, _) => "Zero the clamp where it will be read.".to_owned(),
        (Method::Wait, _) => {
            "Switch nothing on and open no door until the draw no longer falls; leave open what is open.".to_owned()
        }
    }
}

/// Longer than this, in m, the leads of a meter do not reach (judgement).
const LEADS_REACH: f64 = 1.5;

/// Where the far end of a wire is that the leads do not span.
fn apart(part: PartId, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let length = feeds.part(part).wire.as_ref().and_then(|wire| wire.length);
    let Some(length) = length.filter(|length| length.value() > LEADS_REACH) else {
        return String::new();
    };
    let far = feeds.up(part).map_or("", |up| feeds.id(up));
    format!(
        ", {} m apart: the far one at {far}, on a long lead",
        number(length.value())
    )
}

/// Minutes, and the chance to wake the vehicle.
fn takes(test: &TestPlan, setting: &Setting, until: Option<&str>) -> String {
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    if test.method == Method::Wait {
        let settle = setting.feeds.settle().value();
        let chance = test.minutes / settle.max(1e-9);
        let until = until.map_or_else(String::new, |until| format!(", until {until}"));
        let whole = format!("{} min{until}", number(settle));
        return if chance < 0.99 {
            let chance = percent(chance);
            format!("nothing if it still sleeps; {whole} if that woke it ({chance} likely)")
        } else {
            format!("about {whole}")
        };
    }
    let mut said = format!("about {}", duration(test.minutes));
    if test.disturbs > 0.99 {
        said.push_str("; it wakes the vehicle");
    } else if test.disturbs > 0.0 {
        let _ = write!(said, "; may wake the vehicle ({})", percent(test.disturbs));
    }
    said
}

/// Minutes of a step, as a person would say them.
fn duration(minutes: f64) -> String {
    if minutes < 0.95 {
        format!("{:.0} s", (minutes * 6.0).round().max(1.0) * 10.0)
    } else if minutes < 9.75 {
        format!("{} min", number((minutes * 2.0).round() / 2.0))
    } else {
        format!("{minutes:.0} min")
    }
}

/// The entries that clash.
fn clash(case: &Case<'_>, next: &Next, lines: &mut Lines) {
    for number in &next.clash {
        if let Some(entry) = case.entries().iter().find(|e| e.number == *number) {
            lines.push(("clash", format!("{number}: {}", entry.text)));
        }
    }
    if let Some(clash) = case.clash().filter(|_| !next.clash.is_empty()) {
        let id = case.setting().feeds.id(clash.part);
        lines.push((
            "clash",
            format!("They cannot all be right about {id} (why {id} says more)."),
        ));
    }
}

/// A branch that is suspected or located: in full where it is parted and at the end, else by name.
fn branch(next: &Next, one: &Located, setting: &Setting) -> Option<(&'static str, String)> {
    match &next.test {
        None if next
            .found
            .iter()
            .any(|f| f.returned && f.subject.id(&setting.feeds) == one.id) =>
        {
            // How much is said by its proof.
            let whole = Located {
                excess: Interval::not_negative(),
                ..one.clone()
            };
            Some(("located", located(&whole, setting)))
        }
        None => Some(("located", located(one, setting))),
        // The proof says it.
        _ if next.reason == Reason::StaysOut => None,
        Some(test) if matches!(test.method, Method::Pull | Method::Unplug) => {
            Some(("suspect", located(one, setting)))
        }
        Some(_) => Some(("suspect", one.id.clone())),
    }
}

/// A located branch: what, how much, the way there, where it comes out.
fn located(one: &Located, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let (low, high) = (one.excess.low(), one.excess.high());
    let mut text = one.id.clone();
    if low > 0.0 {
        let _ = write!(text, ", {} too much", span(one.excess));
    } else if high.is_finite() {
        let _ = write!(text, ", up to {} too much", current(high));
    }
    if !one.path.is_empty() {
        let path: Vec<_> = one.path.iter().map(|p| feeds.id(*p)).collect();
        let _ = write!(text, "; the way there: {}", path.join(" > "));
    }
    if let Some(nearest) = one.unplug.first() {
        let plug = matches!(feeds.find(nearest), Some(Named::Plug(_)));
        let word = if plug { "plug " } else { "comes out at " };
        let _ = write!(text, "; {word}{nearest}");
    }
    text
}

/// What a proof leaves open that was taken further up than at the part itself.
fn wire_beside(found: &Found) -> String {
    let (Subject::Part(part), Cause::OwnDraw) = (&found.subject, found.cause) else {
        return String::new();
    };
    let nearer = found.taken.iter().any(|taken| taken.parts.contains(part));
    match found.taken.first().filter(|_| !nearer) {
        Some(taken) => format!("; {} was out, so it or its wire from there on", taken.name),
        None => String::new(),
    }
}

/// What became of a proof.
fn proof(found: &Found, setting: &Setting) -> String {
    let (id, cause) = (found.subject.id(&setting.feeds), found.cause.words());
    let fell = span(found.fell);
    if found.returned {
        let wire = wire_beside(found);
        format!(
            "{id}, {cause}: without it the draw fell by {fell}, with it the draw returned{wire}"
        )
    } else {
        format!(
            "{id}, {cause}: the draw fell by {fell} and has not returned: only reset, not proven"
        )
    }
}

/// The likeliest causes.
pub(super) fn likely(
    next: &Next,
    most: usize,
) -> impl Iterator<Item = (&'static str, String)> + '_ {
    next.suspects.iter().take(most).map(|suspect| {
        let (id, cause) = (&suspect.id, suspect.cause.words());
        let (share, hides) = (suspect.odds * 100.0, current(suspect.hides));
        let share = if share < 1.0 {
            "below 1 %".to_owned()
        } else {
            format!("{share:.0} %")
        };
        let moved = moved_briefly(&suspect.moved);
        let text = format!("{id}, {cause}: {share}, could hide {hides}{moved}");
        ("likely", text)
    })
}

/// What comes after the last step.
fn afterwards(next: &Next) -> Option<String> {
    let text = match next.state {
        State::Confirmed => {
            let out = next.out.first().map_or("C114", String::as_str);
            return Some(format!(
                "Mend it. Then enter what was done, such as: repaired {out} chafed wire. The draw is verified after that, with everything back in."
            ));
        }
        State::Located => "Part it at the plug named, or hand over with what is not proven.",
        State::Verify if next.test.is_none() => {
            "Case done. Put everything back as it was and write it up: halfsplit report, with this case."
        }
        State::Gone => {
            "Put the vehicle back into the state in which it goes flat, and read the draw over a longer time."
        }
        State::WithinLimit => {
            "Ask when it goes flat, and leave it as the owner does: told parked, told days, told dead."
        }
        _ => return None,
    };
    Some(text.to_owned())
}
