//! The drawing cut into pages of A4, and put together again.

use crate::feeds::{Feeds, PartId};
use crate::render::picture::layout::{BELOW, FRAME, Frame, LEAD, Layout, Placed, STEP, TEXT};
use crate::render::picture::on_the_row_of_its_feed;
use crate::render::picture::pen::{Pen, SMALL, wrap};
use crate::render::picture::sheets::{A4, Sheets};
use crate::render::picture::symbols::{LENGTH, symbol};
use crate::render::words;
use std::fmt::Write as _;

const MARGIN: f64 = 10.0;
/// Room for the heading of a page, and for what says where a page goes on, in mm.
const HEAD: f64 = 12.0;
const GOES_ON: f64 = 7.0;
const FOOT: f64 = 5.0;

/// What stands together on a page, mostly all of it: its parts, which follow each other, and where they
/// stand. Where the next row is too wide for it, another may begin below it.
struct Page {
    /// The sheet it is on, from 0.
    sheet: usize,
    /// How far below the heading of its sheet it begins, in mm.
    down: f64,
    first: usize,
    /// Behind the last.
    end: usize,
    /// Where each of its rows has its conductor, from the top of the page, in mm.
    y: Vec<f64>,
    /// How far down its parts reach, in mm.
    bottom: f64,
    /// How large it is drawn, to fit across: 1, or down to [`SMALLEST`].
    scale: f64,
    /// Pairs of a place in the layout and its place on the page, from the left, in mm: where
    /// nothing stands on this page, the conductors that pass are drawn close together.
    across: Vec<(f64, f64)>,
}

/// The pages and their size.
pub(super) struct Pages {
    width: f64,
    height: f64,
    sheets: Vec<Page>,
}

impl Pages {
    /// How many pages of paper there are.
    fn count(&self) -> usize {
        self.sheets.last().map_or(0, |last| last.sheet + 1)
    }

    /// As few pages of A4 as possible, upright or on their side. Where a single row is too wide, the
    /// pages are larger: printed to fit, they are A4, only smaller.
    pub(super) fn of(feeds: &Feeds, layout: &Layout) -> Self {
        let (short, long) = A4;
        let upright = Self::sized(feeds, layout, (short, long));
        let lying = Self::sized(feeds, layout, (long, short));
        match (upright, lying) {
            (Some(upright), Some(lying)) if lying.count() < upright.count() => lying,
            (Some(pages), _) | (None, Some(pages)) => pages,
            (None, None) => {
                let mut width = long;
                // Ends: a row is never wider than the layout.
                loop {
                    width *= 1.25;
                    let size = (width, width * short / long);
                    if let Some(pages) = Self::sized(feeds, layout, size) {
                        return pages;
                    }
                }
            }
        }
    }

    /// Cuts the drawing where few conductors are cut; `None` when a single row is too wide.
    fn sized(feeds: &Feeds, layout: &Layout, (width, height): (f64, f64)) -> Option<Self> {
        let parts = &layout.parts;
        let mut level = vec![0_usize; parts.len()];
        for part in parts {
            let above = feeds.up(part.id).map_or(0, |up| level[up.index()] + 1);
            level[part.id.index()] = above;
        }
        let mut sheets: Vec<Page> = Vec::new();
        let (mut first, mut sheet, mut down) = (0, 0, 0.0);
        while first < parts.len() {
            let passing = passing(feeds, layout, first);
            let across = width - 2.0 * MARGIN;
            let mut page = best(layout, first, &passing, (across, height - down));
            // Below another only what is worth it: a few rows, or all that is left.
            let few = page
                .as_ref()
                .is_none_or(|page| page.end < parts.len() && page.y.len() < WORTH_ROWS);
            if down > 0.0 && few {
                (sheet, down) = (sheet + 1, 0.0);
                page = best(layout, first, &passing, (across, height));
            }
            let mut page = page?;
            (page.sheet, page.down) = (sheet, down);
            if page.end < parts.len() {
                // Of the rows in the last third of a full page, and the one behind it, the next
                // page starts with the one that hangs highest in the tree.
                let starts: Vec<usize> = (first + 1..=page.end)
                    .filter(|n| parts[*n].row != parts[n - 1].row)
                    .collect();
                let late = starts.iter().skip(starts.len() * 7 / 10).rev();
                if let Some(end) = late.min_by_key(|n| level[**n]) {
                    page.end = *end;
                    page.y.truncate(parts[*end].row - parts[first].row);
                }
            }
            page.settle(layout, &passing, across);
            first = page.end;
            down += (page.bottom - MARGIN - HEAD) * page.scale + BETWEEN;
            if height - down < LEFT_OVER {
                (sheet, down) = (sheet + 1, 0.0);
            }
            sheets.push(page);
        }
        Some(Self {
            width,
            height,
            sheets,
        })
    }
}

/// Below another stand at least so many rows, with so much room between the two, and where at least so
/// much of the sheet is left, in mm.
const WORTH_ROWS: usize = 4;
const BETWEEN: f64 = 6.0;
const LEFT_OVER: f64 = 90.0;

/// The smallest that a page is drawn: small letters of 1.7 mm.
const SMALLEST: f64 = 0.8;
/// From one row to the next at least, in mm.
const PITCH: f64 = 5.6;
/// From one passing conductor to the next, in mm.
const PASSING: f64 = 4.0;

/// Where conductors from pages before pass the part on their way to later ones, from the left.
fn passing(feeds: &Feeds, layout: &Layout, first: usize) -> Vec<f64> {
    let mut found = Vec::new();
    let mut above = feeds.up(layout.parts[first].id);
    while let Some(up) = above {
        found.push(layout.parts[up.index()].end);
        above = feeds.up(up);
    }
    found.reverse();
    found
}

/// The parts of the layout's width that are used, one flag a millimetre, made into pairs of places
/// in the layout and on the page.
fn squeezed(used: &[bool], passing: &[f64]) -> Vec<(f64, f64)> {
    let mut pairs = vec![(0.0, 0.0)];
    let (mut from, mut to) = (0.0, 0.0);
    let mut waiting = passing.iter().copied().peekable();
    for run in used.chunk_by(|a, b| a == b) {
        let end = from + run.len() as f64;
        let mut passed = 0.0;
        while let Some(at) = waiting.next_if(|at| *at < end) {
            if !run[0] && at > from {
                passed += PASSING;
                pairs.push((at, to + passed));
            }
        }
        to += if run[0] {
            end - from
        } else {
            (passed + PASSING).min(end - from)
        };
        from = end;
        pairs.push((from, to));
    }
    pairs
}

/// The rows from the given part on, plain or smaller where that is worth it; `None` when the first is too
/// wide.
fn best(layout: &Layout, first: usize, passing: &[f64], size: (f64, f64)) -> Option<Page> {
    let plain = pack(layout, first, passing, size, 1.0);
    let small = pack(layout, first, passing, size, SMALLEST);
    match (plain, small) {
        (Some(plain), Some(small)) if small.y.len() * 3 < plain.y.len() * 4 => Some(plain),
        (_, small) => small,
    }
}

/// As many rows as one page takes, from the given part on, each as high as it can go: below the
/// row before, and below whatever hangs down where its own parts stand.
///
/// `room` is what it may be wide, drawn as small as `smallest`; `None` when its first row is wider.
fn pack(
    layout: &Layout,
    first: usize,
    passing: &[f64],
    (room, height): (f64, f64),
    smallest: f64,
) -> Option<Page> {
    let fixed = MARGIN + HEAD;
    let limit = height - MARGIN - FOOT - 2.0;
    let top = fixed + if first == 0 { 0.0 } else { GOES_ON };
    // How far down each millimetre of the layout's width is used, and whether it is.
    let mut reached = vec![top; layout.width.ceil() as usize + 2];
    let mut used = vec![false; reached.len()];
    let mut page = Page {
        sheet: 0,
        down: 0.0,
        first,
        end: first,
        y: Vec::new(),
        bottom: top,
        scale: 1.0,
        across: Vec::new(),
    };
    for row in layout.parts[first..].chunk_by(|a, b| a.row == b.row) {
        let mut y = page.y.last().map_or(top, |last| last + PITCH);
        for part in row {
            let free = reached[across(part)].iter().copied().fold(top, f64::max);
            y = y.max(free + part.above);
            used[across(part)].fill(true);
        }
        let bottom = row.iter().map(|part| y + part.below).fold(y, f64::max);
        let wide = squeezed(&used, passing).last().map_or(0.0, |(_, to)| *to);
        // What is drawn smaller leaves room for more.
        let scale = (room / wide).min(1.0);
        let full = bottom > fixed + (limit - fixed) / scale;
        if page.end == first && scale < smallest {
            return None;
        }
        if page.end > first && (full || scale < smallest) {
            break;
        }
        for part in row {
            reached[across(part)].fill(y + part.below);
        }
        page.y.push(y);
        page.end += row.len();
    }
    Some(page)
}

/// The millimetres of the layout's width that a part uses.
fn across(part: &Placed) -> std::ops::Range<usize> {
    part.x.floor() as usize..part.end.ceil() as usize + 1
}

impl Page {
    /// Works out what follows from which parts it has.
    fn settle(&mut self, layout: &Layout, passing: &[f64], room: f64) {
        let mut used = vec![false; layout.width.ceil() as usize + 2];
        for part in &layout.parts[self.first..self.end] {
            used[across(part)].fill(true);
            let y = self.y[part.row - layout.parts[self.first].row];
            self.bottom = self.bottom.max(y + part.below);
        }
        self.across = squeezed(&used, passing);
        let wide = self.across.last().map_or(room, |(_, to)| *to);
        self.scale = (room / wide).min(1.0);
    }

    /// Whether a part stands on this page.
    fn has(&self, id: PartId) -> bool {
        (self.first..self.end).contains(&id.index())
    }

    /// A place in the layout as a place on the page.
    fn x(&self, x: f64) -> f64 {
        let behind = self.across.partition_point(|(from, _)| *from <= x);
        let (from, to) = self.across[behind.max(1) - 1];
        let Some((next, next_to)) = self.across.get(behind) else {
            return MARGIN + to + x - from;
        };
        MARGIN + to + (x - from) * (next_to - to) / (next - from).max(1e-9)
    }

    /// Where a part has its conductor; parts of other pages are beyond the top or the bottom.
    fn y(&self, layout: &Layout, id: PartId) -> f64 {
        if id.index() < self.first {
            MARGIN + HEAD + GOES_ON - 5.0
        } else if self.has(id) {
            let row = layout.parts[id.index()].row - layout.parts[self.first].row;
            self.y[row]
        } else {
            self.bottom + 1.0
        }
    }
}

/// A sheet of paper with what stands on it.
fn draw(feeds: &Feeds, layout: &Layout, pages: &Pages, sheet: usize) -> String {
    let mut pen = Pen::default();
    heading(&mut pen, feeds, pages, sheet);
    for (number, page) in pages.sheets.iter().enumerate() {
        if page.sheet == sheet {
            draw_one(&mut pen, feeds, layout, pages, number);
        }
    }
    pen.out
}

fn draw_one(pen: &mut Pen, feeds: &Feeds, layout: &Layout, pages: &Pages, number: usize) {
    let page = &pages.sheets[number];
    let (left, top, scale) = (MARGIN, MARGIN + HEAD, page.scale);
    let _ = writeln!(
        pen.out,
        "<g transform=\"translate({left} {}) scale({scale}) translate(-{left} -{top})\">",
        top + page.down
    );
    for part in &layout.parts {
        if let Some(last) = feeds.children(part.id).last()
            && part.id.index() < page.end
            && last.index() >= page.first
            && layout.parts[last.index()].row > part.row
        {
            let x = page.x(part.end);
            let ends = (page.y(layout, part.id), page.y(layout, last));
            pen.line(&line_class(part), (x, ends.0), (x, ends.1));
        }
        if page.has(part.id) {
            one(pen, feeds, layout, part, page);
        }
    }
    for frame in &layout.frames {
        draw_frame(pen, layout, frame, page);
    }
    pen.out.push_str("</g>\n");
    if let Some(up) = feeds.up(PartId(page.first as u32)) {
        let path: Vec<_> = feeds.path(up).into_iter().map(|p| feeds.id(p)).collect();
        let before = pages.sheets[number.max(1) - 1].sheet;
        let from = if before == page.sheet {
            "from above".to_owned()
        } else {
            format!("from page {}", before + 1)
        };
        let text = format!("{from}, fed by: {}", path.join(" > "));
        let y = MARGIN + HEAD + page.down - 2.0;
        pages.line(pen, "small", y, &text, SMALL);
    }
}

fn heading(pen: &mut Pen, feeds: &Feeds, pages: &Pages, number: usize) {
    let name = &feeds.vehicle().name;
    pages.line(pen, "head", MARGIN + 4.0, name, 3.4);
    let count = format!("page {} of {}", number + 1, pages.count());
    pen.text("small", (pages.width - MARGIN - 22.0, MARGIN + 4.0), &count);
    let foot = "Read from left to right: each part is fed by the one at its left. [place] stands where it changes.";
    pages.line(pen, "small", pages.height - MARGIN, foot, SMALL);
}

impl Pages {
    /// A line of text from the left margin, cut where the page's number stands.
    fn line(&self, pen: &mut Pen, class: &str, y: f64, text: &str, size: f64) {
        let room = self.width - 2.0 * MARGIN - 25.0;
        let lines = wrap(&words::one_line(text), room, size);
        let line = lines.first().map_or("", String::as_str);
        pen.text(class, (MARGIN, y), line);
    }
}

/// How a part's conductor is drawn: by its state, where there is one.
fn line_class(part: &Placed) -> String {
    part.standing.map_or_else(
        || "thin".to_owned(),
        |standing| format!("thin {}", standing.state),
    )
}

/// One part: its symbol on its conductor, and its text.
fn one(pen: &mut Pen, feeds: &Feeds, layout: &Layout, part: &Placed, page: &Page) {
    let (x, y) = (page.x(part.x), page.y(layout, part.id));
    // A branch leaves the conductor of what feeds it with a dot.
    if feeds.up(part.id).is_some() && !on_the_row_of_its_feed(feeds, part.id) {
        pen.circle("full", (x, y), 0.45);
    }
    let class = line_class(part);
    if feeds.up(part.id).is_some() {
        pen.line(&class, (x, y), (x + LEAD, y));
    }
    let (shapes, letter) = symbol(feeds, part.id);
    pen.at((x + LEAD, y), &shapes.concat());
    pen.text("mark", (x + LEAD + 4.0, y + 0.75), letter);
    if part.leaf {
        let text = x + LEAD + LENGTH - 0.5;
        text_lines(pen, "id", (text, y + 0.9), &part.title);
        let below = y + 0.9 + part.title.len() as f64 * STEP;
        text_lines(pen, "small", (text, below), &part.lines);
        return;
    }
    if !feeds.is_leaf(part.id) {
        pen.line(&class, (x + LEAD + LENGTH, y), (page.x(part.end), y));
    }
    let above = y - 2.4 - (part.title.len() as f64 - 1.0) * STEP;
    text_lines(pen, "id", (x + TEXT, above), &part.title);
    text_lines(pen, "small", (x + TEXT, y + BELOW), &part.lines);
}

fn text_lines(pen: &mut Pen, class: &str, at: (f64, f64), lines: &[String]) {
    for (n, line) in lines.iter().enumerate() {
        pen.text(class, (at.0, at.1 + n as f64 * STEP), line);
    }
}

/// The frame of a box, open at an end that is on another page; nothing where none of its parts is on
/// this one.
fn draw_frame(pen: &mut Pen, layout: &Layout, frame: &Frame, page: &Page) {
    if !frame.members.iter().any(|member| page.has(*member)) {
        return;
    }
    let (left, right) = (page.x(frame.x), page.x(frame.end));
    let (first, last) = (frame.members[0], frame.members[frame.members.len() - 1]);
    let mut top = page.y(layout, first);
    if page.has(first) {
        top -= layout.parts[first.index()].above - 0.4;
        pen.line("frame", (left, top), (right, top));
    }
    let mut end = page.y(layout, last);
    if page.has(last) {
        end += layout.parts[last.index()].below - 0.4;
        pen.line("frame", (left, end), (right, end));
    }
    pen.line("frame", (left, top), (left, end));
    pen.line("frame", (right, top), (right, end));
    let lines = wrap(&words::one_line(&frame.place), right - left - 1.0, SMALL);
    let name = lines.first().map_or("", String::as_str);
    pen.text("place", (left + 0.6, top + FRAME - 1.2), name);
}

/// The pages as sheets of paper.
pub(super) fn sheets(feeds: &Feeds, layout: &Layout, pages: &Pages) -> Sheets {
    let drawn = 0..pages.count();
    Sheets {
        name: feeds.vehicle().name.clone(),
        size: (pages.width, pages.height),
        drawn: drawn
            .map(|number| draw(feeds, layout, pages, number))
            .collect(),
    }
}
