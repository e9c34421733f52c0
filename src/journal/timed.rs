//! The time of day behind what was done.
//!
//! A reading takes `at 14:32` among its options. Behind what is done or seen it stands last: `pull F3 at 14:06`.

use crate::journal::line::word_at;
use crate::journal::options::{clock, time};
use crate::journal::parsing::Parser;
use crate::journal::{Act, Refusal};

/// An act with the time of day that was typed with it, in minutes after midnight.
pub type Timed = (Act, Option<u16>);

/// What is done and not read: the words that a time may stand behind.
const DONE: [&str; 12] = [
    "pull", "unplug", "refit", "open", "look", "zero", "asleep", "awake", "prepared", "repaired",
    "comes", "logged",
];

/// An entry parted from the time of day at its end, and from any more before that one.
fn behind(entry: &str) -> Option<(&str, u16)> {
    let (before, last) = entry.trim_end().rsplit_once(char::is_whitespace)?;
    let (before, at) = before.trim_end().rsplit_once(char::is_whitespace)?;
    let at = at.eq_ignore_ascii_case("at").then(|| time(last))??;
    let before = before.trim_end().trim_end_matches(',');
    Some((behind(before).map_or(before, |(before, _)| before), at))
}

/// Whether a time may stand behind an act. It is part of the words of what takes free text, `repaired` apart.
const fn takes_time(act: &Act) -> bool {
    !matches!(
        act,
        Act::Read { .. }
            | Act::Told { .. }
            | Act::Skip { .. }
            | Act::Withdraw { .. }
            | Act::Undo
            | Act::Note(_)
    )
}

/// The time that an act carries in itself.
const fn own(act: &Act) -> Option<u16> {
    match act {
        Act::Read { options, .. } => options.at,
        _ => None,
    }
}

/// What stands behind the text of an act for its time.
pub(super) fn written(act: &Act, at: Option<u16>) -> String {
    at.filter(|_| takes_time(act))
        .map_or_else(String::new, |at| format!(" at {}", clock(at)))
}

impl Parser<'_> {
    /// The acts of an entry with their times. A name may end like a time: what can be read whole is.
    pub(super) fn timed(&self, line: &str) -> Result<Vec<Timed>, Refusal> {
        let whole = || -> Result<Vec<Timed>, Refusal> {
            let with_time = |act: Act| {
                let at = own(&act);
                (act, at)
            };
            Ok(self.entry(line)?.into_iter().map(with_time).collect())
        };
        let Some((before, at)) = behind(line) else {
            return whole();
        };
        let first = word_at(before).0.to_lowercase();
        if first != "repaired"
            && let Ok(acts) = whole()
        {
            return Ok(acts);
        }
        match self.entry(before) {
            Ok(acts) if acts.iter().all(takes_time) => {
                Ok(acts.into_iter().map(|act| (act, Some(at))).collect())
            }
            Err(mut refusal) if DONE.contains(&first.as_str()) => {
                let works = format!("{} at {}", refusal.works, clock(at));
                if self.timed(&works).is_ok() {
                    refusal.works = works;
                }
                Err(refusal)
            }
            _ => whole(),
        }
    }
}
