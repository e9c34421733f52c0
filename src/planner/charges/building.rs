//! Building the programme: a pair of items after another, with the shares and limits of its charge.

use super::{Charges, Item, NO_PAIR, Parting};
use crate::planner::work::Map;
use std::ops::Range;

/// No budget yet.
const NO_BUDGET: u32 = u32::MAX;

impl Charges {
    /// With every budget divided by the chances of the partners. Pairs that are not `wanted` carry no
    /// charge. `steps`: minutes of each place, and what is left of them to an item that keeps a share. `None` when it would have more than `most` members.
    pub(crate) fn new(
        items: &[Item],
        tests: &[Parting],
        steps: (&[f64], f64),
        wanted: impl Fn(usize, usize) -> bool,
        most: usize,
    ) -> Option<Self> {
        let mut building = Building {
            items,
            steps,
            charges: Self::default(),
            of_tests: vec![NO_BUDGET; tests.len() * items.len()],
            of_places: vec![NO_BUDGET; steps.0.len() * items.len()],
            pair: 0,
            of_place: vec![[(0, 0); 2]; steps.0.len()],
            ways: vec![0; tests.len()],
            of_way: Vec::new(),
        };
        building.number_ways(tests);
        // Only tests in which one of the two shows something else than class 0 can part them.
        let mut showing: Vec<Vec<u32>> = vec![Vec::new(); items.len()];
        for (number, test) in tests.iter().enumerate() {
            for (item, class) in test.shown.iter().enumerate() {
                if *class != 0 {
                    showing[item].push(number as u32);
                }
            }
        }
        let mut parting: Vec<u32> = Vec::new();
        for j in 1..items.len() {
            for i in 0..j {
                if !wanted(i, j) {
                    building.charges.pair_at.push(NO_PAIR);
                    continue;
                }
                building.pair += 1;
                parting.clear();
                parting.extend_from_slice(&showing[i]);
                let other = showing[j].iter();
                let alone = other.filter(|number| tests[**number as usize].shown[i] == 0);
                parting.extend(alone);
                parting.retain(|number| {
                    let shown = &tests[*number as usize].shown;
                    shown[i] != shown[j]
                });
                let test = |number: &u32| &tests[*number as usize];
                let tells = |test: &Parting| !test.last && test.told[i] != test.told[j];
                let harmless = parting.iter().map(test).any(tells);
                for number in &parting {
                    let test = test(number);
                    if !(test.last && harmless) {
                        building.test(*number as usize, test, i, j);
                    }
                }
                building.alone(i, j, harmless);
                building.alone(j, i, harmless);
                let charges = &mut building.charges;
                charges.pair_at.push(charges.pairs.len() as u32);
                charges.pairs.push(charges.limits.len() as u32);
                charges.shares.push(charges.share.len() as u32);
                if charges.members.len() > most {
                    return None;
                }
            }
        }
        let mut charges = building.charges;
        charges.fill_budgets();
        Some(charges)
    }
}

/// What a budget is for: minutes of a test, or the step of a place.
#[derive(Clone, Copy)]
enum Purse {
    Test(usize),
    Place(usize),
}

struct Building<'p> {
    items: &'p [Item],
    steps: (&'p [f64], f64),
    charges: Charges,
    /// The budget of each purse in the name of each item, or [`NO_BUDGET`]: purse after purse.
    of_tests: Vec<u32>,
    of_places: Vec<u32>,
    /// The pair at hand, counted from 1.
    pair: u32,
    /// By place, for the lower of a pair and for the other: the last pair with a share there, and that share.
    of_place: Vec<[(u32, u32); 2]>,
    /// The way of each test, by a number that those with the same way share.
    ways: Vec<u32>,
    /// By that number: the last pair whose shares of the places on the way are known, and where both of them stand
    /// among the members.
    of_way: Vec<(u32, [Range<usize>; 2])>,
}

impl Building<'_> {
    /// A share in the name of `own` for its pair with `other`.
    fn share(&mut self, purse: Purse, minutes: f64, own: usize, other: usize) -> u32 {
        let charges = &mut self.charges;
        let chance = self.items[own].chance;
        let of = match purse {
            Purse::Test(test) => &mut self.of_tests[test * self.items.len() + own],
            Purse::Place(place) => &mut self.of_places[place * self.items.len() + own],
        };
        if *of == NO_BUDGET {
            *of = charges.budgets.len() as u32;
            charges.budgets.push(minutes * chance);
            charges.place.push(match purse {
                Purse::Test(_) => None,
                Purse::Place(place) => Some(place),
            });
        }
        let of = *of;
        charges.share.push(self.items[other].chance as f32);
        charges.of.push(of);
        charges.share.len() as u32 - 1
    }

    /// Numbers the ways of the tests.
    fn number_ways(&mut self, tests: &[Parting]) {
        let mut known: Map<&[usize], u32> = Map::default();
        for (way, test) in self.ways.iter_mut().zip(tests) {
            let next = known.len() as u32;
            *way = *known.entry(&test.way).or_insert(next);
        }
        self.of_way = vec![(0, [0..0, 0..0]); known.len()];
    }

    /// Adds the shares of the places on `way` that `own` has a budget for.
    fn places(&mut self, way: &[usize], own: usize, other: usize) {
        let items = self.items;
        for place in way.iter().filter(|place| !items[own].held.contains(place)) {
            let side = usize::from(own > other);
            let (pair, share) = self.of_place[*place][side];
            let share = if pair == self.pair {
                share
            } else {
                let (step, left) = self.steps;
                let shared = items[own].shared.contains(place);
                let minutes = step[*place] * if shared { left } else { 1.0 };
                let share = self.share(Purse::Place(*place), minutes, own, other);
                self.of_place[*place][side] = (self.pair, share);
                share
            };
            self.charges.members.push(share);
        }
    }

    fn limit(&mut self, apart: f64) {
        let end = self.charges.members.len() as u32;
        self.charges.limits.push((apart, end));
    }

    fn test(&mut self, number: usize, test: &Parting, i: usize, j: usize) {
        let way = self.ways[number] as usize;
        // Readings in one place have the same shares of the way there.
        let known = (self.of_way[way].0 == self.pair).then(|| self.of_way[way].1.clone());
        let mut added = [0..0, 0..0];
        for (side, (own, other)) in [(i, j), (j, i)].into_iter().enumerate() {
            let share = self.share(Purse::Test(number), test.minutes, own, other);
            self.charges.members.push(share);
            let from = self.charges.members.len();
            match &known {
                Some(known) => self.charges.members.extend_from_within(known[side].clone()),
                None => self.places(&test.way, own, other),
            }
            added[side] = from..self.charges.members.len();
        }
        self.of_way[way] = (self.pair, added);
        self.limit(0.0);
    }

    /// What parts `item` alone from `other`: paid by `other` when it is the cause.
    fn alone(&mut self, item: usize, other: usize, harmless: bool) {
        let items = self.items;
        for alone in items[item].alone.iter().filter(|a| !(a.last && harmless)) {
            self.places(&alone.way, other, item);
            self.limit(alone.minutes * items[other].chance);
        }
    }
}
