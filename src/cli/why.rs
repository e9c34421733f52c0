//! `halfsplit why`: the readings and sums behind a part's state.

use crate::case::Setting;
use crate::cli::case_file::{Access, quoted};
use crate::cli::opening::{Given, Opened, open};
use crate::cli::{Failure, answer, say};
use crate::problem::Look;
use crate::render::{self, commands};
use crate::report::{About, reasons};
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `why` is told.
#[derive(Args, Debug)]
pub(super) struct Why {
    /// The case file
    case: PathBuf,
    /// A part, plug, module, network or input, or `draw`: is anything left? Needs no quotes
    #[arg(required = true)]
    part: Vec<String>,
    #[command(flatten)]
    given: Given,
    /// Print one JSON object instead
    #[arg(long)]
    json: bool,
}

/// Says why a part is in its state.
pub(super) fn run(told: &Why, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let Some(Opened {
        file,
        basis,
        setting,
    }) = open(&told.case, &told.given, Access::Show, screen)?
    else {
        return Ok(1);
    };
    let name = told.part.join(" ");
    if asks_of_draw(&setting, &name) && !told.json {
        let case = file.case(&setting)?;
        file.notes(&basis).iter().for_each(|note| say(note));
        answer(&mut out, &render::why_draw(&case, screen.width))?;
        return Ok(0);
    }
    let Some(about) = About::named(&setting, &name) else {
        return Err(Failure::Usage(unknown(told, &name, &setting)));
    };
    let case = file.case(&setting)?;
    file.notes(&basis).iter().for_each(|note| say(note));
    let mended = case.before_repair();
    if mended.is_some() {
        say(render::AS_BEFORE_REPAIR);
    }
    let case = mended.unwrap_or(case);
    let found = reasons(&case, about);
    let text = if told.json {
        let object = render::why_json(&found, &case);
        format!("{}\n", serde_json::to_string(&object)?)
    } else {
        render::why_text(&found, &case, screen.width)
    };
    answer(&mut out, &text)?;
    Ok(0)
}

/// Whether the draw is meant, and what is left of it: a name of the vehicle comes first.
pub(super) fn asks_of_draw(setting: &Setting, name: &str) -> bool {
    let meant = ["draw", "left", "total"].contains(&name.to_lowercase().as_str());
    meant && About::named(setting, name).is_none()
}

fn unknown(told: &Why, name: &str, setting: &Setting) -> String {
    let near = setting.nearest_name(name);
    let case = quoted(&told.case.display().to_string());
    let works = quoted(near);
    commands::no_such_part(name, &case, &works)
}
