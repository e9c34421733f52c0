//! The chart of a plan as a drawing on pages of A4, for the workshop wall.
//!
//! **Model.** A box is a step: its number, where it is done, what is done, its minutes; then what the
//! display may show, and where to go on. Boxes stand below each other in two columns; a box that
//! follows a finding stands further in, one that follows when nothing was found straight below; a line
//! leads from one to the other as far as they stand in one column.
//!
//! **Invariants.** Without a depth it is one page, the steps being those that are likeliest to be
//! needed. Text does not overlap and does not leave the paper (test `the_chart_is_drawn_to_be_read`).

use crate::case::{Planned, Setting};
use crate::render::picture::pen::{LARGE, Pen, SMALL, wrap};
use crate::render::picture::sheets::{A4, Sheets};
use crate::render::plan::outline::{Extent, Outline, Shown, Then};
use crate::render::plan::{exit_words, heading, minutes_words, step_words};

const MARGIN: f64 = 10.0;
/// Between the two columns, in mm.
const GUTTER: f64 = 5.0;
/// From one box to the next below it, in mm.
const APART: f64 = 2.4;
/// How much further in a box stands after each finding, in mm, and how many times at most.
const FURTHER: f64 = 4.0;
const FURTHEST: usize = 8;
/// From line to line of large and of small text, in mm.
const LARGE_STEP: f64 = 3.1;
const STEP: f64 = 2.7;
/// From the edge of a box to its text, in mm; the text of outcomes stands behind the number.
const PAD: f64 = 1.4;
const NUMBER: f64 = 6.5;
/// Steps tried on one page at most.
const ON_A_PAGE: usize = 60;

const FOOT: &str = "Start at box 1. Hold the display against the two ranges and go on at the box named; what is proven ends it. \
Ranges are for the draw above. Minutes hold getting there and the settle a step may cost.";
const CAUTION: &str = "The vehicle maker's procedure and local rules come first. Slim probes, one fuse at a time; know what may move or brake \
before it loses its feed. Never part airbag or pretensioner plugs, nor anything orange.";

/// A box with its text in lines, not placed yet.
struct Sized {
    indent: usize,
    title: Vec<String>,
    exits: Vec<String>,
}

/// A box where it stands.
struct Placed {
    page: usize,
    column: usize,
    x: f64,
    y: f64,
    height: f64,
}

/// The chart as sheets: so deep, or, without a depth, as much as one page takes.
pub(super) fn sheets(
    planned: &Planned,
    setting: &Setting,
    supposed: bool,
    depth: Option<usize>,
) -> Sheets {
    let head = Head::of(planned, setting, supposed);
    let to = |extent: Extent| {
        let outline = Outline::of(&planned.chart, extent);
        let pages = drawn(planned, setting, &head, &outline);
        (outline.steps.len(), pages)
    };
    let drawn = if let Some(depth) = depth {
        to(Extent::Depth(depth)).1
    } else {
        let mut most = ON_A_PAGE;
        loop {
            let (steps, pages) = to(Extent::Likeliest(most));
            if pages.len() <= 1 || steps <= 1 {
                break pages;
            }
            most = steps - 1;
        }
    };
    Sheets {
        name: setting.feeds.vehicle().name.clone(),
        size: A4,
        drawn,
    }
}

/// What stands at the top and the bottom of every page.
struct Head {
    title: Vec<String>,
    lines: Vec<String>,
    foot: Vec<String>,
}

impl Head {
    fn of(planned: &Planned, setting: &Setting, supposed: bool) -> Self {
        let room = A4.0 - 2.0 * MARGIN;
        let mut said = heading(planned, setting, supposed, false).into_iter();
        let title = said.next().unwrap_or_default();
        let feet = [FOOT, CAUTION].into_iter();
        Self {
            title: wrap(&title, room - 25.0, HEAD),
            lines: said.flat_map(|text| wrap(&text, room, SMALL)).collect(),
            foot: feet.flat_map(|text| wrap(text, room, SMALL)).collect(),
        }
    }

    /// Where the first box may stand.
    fn top(&self) -> f64 {
        let titles = self.title.len() as f64 * (HEAD + 1.0);
        MARGIN + titles + self.lines.len() as f64 * STEP + 5.0
    }

    /// Where the last box must end.
    fn bottom(&self) -> f64 {
        A4.1 - MARGIN - self.foot.len() as f64 * STEP - 1.5
    }

    fn draw(&self, pen: &mut Pen, page: usize, pages: usize) {
        let mut y = MARGIN + HEAD;
        for line in &self.title {
            pen.text("head", (MARGIN, y), line);
            y += HEAD + 1.0;
        }
        for line in &self.lines {
            pen.text("small", (MARGIN, y), line);
            y += STEP;
        }
        let count = format!("page {} of {pages}", page + 1);
        pen.text("small", (A4.0 - MARGIN - 22.0, MARGIN + HEAD), &count);
        for (at, line) in self.foot.iter().rev().enumerate() {
            let y = A4.1 - MARGIN - at as f64 * STEP;
            pen.text("small", (MARGIN, y), line);
        }
    }
}

/// Height of the letters of the title, in mm.
const HEAD: f64 = 3.4;

fn column_width() -> f64 {
    (A4.0 - 2.0 * MARGIN - GUTTER) / 2.0
}

/// The pages, drawn.
fn drawn(planned: &Planned, setting: &Setting, head: &Head, outline: &Outline) -> Vec<String> {
    let sized: Vec<Sized> = outline
        .steps
        .iter()
        .map(|step| sized(planned, setting, step))
        .collect();
    let placed = placed(&sized, (head.top(), head.bottom()));
    let pages = placed.last().map_or(1, |last| last.page + 1);
    let mut pens: Vec<Pen> = (0..pages).map(|_| Pen::default()).collect();
    for (page, pen) in pens.iter_mut().enumerate() {
        head.draw(pen, page, pages);
    }
    for (at, place) in placed.iter().enumerate() {
        draw_box(&mut pens[place.page], at + 1, &sized[at], place);
        for exit in &outline.steps[at].exits {
            if let Then::Go(number) = exit.then {
                let between = &placed[at + 1..number - 1];
                let pen = &mut pens[place.page];
                lead(pen, place, between, &placed[number - 1], head.bottom());
            }
        }
    }
    pens.into_iter().map(|pen| pen.out).collect()
}

/// The text of a step, wrapped to the room its box has.
fn sized(planned: &Planned, setting: &Setting, step: &Shown) -> Sized {
    let indent = step.indent.min(FURTHEST);
    let room = column_width() - indent as f64 * FURTHER - NUMBER - PAD;
    let what = step_words(planned, setting, step.step);
    let what = format!("{what}, {}", minutes_words(step.minutes));
    let mut exits = Vec::new();
    for exit in &step.exits {
        let text = exit_words(planned, step.step, exit);
        let lines = wrap(&text, room - 2.0, SMALL).into_iter().enumerate();
        exits.extend(lines.map(|(at, line)| if at == 0 { line } else { format!("  {line}") }));
    }
    Sized {
        indent,
        title: wrap(&what, room, LARGE),
        exits,
    }
}

impl Sized {
    fn height(&self) -> f64 {
        let titles = self.title.len() as f64 * LARGE_STEP;
        2.0 * PAD + titles + self.exits.len() as f64 * STEP
    }
}

/// Boxes one below the other, column after column, page after page.
fn placed(sized: &[Sized], (top, bottom): (f64, f64)) -> Vec<Placed> {
    let (mut page, mut column, mut y) = (0, 0, top);
    let mut placed = Vec::with_capacity(sized.len());
    for one in sized {
        let height = one.height();
        if y + height > bottom && y > top {
            (page, column) = if column == 0 {
                (page, 1)
            } else {
                (page + 1, 0)
            };
            y = top;
        }
        let left = MARGIN + f64::from(column as u8) * (column_width() + GUTTER);
        placed.push(Placed {
            page,
            column,
            x: left + one.indent as f64 * FURTHER,
            y,
            height,
        });
        y += height + APART;
    }
    placed
}

fn draw_box(pen: &mut Pen, number: usize, sized: &Sized, at: &Placed) {
    let left = MARGIN + f64::from(at.column as u8) * (column_width() + GUTTER);
    let (right, end) = (left + column_width(), at.y + at.height);
    let (x, y) = (at.x, at.y);
    pen.path(
        "thin",
        &format!("M{x:.2} {y:.2}H{right:.2}V{end:.2}H{x:.2}Z"),
    );
    pen.text("id", (x + PAD, y + PAD + LARGE - 0.4), &number.to_string());
    let mut line = y + PAD + LARGE - 0.4;
    for text in &sized.title {
        pen.text("id", (x + NUMBER, line), text);
        line += LARGE_STEP;
    }
    line -= LARGE_STEP - STEP - 0.3;
    for text in &sized.exits {
        let hung = text.strip_prefix("  ");
        let further = if hung.is_some() { 2.0 } else { 0.0 };
        pen.text("small", (x + NUMBER + further, line), hung.unwrap_or(text));
        line += STEP;
    }
}

/// A line from a box to one that follows it; to the end of the column where that one is in another.
/// None where a box stands in its way, so far in that it could not be put further.
fn lead(pen: &mut Pen, from: &Placed, between: &[Placed], to: &Placed, bottom: f64) {
    let column = |place: &Placed| (place.page, place.column);
    let same = column(from) == column(to);
    let x = if same { to.x.max(from.x) } else { from.x } + FURTHER / 2.0;
    let in_the_way = |place: &Placed| column(place) == column(from) && place.x <= x;
    if between.iter().any(in_the_way) {
        return;
    }
    let end = if same { to.y } else { bottom };
    pen.line("thin", (x, from.y + from.height), (x, end));
    if same {
        pen.path("full", &format!("M{x:.2} {end:.2}l-.7 -1.3h1.4z"));
    }
}
