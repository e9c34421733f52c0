//! Whole sessions, looked at: on every sample vehicle from nothing to the proof, 60 and 100 columns
//! wide, with lines that fit and plain characters where only those show.

use crate::driver::{Driver, Manner, part, sample};
use crate::trace::{Bench, Run};
use halfsplit::case::State;
use halfsplit::feeds::Named;
use halfsplit::instruments;
use halfsplit::quantity::Milliamps;
use halfsplit::simulation::Drain;

/// A vehicle, what is at hand, what is hidden in it, and how the person works.
pub(crate) struct Story {
    vehicle: &'static str,
    instruments: &'static str,
    /// A part and what it takes; without a current a module that holds its partners awake.
    hidden: &'static [(&'static str, Option<f64>)],
    manner: Manner,
}

/// Together they show every kind of step that is proposed.
pub(crate) const STORIES: [Story; 6] = [
    Story {
        vehicle: "quarto-van.ron",
        instruments: "meter-and-clamp.ron",
        hidden: &[("fan", Some(600.0))],
        manner: Manner::Plain,
    },
    Story {
        vehicle: "teaching-board.ron",
        instruments: "plain-meter.ron",
        hidden: &[("blower", Some(600.0)), ("siren", Some(300.0))],
        manner: Manner::Plain,
    },
    Story {
        vehicle: "hatchback.ron",
        instruments: "plain-meter.ron",
        hidden: &[("radio", None)],
        manner: Manner::Plain,
    },
    Story {
        vehicle: "pickup.ron",
        instruments: "plain-meter.ron",
        hidden: &[("bonnet lamp", Some(600.0))],
        manner: Manner::Skips(2),
    },
    Story {
        vehicle: "large-van.ron",
        instruments: "meter-and-clamp.ron",
        hidden: &[("reversing sounder", Some(450.0))],
        manner: Manner::Plain,
    },
    Story {
        vehicle: "coach.ron",
        instruments: "fine-meter-clamp-loop.ron",
        hidden: &[("screens", Some(600.0))],
        manner: Manner::Plain,
    },
];

impl Story {
    pub(crate) fn name(&self) -> &'static str {
        self.vehicle.trim_end_matches(".ron")
    }

    /// What a truthful person types, a line a step.
    pub(crate) fn typed(&self) -> String {
        let mut setting = sample(self.name());
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("sample-vehicles/instruments")
            .join(self.instruments);
        let text = std::fs::read_to_string(file).unwrap();
        setting.instruments = instruments::read(&text).0.unwrap();
        let hidden = self.hidden.iter().map(|(id, takes)| match takes {
            Some(ma) => Drain::Takes(part(&setting, id), Milliamps::of(*ma)),
            None => match setting.feeds.find(id) {
                Some(Named::Module(module)) => Drain::HeldBy(*module),
                other => panic!("{id} is {other:?}"),
            },
        });
        let outcome = Driver::quiet(&setting, hidden.collect(), 11).run_as(self.manner);
        assert_eq!(outcome.state, State::Confirmed, "{:#?}", outcome.log);
        outcome.entries.join("\n") + "\n"
    }

    /// What stands behind `trace`.
    pub(crate) const fn arguments(&self) -> [&'static str; 3] {
        [self.vehicle, "--instruments", self.instruments]
    }

    /// The session through a pipe.
    pub(crate) fn played(&self, typed: &str, columns: usize, dumb: bool) -> Run {
        let bench = Bench::new();
        Run::of(bench.start(&self.arguments(), columns, dumb), typed)
    }
}

/// A command to copy, behind its head or on a line of its own.
pub(crate) fn is_command(line: &str) -> bool {
    line.starts_with("go on ") || line.starts_with("halfsplit ")
}

fn fits(story: &Story, run: &Run, columns: usize) {
    let name = story.name();
    assert_eq!(
        (run.code, run.err.as_str()),
        (Some(0), ""),
        "{name}: {}",
        run.out
    );
    assert!(!run.out.contains("not taken"), "{name}: {}", run.out);
    assert!(run.out.contains(" PROVEN "), "{name}: {}", run.out);
    assert!(!run.out.contains('\u{1b}'), "{name}: {}", run.out);
    // A command to copy is never broken.
    for line in run.out.lines().filter(|line| !is_command(line)) {
        assert!(line.chars().count() <= columns, "{name}: {line}");
        assert_eq!(line.trim_end(), line, "{name}");
    }
}

/// Rows of a low window, but for the prompt.
const ROWS: usize = 23;

/// Steps of a session that do not fit a window of 60 columns and 24 rows: their first lines.
fn too_long(out: &str) -> Vec<String> {
    let steps = out.split("\n── ").skip(1);
    // What is kept of the entry stands below the step it answers.
    let own = steps.map(|step| step.split("\n\n").next().unwrap());
    let is_entry = |line: &&str| {
        let number = line.get(..4).unwrap_or_default().trim();
        number.parse::<u32>().is_ok()
    };
    let of_step = |step: &str| step.lines().take_while(|line| !is_entry(line)).count();
    own.filter(|step| of_step(step) > ROWS)
        .map(|step| step.lines().next().unwrap().to_owned())
        .collect()
}

#[test]
fn every_sample_vehicle_is_looked_at() {
    let mut long = Vec::new();
    for story in STORIES {
        let typed = story.typed();
        for columns in [60, 100] {
            let run = story.played(&typed, columns, false);
            fits(&story, &run, columns);
            if columns == 60 {
                let steps = too_long(&run.out).into_iter();
                long.extend(steps.map(|step| format!("{} {step}", story.name())));
            }
            insta::assert_snapshot!(format!("{}_{columns}", story.name()), run.out);
        }
        // On a dumb terminal the same in plain characters.
        let run = story.played(&typed, 60, true);
        fits(&story, &run, 60);
        assert!(run.out.is_ascii(), "{}: {}", story.name(), run.out);
    }
    assert_eq!(long, Vec::<String>::new());
}
