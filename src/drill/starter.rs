//! A commented starter for an exercise file: every field, what it means, and a value that is taken.

/// The text of a new exercise file. It reads as it stands, at the vehicle that it names; what stands
/// behind `//` may be taken in.
pub const STARTER: &str = r#"// An exercise for `halfsplit drill`. Save, then look it through: halfsplit exercise THIS-FILE
Exercise(
    format: 1,
    name: "One lamp",                       // what the learner sees: it must not give the answer away
    // rung: 4,                             // its place on a ladder, from 1
    goal: "Find the load that drains the battery, and prove it",
    // before: ["03-live-and-dead"],        // the exercises that come before, by their files' names
    time: minutes(90),                      // on the vehicle's clock; over it the minutes earn no marks
    vehicle: "teaching-board.ron",          // the vehicle file, as seen from this one
    // instruments: "plain-meter.ron",      // without it a plain meter
    // number: 7,                           // the same fault and readings for all; without it each learner
                                            // has a number of their own (drill --number)
    // What is wrong; several are hidden at once. Without `hidden` one is drawn from the number.
    hidden: [
        Cause(part: "boot lamp", takes: mA(400)),            // a load, or a leak in a fuse or splice
        // Cause(coil: "K1 coil"),                           // a coil held on by what commands it
        // Cause(shorted_wire: "K1 coil"),                   // its control wire touches earth: on, whatever commands it
        // Cause(contact: "K1", takes: mA(300)),             // a contact stuck closed: each load behind it
        // Cause(holds_awake: "door module"),                // a module that keeps its partners awake, or an
                                                             // input (`held_by`) that does: "door switch"
        // Cause(blown: "F2"),                               // a blown fuse
        // Cause(part: "siren", takes: mA(200), lost_by_pull: true),  // gone once it has lost its feed
    ],
    // search: false,                       // nothing to find: it ends with the last reply
    // What is wrong with the set-up, until the learner types `check set-up`:
    // BridgeOn       the bridge lead was left on: in series the meter shows a hundredth
    // BlownMeterFuse the fuse of the meter's mA jack is blown
    // LeadsReversed  the leads are the wrong way round
    // BatteryLow     the battery is too low to measure a draw on
    // and what `check set-up` does not mend:
    // Bursts         telematics call home for 45 s every 10 min and take 160 mA more
    // ClampDrift     the clamp drifts by 0.4 mA a minute until `zero`
    // Retries        partners call a module that has lost its feeds, before they sleep
    traps: [],
    hand_in: "The part, its connector and the proof",
    questions: [
        // Question(ask: "Which fuses feed it?", parts: ["F1", "F2"],
        //     hint: "Follow the line up to the battery",      // said to who asks; without it one is made
        //     wrong: {"F2": "What feeds F2?"}),
        // Question(ask: "How much goes through F2?", current: "F2"),
        // Question(ask: "Is it proven by that? Reply yes or no", words: ["no"]),
    ],
    // Wrong answers that you expect, and what is said to each.
    wrong: {
        "F2": "F2 feeds several loads: which of them?",
    },
    // For the instructor, on the answer sheet: what to show before, what to ask after.
    lesson: "10 min: read one drop together. Then they search. 10 min: whose proof was complete?",
    // sealed: "..."                        // written by: halfsplit exercise THIS-FILE --seal FILE
)
"#;
