//! What a wire may carry for hours, to hold a fuse against.

use crate::quantity::Milliamps;
use crate::reference::{ALUMINIUM, gauge_area};
use crate::vehicle::{Metal, Wire, WireSize};

/// Where [`carries`] has its numbers from.
pub const CARRYING_SOURCE: &str = "suppliers' tables for thin-wall cable to ISO 6722-1, class B (from memory); no standard for road \
     vehicles gives a current for a size";

/// Square millimetres and amperes, from memory: the figures that suppliers of thin-wall cable give for
/// a single conductor in air. They differ between suppliers by a tenth or so.
const THIN_WALL: [(f64, f64); 15] = [
    (0.5, 11.0),
    (0.75, 14.0),
    (1.0, 16.5),
    (1.5, 21.0),
    (2.0, 25.0),
    (2.5, 29.0),
    (3.0, 33.0),
    (4.0, 39.0),
    (6.0, 50.0),
    (8.5, 63.0),
    (10.0, 70.0),
    (16.0, 110.0),
    (25.0, 170.0),
    (35.0, 240.0),
    (60.0, 415.0),
];

/// What a wire carries, between sizes in proportion; `None` above 60 mm², where nothing was found.
/// Below 0.5 mm² in proportion to its area, which is a little less than such a wire bears.
///
/// Aluminium heats as copper does with the same I²R, so it bears 1/√1.64 of the current (derived).
pub fn carries(wire: Wire) -> Option<Milliamps> {
    let area = match wire.size {
        WireSize::Area(area) => area.value(),
        WireSize::Gauge(gauge) => gauge_area(gauge),
    };
    let row = THIN_WALL.iter().position(|(size, _)| area <= *size)?;
    let (above, most) = THIN_WALL[row];
    let (below, least) = row.checked_sub(1).map_or((0.0, 0.0), |row| THIN_WALL[row]);
    let copper = least + (most - least) * (area - below) / (above - below);
    let metal = match wire.metal {
        Metal::Copper => 1.0,
        Metal::Aluminium => 1.0 / ALUMINIUM.1.sqrt(),
    };
    Some(Milliamps::of(1000.0 * copper * metal))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::{Quantity, SquareMillimetres};

    #[test]
    fn between_sizes_in_proportion() {
        let wire = |area: f64, metal| Wire {
            size: WireSize::Area(SquareMillimetres::of(area)),
            length: None,
            metal,
        };
        for (area, expected) in [(0.25, 5.5), (1.0, 16.5), (1.25, 18.75), (60.0, 415.0)] {
            let found = carries(wire(area, Metal::Copper)).map(Quantity::value);
            assert!((found.unwrap() - expected * 1000.0).abs() < 1e-6, "{area}");
        }
        assert_eq!(carries(wire(70.0, Metal::Copper)), None);
        // The same loss per metre in aluminium of the same area.
        let (copper, aluminium) = (
            carries(wire(16.0, Metal::Copper)).unwrap(),
            carries(wire(16.0, Metal::Aluminium)).unwrap(),
        );
        let loss = (aluminium / copper).powi(2) * ALUMINIUM.1;
        assert!((loss - 1.0).abs() < 1e-9);
    }
}
