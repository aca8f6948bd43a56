//! Reads what is written as JSON, by reference to its value and in one way for everything. It is made of
//! objects, lists, text, whole numbers, yes and no, and its structs are always objects: a reader that also
//! took them from lists, or one for each form in which bytes come, would bring its own code for each of
//! some hundred and fifty types, which every phone has to download.

use serde::de::value::StrDeserializer;
use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Unexpected,
    Visitor,
};
use serde_json::{Error, Map, Value};

/// Reads an object.
pub fn of_object<T: DeserializeOwned>(object: &Map<String, Value>) -> Result<T, Error> {
    T::deserialize(Object(object))
}

/// Reads a value.
pub fn of_value<T: DeserializeOwned>(value: &Value) -> Result<T, Error> {
    T::deserialize(Part(value))
}

/// Reads bytes. Of a member that stands twice the last one counts.
pub fn parse<T: DeserializeOwned>(bytes: impl AsRef<[u8]>) -> Result<T, Error> {
    of_value(&value(bytes.as_ref())?)
}

fn value(bytes: &[u8]) -> Result<Value, Error> {
    serde_json::from_slice(bytes)
}

#[derive(Clone, Copy)]
struct Object<'a>(&'a Map<String, Value>);

#[derive(Clone, Copy)]
struct Part<'a>(&'a Value);

struct Fields<'a> {
    rest: serde_json::map::Iter<'a>,
    value: Option<&'a Value>,
}

struct Items<'a>(std::slice::Iter<'a, Value>);

impl<'a> Object<'a> {
    fn fields(self) -> Fields<'a> {
        Fields { rest: self.0.iter(), value: None }
    }
}

impl<'de> Deserializer<'de> for Object<'_> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_map(self.fields())
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit
        unit_struct newtype_struct seq tuple tuple_struct map struct enum identifier ignored_any
    }
}

impl Part<'_> {
    fn other_than<'de, V: Visitor<'de>>(self, expected: &V) -> Error {
        let found = match self.0 {
            Value::Null => Unexpected::Unit,
            Value::Bool(value) => Unexpected::Bool(*value),
            Value::Number(number) => match (number.as_u64(), number.as_i64()) {
                (Some(value), _) => Unexpected::Unsigned(value),
                (None, Some(value)) => Unexpected::Signed(value),
                (None, None) => Unexpected::Other("fraction"),
            },
            Value::String(text) => Unexpected::Str(text),
            Value::Array(_) => Unexpected::Seq,
            Value::Object(_) => Unexpected::Map,
        };
        Error::invalid_type(found, expected)
    }

    /// Everything that is neither a list nor an object.
    fn plain<'de, V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Bool(value) => visitor.visit_bool(*value),
            Value::String(text) => visitor.visit_str(text),
            Value::Number(number) => match (number.as_u64(), number.as_i64()) {
                (Some(value), _) => visitor.visit_u64(value),
                (None, Some(value)) => visitor.visit_i64(value),
                // A canonical line holds none.
                (None, None) => Err(self.other_than(&visitor)),
            },
            _ => Err(self.other_than(&visitor)),
        }
    }

    fn object<'de, V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Object(map) => visitor.visit_map(Object(map).fields()),
            _ => Err(self.other_than(&visitor)),
        }
    }

    fn list<'de, V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Array(items) => visitor.visit_seq(Items(items.iter())),
            _ => Err(self.other_than(&visitor)),
        }
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
        match self.0 {
            Value::Null => visitor.visit_unit(),
            Value::Array(_) => self.list(visitor),
            Value::Object(_) => self.object(visitor),
            _ => self.plain(visitor),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Null => visitor.visit_none(),
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
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.object(visitor)
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        self.object(visitor)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        self.list(visitor)
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Error> {
        self.list(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.list(visitor)
    }

    /// Codes are names: no variant of the record carries anything.
    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        match self.0 {
            Value::String(name) => visitor.visit_enum(StrDeserializer::new(name)),
            _ => Err(self.other_than(&visitor)),
        }
    }

    fn deserialize_unit<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Null => visitor.visit_unit(),
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

impl<'de> MapAccess<'de> for Fields<'_> {
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
        seed.deserialize(Part(value))
    }
}

impl<'de> SeqAccess<'de> for Items<'_> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Error> {
        self.0.next().map(|item| seed.deserialize(Part(item))).transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::{of_object, parse};
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
}
