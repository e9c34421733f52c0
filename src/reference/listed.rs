//! Every number of the tables, one by one, for a person to look at.

use super::{
    ALUMINIUM_PER_KELVIN, CLASS_1, CLASS_5, CLASS_5_THICK, COPPER_PER_KELVIN, Figure, MAXI, Mark,
    REGULAR, Strands, VEHICLE_CABLE, ZINC_PER_KELVIN, fuse, per_metre, wire,
};
use crate::quantity::{Metres, Milliamps, SquareMillimetres};
use crate::vehicle::{FuseStyle, Metal, Wire, WireSize};

/// What a number of the tables is the resistance of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Of {
    /// A fuse.
    Fuse(FuseStyle, Milliamps),
    /// A fusible link, as a length of wire.
    Link(Wire),
    /// A metre of wire, without doubt about its length.
    Metre(WireSize, Metal, Strands),
}

/// A number of the tables.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed {
    /// What it is the resistance of.
    pub of: Of,
    /// The number.
    pub figure: Figure,
}

/// How the resistance of a metal changes: its name, the fraction per kelvin at 20 °C, where that comes
/// from, and its mark.
pub const PER_KELVIN: [(&str, f64, &str, Mark); 3] = [
    ("zinc", ZINC_PER_KELVIN, "preproom.org", Mark::Seen),
    (
        "copper",
        COPPER_PER_KELVIN,
        "IEC 60028, in summary",
        Mark::Seen,
    ),
    (
        "aluminium",
        ALUMINIUM_PER_KELVIN,
        "nobody looked it up",
        Mark::FromMemory,
    ),
];

/// The length of a fusible link: about six inches (seen, several suppliers).
pub const LINK: Metres = Metres::of(0.1524);
/// The gauges that links are made of in the tables.
const LINK_GAUGES: [f64; 4] = [18.0, 16.0, 14.0, 12.0];
/// Strips are made from 30 to 500 A (ISO 8820-5, seen in abstracts); these are usual (from memory).
const STRIPS: [f64; 14] = [
    30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 400.0, 500.0,
];
/// Usual ratings of cartridges (from memory).
const CARTRIDGES: [f64; 6] = [20.0, 25.0, 30.0, 40.0, 50.0, 60.0];
/// The smallest blades are made up to 30 A (ISO 8820-12 and -13, seen in catalogue abstracts).
const SMALLEST: f64 = 30.0;
/// Gauges of the printed wire table (NBS Handbook 100, by a wire table that was seen).
const GAUGES: std::ops::RangeInclusive<u8> = 4..=24;
/// Aluminium is found in battery cables alone (from memory).
const THICK: f64 = 10.0;

/// The usual ratings of a style, in A.
fn usual(style: FuseStyle) -> Vec<f64> {
    let rows = |table: &[super::Row]| table.iter().map(|row| row.0).collect::<Vec<_>>();
    match style {
        FuseStyle::Regular | FuseStyle::Mini => rows(REGULAR),
        FuseStyle::LowMini | FuseStyle::Micro2 | FuseStyle::Micro3 => {
            let mut ratings = rows(REGULAR);
            ratings.retain(|rating| *rating <= SMALLEST);
            ratings
        }
        FuseStyle::Maxi => rows(MAXI),
        FuseStyle::Cartridge | FuseStyle::LowCartridge => CARTRIDGES.to_vec(),
        FuseStyle::Midi | FuseStyle::Mega => STRIPS.to_vec(),
        FuseStyle::Glass | FuseStyle::Torpedo | FuseStyle::Other => Vec::new(),
    }
}

/// All of them: fuses by style and rating, links by gauge, wires by cross-section and by gauge.
pub fn listed() -> Vec<Listed> {
    let mut list = Vec::new();
    for (_, style) in FuseStyle::TABLE {
        for rating in usual(*style) {
            let rating = Milliamps::of(rating * 1000.0);
            let figure = fuse(Some(*style), rating);
            list.extend(figure.map(|figure| Listed {
                of: Of::Fuse(*style, rating),
                figure,
            }));
        }
    }
    for gauge in LINK_GAUGES {
        let link = Wire {
            size: WireSize::Gauge(gauge),
            length: Some(LINK),
            metal: Metal::Copper,
        };
        list.extend(wire(link).map(|figure| Listed {
            of: Of::Link(link),
            figure,
        }));
    }
    let sizes = |table: &'static [(f64, f64)]| table.iter().map(|row| row.0);
    let areas = std::iter::once(VEHICLE_CABLE.0).chain(sizes(CLASS_5));
    let areas = areas.chain(sizes(CLASS_5_THICK));
    let area = |mm2| WireSize::Area(SquareMillimetres::of(mm2));
    let gauges = || GAUGES.map(|gauge| WireSize::Gauge(f64::from(gauge)));
    let copper = areas.clone().map(area).chain(gauges());
    let copper = copper.map(|size| (size, Metal::Copper, Strands::Flexible));
    let solid = sizes(CLASS_1).map(area).chain(gauges());
    let solid = solid.map(|size| (size, Metal::Copper, Strands::Solid));
    let thick = areas.filter(|mm2| *mm2 >= THICK);
    let aluminium = thick.map(|mm2| (area(mm2), Metal::Aluminium, Strands::Flexible));
    let wires = copper.chain(solid).chain(aluminium);
    list.extend(wires.map(|(size, metal, strands)| Listed {
        of: Of::Metre(size, metal, strands),
        figure: per_metre(size, metal, strands),
    }));
    list
}

impl Of {
    /// What it is, in order of the list: fuses, links, wires.
    pub fn is_wire(self) -> bool {
        matches!(self, Self::Metre(..))
    }

    /// The size of a wire or link: its number, and whether that is a gauge.
    pub fn size(self) -> Option<(f64, bool)> {
        let size = match self {
            Self::Fuse(..) => return None,
            Self::Link(wire) => wire.size,
            Self::Metre(size, ..) => size,
        };
        Some(match size {
            WireSize::Area(area) => (area.value(), false),
            WireSize::Gauge(gauge) => (gauge, true),
        })
    }
}
