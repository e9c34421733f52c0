//! Writes SVG; all text goes through here, cleaned and escaped.

use crate::problem::clean;
use crate::render::words::{TOGETHER, units_together};
use std::fmt::Write as _;

/// Height of the letters of an id, in mm (7 points).
pub(in crate::render) const LARGE: f64 = 2.5;
/// Height of all other letters, in mm (6 points).
pub(in crate::render) const SMALL: f64 = 2.1;
/// A letter's width, in its height: fonts of fixed width have 0.55 to 0.602.
const LETTER: f64 = 0.605;

/// How wide a text is at most, in mm.
pub(in crate::render) fn width(text: &str, size: f64) -> f64 {
    textwrap::core::display_width(text) as f64 * LETTER * size
}

/// The text of one line in lines of at most that many mm, with a number and its unit on one; a word that
/// is longer is cut.
pub(in crate::render) fn wrap(text: &str, room: f64, size: f64) -> Vec<String> {
    let columns = (room / (LETTER * size)).floor().max(4.0) as usize;
    let look = textwrap::Options::new(columns)
        .wrap_algorithm(textwrap::WrapAlgorithm::FirstFit)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    let text = units_together(text);
    let lines = textwrap::wrap(&text, look).into_iter();
    let spaced = lines.map(|line| line.trim_end().replace(TOGETHER, " "));
    spaced.collect()
}

/// A text as XML takes it.
pub(in crate::render) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in clean(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // The two that XML forbids and cleaning lets pass.
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
    out
}

/// One drawing being made.
#[derive(Default)]
pub(in crate::render) struct Pen {
    pub(in crate::render) out: String,
}

/// A number of millimetres, to a hundredth.
fn mm(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

impl Pen {
    /// A path in SVG's own words, with a class that says how it is drawn.
    pub(in crate::render) fn path(&mut self, class: &str, path: &str) {
        let _ = writeln!(self.out, "<path class=\"{class}\" d=\"{path}\"/>");
    }

    pub(in crate::render) fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        let (x, y, to_x, to_y) = (mm(from.0), mm(from.1), mm(to.0), mm(to.1));
        self.path(class, &format!("M{x} {y}L{to_x} {to_y}"));
    }

    pub(in crate::render) fn circle(&mut self, class: &str, centre: (f64, f64), radius: f64) {
        let (x, y, r) = (mm(centre.0), mm(centre.1), mm(radius));
        let _ = writeln!(
            self.out,
            "<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>"
        );
    }

    pub(in crate::render) fn text(&mut self, class: &str, at: (f64, f64), text: &str) {
        if text.is_empty() {
            return;
        }
        let (x, y, text) = (mm(at.0), mm(at.1), escape(text));
        let _ = writeln!(
            self.out,
            "<text class=\"{class}\" x=\"{x}\" y=\"{y}\">{text}</text>"
        );
    }

    /// Shapes drawn round a point, moved there.
    pub(in crate::render) fn at(&mut self, at: (f64, f64), shapes: &str) {
        let (x, y) = (mm(at.0), mm(at.1));
        let _ = writeln!(self.out, "<g transform=\"translate({x} {y})\">{shapes}</g>");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_breaks_out_of_a_text() {
        let mut pen = Pen::default();
        pen.text("id", (1.0, 2.005), "</text>&\"'\u{1b}\u{ffff}x");
        assert_eq!(
            pen.out,
            "<text class=\"id\" x=\"1\" y=\"2.01\">&lt;/text&gt;&amp;&quot;&#39;?\u{fffd}x</text>\n"
        );
    }

    #[test]
    fn lines_are_as_narrow_as_asked() {
        let long = "exhaust recirculation valve with averyverylongwordthatfitsnowhere";
        for room in [10.0, 20.0, 40.0] {
            for line in wrap(long, room, SMALL) {
                assert!(width(&line, SMALL) <= room + 1e-9, "{line}");
            }
        }
    }
}
