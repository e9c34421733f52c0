//! The command line: the only room with files and a terminal.
//!
//! Exit codes: 0 done; 1 the answer is negative (problems found, an entry refused, readings that
//! contradict each other, nothing can be decided); 2 wrong usage; 3 a file could not be read or
//! written; 4 the case is in use by another run. A closed pipe ends the run quietly.

use crate::feeds::{self, Feeds};
use crate::instruments::{self, Instruments};
use crate::problem::{Look, Problem, clean, show};
use crate::render::commands;
use clap::{Parser, Subcommand};
use std::io::{IsTerminal, Write};
use std::path::Path;

mod add;
mod amps;
mod attempt;
mod case_file;
mod check;
mod class;
mod compare;
mod drill;
mod early;
mod exercise;
mod farewell;
mod files;
mod fmt;
mod input;
mod intake;
mod ladder;
mod log;
mod new;
mod opening;
mod picture;
mod plan;
mod rename;
mod report;
mod seal;
mod shell;
mod steps;
mod table;
mod teach;
mod trace;
mod tree;
mod why;
mod window;

/// Finds what drains a parked vehicle's battery.
///
/// Reads a vehicle's power feeds, entered from the wiring manual, and says which test to do next.
#[derive(Parser, Debug)]
#[command(name = "halfsplit", version, after_help = commands::EXIT_CODES)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Every problem of a vehicle file at its place, what a colleague would ask, then what it holds
    ///
    /// Only errors keep the file from being used, and give exit code 1. What is asked and meant so is
    /// accepted in the file, with the reason: accept: { "number-gap F3": "an empty holder" }.
    ///
    /// Examples:
    ///   halfsplit check sample-vehicles/quarto-van.ron
    ///   halfsplit check --explain number-gap
    #[command(verbatim_doc_comment)]
    Check(check::Check),
    /// The feed tree, drawn for the terminal
    ///
    /// Read it downwards: a part straight below another is all that it feeds; where a conductor
    /// divides, its branches leave to the right. A place stands where it changes. Of a case each part
    /// has its state, the current in its feed and what it could still hide.
    ///
    /// Examples: halfsplit tree sample-vehicles/quarto-van.ron; halfsplit tree van.case
    Tree(tree::Tree),
    /// The feed tree as a drawing on pages of A4, to be held against the manual
    ///
    /// SVG, or HTML by the ending of the file, which prints a page a sheet. Of a case each part has its state, in words and by its line; nothing depends on colour.
    ///
    /// Examples: halfsplit picture sample-vehicles/quarto-van.ron --out van.svg;
    /// halfsplit picture van.case --out van.html
    Picture(picture::Picture),
    /// The best plan from here: the decision chart, its expected minutes, and the floor under any plan
    ///
    /// Of a vehicle the plan for when it is prepared and asleep and draws too much; of a case the plan
    /// from where it stands. Read the chart downwards: what is found goes further in, what is not found
    /// goes on straight below.
    ///
    /// Examples:
    ///   halfsplit plan sample-vehicles/quarto-van.ron --draw 640mA --compare
    ///   halfsplit plan van.case --depth 4
    #[command(verbatim_doc_comment)]
    Plan(plan::Plan),
    /// A vehicle file laid out anew: one order of fields, a part a line; comments stay
    ///
    /// Example: halfsplit fmt blue-van.ron
    Fmt(fmt::Fmt),
    /// Step by step at the vehicle: what to do next, what was read, until the drain is proven
    ///
    /// Goes on with the case where there is one; without --case it stands beside the vehicle file.
    /// Type the reading alone, any other entry, or help. Each entry is on the disk before the next
    /// screen. Without a terminal it takes its lines from standard input and asks nothing.
    ///
    /// Example: halfsplit trace sample-vehicles/quarto-van.ron --case van.case
    Trace(trace::Trace),
    /// What to do next in a case, and why
    ///
    /// A case that is not there yet is opened: then --vehicle says for which vehicle, and
    /// --instruments what is at hand. Nothing else is changed.
    ///
    /// Examples:
    ///   halfsplit next van.case --vehicle sample-vehicles/quarto-van.ron
    ///   halfsplit next van.case --json
    #[command(verbatim_doc_comment)]
    Next(steps::Next),
    /// Puts what was done or read into a case
    ///
    /// The words of an entry need no quotes, but for those that a shell takes for itself, such as
    /// `;` between two entries and `>` before a reading. Options stand before the first entry.
    /// Exit code 0: it is in the case, whatever follows from it; 1: it was refused, and nothing was
    /// changed. Lines from standard input are taken one by one up to the first that is refused.
    ///
    /// Examples:
    ///   halfsplit record van.case draw 640mA by clamp
    ///   halfsplit record van.case 'drop F3 2.1mV; drop F9 0.0mV'
    ///   halfsplit record van.case - < readings.txt
    #[command(verbatim_doc_comment)]
    Record(steps::Record),
    /// Makes the last entry of a case that still counts not count
    ///
    /// It stays in the file, and so does the undoing. To take back an earlier one, record
    /// `withdraw`, its number and why.
    ///
    /// Examples:
    ///   halfsplit undo van.case
    ///   halfsplit record van.case withdraw 7 probe slipped
    #[command(verbatim_doc_comment)]
    Undo(steps::Undo),
    /// One reading to a current, or a current to what the meter will show, with the working
    ///
    /// Examples: halfsplit amps drop 1.0mV across Regular 10A;
    /// halfsplit amps drop 1.9mV across wire 0.5mm2 1m; halfsplit amps drop 0.2mV across 4.8mOhm;
    /// halfsplit amps drop 0.42mV reversed -0.38mV across Regular 10A;
    /// halfsplit amps clamp 3.05A turns 5; halfsplit amps clamp 42mV scale 1mV/10mA turns 5;
    /// halfsplit amps series 0.61A; halfsplit amps 40mA across Regular 10A;
    /// halfsplit amps resistance; halfsplit amps resistance 19.2mV with 2.50A across Regular 10A;
    /// halfsplit amps --tables
    Amps(amps::Amps),
    /// Days to flat to the draw to expect, or a draw to the days it lasts, with the working
    ///
    /// Examples: halfsplit intake --days 10 --capacity 60Ah;
    /// halfsplit intake --draw 50mA --reserve 100min; halfsplit intake --days 6 --draw 640mA
    /// --vehicle sample-vehicles/quarto-van.ron
    Intake(intake::Told),
    /// A commented starter file for a 12 V car, a 24 V truck or coach, or a teaching board
    ///
    /// From flags, or from a few questions at a terminal. It passes the check as it is; its parts are
    /// examples to overwrite. A file that is there is left alone.
    ///
    /// Examples:
    ///   halfsplit new blue-van.ron --for car --capacity 70Ah --limit 50mA
    ///   halfsplit new blue-van.ron
    #[command(verbatim_doc_comment)]
    New(new::New),
    /// What a current log says: settle, plateau, bursts, steps, and whether the vehicle is asleep
    ///
    /// A table of times and currents as a logger saves it: comma, semicolon or tab, decimal point or
    /// comma, seconds, minutes, clock times or dates.
    ///
    /// Example: halfsplit log night.csv --vehicle sample-vehicles/quarto-van.ron
    Log(log::Log),
    /// A vehicle file from a table, one row a part: a spreadsheet saved as CSV
    ///
    /// Comma, semicolon or tab; with units or without; columns in any order, named by a row of headings,
    /// of which many wordings are known. Needed are id and fed by; known besides: kind, rating, style, place, sheet, plug, pin, colour,
    /// load kind, asleep, at most, module, note, and every field of format 1 by its own name. What is
    /// doubtful is listed with its cell; where there are errors nothing is written. Titles, boxes in rows
    /// of their own and holders that are called spare are left out, and said.
    ///
    /// How long it takes to get at a place is in no table; it goes into the vehicle file, under places:
    /// "behind dash": Place(reach: minutes(20), wakes: true, within: "footwell box"), where wakes says
    /// that getting there wakes the vehicle, and within what has to be opened first.
    ///
    /// Example: halfsplit import box.csv --out blue-van.ron
    Import(table::Import),
    /// New parts in a vehicle file, below a part that is there; also in the middle of a case
    ///
    /// Around the new lines the file stays as it is, comments and layout and all. What does not pass
    /// the check is shown, and nothing is written. An open case goes on with all its readings.
    ///
    /// How a table is read is said by import --help.
    ///
    /// Examples:
    ///   halfsplit add blue-van.ron --under F7 'Load(id: "clock", kind: Other, plug: "C7")'
    ///   halfsplit add blue-van.ron --table rear-box.csv
    #[command(verbatim_doc_comment)]
    Add(add::Add),
    /// Another name for a part, plug, module, network, input or place, in the vehicle file and its cases
    ///
    /// Around the names the file stays as it is. A case keeps all its readings and goes on; the one beside
    /// the vehicle file, of the same name, goes along unasked. Renamed in an editor already? The same
    /// line tells the case.
    ///
    /// Example: halfsplit rename blue-van.ron F3 F13 --case blue.case
    Rename(rename::Rename),
    /// What two vehicle files say differently: parts added, removed, fed from elsewhere, changed
    ///
    /// For two model years, or before and after a body builder. Parts are the same when they have the
    /// same id; one that was renamed is removed and added. As with other comparisons the exit code is
    /// 0 when nothing differs, 1 when something does; 3 also when one of the files has errors.
    ///
    /// Example: halfsplit compare van-2016.ron van-2018.ron
    Compare(compare::Compare),
    /// The parts of a vehicle as a table
    ///
    /// Example: halfsplit export sample-vehicles/quarto-van.ron --out parts.csv
    Export(table::Export),
    /// Why a part is in its state: the readings and sums behind it, in numbered lines
    ///
    /// Each line rests on earlier ones, whose numbers stand in brackets.
    ///
    /// Examples:
    ///   halfsplit why van.case F3
    ///   halfsplit why van.case cargo lamp --json
    #[command(verbatim_doc_comment)]
    Why(why::Why),
    /// Teaching: a vehicle with a hidden fault answers; at the end each step is judged
    ///
    /// Type the entries of trace without their readings (drop F3, draw, pull F7, asleep); the vehicle
    /// gives those. Nothing is suggested unless you type hint. End with answer, the part and its
    /// connector: answer cargo lamp at C114 proven. The same number hides the same fault.
    /// Without a terminal it takes its lines from standard input. Exit code 1: the answer was wrong
    /// or none was given.
    ///
    /// An exercise file names vehicle, instruments, what is hidden and what is asked; twelve that build
    /// on each other stand in sample-vehicles/exercises, and --ladder lists them with your progress.
    ///
    /// Examples:
    ///   halfsplit drill --ladder
    ///   halfsplit drill sample-vehicles/exercises/04-one-lamp.ron
    ///   halfsplit drill sample-vehicles/teaching-board.ron --number 7
    ///   halfsplit drill sample-vehicles/quarto-van.ron --attempt mine.drill
    #[command(verbatim_doc_comment)]
    Drill(drill::Told),
    /// An exercise for teaching: every problem at its place; sealed; as a worksheet or an answer sheet
    ///
    /// Without options it says what the exercise holds. The worksheet has the tree, an empty table of
    /// readings and room for reasons; the answer sheet has what is hidden, the best path and what to
    /// say to expected wrong answers. A seal keeps the file from giving the answer away: without a
    /// passphrase only against a glance.
    ///
    /// Examples:
    ///   halfsplit exercise lamp.ron --worksheet lamp.html --answers lamp-answers.html
    ///   halfsplit exercise lamp.ron --seal lamp-sealed.ron --passphrase-file secret.txt
    #[command(verbatim_doc_comment)]
    Exercise(exercise::Told),
    /// The attempts of a class at one exercise, marked in one go
    ///
    /// Attempts are what drill keeps with --attempt; each learner is a number, never a name. Results go
    /// to the screen, or into a table (--csv) and a page to print (--page), with misconceptions per
    /// learner and for the class. Exit code 1: an attempt could not be read, and was left out.
    ///
    /// Example: halfsplit class lamp.ron attempts/ --csv lamp.csv --page lamp.html
    Class(class::Told),
    /// The write-up of a case, in Markdown: for the customer, then for the next electrician
    ///
    /// Example: halfsplit report van.case > van.md
    Report(report::Report),
    /// What a shell needs to complete the commands, on standard output
    ///
    /// Example: halfsplit completions bash > ~/.local/share/bash-completion/completions/halfsplit
    Completions(shell::Completions),
    /// The pages for man, one for each command
    ///
    /// Example: halfsplit manual ~/.local/share/man/man1
    Manual(shell::Manual),
}

/// Why a run ends without an answer.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error("{}", commands::cannot_read(.0, &.1.to_string()))]
    Read(String, std::io::Error),
    #[error("{}", commands::cannot_write_to(.0, &.1.to_string()))]
    WriteTo(String, std::io::Error),
    #[error("{}", commands::cannot_write(&.0.to_string()))]
    Write(#[from] std::io::Error),
    #[error("{}", commands::cannot_write_json(&.0.to_string()))]
    Json(#[from] serde_json::Error),
    #[error("{0}")]
    Usage(String),
    #[error(transparent)]
    Case(#[from] case_file::Trouble),
}

impl Failure {
    /// The program's exit code for it.
    const fn code(&self) -> u8 {
        match self {
            Self::Usage(_) => 2,
            Self::Case(trouble) => trouble.code(),
            _ => 3,
        }
    }
}

/// Runs the program on the process's own arguments, input and output; returns the exit code.
pub fn run() -> u8 {
    let typed = amps::minus_kept(std::env::args_os());
    let arguments = match Arguments::try_parse_from(typed) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Nothing is left to tell it to when even this cannot be written.
            let _ = error.print();
            return u8::from(error.use_stderr()) * 2;
        }
    };
    let screen = screen();
    let out = anstream::AutoStream::auto(std::io::stdout());
    let done = match &arguments.command {
        Command::Check(told) => check::run(told, screen, out),
        Command::Tree(told) => tree::run(told, screen, out),
        Command::Picture(told) => picture::run(told, screen),
        Command::Plan(told) => plan::run(told, screen, out),
        Command::Fmt(told) => fmt::run(told, screen),
        Command::Trace(told) => trace::run(told, screen, out),
        Command::Next(told) => steps::next(told, screen, out),
        Command::Record(told) => steps::record(told, screen, out),
        Command::Undo(told) => steps::undo(told, screen, out),
        Command::Amps(told) => amps::run(told, screen, out),
        Command::Intake(told) => intake::run(told, screen, out),
        Command::New(told) => new::run(told, out),
        Command::Add(told) => add::run(told, screen),
        Command::Rename(told) => rename::run(told, screen),
        Command::Log(told) => log::run(told, screen, out),
        Command::Compare(told) => compare::run(told, screen, out),
        Command::Import(told) => table::import(told, screen),
        Command::Export(told) => table::export(told, screen),
        Command::Why(told) => why::run(told, screen, out),
        Command::Drill(told) => drill::run(told, screen, out),
        Command::Exercise(told) => exercise::run(told, screen, out),
        Command::Class(told) => class::run(told, screen, out),
        Command::Report(told) => report::run(told, screen, out),
        Command::Completions(told) => shell::completions(told, out),
        Command::Manual(told) => shell::manual(told),
    };
    match done {
        Ok(code) => code,
        Err(Failure::Write(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => 0,
        Err(failure) => {
            say(&failure.to_string());
            failure.code()
        }
    }
}

/// For the screen: plain characters where it shows no others.
fn plain(text: &str, screen: Look) -> String {
    if screen.unicode {
        text.to_owned()
    } else {
        crate::render::spelled_plainly(text)
    }
}

/// Tells the person something beside the answer, on standard error.
fn say(text: &str) {
    let mut said = format!("halfsplit: {}", clean(text));
    if std::io::stderr().is_terminal() {
        // Words stay whole, so that a command can be copied.
        let whole = textwrap::Options::new(columns())
            .break_words(false)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        said = textwrap::fill(&said, whole);
    }
    // Nothing is left to tell it to when even this cannot be written.
    let _ = writeln!(anstream::stderr(), "{said}");
}

/// Writes the answer; a reader that has gone away is no failure.
fn answer(out: &mut impl Write, text: &str) -> Result<(), Failure> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(()),
    }
}

/// The tree of a vehicle file; `None` when it has errors, which are then shown on standard error.
fn open_vehicle(file: &Path, screen: Look) -> Result<Option<Feeds>, Failure> {
    let (name, text) = files::read(file)?;
    sound(&name, &text, feeds::load(&text), screen)
}

/// What was read from a file; `None` when it has errors, which are then shown on standard error.
fn sound<T>(
    name: &str,
    text: &str,
    (value, problems): (Option<T>, Vec<Problem>),
    screen: Look,
) -> Result<Option<T>, Failure> {
    if value.is_none() {
        report(name, text, problems, screen)?;
    }
    Ok(value)
}

/// Shows the errors among the problems on standard error.
fn report(name: &str, text: &str, mut problems: Vec<Problem>, screen: Look) -> Result<(), Failure> {
    problems.retain(Problem::is_error);
    let shown = show(name, text, &problems, screen);
    writeln!(anstream::stderr(), "{shown}")?;
    Ok(())
}

/// What an instruments file says is at hand; `None` when it has errors, which are then shown on
/// standard error.
fn open_instruments(file: &Path, screen: Look) -> Result<Option<Instruments>, Failure> {
    let (name, text) = files::read(file)?;
    sound(&name, &text, instruments::read(&text), screen)
}

/// How things are drawn here: a dumb terminal gets plain characters; `NO_COLOR` is heeded.
fn screen() -> Look {
    let plain = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    let terminal = std::io::stdout().is_terminal();
    Look {
        width: columns(),
        colour: terminal && !plain && std::env::var_os("NO_COLOR").is_none(),
        unicode: !plain,
    }
}

/// The rows of the window, else what the shell says in LINES; `None` where what is said goes elsewhere.
fn rows() -> Option<usize> {
    if !std::io::stdout().is_terminal() {
        return None;
    }
    let window = terminal_size::terminal_size().map(|(_, height)| usize::from(height.0));
    let window = window.filter(|rows| *rows > 0);
    window.or_else(|| std::env::var("LINES").ok()?.parse().ok())
}

/// The window's width, else what the shell says in COLUMNS, else 80; 40 to 120.
fn columns() -> usize {
    terminal_size::terminal_size()
        .map(|(width, _)| usize::from(width.0))
        .or_else(|| std::env::var("COLUMNS").ok()?.parse().ok())
        .unwrap_or(80)
        .clamp(40, 120)
}
