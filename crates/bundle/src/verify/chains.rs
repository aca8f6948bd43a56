//! The chains, each read line by line as the log calls for its lines.

use super::files::{Files, ended};
use crate::names;
use crate::source::{NextLine, Source, Stream};
use crate::verdict::{FaultKind, Faults};
use ledger::chain::{ChainFault, Tip};
use ledger::leaf::Entry;
use ledger::{DeviceId, Digest, Line, LineId, Verified, WatchId, canonical};
use std::collections::{BTreeMap, VecDeque};
use std::io;

/// How far ahead a private line is looked for when the next one is not the one asked for.
const PRIVATE_AHEAD: usize = 64;

pub(super) struct Chains<'s, S: Source + ?Sized> {
    tips: BTreeMap<DeviceId, Tip>,
    lines: BTreeMap<DeviceId, Cursor<'s, S>>,
    private: BTreeMap<DeviceId, Cursor<'s, S>>,
    /// `org.jsonl`: single lines of several chains, in the order of the logs.
    org: Option<Cursor<'s, S>>,
}

impl<S: Source + ?Sized> Default for Chains<'_, S> {
    fn default() -> Self {
        Chains {
            tips: BTreeMap::new(),
            lines: BTreeMap::new(),
            private: BTreeMap::new(),
            org: None,
        }
    }
}

/// A file of lines, with the ones that were looked at and not yet taken.
pub(super) struct Cursor<'s, S: Source + ?Sized> {
    pub(super) name: String,
    stream: Stream<'s, S>,
    number: u64,
    at_end: bool,
    ahead: VecDeque<Found>,
}

/// A line with its number in the file and its digest.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub(super) number: u64,
    pub(super) bytes: Vec<u8>,
    pub(super) digest: Digest,
}

impl<'s, S: Source + ?Sized> Chains<'s, S> {
    pub(super) fn open(&mut self, dev: DeviceId, watch: &WatchId, files: &mut Files<'s, S>) {
        let Some(lines) = Cursor::open(names::chain(&dev), files) else { return };
        self.lines.insert(dev, lines);
        self.tips.insert(dev, Tip::start(dev, watch.clone()));
        if let Some(private) = Cursor::open(names::private(&dev), files) {
            self.private.insert(dev, private);
        }
    }

    pub(super) fn open_org(&mut self, files: &mut Files<'s, S>) {
        self.org = Cursor::open(names::ORG.to_owned(), files);
    }

    pub(super) fn devices(&self) -> u64 {
        self.tips.len() as u64
    }

    pub(super) fn tips(&self) -> impl Iterator<Item = &Tip> {
        self.tips.values()
    }

    pub(super) fn tip(&self, dev: &DeviceId) -> Option<&Tip> {
        self.tips.get(dev)
    }

    /// The line that a leaf of this watch speaks of, with the file it is in.
    pub(super) fn take(
        &mut self,
        leaf: &Entry,
        leaf_at: (&str, u64),
        faults: &mut Faults,
    ) -> io::Result<Option<(String, Found)>> {
        let missing = |faults: &mut Faults| {
            let says = format!(
                "the log received line {} of device {}, which is not in the bundle",
                leaf.seq, leaf.dev
            );
            faults.add(FaultKind::LineMissing, leaf_at.0, leaf_at.1, says);
        };
        let Some(lines) = self.lines.get_mut(&leaf.dev) else {
            missing(faults);
            return Ok(None);
        };
        let name = lines.name.clone();
        while let Some(found) = lines.peek(faults)? {
            if found.digest == leaf.e.0 {
                return Ok(lines.ahead.pop_front().map(|found| (name, found)));
            }
            let number = found.number;
            match seq_of(&found.bytes) {
                Some(seq) if seq < leaf.seq => {
                    let says = "the log has no leaf for this line at this place";
                    faults.add(FaultKind::LeafMissing, &name, number, says);
                    lines.ahead.pop_front();
                }
                Some(seq) if seq > leaf.seq => break,
                _ => {
                    let says =
                        format!("this is not the line that the log received as leaf {}", leaf.i);
                    faults.add(FaultKind::LineChanged, &name, number, says);
                    lines.ahead.pop_front();
                    return Ok(None);
                }
            }
        }
        missing(faults);
        Ok(None)
    }

    /// The next line of `org.jsonl`, if it is the one that this leaf speaks of. Other leaves of the
    /// organisation are shown for their time alone.
    pub(super) fn take_org(
        &mut self,
        leaf: &Entry,
        faults: &mut Faults,
    ) -> io::Result<Option<(String, Found)>> {
        let Some(org) = &mut self.org else { return Ok(None) };
        match org.peek(faults)? {
            Some(found) if found.digest == leaf.e.0 => {
                Ok(org.ahead.pop_front().map(|found| (org.name.clone(), found)))
            }
            _ => Ok(None),
        }
    }

    /// Goes past a line that the log received and that is not here or was changed: the log says its
    /// id, so the lines after it can still be judged.
    pub(super) fn skip(&mut self, leaf: &Entry) {
        if let Some(tip) = self.tips.get_mut(&leaf.dev) {
            (tip.count, tip.last) = (leaf.seq + 1, leaf.e);
        }
    }

    /// Moves the tip of the line's chain on to the line.
    pub(super) fn extend(&mut self, line: &Verified<Line>, at: (&str, u64), faults: &mut Faults) {
        let Some(tip) = self.tips.get_mut(&line.dev) else { return };
        let Err(fault) = tip.extend(line) else { return };
        let kind = match fault {
            ChainFault::OtherChain => FaultKind::OtherChain,
            ChainFault::Gap { .. } | ChainFault::Taken { .. } => FaultKind::Gap,
            ChainFault::Link { .. } => FaultKind::Link,
        };
        faults.add(kind, at.0, at.1, fault.to_string());
        (tip.count, tip.last) = (line.seq + 1, line.id());
    }

    /// The private line with this digest, passing over ones that no line asks for.
    pub(super) fn take_private(
        &mut self,
        dev: &DeviceId,
        digest: &Digest,
        faults: &mut Faults,
    ) -> io::Result<Option<Vec<u8>>> {
        let Some(private) = self.private.get_mut(dev) else { return Ok(None) };
        let mut place = 0;
        while place < PRIVATE_AHEAD {
            if place == private.ahead.len() && !private.look_ahead(faults)? {
                return Ok(None);
            }
            if private.ahead[place].digest == *digest {
                for passed in private.ahead.drain(..place) {
                    private_extra(&private.name, &passed, faults);
                }
                return Ok(private.ahead.pop_front().map(|found| found.bytes));
            }
            place += 1;
        }
        Ok(None)
    }

    /// Everything must have been called for.
    pub(super) fn check_ends(
        &mut self,
        files: &mut Files<'s, S>,
        faults: &mut Faults,
    ) -> io::Result<()> {
        for (_, mut lines) in std::mem::take(&mut self.lines) {
            let says = "the log has no leaf for this line";
            lines.drain(faults, |name, found, faults| {
                faults.add(FaultKind::LeafMissing, name, found.number, says);
            })?;
            files.close(&lines.name, lines.stream)?;
        }
        for (_, mut private) in std::mem::take(&mut self.private) {
            private.drain(faults, private_extra)?;
            files.close(&private.name, private.stream)?;
        }
        if let Some(mut org) = self.org.take() {
            let says = "the logs have no leaf for this line at this place";
            org.drain(faults, |name, found, faults| {
                faults.add(FaultKind::LeafMissing, name, found.number, says);
            })?;
            files.close(&org.name, org.stream)?;
        }
        Ok(())
    }
}

fn private_extra(name: &str, found: &Found, faults: &mut Faults) {
    let says = "no line asks for this private line: it was changed, or belongs to another bundle";
    faults.add(FaultKind::PrivateOther, name, found.number, says);
}

/// The `seq` of bytes that may or may not be a line.
fn seq_of(bytes: &[u8]) -> Option<u64> {
    canonical::parse(bytes).ok()?.get("seq")?.as_u64()
}

impl<'s, S: Source + ?Sized> Cursor<'s, S> {
    fn open(name: String, files: &mut Files<'s, S>) -> Option<Cursor<'s, S>> {
        let stream = files.open(&name)?;
        Some(Cursor { name, stream, number: 0, at_end: false, ahead: VecDeque::new() })
    }

    fn peek(&mut self, faults: &mut Faults) -> io::Result<Option<&Found>> {
        if self.ahead.is_empty() {
            self.look_ahead(faults)?;
        }
        Ok(self.ahead.front())
    }

    /// Reads one more line; whether there was one.
    fn look_ahead(&mut self, faults: &mut Faults) -> io::Result<bool> {
        while !self.at_end {
            self.number += 1;
            match self.stream.line()? {
                NextLine::Line(bytes) => {
                    let digest = Digest::of(&bytes);
                    self.ahead.push_back(Found { number: self.number, bytes, digest });
                    return Ok(true);
                }
                other => self.at_end = ended(&other, &self.name, self.number, faults),
            }
        }
        Ok(false)
    }

    fn drain(
        &mut self,
        faults: &mut Faults,
        mut left: impl FnMut(&str, &Found, &mut Faults),
    ) -> io::Result<()> {
        loop {
            while let Some(found) = self.ahead.pop_front() {
                left(&self.name, &found, faults);
            }
            if !self.look_ahead(faults)? {
                return Ok(());
            }
        }
    }
}

/// The beginning of an id, enough for people to tell lines apart.
pub(super) fn short(id: &LineId) -> String {
    id.to_string().chars().take(12).collect()
}
