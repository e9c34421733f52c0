//! A drill: a learner works at a simulated vehicle with the entries of a session, without the readings;
//! the vehicle gives those. At the end each step is judged by the minutes it lost.
//!
//! **Model.** What was typed is a list of lines, and all else follows from it: the same exercise and the
//! same lines give the same drill. The vehicle is [`Parked`]; what the readings mean is a [`Case`] of
//! its own, so that a learner is judged by the same rules as a session at a real vehicle.
//!
//! **Invariants.** A line that is refused changes nothing but where nobody may touch what it names: that
//! is kept as a caution ignored. Nothing is random but by the exercise's number ([`Chance`]).
//!
//! **Cost.** A line costs what recording its entry does; judging plans once a step.

use crate::case::{self, Case, Next, Reason, Setting, State};
use crate::feeds::PartId;
use crate::journal::{self, Act, Context, Misfit, Refusal};
use crate::measurement::{Method, Way};
use crate::simulation::{Cannot, Happened, Hidden, Parked, Traps};

mod answer;
mod board;
mod chance;
mod class;
mod debrief;
mod faults;
mod inputs;
mod judged;
mod misconception;
mod played;
mod predict;
mod proof;
mod starter;
mod task;
mod together;
mod typed;

pub use answer::{Answer, Replied, Right};
pub use chance::{Chance, GENERATOR, fingerprint};
pub use class::{Marked, Summary, summary};
pub use debrief::{Debrief, FULL_WITHIN, Judged, Verdict};
pub use faults::{Doubt, answers_to, doubts, pick};
pub use inputs::InputStep;
pub use misconception::Misconception;
pub use played::{Played, best, best_where, played};
pub use predict::{Asked, Outcome, Predicted, Rules, newly_ruled_out, outcomes};
pub use proof::Gap;
pub use starter::STARTER;
pub use task::{Earlier, Question, Task, Wanted, is_exercise, read};
use typed::{typed_here, typed_of, without_reading};

/// What is hidden, what else is wrong, and what is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Exercise {
    /// All choices follow from it.
    pub number: u64,
    /// The faults.
    pub hidden: Vec<Hidden>,
    /// Fuses, links and breakers that are blown.
    pub blown: Vec<PartId>,
    /// Traps of the set-up.
    pub traps: Traps,
    /// There is something to find; else it ends with the last reply.
    pub hunt: bool,
    /// What is hidden is sealed: nobody here can tell right from wrong.
    pub sealed: bool,
    /// Minutes that it may take.
    pub time: Option<f64>,
    /// What is asked.
    pub questions: Vec<Question>,
    /// Expected wrong answers, and what to say to each.
    pub wrong: Vec<(String, String)>,
}

impl Default for Exercise {
    fn default() -> Self {
        Self {
            number: 0,
            hidden: Vec::new(),
            blown: Vec::new(),
            traps: Traps::default(),
            hunt: true,
            sealed: false,
            time: None,
            questions: Vec::new(),
            wrong: Vec::new(),
        }
    }
}

/// One line that was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What was typed, in canonical words and without the reading: `drop F3`.
    pub typed: String,
    /// The entry as it went into the case; absent for what is none, such as a hint.
    pub entry: Option<String>,
    /// How many entries the case had before.
    pub before: usize,
    /// Minutes on the vehicle's clock.
    pub minutes: f64,
    /// What came of it.
    pub happened: Vec<Happened>,
    /// The vehicle was asleep when it was done.
    pub asleep: bool,
    /// Minutes that it still needed to sleep, before.
    pub settles: f64,
    /// Why it was done, as the learner says.
    pub reason: Option<String>,
}

/// What a line is answered with.
#[derive(Clone, Debug, PartialEq)]
pub enum Said {
    /// It was done.
    Done(Step),
    /// What to do next and why, which cost minutes.
    Hint(Box<Hint>),
    /// Before the reading: what would this display rule out?
    Asks(Asked),
    /// It was done, and what was said before holds or not.
    Predicted(Box<Said>, Vec<Predicted>),
    /// At a real board: what was predicted is kept, and now this test is to be read.
    ReadNow(String),
    /// The reason is kept with the step before it.
    Noted,
    /// It is no answer to what was asked.
    Again(Refusal),
    /// It cannot be read or done, with a line that works.
    Refused(Refusal),
    /// It cannot be done at that part.
    Cannot(Cannot),
    /// The answer is in: the drill has ended.
    Ended,
}

/// What a hint tells.
#[derive(Clone, Debug, PartialEq)]
pub enum Hint {
    /// The step to take; where it has none, what the case comes to.
    Step(Box<Next>),
    /// An input that holds modules awake is to be looked at, or to be proven.
    Input(InputStep),
    /// The set-up is to be looked at: a vehicle that goes flat draws more than this.
    SetUp,
    /// About this question, counted from 0.
    Question(usize),
    /// Every reply is in.
    Replied,
}

/// A hint costs this many minutes (judgement).
pub const HINT_MINUTES: f64 = 3.0;
/// Checking battery, bridge, leads and the meter's fuse costs this many minutes (judgement).
pub const SET_UP_MINUTES: f64 = 1.0;
/// The line that checks the set-up.
pub const CHECK_SET_UP: &str = "check set-up";

/// A drill under way.
#[derive(Clone)]
pub struct Drill<'s> {
    setting: &'s Setting,
    exercise: &'s Exercise,
    case: Case<'s>,
    parked: Parked<'s>,
    steps: Vec<Step>,
    hints: u32,
    touched: Vec<String>,
    replies: Vec<Option<String>>,
    answer: Option<Answer>,
    ended: bool,
    /// The readings are those of a real board; whether it sleeps, as far as was typed.
    board: Option<bool>,
    predicts: bool,
    asking: Option<predict::Asking>,
    predicted: Vec<Predicted>,
}

impl<'s> Drill<'s> {
    /// A drill at its beginning; `choice` is the exercise's [`Chance::at`].
    pub fn new(
        setting: &'s Setting,
        exercise: &'s Exercise,
        choice: &'s dyn Fn(&str) -> f64,
    ) -> Self {
        let hidden = exercise.hidden.clone();
        let parked = Parked::new(setting, hidden, exercise.traps, choice);
        Self {
            setting,
            exercise,
            case: Case::new(setting),
            parked: parked.with_blown(&exercise.blown),
            steps: Vec::new(),
            hints: 0,
            touched: Vec::new(),
            replies: vec![None; exercise.questions.len()],
            answer: None,
            ended: false,
            board: None,
            predicts: false,
            asking: None,
            predicted: Vec::new(),
        }
    }

    /// What the readings mean so far.
    pub fn case(&self) -> &Case<'s> {
        &self.case
    }

    /// The vehicle.
    pub fn parked(&self) -> &Parked<'s> {
        &self.parked
    }

    /// What was done so far.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// The answer, once it is given.
    pub fn answer(&self) -> Option<&Answer> {
        self.answer.as_ref()
    }

    /// Whether nothing is missing any more: the answer, or where nothing is searched for each reply.
    pub fn is_complete(&self) -> bool {
        self.ended || !self.exercise.hunt && self.replies.iter().all(Option::is_some)
    }

    /// Whether the answer, or the last reply, is in.
    pub fn has_ended(&self) -> bool {
        self.ended
    }

    /// Takes a line; each changes something or is refused.
    pub fn take(&mut self, line: &str) -> Said {
        let line = line.trim();
        let lower = line.to_lowercase();
        if self.ended {
            let refusal = Refusal::misfit(line, Misfit::Over, "quit");
            return Said::Refused(refusal);
        }
        if let Some(asking) = self.asking.take() {
            return self.answers(asking, line);
        }
        if lower == "hint" {
            return self.hint();
        }
        if let Some(rest) = lower.strip_prefix("because ") {
            let reason = line[line.len() - rest.len()..].trim().to_owned();
            let Some(last) = self.steps.last_mut() else {
                return Said::Refused(Refusal::misfit(line, Misfit::NoStep, "prepared"));
            };
            last.reason = Some(reason);
            return Said::Noted;
        }
        if let Some(rest) = lower.strip_prefix("reply") {
            let rest = line[line.len() - rest.len()..].trim();
            return self.reply(line, rest);
        }
        if let Some(minutes) = lower.strip_prefix("wait") {
            return self.wait(line, minutes.trim());
        }
        if lower == CHECK_SET_UP {
            let mut step = self.step(CHECK_SET_UP.to_owned());
            self.parked.pass(SET_UP_MINUTES);
            step.happened.push(self.parked.check_set_up());
            return self.keep(step);
        }
        if let Some(rest) = lower.strip_prefix("answer ") {
            return match self.read_answer(&line[line.len() - rest.len()..]) {
                Ok(answer) => {
                    self.answer = Some(answer);
                    self.ended = true;
                    Said::Ended
                }
                Err(refusal) => Said::Refused(refusal),
            };
        }
        if let Some(asked) = self.asks(line) {
            return asked;
        }
        if self.board.is_some() {
            return self.at_the_board(line);
        }
        self.entry(line)
    }

    fn step(&self, typed: String) -> Step {
        Step {
            typed,
            entry: None,
            before: self.case.entries().len(),
            minutes: self.parked.minutes(),
            happened: Vec::new(),
            asleep: self.parked.is_asleep(),
            settles: self.parked.until_asleep(),
            reason: None,
        }
    }

    /// Keeps a step; `minutes` of it held the clock when it began.
    fn keep(&mut self, mut step: Step) -> Said {
        step.minutes = self.parked.minutes() - step.minutes;
        self.steps.push(step.clone());
        Said::Done(step)
    }

    fn hint(&mut self) -> Said {
        let hint = self.hinted();
        let step = self.step("hint".to_owned());
        self.parked.pass(HINT_MINUTES);
        self.hints += 1;
        let _ = self.keep(step);
        Said::Hint(Box::new(hint))
    }

    /// The question that waits where nothing is searched for, else the step of the plan.
    fn hinted(&self) -> Hint {
        if !self.exercise.hunt {
            let open = self.replies.iter().position(Option::is_none);
            return open.map_or(Hint::Replied, Hint::Question);
        }
        let mut next = self.case.next();
        let checked = self.steps.iter().any(|step| step.typed == CHECK_SET_UP);
        let over = self.doubts_nothing_alone(&next);
        let doubted = over || next.reason == Reason::Doubted || next.state == State::WithinLimit;
        if doubted && !checked && self.case.has_draw() {
            return Hint::SetUp;
        }
        if over {
            next.test = None;
            (next.state, next.reason) = (State::Confirmed, Reason::Proven);
        }
        match self.input_step(next.test.as_ref()) {
            Some(step) => Hint::Input(step),
            None => Hint::Step(Box::new(next)),
        }
    }

    /// What would be handed in by this line; `None` where the drill goes on after it.
    pub fn handed_in_by(&self, line: &str) -> Option<Self> {
        let mut after = self.clone();
        after.take(line);
        (after.ended && !self.ended).then_some(after)
    }

    fn wait(&mut self, line: &str, minutes: &str) -> Said {
        let number = minutes.trim_end_matches("minutes").trim_end_matches("min");
        match number.trim().parse::<f64>() {
            Ok(minutes) if (0.0..=600.0).contains(&minutes) => {
                let step = self.step(format!("wait {minutes} min"));
                self.parked.pass(minutes);
                self.keep(step)
            }
            _ => Said::Refused(Refusal::misfit(line, Misfit::NoMinutes, "wait 10 min")),
        }
    }

    /// An entry of a session, without its reading.
    fn entry(&mut self, line: &str) -> Said {
        let names = &self.setting.names;
        let context = Context::default();
        let (act, way) = match journal::parse_with(line, names, &context) {
            Ok(mut acts) if acts.len() == 1 => {
                let act = acts.remove(0);
                if matches!(act, Act::Read { .. } | Act::Look { .. }) {
                    let typed = typed_of(&act, &self.setting.names);
                    let refusal = Refusal::misfit(line, Misfit::Reading, typed);
                    return Said::Refused(refusal);
                }
                (act, None)
            }
            Ok(acts) => {
                let first = acts.first();
                let works = first.map_or_else(String::new, |act| typed_here(act, names));
                return Said::Refused(Refusal::misfit(line, Misfit::SeveralEntries, works));
            }
            Err(refusal) => match self.completed(line) {
                Some(found) => found,
                None => return Said::Refused(self.harmless(without_reading(refusal))),
            },
        };
        match &act {
            Act::Undo | Act::Withdraw { .. } | Act::Awake => {
                Said::Refused(Refusal::misfit(line, Misfit::TakenBack, "draw"))
            }
            Act::Read { .. } | Act::Look { .. } => self.reading(line, &act, way),
            _ => self.doing(&act, line),
        }
    }

    fn reading(&mut self, line: &str, act: &Act, way: Option<Way>) -> Said {
        let (method, point) = match act {
            Act::Read { method, point, .. } => (*method, point),
            Act::Look { point, .. } => (Method::Look, point),
            _ => return Said::Cannot(Cannot::NoPart),
        };
        let mut step = self.step(typed_of(act, &self.setting.names));
        let mut parked = self.parked.clone();
        let (reading, happened) = match parked.read(method, point, way) {
            Ok(read) => read,
            Err(cannot) => return self.refused(line, cannot),
        };
        step.happened = happened;
        step.asleep = parked.is_asleep();
        let text = format!("{} {reading}", step.typed);
        self.finish(step, parked, &text)
    }

    fn doing(&mut self, act: &Act, line: &str) -> Said {
        let mut step = self.step(journal::write_with(act, &self.setting.names));
        let mut parked = self.parked.clone();
        match parked.act(act) {
            Ok(happened) => step.happened = happened,
            Err(cannot) => return self.refused(line, cannot),
        }
        if *act == Act::Asleep {
            parked.settle();
        }
        let text = step.typed.clone();
        self.finish(step, parked, &text)
    }

    /// Puts the entry into the case; what the case counts for it passes on the clock, but for waiting,
    /// which has passed already.
    fn finish(&mut self, mut step: Step, parked: Parked<'s>, text: &str) -> Said {
        let spent = self.case.spent();
        // A vehicle that woke, or is awake still, is seen to be so.
        let mut case = self.case.clone();
        let woke = step.happened.contains(&Happened::Woke);
        match case.record_whole(text) {
            Ok(recorded) => {
                let low = |asked: &case::Question| matches!(asked, case::Question::BatteryLow(_));
                if recorded.questions.iter().any(low) {
                    step.happened.push(Happened::BatteryReadLow);
                }
                step.entry = recorded.entries.first().map(|e| e.text.clone());
            }
            Err(refusal) => return Said::Refused(without_reading(refusal)),
        }
        let took = if step.typed == "asleep" {
            0.0
        } else {
            case.spent() - spent
        };
        let slept = self.case.is_asleep();
        self.parked = parked;
        self.parked.pass(took);
        if woke {
            self.parked.settles_from_now();
            let _ = case.record_whole("awake");
        } else if slept && !case.is_asleep() && self.parked.is_asleep() {
            // Nothing woke, which is seen at once: nobody has to wait for it.
            let _ = case.record_whole("asleep");
        }
        self.case = case;
        self.keep(step)
    }

    /// A refusal never shows a line that would cost all marks.
    fn harmless(&self, mut refusal: Refusal) -> Refusal {
        let act = journal::parse_with(&refusal.works, &self.setting.names, &Context::default());
        let harms = |act: &Act| self.parked.clone().act(act) == Err(Cannot::Forbidden);
        if act.is_ok_and(|acts| acts.iter().any(harms)) {
            "tree".clone_into(&mut refusal.works);
        }
        refusal
    }

    /// What cannot be done; touching what nobody may touch is remembered.
    fn refused(&mut self, line: &str, cannot: Cannot) -> Said {
        if cannot == Cannot::Forbidden {
            self.touched.push(line.to_owned());
            let mut step = self.step(line.to_owned());
            step.happened.push(Happened::Stopped);
            self.steps.push(step);
        }
        Said::Cannot(cannot)
    }
}
