//! `halfsplit drill`: a vehicle with a hidden fault that answers.
//!
//! **Invariants.** An attempt file holds the number and every line that was typed; the same file gives
//! the same drill again, so going on is playing it from the start.

use crate::cli::attempt::{Attempt, Fits, again_beside, kept};
use crate::cli::input::Input;
use crate::cli::opening::{Given, setting_of};
use crate::cli::{Failure, answer, exercise, files, ladder, plain, say};
use crate::drill::{
    Chance, Debrief, Drill, Exercise, GENERATOR, Said, fingerprint, is_exercise, pick,
};
use crate::problem::Look;
use crate::render::{self, commands};
use clap::Args;
use std::io::{IsTerminal as _, Write};
use std::path::{Path, PathBuf};

/// What `drill` is told.
#[derive(Args, Debug)]
#[allow(clippy::struct_excessive_bools)] // independent flags
pub(super) struct Told {
    /// The vehicle file, or an exercise file
    #[arg(value_name = "VEHICLE|EXERCISE", required_unless_present = "ladder")]
    file: Option<PathBuf>,
    /// Which fault is hidden and how the meter errs; without it one is drawn and printed
    #[arg(long, value_name = "N")]
    number: Option<u64>,
    /// The instruments file; without one that of the exercise, else a plain meter
    #[arg(long, value_name = "FILE")]
    instruments: Option<PathBuf>,
    /// Keeps each line in this file, and goes on with it where it is there
    #[arg(long, value_name = "FILE")]
    attempt: Option<PathBuf>,
    /// Goes back to before this step of the attempt, to practise on in a file of its own (7-again.drill)
    #[arg(long, value_name = "STEP", requires = "attempt")]
    again: Option<usize>,
    /// The learner's number, kept in the attempt and in the progress on the ladder
    #[arg(long, value_name = "N")]
    learner: Option<u64>,
    /// At a real training board: type each reading as you read it there
    #[arg(long)]
    board: bool,
    /// Before each reading it asks what each answer would rule out, and marks what you say
    #[arg(long)]
    predict: bool,
    /// Lists the exercises of a folder with your progress
    #[arg(long, value_name = "FOLDER", num_args = 0..=1, default_missing_value = ladder::EXERCISES,
          conflicts_with_all = ["file", "number", "attempt", "board", "predict", "page"])]
    ladder: Option<PathBuf>,
    /// The table your progress on the ladder is kept in; without it one in your data folder
    #[arg(long, value_name = "FILE")]
    progress: Option<PathBuf>,
    /// The first line of this file is the passphrase of the exercise's seal
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
    /// Writes the debrief as a page to print as well
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// Print the debrief, or the ladder, as one JSON object, last
    #[arg(long)]
    json: bool,
}

/// Lists the ladder, or plays to the answer or the end of the lines.
pub(super) fn run(told: &Told, screen: Look, out: impl Write) -> Result<u8, Failure> {
    match (&told.ladder, &told.file) {
        (Some(folder), _) => {
            let listing = ladder::Listing {
                folder,
                progress: told.progress.as_deref(),
                learner: told.learner,
                json: told.json,
            };
            ladder::run(listing, screen, out)
        }
        (None, Some(file)) => play(told, file, screen, out),
        (None, None) => Ok(0),
    }
}

fn play(told: &Told, file: &Path, screen: Look, out: impl Write) -> Result<u8, Failure> {
    let kept = told.attempt.as_deref().map_or(Ok(None), kept)?;
    let number = match (told.number, &kept) {
        (Some(number), Some(old)) if number != old.number => {
            return Err(Failure::Usage(commands::attempt_of_number(old.number)));
        }
        (_, Some(old)) => old.number,
        (Some(number), None) => number,
        (None, None) => drawn(),
    };
    let (name, text) = files::read(file)?;
    if is_exercise(&text) {
        let instruments = told.instruments.as_deref();
        let passphrase = exercise::passphrase(told.passphrase_file.as_deref())?;
        let opened = exercise::open(file, instruments, passphrase.as_deref(), screen)?;
        let Some(opened) = opened else {
            return Ok(1);
        };
        let board = told.board || kept.as_ref().is_some_and(|kept| kept.board);
        if opened.task.sealed.is_some() && !board {
            return Err(Failure::Usage(commands::hidden_is_sealed()));
        }
        let Some(exercise) = opened.exercise(number, screen)? else {
            return Ok(1);
        };
        let mut played = Played {
            told,
            setting: &opened.setting,
            exercise: &exercise,
            task: Some((&opened.task, exercise::stem(file))),
            withheld: exercise.sealed || opened.withheld,
            text: fingerprint(&text),
            file: told.attempt.clone(),
            screen,
        };
        return played.run(kept, out);
    }
    if told.board {
        return Err(Failure::Usage(commands::board_needs_exercise(&name)));
    }
    let given = Given {
        vehicle: None,
        instruments: told.instruments.clone(),
    };
    let Some(setting) = setting_of(file, &given, screen)? else {
        return Ok(1);
    };
    let exercise = Exercise {
        number,
        hidden: vec![pick(&setting, Chance(number))],
        ..Exercise::default()
    };
    let mut played = Played {
        told,
        setting: &setting,
        exercise: &exercise,
        task: None,
        withheld: false,
        text: fingerprint(&text),
        file: told.attempt.clone(),
        screen,
    };
    played.run(kept, out)
}

/// A drill with all that it is told.
struct Played<'t> {
    told: &'t Told,
    setting: &'t crate::case::Setting,
    exercise: &'t Exercise,
    task: Option<(&'t crate::drill::Task, String)>,
    /// What came of it is the instructor's to tell.
    withheld: bool,
    /// The fingerprint of the file that is played.
    text: String,
    /// Where each line is kept.
    file: Option<PathBuf>,
    screen: Look,
}

impl Played<'_> {
    fn run(&mut self, kept: Option<Attempt>, mut out: impl Write) -> Result<u8, Failure> {
        let (told, screen) = (self.told, self.screen);
        let chance = Chance(self.exercise.number);
        let choice = move |question: &str| chance.at(question);
        let mut attempt = self.attempt(kept)?;
        if let Some(step) = told.again {
            self.go_back(&mut attempt, step, &choice)?;
        }
        let mut drill = attempt.begin(Drill::new(self.setting, self.exercise, &choice));
        let scene = render::DrillScene {
            task: self.task.as_ref().map(|(task, _)| *task),
            board: attempt.board,
            width: screen.width,
        };
        let opening = plain(
            &render::drill_opening(self.setting, self.exercise, scene),
            screen,
        );
        if std::io::stdin().is_terminal() {
            answer(&mut out, &opening)?;
        } else {
            // Standard output carries the answers alone, a line each.
            let _ = anstream::stderr().write_all(opening.as_bytes());
        }
        for line in &attempt.lines {
            let said = render::drill_said(&drill.take(line), self.setting, self.exercise);
            answer(&mut out, &self.fitted(&said))?;
        }
        let mut input = Input::new();
        while !drill.has_ended() {
            let prompt = commands::drill_prompt(drill.parked().minutes());
            let Some(line) = input.line(&prompt, &mut out)? else {
                break;
            };
            if input.is_terminal()
                && let Some(after) = drill.handed_in_by(&line)
            {
                // At a prompt a slip of the hand is taken back before it counts.
                answer(&mut out, &self.fitted(&render::drill_handed_in(&after)))?;
                let sure = input.line("yes? > ", &mut out)?;
                if !sure.is_some_and(|sure| ["yes", "y"].contains(&sure.to_lowercase().as_str())) {
                    answer(&mut out, &format!("{}\n", commands::not_handed_in()))?;
                    continue;
                }
            }
            let Some(said) = self.line(&line, &mut drill, &mut attempt)? else {
                break;
            };
            answer(&mut out, &self.fitted(&said))?;
        }
        let ended = drill.is_complete();
        if self.withheld {
            return Ok(self.hand_in(ended));
        }
        let debrief = drill.debrief(&choice);
        if told.json && (ended || self.file.is_none()) {
            let row = serde_json::to_string(&render::debrief_json(&debrief, self.exercise))?;
            answer(&mut out, &format!("{row}\n"))?;
        } else if ended {
            let text = render::debrief(&debrief, self.setting, screen.width);
            answer(&mut out, &plain(&text, screen))?;
        } else {
            self.say_how_to_go_on();
        }
        if let Some(page) = told.page.as_ref().filter(|_| ended) {
            let task = self.task.as_ref().map(|(task, _)| *task);
            let page_text = render::debrief_page(
                &debrief,
                self.setting,
                self.exercise,
                render::Pupil {
                    learner: attempt.learner,
                    task,
                },
            );
            files::write(page, &page_text)?;
        }
        if ended && attempt.again.is_none() {
            self.climb(attempt.learner, &debrief);
        }
        Ok(u8::from(!debrief.right))
    }

    /// The attempt as it was before a step, from here on in a file of its own.
    fn go_back(
        &mut self,
        attempt: &mut Attempt,
        step: usize,
        choice: &dyn Fn(&str) -> f64,
    ) -> Result<(), Failure> {
        let Some(file) = &self.file else {
            return Ok(());
        };
        let beside = again_beside(file);
        let shown = beside.display().to_string();
        if beside.exists() {
            return Err(Failure::Usage(commands::again_is_there(&shown)));
        }
        let drill = attempt.begin(Drill::new(self.setting, self.exercise, choice));
        if attempt.cut_before(step, drill).is_none() {
            let file = file.display().to_string();
            return Err(Failure::Usage(commands::no_step(&file, step)));
        }
        attempt.keep(&beside)?;
        say(&commands::goes_on_beside(step, &shown));
        self.file = Some(beside);
        Ok(())
    }

    /// As it fits the screen: at a terminal lines end between words, else each answer is one line.
    fn fitted(&self, text: &str) -> String {
        let text = plain(text, self.screen);
        if !std::io::stdout().is_terminal() {
            return text;
        }
        let whole = textwrap::Options::new(self.screen.width)
            .break_words(false)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        let lines = text.lines().map(|line| {
            if line.chars().count() > self.screen.width {
                textwrap::fill(line, &whole)
            } else {
                line.to_owned()
            }
        });
        lines.map(|line| line + "\n").collect()
    }

    /// Nobody here can tell right from wrong.
    fn hand_in(&self, ended: bool) -> u8 {
        if ended {
            say(&commands::hand_in(self.file_shown().as_deref()));
        } else {
            self.say_how_to_go_on();
        }
        u8::from(!ended)
    }

    /// The attempt that is there, or a new one.
    fn attempt(&self, kept: Option<Attempt>) -> Result<Attempt, Failure> {
        let exercise = self.task.as_ref().map(|(_, name)| name.clone());
        let Some(mut kept) = kept else {
            return Ok(Attempt {
                number: self.exercise.number,
                learner: self.told.learner,
                exercise,
                text: Some(self.text.clone()),
                generator: GENERATOR.to_owned(),
                board: self.told.board,
                predict: self.told.predict,
                again: None,
                lines: Vec::new(),
            });
        };
        match kept.fits(exercise.as_deref(), &self.text) {
            Fits::Yes => {}
            Fits::Changed => say(&commands::changed_since(exercise.as_deref())),
            Fits::No => {
                let (old, new) = (kept.exercise.as_deref(), exercise.as_deref());
                return Err(Failure::Usage(commands::attempt_at_another(old, new)));
            }
        }
        if self.told.board && !kept.board {
            return Err(Failure::Usage(commands::attempt_at_no_board()));
        }
        if self.told.predict && !kept.predict {
            return Err(Failure::Usage(commands::attempt_without_predictions()));
        }
        if let (Some(new), Some(old)) = (self.told.learner, kept.learner)
            && new != old
        {
            return Err(Failure::Usage(commands::attempt_of_learner(old)));
        }
        kept.learner = self.told.learner.or(kept.learner);
        Ok(kept)
    }

    /// What a line is answered with; `None` where it ends the dialogue.
    fn line(
        &self,
        line: &str,
        drill: &mut Drill<'_>,
        attempt: &mut Attempt,
    ) -> Result<Option<String>, Failure> {
        let screen = self.screen;
        let said = match line.to_lowercase().as_str() {
            "" => String::new(),
            "quit" | "exit" => return Ok(None),
            "help" | "?" => render::drill_help(screen.width),
            "list" => render::trace_list(drill.case(), screen.width),
            text if text.starts_with("tree ") || text.starts_with("list ") => {
                format!("{}\n", commands::stands_alone(&text[..4]))
            }
            "tree" => {
                let standings = render::standings(drill.case());
                let feeds = &self.setting.feeds;
                let tree = render::tree(feeds, screen.width, screen.unicode, Some(&standings));
                format!("{tree}{}", render::drill_inputs(feeds, screen.width))
            }
            _ => {
                let said = drill.take(line);
                if !matches!(said, Said::Refused(_) | Said::Again(_)) {
                    attempt.lines.push(line.to_owned());
                    if let Some(file) = &self.file {
                        attempt.keep(file)?;
                    }
                }
                render::drill_said(&said, self.setting, self.exercise)
            }
        };
        Ok(Some(said))
    }

    fn say_how_to_go_on(&self) {
        let file = self.file_shown();
        say(&commands::no_answer_yet(
            file.as_deref(),
            self.exercise.number,
        ));
    }

    /// The attempt's file for reading.
    fn file_shown(&self) -> Option<String> {
        self.file.as_ref().map(|file| file.display().to_string())
    }

    /// Keeps what came of a rung of the ladder; where that cannot be, the debrief is there all the same.
    fn climb(&self, learner: Option<u64>, debrief: &Debrief) {
        let Some((_, name)) = self.task.as_ref().filter(|(task, _)| task.rung.is_some()) else {
            return;
        };
        let kept = ladder::file(self.told.progress.as_deref()).and_then(|file| {
            ladder::keep(&file, learner, name, self.exercise.number, debrief)?;
            Ok(file)
        });
        let text = match kept {
            Ok(file) => commands::progress_kept(&file.display().to_string()),
            Err(failure) => commands::progress_not_kept(&failure.to_string()),
        };
        say(&text);
    }
}

/// A number of up to six digits from the clock, easy to pass on.
fn drawn() -> u64 {
    let now = jiff::Timestamp::now().as_nanosecond();
    (now / 1000).rem_euclid(1_000_000) as u64
}
