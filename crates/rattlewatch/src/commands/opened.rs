//! A bundle as commands that judge or learn from it need it: its lines, and the watch that they fold into.

use crate::file_source::FileSource;
use anyhow::Context;
use bundle::{How, OneThread, SealedLine};
use ledger::{Digest, WatchId};
use std::collections::BTreeMap;
use std::path::Path;
use watch::Watch;

/// What a bundle holds, whether or not all of it verifies.
pub(super) struct Opened {
    pub(super) verified: bool,
    pub(super) faults: Vec<String>,
    watch: WatchId,
    lines: Vec<SealedLine>,
    /// Empty unless the whole bundle verifies.
    pub(super) blobs: BTreeMap<Digest, Vec<u8>>,
}

impl Opened {
    /// Lines whose signature and place hold are kept even if the bundle as a whole does not verify.
    pub(super) fn read(path: &Path) -> anyhow::Result<Opened> {
        let source = FileSource::open(path)
            .with_context(|| format!("{} could not be opened", path.display()))?;
        let mut lines = Vec::new();
        let how = How {
            workers: &OneThread,
            progress: &mut |_, _| {},
            log_keys: &[],
            keep: Some(&mut |line| lines.push(line)),
        };
        let verdict = bundle::verify_with(&source, how)
            .with_context(|| format!("{} could not be read", path.display()))?;
        let faults = verdict.faults.iter().map(|fault| fault.says.clone()).collect();
        let watch = verdict.watch.clone().with_context(|| {
            format!(
                "{} is no bundle in which a watch can be read: run `rattlewatch verify` on it, which says what is wrong",
                path.display()
            )
        })?;
        let blobs = match verdict.ok {
            true => std::fs::read(path).ok().and_then(|bytes| bundle::read(&bytes).ok()),
            false => None,
        };
        let blobs = blobs.map(|bundle| bundle.blobs).unwrap_or_default();
        Ok(Opened { verified: verdict.ok, faults, watch, lines, blobs })
    }

    /// The watch, and the instant of the newest line of it: what is not known by then is not judged.
    pub(super) fn fold(&self) -> (Watch, i64) {
        let mut watch = Watch::new(self.watch.clone());
        let mut about_ms = i64::MIN;
        for sealed in self.lines.iter().filter(|sealed| sealed.line.watch == self.watch) {
            watch.add(sealed.clone().held());
            about_ms = about_ms.max(sealed.leaf.rx);
        }
        (watch, about_ms)
    }
}
