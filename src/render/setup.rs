//! How an instrument is set up for a test, in words: its range and what a step of it is worth, what to
//! zero, how many turns, what its jack takes and does to the vehicle, the way in and the way out.
//!
//! What stands from the readings before is not said again: [`Earlier`] holds them.

use crate::case::{Case, Setting, TestPlan};
use crate::feeds::{Feeds, PartId, PlaceId};
use crate::instruments::Clamp;
use crate::journal::{Act, By, Point};
use crate::measurement::{self, Jack, Method, Way, lets_in, range_of};
use crate::quantity::{Milliamps, Milliohms};
use crate::render::amps::figures;
use crate::render::answer::current;
use crate::render::cautions::{at_the_place, once_a_case};
use crate::render::words::plain;

/// The part at which one stands for a point.
fn part_of(point: &Point, feeds: &Feeds) -> Option<PartId> {
    match point {
        Point::Part(part) => Some(*part),
        Point::Plug(_, parts) => parts.first().copied(),
        Point::Module(module) => feeds.module_feeds(*module).first().copied(),
        _ => None,
    }
}

/// Whether something is let in for a test.
pub(super) fn let_in(test: &TestPlan, way: Way, setting: &Setting) -> bool {
    test.part
        .is_some_and(|part| lets_in(&setting.feeds, &setting.instruments, part, test.method, way))
}

/// The range of a meter's jack.
/// The clamp, where it is read on the meter: millivolts and the current they mean.
fn scaled(setting: &Setting) -> Option<Clamp> {
    setting
        .instruments
        .clamp
        .filter(|clamp| clamp.scale.is_some())
}

/// What the display shows in mV where a clamp is read on the meter, for a current it shows.
pub(super) fn on_display(test: &TestPlan, setting: &Setting, milliamps: f64) -> Option<f64> {
    let clamp = scaled(setting).filter(|_| matches!(test.way, Some(Way::Clamp { .. })))?;
    Some(milliamps / clamp.milliamps_per_millivolt()?)
}

/// What an instrument was set up for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Use {
    Millivolts,
    Volts,
    Series(Jack),
    Clamp { turns: u32 },
}

impl Use {
    fn of(method: Method, way: Option<Way>) -> Option<Self> {
        match (method, way) {
            (_, Some(Way::Clamp { turns })) => Some(Self::Clamp {
                turns: turns.max(1),
            }),
            (_, Some(Way::Series(Jack::MilliA))) => Some(Self::Series(Jack::MilliA)),
            (_, Some(Way::Series(_))) => Some(Self::Series(Jack::A)),
            (Method::Drop, None) => Some(Self::Millivolts),
            (Method::Volts, None) => Some(Self::Volts),
            _ => None,
        }
    }
}

/// What the instruments were used for before, by the readings that count: what was said of it then is
/// not said again.
#[derive(Clone, Debug, Default)]
pub(super) struct Earlier {
    /// In order.
    used: Vec<Use>,
    /// What was said of care that is said once in a case.
    said: Vec<&'static str>,
    /// The draw was read by a clamp, and with the meter in the negative lead.
    drawn: [bool; 2],
    /// It was waited for sleep.
    slept: bool,
    /// The entry before was a look.
    looked: bool,
    /// Where the reading or the handling before was.
    at: Option<PlaceId>,
    /// The branches that were told to be up together.
    pub(super) together: Vec<PartId>,
}

impl Earlier {
    /// All that was read in a case.
    pub(super) fn in_case(case: &Case<'_>) -> Self {
        let counting = case.counting();
        let stands = |number: u32| counting.binary_search(&number).is_ok();
        let entries = case.entries().iter().filter(|entry| stands(entry.number));
        let used = entries.filter_map(|entry| match &entry.act {
            Act::Read {
                method, options, ..
            } => {
                let clamp = *method == Method::Clamp || options.by == Some(By::Clamp);
                let series = *method == Method::Series || options.by == Some(By::Series);
                let way = if clamp {
                    let turns = options.turns.unwrap_or(1);
                    Some(Way::Clamp { turns })
                } else if series {
                    Some(Way::Series(options.jack.unwrap_or(Jack::A)))
                } else {
                    None
                };
                Use::of(*method, way)
            }
            _ => None,
        });
        let used = used.collect();
        let feeds = &case.setting().feeds;
        let entries = case.entries().iter().filter(|entry| stands(entry.number));
        let handled = entries.flat_map(|entry| match &entry.act {
            Act::Read { method, point, .. } => vec![(*method, part_of(point, feeds))],
            Act::Look { point, .. } => vec![(Method::Look, part_of(point, feeds))],
            Act::Unplug(points) => points
                .iter()
                .map(|point| (Method::Unplug, part_of(point, feeds)))
                .collect(),
            _ => Vec::new(),
        });
        let handled: Vec<(Method, Option<PartId>)> = handled.collect();
        let at = case.entries().last().filter(|last| stands(last.number));
        let at = at.and_then(|last| match &last.act {
            Act::Read { method, point, .. } if *method != Method::Draw => part_of(point, feeds),
            Act::Look { point, .. } => part_of(point, feeds),
            _ => None,
        });
        let at = at.and_then(|part| feeds.place(part));
        let said = handled.into_iter().flat_map(|(method, part)| {
            let mut said: Vec<&'static str> = Vec::new();
            if let Some(part) = part {
                said.extend(once_a_case(method, part, feeds));
                said.extend(at_the_place(method, feeds.place(part), &[part], feeds));
            }
            said
        });
        let said = said.collect();
        let done = |is: &dyn Fn(&Act) -> bool| {
            let mut entries = case.entries().iter();
            entries.any(|entry| stands(entry.number) && is(&entry.act))
        };
        let drawn = |by: By, act: &Act| match act {
            Act::Read {
                method, options, ..
            } => *method == Method::Draw && options.by == Some(by),
            _ => false,
        };
        Self {
            used,
            said,
            drawn: [By::Clamp, By::Series].map(|by| done(&|act| drawn(by, act))),
            slept: done(&|act| *act == Act::Asleep),
            at,
            looked: case
                .entries()
                .last()
                .is_some_and(|last| matches!(last.act, Act::Look { .. })),
            together: Vec::new(),
        }
    }

    /// Whether the draw was read before in the way of this test.
    pub(super) const fn has_drawn(&self, test: &TestPlan) -> bool {
        let [clamp, series] = self.drawn;
        match test.way {
            Some(Way::Series(_)) => series,
            _ => clamp,
        }
    }

    /// Whether the hands were at this place at the step before.
    pub(super) fn was_at(&self, place: PlaceId) -> bool {
        self.at == Some(place)
    }

    /// Whether the step before was a look.
    pub(super) const fn has_just_looked(&self) -> bool {
        self.looked
    }

    /// Whether it was waited for sleep before.
    pub(super) const fn has_slept(&self) -> bool {
        self.slept
    }

    /// Whether a caution was said before in the case, where that is enough.
    pub(super) fn said(&self, caution: &str) -> bool {
        self.said.contains(&caution)
    }

    /// Whether the same instrument stands ready from the reading before.
    fn stands(&self, test: &TestPlan) -> bool {
        let now = Use::of(test.method, test.way);
        now.is_some() && self.used.last().copied() == now
    }

    /// Whether it was used so at all.
    pub(super) fn knows(&self, test: &TestPlan) -> bool {
        Use::of(test.method, test.way).is_some_and(|now| self.used.contains(&now))
    }

    /// Whether the red lead is in V from the reading before.
    fn in_volts(&self) -> bool {
        matches!(self.used.last(), Some(Use::Millivolts | Use::Volts))
    }
}

/// Which instrument, jack and range, and what one step is worth; of what stands from the reading before
/// only what is another here. `None` without an instrument.
pub(super) fn with(test: &TestPlan, setting: &Setting, earlier: &Earlier) -> Option<String> {
    let meter = setting.instruments.meter;
    match (test.method, test.way) {
        (_, Some(Way::Clamp { .. })) if earlier.stands(test) => Some("clamp, as before".to_owned()),
        (_, Some(Way::Clamp { turns })) => Some(clamp_words(setting, turns)),
        (_, Some(Way::Series(jack))) => {
            let (jack, name) = match jack {
                Jack::MilliA => (Jack::MilliA, "mA"),
                _ => (Jack::A, "A"),
            };
            let range = range_of(jack, &setting.instruments).filter(|_| !earlier.knows(test));
            let step = range.map_or_else(String::new, |range| {
                format!(", steps of {} mA", plain(range.step.value()))
            });
            // The red lead went back to V in between, so the jack is said every time.
            Some(format!(
                "meter, red lead in the {name} jack, range {name} DC{step}"
            ))
        }
        (Method::Drop, _) => {
            let step = meter.and_then(|m| m.millivolts).map(|range| range.step);
            let feeds = &setting.feeds;
            let across = test
                .part
                .and_then(|part| measurement::resistance(feeds, part));
            let worth = step.zip(across).map_or_else(String::new, |(step, across)| {
                format!(
                    "; {} mV is about {} here",
                    plain(step.value()),
                    current((step / across.nominal).value())
                )
            });
            Some(if earlier.stands(test) {
                format!("meter, as before{worth}")
            } else if earlier.in_volts() {
                format!("meter, back to mV DC{worth}")
            } else {
                format!("meter, red lead in the V jack, range mV DC{worth}")
            })
        }
        (Method::Volts, _) => Some(if earlier.stands(test) {
            "meter, as before".to_owned()
        } else if earlier.in_volts() {
            "meter, to V DC".to_owned()
        } else {
            "meter, red lead in the V jack, range V DC".to_owned()
        }),
        _ => None,
    }
}

fn clamp_words(setting: &Setting, turns: u32) -> String {
    let turned = match turns {
        0 | 1 => String::new(),
        more => format!("; {more} turns show {more} times the current"),
    };
    if let Some((voltage, means)) = scaled(setting).and_then(|clamp| clamp.scale) {
        return format!(
            "clamp read on the meter, red lead in the V jack, range mV DC; {} mV is {} mA: type what the display shows, in mV{turned}",
            plain(voltage.value()),
            plain(means.value())
        );
    }
    let step = setting.instruments.clamp.map(|clamp| clamp.range.step);
    let step = step.map_or_else(String::new, |step| {
        format!(", steps of {} mA", plain(step.value()))
    });
    format!("clamp, DC{step}{turned}")
}

/// Below this step, in mV, joints of unlike metals count: they give about 3 microvolts a kelvin (from memory).
const FINE: f64 = 0.1;

/// Whether the meter shows what joints of unlike metals give.
pub(super) fn is_fine(setting: &Setting) -> bool {
    let range = setting.instruments.meter.and_then(|m| m.millivolts);
    range.is_some_and(|range| range.step.value() < FINE - 1e-9)
}

/// What is done before the reading, in order; what was done for one before is not said again, and what
/// has to be done for each is said short.
pub(super) fn first(test: &TestPlan, setting: &Setting, earlier: &Earlier) -> Vec<String> {
    let mut list = Vec::new();
    if let Some(way) = test.way.filter(|way| let_in(test, *way, setting)) {
        list.extend(way_in(test, way, setting));
    }
    match (test.method, test.way) {
        (Method::Drop, _) if earlier.knows(test) => {
            let both = is_fine(setting).then(|| "Both ways round again, and type both.".to_owned());
            list.extend(both);
        }
        // The caution of a clamp round one wire says to zero it.
        (_, Some(Way::Clamp { turns })) if earlier.knows(test) => {
            let looped = (turns > 1).then(|| "Zero it again just before the reading.".to_owned());
            list.extend(looped);
        }
        (Method::Draw, Some(Way::Series(_))) if earlier.knows(test) => {}
        (Method::Drop, _) => {
            list.push(if is_fine(setting) {
                "Zero the leads, then read with the probes both ways round and type both: half the difference counts (joints of unlike metals add microvolts of their own)."
            } else {
                "Zero the leads: probe tips together, take off what they show."
            }.to_owned());
        }
        (_, Some(Way::Clamp { .. })) => {
            let drift = setting
                .instruments
                .clamp
                .map_or(0.0, |clamp| clamp.drift.value());
            let counted = if drift > 0.0 {
                format!(" {} mA of that are counted.", plain(drift))
            } else {
                String::new()
            };
            list.push(format!(
                "Zero it in place, the way round it will read: it drifts with warmth and position.{counted} Wire in the middle; if the zero wanders, work the jaws and zero again."
            ));
        }
        (Method::Draw, Some(Way::Series(jack))) => {
            list.extend(limits(jack, setting));
        }
        _ => {}
    }
    list
}

/// What a jack takes, and what its resistance does.
fn limits(jack: Jack, setting: &Setting) -> Option<String> {
    let range = range_of(jack, &setting.instruments)?;
    let takes = range.most.map(|most| {
        // What blows the fuse of the mA jack is said with its caution.
        let wakes = match jack {
            Jack::MilliA => "",
            _ => ": as it wakes more can flow (20 A seen), so bridge on before anything is opened",
        };
        format!("This jack takes {}{wakes}.", ampere_words(most))
    });
    let burden = range.burden.zip(range.most).map(|(burden, most)| {
        format!(
            "Its {} take up to {} V off the supply: a module may reset or wake.",
            ohms(burden),
            figures((most * burden).value() / 1000.0)
        )
    });
    let both: Vec<String> = takes.into_iter().chain(burden).collect();
    (!both.is_empty()).then(|| both.join(" "))
}

fn ampere_words(most: Milliamps) -> String {
    if most.value() >= 1000.0 {
        format!("{} A", plain(most.value() / 1000.0))
    } else {
        format!("{} mA", plain(most.value()))
    }
}

fn ohms(burden: Milliohms) -> String {
    if burden.value() >= 100.0 {
        format!("{} Ohm", plain(burden.value() / 1000.0))
    } else {
        format!("{} mOhm", plain(burden.value()))
    }
}

/// How something is let in in the place of a fuse.
fn way_in(test: &TestPlan, way: Way, setting: &Setting) -> Vec<String> {
    let id = test.part.map_or("", |part| setting.feeds.id(part));
    let settle = plain(setting.feeds.settle().value());
    let mut list = Vec::new();
    match way {
        Way::Clamp { turns } => {
            let (of, round) = match turns {
                0 | 1 => ("one turn".to_owned(), "jaws round it".to_owned()),
                more => (
                    format!("{more} turns"),
                    format!("jaws round all {more} turns"),
                ),
            };
            list.push(format!(
                "{id} out, loop lead of {of} into its holder, fused no higher, {round}; when it is read, loop out and {id} back in."
            ));
        }
        Way::Series(jack) => {
            list.push(format!(
                "{id} out, meter into its holder by a fused lead, A jack first."
            ));
            if jack == Jack::MilliA {
                list.push("Once it sleeps: bridge the holder, red lead to the mA jack, bridge off; never the mA jack first: a module that wakes blows its fuse.".to_owned());
            }
            list.extend(limits(jack, setting));
        }
    }
    list.push(format!(
        "That breaks the supply. Wait until it sleeps again, {settle} min if it woke, and only then read."
    ));
    list
}
