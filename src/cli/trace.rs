//! `halfsplit trace`: the dialogue at the vehicle.
//!
//! **Invariants.** An entry is on the disk before anything is said about it, so that whatever ends the
//! run loses no reading. A line that is refused changes nothing and ends nothing. Everything that is
//! said goes to standard output, in the order in which it was asked.

use crate::case::{Case, Entry, Longer, Looked, Next, Question, Reason, Recorded, State, TestPlan};
use crate::cli::case_file::{Access, Basis, CaseFile, is_case, quoted};
use crate::cli::early::{before_it_began, early, first_early, still_to_come};
use crate::cli::farewell::{at_interrupt, commands_again};
use crate::cli::input::Input;
use crate::cli::opening::{Given, Opened, open_or_create};
use crate::cli::steps::Before;
use crate::cli::teach::Lesson;
use crate::cli::why::asks_of_draw;
use crate::cli::window::Window;
use crate::cli::{Failure, files, plain};
use crate::feeds::PartId;
use crate::journal::{Act, Wrong};
use crate::measurement::Method;
use crate::problem::Look;
use crate::render::{self, commands};
use crate::report::{About, Watched, reasons};
use clap::Args;
use std::io::{IsTerminal as _, Write};
use std::path::PathBuf;

/// What `trace` is told.
#[derive(Args, Debug)]
pub(super) struct Trace {
    /// The vehicle file; or a case to go on with
    pub(super) vehicle: PathBuf,
    /// The case file; without it the vehicle file's name with `.case`, beside it
    #[arg(long, value_name = "FILE")]
    pub(super) case: Option<PathBuf>,
    /// The instruments file; without one a plain meter is assumed
    #[arg(long, value_name = "FILE")]
    pub(super) instruments: Option<PathBuf>,
    /// Teaches: before each step it asks what the reading will rule out, and compares
    #[arg(long)]
    pub(super) teach: bool,
}

/// From this chance on that the vehicle woke it is remarked on when its settle is cut short (judgement).
const LIKELY_AWAKE: f64 = 0.5;

/// Runs the dialogue to its end; exit code 1 when it ends in readings that contradict each other or
/// decide nothing.
pub(super) fn run(told: &Trace, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let (path, vehicle) = files_of(told)?;
    let given = Given {
        vehicle,
        instruments: told.instruments.clone(),
    };
    let Some((opened, new)) = open_or_create(&path, &given, Access::Record, screen)? else {
        return Ok(1);
    };
    let Opened {
        file,
        basis,
        setting,
    } = opened;
    let case = file.case(&setting)?;
    let kept = (!new).then(|| case.entries().len());
    let notes = file.notes(&basis);
    let name = path.display().to_string();
    let mut input = Input::new();
    let mut dialogue = Dialogue {
        next: case.next(),
        case,
        path,
        file,
        basis,
        screen,
        shown: String::new(),
        together: Vec::new(),
        looked: None,
        longer: None,
        teach: told.teach,
        lesson: None,
        terminal: input.is_terminal(),
        refused: false,
        window: Window::default(),
    };
    let opening = render::trace_opening(&dialogue.basis.name, &name, kept, &notes, screen.width);
    dialogue.say(&mut out, &opening)?;
    let asks = dialogue.asks();
    let first = dialogue.step(&[], asks.lines().count());
    dialogue.say(&mut out, &format!("{}{asks}", first.anew))?;
    dialogue.shown = first.brief;
    let farewell = at_interrupt(input.is_terminal(), dialogue.end(told));
    while let Some(line) = input.line(
        &render::trace_prompt(&dialogue.case, &dialogue.next),
        &mut out,
    )? {
        // The window may have another width by now.
        dialogue.screen.width = super::columns();
        let Some(said) = dialogue.answer(&line)? else {
            break;
        };
        dialogue.say(&mut out, &said)?;
        if let Ok(mut farewell) = farewell.lock() {
            *farewell = dialogue.end(told);
        }
    }
    out.write_all(dialogue.end(told).as_bytes())?;
    out.flush()?;
    let negative = matches!(
        dialogue.next.state,
        State::Contradiction | State::Undecidable
    );
    // A person saw it; whoever sent the lines through a pipe is told by the exit code.
    let refused = dialogue.refused && !dialogue.terminal;
    Ok(u8::from(negative || refused))
}

/// The case file, and the vehicle file where that is said.
fn files_of(told: &Trace) -> Result<(PathBuf, Option<PathBuf>), Failure> {
    let usage = |text| Err(Failure::Usage(text));
    if files::is_stream(&told.vehicle) || told.case.as_deref().is_some_and(files::is_stream) {
        return usage(commands::standard_files());
    }
    match (&told.case, is_case(&told.vehicle)) {
        (None, true) => Ok((told.vehicle.clone(), None)),
        (Some(_), true) => usage(commands::both_are_cases()),
        (Some(case), false) => Ok((case.clone(), Some(told.vehicle.clone()))),
        (None, false) => Ok((
            told.vehicle.with_extension("case"),
            Some(told.vehicle.clone()),
        )),
    }
}

/// A case that is talked about.
struct Dialogue<'s> {
    case: Case<'s>,
    path: PathBuf,
    file: CaseFile,
    basis: Basis,
    next: Next,
    screen: Look,
    /// The screen of the last step, as short as it goes.
    shown: String,
    /// The branches that were told before it, the last of them, to be up together.
    together: Vec<PartId>,
    /// How far off the end looked at the last step that knew it, and what to say where it is further off.
    looked: Option<Looked>,
    longer: Option<Longer>,
    teach: bool,
    /// What was asked before the step at hand.
    lesson: Option<Lesson>,
    /// Somebody sits at a terminal.
    terminal: bool,
    /// A line was refused.
    refused: bool,
    /// What is shown of an answer that is higher than the window.
    window: Window,
}

impl Dialogue<'_> {
    /// What a line is answered with; `None` where it ends the dialogue.
    fn answer(&mut self, line: &str) -> Result<Option<String>, Failure> {
        let width = self.screen.width;
        if let Some(lesson) = &mut self.lesson
            && let Some(said) = lesson.take(line, &self.case, width)
        {
            return Ok(Some(said));
        }
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        let said = match (word.to_lowercase().as_str(), rest) {
            ("quit" | "exit", "") => return Ok(None),
            ("" | "next", "") => {
                let asks = self
                    .lesson
                    .as_ref()
                    .and_then(|lesson| lesson.question(width));
                let asks = asks.unwrap_or_default();
                let step = self.step(&[], asks.lines().count());
                if asks.is_empty() {
                    self.window.fitted(step.whole, width)
                } else {
                    format!("{}{asks}", step.anew)
                }
            }
            ("more", "") if self.window.holds_back() => self.window.more(width),
            ("more", "") => render::trace_more(0, width),
            ("help" | "?", topic) => render::trace_help(topic, width),
            ("report", "") => render::trace_report(&self.report_command(), width),
            ("list", "") => {
                let list = render::trace_list(&self.case, width);
                Window::end_of(&list, width)
            }
            ("list", "all") => {
                let list = render::trace_list(&self.case, width);
                self.window.fitted(list, width)
            }
            ("intake", "") => {
                let intake = self.intake();
                self.window.fitted(intake, width)
            }
            ("tree", "") => {
                let (case, note) = self.searched();
                let standings = render::standings(&case);
                let feeds = &case.setting().feeds;
                let tree = render::tree(feeds, width, self.screen.unicode, Some(&standings));
                self.window.fitted(format!("{note}{tree}"), width)
            }
            ("why", "") => render::trace_because(&self.case, &self.next, width),
            ("why", name) if asks_of_draw(self.case.setting(), name) => {
                let why = render::why_draw(&self.case, width);
                self.window.fitted(why, width)
            }
            ("why", name) => match About::named(self.case.setting(), name) {
                Some(about) => {
                    let (case, note) = self.searched();
                    let why = render::why_text(&reasons(&case, about), &case, width);
                    self.window.fitted(format!("{note}{why}"), width)
                }
                None => render::trace_unknown(&self.case, name, width),
            },
            _ => self.record(line)?,
        };
        Ok(Some(said))
    }

    /// The battery arithmetic; after a repair that holds, of before it and of now.
    fn intake(&self) -> String {
        let width = self.screen.width;
        let now = self.case.intake();
        match self.case.before_repair() {
            Some(before) => render::intake_of_repaired(&before.intake(), &now, width),
            None => render::intake(&now, width),
        }
    }

    /// What is said where the dialogue ends. A command to copy is never broken, nor spelled otherwise.
    fn end(&self, told: &Trace) -> String {
        let width = self.screen.width;
        let end = render::trace_end(&self.case, &self.next, width);
        let end = plain(&end, self.screen);
        let ended = self.next.test.is_none() && self.case.has_draw();
        let write_up = ended.then(|| self.report_command());
        let (again, short) = commands_again(told, &self.path, &self.basis);
        let commands = commands::go_on(&again, &short, write_up.as_deref(), width);
        format!("{end}{commands}")
    }

    /// The command that writes this case up.
    fn report_command(&self) -> String {
        commands::write_up(&quoted(&self.path.display().to_string()))
    }

    /// The case as it was before a repair that holds, and a line that says so.
    fn searched(&self) -> (Case<'_>, String) {
        match self.case.before_repair() {
            Some(case) => (case, format!("{}\n", render::AS_BEFORE_REPAIR)),
            None => (self.case.clone(), String::new()),
        }
    }

    /// Puts an entry on the disk and says what follows from it.
    fn record(&mut self, line: &str) -> Result<String, Failure> {
        let width = self.screen.width;
        let before = Before::of(&self.case);
        let early = self.early();
        let was = self.teach.then(|| self.case.clone());
        let recorded = match self.case.record(line) {
            Ok(recorded) => recorded,
            Err(refusal) => {
                let missing = matches!(refusal.wrong, Wrong::NoReading { .. });
                let chosen = missing.then(|| self.case.chosen(line));
                // A test that is only named is a question, and no entry.
                self.refused |= !matches!(chosen, Some(Ok(Some(_))));
                return Ok(match chosen {
                    Some(Ok(Some(chosen))) => render::trace_chosen(&self.case, &chosen, width),
                    Some(Err(other)) => render::trace_refused(&other, width),
                    _ => render::trace_refused(&refusal, width),
                });
            }
        };
        self.file.keep(&recorded.entries, &self.basis)?;
        // What was held back of an answer before is of another step.
        self.window = Window::default();
        let asked_for = self.next.test.as_ref().map(|test| test.entry.as_str());
        let careful = render::trace_cautions(&recorded, asked_for, &self.case, width);
        let together = std::mem::take(&mut self.next.together);
        self.next = self.case.next();
        let gone = before.gone(&self.case);
        let about = |lesson: &Lesson| recorded.entries.iter().any(|e| lesson.is_about(&e.text));
        let lesson = self.lesson.take().filter(about);
        let learnt = match (lesson, was) {
            (Some(lesson), Some(was)) => lesson.after(&was, &self.case, width),
            _ => String::new(),
        };
        let taught = !learnt.is_empty();
        let slept = recorded
            .entries
            .first()
            .is_some_and(|e| e.act == Act::Asleep);
        let early = early.filter(|_| slept);
        let soon = early.map_or_else(String::new, |(waited, settle)| {
            render::trace_early(waited, settle, width)
        });
        let ahead = self
            .terminal
            .then(|| still_to_come(&recorded.entries))
            .flatten();
        let ahead = ahead.map_or_else(String::new, |(at, now)| {
            render::trace_to_come(at, now, width)
        });
        let past = self
            .terminal
            .then(|| before_it_began(&recorded.entries, &self.case, &self.file))
            .flatten();
        let past = past.map_or_else(String::new, |(at, began)| {
            render::trace_long_past(at, began, width)
        });
        let soon = format!("{soon}{ahead}{past}");
        let case = (&self.case, &self.next);
        let kept = |asked: &[Question]| {
            let kept = render::trace_kept(&recorded, &gone, asked, case, width);
            format!("{kept}{careful}{soon}{learnt}")
        };
        let (asking, telling) = (kept(&recorded.questions), kept(&self.said_above(&recorded)));
        let asks = self.asks();
        let rows = |kept: &str| kept.lines().count() + asks.lines().count();
        let quiet = self.step(&recorded.questions, rows(&asking));
        let all = rows(&asking) + quiet.brief.lines().count();
        if taught && super::rows().is_some_and(|most| all >= most) {
            // What was learnt stays in sight; the step comes when it is asked for.
            self.shown.clear();
            let go_on = render::lesson_goes_on(width);
            return Ok(format!("{asking}{go_on}"));
        }
        if quiet.brief == self.shown {
            let as_before = render::trace_as_before(&self.next, width);
            return Ok(format!("{asking}{as_before}{asks}"));
        }
        self.shown = quiet.brief;
        if !together.is_empty() && together != self.together {
            self.together = together;
            self.shown = self.step(&recorded.questions, rows(&asking)).brief;
        }
        // What is asked stands where it will stand when the case is gone on with.
        let step = self.step(&[], rows(&telling));
        // Who goes back looks again at all of it.
        let back = |entry: &Entry| matches!(entry.act, Act::Undo | Act::Withdraw { .. });
        let shown = if recorded.entries.iter().any(back) {
            step.anew
        } else {
            step.brief
        };
        Ok(format!("{telling}{shown}{asks}"))
    }

    /// What is asked about a line that the screen below does not ask: it is of an entry before the last.
    fn said_above(&self, recorded: &Recorded) -> Vec<Question> {
        let draw = self.next.test.as_ref().map(|test| test.method) == Some(Method::Draw);
        let asked = recorded.questions.iter();
        let above = asked.filter(|asked| !self.next.questions.contains(asked));
        // The total is read next.
        let above = above.filter(|asked| !(draw && **asked == Question::TotalAgain));
        above.cloned().collect()
    }

    /// Notes where the end is further off than it looked, once for each step.
    fn look_ahead(&mut self) {
        let Some(now) = self.next.looks() else {
            self.longer = None;
            return;
        };
        if self.looked == Some(now) {
            return;
        }
        self.longer = self.looked.and_then(|before| now.longer_than(&before));
        self.looked = Some(now);
    }

    /// How long it was waited, and the settle, where `asleep` would come early now: at a terminal each time,
    /// through a pipe, where the minutes pass otherwise, once.
    fn early(&self) -> Option<(f64, f64)> {
        let test = self.next.test.as_ref();
        let settle = self.case.setting().feeds.settle().value();
        // What most likely sleeps still needs no wait.
        let waits = |t: &&TestPlan| t.method == Method::Wait && t.minutes > LIKELY_AWAKE * settle;
        test.filter(waits)?;
        if self.terminal {
            early(&self.case, &self.file)
        } else {
            first_early(&self.case, &self.file)
        }
    }

    /// In teach mode what is asked before the step at hand.
    fn asks(&mut self) -> String {
        self.lesson = self
            .teach
            .then(|| Lesson::before(&self.case, &self.next))
            .flatten();
        let question = self
            .lesson
            .as_ref()
            .and_then(|lesson| lesson.question(self.screen.width));
        question.unwrap_or_default()
    }

    /// The screen of the step, without questions that were just said, below so many rows.
    fn step(&mut self, said: &[Question], above: usize) -> render::Screen {
        self.look_ahead();
        let still = self.next.reason == Reason::Watch;
        let watched = self.file.watched(&self.case, still);
        let until = std::io::stdout().is_terminal().then(|| {
            let settle = self.case.setting().feeds.settle().value();
            let left = match watched {
                Watched::Short(minutes) if still => settle - minutes,
                _ => settle,
            };
            let seconds = jiff::SignedDuration::from_secs((left * 60.0).ceil() as i64);
            // Past the end of the calendar nobody waits.
            let then = jiff::ZonedDateTime::now().saturating_add(seconds);
            then.strftime("%H:%M").to_string()
        });
        render::trace_screen(
            &self.case,
            &self.next,
            render::Scene {
                said,
                until: until.as_deref(),
                watched,
                longer: self.longer,
                asks_first: self.lesson.as_ref().is_some_and(Lesson::asks),
                rows: super::rows().map(|rows| rows.saturating_sub(above + 1)),
                all: "next",
                together: &self.together,
                width: self.screen.width,
                unicode: self.screen.unicode,
            },
        )
    }

    fn say(&self, out: &mut impl Write, text: &str) -> Result<(), Failure> {
        let text = plain(text, self.screen);
        out.write_all(text.as_bytes())?;
        Ok(out.flush()?)
    }
}
