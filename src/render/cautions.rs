//! What can hurt, said short at the step where it matters.
//!
//! All of it is common practice of the trade, no source; the vehicle maker's procedure, local rules and
//! licensed practice come first.

use crate::case::{Setting, TestPlan};
use crate::feeds::{Feeds, Named, PartId};
use crate::measurement::{Jack, Method, Way, range_of};
use crate::render::answer::current;
use crate::render::setup::let_in;
use crate::render::words::{capital, listed};
use crate::vehicle::{LoadKind, PartKind};

mod hanging;
mod places;
pub(super) use hanging::is_named;
use hanging::{BOTH_SIDES, hanging, loses_its_feed, moved_by_input};
pub(super) use places::at_the_place;
use places::{UP_THERE, is_up_high};

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
/// Before a plug is parted where the file has nothing of the kind there.
const UNPLUG: &str = "Never unplug an airbag or pretensioner connector.";
/// The same on a vehicle with high voltage.
const UNPLUG_ORANGE: &str =
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
pub(super) const AGAIN_AT_ONCE: &str =
    "METER STAYS IN: bridge on, and leave it for the next reading.";

/// The same where the reading makes one ask whether the bridge was off.
pub(super) const IN_DOUBT: &str =
    "METER STAYS IN: bridge off, read, bridge on again behind the reading.";

/// After the meter was in the place of a fuse or plug.
pub(super) const AFTER_SERIES: &str =
    "meter out, the fuse or plug back in its place, red lead back to V.";

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
    let there = at_the_place(test.method, test.place, &parts, feeds).into_iter();
    list.extend(there.map(str::to_owned));
    if let Some(near) = near_its_most(test, setting) {
        list.retain(|caution| caution != SMALL_JACK);
        list.push(near);
    }
    list.extend(after(test).map(|after| format!("{AFTERWARDS}{after}")));
    // What is let in in the place of a fuse takes the feed away as a pull does.
    let let_in = test.way.is_some_and(|way| let_in(test, way, setting));
    let method = if let_in { Method::Pull } else { test.method };
    if let_in {
        list.extend(loses_its_feed(&parts, feeds));
    }
    list.extend(at_the_post(method, &parts, feeds));
    list.extend(hanging(method, &parts, feeds));
    list.extend(moved_by_input(test, feeds));
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
            "{} here too: never unplug or probe that one{}.",
            listed(&names),
            if has_high_voltage(feeds) {
                ", nor anything orange"
            } else {
                ""
            }
        )
    })
}

/// Whether the file has high voltage anywhere: only there is anything orange.
fn has_high_voltage(feeds: &Feeds) -> bool {
    let mut parts = feeds.parts();
    parts.any(|part| feeds.load_kind(part) == Some(LoadKind::HighVoltage))
}

/// From this share of what a jack takes on a draw is near its fuse (judgement).
const NEAR: f64 = 0.85;

/// That the draw may be near what the mA jack takes.
fn near_its_most(test: &TestPlan, setting: &Setting) -> Option<String> {
    let small = matches!(test.way, Some(Way::Series(Jack::MilliA)));
    let most = range_of(Jack::MilliA, &setting.instruments)?.most?.value();
    let flows = test.flows.filter(|flows| small && *flows >= NEAR * most)?;
    Some(format!(
        "To the mA jack ({}) with the bridge on, and only if the A jack shows below {}: up to {} may flow, and one that wakes blows its fuse.",
        current(most),
        current(NEAR * most),
        current(flows)
    ))
}

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

/// What goes with the way of measuring, where that is said once in a case: the same again is no news.
pub(super) fn once_a_case(method: Method, part: PartId, feeds: &Feeds) -> Option<&'static str> {
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
            vec![if has_high_voltage(feeds) {
                UNPLUG_ORANGE
            } else {
                UNPLUG
            }]
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
    let other = (!both).then(|| stays_live(feeds)).flatten();
    let first = first.into_iter().chain(other);
    first.chain(std::iter::once(RESETS.to_owned())).collect()
}

/// That another battery of the file stays live with this one's negative lead off.
fn stays_live(feeds: &Feeds) -> Option<String> {
    let other = feeds.battery_behind(PartId(0))?;
    Some(format!(
        "{} stays live with that lead off: what it feeds is dead only with its own negative off too.",
        capital(feeds.id(other))
    ))
}

/// Whether a part is fed from two batteries: one behind it, or behind the contact above it that ties them.
fn is_fed_twice(part: PartId, feeds: &Feeds) -> bool {
    let ties = |above: PartId| {
        let kind = feeds.part(above).kind;
        matches!(kind, PartKind::Relay | PartKind::Switch) && feeds.is_fed_behind(above)
    };
    feeds.is_fed_behind(part) || feeds.path(part).into_iter().any(ties)
}

/// What is said of the negative lead at something that goes back in without being asked for: the rest was said when
/// it came out.
pub(super) fn at_refit(test: &TestPlan, setting: &Setting) -> Vec<String> {
    let parts = touched(test, &setting.feeds);
    at_the_post(test.method, &parts, &setting.feeds)
}

/// What can hurt when these parts are mended: where its wires are cut, its studs loosened, or it is opened.
pub(super) fn mending(parts: &[PartId], feeds: &Feeds) -> Vec<String> {
    let both = parts.iter().any(|part| is_fed_twice(*part, feeds));
    let usual = "Negative lead off before you cut or unbolt.";
    let mut list = vec![if both { BOTH_SIDES } else { usual }.to_owned()];
    if !both {
        list.extend(stays_live(feeds));
    }
    if parts.iter().any(|part| is_up_high(*part, feeds)) {
        list.push(UP_THERE.to_owned());
    }
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
