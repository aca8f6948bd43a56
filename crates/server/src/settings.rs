//! The settings by collection, each as one type.

use crate::problem::Problem;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};
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
pub(crate) struct Settings {
    store: Store,
    /// How often this process has written in a collection.
    writes: Arc<Mutex<BTreeMap<&'static str, u64>>>,
}

impl Settings {
    /// The settings in a store.
    pub(crate) fn of(store: &Store) -> Settings {
        Settings { store: store.clone(), writes: Arc::default() }
    }

    /// One, if it is there.
    pub(crate) async fn get<T: Kept>(&self, key: &str) -> Result<Option<T>, Problem> {
        let found = self.store.setting(&SettingKey::new(T::COLLECTION, key)).await?;
        found.map(read).transpose()
    }

    /// All, by key.
    pub(crate) async fn all<T: Kept>(&self) -> Result<Vec<(String, T)>, Problem> {
        let found = self.store.settings(T::COLLECTION, "").await?;
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
        let Some(found) = self.store.setting(&key).await? else { return Ok(None) };
        let expected = Expect::Version(found.version);
        let removed = self.store.remove_setting(&key, expected).await;
        self.wrote::<T>();
        match removed? {
            Written::Kept { .. } => read(found).map(Some),
            Written::Conflict { .. } => Ok(None),
        }
    }

    /// Removes one.
    pub(crate) async fn remove<T: Kept>(&self, key: &str) -> Result<(), Problem> {
        let key = SettingKey::new(T::COLLECTION, key);
        let removed = self.store.remove_setting(&key, Expect::Anything).await;
        self.wrote::<T>();
        removed?;
        Ok(())
    }

    async fn write<T: Kept>(&self, key: &str, value: &T, expect: Expect) -> Result<(), Problem> {
        let key = SettingKey::new(T::COLLECTION, key);
        let written = self.store.write_setting(&key, value, expect).await;
        self.wrote::<T>();
        match written? {
            Written::Kept { .. } => Ok(()),
            Written::Conflict { .. } => Err(Problem::Changed),
        }
    }

    /// Something was written, or may have been.
    fn wrote<T: Kept>(&self) {
        let mut writes = self.writes.lock().expect("nothing panics under this lock");
        *writes.entry(T::COLLECTION).or_default() += 1;
    }

    fn writes<T: Kept>(&self) -> u64 {
        let writes = self.writes.lock().expect("nothing panics under this lock");
        writes.get(T::COLLECTION).copied().unwrap_or_default()
    }
}

/// A collection as it was read, for whoever looks again and again: it is read anew only after this process wrote in it.
/// Only the server that leads writes.
#[derive(Debug)]
pub(crate) struct Remembered<T> {
    /// After how many writes, and what it was.
    read: Option<(u64, All<T>)>,
}

/// A whole collection, by key.
pub(crate) type All<T> = Arc<[(String, T)]>;

impl<T> Default for Remembered<T> {
    fn default() -> Self {
        Remembered { read: None }
    }
}

impl<T: Kept> Remembered<T> {
    /// All, by key.
    pub(crate) async fn all(&mut self, settings: &Settings) -> Result<All<T>, Problem> {
        // Before it is read: what is written meanwhile has it read again.
        let writes = settings.writes::<T>();
        if let Some((_, all)) = self.read.as_ref().filter(|(before, _)| *before == writes) {
            return Ok(all.clone());
        }
        let all: All<T> = settings.all::<T>().await?.into();
        self.read = Some((writes, all.clone()));
        Ok(all)
    }
}

fn read<T: Kept>(setting: Setting) -> Result<T, Problem> {
    setting.read().map_err(|error| {
        Problem::Machine(format!("setting {}/{}: {error}", setting.at.collection, setting.at.key))
    })
}
