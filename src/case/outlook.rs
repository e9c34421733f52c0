//! What each answer to a test would mean, tried out on a copy of the case.

use super::regions::focus;
use super::table;
use super::{Case, Entry, Located, TakenOut, TestPlan};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::{Act, Options, Point};
use crate::judgement::Standing;
use crate::measurement::{Method, Need, Reading, Unit, Way, would_need};
use crate::quantity::Milliamps;

/// What the answers to a test would mean.
#[derive(Clone, Debug, PartialEq)]
pub enum Outlook {
    /// Of a reading at a part: if the drain is there, and if it is not.
    At {
        /// With the least the display shows if it is.
        carrying: Meaning,
        /// With the most the display shows if it is not.
        not: Meaning,
        /// Causes that could alone make up the draw now.
        alone: usize,
    },
    /// Of the first settled draw: the limit it is judged by, in mA.
    First(f64),
    /// Of a settled draw after the repair: the limit it is judged by, in mA.
    Repaired(f64),
    /// Of a draw with something out: the draw before, and the least fall that matters, in mA.
    Fall(Interval<Milliamps>, f64),
    /// Of a draw with something out in the place of what proved a drain, which is in: the draw with that out, and
    /// the least rise that matters, in mA.
    Instead(Interval<Milliamps>, f64),
    /// Of a draw with the suspect back in: the draw before it came out, and without it.
    Return(Interval<Milliamps>, Interval<Milliamps>),
}

/// What one answer would mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Meaning {
    /// The state of the part then.
    pub standing: Standing,
    /// What the part and all below it could then still hide, in mA.
    pub hides: f64,
    /// How many parts would then be ruled out that are not now, the part itself included.
    pub ruled_out: usize,
    /// Causes that could alone make up the draw then.
    pub alone: usize,
}

impl Case<'_> {
    /// What each answer to the test asked for would mean; `None` for an action.
    ///
    /// A reading is tried on a copy of the case at the end of the expected range that says least, so
    /// that any other reading of that range says as much. Costs two readings and judges every suspect
    /// three times.
    pub fn outlook(&self, test: &TestPlan) -> Option<Outlook> {
        let now = &self.now;
        let base = now.base();
        if test.method == Method::Draw {
            if now.repair().is_some() {
                let limit = now.setting.healthy.limit();
                return limit.is_finite().then_some(Outlook::Repaired(limit));
            }
            if let Some(trial) = &now.trial {
                let back = now.out_set() == base;
                return back.then_some(Outlook::Return(trial.before, trial.without));
            }
            let before = now.total(&base);
            return match before {
                Some(before) if now.out_set() != base => {
                    let several = now.several_in_question();
                    let beside = now.healthy_among(&several);
                    let matters = now.judged_in().matters() + beside;
                    let (feeds, out) = (&now.setting.feeds, now.out_set());
                    let in_its_place = base.parts().any(|part| !out.cuts(feeds, part));
                    Some(if in_its_place {
                        Outlook::Instead(before, matters)
                    } else {
                        Outlook::Fall(before, matters)
                    })
                }
                Some(_) => None,
                None => {
                    let limit = now.setting.healthy.limit();
                    limit.is_finite().then_some(Outlook::First(limit))
                }
            };
        }
        let expect = test.expect?;
        let part = test.part?;
        Some(Outlook::At {
            carrying: self.if_shown(test, part, expect.carrying.0)?,
            not: self.if_shown(test, part, expect.not.1)?,
            alone: table::alone(now, &now.judged_in()),
        })
    }

    /// Where the search has ended without a proof: for each of these branches the part nearest to its end
    /// that nothing at hand can read well enough, and what would. Costs some hundred trials a part.
    pub fn would_tell(&self, located: &[Located]) -> Vec<(PartId, Vec<Need>)> {
        let now = &self.now;
        let setting = self.setting;
        let judged = now.judged_base();
        let region = focus(now, &judged);
        let needs_at = |part: PartId| {
            let (carrying, not) = table::expected(now, &judged, part, &region);
            let needs = would_need(
                &setting.feeds,
                part,
                carrying,
                not,
                (&setting.instruments, now.temperature),
            );
            (!needs.is_empty()).then_some((part, needs))
        };
        let mut found: Vec<(PartId, Vec<Need>)> = Vec::new();
        for one in located {
            // Above what is seen to carry nothing more has to be told.
            let unseen = |part: &PartId| judged.excess(*part).low() < judged.matters();
            let mut upward = one.path.iter().copied().rev().take_while(unseen);
            if let Some(new) = upward.find_map(needs_at)
                && !found.iter().any(|(part, _)| *part == new.0)
            {
                found.push(new);
            }
        }
        found
    }

    /// What a reading of exactly this would mean.
    pub(super) fn if_shown(&self, test: &TestPlan, part: PartId, shown: f64) -> Option<Meaning> {
        if !shown.is_finite() {
            return None;
        }
        let drop = test.method == Method::Drop;
        let act = Act::Read {
            method: test.method,
            point: Point::Part(part),
            reading: Reading {
                low: shown,
                high: shown,
                unit: if drop {
                    Unit::Millivolts
                } else {
                    Unit::Milliamps
                },
                step: 0.0,
                over: false,
            },
            options: match test.way {
                Some(Way::Clamp { turns }) if turns > 1 => Options {
                    turns: Some(turns),
                    ..Options::default()
                },
                Some(Way::Series(jack)) => Options {
                    jack: Some(jack),
                    ..Options::default()
                },
                _ => Options::default(),
            },
        };
        let act = self.now.complete(act, None, "").ok()?;
        let mut then = self.now.clone();
        then.apply(&Entry {
            number: self.entries.len() as u32 + 1,
            text: String::new(),
            act,
            at: None,
        });
        let (now, after) = (self.now.judged_in(), then.judged_in());
        let out = |standing| matches!(standing, Standing::RuledOut | Standing::Dead);
        let parts = self.setting.feeds.parts();
        let ruled_out = parts
            .filter(|p| out(after.standing(*p)) && !out(now.standing(*p)))
            .count();
        Some(Meaning {
            standing: after.standing(part),
            hides: after.hides(part),
            ruled_out,
            alone: table::alone(&then, &after),
        })
    }

    /// What is out now, in the order it came out.
    pub fn taken_out(&self) -> &[TakenOut] {
        &self.now.out
    }

    /// What is out beside proven drains, where with just that out nothing fell that matters.
    pub fn out_in_vain(&self) -> Vec<&TakenOut> {
        let base = self.now.base();
        let beside = self.now.out_beside(&base);
        let mut pulls = self.now.pulls_here();
        let same = |taken: &[TakenOut]| {
            taken
                .iter()
                .map(|t| &t.name)
                .eq(beside.iter().map(|t| &t.name))
        };
        if pulls.any(|pulled| pulled.vain && same(&pulled.taken)) {
            beside
        } else {
            Vec::new()
        }
    }
}
