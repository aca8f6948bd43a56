//! A night's record as a bundle.

use crate::Record;
use bundle::{BundleParts, KeptLine, LogParts, WriteFault};
use ledger::{Head, SignedLine};

impl Record {
    /// The bundle of the watch, proved to a head over every leaf.
    pub fn bundle(&self) -> Result<Vec<u8>, WriteFault> {
        let size = self.tree.size();
        let head = Head { origin: self.log_key.name().to_owned(), size, root: self.tree.root() };
        let lines = self.lines.iter().map(|line| KeptLine {
            signed: SignedLine {
                bytes: line.line.bytes().to_vec(),
                signature: line.line.signature(),
            },
            private: line.private.as_ref().map(|private| {
                private.to_bytes().expect("the line names the digest of these bytes")
            }),
        });
        let server = self.keys[0].device();
        bundle::write(&BundleParts {
            watch: self.watch.clone(),
            server,
            lines: lines.collect(),
            org_lines: self.org_lines.clone(),
            keys: self.keys.clone(),
            logs: vec![LogParts {
                vkey: self.log_key.vkey(),
                head: head.sign(&self.log_key).to_string(),
                tree: &self.tree,
                leaves: self.leaves.iter().map(|leaf| leaf.to_bytes()).collect(),
                stamps: Vec::new(),
            }],
            blobs: self.blobs.values().cloned().collect(),
        })
    }
}
