//! Symbols after IEC 60617 (from memory), drawn on a conductor that comes in at (0, 0) from the left.

use crate::feeds::{Feeds, PartId};
use crate::vehicle::{LoadKind, PartKind, Rest};

/// Length of a symbol on its conductor, in mm.
pub(super) const LENGTH: f64 = 8.0;

/// A battery's cell: long thin line and short thick one, the long one towards what it feeds.
const BATTERY: &str =
    r#"<path class="thin" d="M3.4 -1.5V1.5M3.4 0H8"/><path class="thick" d="M2 -.9V.9"/>"#;
/// A fuse: a box with the conductor through it.
const FUSE: &str = r#"<path class="thin" d="M0 0H8M1 -1.1H7V1.1H1Z"/>"#;
/// A bolted or wire link: the same, its feed side marked.
const LINK: &str =
    r#"<path class="thin" d="M0 0H8M1 -1.1H7V1.1H1Z"/><path class="full" d="M1 -1.1H2.2V1.1H1Z"/>"#;
/// A breaker: a contact that opens, with a cross.
const BREAKER: &str =
    r#"<path class="thin" d="M0 0H2L6 -1.4M6 0H8M5.4 -.6L6.6 .6M5.4 .6L6.6 -.6"/>"#;
const OPEN: &str = r#"<path class="thin" d="M0 0H2L6 -1.4M6 0H8"/>"#;
const CLOSED: &str = r#"<path class="thin" d="M0 0H2L6.3 -.9M6 -1.2V0H8"/>"#;
/// A switch worked by hand: a contact with its handle.
const HANDLE: &str = r#"<path class="thin" d="M4 -.7V-1.5M3.3 -1.5H4.7"/>"#;
const CABLE: &str = r#"<path class="thick" d="M0 0H8"/>"#;
const SPLICE: &str =
    r#"<path class="thin" d="M0 0H8"/><circle class="full" cx="4" cy="0" r=".8"/>"#;
/// Plug and socket.
const CONNECTOR: &str = r#"<path class="thin" d="M0 0H3M5.6 -1.3A1.3 1.3 0 0 0 5.6 1.3M4.3 0H8"/><path class="thick" d="M2 0H4.2"/>"#;
/// An electronic switch inside a module.
const OUTPUT: &str =
    r#"<path class="thin" d="M0 0H1.6M1.6 -1.3H6.4V1.3H1.6ZM3.2 -.7L4.8 0L3.2 .7M6.4 0H8"/>"#;
const COIL: &str = r#"<path class="thin" d="M0 0H2.6M2.6 -1.8H5.4V1.8H2.6ZM2.6 1.2L5.4 -1.2"/>"#;
const LAMP: &str = r#"<path class="thin" d="M0 0H2.2M2.7 -1.3L5.3 1.3M2.7 1.3L5.3 -1.3"/><circle class="thin" cx="4" cy="0" r="1.8"/>"#;
const ROUND: &str =
    r#"<path class="thin" d="M0 0H2.2"/><circle class="thin" cx="4" cy="0" r="1.8"/>"#;
const HEATER: &str =
    r#"<path class="thin" d="M0 0H1.6M1.6 -1.1H6.4V1.1H1.6ZM3.2 -1.1V1.1M4.8 -1.1V1.1"/>"#;
const SOUND: &str =
    r#"<path class="thin" d="M0 0H2.6M2.6 -.8H3.8V.8H2.6ZM3.8 -.8L5.4 -1.8V1.8L3.8 .8"/>"#;
const BOX: &str = r#"<path class="thin" d="M0 0H2M2 -1.5H6V1.5H2Z"/>"#;
/// One feed of a module: a box that goes on.
const MODULE: &str =
    r#"<path class="thin" d="M0 0H2M6 -1.5H2V1.5H6"/><path class="dash" d="M6 -1.5V1.5"/>"#;
/// The same where its outputs go on from it.
const MODULE_OUT: &str =
    r#"<path class="thin" d="M0 0H2M6 -1.5H2V1.5H6M6 0H8"/><path class="dash" d="M6 -1.5V1.5"/>"#;
/// Leave alone: a triangle with its mark.
const CARE: &str = r#"<path class="thin" d="M0 0H2M4.1 -2L6.3 1.6H1.9ZM4.1 -.8V.5"/><circle class="full" cx="4.1" cy="1.1" r=".18"/>"#;

/// The symbol of a part, and a letter inside it.
pub(super) fn symbol(feeds: &Feeds, id: PartId) -> (&'static [&'static str], &'static str) {
    let part = feeds.part(id);
    let contact: &[&str] = match part.rest {
        Some(Rest::Closed) => &[CLOSED],
        _ => &[OPEN],
    };
    match part.kind {
        PartKind::Battery => (&[BATTERY], ""),
        PartKind::Cable => (&[CABLE], ""),
        PartKind::Link => (&[LINK], ""),
        PartKind::Fuse => (&[FUSE], ""),
        PartKind::Breaker => (&[BREAKER], ""),
        PartKind::Relay => (contact, ""),
        PartKind::Switch if part.rest == Some(Rest::Closed) => (&[CLOSED, HANDLE], ""),
        PartKind::Switch => (&[OPEN, HANDLE], ""),
        PartKind::Coil => (&[COIL], ""),
        PartKind::Splice => (&[SPLICE], ""),
        PartKind::Connector => (&[CONNECTOR], ""),
        PartKind::Output => (&[OUTPUT], ""),
        PartKind::Load => match part.load {
            _ if !feeds.is_leaf(id) => (&[MODULE_OUT], ""),
            Some(LoadKind::Airbag | LoadKind::HighVoltage | LoadKind::Protected) => (&[CARE], ""),
            _ if part.of.is_some() => (&[MODULE], ""),
            Some(LoadKind::Lamp) => (&[LAMP], ""),
            Some(LoadKind::Motor | LoadKind::Starter | LoadKind::Moves) => (&[ROUND], "M"),
            Some(LoadKind::Charging) => (&[ROUND], "G"),
            Some(LoadKind::Heater) => (&[HEATER], ""),
            Some(LoadKind::Audio) => (&[SOUND], ""),
            _ => (&[BOX], ""),
        },
    }
}
