//! `sealed`: For each chain of the watch: how many lines it has and which is the last. Written by the server; the newest counts.

use ledger::{DeviceId, LineId};
use serde::{Deserialize, Serialize};

/// For each chain of the watch: how many lines it has and which is the last. Written by the server; the newest counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SealedChains {
    /// Every chain, ordered by device.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub chains: Vec<ChainEnd>,
}

/// The end of one chain.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ChainEnd {
    /// The device.
    pub dev: DeviceId,
    /// How many lines its chain has.
    pub count: u64,
    /// The last of them.
    pub last: LineId,
}
