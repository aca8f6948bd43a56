//! The settings by collection, each as one type.

use crate::problem::Problem;
use serde::Serialize;
use serde::de::DeserializeOwned;
use store::{Expect, Setting, SettingKey, Store, Written};

/// Sign-in names.
pub(crate) const LOGINS: &str = "logins";
/// Sessions by the digest of their token.
pub(crate) const SESSIONS: &str = "sessions";
/// Links that let somebody choose a password, by the digest of their token.
pub(crate) const INVITES: &str = "invites";
/// People by id.
pub(crate) const PEOPLE: &str = "people";
/// Links that let a device in, by the digest of their token.
pub(crate) const ENROLMENTS: &str = "enrolments";
/// What a device may see, by its id.
pub(crate) const DEVICES: &str = "devices";
/// The house itself, under the key `house`.
pub(crate) const HOUSE: &str = "house";
/// Sites by id.
pub(crate) const SITES: &str = "sites";
/// Reports, by id.
pub(crate) const REPORTS: &str = "reports";
/// Reports to deliver, by id.
pub(crate) const DELIVERIES: &str = "deliveries";

/// Something kept as a setting.
pub(crate) trait Kept: Serialize + DeserializeOwned {
    /// Where it is kept.
    const COLLECTION: &'static str;
}

/// The settings of this server.
#[derive(Debug, Clone)]
pub(crate) struct Settings(Store);

impl Settings {
    /// The settings in a store.
    pub(crate) fn of(store: &Store) -> Settings {
        Settings(store.clone())
    }

    /// One, if it is there.
    pub(crate) async fn get<T: Kept>(&self, key: &str) -> Result<Option<T>, Problem> {
        let found = self.0.setting(&SettingKey::new(T::COLLECTION, key)).await?;
        found.map(read).transpose()
    }

    /// All, by key.
    pub(crate) async fn all<T: Kept>(&self) -> Result<Vec<(String, T)>, Problem> {
        let found = self.0.settings(T::COLLECTION, "").await?;
        found.into_iter().map(|setting| Ok((setting.at.key.clone(), read(setting)?))).collect()
    }

    /// Writes one, whatever was there.
    pub(crate) async fn put<T: Kept>(&self, key: &str, value: &T) -> Result<(), Problem> {
        self.write(key, value, Expect::Anything).await
    }

    /// Writes one that must not be there yet.
    pub(crate) async fn add<T: Kept>(&self, key: &str, value: &T) -> Result<(), Problem> {
        self.write(key, value, Expect::Absent).await
    }

    /// Takes one out; of several callers only one gets it.
    pub(crate) async fn take<T: Kept>(&self, key: &str) -> Result<Option<T>, Problem> {
        let key = SettingKey::new(T::COLLECTION, key);
        let Some(found) = self.0.setting(&key).await? else { return Ok(None) };
        let expected = Expect::Version(found.version);
        match self.0.remove_setting(&key, expected).await? {
            Written::Kept { .. } => read(found).map(Some),
            Written::Conflict { .. } => Ok(None),
        }
    }

    /// Removes one.
    pub(crate) async fn remove<T: Kept>(&self, key: &str) -> Result<(), Problem> {
        let key = SettingKey::new(T::COLLECTION, key);
        self.0.remove_setting(&key, Expect::Anything).await?;
        Ok(())
    }

    async fn write<T: Kept>(&self, key: &str, value: &T, expect: Expect) -> Result<(), Problem> {
        let key = SettingKey::new(T::COLLECTION, key);
        match self.0.write_setting(&key, value, expect).await? {
            Written::Kept { .. } => Ok(()),
            Written::Conflict { .. } => Err(Problem::Changed),
        }
    }
}

fn read<T: Kept>(setting: Setting) -> Result<T, Problem> {
    setting.read().map_err(|error| {
        Problem::Machine(format!("setting {}/{}: {error}", setting.at.collection, setting.at.key))
    })
}
