//! A place in a device's chain: one line, or the lines of a fork.

use ledger::LineId;

/// The lines at one number of a chain, in their order. Nearly always one, which needs no room beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Place {
    first: LineId,
    others: Vec<LineId>,
}

impl Place {
    pub(crate) fn of(first: LineId) -> Place {
        Place { first, others: Vec::new() }
    }

    /// Adds another line; false if it was here.
    pub(crate) fn add(&mut self, line: LineId) -> bool {
        if self.iter().any(|known| known == line) {
            return false;
        }
        self.others.push(line.max(self.first));
        self.first = self.first.min(line);
        self.others.sort();
        true
    }

    /// The line that stands here alone.
    pub(crate) fn alone(&self) -> Option<LineId> {
        self.others.is_empty().then_some(self.first)
    }

    /// Every line here, in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = LineId> {
        std::iter::once(self.first).chain(self.others.iter().copied())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ledger::Digest;

    #[test]
    fn lines_stand_in_one_order_whatever_came_first() {
        let [a, b, c] = [1, 2, 3].map(|n| LineId(Digest([n; 32])));
        for order in [[a, b, c], [c, b, a], [b, c, a], [b, a, c]] {
            let mut place = Place::of(order[0]);
            assert_eq!(place.alone(), Some(order[0]));
            assert!(place.add(order[1]) && place.add(order[2]));
            assert!(!place.add(a) && !place.add(c));
            assert_eq!(place.iter().collect::<Vec<_>>(), [a, b, c]);
            assert_eq!(place.alone(), None);
        }
    }
}
