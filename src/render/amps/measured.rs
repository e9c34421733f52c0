//! The words of a resistance that is measured: how, what came of it, what to write where.

use super::{across_words, ends, figures, resistance_words};
use crate::amps::{Measured, SHARE, Step, Use, Worked};
use crate::journal::write_reading;
use crate::quantity::{Milliamps, Milliohms};
use crate::render::answer;
use crate::render::words::plain;

/// What is done, in order.
const HOW: [&str; crate::amps::HOW_STEPS] = [
    "Take a spare fuse of the same make, style and rating to a bench; the one in the vehicle stays where it is. One of another make may differ by a third (judgement)",
    "In line, from a 12 V battery or supply: a fused lead, the spare in a holder, a lamp. Lamps of 21 W carry about 1.75 A each, of 5 W 0.4 A (watts / volts): as many side by side as give a quarter to a third of the fuse's rating. No flames or sparks at a battery: its clip last on, first off, away from it",
    "The current: meter in line on the A jack, never the mA jack first, or a clamp. Cheap A jacks: 10 s on, then 15 min off (seen, a maker's manual)",
    "Take the meter out, close the gap with a lead, red lead back to V, range mV DC. Touch the probes together and zero what it shows",
    "The drop: slim probes on the fuse's own test points, not on the holder, when the display rests. With steps below 0.1 mV turn the probes round and type both, such as 19.21mV reversed -19.17mV: half the difference counts, for warm joints give microvolts of their own (from memory)",
    "The current once more: it must be the same",
    "Type both, with the fuse: halfsplit amps resistance 19.2mV with 2.50A across Regular 10A (its warmth is taken off; --celsius, if the bench is not at 20 °C). It says which line to write into the vehicle file",
];

/// The line for the vehicle file.
fn line(number: Milliohms) -> String {
    format!("resistance: mOhm({})", plain_number(number.value()))
}

fn plain_number(value: f64) -> String {
    // Four digits at most; a RON file takes no unit behind them.
    figures(value)
}

/// A step of what was measured, or of how it is measured; nothing for another step.
pub(super) fn sentence(step: &Step) -> String {
    match step {
        Step::Ratio {
            voltage,
            current,
            resistance,
        } => format!(
            "Voltage / current: {} mV / {} mA = {} mΩ at least, {} mV / {} mA = {} mΩ at most",
            figures(voltage.low()),
            figures(current.high()),
            figures(resistance.low()),
            figures(voltage.high()),
            figures(current.low()),
            figures(resistance.high())
        ),
        Step::Warm { share, by, cold } => {
            let (least, most) = (figures(by.0), figures(by.1));
            match share {
                Some(share) => format!(
                    "At {:.0} % of its rating it is warm and has {least} to {most} times as much as cold (at all of it 1.34 to 1.67 times, and that goes with the square; derived): cold {}",
                    share * 100.0,
                    ends(*cold)
                ),
                None => format!(
                    "Up to a quarter of its rating it has up to {most} times as much as cold (derived; name the fuse to know better): cold {}",
                    ends(*cold)
                ),
            }
        }
        Step::AtTwenty(there, cold) => format!(
            "From {} °C to 20 °C, taken as zinc, 0.37 % per kelvin: {}",
            plain(there.value()),
            ends(*cold)
        ),
        Step::Listed(across, figure, fits) => {
            let table = format!(
                "The tables have {} for {} ({}; {})",
                resistance_words(figure),
                across_words(*across),
                figure.source,
                figure.mark.word()
            );
            if *fits {
                format!("{table}: that fits")
            } else {
                format!(
                    "{table}: that does not fit. Probes on the test points, current steady? Else it is of another kind, or a counterfeit, which can carry 3 to 4 times its rating (seen, MACS Service Reports, June 2017)"
                )
            }
        }
        Step::Use(Use::Write(number)) => format!(
            "Good to 5 %, as the vehicle file takes it: write {} into each Fuse of that make, style and rating; alone: halfsplit amps drop 1.0mV across {}mOhm",
            line(*number),
            plain_number(number.value())
        ),
        Step::Use(Use::Coarse(off, does)) => {
            let off = format!(
                "It may be off by {:.0} %; the vehicle file takes 5 % for granted, so do not write it there",
                (off * 100.0).ceil()
            );
            match does {
                Some(current) => format!(
                    "{off}: with these instruments {} A would do",
                    plain(current.value() / 1000.0)
                ),
                None => format!(
                    "{off}: that takes a finer meter, or a fuse that is named (across Regular 10A)"
                ),
            }
        }
        Step::How(at) => HOW[*at].to_owned(),
        _ => String::new(),
    }
}

/// The line for the vehicle file, where the result is good enough for it.
pub(super) fn line_to_write(worked: &Worked) -> Option<String> {
    worked.steps.iter().find_map(|step| match step {
        Step::Use(Use::Write(number)) => Some(line(*number)),
        _ => None,
    })
}

/// Why a fuse that carries so much gives no answer, and what does.
pub(super) fn too_warm(asked: &Measured, most: Milliamps) -> String {
    format!(
        "{} is more than {:.0} % of its rating: its own warmth raises the resistance by more than the meter is off\ntake {} at most",
        write_reading(&asked.current),
        SHARE * 100.0,
        answer::current(most.value())
    )
}
