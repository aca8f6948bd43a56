//! `sealed` lines: for each chain of a watch, how many lines it has and which is the last. Written at
//! release, at every export and after every late line; the newest counts.

use crate::problem::Problem;
use crate::scribe::nobody;
use crate::server::App;
use ledger::{DeviceId, LineId, WatchId};
use record::{ChainEnd, SealedChains};
use std::collections::BTreeMap;

const PAGE: u32 = 2_000;

/// States where every chain of the watch ends; the line that does.
pub(crate) async fn seal(app: &App, watch: &WatchId) -> Result<LineId, Problem> {
    let chains = ends(app, watch).await?;
    let entry = SealedChains { chains }.into();
    let lines = app.scribe.write(app, watch, &nobody(), vec![entry]).await?;
    lines.last().copied().ok_or(Problem::Machine("a line was not written".to_owned()))
}

/// The ends of the chains as the log has them now.
async fn ends(app: &App, watch: &WatchId) -> Result<Vec<ChainEnd>, Problem> {
    let mut ends: BTreeMap<DeviceId, (u64, LineId)> = BTreeMap::new();
    let mut after = None;
    loop {
        let lines = app.store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
        let Some(last) = lines.last() else { break };
        after = Some(last.place.clone());
        for line in &lines {
            ends.insert(line.dev, (line.seq + 1, line.id));
        }
    }
    Ok(ends.into_iter().map(|(dev, (count, last))| ChainEnd { dev, count, last }).collect())
}
