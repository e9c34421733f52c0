//! Drills, their exercises, attempts and classes: what went where, and what could not be done.

/// A stream where an attempt needs a file.
pub fn attempt_stays() -> String {
    "an attempt is a file that stays: give its name, not -".to_owned()
}

/// A file that is no attempt.
pub fn no_attempt(name: &str) -> String {
    format!("{name} is no attempt at a drill")
}

/// An attempt whose chances were drawn by another generator.
pub fn other_generator(name: &str, old: &str, now: &str) -> String {
    format!(
        "{name} was played with another version of the simulated vehicle ({old}; here {now}): the same lines \
         may read otherwise now, and what came of it may differ"
    )
}

/// An attempt of another number than the one that was given.
pub fn attempt_of_number(number: u64) -> String {
    format!("the attempt is of number {number}; leave --number out")
}

/// What an attempt is at, where it has no exercise.
const A_VEHICLE: &str = "a vehicle without an exercise";

/// An attempt at another exercise than the one that was given.
pub fn attempt_at_another(old: Option<&str>, new: Option<&str>) -> String {
    let (old, new) = (old.unwrap_or(A_VEHICLE), new.unwrap_or(A_VEHICLE));
    format!("the attempt is at {old}, and this is {new}")
}

/// A file that is not what the attempt was begun with; no name for a vehicle without an exercise.
pub fn changed_since(name: Option<&str>) -> String {
    let name = name.unwrap_or("the vehicle file");
    format!(
        "{name} is another text than when the attempt was begun: it goes on with what it says now"
    )
}

/// An exercise that is not what these attempts were begun with.
pub fn changed_for(name: &str, attempts: &[String]) -> String {
    format!(
        "{name} is another text than when these were begun, and they are marked by what it says now: {}",
        attempts.join(", ")
    )
}

/// An attempt at a simulated vehicle that is to go on at a board.
pub fn attempt_at_no_board() -> String {
    "the attempt is at a simulated vehicle; leave --board out".to_owned()
}

/// An attempt without predictions that is to go on with them.
pub fn attempt_without_predictions() -> String {
    "the attempt was begun without predictions; leave --predict out".to_owned()
}

/// An attempt of another learner than the one that was given.
pub fn attempt_of_learner(learner: u64) -> String {
    format!("the attempt is learner {learner}'s; leave --learner out")
}

/// A file for going back that is there already.
pub fn again_is_there(beside: &str) -> String {
    format!("{beside} is there already: go on with it (--attempt {beside}), or take it away")
}

/// A step that an attempt does not have.
pub fn no_step(file: &str, step: usize) -> String {
    format!("{file} has no step {step}")
}

/// From which step an attempt goes on, and where.
pub fn goes_on_beside(step: usize, beside: &str) -> String {
    format!("from step {step} on, kept in {beside}: to practise, it is not marked")
}

/// A sealed exercise that cannot be played.
pub fn hidden_is_sealed() -> String {
    "what is hidden is sealed: give --passphrase-file FILE, or work at a real board with --board"
        .to_owned()
}

/// A seal that was not opened, for what is told to who has its passphrase alone.
pub fn seal_wants_passphrase() -> String {
    "the seal of this exercise wants its passphrase: --passphrase-file FILE".to_owned()
}

/// An answer sheet that was asked of a sealed file.
pub fn answers_of_the_open_file() -> String {
    "it is sealed: make the answer sheet of the file that it was sealed from".to_owned()
}

/// A file without a passphrase.
pub fn no_passphrase(name: &str) -> String {
    format!("{name} holds no passphrase in its first line")
}

/// What the text inside a seal is called.
pub fn inside_its_seal(name: &str) -> String {
    format!("{name}, inside its seal")
}

/// A machine that gives no random numbers.
pub fn no_random_numbers() -> String {
    "this machine gives no random numbers: nothing is sealed".to_owned()
}

/// How strong a seal without a passphrase is.
pub const AGAINST_A_GLANCE: &str = "sealed against a glance only: the key is in this program, and whoever \
    wants the answer can make the program tell it. With --passphrase-file it takes the passphrase";

/// How strong a seal is that learners play.
pub const LEARNERS_PLAY: &str = "sealed: learners play it without the passphrase and are told nothing of \
    what came of it; you mark their attempts with it (class --passphrase-file). What is hidden is kept \
    against a glance and against every command of this program, not against who changes the program";

/// How strong a seal with a passphrase is.
pub const WITH_PASSPHRASE: &str = "sealed with the passphrase, and as strong as that (Argon2id, \
    XChaCha20-Poly1305). Without it learners can work at a real board (drill --board), and you mark \
    their attempts with it; at the simulated vehicle the drill needs it, unless it was sealed with \
    --learners-play";

/// A board whose fault nobody wrote down.
pub fn board_needs_exercise(name: &str) -> String {
    format!("--board goes with an exercise file: nobody knows what is wrong with {name}")
}

/// What stands before the place where a line is typed.
pub fn drill_prompt(minutes: f64) -> String {
    format!("{minutes:.1} min > ")
}

/// An answer that was taken back before it counted.
pub fn not_handed_in() -> String {
    "not handed in; go on".to_owned()
}

/// An entry that takes no name was given one.
pub fn stands_alone(entry: &str) -> String {
    format!("not taken: {entry} stands alone and shows all; type {entry}")
}

/// Where what was typed is, where the learner is told nothing of what came of it.
pub fn hand_in(file: Option<&str>) -> String {
    file.map_or_else(
        || "sealed, and not kept: next time with --attempt FILE".to_owned(),
        |file| format!("sealed: hand in {file}, your instructor marks it"),
    )
}

/// How a drill without an answer goes on.
pub fn no_answer_yet(file: Option<&str>, number: u64) -> String {
    file.map_or_else(
        || format!("no answer given; the same fault again: --number {number}"),
        |file| format!("no answer yet; goes on with --attempt {file}"),
    )
}

/// Where the progress is kept.
pub fn progress_kept(file: &str) -> String {
    format!("progress kept in {file}")
}

/// Why the progress is not kept.
pub fn progress_not_kept(why: &str) -> String {
    format!("progress is not kept: {why}")
}

/// A machine without a folder for what belongs to a person.
pub fn no_data_folder() -> String {
    "no folder for your data is known here: say --progress FILE".to_owned()
}

/// A file that holds no progress.
pub fn no_progress(name: &str, why: &str) -> String {
    format!("{name} is no table of progress: {why}")
}

/// A folder without exercises.
pub fn no_exercises(folder: &str) -> String {
    format!("{folder} holds no exercise files")
}

/// A new exercise, and what comes next.
pub fn exercise_begun(name: &str) -> String {
    format!("{name} written: name your vehicle in it, then halfsplit exercise {name}")
}

/// An attempt of a class that is not marked, and why.
pub fn left_out(why: &str) -> String {
    format!("left out: {why}")
}

/// An attempt of a class at another exercise.
pub fn left_out_other(file: &str, other: Option<&str>, name: &str) -> String {
    let other = other.unwrap_or(A_VEHICLE);
    left_out(&format!(
        "{file} is an attempt at {other}, and this is {name}: give that exercise's own file"
    ))
}

/// An attempt of a class that went back.
pub fn left_out_again(file: &str, step: usize) -> String {
    left_out(&format!("{file} went back to step {step} to practise"))
}

/// A learner with two attempts.
pub fn learner_twice(learner: u64, before: &str, file: &str) -> String {
    format!("learner {learner} stands in {before} and in {file}: each counts for itself")
}

/// Learners whose attempts are the same.
pub fn typed_the_same(learners: &[String]) -> String {
    format!(
        "learners {} typed the same, line for line",
        learners.join(", ")
    )
}

/// No attempts in what was named.
pub fn no_attempts() -> String {
    "no attempts there: an attempt's name ends in .drill, or is given itself".to_owned()
}

/// Long work at a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// The best plan of each number.
    Plans,
    /// The attempts.
    Marks,
}

/// How far long work has come.
pub fn so_far(done: usize, of: usize, work: Work) -> String {
    let work = match work {
        Work::Plans => "best plans worked out",
        Work::Marks => "attempts marked",
    };
    format!("{done} of {of} {work}")
}
