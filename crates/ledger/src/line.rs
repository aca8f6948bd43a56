//! What a device signs: one canonical line, linked to the line before it.

use crate::canonical::{self, Fault};
use crate::digest::{DeviceId, Digest, LineId};
use crate::ids::{PersonId, WatchId};
use crate::key::{DeviceKey, Signature};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// The version of the line format that this code writes.
pub const VERSION: u64 = 1;

/// One statement, as the device signed it. Field names are those of `docs/spec/log.md` section 1.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Format version, [`VERSION`].
    pub v: u64,
    /// What is stated; `record` knows the kinds, this crate does not.
    pub kind: String,
    /// The device that signed.
    pub dev: DeviceId,
    /// The watch that it belongs to.
    pub watch: WatchId,
    /// 0, 1, 2 … in this device's chain for this watch.
    pub seq: u64,
    /// The line before in that chain; zeros at `seq` 0.
    pub prev: LineId,
    /// Who stated it.
    pub who: PersonId,
    /// How that person was known.
    pub auth: Auth,
    /// The device's clocks when it was written.
    pub clk: Clk,
    /// The newest head that this device had verified: the line is not older than that head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub head: Option<HeadRef>,
    /// Build id of the program that wrote it.
    pub app: String,
    /// Codes, numbers, ids, times and digests; never a word that a person typed.
    pub body: Map<String, Value>,
    /// Digest of the private line, if there is one.
    #[serde(rename = "priv", default, skip_serializing_if = "Option::is_none")]
    pub private: Option<Digest>,
}

/// How the person was known to the device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Auth {
    /// By a PIN typed on the device.
    Pin,
    /// By a passkey.
    Passkey,
    /// Only by holding the device (or being the server).
    Device,
}

/// The device's clocks at the moment of writing (`docs/spec/log.md` section 3).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clk {
    /// Wall clock, ms since 1970-01-01 UTC, uncorrected.
    pub wall: i64,
    /// Monotonic clock, ms since the page or process started.
    pub mono: i64,
    /// Random id of that start: `mono` compares only inside one `boot`.
    pub boot: String,
    /// Server time minus wall time when last measured, ms; absent until measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off: Option<i64>,
    /// Half-width of the error of `off`, ms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub err: Option<i64>,
    /// How long ago `off` was measured, ms on the monotonic clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age: Option<i64>,
    /// Local time minus UTC, minutes.
    pub tz: i64,
}

impl Clk {
    /// The time this line claims, ms UTC: the wall clock corrected by the measured offset.
    pub fn recorded_ms(&self) -> i64 {
        self.wall + self.off.unwrap_or(0)
    }

    /// Half-width of [`Clk::recorded_ms`], ms: the measured error grown by 100 ppm of its age.
    /// None if the offset was never measured.
    pub fn half_width_ms(&self) -> Option<i64> {
        Some(self.err? + self.age.unwrap_or(0) / 10_000)
    }
}

/// A head as a line quotes it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeadRef {
    /// Name of the log, `HOST/ORG/YEAR`.
    pub origin: String,
    /// Number of leaves.
    pub size: u64,
    /// Root over those leaves.
    pub root: Digest,
}

impl Line {
    /// The bytes to sign and to keep.
    pub fn to_bytes(&self) -> Result<Vec<u8>, Fault> {
        canonical::to_bytes(self)
    }

    /// Signs with a key held in software. Panics if the key is not the one that `dev` names,
    /// since such a line could never be verified.
    pub fn sign(&self, key: &DeviceKey) -> Result<SignedLine, Fault> {
        assert_eq!(self.dev, key.device(), "a line is signed by the device that it names");
        let bytes = self.to_bytes()?;
        let signature = key.sign(&bytes);
        Ok(SignedLine { bytes, signature })
    }
}

/// Bytes with their signature: what travels and is stored. Nothing is known of them until
/// [`Verified`](crate::Verified) says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedLine {
    /// The canonical bytes without a newline, exactly as signed.
    pub bytes: Vec<u8>,
    /// Ed25519 over exactly those bytes.
    pub signature: Signature,
}

impl SignedLine {
    /// The line's id.
    pub fn id(&self) -> LineId {
        LineId(Digest::of(&self.bytes))
    }
}
