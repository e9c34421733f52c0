//! A truthful driver: it hides drains, answers what `next` asks, and counts.

use crate::generated::{Dice, Recipe, vehicle};
use halfsplit::case::{Case, Next, Reason, Setting, State, TestPlan};
use halfsplit::feeds::{Feeds, Named, PartId, load};
use halfsplit::instruments::{self, Clamp, Instruments, Range};
use halfsplit::interval::Interval;
use halfsplit::measurement::{Jack, Method, Reading, Unit, Way, current_by, resistance};
use halfsplit::planner::Habit;
use halfsplit::quantity::Milliamps;
use halfsplit::render::next_json;
use halfsplit::simulation::{Drain, Simulated, shown};
use halfsplit::vehicle::{PartKind, Rest};
use std::collections::BTreeSet;

/// What came of one hidden fault.
#[derive(Debug)]
pub(crate) struct Outcome {
    pub(crate) state: State,
    pub(crate) found: Vec<String>,
    /// What was named at the end without a proof.
    pub(crate) located: Vec<String>,
    pub(crate) steps: usize,
    pub(crate) minutes: f64,
    /// What was typed, in canonical words.
    pub(crate) entries: Vec<String>,
    pub(crate) log: Vec<String>,
}

/// How a person works through a case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Manner {
    /// Does what is asked.
    Plain,
    /// Cannot get at the first this many points that are to be read.
    Skips(usize),
    /// Reads the drop across these before doing what is asked.
    OwnChoice(&'static [&'static str]),
    /// Types something wrong before every entry.
    Slips,
    /// Takes every entry back once and types it again.
    Undoes,
    /// Is broken off after every entry and opens the case again.
    BrokenOff,
    /// The first thing that is taken out makes the fault go away.
    LosesIt,
    /// The first probe that should show something is off its tab; where readings clash, it is read again.
    ProbeOff,
    /// Follows a habit of the trade wherever there is something to search.
    ByHabit(Habit),
}

/// Lines that are never taken, whatever the vehicle.
const SLIPS: [&str; 7] = [
    "drop F9999 2.1mV",
    "drop",
    "dorp F3 2.1mV",
    "draw 640",
    "draw 1,200mA",
    "volts battery 12.4mA",
    "refit F9999",
];

/// Whether a current is read at a part so.
fn at_a_part(method: Method) -> bool {
    matches!(method, Method::Drop | Method::Clamp | Method::Series)
}

/// Whether a reading is checked.
fn is_again(next: &Next) -> bool {
    matches!(
        next.reason,
        Reason::ZeroAgain
            | Reason::ShutAgain
            | Reason::ReadAgain
            | Reason::MuchHangs(_)
            | Reason::CarriesElsewhere(_)
            | Reason::LessAbove(..)
    ) || matches!(next.reason, Reason::DoesNotAddUp(_))
        && next
            .test
            .as_ref()
            .is_some_and(|t| t.method != Method::Volts)
}

/// Whether a reading is asked for that tells only if the drain takes more than the least.
fn may_tell(next: &Next) -> bool {
    matches!(next.reason, Reason::MayTell(_) | Reason::BeforeLeaving(_))
}

/// A reading that is asked for shows on its instrument whether the drain is there.
fn can_tell(next: &Next, log: &[String]) {
    let Some(test) = &next.test else { return };
    if next.state != State::Measure || !at_a_part(test.method) || is_again(next) || may_tell(next) {
        return;
    }
    let expect = test.expect.unwrap_or_else(|| panic!("{test:?}"));
    let apart = expect.carrying.0 > expect.not.1;
    assert!(apart, "blind: {test:?}\n{log:#?}");
}

/// What is taken out for a proof could be proven: with what is at hand, a draw of nothing would be a fall of
/// at least 5 mA, the least that ever matters.
fn a_fall_can_tell(case: &Case<'_>, next: &Next, log: &[String]) {
    if next.reason != Reason::Prove {
        return;
    }
    let nothing = Reading {
        low: 0.0,
        high: 0.0,
        unit: Unit::Milliamps,
        step: 0.0,
        over: false,
    };
    let ways = [
        Way::Clamp { turns: 1 },
        Way::Series(Jack::A),
        Way::Series(Jack::MilliA),
    ];
    let hides = |way| current_by(way, nothing, &case.setting().instruments);
    let hides = ways.into_iter().filter_map(hides).map(Interval::high);
    let hides = hides.fold(f64::INFINITY, f64::min);
    let before = case.standing()[0].2;
    assert!(
        before.low() - hides >= 5.0,
        "no fall: {before:?}, {hides} mA: {next:?}\n{log:#?}"
    );
}

/// Nothing is asked for twice with the same proven, but a zero that a verdict rests on.
fn never_twice(
    asked: &mut BTreeSet<(String, bool, usize)>,
    next: &Next,
    entry: &str,
    log: &[String],
) {
    let again = is_again(next);
    let what = entry.rsplit_once(' ').expect("a reading").0.to_owned();
    assert!(
        asked.insert((what, again, next.found.len())),
        "asked twice: {entry}\n{log:#?}"
    );
}

/// A person who does what is asked and reads truthfully, within the stated accuracy.
pub(crate) struct Driver<'s> {
    setting: &'s Setting,
    vehicle: Simulated<'s>,
    dice: Dice,
    /// How far each fuse is off its nominal resistance.
    off: Vec<f64>,
}

impl<'s> Driver<'s> {
    pub(crate) fn new(setting: &'s Setting, drains: Vec<Drain>, seed: u64) -> Self {
        let mut dice = Dice(seed);
        let feeds = &setting.feeds;
        // A healthy vehicle is within its limit, however many loads it has.
        let at_most: f64 = feeds.parts().map(|p| feeds.at_most(p).value()).sum();
        let limit = feeds.limit().map_or(f64::INFINITY, Milliamps::value);
        let share = (0.9 * limit / at_most).min(1.0);
        let shares: Vec<f64> = feeds.parts().map(|_| dice.between(0.0, share)).collect();
        let off = feeds.parts().map(|_| dice.between(0.9, 1.1)).collect();
        let vehicle = Simulated::new(feeds, drains, |p| shares[p.index()]);
        Self {
            setting,
            vehicle,
            dice,
            off,
        }
    }

    /// The same with everything healthy at its least, so that without the drains the draw is within
    /// the limit on any vehicle.
    pub(crate) fn quiet(setting: &'s Setting, drains: Vec<Drain>, seed: u64) -> Self {
        let mut driver = Self::new(setting, Vec::new(), seed);
        driver.vehicle = Simulated::new(&setting.feeds, drains, |_| 0.0);
        driver
    }

    fn parts(&self, name: &str) -> Vec<PartId> {
        let feeds = &self.setting.feeds;
        match feeds.find(name) {
            Some(Named::Part(part)) => {
                let mut all = feeds.unplugged_with(*part);
                all.extend(feeds.holder_mates(*part));
                all.extend(feeds.coils_of(*part));
                all
            }
            Some(Named::Plug(parts)) => parts.clone(),
            Some(Named::Module(module)) => feeds
                .module_feeds(*module)
                .iter()
                .flat_map(|f| feeds.unplugged_with(*f))
                .collect(),
            other => panic!("{name} is {other:?}"),
        }
    }

    fn amps(&mut self, truth: f64, way: Option<Way>) -> String {
        let instruments = &self.setting.instruments;
        let place = self.dice.between(-1.0, 1.0);
        match way {
            Some(Way::Clamp { turns }) => {
                let clamp = instruments.clamp.expect("a clamp");
                let meter = instruments.meter.as_ref();
                let accuracy = clamp.accuracy(meter, 0.0).expect("a display");
                let (step, counts) = (accuracy.step, accuracy.floor / accuracy.step);
                let through = truth * f64::from(turns);
                let ma = shown(through, step, 100.0 * accuracy.share, counts, place);
                match clamp.milliamps_per_millivolt() {
                    Some(scale) => format!("{:.1}mV by clamp", ma / scale),
                    None => format!("{ma:.0}mA by clamp"),
                }
            }
            Some(Way::Series(Jack::MilliA)) => {
                let range = instruments.meter.and_then(|m| m.milliamps).expect("a jack");
                let ma = shown(
                    truth,
                    range.step.value(),
                    range.percent,
                    range.counts,
                    place,
                );
                format!("{ma:.1}mA by series")
            }
            _ => {
                let range = instruments.meter.and_then(|m| m.amps).expect("a jack");
                let ma = shown(
                    truth,
                    range.step.value(),
                    range.percent,
                    range.counts,
                    place,
                );
                format!("{:.2}A by series", ma / 1000.0)
            }
        }
    }

    /// What is typed for the drop across a part with these out.
    fn drop_at(&mut self, part: PartId, set: &BTreeSet<PartId>) -> String {
        let setting = self.setting;
        let current = self.vehicle.currents(set)[part.index()];
        let range = setting
            .instruments
            .meter
            .and_then(|m| m.millivolts)
            .expect("mV");
        let across = resistance(&setting.feeds, part).expect("a resistance");
        let truth = current * across.nominal.value() * self.off[part.index()] / 1000.0;
        let place = self.dice.between(-1.0, 1.0);
        let mv = shown(
            truth,
            range.step.value(),
            range.percent,
            range.counts,
            place,
        );
        let decimals = if range.step.value() < 0.05 { 2 } else { 1 };
        format!("drop {} {mv:.decimals$}mV", setting.feeds.id(part))
    }

    /// Whether a contact passes: one that rests open only where a fault has closed it.
    fn is_closed(&self, part: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let closes = |drain: &Drain| match drain {
            Drain::Takes(p, _) => feeds.is_below(*p, part),
            Drain::Contact(p, _) => *p == part,
            Drain::CoilHeld(coil) | Drain::WireShorted(coil) => feeds.moved_by(*coil) == Some(part),
            Drain::HeldBy(_) | Drain::Input(_) => false,
        };
        feeds.part(part).rest != Some(Rest::Open) || self.vehicle.drains().iter().any(closes)
    }

    /// What is typed for a test with these parts out.
    fn answer(&mut self, test: &TestPlan, set: &BTreeSet<PartId>) -> String {
        let setting = self.setting;
        let feeds = &setting.feeds;
        let currents = self.vehicle.currents(set);
        let entry = test.entry.clone();
        let part = || test.part.expect("a part");
        match test.method {
            Method::Draw => format!("draw {}", self.amps(currents[0], test.way)),
            Method::Clamp | Method::Series => {
                let truth = currents[part().index()];
                let reading = self.amps(truth, test.way);
                let reading = reading.replace(" by clamp", "").replace(" by series", "");
                format!("{entry} {reading}")
            }
            Method::Drop => self.drop_at(part(), set),
            Method::Look if test.part.is_none() => {
                // An input, which is no part of the tree.
                let input = Drain::Input(test.points[0].clone());
                let on = self.vehicle.drains().contains(&input);
                format!("{entry} {}", ["off", "on"][usize::from(on)])
            }
            Method::Look => {
                let shows = self.vehicle.drains().iter().any(|drain| match drain {
                    Drain::Takes(p, _) => *p == part(),
                    Drain::CoilHeld(coil) | Drain::WireShorted(coil) => {
                        feeds.moved_by(*coil) == Some(part())
                    }
                    Drain::Contact(relay, _) => feeds.is_below(part(), *relay) && part() != *relay,
                    Drain::HeldBy(_) | Drain::Input(_) => false,
                });
                let words = match feeds.part(part()).kind {
                    PartKind::Load => ["dark", "lit"],
                    PartKind::Switch => ["off", "on"],
                    _ => ["cold", "warm"],
                };
                format!("{entry} {}", words[usize::from(shows)])
            }
            Method::Volts => {
                let passes = |p: &PartId| !set.contains(p) && self.is_closed(*p);
                let fed = feeds.path(part()).iter().all(passes);
                let volts = 1.04 * feeds.volts_at(part()).value() / 1000.0;
                format!("{entry} {:.1}V", if fed { volts } else { 0.0 })
            }
            _ => entry,
        }
    }

    /// Answers until the case ends; checks at every step that no truth was excluded.
    pub(crate) fn run(self) -> Outcome {
        self.run_as(Manner::Plain)
    }

    /// The same in a manner of working.
    pub(crate) fn run_as(mut self, manner: Manner) -> Outcome {
        let setting = self.setting;
        let mut case = Case::new(setting);
        let mut out: Vec<(String, Vec<PartId>)> = Vec::new();
        let mut log = Vec::new();
        let mut asked = BTreeSet::new();
        let mut skipped = 0;
        let mut off_tab = None;
        let mut own: Vec<&str> = match manner {
            Manner::OwnChoice(points) => points.iter().rev().copied().collect(),
            _ => Vec::new(),
        };
        for steps in 0..400 {
            let next = case.next();
            let set: BTreeSet<PartId> = out.iter().flat_map(|(_, p)| p.clone()).collect();
            if next.state == State::Prepare {
                case.record("prepared").expect("prepared");
                continue;
            }
            let habitual = match manner {
                Manner::ByHabit(habit)
                    if next.state == State::Measure
                        && matches!(next.reason, Reason::Parts(..) | Reason::Prove) =>
                {
                    case.by_habit(habit)
                }
                _ => None,
            };
            if next.state == State::Contradiction
                && let Some(part) = off_tab.take()
            {
                self.reads_again(&mut case, part, &set, &mut log);
                continue;
            }
            let Some(test) = habitual.or_else(|| next.test.clone()) else {
                return outcome(&case, steps, log);
            };
            can_tell(&next, &log);
            a_fall_can_tell(&case, &next, &log);
            let reading = test.method == Method::Look || at_a_part(test.method);
            let entry = match own.last().filter(|_| next.state == State::Measure) {
                Some(point) if reading => {
                    let part = part(setting, point);
                    own.pop();
                    self.drop_at(part, &set)
                }
                _ if reading && matches!(manner, Manner::Skips(most) if skipped < most) => {
                    skipped += 1;
                    format!("skip {} no access", test.entry)
                }
                _ => {
                    let entry = self.answer(&test, &set);
                    self.move_parts(&test, &mut out, manner);
                    if manner == Manner::ProbeOff && shows_current(&test, &entry, &log) {
                        log.push(format!("{OFF_THE_TAB}: {entry}"));
                        off_tab = test.part;
                        format!("{} 0.0mV", test.entry)
                    } else {
                        entry
                    }
                }
            };
            if reading {
                never_twice(&mut asked, &next, &entry, &log);
            }
            log.push(format!("{:?} {entry}", next.state));
            if manner == Manner::Slips {
                self.slip(&mut case, SLIPS[steps % SLIPS.len()]);
            }
            let recorded = case
                .record(&entry)
                .unwrap_or_else(|r| panic!("{r}\n{log:#?}"));
            log.extend(recorded.questions.iter().map(|q| format!("   ? {q:?}")));
            match manner {
                Manner::Undoes => {
                    let then = next_json(&case.next(), setting);
                    case.record("undo").expect("undo");
                    assert_eq!(next_json(&case.next(), setting), next_json(&next, setting));
                    case.record(&entry).expect("again");
                    assert_eq!(next_json(&case.next(), setting), then, "{log:#?}");
                }
                Manner::BrokenOff => {
                    let then = next_json(&case.next(), setting);
                    let texts: Vec<String> =
                        case.entries().iter().map(|e| e.text.clone()).collect();
                    case = Case::reopen(setting, texts)
                        .unwrap_or_else(|(n, r)| panic!("entry {n}: {r}\n{log:#?}"));
                    assert_eq!(next_json(&case.next(), setting), then, "{log:#?}");
                }
                _ => {}
            }
            if !matches!(manner, Manner::LosesIt | Manner::ProbeOff) {
                self.truth_is_kept(&case, &log);
            }
        }
        panic!(
            "no end after 400 steps: {:#?}\n{}",
            log,
            next_json(&case.next(), setting)
        );
    }

    /// What is out after a step, and whether the fault stays.
    fn move_parts(
        &mut self,
        test: &TestPlan,
        out: &mut Vec<(String, Vec<PartId>)>,
        manner: Manner,
    ) {
        match test.method {
            Method::Pull | Method::Unplug => {
                for name in &test.points {
                    out.push((name.clone(), self.parts(name)));
                }
                if manner == Manner::LosesIt && !self.vehicle.drains().is_empty() {
                    self.vehicle.mend(0);
                }
            }
            Method::Refit => out.retain(|(name, _)| !test.points.contains(name)),
            _ => {}
        }
    }

    /// Reads a drop again that clashes with other readings; with other things out the new reading
    /// stands beside the old one, which is then withdrawn.
    fn reads_again(
        &mut self,
        case: &mut Case<'_>,
        part: PartId,
        set: &BTreeSet<PartId>,
        log: &mut Vec<String>,
    ) {
        let again = self.drop_at(part, set);
        case.record(&again).expect("read again");
        log.push(again);
        if case.next().state == State::Contradiction {
            let wrong = format!("drop {} 0.0mV", self.setting.feeds.id(part));
            let wrong = case.entries().iter().find(|entry| entry.text == wrong);
            let withdraw = format!("withdraw {} off the tab", wrong.expect("it").number);
            case.record(&withdraw).expect("withdrawn");
            log.push(withdraw);
        }
    }

    /// A wrong line is refused with one that would be taken, and changes nothing.
    fn slip(&self, case: &mut Case<'_>, line: &str) {
        let before = next_json(&case.next(), self.setting);
        let refusal = case.record(line).expect_err(line);
        assert_eq!(next_json(&case.next(), self.setting), before);
        let mut copy = case.clone();
        let works = &refusal.works;
        copy.record(works)
            .unwrap_or_else(|r| panic!("{line}: {works} is refused too: {r}"));
    }

    /// No true current is outside its interval and no guilty part ruled out.
    fn truth_is_kept(&self, case: &Case<'_>, log: &[String]) {
        if !log.iter().any(|line| line.contains("draw")) {
            return;
        }
        let feeds = &self.setting.feeds;
        // What is proven and out keeps the currents it had when it was in.
        let proven: BTreeSet<PartId> = case
            .next()
            .found
            .iter()
            .filter(|f| f.returned)
            .flat_map(|f| f.taken.iter().flat_map(|t| t.parts.clone()))
            .collect();
        let currents = self.vehicle.currents(&proven);
        let whole = self.vehicle.currents(&BTreeSet::new());
        for (part, standing, known, hides) in case.standing() {
            let gone = feeds.path(part).iter().any(|p| proven.contains(p));
            let truth = if gone {
                whole[part.index()]
            } else {
                currents[part.index()]
            };
            assert!(
                known.widened(1e-6).holds(Milliamps::of(truth)),
                "{} carries {truth}, known {known:?}\n{log:#?}",
                feeds.id(part)
            );
            let hidden = self
                .vehicle
                .drains()
                .iter()
                .filter_map(|drain| match drain {
                    Drain::Takes(p, current) if feeds.is_below(*p, part) => Some(current.value()),
                    _ => None,
                });
            let hidden: f64 = hidden.sum();
            let out_below = proven.iter().any(|p| feeds.is_below(*p, part));
            assert!(
                gone || out_below || hides + 1e-6 >= hidden,
                "{} hides {hidden}, said to hide {hides} at most\n{log:#?}",
                feeds.id(part)
            );
            let guilty = self
                .vehicle
                .drains()
                .iter()
                .any(|d| matches!(d, Drain::Takes(p, _) if *p == part));
            assert!(
                !guilty
                    || gone
                    || !matches!(
                        standing,
                        halfsplit::judgement::Standing::RuledOut
                            | halfsplit::judgement::Standing::Dead
                    ),
                "{} is guilty and {standing:?}\n{log:#?}",
                feeds.id(part)
            );
        }
    }
}

/// What a case came to that asks for nothing more.
fn outcome(case: &Case<'_>, steps: usize, log: Vec<String>) -> Outcome {
    let next = case.next();
    let proven = next.found.iter().filter(|found| found.returned);
    let feeds = &case.setting().feeds;
    Outcome {
        state: next.state,
        found: proven.map(|found| found.subject.id(feeds)).collect(),
        located: next.located.iter().map(|l| l.id.clone()).collect(),
        steps,
        minutes: next.spent,
        entries: case.entries().iter().map(|e| e.text.clone()).collect(),
        log,
    }
}

/// What the log says of a probe that was off its tab.
pub(crate) const OFF_THE_TAB: &str = "off the tab";

/// Whether a drop is the first that is more than a meter may show of nothing.
fn shows_current(test: &TestPlan, entry: &str, log: &[String]) -> bool {
    let first = !log.iter().any(|line| line.starts_with(OFF_THE_TAB));
    let reading = entry.rsplit(' ').next().expect("a reading");
    let millivolts = reading.trim_end_matches("mV").parse::<f64>();
    first && test.method == Method::Drop && millivolts.is_ok_and(|shown| shown > 0.5)
}

/// What was found, with what is hidden behind a contact that should be open in the place of the contact: it
/// draws because the contact is closed.
pub(crate) fn as_hidden(setting: &Setting, found: &[String], hidden: &[String]) -> Vec<String> {
    let feeds = &setting.feeds;
    let at = |id: &str| match feeds.find(id) {
        Some(Named::Part(part)) => Some(*part),
        _ => None,
    };
    let behind = |id: &String| {
        let contact = at(id).filter(|part| feeds.part(*part).rest == Some(Rest::Open));
        let below = |other: &&String| {
            contact.is_some_and(|top| at(other).is_some_and(|part| feeds.is_below(part, top)))
        };
        hidden.iter().find(below).unwrap_or(id).clone()
    };
    found.iter().map(behind).collect()
}

pub(crate) fn loads(feeds: &Feeds) -> Vec<PartId> {
    feeds
        .parts()
        .filter(|p| feeds.load_kind(*p).is_some())
        .collect()
}

pub(crate) fn setting_for(seed: u64, loads: usize, modules: bool, clamp: bool) -> Setting {
    let feeds = load(&vehicle(seed, Recipe { loads, modules }))
        .0
        .expect("a tree");
    let mut instruments = Instruments::assumed_meter();
    if clamp {
        instruments.clamp = Some(Clamp {
            range: Range {
                step: Milliamps::of(1.0),
                percent: 2.0,
                counts: 5.0,
                most: None,
                burden: None,
            },
            jaw: None,
            scale: None,
            ..Clamp::typical()
        });
    }
    Setting::new(feeds, instruments)
}

pub(crate) fn sample(name: &str) -> Setting {
    let file = format!("{}/sample-vehicles/{name}.ron", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(file).expect("a sample");
    Setting::new(load(&text).0.expect("a tree"), Instruments::assumed_meter())
}

pub(crate) fn part(setting: &Setting, id: &str) -> PartId {
    match setting.feeds.find(id) {
        Some(Named::Part(part)) => *part,
        other => panic!("{id} is {other:?}"),
    }
}

/// A sample vehicle with the instruments of a file.
pub(crate) fn with(vehicle: &str, kit: &str) -> Setting {
    let read = |path: String| {
        let file = format!("{}/sample-vehicles/{path}.ron", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(file).unwrap()
    };
    let feeds = load(&read(vehicle.to_owned())).0.unwrap();
    let kit = instruments::read(&read(format!("instruments/{kit}"))).0;
    Setting::new(feeds, kit.unwrap())
}
