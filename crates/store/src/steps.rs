//! Whether a database is as this version of the program keeps it: by the steps that made its tables.

use crate::error::StoreError;
use sqlx::migrate::{MigrateError, Migrator};
use std::sync::Arc;

const NEWER: &str = "a newer version of this program has changed it, and this one would misread it. \
    Install that version again, or restore the backup that was made before";

/// Why the tables could not be brought up to date.
pub(crate) fn refused(at: Arc<str>, error: &MigrateError) -> StoreError {
    let says = match error {
        MigrateError::VersionMissing(_) => NEWER.into(),
        other => other.to_string().as_str().into(),
    };
    StoreError::NotOurs { at, says }
}

/// Whoever only reads changes no tables, so they must be as they are expected; `newest` is the last step
/// that was taken.
pub(crate) fn fits(at: Arc<str>, ours: &Migrator, newest: Option<i64>) -> Result<(), StoreError> {
    let expected = ours.iter().map(|step| step.version).max();
    let says = match newest {
        None => "it is empty. Start the server once to fill it",
        newest if newest == expected => return Ok(()),
        newest if newest > expected => NEWER,
        _ => {
            "an earlier version of this program made it. Start the server of this version once, \
             which brings it up to date"
        }
    };
    Err(StoreError::NotOurs { at, says: says.into() })
}
