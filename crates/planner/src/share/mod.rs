//! Stops shared among guards: each guard repeats one closed round of their own, and the longest
//! round is as short as can be found.

mod bound;
mod rounds;
mod ruin;

use crate::effort::Effort;
use crate::walks::Walks;

pub use bound::{ShareBound, share_bound};

/// What is to be shared.
#[derive(Clone, Copy, Debug)]
pub struct Sharing<'a> {
    /// Walking times between the stops.
    pub walks: &'a Walks,
    /// How long the guard stays at each stop, in the unit of `walks`.
    pub stay: &'a [i64],
    /// The stop that every round begins and ends at, if there is one; nobody else visits it.
    pub post: Option<usize>,
    /// Number of rounds; some may stay empty.
    pub guards: usize,
    /// The search ends as soon as no round is longer than this.
    pub good_enough: i64,
    /// The longest each round may be. With caps the search no longer shortens the longest round
    /// but only what is above the caps, and ends when nothing is.
    pub caps: Option<&'a [i64]>,
    /// Which stops each round may visit, by round and stop; every stop must be allowed somewhere.
    pub may: Option<&'a [Vec<bool>]>,
}

/// One closed round for each guard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shared {
    /// Stops of each round in walking order; with a post, each begins with the post.
    pub rounds: Vec<Vec<usize>>,
    /// Walking and staying of the longest round, back to where it began.
    pub longest: i64,
}

/// Shares the stops so that the longest round is as short as the effort allows.
///
/// # Panics
/// When there are no guards, or `stay` and `walks` differ in length: the caller has counted them.
pub fn share(sharing: &Sharing<'_>, effort: &mut Effort<'_>) -> Shared {
    assert!(sharing.guards > 0, "at least one guard is needed to share anything");
    assert_eq!(sharing.stay.len(), sharing.walks.len());
    ruin::search(sharing, effort)
}

/// Walking and staying of one closed round.
pub fn round_length(walks: &Walks, stay: &[i64], round: &[usize]) -> i64 {
    crate::tour::length(walks, round) + round.iter().map(|&s| stay[s]).sum::<i64>()
}

#[cfg(test)]
mod tests;
