//! Where full nodes of a tree come from: a whole tree, or as much of one as somebody needs.

use super::{Edge, Tree};
use crate::digest::Digest;

/// Full nodes of a tree.
pub trait Nodes: std::fmt::Debug {
    /// The full node over `1 << level` leaves from `place << level` on; none if it is not there.
    fn node(&self, level: u32, place: u64) -> Option<Digest>;

    /// The root over the first `size` leaves; none if a node for it is not there.
    fn root_at(&self, size: u64) -> Option<Digest> {
        let mut edge = Edge::new();
        while edge.size() < size {
            let level = (size - edge.size()).ilog2();
            let node = self.node(level, edge.size() >> level)?;
            edge.push_node(level, node).expect("the bits of a size, from large to small, align");
        }
        Some(edge.root())
    }
}

impl Nodes for Tree {
    fn node(&self, level: u32, place: u64) -> Option<Digest> {
        Tree::node(self, level, place)
    }
}

#[cfg(test)]
mod tests {
    use super::super::leaf_hash;
    use super::*;

    #[test]
    fn roots_from_nodes_are_those_of_the_tree() {
        let mut tree = Tree::new();
        for size in 0..70u64 {
            assert_eq!(Nodes::root_at(&tree, size), Some(tree.root()));
            assert_eq!(Nodes::root_at(&tree, size + 1), None);
            tree.push(leaf_hash(&size.to_be_bytes()));
        }
    }
}
