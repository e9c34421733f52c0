//! `halfsplit plan`: the whole decision chart from here, its minutes, and the floor under any plan.

use crate::case::{Case, Setting, State};
use crate::cli::case_file::{self, Access};
use crate::cli::opening::{Given, Opened, open, setting_of};
use crate::cli::{Failure, answer, files, intake, say};
use crate::interval::Interval;
use crate::problem::Look;
use crate::quantity::Milliamps;
use crate::render::{self, Extent, PlanScene, commands};
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// What `plan` is told.
#[derive(Args, Debug)]
pub(super) struct Plan {
    /// The vehicle file, or a case file: then the plan goes on from there
    #[arg(value_name = "VEHICLE|CASE")]
    file: PathBuf,
    #[command(flatten)]
    given: Given,
    /// The settled draw to plan for where none was read yet, such as 640mA; without it ten times the
    /// vehicle's limit
    #[arg(long, value_name = "CURRENT", value_parser = intake::draw)]
    draw: Option<Interval<Milliamps>>,
    /// Show every step that is at most so many steps from the start; without it the likeliest ones
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    depth: Option<u16>,
    /// Draw the chart into a file instead, for the wall: SVG, or HTML by its ending, on A4; one page
    /// without --depth; `-` is standard output
    #[arg(long, value_name = "FILE", conflicts_with_all = ["json", "compare"])]
    out: Option<PathBuf>,
    /// Set beside it what the habits of the trade would take
    #[arg(long)]
    compare: bool,
    /// Print one JSON object instead, with the whole chart
    #[arg(long)]
    json: bool,
    /// Add the planner's table to the JSON, from which plan and floor can be worked out again
    #[arg(long, requires = "json")]
    table: bool,
}

/// The draw supposed where none is given, in limits of the vehicle (judgement: far enough above it that
/// the instruments tell a branch that carries it from one that does not).
const SUPPOSED: f64 = 10.0;
/// The same in mA where no limit is known (judgement).
const SUPPOSED_WITHOUT_LIMIT: f64 = 1_000.0;

/// Plans; exit code 1 when the vehicle has errors, or the readings contradict each other or decide
/// nothing.
pub(super) fn run(told: &Plan, screen: Look, out: impl Write) -> Result<u8, Failure> {
    if !case_file::is_case(&told.file) {
        let Some(setting) = setting_of(&told.file, &told.given, screen)? else {
            return Ok(1);
        };
        return show(told, &Case::new(&setting), screen, out);
    }
    let Some(Opened {
        file,
        basis,
        setting,
    }) = open(&told.file, &told.given, Access::Look, screen)?
    else {
        return Ok(1);
    };
    let case = file.case(&setting)?;
    file.notes(&basis).iter().for_each(|note| say(note));
    show(told, &case, screen, out)
}

/// The case to plan from, and whether its draw is only supposed.
fn start<'s>(told: &Plan, case: &Case<'s>) -> Result<(Case<'s>, bool), Failure> {
    if case.has_draw() {
        if told.draw.is_some() {
            return Err(Failure::Usage(commands::draw_is_read_already()));
        }
        return Ok((case.clone(), false));
    }
    let limit = case.setting().limit();
    let draw = match told.draw {
        Some(draw) => f64::midpoint(draw.low(), draw.high()),
        None if limit.is_finite() => SUPPOSED * limit,
        None => SUPPOSED_WITHOUT_LIMIT,
    };
    let supposed = case
        .supposing(Milliamps::of(draw))
        .map_err(|refusal| Failure::Usage(commands::no_plan_for(draw, &refusal.wrong)))?;
    Ok((supposed, true))
}

fn show(told: &Plan, case: &Case<'_>, screen: Look, mut out: impl Write) -> Result<u8, Failure> {
    let setting: &Setting = case.setting();
    let (case, supposed) = start(told, case)?;
    let Some(planned) = case.plan() else {
        let next = case.next();
        let text = if told.json {
            format!(
                "{}\n",
                serde_json::to_string(&render::no_plan_json(&next, setting))?
            )
        } else {
            render::no_plan(&next, setting, screen.width)
        };
        answer(&mut out, &text)?;
        let negative = matches!(next.state, State::Contradiction | State::Undecidable);
        return Ok(u8::from(negative));
    };
    if !setting.limit().is_finite() {
        say(&commands::no_limit_known());
    }
    let depth = told.depth.map(usize::from);
    if let Some(file) = &told.out {
        let draw = if files::is_page(file) {
            render::plan_drawing_html
        } else {
            render::plan_drawing
        };
        files::write(file, &draw(&planned, setting, supposed, depth))?;
        return Ok(0);
    }
    let habits = told.compare.then(|| planned.habits());
    let text = if told.json {
        let habits = habits.as_deref();
        let object = render::plan_json(&planned, setting, supposed, habits, told.table);
        format!("{}\n", serde_json::to_string(&object)?)
    } else {
        let scene = PlanScene {
            supposed,
            extent: depth.map_or(Extent::Likeliest(render::ON_A_SCREEN), Extent::Depth),
            habits: habits.as_deref(),
            width: screen.width,
            unicode: screen.unicode,
        };
        render::plan(&planned, setting, scene)
    };
    answer(&mut out, &text)?;
    Ok(0)
}
