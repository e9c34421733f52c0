//! The columns of a table: their headings, what their cells hold, and how a part fills them.

use crate::notation::{Spelled, in_unit};
use crate::problem::{Located, Span, Thing, words};
use crate::quantity::{
    AmpHours, Metres, Milliamps, Milliohms, Millivolts, Minutes, SquareMillimetres,
};
use crate::table::cells::unit_word;
use crate::table::notes::{Notes, Origin};
use crate::table::rows::{Cell, Table};
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
    /// The field of format 1; of a wire in columns of its own `wire` and the field of the wire.
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

/// A wire's size, by area or by gauge.
const SIZE: Content = Content::Quantity {
    what: SquareMillimetres::WHAT,
    usual: "mm2",
    units: &[("mm2", 1.0), ("awg", 1.0)],
};

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
    "id" ["part", "name of part", "designation", "fuse", "fuse no", "fuse nr", "fuse #", "fuse id", "fuse number", "fuse position", "no", "nr", "#", "number", "item", "ref", "reference", "slot"], "id", true, Content::Text, |_, p| Some(p.id.value.clone());
    "kind" ["part kind", "kind of part", "type", "type of part"], "", true, Content::Kind, |_, p| words(Some(p.kind.word()));
    "fed by" ["fed from", "feed", "supplied by", "supplied from", "supply", "source", "from", "fed via", "fed through", "feeds from", "supplied via", "powered by", "powered from", "power from", "power source", "upstream", "parent"], "", true, Content::FedBy,
        |v, p| p.up.map(|up| v.parts[up as usize].id.value.clone());
    "rating" ["rated current", "fuse rating", "amps", "ampere", "amperage", "fuse size", "rated", "amp", "a", "current", "current rating", "amp rating", "ampere rating", "fuse amps", "nominal current", "rated amps"], "rating", true, quantity::<Milliamps>("A"),
        |_, p| amount(p.rating.as_ref().map(|r| r.value), "A");
    "style" ["fuse style", "body", "fuse type", "fuse body", "body style"], "style", true, words_of!(FuseStyle), |_, p| words(p.style.map(FuseStyle::word));
    "place" ["at", "location", "where", "box", "fuse box", "fusebox", "fuse box location", "box location", "mounted", "site"], "at", true, Content::Text, |_, p| located(p.at.as_ref());
    "sheet" ["page", "sheet no", "page no", "sheet number", "page number", "diagram", "drawing"], "sheet", true, Content::Text, |_, p| p.sheet.clone();
    "plug" ["connector", "plug connector", "conn", "plug no", "connector no", "connector id"], "plug", true, Content::Text, |_, p| located(p.plug.as_ref());
    "pin" ["cavity", "terminal", "pin no", "pin number", "terminal no", "connector pin"], "pin", true, Content::Text, |_, p| p.pin.clone();
    "colour" ["color", "wire colour", "wire color", "wire colour code"], "colour", true, Content::Text, |_, p| p.colour.clone();
    "load kind" ["kind of load", "load type", "load"], "kind", true, words_of!(LoadKind), |_, p| words(p.load.map(LoadKind::word));
    "asleep" ["asleep draw", "sleep current", "draw asleep", "quiescent", "quiescent current", "quiescent draw", "standby current", "sleep", "sleeping current", "key off current", "parked current", "parasitic current"], "asleep", true, quantity::<Milliamps>("mA"), |_, p| draw(p.asleep);
    "at_most" ["most", "asleep at most"], "at_most", true, quantity::<Milliamps>("mA"), |_, p| draw(p.at_most);
    "module" ["of", "control unit", "feed of"], "of", true, Content::Text, |_, p| located(p.of.as_ref());
    "note" ["notes", "remark", "remarks", "comment", "hint", "hints"], "note", true, Content::Text, |_, p| p.note.clone();
    "name" ["long name", "description", "circuit", "function", "circuit protected", "circuits", "circuits protected", "protects", "protected circuit", "protected circuits", "consumer", "consumers", "loads", "feeds", "used for"], "name", false, Content::Text, |_, p| p.name.clone();
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
    "wire size" ["cross section", "wire cross section", "conductor size", "cable size", "csa", "gauge", "wire gauge"], "wire size", false, SIZE, |_, _| None;
    "wire length" ["length", "cable length"], "wire length", false, quantity::<Metres>("m"), |_, _| None;
    "wire metal" ["metal", "conductor"], "wire metal", false, words_of!(Metal), |_, _| None;
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
    ("lowprofile", FuseStyle::LowMini),
    ("lowprofileminiblade", FuseStyle::LowMini),
    ("micro2blade", FuseStyle::Micro2),
    ("micro3blade", FuseStyle::Micro3),
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
    ("lowprofilecartridge", FuseStyle::LowCartridge),
    ("cartridgelowprofile", FuseStyle::LowCartridge),
    ("strip", FuseStyle::Midi),
    ("sf30", FuseStyle::Midi),
    ("sf51", FuseStyle::Mega),
    ("glasstube", FuseStyle::Glass),
    ("ceramic", FuseStyle::Torpedo),
];

/// The body that a text names. `Other` is none.
pub(super) fn body(text: &str) -> Option<FuseStyle> {
    let letters = |text: &str| plain(text).replace([' ', '.', ','], "");
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

pub(super) fn heading(text: &str) -> Heading {
    let named = |name: &str| {
        let name = plain(name).replace("(s)", "s");
        let name = name.trim_end_matches(['.', ':', '?', '*', ' ']);
        COLUMNS
            .iter()
            .find(|c| plain(c.name) == name || c.also.contains(&name))
    };
    if let Some(column) = named(text) {
        return Some((column, None));
    }
    let (name, unit) = without_unit(text)?;
    let column = named(name)?;
    let Content::Quantity { units, .. } = column.content else {
        return None;
    };
    Some((column, Some(unit_word(unit, units)?)))
}

/// The headings of a table.
pub(super) struct Headings {
    /// What each column is.
    pub(super) columns: Vec<Heading>,
    /// What stands above each.
    pub(super) texts: Vec<String>,
    /// Their row in the table; what stands above is a title.
    pub(super) row: usize,
}

impl Headings {
    /// What each column of a table is; notes headings that are not known, given twice, or lacking
    /// though needed.
    pub(super) fn of(table: &Table, needed: &[&str], notes: &mut Notes) -> Self {
        let Some(row) = heading_row(table, needed) else {
            notes.note(&Origin::default(), words::empty_table(table.separator));
            return Self {
                columns: Vec::new(),
                texts: Vec::new(),
                row: 0,
            };
        };
        for (number, cells) in &table.rows[..row] {
            let first = cells.iter().position(|cell| !cell.text.is_empty());
            let cell = origin(*number, cells, first.unwrap_or(0));
            notes.note(&cell, words::row_above_headings());
        }
        let (number, cells) = &table.rows[row];
        let mut columns: Vec<Heading> = Vec::new();
        let mut firsts: Vec<(&str, Span)> = Vec::new();
        for (column, cell) in cells.iter().enumerate() {
            let this = heading(&cell.text);
            if let Some((known, _)) = this {
                let first = firsts.iter().find(|(name, _)| *name == known.name);
                if let Some((_, first)) = first {
                    let finding = words::column_twice(known.name, first);
                    notes.note(&origin(*number, cells, column), finding);
                }
                firsts.push((known.name, cell.at.clone()));
            } else if !cell.text.is_empty() {
                let known: Vec<_> = COLUMNS.iter().map(|column| column.name).collect();
                let finding = words::unknown_column(&cell.text, &known);
                notes.note(&origin(*number, cells, column), finding);
            }
            columns.push(this);
        }
        for needed in needed {
            if !firsts.iter().any(|(name, _)| name == needed) {
                let at = cells.first().map_or(0..0, |cell| cell.at.clone());
                let nowhere = Origin {
                    at,
                    ..Origin::default()
                };
                notes.note(&nowhere, words::no_column(needed, table.separator));
            }
        }
        let texts = cells.iter().map(|cell| plain(&cell.text)).collect();
        Self {
            columns,
            texts,
            row,
        }
    }
}

/// The row that holds the headings: the first with all that are needed, else the one that names most
/// columns. A spreadsheet may begin with a title. `None` where there are no rows.
fn heading_row(table: &Table, needed: &[&str]) -> Option<usize> {
    /// Rows that are looked at.
    const FIRST: usize = 30;
    let mut best = None;
    for (row, (_, cells)) in table.rows.iter().take(FIRST).enumerate() {
        let known = cells.iter().filter_map(|cell| heading(&cell.text));
        let known: Vec<_> = known.map(|(column, _)| column.name).collect();
        if needed.iter().all(|needed| known.contains(needed)) {
            return Some(row);
        }
        if best.is_none_or(|(most, _)| known.len() > most) {
            best = Some((known.len(), row));
        }
    }
    best.map(|(_, row)| row)
}

/// A cell of a row.
pub(super) fn origin(row: usize, cells: &[Cell], column: usize) -> Origin {
    // A row may end before its last columns.
    let end = cells.last().map_or(0..0, |last| last.at.end..last.at.end);
    Origin {
        at: cells.get(column).map_or(end, |cell| cell.at.clone()),
        row,
        column,
    }
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
            ("Circuit(s) protected", Some(("name", None))),
            ("Fuse No.:", Some(("id", None))),
            ("Length", Some(("wire length", None))),
            ("Wire size (mm²)", Some(("wire size", Some("mm2")))),
            ("gauge / AWG", Some(("wire size", Some("awg")))),
            ("rating (amps)", Some(("rating", Some("A")))),
            ("price", None),
            ("", None),
        ];
        for (text, expected) in table {
            let found = heading(text).map(|(column, unit)| (column.name, unit));
            assert_eq!(found, expected, "{text}");
        }
    }
}
