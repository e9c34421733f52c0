//! Where each part stands from left to right: behind what feeds it; and what room it needs.

use crate::feeds::{Feeds, PartId, PlaceId};
use crate::render::picture::on_the_row_of_its_feed;
use crate::render::picture::pen::{LARGE, SMALL, width, wrap};
use crate::render::picture::readings::Readings;
use crate::render::picture::symbols::LENGTH;
use crate::render::tree::{Standing, Standings, standing_words};
use crate::render::words;
use crate::vehicle::PartKind;

/// From one line of small text to the next, in mm.
pub(super) const STEP: f64 = 2.7;
/// What a part has above its conductor: one line of its id, in mm.
const ABOVE: f64 = 4.4;
/// What the symbol of a leaf has above its conductor and below it, in mm.
const SYMBOL: f64 = 2.4;
/// From a conductor down to the first line of small text, in mm.
pub(super) const BELOW: f64 = 3.9;
/// The room that a part which feeds others has for its text, in mm: at least, and at most.
const CELL: (f64, f64) = (8.0, 25.0);
/// From the start of a part's conductor to its symbol, in mm.
pub(super) const LEAD: f64 = 1.5;
/// Where the text of a part that feeds others begins, behind the start of its conductor, in mm.
pub(super) const TEXT: f64 = 2.0;
/// The most room of a leaf's text, in mm.
const LEAF: f64 = 46.0;
/// A frame's own room above its first row, for its name.
pub(super) const FRAME: f64 = 3.6;

/// A part where it stands.
pub(super) struct Placed {
    pub(super) id: PartId,
    /// Where its conductor comes in, in mm from the left.
    pub(super) x: f64,
    /// Where what it feeds begins; for a leaf, where its text ends.
    pub(super) end: f64,
    /// Its leaf's number from the top: parts on one straight line have the same.
    pub(super) row: usize,
    /// What it has above its conductor, in mm.
    pub(super) above: f64,
    /// What it has below its conductor, in mm.
    pub(super) below: f64,
    /// Its id, in lines.
    pub(super) title: Vec<String>,
    /// What else is said of it, in lines.
    pub(super) lines: Vec<String>,
    pub(super) standing: Option<Standing>,
    /// Whether its text stands at the right of its symbol rather than round its conductor.
    pub(super) leaf: bool,
}

/// Parts side by side at one place.
pub(super) struct Frame {
    pub(super) place: String,
    pub(super) x: f64,
    pub(super) end: f64,
    pub(super) members: Vec<PartId>,
}

/// The whole drawing before it is cut into pages.
pub(super) struct Layout {
    /// In tree order, so that rows are together and follow each other.
    pub(super) parts: Vec<Placed>,
    pub(super) frames: Vec<Frame>,
    /// How far the drawing reaches to the right, in mm.
    pub(super) width: f64,
}

/// Whether its text stands at the right of its symbol.
fn is_end(feeds: &Feeds, id: PartId) -> bool {
    feeds.is_leaf(id) && matches!(feeds.part(id).kind, PartKind::Load | PartKind::Coil)
}

/// Kinds that stand in boxes.
fn framed(feeds: &Feeds, id: PartId) -> bool {
    matches!(
        feeds.part(id).kind,
        PartKind::Fuse | PartKind::Link | PartKind::Breaker | PartKind::Relay
    )
}

/// Runs of two or more of the parts fed by one part that stand in one box, first and last of each.
fn runs(feeds: &Feeds, up: PartId) -> Vec<(PlaceId, Vec<PartId>)> {
    let mut runs: Vec<(PlaceId, Vec<PartId>)> = Vec::new();
    let mut before = None;
    for child in feeds.children(up) {
        let place = feeds.place(child).filter(|_| framed(feeds, child));
        if let Some(place) = place {
            match runs.last_mut() {
                Some((same, members)) if before == Some(place) && *same == place => {
                    members.push(child);
                }
                _ => runs.push((place, vec![child])),
            }
        }
        before = place;
    }
    runs.retain(|(_, members)| members.len() > 1);
    runs
}

impl Layout {
    pub(super) fn of(feeds: &Feeds, standings: Option<Standings<'_>>, readings: &Readings) -> Self {
        let mut boxed = vec![false; feeds.len()];
        let mut groups = Vec::new();
        for id in feeds.parts() {
            for (place, members) in runs(feeds, id) {
                for member in &members {
                    boxed[member.index()] = true;
                }
                groups.push((place, members));
            }
        }
        let mut parts: Vec<Placed> = Vec::with_capacity(feeds.len());
        for id in feeds.parts() {
            let standing = standings.and_then(|standings| standings(id));
            let mut said: Vec<String> = standing.map(standing_words).into_iter().collect();
            said.extend(readings.get(&id).into_iter().flatten().cloned());
            let part = text_of(feeds, id, said, boxed[id.index()]);
            parts.push(Placed { standing, ..part });
        }
        // What a part feeds begins at one line, where the widest of its kind ends.
        let mut room = vec![0.0_f64; feeds.len()];
        for id in feeds.parts().filter(|id| !parts[id.index()].leaf) {
            if let Some(up) = feeds.up(id) {
                room[up.index()] = room[up.index()].max(parts[id.index()].end);
            }
        }
        let mut row = 0;
        for id in feeds.parts() {
            let n = id.index();
            let (x, own) = match feeds.up(id) {
                Some(up) => (parts[up.index()].end, room[up.index()]),
                None => (0.0, parts[n].end),
            };
            row += usize::from(n > 0 && !on_the_row_of_its_feed(feeds, id));
            parts[n].x = x;
            parts[n].row = row;
            parts[n].end = x + if parts[n].leaf { parts[n].end } else { own };
        }
        let mut frames = Vec::with_capacity(groups.len());
        for (place, members) in groups {
            let (first, last) = (members[0], members[members.len() - 1]);
            parts[first.index()].above += FRAME;
            parts[last.index()].below += 1.2;
            let ends = members.iter().map(|m| parts[m.index()].end);
            frames.push(Frame {
                place: feeds.place_as_written(place).id.value.clone(),
                x: parts[first.index()].x + 0.9,
                end: ends.fold(0.0, f64::max) - 0.6,
                members,
            });
        }
        let ends = parts.iter().map(|part| part.end);
        Self {
            width: ends.fold(0.0, f64::max),
            frames,
            parts,
        }
    }
}

/// A part with its text wrapped, what is said of it in the case first; its end is counted from its
/// start, as it has no place yet.
fn text_of(feeds: &Feeds, id: PartId, mut said: Vec<String>, boxed: bool) -> Placed {
    let leaf = is_end(feeds, id);
    said.extend(words::particulars(feeds, id));
    if boxed && let Some(place) = words::new_place(feeds, id) {
        // The frame says it.
        let place = format!(" [{place}]");
        for entry in &mut said {
            if let Some(at) = entry.rfind(&place) {
                entry.replace_range(at..at + place.len(), "");
            }
        }
    }
    let name = &words::one_line(feeds.id(id));
    let widest = |title: &[String], lines: &[String]| {
        let title = title.iter().map(|line| width(line, LARGE));
        let lines = lines.iter().map(|line| width(line, SMALL));
        title.chain(lines).fold(0.0, f64::max)
    };
    let (title, lines, end) = if leaf {
        let title = wrap(name, LEAF, LARGE);
        let lines = wrap(
            &words::joined(&said, |entry| width(entry, SMALL) + 1.3 <= LEAF),
            LEAF,
            SMALL,
        );
        let end = LEAD + LENGTH + widest(&title, &lines);
        (title, lines, end)
    } else {
        let (least, most) = CELL;
        let title = wrap(name, most, LARGE);
        let wanted = said.iter().map(|entry| width(entry, SMALL));
        let wanted = wanted.chain(title.iter().map(|line| width(line, LARGE)));
        let room = wanted.fold(least, f64::max).min(most);
        let lines = said
            .iter()
            .flat_map(|entry| wrap(&words::one_line(entry), room, SMALL));
        let lines: Vec<_> = lines.collect();
        let room = widest(&title, &lines).max(least);
        (title, lines, TEXT + room + 1.6)
    };
    let (titles, texts) = (title.len() as f64, lines.len() as f64);
    let (above, below) = if leaf {
        (SYMBOL, SYMBOL.max((titles - 1.0 + texts) * STEP + 1.9))
    } else {
        (ABOVE + (titles - 1.0) * STEP, texts * STEP + 2.4)
    };
    Placed {
        id,
        x: 0.0,
        end,
        row: 0,
        above,
        below,
        title,
        lines,
        standing: None,
        leaf,
    }
}
