//! Drawn pages put together: below each other in one SVG, or a sheet of paper each in HTML.

use crate::render::picture::pen::escape;
use std::fmt::Write as _;

/// A4 upright in mm (ISO 216).
pub(in crate::render) const A4: (f64, f64) = (210.0, 297.0);
/// From one page to the next in one drawing, in mm.
const GAP: f64 = 6.0;

/// Pixels for a millimetre that a narrow screen shows at least, so that the small letters are 11 pixels
/// high there; the rest is scrolled to.
const READ_ON_A_PHONE: f64 = 5.25;

const STYLE: &str = "\
text{font-family:'DejaVu Sans Mono','Liberation Mono',Menlo,Consolas,'Courier New',monospace;fill:#000}\
.id{font-size:2.5px;font-weight:bold}.small,.mark{font-size:2.1px}.mark{text-anchor:middle}\
.head{font-size:3.4px;font-weight:bold}.place{font-size:2.1px;font-style:italic}\
path,circle,rect{fill:none;stroke:#000;stroke-width:.25}\
.thick{stroke-width:.9}.full{fill:#000}.dash{stroke-dasharray:.8 .6}\
.frame{stroke-width:.2;stroke-dasharray:2 .8}.paper{fill:#fff;stroke-width:.1}\
.carrying{stroke-width:.7}.too_small{stroke-dasharray:1.6 1}.ruled_out{stroke-dasharray:.3 .8}.dead{stroke-dasharray:.3 1.6}";

/// Pages of one size, each drawn already.
pub(in crate::render) struct Sheets {
    /// What is drawn.
    pub(in crate::render) name: String,
    /// Width and height of a page, in mm.
    pub(in crate::render) size: (f64, f64),
    /// What stands on each, in SVG.
    pub(in crate::render) drawn: Vec<String>,
}

impl Sheets {
    /// All pages below each other in one drawing.
    pub(in crate::render) fn stacked(&self) -> String {
        let (width, height) = self.size;
        let whole = self.drawn.len() as f64 * (height + GAP) - GAP;
        let mut out = self.open(whole);
        for (number, drawn) in self.drawn.iter().enumerate() {
            let y = number as f64 * (height + GAP);
            let _ = write!(
                out,
                "<g transform=\"translate(0 {y})\">\
                 <rect class=\"paper\" width=\"{width}\" height=\"{height}\"/>\n{drawn}</g>\n"
            );
        }
        out.push_str("</svg>\n");
        out
    }

    fn open(&self, height: f64) -> String {
        let (name, width) = (escape(&self.name), self.size.0);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{width}mm\" \
             height=\"{height}mm\" viewBox=\"0 0 {width} {height}\">\n\
             <title>{name}</title>\n<style>{STYLE}</style>\n"
        )
    }

    /// A sheet of paper for each page.
    pub(in crate::render) fn html(&self) -> String {
        let (width, height) = self.size;
        let sheet = if width > height {
            "landscape"
        } else {
            "portrait"
        };
        let name = escape(&self.name);
        let least = width * READ_ON_A_PHONE;
        let mut out = format!(
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
             <title>{name}</title>\n<style>@page{{size:A4 {sheet};margin:0}}body{{margin:0}}\
             svg{{display:block;width:100%;height:auto;break-after:page;break-inside:avoid}}\
             @media screen{{svg{{width:max(100%,{least:.0}px)}}}}</style>\n\
             </head>\n<body>\n"
        );
        for drawn in &self.drawn {
            out.push_str(&self.open(height));
            out.push_str(drawn);
            out.push_str("</svg>\n");
        }
        out.push_str("</body>\n</html>\n");
        out
    }
}
