//! The bundle of one watch, as it stands in the log now. Every export is a line of its own.

use crate::packing::Packing;
use crate::problem::Problem;
use crate::seal;
use crate::server::App;
use ledger::{LineId, PersonId, WatchId};
use record::Exported;

/// A bundle and the `sealed` line that counts what is in it.
pub(crate) struct Packed {
    pub(crate) bytes: Vec<u8>,
    pub(crate) counted: LineId,
}

/// States the export, seals the chains, signs a head over both, and packs everything.
pub(crate) async fn bundle_of(
    app: &App,
    watch: &WatchId,
    by: &PersonId,
) -> Result<Vec<u8>, Problem> {
    Ok(packed(app, watch, by).await?.bytes)
}

/// As [`bundle_of`], with the line that counts it.
pub(crate) async fn packed(app: &App, watch: &WatchId, by: &PersonId) -> Result<Packed, Problem> {
    let head = app.publish().await?.claimed().quoted();
    let entry = Exported { head, by: by.clone(), table: None };
    app.scribe.write(app, watch, by, vec![entry.into()]).await?;
    let counted = seal::seal(app, watch).await?;
    app.publish().await?;
    let server = app.scribe.first_device();
    let packing = Packing { store: &app.store, watch, server, log_seed: app.log_seed() };
    Ok(Packed { bytes: packing.pack().await?, counted })
}
