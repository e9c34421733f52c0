//! What an entry leaves open is filled in when it is typed, so that each kept entry is complete in itself.

use super::facts::TakenOut;
use super::fold::Now;
use super::{Case, taken_by};
use crate::journal::{self, Act, By, Options, Point, Refusal, Unfit};
use crate::measurement::{self, Method, Reading, Unit, Way};

impl Case<'_> {
    /// A current that was typed at a part where no clamp is at hand is no total: the line in which the drop
    /// there would stand.
    pub(super) fn at_that_part(&self, refusal: &Refusal, line: &str) -> Option<String> {
        let first = line.split_whitespace().next()?;
        let context = journal::Context::default();
        let clamped = |text: &str| {
            let acts = journal::parse_with(text, &self.setting.names, &context).ok()?;
            match acts.first()? {
                Act::Read {
                    method: Method::Clamp,
                    point: Point::Part(part),
                    ..
                } => Some(*part),
                _ => None,
            }
        };
        let no_clamp = self.setting.instruments.clamp.is_none();
        let typed_there = no_clamp && ["drop", "clamp"].contains(&first);
        let part = typed_there.then(|| clamped(&refusal.works).or_else(|| clamped(line)))??;
        let offers = measurement::offered(&self.setting.feeds, part);
        let name = self.name(&Point::Part(part));
        offers
            .contains(&Method::Drop)
            .then(|| format!("drop {name} 2.1mV"))
    }
}

impl Now<'_> {
    /// Fills in what an act leaves open, and refuses what cannot be; `asked` is the test that is pending,
    /// with how its current is to be taken.
    pub(super) fn complete(
        &self,
        act: Act,
        asked: Option<(Method, Way)>,
        line: &str,
    ) -> Result<Act, Refusal> {
        match act {
            Act::Read {
                method,
                point,
                reading,
                mut options,
            } => {
                let taken_as_current =
                    matches!(method, Method::Draw | Method::Clamp | Method::Series);
                if taken_as_current {
                    let by = match method {
                        Method::Clamp => By::Clamp,
                        Method::Series => By::Series,
                        _ => options
                            .by
                            .unwrap_or_else(|| self.way_of(&reading, &options, asked)),
                    };
                    if by == By::Clamp && self.setting.instruments.clamp.is_none() {
                        let works = self.without_clamp(method, &point, &reading, line);
                        return Err(Refusal::unfit(line, Unfit::NoClamp, works));
                    }
                    if method == Method::Draw {
                        options.by = Some(by);
                    }
                    if by == By::Series && options.jack.is_none() {
                        options.jack = Some(self.jack_for(&reading, asked, line));
                    }
                }
                Ok(Act::Read {
                    method,
                    point,
                    reading,
                    options,
                })
            }
            Act::Refit(_) if self.out.is_empty() => {
                Err(Refusal::unfit(line, Unfit::NothingOut, "asleep"))
            }
            Act::Refit(points) => {
                for point in &points {
                    let known = self.out.iter().any(|t| self.same_point(t, point));
                    if !known {
                        let works = self
                            .out
                            .first()
                            .map_or_else(|| "asleep".to_owned(), |t| format!("refit {}", t.name));
                        return Err(Refusal::unfit(line, Unfit::NotOut, works));
                    }
                }
                Ok(Act::Refit(points))
            }
            other => Ok(other),
        }
    }

    pub(super) fn same_point(&self, taken: &TakenOut, point: &Point) -> bool {
        if taken.point == *point {
            return true;
        }
        let feeds = &self.setting.feeds;
        let parts = taken_by(feeds, point, taken.unplugged);
        !parts.is_empty() && parts.iter().all(|p| taken.parts.contains(p))
    }

    /// A line that needs no clamp, in the place of one that does.
    fn without_clamp(
        &self,
        method: Method,
        point: &Point,
        reading: &Reading,
        line: &str,
    ) -> String {
        let works = line.replace("by clamp", "by series");
        if let (Method::Clamp, Point::Part(part)) = (method, point) {
            let offers = measurement::offered(&self.setting.feeds, *part);
            // A current can be read in another way at most parts; along a cable the drop is.
            if offers.contains(&Method::Drop) && !offers.contains(&Method::Series) {
                return format!("drop {} 2.1mV", self.name(point));
            }
        }
        if works == line {
            format!("draw {} by series", journal::write_reading(reading))
        } else {
            works
        }
    }

    /// How a draw was taken that does not say it: as it was asked for, else as the last one. What only a
    /// clamp shows was read on one.
    fn way_of(&self, reading: &Reading, options: &Options, asked: Option<(Method, Way)>) -> By {
        match asked {
            _ if reading.unit == Unit::Millivolts || options.turns.is_some() => By::Clamp,
            _ if options.jack.is_some() => By::Series,
            Some((Method::Draw, Way::Clamp { .. })) => By::Clamp,
            Some((Method::Draw, Way::Series(_))) => By::Series,
            _ => self.usual_way(),
        }
    }

    fn usual_way(&self) -> By {
        match self.draws.last().map(|d| d.way) {
            Some(Way::Clamp { .. }) => By::Clamp,
            None if self.setting.instruments.clamp.is_some() => By::Clamp,
            Some(Way::Series(_)) | None => By::Series,
        }
    }
}
