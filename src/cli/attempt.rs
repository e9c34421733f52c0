//! Attempts at a drill: what was typed, line by line, under a head that says at what.

use crate::cli::{Failure, files, say};
use crate::drill::{Drill, GENERATOR};
use crate::render::commands;
use std::path::{Path, PathBuf};

/// The head of an attempt file, before its number.
const HEAD: &str = "# halfsplit drill, format 1; number ";

/// An attempt at a drill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Attempt {
    /// Of the drill.
    pub(super) number: u64,
    /// Who: a number, never a name.
    pub(super) learner: Option<u64>,
    /// The exercise's file, without folder and ending.
    pub(super) exercise: Option<String>,
    /// The fingerprint of the text it is made at: the exercise's, else the vehicle's.
    pub(super) text: Option<String>,
    /// The generator it was begun with.
    pub(super) generator: String,
    /// The readings are those of a real board.
    pub(super) board: bool,
    /// Before a reading it asks what each answer would rule out.
    pub(super) predict: bool,
    /// It goes on from this step of another attempt: to practise, and not to be marked.
    pub(super) again: Option<usize>,
    /// What was typed.
    pub(super) lines: Vec<String>,
}

/// An attempt that is there.
pub(super) fn kept(file: &Path) -> Result<Option<Attempt>, Failure> {
    if files::is_stream(file) {
        return Err(Failure::Usage(commands::attempt_stays()));
    }
    if file.exists() {
        read(file).map(Some)
    } else {
        Ok(None)
    }
}

/// Where an attempt that goes on from a step of another is kept: `7.drill` goes on in `7-again.drill`.
pub(super) fn again_beside(file: &Path) -> PathBuf {
    let stem = file.file_stem().unwrap_or(file.as_os_str());
    let name = format!("{}-again", stem.to_string_lossy());
    let mut beside = file.with_file_name(name);
    if let Some(ending) = file.extension() {
        beside.set_extension(ending);
    }
    beside
}

/// Reads an attempt; words of its head that are not known are left aside.
pub(super) fn read(file: &Path) -> Result<Attempt, Failure> {
    let (name, text) = files::read(file)?;
    let mut lines = text.lines();
    let head = lines.next().and_then(|head| head.strip_prefix(HEAD));
    let mut words = head.unwrap_or_default().split("; ");
    let Some(number) = words.next().and_then(|number| number.trim().parse().ok()) else {
        return Err(Failure::Usage(commands::no_attempt(&name)));
    };
    let mut attempt = Attempt {
        number,
        learner: None,
        exercise: None,
        text: None,
        generator: GENERATOR.to_owned(),
        board: false,
        predict: false,
        again: None,
        lines: lines
            .filter(|l| !l.trim().is_empty())
            .map(str::to_owned)
            .collect(),
    };
    for word in words {
        match word.split_once(' ') {
            Some(("learner", number)) => attempt.learner = number.trim().parse().ok(),
            Some(("again", step)) => attempt.again = step.trim().parse().ok(),
            Some(("exercise", name)) => attempt.exercise = Some(name.to_owned()),
            None if word == "board" => attempt.board = true,
            None if word == "predict" => attempt.predict = true,
            Some(("text", fingerprint)) => attempt.text = Some(fingerprint.trim().to_owned()),
            _ if word.starts_with("ChaCha") => word.clone_into(&mut attempt.generator),
            _ => {}
        }
    }
    if attempt.generator != GENERATOR {
        say(&commands::other_generator(
            &name,
            &attempt.generator,
            GENERATOR,
        ));
    }
    Ok(attempt)
}

/// Whether an attempt is at a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fits {
    /// At this very text, or one of this name from before texts were kept.
    Yes,
    /// The file of that name said something else.
    Changed,
    /// It is at another exercise.
    No,
}

impl Attempt {
    /// Whether it is at this exercise, whatever its file is called; without an exercise, at this vehicle.
    pub(super) fn fits(&self, name: Option<&str>, fingerprint: &str) -> Fits {
        let same_name = self.exercise.as_deref() == name;
        match &self.text {
            Some(text) if text == fingerprint => Fits::Yes,
            Some(_) if same_name => Fits::Changed,
            None if same_name || self.exercise.is_none() => Fits::Yes,
            _ => Fits::No,
        }
    }

    /// The drill with every line of the attempt taken.
    pub(super) fn on<'s>(&self, drill: Drill<'s>) -> Drill<'s> {
        let mut drill = self.begin(drill);
        for line in &self.lines {
            drill.take(line);
        }
        drill
    }

    /// The drill as the attempt is done, before its first line.
    pub(super) fn begin<'s>(&self, drill: Drill<'s>) -> Drill<'s> {
        let drill = if self.board {
            drill.on_a_board()
        } else {
            drill
        };
        if self.predict {
            drill.predicting()
        } else {
            drill
        }
    }

    /// Leaves out this step, counted from 1, and all after it; `None` where there are not so many.
    pub(super) fn cut_before(&mut self, step: usize, mut drill: Drill<'_>) -> Option<()> {
        let taken = self.lines.iter().take_while(|line| {
            let goes_on = drill.steps().len() + 1 < step;
            if goes_on {
                drill.take(line);
            }
            goes_on
        });
        let taken = taken.count();
        if taken == self.lines.len() {
            return None;
        }
        self.lines.truncate(taken);
        self.again = Some(step);
        Some(())
    }

    /// Writes it whole.
    pub(super) fn keep(&self, file: &Path) -> Result<(), Failure> {
        let mut head = format!("{HEAD}{}", self.number);
        if let Some(learner) = self.learner {
            head = format!("{head}; learner {learner}");
        }
        if let Some(exercise) = &self.exercise {
            head = format!("{head}; exercise {exercise}");
        }
        if let Some(text) = &self.text {
            head = format!("{head}; text {text}");
        }
        if let Some(step) = self.again {
            head = format!("{head}; again {step}");
        }
        for (flag, word) in [(self.board, "board"), (self.predict, "predict")] {
            if flag {
                head = format!("{head}; {word}");
            }
        }
        let text = format!("{head}; {}\n{}\n", self.generator, self.lines.join("\n"));
        files::write(file, &text)
    }
}
