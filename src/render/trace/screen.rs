//! One screen: the step asked for, with what its answers would mean.
//!
//! **Room.** Where the window is known to be low, what to do and its cautions stay in sight: the rest
//! gives way, and [`Scene::all`] shows all of it.

use crate::case::{
    Case, Chosen, Longer, Next, Outlook, Question, Reason, Setting, State, TestPlan,
};
use crate::feeds::PartId;
use crate::journal::Act;
use crate::measurement::{Jack, Method, Way};
use crate::render::answer::{ASLEEP, because, jaws_too_small, parting};
use crate::render::cautions::{AFTERWARDS, cautions, mending, said_again};
use crate::render::comes::{still_together, up_together, watch_lines};
use crate::render::intake::unexplained_words;
use crate::render::left::{left_words, one_plug_words};
use crate::render::need::{blind_words, need};
use crate::render::preparation::{charges_it, preparation};
use crate::render::report::lasting;
use crate::render::setup::Earlier;
use crate::render::trace::likely::likely;
use crate::render::trace::means::means;
use crate::render::trace::minutes::{later, to_go};
use crate::render::trace::outcome::{afterwards, branch, clash, proof};
use crate::render::trace::skipped::{left_out, skipped_there};
use crate::render::trace::to_do::to_do;
use crate::render::trace::to_type::{sample, to_type};
use crate::render::trace::{Lines, asked_or_said};
use crate::render::words::{capital, listed, number, under_heads};
use crate::report::{Watched, unexplained};
use std::fmt::Write as _;

/// Where and when a screen is shown.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// Questions that were just shown; they are not asked again.
    pub said: &'a [Question],
    /// When a settle that begins now is over, such as `15:42`; `None` without a clock.
    pub until: Option<&'a str>,
    /// How long the draw has been watched after a repair, by the clock of the case file.
    pub watched: Watched,
    /// Why the end is further off than it looked.
    pub longer: Option<Longer>,
    /// What each answer would mean is not told: a learner is asked first.
    pub asks_first: bool,
    /// The branches that the screen before told to be up together.
    pub together: &'a [PartId],
    /// Columns.
    pub width: usize,
    /// Rows of the window that are left for it; `None` where all of it is to be shown.
    pub rows: Option<usize>,
    /// What shows all of it where the window is too low, as it is typed.
    pub all: &'a str,
    /// Line-drawing characters; plain ones otherwise.
    pub unicode: bool,
}

/// A step as one screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Screen {
    /// With all that there is to it.
    pub whole: String,
    /// With all that fits into the window.
    pub anew: String,
    /// The same without what stands from the readings before.
    pub brief: String,
}

/// The next step as one screen.
pub fn trace_screen(case: &Case<'_>, next: &Next, scene: Scene<'_>) -> Screen {
    let outlook = next.test.as_ref().and_then(|test| case.outlook(test));
    let head = header(next, scene.width, scene.unicode);
    let drawn = |earlier: &Earlier| {
        let lines = lines(case, next, outlook.as_ref(), earlier, scene);
        let room = scene
            .rows
            .map(|rows| rows.saturating_sub(rows_of(&head) + 1));
        (lines, room)
    };
    let (lines, room) = drawn(&Earlier::default());
    let whole = under_heads(&lines, scene.width);
    let anew = under_heads(&cut_to(lines, scene, room), scene.width);
    let mut earlier = Earlier::in_case(case);
    earlier.together = scene.together.to_vec();
    let (lines, room) = drawn(&earlier);
    let brief = under_heads(&cut_to(lines, scene, room), scene.width);
    Screen {
        whole: format!("\n{head}{whole}"),
        anew: format!("\n{head}{anew}"),
        brief: format!("\n{head}{brief}"),
    }
}

/// All texts of a screen behind their head words, in order.
fn lines(
    case: &Case<'_>,
    next: &Next,
    outlook: Option<&Outlook>,
    earlier: &Earlier,
    scene: Scene<'_>,
) -> Lines {
    let setting = case.setting();
    let mut lines: Lines = Vec::new();
    if next.state == State::Prepare || next.reason == Reason::PrepareAgain {
        let items = preparation(next, setting);
        lines.extend(items.into_iter().map(|item| ("do", item)));
    }
    if next.reason == Reason::Watch {
        lines.push(("do", to_watch(setting, scene)));
    }
    if next.reason == Reason::StillFalling {
        let wait = number(setting.stands_still().ceil());
        lines.push(("do", format!("Wait {wait} min first, and touch nothing.")));
    }
    if let Some(test) = &next.test {
        lines.extend(charges_it(next, setting).map(|off| ("first", off)));
        to_do(test, setting, earlier, scene.until, &mut lines);
        if next.reason == Reason::AfterRepair && test.way == Some(Way::Series(Jack::A)) {
            lines.push(("first", SMALL_NOW.to_owned()));
        }
        lines.extend(careful(test, setting, earlier));
        // A total that is only read once more is not held against what is out.
        let again = matches!(
            next.reason,
            Reason::TotalFirst | Reason::StillThere | Reason::IsItThere | Reason::SeeItCome(_)
        );
        if let Some(outlook) = outlook.filter(|_| !scene.asks_first && !again) {
            means(test, outlook, setting, &mut lines);
        }
    }
    clash(case, next, &mut lines);
    lines.extend(
        next.located
            .iter()
            .filter_map(|one| branch(next, one, case)),
    );
    if next.state == State::Located {
        lines.extend(lacking(case, next));
        let plugs = case.on_one_plug(&next.located);
        lines.extend(plugs.iter().map(|one| ("one plug", one_plug_words(one))));
    }
    // A proof is told when it is news, and at the end.
    if next.test.is_none() || next.reason == Reason::StaysOut {
        let found = next.found.iter();
        lines.extend(found.map(|found| ("proof", proof(found, case))));
    }
    if next.test.is_none() && tells_what_is_left(next) {
        let left = case.remainder().map(|left| left_words(&left, case));
        lines.extend(left.map(|left| ("left", left)));
    }
    if next.state == State::Confirmed {
        lines.extend(kept_awake(case).map(|may| ("but", may)));
    }
    lines.extend(days(case, next).map(|days| ("days", days)));
    if next.state != State::Prepare {
        lines.extend(likely(case, next));
    }
    // What is asked is more to read than why this parts best.
    let asks = next
        .questions
        .iter()
        .any(|asked| !scene.said.contains(asked));
    let parts = matches!(next.reason, Reason::Parts(..));
    let why = why(next, setting, earlier).filter(|_| !(asks && parts));
    lines.extend(why.map(|why| ("why", why)));
    lines.extend(skipped_there(case, next).map(|skipped| ("skipped", skipped)));
    lines.extend(left_out(case, next).map(|left| ("left out", left)));
    // One thing to read at a time: what is up together says why it takes longer.
    let longer = scene.longer.filter(|_| next.together.is_empty());
    lines.extend(longer.map(|longer| ("longer", later(&longer))));
    lines.extend(watch_lines(next, setting));
    if !next.together.is_empty() {
        let told = !earlier.together.is_empty();
        let said = if told { still_together } else { up_together };
        lines.push(("together", said(&next.together, &setting.feeds)));
    }
    // That a minus is none is no news beside another question.
    let alone = next.questions.len() < 2;
    let new = next
        .questions
        .iter()
        .filter(|asked| alone || **asked != Question::NearZero)
        .filter(|asked| !scene.said.contains(asked));
    lines.extend(new.map(|asked| asked_or_said(asked, setting)));
    if !next.out.is_empty() {
        let names = next.out.join(", ");
        lines.push(("still out", format!("{names}{}", in_vain(case, next))));
    }
    if next.state == State::Confirmed {
        let proven = next.found.iter().filter(|found| found.returned);
        let parts: Vec<PartId> = proven
            .flat_map(|found| &found.taken)
            .flat_map(|taken| taken.parts.iter().copied())
            .collect();
        let cautions = mending(&parts, &setting.feeds).into_iter();
        lines.extend(cautions.map(|caution| ("CAUTION", caution)));
    }
    if let Some(then) = afterwards(next, case, scene.watched) {
        lines.push(("then", then));
    }
    lines.push(("type", to_type(case, next)));
    lines
}

/// What is out and was in vain: that it may go back in, where the draw has just said so and no step asks for it.
fn in_vain(case: &Case<'_>, next: &Next) -> String {
    let read = case.entries().last().map(|last| &last.act);
    let read = matches!(
        read,
        Some(Act::Read {
            method: Method::Draw,
            ..
        })
    );
    let refits = next.test.as_ref().map(|test| test.method) == Some(Method::Refit);
    let names: Vec<String> = case
        .out_in_vain()
        .iter()
        .map(|out| out.name.clone())
        .collect();
    if !read || refits || names.is_empty() {
        return String::new();
    }
    format!(
        "; nothing that matters fell without {}. May stay out; back in now: refit {}",
        listed(&names),
        names.join(", ")
    )
}

/// That modules of one network, proven one by one, may be kept awake by one thing.
fn kept_awake(case: &Case<'_>) -> Option<String> {
    let feeds = &case.setting().feeds;
    let modules = case.of_one_network().into_iter();
    let names: Vec<String> = modules
        .map(|module| feeds.module(module).id.value.clone())
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "{} are of one network: one thing may keep them awake that is not in this file, and their falls add up just the same. Before any is replaced: what is plugged in, a key nearby, what was added, every latch and switch.",
            capital(&listed(&names))
        )
    })
}

/// What is left after a repair may be less than a step of the A jack.
const SMALL_NOW: &str = "It may be too little for this jack now: where it shows next to nothing, bridge on, red lead to the mA jack, bridge off, and type that reading.";

/// Why this step, where there is more to say of it than that it is the next, and it was not just said.
fn why(next: &Next, setting: &Setting, earlier: &Earlier) -> Option<String> {
    let looks = next.test.as_ref().map(|test| test.method) == Some(Method::Look);
    match next.reason {
        // What to type says it.
        Reason::Prepare => None,
        Reason::Parts(..) if looks && earlier.has_just_looked() => None,
        Reason::Parts(..) => parting(next, setting),
        _ => {
            let why = because(next, setting);
            (!(earlier.has_slept() && why == ASLEEP)).then_some(why)
        }
    }
}

/// What would tell of what was located; those of which the same would, together.
fn lacking(case: &Case<'_>, next: &Next) -> Lines {
    let feeds = &case.setting().feeds;
    let mut lacking: Vec<(String, Vec<String>)> = Vec::new();
    for (part, needs) in case.would_tell(&next.located) {
        let given = feeds.part(part).wire.is_some();
        let all: Vec<String> = needs.iter().map(|one| need(one, given)).collect();
        let (all, id) = (all.join("; or "), feeds.id(part).to_owned());
        match lacking.iter_mut().find(|(needs, _)| *needs == all) {
            Some((_, ids)) => ids.push(id),
            None => lacking.push((all, vec![id])),
        }
    }
    let lines = lacking.into_iter();
    lines
        .map(|(needs, ids)| ("lacking", format!("To read {}: {needs}.", ids.join(" or "))))
        .collect()
}

/// At the end: that the draw does not explain the days told.
fn days(case: &Case<'_>, next: &Next) -> Option<String> {
    let asked = |question: &Question| matches!(question, Question::DaysDiffer(..));
    let ends = next.test.is_none() && next.state != State::Contradiction;
    let unexplained = ends.then(|| unexplained(case))??;
    (!next.questions.iter().any(asked)).then(|| unexplained_words(&unexplained))
}

/// How the draw is watched after a repair: since when it is, and until when at least.
fn to_watch(setting: &Setting, scene: Scene<'_>) -> String {
    let settle = number(setting.feeds.settle().value());
    let so_far = match (scene.watched, scene.until) {
        (Watched::Short(minutes), Some(until)) => format!(
            " Watched for {} so far; less than {settle} min, until {until}, is too short.",
            lasting(minutes)
        ),
        (Watched::Long(minutes), Some(_)) => format!(" Watched for {} so far.", lasting(minutes)),
        _ => format!(" Less than {settle} min is too short."),
    };
    format!(
        "Leave everything as it is, overnight or as long as the fault took to show.{so_far} No time for that: skip draw closes the case, with the repair not verified. Then:"
    )
}

/// Whether a case that ends here has a draw that something may be left of.
fn tells_what_is_left(next: &Next) -> bool {
    match next.state {
        State::Confirmed => true,
        State::Located | State::Undecidable => next.found.iter().any(|found| found.returned),
        State::Verify => matches!(next.reason, Reason::Mended | Reason::MendedUnwatched),
        _ => false,
    }
}

/// What can hurt at a step and was not said at this place before; what comes after the reading is said when
/// the reading is in.
fn careful(test: &TestPlan, setting: &Setting, earlier: &Earlier) -> Lines {
    let list = cautions(test, setting).into_iter();
    let news = list.filter(|caution| !caution.starts_with(AFTERWARDS) && !earlier.said(caution));
    let (drawn, knows) = (earlier.has_drawn(test), earlier.knows(test));
    let short = |caution: String| match said_again(&caution, drawn, knows) {
        Some(short) => short.to_owned(),
        None => caution,
    };
    news.map(|caution| ("CAUTION", short(caution))).collect()
}

/// How many rows a text takes.
fn rows_of(text: &str) -> usize {
    text.lines().count()
}

/// What gives way where the window is low, the first first. What the hands do never does.
const GIVES_WAY: [&str; 5] = ["likely", "why", "longer", "together", "means"];

/// Without what gives way, as far as the window is too low for all.
fn cut_to(mut lines: Lines, scene: Scene<'_>, room: Option<usize>) -> Lines {
    let Some(room) = room else {
        return lines;
    };
    let width = scene.width;
    let fits = |lines: &Lines| rows_of(&under_heads(lines, width)) <= room;
    if fits(&lines) {
        return lines;
    }
    let end = lines.len() - 1;
    let more = format!("{} shows all of this step", scene.all);
    lines.insert(end, ("more", more));
    for head in GIVES_WAY {
        while !fits(&lines) {
            let Some(at) = lines.iter().rposition(|(other, _)| *other == head) else {
                break;
            };
            lines.remove(at);
        }
    }
    if fits(&lines) {
        return lines;
    }
    // What the hands need comes last, so that it is in sight.
    lines.sort_by_key(|(head, _)| AT_HAND.contains(head));
    lines
}

/// What the hands need.
const AT_HAND: [&str; 9] = [
    "at", "do", "with", "first", "takes", "note", "CAUTION", "means", "type",
];

/// A test that was named without its reading: how, what its answers would mean, and what it lacks.
pub fn trace_chosen(case: &Case<'_>, chosen: &Chosen, width: usize) -> String {
    let (test, setting) = (&chosen.test, case.setting());
    let mut lines: Lines = Vec::new();
    let earlier = Earlier::in_case(case);
    to_do(test, setting, &earlier, None, &mut lines);
    lines.extend(careful(test, setting, &earlier));
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
        let _ = write!(minutes, ", {} to go", to_go(expected, next.state));
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
