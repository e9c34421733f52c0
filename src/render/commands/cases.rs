//! Case files that are opened, gone on with, refused, or damaged.

use crate::journal::Refusal;
use crate::journal::Wrong;
use crate::render::refusal::way_out;
use crate::render::words::HEAD;

/// A stream where a case needs a file.
pub fn standard_files() -> String {
    "a case rests on files that stay: give their names, not -".to_owned()
}

/// A case where the vehicle file belongs.
pub fn both_are_cases() -> String {
    "both are cases: give the vehicle file with --case".to_owned()
}

/// A file for a case, given with a vehicle file.
pub fn vehicle_with_a_case() -> String {
    "--vehicle goes with a case; this is a vehicle file".to_owned()
}

/// Files for a case, given with a vehicle file.
pub fn given_with_a_case() -> String {
    "--vehicle and --instruments go with a case; this is a vehicle file".to_owned()
}

/// A draw to suppose, where one was read.
pub fn draw_is_read_already() -> String {
    "--draw goes with a vehicle, or a case in which no settled draw was read yet".to_owned()
}

/// A draw with which no case can be supposed.
pub fn no_plan_for(draw: f64, wrong: &Wrong) -> String {
    format!("no plan for a draw of {draw} mA: {wrong}")
}

/// A plan for a vehicle whose limit nobody knows.
pub fn no_limit_known() -> String {
    "no limit is known for this vehicle, so what is left cannot be called in order: ask its maker, and enter it as limit: mA(…)".to_owned()
}

/// Errors in the file that a case was to rest on; `file` as it is typed.
pub fn no_case_on_errors(file: &str) -> String {
    format!(
        "with these errors no case can rest on it; when they are mended: halfsplit check {file}"
    )
}

/// A new case, and its vehicle.
pub fn opened(case: &str, vehicle: &str) -> String {
    format!("opened {case} for {vehicle}")
}

/// Nothing to record; `case` as it is typed.
pub fn nothing_said(case: &str) -> String {
    format!("say what was done or read, for example: halfsplit record {case} draw 0.64A")
}

/// A line among several that was refused.
pub fn refused_behind(refusal: &Refusal) -> String {
    let (says, line) = way_out(refusal);
    format!(
        "`{}` was refused, and nothing behind it was read: {}\n{says} {line}",
        refusal.entry, refusal.wrong
    )
}

/// An entry that was refused; `case` as it is typed, and what makes an entry so.
pub fn record_refused(refusal: &Refusal, case: &str, typed: impl Fn(&str) -> String) -> String {
    let (says, line) = way_out(refusal);
    let line = typed(&line);
    format!("{}\n{says} halfsplit record {case} {line}", refusal.wrong)
}

/// A name that nothing has; `case` and `works` as they are typed.
pub fn no_such_part(name: &str, case: &str, works: &str) -> String {
    format!(
        "{name} is no part, plug, module, network or input of this vehicle; this works: halfsplit why {case} {works}"
    )
}

/// The last lines of a dialogue: the command that writes the case up, where it has come to its end, and
/// the one that goes on with it: `again` with all it was begun with, or `short` where the window is too narrow for that.
pub fn go_on(again: &str, short: &str, write_up: Option<&str>, width: usize) -> String {
    // A command to copy is never broken: one that is too long for the rest of its line has one of its own.
    let line = |head: &str, command: &str| {
        let room = width.saturating_sub(HEAD);
        if textwrap::core::display_width(command) > room {
            format!("{head}\n{command}\n")
        } else {
            format!("{head:<HEAD$}{command}\n")
        }
    };
    let room = width.saturating_sub(HEAD);
    let fits = textwrap::core::display_width(again) <= room;
    let again = if fits { again } else { short };
    let write_up = write_up.map_or_else(String::new, |command| line("write up", command));
    format!("{write_up}{}", line("go on", again))
}

/// The command that shows a step in a window that is too low for it; `case` as it is typed.
pub fn next_paged(case: &str) -> String {
    format!("halfsplit next {case} | more")
}

/// The command that writes a case up; `case` as it is typed.
pub fn write_up(case: &str) -> String {
    format!("halfsplit report {case}")
}

/// A case that is not there; its path, and as it is typed.
pub fn case_is_missing(path: &str, typed: &str) -> String {
    format!("there is no case {path}; this opens one: halfsplit next {typed} --vehicle VEHICLE")
}

/// A case that another run holds.
pub fn case_in_use(path: &str) -> String {
    format!("{path} is in use by another run of halfsplit; try again when that one is done")
}

/// A file that is no case.
pub fn not_a_case(path: &str) -> String {
    format!(
        "{path} is not a case file; this opens a new case: halfsplit next NEW-FILE --vehicle VEHICLE"
    )
}

/// A line of a case file that is damaged, and how the rest is kept; `typed` is the path as it is typed.
pub fn damaged(path: &str, typed: &str, line: usize, why: &str) -> String {
    let rescue = if line == 1 {
        format!(
            "a new case takes the lines behind it: halfsplit next NEW-FILE --vehicle VEHICLE; tail -n +2 {typed} >> NEW-FILE"
        )
    } else {
        let whole = line - 1;
        format!(
            "nothing was changed; this keeps what stands before it: head -n {whole} {typed} > NEW-FILE"
        )
    };
    format!("line {line} of {path} is damaged: {why}\n{rescue}")
}

/// A file that a case rests on and that cannot be read: which, where, and why.
pub fn file_is_gone(what: &str, path: &str, why: &str) -> String {
    format!(
        "the {what} file of this case, {path}, cannot be read: {why}\nif it has moved, say where it is: --{what} FILE"
    )
}

/// An entry that the vehicle file has no longer a name for; `vehicle` and `case` as they are typed.
pub fn no_longer_fits(
    number: u32,
    path: &str,
    refusal: &Refusal,
    vehicle: &str,
    case: &str,
) -> String {
    format!(
        "entry {number} of {path}, `{}`, no longer fits the vehicle file: {}\ngive what it is about its old name back in {vehicle}, or say what it is called now: halfsplit rename {vehicle} OLD NEW --case {case}",
        refusal.entry, refusal.wrong
    )
}

/// A last line that was not written whole, and how many entries are kept.
pub fn cut_off(path: &str, kept: usize) -> String {
    format!(
        "the last line of {path} was cut off while it was written and is left out; entries kept: {kept}"
    )
}

/// A vehicle file of another vehicle than the case is of: that of the case, the file, and that of the file.
pub fn another_vehicle(of_case: &str, file: &str, of_file: &str) -> String {
    format!("this case is of {of_case}, and {file} is of {of_file}: is it the same vehicle?")
}

/// A vehicle file that is not what it was.
pub fn changed_meanwhile(file: &str) -> String {
    format!("{file} has changed in the middle of the case; every entry still fits it")
}

/// A check sum that does not fit its line.
pub fn wrong_sum() -> String {
    "its check sum does not fit; whoever changed it by hand takes `sum` out".to_owned()
}

/// A line that is none of a case.
pub fn wrong_line() -> String {
    "it is not as halfsplit wrote it".to_owned()
}

/// A format that is not known.
pub fn wrong_format(format: u32) -> String {
    format!("format {format} is not known here, only 1")
}

/// An entry out of its order.
pub fn wrong_entry(number: u32, expected: usize) -> String {
    format!("it holds entry {number} where {expected} belongs")
}

/// A case that was opened to be looked at, and is to be written to.
pub fn opened_to_look() -> String {
    "it was opened to look only".to_owned()
}
