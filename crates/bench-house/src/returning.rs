//! Phones that come back with what they wrote, some at a time.

use anyhow::{Context, Result, ensure};
use simulation::Phone;
use tokio::task::JoinSet;

/// So many speak at the same time.
pub(crate) const AT_ONCE: usize = 32;

/// Each sends all it holds; one that is left with a line without a receipt is an error.
pub(crate) async fn all(phones: impl IntoIterator<Item = Phone>) -> Result<()> {
    let mut speaking = JoinSet::new();
    for mut phone in phones {
        if speaking.len() >= AT_ONCE {
            speaking.join_next().await.context("somebody speaks")???;
        }
        speaking.spawn(async move {
            phone.sync().await?;
            ensure!(phone.waiting() == 0, "lines without a receipt are left");
            Ok::<(), anyhow::Error>(())
        });
    }
    while let Some(done) = speaking.join_next().await {
        done??;
    }
    Ok(())
}
