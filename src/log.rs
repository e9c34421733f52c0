//! A current log: when the vehicle settled, its plateau, and what comes and goes.
//!
//! **Model.** The draw is a level that moves in steps, with bursts on top. Levels are medians of short
//! windows, which a burst shorter than half a window does not move; spread is 1.4826 × the median
//! absolute deviation, which for normal noise is the standard deviation (Hampel's scale, from memory).
//! A level lasts until the windows stay away from it. A burst is what stands above the level by six
//! times the spread, until it is back within half of that (judgement).
//!
//! **Invariants.** What is found does not depend on the unit or on where the clock starts.
//!
//! **Cost.** Samples times the logarithm of their number.

use crate::quantity::Milliamps;

mod causes;
mod gather;
mod rows;
pub use causes::{Match, Pattern, Trait, Who, causes};
pub use gather::Gather;
pub use rows::{Rows, Wrong};

/// One row, or several neighbours together: minutes on the logger's clock, mA.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Minutes.
    pub min: f64,
    /// The current in mA, the mean of the rows that it stands for.
    pub ma: f64,
    /// The lowest of them.
    pub low: f64,
    /// The highest of them.
    pub high: f64,
}

impl Bursts {
    /// As something that comes and goes.
    pub fn pattern(&self) -> Pattern {
        Pattern {
            size: self.size_ma,
            every: self.period_min,
            lasts: Some(self.length_s / 60.0),
            after: self.at_min.first().copied(),
        }
    }
}

impl Change {
    /// As something that comes and stays, or had stayed on until then.
    pub fn pattern(&self) -> Pattern {
        Pattern {
            size: self.change_ma.abs(),
            every: None,
            lasts: None,
            after: Some(self.at_min),
        }
    }
}

impl Sample {
    /// One row.
    pub const fn at(min: f64, ma: f64) -> Self {
        Self {
            min,
            ma,
            low: ma,
            high: ma,
        }
    }

    /// The same with the clamp on the other way round.
    fn turned(self) -> Self {
        Self {
            min: self.min,
            ma: -self.ma,
            low: -self.high,
            high: -self.low,
        }
    }
}

/// Bursts of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Bursts {
    /// Start to start in minutes; `None` where they come at odd times.
    pub period_min: Option<f64>,
    /// Height above the level, in mA.
    pub size_ma: f64,
    /// How long one lasts, in seconds.
    pub length_s: f64,
    /// When each began, in minutes from the start of the log.
    pub at_min: Vec<f64>,
}

/// A lasting change of the level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Minutes from the start of the log.
    pub at_min: f64,
    /// By how much, in mA.
    pub change_ma: f64,
}

/// A level that lasted before the vehicle had settled: something stayed on after the key was off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// From, in minutes from the start of the log.
    pub from_min: f64,
    /// Until.
    pub to_min: f64,
    /// The level in mA.
    pub ma: f64,
    /// By how much it fell at its end.
    pub fell_ma: f64,
}

impl Stage {
    /// As something that was there and went.
    pub fn pattern(&self) -> Pattern {
        Pattern {
            size: self.fell_ma,
            every: None,
            lasts: Some(self.to_min - self.from_min),
            after: None,
        }
    }
}

/// What a log says.
#[derive(Clone, Debug, PartialEq)]
pub struct Findings {
    /// Whether it shows the vehicle asleep: the draw fell to less than half and lasted, or it lasted
    /// within the limit.
    pub asleep: bool,
    /// Minutes from the start until the lowest lasting level; `None` where there is none.
    pub settle_min: Option<f64>,
    /// That level in mA, or the last one.
    pub plateau_ma: f64,
    /// The draw on average from there on, bursts and all, in mA: what the battery feels.
    pub mean_ma: f64,
    /// Levels that lasted before it settled, the first minutes awake apart.
    pub stages: Vec<Stage>,
    /// What comes and goes above it.
    pub bursts: Vec<Bursts>,
    /// Lasting changes after it settled; all of them where it did not.
    pub steps: Vec<Change>,
    /// How long the log is, in minutes.
    pub minutes: f64,
    /// The samples it was found in: from the start of the log, the draw above zero.
    pub samples: Vec<Sample>,
}

/// A level lasts when it stands for so many minutes (judgement).
const LASTS: f64 = 10.0;
/// The longest burst in minutes: a tank-leak self-test takes up to 45 (common practice).
const LONGEST_BURST: f64 = 60.0;
/// Less than this is no burst and no step, in mA (judgement).
const SMALLEST: f64 = 5.0;
/// Windows are at most so many minutes (judgement: more than twice a telematics burst of 45 s).
const WINDOW: f64 = 3.0;

/// The median; 0 of nothing.
fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// A stretch of one level: from one sample to before another.
#[derive(Clone, Copy, Debug)]
struct Level {
    from: usize,
    to: usize,
    ma: f64,
}

/// Finds levels, bursts and steps; `limit` is what a parked vehicle may draw. `None` for fewer than
/// ten samples, or none that are apart in time.
pub fn find(mut samples: Vec<Sample>, limit: Milliamps) -> Option<Findings> {
    samples.retain(|sample| sample.min.is_finite() && sample.ma.is_finite());
    samples.sort_by(|a, b| a.min.total_cmp(&b.min));
    let start = samples.first()?.min;
    let minutes = samples.last()?.min - start;
    if samples.len() < 10 || minutes <= 0.0 {
        return None;
    }
    for sample in &mut samples {
        sample.min -= start;
    }
    let mut all: Vec<f64> = samples.iter().map(|sample| sample.ma).collect();
    if median(&mut all) < 0.0 {
        // The clamp was on the other way round.
        for sample in &mut samples {
            *sample = sample.turned();
        }
    }
    let levels = levels(&samples, minutes);
    let length = |level: &Level| {
        let end = samples.get(level.to).map_or(minutes, |sample| sample.min);
        end - samples[level.from].min
    };
    let lasting = |level: &&Level| length(level) >= LASTS.min(minutes * 0.5);
    let lowest = levels
        .iter()
        .filter(lasting)
        .map(|level| level.ma)
        .min_by(f64::total_cmp);
    let settled = lowest.and_then(|lowest| {
        let near = |level: &Level| level.ma <= lowest + (0.25 * lowest).max(SMALLEST);
        levels
            .iter()
            .position(|level| lasting(&level) && near(level))
    });
    let last = levels.last()?;
    let base = settled.map_or(*last, |at| levels[at]);
    let fell = levels[..settled.unwrap_or(0)]
        .iter()
        .any(|level| level.ma > 2.0 * base.ma + SMALLEST);
    let asleep = settled.is_some() && (fell || base.ma <= limit.value());
    let counted = &levels[settled.unwrap_or(0)..];
    let steps = counted.windows(2).map(|pair| Change {
        at_min: samples[pair[1].from].min,
        change_ma: pair[1].ma - pair[0].ma,
    });
    let steps = steps.collect();
    let settled_at = settled.map_or(base.from, |at| levels[at].from);
    Some(Findings {
        asleep,
        settle_min: settled.map(|at| samples[levels[at].from].min),
        plateau_ma: base.ma,
        mean_ma: mean(&samples[settled_at..]).unwrap_or(base.ma),
        stages: stages(&samples, &levels[..=settled.unwrap_or(0)]),
        bursts: bursts(&samples, counted, minutes),
        steps,
        minutes,
        samples,
    })
}

/// A log that begins awake stays so for less than this, in minutes (judgement).
const AWAKE: f64 = 60.0;

/// Levels that lasted, the last one apart, at whose end the draw fell.
fn stages(samples: &[Sample], levels: &[Level]) -> Vec<Stage> {
    let pairs = levels.windows(2).enumerate().map(|(at, pair)| {
        let stage = Stage {
            from_min: samples[pair[0].from].min,
            to_min: samples[pair[1].from].min,
            ma: pair[0].ma,
            fell_ma: pair[0].ma - pair[1].ma,
        };
        let shortest = if at == 0 { AWAKE } else { LASTS };
        (shortest, stage)
    });
    let lasted = |(shortest, stage): &(f64, Stage)| {
        stage.to_min - stage.from_min >= *shortest && stage.fell_ma > 0.0
    };
    pairs.filter(lasted).map(|(_, stage)| stage).collect()
}

/// The mean over time, each sample holding until the next.
fn mean(samples: &[Sample]) -> Option<f64> {
    let spans = samples.windows(2).map(|pair| pair[1].min - pair[0].min);
    let charge: f64 = spans.zip(samples).map(|(span, one)| span * one.ma).sum();
    let span = samples.last()?.min - samples.first()?.min;
    (span > 0.0).then(|| charge / span)
}

/// The least change of a level that counts.
fn counts(a: f64, b: f64, spread: f64) -> bool {
    (a - b).abs() > SMALLEST.max(0.1 * a.abs().min(b.abs())).max(4.0 * spread)
}

/// The stretches of one level, bursts taken out.
fn levels(samples: &[Sample], minutes: f64) -> Vec<Level> {
    let apart = minutes / samples.len() as f64;
    let window = (minutes / 20.0)
        .min(WINDOW)
        .max(5.0 * apart)
        .max(minutes / 5000.0);
    let mut found: Vec<Level> = Vec::new();
    let mut from = 0;
    while from < samples.len() {
        let end = samples[from].min + window;
        let mut to = from + samples[from..].partition_point(|sample| sample.min < end);
        // What is left over at the end is no window of its own.
        if samples.len() - to < (to - from) / 2 {
            to = samples.len();
        }
        let mut inside: Vec<f64> = samples[from..to].iter().map(|sample| sample.ma).collect();
        let ma = median(&mut inside);
        found.push(Level { from, to, ma });
        from = to;
    }
    let mut jumps: Vec<f64> = found
        .windows(2)
        .map(|pair| (pair[1].ma - pair[0].ma).abs())
        .collect();
    // A difference of two has the spread of one times the root of two.
    let spread = 1.4826 * median(&mut jumps) / std::f64::consts::SQRT_2;
    let mut merged = joined(samples, &found, spread);
    // A rise that comes back within the hour is a burst: its stretch belongs to the level around it.
    let burst = |merged: &[Level]| {
        merged.windows(3).position(|three| {
            let lasted = samples[three[2].from].min - samples[three[1].from].min;
            let back = !counts(three[0].ma, three[2].ma, spread);
            three[1].ma > three[0].ma && back && lasted <= LONGEST_BURST
        })
    };
    while let Some(at) = burst(&merged) {
        let (before, after) = (merged[at], merged[at + 2]);
        let longer = if before.to - before.from >= after.to - after.from {
            before
        } else {
            after
        };
        merged[at] = Level {
            from: before.from,
            to: after.to,
            ma: longer.ma,
        };
        merged.drain(at + 1..at + 3);
    }
    for at in 1..merged.len() {
        let near = moved(samples, merged[at - 1], merged[at], window);
        merged[at - 1].to = near;
        merged[at].from = near;
    }
    merged
}

/// Neighbouring windows of one level together; the level is the median of its windows.
fn joined(samples: &[Sample], windows: &[Level], spread: f64) -> Vec<Level> {
    let mut joined: Vec<Level> = Vec::new();
    let mut inside: Vec<f64> = Vec::new();
    for window in windows {
        match joined.last_mut() {
            Some(level) if !counts(level.ma, window.ma, spread) => {
                level.to = window.to;
                inside.push(window.ma);
                // A level of thousands of windows is known well enough.
                if inside.len() < 500 {
                    level.ma = median(&mut inside.clone());
                }
            }
            _ => {
                inside = vec![window.ma];
                joined.push(*window);
            }
        }
    }
    // A window across a step is a level of neither side: it goes to the one before.
    let whole = |level: &Level| {
        level.to - level.from > windows.first().map_or(0, |first| first.to - first.from)
    };
    let mut kept: Vec<Level> = Vec::new();
    for (at, level) in joined.iter().enumerate() {
        let between = at > 0
            && joined.get(at + 1).is_some_and(|next| {
                let (low, high) = (
                    joined[at - 1].ma.min(next.ma),
                    joined[at - 1].ma.max(next.ma),
                );
                low < level.ma && level.ma < high
            });
        match kept.last_mut() {
            Some(before) if between && !whole(level) => before.to = level.to,
            _ => kept.push(*level),
        }
    }
    debug_assert!(kept.last().is_none_or(|last| last.to == samples.len()));
    kept
}

/// The sample at which one level becomes the other: the place that leaves fewest samples on the wrong
/// side of the middle between them, within two windows.
fn moved(samples: &[Sample], before: Level, after: Level, window: f64) -> usize {
    let middle = f64::midpoint(before.ma, after.ma);
    let rises = after.ma > before.ma;
    let at = samples[after.from].min;
    let within = |time: f64| samples.partition_point(|sample| sample.min < time);
    let from = within(at - 2.0 * window).max(before.from + 1);
    let to = within(at + 2.0 * window)
        .min(after.to.saturating_sub(1))
        .max(from);
    let (mut wrong, mut least, mut best) = (0_i64, 0_i64, from);
    for (place, sample) in samples.iter().enumerate().take(to).skip(from) {
        let is_after = (sample.ma > middle) == rises;
        wrong += if is_after { 1 } else { -1 };
        if wrong < least {
            (least, best) = (wrong, place + 1);
        }
    }
    best
}

/// One burst.
#[derive(Clone, Copy, Debug)]
struct One {
    at: f64,
    length: f64,
    size: f64,
}

/// Everything that stands above its level for a while, sorted into kinds by size and length.
fn bursts(samples: &[Sample], levels: &[Level], minutes: f64) -> Vec<Bursts> {
    let apart = minutes / samples.len() as f64;
    let mut singles: Vec<One> = Vec::new();
    for level in levels {
        let part = &samples[level.from..level.to];
        let mut off: Vec<f64> = part
            .iter()
            .map(|sample| (sample.ma - level.ma).abs())
            .collect();
        let high = (6.0 * 1.4826 * median(&mut off)).max(SMALLEST);
        let mut run: Vec<f64> = Vec::new();
        let (mut began, mut top) = (0.0, 0.0_f64);
        let close = |run: &mut Vec<f64>, began: f64, top: f64, into: &mut Vec<One>| {
            if top > high {
                // One that is hardly longer than a sample is as high as its peak; each is as long as
                // its charge lasts at that height, so that laying rows together does not lengthen it.
                let charge = run.iter().sum::<f64>() * apart;
                let size = if run.len() < 4 { top } else { median(run) };
                let length = charge / size;
                into.push(One {
                    at: began,
                    length,
                    size,
                });
            }
            run.clear();
        };
        for sample in part {
            let above = sample.ma - level.ma;
            if above > high / 2.0 {
                if run.is_empty() {
                    (began, top) = (sample.min, 0.0);
                }
                top = top.max(sample.high - level.ma);
                run.push(above);
            } else if !run.is_empty() {
                close(&mut run, began, top, &mut singles);
            }
        }
        if !run.is_empty() {
            close(&mut run, began, top, &mut singles);
        }
    }
    let mut kinds: Vec<Vec<One>> = Vec::new();
    for one in singles {
        let alike = kinds.iter_mut().find(|kind| {
            let first = kind[0];
            let sizes = (one.size / first.size).max(first.size / one.size);
            let lengths = (one.length / first.length).max(first.length / one.length);
            sizes < 1.4 && (lengths < 2.0 || (one.length - first.length).abs() <= 2.0 * apart)
        });
        match alike {
            Some(kind) => kind.push(one),
            None => kinds.push(vec![one]),
        }
    }
    let mut found: Vec<Bursts> = kinds.iter().map(|kind| described(kind)).collect();
    found.sort_by(|a, b| b.size_ma.total_cmp(&a.size_ma));
    found
}

/// Bursts of a kind, with their period where three of four intervals keep to it within 15 %
/// (judgement), whole multiples counted for ones that were missed.
fn described(kind: &[One]) -> Bursts {
    let of = |take: fn(&One) -> f64| median(&mut kind.iter().map(take).collect::<Vec<_>>());
    let mut intervals: Vec<f64> = kind
        .windows(2)
        .map(|pair| pair[1].at - pair[0].at)
        .collect();
    let period = median(&mut intervals);
    let keeps = |interval: &&f64| {
        let times = (**interval / period).round();
        times >= 1.0 && (**interval / period - times).abs() <= 0.15
    };
    let kept: Vec<f64> = intervals.iter().filter(keeps).copied().collect();
    let periodic = kind.len() >= 3 && period > 0.0 && kept.len() * 4 >= intervals.len() * 3;
    // The mean of many is finer than a single interval between two samples.
    let times: f64 = kept
        .iter()
        .map(|interval| (interval / period).round())
        .sum();
    let period = kept.iter().sum::<f64>() / times;
    Bursts {
        period_min: periodic.then_some(period),
        size_ma: of(|one| one.size),
        length_s: of(|one| one.length) * 60.0,
        at_min: kind.iter().map(|one| one.at).collect(),
    }
}
