//! Wrong ideas that a play shows, each by what was done, not by what was thought.

use super::faults::seats;
use super::{Debrief, Drill, Gap, Step};
use crate::feeds::{Feeds, ModuleId, Named, PartId};
use crate::measurement::Method;
use crate::simulation::{Drain, Happened, Parked, Traps};

/// A wrong idea that a drill shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Misconception {
    /// Readings were taken before the vehicle slept.
    JudgedAwake,
    /// Began without the preparation.
    NotPrepared,
    /// A draw was believed that the set-up had spoilt.
    BadBaseline,
    /// 0.0 was believed where the meter could not have shown the drain.
    ZeroBelieved,
    /// The healthy part that carried most was convicted.
    BiggestConvicted,
    /// The draw fell when something was taken out, and that was taken for the current that it takes.
    PullForFlow,
    /// The vehicle was woken more often than the best plan wakes it.
    WokeIt,
    /// More went through the mA jack than its fuse takes.
    JackTooSmall,
    /// Proof was claimed that was not taken.
    ClaimedProof,
    /// The fault was reset by taking it out, and called proven.
    ResetCalledProven,
    /// The fault went with what was taken out before it was found.
    LostByPulling,
    /// One of two drains was named.
    OneOfTwo,
    /// Something that was not named was still out at the end.
    LeftOut,
    /// What nobody may touch was to be unplugged or pulled.
    CautionIgnored,
}

impl Misconception {
    /// All there are.
    pub const ALL: [Self; 14] = [
        Self::JudgedAwake,
        Self::NotPrepared,
        Self::BadBaseline,
        Self::ZeroBelieved,
        Self::BiggestConvicted,
        Self::PullForFlow,
        Self::WokeIt,
        Self::JackTooSmall,
        Self::ClaimedProof,
        Self::ResetCalledProven,
        Self::LostByPulling,
        Self::OneOfTwo,
        Self::LeftOut,
        Self::CautionIgnored,
    ];
}

/// What was hidden and what was proven.
pub(super) struct Found {
    /// For each hidden fault the names that are right.
    pub(super) fits: Vec<Vec<String>>,
    /// What was taken out for a proof, and whether the draw returned.
    pub(super) taken: Vec<(String, bool)>,
    /// What is named and not proven, with what was missing.
    pub(super) gaps: Vec<(String, Gap)>,
}

/// Every wrong idea of a play, each once, in the order of [`Misconception::ALL`].
pub(super) fn misconceptions(
    drill: &Drill<'_>,
    debrief: &Debrief,
    seen: &Found,
    choice: &dyn Fn(&str) -> f64,
) -> Vec<Misconception> {
    use Misconception as M;
    let hunted = drill.answer.is_some() && drill.exercise.hunt;
    let happened = |what: Happened| drill.steps.iter().any(|s| s.happened.contains(&what));
    let shows = |what: M| match what {
        M::JudgedAwake => drill.steps.iter().any(|s| is_reading(s) && !s.asleep),
        M::NotPrepared => not_prepared(drill),
        M::BadBaseline => {
            let Traps {
                bridge_on,
                blown_fuse,
                leads_round,
                battery_low,
                ..
            } = drill.exercise.traps;
            let spoilt = bridge_on || blown_fuse || leads_round || battery_low;
            // At a real board nobody knows whether it was put right but by what is read.
            let draw = drill.case.settled_draw();
            let over = draw.is_some_and(|draw| draw.current.low() > drill.setting.limit());
            let seen = happened(Happened::PutRight) || drill.board.is_some() && over;
            hunted && spoilt && !seen
        }
        M::ZeroBelieved => hunted && !debrief.right && zero_believed(drill, &debrief.named),
        M::BiggestConvicted => hunted && biggest_convicted(drill, debrief, seen, choice),
        M::PullForFlow => hunted && pull_for_flow(drill, debrief, seen),
        // A board that was said to sleep too early, before anything was moved, was not woken.
        M::WokeIt => {
            let caused = debrief.board_wakes != Some(false);
            drill.exercise.hunt && caused && debrief.wakes > debrief.best.wakes
        }
        M::JackTooSmall => happened(Happened::FuseWent),
        M::ClaimedProof => claims(drill) && !is_reset(debrief, seen) && !seen.gaps.is_empty(),
        M::ResetCalledProven => claims(drill) && is_reset(debrief, seen),
        M::LostByPulling => {
            let gone = drill.parked.hidden().len() < drill.exercise.hidden.len();
            hunted && !debrief.right && gone
        }
        M::OneOfTwo => {
            let named = |fit: &&Vec<String>| debrief.named.iter().any(|n| fit.contains(n));
            let hits = seen.fits.iter().filter(named).count();
            hunted && hits > 0 && hits < seen.fits.len()
        }
        M::LeftOut => hunted && left_out(drill, &debrief.named),
        M::CautionIgnored => !drill.touched.is_empty(),
    };
    M::ALL.into_iter().filter(|what| shows(*what)).collect()
}

pub(super) fn is_reading(step: &Step) -> bool {
    let words = ["draw", "drop ", "clamp ", "series "];
    words.iter().any(|word| step.typed.starts_with(word))
}

fn not_prepared(drill: &Drill<'_>) -> bool {
    let first = drill.steps.iter().position(is_reading);
    let prepared = drill.steps.iter().position(|s| s.typed == "prepared");
    drill.exercise.hunt && first.is_some_and(|first| prepared.is_none_or(|p| p > first))
}

/// Whether something is out at the end that neither is what was named nor takes it out.
fn left_out(drill: &Drill<'_>, named: &[String]) -> bool {
    let feeds = &drill.setting.feeds;
    let named: Vec<PartId> = named
        .iter()
        .flat_map(|name| parts_of(feeds, name))
        .collect();
    let out = drill.case.step().out;
    out.iter().any(|out| {
        let parts = parts_of(feeds, out);
        // A coil comes out with its relay.
        let moves = |n: &PartId, p: &PartId| feeds.moved_by(*n) == Some(*p);
        let takes = |p: &PartId| {
            named
                .iter()
                .any(|n| moves(n, p) || feeds.is_below(*n, *p) || feeds.is_below(*p, *n))
        };
        !parts.is_empty() && !parts.iter().any(takes)
    })
}

fn claims(drill: &Drill<'_>) -> bool {
    drill
        .answer
        .as_ref()
        .is_some_and(|answer| answer.claims_proof)
}

fn is_reset(debrief: &Debrief, seen: &Found) -> bool {
    let gone = |n: &String| seen.taken.iter().any(|(id, back)| !*back && id == n);
    debrief.named.iter().any(gone)
}

/// The parts in which something is hidden.
fn guilty(drill: &Drill<'_>) -> Vec<PartId> {
    let feeds = &drill.setting.feeds;
    let hidden = drill.exercise.hidden.iter();
    hidden.flat_map(|h| seats(feeds, &h.drain)).collect()
}

/// A zero above the fault that a healthy branch and the fault would both have shown, with the answer
/// elsewhere.
fn zero_believed(drill: &Drill<'_>, named: &[String]) -> bool {
    let feeds = &drill.setting.feeds;
    let (guilty, matters) = (guilty(drill), drill.case.judged().matters());
    drill.case.readings().iter().any(|r| {
        let at_a_part = matches!(r.method, Method::Drop | Method::Clamp | Method::Series);
        let told_nothing = |c: crate::interval::Interval<_>| {
            let (low, high): (f64, f64) = (c.low(), c.high());
            low <= 0.0 && high >= matters
        };
        let below = |name: &String| {
            let parts = parts_of(feeds, name);
            parts.iter().any(|p| feeds.is_below(*p, r.part))
        };
        at_a_part
            && shows_zero(drill, r.entry)
            && !named.iter().any(below)
            && r.current.is_some_and(told_nothing)
            && guilty.iter().any(|seat| feeds.is_below(*seat, r.part))
    })
}

/// Whether the display of an entry showed nothing: 0.0mV, 0mA.
fn shows_zero(drill: &Drill<'_>, entry: u32) -> bool {
    let entries = drill.case.entries().iter();
    let mut texts = entries.filter(|e| e.number == entry).map(|e| &e.text);
    texts.any(|text| text.split(' ').any(is_zero))
}

/// A reading of nothing, with its unit.
fn is_zero(word: &str) -> bool {
    let digits = word.trim_end_matches(char::is_alphabetic);
    digits != word && digits.parse::<f64>().is_ok_and(|value| value == 0.0)
}

/// What a name stands for: the parts that feed it.
pub(super) fn parts_of(feeds: &Feeds, name: &str) -> Vec<PartId> {
    let plain = name.strip_prefix("unlisted at ").unwrap_or(name);
    match feeds.find(plain) {
        Some(Named::Part(part)) => vec![*part],
        Some(Named::Plug(parts)) => parts.clone(),
        Some(Named::Module(module)) => feeds.module_feeds(*module).to_vec(),
        _ => Vec::new(),
    }
}

/// The names that are wrong, each with its parts, where nothing guilty is in or below them.
fn innocent(drill: &Drill<'_>, debrief: &Debrief, seen: &Found) -> Vec<Vec<PartId>> {
    let feeds = &drill.setting.feeds;
    let guilty = guilty(drill);
    let wrong = debrief.named.iter();
    let wrong = wrong.filter(|n| !seen.fits.iter().any(|fit| fit.contains(n)));
    let parts = wrong.map(|name| parts_of(feeds, name));
    parts
        .filter(|parts| {
            let inside = |seat: &PartId| parts.iter().any(|p| feeds.is_below(*seat, *p));
            !parts.is_empty() && !guilty.iter().any(inside)
        })
        .collect()
}

/// Of two things that hang side by side the one that carries more, although it is healthy: another holds
/// it awake.
fn biggest_convicted(
    drill: &Drill<'_>,
    debrief: &Debrief,
    seen: &Found,
    choice: &dyn Fn(&str) -> f64,
) -> bool {
    let feeds = &drill.setting.feeds;
    let holds = |h: &crate::simulation::Hidden| match h.drain {
        Drain::HeldBy(module) => vec![module],
        // What an input wakes is healthy and held as well: the least of them stands for it.
        Drain::Input(ref name) => crate::simulation::held_by(feeds, name),
        _ => Vec::new(),
    };
    let culprits: Vec<ModuleId> = drill.exercise.hidden.iter().flat_map(holds).collect();
    if culprits.is_empty() {
        return false;
    }
    let hidden = drill.exercise.hidden.clone();
    let currents = Parked::new(drill.setting, hidden, Traps::default(), choice).settled();
    let sum = |parts: &[PartId]| parts.iter().map(|p| currents[p.index()]).sum::<f64>();
    let own = culprits.iter().map(|m| sum(feeds.module_feeds(*m)));
    let least = own.fold(f64::INFINITY, f64::min);
    innocent(drill, debrief, seen)
        .iter()
        .any(|parts| sum(parts) > least)
}

/// The draw fell with it out, or with what feeds it, though nothing guilty lost its feed by it.
fn pull_for_flow(drill: &Drill<'_>, debrief: &Debrief, seen: &Found) -> bool {
    let feeds = &drill.setting.feeds;
    let draws: Vec<_> = drill
        .case
        .readings()
        .iter()
        .filter(|r| r.method == Method::Draw)
        .collect();
    let innocent = innocent(drill, debrief, seen);
    draws.windows(2).any(|pair| {
        let fell = match (pair[0].current, pair[1].current) {
            (Some(before), Some(after)) => after.high() < before.low(),
            _ => false,
        };
        let newly = |p: &PartId| pair[1].out.cuts(feeds, *p) && !pair[0].out.cuts(feeds, *p);
        fell && innocent.iter().any(|parts| parts.iter().any(newly))
    })
}
