//! Loads and modules: what proves them, where they are, what feeds them, what they take.

use crate::feeds::{Feeds, ModuleId, PartId};
use crate::problem::{Fault, Problem};
use crate::vehicle::{LoadKind, PartKind, TestKind};

pub(super) fn ask(feeds: &Feeds) -> Vec<Problem> {
    let mut asked = Vec::new();
    for id in feeds.parts() {
        if feeds.part(id).kind == PartKind::Load {
            asked.extend(no_plug(feeds, id));
            asked.extend(no_place(feeds, id));
        }
    }
    asked.extend(feeds.modules().filter_map(|module| feeds_of(feeds, module)));
    asked.extend(over_limit(feeds));
    asked
}

fn no_plug(feeds: &Feeds, id: PartId) -> Option<Problem> {
    let part = feeds.part(id);
    // Nothing is unplugged there.
    let left_alone = matches!(
        part.load,
        Some(
            LoadKind::Charging
                | LoadKind::Starter
                | LoadKind::Airbag
                | LoadKind::HighVoltage
                | LoadKind::Protected
        )
    );
    // A connector that feeds this alone proves it as well.
    let by_connector = feeds.up(id).is_some_and(|up| {
        let above = feeds.part(up);
        above.kind == PartKind::Connector
            && above.plug.is_some()
            && feeds.children(up).nth(1).is_none()
    });
    let never = part.fixed || part.never.contains(&TestKind::Unplug);
    if part.plug.is_some() || left_alone || by_connector || never {
        return None;
    }
    let name = &part.id.value;
    let problem = Problem::new(
        Fault::NoPlug,
        part.id.at.clone(),
        format!("which plug is {name} on? unplugging it alone is what would prove it"),
        "type plug: \"C1\" with the connector's number, or never: [Unplug]",
    );
    Some(problem.about(name))
}

fn no_place(feeds: &Feeds, id: PartId) -> Option<Problem> {
    let part = feeds.part(id);
    if part.at.is_some() {
        return None;
    }
    // The nearest part above with a place gives it its own.
    let mut way = feeds.path(id).into_iter().rev();
    let above = way.find(|above| feeds.part(*above).at.is_some());
    let name = &part.id.value;
    let message = match above.map(|above| (above, feeds.part(above))) {
        None => format!("where is {name}? nothing above it has a place either"),
        Some((above, holder)) => {
            // Wiring is followed to its end; a load is not in the box of its fuse.
            let boxed = matches!(
                holder.kind,
                PartKind::Battery
                    | PartKind::Link
                    | PartKind::Fuse
                    | PartKind::Breaker
                    | PartKind::Relay
            );
            let place = feeds.place(above).filter(|_| boxed)?;
            format!(
                "where is {name}? it would be looked for in {}, where {} is",
                feeds.place_as_written(place).id.value,
                holder.id.value
            )
        }
    };
    let problem = Problem::new(
        Fault::NoPlace,
        part.id.at.clone(),
        message,
        "type at: \"roof\", and the place with its minutes in places",
    );
    Some(problem.about(name))
}

fn feeds_of(feeds: &Feeds, id: ModuleId) -> Option<Problem> {
    let module = feeds.module(id);
    let name = &module.id.value;
    let at = module.id.at.clone();
    match feeds.module_feeds(id) {
        [] => {
            let problem = Problem::new(
                Fault::UnfedModule,
                at,
                format!("what feeds {name}? no load is a feed of it"),
                format!("type of: \"{name}\" in each load that is one of its feeds"),
            );
            Some(problem.about(name))
        }
        [only] => {
            let feed = feeds.part(*only);
            let several = matches!(
                feed.load,
                None | Some(LoadKind::BodyModule | LoadKind::EngineModule | LoadKind::Brake)
            );
            let problem = Problem::new(
                Fault::LoneFeed,
                at,
                format!(
                    "is {} the only feed of {name}? such modules often have two or more",
                    feed.id.value
                ),
                "look on its own sheet for further supply pins, or accept it with the reason",
            );
            several.then(|| {
                problem
                    .about(name)
                    .beside(feed.id.at.clone(), "its one feed")
            })
        }
        _ => None,
    }
}

fn over_limit(feeds: &Feeds) -> Option<Problem> {
    let limit = feeds.limit()?;
    let summary = feeds.summary();
    let (all, defaults) = summary.asleep;
    if all <= limit {
        return None;
    }
    let of_it = if defaults.value() > 0.0 {
        format!(", {} mA of them assumed", rounded(defaults.value()))
    } else {
        String::new()
    };
    let vehicle = feeds.vehicle();
    let battery = &vehicle.parts[0].id.at;
    let at = vehicle.limit.as_ref().map_or(battery, |limit| &limit.at);
    Some(Problem::new(
        Fault::AsleepOverLimit,
        at.clone(),
        format!(
            "the usual draws asleep are {} mA in all{of_it}: more than the limit of {} mA",
            rounded(all.value()),
            rounded(limit.value())
        ),
        "look up the limit, and the asleep of the largest loads, again",
    ))
}

fn rounded(milliamps: f64) -> f64 {
    (milliamps * 10.0).round() / 10.0
}
