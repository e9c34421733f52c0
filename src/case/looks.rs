//! What a look can still show.

use super::fold::Now;
use crate::feeds::PartId;
use crate::journal::Seen;
use crate::vehicle::{LoadKind, PartKind, Rest};

/// So many lamps dark behind one switch, it is off: the next of them need not be looked at (judgement).
const DARK_ENOUGH: usize = 2;

impl Now<'_> {
    /// Whether a look at a load may show anything new: of a lamp, as long as not so many behind its switch were seen dark.
    pub(super) fn look_may_show(&self, part: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let lamp = |part: PartId| feeds.load_kind(part) == Some(LoadKind::Lamp);
        let open = |part: &PartId| {
            let contact = feeds.part(*part);
            contact.kind == PartKind::Switch && contact.rest == Some(Rest::Open)
        };
        let mut up = feeds.path(part).into_iter().rev();
        let Some(switch) = up.find(open).filter(|_| lamp(part)) else {
            return true;
        };
        let dark = self
            .looks
            .iter()
            .filter(|(at, seen)| *seen == Seen::No && lamp(*at) && feeds.is_below(*at, switch));
        dark.count() < DARK_ENOUGH
    }
}
