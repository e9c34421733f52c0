//! Rows of a logger's table, as cells, to samples: which columns, which units, which decimal sign.

use crate::log::Sample;
use std::borrow::Cow;

/// Why a log cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// No column says that it is a current in mA or A.
    NoUnit,
}

/// Reads rows one by one; those before the first that holds two numbers are its head.
#[derive(Clone, Debug, Default)]
pub struct Rows {
    head: Vec<String>,
    columns: Option<Columns>,
    told: Option<f64>,
    days: f64,
    last: Option<f64>,
    /// Rows that held no time or no number.
    pub skipped: usize,
}

#[derive(Clone, Copy, Debug)]
struct Columns {
    time: usize,
    clock: Option<usize>,
    minutes: f64,
    current: usize,
    milliamps: Option<f64>,
}

impl Rows {
    /// `told` is how many mA one unit of the current column is, where the person says so.
    pub fn new(told: Option<f64>) -> Self {
        Self {
            told,
            ..Self::default()
        }
    }

    /// One row; `None` for a row without a sample.
    pub fn row(&mut self, cells: &[&str]) -> Result<Option<Sample>, Wrong> {
        if self.columns.is_none() {
            let numbers = cells
                .iter()
                .filter(|c| time(c).is_some() || current(c).is_some());
            if numbers.count() < 2 {
                if cells.len() > 1 {
                    self.head = cells
                        .iter()
                        .map(|cell| cell.trim().to_lowercase())
                        .collect();
                }
                return Ok(None);
            }
            self.columns = Some(self.choose(cells));
        }
        let Some(columns) = self.columns else {
            return Ok(None);
        };
        let cell = |at: usize| cells.get(at).copied().unwrap_or_default();
        let Some((amount, unit)) = current(cell(columns.current)) else {
            self.skipped += 1;
            return Ok(None);
        };
        let milliamps = self
            .told
            .or(unit)
            .or(columns.milliamps)
            .ok_or(Wrong::NoUnit)?;
        let stamp = match columns.clock {
            Some(clock) => Cow::from(format!("{} {}", cell(columns.time), cell(clock))),
            None => Cow::from(cell(columns.time)),
        };
        let Some(min) = time(&stamp).map(|time| match time {
            Time::Plain(number) => number * columns.minutes,
            Time::Clock(minutes) => self.over_midnight(minutes),
            Time::Date(minutes) => minutes,
        }) else {
            self.skipped += 1;
            return Ok(None);
        };
        Ok(Some(Sample::at(min, amount * milliamps)))
    }

    /// A clock without a date starts again at midnight.
    fn over_midnight(&mut self, minutes: f64) -> f64 {
        if self.last.is_some_and(|last| minutes < last - 720.0) {
            self.days += 1.0;
        }
        self.last = Some(minutes);
        minutes + self.days * 1440.0
    }

    fn choose(&self, cells: &[&str]) -> Columns {
        let head = |at: usize| self.head.get(at).map_or("", String::as_str);
        let all = 0..cells.len();
        let named = |words: &[&str]| {
            all.clone()
                .find(|at| words.iter().any(|word| head(*at).contains(word)))
        };
        let date = named(&["date", "datum"]).filter(|at| dated(cells[*at]).is_some());
        let clock = named(&["time", "zeit", "clock"]).filter(|at| Some(*at) != date);
        let time_at = date
            .or(clock)
            .or_else(|| named(&["elapsed", "sec", "min", "hour", "t ["]));
        let time_at = time_at.unwrap_or(0);
        let clock = clock.filter(|at| date.is_some() && cells[*at].contains(':'));
        let free = |at: &usize| *at != time_at && Some(*at) != clock;
        let says = |at: &usize| head_unit(head(*at)).is_some();
        let reads = |at: &usize| current(cells[*at]).is_some_and(|(_, unit)| unit.is_some());
        let current_at = all.clone().filter(free).find(says);
        let current_at = current_at.or_else(|| all.clone().filter(free).find(reads));
        let words = ["current", "strom", "amp", "draw"];
        let current_at = current_at
            .or_else(|| named(&words).filter(free))
            .or_else(|| all.clone().find(free))
            .unwrap_or(1);
        Columns {
            time: time_at,
            clock,
            minutes: time_unit(head(time_at)),
            current: current_at,
            milliamps: head_unit(head(current_at)),
        }
    }
}

/// The words of a column's head, without brackets.
fn words(head: &str) -> impl Iterator<Item = &str> {
    head.split(|c: char| !c.is_alphanumeric() && c != 'µ' && c != 'μ')
}

/// How many mA the unit in a head is.
fn head_unit(head: &str) -> Option<f64> {
    words(head).find_map(|word| match word {
        "ma" | "milliamps" | "milliamp" | "milliamperes" => Some(1.0),
        "a" | "amps" | "amp" | "amperes" | "ampere" => Some(1000.0),
        "ua" | "µa" | "μa" => Some(0.001),
        _ => None,
    })
}

/// How many minutes the unit in a head is; seconds where it says nothing.
fn time_unit(head: &str) -> f64 {
    let unit = words(head).find_map(|word| match word {
        "ms" | "milliseconds" => Some(1.0 / 60_000.0),
        "s" | "sec" | "secs" | "second" | "seconds" => Some(1.0 / 60.0),
        "min" | "mins" | "minute" | "minutes" => Some(1.0),
        "h" | "hr" | "hours" | "hour" => Some(60.0),
        _ => None,
    });
    unit.unwrap_or(1.0 / 60.0)
}

/// A number with point or comma; behind a comma in thousands it is refused nowhere: the last sign is
/// the decimal one.
fn number(text: &str) -> Option<f64> {
    // Nearly all cells of a long log are plain.
    let bare = |c: u8| c.is_ascii_digit() || b"+-.".contains(&c);
    if text.bytes().all(bare) {
        return text.parse().ok();
    }
    let text = text.trim().replace(['−', '–'], "-");
    let text = match (text.rfind(','), text.rfind('.')) {
        (Some(comma), Some(point)) if comma > point => text.replace('.', "").replace(',', "."),
        (Some(_), Some(_)) => text.replace(',', ""),
        (Some(_), None) => text.replace(',', "."),
        _ => text,
    };
    let plain = |c: char| c.is_ascii_digit() || "+-.eE".contains(c);
    text.chars()
        .all(plain)
        .then(|| text.parse().ok())
        .flatten()
        .filter(|n: &f64| n.is_finite())
}

/// A current, with how many mA its own unit is where it has one.
fn current(text: &str) -> Option<(f64, Option<f64>)> {
    let text = text.trim();
    if let Some(number) = number(text) {
        return Some((number, None));
    }
    let at = text.find(|c: char| c.is_alphabetic() && c != 'e' && c != 'E')?;
    let unit = head_unit(&text[at..].to_lowercase())?;
    Some((number(&text[..at])?, Some(unit)))
}

enum Time {
    Plain(f64),
    Clock(f64),
    Date(f64),
}

fn time(text: &str) -> Option<Time> {
    let text = text.trim().trim_end_matches('Z');
    if let Some(number) = number(text) {
        return Some(Time::Plain(number));
    }
    if let Some(clock) = clock(text) {
        return Some(Time::Clock(clock));
    }
    let (date, rest) = text.split_once(['T', ' '])?;
    Some(Time::Date(dated(date)? * 1440.0 + clock(rest.trim())?))
}

/// Minutes of `h:mm`, `h:mm:ss` or `h:mm:ss.f`, also behind it an offset from the standard time.
fn clock(text: &str) -> Option<f64> {
    let text = text.split(['+', ' ']).next()?;
    let mut parts = text.split(':');
    let whole = |part: Option<&str>| number(part?).filter(|n| *n >= 0.0);
    let (hours, minutes) = (whole(parts.next())?, whole(parts.next())?);
    let seconds = match parts.next() {
        Some(seconds) => whole(Some(seconds))?,
        None => 0.0,
    };
    parts
        .next()
        .is_none()
        .then_some(hours * 60.0 + minutes + seconds / 60.0)
}

/// Days of a date from a fixed one: year first, or day first; with slashes month first unless that
/// cannot be. Proleptic Gregorian calendar.
fn dated(text: &str) -> Option<f64> {
    let parts: Option<Vec<i64>> = text
        .trim()
        .split(['-', '/', '.'])
        .map(|p| p.parse().ok())
        .collect();
    let (year, month, day) = match *parts?.as_slice() {
        [year, month, day] if year > 31 => (year, month, day),
        [month, day, year] if text.contains('/') && month <= 12 => (year, month, day),
        [day, month, year] => (year, month, day),
        _ => return None,
    };
    if !(1..=12).contains(&month) || !(1..=31).contains(&day) || !(0..=9999).contains(&year) {
        return None;
    }
    // Years that begin in March, so that the leap day is the last.
    let (year, month) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let days = year * 365 + year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
    Some((days + (month * 153 + 2) / 5 + day) as f64)
}
