//! Acts → canonical text.

use crate::feeds::{Feeds, Named};
use crate::journal::line::quote;
use crate::journal::options::written;
use crate::journal::parsing::PLACE;
use crate::journal::{
    Act, Context, Lasting, Names, Point, Timed, parse_timed, timed, word, write_reading,
};
use crate::measurement::Method;

/// The entry in its canonical words; [`parse`](crate::journal::parse) reads it back as the same act.
///
/// Holds for every act that [`parse`](crate::journal::parse) can give. Free text of entries other
/// than `note` and `told` holds no `;`; what is told holds none behind which an entry begins, unless it was
/// kept so.
pub fn write(act: &Act, feeds: &Feeds) -> String {
    write_with(act, &Names::of(feeds))
}

/// [`write()`] with names that were indexed before.
pub fn write_with(act: &Act, names: &Names) -> String {
    write_timed(act, None, names)
}

/// [`write_with`], with the time of day behind what was done; a reading has its own.
pub fn write_timed(act: &Act, at: Option<u16>, names: &Names) -> String {
    let behind = timed::written(act, at);
    let plain = text(act, names, &str::to_owned) + &behind;
    let context = Context::of_kept();
    let same = |read: &Timed| read.0 == *act && (behind.is_empty() || read.1 == at);
    // Names may look like readings, options or lists; quotes settle it.
    match parse_timed(&plain, names, &context).as_deref() {
        Ok([read]) if same(read) => plain,
        _ => text(act, names, &quote) + &behind,
    }
}

fn text(act: &Act, names: &Names, spell: &dyn Fn(&str) -> String) -> String {
    let point = |point: &Point| point_text(point, names, spell);
    let list = |points: &[Point]| points.iter().map(point).collect::<Vec<_>>().join(", ");
    match act {
        Act::Read {
            method,
            point: Point::Battery,
            reading,
            options,
        } => format!(
            "{} {}{}",
            word(*method),
            write_reading(reading),
            written(options)
        ),
        Act::Read {
            method,
            point: at,
            reading,
            options,
        } => format!(
            "{} {} {}{}",
            word(*method),
            point(at),
            write_reading(reading),
            written(options)
        ),
        Act::Look {
            point: at, word, ..
        } => format!("look {} {word}", point(at)),
        Act::Pull(points) => format!("pull {}", list(points)),
        Act::Unplug(points) => format!("unplug {}", list(points)),
        // A part may be called `all`.
        Act::Refit(points) if points.is_empty() => {
            let taken = names.things_at("all").is_ok_and(|found| !found.is_empty());
            let everything = if taken { "everything" } else { "all" };
            format!("refit {everything}")
        }
        Act::Refit(points) => format!("refit {}", list(points)),
        Act::Open(place) => format!("open {}", point(&Point::Place(*place))),
        Act::Zero(None) => "zero".to_owned(),
        Act::Zero(Some(reading)) => format!("zero {}", write_reading(reading)),
        Act::Asleep => "asleep".to_owned(),
        Act::Awake => "awake".to_owned(),
        Act::Prepared => "prepared".to_owned(),
        Act::Told { key, text } => join(&["told", key.as_deref().unwrap_or(""), text]),
        Act::Skip {
            method,
            point: Point::Battery,
            reason,
        } => join(&["skip", word(*method), reason]),
        Act::Skip {
            method: Method::Open,
            point: at,
            reason,
        } => join(&["skip", PLACE, &point(at), reason]),
        Act::Skip {
            method,
            point: at,
            reason,
        } => join(&["skip", word(*method), &point(at), reason]),
        Act::Withdraw { entry, reason } => join(&["withdraw", &entry.to_string(), reason]),
        Act::Undo => "undo".to_owned(),
        Act::Repaired { point: at, text } => {
            let at = at.as_ref().map(point).unwrap_or_default();
            join(&["repaired", &at, text])
        }
        Act::Comes {
            size,
            every,
            lasts,
            after,
        } => {
            let times = [("every", every), ("for", lasts), ("after", after)];
            let times = times
                .into_iter()
                .filter_map(|(word, time)| Some(format!("{word} {}", write_lasting((*time)?))));
            let times: Vec<_> = times.collect();
            join(&["comes", &write_reading(size), &times.join(" ")])
        }
        Act::Logged { long, most } => {
            let most = most.map(|most| format!("most {}", write_reading(&most)));
            join(&["logged", &write_lasting(*long), &most.unwrap_or_default()])
        }
        Act::Note(text) => join(&["note", text]),
    }
}

/// What to type for a log of so many minutes, but for the highest in it.
pub fn log_of(minutes: f64) -> String {
    let (amount, seconds) = if minutes < 180.0 {
        (minutes.ceil(), 60)
    } else {
        ((minutes / 6.0).ceil() / 10.0, 3600)
    };
    format!("logged {} most", write_lasting(Lasting { amount, seconds }))
}

/// A length of time, such as `20min`.
fn write_lasting(time: Lasting) -> String {
    let unit = match time.seconds {
        1 => "s",
        60 => "min",
        3600 => "h",
        _ => "d",
    };
    format!("{}{unit}", time.amount)
}

/// The pieces that are not empty, with blanks between.
fn join(pieces: &[&str]) -> String {
    let pieces: Vec<_> = pieces.iter().copied().filter(|p| !p.is_empty()).collect();
    pieces.join(" ")
}

fn point_text(point: &Point, names: &Names, spell: &dyn Fn(&str) -> String) -> String {
    let meant = match point {
        Point::Part(part) => Named::Part(*part),
        Point::Module(module) => Named::Module(*module),
        Point::Network(network) => Named::Network(*network),
        Point::Place(place) => Named::Place(*place),
        Point::Plug(name, _) | Point::Input(name) => return spell(name),
        Point::Battery => return spell(names.battery()),
    };
    names.name_of(&meant).map_or_else(String::new, spell)
}
