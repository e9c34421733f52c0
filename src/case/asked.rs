//! What a person is asked to do, as a value: the step with its place, minutes and instrument.

use super::cost;
use super::facts::TakenOut;
use super::fold::Now;
use super::next::Located;
use super::table::{self, Plan, Reading};
use super::taking_out::TakeOut;
use super::{Case, Entry, taken_by};
use crate::feeds::{Named, PartId, PlaceId};
use crate::interval::Interval;
use crate::journal::{self, Act, Point};
use crate::judgement::Judgement;
use crate::measurement::{self, Method, Way};
use crate::quantity::Milliamps;
use crate::suspects::Subject;
use crate::vehicle::PartKind;

/// A fuse carries this much of its rating for an hour and more (from memory).
const CARRIES: f64 = 1.35;

/// What a display shows if the drain is there, if a part of it is, and if it is not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expect {
    /// From and to, if it is.
    pub carrying: (f64, f64),
    /// From and to, if a part of it is, where somebody who keeps others awake would show so.
    pub some: Option<(f64, f64)>,
    /// From and to, if it is not.
    pub not: (f64, f64),
    /// In mV; else in mA.
    pub millivolts: bool,
}

/// What a person does next.
#[derive(Clone, Debug, PartialEq)]
pub struct TestPlan {
    /// How.
    pub method: Method,
    /// Where, as it is typed; several go together.
    pub points: Vec<String>,
    /// The part it is about, if one.
    pub part: Option<PartId>,
    /// Where one stands.
    pub place: Option<PlaceId>,
    /// Minutes of this step with reach.
    pub minutes: f64,
    /// The chance that it wakes the vehicle.
    pub disturbs: f64,
    /// What to type before the reading.
    pub entry: String,
    /// How a current is taken.
    pub way: Option<Way>,
    /// What the display shows if the drain is there, and if not.
    pub expect: Option<Expect>,
    /// The most that may flow in what is parted, or through the meter in line, in mA; `None` where nothing is known
    /// of it.
    pub flows: Option<f64>,
}

impl TestPlan {
    /// Something to do that is typed as `entry`, with nothing else known of it.
    pub(super) fn new(method: Method, entry: String) -> Self {
        Self {
            method,
            points: Vec::new(),
            part: None,
            place: None,
            minutes: 0.0,
            disturbs: 0.0,
            entry,
            way: None,
            expect: None,
            flows: None,
        }
    }
}

impl Case<'_> {
    /// What was taken out, or put back, by an entry, as the step that would have asked for it; `None` for any other
    /// entry. Linear in the entries.
    pub fn as_asked(&self, entry: &Entry) -> Option<TestPlan> {
        let feeds = &self.setting().feeds;
        let (points, unplugged) = match &entry.act {
            Act::Pull(points) => (points, false),
            Act::Unplug(points) => (points, true),
            Act::Refit(points) => return Some(self.as_refit(entry.number, points)),
            _ => return None,
        };
        let ways = points.iter().map(|point| {
            let parts = taken_by(feeds, point, unplugged);
            TakeOut {
                point: point.clone(),
                unplugged,
                place: parts.first().and_then(|part| feeds.place(*part)),
                parts,
            }
        });
        let ways: Vec<TakeOut> = ways.collect();
        // What may flow there is known from when it was in.
        let before = self.before(entry.number);
        Some(before.now.out_test(&ways.iter().collect::<Vec<_>>()))
    }

    /// The case as it was when that entry came.
    fn before(&self, entry: u32) -> Self {
        let counting = self.counting().into_iter();
        let later: Vec<u32> = counting.filter(|number| *number >= entry).collect();
        self.without(&later)
    }

    /// What went back in by that entry.
    fn as_refit(&self, entry: u32, points: &[Point]) -> TestPlan {
        let before = self.before(entry);
        let back = before.now.going_back(points);
        before.now.refit_test(&back)
    }
}

impl Now<'_> {
    /// Whether a switch without a plug feeds fuses: what switches off the whole vehicle is no connector of
    /// anything below it.
    fn feeds_fuses(&self, part: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let switch = feeds.part(part);
        let fuse = |below: u32| {
            let kind = feeds.part(PartId(below)).kind;
            matches!(kind, PartKind::Fuse | PartKind::Link)
        };
        switch.kind == PartKind::Switch && switch.plug.is_none() && feeds.subtree(part).any(fuse)
    }

    /// A reading at a part.
    pub(super) fn at_part(&self, method: Method, part: PartId) -> TestPlan {
        let feeds = &self.setting.feeds;
        let place = feeds.place(part);
        let id = feeds.id(part).to_owned();
        TestPlan {
            part: Some(part),
            place,
            minutes: self.setting.minutes(method) + cost::reach(feeds, place, &self.open),
            points: vec![id.clone()],
            ..TestPlan::new(method, format!("{} {id}", journal::word(method)))
        }
    }

    /// The total, taken as suits what is expected; finely where that is asked for and possible.
    pub(super) fn draw_test(
        &self,
        expected: Option<Interval<Milliamps>>,
        fine: bool,
    ) -> Option<TestPlan> {
        let way = self.way_of_draw(expected, fine)?;
        let most = self.with_what_comes(expected).map(Interval::high);
        let in_line = !matches!(way, Way::Clamp { .. });
        let takes = self.jack_takes(way).filter(|_| in_line);
        let beyond = most
            .zip(takes)
            .is_some_and(|(most, takes)| most > takes.value());
        Some(TestPlan {
            points: vec![self.name(&Point::Battery)],
            part: Some(PartId(0)),
            minutes: self.setting.minutes(Method::Draw),
            place: self.setting.feeds.place(PartId(0)),
            // What no jack takes is not let through the meter.
            way: Some(way).filter(|_| !beyond),
            flows: most,
            ..TestPlan::new(Method::Draw, "draw".to_owned())
        })
    }

    /// How the total is taken, where that is possible: by what takes the draw that is expected, and what may come
    /// meanwhile.
    pub(super) fn way_of_draw(
        &self,
        expected: Option<Interval<Milliamps>>,
        fine: bool,
    ) -> Option<Way> {
        let expected = self.with_what_comes(expected);
        self.setting.way_of_draw(expected, fine)
    }

    /// The most that may flow in one of these that are parted now, in mA: no more than the draw, nor than a fuse on
    /// the way carries for long.
    fn may_flow(&self, parts: &[PartId]) -> Option<f64> {
        let feeds = &self.setting.feeds;
        let draw = self.draws.last()?.flows.high();
        let view = self.view(&self.out_set());
        let rated = |part: PartId| {
            let way = feeds.path(part).into_iter();
            let rated = way.filter_map(|part| feeds.part(part).rating.as_ref());
            rated
                .map(|rating| rating.value.value() * CARRIES)
                .fold(draw, f64::min)
        };
        let flows = parts
            .iter()
            .map(|part| view.current(*part).high().min(rated(*part)));
        flows.reduce(f64::max)
    }

    /// A look at an input, at its own plug where the file gives it as a part.
    pub(super) fn look_at(&self, name: &str) -> TestPlan {
        let part = match self.setting.feeds.find(name) {
            Some(Named::Part(part)) => Some(*part),
            _ => None,
        };
        TestPlan {
            part,
            place: part.and_then(|part| self.setting.feeds.place(part)),
            minutes: self.setting.minutes(Method::Look),
            points: vec![name.to_owned()],
            ..TestPlan::new(Method::Look, format!("look {name}"))
        }
    }

    /// A reading at a part, with what the display shows either way.
    pub(super) fn reading_test(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        reading: Reading,
    ) -> TestPlan {
        let Reading {
            method, way, part, ..
        } = reading;
        let (carrying, not) = table::expected(self, judged, part, plan.focus());
        let some = reading.some.map(|some| not.plus(some));
        let shown = |current| self.shown(method, way, part, current);
        let expect = match (shown(carrying), shown(not)) {
            (Some(carrying), Some(not)) => Some(Expect {
                carrying,
                some: some.and_then(shown),
                not,
                millivolts: method == Method::Drop,
            }),
            _ => None,
        };
        TestPlan {
            way,
            expect,
            ..self.at_part(method, part)
        }
    }

    /// A reading by something that is let in in the place of a fuse, with what the display shows either
    /// way.
    pub(super) fn letting_in_test(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        reading: Reading,
    ) -> TestPlan {
        let test = match reading.way {
            Some(way) => self.let_in_test(way, reading.part),
            None => self.at_part(reading.method, reading.part),
        };
        let read = self.reading_test(plan, judged, reading);
        TestPlan {
            expect: read.expect,
            ..test
        }
    }

    /// A reading by something that is let in in the place of a fuse.
    pub(super) fn let_in_test(&self, way: Way, part: PartId) -> TestPlan {
        let (method, turns) = match way {
            Way::Clamp { turns } => (Method::Clamp, format!(" turns {turns}")),
            Way::Series(_) => (Method::Series, String::new()),
        };
        let test = self.at_part(method, part);
        let reach = cost::reach(&self.setting.feeds, test.place, &self.open);
        TestPlan {
            way: Some(way),
            minutes: self.setting.minutes(Method::Series) + reach,
            disturbs: self.setting.chance_of_waking(&[part]),
            entry: format!("{}{turns}", test.entry),
            ..test
        }
    }

    /// Taking something out, or several things of one place together.
    pub(super) fn out_test(&self, ways: &[&TakeOut]) -> TestPlan {
        let feeds = &self.setting.feeds;
        let method = ways.first().map_or(Method::Pull, |way| way.method());
        let place = ways.first().and_then(|way| way.place);
        let parts: Vec<PartId> = ways.iter().flat_map(|way| way.parts.clone()).collect();
        let names: Vec<String> = ways.iter().map(|way| self.name(&way.point)).collect();
        let each = self.setting.minutes(method) * ways.len() as f64;
        let entry = format!("{} {}", journal::word(method), names.join(", "));
        TestPlan {
            part: parts.first().copied(),
            place,
            minutes: each + cost::reach(feeds, place, &self.open),
            disturbs: self.one_wakes(ways.iter().copied()),
            flows: self.may_flow(&parts),
            points: names,
            ..TestPlan::new(method, entry)
        }
    }

    /// Putting things back in.
    pub(super) fn refit_test(&self, taken: &[&TakenOut]) -> TestPlan {
        let feeds = &self.setting.feeds;
        let names: Vec<String> = taken.iter().map(|t| t.name.clone()).collect();
        let parts: Vec<PartId> = taken.iter().flat_map(|t| t.parts.clone()).collect();
        let entry = format!("refit {}", names.join(", "));
        let ways: Vec<TakeOut> = taken.iter().map(|t| TakeOut::again(feeds, t)).collect();
        let mut places = parts.iter().map(|part| feeds.place(*part));
        let first = places.next().flatten();
        TestPlan {
            part: parts.first().copied(),
            // Where all of it is at one place that is said; of several nobody needs to be sent to the first alone.
            place: first.filter(|_| places.all(|place| place == first)),
            minutes: self.setting.minutes(Method::Refit) * taken.len() as f64,
            disturbs: self.one_wakes(&ways),
            points: names,
            ..TestPlan::new(Method::Refit, entry)
        }
    }

    /// The branch of a suspect: the path down to it, its excess, and the plugs to part.
    pub(super) fn located(&self, subject: &Subject, judged: &Judgement<'_>) -> Located {
        let feeds = &self.setting.feeds;
        let seat = match subject {
            Subject::Part(part) | Subject::Unlisted(part) => Some(*part),
            Subject::Module(module) => feeds.module_feeds(*module).first().copied(),
            Subject::Input(name) => match feeds.find(name) {
                Some(Named::Part(part)) => Some(*part),
                _ => None,
            },
        };
        let id = subject.id(feeds);
        let path = seat.map(|p| feeds.path(p)).unwrap_or_default();
        let mut unplug = Vec::new();
        if let (Subject::Input(name), None) = (subject, seat) {
            unplug.push(name.clone());
        }
        for part in path.iter().rev() {
            let written = feeds.part(*part);
            let offered = measurement::offered(feeds, *part);
            if !offered.contains(&Method::Unplug) || self.feeds_fuses(*part) {
                continue;
            }
            let name = match &written.plug {
                Some(plug) => plug.value.clone(),
                None if written.kind == PartKind::Output => continue,
                None => written.id.value.clone(),
            };
            if !unplug.contains(&name) {
                unplug.push(name);
            }
        }
        let excess = seat.map_or_else(Interval::not_negative, |p| judged.excess(p));
        Located {
            id,
            path,
            excess,
            unplug,
        }
    }
}
