//! What can hurt, said short at the step where it matters.
//!
//! All of it is common practice of the trade, no source; the vehicle maker's procedure, local rules and
//! licensed practice come first.

use crate::case::{Setting, TestPlan};
use crate::feeds::{Feeds, Named, PartId};
use crate::measurement::{Jack, Method, Way};
use crate::render::answer::current;
use crate::render::setup::let_in;
use crate::render::words::{capital, listed};
use crate::vehicle::{LoadKind, PartKind};

/// Before what has to be done when the reading is in; the dialogue says it then, and not before.
pub(super) const AFTERWARDS: &str = "Afterwards: ";

/// Before the meter goes into the negative lead.
const DRAW: &str = "Negative lead, fused meter lead, tools clear. Bridge on first and off only to read; meanwhile nothing switched on, nothing opened.";
/// Before the clamp goes round the leads.
const DRAW_BY_CLAMP: &str = "Zero the clamp there first, with nothing in its jaws.";
/// Before the meter is left in the negative lead.
const LOG: &str = "Negative lead, fused meter lead, tools clear, nothing switched on. Bridge off only once it sleeps, on again before the meter comes out.";
/// What is let through the meter for hours may have blown its fuse.
const STILL_READS: &str = "Before the log counts, see that the meter still reads: with its fuse blown nothing can come to it.";
/// Before a plug is parted where the file has nothing of the kind; said once in a case.
pub(super) const UNPLUG: &str =
    "Never unplug an airbag or pretensioner connector, nor anything orange.";
/// With the negative lead off.
const RESETS: &str = "The maker's procedure for lifting that lead comes first. It resets modules: wait the whole settle anew once it is back on.";
/// The same as the first, with the mA jack.
const SMALL_JACK: &str =
    "Change to the mA jack with the bridge on: a vehicle that wakes blows its fuse.";

/// What is said of a caution of this draw where it was said in full before: `drawn` that the draw was read in
/// this way, `knows` that it was on this jack.
pub(super) fn said_again(caution: &str, drawn: bool, knows: bool) -> Option<&'static str> {
    match caution {
        DRAW if drawn => Some("Bridge on before the meter, off only to read; nothing switched on."),
        DRAW_BY_CLAMP if drawn => Some("Zero the clamp first, jaws empty."),
        SMALL_JACK if knows => Some("To the mA jack only with the bridge on."),
        _ => None,
    }
}

/// After the meter was in the negative lead.
pub(super) const AFTER_DRAW: &str = "bridge on, meter out of the circuit, red lead back to V.";

/// After the meter was in the negative lead, where the next reading is taken there too.
pub(super) const AGAIN_AT_ONCE: &str = "bridge on; the meter stays in for the next reading.";

/// The same where the reading makes one ask whether the bridge was off.
pub(super) const IN_DOUBT: &str =
    "the meter stays in; bridge off, read, bridge on again behind the reading.";

/// After the meter was in the place of a fuse or plug.
pub(super) const AFTER_SERIES: &str =
    "meter out, the fuse or plug back in its place, red lead back to V.";

/// From here up a feed that is parted under load draws an arc that stands: 48 V systems, not 24 V ones
/// on charge. Judgement; no source.
const ARCS_MV: f64 = 32_000.0;

/// The usual cautions of a step, those of what hangs on it, and the part's own; none twice. Linear in
/// the parts below.
pub fn cautions(test: &TestPlan, setting: &Setting) -> Vec<String> {
    let feeds = &setting.feeds;
    let parts = touched(test, feeds);
    let usual = usual(test.method, test.way, &parts, feeds).into_iter();
    let mut list: Vec<String> = usual.map(str::to_owned).collect();
    if test.method == Method::Pull {
        list.extend(loses_its_feed(&parts, feeds));
    }
    if test.method == Method::Unplug {
        list.extend(beside(&parts, feeds));
    }
    list.extend(under_load(test, &parts, feeds));
    list.extend(behind_trim(test, setting).map(str::to_owned));
    list.extend(after(test).map(|after| format!("{AFTERWARDS}{after}")));
    // What is let in in the place of a fuse takes the feed away as a pull does.
    let let_in = test.way.is_some_and(|way| let_in(test, way, setting));
    let method = if let_in { Method::Pull } else { test.method };
    if let_in {
        list.extend(loses_its_feed(&parts, feeds));
    }
    list.extend(at_the_post(method, &parts, feeds));
    list.extend(hanging(method, &parts, feeds));
    for part in own(method, &parts, feeds) {
        let Some(caution) = &feeds.part(part).caution else {
            continue;
        };
        list.push(if parts.contains(&part) {
            caution.clone()
        } else {
            format!("{}: {caution}", feeds.id(part))
        });
    }
    let mut said = std::collections::BTreeSet::new();
    list.retain(|caution| said.insert(caution.clone()));
    list
}

/// What is in the same place as these parts, or hangs on them, and must not be taken for them: by what the file
/// says of each load, and not by its name.
pub(super) fn beside(parts: &[PartId], feeds: &Feeds) -> Option<String> {
    let places: Vec<_> = parts.iter().filter_map(|part| feeds.place(*part)).collect();
    let here = |part: PartId| {
        feeds
            .place(part)
            .is_some_and(|place| places.contains(&place))
    };
    let own = |part: PartId| parts.iter().any(|one| feeds.is_below(part, *one));
    let guarded = feeds.parts().filter(|part| {
        let kind = feeds.load_kind(*part);
        matches!(kind, Some(LoadKind::Airbag | LoadKind::HighVoltage))
            && (here(*part) || own(*part))
    });
    let names: Vec<String> = guarded
        .map(|part| match &feeds.part(part).plug {
            Some(plug) => format!("{} ({})", feeds.id(part), plug.value),
            None => feeds.id(part).to_owned(),
        })
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "{} here too: never unplug or probe that one, nor anything orange.",
            listed(&names)
        )
    })
}

/// A place that takes so many minutes to get at is behind panels or trim (judgement).
const BEHIND_TRIM: f64 = 10.0;

/// From here up what is parted while it carries current burns its contacts and may burn a hand, in mA (judgement).
const BURNS: f64 = 8_000.0;

/// What goes with parting what may carry much.
fn under_load(test: &TestPlan, parts: &[PartId], feeds: &Feeds) -> Option<String> {
    let parted = matches!(test.method, Method::Pull | Method::Unplug);
    // There the battery's lead is off.
    let dead = parts.iter().all(|part| feeds.needs_lead_off(*part));
    let flows = test
        .flows
        .filter(|flows| parted && !dead && *flows >= BURNS)?;
    Some(format!(
        "Up to {} may flow here: under load it arcs and burns. Current off above it first, well clear of the battery; what it feeds may be hot.",
        current(flows)
    ))
}

/// What goes with taking off panels to get at a plug.
fn behind_trim(test: &TestPlan, setting: &Setting) -> Option<&'static str> {
    let place = setting.feeds.place_as_written(test.place?);
    let far = place.reach.value() >= BEHIND_TRIM;
    (far && test.method == Method::Unplug).then_some(
        "Panels or trim on the way: the maker's way of taking them off, no force; airbags and their wires may be behind them.",
    )
}

/// What a reading with the meter in the circuit calls for when it is in.
const fn after(test: &TestPlan) -> Option<&'static str> {
    match (test.method, test.way) {
        (Method::Draw, Some(Way::Series(_))) => Some(AFTER_DRAW),
        (Method::Series, _) => Some(AFTER_SERIES),
        _ => None,
    }
}

/// The parts that the step is about: all that comes out or goes in, not only the first.
pub(super) fn touched(test: &TestPlan, feeds: &Feeds) -> Vec<PartId> {
    let mut parts: Vec<PartId> = test.part.into_iter().collect();
    for name in &test.points {
        match feeds.find(name) {
            Some(Named::Part(part)) => parts.push(*part),
            Some(Named::Plug(several)) => parts.extend(several),
            Some(Named::Module(module)) => parts.extend(feeds.module_feeds(*module)),
            _ => {}
        }
    }
    if matches!(test.method, Method::Pull | Method::Unplug | Method::Refit) {
        for part in parts.clone() {
            parts.extend(feeds.holder_mates(part));
        }
    }
    parts.sort_unstable();
    parts.dedup();
    parts
}

/// What holds a charge when its feed is gone: the words in its name by which it is known, and the care. It hurts who
/// has it in hand, and nobody at its fuse.
const CHARGED: [(&[&str], &str); 2] = [
    (
        &["inverter", "voltage converter"],
        "holds a charge for minutes: never touch or bridge its pins.",
    ),
    (
        &["beacon", "strobe", "flash lamp", "xenon"],
        "may hold a dangerous charge for minutes: do not open it.",
    ),
];

/// What must not get its feed back at once, wherever that was taken off.
const RESTS: (&[&str], &str) = (
    &["cooler", "fridge", "freezer", "refrigerator", "compressor"],
    "with a compressor, back in only after some 5 min: it stalls against the pressure left, and blows the fuse.",
);

/// Loads that are named before the rest is only counted.
const NAMED: usize = 4;

/// "lamp, lid and 3 more": the loads below these that this holds for.
fn loads_below(parts: &[PartId], feeds: &Feeds, wanted: impl Fn(PartId) -> bool) -> Option<String> {
    let below = parts
        .iter()
        .flat_map(|part| feeds.subtree(*part))
        .map(PartId);
    let loads: Vec<PartId> = below
        .filter(|part| feeds.part(*part).kind == PartKind::Load && wanted(*part))
        .collect();
    let mut names: Vec<String> = loads
        .iter()
        .take(NAMED)
        .map(|part| feeds.id(*part).to_owned())
        .collect();
    if loads.len() > NAMED {
        names.push(format!("{} more", loads.len() - NAMED));
    }
    (!names.is_empty()).then(|| listed(&names))
}

/// What goes with taking a feed away: what it is taken from, but for lamps, heaters and audio, which just go off.
fn loses_its_feed(parts: &[PartId], feeds: &Feeds) -> Option<String> {
    let goes_off = |part: PartId| {
        let kind = feeds.load_kind(part);
        matches!(
            kind,
            Some(LoadKind::Lamp | LoadKind::Audio | LoadKind::Heater)
        )
    };
    if loads_below(parts, feeds, |_| true).is_some() {
        let names = loads_below(parts, feeds, |part| !goes_off(part))?;
        return Some(format!(
            "Takes the feed off {names}: be sure nothing moves, drops or stops recording by that."
        ));
    }
    let ids: Vec<String> = parts
        .iter()
        .map(|part| feeds.id(*part).to_owned())
        .collect();
    Some(format!(
        "What {} feeds is not entered: find that out first; it may move, drop or stop recording.",
        listed(&ids)
    ))
}

/// What goes with the way of measuring, where that is said once at a place: the same again there is no news.
pub(super) fn once_a_place(method: Method, part: PartId, feeds: &Feeds) -> Option<&'static str> {
    let once = matches!(method, Method::Drop | Method::Volts | Method::Unplug);
    let said = once.then(|| usual(method, None, &[part], feeds));
    said?.first().copied()
}

/// What goes with the way of measuring, or with the kind of action.
fn usual(method: Method, way: Option<Way>, parts: &[PartId], feeds: &Feeds) -> Vec<&'static str> {
    match (method, way) {
        (Method::Draw, Some(Way::Series(jack))) => {
            let mut list = vec![DRAW];
            if jack == Jack::MilliA {
                list.push(SMALL_JACK);
            }
            list
        }
        (Method::Log, Some(Way::Series(_))) => vec![LOG, STILL_READS],
        (Method::Draw | Method::Log, _) => vec![DRAW_BY_CLAMP],
        (Method::Clamp, Some(Way::Clamp { turns })) if turns > 1 => Vec::new(),
        (Method::Clamp, _) => vec!["Zero the clamp there first; then that wire alone in its jaws."],
        (Method::Series, _) => vec![
            "Fused meter lead, highest range first; nothing switched on with the meter in line.",
        ],
        (Method::Drop, _) => {
            let fuse = parts
                .iter()
                .all(|part| feeds.part(*part).kind == PartKind::Fuse);
            vec![if fuse {
                "Slim probes on the fuse's own test points, one fuse at a time; off the tab they read 0.0."
            } else {
                "Slim probes on bare metal, clear of the body and of what is beside it; off the metal they read 0.0."
            }]
        }
        (Method::Volts, _) => {
            vec!["Slim red probe on that point alone: a slip to the body is a short circuit."]
        }
        (Method::Unplug, _)
            if beside(parts, feeds).is_none()
                && !parts.iter().all(|part| feeds.needs_lead_off(*part)) =>
        {
            vec![UNPLUG]
        }
        _ => Vec::new(),
    }
}

/// What goes with parting, or fitting, what no fuse stands before.
fn at_the_post(method: Method, parts: &[PartId], feeds: &Feeds) -> Vec<String> {
    let parted = matches!(method, Method::Pull | Method::Unplug | Method::Refit);
    let bare = parts.iter().filter(|part| feeds.needs_lead_off(**part));
    let bare: Vec<PartId> = bare.copied().collect();
    if !parted || bare.is_empty() {
        return Vec::new();
    }
    let ids: Vec<String> = bare.iter().map(|part| feeds.id(*part).to_owned()).collect();
    // Where it is fed from behind too, the negatives of both are said with that.
    let both = bare.iter().any(|part| feeds.is_fed_behind(*part));
    let first = (!both).then(|| {
        format!(
            "No fuse before {}: battery's negative lead off first, the bare end insulated, negative on last.",
            listed(&ids)
        )
    });
    first
        .into_iter()
        .chain(std::iter::once(RESETS.to_owned()))
        .collect()
}

/// What is said of the negative lead at something that goes back in without being asked for: the rest was said when
/// it came out.
pub(super) fn at_refit(test: &TestPlan, setting: &Setting) -> Vec<String> {
    let parts = touched(test, &setting.feeds);
    at_the_post(test.method, &parts, &setting.feeds)
}

/// Whether one of these words stands in a part's id or name.
pub(super) fn is_named(part: PartId, words: &[&str], feeds: &Feeds) -> bool {
    let written = feeds.part(part);
    let id = written.id.value.to_lowercase();
    let name = written.name.as_deref().unwrap_or_default().to_lowercase();
    let mut words = words.iter();
    words.any(|word| id.contains(word) || name.contains(word))
}

/// What is fed from behind too.
const BOTH_SIDES: &str = "Live on both sides, from two batteries: the negatives of both off before a spanner goes to it, ends insulated.";

/// What can hurt when these parts are mended: where its wires are cut, its studs loosened, or it is opened.
pub(super) fn mending(parts: &[PartId], feeds: &Feeds) -> Vec<String> {
    let both = parts.iter().any(|part| feeds.is_fed_behind(*part));
    let usual = "Negative lead off before you cut or unbolt.";
    let mut list = vec![if both { BOTH_SIDES } else { usual }.to_owned()];
    list.extend(beside(parts, feeds));
    let hangs = hanging(Method::Unplug, parts, feeds).into_iter();
    list.extend(hangs.filter(|caution| caution != BOTH_SIDES));
    let with_own = parts.iter().filter_map(|part| {
        let caution = feeds.part(*part).caution.as_ref()?;
        Some(format!("{}: {caution}", feeds.id(*part)))
    });
    list.extend(with_own);
    list
}

/// What hangs on the parts and calls for care at this step, by its names.
fn hanging(method: Method, parts: &[PartId], feeds: &Feeds) -> Vec<String> {
    let parted = matches!(method, Method::Pull | Method::Unplug | Method::Refit);
    let near = parted || matches!(method, Method::Clamp | Method::Look);
    let arcs = parts
        .iter()
        .any(|part| feeds.volts_at(*part).value() >= ARCS_MV);
    let table = [
        (
            near,
            LoadKind::Airbag,
            "Airbag circuits hang on this",
            "the maker's waiting time and procedure, never a probe at the plug.",
        ),
        (
            parted,
            LoadKind::Brake,
            "Brakes hang on this",
            "chock the wheels first; a pump's accumulator stays under pressure: open no brake pipe.",
        ),
        (
            near,
            LoadKind::Moves,
            "This can move by itself",
            "hands clear.",
        ),
        (
            near,
            LoadKind::HighVoltage,
            "High voltage hangs on this",
            "out of this tool's scope, trained people only.",
        ),
        (
            parted,
            LoadKind::Protected,
            "This must not lose its feed unasked",
            "the maker's procedure first.",
        ),
    ];
    let mut said: Vec<String> = table
        .into_iter()
        .filter(|(applies, ..)| *applies)
        .filter_map(|(_, kind, what, care)| {
            let names = loads_below(parts, feeds, |part| feeds.load_kind(part) == Some(kind))?;
            Some(format!("{what} ({names}): {care}"))
        })
        .collect();
    let held = CHARGED.iter().filter(|_| method == Method::Unplug);
    said.extend(held.filter_map(|(words, care)| {
        let in_hand = |part: PartId| parts.contains(&part) && is_named(part, words, feeds);
        let names = loads_below(parts, feeds, in_hand)?;
        Some(format!("{}: {care}", capital(&names)))
    }));
    if parted {
        let (words, care) = RESTS;
        let names = loads_below(parts, feeds, |part| is_named(part, words, feeds));
        said.extend(names.map(|names| format!("{}: {care}", capital(&names))));
    }
    if parted && parts.iter().any(|part| feeds.is_fed_behind(*part)) {
        said.push(BOTH_SIDES.to_owned());
    }
    if parted && arcs {
        said.push(
            "More than 24 V: it arcs when pulled under load; switch off what it feeds first."
                .to_owned(),
        );
    }
    said
}

/// The parts whose own caution is said: those that are touched, and all below what comes out or goes in.
fn own(method: Method, parts: &[PartId], feeds: &Feeds) -> Vec<PartId> {
    let mut whole = match method {
        Method::Pull | Method::Unplug | Method::Refit => parts
            .iter()
            .flat_map(|part| feeds.subtree(*part))
            .map(PartId)
            .collect(),
        Method::Drop | Method::Volts | Method::Series | Method::Clamp | Method::Look => {
            parts.to_vec()
        }
        Method::Draw | Method::Open | Method::Zero | Method::Wait | Method::Log => Vec::new(),
    };
    whole.sort_unstable();
    whole.dedup();
    whole
}
