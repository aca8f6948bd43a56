//! How a device holds its private key.

use serde::{Deserialize, Serialize};

/// How a device holds its private key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum KeyKept {
    /// A handle that the browser never shows.
    Webcrypto,
    /// In the program, wrapped by a browser key.
    Wrapped,
    /// In the program, unwrapped.
    Soft,
    /// In a file of the server.
    Server,
}

impl KeyKept {
    /// All of them, in the order in which they are shown.
    pub const ALL: [KeyKept; 4] =
        [KeyKept::Webcrypto, KeyKept::Wrapped, KeyKept::Soft, KeyKept::Server];
}
