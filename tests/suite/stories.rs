//! Cases as they go at the vehicle: what is typed, and where the case stands after it.

use halfsplit::case::{Case, Question, Reason, Setting, State};
use halfsplit::feeds::load;
use halfsplit::instruments::Instruments;
use halfsplit::judgement::Standing;
use halfsplit::render::{next_json, state_word};

fn sample(name: &str) -> Setting {
    let file = format!("{}/sample-vehicles/{name}.ron", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(file).expect("a sample");
    Setting::new(load(&text).0.expect("a tree"), Instruments::assumed_meter())
}

/// Types each entry and compares the state after it; `!` before an entry: it is questioned.
fn goes<'s>(setting: &'s Setting, story: &[(&str, &str)]) -> Case<'s> {
    let mut case = Case::new(setting);
    let mut texts = Vec::new();
    for (number, (entry, state)) in story.iter().enumerate() {
        let asked = entry.starts_with('!');
        let recorded = case
            .record(entry.trim_start_matches('!'))
            .unwrap_or_else(|r| panic!("{r}"));
        assert_eq!(
            !recorded.questions.is_empty(),
            asked,
            "{number} {entry}: {:?}",
            recorded.questions
        );
        let now = case.next();
        assert_eq!(
            state_word(now.state),
            *state,
            "after {number} {entry}: {:?}",
            now.reason
        );
        // Every prefix is a case: reopened from its texts it says the same.
        texts.extend(recorded.entries.into_iter().map(|e| e.text));
        let again = Case::reopen(setting, texts.clone()).expect("it reads back");
        let (mut one, mut two) = (next_json(&now, setting), next_json(&again.next(), setting));
        // A question is asked when it arises, not again after undo or reopening.
        one["questions"] = serde_json::Value::Null;
        two["questions"] = serde_json::Value::Null;
        assert_eq!(one, two, "after {entry}");
    }
    case
}

#[test]
fn a_load_is_proven_and_stays_out() {
    let van = sample("quarto-van");
    let case = goes(
        &van,
        &[
            ("prepared", "wait"),
            ("asleep", "baseline"),
            ("draw 640mA by series", "measure"),
            ("drop F3 2.1mV", "measure"),
            ("unplug C114", "wait"),
            ("asleep", "confirm"),
            ("draw 0.03A by series", "confirm"),
            ("draw 30.1mA by series", "confirm"),
            ("refit C114", "wait"),
            ("asleep", "confirm"),
            ("draw 640mA by series", "confirm"),
            ("unplug C114", "confirmed"),
        ],
    );
    let next = case.next();
    assert_eq!(next.found[0].subject.id(&van.feeds), "cargo lamp");
    assert!(next.found[0].returned && next.test.is_none());
    assert_eq!(next.out, ["C114"]);
    assert_eq!(next.located[0].unplug, ["C114"]);
}

#[test]
fn a_fault_that_does_not_return_has_gone() {
    let van = sample("quarto-van");
    let case = goes(
        &van,
        &[
            ("prepared", "wait"),
            ("asleep", "baseline"),
            ("draw 640mA by series", "measure"),
            ("drop F3 2.1mV", "measure"),
            ("unplug C114", "wait"),
            ("asleep", "confirm"),
            ("draw 30.1mA by series", "confirm"),
            ("refit C114", "wait"),
            ("asleep", "confirm"),
            ("draw 29.8mA by series", "gone"),
        ],
    );
    assert!(!case.next().found[0].returned);
}

/// To a proven drain: the cargo lamp of the van.
const PROVEN: [(&str, &str); 12] = [
    ("prepared", "wait"),
    ("asleep", "baseline"),
    ("draw 640mA by series", "measure"),
    ("drop F3 2.1mV", "measure"),
    ("unplug C114", "wait"),
    ("asleep", "confirm"),
    ("draw 0.03A by series", "confirm"),
    ("draw 30.1mA by series", "confirm"),
    ("refit C114", "wait"),
    ("asleep", "confirm"),
    ("draw 640mA by series", "confirm"),
    ("unplug C114", "confirmed"),
];

/// What each step after a repair asks for, till it holds.
#[test]
fn a_repair_is_verified_with_everything_in() {
    let van = sample("quarto-van");
    let mut story = PROVEN.to_vec();
    story.push(("repaired C114 lamp switch adjusted", "verify"));
    let mut case = goes(&van, &story);
    // (what is asked, why, what is typed)
    let table = [
        ("refit C114", Reason::RepairedBackIn, "refit C114"),
        ("asleep", Reason::PrepareAgain, "prepared"),
        ("asleep", Reason::Settle, "asleep"),
        ("draw", Reason::AfterRepair, "draw 0.03A by series"),
        ("draw", Reason::Finer, "draw 31.2mA by series"),
        ("draw", Reason::Watch, "draw 30.6mA by series"),
    ];
    let spent = case.next().spent;
    for (entry, reason, typed) in table {
        let next = case.next();
        let test = next.test.as_ref().expect(entry);
        assert_eq!(
            (next.state, test.entry.as_str(), next.reason),
            (State::Verify, entry, reason)
        );
        let recorded = case.record(typed).unwrap_or_else(|r| panic!("{r}"));
        assert_eq!(recorded.questions, [], "{typed}");
    }
    let end = case.next();
    assert_eq!((end.state, end.reason), (State::Verify, Reason::Mended));
    assert!(end.test.is_none() && end.out.is_empty());
    // The settle after a repair is a whole one.
    assert!(end.spent - spent >= van.feeds.settle().value());
    // The proof is not forgotten.
    assert_eq!(end.found[0].subject.id(&van.feeds), "cargo lamp");
}

/// Every slip of a verification: what is entered after the repair, and what it comes to.
#[test]
fn a_repair_that_does_not_hold_goes_on() {
    let van = sample("quarto-van");
    let mended = |story: &[(&'static str, &'static str)]| {
        let mut all = PROVEN.to_vec();
        all.extend([
            ("repaired C114 lamp switch adjusted", "verify"),
            ("refit C114", "verify"),
            ("asleep", "verify"),
        ]);
        all.extend_from_slice(story);
        goes(&van, &all)
    };
    // Still over the limit: the search goes on from this draw, with nothing taken for proven.
    let case = mended(&[("!draw 280mA by series", "measure")]);
    assert!(case.next().test.is_some());
    assert_eq!(case.repairs()[0].over, Some(16));
    // The bridge left on is asked about as for the first draw.
    let case = mended(&[("!draw 4.0mA by series", "verify")]);
    assert_eq!(case.next().reason, Reason::Doubted);
    // It comes back while it is watched: the draw changed, and is over the limit.
    mended(&[
        ("draw 31.2mA by series", "verify"),
        ("!draw 280mA by series", "measure"),
    ]);
    // Nobody can wait: said, not hidden.
    let case = mended(&[
        ("draw 31.2mA by series", "verify"),
        ("skip draw no time", "verify"),
    ]);
    assert_eq!(case.next().reason, Reason::MendedUnwatched);
    // Mended once more before it was read: verified anew, as one repair.
    let case = mended(&[
        ("draw 31.2mA by series", "verify"),
        ("repaired earth strap", "verify"),
    ]);
    assert_eq!(case.next().reason, Reason::PrepareAgain);
    assert_eq!(case.repairs().len(), 1);
    // Undone, it is as it was before.
    let mut case = mended(&[]);
    for _ in 0..3 {
        case.record("undo").expect("taken");
    }
    assert_eq!(case.next().state, State::Confirmed);
    // What was done before anything was found belongs to the intake: nothing is verified.
    goes(
        &van,
        &[("prepared", "wait"), ("!repaired earth strap", "wait")],
    );
}

/// A part that could not have been the drain stays ruled out when that is out, and when it is mended.
#[test]
fn what_was_ruled_out_stays_so_when_the_drain_is_out() {
    let van = sample("quarto-van");
    let of = |case: &Case<'_>, id: &str| {
        let part = case.part(id).expect(id);
        let all = case.standing();
        all.iter().find(|s| s.0 == part).expect("it stands").1
    };
    let case = goes(&van, &PROVEN);
    for id in ["F7", "F9"] {
        assert_eq!(of(&case, id), Standing::RuledOut, "{id}");
    }
    assert_eq!(of(&case, "cargo lamp"), Standing::Carrying);
}

/// A first draw, and whether a question is the one it must raise.
type Doubt = (&'static str, fn(&Question) -> bool);

#[test]
fn a_first_draw_that_cannot_be_right_is_questioned_once() {
    let van = sample("quarto-van");
    // (first draw, the question); the same again is believed.
    let table: [Doubt; 3] = [
        ("draw 4.0mA by series", |q| {
            matches!(q, Question::HardlyAnything(..))
        }),
        ("draw 4.60A by series", |q| matches!(q, Question::Awake(_))),
        ("draw 12.00A by series", |q| {
            matches!(q, Question::MoreThanJack(_))
        }),
    ];
    for (draw, wanted) in table {
        let mut case = Case::new(&van);
        case.record("asleep").expect("taken");
        let first = case.record(draw).expect("recorded all the same");
        assert!(
            first.questions.iter().any(wanted),
            "{draw}: {:?}",
            first.questions
        );
        assert_eq!(case.next().state, State::Baseline, "{draw} prunes nothing");
        let second = case.record(draw).expect("taken");
        assert!(
            second.questions.is_empty(),
            "asked once: {:?}",
            second.questions
        );
        assert_ne!(case.next().state, State::Baseline, "{draw} is believed");
    }
}

#[test]
fn levels_end_or_refine_the_case() {
    let van = sample("quarto-van");
    goes(
        &van,
        &[
            ("asleep", "baseline"),
            ("!draw 32.4mA by series", "within_limit"),
        ],
    );
    // 50 mA on the 10 A jack says 20 to 81 mA: the finer range can take it.
    let case = goes(
        &van,
        &[
            ("asleep", "baseline"),
            ("!draw 0.05A by series", "baseline"),
        ],
    );
    let test = case.next().test.expect("a finer draw");
    assert_eq!(next_json(&case.next(), &van)["test"]["jack"], "mA");
    assert_eq!(test.entry, "draw");
}

#[test]
fn readings_that_cannot_all_be_true_are_named() {
    let van = sample("quarto-van");
    let case = goes(
        &van,
        &[
            ("asleep", "baseline"),
            ("!draw 640mA by series", "measure"),
            ("drop F7 0.0mV", "measure"),
            ("!drop F3 4.9mV", "contradiction"),
        ],
    );
    assert_eq!(case.next().clash, [2, 4]);
    // The reading taken again at the same fuse takes the place of the wrong one.
    let mut case = case;
    case.record("drop F3 2.1mV").expect("taken");
    assert_eq!(case.next().state, State::Measure);
}

#[test]
fn awake_readings_prune_nothing_and_undo_takes_one_entry_back() {
    let van = sample("quarto-van");
    let mut case = goes(
        &van,
        &[
            ("asleep", "baseline"),
            ("!draw 640mA by series", "measure"),
            ("awake", "wait"),
        ],
    );
    let before = case.standing();
    let recorded = case.record("drop F3 0.0mV").expect("recorded");
    assert_eq!(recorded.questions, [Question::NotAsleep]);
    assert_eq!(case.standing(), before);
    case.record("asleep").expect("taken");
    case.record("drop F3 0.0mV").expect("taken");
    assert_ne!(case.standing(), before);
    case.record("undo").expect("taken");
    assert_eq!(case.standing(), before);
    // A skipped point is not proposed again.
    let test = case.next().test.expect("a test");
    case.record(&format!("skip {} no access", test.entry))
        .expect("taken");
    assert_ne!(case.next().test.map(|t| t.entry), Some(test.entry));
}

#[test]
fn refusals_change_nothing_and_show_a_line_that_works() {
    let van = sample("quarto-van");
    let mut case = goes(
        &van,
        &[("asleep", "baseline"), ("!draw 640mA by series", "measure")],
    );
    let before = case.entries().to_vec();
    for line in [
        "drop F3 0",
        "drop F99 2.1mV",
        "clamp F3 610mA by clamp; pull",
        "withdraw 9 slipped",
        "draw 640mA by clamp",
        "refit F3",
    ] {
        let refusal = case.record(line).expect_err(line);
        assert_eq!(case.entries(), before, "{line}");
        let mut copy = case.clone();
        copy.record(&refusal.works)
            .unwrap_or_else(|r| panic!("{line}: {} is refused: {r}", refusal.works));
    }
}

#[test]
fn no_verdict_rests_on_a_zero_before_the_part_is_known_to_be_live() {
    let van = sample("quarto-van");
    let mut case = goes(
        &van,
        &[
            ("asleep", "baseline"),
            ("!draw 2.00A by series", "measure"),
            ("drop F3 0.0mV", "measure"),
        ],
    );
    // Whatever is asked shows nothing, until nothing is left to ask.
    let mut checked = Vec::new();
    for _ in 0..60 {
        let Some(test) = case.next().test else { break };
        let entry = match journal_word(&test.entry) {
            "draw" => "draw 2.00A by series".to_owned(),
            "drop" => format!("{} 0.0mV", test.entry),
            "look" => format!("{} no", test.entry),
            "volts" => {
                checked.push(test.entry.clone());
                format!("{} 12.5V", test.entry)
            }
            _ => test.entry.clone(),
        };
        case.record(&entry).unwrap_or_else(|r| panic!("{r}"));
    }
    let state = case.next().state;
    assert!(
        matches!(state, State::Undecidable | State::Located),
        "{state:?}"
    );
    // A fuse that was taken out, and nothing fell, needs no second witness.
    let typed: Vec<&str> = case.entries().iter().map(|e| e.text.as_str()).collect();
    for zero in ["F3", "F7", "F9"] {
        let live = checked.contains(&format!("volts {zero}"));
        let taken_out = typed.contains(&format!("pull {zero}").as_str());
        assert!(live || taken_out, "{zero}: {typed:#?}");
    }
    assert!(checked.len() > 1, "{checked:?}");
}

fn journal_word(entry: &str) -> &str {
    entry.split(' ').next().unwrap_or_default()
}
