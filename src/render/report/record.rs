//! What was there and what was read: complaint, conditions, instruments, before and after, each reading.

use super::{Page, accuracy, bullets, safe, told_none, told_word};
use crate::battery::Rested;
use crate::case::{Case, Entry};
use crate::instruments::Clamp;
use crate::journal::{Act, rested_volts, volts_of};
use crate::measurement::Method;
use crate::render::amps::clamp_more;
use crate::render::answer::span;
use crate::render::intake::{charged, unexplained_words};
use crate::render::words::{capital, count, plain};
use crate::report::{Row, Settled, Watched, Worth};
use std::fmt::Write as _;

/// The key of the odds that are set by hand.
const ODDS: &str = "odds";

/// Why a reading stands below the table.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Aside {
    /// It was read again.
    Again,
    /// The draw has changed since.
    Ended,
    /// It was asked about, and is not relied on.
    Doubtful,
    /// The vehicle was awake.
    Awake,
    /// It was taken back.
    TakenBack,
}

impl Aside {
    const fn words(self) -> &'static str {
        match self {
            Self::Again => "Read again later",
            Self::Ended => {
                "From before the draw changed, or set aside by a later reading; nothing rests on it"
            }
            Self::Doubtful => "Could not be right, so nothing rests on it",
            Self::Awake => "Read while the vehicle was awake, so nothing rests on it",
            Self::TakenBack => "Taken back",
        }
    }
}

/// How far a battery is charged by its volts at rest.
fn charge_told(key: Option<&str>, text: &str) -> Option<String> {
    let volts = rested_volts(text).filter(|_| key == Some("volts"))?;
    Some(format!(", {}", charged(Rested { volts }.charge())))
}

impl Page<'_> {
    /// That the draw does not explain the days that were told.
    fn unexplained(&self) -> Option<String> {
        let unexplained = self.report.unexplained.as_ref()?;
        Some(unexplained_words(unexplained))
    }

    pub(super) fn conditions(&self) -> String {
        let mut lines = Vec::new();
        for (at, (key, text)) in self.report.told.iter().enumerate() {
            if key.as_deref() == Some(ODDS) || self.is_told_anew(at) {
                continue;
            }
            let text = safe(text);
            let charge = charge_told(key.as_deref(), &text).unwrap_or_default();
            if let Some(none) = key.as_deref().and_then(|key| told_none(key, &text)) {
                lines.push(none.to_owned());
                continue;
            }
            let key = key.as_deref().map(told_word);
            lines.push(match key {
                Some(key) => format!("{key}: {text}{charge}"),
                None => text,
            });
        }
        if lines.is_empty() {
            lines.push("No complaint was entered.".to_owned());
        }
        lines.push(self.prepared());
        lines.extend(self.odds_set());
        lines.extend(self.unexplained());
        lines.extend(self.typed_faster().map(str::to_owned));
        let feeds = self.feeds();
        lines.push(format!(
            "Supply {} V; time to fall asleep {} min{}",
            plain(feeds.volts().value() / 1000.0),
            plain(feeds.settle().value()),
            if feeds.vehicle().settle.is_some() {
                ""
            } else {
                " (assumed)"
            }
        ));
        if let Some(note) = &feeds.vehicle().note {
            lines.push(format!("Vehicle file: {}", safe(note)));
        }
        // What was repaired stands in a part of its own, but for what was done before a drain was found.
        let told_of = |entry: &u32| {
            self.report
                .repairs
                .iter()
                .any(|r| r.entries.contains(entry))
        };
        for entry in self.report.notes.iter().filter(|entry| !told_of(entry)) {
            let note = self.text(*entry);
            let text = note.strip_prefix("note ");
            let text = text.map(|text| format!("Note: {text}"));
            let text = text.unwrap_or_else(|| capital(&note));
            lines.push(format!("{text}{}", self.of_a_log(*entry)));
        }
        bullets(&lines)
    }

    /// What was out during a log, and whether what comes and goes came in it.
    fn of_a_log(&self, entry: u32) -> String {
        let before = self.case.before_repair();
        let known = |case: &Case<'_>| case.logs().iter().find(|log| log.entry == entry).cloned();
        let log = known(self.case).or_else(|| before.as_ref().and_then(known));
        let Some(log) = log.filter(|log| !log.out.is_empty()) else {
            return String::new();
        };
        let came = match log.came {
            Some(true) => "; it came all the same",
            Some(false) => "; it did not come",
            None => "",
        };
        let names: Vec<String> = log.out.iter().map(|name| safe(name)).collect();
        format!(", with {} out{came}", names.join(", "))
    }

    /// Whether what was told there is a number that was told anew later.
    fn is_told_anew(&self, at: usize) -> bool {
        let told = &self.report.told;
        let (key, later) = (&told[at].0, &told[at + 1..]);
        let of_one = volts_of(&told[at].1).is_some();
        let is_number = matches!(key.as_deref(), Some("days" | "volts" | "celsius")) && !of_one;
        is_number && later.iter().any(|(other, _)| other == key)
    }

    /// What whoever searched took for likelier: that is no part of the complaint.
    fn odds_set(&self) -> Option<String> {
        let odds = self.report.told.iter();
        let odds = odds.filter(|(key, _)| key.as_deref() == Some(ODDS));
        let odds: Vec<String> = odds
            .map(|(_, text)| format!("{} times", safe(text)))
            .collect();
        (!odds.is_empty()).then(|| {
            format!(
                "Odds set by hand, which order the search and rule nobody out: {}",
                odds.join("; ")
            )
        })
    }

    /// Whether the preparation was said to be done before the first draw.
    fn prepared(&self) -> String {
        let counting = self.case.counting();
        let stands = |entry: &&Entry| counting.binary_search(&entry.number).is_ok();
        let mut entries = self.case.entries().iter().filter(stands);
        let first = entries.find(|entry| match &entry.act {
            Act::Prepared => true,
            Act::Read { method, .. } => *method == Method::Draw,
            _ => false,
        });
        match first {
            Some(entry) if entry.act == Act::Prepared => format!(
                "Prepared as listed before the first draw (entry {}): battery, stored faults, a look round, latches, key, places opened",
                entry.number
            ),
            _ => "The preparation was not entered: whether latches, key and opened places were seen to is not known".to_owned(),
        }
    }

    pub(super) fn instruments(&self) -> String {
        let at_hand = &self.case.setting().instruments;
        let mut lines = Vec::new();
        if let Some(meter) = at_hand.meter {
            let mut line = |name: &str, range: Option<String>| {
                lines.extend(range.map(|range| format!("{name}: {range}")));
            };
            line(
                "Meter, millivolts",
                meter.millivolts.map(|r| accuracy(&r, "mV")),
            );
            line("Meter, A jack", meter.amps.map(|r| accuracy(&r, "mA")));
            line(
                "Meter, mA jack",
                meter.milliamps.map(|r| accuracy(&r, "mA")),
            );
        }
        if let Some(clamp @ Clamp { range, scale, .. }) = at_hand.clamp {
            let on_meter = scale.map_or(String::new(), |(voltage, means)| {
                let (voltage, means) = (plain(voltage.value()), plain(means.value()));
                format!("; read on the meter, {voltage} mV is {means} mA")
            });
            let more = if clamp.has_more() {
                format!(", with {}", clamp_more(&clamp))
            } else {
                String::new()
            };
            lines.push(format!("Clamp: {}{more}{on_meter}", accuracy(&range, "mA")));
        }
        if let Some(turns) = at_hand.turns {
            lines.push(format!("Loop lead of {}", count(turns as usize, "turn")));
        }
        if at_hand.assumed {
            lines.push(
                "Assumed: a plain meter, from memory; no instruments file was given.".to_owned(),
            );
        }
        bullets(&lines)
    }

    pub(super) fn before_and_after(&self) -> String {
        let mut out = String::new();
        let mut early = Vec::new();
        let mut row = |name: &str, draw: &Option<Settled>| {
            if let Some(draw) = draw {
                let (mut asleep, soon) = self.asleep(draw.entry);
                if let Some(soon) = soon {
                    asleep.push_str(" \\*");
                    early.push(soon);
                }
                let taken = if draw.out.is_empty() {
                    "nothing".to_owned()
                } else {
                    self.taken(&draw.out)
                };
                let _ = writeln!(
                    out,
                    "| {name} | {} | {taken} | {} | {} | {} |",
                    span(draw.current),
                    asleep,
                    draw.entry,
                    self.text(draw.entry)
                );
            }
        };
        row("before", &self.report.before);
        let rest = &self.report.rest;
        let drains = if self.proven().count() == 1 {
            "drain out"
        } else {
            "drains out"
        };
        row(drains, rest);
        let repaired = || self.report.repairs.iter().filter_map(|r| r.draws.last());
        let told = |entry: u32| {
            rest.iter()
                .chain(repaired())
                .any(|draw| draw.entry == entry)
        };
        let after = self.report.after.clone();
        row("later", &after.filter(|after| !told(after.entry)));
        for repair in &self.report.repairs {
            let draws = repair.draws.iter();
            // The first says whether it holds, the last whether it was watched.
            let first = draws.clone().next().map(|draw| ("after the repair", draw));
            let again = match self.watch() {
                Watched::Long(_) => "after the watch",
                _ => "read again",
            };
            let last = draws.skip(1).last().map(|draw| (again, draw));
            for (name, draw) in first.into_iter().chain(last) {
                row(name, &Some(draw.clone()));
            }
        }
        if out.is_empty() {
            return "No settled draw was read.".to_owned();
        }
        early.dedup();
        if !early.is_empty() {
            let _ = writeln!(
                out,
                "\n\\* Said to be asleep sooner than the {} min it may take: {}.",
                plain(self.feeds().settle().value()),
                early.join(", ")
            );
        }
        format!(
            "| | settled draw | out | asleep | entry | typed |\n|---|---|---|---|---|---|\n{out}"
        )
    }

    pub(super) fn readings(&self) -> String {
        if self.report.rows.is_empty() {
            return "Nothing was read.".to_owned();
        }
        let (aside, standing): (Vec<&Row>, Vec<&Row>) = self
            .report
            .rows
            .iter()
            .partition(|row| self.aside(row).is_some());
        let (quiet, standing): (Vec<&Row>, Vec<&Row>) =
            standing.into_iter().partition(|row| self.is_quiet(row));
        let (looks, standing): (Vec<&Row>, Vec<&Row>) =
            standing.into_iter().partition(|row| self.is_a_look(row));
        let mut out = String::new();
        if !standing.is_empty() {
            out.push_str("| entry | typed | showed | out | |\n|---|---|---|---|---|\n");
        }
        for row in standing {
            let showed = row.current.map(span).unwrap_or_default();
            let _ = writeln!(
                out,
                "| {} | {} | {showed} | {} | {} |",
                row.entry,
                self.text(row.entry),
                self.taken(&row.out),
                self.worth(row)
            );
        }
        for (head, rows) in [("Read and quiet", quiet), ("Looked at", looks)] {
            let said: Vec<String> = rows.iter().map(|row| self.in_short(row)).collect();
            if !said.is_empty() {
                let _ = writeln!(out, "\n{head}: {}.", said.join(", "));
            }
        }
        for why in [
            Aside::Again,
            Aside::Ended,
            Aside::Doubtful,
            Aside::Awake,
            Aside::TakenBack,
        ] {
            let these = aside.iter().filter(|row| self.aside(row) == Some(why));
            let these: Vec<String> = these
                .map(|row| {
                    format!(
                        "{} ({}{})",
                        row.entry,
                        self.text(row.entry),
                        self.taken_back(row)
                    )
                })
                .collect();
            if !these.is_empty() {
                let _ = writeln!(out, "\n{}: {}.", why.words(), these.join(", "));
            }
        }
        out
    }

    /// Whether a reading with everything in shows nothing, and no reason of the verdict is that.
    fn is_quiet(&self, row: &Row) -> bool {
        let rests = self.report.verdict.rests_on.contains(&row.entry);
        let nothing = match self.act(row.entry) {
            Some(Act::Read {
                method: Method::Drop | Method::Clamp,
                reading,
                ..
            }) => !reading.over && reading.low.max(reading.high).abs() < f64::EPSILON,
            _ => false,
        };
        nothing && !rests && row.out.is_empty() && self.worth(row).is_empty()
    }

    /// Whether somebody looked, and no reason of the verdict is that.
    fn is_a_look(&self, row: &Row) -> bool {
        let rests = self.report.verdict.rests_on.contains(&row.entry);
        matches!(self.act(row.entry), Some(Act::Look { .. })) && !rests
    }

    /// "F3 (4)", "boot lamp no (6)".
    fn in_short(&self, row: &Row) -> String {
        if let Some(Act::Read { point, .. }) = self.act(row.entry) {
            format!("{} ({})", safe(&self.case.name(point)), row.entry)
        } else {
            let text = self.text(row.entry);
            format!("{} ({})", text.trim_start_matches("look "), row.entry)
        }
    }

    /// ": probe slipped": the reason with which a reading was withdrawn.
    fn taken_back(&self, row: &Row) -> String {
        let mut entries = self.case.entries().iter();
        let reason = entries.find_map(|entry| match &entry.act {
            Act::Withdraw { entry, reason } if *entry == row.entry => Some(safe(reason)),
            _ => None,
        });
        let reason = reason.filter(|reason| !reason.is_empty() && row.worth == Worth::Withdrawn);
        reason.map_or_else(String::new, |reason| format!(": {reason}"))
    }

    /// Why nothing rests on a reading, so that it stands below the table; `None` where it stands in it.
    fn aside(&self, row: &Row) -> Option<Aside> {
        let mut repairs = self.report.repairs.iter();
        let verifies = repairs.any(|r| r.draws.iter().any(|draw| draw.entry == row.entry));
        if verifies || self.report.verdict.rests_on.contains(&row.entry) {
            return None;
        }
        match row.worth {
            Worth::Earlier if self.is_read_again(row) => Some(Aside::Again),
            Worth::Earlier => Some(Aside::Ended),
            Worth::Withdrawn => Some(Aside::TakenBack),
            Worth::NotTaken => Some(Aside::Doubtful),
            Worth::Awake => Some(Aside::Awake),
            Worth::Counts | Worth::Seen => self.is_read_again(row).then_some(Aside::Again),
        }
    }

    /// Whether the same was read at the same point with the same out, later or in a reading that the verdict
    /// rests on.
    fn is_read_again(&self, row: &Row) -> bool {
        let at = |entry: u32| match self.act(entry)? {
            Act::Read { method, point, .. } => Some((*method, point)),
            _ => None,
        };
        let same = |other: &Row| {
            other.entry != row.entry
                && other.out == row.out
                && at(row.entry).is_some()
                && at(other.entry) == at(row.entry)
        };
        let rests = |other: &Row| self.report.verdict.rests_on.contains(&other.entry);
        let counts = |other: &Row| matches!(other.worth, Worth::Counts | Worth::Seen);
        let repair = self.report.repairs.iter().flat_map(|r| r.entries.iter());
        let repair = repair.copied().max().unwrap_or(0);
        let mut others = self.report.rows.iter();
        // What was read after the repair is no repetition of what was read before it.
        others.any(|other| {
            same(other)
                && (other.entry < repair) == (row.entry < repair)
                && (rests(other) || counts(other) && other.entry > row.entry)
        })
    }

    pub(super) fn worth(&self, row: &Row) -> String {
        let rests = self.report.verdict.rests_on.contains(&row.entry);
        let word = match row.worth {
            Worth::Counts | Worth::Seen => "",
            Worth::Earlier => "was true then",
            Worth::Awake => "awake: rules nothing out",
            Worth::NotTaken => "not relied on",
            Worth::Withdrawn => "withdrawn",
        };
        match (rests, word) {
            // A proof is of its time, whatever was read later.
            (true, _) if row.worth == Worth::Earlier => "the verdict rests on it".to_owned(),
            (true, "") => "the verdict rests on it".to_owned(),
            (true, word) => format!("the verdict rests on it; {word}"),
            (false, word) => word.to_owned(),
        }
    }
}
