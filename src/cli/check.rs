//! `halfsplit check`: what is wrong with a vehicle file, what a colleague would ask, what it holds.

use crate::advice;
use crate::cli::case_file::quoted;
use crate::cli::{Failure, files, say};
use crate::feeds::Checked;
use crate::problem::{Fault, Look, Problem, Severity, nearest, show};
use crate::render::{self, commands};
use clap::Args;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};

/// What `check` is told.
#[derive(Args, Debug)]
pub(super) struct Check {
    /// The vehicle file
    #[arg(required_unless_present = "explain")]
    vehicle: Option<PathBuf>,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
    /// Say what a code means and what to do about it; `all` lists the codes
    #[arg(long, value_name = "CODE", conflicts_with_all = ["vehicle", "json"])]
    explain: Option<String>,
}

/// Shows all there is; the exit code is 1 for errors alone.
pub(super) fn run(told: &Check, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let Some(file) = &told.vehicle else {
        let code = told.explain.as_deref().unwrap_or("all");
        write!(out, "{}", explained(code, screen.width)?)?;
        out.flush()?;
        return Ok(0);
    };
    let (name, text) = files::read(file)?;
    let (feeds, problems) = advice::look_over(&text);
    if told.json {
        let row = serde_json::to_string(&Checked::of(&text, &problems, feeds.as_ref()))?;
        writeln!(out, "{row}")?;
        out.flush()?;
        return Ok(u8::from(problems.iter().any(Problem::is_error)));
    }
    let (drawn, left_out) = few_of_each(&problems);
    let mut text = show(&name, &text, &drawn, screen);
    text.push_str(&render::also_asked(&drawn, &left_out, screen.width));
    if !text.is_empty() {
        text.push('\n');
    }
    if let Some(feeds) = &feeds {
        text.push_str(&render::check(feeds, screen.width));
    }
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(u8::from(problems.iter().any(Problem::is_error)))
}

/// Says that `check` has questions about a vehicle file that was just written, where it has.
pub(super) fn questions_left(text: &str, file: &Path) {
    let (_, problems) = advice::look_over(text);
    let asked = problems.iter().filter(|p| p.severity == Severity::Advice);
    let many = asked.count();
    if many == 0 {
        return;
    }
    let file = if files::is_stream(file) {
        "FILE".to_owned()
    } else {
        quoted(&file.display().to_string())
    };
    say(&commands::questions_left(many, &file));
}

/// The problems to draw, and how many more of each code are asked: a hundred loads without a plug would
/// hide everything else.
fn few_of_each(problems: &[Problem]) -> (Vec<Problem>, BTreeMap<&'static str, usize>) {
    const DRAWN: usize = 3;
    let (mut met, mut left_out) = (BTreeMap::new(), BTreeMap::new());
    let mut drawn = Vec::new();
    for problem in problems {
        if problem.severity == Severity::Advice {
            let met: &mut usize = met.entry(problem.code).or_default();
            *met += 1;
            if *met > DRAWN {
                *left_out.entry(problem.code).or_default() += 1;
                continue;
            }
        }
        drawn.push(problem.clone());
    }
    (drawn, left_out)
}

/// What a code means; `all` lists the codes.
fn explained(code: &str, width: usize) -> Result<String, Failure> {
    if code == "all" {
        return Ok(render::codes(width));
    }
    if let Some(fault) = Fault::with_code(code) {
        return Ok(render::explain(fault, width));
    }
    let near = nearest(code, Fault::ALL.iter().map(|fault| fault.code()));
    Err(Failure::Usage(commands::no_such_code(code, near)))
}
