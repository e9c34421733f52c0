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
use crate::quantity::{Celsius, Metres, Milliamps, Milliohms};
use crate::vehicle::{FuseStyle, Metal, Wire, WireSize};

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
    pub source: String,
    /// Change with temperature as a fraction per kelvin at 20 °C; `None` where the metal is not known.
    pub per_kelvin: Option<f64>,
}

impl Figure {
    fn within(
        nominal: f64,
        fraction: f64,
        mark: Mark,
        source: impl Into<String>,
        per_kelvin: Option<f64>,
    ) -> Self {
        Self {
            nominal: Milliohms::of(nominal),
            band: Interval::between(nominal * (1.0 - fraction), nominal * (1.0 + fraction)),
            mark,
            source: source.into(),
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

fn from_row(row: Row, series: &str) -> Figure {
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

fn strip(rating: f64, source: &str) -> Option<Figure> {
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
const CLASS_1: &[(f64, f64)] = &[
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
const CLASS_5_THICK: &[(f64, f64)] = &[(70.0, 0.272), (95.0, 0.206), (120.0, 0.161)];
/// The same for the thinner ones (seen, three tables agree).
const CLASS_5: &[(f64, f64)] = &[
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
const VEHICLE_CABLE: (f64, f64) = (0.35, 54.4);
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
const ALUMINIUM: (f64, f64, f64) = (1.58, 1.64, 1.70);

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
    let at = |table: &[(f64, f64)]| {
        let row = table.iter().find(|row| (row.0 - area).abs() < 1e-6);
        row.map(|row| row.1)
    };
    let solid = COPPER / area;
    let least = match strands {
        Strands::Flexible => solid * STRANDED,
        Strands::Solid | Strands::Stranded => solid,
    };
    let (most, mark, source) = if let (Some(most), Strands::Solid) = (at(CLASS_1), strands) {
        let source = "from ρ/A (IEC 60028) to the largest of IEC 60228 class 1, which is that of class 2 too";
        (most, Mark::FromMemory, source)
    } else if let Some(most) = at(CLASS_5).filter(|_| strands != Strands::Solid) {
        let source = match strands {
            Strands::Flexible => "from 1.02 × ρ/A (IEC 60028) to the largest of IEC 60228 class 5",
            _ => {
                "from ρ/A (IEC 60028) to the largest of IEC 60228 class 5, which holds class 2 too"
            }
        };
        (most, Mark::Seen, source)
    } else if let Some(most) = at(CLASS_5_THICK).filter(|_| strands != Strands::Solid) {
        let source = "from ρ/A (IEC 60028), for class 5 1.02 of it, to the largest of IEC 60228 class 5, from memory";
        (most, Mark::FromMemory, source)
    } else if let Some(most) = at(&[VEHICLE_CABLE]).filter(|_| strands != Strands::Solid) {
        let source = "from 1.02 × ρ/A (IEC 60028) to the largest of ISO 6722-1";
        (most, Mark::FromMemory, source)
    } else {
        let source = "a size in no table: up to 1.25 × ρ/A (IEC 60028)";
        (solid * UNLISTED, Mark::Estimate, source)
    };
    (least, f64::midpoint(least, most), most, mark, source)
}

/// The resistance of a metre of wire, with no doubt about its length.
fn per_metre(size: WireSize, metal: Metal, strands: Strands) -> Figure {
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
            format!("{source}; aluminium 1.64 × copper, from memory")
        } else {
            source.to_owned()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::SquareMillimetres;

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
