//! Opens a bundle that holds, for reports and screens.

use crate::source::{Source, Stream};
use crate::verify::{How, verify_with};
use crate::workers::OneThread;
use crate::{Verdict, archive, names};
use ledger::leaf::Entry;
use ledger::{DeviceId, Digest, Line, Private, Sealed, Verified, WatchId};
use record::Words;
use std::collections::BTreeMap;
use watch::{Held, Sealing};

/// A verified bundle in memory.
#[derive(Debug, Clone)]
pub struct Bundle {
    /// The watch.
    pub watch: WatchId,
    /// The device that is the server.
    pub server: DeviceId,
    /// Its lines and those of `org.jsonl`, in the order in which the logs received them.
    pub lines: Vec<SealedLine>,
    /// The blobs by digest.
    pub blobs: BTreeMap<Digest, Vec<u8>>,
    /// What was judged.
    pub verdict: Verdict,
}

/// A line with everything that the bundle proves about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SealedLine {
    /// The line.
    pub line: Verified<Line>,
    /// Its leaf.
    pub leaf: Entry,
    /// The number of the log, counted from 1.
    pub log: usize,
    /// The bytes of its private line, if it has one that was not erased.
    pub private: Option<Vec<u8>>,
    /// When it was sealed, by the server's clock.
    pub sealed: Sealed,
}

impl SealedLine {
    /// The line as the fold of a watch takes it in.
    pub fn held(self) -> Held {
        let sealing = Sealing {
            index: self.leaf.i,
            rx_ms: self.leaf.rx,
            rxe_ms: self.leaf.rxe,
            not_before_ms: self.sealed.not_before_ms,
        };
        let private = self.private.as_deref().and_then(|bytes| Private::parse(bytes).ok());
        let words = private.map(|private| Words::open(&private));
        Held { line: self.line, sealing: Some(sealing), words }
    }
}

/// A bundle as far as it could be read: its verdict may be bad, each of its lines holds.
#[derive(Debug, Clone)]
pub struct Opened {
    /// What was judged.
    pub verdict: Verdict,
    /// The lines that hold, in the order in which the logs received them.
    pub lines: Vec<SealedLine>,
    /// The blobs by digest.
    pub blobs: BTreeMap<Digest, Vec<u8>>,
}

/// Verifies a bundle and opens what of it holds, for whoever must show even a damaged record and say so.
pub fn open(bytes: &[u8]) -> Opened {
    let mut lines = Vec::new();
    let how = How {
        workers: &OneThread,
        progress: &mut |_, _| {},
        log_keys: &[],
        keep: Some(&mut |line| lines.push(line)),
    };
    let verdict = verify_with(bytes, how).expect("a slice can always be read");
    Opened { verdict, lines, blobs: blobs(bytes) }
}

/// Verifies and opens a bundle; whatever does not hold comes back as the verdict.
pub fn read(bytes: &[u8]) -> Result<Bundle, Box<Verdict>> {
    let Opened { verdict, lines, blobs } = open(bytes);
    match (verdict.ok, verdict.watch.clone(), verdict.server) {
        (true, Some(watch), Some(server)) => Ok(Bundle { watch, server, lines, blobs, verdict }),
        _ => Err(Box::new(verdict)),
    }
}

fn blobs<S: Source + ?Sized>(source: &S) -> BTreeMap<Digest, Vec<u8>> {
    // An archive that cannot be read has no blobs, and its verdict says why.
    let files = archive::read(source).unwrap_or_default();
    let blob = |file: archive::File| {
        let digest = names::blob_digest(&file.name)?;
        let bytes = Stream::new(source, &file).whole(usize::MAX).ok()??;
        (Digest::of(&bytes) == digest).then_some((digest, bytes))
    };
    files.into_iter().filter_map(blob).collect()
}
