//! The picture of a screen in the README: drawn from what the program prints, and kept so.

use crate::trace::Bench;
use std::fmt::Write as _;
use std::path::Path;

/// Columns of the terminal in the picture.
const COLUMNS: usize = 80;
/// Width of a letter, and from line to line, in pixels.
const LETTER: f64 = 8.4;
const LINE: f64 = 19.0;
/// Free space round the text, in pixels.
const MARGIN: f64 = 18.0;

/// A line of the screen: its head (an entry that was kept has none), or all of a line that was typed, in heavy letters. Each piece has its
/// width given, so that it is the same with any font of one width.
fn drawn(line: &str, at: f64, typed: bool) -> String {
    let kept =
        line.trim_start().starts_with(|c: char| c.is_ascii_digit()) && line.starts_with("   ");
    let kept = kept && !line.starts_with("          ");
    let (head, rest) = if kept {
        ("", line)
    } else if typed || line.starts_with("──") {
        (line, "")
    } else {
        match line.char_indices().nth(10) {
            Some((end, _)) => line.split_at(end),
            None => (line, ""),
        }
    };
    let mut out = String::new();
    let mut column = 0;
    for (text, weight) in [(head, "bold"), (rest, "normal")] {
        let before = text.chars().take_while(|c| *c == ' ').count();
        let shown = text.trim();
        if !shown.is_empty() {
            let letters = shown.chars().count() as f64;
            let x = MARGIN + (column + before) as f64 * LETTER;
            let wide = letters * LETTER;
            let shown = shown.replace('&', "&amp;").replace('<', "&lt;");
            // Writing to a string cannot fail.
            let _ = writeln!(
                out,
                "<text xml:space=\"preserve\" x=\"{x:.1}\" y=\"{at:.1}\" textLength=\"{wide:.1}\" lengthAdjust=\"spacingAndGlyphs\" font-weight=\"{weight}\">{shown}</text>"
            );
        }
        column += text.chars().count();
    }
    out
}

/// A screen as a drawing, with what was typed at its top.
fn picture(typed: &str, screen: &str) -> String {
    let lines: Vec<&str> = screen.lines().collect();
    let wide = COLUMNS as f64 * LETTER + 2.0 * MARGIN;
    let high = (lines.len() + 1) as f64 * LINE + 2.0 * MARGIN;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide:.0} {high:.0}\" width=\"{wide:.0}\" height=\"{high:.0}\" font-family=\"monospace\" font-size=\"14\">\n<title>One step of a search at a terminal, as halfsplit prints it</title>\n<rect x=\"1\" y=\"1\" width=\"{:.0}\" height=\"{:.0}\" rx=\"6\" fill=\"#fbfaf6\" stroke=\"#8a8578\"/>\n",
        wide - 2.0,
        high - 2.0
    );
    let mut at = MARGIN + 13.0;
    out.push_str(&drawn(typed, at, true));
    for line in lines {
        at += LINE;
        out.push_str(&drawn(line, at, false));
    }
    out.push_str("</svg>\n");
    out
}

/// `INSTA_UPDATE=always cargo test screen_picture` draws it anew.
#[test]
fn the_picture_in_the_readme_is_what_is_printed() {
    let bench = Bench::new();
    let run = bench.van("prepared\nasleep\n0.64A\n");
    let screen = run.out.split("asleep\n").last().unwrap();
    let kept = screen.find("   3  draw").unwrap();
    let screen = screen[kept..].split("\n\nleave ").next().unwrap();
    let drawing = picture("draw> 0.64A", screen);
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = root.join(".pictures/one-step.svg");
    if std::env::var("INSTA_UPDATE").is_ok_and(|update| update == "always") {
        std::fs::create_dir_all(root.join(".pictures")).unwrap();
        std::fs::write(&file, &drawing).unwrap();
    }
    let kept = std::fs::read_to_string(&file).unwrap();
    assert_eq!(kept, drawing, "INSTA_UPDATE=always draws it anew");
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    assert!(readme.contains("(.pictures/one-step.svg)"));
    for word in ["do", "means", "type", "CAUTION"] {
        assert!(drawing.contains(&format!(">{word}</text>")), "{word}");
    }
}
