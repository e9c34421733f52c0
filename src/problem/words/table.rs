//! A table, and new parts for a vehicle file. In a table the cell is named, as a spreadsheet names it.

use super::{FIRST, Finding, RING, Thing, nearest, one, short};
use crate::problem::{Fault, Problem, Span};

/// What a problem of a cell has in common with that of another cell, so that both are said at once;
/// none where it has a second place.
pub(crate) fn kin(problem: &Problem) -> Option<String> {
    // These name the row's own part, which the cell shows.
    let named = [Fault::Guessed, Fault::UnknownFeed];
    let named = named.iter().any(|fault| fault.code() == problem.code);
    let message = if named { "" } else { &problem.message };
    let alone = problem.also.is_none() && problem.about.is_none();
    alone.then(|| format!("{}\n{}\n{message}", problem.code, problem.help))
}

/// A problem of a cell, named as a spreadsheet names it, and of others; no name where no cell stands
/// behind it.
pub(crate) fn of_cells(mut problem: Problem, cell: &str, others: &[String]) -> Problem {
    /// Ranges of cells that are named.
    const MOST: usize = 30;
    if cell.is_empty() {
        return problem;
    }
    problem.message = format!("{cell}: {}", problem.message);
    if !others.is_empty() {
        let named = others[..others.len().min(MOST)].join(", ");
        problem.message = format!("{}; likewise {named}", problem.message);
    }
    let more = others.len().saturating_sub(MOST);
    if more > 0 {
        problem.message = format!("{} and {more} more", problem.message);
    }
    problem
}

/// A problem of the text made from a table, carried back to its cell and the cell of its second place.
pub(crate) fn carried_to_cell(
    problem: Problem,
    at: Span,
    second: impl Fn(&Span) -> Option<Span>,
) -> Problem {
    let also = problem.also;
    Problem {
        help: in_a_table(problem.code).map_or(problem.help, str::to_owned),
        at,
        also: also.and_then(|(at, word)| second(&at).map(|at| (at, word))),
        ..problem
    }
}

/// What mends a table, where the line that mends a vehicle file would not.
fn in_a_table(code: &str) -> Option<&'static str> {
    const HELP: &[(Fault, &str)] = &[
        (
            Fault::NoBattery,
            "type a row for the battery, with battery under id and Battery under kind, then what it feeds",
        ),
        (
            Fault::NoFeeds,
            "type a row that it feeds, for example with F1 under id, Fuse under kind, battery under fed by",
        ),
        (
            Fault::NoId,
            "type the name that the manual gives it under id; one more thing on the fuse above is a row with a name of its own, and that fuse under fed by",
        ),
        (
            Fault::NoSize,
            "give the wire size too, in a column `wire size` with its unit: 2.5 mm2 or 14 awg",
        ),
        (
            Fault::DuplicateId,
            "where each box counts from one, say --place-in-id, which puts the place in front of such an id; else give one of the two another name",
        ),
        (
            Fault::MisplacedField,
            "leave this cell empty, or change the kind of this row",
        ),
        (
            Fault::FeedsNothing,
            "a module's output or a relay feeds it: type a row for that, and its id under fed by",
        ),
    ];
    let found = HELP.iter().find(|(fault, _)| fault.code() == code);
    found.map(|(_, help)| *help)
}

// Headings.

/// The first row as it could be, parted as this table is.
fn first_row(separator: char) -> String {
    let headings = ["id", "kind", "fed by", "rating", "place"];
    if separator == '\t' {
        let tabs = headings.join(" tab ");
        return format!("type the first row as {tabs}");
    }
    let row = headings.join(&separator.to_string());
    format!("type the first row as {row}")
}

pub(crate) fn empty_table(separator: char) -> Finding {
    let help = first_row(separator);
    Finding::new(Fault::NoColumn, "the table is empty", help)
}

pub(crate) fn no_column(name: &str, separator: char) -> Finding {
    let message = format!("no column is called `{name}`");
    Finding::new(Fault::NoColumn, message, first_row(separator))
}

pub(crate) fn column_twice(name: &str, first: &Span) -> Finding {
    Finding::new(
        Fault::DuplicateField,
        format!("a second column of `{name}`"),
        "take one of the two out, or give it a heading of its own",
    )
    .beside(first, FIRST)
}

/// `known`: the headings there are.
pub(crate) fn unknown_column(heading: &str, known: &[&str]) -> Finding {
    Finding::new(
        Fault::UnknownColumn,
        format!(
            "no column is called `{}`, so nothing is read from it",
            short(heading)
        ),
        nearest(heading, known.iter().copied()).map_or_else(
            || "leave it, or rename it: id, kind, fed by, rating, style, place, sheet, plug, pin, colour …".to_owned(),
            |near| format!("did you mean {near}?"),
        ),
    )
}

pub(crate) fn no_heading(cell: &str) -> Finding {
    Finding::new(
        Fault::UnknownColumn,
        format!(
            "`{}` stands under no heading, so nothing is read from it",
            short(cell)
        ),
        "give it a heading, or put a text that holds the delimiter in quotes",
    )
}

pub(crate) fn row_above_headings() -> Finding {
    Finding::new(
        Fault::Guessed,
        "this stands above the headings, so nothing is read from it",
        "leave it; nothing needs to be done where it is a title",
    )
}

/// A row that names a box, or repeats the headings.
pub(crate) fn row_is_a_heading() -> Finding {
    Finding::new(
        Fault::Guessed,
        "taken for a heading, so nothing is read from this row",
        "leave it; where it is a part, type what feeds it under fed by",
    )
}

pub(crate) fn empty_holder(id: &str) -> Finding {
    Finding::new(
        Fault::Guessed,
        format!("`{}` is taken for an empty holder, and left out", short(id)),
        "leave it; where something is fitted, type its rating",
    )
}

// Cells.

pub(crate) fn taken_for_empty(cell: &str) -> Finding {
    Finding::new(
        Fault::Guessed,
        format!("`{}` is taken for nothing", short(cell)),
        "leave it, or empty the cell",
    )
}

/// `above`: the place that the nearest row above names.
pub(crate) fn place_as_feed(above: &str) -> Finding {
    Finding::new(
        Fault::Guessed,
        format!(
            "no place, so it is taken to be where its feed is and not at {}, as the row above",
            short(above)
        ),
        format!(
            "type {} under place, or say --fill-down, which takes what stands above",
            short(above)
        ),
    )
}

pub(crate) fn neither_yes_nor_no(cell: &str) -> Finding {
    Finding::new(
        Fault::YesNo,
        format!("`{}` is neither yes nor no", short(cell)),
        "type yes, or leave it empty",
    )
}

/// `point` and `none`: the number with its comma read as a point, or as one of thousands.
pub(crate) fn comma_unclear(cell: &str, point: &str, none: &str, unit: &str) -> Finding {
    Finding::new(
        Fault::Number,
        format!("`{}` may be {point} or {none}", short(cell)),
        format!("type {point} {unit} or {none} {unit}"),
    )
}

pub(crate) fn no_quantity_in_cell(cell: &str, what: Thing, unit: &str) -> Finding {
    Finding::new(
        Fault::Number,
        format!("`{}` is not {what}", short(cell)),
        format!("type it like 12 {unit}"),
    )
}

pub(crate) fn no_wire(cell: &str) -> Finding {
    Finding::new(
        Fault::Number,
        format!("`{}` is no size, length or metal of a wire", short(cell)),
        "type it like 16 mm2 0.8 m",
    )
}

// Rows.

pub(crate) fn battery_entered() -> Finding {
    Finding::new(
        Fault::Guessed,
        "no row is a battery; one is entered above all that nothing feeds",
        "type a row of its own for it, with battery under id and Battery under kind",
    )
}

pub(crate) fn battery_is_fed(feeder: &str) -> Finding {
    Finding::new(
        Fault::Ring,
        format!("the battery is fed by `{}`: {RING}", short(feeder)),
        "leave this cell empty",
    )
}

/// `ids`: of all rows of the ring, the one to mend first.
pub(crate) fn rows_in_a_ring(ids: &[&str]) -> Finding {
    let names: Vec<_> = ids.iter().take(6).map(|id| short(id)).collect();
    let who = match names.as_slice() {
        [one] => format!("`{one}` feeds itself"),
        _ => format!("{} feed each other", names.join(", ")),
    };
    let first = ids.first().copied().unwrap_or_default();
    Finding::new(
        Fault::Ring,
        format!("{who}: {RING}"),
        format!("type what feeds `{first}` from the battery's side"),
    )
}

fn nothing_feeds(id: &str, help: impl Into<String>) -> Finding {
    let message = format!("nothing feeds `{}`", short(id));
    Finding::new(Fault::UnknownFeed, message, help)
}

pub(crate) fn row_not_fed(id: &str, battery: &str) -> Finding {
    nothing_feeds(
        id,
        format!(
            "type what feeds it, for example {battery}; where cells were merged, say --fill-down"
        ),
    )
}

/// A feed called otherwise than the part that is meant.
pub(crate) fn feed_taken_for(written: &str, meant: &str) -> Finding {
    Finding::new(
        Fault::Guessed,
        format!(
            "no row has the id `{}`; taken for `{}`",
            short(written),
            short(meant)
        ),
        format!("type {} under fed by, not {}", short(meant), short(written)),
    )
}

/// `ids`: of the rows, as far as they are looked through.
pub(crate) fn unknown_feed(id: &str, ids: &[&str], battery: &str) -> Finding {
    Finding::new(
        Fault::UnknownFeed,
        format!("no row has the id `{}`", short(id)),
        nearest(id, ids.iter().copied()).map_or_else(
            || format!("type a row for it, for example with {id} under id, Fuse under kind, {battery} under fed by"),
            |near| format!("type {near}, or a row for {id}"),
        ),
    )
}

/// Why a row without a kind is taken for one.
#[derive(Clone, Copy, Debug)]
pub(crate) enum TakenFor {
    Rated,
    Bolted,
    CalledRelay,
    Feeds,
    FeedsNothing,
}

pub(crate) fn kind_guessed(kind: &str, because: TakenFor) -> Finding {
    let because = match because {
        TakenFor::Rated => "it has a rating or a style",
        TakenFor::Bolted => "its style is bolted",
        TakenFor::CalledRelay => "it is called a relay",
        TakenFor::Feeds => "it feeds others",
        TakenFor::FeedsNothing => "it feeds nothing",
    };
    Finding::new(
        Fault::Guessed,
        format!("no kind; taken for {}, because {because}", one(kind)),
        format!("type {kind} under kind"),
    )
}

/// A column of kinds that holds the bodies of fuses.
pub(crate) fn bodies_for_kinds(body: &str, kind: &str, style: &str) -> Finding {
    Finding::new(
        Fault::Guessed,
        format!(
            "`{}` is a fuse's body; taken for a {kind} of style {style}, and so in every row",
            short(body)
        ),
        format!("type {kind} under kind and {style} under style"),
    )
}

// New parts for a vehicle.

pub(crate) fn there_already(id: &str) -> Finding {
    Finding::new(
        Fault::DuplicateId,
        format!("`{}` is in the vehicle already", short(id)),
        "take this row out, or give the new part a name of its own",
    )
}

pub(crate) fn new_part_not_fed(id: &str) -> Finding {
    nothing_feeds(
        id,
        "type the part of the vehicle that feeds it, or say --under PART for all",
    )
}

pub(crate) fn no_new_part() -> Finding {
    Finding::new(
        Fault::NoFeeds,
        "no part was given",
        "type one as it stands in the file: Load(id: \"lamp\", kind: Lamp)",
    )
}
