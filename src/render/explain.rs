//! What the codes of `check` mean, in words.

use crate::problem::{Fault, Problem, Severity};
use crate::reference::CARRYING_SOURCE;
use crate::render::words::under_heads;
use std::collections::BTreeMap;

/// Why a colleague asks, what to do, where the rule comes from.
struct Reasons {
    why: &'static str,
    then: &'static str,
    source: &'static str,
}

const OWN: &str = "how this program works";
const PRACTICE: &str = "common practice, no source";
const JUDGEMENT: &str = "judgement";

/// The reasons of what is asked; of errors their own sentence says enough.
#[allow(clippy::too_many_lines)] // one table reads better whole
const fn reasons(fault: Fault) -> Option<Reasons> {
    let (why, then, source) = match fault {
        Fault::ThinWire => (
            "A fuse protects the wire behind it. One that is larger than the wire bears was mostly read off the wrong line, or was put in by somebody who lost the right one; then a short burns the wire, and a voltage drop is divided by the wrong resistance.",
            "Look at the fuse as fitted and at the wire's size on its sheet. Asked from a fifth above what the wire carries. A short tail behind a large fuse may be meant so: accept it.",
            CARRYING_SOURCE,
        ),
        Fault::NoRating => (
            "A voltage drop becomes a current by the resistance of the fuse, which follows from rating and style. Without them the drop says nothing.",
            "Read the number and the colour off the fuse; or give its measured resistance.",
            OWN,
        ),
        Fault::NumberGap => (
            "Fuses of a box are numbered in a row. One that is missing was skipped while typing, or is not fitted: whatever it feeds could be the drain, and nothing here knows of it.",
            "Look at the lid: enter the fuse, or accept the gap as an empty holder. Asked of four numbers and more in one place, where no more than three in a row are missing.",
            PRACTICE,
        ),
        Fault::SheetGap => (
            "Sheets of the manual run in order. Feeds on a sheet that nobody looked at are feeds that nobody suspects.",
            "Look through the sheet for feeds, or accept the gap: many sheets hold only signals.",
            JUDGEMENT,
        ),
        Fault::NoPlug => (
            "A cause is proven by unplugging it alone: out, the draw falls; in, it returns. Without a plug the branch can be proven, the part cannot.",
            "Enter its plug. Charging, starter, airbag, high voltage and protected loads are not asked about, nor is one with never: [Unplug].",
            OWN,
        ),
        Fault::NoPlace => (
            "Minutes to get at a part decide which test comes next. A load that has no place is taken to be where the part above it is, and a lamp is not in the box of its fuse.",
            "Enter where it is, and in places how long it takes to get there.",
            OWN,
        ),
        Fault::LoneFeed => (
            "Body, engine and brake modules often have more than one supply: memory and power, or pump and valves. A feed that is not entered keeps the module alive with its other fuse out, and all fuses seem innocent.",
            "Look on the module's own sheet for every supply pin.",
            PRACTICE,
        ),
        Fault::UnfedModule => (
            "A module that nothing feeds takes no part in the search.",
            "Give each load that is a feed of it the field of, or take the module out.",
            OWN,
        ),
        Fault::UnfedBox => (
            "A box is fed by a cable, mostly behind a link. Without it the box cannot be told from the rest by one reading, and a leak in that cable has no name.",
            "Enter the Link and the Cable, and put the box's fuses inside.",
            PRACTICE,
        ),
        Fault::EmptyPlace => (
            "A place was entered and nothing is there: a box that was forgotten, or a name that is spelt in two ways.",
            "Enter what is there, or take the place out.",
            JUDGEMENT,
        ),
        Fault::FarPlace => (
            "The way to it adds up to more than two hours, all that must be open before included. No plan would ever send anybody there.",
            "Often minutes were meant where hours stand, or a place is within the wrong one.",
            JUDGEMENT,
        ),
        Fault::AsleepOverLimit => (
            "A healthy vehicle draws less than its limit. When what is entered as usual is more already, nothing can be told from the draw.",
            "Look up the limit, and whether the asleep of the largest loads is in mA and asleep, not awake.",
            OWN,
        ),
        Fault::NearTwins => (
            "At the vehicle names are typed without minding capitals. Two that differ in nothing else cannot be told apart then, nor when they are read out.",
            "Where one thing is meant, type the same; else rename one: halfsplit rename.",
            OWN,
        ),
        Fault::SameLabel => (
            "Body builders repeat the numbers of the chassis. Place and number together say which fuse is meant; here they do not.",
            "Give each part the place of its own box.",
            PRACTICE,
        ),
        Fault::NoLimit => (
            "The figure for 12 V, 30 to 50 mA, is common practice and does not hold for 24 V. Without a limit there is no verdict.",
            "Ask the vehicle maker, and put the source in note.",
            PRACTICE,
        ),
        Fault::IdleAccept => (
            "What it accepted has been mended or renamed, or was never asked.",
            "Take the entry out, so that the next one who looks is not misled.",
            JUDGEMENT,
        ),
        Fault::LargerThanAbove => (
            "A fuse that is larger than the one above it never blows first. Mostly one of the two was read off the wrong line, or it is fed from elsewhere.",
            "Look both up again.",
            PRACTICE,
        ),
        Fault::DrawOrder => (
            "least, asleep and at_most are the least, the usual and the most of a healthy load: they must rise.",
            "Type them in that order.",
            OWN,
        ),
        _ => return None,
    };
    Some(Reasons { why, then, source })
}

const fn severity(fault: Fault) -> &'static str {
    match fault.severity() {
        Severity::Error => "an error: the file cannot be used before it is mended",
        Severity::Warning => "a warning: the file can be used, this is most likely wrong",
        Severity::Advice => "a question: the file can be used as it is",
    }
}

/// What a code means, in lines of at most `width` columns.
pub fn explain(fault: Fault, width: usize) -> String {
    let mut lines = vec![
        ("code", fault.code().to_owned()),
        ("means", fault.meaning().trim().to_owned()),
        ("is", severity(fault).to_owned()),
    ];
    if let Some(reasons) = reasons(fault) {
        lines.push(("because", reasons.why.to_owned()));
        lines.push(("then", reasons.then.to_owned()));
        lines.push(("source", reasons.source.to_owned()));
    }
    // What was accepted in vain, or is the code of nothing, is mended where it stands.
    let own = matches!(fault, Fault::IdleAccept | Fault::UnknownCode);
    if fault.severity() != Severity::Error && !own {
        let code = fault.code();
        lines.push((
            "accept",
            format!("accept: {{ \"{code}\": \"the reason\" }} in the vehicle file for all of them, \"{code} NAME\" for one"),
        ));
    }
    under_heads(&lines, width)
}

/// All codes with a sentence each.
pub fn codes(width: usize) -> String {
    let kinds = [
        (
            Severity::Advice,
            "Asked, and accepted in the file where it is meant so:\n",
        ),
        (Severity::Warning, "\nMost likely wrong:\n"),
        (Severity::Error, "\nErrors:\n"),
    ];
    let mut out = String::new();
    for (severity, head) in kinds {
        out.push_str(head);
        for fault in Fault::ALL.iter().filter(|f| f.severity() == severity) {
            let first = format!("  {:<18} ", fault.code());
            let look = textwrap::Options::new(width)
                .initial_indent(&first)
                .subsequent_indent("                     ");
            let meaning = fault.meaning().trim().replace('`', "");
            out.push_str(&textwrap::fill(&meaning, look));
            out.push('\n');
        }
    }
    out
}

/// What stands below the drawn problems: how many more there are of each code, and how one is
/// accepted; empty where nothing is asked.
pub fn also_asked(
    drawn: &[Problem],
    left_out: &BTreeMap<&'static str, usize>,
    width: usize,
) -> String {
    let mut lines = Vec::new();
    let more: Vec<_> = left_out
        .iter()
        .map(|(code, count)| format!("{count} more of {code}"))
        .collect();
    if !more.is_empty() {
        lines.push((
            "also",
            format!("{}; --json lists them all", more.join(", ")),
        ));
    }
    let own = [Fault::IdleAccept.code(), Fault::UnknownCode.code()];
    let can_be = |p: &&Problem| p.severity == Severity::Advice && !own.contains(&p.code);
    if let Some(example) = drawn.iter().find(can_be) {
        let code = example.code;
        let name = example.about.as_deref().filter(|name| name.len() < 40);
        let name = name.map_or_else(String::new, |name| format!(" {}", name.escape_debug()));
        lines.push((
            "meant so",
            format!("accept: {{ \"{code}{name}\": \"the reason\" }} in the vehicle file"),
        ));
        lines.push(("why", format!("halfsplit check --explain {code}")));
    }
    under_heads(&lines, width)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_that_can_be_accepted_has_its_reasons() {
        // What a table or a kit of instruments alone can have, and what needs none.
        let plain = [
            Fault::ByteOrderMark,
            Fault::UnknownColumn,
            Fault::Guessed,
            Fault::NothingToRead,
            Fault::UnknownCode,
        ];
        for fault in Fault::ALL {
            let expected = fault.severity() != Severity::Error && !plain.contains(fault);
            assert_eq!(reasons(*fault).is_some(), expected, "{}", fault.code());
        }
    }
}
