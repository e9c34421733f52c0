//! Lines of a drill: entries without their readings, which the vehicle gives.

use super::Drill;
use crate::case::Shown;
use crate::journal::{self, Act, By, Point, Refusal, Wrong, word};
use crate::measurement::{Jack, Method, Way};

impl Drill<'_> {
    /// A test typed without its reading: some reading is put in to see what is meant, and thrown away.
    /// The second value is how a current is taken.
    pub(super) fn completed(&self, line: &str) -> Option<(Act, Option<Way>)> {
        let act = journal::test_named(line, &self.setting.names)?;
        let way = match &act {
            Act::Read {
                method: Method::Clamp,
                options,
                ..
            } => Some(Way::Clamp {
                turns: options.turns.unwrap_or(1),
            }),
            Act::Read {
                method, options, ..
            } if matches!(method, Method::Draw | Method::Series) => {
                let clamp = self.setting.instruments.clamp.is_some();
                let by = options.by.unwrap_or(if *method == Method::Draw && clamp {
                    By::Clamp
                } else {
                    By::Series
                });
                Some(match by {
                    By::Clamp => Way::Clamp { turns: 1 },
                    By::Series => Way::Series(options.jack.unwrap_or_else(|| self.jack())),
                })
            }
            _ => None,
        };
        Some((act, way))
    }

    /// The jack for a draw where none is named: the one the case asks for, else the large one, and the
    /// small one once a draw has shown that it fits. The large one is also taken where more flows than
    /// the small one takes: whoever names no jack begins high.
    fn jack(&self) -> Jack {
        let meter = self.setting.instruments.meter;
        let has_large = meter.is_some_and(|m| m.amps.is_some());
        let most = meter.and_then(|m| m.milliamps?.most);
        let too_much = most.is_some_and(|most| self.parked.currents()[0] > most.value());
        let fits = |shown: &Shown| {
            let read = shown.current.filter(|_| shown.method == Method::Draw);
            read.zip(most)
                .is_some_and(|(read, most)| read.high() <= most.value())
        };
        if has_large && !too_much && most.is_some() && self.case.readings().iter().any(fits) {
            return Jack::MilliA;
        }
        match self.case.step().test.and_then(|test| test.way) {
            Some(Way::Series(Jack::MilliA)) if too_much && has_large => Jack::A,
            Some(Way::Series(jack)) => jack,
            _ if has_large => Jack::A,
            _ => Jack::MilliA,
        }
    }
}

/// An entry as it is typed in a drill: a reading is left out.
pub(super) fn typed_here(act: &Act, names: &journal::Names) -> String {
    if matches!(act, Act::Read { .. } | Act::Look { .. }) {
        return typed_of(act, names);
    }
    journal::write_with(act, names)
}

/// A test in canonical words, without its reading.
pub(super) fn typed_of(act: &Act, names: &journal::Names) -> String {
    let (method, point) = match act {
        Act::Read { method, point, .. } => (*method, point),
        Act::Look { point, .. } => (Method::Look, point),
        _ => return String::new(),
    };
    if *point == Point::Battery {
        return "draw".to_owned();
    }
    let skip = Act::Skip {
        method,
        point: point.clone(),
        reason: String::new(),
    };
    let text = journal::write_with(&skip, names);
    text.strip_prefix("skip ")
        .unwrap_or_else(|| word(method))
        .trim()
        .to_owned()
}

/// A refusal whose line that works has no reading: here the vehicle gives it.
pub(super) fn without_reading(mut refusal: Refusal) -> Refusal {
    if let Wrong::NoPoint { .. } = refusal.wrong {
        return refusal;
    }
    let words: Vec<&str> = refusal.works.split(' ').collect();
    if let Some((last, rest)) = words.split_last()
        && (last.starts_with(|c: char| c.is_ascii_digit()) || *last == "yes")
    {
        refusal.works = rest.join(" ");
    }
    refusal
}
