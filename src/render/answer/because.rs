//! Why a step is what to do, in a sentence.

use super::{current, place, span};
use crate::case::{Next, Reason, Setting, State};
use crate::feeds::{Feeds, Named, PartId, PlaceId};
use crate::measurement::Method;
use crate::render::cautions::touched;
use crate::render::log::duration;
use crate::render::words::{capital, number};
use crate::vehicle::PartKind;

/// Why a settle is waited for.
pub(in crate::render) const ASLEEP: &str = "Readings count only while the vehicle is asleep.";

/// Places to lay open that are named.
const NAMED: usize = 4;

/// "driver footwell (4 min), load area (3 min)".
fn with_minutes(places: &[PlaceId], setting: &Setting) -> String {
    let named = places.iter().map(|at| {
        let minutes = number(setting.feeds.place_as_written(*at).reach.value());
        format!("{} ({minutes} min)", place(*at, setting))
    });
    named.collect::<Vec<String>>().join(", ")
}

fn contact_first(contact: PartId, feeds: &Feeds) -> String {
    let coil = if feeds.part(contact).kind == PartKind::Relay {
        "; whether its coil holds it, a warm relay says"
    } else {
        ""
    };
    format!(
        "{} should be open. Volts behind it say in a minute whether it is{coil}.",
        feeds.id(contact)
    )
}

fn does_not_add_up(top: &str) -> String {
    format!(
        "{top} carries more than what was read behind it adds up to. Before anything is taken out elsewhere, what was read there is checked, the zeros first: a probe off its tab reads 0.0 too."
    )
}

/// What the wait for sleep is good for.
fn while_it_settles(next: &Next, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let text = ASLEEP;
    // Once a proof runs, or a repair is judged, nothing more needs to be got at.
    let searching = next.state == State::Wait && next.located.is_empty();
    let quiet = |place: &PlaceId| !feeds.place_as_written(*place).wakes;
    // What is open when the settle is over was free.
    let mut left = next.test.as_ref().map_or(0.0, |test| test.minutes);
    let mut fits = |place: &PlaceId| {
        let reach = feeds.place_as_written(*place).reach.value();
        let fits = reach <= left;
        left -= if fits { reach } else { 0.0 };
        fits
    };
    let closed = next.open.iter().copied().filter(|_| searching);
    let places: Vec<_> = closed
        .filter(quiet)
        .filter(|place| fits(place))
        .take(NAMED)
        .collect();
    if places.is_empty() {
        text.to_owned()
    } else {
        format!(
            "{text} Meanwhile get at what will likely be needed, with nothing more opened that wakes it: {}.",
            with_minutes(&places, setting)
        )
    }
}

/// From so many fuses behind a part on, one reading at it spares many (judgement).
const SPARES: usize = 3;

/// What a step that narrows the search down has for it, in a workshop's words; `None` where only its odds and
/// minutes speak for it.
pub(in crate::render) fn parting(next: &Next, setting: &Setting) -> Option<String> {
    let (feeds, test) = (&setting.feeds, next.test.as_ref()?);
    let Reason::Parts(left, focus) = next.reason else {
        return None;
    };
    let below = |kind: PartKind| {
        let parts = touched(test, feeds);
        let below = parts.iter().flat_map(|part| feeds.subtree(*part));
        let kinds = below.filter(|part| feeds.part(PartId(*part)).kind == kind);
        kinds.count()
            - parts
                .iter()
                .filter(|p| feeds.part(**p).kind == kind)
                .count()
    };
    let input = |name: &String| matches!(feeds.find(name), Some(Named::Input(_)));
    match test.method {
        _ if left == 1 => {
            Some("Only one cause is left; this shows whether it is the one.".to_owned())
        }
        Method::Look if test.points.iter().any(input) => {
            Some("What is held on keeps modules awake. A look costs no settle.".to_owned())
        }
        Method::Look => Some("A look disturbs nothing and costs no settle.".to_owned()),
        Method::Pull | Method::Unplug if below(PartKind::Load) > 1 => {
            Some("One draw then tells of all that hangs on it.".to_owned())
        }
        Method::Drop | Method::Clamp if below(PartKind::Fuse) >= SPARES => Some(format!(
            "One reading here tells of all {} fuses behind it.",
            below(PartKind::Fuse)
        )),
        _ if focus != PartId(0) => Some(format!(
            "{} carries too much: this splits what hangs on it.",
            feeds.id(focus)
        )),
        _ => None,
    }
}

/// Why the draw is read once more with something out that carried.
fn should_have_fallen(name: &str) -> String {
    format!(
        "By what was read or seen at {name} the draw had to fall without it, and it did not: read the draw once more while {name} is out. A decimal point, or the bridge, is put right quicker now than later."
    )
}

/// Why what was read at something is read once more that did not fall.
fn carries_elsewhere(name: &str) -> String {
    format!(
        "Nothing that matters fell without {name}, so what was read there was another fuse's, or its neighbours take over what it did. It is read once more before anything else rests on it."
    )
}

/// Why zeros are checked below a part into which more goes than they leave room for.
fn goes_nowhere(name: &str) -> String {
    format!(
        "More goes into {name} than two drains behind it could take by what was read there: a probe was off its tab, or a clamp not shut, at one of them, or {name} leaks, or feeds something that is on no diagram. The zeros there are checked first."
    )
}

/// One sentence: why this step.
pub fn because(next: &Next, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    match next.reason {
        Reason::Prepare => "Nothing is read before all of this is done.".into(),
        Reason::Settle => while_it_settles(next, setting),
        Reason::FirstDraw => "The settled total comes first; all else is held against it.".into(),
        Reason::Doubted => "That draw can hardly be right; check the set-up and read it again.".into(),
        Reason::Finer => "That range has too coarse steps for this; the finer one can take this current.".into(),
        Reason::WhatIsLeft => what_is_left(setting),
        Reason::Parts(..) => parting(next, setting).unwrap_or_else(|| {
            "Of all that can be done now it most likely gets to the end soonest.".into()
        }),
        Reason::Together(several) => together(several),
        Reason::PartBack => "It fell with more out; with these back in the draw tells which of them the drain goes with.".into(),
        Reason::Prove => "Taking it out proves it: the draw must fall, and return when it is back in.".into(),
        Reason::DrawWithout => "Only the draw tells whether that was it.".into(),
        Reason::StillFalling => "Asleep was said too early once in this case: the draw fell by itself. From there on a draw counts when it reads the same twice, some minutes apart.".into(),
        Reason::TotalFirst if next.state != State::Confirm => "Some readings were taken since the draw: had it changed meanwhile, their zeros would say nothing.".into(),
        Reason::TotalFirst => "The proof compares with this draw, so it is read once more: while it falls by itself, a fall proves nothing.".into(),
        Reason::OnceMore => "But for the decimal point that is the draw with it in: a slip of the unit or the range would look like a fall, so it is read once more.".into(),
        Reason::HardlyLeft => "Hardly anything is left, by one reading: a slip of the unit, or jaws not quite shut, would look like a fall too. It is read once more.".into(),
        Reason::BridgeOff => "Far less was shown than before, and nothing was done: a bridge lead left on shows that. Bridge off, and once more by the same jack; a smaller one would take all of it, and its fuse goes.".into(),
        Reason::AfterAwake => "It was awake since the draw was read, perhaps even then: read it again before anything is held against it.".into(),
        Reason::StillThere => "That broke the supply twice: the reading counts only if the draw is still what it was.".into(),
        Reason::BackFirst => "All of it goes back in first: a proof takes out one thing alone.".into(),
        Reason::Returns => "It fell. Only if the draw returns with it is it proven and not merely reset.".into(),
        Reason::LogWithout(minutes) => format!(
            "It comes and goes, so that less flows for a moment proves nothing: with nothing out it is away too. Leave it out and log for at least {}, about three times as long as it stays away (common practice, no source): whether it comes says whether it needs what is out.",
            duration(minutes)
        ),
        Reason::IsItThere => "It comes and goes, and something was moved since the draw: whether it is there now says whether a reading tells of it.".into(),
        Reason::SeeItCome(minutes) => format!(
            "With that out it did not come. Only if it comes again with it back in is it proven: read the draw while it is there, or log for at least {}.",
            duration(minutes)
        ),
        Reason::StillNothing => "Next to nothing was shown twice. A bridge lead left on shows that too: bridge off, and once more.".into(),
        Reason::StaysOut => "It is proven; it comes out again and stays out while the rest is judged.".into(),
        Reason::OpenFirst(at) => format!(
            "Opening {} wakes the vehicle, so it is opened now and left open.",
            place(at, setting)
        ),
        Reason::LiveThere => "A drop of 0.0 counts only where the part is live: a probe off the tab reads 0.0 as well.".into(),
        Reason::FeelFirst(relay) => format!(
            "A warm {0} says that its coil holds it on, a cold one that its contact sticks. Once it is pulled nobody can feel that.",
            feeds.id(relay)
        ),
        Reason::PluggedIn(socket) => plugged_in(feeds.id(socket)),
        Reason::NobodyAlone => "Nothing that is left could be the drain by itself, so a zero may be wrong: a probe off its tab, or a clamp that is not shut, reads nothing too. The zeros are checked before anything comes out.".into(),
        Reason::DoesNotAddUp(top) => does_not_add_up(feeds.id(top)),
        Reason::ShouldHaveFallen(part) => should_have_fallen(feeds.id(part)),
        Reason::CarriesElsewhere(part) => carries_elsewhere(feeds.id(part)),
        Reason::GoesNowhere(top) => goes_nowhere(feeds.id(top)),
        Reason::LessAbove(top, below) => less_above(feeds.id(top), feeds.id(below)),
        Reason::FellThough(part) => fell_though(feeds.id(part)),
        Reason::MuchHangs(part) => much_hangs(feeds.id(part)),
        Reason::ZeroAgain => "The result hangs on that reading: take it once more, both probes on clean bare metal.".into(),
        Reason::ContactFirst(contact) => contact_first(contact, feeds),
        Reason::InputFirst => "With that module out this input holds nothing awake either, so its fall would not tell the two apart. A look at what the input says takes half a minute.".into(),
        Reason::LookFirst => "Whether it draws can be seen in half a minute, before it is unplugged and costs a settle.".into(),
        Reason::ReadFirst(fuse) => format!(
            "The drop across {} tells in half a minute, before it is pulled and costs a settle.",
            feeds.id(fuse)
        ),
        Reason::MayTell(fuse) => format!(
            "{0} would be pulled next. The drop across it may tell before that: well above nothing, the drain is behind {0}; near nothing it says little.",
            feeds.id(fuse)
        ),
        Reason::BeforeLeaving(fuse) => before_leaving(feeds.id(fuse)),
        Reason::ReadAgain => "Wiring is named only where nothing hangs on one reading alone, as it does here: a decimal point, or another fuse, would convict the wire. Read it once more.".into(),
        Reason::ShutAgain => "A verdict rests on that reading of nothing, and jaws that are not quite shut, or shut round feed and return together, read nothing too: open them, shut them round that wire alone, and read once more.".into(),
        Reason::DoesNotCount => "What was read there does not count, so it is taken once more; where it cannot be: skip and why.".into(),
        Reason::Proven => "With what was proven out, the draw is within the limit.".into(),
        Reason::OtherPost(_) | Reason::AtTheTap(_) | Reason::WithinAt(_) => {
            lower_battery(next.reason, feeds)
        }
        Reason::ProvenWithoutLimit => "That it takes what fell is proven. Whether what is left is in order is not: no limit is known for this vehicle; enter it as limit: mA(…).".into(),
        Reason::Within => within(next),
        Reason::QuietNow => "It is away: what is read now says nothing of it, and the draw is too coarse to say whether anything else is over the limit.".into(),
        Reason::OverOnAverage(mean) => format!(
            "It is away: what is read now is within the limit and says nothing of it. With what was said to come it is {} on average, which is over the limit.",
            current(mean)
        ),
        Reason::Vanished => "The draw is within the limit with nothing out: the fault has gone, and readings from here prove nothing about it.".into(),
        Reason::Clash => "These readings cannot all be true; take one of them again.".into(),
        Reason::NoSingleCause => "Nothing left could take that much by itself: there is no single cause, or a reading is wrong.".into(),
        Reason::KeptUp => KEPT_UP.into(),
        Reason::CannotPart => "What is left cannot be split further, and no proof can be taken; it is still live.".into(),
        Reason::RepairedBackIn => "The repair is judged with everything back in, as the owner leaves the vehicle.".into(),
        Reason::PrepareAgain => "After a repair everything is prepared anew and settles in full; nothing read before says how it draws now.".into(),
        Reason::AfterRepair => "The settled draw with everything in shows whether the repair holds.".into(),
        Reason::Watch | Reason::Mended | Reason::MendedUnread | Reason::MendedUnwatched => {
            after_repair(next.reason, &the_limit(setting))
        }
        Reason::TooCoarse(left) => format!(
            "The draw that is left, {}, may be over the limit of {} or not, and with what is at hand no fall would show in it: read it on a finer range, such as an mA jack or a clamp that reads single milliamps.",
            span(left),
            current(setting.limit())
        ),
        Reason::NoLimit => "Without the maker's limit for this vehicle there is no verdict; enter it as limit: mA(…).".into(),
    }
}

/// What is done where one of two batteries in series is low by itself.
fn lower_battery(reason: Reason, feeds: &Feeds) -> String {
    match reason {
        Reason::OtherPost(low) => format!(
            "A draw at one post does not see what is tapped below it, and {0} is low by itself: read it at the earth lead of {0}, which carries all of it.",
            feeds.name(low)
        ),
        Reason::AtTheTap(low) => format!(
            "{} is low by itself, so what hangs on it alone is read, whatever the draw is elsewhere.",
            capital(feeds.name(low))
        ),
        Reason::WithinAt(low) => format!(
            "The draw is within the limit where it was read, and yet {0} is lower than the battery in series with it: something draws from {0} alone at times, or it is worn. Charge both, part them, read each the next day.",
            feeds.name(low)
        ),
        _ => String::new(),
    }
}

/// What the draw after a repair says.
fn after_repair(reason: Reason, limit: &str) -> String {
    match reason {
        Reason::Watch => format!(
            "It is within {limit}: so far the repair holds. A second reading after a watch closes the case; one alone says nothing of a drain that comes and goes."
        ),
        Reason::Mended => format!(
            "With everything in the draw is within {limit}, and was again when it was read the second time."
        ),
        Reason::MendedUnwatched => format!(
            "NOT VERIFIED: with everything in the draw was within {limit} once, and it was not watched. A drain that comes and goes, or takes its time, would show like this too."
        ),
        _ => "NOT VERIFIED: the draw was not read after the repair, so nothing says that it is mended.".to_owned(),
    }
}

/// "the limit"; where none is known what it was searched from.
fn the_limit(setting: &Setting) -> String {
    if setting.limit().is_finite() {
        "the limit".to_owned()
    } else {
        format!(
            "the {} that it was searched from (no limit is known)",
            current(setting.healthy.limit())
        )
    }
}

/// What a draw within the limit says.
fn within(next: &Next) -> String {
    let comes = next
        .watch
        .as_ref()
        .is_some_and(|watch| watch.comes.is_some());
    if comes {
        "What flows while it is away is within the limit; what comes and goes is not in it."
    } else {
        "The settled draw is within the limit: there is no drain now. Does it come and go?"
    }
    .to_owned()
}

fn what_is_left(setting: &Setting) -> String {
    format!(
        "That it fell is plain. Whether what is left keeps the limit of {} is not, and the finer range can take this current.",
        current(setting.limit())
    )
}

fn less_above(top: &str, below: &str) -> String {
    format!(
        "Less was read in {top} than behind it, at {below}, with more out and no more drawn: {top} is read once more."
    )
}

fn together(several: usize) -> String {
    format!(
        "One wait tells of all {several}: none of them is likely enough to pull it and wait for it alone. Note where each goes."
    )
}

/// Why modules that are up together are named, and none of them is the cause.
const KEPT_UP: &str = "Modules of the network are up together, by about what each takes awake: one thing keeps all of them up, and it is nothing that was out. Look for what was plugged in or added, see on the network who calls, and leave the modules be.";

fn plugged_in(socket: &str) -> String {
    format!(
        "What is plugged in at {socket} may keep every module of the network awake, and takes little itself. It is looked at, and taken out, before a module is."
    )
}

fn much_hangs(part: &str) -> String {
    format!(
        "The reading at {part} alone cleared much. Should it be a slip, what comes next would be for nothing, and that takes longer than to read it once more."
    )
}

/// Why a fuse is read before the probes leave its box.
fn before_leaving(fuse: &str) -> String {
    format!(
        "{fuse} was not read yet, and your probes are beside it: what comes next takes longer, and would be for nothing if the drain is behind {fuse}. Well above nothing it is; near nothing it says little."
    )
}

fn fell_though(part: &str) -> String {
    format!(
        "The draw fell with {part} out, yet nothing was read across it: a probe off its tab reads 0.0 too. To read it again takes half a minute, what comes next takes longer."
    )
}
