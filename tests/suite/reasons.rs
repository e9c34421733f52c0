//! Why a part is in its state: the sums hold, the readings cited suffice, the words read well.

use crate::driver::{Driver, loads, part, sample, setting_for};
use crate::generated::Dice;
use crate::trace::flat;
use halfsplit::case::{Case, Setting};
use halfsplit::feeds::{PartId, load};
use halfsplit::instruments::Instruments;
use halfsplit::judgement::Standing;
use halfsplit::ledger::{Because, End};
use halfsplit::quantity::Milliamps;
use halfsplit::render::{When, report_text, why_json, why_text};
use halfsplit::report::{About, Reasons, Says, is_reading, reasons, report};
use halfsplit::simulation::Drain;

fn case<'s>(setting: &'s Setting, lines: &[&str]) -> Case<'s> {
    let mut case = Case::new(setting);
    for line in lines {
        case.record(line).unwrap_or_else(|r| panic!("{r}"));
    }
    case
}

fn told(case: &Case<'_>, names: &[&str]) -> String {
    let one = |name: &&str| {
        let about = About::named(case.setting(), name).expect("a name");
        why_text(&reasons(case, about), case, 80)
    };
    names.iter().map(one).collect::<Vec<_>>().join("\n---\n\n")
}

#[test]
fn a_session_on_the_van_is_explained() {
    let setting = sample("quarto-van");
    let read = [
        "prepared",
        "asleep",
        "draw 640mA by series",
        "drop F3 2.1mV",
        "drop F9 0.0mV",
    ];
    let case = case(&setting, &read);
    insta::assert_snapshot!(told(
        &case,
        &[
            "F3",
            "F9",
            "cargo lamp",
            "fan",
            "body module",
            "unlisted at F7",
            "C230"
        ]
    ));
}

#[test]
fn nothing_read_a_clash_and_a_proven_drain_are_explained() {
    let setting = sample("teaching-board");
    let nothing = case(&setting, &[]);
    let clash = case(
        &setting,
        &[
            "asleep",
            "draw 640mA by series",
            "drop F1 10.0mV",
            "drop F5 12.0mV",
        ],
    );
    let proven = case(
        &setting,
        &[
            "asleep",
            "draw 640mA by series",
            "unplug C7; asleep; draw 30mA by series",
            "refit C7; asleep; draw 640mA by series",
        ],
    );
    let names = ["door module", "K1 coil"];
    let text = [
        told(&nothing, &names),
        told(&clash, &names),
        told(&proven, &["door module", "tracker", "blower"]),
    ];
    insta::assert_snapshot!(text.join("\n=====\n\n"));
}

/// Two modules on a network, one of which reads a latch. Invented.
const LATCH: &str = r#"Vehicle(format: 1, name: "Held awake (invented)", year: 2015, limit: mA(40), settle: minutes(25),
    networks: {"comfort network": Network()},
    modules: {
        "body module": Module(network: "comfort network", awake: mA(420), held_by: ["door latch"]),
        "radio": Module(network: "comfort network", awake: mA(300)),
    },
    battery: Battery(id: "battery", volts: V(12), feeds: [
        Fuse(id: "F1", rating: A(10), style: Mini, feeds: [
            Load(id: "body feed", of: "body module", plug: "C1", asleep: mA(3))]),
        Fuse(id: "F2", rating: A(10), style: Mini, feeds: [
            Load(id: "radio feed", of: "radio", kind: Audio, plug: "C2", asleep: mA(4))]),
    ]))"#;

/// An input draws nothing: it is judged by all that it can keep awake, over the network too, and by nothing
/// "there". Once it is out that is said, and the draw without it is that of the drain out.
#[test]
fn an_input_is_judged_by_what_it_keeps_awake() {
    let setting = Setting::new(load(LATCH).0.unwrap(), Instruments::assumed_meter());
    let read = [
        "prepared",
        "asleep",
        "draw 0.73A by series",
        "drop F1 3.2mV",
        "drop F2 2.3mV",
    ];
    let mut case = case(&setting, &read);
    let about = About::named(&setting, "door latch").unwrap();
    assert_eq!(about.parts().len(), 2);
    let why = told(&case, &["door latch"]);
    for words in [
        "door latch: not ruled out",
        "It draws nothing itself and is judged by what it can keep awake: body feed and radio feed.",
        "too much could still flow in these together.",
    ] {
        assert!(flat(&why).contains(words), "{words}: {why}");
    }
    for line in [
        "unplug door latch; asleep; draw 13.1mA jack mA",
        "refit door latch; asleep; draw 0.73A jack A",
        "unplug door latch; asleep",
    ] {
        case.record(line).unwrap();
    }
    let why = told(&case, &["battery"]);
    assert!(why.contains("With door latch out, the draw is"), "{why}");
    let paper = report_text(&report(&case), &case, &When::default());
    let row = "| drain out | 13 mA | door latch |";
    assert!(paper.contains(row), "{paper}");
    assert!(
        paper.contains("Everything else together took 13 mA with door latch out"),
        "{paper}"
    );
}

#[test]
fn the_same_as_data() {
    let setting = sample("quarto-van");
    let case = case(
        &setting,
        &["asleep", "draw 640mA by series", "drop F3 2.1mV"],
    );
    let about = About::named(&setting, "fan").expect("the fan");
    let object = why_json(&reasons(&case, about), &case);
    insta::assert_snapshot!(serde_json::to_string_pretty(&object).expect("JSON"));
}

#[test]
fn names_mean_what_draws_current() {
    let setting = sample("teaching-board");
    let count = |name: &str| About::named(&setting, name).map(|about| about.parts().len());
    for (name, parts) in [
        ("F2", Some(1)),
        ("f2", Some(1)),
        ("Door  Module", Some(2)),
        ("board network", Some(2)),
        ("door switch", Some(2)),
        ("C4", Some(2)),
        ("C1", Some(1)),
        ("unlisted at F2", Some(1)),
        ("unlisted at C4", None),
        ("back", None),
        ("nix", None),
    ] {
        assert_eq!(count(name), parts, "{name}");
    }
}

/// The arithmetic of every step by what it rests on.
fn sums_hold(found: &Reasons, case: &Case<'_>) {
    let setting = case.setting();
    let steps = &found.steps;
    let flow = |at: &usize| match &steps[*at].says {
        Says::Flows { end, ma, .. } => Some((*end, *ma)),
        Says::Settled { low, .. } => Some((End::Low, *low)),
        _ => None,
    };
    for (index, step) in steps.iter().enumerate() {
        assert!(step.from.iter().all(|from| *from < index), "{steps:#?}");
        let flows: Vec<(End, f64)> = step.from.iter().filter_map(flow).collect();
        let sum = |end: End| -> f64 {
            let signed = flows
                .iter()
                .map(|(at, ma)| if *at == end { *ma } else { -ma });
            signed.sum::<f64>().max(0.0)
        };
        let healthy = || {
            step.from.iter().find_map(|from| match steps[*from].says {
                Says::Healthy { ma, .. } => Some(ma),
                _ => None,
            })
        };
        let (said, is) = match &step.says {
            Says::Flows {
                because: Because::Reading(_) | Because::TakenOut,
                ..
            } => continue,
            Says::Flows { end, ma, .. } => (*ma, sum(*end)),
            Says::TooMuch { end, ma, part } => {
                let bounded = !flows.is_empty() || *end == End::Low;
                assert_eq!(bounded, ma.is_finite(), "{part:?} {steps:#?}");
                if !bounded {
                    continue;
                }
                (
                    *ma,
                    (sum(*end) - healthy().expect("what is healthy")).max(0.0),
                )
            }
            Says::Own { part, ma } if ma.is_finite() => {
                let least = setting.feeds.least(*part).value();
                (*ma, (sum(End::High) - least).max(0.0))
            }
            Says::NeededNow { ma, limit } => (*ma, (sum(End::Low) - limit).max(0.0)),
            _ => continue,
        };
        assert!(
            (said - is).abs() < 1e-6,
            "step {} says {said}, is {is}: {steps:#?}",
            index + 1
        );
    }
}

/// Only the readings cited count: the state is the same.
fn cited_suffice(found: &Reasons, case: &Case<'_>) {
    let cited = found.entries();
    let mut fewer = case.clone();
    for number in case.counting() {
        let entry = &case.entries()[number as usize - 1];
        if is_reading(&entry.act) && !cited.contains(&number) {
            fewer
                .record(&format!("withdraw {number}"))
                .expect("withdrawn");
        }
    }
    let again = reasons(&fewer, found.about.clone());
    assert_eq!(
        again.standing,
        found.standing,
        "{:#?}\n{}\n{}",
        case.entries()
            .iter()
            .map(|e| e.text.as_str())
            .collect::<Vec<_>>(),
        why_text(found, case, 80),
        why_text(&again, &fewer, 80)
    );
}

#[test]
fn sums_hold_and_the_readings_cited_suffice() {
    let mut seen = std::collections::BTreeMap::new();
    for seed in 0..14 {
        let mut dice = Dice(seed ^ 0x77);
        let loads_wanted = 6 + dice.below(25);
        let setting = setting_for(seed, loads_wanted, seed % 2 == 0, seed % 3 == 0);
        let loads = loads(&setting.feeds);
        let mut drains = Vec::new();
        for _ in 0..=dice.below(2) {
            let load = *dice.one_of(&loads);
            drains.push(Drain::Takes(load, Milliamps::of(dice.between(80.0, 900.0))));
        }
        let typed = Driver::new(&setting, drains, seed).run().entries;
        let mut case = Case::new(&setting);
        for line in &typed {
            case.record(line).expect("it was taken before");
            if dice.chance(0.5) && case.settled_draw().is_none() {
                continue;
            }
            let proven = case.next().found.iter().any(|f| f.returned);
            for (part, standing, _, hides) in case.standing() {
                let found = reasons(&case, About::Part(part));
                assert_eq!(found.standing, standing);
                assert!(found.hides >= hides);
                sums_hold(&found, &case);
                // What a proof rests on is the report's business.
                if !proven && dice.chance(0.3) {
                    cited_suffice(&found, &case);
                }
                *seen.entry(standing).or_insert(0) += 1;
            }
            let modules: Vec<_> = setting.feeds.modules().collect();
            for module in modules {
                let name = &setting.feeds.module(module).id.value;
                let about = About::named(&setting, name).expect("a module");
                let found = reasons(&case, about);
                sums_hold(&found, &case);
                if !proven {
                    cited_suffice(&found, &case);
                }
            }
        }
    }
    // Every state but the rarest was there.
    for standing in [Standing::RuledOut, Standing::InQuestion, Standing::Carrying] {
        assert!(seen[&standing] > 20, "{seen:?}");
    }
}

#[test]
fn what_is_out_keeps_its_reason() {
    let setting = sample("teaching-board");
    let case = case(
        &setting,
        &[
            "asleep",
            "draw 640mA by series",
            "unplug C7; asleep; draw 30mA by series",
            "refit C7; asleep; draw 640mA by series",
            "unplug C7",
        ],
    );
    let tracker = part(&setting, "tracker");
    let found = reasons(&case, About::Part(tracker));
    assert_eq!(found.standing, Standing::Carrying);
    assert_eq!(found.entries(), [2, 5]);
    let blower = reasons(&case, About::Part(part(&setting, "blower")));
    assert_eq!(blower.out.parts().collect::<Vec<PartId>>(), [tracker]);
}
