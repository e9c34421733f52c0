//! What a drop is read across, as it is typed: a fuse, a length of wire, a resistance.

use super::{FUSE, Wrong};
use crate::amps::Across;
use crate::notation::{Mistyped, Sense, Spelled, from_to, typed};
use crate::problem::nearest;
use crate::quantity::{Metres, Milliamps, Milliohms, SquareMillimetres};
use crate::reference::Strands;
use crate::vehicle::{FuseStyle, Metal, Wire, WireSize};

const SIZE: &str = "0.5mm2";
const METRE: &str = "1m";

/// From a fuse link of a starter cable to a shunt of any make (judgement).
const RESISTANCE: Sense = from_to(0.001, 100_000.0);
const LENGTH: Sense = from_to(0.001, 100.0);
const AREA: Sense = from_to(0.01, 500.0);
/// As a vehicle file takes them: 0 is 1/0, −3 is 4/0.
const GAUGE: Sense = from_to(-3.0, 40.0);
const RATING: Sense = from_to(100.0, 2_000_000.0);

/// Words with each number joined to its unit: `0.5 mm2 1 m` is two, and so is `awg 18 1 m`.
fn joined(words: &[&str]) -> Vec<String> {
    let mut joined: Vec<String> = Vec::new();
    for word in words {
        let numeric = |c: char| c.is_ascii_digit();
        let belongs = joined.last().is_some_and(|last| {
            let unit = word.starts_with(char::is_alphabetic)
                && metal_of(word).is_none()
                && strands_of(word).is_none();
            let gauge = last.eq_ignore_ascii_case("awg") && word.starts_with(numeric);
            gauge || last.ends_with(numeric) && last.starts_with(numeric) && unit
        });
        match joined.last_mut().filter(|_| belongs) {
            Some(last) => last.push_str(word),
            None => joined.push((*word).to_owned()),
        }
    }
    joined
}

fn metal_of(word: &str) -> Option<Metal> {
    match word.to_lowercase().as_str() {
        "copper" => Some(Metal::Copper),
        "aluminium" | "aluminum" => Some(Metal::Aluminium),
        _ => None,
    }
}

fn strands_of(word: &str) -> Option<Strands> {
    let mut table = Strands::TABLE.iter();
    let found = table.find(|(known, _)| word.eq_ignore_ascii_case(known));
    found.map(|(_, strands)| *strands)
}

/// What stands behind `across`.
pub(super) fn across(words: &[&str]) -> Result<Across, (Wrong, String)> {
    let Some((first, rest)) = words.split_first() else {
        return Err((Wrong::NoAcross, FUSE.to_owned()));
    };
    if first.eq_ignore_ascii_case("wire") {
        return wire(rest);
    }
    if first.starts_with(|c: char| c.is_ascii_digit() || "+-.,".contains(c)) {
        let typed = words.concat();
        if quantity::<Milliamps>(&typed, RATING).is_ok() {
            return Err((Wrong::NoStyle, format!("Regular {typed}")));
        }
        return quantity::<Milliohms>(&words.concat(), RESISTANCE)
            .map(Across::Resistance)
            .map_err(|wrong| (wrong, "4.8mOhm".to_owned()));
    }
    let styles = || FuseStyle::TABLE.iter();
    let style = styles().find(|(word, _)| word.eq_ignore_ascii_case(first));
    let rest = joined(rest);
    let typed_rating = rest.first().map(String::as_str).unwrap_or_default();
    let rating = quantity::<Milliamps>(typed_rating, RATING);
    // The rating as typed where it will do, else with the unit it lacks.
    let number: String = typed_rating
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    let rating_text = match &rating {
        Ok(_) => typed_rating.to_owned(),
        Err(Wrong::Quantity(Mistyped::Unit { .. })) => format!("{number}A"),
        Err(_) => "10A".to_owned(),
    };
    // With its unit the number may be more than any fuse has.
    let rating_text = match quantity::<Milliamps>(&rating_text, RATING) {
        Ok(_) => rating_text,
        Err(_) => "10A".to_owned(),
    };
    let Some((word, style)) = style else {
        let nearest = nearest(first, styles().map(|(word, _)| *word));
        let mended = format!("{} {rating_text}", nearest.unwrap_or("Regular"));
        let wrong = Wrong::Style {
            typed: (*first).to_owned(),
            nearest: nearest.map(str::to_owned),
        };
        return Err((wrong, mended));
    };
    let mended = format!("{word} {rating_text}");
    match (rest.as_slice(), rating) {
        ([], _) => Err((Wrong::NoRating, mended)),
        (_, Err(wrong)) => Err((wrong, mended)),
        ([_], Ok(rating)) => Ok(Across::Fuse(*style, rating)),
        ([_, other, ..], Ok(_)) => Err((Wrong::Trailing(other.clone()), mended)),
    }
}

fn quantity<Q: Spelled>(text: &str, sense: Sense) -> Result<Q, Wrong> {
    typed(text, sense).map_err(Wrong::Quantity)
}

/// The number of a gauge that is written in noughts: 1/0 is 0, 4/0 or 0000 is -3.
fn aught(typed: &str) -> Option<String> {
    let noughts = match typed.trim().strip_suffix("/0") {
        Some(number) => number.parse().ok().filter(|n| (1..=4).contains(n))?,
        None if typed.len() > 1 && typed.chars().all(|c| c == '0') => {
            i32::try_from(typed.len()).ok()?
        }
        None => return None,
    };
    Some((1 - noughts).to_string())
}

/// A size and a length in that order, and in any place the metal and how it is made up. The line that
/// mends it keeps what will do.
fn wire(words: &[&str]) -> Result<Across, (Wrong, String)> {
    let (mut size, mut length, mut metal, mut strands) = (None, None, None, None);
    let mut kept = [SIZE.to_owned(), METRE.to_owned()];
    let line = |kept: &[String; 2], metal: Option<Metal>, strands: Option<Strands>| {
        let aluminium = if metal == Some(Metal::Aluminium) {
            " aluminium"
        } else {
            ""
        };
        let strands = strands.map_or_else(String::new, |strands| format!(" {}", strands.word()));
        format!("wire {} {}{aluminium}{strands}", kept[0], kept[1])
    };
    let mut wrong = None;
    for word in joined(words) {
        let lower = word.to_lowercase();
        // `awg 18` is as usual as `18 awg`.
        let gauge = lower.strip_prefix("awg").or(lower.strip_suffix("awg"));
        let found = if let Some(found) = metal_of(&word) {
            metal = Some(found);
            Ok(())
        } else if let Some(found) = strands_of(&word) {
            strands = Some(found);
            Ok(())
        } else if let (Some(number), None) = (gauge, size) {
            let number = format!("{}awg", aught(number).unwrap_or(number.to_owned()));
            quantity::<crate::notation::Gauge>(&number, GAUGE).map(|gauge| {
                size = Some(WireSize::Gauge(crate::quantity::Quantity::value(gauge)));
                kept[0] = number;
            })
        } else if size.is_none() {
            quantity::<SquareMillimetres>(&word, AREA).map(|area| {
                size = Some(WireSize::Area(area));
                kept[0].clone_from(&word);
            })
        } else if length.is_none() {
            quantity::<Metres>(&word, LENGTH).map(|metres| {
                length = Some(metres);
                kept[1].clone_from(&word);
            })
        } else {
            Err(Wrong::Trailing(word))
        };
        // The rest is read on, for the line that mends it.
        wrong = wrong.or(found.err());
    }
    let lacks = match (size, length) {
        (None, _) => Some(Wrong::Wire("size")),
        (_, None) => Some(Wrong::Wire("length")),
        _ => None,
    };
    if let Some(wrong) = wrong.or(lacks) {
        return Err((wrong, line(&kept, metal, strands)));
    }
    let wire = Wire {
        size: size.unwrap_or(WireSize::Gauge(0.0)),
        length,
        metal: metal.unwrap_or(Metal::Copper),
    };
    Ok(Across::Wire(wire, strands.unwrap_or_default()))
}
