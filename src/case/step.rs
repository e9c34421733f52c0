//! A test of the plan as the step at hand: what has to be open, asleep, out or back in for it first.

use super::fold::Now;
use super::next::{Next, Reason, State};
use super::table::{Doing, Plan};
use super::taking_out::TakeOut;
use crate::feeds::PartId;
use crate::judgement::Judgement;
use crate::ledger::Out;

impl<'s> Now<'s> {
    /// The step that a test of the plan is, or what has to be done before it.
    pub(super) fn take_test(
        &self,
        plan: &Plan<'s>,
        judged: &Judgement<'_>,
        test: usize,
        out: &Out,
        base: &Out,
    ) -> Next {
        let feeds = &self.setting.feeds;
        let left = plan.suspects.len();
        let reason = Reason::Parts(left, plan.focus().top);
        match &plan.tests[test] {
            Doing::Out(ways) => {
                let alone = match ways[..] {
                    [way] => self.contact_before(&way.parts),
                    _ => self.drop_before(plan, judged, ways),
                };
                alone.unwrap_or_else(|| self.take_out_first(plan, ways, (out, base), reason))
            }
            Doing::Look(name) => {
                let mut next = self.bare(State::Measure, reason);
                next.test = Some(self.look_at(name));
                next
            }
            doing @ (Doing::At(reading) | Doing::LetIn(reading)) => {
                let part = reading.part;
                // What is searched has been taken out: it goes back first.
                if out.cuts(feeds, part) && out != base {
                    return self.all_back(base, State::Measure);
                }
                let place = feeds.place(part);
                if let Some(next) = self.open_first(place) {
                    return next;
                }
                self.asleep_first(|| {
                    let mut next = self.bare(State::Measure, reason);
                    next.test = Some(self.named_test(plan, judged, doing));
                    next
                })
            }
        }
    }

    /// What comes out for a test, or goes back in where it is out with more.
    fn take_out_first(
        &self,
        plan: &Plan<'s>,
        ways: &[&'s TakeOut],
        (out, base): (&Out, &Out),
        reason: Reason,
    ) -> Next {
        let back = self.to_go_back(ways);
        if !back.is_empty() {
            let mut next = self.bare(State::Measure, Reason::PartBack);
            next.test = Some(self.refit_test(&back));
            return next;
        }
        // With what is searched already out nothing more would fall.
        let now = self.view(out);
        let parts = ways.iter().flat_map(|way| &way.parts);
        let left: f64 = parts.map(|p| now.current(*p).high()).sum();
        let left = left.min(now.current(PartId(0)).high());
        if out != base && left < plan.focus().needed {
            return self.all_back(base, State::Measure);
        }
        let more = self.not_out_yet(ways);
        let reason = match more.len() {
            0 | 1 => reason,
            several => Reason::Together(several),
        };
        let mut next = self.bare(State::Measure, reason);
        next.test = Some(self.out_test(&more));
        next
    }
}
