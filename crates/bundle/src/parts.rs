//! What a bundle is made of.

use ledger::{DeviceId, PublicKey, SignedLine, Vkey, WatchId, merkle::Nodes};

/// Everything about one watch. The order inside the lists does not matter: a bundle has one order.
///
/// A bundle verifies only if it is whole: every line that the newest `sealed` line counts, every
/// blob that a line names and that was not erased, and for every device the `enrolled` line in which
/// the server let it in.
#[derive(Debug, Clone)]
pub struct BundleParts<'a> {
    /// The watch.
    pub watch: WatchId,
    /// The device that is the server.
    pub server: DeviceId,
    /// Every line of the watch, of all devices.
    pub lines: Vec<KeptLine>,
    /// Lines of the organisation's own chains that are needed to trust them: `enrolled`, `rekeyed`
    /// and `revoked` of the devices concerned.
    pub org_lines: Vec<SignedLine>,
    /// The public key of every device that signed a line above.
    pub keys: Vec<PublicKey>,
    /// The logs that hold the lines above, oldest first.
    pub logs: Vec<LogParts<'a>>,
    /// Every blob that a line names.
    pub blobs: Vec<Vec<u8>>,
}

/// A line with its private line, unless that was erased.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptLine {
    /// The line.
    pub signed: SignedLine,
    /// The canonical bytes of the private line.
    pub private: Option<Vec<u8>>,
}

/// One log, as far as this watch is concerned.
#[derive(Debug, Clone)]
pub struct LogParts<'a> {
    /// Its verifier key.
    pub vkey: Vkey,
    /// The text of its newest signed head; the tree must have at least that many leaves.
    pub head: String,
    /// Its tree: at least the nodes between the leaves to show, and those under the head and under
    /// every older head that a line quotes.
    pub tree: &'a dyn Nodes,
    /// The leaf lines to show: those of the lines above, of `tick` lines if the time before which a
    /// line cannot have been written is to be shown to the minute, and the closing leaf. Never one
    /// of another watch.
    pub leaves: Vec<Vec<u8>>,
    /// Outside time stamps.
    pub stamps: Vec<Stamp>,
}

/// A signed head and the time stamp that an outside authority put on its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// The signed note of the head.
    pub note: String,
    /// The RFC 3161 response over exactly that text.
    pub tsr: Vec<u8>,
}
