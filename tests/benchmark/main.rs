//! How good the plans are and how long they take, in one run: `cargo bench --bench planner`, or one
//! part of it by name: `cargo bench --bench planner -- small`.
//!
//! Vehicles and odds are invented. Ratios depend on the numbers behind the vehicles alone; times on the
//! machine.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

#[path = "../suite/generated.rs"]
#[allow(dead_code)] // the suite uses the rest
mod generated;
#[path = "../suite/invented_tables.rs"]
#[allow(dead_code)]
mod invented_tables;

mod wrong_readings;

use generated::Recipe;
use halfsplit::case::{Case, Setting};
use halfsplit::feeds::{self, PartId};
use halfsplit::instruments::Instruments;
use halfsplit::planner::table::Table;
use halfsplit::planner::{
    Grounds, Habit, chart, choose, exact, floor, habits, proof_minutes, quick_floor,
};
use halfsplit::vehicle::PartKind;
use std::time::Instant;

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    let wanted: Vec<&str> = wanted
        .iter()
        .map(String::as_str)
        .filter(|word| !word.starts_with('-'))
        .collect();
    let parts: [(&str, fn()); 7] = [
        ("small", small),
        ("proven", proven),
        ("large", large),
        ("written", written),
        ("steps", steps),
        ("growth", growth),
        ("wrong", wrong_readings::print),
    ];
    for (name, part) in parts {
        if wanted.is_empty() || wanted.contains(&name) {
            part();
            println!();
        }
    }
}

/// Minutes since then.
fn since(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1e3
}

/// Mean and worst.
#[derive(Default)]
struct Ratios(Vec<f64>);

impl Ratios {
    fn mean(&self) -> f64 {
        self.0.iter().sum::<f64>() / self.0.len() as f64
    }

    fn worst(&self) -> f64 {
        self.0.iter().copied().fold(0.0, f64::max)
    }

    fn show(&self) -> String {
        format!("{:.4} / {:.4}", self.mean(), self.worst())
    }
}

fn planned(table: &Table) -> f64 {
    chart(table, usize::MAX).nodes[0].expected
}

/// What the plan, one step looked ahead, and the habits take, over what no plan can beat.
#[derive(Default)]
struct Against {
    plan: Ratios,
    step: Ratios,
    habits: [Ratios; 4],
}

impl Against {
    fn add(&mut self, table: &Table, plan: f64, least: f64) {
        self.plan.0.push(plan / least);
        self.step.0.push(choose(table).unwrap().expected / least);
        for (habit, minutes) in habits(table) {
            let at = Habit::ALL.iter().position(|h| *h == habit).unwrap();
            self.habits[at].0.push(minutes / least);
        }
    }

    fn show(&self, against: &str) {
        println!("minutes over {against}, mean / worst");
        println!("  the plan               {}", self.plan.show());
        println!("  said beside a step     {}", self.step.show());
        for (habit, ratios) in Habit::ALL.iter().zip(&self.habits) {
            println!("  {:<22} {}", format!("{habit:?}"), ratios.show());
        }
    }
}

/// Vehicles of 6 to 14 loads against the proven optimum.
fn small() {
    let mut against = Against::default();
    let (mut floors, mut quick, mut unproven, mut off) =
        (Ratios::default(), Ratios::default(), 0, 0);
    let mut asked = 0;
    for loads in 6..=14 {
        for seed in 0..25 {
            let table = invented_tables::vehicle(loads, 1_000 + seed);
            asked += 1;
            let Some((_, best)) = exact(&table, 4_000_000_000) else {
                unproven += 1;
                continue;
            };
            let plan = planned(&table);
            off += usize::from((plan - best).abs() > 1e-6 * best);
            floors.0.push(best / floor(&table));
            quick.0.push(best / quick_floor(&table));
            against.add(&table, plan, best);
        }
    }
    println!("== {asked} vehicles of 6 to 14 loads; {unproven} not proven in the work given");
    println!("plans that are not the optimum: {off}");
    against.show("the optimum");
    println!("optimum over the floor       {}", floors.show());
    println!("optimum over the quick floor {}", quick.show());
}

/// How many suspects are searched to the proven best, and in which time.
fn proven() {
    println!("== the step proven to begin the best plan, of 20 vehicles each");
    println!("(with more than 64 suspects no search is made)");
    println!(
        "loads  <= 64 suspects  by choose, mean ms   by plan, mean ms, worst ms   plan / floor"
    );
    for loads in [10, 20, 30, 40, 50, 60] {
        let (mut few, mut by_step, mut by_plan, mut ms) = (0, 0, 0, 0.0);
        let mut plan_ms: Vec<f64> = Vec::new();
        let mut gap = Ratios::default();
        for seed in 0..20 {
            let table = invented_tables::vehicle(loads, 2_000 + seed);
            few += usize::from(table.suspects.len() <= 64);
            let start = Instant::now();
            let choice = choose(&table).unwrap();
            ms += since(start);
            by_step += usize::from(choice.grounds == Grounds::Best);
            let start = Instant::now();
            let plan = chart(&table, usize::MAX);
            plan_ms.push(since(start));
            by_plan += usize::from(plan.proven);
            gap.0.push(plan.nodes[0].expected / floor(&table));
        }
        let worst = plan_ms.iter().copied().fold(0.0, f64::max);
        println!(
            "{loads:>5}  {few:>14}  {by_step:>9} {:>8.1}   {by_plan:>7} {:>8.0} {worst:>9.0}   {}",
            ms / 20.0,
            plan_ms.iter().sum::<f64>() / 20.0,
            gap.show()
        );
    }
}

/// Vehicles of 100 to 800 loads against the floor.
fn large() {
    let (mut against, mut finding) = (Against::default(), Ratios::default());
    println!("== vehicles of 100 to 800 loads");
    println!("loads   plan ms  floor ms  step ms  quick floor ms   plan / floor");
    for loads in [100, 200, 400, 800] {
        for seed in 0..4 {
            let table = invented_tables::vehicle(loads, 3_000 + seed);
            let start = Instant::now();
            let plan = planned(&table);
            let plan_ms = since(start);
            let start = Instant::now();
            let least = floor(&table);
            let floor_ms = since(start);
            let start = Instant::now();
            let _ = choose(&table);
            let step_ms = since(start);
            let start = Instant::now();
            let _ = quick_floor(&table);
            let quick_ms = since(start);
            println!(
                "{loads:>5} {plan_ms:>9.0} {floor_ms:>9.0} {step_ms:>8.1} {quick_ms:>15.1}   {:.4}",
                plan / least
            );
            against.add(&table, plan, least);
            let proofs = proof_minutes(&table);
            finding.0.push((plan - proofs) / (least - proofs));
        }
    }
    against.show("the floor");
    println!("  the plan, proofs left out {}", finding.show());
}

/// Vehicles of 100 to 800 loads as they are written in files, with modules and relays and without:
/// the plan of a case at its first step.
fn written() {
    let (mut against, mut finding) = (Against::default(), Ratios::default());
    println!("== vehicles of 100 to 800 loads, read from files, a settled draw of 900 mA");
    println!("loads  suspects  tests   next ms   plan / floor   proofs left out   next / floor");
    for (at, loads) in [100, 200, 400, 800].into_iter().enumerate() {
        for seed in 0..4 {
            let recipe = Recipe {
                loads,
                modules: seed % 2 == 0,
            };
            let text = generated::vehicle(5_000 + 10 * at as u64 + seed, recipe);
            let feeds = feeds::load(&text).0.unwrap();
            let setting = Setting::new(feeds, Instruments::assumed_meter());
            let mut case = Case::new(&setting);
            case.record("prepared; asleep; draw 900mA sure").unwrap();
            let start = Instant::now();
            let next = case.next();
            let next_ms = since(start);
            let plan = case.plan().unwrap();
            let proofs = proof_minutes(&plan.table);
            let (all, found) = (
                plan.expected / plan.at_least,
                (plan.expected - proofs) / (plan.at_least - proofs),
            );
            println!(
                "{loads:>5} {:>9} {:>6} {next_ms:>9.1}   {all:>12.4} {found:>17.4} {:>14.4}",
                plan.suspects.len(),
                plan.tests.len(),
                next.expected.unwrap() / next.at_least.unwrap(),
            );
            against.add(&plan.table, plan.expected, plan.at_least);
            finding.0.push(found);
        }
    }
    against.show("the floor");
    println!("  the plan, proofs left out {}", finding.show());
}

/// Processor time of this thread in milliseconds, where the system tells it (Linux), so that other work
/// on the machine does not count; else time as it passes.
fn worked(since: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat");
    let first = told
        .ok()
        .and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    first.map_or_else(
        || since.elapsed().as_secs_f64() * 1e3,
        |nanoseconds| nanoseconds / 1e6,
    )
}

/// What a step of a case takes once the files are read, its suspects and the floor beside it included,
/// against reading the vehicle file: at the first step, and after readings of some fuses.
fn steps() {
    const ROUNDS: usize = 9;
    println!("== a step of a case after loading, mean of {ROUNDS}, processor time; 900 mA");
    println!(
        "loads  modules   parts  read ms   first step ms  over reading   after ten readings ms"
    );
    let start = Instant::now();
    for loads in [150, 600, 2_000, 6_000] {
        for modules in [false, true] {
            let text = generated::vehicle(7, Recipe { loads, modules });
            let before = worked(start);
            let feeds = feeds::load(&text).0.unwrap();
            let read = worked(start) - before;
            let parts = feeds.len();
            let fuse = |part: &PartId| feeds.part(*part).kind == PartKind::Fuse;
            let fuses: Vec<String> = feeds
                .parts()
                .filter(fuse)
                .map(|part| feeds.id(part).to_owned())
                .collect();
            let setting = Setting::new(feeds, Instruments::assumed_meter());
            let mut case = Case::new(&setting);
            case.record("prepared; asleep; draw 900mA sure").unwrap();
            let mean = |case: &Case<'_>| {
                let before = worked(start);
                for _ in 0..ROUNDS {
                    std::hint::black_box(case.next());
                }
                (worked(start) - before) / ROUNDS as f64
            };
            let first = mean(&case);
            for fuse in fuses.iter().step_by(1 + fuses.len() / 10) {
                case.record(&format!("drop {fuse} 0.0mV")).unwrap();
            }
            // Else the step only asks for the draw again.
            case.record("draw 900mA sure").unwrap();
            let later = mean(&case);
            println!(
                "{loads:>5}  {modules:>7} {parts:>7} {read:>8.1} {first:>15.1} {:>13.2} {later:>23.1}",
                first / read
            );
        }
    }
}

/// The most memory this process has had since it was last asked, in bytes; `None` where the system does
/// not say.
fn most_memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kilobytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    // Linux: the mark is set back to what is in use now.
    std::fs::write("/proc/self/clear_refs", "5").ok()?;
    Some(kilobytes * 1024.0)
}

/// What something takes of memory beyond what is in use before, for each of so many, in words.
fn memory_of<T>(each: usize, done: impl FnOnce() -> T) -> (T, String) {
    most_memory();
    let before = most_memory();
    let result = done();
    let words = match (before, most_memory()) {
        (Some(before), Some(after)) => format!("{:.0}", (after - before) / each as f64),
        _ => "-".to_owned(),
    };
    (result, words)
}

/// From 1,000 to 1,000,000 parts: reading a file against planning a step from a table of as many loads
/// as that vehicle has.
fn growth() {
    println!("== growth: a step against reading the file, invented vehicles");
    println!("bytes are the most in use at once, for each part, or for each suspect of the table");
    println!(
        "parts     read ms  bytes   whole case: next ms   step from the table ms  bytes   quick floor ms  bytes   step / floor"
    );
    for loads in [600, 6_000, 60_000, 600_000] {
        let recipe = Recipe {
            loads,
            modules: false,
        };
        let text = generated::vehicle(7, recipe);
        let about = 3 * loads / 2;
        let start = Instant::now();
        let (feeds, read_bytes) = memory_of(about, || feeds::load(&text).0.unwrap());
        let read = since(start);
        let parts = feeds.len();
        let next = if parts <= 20_000 {
            let setting = Setting::new(feeds, Instruments::assumed_meter());
            let mut case = Case::new(&setting);
            case.record("prepared; asleep; draw 900mA sure").unwrap();
            let start = Instant::now();
            let _ = case.next();
            format!("{:.1}", since(start))
        } else {
            "-".to_owned()
        };
        let table = invented_tables::vehicle(loads, 7);
        let start = Instant::now();
        let (choice, step_bytes) = memory_of(loads, || choose(&table).unwrap());
        let step = since(start);
        let start = Instant::now();
        let (least, quick_bytes) = memory_of(loads, || quick_floor(&table));
        let quick = since(start);
        println!(
            "{parts:>8} {read:>9.1} {read_bytes:>6} {next:>21} {step:>24.1} {step_bytes:>6} {quick:>16.1} {quick_bytes:>6} {:>14.2}",
            choice.expected / least
        );
    }
}
