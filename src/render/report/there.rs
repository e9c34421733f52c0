//! What was read and seen while a fault was there that has gone since.

use super::{Page, safe};
use crate::case::Shown;
use crate::journal::{Act, Seen};
use crate::measurement::Method;
use crate::render::answer::span;

impl Page<'_> {
    /// It says nothing of the vehicle as it is now, and holds for the fault if that comes back.
    pub(super) fn while_it_was_there(&self) -> Option<String> {
        let readings = self.case.readings().iter();
        let readings = readings.filter(|read| read.asleep && read.taken);
        let mut said: Vec<(u32, String)> = readings
            .filter_map(|read| Some((read.entry, self.read_there(read)?)))
            .collect();
        let counting = self.case.counting();
        let entries = self.case.entries().iter();
        let counts = entries.filter(|entry| counting.binary_search(&entry.number).is_ok());
        said.extend(counts.filter_map(|entry| match &entry.act {
            Act::Look {
                point,
                seen: Seen::Yes,
                word,
            } => {
                let name = safe(&self.case.name(point));
                Some((
                    entry.number,
                    format!("{name} was looked at: {}", safe(word)),
                ))
            }
            _ => None,
        }));
        said.sort_unstable_by_key(|(entry, _)| *entry);
        let said: Vec<String> = said
            .into_iter()
            .map(|(entry, said)| format!("{said} (entry {entry})"))
            .collect();
        (!said.is_empty()).then(|| {
            format!(
                "While it was there: {}. That proves nobody, and holds for it if it comes back.",
                said.join("; ")
            )
        })
    }

    /// What one reading told of it.
    fn read_there(&self, read: &Shown) -> Option<String> {
        let current = read.current?;
        let matters = self.case.setting().healthy.enough_alone();
        match read.method {
            Method::Draw if !read.out.is_empty() && current.low() > self.limit() => Some(format!(
                "with {} out {} flowed all the same",
                self.taken(&read.out),
                span(current)
            )),
            Method::Drop | Method::Clamp | Method::Series if current.low() >= matters => {
                let id = safe(self.feeds().id(read.part));
                Some(format!("{id} carried {}", span(current)))
            }
            _ => None,
        }
    }
}
