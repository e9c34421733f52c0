//! From a reading to a current: tables with the source of each value beside it, then properties.

use halfsplit::instruments::{Instruments, Meter, Range};
use halfsplit::measurement::{Jack, Reading, Resistance, Unit, Way, current_by, hides};
use halfsplit::quantity::{Milliamps, Millivolts};
use halfsplit::reference;
use halfsplit::vehicle::FuseStyle;

/// A reading with all its digits, in the small unit.
fn shown(value: f64, unit: Unit, step: f64) -> Reading {
    Reading {
        low: value,
        high: value,
        unit,
        step,
        over: false,
    }
}

fn across(style: FuseStyle, amps: f64) -> Resistance {
    let figure = reference::fuse(Some(style), Milliamps::of(amps * 1000.0));
    Resistance::from(figure.unwrap_or_else(|| panic!("{style:?} {amps} A")))
}

/// The assumed meter with another millivolt range.
fn with_millivolts(step: f64, percent: f64, counts: f64) -> Instruments {
    let assumed = Instruments::assumed_meter();
    Instruments {
        meter: assumed.meter.map(|meter| Meter {
            millivolts: Some(Range {
                step: Millivolts::of(step),
                percent,
                counts,
                most: None,
                burden: None,
            }),
            ..meter
        }),
        ..assumed
    }
}

/// As many digits as the table has.
fn about(value: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{what}: {value}, expected {expected}"
    );
}

/// Most current behind a displayed 0.0 at 2 counts: derived from the resistance and the low end of
/// its band; 0.1 mV meter, then 0.01 mV meter, mA.
#[test]
fn what_a_displayed_zero_can_hide() {
    for (style, amps, coarse, fine) in [
        (FuseStyle::Regular, 5.0, 13.0, 1.3),
        (FuseStyle::Regular, 10.0, 31.0, 3.1),
        (FuseStyle::Regular, 15.0, 49.0, 4.9),
        (FuseStyle::Regular, 20.0, 70.0, 7.0),
        (FuseStyle::Regular, 30.0, 119.0, 12.0),
        (FuseStyle::Maxi, 40.0, 168.0, 17.0),
        (FuseStyle::Maxi, 60.0, 362.0, 36.0),
        (FuseStyle::Midi, 100.0, 606.0, 61.0),
    ] {
        let what = format!("{style:?} {amps} A");
        let across = across(style, amps);
        let hidden = |step| hides(&across, &with_millivolts(step, 0.5, 2.0)).unwrap();
        about(hidden(0.1).value(), coarse, 0.5, &what);
        let half_digit = if fine < 10.0 { 0.05 } else { 0.5 };
        about(hidden(0.01).value(), fine, half_digit, &what);
    }
}

/// `draw 640mA` on a 10 A jack of 10 mA steps, ±(1 % + 3): the design's own worked example, "604 to
/// 676 mA".
#[test]
fn a_coarse_jack_is_coarse_whatever_was_typed() {
    let meter = Instruments::assumed_meter();
    let reading = shown(640.0, Unit::Milliamps, 1.0);
    let current = current_by(Way::Series(Jack::A), reading, &meter).unwrap();
    about(current.low(), 603.6, 1e-9, "low");
    about(current.high(), 676.4, 1e-9, "high");
}
