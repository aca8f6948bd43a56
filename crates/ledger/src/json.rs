//! Reads what is written as JSON, by reference to its value and in one way for everything. It is made of
//! objects, lists, text, whole numbers, yes and no, and its structs are always objects: a reader that also
//! took them from lists, or one for each form in which bytes come, would bring its own code for each of
//! some hundred and fifty types, which every phone has to download. For the same reason a struct's members
//! are looked up in the order of its fields, and whether others are refused is said by the caller: a line
//! and its body hold exactly what is known, what is kept and what a newer program says may hold more.

use serde::de::value::StrDeserializer;
use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, Error as _, Expected, MapAccess, SeqAccess,
    Unexpected, Visitor,
};
use serde_json::{Error, Map, Value};

/// What becomes of members that a struct does not know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Others {
    Refused,
    PassedOver,
}

/// Reads an object that may hold no other members than its types know.
pub fn of_object<T: DeserializeOwned>(object: &Map<String, Value>) -> Result<T, Error> {
    T::deserialize(Part::of(Found::Object(object), Others::Refused))
}

/// Reads a value whose objects may hold no other members than their types know.
pub fn of_value<T: DeserializeOwned>(value: &Value) -> Result<T, Error> {
    T::deserialize(Part::of(Found::Value(value), Others::Refused))
}

/// Reads bytes whose objects may hold no other members than their types know.
pub fn exactly<T: DeserializeOwned>(bytes: impl AsRef<[u8]>) -> Result<T, Error> {
    of_value(&value(bytes.as_ref())?)
}

/// Reads what is known of an object; the rest is passed over.
pub fn known_of<T: DeserializeOwned>(object: &Map<String, Value>) -> Result<T, Error> {
    T::deserialize(Part::of(Found::Object(object), Others::PassedOver))
}

/// Reads what is known of bytes; the rest is passed over. Of a member that stands twice the last one counts.
pub fn parse<T: DeserializeOwned>(bytes: impl AsRef<[u8]>) -> Result<T, Error> {
    T::deserialize(Part::of(Found::Value(&value(bytes.as_ref())?), Others::PassedOver))
}

fn value(bytes: &[u8]) -> Result<Value, Error> {
    serde_json::from_slice(bytes)
}

/// A value, the members of an object, or the place of a member that is not there: only what need not be there
/// reads that.
#[derive(Clone, Copy)]
enum Found<'a> {
    Value(&'a Value),
    Object(&'a Map<String, Value>),
    Nothing,
}

#[derive(Clone, Copy)]
struct Part<'a> {
    found: Found<'a>,
    others: Others,
}

/// The members of a struct, in the order of its fields.
struct Fields<'a> {
    names: std::slice::Iter<'static, &'static str>,
    object: &'a Map<String, Value>,
    others: Others,
    /// The member that was asked for last, if it is not there.
    missing: Option<&'static str>,
}

struct Members<'a> {
    rest: serde_json::map::Iter<'a>,
    value: Option<&'a Value>,
    others: Others,
}

struct Items<'a> {
    rest: std::slice::Iter<'a, Value>,
    others: Others,
}

impl<'a> Part<'a> {
    fn of(found: Found<'a>, others: Others) -> Part<'a> {
        Part { found, others }
    }

    fn other_than(self, expected: &dyn Expected) -> Error {
        let found = match self.found {
            Found::Nothing | Found::Value(Value::Null) => Unexpected::Unit,
            Found::Value(Value::Bool(value)) => Unexpected::Bool(*value),
            Found::Value(Value::Number(number)) => match (number.as_u64(), number.as_i64()) {
                (Some(value), _) => Unexpected::Unsigned(value),
                (None, Some(value)) => Unexpected::Signed(value),
                (None, None) => Unexpected::Other("fraction"),
            },
            Found::Value(Value::String(text)) => Unexpected::Str(text),
            Found::Value(Value::Array(_)) => Unexpected::Seq,
            Found::Value(Value::Object(_)) | Found::Object(_) => Unexpected::Map,
        };
        Error::invalid_type(found, expected)
    }

    /// Everything that is neither a list nor an object.
    fn plain<'de, V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.found {
            Found::Value(Value::Bool(value)) => visitor.visit_bool(*value),
            Found::Value(Value::String(text)) => visitor.visit_str(text),
            Found::Value(Value::Number(number)) => match (number.as_u64(), number.as_i64()) {
                (Some(value), _) => visitor.visit_u64(value),
                (None, Some(value)) => visitor.visit_i64(value),
                // A canonical line holds none.
                (None, None) => Err(self.other_than(&visitor)),
            },
            _ => Err(self.other_than(&visitor)),
        }
    }

    fn as_object(self, expected: &dyn Expected) -> Result<&'a Map<String, Value>, Error> {
        match self.found {
            Found::Object(object) | Found::Value(Value::Object(object)) => Ok(object),
            _ => Err(self.other_than(expected)),
        }
    }

    fn as_text(self, expected: &dyn Expected) -> Result<&'a str, Error> {
        match self.found {
            Found::Value(Value::String(text)) => Ok(text),
            _ => Err(self.other_than(expected)),
        }
    }

    fn items(self, expected: &dyn Expected) -> Result<Items<'a>, Error> {
        match self.found {
            Found::Value(Value::Array(items)) => {
                Ok(Items { rest: items.iter(), others: self.others })
            }
            _ => Err(self.other_than(expected)),
        }
    }

    fn members(self, expected: &dyn Expected) -> Result<Members<'a>, Error> {
        let rest = self.as_object(expected)?.iter();
        Ok(Members { rest, value: None, others: self.others })
    }

    fn fields(
        self,
        names: &'static [&'static str],
        expected: &dyn Expected,
    ) -> Result<Fields<'a>, Error> {
        let object = self.as_object(expected)?;
        if self.others == Others::Refused
            && let Some(other) = object.keys().find(|key| !names.contains(&key.as_str()))
        {
            return Err(Error::unknown_field(other, names));
        }
        Ok(Fields { names: names.iter(), object, others: self.others, missing: None })
    }
}

macro_rules! plain {
    ($($name:ident)*) => {
        $(fn $name<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
            self.plain(visitor)
        })*
    };
}

impl<'de> Deserializer<'de> for Part<'_> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.found {
            Found::Value(Value::Null) => visitor.visit_unit(),
            Found::Value(Value::Array(_)) => self.deserialize_seq(visitor),
            Found::Value(Value::Object(_)) | Found::Object(_) => self.deserialize_map(visitor),
            _ => self.plain(visitor),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.found {
            Found::Nothing | Found::Value(Value::Null) => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        names: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        let mut fields = self.fields(names, &visitor)?;
        visitor.visit_seq(&mut fields).map_err(|error| fields.why(error))
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        let members = self.members(&visitor)?;
        visitor.visit_map(members)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        let items = self.items(&visitor)?;
        visitor.visit_seq(items)
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Error> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_seq(visitor)
    }

    /// Codes are names: no variant of the record carries anything.
    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        let name = self.as_text(&visitor)?;
        visitor.visit_enum(StrDeserializer::new(name))
    }

    fn deserialize_unit<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.found {
            Found::Value(Value::Null) => visitor.visit_unit(),
            _ => Err(self.other_than(&visitor)),
        }
    }

    fn deserialize_unit_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_unit(visitor)
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }

    plain! {
        deserialize_bool deserialize_i8 deserialize_i16 deserialize_i32 deserialize_i64
        deserialize_u8 deserialize_u16 deserialize_u32 deserialize_u64 deserialize_f32
        deserialize_f64 deserialize_char deserialize_str deserialize_string deserialize_bytes
        deserialize_byte_buf deserialize_identifier
    }
}

impl<'a> Fields<'a> {
    /// The next member; none after the last field.
    fn next(&mut self) -> Option<Part<'a>> {
        let name = *self.names.next()?;
        let value = self.object.get(name);
        self.missing = value.is_none().then_some(name);
        Some(Part::of(value.map_or(Found::Nothing, Found::Value), self.others))
    }

    /// What went wrong: a struct that is built in the order of its fields knows only that one was not there.
    fn why(&self, error: Error) -> Error {
        self.missing.map_or(error, Error::missing_field)
    }
}

/// A member that is not there and need not be is left to the struct, which knows what stands for it.
impl<'de> SeqAccess<'de> for &mut Fields<'_> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Error> {
        let Some(part) = self.next() else { return Ok(None) };
        match seed.deserialize(part) {
            Err(_) if self.missing.is_some() => Ok(None),
            read => read.map(Some),
        }
    }
}

impl<'de> MapAccess<'de> for Members<'_> {
    type Error = Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Error> {
        let Some((key, value)) = self.rest.next() else { return Ok(None) };
        self.value = Some(value);
        seed.deserialize(StrDeserializer::new(key)).map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, Error> {
        let value = self.value.take().ok_or_else(|| Error::custom("a value before its key"))?;
        seed.deserialize(Part::of(Found::Value(value), self.others))
    }
}

impl<'de> SeqAccess<'de> for Items<'_> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Error> {
        let Some(item) = self.rest.next() else { return Ok(None) };
        seed.deserialize(Part::of(Found::Value(item), self.others)).map(Some)
    }
}

#[cfg(test)]
mod tests {
    use super::{known_of, of_object, parse};
    use serde::Deserialize;
    use serde_json::{Map, Value, json};
    use std::collections::BTreeMap;

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(rename_all = "snake_case")]
    enum Code {
        LifeNow,
    }

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Inner {
        a: u8,
    }

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Body {
        code: Code,
        n: i64,
        #[serde(default)]
        yes: bool,
        #[serde(default)]
        list: Vec<Inner>,
        #[serde(default)]
        by: BTreeMap<String, Option<u32>>,
        #[serde(default)]
        free: Map<String, Value>,
        may: Option<Inner>,
        #[serde(default)]
        pair: (u8, i64),
    }

    fn both(value: Value) -> (Result<Body, String>, Result<Body, String>) {
        let Value::Object(map) = value.clone() else { panic!("an object") };
        let ours = of_object(&map).map_err(|error| error.to_string());
        (ours, serde_json::from_value(value).map_err(|error| error.to_string()))
    }

    /// serde_json is the judge: the same body, or the same complaint.
    #[test]
    fn whatever_is_read_is_read_as_serde_json_reads_it() {
        for value in [
            json!({ "code": "life_now", "n": -3 }),
            json!({ "code": "life_now", "n": 9007199254740991_i64, "yes": true,
                    "list": [{ "a": 1 }, { "a": 255 }], "by": { "x": null, "y": 7 },
                    "free": { "deep": [1, "two", { "three": null }] } }),
            json!({ "code": "life_now" }),
            json!({ "code": "other", "n": 1 }),
            json!({ "code": 7, "n": 1 }),
            json!({ "code": "life_now", "n": "1" }),
            json!({ "code": "life_now", "n": null }),
            json!({ "code": "life_now", "n": 1, "more": 2 }),
            json!({ "code": "life_now", "n": 1, "list": [{ "a": 256 }] }),
            json!({ "code": "life_now", "n": 1, "list": {} }),
            json!({ "code": "life_now", "n": 1, "by": [] }),
            json!({ "code": "life_now", "n": 1, "list": [{}] }),
            json!({ "code": "life_now", "n": 1, "may": null, "pair": [1, 2] }),
            json!({ "code": "life_now", "n": 1, "may": { "a": 3 }, "pair": [1] }),
            json!({ "code": "life_now", "n": 1, "may": { "b": 3 } }),
            json!({}),
        ] {
            let (ours, theirs) = both(value.clone());
            match (&ours, &theirs) {
                (Err(ours), Err(theirs)) if value["code"] == 7 => {
                    // Theirs names the form that variants take in a file, ours what was found.
                    assert!(!ours.is_empty() && !theirs.is_empty());
                }
                _ => assert_eq!(ours, theirs, "{value}"),
            }
        }
    }

    #[test]
    fn bytes_are_read_as_their_value_is() {
        let read: Body = parse(br#"{"code":"life_now","n":1,"list":[{"a":2}]}"#).unwrap();
        assert_eq!((read.n, read.list), (1, vec![Inner { a: 2 }]));
        assert!(parse::<Body>("{\"code\":").is_err());
    }

    /// The one thing that serde_json takes and a body never is.
    #[test]
    fn a_struct_is_no_list() {
        let (ours, theirs) = both(json!({ "code": "life_now", "n": 1, "list": [[5]] }));
        assert!(theirs.is_ok());
        assert_eq!(ours.unwrap_err(), "invalid type: sequence, expected struct Inner");
    }

    /// What a newer program says may hold more; a line may not.
    #[test]
    fn other_members_are_refused_or_passed_over_as_the_caller_says() {
        let text = r#"{"code":"life_now","n":1,"newer":true,"list":[{"a":2,"newer":[]}]}"#;
        let Value::Object(object) = serde_json::from_str(text).unwrap() else {
            panic!("an object")
        };
        let read: Body = parse(text).unwrap();
        assert_eq!((read.n, &read.list), (1, &vec![Inner { a: 2 }]));
        assert_eq!(known_of::<Body>(&object).unwrap(), read);
        assert!(of_object::<Body>(&object).is_err());
        assert!(super::exactly::<Body>(text).is_err());
    }
}
