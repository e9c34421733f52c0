//! The resistance of wire: by cross-section or gauge, by metal, and by how it is made up.

use super::{ALUMINIUM_PER_KELVIN, COPPER, COPPER_PER_KELVIN, Figure, Mark};
use crate::interval::Interval;
use crate::quantity::{Metres, Milliohms};
use crate::vehicle::{Metal, Wire, WireSize};
use std::borrow::Cow;

/// How a conductor is made up, in the words of IEC 60228.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Strands {
    /// One wire: class 1.
    Solid,
    /// Strands, few and thick or many and fine: class 2 or 5, where it is not known which.
    Stranded,
    /// Many fine strands, as vehicle cable has them: class 5.
    #[default]
    Flexible,
}

impl Strands {
    /// The words and what they stand for.
    pub const TABLE: [(&'static str, Self); 3] = [
        ("solid", Self::Solid),
        ("stranded", Self::Stranded),
        ("flexible", Self::Flexible),
    ];

    /// As it is typed.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Solid => "solid",
            Self::Stranded => "stranded",
            Self::Flexible => "flexible",
        }
    }
}

/// Largest resistance of plain copper, IEC 60228 class 1, in mΩ/m at 20 °C by mm² (from memory); that of
/// class 2 is the same.
pub(super) const CLASS_1: &[(f64, f64)] = &[
    (0.5, 36.0),
    (0.75, 24.5),
    (1.0, 18.1),
    (1.5, 12.1),
    (2.5, 7.41),
    (4.0, 4.61),
    (6.0, 3.08),
    (10.0, 1.83),
    (16.0, 1.15),
    (25.0, 0.727),
    (35.0, 0.524),
    (50.0, 0.387),
    (70.0, 0.268),
    (95.0, 0.193),
    (120.0, 0.153),
];
/// Largest resistance of plain copper, IEC 60228 class 5, in mΩ/m at 20 °C by mm²: the sizes of battery
/// cables of trucks and coaches (from memory).
pub(super) const CLASS_5_THICK: &[(f64, f64)] = &[(70.0, 0.272), (95.0, 0.206), (120.0, 0.161)];
/// The same for the thinner ones (seen, three tables agree).
pub(super) const CLASS_5: &[(f64, f64)] = &[
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
];
/// The vehicle cable size that IEC 60228 lacks: ISO 6722-1 largest resistance (from memory).
pub(super) const VEHICLE_CABLE: (f64, f64) = (0.35, 54.4);
/// A real wire is at least this much above ρ/A (stranding; judgement, the published factor is 1.05 to
/// 1.08 and the largest resistances stand 1.11 to 1.16 above).
const STRANDED: f64 = 1.02;
/// A size that is in no table is at most this much above ρ/A (judgement: holds every table that was
/// seen, the doubtful 96 mΩ/m at 0.22 mm² included).
const UNLISTED: f64 = 1.25;
/// Stranding moves an AWG number: 18 AWG is sold from 5.46 to 6.48 Ω/1000 ft (seen) against 6.385
/// solid; the upper end is the largest stranding factor (1.08).
const GAUGE_SPREAD: (f64, f64) = (0.855, 1.08);
/// A gauge is drawn to ± 1 % of its diameter (ASTM B258, from memory), so a solid wire is that far from ρ/A.
const GAUGE_SOLID: (f64, f64) = (0.98, 1.02);
/// Doubt about the length between the probes (judgement).
const LENGTH: f64 = 0.10;
/// Aluminium against copper: 1.64 (from memory), hence with a band of its own.
pub(super) const ALUMINIUM: (f64, f64, f64) = (1.58, 1.64, 1.70);

/// The cross-section of an American wire gauge number in mm²: d = 0.127 mm × 92^((36−n)/39)
/// (ASTM B258, seen as reported).
pub fn gauge_area(gauge: f64) -> f64 {
    let diameter = 0.127 * 92_f64.powf((36.0 - gauge) / 39.0);
    diameter * diameter * std::f64::consts::FRAC_PI_4
}

/// What a metre of copper of this size has, in mΩ at 20 °C: lowest, best, highest, with the mark and
/// source.
fn copper_per_metre(size: WireSize, strands: Strands) -> (f64, f64, f64, Mark, &'static str) {
    let area = match size {
        WireSize::Gauge(gauge) => {
            let solid = COPPER / gauge_area(gauge);
            let ((least, most), mark, source) = if strands == Strands::Solid {
                let source = "copper (IEC 60028) of the gauge's area, its diameter to 1 % (ASTM B258, from memory)";
                (GAUGE_SOLID, Mark::FromMemory, source)
            } else {
                let source = "copper (IEC 60028) of the gauge's area (ASTM B258), spread as stranded wire is sold";
                (GAUGE_SPREAD, Mark::Derived, source)
            };
            return (solid * least, solid, solid * most, mark, source);
        }
        WireSize::Area(area) => area.value(),
    };
    let solid = COPPER / area;
    let least = match strands {
        Strands::Flexible => solid * STRANDED,
        Strands::Solid | Strands::Stranded => solid,
    };
    let (most, mark, source) = largest(area, strands).unwrap_or((
        solid * UNLISTED,
        Mark::Estimate,
        "a size in no table: up to 1.25 × ρ/A (IEC 60028)",
    ));
    (least, f64::midpoint(least, most), most, mark, source)
}

/// The largest that the tables have for a cross-section made up so, in mΩ/m at 20 °C, with its mark and
/// source; `None` for a size that is in none.
fn largest(area: f64, strands: Strands) -> Option<(f64, Mark, &'static str)> {
    let at = |table: &[(f64, f64)]| {
        let row = table.iter().find(|row| (row.0 - area).abs() < 1e-6);
        row.map(|row| row.1)
    };
    let class_5 = || {
        let seen = at(CLASS_5).map(|most| (most, Mark::Seen));
        seen.or_else(|| Some((at(CLASS_5_THICK)?, Mark::FromMemory)))
    };
    match strands {
        Strands::Solid => Some((
            at(CLASS_1)?,
            Mark::FromMemory,
            "from ρ/A (IEC 60028) to the largest of IEC 60228 class 1, which is that of class 2 too",
        )),
        Strands::Stranded => Some((
            class_5()?.0.max(at(CLASS_1)?),
            Mark::FromMemory,
            "from ρ/A (IEC 60028) to the largest of IEC 60228 class 2 or 5",
        )),
        Strands::Flexible => match class_5() {
            Some((most, Mark::Seen)) => Some((
                most,
                Mark::Seen,
                "from 1.02 × ρ/A (IEC 60028) to the largest of IEC 60228 class 5",
            )),
            Some((most, mark)) => Some((
                most,
                mark,
                "from 1.02 × ρ/A (IEC 60028) to the largest of IEC 60228 class 5, from memory",
            )),
            None => Some((
                at(&[VEHICLE_CABLE])?,
                Mark::FromMemory,
                "from 1.02 × ρ/A (IEC 60028) to the largest of ISO 6722-1",
            )),
        },
    }
}

/// The resistance of a metre of wire, with no doubt about its length.
pub(super) fn per_metre(size: WireSize, metal: Metal, strands: Strands) -> Figure {
    let (least, best, most, mark, source) = copper_per_metre(size, strands);
    let aluminium = metal == Metal::Aluminium;
    let (least_metal, best_metal, most_metal) = if aluminium {
        ALUMINIUM
    } else {
        (1.0, 1.0, 1.0)
    };
    Figure {
        nominal: Milliohms::of(best * best_metal),
        band: Interval::between(least * least_metal, most * most_metal),
        mark: if aluminium {
            mark.max(Mark::FromMemory)
        } else {
            mark
        },
        source: if aluminium {
            Cow::Owned(format!("{source}; aluminium 1.64 × copper, from memory"))
        } else {
            Cow::Borrowed(source)
        },
        per_kelvin: Some(if aluminium {
            ALUMINIUM_PER_KELVIN
        } else {
            COPPER_PER_KELVIN
        }),
    }
}

/// The resistance of a length of vehicle cable between the probes; `None` without a length. The band
/// holds a tenth of doubt about the length.
pub fn wire(wire: Wire) -> Option<Figure> {
    made_up(wire, Strands::Flexible)
}

/// The same of a wire that is made up in another way.
pub fn made_up(wire: Wire, strands: Strands) -> Option<Figure> {
    let length = wire.length.map(Metres::value).filter(|m| *m > 0.0)?;
    let metre = per_metre(wire.size, wire.metal, strands);
    Some(Figure {
        nominal: metre.nominal * length,
        band: Interval::between(
            metre.band.low() * length * (1.0 - LENGTH),
            metre.band.high() * length * (1.0 + LENGTH),
        ),
        ..metre
    })
}
