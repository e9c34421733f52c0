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

use crate::problem::{Fault, Located, Problem, Span};
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
pub use syntax::{Form, Source};
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
    const WHAT: &'static str;
    /// The unit words and how much of [`Quantity::UNIT`] one of each is.
    const UNITS: &'static [(&'static str, f64)];
}

macro_rules! spelled {
    ($($type:ty, $what:literal, [$(($unit:literal, $factor:literal)),+];)+) => {
        $(impl Spelled for $type {
            const WHAT: &'static str = $what;
            const UNITS: &'static [(&'static str, f64)] = &[$(($unit, $factor)),+];
        })+
    };
}
spelled! {
    Milliamps, "a current", [("mA", 1.0), ("A", 1000.0)];
    Millivolts, "a voltage", [("mV", 1.0), ("V", 1000.0)];
    Milliohms, "a resistance", [("mOhm", 1.0), ("Ohm", 1000.0)];
    AmpHours, "a capacity", [("Ah", 1.0)];
    Minutes, "a time", [("minutes", 1.0), ("min", 1.0), ("h", 60.0)];
    Metres, "a length", [("m", 1.0), ("mm", 0.001)];
    Millimetres, "a width", [("mm", 1.0), ("m", 1000.0)];
    SquareMillimetres, "a cross-section", [("mm2", 1.0)];
    Gauge, "a wire gauge", [("awg", 1.0)];
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
    pub fn fault(
        &self,
        fault: Fault,
        at: &str,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.note(Problem::new(fault, self.at(at), message, help));
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
            let meant = Q::UNITS
                .iter()
                .find(|(name, _)| name.eq_ignore_ascii_case(unit));
            self.fault(
                Fault::Unit,
                raw,
                format!("`{unit}` is not a unit of {}", Q::WHAT),
                meant.map_or_else(
                    || format!("type {}", ways::<Q>(number)),
                    |(name, _)| format!("type {name}({number})"),
                ),
            );
            return None;
        };
        let value = number * factor;
        self.sensible(raw, value, sense, |v| {
            let (unit, factor) = Q::UNITS
                .last()
                .filter(|(_, f)| v >= *f)
                .unwrap_or(&Q::UNITS[0]);
            format!("{unit}({})", v / factor)
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
                self.fault(
                    Fault::Number,
                    raw,
                    format!("`{}` is not a number", short(raw)),
                    format!("type a number, for example {}", sense.least.max(1.0)),
                );
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
        if !value.is_finite() {
            self.fault(
                Fault::NotFinite,
                raw,
                format!("`{}` is not a finite number", short(raw)),
                format!(
                    "type a finite number, for example {}",
                    spell(sense.least.max(1.0))
                ),
            );
            None
        } else if value < 0.0 && sense.least >= 0.0 {
            self.fault(
                Fault::Negative,
                raw,
                format!("`{}` is negative", short(raw)),
                format!(
                    "type it without the minus: {}",
                    spell(value.abs().clamp(sense.least, sense.most))
                ),
            );
            None
        } else if value < sense.least || value > sense.most {
            self.fault(
                Fault::Range,
                raw,
                format!("`{}` is out of range", short(raw)),
                format!(
                    "type a value from {} to {}",
                    spell(sense.least),
                    spell(sense.most)
                ),
            );
            None
        } else {
            Some(value)
        }
    }

    /// Says what is wrong with something that should have been a quantity.
    fn wrong_quantity<Q: Spelled>(&self, raw: &'s str) {
        let plain = raw.trim_matches('"').trim();
        let (fault, message, help) = if let Some(number) = syntax::decimal_comma(raw) {
            (
                Fault::DecimalComma,
                "a decimal comma; RON has a decimal point".to_owned(),
                syntax::unit_word(raw)
                    .filter(|u| Q::UNITS.iter().any(|(n, _)| n == u))
                    .map_or_else(
                        || format!("type {}", ways::<Q>(number)),
                        |unit| format!("type {unit}({number})"),
                    ),
            )
        } else if let Ok(number) = plain.parse::<f64>() {
            (
                Fault::NoUnit,
                format!("{} needs its unit, `{}` has none", Q::WHAT, short(raw)),
                format!("type {}", ways::<Q>(number)),
            )
        } else if let Some((number, unit)) = syntax::number_then_unit(plain) {
            let help = Q::UNITS
                .iter()
                .find(|(name, _)| name.eq_ignore_ascii_case(unit))
                .map_or_else(
                    || ways::<Q>(number),
                    |(name, _)| format!("{name}({number})"),
                );
            (
                Fault::NoUnit,
                format!("the unit goes in front: {} is written like {help}", Q::WHAT),
                format!("type {help}"),
            )
        } else if let Some(unit) =
            syntax::unit_word(raw).filter(|u| !Q::UNITS.iter().any(|(n, _)| n == u))
        {
            (
                Fault::Unit,
                format!("`{unit}` is not a unit of {}", Q::WHAT),
                format!(
                    "type {}",
                    ways::<Q>(syntax::first_number(raw).unwrap_or(12.0))
                ),
            )
        } else {
            (
                Fault::Number,
                format!("`{}` is not {}", short(raw), Q::WHAT),
                format!("type {}", ways::<Q>(12.0)),
            )
        };
        self.fault(fault, raw, message, help);
    }

    /// A text in quotes, not empty.
    pub fn text(&self, raw: &'s str) -> Option<Located<String>> {
        match options().from_str::<Option<String>>(raw) {
            Ok(None) => None,
            Ok(Some(value)) if value.trim().is_empty() => {
                self.fault(
                    Fault::Empty,
                    raw,
                    "an empty text",
                    "type the text between the quotes, or leave the field out",
                );
                None
            }
            Ok(Some(value)) => Some(Located {
                value,
                at: self.at(raw),
            }),
            Err(_) => {
                self.fault(
                    Fault::Quotes,
                    raw,
                    format!("`{}` is not a text in quotes", short(raw)),
                    format!("type \"{}\"", short(raw).replace(['"', '\\'], "")),
                );
                None
            }
        }
    }

    /// `true` or `false`.
    pub fn flag(&self, raw: &'s str) -> Option<bool> {
        options().from_str::<Option<bool>>(raw).unwrap_or_else(|_| {
            self.fault(
                Fault::YesNo,
                raw,
                format!("`{}` is neither true nor false", short(raw)),
                "type true or false",
            );
            None
        })
    }

    /// One word of a table.
    pub fn word<T: Copy>(&self, raw: &'s str, what: &str, table: &[(&str, T)]) -> Option<T> {
        let Ok(written) = options().from_str_seed(raw, Maybe(Bare)) else {
            let plain = raw.trim_matches('"');
            self.fault(
                Fault::Word,
                raw,
                format!("`{}` is not {what}", short(raw)),
                meant(plain, table.iter().map(|(word, _)| *word)),
            );
            return None;
        };
        let written = written?;
        let found = table.iter().find(|(word, _)| *word == written);
        if found.is_none() {
            self.fault(
                Fault::Word,
                raw,
                format!("`{written}` is not {what}"),
                meant(written, table.iter().map(|(word, _)| *word)),
            );
        }
        found.map(|(_, value)| *value)
    }

    /// The elements of a list.
    pub fn list(&self, raw: &'s str, example: &str) -> Vec<&'s str> {
        let Ok(list) = options().from_str::<Option<Vec<&'s RawValue>>>(raw) else {
            self.fault(
                Fault::Shape,
                raw,
                format!("`{}` is not a list", short(raw)),
                format!("type {example}"),
            );
            return Vec::new();
        };
        let items = list.unwrap_or_default().into_iter();
        items.map(|item| item.trim().get_ron()).collect()
    }

    /// The pairs of a map, in the file's order; a key given twice is noted and its first value kept.
    pub fn map(&self, raw: &'s str, example: &str) -> Vec<(Located<String>, &'s str)> {
        let Ok(pairs) = options().from_str_seed(raw, Maybe(Pairs)) else {
            self.fault(
                Fault::Shape,
                raw,
                format!("`{}` is not a map of names", short(raw)),
                format!("type {example}"),
            );
            return Vec::new();
        };
        let mut seen: std::collections::BTreeMap<String, Span> = std::collections::BTreeMap::new();
        let mut kept = Vec::new();
        for (key, value) in pairs.unwrap_or_default() {
            let Some(name) = self.text(key) else { continue };
            if let Some(first) = seen.get(&name.value) {
                let problem = Problem::new(
                    Fault::DuplicateKey,
                    name.at.clone(),
                    format!("\"{}\" is given twice in this map", name.value),
                    "rename it, or take one of the two out",
                );
                self.note(problem.beside(first.clone(), "first given here"));
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
            self.wrong_shape(raw, name, example);
            return None;
        };
        if written != name {
            self.wrong_name(written, name);
        }
        Some(self.known(fields, name, known))
    }

    /// The fields of `name` that are known, each once; the others are noted.
    pub fn known(&self, fields: Vec<Field<'s>>, name: &str, known: &[&str]) -> Vec<Field<'s>> {
        let mut kept: Vec<Field<'s>> = Vec::with_capacity(fields.len());
        for (field, value) in fields {
            if !known.contains(&field) {
                self.unknown_field(field, name, known);
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
            self.wrong_shape(raw, name, example);
            return None;
        };
        if let Some(written) = written.filter(|written| *written != name) {
            self.wrong_name(written, name);
        }
        Some(pair)
    }

    /// Notes the name of another record.
    fn wrong_name(&self, written: &'s str, name: &str) {
        self.fault(
            Fault::StructName,
            written,
            format!("`{written}` where a {name} belongs"),
            format!("type {name}"),
        );
    }

    /// Notes something that is no such record.
    fn wrong_shape(&self, raw: &'s str, name: &str, example: &str) {
        self.fault(
            Fault::Shape,
            raw,
            format!("`{}` is not a {name}", short(raw)),
            format!("type {example}"),
        );
    }

    /// The number of the file's format: only 1 is known.
    pub fn format(&self, raw: &'s str) {
        if raw != "1" {
            self.fault(
                Fault::Format,
                raw,
                format!("format {} is not known", short(raw)),
                "type 1",
            );
        }
    }

    /// Notes that the file does not say its format.
    pub fn no_format(&self, head: Span) {
        self.note(Problem::new(
            Fault::NoFormat,
            head,
            "the format is missing",
            "type format: 1, as the first field",
        ));
    }

    /// Notes a field that nothing has.
    pub fn unknown_field(&self, field: &'s str, of: &str, known: &[&str]) {
        self.fault(
            Fault::UnknownField,
            field,
            format!("{of} has no field `{field}`"),
            meant(field, known.iter().copied()),
        );
    }

    /// Notes a field given twice.
    pub fn twice(&self, again: &'s str, first: &'s str) {
        let problem = Problem::new(
            Fault::DuplicateField,
            self.at(again),
            format!("`{again}` is given twice"),
            format!("take one of the two `{again}` out"),
        );
        self.note(problem.beside(self.at(first), "first given here"));
    }
}

/// All ways to write a number as this quantity: `mA(12) or A(12)`.
fn ways<Q: Spelled>(number: f64) -> String {
    let number = if number.is_finite() {
        number.abs()
    } else {
        12.0
    };
    let ways: Vec<_> = Q::UNITS
        .iter()
        .filter(|(unit, _)| *unit != "min")
        .map(|(unit, _)| format!("{unit}({number})"))
        .collect();
    ways.join(" or ")
}

/// The nearest of the known names, as a help line; all of them when none is near.
pub fn meant<'a>(written: &str, known: impl Iterator<Item = &'a str>) -> String {
    let known: Vec<_> = known.collect();
    match nearest(written, known.iter().copied()) {
        Some(name) => format!("did you mean {name}?"),
        None if known.is_empty() => "none is known here".to_owned(),
        None => format!("one of: {}", known.join(", ")),
    }
}

/// The nearest of the known names, when one is near enough to be meant.
pub fn nearest<'a>(written: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    // Long hostile words would cost their square; no name of ours or of a person is that long.
    if written.len() > 200 {
        return None;
    }
    let lower = written.to_lowercase();
    known
        .filter(|name| name.len() <= 200)
        .map(|name| {
            (
                strsim::normalized_damerau_levenshtein(&lower, &name.to_lowercase()),
                name,
            )
        })
        .filter(|(score, _)| *score >= 0.5)
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(a.1)))
        .map(|(_, name)| name)
}

/// A value short enough for a message.
pub fn short(raw: &str) -> String {
    const MOST: usize = 40;
    let line = raw.split('\n').next().unwrap_or_default().trim_end();
    if line.len() == raw.len() && line.chars().count() <= MOST {
        return line.to_owned();
    }
    line.chars()
        .take(MOST)
        .chain(std::iter::once('…'))
        .collect()
}
