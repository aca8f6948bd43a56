//! What is said: one request, one reply.

use ledger::{
    DeviceId, Digest, HeadRef, LineFault, LineId, PublicKey, Signature, SignedLine, Verified, Vkey,
    WatchId,
};
use record::Role;
use serde::{Deserialize, Serialize};

/// Version of the conversation. A server goes on answering every version it ever answered.
pub const VERSION: u64 = 1;

/// What the phone says: `POST /sync`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Request {
    /// [`VERSION`].
    pub v: u64,
    /// The phone's wall clock when it sent this, ms.
    pub t0: i64,
    /// The newest head that the phone has verified; the reply proves that the log only grew since.
    #[serde(default)]
    pub head: Option<HeadRef>,
    /// Lines that wait for a receipt, in any order.
    #[serde(default)]
    pub lines: Vec<SentLine>,
    /// The watches it wants news of.
    #[serde(default)]
    pub watches: Vec<WatchFrom>,
}

/// A line on its way up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SentLine {
    /// The canonical bytes, which are UTF-8.
    pub line: String,
    /// The signature over them.
    pub sig: Signature,
    /// The canonical bytes of the private line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub private: Option<String>,
}

/// From where on the phone wants the lines of a watch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WatchFrom {
    /// The watch.
    pub watch: WatchId,
    /// The size of the log up to which the phone already has this watch.
    pub from: u64,
    /// The log that `from` counts in; absent: the one of the head quoted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub log: Option<String>,
}

/// What the server answers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reply {
    /// [`VERSION`].
    pub v: u64,
    /// The server's clock when the request came in, ms.
    pub t1: i64,
    /// The server's clock when the reply went out, ms.
    pub t2: i64,
    /// The signed note of the newest head of the log that takes lines in.
    pub head: String,
    /// From the phone's older head to that head; empty if there is none or it is the same.
    #[serde(default)]
    pub consistency: Vec<Digest>,
    /// One for each line sent.
    #[serde(default)]
    pub outcomes: Vec<Outcome>,
    /// Other devices' lines of the watches asked for, in the order of the log.
    #[serde(default)]
    pub lines: Vec<GivenLine>,
    /// The keys that those lines are signed with.
    #[serde(default)]
    pub keys: Vec<KnownKey>,
    /// The watches this person may see now, open ones first; a watch opened since is found here.
    #[serde(default)]
    pub watches: Vec<WatchId>,
    /// Who else may take over on this phone.
    #[serde(default)]
    pub people: Vec<Named>,
    /// Whether there is more than fitted: ask again at once, from the last leaf given.
    #[serde(default)]
    pub more: bool,
    /// What is to be said of the house's other logs.
    #[serde(default, skip_serializing_if = "OtherLogs::is_empty")]
    pub logs: OtherLogs,
}

/// A house has a log for each year: how they hang together for a phone that knows one of them.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OtherLogs {
    /// Verifier key of the reply's head, if the phone quoted a head of another log or none. The head
    /// then bears the signature of that other log too, which so vouches for the one that goes on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<Vkey>,
    /// The newest heads of earlier logs that proofs below lead to, each also signed by the log of the
    /// reply's head.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<String>,
    /// Logs that lost their end when the server was restored from a copy.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cut: Vec<CutLog>,
}

/// A log that the server has only up to a size, although more of it was signed. What the phone holds
/// of the rest it sends again, whoever wrote it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutLog {
    /// Name of the log.
    pub origin: String,
    /// As many leaves are left of it.
    pub size: u64,
}

impl OtherLogs {
    /// Whether there is nothing to say.
    pub fn is_empty(&self) -> bool {
        *self == OtherLogs::default()
    }
}

/// What became of one line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Outcome {
    /// The line.
    pub id: LineId,
    /// What became of it.
    pub is: Is,
    /// Its leaf, if it is in the log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leaf: Option<String>,
    /// From the leaf to the root of the head of its log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof: Option<Vec<Digest>>,
    /// The log that the leaf is in, if not that of the reply's head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub log: Option<String>,
    /// First and last `seq` missing before it, if it is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub missing: Option<(u64, u64)>,
    /// Why, in words for a log file; the phone shows its own sentence.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
}

/// What became of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Is {
    /// In the log now.
    Received,
    /// In the log since an earlier request: the old receipt.
    Again,
    /// Kept aside until the lines before it come.
    Held,
    /// Another line already has its place in the chain: both are kept aside, people are told.
    Forked,
    /// Not a line that can be trusted; kept aside, so that nothing is thrown away.
    Refused,
}

/// Another device's line on its way down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct GivenLine {
    /// The canonical bytes.
    pub line: String,
    /// The signature over them.
    pub sig: Signature,
    /// The private line, if this person may read it and it was not erased.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub private: Option<String>,
    /// Its leaf.
    pub leaf: String,
    /// From the leaf to the root of the head of its log.
    pub proof: Vec<Digest>,
    /// The log that the leaf is in, if not that of the reply's head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub log: Option<String>,
}

/// A device's public key with what its enrolment says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KnownKey {
    /// The device.
    pub dev: DeviceId,
    /// Its key.
    pub key: PublicKey,
    /// What its person may do.
    pub role: Role,
    /// Whose it is; absent for the server and for shared phones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<ledger::PersonId>,
    /// What to call that person on a screen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
}

/// A person with what to call them on a screen. The name stays out of the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Named {
    /// The person.
    pub id: ledger::PersonId,
    /// The name.
    pub name: String,
}

/// Text and signature of a line in either direction.
pub trait LineFrom {
    /// The line's bytes with their signature, unchecked.
    fn signed(&self) -> SignedLine;

    /// Checks the line with a key.
    fn verify(&self, key: &PublicKey) -> Result<Verified<ledger::Line>, LineFault> {
        Verified::check(self.signed(), key)
    }
}

impl LineFrom for SentLine {
    fn signed(&self) -> SignedLine {
        SignedLine { bytes: self.line.clone().into_bytes(), signature: self.sig }
    }
}

impl LineFrom for GivenLine {
    fn signed(&self) -> SignedLine {
        SignedLine { bytes: self.line.clone().into_bytes(), signature: self.sig }
    }
}

impl SentLine {
    /// The device that the line says it is of; nothing is checked.
    pub fn stated_device(&self) -> Option<DeviceId> {
        #[derive(Deserialize)]
        struct Stated {
            dev: DeviceId,
        }
        ledger::json::parse::<Stated>(&self.line).ok().map(|stated| stated.dev)
    }

    /// Packs a signed line; `private` are the canonical bytes of its private line.
    pub fn of(signed: &SignedLine, private: Option<String>) -> SentLine {
        let line = String::from_utf8(signed.bytes.clone()).expect("canonical bytes are UTF-8");
        SentLine { line, sig: signed.signature, private }
    }
}
