//! What was taken out on the way and what of it went back: for stored faults, and for settings that were lost.

use super::{Page, bullets, safe};
use crate::feeds::PartId;
use crate::journal::{Act, Point};
use crate::render::cautions::is_named;
use crate::render::words::listed;
use crate::vehicle::{LoadKind, PartKind};

/// Words in the name of what forgets its settings without a feed (common practice, no source).
const FORGETS: [&str; 8] = [
    "clock", "radio", "memory", "cluster", "body", "seat", "window", "sunroof",
];

/// Something that came out: its name as it was typed, its parts, and the entries that it came out and went back in by.
struct Moved {
    name: String,
    parts: Vec<PartId>,
    unplugged: bool,
    times: Vec<(u32, Option<u32>)>,
}

impl Page<'_> {
    fn parts_at(&self, point: &Point) -> Vec<PartId> {
        match point {
            Point::Part(part) => vec![*part],
            Point::Plug(_, parts) => parts.clone(),
            Point::Module(module) => self.feeds().module_feeds(*module).to_vec(),
            _ => Vec::new(),
        }
    }

    /// All that came out, in the order in which it first did.
    fn all_moved(&self) -> Vec<Moved> {
        let counting = self.case.counting();
        let entries = self.case.entries().iter();
        let mut all: Vec<Moved> = Vec::new();
        for entry in entries.filter(|entry| counting.binary_search(&entry.number).is_ok()) {
            match &entry.act {
                Act::Pull(points) | Act::Unplug(points) => {
                    let unplugged = matches!(entry.act, Act::Unplug(_));
                    for point in points {
                        let (name, parts) = (self.case.name(point), self.parts_at(point));
                        let time = (entry.number, None);
                        match all.iter_mut().find(|moved| moved.name == name) {
                            // Out again, or said twice.
                            Some(moved) if moved.is_out() => {}
                            Some(moved) => moved.times.push(time),
                            None => all.push(Moved {
                                name,
                                parts,
                                unplugged,
                                times: vec![time],
                            }),
                        }
                    }
                }
                Act::Refit(points) => {
                    let back: Vec<PartId> = points
                        .iter()
                        .flat_map(|point| self.parts_at(point))
                        .collect();
                    let names: Vec<String> = points.iter().map(|p| self.case.name(p)).collect();
                    let goes = |moved: &&mut Moved| {
                        points.is_empty()
                            || names.contains(&moved.name)
                            || moved.parts.iter().any(|part| back.contains(part))
                    };
                    for moved in all.iter_mut().filter(goes) {
                        if let Some((_, back @ None)) = moved.times.last_mut() {
                            *back = Some(entry.number);
                        }
                    }
                }
                _ => {}
            }
        }
        all
    }

    /// A line for each that came out; nothing where nothing did.
    pub(super) fn moved(&self) -> String {
        let still = |moved: &Moved| {
            let mut out = self.report.out.iter();
            out.any(|taken| taken.parts.iter().any(|part| moved.parts.contains(part)))
        };
        let lines: Vec<String> = self
            .all_moved()
            .iter()
            .map(|moved| {
                let how = if moved.unplugged {
                    "unplugged"
                } else {
                    "pulled"
                };
                let times = moved.times.iter().map(|(out, back)| match back {
                    Some(back) => format!("out in entry {out}, back in {back}"),
                    None if still(moved) => format!("out in entry {out}, **still out**"),
                    None => format!("out in entry {out}, back in by what was entered later"),
                });
                let times: Vec<String> = times.collect();
                format!("{}, {how}: {}", safe(&moved.name), times.join("; "))
            })
            .collect();
        if lines.is_empty() {
            return String::new();
        }
        format!(
            "In this order; stored faults and lost settings may come from this.\n\n{}",
            bullets(&lines)
        )
    }

    /// For the owner: that settings may be lost, where what keeps some was without its feed.
    pub(super) fn settings_lost(&self) -> Option<String> {
        let feeds = self.feeds();
        let forgets = |part: PartId| {
            let kind = feeds.load_kind(part);
            let kinds = [LoadKind::Audio, LoadKind::BodyModule];
            feeds.part(part).kind == PartKind::Load
                && (kind.is_some_and(|kind| kinds.contains(&kind))
                    || is_named(part, &FORGETS, feeds))
        };
        let mut names: Vec<String> = Vec::new();
        for moved in self.all_moved() {
            let below = moved.parts.iter().flat_map(|part| feeds.subtree(*part));
            for part in below.map(PartId).filter(|part| forgets(*part)) {
                let name = self.owner_part(part);
                if !names.contains(&name) {
                    names.push(name);
                }
            }
        }
        (!names.is_empty()).then(|| {
            let few = names.len() <= 3;
            let what = if few { format!(" ({})", listed(&names)) } else { String::new() };
            format!(
                "Some of the equipment was without power while we measured{what}: settings such as the clock, radio presets or a radio code may need to be entered again."
            )
        })
    }
}

impl Moved {
    fn is_out(&self) -> bool {
        self.times.last().is_some_and(|(_, back)| back.is_none())
    }
}
