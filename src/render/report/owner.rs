//! What a vehicle's owner calls things: names, and of a fuse or relay what it is, as the lid numbers it; no plug,
//! no splice, no feed of a module.

use super::{Page, safe};
use crate::case::Found;
use crate::feeds::{Named, PartId};
use crate::journal::{Act, Point};
use crate::render::culprit::{contact, may_be_extra, on_the_wire, switch_words};
use crate::render::mending::{fed_by_it_too, for_the_owner, is_wet};
use crate::render::words::listed;
use crate::suspects::{Cause, Subject};
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
            Subject::Unlisted(part) => {
                format!("something extra wired to {}", self.owner_part(*part))
            }
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
            return format!(
                "{}, its wiring or something extra on it",
                self.owner_reads(at)
            );
        }
        match self.feeds().find(name) {
            Some(Named::Part(part)) => self.owner_part(*part),
            Some(Named::Plug(parts)) => self.in_plug(parts).join(" or "),
            _ => with_article(safe(name)),
        }
    }

    /// "the radio and the body module stay awake though everything is switched off": the modules that are up together.
    pub(super) fn stay_awake(&self) -> String {
        let modules = self.case.kept_up().into_iter();
        let names: Vec<String> = modules
            .map(|module| with_article(safe(&self.feeds().module(module).id.value)))
            .collect();
        let stay = if names.len() == 1 { "stays" } else { "stay" };
        format!(
            "{} {stay} awake though everything is switched off",
            listed(&names)
        )
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
        let plain = called.trim_start_matches("the ");
        match text.as_str() {
            "" => called,
            // It says itself what it was done to.
            text if text.to_lowercase().starts_with(&plain.to_lowercase()) => text.to_owned(),
            text => format!("{called} ({text})"),
        }
    }

    /// "the cargo lamp, or what keeps it on", "the radio (or the roof lamp, disconnected with it)": what was proven, and
    /// what the same proof would fit.
    pub(super) fn with_what_hangs_there(&self, found: &Found) -> String {
        if let Some(wire) = self.owner_wire(found) {
            return wire;
        }
        let called = match switch_words(found, self.feeds()) {
            Some((id, Some(of))) => safe(&format!("{id} ({of})")),
            Some((_, None)) => {
                contact(found, self.feeds()).map_or_else(String::new, |at| self.owner_part(at))
            }
            None => self.owner_calls(&found.subject),
        };
        let mut out = self.case.not_told_apart(found);
        out.extend(fed_by_it_too(found, self.case));
        let mut others = self.in_plug(&out);
        others.retain(|other| *other != called);
        let called = if others.is_empty() {
            called
        } else {
            format!(
                "{called} (or {}, disconnected with it)",
                others.join(" or ")
            )
        };
        for_the_owner(found, &called, self.case, safe)
    }

    /// A fault of a wire, as its owner would say it.
    fn owner_wire(&self, found: &Found) -> Option<String> {
        let at = match (found.cause, &found.subject) {
            (Cause::Leak, Subject::Part(at)) | (Cause::NotOnSheet, Subject::Unlisted(at)) => *at,
            _ => return None,
        };
        let taken = found.taken.iter().flat_map(|taken| &taken.parts).next();
        let behind = self.owner_part(*taken.unwrap_or(&at));
        if on_the_wire(found, self.case)?.is_empty() {
            return Some(format!(
                "what hangs on {behind}, of which we have no record"
            ));
        }
        let how = if is_wet(found, self.case) {
            "wet or damaged"
        } else {
            "damaged or damp"
        };
        Some(format!(
            "the wiring behind {behind}: {how}{}",
            if may_be_extra(found, self.case) {
                ", or something extra wired to it"
            } else {
                ""
            }
        ))
    }

    /// Proven modules of one network, by their names.
    pub(super) fn of_one_network(&self) -> Vec<String> {
        let modules = self.case.of_one_network().into_iter();
        modules
            .map(|module| safe(&self.feeds().module(module).id.value))
            .collect()
    }
}
