//! The columns of a table: their headings, what their cells hold, and how a part fills them.

use crate::notation::{Spelled, in_unit};
use crate::problem::{Located, Problem, Span, Thing, words};
use crate::quantity::{AmpHours, Milliamps, Milliohms, Millivolts, Minutes};
use crate::table::rows::Table;
use crate::vehicle::{
    FuseStyle, LoadKind, Metal, Part, PartKind, Rest, TestKind, Vehicle, WireSize,
};

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Content {
    /// The kind of the part.
    Kind,
    /// The part that feeds it.
    FedBy,
    /// Any text.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Words of tests.
    Tests,
    /// A number with a unit, or in the unit named first.
    Quantity {
        /// What a person calls it.
        what: Thing,
        /// The unit of a bare number.
        usual: &'static str,
        /// All units.
        units: &'static [(&'static str, f64)],
    },
    /// A number.
    Number,
    /// Yes or nothing.
    Flag,
    /// A size, a length and a metal.
    Wire,
}

/// One column.
pub(super) struct Column {
    /// Its heading as it is written.
    pub(super) name: &'static str,
    /// Other headings it is known by, in small letters with single spaces.
    also: &'static [&'static str],
    /// The field of format 1.
    pub(super) field: &'static str,
    pub(super) content: Content,
    /// Whether it is written even when all its cells are empty.
    pub(super) always: bool,
    /// The cell of a part.
    pub(super) show: fn(&Vehicle, &Part) -> Option<String>,
}

const fn quantity<Q: Spelled>(usual: &'static str) -> Content {
    Content::Quantity {
        what: Q::WHAT,
        usual,
        units: Q::UNITS,
    }
}

fn words(name: Option<&'static str>) -> Option<String> {
    name.map(str::to_owned)
}

fn located(name: Option<&Located<String>>) -> Option<String> {
    name.map(|name| name.value.clone())
}

fn amount<Q: Spelled>(value: Option<Q>, unit: &str) -> Option<String> {
    let (number, unit) = in_unit(value?, unit);
    Some(format!("{number} {unit}"))
}

fn draw(current: Option<Milliamps>) -> Option<String> {
    let unit = if current.is_some_and(|c| c >= Milliamps::of(1000.0) && c.value() % 100.0 == 0.0) {
        "A"
    } else {
        "mA"
    };
    amount(current, unit)
}

fn tests(kinds: &[TestKind]) -> Option<String> {
    let words: Vec<_> = kinds.iter().map(|kind| kind.word()).collect();
    (!words.is_empty()).then(|| words.join(" "))
}

fn wire(part: &Part) -> Option<String> {
    let wire = part.wire?;
    let mut words = vec![match wire.size {
        WireSize::Area(area) => amount(Some(area), "mm2")?,
        WireSize::Gauge(gauge) => format!("{gauge} awg"),
    }];
    words.extend(amount(wire.length, "m"));
    if wire.metal != Metal::Copper {
        words.push(wire.metal.word().to_owned());
    }
    Some(words.join(" "))
}

/// The words of a table of words.
macro_rules! words_of {
    ($type:ty) => {{
        const WORDS: [&str; <$type>::TABLE.len()] = {
            let mut words = [""; <$type>::TABLE.len()];
            let mut n = 0;
            while n < words.len() {
                words[n] = <$type>::TABLE[n].0;
                n += 1;
            }
            words
        };
        Content::Word(&WORDS)
    }};
}

macro_rules! columns {
    ($($name:literal $also:expr, $field:literal, $always:literal, $content:expr, $show:expr;)+) => {
        /// All columns in the order they are written.
        pub(super) const COLUMNS: &[Column] = &[$(Column {
            name: $name,
            also: &$also,
            field: $field,
            content: $content,
            always: $always,
            show: $show,
        },)+];
    };
}

columns! {
    "id" ["part", "name of part", "designation", "fuse no", "fuse no.", "fuse number", "no.", "number", "item"], "id", true, Content::Text, |_, p| Some(p.id.value.clone());
    "kind" ["part kind", "kind of part", "type"], "", true, Content::Kind, |_, p| words(Some(p.kind.word()));
    "fed by" ["fed from", "feed", "supplied by", "supplied from", "supply", "source", "from"], "", true, Content::FedBy,
        |v, p| p.up.map(|up| v.parts[up as usize].id.value.clone());
    "rating" ["rated current", "fuse rating", "amps", "ampere", "amperage", "fuse size"], "rating", true, quantity::<Milliamps>("A"),
        |_, p| amount(p.rating.as_ref().map(|r| r.value), "A");
    "style" ["fuse style", "body"], "style", true, words_of!(FuseStyle), |_, p| words(p.style.map(FuseStyle::word));
    "place" ["at", "location", "where", "box", "fuse box"], "at", true, Content::Text, |_, p| located(p.at.as_ref());
    "sheet" ["page"], "sheet", true, Content::Text, |_, p| p.sheet.clone();
    "plug" ["connector", "plug connector"], "plug", true, Content::Text, |_, p| located(p.plug.as_ref());
    "pin" ["cavity", "terminal"], "pin", true, Content::Text, |_, p| p.pin.clone();
    "colour" ["color", "wire colour", "wire color"], "colour", true, Content::Text, |_, p| p.colour.clone();
    "load kind" ["kind of load", "load type", "load"], "kind", true, words_of!(LoadKind), |_, p| words(p.load.map(LoadKind::word));
    "asleep" ["asleep draw", "sleep current", "draw asleep", "quiescent", "quiescent current", "quiescent draw", "standby current"], "asleep", true, quantity::<Milliamps>("mA"), |_, p| draw(p.asleep);
    "at_most" ["most", "asleep at most"], "at_most", true, quantity::<Milliamps>("mA"), |_, p| draw(p.at_most);
    "module" ["of", "control unit", "feed of"], "of", true, Content::Text, |_, p| located(p.of.as_ref());
    "note" ["notes", "remark", "remarks", "comment"], "note", true, Content::Text, |_, p| p.note.clone();
    "name" ["long name", "description", "circuit", "function", "circuit protected"], "name", false, Content::Text, |_, p| p.name.clone();
    "label" ["lid"], "label", false, Content::Text, |_, p| p.label.clone();
    "least" [], "least", false, quantity::<Milliamps>("mA"), |_, p| draw(p.least);
    "awake" ["awake draw"], "awake", false, quantity::<Milliamps>("mA"), |_, p| draw(p.awake);
    "moves" [], "moves", false, Content::Text, |_, p| located(p.moves.as_ref());
    "commanded_by" [], "commanded_by", false, Content::Text, |_, p| located(p.commanded_by.as_ref());
    "draws" ["coil draw"], "draws", false, quantity::<Milliamps>("mA"), |_, p| draw(p.draws);
    "resistance" [], "resistance", false, quantity::<Milliohms>("mOhm"), |_, p| amount(p.resistance, "mOhm");
    "rest" ["at rest"], "rest", false, words_of!(Rest), |_, p| words(p.rest.map(Rest::word));
    "holder" [], "holder", false, Content::Text, |_, p| p.holder.clone();
    "wire" [], "wire", false, Content::Wire, |_, p| wire(p);
    "volts" [], "volts", false, quantity::<Millivolts>("V"), |_, p| amount(p.volts, "V");
    "capacity" [], "capacity", false, quantity::<AmpHours>("Ah"), |_, p| amount(p.capacity, "Ah");
    "reserve" [], "reserve", false, quantity::<Minutes>("minutes"), |_, p| amount(p.reserve, "minutes");
    "can" [], "can", false, Content::Tests, |_, p| tests(&p.can);
    "never" [], "never", false, Content::Tests, |_, p| tests(&p.never);
    "fixed" [], "fixed", false, Content::Flag, |_, p| p.fixed.then(|| "yes".to_owned());
    "odds" [], "odds", false, Content::Number, |_, p| p.odds.map(|odds| odds.to_string());
    "caution" [], "caution", false, Content::Text, |_, p| p.caution.clone();
}

/// The kinds of part in words of the trade beside those of the format.
pub(super) const KINDS: &[(&str, PartKind)] = &[
    ("fusible link", PartKind::Link),
    ("circuit breaker", PartKind::Breaker),
    ("in line connector", PartKind::Connector),
];

/// Bodies of fuses as lids and lists call them, beside the words of the format: small letters without
/// spaces (from memory). A strip is bolted, and so a link.
pub(super) const BODIES: &[(&str, FuseStyle)] = &[
    ("ato", FuseStyle::Regular),
    ("atc", FuseStyle::Regular),
    ("ato/atc", FuseStyle::Regular),
    ("blade", FuseStyle::Regular),
    ("standard", FuseStyle::Regular),
    ("standardblade", FuseStyle::Regular),
    ("regularblade", FuseStyle::Regular),
    ("miniblade", FuseStyle::Mini),
    ("atm", FuseStyle::Mini),
    ("lowprofilemini", FuseStyle::LowMini),
    ("minilowprofile", FuseStyle::LowMini),
    ("lpmini", FuseStyle::LowMini),
    ("maxiblade", FuseStyle::Maxi),
    ("apx", FuseStyle::Maxi),
    ("jcase", FuseStyle::Cartridge),
    ("jcaselowprofile", FuseStyle::LowCartridge),
    ("lowprofilejcase", FuseStyle::LowCartridge),
    ("lpjcase", FuseStyle::LowCartridge),
    ("strip", FuseStyle::Midi),
    ("sf30", FuseStyle::Midi),
    ("sf51", FuseStyle::Mega),
    ("glasstube", FuseStyle::Glass),
    ("ceramic", FuseStyle::Torpedo),
];

/// The body that a text names. `Other` is none.
pub(super) fn body(text: &str) -> Option<FuseStyle> {
    let letters = |text: &str| plain(text).replace([' ', '.'], "");
    let meant = letters(text);
    let meant = meant.strip_suffix("fuse").unwrap_or(&meant);
    let of_format = FuseStyle::TABLE
        .iter()
        .filter(|(_, style)| *style != FuseStyle::Other);
    let mut known = of_format.chain(BODIES);
    let found = known.find(|(word, _)| letters(word) == meant);
    found.map(|(_, style)| *style)
}

/// Small letters and single spaces: `Fed_by`, `fed-by` and `FED BY` are one heading.
pub(super) fn plain(text: &str) -> String {
    let spaced: String = text
        .chars()
        .map(|c| {
            if matches!(c, '_' | '-' | '\n') {
                ' '
            } else {
                c
            }
        })
        .collect();
    let words: Vec<_> = spaced.split_whitespace().collect();
    words.join(" ").to_lowercase()
}

/// A heading without the unit it may carry: `rating (A)`, `asleep [mA]`, `rating / A`, `rating A`.
fn without_unit(heading: &str) -> Option<(&str, &str)> {
    let end = heading.trim_end_matches([')', ']']);
    let split = end.rfind([' ', '(', '[', '/'])?;
    let (name, unit) = (&end[..split], end[split + 1..].trim());
    Some((name.trim_end_matches([' ', '(', '[', '/']), unit))
}

/// A column with the unit its heading names for bare numbers.
pub(super) type Heading = Option<(&'static Column, Option<&'static str>)>;

fn heading(text: &str) -> Heading {
    let named = |name: &str| {
        let name = plain(name);
        COLUMNS
            .iter()
            .find(|c| plain(c.name) == name || c.also.contains(&name.as_str()))
    };
    if let Some(column) = named(text) {
        return Some((column, None));
    }
    let (name, unit) = without_unit(text)?;
    let column = named(name)?;
    let Content::Quantity { units, .. } = column.content else {
        return None;
    };
    let (unit, _) = units
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(unit))?;
    Some((column, Some(unit)))
}

/// `A`, `B` … `Z`, `AA` …, as a spreadsheet names its columns.
fn letters(mut number: usize) -> String {
    let mut name = Vec::new();
    loop {
        name.push(char::from(b'A' + (number % 26) as u8));
        if number < 26 {
            break;
        }
        number = number / 26 - 1;
    }
    name.iter().rev().collect()
}

/// A cell as a spreadsheet names it: `D5`, from the number of its row and its place in it.
pub(super) fn cell_name(row: usize, number: usize) -> String {
    format!("{}{row}", letters(number))
}

/// What each column of a table is; notes headings that are not known, given twice, or lacking though
/// needed.
pub(super) fn headings(
    table: &Table,
    needed: &[&str],
    problems: &mut Vec<Problem>,
) -> Vec<Heading> {
    let Some((row, cells)) = table.rows.first() else {
        problems.push(words::empty_table(table.separator).at(0..0));
        return Vec::new();
    };
    let mut found: Vec<Heading> = Vec::new();
    let mut firsts: Vec<(&str, Span)> = Vec::new();
    for (number, cell) in cells.iter().enumerate() {
        let this = heading(&cell.text);
        let name = cell_name(*row, number);
        if let Some((column, _)) = this {
            let first = firsts.iter().find(|(name, _)| *name == column.name);
            if let Some((_, first)) = first {
                let finding = words::column_twice(column.name, first);
                problems.push(finding.at_cell(&name, cell.at.clone()));
            }
            firsts.push((column.name, cell.at.clone()));
        } else if !cell.text.is_empty() {
            let known: Vec<_> = COLUMNS.iter().map(|column| column.name).collect();
            let finding = words::unknown_column(&cell.text, &known);
            problems.push(finding.at_cell(&name, cell.at.clone()));
        }
        found.push(this);
    }
    for needed in needed {
        if !firsts.iter().any(|(name, _)| name == needed) {
            let at = cells.first().map_or(0..0, |cell| cell.at.clone());
            problems.push(words::no_column(needed, table.separator).at(at));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_by_many_names() {
        let table = [
            ("id", Some(("id", None))),
            ("Fed_By", Some(("fed by", None))),
            ("AT-MOST", Some(("at_most", None))),
            ("Rating (A)", Some(("rating", Some("A")))),
            ("rating / mA", Some(("rating", Some("mA")))),
            ("asleep [ma]", Some(("asleep", Some("mA")))),
            ("asleep mA", Some(("asleep", Some("mA")))),
            ("rating (V)", None),
            ("pin (A)", None),
            ("connector", Some(("plug", None))),
            ("Fuse no.", Some(("id", None))),
            ("Supplied from", Some(("fed by", None))),
            ("Amps", Some(("rating", None))),
            ("Quiescent (mA)", Some(("asleep", Some("mA")))),
            ("price", None),
            ("", None),
        ];
        for (text, expected) in table {
            let found = heading(text).map(|(column, unit)| (column.name, unit));
            assert_eq!(found, expected, "{text}");
        }
    }

    #[test]
    fn cells_are_named_as_a_spreadsheet_names_them() {
        let table = [
            (1, 0, "A1"),
            (5, 25, "Z5"),
            (2, 26, "AA2"),
            (9, 27, "AB9"),
            (1, 702, "AAA1"),
        ];
        for (row, number, name) in table {
            assert_eq!(cell_name(row, number), name);
        }
    }
}
