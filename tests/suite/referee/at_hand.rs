//! The referee's currents through every other instrument: the meter in series, whose burden stands in the
//! circuit, the clamp by itself and read on the meter, and volts; then all of them together in a case.

use super::{Hidden, all, currents, found, golden, samples};
use halfsplit::case::{Case, Question, Setting};
use halfsplit::feeds::PartId;
use halfsplit::instruments::{self, Clamp, Instruments};
use halfsplit::interval::Interval;
use halfsplit::measurement::{
    Jack, Method, Reading, Unit, Way, current_by, offered, without_burden,
};
use halfsplit::quantity::{Milliamps, Milliohms, Millivolts};
use halfsplit::simulation::shown;

/// Where within its accuracy an instrument errs.
const PLACES: [f64; 5] = [-1.0, -0.4, 0.0, 0.7, 1.0];

/// Step, percent, counts.
type Accurate = (f64, f64, f64);

fn reading(display: f64, step: f64, unit: Unit) -> Reading {
    Reading {
        low: display,
        high: display,
        unit,
        step,
        over: false,
    }
}

/// Without what is below zero, where the display is not.
fn cut_unless_negative(display: f64, (low, high): (f64, f64)) -> (f64, f64) {
    if display >= 0.0 {
        (low.max(0.0), high)
    } else {
        (low, high)
    }
}

/// All that the stated accuracy leaves open at a display, and nothing more: written out here from the
/// definition. Below zero nothing flows, for a display that is not below zero.
fn open_at(display: f64, (step, percent, counts): Accurate) -> (f64, f64) {
    let margin = percent / 100.0 * display.abs() + counts * step;
    cut_unless_negative(display, (display - margin, display + margin))
}

/// What was read, and the widest interval that was said of it, in times of the exact one.
struct Tally {
    what: &'static str,
    read: usize,
    widest: f64,
}

impl Tally {
    const fn of(what: &'static str) -> Self {
        Self {
            what,
            read: 0,
            widest: 0.0,
        }
    }

    /// Holds an interval against the truth and against the exact one.
    fn hold(&mut self, said: Interval<Milliamps>, exact: (f64, f64), truth: f64, about: &str) {
        let room = 1e-3 + 1e-6 * truth.abs(); // the digits kept
        let what = format!("{}, {about}: {truth} mA, said {said:?}", self.what);
        assert!(
            said.low() - room <= truth && truth <= said.high() + room,
            "{what}"
        );
        let ratio = said.width() / (exact.1 - exact.0);
        assert!(ratio <= 1.05, "{what}: {ratio} times the exact interval");
        self.widest = self.widest.max(ratio);
        self.read += 1;
    }

    fn tell(&self) {
        let Self { what, read, widest } = self;
        println!("{read} readings, {what}: at most {widest:.4} times the exact interval");
        assert!(*read > 1_000, "{what}: {read}");
    }
}

/// What flows through the meter lies in the interval, on both jacks, in the negative lead and in the place
/// of every fuse. And what flowed without it lies where the burden of the jack puts it, the loads being
/// plain resistances.
#[test]
fn in_series_the_true_current_is_always_inside() {
    let samples = samples();
    let meter = Instruments::assumed_meter();
    let mut tally = Tally::of("in series");
    let mut taken_off = 0.0_f64;
    for hidden in all(&samples) {
        let found = found(&hidden);
        for part in hidden.meter_places() {
            let at = part.index();
            let without = found[&format!("cur{at}")] * 1000.0;
            let jacks = [
                (Jack::A, 'a', (10.0, 1.0, 3.0), 10_000.0, 20.0),
                (Jack::MilliA, 'm', (0.1, 0.5, 2.0), 400.0, 1800.0),
            ];
            for (jack, letter, accurate, most, burden) in jacks {
                let through = found[&format!("ser{at}{letter}")] * 1000.0;
                if through > most {
                    continue;
                }
                let about = format!("{} {}", hidden.name, hidden.feeds.id(part));
                let (step, percent, counts) = accurate;
                for place in PLACES {
                    let display = shown(through, step, percent, counts, place);
                    let display = reading(display, step, Unit::Milliamps);
                    let said = current_by(Way::Series(jack), display, &meter).unwrap();
                    tally.hold(said, open_at(display.low, accurate), through, &about);
                    let undone = |end: f64, supply: Millivolts| {
                        let (end, burden) = (Milliamps::of(end), Milliohms::of(burden));
                        without_burden(end, supply * hidden.charged, burden).value()
                    };
                    // Through the negative lead goes what hangs on one of two batteries, and on both.
                    let most = if at == 0 {
                        hidden.feeds.volts()
                    } else {
                        hidden.feeds.volts_at(part)
                    };
                    let low = undone(said.low(), most);
                    let high = undone(said.high(), hidden.feeds.volts_at(part));
                    // Fuse, wires and neighbours have a part in the circuit too: a thousandth.
                    let room = 1e-3 + 1e-3 * without;
                    assert!(
                        low - room <= without && without <= high + room,
                        "{about}: {without} mA without, {low} to {high} by the burden"
                    );
                }
                if without > 1.0 && jack == Jack::MilliA {
                    taken_off = taken_off.max(1.0 - through / without);
                }
            }
        }
    }
    tally.tell();
    println!("the mA jack took up to {:.1} % off", taken_off * 100.0);
    assert!(taken_off > 0.01 && taken_off < 0.07, "{taken_off}");
}

/// A clamp that gives a voltage, read on a meter: what it gives for a current, and all that both leave open
/// at a display in mV, written out here.
struct Scaled {
    milliamps_per_millivolt: f64,
    /// Percent and mA.
    own: (f64, f64),
    display: Accurate,
}

impl Scaled {
    fn gives(&self, through: f64, place: f64) -> f64 {
        let (percent, floor) = self.own;
        // The percent are of what it gives.
        let gives = (through + place * floor) / (1.0 - place * percent / 100.0);
        let below_zero = (through + place * floor) / (1.0 + place * percent / 100.0);
        let gives = if gives >= 0.0 { gives } else { below_zero };
        gives / self.milliamps_per_millivolt
    }

    fn open_at(&self, display: f64) -> (f64, f64) {
        let (step, percent, counts) = self.display;
        let margin = percent / 100.0 * display.abs() + counts * step;
        let (own, floor) = self.own;
        let end = |mv: f64, sign: f64| {
            let means = mv * self.milliamps_per_millivolt;
            means + sign * (own / 100.0 * means.abs() + floor)
        };
        let ends = (end(display - margin, -1.0), end(display + margin, 1.0));
        cut_unless_negative(display, ends)
    }
}

/// The current of every branch through the clamp: by itself with one turn and more, and with a voltage
/// output on the three typical meters.
#[test]
fn round_a_wire_the_true_current_is_always_inside() {
    let samples = samples();
    let typical = Clamp::typical();
    let accurate = (1.0, 2.0, 5.0);
    let with = |clamp: Clamp| Instruments {
        clamp: Some(clamp),
        ..Instruments::assumed_meter()
    };
    let (mut direct, mut scaled) = (Tally::of("clamp"), Tally::of("clamp read on the meter"));
    for hidden in all(&samples) {
        let found = found(&hidden);
        for part in hidden.feeds.parts() {
            let Some(truth) = found.get(&format!("cur{}", part.index())) else {
                continue; // an upper battery: what is below it has the same current
            };
            let truth = truth * 1000.0;
            let about = format!("{} {}", hidden.name, hidden.feeds.id(part));
            for (turns, place) in [1_u32, 5, 10].into_iter().zip(PLACES) {
                let n = f64::from(turns);
                let (step, percent, counts) = accurate;
                let display = shown(truth * n, step, percent, counts, place);
                let way = Way::Clamp { turns };
                let display = reading(display, step, Unit::Milliamps);
                let said = current_by(way, display, &with(typical)).unwrap();
                let (low, high) = open_at(display.low, accurate);
                direct.hold(said, (low / n, high / n), truth, &about);
            }
            for (display, mv) in [(0.1, 0.5, 2.0), (0.01, 0.3, 1.0), (0.001, 0.05, 20.0)]
                .into_iter()
                .zip([1.0, 10.0, 10.0])
            {
                let pair = Scaled {
                    milliamps_per_millivolt: 10.0 / mv,
                    own: (2.0, 5.0),
                    display,
                };
                let clamp = Clamp {
                    scale: Some((Millivolts::of(mv), Milliamps::of(10.0))),
                    ..typical
                };
                let mut at_hand = super::meter(display.0, display.1, display.2);
                at_hand.clamp = Some(clamp);
                for place in PLACES {
                    let gives = pair.gives(truth, place);
                    let (step, percent, counts) = display;
                    let shows = shown(gives, step, percent, counts, place);
                    let shows = reading(shows, step, Unit::Millivolts);
                    let way = Way::Clamp { turns: 1 };
                    let said = current_by(way, shows, &at_hand).unwrap();
                    scaled.hold(said, pair.open_at(shows.low), truth, &about);
                }
            }
        }
    }
    direct.tell();
    scaled.tell();
}

fn shipped(name: &str) -> Instruments {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-vehicles/instruments");
    let text = std::fs::read_to_string(format!("{folder}/{name}.ron")).unwrap();
    instruments::read(&text).0.unwrap()
}

fn decimals(step: f64) -> usize {
    usize::try_from((-step.log10()).ceil().max(0.0) as i64).unwrap()
}

/// Where within its accuracy the instrument errs at a part: another place for each.
fn place(hidden: &Hidden<'_>, part: PartId, use_of_it: u64) -> f64 {
    let seed = hidden
        .name
        .bytes()
        .fold(7, |sum: u64, byte| sum.wrapping_mul(31) + u64::from(byte))
        & 0xffff_ffff;
    2.0 * super::scattered(seed, part.index() as u64 * 8 + use_of_it) - 1.0
}

/// Everything that can be read at a hidden vehicle with what is at hand, as it is typed.
fn typed(hidden: &Hidden<'_>, at_hand: &Instruments) -> Vec<String> {
    let feeds = hidden.feeds;
    let (volts, found) = (golden(hidden), found(hidden));
    let meter = at_hand.meter.unwrap();
    let mut lines = vec!["asleep".to_owned()];
    let on = |truth: f64, step: f64, percent: f64, counts: f64, place: f64| {
        format!(
            "{:.*}",
            decimals(step),
            shown(truth, step, percent, counts, place)
        )
    };
    let amps = meter.amps.unwrap();
    let draw = on(
        found["ser0a"] * 1000.0,
        amps.step.value(),
        amps.percent,
        amps.counts,
        place(hidden, PartId(0), 0),
    );
    // In A, with the digits of the display.
    let draw: f64 = draw.parse().unwrap();
    let digits = decimals(amps.step.value() / 1000.0);
    lines.push(format!(
        "draw {:.digits$}A by series jack A sure",
        draw / 1000.0
    ));
    for part in feeds.parts() {
        let offers = offered(feeds, part);
        let (id, at) = (feeds.id(part), part.index());
        if offers.contains(&Method::Volts) {
            lines.push(format!("volts {id} {:.2}V", volts[at]));
        }
        if let (true, Some(range)) = (offers.contains(&Method::Drop), meter.millivolts) {
            let up = feeds.up(part).unwrap();
            let truth = (volts[up.index()] - volts[at]) * 1000.0;
            let step = range.step.value();
            let shows = on(
                truth,
                step,
                range.percent,
                range.counts,
                place(hidden, part, 1),
            );
            lines.push(format!("drop {id} {shows}mV"));
        }
        let clamp = at_hand.clamp.filter(|_| offers.contains(&Method::Clamp));
        if let Some((clamp, through)) = clamp.zip(found.get(&format!("cur{at}"))) {
            let (truth, error) = (through * 1000.0, place(hidden, part, 2));
            let (percent, counts) = (clamp.range.percent, clamp.range.counts);
            let step = clamp.range.step.value();
            let shows = match clamp.milliamps_per_millivolt() {
                Some(scale) => {
                    let display = meter.millivolts.unwrap();
                    let pair = Scaled {
                        milliamps_per_millivolt: scale,
                        own: (percent, counts * step),
                        display: (display.step.value(), display.percent, display.counts),
                    };
                    let (step, percent, counts) = pair.display;
                    on(pair.gives(truth, error), step, percent, counts, error) + "mV"
                }
                None => on(truth, step, percent, counts, error) + "mA",
            };
            lines.push(format!("clamp {id} {shows}"));
        }
    }
    lines
}

/// The shipped sets of instruments.
const SETS: [&str; 4] = [
    "plain-meter",
    "meter-and-clamp",
    "clamp-on-the-meter",
    "fine-meter-clamp-loop",
];

/// With each shipped set of instruments all that can be read is read, with errors anywhere within the
/// accuracy: no two readings clash, nothing live is taken for dead, and the true current of every part
/// lies in what the case says of it.
#[test]
fn in_a_case_the_true_current_is_always_inside() {
    let samples = samples();
    let mut parts = 0;
    for hidden in all(&samples) {
        let truth = currents(&hidden, &golden(&hidden));
        for name in SETS {
            let setting = Setting::new(hidden.feeds.clone(), shipped(name));
            let lines = typed(&hidden, &setting.instruments);
            let about = format!("{} with {name}", hidden.name);
            let mut texts = Vec::new();
            // The way a current was taken is in the text; the rest is as it is kept.
            texts.extend(lines.iter().map(|line| line.trim().to_owned()));
            let case = Case::reopen(&setting, texts)
                .unwrap_or_else(|(number, refusal)| panic!("{about}, {number}: {refusal}"));
            assert!(case.clash().is_none(), "{about}: {:?}", case.clash());
            let between = |asked: &Question| matches!(asked, Question::Between(_));
            assert!(!case.next().questions.iter().any(between), "{about}");
            for (part, standing, said, _) in case.standing() {
                let (id, is) = (setting.feeds.id(part), truth[part.index()]);
                let room = 1e-3 + 1e-6 * is;
                assert!(
                    said.low() - room <= is && is <= said.high() + room,
                    "{about}, {id} ({standing:?}): {is} mA, said {said:?}"
                );
                parts += 1;
            }
        }
    }
    println!("{parts} currents of parts, each inside");
    assert!(parts > 5_000, "{parts}");
}
