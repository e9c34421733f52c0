//! Why a part is in its state: numbered lines in trade words, or the same as data.

use crate::case::{Case, Found};
use crate::feeds::Named;
use crate::judgement::Standing;
use crate::ledger::{Because, End};
use crate::problem::clean;
use crate::render::answer::number as rounded;
use crate::render::odds::{odds_json, odds_text};
use crate::render::trace::proof;
use crate::render::words::{TOGETHER, capital, listed, spoken};
use crate::report::{About, Reasons, Says};
use serde_json::{Value, json};
use std::fmt::Write as _;

mod steps;

use steps::{amount, ma, sentence, with_out};

/// Parts that are named before the rest is only counted.
const NAMED: usize = 4;

/// "not ruled out".
pub(super) const fn standing_word(standing: Standing) -> &'static str {
    match standing {
        Standing::RuledOut => "ruled out",
        Standing::TooSmall => "not all of it",
        Standing::InQuestion => "not ruled out",
        Standing::Carrying => "carrying",
        Standing::Dead => "dead",
    }
}

/// What the reason is about, by name.
fn name(about: &About, case: &Case<'_>) -> String {
    let feeds = &case.setting().feeds;
    match about {
        About::Part(part) => feeds.id(*part).to_owned(),
        About::Unlisted(part) => format!("unlisted at {}", feeds.id(*part)),
        About::Together(name, _) => name.clone(),
    }
}

/// What was proven of the parts that are asked about.
fn proven(about: &About, case: &Case<'_>) -> Option<Found> {
    let feeds = &case.setting().feeds;
    let named = name(about, case);
    let mut found = case.next().found.into_iter();
    found.find(|found| found.returned && found.subject.id(feeds) == named)
}

/// The state, what could be hidden against the two thresholds, the numbered lines and the readings
/// they cite, in lines of at most `width` columns (a longer single word apart).
pub fn why_text(reasons: &Reasons, case: &Case<'_>, width: usize) -> String {
    let name = name(&reasons.about, case);
    let mut out = String::new();
    let mut put = |first: &str, rest: &str, text: &str| {
        let look = textwrap::Options::new(width)
            .initial_indent(first)
            .subsequent_indent(rest);
        out.push_str(&textwrap::fill(&clean(text), look).replace(TOGETHER, " "));
        out.push('\n');
    };
    if reasons.clash {
        let text = format!("{}: not judged, readings clash", spoken(&name));
        put("", "", &text);
    } else {
        let proven = proven(&reasons.about, case);
        // With a proven drain out little is left there: that is no word on it.
        let word = match proven {
            Some(_) => "proven",
            None => standing_word(reasons.standing),
        };
        put("", "", &format!("{}: {word}", spoken(&name)));
        let proof = proven.map(|found| {
            let proof = proof(&found, case);
            let after = proof.strip_prefix(&format!("{name}: "));
            format!("{}.", after.map_or_else(|| proof.clone(), capital))
        });
        put("", "", &proof.unwrap_or_else(|| summary(reasons, case)));
    }
    if let Some(taken) = with_out(&reasons.out, case) {
        put(
            "",
            "",
            &format!("Judged {taken} out, where the drain was proven."),
        );
    }
    if reasons.about.parts().iter().any(|part| {
        let feeds = &case.setting().feeds;
        case.out_now().cuts(feeds, *part)
    }) {
        put(
            "",
            "",
            "It is out now; its state is the one it had when it was in.",
        );
    }
    out.push('\n');
    let wide = reasons.steps.len().to_string().len();
    let gap = " ".repeat(wide + 4);
    for (index, step) in reasons.steps.iter().enumerate() {
        let look = textwrap::Options::new(width)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .subsequent_indent(&gap);
        let head = format!("{:>wide$}  ", index + 1, wide = wide + 2);
        let text = sentence(step, reasons, case);
        let line = textwrap::fill(&clean(&text), look.initial_indent(&head));
        out.push_str(&line.replace(TOGETHER, " "));
        out.push('\n');
    }
    out.push_str(&odds_text(&reasons.about, case, width));
    let entries = reasons.entries();
    if !entries.is_empty() {
        out.push_str("\nReadings cited\n");
        for entry in entries {
            let text = clean(entry_text(case, entry));
            // Writing to a string cannot fail.
            let _ = writeln!(out, "{entry:>4}  {text}");
        }
    }
    out
}

/// The same as data.
pub fn why_json(reasons: &Reasons, case: &Case<'_>) -> Value {
    let feeds = &case.setting().feeds;
    let lines: Vec<Value> = reasons
        .steps
        .iter()
        .enumerate()
        .map(|(index, step)| {
            let from: Vec<usize> = step.from.iter().map(|from| from + 1).collect();
            let text = sentence(step, reasons, case).replace(TOGETHER, " ");
            let mut line = json!({"line": index + 1, "text": text, "from": from});
            if let Some(ma) = amount(&step.says) {
                line["ma"] = rounded(ma);
            }
            if let Says::Flows {
                because: Because::Reading(entry),
                ..
            } = step.says
            {
                line["entry"] = json!(entry);
            }
            line
        })
        .collect();
    let readings: Vec<Value> = reasons
        .entries()
        .into_iter()
        .map(|entry| json!({"entry": entry, "text": entry_text(case, entry)}))
        .collect();
    let parts: Vec<&str> = reasons.about.parts().iter().map(|p| feeds.id(*p)).collect();
    let mut object = json!({
        "part": name(&reasons.about, case),
        "parts": parts,
        "state": reasons.standing.word(),
        "hides_ma": rounded(reasons.hides),
        "enough_alone_ma": rounded(reasons.enough_alone),
        "needed_now_ma": rounded(reasons.needed),
        "matters_ma": rounded(reasons.matters),
        "lines": lines,
        "readings": readings,
    });
    let odds = odds_json(&reasons.about, case);
    if !odds.is_empty() {
        object["odds"] = json!(odds);
    }
    if let Some(Says::Clash(entries)) = reasons.steps.last().map(|step| &step.says) {
        object["clash"] = json!(entries);
    }
    object
}

/// The text of an entry.
pub(super) fn entry_text<'c>(case: &'c Case<'_>, entry: u32) -> &'c str {
    let entry = case.entries().get(entry as usize - 1);
    entry.map_or("", |entry| entry.text.as_str())
}

/// What an input is judged by: it carries nothing. `None` for anything else.
fn keeps_awake(about: &About, case: &Case<'_>) -> Option<String> {
    let feeds = &case.setting().feeds;
    let About::Together(name, parts) = about else {
        return None;
    };
    matches!(feeds.find(name), Some(Named::Input(_))).then(|| {
        let first = parts
            .iter()
            .take(NAMED)
            .map(|part| feeds.id(*part).to_owned());
        let mut names: Vec<String> = first.collect();
        if parts.len() > NAMED {
            names.push(format!("{} more", parts.len() - NAMED));
        }
        format!(
            "It draws nothing itself and is judged by what it can keep awake: {}.",
            listed(&names)
        )
    })
}

fn summary(reasons: &Reasons, case: &Case<'_>) -> String {
    let input = keeps_awake(&reasons.about, case);
    let there = if input.is_some() {
        "in these together"
    } else {
        "there"
    };
    let proven = reasons.steps.iter().rev().find_map(|step| match step.says {
        Says::TooMuch {
            end: End::Low, ma, ..
        } => Some(ma),
        _ => None,
    });
    let hides = match (reasons.standing, proven) {
        (Standing::Dead, _) => format!("No current can pass {there}."),
        (Standing::Carrying, Some(proven)) => {
            format!(
                "By the readings at least {} too much flows there.",
                ma(proven)
            )
        }
        _ if reasons.hides.is_finite() => {
            let hides = ma(reasons.hides);
            format!("Up to {hides} too much could still flow {there}.")
        }
        _ => format!("Nothing read so far limits what could flow {there}."),
    };
    let hides = match input {
        Some(input) => format!("{input} {hides}"),
        None => hides,
    };
    if reasons.enough_alone.is_infinite() {
        return format!("{hides} Without a limit for this vehicle nothing can be judged by it.");
    }
    let alone = if reasons.enough_alone > 0.0 {
        let alone = ma(reasons.enough_alone);
        format!("One part that takes {alone} too much keeps the vehicle over its limit by itself")
    } else {
        "What is usual asleep fills the limit already, so whatever takes more keeps the vehicle over it"
            .to_owned()
    };
    format!(
        "{hides} {alone}; to be all of today's drain it has to take {}. So what takes less than {} is no longer looked for.",
        ma(reasons.needed),
        ma(reasons.matters)
    )
}
