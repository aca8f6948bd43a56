//! Walking times between stops, in whole milliseconds.

/// No way leads there. Far above any watch (11 days), and small enough that sums never overflow.
pub const NEVER: i32 = 1_000_000_000;

/// A square table of walking times. `from` to `to` may differ from `to` to `from` (stairs up and
/// down, one-way doors).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Walks {
    n: usize,
    ms: Vec<i32>,
}

/// Why a table of walking times was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WalksFault {
    /// The number of entries is not the square of the number of stops.
    NotSquare {
        /// Stops stated.
        stops: usize,
        /// Entries given.
        entries: usize,
    },
    /// A time is negative or above [`NEVER`].
    OutOfRange {
        /// Row of the entry.
        from: usize,
        /// Column of the entry.
        to: usize,
        /// The time given, in milliseconds.
        ms: i32,
    },
}

impl std::fmt::Display for WalksFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WalksFault::NotSquare { stops, entries } => {
                write!(
                    f,
                    "{stops} stops need {} walking times, {entries} were given",
                    stops * stops
                )
            }
            WalksFault::OutOfRange { from, to, ms } => {
                write!(
                    f,
                    "the walking time from stop {from} to stop {to} is {ms} ms: give 0 to {NEVER}"
                )
            }
        }
    }
}

impl std::error::Error for WalksFault {}

impl Walks {
    /// Takes the times row by row: entry `from * n + to`. The diagonal is set to 0.
    pub fn new(n: usize, mut ms: Vec<i32>) -> Result<Walks, WalksFault> {
        if ms.len() != n * n {
            return Err(WalksFault::NotSquare { stops: n, entries: ms.len() });
        }
        for from in 0..n {
            ms[from * n + from] = 0;
            for to in 0..n {
                let t = ms[from * n + to];
                if !(0..=NEVER).contains(&t) {
                    return Err(WalksFault::OutOfRange { from, to, ms: t });
                }
            }
        }
        Ok(Walks { n, ms })
    }

    /// Builds the table from a function of two stops; times above [`NEVER`] become [`NEVER`].
    pub fn from_fn(n: usize, mut time_ms: impl FnMut(usize, usize) -> i64) -> Walks {
        let mut ms = vec![0; n * n];
        for from in 0..n {
            for to in 0..n {
                if from != to {
                    ms[from * n + to] = time_ms(from, to).clamp(0, i64::from(NEVER)) as i32;
                }
            }
        }
        Walks { n, ms }
    }

    /// Number of stops.
    pub fn len(&self) -> usize {
        self.n
    }

    /// True when there is no stop.
    pub fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// Walking time from one stop to another, in milliseconds.
    #[inline]
    pub fn ms(&self, from: usize, to: usize) -> i64 {
        i64::from(self.ms[from * self.n + to])
    }

    /// All times out of one stop.
    #[inline]
    pub(crate) fn row(&self, from: usize) -> &[i32] {
        &self.ms[from * self.n..(from + 1) * self.n]
    }

    /// True when every way takes as long as the way back.
    pub fn is_symmetric(&self) -> bool {
        (0..self.n).all(|a| (0..a).all(|b| self.ms(a, b) == self.ms(b, a)))
    }

    /// The table of the shorter of way and way back: a lower estimate that is symmetric.
    pub(crate) fn lower_symmetric(&self) -> Walks {
        Walks::from_fn(self.n, |a, b| self.ms(a, b).min(self.ms(b, a)))
    }

    /// The shortest times when one may pass other stops on the way (Floyd and Warshall).
    /// The proofs of the bounds need this triangle inequality.
    pub fn closed(&self) -> Walks {
        let n = self.n;
        let mut out = self.clone();
        for via in 0..n {
            for from in 0..n {
                let first = out.ms[from * n + via];
                if first >= NEVER {
                    continue;
                }
                for to in 0..n {
                    let by = first.saturating_add(out.ms[via * n + to]);
                    if by < out.ms[from * n + to] {
                        out.ms[from * n + to] = by;
                    }
                }
            }
        }
        out
    }

    /// The shortest walk from a stop to any other.
    pub(crate) fn near_of(&self, from: usize) -> Option<i64> {
        (0..self.n).filter(|&to| to != from).map(|to| self.ms(from, to)).min()
    }

    /// The table of some of the stops, in the order given.
    pub fn only(&self, stops: &[usize]) -> Walks {
        Walks::from_fn(stops.len(), |a, b| self.ms(stops[a], stops[b]))
    }

    /// For each stop the `k` nearest others, nearest first, equal ones by number.
    pub(crate) fn near(&self, k: usize) -> Vec<Vec<u32>> {
        (0..self.n)
            .map(|from| {
                let row = self.row(from);
                let mut others: Vec<u32> =
                    (0..self.n as u32).filter(|&o| o as usize != from).collect();
                others.sort_by_key(|&o| (row[o as usize], o));
                others.truncate(k);
                others
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_detour_may_be_shorter() {
        let w = Walks::new(3, vec![0, 10, 3, 10, 0, 4, 3, 4, 0]).unwrap().closed();
        assert_eq!(w.ms(0, 1), 7);
    }

    #[test]
    fn refusals_say_which_entry() {
        let fault = Walks::new(2, vec![0, -5, 1, 0]).unwrap_err();
        assert_eq!(
            fault.to_string(),
            "the walking time from stop 0 to stop 1 is -5 ms: give 0 to 1000000000"
        );
        assert!(Walks::new(2, vec![0; 3]).is_err());
    }
}
