//! What is there is always inside what is said, for any instrument, resistance and current.

use super::{range, shown, with_clamp, with_millivolts};
use halfsplit::instruments::{Clamp, Instruments, Meter, Range};
use halfsplit::interval::Interval;
use halfsplit::measurement::{
    InLine, Jack, Reading, Resistance, Unit, Way, current_by, current_by_drop, current_shown,
    drop_shown, hides, voltage,
};
use halfsplit::quantity::{Milliamps, Milliohms, Millivolts, Quantity};
use halfsplit::reference::Mark;
use proptest::prelude::*;

/// Any range: steps of 1, 2 or 5 times a power of ten, percent and counts, also none.
fn any_range<Q: Quantity>() -> impl Strategy<Value = Range<Q>> {
    (
        prop::sample::select(vec![1.0, 2.0, 5.0]),
        -3..3_i32,
        0.0..5.0_f64,
        prop::sample::select(vec![0.0, 0.5, 1.0, 2.0, 5.0, 20.0]),
    )
        .prop_map(|(digit, power, percent, counts)| {
            range(digit * 10.0_f64.powi(power), percent, counts)
        })
}

/// A resistance with a band, and a true value in it.
fn any_resistance() -> impl Strategy<Value = (Resistance, Milliohms)> {
    (0.1..200.0_f64, 0.0..0.4_f64, -1.0..1.0_f64).prop_map(|(nominal, spread, where_in_it)| {
        let across = Resistance {
            nominal: Milliohms::of(nominal),
            band: Interval::between(nominal * (1.0 - spread), nominal * (1.0 + spread)),
            source: "".into(),
            mark: Mark::Measured,
        };
        (
            across,
            Milliohms::of(nominal * (1.0 + spread * where_in_it)),
        )
    })
}

/// From a microamp to 100 A, and nothing.
fn any_current() -> impl Strategy<Value = f64> {
    prop_oneof![
        1 => Just(0.0),
        9 => (-3.0..5.0_f64).prop_map(|power| 10.0_f64.powf(power)),
    ]
}

/// A whole number of steps that a display within ±(percent + counts) may show for what is there;
/// `error` from −1 to 1 is how much of its accuracy it uses. By the definition of accuracy, not by
/// the code under test: half a step more where the counts are too few for any whole step.
fn display(truth: f64, percent: f64, counts: f64, step: f64, error: f64) -> f64 {
    let share = percent / 100.0;
    let margin = |shown: f64| share * shown + counts.max(0.5) * step;
    let wanted = (truth + error * counts * step) / (1.0 - error * share);
    let steps = [
        (wanted / step).floor(),
        (wanted / step).ceil(),
        (truth / step).round(),
    ];
    let allowed = |s: &f64| *s >= 0.0 && (s * step - truth).abs() <= margin(s * step) + 1e-9 * step;
    let steps = steps.into_iter().find(allowed).unwrap();
    steps * step
}

/// `holds`, but for the last bits of the arithmetic.
fn holds<Q: Quantity>(interval: Interval<Q>, value: f64) -> bool {
    interval
        .widened(1e-9 * (1.0 + value.abs()))
        .holds(Q::of(value))
}

fn wandering(a: f64, b: f64, unit: Unit, step: f64) -> Reading {
    Reading {
        low: a.min(b),
        high: a.max(b),
        ..shown(0.0, unit, step)
    }
}

proptest! {
    #[test]
    fn a_drop_holds_the_true_current(
        (across, ohms) in any_resistance(),
        millivolts in any_range(),
        current in any_current(),
        errors in (-1.0..1.0_f64, -1.0..1.0_f64),
        lost in 0..3_i32,
    ) {
        let meter = with_millivolts(millivolts);
        let step = millivolts.step.value();
        let truth = (Milliamps::of(current) * ohms).value();
        let one = |error| display(truth, millivolts.percent, millivolts.counts, step, error);
        let (a, b) = (one(errors.0), one(errors.1));
        for reading in [shown(a, Unit::Millivolts, step), wandering(a, b, Unit::Millivolts, step)] {
            let found = current_by_drop(&across, reading, &meter).unwrap();
            prop_assert!(holds(found, current), "{reading:?}: {found:?} without {current}");
            // Above a few readings out of range the display says OL.
            let over = Reading { over: true, ..reading };
            prop_assert!(holds(current_by_drop(&across, over, &meter).unwrap(), current));
        }
        // What may be shown for this current holds what was shown.
        let just = Interval::exactly(Milliamps::of(current));
        let may = drop_shown(&across, just, &meter).unwrap();
        prop_assert!(holds(may, a), "{may:?} without {a}");
        prop_assert!(may.low() >= 0.0);
        // Digits thrown away by rounding.
        let coarse = step * 10.0_f64.powi(lost);
        let typed = shown((a / coarse).round() * coarse, Unit::Millivolts, coarse);
        let found = current_by_drop(&across, typed, &meter).unwrap();
        prop_assert!(holds(found, current), "{typed:?}: {found:?} without {current}");
        // A displayed zero hides no more than it says.
        if a == 0.0 {
            prop_assert!(current <= hides(&across, &meter).unwrap().value() * (1.0 + 1e-9));
        }
    }

    /// Probes both ways round, with an offset that joints and leads give: the truth is inside, and inside
    /// is hardly more than both readings leave (half of each one's own accuracy, by its definition).
    #[test]
    fn both_ways_round_hold_the_true_current(
        (across, ohms) in any_resistance(),
        millivolts in any_range(),
        current in any_current(),
        offset in prop_oneof![Just(0.0), -0.1..0.1_f64, -20.0..20.0_f64],
        errors in (-1.0..1.0_f64, -1.0..1.0_f64),
    ) {
        let meter = with_millivolts(millivolts);
        let step = millivolts.step.value();
        let truth = (Milliamps::of(current) * ohms).value();
        let one = |there: f64, error| {
            let size = display(there.abs(), millivolts.percent, millivolts.counts, step, error);
            if there < 0.0 { 0.0 - size } else { size }
        };
        let (there, turned) = (one(truth + offset, errors.0), one(offset - truth, errors.1));
        let read = |value| shown(value, Unit::Millivolts, step);
        let half = read(there).with_probes_turned(read(turned), &meter);
        let found = current_by_drop(&across, half, &meter).unwrap();
        prop_assert!(holds(found, current), "{there}, turned {turned}: {found:?} without {current}");
        let margin = |shown: f64| millivolts.percent / 100.0 * shown.abs() + millivolts.counts.max(0.5) * step;
        let left = f64::midpoint(margin(there), margin(turned));
        let middle = f64::midpoint(there, -turned);
        let least = if middle >= 0.0 { (middle - left).max(0.0) } else { middle - left };
        let volts = voltage(half, &meter).unwrap();
        // The offset's own percent is of what was there, which is what was shown over one less it.
        let wider = (1.0 / (1.0 - millivolts.percent / 100.0)).max(1.05);
        prop_assert!(volts.width() <= wider * (middle + left - least) + 1e-9, "{volts:?}, {middle} ± {left}");
    }

    #[test]
    fn a_current_reading_holds_the_true_current(
        own in any_range::<Milliamps>(),
        display_of in any_range(),
        scale in prop::sample::select(vec![None, Some((1.0, 10.0)), Some((1.0, 100.0)), Some((10.0, 1.0))]),
        turns in 1..12_u32,
        current in any_current(),
        errors in (-1.0..1.0_f64, -1.0..1.0_f64),
    ) {
        let inside = current * f64::from(turns);
        let way = Way::Clamp { turns };
        let just = Interval::exactly(Milliamps::of(current));
        let clamp = with_clamp(own, scale);
        if let Some((mv, ma)) = scale {
            // The clamp errs in mA, then the meter in mV.
            let meter = with_millivolts(display_of);
            let both = Instruments { clamp: clamp.clamp, ..meter };
            let share = own.percent / 100.0;
            let floor = own.counts * own.step.value();
            let given = ((inside + errors.0 * floor) / (1.0 - errors.0 * share)).max(0.0);
            let step = display_of.step.value();
            let read = display(given / ma * mv, display_of.percent, display_of.counts, step, errors.1);
            let found = current_by(way, shown(read, Unit::Millivolts, step), &both).unwrap();
            prop_assert!(holds(found, current), "{read} mV: {found:?} without {current}");
            let may = current_shown(way, just, &both).unwrap();
            prop_assert!(holds(may, read / mv * ma), "{may:?} without {read} mV");
        } else {
            let step = own.step.value();
            let read = display(inside, own.percent, own.counts, step, errors.0);
            let found = current_by(way, shown(read, Unit::Milliamps, step), &clamp).unwrap();
            prop_assert!(holds(found, current), "{read} mA: {found:?} without {current}");
            let may = current_shown(way, just, &clamp).unwrap();
            prop_assert!(holds(may, read), "{may:?} without {read} mA");
        }
        for jack in [Jack::A, Jack::MilliA] {
            let meter = Instruments {
                meter: Some(Meter { millivolts: None, amps: Some(own), milliamps: Some(own) }),
                ..Instruments::assumed_meter()
            };
            let way = Way::Series(jack);
            let step = own.step.value();
            let read = display(current, own.percent, own.counts, step, errors.1);
            let found = current_by(way, shown(read, Unit::Milliamps, step), &meter).unwrap();
            prop_assert!(holds(found, current), "{read} mA: {found:?} without {current}");
            let may = current_shown(way, just, &meter).unwrap();
            prop_assert!(holds(may, read), "{may:?} without {read} mA");
        }
    }

    /// A plain resistance, a draw of its own and a regulated supply side by side behind a meter in line: by Ohm's
    /// law, solved by halving, what flows with the meter there and what flows without it hold each other.
    #[test]
    fn a_burden_is_allowed_for_whatever_draws(
        (plain, fixed, watts) in (0.0..1.0_f64, 0.0..1.0_f64, 0.0..1.0_f64),
        current in 0.1..400.0_f64,
        ohms in 0.0..5.0_f64,
        nominal in prop::sample::select(vec![12.0, 24.0]),
        charged in 0.951..1.07_f64,
    ) {
        let supply = nominal * charged;
        let all = (plain + fixed + watts).max(1e-3);
        let at = |volts: f64| {
            let share = volts / supply;
            current * (plain * share + fixed + watts / share) / all
        };
        // More drops across the meter the more flows; the stable point is the first one from nothing.
        let (mut least, mut most) = (0.0, 2.0 * current);
        for _ in 0..200 {
            let middle = f64::midpoint(least, most);
            let left = supply - middle * ohms / 1000.0;
            if at(left) > middle { least = middle } else { most = middle }
        }
        let range = Range {
            burden: Some(Milliohms::of(1000.0 * ohms)),
            ..range(0.1, 0.0, 0.0)
        };
        let meter = Meter { millivolts: None, amps: Some(range), milliamps: Some(range) };
        let meter = Instruments { meter: Some(meter), ..Instruments::assumed_meter() };
        let nominal = Millivolts::of(1000.0 * nominal);
        let exactly = |current| Interval::exactly(Milliamps::of(current));
        let flows = at(supply);
        for jack in [Jack::A, Jack::MilliA] {
            let in_line = InLine::of(Way::Series(jack), nominal, &meter);
            let without = in_line.without(exactly(least));
            prop_assert!(holds(without, flows), "{least} mA in line: {without:?} without {flows}");
            let with = in_line.with(exactly(flows));
            prop_assert!(holds(with, least), "{flows} mA: {with:?} without {least} in line");
        }
        let clamp = InLine::of(Way::Clamp { turns: 1 }, nominal, &meter);
        prop_assert_eq!(clamp.without(exactly(flows)), exactly(flows));
    }

    /// A clamp whose zero has moved since it was zeroed, round a wire that is off centre: the truth is inside,
    /// and inside is no more than all of that leaves.
    #[test]
    fn a_drifting_clamp_holds_the_true_current(
        own in any_range::<Milliamps>(),
        more in (0.0..20.0_f64, 0.0..60.0_f64, 0.0..2.0_f64),
        in_place in any::<bool>(),
        turns in 1..12_u32,
        current in any_current(),
        errors in (-1.0..1.0_f64, -1.0..1.0_f64),
    ) {
        let (floor, drift, off_centre) = more;
        let counts = if in_place && floor > own.step.value() { 0.0 } else { own.counts };
        let own = Range { counts, ..own };
        let clamp = Clamp {
            range: own,
            floor: Milliamps::of(floor),
            drift: Milliamps::of(drift),
            off_centre,
            ..Clamp::typical()
        };
        let at_hand = Instruments { clamp: Some(clamp), ..Instruments::assumed_meter() };
        let (step, n) = (own.step.value(), f64::from(turns));
        let there = (current * n + errors.1 * drift).max(0.0);
        // A floor as so many counts more, whole steps of it.
        let whole = counts + (floor / step).floor();
        let read = display(there, own.percent + off_centre, whole, step, errors.0);
        let way = Way::Clamp { turns };
        let found = current_by(way, shown(read, Unit::Milliamps, step), &at_hand).unwrap();
        prop_assert!(holds(found, current), "{read} mA: {found:?} without {current}");
        let counted = if counts < 0.5 && floor >= step / 2.0 { 0.0 } else { counts.max(0.5) * step };
        let margin = (own.percent + off_centre) / 100.0 * read + counted + floor + drift;
        let exact = (read + margin - (read - margin).max(0.0)) / n;
        prop_assert!(found.width() <= exact * (1.0 + 1e-9) + 1e-9, "{found:?}, exactly {exact}");
        let may = current_shown(way, Interval::exactly(Milliamps::of(current)), &at_hand).unwrap();
        prop_assert!(holds(may, read), "{may:?} without {read} mA");
    }

    #[test]
    fn what_may_be_shown_grows_with_the_interval(
        (across, _) in any_resistance(),
        millivolts in any_range(),
        ends in (any_current(), any_current()),
        share in 0.0..1.0_f64,
    ) {
        let meter = with_millivolts(millivolts);
        let wide = Interval::between(ends.0, ends.1);
        let inside = Milliamps::of(wide.low() + share * wide.width());
        let all = drop_shown(&across, wide, &meter).unwrap();
        let one = drop_shown(&across, Interval::exactly(inside), &meter).unwrap();
        prop_assert!(all.low() <= one.low() && one.high() <= all.high(), "{one:?} outside {all:?}");
        // Every shown value is a whole number of steps.
        for end in [one.low(), one.high()] {
            let steps = end / millivolts.step.value();
            prop_assert!((steps - steps.round()).abs() < 1e-5, "{end}");
        }
        let open = drop_shown(&across, Interval::not_negative(), &meter).unwrap();
        prop_assert_eq!((open.low(), open.high()), (0.0, f64::INFINITY));
    }

    #[test]
    fn a_finer_instrument_is_never_wider(
        (across, _) in any_resistance(),
        coarse in any_range::<Millivolts>(),
        finer in (prop::sample::select(vec![1.0, 0.1, 0.01]), 0.0..=1.0_f64, 0.0..=1.0_f64),
        read in 0.0..500.0_f64,
        digits_lost in any::<bool>(),
    ) {
        let fine = range(coarse.step.value() * finer.0, coarse.percent * finer.1, coarse.counts * finer.2);
        // Ten times coarser than the coarse one shows; with less than a count to spare that is a
        // fault of its own.
        let lost = digits_lost && fine.counts >= 1.0;
        let typed = if lost { coarse.step.value() * 10.0 } else { 0.0 };
        let reading = shown(read, Unit::Millivolts, typed);
        let wide = current_by_drop(&across, reading, &with_millivolts(coarse)).unwrap();
        let narrow = current_by_drop(&across, reading, &with_millivolts(fine)).unwrap();
        let tiny = 1e-9 * (1.0 + wide.high());
        prop_assert!(
            wide.low() <= narrow.low() + tiny && narrow.high() <= wide.high() + tiny,
            "{narrow:?} outside {wide:?}"
        );
        let hidden = |range| hides(&across, &with_millivolts(range)).unwrap();
        prop_assert!(hidden(fine) <= hidden(coarse));
    }

    /// More turns never tell less.
    #[test]
    fn turns_narrow(current in any_current(), turns in 1..20_u32) {
        let clamp = with_clamp(range(1.0, 2.0, 5.0), None);
        let width = |turns: u32| {
            let read = shown(current * f64::from(turns), Unit::Milliamps, 0.0);
            current_by(Way::Clamp { turns }, read, &clamp).unwrap().width()
        };
        prop_assert!(width(turns + 1) <= width(turns) + 1e-9);
    }
}
