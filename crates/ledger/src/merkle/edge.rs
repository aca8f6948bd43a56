//! The right edge of a tree: all that is needed to append and to know the root, one hash a level.

use super::{empty_root, node_hash};
use crate::digest::Digest;

/// The full nodes that a tree of some size is made of, largest first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Edge {
    size: u64,
    nodes: Vec<Digest>,
}

/// A full node that cannot stand at the edge of a tree of this size, because it would not begin at
/// a multiple of its own size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotAligned;

impl Edge {
    /// The edge of a tree without leaves.
    pub fn new() -> Edge {
        Edge::default()
    }

    /// The number of leaves.
    pub fn size(&self) -> u64 {
        self.size
    }

    /// Appends a leaf by its hash.
    pub fn push(&mut self, leaf: Digest) {
        self.push_node(0, leaf).expect("every size is a multiple of one");
    }

    /// Appends a full node over `1 << level` leaves that are not looked at one by one.
    pub fn push_node(&mut self, level: u32, node: Digest) -> Result<(), NotAligned> {
        let size = 1u64.checked_shl(level).ok_or(NotAligned)?;
        if !self.size.is_multiple_of(size) {
            return Err(NotAligned);
        }
        let grown = self.size.checked_add(size).ok_or(NotAligned)?;
        let mut node = node;
        // One pair closes for every bit of the old size that is set from `level` upwards.
        for _ in 0..(self.size >> level).trailing_ones() {
            let left = self.nodes.pop().expect("there is one node for every bit set in the size");
            node = node_hash(&left, &node);
        }
        self.nodes.push(node);
        self.size = grown;
        Ok(())
    }

    /// The root over all leaves.
    pub fn root(&self) -> Digest {
        let mut nodes = self.nodes.iter().rev();
        let Some(smallest) = nodes.next() else { return empty_root() };
        nodes.fold(*smallest, |right, left| node_hash(left, &right))
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Tree, leaf_hash};
    use super::*;

    #[test]
    fn full_nodes_stand_for_their_leaves() {
        let mut tree = Tree::new();
        let mut whole = Edge::new();
        for i in 0..21u64 {
            tree.push(leaf_hash(&i.to_be_bytes()));
        }
        let four = |first: u64| {
            let mut part = Edge::new();
            (first..first + 4).for_each(|i| part.push(leaf_hash(&i.to_be_bytes())));
            part.root()
        };
        for first in [0, 4, 8, 12, 16] {
            whole.push_node(2, four(first)).unwrap();
        }
        whole.push(leaf_hash(&20u64.to_be_bytes()));
        assert_eq!(whole.root(), tree.root());
        assert_eq!(whole.push_node(1, Digest::ZERO), Err(NotAligned));
        assert_eq!(whole.push_node(64, Digest::ZERO), Err(NotAligned));
    }
}
