//! Invented planner tables: small arbitrary ones, and ones that look like a vehicle.

use halfsplit::planner::table::{Class, Place, Suspect, Table, Test};
use proptest::prelude::*;

/// Small tables with everything in them: several classes, unsure ones, nested places, proofs,
/// instruments, inconclusive readings, harm.
pub(crate) fn small() -> impl Strategy<Value = Table> {
    let place = (
        prop_oneof![1 => Just(0.0), 4 => 0.5..12.0],
        any::<prop::sample::Index>(),
        any::<bool>(),
    );
    (1_usize..7, prop::collection::vec(place, 0..4)).prop_flat_map(|(count, places)| {
        let places: Vec<Place> = places
            .into_iter()
            .enumerate()
            .map(|(at, (reach, outer, nested))| Place {
                reach,
                within: (nested && at > 0).then(|| outer.index(at)),
            })
            .collect();
        let somewhere = {
            let places = places.len();
            move || {
                prop::option::weighted(0.7, 0..places.max(1))
                    .prop_map(move |p| p.filter(|_| places > 0))
            }
        };
        let suspect = (
            -2.0..2.0,
            0.0..40.0,
            0.1..30.0,
            somewhere(),
            prop::bool::weighted(0.8),
        );
        let test = (
            0.2..8.0,
            somewhere(),
            prop::option::weighted(0.5, 0_u8..2),
            prop::collection::vec(0_usize..4, count),
            prop::collection::vec(prop::bool::weighted(0.8), 3),
            prop_oneof![3 => Just(0.0), 1 => 0.0..0.5],
            prop::bool::weighted(0.15),
        );
        let instruments = prop::collection::vec(somewhere(), 0..3);
        (
            prop::collection::vec(suspect, count),
            prop::collection::vec(test, 0..6),
            instruments,
            prop_oneof![Just(0.0), 0.1..3.0],
        )
            .prop_map(move |(suspects, tests, instruments, move_minutes)| Table {
                suspects: suspects
                    .into_iter()
                    .map(
                        |(log_odds, more, failed_proof, proof_place, provable)| Suspect {
                            log_odds,
                            proof: failed_proof + more,
                            failed_proof,
                            proof_place,
                            provable,
                        },
                    )
                    .collect(),
                tests: tests
                    .into_iter()
                    .map(
                        |(minutes, place, instrument, shown, sure, inconclusive, harms)| Test {
                            minutes,
                            place,
                            instrument,
                            classes: classes(&shown, &sure),
                            inconclusive,
                            harms,
                        },
                    )
                    .collect(),
                places: places.clone(),
                instruments: instruments
                    .into_iter()
                    .enumerate()
                    .map(|(number, at)| (number as u8, at))
                    .collect(),
                move_minutes,
            })
    })
}

fn classes(shown: &[usize], sure: &[bool]) -> Vec<Class> {
    let class = |class: usize| Class {
        suspects: (0..shown.len())
            .filter(|s| shown[*s] == class)
            .map(|s| s as u32..s as u32 + 1)
            .collect(),
        sure: sure[class - 1],
    };
    (1..=sure.len())
        .map(class)
        .filter(|c| !c.suspects.is_empty())
        .collect()
}

/// Numbers that look random and are always the same (`SplitMix64`).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(crate) fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: usize, high: usize) -> usize {
        low + (self.share() * (high - low + 1) as f64) as usize
    }
}

/// An invented vehicle with this many loads: legs under the bonnet, fuses in boxes, loads behind
/// panels. Minutes as in the cost model: readings half a minute and less, whatever disturbs a settle.
pub(crate) fn vehicle(loads: usize, seed: u64) -> Table {
    let mut dice = Dice::new(seed);
    let mut table = Table {
        instruments: vec![(0, Some(0))],
        move_minutes: 1.0,
        ..Table::default()
    };
    table.places.push(Place {
        reach: 1.5,
        within: None,
    });
    let boxes = 1 + loads.min(400) / 20;
    for _ in 0..boxes {
        let reach = 2.0 + 10.0 * dice.share();
        table.places.push(Place {
            reach,
            within: None,
        });
    }
    let panels = 2 + loads.min(600) / 6;
    for _ in 0..panels {
        let reach = 2.0 + 18.0 * dice.share();
        let within = (dice.share() < 0.3).then(|| dice.between(0, boxes));
        table.places.push(Place { reach, within });
    }
    let settle = 30.0;
    let mut leg_from = 0;
    while table.suspects.len() < loads {
        let fuse_box = dice.between(1, boxes);
        for _ in 0..dice.between(2, 12) {
            let from = table.suspects.len() as u32;
            for _ in 0..dice.between(1, 5) {
                let load = table.suspects.len() as u32;
                let chance = if dice.share() < 0.6 { 0.9 } else { 0.05 };
                let panel = Some(boxes + dice.between(1, panels));
                let provable = dice.share() < 0.93;
                table.suspects.push(Suspect {
                    log_odds: 1.5 * (dice.share() + dice.share() + dice.share() - 1.5),
                    proof: 2.5 + 2.0 * chance * settle,
                    failed_proof: 2.0 + chance * settle,
                    proof_place: panel,
                    provable,
                });
                if dice.share() < 0.3 {
                    table.tests.push(reading(0.5, panel, None, load..load + 1));
                }
                if dice.share() < 0.5 {
                    table
                        .tests
                        .push(reading(0.8, panel, Some(1), load..load + 1));
                }
                if provable {
                    let mut unplug = reading(1.5 + chance * settle, panel, None, load..load + 1);
                    unplug.harms = true;
                    table.tests.push(unplug);
                }
            }
            let to = table.suspects.len() as u32;
            let mut drop = reading(0.3, Some(fuse_box), Some(0), from..to);
            drop.inconclusive = 0.05;
            table.tests.push(drop);
            let mut pull = reading(1.5 + 0.9 * settle, Some(fuse_box), None, from..to);
            pull.harms = true;
            table.tests.push(pull);
        }
        let to = table.suspects.len() as u32;
        table
            .tests
            .push(reading(0.4, Some(0), Some(0), leg_from..to));
        table
            .tests
            .push(reading(0.8, Some(0), Some(1), leg_from..to));
        leg_from = to;
    }
    table
}

#[allow(clippy::single_range_in_vec_init)] // a class is a list of ranges
fn reading(
    minutes: f64,
    place: Option<usize>,
    instrument: Option<u8>,
    shown: std::ops::Range<u32>,
) -> Test {
    Test {
        minutes,
        place,
        instrument,
        classes: vec![Class {
            suspects: vec![shown],
            sure: true,
        }],
        inconclusive: 0.0,
        harms: false,
    }
}
