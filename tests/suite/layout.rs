//! A vehicle file written anew: it means the same, keeps every comment, and comes out the same when
//! it is written again.

use crate::generated::{Recipe, vehicle as generated};
use halfsplit::notation::{Token, tokens};
use halfsplit::problem::{Located, Problem};
use halfsplit::vehicle::{self, Comments, Vehicle};
use proptest::prelude::*;

/// The vehicle without the places in its file.
pub(crate) fn placeless(mut vehicle: Vehicle) -> Vehicle {
    fn forget<T>(located: &mut Located<T>) {
        located.at = 0..0;
    }
    vehicle.limit.iter_mut().for_each(forget);
    vehicle.networks.iter_mut().for_each(forget);
    for place in &mut vehicle.places {
        forget(&mut place.id);
        place.within.iter_mut().for_each(forget);
    }
    for module in &mut vehicle.modules {
        forget(&mut module.id);
        module.network.iter_mut().for_each(forget);
        module.held_by.iter_mut().for_each(forget);
    }
    for entry in &mut vehicle.accept {
        forget(&mut entry.what);
    }
    for part in &mut vehicle.parts {
        forget(&mut part.id);
        let names = [&mut part.at, &mut part.plug, &mut part.of];
        names.into_iter().flatten().for_each(forget);
        let names = [&mut part.moves, &mut part.commanded_by];
        names.into_iter().flatten().for_each(forget);
        part.rating.iter_mut().for_each(forget);
    }
    vehicle
}

fn comments(text: &str) -> Vec<String> {
    let mut found: Vec<_> = tokens(text)
        .filter(|(token, _)| *token == Token::Comment)
        .map(|(_, at)| text[at].trim_end().to_owned())
        .collect();
    found.sort();
    found
}

fn read(text: &str) -> Vehicle {
    let (vehicle, problems) = vehicle::read(text);
    assert!(
        !problems.iter().any(Problem::is_error),
        "{problems:#?}\n{text}"
    );
    vehicle.unwrap()
}

/// Writes a text anew and checks the promises.
fn laid_out(text: &str) -> String {
    let before = read(text);
    let written = vehicle::write(&before, &Comments::read(text));
    assert_eq!(
        placeless(read(&written)),
        placeless(before),
        "{text}\n{written}"
    );
    assert_eq!(comments(&written), comments(text), "{text}\n{written}");
    let again = vehicle::write(&read(&written), &Comments::read(&written));
    assert_eq!(again, written, "{text}");
    written
}

#[test]
fn laid_out_it_means_the_same() {
    insta::glob!("../../sample-vehicles", "*.ron", |file| {
        laid_out(&std::fs::read_to_string(file).unwrap());
    });
    for seed in 0..6 {
        let recipe = Recipe {
            loads: 120,
            modules: true,
        };
        laid_out(&generated(seed, recipe));
    }
}

#[test]
fn one_is_looked_at() {
    let text = include_str!("../../sample-vehicles/quarto-van.ron");
    insta::assert_snapshot!(laid_out(text));
}

#[test]
fn comments_stay_with_what_they_stand_at() {
    let text = r#"// head
#![enable(implicit_some)]

// of the vehicle
Vehicle( // behind the bracket
    battery: Battery(id: "b", // the battery

        feeds: [ // first list

        // above one

        Fuse(rating: A(10), /* in the middle */ id: "F1",),
        // above two
        Fuse(
            id: "F2", // its id
            // its rating
            rating: mA(7500),
            feeds: [
                Load(id: "L \"x\"", note: "1\n2\\'é"), // one load
                // more to come
            ], // end of list
        ), // end of F2
    ]), // end of the battery
    format: 1, name: "v", limit: None, // no limit
    places: { // all places
        "here": Place(), /* no minutes yet */

        // and

        "there with a long name": (within: "here", reach: h(0.5), wakes: true), // and there
        // no more
    },
    networks: {}, // none
    // the end
) // behind it

// tail

"#;
    insta::assert_snapshot!(laid_out(text));
}

/// What may stand between two pieces of a text.
fn gap() -> impl Strategy<Value = &'static str> {
    prop_oneof![
        20 => Just(" "),
        4 => Just("\n"),
        2 => Just("\n\n\n"),
        1 => Just(" // c1\n"),
        1 => Just("\n// c2 \n"),
        1 => Just("\n\n    // c3\n\n"),
        1 => Just(" /* c4 */ "),
        1 => Just("\n/* c5\n c5 */\n"),
        1 => Just(" /* c6 */ // c7\n"),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn comments_anywhere_are_kept(
        seed in 0..50_u64,
        sample in any::<bool>(),
        gaps in proptest::collection::vec(gap(), 300..400),
    ) {
        let text = if sample {
            include_str!("../../sample-vehicles/quarto-van.ron").to_owned()
        } else {
            generated(seed, Recipe { loads: 8, modules: true })
        };
        let mut written = String::new();
        let mut gaps = gaps.iter().cycle();
        for (token, at) in tokens(&text) {
            if token != Token::Comment {
                written.push_str(gaps.next().unwrap());
                written.push_str(&text[at]);
            }
        }
        written.push_str(gaps.next().unwrap());
        laid_out(&written);
    }
}
