//! The tool itself at the same vehicle: the best plan from the same start, step by step.
//!
//! **Which plan.** Best is the plan with the fewest expected minutes over all that may be hidden, followed at
//! this fault; who guesses right is sooner, and is told so. Of several that expect the same it takes the step
//! that parts most for its minutes, then the quicker one, then the one first in the tree: a play in another
//! order may be as good, and gets full marks like it. Beside the plan it does what a person does before
//! something comes out: it looks at a lamp, reads a fuse that is pulled, and reads the total again, which the
//! plan does not count. On small vehicles its minutes lie within those of all best plans that there are, found
//! by trying everything (`the_best_path_is_one_of_the_best_plans`).

use super::{CHECK_SET_UP, Drill, Exercise, Gap, Said, Step, answers_to};
use crate::case::{Next, Question, Reason, Setting, Shown, State};
use crate::feeds::PartId;
use crate::measurement::{Jack, Method, Way};
use crate::simulation::Happened;

/// How the best plan went.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// What is typed, step by step.
    pub lines: Vec<String>,
    /// The same with what is read there.
    pub read: Vec<String>,
    /// What was asked for there, with its reason; `None` where the drill looks at an input, and missing of a
    /// play that was no plan.
    pub asked: Vec<Option<Next>>,
    /// Minutes on the vehicle's clock.
    pub minutes: f64,
    /// Where it ended.
    pub state: State,
    /// What was proven.
    pub proven: Vec<String>,
    /// For each hidden fault what its proof lacks; `None` where it was taken.
    pub gaps: Vec<Option<Gap>>,
    /// How often it woke the vehicle.
    pub wakes: u32,
}

impl Played {
    /// Where there is nothing to search for.
    pub const fn nothing() -> Self {
        Self {
            lines: Vec::new(),
            read: Vec::new(),
            asked: Vec::new(),
            minutes: 0.0,
            state: State::Prepare,
            proven: Vec::new(),
            gaps: Vec::new(),
            wakes: 0,
        }
    }
}

/// The best plan where there is something to search for.
pub fn best(setting: &Setting, exercise: &Exercise, choice: &dyn Fn(&str) -> f64) -> Played {
    best_where(setting, exercise, None, choice)
}

/// The best plan to hold a play against: `board_wakes` is what [`Drill::board_wakes`] says of that play.
///
/// At a board the plan is followed at the simulated vehicle, which does not wake where the board did not, and
/// typed in as a learner types it there: its minutes are reckoned like the learner's.
pub fn best_where(
    setting: &Setting,
    exercise: &Exercise,
    board_wakes: Option<bool>,
    choice: &dyn Fn(&str) -> f64,
) -> Played {
    let drill = Drill::new(setting, exercise, choice);
    match board_wakes {
        _ if !exercise.hunt => Played::nothing(),
        None => followed(drill).0,
        Some(wakes) => {
            let drill = if wakes { drill } else { drill.undisturbed() };
            let (mut played, typed) = followed(drill);
            let mut board = Drill::new(setting, exercise, choice).on_a_board();
            for line in typed {
                board.take(&line);
            }
            played.minutes = board.parked.minutes();
            played.wakes = board.parked.wakes();
            played
        }
    }
}

/// Follows the plan at a vehicle until the case ends.
pub fn played(setting: &Setting, exercise: &Exercise, choice: &dyn Fn(&str) -> f64) -> Played {
    followed(Drill::new(setting, exercise, choice)).0
}

/// Follows the plan to the end, with what would be typed for it at a real board.
fn followed(mut drill: Drill<'_>) -> (Played, Vec<String>) {
    let (setting, exercise) = (drill.setting, drill.exercise);
    let (mut lines, mut read, mut asked) = (Vec::new(), Vec::new(), Vec::new());
    let mut checked = false;
    // Where the battery may be low it is looked at first, and again once it is charged.
    let mut looked = !exercise.traps.battery_low;
    // A vehicle that goes flat and draws next to nothing: the set-up is looked at, then it is read anew.
    let mut again = 0;
    // More than any case takes; a plan that goes round in rings ends here.
    for _ in 0..300 {
        let next = drill.case.step();
        match drill
            .input_step(next.test.as_ref())
            .map(|step| step.typed())
        {
            Some(Some(line)) => {
                if let Said::Done(step) = drill.take(&line) {
                    read.push(step.entry.unwrap_or_else(|| line.clone()));
                    lines.push(line);
                    asked.push(None);
                    continue;
                }
            }
            Some(None) => break,
            None => {}
        }
        let over = drill.doubts_nothing_alone(&next);
        if over && checked {
            break;
        }
        let low = |asked: &Question| matches!(asked, Question::BatteryLow(_));
        let line = match (&next.test, next.state) {
            (_, State::Prepare | State::Baseline) if !looked => {
                looked = true;
                format!("volts {}", setting.feeds.id(PartId(0)))
            }
            (_, State::Prepare | State::Baseline) if !checked && next.questions.iter().any(low) => {
                checked = true;
                looked = false;
                CHECK_SET_UP.to_owned()
            }
            (_, State::Prepare) => "prepared".to_owned(),
            (None, State::WithinLimit) if !checked => {
                checked = true;
                again = 2;
                CHECK_SET_UP.to_owned()
            }
            (None, State::WithinLimit) if again > 0 => {
                again -= 1;
                "draw".to_owned()
            }
            (None, _) => break,
            (Some(_), _) if (over || next.reason == Reason::Doubted) && !checked => {
                checked = true;
                CHECK_SET_UP.to_owned()
            }
            (Some(test), _) => match test.method {
                Method::Wait => "asleep".to_owned(),
                _ => format!("{}{}", test.entry, how(test.way)),
            },
        };
        if let Said::Done(step) = drill.take(&line) {
            read.push(step.entry.unwrap_or_else(|| line.clone()));
            lines.push(line);
            asked.push(Some(next));
            continue;
        }
        // It cannot be done here: the plan goes on without it.
        let test = next.test.map_or(String::new(), |t| t.entry);
        if !matches!(drill.take(&format!("skip {test} no access")), Said::Done(_)) {
            break;
        }
    }
    let next = drill.case.step();
    let found = next.found.iter().filter(|f| f.returned);
    let mut proven: Vec<String> = found.map(|f| f.subject.id(&setting.feeds)).collect();
    let proofs = drill.proofs();
    let mut by_case = true;
    for (hidden, proof) in exercise.hidden.iter().zip(&proofs) {
        let fit = answers_to(&setting.feeds, &hidden.drain);
        if proof.is_ok() && !proven.iter().any(|id| fit.contains(id)) {
            proven.extend(fit.first().cloned());
            by_case = false;
        }
    }
    let mut played = Played {
        lines,
        read,
        asked,
        minutes: drill.parked.minutes(),
        wakes: drill.parked.wakes(),
        state: drill.state_at_end(&next),
        proven,
        gaps: proofs.iter().map(|proof| proof.clone().err()).collect(),
    };
    // Where readings alone name nobody the plan goes on; whoever knows what hangs on the connector has
    // the proof by then.
    let closed: Result<Vec<u32>, _> = proofs.into_iter().collect();
    let last = closed.ok().and_then(|entries| entries.into_iter().max());
    let last = last.filter(|_| !by_case);
    let after = last.and_then(|last| drill.steps.iter().position(|s| s.before >= last as usize));
    let kept = after.unwrap_or(drill.steps.len());
    if after.is_some() {
        played.end_with(&drill.steps[..kept]);
    }
    let typed = drill.as_typed(kept);
    (played, typed)
}

impl Drill<'_> {
    /// The same at a vehicle that nothing wakes.
    fn undisturbed(mut self) -> Self {
        self.parked = self.parked.undisturbed();
        self
    }

    /// The first steps as they are typed at a real board: with their readings, and with what was seen of
    /// its sleep.
    fn as_typed(&self, steps: usize) -> Vec<String> {
        let entries = self.case.entries();
        let ends = self.steps.iter().skip(1).map(|step| step.before);
        let ends = ends.chain(std::iter::once(entries.len()));
        let done = self.steps.iter().zip(ends).take(steps);
        let done = done.filter(|(step, _)| !step.happened.contains(&Happened::Stopped));
        done.flat_map(|(step, end)| match step.entry {
            Some(_) => entries[step.before..end]
                .iter()
                .map(|entry| entry.text.clone())
                .collect(),
            None => vec![step.typed.clone()],
        })
        .collect()
    }

    /// Where it stands when no more is done.
    fn state_at_end(&self, next: &Next) -> State {
        if self.doubts_nothing_alone(next) {
            State::Confirmed
        } else {
            next.state
        }
    }

    /// Whether all that is left is to read once more, a settle later, what was read as next to nothing with
    /// the proven drain out: a bridge left on shows that too, and here the set-up can be looked at in a minute.
    pub(super) fn doubts_nothing_alone(&self, next: &Next) -> bool {
        let out = self.case.out_now();
        let proven = next.found.iter().any(|found| found.returned);
        let read = |draw: &&Shown| {
            let within = draw
                .current
                .is_some_and(|c| c.high() <= self.setting.limit());
            draw.method == Method::Draw && draw.asleep && draw.out == out && within
        };
        next.test.is_some()
            && proven
            && out == self.case.base()
            && self.case.readings().iter().any(|draw| read(&draw))
    }
}

impl Played {
    /// Leaves out what was done after these steps.
    fn end_with(&mut self, kept: &[Step]) {
        let typed = kept
            .iter()
            .filter(|s| !s.typed.starts_with("skip ") && !s.happened.contains(&Happened::Stopped));
        let typed = typed.count();
        self.lines.truncate(typed);
        self.read.truncate(typed);
        self.asked.truncate(typed);
        self.minutes = kept.iter().map(|s| s.minutes).sum();
        let wakes = kept.iter().flat_map(|s| &s.happened);
        self.wakes = wakes.filter(|h| **h == Happened::Woke).count() as u32;
    }
}

/// How a draw is taken, as it is typed.
fn how(way: Option<Way>) -> String {
    match way {
        Some(Way::Series(Jack::MilliA)) => " by series jack mA".to_owned(),
        Some(Way::Series(_)) => " by series jack A".to_owned(),
        _ => String::new(),
    }
}
