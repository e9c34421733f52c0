//! Entries without a reading: actions, and what was learnt, passed over or taken back.

use crate::feeds::Named;
use crate::journal::line::{free, past_marks, past_separator, unquote, word_at};
use crate::journal::measured::{kind, thing};
use crate::journal::names::Found;
use crate::journal::options::{mended, sample, unit_of};
use crate::journal::parsing::{Fault, Parser};
use crate::journal::reading::{reading, small_unit};
use crate::journal::{Act, Point, TOLD_KEYS, Wrong, celsius, days, rested_volts, write_reading};
use crate::measurement::{Method, Unit};
use crate::problem::nearest;
use std::collections::BTreeMap;

/// Why a list of names is none.
struct NoList {
    /// The names understood before the text stopped making sense.
    before: Vec<Found>,
    /// Where it stopped.
    at: usize,
    /// A name that could be several.
    unclear: Option<Wrong>,
}

/// Names parted by commas, `and` or blanks, to the end of the text. Names may hold any of these
/// themselves, so every way to read the start is tried, the longest first; a place in the text that
/// was reached once is not tried again, which keeps the time linear.
fn list(
    text: &str,
    names_at: impl Fn(&str) -> Result<Vec<Found>, Wrong>,
) -> Result<Vec<Found>, NoList> {
    // The name before each place reached, and where it starts.
    let mut reached: BTreeMap<usize, Option<(usize, Found)>> = BTreeMap::new();
    let mut open = vec![(0, None)];
    let (mut furthest, mut unclear) = (0, None);
    while let Some((at, before)) = open.pop() {
        if reached.contains_key(&at) {
            continue;
        }
        reached.insert(at, before);
        if at == text.len() {
            return Ok(names_before(&reached, at));
        }
        let (found, wrong) = match names_at(&text[at..]) {
            Ok(found) => (found, None),
            Err(wrong) => (Vec::new(), Some(wrong)),
        };
        if found.is_empty() && at >= furthest {
            (furthest, unclear) = (at, wrong);
        }
        // The last one pushed, the longest, is tried first.
        for candidate in found.into_iter().rev() {
            let behind = &text[at + candidate.length..];
            let rest = past_separator(behind).unwrap_or_else(|| behind.trim_start());
            open.push((text.len() - rest.len(), Some((at, candidate))));
        }
    }
    Err(NoList {
        before: names_before(&reached, furthest),
        at: furthest,
        unclear,
    })
}

/// The names by which a place in the text was reached, in order.
fn names_before(reached: &BTreeMap<usize, Option<(usize, Found)>>, place: usize) -> Vec<Found> {
    let last = reached.get(&place).and_then(Option::as_ref);
    let back = std::iter::successors(last, |(at, _)| reached.get(at).and_then(Option::as_ref));
    let mut names: Vec<Found> = back.map(|(_, found)| found.clone()).collect();
    names.reverse();
    names
}

/// Whether a text ends in a word, so that a number may follow.
fn times_missing(text: &str) -> bool {
    text.ends_with(char::is_alphabetic)
}

/// Whether the first number of a text stands in volts.
fn says_volts(text: &str) -> bool {
    let (first, rest) = word_at(text);
    let unit = first.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','));
    let unit = if unit.is_empty() {
        word_at(rest).0
    } else {
        unit
    };
    unit.eq_ignore_ascii_case("v") || unit.eq_ignore_ascii_case("mv")
}

/// The days of "4 days".
fn days_told(text: &str) -> Option<&str> {
    let (number, unit) = text.split_once(' ')?;
    let named = ["day", "days"].contains(&unit.trim().to_lowercase().as_str());
    (named && days(number).is_some()).then_some(number)
}

/// The volts of the battery at rest, as they are kept: with their unit, which nobody needs to type.
fn volts_told(text: &str) -> Option<String> {
    let (first, rest) = word_at(text);
    let lower = first.to_lowercase();
    if let Some(millivolts) = lower.strip_suffix("mv") {
        let millivolts: f64 = millivolts.replace(',', ".").parse().ok()?;
        let volts = format!("{}V {rest}", millivolts / 1000.0);
        return volts_told(volts.trim_end());
    }
    rested_volts(text)?;
    let with_unit = lower.ends_with('v') || word_at(rest).0.eq_ignore_ascii_case("v");
    Some(if with_unit {
        text.to_owned()
    } else {
        format!("{first}V {rest}").trim_end().to_owned()
    })
}

/// Which battery of several was told to be at so many volts: `upper battery 12.7V`.
pub fn volts_of(text: &str) -> Option<(&str, f64)> {
    let (name, last) = text.trim().rsplit_once(char::is_whitespace)?;
    let named = name.chars().any(char::is_alphabetic) && rested_volts(text).is_none();
    let volts = rested_volts(last).filter(|_| named)?;
    Some((
        name.trim_end_matches(&[',', ':', ' '][..]),
        volts.value() / 1000.0,
    ))
}

impl Parser<'_> {
    /// The points of an action, each once.
    pub(super) fn points(&self, word: &'static str, text: &str) -> Result<Vec<Point>, Fault> {
        let text = past_marks(text);
        if text.is_empty() {
            return Err(Wrong::NoPoint { word }.into());
        }
        let found = list(text, |text| self.names.things_at(text))
            .map_err(|none| self.no_such_points(word, text, none))?;
        let mut points = Vec::new();
        for found in found {
            if matches!(found.named, Named::Network(_)) {
                let works = format!("look {} silent", self.spelled(&found));
                let kind = kind(&found.named);
                let name = found.name;
                return Err(Fault::new(Wrong::NotForThis { word, name, kind }, works));
            }
            let point = thing(&found);
            if !points.contains(&point) {
                points.push(point);
            }
        }
        Ok(points)
    }

    fn no_such_points(&self, word: &'static str, text: &str, none: NoList) -> Fault {
        let before: Vec<_> = none.before.iter().map(|f| self.spelled(f)).collect();
        let so_far = before.join(", ");
        let rest = &text[none.at..];
        if !before.is_empty()
            && let Ok(shown) = reading(rest, Unit::Milliamps)
        {
            let works = match shown.reading.unit {
                Unit::Milliamps => format!("{word} {so_far}; asleep; draw {rest}"),
                Unit::Millivolts => format!("{word} {so_far}"),
            };
            return Fault::new(Wrong::ActionWithReading { word }, works);
        }
        if let Some(wrong) = none.unclear {
            return wrong.into();
        }
        if let Some(place) = self.names.places_at(rest).unwrap_or_default().first() {
            let works = format!("open {}", self.spelled(place));
            let name = place.name.clone();
            let kind = "place";
            return Fault::new(Wrong::NotForThis { word, name, kind }, works);
        }
        let point = match unquote(rest) {
            Some((name, _)) => name,
            None => rest.split(',').next().unwrap_or("").trim().to_owned(),
        };
        let (point, near) = self.nearest(&point);
        let can_come_out =
            |name: &&String| !matches!(self.names.get(name), Some(Named::Network(_)));
        let mut names = before;
        names.extend(
            near.as_ref()
                .filter(can_come_out)
                .map(|name| self.plain(name)),
        );
        let works = if names.is_empty() {
            // Nothing that is there is taken out for it.
            format!("note {word} {}", free(text))
        } else {
            format!("{word} {}", names.join(", "))
        };
        let works = Some(works);
        Fault {
            wrong: Wrong::UnknownName {
                typed: point,
                nearest: near,
            },
            works,
        }
    }

    /// `refit F3`, `refit all`; alone it means what is asked for, or the one thing that is out.
    pub(super) fn refit(&self, rest: &str) -> Result<Act, Fault> {
        if let Some(back) = self.goes_back().filter(|_| rest.is_empty()) {
            return Ok(Act::Refit(self.points("refit", &back)?));
        }
        let everything = ["all", "everything"]
            .iter()
            .any(|word| rest.eq_ignore_ascii_case(word));
        if everything
            && self
                .names
                .things_at(rest)
                .is_ok_and(|found| found.is_empty())
        {
            return Ok(Act::Refit(Vec::new()));
        }
        Ok(Act::Refit(self.points("refit", rest)?))
    }

    /// `open footwell box`: an act for each place.
    pub(super) fn open(&self, rest: &str) -> Result<Vec<Act>, Fault> {
        let text = past_marks(rest);
        if text.is_empty() {
            return Err(Wrong::NoPoint { word: "open" }.into());
        }
        match list(text, |text| self.names.places_at(text)) {
            Ok(found) => Ok(found
                .iter()
                .filter_map(|found| match found.named {
                    Named::Place(place) => Some(Act::Open(place)),
                    _ => None,
                })
                .collect()),
            Err(none) => Err(self.no_such_place(&text[none.at..], none.unclear)),
        }
    }

    fn no_such_place(&self, text: &str, unclear: Option<Wrong>) -> Fault {
        if let Some(wrong) = unclear {
            return wrong.into();
        }
        let things = self.names.things_at(text).unwrap_or_default();
        if let Some(found) = things.iter().find(|found| found.length == text.len()) {
            return Wrong::NotForThis {
                word: "open",
                name: found.name.clone(),
                kind: kind(&found.named),
            }
            .into();
        }
        let near = self.names.nearest_place(text);
        let works = near.map(|name| {
            let found = self.names.places_at(name).unwrap_or_default();
            found.first().map_or_else(
                || self.some_place(),
                |found| format!("open {}", self.spelled(found)),
            )
        });
        Fault {
            wrong: Wrong::UnknownName {
                typed: free(text),
                nearest: near.map(str::to_owned),
            },
            works,
        }
    }

    /// `zero`, `zero 0.2mV`: what the leads show when they touch, or the clamp around nothing.
    pub(super) fn zero(rest: &str) -> Result<Act, Fault> {
        if rest.is_empty() {
            return Ok(Act::Zero(None));
        }
        let shown = reading(rest, unit_of(Method::Zero)).map_err(|wrong| {
            let mended = mended(Method::Zero, &wrong);
            Fault::new(wrong, format!("zero {mended}"))
        })?;
        let tail = free(shown.rest);
        let unit = small_unit(shown.reading.unit);
        let (wrong, works) = if shown.reading.over {
            let typed = free(rest);
            (
                Wrong::NotAReading { typed, unit },
                sample(Method::Zero).to_owned(),
            )
        } else if !tail.is_empty() {
            (
                Wrong::Trailing { typed: tail },
                write_reading(&shown.reading),
            )
        } else if shown.plain_zero {
            let decimals = match shown.reading.unit {
                Unit::Millivolts => "0.0mV".to_owned(),
                Unit::Milliamps => write_reading(&shown.reading),
            };
            (Wrong::ZeroWithoutDecimals { unit }, decimals)
        } else {
            return Ok(Act::Zero(Some(shown.reading)));
        };
        Err(Fault::new(wrong, format!("zero {works}")))
    }

    /// `repaired C114 chafed wire`, `repaired earth strap`.
    pub(super) fn repaired(&self, rest: &str) -> Result<Act, Fault> {
        let text = free(rest);
        if text.is_empty() {
            return Err(Wrong::NoText { word: "repaired" }.into());
        }
        let found = self.names.things_at(&text)?;
        let longest = found.first();
        Ok(Act::Repaired {
            point: longest.map(thing),
            text: match longest {
                Some(found) => past_marks(&text[found.length..]).to_owned(),
                None => text,
            },
        })
    }

    /// `told KEY TEXT`, `told TEXT`.
    pub(super) fn told(&self, rest: &str) -> Result<Act, Fault> {
        let text = free(rest);
        if text.is_empty() {
            return Err(Wrong::NoText { word: "told" }.into());
        }
        let (first, behind) = word_at(&text);
        let key = first.to_lowercase();
        if !TOLD_KEYS.contains(&key.as_str()) {
            // Volts are the battery's, whether it is named or not.
            let of_battery = match key.as_str() {
                "battery" | "volt" => behind,
                _ => &text,
            };
            let volts = volts_told(of_battery).filter(|_| says_volts(of_battery));
            if volts.is_none() {
                if let Some(days) = days_told(&text) {
                    return self.told(&format!("days {days}"));
                }
                self.told_something(&text)?;
            }
            let key = volts.is_some().then(|| "volts".to_owned());
            return Ok(Act::Told {
                key,
                text: volts.unwrap_or(text),
            });
        }
        if key == "days" && days(behind).is_none() {
            return Err(Wrong::NoNumber { word: "told days" }.into());
        }
        if key == "volts" && volts_told(behind).is_none() && volts_of(behind).is_none() {
            let wrong = Wrong::NoNumber { word: "told volts" };
            return Err(Fault::new(wrong, "told volts 12.6V".to_owned()));
        }
        // `told odds radio 3`: how many times as likely.
        let last = behind.split_whitespace().next_back().unwrap_or_default();
        let times = last
            .trim_start_matches('x')
            .replace(',', ".")
            .parse::<f64>();
        let named = behind.split_whitespace().count() > 1;
        if key == "odds" && !(named && times.is_ok_and(|times| times > 0.0 && times <= 1000.0)) {
            let works = match behind.split_whitespace().next() {
                Some(_) if times_missing(behind) => format!("told odds {behind} 3"),
                _ => "told odds radio 3".to_owned(),
            };
            return Err(Fault::new(Wrong::NoNumber { word: "told odds" }, works));
        }
        if key == "celsius" && celsius(behind).is_none() {
            return Err(Wrong::NoNumber {
                word: "told celsius",
            }
            .into());
        }
        let volts = volts_told(behind).filter(|_| key == "volts");
        Ok(Act::Told {
            key: Some(key),
            text: volts.unwrap_or_else(|| behind.to_owned()),
        })
    }

    /// A word and a number are a key and its value, and not what an owner says: a key that is none is refused, but
    /// in what was kept before.
    fn told_something(&self, text: &str) -> Result<(), Fault> {
        let mut both = text.split_whitespace();
        let (Some(word), Some(number), None) = (both.next(), both.next(), both.next()) else {
            return Ok(());
        };
        let digits = number
            .trim_end_matches(char::is_alphabetic)
            .replace(',', ".");
        let whole = |found: &Found, text: &str| found.length == text.len();
        let is_name = |text: &str| {
            let found = self.names.things_at(text).unwrap_or_default();
            found.first().is_some_and(|found| whole(found, text))
        };
        if self.kept || digits.parse::<f64>().is_err() || is_name(text) {
            return Ok(());
        }
        let works = if is_name(word) {
            format!("told odds {word} {number}")
        } else if let Some(key) = nearest(word, TOLD_KEYS.into_iter()) {
            format!("told {key} {number}")
        } else {
            format!("note {text}")
        };
        let typed = word.to_owned();
        Err(Fault::new(Wrong::NotTold { typed }, works))
    }

    /// `withdraw 7 REASON`.
    pub(super) fn withdraw(rest: &str) -> Result<Act, Fault> {
        let (first, reason) = word_at(rest);
        let number = first.trim_start_matches('#').trim_end_matches(',');
        match number.parse() {
            Ok(entry) if entry > 0 => Ok(Act::Withdraw {
                entry,
                reason: free(reason),
            }),
            _ => Err(Wrong::NoNumber { word: "withdraw" }.into()),
        }
    }
}
