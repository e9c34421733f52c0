//! Vehicle files that are begun, grown, renamed, or made from a table.

use crate::growth::Grown;
use crate::problem::short;
use crate::renaming::Wanted;
use crate::render::words::count;

/// What was to be done to a vehicle file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Undone {
    /// Parts were to be added.
    Added,
    /// Something was to get another name.
    Renamed,
}

impl Undone {
    const fn word(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Renamed => "renamed",
        }
    }
}

/// The file has errors of its own.
pub fn mend_first(undone: Undone) -> String {
    format!("mend these first; nothing was {}", undone.word())
}

/// What was given has errors.
pub fn nothing_done(undone: Undone) -> String {
    format!("nothing was {}", undone.word())
}

/// What the text is called as it would be with the new parts.
pub fn with_new_parts(file: &str) -> String {
    format!("{file} with the new parts")
}

/// What the text is called as it would be with the new name.
pub fn with_new_name(file: &str) -> String {
    format!("{file} with the new name")
}

/// What parts are called that were typed on the command line.
pub fn typed_parts() -> String {
    "new parts".to_owned()
}

/// Names listed before the rest is only counted.
const NAMED: usize = 8;

/// Some names, then how many more.
fn list(names: &[String]) -> String {
    let shown = names[..names.len().min(NAMED)].join(", ");
    match names.len().saturating_sub(NAMED) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

/// What was added, and below what.
pub fn added(grown: &Grown, under: Option<&str>) -> String {
    let mut text = format!("added {}", list(&grown.parts));
    if let Some(under) = under {
        text = format!("{text}, under {under}");
    }
    for (what, names) in [("place", &grown.places), ("module", &grown.modules)] {
        if !names.is_empty() {
            let counted = count(names.len(), what);
            let word = counted.split_once(' ').map_or(what, |(_, word)| word);
            text = format!("{text}; new {word}: {}", list(names));
        }
    }
    text
}

/// A part that is not there, and the nearest one.
pub fn no_part_called(id: &str, near: Option<&str>) -> String {
    let help = near.map_or_else(
        || "type the id of a part as it stands in the file".to_owned(),
        |near| format!("did you mean {near}?"),
    );
    format!("no part is called `{}`; {help}", short(id))
}

/// What something is called now, and in which cases too.
pub fn renamed(wanted: Wanted<'_>, cases: &[String]) -> String {
    let carried = match cases {
        [] => String::new(),
        several => format!(", in {} too", several.join(" and ")),
    };
    format!(
        "{} is {} now{carried}; rename it back to undo that",
        wanted.old, wanted.new
    )
}

/// A case of another vehicle: the case, its vehicle, and the one given.
pub fn wrong_vehicle(case: &str, its: &str, given: &str) -> String {
    format!("{case} is a case of {its}, not of {given}; nothing was renamed")
}

/// Why nothing gets another name in this file; `None` where the problems of the file say it.
pub fn rename_refused(
    file: &str,
    wanted: Wanted<'_>,
    refused: &crate::renaming::Refused,
) -> Option<String> {
    use crate::renaming::Refused;
    let (old, new) = (short(wanted.old), short(wanted.new));
    match refused {
        Refused::Unknown(near) => {
            let help = near.as_ref().map_or_else(
                || "type a name as it stands in the file".to_owned(),
                |near| format!("did you mean {near}?"),
            );
            Some(format!("nothing is called `{old}` in {file}; {help}"))
        }
        Refused::Taken(what) => Some(format!(
            "{what} is called `{new}` already; type a name that nothing has"
        )),
        Refused::NoName => Some("type a new name that differs from the old one".to_owned()),
        Refused::Whole(..) => None,
    }
}

/// A file that is there already.
pub fn taken_name(file: &str) -> String {
    format!("{file} is there already; nothing was written: give another name")
}

/// The same where it may be written over.
pub fn taken_name_or_replace(file: &str) -> String {
    format!(
        "{file} is there already; nothing was written: give another name, or --replace to write over it"
    )
}

/// A starter file that was written.
pub fn started(file: &str) -> String {
    format!("{file} is a start that passes the check; overwrite its parts from the manual")
}

/// What a starter file may be for.
pub fn car_truck_or_board() -> String {
    "type car, truck or board".to_owned()
}

/// The questions of a starter file at a terminal.
pub const fn new_asks() -> &'static str {
    "car, truck or board?"
}

/// The battery's size is asked for.
pub const fn new_size_asked() -> &'static str {
    "battery, such as 70Ah (Enter: not known)?"
}

/// The limit is asked for.
pub const fn new_draw_asked() -> &'static str {
    "draw the maker allows, such as 50mA (Enter: not known)?"
}

/// Without a terminal nobody can be asked.
pub fn say_what_it_is_for() -> String {
    "say what it is for: --for car, --for truck or --for board".to_owned()
}

/// The input ended in the middle of the questions.
pub fn no_answer_came() -> String {
    "no answer came; nothing was written".to_owned()
}

/// A vehicle that was not named.
pub fn new_vehicle() -> String {
    "new vehicle".to_owned()
}

/// A vehicle whose table has no name.
pub fn vehicle_of_a_table() -> String {
    "from a table".to_owned()
}

/// Why a gap in the numbers is accepted where the table calls the holder spare.
pub const fn accepted_empty() -> &'static str {
    "an empty holder in the table"
}

/// What a table does not hold of a vehicle.
pub fn table_leaves_out() -> String {
    "Not in the table: the limit, the settle time, minutes to places, networks, what modules \
     are on and held by, comments.\nTo keep them: halfsplit import TABLE --like VEHICLE --out FILE"
        .to_owned()
}
