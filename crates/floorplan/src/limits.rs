//! Limits and usual values with their sources, as `standards/site/` holds them: read by the caller, passed in here.

use serde::Deserialize;
use std::collections::BTreeMap;

/// One demand or usual value with everything it depends on.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// Its name; the file has the same one.
    pub id: String,
    /// What it is about.
    pub text: String,
    /// Its unit: `ft`, `sq ft`, `mm`, `mm/s`, `s`, `per mille`.
    pub unit: String,
    /// Its values; the first that fits the circumstances holds.
    pub value: Vec<Value>,
}

/// One value.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    /// What it depends on.
    #[serde(default)]
    pub when: When,
    /// Upper bound.
    pub at_most: Option<i64>,
    /// Lower bound.
    pub at_least: Option<i64>,
    /// A usual value, no bound.
    pub usual: Option<i64>,
    /// The document.
    pub source: String,
    /// Where in it.
    pub clause: String,
    /// `read`, `second-hand` or `from memory`.
    pub known: String,
}

/// What a value depends on; what is absent does not matter.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct When {
    /// Sprinklers in working order.
    pub sprinklered: Option<bool>,
    /// Occupancy groups.
    #[serde(default)]
    pub occupancy: Vec<String>,
    /// Being built or altered.
    pub construction: Option<bool>,
    /// Class of fire.
    pub class: Option<String>,
}

/// The circumstances of a site.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Circumstances {
    /// Sprinklers are in working order; an impaired system counts as none.
    pub sprinklered: bool,
    /// Occupancy group, for example `B`.
    pub occupancy: String,
    /// Being built or altered.
    pub construction: bool,
}

/// Limits by id.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits(pub BTreeMap<String, Limit>);

/// Why limits could not be read.
#[derive(Debug, thiserror::Error)]
pub enum LimitFault {
    /// Not TOML of this form.
    #[error("{name}: {why}")]
    Form {
        /// The file.
        name: String,
        /// What is wrong.
        why: String,
    },
    /// A needed value is not there.
    #[error("no usual value is given for {0}: add it to standards/site/walking")]
    Missing(String),
}

impl Limits {
    /// Reads files given as (name, text).
    pub fn read<'a>(
        files: impl IntoIterator<Item = (&'a str, &'a str)>,
    ) -> Result<Self, LimitFault> {
        let mut limits = BTreeMap::new();
        for (name, text) in files {
            let limit: Limit = toml::from_str(text).map_err(|error| LimitFault::Form {
                name: name.to_owned(),
                why: error.to_string(),
            })?;
            limits.insert(limit.id.clone(), limit);
        }
        Ok(Self(limits))
    }

    /// The first value of a limit that fits, with the limit it belongs to.
    pub fn find(
        &self,
        id: &str,
        at: &Circumstances,
        class: Option<&str>,
    ) -> Option<(&Limit, &Value)> {
        let limit = self.0.get(id)?;
        limit.value.iter().find(|value| value.when.fits(at, class)).map(|value| (limit, value))
    }

    /// A usual value, without circumstances.
    pub fn usual(&self, id: &str) -> Result<i64, LimitFault> {
        let value =
            self.0.get(id).and_then(|limit| limit.value.iter().find_map(|value| value.usual));
        value.ok_or_else(|| LimitFault::Missing(id.to_owned()))
    }
}

impl When {
    fn fits(&self, at: &Circumstances, class: Option<&str>) -> bool {
        self.sprinklered.is_none_or(|needed| needed == at.sprinklered)
            && self.construction.is_none_or(|needed| needed == at.construction)
            && self.class.as_deref().is_none_or(|needed| Some(needed) == class)
            && (self.occupancy.is_empty() || self.occupancy.contains(&at.occupancy))
    }
}

impl Limit {
    /// A value of this limit in millimetres (or square millimetres).
    pub fn in_mm(&self, value: i64) -> f64 {
        let unit = match self.unit.as_str() {
            "ft" => 304.8,
            "sq ft" => 304.8 * 304.8,
            "m" => 1e3,
            _ => 1.0,
        };
        value as f64 * unit
    }
}
