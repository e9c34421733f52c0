//! What is asked about an entry, in words.

use super::{current, span};
use crate::case::{Done, Question, Setting, Slip};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal;
use crate::measurement::{Method, Reading, Unit};
use crate::quantity::{Milliamps, Millivolts};
use crate::render::amps::figures;
use crate::render::intake::{battery_charging, battery_low};
use crate::render::log::duration;
use crate::render::need::blind_words;
use crate::render::odds::like_it;
use crate::render::words::{capital, listed, number, ordinal, spoken};
use crate::suspects::Subject;

/// "entry 54", "entries 54 and 56".
fn entries_named(entries: &[u32]) -> String {
    let numbers: Vec<String> = entries.iter().map(ToString::to_string).collect();
    match numbers.len() {
        0 => "what was read before".into(),
        1 => format!("entry {}", listed(&numbers)),
        _ => format!("entries {}", listed(&numbers)),
    }
}

/// That a wire is too thick for the clamp at hand.
pub(in crate::render) fn jaws_too_small(part: PartId, setting: &Setting) -> String {
    let jaw = setting.instruments.clamp.and_then(|clamp| clamp.jaw);
    format!(
        "The clamp opens {:.0} mm and {} is about {:.0} mm thick (1.6 times its copper, judgement): jaws that are not shut read too little. Did they shut?",
        jaw.map_or(0.0, crate::quantity::Millimetres::value),
        setting.feeds.id(part),
        setting.thickness(part).unwrap_or_default()
    )
}

/// What to do with a zero that is none.
fn take_off(zero: &Reading) -> String {
    let shown = figures(f64::midpoint(zero.low, zero.high));
    match zero.unit {
        Unit::Millivolts => format!(
            "{shown} mV with the probes together is the leads' own: take it off every drop before you type it, or let the meter's zero key do it. More than about 0.5 mV is a bad lead or a dirty plug (judgement)."
        ),
        Unit::Milliamps => format!(
            "{shown} mA with nothing in the jaws is the clamp's own: zero it where it reads, or take it off before you type. Where it comes back, open and shut the jaws."
        ),
    }
}

/// That a drop would be a current which cannot flow there.
fn cannot_be(id: &str, reading: &Reading, milliamps: f64, rating: Option<f64>) -> String {
    let millivolts = f64::midpoint(reading.low, reading.high);
    let shown = if millivolts.abs() >= 100.0 {
        format!("{} V", figures(millivolts / 1000.0))
    } else {
        format!("{} mV", figures(millivolts))
    };
    let against = rating.map_or_else(
        || "many times the draw".to_owned(),
        |rating| format!("more than its {} A rating", number(rating / 1000.0)),
    );
    format!(
        "{shown} across {id} would be {}, {against}: it does not count. V typed for mV, or the decimal point? Type it again. A blown fuse has near battery volts across it. A bad contact of the holder: probe the fuse itself.",
        current(milliamps)
    )
}

/// Which readings would go together with the rest but for a power of ten, and which to take again.
fn slipped(slips: &[Slip], setting: &Setting) -> String {
    let point = |slip: &Slip| match slip.method {
        Method::Draw => journal::word(slip.method).to_owned(),
        method => format!("{} {}", journal::word(method), setting.feeds.id(slip.part)),
    };
    let one = |slip: &Slip| {
        let times = if slip.times > 1.0 {
            format!("{} times more", number(slip.times))
        } else {
            format!("{} times less", number(1.0 / slip.times))
        };
        format!(
            "entry {} ({}) {times} ({}), that is {}",
            slip.entry,
            point(slip),
            slip_named(slip),
            span(slip.meant)
        )
    };
    let each: Vec<String> = slips.iter().map(one).collect();
    let mut again: Vec<String> = slips.iter().map(point).collect();
    again.dedup();
    format!(
        "It would all fit with {}. The wrong unit or range? Take it again: {}. Where it is the same again, it is another reading that is wrong.",
        each.join("; or with "),
        again.join(", or ")
    )
}

/// "mA typed for A", "the decimal point".
fn slip_named(slip: &Slip) -> String {
    let (small, large) = match slip.method {
        Method::Drop | Method::Volts => ("mV", "V"),
        _ => ("mA", "A"),
    };
    if slip.times > 500.0 {
        format!("{small} typed for {large}")
    } else if slip.times < 0.002 {
        format!("{large} typed for {small}")
    } else {
        "the decimal point".to_owned()
    }
}

/// A repair from before the search.
fn mended_before(named: bool) -> String {
    let means = if named {
        "what was mended is less likely to be the drain"
    } else {
        "it names nothing of this vehicle, so it moves no odds"
    };
    format!(
        "Nothing over the limit was read yet, so that is a repair from before this search: {means}, and it may have left a plug off or a wire pinched. Now prepare, let it settle, and read the draw."
    )
}

/// "repaired C114 and what was done; repaired C7 and what was done".
pub(in crate::render) fn repaired_lines(subjects: &[Subject], setting: &Setting) -> String {
    let feeds = &setting.feeds;
    let lines = subjects.iter().map(|subject| {
        let plug = match subject {
            Subject::Part(part) => feeds.part(*part).plug.as_ref().map(|p| p.value.clone()),
            _ => None,
        };
        let name = plug.unwrap_or_else(|| match subject {
            Subject::Unlisted(part) => feeds.id(*part).to_owned(),
            _ => subject.id(feeds),
        });
        format!("repaired {name} and what was done")
    });
    lines.collect::<Vec<_>>().join("; ")
}

/// That it is still over the limit after the repair, and by what that looks as if it were not mended.
fn not_mended(now: Interval<Milliamps>, like: &[Subject], setting: &Setting) -> String {
    let now = span(now);
    let over = format!("{now} with everything in, after the repair: that is still over the limit");
    let goes_on = "The search goes on; what was mended is looked at again first. If the vehicle woke, undo and let it settle.";
    if like.is_empty() {
        return format!("{over}. Not mended yet, another drain, or not the cause? {goes_on}");
    }
    let ids: Vec<String> = like.iter().map(|s| spoken(&s.id(&setting.feeds))).collect();
    let (names, was) = match ids.as_slice() {
        [one] => (one.clone(), "was it mended too?"),
        several => (several.join(" or "), "was each mended?"),
    };
    format!(
        "{over}, by about what {names} took: {was} Then enter it: {}. {goes_on}",
        repaired_lines(like, setting)
    )
}

/// A question in words.
#[allow(clippy::too_many_lines)] // one sentence a question
pub fn question(question: &Question, setting: &Setting) -> String {
    let feeds = &setting.feeds;
    match question {
        Question::ZeroBefore(part, entry) => format!(
            "{} showed nothing in entry {entry} and carries a current now: a probe off its tab reads 0.0 too, so that entry counts no longer.",
            feeds.id(*part)
        ),
        Question::RestedOnZero(part, subjects) => {
            let ids: Vec<String> = subjects.iter().map(|s| spoken(&s.id(feeds))).collect();
            format!(
                "The proof of {} rested on the nothing at {}, which was none: it counts no longer, and is taken anew where it still holds.",
                listed(&ids),
                feeds.id(*part)
            )
        }
        Question::FellAsleep(before, now) => format!(
            "It was {} before it slept and is {} now: what was read until then counts no longer.",
            span(*before),
            span(*now)
        ),
        Question::ReadOtherwise(part, entry, before, now) => format!(
            "{} carried {} by entry {entry} and {} by this one: the later one counts. Is the later one wrong? Then: undo. In doubt read it a third time.",
            feeds.id(*part),
            span(*before),
            span(*now)
        ),
        Question::ZerosDoubted(zeros) => {
            let named = |(part, entry): &(PartId, u32)| format!("{} (entry {entry})", feeds.id(*part));
            let named: Vec<String> = zeros.iter().map(named).collect();
            format!(
                "That draw cannot be with nothing at {}: a probe off its tab reads 0.0 too. Until read once more, that counts no longer.",
                listed(&named)
            )
        }
        Question::CannotBe(part, reading, current, rating) => {
            cannot_be(feeds.id(*part), reading, *current, *rating)
        }
        Question::ProvenNeeds(subjects) => {
            let ids: Vec<String> = subjects.iter().map(|s| spoken(&s.id(feeds))).collect();
            format!(
                "{} is in, and less flows now than fell with it: it draws only while what is out now is in, so that holds it awake. Its proof counts no longer.",
                listed(&ids)
            )
        }
        Question::AddUpToMore(subjects) => {
            let ids: Vec<String> = subjects.iter().map(|s| spoken(&s.id(feeds))).collect();
            let proofs = match ids.as_slice() {
                [] => String::new(),
                [one] => format!(" The proof of {one} counts no longer."),
                _ => format!(" The proofs of {} count no longer.", listed(&ids)),
            };
            format!(
                "More fell with this out and with others out before, one after the other, than flows at all: so they are not separate drains. One thing keeps all of them up, or the draw falls by itself whatever is moved. The one with the most current is often not the cause.{proofs}"
            )
        }
        Question::AsIfAwake(at, sum) => format!(
            "{} is about what the modules take awake by the file ({}). Did it settle in full? Then look at what holds them awake: latches, switches, a key nearby, the diagnostic connector. Said too early? awake, wait, read again.",
            span(*at),
            current(*sum)
        ),
        Question::UsualOverLimit(usual, limit) => format!(
            "By its file this vehicle takes {} as a rule, more than its limit of {}: one of the two is wrong. Ask the maker's limit before anything is searched; what a part takes as a rule is no drain.",
            current(*usual),
            current(*limit)
        ),
        Question::Slipped(slips) => slipped(slips, setting),
        Question::ReadWrong(before, now) => format!(
            "{} then, {} now, and nothing was done: by a power of ten, so the earlier one was a slip of the unit, the range or the decimal point. It counts no longer.",
            span(*before),
            span(*now)
        ),
        Question::MendedBefore(named) => mended_before(*named),
        Question::Misspelt(typed, near) => format!(
            "Nothing in this vehicle's file is called `{typed}`: is it {near}? Then undo, and tell it again. Else it stands as it was told."
        ),
        Question::DrawsWithout(subject, names, now) => format!(
            "{} with {} out: so {} is not it. What else hangs there, and the wiring to it, is not ruled out any more.",
            span(*now),
            listed(names),
            spoken(&subject.id(feeds))
        ),
        Question::ClearedSince(subject, most, fell) => format!(
            "By that reading no more than {} can flow in {}, and {} fell: so it is not {}. What else came out with it is not ruled out any more.",
            current(*most),
            subject.id(feeds),
            span(*fell),
            subject.id(feeds),
        ),
        Question::StillIn(names) => format!(
            "That is what flowed with {} in: is it really out? If it went back in: refit {}.",
            listed(names),
            names.join(", ")
        ),
        Question::HardlyAnything(at, Some((typed, decimals))) => {
            let typed = format!("{:.*}", *decimals, typed.value());
            format!(
                "Only {} on a vehicle with modules: was {typed} A meant, mA typed for A? Then: draw {typed}A. Else: is the bridge lead still on? A keep-alive supply or charger, a blown meter fuse, the wrong jack, a clamp not shut? Read again, or add sure.",
                span(*at)
            )
        }
        Question::HardlyAnything(at, None) => format!(
            "Only {} on a vehicle with modules: is the bridge lead still on? A keep-alive supply or charger, a blown meter fuse, the wrong jack, a clamp not shut? {}",
            span(*at),
            if at.low() > 0.0 {
                "Read again, or add sure."
            } else {
                "Switch on something small: does the display show it? If so, read again and add sure."
            }
        ),
        Question::Awake(at) => format!(
            "{} is an awake vehicle{}: is a catch, key or switch keeping it up? Wait and read again, or add sure.",
            span(*at),
            if feeds.modules().next().is_some() { "" } else { ", or a heater, lamps or a fan is on" }
        ),
        Question::MoreThanJack(most) => format!(
            "That is more than this jack takes ({}). A slip of the unit, mA for A or the decimal point? Type it again. Else: which jack was it (jack A or jack mA)? Use the clamp or the higher jack.",
            current(most.value())
        ),
        Question::LeadsRound => "A minus: the leads or the clamp are the other way round, or something charges: cover it or switch it off. It does not count: read it again.".into(),
        Question::DidNotFall(part, entry, current, fell) => format!(
            "By entry {entry} {} flowed in {}, and with it out the draw fell by {} at most. Was that read at another fuse? Then: withdraw {entry} and why. Or do others take over what it did?",
            span(*current),
            feeds.id(*part),
            self::current(*fell)
        ),
        Question::ReadAlike(part, entry, others) => {
            let others: Vec<String> = others.iter().map(|o| feeds.id(*o).to_owned()).collect();
            format!(
                "Just the same was read at {}: were the probes there for entry {entry}, and not at {}? Then: withdraw {entry} and why.",
                listed(&others),
                feeds.id(*part)
            )
        }
        Question::StillOut(names) => format!(
            "By what was entered {} {} still out. Back in by now? Then type: refit {}.",
            listed(names),
            if names.len() == 1 { "is" } else { "are" },
            names.join(", ")
        ),
        Question::BridgeOn(before, now) => format!(
            "The draw was {}, now {} is shown, and nothing was done. Is the bridge still on, or was it another range? It does not count yet: bridge off, same jack, once more.",
            span(*before),
            span(*now)
        ),
        Question::WasItBridged(entry, shown) => format!(
            "The draw is what it was before entry {entry}, and what was read stands. Was the bridge on for the {} of that entry? Then: withdraw {entry} bridge was on. Else it went and came by itself, and a fall proves less.",
            span(*shown)
        ),
        Question::NearZero => "A minus this near zero is the instrument's own: it counts as zero.".into(),
        Question::SleepsByThis => "No more flows than when it slept, so what was moved has woken nothing: it is taken as asleep.".into(),
        Question::NotAsleep => "The vehicle was not asleep, so this rules nothing out; enter `asleep` once it has settled.".into(),
        Question::Changed(before, now) => format!(
            "The draw was {}, now it is {}, and nothing was done: earlier readings no longer count. {}",
            span(*before),
            span(*now),
            if before.above(*now) {
                "Is the bridge still on, or was it another range? Had it not settled? Or did something go off, or come out?"
            } else {
                "Did it wake?"
            }
        ),
        Question::NoLongerFits(entries) => format!(
            "This draw does not go together with {}: what was read at fuses and wires before it counts no longer. Where one of those was wrong (another fuse, another unit), `withdraw` it with the reason, and the rest counts again; else the vehicle woke, or the drain has changed.",
            entries_named(entries)
        ),
        Question::Rose(before, now) => format!(
            "{} is more than before ({}), with nothing added: it woke, or other modules keep calling for what is out. Wait the full settle and read again; the same once more is believed.",
            span(*now),
            span(*before)
        ),
        Question::NotSettledThen(subjects) => {
            let ids: Vec<String> = subjects.iter().map(|s| spoken(&s.id(feeds))).collect();
            format!(
                "The draw fell by itself, so it was still settling when {} was taken out: that proof counts no longer, and it is not ruled out.",
                ids.join(", ")
            )
        }
        Question::NotMended(now, like) => not_mended(*now, like, setting),
        Question::MendedInVain(now) => format!(
            "{} with everything in, after the repair: as before it, and over the limit. So what was mended was not the cause, or not all of it, and is proven no longer; the draw needs it, and what commands it, feeds it or keeps it awake comes next. What was read and pulled before still holds. If the vehicle woke, undo and let it settle.",
            span(*now)
        ),
        Question::MendedToo(subjects) => {
            let ids: Vec<String> = subjects.iter().map(|s| spoken(&s.id(feeds))).collect();
            format!(
                "Proven was also {}, and what was repaired does not name it. Was it mended too? Enter it now: {}. Else it goes on draining.",
                listed(&ids),
                repaired_lines(subjects, setting)
            )
        }
        Question::Blown(part) => format!(
            "Near battery volts across {}: it is blown, nothing passes.",
            feeds.id(*part)
        ),
        Question::OverRange(part) => format!(
            "More than the range shows at {}: take a higher range and read again. Near battery volts across a fuse: it is blown.",
            feeds.id(*part)
        ),
        Question::NoCurrent(part) => format!(
            "This says nothing about a current at {}: no instrument or resistance for it is entered.",
            feeds.id(*part)
        ),
        Question::WhatElse => "One plain meter is assumed: is there a clamp, a finer meter, a loop? Give them with --instruments.".into(),
        Question::BackFed(part) => format!(
            "Below zero at {} again: something feeds back there or charges. Solar, a mains charger, a DC/DC converter or a second battery: off or covered first, then read again.",
            feeds.id(*part)
        ),
        Question::FellAndStayed(fell, 1) => format!(
            "It fell by at least {} with that out and stayed down with it back in: it was reset, or it timed out meanwhile. The fall says nothing about what was out.",
            current(*fell)
        ),
        Question::FellAndStayed(_, times) => format!(
            "For the {} time it fell and stayed down whatever was out: modules are going to sleep one by one, and pulling only passes the time. Leave everything in, wait until the draw no longer moves (log it), and only then go on.",
            ordinal(*times)
        ),
        Question::TotalAgain => "Several readings since the draw was read: type draw for it in between, now and then. Once the draw has changed, a zero read before says nothing.".into(),
        Question::MayBeAway(now) => format!(
            "{} with that out says nothing: it comes and goes, and is away with nothing out too. Nobody is named or cleared by it.",
            span(*now)
        ),
        Question::Came(before, now) => format!(
            "It is there: {} now, {} while it was away. What is read counts for as long as the draw is this.",
            span(*now),
            span(*before)
        ),
        Question::InThePlaceOf(replaced) => format!(
            "Taken in the place of {}, which {} no longer, nor what followed: readings clashed, and this is one of them taken again.",
            entries_named(replaced),
            if replaced.len() == 1 { "counts" } else { "count" }
        ),
        Question::NotZeroed(entries, shown) => format!(
            "In {} the clamp shows about {} whatever is in its jaws: it is not zeroed. Zero it where it is read (jaws shut, round nothing), and take these again.",
            entries_named(entries),
            current(*shown)
        ),
        Question::NoLimit => format!(
            "No limit is known for this vehicle: ask its maker, and enter it as limit: mA(…). Until then the search goes by what was read, the largest branch first, from {} on; nothing is called in order.",
            current(setting.healthy.limit())
        ),
        Question::ClampAddsUp {
            entries,
            together,
            draw,
        } => format!(
            "{}, all by the clamp, come to {} or more together, and the draw is {}: a clamp that is not zeroed shows too much in each, which is likelier than one wrong reading. Zero it where it is read (jaws shut, round nothing), and take all of these again.",
            capital(&entries_named(entries)),
            current(*together),
            span(*draw)
        ),
        Question::NotPrepared(places) => not_prepared(places, setting),
        Question::ChangedAfter(before, now, done) => format!(
            "The draw was {}, now it is {}, after {}: earlier readings no longer count. Was it that, or did it wake?",
            span(*before),
            span(*now),
            done_words(done)
        ),
        Question::OneBatteryLower((low, at), (high, volts), alone) => {
            let names: Vec<String> = alone.iter().map(|p| feeds.id(*p).to_owned()).collect();
            let names = if names.is_empty() {
                String::new()
            } else {
                format!(": {}, or one that is in no file", listed(&names))
            };
            format!(
                "{} at {at} V and {} at {volts} V, in series: something draws from {} alone, a tap between the two for 12 V equipment{names}. Look there first; charge both, each by itself, before anything is read.",
                feeds.name(*low),
                feeds.name(*high),
                feeds.name(*low)
            )
        }
        Question::ProvenByMinutes(subjects) => format!(
            "Where it comes and goes, a fall and a return by single draws prove nothing: the proof of {} counts no longer. Take it out, and log.",
            listed(&subjects.iter().map(|s| s.id(feeds)).collect::<Vec<_>>())
        ),
        Question::NotThere(part) => format!(
            "It is away: what is read at {} now says nothing of it and does not count. Read it while it is there, with the total then: with and that total.",
            feeds.id(*part)
        ),
        Question::LogWithoutHighest => "Without its highest that log says nothing of what is out: logged, for how long, most and the highest.".into(),
        Question::LoggedWithout(names, minutes, true) => format!(
            "It came in a log of {} with {} out, so it does not need {}.",
            duration(*minutes),
            names.join(", "),
            if names.len() == 1 { "that" } else { "those" }
        ),
        Question::LoggedWithout(names, minutes, false) => format!(
            "It did not come in a log of {} with {} out: it needs {}, if it comes again with {} back in.",
            duration(*minutes),
            names.join(", "),
            if names.len() == 1 { "that" } else { "something of those" },
            if names.len() == 1 { "it" } else { "them" }
        ),
        Question::LogTooShort(minutes, None, least) => format!(
            "A log of {} is too short: less than {} says nothing of a drain that takes its time.",
            duration(*minutes),
            duration(*least)
        ),
        Question::LogTooShort(minutes, Some(away), least) => format!(
            "A log of {} says nothing yet: the fault stays away for up to {}; log for at least {}.",
            duration(*minutes),
            duration(*away),
            duration(*least)
        ),
        Question::Jumps(between) => format!(
            "{}: does it jump between the two? Watch it for some minutes: how much comes, how often and for how long, such as comes {:.0}mA every 20min for 30s, or log the total (halfsplit log FILE). Such a reading names and clears nobody.",
            span(*between),
            between.high() - between.low()
        ),
        Question::StillComes(most) => format!(
            "The log went up to {}: what comes and goes still does, so the repair was not it, or not all of it.",
            current(*most)
        ),
        Question::NobodyMeant(text) => format!(
            "“{text}” names no part, place or kind of load of this vehicle, so it changes nothing in the search; name one as the file does, such as told odds {} 3 (three times as likely).",
            like_it(text, feeds)
        ),
        Question::Blind(blind) => blind_words(blind, true, setting),
        Question::TakeOff(zero) => take_off(zero),
        Question::FewerDigits(part, step) => format!(
            "This meter shows steps of {} mV: type all its digits at {}, also zeros; with fewer the reading is taken for as coarse as it was typed.",
            figures(*step),
            feeds.id(*part)
        ),
        Question::JawsTooSmall(part) => jaws_too_small(*part, setting),
        Question::SameBothWays(part) => format!(
            "Turned round, the probes at {} showed nearly the same and no minus: was the minus left out, or did a probe slip? Read both ways again.",
            feeds.id(*part)
        ),
        Question::BatteryLow(rested) => battery_low(*rested),
        Question::BatteryCharging(rested) => battery_charging(*rested),
        Question::DaysDiffer(draw, expected) => {
            let less = draw.high() < expected.low();
            let means = if less {
                "it comes and goes, or the battery itself is weak or not charged"
            } else {
                "it is not there all the time, or this is not how the owner leaves it"
            };
            format!(
                "The days told point to {}, the draw is {}: {means}. Log it overnight as the owner leaves it before you trust one number.",
                span(*expected),
                span(*draw)
            )
        }
        Question::Between(part) => {
            let volts: Millivolts = feeds.volts_at(*part);
            format!(
                "Between dead and live at {} (fed with {:.0} V): no answer; probe again.",
                feeds.id(*part),
                volts.value() / 1000.0
            )
        }
    }
}

/// The preparation in a sentence, for who began without it.
fn not_prepared(places: &[PlaceId], setting: &Setting) -> String {
    let open: Vec<&str> = places
        .iter()
        .map(|place| setting.feeds.place_as_written(*place).id.value.as_str())
        .collect();
    let open = if open.is_empty() {
        String::new()
    } else {
        format!(", open what wakes it ({})", open.join(", "))
    };
    format!(
        "The preparation was not entered, and this draw is judged by it. Battery charged and tested, stored faults read out, no lamp alight and nothing plugged in, doors, bonnet and boot shut or their latches turned shut by hand, key well away, charger off{open}? Then type prepared. What is done only now: prepared, wait for sleep, and the draw again."
    )
}

/// What was done between two draws.
fn done_words(done: &[Done]) -> String {
    let said = done.iter().map(|done| match done {
        Done::Entry(text) => text.as_str(),
        Done::MeterInLine => "the lead was lifted for the meter",
    });
    said.collect::<Vec<_>>().join(", ")
}
