//! RON as people type it, taken apart leaf by leaf so that each mistake keeps its exact place.
//!
//! **Model.** A file is words, quantities with their unit (`mA(12)`), texts, lists, records and
//! maps. Field names and values are slices of the source, so the place of a value is a subtraction
//! and a wrong value is a [`Problem`] beside the others; nothing but broken syntax ends the reading.
//!
//! **Invariants.** Reading never stops at a wrong leaf; every quantity that leaves this room is
//! finite and inside its stated range.
//!
//! **Cost.** Linear in the text; a leaf is read once when it is right.

use crate::problem::{Finding, Located, Problem, Span, Thing, words};
use crate::quantity::{
    AmpHours, Metres, Milliamps, Millimetres, Milliohms, Millivolts, Minutes, Quantity,
    SquareMillimetres,
};
use ron::{Options, extensions::Extensions, value::RawValue};
use std::cell::RefCell;

mod shapes;
mod syntax;
mod tokens;
mod typed;
pub use shapes::Word;
use shapes::{Bare, Maybe, Measure, Named, NamedPair, Pairs, Unnamed, UnnamedPair};
pub use syntax::Source;
pub use tokens::{Token, tokens};
pub use typed::{Mistyped, typed};

/// The dialect: implicit `Some`, and deep enough that 48 levels of parts are reached before ron's
/// own limit (it counts about five steps a level).
pub fn options() -> Options {
    Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .with_recursion_limit(256)
}

/// A field as written: its name and its value, both slices of the source.
pub type Field<'s> = (&'s str, &'s str);

/// A quantity that a file can spell: its units, the smallest first.
pub trait Spelled: Quantity {
    /// What a person calls it.
    const WHAT: Thing;
    /// The unit words and how much of [`Quantity::UNIT`] one of each is.
    const UNITS: &'static [(&'static str, f64)];
}

macro_rules! spelled {
    ($($type:ty, $what:ident, [$(($unit:literal, $factor:literal)),+];)+) => {
        $(impl Spelled for $type {
            const WHAT: Thing = Thing::$what;
            const UNITS: &'static [(&'static str, f64)] = &[$(($unit, $factor)),+];
        })+
    };
}
spelled! {
    Milliamps, Current, [("mA", 1.0), ("A", 1000.0)];
    Millivolts, Voltage, [("mV", 1.0), ("V", 1000.0)];
    Milliohms, Resistance, [("mOhm", 1.0), ("Ohm", 1000.0)];
    AmpHours, Capacity, [("Ah", 1.0)];
    Minutes, Time, [("minutes", 1.0), ("min", 1.0), ("h", 60.0)];
    Metres, Length, [("m", 1.0), ("mm", 0.001)];
    Millimetres, Width, [("mm", 1.0), ("m", 1000.0)];
    SquareMillimetres, CrossSection, [("mm2", 1.0)];
    Gauge, Gauge, [("awg", 1.0)];
}

/// The number and unit that spell a quantity: the wanted unit where that loses nothing, else the
/// smallest of its units.
pub fn in_unit<Q: Spelled>(quantity: Q, wanted: &str) -> (f64, &'static str) {
    let value = quantity.value();
    let fit = Q::UNITS.iter().find(|(unit, factor)| {
        #[expect(clippy::float_cmp, reason = "it must come back as it was, bit for bit")]
        let exact = value / factor * factor == value;
        *unit == wanted && exact
    });
    let (unit, factor) = fit.unwrap_or(&Q::UNITS[0]);
    (value / factor, unit)
}

/// A wire's size as an American wire gauge number.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Gauge(f64);
impl Quantity for Gauge {
    const UNIT: &'static str = "AWG";
    fn of(value: f64) -> Self {
        Self(if value.is_nan() {
            0.0
        } else {
            value.clamp(f64::MIN, f64::MAX)
        })
    }
    fn value(self) -> f64 {
        self.0
    }
}

/// Which numbers make sense, both ends included, in the quantity's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sense {
    /// The smallest.
    pub least: f64,
    /// The largest.
    pub most: f64,
}

/// Shorthand for a [`Sense`].
pub const fn from_to(least: f64, most: f64) -> Sense {
    Sense { least, most }
}

/// One file being read; collects what is wrong with it.
pub struct Reader<'s> {
    source: &'s str,
    problems: RefCell<Vec<Problem>>,
}

impl<'s> Reader<'s> {
    /// For values that are slices of this text.
    pub fn new(source: &'s str) -> Self {
        Self {
            source,
            problems: RefCell::default(),
        }
    }

    /// What was wrong so far, in the order it was found.
    pub fn into_problems(self) -> Vec<Problem> {
        self.problems.into_inner()
    }

    /// Where a slice of the source stands.
    pub fn at(&self, slice: &str) -> Span {
        let from = (slice.as_ptr() as usize).saturating_sub(self.source.as_ptr() as usize);
        let from = from.min(self.source.len());
        from..(from + slice.len()).min(self.source.len())
    }

    /// Notes a fault at a slice of the source.
    pub fn fault(&self, at: &str, finding: Finding) {
        self.note(finding.at(self.at(at)));
    }

    /// Notes a fault.
    pub fn note(&self, problem: Problem) {
        self.problems.borrow_mut().push(problem);
    }

    /// A quantity with its unit; `None` when the file says `None` or something wrong, which is noted.
    pub fn quantity<Q: Spelled>(&self, raw: &'s str, sense: Sense) -> Option<Located<Q>> {
        let read = options().from_str_seed(raw, Maybe(Measure));
        let (unit, number) = match read {
            Ok(None) => return None,
            Ok(Some(pair)) => pair,
            Err(_) => {
                self.wrong_quantity::<Q>(raw);
                return None;
            }
        };
        let Some((_, factor)) = Q::UNITS.iter().find(|(name, _)| *name == unit) else {
            let ways = in_known_unit::<Q>(unit, number).unwrap_or_else(|| ways::<Q>(number));
            self.fault(raw, words::other_unit(unit, Q::WHAT, &ways));
            return None;
        };
        let value = number * factor;
        self.sensible(raw, value, sense, |v| {
            let (unit, factor) = Q::UNITS
                .last()
                .filter(|(_, f)| v >= *f)
                .unwrap_or(&Q::UNITS[0]);
            spelled(unit, v / factor)
        })?;
        Some(Located {
            value: Q::of(value),
            at: self.at(raw),
        })
    }

    /// A number without a unit.
    pub fn number(&self, raw: &'s str, sense: Sense) -> Option<f64> {
        match options().from_str::<Option<f64>>(raw) {
            Ok(None) => None,
            Ok(Some(value)) => self.sensible(raw, value, sense, |v| v.to_string()),
            Err(_) => {
                self.fault(raw, words::not_a_number(raw, sense.least.max(1.0)));
                None
            }
        }
    }

    fn sensible(
        &self,
        raw: &'s str,
        value: f64,
        sense: Sense,
        spell: impl Fn(f64) -> String,
    ) -> Option<f64> {
        let finding = if !value.is_finite() {
            words::not_finite(raw, &spell(sense.least.max(1.0)))
        } else if value < 0.0 && sense.least >= 0.0 {
            words::negative(raw, &spell(value.abs().clamp(sense.least, sense.most)))
        } else if value < sense.least || value > sense.most {
            words::out_of_range(raw, &spell(sense.least), &spell(sense.most))
        } else {
            return Some(value);
        };
        self.fault(raw, finding);
        None
    }

    /// Says what is wrong with something that should have been a quantity.
    fn wrong_quantity<Q: Spelled>(&self, raw: &'s str) {
        let plain = raw.trim_matches('"').trim();
        let known = |unit: &str| Q::UNITS.iter().any(|(name, _)| *name == unit);
        let unit = syntax::unit_word(raw);
        let finding = if let Some(number) = syntax::decimal_comma(raw) {
            let unit = unit.filter(|unit| known(unit));
            let right = unit.map(|unit| vec![spelled(unit, number)]);
            words::decimal_comma(&right.unwrap_or_else(|| ways::<Q>(number)))
        } else if let Ok(number) = plain.parse::<f64>() {
            words::no_unit(raw, Q::WHAT, &ways::<Q>(number))
        } else if let Some((number, unit)) = syntax::number_then_unit(plain) {
            let right = in_known_unit::<Q>(unit, number);
            words::unit_behind(Q::WHAT, &right.unwrap_or_else(|| ways::<Q>(number)))
        } else if let Some(unit) = unit.filter(|unit| !known(unit)) {
            let number = syntax::first_number(raw).unwrap_or(12.0);
            words::other_unit(unit, Q::WHAT, &ways::<Q>(number))
        } else {
            words::no_quantity(raw, Q::WHAT, &ways::<Q>(12.0))
        };
        self.fault(raw, finding);
    }

    /// A text in quotes, not empty.
    pub fn text(&self, raw: &'s str) -> Option<Located<String>> {
        match options().from_str::<Option<String>>(raw) {
            Ok(None) => None,
            Ok(Some(value)) if value.trim().is_empty() => {
                self.fault(raw, words::empty_text());
                None
            }
            Ok(Some(value)) => Some(Located {
                value,
                at: self.at(raw),
            }),
            Err(_) => {
                self.fault(raw, words::no_quotes(raw));
                None
            }
        }
    }

    /// `true` or `false`.
    pub fn flag(&self, raw: &'s str) -> Option<bool> {
        options().from_str::<Option<bool>>(raw).unwrap_or_else(|_| {
            self.fault(raw, words::neither_true_nor_false(raw));
            None
        })
    }

    /// One word of a table.
    pub fn word<T: Copy>(&self, raw: &'s str, what: Thing, table: &[(&str, T)]) -> Option<T> {
        let read = options().from_str_seed(raw, Maybe(Bare));
        let written = read.unwrap_or(Some(raw))?;
        let found = table.iter().find(|(word, _)| *word == written);
        if found.is_none() {
            let known: Vec<_> = table.iter().map(|(word, _)| *word).collect();
            self.fault(raw, words::unknown_word(written, what, &known));
        }
        found.map(|(_, value)| *value)
    }

    /// The elements of a list.
    pub fn list(&self, raw: &'s str, example: &str) -> Vec<&'s str> {
        let Ok(list) = options().from_str::<Option<Vec<&'s RawValue>>>(raw) else {
            self.fault(raw, words::no_list(raw, example));
            return Vec::new();
        };
        let items = list.unwrap_or_default().into_iter();
        items.map(|item| item.trim().get_ron()).collect()
    }

    /// The pairs of a map, in the file's order; a key given twice is noted and its first value kept.
    pub fn map(&self, raw: &'s str, example: &str) -> Vec<(Located<String>, &'s str)> {
        let Ok(pairs) = options().from_str_seed(raw, Maybe(Pairs)) else {
            self.fault(raw, words::no_map(raw, example));
            return Vec::new();
        };
        let mut seen: std::collections::BTreeMap<String, Span> = std::collections::BTreeMap::new();
        let mut kept = Vec::new();
        for (key, value) in pairs.unwrap_or_default() {
            let Some(name) = self.text(key) else { continue };
            if let Some(first) = seen.get(&name.value) {
                self.note(words::key_twice(&name.value, first).at(name.at));
                continue;
            }
            seen.insert(name.value.clone(), name.at.clone());
            kept.push((name, value));
        }
        kept
    }

    /// The fields of a record such as `Place(reach: minutes(2))`; `None` when it is not one, or the
    /// file says `None`. The name in front may be left out; another name is noted. Fields not in `known` are noted, with
    /// the nearest name, and left out; so is a field given twice.
    pub fn record(
        &self,
        raw: &'s str,
        name: &'static str,
        known: &[&str],
        example: &str,
    ) -> Option<Vec<Field<'s>>> {
        if raw == "None" {
            return None;
        }
        let bare = raw.starts_with('(');
        let read = if bare {
            options()
                .from_str_seed(raw, Unnamed(name))
                .map(|f| (name, f))
        } else {
            options().from_str_seed(raw, Named)
        };
        let Ok((written, fields)) = read else {
            if raw == name {
                return Some(Vec::new());
            }
            self.fault(raw, words::no_record(raw, name, example));
            return None;
        };
        if written != name {
            self.fault(written, words::other_name(written, name));
        }
        Some(self.known(fields, name, known))
    }

    /// The fields of `name` that are known, each once; the others are noted.
    pub fn known(&self, fields: Vec<Field<'s>>, name: &str, known: &[&str]) -> Vec<Field<'s>> {
        let mut kept: Vec<Field<'s>> = Vec::with_capacity(fields.len());
        for (field, value) in fields {
            if !known.contains(&field) {
                self.fault(field, words::unknown_field(field, name, known));
            } else if let Some((first, _)) = kept.iter().find(|(k, _)| *k == field) {
                self.twice(field, first);
            } else {
                kept.push((field, value));
            }
        }
        kept
    }

    /// The two values of a pair such as `Scale(mV(1), mA(10))`; the name in front may be left out,
    /// another name is noted. `None` when it is not a pair.
    pub fn pair(&self, raw: &'s str, name: &str, example: &str) -> Option<[&'s str; 2]> {
        let read = if raw.starts_with('(') {
            options()
                .from_str_seed(raw, UnnamedPair)
                .map(|pair| (None, pair))
        } else {
            options()
                .from_str_seed(raw, NamedPair)
                .map(|(written, pair)| (Some(written), pair))
        };
        let Ok((written, pair)) = read else {
            self.fault(raw, words::no_record(raw, name, example));
            return None;
        };
        if let Some(written) = written.filter(|written| *written != name) {
            self.fault(written, words::other_name(written, name));
        }
        Some(pair)
    }

    /// The number of the file's format: only 1 is known.
    pub fn format(&self, raw: &'s str) {
        if raw != "1" {
            self.fault(raw, words::unknown_format(raw));
        }
    }

    /// Notes that the file does not say its format.
    pub fn no_format(&self, head: Span) {
        self.note(words::no_format().at(head));
    }

    /// Notes a field given twice.
    pub fn twice(&self, again: &'s str, first: &'s str) {
        self.fault(again, words::field_twice(again, &self.at(first)));
    }
}

/// A number with its unit, as a file has it.
fn spelled(unit: &str, number: f64) -> String {
    format!("{unit}({number})")
}

/// A number in the unit that differs from the written one in capitals alone.
fn in_known_unit<Q: Spelled>(written: &str, number: f64) -> Option<Vec<String>> {
    let mut units = Q::UNITS.iter();
    let known = units.find(|(name, _)| name.eq_ignore_ascii_case(written));
    known.map(|(name, _)| vec![spelled(name, number)])
}

/// All ways to write a number as this quantity: `mA(12)`, `A(12)`.
fn ways<Q: Spelled>(number: f64) -> Vec<String> {
    let number = if number.is_finite() {
        number.abs()
    } else {
        12.0
    };
    let units = Q::UNITS.iter().filter(|(unit, _)| *unit != "min");
    units.map(|(unit, _)| spelled(unit, number)).collect()
}
