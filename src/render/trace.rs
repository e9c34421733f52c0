//! What the dialogue at the vehicle says: one screen a step.
//!
//! **Order on a screen.** Where we are; what to do, place first; cautions; what each answer would
//! mean; why this; what else is asked; what to type. Nothing depends on colour.

use crate::case::{Case, Entry, Expect, Meaning, Next, Outlook, Setting, State, TestPlan};
use crate::feeds::{Named, PartId};
use crate::journal::{Act, By, Refusal};
use crate::judgement::Standing;
use crate::measurement::{Jack, Method, Way};
use crate::problem::clean;
use crate::render::answer::{
    because, cautions, current, instrument, preparation, question, span, subject_id,
};
use crate::render::next::expected_range;
use crate::render::tree::{Standing as Drawn, tree};
use crate::render::words::{count, number, under_heads, what};
use std::fmt::Write as _;

/// Texts behind their head words.
type Lines = Vec<(&'static str, String)>;

/// The first lines: which case this is, and how much is in it.
pub fn trace_opening(
    vehicle: &str,
    case_file: &str,
    kept: usize,
    new: bool,
    width: usize,
) -> String {
    let held = if new {
        "new".to_owned()
    } else if kept == 0 {
        "nothing entered yet".to_owned()
    } else {
        format!("going on after {}", count(kept, "entry"))
    };
    under_heads(
        &[
            ("vehicle", vehicle.to_owned()),
            ("case", format!("{case_file}, {held}")),
            ("", "Each entry is on the disk before the next screen. Type help for the words, quit to stop.".to_owned()),
        ],
        width,
    )
}

/// The next step as one screen.
pub fn trace_screen(case: &Case<'_>, next: &Next, width: usize, unicode: bool) -> String {
    let setting = case.setting();
    let mut lines: Lines = Vec::new();
    if next.state == State::Prepare {
        for item in preparation(next, setting) {
            lines.push(("do", item));
        }
    }
    if let Some(test) = &next.test {
        to_do(test, setting, &mut lines);
        for caution in cautions(test, setting) {
            lines.push(("CAUTION", caution));
        }
        if let Some(outlook) = case.outlook(test) {
            means(test, &outlook, setting, &mut lines);
        }
    }
    clash(case, next, &mut lines);
    results(next, setting, &mut lines);
    lines.push(("why", because(next, setting)));
    for asked in &next.questions {
        lines.push(("asked", question(asked, setting)));
    }
    if !next.out.is_empty() {
        lines.push(("out", format!("still out: {}", next.out.join(", "))));
    }
    if let Some(to_type) = to_type(next) {
        lines.push(("type", to_type));
    }
    format!(
        "\n{}{}",
        header(next, width, unicode),
        under_heads(&lines, width)
    )
}

/// Where we are: the step, minutes spent and to go.
fn header(next: &Next, width: usize, unicode: bool) -> String {
    // Writing to a string cannot fail, here and below.
    let mut minutes = format!("{} min spent", number(next.spent));
    if let Some(expected) = next.expected {
        let _ = write!(minutes, ", about {} to go", number(expected));
    }
    if let Some(least) = next.at_least {
        let _ = write!(minutes, " (at least {})", number(least));
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
        State::Baseline => "THE SETTLED DRAW",
        State::Wait => "WAIT FOR SLEEP",
        State::Measure => "SPLIT",
        State::Confirm => "PROVE IT",
        State::Confirmed => "PROVEN",
        State::Located => "LOCATED, STILL LIVE",
        State::Gone => "GONE FOR NOW",
        State::WithinLimit => "WITHIN THE LIMIT",
        State::Verify => "AFTER THE REPAIR",
        State::Contradiction => "READINGS CLASH",
        State::Undecidable => "NO SINGLE CAUSE",
    }
}

/// Place, point, how, with what.
fn to_do(test: &TestPlan, setting: &Setting, lines: &mut Lines) {
    let feeds = &setting.feeds;
    if let Some(place) = test.place {
        let way: Vec<_> = feeds
            .way(place)
            .into_iter()
            .map(|p| feeds.place_as_written(p).id.value.as_str())
            .collect();
        lines.push(("at", way.join(", then ")));
    }
    let part = test.part.filter(|_| test.points.len() == 1);
    let point = match part {
        Some(part) if feeds.id(part) == test.points[0] => {
            format!("{} ({})", test.points[0], what(feeds.part(part)))
        }
        _ => test.points.join(", "),
    };
    lines.push(("do", how(test, &point)));
    let (tool, jack, range) = instrument(test);
    let mut with = tool.to_owned();
    for (name, value) in [("jack", jack), ("range", range)] {
        if let Some(value) = value {
            let _ = write!(with, ", {name} {value}");
        }
    }
    if tool != "none" {
        lines.push(("with", with));
    }
    let mut takes = format!("about {} min", number(test.minutes));
    if test.disturbs > 0.0 {
        let chance = number(test.disturbs * 100.0);
        let _ = write!(takes, "; it may wake the vehicle ({chance} %)");
    }
    lines.push(("takes", takes));
}

/// What the hands do.
fn how(test: &TestPlan, point: &str) -> String {
    match (test.method, test.way) {
        (Method::Volts, _) => {
            format!("Volts at {point}: black probe on a sound earth, red on the feed.")
        }
        (Method::Drop, _) => {
            format!("Voltage drop across {point}: a probe on each side, DC; it stays in.")
        }
        (Method::Clamp, _) => format!("Clamp the feed wire of {point}."),
        (Method::Series, _) => format!("Meter in series at {point}."),
        (Method::Draw, Some(Way::Clamp { .. })) => {
            "Read the draw: clamp round all leads of one battery post.".into()
        }
        (Method::Draw, Some(Way::Series(Jack::MilliA))) => {
            "Read the draw: meter in the negative lead over the bridge, on the mA jack.".into()
        }
        (Method::Draw, _) => {
            "Read the draw: meter in the negative lead over the bridge, on the A jack.".into()
        }
        (Method::Look, _) => format!("Look at {point}: lit, warm, running?"),
        (Method::Pull, _) => format!("Pull {point}."),
        (Method::Unplug, _) => format!("Unplug {point}."),
        (Method::Refit, _) => format!("Put back {point}."),
        (Method::Open, _) => format!("Open {point} and leave it open."),
        (Method::Zero, _) => "Zero the clamp where it will be read.".into(),
        (Method::Wait, _) => "Leave it alone until the draw no longer falls.".into(),
    }
}

/// What each answer would mean.
fn means(test: &TestPlan, outlook: &Outlook, setting: &Setting, lines: &mut Lines) {
    match outlook {
        Outlook::At {
            carrying,
            not,
            left,
        } => {
            let (Some(expect), Some(part)) = (test.expect, test.part) else {
                return;
            };
            let Expect {
                carrying: here,
                not: elsewhere,
                millivolts,
            } = expect;
            lines.push((
                "means",
                format!(
                    "{}: {}",
                    expected_range(here, millivolts),
                    meaning(carrying, *left, part, setting)
                ),
            ));
            lines.push((
                "means",
                format!(
                    "{}: {}",
                    expected_range(elsewhere, millivolts),
                    meaning(not, *left, part, setting)
                ),
            ));
        }
        Outlook::First(limit) => lines.push((
            "means",
            format!(
                "up to {} is within the limit; what is above it has to be found",
                current(*limit)
            ),
        )),
        Outlook::Fall(before, matters) => {
            lines.push((
                "means",
                format!(
                    "falls by {} or more from {}: the drain needs what is out",
                    current(*matters),
                    span(*before)
                ),
            ));
            lines.push(("means", "stays: it does not".to_owned()));
        }
        Outlook::Return(before, without) => {
            lines.push(("means", format!("back to about {}: proven", span(*before))));
            lines.push((
                "means",
                format!(
                    "stays at about {}: it was only reset, not proven",
                    span(*without)
                ),
            ));
        }
    }
}

fn meaning(meaning: &Meaning, left: usize, part: PartId, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let id = feeds.id(part);
    let below = if feeds.is_leaf(part) {
        ""
    } else {
        " or what it feeds"
    };
    let hides = current(meaning.hides);
    let said = match meaning.standing {
        Standing::Carrying => format!("carrying: the drain is {id}{below}"),
        Standing::RuledOut => format!("{id} is ruled out (could hide {hides} at most)"),
        Standing::Dead => format!("{id} is dead"),
        Standing::TooSmall => {
            format!("{id} is too small for the one cause (could hide {hides})")
        }
        Standing::InQuestion => format!("{id} stays in question (could hide {hides})"),
    };
    let then = meaning.left;
    let more = if meaning.ruled_out > 1 {
        format!(", {} ruled out in all", count(meaning.ruled_out, "part"))
    } else {
        String::new()
    };
    format!("{said}{more}; {then} of {} left", count(left, "cause"))
}

/// The entries that clash, and what to do about them.
fn clash(case: &Case<'_>, next: &Next, lines: &mut Lines) {
    for number in &next.clash {
        if let Some(entry) = case.entries().iter().find(|e| e.number == *number) {
            lines.push(("clash", format!("{number}  {}", entry.text)));
        }
    }
}

/// What is located and proven, and the likeliest causes.
fn results(next: &Next, setting: &Setting, lines: &mut Lines) {
    let feeds = &setting.feeds;
    for located in &next.located {
        let path: Vec<_> = located.path.iter().map(|p| feeds.id(*p)).collect();
        let mut text = format!("{}, {} too much", located.id, span(located.excess));
        if !path.is_empty() {
            let _ = write!(text, "; on the way {}", path.join(" > "));
        }
        if !located.unplug.is_empty() {
            let _ = write!(text, "; plugs: {}", located.unplug.join(", "));
        }
        lines.push(("located", text));
    }
    for found in &next.found {
        let returned = if found.returned {
            "and returned: proven"
        } else {
            "and has not returned: only reset"
        };
        let (id, cause) = (subject_id(&found.subject, setting), found.cause.words());
        let fell = span(found.fell);
        lines.push(("proof", format!("{id}, {cause}: fell by {fell} {returned}")));
    }
    lines.extend(likely(next, 3));
}

/// The likeliest causes.
fn likely(next: &Next, most: usize) -> impl Iterator<Item = (&'static str, String)> + '_ {
    next.suspects.iter().take(most).map(|suspect| {
        let share = number(suspect.odds * 100.0);
        let (id, cause) = (&suspect.id, suspect.cause.words());
        let hides = current(suspect.hides);
        let text = format!("{id}, {cause}: {share} %, could hide {hides}");
        ("likely", text)
    })
}

/// What to type now.
fn to_type(next: &Next) -> Option<String> {
    let text = match (next.state, &next.test) {
        (State::Prepare, _) => "prepared, when all of it is done".to_owned(),
        (State::Contradiction, _) => {
            let last = next.clash.last()?;
            format!("the reading again, or: withdraw {last} and why")
        }
        (_, Some(test)) => match test.method {
            Method::Wait => "asleep, when it has settled".to_owned(),
            Method::Pull | Method::Unplug | Method::Refit | Method::Open | Method::Zero => {
                format!("done, or {}", test.entry)
            }
            Method::Look => "yes or no".to_owned(),
            Method::Drop => "the reading alone, such as 0.3mV".to_owned(),
            Method::Volts => "the reading alone, such as 12.4V".to_owned(),
            Method::Clamp | Method::Series | Method::Draw => {
                "the reading alone, such as 640mA".to_owned()
            }
        },
        _ => "any other entry, or quit".to_owned(),
    };
    Some(text)
}

/// What stands before the cursor.
pub fn trace_prompt(next: &Next) -> String {
    match (next.state, &next.test) {
        (State::Prepare, _) => "prepared> ".to_owned(),
        (_, Some(test)) => format!("{}> ", clean(&test.entry)),
        _ => "> ".to_owned(),
    }
}

/// What an entry calls for at once, before the next step.
pub fn trace_after(entries: &[Entry], width: usize) -> String {
    let in_series = entries.iter().any(|entry| match &entry.act {
        Act::Read {
            method, options, ..
        } => {
            *method == Method::Series || (*method == Method::Draw && options.by == Some(By::Series))
        }
        _ => false,
    });
    if in_series {
        let text = "Bridge on, meter off, red lead back to V.".to_owned();
        under_heads(&[("NOW", text)], width)
    } else {
        String::new()
    }
}

/// Why a line was not taken, and one that works.
pub fn trace_refused(refusal: &Refusal, width: usize) -> String {
    under_heads(
        &[
            ("not taken", refusal.wrong.to_string()),
            ("", format!("this works: {}", refusal.works)),
        ],
        width,
    )
}

/// Why this step, and the likeliest causes.
pub fn trace_because(case: &Case<'_>, next: &Next, width: usize) -> String {
    let mut lines = vec![("why", because(next, case.setting()))];
    lines.extend(likely(next, 8));
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

/// The tree with the state of each part.
pub fn trace_tree(case: &Case<'_>, width: usize, unicode: bool) -> String {
    let rows = case.standing();
    let standing = |part: PartId| {
        rows.get(part.index())
            .map(|(_, standing, amount, hides)| Drawn {
                state: standing.word(),
                low: amount.low(),
                high: amount.high(),
                hides: *hides,
            })
    };
    tree(&case.setting().feeds, width, unicode, Some(&standing))
}

/// The words that can be typed.
pub fn trace_help(width: usize) -> String {
    let lines = [
        (
            "reading",
            "at a test its reading alone: 2.1mV, 640mA, 0.61A, 12.4V; 0.0mV needs its unit and decimals; 1.9..2.4mV wanders; OL",
        ),
        ("done", "the action asked for is done"),
        (
            "skip",
            "not possible here; put the reason behind it: skip no access",
        ),
        (
            "undo",
            "the last entry does not count; withdraw 7 probe slipped: entry 7 does not",
        ),
        (
            "own",
            "any other test or action, at any time: drop F3 2.1mV · clamp box cable 610mA · volts K4 12.4V · look cargo lamp yes · pull F3 · unplug C114 · refit F3 · open footwell box · draw 640mA by clamp",
        ),
        (
            "also",
            "asleep · awake · told added dash camera · note …; several in one line with ; between",
        ),
        (
            "sure",
            "behind a reading: it was checked, do not question it",
        ),
        ("why", "why this step; why F3: what is known of a part"),
        ("tree", "the feeds with the state of each part"),
        ("list", "what was entered, with numbers"),
        ("next", "the step again (so does an empty line)"),
        ("quit", "stop; the case is kept and can be gone on with"),
    ];
    let lines: Vec<_> = lines.map(|(head, text)| (head, text.to_owned())).into();
    under_heads(&lines, width)
}

/// What was entered; what no longer counts is marked.
pub fn trace_list(case: &Case<'_>, width: usize) -> String {
    let counting = case.counting();
    let mut lines: Vec<(String, String)> = Vec::new();
    for entry in case.entries() {
        let stands = counting.binary_search(&entry.number).is_ok();
        let aside = matches!(entry.act, Act::Undo | Act::Withdraw { .. });
        let mark = if stands || aside {
            ""
        } else {
            "  (does not count)"
        };
        lines.push((entry.number.to_string(), format!("{}{mark}", entry.text)));
    }
    if lines.is_empty() {
        lines.push((String::new(), "nothing entered yet".to_owned()));
    }
    let lines: Vec<(&str, String)> = lines.iter().map(|(h, t)| (h.as_str(), t.clone())).collect();
    under_heads(&lines, width)
}

/// The last lines: what is still out, and how to go on.
pub fn trace_end(case: &Case<'_>, again: &str, width: usize) -> String {
    let feeds = &case.setting().feeds;
    let mut plugs: Vec<&str> = Vec::new();
    let mut pulled: Vec<&str> = Vec::new();
    for taken in case.taken_out() {
        let is_plug = taken.unplugged || matches!(feeds.find(&taken.name), Some(Named::Plug(_)));
        if is_plug {
            plugs.push(&taken.name);
        } else {
            pulled.push(&taken.name);
        }
    }
    let mut lines: Lines = Vec::new();
    if !pulled.is_empty() {
        lines.push(("STILL OUT", format!("pulled: {}", pulled.join(", "))));
    }
    if !plugs.is_empty() {
        lines.push(("STILL OUT", format!("unplugged: {}", plugs.join(", "))));
    }
    if !case.entries().is_empty() {
        let text = "Before you leave: latches and bonnet switch released, bridge lead and meter off, battery lead tight, fuses, covers and plugs as they were.";
        lines.push(("check", text.to_owned()));
    }
    // A command to copy is never broken.
    format!(
        "\n{}go on     {}\n",
        under_heads(&lines, width),
        clean(again)
    )
}
