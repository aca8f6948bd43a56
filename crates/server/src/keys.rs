//! Whether the keys in this server's folder are those with which the record goes on. Of several servers on
//! one database each has its own folder: a key that one of them renewed is not in those of the others until
//! somebody copies it there, and whoever signed with another key would be believed by nobody.

use crate::options::StartError;
use crate::packing::log_key;
use crate::{restored, secret};
use ledger::{DeviceKey, Line, WatchId};
use record::Entry;
use std::io;
use std::path::Path;
use store::{LogState, Store};

/// Why this server must not sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lack {
    /// Its keys never signed anything here: they are another house's, or just drawn.
    OfOthers,
    /// The newest of its keys has handed over to one that is not in the folder.
    Newer,
}

impl Lack {
    /// What to do about it.
    pub(crate) fn error(self, folder: &Path) -> StartError {
        let at = folder.display();
        StartError::Keys(match self {
            Lack::OfOthers => format!(
                "the record is not signed with the keys in {at}: copy log.key, device.key, push.key and every \
                 device.N.key there from keys/ of a server that has led on this database, or of a backup of \
                 this record, and start again. Nothing was written"
            ),
            Lack::Newer => format!(
                "the server's key was changed while another server led, and the new one is not in {at}: copy \
                 device.key and every device.N.key there from keys/ of that server. Nothing was written"
            ),
        })
    }
}

/// Compares the folder with the record. Nothing is written, no key is drawn.
pub(crate) async fn lack(store: &Store, keys: &Path) -> Result<Option<Lack>, StartError> {
    let states = store.log_states().await?;
    if states.iter().all(|state| state.size == 0) {
        return Ok(None);
    }
    if !signs_heads(store, keys, &states).await? {
        return Ok(Some(Lack::OfOthers));
    }
    let mut held = restored::earlier_keys(keys)?;
    held.extend(secret::seed_if_there(&keys.join("device.key"))?.map(DeviceKey::from_seed));
    let org = WatchId::org();
    for key in held.iter().rev() {
        let (next, _) = store.tail(key.device(), &org).await?;
        let Some(last) = next.checked_sub(1) else { continue };
        let lines = store.lines_of_chain(key.device(), &org, last, 1).await?;
        let line = lines.first().and_then(|line| serde_json::from_slice(&line.signed.bytes).ok());
        let entry = line.and_then(|line: Line| Entry::of(&line).ok());
        let Some(Entry::Rekeyed(body)) = entry else { return Ok(None) };
        let is_here = held.iter().any(|key| key.public() == body.key);
        return Ok((!is_here).then_some(Lack::Newer));
    }
    // Where the end of a log was lost the beginning of a key may be lost with it.
    Ok(store.cut().await?.is_empty().then_some(Lack::OfOthers))
}

/// Whether the newest signed head is signed with the key here; also if there is none yet.
async fn signs_heads(store: &Store, keys: &Path, states: &[LogState]) -> io::Result<bool> {
    let seed = secret::seed_if_there(&keys.join("log.key"))?;
    for state in states.iter().rev() {
        let Ok(Some(head)) = store.published(&state.origin).await else { continue };
        let vkey = seed.map(|seed| log_key(&state.origin, seed).vkey());
        return Ok(vkey.is_some_and(|vkey| head.verify(&[vkey]).is_ok()));
    }
    Ok(true)
}
