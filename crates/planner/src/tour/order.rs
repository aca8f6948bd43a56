//! A closed tour as an array, with reversal of a path in at most half its length.

/// A cyclic order of the nodes 0 to n - 1, read forwards.
#[derive(Clone, Debug)]
pub(crate) struct Order {
    node: Vec<u32>,
    pos: Vec<u32>,
    backwards: bool,
}

impl Order {
    pub(crate) fn new(node: Vec<u32>) -> Order {
        let mut pos = vec![0; node.len()];
        for (p, &a) in node.iter().enumerate() {
            pos[a as usize] = p as u32;
        }
        Order { node, pos, backwards: false }
    }

    pub(crate) fn nodes(&self) -> &[u32] {
        &self.node
    }

    #[inline]
    pub(crate) fn next(&self, a: u32) -> u32 {
        if self.backwards { self.left(a) } else { self.right(a) }
    }

    #[inline]
    pub(crate) fn prev(&self, a: u32) -> u32 {
        if self.backwards { self.right(a) } else { self.left(a) }
    }

    /// Reads the same cycle the other way round.
    pub(crate) fn turn_round(&mut self) {
        self.backwards = !self.backwards;
    }

    /// Reverses the path that leads forwards from `a` to `b`.
    pub(crate) fn reverse(&mut self, a: u32, b: u32) {
        let (from, to) = if self.backwards { (b, a) } else { (a, b) };
        let n = self.node.len();
        let (i, j) = (self.pos[from as usize] as usize, self.pos[to as usize] as usize);
        let inside = if j >= i { j - i + 1 } else { j + n - i + 1 };
        if 2 * inside <= n {
            self.swap_ends(i, j, inside / 2);
        } else {
            // Reversing the rest gives the same cycle read the other way.
            let (i, j) = (if j + 1 == n { 0 } else { j + 1 }, if i == 0 { n - 1 } else { i - 1 });
            self.swap_ends(i, j, (n - inside) / 2);
            self.turn_round();
        }
    }

    fn swap_ends(&mut self, mut i: usize, mut j: usize, swaps: usize) {
        let n = self.node.len();
        for _ in 0..swaps {
            let (a, b) = (self.node[i], self.node[j]);
            self.node[i] = b;
            self.pos[b as usize] = i as u32;
            self.node[j] = a;
            self.pos[a as usize] = j as u32;
            i = if i + 1 == n { 0 } else { i + 1 };
            j = if j == 0 { n - 1 } else { j - 1 };
        }
    }

    #[inline]
    fn right(&self, a: u32) -> u32 {
        let p = self.pos[a as usize] as usize + 1;
        self.node[if p == self.node.len() { 0 } else { p }]
    }

    #[inline]
    fn left(&self, a: u32) -> u32 {
        let p = self.pos[a as usize] as usize;
        self.node[if p == 0 { self.node.len() - 1 } else { p - 1 }]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(order: &Order, from: u32) -> Vec<u32> {
        let mut out = vec![from];
        while order.next(out[out.len() - 1]) != from {
            out.push(order.next(out[out.len() - 1]));
        }
        out
    }

    #[test]
    fn short_and_long_paths_reverse_alike() {
        for (a, b, want) in [(1, 2, [0, 2, 1, 3, 4, 5, 6]), (1, 5, [0, 5, 4, 3, 2, 1, 6])] {
            let mut order = Order::new((0..7).collect());
            order.reverse(a, b);
            assert_eq!(read(&order, 0), want);
            order.reverse(b, a);
            assert_eq!(read(&order, 0), [0, 1, 2, 3, 4, 5, 6]);
        }
    }
}
