//! A row of `log.jsonl`: a leaf that is shown, or a block of leaves that are not.

use ledger::{Digest, Leaf, canonical, merkle};
use serde::{Deserialize, Serialize};

/// One row, with the hash under which it stands in the tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Row {
    Leaf(Leaf, Digest),
    Others(Others),
}

/// Leaves of other watches: only the node over them, so that nothing of them is shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Others {
    /// The node over the leaves.
    pub h: Digest,
    /// The first leaf.
    pub i: u64,
    /// How many: a power of two that divides `i`.
    pub n: u64,
    /// Always `others`.
    pub t: OthersTag,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum OthersTag {
    #[serde(rename = "others")]
    Others,
}

impl Row {
    pub(crate) fn parse(bytes: &[u8]) -> Result<Row, String> {
        if bytes.ends_with(br#","t":"others"}"#) {
            let value = canonical::parse(bytes).map_err(|fault| fault.to_string())?;
            let others: Others =
                serde_json::from_value(value).map_err(|error| error.to_string())?;
            if !others.n.is_power_of_two() || !others.i.is_multiple_of(others.n) {
                return Err("`n` is not a power of two that divides `i`".to_owned());
            }
            return Ok(Row::Others(others));
        }
        let leaf = Leaf::parse(bytes).map_err(|fault| fault.to_string())?;
        Ok(Row::Leaf(leaf, merkle::leaf_hash(bytes)))
    }

    pub(crate) fn index(&self) -> u64 {
        match self {
            Row::Leaf(leaf, _) => leaf.index(),
            Row::Others(others) => others.i,
        }
    }
}

impl Others {
    pub(crate) fn new(i: u64, n: u64, h: Digest) -> Others {
        Others { h, i, n, t: OthersTag::Others }
    }
}

/// The largest block that may begin at `at` and ends no later than `end`.
pub(crate) fn largest_block(at: u64, end: u64) -> u64 {
    let aligned = if at == 0 { u64::MAX } else { 1 << at.trailing_zeros() };
    let fitting = 1 << (u64::BITS - 1 - (end - at).leading_zeros());
    aligned.min(fitting)
}
