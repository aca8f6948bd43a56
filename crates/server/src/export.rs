//! The bundle of one watch, as it stands in the log now. Every export is a line of its own.

use crate::packing::Packing;
use crate::problem::Problem;
use crate::seal;
use crate::server::App;
use ledger::{PersonId, WatchId};
use record::Exported;

/// States the export, seals the chains, signs a head over both, and packs everything.
pub(crate) async fn bundle_of(
    app: &App,
    watch: &WatchId,
    by: &PersonId,
) -> Result<Vec<u8>, Problem> {
    let head = app.publish().await?.claimed().quoted();
    let entry = Exported { head, by: by.clone() };
    app.scribe.write(app, watch, by, vec![entry.into()]).await?;
    seal::seal(app, watch).await?;
    app.publish().await?;
    let server = app.scribe.first_device();
    Packing { store: &app.store, watch, server, log_seed: app.log_seed() }.pack().await
}
