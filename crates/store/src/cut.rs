//! Logs whose end was lost: the database is older than the heads that were signed, and somebody has
//! said that no newer copy is left. Such a log takes no more lines and no head of it is ever signed
//! again, since that head would be smaller than one in other hands. Another log goes on.

use crate::backend::{Backend, LogRow};
use crate::error::StoreError;
use crate::high_water::Mark;
use crate::leaves::Nodes;
use crate::marks::Marks;
use crate::settings::{Expect, SettingKey};
use ledger::Digest;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Where the database keeps which logs were cut: with the lines, so that a move or a backup takes it
/// along and a still older copy does not have it.
const COLLECTION: &str = "cut-logs";

/// A log that lost its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// Its name.
    pub origin: Arc<str>,
    /// Leaves that are left.
    pub size: u64,
    /// Leaves under the highest head that may have been signed.
    pub high_water: u64,
}

/// As it is kept.
#[derive(Debug, Serialize, Deserialize)]
struct Kept {
    size: u64,
    root: Digest,
    high_water: u64,
}

/// Compares the database with every mark, and returns the logs that are shorter than what was signed
/// and not known as cut.
pub(crate) async fn behind(
    backend: &dyn Backend,
    marks: &mut Marks,
) -> Result<Vec<Cut>, StoreError> {
    let logs = backend.logs().await?;
    let cut = all(backend).await?;
    let mut behind = Vec::new();
    for origin in marks.origins().await? {
        let of_log = marks.read(&origin).await?;
        let Some(Mark { size, .. }) = of_log.first().copied() else { continue };
        let log = logs.iter().find(|log| log.origin == origin);
        let database = log.map_or(0, |log| log.size);
        if database < size {
            if cut.get(&origin).is_none_or(|cut| cut.size != database) {
                behind.push(Cut { origin, size: database, high_water: size });
            }
            continue;
        }
        let log = log.ok_or_else(|| StoreError::damaged("a log without a row has leaves"))?;
        for Mark { size, root } in of_log {
            if Nodes::new(backend, log).root(size).await? != root {
                return Err(StoreError::OtherHistory { origin, size });
            }
        }
    }
    Ok(behind)
}

/// Refuses a log whose last lines no signed head covers: they could never be proven to anybody.
pub(crate) async fn check_covered(backend: &dyn Backend, cut: &[Cut]) -> Result<(), StoreError> {
    let logs = backend.logs().await?;
    for cut in cut.iter().filter(|cut| cut.size > 0) {
        let Some(log) = logs.iter().find(|log| log.origin == cut.origin) else { continue };
        let signed = backend.head(log.log, log.size).await?.map_or(0, |head| head.size);
        if signed < cut.size {
            let (origin, database) = (cut.origin.clone(), cut.size);
            return Err(StoreError::Uncovered { origin, database, signed });
        }
    }
    Ok(())
}

/// Writes down that these logs are cut.
pub(crate) async fn write(
    backend: &dyn Backend,
    epoch: i64,
    cut: &[Cut],
) -> Result<(), StoreError> {
    let logs = backend.logs().await?;
    for cut in cut {
        let row = logs.iter().find(|log| log.origin == cut.origin);
        let root = row.map_or_else(ledger::merkle::empty_root, |log| log.root);
        let kept = Kept { size: cut.size, root, high_water: cut.high_water };
        let value = serde_json::to_string(&kept).expect("numbers and a digest");
        let key = SettingKey::new(COLLECTION, &*cut.origin);
        backend.write_setting(epoch, &key, Some(&value), Expect::Anything).await?;
    }
    Ok(())
}

/// The logs that are cut, by name.
pub(crate) async fn all(backend: &dyn Backend) -> Result<BTreeMap<Arc<str>, Cut>, StoreError> {
    let mut all = BTreeMap::new();
    for setting in backend.settings(COLLECTION, "").await? {
        let kept: Kept = setting.read().map_err(|error| {
            StoreError::damaged(format!("setting {COLLECTION}/{}: {error}", setting.at.key))
        })?;
        let origin: Arc<str> = Arc::from(setting.at.key.as_str());
        let cut = Cut { origin: origin.clone(), size: kept.size, high_water: kept.high_water };
        all.insert(origin, cut);
    }
    Ok(all)
}

/// Whether a log may take lines: not closed, not cut.
pub(crate) fn is_open(log: &LogRow, cut: &BTreeMap<Arc<str>, Cut>) -> bool {
    log.closing.is_none() && !cut.contains_key(&log.origin)
}
