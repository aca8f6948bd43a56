//! Checks proofs against roots (RFC 9162 sections 2.1.3.2 and 2.1.4.2).

use super::node_hash;
use crate::digest::Digest;
use std::fmt;

/// Why a proof proves nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProofFault {
    /// The index or the older size is not inside the tree.
    Outside,
    /// More or fewer hashes than a proof for these numbers has.
    Length,
    /// The hashes lead to another root.
    Root,
}

impl fmt::Display for ProofFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            ProofFault::Outside => "the proof speaks of a place outside the tree",
            ProofFault::Length => "the proof has the wrong number of hashes",
            ProofFault::Root => "the proof leads to another root",
        })
    }
}

impl std::error::Error for ProofFault {}

/// Whether `leaf` (a leaf hash) stands at `index` in the tree of `size` leaves with this `root`.
pub fn inclusion(
    leaf: &Digest,
    index: u64,
    size: u64,
    path: &[Digest],
    root: &Digest,
) -> Result<(), ProofFault> {
    if index >= size {
        return Err(ProofFault::Outside);
    }
    let (mut place, mut last) = (index, size - 1);
    let mut node = *leaf;
    for sibling in path {
        if last == 0 {
            return Err(ProofFault::Length);
        }
        if place % 2 == 1 || place == last {
            node = node_hash(sibling, &node);
            // The last node of a level may have no sibling on some levels: climb past them.
            while place.is_multiple_of(2) && place != 0 {
                place >>= 1;
                last >>= 1;
            }
        } else {
            node = node_hash(&node, sibling);
        }
        place >>= 1;
        last >>= 1;
    }
    match last {
        0 if node == *root => Ok(()),
        0 => Err(ProofFault::Root),
        _ => Err(ProofFault::Length),
    }
}

/// Whether the tree of `old_size` leaves with `old_root` is a beginning of the one of `new_size`
/// with `new_root`. An older size of 0 is refused: an empty tree is a beginning of everything, so
/// such a proof says nothing.
pub fn consistency(
    old_size: u64,
    old_root: &Digest,
    new_size: u64,
    new_root: &Digest,
    path: &[Digest],
) -> Result<(), ProofFault> {
    if old_size == 0 || old_size > new_size {
        return Err(ProofFault::Outside);
    }
    if old_size == new_size {
        return match (path.is_empty(), old_root == new_root) {
            (true, true) => Ok(()),
            (true, false) => Err(ProofFault::Root),
            (false, _) => Err(ProofFault::Length),
        };
    }
    let (first, rest) = match path {
        rest if old_size.is_power_of_two() => (old_root, rest),
        [first, rest @ ..] => (first, rest),
        [] => return Err(ProofFault::Length),
    };
    let (mut place, mut last) = (old_size - 1, new_size - 1);
    while place % 2 == 1 {
        place >>= 1;
        last >>= 1;
    }
    let (mut old_node, mut new_node) = (*first, *first);
    for sibling in rest {
        if last == 0 {
            return Err(ProofFault::Length);
        }
        if place % 2 == 1 || place == last {
            old_node = node_hash(sibling, &old_node);
            new_node = node_hash(sibling, &new_node);
            while place.is_multiple_of(2) && place != 0 {
                place >>= 1;
                last >>= 1;
            }
        } else {
            new_node = node_hash(&new_node, sibling);
        }
        place >>= 1;
        last >>= 1;
    }
    match last {
        0 if old_node == *old_root && new_node == *new_root => Ok(()),
        0 => Err(ProofFault::Root),
        _ => Err(ProofFault::Length),
    }
}
