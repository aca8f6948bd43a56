//! Lin and Kernighan's deepening exchange on an array tour, both ends of the open path moving
//! (the second end after Mak and Morton), with segment insertion for the exchange that the flips
//! cannot reach.
//!
//! Sources: Lin and Kernighan, Operations Research 21 (1973); Applegate, Cook and Rohe,
//! "Chained Lin-Kernighan for large traveling salesman problems", INFORMS J. Computing 15 (2003);
//! Or, "Traveling salesman-type combinatorial problems" (1976).

use super::order::Order;
use crate::walks::Walks;

/// How many continuations are tried at each depth; deeper ones follow the best only.
const BREADTH: [usize; 3] = [5, 3, 1];
const DEPTH: usize = 10;
/// Longest segment that is moved as a piece.
const SEGMENT: usize = 3;

pub(crate) struct Deepening<'a> {
    walks: &'a Walks,
    near: &'a [Vec<u32>],
    pub(crate) order: Order,
    /// Every reversal since the last [`Deepening::settle`], so that a failed try can be undone.
    log: Vec<(u32, u32)>,
    /// Whether the order is read the other way round than the log is written.
    turned: bool,
    queue: Vec<u32>,
    queued: Vec<bool>,
}

#[derive(Clone, Copy)]
struct Move {
    value: i64,
    /// True: the far end of the open path moves; false: its first end does.
    far_end: bool,
    cut: u32,
}

impl<'a> Deepening<'a> {
    pub(crate) fn new(walks: &'a Walks, near: &'a [Vec<u32>], order: Order) -> Deepening<'a> {
        let n = walks.len();
        let (log, queue, queued) = (Vec::new(), Vec::new(), vec![false; n]);
        Deepening { walks, near, order, log, turned: false, queue, queued }
    }

    /// Asks for another look at the neighbourhood of a node.
    pub(crate) fn wake(&mut self, a: u32) {
        if !self.queued[a as usize] {
            self.queued[a as usize] = true;
            self.queue.push(a);
        }
    }

    /// Accepts everything done so far.
    pub(crate) fn settle(&mut self) {
        self.log.clear();
    }

    /// Goes back to the last [`Deepening::settle`].
    pub(crate) fn undo(&mut self) {
        self.undo_to(0);
    }

    pub(crate) fn reverse(&mut self, a: u32, b: u32) {
        self.order.reverse(a, b);
        self.log.push(if self.turned { (b, a) } else { (a, b) });
    }

    /// Improves until no waiting node offers anything; the length gained.
    pub(crate) fn run(&mut self) -> i64 {
        let mut gained = 0;
        while let Some(a) = self.queue.pop() {
            self.queued[a as usize] = false;
            while let Some(gain) = self.improve(a) {
                gained += gain;
            }
        }
        gained
    }

    fn improve(&mut self, a: u32) -> Option<i64> {
        for _ in 0..2 {
            let mark = self.log.len();
            let b = self.order.next(a);
            let found = self.deepen(0, a, b, self.d(a, b), 0).or_else(|| self.move_segment(a));
            if let Some(gain) = found {
                for i in mark..self.log.len() {
                    let (p, q) = self.log[i];
                    for x in [p, q] {
                        let (l, r) = (self.order.prev(x), self.order.next(x));
                        self.wake(x);
                        self.wake(l);
                        self.wake(r);
                    }
                }
                return Some(gain);
            }
            self.order.turn_round();
            self.turned = !self.turned;
        }
        None
    }

    /// The open path leads from `last` forwards to `first`; `open` is what has been cut less what
    /// has been added. Returns a closed gain above `floor`, its flips applied, or undoes its own.
    fn deepen(
        &mut self,
        depth: usize,
        first: u32,
        last: u32,
        open: i64,
        floor: i64,
    ) -> Option<i64> {
        let breadth = BREADTH.get(depth).copied().unwrap_or(1);
        let (moves, count) = self.moves(first, last, open, floor, breadth);
        for m in &moves[..count] {
            let mark = self.log.len();
            let (first, last) = if m.far_end {
                self.reverse(last, m.cut);
                (first, m.cut)
            } else {
                self.reverse(m.cut, first);
                (m.cut, last)
            };
            let closed = m.value - self.d(first, last);
            if depth + 1 < DEPTH {
                let deeper = self.deepen(depth + 1, first, last, m.value, floor.max(closed));
                if deeper.is_some() {
                    return deeper;
                }
            }
            if closed > floor {
                return Some(closed);
            }
            self.undo_to(mark);
        }
        None
    }

    /// The most promising continuations, best first.
    fn moves(
        &self,
        first: u32,
        last: u32,
        open: i64,
        floor: i64,
        breadth: usize,
    ) -> ([Move; 6], usize) {
        let mut best = [Move { value: 0, far_end: true, cut: 0 }; 6];
        let mut count = 0;
        let mut offer = |m: Move| {
            let mut at = count;
            while at > 0 && best[at - 1].value < m.value {
                at -= 1;
            }
            if at < breadth {
                count = (count + 1).min(breadth);
                best[at..count].rotate_right(1);
                best[at] = m;
            }
        };
        for &add in &self.near[last as usize] {
            let left = open - self.d(last, add);
            if left <= floor {
                break;
            }
            if add == first || add == self.order.next(last) {
                continue;
            }
            let cut = self.order.prev(add);
            offer(Move { value: left + self.d(cut, add), far_end: true, cut });
        }
        for &add in &self.near[first as usize] {
            let left = open - self.d(first, add);
            if left <= floor {
                break;
            }
            if add == last || add == self.order.prev(first) {
                continue;
            }
            let cut = self.order.next(add);
            offer(Move { value: left + self.d(cut, add), far_end: false, cut });
        }
        (best, count)
    }

    /// Moves up to three nodes that start at `a` between two others, unturned.
    fn move_segment(&mut self, a: u32) -> Option<i64> {
        let before = self.order.prev(a);
        let mut end = a;
        for _ in 0..SEGMENT {
            let after = self.order.next(end);
            if after == before {
                return None;
            }
            let freed = self.d(before, a) + self.d(end, after) - self.d(before, after);
            for i in 0..self.near[a as usize].len() {
                let c = self.near[a as usize][i];
                let left = freed - self.d(c, a);
                if left <= 0 {
                    break;
                }
                if c == before || self.within(a, end, c) {
                    continue;
                }
                let d = self.order.next(c);
                let gain = left + self.d(c, d) - self.d(end, d);
                if gain > 0 {
                    // before [a..end] [after..c] d  becomes  before [after..c] [a..end] d
                    self.reverse(a, c);
                    self.reverse(c, after);
                    self.reverse(end, a);
                    return Some(gain);
                }
            }
            end = after;
        }
        None
    }

    fn within(&self, a: u32, end: u32, c: u32) -> bool {
        let mut x = a;
        loop {
            if x == c {
                return true;
            }
            if x == end {
                return false;
            }
            x = self.order.next(x);
        }
    }

    fn undo_to(&mut self, mark: usize) {
        while self.log.len() > mark {
            let (a, b) = self.log.pop().expect("the log is longer than the mark");
            if self.turned {
                self.order.reverse(a, b);
            } else {
                self.order.reverse(b, a);
            }
        }
    }

    #[inline]
    fn d(&self, a: u32, b: u32) -> i64 {
        self.walks.ms(a as usize, b as usize)
    }
}
