//! Lower bounds on the longest of M closed rounds from a post.
//!
//! *Star*: whoever visits a stop walks there and back from the post, and stays there.
//! *Cut*: the rounds together, joined at the post, form a closed walk through all stops, which by
//! the triangle inequality is no shorter than the shortest closed tour, and so no shorter than the
//! 1-tree bound of that tour; the longest of M is at least the mean.

use super::Sharing;
use crate::tour::tour_bound;

/// The two bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ShareBound {
    /// There and back to the farthest stop.
    pub star: i64,
    /// The bound of one tour through everything, divided by the number of guards.
    pub mean: i64,
}

impl ShareBound {
    /// The larger of the two.
    pub fn best(self) -> i64 {
        self.star.max(self.mean)
    }
}

/// Bounds the longest round from below. Without a post the star is the longest stay.
pub fn share_bound(sharing: &Sharing<'_>, rounds: u32) -> ShareBound {
    let walks = sharing.walks.closed();
    let n = walks.len();
    let star = star(&Sharing { walks: &walks, ..*sharing });
    let staying: i64 = (0..n).map(|s| sharing.stay[s]).sum();
    let mean = match sharing.post {
        // Each round pays the stay at the post; only the first one is part of `staying`.
        Some(p) => {
            let near = nearest_neighbour_length(&walks);
            let walking = tour_bound(&walks, near, rounds);
            let m = sharing.guards as i64;
            (walking + staying + (m - 1) * sharing.stay[p] + m - 1).div_euclid(m)
        }
        None => (staying + sharing.guards as i64 - 1).div_euclid(sharing.guards as i64),
    };
    ShareBound { star, mean }
}

/// There and back to the farthest stop; without a post, the longest stay.
pub(super) fn star(sharing: &Sharing<'_>) -> i64 {
    let (walks, stay) = (sharing.walks, sharing.stay);
    (0..walks.len())
        .map(|s| match sharing.post {
            Some(p) if p != s => walks.ms(p, s) + walks.ms(s, p) + stay[s] + stay[p],
            _ => stay[s],
        })
        .max()
        .unwrap_or(0)
}

/// Some tour, to set the length of the steps of the bound.
fn nearest_neighbour_length(walks: &crate::walks::Walks) -> i64 {
    let mut on = |_| crate::effort::Go::On;
    crate::tour::tour(walks, &mut crate::effort::Effort::new(1, 20, &mut on)).length
}
