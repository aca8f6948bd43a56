//! A whole tree in memory: every complete node, level by level, 64 bytes a leaf.

use super::{empty_root, node_hash, split};
use crate::digest::Digest;

/// The leaves of a log as hashes, growing at the end, with proofs for every size it ever had.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tree {
    /// `levels[k][i]` covers the leaves from `i << k` to `(i + 1) << k`; only full nodes are kept,
    /// so nothing here is ever changed by a later leaf.
    levels: Vec<Vec<Digest>>,
}

impl Tree {
    /// A tree without leaves.
    pub fn new() -> Tree {
        Tree::default()
    }

    /// The number of leaves.
    pub fn size(&self) -> u64 {
        self.levels.first().map_or(0, |leaves| leaves.len() as u64)
    }

    /// Appends a leaf by its [hash](super::leaf_hash) and returns its index.
    pub fn push(&mut self, leaf: Digest) -> u64 {
        let index = self.size();
        let (mut node, mut level) = (leaf, 0);
        loop {
            if self.levels.len() == level {
                self.levels.push(Vec::new());
            }
            let row = &mut self.levels[level];
            row.push(node);
            let [.., left, right] = row.as_slice() else { return index };
            if row.len() % 2 == 1 {
                return index;
            }
            node = node_hash(left, right);
            level += 1;
        }
    }

    /// The hash of one leaf.
    pub fn leaf(&self, index: u64) -> Option<Digest> {
        self.node(0, index)
    }

    /// The full node over `1 << level` leaves from `place << level` on; none if it is not full yet.
    pub fn node(&self, level: u32, place: u64) -> Option<Digest> {
        self.levels.get(level as usize)?.get(usize::try_from(place).ok()?).copied()
    }

    /// The root over all leaves.
    pub fn root(&self) -> Digest {
        self.range(0, self.size())
    }

    /// The root over the first `size` leaves; none if the tree is smaller.
    pub fn root_at(&self, size: u64) -> Option<Digest> {
        (size <= self.size()).then(|| self.range(0, size))
    }

    /// The inclusion proof of leaf `index` in the tree of the first `size` leaves, from the leaf's
    /// sibling up to the root's child (RFC 6962 section 2.1.1). None outside the tree.
    pub fn inclusion(&self, index: u64, size: u64) -> Option<Vec<Digest>> {
        if index >= size || size > self.size() {
            return None;
        }
        let mut path = Vec::new();
        let (mut start, mut end) = (0, size);
        while end - start > 1 {
            let middle = start + split(end - start);
            if index < middle {
                path.push(self.range(middle, end));
                end = middle;
            } else {
                path.push(self.range(start, middle));
                start = middle;
            }
        }
        path.reverse();
        Some(path)
    }

    /// The proof that the first `old` leaves are a beginning of the first `new` ones (RFC 6962
    /// section 2.1.2). None outside the tree, and for `old` 0, about which there is nothing to prove.
    pub fn consistency(&self, old: u64, new: u64) -> Option<Vec<Digest>> {
        if old == 0 || old > new || new > self.size() {
            return None;
        }
        let mut path = Vec::new();
        let (mut start, mut end) = (0, new);
        // Whoever checks knows the old root, so it is left out where it is itself a node.
        let mut whole_old = true;
        while old != end {
            let middle = start + split(end - start);
            if old <= middle {
                path.push(self.range(middle, end));
                end = middle;
            } else {
                path.push(self.range(start, middle));
                start = middle;
                whole_old = false;
            }
        }
        if !whole_old {
            path.push(self.range(start, end));
        }
        path.reverse();
        Some(path)
    }

    /// The node over the leaves from `start` to `end`, where `start` is a multiple of the largest
    /// full node in the range, as it is for every node of every tree.
    fn range(&self, start: u64, end: u64) -> Digest {
        let size = end - start;
        if size == 0 {
            return empty_root();
        }
        if size.is_power_of_two() {
            let level = size.trailing_zeros();
            return self.levels[level as usize][(start >> level) as usize];
        }
        let middle = start + split(size);
        node_hash(&self.range(start, middle), &self.range(middle, end))
    }
}
