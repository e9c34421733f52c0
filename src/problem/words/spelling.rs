//! Values, fields and records of any file.

use super::{FIRST, Finding, Thing, meant, short, typed};
use crate::problem::{Fault, Span};

// Numbers and quantities.

pub(crate) fn other_unit(unit: &str, what: Thing, ways: &[String]) -> Finding {
    Finding::new(
        Fault::Unit,
        format!("{what} is not written in `{}`", short(unit)),
        typed(ways),
    )
}

pub(crate) fn no_unit(raw: &str, what: Thing, ways: &[String]) -> Finding {
    Finding::new(
        Fault::NoUnit,
        format!("{what} needs its unit, `{}` has none", short(raw)),
        typed(ways),
    )
}

pub(crate) fn unit_behind(what: Thing, ways: &[String]) -> Finding {
    Finding::new(
        Fault::NoUnit,
        format!(
            "the unit goes in front: {what} is written like {}",
            ways.join(" or ")
        ),
        typed(ways),
    )
}

pub(crate) fn no_quantity(raw: &str, what: Thing, ways: &[String]) -> Finding {
    Finding::new(
        Fault::Number,
        format!("`{}` is not {what}", short(raw)),
        typed(ways),
    )
}

pub(crate) fn not_a_number(raw: &str, example: f64) -> Finding {
    let quoted = raw.trim_matches('"');
    let help = if quoted.len() < raw.len() && quoted.parse::<f64>().is_ok_and(f64::is_finite) {
        format!("type it without quotes: {}", short(quoted))
    } else {
        format!("type a number, for example {example}")
    };
    Finding::new(
        Fault::Number,
        format!("`{}` is not a number", short(raw)),
        help,
    )
}

pub(crate) fn not_finite(raw: &str, example: &str) -> Finding {
    Finding::new(
        Fault::NotFinite,
        format!("`{}` is not a finite number", short(raw)),
        format!("type a finite number, for example {example}"),
    )
}

pub(crate) fn negative(raw: &str, positive: &str) -> Finding {
    Finding::new(
        Fault::Negative,
        format!("`{}` is negative", short(raw)),
        format!("type it without the minus: {positive}"),
    )
}

pub(crate) fn out_of_range(raw: &str, least: &str, most: &str) -> Finding {
    Finding::new(
        Fault::Range,
        format!("`{}` is out of range", short(raw)),
        format!("type a value from {least} to {most}"),
    )
}

// Texts, words, lists and maps.

pub(crate) fn empty_text() -> Finding {
    Finding::new(
        Fault::Empty,
        "an empty text",
        "type the text between the quotes, or leave the field out",
    )
}

pub(crate) fn no_quotes(raw: &str) -> Finding {
    Finding::new(
        Fault::Quotes,
        format!("`{}` is not a text in quotes", short(raw)),
        format!("type \"{}\"", short(raw).replace(['"', '\\'], "")),
    )
}

pub(crate) fn neither_true_nor_false(raw: &str) -> Finding {
    Finding::new(
        Fault::YesNo,
        format!("`{}` is neither true nor false", short(raw)),
        "type true or false",
    )
}

pub(crate) fn unknown_word(raw: &str, what: Thing, known: &[&str]) -> Finding {
    Finding::new(
        Fault::Word,
        format!("`{}` is not {what}", short(raw)),
        meant(raw.trim_matches('"'), known),
    )
}

fn other_shape(raw: &str, shape: &str, example: &str) -> Finding {
    Finding::new(
        Fault::Shape,
        format!("`{}` is not a {shape}", short(raw)),
        format!("type {example}"),
    )
}

pub(crate) fn no_list(raw: &str, example: &str) -> Finding {
    other_shape(raw, "list", example)
}

pub(crate) fn no_map(raw: &str, example: &str) -> Finding {
    other_shape(raw, "map of names", example)
}

pub(crate) fn no_record(raw: &str, name: &str, example: &str) -> Finding {
    other_shape(raw, name, example)
}

pub(crate) fn key_twice(name: &str, first: &Span) -> Finding {
    Finding::new(
        Fault::DuplicateKey,
        format!("\"{name}\" is given twice in this map"),
        "rename it, or take one of the two out",
    )
    .beside(first, FIRST)
}

// Records and their fields.

/// Of a record, or the record that is the whole file.
pub(crate) fn other_name(written: &str, name: &str) -> Finding {
    Finding::new(
        Fault::StructName,
        format!("`{written}` where {name} belongs"),
        format!("type {name} instead"),
    )
}

pub(crate) fn unknown_field(field: &str, record: &str, known: &[&str]) -> Finding {
    Finding::new(
        Fault::UnknownField,
        format!("{record} has no field `{field}`"),
        meant(field, known),
    )
}

pub(crate) fn field_twice(field: &str, first: &Span) -> Finding {
    Finding::new(
        Fault::DuplicateField,
        format!("`{field}` is given twice"),
        format!("take one of the two `{field}` out"),
    )
    .beside(first, FIRST)
}

pub(crate) fn no_format() -> Finding {
    Finding::new(
        Fault::NoFormat,
        "the format is missing",
        "type format: 1, as the first field",
    )
}

pub(crate) fn unknown_format(raw: &str) -> Finding {
    Finding::new(
        Fault::Format,
        format!("format {} is not known", short(raw)),
        "type 1",
    )
}
