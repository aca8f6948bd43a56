//! What is said: one request, one reply.

use ledger::{
    DeviceId, Digest, HeadRef, LineFault, LineId, PublicKey, Signature, SignedLine, Verified,
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
    /// The signed note of the head that every proof below leads to.
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
    /// From the leaf to the root of the reply's head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof: Option<Vec<Digest>>,
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
    /// From the leaf to the root of the reply's head.
    pub proof: Vec<Digest>,
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
    /// Packs a signed line; `private` are the canonical bytes of its private line.
    pub fn of(signed: &SignedLine, private: Option<String>) -> SentLine {
        let line = String::from_utf8(signed.bytes.clone()).expect("canonical bytes are UTF-8");
        SentLine { line, sig: signed.signature, private }
    }
}
