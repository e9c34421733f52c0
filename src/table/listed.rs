//! The rows of a table as the parts they will be: what a person lists, cell by cell.
//!
//! People type more than parts into a spreadsheet: titles, the name of a box in a row of its own, the
//! headings once more for the next box, holders with nothing in them, a dash for "nothing". Each of
//! these is left out, and said.

use crate::problem::words;
use crate::table::cells;
use crate::table::columns::{Column, Content, Headings, KINDS, body, heading, origin, plain};
use crate::table::notes::{Notes, Origin};
use crate::table::rows::{Cell, Table};
use crate::vehicle::{FuseStyle, LoadKind, PartKind, quoted};
use std::collections::{BTreeMap, BTreeSet};

/// A field as it will stand in the draft.
pub(super) struct Field {
    pub(super) name: &'static str,
    pub(super) value: String,
    /// What the cell says.
    pub(super) text: String,
    pub(super) origin: Origin,
}

/// One row as it will stand in the draft.
#[derive(Default)]
pub(super) struct Row {
    /// The cell of its id.
    pub(super) origin: Origin,
    pub(super) id: String,
    pub(super) kind: Option<PartKind>,
    pub(super) kind_origin: Option<Origin>,
    pub(super) fed_by: Option<(String, Origin)>,
    pub(super) fields: Vec<Field>,
    /// Not in the table, but entered for it.
    pub(super) invented: bool,
    /// The empty cell where its place would stand.
    pub(super) no_place: Option<Origin>,
    /// What feeds it stands in the nearest row above.
    fed_as_above: bool,
    /// The cell that says that nothing is fitted here.
    spare: Option<Origin>,
    /// The cell that would say so of a row that says nothing else.
    called_spare: Option<Origin>,
    /// One cell alone is filled.
    alone: bool,
    /// What columns of their own say of its wire.
    wire: Vec<(&'static str, String, Origin)>,
}

impl Row {
    pub(super) fn is_battery(&self) -> bool {
        self.kind == Some(PartKind::Battery)
    }

    pub(super) fn field(&self, name: &str) -> Option<&Field> {
        self.fields.iter().find(|field| field.name == name)
    }

    /// A field, unless a cell before has said the very same.
    fn push(&mut self, name: &'static str, value: String, text: &str, origin: Origin) {
        if self.field(name).is_none_or(|field| field.value != value) {
            self.fields.push(Field {
                name,
                value,
                text: text.to_owned(),
                origin,
            });
        }
    }

    /// Once all its cells are read: what only they together say.
    fn settle(&mut self) {
        let battery = self.is_battery() || plain(&self.id) == "battery";
        if self.fed_as_above && battery {
            self.fed_by = None;
        }
        // A name or a note of a part that says more is only that.
        let unfed = self.fed_by.is_none() || self.fed_as_above;
        if unfed && self.kind.is_none() && self.field("rating").is_none() {
            self.spare = self.spare.take().or(self.called_spare.take());
        }
        let wire = std::mem::take(&mut self.wire);
        if let Some((.., cell)) = wire.first() {
            let fields = wire.iter().map(|(field, value, _)| {
                let field = field.trim_start_matches("wire ");
                format!("{field}: {value}")
            });
            let value = format!("Wire({})", fields.collect::<Vec<_>>().join(", "));
            self.push("wire", value, "", cell.clone());
        }
    }

    /// A row that is in no table, with that id.
    pub(super) fn entered(id: &str, kind: PartKind, origin: &Origin) -> Self {
        let mut row = Self {
            origin: origin.clone(),
            id: id.to_owned(),
            kind: Some(kind),
            invented: true,
            ..Self::default()
        };
        row.push("id", quoted(id), id, origin.clone());
        row
    }
}

/// How a table is meant, where that is not plain from its cells.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct How {
    /// An empty cell under place, fed by and sheet says what the nearest row above does: such cells were
    /// merged.
    pub fill_down: bool,
    /// Where several rows have the same id, each gets its place in front, and the id as its label:
    /// boxes that are each numbered from one.
    pub place_in_id: bool,
}

/// Texts that stand for an empty cell where they can mean nothing else.
const NOTHING: [&str; 6] = ["n/a", "n.a.", "none", "nil", "?", "tbd"];
/// Words for a holder with nothing in it (from memory).
const SPARE: [&str; 9] = [
    "spare",
    "not used",
    "unused",
    "not fitted",
    "empty",
    "free",
    "vacant",
    "blank",
    "reserved",
];

fn is_dash(text: &str) -> bool {
    text.chars()
        .all(|c| matches!(c, '-' | '\u{2013}' | '\u{2014}'))
}

/// A dash that is a name, with an apostrophe before it, as spreadsheets mark a text; `None` for all else.
fn marked_dash(text: &str) -> Option<&str> {
    let unmarked = text.strip_prefix('\'')?;
    let dash = unmarked.trim_start_matches('\'');
    (!dash.is_empty() && is_dash(dash)).then_some(unmarked)
}

/// What is written for a text, so that it is read as that text.
pub(super) fn marked(text: String) -> String {
    let dash = text.trim_start_matches('\'');
    if !dash.is_empty() && is_dash(dash) {
        format!("'{text}")
    } else {
        text
    }
}

fn says_spare(text: &str) -> bool {
    SPARE.contains(&plain(text).trim_matches(['(', ')', '.', ' ']))
}

/// The rows of a table, and the names of the holders that it calls empty.
pub(super) struct Listed {
    pub(super) rows: Vec<Row>,
    pub(super) spare: Vec<String>,
}

/// Reads row after row.
struct Reader<'t> {
    headings: &'t Headings,
    how: How,
    notes: &'t mut Notes,
    /// What the nearest row above says in each column.
    above: Vec<String>,
    /// That a column of kinds holds bodies was said.
    bodies_said: bool,
}

impl Listed {
    pub(super) fn of(table: &Table, headings: &Headings, how: How, notes: &mut Notes) -> Self {
        let filled = |cells: &[Cell]| cells.iter().filter(|c| !c.text.is_empty()).count();
        let below = table.rows.iter().skip(headings.row + 1);
        // Where most rows say several things, one that says a single one is no part.
        let (mut wide, mut all) = (0, 0);
        for (_, cells) in below.clone() {
            (wide, all) = (wide + usize::from(filled(cells) > 2), all + 1);
        }
        let wide = 2 * wide > all;
        let mut reader = Reader {
            headings,
            how,
            notes,
            above: vec![String::new(); headings.columns.len()],
            bodies_said: false,
        };
        let mut rows = Vec::new();
        for (number, cells) in below {
            if reader.is_headings(cells) {
                reader.leave_out_headings(*number, cells);
                continue;
            }
            let mut row = reader.row(*number, cells);
            row.alone = wide && filled(cells) == 1;
            rows.push(row);
        }
        if how.place_in_id {
            put_places_in_ids(&mut rows);
        }
        Self::without_empty_holders(rows, notes)
    }

    /// Without what is no part: a heading, a holder with nothing in it. What feeds another row stays.
    fn without_empty_holders(mut rows: Vec<Row>, notes: &mut Notes) -> Self {
        let feeders = rows.iter().filter_map(|row| row.fed_by.as_ref());
        let feeders: BTreeSet<_> = feeders.map(|(id, _)| plain(id)).collect();
        let mut spare = Vec::new();
        rows.retain(|row| {
            if feeders.contains(&plain(&row.id)) || row.is_battery() || plain(&row.id) == "battery"
            {
                return true;
            }
            if let Some(cell) = &row.spare {
                notes.note(cell, words::empty_holder(&row.id));
                // The row of fuses counts what the lids say.
                let lid = row.field("label").map(|field| field.text.clone());
                spare.push(lid.unwrap_or_else(|| row.id.clone()));
                return false;
            }
            let unfed = row.fed_by.is_none() || row.fed_as_above;
            if row.alone && unfed && row.kind.is_none() {
                notes.note(&row.origin, words::row_is_a_heading());
                return false;
            }
            true
        });
        Self { rows, spare }
    }
}

/// Gives rows that share an id their place in front of it. What they feed has to say the whole.
fn put_places_in_ids(rows: &mut [Row]) {
    let mut met: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows.iter() {
        *met.entry(plain(&row.id)).or_default() += 1;
    }
    for row in rows {
        let shared = !row.id.is_empty() && met.get(&plain(&row.id)).is_some_and(|n| *n > 1);
        let Some(place) = row.field("at").filter(|_| shared) else {
            continue;
        };
        let id = format!("{} {}", place.text, row.id);
        let label = std::mem::replace(&mut row.id, id.clone());
        if row.field("label").is_none() {
            row.push("label", quoted(&label), &label, row.origin.clone());
        }
        for field in row.fields.iter_mut().filter(|field| field.name == "id") {
            field.value = quoted(&id);
            field.text.clone_from(&id);
        }
    }
}

/// A rating with the fuse's body behind it: `30 A (maxi)`.
fn rating_and_body(text: &str) -> Option<(&str, &str)> {
    let mut splits = text.match_indices([' ', '(', ',']).map(|(at, _)| at);
    let split = splits.find(|at| body(text[*at..].trim_matches([' ', '(', ')', ','])).is_some())?;
    let (rating, style) = text.split_at(split);
    Some((rating.trim_end(), style.trim_matches([' ', '(', ')', ','])))
}

impl Reader<'_> {
    /// Whether a row repeats the headings, as over a second box.
    fn is_headings(&self, cells: &[Cell]) -> bool {
        let mut filled = 0;
        let Headings { columns, texts, .. } = self.headings;
        let mut named = cells.iter().zip(columns.iter().zip(texts));
        let same = named.all(|(cell, (column, text))| {
            filled += usize::from(!cell.text.is_empty());
            let here = || heading(&cell.text).map(|(column, _)| column.name);
            cell.text.is_empty()
                || plain(&cell.text) == *text
                || column.is_some_and(|(column, _)| here() == Some(column.name))
        });
        same && filled > 1
    }

    fn leave_out_headings(&mut self, number: usize, cells: &[Cell]) {
        let first = cells.iter().position(|cell| !cell.text.is_empty());
        let cell = origin(number, cells, first.unwrap_or(0));
        self.notes.note(&cell, words::row_is_a_heading());
    }

    fn row(&mut self, number: usize, cells: &[Cell]) -> Row {
        let origin = |column| origin(number, cells, column);
        let mut columns = self.headings.columns.iter();
        let id = columns.position(|column| column.is_some_and(|(column, _)| column.field == "id"));
        let first = cells.iter().position(|cell| !cell.text.is_empty());
        let mut row = Row {
            origin: origin(id.or(first).unwrap_or(0)),
            ..Row::default()
        };
        for column in 0..cells.len().max(self.headings.columns.len()) {
            let text = cells.get(column).map_or("", |cell| cell.text.as_str());
            let Some((heading, unit)) = self.headings.columns.get(column).copied().flatten() else {
                if !text.is_empty() && column >= self.headings.columns.len() {
                    self.notes.note(&origin(column), words::no_heading(text));
                }
                continue;
            };
            let text = self.meant(&mut row, heading, text, &origin(column));
            let text = self.as_above(&mut row, heading, text, &origin(column));
            if !text.is_empty() {
                self.cell(&mut row, heading, unit, &text, origin(column));
            }
        }
        row.settle();
        row
    }

    /// Takes what one cell says into its row.
    fn cell(
        &mut self,
        row: &mut Row,
        heading: &Column,
        unit: Option<&'static str>,
        mut text: &str,
        origin: Origin,
    ) {
        if heading.field == "rating"
            && let Some((rating, style)) = rating_and_body(text)
        {
            if row.field("style").is_none() {
                Self::style(row, style, origin.clone());
            }
            text = rating;
        }
        match heading.content {
            Content::Kind => self.kind(row, text, origin),
            Content::FedBy => row.fed_by = Some((text.to_owned(), origin)),
            _ if heading.field == "style" && body(text).is_some() => {
                Self::style(row, text, origin);
            }
            content => match cells::value(text, content, unit) {
                Ok(Some(value)) if heading.field.starts_with("wire ") => {
                    row.wire.push((heading.field, value, origin));
                }
                Ok(Some(value)) => {
                    if heading.field == "id" {
                        row.origin = origin.clone();
                        text.clone_into(&mut row.id);
                    }
                    row.push(heading.field, value, text, origin);
                }
                Ok(None) => {}
                Err(finding) => self.notes.note(&origin, finding),
            },
        }
    }

    /// What a cell says, with what stands for nothing taken as nothing.
    fn meant(
        &mut self,
        row: &mut Row,
        Column { field, content, .. }: &Column,
        text: &str,
        cell: &Origin,
    ) -> String {
        if text.is_empty() {
            return String::new();
        }
        if let Some(dash) = marked_dash(text) {
            return dash.to_owned();
        }
        let free = matches!(*field, "id" | "name" | "label" | "note" | "caution");
        let named = matches!(content, Content::Text | Content::FedBy);
        let bare = !named && NOTHING.contains(&plain(text).as_str());
        if (is_dash(text) && !free) || bare {
            self.notes.note(cell, words::taken_for_empty(text));
            return String::new();
        }
        if says_spare(text) {
            if !named {
                row.spare = Some(cell.clone());
                return String::new();
            }
            if free && *field != "id" {
                row.called_spare = Some(cell.clone());
            }
        }
        text.to_owned()
    }

    /// The text of a cell, or for an empty one what the nearest row above says, where that is wanted.
    fn as_above(
        &mut self,
        row: &mut Row,
        Column { field, content, .. }: &Column,
        text: String,
        cell: &Origin,
    ) -> String {
        let merged = *content == Content::FedBy || matches!(*field, "at" | "sheet");
        let Some(above) = self.above.get_mut(cell.column).filter(|_| merged) else {
            return text;
        };
        if !text.is_empty() {
            above.clone_from(&text);
        } else if self.how.fill_down {
            row.fed_as_above |= *content == Content::FedBy;
            return above.clone();
        } else if *field == "at" {
            row.no_place = Some(cell.clone());
        }
        text
    }

    /// A fuse's style by any of its names. A style that the kind has said already gives way.
    fn style(row: &mut Row, text: &str, origin: Origin) {
        let Some(style) = body(text) else { return };
        row.fields.retain(|field| field.name != "style");
        row.push("style", style.word().to_owned(), text, origin);
    }

    /// The kind of part that a cell names: a word of the format or of the trade, or a kind of load.
    fn kind(&mut self, row: &mut Row, text: &str, origin: Origin) {
        let letters = |text: &str| plain(text).replace(' ', "");
        let meant = letters(text);
        let mut parts = PartKind::TABLE.iter().chain(KINDS);
        let mut loads = LoadKind::TABLE.iter();
        if let Some((_, kind)) = parts.find(|(word, _)| letters(word) == meant) {
            row.kind = Some(*kind);
        } else if let Some((word, _)) = loads.find(|(word, _)| letters(word) == meant) {
            row.kind = Some(PartKind::Load);
            row.push("kind", (*word).to_owned(), text, origin.clone());
        } else if let Some(style) = body(text) {
            self.body_for_kind(row, style, text, &origin);
        } else {
            let words = PartKind::TABLE.iter().map(|(word, _)| *word);
            let finding = words::unknown_part(text, &words.collect::<Vec<_>>());
            self.notes.note(&origin, finding);
        }
        row.kind_origin = Some(origin);
    }

    /// A fuse's body where a kind belongs: the part is a fuse, or a link where it is bolted, and the body
    /// is its style. Said once for the whole column.
    fn body_for_kind(&mut self, row: &mut Row, style: FuseStyle, text: &str, origin: &Origin) {
        let kind = guard_of(style);
        row.kind = Some(kind);
        if row.field("style").is_none() {
            row.push("style", style.word().to_owned(), text, origin.clone());
        }
        if !std::mem::replace(&mut self.bodies_said, true) {
            let finding = words::bodies_for_kinds(text, kind.word(), style.word());
            self.notes.note(origin, finding);
        }
    }
}

/// What a body protects with: bolted ones are links.
pub(super) fn guard_of(style: FuseStyle) -> PartKind {
    if matches!(style, FuseStyle::Midi | FuseStyle::Mega) {
        PartKind::Link
    } else {
        PartKind::Fuse
    }
}
