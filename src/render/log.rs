//! What a current log says, in words, as pictures and as data.

use crate::feeds::Feeds;
use crate::log::{Bursts, Findings, Match, Pattern, Trait, Who, causes};
use crate::quantity::Milliamps;
use crate::render::amps::figures;
use crate::render::answer::current;
use crate::render::words::{count, number, under_heads};
use serde_json::{Value, json};
use std::fmt::Write as _;

mod drawing;

/// A log with what it is judged by.
#[derive(Clone, Copy, Debug)]
pub struct LogScene<'l> {
    /// What was found.
    pub found: &'l Findings,
    /// The vehicle, where it is known.
    pub feeds: Option<&'l Feeds>,
    /// What it may draw at rest.
    pub limit: Milliamps,
    /// Rows that held no time or no number.
    pub skipped: usize,
    /// How many rows each sample stands for.
    pub rows_each: usize,
}

/// As data.
pub fn log_json(scene: LogScene<'_>) -> Value {
    let found = scene.found;
    let could_be = |pattern: &Pattern| json!(names(scene.feeds, pattern));
    let bursts = found.bursts.iter().map(|burst| {
        json!({
            "period_min": burst.period_min,
            "size_ma": burst.size_ma,
            "length_s": burst.length_s,
            "count": burst.at_min.len(),
            "could_be": could_be(&burst.pattern()),
        })
    });
    let stages = found.stages.iter().map(|stage| {
        json!({"from_min": stage.from_min, "to_min": stage.to_min, "ma": stage.ma,
               "fell_ma": stage.fell_ma, "could_be": could_be(&stage.pattern())})
    });
    let steps = found.steps.iter().map(|step| {
        json!({"at_min": step.at_min, "change_ma": step.change_ma,
               "could_be": could_be(&step.pattern())})
    });
    json!({
        "asleep": found.asleep,
        "settle_min": found.settle_min,
        "plateau_ma": found.plateau_ma,
        "mean_ma": found.mean_ma,
        "stages": stages.collect::<Vec<_>>(),
        "bursts": bursts.collect::<Vec<_>>(),
        "steps": steps.collect::<Vec<_>>(),
        "minutes": found.minutes,
        "entries": log_entries(found),
        "rows_left_out": scene.skipped,
    })
}

/// The ids of those who could be behind it, the best fit first.
fn names(feeds: Option<&Feeds>, pattern: &Pattern) -> Vec<String> {
    let Some(feeds) = feeds else {
        return Vec::new();
    };
    let all = causes(feeds, pattern).into_iter();
    all.map(|m| name(feeds, m.who)).collect()
}

fn name(feeds: &Feeds, who: Who) -> String {
    match who {
        Who::Part(part) => feeds.id(part).to_owned(),
        Who::Module(module) => feeds.module(module).id.value.clone(),
        Who::Network(network) => feeds.network(network).to_owned(),
    }
}

/// Causes named in a sentence.
const NAMED: usize = 3;

/// One who could be behind it, with what fits.
fn match_words(feeds: &Feeds, found: &Match) -> String {
    let mut why: Vec<String> = Vec::new();
    for fits in &found.fits {
        why.push(match fits {
            Trait::Size(known) => format!("takes {} by the file", current(*known)),
            Trait::UsualSize => "size".to_owned(),
            Trait::Period => "period".to_owned(),
            Trait::Length => "length".to_owned(),
            Trait::Stays => "it stays".to_owned(),
        });
    }
    let mut text = match found.who {
        Who::Network(_) => format!("{} woken as a whole", name(feeds, found.who)),
        _ => name(feeds, found.who),
    };
    if let Some(habit) = found.habit {
        let _ = write!(text, ", its kind {habit}");
    }
    format!("{text} ({})", why.join(", "))
}

/// Who could be behind it, in words; nothing without a vehicle.
fn may_be(feeds: Option<&Feeds>, pattern: &Pattern) -> String {
    let Some(feeds) = feeds else {
        return String::new();
    };
    let all = causes(feeds, pattern);
    if all.is_empty() {
        return "; nobody in the vehicle file fits: something on no diagram?".to_owned();
    }
    let named: Vec<String> = all
        .iter()
        .take(NAMED)
        .map(|m| match_words(feeds, m))
        .collect();
    format!("; could be {}", named.join("; or "))
}

/// Seconds or minutes or hours, as one would say it.
pub(super) fn duration(minutes: f64) -> String {
    if minutes < 2.0 {
        format!("{} s", number(minutes * 60.0))
    } else if minutes < 180.0 {
        format!("{} min", number(minutes))
    } else {
        format!("{} h", number(minutes / 60.0))
    }
}

fn burst_words(burst: &Bursts) -> String {
    let when = match burst.period_min {
        Some(period) => format!("every {}", duration(period)),
        None if burst.at_min.len() == 1 => "once".to_owned(),
        None => "at odd times".to_owned(),
    };
    let (size, length) = (current(burst.size_ma), duration(burst.length_s / 60.0));
    let times = count(burst.at_min.len(), "time");
    format!("+{size} for {length}, {when}, seen {times}")
}

/// A length of time as an entry has it.
fn typed(minutes: f64) -> String {
    if minutes < 2.0 {
        format!("{}s", figures(minutes * 60.0))
    } else if minutes < 180.0 {
        format!("{}min", figures(minutes))
    } else {
        format!("{}h", figures(minutes / 60.0))
    }
}

/// What a case is told of it, an entry each: what comes and goes, and how long was logged.
pub fn log_entries(found: &Findings) -> Vec<String> {
    let bursts = found.bursts.iter().map(Bursts::pattern);
    let ups = found.steps.iter().filter(|step| step.change_ma > 0.0);
    // After the vehicle was left, not after the logger began: known where the log begins awake.
    let awake_first = found.settle_min.is_some_and(|at| at >= 1.0);
    let ups = ups.map(crate::log::Change::pattern);
    let mut entries: Vec<String> = bursts
        .chain(ups)
        .map(|pattern| {
            let mut entry = format!("comes {:.0}mA", pattern.size.max(1.0));
            let after = pattern
                .after
                .filter(|_| awake_first && pattern.every.is_none());
            let times = [
                ("every", pattern.every),
                ("for", pattern.lasts),
                ("after", after),
            ];
            for (word, time) in times {
                if let Some(time) = time.filter(|time| *time > 0.0) {
                    let _ = write!(entry, " {word} {}", typed(time));
                }
            }
            entry
        })
        .collect();
    let settled = found.settle_min.unwrap_or(0.0);
    let since = found
        .samples
        .iter()
        .filter(|sample| sample.min > settled + 0.5);
    let most = since.map(|sample| sample.high).fold(0.0, f64::max);
    let most = if most >= 1.0 {
        format!(" most {most:.0}mA")
    } else {
        String::new()
    };
    entries.push(format!("logged {}{most}", typed(found.minutes)));
    entries
}

/// Rows of the small picture.
const ROWS: usize = 8;

/// The highest in each column, on a scale by powers of ten, the limit marked at the edge.
fn small_picture(scene: LogScene<'_>, width: usize, unicode: bool) -> String {
    let samples = &scene.found.samples;
    let columns = width.saturating_sub(12).max(10);
    let span = scene.found.minutes.max(1e-9);
    let mut most = vec![0.0_f64; columns];
    for sample in samples {
        let at = (sample.min / span * columns as f64).max(0.0) as usize;
        let at = at.min(columns - 1);
        most[at] = most[at].max(sample.high);
    }
    let top = most.iter().copied().fold(10.0, f64::max).log10();
    let top = top.ceil().min(6.0);
    let bottom = (top - 3.0).max(0.0);
    let floor = |row: usize| 10_f64.powf(bottom + (top - bottom) * row as f64 / ROWS as f64);
    let limit = scene.limit.value();
    let mut out = String::new();
    for row in (0..ROWS).rev() {
        let at_limit = floor(row) <= limit && limit < floor(row + 1);
        let mark = if at_limit { '>' } else { ' ' };
        let mut line = format!("{:>9}{mark}", current(floor(row)));
        for most in &most {
            let block = if unicode { '█' } else { '#' };
            line.push(if *most >= floor(row) { block } else { ' ' });
        }
        let _ = writeln!(out, "{}", line.trim_end());
    }
    let _ = writeln!(
        out,
        "{:>9} 0 to {} min; each column its highest, heights by powers of ten; > the limit's row",
        "",
        figures(span)
    );
    out
}

/// What was found, under its heads; numbers and letters of the drawing where `marked`.
fn lines(scene: LogScene<'_>, marked: bool) -> Vec<(&'static str, String)> {
    let LogScene { found, feeds, .. } = scene;
    let mut lines = Vec::new();
    let asleep = if found.asleep {
        "yes, as far as the log shows"
    } else {
        "not shown: the draw neither fell to less than half and stayed there, nor stayed within the limit"
    };
    lines.push(("asleep", asleep.to_owned()));
    let flag = if marked { " (flag)" } else { "" };
    lines.push(match found.settle_min {
        Some(at) if at < 1.0 => ("settle", "settled from the start of the log".to_owned()),
        Some(at) => (
            "settle",
            format!("{} min from the start of the log{flag}", number(at)),
        ),
        None => ("settle", "not within this log; log longer".to_owned()),
    });
    let over = if found.plateau_ma > scene.limit.value() {
        "over"
    } else {
        "within"
    };
    lines.push((
        "plateau",
        format!(
            "{} between bursts, {over} the limit of {}; on average {} with them",
            current(found.plateau_ma),
            current(scene.limit.value()),
            current(found.mean_ma)
        ),
    ));
    for stage in &found.stages {
        lines.push((
            "before",
            format!(
                "{} stayed on until {}, then {} less{}",
                current(stage.ma),
                duration(stage.to_min),
                current(stage.fell_ma),
                may_be(feeds, &stage.pattern())
            ),
        ));
    }
    for (at, burst) in found.bursts.iter().enumerate() {
        let mark = if marked {
            format!("{}: ", at + 1)
        } else {
            String::new()
        };
        let text = burst_words(burst);
        lines.push((
            "bursts",
            format!("{mark}{text}{}", may_be(feeds, &burst.pattern())),
        ));
    }
    for (at, step) in found.steps.iter().enumerate() {
        let mark = if marked {
            format!("{}: ", drawing::letter(at))
        } else {
            String::new()
        };
        let way = if step.change_ma > 0.0 { "up" } else { "down" };
        let (size, when) = (current(step.change_ma.abs()), number(step.at_min));
        lines.push((
            "steps",
            format!(
                "{mark}{way} by {size} at {when} min{}",
                may_be(feeds, &step.pattern())
            ),
        ));
    }
    lines
}

/// A level that was there all the time in a log of so many minutes may be a drain and no vehicle that
/// was not left alone (judgement), below what an awake vehicle takes, in mA.
const LONG_ENOUGH: f64 = 60.0;
const AWAKE_FROM: f64 = 3000.0;

/// What to do with it.
fn advice(scene: LogScene<'_>) -> Vec<(&'static str, String)> {
    let found = scene.found;
    let mut lines = Vec::new();
    // An awake vehicle is no baseline; a drain that was there all the time is.
    let drain = found.minutes >= LONG_ENOUGH && found.plateau_ma < AWAKE_FROM;
    if found.settle_min.is_some() && (found.asleep || drain) {
        let typed = current(found.plateau_ma).replace(' ', "");
        lines.push((
            "baseline",
            format!("type in a case, with the instrument that logged: draw {typed} by clamp"),
        ));
    }
    if !found.bursts.is_empty() || !found.steps.is_empty() {
        for entry in log_entries(found) {
            lines.push(("for a case", entry));
        }
    }
    let bursts = found.bursts.iter().map(|burst| burst.size_ma);
    let steps = found.steps.iter().map(|step| step.change_ma.abs());
    let least = bursts.chain(steps).fold(f64::INFINITY, f64::min);
    if least.is_finite() {
        lines.push(("advice", format!(
            "What comes and goes is caught while it is there: log at least three times as long as it stays away, with the trigger at {}, and note what happens then. A walk over the fuses while the vehicle is quiet proves nothing",
            current(found.plateau_ma + least / 2.0)
        )));
    }
    if scene.skipped > 0 {
        lines.push((
            "left out",
            format!("{} without a time or a number", count(scene.skipped, "row")),
        ));
    }
    if scene.rows_each > 1 {
        lines.push((
            "rows",
            format!(
                "a long log: {} rows each are taken together, with their mean and their highest",
                scene.rows_each
            ),
        ));
    }
    lines
}

/// For a person: the picture, what was found, what it may be, what to do with it.
pub fn log_text(scene: LogScene<'_>, width: usize, unicode: bool) -> String {
    let mut lines = lines(scene, false);
    lines.extend(advice(scene));
    small_picture(scene, width, unicode) + "\n" + &under_heads(&lines, width)
}

/// The drawing of a log of that name.
pub fn log_drawing(scene: LogScene<'_>, name: &str) -> String {
    let legend: Vec<String> = lines(scene, true)
        .into_iter()
        .map(|(head, text)| format!("{head}: {text}"))
        .collect();
    drawing::drawing(scene.found, name, scene.limit.value(), &legend)
}

/// The same as a page that a phone shows as wide as its screen.
pub fn log_drawing_html(scene: LogScene<'_>, name: &str) -> String {
    let drawing = log_drawing(scene, name);
    let title = crate::render::picture::pen::escape(name);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>body{{margin:0}}svg{{display:block;width:100%;height:auto}}</style>\n\
         </head>\n<body>\n{drawing}</body>\n</html>\n"
    )
}
