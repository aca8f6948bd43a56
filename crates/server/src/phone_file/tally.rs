//! What stands in the record of a phone's file: by whose hand it came, and what became of its lines.

use crate::problem::Problem;
use crate::seal;
use crate::server::App;
use crate::sync::Judged;
use ledger::{DeviceId, Digest, PersonId, WatchId};
use phone::sync::SentLine;
use record::FileBrought;
use std::collections::{BTreeMap, BTreeSet};
use store::Outcome;

/// More devices than a phone ever carries lines of; an entry has a largest size.
const DEVICES_MAX: usize = 50;

/// One file, watch by watch.
pub(super) struct Tally {
    file: Digest,
    /// The watch at whose page it came in: what belongs to no watch is told there.
    at: WatchId,
    watches: BTreeMap<WatchId, Count>,
}

#[derive(Default)]
struct Count {
    devices: BTreeSet<DeviceId>,
    taken: u32,
    before: u32,
    left: u32,
}

impl Tally {
    pub(super) fn new(file: &[u8], at: &WatchId) -> Tally {
        let watches = BTreeMap::from([(at.clone(), Count::default())]);
        Tally { file: Digest::of(file), at: at.clone(), watches }
    }

    /// A row that reads as no line.
    pub(super) fn unread(&mut self) {
        self.watches.entry(self.at.clone()).or_default().left += 1;
    }

    /// What was judged of a row.
    pub(super) fn add(&mut self, app: &App, sent: &SentLine, judged: &Judged) {
        let line = serde_json::from_str::<ledger::Line>(&sent.line).ok();
        let stated = line.as_ref().map(|line| &line.watch);
        let ours = stated.filter(|watch| app.book().watch(watch).is_some());
        let count = self.watches.entry(ours.unwrap_or(&self.at).clone()).or_default();
        match judged.outcome {
            Ok(Outcome::Received(_)) => count.taken += 1,
            Ok(Outcome::Again(_)) => count.before += 1,
            _ => {
                count.left += 1;
                return;
            }
        }
        count.devices.extend(line.map(|line| line.dev));
    }

    /// Writes an entry on each watch that the file told something of.
    pub(super) async fn write(self, app: &App, by: &PersonId) -> Result<(), Problem> {
        for (watch, count) in self.watches {
            let Count { devices, taken, before, left } = count;
            if taken + before + left == 0 {
                continue;
            }
            let devices = devices.into_iter().take(DEVICES_MAX).collect();
            let entry =
                FileBrought { file: self.file, devices, taken, before, left, by: by.clone() };
            app.scribe.write(app, &watch, by, vec![entry.into()]).await?;
            let live = app.book().watch(&watch).map(|live| live.standing.released_ms.is_some());
            if live == Some(true) {
                seal::seal(app, &watch).await?;
            }
        }
        Ok(())
    }
}
