//! The feed tree drawn for a terminal, and the same as rows of data.
//!
//! **Model.** The drawing is read downwards along conductors: a part that is the only one fed by the
//! part above stands straight below it, on the same line; where a conductor divides, each branch
//! leaves to the right. So depth costs width only where something divides, and series parts (cable,
//! link, fuse) look like what they are.
//!
//! **Invariants.** No line is wider than the width asked for (test `no_line_is_too_wide`), each part
//! is named once, in tree order (test `each_part_has_its_line`).
//!
//! **Cost.** Linear in the parts, times the branches open at each.

use crate::case::Case;
use crate::feeds::{Feeds, PartId};
use crate::problem::clean;
use crate::render::words::{self, TOGETHER, spelled_plainly};
use serde::Serialize;

/// What is known of one part in a case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// `ruled_out`, `too_small`, `in_question`, `carrying` or `dead`; shown with spaces.
    pub state: &'static str,
    /// The least current in its feed, in mA.
    pub low: f64,
    /// The most current in its feed, in mA; infinite where nothing limits it.
    pub high: f64,
    /// What it and all below it could still hide, in mA; infinite where nothing limits it.
    pub hides: f64,
}

/// What each part's standing is; `None` for a part that has none.
pub type Standings<'a> = &'a dyn Fn(PartId) -> Option<Standing>;

/// Above what is shown of a case that was mended.
pub const AS_BEFORE_REPAIR: &str = "as it stood before the repair, with what was proven out:";

/// The standing of each part of a case.
pub fn standings(case: &Case<'_>) -> impl Fn(PartId) -> Option<Standing> + use<> {
    let rows = case.standing();
    move |part| {
        let (_, state, current, hides) = rows.get(part.index())?;
        Some(Standing {
            state: state.word(),
            low: current.low(),
            high: current.high(),
            hides: *hides,
        })
    }
}

/// The characters of the drawing, each one column wide.
struct Pen {
    /// A conductor passing by.
    rail: char,
    /// The conductor goes on, a branch leaves it.
    fork: char,
    /// The last branch.
    bend: char,
    /// Along a branch.
    along: char,
    /// A branch that goes on downwards.
    down: char,
    /// Stands for conductors to the left that do not fit.
    cut: char,
}

const UNICODE: Pen = Pen {
    rail: '│',
    fork: '├',
    bend: '└',
    along: '─',
    down: '┬',
    cut: '»',
};
const PLAIN: Pen = Pen {
    rail: '|',
    fork: '+',
    bend: '`',
    along: '-',
    down: '+',
    cut: '>',
};

/// Columns that the text of a part keeps at least, whatever its depth.
const TEXT: usize = 24;

/// The tree in lines of at most `width` columns (at least 40), with the standing of each part in a
/// column at the left when there is a case. A part says what it is, its place where that changes,
/// plug and pin, and what it is tied to elsewhere in the tree.
pub fn tree(
    feeds: &Feeds,
    width: usize,
    unicode: bool,
    standings: Option<Standings<'_>>,
) -> String {
    let width = width.max(40);
    let pen = if unicode { &UNICODE } else { &PLAIN };
    let columns = standings.map(|standing| Columns::of(feeds, standing));
    let margin = columns.as_ref().map_or(0, Columns::width);
    let deepest = width.saturating_sub(margin + TEXT) / 2;

    let mut out = textwrap::fill(&clean(&feeds.vehicle().name), width);
    out.push('\n');
    if let Some(columns) = &columns {
        out.push_str(columns.head().trim_end());
        out.push('\n');
    }
    // For each conductor that divides, from the battery down: whether more branches follow.
    let mut open: Vec<bool> = Vec::new();
    let mut column: Vec<usize> = Vec::with_capacity(feeds.len());
    for id in feeds.parts() {
        let side = Side::of(feeds, id);
        let own = feeds
            .up(id)
            .map_or(0, |up| column[up.index()] + usize::from(side.leaves()));
        column.push(own);
        if side.leaves() {
            open.truncate(own - 1);
            open.push(side == Side::Branch);
        }
        open.truncate(own);
        let (first, rest) = rails(pen, &open, side, feeds.is_leaf(id), deepest);
        let (head, gap, standing) = match (&columns, standings.and_then(|s| s(id))) {
            (Some(columns), Some(standing)) => {
                (columns.cell(standing), columns.blank(), Some(standing))
            }
            (Some(columns), None) => (columns.blank(), columns.blank(), None),
            (None, _) => (String::new(), String::new(), None),
        };
        let look = textwrap::Options::new(width)
            .wrap_algorithm(textwrap::WrapAlgorithm::FirstFit)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        let (first, rest) = (format!("{head}{first} "), format!("{gap}{rest}   "));
        let room = width - textwrap::core::display_width(&rest);
        let look = look.initial_indent(&first).subsequent_indent(&rest);
        for line in textwrap::wrap(&text(feeds, id, standing, room), look) {
            out.push_str(line.replace(TOGETHER, " ").trim_end());
            out.push('\n');
        }
    }
    if unicode { out } else { spelled_plainly(&out) }
}

/// How a part hangs on the one that feeds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    /// It is the battery.
    Top,
    /// It is all that the part above feeds.
    Straight,
    /// One of several, with more to come.
    Branch,
    /// The last of several.
    Last,
}

impl Side {
    fn of(feeds: &Feeds, id: PartId) -> Self {
        let Some(up) = feeds.up(id) else {
            return Self::Top;
        };
        let only = id.0 == up.0 + 1 && feeds.subtree(id).end == feeds.subtree(up).end;
        if only {
            Self::Straight
        } else if feeds.subtree(id).end == feeds.subtree(up).end {
            Self::Last
        } else {
            Self::Branch
        }
    }

    /// Whether it leaves the conductor to the right.
    fn leaves(self) -> bool {
        matches!(self, Self::Branch | Self::Last)
    }
}

/// The drawing in front of a part: of its first line, and of those below it.
fn rails(pen: &Pen, open: &[bool], side: Side, leaf: bool, deepest: usize) -> (String, String) {
    let rail = |more: bool| if more { pen.rail } else { ' ' };
    let skip = (open.len() + 1).saturating_sub(deepest.max(2));
    let (mut first, mut rest) = (String::new(), String::new());
    for (n, more) in open.iter().enumerate().skip(skip) {
        let own = n + 1 == open.len();
        let before = match side {
            Side::Branch if own => [pen.fork, pen.along],
            Side::Last if own => [pen.bend, pen.along],
            _ if n == skip && skip > 0 => [pen.cut, ' '],
            _ => [rail(*more), ' '],
        };
        first.extend(before);
        rest.extend(if n == skip && skip > 0 {
            [pen.cut, ' ']
        } else {
            [rail(*more), ' ']
        });
    }
    first.push(match (side, leaf) {
        (Side::Straight, true) => pen.bend,
        (Side::Straight, false) => pen.rail,
        (_, true) => pen.along,
        (_, false) => pen.down,
    });
    rest.push(rail(!leaf));
    (first, rest)
}

/// The part in words; what belongs together holds together where it fits on a line.
fn text(feeds: &Feeds, id: PartId, standing: Option<Standing>, room: usize) -> String {
    let mut said = Vec::new();
    said.extend(standing.and_then(hides));
    said.extend(words::particulars(feeds, id));
    // "battery  battery 12 V" would say it twice.
    let own = format!("{} ", feeds.id(id));
    if let Some(what) = said.iter_mut().find(|what| what.starts_with(&own)) {
        what.replace_range(..own.len(), "");
    }
    let fits = |text: &str, spare: usize| textwrap::core::display_width(text) + spare <= room;
    let mut id = words::one_line(feeds.id(id));
    if fits(&id, 2) {
        id = id.replace(' ', TOGETHER);
    }
    format!("{id}  {}", words::joined(&said, |entry| fits(entry, 1)))
}

/// "up to 34 mA could hide"; nothing where it could hide all that may flow, which has been said.
fn hides(standing: Standing) -> Option<String> {
    let Standing { hides, high, .. } = standing;
    let limited = hides.is_finite() && hides >= 0.05 && current(hides) != current(high);
    limited.then(|| format!("up to {} mA could hide", current(hides)))
}

/// Milliamps for a narrow column: whole from 10 up.
fn current(ma: f64) -> String {
    if ma.abs() >= 9.95 {
        format!("{ma:.0}")
    } else {
        words::number(ma)
    }
}

/// "604..676", "202" where both ends are as good as the same, "604.." where nothing limits it, nothing where nothing is known.
fn span(standing: Standing) -> String {
    match (standing.low, standing.high) {
        (low, high) if current(low) == current(high) => current(low),
        (low, high) if high.is_finite() => format!("{}..{}", current(low), current(high)),
        (low, _) if low > 0.0 => format!("{}..", current(low)),
        _ => String::new(),
    }
}

fn state_word(standing: Standing) -> String {
    match standing.state {
        "too_small" => "not all of it".to_owned(),
        "in_question" => "not ruled out".to_owned(),
        state => state.replace('_', " "),
    }
}

/// "not ruled out, 0..610 mA, up to 590 mA could hide".
pub(super) fn standing_words(standing: Standing) -> String {
    let mut said = vec![state_word(standing)];
    let span = span(standing);
    if !span.is_empty() {
        said.push(format!("{span} mA"));
    }
    said.extend(hides(standing));
    said.join(", ")
}

/// The column of standings at the left.
struct Columns {
    state: usize,
    span: usize,
}

impl Columns {
    fn of(feeds: &Feeds, standings: Standings<'_>) -> Self {
        let all: Vec<_> = feeds.parts().filter_map(standings).collect();
        let widest = |word: fn(Standing) -> String, least: &str| {
            let widths = all.iter().map(|s| word(*s).chars().count());
            widths.max().unwrap_or(0).max(least.len())
        };
        Self {
            state: widest(state_word, "state"),
            span: widest(span, "mA"),
        }
    }

    fn width(&self) -> usize {
        self.state + self.span + 4
    }

    fn row(&self, state: &str, span: &str) -> String {
        format!(
            "{state:<wide$}  {span:>narrow$}  ",
            wide = self.state,
            narrow = self.span
        )
    }

    fn head(&self) -> String {
        self.row("state", "mA")
    }

    fn cell(&self, standing: Standing) -> String {
        self.row(&state_word(standing), &span(standing))
    }

    fn blank(&self) -> String {
        " ".repeat(self.width())
    }
}

/// One part as data.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Branch {
    /// Its id.
    pub id: String,
    /// Its kind, in the file's words.
    pub kind: &'static str,
    /// The part that feeds it; absent for the battery.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fed_by: Option<String>,
    /// Its place, or that of the nearest part above it that has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// Rated current in A.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rating_a: Option<f64>,
    /// Its plug.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plug: Option<String>,
    /// Its terminal in the plug.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pin: Option<String>,
    /// The module it is a feed of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub module: Option<String>,
    /// Its standing in the case.
    #[serde(flatten)]
    pub standing: Option<StandingRow>,
}

/// A standing as data.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StandingRow {
    /// Its state.
    pub state: &'static str,
    /// Least and most current in its feed, in mA; `null` where nothing limits it.
    pub ma: [Option<f64>; 2],
    /// What it and all below it could still hide, in mA; `null` where nothing limits it.
    pub hides_ma: Option<f64>,
}

/// The tree as rows of data, in tree order.
pub fn tree_rows(feeds: &Feeds, standings: Option<Standings<'_>>) -> Vec<Branch> {
    let finite = |ma: f64| ma.is_finite().then_some(ma);
    let row = |id| {
        let part = feeds.part(id);
        let standing = standings.and_then(|s| s(id));
        let place = feeds.place(id).map(|p| feeds.place_as_written(p));
        Branch {
            id: feeds.id(id).to_owned(),
            kind: part.kind.word(),
            fed_by: feeds.up(id).map(|up| feeds.id(up).to_owned()),
            place: place.map(|place| place.id.value.clone()),
            rating_a: part.rating.as_ref().map(|r| r.value.value() / 1000.0),
            plug: part.plug.as_ref().map(|plug| plug.value.clone()),
            pin: part.pin.clone(),
            module: part.of.as_ref().map(|of| of.value.clone()),
            standing: standing.map(|s| StandingRow {
                state: s.state,
                ma: [finite(s.low), finite(s.high)],
                hides_ma: finite(s.hides),
            }),
        }
    };
    feeds.parts().map(row).collect()
}
