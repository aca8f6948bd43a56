//! Settings: accounts, contacts, links, rosters. Primary data of their own class, JSON by collection
//! and key, with a version so that two people cannot silently overwrite each other.

use serde::de::DeserializeOwned;
use serde_json::Value;

/// Where a setting stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SettingKey {
    /// What kind of thing it is.
    pub collection: String,
    /// Its key there.
    pub key: String,
}

impl SettingKey {
    /// Names a setting.
    pub fn new(collection: impl Into<String>, key: impl Into<String>) -> SettingKey {
        SettingKey { collection: collection.into(), key: key.into() }
    }
}

/// A setting as it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Where it stands.
    pub at: SettingKey,
    /// 1 when written first, one more at each change.
    pub version: u64,
    /// The value.
    pub value: Value,
}

impl Setting {
    /// The value as a type of the caller's.
    pub fn read<T: DeserializeOwned>(&self) -> Result<T, serde_json::Error> {
        T::deserialize(&self.value)
    }
}

/// What must be there for a write to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expect {
    /// Nothing: it is new.
    Absent,
    /// This version.
    Version(u64),
    /// Whatever is there.
    Anything,
}

/// What became of a write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// Kept under this version (0: removed).
    Kept {
        /// The new version.
        version: u64,
    },
    /// Not kept: another version was there (none if it was absent). Read it and decide again.
    Conflict {
        /// The version found.
        found: Option<u64>,
    },
}

impl Expect {
    /// Whether a write may go ahead over the version found.
    pub(crate) fn allows(self, found: Option<u64>) -> bool {
        match self {
            Expect::Absent => found.is_none(),
            Expect::Version(version) => found == Some(version),
            Expect::Anything => true,
        }
    }
}
