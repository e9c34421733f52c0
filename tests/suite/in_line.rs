//! One draw by two instruments: with the meter in line its burden takes a part of the supply off, so that a
//! lamp draws less than a clamp shows without it. That is no contradiction.

use halfsplit::case::{Case, Question, Setting};
use halfsplit::feeds::{PartId, load};
use halfsplit::instruments;
use halfsplit::quantity::Milliamps;

const PICKUP: &str = include_str!("../../sample-vehicles/pickup.ron");
const BOTH: &str = include_str!("../../sample-vehicles/instruments/meter-and-clamp.ron");

/// What the mA jack of 1.8 Ω shows where a plain resistance draws so much at 12.4 V, in mA.
fn in_line(current: f64) -> f64 {
    current / (1.0 + 1.8 * current / 12_400.0)
}

/// The clamp may be off by 2 % and 5 mA, the jack by 0.5 % and 0.2 mA (the file of instruments).
#[test]
fn a_lamp_draws_less_through_the_meter_and_nothing_contradicts() {
    let setting = Setting::new(load(PICKUP).0.unwrap(), instruments::read(BOTH).0.unwrap());
    let mut apart = 0;
    for current in [80.0, 150.0, 250.0, 350.0, 390.0] {
        for (by_clamp, by_meter) in [(0.0, 0.0), (-0.9, 0.9), (0.9, -0.9), (0.9, 0.9)] {
            let clamp = current + by_clamp * (0.02 * current + 5.0);
            let clamp = format!("draw {clamp:.0}mA by clamp");
            let read = in_line(current);
            let series = read + by_meter * (0.005 * read + 0.2);
            let series = format!("draw {series:.1}mA by series jack mA");
            for lines in [[&clamp, &series], [&series, &clamp]] {
                let mut case = Case::new(&setting);
                case.record("prepared; asleep").unwrap();
                let mut asked = case.record(&format!("{} sure", lines[0])).unwrap();
                let mut questions = asked.questions;
                asked = case.record(&format!("{} sure", lines[1])).unwrap();
                questions.extend(asked.questions);
                let against = |question: &&Question| {
                    matches!(
                        question,
                        Question::Changed(..) | Question::NoLongerFits(_) | Question::Rose(..)
                    )
                };
                assert_eq!(questions.iter().find(against), None, "{lines:?}");
                let (part, _, bounds, _) = case.standing()[0];
                assert_eq!(part, PartId(0));
                assert!(bounds.holds(Milliamps::of(current)), "{lines:?} {bounds:?}");
            }
            apart += usize::from((current - read) > 0.02 * current + 5.0);
        }
    }
    assert!(apart > 4, "the burden is seen to matter in {apart}");
}
