//! The write-up in Markdown: first for the customer in plain words, then for the next electrician.

use crate::case::{Case, Found};
use crate::feeds::{Feeds, PartId};
use crate::instruments::Range;
use crate::journal::Act;
use crate::ledger::Out;
use crate::problem::clean;
use crate::quantity::Quantity;
use crate::render::answer::current;
use crate::render::why::entry_text;
use crate::render::words::{count, listed, named_cause, plain, unlisted};
use crate::report::{Report, Rival};
use crate::suspects::{Cause, Subject};
use std::fmt::Write as _;

mod customer;
mod data;
mod figures;
mod moved;
mod open;
mod owner;
mod proof;
mod record;
mod there;
mod when;

pub use data::{repair_json, report_json};
pub use when::When;
pub(super) use when::lasting;

/// Lists of suspects are cut after this many.
const MOST: usize = 12;

/// The whole write-up; `when` says when its entries were entered. The vehicle maker's procedure is deferred
/// to.
pub fn report_text(report: &Report, case: &Case<'_>, when: &When) -> String {
    let page = Page { report, case, when };
    let name = &case.setting().feeds.vehicle().name;
    let mut out = format!("# Battery drain: {}\n\n{}", safe(name), page.to_fill_in());
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
    section("### Is anything left", page.left());
    section("### Where it is", page.located());
    section("### Readings", page.readings());
    section("### Ruled out", page.cleared());
    section("### Not proven", page.not_proven());
    section("### Taken out on the way", page.moved());
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
    when: &'r When,
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
            Subject::Unlisted(part) => safe(&unlisted(self.feeds().id(*part))),
            _ => safe(&subject.id(&self.case.setting().feeds)),
        }
    }

    /// "cargo lamp and blower".
    fn all_called(&self, subjects: &[Subject]) -> String {
        let names: Vec<String> = subjects.iter().map(|s| self.called(s)).collect();
        listed(&names)
    }

    fn taken(&self, out: &Out) -> String {
        let feeds = self.feeds();
        // A coil comes out with its relay.
        let with_its_relay = |coil: &PartId| {
            let relay = feeds.moved_by(*coil);
            relay.is_some_and(|relay| out.parts().any(|part| part == relay))
        };
        let parts = out.parts().filter(|part| !with_its_relay(part));
        let parts = parts.map(|p| safe(feeds.id(p)));
        let parts: Vec<String> = parts.chain(out.inputs().map(safe)).collect();
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
        self.case.setting().limit()
    }

    /// What an entry did.
    fn act(&self, entry: u32) -> Option<&Act> {
        let entry = self.case.entries().get(entry as usize - 1)?;
        Some(&entry.act)
    }

    fn text(&self, entry: u32) -> String {
        safe(entry_text(self.case, entry))
    }
}

/// These words, where what else fits a proof is less likely: of the wiring on its way a load is the likelier, but of one
/// fault of a wire and another neither is.
fn less_likely(found: &Found, words: &str) -> String {
    let of_wire = matches!(found.cause, Cause::Leak | Cause::NotOnSheet);
    if of_wire { "" } else { words }.to_owned()
}

fn alone(but: &str, ruled_out: &[Rival], left: &[Rival]) -> String {
    /// So many are all named.
    const NAMED: usize = 3;
    let mut said = Vec::new();
    if !ruled_out.is_empty() {
        let most = ruled_out.iter().map(|r| r.hides).fold(0.0, f64::max);
        let cited: Vec<u32> = ruled_out.iter().flat_map(|r| r.entries.clone()).collect();
        let by = if cited.is_empty() {
            String::new()
        } else {
            format!(" ({})", entries(&cited))
        };
        let names: Vec<String> = ruled_out.iter().map(|r| cause(&r.id, r.cause)).collect();
        let most = current(most);
        said.push(match names.as_slice() {
            [one] => {
                format!("Out with it was also {one}: {most} too much at most{by}.")
            }
            few if few.len() <= NAMED => format!(
                "Out with it were also {}: {most} too much each at most{by}.",
                few.join("; ")
            ),
            several => format!(
                "Out with it were also {}, none of which takes more than {most} too much{by}.",
                count(several.len(), "other suspect")
            ),
        });
    }
    if !left.is_empty() {
        let names: Vec<String> = left.iter().take(MOST).map(bounded).collect();
        said.push(format!(
            "Out with it too, and not ruled out by a reading{but}: {}{}.",
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
        "{}: up to {}{by}",
        cause(&rival.id, rival.cause),
        current(rival.hides)
    )
}

/// "cargo lamp", "K4 coil held on".
fn cause(id: &str, cause: Cause) -> String {
    safe(&named_cause(id, cause))
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
        "volts" => "Battery at rest",
        "added" => "Added",
        "work" => "Work done before",
        "dead" => "Dead or odd besides",
        "parked" => "How it is parked",
        "rain" => "After rain",
        "coverage" => "Radio coverage where parked",
        "network" => "Network",
        "celsius" => "Temperature at the fuses, °C",
        other => other,
    }
}

/// What a known key says where its answer is that there is none.
fn told_none(key: &str, text: &str) -> Option<&'static str> {
    let text = text.to_lowercase();
    let none = ["none", "nothing", "nil", "no"].contains(&text.trim_end_matches('.'));
    match key {
        "added" if none => Some("Nothing was added"),
        "work" if none => Some("No work was done before"),
        "dead" if none => Some("Nothing dead or odd besides"),
        "rain" if none => Some("Not after rain"),
        "coverage" if none => Some("No radio coverage where parked"),
        _ => None,
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
