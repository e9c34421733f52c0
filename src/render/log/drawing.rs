//! A current log as a drawing: the draw over time, with what was found in it named.
//!
//! **Look.** Black on white, wide letters, nothing by colour alone: the draw is a dark band from the
//! lowest to the highest of each moment, the limit a dashed line with its name, the settle a flag,
//! bursts numbers above the band, steps letters. What each means stands below in words.
//!
//! **Invariants.** All text is cleaned, escaped and inside the page; times run from left to right and
//! currents upwards, by powers of ten.

use crate::log::{Findings, Sample};
use crate::render::amps::figures;
use crate::render::answer::current;
use crate::render::picture::pen::{Pen, escape, width, wrap};
use std::fmt::Write as _;

/// Width of the page and the edges of the field, in mm.
const PAGE: f64 = 180.0;
const LEFT: f64 = 24.0;
const RIGHT: f64 = 176.0;
const TOP: f64 = 25.0;
const BOTTOM: f64 = 107.0;
/// Height of the letters of the title and of all others, in mm.
const TITLE: f64 = 4.6;
const TEXT: f64 = 3.5;
/// From line to line, in mm.
const STEP: f64 = 5.0;
/// Columns of the band.
const COLUMNS: usize = 456;
/// Numbers above the band stand at least so far apart, in mm.
const MARKS_APART: f64 = 5.0;

const STYLE: &str = "\
text{font-family:'DejaVu Sans Mono','Liberation Mono',Menlo,Consolas,'Courier New',monospace;\
font-size:3.5px;fill:#000}\
.head{font-size:4.6px;font-weight:bold}.right{text-anchor:end}.middle{text-anchor:middle}\
.mark{text-anchor:middle;font-weight:bold}\
path{fill:none;stroke:#000}.band{stroke-width:.34}.net{stroke-width:.12;stroke:#777}\
.edge{stroke-width:.3}.limit{stroke-width:.5;stroke-dasharray:2.4 1.6}\
.flag{stroke-width:.4;stroke-dasharray:.6 1}.paper{fill:#fff}";

/// Where times and currents stand.
struct Field {
    minutes: f64,
    /// Powers of ten at the bottom and the top.
    low: f64,
    high: f64,
}

impl Field {
    fn of(found: &Findings, limit: f64) -> Self {
        let most = found.samples.iter().map(|s| s.high).fold(limit, f64::max);
        // The plateau stands well above the bottom; below 1 mA no logger here says anything.
        let least = found.plateau_ma.min(limit).max(3.0) / 3.0;
        Self {
            minutes: found.minutes.max(1e-9),
            low: least.log10().floor().max(0.0),
            high: (most * 1.2).log10().max(2.0),
        }
    }

    fn x(&self, min: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * (min / self.minutes).clamp(0.0, 1.0)
    }

    fn y(&self, ma: f64) -> f64 {
        let power = ma.max(1e-3).log10();
        let share = ((power - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        BOTTOM - (BOTTOM - TOP) * share
    }
}

/// The lowest and the highest in each column, `None` where no sample falls.
fn band(samples: &[Sample], minutes: f64) -> Vec<Option<(f64, f64)>> {
    let mut columns = vec![None; COLUMNS];
    for sample in samples {
        let at = (sample.min / minutes * COLUMNS as f64) as usize;
        let column: &mut Option<(f64, f64)> = &mut columns[at.min(COLUMNS - 1)];
        let (low, high) = column.unwrap_or((sample.low, sample.high));
        *column = Some((low.min(sample.low), high.max(sample.high)));
    }
    columns
}

/// Times of the marks below the field, and their unit: about six of them, round.
fn ticks(minutes: f64) -> (f64, &'static str, f64) {
    let round = [
        (1.0 / 60.0, "s"),
        (1.0, "min"),
        (60.0, "h"),
        (1440.0, "days"),
    ];
    let (unit, name) = round
        .into_iter()
        .rev()
        .find(|(unit, _)| minutes >= 3.0 * unit)
        .unwrap_or(round[0]);
    let steps = [1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0, 120.0];
    let apart = steps
        .into_iter()
        .find(|step| minutes / (step * unit) <= 7.0)
        .unwrap_or_else(|| (minutes / unit / 6.0).ceil());
    (apart * unit, name, unit)
}

fn net(pen: &mut Pen, field: &Field) {
    let mut power = field.low;
    while power <= field.high {
        for step in [1.0, 2.0, 5.0] {
            let ma = step * 10_f64.powf(power);
            if ma.log10() > field.high {
                break;
            }
            let y = field.y(ma);
            pen.line("net", (LEFT, y), (RIGHT, y));
            if step < 2.0 || field.high - field.low < 4.2 {
                let text = if ma >= 1000.0 {
                    format!("{} A", figures(ma / 1000.0))
                } else {
                    format!("{} mA", figures(ma))
                };
                pen.text("right", (LEFT - 1.5, y + TEXT * 0.35), &text);
            }
        }
        power += 1.0;
    }
    let (apart, name, unit) = ticks(field.minutes);
    let mut at = 0.0;
    while at <= field.minutes * 1.0001 {
        let x = field.x(at);
        pen.line("net", (x, TOP), (x, BOTTOM));
        let text = figures(at / unit);
        let text = if at == 0.0 { format!("0 {name}") } else { text };
        pen.text("middle", (x.min(RIGHT - 4.0), BOTTOM + STEP), &text);
        at += apart;
    }
    pen.path("edge", &format!("M{LEFT} {TOP}V{BOTTOM}H{RIGHT}V{TOP}Z"));
}

fn draw_band(pen: &mut Pen, field: &Field, found: &Findings) {
    let wide = (RIGHT - LEFT) / COLUMNS as f64;
    let mut path = String::new();
    let mut last: Option<(f64, f64)> = None;
    for (at, column) in band(&found.samples, field.minutes).iter().enumerate() {
        let Some((low, high)) = column else { continue };
        let x = LEFT + (at as f64 + 0.5) * wide;
        // Neighbours join, so that a thin line does not fall apart.
        let (low, high) = match last {
            Some((before_low, before_high)) => (low.min(before_high), high.max(before_low)),
            None => (*low, *high),
        };
        let (y, to) = (field.y(high), field.y(low));
        let _ = write!(path, "M{x:.2} {y:.2}V{:.2}", to.max(y + 0.35));
        last = *column;
    }
    pen.path("band", &path);
}

/// Marks above the field: where, and what is written there.
fn marks(field: &Field, found: &Findings) -> Vec<(f64, String)> {
    let bursts = found.bursts.iter().enumerate().flat_map(|(kind, bursts)| {
        let number = (kind + 1).to_string();
        let at = bursts.at_min.iter();
        at.map(move |min| (field.x(*min), number.clone()))
    });
    let mut marks: Vec<(f64, String)> = bursts.collect();
    for (at, step) in found.steps.iter().enumerate() {
        marks.push((field.x(step.at_min), letter(at)));
    }
    marks
}

/// The name of a step: a letter, so that it is not taken for a burst.
pub(super) fn letter(at: usize) -> String {
    let letter = char::from(b'a' + u8::try_from(at % 26).unwrap_or(0));
    letter.to_string().repeat(at / 26 + 1)
}

/// The drawing of a log of that name; `legend` says in words what was found.
pub(super) fn drawing(found: &Findings, name: &str, limit: f64, legend: &[String]) -> String {
    let field = Field::of(found, limit);
    let mut pen = Pen::default();
    let room = PAGE - 8.0;
    let mut y = 4.0 + TITLE;
    for line in wrap(name, room, TITLE).iter().take(2) {
        pen.text("head", (4.0, y), line);
        y += TITLE + 1.0;
    }
    net(&mut pen, &field);
    draw_band(&mut pen, &field, found);
    let y = field.y(limit);
    pen.line("limit", (LEFT, y), (RIGHT, y));
    let text = format!("limit {}", current(limit));
    // A white ground keeps the letters apart from the band.
    let (x, high) = (RIGHT - width(&text, TEXT) - 2.0, TEXT + 1.0);
    let _ = writeln!(
        pen.out,
        "<rect class=\"paper\" x=\"{x:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{high}\"/>",
        y - high - 0.4,
        width(&text, TEXT) + 1.5
    );
    pen.text("right", (RIGHT - 1.0, y - 1.4), &text);
    if let Some(settled) = found.settle_min {
        let x = field.x(settled);
        pen.line("flag", (x, TOP - 5.0), (x, BOTTOM));
        let flag = format!("M{x:.2} {0}h6l-1.6 1.5l1.6 1.5h-6z", TOP - 8.0);
        pen.path("edge", &flag);
    }
    let mut last: Vec<(f64, String)> = Vec::new();
    for (x, text) in marks(&field, found) {
        let near = |(other, _): &(f64, String)| (other - x).abs() < MARKS_APART;
        if last.iter().any(near) {
            pen.line("edge", (x, TOP - 1.4), (x, TOP));
            continue;
        }
        // Beside the pole of the flag, not on it.
        let flag = found.settle_min.map(|min| field.x(min));
        let beside = flag.filter(|flag| (flag - x).abs() < 1.8);
        let shown = beside.map_or(x, |flag| flag + 2.0);
        pen.text("mark", (shown.clamp(LEFT, RIGHT), TOP - 1.8), &text);
        last.push((x, text));
    }
    let mut y = BOTTOM + 2.0 * STEP + 2.0;
    for text in legend {
        for (at, line) in wrap(text, room - 6.0, TEXT).iter().enumerate() {
            pen.text("", (if at == 0 { 4.0 } else { 10.0 }, y), line);
            y += STEP;
        }
    }
    let height = y + 1.0;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{PAGE}mm\" height=\"{height:.0}mm\" \
         viewBox=\"0 0 {PAGE} {height:.0}\">\n<title>{}</title>\n<style>{STYLE}</style>\n\
         <rect class=\"paper\" width=\"{PAGE}\" height=\"{height:.0}\"/>\n{}</svg>\n",
        escape(name),
        pen.out
    )
}
