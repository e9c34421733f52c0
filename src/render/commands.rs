//! What the commands say beside their answers, on standard error: what was done, what was not, and a line
//! that works. Names of files come as they are typed, quoted for a shell where a line is to be copied.

mod cases;
mod drills;
mod vehicles;

pub use cases::{
    another_vehicle, both_are_cases, case_in_use, case_is_missing, changed_meanwhile, cut_off,
    damaged, draw_is_read_already, file_is_gone, given_with_a_case, go_on, next_paged,
    no_case_on_errors, no_limit_known, no_longer_fits, no_plan_for, no_such_part, not_a_case,
    nothing_said, opened, opened_to_look, record_refused, refused_behind, standard_files,
    vehicle_with_a_case, write_up, wrong_entry, wrong_format, wrong_line, wrong_sum,
};
pub use drills::{
    AGAINST_A_GLANCE, LEARNERS_PLAY, WITH_PASSPHRASE, Work, again_is_there,
    answers_of_the_open_file, attempt_at_another, attempt_at_no_board, attempt_of_learner,
    attempt_of_number, attempt_stays, attempt_without_predictions, board_needs_exercise,
    changed_for, changed_since, drill_prompt, exercise_begun, goes_on_beside, hand_in,
    hidden_is_sealed, inside_its_seal, learner_twice, left_out, left_out_again, left_out_other,
    no_answer_yet, no_attempt, no_attempts, no_data_folder, no_exercises, no_passphrase,
    no_progress, no_random_numbers, no_step, not_handed_in, other_generator, progress_kept,
    progress_not_kept, seal_wants_passphrase, so_far, stands_alone, typed_the_same,
};
pub use vehicles::{
    Undone, accepted_empty, added, car_truck_or_board, mend_first, new_asks, new_draw_asked,
    new_size_asked, new_vehicle, no_answer_came, no_part_called, nothing_done, rename_refused,
    renamed, say_what_it_is_for, started, table_leaves_out, taken_name, taken_name_or_replace,
    typed_parts, vehicle_of_a_table, with_new_name, with_new_parts, wrong_vehicle,
};

/// What the exit codes mean, below the help.
pub const EXIT_CODES: &str = "\
Exit codes: 0 done; 1 the answer is negative (problems found, entry refused, contradiction, nothing \
can be decided); 2 wrong usage; 3 a file could not be read or written; 4 the case is in use by \
another run.";

/// Where lines come from that no file holds.
pub const STANDARD_INPUT: &str = "standard input";

/// A file that cannot be read, and why.
pub fn cannot_read(name: &str, why: &str) -> String {
    format!("cannot read {name}: {why}")
}

/// A file that cannot be written, and why.
pub fn cannot_write_to(name: &str, why: &str) -> String {
    format!("cannot write {name}: {why}")
}

/// An answer that cannot be written, and why.
pub fn cannot_write(why: &str) -> String {
    format!("cannot write: {why}")
}

/// Data that cannot be written, and why.
pub fn cannot_write_json(why: &str) -> String {
    format!("cannot write as JSON: {why}")
}

/// The line at which a file stops being text.
pub fn not_utf8_at(line: usize) -> String {
    format!("line {line} is not UTF-8; save the file as UTF-8")
}

/// A line that is no text.
pub fn not_utf8() -> String {
    "it is not UTF-8".to_owned()
}

/// A path that no file can keep.
pub fn path_not_utf8(path: &str) -> String {
    format!("the path {path} is not UTF-8; rename it")
}

/// A table that was read in another encoding.
pub fn read_as(name: &str, encoding: &str) -> String {
    format!("{name} is not UTF-8; read as {encoding}: look at letters such as é")
}

/// A stream where a file has to be changed in its place.
pub fn changed_in_place() -> String {
    "the vehicle file is changed where it stands: give its name, not -".to_owned()
}

/// A wrong value on the command line, and one that works.
pub fn this_works(wrong: &str, works: &str) -> String {
    format!("{wrong}; this works: {works}")
}

/// Where the resistance tables hold.
pub fn celsius_range() -> String {
    this_works("the tables hold from -40 to 120 °C", "--celsius 20")
}

/// Days that are none.
pub fn days_above_zero() -> String {
    this_works("days are a number above 0", "--days 10")
}

/// A draw that is none.
pub fn draw_above_zero(works: &str) -> String {
    this_works("a draw is a current above 0, in mA or A", works)
}

/// Volts that no battery shows.
pub fn volts_at_rest() -> String {
    this_works("volts of the battery at rest, 1 to 32", "--volts 12.4V")
}

/// Nothing to do battery arithmetic with; `in_case`: a case was given.
pub fn intake_lacks_all(in_case: bool) -> String {
    if in_case {
        "nothing was told or read in this case yet\n\
         this works: halfsplit intake --days 10 --capacity 60Ah"
    } else {
        "this needs the days to flat, a draw, or the volts at rest\n\
         this works: halfsplit intake --draw 50mA --reserve 100min"
    }
    .to_owned()
}

/// The battery's size is not known; `in_file`: a vehicle file was looked at for it.
pub fn intake_lacks_size(in_file: bool) -> String {
    let lacks = if in_file {
        "the vehicle file does not say how large the battery is"
    } else {
        "this needs the size of the battery"
    };
    format!("{lacks}\nthis works: halfsplit intake --days 10 --capacity 60Ah")
}

/// How far the reading of a log is: rows, and the share of its bytes in percent where that is known.
pub fn rows_read(rows: usize, share: Option<u64>) -> String {
    let share = share.map_or_else(String::new, |share| format!(", {share} %"));
    format!("{rows} rows read{share}")
}

/// A log whose unit is not known; `file` as it is typed.
pub fn log_lacks_unit(file: &str) -> String {
    format!(
        "the log does not say whether its currents are mA or A\nthis works: halfsplit log {file} --unit mA"
    )
}

/// A log that holds too little.
pub fn log_too_short() -> String {
    "no ten rows of a time and a current, so nothing can be said; the first row may name the columns: time s,current mA"
        .to_owned()
}

/// A code that nothing has, and the nearest one.
pub fn no_such_code(code: &str, near: Option<&str>) -> String {
    let help = near.map_or_else(String::new, |near| format!("did you mean {near}? "));
    format!("there is no code `{code}`; {help}this lists them: halfsplit check --explain all")
}

/// That `check` has questions about a file that was just written, `file` as it is typed.
pub fn questions_left(count: usize, file: &str) -> String {
    let many = match count {
        1 => "a question".to_owned(),
        many => format!("{many} questions"),
    };
    format!("it can be used; a colleague would have {many} about it: halfsplit check {file}")
}
