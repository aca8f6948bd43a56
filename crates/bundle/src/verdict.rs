//! What verifying a bundle comes to.

use ledger::{DeviceId, Digest, WatchId};
use serde::Serialize;

/// The result, in the form that `rattlewatch verify --json` prints.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// Whether everything holds.
    pub ok: bool,
    /// Which watch.
    pub watch: Option<WatchId>,
    /// Which device is the server.
    pub server: Option<DeviceId>,
    /// The keys of the logs, to be compared with ones that came another way.
    pub log_keys: Vec<String>,
    /// Lines that were checked and hold.
    pub lines: u64,
    /// Devices that wrote them.
    pub devices: u64,
    /// The newest head that was reached.
    pub head: Option<HeadSeen>,
    /// Everything that is wrong; after 200 only how many more.
    pub faults: Vec<Fault>,
    /// What no bundle can show, and what this one leaves open.
    pub cannot_know: Vec<String>,
}

/// A head.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HeadSeen {
    /// Name of the log.
    pub origin: String,
    /// Number of leaves.
    pub size: u64,
    /// Root over them.
    pub root: Digest,
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Which kind.
    pub kind: FaultKind,
    /// The file inside the bundle.
    pub file: String,
    /// The line in that file, counted from 1.
    pub line: Option<u64>,
    /// What is wrong, in plain words.
    pub says: String,
}

/// As many faults as are listed one by one.
pub(crate) const FAULTS_MAX: usize = 200;

/// The kinds of fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FaultKind {
    /// The container is not in the one form of a bundle.
    Archive,
    /// A file that every bundle has is missing.
    FileMissing,
    /// A file has no use in this bundle.
    FileExtra,
    /// A file is not in the form that its name asks for.
    FileForm,
    /// A file is not what the manifest or the archive says.
    Manifest,
    /// `README.md` or `verify.py` is not one that bundles are written with.
    Inside,
    /// A key is not its device's, or no line needs it.
    Key,
    /// A line is signed by a device without a key here.
    KeyMissing,
    /// A line is not canonical.
    Canonical,
    /// A line has not the fields of a line, or a body not those of its kind.
    Shape,
    /// A format version that this program does not know.
    Version,
    /// A line names another device or watch than the file it is in.
    OtherChain,
    /// A signature does not fit.
    Signature,
    /// Lines of a chain are missing, doubled or out of order.
    Gap,
    /// A line does not name the one before it.
    Link,
    /// The log received a line that is not here.
    LineMissing,
    /// A line is not the one that the log received.
    LineChanged,
    /// The log never received a line that is here.
    LeafMissing,
    /// A leaf says something else than its line.
    LeafOther,
    /// A row of the log is no leaf, or stands in the wrong place.
    Leaf,
    /// The time of receipt goes backwards.
    Time,
    /// A leaf belongs to another watch.
    ForeignLeaf,
    /// The head is not signed by the log.
    Head,
    /// The log does not lead to the root of its head.
    Root,
    /// An older head is not of this log, or not needed.
    OlderHead,
    /// A line quotes a head that the log never had.
    QuotedHead,
    /// A log is not the one that the log before it named.
    Succession,
    /// A device that nobody let in.
    NotEnrolled,
    /// A device that was no longer trusted.
    Revoked,
    /// No line of the server says how many lines there are.
    NotSealed,
    /// There are fewer or other lines than a seal says.
    Seal,
    /// A private line is missing and was not erased.
    PrivateMissing,
    /// A private line belongs to no line, or was changed.
    PrivateOther,
    /// Something that was erased is still here.
    Erased,
    /// A blob is missing and was not erased.
    BlobMissing,
    /// A blob is not the one that its name says.
    BlobChanged,
    /// No line names a blob.
    BlobExtra,
    /// A time stamp is not on the head beside it.
    Stamp,
    /// There are more faults than are listed.
    More,
}

/// Collects faults, never more than can be read.
#[derive(Debug, Default)]
pub(crate) struct Faults {
    list: Vec<Fault>,
    more: u64,
}

impl Faults {
    pub(crate) fn add(
        &mut self,
        kind: FaultKind,
        file: &str,
        line: impl Into<Option<u64>>,
        says: impl Into<String>,
    ) {
        if self.list.len() < FAULTS_MAX {
            let (file, line, says) = (file.to_owned(), line.into(), says.into());
            self.list.push(Fault { kind, file, line, says });
        } else {
            self.more += 1;
        }
    }

    pub(crate) fn into_list(mut self) -> Vec<Fault> {
        self.list.sort_by(|a, b| (&a.file, a.line, a.kind).cmp(&(&b.file, b.line, b.kind)));
        if self.more > 0 {
            let says = format!("{} more faults are not listed", self.more);
            self.list.push(Fault { kind: FaultKind::More, file: String::new(), line: None, says });
        }
        self.list
    }
}
