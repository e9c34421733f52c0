//! The whole plan from here, as a value without wording: the planner's table with a name for each of
//! its numbers, the decision chart, its expected minutes and the floor under those of any plan.
//!
//! **What the chart leaves open.** What a reading shows on either side is worked out for the state the
//! case is in now; after other readings the display will lie inside that.
//!
//! **Cost.** That of [`planner::chart`] and [`planner::floor()`].

use super::Case;
use super::asked::TestPlan;
use super::fold::Now;
use super::next::{State, Weighed};
use super::table::{self, Doing};
use crate::feeds::PlaceId;
use crate::interval::Interval;
use crate::journal::Refusal;
use crate::judgement::Judgement;
use crate::planner::{self, Chart, Habit, Step};
use crate::quantity::Milliamps;
use crate::suspects::shares;

/// The plan from where a case stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// What the planner was given.
    pub table: planner::table::Table,
    /// The suspects, by number in the table; their odds add up to 1.
    pub suspects: Vec<Weighed>,
    /// How each of them would be proven: what comes out. `None` where it cannot be.
    pub proofs: Vec<Option<TestPlan>>,
    /// The tests, by number in the table. Minutes of the reading and of getting there, without the
    /// settle that may follow: the chart has those.
    pub tests: Vec<TestPlan>,
    /// The places, by number in the table.
    pub places: Vec<PlaceId>,
    /// What to do first, and after each outcome. Unfolded to the end unless there are more than
    /// [`MOST_STEPS`] steps.
    pub chart: Chart,
    /// Expected minutes from here until the cause is proven, by the chart; of a cause that cannot be proven,
    /// until it is located.
    pub expected: f64,
    /// Expected minutes that no plan can beat.
    pub at_least: f64,
    /// The settled draw that is searched for.
    pub draw: Interval<Milliamps>,
}

/// Steps of a chart at most: more than a wall, or a person, can take.
pub const MOST_STEPS: usize = 4_000;

impl Case<'_> {
    /// The plan from here; `None` where there is nothing to search: before a settled draw is believed,
    /// while a proof is under way, when the readings clash, when the draw is within the limit or no
    /// limit is known, when no suspect is left.
    pub fn plan(&self) -> Option<Planned> {
        let plan = self.plan_alone()?;
        let chart = planner::chart(&plan.table, MOST_STEPS);
        Some(Planned {
            expected: chart.nodes.first().map_or(0.0, |root| root.expected),
            at_least: planner::floor(&plan.table),
            chart,
            ..plan
        })
    }

    /// The same without a chart and with a floor of nothing, for who only holds steps against the plan;
    /// `expected` is then that of [`planner::expected`].
    pub fn plan_alone(&self) -> Option<Planned> {
        let now = &self.now;
        let draw = now.searched()?;
        let judged = now.judged_base();
        let plan = table::plan(now, &judged);
        if plan.suspects.len() == 0 {
            return None;
        }
        let suspects = {
            let setting = now.setting;
            let logs: Vec<f64> = plan.table.suspects.iter().map(|row| row.log_odds).collect();
            let odds = shares(&logs).into_iter();
            let named = plan
                .suspects
                .suspects
                .iter()
                .zip(odds)
                .map(|(index, odds)| {
                    let suspect = &setting.suspects[*index];
                    Weighed {
                        cause: suspect.cause,
                        subject: suspect.subject.clone(),
                        id: suspect.subject.id(&setting.feeds),
                        odds,
                        hides: suspect.hides(&judged),
                        start: suspect.prior,
                        moved: Vec::new(),
                    }
                });
            named.collect()
        };
        let tests = plan.tests.iter();
        let tests = tests.map(|doing| now.named_test(&plan, &judged, doing));
        let tests = tests.collect();
        let proofs = plan.proofs.iter();
        let proofs = proofs.map(|way| way.as_ref().map(|way| now.out_test(&[way])));
        let proofs = proofs.collect();
        Some(Planned {
            suspects,
            proofs,
            tests,
            expected: planner::expected(&plan.table),
            at_least: 0.0,
            chart: Chart::default(),
            places: plan.places,
            table: plan.table,
            draw,
        })
    }

    /// What a habit of the trade would do next, for comparison; `None` where there is nothing to search.
    pub fn by_habit(&self, habit: Habit) -> Option<TestPlan> {
        let now = &self.now;
        now.searched()?;
        let judged = now.judged_base();
        let plan = table::plan(now, &judged);
        match planner::first_step(&plan.table, habit)? {
            Step::Test(number) => Some(now.named_test(&plan, &judged, &plan.tests[number])),
            Step::Prove(number) => plan.proofs[number].as_ref().map(|way| now.out_test(&[way])),
        }
    }

    /// Whether a settled draw is believed, so that a search can begin.
    pub fn has_draw(&self) -> bool {
        self.now.believed
    }

    /// The case as it would stand with the vehicle prepared and asleep, and this draw read for sure, on
    /// as fine a range as the instruments have.
    ///
    /// # Errors
    /// Where the draw cannot be read so: more than the meter takes, for example.
    pub fn supposing(&self, draw: Milliamps) -> Result<Self, Refusal> {
        let mut case = self.clone();
        // Prepared, asleep, a draw, a finer one: twice as many steps as it can take.
        for _ in 0..8 {
            let line = match case.now.decide(false).state {
                State::Prepare => "prepared".to_owned(),
                State::Wait => "asleep".to_owned(),
                State::Baseline => format!("draw {}mA sure", draw.value()),
                _ => break,
            };
            case.record(&line)?;
        }
        Ok(case)
    }
}

impl Now<'_> {
    /// A test of the table as it is done at the vehicle.
    pub(super) fn named_test(
        &self,
        plan: &table::Plan<'_>,
        judged: &Judgement<'_>,
        doing: &Doing<'_>,
    ) -> TestPlan {
        match doing {
            Doing::At(reading) => self.reading_test(plan, judged, *reading),
            Doing::Look(name) => self.look_at(name),
            Doing::LetIn(reading) => self.letting_in_test(plan, judged, *reading),
            Doing::Out(ways) => self.out_test(ways),
        }
    }

    /// The draw that a search is about; `None` where nothing is to be searched.
    fn searched(&self) -> Option<Interval<Milliamps>> {
        let ready = self.prepared && self.believed && self.trial.is_none();
        if !ready || !self.ledger.clash().is_empty() {
            return None;
        }
        let draw = self.total(&self.base())?;
        (draw.high() > self.setting.healthy.limit()).then_some(draw)
    }
}

impl Planned {
    /// Expected minutes of each habit of the trade, from here until the cause is proven.
    pub fn habits(&self) -> Vec<(Habit, f64)> {
        planner::habits(&self.table)
    }

    /// The share of the odds whose cause cannot be proven from here: the plan ends with it located.
    pub fn unprovable(&self) -> f64 {
        let pairs = self.suspects.iter().zip(&self.proofs);
        pairs
            .filter(|(_, proof)| proof.is_none())
            .map(|(suspect, _)| suspect.odds)
            .sum()
    }

    /// What to do first; `None` when nothing is left to do.
    pub fn first(&self) -> Option<Step> {
        self.chart.nodes.first()?.step()
    }

    /// What a step is: the test, or what comes out for a proof.
    pub fn test(&self, step: Step) -> Option<&TestPlan> {
        match step {
            Step::Test(test) => self.tests.get(test),
            Step::Prove(suspect) => self.proofs.get(suspect)?.as_ref(),
        }
    }

    /// The steps that begin with this entry, such as `drop F3`: a test, or the proof of a suspect, or
    /// both.
    pub fn steps_of<'a>(&'a self, entry: &'a str) -> impl Iterator<Item = Step> + 'a {
        let tests = (0..self.tests.len()).map(Step::Test);
        let proofs = (0..self.proofs.len()).map(Step::Prove);
        let begins = move |step: &Step| self.test(*step).is_some_and(|test| test.entry == entry);
        tests.chain(proofs).filter(begins)
    }

    /// Expected minutes from here when this step is taken first and the plan followed after it; less
    /// [`Planned::expected`], that is what the step costs too much.
    pub fn minutes_with(&self, step: Step) -> Option<f64> {
        planner::minutes_with(&self.table, step)
    }
}
