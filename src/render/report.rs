//! The write-up in Markdown: first for the customer in plain words, then for the next electrician.

use crate::battery;
use crate::case::{Case, Found};
use crate::feeds::{Feeds, PartId};
use crate::instruments::{Clamp, Range};
use crate::interval::Interval;
use crate::ledger::Out;
use crate::problem::clean;
use crate::quantity::{Days, Milliamps, Quantity};
use crate::render::answer::{current, span};
use crate::render::why::entry_text;
use crate::render::words::{capital, count, number, particulars, plain, plug};
use crate::report::{
    Ending, Ground, Possible, Repaired, Report, Rival, Row, Settled, ToDo, Verified, Worth,
};
use crate::suspects::{Cause, Subject};
use crate::vehicle::PartKind;
use std::fmt::Write as _;

mod data;

pub use data::report_json;

/// Lists of suspects are cut after this many.
const MOST: usize = 12;

/// The whole write-up. The vehicle maker's procedure is deferred to.
pub fn report_text(report: &Report, case: &Case<'_>) -> String {
    let page = Page { report, case };
    let name = &case.setting().feeds.vehicle().name;
    let mut out = format!("# Battery drain: {}\n", safe(name));
    let mut section = |head: &str, text: String| {
        if !text.is_empty() {
            let _ = write!(out, "\n{head}\n\n{}\n", text.trim_end());
        }
    };
    section("## For the customer", page.customer());
    section("## For the next electrician", page.headline());
    section("### Why", page.grounds());
    section("### Complaint and conditions", page.conditions());
    section("### Instruments", page.instruments());
    section("### Before and after", page.before_and_after());
    section("### After the repair", page.repairs());
    section("### Where it is", page.located());
    section("### Readings", page.readings());
    section("### Ruled out", page.cleared());
    section("### Not proven", page.not_proven());
    section("### Still out", page.still_out());
    section("### Left to do", page.to_do());
    section("### Care", care());
    out
}

/// Text from a file or a person, so that Markdown takes it as it stands.
fn safe(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let text = clean(text).replace(['\n', '\t'], " ");
    // Brackets alone are only brackets.
    let link = ["](", "][", "]:"].iter().any(|end| text.contains(end));
    for c in text.chars() {
        let acts = matches!(
            c,
            '\\' | '`' | '*' | '_' | '|' | '<' | '>' | '#' | '~' | '&'
        );
        if acts || (link && matches!(c, '[' | ']')) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// "a", "a and b", "a, b and c".
fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [others @ .., last] => format!("{} and {last}", others.join(", ")),
    }
}

/// "entry 3", "entries 3, 6 and 9".
fn entries(list: &[u32]) -> String {
    let mut list = list.to_vec();
    list.sort_unstable();
    list.dedup();
    let numbers: Vec<String> = list.iter().map(u32::to_string).collect();
    let word = if numbers.len() == 1 {
        "entry"
    } else {
        "entries"
    };
    format!("{word} {}", listed(&numbers))
}

fn bullets(lines: &[String]) -> String {
    let mut out = String::new();
    for line in lines {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "- {line}");
    }
    out
}

fn care() -> String {
    "The vehicle maker's procedure, local rules and licensed practice come before this sheet: negative lead first off and last on, no sparks at the battery, airbag and orange high-voltage circuits for trained people only.".to_owned()
}

struct Page<'r> {
    report: &'r Report,
    case: &'r Case<'r>,
}

impl Page<'_> {
    fn feeds(&self) -> &Feeds {
        &self.case.setting().feeds
    }

    /// What a subject is called by a person: its name, else its id.
    fn called(&self, subject: &Subject) -> String {
        match subject {
            Subject::Part(part) => {
                let written = self.feeds().part(*part);
                safe(written.name.as_deref().unwrap_or(&written.id.value))
            }
            Subject::Unlisted(part) => format!(
                "something on no sheet below {}",
                safe(self.feeds().id(*part))
            ),
            _ => safe(&subject.id(&self.case.setting().feeds)),
        }
    }

    fn taken(&self, out: &Out) -> String {
        let parts: Vec<String> = out.parts().map(|p| safe(self.feeds().id(p))).collect();
        if parts.len() > 6 {
            let first = parts[..5].to_vec();
            return format!("{} and {} more", first.join(", "), parts.len() - 5);
        }
        listed(&parts)
    }

    fn proven(&self) -> impl Iterator<Item = &Found> {
        self.report.verdict.found.iter().filter(|f| f.returned)
    }

    fn limit(&self) -> f64 {
        self.case.setting().healthy.limit()
    }

    /// "with C114 unplugged the draw fell by 559 mA to 631 mA, and with it back in it returned".
    fn proof(found: &Found) -> String {
        let taken: Vec<String> = found.taken.iter().map(|t| safe(&t.name)).collect();
        let unplugged = found.taken.iter().all(|t| t.unplugged);
        let how = if unplugged { "unplugged" } else { "pulled" };
        format!(
            "with {} {how} the draw fell by {}, and with it back in it returned",
            listed(&taken),
            span(found.fell)
        )
    }

    /// What was proven, and how.
    fn causes(&self, head: &str) -> String {
        let names: Vec<String> = self.proven().map(|f| self.called(&f.subject)).collect();
        let mut text = format!("{head}: {}.", listed(&names));
        for found in self.proven() {
            let _ = write!(text, " {}.", capital(&Self::proof(found)));
        }
        text
    }

    fn days(&self, draw: Interval<Milliamps>) -> Option<Interval<Days>> {
        let feeds = self.feeds();
        let batteries = feeds
            .parts()
            .filter(|p| feeds.part(*p).kind == PartKind::Battery);
        let written = feeds.part(PartId(0));
        let capacity = written
            .capacity
            .or_else(|| written.reserve.map(battery::capacity_of_reserve))?;
        (batteries.count() == 1).then(|| battery::days_at(draw, capacity))
    }

    fn customer(&self) -> String {
        let mut text = Vec::new();
        let ending = self.report.verdict.ending;
        if let Some(before) = &self.report.before {
            let mut found = format!(
                "Parked and asleep, this vehicle took {} from its battery",
                span(before.current)
            );
            if self.limit().is_finite() {
                let _ = write!(found, "; up to {} is in order", current(self.limit()));
            }
            found.push('.');
            text.push(found);
            let over = before.current.low() > self.limit();
            let days = self
                .days(before.current)
                .filter(|d| over && d.high().is_finite());
            if let Some(days) = days {
                let (low, high, unit) = if days.high() < 2.0 {
                    (days.low() * 24.0, days.high() * 24.0, "hours")
                } else {
                    (days.low(), days.high(), "days")
                };
                text.push(format!(
                    "A full battery is then too weak to start it, or wholly flat, after about {} to {} {unit}.",
                    number(low),
                    number(high)
                ));
            }
        }
        text.push(match ending {
            Ending::Confirmed => {
                let head = match self.proven().count() {
                    1 => "The cause is found and proven".to_owned(),
                    more => format!("{more} causes are found and proven"),
                };
                self.causes(&head) + &self.within()
            }
            Ending::Located => format!(
                "The cause is narrowed down, but not proven: it is at {}.",
                self.located_names()
            ),
            Ending::Gone => "Then the draw went back within the limit though nothing was out: the fault went away by itself, and nothing about it is proven. It may come back.".to_owned(),
            Ending::WithinLimit => "That is in order: there was no drain while we looked. One that comes and goes is not ruled out by this.".to_owned(),
            Ending::Contradiction => "Our readings contradict each other, so there is no result yet; at least one has to be taken again.".to_owned(),
            Ending::NoSingleCause => "No single part takes that much: several small ones may add up, or a reading was wrong.".to_owned(),
            Ending::NoLimit => "How much this vehicle may take is not known to us, so there is no verdict yet.".to_owned(),
            Ending::Open => "The search is not finished.".to_owned(),
        });
        if ending != Ending::Confirmed && self.proven().next().is_some() {
            text.push(self.causes("Proven so far"));
        }
        for found in self.report.verdict.found.iter().filter(|f| !f.returned) {
            text.push(format!(
                "The draw fell when {} was out and stayed down with it back in: it was reset, not repaired.",
                self.called(&found.subject)
            ));
        }
        if !self.report.out.is_empty() {
            let names: Vec<String> = self.report.out.iter().map(|t| safe(&t.name)).collect();
            let (is, does) = if names.len() == 1 {
                ("is", "it feeds does")
            } else {
                ("are", "they feed does")
            };
            text.push(format!(
                "{} {is} out for now, so what {does} not work.",
                listed(&names)
            ));
        }
        text.extend(self.report.repairs.iter().map(|r| self.done(r)));
        text.join(" ")
    }

    /// What was mended, and how the draw was after it, in plain words.
    fn done(&self, repaired: &Repaired) -> String {
        let what: Vec<String> = repaired
            .entries
            .iter()
            .map(|entry| capital(&self.text(*entry)))
            .collect();
        let last = repaired.draws.last().map(|draw| span(draw.current));
        let after = match (repaired.verified, last) {
            (Verified::Watched, Some(last)) => format!(
                "After that, prepared and settled anew with everything in, it takes {last}, which is in order, and it still did when it had been watched."
            ),
            (Verified::Unwatched, Some(last)) => format!(
                "After that, prepared and settled anew with everything in, it takes {last}, which is in order; it was not watched for longer."
            ),
            (Verified::StillOver, Some(last)) => {
                format!("After that it still took {last}, which is too much.")
            }
            _ => "The draw has not been measured since, so it is not known yet whether that mended it."
                .to_owned(),
        };
        format!("{}. {after}", what.join("; "))
    }

    /// Each repair with what was read after it.
    fn repairs(&self) -> String {
        let lines: Vec<String> = self
            .report
            .repairs
            .iter()
            .map(|repaired| {
                let what: Vec<String> = repaired
                    .entries
                    .iter()
                    .map(|entry| format!("{} (entry {entry})", capital(&self.text(*entry))))
                    .collect();
                let draws: Vec<String> = repaired.draws.iter().map(|d| self.settled(d)).collect();
                let read = match repaired.verified {
                    Verified::NotRead => "the settled draw was **not** measured again: not verified".to_owned(),
                    Verified::Unwatched => format!(
                        "prepared and settled anew, everything in: {}; within the limit. **Not** watched as long as the fault's interval",
                        listed(&draws)
                    ),
                    Verified::Watched => format!(
                        "prepared and settled anew, everything in: {}; within the limit both before and after it was watched",
                        listed(&draws)
                    ),
                    Verified::StillOver => format!(
                        "settled anew: {}; still over the limit, so this was not the cause, or not the only one",
                        listed(&draws)
                    ),
                };
                format!("{}: {read}.", what.join("; "))
            })
            .collect();
        bullets(&lines)
    }

    fn within(&self) -> String {
        let last = self.report.after.as_ref().or(self.report.before.as_ref());
        let within = last.filter(|last| last.current.high() <= self.limit());
        within.map_or_else(String::new, |last| {
            let it = if self.proven().count() == 1 {
                "it"
            } else {
                "them"
            };
            format!(
                " Without {it} the vehicle takes {}, which is in order.",
                span(last.current)
            )
        })
    }

    fn located_names(&self) -> String {
        let names: Vec<String> = self.report.located.iter().map(|l| safe(&l.id)).collect();
        listed(&names)
    }

    fn entry_texts(&self, wanted: impl Fn(&str) -> bool) -> Vec<String> {
        let text = |n: &u32| self.text(*n);
        self.report
            .notes
            .iter()
            .map(text)
            .filter(|t| wanted(t))
            .collect()
    }

    fn text(&self, entry: u32) -> String {
        safe(entry_text(self.case, entry))
    }

    fn headline(&self) -> String {
        let word = match self.report.verdict.ending {
            Ending::Confirmed => "Confirmed",
            Ending::Located => "Located, not proven",
            Ending::Gone => "Gone, not proven",
            Ending::WithinLimit => "Within the limit",
            Ending::Contradiction => "No result: readings contradict each other",
            Ending::NoSingleCause => "No single cause",
            Ending::NoLimit => "No verdict: no limit known",
            Ending::Open => "Not finished",
        };
        let names: Vec<String> = match self.report.verdict.ending {
            Ending::Confirmed => self
                .proven()
                .map(|f| {
                    format!(
                        "{}, {}",
                        safe(&f.subject.id(&self.case.setting().feeds)),
                        f.cause.words()
                    )
                })
                .collect(),
            Ending::Located => self.report.located.iter().map(|l| safe(&l.id)).collect(),
            _ => Vec::new(),
        };
        let colon = if names.is_empty() { "" } else { ": " };
        format!(
            "**{word}{colon}{}.** {} min at the vehicle by the tool's own count.",
            names.join("; "),
            number(self.report.spent)
        )
    }

    fn grounds(&self) -> String {
        let mut out = String::new();
        for (index, ground) in self.report.verdict.grounds.iter().enumerate() {
            let _ = writeln!(out, "{}. {}", index + 1, self.ground(ground));
        }
        let rests = &self.report.verdict.rests_on;
        if !rests.is_empty() {
            let _ = writeln!(
                out,
                "\nThis rests on {}: with these readings alone it comes out the same (tried).",
                entries(rests)
            );
        }
        out
    }

    fn settled(&self, draw: &Settled) -> String {
        let out = if draw.out.is_empty() {
            String::new()
        } else {
            format!(" with {} out", self.taken(&draw.out))
        };
        format!(
            "{}{out} (entry {}: {})",
            span(draw.current),
            draw.entry,
            self.text(draw.entry)
        )
    }

    fn ground(&self, ground: &Ground) -> String {
        let verdict = &self.report.verdict;
        let subject = |index: &usize| {
            let found = verdict.found.get(*index);
            found.map(|f| self.called(&f.subject)).unwrap_or_default()
        };
        match ground {
            Ground::Limit(limit) => {
                let assumed = if self.feeds().vehicle().limit.is_some() {
                    "by the vehicle file"
                } else {
                    "assumed; common practice, no source"
                };
                format!(
                    "The settled draw may be up to {} ({assumed}).",
                    current(*limit)
                )
            }
            Ground::Found(draw) => {
                let over = if draw.current.low() > self.limit() {
                    let by = draw.current.low() - self.limit();
                    format!(", at least {} over the limit", current(by))
                } else {
                    String::new()
                };
                format!("It was {}{over}.", self.settled(draw))
            }
            Ground::Fell { found, draws, fell } => format!(
                "Without {} it fell by {} ({}).",
                subject(found),
                span(*fell),
                entries(draws)
            ),
            Ground::Alone {
                found,
                ruled_out,
                left,
            } => alone(&subject(found), ruled_out, left),
            Ground::Returned {
                found,
                draw,
                returned: true,
            } => format!(
                "With {} back in it returned (entry {draw}: {}).",
                subject(found),
                self.text(*draw)
            ),
            Ground::Returned { found, draw, .. } => format!(
                "With {} back in it did **not** return (entry {draw}: {}): it was reset, not proven.",
                subject(found),
                self.text(*draw)
            ),
            Ground::Within(draw) => format!("It is within the limit now: {}.", self.settled(draw)),
            Ground::StillOver(draw) => format!(
                "It is not proven to be within the limit: {}.",
                self.settled(draw)
            ),
            Ground::Clash(clash) => {
                let texts: Vec<String> = clash
                    .iter()
                    .map(|n| format!("entry {n}, {}", self.text(*n)))
                    .collect();
                format!("These cannot all be true: {}.", texts.join("; "))
            }
            Ground::Largest(rivals) => format!(
                "The largest that are left: {}.",
                rivals.iter().map(bounded).collect::<Vec<_>>().join("; ")
            ),
            Ground::Left(rival, carrying) => {
                let left = bounded(rival);
                match carrying {
                    Some((part, least, cited)) => format!(
                        "{} carries at least {} too much ({}); what is left there: {left}.",
                        safe(self.feeds().id(*part)),
                        current(*least),
                        entries(cited)
                    ),
                    None => format!("What is left: {left}."),
                }
            }
        }
    }

    fn conditions(&self) -> String {
        let mut lines = Vec::new();
        for (key, text) in &self.report.told {
            let key = key.as_deref().map(told_word);
            let text = safe(text);
            lines.push(match key {
                Some(key) => format!("{key}: {text}"),
                None => text,
            });
        }
        if lines.is_empty() {
            lines.push("No complaint was entered.".to_owned());
        }
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
        for note in self.entry_texts(|_| true) {
            let text = note
                .strip_prefix("note ")
                .map(|text| format!("Note: {text}"));
            lines.push(text.unwrap_or_else(|| capital(&note)));
        }
        bullets(&lines)
    }

    fn instruments(&self) -> String {
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
        if let Some(Clamp { range, .. }) = at_hand.clamp {
            lines.push(format!("Clamp: {}", accuracy(&range, "mA")));
        }
        if let Some(turns) = at_hand.turns {
            lines.push(format!("Loop lead of {turns} turns"));
        }
        if at_hand.assumed {
            lines.push(
                "Assumed: a plain meter, from memory; no instruments file was given.".to_owned(),
            );
        }
        bullets(&lines)
    }

    fn before_and_after(&self) -> String {
        let mut out = String::new();
        let mut row = |name: &str, draw: &Option<Settled>| {
            if let Some(draw) = draw {
                let taken = if draw.out.is_empty() {
                    "nothing".to_owned()
                } else {
                    self.taken(&draw.out)
                };
                let _ = writeln!(
                    out,
                    "| {name} | {} | {taken} | {} | {} |",
                    span(draw.current),
                    draw.entry,
                    self.text(draw.entry)
                );
            }
        };
        row("before", &self.report.before);
        row("after", &self.report.after);
        for draw in self.report.repairs.iter().filter_map(|r| r.draws.last()) {
            row("after the repair", &Some(draw.clone()));
        }
        if out.is_empty() {
            return "No settled draw was read.".to_owned();
        }
        format!("| | settled draw | out | entry | typed |\n|---|---|---|---|---|\n{out}")
    }

    fn located(&self) -> String {
        let feeds = self.feeds();
        let mut out = String::new();
        for located in &self.report.located {
            let _ = writeln!(
                out,
                "{}, {} too much; from the battery down:\n",
                safe(&located.id),
                span(located.excess)
            );
            for part in &located.path {
                let what = particulars(feeds, *part).join(", ");
                let _ = writeln!(out, "1. {}: {}", safe(feeds.id(*part)), safe(&what));
            }
            let plugs: Vec<String> = located
                .path
                .iter()
                .rev()
                .filter_map(|part| plug(feeds.part(*part)))
                .map(|plug| safe(&plug))
                .collect();
            if !plugs.is_empty() {
                let _ = writeln!(
                    out,
                    "\nPlugs on the way, nearest first: {}.",
                    plugs.join(", ")
                );
            } else if !located.unplug.is_empty() {
                let names: Vec<String> = located.unplug.iter().map(|n| safe(n)).collect();
                let _ = writeln!(out, "\nTo take out, nearest first: {}.", names.join(", "));
            }
            out.push('\n');
        }
        out
    }

    fn readings(&self) -> String {
        if self.report.rows.is_empty() {
            return "Nothing was read.".to_owned();
        }
        let mut out = String::from("| entry | typed | showed | out | |\n|---|---|---|---|---|\n");
        for row in &self.report.rows {
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
        out
    }

    fn worth(&self, row: &Row) -> String {
        let rests = self.report.verdict.rests_on.contains(&row.entry);
        let word = match row.worth {
            Worth::Counts | Worth::Seen => "",
            Worth::Earlier => "superseded: the draw changed since, or it was read again",
            Worth::Awake => "awake: rules nothing out",
            Worth::NotTaken => "not relied on",
            Worth::Withdrawn => "withdrawn",
        };
        match (rests, word) {
            (true, "") => "the verdict rests on it".to_owned(),
            (true, word) => format!("the verdict rests on it; {word}"),
            (false, word) => word.to_owned(),
        }
    }

    fn cleared(&self) -> String {
        let Some(cleared) = &self.report.cleared else {
            let why = match self.report.verdict.ending {
                Ending::Contradiction => "Nothing, while the readings contradict each other.",
                Ending::Gone => {
                    "Nothing: the fault has gone, and readings from then on prove nothing about it."
                }
                Ending::WithinLimit => "Nothing needed to be: the draw is in order.",
                _ => "Nothing: no settled draw was read.",
            };
            return why.to_owned();
        };
        let feeds = self.feeds();
        let mut out = String::new();
        if cleared.parts.is_empty() && cleared.dead.is_empty() {
            return "Nothing.".to_owned();
        }
        if !cleared.parts.is_empty() {
            let list: Vec<String> = cleared
                .parts
                .iter()
                .map(|(part, hides)| {
                    let below = if feeds.is_leaf(*part) {
                        ""
                    } else {
                        " with all it feeds"
                    };
                    format!(
                        "{}{below}: could hide {}",
                        safe(feeds.id(*part)),
                        current(*hides)
                    )
                })
                .collect();
            let _ = writeln!(
                out,
                "As the cause of the draw before: each could hide less than {}, all of them together {}.\n",
                current(cleared.matters),
                current(cleared.together)
            );
            out.push_str(&bullets(&list));
        }
        if !cleared.dead.is_empty() {
            let names: Vec<String> = cleared.dead.iter().map(|p| safe(feeds.id(*p))).collect();
            let _ = writeln!(out, "\nNo current can pass: {}.", listed(&names));
        }
        out
    }

    fn not_proven(&self) -> String {
        let mut lines = Vec::new();
        for found in self.report.verdict.found.iter().filter(|f| !f.returned) {
            lines.push(format!(
                "{}: the draw fell by {} without it but did not return with it; it was reset, not proven.",
                self.called(&found.subject),
                span(found.fell)
            ));
        }
        let possible = &self.report.possible;
        if !possible.is_empty() {
            let shown: Vec<String> = possible
                .iter()
                .take(MOST)
                .map(
                    |Possible {
                         id,
                         cause: why,
                         hides,
                     }| {
                        format!("{} ({})", cause(id, *why), current(*hides))
                    },
                )
                .collect();
            lines.push(format!(
                "Not ruled out, with what each could hide: {}{}.",
                shown.join("; "),
                more(possible.len())
            ));
        }
        for ground in &self.report.verdict.grounds {
            if let Ground::Alone { found, left, .. } = ground
                && !left.is_empty()
                && self
                    .report
                    .verdict
                    .found
                    .get(*found)
                    .is_some_and(|f| f.returned)
            {
                let names: Vec<String> = left
                    .iter()
                    .take(MOST)
                    .map(|r| cause(&r.id, r.cause))
                    .collect();
                let found = &self.report.verdict.found[*found];
                lines.push(format!(
                    "The same proof would fit, though less likely: {}{}, in place of {}.",
                    names.join("; "),
                    more(left.len()),
                    self.called(&found.subject)
                ));
            }
        }
        for found in self.proven() {
            let taken: Vec<String> = found.taken.iter().map(|t| safe(&t.name)).collect();
            lines.push(format!(
                "With {} out the proof is for all that hangs behind it: {} itself, or its wire from there on.",
                listed(&taken),
                self.called(&found.subject)
            ));
        }
        for entry in &self.report.skipped {
            lines.push(format!("Not done (entry {entry}): {}.", self.text(*entry)));
        }
        lines.push(
            "Whether a drain comes and goes: the readings are of the time they were taken."
                .to_owned(),
        );
        bullets(&lines)
    }

    fn still_out(&self) -> String {
        let mut lines: Vec<String> = self
            .report
            .out
            .iter()
            .map(|taken| {
                let feeds = self.feeds();
                let place = taken.parts.first().and_then(|p| feeds.place(*p));
                let at = place.map(|p| format!(" ({})", safe(&feeds.place_as_written(p).id.value)));
                let how = if taken.unplugged {
                    "unplugged"
                } else {
                    "pulled"
                };
                format!("{}, {how}{}", safe(&taken.name), at.unwrap_or_default())
            })
            .collect();
        if lines.is_empty() {
            lines.push("Nothing that was entered.".to_owned());
        }
        lines.push("Check also: latch tools and bonnet switch, bridge lead, meter (red lead back to V), keep-alive supply, covers and trim.".to_owned());
        bullets(&lines)
    }

    fn to_do(&self) -> String {
        let mut out = String::new();
        for (index, to_do) in self.report.to_do.iter().enumerate() {
            let _ = writeln!(out, "{}. {}", index + 1, self.task(to_do));
        }
        out
    }

    /// What a load hangs on that is open when all is well: it may be the fault behind the load.
    fn switched_by(&self, subject: &Subject) -> Option<String> {
        let Subject::Part(part) = subject else {
            return None;
        };
        let feeds = self.feeds();
        let above = feeds.path(*part).into_iter().rev().skip(1);
        let switches = above.take_while(|p| feeds.up(*p).is_some()).find(|p| {
            let kind = feeds.part(*p).kind;
            matches!(kind, PartKind::Switch | PartKind::Relay | PartKind::Output)
        })?;
        Some(safe(feeds.id(switches)))
    }

    fn task(&self, to_do: &ToDo) -> String {
        match to_do {
            ToDo::Repair(subjects) => {
                let names: Vec<String> = subjects.iter().map(|s| self.called(s)).collect();
                let mut switched: Vec<String> =
                    subjects.iter().filter_map(|s| self.switched_by(s)).collect();
                switched.dedup();
                let look = if switched.is_empty() {
                    String::new()
                } else {
                    format!(" Look first at what switches it on: {}.", listed(&switched))
                };
                format!("Repair or replace what was proven: {}.{look}", listed(&names))
            }
            ToDo::PutBack => "Put back in all that is out.".to_owned(),
            ToDo::Verify => format!(
                "After the repair prepare the vehicle anew, let it settle in full ({} min) with everything in and read the draw; log it as long as the fault's interval.",
                plain(self.feeds().settle().value())
            ),
            ToDo::Watch => "Watch the draw with everything in at least as long as the fault took to show, and read it again.".to_owned(),
            ToDo::ReadAgain(clash) => format!(
                "Take one of these again: {}; withdraw the one that was wrong.",
                entries(clash)
            ),
            ToDo::GoOn => "Go on with the case: the next step is known (halfsplit next).".to_owned(),
            ToDo::PartFurther => "Part what is left by other means: the wiring sheet, a finer meter, a known good part.".to_owned(),
            ToDo::Log => "If the complaint stands, log the draw until it shows again, in the state in which the owner leaves the vehicle.".to_owned(),
            ToDo::SmallOnes => "Read the largest that are left with a finer instrument; several small ones may add up.".to_owned(),
            ToDo::FindLimit => "Find the maker's limit for the settled draw and enter it in the vehicle file.".to_owned(),
        }
    }
}

fn alone(what: &str, ruled_out: &[Rival], left: &[Rival]) -> String {
    let mut said = Vec::new();
    if !ruled_out.is_empty() {
        let most = ruled_out.iter().map(|r| r.hides).fold(0.0, f64::max);
        let cited: Vec<u32> = ruled_out.iter().flat_map(|r| r.entries.clone()).collect();
        let by = if cited.is_empty() {
            String::new()
        } else {
            format!(" ({})", entries(&cited))
        };
        said.push(format!(
            "{} that fell silent with it could hide no more than {} each{by}.",
            count(ruled_out.len(), "other cause"),
            current(most)
        ));
    }
    if !left.is_empty() {
        let names: Vec<String> = left.iter().take(MOST).map(bounded).collect();
        said.push(format!(
            "Not ruled out by a reading, but less likely than {what} or too small alone: {}{}.",
            names.join("; "),
            more(left.len())
        ));
    }
    said.join(" ")
}

fn bounded(rival: &Rival) -> String {
    let by = if rival.entries.is_empty() {
        String::new()
    } else {
        format!(" ({})", entries(&rival.entries))
    };
    format!(
        "{}: could hide {}{by}",
        cause(&rival.id, rival.cause),
        current(rival.hides)
    )
}

/// "cargo lamp, own draw".
fn cause(id: &str, cause: Cause) -> String {
    format!("{}, {}", safe(id), cause.words())
}

/// " and 3 more" behind a list that was cut.
fn more(all: usize) -> String {
    match all.saturating_sub(MOST) {
        0 => String::new(),
        more => format!("; and {more} more"),
    }
}

/// What a known key of the complaint asks for.
fn told_word(key: &str) -> &str {
    match key {
        "days" => "Days to flat",
        "added" => "Added",
        "work" => "Work done before",
        "dead" => "Dead or odd besides",
        "parked" => "How it is parked",
        "rain" => "After rain",
        "coverage" => "Radio coverage where parked",
        "network" => "Network",
        other => other,
    }
}

/// "0.1 mV steps, ±(0.5 % + 2 counts)".
fn accuracy<Q: Quantity>(range: &Range<Q>, unit: &str) -> String {
    format!(
        "{} {unit} steps, ±({} % + {})",
        plain(range.step.value()),
        plain(range.percent),
        count_plain(range.counts)
    )
}

fn count_plain(counts: f64) -> String {
    if (counts - 1.0).abs() < 1e-9 {
        "1 count".to_owned()
    } else {
        format!("{} counts", plain(counts))
    }
}
