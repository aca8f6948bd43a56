//! A new key of the server while it runs: the old one vouches for it and is put aside.

use crate::problem::Problem;
use crate::server::App;
use crate::{restored, secret};
use ledger::DeviceKey;
use std::io;

/// Draws a new key, puts the old file aside, and has the old key say so in the record. A stop in between
/// leaves both files, and the next start says it.
pub(crate) async fn renew(app: &App) -> Result<(), Problem> {
    let keys = app.options.data.join("keys");
    let change = || -> io::Result<(DeviceKey, Vec<DeviceKey>)> {
        restored::put_aside(&keys)?;
        let current = DeviceKey::from_seed(secret::seed_file(&keys.join("device.key"))?);
        Ok((current, restored::earlier_keys(&keys)?))
    };
    let failed = |error: io::Error| Problem::Machine(error.to_string());
    app.scribe.change(change).await.map_err(failed)?;
    for key in app.scribe.all_keys() {
        app.book_mut().know(key.device(), crate::book::Known::server(key));
    }
    app.scribe.enrol_itself(app).await
}
