//! A test that a person chooses and that cannot tell: what would.

use super::asked::{Expect, TestPlan};
use super::facts::Question;
use super::fold::Now;
use super::regions::focus;
use super::table::{self, Reading as At, told_apart};
use super::{Case, readings};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::{self, Act, Point, Refusal};
use crate::judgement::Standing;
use crate::measurement::{Jack, Method, Need, Way, lets_in, offered, would_need};
use crate::quantity::Milliamps;

/// A test that shows the same whether the drain is there or not.
#[derive(Clone, Debug, PartialEq)]
pub struct Blind {
    /// Where.
    pub part: PartId,
    /// How.
    pub method: Method,
    /// What could still hide there, in mA.
    pub hides: f64,
    /// What at hand would tell there.
    pub at_hand: Option<Method>,
    /// What would tell, where nothing at hand does.
    pub needs: Vec<Need>,
}

/// A test that a person names without its reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// The test, with what the display shows either way where a draw is believed.
    pub test: TestPlan,
    /// It cannot tell.
    pub blind: Option<Blind>,
    /// What it is read on is not at hand.
    pub lacking: bool,
    /// The jaws of the clamp do not shut round that wire.
    pub too_thick: bool,
}

impl Now<'_> {
    /// Whether a reading at a part, where the part is still in question, would show the same whether the
    /// drain is there or not. Costs some hundred trials where it would.
    fn blind(&self, method: Method, way: Way, part: PartId) -> Option<Blind> {
        let setting = self.setting;
        let current = matches!(method, Method::Drop | Method::Clamp | Method::Series);
        if !current || !self.believed || part == PartId(0) {
            return None;
        }
        let judged = self.judged_base();
        if judged.standing(part) != Standing::InQuestion {
            return None;
        }
        let region = focus(self, &judged);
        let (carrying, not) = table::expected(self, &judged, part, &region);
        let shown = |current| self.shown(method, Some(way), part, current);
        // Without an instrument it is said that it says nothing; where the two meet nobody could tell.
        let (there, gone) = (shown(carrying)?, shown(not)?);
        if there.0 > gone.1 || !carrying.above(not) {
            return None;
        }
        let offers = offered(&setting.feeds, part);
        let tells = |other: &Method| {
            offers.contains(other) && told_apart(self, &judged, At::of(*other, part), &region)
        };
        let at_hand = (&setting.instruments, self.temperature);
        Some(Blind {
            part,
            method,
            hides: judged.hides(part),
            at_hand: [Method::Drop, Method::Clamp].into_iter().find(tells),
            needs: would_need(&setting.feeds, part, carrying, not, at_hand),
        })
    }

    /// What is to be asked about the latest entry, where it is a reading that could not tell.
    pub(super) fn blind_reading(&self) -> Option<Question> {
        let (method, way, part, typed) = self.latest.filter(|_| self.asleep)?;
        let blind = self.blind(method, way, part).map(Question::Blind);
        blind.or_else(|| self.fewer_digits(method, part, typed))
    }

    /// A drop that was typed with fewer digits than the meter shows, where it left the part in question.
    fn fewer_digits(&self, method: Method, part: PartId, typed: f64) -> Option<Question> {
        let step = self.setting.instruments.meter?.millivolts?.step.value();
        let coarser = method == Method::Drop && self.believed && typed > 1.5 * step;
        let open = || self.judged_base().standing(part) == Standing::InQuestion;
        (coarser && open()).then_some(Question::FewerDigits(part, step))
    }

    /// The jack for the meter in series at a part: the small one where the current there is known to suit
    /// it, else the large one.
    fn jack_at(&self, part: PartId) -> Jack {
        let Some(meter) = self.setting.instruments.meter else {
            return Jack::A;
        };
        let most = self.judged_base().view().current(part);
        let most = self.with_what_comes(Some(most));
        let suits = |limit: Milliamps| most.is_some_and(|most| most.high() < limit.value());
        let small = meter.milliamps.and_then(|range| range.most);
        if meter.amps.is_none() || small.is_some_and(suits) {
            Jack::MilliA
        } else {
            Jack::A
        }
    }
}

impl Case<'_> {
    /// A test at a part that is named without its reading, such as `drop F3`: how it is done, what the
    /// display would show, and whether it could tell at all. `None` where the line is none, or where the
    /// part does not offer it.
    ///
    /// # Errors
    /// Where what it takes is not at hand.
    pub fn chosen(&self, line: &str) -> Result<Option<Chosen>, Refusal> {
        let Some(mut act) = journal::test_named(line, &self.setting.names) else {
            return Ok(None);
        };
        if let Act::Read {
            method: Method::Series,
            point: Point::Part(part),
            options,
            ..
        } = &mut act
        {
            options.jack.get_or_insert(self.now.jack_at(*part));
        }
        let act = self.now.complete(act, None, line)?;
        Ok(self.as_chosen(&act))
    }

    fn as_chosen(&self, act: &Act) -> Option<Chosen> {
        let (now, feeds) = (&self.now, &self.setting.feeds);
        let Act::Read {
            method,
            point: Point::Part(part),
            options,
            ..
        } = act
        else {
            return None;
        };
        let (method, part) = (*method, *part);
        let way = readings::way(method, options);
        let let_in = lets_in(feeds, &self.setting.instruments, part, method, way);
        let offers = offered(feeds, part);
        // By a loop in its holder, or round the wire that leads to it.
        let there = (let_in || method == Method::Clamp) && offers.contains(&Method::Series);
        if !offers.contains(&method) && !there {
            return None;
        }
        let mut test = if let_in {
            now.let_in_test(way, part)
        } else {
            now.at_part(method, part)
        };
        test.way = Some(way).filter(|_| matches!(method, Method::Clamp | Method::Series));
        if now.believed && method != Method::Volts {
            let judged = now.judged_base();
            let (carrying, not) = table::expected(now, &judged, part, &focus(now, &judged));
            let shown = |current| now.shown(method, Some(way), part, current);
            let both = shown(carrying).zip(shown(not));
            test.expect = both.map(|(carrying, not)| Expect {
                some: None,
                carrying,
                not,
                millivolts: method == Method::Drop,
            });
        }
        let read = matches!(method, Method::Drop | Method::Clamp | Method::Series);
        let any = || now.shown(method, Some(way), part, Interval::not_negative());
        // Where the two ranges meet at one end only, the other end tells.
        let tells = test.expect.is_some_and(|expect| {
            let least = self.if_shown(&test, part, expect.not.0);
            least.is_some_and(|then| then.standing != Standing::InQuestion)
        });
        Some(Chosen {
            blind: now.blind(method, way, part).filter(|_| !tells),
            lacking: read && any().is_none(),
            too_thick: method == Method::Clamp
                && !let_in
                && self.setting.thickness(part).is_some()
                && !self.setting.jaws_close(part),
            test,
        })
    }
}
