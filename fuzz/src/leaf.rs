//! A leaf of the log.

use crate::{Target, seeds};
use ledger::Leaf;

pub(crate) const TARGET: Target = Target {
    name: "leaf",
    says: "what reads as a leaf is written again to the same bytes",
    reads,
    seeds: || seeds::vectors("leaves.jsonl", "leaf"),
    longest: 4096,
};

fn reads(bytes: &[u8]) {
    let Ok(leaf) = Leaf::parse(bytes) else { return };
    assert_eq!(leaf.to_bytes(), bytes, "a leaf has one form");
    assert!(leaf.received().1 >= 0, "an error has a width");
}
