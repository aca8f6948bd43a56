//! Who may speak, by the house's own chain. That chain grows by a line a minute for as long as there is a house: what
//! it comes to is noted now and then, so that a start reads its end and not all of it.
//!
//! The note is a derived value: without it the whole chain is read.

use crate::book::Known;
use crate::folding;
use crate::problem::Problem;
use crate::server::App;
use crate::succession::{Leaf, Logs};
use ledger::{DeviceId, PersonId, PublicKey, WatchId};
use record::Role;
use serde::{Deserialize, Serialize};
use store::{Place, StoreError};

/// Where the note is kept. What it holds is another collection's once it changes.
const COLLECTION: &str = "house-chain-1";
const KEY: &str = "note";

/// After so many leaves it is noted anew.
const EVERY: u64 = 1_000;

/// How far the house's own chain is folded.
#[derive(Debug, Default)]
pub(crate) struct Progress {
    /// Up to here.
    last: Option<Leaf>,
    /// Up to there when it was last asked whether to note: every line before it is folded by now, also one that came
    /// in beside others.
    settled: Option<Leaf>,
    /// Up to there it is noted.
    noted: Option<Leaf>,
    /// A line of the chain could not be folded: nothing is noted any more, and the next start reads it.
    missed: bool,
}

impl Progress {
    /// The line at a leaf is folded.
    pub(crate) fn folded(&mut self, leaf: Leaf, logs: &Logs) {
        self.last = Some(logs.later(self.last.take(), leaf));
    }

    /// A line could not be folded.
    pub(crate) fn missed(&mut self) {
        self.missed = true;
    }

    /// The leaf up to which it is to be noted now, if it is.
    fn owed(&mut self) -> Option<Leaf> {
        let settled = std::mem::replace(&mut self.settled, self.last.clone())?;
        let noted = self.noted.as_ref().filter(|noted| noted.0 == settled.0);
        let grown = noted.is_none_or(|noted| settled.1 >= noted.1 + EVERY);
        (grown && !self.missed).then_some(settled)
    }
}

/// What the chain comes to.
#[derive(Debug, Serialize, Deserialize)]
struct Note {
    log: String,
    index: u64,
    devices: Vec<Device>,
}

#[derive(Debug, Serialize, Deserialize)]
struct Device {
    id: DeviceId,
    key: PublicKey,
    role: Role,
    person: Option<PersonId>,
    revoked: bool,
    heard_ms: Option<i64>,
    battery: Option<u8>,
}

/// Notes what the chain comes to, if it has grown enough. Called once a minute.
pub(crate) async fn note(app: &App) {
    let Some((log, index)) = app.book_mut().house.owed().filter(|_| !app.stands_by) else { return };
    let devices = app.book().devices().map(device).collect();
    let note = Note { log: log.to_string(), index, devices };
    let bytes = serde_json::to_vec(&note).expect("a note has only ids, keys and numbers");
    match app.store.write_derived(COLLECTION, KEY, &bytes).await {
        Ok(()) => app.book_mut().house.noted = Some((log, index)),
        Err(error) => {
            tracing::warn!(%error, "who may speak could not be noted; the next start reads more")
        }
    }
}

fn device((id, known): (DeviceId, &Known)) -> Device {
    Device {
        id,
        key: known.key,
        role: known.role,
        person: known.person.clone(),
        revoked: known.revoked,
        heard_ms: known.heard_ms,
        battery: known.battery,
    }
}

/// Folds the house's own chain: what was noted, and every line after it.
pub(crate) async fn rebuild(app: &App) -> Result<(), Problem> {
    let after = match noted(app).await? {
        Some(note) => {
            let place = Place {
                origin: note.log.as_str().into(),
                index: note.index,
                rx: app.received_now(),
            };
            is_there(app, &place).await?.then(|| {
                note.devices.into_iter().for_each(|device| take(app, device));
                place
            })
        }
        None => None,
    };
    app.book_mut().house.noted = after.as_ref().map(|place| (place.origin.clone(), place.index));
    folding::replay_after(app, &WatchId::org(), after).await
}

async fn noted(app: &App) -> Result<Option<Note>, Problem> {
    let bytes = app.store.derived(COLLECTION, KEY).await?;
    Ok(bytes.and_then(|bytes| serde_json::from_slice(&bytes).ok()))
}

/// Whether the log reaches that far: a copy from before may have come back.
async fn is_there(app: &App, place: &Place) -> Result<bool, Problem> {
    match app.store.head(&place.origin).await {
        Ok(log) => Ok(place.index < log.size),
        Err(StoreError::NoLog { .. }) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

fn take(app: &App, device: Device) {
    if device.role == Role::Server {
        app.scribe.learn(device.key);
    }
    let known = Known {
        key: device.key,
        role: device.role,
        person: device.person,
        // Until its grant is read: nothing; the server itself sees all.
        watches: (device.role != Role::Server).then(Default::default),
        revoked: device.revoked,
        heard_ms: device.heard_ms,
        battery: device.battery,
    };
    app.book_mut().know_as(device.id, known);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leaf(index: u64) -> Leaf {
        ("house-2026".into(), index)
    }

    #[test]
    fn what_is_noted_was_folded_a_minute_before() {
        let mut folded = Progress { last: Some(leaf(7)), ..Progress::default() };
        assert_eq!(folded.owed(), None, "a line beside it may still be on its way");
        folded.last = Some(leaf(9));
        assert_eq!(folded.owed(), Some(leaf(7)));
        folded.noted = Some(leaf(7));
        folded.last = Some(leaf(1_006));
        assert_eq!(folded.owed(), None, "only two more were settled");
        assert_eq!(folded.owed(), None, "999 more");
        folded.last = Some(leaf(1_007));
        assert_eq!(folded.owed(), None);
        assert_eq!(folded.owed(), Some(leaf(1_007)));
    }

    #[test]
    fn after_a_line_was_missed_nothing_is_noted() {
        let mut folded = Progress { last: Some(leaf(7)), ..Progress::default() };
        folded.missed();
        assert_eq!((folded.owed(), folded.owed()), (None, None));
    }
}
