//! The text of a cell as a value of format 1.

use crate::problem::{Finding, Thing, words};
use crate::table::columns::{Content, plain};
use crate::vehicle::{TestKind, quoted};

/// A value of format 1, as text; `None` where the cell says nothing. Words that are not known pass: the reader of format
/// 1 knows what to say of them.
pub(super) fn value(
    text: &str,
    content: Content,
    unit: Option<&'static str>,
) -> Result<Option<String>, Finding> {
    let value = match content {
        Content::Kind | Content::FedBy | Content::Text => quoted(text),
        Content::Word(words) => word(text, words),
        Content::Tests => {
            let table: Vec<_> = TestKind::TABLE.iter().map(|(word, _)| *word).collect();
            let words = text.split([' ', ',', ';']).filter(|word| !word.is_empty());
            let words: Vec<_> = words.map(|text| word(text, &table)).collect();
            format!("[{}]", words.join(", "))
        }
        Content::Quantity { what, usual, units } => {
            return quantity(text, what, unit.unwrap_or(usual), units).map(Some);
        }
        Content::Number => match number(text) {
            Some((number, "")) => number.to_string(),
            _ => quoted(text),
        },
        Content::Flag => match plain(text).as_str() {
            "yes" | "true" | "x" | "1" => "true".to_owned(),
            "no" | "false" | "0" => return Ok(None),
            _ => return Err(words::neither_yes_nor_no(text)),
        },
        Content::Wire => return wire(text).map(Some),
    };
    Ok(Some(value))
}

/// The known word that is meant but for spaces and capitals; else the text in quotes, which the
/// reader of format 1 refuses with the words it knows.
fn word(text: &str, words: &[&str]) -> String {
    let letters = |text: &str| plain(text).replace(' ', "");
    let meant = letters(text);
    let known = words.iter().find(|word| letters(word) == meant);
    known.map_or_else(|| quoted(text), |word| (*word).to_owned())
}

/// A number at the start of a text, with a decimal point or comma, and what follows it. `None` where
/// there is none, or where a comma could as well be one of thousands.
fn number(text: &str) -> Option<(f64, &str)> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let sign = usize::from(text.starts_with(['-', '+', '\u{2212}']));
    let unsigned = text.get(sign..).unwrap_or_default();
    let whole = digits(unsigned);
    let mut length = whole;
    let mut decimals = 0;
    if unsigned[whole..].starts_with(['.', ',']) {
        decimals = digits(&unsigned[whole + 1..]);
        length += 1 + decimals;
    }
    if whole + decimals == 0 {
        return None;
    }
    let written = &unsigned[..length];
    if written.contains(',') && decimals == 3 && !written.starts_with('0') {
        return None;
    }
    let value: f64 = written.replace(',', ".").parse().ok()?;
    let value = if text.starts_with('-') { -value } else { value };
    let rest = unsigned[length..].trim_start();
    // `1.5.2` and `1e5` are no numbers here.
    (!rest.starts_with(['.', ','])).then_some((value, rest))
}

/// The unit word of format 1 for how people write it.
pub(super) fn unit_word(written: &str, units: &[(&'static str, f64)]) -> Option<&'static str> {
    let written = written.trim().trim_end_matches('.');
    let exact = units.iter().find(|(unit, _)| *unit == written);
    let folded = || {
        let word = written.to_lowercase();
        let meant = match (written, word.as_str()) {
            ("mΩ", _) | (_, "mohm" | "mohms") => "mOhm",
            ("Ω", _) | (_, "ohms") => "Ohm",
            (_, "mm²" | "qmm") => "mm2",
            (_, "amp" | "amps" | "ampere" | "amperes") => "A",
            (_, "volt" | "volts") => "V",
            (_, "mins" | "minute") => "minutes",
            (_, "hours" | "hour") => "h",
            _ => written,
        };
        let mut near = units
            .iter()
            .filter(|(unit, _)| unit.eq_ignore_ascii_case(meant));
        near.next()
    };
    exact.or_else(folded).map(|(unit, _)| *unit)
}

fn quantity(
    text: &str,
    what: Thing,
    usual: &str,
    units: &[(&'static str, f64)],
) -> Result<String, Finding> {
    // `mA(12)`, as format 1 spells it, means 12 mA here too.
    let spelled = text.strip_suffix(')').and_then(|text| text.split_once('('));
    let read = spelled.map_or_else(
        || number(text),
        |(unit, text)| {
            number(text)
                .filter(|(_, rest)| rest.is_empty())
                .map(|(value, _)| (value, unit))
        },
    );
    let Some((value, rest)) = read else {
        let digits: String = text
            .chars()
            .filter(|c| c.is_ascii_digit() || *c == ',')
            .collect();
        if digits.contains(',') && digits.len() > 4 {
            let (point, none) = (digits.replace(',', "."), digits.replace(',', ""));
            return Err(words::comma_unclear(text, &point, &none, usual));
        }
        return Err(words::no_quantity_in_cell(text, what, usual));
    };
    if rest.is_empty() {
        return Ok(format!("{usual}({value})"));
    }
    let Some(unit) = unit_word(rest, units) else {
        let ways: Vec<_> = units
            .iter()
            .map(|(unit, _)| format!("{value} {unit}"))
            .collect();
        return Err(words::other_unit(rest, what, &ways));
    };
    Ok(format!("{unit}({value})"))
}

/// `16 mm2 0.8 m Aluminium`, in any order; the length and the metal may be left out.
fn wire(text: &str) -> Result<String, Finding> {
    let units = [("mm2", 1.0), ("awg", 1.0), ("m", 1.0)];
    let mut fields = Vec::new();
    let mut words = text.split_whitespace().peekable();
    while let Some(text) = words.next() {
        if let Some(metal) = ["Copper", "Aluminium"]
            .iter()
            .find(|m| m.eq_ignore_ascii_case(text))
        {
            fields.push(format!("metal: {metal}"));
            continue;
        }
        let read = number(text).and_then(|(value, rest)| {
            let rest = if rest.is_empty() { words.next()? } else { rest };
            unit_word(rest, &units).map(|unit| (value, unit))
        });
        let Some((value, unit)) = read else {
            return Err(words::no_wire(text));
        };
        let field = if unit == "m" { "length" } else { "size" };
        fields.push(format!("{field}: {unit}({value})"));
    }
    Ok(format!("Wire({})", fields.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notation::Spelled;
    use crate::quantity::{Milliamps, Milliohms};

    #[test]
    fn numbers_with_and_without_units() {
        let amps = Content::Quantity {
            what: Milliamps::WHAT,
            usual: "A",
            units: Milliamps::UNITS,
        };
        let ohms = Content::Quantity {
            what: Milliohms::WHAT,
            usual: "mOhm",
            units: Milliohms::UNITS,
        };
        let table = [
            ("10", amps, Ok("A(10)")),
            ("7,5", amps, Ok("A(7.5)")),
            ("7.5A", amps, Ok("A(7.5)")),
            ("500 mA", amps, Ok("mA(500)")),
            ("500 ma", amps, Ok("mA(500)")),
            ("0,125 A", amps, Ok("A(0.125)")),
            ("A(7.5)", amps, Ok("A(7.5)")),
            ("mA(1 2)", amps, Err("type it like 12 A")),
            ("V(7.5)", amps, Err("type 7.5 mA or 7.5 A")),
            ("10 amps", amps, Ok("A(10)")),
            ("10 Amp.", amps, Ok("A(10)")),
            ("-3", amps, Ok("A(-3)")),
            ("1,200", amps, Err("type 1.200 A or 1200 A")),
            ("ten", amps, Err("type it like 12 A")),
            ("10 V", amps, Err("type 10 mA or 10 A")),
            ("1.5.2", amps, Err("type it like 12 A")),
            (".5 mΩ", ohms, Ok("mOhm(0.5)")),
            (
                "16mm² 0,8 m",
                Content::Wire,
                Ok("Wire(size: mm2(16), length: m(0.8))"),
            ),
            (
                "0.8 m 10 awg aluminium",
                Content::Wire,
                Ok("Wire(length: m(0.8), size: awg(10), metal: Aluminium)"),
            ),
            ("16", Content::Wire, Err("type it like 16 mm2 0.8 m")),
            ("pull, unplug", Content::Tests, Ok("[Pull, Unplug]")),
            (
                "low mini",
                Content::Word(&["Mini", "LowMini"]),
                Ok("LowMini"),
            ),
            (
                "min\"",
                Content::Word(&["Mini", "LowMini"]),
                Ok("\"min\\\"\""),
            ),
            ("x", Content::Flag, Ok("true")),
            ("maybe", Content::Flag, Err("type yes, or leave it empty")),
        ];
        for (text, content, expected) in table {
            let read = value(text, content, None);
            let read = read
                .as_ref()
                .map(|v| v.as_deref().unwrap_or(""))
                .map_err(Finding::help);
            assert_eq!(read, expected, "{text}");
        }
        assert_eq!(value("no", Content::Flag, None), Ok(None));
        assert_eq!(value("2", amps, Some("mA")), Ok(Some("mA(2)".to_owned())));
    }
}
