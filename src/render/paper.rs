//! Pages of HTML to print: black on white, without anything from outside the file.

use crate::render::picture::pen::escape;
use std::fmt::Write as _;

const STYLE: &str = "\
@page{size:A4;margin:14mm}\
body{font:10pt/1.35 'DejaVu Sans','Liberation Sans',Arial,sans-serif;color:#000;background:#fff;\
max-width:182mm;margin:6mm auto;padding:0 4mm}\
@media print{body{margin:0;padding:0;max-width:none}}\
h1{font-size:15pt;margin:0 0 2mm}h2{font-size:11.5pt;margin:6mm 0 1.5mm;break-after:avoid}p{margin:1mm 0}\
table{border-collapse:collapse;width:100%;margin:1.5mm 0}\
th,td{border:.25mm solid #000;padding:.8mm 1.6mm;text-align:left;vertical-align:top;overflow-wrap:break-word}\
th{font-weight:bold}tr{break-inside:avoid}thead{display:table-header-group}\
td.number,th.number{text-align:right;white-space:nowrap;width:1%}\
dl{display:grid;grid-template-columns:max-content 1fr;gap:.6mm 4mm;margin:1mm 0}dt{font-weight:bold}dd{margin:0}\
pre{font:8pt/1.25 'DejaVu Sans Mono','Liberation Mono',Menlo,Consolas,monospace;white-space:pre-wrap;margin:1mm 0}\
tr.blank td{height:8mm}.lines div{border-bottom:.25mm solid #000;height:8mm}.lines,dl{break-inside:avoid}\
.foot{font-size:8.5pt;margin-top:6mm;border-top:.25mm solid #000;padding-top:1mm}";

/// Said at the foot of every page for work at a vehicle or a board.
const FOOT: &str = "Ventilate, rings off, negative side first off and last on; slim probes, one fuse at a time; never part \
    airbag plugs, nothing orange. The maker's procedure, local rules and your instructor come first.";

/// A page that is being written.
pub(super) struct Paper {
    out: String,
}

impl Paper {
    pub(super) fn new(title: &str) -> Self {
        let title = escape(title);
        Self {
            out: format!(
                "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
                 <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n\
                 <title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>\n"
            ),
        }
    }

    pub(super) fn head(&mut self, text: &str) {
        let _ = writeln!(self.out, "<h2>{}</h2>", escape(text));
    }

    pub(super) fn text(&mut self, text: &str) {
        let _ = writeln!(self.out, "<p>{}</p>", escape(text));
    }

    /// Heads with what is said under each.
    pub(super) fn pairs(&mut self, pairs: &[(&str, String)]) {
        self.out.push_str("<dl>\n");
        for (head, text) in pairs {
            let _ = writeln!(
                self.out,
                "<dt>{}</dt><dd>{}</dd>",
                escape(head),
                escape(text)
            );
        }
        self.out.push_str("</dl>\n");
    }

    /// A text drawn in letters of one width.
    pub(super) fn drawing(&mut self, text: &str) {
        let lines: Vec<String> = text.lines().map(escape).collect();
        let _ = writeln!(self.out, "<pre>{}</pre>", lines.join("\n"));
    }

    /// A table; a head that begins with `#` is that of numbers.
    pub(super) fn table(&mut self, heads: &[&str], rows: &[Vec<String>]) {
        self.rows(heads, rows, "");
    }

    /// A table to be filled in.
    pub(super) fn blank(&mut self, heads: &[&str], rows: usize) {
        let rows: Vec<Vec<String>> = (1..=rows)
            .map(|row| {
                let rest = (1..heads.len()).map(|_| String::new());
                std::iter::once(row.to_string()).chain(rest).collect()
            })
            .collect();
        self.rows(heads, &rows, " class=\"blank\"");
    }

    fn rows(&mut self, heads: &[&str], rows: &[Vec<String>], class: &str) {
        let number = |at: usize| heads[at].starts_with('#');
        let look = |at: usize| if number(at) { " class=\"number\"" } else { "" };
        self.out.push_str("<table><thead><tr>");
        for (at, head) in heads.iter().enumerate() {
            let text = escape(head.trim_start_matches('#'));
            let _ = write!(self.out, "<th{}>{text}</th>", look(at));
        }
        self.out.push_str("</tr></thead><tbody>\n");
        for row in rows {
            let _ = write!(self.out, "<tr{class}>");
            for (at, cell) in row.iter().enumerate() {
                let _ = write!(self.out, "<td{}>{}</td>", look(at), escape(cell));
            }
            self.out.push_str("</tr>\n");
        }
        self.out.push_str("</tbody></table>\n");
    }

    /// Lines to write on.
    pub(super) fn lines(&mut self, count: usize) {
        self.out.push_str("<div class=\"lines\">");
        self.out.push_str(&"<div></div>".repeat(count));
        self.out.push_str("</div>\n");
    }

    pub(super) fn end(mut self) -> String {
        let _ = writeln!(
            self.out,
            "<p class=\"foot\">{}</p>\n</body>\n</html>",
            escape(FOOT)
        );
        self.out
    }
}
