//! Reads one section of a FACTS file key by key and gathers every fault with an example.

use super::fault::{Fault, Kind, Wrong};
use super::time::{Twice, instant};
use super::{Area, Length};
use crate::nearest::nearest;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use toml::{Table, Value};

/// A key that a section may hold, with a line that would be accepted.
pub(super) type Keys = &'static [(&'static str, &'static str)];

pub(super) struct Reader<'a, 'f> {
    pub(super) table: &'a Table,
    /// `outage[2].`, or nothing at the top.
    pub(super) path: String,
    pub(super) keys: Keys,
    pub(super) faults: &'f mut Vec<Fault>,
}

impl<'a, 'f> Reader<'a, 'f> {
    pub(super) fn new(
        table: &'a Table,
        path: &str,
        keys: Keys,
        faults: &'f mut Vec<Fault>,
    ) -> Self {
        let mut reader = Self { table, path: path.into(), keys, faults };
        for key in table.keys() {
            if !keys.iter().any(|(known, _)| known == key) {
                let nearest =
                    nearest(key, keys.iter().map(|(known, _)| *known)).unwrap_or_default();
                reader.refuse_as(key, nearest, Wrong::UnknownKey { nearest: nearest.into() });
            }
        }
        reader
    }

    pub(super) fn refuse(&mut self, key: &str, wrong: Wrong) {
        self.refuse_as(key, key, wrong);
    }

    fn refuse_as(&mut self, key: &str, like: &str, wrong: Wrong) {
        let example = match &wrong {
            // The values given make a better example than one that stands before them in time.
            Wrong::EndsBeforeItBegins { example, .. } | Wrong::NoSuchLocalTime { example, .. } => {
                format!("{key} = \"{example}\"")
            }
            Wrong::UnknownValue { nearest, .. } => format!("{key} = \"{nearest}\""),
            _ => self
                .keys
                .iter()
                .find(|(known, _)| *known == like)
                .map_or("", |(_, example)| *example)
                .into(),
        };
        self.faults.push(Fault { key: format!("{}{key}", self.path), wrong, example });
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    fn not_a<T>(&mut self, key: &str, kind: Kind) -> Option<T> {
        let given = self.table.get(key).map(shown).unwrap_or_default();
        self.refuse(key, Wrong::NotA { kind, given });
        None
    }

    pub(super) fn must(&mut self, key: &str) -> bool {
        if !self.has(key) {
            self.refuse(key, Wrong::Missing);
        }
        self.has(key)
    }

    pub(super) fn flag(&mut self, key: &str) -> Option<bool> {
        let value = self.table.get(key)?;
        value.as_bool().or_else(|| self.not_a(key, Kind::Flag))
    }

    pub(super) fn text(&mut self, key: &str) -> Option<&'a str> {
        let value = self.table.get(key)?;
        value.as_str().or_else(|| self.not_a(key, Kind::Text))
    }

    /// One text, or a list of texts.
    pub(super) fn texts(&mut self, key: &str) -> Vec<&'a str> {
        let texts = match self.table.get(key) {
            None => Some(Vec::new()),
            Some(Value::String(text)) => Some(vec![text.as_str()]),
            Some(Value::Array(list)) => list.iter().map(Value::as_str).collect(),
            Some(_) => None,
        };
        texts.or_else(|| self.not_a(key, Kind::Text)).unwrap_or_default()
    }

    pub(super) fn whole(&mut self, key: &str, least: i64) -> Option<i64> {
        const MOST: i64 = 10_000_000_000;
        let value = self.table.get(key)?;
        let number = match value.as_integer() {
            Some(number) => number,
            None => self.not_a(key, Kind::WholeNumber)?,
        };
        if number < least {
            self.refuse(key, Wrong::TooSmall { given: number.to_string(), least });
            return None;
        }
        if number > MOST {
            self.refuse(key, Wrong::TooLarge { given: number.to_string() });
            return None;
        }
        Some(number)
    }

    fn real(&mut self, key: &str) -> Option<f64> {
        const MOST: f64 = 1_000_000_000.0;
        let value = self.table.get(key)?;
        let number = match value {
            Value::Float(number) => *number,
            Value::Integer(number) => *number as f64,
            _ => self.not_a(key, Kind::Number)?,
        };
        if number.is_nan() {
            return self.not_a(key, Kind::Number);
        }
        if number < 0.0 {
            self.refuse(key, Wrong::TooSmall { given: shown(value), least: 0 });
            return None;
        }
        if number > MOST {
            self.refuse(key, Wrong::TooLarge { given: shown(value) });
            return None;
        }
        Some(number)
    }

    pub(super) fn length(&mut self, key: &str) -> Option<Length> {
        self.real(key).map(Length::from_m)
    }

    pub(super) fn area(&mut self, key: &str) -> Option<Area> {
        self.real(key).map(Area::from_m2)
    }

    pub(super) fn time(&mut self, key: &str, zone: &TimeZone, twice: Twice) -> Option<Timestamp> {
        let given = match self.table.get(key)? {
            Value::String(text) => text.clone(),
            Value::Datetime(written) => written.to_string(),
            _ => return self.not_a(key, Kind::Time),
        };
        match instant(given.trim(), zone, twice) {
            Ok(instant) => Some(instant),
            Err(wrong) => {
                self.refuse(key, wrong);
                None
            }
        }
    }

    /// A code of a closed list; an unknown one is refused with the nearest.
    pub(super) fn code<T: Copy>(
        &mut self,
        key: &str,
        given: &str,
        all: &[T],
        written: fn(T) -> &'static str,
    ) -> Option<T> {
        let wanted = given.trim().to_lowercase();
        let found = all.iter().copied().find(|code| written(*code) == wanted);
        if found.is_none() {
            let nearest =
                nearest(given, all.iter().map(|code| written(*code))).unwrap_or_default().into();
            self.refuse(key, Wrong::UnknownValue { given: given.into(), nearest });
        }
        found
    }

    pub(super) fn codes<T: Copy>(
        &mut self,
        key: &str,
        all: &[T],
        written: fn(T) -> &'static str,
    ) -> Vec<T> {
        let texts = self.texts(key);
        texts.into_iter().filter_map(|given| self.code(key, given, all, written)).collect()
    }

    pub(super) fn section(&mut self, key: &str) -> Option<&'a Table> {
        let value = self.table.get(key)?;
        value.as_table().or_else(|| self.not_a(key, Kind::Section))
    }

    pub(super) fn sections(&mut self, key: &str) -> Vec<&'a Table> {
        let Some(value) = self.table.get(key) else { return Vec::new() };
        let list: Option<Vec<&Table>> = match value {
            // One section in single brackets is plainly meant as the only one.
            Value::Table(one) => Some(vec![one]),
            Value::Array(list) => list.iter().map(Value::as_table).collect(),
            _ => None,
        };
        list.or_else(|| self.not_a(key, Kind::Sections)).unwrap_or_default()
    }
}

pub(super) fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Table(_) => "{…}".into(),
        Value::Array(_) => "[…]".into(),
        other => other.to_string(),
    }
}
