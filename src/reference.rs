//! Fuse and wire tables, each number beside its source and mark.
//!
//! **Model.** A [`Figure`] is the cold resistance of something a voltage drop is read across: its
//! best value, a band that holds the true one, and where both come from. Bands are working bands
//! (judgement; no maker publishes a tolerance on cold resistance): ± 15 % for a row of a known
//! series, ± 30 % for a row from memory and for a mini blade scaled from the regular one, ± 40 % for
//! everything estimated, ± 5 % for what the person measured.
//!
//! **Invariants.** `0 < band.low ≤ nominal ≤ band.high` (test `a_band_holds_its_best_value`); a
//! mark is never better than that of the row a number was made from.
//!
//! **Cost.** A handful of rows; constant time.

mod carrying;
pub use carrying::{CARRYING_SOURCE, carries};

use crate::interval::Interval;
use crate::quantity::{Celsius, Milliamps, Milliohms};
use crate::vehicle::FuseStyle;
use std::borrow::Cow;

mod wires;
use wires::{ALUMINIUM, CLASS_1, CLASS_5, CLASS_5_THICK, VEHICLE_CABLE, per_metre};
pub use wires::{Strands, gauge_area, made_up, wire};

mod listed;
pub use listed::{LINK, Listed, Of, PER_KELVIN, listed};

/// How far a number can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// Measured by the person at the vehicle.
    Measured,
    /// Read in the named source.
    Seen,
    /// Read as a third party's quotation of the named source.
    Quoted,
    /// Computed from other rows.
    Derived,
    /// Nobody looked it up.
    FromMemory,
    /// Scaled from other rows.
    Estimate,
}

impl Mark {
    /// As it is written beside the number.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Seen => "seen",
            Self::Quoted => "quoted",
            Self::Derived => "derived",
            Self::FromMemory => "from memory",
            Self::Estimate => "estimate",
        }
    }
}

/// A cold resistance at 20 °C with its band and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The best value.
    pub nominal: Milliohms,
    /// What the true value lies in.
    pub band: Interval<Milliohms>,
    /// How far it can be trusted.
    pub mark: Mark,
    /// Where it comes from.
    pub source: Cow<'static, str>,
    /// Change with temperature as a fraction per kelvin at 20 °C; `None` where the metal is not known.
    pub per_kelvin: Option<f64>,
}

impl Figure {
    fn within(
        nominal: f64,
        fraction: f64,
        mark: Mark,
        source: &'static str,
        per_kelvin: Option<f64>,
    ) -> Self {
        Self {
            nominal: Milliohms::of(nominal),
            band: Interval::between(nominal * (1.0 - fraction), nominal * (1.0 + fraction)),
            mark,
            source: Cow::Borrowed(source),
            per_kelvin,
        }
    }

    /// The same at another temperature. Linear, which is good from −40 to 120 °C; never below a tenth.
    /// Where the metal is not known it is what a person measured, who knows at what temperature: the
    /// band then holds both, measured there and measured at 20 °C on zinc, which changes as copper does.
    pub fn at(&self, temperature: Celsius) -> Self {
        let kelvin = temperature.value() - 20.0;
        let per_kelvin = self.per_kelvin.unwrap_or(ZINC_PER_KELVIN);
        let factor = (1.0 + per_kelvin * kelvin).max(0.1);
        let there = self.band.times(factor);
        let (nominal, band) = match self.per_kelvin {
            Some(_) => (self.nominal * factor, there),
            None => (self.nominal, self.band.hull(there)),
        };
        Self {
            nominal,
            band,
            ..self.clone()
        }
    }
}

/// Zinc, of which blade fuses are made: 5.90e-8 Ω·m at 20 °C, +0.0037 /K (seen, preproom.org).
pub const ZINC_PER_KELVIN: f64 = 0.0037;
/// Annealed copper: +0.00393 /K at 20 °C (IEC 60028, seen in summary).
pub const COPPER_PER_KELVIN: f64 = 0.00393;
/// Aluminium: +0.0040 /K at 20 °C (from memory).
pub const ALUMINIUM_PER_KELVIN: f64 = 0.0040;
/// Annealed copper, mΩ·mm²/m at 20 °C: 1/58 Ω·mm²/m (IACS; IEC 60028, seen in summary as 0.017241; the
/// fraction from memory: with it the printed gauge table comes out to the last digit).
pub const COPPER: f64 = 1000.0 / 58.0;

/// Working band of a row of a known series (judgement).
const KNOWN: f64 = 0.15;
/// Working band of a row from memory, and of a mini blade scaled from the regular one.
const WIDE: f64 = 0.30;
/// Working band of everything estimated (judgement).
const ESTIMATED: f64 = 0.40;
/// Working band of what a person measured (judgement).
const OWN: f64 = 0.05;

/// One row: rating in A, cold resistance in mΩ, mark, band.
type Row = (f64, f64, Mark, f64);

const fn quoted(rating: f64, milliohms: f64) -> Row {
    (rating, milliohms, Mark::Quoted, KNOWN)
}

const fn from_memory(rating: f64, milliohms: f64) -> Row {
    (rating, milliohms, Mark::FromMemory, WIDE)
}

/// From memory, and weak besides.
const fn weak(rating: f64, milliohms: f64) -> Row {
    (rating, milliohms, Mark::FromMemory, ESTIMATED)
}

const fn estimate(rating: f64, milliohms: f64) -> Row {
    (rating, milliohms, Mark::Estimate, ESTIMATED)
}

const REGULAR_SOURCE: &str = "typical cold resistance, Littelfuse ATOF 287 series data sheet";
/// Regular blade (ISO 8820-3 type C).
const REGULAR: &[Row] = &[
    from_memory(1.0, 123.0),
    quoted(2.0, 53.5),
    quoted(3.0, 31.1),
    quoted(4.0, 22.8),
    quoted(5.0, 17.85),
    from_memory(7.5, 10.91),
    quoted(10.0, 7.70),
    quoted(15.0, 4.80), // quoted twice
    quoted(20.0, 3.38),
    quoted(25.0, 2.52),
    quoted(30.0, 1.97),
    weak(35.0, 1.6),
    quoted(40.0, 1.44),
];

const MINI_SOURCE: &str = "typical cold resistance, Littelfuse MINI 297 series data sheet";
/// Mini blade (type F): the one row known.
const MINI: Row = quoted(25.0, 2.36);
/// Mini against regular, from the one pair known (2.36 / 2.52); an estimate for all other ratings.
const MINI_TO_REGULAR: f64 = 0.94;

const MAXI_SOURCE: &str = "typical cold resistance, Littelfuse MAXI 299 series data sheet";
/// Maxi blade (type E). From 50 A on: R × I ≈ 55 mV.
const MAXI: &[Row] = &[
    weak(20.0, 3.2),
    quoted(30.0, 1.9),
    quoted(35.0, 1.7),
    quoted(40.0, 1.4),
    estimate(50.0, 1.1),
    estimate(60.0, 0.92),
    estimate(70.0, 0.78),
    estimate(80.0, 0.68),
];

const STRIP_SOURCE: &str = "resistance × rating ≈ 55 mV";
/// Cartridge, 30 mm and 51 mm strip: R ≈ 55 mΩ / rating in A (estimate).
const STRIP: f64 = 55.0;
/// Ratings in A for which that is offered: strips are made from 30 to 500 A (ISO 8820-5, seen in
/// abstracts), cartridges from about 20 A (from memory); a smaller fuse has a larger product.
const STRIP_RATINGS: std::ops::RangeInclusive<f64> = 15.0..=600.0;

/// A table's value at a rating: its row, or resistance × rating between the neighbouring rows, which
/// is an estimate. `None` outside the table.
fn row_at(table: &[Row], rating: f64) -> Option<Row> {
    if let Some(row) = table.iter().find(|row| (row.0 - rating).abs() < 1e-6) {
        return Some(*row);
    }
    let above = table.iter().position(|row| row.0 > rating)?;
    let (low, high) = (table.get(above.checked_sub(1)?)?, table.get(above)?);
    let share = (rating - low.0) / (high.0 - low.0);
    let product = low.0 * low.1 + share * (high.0 * high.1 - low.0 * low.1);
    Some(estimate(rating, product / rating))
}

fn from_row(row: Row, series: &'static str) -> Figure {
    let source = match row.2 {
        Mark::Estimate => "resistance × rating as of the neighbouring ratings",
        _ => series,
    };
    Figure::within(row.1, row.3, row.2, source, Some(ZINC_PER_KELVIN))
}

/// The cold resistance of a fuse; `None` where nothing is known about the style or the rating lies
/// outside the style's table. A style that the file does not give is taken for a blade, or a strip
/// above 40 A, as an estimate.
pub fn fuse(style: Option<FuseStyle>, rating: Milliamps) -> Option<Figure> {
    let rating = rating.value() / 1000.0;
    match style {
        Some(FuseStyle::Regular) => row_at(REGULAR, rating).map(|r| from_row(r, REGULAR_SOURCE)),
        Some(FuseStyle::Maxi) => row_at(MAXI, rating).map(|row| {
            if row.2 == Mark::Estimate && rating >= 50.0 {
                let zinc = Some(ZINC_PER_KELVIN);
                Figure::within(row.1, row.3, row.2, STRIP_SOURCE, zinc)
            } else {
                from_row(row, MAXI_SOURCE)
            }
        }),
        Some(FuseStyle::Mini) => mini(rating),
        Some(FuseStyle::LowMini | FuseStyle::Micro2 | FuseStyle::Micro3) => {
            let like = mini(rating)?;
            Some(Figure::within(
                like.nominal.value(),
                ESTIMATED,
                Mark::Estimate,
                "nothing published was found; taken as a mini blade of that rating",
                like.per_kelvin,
            ))
        }
        Some(
            FuseStyle::Cartridge | FuseStyle::LowCartridge | FuseStyle::Midi | FuseStyle::Mega,
        ) => strip(rating, STRIP_SOURCE),
        Some(FuseStyle::Glass | FuseStyle::Torpedo | FuseStyle::Other) => None,
        None if rating <= 40.0 => row_at(REGULAR, rating).map(|row| {
            let source = "the file gives no style; taken as a regular blade of that rating";
            let zinc = Some(ZINC_PER_KELVIN);
            Figure::within(row.1, ESTIMATED, Mark::Estimate, source, zinc)
        }),
        None => strip(
            rating,
            "the file gives no style; resistance × rating ≈ 55 mV",
        ),
    }
}

fn mini(rating: f64) -> Option<Figure> {
    if (rating - MINI.0).abs() < 1e-6 {
        return Some(from_row(MINI, MINI_SOURCE));
    }
    let regular = row_at(REGULAR, rating)?;
    let fraction = if regular.2 == Mark::Quoted {
        WIDE
    } else {
        ESTIMATED
    };
    Some(Figure::within(
        regular.1 * MINI_TO_REGULAR,
        fraction,
        Mark::Estimate,
        "0.94 × the regular blade of that rating, after the one pair known, 25 A",
        Some(ZINC_PER_KELVIN),
    ))
}

fn strip(rating: f64, source: &'static str) -> Option<Figure> {
    STRIP_RATINGS.contains(&rating).then(|| {
        let zinc = Some(ZINC_PER_KELVIN);
        Figure::within(STRIP / rating, ESTIMATED, Mark::Estimate, source, zinc)
    })
}

/// The ratings in A, lowest and highest, for which [`fuse`] knows a style; `None` where it knows
/// nothing about it.
pub fn ratings(style: FuseStyle) -> Option<(f64, f64)> {
    let ends = |table: &[Row]| Some((table.first()?.0, table.last()?.0));
    match style {
        FuseStyle::Regular
        | FuseStyle::Mini
        | FuseStyle::LowMini
        | FuseStyle::Micro2
        | FuseStyle::Micro3 => ends(REGULAR),
        FuseStyle::Maxi => ends(MAXI),
        FuseStyle::Cartridge | FuseStyle::LowCartridge | FuseStyle::Midi | FuseStyle::Mega => {
            Some((*STRIP_RATINGS.start(), *STRIP_RATINGS.end()))
        }
        FuseStyle::Glass | FuseStyle::Torpedo | FuseStyle::Other => None,
    }
}

/// A resistance that the person measured, or read on the part.
pub fn own(resistance: Milliohms) -> Figure {
    let source = "given by the person who measured it";
    Figure::within(resistance.value(), OWN, Mark::Measured, source, None)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Metres, SquareMillimetres};
    use crate::vehicle::{Metal, Wire, WireSize};

    #[test]
    fn a_band_holds_its_best_value() {
        let mut figures = vec![own(Milliohms::of(4.8))];
        for (_, style) in FuseStyle::TABLE {
            for rating in 1..=1200 {
                figures.extend(fuse(Some(*style), Milliamps::of(f64::from(rating) * 500.0)));
            }
        }
        for tenths in 1..=1000 {
            for metal in [Metal::Copper, Metal::Aluminium] {
                let area = SquareMillimetres::of(f64::from(tenths) / 10.0);
                figures.extend(wire(Wire {
                    size: WireSize::Area(area),
                    length: Some(Metres::of(0.8)),
                    metal,
                }));
            }
        }
        for (_, style) in FuseStyle::TABLE {
            let known = |rating| fuse(Some(*style), Milliamps::of(rating * 1000.0)).is_some();
            match ratings(*style) {
                Some((least, most)) => {
                    assert!(known(least) && known(most), "{style:?}");
                    assert!(!known(least * 0.99) && !known(most * 1.01), "{style:?}");
                }
                None => assert!(!known(10.0), "{style:?}"),
            }
        }
        assert!(figures.len() > 4000);
        for figure in figures {
            assert!(figure.band.low() > 0.0, "{figure:?}");
            assert!(figure.band.holds(figure.nominal), "{figure:?}");
        }
    }
}
