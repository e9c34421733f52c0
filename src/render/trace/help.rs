//! The words that can be typed: a short list, and more of each by topic. Each fits a low window at 60 columns.

use crate::render::refusal::quoted;
use crate::render::words::under_heads;

/// A topic by its name, with its lines.
type Topic = (&'static str, &'static [(&'static str, &'static str)]);

/// What is said without a topic.
const SHORT: [(&str, &str); 11] = [
    (
        "answer",
        "at a test its reading alone: 2.1mV, 0.61A, 12.4V; at a look yes or no; at an action done; at a wait asleep",
    ),
    (
        "skip",
        "this test cannot be done, and why: skip no access; nothing at this place can: skip place no ladder",
    ),
    ("undo", "the last entry does not count"),
    (
        "own",
        "any other test at any time: drop F3 2.1mV; without its reading it says how it is done",
    ),
    (
        "why",
        "why this step; why F3: what is known of F3; why draw: is anything left?",
    ),
    ("tree", "the feeds with the state of each part"),
    ("list", "what was entered, by numbers"),
    ("next", "the whole step again; so does an empty line"),
    ("report", "how to write it up"),
    ("quit", "stop; the case is kept and can be gone on with"),
    (
        "more",
        "help reading · help tests · help out · help told · help wrong · help states",
    ),
];

const TOPICS: [Topic; 6] = [
    (
        "reading",
        &[
            (
                "units",
                "2.1mV, 640mA, 0.61A, 12.4V; comma or point; without a unit where only one can be meant",
            ),
            (
                "zero",
                "0.0mV needs its unit and its decimals: they say how much could be missed",
            ),
            (
                "wanders",
                "1.9..2.4mV; off the end of the range: OL, or >400mV",
            ),
            (
                "behind it",
                "by clamp · by series · jack mA (the jack the red lead is in) · turns 5 · with 640mA (the draw at that moment) · at 14:32 · reversed -0.38mV (probes turned round)",
            ),
            (
                "sure",
                "behind it: it was checked, do not question it; typing it again means the same",
            ),
            (
                "several",
                "in one line with ; between: drop F1 0.0mV; drop F2 0.1mV",
            ),
        ],
    ),
    (
        "tests",
        &[
            (
                "drop",
                "drop F3 2.1mV: across a fuse, link or length of wire",
            ),
            (
                "clamp",
                "clamp box cable 610mA: one wire in the jaws; clamp F3 610mA: its wire, or a loop lead in its holder where the instruments file has one",
            ),
            ("volts", "volts K4 12.4V: black probe on earth"),
            ("series", "series F3 0.61A: meter in the place of a fuse"),
            (
                "draw",
                "draw 640mA by clamp, draw 0.64A by series: all of it, at the battery",
            ),
            (
                "look",
                "look cargo lamp yes · look K4 warm · look body network silent",
            ),
            (
                "how",
                "a test without its reading says how it is done, what it would show, and what would tell where it cannot",
            ),
        ],
    ),
    (
        "out",
        &[
            ("pull", "pull F3 · pull F12, F15 (together)"),
            ("unplug", "unplug C114: all that is in that plug"),
            ("refit", "refit F3 · refit all"),
            (
                "at",
                "pull F3 at 14:06: the time of day, behind a reading, what is done, asleep, a repair or a log",
            ),
            ("open", "open footwell box: it was laid open and stays open"),
            (
                "awake",
                "it woke: what is read from here counts only after asleep",
            ),
            ("asleep", "the draw stands still"),
            ("prepared", "all of the preparation is done"),
            (
                "repaired",
                "repaired C114 chafed wire: then the draw is verified",
            ),
        ],
    ),
    (
        "told",
        &[
            (
                "told",
                "what the owner says: told days 6 · told added tracker · told volts 12.6V (battery at rest) · told work, dead, parked, rain, coverage, network and what",
            ),
            ("odds", "told odds radio 3: three times as likely"),
            (
                "comes",
                "comes 180mA every 20min for 30s: it comes and goes",
            ),
            ("logged", "logged 8h: a log in which it did not come"),
            (
                "note",
                "note rain got in: for the write-up; it takes the rest of its line",
            ),
            ("intake", "what days, volts and the draw say of the battery"),
        ],
    ),
    (
        "wrong",
        &[
            ("undo", "the last entry does not count"),
            (
                "withdraw",
                "withdraw 7 probe slipped: entry 7 does not count; list has the numbers",
            ),
            (
                "again",
                "the same test typed anew: where two differ the question says what to do",
            ),
            ("sure", "behind a reading that is asked about: it is right"),
            (
                "skip",
                "leaves out one test, skip place all of a place; at the end it is named again with its reason; done after all, it counts",
            ),
        ],
    ),
    (
        "states",
        &[
            ("ruled out", "it cannot hide enough to matter"),
            (
                "not all of it",
                "it cannot be all of the drain by itself; a smaller one may be there",
            ),
            ("not ruled out", "nothing read so far says"),
            ("carrying", "too much flows there, proven by readings"),
            ("dead", "nothing passes there"),
            (
                "to go",
                "minutes to a proof, from luck to the slow end, over all it could be: more when what is quick to find turns out clean",
            ),
        ],
    ),
];

/// The words that can be typed; of a topic, or of a word that stands in one, more.
pub fn trace_help(topic: &str, width: usize) -> String {
    let topic = topic.to_lowercase();
    let named = TOPICS.iter().find(|(name, _)| *name == topic);
    let holds = |(_, lines): &&Topic| lines.iter().any(|(head, _)| *head == topic);
    let found = named.or_else(|| TOPICS.iter().find(holds));
    let lines = found.map_or(&SHORT[..], |(_, lines)| lines);
    let unknown = (found.is_none() && !topic.is_empty()).then(|| {
        let said = format!("no help on {}; the topics stand at more", quoted(&topic));
        ("not taken", said)
    });
    let lines = lines.iter().map(|(head, text)| match found {
        // A head longer than its column stands in its own sentence.
        Some(_) if head.len() > 9 => ("", format!("{head}: {text}")),
        _ => (*head, (*text).to_owned()),
    });
    let lines: Vec<(&str, String)> = unknown.into_iter().chain(lines).collect();
    under_heads(&lines, width)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A window of 24 rows, but for the prompt.
    const ROWS: usize = 23;

    #[test]
    fn each_fits_a_low_window() {
        let topics = TOPICS.iter().map(|(name, _)| *name);
        for topic in std::iter::once("").chain(topics) {
            let text = trace_help(topic, 60);
            assert!(text.lines().count() <= ROWS, "{topic}: {text}");
            assert!(
                text.lines().all(|line| line.chars().count() <= 60),
                "{text}"
            );
        }
        for (topic, _) in TOPICS {
            assert!(
                trace_help("", 60).contains(&format!("help {topic}")),
                "{topic}"
            );
            assert_ne!(trace_help(topic, 60), trace_help("", 60), "{topic}");
        }
        assert!(trace_help("zzz", 60).starts_with("not taken no help on `zzz`"));
        // By a word that stands in it.
        assert_eq!(trace_help("withdraw", 60), trace_help("wrong", 60));
    }
}
