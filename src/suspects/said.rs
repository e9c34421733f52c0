//! What owners and electricians say, and what it means for the odds (judgement, all of it).

use crate::suspects::Class;

/// What a key makes likelier, a little likelier, less likely.
const MORE: f64 = 3.0;
const SOME: f64 = 1.5;
const LESS: f64 = 0.3;
/// What a drain that is there after rain alone makes of what fills with water (judgement).
const WET: f64 = 10.0;
/// Words of each kind of cause, as owners and electricians say them; the singular.
pub(super) const WORDS: [(Class, &[&str]); 13] = [
    (
        Class::Added,
        &[
            "added",
            "aftermarket",
            "retrofit",
            "dashcam",
            "inverter",
            "fitted",
            "tracker",
            "alarm",
            "camera",
            "beacon",
        ],
    ),
    (
        Class::Lamp,
        &[
            "lamp", "light", "bulb", "lit", "glovebox", "vanity", "dome", "beacon",
        ],
    ),
    (
        Class::Audio,
        &[
            "radio",
            "stereo",
            "audio",
            "amplifier",
            "amp",
            "speaker",
            "changer",
            "infotainment",
            "screen",
            "navigation",
            "music",
            "hifi",
        ],
    ),
    (
        Class::Telematics,
        &[
            "telematic",
            "modem",
            "antenna",
            "phone",
            "router",
            "wifi",
            "gps",
            "sim",
            "tracker",
            "coverage",
            "signal",
        ],
    ),
    (
        Class::Body,
        &[
            "locking",
            "lock",
            "keyless",
            "remote",
            "window",
            "wiper",
            "cluster",
            "siren",
            "immobiliser",
            "indicator",
            "tailgate",
            "mirror",
            "instrument",
            "alarm",
            "horn",
        ],
    ),
    (
        Class::HeldAwake,
        &[
            "awake",
            "latch",
            "ajar",
            "diagnostic",
            "dongle",
            "scanner",
            "unlocked",
        ],
    ),
    (
        Class::Relay,
        &["relay", "clicking", "click", "buzzing", "buzz"],
    ),
    (
        Class::Charging,
        &["alternator", "charging", "regulator", "generator"],
    ),
    (
        Class::Power,
        &[
            "seat",
            "sunroof",
            "fan",
            "blower",
            "pump",
            "motor",
            "lift",
            "suspension",
            "shutter",
        ],
    ),
    (
        Class::Trailer,
        &["trailer", "tow", "towbar", "towing", "caravan", "hitch"],
    ),
    (
        Class::Wiring,
        &[
            "water",
            "wet",
            "damp",
            "leak",
            "corrosion",
            "corroded",
            "chafed",
            "accident",
            "crash",
            "flood",
            "flooded",
            "mouse",
            "mice",
            "rodent",
            "bodywork",
            "harness",
            "loom",
            "rain",
            "wash",
            "washed",
        ],
    ),
    (Class::Switch, &["ignition", "switch", "pedal"]),
    (Class::Starter, &["starter", "crank", "cranking"]),
];

/// Words that turn an answer round.
pub(super) const NO: [&str; 8] = [
    "none", "nothing", "nil", "no", "not", "never", "without", "dry",
];

/// The words of a text, small and in the singular.
pub(super) fn words(text: &str) -> Vec<String> {
    let lower = text.to_lowercase();
    let parts = lower.split(|c: char| !c.is_alphanumeric());
    let single = |word: &str| match word.strip_suffix('s') {
        Some(one) if one.len() > 3 && !one.ends_with('s') => one.to_owned(),
        _ => word.to_owned(),
    };
    parts.filter(|word| !word.is_empty()).map(single).collect()
}

/// Whether all words of a name stand in a text.
pub(super) fn speaks_of(said: &[String], name: &str) -> bool {
    let mut name = words(name).into_iter().peekable();
    name.peek().is_some() && name.all(|word| said.contains(&word))
}

/// The number that ends a text, and what stands before it.
pub(super) fn number_behind(text: &str) -> Option<(&str, f64)> {
    let text = text.trim();
    let (before, number) = text.rsplit_once(' ')?;
    let number: f64 = number
        .trim_start_matches('x')
        .replace(',', ".")
        .parse()
        .ok()?;
    (number > 0.0).then_some((before, number))
}

/// Words in the name of a lamp that sits outside.
const OUTSIDE: [&str; 16] = [
    "tail",
    "rear",
    "head",
    "headlamp",
    "fog",
    "number",
    "plate",
    "marker",
    "side",
    "brake",
    "stop",
    "indicator",
    "trailer",
    "tow",
    "outside",
    "exterior",
];

/// Whether a lamp of that name sits outside, where rain gets in.
pub(super) fn is_outside(name: &str) -> bool {
    words(name)
        .iter()
        .any(|word| OUTSIDE.contains(&word.as_str()))
}

/// What a key means for kinds of cause, with its answer.
pub(super) fn by_key(
    key: Option<&str>,
    no: bool,
    says: &dyn Fn(&[&str]) -> bool,
) -> Vec<(Class, f64)> {
    match key {
        // What was fitted later is often on no sheet.
        Some("added") if no => vec![
            (Class::Added, 1.0 / MORE),
            (Class::NotEntered, SOME.recip()),
        ],
        Some("added") => vec![(Class::Added, MORE), (Class::NotEntered, MORE)],
        Some("rain") if no => vec![(Class::Wiring, LESS)],
        // Joints and sockets outside are the first to fill; a lamp in there stays dry.
        Some("rain") => vec![
            (Class::Wiring, WET),
            (Class::Trailer, WET),
            (Class::NotEntered, SOME),
        ],
        // Without coverage a unit goes on looking for its network.
        Some("coverage")
            if no || says(&["poor", "bad", "weak", "lost", "garage", "underground"]) =>
        {
            vec![(Class::Telematics, MORE), (Class::HeldAwake, SOME)]
        }
        Some("network") => {
            let silent = says(&["silent", "quiet", "asleep", "sleeping"]);
            let awake = !silent || says(&["never", "not", "no"]);
            vec![(Class::HeldAwake, if awake { MORE } else { LESS })]
        }
        Some("parked") => parked(says),
        _ => Vec::new(),
    }
}

/// Where and how it is left.
fn parked(says: &dyn Fn(&[&str]) -> bool) -> Vec<(Class, f64)> {
    let mut kinds = Vec::new();
    // A key in reach keeps the vehicle asking for it.
    if says(&[
        "key", "house", "home", "drive", "driveway", "garage", "unlocked",
    ]) {
        kinds.extend([(Class::HeldAwake, SOME), (Class::Body, SOME)]);
    }
    if says(&[
        "underground",
        "basement",
        "cellar",
        "tunnel",
        "valley",
        "remote",
        "hall",
    ]) {
        kinds.extend([(Class::Telematics, MORE), (Class::HeldAwake, SOME)]);
    }
    if says(&[
        "outside", "outdoor", "rain", "wet", "sea", "coast", "snow", "open",
    ]) {
        kinds.push((Class::Wiring, SOME));
    }
    if says(&["trailer", "hitched", "coupled", "caravan"]) {
        kinds.push((Class::Trailer, MORE));
    }
    kinds
}

/// What the level of a draw alone says (judgement): up to so many mA at 12 V, the kinds that usually
/// draw that, and how much likelier they are.
pub(super) const LEVELS: [(f64, &[(Class, f64)]); 5] = [
    (
        60.0,
        &[(Class::Lamp, 0.7), (Class::Power, 0.5), (Class::Relay, 0.5)],
    ),
    (
        400.0,
        &[
            (Class::Audio, 1.5),
            (Class::Telematics, 1.5),
            (Class::Body, 1.5),
            (Class::HeldAwake, 1.5),
        ],
    ),
    (
        1000.0,
        &[
            (Class::Lamp, 2.0),
            (Class::Body, 1.5),
            (Class::Audio, 1.2),
            (Class::Telematics, 0.7),
        ],
    ),
    (
        3000.0,
        &[
            (Class::Relay, 2.0),
            (Class::Lamp, 1.5),
            (Class::Body, 1.5),
            (Class::Telematics, 0.5),
        ],
    ),
    (
        f64::INFINITY,
        &[
            (Class::HeldAwake, 2.0),
            (Class::Power, 2.0),
            (Class::Relay, 1.5),
            (Class::Telematics, 0.3),
        ],
    ),
];
