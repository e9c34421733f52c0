//! A plan in the terminal: its minutes, its chart, and what the habits of the trade would take.
//!
//! The chart is read downwards: what was found goes one step further in, what was not found goes on
//! straight below. Every step has a number, so that it can be followed with a finger.

use crate::case::{Next as Nothing, Planned, Setting, TestPlan};
use crate::measurement::Method;
use crate::planner::{Habit, Step};
use crate::render::answer::{because, span};
use crate::render::words::{
    TOGETHER, capital, count, named_cause, one_line, shown_range, spelled_plainly,
};
use std::fmt::Write as _;

mod data;
mod outline;
mod sheet;

pub use data::{no_plan_json, plan_json};
pub use outline::Extent;

use outline::{Exit, Outline, Shown, Then};

/// Steps that a terminal shows when nothing else is asked for.
pub const ON_A_SCREEN: usize = 16;
/// How far in a step stands at most, in levels.
const DEEPEST: usize = 8;

/// What a plan is told with.
#[derive(Clone, Copy, Debug)]
pub struct PlanScene<'p> {
    /// The draw was not read, only supposed.
    pub supposed: bool,
    /// How much of the chart.
    pub extent: Extent,
    /// What the habits take, where they are compared.
    pub habits: Option<&'p [(Habit, f64)]>,
    /// Columns.
    pub width: usize,
    /// Whether the terminal shows more than plain characters.
    pub unicode: bool,
}

/// A plan for reading.
pub fn plan(planned: &Planned, setting: &Setting, scene: PlanScene<'_>) -> String {
    let mut out = String::new();
    for text in heading(planned, setting, scene.supposed, true) {
        out.push_str(&textwrap::fill(&text, scene.width));
        out.push('\n');
    }
    out.push('\n');
    let outline = Outline::of(&planned.chart, scene.extent);
    for (at, step) in outline.steps.iter().enumerate() {
        one(&mut out, planned, setting, (at + 1, step), scene.width);
    }
    if outline.steps.is_empty() {
        let names = names(planned, 0, usize::MAX);
        let text = format!("Nothing parts what is left, and none of it can be proven: {names}.");
        out.push_str(&textwrap::fill(&text, scene.width));
        out.push('\n');
    } else if outline.steps.len() < outline.of {
        let shown = count(outline.steps.len(), "step");
        let text = format!(
            "{shown} shown of {}; --depth N shows all that are at most N steps from the start.",
            outline.of
        );
        let _ = writeln!(out, "\n{}", textwrap::fill(&text, scene.width));
    }
    if let Some(habits) = scene.habits {
        out.push('\n');
        out.push_str(&compared(planned, habits, scene.width));
    }
    let out = out.replace(TOGETHER, " ");
    if scene.unicode {
        out
    } else {
        spelled_plainly_by_line(&out)
    }
}

fn spelled_plainly_by_line(text: &str) -> String {
    let lines = text.lines().map(spelled_plainly);
    lines.map(|line| line + "\n").collect()
}

/// The chart as one SVG: a page of A4, or as many as a depth that is asked for needs.
pub fn plan_drawing(
    planned: &Planned,
    setting: &Setting,
    supposed: bool,
    depth: Option<usize>,
) -> String {
    sheet::sheets(planned, setting, supposed, depth).stacked()
}

/// The chart as an HTML page that prints on as many sheets of A4.
pub fn plan_drawing_html(
    planned: &Planned,
    setting: &Setting,
    supposed: bool,
    depth: Option<usize>,
) -> String {
    sheet::sheets(planned, setting, supposed, depth).html()
}

/// Why there is no plan from here.
pub fn no_plan(next: &Nothing, setting: &Setting, width: usize) -> String {
    let text = format!("No plan from here. {}", because(next, setting));
    format!("{}\n", textwrap::fill(&text, width))
}

/// What the plan is for, what it takes for granted, its minutes and the floor; on a screen also how to
/// suppose another draw.
fn heading(planned: &Planned, setting: &Setting, supposed: bool, on_screen: bool) -> Vec<String> {
    let draw = span(planned.draw);
    let mut lines = vec![format!(
        "Plan for {}",
        one_line(&setting.feeds.vehicle().name)
    )];
    lines.push(if supposed {
        let how = if on_screen {
            "; --draw says another"
        } else {
            ""
        };
        format!("Supposed: prepared, asleep, one drain, and a settled draw of {draw}{how}.")
    } else {
        format!("From where the case stands: a settled draw of {draw}, one drain.")
    });
    lines.push(minutes_line(planned));
    lines
}

/// "31 suspects. Expected 41.2 min …; no plan can do better than 40.9 on average."
fn minutes_line(planned: &Planned) -> String {
    let causes = count(planned.suspects.len(), "suspect");
    let (expected, least) = (fine(planned.expected), fine(planned.at_least));
    let end = match planned.unprovable() {
        share if share < WORTH_SAYING => String::new(),
        share => format!(
            " (or, for {} of the odds, located: this plan has no proof of those)",
            percent(share)
        ),
    };
    let bound = if planned.chart.proven {
        "all plans were searched, and none does better on average".to_owned()
    } else {
        format!("no plan can do better than {least} on average")
    };
    format!("{causes}. Expected {expected} min until one is proven{end}; {bound}.")
}

/// A share of the odds below which it is not said that they end without a proof: less than half a percent
/// reads as nothing (judgement).
const WORTH_SAYING: f64 = 0.005;

/// Minutes with one decimal, so that plan and floor can be held against each other.
fn fine(minutes: f64) -> String {
    format!("{minutes:.1}")
}

/// "2.8 min".
fn minutes_words(minutes: f64) -> String {
    format!("{}{TOGETHER}min", fine(minutes))
}

/// A step with its outcomes.
fn one(
    out: &mut String,
    planned: &Planned,
    setting: &Setting,
    (number, step): (usize, &Shown),
    width: usize,
) {
    let bars = "| ".repeat(step.indent.min(DEEPEST));
    let minutes = minutes_words(step.minutes);
    let what = step_words(planned, setting, step.step);
    let text = format!("{what}, {minutes}");
    write_hung(
        out,
        &format!("{bars}{number:>2} "),
        &format!("{bars}   "),
        &text,
        width,
    );
    for exit in &step.exits {
        let text = exit_words(planned, step.step, exit);
        write_hung(
            out,
            &format!("{bars}   "),
            &format!("{bars}     "),
            &text,
            width,
        );
    }
}

/// A text whose first line begins with `first` and whose others begin with `rest`.
fn write_hung(out: &mut String, first: &str, rest: &str, text: &str, width: usize) {
    let look = textwrap::Options::new(width.max(first.len() + 20))
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .initial_indent(first)
        .subsequent_indent(rest);
    out.push_str(&textwrap::fill(text, look));
    out.push('\n');
}

/// Where and what: "bonnet box: drop F3".
fn step_words(planned: &Planned, setting: &Setting, step: Step) -> String {
    let Some(test) = planned.test(step) else {
        return String::new();
    };
    let place = place_of(test, setting).map(|place| format!("[{place}] "));
    let place = place.unwrap_or_default();
    match step {
        Step::Prove(suspect) => format!("{place}{}", proof_words(planned, suspect)),
        Step::Test(_) => format!("{place}{}", one_line(&test.entry)),
    }
}

fn place_of(test: &TestPlan, setting: &Setting) -> Option<String> {
    let place = setting.feeds.place_as_written(test.place?);
    Some(one_line(&place.id.value))
}

/// "prove cargo lamp: unplug C114".
fn proof_words(planned: &Planned, suspect: usize) -> String {
    let name = named(planned, suspect);
    match &planned.proofs[suspect] {
        Some(test) => format!("prove {name}: {}", one_line(&test.entry)),
        None => format!("{name} cannot be proven"),
    }
}

/// A suspect as one would name it.
fn named(planned: &Planned, suspect: usize) -> String {
    let suspect = &planned.suspects[suspect];
    named_cause(&one_line(&suspect.id), suspect.cause)
}

/// What shows, how likely, and what then: "1.9 to 2.6 mV, 35 %: go to 2".
fn exit_words(planned: &Planned, step: Step, exit: &Exit) -> String {
    let shows = shows(planned, step, exit.class);
    let share = percent(exit.chance);
    format!("{shows}, {share}: {}", then_words(planned, exit.then))
}

/// What an outcome looks like at the vehicle.
fn shows(planned: &Planned, step: Step, class: u32) -> String {
    let found = class != 0;
    let Step::Test(number) = step else {
        let text = if found {
            "falls, and returns when it is back in"
        } else {
            "does not fall"
        };
        return text.to_owned();
    };
    let taken = &planned.tests[number];
    let text = match taken.method {
        Method::Look if found => "lit, warm or on",
        Method::Look => "dark, cold or off",
        Method::Pull | Method::Unplug if found => "the draw falls",
        Method::Pull | Method::Unplug => "the draw does not fall",
        _ => match taken.expect {
            Some(expect) => {
                let (range, what) = match (class, expect.some) {
                    (0, _) => (expect.not, ""),
                    (2, Some(some)) => (some, " (a part of it)"),
                    _ => (expect.carrying, ""),
                };
                return shown_range(range, expect.millivolts) + what;
            }
            None if found => "carrying",
            None => "not carrying",
        },
    };
    text.to_owned()
}

/// "35 %"; a chance that rounds to nothing is less than one.
fn percent(chance: f64) -> String {
    let whole = (chance * 100.0).round();
    if whole < 1.0 {
        format!("below 1{TOGETHER}%")
    } else {
        format!("{whole:.0}{TOGETHER}%")
    }
}

fn then_words(planned: &Planned, then: Then) -> String {
    match then {
        Then::Go(number) => format!("go{TOGETHER}to{TOGETHER}{number}"),
        Then::Proven => "proven".to_owned(),
        Then::Prove(suspect) => proof_words(planned, suspect),
        Then::Located(node) => {
            let names = names(planned, node, 4);
            if planned.chart.nodes[node].suspects.len() == 1 {
                return format!("that leaves {names}, which cannot be proven");
            }
            format!("one of these, not to be told apart or proven: {names}")
        }
        Then::Rest(node) => {
            let left = &planned.chart.nodes[node];
            let causes = count(left.suspects.len(), "cause");
            let minutes = fine(left.expected);
            let names = names(planned, node, 2);
            format!("{causes} left, about {minutes}{TOGETHER}min more: {names}")
        }
    }
}

/// The likeliest suspects of a node by name, at most `most` of them.
fn names(planned: &Planned, node: usize, most: usize) -> String {
    let Some(node) = planned.chart.nodes.get(node) else {
        return String::new();
    };
    let mut left = node.suspects.clone();
    let odds = |suspect: &usize| planned.suspects[*suspect].odds;
    left.sort_by(|a, b| odds(b).total_cmp(&odds(a)).then(a.cmp(b)));
    let mut names: Vec<String> = left.iter().take(most).map(|s| named(planned, *s)).collect();
    if left.len() > most {
        names.push("…".to_owned());
    }
    names.join(", ")
}

/// What a habit is called.
const fn habit_name(habit: Habit) -> &'static str {
    match habit {
        Habit::InOrder => "one after another",
        Habit::ByWeight => "by likelihood",
        Habit::EvenSplit => "most even split",
        Habit::PairsPerMinute => "parted per minute",
    }
}

/// Why a habit takes longer, for teaching.
const fn habit_lesson(habit: Habit) -> &'static str {
    match habit {
        Habit::InOrder => {
            "asks about one fuse or load at a time, though one reading can clear half of them"
        }
        Habit::ByWeight => {
            "goes for the likeliest thing, though what it rules out when it is wrong is little"
        }
        Habit::EvenSplit => {
            "halves what is left each time, and does not ask what getting at the test costs"
        }
        Habit::PairsPerMinute => {
            "weighs each test by itself, and does not see that a place once open serves for more"
        }
    }
}

/// The habits that people have; the planner's own simplest rule is none.
fn habits_of_people(habits: &[(Habit, f64)]) -> impl Iterator<Item = &(Habit, f64)> {
    habits
        .iter()
        .filter(|(habit, _)| *habit != Habit::PairsPerMinute)
}

/// Expected minutes of the habits beside the plan and the floor, and what each teaches.
fn compared(planned: &Planned, habits: &[(Habit, f64)], width: usize) -> String {
    let mut rows: Vec<(&str, f64)> = habits_of_people(habits)
        .map(|(habit, minutes)| (habit_name(*habit), *minutes))
        .collect();
    rows.sort_by(|a, b| b.1.total_cmp(&a.1));
    let ours = if planned.chart.proven {
        "this plan, the best"
    } else {
        "this plan"
    };
    rows.push((ours, planned.expected));
    if !planned.chart.proven {
        rows.push(("no plan takes less than", planned.at_least));
    }
    let mut out = String::from("Minutes on average until the cause is proven:\n");
    for (name, minutes) in rows {
        let _ = writeln!(out, "  {name:<24}{:>8}", fine(minutes));
    }
    for (habit, minutes) in habits_of_people(habits) {
        let more = minutes - planned.expected;
        if more < 0.05 {
            continue;
        }
        let text = format!(
            "{} {}: {}{TOGETHER}min more here.",
            capital(habit_name(*habit)),
            habit_lesson(*habit),
            fine(more)
        );
        let _ = writeln!(out, "{}", textwrap::fill(&text, width));
    }
    out
}
