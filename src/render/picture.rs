//! The feed tree as a drawing on pages of A4, to be proved against the manual and taken to the
//! vehicle.
//!
//! **Model.** Current runs from left to right. Each leaf of the tree has a row of its own; a part stands
//! on the row of the first leaf below it, so that parts in series stand on one straight line, and a
//! conductor that divides goes down to its other branches. Fuses, links and relays that stand side by
//! side at one place are framed as the box they are in. Rows go on over as many pages as they need; a
//! page that starts in the middle says what feeds it.
//!
//! **Look.** Black on white; nothing depends on colour. Symbols follow IEC 60617 (from memory), colour
//! letters are those of the file (IEC 60757). Where there is a case, the state stands in words, and the
//! line of a part says it once more: thick for carrying, dashed for too small, dotted for ruled out.
//! What was read stands at its point, with the number of its entry.
//!
//! **Invariants.** Text does not overlap, whatever its length (test `no_two_texts_overlap`): it is set
//! in a font of fixed width, wrapped to the width its part has. All text is cleaned and escaped.
//!
//! **Cost.** Linear in the parts, times the branches open at each.

use crate::feeds::{Feeds, PartId};
use crate::render::tree::Standings;

mod layout;
mod page;
pub(super) mod pen;
mod readings;
pub(super) mod sheets;
mod symbols;

use layout::Layout;
use page::Pages;
pub use readings::{Readings, readings};

/// The drawing as one SVG: a page of A4, or several below each other.
pub fn picture(feeds: &Feeds, standings: Option<Standings<'_>>, readings: &Readings) -> String {
    let layout = Layout::of(feeds, standings, readings);
    let pages = Pages::of(feeds, &layout);
    page::sheets(feeds, &layout, &pages).stacked()
}

/// The drawing as an HTML page that prints on as many sheets of A4 as it has pages.
pub fn picture_html(
    feeds: &Feeds,
    standings: Option<Standings<'_>>,
    readings: &Readings,
) -> String {
    let layout = Layout::of(feeds, standings, readings);
    let pages = Pages::of(feeds, &layout);
    page::sheets(feeds, &layout, &pages).html()
}

/// Whether it goes on straight from the part that feeds it: the first of what that feeds.
fn on_the_row_of_its_feed(feeds: &Feeds, id: PartId) -> bool {
    feeds.up(id).is_some_and(|up| up.0 + 1 == id.0)
}
