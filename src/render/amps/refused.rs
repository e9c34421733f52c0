//! Why a question typed behind `amps` is not taken, or has no answer.

use super::measured;
use crate::amps::{NoAnswer, Refused, Used, Wrong};
use crate::journal::write_reading;
use crate::measurement::Jack;
use crate::notation::Mistyped;
use crate::reference;
use crate::render::answer;
use crate::render::refusal::quoted;
use crate::render::words::plain;
use crate::vehicle::FuseStyle;

/// What is wrong with a typed quantity.
pub fn mistyped(mistyped: &Mistyped) -> String {
    match mistyped {
        Mistyped::NoNumber { what, works } => {
            format!("{what} is written like {}", works.join(" or "))
        }
        Mistyped::Comma { point, none } => {
            format!("with its comma this could be {point} or {none}: type a point, or no comma")
        }
        Mistyped::Unit { what, works } => format!("{what} needs its unit: {}", works.join(" or ")),
        Mistyped::Range { least, most } => format!("this goes from {least} to {most}"),
    }
}

fn wrong(wrong: &Wrong) -> String {
    match wrong {
        Wrong::Empty => "nothing was typed".to_owned(),
        Wrong::FirstWord(typed) => format!(
            "{} is neither drop, clamp, series or resistance nor a current",
            quoted(typed)
        ),
        Wrong::Reading(wrong) => wrong.to_string(),
        Wrong::OtherUnit { word } => format!("`{word}` takes {}", taken_by(word)),
        Wrong::NoAcross => {
            "say what it is read across: a fuse, a length of wire or a resistance".to_owned()
        }
        Wrong::Style {
            typed,
            nearest: Some(style),
        } => format!(
            "{} is no style of fuse; the nearest is {style}",
            quoted(typed)
        ),
        Wrong::Style {
            typed,
            nearest: None,
        } => {
            let styles: Vec<_> = FuseStyle::TABLE.iter().map(|(word, _)| *word).collect();
            format!(
                "{} is no style of fuse; there are {}, or `wire`, or a resistance",
                quoted(typed),
                styles.join(", ")
            )
        }
        Wrong::NoStyle => "a fuse needs its style in front of its rating".to_owned(),
        Wrong::NoRating => "a fuse needs its rating".to_owned(),
        Wrong::Wire(lacks) => format!("a wire needs its {lacks}"),
        Wrong::Quantity(wrong) => mistyped(wrong),
        Wrong::Trailing(typed) => format!("{} does not belong here", quoted(typed)),
        Wrong::Turns => "turns are a whole number from 1 to 100".to_owned(),
        Wrong::Scale => {
            "a scale is the voltage that the clamp gives and the current that it means".to_owned()
        }
        Wrong::ScaleOfCurrent => {
            "a scale turns a voltage into a current, but this reading is a current already"
                .to_owned()
        }
        Wrong::Jack => "the current is taken on jack A or jack mA, or by clamp".to_owned(),
        Wrong::Current => "what the meter will show is worked for a current that flows".to_owned(),
    }
}

/// What a word of a question is about.
fn taken_by(word: &str) -> &'static str {
    match word {
        "drop" => "a voltage, in mV or V",
        "reversed" => "what it shows with the probes turned round, in mV",
        "series" => "a current, in mA or A",
        "across" => "a current in front of it, in mA or A; a voltage is a drop",
        _ => "a drop in mV, then with and the current in A or mA",
    }
}

/// Why a question was not taken, and one that works.
pub fn amps_refused(refused: &Refused) -> String {
    format!(
        "{}\nthis works: halfsplit amps {}",
        wrong(&refused.wrong),
        refused.works
    )
}

/// Why there is no answer, and what to do.
pub fn amps_unanswered(why: &NoAnswer) -> String {
    match why {
        NoAnswer::Style(style) => format!(
            "nothing is known about the resistance of a {} fuse\nmeasure it: halfsplit amps resistance says how; then this works: halfsplit amps drop 1.0mV across 4.8mOhm",
            style.word()
        ),
        NoAnswer::Rating(style, rating) => {
            let (least, most) = reference::ratings(*style).unwrap_or_default();
            format!(
                "the resistance of a {style} fuse is known from {} to {} A, not at {} A\nmeasure it: halfsplit amps resistance says how; then this works: halfsplit amps drop 1.0mV across 4.8mOhm",
                plain(least),
                plain(most),
                plain(rating.value() / 1000.0),
                style = style.word()
            )
        }
        NoAnswer::NotAtHand(used) => {
            let lacking = match used {
                Used::Millivolts => {
                    "a meter with a millivolt range\ntype meter: Meter(millivolts: Range(step: mV(0.1), percent: 0.5, counts: 2)),"
                }
                Used::Amps => {
                    "an A jack\ntype meter: Meter(amps: Range(step: mA(10), percent: 1, counts: 3, most: A(10), burden: mOhm(20))),"
                }
                Used::Milliamps => {
                    "an mA jack\ntype meter: Meter(milliamps: Range(step: mA(0.1), percent: 0.5, counts: 2, most: mA(400), burden: Ohm(1.8))),"
                }
                Used::Clamp => "a clamp\ntype clamp: Clamp(step: mA(1), percent: 2, counts: 5),",
            };
            format!("this needs what the instruments file lacks: {lacking}")
        }
        NoAnswer::NoScale(reading, turns) => {
            let turns = if *turns > 1 {
                format!(" turns {turns}")
            } else {
                String::new()
            };
            format!(
                "a clamp reading in mV needs the scale printed on the clamp\nthis works: halfsplit amps clamp {} scale 1mV/10mA{turns}",
                write_reading(reading)
            )
        }
        NoAnswer::TooMuch(reading, jack, most) => {
            let instead = match jack {
                Jack::MilliA => "series",
                _ => "clamp",
            };
            format!(
                "this jack takes {} at most: its fuse would have blown\nthis works: halfsplit amps {instead} {}",
                answer::current(most.value()),
                write_reading(reading)
            )
        }
        NoAnswer::Nothing => {
            "by their accuracy the drop or the current may be nothing, so the resistance may be anything\ntake a larger current: a fifth to a third of the fuse's rating"
                .to_owned()
        }
        NoAnswer::TooWarm(asked, most) => measured::too_warm(asked, *most),
    }
}
