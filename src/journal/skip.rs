//! What is passed over: one test, several of a kind, or all that is at a place.

use crate::feeds::{Named, PartId};
use crate::journal::line::{free, past_marks, past_separator, unquote, word_at};
use crate::journal::measured::thing;
use crate::journal::names::Found;
use crate::journal::parsing::{Fault, PLACE, Parser, asleep, method};
use crate::journal::{Act, Point, Wrong, word};
use crate::measurement::Method;

impl Parser<'_> {
    /// `skip METHOD POINT REASON`: an act for each point. The points end where no comma or `and`
    /// is followed by another name. `skip place PLACE REASON`: all that is there; without its name, where the
    /// pending test is.
    pub(super) fn skip(&self, rest: &str) -> Result<Vec<Act>, Fault> {
        let (first, behind) = word_at(rest);
        let lower = first.to_lowercase();
        if lower == PLACE {
            return self.skip_place(behind);
        }
        let method = match method(&lower) {
            Some(method) => method,
            None if asleep(rest).is_some() => Method::Wait,
            None if first.is_empty() => return Err(Wrong::NoPoint { word: "skip" }.into()),
            None => return Err(self.skip_what(rest)),
        };
        if matches!(
            method,
            Method::Draw | Method::Zero | Method::Wait | Method::Log
        ) {
            return Ok(vec![Act::Skip {
                method,
                point: Point::Battery,
                reason: free(behind),
            }]);
        }
        let names_at = |text: &str| match method {
            Method::Open => self.names.places_at(text),
            _ => self.names.things_at(text),
        };
        let longest =
            |text: &str| -> Result<Option<Found>, Wrong> { Ok(names_at(text)?.into_iter().next()) };
        let mut rest = past_marks(behind);
        let Some(mut found) = longest(rest)? else {
            return Err(self.skip_where(method, rest));
        };
        let mut points = Vec::new();
        loop {
            let point = self.skipped(method, &found)?;
            if !points.contains(&point) {
                points.push(point);
            }
            rest = &rest[found.length..];
            let tail = past_marks(rest);
            let comma = rest[..rest.len() - tail.len()].contains(',');
            let next = past_separator(tail).or(comma.then_some(tail));
            match next.map(longest) {
                Some(Ok(Some(another))) => {
                    found = another;
                    rest = next.unwrap_or("");
                }
                _ => break,
            }
        }
        let reason = free(past_marks(rest));
        let acts = points.into_iter().map(|(method, point)| Act::Skip {
            method,
            point,
            reason: reason.clone(),
        });
        Ok(acts.collect())
    }

    fn skip_place(&self, rest: &str) -> Result<Vec<Act>, Fault> {
        let rest = past_marks(rest);
        let found = self.names.places_at(rest)?;
        let here = || self.names.places_at(self.place?).ok()?.into_iter().next();
        let (place, behind) = match found.into_iter().next() {
            Some(found) => (thing(&found), &rest[found.length..]),
            None => match here() {
                Some(found) => (thing(&found), rest),
                None => return Err(self.skip_nowhere(rest)),
            },
        };
        Ok(vec![Act::Skip {
            method: Method::Open,
            point: place,
            reason: free(past_marks(behind)),
        }])
    }

    /// What is skipped; a clamp or a meter in series at the battery is a draw.
    fn skipped(&self, method: Method, found: &Found) -> Result<(Method, Point), Fault> {
        match method {
            Method::Clamp | Method::Series if found.named == Named::Part(PartId(0)) => {
                Ok((Method::Draw, Point::Battery))
            }
            Method::Drop | Method::Clamp | Method::Series | Method::Volts => self
                .wire(word(method), found)
                .map(|point| (method, point))
                .map_err(|(wrong, wire)| {
                    let works = wire.map(|wire| format!("skip {} {wire} no access", word(method)));
                    Fault { wrong, works }
                }),
            _ => Ok((method, thing(found))),
        }
    }

    /// The fault of `skip` without a method.
    fn skip_what(&self, rest: &str) -> Fault {
        match self.names.things_at(rest).unwrap_or_default().first() {
            Some(found) => Fault::new(
                Wrong::NoPoint { word: "skip" },
                match self.wire_of(found) {
                    Some(wire) => format!("skip drop {wire} no access"),
                    None => format!("skip look {} no access", self.plain(&found.name)),
                },
            ),
            None => Wrong::NoPoint { word: "skip" }.into(),
        }
    }

    /// The fault of `skip` with a method and no known name.
    fn skip_where(&self, method: Method, rest: &str) -> Fault {
        if rest.is_empty() {
            return Wrong::NoPoint { word: "skip" }.into();
        }
        let typed = unquote(rest).map_or_else(|| rest.to_owned(), |(name, _)| name);
        let (typed, near) = self.nearest(&typed);
        let works = near
            .as_ref()
            .map(|name| format!("skip {} {} no access", word(method), self.plain(name)));
        let wrong = Wrong::UnknownName {
            typed,
            nearest: near,
        };
        Fault { wrong, works }
    }

    /// The fault of `skip place` without a place.
    fn skip_nowhere(&self, rest: &str) -> Fault {
        let typed = unquote(rest).map_or_else(|| rest.to_owned(), |(name, _)| name);
        let near = self.names.nearest_place(&typed).map(str::to_owned);
        let some = near
            .clone()
            .or_else(|| self.names.places().next().map(str::to_owned));
        let works = some.map(|place| {
            let place = self.place_spelled(&place);
            format!("skip {PLACE} {place} no access")
        });
        let wrong = if rest.is_empty() {
            Wrong::NoPoint { word: "skip" }
        } else {
            Wrong::UnknownName {
                typed,
                nearest: near,
            }
        };
        Fault { wrong, works }
    }
}
