//! Where the probes are: what is read there before they leave it.
//!
//! **Model.** The next fuse of an open box takes a third of a minute; a walk, a panel, a ladder or a settle takes many,
//! and all of it is in vain where that fuse was it. The plan counts with readings that tell for certain; one that only
//! may tell, or could be no more than a part of the drain, is no test of it. So before the probes leave, what is left
//! in the box is read, as the trade does it: each fuse whose share of the odds, times the minutes of what comes next, is
//! more than those of reading it.

use super::cost;
use super::fold::Now;
use super::hangs::WORTH_TWICE;
use super::next::{Next, Reason, State};
use super::table::{Plan, Reading, may_tell, proof_minutes};
use crate::feeds::{PartId, PlaceId};
use crate::judgement::Judgement;
use crate::measurement::Method;
use crate::planner::Step;
use crate::vehicle::PartKind;

/// Minutes of what comes next where the plan has nothing more to do: all that follows is a guess (judgement).
const NOTHING_LEFT: f64 = 30.0;
/// Where all but so much of the odds is behind it a reading tells nothing new (judgement).
const SURE: f64 = 0.9;

impl Now<'_> {
    /// The part the probes are at: where a drop or volts were read last; `None` before that.
    fn probes_at(&self) -> Option<PartId> {
        let by_probes = |method: Method| matches!(method, Method::Drop | Method::Volts);
        let mut read = self.shown.iter().rev();
        let last = read.find(|shown| by_probes(shown.method) && shown.part != PartId(0))?;
        Some(last.part)
    }

    /// Whether a step is anything but a reading with the probes where they are.
    pub(super) fn leaves(&self, next: &Next) -> bool {
        let Some(last) = self.probes_at() else {
            return false;
        };
        let here = self.setting.feeds.place(last);
        !next.test.as_ref().is_some_and(|test| {
            matches!(test.method, Method::Drop | Method::Volts) && test.place == here
        })
    }

    /// What is left to read where the probes are, the likeliest first, before a step that leaves that place.
    pub(super) fn rest_of_the_box(
        &self,
        plan: &Plan<'_>,
        judged: &Judgement<'_>,
        step: Option<Step>,
    ) -> Option<Next> {
        let feeds = &self.setting.feeds;
        let here = feeds.place(self.probes_at()?);
        if let Some(check) = self.shown_live() {
            return Some(self.asleep_first(|| self.check_zero((Method::Drop, check))));
        }
        let at_stake = self.minutes_of(plan, step, here);
        let near = |part: &PartId| {
            let fuse = feeds.part(*part).kind == PartKind::Fuse;
            fuse && feeds.place(*part) == here && plan.focus().holds(feeds, *part)
        };
        let below = feeds.subtree(plan.focus().top).map(PartId).skip(1);
        let shares = below.filter(near).filter_map(|part| {
            let share = plan.share_below(self, part);
            let minutes = WORTH_TWICE * self.setting.minutes(Method::Drop);
            let worth = share < SURE && share * at_stake > minutes;
            let reading = Reading::of(Method::Drop, part);
            let open = || self.may_read(Method::Drop, part);
            (worth && open() && may_tell(self, judged, reading, plan.focus()))
                .then_some((part, share))
        });
        let (part, _) = shares.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
        let reading = Reading::of(Method::Drop, part);
        Some(self.asleep_first(|| Next {
            test: Some(self.reading_test(plan, judged, reading)),
            ..self.bare(State::Measure, Reason::BeforeLeaving(part))
        }))
    }

    /// Where volts were read last, at a nothing that counts once the drop is read again.
    fn shown_live(&self) -> Option<PartId> {
        let last = self
            .shown
            .last()
            .filter(|shown| shown.method == Method::Volts)?;
        let zero = self.zeros.get(&last.part)?;
        let open = !self.is_skipped(Method::Drop, self.setting.feeds.id(last.part));
        (zero.live && zero.method == Method::Drop && open).then_some(last.part)
    }

    /// Minutes of a step with its settle, the way to it, and the probes carried there and back.
    fn minutes_of(&self, plan: &Plan<'_>, step: Option<Step>, here: Option<PlaceId>) -> f64 {
        let (minutes, place) = match step {
            Some(Step::Test(test)) => {
                let row = &plan.table.tests[test];
                (row.minutes, row.place.map(|at| plan.places[at]))
            }
            Some(step @ Step::Prove(_)) => match plan.proof(step) {
                Some((_, way)) => (proof_minutes(self, way).1, way.place),
                None => return NOTHING_LEFT,
            },
            None => return NOTHING_LEFT,
        };
        let carried = if place == here {
            0.0
        } else {
            2.0 * self.setting.carry_minutes()
        };
        minutes + carried + cost::reach(&self.setting.feeds, place, &self.open)
    }
}
