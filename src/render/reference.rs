//! The reference numbers, in words and as data: each beside its mark, its band and its source.

use crate::quantity::{Celsius, Quantity};
use crate::reference::{Figure, Listed, Of, PER_KELVIN, Strands};
use crate::render::amps::figures;
use crate::render::answer::number;
use crate::render::words::plain;
use crate::vehicle::{FuseStyle, Metal, Wire, WireSize};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

const fn metal_word(metal: Metal) -> &'static str {
    match metal {
        Metal::Copper => "copper",
        Metal::Aluminium => "aluminium",
    }
}

fn size_words(size: WireSize) -> String {
    match size {
        WireSize::Area(area) => format!("{} mm²", plain(area.value())),
        WireSize::Gauge(gauge) => format!("AWG {}", plain(gauge)),
    }
}

/// What a row is about: two columns.
fn named(of: Of) -> (String, String) {
    match of {
        Of::Fuse(style, rating) => (
            style.word().to_owned(),
            format!("{} A", plain(rating.value() / 1000.0)),
        ),
        Of::Link(Wire { size, .. }) => ("link".to_owned(), size_words(size)),
        Of::Metre(size, metal, strands) => {
            let solid = if strands == Strands::Solid {
                " solid"
            } else {
                ""
            };
            (format!("{}{solid}", metal_word(metal)), size_words(size))
        }
    }
}

/// Where the numbers of a kind begin.
fn heading(of: Of, celsius: f64) -> String {
    let at = plain(celsius);
    match of {
        Of::Fuse(..) => format!("Fuses without load at {at} °C, mΩ"),
        Of::Link(_) => format!("Fusible links of copper, 6 in between the probes, at {at} °C, mΩ"),
        Of::Metre(..) => format!("Wire at {at} °C, mΩ for a metre"),
    }
}

/// A list with the numbers of what was listed before.
struct Sources(Vec<String>);

impl Sources {
    fn number(&mut self, source: &str) -> usize {
        if let Some(at) = self.0.iter().position(|known| known == source) {
            return at + 1;
        }
        self.0.push(source.to_owned());
        self.0.len()
    }
}

/// One number, in columns where they fit, else one after the other.
fn row(of: Of, figure: &Figure, sources: &mut Sources, width: usize) -> String {
    let (what, size) = named(of);
    let (low, high) = (figures(figure.band.low()), figures(figure.band.high()));
    let best = figures(figure.nominal.value());
    let between = format!("{low} to {high}");
    let mark = figure.mark.word();
    let source = sources.number(&figure.source);
    let columns =
        format!("  {what:<12} {size:>8}  {best:>7}  {between:<17}  {mark:<11}  [{source}]");
    fitting(columns, width, || {
        format!("{what} {size}: {best}, {between}; {mark} [{source}]")
    })
}

/// A row of columns, or the same as a sentence where the columns are too wide.
fn fitting(columns: String, width: usize, sentence: impl Fn() -> String) -> String {
    if columns.chars().count() <= width {
        return columns + "\n";
    }
    let look = textwrap::Options::new(width);
    let look = look.initial_indent("  ").subsequent_indent("      ");
    textwrap::fill(&sentence(), look) + "\n"
}

/// What holds for all of them.
const RULES: [&str; 6] = [
    "Bands are working bands, judgement: no maker publishes a tolerance. ±15 % for a row of a known series, ±30 % for one from memory and for a mini blade by the regular one, ±40 % for everything estimated; ±5 % for what you measured yourself.",
    "Glass, Torpedo and other fuses: nothing published was found, so there is no number. Measure a spare one: halfsplit amps resistance says how.",
    "Where it does not say solid, a wire has many fine strands, as vehicle cable has (IEC 60228 class 5). Of one with few thick strands, or where that is not known, say so: amps drop 1.9mV across wire 1mm2 1m stranded.",
    "A length of wire gets another tenth on both sides, for doubt about the length.",
    "Probe a fuse at its own test points: a contact of its holder has 0.5 to 1 mΩ (ISO 8820 fixtures, seen in abstracts), as much as a whole large fuse. A counterfeit fuse can be anything.",
    "Never work back from the drop at rated current: a fuse is then 1.34 to 1.67 times its cold resistance (derived).",
];

/// The style listed before it that has the same numbers at the same ratings, if there is one.
fn same_as(list: &[Listed], style: FuseStyle) -> Option<FuseStyle> {
    let rows = |wanted: FuseStyle| {
        let found = list.iter().filter_map(move |listed| match listed.of {
            Of::Fuse(of, rating) if of == wanted => Some((rating, &listed.figure)),
            _ => None,
        });
        found.collect::<Vec<_>>()
    };
    let listed_styles = list.iter().filter_map(|listed| match listed.of {
        Of::Fuse(style, _) => Some(style),
        _ => None,
    });
    let mut before = listed_styles.take_while(|other| *other != style);
    before.find(|other| rows(*other) == rows(style))
}

/// The tables as text, in lines of at most `width` columns, at a temperature or at 20 °C.
pub fn reference(list: &[Listed], temperature: Option<Celsius>, width: usize) -> String {
    let celsius = temperature.map_or(20.0, Celsius::value);
    let mut sources = Sources(Vec::new());
    // Writing to a string cannot fail, here and below.
    let mut out = String::new();
    let mut before = String::new();
    let mut referred = Vec::new();
    for listed in list {
        let head = heading(listed.of, celsius);
        if head != before {
            out.push_str(if before.is_empty() { "" } else { "\n" });
            out.push_str(&textwrap::fill(&head, width));
            out.push('\n');
            before = head;
        }
        if let Of::Fuse(style, _) = listed.of
            && let Some(same) = same_as(list, style)
        {
            if !referred.contains(&style) {
                referred.push(style);
                let (style, same) = (style.word(), same.word());
                let _ = writeln!(out, "  {style:<12} as {same}");
            }
            continue;
        }
        let there = listed.figure.at(Celsius::of(celsius));
        out.push_str(&row(listed.of, &there, &mut sources, width));
    }
    out.push_str("\nChange with temperature, at 20 °C\n");
    for (metal, per_kelvin, source, mark) in PER_KELVIN {
        let percent = figures(per_kelvin * 100.0);
        let mark = mark.word();
        let source = sources.number(source);
        let columns = format!("  {metal:<12} {percent:>6} % per kelvin  {mark}  [{source}]");
        out.push_str(&fitting(columns, width, || {
            format!("{metal}: {percent} % per kelvin; {mark} [{source}]")
        }));
    }
    out.push_str("\nSources\n");
    let wrapped = |head: &str, text: &str| {
        let indent = " ".repeat(head.chars().count());
        let look = textwrap::Options::new(width).initial_indent(head);
        textwrap::fill(text, look.subsequent_indent(&indent)) + "\n"
    };
    for (at, source) in sources.0.iter().enumerate() {
        out.push_str(&wrapped(
            &format!("{:>5} ", format!("[{}]", at + 1)),
            source,
        ));
    }
    out.push('\n');
    for rule in RULES {
        out.push_str(&(textwrap::fill(rule, width) + "\n"));
    }
    out
}

fn entry(listed: &Listed, temperature: Option<Celsius>) -> Value {
    let figure = temperature.map_or(listed.figure.clone(), |there| listed.figure.at(there));
    let mut object = Map::new();
    match listed.of {
        Of::Fuse(style, rating) => {
            object.insert("style".to_owned(), json!(style.word()));
            object.insert("rating_a".to_owned(), number(rating.value() / 1000.0));
        }
        Of::Link(Wire { length, .. }) => {
            let length = length.map_or(0.0, Quantity::value);
            object.insert("length_m".to_owned(), json!(length));
        }
        Of::Metre(_, metal, strands) => {
            object.insert("metal".to_owned(), json!(metal_word(metal)));
            object.insert("strands".to_owned(), json!(strands.word()));
        }
    }
    if let Some((size, gauge)) = listed.of.size() {
        object.insert(if gauge { "awg" } else { "mm2" }.to_owned(), number(size));
    }
    let key = if listed.of.is_wire() {
        "mohm_per_m"
    } else {
        "mohm"
    };
    let mohm = |value: f64| json!((value * 1e6).round() / 1e6);
    object.insert(
        key.to_owned(),
        json!({"low": mohm(figure.band.low()), "best": mohm(figure.nominal.value()),
               "high": mohm(figure.band.high())}),
    );
    object.insert("mark".to_owned(), json!(figure.mark.word()));
    object.insert("source".to_owned(), json!(figure.source));
    Value::Object(object)
}

/// The same as data.
pub fn reference_json(list: &[Listed], temperature: Option<Celsius>) -> Value {
    let of = |wanted: fn(&Of) -> bool| {
        let these = list.iter().filter(|listed| wanted(&listed.of));
        these
            .map(|listed| entry(listed, temperature))
            .collect::<Vec<_>>()
    };
    let metals = PER_KELVIN.map(|(metal, per_kelvin, source, mark)| {
        json!({"metal": metal, "per_kelvin": per_kelvin, "mark": mark.word(), "source": source})
    });
    json!({
        "celsius": temperature.map_or(20.0, Celsius::value),
        "fuses": of(|of| matches!(of, Of::Fuse(..))),
        "links": of(|of| matches!(of, Of::Link(_))),
        "wires": of(|of| matches!(of, Of::Metre(..))),
        "metals": metals,
    })
}
