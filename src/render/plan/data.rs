//! A plan as data.

use crate::case::{Next as Nothing, Planned, Setting, TestPlan};
use crate::planner::table::Table;
use crate::planner::{Habit, Next, Node, Outcome, Step};
use crate::render::answer::{because, number, number_fine, state_word, test_json};
use crate::render::plan::{habit_name, habits_of_people, shows};
use serde_json::{Map, Value, json};

/// The object that `plan --json` prints: minutes, first step, suspects and chart; the habits where they
/// are compared, the planner's table where it is asked for.
pub fn plan_json(
    planned: &Planned,
    setting: &Setting,
    supposed: bool,
    habits: Option<&[(Habit, f64)]>,
    table: bool,
) -> Value {
    let mut object = Map::new();
    let minutes = json!({
        "expected": number(planned.expected),
        "at_least": number(planned.at_least),
    });
    object.insert("minutes".into(), minutes);
    object.insert("proven".into(), json!(planned.chart.proven));
    if let Some(first) = planned.chart.nodes.first()
        && let Some(test) = step_json(planned, setting, first)
    {
        object.insert("first".into(), test);
    }
    object.insert("supposed".into(), json!(supposed));
    let (low, high) = (planned.draw.low(), planned.draw.high());
    object.insert("draw_ma".into(), json!([number(low), number(high)]));
    let suspects = planned.suspects.iter().map(|suspect| {
        json!({
            "part": suspect.id,
            "cause": suspect.cause.words(),
            "odds": number_fine(suspect.odds),
        })
    });
    object.insert("suspects".into(), suspects.collect());
    let nodes = planned.chart.nodes.iter();
    let chart = nodes.map(|node| node_json(planned, setting, node));
    object.insert("chart".into(), chart.collect());
    if let Some(habits) = habits {
        let rows = habits_of_people(habits).map(
            |(habit, minutes)| json!({"name": habit_name(*habit), "expected": number(*minutes)}),
        );
        object.insert("habits".into(), rows.collect());
    }
    if table {
        object.insert("table".into(), table_json(planned, setting));
    }
    Value::Object(object)
}

/// The object printed where there is no plan: where the case stands, and why.
pub fn no_plan_json(next: &Nothing, setting: &Setting) -> Value {
    json!({"state": state_word(next.state), "because": because(next, setting)})
}

/// The step of a node, as the step of `next`, with its minutes there.
fn step_json(planned: &Planned, setting: &Setting, node: &Node) -> Option<Value> {
    let Next::Step { step, minutes, .. } = &node.next else {
        return None;
    };
    let test = planned.test(*step)?;
    let here = TestPlan {
        minutes: *minutes,
        ..test.clone()
    };
    Some(test_json(&here, setting))
}

/// A node: the suspects left by number, the chance to get there, minutes from there, and what to do.
fn node_json(planned: &Planned, setting: &Setting, node: &Node) -> Value {
    let mut object = Map::new();
    object.insert("suspects".into(), json!(node.suspects));
    object.insert("chance".into(), number_fine(node.chance));
    object.insert("expected".into(), number(node.expected));
    match &node.next {
        Next::Step { step, outcomes, .. } => {
            let does = match step {
                Step::Test(test) => json!({"test": test}),
                Step::Prove(suspect) => json!({"prove": suspect}),
            };
            object.insert("does".into(), does);
            if let Some(test) = step_json(planned, setting, node) {
                object.insert("step".into(), test);
            }
            let outcome = |outcome: &Outcome| {
                json!({
                    "class": outcome.class,
                    "shows": shows(planned, *step, outcome.class),
                    "chance": number_fine(outcome.chance),
                    "node": outcome.node,
                })
            };
            let outcomes = outcomes.iter().map(outcome);
            object.insert("outcomes".into(), outcomes.collect());
        }
        Next::Located => {
            object.insert("ends".into(), json!("located"));
        }
        Next::Unfolded => {
            object.insert("ends".into(), json!("unfolded"));
        }
    }
    Value::Object(object)
}

/// The planner's table, all numbers in full, so that an outside program can check plan and floor.
fn table_json(planned: &Planned, setting: &Setting) -> Value {
    let Table {
        suspects,
        tests,
        places,
        instruments,
        move_minutes,
    } = &planned.table;
    let rows = suspects.iter().zip(&planned.suspects);
    let suspects = rows.map(|(row, named)| {
        json!({
            "part": named.id,
            "cause": named.cause.words(),
            "log_odds": row.log_odds,
            "proof": row.proof,
            "failed_proof": row.failed_proof,
            "proof_place": row.proof_place,
            "provable": row.provable,
        })
    });
    let rows = tests.iter().zip(&planned.tests);
    let tests = rows.map(|(row, named)| {
        let classes = row.classes.iter().map(|class| {
            let ranges = class.suspects.iter().map(|r| json!([r.start, r.end]));
            json!({"suspects": ranges.collect::<Value>(), "sure": class.sure})
        });
        json!({
            "entry": named.entry,
            "minutes": row.minutes,
            "place": row.place,
            "instrument": row.instrument,
            "classes": classes.collect::<Value>(),
            "inconclusive": row.inconclusive,
            "harms": row.harms,
        })
    });
    let rows = places.iter().zip(&planned.places);
    let places = rows.map(|(row, place)| {
        let name = &setting.feeds.place_as_written(*place).id.value;
        json!({"place": name, "reach": row.reach, "within": row.within})
    });
    let at = instruments.iter();
    let at = at.map(|(instrument, place)| json!({"instrument": instrument, "place": place}));
    json!({
        "suspects": suspects.collect::<Value>(),
        "tests": tests.collect::<Value>(),
        "places": places.collect::<Value>(),
        "instruments": at.collect::<Value>(),
        "move_minutes": move_minutes,
    })
}
