//! A circuit simulator as referee. Every sample vehicle is written as a netlist with hidden drains, each
//! fuse and wire anywhere within its stated band, each battery anywhere from flat to charged, and every
//! load a resistance; `tests/referee/make` has ngspice solve them: as they are, and with each jack of the
//! plain meter in the negative lead and in the place of each fuse. The netlists, the node voltages and
//! the currents it found are kept beside that script, with the simulator's version, so this room runs
//! without it.
// Ratios are printed for whoever asks with --nocapture.
#![allow(clippy::float_cmp, clippy::print_stdout)]

use halfsplit::feeds::{self, Feeds, PartId};
use halfsplit::instruments::{Instruments, Meter, Range};
use halfsplit::measurement::{Reading, Resistance, Unit, current_by_drop, hides, resistance};
use halfsplit::quantity::{Milliamps, Millivolts};
use halfsplit::simulation::{Drain, Simulated, shown};
use halfsplit::vehicle::PartKind;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

mod at_hand;

/// Hidden vehicles made of each sample.
const EACH: u64 = 3;
/// What stands for contacts, splices and plugs, in mΩ: ISO 8820 fixtures allow 0.5 to 1.0 (seen in
/// abstracts).
const CONTACT: f64 = 0.8;
/// Burdens of the plain meter's jacks, in mΩ, by the letters under which the netlists name them.
const JACKS: [(char, f64); 2] = [('a', 20.0), ('m', 1800.0)];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/referee")
}

fn samples() -> Vec<(String, Feeds)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-vehicles");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "ron"))
        .collect();
    files.sort();
    let read = |path: &PathBuf| {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let feeds = feeds::load(&std::fs::read_to_string(path).unwrap()).0;
        (name, feeds.unwrap())
    };
    files.iter().map(read).collect()
}

/// A number from 0 to 1 for each thing of each vehicle: splitmix64 (Steele, Lea and Flood 2014, from
/// memory), so that a netlist is the same on every machine.
fn scattered(seed: u64, thing: u64) -> f64 {
    let mut z = (seed << 32 | thing).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// A sample with a hidden drain and everything about it that nobody at the vehicle knows.
struct Hidden<'f> {
    feeds: &'f Feeds,
    name: String,
    /// In mΩ, by part: what lies between it and the part above; `None` for a battery.
    path: Vec<Option<f64>>,
    /// In Ω, by part: what it is to earth; `None` for what takes nothing.
    load: Vec<Option<f64>>,
    /// What a battery has of its nominal voltage: 11.4 V of 12 when it is flat, 12.7 V when it is full.
    charged: f64,
}

impl Hidden<'_> {
    /// Volts of a battery by itself: of its own, or of the vehicle's, as far as it is charged.
    fn battery_volts(&self, battery: PartId) -> f64 {
        let feeds = self.feeds;
        let below = feeds
            .up(battery)
            .map_or(0.0, |up| feeds.volts_at(up).value());
        (feeds.volts_at(battery).value() - below) / 1000.0 * self.charged
    }

    /// Where the meter may go in: the negative lead, as the battery's own, and every fuse.
    fn meter_places(&self) -> Vec<PartId> {
        let feeds = self.feeds;
        let fuse = |part: &PartId| feeds.part(*part).kind == PartKind::Fuse;
        std::iter::once(PartId(0))
            .chain(feeds.parts().filter(fuse))
            .collect()
    }
}

fn hidden<'f>(feeds: &'f Feeds, sample: &str, number: u64) -> Hidden<'f> {
    let seed = sample.bytes().fold(number + 1, |sum, byte| {
        sum.wrapping_mul(31) + u64::from(byte)
    }) & 0xffff_ffff;
    let at = |part: PartId, use_of_it: u64| scattered(seed, part.index() as u64 * 4 + use_of_it);
    let loads: Vec<_> = feeds
        .parts()
        .filter(|part| feeds.part(*part).kind == PartKind::Load)
        .collect();
    let pick = (scattered(seed, 1 << 20) * loads.len() as f64) as usize;
    let size = 40.0 * 50_f64.powf(scattered(seed, 1 << 21)); // 40 mA to 2 A
    let drain = Drain::Takes(loads[pick.min(loads.len() - 1)], Milliamps::of(size));
    let vehicle = Simulated::new(feeds, vec![drain], |part| at(part, 1));
    let currents = vehicle.currents(&BTreeSet::new());
    let path = feeds.parts().map(|part| {
        (feeds.part(part).kind != PartKind::Battery).then(|| match resistance(feeds, part) {
            Some(known) => known.band.low() + known.band.width() * at(part, 0),
            None => CONTACT,
        })
    });
    let load = feeds.parts().map(|part| {
        let below: f64 = feeds.children(part).map(|c| currents[c.index()]).sum();
        let own = currents[part.index()] - below;
        // A load takes what it is said to take at the voltage of its tap, were there no wire.
        (own > 1e-9).then(|| feeds.volts_at(part).value() / own)
    });
    Hidden {
        feeds,
        name: format!("{sample}-{}", number + 1),
        path: path.collect(),
        load: load.collect(),
        // With as many digits as the netlist has.
        charged: ((0.95 + 0.11 * scattered(seed, 1 << 22)) * 1e4).round() / 1e4,
    }
}

fn all(samples: &[(String, Feeds)]) -> Vec<Hidden<'_>> {
    let each = |(name, feeds)| (0..EACH).map(move |number| hidden(feeds, name, number));
    samples
        .iter()
        .flat_map(|(name, feeds): &(String, Feeds)| each((name.as_str(), feeds)))
        .collect()
}

/// A node of the netlist.
fn node(part: Option<PartId>) -> String {
    part.map_or("0".to_owned(), |part| format!("n{}", part.index()))
}

fn netlist(hidden: &Hidden<'_>) -> String {
    let feeds = hidden.feeds;
    let mut text = format!("* {}: invented, with a hidden drain\n", hidden.name);
    // The negative lead, from the body to the post.
    let _ = writeln!(text, "R0 0 post {:.12e}", CONTACT / 1000.0);
    for part in feeds.parts() {
        let (at, here, up) = (part.index(), node(Some(part)), node(feeds.up(part)));
        let _ = if let Some(milliohms) = hidden.path[at] {
            writeln!(text, "R{at} {up} {here} {:.12e}", milliohms / 1000.0)
        } else {
            let minus = feeds.up(part).map_or("post".to_owned(), |_| up);
            let volts = hidden.battery_volts(part);
            writeln!(text, "V{at} {here} {minus} {volts:.6}")
        };
        if let Some(ohms) = hidden.load[at] {
            let _ = writeln!(text, "RL{at} {here} 0 {ohms:.12e}");
        }
    }
    text.push_str(".control\nset numdgt=15\nop\nprint allv\n");
    for part in feeds
        .parts()
        .filter(|p| p.index() == 0 || hidden.path[p.index()].is_some())
    {
        let at = part.index();
        let _ = writeln!(text, "let cur{at} = @r{at}[i]\nprint cur{at}");
    }
    for part in hidden.meter_places() {
        let at = part.index();
        // In the negative lead it comes on top; it takes the place of a fuse.
        let (stays, was) = match hidden.path[at] {
            Some(milliohms) => (0.0, milliohms),
            None => (CONTACT, CONTACT),
        };
        for (jack, burden) in JACKS {
            let with = (stays + burden) / 1000.0;
            let _ = writeln!(text, "alter r{at} = {with:.12e}\nop");
            let _ = writeln!(text, "let ser{at}{jack} = @r{at}[i]\nprint ser{at}{jack}");
        }
        let _ = writeln!(text, "alter r{at} = {:.12e}", was / 1000.0);
    }
    text.push_str("quit\n.endc\n.end\n");
    text
}

/// The netlists are those of the samples as they stand; `REFEREE=write` writes them anew.
#[test]
fn netlists_are_of_the_samples() {
    let samples = samples();
    let write = std::env::var_os("REFEREE").is_some();
    for hidden in all(&samples) {
        let file = folder().join(format!("{}.cir", hidden.name));
        let text = netlist(&hidden);
        if write {
            std::fs::write(&file, text).unwrap();
        } else {
            let kept = std::fs::read_to_string(&file).unwrap_or_default();
            assert!(kept == text, "{}: run tests/referee/make", file.display());
        }
    }
}

/// What the simulator found, by name.
fn found(hidden: &Hidden<'_>) -> BTreeMap<String, f64> {
    let file = folder().join(format!("{}.volts", hidden.name));
    let text = std::fs::read_to_string(&file).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
    assert!(
        text.starts_with("* ngspice-"),
        "no version: {}",
        hidden.name
    );
    text.lines()
        .filter_map(|line| line.split_once(" = "))
        .map(|(name, value)| (name.trim().to_owned(), value.trim().parse().unwrap()))
        .collect()
}

/// The simulator's node voltages in V, by part.
fn golden(hidden: &Hidden<'_>) -> Vec<f64> {
    let volts = found(hidden);
    let of = |part: PartId| volts[node(Some(part)).as_str()];
    hidden.feeds.parts().map(of).collect()
}

/// Currents in mA by part, from nothing but the simulator's voltages: each load's by Ohm's law, each
/// conductor's by the sum of what hangs on it.
fn currents(hidden: &Hidden<'_>, volts: &[f64]) -> Vec<f64> {
    let feeds = hidden.feeds;
    let mut currents = vec![0.0; feeds.len()];
    for part in feeds.parts().rev() {
        let at = part.index();
        currents[at] += hidden.load[at].map_or(0.0, |ohms| volts[at] / ohms * 1000.0);
        if let Some(up) = feeds.up(part) {
            currents[up.index()] += currents[at];
        }
    }
    currents
}

/// Our voltages are the simulator's: down the tree, by the resistances and our own currents. Ours come
/// from one sweep up and one down, repeated until the loads' currents and voltages agree. So are our
/// currents, which it gives by itself.
#[test]
fn node_voltages_are_those_of_the_simulator() {
    let samples = samples();
    let mut nodes = 0;
    for hidden in all(&samples) {
        let feeds = hidden.feeds;
        let (golden, found) = (golden(&hidden), found(&hidden));
        let mut ours: Vec<f64> = feeds
            .parts()
            .map(|part| feeds.volts_at(part).value() / 1000.0)
            .collect();
        for _ in 0..12 {
            let currents = currents(&hidden, &ours);
            let post = -CONTACT * currents[0] / 1e6;
            for part in feeds.parts() {
                let (at, up) = (part.index(), feeds.up(part));
                let above = up.map_or(post, |up| ours[up.index()]);
                ours[at] = match hidden.path[at] {
                    Some(milliohms) => above - milliohms * currents[at] / 1e6,
                    None => above + hidden.battery_volts(part),
                };
            }
        }
        let currents = currents(&hidden, &ours);
        for part in feeds.parts() {
            let at = part.index();
            let (mine, its) = (ours[at], golden[at]);
            let what = format!("{} {}", hidden.name, feeds.id(part));
            assert!(
                (mine - its).abs() < 1e-9,
                "{what}: {mine} V, simulator {its} V"
            );
            if let Some(its) = found.get(&format!("cur{at}")) {
                let (mine, its) = (currents[at], its * 1000.0);
                // A microvolt on a milliohm, of twelve volts in double numbers.
                let room = 1e-3 + 1e-6 * mine.abs();
                assert!(
                    (mine - its).abs() < room,
                    "{what}: {mine} mA, simulator {its} mA"
                );
            }
            nodes += 1;
        }
    }
    assert!(nodes > 1000, "{nodes}");
}

fn meter(step: f64, percent: f64, counts: f64) -> Instruments {
    let range = Range {
        step: Millivolts::of(step),
        percent,
        counts,
        most: None,
        burden: None,
    };
    let assumed = Instruments::assumed_meter();
    Instruments {
        meter: assumed.meter.map(|meter| Meter {
            millivolts: Some(range),
            ..meter
        }),
        ..assumed
    }
}

/// Every current for which some voltage within the accuracy and some resistance within the band give
/// this display, in mA: what the stated accuracy explains, and nothing more. Written out here from the
/// definitions.
fn exact(display: f64, accuracy: (f64, f64, f64), across: &Resistance) -> (f64, f64) {
    let (step, percent, counts) = accuracy;
    let margin = percent / 100.0 * display.abs() + counts * step;
    let ends = [display - margin, display + margin];
    let ohms = [across.band.low(), across.band.high()];
    let all = ends.map(|mv| ohms.map(|mohm| mv / mohm * 1000.0)).concat();
    let least = all.iter().copied().fold(f64::INFINITY, f64::min);
    (least, all.iter().copied().fold(f64::NEG_INFINITY, f64::max))
}

/// With drops taken off the simulator's voltages by meters that err anywhere within their accuracy: the
/// true current lies in the interval every time; the interval is no wider than the accuracy explains; a
/// display of 0.0 hides no more than is said.
#[test]
fn the_true_current_is_always_inside() {
    let samples = samples();
    // The three typical multimeters of the millivolt range (from memory).
    let meters = [(0.1, 0.5, 2.0), (0.01, 0.3, 1.0), (0.001, 0.05, 20.0)];
    let (mut read, mut zeros, mut widest) = (0, 0, 0.0_f64);
    for hidden in all(&samples) {
        let feeds = hidden.feeds;
        let volts = golden(&hidden);
        let currents = currents(&hidden, &volts);
        for part in feeds.parts() {
            let (Some(across), Some(up)) = (resistance(feeds, part), feeds.up(part)) else {
                continue;
            };
            let truth = (volts[up.index()] - volts[part.index()]) * 1000.0;
            let current = currents[part.index()];
            for accuracy in meters {
                let (step, percent, counts) = accuracy;
                let instruments = meter(step, percent, counts);
                for place in [-1.0, -0.4, 0.0, 0.7, 1.0] {
                    let display = shown(truth, step, percent, counts, place);
                    let reading = Reading {
                        low: display,
                        high: display,
                        unit: Unit::Millivolts,
                        step,
                        over: false,
                    };
                    let said = current_by_drop(&across, reading, &instruments).unwrap();
                    let what = format!(
                        "{} {}: {display} mV, {current} mA, said {said:?}",
                        hidden.name,
                        feeds.id(part)
                    );
                    let room = 1e-6 * (1.0 + current.abs()); // the digits kept
                    assert!(said.low() - room <= current, "{what}");
                    assert!(current <= said.high() + room, "{what}");
                    let (low, high) = exact(display, accuracy, &across);
                    let ratio = said.width() / (high - low);
                    assert!(ratio <= 1.05, "{what}: {ratio} times the exact interval");
                    widest = widest.max(ratio);
                    if display == 0.0 {
                        let hides = hides(&across, &instruments).unwrap().value();
                        assert!(current <= hides + room, "{what}: hides {hides}");
                        zeros += 1;
                    }
                    read += 1;
                }
            }
        }
    }
    println!("{read} drops, {zeros} of them 0.0: at most {widest:.4} times the exact interval");
    assert!(
        read > 5_000 && zeros > 100,
        "{read} readings, {zeros} zeros"
    );
}
