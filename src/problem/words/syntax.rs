//! What is no RON, said to a person who types it.

use super::{Finding, short, typed};
use crate::problem::{Fault, Span};

/// What a kind of file is called and looks like: for what is said about broken syntax.
#[derive(Debug)]
pub struct Form {
    /// The record that the whole file is, for example `Vehicle`.
    pub(crate) name: &'static str,
    /// That record in a sentence.
    called: &'static str,
    /// The smallest file of this kind.
    smallest: &'static str,
    /// What belongs in a list of fields.
    belongs: &'static str,
    /// How a piece of it is written.
    piece: &'static str,
    /// What stands between commas, with an example.
    fields: &'static str,
    /// One field with its value.
    field: &'static str,
}

impl Form {
    /// A vehicle file.
    pub(crate) const VEHICLE: Self = Self {
        name: "Vehicle",
        called: "the vehicle has",
        smallest: "Vehicle(format: 1, name: \"blue van\", battery: Battery(id: \"battery\", feeds: [ ]))",
        belongs: "a part or the name of a field",
        piece: "a part is written like Fuse(id: \"F1\", rating: A(10), feeds: [ ])",
        fields: "fields or parts: id: \"F1\", rating: A(10)",
        field: "rating: A(10)",
    };
    /// An instruments file.
    pub(crate) const INSTRUMENTS: Self = Self {
        name: "Instruments",
        called: "the instruments have",
        smallest: "Instruments(format: 1, meter: Meter(millivolts: Range(step: mV(0.1), percent: 0.5, counts: 2)))",
        belongs: "an instrument or the name of a field",
        piece: "an instrument is written like clamp: Clamp(step: mA(1), percent: 2, counts: 5)",
        fields: "fields: percent: 0.5, counts: 2",
        field: "percent: 0.5",
    };
    /// An exercise file.
    pub(crate) const EXERCISE: Self = Self {
        name: "Exercise",
        called: "the exercise has",
        smallest: "Exercise(format: 1, name: \"One lamp\", goal: \"Find it\", vehicle: \"../teaching-board.ron\")",
        belongs: "a cause, a question or the name of a field",
        piece: "a cause is written like Cause(part: \"boot lamp\", takes: mA(400))",
        fields: "fields: rung: 4, time: minutes(20)",
        field: "rung: 4",
    };
}

fn syntax(message: impl Into<String>, help: impl Into<String>) -> Finding {
    Finding::new(Fault::Syntax, message, help)
}

pub(crate) fn byte_order_mark() -> Finding {
    Finding::new(
        Fault::ByteOrderMark,
        "the file starts with a byte order mark",
        "save it as UTF-8 without a byte order mark (BOM)",
    )
}

pub(crate) fn extension(word: &str) -> Finding {
    Finding::new(
        Fault::Extension,
        format!("the RON extension `{word}` changes how the file is read"),
        "take this line out; `implicit_some` is always on",
    )
}

/// Quotes as a word processor makes them.
pub(crate) fn curly_quotes(text: &str) -> Finding {
    syntax(
        "a word processor's quotes; RON has straight ones",
        format!("type \"{}\"", short(text)),
    )
}

/// A spreadsheet's table where a vehicle file belongs.
pub(crate) fn a_table() -> Finding {
    syntax(
        "this is a table, not a vehicle file",
        "make a vehicle file of it: halfsplit import TABLE --out FILE",
    )
}

pub(crate) fn empty_file(form: &Form) -> Finding {
    syntax("the file is empty", format!("type {}", form.smallest))
}

pub(crate) fn text_not_closed() -> Finding {
    syntax(
        "this text is not closed",
        "type the closing quote \" where the text ends",
    )
}

pub(crate) fn far_too_deep() -> Finding {
    Finding::new(
        Fault::TooDeep,
        "nested far too deep; 40 levels of parts are read",
        "check the brackets, or leave out splices and connectors that feed one thing only",
    )
}

pub(crate) fn still_open(bracket: &str, close: &str, opened: &Span) -> Finding {
    syntax(
        format!("the file ends, but this `{bracket}` is still open"),
        format!("type {close} where it should end"),
    )
    .beside(opened, "opened here")
}

pub(crate) fn closes_nothing(bracket: char) -> Finding {
    syntax(
        format!("`{bracket}` closes what was not opened"),
        "take it out",
    )
}

pub(crate) fn decimal_comma(ways: &[String]) -> Finding {
    Finding::new(
        Fault::DecimalComma,
        "a decimal comma; RON has a decimal point",
        typed(ways),
    )
}

pub(crate) fn unit_behind_number(number: &str, unit: &str) -> Finding {
    Finding::new(
        Fault::NoUnit,
        "the unit goes in front of the number, which goes in brackets",
        format!("type {unit}({number})"),
    )
}

pub(crate) fn no_comma(form: &Form) -> Finding {
    syntax(
        "a comma is missing before this, or a bracket does not match",
        format!("type a comma between two {}", form.fields),
    )
}

pub(crate) fn no_colon(form: &Form) -> Finding {
    syntax(
        "a colon belongs between a field and its value",
        format!("type it like {}", form.field),
    )
}

pub(crate) fn no_piece(form: &Form) -> Finding {
    syntax(format!("{} belongs here", form.belongs), form.piece)
}

pub(crate) fn no_list_of_parts() -> Finding {
    syntax(
        "a list of parts belongs here",
        "type [ ] with the parts between, or leave `feeds` out",
    )
}

pub(crate) fn no_fields(form: &Form) -> Finding {
    syntax("fields in brackets belong here", form.piece)
}

pub(crate) fn goes_on(form: &Form) -> Finding {
    syntax(
        format!("{} ended, but the file goes on", form.called),
        "take this out, or a closing bracket before it",
    )
}

pub(crate) fn backslash() -> Finding {
    syntax(
        "a backslash in a text means something else",
        "type two: \\\\",
    )
}

pub(crate) fn ends_in_the_middle() -> Finding {
    syntax(
        "the file ends in the middle of something",
        "type the rest of it, or a closing bracket",
    )
}

pub(crate) fn attribute() -> Finding {
    syntax(
        "a line that begins with #! has no meaning here",
        "take this line out",
    )
}

pub(crate) fn comment_not_closed() -> Finding {
    syntax("this comment is not closed", "type */ where it ends")
}

pub(crate) fn line_not_closed() -> Finding {
    syntax(
        "this comment goes on to the end of the file",
        "type a line break where it ends",
    )
}

pub(crate) fn odd_sign(sign: char) -> Finding {
    syntax(
        format!("`{}` has no meaning here", short(&sign.to_string())),
        "take it out, or type quotes \" around the text that it belongs to",
    )
}

pub(crate) fn no_names() -> Finding {
    syntax(
        "names with what they stand for belong here",
        "type { } with the entries between, each like \"name\": and its value",
    )
}

pub(crate) fn no_text() -> Finding {
    syntax(
        "a text in quotes belongs here",
        "type it in quotes, like \"F1\"",
    )
}

pub(crate) fn true_or_false_here() -> Finding {
    syntax("true or false belongs here", "type true or false")
}

pub(crate) fn no_digits() -> Finding {
    syntax(
        "this is no number",
        "type it in digits with a decimal point, like 12 or 0.5",
    )
}

/// Where nothing better is known.
pub(crate) fn unreadable(form: &Form) -> Finding {
    syntax("this cannot be read here", form.piece)
}
