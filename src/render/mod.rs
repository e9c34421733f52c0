//! What is shown to a person: all wording lives here.

mod amps;
mod answer;
mod cautions;
mod check;
mod class;
mod comes;
pub mod commands;
mod culprit;
mod debrief;
mod difference;
mod drill;
mod exercise;
mod explain;
mod imported;
mod intake;
mod ladder;
mod left;
mod log;
mod mending;
mod need;
mod odds;
mod paper;
mod picture;
mod plan;
mod preparation;
mod recorded;
mod reference;
mod refusal;
mod report;
mod setup;
mod teach;
mod trace;
mod tree;
mod why;
mod words;

pub use amps::{amps, amps_json, amps_refused, amps_unanswered, mistyped};
pub use answer::{because, current, next_json, question, span, state_word};
pub use cautions::cautions;
pub use check::check;
pub use class::{class, class_json, class_page, class_table};
pub use debrief::{Pupil, debrief, debrief_json, debrief_page};
pub use difference::difference;
pub use drill::{DrillScene, drill_handed_in, drill_help, drill_inputs, drill_opening, drill_said};
pub use exercise::{answer_sheet, exercise, exercise_doubts, worksheet};
pub use explain::{also_asked, codes, explain};
pub use imported::imported;
pub use intake::{intake, intake_json, intake_of_repaired};
pub use ladder::{Climbed, Rung, Whose, ladder, ladder_json};
pub use left::why_draw;
pub use log::{LogScene, log_drawing, log_drawing_html, log_entries, log_json, log_text};
pub use need::{blind_words, need};
pub use picture::{Readings, picture, picture_html, readings};
pub use plan::{
    Extent, ON_A_SCREEN, PlanScene, no_plan, no_plan_json, plan, plan_drawing, plan_drawing_html,
    plan_json,
};
pub use preparation::preparation;
pub use recorded::{Gone, by_hand, recorded, taken_for_words};
pub use reference::{reference, reference_json};
pub use report::{When, repair_json, report_json, report_text};
pub use teach::{lesson_goes_on, lesson_holds, lesson_learnt, lesson_question};
pub use trace::{
    Scene, Screen, early_words, trace_as_before, trace_because, trace_before, trace_cautions,
    trace_chosen, trace_early, trace_end, trace_help, trace_kept, trace_list, trace_long_past,
    trace_more, trace_opening, trace_prompt, trace_refused, trace_report, trace_screen,
    trace_to_come, trace_unknown,
};
pub use tree::{
    AS_BEFORE_REPAIR, Branch, Standing, StandingRow, Standings, standings, tree, tree_rows,
};
pub use why::{why_json, why_text};
pub use words::spelled_plainly;
