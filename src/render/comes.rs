//! What to do while the fault is not there: what to log, how long, at which trigger, and how to bring
//! it back.

use crate::case::{Leave, Next, Setting, State, Watch};
use crate::feeds::{Feeds, ModuleId, PartId};
use crate::journal::word;
use crate::log::Pattern;
use crate::measurement::Method;
use crate::render::answer::{current, number};
use crate::render::log::duration;
use serde_json::{Map, Value, json};

/// What is known of it.
fn pattern_words(pattern: &Pattern) -> String {
    let mut said = format!("+{}", current(pattern.size));
    for (word, time) in [
        ("for", pattern.lasts),
        ("every", pattern.every),
        ("first after", pattern.after),
    ] {
        if let Some(time) = time {
            said = format!("{said} {word} {}", duration(time));
        }
    }
    said
}

/// Sentences under their heads, for a screen; nothing where there is nothing to log.
pub(super) fn watch_lines(next: &Next, setting: &Setting) -> Vec<(&'static str, String)> {
    let Some(watch) = &next.watch else {
        return Vec::new();
    };
    let heads = ["log", "leave", "bring on"];
    let said = [
        Some(what_to_log(watch, setting)),
        watch.at.map(|_| where_to_leave(watch, setting)),
        Some(bring_back(next.state, watch)),
    ];
    let lines = heads.into_iter().zip(said);
    lines
        .filter_map(|(head, said)| Some((head, said?)))
        .collect()
}

fn what_to_log(watch: &Watch, setting: &Setting) -> String {
    let known = watch.comes.map_or_else(
        || "Nothing is known yet of when it comes: ".to_owned(),
        |comes| format!("It comes by {}: ", pattern_words(&comes.pattern)),
    );
    let limit = setting.limit();
    let mean = match watch.mean {
        Some(mean) if mean + watch.quiet <= limit => format!(
            " On average that is {} more, {} in all and within the limit: look for something larger as well.",
            current(mean),
            current(mean + watch.quiet)
        ),
        Some(mean) => format!(
            " On average that is {} more, {} in all: enough to flatten it.",
            current(mean),
            current(mean + watch.quiet)
        ),
        None => String::new(),
    };
    format!(
        "{known}log the total, prepared and left as the owner leaves it, for at least {} with the trigger at {}, and write down what else happens then (lamps, locks, fans, weather, phone coverage). A walk over the fuses while it is quiet proves nothing: every fuse reads nothing, the guilty one too.{mean} Then: comes SIZE every TIME for TIME (halfsplit log FILE says it), or the draw at once while it is there.",
        duration(watch.minutes),
        current(watch.trigger)
    )
}

fn where_to_leave(watch: &Watch, setting: &Setting) -> String {
    let Some((method, part)) = watch.at else {
        return String::new();
    };
    let id = setting.feeds.id(part);
    let how = if method == Method::Drop {
        "a millivolt meter that keeps its highest across"
    } else {
        "a second clamp that keeps its highest round the feed of"
    };
    let why = match watch.there {
        Leave::Seen => "it flowed or fell there while the fault was there",
        Leave::Tap => "it hangs on the battery that is low, and on no other",
        Leave::Splits => "by what is known so far it splits the causes best",
    };
    format!(
        "Leave {how} {id} meanwhile: {why}. If its highest rises with the total, type both as they were then: {} {id} … with …",
        word(method)
    )
}

fn bring_back(state: State, watch: &Watch) -> String {
    let lost = if state == State::Gone && watch.comes.is_none() {
        "Breaking the supply may have reset it: charge the battery in the vehicle first. "
    } else {
        ""
    };
    let with: Vec<String> = watch
        .goes_with
        .iter()
        .map(|with| {
            format!(
                "It was there with {} “{}” and not with “{}”: make that so first. ",
                with.key, with.there, with.gone
            )
        })
        .collect();
    let with = with.concat();
    let wet = if watch.wet {
        "Wet it as it was: connectors and lamps outside first, then seams and boxes, one place at a time, from a can or a soft hose; never a battery, a mains inlet, or anything orange. Read the draw after each. "
    } else {
        ""
    };
    format!(
        "{with}{wet}{lost}Drive it warm or run a full key cycle, then the owner's last actions in order: doors and lids, locking with their own key, what is plugged in, the same place and weather. One change at a time, wait for sleep after each, then `draw`."
    )
}

/// The same as data.
pub(super) fn watch_json(watch: &Watch, setting: &Setting) -> Value {
    let mut object = Map::new();
    object.insert("minutes".to_owned(), number(watch.minutes));
    object.insert("trigger_ma".to_owned(), number(watch.trigger));
    if let Some(mean) = watch.mean {
        object.insert("mean_ma".to_owned(), number(mean));
    }
    if let Some(comes) = watch.comes {
        object.insert("entry".to_owned(), json!(comes.entry));
    }
    if !watch.goes_with.is_empty() {
        let with = watch.goes_with.iter();
        let with: Vec<Value> = with
            .map(|w| json!({"key": w.key, "there": w.there, "gone": w.gone}))
            .collect();
        object.insert("goes_with".to_owned(), json!(with));
    }
    if let Some((method, part)) = watch.at {
        let at = json!({"method": word(method), "point": setting.feeds.id(part)});
        object.insert("leave".to_owned(), at);
    }
    Value::Object(object)
}

/// Several branches up together: one cause until shown otherwise.
pub(super) fn up_together(parts: &[PartId], feeds: &Feeds) -> String {
    let held = |modules: &[ModuleId]| {
        modules.iter().any(|module| {
            let fed = feeds.module_feeds(*module);
            fed.iter()
                .any(|feed| parts.iter().any(|top| feeds.is_below(*feed, *top)))
        })
    };
    let inputs: Vec<&str> = feeds
        .inputs()
        .filter(|(_, modules)| held(modules))
        .map(|(name, _)| name)
        .take(4)
        .collect();
    let inputs = if inputs.is_empty() {
        "a latch or switch".to_owned()
    } else {
        inputs.join(", ")
    };
    format!(
        "{}: up together: one common cause until shown otherwise, and often not the largest. Look first at what is plugged in, a key nearby, {inputs}. One module out decides: does more fall than its branch carried, it held the others; just that, they are separate, or held by something else.",
        branches(parts, feeds)
    )
}

/// The same where it was told before.
pub(super) fn still_together(parts: &[PartId], feeds: &Feeds) -> String {
    format!("{}: still up together.", branches(parts, feeds))
}

/// Their names; of many, some.
fn branches(parts: &[PartId], feeds: &Feeds) -> String {
    let names: Vec<&str> = parts.iter().take(4).map(|part| feeds.id(*part)).collect();
    let more = if parts.len() > 4 { " and others" } else { "" };
    format!("{}{more}", names.join(", "))
}
