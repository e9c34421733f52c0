//! What the dialogue at the vehicle says: one screen a step.
//!
//! **Order on a screen.** Where we are; what to do, place first; cautions; what each answer would
//! mean; why this; what else is asked; what to type. Nothing depends on colour.

use crate::case::{Case, Entry, Next, Question, Recorded, Setting, State};
use crate::journal::{Act, By, Refusal};
use crate::measurement::{Method, Unit, Way};
use crate::problem::clean;
use crate::render::amps::figures;
use crate::render::answer::{because, question, repaired_lines, span};
use crate::render::cautions::{
    AFTER_DRAW, AFTER_SERIES, AGAIN_AT_ONCE, IN_DOUBT, at_refit, cautions,
};
use crate::render::recorded::{Gone, by_hand, recorded_within, taken_for_words};
use crate::render::refusal::way_out;
use crate::render::words::{capital, count, listed, spoken, under_heads};
use crate::report::{Worth, read_so_far};
use crate::suspects::Subject;
use std::collections::BTreeMap;

mod help;
mod likely;
mod means;
mod minutes;
mod outcome;
mod screen;
mod skipped;
mod to_do;
mod to_type;
pub use help::trace_help;
use likely::likeliest;
pub(super) use means::means;
pub(super) use outcome::proof;
pub use screen::{Scene, Screen, trace_chosen, trace_screen};
pub(super) use skipped::everything_at;
use skipped::skipped;
use to_do::notes;

/// Texts behind their head words.
pub(super) type Lines = Vec<(&'static str, String)>;

/// The first lines: which case this is, how much is in it, and what to know about its files.
pub fn trace_opening(
    vehicle: &str,
    case_file: &str,
    kept: Option<usize>,
    notes: &[String],
    width: usize,
) -> String {
    let held = match kept {
        None => "new".to_owned(),
        Some(0) => "nothing entered yet".to_owned(),
        Some(kept) => format!("going on after {}", count(kept, "entry")),
    };
    let mut lines = vec![
        ("vehicle", vehicle.to_owned()),
        ("case", format!("{case_file}, {held}")),
        (
            "",
            "Each entry is kept at once; type help or quit.".to_owned(),
        ),
    ];
    lines.extend(notes.iter().map(|note| ("note", note.clone())));
    under_heads(&lines, width)
}

/// An entry as it was kept, what it calls for at once, and what is asked about it; `asks` is left out
/// where the screen below asks.
pub fn trace_kept(
    done: &Recorded,
    gone: &Gone<'_>,
    asked: &[Question],
    (case, next): (&Case<'_>, &Next),
    width: usize,
) -> String {
    let setting = case.setting();
    let mut lines: Vec<(&str, String)> = Vec::new();
    let taken_for = done.taken_for.iter();
    lines.extend(taken_for.map(|taken| ("taken", taken_for_words(taken))));
    let entries = done.entries.iter();
    lines.extend(entries.filter_map(|entry| Some(("means", converted(entry, case)?))));
    let after = done.entries.iter().rev().find_map(after_series);
    let doubted = |question: &Question| matches!(question, Question::HardlyAnything(..));
    let in_doubt = done.questions.iter().any(doubted);
    let after = after.map(|after| match is_read_again(next) {
        true if in_doubt => IN_DOUBT,
        true => AGAIN_AT_ONCE,
        false => after,
    });
    // The two differ by what the hands do with the meter: that is said first.
    let after = after.map(|after| match after {
        AFTER_DRAW => format!("METER OUT: {after}"),
        _ => capital(after),
    });
    lines.extend(after.map(|after| ("NOW", after)));
    lines.extend(by_hand(gone).map(|by_hand| ("NOW", by_hand)));
    lines.extend(skipped(done, case, next).map(|said| ("skipped", said)));
    lines.extend(asked.iter().map(|asked| asked_or_said(asked, setting)));
    let kept = recorded_within(&done.entries, &gone.entries, width);
    format!("{kept}{}", under_heads(&lines, width))
}

/// What is asked about an entry; a remark, which wants no answer, is not called asked.
fn asked_or_said(asked: &Question, setting: &Setting) -> (&'static str, String) {
    let text = question(asked, setting);
    let head = if text.contains('?') {
        "asked"
    } else {
        "remark"
    };
    (head, text)
}

/// What can hurt at what was taken out or put back without being asked for, and what the file notes of it: of what was
/// asked for it was said before.
pub fn trace_cautions(
    done: &Recorded,
    asked: Option<&str>,
    case: &Case<'_>,
    width: usize,
) -> String {
    let own = done
        .entries
        .iter()
        .filter(|entry| asked != Some(&entry.text));
    let tests = own.filter_map(|entry| case.as_asked(entry));
    let all = tests.flat_map(|test| {
        let said = match test.method {
            Method::Refit => at_refit(&test, case.setting()),
            _ => cautions(&test, case.setting()),
        };
        let notes = notes(&test, case.setting()).into_iter();
        let said = said.into_iter().map(|caution| ("CAUTION", caution));
        said.chain(notes.map(|note| ("note", note)))
            .collect::<Vec<_>>()
    });
    let lines: Vec<(&str, String)> = all.collect();
    under_heads(&lines, width)
}

/// The current behind a reading that is none on the display: the voltage of a clamp, or a drop with the
/// probes both ways round.
fn converted(entry: &Entry, case: &Case<'_>) -> Option<String> {
    let Act::Read {
        method,
        reading,
        options,
        ..
    } = &entry.act
    else {
        return None;
    };
    let volts = reading.unit == Unit::Millivolts;
    let clamped = volts && matches!(method, Method::Clamp | Method::Draw);
    if !clamped && options.reversed.is_none() {
        return None;
    }
    let mut readings = case.readings().iter().rev();
    let read = readings.find(|read| read.entry == entry.number)?;
    let says = span(read.current?);
    let shown = f64::midpoint(reading.low, reading.high);
    let clamp = case.setting().instruments.clamp;
    let scale = clamp.and_then(|clamp| clamp.milliamps_per_millivolt());
    if let (true, Some(scale)) = (clamped, scale) {
        let round = match options.turns {
            Some(turns) if turns > 1 => format!(" through the jaws, by {turns} turns"),
            _ => String::new(),
        };
        let jaws = figures(shown * scale);
        return Some(format!("{} mV is {jaws} mA{round}: {says}", figures(shown)));
    }
    let half = reading.half_difference(options.reversed?);
    let half = figures(f64::midpoint(half.low, half.high));
    Some(format!("half the difference, {half} mV: {says}"))
}

/// Whether the meter stays where it is, in the negative lead.
fn is_read_again(next: &Next) -> bool {
    let test = next.test.as_ref();
    test.is_some_and(|t| t.method == Method::Draw && matches!(t.way, Some(Way::Series(_))))
}

/// What has to be done at once after the meter was in the circuit.
fn after_series(entry: &Entry) -> Option<&'static str> {
    match &entry.act {
        Act::Read {
            method, options, ..
        } => match method {
            Method::Series => Some(AFTER_SERIES),
            Method::Draw if options.by == Some(By::Series) => Some(AFTER_DRAW),
            _ => None,
        },
        _ => None,
    }
}

/// In the place of the screen where nothing about the step has changed.
pub fn trace_as_before(next: &Next, width: usize) -> String {
    let entry = next.test.as_ref().map_or("", |test| test.entry.as_str());
    let colon = if entry.is_empty() { "" } else { ": " };
    let said = format!("the same step{colon}{entry} (an empty line shows all of it)");
    under_heads(&[("still", said)], width)
}

/// That a reading is said to be of a time that is still to come, both as minutes after midnight.
pub fn trace_to_come(at: u16, now: u16, width: usize) -> String {
    let said = format!(
        "{} is still to come, it is {} by the clock here: kept as typed, and no wait is reckoned by it. If it was a slip: undo.",
        clock(at),
        clock(now)
    );
    under_heads(&[("asked", said)], width)
}

/// That a reading is said to be of a time before the case was begun, both as minutes after midnight.
pub fn trace_long_past(at: u16, began: u16, width: usize) -> String {
    let said = format!(
        "{} is before this case was begun, at {} by the clock here: kept as typed, and asked once. From a sheet that is typed in afterwards that is right; if it was a slip: undo.",
        clock(at),
        clock(began)
    );
    under_heads(&[("asked", said)], width)
}

/// Minutes after midnight, as a clock shows them.
fn clock(minutes: u16) -> String {
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// What is said when `asleep` comes before the settle asked for is over, all in minutes.
pub fn early_words(waited: f64, settle: f64) -> String {
    let after = if waited < 1.0 {
        "less than a minute".to_owned()
    } else {
        format!("{waited:.0} min")
    };
    format!(
        "asleep after {after}; it may take {settle:.0} min. Did you see the draw stand still? Else type awake, wait, then asleep (the minutes are counted once): what is read while it falls says nothing."
    )
}

/// The same under its head.
pub fn trace_early(waited: f64, settle: f64, width: usize) -> String {
    under_heads(&[("early", early_words(waited, settle))], width)
}

/// What stands before the cursor.
pub fn trace_prompt(case: &Case<'_>, next: &Next) -> String {
    let again = case.again(&next.clash);
    match (next.state, next.test.as_ref().or(again.as_ref())) {
        (State::Prepare, _) => "prepared> ".to_owned(),
        (_, Some(test)) => format!("{}> ", clean(&test.entry)),
        _ => "> ".to_owned(),
    }
}

/// Why a line was not taken, and one that works.
pub fn trace_refused(refusal: &Refusal, width: usize) -> String {
    let (says, line) = way_out(refusal);
    under_heads(
        &[
            ("not taken", refusal.wrong.to_string()),
            ("", format!("{says} {line}")),
        ],
        width,
    )
}

/// Why this step, and the likeliest causes.
pub fn trace_because(case: &Case<'_>, next: &Next, width: usize) -> String {
    let mut lines = vec![("why", because(next, case.setting()))];
    lines.extend(likeliest(next, 8));
    under_heads(&lines, width)
}

/// A name that is not known, and a line that works.
pub fn trace_unknown(case: &Case<'_>, name: &str, width: usize) -> String {
    let near = case.setting().nearest_name(name);
    under_heads(
        &[
            (
                "not taken",
                format!("nothing in this vehicle's file is called {name}"),
            ),
            ("", format!("this works: why {near}")),
        ],
        width,
    )
}

/// How a case is written up from the middle of a dialogue.
pub fn trace_report(command: &str, width: usize) -> String {
    let said = format!("type quit, then: {command}");
    under_heads(&[("write up", said)], width)
}

/// What is shown of an answer that is higher than the window, so many rows of which are left.
pub fn trace_more(left: usize, width: usize) -> String {
    let said = match left {
        0 => "nothing is held back: type next for the step, help for the words".to_owned(),
        left => format!("{} further: type more", count(left, "row")),
    };
    under_heads(&[("more", said)], width)
}

/// What stands above the end of a list that is higher than the window: so many entries are not shown.
pub fn trace_before(left: usize, width: usize) -> String {
    let said = format!("{} before this: list all", count(left, "entry"));
    under_heads(&[("more", said)], width)
}

/// What was entered; what no longer counts is marked.
pub fn trace_list(case: &Case<'_>, width: usize) -> String {
    let counting = case.counting();
    let mut lines: Vec<(String, String)> = Vec::new();
    let read: BTreeMap<u32, Worth> = read_so_far(case).collect();
    for entry in case.entries() {
        let stands = counting.binary_search(&entry.number).is_ok();
        let aside = matches!(entry.act, Act::Undo | Act::Withdraw { .. });
        let mark = match read.get(&entry.number) {
            _ if !stands && !aside => "  (does not count)",
            Some(Worth::Earlier) => "  (from before: read again, or the draw has changed)",
            Some(Worth::NotTaken) => "  (not relied on)",
            Some(Worth::Awake) => "  (awake: rules nothing out)",
            _ => "",
        };
        lines.push((entry.number.to_string(), format!("{}{mark}", entry.text)));
    }
    if lines.is_empty() {
        lines.push((String::new(), "nothing entered yet".to_owned()));
    }
    let lines: Vec<(&str, String)> = lines.iter().map(|(h, t)| (h.as_str(), t.clone())).collect();
    under_heads(&lines, width)
}

/// What was proven and is not entered as mended, and how that is entered.
fn to_mend(case: &Case<'_>, next: &Next) -> Option<String> {
    let repaired = case.repairs().last();
    if repaired.is_some_and(|repair| repair.over.is_none()) {
        return None;
    }
    let feeds = &case.setting().feeds;
    let proven = next.found.iter().filter(|found| found.returned);
    let proven = proven.map(|found| found.subject.clone());
    // Of what was not mended by the repair that did not hold.
    let proven: Vec<Subject> = match repaired {
        Some(repair) if !repair.unmended.is_empty() => repair.unmended.clone(),
        _ => proven.collect(),
    };
    let names: Vec<String> = proven
        .iter()
        .map(|subject| spoken(&subject.id(feeds)))
        .collect();
    let lines = repaired_lines(&proven, case.setting());
    (!names.is_empty()).then(|| {
        format!(
            "{}: proven, and not mended yet by what was entered. Once it is: {lines}",
            listed(&names)
        )
    })
}

/// The last lines: what is still out and still to be mended, and what else to put right.
pub fn trace_end(case: &Case<'_>, next: &Next, width: usize) -> String {
    let mut lines: Vec<(&str, String)> = Vec::new();
    let kept = case.entries().len();
    if kept > 0 {
        lines.push((
            "kept",
            format!("{}; nothing that was read is lost", count(kept, "entry")),
        ));
    }
    let named = |unplugged: bool| {
        let out = case.taken_out().iter();
        let names = out.filter(|t| t.unplugged == unplugged);
        names
            .map(|t| t.name.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    for (word, names) in [("pulled", named(false)), ("unplugged", named(true))] {
        if !names.is_empty() {
            lines.push(("STILL OUT", format!("{word}: {names}")));
        }
    }
    lines.extend(to_mend(case, next).map(|mend| ("TO MEND", mend)));
    let counting = case.counting();
    let stands = |entry: &&Entry| counting.binary_search(&entry.number).is_ok();
    let stands: Vec<&Entry> = case.entries().iter().filter(stands).collect();
    let in_line = is_read_again(next) && !stands.is_empty();
    if in_line || stands.iter().any(|entry| after_series(entry).is_some()) {
        let leave = if in_line {
            "the meter may be in line now: bridge on first. If the work ends here: meter out of the negative lead, lead back on and tight, bridge lead off, red lead in V"
        } else {
            "if the work ends here: meter out of the negative lead, lead back on and tight, bridge lead off, red lead in V"
        };
        lines.push(("leave", leave.to_owned()));
    }
    let clamped = |entry: &&Entry| match &entry.act {
        Act::Read {
            method, options, ..
        } => *method == Method::Clamp || options.by == Some(By::Clamp),
        _ => false,
    };
    if stands.iter().any(clamped) {
        lines.push(("leave", "clamp off".to_owned()));
    }
    if !stands.is_empty() {
        lines.push((
            "leave",
            "with the vehicle: latches and switches turned by hand free again, covers and trims back, chocks away"
                .to_owned(),
        ));
    }
    format!("\n{}", under_heads(&lines, width))
}
