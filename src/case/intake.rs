//! The intake of a case: the days told, the battery at rest, and what both let expect of the draw.

use super::Case;
use super::asked::TestPlan;
use super::facts::Question;
use super::fold::Now;
use super::next::{Next, Reason, State};
use crate::battery::{self, Allowed, Comparison, Intake, Rested, Size};
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::journal;
use crate::ledger::Out;
use crate::measurement::{Method, Reading, Way};
use crate::quantity::{Days, Milliamps, Millivolts};
use crate::suspects::Told;
use crate::vehicle::PartKind;

/// How far a draw may be from what all modules take awake to look like it (judgement).
const LIKE_AWAKE: f64 = 0.2;

/// Two batteries in series that differ by more than this at rest, in V, are not drained alike (judgement).
const APART: f64 = 0.3;

impl Now<'_> {
    /// One of several batteries at rest: where one of two in series is lower, something draws from that one alone.
    pub(super) fn battery_rests_at(&mut self, name: &str, volts: f64) {
        let feeds = &self.setting.feeds;
        let called = |part: &PartId| {
            let written = feeds.part(*part);
            let names = [Some(feeds.id(*part)), written.name.as_deref()];
            let is_it = |known: &&str| known.eq_ignore_ascii_case(name);
            written.kind == PartKind::Battery && names.iter().flatten().any(is_it)
        };
        let Some(battery) = feeds.parts().find(called) else {
            return;
        };
        self.batteries.insert(battery, volts);
        if let Some((low, high)) = self.lower_battery() {
            let alone = self.tapped(low.0, high.0);
            let alone = alone.flat_map(|top| feeds.subtree(top)).map(PartId);
            let loads = alone.filter(|part| feeds.part(*part).kind == PartKind::Load);
            let asked = Question::OneBatteryLower(low, high, loads.collect());
            self.questions.push(asked);
        }
    }

    /// Of two batteries in series that differ at rest the lower one and the other, each with its volts, as they were
    /// told.
    pub(super) fn lower_battery(&self) -> Option<((PartId, f64), (PartId, f64))> {
        let feeds = &self.setting.feeds;
        let told = || self.batteries.iter().map(|(part, volts)| (*part, *volts));
        let in_series =
            |one: PartId, other: PartId| feeds.is_below(one, other) || feeds.is_below(other, one);
        told().find_map(|low| {
            let above = |high: &(PartId, f64)| in_series(low.0, high.0) && high.1 - low.1 > APART;
            Some((low, told().find(above)?))
        })
    }

    /// What hangs on the lower of two batteries and not on the upper one, a tap between the two: its topmost parts.
    fn tapped(&self, low: PartId, high: PartId) -> impl Iterator<Item = PartId> + use<'_> {
        let feeds = &self.setting.feeds;
        let below = feeds.is_below(high, low);
        let taps = feeds
            .children(low)
            .filter(move |top| !feeds.is_below(high, *top));
        taps.filter(move |_| below)
    }

    /// A tap on the lower one of two batteries in series, where one is lower than the other at rest.
    pub(super) fn tap_of_the_lower(&self) -> Option<PartId> {
        let (low, high) = self.lower_battery()?;
        self.tapped(low.0, high.0).next()
    }

    /// The step where the draw is within the limit at one post, and one of two batteries is low by itself: the draw at
    /// its own lead, which carries what is tapped between them too, and then each tap.
    pub(super) fn at_the_lower_battery(&self) -> Option<Next> {
        let (low, high) = self.lower_battery()?;
        let mut taps = self.tapped(low.0, high.0).peekable();
        taps.peek()?;
        if !self.still && self.may_draw() {
            // How much flows there nobody knows.
            return Some(self.asleep_first(|| {
                let mut next = self.bare(State::Measure, Reason::OtherPost(low.0));
                next.test = self.draw_test(None, false);
                next
            }));
        }
        let test = taps.find_map(|tap| self.read_the_tap(tap))?;
        Some(self.asleep_first(|| {
            let mut next = self.bare(State::Measure, Reason::AtTheTap(low.0));
            next.test = Some(test.clone());
            next
        }))
    }

    /// A reading at a tap that was not taken: a clamp round its wire, else a drop.
    fn read_the_tap(&self, tap: PartId) -> Option<TestPlan> {
        let setting = self.setting;
        let name = setting.feeds.id(tap).to_owned();
        let open = |method: Method| {
            let point = (method, name.clone());
            !self.taken.contains(&point) && !self.skipped.contains(&point)
        };
        let clamp = setting.instruments.clamp.is_some() && setting.jaws_close(tap);
        let drop = setting.offered[tap.index()].contains(&Method::Drop);
        let method = match (clamp, drop) {
            (true, _) => Method::Clamp,
            (_, true) => Method::Drop,
            _ => return None,
        };
        let read = open(Method::Clamp) && open(Method::Drop);
        let way = (method == Method::Clamp).then_some(Way::Clamp { turns: 1 });
        read.then(|| TestPlan {
            way,
            ..self.at_part(method, tap)
        })
    }

    /// Asks once whether the preparation was done, where a draw comes without it.
    pub(super) fn was_it_prepared(&mut self) {
        if std::mem::replace(&mut self.said_prepared, true) {
            return;
        }
        let feeds = &self.setting.feeds;
        let wakes = |place: &PlaceId| feeds.place_as_written(*place).wakes;
        let places = feeds.places().filter(wakes).collect();
        self.questions.push(Question::NotPrepared(places));
    }

    /// The draw fell once the vehicle was prepared for the first time, with nothing out before: what was read until then
    /// is of an awake vehicle, and no drain.
    pub(super) fn was_awake_unprepared(&mut self) {
        let Some(first) = self.first_prepared else {
            return;
        };
        let before = self.over.as_ref().is_some_and(|over| over.entry < first);
        if !before || !self.pulls.is_empty() || !self.found.is_empty() {
            return;
        }
        self.over = None;
        for shown in self.shown.iter_mut().filter(|shown| shown.entry < first) {
            (shown.asleep, shown.taken) = (false, false);
        }
    }

    /// The days to flat, as they were told last.
    fn days_told(&self) -> Option<Days> {
        let days = |told: &Told| {
            let key = told.key.as_deref() == Some("days");
            key.then(|| journal::days(&told.text)).flatten()
        };
        self.told.iter().rev().find_map(days)
    }

    /// The draw that the days to flat let expect, where they and the battery's size are known.
    pub(super) fn expected(&self) -> Option<Interval<Milliamps>> {
        Some(battery::draw_in(
            self.days_told()?,
            Size::of(&self.setting.feeds)?.capacity(),
        ))
    }

    /// What a first settled draw makes one ask by the file, and by what was told.
    pub(super) fn against_the_file(&mut self, draw: Interval<Milliamps>, out: &Out) {
        self.against_the_days(draw, out);
        self.as_if_awake(draw, out);
        let healthy = &self.setting.healthy;
        let (usual, limit) = (healthy.usual(), healthy.limit());
        if out.is_empty() && draw.low() > limit && usual > limit {
            self.questions.push(Question::UsualOverLimit(usual, limit));
        }
    }

    /// Asks about a settled draw with nothing out that the days do not explain.
    fn against_the_days(&mut self, draw: Interval<Milliamps>, out: &Out) {
        let (Some(days), Some(size)) = (self.days_told(), Size::of(&self.setting.feeds)) else {
            return;
        };
        let capacity = size.capacity();
        let draw = self.on_average(draw);
        let explains = battery::explains(draw, days, capacity);
        if out.is_empty() && explains != Comparison::Fits {
            let expected = battery::draw_in(days, capacity);
            self.questions.push(Question::DaysDiffer(draw, expected));
        }
    }

    /// Asks about a first settled draw of about what several modules take awake by the file: said to sleep too
    /// early, or held awake. It is one kind of drain, and the other is none.
    fn as_if_awake(&mut self, draw: Interval<Milliamps>, out: &Out) {
        let sum = self.takes_awake().filter(|sum| like_awake(draw, *sum));
        let over = draw.low() > self.setting.healthy.limit();
        if let Some(sum) = sum.filter(|_| out.is_empty() && over) {
            self.questions.push(Question::AsIfAwake(draw, sum));
        }
    }

    /// Whether the draw with nothing out is about what several modules take awake.
    pub(super) fn is_as_if_awake(&self) -> bool {
        let draw = self.draw_with(&Out::default());
        let both = draw.zip(self.takes_awake());
        both.is_some_and(|(draw, sum)| like_awake(draw.current, sum))
    }

    /// What the modules take awake together by the file, in mA, where it says it of several.
    fn takes_awake(&self) -> Option<f64> {
        let feeds = &self.setting.feeds;
        let each = feeds
            .modules()
            .filter_map(|module| feeds.module(module).awake);
        let each: Vec<f64> = each.map(Milliamps::value).collect();
        (each.len() > 1).then(|| each.iter().sum())
    }

    /// Takes in what the battery showed at rest.
    pub(super) fn rests_at(&mut self, volts: Millivolts) {
        self.rested = Some(Rested { volts });
        self.questions.extend(self.battery_question());
    }

    /// Volts at the battery before the first draw is believed: what it shows at rest.
    pub(super) fn volts_at_battery(&mut self, reading: &Reading) {
        let volts = Millivolts::of(f64::midpoint(reading.low, reading.high));
        if !self.believed && !reading.over && volts > Millivolts::of(1000.0) {
            self.rests_at(volts);
        }
    }

    /// What is to be asked about the battery, as it showed itself last.
    fn battery_question(&self) -> Option<Question> {
        let rested = self.rested?;
        if rested.is_low() {
            Some(Question::BatteryLow(rested))
        } else {
            rested
                .is_charging()
                .then_some(Question::BatteryCharging(rested))
        }
    }

    /// The same before a first draw is believed: until then it is asked at every step.
    pub(super) fn before_the_baseline(&self) -> Option<Question> {
        let asked = self.battery_question().filter(|_| !self.believed);
        asked.filter(|asked| !self.questions.contains(asked))
    }
}

impl Case<'_> {
    /// Of two batteries in series that differ at rest the lower one, with its volts, and the volts of the other.
    pub fn lower_battery(&self) -> Option<(PartId, f64, f64)> {
        let ((low, at), (_, volts)) = self.now.lower_battery()?;
        Some((low, at, volts))
    }

    /// The battery arithmetic of this case: what was told, and the latest settled draw with nothing out.
    pub fn intake(&self) -> Intake {
        let now = &self.now;
        Intake {
            size: Size::of(&self.setting.feeds),
            rested: now.rested,
            days: now.days_told(),
            draw: now.draw_with(&Out::default()).map(|draw| draw.current),
            allowed: Allowed::of(&self.setting.feeds),
        }
    }
}

/// Whether a draw is about what so much is, in mA.
fn like_awake(draw: Interval<Milliamps>, sum: f64) -> bool {
    draw.touches(Interval::between(
        (1.0 - LIKE_AWAKE) * sum,
        (1.0 + LIKE_AWAKE) * sum,
    ))
}
