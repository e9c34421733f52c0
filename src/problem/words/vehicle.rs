//! A vehicle file, field by field.

use super::{Finding, meant, one, short};
use crate::problem::Fault;

pub(crate) fn no_vehicle_name() -> Finding {
    Finding::new(
        Fault::NoName,
        "the vehicle has no name",
        "type name: \"blue van\",",
    )
}

/// A field that no vehicle has.
pub(crate) fn unknown_field_of_vehicle(field: &str, known: &[&str]) -> Finding {
    super::unknown_field(field, "a vehicle", known)
}

/// A field that no part has, seen at a part of this kind.
pub(crate) fn unknown_field_of_part(field: &str, kind: &str, known: &[&str]) -> Finding {
    super::unknown_field(field, &one(kind), known)
}

pub(crate) fn too_deep(deepest: u16) -> Finding {
    Finding::new(
        Fault::TooDeep,
        format!("nested deeper than {deepest} levels"),
        "leave out splices and connectors that feed one thing only",
    )
}

const BATTERY: &str = "type battery: Battery(id: \"battery\", feeds: [ ])";

pub(crate) fn no_battery() -> Finding {
    Finding::new(Fault::NoBattery, "the vehicle has no battery", BATTERY)
}

pub(crate) fn starts_elsewhere(kind: &str) -> Finding {
    let message = format!("the tree starts at a battery, not at {}", one(kind));
    Finding::new(Fault::NoBattery, message, BATTERY)
}

pub(crate) fn error_accepted(code: &str) -> Finding {
    Finding::new(
        Fault::UnknownCode,
        format!("`{code}` is an error: it cannot be accepted"),
        "take this out, and mend what is wrong",
    )
}

/// `known`: the codes of all that can be accepted.
pub(crate) fn unknown_code(code: &str, known: &[&str]) -> Finding {
    Finding::new(
        Fault::UnknownCode,
        format!("`{}` is the code of nothing", short(code)),
        meant(code, known),
    )
}

pub(crate) fn unknown_part(kind: &str, known: &[&str]) -> Finding {
    Finding::new(
        Fault::UnknownPart,
        format!("`{}` is not a kind of part", short(kind)),
        meant(kind, known),
    )
}

/// `owners`: the kinds that have this field, at least one.
pub(crate) fn misplaced_field(field: &str, kind: &str, owners: &[&str]) -> Finding {
    let instead = owners.first().copied().unwrap_or_default();
    Finding::new(
        Fault::MisplacedField,
        format!(
            "`{field}` belongs to {}, not to {}",
            owners.join(" and "),
            one(kind)
        ),
        format!("take `{field}` out, or write it as {instead}(…)"),
    )
}

/// `meant`: the kind that was meant by the one as written.
pub(crate) fn no_id(written: &str, meant: &str) -> Finding {
    Finding::new(
        Fault::NoId,
        format!("this {} has no id", short(written)),
        format!("type {meant}(id: \"…\") with the name the manual gives it"),
    )
}

pub(crate) fn no_wire_size(example: &str) -> Finding {
    Finding::new(
        Fault::NoSize,
        "this wire has no size",
        format!("type {example}"),
    )
}

/// `diameter` in mm.
pub(crate) fn width_for_size(diameter: f64) -> Finding {
    let area = diameter * diameter * std::f64::consts::FRAC_PI_4;
    Finding::new(
        Fault::Unit,
        "a wire's size is its cross-section, not its width",
        format!("type mm2({area:.2}) if {diameter} mm is the copper's diameter"),
    )
}
