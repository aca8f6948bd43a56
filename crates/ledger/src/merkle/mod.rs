//! The Merkle tree of RFC 6962 section 2.1 (the same as RFC 9162 section 2.1, with SHA-256):
//! a leaf is hashed as `SHA-256(00 ‖ bytes)`, a node as `SHA-256(01 ‖ left ‖ right)`, and a tree of n > 1
//! leaves is split at the largest power of two below n.
//!
//! Whoever judges is not whoever acts: [`Tree`] makes roots and proofs, [`check`] knows nothing of it.

pub mod check;
mod edge;
mod nodes;
mod tree;

pub use check::{ProofFault, consistency, inclusion};
pub use edge::Edge;
pub use nodes::Nodes;
pub use tree::Tree;

use crate::digest::Digest;
use sha2::Digest as _;

/// Hashes the bytes of a leaf.
pub fn leaf_hash(bytes: &[u8]) -> Digest {
    Digest(sha2::Sha256::new().chain_update([0]).chain_update(bytes).finalize().into())
}

/// Hashes two nodes into the one above them.
pub fn node_hash(left: &Digest, right: &Digest) -> Digest {
    Digest(
        sha2::Sha256::new()
            .chain_update([1])
            .chain_update(left.0)
            .chain_update(right.0)
            .finalize()
            .into(),
    )
}

/// The root of a tree without leaves: the hash of nothing.
pub fn empty_root() -> Digest {
    Digest::of(b"")
}

/// Where a tree of `size` > 1 leaves is split: the largest power of two below `size`.
fn split(size: u64) -> u64 {
    1 << (u64::BITS - 1 - (size - 1).leading_zeros())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The definition of RFC 6962 section 2.1, word for word and slow.
    pub(super) fn root_by_definition(leaves: &[Digest]) -> Digest {
        match leaves {
            [] => empty_root(),
            [one] => *one,
            many => {
                let (left, right) = many.split_at(split(many.len() as u64) as usize);
                node_hash(&root_by_definition(left), &root_by_definition(right))
            }
        }
    }

    pub(super) fn leaves(count: u64) -> Vec<Digest> {
        (0..count).map(|i| leaf_hash(&i.to_be_bytes())).collect()
    }

    #[test]
    fn splits_below_the_size() {
        let expected = [(2, 1), (3, 2), (4, 2), (5, 4), (8, 4), (9, 8), (u64::MAX, 1 << 63)];
        for (size, at) in expected {
            assert_eq!(split(size), at, "{size}");
        }
    }

    /// Every tree up to 40 leaves: roots at every size, and every proof is accepted by the checker
    /// and by no other index, size or leaf.
    #[test]
    fn proofs_of_all_small_trees_hold() {
        let all = leaves(40);
        let mut tree = Tree::new();
        let mut edge = Edge::new();
        for size in 0..=all.len() as u64 {
            let root = root_by_definition(&all[..size as usize]);
            assert_eq!(tree.root(), root);
            assert_eq!(edge.root(), root);
            if let Some(leaf) = all.get(size as usize) {
                assert_eq!(tree.push(*leaf), size);
                edge.push(*leaf);
            }
        }
        for size in 1..=40u64 {
            let root = root_by_definition(&all[..size as usize]);
            assert_eq!(tree.root_at(size), Some(root));
            for index in 0..size {
                let path = tree.inclusion(index, size).unwrap();
                let leaf = &all[index as usize];
                assert_eq!(inclusion(leaf, index, size, &path, &root), Ok(()));
                for other in (0..size).filter(|other| *other != index) {
                    assert!(inclusion(leaf, other, size, &path, &root).is_err());
                }
            }
            for old in 1..=size {
                let old_root = root_by_definition(&all[..old as usize]);
                let path = tree.consistency(old, size).unwrap();
                assert_eq!(consistency(old, &old_root, size, &root, &path), Ok(()));
                if old < size {
                    assert!(consistency(old, &root, size, &root, &path).is_err());
                }
            }
        }
    }

    #[test]
    fn what_is_outside_the_tree_has_no_proof() {
        let mut tree = Tree::new();
        assert_eq!(tree.inclusion(0, 0), None);
        tree.push(leaf_hash(b"one"));
        assert_eq!(tree.inclusion(1, 1), None);
        assert_eq!(tree.inclusion(0, 2), None);
        assert_eq!(tree.consistency(0, 1), None);
        assert_eq!(tree.consistency(1, 2), None);
        assert_eq!(tree.root_at(2), None);
    }
}
