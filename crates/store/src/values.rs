//! Reading and writing settings and derived values.

use crate::disk::Wants;
use crate::error::StoreError;
use crate::settings::{Expect, Setting, SettingKey, Written};
use crate::store::Store;

impl Store {
    /// One setting.
    pub async fn setting(&self, key: &SettingKey) -> Result<Option<Setting>, StoreError> {
        self.backend().setting(key).await
    }

    /// All settings of a collection whose keys begin with `prefix` (empty: all), by key.
    pub async fn settings(
        &self,
        collection: &str,
        prefix: &str,
    ) -> Result<Vec<Setting>, StoreError> {
        self.backend().settings(collection, prefix).await
    }

    /// The names of all collections of settings, in order.
    pub async fn collections(&self) -> Result<Vec<String>, StoreError> {
        self.backend().collections().await
    }

    /// Writes a setting if what is there is what was expected.
    pub async fn write_setting<T: serde::Serialize + ?Sized>(
        &self,
        key: &SettingKey,
        value: &T,
        expect: Expect,
    ) -> Result<Written, StoreError> {
        let epoch = self.writing()?.epoch;
        self.reserve.check(0, Wants::Own)?;
        let value = serde_json::to_string(value).map_err(|error| StoreError::Database {
            says: format!("setting {}/{}: {error}", key.collection, key.key).as_str().into(),
        })?;
        self.noted(self.backend().write_setting(epoch, key, Some(&value), expect).await)
    }

    /// Removes a setting if what is there is what was expected.
    pub async fn remove_setting(
        &self,
        key: &SettingKey,
        expect: Expect,
    ) -> Result<Written, StoreError> {
        let epoch = self.writing()?.epoch;
        self.noted(self.backend().write_setting(epoch, key, None, expect).await)
    }

    /// One derived value: something that can be made again from the record.
    pub async fn derived(
        &self,
        collection: &str,
        key: &str,
    ) -> Result<Option<Vec<u8>>, StoreError> {
        self.backend().derived(collection, key).await
    }

    /// Writes a derived value.
    pub async fn write_derived(
        &self,
        collection: &str,
        key: &str,
        value: &[u8],
    ) -> Result<(), StoreError> {
        self.writing()?;
        self.noted(self.backend().write_derived(collection, key, value).await)
    }

    /// Drops all derived values; nothing is lost.
    pub async fn drop_derived(&self) -> Result<(), StoreError> {
        self.writing()?;
        self.noted(self.backend().drop_derived().await)
    }
}
