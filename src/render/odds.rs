//! Why odds are what they are: starting weight, what was told, the level of the draw.

use crate::case::{Case, Weighed};
use crate::feeds::{Feeds, PartId};
use crate::problem::clean;
use crate::render::answer::{current, number_fine};
use crate::render::words::{named_cause, number};
use crate::report::About;
use crate::suspects::{Because, Moved, Subject};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// A move with its factor.
pub(super) fn moved_words(feeds: &Feeds, moved: &Moved) -> String {
    let why = match moved.because {
        Because::Named(entry) => format!("entry {entry} names it"),
        Because::Kind(entry, class) => {
            let way = if moved.by > 1.0 { "for" } else { "against" };
            format!("entry {entry} speaks {way} {}", class.words())
        }
        Because::Place(entry) => format!("entry {entry} names its place"),
        Because::Set(entry) => format!("entry {entry} sets it"),
        Because::Comes(entry) => format!("what comes and goes by entry {entry} fits it"),
        Because::Level(ma) => format!("what its kind usually takes, against {}", current(ma)),
        Because::Leans(part) => {
            let way = if moved.by > 1.0 { "with" } else { "without" };
            let at = feeds.id(part);
            format!("what was read at {at} is nearer to the current {way} it")
        }
    };
    format!("{why}: × {}", number(moved.by))
}

/// The entries that moved it much, for one line of a screen; nothing where there are none.
pub(super) fn moved_briefly(moved: &[Moved]) -> String {
    let mut likelier: Vec<String> = Vec::new();
    let mut less: Vec<String> = Vec::new();
    for one in moved {
        let entry = match one.because {
            Because::Named(e)
            | Because::Kind(e, _)
            | Because::Place(e)
            | Because::Set(e)
            | Because::Comes(e) => e,
            Because::Level(_) | Because::Leans(_) => continue,
        };
        let list = if one.by > 1.0 {
            &mut likelier
        } else {
            &mut less
        };
        list.push(entry.to_string());
    }
    let said = [("likelier", likelier), ("less likely", less)];
    let said = said.iter().filter(|(_, list)| !list.is_empty());
    let said = said.map(|(way, list)| format!("; {way} by entry {}", list.join(" and ")));
    said.collect::<Vec<_>>().concat()
}

/// The causes that sit at what is asked about and are in question.
fn of_about(about: &About, case: &Case<'_>) -> Vec<Weighed> {
    let feeds = &case.setting().feeds;
    let named = match about {
        About::Together(name, _) => Some(name.as_str()),
        _ => None,
    };
    let sits = |weighed: &Weighed| match (&weighed.subject, about) {
        (Subject::Part(one) | Subject::Unlisted(one), About::Part(other))
        | (Subject::Unlisted(one), About::Unlisted(other)) => one == other,
        (Subject::Module(module), _) => named == Some(feeds.module(*module).id.value.as_str()),
        (Subject::Input(name), _) => named == Some(name.as_str()),
        _ => false,
    };
    case.suspects().into_iter().filter(sits).collect()
}

/// A number to a tenth; what is less, and not nothing, is said to be below.
fn at_least_a_tenth(value: f64) -> String {
    if value > 0.0 && value < 0.05 {
        "below 0.1".to_owned()
    } else {
        number(value)
    }
}

/// Lines on the odds; nothing where it is in question as nobody's cause.
pub(super) fn odds_text(about: &About, case: &Case<'_>, width: usize) -> String {
    let mut out = String::new();
    let feeds = &case.setting().feeds;
    for weighed in of_about(about, case) {
        let mut text = format!(
            "{}: {} % of the odds; starting weight {}",
            named_cause(&weighed.id, weighed.cause),
            at_least_a_tenth(weighed.odds * 100.0),
            at_least_a_tenth(weighed.start)
        );
        for moved in &weighed.moved {
            let _ = write!(text, "; {}", moved_words(feeds, moved));
        }
        text.push_str("; readings do the rest");
        let look = textwrap::Options::new(width).subsequent_indent("    ");
        let _ = writeln!(out, "{}", textwrap::fill(&clean(&text), look));
    }
    if out.is_empty() {
        return out;
    }
    let head = "Odds (they order the search and rule nobody out; told odds NAME 3 makes one three times as likely)";
    format!("\n{}\n{out}", textwrap::fill(head, width))
}

/// The same as data.
pub(super) fn odds_json(about: &About, case: &Case<'_>) -> Vec<Value> {
    let feeds = &case.setting().feeds;
    let rows = of_about(about, case).into_iter().map(|weighed| {
        let moved = weighed.moved.iter();
        let because: Vec<_> = moved.map(|moved| moved_words(feeds, moved)).collect();
        json!({"cause": weighed.cause.words(), "odds": number_fine(weighed.odds),
               "starting_weight": number_fine(weighed.start), "because": because})
    });
    rows.collect()
}

/// A part whose name has a word of a text in it, a load where there is one; else the first of the vehicle.
pub(super) fn like_it<'f>(text: &str, feeds: &'f Feeds) -> &'f str {
    /// Shorter words are "left", or no names.
    const LETTERS: usize = 5;
    let text = text.to_lowercase();
    let words: Vec<&str> = text
        .split_whitespace()
        .filter(|word| word.len() >= LETTERS)
        .collect();
    let meant = |part: &PartId| {
        let name = feeds.name(*part).to_lowercase();
        words.iter().any(|word| name.contains(word))
    };
    let is_load = |part: &PartId| feeds.load_kind(*part).is_some();
    let like: Vec<PartId> = feeds.parts().skip(1).filter(meant).collect();
    let load = like.iter().find(|part| is_load(part));
    let part = load.or_else(|| like.first()).copied();
    let part = part.or_else(|| feeds.parts().nth(1));
    part.map_or("radio", |part| feeds.id(part))
}
