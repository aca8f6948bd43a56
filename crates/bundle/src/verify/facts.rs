//! What lines say that decides about trust and completeness: enrolments, seals, erasures, blobs.

use super::chains::{Chains, short};
use super::files::Files;
use super::logs::Judged;
use crate::source::Source;
use crate::verdict::{FaultKind, Faults};
use crate::{blobs_named, names};
use ledger::leaf::Entry as Leaf;
use ledger::{DeviceId, Digest, Line, LineId, Verified};
use record::{Entry, SealedChains};
use std::collections::{BTreeMap, BTreeSet};

#[derive(Default)]
pub(super) struct Facts {
    pub(super) server: DeviceId,
    /// Devices that the server wrote with after it changed its key.
    later_servers: BTreeSet<DeviceId>,
    pub(super) signers: BTreeSet<DeviceId>,
    trusted: BTreeSet<DeviceId>,
    revoked: BTreeSet<DeviceId>,
    /// Devices that were named once as not trusted.
    named: BTreeSet<DeviceId>,
    sealed: Option<Seal>,
    after_seal: u64,
    unchecked_heads: u64,
    missing_private: Vec<(String, u64, LineId)>,
    erased_lines: BTreeSet<LineId>,
    erased_blobs: BTreeSet<Digest>,
    blobs: BTreeMap<Digest, (String, u64)>,
}

struct Seal {
    received_ms: i64,
}

impl Facts {
    /// Takes note of a line that holds. Called in the order of the logs.
    pub(super) fn note<S: Source + ?Sized>(
        &mut self,
        line: &Verified<Line>,
        leaf: &Leaf,
        at: (&str, u64),
        chains: &Chains<'_, S>,
        faults: &mut Faults,
    ) {
        self.signers.insert(line.dev);
        self.check_trust(line, at, faults);
        if !line.watch.is_org() {
            self.after_seal += 1;
        }
        let by_server = line.dev == self.server || self.later_servers.contains(&line.dev);
        match line.kind.as_str() {
            "sealed" | "enrolled" | "rekeyed" | "revoked" | "erased" => {}
            _ => return self.note_blobs(line, at),
        }
        match Entry::of(line) {
            Ok(Entry::SealedChains(seal)) if by_server && !line.watch.is_org() => {
                self.check_seal(&seal, line, leaf, at, chains, faults);
            }
            Ok(Entry::Enrolled(body)) if by_server && body.key.device() == body.device => {
                self.trusted.insert(body.device);
            }
            Ok(Entry::Rekeyed(body)) if self.is_trusted(&line.dev) => {
                self.trusted.insert(body.key.device());
                if by_server {
                    self.later_servers.insert(body.key.device());
                }
            }
            Ok(Entry::Revoked(body)) if by_server => {
                self.revoked.insert(body.device);
            }
            Ok(Entry::Erased(body)) if by_server => {
                self.erased_lines.extend(body.line);
                self.erased_blobs.extend(body.blob);
            }
            Ok(_) => {}
            Err(fault) => faults.add(FaultKind::Shape, at.0, at.1, fault.to_string()),
        }
    }

    fn is_trusted(&self, dev: &DeviceId) -> bool {
        *dev == self.server || self.trusted.contains(dev)
    }

    fn check_trust(&mut self, line: &Verified<Line>, at: (&str, u64), faults: &mut Faults) {
        let dev = line.dev;
        if self.revoked.contains(&dev) {
            let says = format!("device {dev} was no longer trusted when this was received");
            faults.add(FaultKind::Revoked, at.0, at.1, says);
        }
        // A device states its own enrolment before the server lets it in.
        if !self.is_trusted(&dev) && line.kind != "enrolled" && self.named.insert(dev) {
            let says = format!("nobody had let device {dev} in when this was received");
            faults.add(FaultKind::NotEnrolled, at.0, at.1, says);
        }
    }

    /// A seal counts the lines that the log had received before it: none may be missing.
    fn check_seal<S: Source + ?Sized>(
        &mut self,
        seal: &SealedChains,
        line: &Verified<Line>,
        leaf: &Leaf,
        at: (&str, u64),
        chains: &Chains<'_, S>,
        faults: &mut Faults,
    ) {
        for end in &seal.chains {
            let tip = chains.tip(&end.dev);
            // The tip of the server's own chain has just moved on to the seal itself.
            let (count, last) = match tip {
                Some(tip) if end.dev == line.dev => (tip.count.saturating_sub(1), line.prev),
                Some(tip) => (tip.count, tip.last),
                None => (0, LineId::default()),
            };
            let says = if count < end.count {
                format!(
                    "the seal counts {} lines of device {}, the bundle has {count} of them",
                    end.count, end.dev
                )
            } else if count == end.count && last != end.last {
                format!(
                    "the seal says that line {} of device {} is {}…, here it is {}…",
                    end.count.saturating_sub(1),
                    end.dev,
                    short(&end.last),
                    short(&last)
                )
            } else {
                continue;
            };
            faults.add(FaultKind::Seal, at.0, at.1, says);
        }
        self.sealed = Some(Seal { received_ms: leaf.rx });
        self.after_seal = 0;
    }

    fn note_blobs(&mut self, line: &Verified<Line>, at: (&str, u64)) {
        for digest in blobs_named(line) {
            self.blobs.entry(digest).or_insert_with(|| (at.0.to_owned(), at.1));
        }
    }

    /// A line names a private line that is not here; it may turn out to have been erased.
    pub(super) fn note_missing_private(&mut self, id: LineId, at: (&str, u64)) {
        self.missing_private.push((at.0.to_owned(), at.1, id));
    }

    /// The lines whose private lines were erased.
    pub(super) fn erased_lines(&self) -> &BTreeSet<LineId> {
        &self.erased_lines
    }

    /// A head of a log that is not in the bundle was quoted.
    pub(super) fn note_unchecked_head(&mut self) {
        self.unchecked_heads += 1;
    }

    /// Judges what can be judged only when all lines are known.
    pub(super) fn check_ends<S: Source + ?Sized>(
        &mut self,
        chains: &Chains<'_, S>,
        files: &Files<'_, S>,
        faults: &mut Faults,
    ) {
        if self.sealed.is_none() {
            let says = "no `sealed` line of the server says how many lines there are, so lines may \
                        be missing at the end of any chain";
            faults.add(FaultKind::NotSealed, &names::chain(&self.server), None, says);
        }
        let missing = std::mem::take(&mut self.missing_private);
        for (file, line, id) in missing {
            if !self.erased_lines.contains(&id) {
                let says = "the private line is missing, and nothing says that it was erased";
                faults.add(FaultKind::PrivateMissing, &file, line, says);
            }
        }
        for (digest, (file, line)) in &self.blobs {
            let name = names::blob(digest);
            match (files.has(&name), self.erased_blobs.contains(digest)) {
                (true, true) => {
                    faults.add(FaultKind::Erased, &name, None, "was erased and is still here");
                }
                (false, false) => {
                    let says = format!(
                        "the blob {digest} is missing, and nothing says that it was erased"
                    );
                    faults.add(FaultKind::BlobMissing, file, *line, says);
                }
                _ => {}
            }
        }
        for digest in files.names().filter_map(names::blob_digest) {
            if !self.blobs.contains_key(&digest) {
                let says = "no line names this blob";
                faults.add(FaultKind::BlobExtra, &names::blob(&digest), None, says);
            }
        }
        for tip in chains.tips().filter(|tip| tip.count == 0) {
            let says = "the log received no line of this device";
            faults.add(FaultKind::FileExtra, &names::chain(&tip.dev), None, says);
        }
    }

    /// What this bundle leaves open.
    pub(super) fn cannot_know(&self, logs: &Judged) -> Vec<String> {
        let mut open = Vec::new();
        for key in &logs.keys_on_trust {
            open.push(format!(
                "whether {key} is the key of that log: compare it with one that came another way"
            ));
        }
        open.extend(logs.open.iter().cloned());
        if let Some(seal) = &self.sealed {
            open.push(format!(
                "whether the log received lines of this watch after the newest seal of {}",
                utc(seal.received_ms)
            ));
            if self.after_seal > 0 {
                open.push(format!(
                    "whether there are more lines beside the {} that came after the newest seal",
                    self.after_seal
                ));
            }
        }
        if !self.erased_lines.is_empty() || !self.erased_blobs.is_empty() {
            open.push(format!(
                "what stood in {} private lines and {} blobs that were erased",
                self.erased_lines.len(),
                self.erased_blobs.len()
            ));
        }
        if self.unchecked_heads > 0 {
            open.push(format!(
                "whether {} quoted heads are heads of their logs, which are not in the bundle",
                self.unchecked_heads
            ));
        }
        if logs.stamps == 0 {
            open.push(
                "the time by any clock but the server's: no outside time stamp is here".to_owned(),
            );
        } else {
            open.push(format!("whether {} outside time stamps are signed as they say: README.md shows how to check them with openssl", logs.stamps));
        }
        open
    }
}

fn utc(ms: i64) -> String {
    jiff::Timestamp::from_millisecond(ms)
        .map_or_else(|_| format!("{ms} ms after 1970"), |time| time.to_string())
}
