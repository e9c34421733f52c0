//! Quantities as they are typed on a command line: the number first, then its unit.

use crate::notation::{Sense, Spelled};
use crate::problem::{Thing, nearest, short};

/// What is wrong with a typed quantity.
#[derive(Clone, Debug, PartialEq)]
pub enum Mistyped {
    /// No number at its start.
    NoNumber {
        /// What it should have been.
        what: Thing,
        /// The same in the units there are, for example `60Ah`.
        works: Vec<String>,
    },
    /// `1,200`: 1.2 to some, 1200 to others.
    Comma {
        /// With its comma as a point, and the unit as typed.
        point: String,
        /// With its comma as one of thousands.
        none: String,
    },
    /// A number alone, or with a unit of something else.
    Unit {
        /// What it should have been.
        what: Thing,
        /// The number with each of the units there are.
        works: Vec<String>,
    },
    /// Finite, but no such thing has it.
    Range {
        /// The least that is taken, with its unit.
        least: String,
        /// The most that is taken, with its unit.
        most: String,
    },
}

/// A unit as a keyboard may give it: `Ω` for `Ohm`, `mm²` for `mm2`, any capitals.
fn same_unit(typed: &str, known: &str) -> bool {
    let typed = typed
        .replace(['Ω', '\u{2126}'], "Ohm")
        .replace('²', "2")
        .to_lowercase();
    typed == known.to_lowercase()
}

/// The number and its unit with white space between them or none; a decimal comma will do.
pub(crate) fn number_and_unit(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let split = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    Some((number.replacen(',', ".", 1).parse().ok()?, unit.trim()))
}

/// A comma with three decimals behind it and no leading zero.
fn may_be_thousands(text: &str) -> bool {
    let Some((whole, behind)) = text.trim().split_once(',') else {
        return false;
    };
    let decimals = behind
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(behind.len());
    decimals == 3 && !whole.starts_with('0')
}

/// A quantity from its number and unit, within what makes sense, both ends included.
pub fn typed<Q: Spelled>(text: &str, sense: Sense) -> Result<Q, Mistyped> {
    let spelled = |number: f64| {
        let units = Q::UNITS.iter().filter(|(unit, _)| *unit != "min");
        units.map(|(unit, _)| format!("{number}{unit}")).collect()
    };
    let Some((number, unit)) = number_and_unit(text).filter(|(number, _)| number.is_finite())
    else {
        return Err(Mistyped::NoNumber {
            what: Q::WHAT,
            works: spelled(sense.least.max(1.0)),
        });
    };
    if may_be_thousands(text) {
        let unit = short(unit);
        return Err(Mistyped::Comma {
            point: format!("{number}{unit}"),
            none: format!("{}{unit}", number * 1000.0),
        });
    }
    // A long word is only compared when it can be a unit.
    let factor = Q::UNITS
        .iter()
        .find(|(word, _)| unit.len() < 20 && same_unit(unit, word))
        .map(|(_, factor)| *factor);
    let Some(factor) = factor else {
        let meant = nearest(unit, Q::UNITS.iter().map(|(word, _)| *word));
        return Err(Mistyped::Unit {
            what: Q::WHAT,
            works: meant.map_or_else(|| spelled(number), |word| vec![format!("{number}{word}")]),
        });
    };
    let value = number * factor;
    if value < sense.least || value > sense.most {
        let (unit, factor) = Q::UNITS.first().copied().unwrap_or_default();
        return Err(Mistyped::Range {
            least: format!("{}{unit}", sense.least / factor),
            most: format!("{}{unit}", sense.most / factor),
        });
    }
    Ok(Q::of(value))
}
