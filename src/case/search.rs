//! The search itself: what the plan takes next, whose proof it is, and the end where neither is left.

use super::facts::Pulled;
use super::fold::Now;
use super::next::{Located, Next, Reason, State, Weighed};
use super::table;
use super::taking_out::TakeOut;
use super::weights::{Odds, is_shown};
use crate::feeds::PartId;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::planner::{self, Step};
use crate::suspects::{Cause, Subject, shares};
use crate::vehicle::PartKind;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// From this share of the odds on nothing is read that only may tell: its proof will be taken anyway (judgement).
const SURE: f64 = 0.9;

/// At the end without a proof those are named that are this likely together, and no more than this many.
const NAMED_TOGETHER: f64 = 0.9;
const NAMED_AT_MOST: usize = 5;

/// Who is tried is located from this share of the odds on.
const LIKELY: f64 = 0.5;

/// What fell with a part of a branch is most of what fell with the branch from this share on.
const MOST_OF_IT: f64 = 0.5;

/// The likeliest causes, likeliest first, that make up nearly all the odds.
fn likeliest(suspects: &[Weighed]) -> impl Iterator<Item = &Weighed> {
    let before = suspects.iter().scan(0.0, |sum, suspect| {
        let before = *sum;
        *sum += suspect.odds;
        Some(before)
    });
    suspects
        .iter()
        .zip(before)
        .take_while(|(_, before)| *before < NAMED_TOGETHER)
        .map(|(suspect, _)| suspect)
        .take(NAMED_AT_MOST)
}

impl<'s> Now<'s> {
    /// The next test of the plan or the proof it ends with, or what has to be known before either.
    pub(super) fn search(&self, base: &Out, out: &Out, whole: bool) -> Next {
        let judged = self.judged_base();
        let refuted = self.carries_elsewhere(out);
        let refuted = refuted.or_else(|| self.less_above(&judged));
        if let Some(next) = refuted.or_else(|| self.goes_nowhere(&judged, out)) {
            return Next {
                suspects: self.weighed(&Odds::of(self, &judged)),
                ..next
            };
        }
        let plan = table::plan(self, &judged);
        let suspects = self.weighed(&plan.odds);
        let choice = planner::choose(&plan.table);
        let step = choice.as_ref().map(|c| c.step);
        let again = self.reading_once_more(&plan, &judged, out);
        let again = again.or_else(|| self.withdrawn_once_more(&plan, &judged, step, out));
        if let Some(next) = again {
            let expected = choice.map(|choice| choice.expected);
            return Next {
                suspects,
                expected,
                ..next
            };
        }
        let to_go = choice.as_ref().map(|choice| choice.expected);
        let mut next = self.as_planned((&plan, &judged, step), &suspects, (out, base));
        let leaves = out == base && self.leaves(&next);
        let rest = leaves.then(|| self.rest_of_the_box(&plan, &judged, step));
        let checks = rest
            .flatten()
            .or_else(|| self.zeros_first(&plan, step, out))
            .or_else(|| self.fell_though(&judged, &plan, step, out))
            .or_else(|| self.adds_up_first(&judged, &plan, (step, leaves), out))
            .or_else(|| self.plugged_in_first(&plan, step, out));
        if let Some(next) = checks {
            return Next {
                suspects,
                expected: to_go,
                ..next
            };
        }
        if (leaves || self.is_dear(&next))
            && let Some(check) = self.much_hangs(&judged, &plan, to_go, out)
        {
            next = check;
        }
        next.together = self.up_together(&judged);
        next.suspects = suspects;
        next.expected = choice.map(|c| c.expected);
        if whole && next.expected.is_some() {
            let (proving, at_least) = planner::beside_a_step(&plan.table);
            (next.proving, next.at_least) = (Some(proving), Some(at_least));
        }
        next
    }

    /// The step of the plan as it is done, with what is read before something comes out for it; the end where there is
    /// none.
    fn as_planned(
        &self,
        (plan, judged, step): (&table::Plan<'s>, &Judgement<'_>, Option<Step>),
        suspects: &[Weighed],
        (out, base): (&Out, &Out),
    ) -> Next {
        match (step, step.and_then(|step| plan.proof(step))) {
            (Some(Step::Test(test)), _) => self.take_test(plan, judged, test, out, base),
            (_, Some((index, way))) => {
                let check = self.cleared_by_one(index, &way.parts, &plan.odds);
                let suspect = &self.setting.suspects[index];
                let located = self.located(&suspect.subject, judged);
                let again = check.filter(|_| out == base).map(|check| {
                    self.asleep_first(|| Next {
                        located: vec![located.clone()],
                        ..self.read_again(check)
                    })
                });
                again
                    .or_else(|| self.read_before(plan, judged, index, way))
                    .or_else(|| {
                        let is_it = |one: &&Weighed| {
                            one.cause == suspect.cause && one.subject == suspect.subject
                        };
                        let sure = suspects
                            .iter()
                            .find(is_it)
                            .is_some_and(|one| one.odds >= SURE);
                        (!sure).then(|| self.drop_before(plan, judged, &[way]))?
                    })
                    .unwrap_or_else(|| {
                        self.prove(located, (way, is_shown(suspect, judged)), (out, base))
                    })
            }
            // What it fell with goes back in, for that is half of a proof.
            _ if out != base && self.fell() => self.all_back(base, State::Confirm),
            _ => self.end(suspects, judged, out),
        }
    }

    /// Whether the draw fell with something out beside proven drains. Where it fell without the likely
    /// suspects, which can be neither parted nor proven, the unlikely ones are not worth the walk; a
    /// reading alone may be wrong.
    pub(super) fn fell(&self) -> bool {
        let base = self.base();
        let fell = |pulled: &Pulled| pulled.base == base && pulled.beyond >= pulled.matters;
        self.pulls.iter().any(fell)
    }

    /// Whether somebody is in question in a state, though the step itself is for another draw.
    pub(super) fn is_searched(&self, state: State) -> bool {
        let searched = matches!(
            state,
            State::Baseline | State::Wait | State::Measure | State::Confirm
        );
        let limit = self.setting.healthy.limit();
        let over = || {
            self.total(&self.base())
                .is_some_and(|total| total.low() > limit)
        };
        searched && self.believed && over()
    }

    /// What came out and made the draw fall, where several behind it may be the cause and nobody is proven by it yet:
    /// these branches are what is shown, and not whoever is tried next in one.
    pub(super) fn branches_that_fell(&self, next: &Next) -> Vec<Located> {
        let on_the_way = matches!(next.state, State::Wait | State::Measure | State::Confirm);
        if !on_the_way || self.trial.is_some() {
            return Vec::new();
        }
        let feeds = &self.setting.feeds;
        let fell: Vec<(PartId, f64)> = self
            .pulls_here()
            .filter(|pulled| !pulled.vain && pulled.fell.low() >= pulled.matters)
            .filter(|pulled| pulled.taken.len() == 1 && !pulled.parts.is_empty())
            .map(|pulled| (pulled.parts[0], pulled.fell.low()))
            .filter(|(part, _)| !self.is_proven_there(*part))
            .collect();
        let narrower = |top: PartId, by: f64| {
            let below = |(part, _): &&(PartId, f64)| *part != top && feeds.is_below(*part, top);
            let sum: f64 = fell.iter().filter(below).map(|(_, fell)| fell).sum();
            sum >= MOST_OF_IT * by
        };
        let kept = fell.iter().filter(|(part, by)| !narrower(*part, *by));
        let parts: BTreeSet<PartId> = kept.map(|(part, _)| *part).collect();
        // Where hardly anybody else is left it is whoever is left.
        let mut suspects = next.suspects.iter().chain(&next.in_question);
        let sure = suspects.next().is_some_and(|one| one.odds >= SURE);
        if sure && parts.len() < 2 {
            return Vec::new();
        }
        let judged = self.judged_in();
        let branch = |part: &PartId| self.located(&Subject::Part(*part), &judged);
        parts.iter().map(branch).collect()
    }

    /// What is located by what was read, and not just because it is tried next.
    pub(super) fn located_by_readings(&self, next: &Next) -> Vec<Located> {
        if !next.branches.is_empty() {
            return next.branches.clone();
        }
        let on_the_way = matches!(next.state, State::Wait | State::Measure | State::Confirm);
        let feeds = &self.setting.feeds;
        let is_likely = |located: &&Located| {
            let mut suspects = next.suspects.iter().chain(&next.in_question);
            let likely = suspects.any(|one| one.id == located.id && one.odds >= LIKELY);
            let mut found = self.found.iter();
            likely || found.any(|found| found.subject.id(feeds) == located.id)
        };
        let located = next.located.iter();
        if on_the_way && self.trial.is_none() {
            located.filter(is_likely).cloned().collect()
        } else {
            located.cloned().collect()
        }
    }

    /// Whether what was proven came out there, or on the way there, or behind it.
    fn is_proven_there(&self, top: PartId) -> bool {
        let near = |part: PartId| {
            self.setting.feeds.is_below(part, top) || self.setting.feeds.is_below(top, part)
        };
        let proven = self.found.iter().filter(|found| found.returned);
        let mut taken = proven.flat_map(|found| found.taken.iter());
        taken.any(|taken| taken.parts.iter().any(|part| near(*part)))
    }

    /// Nothing can be parted or proven any more.
    fn end(&self, suspects: &[Weighed], judged: &Judgement<'_>, out: &Out) -> Next {
        if let Some(check) = self.zero_to_check(out, &[PartId(0)]) {
            return self.asleep_first(|| self.check_zero(check));
        }
        let left = judged.view().current(PartId(0));
        if left.low() <= self.setting.healthy.limit() && !self.proof_shows(judged) {
            return self.bare(State::Undecidable, Reason::TooCoarse(left));
        }
        if suspects.is_empty() {
            return self.bare(State::Undecidable, Reason::NoSingleCause);
        }
        // What keeps modules up from outside is tried before they are named.
        if self.modules_may_be_kept_up()
            && let Some(next) = self.try_what_polls(out)
        {
            return next;
        }
        let mut next = self.bare(State::Located, Reason::CannotPart);
        let kept = self.kept_up(judged);
        if !kept.is_empty() {
            let modules = kept.into_iter().map(Subject::Module);
            return Next {
                reason: Reason::KeptUp,
                located: modules.map(|one| self.located(&one, judged)).collect(),
                ..next
            };
        }
        let likeliest: Vec<&Weighed> = likeliest(suspects).collect();
        // Where something before the fuses is named, so is the wiring there that could take all of it.
        let named = likeliest.iter().any(|one| self.is_unfused(one));
        let wiring = |one: &&Weighed| {
            let of_wire = matches!(one.cause, Cause::NotOnSheet | Cause::Leak);
            of_wire && self.is_unfused(one) && one.hides >= judged.needed()
        };
        let others = suspects
            .iter()
            .filter(wiring)
            .filter(|one| named && !likeliest.contains(one));
        let all = likeliest.iter().copied().chain(others);
        next.located = all
            .take(NAMED_AT_MOST)
            .map(|s| self.located(&s.subject, judged))
            .collect();
        next
    }

    /// Whether no fuse, link or breaker stands before it, nor is it one.
    fn is_unfused(&self, one: &Weighed) -> bool {
        use PartKind::{Breaker, Fuse, Link};
        let feeds = &self.setting.feeds;
        let (Subject::Part(part) | Subject::Unlisted(part)) = one.subject else {
            return false;
        };
        let mut way = feeds.path(part).into_iter();
        way.all(|part| !matches!(feeds.part(part).kind, Fuse | Link | Breaker))
    }

    /// All suspects not ruled out, likeliest first.
    pub(super) fn weighed(&self, odds: &Odds) -> Vec<Weighed> {
        let steering = self.steering();
        let (weights, leaning) = (&odds.weights, &odds.leaning);
        let left = odds.left();
        let logs: Vec<f64> = left.iter().map(|i| weights[*i].weight.ln()).collect();
        let odds = shares(&logs);
        let mut list: Vec<Weighed> = left
            .iter()
            .zip(odds)
            .map(|(index, odds)| {
                let feeds = &self.setting.feeds;
                let suspect = &self.setting.suspects[*index];
                let mut moved = steering.moves(feeds, suspect);
                moved.extend(leaning.of_suspect(feeds, suspect));
                Weighed {
                    cause: suspect.cause,
                    subject: suspect.subject.clone(),
                    id: suspect.subject.id(feeds),
                    odds,
                    hides: weights[*index].hides,
                    start: suspect.prior,
                    moved,
                }
            })
            .collect();
        self.blame_contacts(&mut list);
        // The bits of positive numbers are in their order.
        list.sort_by_cached_key(|suspect| Reverse(suspect.odds.to_bits()));
        list
    }

    fn prove(
        &self,
        located: Located,
        (way, shown): (&TakeOut, bool),
        (out, base): (&Out, &Out),
    ) -> Next {
        if out != base {
            let mut next = self.all_back(base, State::Confirm);
            next.located = vec![located];
            return next;
        }
        // Whoever falls silent with it and was cleared by a zero may be the cause still.
        if !shown && let Some(check) = self.zero_to_check(out, &way.parts) {
            return self.asleep_first(|| Next {
                located: vec![located.clone()],
                ..self.check_zero(check)
            });
        }
        // What is compared with must still be so: nothing is proven while the draw falls by itself.
        let moved = self.since_total > 0 || self.hasty && !self.fresh;
        if moved && self.may_draw() {
            return self.asleep_first(|| Next {
                located: vec![located.clone()],
                ..self.total_first(State::Confirm)
            });
        }
        let mut next = self.bare(State::Confirm, Reason::Prove);
        next.test = Some(self.out_test(&[way]));
        next.located = vec![located];
        next
    }
}
