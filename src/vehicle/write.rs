//! A vehicle as text of format 1, laid out in one way: each part on a line of its own where it fits,
//! fields in one order, what it feeds below it and further in.

use crate::notation::{Spelled, in_unit};
use crate::quantity::{AmpHours, Metres, Milliamps, Milliohms, Millivolts, Minutes};
use crate::vehicle::comments::{Comments, Said, Thing};
use crate::vehicle::{Metal, Module, Part, PartKind, Place, Vehicle, Wire, WireSize};

/// Columns of one level.
const LEVEL: usize = 4;
/// Columns of a part's own text before its fields go on in a further line.
const LINE: usize = 120;

/// The vehicle as text of format 1, with comments of the text it was read from ([`Comments::read`]; a
/// default one where there are none). Reading the text again gives the same vehicle at other places,
/// and writing that gives the same text (test `laid_out_it_means_the_same`). Linear in the parts.
pub fn write(vehicle: &Vehicle, comments: &Comments) -> String {
    let mut page = Page {
        comments,
        out: String::new(),
        first: true,
    };
    let head = comments.at(&Thing::Head);
    let (before, behind) = one_behind(head.before, head.behind);
    page.lines(0, &before);
    page.line(0, "Vehicle(", &behind);
    page.lines(1, &[head.inside, head.after].concat());
    page.first = true;
    page.fields(vehicle);
    page.parts(&vehicle.parts);
    let tail = comments.at(&Thing::Tail);
    page.lines(1, trimmed_end(&tail.inside));
    page.out.push_str(")\n");
    page.first = false;
    page.lines(
        0,
        trimmed_end(&[tail.after, tail.behind, tail.before].concat()),
    );
    page.out
}

/// Without blank lines at the end.
fn trimmed_end(lines: &[String]) -> &[String] {
    let end = lines.iter().rposition(|line| !line.is_empty());
    &lines[..end.map_or(0, |end| end + 1)]
}

/// What is said at the end of something that holds other things: before its bracket, and behind it.
type End = (Vec<String>, Vec<String>);

struct Page<'c> {
    comments: &'c Comments,
    out: String,
    /// Whether nothing has been written yet inside the innermost bracket: no blank line comes first.
    first: bool,
}

impl Page<'_> {
    fn indent(&mut self, depth: usize) {
        self.out.push_str(&" ".repeat(LEVEL * depth));
    }

    /// Comments on lines of their own.
    fn lines(&mut self, depth: usize, comments: &[String]) {
        for comment in comments {
            if !comment.is_empty() {
                self.indent(depth);
                self.out.push_str(comment);
                self.out.push('\n');
                self.first = false;
            } else if !self.first && !self.out.ends_with("\n\n") {
                self.out.push('\n');
            }
        }
    }

    /// One line with the comment behind it.
    fn line(&mut self, depth: usize, text: &str, behind: &[String]) {
        self.indent(depth);
        self.out.push_str(text);
        for comment in behind {
            self.out.push_str("  ");
            self.out.push_str(comment);
        }
        self.out.push('\n');
        self.first = false;
    }

    /// Something with nothing below it.
    fn leaf(&mut self, depth: usize, text: &str, said: Said) {
        let mut behind = [said.behind, said.inside, said.after].concat();
        behind.retain(|comment| !comment.is_empty());
        let (before, behind) = one_behind(said.before, behind);
        self.lines(depth, &before);
        self.line(depth, text, &behind);
    }

    /// Opens something that holds other things; returns what is said at its end.
    fn open(&mut self, depth: usize, text: &str, said: Said) -> End {
        let (before, behind) = one_behind(said.before, said.behind);
        self.lines(depth, &before);
        self.line(depth, text, &behind);
        self.first = true;
        one_behind(said.inside, said.after)
    }

    fn close(&mut self, depth: usize, text: &str, (inside, after): &End) {
        self.lines(depth + 1, trimmed_end(inside));
        self.line(depth, text, after);
    }

    fn fields(&mut self, vehicle: &Vehicle) {
        self.field("format", Some("1".to_owned()));
        self.field("name", Some(quoted(&vehicle.name)));
        self.field("note", vehicle.note.as_deref().map(quoted));
        self.field("year", vehicle.year.map(|year| year.to_string()));
        let limit = vehicle.limit.as_ref().map(|limit| draw(limit.value));
        self.field("limit", limit);
        self.field("settle", vehicle.settle.map(minutes));
        let places = vehicle
            .places
            .iter()
            .map(|place| (&place.id.value, place_text(place)));
        self.map("places", &places.collect::<Vec<_>>());
        let networks = vehicle.networks.iter();
        let networks = networks.map(|network| (&network.value, "Network()".to_owned()));
        self.map("networks", &networks.collect::<Vec<_>>());
        let modules = vehicle.modules.iter();
        let modules = modules.map(|module| (&module.id.value, module_text(module)));
        self.map("modules", &modules.collect::<Vec<_>>());
        let accept = vehicle.accept.iter();
        let accept = accept.map(|entry| (&entry.what.value, quoted(&entry.reason)));
        self.map("accept", &accept.collect::<Vec<_>>());
    }

    fn field(&mut self, name: &str, value: Option<String>) {
        let said = self.comments.at(&Thing::Top(name.to_owned()));
        match value {
            Some(value) => self.leaf(1, &format!("{name}: {value},"), said),
            // A field that says `None` goes, what is said of it stays.
            None => self.lines(1, &without_blanks(said)),
        }
    }

    fn map(&mut self, name: &str, entries: &[(&String, String)]) {
        let said = self.comments.at(&Thing::Top(name.to_owned()));
        if entries.is_empty() {
            return self.lines(1, &without_blanks(said));
        }
        let end = self.open(1, &format!("{name}: {{"), said);
        let keys: Vec<_> = entries.iter().map(|(key, _)| quoted(key) + ":").collect();
        let widest = keys
            .iter()
            .map(|key| key.chars().count())
            .max()
            .unwrap_or(0);
        for (number, (key, (_, value))) in keys.iter().zip(entries).enumerate() {
            let said = self.comments.at(&Thing::Entry(name.to_owned(), number));
            self.leaf(2, &format!("{key:<widest$} {value},"), said);
        }
        self.close(1, "},", &end);
    }

    fn parts(&mut self, parts: &[Part]) {
        // The parts whose lists are open, the battery first, with what is said at their ends.
        let mut open: Vec<(usize, End)> = Vec::new();
        for (number, part) in parts.iter().enumerate() {
            let up = part.up.map(|up| up as usize);
            while let Some((last, end)) = open.last()
                && Some(*last) != up
            {
                self.close(open.len(), "]),", end);
                open.pop();
            }
            let depth = open.len() + 1;
            let said = self.comments.at(&Thing::Part(number));
            let feeds = parts
                .get(number + 1)
                .is_some_and(|next| next.up == Some(number as u32));
            let text = part_text(part, number == 0, depth, feeds);
            if feeds {
                let end = self.open(depth, &text, said);
                open.push((number, end));
            } else {
                self.leaf(depth, &text, said);
            }
        }
        while let Some((_, end)) = open.last() {
            self.close(open.len(), "]),", end);
            open.pop();
        }
    }
}

/// A comment to the end of the line keeps anything from standing behind it; with others it goes in
/// front, and all with it, so that their order stays.
fn one_behind(mut before: Vec<String>, behind: Vec<String>) -> End {
    if behind.len() < 2 {
        return (before, behind);
    }
    before.extend(behind);
    (before, Vec::new())
}

fn without_blanks(said: Said) -> Vec<String> {
    let mut all = [said.before, said.behind, said.inside, said.after].concat();
    all.retain(|comment| !comment.is_empty());
    all
}

/// A text in quotes, as RON reads it; what would not be seen is written as an escape.
pub(crate) fn quoted(value: &str) -> String {
    let mut out = String::with_capacity(value.len() + 2);
    out.push('"');
    for c in value.chars() {
        match c {
            '\'' => out.push(c),
            _ => out.extend(c.escape_debug()),
        }
    }
    out.push('"');
    out
}

/// A quantity in the given unit where that loses nothing, else in the first of its units.
fn quantity<Q: Spelled>(quantity: Q, wanted: &str) -> String {
    let (number, unit) = in_unit(quantity, wanted);
    format!("{unit}({number})")
}

/// A current of the size a draw has: in milliamps below 1 A.
pub(super) fn draw(current: Milliamps) -> String {
    let whole = current.value() % 100.0 == 0.0 && current >= Milliamps::of(1000.0);
    quantity(current, if whole { "A" } else { "mA" })
}

/// A battery's capacity.
pub(super) fn capacity(capacity: AmpHours) -> String {
    quantity(capacity, "Ah")
}

fn volts(volts: Millivolts) -> String {
    quantity(volts, "V")
}

fn minutes(time: Minutes) -> String {
    quantity(time, "minutes")
}

fn resistance(resistance: Milliohms) -> String {
    quantity(resistance, "mOhm")
}

fn length(length: Metres) -> String {
    quantity(length, "m")
}

/// An entry of `places`, without indentation.
pub(crate) fn place_entry(place: &Place) -> String {
    format!("{}: {},", quoted(&place.id.value), place_text(place))
}

/// An entry of `modules`, without indentation.
pub(crate) fn module_entry(module: &Module) -> String {
    format!("{}: {},", quoted(&module.id.value), module_text(module))
}

fn place_text(place: &Place) -> String {
    let mut fields = Vec::new();
    if place.reach_given {
        fields.push(format!("reach: {}", minutes(place.reach)));
    }
    if place.wakes {
        fields.push("wakes: true".to_owned());
    }
    if let Some(within) = &place.within {
        fields.push(format!("within: {}", quoted(&within.value)));
    }
    format!("Place({})", fields.join(", "))
}

fn module_text(module: &Module) -> String {
    let mut fields = Vec::new();
    if let Some(network) = &module.network {
        fields.push(format!("network: {}", quoted(&network.value)));
    }
    if let Some(awake) = module.awake {
        fields.push(format!("awake: {}", draw(awake)));
    }
    if !module.held_by.is_empty() {
        let inputs: Vec<_> = module
            .held_by
            .iter()
            .map(|input| quoted(&input.value))
            .collect();
        fields.push(format!("held_by: [{}]", inputs.join(", ")));
    }
    format!("Module({})", fields.join(", "))
}

fn wire_text(wire: &Wire) -> String {
    let size = match wire.size {
        WireSize::Area(area) => quantity(area, "mm2"),
        WireSize::Gauge(gauge) => format!("awg({gauge})"),
    };
    let mut fields = vec![format!("size: {size}")];
    fields.extend(wire.length.map(|l| format!("length: {}", length(l))));
    if wire.metal != Metal::Copper {
        fields.push(format!("metal: {}", wire.metal.word()));
    }
    format!("Wire({})", fields.join(", "))
}

/// A vehicle's own fields as they are written, with an entry of a map under its field and its key.
pub(crate) fn vehicle_fields(vehicle: &Vehicle) -> Vec<(String, String)> {
    let limit = vehicle.limit.as_ref();
    let fields = [
        ("name", Some(quoted(&vehicle.name))),
        ("note", vehicle.note.as_deref().map(quoted)),
        ("year", vehicle.year.map(|year| year.to_string())),
        ("limit", limit.map(|limit| draw(limit.value))),
        ("settle", vehicle.settle.map(minutes)),
    ];
    let given = fields.into_iter();
    let given = given.filter_map(|(name, value)| Some((name.to_owned(), value?)));
    let key = |field: &str, name: &str| format!("{field} {}", quoted(name));
    let places = vehicle.places.iter();
    let places = places.map(|place| (key("places", &place.id.value), place_text(place)));
    let networks = vehicle.networks.iter();
    let networks = networks.map(|id| (key("networks", &id.value), "Network()".to_owned()));
    let modules = vehicle.modules.iter();
    let modules = modules.map(|module| (key("modules", &module.id.value), module_text(module)));
    let accept = vehicle.accept.iter();
    let accept = accept.map(|entry| (key("accept", &entry.what.value), quoted(&entry.reason)));
    let maps = places.chain(networks).chain(modules).chain(accept);
    given.chain(maps).collect()
}

/// A part's own fields as they are written, in the order of every file, `feeds` apart.
pub(crate) fn fields_of(part: &Part) -> Vec<(&'static str, String)> {
    let words = |kinds: &[crate::vehicle::TestKind]| {
        let words: Vec<_> = kinds.iter().map(|kind| kind.word()).collect();
        (!words.is_empty()).then(|| format!("[{}]", words.join(", ")))
    };
    let located = |name: &Option<crate::problem::Located<String>>| {
        name.as_ref().map(|name| quoted(&name.value))
    };
    let plain = |value: &Option<String>| value.as_deref().map(quoted);
    let fields = [
        ("id", Some(quoted(&part.id.value))),
        ("name", plain(&part.name)),
        ("label", plain(&part.label)),
        ("kind", part.load.map(|kind| kind.word().to_owned())),
        ("of", located(&part.of)),
        ("moves", located(&part.moves)),
        ("commanded_by", located(&part.commanded_by)),
        ("draws", part.draws.map(draw)),
        (
            "rating",
            part.rating
                .as_ref()
                .map(|rating| quantity(rating.value, "A")),
        ),
        ("style", part.style.map(|style| style.word().to_owned())),
        ("resistance", part.resistance.map(resistance)),
        ("rest", part.rest.map(|rest| rest.word().to_owned())),
        ("holder", plain(&part.holder)),
        ("plug", located(&part.plug)),
        ("pin", plain(&part.pin)),
        ("colour", plain(&part.colour)),
        ("wire", part.wire.as_ref().map(wire_text)),
        ("at", located(&part.at)),
        ("volts", part.volts.map(volts)),
        ("capacity", part.capacity.map(capacity)),
        ("reserve", part.reserve.map(minutes)),
        ("asleep", part.asleep.map(draw)),
        ("at_most", part.at_most.map(draw)),
        ("least", part.least.map(draw)),
        ("awake", part.awake.map(draw)),
        ("can", words(&part.can)),
        ("never", words(&part.never)),
        ("fixed", part.fixed.then(|| "true".to_owned())),
        ("odds", part.odds.map(|odds| odds.to_string())),
        ("sheet", plain(&part.sheet)),
        ("note", plain(&part.note)),
        ("caution", plain(&part.caution)),
    ];
    let given = fields.into_iter();
    given
        .filter_map(|(name, value)| Some((name, value?)))
        .collect()
}

/// A part up to the bracket of what it feeds, or to its own end.
fn part_text(part: &Part, is_battery: bool, depth: usize, feeds: bool) -> String {
    let kind: &str = PartKind::word(part.kind);
    let head = if is_battery {
        format!("battery: {kind}(")
    } else {
        format!("{kind}(")
    };
    let further = " ".repeat(LEVEL * depth + head.len());
    let mut out = head.clone();
    let mut line = head.chars().count();
    let fields = fields_of(part).into_iter();
    let mut fields: Vec<_> = fields
        .map(|(name, value)| format!("{name}: {value}"))
        .collect();
    if feeds {
        fields.push("feeds: [".to_owned());
    }
    for (number, field) in fields.iter().enumerate() {
        let width = field.chars().count() + 2;
        if number > 0 {
            // The bracket of what it feeds does not stand alone.
            let fits = line + width <= LINE || field == "feeds: [";
            out.push_str(if fits { ", " } else { ",\n" });
            if !fits {
                out.push_str(&further);
                line = head.len();
            }
        }
        out.push_str(field);
        line += width;
    }
    if !feeds {
        out.push_str("),");
    }
    out
}
