//! A vehicle's parts as a table: read from what a spreadsheet gives, and given back without a loss.

use crate::generated::{Recipe, vehicle as generated};
use crate::layout::placeless;
use crate::problems::gallery;
use halfsplit::feeds;
use halfsplit::feeds::Feeds;
use halfsplit::problem::Problem;
use halfsplit::quantity::{
    AmpHours, Metres, Milliamps, Milliohms, Millivolts, Minutes, SquareMillimetres,
};
use halfsplit::table::{self, How};
use halfsplit::vehicle::{
    self, Comments, FuseStyle, LoadKind, Metal, Part, PartKind, Rest, TestKind, Vehicle, Wire,
    WireSize,
};
use proptest::prelude::*;
use std::fmt::Write as _;

fn blank() -> Vehicle {
    Vehicle::named("from a table".to_owned())
}

fn read(table: &str, start: &Vehicle) -> (Option<Feeds>, Vec<Problem>) {
    let read = table::read(table, start, How::default());
    (read.feeds, read.problems)
}

fn good(table: &str) -> Vehicle {
    let (feeds, problems) = read(table, &blank());
    assert!(feeds.is_some(), "{problems:#?}\n{table}");
    assert!(problems.iter().all(|p| !p.is_error()), "{problems:#?}");
    feeds.unwrap().vehicle().clone()
}

#[test]
fn each_problem_is_shown_at_its_cell() {
    insta::glob!("../table-problems", "*.csv", |path| {
        let shown = gallery(path, |text| {
            let (feeds, problems) = read(text, &blank());
            (feeds.is_some(), problems)
        });
        insta::assert_snapshot!(shown);
    });
}

/// The same seven rows as different people type them.
#[test]
fn however_it_is_typed_it_means_the_same() {
    let plain = "\
id,kind,fed by,rating,style,place,plug,pin,asleep,load kind
battery,Battery,,,,bonnet,,,,
F1,Fuse,battery,20 A,LowMini,bonnet box,,,,
S1,Splice,F1,,,behind dash,,,,
boot lamp,Load,S1,,,boot,C1,7,,Lamp
radio,Load,S1,,,behind dash,C2,1,2.5 mA,Audio
F2,Fuse,battery,7.5 A,Mini,bonnet box,,,,
clock,Load,F2,,,,,,0.5 mA,Other
";
    let semicolons = "\u{feff}Part;Rating;Fed from;Kind of part;Fuse style;Location;Connector;Cavity;Asleep draw;Load type\r
clock;;F2;load;;;;;0,5;other\r
F2;7,5;battery;FUSE;mini;bonnet box;;;;\r
battery;;;battery;;bonnet;;;;\r
F1;20;battery;fuse;low mini;bonnet box;;;;\r
S1;;F1;splice;;behind dash;;;;\r
;;;;;;;;;\r
boot lamp;;S1;Lamp;;boot;C1;7;;\r
radio;;S1;Audio;;behind dash;C2;1;2,5 mA;\r
";
    let tabs = "id\tfed_by\trating (mA)\tstyle\tat\tplug\tpin\tasleep / A\tload kind\tkind\tprice
battery\t\t\t\tbonnet\t\t\t\t\tbattery
F1\tbattery\t20000\tLow-Mini\t\"bonnet box\"\t\t\t\t\t
S1\tF1\t\t\tbehind dash
boot lamp\tS1\t\t\tboot\tC1\t7\t\tLamp\t\t12
radio\tS1\t\t\tbehind dash\tC2\t1\t0.0025\tAudio
F2\tbattery\t7500\tMini\tbonnet box
clock\tF2\t\t\t\t\t\t0.0005\tOther
";
    let expected = placeless(good(plain));
    let by_id = |vehicle: &Vehicle| {
        let up = |part: &Part| {
            part.up
                .map(|up| vehicle.parts[up as usize].id.value.clone())
        };
        let rows = vehicle.parts.iter().map(|part| {
            let alone = Part {
                up: None,
                ..part.clone()
            };
            (part.id.value.clone(), up(part), format!("{alone:?}"))
        });
        let mut rows: Vec<_> = rows.collect();
        rows.sort();
        rows
    };
    for table in [semicolons, tabs] {
        assert_eq!(by_id(&placeless(good(table))), by_id(&expected), "{table}");
    }
    assert_eq!(table::write(&expected), table::write(&good(plain)));
    insta::assert_snapshot!(vehicle::write(&expected, &Comments::default()));
}

/// What a table carries comes back: with the rest from the vehicle itself, all of it.
fn there_and_back(vehicle: &Vehicle) {
    let table = table::write(vehicle);
    let (feeds, problems) = read(&table, vehicle);
    let Some(feeds) = feeds else {
        panic!("{problems:#?}\n{table}")
    };
    assert_eq!(
        placeless(feeds.vehicle().clone()),
        placeless(vehicle.clone()),
        "{table}"
    );
    assert_eq!(table::write(feeds.vehicle()), table);
}

#[test]
fn each_sample_vehicle_goes_there_and_back() {
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        let text = std::fs::read_to_string(file).unwrap();
        there_and_back(feeds::load(&text).0.unwrap().vehicle());
    });
    for seed in 0..6 {
        let recipe = Recipe {
            loads: 200,
            modules: true,
        };
        let text = generated(seed, recipe);
        there_and_back(feeds::load(&text).0.unwrap().vehicle());
    }
}

#[test]
fn a_table_is_looked_at() {
    let text = include_str!("../../sample-vehicles/quarto-van.ron");
    insta::assert_snapshot!(table::write(feeds::load(text).0.unwrap().vehicle()));
}

/// Any text a person may type, without white space at its ends.
fn text() -> impl Strategy<Value = String> {
    let odd = prop_oneof![
        4 => "[a-zA-Z0-9 ,;\"'\\\\/\t\n=+-]{1,12}",
        1 => "\\PC{1,6}",
        1 => any::<String>(),
        1 => "'{0,2}[-–—]{1,3}",
    ];
    odd.prop_map(|text| text.trim().to_owned())
        .prop_filter("a text has something in it", |text| !text.is_empty())
}

fn of<T: std::fmt::Debug + Clone + 'static>(
    table: &'static [(&'static str, T)],
) -> impl Strategy<Value = T> {
    proptest::sample::select(table).prop_map(|(_, value)| value)
}

fn maybe<T: std::fmt::Debug>(value: impl Strategy<Value = T>) -> impl Strategy<Value = Option<T>> {
    proptest::option::weighted(0.3, value)
}

/// A part of any kind with any fields its kind may have; its id and its feed come later.
fn part() -> impl Strategy<Value = Part> {
    let texts = proptest::collection::vec(maybe(text()), 8);
    let currents = proptest::collection::vec(maybe(0.0..50_000.0_f64), 5);
    let numbers = proptest::collection::vec(maybe(1.0..1900.0_f64), 5);
    let words = (
        maybe(of(FuseStyle::TABLE)),
        maybe(of(LoadKind::TABLE)),
        maybe(of(Rest::TABLE)),
        proptest::collection::vec(of(TestKind::TABLE), 0..3),
        any::<bool>(),
        of(Metal::TABLE),
    );
    let kind = of(PartKind::TABLE);
    (kind, texts, currents, numbers, words).prop_map(|(kind, texts, currents, numbers, words)| {
        let id = halfsplit::problem::Located {
            value: String::new(),
            at: 0..0,
        };
        let mut part = Part::new(kind, id.clone(), None);
        let located = |text: &Option<String>| {
            text.as_ref().map(|text| halfsplit::problem::Located {
                value: text.clone(),
                at: 0..0,
            })
        };
        let (style, load, rest, offers, fixed, metal) = words;
        let current = |n: usize| currents[n].map(Milliamps::of);
        part.name.clone_from(&texts[0]);
        part.label.clone_from(&texts[1]);
        part.sheet.clone_from(&texts[2]);
        part.note.clone_from(&texts[3]);
        part.pin.clone_from(&texts[4]);
        part.colour.clone_from(&texts[5]);
        part.at = located(&texts[6]);
        part.caution.clone_from(&texts[7]);
        part.holder.clone_from(&texts[7]);
        part.can.clone_from(&offers);
        part.never = offers;
        part.fixed = fixed;
        part.odds = numbers[0];
        part.wire = numbers[1].map(|number| Wire {
            size: if number > 40.0 {
                WireSize::Area(SquareMillimetres::of(number / 10.0))
            } else {
                WireSize::Gauge(number)
            },
            length: numbers[2].map(|n| Metres::of(n / 20.0)),
            metal,
        });
        match kind {
            PartKind::Fuse | PartKind::Link | PartKind::Breaker => {
                part.rating = currents[0].map(|n| halfsplit::problem::Located {
                    value: Milliamps::of(n + 100.0),
                    at: 0..0,
                });
                part.resistance = numbers[3].map(Milliohms::of);
                part.style = style.filter(|_| kind != PartKind::Breaker);
            }
            PartKind::Relay | PartKind::Switch => part.rest = rest,
            PartKind::Coil => part.draws = current(0),
            PartKind::Battery => {
                part.volts = numbers[3].map(|n| Millivolts::of(1000.0 + 30.0 * n));
                part.capacity = numbers[4].map(AmpHours::of);
                part.reserve = numbers[3].map(Minutes::of);
            }
            PartKind::Load => {
                part.load = load;
                part.asleep = current(0);
                part.at_most = current(1);
                part.least = current(2);
                part.awake = current(3);
            }
            _ => {}
        }
        part
    })
}

/// A vehicle with parts of any kind where each kind may stand, in tree order.
pub(crate) fn any_vehicle() -> impl Strategy<Value = Vehicle> {
    let row = (part(), any::<proptest::sample::Index>(), text());
    proptest::collection::vec(row, 2..12).prop_map(|rows| {
        let mut parts: Vec<(Part, usize)> = Vec::new();
        for (number, (mut part, above, id)) in rows.into_iter().enumerate() {
            part.id.value = format!("{number} {id}");
            if number == 0 {
                let volts = part.volts;
                let battery = halfsplit::problem::Located {
                    value: part.id.value.clone(),
                    at: 0..0,
                };
                part = Part {
                    volts,
                    note: part.note.clone(),
                    ..Part::new(PartKind::Battery, battery, None)
                };
                parts.push((part, 0));
                continue;
            }
            // The nearest part that may feed this one, going round from a random one.
            let from = above.index(number);
            let up = (0..number).map(|n| (from + n) % number).find(|up| {
                let kind = parts[*up].0.kind;
                match part.kind {
                    PartKind::Battery => kind == PartKind::Battery,
                    PartKind::Output => kind != PartKind::Coil,
                    _ => !matches!(kind, PartKind::Coil | PartKind::Load),
                }
            });
            if let Some(up) = up {
                parts.push((part, up));
            } else {
                part.kind = PartKind::Splice;
                let plain = Part::new(PartKind::Splice, part.id, None);
                parts.push((plain, 0));
            }
        }
        in_tree_order(&parts)
    })
}

/// The vehicle of these parts, each with the number of the part that feeds it.
fn in_tree_order(parts: &[(Part, usize)]) -> Vehicle {
    let mut order = vec![0];
    let mut waiting: Vec<usize> = Vec::new();
    let fed = |up: usize| (1..parts.len()).filter(move |n| parts[*n].1 == up).rev();
    waiting.extend(fed(0));
    while let Some(next) = waiting.pop() {
        order.push(next);
        waiting.extend(fed(next));
    }
    let place = |number: usize| order.iter().position(|n| *n == number).unwrap() as u32;
    let mut vehicle = blank();
    vehicle.parts = order
        .iter()
        .map(|number| Part {
            up: (*number > 0).then(|| place(parts[*number].1)),
            ..parts[*number].0.clone()
        })
        .collect();
    let mut names = std::collections::BTreeSet::new();
    let places = vehicle.parts.iter().filter_map(|part| part.at.clone());
    vehicle.places = places
        .filter(|at| names.insert(at.value.clone()))
        .map(|id| vehicle::Place {
            id,
            reach: vehicle::Place::USUAL_REACH,
            reach_given: false,
            wakes: false,
            within: None,
        })
        .collect();
    vehicle
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_table_gives_the_parts_back(vehicle in any_vehicle()) {
        // What is written as format 1 is read as it was, too.
        let text = vehicle::write(&vehicle, &Comments::default());
        let (again, problems) = vehicle::read(&text);
        prop_assert!(problems.is_empty(), "{problems:#?}\n{text}");
        prop_assert_eq!(placeless(again.unwrap()), placeless(vehicle.clone()));
        there_and_back(&vehicle);
        // Places are found in the table alone.
        let (feeds, _) = read(&table::write(&vehicle), &blank());
        prop_assert_eq!(placeless(feeds.unwrap().vehicle().clone()), placeless(vehicle));
    }

    #[test]
    fn any_table_is_read_or_refused(rows in proptest::collection::vec(
        proptest::collection::vec(prop_oneof![text(), "[A-F]", Just("Fuse".to_owned()), Just(String::new())], 0..6), 0..8,
    ), junk in any::<String>(), delimiter in proptest::sample::select(vec![",", ";", "\t"])) {
        let rows = rows.iter().map(|row| row.join(delimiter));
        let table = format!("id,kind,fed by,rating,fixed\n{}", rows.collect::<Vec<_>>().join("\n"));
        for text in [table.as_str(), &junk, &format!("{table}{junk}")] {
            let (feeds, problems) = read(text, &blank());
            prop_assert_eq!(feeds.is_some(), !problems.iter().any(halfsplit::problem::Problem::is_error));
            for problem in &problems {
                prop_assert!(problem.at.end <= text.len(), "{:?}", problem);
            }
        }
    }
}

#[test]
fn large_and_odd_tables_end_soon() {
    let mut table = String::from("id,kind,fed by,place,module\n");
    for n in 0..20_000 {
        let _ = writeln!(table, "L{n},Load,F{n},place {n},module {n}");
    }
    let (feeds, problems) = read(&table, &blank());
    assert!(feeds.is_none() && problems.len() >= 20_000);
    let mut chain = String::from("id,kind,fed by\n");
    for n in 0..20_000 {
        let _ = writeln!(chain, "S{n},Splice,S{}", n + 1);
    }
    let (feeds, problems) = read(&chain, &blank());
    assert!(feeds.is_none() && !problems.is_empty());
}

/// A column `Type` with the bodies of fuses says style and kind; a style of its own has the last word.
#[test]
fn a_column_of_fuse_bodies_gives_styles() {
    let kinds = |table: &str| -> Vec<(String, PartKind, Option<FuseStyle>)> {
        let vehicle = good(table);
        let parts = vehicle.parts.iter().skip(1);
        parts
            .map(|part| (part.id.value.clone(), part.kind, part.style))
            .collect()
    };
    let row = |id: &str, kind, style| (id.to_owned(), kind, style);
    let (fuse, link) = (PartKind::Fuse, PartKind::Link);
    assert_eq!(
        kinds(include_str!("../table-problems/guessed--bodies.csv")),
        [
            row("F1", fuse, Some(FuseStyle::Maxi)),
            row("F2", fuse, Some(FuseStyle::Regular)),
            row("F3", fuse, Some(FuseStyle::Mini)),
            row("K1", PartKind::Relay, None),
            row("F4", link, Some(FuseStyle::Midi)),
        ]
    );
    assert_eq!(
        kinds(
            "id,type,style,fed by,amps\nF1,Fuse,ATC,,10\nF2,mini fuse,LowMini,,5\nF3,JCASE,,,30\n"
        ),
        [
            row("F1", fuse, Some(FuseStyle::Regular)),
            row("F2", fuse, Some(FuseStyle::LowMini)),
            row("F3", fuse, Some(FuseStyle::Cartridge)),
        ]
    );
}
