//! Format 1 from text to flat parts.
//!
//! Two steps: a visitor flattens the nested text into nodes whose fields are slices of the source
//! (see `sheet`), then each node's fields are read one by one, so that a wrong value is one problem
//! among others.

use crate::notation::{self, Reader, Source, from_to};
use crate::problem::{
    Fault, Finding, Form, Located, Problem, Severity, Span, Thing, in_file_order, nearest, words,
};
use crate::quantity::{Metres, Milliamps, Millimetres, Minutes};
use crate::vehicle::sheet::{Node, Sheet, TOP, VehicleSeed};
use crate::vehicle::{
    Accepted, FuseStyle, LoadKind, Metal, Module, Part, PartKind, Place, Rest, TestKind, Vehicle,
    Wire, WireSize,
};
use std::cell::RefCell;

/// Levels of parts that are read; the battery is the first.
pub const DEEPEST: u16 = 40;

/// Fields that any part may have.
const COMMON: &[&str] = &[
    "id", "name", "label", "at", "sheet", "note", "odds", "wire", "plug", "pin", "colour",
    "holder", "can", "never", "fixed", "caution",
];

/// Fields that only some kinds have.
const fn own_fields(kind: PartKind) -> &'static [&'static str] {
    match kind {
        PartKind::Battery => &["volts", "capacity", "reserve"],
        PartKind::Link | PartKind::Fuse => &["rating", "style", "resistance"],
        PartKind::Breaker => &["rating", "resistance"],
        PartKind::Relay | PartKind::Switch => &["rest"],
        PartKind::Coil => &["moves", "commanded_by", "draws"],
        PartKind::Load => &["kind", "of", "asleep", "at_most", "least", "awake"],
        PartKind::Cable | PartKind::Splice | PartKind::Connector | PartKind::Output => &[],
    }
}

/// Reads a vehicle file of format 1.
///
/// The vehicle comes back whenever its syntax could be followed and it has a battery, even with
/// errors beside it, so that [`crate::feeds`] can look for more of them; it may be used only when
/// no problem is an error. Broken syntax is one problem, the first; everything else is found at
/// once, in the order of the file. Time and memory are linear in the text.
pub fn read(text: &str) -> (Option<Vehicle>, Vec<Problem>) {
    let source = Source::new(text, &Form::VEHICLE);
    let sheet = RefCell::new(Sheet::default());
    let mut problems = source.problems().to_vec();
    if let Err(problem) = source.read(VehicleSeed(&sheet)) {
        problems.push(*problem);
        return (None, in_file_order(problems));
    }
    let reader = Reader::new(source.text());
    let vehicle = whole(&reader, source.head(), &sheet.into_inner());
    problems.extend(reader.into_problems());
    (vehicle, in_file_order(problems))
}

fn whole<'s>(reader: &Reader<'s>, head: Span, sheet: &Sheet<'s>) -> Option<Vehicle> {
    let mut vehicle = Vehicle::named(String::new());
    vehicle.parts.reserve(sheet.nodes.len());
    let mut seen: Vec<&'s str> = Vec::new();
    for &(field, raw) in &sheet.top {
        if let Some(first) = seen.iter().find(|s| **s == field) {
            reader.twice(field, first);
            continue;
        }
        seen.push(field);
        match field {
            "format" => reader.format(raw),
            "name" => {
                vehicle.name = reader.text(raw).map(|name| name.value).unwrap_or_default();
            }
            "note" => vehicle.note = reader.text(raw).map(|note| note.value),
            "year" => {
                // Whole by its range check and rounding; 1900 to 2100 fits.
                vehicle.year = reader
                    .number(raw, from_to(1900.0, 2100.0))
                    .map(|year| year.round() as i32);
            }
            "limit" => vehicle.limit = reader.quantity(raw, from_to(0.001, 100_000.0)),
            "settle" => vehicle.settle = value(reader.quantity(raw, from_to(0.0, 2880.0))),
            "places" => vehicle.places = places(reader, raw),
            "networks" => vehicle.networks = networks(reader, raw),
            "modules" => vehicle.modules = modules(reader, raw),
            "accept" => vehicle.accept = accepted(reader, raw),
            _ => reader.fault(field, words::unknown_field_of_vehicle(field, TOP)),
        }
    }
    if !seen.contains(&"format") {
        reader.no_format(head.clone());
    }
    if !seen.contains(&"name") {
        reader.note(words::no_vehicle_name().at(head.clone()));
    }
    if let [first, again, ..] = sheet.batteries.as_slice() {
        reader.twice(again, first);
    }
    let mut too_deep = false;
    for node in &sheet.nodes {
        if node.depth > DEEPEST && !too_deep {
            too_deep = true;
            reader.fault(node.kind, words::too_deep(DEEPEST));
        }
        vehicle.parts.push(part(reader, node));
    }
    starts_at_a_battery(reader, sheet, head).then_some(vehicle)
}

/// Notes a tree that starts elsewhere; `false` when there is no tree at all.
fn starts_at_a_battery(reader: &Reader<'_>, sheet: &Sheet<'_>, head: Span) -> bool {
    let Some(first) = sheet.nodes.first() else {
        reader.note(words::no_battery().at(head));
        return false;
    };
    // A misspelt kind has been noted already.
    if PartKind::named(first.kind).is_some_and(|kind| kind != PartKind::Battery) {
        reader.fault(first.kind, words::starts_elsewhere(first.kind));
    }
    true
}

fn value<T>(located: Option<Located<T>>) -> Option<T> {
    located.map(|l| l.value)
}

fn places<'s>(reader: &Reader<'s>, raw: &'s str) -> Vec<Place> {
    const EXAMPLE: &str = "{ \"bonnet box\": Place(reach: minutes(2)) }";
    let mut places = Vec::new();
    for (id, raw) in reader.map(raw, EXAMPLE) {
        let mut place = Place {
            id,
            reach: Place::USUAL_REACH,
            reach_given: false,
            wakes: false,
            within: None,
        };
        let known = ["reach", "wakes", "within"];
        let fields = reader.record(raw, "Place", &known, "Place(reach: minutes(2))");
        for (field, raw) in fields.unwrap_or_default() {
            match field {
                "reach" => {
                    if let Some(reach) = reader.quantity::<Minutes>(raw, from_to(0.0, 1440.0)) {
                        place.reach = reach.value;
                        place.reach_given = true;
                    }
                }
                "wakes" => place.wakes = reader.flag(raw).unwrap_or(false),
                _ => place.within = reader.text(raw),
            }
        }
        places.push(place);
    }
    places
}

fn networks<'s>(reader: &Reader<'s>, raw: &'s str) -> Vec<Located<String>> {
    let pairs = reader.map(raw, "{ \"body network\": Network() }");
    pairs
        .into_iter()
        .map(|(id, raw)| {
            reader.record(raw, "Network", &[], "Network()");
            id
        })
        .collect()
}

fn modules<'s>(reader: &Reader<'s>, raw: &'s str) -> Vec<Module> {
    let mut modules = Vec::new();
    for (id, raw) in reader.map(raw, "{ \"body module\": Module(awake: mA(450)) }") {
        let mut module = Module {
            id,
            network: None,
            awake: None,
            held_by: Vec::new(),
        };
        let known = ["network", "awake", "held_by"];
        let fields = reader.record(raw, "Module", &known, "Module(awake: mA(450))");
        for (field, raw) in fields.unwrap_or_default() {
            match field {
                "network" => module.network = reader.text(raw),
                "awake" => module.awake = value(reader.quantity(raw, CURRENT)),
                _ => {
                    let inputs = reader.list(raw, "[\"bonnet switch\"]");
                    module.held_by = inputs.into_iter().filter_map(|i| reader.text(i)).collect();
                }
            }
        }
        modules.push(module);
    }
    modules
}

fn accepted<'s>(reader: &Reader<'s>, raw: &'s str) -> Vec<Accepted> {
    let mut accepted = Vec::new();
    for (what, raw) in reader.map(raw, "{ \"number-gap F3\": \"an empty holder\" }") {
        let Some(reason) = reader.text(raw) else {
            continue;
        };
        let reason = reason.value;
        let entry = Accepted { what, reason };
        let (code, _) = entry.code_and_name();
        let fault = Fault::with_code(code);
        if fault.is_none_or(|fault| fault.severity() == Severity::Error) {
            let finding = if fault.is_some() {
                words::error_accepted(code)
            } else {
                let can_be = |fault: &&Fault| fault.severity() != Severity::Error;
                let codes = Fault::ALL.iter().filter(can_be).map(|fault| fault.code());
                words::unknown_code(code, &codes.collect::<Vec<_>>())
            };
            reader.note(finding.at(entry.what.at.clone()));
        }
        accepted.push(entry);
    }
    accepted
}

/// Any draw: none to 2000 A, above the largest starter motors (judgement).
const CURRENT: notation::Sense = from_to(0.0, 2_000_000.0);

fn part<'s>(reader: &Reader<'s>, node: &Node<'s>) -> Part {
    let kind = PartKind::named(node.kind);
    let kinds = || PartKind::TABLE.iter().map(|(word, _)| *word);
    if kind.is_none() {
        let known: Vec<_> = kinds().collect();
        reader.fault(node.kind, words::unknown_part(node.kind, &known));
    }
    // A misspelt kind is read as the one that was meant, so that its fields are looked at too.
    let kind = kind.or_else(|| nearest(node.kind, kinds()).and_then(PartKind::named));
    let mut part = Part::new(
        kind.unwrap_or(PartKind::Splice),
        Located {
            value: String::new(),
            at: reader.at(node.kind),
        },
        node.up,
    );
    let mut has_id = false;
    for (index, &(field, raw)) in node.fields.iter().enumerate() {
        if let Some((first, _)) = node.fields[..index].iter().find(|(f, _)| *f == field) {
            reader.twice(field, first);
            continue;
        }
        has_id |= field == "id";
        if COMMON.contains(&field) {
            common_field(reader, &mut part, field, raw);
        } else if kind.is_none_or(|kind| own_fields(kind).contains(&field)) {
            own_field(reader, &mut part, field, raw);
        } else {
            reader.fault(field, foreign_field(field, part.kind));
        }
    }
    if let (Some(first), Some(again)) = (node.feeds, node.feeds_again) {
        reader.twice(again, first);
    }
    if !has_id {
        reader.fault(node.kind, words::no_id(node.kind, part.kind.word()));
    }
    part
}

/// A field that this kind of part has not.
fn foreign_field(field: &str, kind: PartKind) -> Finding {
    let owners = PartKind::TABLE.iter();
    let owners = owners.filter(|(_, other)| own_fields(*other).contains(&field));
    let owners: Vec<_> = owners.map(|(word, _)| *word).collect();
    if owners.is_empty() {
        let known = [own_fields(kind), COMMON, &["feeds"]].concat();
        words::unknown_field_of_part(field, kind.word(), &known)
    } else {
        words::misplaced_field(field, kind.word(), &owners)
    }
}

fn common_field<'s>(reader: &Reader<'s>, part: &mut Part, field: &str, raw: &'s str) {
    match field {
        "id" => {
            if let Some(id) = reader.text(raw) {
                part.id = id;
            }
        }
        "name" => part.name = value(reader.text(raw)),
        "label" => part.label = value(reader.text(raw)),
        "at" => part.at = reader.text(raw),
        "sheet" => part.sheet = value(reader.text(raw)),
        "note" => part.note = value(reader.text(raw)),
        "odds" => part.odds = reader.number(raw, from_to(1e-6, 1e6)),
        "wire" => part.wire = wire(reader, raw),
        "plug" => part.plug = reader.text(raw),
        "pin" => part.pin = value(reader.text(raw)),
        "colour" => part.colour = value(reader.text(raw)),
        "holder" => part.holder = value(reader.text(raw)),
        "can" => part.can = tests(reader, raw),
        "never" => part.never = tests(reader, raw),
        "fixed" => part.fixed = reader.flag(raw).unwrap_or(false),
        _ => part.caution = value(reader.text(raw)),
    }
}

fn own_field<'s>(reader: &Reader<'s>, part: &mut Part, field: &str, raw: &'s str) {
    match field {
        "volts" => part.volts = value(reader.quantity(raw, from_to(1000.0, 60_000.0))),
        "capacity" => part.capacity = value(reader.quantity(raw, from_to(1.0, 2000.0))),
        "reserve" => part.reserve = value(reader.quantity(raw, from_to(1.0, 6000.0))),
        "rating" => part.rating = reader.quantity(raw, from_to(100.0, 2_000_000.0)),
        "style" => part.style = reader.word(raw, Thing::FuseStyle, FuseStyle::TABLE),
        "resistance" => part.resistance = value(reader.quantity(raw, from_to(0.001, 100_000.0))),
        "rest" => part.rest = reader.word(raw, Thing::PositionAtRest, Rest::TABLE),
        "kind" => part.load = reader.word(raw, Thing::KindOfLoad, LoadKind::TABLE),
        "of" => part.of = reader.text(raw),
        "asleep" => part.asleep = value(reader.quantity(raw, CURRENT)),
        "at_most" => part.at_most = value(reader.quantity(raw, CURRENT)),
        "least" => part.least = value(reader.quantity(raw, CURRENT)),
        "awake" => part.awake = value(reader.quantity(raw, CURRENT)),
        "moves" => part.moves = reader.text(raw),
        "commanded_by" => part.commanded_by = reader.text(raw),
        "draws" => part.draws = value(reader.quantity::<Milliamps>(raw, CURRENT)),
        // Only reached under an unknown kind, which is an error already.
        _ => {}
    }
}

fn tests<'s>(reader: &Reader<'s>, raw: &'s str) -> Vec<TestKind> {
    let words = reader.list(raw, "[Clamp]");
    words
        .into_iter()
        .filter_map(|word| reader.word(word, Thing::Test, TestKind::TABLE))
        .collect()
}

fn wire<'s>(reader: &Reader<'s>, raw: &'s str) -> Option<Wire> {
    const EXAMPLE: &str = "Wire(size: mm2(0.5), length: m(1))";
    let fields = reader.record(raw, "Wire", &["size", "length", "metal"], EXAMPLE)?;
    let (mut size, mut length, mut metal) = (None, None, None);
    let mut size_given = false;
    for (field, raw) in fields {
        match field {
            "size" => {
                size_given = true;
                size = wire_size(reader, raw);
            }
            "length" => length = value(reader.quantity::<Metres>(raw, from_to(0.001, 100.0))),
            _ => metal = reader.word(raw, Thing::Metal, Metal::TABLE),
        }
    }
    if !size_given {
        reader.fault(raw, words::no_wire_size(EXAMPLE));
    }
    size.map(|size| Wire {
        size,
        length,
        metal: metal.unwrap_or(Metal::Copper),
    })
}

fn wire_size<'s>(reader: &Reader<'s>, raw: &'s str) -> Option<WireSize> {
    if raw.starts_with("awg") {
        // Gauge 0 is 1/0 and −3 is 4/0, as the wire tables count them; 40 is a hair.
        let gauge = reader.quantity::<notation::Gauge>(raw, from_to(-3.0, 40.0))?;
        return Some(WireSize::Gauge(crate::quantity::Quantity::value(
            gauge.value,
        )));
    }
    if raw.starts_with("mm(") {
        let diameter = reader.quantity::<Millimetres>(raw, from_to(0.01, 100.0))?;
        reader.fault(raw, words::width_for_size(diameter.value.value()));
        return None;
    }
    reader
        .quantity(raw, from_to(0.01, 500.0))
        .map(|area| WireSize::Area(area.value))
}
