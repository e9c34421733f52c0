//! Text → acts: the lines, the pending test, and which entry a word starts.

use crate::feeds::Feeds;
use crate::journal::line::{
    first_entry, fold, free, past_separator, quote, without_controls, word_at,
};
use crate::journal::options::{is_option, sample};
use crate::journal::reading::{looks_alike, reading};
use crate::journal::{Act, Context, Names, Refusal, Seen, Timed, Wrong, word};
use crate::measurement::{Method, Unit};
use crate::problem::nearest;

/// Every word an entry can start with.
pub(super) const WORDS: [&str; 22] = [
    "draw", "drop", "clamp", "series", "volts", "look", "pull", "unplug", "refit", "open", "zero",
    "asleep", "awake", "prepared", "told", "skip", "withdraw", "undo", "repaired", "note", "comes",
    "logged",
];

/// Behind `skip`: nothing at a place can be done.
pub(super) const PLACE: &str = "place";

const YES: [&str; 16] = [
    "yes",
    "y",
    "warm",
    "hot",
    "lit",
    "alight",
    "on",
    "found",
    "there",
    "active",
    "talking",
    "busy",
    "energised",
    "running",
    "present",
    "true",
];
const NO: [&str; 14] = [
    "no", "n", "cold", "cool", "dark", "unlit", "off", "none", "nothing", "absent", "silent",
    "quiet", "stopped", "false",
];

/// The acts in a line, in order; either all of them or the first fault.
pub fn parse(text: &str, feeds: &Feeds, context: &Context) -> Result<Vec<Act>, Refusal> {
    parse_with(text, &Names::of(feeds), context)
}

/// [`parse`] with names that were indexed before.
pub fn parse_with(text: &str, names: &Names, context: &Context) -> Result<Vec<Act>, Refusal> {
    let acts = parse_timed(text, names, context)?;
    Ok(acts.into_iter().map(|(act, _)| act).collect())
}

/// [`parse_with`], each act with the time of day that was typed with it.
pub fn parse_timed(text: &str, names: &Names, context: &Context) -> Result<Vec<Timed>, Refusal> {
    let pending = context
        .pending
        .as_deref()
        .map(|entry| Pending::of(&without_controls(entry), names));
    let mut parser = Parser {
        names,
        clamp_in_millivolts: context.clamp_in_millivolts,
        out: &context.out,
        place: context.place.as_deref(),
        kept: context.kept,
        pending,
    };
    let text = without_controls(text);
    let mut acts = Vec::new();
    for entry in parted(&text, context.kept) {
        acts.extend(parser.timed(entry)?);
        // The first entry answers the pending test, or passes it over.
        (parser.pending, parser.place) = (None, None);
    }
    if acts.is_empty() {
        return Err(parser.refusal("", Fault::from(Wrong::Empty)));
    }
    Ok(acts)
}

/// The entries in a line, each as it was typed.
pub fn entries(line: &str) -> Vec<&str> {
    parted(line, false)
}

pub(super) fn parted(line: &str, kept: bool) -> Vec<&str> {
    let mut entries = Vec::new();
    let mut rest = Some(line);
    while let Some(line) = rest {
        let (entry, behind) = first_entry(line, kept);
        // A line may end with a stray `;`.
        entries.extend(Some(entry.trim()).filter(|entry| !entry.is_empty()));
        rest = behind;
    }
    entries
}

/// A test that is named without its reading, such as `drop F3` or `clamp F3 turns 5`: some reading is put
/// in to see what is meant, which stands in the act.
pub fn test_named(line: &str, names: &Names) -> Option<Act> {
    const OPTIONS: [&str; 4] = [" by ", " turns ", " jack ", " sure"];
    let cut = OPTIONS.iter().filter_map(|option| line.find(option)).min();
    let (test, options) = line.split_at(cut.unwrap_or(line.len()));
    let try_with = |reading: &str| {
        let whole = format!("{test} {reading}{options}");
        let mut acts = parse_with(&whole, names, &Context::default()).ok()?;
        (acts.len() == 1).then(|| acts.remove(0))
    };
    ["1.0mA", "1.0mV", "1.0V", "yes"]
        .into_iter()
        .find_map(try_with)
}

/// The test that waits for its answer.
pub(super) struct Pending {
    /// Its entry without the reading.
    pub(super) entry: String,
    /// The same with the names in quotes, so that nothing put behind it becomes part of a name.
    unmistakable: String,
}

impl Pending {
    fn of(entry: &str, names: &Names) -> Self {
        let (first, rest) = word_at(entry);
        let entry = match first {
            // Waiting ends when the vehicle is asleep.
            "wait" => "asleep",
            _ => entry,
        };
        let at = |text: &str| match first {
            "open" => names.places_at(text),
            _ => names.things_at(text),
        };
        let mut text = String::new();
        let mut rest = rest;
        while let Some(found) = at(rest).ok().as_ref().and_then(|found| found.first()) {
            let comma = if text.is_empty() { " " } else { ", " };
            text.push_str(comma);
            text.push_str(&quote(&found.name));
            rest = &rest[found.length..];
            rest = past_separator(rest).unwrap_or_else(|| rest.trim_start());
        }
        let unmistakable = if text.is_empty() || !rest.is_empty() {
            entry.to_owned()
        } else {
            format!("{first}{text}")
        };
        Self {
            entry: entry.to_owned(),
            unmistakable,
        }
    }

    /// What is waited for.
    pub(super) fn asks(&self) -> Asks {
        match method(word_at(&self.entry).0) {
            Some(Method::Look) => Asks::Answer,
            Some(
                Method::Draw
                | Method::Drop
                | Method::Clamp
                | Method::Series
                | Method::Volts
                | Method::Log,
            ) => Asks::Reading,
            // A zero may be done without a reading.
            _ => Asks::Doing,
        }
    }

    /// The entry with a reading or an answer, as an example.
    pub(super) fn example(&self) -> String {
        match method(word_at(&self.entry).0) {
            Some(method) if self.asks() != Asks::Doing => {
                format!("{} {}", self.entry, sample(method))
            }
            _ => self.entry.clone(),
        }
    }
}

/// What a pending test waits for.
#[derive(PartialEq)]
pub(super) enum Asks {
    /// Something to be done, which may come with a reading.
    Doing,
    Reading,
    Answer,
}

/// A fault and, where it is known, a line that works.
pub(super) struct Fault {
    pub(super) wrong: Wrong,
    pub(super) works: Option<String>,
}

impl From<Wrong> for Fault {
    fn from(wrong: Wrong) -> Self {
        Self { wrong, works: None }
    }
}

impl Fault {
    pub(super) fn new(wrong: Wrong, works: String) -> Self {
        Self {
            wrong,
            works: Some(works),
        }
    }
}

/// What entries are read with.
pub(super) struct Parser<'a> {
    pub(super) names: &'a Names,
    pub(super) clamp_in_millivolts: bool,
    /// What is out.
    out: &'a [String],
    /// The text was kept as an entry.
    pub(super) kept: bool,
    /// Where the pending test is.
    pub(super) place: Option<&'a str>,
    pub(super) pending: Option<Pending>,
}

impl Parser<'_> {
    pub(super) fn entry(&self, line: &str) -> Result<Vec<Act>, Refusal> {
        let acts = match self.completed(line) {
            Some(entry) => self.acts(&entry).map_err(|fault| {
                let slip = self.in_the_unit_asked_for(line, &fault);
                let meant = slip.or_else(|| self.without_method(line));
                meant.unwrap_or(fault)
            }),
            None => self.acts(line),
        };
        acts.map_err(|fault| self.refusal(line, fault))
    }

    /// What a plain `refit` puts back: what the step asks for, else the one thing that is out.
    pub(super) fn goes_back(&self) -> Option<String> {
        let asked = self.pending.as_ref().map(|pending| &pending.unmistakable);
        let asked = asked.filter(|entry| word_at(entry).0 == "refit");
        match (asked, self.out) {
            (Some(entry), _) => Some(word_at(entry).1.to_owned()),
            (None, [one]) => Some(self.plain(one)),
            _ => None,
        }
    }

    pub(super) fn acts(&self, line: &str) -> Result<Vec<Act>, Fault> {
        let (first, rest) = word_at(line);
        let one = |act: Result<Act, Fault>| act.map(|act| vec![act]);
        match first.to_lowercase().as_str() {
            "draw" => one(self.draw(rest)),
            "drop" => one(self.read(Method::Drop, rest)),
            "clamp" => one(self.read(Method::Clamp, rest)),
            "series" => one(self.read(Method::Series, rest)),
            "volts" => one(self.read(Method::Volts, rest)),
            "look" => one(self.look(rest)),
            "pull" => one(self.points("pull", rest).map(Act::Pull)),
            "unplug" => one(self.points("unplug", rest).map(Act::Unplug)),
            "refit" => one(self.refit(rest)),
            "open" => self.open(rest),
            "zero" => one(Self::zero(rest)),
            "asleep" => one(alone(Act::Asleep, rest, "asleep")),
            "awake" => one(alone(Act::Awake, rest, "awake")),
            "prepared" => one(alone(Act::Prepared, rest, "prepared")),
            "undo" => one(alone(Act::Undo, rest, "undo")),
            "told" => one(self.told(rest)),
            "skip" => self.skip(rest),
            "withdraw" => one(Self::withdraw(rest)),
            "repaired" => one(self.repaired(rest)),
            "comes" => one(Self::comes(rest)),
            "logged" => one(Self::logged(rest)),
            "note" => match free(rest) {
                text if text.is_empty() => Err(Wrong::NoText { word: "note" }.into()),
                text => Ok(vec![Act::Note(text)]),
            },
            _ => Err(self.unknown_word(line, first)),
        }
    }

    /// The entry that a bare reading, answer, `done` or `skip` stands for.
    pub(super) fn completed(&self, line: &str) -> Option<String> {
        let pending = self.pending.as_ref()?;
        let asked = &pending.unmistakable;
        let (first, rest) = word_at(line);
        let first = first.to_lowercase();
        let skips_another = || {
            let what = word_at(rest).0.to_lowercase();
            method(&what).is_some() || what == PLACE || asleep(rest).is_some()
        };
        match pending.asks() {
            _ if first == "skip" => (!skips_another()).then(|| format!("skip {asked} {rest}")),
            _ if first == "done" && rest.is_empty() => Some(asked.clone()),
            Asks::Doing if matches!(first.as_str(), "yes" | "y" | "ok") && rest.is_empty() => {
                Some(asked.clone())
            }
            // An answer that is none is said to be that.
            Asks::Answer if nearest(&first, WORDS.iter().copied()).is_none() => {
                Some(format!("{asked} {line}"))
            }
            Asks::Doing if seen(line).is_some() => None,
            _ => (is_bare(line) || is_option(&first)).then(|| format!("{asked} {line}")),
        }
    }

    /// A reading alone that is small enough to be meant in the unit asked for, `1.03V` where amps are and
    /// `2.1mA` where millivolts are: the same digits in that unit. What is larger was read elsewhere.
    fn in_the_unit_asked_for(&self, line: &str, fault: &Fault) -> Option<Fault> {
        const MOST_AMPS: f64 = 9.0;
        const MOST_MILLIVOLTS: f64 = 50.0;
        let Wrong::WrongUnit { .. } = fault.wrong else {
            return None;
        };
        let asked = &self.pending.as_ref()?.entry;
        let line = line.trim();
        let (number, unit) = line.split_at(line.find(char::is_alphabetic)?);
        let (most, unit) = match unit {
            "V" => (MOST_AMPS, "A"),
            "mA" => (MOST_MILLIVOLTS, "mV"),
            _ => return None,
        };
        let value: f64 = number.trim().parse().ok()?;
        let works = format!("{asked} {}{unit}", number.trim());
        (value < most && self.acts(&works).is_ok()).then(|| Fault::new(fault.wrong.clone(), works))
    }
}

/// The method an entry's first word names.
pub(super) fn method(first: &str) -> Option<Method> {
    [
        Method::Volts,
        Method::Drop,
        Method::Clamp,
        Method::Series,
        Method::Look,
        Method::Draw,
        Method::Pull,
        Method::Unplug,
        Method::Refit,
        Method::Open,
        Method::Zero,
        Method::Wait,
        Method::Log,
    ]
    .into_iter()
    .find(|method| word(*method) == first)
}

/// What is behind the word `asleep`, which stands for the wait it ends.
pub(super) fn asleep(text: &str) -> Option<&str> {
    let (first, rest) = word_at(text);
    first.eq_ignore_ascii_case("asleep").then_some(rest)
}

/// Whether a line starts like a reading or an answer.
pub(super) fn is_bare(line: &str) -> bool {
    let number = |c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '−' | '>' | '.' | ',');
    let first = word_at(line).0;
    line.starts_with(number)
        || first.eq_ignore_ascii_case("not")
        || seen(first).is_some()
        || reading(line, Unit::Millivolts).is_ok()
        || looks_alike(line).is_some()
}

/// What an answer means; `not` before it turns it round.
pub(super) fn seen(answer: &str) -> Option<Seen> {
    let answer = fold(answer);
    let (turned, answer) = match answer.strip_prefix("not ") {
        Some(rest) => (true, rest),
        None => (false, answer.as_str()),
    };
    let yes = YES.contains(&answer);
    if !yes && !NO.contains(&answer) {
        return None;
    }
    Some(if yes == turned { Seen::No } else { Seen::Yes })
}

fn alone(act: Act, rest: &str, word: &str) -> Result<Act, Fault> {
    if rest.is_empty() {
        return Ok(act);
    }
    let typed = free(rest);
    Err(Fault::new(Wrong::Trailing { typed }, word.to_owned()))
}
