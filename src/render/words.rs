//! The small grammar and the words for parts that several drawings share.

use crate::feeds::{Feeds, Named, PartId};
use crate::problem::clean;
use crate::suspects::Cause;
use crate::vehicle::{FuseStyle, LoadKind, Metal, Part, PartKind, Rest, WireSize};
use std::fmt::Write as _;

/// A space at which no line ends, so that a number stays with its word.
pub(super) const TOGETHER: &str = "\u{a0}";

/// Head words stand in this many columns.
pub(super) const HEAD: usize = 10;

/// Texts behind their head words, in lines of at most `width` columns (a longer single word apart). A
/// head that repeats is said once; then the lines that go on stand further in, so that each text can
/// be told from the next.
pub(super) fn under_heads(lines: &[(&str, String)], width: usize) -> String {
    let mut out = String::new();
    for (at, (head, text)) in lines.iter().enumerate() {
        let same = |other: Option<&(&str, String)>| other.is_some_and(|other| other.0 == *head);
        let again = at > 0 && same(lines.get(at - 1));
        let listed = again || same(lines.get(at + 1));
        let first = format!("{:<HEAD$}", if again { "" } else { head });
        let rest = " ".repeat(HEAD + if listed { 2 } else { 0 });
        let look = textwrap::Options::new(width)
            // A wire colour such as GN/BN holds together.
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation)
            .initial_indent(&first)
            .subsequent_indent(&rest);
        let text = units_together(&clean(text));
        out.push_str(&textwrap::fill(&text, look).replace(TOGETHER, " "));
        out.push('\n');
    }
    out
}

/// No line ends between a number and its unit.
pub(super) fn units_together(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split_inclusive(' ') {
        let unit = word.trim_end_matches([' ', ',', ';', '.', ':', ')']);
        let is_unit = matches!(
            unit,
            "mA" | "A" | "mV" | "V" | "min" | "s" | "%" | "mΩ" | "Ah" | "m"
        );
        let number = out.trim_end().ends_with(|c: char| c.is_ascii_digit());
        if is_unit && number && out.ends_with(' ') {
            out.pop();
            out.push_str(TOGETHER);
        }
        out.push_str(word);
    }
    out
}

/// For a terminal that shows plain characters only: "mm²" is "mm2"; anything else that the file
/// holds becomes a question mark.
pub fn spelled_plainly(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '²' => out.push('2'),
            '…' => out.push_str("..."),
            // Between two words: no blank before a comma.
            '·' => {
                if out.ends_with(' ') && !out.ends_with("  ") {
                    out.pop();
                }
                out.push(',');
            }
            '±' => out.push_str("+-"),
            '–' | '−' => out.push('-'),
            'Ω' => out.push_str("Ohm"),
            '×' => out.push('x'),
            '°' => out.push_str("deg "),
            'µ' | 'μ' => out.push('u'),
            '“' | '”' => out.push('"'),
            '½' => out.push_str("1/2"),
            c if c.is_ascii() => out.push(c),
            _ => out.push('?'),
        }
    }
    out
}

/// With a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// "1 fuse", "2 fuses", "3 switches", "2 batteries", "2 relays".
pub(super) fn count(number: usize, word: &str) -> String {
    if number == 1 {
        format!("1 {word}")
    } else if let Some(stem) = word.strip_suffix("ry") {
        format!("{number} {stem}ries")
    } else if word.ends_with("ch") {
        format!("{number} {word}es")
    } else {
        format!("{number} {word}s")
    }
}

/// Whether one of these words stands in a text by itself.
pub(super) fn holds(text: &str, words: &[&str]) -> bool {
    let text = text.to_lowercase();
    let mut own = text.split(|c: char| !c.is_alphanumeric());
    own.any(|word| words.contains(&word))
}

/// "a", "a and b", "a, b and c".
pub(super) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [others @ .., last] => format!("{} and {last}", others.join(", ")),
    }
}

/// What is on no diagram, by what feeds it.
pub(super) fn unlisted(at: &str) -> String {
    format!("something extra wired to {at}")
}

/// The id of a cause as one would say it: "something extra wired to F7" for `unlisted at F7`.
pub(super) fn spoken(id: &str) -> String {
    match id.strip_prefix("unlisted at ") {
        Some(at) => unlisted(at),
        None => id.to_owned(),
    }
}

/// A branch that was located as one would name it: of a wire no more than that it is there.
/// `wet` says that water was told of.
pub(super) fn spoken_branch(id: &str, feeds: &Feeds, wet: bool) -> String {
    let Some(at) = id.strip_prefix("unlisted at ") else {
        return id.to_owned();
    };
    match feeds.find(at) {
        Some(Named::Part(part)) if feeds.is_leaf(*part) => nothing_named(at),
        _ => format!(
            "the wiring at {at} ({}), or something extra wired to it",
            damage(wet)
        ),
    }
}

/// What a wire that leaks has, the likeliest first.
pub(super) const fn damage(wet: bool) -> &'static str {
    if wet {
        "water, or chafed"
    } else {
        "chafed or damp"
    }
}

/// What is on a fuse or plug behind which the file has nothing.
pub(super) fn nothing_named(at: &str) -> String {
    format!("something on {at}, for which this file names nothing")
}

/// A possible cause as one would name it: "cargo lamp", "K4 coil held on".
pub(super) fn named_cause(id: &str, cause: Cause) -> String {
    match cause {
        Cause::OwnDraw => id.to_owned(),
        Cause::CoilHeld => format!("{id} held on"),
        // A person switches a switch on, and a relay closes.
        Cause::ContactClosed if id.contains("switch") => format!("{id} on"),
        Cause::ContactClosed => format!("{id} closed"),
        Cause::HoldsAwake => format!("{id}, which keeps the others awake"),
        Cause::Leak => format!("a leak in the wiring at {id}"),
        Cause::NotOnSheet => spoken(id),
    }
}

/// Several of one kind as one would name them: "body module or cluster, which keeps the others awake".
pub(super) fn named_causes(ids: &[String], cause: Cause) -> String {
    let spoken: Vec<String> = ids
        .iter()
        .map(|id| match id.strip_prefix("unlisted at ") {
            Some(at) => at.to_owned(),
            None => id.clone(),
        })
        .collect();
    let either = match spoken.as_slice() {
        [others @ .., last] if !others.is_empty() => format!("{} or {last}", others.join(", ")),
        _ => spoken.concat(),
    };
    match cause {
        Cause::NotOnSheet => unlisted(&either),
        _ => named_cause(&either, cause),
    }
}

/// A small count in words, to begin a sentence with: "two"; a larger one in figures.
pub(super) fn in_words(number: usize) -> String {
    let words = ["no", "one", "two", "three", "four", "five", "six"];
    let word = words.get(number).map(|word| (*word).to_owned());
    word.unwrap_or_else(|| number.to_string())
}

/// A place in an order, in words as far as they are short: "second", "third", "21st".
pub(super) fn ordinal(number: usize) -> String {
    let words = ["first", "second", "third", "fourth", "fifth", "sixth"];
    if let Some(word) = number.checked_sub(1).and_then(|at| words.get(at)) {
        return (*word).to_owned();
    }
    let ending = match (number % 10, number % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

/// From and to on the display.
pub(super) fn shown_range((low, high): (f64, f64), millivolts: bool) -> String {
    let unit = if millivolts { "mV" } else { "mA" };
    // As the display shows it: both ends with the same decimals, of millivolts one at least.
    let needs = |value: f64| {
        let shown = plain((value * 100.0).round() / 100.0);
        shown
            .split_once('.')
            .map_or(0, |(_, decimals)| decimals.len())
    };
    let ends = [low, high];
    let finite = ends.iter().filter(|end| end.is_finite());
    let decimals = finite.map(|end| needs(*end)).max().unwrap_or(0);
    let decimals = decimals.max(usize::from(millivolts));
    let show = |value: f64| format!("{value:.decimals$}");
    if high.is_finite() {
        format!("{} to {} {unit}", show(low), show(high))
    } else {
        format!("{} {unit} or more", show(low))
    }
}

/// A number without a needless fraction.
pub(super) fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// A number as a person would write it: up to three decimals, no trailing zeros.
pub(super) fn plain(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Entries in one text, with commas; each holds together at its spaces where it fits a line alone.
pub(super) fn joined(entries: &[String], fits: impl Fn(&str) -> bool) -> String {
    let held: Vec<_> = entries
        .iter()
        .map(|entry| {
            let entry = one_line(entry);
            if fits(&entry) {
                entry.replace(' ', TOGETHER)
            } else {
                entry
            }
        })
        .collect();
    held.join(", ")
}

/// The text cleaned, on one line.
pub(super) fn one_line(text: &str) -> String {
    clean(text).replace(['\n', '\t'], " ")
}

/// What a load is, in words; nothing for one that only says it is a load.
const fn load_word(kind: LoadKind) -> &'static str {
    match kind {
        LoadKind::Lamp => "lamp",
        LoadKind::Audio => "audio",
        LoadKind::Telematics => "telematics",
        LoadKind::BodyModule => "body module",
        LoadKind::EngineModule => "engine module",
        LoadKind::Motor => "motor",
        LoadKind::Heater => "heater",
        LoadKind::Charging => "charging",
        LoadKind::Starter => "starter",
        LoadKind::Trailer => "trailer",
        LoadKind::Added => "added equipment",
        LoadKind::Other => "load",
        LoadKind::Airbag => "airbag: never unplug",
        LoadKind::Brake => "brakes",
        LoadKind::HighVoltage => "high voltage: leave alone",
        LoadKind::Protected => "protected: leave alone",
        LoadKind::Moves => "moves: keep clear",
    }
}

/// The nearest part above with a rating: the fuse, link or breaker that protects this one.
fn protected_by(feeds: &Feeds, id: PartId) -> Option<PartId> {
    std::iter::successors(feeds.up(id), |p| feeds.up(*p)).find(|p| {
        matches!(
            feeds.part(*p).kind,
            PartKind::Fuse | PartKind::Link | PartKind::Breaker
        )
    })
}

/// What it is, with its size: "fuse 20 A Mini", "battery 12 V 70 Ah", "relay closed at rest", "feed
/// of body module".
pub(super) fn what(part: &Part) -> String {
    let mut word = match (part.kind, &part.of) {
        (PartKind::Load, Some(module)) => format!("feed of {}", module.value),
        (PartKind::Load, None) => load_word(part.load.unwrap_or(LoadKind::Other)).to_owned(),
        (kind, _) => kind.word().to_lowercase(),
    };
    let careful = part.load.filter(|kind| {
        matches!(
            kind,
            LoadKind::Airbag
                | LoadKind::Brake
                | LoadKind::HighVoltage
                | LoadKind::Protected
                | LoadKind::Moves
        )
    });
    if let (Some(kind), Some(_)) = (careful, &part.of) {
        let _ = write!(word, " ({})", load_word(kind));
    }
    if let Some(rating) = &part.rating {
        let _ = write!(word, " {} A", plain(rating.value.value() / 1000.0));
    }
    if let Some(style) = part.style.filter(|style| *style != FuseStyle::Other) {
        let _ = write!(word, " {}", style.word());
    }
    if let Some(volts) = part.volts {
        let _ = write!(word, " {} V", plain(volts.value() / 1000.0));
    }
    if let Some(capacity) = part.capacity {
        let _ = write!(word, " {} Ah", plain(capacity.value()));
    }
    match part.rest {
        Some(Rest::Closed) => word.push_str(" closed at rest"),
        Some(Rest::Open) => word.push_str(" open at rest"),
        None => {}
    }
    word
}

/// The wire that leads to it: "wire 16 mm² 0.8 m", "wire AWG 10 aluminium".
fn wire(part: &Part) -> Option<String> {
    let wire = part.wire?;
    let size = match wire.size {
        WireSize::Area(area) => format!("{} mm²", plain(area.value())),
        WireSize::Gauge(gauge) if gauge <= 0.0 => format!("AWG {}/0", plain(1.0 - gauge)),
        WireSize::Gauge(gauge) => format!("AWG {}", plain(gauge)),
    };
    let length = wire.length.map(|l| format!(" {} m", plain(l.value())));
    let metal = match wire.metal {
        Metal::Copper => "",
        Metal::Aluminium => " aluminium",
    };
    Some(format!("{size}{}{metal}", length.unwrap_or_default()))
}

/// "C201 pin 7".
pub(super) fn plug(part: &Part) -> Option<String> {
    match (&part.plug, &part.pin) {
        (Some(plug), Some(pin)) => Some(format!("{} pin {pin}", plug.value)),
        (Some(plug), None) => Some(plug.value.clone()),
        (None, Some(pin)) => Some(format!("pin {pin}")),
        (None, None) => None,
    }
}

/// Its place where that is another than the place of the part that feeds it.
pub(super) fn new_place(feeds: &Feeds, id: PartId) -> Option<&str> {
    let own = feeds.place(id)?;
    let above = feeds.up(id).and_then(|up| feeds.place(up));
    (above != Some(own)).then(|| feeds.place_as_written(own).id.value.as_str())
}

/// What ties it to parts elsewhere in the tree: the other feeds of its module, its coil
/// or contact, what shares its holder.
pub(super) fn relations(feeds: &Feeds, id: PartId) -> Vec<String> {
    let part = feeds.part(id);
    let mut said = Vec::new();
    let others = feeds
        .module_of(id)
        .map_or(&[][..], |module| feeds.module_feeds(module));
    let mut also = "fed also";
    for other in others.iter().filter(|other| **other != id) {
        let own = feeds.id(*other);
        said.push(match protected_by(feeds, *other) {
            Some(fuse) => format!("{also} by {} ({own})", feeds.id(fuse)),
            None => format!("{also} at {own}"),
        });
        also = "and";
    }
    if let Some(relay) = &part.moves {
        said.push(format!("moves {}", relay.value));
    }
    if let Some(command) = &part.commanded_by {
        said.push(format!("commanded by {}", command.value));
    }
    for coil in feeds.coils_of(id) {
        let own = feeds.id(*coil);
        said.push(match protected_by(feeds, *coil) {
            Some(fuse) => format!("moved by {own} under {}", feeds.id(fuse)),
            None => format!("moved by {own}"),
        });
    }
    let mates = feeds.holder_mates(id).into_iter().filter(|m| *m != id);
    let mates: Vec<_> = mates.map(|m| feeds.id(m)).collect();
    if !mates.is_empty() {
        said.push(format!("comes out with {}", mates.join(" and ")));
    }
    said
}

/// What a person may want to know of a part, the most wanted first; each entry stands by itself.
/// Its place stands in brackets where it changes.
pub(super) fn particulars(feeds: &Feeds, id: PartId) -> Vec<String> {
    let part = feeds.part(id);
    let place = new_place(feeds, id).map(|place| format!(" [{place}]"));
    let mut said: Vec<String> = part.name.iter().cloned().collect();
    said.push(what(part) + &place.unwrap_or_default());
    said.extend(part.label.as_ref().map(|label| format!("lid says {label}")));
    let (mut plug, mut wire) = (plug(part), wire(part));
    if let Some(colour) = &part.colour {
        match (&mut plug, &mut wire) {
            (Some(near), _) | (None, Some(near)) => {
                let _ = write!(near, " {colour}");
            }
            (None, None) => wire = Some(colour.clone()),
        }
    }
    said.extend(plug);
    said.extend(wire);
    said.extend(relations(feeds, id));
    said.extend(part.sheet.as_ref().map(|sheet| format!("sheet {sheet}")));
    if feeds.is_leaf(id) && !matches!(part.kind, PartKind::Load | PartKind::Coil) {
        said.push("nothing entered below".to_owned());
    }
    said.extend(
        part.caution
            .as_ref()
            .map(|caution| format!("CAUTION: {caution}")),
    );
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_and_numbers_read_right() {
        let counted: Vec<_> = [
            (1, "fuse"),
            (2, "fuse"),
            (1, "switch"),
            (2, "switch"),
            (1, "battery"),
            (2, "battery"),
            (2, "relay"),
        ]
        .iter()
        .map(|(n, word)| count(*n, word))
        .collect();
        assert_eq!(
            counted,
            [
                "1 fuse",
                "2 fuses",
                "1 switch",
                "2 switches",
                "1 battery",
                "2 batteries",
                "2 relays"
            ]
        );
        let places = [1, 2, 7, 12, 21, 23, 111].map(ordinal);
        assert_eq!(
            places,
            ["first", "second", "7th", "12th", "21st", "23rd", "111th"]
        );
        assert_eq!(
            (number(45.0), number(1.5)),
            ("45".to_owned(), "1.5".to_owned())
        );
        assert_eq!(
            [7.5, 20.0, 0.75, 100.0].map(plain),
            ["7.5", "20", "0.75", "100"]
        );
    }
}
