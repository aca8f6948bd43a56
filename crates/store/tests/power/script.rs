//! What is done while the disk is watched, and what was acknowledged.

use crate::devices::{Chain, ORIGIN, at, sign};
use crate::shim::NAME;
use ledger::{Digest, LineId};
use std::collections::BTreeMap;
use std::path::Path;
use store::{Expect, Options, Outcome, SettingKey, Store, StoreError};

/// What the store has promised.
#[derive(Debug, Clone, Default)]
pub(crate) struct Promised {
    pub(crate) lines: BTreeMap<u64, LineId>,
    pub(crate) heads: BTreeMap<u64, Digest>,
    /// The last value kept under each setting's version.
    pub(crate) setting: Option<(u64, u64)>,
}

pub(crate) fn options(folder: &Path, recorded: bool) -> Options {
    let mut options = Options::in_folder(folder);
    options.reserve_bytes = Some(0);
    options.vfs = recorded.then(|| NAME.to_str().unwrap().to_owned());
    options
}

/// One step of the script: a batch, a batch out of order, a head, or a setting.
pub(crate) struct Script {
    chains: [Chain; 3],
    step: u64,
}

impl Script {
    pub(crate) fn new() -> Script {
        let chains = [Chain::new(1, "w-1"), Chain::new(2, "w-1"), Chain::new(3, "org")];
        Script { chains, step: 0 }
    }

    /// Takes the next step and notes what was promised. After an error the same lines may be sent
    /// again; the script goes on as a phone would that keeps trying.
    pub(crate) async fn step(
        &mut self,
        store: &Store,
        promised: &mut Promised,
    ) -> Result<(), StoreError> {
        self.step += 1;
        let step = self.step;
        let chain = &mut self.chains[(step % 3) as usize];
        match step % 7 {
            3 => {
                let head = store.publish(ORIGIN, sign).await?;
                promised.heads.insert(head.claimed().size, head.claimed().root);
            }
            5 => {
                let key = SettingKey::new("contacts", "c-1");
                let kept = store.write_setting(&key, &step, Expect::Anything).await?;
                if let store::Written::Kept { version } = kept {
                    promised.setting = Some((version, step));
                }
            }
            _ => {
                // Enough to fill rows of hashes now and then.
                let count = [1, 2, 40, 130][(step % 4) as usize];
                let (seq, prev) = (chain.seq, chain.prev);
                let mut lines: Vec<_> = (0..count).map(|_| chain.whisper("a", "b")).collect();
                if step.is_multiple_of(11) {
                    lines.reverse();
                }
                let ids: Vec<LineId> = lines.iter().map(|line| line.line.id()).collect();
                let appended = store.append(ORIGIN, at(1_000 + step as i64), lines).await;
                let Ok(appended) = appended else {
                    (chain.seq, chain.prev) = (seq, prev);
                    return appended.map(drop);
                };
                for (id, outcome) in ids.into_iter().zip(appended.outcomes) {
                    match outcome {
                        Outcome::Received(place) | Outcome::Again(place) => {
                            promised.lines.insert(place.index, id);
                        }
                        other => panic!("step {step}: {other:?}"),
                    }
                }
            }
        }
        Ok(())
    }
}

impl Promised {
    /// Compares an opened store with what was promised.
    pub(crate) async fn check(&self, store: &Store, what: &str) {
        let kept = store.lines(ORIGIN, 0..1 << 20, u32::MAX).await.unwrap();
        for (index, id) in &self.lines {
            let line = kept.get(*index as usize);
            let line = line.unwrap_or_else(|| panic!("{what}: line {index} is lost"));
            assert_eq!((line.place.index, line.id), (*index, *id), "{what}");
        }
        for (size, root) in &self.heads {
            assert_eq!(store.root_at(ORIGIN, *size).await.unwrap(), *root, "{what}: head {size}");
        }
        if let Some((version, value)) = self.setting {
            let key = SettingKey::new("contacts", "c-1");
            let setting = store.setting(&key).await.unwrap();
            let setting = setting.unwrap_or_else(|| panic!("{what}: the setting is lost"));
            assert!(setting.version >= version, "{what}");
            assert!(setting.version > version || setting.value == value, "{what}");
        }
        assert_eq!(store.scrub().await.unwrap().faults, [], "{what}");
    }
}
