//! The nested text of format 1, flattened while it is parsed into nodes whose fields are slices of the
//! source: nothing nested stays in memory, nothing recursive is dropped.

use crate::notation::{Field, Word};
use ron::value::RawValue;
use serde::de::{
    DeserializeSeed, Deserializer, EnumAccess, Error as _, MapAccess, SeqAccess, VariantAccess,
    Visitor,
};
use std::cell::RefCell;
use std::fmt;

/// The fields of a vehicle.
pub(super) const TOP: &[&str] = &[
    "format", "name", "note", "year", "limit", "settle", "places", "networks", "modules", "accept",
    "battery",
];

/// A part before its fields are read.
pub(super) struct Node<'s> {
    pub(super) kind: &'s str,
    pub(super) up: Option<u32>,
    pub(super) depth: u16,
    pub(super) fields: Vec<Field<'s>>,
    /// The word `feeds` where it was given, and again where it was given twice.
    pub(super) feeds: Option<&'s str>,
    pub(super) feeds_again: Option<&'s str>,
}

/// A file taken apart.
#[derive(Default)]
pub(super) struct Sheet<'s> {
    pub(super) nodes: Vec<Node<'s>>,
    pub(super) top: Vec<Field<'s>>,
    pub(super) batteries: Vec<&'s str>,
}

#[derive(Clone, Copy)]
struct PartSeed<'a, 's> {
    sheet: &'a RefCell<Sheet<'s>>,
    up: Option<u32>,
    depth: u16,
}
impl<'de: 's, 's> DeserializeSeed<'de> for PartSeed<'_, 's> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_enum("Part", &[], self)
    }
}
impl<'de: 's, 's> Visitor<'de> for PartSeed<'_, 's> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a part, such as Fuse(id: \"F1\")")
    }
    fn visit_enum<A: EnumAccess<'de>>(self, access: A) -> Result<(), A::Error> {
        let (Word(kind), inner) = access.variant::<Word<'de>>()?;
        inner.struct_variant(&[], FieldsSeed { part: self, kind })
    }
}

struct FieldsSeed<'a, 's> {
    part: PartSeed<'a, 's>,
    kind: &'s str,
}
impl<'de: 's, 's> Visitor<'de> for FieldsSeed<'_, 's> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("fields in ( )")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<(), A::Error> {
        let PartSeed { sheet, up, depth } = self.part;
        let me = sheet.borrow().nodes.len();
        let number = u32::try_from(me).map_err(|_| A::Error::custom("too many parts"))?;
        sheet.borrow_mut().nodes.push(Node {
            kind: self.kind,
            up,
            depth,
            fields: Vec::new(),
            feeds: None,
            feeds_again: None,
        });
        let mut fields = Vec::with_capacity(8);
        let (mut feeds, mut feeds_again) = (None, None);
        while let Some(Word(field)) = access.next_key::<Word<'de>>()? {
            if field == "feeds" {
                feeds_again = feeds.map(|_| field).or(feeds_again);
                feeds.get_or_insert(field);
                access.next_value_seed(FeedsSeed(PartSeed {
                    sheet,
                    up: Some(number),
                    depth: depth.saturating_add(1),
                }))?;
            } else {
                let value = access.next_value::<&'de RawValue>()?;
                fields.push((field, value.trim().get_ron()));
            }
        }
        if let Some(node) = sheet.borrow_mut().nodes.get_mut(me) {
            node.fields = fields;
            node.feeds = feeds;
            node.feeds_again = feeds_again;
        }
        Ok(())
    }
}

struct FeedsSeed<'a, 's>(PartSeed<'a, 's>);
impl<'de: 's, 's> DeserializeSeed<'de> for FeedsSeed<'_, 's> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_seq(self)
    }
}
impl<'de: 's, 's> Visitor<'de> for FeedsSeed<'_, 's> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of parts in [ ]")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<(), A::Error> {
        while access.next_element_seed(self.0)?.is_some() {}
        Ok(())
    }
}

/// Fills a sheet.
pub(super) struct VehicleSeed<'a, 's>(pub(super) &'a RefCell<Sheet<'s>>);
impl<'de: 's, 's> DeserializeSeed<'de> for VehicleSeed<'_, 's> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_struct("Vehicle", TOP, self)
    }
}
impl<'de: 's, 's> Visitor<'de> for VehicleSeed<'_, 's> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Vehicle(…)")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<(), A::Error> {
        while let Some(Word(field)) = access.next_key::<Word<'de>>()? {
            if field == "battery" {
                self.0.borrow_mut().batteries.push(field);
                access.next_value_seed(PartSeed {
                    sheet: self.0,
                    up: None,
                    depth: 1,
                })?;
            } else {
                let value = access.next_value::<&'de RawValue>()?;
                self.0
                    .borrow_mut()
                    .top
                    .push((field, value.trim().get_ron()));
            }
        }
        Ok(())
    }
}
