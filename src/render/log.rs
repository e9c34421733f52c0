//! What a current log says, in words, as a small picture and as data.

use crate::feeds::Feeds;
use crate::log::{Findings, Sample, could_be};
use crate::quantity::Milliamps;
use crate::render::amps::figures;
use crate::render::answer::current;
use crate::render::words::{count, number, under_heads};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// As data.
pub fn log_json(found: &Findings) -> Value {
    let bursts = found.bursts.iter().map(|burst| {
        json!({
            "period_min": burst.period_min,
            "size_ma": burst.size_ma,
            "length_s": burst.length_s,
            "count": burst.count,
        })
    });
    let steps = found.steps.iter();
    let steps = steps.map(|step| json!({"at_min": step.at_min, "change_ma": step.change_ma}));
    json!({
        "asleep": found.asleep,
        "settle_min": found.settle_min,
        "plateau_ma": found.plateau_ma,
        "bursts": bursts.collect::<Vec<_>>(),
        "steps": steps.collect::<Vec<_>>(),
        "minutes": found.minutes,
    })
}

/// Rows of the small picture.
const ROWS: usize = 8;

/// The most in each column, on a scale by powers of ten.
fn small_picture(samples: &[Sample], width: usize, unicode: bool) -> String {
    let columns = width.saturating_sub(12).max(10);
    let (Some(first), Some(last)) = (samples.first(), samples.last()) else {
        return String::new();
    };
    let span = (last.min - first.min).max(1e-9);
    let mut most = vec![0.0_f64; columns];
    for sample in samples {
        let at = ((sample.min - first.min) / span * columns as f64).max(0.0) as usize;
        let at = at.min(columns - 1);
        most[at] = most[at].max(sample.ma.abs());
    }
    let top = most
        .iter()
        .copied()
        .fold(10.0, f64::max)
        .log10()
        .ceil()
        .min(6.0);
    let bottom = (top - 3.0).max(0.0);
    let mut out = String::new();
    for row in (0..ROWS).rev() {
        let floor = 10_f64.powf(bottom + (top - bottom) * row as f64 / ROWS as f64);
        let mut line = format!("{:>9} ", current(floor));
        for most in &most {
            let block = if unicode { '█' } else { '#' };
            line.push(if *most >= floor { block } else { ' ' });
        }
        let _ = writeln!(out, "{}", line.trim_end());
    }
    let _ = writeln!(
        out,
        "{:>9} 0 to {} min; each column its highest, heights by powers of ten",
        "",
        figures(span)
    );
    out
}

/// For a person: the picture, what was found, what it may be, what to do with it.
pub fn log_text(
    found: &Findings,
    samples: &[Sample],
    skipped: usize,
    feeds: Option<&Feeds>,
    width: usize,
    unicode: bool,
) -> String {
    let mut lines = Vec::new();
    let asleep = if found.asleep {
        "yes, as far as the log shows"
    } else {
        "not shown: the draw neither fell to less than half and stayed there, nor stayed within the limit"
    };
    lines.push(("asleep", asleep.to_owned()));
    lines.push(match found.settle_min {
        Some(at) if at < 1.0 => ("settle", "settled from the start of the log".to_owned()),
        Some(at) => (
            "settle",
            format!("{} min from the start of the log", number(at)),
        ),
        None => ("settle", "not within this log; log longer".to_owned()),
    });
    let plateau = current(found.plateau_ma);
    lines.push(("plateau", format!("{plateau} (between bursts)")));
    if found.settle_min.is_some() {
        let typed = plateau.replace(' ', "");
        let entry =
            format!("type in a case, with the instrument that logged: draw {typed} by clamp");
        lines.push(("baseline", entry));
    }
    let may_be = |size: f64| {
        let ids = feeds
            .map(|feeds| could_be(feeds, Milliamps::of(size)))
            .unwrap_or_default();
        if ids.is_empty() {
            String::new()
        } else {
            format!("; by its size it could be {}", ids.join(", "))
        }
    };
    for burst in &found.bursts {
        let when = match burst.period_min {
            Some(period) => format!("every {} min", number(period)),
            None => "at odd times".to_owned(),
        };
        let (size, length) = (current(burst.size_ma), number(burst.length_s));
        let times = count(burst.count, "time");
        lines.push((
            "bursts",
            format!(
                "+{size} for {length} s, {when}, seen {times}{}",
                may_be(burst.size_ma)
            ),
        ));
    }
    for step in &found.steps {
        let way = if step.change_ma > 0.0 { "up" } else { "down" };
        let (size, at) = (current(step.change_ma.abs()), number(step.at_min));
        lines.push((
            "steps",
            format!("{way} by {size} at {at} min{}", may_be(step.change_ma)),
        ));
    }
    let comes_and_goes =
        found.bursts.iter().any(|burst| burst.period_min.is_none()) || !found.steps.is_empty();
    if comes_and_goes {
        let sizes = found.bursts.iter().map(|burst| burst.size_ma);
        let steps = found.steps.iter().map(|step| step.change_ma.abs());
        let least = sizes.chain(steps).fold(f64::INFINITY, f64::min);
        lines.push(("advice", format!(
            "For what comes and goes, log at least three times as long as it stays away, with the trigger at {}, and note what happens then. A walk over the fuses while the vehicle is quiet proves nothing",
            current(found.plateau_ma + least / 2.0)
        )));
    }
    if skipped > 0 {
        lines.push((
            "left out",
            format!("{} without a time or a number", count(skipped, "row")),
        ));
    }
    small_picture(samples, width, unicode) + "\n" + &under_heads(&lines, width)
}
