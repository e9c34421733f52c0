//! What a vehicle's owner calls things: names, and of a fuse or relay what it is, as the lid numbers it; no plug,
//! no splice, no feed of a module.

use super::{Page, safe};
use crate::case::Found;
use crate::feeds::{Named, PartId};
use crate::journal::{Act, Point};
use crate::render::culprit::{may_be_passed, switch_words, switched_on_by};
use crate::report::wiring_too;
use crate::suspects::Subject;
use crate::vehicle::PartKind;

/// "the cargo lamp"; what begins with a capital or is numbered stands alone, as "F3" does.
fn with_article(name: String) -> String {
    let plain = name.starts_with(char::is_lowercase) && !name.starts_with("something");
    let numbered = name.contains(|c: char| c.is_ascii_digit());
    if plain && !numbered {
        format!("the {name}")
    } else {
        name
    }
}

/// Whether one says "are" of a name: "awning lamps".
fn is_plural(name: &str) -> bool {
    let name = name.split(" (").next().unwrap_or(name);
    name.ends_with('s') && !name.ends_with("ss") && !name.ends_with("us")
}

/// "is" and "does", or "are" and "do".
pub(super) fn number_of(names: &[String]) -> (&'static str, &'static str) {
    match names {
        [one] if !is_plural(one) => ("is", "does"),
        _ => ("are", "do"),
    }
}

impl Page<'_> {
    /// A part by its name; a feed of a module is the module, and a fuse, link or relay without a name says what it
    /// is before its number.
    pub(super) fn owner_part(&self, part: PartId) -> String {
        let written = self.feeds().part(part);
        if let Some(module) = &written.of {
            return with_article(safe(&module.value));
        }
        let id = &written.id.value;
        let name = written.name.as_deref().unwrap_or(id);
        let bare = written.name.is_none() && with_article(id.clone()) == *id;
        let kind = match written.kind {
            PartKind::Fuse | PartKind::Relay | PartKind::Breaker => written.kind.word(),
            PartKind::Link => "fusible link",
            _ => "",
        };
        if bare && !kind.is_empty() {
            format!("{} {}", kind.to_lowercase(), safe(id))
        } else {
            with_article(safe(name))
        }
    }

    /// What a subject is called to its owner.
    pub(super) fn owner_calls(&self, subject: &Subject) -> String {
        match subject {
            Subject::Unlisted(part) => format!(
                "something extra wired to {} that no wiring diagram shows",
                self.owner_part(*part)
            ),
            Subject::Part(part) => self.owner_part(*part),
            _ => with_article(self.called(subject)),
        }
    }

    /// What was proven as it was called when it was named first: of a contact the number, which stood there with what
    /// it switches.
    pub(super) fn owner_knows(&self, found: &Found) -> String {
        match switch_words(found, self.feeds()) {
            Some((id, Some(_))) => safe(&id),
            _ => self.owner_calls(&found.subject),
        }
    }

    /// What hangs in a plug, each once.
    pub(super) fn in_plug(&self, parts: &[PartId]) -> Vec<String> {
        let mut names = Vec::new();
        for part in parts {
            let name = self.owner_part(*part);
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names
    }

    /// A name of the file as its owner would know it.
    pub(super) fn owner_reads(&self, name: &str) -> String {
        if let Some(at) = name.strip_prefix("unlisted at ") {
            return format!("something extra wired to {}", self.owner_reads(at));
        }
        match self.feeds().find(name) {
            Some(Named::Part(part)) => self.owner_part(*part),
            Some(Named::Plug(parts)) => self.in_plug(parts).join(" or "),
            _ => with_article(safe(name)),
        }
    }

    /// What was located, in the names of its owner.
    pub(super) fn narrowed_to(&self) -> String {
        let located = self.report.located.iter();
        let names: Vec<String> = located.map(|one| self.owner_reads(&one.id)).collect();
        names.join(" or ")
    }

    /// "the cargo lamp (lamp switch adjusted)": what was mended, by the name that the owner knows, and how.
    pub(super) fn work_done(&self, entry: u32) -> String {
        let Some(Act::Repaired { point, text }) = self.act(entry) else {
            return self.text(entry);
        };
        let text = safe(text);
        let Some(point) = point else { return text };
        let name = self.case.name(point);
        let found = &self.report.verdict.found;
        let cause = found.iter().find(|found| {
            let mut taken = found.taken.iter();
            taken.any(|taken| taken.name == name) || found.subject.id(self.feeds()) == name
        });
        let called = match (cause, point) {
            (Some(found), _) => self.owner_knows(found),
            (None, Point::Part(part)) => self.owner_part(*part),
            (None, Point::Plug(_, parts)) => self.in_plug(parts).join(" or "),
            (None, _) => with_article(safe(&name)),
        };
        match text.as_str() {
            "" => called,
            text => format!("{called} ({text})"),
        }
    }

    /// "the cargo lamp", or "the cargo lamp (or the roof lamp, disconnected with it)".
    pub(super) fn with_what_hangs_there(&self, found: &Found) -> String {
        if let ([_, ..], Some(part)) = (
            &wiring_too(self.case, found)[..],
            found.taken.iter().flat_map(|taken| &taken.parts).next(),
        ) {
            return format!(
                "a fault of the wiring behind {}: something extra wired to it, or a damaged wire",
                self.owner_part(*part)
            );
        }
        let called = match switch_words(found, self.feeds()) {
            Some((id, Some(of))) if may_be_passed(found, self.case) => {
                safe(&format!("{id} ({of}), or a wire past it"))
            }
            Some((id, Some(of))) => safe(&format!("{id} ({of})")),
            _ if switched_on_by(found, self.feeds()).is_some() => {
                format!("{}, or what keeps it on", self.owner_calls(&found.subject))
            }
            _ => self.owner_calls(&found.subject),
        };
        let mut others = self.in_plug(&self.case.not_told_apart(found));
        others.retain(|other| *other != called);
        if others.is_empty() {
            return called;
        }
        format!(
            "{called} (or {}, disconnected with it)",
            others.join(" or ")
        )
    }

    /// Proven modules of one network, by their names.
    pub(super) fn of_one_network(&self) -> Vec<String> {
        let modules = self.case.of_one_network().into_iter();
        modules
            .map(|module| safe(&self.feeds().module(module).id.value))
            .collect()
    }
}
