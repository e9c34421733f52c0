//! What comes and goes, and how long it was logged: `comes 180mA every 20min for 30s`, `logged 8h`.

use crate::journal::line::{free, word_at};
use crate::journal::parsing::{Fault, Parser};
use crate::journal::reading::reading;
use crate::journal::{Act, Lasting, Passing, Wrong};
use crate::measurement::{Reading, Unit};

/// A line that works.
const COMES: &str = "comes 180mA every 20min for 30s";
const LOGGED: &str = "logged 8h most 45mA";

fn fault(what: Passing, works: &str) -> Fault {
    Fault::new(Wrong::Passing(what), works.to_owned())
}

/// A length of time at the start, with the rest: `20min`, `1.5 h`.
fn lasting(text: &str) -> Option<(Lasting, &str)> {
    let text = text.trim_start();
    let number = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
    let (digits, rest) = text.split_at(text.find(|c| !number(c)).unwrap_or(text.len()));
    let amount: f64 = digits.replace(',', ".").parse().ok()?;
    let rest = rest.trim_start();
    let letters = rest
        .find(|c: char| !c.is_alphabetic())
        .unwrap_or(rest.len());
    let (unit, rest) = rest.split_at(letters);
    let seconds = match unit.to_lowercase().as_str() {
        "s" | "sec" | "secs" | "second" | "seconds" => 1,
        "min" | "mins" | "minute" | "minutes" => 60,
        "h" | "hr" | "hrs" | "hour" | "hours" => 3600,
        "d" | "day" | "days" => 86_400,
        _ => return None,
    };
    let sensible = amount > 0.0 && amount < 1e6;
    sensible.then_some((Lasting { amount, seconds }, rest))
}

/// A current that may come, or have been the highest: above zero, with its unit.
fn size<'t>(text: &'t str, works: &str) -> Result<(Reading, &'t str), Fault> {
    let shown =
        reading(text, Unit::Milliamps).map_err(|wrong| Fault::new(wrong, works.to_owned()))?;
    let taken = shown.reading;
    if taken.unit != Unit::Milliamps || taken.over || taken.low <= 0.0 {
        return Err(fault(Passing::NoCurrent, works));
    }
    Ok((taken, shown.rest))
}

impl Parser<'_> {
    /// `comes 180mA every 20min for 30s after 2h`; without `every` at odd times, without `for` it
    /// stays, `after` the vehicle was left.
    pub(super) fn comes(rest: &str) -> Result<Act, Fault> {
        let (size, mut rest) = size(rest, COMES)?;
        let (mut every, mut lasts, mut after) = (None, None, None);
        loop {
            let (word, behind) = word_at(rest);
            let place = match word.to_lowercase().as_str() {
                "" => break,
                "every" => &mut every,
                "for" => &mut lasts,
                "after" => &mut after,
                "once" => {
                    rest = behind;
                    continue;
                }
                "at" if behind.to_lowercase().starts_with("odd times") => {
                    rest = &behind["odd times".len()..];
                    continue;
                }
                _ => {
                    return Err(fault(Passing::NotThere(free(word)), COMES));
                }
            };
            let Some((time, behind)) = lasting(behind) else {
                return Err(fault(Passing::NoTime, COMES));
            };
            if place.replace(time).is_some() {
                return Err(fault(Passing::Twice, COMES));
            }
            rest = behind;
        }
        Ok(Act::Comes {
            size,
            every,
            lasts,
            after,
        })
    }

    /// `logged 8h`, `logged 8h most 45mA`.
    pub(super) fn logged(rest: &str) -> Result<Act, Fault> {
        let Some((long, rest)) = lasting(rest) else {
            return Err(fault(Passing::HowLong, LOGGED));
        };
        let (word, behind) = word_at(rest);
        let most = match word.to_lowercase().as_str() {
            "" => None,
            "most" | "highest" | "max" => {
                let (most, rest) = size(behind, LOGGED)?;
                if !free(rest).is_empty() {
                    return Err(fault(Passing::TooMuch, LOGGED));
                }
                Some(most)
            }
            _ => return Err(fault(Passing::TooMuch, LOGGED)),
        };
        Ok(Act::Logged { long, most })
    }
}
