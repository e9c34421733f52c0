//! Minutes to go, as roughly as they are known, and why they are more than they looked.

use crate::case::{Longer, LongerBecause, State};
use crate::render::words::number;

/// What a search takes in times of its average, from luck to the slow end, of the causes of four sample vehicles by
/// their odds (`to_go_sweep`).
const LUCK: f64 = 0.3;
const SLOW: f64 = 2.5;

/// Minutes to go: of a proof about, of a search from luck to the slow end. One number would climb with each of the quick
/// ones that is clean, and look like a mistake.
pub(super) fn to_go(expected: f64, state: State) -> String {
    if state == State::Confirm {
        return format!("about {}", roughly(expected));
    }
    let (least, most) = (roughly(LUCK * expected), roughly(SLOW * expected));
    let units = least.rsplit_once(' ').zip(most.rsplit_once(' '));
    match units {
        Some(((number, one), (_, other))) if one == other => format!("{number} to {most}"),
        _ => format!("{least} to {most}"),
    }
}

/// Why more is left than it looked.
pub(super) fn later(longer: &Longer) -> String {
    let why = match longer.because {
        LongerBecause::Another => {
            return "One drain is proven; another is left to find, so more is to go.".to_owned();
        }
        LongerBecause::Proof => format!(
            "what is likeliest now takes some {} to prove, waiting for sleep and all",
            roughly(longer.proof)
        ),
        LongerBecause::Tests => "what is quick to check is hardly it any more".to_owned(),
        LongerBecause::Spent => "the last steps ruled out little".to_owned(),
    };
    format!("Longer than it looked: {why}.")
}

/// Minutes that nobody knows to the minute, as one would say them: "7 min", "45 min", "110 min", "2.5 h".
fn roughly(minutes: f64) -> String {
    let to = |step: f64| (minutes / step).round() * step;
    match minutes {
        m if m < 9.5 => format!("{:.0} min", m.max(1.0)),
        m if m < 57.5 => format!("{:.0} min", to(5.0)),
        m if m < 115.0 => format!("{:.0} min", to(10.0)),
        _ => format!("{} h", number(to(30.0) / 60.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_to_go_are_a_span_until_one_is_proven() {
        let table = [
            (7.0, State::Measure, "2 to 20 min"),
            (60.0, State::Measure, "20 min to 2.5 h"),
            (110.0, State::Measure, "35 min to 4.5 h"),
            (480.0, State::Measure, "2.5 to 20 h"),
            (25.0, State::Confirm, "about 25 min"),
        ];
        for (expected, state, said) in table {
            assert_eq!(to_go(expected, state), said, "{expected}");
        }
    }

    #[test]
    fn minutes_to_go_are_said_as_roughly_as_they_are_known() {
        let table = [
            (0.2, "1 min"),
            (7.4, "7 min"),
            (9.6, "10 min"),
            (12.6, "15 min"),
            (57.4, "55 min"),
            (63.0, "60 min"),
            (114.0, "110 min"),
            (120.0, "2 h"),
            (146.0, "2.5 h"),
            (368.0, "6 h"),
        ];
        for (minutes, said) in table {
            assert_eq!(roughly(minutes), said, "{minutes}");
        }
    }
}
