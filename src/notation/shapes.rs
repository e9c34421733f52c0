//! The shapes a value can have, as serde visitors that keep slices of the source.

use crate::notation::Field;
use ron::value::RawValue;
use serde::Deserialize;
use serde::de::{
    self, DeserializeSeed, Deserializer, EnumAccess, MapAccess, SeqAccess, VariantAccess, Visitor,
};
use std::fmt;

/// A bare word of the file: a field's name, a kind, a unit.
pub struct Word<'s>(pub &'s str);

impl<'de> Deserialize<'de> for Word<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Bare;
        impl<'de> Visitor<'de> for Bare {
            type Value = Word<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a name")
            }
            fn visit_borrowed_str<E: de::Error>(self, word: &'de str) -> Result<Word<'de>, E> {
                Ok(Word(word))
            }
        }
        deserializer.deserialize_identifier(Bare)
    }
}

/// Something, or `None` spelled out, or `Some(…)`.
pub(super) struct Maybe<S>(pub(super) S);
impl<'de, S: DeserializeSeed<'de>> DeserializeSeed<'de> for Maybe<S> {
    type Value = Option<S::Value>;
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_option(self)
    }
}
impl<'de, S: DeserializeSeed<'de>> Visitor<'de> for Maybe<S> {
    type Value = Option<S::Value>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }
    fn visit_none<E: de::Error>(self) -> Result<Self::Value, E> {
        Ok(None)
    }
    fn visit_some<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        self.0.deserialize(d).map(Some)
    }
}

/// `mA(12)`: the unit word and the number.
pub(super) struct Measure;
impl<'de> DeserializeSeed<'de> for Measure {
    type Value = (&'de str, f64);
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_enum("quantity", &[], self)
    }
}
impl<'de> Visitor<'de> for Measure {
    type Value = (&'de str, f64);
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a quantity with its unit")
    }
    fn visit_enum<A: EnumAccess<'de>>(self, access: A) -> Result<Self::Value, A::Error> {
        let (Word(unit), inner) = access.variant::<Word<'de>>()?;
        Ok((unit, inner.newtype_variant()?))
    }
}

/// A bare word.
pub(super) struct Bare;
impl<'de> DeserializeSeed<'de> for Bare {
    type Value = &'de str;
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_enum("word", &[], self)
    }
}
impl<'de> Visitor<'de> for Bare {
    type Value = &'de str;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a word")
    }
    fn visit_enum<A: EnumAccess<'de>>(self, access: A) -> Result<Self::Value, A::Error> {
        let (Word(word), inner) = access.variant::<Word<'de>>()?;
        inner.unit_variant()?;
        Ok(word)
    }
}

/// The pairs of a map with their raw keys.
pub(super) struct Pairs;
impl<'de> DeserializeSeed<'de> for Pairs {
    type Value = Vec<Field<'de>>;
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_map(self)
    }
}
impl<'de> Visitor<'de> for Pairs {
    type Value = Vec<Field<'de>>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a map in { }")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Self::Value, A::Error> {
        let mut pairs = Vec::new();
        while let Some(key) = access.next_key::<&'de RawValue>()? {
            let value = access.next_value::<&'de RawValue>()?;
            pairs.push((key.trim().get_ron(), value.trim().get_ron()));
        }
        Ok(pairs)
    }
}

/// The fields of a record.
struct Fields;
impl<'de> Visitor<'de> for Fields {
    type Value = Vec<Field<'de>>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("fields in ( )")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Self::Value, A::Error> {
        let mut fields = Vec::new();
        while let Some(Word(name)) = access.next_key::<Word<'de>>()? {
            let value = access.next_value::<&'de RawValue>()?;
            fields.push((name, value.trim().get_ron()));
        }
        Ok(fields)
    }
}

/// `(…)` without a name in front.
pub(super) struct Unnamed(pub(super) &'static str);
impl<'de> DeserializeSeed<'de> for Unnamed {
    type Value = Vec<Field<'de>>;
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_struct(self.0, &["field"], Fields)
    }
}

/// `Name(…)`, whatever the name.
pub(super) struct Named;
impl<'de> DeserializeSeed<'de> for Named {
    type Value = (&'de str, Vec<Field<'de>>);
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_enum("record", &[], self)
    }
}
impl<'de> Visitor<'de> for Named {
    type Value = (&'de str, Vec<Field<'de>>);
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a record")
    }
    fn visit_enum<A: EnumAccess<'de>>(self, access: A) -> Result<Self::Value, A::Error> {
        let (Word(name), inner) = access.variant::<Word<'de>>()?;
        Ok((name, inner.struct_variant(&[], Fields)?))
    }
}

/// `Name(…, …)`, whatever the name.
pub(super) struct NamedPair;
impl<'de> DeserializeSeed<'de> for NamedPair {
    type Value = (&'de str, [&'de str; 2]);
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_enum("pair", &[], self)
    }
}
impl<'de> Visitor<'de> for NamedPair {
    type Value = (&'de str, [&'de str; 2]);
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a pair")
    }
    fn visit_enum<A: EnumAccess<'de>>(self, access: A) -> Result<Self::Value, A::Error> {
        let (Word(name), inner) = access.variant::<Word<'de>>()?;
        Ok((name, inner.tuple_variant(2, UnnamedPair)?))
    }
}

/// `(…, …)` without a name in front.
pub(super) struct UnnamedPair;
impl<'de> DeserializeSeed<'de> for UnnamedPair {
    type Value = [&'de str; 2];
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_tuple(2, self)
    }
}
impl<'de> Visitor<'de> for UnnamedPair {
    type Value = [&'de str; 2];
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("two values in ( )")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Self::Value, A::Error> {
        let mut next = |index| {
            let value = access.next_element::<&'de RawValue>()?;
            value
                .map(|value| value.trim().get_ron())
                .ok_or_else(|| de::Error::invalid_length(index, &"two values"))
        };
        Ok([next(0)?, next(1)?])
    }
}
