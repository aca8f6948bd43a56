//! A weighted graph and shortest ways in it (E. W. Dijkstra, 1959). Equal lengths are settled by node number, so the
//! same graph always gives the same ways.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Nodes by number and one-way edges with lengths that are not negative.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Graph {
    edges: Vec<Vec<(u32, f64)>>,
}

/// Shortest ways from some sources.
#[derive(Debug, Clone, Default)]
pub struct Tree {
    lengths: Vec<f64>,
    from: Vec<u32>,
    heap: BinaryHeap<Waiting>,
}

impl Graph {
    /// A graph of `count` nodes without edges.
    pub fn new(count: usize) -> Self {
        Self { edges: vec![Vec::new(); count] }
    }

    /// How many nodes there are.
    pub fn len(&self) -> usize {
        self.edges.len()
    }

    /// Whether there is no node.
    pub fn is_empty(&self) -> bool {
        self.edges.is_empty()
    }

    /// Adds the nodes and edges of another graph; its node 0 gets the number that is returned.
    pub fn append(&mut self, other: &Graph) -> u32 {
        let offset = self.edges.len() as u32;
        let moved = |edges: &Vec<(u32, f64)>| {
            edges.iter().map(|&(to, length)| (to + offset, length)).collect()
        };
        self.edges.extend(other.edges.iter().map(moved));
        offset
    }

    /// Adds a node and returns its number.
    pub fn add(&mut self) -> u32 {
        self.edges.push(Vec::new());
        self.edges.len() as u32 - 1
    }

    /// Adds an edge one way.
    pub fn join(&mut self, from: u32, to: u32, length: f64) {
        self.edges[from as usize].push((to, length.max(0.0)));
    }

    /// The same graph with every edge the other way round: ways in it are ways *to* its sources.
    pub fn reversed(&self) -> Self {
        let mut out = Self::new(self.edges.len());
        for (from, edges) in self.edges.iter().enumerate() {
            edges.iter().for_each(|&(to, length)| out.join(to, from as u32, length));
        }
        out
    }

    /// Edges leaving a node.
    pub fn edges(&self, from: u32) -> &[(u32, f64)] {
        &self.edges[from as usize]
    }

    /// Shortest ways from `sources`, each with the length already gone.
    pub fn search(&self, sources: &[(u32, f64)], tree: &mut Tree) {
        tree.lengths.clear();
        tree.lengths.resize(self.edges.len(), f64::INFINITY);
        tree.from.clear();
        tree.from.resize(self.edges.len(), u32::MAX);
        tree.heap.clear();
        for &(node, length) in sources {
            if length < tree.lengths[node as usize] {
                tree.lengths[node as usize] = length;
                tree.heap.push(Waiting { length, node });
            }
        }
        while let Some(Waiting { length, node }) = tree.heap.pop() {
            if length > tree.lengths[node as usize] {
                continue;
            }
            for &(to, step) in &self.edges[node as usize] {
                let reached = length + step;
                if reached < tree.lengths[to as usize] {
                    tree.lengths[to as usize] = reached;
                    tree.from[to as usize] = node;
                    tree.heap.push(Waiting { length: reached, node: to });
                }
            }
        }
    }
}

impl Tree {
    /// The length of the shortest way to a node; infinite when there is none.
    pub fn length(&self, node: u32) -> f64 {
        self.lengths[node as usize]
    }

    /// The nodes of the way back from a node to its source, both included.
    pub fn back_from(&self, node: u32) -> Vec<u32> {
        let mut way = vec![node];
        let mut at = node;
        while self.from[at as usize] != u32::MAX {
            at = self.from[at as usize];
            way.push(at);
        }
        way
    }
}

#[derive(Debug, Clone, Copy)]
struct Waiting {
    length: f64,
    node: u32,
}

impl Ord for Waiting {
    /// The shortest comes out of the heap first.
    fn cmp(&self, other: &Self) -> Ordering {
        other.length.total_cmp(&self.length).then(other.node.cmp(&self.node))
    }
}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Waiting {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shorter_way_wins() {
        let mut graph = Graph::new(4);
        for (a, b, length) in [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 3.0)] {
            graph.join(a, b, length);
        }
        let mut tree = Tree::default();
        graph.search(&[(0, 0.5)], &mut tree);
        assert_eq!((tree.length(2), tree.back_from(2)), (2.5, vec![2, 1, 0]));
        assert!(tree.length(3).is_infinite());
    }
}
