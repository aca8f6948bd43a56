//! One log: what it says of itself, and the tree that its rows make.

use super::logs::Judged;
use super::{Case, How, canonical_row};
use crate::names;
use crate::row::{Others, Row};
use crate::source::Source;
use crate::verdict::{FaultKind, Faults};
use crate::workers::Workers;
use ledger::leaf::Close;
use ledger::merkle::Edge;
use ledger::{Digest, Head, SignedHead, Vkey};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::io;

/// The heads of one log by size.
pub(super) type Heads = BTreeMap<u64, HeadAt>;

pub(super) struct HeadAt {
    pub(super) root: Digest,
    /// The line in `heads.jsonl`; none for the newest.
    pub(super) line: Option<u64>,
    /// Time of receipt of the last leaf under it that is shown, and its error, ms.
    pub(super) received: Option<(i64, i64)>,
    /// A line quotes it or a stamp is on it.
    pub(super) used: bool,
    /// The tree has this root at this size.
    pub(super) reached: bool,
}

/// A line of `heads.jsonl`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OlderHead {
    root: Digest,
    size: u64,
}

pub(super) struct Log {
    pub(super) number: usize,
    pub(super) rows_name: String,
    pub(super) origin: String,
    pub(super) newest: Option<Head>,
    pub(super) heads: Heads,
    pub(super) edge: Edge,
    pub(super) last_block: Option<(u64, u64)>,
    pub(super) last_received: Option<(i64, i64)>,
    pub(super) close: Option<Close>,
}

impl Log {
    /// Whether its newest head here is over fewer leaves.
    pub(super) fn ends_before(&self, size: u64) -> bool {
        self.newest.as_ref().is_none_or(|head| head.size < size)
    }

    /// Hashes a row into the tree.
    pub(super) fn push(&mut self, row: &Row, number: u64, faults: &mut Faults) {
        let at = self.edge.size();
        self.meet_older_head(at);
        let mut fault = |kind, says: &str| faults.add(kind, &self.rows_name, number, says);
        if row.index() != at {
            let says = format!("leaf {} stands where leaf {at} should", row.index());
            return fault(FaultKind::Leaf, &says);
        }
        if self.close.is_some() {
            fault(FaultKind::Leaf, "the log was closed before this row");
        }
        match row {
            Row::Leaf(leaf, hash) => {
                self.edge.push(*hash);
                self.last_block = None;
                let received = leaf.received();
                if self.last_received.is_some_and(|(before, _)| received.0 < before) {
                    fault(FaultKind::Time, "it was received before the leaf above it");
                }
                self.last_received = Some(received);
            }
            Row::Others(others) => {
                if let Some(says) = self.block_fault(others) {
                    fault(FaultKind::Leaf, says);
                }
                self.last_block = Some((others.i, others.n));
                if self.edge.push_node(others.n.trailing_zeros(), others.h).is_err() {
                    fault(FaultKind::Leaf, "`n` is not a power of two that divides `i`");
                }
            }
        }
    }

    /// At the size of an older head the tree must have that head's root.
    fn meet_older_head(&mut self, size: u64) {
        let received = self.last_received;
        if let Some(head) = self.heads.get_mut(&size) {
            head.received = received;
            head.reached = head.root == self.edge.root();
        }
    }

    /// Blocks are as large as they can be, so that a log has one form.
    fn block_fault(&self, others: &Others) -> Option<&'static str> {
        let end = others.i.checked_add(others.n)?;
        if end > others.i + 1 && self.heads.range(others.i + 1..end).next().is_some() {
            return Some("the block runs over the end of a head");
        }
        let (i, n) = self.last_block?;
        let pair = n == others.n && (i / n).is_multiple_of(2) && i + n == others.i;
        (pair && !self.heads.contains_key(&others.i))
            .then_some("two blocks stand where one would do")
    }
}

/// Reads what a log says of itself, and checks its signatures.
pub(super) fn open<S: Source + ?Sized, W: Workers>(
    case: &mut Case<'_, S>,
    number: usize,
    how: &How<'_, W>,
    judged: &mut Judged,
) -> io::Result<Log> {
    let name = |file: &str| names::log(number, file);
    let mut log = Log {
        number,
        rows_name: name("log.jsonl"),
        origin: String::new(),
        newest: None,
        heads: Heads::new(),
        edge: Edge::new(),
        last_block: None,
        last_received: None,
        close: None,
    };
    let vkey = read_vkey(case, &name("log.vkey"))?;
    let Some(vkey) = vkey else { return Ok(log) };
    judged.keys.push(vkey.to_string());
    log.origin = vkey.name().to_owned();
    if how.log_keys.is_empty() {
        judged.keys_on_trust.push(vkey.to_string());
    } else if !how.log_keys.contains(&vkey) {
        let says = "this is not one of the keys that were given: another log";
        case.faults.add(FaultKind::Head, &name("log.vkey"), None, says);
    }
    log.newest = read_head(case, &name("head.note"), &vkey)?;
    read_older(case, &mut log, &name("heads.jsonl"))?;
    if let Some(head) = &log.newest {
        let newest =
            HeadAt { root: head.root, line: None, received: None, used: true, reached: false };
        log.heads.insert(head.size, newest);
    }
    read_stamps(case, &mut log, &vkey, judged)?;
    Ok(log)
}

fn read_vkey<S: Source + ?Sized>(case: &mut Case<'_, S>, name: &str) -> io::Result<Option<Vkey>> {
    let Some(text) = case.files.text(name, &mut case.faults)? else { return Ok(None) };
    let vkey = text.strip_suffix('\n').and_then(|line| line.parse().ok());
    if vkey.is_none() {
        let says = "not a verifier key on one line: `name+id+base64`";
        case.faults.add(FaultKind::FileForm, name, None, says);
    }
    Ok(vkey)
}

fn read_head<S: Source + ?Sized>(
    case: &mut Case<'_, S>,
    name: &str,
    vkey: &Vkey,
) -> io::Result<Option<Head>> {
    let Some(text) = case.files.text(name, &mut case.faults)? else { return Ok(None) };
    let keys = [vkey.clone()];
    match SignedHead::parse(&text).and_then(|signed| signed.verify(&keys)) {
        Ok(head) => Ok(Some((*head).clone())),
        Err(fault) => {
            case.faults.add(FaultKind::Head, name, None, fault.to_string());
            Ok(None)
        }
    }
}

fn read_older<S: Source + ?Sized>(
    case: &mut Case<'_, S>,
    log: &mut Log,
    name: &str,
) -> io::Result<()> {
    for (line, bytes) in case.files.lines(name, &mut case.faults)? {
        match canonical_row::<OlderHead>(&bytes) {
            Ok(head) => {
                let after = log.heads.last_key_value().map_or(0, |(size, _)| *size);
                let end = log.newest.as_ref().map_or(u64::MAX, |newest| newest.size);
                if head.size <= after || head.size >= end {
                    let says = "heads stand in order of size, each once, below the newest";
                    case.faults.add(FaultKind::OlderHead, name, line, says);
                    continue;
                }
                let older = HeadAt {
                    root: head.root,
                    line: Some(line),
                    received: None,
                    used: false,
                    reached: false,
                };
                log.heads.insert(head.size, older);
            }
            Err(says) => case.faults.add(FaultKind::FileForm, name, line, says),
        }
    }
    Ok(())
}

/// A stamp is on the text of a head of this log. Who signed the stamp is for `openssl` to say.
fn read_stamps<S: Source + ?Sized>(
    case: &mut Case<'_, S>,
    log: &mut Log,
    vkey: &Vkey,
    judged: &mut Judged,
) -> io::Result<()> {
    let stamps: Vec<(u64, String)> = case
        .files
        .names()
        .filter_map(|name| {
            let (number, file) = names::log_file(name)?;
            let (size, ending) = names::stamp(file)?;
            (number == log.number && ending == "note").then(|| (size, name.to_owned()))
        })
        .collect();
    for (size, note) in stamps {
        let text = case.files.bytes(&note)?.unwrap_or_default();
        let Some(head) = read_head(case, &note, vkey)? else { continue };
        let known = log.heads.get_mut(&size).filter(|known| known.root == head.root);
        match known {
            Some(known) if head.size == size => known.used = true,
            _ => {
                let says = "the stamped head is none of those in heads.jsonl or head.note";
                case.faults.add(FaultKind::OlderHead, &note, None, says);
            }
        }
        let tsr = note.replace(".note", ".tsr");
        let stamp = case.files.bytes(&tsr)?.unwrap_or_default();
        // OCTET STRING of 32 bytes: the digest that the authority stamped.
        let stamped = [&[0x04, 0x20], Digest::of(&text).0.as_slice()].concat();
        if stamp.windows(stamped.len()).any(|window| window == stamped) {
            judged.stamps += 1;
        } else {
            let says = "the time stamp is not on the head beside it";
            case.faults.add(FaultKind::Stamp, &tsr, None, says);
        }
    }
    Ok(())
}

/// A log must be the one that the log before it named when it was closed.
pub(super) fn succeed(before: Option<&Log>, log: &Log, judged: &mut Judged, faults: &mut Faults) {
    let Some(before) = before else { return };
    match &before.close {
        Some(close) if judged.keys.last() != Some(&close.vkey.to_string()) => {
            let says = format!("the log before it named {} as the next one", close.vkey);
            faults.add(FaultKind::Succession, &names::log(log.number, "log.vkey"), None, says);
        }
        Some(_) => {
            // Named by a log that was closed under its own key: nothing to take on trust.
            judged.keys_on_trust.retain(|key| Some(key) != judged.keys.last());
        }
        None => judged.open.push(format!(
            "whether {} is the log that followed {}: its closing leaf is not here",
            log.origin, before.origin
        )),
    }
}

pub(super) fn check_root(log: &mut Log, faults: &mut Faults) {
    log.meet_older_head(log.edge.size());
    let Some(head) = &log.newest else { return };
    let name = &log.rows_name;
    if log.edge.size() != head.size {
        let says = format!("it has {} leaves, its head {}", log.edge.size(), head.size);
        faults.add(FaultKind::Root, name, None, says);
    } else if log.edge.root() != head.root {
        let says =
            "it does not lead to the root of its head: a leaf was changed, added or left out";
        faults.add(FaultKind::Root, name, None, says);
    }
}

pub(super) fn check_older(log: &Log, faults: &mut Faults) {
    let name = names::log(log.number, "heads.jsonl");
    for head in log.heads.values() {
        let Some(line) = head.line else { continue };
        if !head.reached {
            let says = "the log never had this root at this size";
            faults.add(FaultKind::OlderHead, &name, line, says);
        } else if !head.used {
            let says = "no line quotes this head and no stamp is on it";
            faults.add(FaultKind::OlderHead, &name, line, says);
        }
    }
}
