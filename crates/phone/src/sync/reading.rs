//! What a phone may believe of a reply: a head signed by the pinned key that only grew, lines and
//! receipts that lead to it. A reply is believed as a whole or not at all.

use super::message::{CutLog, GivenLine, Is, KnownKey, LineFrom, Named, Outcome, Reply};
use ledger::head::{HeadFault, SignedHead, VerifiedHead, Vkey};
use ledger::leaf::{Entry as EntryLeaf, Leaf};
use ledger::merkle::{self, ProofFault};
use ledger::order::Map;
use ledger::{DeviceId, HeadRef, Line, LineId, Private, PublicKey, Verified, WatchId};
use std::fmt;

/// A reply of which everything was checked that can be checked.
#[derive(Debug, Clone)]
pub struct ReadReply {
    /// The newest head of the log that takes lines in.
    pub head: VerifiedHead,
    /// The key of that log, if the one that was pinned vouched for it: pinned from now on.
    pub next_key: Option<Vkey>,
    /// Logs that lost their end.
    pub cut: Vec<CutLog>,
    /// What became of the lines sent.
    pub outcomes: Vec<ReadOutcome>,
    /// Other devices' lines.
    pub lines: Vec<ReadLine>,
    /// Keys that came with them.
    pub keys: Vec<KnownKey>,
    /// Lines of devices whose key is not known: asked for again once it is.
    pub unknown_devices: Vec<DeviceId>,
    /// The watches this person may see now.
    pub watches: Vec<WatchId>,
    /// Who else may take over on this phone.
    pub people: Vec<Named>,
    /// Whether to ask again at once.
    pub more: bool,
}

/// What became of a line, with the proven leaf if it is in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadOutcome {
    /// The line.
    pub id: LineId,
    /// What became of it.
    pub is: Is,
    /// Its leaf, proven to be in the log.
    pub leaf: Option<EntryLeaf>,
    /// First and last missing `seq`.
    pub missing: Option<(u64, u64)>,
    /// The server's reason.
    pub says: Option<String>,
}

/// Another device's line, proven to be in the log.
#[derive(Debug, Clone)]
pub struct ReadLine {
    /// The line.
    pub line: Verified<Line>,
    /// Its leaf.
    pub leaf: EntryLeaf,
    /// The log that the leaf is in.
    pub log: String,
    /// Its private line, if given and fitting.
    pub private: Option<Private>,
}

/// Why a reply is not believed. Nothing of it is used; the phone keeps what it holds and asks again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReplyFault {
    /// The server speaks a version that this phone does not know.
    Version {
        /// The version found.
        found: u64,
    },
    /// The head cannot be trusted.
    Head(HeadFault),
    /// The head is not a continuation of the one held: the log was cut or replaced.
    NotTheSameLog {
        /// Size held.
        held: u64,
        /// Size given.
        given: u64,
    },
    /// A receipt or a line does not lead to the head.
    Proof {
        /// The line.
        id: LineId,
        /// What is wrong.
        fault: ProofFault,
    },
    /// A leaf is missing, not a leaf, or that of another line.
    Leaf {
        /// The line.
        id: LineId,
    },
    /// A line is not that of the key given with it.
    Line {
        /// The line.
        id: LineId,
    },
}

impl fmt::Display for ReplyFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReplyFault::Version { found } => write!(f, "the server speaks version {found}"),
            ReplyFault::Head(fault) => write!(f, "head: {fault}"),
            ReplyFault::NotTheSameLog { held, given } => {
                write!(f, "the log of {given} leaves does not continue the one of {held}")
            }
            ReplyFault::Proof { id, fault } => write!(f, "line {id}: {fault}"),
            ReplyFault::Leaf { id } => write!(f, "line {id}: its leaf is missing or another's"),
            ReplyFault::Line { id } => write!(f, "line {id} does not verify"),
        }
    }
}

impl std::error::Error for ReplyFault {}

impl Reply {
    /// Checks everything. `held` is the head quoted in the request, `pinned` the log's keys, `known`
    /// the device keys from earlier replies; `own` gives the phone's own lines that were sent.
    pub fn read<'a>(
        &self,
        held: Option<&HeadRef>,
        pinned: &[Vkey],
        known: &Map<DeviceId, PublicKey>,
        own: impl Fn(LineId) -> Option<&'a Verified<Line>>,
    ) -> Result<ReadReply, ReplyFault> {
        if self.v != super::VERSION {
            return Err(ReplyFault::Version { found: self.v });
        }
        let (head, next_key) = self.believed_head(pinned).map_err(ReplyFault::Head)?;
        self.grew(held, &head)?;
        let mut heads = self.earlier_heads(pinned, next_key.as_ref()).map_err(ReplyFault::Head)?;
        heads.push(head.clone());
        let mut keys = known.clone();
        keys.extend(self.keys.iter().map(|known| (known.dev, known.key)));
        let mut read = ReadReply {
            outcomes: Vec::new(),
            lines: Vec::new(),
            keys: self.keys.clone(),
            unknown_devices: Vec::new(),
            watches: self.watches.clone(),
            people: self.people.clone(),
            more: self.more,
            cut: self.logs.cut.clone(),
            next_key,
            head,
        };
        for outcome in &self.outcomes {
            if let Some(outcome) = outcome.read(&heads, own(outcome.id))? {
                read.outcomes.push(outcome);
            }
        }
        for given in &self.lines {
            match given.read(&heads, &keys)? {
                Ok(line) => read.lines.push(line),
                Err(device) => read.unknown_devices.push(device),
            }
        }
        Ok(read)
    }

    /// The head, signed by the pinned log; or by the log that goes on after it, for which the pinned
    /// one vouches with its own signature beside.
    fn believed_head(&self, pinned: &[Vkey]) -> Result<(VerifiedHead, Option<Vkey>), HeadFault> {
        let signed = SignedHead::parse(&self.head)?;
        match self.logs.key.as_ref().filter(|key| !pinned.contains(key)) {
            None => Ok((signed.verify(pinned)?, None)),
            Some(next) => {
                signed.vouched(pinned)?;
                Ok((signed.verify(std::slice::from_ref(next))?, Some(next.clone())))
            }
        }
    }

    /// The heads of earlier logs, for which a log that is believed vouches.
    fn earlier_heads(
        &self,
        pinned: &[Vkey],
        next: Option<&Vkey>,
    ) -> Result<Vec<VerifiedHead>, HeadFault> {
        let believed: Vec<Vkey> = pinned.iter().chain(next).cloned().collect();
        let notes = self.logs.earlier.iter();
        notes.map(|note| SignedHead::parse(note)?.vouched(&believed)).collect()
    }

    /// A log of the same name must contain the log held; one of another name is the log that goes on,
    /// for which the pinned key has vouched.
    fn grew(&self, held: Option<&HeadRef>, head: &VerifiedHead) -> Result<(), ReplyFault> {
        let Some(held) = held.filter(|held| held.origin == head.origin && held.size > 0) else {
            return Ok(());
        };
        let fault = ReplyFault::NotTheSameLog { held: held.size, given: head.size };
        if held.size == head.size {
            return if held.root == head.root { Ok(()) } else { Err(fault) };
        }
        merkle::consistency(held.size, &held.root, head.size, &head.root, &self.consistency)
            .map_err(|_| fault)
    }
}

impl Outcome {
    /// None for a line that this phone does not hold: an answer to somebody else's question.
    fn read(
        &self,
        heads: &[VerifiedHead],
        own: Option<&Verified<Line>>,
    ) -> Result<Option<ReadOutcome>, ReplyFault> {
        let Some(line) = own else { return Ok(None) };
        let head = head_of(heads, self.log.as_deref(), self.id)?;
        let leaf = match (self.is, &self.leaf, &self.proof) {
            (Is::Received | Is::Again, Some(leaf), Some(proof)) => {
                Some(proven(line, leaf, proof, head)?)
            }
            (Is::Received | Is::Again, ..) => return Err(ReplyFault::Leaf { id: self.id }),
            _ => None,
        };
        let says = self.says.clone();
        Ok(Some(ReadOutcome { id: self.id, is: self.is, leaf, missing: self.missing, says }))
    }
}

impl GivenLine {
    /// The inner error names a device whose key is not known yet: no fault of the reply.
    fn read(
        &self,
        heads: &[VerifiedHead],
        keys: &Map<DeviceId, PublicKey>,
    ) -> Result<Result<ReadLine, DeviceId>, ReplyFault> {
        let id = self.signed().id();
        let head = head_of(heads, self.log.as_deref(), id)?;
        let Ok(Leaf::Entry(leaf)) = Leaf::parse(self.leaf.as_bytes()) else {
            return Err(ReplyFault::Leaf { id });
        };
        let Some(key) = keys.get(&leaf.dev) else { return Ok(Err(leaf.dev)) };
        let line = self.verify(key).map_err(|_| ReplyFault::Line { id })?;
        let leaf = proven(&line, &self.leaf, &self.proof, head)?;
        let private = self
            .private
            .as_ref()
            .filter(|private| line.private == Some(ledger::Digest::of(private.as_bytes())));
        let private = private.and_then(|private| Private::parse(private.as_bytes()).ok());
        Ok(Ok(ReadLine { line, leaf, log: head.origin.clone(), private }))
    }
}

/// The head that a proof leads to: the last one, unless an earlier log is named.
fn head_of<'h>(
    heads: &'h [VerifiedHead],
    log: Option<&str>,
    id: LineId,
) -> Result<&'h VerifiedHead, ReplyFault> {
    let head = heads.iter().rev().find(|head| log.is_none_or(|log| log == head.origin));
    head.ok_or(ReplyFault::Leaf { id })
}

fn proven(
    line: &Verified<Line>,
    leaf: &str,
    proof: &[ledger::Digest],
    head: &VerifiedHead,
) -> Result<EntryLeaf, ReplyFault> {
    let id = line.id();
    let parsed = Leaf::parse(leaf.as_bytes()).map_err(|_| ReplyFault::Leaf { id })?;
    merkle::inclusion(&parsed.hash(), parsed.index(), head.size, proof, &head.root)
        .map_err(|fault| ReplyFault::Proof { id, fault })?;
    match parsed {
        Leaf::Entry(entry) if entry.seals(line) => Ok(entry),
        _ => Err(ReplyFault::Leaf { id }),
    }
}
