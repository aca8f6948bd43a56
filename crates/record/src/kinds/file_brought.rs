//! `file_brought`: Somebody brought in the file of a phone that could not send.

use ledger::{DeviceId, Digest, PersonId};
use serde::{Deserialize, Serialize};

/// Somebody brought in the file of a phone that could not send. The lines in it are entries of their own; this says
/// by whose hand they came.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileBrought {
    /// The SHA-256 of the file as it came.
    pub file: Digest,
    /// The devices that wrote the lines of this watch which the log has from it, at most 50.
    pub devices: Vec<DeviceId>,
    /// Lines of this watch that the log took in.
    pub taken: u32,
    /// Lines of this watch that it had already.
    pub before: u32,
    /// Lines of this watch that it did not take, and rows that read as no line.
    pub left: u32,
    /// Who brought it.
    pub by: PersonId,
}
