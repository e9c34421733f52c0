//! Loads and modules: what proves them, where they are, what feeds them, what they take.

use crate::feeds::{Feeds, ModuleId, PartId};
use crate::problem::{Problem, words};
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
    Some(words::no_plug(&part.id.value).at(part.id.at.clone()))
}

fn no_place(feeds: &Feeds, id: PartId) -> Option<Problem> {
    let part = feeds.part(id);
    if part.at.is_some() {
        return None;
    }
    // The nearest part above with a place gives it its own.
    let mut way = feeds.path(id).into_iter().rev();
    let above = way.find(|above| feeds.part(*above).at.is_some());
    let looked_for = match above.map(|above| (above, feeds.part(above))) {
        None => None,
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
            let place = feeds.place_as_written(place);
            Some((place.id.value.as_str(), holder.id.value.as_str()))
        }
    };
    Some(words::no_place(&part.id.value, looked_for).at(part.id.at.clone()))
}

fn feeds_of(feeds: &Feeds, id: ModuleId) -> Option<Problem> {
    let module = feeds.module(id);
    let name = &module.id.value;
    let at = module.id.at.clone();
    match feeds.module_feeds(id) {
        [] => Some(words::unfed_module(name).at(at)),
        [only] => {
            let feed = feeds.part(*only);
            let several = matches!(
                feed.load,
                None | Some(LoadKind::BodyModule | LoadKind::EngineModule | LoadKind::Brake)
            );
            several.then(|| words::lone_feed(name, &feed.id.value, &feed.id.at).at(at))
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
    let vehicle = feeds.vehicle();
    let battery = &vehicle.parts[0].id.at;
    let at = vehicle.limit.as_ref().map_or(battery, |limit| &limit.at);
    let (all, assumed, limit) = (all.value(), defaults.value(), limit.value());
    Some(words::asleep_over_limit(all, assumed, limit).at(at.clone()))
}
