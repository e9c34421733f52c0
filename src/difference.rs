//! What two vehicle files say differently: two model years, or before and after a body builder.
//!
//! **Model.** Things are the same when they have the same name: a part that was renamed is one that
//! went and one that came. **Invariants.** A vehicle does not differ from itself; turned round, what
//! came went (test room `difference`). **Cost.** Linear in the parts, but for the names, which are
//! sorted once.

use crate::vehicle::{Part, PartKind, Vehicle, fields_of, vehicle_fields};
use serde::Serialize;
use std::collections::BTreeMap;

/// A part that is in one of the two only.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Lone {
    /// Its id.
    pub id: String,
    /// The word for its kind.
    pub kind: &'static str,
    /// The part that feeds it; the battery has none.
    pub fed_by: Option<String>,
}

/// A part of both that another part feeds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Refed {
    /// Its id.
    pub id: String,
    /// What feeds it in the first.
    pub from: Option<String>,
    /// What feeds it in the second.
    pub to: Option<String>,
}

/// A field that differs, as it is written; `None` where it is not given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Changed {
    /// The id of the part; `None` for the vehicle's own.
    pub id: Option<String>,
    /// The field; `part` is what kind of part it is, `places "roof"` an entry of a map.
    pub field: String,
    /// In the first.
    pub from: Option<String>,
    /// In the second.
    pub to: Option<String>,
}

/// All that two vehicles differ in.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Parts of the second only, in its order.
    pub added: Vec<Lone>,
    /// Parts of the first only, in its order.
    pub removed: Vec<Lone>,
    /// Parts that are fed by another part, in the order of the second.
    pub refed: Vec<Refed>,
    /// Fields that differ: the vehicle's, then those of its parts in the order of the second.
    pub changed: Vec<Changed>,
    /// Parts that are in both with nothing changed.
    pub same: usize,
}

impl Difference {
    /// Between a first and a second vehicle.
    pub fn of(first: &Vehicle, second: &Vehicle) -> Self {
        let (before, after) = (by_id(first), by_id(second));
        let mut difference = Self::default();
        let own = |vehicle: &Vehicle| vehicle_fields(vehicle).into_iter().collect();
        difference.fields(None, &own(first), &own(second));
        for part in &second.parts {
            let id = &part.id.value;
            let Some(old) = before.get(id.as_str()) else {
                difference.added.push(lone(second, part));
                continue;
            };
            let known = difference.refed.len() + difference.changed.len();
            let (from, to) = (fed_by(first, old), fed_by(second, part));
            if from != to {
                let id = id.clone();
                difference.refed.push(Refed { id, from, to });
            }
            difference.fields(Some(id), &fields(old), &fields(part));
            if known == difference.refed.len() + difference.changed.len() {
                difference.same += 1;
            }
        }
        let gone = first.parts.iter();
        let gone = gone.filter(|part| !after.contains_key(part.id.value.as_str()));
        difference.removed = gone.map(|part| lone(first, part)).collect();
        difference
    }

    /// Whether the two say the same.
    pub fn is_empty(&self) -> bool {
        let parts = self.added.is_empty() && self.removed.is_empty();
        parts && self.refed.is_empty() && self.changed.is_empty()
    }

    /// Notes the fields that differ, in the order of their names.
    fn fields(
        &mut self,
        id: Option<&String>,
        before: &BTreeMap<String, String>,
        after: &BTreeMap<String, String>,
    ) {
        let mut names: Vec<&String> = before.keys().chain(after.keys()).collect();
        names.sort();
        names.dedup();
        for name in names {
            let (from, to) = (before.get(name), after.get(name));
            if from != to {
                self.changed.push(Changed {
                    id: id.cloned(),
                    field: name.clone(),
                    from: from.cloned(),
                    to: to.cloned(),
                });
            }
        }
    }
}

fn by_id(vehicle: &Vehicle) -> BTreeMap<&str, &Part> {
    let parts = vehicle.parts.iter();
    parts.map(|part| (part.id.value.as_str(), part)).collect()
}

fn fed_by(vehicle: &Vehicle, part: &Part) -> Option<String> {
    let up = vehicle.parts.get(part.up? as usize)?;
    Some(up.id.value.clone())
}

fn lone(vehicle: &Vehicle, part: &Part) -> Lone {
    Lone {
        id: part.id.value.clone(),
        kind: PartKind::word(part.kind),
        fed_by: fed_by(vehicle, part),
    }
}

/// A part's fields as they are written, its id apart.
fn fields(part: &Part) -> BTreeMap<String, String> {
    let fields = fields_of(part).into_iter();
    let fields = fields.filter(|(name, _)| *name != "id");
    let mut fields: BTreeMap<_, _> = fields
        .map(|(name, value)| (name.to_owned(), value))
        .collect();
    fields.insert("part".to_owned(), part.kind.word().to_owned());
    fields
}
