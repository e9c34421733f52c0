//! An exercise as its author wrote it: goal, vehicle, what is hidden, and what to say to a wrong answer.
//!
//! **Model.** The file is RON, format 1, read like the other files: a wrong value is a problem at its
//! place beside the others. What it names is looked up in the vehicle afterwards ([`Task::exercise`]),
//! again with the place of each name. Where the file hides nothing by name, the number hides one fault
//! ([`pick`]), so that each learner of a class may have a number of their own.
//!
//! **Invariants.** A sealed file says nothing of causes, traps, answers and wrong answers but in its
//! seal; what the seal holds is the whole file as it was.
//!
//! **Cost.** Linear in the text; a look-up a name.

use super::{Chance, Exercise, pick};
use crate::case::Setting;
use crate::feeds::{Named, PartId};
use crate::problem::words::{self, HidesIn};
use crate::problem::{Located, Problem, Span, in_file_order};
use crate::quantity::{Milliamps, Minutes};
use crate::simulation::{Drain, Hidden, Traps};
use crate::vehicle::PartKind;
use std::fmt::Write as _;

mod read;
pub use read::{is_exercise, read};

/// What a hidden cause is, by name.
#[derive(Clone, Debug, PartialEq)]
enum What {
    Takes(Located<String>, Milliamps),
    CoilHeld(Located<String>),
    WireShorted(Located<String>),
    Contact(Located<String>, Milliamps),
    HeldBy(Located<String>),
    Blown(Located<String>),
}

/// A hidden cause as written.
#[derive(Clone, Debug, PartialEq)]
struct Cause {
    what: What,
    lost: bool,
}

/// What a question wants to hear, as written.
#[derive(Clone, Debug, PartialEq)]
enum Wants {
    Parts(Vec<Located<String>>),
    Current(Located<String>),
    Words(Vec<String>),
    Sealed,
}

/// A question as written.
#[derive(Clone, Debug, PartialEq)]
struct Asks {
    ask: String,
    wants: Wants,
    hint: Option<String>,
    wrong: Vec<(String, String)>,
}

/// An exercise that comes before another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Earlier {
    /// The name of its file, as written.
    pub file: String,
    /// What it is called, once that was looked up.
    pub title: Option<String>,
}

impl Earlier {
    /// What a learner knows it by: its title, else its file as written.
    pub fn shown(&self) -> &str {
        self.title.as_deref().unwrap_or(&self.file)
    }
}

/// An exercise as written.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// What it is called.
    pub name: String,
    /// Its place on a ladder, from 1.
    pub rung: Option<u32>,
    /// What is learnt.
    pub goal: String,
    /// The exercises that come before. No title is known from the text alone.
    pub before: Vec<Earlier>,
    /// The time that it may take, on the vehicle's clock.
    pub time: Option<Minutes>,
    /// The vehicle file, as seen from this one.
    pub vehicle: Located<String>,
    /// The instruments file, as seen from this one; without one a plain meter.
    pub instruments: Option<Located<String>>,
    /// The number for all; without it each learner has one.
    pub number: Option<u64>,
    /// What is to be handed in.
    pub hand_in: Option<String>,
    /// How it is taught: what is shown before, what is asked after. For the instructor.
    pub lesson: Option<String>,
    /// The text that was sealed, in letters and digits.
    pub sealed: Option<Located<String>>,
    hidden: Option<Vec<Cause>>,
    search: bool,
    traps: Traps,
    questions: Vec<Asks>,
    wrong: Vec<(Located<String>, String)>,
}

/// A question of an exercise.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What is asked.
    pub ask: String,
    /// What is right.
    pub wants: Wanted,
    /// What is said to a learner who asks for a hint.
    pub hint: Option<String>,
    /// Expected wrong replies, and what to say to each.
    pub wrong: Vec<(String, String)>,
}

/// What a right reply is.
#[derive(Clone, Debug, PartialEq)]
pub enum Wanted {
    /// These parts, in any order.
    Parts(Vec<String>),
    /// The current at a part, as near as what is at hand can tell.
    Current(PartId),
    /// One of these texts.
    Words(Vec<String>),
    /// Nobody here can tell: it is sealed.
    Sealed,
}

impl Task {
    /// Whether every learner has the same fault: it is hidden by name, or the number is given.
    pub fn is_same_for_all(&self) -> bool {
        self.number.is_some() || self.hidden.as_ref().is_some_and(|list| !list.is_empty())
    }

    /// The exercise at this vehicle, with this number.
    ///
    /// # Errors
    /// Every name that the vehicle does not have and every cause that cannot be, in the file's order.
    pub fn exercise(&self, setting: &Setting, number: u64) -> Result<Exercise, Vec<Problem>> {
        let mut problems = Vec::new();
        let mut exercise = Exercise {
            number: self.number.unwrap_or(number),
            traps: self.traps,
            time: self.time.map(Minutes::value),
            hunt: self.search,
            sealed: self.sealed.is_some(),
            ..Exercise::default()
        };
        for cause in self.hidden.iter().flatten() {
            match cause.bound(setting) {
                Ok(Bound::Drain(drain)) => exercise.hidden.push(Hidden {
                    drain,
                    lost_by_break: cause.lost,
                }),
                Ok(Bound::Blown(part)) => exercise.blown.push(part),
                Err(problem) => problems.push(*problem),
            }
        }
        if exercise.hidden.is_empty() && self.hidden.is_some() {
            // A blown fuse is nothing to hunt for by its draw.
            exercise.hunt = false;
        }
        if self.hidden.is_none() && self.sealed.is_none() {
            let chance = Chance(exercise.number);
            exercise.hidden.push(pick(setting, chance));
        }
        for asks in &self.questions {
            match asks.bound(setting) {
                Ok(question) => exercise.questions.push(question),
                Err(mut more) => problems.append(&mut more),
            }
        }
        for (name, say) in &self.wrong {
            let plain = name
                .value
                .strip_prefix("unlisted at ")
                .unwrap_or(&name.value);
            match found(setting, plain, &name.at) {
                Ok(_) => exercise.wrong.push((name.value.clone(), say.clone())),
                Err(problem) => problems.push(*problem),
            }
        }
        if problems.is_empty() {
            Ok(exercise)
        } else {
            Err(in_file_order(problems))
        }
    }

    /// The same file with everything that would give the answer away left out but for this seal.
    pub fn sealed_with(&self, seal: &str) -> String {
        let mut out =
            String::from("// Sealed: what is hidden stands in `sealed` alone.\nExercise(\n");
        let mut line = |field: &str, value: String| {
            let _ = writeln!(out, "    {field}: {value},");
        };
        line("format", "1".to_owned());
        line("name", quoted(&self.name));
        if let Some(rung) = self.rung {
            line("rung", rung.to_string());
        }
        line("goal", quoted(&self.goal));
        if !self.before.is_empty() {
            line(
                "before",
                listed(self.before.iter().map(|earlier| &earlier.file)),
            );
        }
        if let Some(time) = self.time {
            line("time", format!("minutes({})", time.value()));
        }
        line("vehicle", quoted(&self.vehicle.value));
        if let Some(instruments) = &self.instruments {
            line("instruments", quoted(&instruments.value));
        }
        if let Some(hand_in) = &self.hand_in {
            line("hand_in", quoted(hand_in));
        }
        if !self.questions.is_empty() {
            let asked = self.questions.iter();
            let asked: Vec<String> = asked
                .map(|asks| format!("Question(ask: {})", quoted(&asks.ask)))
                .collect();
            line("questions", format!("[{}]", asked.join(", ")));
        }
        line("sealed", quoted(seal));
        out.push_str(")\n");
        out
    }
}

/// What a cause is at a vehicle.
enum Bound {
    Drain(Drain),
    Blown(PartId),
}

impl Cause {
    fn bound(&self, setting: &Setting) -> Result<Bound, Box<Problem>> {
        let feeds = &setting.feeds;
        let part = |name: &Located<String>, fits: &dyn Fn(PartId) -> bool, place: HidesIn| {
            let found = match found(setting, &name.value, &name.at)? {
                Named::Part(part) => Some(*part),
                _ => None,
            };
            found.filter(|part| fits(*part)).ok_or_else(|| {
                let fitting = feeds.parts().find(|part| fits(*part));
                let fitting = fitting.map(|part| feeds.id(part));
                Box::new(words::cannot_hide(&name.value, place, fitting).at(name.at.clone()))
            })
        };
        let kind =
            |kinds: &'static [PartKind]| move |part: PartId| kinds.contains(&feeds.part(part).kind);
        Ok(match &self.what {
            What::Takes(name, current) => {
                let any = |part: PartId| feeds.part(part).kind != PartKind::Battery;
                Bound::Drain(Drain::Takes(part(name, &any, HidesIn::Taker)?, *current))
            }
            What::CoilHeld(name) => {
                let coil = part(name, &kind(&[PartKind::Coil]), HidesIn::Coil)?;
                Bound::Drain(Drain::CoilHeld(coil))
            }
            What::WireShorted(name) => {
                let coil = part(name, &kind(&[PartKind::Coil]), HidesIn::Coil)?;
                Bound::Drain(Drain::WireShorted(coil))
            }
            What::Contact(name, current) => {
                let contact = kind(&[PartKind::Relay, PartKind::Switch]);
                Bound::Drain(Drain::Contact(
                    part(name, &contact, HidesIn::Contact)?,
                    *current,
                ))
            }
            What::Blown(name) => {
                let kinds = kind(&[PartKind::Fuse, PartKind::Link, PartKind::Breaker]);
                Bound::Blown(part(name, &kinds, HidesIn::Guard)?)
            }
            What::HeldBy(name) => {
                if let Named::Module(module) = found(setting, &name.value, &name.at)? {
                    return Ok(Bound::Drain(Drain::HeldBy(*module)));
                }
                // An input may bear the name of its switch.
                if feeds.inputs().any(|(input, _)| input == name.value) {
                    return Ok(Bound::Drain(Drain::Input(name.value.clone())));
                }
                let fitting = feeds.modules().next();
                let fitting = fitting.map(|module| feeds.module(module).id.value.as_str());
                let finding = words::holds_nothing_awake(&name.value, fitting);
                return Err(Box::new(finding.at(name.at.clone())));
            }
        })
    }
}

impl Asks {
    fn bound(&self, setting: &Setting) -> Result<Question, Vec<Problem>> {
        let mut problems = Vec::new();
        let wants = match &self.wants {
            Wants::Parts(names) => {
                for name in names {
                    let found = found(setting, &name.value, &name.at);
                    problems.extend(found.err().map(|problem| *problem));
                }
                Wanted::Parts(names.iter().map(|name| name.value.clone()).collect())
            }
            Wants::Current(name) => match found(setting, &name.value, &name.at) {
                Ok(Named::Part(part)) => Wanted::Current(*part),
                Ok(_) => {
                    problems.push(words::has_no_current(&name.value).at(name.at.clone()));
                    Wanted::Sealed
                }
                Err(problem) => {
                    problems.push(*problem);
                    Wanted::Sealed
                }
            },
            Wants::Words(words) => Wanted::Words(words.clone()),
            Wants::Sealed => Wanted::Sealed,
        };
        if !problems.is_empty() {
            return Err(problems);
        }
        Ok(Question {
            ask: self.ask.clone(),
            wants,
            hint: self.hint.clone(),
            wrong: self.wrong.clone(),
        })
    }
}

/// What a name means in the vehicle.
fn found<'s>(setting: &'s Setting, name: &str, at: &Span) -> Result<&'s Named, Box<Problem>> {
    setting.feeds.find(name).ok_or_else(|| {
        let known: Vec<_> = setting.feeds.names().map(|(known, _)| known).collect();
        Box::new(words::unknown_name(name, &known).at(at.clone()))
    })
}

/// A text as RON writes it.
fn quoted(text: &str) -> String {
    let plain = text.replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{}\"", plain.replace('\n', "\\n"))
}

fn listed<'a>(texts: impl Iterator<Item = &'a String>) -> String {
    let texts: Vec<String> = texts.map(|text| quoted(text)).collect();
    format!("[{}]", texts.join(", "))
}
