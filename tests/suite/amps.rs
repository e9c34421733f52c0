//! What is typed behind `amps`: read, worked, refused; each answer the one a case would give.

use halfsplit::amps::{self, Across, Answer, Dropped, Question, Step};
use halfsplit::instruments::Instruments;
use halfsplit::measurement::{self, Jack, Reading, Resistance, Unit, Way};
use halfsplit::quantity::{Celsius, Metres, Milliamps, Milliohms, Millivolts, SquareMillimetres};
use halfsplit::reference::Strands;
use halfsplit::render;
use halfsplit::simulation::shown as simulated;
use halfsplit::vehicle::{FuseStyle, Metal, Wire, WireSize};
use proptest::prelude::*;
use std::fmt::Write as _;

fn shown(value: f64, unit: Unit, step: f64) -> Reading {
    Reading {
        low: value,
        high: value,
        unit,
        step,
        over: false,
    }
}

fn area(size: f64, length: f64) -> Across {
    made_up(size, length, Strands::Flexible)
}

fn made_up(size: f64, length: f64, strands: Strands) -> Across {
    let wire = Wire {
        size: WireSize::Area(SquareMillimetres::of(size)),
        length: Some(Metres::of(length)),
        metal: Metal::Copper,
    };
    Across::Wire(wire, strands)
}

fn gauge(size: f64, length: f64, metal: Metal) -> Across {
    let wire = Wire {
        size: WireSize::Gauge(size),
        length: Some(Metres::of(length)),
        metal,
    };
    Across::Wire(wire, Strands::Flexible)
}

#[test]
fn each_form_is_read() {
    let ten = Across::Fuse(FuseStyle::Regular, Milliamps::of(10_000.0));
    let one = shown(1.0, Unit::Millivolts, 0.1);
    let drop = |across| Question::Drop(one.into(), across);
    let both = |across| {
        let shown = shown(0.42, Unit::Millivolts, 0.01);
        let turned = Some(Reading {
            low: -0.38,
            high: -0.38,
            ..shown
        });
        Question::Drop(Dropped { shown, turned }, across)
    };
    let scale = (Millivolts::of(1.0), Milliamps::of(10.0));
    let three = shown(3050.0, Unit::Milliamps, 10.0);
    let forty_two = shown(42.0, Unit::Millivolts, 1.0);
    let six_hundred = shown(610.0, Unit::Milliamps, 10.0);
    let table = [
        ("drop 1.0mV across Regular 10A", drop(ten)),
        ("DROP 1,0 mv ACROSS regular 10 a", drop(ten)),
        ("drop 1.0mV across wire 0.5mm2 1m", drop(area(0.5, 1.0))),
        (
            "drop 1.0mV across wire 0.5 mm² 200 mm",
            drop(area(0.5, 0.2)),
        ),
        (
            "drop 1.0mV across wire 18awg 0.5m",
            drop(gauge(18.0, 0.5, Metal::Copper)),
        ),
        (
            "drop 1.0mV across wire 2/0awg 1m",
            drop(gauge(-1.0, 1.0, Metal::Copper)),
        ),
        (
            "drop 1.0mV across wire awg 0000 1 m",
            drop(gauge(-3.0, 1.0, Metal::Copper)),
        ),
        (
            "drop 1.0mV across wire 1.5mm2 2m Solid",
            drop(made_up(1.5, 2.0, Strands::Solid)),
        ),
        (
            "drop 1.0mV across wire stranded 1.5 mm2 2 m copper",
            drop(made_up(1.5, 2.0, Strands::Stranded)),
        ),
        (
            "drop 1.0mV across wire awg 18 0.5 m aluminium",
            drop(gauge(18.0, 0.5, Metal::Aluminium)),
        ),
        (
            "drop 1.0mV across 4.8mOhm",
            drop(Across::Resistance(Milliohms::of(4.8))),
        ),
        (
            "drop 1.0mV across 0.0048 Ω",
            drop(Across::Resistance(Milliohms::of(4.8))),
        ),
        ("drop 0.42mV reversed -0.38mV across Regular 10A", both(ten)),
        (
            "drop 0.42 mV across Regular 10A reversed −0.38 mV",
            both(ten),
        ),
        ("clamp 3.05A", Question::Clamp(three, 1, None)),
        ("clamp 3.05A turns 5", Question::Clamp(three, 5, None)),
        (
            "clamp 42mV scale 1mV/10mA turns 5",
            Question::Clamp(forty_two, 5, Some(scale)),
        ),
        (
            "clamp 42mV turns 5 scale 10 mA / 1 mV",
            Question::Clamp(forty_two, 5, Some(scale)),
        ),
        ("series 0.61A", Question::Series(six_hundred, Jack::A)),
        (
            "series 0.61A jack mA",
            Question::Series(six_hundred, Jack::MilliA),
        ),
        (
            "40mA across Regular 10A",
            Question::Expect(shown(40.0, Unit::Milliamps, 1.0), ten),
        ),
    ];
    for (text, expected) in table {
        assert_eq!(amps::parse(text), Ok(expected), "{text}");
    }
}

/// Each is refused with a line that is then taken.
#[test]
fn each_refusal_shows_a_line_that_works() {
    let table = [
        "",
        "foo",
        "across",
        "drop",
        "drop 1.0",
        "drop 1.0mV",
        "drop 1.0 across Regular 10A",
        "drop across Regular 10A",
        "drop 1mA across Regular 10A",
        "drop 1.0mV across",
        "drop 1.0 mV Maxi 30A",
        "drop 1.0mV on Regular 10A",
        "drop 1.0mV across 10A",
        "drop 1.0mV across wire 5/0awg 1m",
        "drop 1.0mV across Regulra 10",
        "drop 1.0mV across Blade 10A",
        "drop 1.0mV across Regular",
        "drop 1.0mV across Regular 10",
        "drop 1.0mV across Regular 10A please",
        "drop 1.0mV across Regular 0A",
        "drop 1.0mV across wire",
        "drop 1.0mV across wire 0.5mm2",
        "drop 1.0mV across wire 1.5mm2 solid",
        "drop 1.0mV across wire 18awg 2 aluminium",
        "drop 1.0mV across wire 2.5mm2 1m braided",
        "drop 1.0mV across wire 1m 0.5mm2",
        "drop 1.0mV across wire 0.5mm2 1m please",
        "drop 1.0mV across wire 1,200mm2 1m",
        "drop 1.0mV across 4.8",
        "drop 1.0mV across 4.8mA",
        "drop 1.0mV across 0mOhm",
        "drop 1,200mV across Regular 10A",
        "drop 0.42mV reversed across Regular 10A",
        "drop 0.42mV reversed -0.38 across Regular 10A",
        "drop 0.42mV reversed 38mA across Regular 10A",
        "drop 0.42 reversed -0.38mV across Regular 10A",
        "drop 0.42mV reversed -0.38mV reversed 0.4mV across Regular 10A",
        "clamp",
        "clamp 3.05",
        "clamp 3.05A turns",
        "clamp 3.05A turns 2.5",
        "clamp 3.05A turns 0 scale 1mV/10mA",
        "clamp 420mA scale 1mV/10mA",
        "clamp 42mV scale 10",
        "clamp 42mV scale",
        "series 1V",
        "resistance 19.2mV",
        "resistance 19.2 with 2.50A across Regular 10A",
        "resistance 19.2mV reversed 19.2A with 2.50A across Regular 10A",
        "resistance 2.50A with 19.2mV",
        "resistance with 2.50A across Regulra 10A",
        "resistance 19.2mV with 2.50A across wire 1mm2 1m",
        "resistance 19.2mV with 2.50A jack V",
        "resistance 19.2mV with 2.50A by clamp turns 0",
        "series 0.61A jack V",
        "40mA",
        "40mV across Regular 10A",
        "-40mA across Regular 10A",
        ">40mA across Regular 10A",
    ];
    let mut gallery = String::new();
    for typed in table {
        let refused = amps::parse(typed).unwrap_err();
        assert!(amps::parse(&refused.works).is_ok(), "{typed}: {refused:?}");
        let _ = writeln!(
            gallery,
            "amps {typed}\n{}\n",
            render::amps_refused(&refused)
        );
    }
    insta::assert_snapshot!(gallery);
}

/// What is at hand decides whether there is an answer.
#[test]
fn each_lack_is_said() {
    let assumed = Instruments::assumed_meter();
    let none = Instruments {
        meter: None,
        clamp: None,
        turns: None,
        handling: halfsplit::instruments::Handling::USUAL,
        assumed: false,
    };
    let mut gallery = String::new();
    for (typed, instruments) in [
        ("drop 1.0mV across Glass 10A", &assumed),
        ("drop 1.0mV across Maxi 10A", &assumed),
        ("clamp 42mV turns 5", &assumed),
        ("series 0.61A jack mA", &assumed),
        ("series 11A", &assumed),
        ("drop 1.0mV across Regular 10A", &none),
        ("40mA across Regular 10A", &none),
        ("clamp 3.05A", &none),
        ("series 0.61A", &none),
        ("series 0.21A jack mA", &none),
        ("resistance 0.1mV with 0.10A", &assumed),
        ("resistance 39.8mV with 5.00A across Regular 10A", &assumed),
        ("resistance 19.2mV with 2.50A", &none),
    ] {
        let question = amps::parse(typed).unwrap();
        let why = amps::work(question, instruments, None).unwrap_err();
        let _ = writeln!(gallery, "amps {typed}\n{}\n", render::amps_unanswered(&why));
    }
    insta::assert_snapshot!(gallery);
}

fn work(typed: &str, celsius: Option<f64>) -> amps::Worked {
    let question = amps::parse(typed).unwrap();
    let meter = Instruments::assumed_meter();
    amps::work(question, &meter, celsius.map(Celsius::of)).unwrap()
}

fn current(worked: &amps::Worked) -> (f64, Option<f64>, f64) {
    match worked.answer {
        Answer::Current(of) => (
            of.range.low(),
            of.best.map(Milliamps::value),
            of.range.high(),
        ),
        _ => panic!("{worked:?}"),
    }
}

#[test]
fn a_single_reading_is_worked_as_in_a_case() {
    let meter = Instruments::assumed_meter();
    for typed in [
        "drop 1.9..2.4mV across Mini 15A",
        "drop 0.42mV reversed -0.38mV across Mini 15A",
    ] {
        let Ok(Question::Drop(dropped, across)) = amps::parse(typed) else {
            panic!()
        };
        let resistance = Resistance::from(across.figure().unwrap());
        let reading = match dropped.turned {
            Some(turned) => dropped.shown.with_probes_turned(turned, &meter),
            None => dropped.shown,
        };
        let in_a_case = measurement::current_by_drop(&resistance, reading, &meter).unwrap();
        let alone = current(&work(typed, None));
        assert_eq!((alone.0, alone.2), (in_a_case.low(), in_a_case.high()));
    }

    let reading = shown(640.0, Unit::Milliamps, 10.0);
    let in_a_case = measurement::current_by(Way::Series(Jack::A), reading, &meter).unwrap();
    let alone = current(&work("series 0.64A", None));
    assert_eq!((alone.0, alone.2), (in_a_case.low(), in_a_case.high()));

    let Answer::Voltage(expected) = work("40mA across Mini 15A", None).answer else {
        panic!()
    };
    let asked = halfsplit::interval::Interval::exactly(Milliamps::of(40.0));
    let Ok(Question::Expect(_, across)) = amps::parse("40mA across Mini 15A") else {
        panic!()
    };
    let resistance = Resistance::from(across.figure().unwrap());
    let in_a_case = measurement::drop_shown(&resistance, asked, &meter).unwrap();
    assert_eq!(expected.range, in_a_case);
}

/// Clamp adapters and turns: common practice (5 turns read five times the current; an adapter of 1 mV
/// per 10 mA).
#[test]
fn known_clamp_readings() {
    for (typed, expected) in [
        ("clamp 0.5A turns 5", 100.0),
        ("clamp 42mV scale 1mV/10mA", 420.0),
        ("clamp 0.36V scale 1mV/10mA turns 5", 720.0),
        ("clamp 4.2mV scale 1mV/100mA", 420.0),
    ] {
        let (low, best, high) = current(&work(typed, None));
        assert!((best.unwrap() - expected).abs() < 1e-9, "{typed}: {best:?}");
        assert!(low < expected && expected < high, "{typed}");
    }
}

/// Zinc at −20 °C × 0.85, 80 °C × 1.22 (derived from +0.0037 /K, seen, preproom.org).
#[test]
fn a_cold_fuse_carries_more_for_the_same_drop() {
    let best = |celsius| {
        current(&work("drop 1.0mV across Regular 10A", celsius))
            .1
            .unwrap()
    };
    assert!((best(None) - best(Some(20.0))).abs() < 1e-9);
    for (celsius, factor) in [(-20.0, 0.85), (0.0, 0.93), (80.0, 1.22)] {
        let ratio = best(None) / best(Some(celsius));
        assert!((ratio - factor).abs() < 0.005, "{celsius}: {ratio}");
    }
    let own = work("drop 1.0mV across 7.7mOhm", Some(80.0));
    let unknown =
        |step: &Step| matches!(step, Step::Temperature(_, figure) if figure.per_kelvin.is_none());
    assert!(own.steps.iter().any(unknown));
}

/// A fuse that carries much of its rating has 1.34 to 1.67 times its cold resistance at all of it (derived from
/// quoted drops), by the square of the current: the current that is told for a warm one is that.
#[test]
fn a_warm_fuse_carries_less() {
    let mut told = 0;
    for (amps, cold, top) in [(5.0, 17.85, 1.15), (10.0, 7.70, 1.15), (7.5, 10.91, 1.3)] {
        for share in [0.3, 0.5, 0.7] {
            let current: f64 = share * amps * 1000.0;
            let there = cold * top * (1.0 + 0.67 * share * share);
            // Just what is dropped, and no more error than the meter's.
            let millivolts = current * there / 1000.0;
            let worked = work(
                &format!("drop {millivolts:.1}mV across Regular {amps}A"),
                None,
            );
            let found = worked.steps.iter().find_map(|step| match step {
                Step::WarmFuse { least, .. } => Some(least.value()),
                _ => None,
            });
            let Some(least) = found else { continue };
            assert!(
                least <= current * 1.001,
                "{amps} A at {share}: {least}, {current}"
            );
            assert!(
                least >= current * 0.94,
                "{amps} A at {share}: {least}, {current}"
            );
            told += 1;
        }
    }
    assert!(told >= 6, "{told}");
    assert!(
        !work("drop 1.0mV across Regular 10A", None)
            .steps
            .iter()
            .any(|step| matches!(step, Step::WarmFuse { .. }))
    );
}

/// A clamp with a floor in the place of counts, a zero that moves, and a wire off centre: each is said, and
/// what it comes to.
#[test]
fn a_clamp_that_drifts() {
    let text = include_str!("../../sample-vehicles/instruments/clamp-that-drifts.ron");
    let at_hand = halfsplit::instruments::read(text).0.unwrap();
    let worked = amps::work(amps::parse("clamp 200mA").unwrap(), &at_hand, None).unwrap();
    // 1.5 % and 1.5 % of 200 mA, 5 mA and 15 mA: ± 26 mA (derived).
    let (low, best, high) = current(&worked);
    assert!(
        (low - 174.0).abs() < 1e-9 && (high - 226.0).abs() < 1e-9,
        "{low} {high}"
    );
    assert_eq!(best, Some(200.0));
    let words = render::amps(&worked, 80);
    assert!(
        words.contains("a floor of 5 mA and up to 15 mA that its zero has moved"),
        "{words}"
    );
    assert!(words.contains("±(3 % + 20 mA)"), "{words}");
}

#[test]
fn the_working_in_words() {
    let mut gallery = String::new();
    for (typed, celsius) in [
        ("drop 1.0mV across Regular 10A", None),
        ("drop 0.0mV across Maxi 60A", None),
        ("drop -0.3mV across Regular 10A", Some(-10.0)),
        ("drop 0.42mV reversed -0.38mV across Regular 10A", None),
        ("drop 0.4mV reversed 0.3mV across Regular 10A", None),
        ("drop 12.4V across Regular 10A", None),
        ("drop 30.0mV across Regular 5A", None),
        ("drop OL across wire 18awg 0.5m aluminium", None),
        ("drop 1.9mV across wire 1mm2 2m solid", None),
        ("drop 1.9..2.4mV across 4.8mOhm", Some(40.0)),
        ("clamp 42mV scale 1mV/10mA turns 5", None),
        ("series 0.61A", None),
        ("40mA across Regular 10A", None),
        ("40..60mA across Regular 10A", None),
        ("resistance", None),
        ("resistance 19.8mV with 2.50A across Regular 10A", None),
        ("resistance 7.8mV with 1.00A across Regular 10A", None),
        ("resistance 29.8mV with 2.50A across Regular 10A", Some(5.0)),
        ("resistance 7.8mV with 1.00A", None),
    ] {
        let worked = work(typed, celsius);
        let words = render::amps(&worked, 80);
        let widest = words.lines().map(|line| line.chars().count()).max();
        assert!(widest <= Some(80), "{words}");
        let _ = writeln!(gallery, "amps {typed}\n{words}");
    }
    insta::assert_snapshot!(gallery);
}

/// Each number beside its mark and source; nothing is too wide; at another temperature they are others.
#[test]
fn the_tables_in_words() {
    let list = halfsplit::reference::listed();
    let text = render::reference(&list, None, 80);
    let widest = text.lines().map(|line| line.chars().count()).max();
    assert!(widest <= Some(80), "{text}");
    insta::assert_snapshot!(text);
    // A narrow window: the numbers one after the other, and none too wide.
    let narrow = render::reference(&list, None, 40);
    let widest = narrow.lines().map(|line| line.chars().count()).max();
    assert!(widest <= Some(40), "{narrow}");
    assert!(
        narrow.contains("Regular 10 A: 7.7, 6.545 to 8.855"),
        "{narrow}"
    );
    let warm = render::reference(&list, Some(Celsius::of(60.0)), 80);
    assert!(warm.contains("at 60 °C") && !warm.contains("at 20 °C, mΩ"));
    // Zinc at 60 °C × 1.15 (derived): 7.7 mΩ are 8.84.
    assert!(warm.contains("Regular          10 A     8.84"), "{warm}");
    let data = render::reference_json(&list, None);
    let rows = ["fuses", "links", "wires"].map(|kind| data[kind].as_array().unwrap().len());
    assert_eq!(rows.iter().sum::<usize>(), list.len());
}

/// What is printed is rounded outwards: no thousandth of what is possible is lost by it.
#[test]
fn as_data_it_is_never_narrower() {
    let meter = Instruments::assumed_meter();
    for tenths in 0..400_u32 {
        let shown = f64::from(tenths) / 10.0;
        for typed in [
            format!("drop {shown:.1}mV across Regular 15A"),
            format!("drop -{shown:.1}mV across wire 18awg 0.7m"),
            format!("clamp {tenths}mA turns 3"),
            format!("series {shown:.1}mA jack mA"),
        ] {
            let worked = amps::work(amps::parse(&typed).unwrap(), &meter, None).unwrap();
            let (low, _, high) = current(&worked);
            let data = render::amps_json(&worked);
            let printed = |end: &str| data["ma"][end].as_f64().unwrap();
            assert!(printed("low") <= low + 1e-8, "{typed}: {low} as {data}");
            assert!(high <= printed("high") + 1e-8, "{typed}: {high} as {data}");
            assert!(
                low - printed("low") < 0.001 && printed("high") - high < 0.001,
                "{typed}"
            );
        }
    }
}

#[test]
fn as_data() {
    let drop = render::amps_json(&work("drop 1.0mV across Regular 10A", None));
    assert_eq!(drop["ma"]["best"], 129.87); // 1.0 mV / 7.70 mΩ
    assert!(drop["working"].as_array().unwrap().len() > 3);
    let over = render::amps_json(&work("drop >400mV across Regular 10A", None));
    assert!(over["ma"]["best"].is_null() && over["ma"]["high"].is_null());
    let expected = render::amps_json(&work("40mA across Regular 10A", None));
    assert_eq!(expected["mv"]["best"], 0.308);
    assert!(expected["mv"]["low"].as_f64() <= Some(0.3));
    assert!(expected["mv"]["high"].as_f64() >= Some(0.3));
}

/// A spare fuse of any resistance, warm as it may be, on meters that err anywhere within their accuracy:
/// the cold resistance is inside, and inside the band of what is to be written.
#[test]
fn a_spare_fuse_is_measured() {
    let meter = Instruments::assumed_meter();
    let (mut read, mut written) = (0, 0);
    for (milliohms, rating) in [
        (7.7, 10.0),
        (17.0, 5.0),
        (3.4, 20.0),
        (1.9, 30.0),
        (0.7, 80.0),
    ] {
        for share in [0.05, 0.1, 0.2, 0.25, 0.3, 0.38] {
            for warm in [0.34, 0.5, 0.67] {
                for place in [-1.0, -0.3, 0.0, 0.6, 1.0] {
                    let current = share * rating * 1000.0;
                    let there = milliohms * (1.0 + warm * share * share);
                    let millivolts = simulated(current * there / 1000.0, 0.1, 0.5, 2.0, place);
                    let milliamps = simulated(current, 10.0, 1.0, 3.0, -place);
                    let (ten, amps) = (millivolts, milliamps / 1000.0);
                    let typed =
                        format!("resistance {ten:.1}mV with {amps:.2}A across Regular {rating}A");
                    let Ok(question) = amps::parse(&typed) else {
                        panic!("{typed}")
                    };
                    // More than the jack takes, warmer than is taken, or hardly anything on the display.
                    let Ok(worked) = amps::work(question, &meter, None) else {
                        continue;
                    };
                    let Answer::Resistance(found) = worked.answer else {
                        panic!("{worked:?}")
                    };
                    assert!(
                        found.range.holds(Milliohms::of(milliohms)),
                        "{typed}: {found:?}"
                    );
                    read += 1;
                    if let Some(Step::Use(amps::Use::Write(number))) = worked.steps.last() {
                        let band = halfsplit::reference::own(*number).band;
                        assert!(band.low() <= found.range.low(), "{typed}: {number:?}");
                        assert!(found.range.high() <= band.high(), "{typed}: {number:?}");
                        written += 1;
                    }
                }
            }
        }
    }
    assert!(
        read > 300 && written > 50,
        "{read} read, {written} good enough"
    );
}

/// What is to be written is read by the vehicle file, and used with its band.
#[test]
fn what_was_measured_goes_into_the_vehicle_file() {
    let worked = work("resistance 19.8mV with 2.50A across Regular 10A", None);
    let data = render::amps_json(&worked);
    let line = data["write"].as_str().unwrap();
    let text = format!(
        "Vehicle(format: 1, name: \"one (invented)\", battery: Battery(id: \"battery\", feeds: [Fuse(id: \"F1\", rating: A(10), style: Glass, {line})]))"
    );
    let (feeds, problems) = halfsplit::feeds::load(&text);
    let feeds = feeds.unwrap_or_else(|| panic!("{problems:?}"));
    let fuse = halfsplit::feeds::PartId(1);
    let across = measurement::resistance(&feeds, fuse).unwrap();
    assert!(line.contains(&across.nominal.value().to_string()), "{line}");
    let Answer::Resistance(found) = worked.answer else {
        panic!("{worked:?}")
    };
    assert!(across.band.low() <= found.range.low() && found.range.high() <= across.band.high());
    // Too coarse for the file: nothing to write, and what would do.
    let coarse = work("resistance 7.8mV with 1.00A across Regular 10A", None);
    assert!(render::amps_json(&coarse)["write"].is_null());
    let Some(Step::Use(amps::Use::Coarse(_, Some(does)))) = coarse.steps.last() else {
        panic!("{coarse:?}")
    };
    let amps = does.value() / 1000.0;
    let typed = format!(
        "resistance {:.1}mV with {amps:.2}A across Regular 10A",
        7.8 * amps
    );
    assert!(
        render::amps_json(&work(&typed, None))["write"].is_string(),
        "{typed}"
    );
}

proptest! {
    /// Whatever is typed, the line shown instead is taken.
    #[test]
    fn a_refusal_always_helps(words in prop::collection::vec(
        prop_oneof![
            Just("drop".to_owned()), Just("clamp".to_owned()), Just("series".to_owned()),
            Just("across".to_owned()), Just("wire".to_owned()), Just("turns".to_owned()),
            Just("scale".to_owned()), Just("jack".to_owned()), Just("Regular".to_owned()),
            Just("10A".to_owned()), Just("1.0mV".to_owned()), Just("1mV/10mA".to_owned()),
            Just("resistance".to_owned()), Just("with".to_owned()), Just("by".to_owned()),
            Just("reversed".to_owned()), Just("-0.9mV".to_owned()),
            Just("0.5mm2".to_owned()), Just("awg".to_owned()), Just("1m".to_owned()),
            "[0-9]{1,3}[.,]?[0-9]{0,3}(mA|A|mV|V|mOhm|m)?", "\\PC{0,6}",
        ], 0..8)) {
        let typed = words.join(" ");
        if let Err(refused) = amps::parse(&typed) {
            prop_assert!(amps::parse(&refused.works).is_ok(), "{typed:?}: {refused:?}");
        }
    }
}
